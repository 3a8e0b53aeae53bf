//! The watches: spells of low pressure, of outlets that have run out, and of a membrane due for cleaning. They tell; they
//! change nothing.
//!
//! A spell begins at once and is over when the pressure has been back for [`SPELL_GAP`]; its length is counted up to when the
//! pressure came back.

use super::Core;
use super::guard::{Guards, Quantity};
use super::mode::{DriveMode, Watch};
use super::state::{SMALL, TANK};
use crate::observe::{EventKind, Observer, Part};
use crate::outlet::{Header, RUN_OUT_SHARE, Role};
use crate::time::{Span, Time};

/// A spell, or an empty tank, is over once it has been for this long: a pressure that dips at every cycle of a waterlogged
/// tank is one spell.
pub(super) const SPELL_GAP: Span = Span::from_ns(10_000_000_000);

/// The pressure to the buildings counts as low this far under what the controls hold, about a needle's width,
const LOW_BAND_KPA: f64 = 1.0;
/// and as back this far under.
const BACK_BAND_KPA: f64 = 0.9;
/// Water counts as back at an outlet at this much more, as a share, than the pressure at which it ran out.
const BACK_SHARE: f64 = 0.001;

/// From this part of what a membrane may lose on, the very instant is looked for at which it has lost all of it. A piece is an
/// hour at most: only water that closes a membrane within two takes it further, and there the end of the piece will do.
const NEARLY_DUE: f64 = 0.5;

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

impl Watch {
    /// Moves the watch on; `None` where nothing has changed.
    fn look(&mut self, now: Time, low: impl Fn() -> bool, back: impl Fn() -> bool) -> Option<Word> {
        match *self {
            Self::Well if low() => {
                *self = Self::Low;
                Some(Word::Begins)
            }
            Self::Low if back() => {
                *self = Self::Back { since: now };
                Some(Word::Waits)
            }
            Self::Back { .. } if low() => {
                *self = Self::Low;
                Some(Word::Waits)
            }
            Self::Back { since } if now >= since + SPELL_GAP => {
                *self = Self::Well;
                Some(Word::Ends)
            }
            _ => None,
        }
    }
}

impl Core<'_> {
    /// What decides the pressure on a header just now.
    fn gauge(&self, header: Header) -> Gauge {
        let mode = &self.state.mode;
        match (header, self.hydraulics.delivery()) {
            (Header::Delivery, Some(delivery)) => match mode.delivery {
                DriveMode::Hold { .. } => Gauge::Fixed(delivery.drive.set_kpa),
                _ if mode.small_empty => Gauge::Solved,
                _ => Gauge::Tank(SMALL),
            },
            _ => match (self.hydraulics.holder(mode), self.hydraulics.giving_tank(mode)) {
                (Some((_, set_kpa)), _) => Gauge::Fixed(set_kpa),
                (None, Some(_)) => Gauge::Tank(TANK),
                (None, None) => Gauge::Solved,
            },
        }
    }

    fn water_at_l(&self, level: usize, kpa: f64) -> f64 {
        match (level, self.hydraulics.delivery()) {
            (SMALL, Some(delivery)) => delivery.tank.water_l(kpa),
            _ => self.hydraulics.tank.as_ref().map_or(0.0, |tank| tank.water_l(kpa)),
        }
    }

    /// Whether the pressure on a header is at or below (`rising`: at or above) a limit.
    pub(super) fn stands(&self, header: Header, kpa: f64, rising: bool) -> bool {
        let (value, limit) = match self.gauge(header) {
            Gauge::Fixed(fixed_kpa) => (fixed_kpa, kpa),
            _ if kpa == f64::INFINITY => return !rising,
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
            _ if kpa == f64::INFINITY => {}
            Gauge::Tank(level) => guards.arm(Quantity::Level(level), self.water_at_l(level, kpa), rising),
            Gauge::Solved if header == Header::Raw => guards.arm(Quantity::RawPressure, kpa, rising),
            // Held, or following from mode and demand alone: nothing to watch for on the way.
            Gauge::Fixed(_) | Gauge::Solved => {}
        }
    }

    fn held_marks(&self) -> Marks {
        let held_kpa = self.held_kpa;
        let header = self.hydraulics.plant.house_header();
        Marks { header, low_kpa: held_kpa - LOW_BAND_KPA, back_kpa: held_kpa - BACK_BAND_KPA, asked: true }
    }

    fn outlet_marks(&self, i: usize) -> Marks {
        let (hydraulics, outlet) = (&self.hydraulics, &self.hydraulics.plant.outlets[i]);
        let asked = self.demand.lps[i] > 0.0;
        let line = self.demand.line(outlet.header);
        if outlet.treated && line.shut {
            // No pressure brings water here.
            return Marks { header: outlet.header, low_kpa: f64::INFINITY, back_kpa: f64::INFINITY, asked };
        }
        let low_kpa = hydraulics.share_kpa(i, RUN_OUT_SHARE, &self.demand);
        let spread_kpa = (low_kpa - hydraulics.offset_kpa[i]).abs();
        let head_kpa = |kpa: f64| {
            if hydraulics.given_kpa(outlet, kpa, kpa) < kpa {
                // The reducing valve lets no such pressure through.
                return f64::INFINITY;
            }
            self.at_head_kpa(outlet.header, outlet.treated, kpa)
        };
        let [low_kpa, back_kpa] = [0.0, BACK_SHARE].map(|more| head_kpa(low_kpa + more * spread_kpa));
        Marks { header: outlet.header, low_kpa, back_kpa, asked }
    }

    /// Whether there is nothing for the watch on an outlet to see: no spell, and nothing wanted.
    fn is_idle(&self, i: usize) -> bool {
        self.state.mode.outlets[i] == Watch::Well && self.demand.lps[i] <= 0.0
    }

    /// Moves a watch on a pressure; `None` where nothing has changed.
    fn look(&self, watch: &mut Watch, marks: &Marks) -> Option<Word> {
        let low = || marks.asked && self.stands(marks.header, marks.low_kpa, false);
        let back = || self.stands(marks.header, marks.back_kpa, true);
        watch.look(self.state.time, low, back)
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
        for i in (0..self.hydraulics.plant.outlets.len()).filter(|i| !self.is_idle(*i)) {
            self.arm_watch(self.state.mode.outlets[i], &self.outlet_marks(i), guards, timer);
        }
        for watch in &self.state.mode.doses[..self.hydraulics.plant.stages.len()] {
            if let Watch::Back { since } = watch {
                *timer = (*since + SPELL_GAP).min(*timer);
            }
        }
        let fouling = &self.state.fouling;
        if self.state.mode.membrane.phase.makes()
            && !fouling.is_far_from_due()
            && (NEARLY_DUE..1.0).contains(&fouling.share_of_interval())
        {
            guards.arm(Quantity::Fouling, 1.0, true);
        }
    }

    pub(super) fn act_watches<O: Observer>(&mut self, observer: &mut O) -> bool {
        let mut changed = self.act_pressure_watch(observer) | self.act_cleaning_watch(observer);
        for i in 0..self.hydraulics.plant.outlets.len() {
            changed |= self.act_run_out_watch(i, observer);
        }
        for i in 0..self.hydraulics.plant.stages.len() {
            changed |= self.act_dose_watch(i, observer);
        }
        changed
    }

    /// Tells once that cleaning is due; what ends it is a cleaning.
    fn act_cleaning_watch<O: Observer>(&mut self, observer: &mut O) -> bool {
        if self.hydraulics.plant.membrane.is_none() {
            return false;
        }
        let (now, fouling) = (self.state.time, self.state.fouling);
        let due = &mut self.state.tally.membrane.cleaning_due;
        let newly = due.since.is_none() && !fouling.is_far_from_due() && fouling.share_of_interval() >= 1.0;
        if newly {
            due.begin(now);
            let left = fouling.water_factor / fouling.cleaned_water_factor;
            self.tell(observer, Part::Membrane, EventKind::CleaningDue, left);
        }
        newly
    }

    /// Doses follow the flow, and that changes where pieces end.
    fn act_dose_watch<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        if self.hydraulics.plant.stages[i].ultraviolet().is_none() {
            return false;
        }
        let (now, before, dose) = (self.state.time, self.state.mode.doses[i], self.underdose(i));
        let mut watch = before;
        let word = watch.look(now, || dose.is_some(), || dose.is_none());
        self.state.mode.doses[i] = watch;
        match word {
            Some(Word::Begins) => {
                self.state.tally.underdoses[i].begin(now);
                self.tell(observer, Part::Stage(i), EventKind::UnderdoseBegins, dose.unwrap_or(0.0));
            }
            Some(Word::Ends) => {
                let length = self.state.tally.underdoses[i].end(before.back_since());
                self.tell(observer, Part::Stage(i), EventKind::UnderdoseEnds, length.s());
            }
            Some(Word::Waits) | None => {}
        }
        word.is_some()
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
                self.tell(observer, part, EventKind::PressureLow, self.held_kpa);
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
        if self.is_idle(i) {
            return false;
        }
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
