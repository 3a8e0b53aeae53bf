//! Guards: conditions that end a segment, and where on a piece one is first met.

use super::flows::{Hydraulics, Side};
use super::lines::Demand;
use super::mode::Mode;
use super::piece::{Form, Piece, WellForm};
use super::quartic::Quartic;
use super::state::{BLENDED, PRODUCT, Ports, RECYCLED, SERVED, SMALL, SOURCE, STORAGE, TAKEN};
use crate::membrane::fouling::FoulingState;
use crate::root::root;
use crate::time::{Span, Time};

/// What a guard watches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantity {
    /// One of the levels.
    Level(usize),
    /// Seconds of full service of an outlet since the start of the piece.
    Served(usize),
    /// Supply less demand where the pressure tank has no more to give.
    RawSpare,
    /// What runs into a source less what its pump would take.
    SourceSpare(usize),
    /// What a basin gains.
    BasinNet(usize),
    /// What storage gains.
    StorageNet,
    /// Pressure on the raw header without a tank that gives.
    RawPressure,
    /// What leaves the raw header at the pressure that a supply's drive holds.
    HoldFlow(usize),
    /// What the drive could give beyond that.
    HoldSpare(usize),
    /// Part of what a membrane may lose between two cleanings that it has lost.
    Fouling,
}

impl Quantity {
    /// The side of storage that alone decides it.
    fn side(self) -> Side {
        match self {
            Self::Level(STORAGE) | Self::StorageNet | Self::Served(_) => Side::Both,
            Self::Level(SMALL) => Side::Delivery,
            Self::Level(_)
            | Self::RawSpare
            | Self::SourceSpare(_)
            | Self::BasinNet(_)
            | Self::RawPressure
            | Self::HoldFlow(_)
            | Self::HoldSpare(_)
            | Self::Fouling => Side::Raw,
        }
    }
}

/// A condition: the quantity reaches the threshold from below (`rising`) or from above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Guard {
    pub quantity: Quantity,
    pub threshold: f64,
    pub rising: bool,
}

impl Guard {
    /// Positive or zero when the condition is met.
    fn excess(&self, value: f64) -> f64 {
        if self.rising { value - self.threshold } else { self.threshold - value }
    }
}

/// The most guards armed at once: thirteen for the plant, ten for each supply, three for each outlet.
const MOST_GUARDS: usize = 13 + 10 * crate::supply::MOST_SUPPLIES + 3 * crate::plant::MOST_OUTLETS;

/// The guards armed over a piece.
#[derive(Clone, Debug)]
pub(super) struct Guards {
    list: [Guard; MOST_GUARDS],
    count: usize,
}

impl Guards {
    pub(super) fn new() -> Self {
        let idle = Guard { quantity: Quantity::RawSpare, threshold: 0.0, rising: true };
        Self { list: [idle; MOST_GUARDS], count: 0 }
    }

    pub(super) fn clear(&mut self) {
        self.count = 0;
    }

    pub(super) fn arm(&mut self, quantity: Quantity, threshold: f64, rising: bool) {
        debug_assert!(self.count < MOST_GUARDS, "too many guards");
        if self.count < MOST_GUARDS {
            self.list[self.count] = Guard { quantity, threshold, rising };
            self.count += 1;
        }
    }

    pub(super) fn falls_to(&mut self, level: usize, threshold: f64) {
        self.arm(Quantity::Level(level), threshold, false);
    }

    pub(super) fn rises_to(&mut self, level: usize, threshold: f64) {
        self.arm(Quantity::Level(level), threshold, true);
    }

    /// The first instant of the piece at which any guard is met, rounded up to the nanosecond at which it is.
    pub(super) fn first_met(&self, piece: &Piece, context: &Context<'_>) -> Option<Time> {
        self.first_met_on(Side::Both, piece, context)
    }

    /// The same of the guards on what a side alone decides.
    pub(super) fn first_met_on(&self, side: Side, piece: &Piece, context: &Context<'_>) -> Option<Time> {
        let mut end = piece.end;
        let mut met = None;
        for guard in self.list[..self.count].iter().filter(|guard| side == Side::Both || guard.quantity.side() == side)
        {
            if let Some(time) = guard.met(piece, end, context) {
                end = time;
                met = Some(time);
            }
        }
        met
    }
}

/// What a guard needs to evaluate its quantity.
pub(super) struct Context<'a> {
    pub hydraulics: &'a Hydraulics<'a>,
    pub mode: &'a Mode,
    pub demand: &'a Demand,
    /// At the start of the piece.
    pub fouling: FoulingState,
}

impl Context<'_> {
    /// How far the membrane has fouled after a part of the piece in which so much has flowed.
    pub(super) fn fouled(&self, ports: &Ports, length: Span) -> FoulingState {
        let running = self.hydraulics.membrane.as_ref().filter(|_| self.mode.membrane.phase.makes());
        let [product_l, recycled_l, fed_l] = [ports[PRODUCT], ports[RECYCLED], ports[TAKEN] - ports[BLENDED]];
        let before = self.fouling;
        running.map_or(before, |running| running.fouled(before, length.s(), product_l, recycled_l, fed_l))
    }

    fn value(&self, quantity: Quantity, piece: &Piece, time: Time) -> f64 {
        let levels = || piece.levels_at(time);
        match quantity {
            Quantity::Level(i) => piece.level_at(i, time),
            Quantity::Served(outlet) => piece.port_at(SERVED + outlet, time),
            Quantity::RawSpare => self.hydraulics.raw_spare_lps(self.mode, self.demand, &levels()),
            Quantity::SourceSpare(i) => self.hydraulics.source_spare_lps(i, self.mode, self.demand, &levels()),
            Quantity::BasinNet(i) => self.hydraulics.basin_net_lps(i, self.mode, self.demand, &levels()),
            Quantity::StorageNet => self.hydraulics.storage_net_lps(self.mode, self.demand, &levels()),
            Quantity::RawPressure => self.hydraulics.raw_kpa(self.mode, self.demand, &levels()),
            Quantity::HoldFlow(i) => self.hydraulics.hold(i, self.mode, self.demand, &levels()).0,
            Quantity::HoldSpare(i) => self.hydraulics.hold(i, self.mode, self.demand, &levels()).1,
            Quantity::Fouling => {
                let ports = piece.ports_at(self.hydraulics, self.mode, time);
                self.fouled(&ports, time - piece.start).share_of_interval()
            }
        }
    }
}

/// A crossing found on the polynomial may miss that of the weighted sum by rounding; this many doublings of a
/// nanosecond bring it home.
const MOST_NUDGES: u32 = 24;

impl Guard {
    /// The first instant in the piece up to `end` at which the guard comes to be met. A guard met already at the start
    /// is being left, or it would have been acted on: it counts again once it has been unmet.
    fn met(&self, piece: &Piece, end: Time, context: &Context<'_>) -> Option<Time> {
        let excess_at = |time: Time| self.excess(context.value(self.quantity, piece, time));
        let seconds = match (self.quantity, &piece.form) {
            (Quantity::Level(i), Form::Closed { wells }) => {
                let well = i.checked_sub(SOURCE).map_or(WellForm::Linear, |supply| wells[supply]);
                self.met_closed(piece, i, well)
            }
            (Quantity::Level(i), Form::Step { step }) => self
                .met_dense(piece.levels[i], piece.level_rise(i), (end - piece.start).s() / step.s())
                .map(|x| x * step.s()),
            (Quantity::Served(o), Form::Step { step }) => {
                let served = piece.port_rise(*step, SERVED + o);
                self.met_dense(0.0, &served, (end - piece.start).s() / step.s()).map(|x| x * step.s())
            }
            (Quantity::Served(o), Form::Closed { .. }) => {
                let share = piece.flows().ports[SERVED + o];
                (share > 0.0).then(|| self.threshold / share)
            }
            // It rises whatever the form, and only with time.
            (Quantity::Fouling, _) => {
                return (excess_at(end) >= 0.0).then(|| first_at(piece.start, end, &excess_at));
            }
            // Constant over a closed form, so not newly met.
            (_, Form::Closed { .. }) => None,
            (_, Form::Step { .. }) => met_sampled(piece, end, &excess_at),
        }?;
        let mut time = piece.start + Span::from_ns(ceil_ns(seconds)).max(Span::from_ns(1));
        let mut nudge = 1;
        for _ in 0..MOST_NUDGES {
            if time >= end || excess_at(time) >= 0.0 {
                return (time <= end).then_some(time);
            }
            time += Span::from_ns(nudge);
            nudge *= 2;
        }
        // So slow that rounding is all there is, as where a float valve has all but shut.
        (excess_at(end) >= 0.0).then(|| first_at(time, end, &excess_at))
    }

    fn met_closed(&self, piece: &Piece, level: usize, well: WellForm) -> Option<f64> {
        let (from, rate) = (piece.levels[level], piece.flows().levels[level]);
        if self.excess(from) >= 0.0 {
            return None;
        }
        let change = self.threshold - from;
        let seconds = match well {
            WellForm::Exponential { steady_m, time_constant_s, .. } => {
                -time_constant_s * libm::log1p(-change / (steady_m - from))
            }
            WellForm::Linear => change / rate,
        };
        // Not finite where nothing moves or the threshold is never reached; negative when it moves away.
        (seconds.is_finite() && seconds >= 0.0).then_some(seconds)
    }

    /// On the dense output: brackets between quarters and turning points of `[0, last]`.
    fn met_dense(&self, from: f64, rise: &Quartic, last: f64) -> Option<f64> {
        // Most guards are far from met, and rounding keeps order: no excess below is above this one.
        let reach = if self.rising { rise.reach() } else { -rise.reach() };
        if self.excess(from + reach) < 0.0 {
            return None;
        }
        let excess = |x: f64| self.excess(from + rise.value(x));
        let mut nodes = [0.0; 9];
        for (i, node) in (0_u8..5).zip(nodes.iter_mut()) {
            *node = 0.25 * f64::from(i) * last;
        }
        let mut count = 5;
        for x in rise.turning_points(last) {
            nodes[count] = x;
            count += 1;
        }
        if count > 5 {
            nodes[..count].sort_unstable_by(f64::total_cmp);
        }
        nodes[..count]
            .windows(2)
            .find(|pair| excess(pair[0]) < 0.0 && excess(pair[1]) >= 0.0)
            .map(|pair| root(excess, pair[0], pair[1]))
    }
}

/// The first instant between two at which a condition that is met at the later one is met, by halving.
fn first_at(mut before: Time, mut met: Time, excess_at: &impl Fn(Time) -> f64) -> Time {
    while met - before > Span::from_ns(1) {
        let middle = before + Span::from_ns((met - before).ns() / 2);
        if excess_at(middle) >= 0.0 {
            met = middle;
        } else {
            before = middle;
        }
    }
    met
}

/// On a quantity that must be solved for: brackets between quarters of the piece.
fn met_sampled(piece: &Piece, end: Time, excess_at: &impl Fn(Time) -> f64) -> Option<f64> {
    let length_s = (end - piece.start).s();
    let excess = |s: f64| excess_at(piece.start + Span::from_s(s));
    let mut before = (0.0, excess(0.0));
    for i in 1..=4_u8 {
        let s = 0.25 * f64::from(i) * length_s;
        let after = (s, excess(s));
        if before.1 < 0.0 && after.1 >= 0.0 {
            return Some(root(excess, before.0, after.0));
        }
        before = after;
    }
    None
}

#[expect(clippy::cast_possible_truncation, reason = "`as` saturates at 292 years")]
fn ceil_ns(seconds: f64) -> i64 {
    (seconds * 1e9).ceil() as i64
}
