//! The membrane unit within the engine: its operating curve at the salt and fouling of the moment.
//!
//! A piece of the trajectory sees one curve. It lies between those of two loop salts a fixed step apart, so that it moves
//! smoothly as the loop gets salty and is solved for anew only now and then. It depends on nothing but the state at the start of
//! the piece, so a run resumed there gets the same one.

use super::lines::AIR_KPA;
use super::mode::Phase;
use crate::membrane::Membrane;
use crate::membrane::curve::OperatingCurve;
use crate::membrane::element::{Fouling, temperature_factor};
use crate::membrane::fouling::{Conditions, FoulingState};
use crate::membrane::unit::Flows;
use crate::outlet::{open_share, open_share_and_slope};
use crate::plant::Plant;
use crate::quality::{Carried, Constituent};
use crate::supply::Source;
use crate::water::{COLDEST_C, HOTTEST_C, Water};

/// Salt and temperature of the feed and fouling, in steps: what all curves kept are made for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Key {
    feed: i32,
    /// From the temperature that the unit is told of.
    warmer: i32,
    water_share: i32,
    channel_times: i32,
}

/// Steps of loop salt between which curves are blended. At a quarter the curvature in between is below a thousandth of the
/// flow for as long as osmotic pressure is less than half of what drives it.
const LOOP_STEP: f64 = 0.223_143_551_314_209_76; // ln 1.25
/// Steps of feed salt and of fouling.
const FINE_STEP: f64 = 1e-3;
/// Steps of temperature: a thousandth of the flow, or two.
const TEMP_STEP_K: f64 = 0.05;
/// Added to a salt, so that pure water has a step.
const LEAST_SALT_MG_L: f64 = 1.0;

#[expect(clippy::cast_possible_truncation, reason = "the logarithm of a salt or a share, in steps, is some thousands")]
fn step_of(value: f64, step: f64) -> i32 {
    (libm::log(value) / step).floor() as i32
}

#[expect(clippy::cast_possible_truncation, reason = "water is liquid: some thousands of steps")]
fn warmer(difference_k: f64) -> i32 {
    (difference_k / TEMP_STEP_K).round() as i32
}

fn value_of(steps: i32, step: f64) -> f64 {
    libm::exp(f64::from(steps) * step)
}

/// A step, and values that are surely on it: what changes seldom needs no logarithm then.
#[derive(Clone, Copy, Debug)]
struct Found {
    step: i32,
    above: f64,
    below: f64,
}

impl Found {
    const NOTHING: Self = Self { step: 0, above: f64::INFINITY, below: f64::NEG_INFINITY };

    /// The step that a value is on, the same whatever was looked for before.
    fn step_of(&mut self, value: f64, width: f64) -> i32 {
        const MARGIN: f64 = 1e-9;
        if !(self.above < value && value < self.below) {
            self.step = step_of(value, width);
            self.above = (1.0 + MARGIN) * value_of(self.step, width);
            self.below = (1.0 - MARGIN) * value_of(self.step + 1, width);
        }
        self.step
    }
}

/// The unit of a plant, and its operating curve.
#[derive(Clone, Debug)]
pub(super) struct Running<'p> {
    pub membrane: &'p Membrane,
    water: &'p Water,
    rise_kpa: f64,
    most_inlet_kpa: f64,
    /// Litres of water a second whose salt passes the membrane at rest.
    creep_lps: f64,
    /// What the curves kept are made for.
    pub key: Option<Key>,
    /// The steps last looked for: of feed salt, of fouling, of loop salt.
    found: [Found; 4],
    /// Curves by step of loop salt, modulo [`KEPT`].
    kept: Box<[Option<Kept>]>,
    /// The two that the loop salt is between, and the part of the upper.
    between: [usize; 2],
    upper: f64,
}

/// Litres of water a second whose salt passes a membrane at rest.
fn creep_lps(membrane: &Membrane, temp_c: f64) -> f64 {
    let element = &membrane.unit.element;
    let factor = temperature_factor(element.salt_temp_k, temp_c);
    factor * element.salt_permeability_l_m2_h * membrane.unit.area_m2() / 3_600.0
}

/// How many curves are kept: a unit goes through the same loop salts at every start.
const KEPT: i32 = 8;

/// The curve of one step of loop salt, and how far such a loop is beyond the limits of scaling.
#[derive(Clone, Copy, Debug)]
struct Kept {
    step: i32,
    /// The loop salt of that step, and [`LEAST_SALT_MG_L`].
    salt: f64,
    curve: OperatingCurve,
    excess: f64,
}

/// Place of a step's curve.
fn place(step: i32) -> usize {
    usize::try_from(step.rem_euclid(KEPT)).unwrap_or(0)
}

impl<'p> Running<'p> {
    pub(super) fn new(plant: &'p Plant) -> Option<Self> {
        let membrane = plant.membrane.as_ref()?;
        let rise_kpa = plant.water.pressure_kpa(membrane.rise_m);
        let most_kpa = plant.supplies.iter().map(|supply| match &supply.source {
            Source::TownLine(line) => line.static_kpa(),
            Source::Well { pump, .. } | Source::Basin { pump, .. } => pump.control.high_kpa(),
        });
        let most_inlet_kpa = (most_kpa.fold(0.0, f64::max) * HEADROOM - rise_kpa).max(1.0);
        let kept = (0..KEPT).map(|_| None).collect();
        Some(Self {
            membrane,
            water: &plant.water,
            rise_kpa,
            most_inlet_kpa,
            creep_lps: creep_lps(membrane, membrane.feed_temp_c),
            key: None,
            found: [Found::NOTHING; 4],
            kept,
            between: [0; 2],
            upper: 0.0,
        })
    }

    /// Brings the curve to a feed, a loop salt and a fouling.
    pub(super) fn refresh(&mut self, feed: &Carried, loop_mg_l: f64, fouling: Fouling) {
        let [found_feed, found_water, found_channel, found_loop] = &mut self.found;
        let key = Key {
            feed: found_feed.step_of(feed[Constituent::Salt as usize].max(0.0) + LEAST_SALT_MG_L, FINE_STEP),
            warmer: warmer(feed[Constituent::Temperature as usize] - self.membrane.feed_temp_c),
            water_share: found_water.step_of(fouling.water_share, FINE_STEP),
            channel_times: found_channel.step_of(fouling.channel_times, FINE_STEP),
        };
        let loop_salt = loop_mg_l.max(0.0) + LEAST_SALT_MG_L;
        let step = found_loop.step_of(loop_salt, LOOP_STEP);
        if self.key != Some(key) {
            self.key = Some(key);
            self.kept.fill(None);
            self.creep_lps = creep_lps(self.membrane, self.temp_c(key));
        }
        self.between = [step, step + 1].map(place);
        for (step, place) in [step, step + 1].into_iter().zip(self.between) {
            if self.kept[place].is_none_or(|kept| kept.step != step) {
                self.kept[place] = Some(self.curve(key, step));
            }
        }
        if let Some(([lower, upper], _)) = self.ends() {
            self.upper = (loop_salt - lower.salt) / (upper.salt - lower.salt);
        }
    }

    /// The curve of a step of loop salt.
    fn curve(&self, key: Key, step: i32) -> Kept {
        // The middle of a fine step stands for all of it.
        let middle = |steps: i32| libm::exp((f64::from(steps) + 0.5) * FINE_STEP);
        let fouling = Fouling { water_share: middle(key.water_share), channel_times: middle(key.channel_times) };
        let unit = self.membrane.unit.at(self.temp_c(key), fouling, self.water);
        let feed_mg_l = (middle(key.feed) - LEAST_SALT_MG_L).max(0.0);
        let salt = value_of(step, LOOP_STEP);
        let loop_mg_l = (salt - LEAST_SALT_MG_L).max(0.0);
        let curve = OperatingCurve::new(&unit, feed_mg_l, loop_mg_l, self.most_inlet_kpa);
        Kept { step, salt, curve, excess: self.excess(feed_mg_l, loop_mg_l) }
    }

    fn temp_c(&self, key: Key) -> f64 {
        (self.membrane.feed_temp_c + TEMP_STEP_K * f64::from(key.warmer)).clamp(COLDEST_C, HOTTEST_C)
    }

    /// The two curves that the loop salt is between, and the part of the upper.
    fn ends(&self) -> Option<([&Kept; 2], f64)> {
        let [lower, upper] = self.between.map(|place| self.kept[place].as_ref());
        Some(([lower?, upper?], self.upper))
    }

    fn excess(&self, feed_mg_l: f64, loop_mg_l: f64) -> f64 {
        let scale = self.membrane.scale.as_ref();
        scale.map_or(0.0, |scale| scale.excess(loop_mg_l / feed_mg_l.max(LEAST_SALT_MG_L)))
    }

    /// The membrane after a time of making so much water.
    pub(super) fn fouled(
        &self,
        before: FoulingState,
        length_s: f64,
        product_l: f64,
        recycled_l: f64,
        taken_l: f64,
    ) -> FoulingState {
        // A unit that draws air instead of water is left as it is.
        let Some((ends, share)) = self.ends().filter(|_| length_s > 0.0 && product_l > 0.0) else { return before };
        let unit = &self.membrane.unit;
        let in_series = u32::try_from(unit.elements_in_series).map_or(1.0, f64::from);
        // Each element taken to pass the same share of what comes to it.
        let left = 1.0 - (product_l / (taken_l + recycled_l)).clamp(0.0, 1.0);
        let recovery = 1.0 - libm::pow(left, 1.0 / in_series);
        let [lower, upper] = ends.map(|kept| kept.excess);
        let conditions = Conditions {
            flux_lmh: 3_600.0 * product_l / (length_s * unit.area_m2()),
            wall_factor: libm::exp(unit.element.polarisation * recovery),
            scale_excess: lower + share * (upper - lower),
        };
        self.membrane.fouling.after(before, &conditions, length_s / 3_600.0)
    }

    /// Pressure at the suction with a pressure at the end of the raw line.
    pub(super) fn inlet_kpa(&self, end_kpa: f64) -> f64 {
        end_kpa - self.rise_kpa
    }

    /// Pressure at the end of the raw line at which the suction has one.
    pub(super) fn end_kpa(&self, inlet_kpa: f64) -> f64 {
        inlet_kpa + self.rise_kpa
    }

    /// Part of its flow that reaches it: its pump cannot pull water out of a line without pressure, it draws air.
    fn fed(&self, end_kpa: f64) -> f64 {
        open_share(end_kpa.min(self.inlet_kpa(end_kpa)), AIR_KPA)
    }

    /// Pressure at the end of the raw line from which it gets all it can take.
    pub(super) fn fed_kpa(&self) -> f64 {
        AIR_KPA + self.rise_kpa.max(0.0)
    }

    /// Flows while it makes water.
    pub(super) fn making(&self, end_kpa: f64) -> Flows {
        let Some((ends, share)) = self.ends() else { return Flows::default() };
        let inlet_kpa = self.inlet_kpa(end_kpa);
        let [lower, upper] = ends.map(|kept| kept.curve.at(inlet_kpa));
        let blend = |of: fn(&Flows) -> f64| of(&lower) + share * (of(&upper) - of(&lower));
        let fed = self.fed(end_kpa);
        Flows {
            product_lps: fed * blend(|f| f.product_lps),
            reject_lps: fed * blend(|f| f.reject_lps),
            recycle_lps: fed * blend(|f| f.recycle_lps),
            product_salt_mg_s: fed * blend(|f| f.product_salt_mg_s),
            power_w: blend(|f| f.power_w),
        }
    }

    /// Its fresh feed while it makes water, to the bit as [`Self::making`] has it.
    fn feed_lps(&self, end_kpa: f64) -> f64 {
        let Some((ends, share)) = self.ends() else { return 0.0 };
        let inlet_kpa = self.inlet_kpa(end_kpa);
        let [lower, upper] = ends.map(|kept| kept.curve.product_and_reject_lps(inlet_kpa));
        let fed = self.fed(end_kpa);
        let [product_lps, reject_lps] = [0, 1].map(|q: usize| fed * (lower[q] + share * (upper[q] - lower[q])));
        product_lps + reject_lps
    }

    /// What it takes from the raw line while it makes water, and the slope of that over the pressure at the line's end.
    pub(super) fn taken_and_slope(&self, phase: Phase, end_kpa: f64) -> [f64; 2] {
        let Some((ends, share)) = self.ends() else { return [0.0; 2] };
        let inlet_kpa = self.inlet_kpa(end_kpa);
        let [lower, upper] = ends.map(|kept| kept.curve.feed_and_slope(inlet_kpa));
        let mut all = [0, 1].map(|i: usize| lower[i] + share * (upper[i] - lower[i]));
        if let Some(blend) = self.membrane.blend.filter(|_| phase == Phase::Makes) {
            let blended = blend.flow_and_slope(inlet_kpa, self.membrane.unit.product_kpa);
            all = [all[0] + blended[0], all[1] + blended[1]];
        }
        let (fed, fed_slope) = open_share_and_slope(end_kpa.min(inlet_kpa), AIR_KPA);
        [fed * all[0], fed * all[1] + fed_slope * all[0]]
    }

    /// What it takes from the raw line.
    pub(super) fn taken_lps(&self, phase: Phase, end_kpa: f64) -> f64 {
        match phase {
            Phase::Off | Phase::Pauses | Phase::Waits | Phase::LockedOut => 0.0,
            Phase::FlushesBefore | Phase::FlushesAfter => {
                self.fed(end_kpa) * self.membrane.flush.flow_lps(self.inlet_kpa(end_kpa))
            }
            Phase::Diverts => self.feed_lps(end_kpa),
            Phase::Makes => self.feed_lps(end_kpa) + self.blended_lps(phase, end_kpa),
        }
    }

    /// What goes past it into storage.
    pub(super) fn blended_lps(&self, phase: Phase, end_kpa: f64) -> f64 {
        let Some(blend) = self.membrane.blend.filter(|_| phase == Phase::Makes) else { return 0.0 };
        self.fed(end_kpa) * blend.flow_lps(self.inlet_kpa(end_kpa), self.membrane.unit.product_kpa)
    }

    /// Part of the salt's difference that evens out through the membrane at rest in a time, and how it is split: the loop's
    /// change, and the product side's, for each unit of difference.
    ///
    /// `V dc/dt = B S (c_loop - c_product)` on the product side, and the loop loses it.
    pub(super) fn creep(&self, length_s: f64) -> (f64, f64) {
        let (loop_l, product_l) = (self.membrane.unit.loop_volume_l, self.membrane.product_volume_l);
        if loop_l <= 0.0 || product_l <= 0.0 {
            return (0.0, 0.0);
        }
        let evened = -libm::expm1(-length_s * self.creep_lps * (1.0 / loop_l + 1.0 / product_l));
        (-evened * product_l / (loop_l + product_l), evened * loop_l / (loop_l + product_l))
    }

    /// How long a piece may be for the loop's salt to move by no more than a step, at rates in mg/s; and, until it has settled,
    /// no longer than what is rejected takes to renew the loop, or what the product takes along would lag behind.
    pub(super) fn longest_s(&self, loop_mg_l: f64, gain_mg_s: f64, reject_lps: f64) -> f64 {
        let (volume_l, salt_mg_l) = (self.membrane.unit.loop_volume_l, loop_mg_l + LEAST_SALT_MG_L);
        let moved_s = MOST_MOVE * salt_mg_l * volume_l / gain_mg_s.abs();
        let settled = gain_mg_s.abs() <= SETTLED * salt_mg_l * reject_lps;
        let renewed_s = if settled { f64::INFINITY } else { volume_l / reject_lps };
        moved_s.min(renewed_s).max(SHORTEST_S)
    }
}

/// The curve reaches so far beyond the pressure at which pumps stop.
const HEADROOM: f64 = 1.1;
/// The loop's salt moves no further in a piece, as a share of itself: a curve is that of its start.
const MOST_MOVE: f64 = 0.05;
/// A loop is settled when this is how far it is from where it goes, as a share of itself.
const SETTLED: f64 = 1e-4;
/// No piece is cut shorter than this for it.
const SHORTEST_S: f64 = 0.5;
