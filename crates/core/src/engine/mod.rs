//! The engine: the only place where time moves.
//!
//! The trajectory is cut into segments, from event to event; within a segment only levels move. A segment is one closed form
//! where all rates are constant, else a row of steps, Runge-Kutta or, over a tank without give, implicit; its end is a timer or
//! the instant at which a guard is first met, found on the trajectory and rounded up to the next nanosecond. Levels are never set to a threshold.
//!
//! Three clocks are kept apart. Segments decide what happens. The tick (a minute) closes the energy account of the slow
//! clock. Rows sample the trajectory. Neither ticks, rows, saves nor the end of a run cut a segment, so none of them changes
//! a result; but while the grid is out and a battery or a generator feeds, these are looked at once a tick, as a control.

mod carry;
mod closed;
mod control;
mod faults;
mod flows;
mod guard;
mod heat;
mod lines;
mod membrane;
mod mode;
mod piece;
mod power;
mod pressures;
mod quartic;
mod report;
mod rk;
mod settle;
mod sources;
mod state;
mod step;
mod stiff;
mod tally;
mod tell;
mod watch;
mod weather;

use thiserror::Error;

pub use self::carry::{MOST_CHLORINE_MG_L, MembraneCarried, StageTotals};
pub use self::power::{HourBooks, OutageBooks, PartBooks, PowerBooks};
pub use self::report::{MembraneReport, Report};
pub use self::state::State;
pub use self::tally::{ByDay, OpenTally, Spells, SupplyTally, Tally, Work};

use self::faults::{Edge, edges};
use self::flows::{Flows, Hydraulics, Side};
use self::guard::{Context, Guards};
use self::lines::Demand;
use self::piece::{Form, Piece};
use self::state::{BLENDED, PRODUCT, PRODUCT_SALT, TAKEN};
use crate::draw::{Draw, MOST_FLOW_LPS};
use crate::incident::{Incident, IncidentKind, LEAST_SPEED, Outside};
use crate::observe::{Observer, Part};
use crate::outlet::Header;
use crate::plant::Plant;
use crate::power::PowerHour;
use crate::pressure_tank::LEAST_AIR_SHARE;
use crate::quality::{Carried, Constituent};
use crate::supply::Source;
use crate::time::{Span, Time};
use crate::water::{COLDEST_C, HOTTEST_C};
use crate::weather::WeatherHour;

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
    /// Whether a pressure tank with next to no give is stepped over implicitly; explicit steps give the same to their
    /// tolerance, for checks.
    pub implicit_steps: bool,
    /// The slow clock's tick.
    pub tick: Span,
    /// Distance of the rows told to the observer; `None` tells none.
    pub grid: Option<Span>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            tolerance_l: 1e-5,
            longest_step: Span::DAY,
            closed_forms: true,
            implicit_steps: true,
            tick: Span::MINUTE,
            grid: None,
        }
    }
}

/// Why a run cannot go on. The engine is not usable afterwards.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum EngineError {
    /// A draw names no outlet, has a flow out of range, does not end after its start, or starts before the one ahead of it.
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
    /// An incident or inflow names no part of this plant, or its figure is out of range; or inflows are out of order.
    #[error("what happens outside does not fit this plant")]
    BadOutside,
    /// A saved state is of another plant or other draws, or has been tampered with.
    #[error("the saved state does not fit this plant")]
    BadState,
    /// The settings make no sense.
    #[error("the tolerance, the longest step, the tick and the grid must be positive")]
    BadOptions,
}

/// Everything of the engine but the source of draws.
struct Core<'p> {
    hydraulics: Hydraulics<'p>,
    /// Least pressure the controls hold on the header that feeds the buildings.
    held_kpa: f64,
    outside: Outside,
    edges: Vec<Edge>,
    options: Options,
    state: State,
    /// What follows from `state.wanted`.
    demand: Demand,
    /// Step to try next, for when the open piece is committed.
    next_step_s: f64,
    /// The same of implicit steps.
    next_settling_s: f64,
    /// The same of those that the delivery side takes alone.
    next_beside_s: f64,
    /// Steps that the open piece took, and tried in vain.
    steps: u64,
    rejected: u64,
}

/// A plant in motion. `D` gives draws in order of start.
pub struct Engine<'p, D> {
    core: Core<'p>,
    draws: D,
    course: Course,
}

/// The open piece, and room for the guards over it.
struct Course {
    is_open: bool,
    /// Whether the open piece, or the next, goes on with the step of the raw side in the piece before it.
    goes_on: bool,
    piece: Piece,
    guards: Guards,
    kinks: Guards,
}

/// No piece is longer, so that an endless wait has an end to be sampled up to.
const LONGEST_PIECE: Span = Span::from_ns(100 * Span::DAY.ns());
/// No piece of a plant with treatment is longer: what its stages have caught is taken as constant over a piece.
const LONGEST_TREATED_PIECE: Span = Span::HOUR;
/// Room for draws under way at once, so that the loop allocates nothing.
const ACTIVE_ROOM: usize = 1_024;

impl<'p, D: Iterator<Item = Draw>> Engine<'p, D> {
    /// A plant at its stated start, at time zero, and what happens there and then.
    ///
    /// `draws` in order of start, those under way at time zero included.
    ///
    /// # Errors
    /// [`EngineError::BadOptions`], [`EngineError::BadOutside`], [`EngineError::BadDraw`].
    pub fn start<O: Observer>(
        plant: &'p Plant,
        outside: &Outside,
        draws: D,
        options: Options,
        observer: &mut O,
    ) -> Result<Self, EngineError> {
        let hydraulics = Hydraulics::new(plant);
        let state = State::at_start(&hydraulics, Vec::with_capacity(ACTIVE_ROOM));
        let mut engine = Self::assemble(hydraulics, outside, draws, options, state)?;
        engine.core.state.next = engine.draws.next();
        engine.core.state.taken = 1;
        engine.core.settle(&mut engine.draws, observer)?;
        Ok(engine)
    }

    /// Goes on from a saved state, with the same plant, outside, draws (from the first) and options.
    ///
    /// # Errors
    /// [`EngineError::BadOptions`], [`EngineError::BadOutside`]; [`EngineError::BadState`] where the state is not one of this
    /// plant, this outside and these draws.
    pub fn resume(
        plant: &'p Plant,
        outside: &Outside,
        mut draws: D,
        options: Options,
        state: State,
    ) -> Result<Self, EngineError> {
        if !state.fits(plant, outside) {
            return Err(EngineError::BadState);
        }
        let mut last = None;
        for _ in 0..state.taken {
            last = draws.next();
        }
        if last != state.next {
            return Err(EngineError::BadState);
        }
        Self::assemble(Hydraulics::new(plant), outside, draws, options, state)
    }

    fn assemble(
        mut hydraulics: Hydraulics<'p>,
        outside: &Outside,
        draws: D,
        options: Options,
        mut state: State,
    ) -> Result<Self, EngineError> {
        let spans = [Some(options.longest_step), Some(options.tick), options.grid];
        let tolerant = options.tolerance_l.is_finite() && options.tolerance_l > 0.0;
        if !tolerant || spans.iter().flatten().any(|span| *span <= Span::ZERO) {
            return Err(EngineError::BadOptions);
        }
        if !fits(outside, hydraulics.plant) {
            return Err(EngineError::BadOutside);
        }
        hydraulics.set_air(state.mode.faults.air_share);
        let mut course =
            Course { is_open: false, goes_on: false, piece: Piece::new(), guards: Guards::new(), kinks: Guards::new() };
        if let Some(going) = state.going.take() {
            course.piece.restore(&going);
            course.goes_on = true;
        }
        let caught_g = state.waters.stages.map(|stage| stage.caught_g);
        let mut core = Core {
            held_kpa: hydraulics.plant.held_kpa(),
            edges: edges(&outside.incidents),
            outside: outside.clone(),
            options,
            demand: hydraulics.demand(&state.wanted, &state.mode, &state.levels, &caught_g),
            next_step_s: state.step_s,
            next_settling_s: state.settling_s,
            next_beside_s: state.beside_s,
            steps: 0,
            rejected: 0,
            hydraulics,
            state,
        };
        core.refresh_membrane();
        Ok(Self { core, draws, course })
    }

    /// Runs up to an instant; what happens at that very instant is left for the next call.
    ///
    /// # Errors
    /// Any [`EngineError`] but `BadOptions`.
    pub fn run_until<O: Observer>(&mut self, until: Time, observer: &mut O) -> Result<(), EngineError> {
        loop {
            self.open();
            let (core, piece) = (&mut self.core, &self.course.piece);
            if piece.end >= until {
                core.tell_up_to(piece, until, observer);
                return Ok(());
            }
            core.tell_up_to(piece, piece.end, observer);
            core.heat_to_end(piece, observer);
            let before = core.raw_conditions(piece);
            core.commit(piece)?;
            core.settle(&mut self.draws, observer)?;
            self.course.goes_on = before.is_some() && core.raw_conditions(piece) == before;
            self.course.is_open = false;
        }
    }

    fn open(&mut self) {
        if !self.course.is_open {
            self.core.open(&mut self.course);
            self.course.is_open = true;
        }
    }

    /// The state to resume from.
    #[must_use]
    pub fn save(&self) -> State {
        let going = self.course.goes_on.then(|| self.course.piece.going());
        State { going, ..self.core.state.clone() }
    }

    /// The figures of the run up to where it got.
    #[must_use]
    pub fn report(&mut self) -> Report {
        self.open();
        self.core.report(&self.course.piece)
    }
}

impl Core<'_> {
    /// The next piece of the trajectory, up to the first timer or met guard, or one step if that is sooner.
    fn open(&mut self, course: &mut Course) {
        let Course { piece, guards, kinks, goes_on, .. } = course;
        let (now, state) = (self.state.time, &self.state);
        let rates = |side, flows: &mut Flows| {
            self.hydraulics.rates(side, &state.mode, &self.demand, &state.levels, flows);
        };
        let longest = if *goes_on {
            piece.go_on(now, &state.levels, |flows| rates(Side::Delivery, flows));
            piece.step_end() - now
        } else {
            piece.begin(now, &state.levels, |flows| rates(Side::Both, flows));
            self.longest_piece(piece.flows())
        };
        guards.clear();
        kinks.clear();
        let timer = self.arm(guards).min(self.arm_draws(guards, piece)).min(now + longest);
        let horizon = timer.max(now + Span::from_ns(1));
        self.arm_kinks(kinks);
        (self.steps, self.rejected) = (0, 0);
        (self.next_step_s, self.next_settling_s, self.next_beside_s) = (state.step_s, state.settling_s, state.beside_s);
        if *goes_on {
            self.step_beside(piece, horizon, kinks);
        } else if let Some(wells) = self.closed_form(piece.flows()).filter(|_| self.options.closed_forms) {
            piece.form = Form::Closed { wells };
            piece.end = horizon;
        } else if !self.options.implicit_steps || !self.settle_tank(piece, horizon, [guards, kinks]) {
            self.take_steps(piece, (horizon, now + longest), kinks);
        }
        let context = self.context();
        let [met, kink] = [guards, kinks].map(|guards| guards.first_met(piece, &context));
        piece.end = [met, kink].into_iter().flatten().min().unwrap_or(piece.end);
        piece.ends_at_kink = kink == Some(piece.end);
    }

    fn context(&self) -> Context<'_> {
        let (hydraulics, mode, demand) = (&self.hydraulics, &self.state.mode, &self.demand);
        Context { hydraulics, mode, demand, fouling: self.state.fouling }
    }

    /// Brings the membrane unit's operating curve to the present.
    pub(super) fn refresh_membrane(&mut self) {
        if let Some(running) = &mut self.hydraulics.membrane {
            let waters = &self.state.waters;
            let feed = &waters.ends[Header::Raw as usize];
            let loop_mg_l = waters.looped[Constituent::Salt as usize];
            running.refresh(feed, loop_mg_l, self.state.fouling.now());
        }
    }

    /// How long what a piece takes as constant may be taken so.
    fn longest_piece(&self, flows: &Flows) -> Span {
        let longest = if self.hydraulics.plant.stages.is_empty() { LONGEST_PIECE } else { LONGEST_TREATED_PIECE };
        let (Some(running), true) = (&self.hydraulics.membrane, self.state.mode.membrane.phase.draws()) else {
            return longest;
        };
        let waters = &self.state.waters;
        let salt = |water: &Carried| water[Constituent::Salt as usize];
        let (feed_mg_l, loop_mg_l) = (salt(&waters.ends[Header::Raw as usize]), salt(&waters.looped));
        let [product_lps, salt_g_s] = [PRODUCT, PRODUCT_SALT].map(|port| flows.ports[port]);
        let fed_lps = flows.ports[TAKEN] - flows.ports[BLENDED];
        let gain_mg_s = fed_lps * feed_mg_l - 1e3 * salt_g_s - (fed_lps - product_lps) * loop_mg_l;
        Span::from_s(running.longest_s(loop_mg_l, gain_mg_s, fed_lps - product_lps))
            .min(LONGEST_TREATED_PIECE)
            .min(longest)
    }
}

/// Whether all that happens outside names parts of a plant, with figures in their range.
fn fits(outside: &Outside, plant: &Plant) -> bool {
    let pump = |supply: usize| plant.supplies.get(supply).is_some_and(|supply| supply.source.pump().is_some());
    let share = |value: f64, least: f64| (least..=1.0).contains(&value);
    let sound = |incident: &Incident| match incident.kind {
        IncidentKind::PowerOut => true,
        IncidentKind::SupplyOut { supply } => supply < plant.supplies.len(),
        IncidentKind::MembraneOut | IncidentKind::MembraneCleaned => plant.membrane.is_some(),
        IncidentKind::DeliveryPumpOut | IncidentKind::FloatStuck { .. } => plant.store.is_some(),
        IncidentKind::PumpWorn { supply, speed } => pump(supply) && share(speed, LEAST_SPEED),
        IncidentKind::LeakBack { supply, flow_lps } => pump(supply) && (0.0..1e4).contains(&flow_lps),
        IncidentKind::AirLost { share: left } => plant
            .pressure_tank
            .as_ref()
            .is_some_and(|tank| share(left * tank.air_share, LEAST_AIR_SHARE) && left <= 1.0),
        IncidentKind::StageBypassed { stage }
        | IncidentKind::StageShut { stage }
        | IncidentKind::StageChanged { stage } => stage < plant.stages.len(),
        IncidentKind::StandbyByHand => plant.supplies.iter().any(|supply| supply.standby),
    };
    let basin =
        |supply: usize| plant.supplies.get(supply).is_some_and(|supply| matches!(supply.source, Source::Basin { .. }));
    outside.incidents.iter().all(sound)
        && outside.inflows.iter().all(|inflow| basin(inflow.supply) && (0.0..=MOST_FLOW_LPS).contains(&inflow.flow_lps))
        && outside.inflows.is_sorted_by_key(|inflow| inflow.time)
        && outside
            .temps
            .iter()
            .all(|step| step.supply < plant.supplies.len() && (COLDEST_C..=HOTTEST_C).contains(&step.temp_c))
        && outside.temps.is_sorted_by_key(|step| step.time)
        && outside.weather.iter().all(WeatherHour::is_sound)
        && outside.power.iter().all(PowerHour::is_sound)
}
