//! The axes: dates and times of day across, values up.

use jiff::civil::Date;
use springhouse_core::time::Time;

use super::ink::{GRID, QUIET, TEXT};
use super::page::{Align, Area, BODY, Page, WIDTH, label_width, merged};
use crate::calendar;
use crate::numbers::{fixed, number};
use crate::spells::Spell;

/// Least room between a label and the edge of the page.
const EDGE: f64 = 6.0;
/// Height of a line of labels.
const LINE: f64 = 1.35 * BODY;

/// The days of a run across the page.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TimeAxis {
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) first_day: Date,
    pub(crate) days: u32,
}

/// How finely an axis is marked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Marks {
    /// Every so many hours, written out, and dates.
    Clock { hours: u32 },
    /// Midnight and noon, and days of the week.
    HalfDays,
    /// Days of the month.
    Days,
    /// Mondays.
    Weeks,
    /// Months.
    Months,
    /// The first days of quarters of a year.
    Quarters,
    /// Years.
    Years,
}

impl TimeAxis {
    pub(crate) fn x(&self, time: Time) -> f64 {
        let share = time.s() / (86_400.0 * f64::from(self.days.max(1)));
        self.left + share.clamp(0.0, 1.0) * (self.right - self.left)
    }

    /// The room of a spell between two heights.
    pub(crate) fn area(&self, spell: Spell, top: f64, bottom: f64) -> Area {
        Area::new(self.x(spell.start), top, self.x(spell.end), bottom)
    }

    /// Marks of spells in order, wide enough to be seen; those that would touch are one.
    pub(crate) fn marks_of(&self, spells: &[Spell], within: Area) -> Vec<Area> {
        // A year's marks are kept thinner, or a short spell a week would look like one without end.
        let least = if self.day_width() < 20.0 { 1.5 } else { 3.0 };
        merged(spells.iter().map(|spell| self.area(*spell, within.top, within.bottom)), least, &within)
    }

    pub(crate) fn day_x(&self, day: u32) -> f64 {
        self.x(Time::from_day(i64::from(day)))
    }

    pub(crate) fn day_width(&self) -> f64 {
        (self.right - self.left) / f64::from(self.days.max(1))
    }

    pub(crate) fn date(&self, day: u32) -> Date {
        calendar::date(self.first_day, i64::from(day))
    }

    fn marks(&self) -> Marks {
        match self.day_width() {
            w if w >= 330.0 => Marks::Clock { hours: 4 },
            w if w >= 160.0 => Marks::Clock { hours: 12 },
            w if w >= 46.0 => Marks::HalfDays,
            w if w >= 22.0 => Marks::Days,
            w if 7.0 * w >= label_width("30 Aug") => Marks::Weeks,
            w if 30.4 * w >= label_width("May") => Marks::Months,
            w if 90.0 * w >= label_width("1 May  ") => Marks::Quarters,
            _ => Marks::Years,
        }
    }

    /// Days at which a thin line crosses the plot.
    fn lined_days(&self) -> Vec<u32> {
        let marks = self.marks();
        let wanted = |day: &u32| match marks {
            Marks::Clock { .. } | Marks::HalfDays | Marks::Days => true,
            Marks::Weeks => self.date(*day).weekday() == jiff::civil::Weekday::Monday,
            Marks::Months => self.date(*day).day() == 1,
            Marks::Quarters => self.date(*day).day() == 1 && self.date(*day).month() % 3 == 1,
            Marks::Years => self.date(*day).day_of_year() == 1,
        };
        (0..=self.days).filter(wanted).collect()
    }

    /// Thin lines across a plot.
    pub(crate) fn grid(&self, page: &mut Page, top: f64, bottom: f64) {
        for day in self.lined_days() {
            page.line((self.day_x(day), top), (self.day_x(day), bottom), GRID, 1.0);
        }
        if matches!(self.marks(), Marks::HalfDays | Marks::Clock { .. }) {
            for day in 0..self.days {
                let noon = self.day_x(day) + 0.5 * self.day_width();
                page.line((noon, top), (noon, bottom), GRID.thin(0.6), 0.5);
            }
        }
    }

    /// Labels below the plot that ends at `page.y`, and what they are.
    pub(crate) fn labels(&self, page: &mut Page) {
        let y = page.y + 0.75 * LINE;
        match self.marks() {
            Marks::Clock { hours } => {
                let steps = 24 / hours * self.days;
                for step in 0..=steps {
                    let x = self.left + (self.right - self.left) * f64::from(step) / f64::from(steps);
                    let hour = step * hours % 24;
                    page.label((x, y), &format!("{hour:02}:00"), QUIET, Align::Middle);
                }
                page.y += LINE;
                self.dates(page, "time of day and date");
            }
            Marks::HalfDays => {
                for step in 0..=2 * self.days {
                    let x = self.left + 0.5 * f64::from(step) * self.day_width();
                    page.label((x, y), if step % 2 == 0 { "0" } else { "12" }, QUIET, Align::Middle);
                }
                page.y += LINE;
                self.dates(page, "hour and day");
            }
            _ => self.day_labels(page),
        }
    }

    /// The same for a plot of whole days: no hours.
    pub(crate) fn day_labels(&self, page: &mut Page) {
        let what = match self.marks() {
            Marks::Clock { .. } | Marks::HalfDays | Marks::Days => "day",
            Marks::Weeks => "Mondays",
            Marks::Months => "month",
            Marks::Quarters => "date",
            Marks::Years => "year",
        };
        self.dates(page, what);
    }

    /// Dates, and a line that says what they are.
    fn dates(&self, page: &mut Page, what: &str) {
        let y = page.y + 0.75 * LINE;
        match self.marks() {
            Marks::Clock { .. } => self.name_days(page, y, |date| {
                format!("{} {} {}", calendar::weekday(date), date.day(), calendar::month(date))
            }),
            Marks::HalfDays => {
                self.name_days(page, y, |date| format!("{} {}", calendar::weekday(date), date.day()));
            }
            Marks::Days => self.name_days(page, y, |date| date.day().to_string()),
            Marks::Weeks | Marks::Quarters => {
                let last = self.right - 0.5 * label_width("30 Aug");
                for day in self.lined_days().into_iter().filter(|day| self.day_x(*day) <= last) {
                    let date = self.date(day);
                    let text = format!("{} {}", date.day(), calendar::month(date));
                    page.label((self.day_x(day), y), &text, TEXT, Align::Middle);
                }
            }
            Marks::Months => self.name_groups(page, y, |date| calendar::month(date).to_owned()),
            Marks::Years => self.name_groups(page, y, |date| date.year().to_string()),
        }
        page.y += 1.4 * LINE + 0.5 * BODY;
        let said = format!("{what}, {}, local standard time", self.months());
        page.label((0.5 * (self.left + self.right), page.y), &said, QUIET, Align::Middle);
        page.y += 0.8 * BODY;
    }

    fn name_days(&self, page: &mut Page, y: f64, name: impl Fn(Date) -> String) {
        for day in 0..self.days {
            let x = self.day_x(day) + 0.5 * self.day_width();
            page.label((x, y), &name(self.date(day)), TEXT, Align::Middle);
        }
    }

    /// Names the months or years between the lines.
    fn name_groups(&self, page: &mut Page, y: f64, name: impl Fn(Date) -> String) {
        let mut starts = self.lined_days();
        starts.retain(|day| *day < self.days);
        if starts.first() != Some(&0) {
            starts.insert(0, 0);
        }
        starts.push(self.days);
        // A month that the run has only a few days of may be named beyond the end of the axis, where the others fit.
        let others_fit = self.marks() == Marks::Months;
        let groups = starts.len() - 1;
        for (index, pair) in starts.windows(2).enumerate() {
            let &[from, to] = pair else { continue };
            let text = name(self.date(from));
            let (left, right) = (self.day_x(from), self.day_x(to));
            let half = 0.5 * label_width(&text);
            let x = if right - left >= 2.0 * half {
                0.5 * (left + right)
            } else if others_fit && index == 0 {
                right - half
            } else if others_fit && index + 1 == groups {
                left + half
            } else {
                continue;
            };
            let x = x.clamp(EDGE + half, WIDTH - EDGE - half);
            page.label((x, y), &text, TEXT, Align::Middle);
        }
    }

    /// The months and years of the run, which the labels leave out.
    fn months(&self) -> String {
        let first = self.date(0);
        let last = self.date(self.days.saturating_sub(1));
        if (first.year(), first.month()) == (last.year(), last.month()) {
            format!("{} {}", calendar::month(first), first.year())
        } else if first.year() == last.year() {
            format!("{} to {} {}", calendar::month(first), calendar::month(last), first.year())
        } else {
            let month = |date: Date| format!("{} {}", calendar::month(date), date.year());
            format!("{} to {}", month(first), month(last))
        }
    }
}

/// Values up a plot from zero, or down it; or from any other value up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ValueAxis {
    pub(crate) area: Area,
    least: f64,
    most: f64,
    down: bool,
}

impl ValueAxis {
    /// An axis up to at least `most`.
    pub(crate) fn up(area: Area, most: f64) -> Self {
        Self::new(area, most, false)
    }

    /// An axis down to at least `most`.
    pub(crate) fn down(area: Area, most: f64) -> Self {
        Self::new(area, most, true)
    }

    fn new(area: Area, most: f64, down: bool) -> Self {
        let most = if most.is_finite() && most > 0.0 { most } else { 1.0 };
        Self { area, least: 0.0, most: 1.04 * most, down }
    }

    /// An axis up from `least`, or below, to at least `most`.
    pub(crate) fn between(area: Area, least: f64, most: f64) -> Self {
        let (least, most) = if least.is_finite() && most > least { (least, most) } else { (0.0, 1.0) };
        let beyond = 0.04 * (most - least);
        Self { area, least: least - beyond, most: most + beyond, down: false }
    }

    fn range(&self) -> f64 {
        self.most - self.least
    }

    pub(crate) fn y(&self, value: f64) -> f64 {
        let along = ((value - self.least) / self.range()).clamp(0.0, 1.0) * self.area.height();
        if self.down { self.area.top + along } else { self.area.bottom - along }
    }

    /// Round steps of which four or so fit, two or so where the axis is short, and one or two where it is very short.
    fn step(&self) -> f64 {
        const SHORT: f64 = 100.0;
        const VERY_SHORT: f64 = 60.0;
        let least = match self.area.height() {
            height if height < VERY_SHORT => 1.0,
            height if height < SHORT => 2.0,
            _ => 3.0,
        };
        let mut step = 1.0;
        // Powers of ten first, then the largest of 1, 2, 5 and 10 that leaves enough steps.
        while step * 10.0 <= self.range() / 2.0 {
            step *= 10.0;
        }
        while step > self.range() {
            step /= 10.0;
        }
        let finer = [10.0, 5.0, 2.0, 1.0].into_iter().map(|m| m * step).find(|s| self.range() / s >= least);
        finer.unwrap_or(0.5 * step)
    }

    /// The values that are marked.
    pub(crate) fn marks(&self) -> impl Iterator<Item = f64> {
        let (step, most) = (self.step(), self.most);
        let first = (self.least / step).ceil();
        core::iter::successors(Some(first), |count| Some(count + 1.0))
            .map(move |count| count * step)
            .take_while(move |value| *value <= most)
    }

    /// Lines across and their values at the left.
    pub(crate) fn grid(&self, page: &mut Page) {
        self.grid_said(page, number);
    }

    /// The same, where values may be so close that they need more decimals.
    pub(crate) fn close_grid(&self, page: &mut Page) {
        self.grid_said(page, |value| self.said(value));
    }

    /// A marked value, with as many decimals as tell it from the next.
    pub(crate) fn said(&self, value: f64) -> String {
        let step = self.step();
        if step >= 0.01 {
            return number(value);
        }
        let decimals = (2..9).find(|decimals| step * libm::pow(10.0, f64::from(*decimals)) > 0.999).unwrap_or(9);
        fixed(value, usize::try_from(decimals).unwrap_or(9))
    }

    /// The same, with values said in another way.
    pub(crate) fn grid_said(&self, page: &mut Page, say: impl Fn(f64) -> String) {
        for value in self.marks() {
            let y = self.y(value);
            page.line((self.area.left, y), (self.area.right, y), GRID, 1.0);
            page.label((self.area.left - 6.0, y), &say(value), QUIET, Align::Right);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::Shape;

    #[test]
    fn steps_are_round_and_neither_crowded_nor_sparse() {
        for most in [0.3, 1.0, 7.0, 60.0, 413.0, 999.0, 1_000.0, 123_456.0] {
            for (height, least) in [(46.0, 1.0), (75.0, 2.0), (200.0, 2.0)] {
                let axis = ValueAxis::up(Area::new(0.0, 0.0, 100.0, height), most);
                let (steps, each) = (axis.most / axis.step(), height * axis.step() / axis.most);
                assert!((least..=8.0).contains(&steps), "{most} has {steps} steps");
                assert!(each >= BODY, "{most} on {height} has {each} a step");
            }
        }
    }

    #[test]
    fn exact_axis_runs_down_from_the_ground() {
        let axis = ValueAxis::down(Area::new(0.0, 10.0, 100.0, 114.0), 100.0);
        assert!((axis.y(0.0) - 10.0).abs() < 1e-9);
        assert!((axis.y(50.0) - 60.0).abs() < 1e-9);
    }
    #[test]
    fn exact_axis_runs_up_from_below_zero() {
        let axis = ValueAxis::between(Area::new(0.0, 0.0, 100.0, 108.0), -20.0, 30.0);
        assert!((axis.y(-20.0) - 104.0).abs() < 1e-9 && (axis.y(30.0) - 4.0).abs() < 1e-9);
        assert_eq!(axis.marks().collect::<Vec<_>>(), [-20.0, -10.0, 0.0, 10.0, 20.0, 30.0]);
    }
    #[test]
    fn exact_long_axes_are_marked_by_months_quarters_and_years() {
        let labels = |days: u32| -> Vec<String> {
            let axis = TimeAxis { left: 58.0, right: 435.0, first_day: jiff::civil::date(2026, 8, 3), days };
            let mut page = Page::new("", "");
            axis.day_labels(&mut page);
            let shapes = page.shapes.into_iter();
            shapes.filter_map(|shape| if let Shape::Text(label) = shape { Some(label.text) } else { None }).collect()
        };
        assert_eq!(labels(90), ["Aug", "Sep", "Oct", "month, Aug to Oct 2026, local standard time"]);
        assert_eq!(labels(92).get(3).map(String::as_str), Some("Nov"));
        let quarters = ["1 Oct", "1 Jan", "1 Apr", "1 Jul", "date, Aug 2026 to Sep 2027, local standard time"];
        assert_eq!(labels(420), quarters);
        let years = ["2026", "2027", "2028", "2029", "2030", "year, Aug 2026 to Sep 2030, local standard time"];
        assert_eq!(labels(1_500), years);
    }
}
