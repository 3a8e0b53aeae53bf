//! What the water carries through the membrane unit: into the product, round the loop, and through a membrane at rest.

use super::{LEAST_L, Parcel, Passage, Waters, add_grams};
use crate::engine::membrane::Running;
use crate::engine::mode::Phase;
use crate::engine::state::{PRODUCT, PRODUCT_SALT};
use crate::membrane::element::Fouling;
use crate::membrane::place::CalciteBed;
use crate::plant::Plant;
use crate::quality::{CARRIED, Carried, Constituent};
use crate::scaling::DISSOLVED_OF_CALCITE;
use crate::supply::Source;
use crate::time::Span;

/// Free chlorine from which the water counts as harming a membrane of polyamide: a tenth of a milligram a litre.
///
/// Common practice among those who look after such units, no source; a maker's own limit comes before it.
pub const MOST_CHLORINE_MG_L: f64 = 0.1;

/// Part of a constituent's concentration that comes with the product, from that of the salt.
///
/// Solids stay behind; chlorine, a small molecule without charge, passes, and water takes its warmth along. Everything else is taken to pass as the salt does;
/// ions of two charges and what absorbs light in fact pass less, so that is on the safe side.
fn passes(constituent: usize, salt_share: f64) -> f64 {
    if constituent == Constituent::Solids as usize {
        0.0
    } else if [Constituent::Chlorine as usize, Constituent::Temperature as usize].contains(&constituent) {
        1.0
    } else {
        salt_share
    }
}

/// What becomes of water in a membrane that lets so much of its salt pass.
pub(super) fn made(water: &Carried, salt_share: f64) -> Carried {
    core::array::from_fn(|k| water[k] * passes(k, salt_share))
}

/// The unit settled at the middle of what its supplies' pumps hold.
pub(super) struct Start {
    /// Salt in the product as a share of that in the feed; one where the unit has no such state.
    pub salt_share: f64,
    product_lps: f64,
    blended_lps: f64,
}

pub(super) fn start(plant: &Plant, feed_mg_l: f64) -> Start {
    let mut start = Start { salt_share: 1.0, product_lps: 0.0, blended_lps: 0.0 };
    let Some(membrane) = plant.membrane.as_ref() else { return start };
    let mut kpa = plant.supplies.iter().filter(|supply| !supply.standby).map(|supply| match &supply.source {
        Source::TownLine(line) => line.static_kpa(),
        Source::Well { pump, .. } | Source::Basin { pump, .. } => {
            0.5 * (pump.control.low_kpa() + pump.control.high_kpa())
        }
    });
    let inlet_kpa = kpa.next().unwrap_or(0.0) - plant.water.pressure_kpa(membrane.rise_m);
    let unit = membrane.unit.at(membrane.feed_temp_c, Fouling::CLEAN, &plant.water);
    if let Ok(found) = unit.steady(inlet_kpa, feed_mg_l) {
        start.product_lps = found.flows.product_lps;
        start.blended_lps = membrane.blend.map_or(0.0, |blend| blend.flow_lps(inlet_kpa, membrane.unit.product_kpa));
        if feed_mg_l > 0.0 {
            start.salt_share = (found.flows.product_salt_mg_l() / feed_mg_l).min(1.0);
        }
    }
    start
}

/// What storage holds then: product, hardened, with what goes past the membrane.
pub(super) fn stored(plant: &Plant, line: &Carried, product: &Carried, start: &Start) -> Carried {
    let bed = plant.membrane.as_ref().and_then(|membrane| membrane.calcite).filter(|_| start.product_lps > 0.0);
    let calcite_mg_l = bed.map_or(0.0, |bed| bed.dissolves_mg_l(bed.start_kg, start.product_lps));
    let hardened = hardened(calcite_mg_l);
    let all_lps = start.product_lps + start.blended_lps;
    let blended = if all_lps > 0.0 { start.blended_lps / all_lps } else { 0.0 };
    core::array::from_fn(|k| (product[k] + hardened[k]) * (1.0 - blended) + line[k] * blended)
}

/// What so much calcite adds to water it dissolves in.
fn hardened(calcite_mg_l: f64) -> Carried {
    let mut added = [0.0; CARRIED];
    added[Constituent::Salt as usize] = DISSOLVED_OF_CALCITE * calcite_mg_l;
    added[Constituent::Hardness as usize] = calcite_mg_l;
    added
}

/// Lets water through a volume that stays full and is well mixed; returns what leaves it, of the same volume as `inflow`.
///
/// `inflow` may carry grams without water: what stays behind on one side of a membrane. In closed form, as of
/// `V dc/dt = g - q c`.
fn through(held: &mut Carried, full_l: f64, inflow: &Parcel) -> Parcel {
    let turns = inflow.volume_l / full_l;
    if full_l <= LEAST_L {
        return *inflow;
    }
    // The share of the old, and of what would be gained with none leaving, that stays.
    let (stays, mean) = if turns > 1e-9 {
        let gone = -libm::expm1(-turns);
        (1.0 - gone, gone / turns)
    } else {
        (1.0 - turns, 1.0 - 0.5 * turns)
    };
    let mut out = Parcel { volume_l: inflow.volume_l, grams: [0.0; CARRIED] };
    for (k, held) in held.iter_mut().enumerate() {
        let before_mg_l = *held;
        let gained_mg_l = 1e3 * inflow.grams[k] / full_l;
        *held = before_mg_l * stays + gained_mg_l * mean;
        out.grams[k] = inflow.grams[k] - 1e-3 * full_l * (*held - before_mg_l);
    }
    out
}

impl Waters {
    /// Lets product through a bed of calcite.
    pub(super) fn through_calcite(&mut self, bed: &CalciteBed, product: &mut Parcel, length: Span) {
        if product.volume_l <= 0.0 {
            return;
        }
        let left_g = 1e3 * bed.start_kg - self.membrane.calcite_g;
        let dissolves_mg_l = bed.dissolves_mg_l(1e-3 * left_g, product.volume_l / length.s());
        let calcite_g = (1e-3 * dissolves_mg_l * product.volume_l).min(left_g);
        self.membrane.calcite_g += calcite_g;
        let added = hardened(calcite_g);
        add_grams(&mut product.grams, &added, 1.0);
        add_grams(&mut self.in_g, &added, 1.0);
    }

    /// Moves the membrane unit on. Returns what comes into storage, and what goes to waste.
    pub(super) fn through_membrane(
        &mut self,
        running: &Running<'_>,
        taken: Parcel,
        passage: &Passage<'_>,
    ) -> (Parcel, Parcel) {
        let (ports, unit, phase) = (passage.ports, &running.membrane.unit, passage.mode.membrane.phase);
        let salt = Constituent::Salt as usize;
        if taken.concentration(&[0.0; CARRIED])[Constituent::Chlorine as usize] > MOST_CHLORINE_MG_L {
            self.membrane.chlorinated_l += taken.volume_l;
        }
        let product = product_of(&taken, ports[PRODUCT], ports[PRODUCT_SALT]);
        let mut kept = taken;
        kept.volume_l -= product.volume_l;
        for (grams, passed) in kept.grams.iter_mut().zip(&product.grams) {
            *grams -= passed;
        }
        let mut waste = through(&mut self.looped, unit.loop_volume_l, &kept);
        let made = through(&mut self.product, running.membrane.product_volume_l, &product);
        if phase.makes() {
            self.membrane.feed_salt_g += taken.grams[salt];
            self.membrane.feed_l += taken.volume_l;
            self.membrane.feed_l_c += 1e3 * taken.grams[Constituent::Temperature as usize];
            self.membrane.reject_salt_g += waste.grams[salt];
        } else {
            self.membrane.flush_feed_salt_g += taken.grams[salt];
            self.membrane.flushed_salt_g += waste.grams[salt];
            let (loop_gain, product_gain) = running.creep(passage.length.s());
            for (k, (looped, product)) in self.looped.iter_mut().zip(&mut self.product).enumerate() {
                if ![Constituent::Solids as usize, Constituent::Temperature as usize].contains(&k) {
                    let difference = *looped - *product;
                    *looped += loop_gain * difference;
                    *product += product_gain * difference;
                }
            }
        }
        if phase == Phase::Makes {
            self.membrane.stored_salt_g += made.grams[salt];
            return (made, waste);
        }
        self.membrane.diverted_salt_g += made.grams[salt];
        waste.add(&made);
        (Parcel::NONE, waste)
    }
}

/// What a product carries: its salt as the unit says, the rest by the salt's share of what was in the feed.
fn product_of(taken: &Parcel, product_l: f64, salt_g: f64) -> Parcel {
    let mut product = Parcel { volume_l: product_l, grams: [0.0; CARRIED] };
    if product_l <= 0.0 {
        return product;
    }
    let salt = Constituent::Salt as usize;
    let feed = taken.concentration(&[0.0; CARRIED]);
    let in_feed_g = 1e-3 * feed[salt] * product_l;
    let share = if in_feed_g > 0.0 { (salt_g / in_feed_g).min(1.0) } else { 0.0 };
    for (k, grams) in product.grams.iter_mut().enumerate() {
        *grams = 1e-3 * feed[k] * product_l * passes(k, share);
    }
    product.grams[salt] = salt_g;
    product
}
