//! The report in plain text: the verdict first, then short tables, then a caution where one is apt.

mod caution;
mod energy;
mod hot_water;
mod season;

use core::fmt::Write;

use springhouse_scenario::{HeaterKind, Units};
use springhouse_sim::{EnergyPart, OutletSummary};

use crate::numbers::{Scale, counted, fixed, fuel, percent, salt_figure, times};
use crate::phrase::{joined, unbroken};
use crate::{Run, calendar, rate, words};

pub use self::caution::caution;
pub(crate) use self::energy::{money, pumps};

/// The answer in one line: whether it holds, and if not, what gives way first.
#[must_use]
pub fn headline(run: &Run<'_>) -> String {
    let verdict = &run.outcome.summary.verdict;
    let worst = verdict.findings.iter().find(|finding| finding.falls_short);
    match worst {
        Some(finding) => format!("Falls short: {}.", words::finding(run, finding)),
        None if verdict.holds => match verdict.long_low_pressure_min(run.outcome.summary.days) {
            Some(minutes) => {
                let long = run.units.duration(60.0 * minutes);
                format!("Holds: nobody ran out of water, but pressure was low for {long}.")
            }
            None if keeps_warm(run) => {
                "Holds: nobody ran out of water, no tap was lukewarm, and nothing was overworked.".to_owned()
            }
            None => "Holds: nobody ran out of water and nothing was overworked.".to_owned(),
        },
        None => "Falls short.".to_owned(),
    }
}

/// Whether there is hot water, and it was always as warm as wanted.
fn keeps_warm(run: &Run<'_>) -> bool {
    let heaters = &run.outcome.summary.hot_water;
    !heaters.is_empty() && heaters.iter().all(|heater| heater.lukewarm_spells == 0)
}

/// The findings that the headline leaves out, and the tables. Ends with a newline.
#[must_use]
pub fn body(run: &Run<'_>) -> String {
    let mut text = String::new();
    push_findings(&mut text, run);
    push_table(&mut text, &figures(run));
    push_outlets(&mut text, run);
    if !run.outcome.summary.hot_water.is_empty() {
        text.push('\n');
        text.push_str(&hot_water::block(run));
    }
    if let Some(site) = energy::block(run) {
        text.push('\n');
        text.push_str(&site);
    }
    if let Some(months) = season::months(run) {
        text.push('\n');
        text.push_str(&months);
    }
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
        push_lines(text, &format!("{word}: {}.", words::finding(run, finding)));
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
    push_flowing(text, paragraph, 0, 2);
}

/// Words after `used` columns of a line, broken into lines of at most 80, later ones indented. Ends with a newline.
fn push_flowing(text: &mut String, paragraph: &str, mut used: usize, indent: usize) {
    const WIDTH: usize = 80;
    let mut first = true;
    for word in unbroken(paragraph) {
        let length = word.chars().count();
        if !first && used + 1 + length > WIDTH {
            // Writing to a string cannot fail.
            let _ = write!(text, "\n{:indent$}", "");
            used = indent;
        } else if !first {
            text.push(' ');
            used += 1;
        }
        text.push_str(&word);
        used += length;
        first = false;
    }
    text.push('\n');
}

pub(crate) fn push_table(text: &mut String, rows: &[(&str, String)]) {
    let width = rows.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
    for (label, value) in rows {
        // Writing to a string cannot fail.
        let _ = write!(text, "{label:width$}  ");
        push_flowing(text, value, width + 2, width + 2);
    }
}

fn figures(run: &Run<'_>) -> Vec<(&'static str, String)> {
    let mut rows = Vec::new();
    push_water(&mut rows, run);
    rows.extend(season::weather(run).map(|said| ("Weather", said)));
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
    let leaked_l = water.leaked_l.filter(|l| *l > 0.0);
    rows.extend(leaked_l.map(|l| ("Leaked", units.volume(l))));
    let run_outs = match water.run_outs {
        0 => format!("none{}", far_too_low(run)),
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

/// What must stand beside a word of no run-outs: water that comes, but hardly; and whether anybody drew then.
fn far_too_low(run: &Run<'_>) -> String {
    /// Of the pressure that the controls hold.
    const FAR: f64 = 0.75;
    let pressure = &run.outcome.summary.pressure;
    if pressure.minutes_below_set <= 0.0 || pressure.lowest_kpa >= FAR * run.held_kpa() {
        return String::new();
    }
    let [lowest, held] = [pressure.lowest_kpa, run.held_kpa()].map(|kpa| run.units.pressure(kpa));
    let drawn = match taps(run).map(|(_, kpa)| kpa).reduce(f64::min) {
        Some(kpa) => format!("a tap in use never had less than {}", run.units.pressure(kpa)),
        None => "nobody was drawing".to_owned(),
    };
    format!(", but pressure was far too low: {lowest} in place of {held}; {drawn}")
}

/// The buildings that drew, each with the lowest pressure at its taps as it did.
fn taps<'a>(run: &Run<'a>) -> impl Iterator<Item = (&'a str, f64)> {
    let outlets = run.outcome.summary.outlets.iter();
    // A tap above the reach of the water has none.
    outlets.filter_map(|outlet| Some((outlet.name.as_str(), outlet.lowest_tap_kpa?.max(0.0))))
}

/// A missing amount, with its share of all that was wanted.
fn short(run: &Run<'_>, short_l: f64, wanted_l: f64) -> String {
    if short_l > 0.0 && wanted_l > 0.0 {
        format!("{}, {} of what was wanted", run.units.volume(short_l), percent(short_l / wanted_l))
    } else {
        "nothing".to_owned()
    }
}

fn push_plant(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (summary, units) = (&run.outcome.summary, run.units);
    push_work(rows, run);
    if let Some(well) = &summary.well {
        if let Some(shortest_s) = well.shortest_run_s {
            rows.push(("Shortest run", units.duration(shortest_s)));
        }
        rows.push(("Deepest drawdown", deepest_drawdown(run, well.deepest_drawdown_m)));
    }
    push_supplies(rows, run);
    rows.extend(season::open_water(run));
    push_treatment(rows, run);
    push_membrane(rows, run);
    let low = match summary.pressure.minutes_below_set {
        minutes if minutes > 0.0 => format!("; {} under what the controls hold", units.duration(60.0 * minutes)),
        _ => String::new(),
    };
    let place = run.pressure_place().map_or_else(String::new, |place| format!(" {place}"));
    rows.push(("Lowest pressure", format!("{}{place}{low}", units.pressure(summary.pressure.lowest_kpa))));
    let several = summary.outlets.iter().filter(|outlet| outlet.role == "building").count() > 1;
    let taps = taps(run).map(|(name, kpa)| {
        let lowest = units.pressure(kpa);
        if several { format!("{name} {lowest}") } else { lowest }
    });
    let taps = taps.collect::<Vec<_>>().join(", ");
    if !taps.is_empty() {
        rows.push(("Lowest at a tap", taps));
    }
    if !summary.energy.parts.is_empty() {
        rows.push(("Energy", energy_of(run)));
    }
}

/// The deepest drawdown of the well; of several, of each by its name.
fn deepest_drawdown(run: &Run<'_>, first_m: f64) -> String {
    let wells = run.outcome.summary.supplies.iter().filter_map(|supply| Some((supply, supply.deepest_drawdown_m?)));
    let each = wells.map(|(supply, m)| format!("{} {}", supply.name, run.units.length(m))).collect::<Vec<_>>();
    if each.len() > 1 { each.join(", ") } else { run.units.length(first_m) }
}

/// Starts and hours of the well pump; in a long run also those of a mean day, as nobody feels a year's total.
fn push_work(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    const LONG_DAYS: u32 = 14;
    let days = run.outcome.summary.days;
    let Some(well) = &run.outcome.summary.well else { return };
    let starts = counted(well.starts, "start");
    let ran = |hours: f64| run.units.duration(3_600.0 * hours);
    let most = well.most_starts_in_a_day;
    if days > LONG_DAYS {
        let each = f64::from(u32::try_from(well.starts).unwrap_or(u32::MAX)) / f64::from(days);
        rows.push(("Well pump", format!("{starts}: {} a day, {most} on the worst day", fixed(each, 1))));
        let hours = well.run_hours / f64::from(days);
        rows.push(("Pump ran", format!("{}: {} a day", ran(well.run_hours), ran(hours))));
    } else {
        let most = if days > 1 { format!(", at most {most} in a day") } else { String::new() };
        rows.push(("Well pump", format!("{starts}{most}; ran {}", ran(well.run_hours))));
    }
}

/// A line for each supply where there is more than a sound well: what it gave, and what became of it.
fn push_supplies(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (summary, units) = (&run.outcome.summary, run.units);
    let leaks_back = summary.supplies.iter().any(|supply| supply.leaked_back_l.is_some());
    if summary.supplies.len() < 2 && summary.well.is_some() && !leaks_back {
        return;
    }
    for supply in &summary.supplies {
        let mut said = vec![format!("{}: gave {}", supply.name, units.volume(supply.given_l))];
        said.extend(supply.starts.map(|starts| counted(starts, "start")));
        said.extend(supply.end_l.map(|end_l| format!("{} left", units.volume(end_l))));
        let more = [
            (supply.spilled_l, "spilled"),
            (supply.topped_up_l, "topped up"),
            (supply.leaked_back_l, "leaked back"),
            (supply.returned_l, "from the membrane unit"),
        ];
        // What came into open water and went from it is told below.
        for (litres, what) in more.into_iter().filter(|_| supply.open_water.is_none()) {
            let some = litres.filter(|litres| *litres > 0.0);
            said.extend(some.map(|litres| format!("{} {what}", units.volume(litres))));
        }
        let cost = supply.cost.filter(|cost| *cost > 0.0);
        said.extend(cost.map(|cost| format!("cost {}", fixed(cost, 2))));
        rows.push(("Supply", said.join(", ")));
    }
}

/// A line for each stage of treatment: what it did, how full it is, and when it is due.
fn push_treatment(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (summary, units) = (&run.outcome.summary, run.units);
    for stage in &summary.treatment {
        let mut said = vec![format!("{}: {} treated", stage.name, units.volume(stage.treated_l))];
        said.extend(stage.capacity_share.map(|share| format!("{} full", percent(share))));
        let due = stage.service_due_at.as_ref().map(|at| format!("due since {}", calendar::spoken_iso(at)));
        let next = stage.next_service.as_ref().map(|day| format!("next due about {day}"));
        said.extend(due.or(next));
        rows.push(("Treatment", said.join(", ")));
    }
}

/// What the membrane unit made of its feed; below, what that took and how salty it was.
fn push_membrane(rows: &mut Vec<(&'static str, String)>, run: &Run<'_>) {
    let (Some(membrane), units) = (&run.outcome.summary.membrane, run.units) else { return };
    let (made, feed) = (units.volume(membrane.product_l), units.volume(membrane.feed_l));
    let recovery = membrane.recovery.map_or_else(String::new, |share| format!(", recovery {}", percent(share)));
    rows.push(("Membrane", format!("made {made} from {feed}{recovery}")));
    let ran = units.duration(3_600.0 * membrane.run_hours);
    let energy =
        membrane.specific_kwh_per_m3.map_or_else(String::new, |each| format!(", {}", energy_for_water(units, each)));
    rows.push(("", format!("{}; ran {ran}{energy}", counted(membrane.starts, "start"))));
    let salt = |what: &str, salt: Option<f64>| salt.map(|mg_l| format!("{what} {} mg/L", salt_figure(mg_l)));
    let salts = [salt("product", membrane.product_salt_mg_l), salt("reject", membrane.reject_salt_mg_l)];
    let salts: Vec<String> = salts.into_iter().flatten().collect();
    if !salts.is_empty() {
        rows.push(("", format!("salt in {}", salts.join(", "))));
    }
    if let Some(blended_l) = membrane.blended_l {
        rows.push(("", format!("blended with {} of the raw line", units.volume(blended_l))));
    }
    if let (Some(kg), Some(left)) = (membrane.calcite_kg, membrane.calcite_left_share) {
        rows.push(("", format!("{} kg of calcite dissolved, {} of the bed left", fixed(kg, 2), percent(left))));
    }
    let cleaned = membrane.last_cleaned_at.as_deref().map(|at| match membrane.cleanings {
        1 => format!("cleaned on {}", calendar::spoken_iso(at)),
        n => format!("cleaned {}, last on {}", times(n), calendar::spoken_iso(at)),
    });
    let due = match (&membrane.cleaning_due_at, &membrane.next_cleaning) {
        (Some(at), _) => Some(format!("due for cleaning since {}", calendar::spoken_iso(at))),
        (None, Some(date)) => Some(format!("cleaning due about {date}, if all goes on as it did")),
        (None, None) => None,
    };
    rows.extend(cleaned.into_iter().chain(due).map(|said| ("", said)));
}

/// Energy for a cubic metre or a thousand gallons.
pub(crate) fn energy_for_water(units: Units, kwh_per_m3: f64) -> String {
    let (m3, unit) = match units {
        Units::Metric => (1.0, "m3"),
        Units::Us => (1.0 / Scale::volume(units).value(1.0), "1000 gal"),
    };
    let kwh = kwh_per_m3 * m3;
    format!("{} kWh for each {unit}", fixed(kwh, if kwh < 10.0 { 2 } else { 1 }))
}

/// Each fuel that heaters burned, and how much of it.
pub(crate) fn burned(run: &Run<'_>) -> Vec<String> {
    let heaters = &run.outcome.summary.hot_water;
    let burned = [HeaterKind::Gas, HeaterKind::Propane].into_iter().filter_map(|kind| {
        let plates = run.scenario.heater_plates.iter().zip(heaters).filter(|(plate, _)| plate.kind == kind);
        let kwh: f64 = plates.filter_map(|(_, heater)| heater.fuel_kwh).sum();
        (kwh > 0.0).then(|| format!("{} of {}", fuel(run.units, kwh, 1), rate::text::kind(kind)))
    });
    burned.collect()
}

/// Electricity and its parts, each to the nearest of two decimals, and the fuel of heaters.
fn energy_of(run: &Run<'_>) -> String {
    let energy = &run.outcome.summary.energy;
    let heaters = &run.outcome.summary.hot_water;
    // What burns may take no electricity.
    let takes = |part: &&EnergyPart| part.kwh > 0.0 || !heaters.iter().any(|heater| heater.heater == part.part);
    let parts: Vec<&EnergyPart> = energy.parts.iter().filter(takes).collect();
    let parts = match parts.as_slice() {
        [] | [_] => String::new(),
        parts => {
            let each = parts.iter().map(|part| {
                let name = part.part.strip_suffix(" pump").filter(|name| *name == "delivery").unwrap_or(&part.part);
                format!("{name} {}", fixed(part.kwh, 2))
            });
            format!(" ({})", each.collect::<Vec<_>>().join(", "))
        }
    };
    let burned = burned(run);
    let burned = match burned.as_slice() {
        [] => String::new(),
        [one] => format!(" and {one}"),
        many => format!(", {}", joined(&many.iter().map(String::as_str).collect::<Vec<_>>())),
    };
    format!("{} kWh{parts}{burned}", fixed(energy.total_kwh, 2))
}

/// A line for each building and raw load, where there is more than one. A leak is short of nothing.
fn push_outlets(text: &mut String, run: &Run<'_>) {
    let outlets: Vec<_> = run.outcome.summary.outlets.iter().filter(|outlet| outlet.role != "leak").collect();
    if outlets.len() < 2 {
        return;
    }
    text.push('\n');
    let mut lines = vec![["", "delivered", "short", "run-outs"].map(str::to_owned)];
    lines.extend(outlets.into_iter().map(|outlet| outlet_cells(run, outlet)));
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
