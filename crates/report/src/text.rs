//! The report in plain text: the verdict first, then short tables, then a caution where one is apt.

use core::fmt::Write;

use springhouse_sim::{FindingKind, OutletSummary, Summary};

use crate::numbers::{counted, fixed};
use crate::{Run, calendar, words};

/// The answer in one line: whether it holds, and if not, what gives way first.
#[must_use]
pub fn headline(run: &Run<'_>) -> String {
    let verdict = &run.outcome.summary.verdict;
    let worst = verdict.findings.iter().find(|finding| finding.falls_short);
    match worst {
        Some(finding) => format!("Falls short: {}.", words::finding(run.units, finding)),
        None if verdict.holds => "Holds: nobody ran out of water and nothing was overworked.".to_owned(),
        None => "Falls short.".to_owned(),
    }
}

/// The findings that the headline leaves out, and the tables. Ends with a newline.
#[must_use]
pub fn body(run: &Run<'_>) -> String {
    let mut text = String::new();
    push_findings(&mut text, run);
    push_table(&mut text, &figures(run));
    push_outlets(&mut text, run);
    text
}

/// What was run and when: the scenario's title, its first and last day.
#[must_use]
pub fn subject(run: &Run<'_>) -> String {
    let days = run.outcome.summary.days;
    let name = if run.scenario.title.is_empty() { &run.scenario.name } else { &run.scenario.title };
    format!("{name}: {}, {}", calendar::stretch(run.first_day, days), counted(u64::from(days), "day"))
}

fn push_findings(text: &mut String, run: &Run<'_>) {
    let findings = &run.outcome.summary.verdict.findings;
    let headlined = findings.iter().position(|finding| finding.falls_short);
    for (_, finding) in findings.iter().enumerate().filter(|(index, _)| Some(*index) != headlined) {
        let word = if finding.falls_short { "Also" } else { "Note" };
        push_lines(text, &format!("{word}: {}.", words::finding(run.units, finding)));
    }
    if !text.is_empty() {
        text.push('\n');
    }
}

/// A paragraph broken into lines of at most 80 columns, later ones indented. Ends with a newline.
#[must_use]
pub fn wrapped(paragraph: &str) -> String {
    let mut text = String::new();
    push_lines(&mut text, paragraph);
    text
}

fn push_lines(text: &mut String, paragraph: &str) {
    const WIDTH: usize = 80;
    let mut used = 0;
    for word in paragraph.split_whitespace() {
        let length = word.chars().count();
        if used > 0 && used + 1 + length > WIDTH {
            text.push_str("\n  ");
            used = 2;
        } else if used > 0 {
            text.push(' ');
            used += 1;
        }
        text.push_str(word);
        used += length;
    }
    text.push('\n');
}

fn push_table(text: &mut String, rows: &[(&str, String)]) {
    let width = rows.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
    for (label, value) in rows {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{label:width$}  {value}");
    }
}

fn figures(run: &Run<'_>) -> Vec<(&'static str, String)> {
    let mut rows = Vec::new();
    push_water(&mut rows, run);
    push_plant(&mut rows, run);
    rows
}

fn push_water(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (summary, units) = (&run.outcome.summary, run.units);
    let water = &summary.water;
    rows.push(("Delivered", units.volume(water.delivered_l)));
    rows.push(("Short", short(run, water.short_l, water.delivered_l + water.short_l)));
    if let Some(raw_l) = water.raw_loads_l {
        let missing = water.raw_short_l.filter(|l| *l > 0.0);
        let missing = missing.map_or_else(String::new, |l| format!(", {} short", units.volume(l)));
        rows.push(("Raw loads", format!("{}{missing}", units.volume(raw_l))));
    }
    let run_outs = match water.run_outs {
        0 => "none".to_owned(),
        n => format!("{n}, {} in all", units.duration(60.0 * water.run_out_minutes)),
    };
    rows.push(("Run-outs", run_outs));
    if let Some(lowest_l) = water.lowest_storage_l {
        let at = water
            .lowest_storage_at
            .as_deref()
            .map_or_else(String::new, |at| format!(" on {}", calendar::spoken_iso(at)));
        rows.push(("Lowest storage", format!("{}{at}", units.volume(lowest_l))));
    }
}

/// A missing amount, with its share of all that was wanted.
fn short(run: &Run<'_>, short_l: f64, wanted_l: f64) -> String {
    if short_l > 0.0 && wanted_l > 0.0 {
        format!("{}, {} % of what was wanted", run.units.volume(short_l), fixed(100.0 * short_l / wanted_l, 1))
    } else {
        "nothing".to_owned()
    }
}

fn push_plant(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (summary, units) = (&run.outcome.summary, run.units);
    let (well, energy) = (&summary.well, &summary.energy);
    let hours = units.duration(3_600.0 * well.run_hours);
    let most =
        if summary.days > 1 { format!(", at most {} in a day", well.most_starts_in_a_day) } else { String::new() };
    rows.push(("Well pump", format!("{}{most}; ran {hours}", counted(well.starts, "start"))));
    if let Some(shortest_s) = well.shortest_run_s {
        rows.push(("Shortest run", units.duration(shortest_s)));
    }
    rows.push(("Deepest drawdown", units.length(well.deepest_drawdown_m)));
    let low = match summary.pressure.minutes_below_set {
        minutes if minutes > 0.0 => format!("; {} under what the controls hold", units.duration(60.0 * minutes)),
        _ => String::new(),
    };
    rows.push(("Lowest pressure", format!("{}{low}", units.pressure(summary.pressure.lowest_kpa))));
    let parts = energy.delivery_kwh.map_or_else(String::new, |delivery_kwh| {
        format!(" (well pump {}, delivery {})", fixed(energy.well_pump_kwh, 1), fixed(delivery_kwh, 1))
    });
    rows.push(("Energy", format!("{} kWh{parts}", fixed(energy.total_kwh, 1))));
}

/// A line for each building and raw load, where there is more than one.
fn push_outlets(text: &mut String, run: &Run<'_>) {
    let outlets = &run.outcome.summary.outlets;
    if outlets.len() < 2 {
        return;
    }
    text.push('\n');
    let mut lines = vec![["", "delivered", "short", "run-outs"].map(str::to_owned)];
    lines.extend(outlets.iter().map(|outlet| outlet_cells(run, outlet)));
    let width = |column: usize| lines.iter().map(|cells| cells[column].chars().count()).max().unwrap_or(0);
    let widths = [width(0), width(1), width(2)];
    for [name, delivered, short, run_outs] in &lines {
        // Writing to a string cannot fail.
        let _ = writeln!(
            text,
            "{name:a$}  {delivered:>b$}  {short:>c$}  {run_outs}",
            a = widths[0],
            b = widths[1],
            c = widths[2]
        );
    }
}

fn outlet_cells(run: &Run<'_>, outlet: &OutletSummary) -> [String; 4] {
    let duration = |time_s: f64| run.units.duration(time_s);
    let run_outs = match outlet.run_outs {
        0 => "none".to_owned(),
        1 => format!("1, {}", duration(60.0 * outlet.run_out_minutes)),
        n => {
            let longest = duration(60.0 * outlet.longest_run_out_min);
            format!("{n}, {} in all, longest {longest}", duration(60.0 * outlet.run_out_minutes))
        }
    };
    let amount = |volume_l: f64| run.units.volume(volume_l);
    [outlet.name.clone(), amount(outlet.delivered_l), amount(outlet.short_l), run_outs]
}

/// The caution that what was found raises, if any. Ends with a newline.
#[must_use]
pub fn caution(run: &Run<'_>) -> Option<String> {
    raised(&run.outcome.summary).map(|caution| wrapped(&format!("Caution: {caution} More in docs/cautions.md.")))
}

fn raised(summary: &Summary) -> Option<&'static str> {
    let found = |kinds: &[FindingKind]| summary.verdict.findings.iter().any(|f| kinds.contains(&f.kind));
    if found(&[FindingKind::RunOut, FindingKind::LowPressure]) {
        Some(
            "pipes that lose pressure can draw foul water in. Have backflow protection checked, and ask the health \
             authority before drinking after a loss of pressure.",
        )
    } else if found(&[
        FindingKind::LowLevelTrip,
        FindingKind::SuctionLost,
        FindingKind::ManyStarts,
        FindingKind::ShortRuns,
        FindingKind::ProtectStop,
    ]) {
        Some(
            "lock the power off and let the pressure down before anyone touches pump, switch or tank; wiring and well \
             work are for licensed people.",
        )
    } else {
        None
    }
}
