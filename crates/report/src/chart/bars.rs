//! Bars over the days of a run: one for each day, or for each week or month where days are too narrow.

use core::ops::Range;

use jiff::civil::Weekday;
use springhouse_core::time::{Span, Time};

use super::axis::{TimeAxis, ValueAxis};
use super::ink::{Look, QUIET, TEXT};
use super::page::{Align, Area, BODY, Page, label_width};

/// What a bar stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Each {
    Hour,
    Day,
    /// From Monday on; the first and the last may be cut short by the run.
    Week,
    Month,
}

impl Each {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Hour => "hour",
            Self::Day => "day",
            Self::Week => "week",
            Self::Month => "month",
        }
    }

    /// `an hour`, `a day`.
    pub(crate) fn per(self) -> String {
        let article = if self == Self::Hour { "an" } else { "a" };
        format!("{article} {}", self.name())
    }
}

/// Narrower bars cannot be hatched.
const LEAST: f64 = 8.0;

/// From half a year on the seasons show.
const SEASONAL_DAYS: u32 = 182;

/// Where the bars stand.
#[derive(Clone, Debug)]
pub(crate) struct Bars {
    pub(crate) each: Each,
    axis: TimeAxis,
    /// What the values that make a bar are of: a day, or an hour.
    pub(crate) step: Span,
    /// The steps of each.
    steps: Vec<Range<u32>>,
}

impl Bars {
    /// A bar for each day, or of the shortest stretches that leave bars wide enough to be hatched.
    pub(crate) fn new(axis: &TimeAxis) -> Self {
        let each = match axis.day_width() {
            width if width >= LEAST => Each::Day,
            width if 7.0 * width >= LEAST => Each::Week,
            _ => Each::Month,
        };
        Self::of(axis, each)
    }

    /// The same, or a bar for each hour where there is room.
    pub(crate) fn from_hours(axis: &TimeAxis) -> Self {
        if axis.day_width() < 24.0 * LEAST {
            return Self::new(axis);
        }
        let steps = (0..24 * axis.days).map(|hour| hour..hour + 1).collect();
        Self { each: Each::Hour, axis: *axis, step: Span::HOUR, steps }
    }

    /// As [`Self::new`], but by month where a run is so long that its seasons are what is looked for.
    pub(crate) fn seasonal(axis: &TimeAxis) -> Self {
        if axis.days >= SEASONAL_DAYS { Self::of(axis, Each::Month) } else { Self::new(axis) }
    }

    /// A bar for each day, however narrow.
    pub(crate) fn daily(axis: &TimeAxis) -> Self {
        Self::of(axis, Each::Day)
    }

    fn of(axis: &TimeAxis, each: Each) -> Self {
        let begins = |day: &u32| match each {
            Each::Hour | Each::Day => true,
            Each::Week => axis.date(*day).weekday() == Weekday::Monday,
            Each::Month => axis.date(*day).day() == 1,
        };
        let starts: Vec<u32> = (0..axis.days).filter(|day| *day == 0 || begins(day)).collect();
        let ends = starts.iter().skip(1).copied().chain([axis.days]);
        let steps = starts.iter().copied().zip(ends).map(|(start, end)| start..end).collect();
        Self { each, axis: *axis, step: Span::DAY, steps }
    }

    /// The sum over the steps of each bar.
    pub(crate) fn sums(&self, by_step: &[f64]) -> Vec<f64> {
        let index = |step: u32| usize::try_from(step).unwrap_or(usize::MAX);
        let of =
            |steps: &Range<u32>| by_step.get(index(steps.start)..index(steps.end)).unwrap_or_default().iter().sum();
        self.steps.iter().map(of).collect()
    }

    /// Where a step begins.
    fn x(&self, step: u32) -> f64 {
        self.axis.x(Time::from_ns(i64::from(step) * self.step.ns()))
    }

    /// The room of a bar between two heights: in the middle of its steps, with gaps where there is room for them.
    fn area(&self, index: usize, top: f64, bottom: f64) -> Area {
        const WIDEST: f64 = 44.0;
        const NO_GAP: f64 = 4.0;
        let Range { start, end } = self.steps.get(index).cloned().unwrap_or(0..0);
        let (left, right) = (self.x(start), self.x(end));
        let width = if right - left < NO_GAP { right - left } else { (0.8 * (right - left)).min(WIDEST) };
        let middle = 0.5 * (left + right);
        Area::new(middle - 0.5 * width, top, middle + 0.5 * width, bottom)
    }

    /// One bar for each value, high enough to be seen.
    pub(crate) fn draw(&self, page: &mut Page, axis: &ValueAxis, values: &[f64], look: impl Fn(f64) -> Look) {
        const LEAST: f64 = 1.5;
        baseline(page, axis);
        let foot = axis.y(0.0);
        for (index, value) in values.iter().enumerate().filter(|(_, value)| **value > 0.0) {
            page.cover(self.area(index, axis.y(*value).min(foot - LEAST), foot), look(*value));
        }
    }

    /// Parts on top of each other, the first at the foot.
    pub(crate) fn stack(&self, page: &mut Page, axis: &ValueAxis, parts: &[(Look, Vec<f64>)]) {
        baseline(page, axis);
        for (index, _) in self.steps.iter().enumerate() {
            let mut foot = 0.0;
            for (look, values) in parts {
                let value = values.get(index).copied().unwrap_or(0.0);
                if value > 0.0 {
                    page.cover(self.area(index, axis.y(foot + value), axis.y(foot)), *look);
                    foot += value;
                }
            }
        }
    }

    /// One bar for each value, hanging from the foot.
    pub(crate) fn hang(&self, page: &mut Page, axis: &ValueAxis, values: &[f64], look: Look) {
        for (index, value) in values.iter().enumerate().filter(|(_, value)| **value > 0.0) {
            page.cover(self.area(index, axis.y(0.0), axis.y(-value)), look);
        }
    }

    /// Whether numbers over the bars would have room side by side.
    pub(crate) fn have_room(&self, values: &[f64], say: impl Fn(f64) -> String) -> bool {
        let room = |steps: &Range<u32>| self.x(steps.end) - self.x(steps.start);
        let fits =
            |(steps, value): (&Range<u32>, &f64)| *value <= 0.0 || label_width(&say(*value)) + 4.0 <= room(steps);
        self.steps.iter().zip(values).all(fits)
    }

    /// Numbers over bars that are not empty.
    pub(crate) fn numbers(&self, page: &mut Page, axis: &ValueAxis, values: &[f64], say: impl Fn(f64) -> String) {
        for (index, value) in values.iter().enumerate().filter(|(_, value)| **value > 0.0) {
            let area = self.area(index, axis.y(*value), axis.y(0.0));
            let over = (0.5 * (area.left + area.right), area.top - 0.65 * BODY);
            page.label(over, &say(*value), TEXT, Align::Middle);
        }
    }
}

fn baseline(page: &mut Page, axis: &ValueAxis) {
    let (area, y) = (axis.area, axis.y(0.0));
    page.line((area.left, y), (area.right, y), QUIET, 1.0);
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    /// A run from a Thursday on.
    fn axis(days: u32, width: f64) -> TimeAxis {
        TimeAxis { left: 50.0, right: 50.0 + width, first_day: date(2026, 7, 30), days }
    }

    #[test]
    fn exact_bars_stand_for_days_weeks_and_months() {
        for (days, each, first, bars) in [(14, Each::Day, 1, 14), (60, Each::Week, 4, 9), (1_000, Each::Month, 2, 34)] {
            let bars_of = Bars::new(&axis(days, 400.0));
            assert_eq!((bars_of.each, bars_of.steps.len()), (each, bars), "{days} days");
            assert_eq!(bars_of.steps[0], 0..first, "{days} days");
            assert_eq!(bars_of.steps.last().map(|last| last.end), Some(days));
        }
    }

    #[test]
    fn exact_hours_have_bars_where_they_have_room() {
        let bars_of = |days| Bars::from_hours(&axis(days, 400.0));
        let two = bars_of(2);
        assert_eq!((two.each, two.steps.len(), two.step), (Each::Hour, 48, Span::HOUR));
        // The last hour ends with the axis.
        assert_eq!((two.x(0), two.x(24), two.x(48)), (50.0, 250.0, 450.0));
        assert_eq!((bars_of(3).each, bars_of(60).each), (Each::Day, Each::Week));
        assert_eq!((Each::Hour.per(), Each::Day.per()), ("an hour".to_owned(), "a day".to_owned()));
    }

    #[test]
    fn exact_sums_leave_no_day_out() {
        let bars = Bars::of(&axis(20, 100.0), Each::Week);
        let by_day: Vec<f64> = (1..=20).map(f64::from).collect();
        // Thu to Sun, two whole weeks, Mon and Tue.
        assert_eq!(bars.sums(&by_day), [10.0, 56.0, 105.0, 39.0]);
        assert_eq!(bars.sums(&[]), [0.0; 4]);
    }

    #[test]
    fn exact_parts_stand_on_each_other() {
        use crate::chart::ink::PUMPS;
        use crate::chart::page::Shape;
        let bars = Bars::daily(&axis(2, 100.0));
        let values = ValueAxis::up(Area::new(50.0, 0.0, 150.0, 104.0), 100.0);
        let mut page = Page::new("", "");
        bars.stack(&mut page, &values, &[(PUMPS[0], vec![30.0, 0.0]), (PUMPS[2], vec![20.0, 50.0])]);
        let fills: Vec<(f64, f64)> = page
            .shapes
            .iter()
            .filter_map(|shape| match shape {
                Shape::Fill(area, _) => Some((area.bottom, area.top)),
                _ => None,
            })
            .collect();
        let expected = [(104.0, 74.0), (74.0, 54.0), (104.0, 54.0)];
        assert_eq!(fills.len(), expected.len());
        for (found, expected) in fills.iter().zip(expected) {
            assert!((found.0 - expected.0).abs() < 1e-9 && (found.1 - expected.1).abs() < 1e-9, "{fills:?}");
        }
    }
}
