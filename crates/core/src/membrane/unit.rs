//! A membrane unit: where its pump, its vessels and its two valves meet.
//!
//! Valves pass `kv sqrt(dp)`; the pump lifts what it passes by its curve; the loop of vessel feed, concentrate and recycle
//! is well mixed and its salt a state. See `docs/physics.md`.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::element::{Element, Fouling, Passage, Stream};
use super::osmosis::{Osmosis, OsmoticModel};
use super::search::rising_root;
use super::solve::{Guess, Loop, TOLERANCE};
use super::valve::{Valves, valve_lps};
use super::vessel::{Array, MOST_ELEMENTS, March};
use crate::pump::{PumpCurve, PumpPower};
use crate::water::Water;

/// A membrane unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MembraneUnit {
    /// One of its equal elements.
    pub element: Element,
    /// Elements in series in each vessel, 1 to [`MOST_ELEMENTS`].
    pub elements_in_series: usize,
    /// Vessels side by side.
    pub vessels: u32,
    /// Its own pump; `None` runs on the pressure it is fed with.
    pub pump: Option<UnitPump>,
    /// How far its valves are open.
    pub valves: Valves,
    /// Pressure in the product pipe.
    pub product_kpa: f64,
    /// Pressure in the drain behind the reject valve.
    pub drain_kpa: f64,
    /// Water in vessels and recycle pipe.
    pub loop_volume_l: f64,
    /// What pressure the salt makes.
    pub osmotic: OsmoticModel,
}

/// The pump of a unit, between suction and vessels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct UnitPump {
    /// Head against flow at full speed; a pump of constant flow has none to give and is refused.
    pub curve: PumpCurve,
    /// Its electric power.
    pub power: PumpPower,
}

/// Why a unit has no steady state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum NoSteadyState {
    /// Nothing flows.
    #[error("no water flows: the valves are shut or there is no pressure")]
    Still,
    /// The reject valve is shut or has no pressure: nothing carries the salt away, and the loop gets saltier without end.
    #[error("no water is rejected, so the loop gets saltier without end")]
    NoReject,
}

/// The flows of a unit and what goes with them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flows {
    /// Product.
    pub product_lps: f64,
    /// Concentrate to the drain.
    pub reject_lps: f64,
    /// Concentrate back to the suction.
    pub recycle_lps: f64,
    /// Salt that goes with the product.
    pub product_salt_mg_s: f64,
    /// Electric power of the pump.
    pub power_w: f64,
}

impl Flows {
    /// Fresh feed.
    #[must_use]
    pub fn feed_lps(&self) -> f64 {
        self.product_lps + self.reject_lps
    }

    /// Feed of the vessels: fresh and recycled.
    #[must_use]
    pub fn vessel_feed_lps(&self) -> f64 {
        self.product_lps + self.concentrate_lps()
    }

    /// What leaves the vessels beside the product.
    #[must_use]
    pub fn concentrate_lps(&self) -> f64 {
        self.reject_lps + self.recycle_lps
    }

    /// Product over fresh feed; zero where nothing flows.
    #[must_use]
    pub fn recovery(&self) -> f64 {
        share(self.product_lps, self.feed_lps())
    }

    /// Product over vessel feed; zero where nothing flows.
    #[must_use]
    pub fn vessel_recovery(&self) -> f64 {
        share(self.product_lps, self.vessel_feed_lps())
    }

    /// Salt in the product; zero where there is none.
    #[must_use]
    pub fn product_salt_mg_l(&self) -> f64 {
        share(self.product_salt_mg_s, self.product_lps)
    }

    /// Salt that the loop gains: what comes in less what leaves with product and reject.
    #[must_use]
    pub fn loop_gain_mg_s(&self, feed_salt_mg_l: f64, loop_salt_mg_l: f64) -> f64 {
        self.feed_lps() * feed_salt_mg_l - self.product_salt_mg_s - self.reject_lps * loop_salt_mg_l
    }

    /// Salt of the concentrate as it leaves the last element, by the balance of the vessels; that of the loop where nothing
    /// flows.
    #[must_use]
    pub fn tail_salt_mg_l(&self, feed_salt_mg_l: f64, loop_salt_mg_l: f64) -> f64 {
        let in_mg_s = self.feed_lps() * feed_salt_mg_l + self.recycle_lps * loop_salt_mg_l;
        let concentrate_lps = self.concentrate_lps();
        if concentrate_lps > 0.0 { (in_mg_s - self.product_salt_mg_s) / concentrate_lps } else { loop_salt_mg_l }
    }
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// A unit at work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Operation {
    /// Its flows.
    pub flows: Flows,
    /// Pressure at the suction, where the fresh feed comes in.
    pub inlet_kpa: f64,
    /// Pressure behind the pump.
    pub vessel_kpa: f64,
    /// Pressure of the concentrate before the valves.
    pub concentrate_kpa: f64,
    /// Salt of the fresh feed.
    pub feed_salt_mg_l: f64,
    /// Salt of the vessel feed.
    pub vessel_salt_mg_l: f64,
    /// Salt of the loop, with which reject and recycle leave.
    pub loop_salt_mg_l: f64,
    /// Salt at the end of the last element.
    pub tail_salt_mg_l: f64,
    /// Each element of one vessel, from the feed on; those that are not there are zero.
    pub elements: [Passage; MOST_ELEMENTS],
}

impl MembraneUnit {
    /// The unit at a temperature and with so much fouling.
    #[must_use]
    pub fn at(&self, temp_c: f64, fouling: Fouling, water: &Water) -> UnitAt<'_> {
        let osmosis = Osmosis::at(self.osmotic, temp_c);
        UnitAt {
            array: Array {
                element: self.element.at(temp_c, fouling, self.product_kpa, osmosis),
                in_series: self.elements_in_series.clamp(1, MOST_ELEMENTS),
                vessels: f64::from(self.vessels.max(1)),
            },
            pump: self.pump.as_ref(),
            valves: self.valves,
            drain_kpa: self.drain_kpa,
            density_kg_m3: water.density_kg_m3,
            kpa_per_m: water.pressure_kpa(1.0),
        }
    }

    /// Membrane area of all elements.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        let elements = u32::try_from(self.elements_in_series).unwrap_or(u32::MAX);
        self.element.area_m2 * f64::from(elements) * f64::from(self.vessels)
    }
}

/// A [`MembraneUnit`] at one temperature, with all that does not depend on pressure and salt worked out.
#[derive(Clone, Copy, Debug)]
pub struct UnitAt<'a> {
    /// Its vessels.
    pub array: Array,
    /// How far its valves are open.
    pub valves: Valves,
    pump: Option<&'a UnitPump>,
    drain_kpa: f64,
    density_kg_m3: f64,
    kpa_per_m: f64,
}

impl UnitAt<'_> {
    /// The unit at work on a loop that is as salty as this.
    ///
    /// `inlet_kpa` is the pressure at the suction, behind all filters. With both valves shut nothing flows: what the membrane
    /// holds back has nowhere to go, and a dead end fills with salt until nothing passes.
    #[must_use]
    pub fn at_loop(&self, inlet_kpa: f64, feed_salt_mg_l: f64, loop_salt_mg_l: f64) -> Operation {
        self.solve(inlet_kpa, feed_salt_mg_l, Loop::At(loop_salt_mg_l), &mut Guess::default())
    }

    /// The unit at work once the loop is as salty as the concentrate.
    ///
    /// # Errors
    /// Where nothing flows, or nothing is rejected.
    pub fn steady(&self, inlet_kpa: f64, feed_salt_mg_l: f64) -> Result<Operation, NoSteadyState> {
        if self.valves.reject_kv <= 0.0 {
            return Err(if self.valves.recycle_kv > 0.0 { NoSteadyState::NoReject } else { NoSteadyState::Still });
        }
        let found = self.solve(inlet_kpa, feed_salt_mg_l, Loop::Settled, &mut Guess::default());
        if found.flows.vessel_feed_lps() <= 0.0 {
            Err(NoSteadyState::Still)
        } else if found.flows.reject_lps <= 0.0 {
            Err(NoSteadyState::NoReject)
        } else {
            Ok(found)
        }
    }

    /// Inlet pressure at which product sets in; not above zero where the pump alone gives it.
    ///
    /// There the vessels pass what the valves do, and the first element has just the pressure of the product pipe at its
    /// middle; where no salt passes the membrane, its osmotic pressure too.
    pub(super) fn onset_kpa(&self, feed_salt_mg_l: f64, most_inlet_kpa: f64) -> f64 {
        let Array { element, in_series, vessels } = &self.array;
        let osmotic_kpa = if element.salt_lps > 0.0 { 0.0 } else { element.osmosis.kpa(feed_salt_mg_l) };
        let elements = u32::try_from(*in_series).map_or(1.0, f64::from);
        let pressures = |flow_lps: f64| {
            let loss_kpa = element.loss_kpa(flow_lps / vessels);
            let vessel_kpa = element.product_kpa + osmotic_kpa + 0.5 * loss_kpa;
            (vessel_kpa - self.vessel_kpa(0.0, flow_lps), vessel_kpa - elements * loss_kpa)
        };
        let most_kpa = self.vessel_kpa(most_inlet_kpa, 0.0).max(most_inlet_kpa);
        let (reject_lps, recycle_lps) = self.valves_lps(0.0, most_kpa);
        if reject_lps + recycle_lps <= 0.0 {
            return 0.0;
        }
        let flow_lps = rising_root((0.0, reject_lps + recycle_lps), 0.0, TOLERANCE, |flow_lps| {
            let (inlet_kpa, concentrate_kpa) = pressures(flow_lps);
            let (reject_lps, recycle_lps) = self.valves_lps(inlet_kpa, concentrate_kpa);
            (flow_lps - reject_lps - recycle_lps, 1.0)
        });
        pressures(flow_lps).0
    }

    /// Pressure behind the pump.
    pub(super) fn vessel_kpa(&self, inlet_kpa: f64, flow_lps: f64) -> f64 {
        self.pump.map_or(inlet_kpa, |pump| inlet_kpa + self.kpa_per_m * pump.curve.head_m(flow_lps))
    }

    /// What reject and recycle valve pass.
    pub(super) fn valves_lps(&self, inlet_kpa: f64, concentrate_kpa: f64) -> (f64, f64) {
        (
            valve_lps(self.valves.reject_kv, concentrate_kpa - self.drain_kpa),
            valve_lps(self.valves.recycle_kv, concentrate_kpa - inlet_kpa),
        )
    }

    /// Product with no osmotic pressure and no loss.
    pub(super) fn most_product_lps(&self, vessel_kpa: f64) -> f64 {
        let Array { element, in_series, vessels } = &self.array;
        let elements = u32::try_from(*in_series).unwrap_or(u32::MAX);
        f64::from(elements) * vessels * element.water_lps_kpa * (vessel_kpa - element.product_kpa).max(0.0)
    }

    pub(super) fn operation(
        &self,
        inlet_kpa: f64,
        feed_salt_mg_l: f64,
        looped: Loop,
        vessel: &Stream,
        march: &March,
    ) -> Operation {
        let concentrate = march.concentrate;
        let (reject_lps, recycle_lps) = self.valves_lps(inlet_kpa, concentrate.pressure_kpa);
        // What the search leaves between concentrate and valves goes to both by their shares.
        let passed_lps = reject_lps + recycle_lps;
        let recycle_lps = concentrate.flow_lps * share(recycle_lps, passed_lps);
        let head_m = (vessel.pressure_kpa - inlet_kpa) / self.kpa_per_m;
        let power_w = |pump: &UnitPump| pump.power.power_w(vessel.flow_lps, head_m, 1.0, self.density_kg_m3);
        Operation {
            flows: Flows {
                product_lps: march.product_lps,
                reject_lps: concentrate.flow_lps - recycle_lps,
                recycle_lps,
                product_salt_mg_s: march.product_salt_mg_s,
                power_w: self.pump.map_or(0.0, power_w),
            },
            inlet_kpa,
            vessel_kpa: vessel.pressure_kpa,
            concentrate_kpa: concentrate.pressure_kpa,
            feed_salt_mg_l,
            vessel_salt_mg_l: vessel.salt_mg_l,
            loop_salt_mg_l: match looped {
                Loop::At(salt_mg_l) => salt_mg_l,
                Loop::Settled => concentrate.salt_mg_l,
            },
            tail_salt_mg_l: concentrate.salt_mg_l,
            elements: march.elements,
        }
    }

    /// No flow at all: the pump stands against its shut valves.
    pub(super) fn still(&self, inlet_kpa: f64, vessel_kpa: f64, feed_salt_mg_l: f64, looped: Loop) -> Operation {
        let salt_mg_l = match looped {
            Loop::At(salt_mg_l) => salt_mg_l,
            Loop::Settled => feed_salt_mg_l,
        };
        let vessel = Stream { flow_lps: 0.0, salt_mg_l, pressure_kpa: vessel_kpa };
        let march = self.array.march(&vessel, &mut [0.0; MOST_ELEMENTS]);
        self.operation(inlet_kpa, feed_salt_mg_l, looped, &vessel, &march)
    }
}
