//! Draws of water: daily schedules and logged draws.

use springhouse_core::draw::{Draw, DrawKind, Flow};
use springhouse_core::time::Span;

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
    /// On which days of the week, Monday first.
    pub weekdays: [bool; 7],
}
