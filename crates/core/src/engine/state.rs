//! All that changes in a run: plain data that can be saved and restored.

use serde::{Deserialize, Serialize};

use crate::draw::{Draw, DrawKind, Flow};
use crate::observe::Totals;
use crate::plant::MOST_OUTLETS;
use crate::time::{Span, Time};

/// The continuous state, in this order: water in the pressure tank (L), drawdown (m), water in storage (L), water in the
/// small tank behind the delivery pump (L).
pub(super) type Levels = [f64; 4];
pub(super) const TANK: usize = 0;
pub(super) const DRAWDOWN: usize = 1;
pub(super) const STORAGE: usize = 2;
pub(super) const SMALL: usize = 3;

/// What is integrated along with the levels, with the same weights, so that the ledger closes.
pub(super) type Ports = [f64; PORTS];
pub(super) const PUMPED: usize = 0;
pub(super) const INFLOW: usize = 1;
pub(super) const FILLED: usize = 2;
pub(super) const DRAWN: usize = 3;
pub(super) const RAW_KPA_S: usize = 4;
pub(super) const DELIVERY_KPA_S: usize = 5;
pub(super) const WELL_PUMP_J: usize = 6;
pub(super) const DELIVERY_J: usize = 7;
/// From here on, by outlet: seconds of full service, the integral of the share of the wanted flow that comes.
pub(super) const SERVED: usize = 8;
const PORTS: usize = SERVED + MOST_OUTLETS;

/// The discrete state: what is on, off, open, shut or out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a contact, float or watch of its own, free of the others")]
pub(super) struct Mode {
    /// Incidents under way: power, well pump, delivery pump.
    pub out: [u16; 3],
    /// The pressure switch's contact, and since when.
    pub switch_closed: bool,
    pub switch_since: Time,
    /// The low-level cut-off has tripped, and since when.
    pub low_level: bool,
    pub low_level_since: Time,
    /// The water is at the pump's intake: it gives only what flows in.
    pub starved: bool,
    /// The float switch's contact.
    pub fill_on: bool,
    /// No water left to give in the pressure tank; when it last ran empty and last began to fill. The same in the small tank.
    pub tank_empty: bool,
    pub tank_empty_since: Time,
    pub tank_filled_since: Time,
    pub small_empty: bool,
    /// What the delivery pump's control does.
    pub delivery: DeliveryMode,
    /// Low storage keeps the delivery pump off.
    pub protect: bool,
    /// Whether outlets have run out.
    pub outlets: [Watch; MOST_OUTLETS],
    /// Whether the pressure to the buildings is under what the controls hold.
    pub pressure: Watch,
}

/// What a watch on a pressure has seen last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Watch {
    /// Nothing amiss.
    Well,
    /// A spell is on.
    Low,
    /// A spell is on, but the pressure has been back since then.
    Back { since: Time },
}

impl Watch {
    /// Since when the pressure has been back; [`Time::NEVER`] where it is not.
    pub(super) fn back_since(self) -> Time {
        match self {
            Self::Back { since } => since,
            Self::Well | Self::Low => Time::NEVER,
        }
    }
}

/// What the delivery pump's control does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum DeliveryMode {
    /// Stands still since then; the small tank feeds the house.
    Asleep { since: Time },
    /// Full speed, below the set pressure.
    Full,
    /// Holds the set pressure; idle since then if little is drawn, else [`Time::NEVER`].
    Hold { idle_since: Time },
}

impl DeliveryMode {
    pub(super) fn asleep(self) -> bool {
        matches!(self, Self::Asleep { .. })
    }
}

/// Wanted flow of an outlet, by what happens to a shortfall.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Wanted {
    pub timed: Flow,
    pub volume: Flow,
}

impl Wanted {
    pub(super) fn total(self) -> Flow {
        self.timed + self.volume
    }

    pub(super) fn of(&mut self, kind: DrawKind) -> &mut Flow {
        match kind {
            DrawKind::Timed => &mut self.timed,
            DrawKind::Volume => &mut self.volume,
        }
    }
}

/// A draw under way. The end of a volume draw moves later than planned as its flow falls short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Active {
    pub draw: Draw,
    pub end: Time,
}

/// What is counted as a run goes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tally {
    /// Starts of the well pump.
    pub starts: u64,
    /// Starts in the day of the last start, and that day.
    pub starts_today: u64,
    /// The day of the last start; 0 is the first.
    pub today: i64,
    /// Most starts in one calendar day.
    pub most_starts_in_a_day: u64,
    /// Time the well pump ran.
    pub run: Span,
    /// Shortest run from start to stop.
    pub shortest_run: Option<Span>,
    /// Runs from start to stop shorter than a minute.
    pub short_runs: u64,
    /// Shortest time from one start to the next.
    pub shortest_cycle: Option<Span>,
    /// The last start.
    pub last_start: Option<Time>,
    /// Times the low-level cut-off tripped, and the first.
    pub low_level_trips: Spells,
    /// Spells with the water at the pump's intake.
    pub suction_losses: Spells,
    /// Times low storage stopped the delivery pump.
    pub protect_stops: Spells,
    /// Deepest drawdown.
    pub deepest_drawdown_m: f64,
    /// Least water in storage, and when.
    pub lowest_storage_l: f64,
    /// When storage was lowest.
    pub lowest_storage_at: Time,
    /// Lowest pressure on the header that feeds the buildings.
    pub lowest_house_kpa: f64,
    /// Spells with that pressure under what the controls hold.
    pub low_pressure: Spells,
    /// Spells in which any building had run out.
    pub run_outs: Spells,
    /// The same by outlet; unused places stay empty.
    pub outlets: [Spells; MOST_OUTLETS],
    /// Largest mean electric power over one tick.
    pub highest_tick_w: f64,
    /// Electric energy up to the last tick.
    pub tick_j: f64,
    /// Spells of short-cycling.
    pub short_cycling: Spells,
    /// Starts since the present spell of short-cycling began.
    pub spell_starts: u64,
    /// Cycles in a row that were short, up to the last start.
    pub short_cycles: u64,
    /// Segments, steps taken, steps rejected.
    pub work: Work,
}

/// How much the engine worked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Work {
    /// Segments, from event to event.
    pub segments: u64,
    /// Integration steps taken.
    pub steps: u64,
    /// Integration steps rejected and taken again.
    pub rejected: u64,
}

/// Spells of one kind.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spells {
    /// How many began.
    pub count: u64,
    /// The length in all of those that have ended; in a report, of the one under way too.
    pub total: Span,
    /// The longest.
    pub longest: Span,
    /// When the first began.
    pub first: Option<Time>,
    /// When the one under way began.
    pub since: Option<Time>,
}

impl Spells {
    pub(super) fn begin(&mut self, time: Time) {
        self.count += 1;
        self.first.get_or_insert(time);
        self.since = Some(time);
    }

    /// Ends the spell under way and returns its length.
    pub(super) fn end(&mut self, time: Time) -> Span {
        let length = self.since.take().map_or(Span::ZERO, |since| time - since);
        self.total += length;
        self.longest = self.longest.max(length);
        length
    }

    /// The spells as they stand at `time`, the one under way counted up to it.
    pub(super) fn at(mut self, time: Time) -> Self {
        if let Some(since) = self.since {
            self.end(time);
            self.since = Some(since);
        }
        self
    }
}

/// All that changes in a run, at the start of the open piece of the trajectory.
///
/// A run stopped anywhere holds the start of the piece it stopped in; the piece is computed again, the same, on resuming.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Start of the open piece.
    pub(super) time: Time,
    /// Rows and ticks up to here have been told.
    pub(super) reached: Time,
    pub(super) levels: Levels,
    /// The levels at the start of the run, for the ledger.
    pub(super) start_levels: Levels,
    pub(super) mode: Mode,
    pub(super) wanted: [Wanted; MOST_OUTLETS],
    pub(super) active: Vec<Active>,
    /// Draws taken from the source, the one waiting in `next` included.
    pub(super) taken: u64,
    pub(super) next: Option<Draw>,
    /// Edges of incidents gone by.
    pub(super) edges: usize,
    pub(super) totals: Totals,
    pub(super) tally: Tally,
    /// Lowest pressure to the buildings since the last row told.
    pub(super) row_low_kpa: f64,
    /// The step the error control would take next.
    pub(super) step_s: f64,
}
