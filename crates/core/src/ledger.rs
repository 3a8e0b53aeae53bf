//! The books of a run: what came in, what went out, what stayed.

use serde::{Deserialize, Serialize};

use crate::observe::SupplyTotals;
use crate::quality::Carried;
use crate::supply::MOST_SUPPLIES;

/// Water of one run, whole plant and part by part, litres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// By supply, what went through.
    pub supplies: [SupplyTotals; MOST_SUPPLIES],
    /// By supply, gain of the casing above the pump, or of the basin; negative when it holds less than at the start.
    pub source_gain_l: [f64; MOST_SUPPLIES],
    /// Taken from the raw line to fill storage.
    pub taken_l: f64,
    /// Let into storage.
    pub filled_l: f64,
    /// Spilled by storage.
    pub spilled_l: f64,
    /// Taken from storage by the delivery pump.
    pub drawn_l: f64,
    /// Drained from the pressure tank as it was put right.
    pub drained_l: f64,
    /// To the outlets on the raw header and its line.
    pub raw_out_l: f64,
    /// To the outlets behind the delivery pump.
    pub delivery_out_l: f64,
    /// Gain of the pressure tank.
    pub tank_gain_l: f64,
    /// Gain of storage.
    pub storage_gain_l: f64,
    /// Gain of the small tank.
    pub small_gain_l: f64,
    /// All water held at the end, the casings above the pumps included.
    pub stock_l: f64,
    /// What the water carried.
    pub carried: CarriedLedger,
}

/// What the water of one run carried, by constituent; grams.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct CarriedLedger {
    /// In from wells, mains, roofs and the land; warmth also from the air above a pond.
    pub in_g: Carried,
    /// Out to buildings and loads, spilled, seeped and drained, and back into wells; warmth also into the air.
    pub out_g: Carried,
    /// Taken out by treatment, or settled to the ground of a pond.
    pub removed_g: Carried,
    /// Gain of tanks and basins.
    pub gain_g: Carried,
    /// Held at the end.
    pub stock_g: Carried,
}

impl CarriedLedger {
    /// In less out, removed and gain, by constituent: zero but for rounding.
    #[must_use]
    pub fn residuals_g(&self) -> Carried {
        core::array::from_fn(|k| self.in_g[k] - self.out_g[k] - self.removed_g[k] - self.gain_g[k])
    }

    /// What the residual of a constituent is held against: the larger of the throughput and the stock.
    #[must_use]
    pub fn scale_g(&self, constituent: usize) -> f64 {
        self.in_g[constituent].max(self.stock_g[constituent]).max(self.out_g[constituent])
    }
}

impl Ledger {
    /// What each part and the whole plant gained less what flowed in and out: zero but for rounding. First the sources, then
    /// pressure tank, storage, small tank, and the whole.
    #[must_use]
    pub fn residuals_l(&self) -> [f64; MOST_SUPPLIES + 4] {
        let mut residuals = [0.0; MOST_SUPPLIES + 4];
        let (mut pumped_l, mut back_l, mut inflow_l, mut all_lost_l, mut source_gain_l) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let mut rejected_l = self.taken_l - self.filled_l;
        for (i, (supply, gain_l)) in self.supplies.iter().zip(self.source_gain_l).enumerate() {
            let in_l = supply.inflow_l + supply.topped_up_l + supply.leaked_back_l + supply.returned_l;
            let lost_l = supply.spilled_l + supply.evaporated_l + supply.seeped_l;
            residuals[i] = gain_l - (in_l - supply.pumped_l - lost_l);
            pumped_l += supply.pumped_l;
            back_l += supply.topped_up_l + supply.leaked_back_l;
            rejected_l -= supply.returned_l;
            inflow_l += supply.inflow_l;
            all_lost_l += lost_l;
            source_gain_l += gain_l;
        }
        let out_l = self.raw_out_l + self.delivery_out_l + self.spilled_l + self.drained_l + all_lost_l + rejected_l;
        let gain_l = source_gain_l + self.tank_gain_l + self.storage_gain_l + self.small_gain_l;
        let raw_out_l = self.taken_l + self.raw_out_l + back_l + self.drained_l;
        residuals[MOST_SUPPLIES] = self.tank_gain_l - (pumped_l - raw_out_l);
        residuals[MOST_SUPPLIES + 1] = self.storage_gain_l - (self.filled_l - self.drawn_l - self.spilled_l);
        residuals[MOST_SUPPLIES + 2] = self.small_gain_l - (self.drawn_l - self.delivery_out_l);
        residuals[MOST_SUPPLIES + 3] = gain_l - (inflow_l - out_l);
        residuals
    }

    /// The largest of [`Self::residuals_l`] by size.
    #[must_use]
    pub fn residual_l(&self) -> f64 {
        self.residuals_l().into_iter().fold(0.0, |worst: f64, r| if r.abs() > worst.abs() { r } else { worst })
    }

    /// What a residual is held against: the larger of the throughput and the stock.
    #[must_use]
    pub fn scale_l(&self) -> f64 {
        let sum = |of: fn(&SupplyTotals) -> f64| self.supplies.iter().map(of).sum::<f64>();
        sum(|s| s.inflow_l.max(s.pumped_l)).max(self.raw_out_l + self.delivery_out_l).max(self.stock_l)
    }
}
