//! The operating curve of a unit over its inlet pressure, at one temperature, fouling and salt: a table that costs next to
//! nothing to read.
//!
//! Between nodes flows are cubics in the root of the pressure, in which flows through valves are straight, with slopes
//! limited so that none turns back (Fritsch & Carlson 1980). One node is where product sets in, if that is in the range;
//! the others go where the curve bends most. See `docs/physics.md`.

use super::solve::{Guess, Loop};
use super::unit::{Flows, UnitAt};
use super::valve::{valve_root, valve_root_and_slope, valve_root_inverse};

/// The most nodes of a curve.
pub const MOST_NODES: usize = 17;
/// Nodes set beforehand; each of the others halves the step with the largest error,
const SET_NODES: usize = 5;
/// until that is under this share of the largest value of its quantity.
const CLOSE: f64 = 1e-4;
/// Place among the set nodes of the one where product sets in.
const ONSET: usize = 2;
/// Quantities tabled.
const QUANTITIES: usize = 5;
type Values = [f64; QUANTITIES];

/// Flows of a unit over its inlet pressure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OperatingCurve {
    most_inlet_kpa: f64,
    /// Its root.
    most_root: f64,
    feed_salt_mg_l: f64,
    loop_salt_mg_l: f64,
    steps: [Step; MOST_NODES - 1],
}

/// A step from one node to the next: where it begins, its width, and the cubics of the quantities over it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Step {
    x: f64,
    width: f64,
    cubics: [[f64; 4]; QUANTITIES],
}

/// A node: root of the pressure as a share of that of the largest, and the quantities there.
#[derive(Clone, Copy, Default)]
struct Node {
    x: f64,
    values: Values,
    /// No slope is carried across it.
    kink: bool,
}

/// A node while the table is made: where its search ended, and the error expected on the step that it begins.
#[derive(Clone, Copy, Default)]
struct Draft {
    node: Node,
    guess: Guess,
    error: f64,
}

impl OperatingCurve {
    /// The curve from no inlet pressure to `most_inlet_kpa`, which is above zero.
    #[must_use]
    pub fn new(unit: &UnitAt<'_>, feed_salt_mg_l: f64, loop_salt_mg_l: f64, most_inlet_kpa: f64) -> Self {
        let most_root = valve_root(most_inlet_kpa);
        let solve = |x: f64, mut guess: Guess| {
            let inlet_kpa = valve_root_inverse(x * most_root);
            let Flows { product_lps, reject_lps, recycle_lps, product_salt_mg_s, power_w } =
                unit.solve(inlet_kpa, feed_salt_mg_l, Loop::At(loop_salt_mg_l), &mut guess).flows;
            let values = [product_lps, reject_lps, recycle_lps, product_salt_mg_s, power_w];
            Draft { node: Node { x, values, kink: false }, guess, error: 0.0 }
        };
        let onset = valve_root(unit.onset_kpa(feed_salt_mg_l, most_inlet_kpa)) / most_root;
        let within = onset > 0.0 && onset < 1.0;
        let place_x = |place: usize| {
            let part = |place: usize, of: usize| number(place) / number(of);
            match place {
                _ if !within => part(place, SET_NODES - 1),
                0..ONSET => onset * part(place, ONSET),
                _ => onset + (1.0 - onset) * part(place - ONSET, SET_NODES - 1 - ONSET),
            }
        };
        let mut table = Table { drafts: [Draft::default(); MOST_NODES], count: 0 };
        // From the largest pressure down, where all flows are there to start from.
        let mut guess = Guess::default();
        for place in (0..SET_NODES).rev() {
            let mut draft = solve(place_x(place), guess);
            draft.node.kink = within && place == ONSET;
            guess = draft.guess;
            table.insert(0, draft);
        }
        table.judge_set();
        while let Some(place) = table.worst() {
            let (from, to) = (table.drafts[place], table.drafts[place + 1]);
            let draft = solve(0.5 * (from.node.x + to.node.x), to.guess);
            table.halve(place, draft);
        }
        let node = |i: usize| table.drafts[..table.count].get(i).map(|draft| &draft.node);
        let steps = core::array::from_fn(|place| step(place, &node));
        Self { most_inlet_kpa, most_root, feed_salt_mg_l, loop_salt_mg_l, steps }
    }

    /// Flows at an inlet pressure, held to the range of the curve.
    #[must_use]
    pub fn at(&self, inlet_kpa: f64) -> Flows {
        let (step, x) = self.step_at(inlet_kpa);
        let [product_lps, reject_lps, recycle_lps, product_salt_mg_s, power_w] = step.values(x);
        Flows { product_lps, reject_lps, recycle_lps, product_salt_mg_s, power_w }
    }

    /// Product and reject alone, to the bit as [`Self::at`] has them.
    #[must_use]
    pub fn product_and_reject_lps(&self, inlet_kpa: f64) -> [f64; 2] {
        let (step, x) = self.step_at(inlet_kpa);
        [0, 1].map(|quantity| step.value(quantity, x))
    }

    /// Product and reject together, and their slope over the inlet pressure.
    pub(crate) fn feed_and_slope(&self, inlet_kpa: f64) -> [f64; 2] {
        let (root, root_slope) = valve_root_and_slope(inlet_kpa);
        // It is held to the range of the curve.
        let (x, x_slope) =
            if root < self.most_root { (root / self.most_root, root_slope / self.most_root) } else { (1.0, 0.0) };
        let step = self.step_of(x);
        let t = (x - step.x) / step.width;
        let [product, reject, ..] = &step.cubics;
        let [c0, c1, c2, c3]: [f64; 4] = core::array::from_fn(|power| product[power] + reject[power]);
        let value = c0 + t * (c1 + t * (c2 + t * c3));
        let slope = c1 + t * (2.0 * c2 + t * 3.0 * c3);
        [value, slope / step.width * x_slope]
    }

    /// The step that an inlet pressure is on, and the root of that pressure as a share of that of the largest.
    fn step_at(&self, inlet_kpa: f64) -> (&Step, f64) {
        let x = (valve_root(inlet_kpa) / self.most_root).min(1.0);
        (self.step_of(x), x)
    }

    fn step_of(&self, x: f64) -> &Step {
        &self.steps[self.steps.partition_point(|step| step.x <= x).max(1) - 1]
    }

    /// Salt at the end of the last element at an inlet pressure.
    #[must_use]
    pub fn tail_salt_mg_l(&self, inlet_kpa: f64) -> f64 {
        self.at(inlet_kpa).tail_salt_mg_l(self.feed_salt_mg_l, self.loop_salt_mg_l)
    }

    /// Largest inlet pressure of the curve.
    #[must_use]
    pub fn most_inlet_kpa(&self) -> f64 {
        self.most_inlet_kpa
    }
}

/// A count as a number.
fn number(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}

/// Drafts in order of pressure.
struct Table {
    drafts: [Draft; MOST_NODES],
    count: usize,
}

/// Error left on half a step, as a share of that on the whole: a half where a kink is in it, an eighth where it is smooth.
const HALVED: f64 = 0.25;

impl Table {
    fn insert(&mut self, place: usize, draft: Draft) {
        self.drafts.copy_within(place..self.count, place + 1);
        self.drafts[place] = draft;
        self.count += 1;
    }

    /// Judges the steps between the set nodes: by how far every other node is from the curve through those between.
    fn judge_set(&mut self) {
        for place in (1..self.count).step_by(2) {
            let error = self.error_without(place, &|i| Some(2 * i).filter(|&i| i < self.count), place / 2);
            self.judge(place, error);
        }
    }

    /// The step with the largest error, if it is too large and there is room for a node in it.
    fn worst(&self) -> Option<usize> {
        let mut worst = 0;
        for place in 1..self.count - 1 {
            if self.drafts[place].error > self.drafts[worst].error {
                worst = place;
            }
        }
        (self.count < MOST_NODES && self.drafts[worst].error > CLOSE).then_some(worst)
    }

    /// Puts a node into the middle of a step.
    fn halve(&mut self, place: usize, draft: Draft) {
        self.insert(place + 1, draft);
        let others = |i: usize| Some(if i > place { i + 1 } else { i }).filter(|&i| i < self.count);
        let error = self.error_without(place + 1, &others, place);
        self.judge(place + 1, error);
    }

    fn judge(&mut self, middle: usize, error: f64) {
        self.drafts[middle - 1].error = HALVED * error;
        self.drafts[middle].error = HALVED * error;
    }

    /// How far a node is from the curve through `others`, on their step `from`; as a share of the largest value of each
    /// quantity.
    fn error_without(&self, place: usize, others: &impl Fn(usize) -> Option<usize>, from: usize) -> f64 {
        let here = &self.drafts[place].node;
        let guessed = step(from, &|i| others(i).map(|i| &self.drafts[i].node)).values(here.x);
        let mut error = 0.0_f64;
        for (q, (guessed, value)) in guessed.into_iter().zip(here.values).enumerate() {
            let whole = self.drafts[..self.count].iter().fold(0.0_f64, |whole, draft| whole.max(draft.node.values[q]));
            if whole > 0.0 {
                error = error.max((guessed - value).abs() / whole);
            }
        }
        error
    }
}

impl Step {
    fn values(&self, x: f64) -> Values {
        core::array::from_fn(|quantity| self.value(quantity, x))
    }

    fn value(&self, quantity: usize, x: f64) -> f64 {
        let t = (x - self.x) / self.width;
        let [c0, c1, c2, c3] = self.cubics[quantity];
        c0 + t * (c1 + t * (c2 + t * c3))
    }
}

/// The step from a node to the next: Hermite's cubics with the slopes of the parabolas through three nodes, limited so that
/// they do not turn back.
fn step<'n>(place: usize, node: &impl Fn(usize) -> Option<&'n Node>) -> Step {
    let width = |i: usize| Some(node(i + 1)?.x - node(i)?.x);
    let (Some(from), Some(to), Some(here)) = (node(place), node(place + 1), width(place)) else {
        return Step { x: f64::INFINITY, ..Step::default() };
    };
    let before = if from.kink { None } else { place.checked_sub(1) };
    let before = before.and_then(|i| Some((node(i)?, width(i)?)));
    let after = if to.kink { None } else { node(place + 2).zip(width(place + 1)) };
    let cubics = core::array::from_fn(|q| {
        let rise = to.values[q] - from.values[q];
        if rise == 0.0 {
            return [from.values[q], 0.0, 0.0, 0.0];
        }
        // Secants over those of this step, and the slopes over it too: between 0 and 3 nothing turns back.
        let before =
            before.map(|(node, width)| (width / here, (from.values[q] - node.values[q]) / rise * here / width));
        let after = after.map(|(node, width)| (width / here, (node.values[q] - to.values[q]) / rise * here / width));
        let [a, b] = match (before, after) {
            (Some(before), Some(after)) => [inner(before), inner(after)],
            (Some(before), None) => [inner(before), end(before)],
            (None, Some(after)) => [end(after), inner(after)],
            (None, None) => [1.0, 1.0],
        };
        let (a, b) = (a.max(0.0), b.max(0.0));
        let size = a * a + b * b;
        let shrink = if size > 9.0 { 3.0 / size.sqrt() } else { 1.0 };
        let (m0, m1) = (shrink * a * rise, shrink * b * rise);
        [from.values[q], m0, 3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise]
    });
    Step { x: from.x, width: here, cubics }
}

/// Slope where this step of width and secant 1 meets one of another width and secant; none at a turning point.
fn inner((width, secant): (f64, f64)) -> f64 {
    if secant > 0.0 { (secant + width) / (1.0 + width) } else { 0.0 }
}

/// Slope at the far end of this step from one of another width and secant.
fn end((width, secant): (f64, f64)) -> f64 {
    ((2.0 + width) - secant) / (1.0 + width)
}
