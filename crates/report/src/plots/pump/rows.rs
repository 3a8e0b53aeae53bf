//! A row for each day, 24 hours across: when a pump ran, with its starts and hours as numbers.

use jiff::civil::Date;
use springhouse_core::time::Time;

use super::Pump;
use crate::chart::ink::{CARE, GRID, QUIET, STRIP, TEXT, WATER};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, WIDTH, merged};
use crate::numbers::{fixed, number};
use crate::spells::{PumpRuns, Spell};
use crate::{Run, calendar};

const LEFT: f64 = MARGIN + 84.0;
const RIGHT: f64 = WIDTH - MARGIN - 142.0;
/// The middle of the 24 hours.
pub(super) const MIDDLE: f64 = 0.5 * (LEFT + RIGHT);
const STARTS: f64 = RIGHT + 66.0;
const HOURS: f64 = WIDTH - MARGIN;

/// Rows of days.
#[derive(Clone, Copy)]
pub(super) struct Rows {
    pub(super) top: f64,
    pub(super) height: f64,
    pub(super) days: u32,
}

impl Rows {
    pub(super) fn area(&self, day: i64, from: Time, to: Time) -> Area {
        #[expect(clippy::cast_precision_loss, reason = "a day of at most a year")]
        let top = self.top + self.height * day as f64;
        let gap = if self.height >= 5.0 { 0.12 * self.height } else { 0.0 };
        let x = |time: Time| LEFT + (RIGHT - LEFT) * ((time - Time::from_day(day)).s() / 86_400.0).clamp(0.0, 1.0);
        Area::new(x(from), top + gap, x(to), top + self.height - gap)
    }

    /// The pieces of a spell, one a day.
    fn pieces(self, spell: Spell) -> impl Iterator<Item = Area> {
        let last = spell.end.day().min(i64::from(self.days) - 1);
        (spell.start.day().max(0)..=last).filter_map(move |day| {
            let (from, to) = (spell.start.max(Time::from_day(day)), spell.end.min(Time::from_day(day + 1)));
            (to > from).then(|| self.area(day, from, to))
        })
    }

    pub(super) fn bottom(&self) -> f64 {
        self.top + self.height * f64::from(self.days)
    }

    fn whole(&self) -> Area {
        Area::new(LEFT, self.top, RIGHT, self.bottom())
    }

    /// What a pump did and when it was out of order.
    pub(super) fn draw(self, page: &mut Page, run: &Run<'_>, pump: &Pump<'_>) {
        for day in 0..i64::from(self.days) {
            page.fill(self.area(day, Time::from_day(day), Time::from_day(day + 1)), STRIP);
        }
        for hour in [6_u8, 12, 18] {
            let x = LEFT + (RIGHT - LEFT) * f64::from(hour) / 24.0;
            page.line((x, self.top), (x, self.bottom()), GRID, 1.0);
        }
        let hatch = |page: &mut Page, spell: Spell, ink: Ink| {
            self.pieces(spell).for_each(|area| page.hatched(area.at_least(LEAST, &self.whole()), ink));
        };
        pump.out.iter().for_each(|spell| hatch(page, *spell, QUIET));
        for block in blocks(&pump.runs, self) {
            block.draw(page);
        }
        pump.runs.cycling.iter().for_each(|(spell, _)| hatch(page, *spell, CARE));
        numbers(page, run, pump, self);
    }

    /// Whether runs are shown that cannot be told apart.
    pub(super) fn has_quick_turns(self, runs: &PumpRuns) -> bool {
        blocks(runs, self).iter().any(|block| !block.is_solid())
    }
}

/// What the columns are.
pub(super) fn heads(page: &mut Page) {
    clock(page);
    let y = page.y - 0.85 * BODY;
    page.label((STARTS, y), "starts", TEXT, Align::Right);
    page.label((HOURS, y), "hours run", TEXT, Align::Right);
}

/// A line of times of day.
pub(super) fn clock(page: &mut Page) {
    page.y += 0.85 * BODY;
    for hour in [0_u8, 6, 12, 18, 24] {
        let x = LEFT + (RIGHT - LEFT) * f64::from(hour) / 24.0;
        page.label((x, page.y), &format!("{hour:02}:00"), QUIET, Align::Middle);
    }
    page.y += 0.85 * BODY;
}

/// Runs of one day that stand too close to be told apart, or one run alone.
struct Block {
    area: Area,
    /// Runs in it.
    runs: u32,
    /// Width of the runs themselves, without the stops between them.
    run_width: f64,
}

impl Block {
    /// Share of the block that the pump ran.
    fn share(&self) -> f64 {
        (self.run_width / self.area.width()).clamp(0.0, 1.0)
    }

    /// Whether it is told as one run: otherwise a filled block would hide the starts, and claim hours that it stood still.
    fn is_solid(&self) -> bool {
        self.runs < 2 || self.share() > NEARLY_ALL
    }

    fn draw(&self, page: &mut Page) {
        if self.is_solid() {
            page.fill(self.area, WATER);
        } else {
            partly(page, self.area, self.share(), WATER);
        }
    }
}

/// A pale block with its foot filled as high as the share of the time that something ran: it cannot be taken for a run, however
/// narrow it is. In rows too thin for that the share is told by how dark it is.
pub(in crate::plots) fn partly(page: &mut Page, area: Area, share: f64, ink: Ink) {
    const PALE: f64 = 0.3;
    if area.height() < THIN {
        page.fill(area, ink.thin(PALE + (1.0 - PALE) * 0.7 * share));
        return;
    }
    page.fill(area, ink.thin(PALE));
    // Never so high that it looks full, never so low that it is not seen.
    let foot = area.height() * share.clamp(0.15, 0.7);
    page.fill(Area { top: area.bottom - foot, ..area }, ink);
}

/// A sample of [`partly`] for the key, as thin as the rows are.
pub(super) fn quick_sample(page: &mut Page, area: Area, thin: bool) {
    let bottom = if thin { area.top + 0.75 * THIN } else { area.bottom };
    partly(page, Area { bottom, ..area }, 0.45, WATER);
}

/// From this share on a block is told as filled.
pub(in crate::plots) const NEARLY_ALL: f64 = 0.9;
/// Blocks lower than this have no room for a foot.
pub(super) const THIN: f64 = 4.0;
/// The least width of a mark.
const LEAST: f64 = 1.0;

fn blocks(pump: &PumpRuns, rows: Rows) -> Vec<Block> {
    let pieces = || pump.runs.iter().flat_map(|spell| rows.pieces(*spell));
    let mut blocks: Vec<Block> = merged(pieces(), LEAST, &rows.whole())
        .into_iter()
        .map(|area| Block { area, runs: 0, run_width: 0.0 })
        .collect();
    let mut block = blocks.iter_mut().peekable();
    for piece in pieces() {
        // Both go in order of time, so that the block of a piece is the next one that reaches over its middle.
        let middle = 0.5 * (piece.left + piece.right);
        let before = |area: &Area| area.top < piece.top || (area.top <= piece.top && area.right < middle);
        while block.next_if(|block| before(&block.area)).is_some() {}
        if let Some(block) = block.peek_mut() {
            block.runs += 1;
            block.run_width += piece.width();
        }
    }
    blocks
}

/// Dates at the left, starts and hours at the right: of each day, or where rows are thin the means of each month.
fn numbers(page: &mut Page, run: &Run<'_>, pump: &Pump<'_>, rows: Rows) {
    let (starts, hours) = (&pump.starts, &pump.hours);
    let date = |day: usize| calendar::date(run.first_day, i64::try_from(day).unwrap_or(i64::MAX));
    let each_day = rows.height >= BODY;
    let months: Vec<usize> = (0..starts.len()).collect();
    let groups =
        months.chunk_by(|a, b| !each_day && (date(*a).year(), date(*a).month()) == (date(*b).year(), date(*b).month()));
    for group in groups {
        let (Some(first), Some(last)) = (group.first().copied(), group.last().copied()) else { continue };
        let from = |day: usize| rows.area(i64::try_from(day).unwrap_or(0), Time::ZERO, Time::ZERO);
        let (top, bottom) = (from(first).top, from(last).bottom);
        // A month of few days stands within the rows, too.
        let y = (0.5 * (top + bottom)).min(rows.bottom() - 0.5 * BODY).max(rows.top + 0.5 * BODY);
        let mean = |values: &[f64]| {
            let of_group = values.get(first..=last).unwrap_or_default();
            of_group.iter().sum::<f64>() / f64::from(u32::try_from(group.len()).unwrap_or(1))
        };
        let name = if each_day { day_name(date(first)) } else { month_name(date(first)) };
        page.label((LEFT - 10.0, y), &name, TEXT, Align::Right);
        page.label((STARTS, y), &number(mean(starts).round()), TEXT, Align::Right);
        page.label((HOURS, y), &fixed(mean(hours), 1), TEXT, Align::Right);
        if !each_day && first > 0 {
            page.line((LEFT - 6.0, top), (RIGHT + 6.0, top), QUIET, 0.5);
        }
    }
}

fn day_name(date: Date) -> String {
    format!("{} {} {}", calendar::weekday(date), date.day(), calendar::month(date))
}

fn month_name(date: Date) -> String {
    format!("{} {}", calendar::month(date), date.year())
}
