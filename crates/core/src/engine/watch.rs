//! The watches: spells of low pressure and of outlets that have run out. They tell; they change nothing.
//!
//! A spell begins at once and is over when the pressure has been back for [`SPELL_GAP`]; its length is counted up to when the
//! pressure came back.

use super::Core;
use super::guard::{Guards, Quantity};
use super::state::{DeliveryMode, SMALL, TANK, Watch};
use crate::observe::{EventKind, Observer, Part};
use crate::outlet::{Header, Role};
use crate::time::{Span, Time};

/// A spell, or an empty tank, is over once it has been for this long: a pressure that dips at every cycle of a waterlogged
/// tank is one spell.
pub(super) const SPELL_GAP: Span = Span::from_ns(10_000_000_000);

/// The pressure to the buildings counts as low this far under what the controls hold, about a needle's width,
const LOW_BAND_KPA: f64 = 1.0;
/// and as back this far under.
const BACK_BAND_KPA: f64 = 0.9;
/// Water counts as back at an outlet at this much more than the pressure at which it ran out.
const BACK_FACTOR: f64 = 1.001;

/// What decides the pressure on a header.
enum Gauge {
    /// A control holds it.
    Fixed(f64),
    /// The gas in the tank with this level.
    Tank(usize),
    /// Supply meets demand.
    Solved,
}

/// The pressures on a header that a watch goes by, and whether it is asked to begin a spell.
struct Marks {
    header: Header,
    low_kpa: f64,
    back_kpa: f64,
    asked: bool,
}

/// What a watch has to say.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Word {
    Begins,
    Ends,
    /// Nothing to tell yet: the pressure came back, or fell again before it had been back for long.
    Waits,
}

impl Core<'_> {
    /// What decides the pressure on a header just now.
    fn gauge(&self, header: Header) -> Gauge {
        let mode = &self.state.mode;
        match (header, self.hydraulics.delivery()) {
            (Header::Delivery, Some(delivery)) => match mode.delivery {
                DeliveryMode::Hold { .. } => Gauge::Fixed(delivery.set_kpa),
                _ if mode.small_empty => Gauge::Solved,
                _ => Gauge::Tank(SMALL),
            },
            _ if mode.tank_empty => Gauge::Solved,
            _ => Gauge::Tank(TANK),
        }
    }

    fn water_at_l(&self, level: usize, kpa: f64) -> f64 {
        match (level, self.hydraulics.delivery()) {
            (SMALL, Some(delivery)) => delivery.tank.water_l(kpa),
            _ => self.hydraulics.plant.pressure_tank.water_l(kpa),
        }
    }

    /// Whether the pressure on a header is at or below (`rising`: at or above) a limit.
    pub(super) fn stands(&self, header: Header, kpa: f64, rising: bool) -> bool {
        let (value, limit) = match self.gauge(header) {
            Gauge::Fixed(fixed_kpa) => (fixed_kpa, kpa),
            Gauge::Tank(level) => (self.state.levels[level], self.water_at_l(level, kpa)),
            Gauge::Solved => {
                let solved = self.hydraulics.header_kpa(header, &self.state.mode, &self.demand, &self.state.levels);
                (solved, kpa)
            }
        };
        if rising { value >= limit } else { value <= limit }
    }

    pub(super) fn arm_pressure(&self, guards: &mut Guards, header: Header, kpa: f64, rising: bool) {
        match self.gauge(header) {
            Gauge::Tank(level) => guards.arm(Quantity::Level(level), self.water_at_l(level, kpa), rising),
            Gauge::Solved if header == Header::Raw => guards.arm(Quantity::RawPressure, kpa, rising),
            // Held, or following from mode and demand alone: nothing to watch for on the way.
            Gauge::Fixed(_) | Gauge::Solved => {}
        }
    }

    fn held_marks(&self) -> Marks {
        let held_kpa = self.limits.held_kpa;
        let header = self.hydraulics.plant.house_header();
        Marks { header, low_kpa: held_kpa - LOW_BAND_KPA, back_kpa: held_kpa - BACK_BAND_KPA, asked: true }
    }

    fn outlet_marks(&self, i: usize) -> Marks {
        let outlet = &self.hydraulics.plant.outlets[i];
        let (low_kpa, asked) = (outlet.run_out_kpa(), self.demand.lps[i] > 0.0);
        Marks { header: outlet.header, low_kpa, back_kpa: BACK_FACTOR * low_kpa, asked }
    }

    /// Moves a watch on; `None` where nothing has changed.
    fn look(&self, watch: &mut Watch, marks: &Marks) -> Option<Word> {
        let now = self.state.time;
        let low = || marks.asked && self.stands(marks.header, marks.low_kpa, false);
        match *watch {
            Watch::Well if low() => {
                *watch = Watch::Low;
                Some(Word::Begins)
            }
            Watch::Low if self.stands(marks.header, marks.back_kpa, true) => {
                *watch = Watch::Back { since: now };
                Some(Word::Waits)
            }
            Watch::Back { .. } if low() => {
                *watch = Watch::Low;
                Some(Word::Waits)
            }
            Watch::Back { since } if now >= since + SPELL_GAP => {
                *watch = Watch::Well;
                Some(Word::Ends)
            }
            _ => None,
        }
    }

    fn arm_watch(&self, watch: Watch, marks: &Marks, guards: &mut Guards, timer: &mut Time) {
        if let Watch::Back { since } = watch {
            *timer = (since + SPELL_GAP).min(*timer);
        }
        if watch == Watch::Low {
            self.arm_pressure(guards, marks.header, marks.back_kpa, true);
        } else if marks.asked {
            self.arm_pressure(guards, marks.header, marks.low_kpa, false);
        }
    }

    pub(super) fn arm_watches(&self, guards: &mut Guards, timer: &mut Time) {
        self.arm_watch(self.state.mode.pressure, &self.held_marks(), guards, timer);
        for i in 0..self.hydraulics.plant.outlets.len() {
            self.arm_watch(self.state.mode.outlets[i], &self.outlet_marks(i), guards, timer);
        }
    }

    pub(super) fn act_watches<O: Observer>(&mut self, observer: &mut O) -> bool {
        let mut changed = self.act_pressure_watch(observer);
        for i in 0..self.hydraulics.plant.outlets.len() {
            changed |= self.act_run_out_watch(i, observer);
        }
        changed
    }

    fn act_pressure_watch<O: Observer>(&mut self, observer: &mut O) -> bool {
        let before = self.state.mode.pressure;
        let mut watch = before;
        let word = self.look(&mut watch, &self.held_marks());
        self.state.mode.pressure = watch;
        let part = match self.hydraulics.plant.house_header() {
            Header::Delivery => Part::Delivery,
            Header::Raw => Part::PressureTank,
        };
        let now = self.state.time;
        match word {
            Some(Word::Begins) => {
                self.state.tally.low_pressure.begin(now);
                self.tell(observer, part, EventKind::PressureLow, self.limits.held_kpa);
            }
            Some(Word::Ends) => {
                let length = self.state.tally.low_pressure.end(before.back_since());
                self.tell(observer, part, EventKind::PressureBack, length.s());
            }
            Some(Word::Waits) | None => {}
        }
        word.is_some()
    }

    fn act_run_out_watch<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let before = self.state.mode.outlets[i];
        let mut watch = before;
        let word = self.look(&mut watch, &self.outlet_marks(i));
        self.state.mode.outlets[i] = watch;
        let now = self.state.time;
        match word {
            Some(Word::Begins) => {
                self.state.tally.outlets[i].begin(now);
                let flow_lps = self.flow_to_lps(i);
                self.tell(observer, Part::Outlet(i), EventKind::RunOutBegins, flow_lps);
                self.count_run_outs(now);
            }
            Some(Word::Ends) => {
                let length = self.state.tally.outlets[i].end(before.back_since());
                self.tell(observer, Part::Outlet(i), EventKind::RunOutEnds, length.s());
                self.count_run_outs(before.back_since());
            }
            Some(Word::Waits) | None => {}
        }
        word.is_some()
    }

    /// Keeps the spells in which any building has run out.
    fn count_run_outs(&mut self, time: Time) {
        let watches = self.hydraulics.plant.outlets.iter().zip(&self.state.mode.outlets);
        let any = watches.into_iter().any(|(o, watch)| *watch != Watch::Well && o.role == Role::Building);
        let spells = &mut self.state.tally.run_outs;
        if any && spells.since.is_none() {
            spells.begin(time);
        } else if !any {
            spells.end(time);
        }
    }
}
