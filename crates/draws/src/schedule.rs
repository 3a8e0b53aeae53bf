//! What a household draws every day.

use springhouse_core::draw::{Draw, DrawKind, Flow};
use springhouse_core::time::{Span, Time};

/// One entry of a daily schedule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DailyDraw {
    /// Index of the outlet in the plant.
    pub outlet: usize,
    /// Time of day at which it starts, less than a day.
    pub start: Span,
    /// How long it lasts; may cross midnight, at most a day.
    pub length: Span,
    /// Wanted flow.
    pub flow: Flow,
    /// What happens when less comes.
    pub kind: DrawKind,
    /// On which days of the week, Monday first; the day is the one on which the draw starts.
    pub weekdays: [bool; 7],
}

impl DailyDraw {
    /// The draw this entry makes on a day (0 is the first).
    pub(crate) fn on_day(&self, day: i64) -> Draw {
        let start = Time::from_day(day) + self.start;
        Draw { start, end: start + self.length, outlet: self.outlet, flow: self.flow, kind: self.kind }
    }
}
