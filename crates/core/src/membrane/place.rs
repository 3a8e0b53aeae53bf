//! A membrane unit in its place, between the end of the raw line and storage: what starts it, what stops it, and what it does
//! with its first litres.

use serde::{Deserialize, Serialize};

use super::element::Fouling;
use super::fouling::FoulingLaw;
use super::unit::MembraneUnit;
use super::valve::{valve_lps, valve_root_and_slope};
use crate::outlet::open_share;
use crate::scaling::{self, Analysis};
use crate::time::{Span, Time, is_within};

/// A membrane unit that makes the water in storage. The floats that call for it are those of storage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Membrane {
    /// The unit.
    pub unit: MembraneUnit,
    /// Temperature of its feed.
    pub feed_temp_c: f64,
    /// How far its suction is above the gauge of the pressure tank.
    pub rise_m: f64,
    /// How far it has fouled when the run starts, and was fouled when last cleaned.
    pub start_fouling: Fouling,
    /// How fast it fouls.
    pub fouling: FoulingLaw,
    /// What may leave scale in it; `None` where nothing is known of the water but its salt.
    pub scale: Option<Scale>,
    /// Flushes with raw water.
    pub flush: Flush,
    /// After a start its product goes to waste for so long.
    pub divert: Span,
    /// What stops it when it is starved.
    pub inlet: InletTrip,
    /// Whether it stands back while raw loads or washes draw.
    pub yields: bool,
    /// Water on the product side, which gets salty while the unit stands still.
    pub product_volume_l: f64,
    /// What goes past it into storage while it fills that; `None` where all water there is its product.
    pub blend: Option<Blend>,
    /// The bed that its product goes through on its way to storage.
    pub calcite: Option<CalciteBed>,
    /// The supply, a basin, that takes what the unit rejects; `None` for a drain.
    pub reject_to: Option<usize>,
    /// Whether it takes that even while it feeds the plant: then the salt comes back, and back. Else the drain takes it then.
    pub reject_circles: bool,
    /// The hours to which it is held; `None` where it makes water whenever the floats call.
    pub hours: Option<RunHours>,
}

/// When a membrane unit may make water: in hours of the day, or while the sun leaves enough; and whenever storage is low.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RunHours {
    /// Hours of the day, from a clock time to another; they may go on past midnight.
    pub windows: Vec<(Span, Span)>,
    /// Power that the sun leaves from which on it may run; see [`PowerHour::surplus_w`](crate::power::PowerHour::surplus_w).
    pub surplus_w: Option<f64>,
    /// Water in storage under which it runs at any hour,
    pub urgent_l: f64,
    /// until there is so much again.
    pub relaxed_l: f64,
}

impl RunHours {
    /// Whether it may run at an instant, while the sun leaves so much.
    #[must_use]
    pub fn allow(&self, time: Time, surplus_w: f64) -> bool {
        self.surplus_w.is_some_and(|least_w| surplus_w >= least_w)
            || self.windows.iter().any(|(start, end)| is_within(time, *start, *end))
    }

    /// When a window next begins or ends after an instant; [`Time::NEVER`] without any.
    #[must_use]
    pub fn next_edge(&self, time: Time) -> Time {
        let (midnight, mut next) = (Time::from_day(time.day()), Time::NEVER);
        for clock in self.windows.iter().flat_map(|(start, end)| [*start, *end]) {
            let today = midnight + clock;
            next = next.min(if today > time { today } else { today + Span::DAY });
        }
        next
    }
}

/// A valve that lets water from the end of the raw line past the membrane into its product, open while that goes to storage.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Blend {
    /// How far it is open: L/s at a difference of 1 kPa between suction and product pipe.
    pub kv: f64,
}

/// A bed of calcite on the way to storage, which gives the product some hardness and takes its sourness.
///
/// Water that stays in it for a contact time `t` dissolves `calcite_mg_l (1 - 0.05^(t / needed))`. Dissolution slows in
/// proportion to what is left to saturation (see `docs/physics.md`). What dissolves is gone from the bed, and its contact time
/// with it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct CalciteBed {
    /// Calcite in it when the run starts.
    pub start_kg: f64,
    /// Empty-bed contact time that brings the water 95 % of the way.
    pub contact_s: f64,
    /// What dissolves in water that stays until it is saturated.
    pub calcite_mg_l: f64,
}

impl Blend {
    /// Flow at a pressure at the suction.
    #[must_use]
    pub fn flow_lps(&self, inlet_kpa: f64, product_kpa: f64) -> f64 {
        valve_lps(self.kv, inlet_kpa - product_kpa)
    }

    /// The same, and its slope over the pressure at the suction.
    pub(crate) fn flow_and_slope(self, inlet_kpa: f64, product_kpa: f64) -> [f64; 2] {
        let (root, slope) = valve_root_and_slope(inlet_kpa - product_kpa);
        [self.kv * root, self.kv * slope]
    }
}

impl CalciteBed {
    /// Calcite of a litre of bed: 90 lb/ft3. Common practice, no source.
    pub const BULK_KG_L: f64 = 1.44;

    /// What dissolves, for each litre that comes at a flow through so much of it.
    #[must_use]
    pub fn dissolves_mg_l(&self, left_kg: f64, flow_lps: f64) -> f64 {
        let contact_s = left_kg.max(0.0) / (Self::BULK_KG_L * flow_lps);
        self.calcite_mg_l * (1.0 - libm::pow(0.05, contact_s / self.contact_s))
    }
}

/// The water of its feed, and what of it may be in the reject.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scale {
    /// The water.
    pub analysis: Analysis,
    /// The limits, with or without an antiscalant.
    pub limits: scaling::Limits,
}

impl Scale {
    /// How far water concentrated by a factor is beyond the limits; see [`scaling::Limits::excess`].
    #[must_use]
    pub fn excess(&self, salt_factor: f64) -> f64 {
        // All salt taken to stay behind: on the safe side by the little that passes. Beyond the most, the indices say no more.
        let factor = salt_factor.clamp(1.0, scaling::MOST_VOLUME_FACTOR);
        self.limits.excess(&self.analysis.concentrated(factor, 1.0).saturation())
    }
}

/// Flushes: raw water runs through vessels and loop to waste, by the pressure of the line alone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flush {
    /// Before the unit makes water.
    pub before: Span,
    /// After it has stopped.
    pub after: Span,
    /// Flow at full pressure.
    pub flow_lps: f64,
    /// Pressure at the suction from which all of it flows; less below (see [`open_share`]).
    pub full_flow_kpa: f64,
}

impl Flush {
    /// Flow at a pressure at the suction.
    #[must_use]
    pub fn flow_lps(&self, inlet_kpa: f64) -> f64 {
        self.flow_lps * open_share(inlet_kpa, self.full_flow_kpa)
    }
}

/// What stops a unit that gets too little pressure at its suction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct InletTrip {
    /// At or below this it is starved.
    pub kpa: f64,
    /// For so long before it stops.
    pub delay: Span,
    /// It tries again after so long.
    pub retry_after: Span,
    /// So many times in a row; then it is locked out until it is put back into service by hand.
    pub retries: u32,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_bed_takes_water_most_of_the_way_in_its_contact_time() {
        let bed = CalciteBed { start_kg: 14.4, contact_s: 100.0, calcite_mg_l: 40.0 };
        // 14.4 kg are 10 L: 100 s at 0.1 L/s, half of that at twice the flow or with half of the bed.
        for (left_kg, flow_lps, expected) in
            [(14.4, 0.1, 38.0), (14.4, 0.2, 40.0 * (1.0 - 0.05_f64.sqrt())), (7.2, 0.1, 40.0 * (1.0 - 0.05_f64.sqrt()))]
        {
            let found = bed.dissolves_mg_l(left_kg, flow_lps);
            assert!((found - expected).abs() < 1e-12, "{found} for {expected}");
        }
        assert_eq!(bed.dissolves_mg_l(0.0, 0.1), 0.0);
    }

    #[test]
    fn exact_blend_goes_with_the_root_of_the_pressure() {
        let blend = Blend { kv: 0.01 };
        assert!((blend.flow_lps(120.0, 20.0) - 0.1).abs() < 1e-15);
        assert!((blend.flow_lps(45.0, 20.0) - 0.05).abs() < 1e-15);
        assert_eq!(blend.flow_lps(15.0, 20.0), 0.0);
    }
}
