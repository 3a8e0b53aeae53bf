//! The books of a run: what came in, what went out, what stayed.
//!
//! Litres only so far; salt and heat get rows of their own when parts carry them.

/// Water of one run, whole plant and part by part, litres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// From the aquifer into the casing.
    pub inflow_l: f64,
    /// Lifted by the well pump.
    pub pumped_l: f64,
    /// Let into storage.
    pub filled_l: f64,
    /// Taken from storage by the delivery pump.
    pub drawn_l: f64,
    /// To the outlets on the raw header.
    pub raw_out_l: f64,
    /// To the outlets behind the delivery pump.
    pub delivery_out_l: f64,
    /// Gain of the casing above the pump, over the run; negative when the well stands lower than at the start.
    pub casing_gain_l: f64,
    /// Gain of the pressure tank.
    pub tank_gain_l: f64,
    /// Gain of storage.
    pub storage_gain_l: f64,
    /// Gain of the small tank.
    pub small_gain_l: f64,
    /// All water held at the end, the casing above the pump included.
    pub stock_l: f64,
}

impl Ledger {
    /// What each part and the whole plant gained less what flowed in and out: zero but for rounding.
    #[must_use]
    pub fn residuals_l(&self) -> [f64; 5] {
        let out_l = self.raw_out_l + self.delivery_out_l;
        let gain_l = self.casing_gain_l + self.tank_gain_l + self.storage_gain_l + self.small_gain_l;
        [
            self.casing_gain_l - (self.inflow_l - self.pumped_l),
            self.tank_gain_l - (self.pumped_l - self.filled_l - self.raw_out_l),
            self.storage_gain_l - (self.filled_l - self.drawn_l),
            self.small_gain_l - (self.drawn_l - self.delivery_out_l),
            gain_l - (self.inflow_l - out_l),
        ]
    }

    /// The largest of [`Self::residuals_l`] by size.
    #[must_use]
    pub fn residual_l(&self) -> f64 {
        self.residuals_l().into_iter().fold(0.0, |worst: f64, r| if r.abs() > worst.abs() { r } else { worst })
    }

    /// What a residual is held against: the larger of the throughput and the stock.
    #[must_use]
    pub fn scale_l(&self) -> f64 {
        self.inflow_l.max(self.pumped_l).max(self.raw_out_l + self.delivery_out_l).max(self.stock_l)
    }
}
