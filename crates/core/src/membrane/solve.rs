//! The search for a unit's operating point: the feed of the vessels at which valves and membrane pass just that, and the salt
//! that goes with it.
//!
//! Concentrate less what the valves pass rises with the feed; for each feed tried the salt is found that it is mixed to. Two
//! searches by secants, one in the other, of which the inner needs one or two steps.

use super::element::Stream;
use super::search::rising_root;
use super::unit::{Operation, UnitAt};
use super::vessel::{Array, MOST_ELEMENTS, March};

/// Where to start a search: what was found in a case like it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Guess {
    /// Feed of the vessels; zero is no guess.
    vessel_lps: f64,
    /// Pressure lost along the vessels.
    loss_kpa: f64,
    /// Salt of the concentrate.
    tail_mg_l: f64,
    recoveries: [f64; MOST_ELEMENTS],
}

/// What is known of the loop's salt.
#[derive(Clone, Copy)]
pub(super) enum Loop {
    /// It is this.
    At(f64),
    /// It has become that of the concentrate.
    Settled,
}

/// How closely flow and salt are found, as shares of themselves.
pub(super) const TOLERANCE: f64 = 1e-12;
/// Excess over the flow, and over the salt, that counts as closed.
const CLOSED: f64 = 1e-10;
/// While the flow still moves by a share of itself, the salt need be no closer than so much of that share.
const SALT_AHEAD: f64 = 1e-5;
/// Least flow looked for, as a share of the most that valves and membrane could pass.
const LEAST_SHARE: f64 = 1e-15;
/// No search for a settled loop goes beyond this: more than any water holds.
const MOST_SALT_MG_L: f64 = 1e6;
/// Salt at the walls over that of the vessel feed in an ordinary unit, for a first guess at the flow.
const USUAL_WALL: f64 = 1.3;

impl UnitAt<'_> {
    /// The unit at work, from a guess that comes back as what was found.
    pub(super) fn solve(&self, inlet_kpa: f64, feed_salt_mg_l: f64, looped: Loop, guess: &mut Guess) -> Operation {
        let still_kpa = self.vessel_kpa(inlet_kpa, 0.0);
        let (reject_lps, recycle_lps) = self.valves_lps(inlet_kpa, still_kpa.max(inlet_kpa));
        let valves_lps = reject_lps + recycle_lps;
        if valves_lps <= 0.0 {
            return self.still(inlet_kpa, still_kpa, feed_salt_mg_l, looped);
        }
        // No pressure is above the one at no flow, so neither is what valves and membrane pass.
        let most_lps = valves_lps + self.most_product_lps(still_kpa.max(inlet_kpa));
        let within = (LEAST_SHARE * most_lps, most_lps);
        let mut search = Search {
            unit: self,
            inlet_kpa,
            feed_salt_mg_l,
            looped,
            guess: *guess,
            vessel: Stream::default(),
            march: March::default(),
        };
        if guess.vessel_lps <= 0.0 {
            search.guess =
                Guess { tail_mg_l: 2.0 * feed_salt_mg_l, recoveries: [0.1; MOST_ELEMENTS], ..Guess::default() };
            search.guess.vessel_lps =
                rising_root(within, 0.5 * most_lps, 1e-3, |flow_lps| (search.rough_excess_lps(flow_lps), 1.0));
        }
        let first_lps = search.guess.vessel_lps;
        let step_lps = 1e-3 * first_lps;
        let rise_lps = search.rough_excess_lps(first_lps + step_lps) - search.rough_excess_lps(first_lps - step_lps);
        let slope = (rise_lps / (2.0 * step_lps)).max(1.0);
        rising_root(within, first_lps, TOLERANCE, |flow_lps| (search.settle_salt(flow_lps), slope));
        if search.unmixed_mg_l().0.abs() > CLOSED * search.vessel.salt_mg_l {
            // The flow was found while the salt was still on its way.
            search.settle_salt(search.vessel.flow_lps);
        }
        if search.excess_lps().abs() > CLOSED * search.vessel.flow_lps {
            search.settle_flow_first(within);
        }
        search.guess.vessel_lps = search.vessel.flow_lps;
        *guess = search.guess;
        self.operation(inlet_kpa, feed_salt_mg_l, looped, &search.vessel, &search.march)
    }
}

/// The search for the feed of the vessels at which valves and membrane pass just that, and for the salt that goes with it.
struct Search<'u> {
    unit: &'u UnitAt<'u>,
    inlet_kpa: f64,
    feed_salt_mg_l: f64,
    looped: Loop,
    guess: Guess,
    /// The last feed tried,
    vessel: Stream,
    /// and what became of it.
    march: March,
}

impl Search<'_> {
    /// Concentrate less what the valves pass at the last feed tried.
    fn excess_lps(&self) -> f64 {
        let Stream { flow_lps, pressure_kpa, .. } = self.march.concentrate;
        let (reject_lps, recycle_lps) = self.unit.valves_lps(self.inlet_kpa, pressure_kpa);
        flow_lps - reject_lps - recycle_lps
    }

    /// Salt between which that of the vessel feed lies.
    fn salts_mg_l(&self) -> (f64, f64) {
        match self.looped {
            Loop::At(loop_mg_l) => (self.feed_salt_mg_l.min(loop_mg_l), self.feed_salt_mg_l.max(loop_mg_l)),
            Loop::Settled => (0.0, MOST_SALT_MG_L.max(2.0 * self.feed_salt_mg_l)),
        }
    }

    /// Finds the salt that goes with a feed of the vessels; gives the excess there, which rises with the feed.
    fn settle_salt(&mut self, flow_lps: f64) -> f64 {
        let pressure_kpa = self.unit.vessel_kpa(self.inlet_kpa, flow_lps);
        let moved = ((flow_lps - self.vessel.flow_lps) / flow_lps).abs();
        let tolerance = (SALT_AHEAD * moved).clamp(TOLERANCE, 1e-2 * SALT_AHEAD);
        // The loss along the vessels hardly changes with their salt, so that the first guess is good and the second exact.
        let guess_mg_l = self.mixed_mg_l(flow_lps, pressure_kpa - self.guess.loss_kpa, self.guess.tail_mg_l);
        rising_root(self.salts_mg_l(), guess_mg_l, tolerance, |salt_mg_l| {
            self.march(Stream { flow_lps, salt_mg_l, pressure_kpa });
            self.unmixed_mg_l()
        });
        self.excess_lps()
    }

    /// The other way round: for each salt the feed of the vessels that goes with it.
    ///
    /// With a loop fresher than the feed and a recycle valve at hardly any pressure, one feed may go with several salts, and the
    /// excess leaps from one to another. One salt goes with one feed only.
    fn settle_flow_first(&mut self, within_lps: (f64, f64)) {
        rising_root(self.salts_mg_l(), self.vessel.salt_mg_l, TOLERANCE, |salt_mg_l| {
            rising_root(within_lps, self.vessel.flow_lps, TOLERANCE, |flow_lps| {
                let pressure_kpa = self.unit.vessel_kpa(self.inlet_kpa, flow_lps);
                self.march(Stream { flow_lps, salt_mg_l, pressure_kpa });
                (self.excess_lps(), 1.0)
            });
            self.unmixed_mg_l()
        });
    }

    /// Salt of the last feed tried less that of the mix, and a guess at its slope.
    fn unmixed_mg_l(&self) -> (f64, f64) {
        let Stream { flow_lps, salt_mg_l: tail_mg_l, pressure_kpa } = self.march.concentrate;
        let slope = match self.looped {
            Loop::At(_) => 1.0,
            Loop::Settled => {
                let (_, recycle_lps) = self.unit.valves_lps(self.inlet_kpa, pressure_kpa);
                (1.0 - recycle_lps / flow_lps).max(1e-3)
            }
        };
        (self.vessel.salt_mg_l - self.mixed_mg_l(self.vessel.flow_lps, pressure_kpa, tail_mg_l), slope)
    }

    fn march(&mut self, vessel: Stream) {
        self.march = self.unit.array.march(&vessel, &mut self.guess.recoveries);
        self.vessel = vessel;
        self.guess.loss_kpa = vessel.pressure_kpa - self.march.concentrate.pressure_kpa;
        self.guess.tail_mg_l = self.march.concentrate.salt_mg_l;
    }

    /// Salt of the vessel feed: what is recycled at this pressure of the concentrate, in fresh feed.
    fn mixed_mg_l(&self, flow_lps: f64, concentrate_kpa: f64, tail_mg_l: f64) -> f64 {
        let (_, recycle_lps) = self.unit.valves_lps(self.inlet_kpa, concentrate_kpa);
        let loop_mg_l = match self.looped {
            Loop::At(loop_mg_l) => loop_mg_l,
            Loop::Settled => tail_mg_l,
        };
        let back = (recycle_lps / flow_lps).min(1.0);
        (1.0 - back) * self.feed_salt_mg_l + back * loop_mg_l
    }

    /// The same excess by a rough model, in which all elements work alike.
    fn rough_excess_lps(&self, flow_lps: f64) -> f64 {
        let Array { element, in_series, vessels } = &self.unit.array;
        let elements = u32::try_from(*in_series).map_or(1.0, f64::from);
        let vessel_kpa = self.unit.vessel_kpa(self.inlet_kpa, flow_lps);
        let loss_kpa = elements * element.loss_kpa(0.85 * flow_lps / vessels);
        let concentrate_kpa = vessel_kpa - loss_kpa;
        let (reject_lps, recycle_lps) = self.unit.valves_lps(self.inlet_kpa, concentrate_kpa);
        let salt_mg_l = USUAL_WALL * self.mixed_mg_l(flow_lps, concentrate_kpa, self.guess.tail_mg_l);
        let driving_kpa = vessel_kpa - 0.5 * loss_kpa - element.osmosis.kpa(salt_mg_l);
        flow_lps - reject_lps - recycle_lps - self.unit.most_product_lps(driving_kpa)
    }
}
