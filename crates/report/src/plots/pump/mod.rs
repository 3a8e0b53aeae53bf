//! When the pump of each supply ran: a row for each day, 24 hours across, and its starts in each day against their limit.

mod rows;
mod starts;

use springhouse_core::time::Time;
use springhouse_sim::{FindingKind, MOST_STARTS_IN_A_DAY, SupplySummary, names};

use self::rows::Rows;
pub(super) use self::rows::{NEARLY_ALL, partly};
use crate::chart::ink::{CARE, QUIET, WATER};
use crate::chart::{Align, BODY, Page};
use crate::numbers::counted;
use crate::phrase::capitalised;
use crate::spells::{self, PumpRuns, Spell};
use crate::{Run, days, text};

/// More rows than this would be thinner than a page unit or two.
const MOST_DAYS: u32 = 366;
/// In longer runs the starts and hours are means of each month.
const MOST_NUMBERED: u32 = 45;

/// A supply's pump and what it did.
struct Pump<'a> {
    name: String,
    figures: &'a SupplySummary,
    runs: PumpRuns,
    /// When it or the electricity was out of order.
    out: Vec<Spell>,
    /// Starts in each day that is shown.
    starts: Vec<f64>,
    /// Hours run in each day.
    hours: Vec<f64>,
}

/// How a pump fared, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fared {
    Idle,
    Well,
    RanBriefly,
    StartedTooOften,
}

fn pumps<'a>(run: &Run<'a>, shown: u32) -> Vec<Pump<'a>> {
    let plant = &run.scenario.plant;
    let figures = run.outcome.summary.supplies.iter();
    let pumped =
        plant.supplies.iter().zip(figures).enumerate().filter(|(_, (supply, _))| supply.source.pump().is_some());
    pumped
        .map(|(index, (_, figures))| {
            let runs = spells::pump_runs(run, index);
            Pump {
                name: names::pump(plant, index),
                figures,
                out: spells::pump_out(run, index),
                starts: days::starts(shown, &runs, figures.most_starts_in_a_day.unwrap_or(0)),
                hours: days::gained(run, |totals| totals.supplies.get(index).map_or(0.0, |of| of.run_s / 3_600.0)),
                runs,
            }
        })
        .collect()
}

pub(super) fn page(run: &Run<'_>) -> Page {
    let summary = &run.outcome.summary;
    let shown = summary.days.min(MOST_DAYS);
    let pumps = pumps(run, shown);
    let mut page = Page::new(&title(run, &pumps), &text::subject(run));
    if shown < summary.days && !pumps.is_empty() {
        page.paragraph(&format!("The first {shown} days are shown."));
    }
    let several = pumps.len() > 1;
    let height = match shown {
        0..=14 if !several => 24.0,
        0..=MOST_NUMBERED => 1.3 * BODY,
        46..=120 => 6.0,
        // A page of two or three years in a row is long enough.
        _ if several => 1.25,
        _ => 2.0,
    };
    let mut drawn: Vec<(&Pump<'_>, Rows)> = Vec::new();
    for pump in &pumps {
        page.y += 10.0;
        if several {
            page.heading(&capitalised(&pump.name));
            page.paragraph(&capitalised(&pump.said(run)));
            page.y += 4.0;
        }
        // Several empty blocks would hide the one that tells something.
        if !several || pump.fared(run) > Fared::Idle {
            drawn.push((pump, block(&mut page, run, pump, shown, height)));
        }
    }
    key(&mut page, run, &drawn);
    page
}

/// The rows of a pump and its starts.
fn block(page: &mut Page, run: &Run<'_>, pump: &Pump<'_>, shown: u32, height: f64) -> Rows {
    /// Above this the hours are told below, too.
    const TALL: f64 = 240.0;
    rows::heads(page);
    let rows = Rows { top: page.y, height, days: shown };
    rows.draw(page, run, pump);
    page.y = rows.bottom() + 2.0;
    if rows.bottom() - rows.top > TALL {
        rows::clock(page);
    }
    page.label((rows::MIDDLE, page.y + 0.6 * BODY), "time of day, local standard time", QUIET, Align::Middle);
    page.y += 1.6 * BODY;
    starts::draw(page, run, &pump.starts, shown);
    rows
}

impl Pump<'_> {
    fn short_cycles(&self) -> bool {
        !self.runs.cycling.is_empty()
    }

    fn fared(&self, run: &Run<'_>) -> Fared {
        let found = |kind| {
            let findings = &run.outcome.summary.verdict.findings;
            findings.iter().any(|f| f.falls_short && f.kind == kind && f.part == self.name)
        };
        if found(FindingKind::ManyStarts) {
            Fared::StartedTooOften
        } else if found(FindingKind::ShortRuns) {
            Fared::RanBriefly
        } else if self.figures.starts == Some(0) && self.figures.run_hours == 0.0 {
            Fared::Idle
        } else {
            Fared::Well
        }
    }

    /// What it did, in words that follow its name.
    fn said(&self, run: &Run<'_>) -> String {
        let figures = self.figures;
        let most = counted(figures.most_starts_in_a_day.unwrap_or(0), "start");
        let shortest = |words: &str| {
            figures.shortest_run_s.map_or_else(String::new, |s| format!(", {words} {}", run.units.duration(s)))
        };
        match self.fared(run) {
            Fared::Idle => "did not run".to_owned(),
            Fared::StartedTooOften => {
                let limit = format!("in a day (the limit is {MOST_STARTS_IN_A_DAY})");
                if self.short_cycles() {
                    format!("short-cycles: up to {most} {limit}{}", shortest("runs as short as"))
                } else {
                    format!("starts too often: up to {most} {limit}")
                }
            }
            Fared::RanBriefly if self.short_cycles() => {
                format!("short-cycles: up to {most} in a day{}", shortest("runs as short as"))
            }
            Fared::RanBriefly => format!("runs too briefly at a time{}", shortest("down to")),
            Fared::Well => {
                let days = run.outcome.summary.days;
                let hours = run.units.duration(3_600.0 * figures.run_hours / f64::from(days.max(1)));
                if days == 1 {
                    return format!("made {} and ran {hours}", counted(figures.starts.unwrap_or(0), "start"));
                }
                format!("ran {hours} a day, with at most {most} in a day")
            }
        }
    }
}

/// What the worst did; of pumps that all fared well, how often they started.
fn title(run: &Run<'_>, pumps: &[Pump<'_>]) -> String {
    let fared = |pump: &Pump<'_>| pump.fared(run);
    // The first of the worst.
    let Some(worst) = pumps.iter().rev().max_by_key(|pump| fared(pump)) else {
        return "The supply needs no pump: it has a pressure of its own".to_owned();
    };
    let ran = pumps.iter().filter(|pump| fared(pump) > Fared::Idle).count();
    if fared(worst) == Fared::Well && ran > 1 {
        let most = pumps.iter().filter_map(|pump| pump.figures.most_starts_in_a_day).max().unwrap_or(0);
        let most = counted(most, "time");
        return format!("No pump started more than {most} in a day (the limit is {MOST_STARTS_IN_A_DAY})");
    }
    format!("The {} {}", worst.name, worst.said(run))
}

fn key(page: &mut Page, run: &Run<'_>, drawn: &[(&Pump<'_>, Rows)]) {
    let any = |has: &dyn Fn(&Pump<'_>, &Rows) -> bool| drawn.iter().any(|(pump, rows)| has(pump, rows));
    let Some((first, rows)) = drawn.first() else { return };
    page.y += 4.0;
    let name = if drawn.len() > 1 { "pump" } else { &first.name };
    page.key(&format!("the {name} runs"), |page, area| page.fill(area, WATER));
    if any(&|pump, rows| rows.has_quick_turns(&pump.runs)) {
        let thin = rows.area(0, Time::ZERO, Time::ZERO).height() < rows::THIN;
        let how = if thin { "the darker, the more of the time it ran" } else { "the dark part is the time it ran" };
        page.key(&format!("it starts and stops in quick turns; {how}"), |page, area| {
            rows::quick_sample(page, area, thin);
        });
    }
    if any(&|pump, _| pump.short_cycles()) {
        page.key("it short-cycles: starts too close together to show", |page, area| page.hatched(area, CARE));
    }
    if any(&|pump, _| !pump.out.is_empty()) {
        page.key(&format!("electricity or the {name} out of order"), |page, area| page.hatched(area, QUIET));
    }
    if any(&|pump, _| pump.starts.iter().any(|starts| starts::is_over(*starts))) {
        let words = format!("a day with more than {MOST_STARTS_IN_A_DAY} starts");
        page.key(&words, |page, area| page.cover(area, starts::OVER));
    }
    if run.outcome.summary.days.min(MOST_DAYS) > MOST_NUMBERED {
        page.paragraph("Starts and hours as numbers are means a day of the month.");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ready::Ready;

    #[test]
    fn runs_starts_and_hours_are_those_of_the_summary() {
        for name in ["two-wells", "pond-standby", "slow-well"] {
            let ready = Ready::run(name, 7);
            let run = ready.told();
            for pump in pumps(&run, 7) {
                let (figures, what) = (pump.figures, format!("{name}: {}", pump.name));
                assert_eq!(pump.name, format!("{} pump", figures.name));
                assert!(!pump.short_cycles(), "{what}: choose one whose starts are all listed");
                let starts: f64 = pump.starts.iter().sum();
                let most = pump.starts.iter().copied().fold(0.0, f64::max);
                let counted = |count: Option<u64>| f64::from(u32::try_from(count.unwrap()).unwrap());
                assert_eq!((starts, most), (counted(figures.starts), counted(figures.most_starts_in_a_day)), "{what}");
                let hours: f64 = pump.hours.iter().sum();
                let run_hours: f64 = pump.runs.runs.iter().map(|spell| spell.length_s() / 3_600.0).sum();
                // A few roundings; the spells are of whole nanoseconds as the summary's are.
                assert!((hours - figures.run_hours).abs() < 1e-9, "{what}: {hours} {}", figures.run_hours);
                assert!((run_hours - figures.run_hours).abs() < 1e-9, "{what}: {run_hours} {}", figures.run_hours);
            }
        }
    }
}
