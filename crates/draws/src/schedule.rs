//! What a household draws every day.

use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
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
    /// How warm it is wanted.
    pub warmth: Warmth,
    /// On which days of the week, Monday first; the day is the one on which the draw starts.
    pub weekdays: [bool; 7],
    /// Every how many days it starts: 1 is every day, n every n-th; 0 counts as 1. Its day of the week must hold as well.
    pub every: u32,
    /// On which day the count of `every` begins (0 is the first), the first on which it starts. Nothing is drawn before,
    /// not even what would cross the first midnight. Without meaning if `every` is 1.
    pub offset: u32,
    /// Days on which it does not start, rising: a valve that stays shut after rain.
    pub skips: Vec<i64>,
    /// In which months it starts, January first.
    pub months: [bool; 12],
}

/// Every month of the year.
pub const EVERY_MONTH: [bool; 12] = [true; 12];

impl DailyDraw {
    /// Whether it starts on a day (0 is the first), which is a day of the week (Monday is 0) and falls in a month (January is 0).
    pub(crate) fn falls_on(&self, day: i64, weekday: usize, month: impl Fn() -> usize) -> bool {
        let (every, counted) = (i64::from(self.every), day - i64::from(self.offset));
        self.weekdays[weekday]
            && (every <= 1 || (counted >= 0 && counted % every == 0))
            && self.skips.binary_search(&day).is_err()
            // Most draws know no season, and the calendar is slow.
            && (self.months == EVERY_MONTH || self.months[month()])
    }

    /// The draw this entry makes on a day (0 is the first).
    pub(crate) fn on_day(&self, day: i64) -> Draw {
        let start = Time::from_day(day) + self.start;
        let &Self { outlet, flow, kind, warmth, .. } = self;
        Draw { start, end: start + self.length, outlet, flow, kind, warmth }
    }
}
