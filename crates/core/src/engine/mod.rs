//! The engine: the only place where time moves.
//!
//! The trajectory is cut into segments, from event to event; within a segment only levels move. A segment is one closed form
//! where all rates are constant, else a row of Runge-Kutta steps; its end is a timer or the instant at which a guard is first
//! met, found on the trajectory and rounded up to the next nanosecond. Levels are never set to a threshold.
//!
//! Three clocks are kept apart. Segments decide what happens. The tick (a minute) closes the energy account of the slow
//! clock. Rows sample the trajectory. Neither ticks, rows, saves nor the end of a run cut a segment, so none of them changes
//! a result.

mod closed;
mod control;
mod flows;
mod guard;
mod piece;
mod quartic;
mod report;
mod rk;
mod settle;
mod state;
mod watch;

use thiserror::Error;

pub use self::report::Report;
pub use self::state::{Spells, State, Tally, Work};

use self::control::Limits;
use self::flows::{Demand, Flows, Hydraulics};
use self::guard::{Context, Guards};
use self::piece::{Form, Piece, rises, try_step};
use self::settle::{Edge, edges};
use self::state::{
    DELIVERY_J, DELIVERY_KPA_S, DRAWDOWN, DRAWN, FILLED, INFLOW, Levels, PUMPED, Ports, RAW_KPA_S, SERVED, SMALL,
    STORAGE, TANK, WELL_PUMP_J,
};
use crate::draw::Draw;
use crate::incident::Incident;
use crate::observe::{Event, EventKind, Observer, Part, Sample, Totals};
use crate::outlet::Header;
use crate::plant::Plant;
use crate::time::{Span, Time};

/// Settings of the engine; the defaults suit every plant.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Error allowed in one step, in litres of any tank.
    ///
    /// A thousandth of a litre would move a pump's start by some milliseconds; the default keeps it below one.
    pub tolerance_l: f64,
    /// The longest step, for convergence tests.
    pub longest_step: Span,
    /// Whether closed forms are used where there are any; steps give the same to their tolerance, for checks.
    pub closed_forms: bool,
    /// The slow clock's tick.
    pub tick: Span,
    /// Distance of the rows told to the observer; `None` tells none.
    pub grid: Option<Span>,
}

impl Default for Options {
    fn default() -> Self {
        Self { tolerance_l: 1e-5, longest_step: Span::DAY, closed_forms: true, tick: Span::MINUTE, grid: None }
    }
}

/// Why a run cannot go on. The engine is not usable afterwards.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum EngineError {
    /// A draw names no outlet, has a negative flow, does not end after its start, or starts before the one ahead of it.
    #[error("draw {number} is not usable: {draw:?}")]
    BadDraw {
        /// Its number in the source, from one.
        number: u64,
        /// The draw.
        draw: Draw,
    },
    /// A level is no longer a number.
    #[error("{part:?} has the level {value} at {} s", time.s())]
    NotFinite {
        /// When.
        time: Time,
        /// Whose level.
        part: Part,
        /// What it became.
        value: f64,
    },
    /// The controls do not come to rest at one instant.
    #[error("the controls do not settle at {} s", time.s())]
    Unsettled {
        /// When.
        time: Time,
    },
    /// A saved state is of another plant, or has been tampered with.
    #[error("the saved state does not fit this plant")]
    BadState,
    /// The settings make no sense.
    #[error("the tolerance, the longest step, the tick and the grid must be positive")]
    BadOptions,
}

/// Everything of the engine but the source of draws.
struct Core<'p> {
    hydraulics: Hydraulics<'p>,
    limits: Limits,
    edges: Vec<Edge>,
    options: Options,
    state: State,
    /// What follows from `state.wanted`.
    demand: Demand,
    /// Step to try next and rejections so far, for when the open piece is committed.
    next_step_s: f64,
    rejected: u64,
}

/// A plant in motion. `D` gives draws in order of start.
pub struct Engine<'p, D> {
    core: Core<'p>,
    draws: D,
    piece: Option<Piece>,
}

/// A first step to try when nothing is known.
const FIRST_STEP_S: f64 = 5.0;
/// No step is rejected below this: at a kink the error of so short a step is past counting.
const SHORTEST_STEP_S: f64 = 1e-6;
/// No piece is longer, so that an endless wait has an end to be sampled up to.
const LONGEST_PIECE: Span = Span::from_ns(100 * Span::DAY.ns());
/// The weights of a step add up to one only to rounding: less missed service than this share of the time is none.
const ROUNDING: f64 = 1e-12;
/// Room for draws under way at once, so that the loop allocates nothing.
const ACTIVE_ROOM: usize = 256;

impl<'p, D: Iterator<Item = Draw>> Engine<'p, D> {
    /// A plant at its stated start, at time zero, and what happens there and then.
    ///
    /// `draws` in order of start, those under way at time zero included; `incidents` in any order.
    ///
    /// # Errors
    /// [`EngineError::BadOptions`], [`EngineError::BadDraw`].
    pub fn start<O: Observer>(
        plant: &'p Plant,
        incidents: &[Incident],
        draws: D,
        options: Options,
        observer: &mut O,
    ) -> Result<Self, EngineError> {
        let hydraulics = Hydraulics::new(plant);
        let state = State::at_start(&hydraulics, Vec::with_capacity(ACTIVE_ROOM));
        let mut engine = Self::assemble(hydraulics, incidents, draws, options, state)?;
        engine.core.state.next = engine.draws.next();
        engine.core.state.taken = 1;
        engine.core.settle(&mut engine.draws, observer)?;
        Ok(engine)
    }

    /// Goes on from a saved state, with the same plant, incidents, draws (from the first) and options.
    ///
    /// # Errors
    /// [`EngineError::BadOptions`]; [`EngineError::BadState`] where the state is not one of this plant and these incidents.
    pub fn resume(
        plant: &'p Plant,
        incidents: &[Incident],
        mut draws: D,
        options: Options,
        state: State,
    ) -> Result<Self, EngineError> {
        if !state.fits(plant.outlets.len(), 2 * incidents.len()) {
            return Err(EngineError::BadState);
        }
        for _ in 0..state.taken {
            if draws.next().is_none() {
                break;
            }
        }
        Self::assemble(Hydraulics::new(plant), incidents, draws, options, state)
    }

    fn assemble(
        hydraulics: Hydraulics<'p>,
        incidents: &[Incident],
        draws: D,
        options: Options,
        state: State,
    ) -> Result<Self, EngineError> {
        let spans = [Some(options.longest_step), Some(options.tick), options.grid];
        let tolerant = options.tolerance_l.is_finite() && options.tolerance_l > 0.0;
        if !tolerant || spans.iter().flatten().any(|span| *span <= Span::ZERO) {
            return Err(EngineError::BadOptions);
        }
        let core = Core {
            limits: Limits::new(hydraulics.plant),
            edges: edges(incidents),
            options,
            demand: hydraulics.demand(&state.wanted),
            next_step_s: state.step_s,
            rejected: 0,
            hydraulics,
            state,
        };
        Ok(Self { core, draws, piece: None })
    }

    /// Runs up to an instant; what happens at that very instant is left for the next call.
    ///
    /// # Errors
    /// Any [`EngineError`] but `BadOptions`.
    pub fn run_until<O: Observer>(&mut self, until: Time, observer: &mut O) -> Result<(), EngineError> {
        loop {
            let core = &mut self.core;
            let piece = self.piece.get_or_insert_with(|| core.open_piece());
            if piece.end >= until {
                core.tell_up_to(piece, until, observer);
                return Ok(());
            }
            core.tell_up_to(piece, piece.end, observer);
            core.commit(piece)?;
            core.settle(&mut self.draws, observer)?;
            self.piece = None;
        }
    }

    /// The state to resume from.
    #[must_use]
    pub fn save(&self) -> State {
        self.core.state.clone()
    }

    /// The figures of the run up to where it got.
    #[must_use]
    pub fn report(&mut self) -> Report {
        let core = &mut self.core;
        let piece = self.piece.get_or_insert_with(|| core.open_piece());
        core.report(piece)
    }
}

impl Core<'_> {
    /// The next piece of the trajectory, up to the first timer or met guard, or one step if that is sooner.
    fn open_piece(&mut self) -> Piece {
        let state = &self.state;
        let now = state.time;
        let flows = self.hydraulics.flows(&state.mode, &self.demand, &state.levels);
        let mut guards = Guards::new();
        let timer = self.arm(&mut guards).min(self.arm_draws(&mut guards, &flows)).min(now + LONGEST_PIECE);
        let horizon = timer.max(now + Span::from_ns(1));
        let kinks = self.kinks();
        self.rejected = 0;
        self.next_step_s = state.step_s;
        let levels = state.levels;
        let mut piece = match self.closed_form(&flows).filter(|_| self.options.closed_forms) {
            Some(well) => Piece { start: now, end: horizon, levels, flows, form: Form::Closed { well } },
            None => self.step(&flows, horizon),
        };
        let context = Context { hydraulics: &self.hydraulics, mode: &self.state.mode, demand: &self.demand };
        if matches!(piece.form, Form::Step { .. })
            && let Some(kink) = kinks.first_met(&piece, &context)
        {
            // Stages past the kink obeyed another law: take the step again, up to the kink only.
            let step = kink - now;
            let stages = self.stages(&flows, step).0;
            piece.form = Form::Step { step, rises: rises(&stages, step), stages };
            piece.end = kink;
        }
        let met = [&guards, &kinks].into_iter().filter_map(|guards| guards.first_met(&piece, &context)).min();
        piece.end = met.unwrap_or(piece.end);
        piece
    }

    /// The stages of a step from the present, and its error.
    fn stages(&self, flows: &Flows, step: Span) -> ([Flows; rk::STAGES], f64) {
        try_step(&self.hydraulics, &self.state.mode, &self.demand, &self.state.levels, flows, step)
    }

    /// One step within the tolerance, not beyond the horizon.
    fn step(&mut self, flows: &Flows, horizon: Time) -> Piece {
        let (now, levels) = (self.state.time, self.state.levels);
        let mut step_s = self.state.step_s.min(self.options.longest_step.s());
        loop {
            let step = Span::from_s(step_s).max(Span::from_ns(1)).min(horizon - now);
            let (stages, error_l) = self.stages(flows, step);
            // Elementary controller of a pair of order 5(4) with the usual safety factor and bounds.
            let ratio = error_l / self.options.tolerance_l;
            let factor = if ratio > 0.0 { (0.9 / libm::pow(ratio, 0.2)).clamp(0.2, 5.0) } else { 5.0 };
            if ratio <= 1.0 || step.s() <= SHORTEST_STEP_S || !ratio.is_finite() {
                // A step cut short by the horizon says little about the next one.
                let grown_s = factor * step.s();
                let cut = step < Span::from_s(step_s);
                self.next_step_s = if cut { grown_s.max(self.state.step_s) } else { grown_s }.min(Span::DAY.s());
                let end = now + step;
                let form = Form::Step { step, rises: rises(&stages, step), stages };
                return Piece { start: now, end, levels, flows: *flows, form };
            }
            self.rejected += 1;
            step_s = (factor * step.s()).max(SHORTEST_STEP_S);
        }
    }

    /// Tells rows and closes ticks of the open piece, up to and including an instant within it.
    fn tell_up_to<O: Observer>(&mut self, piece: &Piece, until: Time, observer: &mut O) {
        let reached = self.state.reached;
        self.close_ticks(piece, until);
        if let Some(grid) = self.options.grid {
            let mut row = next_multiple(reached, grid);
            let mut from = piece.start.max(row - grid);
            while row <= until {
                self.note_row_low(piece, from, row);
                let totals = self.totals_at(piece, row);
                self.with_sample(piece, row, &totals, |sample| observer.row(sample));
                self.state.row_low_kpa = f64::MAX;
                from = row;
                row += grid;
            }
            // A cut before the end of the piece leaves this for when the piece is told to its end.
            if until == piece.end {
                self.note_row_low(piece, from, until);
            }
        }
        self.state.reached = until.max(reached);
    }

    /// Closes the energy account of every tick that ends after what has been reached, up to an instant.
    fn close_ticks(&mut self, piece: &Piece, until: Time) {
        let tick = self.options.tick;
        let mut end = next_multiple(self.state.reached, tick);
        let before_j = self.state.totals.well_pump_j + self.state.totals.delivery_j;
        while end <= until {
            let total_j = before_j + piece.port_at(WELL_PUMP_J, end) + piece.port_at(DELIVERY_J, end);
            let tally = &mut self.state.tally;
            tally.highest_tick_w = tally.highest_tick_w.max((total_j - tally.tick_j) / tick.s());
            tally.tick_j = total_j;
            end += tick;
        }
    }

    /// Keeps the lowest pressure to the buildings since the last row.
    fn note_row_low(&mut self, piece: &Piece, from: Time, to: Time) {
        let (at_from, at_to) = (piece.levels_at(from), piece.levels_at(to));
        let low_kpa = self.lowest_house_kpa(piece, (from, &at_from), (to, &at_to));
        self.state.row_low_kpa = self.state.row_low_kpa.min(low_kpa);
    }

    fn with_sample(&self, piece: &Piece, time: Time, totals: &Totals, tell: impl FnOnce(&Sample<'_>)) {
        let (mode, levels) = (&self.state.mode, piece.levels_at(time));
        tell(&Sample {
            time,
            raw_kpa: self.hydraulics.raw_kpa(mode, &self.demand, &levels),
            drawdown_m: levels[DRAWDOWN],
            pump_on: mode.pump_on(),
            storage_l: levels[STORAGE],
            delivery_kpa: self.hydraulics.delivery_kpa(mode, &self.demand, &levels),
            lowest_house_kpa: self.state.row_low_kpa,
            wanted_lps: self.demand.lps.iter().sum(),
            totals,
        });
    }

    /// The totals at an instant within the open piece.
    fn totals_at(&self, piece: &Piece, time: Time) -> Totals {
        let mut totals = self.state.totals;
        let ports = piece.ports_at(&self.hydraulics, &self.state.mode, time);
        self.add(&mut totals, &ports, time - piece.start);
        totals
    }

    fn add(&self, totals: &mut Totals, ports: &Ports, length: Span) {
        totals.pumped_l += ports[PUMPED];
        totals.inflow_l += ports[INFLOW];
        totals.filled_l += ports[FILLED];
        totals.drawn_l += ports[DRAWN];
        totals.raw_kpa_s += ports[RAW_KPA_S];
        totals.delivery_kpa_s += ports[DELIVERY_KPA_S];
        totals.well_pump_j += ports[WELL_PUMP_J];
        totals.delivery_j += ports[DELIVERY_J];
        if self.state.mode.pump_on() {
            totals.run_s = (self.state.tally.run + length).s();
        }
        for i in 0..self.hydraulics.plant.outlets.len() {
            let served_s = ports[SERVED + i];
            let outlet = &mut totals.outlets[i];
            outlet.delivered_l += self.demand.lps[i] * served_s;
            let missed_s = length.s() - served_s;
            if missed_s > ROUNDING * length.s() {
                outlet.lost_l += self.state.wanted[i].timed.lps() * missed_s;
            }
        }
    }

    /// Makes the end of the piece the present.
    fn commit(&mut self, piece: &Piece) -> Result<(), EngineError> {
        let (end, length) = (piece.end, piece.end - piece.start);
        let levels = piece.levels_at(end);
        for (value, part) in levels.into_iter().zip([Part::PressureTank, Part::Well, Part::Storage, Part::Delivery]) {
            if !value.is_finite() {
                return Err(EngineError::NotFinite { time: end, part, value });
            }
        }
        let ports = piece.ports_at(&self.hydraulics, &self.state.mode, end);
        let mut totals = self.state.totals;
        self.add(&mut totals, &ports, length);
        self.state.totals = totals;
        let lows = self.lows(piece, end, &levels);
        let pump_on = self.state.mode.pump_on();
        let tally = &mut self.state.tally;
        tally.note(&lows);
        if pump_on {
            tally.run += length;
        }
        tally.work.steps += u64::from(matches!(piece.form, Form::Step { .. }));
        tally.work.rejected += self.rejected;
        self.delay_volume_draws(&ports, length);
        self.state.levels = levels;
        self.state.step_s = self.next_step_s;
        self.state.time = end;
        Ok(())
    }

    /// Lowest and highest levels and pressures of a piece up to an instant, where the levels are `to`.
    fn lows(&self, piece: &Piece, until: Time, to: &Levels) -> Lows {
        let storage = piece.extremes(STORAGE, until, to[STORAGE]);
        Lows {
            drawdown_m: piece.extremes(DRAWDOWN, until, to[DRAWDOWN]).most,
            storage_l: storage.least,
            storage_at: storage.least_at,
            house_kpa: self.lowest_house_kpa(piece, (piece.start, &piece.levels), (until, to)),
        }
    }

    /// Lowest pressure on the header that feeds the buildings between two instants of a piece, with the levels there.
    fn lowest_house_kpa(&self, piece: &Piece, (from, at_from): (Time, &Levels), (to, at_to): (Time, &Levels)) -> f64 {
        let (hydraulics, mode) = (&self.hydraulics, &self.state.mode);
        let header = hydraulics.plant.house_header();
        let (level, solved) = match header {
            Header::Delivery => (SMALL, mode.small_empty),
            Header::Raw => (TANK, mode.tank_empty),
        };
        let kpa = |levels: &Levels| hydraulics.header_kpa(header, mode, &self.demand, levels);
        if solved {
            return kpa(at_from).min(kpa(at_to));
        }
        let mut levels = *at_from;
        levels[level] = piece.least_between(level, (from, to), (at_from[level], at_to[level]));
        kpa(&levels)
    }

    fn tell<O: Observer>(&self, observer: &mut O, part: Part, kind: EventKind, value: f64) {
        observer.event(&Event { time: self.state.time, part, kind, value });
    }

    /// What an outlet gets just now.
    fn flow_to_lps(&self, outlet: usize) -> f64 {
        let flows = self.hydraulics.flows(&self.state.mode, &self.demand, &self.state.levels);
        self.demand.lps[outlet] * flows.ports[SERVED + outlet]
    }
}

/// What a piece brings to the extremes of a run.
struct Lows {
    drawdown_m: f64,
    storage_l: f64,
    storage_at: Time,
    house_kpa: f64,
}

impl Tally {
    fn note(&mut self, lows: &Lows) {
        self.deepest_drawdown_m = self.deepest_drawdown_m.max(lows.drawdown_m);
        self.lowest_house_kpa = self.lowest_house_kpa.min(lows.house_kpa);
        if lows.storage_l < self.lowest_storage_l {
            self.lowest_storage_l = lows.storage_l;
            self.lowest_storage_at = lows.storage_at;
        }
    }
}

/// The first multiple of a positive `grid` after an instant.
fn next_multiple(after: Time, grid: Span) -> Time {
    Time::from_ns((after.ns().div_euclid(grid.ns()) + 1).saturating_mul(grid.ns()))
}
