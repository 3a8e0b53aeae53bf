//! The advice in plain text: the answer first, then what to read, the limits, the steps, and what to mind.

use core::fmt::Write;

use springhouse_sim::names;
use springhouse_study::tune::{Aim, Change, LimitState, Limits, Point, Season, Step, Turn, Valve, Want, Work};

use super::words::{daily, flow, pressure, salt};
use super::{Tuned, broken, help, words};
use crate::numbers::fixed;
use crate::phrase::{capitalised, joined};
use crate::text::wrapped;

/// The answer in one sentence.
#[must_use]
pub fn headline(tuned: &Tuned<'_>) -> String {
    let advice = tuned.tuning.told();
    let Some(work) = &advice.advised.typical.work else {
        return "No setting: the unit makes no water however its valves are set.".to_owned();
    };
    if let Some(cure) = &tuned.tuning.cure {
        return help::cure_headline(tuned, cure);
    }
    let set = setting(tuned, work);
    let gives = gives(tuned, work);
    if advice.within_limits && tuned.tuning.steps.is_empty() {
        return format!("Leave the valves as they are set, {}: {gives}.", stands(tuned, work));
    }
    if advice.within_limits {
        return format!("Set {set}: {gives}.");
    }
    let exceeded = broken(&advice.advised).and(advice.aim.requires());
    format!(
        "No setting keeps all limits. Least bad: {set}; {gives}. Beyond: {}.",
        words::listed(exceeded, words::beyond)
    )
}

/// What a setting gives.
pub(super) fn gives(tuned: &Tuned<'_>, work: &Work) -> String {
    let made = daily(tuned.units, made_l_day(tuned, work));
    format!("it makes {made} and wastes {} {} for each", words::waste(work), words::one_volume(tuned.units))
}

/// What both flow meters read as they stand.
fn stands(tuned: &Tuned<'_>, work: &Work) -> String {
    let reject = format!("reject at {}", flow(tuned.units, work.reject_lps));
    if tuned.tuning.question.unit.pump.is_none() {
        return reject;
    }
    format!("{reject} and recycle at {}", flow(tuned.units, work.recycle_lps))
}

/// What both flow meters are to read.
pub(crate) fn setting(tuned: &Tuned<'_>, work: &Work) -> String {
    let reject = format!("reject to {}", flow(tuned.units, work.reject_lps));
    if tuned.tuning.question.unit.pump.is_none() {
        return reject;
    }
    format!("{reject} and recycle to {}", flow(tuned.units, work.recycle_lps))
}

/// Product of a day in the hours in which the unit may run.
pub(crate) fn made_l_day(tuned: &Tuned<'_>, work: &Work) -> f64 {
    work.product_l_day * tuned.tuning.question.want.map_or(1.0, |want| want.hours_per_day / 24.0)
}

/// What was asked: aim, wanted product and water.
#[must_use]
pub fn subject(tuned: &Tuned<'_>) -> String {
    let (question, units) = (&tuned.tuning.question, tuned.units);
    let name = if tuned.scenario.title.is_empty() { &tuned.scenario.name } else { &tuned.scenario.title };
    let needed = question.want.filter(|_| tuned.tuning.advice.aim != Aim::LeastWaste);
    let wanted = needed.map_or_else(String::new, |Want { product_l_day, hours_per_day }| {
        let hours = if hours_per_day < 24.0 { format!(" in {} h", fixed(hours_per_day, 1)) } else { String::new() };
        format!(", {} wanted{hours}", daily(units, product_l_day))
    });
    let [cold, warm] = [question.temp_c.coldest, question.temp_c.warmest].map(|temp_c| units.temperature(temp_c));
    let aim = words::aim(tuned.tuning.advice.aim, question.want.is_some());
    let water = question.gives.map_or_else(String::new, |gives| {
        format!(", on the water of the {}", names::supply(&tuned.scenario.plant, gives.supply))
    });
    format!("{name}: {aim}{wanted}{water}; limits are judged from {cold} to {warm}")
}

/// All that comes after the headline. Ends with a newline.
#[must_use]
pub fn body(tuned: &Tuned<'_>) -> String {
    let mut text = String::new();
    for warning in help::warnings(tuned) {
        text.push_str(&wrapped(&format!("Warning: {warning}.")));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    push_readings(&mut text, tuned);
    push_limits(&mut text, tuned);
    push_steps(&mut text, tuned);
    push_others(&mut text, tuned);
    push_facts(&mut text, tuned);
    text
}

/// What must be minded. Ends with a newline.
#[must_use]
pub fn cautions() -> String {
    help::CAUTIONS.into_iter().map(|caution| wrapped(&format!("Caution: {caution}"))).collect()
}

/// A line of a table.
pub(crate) type Cells = Vec<String>;

/// The first column to the left, all others to the right.
pub(crate) fn push_table(text: &mut String, lines: &[Cells]) {
    let columns = lines.iter().map(Vec::len).max().unwrap_or(0);
    let cell = |cells: &Cells, column: usize| cells.get(column).map_or(0, |cell| cell.chars().count());
    let widths: Vec<usize> =
        (0..columns).map(|column| lines.iter().map(|cells| cell(cells, column)).max().unwrap_or(0)).collect();
    for cells in lines {
        let mut line = String::new();
        for (column, (cell, width)) in cells.iter().zip(&widths).enumerate() {
            // Writing to a string cannot fail.
            let _ = if column == 0 { write!(line, "{cell:width$}") } else { write!(line, "  {cell:>width$}") };
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
}

fn push_readings(text: &mut String, tuned: &Tuned<'_>) {
    let (advice, units) = (tuned.tuning.told(), tuned.units);
    let points: Vec<&Point> =
        Season::ALL.into_iter().map(|season| advice.advised.get(season)).chain([&advice.present.typical]).collect();
    let row = |name: &str, of: &dyn Fn(&Work) -> String| -> Cells {
        let cells = points.iter().map(|point| point.work.as_ref().map_or_else(|| "-".to_owned(), of));
        core::iter::once(name.to_owned()).chain(cells).collect()
    };
    let each = format!("Waste for each {}", words::one_volume(units));
    let energy = format!("Energy for each {}", words::energy_volume(units));
    let temps = points.iter().map(|point| units.temperature(point.temp_c));
    let inlets = points.iter().map(|point| pressure(units, point.inlet_kpa));
    let pumped = tuned.tuning.question.unit.pump.is_some();
    let mut lines = vec![
        ["Set so, to be read in", "coldest", "typical", "warmest", "now"].map(str::to_owned).to_vec(),
        core::iter::once("Water".to_owned()).chain(temps).collect(),
        row("Reject flow", &|work| flow(units, work.reject_lps)),
        row("Recycle flow", &|work| flow(units, work.recycle_lps)),
        row("Product flow", &|work| flow(units, work.product_lps)),
        core::iter::once("Pressure at the suction".to_owned()).chain(inlets).collect(),
        row("Pressure before the membranes", &|work| pressure(units, work.vessel_kpa)),
        row("Pressure of the concentrate", &|work| pressure(units, work.concentrate_kpa)),
        row("Product", &|work| daily(units, made_l_day(tuned, work))),
        row(&each, &|work| format!("{} {}", words::waste(work), words::one_volume(units))),
        row("Recovery of the unit", &|work| words::share(work.recovery)),
        row("Recovery of a vessel", &|work| words::share(work.vessel_recovery)),
        row("Flux", &|work| words::flux(units, work.mean_flux_l_m2_h)),
        row("Crossflow of a vessel", &|work| flow(units, work.vessel_concentrate_lps)),
        row("Salt in the product", &|work| salt(work.product_salt_mg_l)),
        row("Salt at the tail", &|work| salt(work.reject_salt_mg_l)),
        row(&energy, &|work| words::energy(units, work.kwh_per_m3)),
        row("Running between cleanings", &|work| words::months(work.hours_between_cleanings)),
    ];
    if !pumped {
        lines.retain(|cells| cells.first().is_none_or(|name| name != "Recycle flow" && *name != energy));
    }
    push_table(text, &lines);
    push_swing(text, tuned);
}

/// What the swing of the inlet pressure does.
fn push_swing(text: &mut String, tuned: &Tuned<'_>) {
    let (advice, units) = (tuned.tuning.told(), tuned.units);
    let (low, high) = (&advice.at_lowest_inlet, &advice.at_highest_inlet);
    let (Some(least), Some(most)) = (&low.work, &high.work) else { return };
    if high.inlet_kpa - low.inlet_kpa < 1.0 {
        return;
    }
    let typical = advice.advised.typical.breaks;
    let more = low.breaks.or(high.breaks).without(typical);
    let beyond = if more.is_empty() {
        String::new()
    } else {
        let what = words::listed(more, words::beyond);
        format!(" At its ends there is for a while: {what}. Limits of design are meant for a season.")
    };
    let [low_kpa, high_kpa] = [low, high].map(|point| pressure(units, point.inlet_kpa));
    let [least, most] = [least, most].map(|work| flow(units, work.product_lps));
    text.push('\n');
    text.push_str(&wrapped(&format!(
        "While the suction swings from {low_kpa} to {high_kpa}, the product goes from {least} to {most}.{beyond}"
    )));
}

fn push_limits(text: &mut String, tuned: &Tuned<'_>) {
    let mut lines = vec![["Limit", "hardest in", "there", "allowed", "used", ""].map(str::to_owned).to_vec()];
    let mut states: Vec<&LimitState> = tuned.tuning.told().limits.iter().collect();
    states.sort_by(|a, b| b.over.total_cmp(&a.over));
    for state in states {
        let figure = |value: f64| {
            if value.is_finite() { words::figure(state.limit, value, tuned.units) } else { "none".to_owned() }
        };
        let used = 100.0 * libm::pow(10.0, state.over);
        let word = match state {
            // As gauges tell: what is beyond by less than a thousandth is on the limit.
            state if state.over > 4.3e-4 => "beyond",
            state if state.binds => "binds",
            _ => "",
        };
        lines.push(vec![
            capitalised(words::limit(state.limit)),
            format!("{}{}", words::season(state.season), if state.clean { ", clean" } else { "" }),
            figure(state.found),
            format!("{} {}", words::bound(state.limit), figure(state.allowed)),
            if used > 999.0 { "over 999 %".to_owned() } else { format!("{} %", fixed(used, 0)) },
            word.to_owned(),
        ]);
    }
    text.push('\n');
    push_table(text, &lines);
    if tuned.tuning.told().limits.iter().any(|state| state.clean) {
        text.push_str(&wrapped(
            "Clean: as it will be with the membranes cleaned, which strains the limit more than now.",
        ));
    }
}

fn push_steps(text: &mut String, tuned: &Tuned<'_>) {
    let steps = &tuned.tuning.steps;
    text.push('\n');
    if let Some(present) = help::present(tuned) {
        text.push_str(&wrapped(&present));
    }
    let dosed = tuned.tuning.cure.as_ref().map(|cure| cure.with_antiscalant.is_some());
    if dosed == Some(false) {
        text.push_str(&wrapped(
            "Leave the valves as they are until then. The readings above are of the setting that scales least; no turn to it is \
             told, since it only slows the scale.",
        ));
        return;
    }
    if steps.is_empty() {
        text.push_str("The valves are where they should be: leave them as set.\n");
        return;
    }
    if dosed == Some(true) {
        text.push_str(&wrapped("Leave the valves as they are until an antiscalant is dosed."));
    }
    let rests = if steps.iter().all(|step| step.breaks.is_empty()) { "." } else { ", unless it says to go on." };
    text.push_str(&wrapped(&format!(
        "To get there in typical water turn one valve at a time, slowly. Wait after each turn until the readings stand \
         still{rests}",
    )));
    let mut before = tuned.tuning.advice.present.typical;
    for (index, step) in steps.iter().enumerate() {
        text.push_str(&wrapped(&format!("{}. {}", index + 1, self::step(tuned, &before, step))));
        before = step.read;
    }
}

/// What other aims would have.
fn push_others(text: &mut String, tuned: &Tuned<'_>) {
    let (tuning, units) = (tuned.tuning, tuned.units);
    let aims = || core::iter::once(&tuning.advice).chain(tuning.others.iter().filter(|other| other.within_limits));
    if aims().count() < 2 {
        return;
    }
    let row = |name: &str, of: &dyn Fn(&Work) -> String| -> Cells {
        let cells = aims().map(|advice| advice.advised.typical.work.as_ref().map_or_else(|| "-".to_owned(), of));
        core::iter::once(name.to_owned()).chain(cells).collect()
    };
    let each = format!("Waste for each {}", words::one_volume(units));
    let energy = format!("Energy for each {}", words::energy_volume(units));
    let mut lines = vec![
        core::iter::once("What each aim asks for".to_owned())
            .chain(aims().map(|advice| words::aim_key(advice.aim).to_owned()))
            .collect(),
        row("Reject flow", &|work| flow(units, work.reject_lps)),
    ];
    let pumped = tuning.question.unit.pump.is_some();
    if pumped {
        lines.push(row("Recycle flow", &|work| flow(units, work.recycle_lps)));
    }
    lines.push(row("Product", &|work| daily(units, made_l_day(tuned, work))));
    lines.push(row(&each, &|work| format!("{} {}", words::waste(work), words::one_volume(units))));
    lines.push(row("Salt in the product", &|work| salt(work.product_salt_mg_l)));
    if pumped {
        lines.push(row(&energy, &|work| words::energy(units, work.kwh_per_m3)));
    }
    lines.push(row("Running between cleanings", &|work| words::months(work.hours_between_cleanings)));
    text.push('\n');
    push_table(text, &lines);
    let same: Vec<&str> = tuning
        .others
        .iter()
        .filter(|other| other.within_limits && help::same_setting(tuned, other))
        .map(|other| words::aim_key(other.aim))
        .collect();
    if !same.is_empty() {
        let what = joined(&same);
        let why = help::why_same(tuned);
        let asks = if same.len() == 1 { "asks" } else { "ask" };
        text.push_str(&wrapped(&format!("{} {asks} for the same setting here: {why}.", capitalised(&what))));
    }
    text.extend(help::wastes_less(aims(), units).map(|said| wrapped(&said)));
}

/// One turn of a valve, as one would say it to the person at the valve.
fn step(tuned: &Tuned<'_>, before: &Point, step: &Step) -> String {
    let units = tuned.units;
    let turn = match (step.turn, shuts(step)) {
        (_, true) => "Shut",
        (Turn::Open, _) => "Open",
        (Turn::Close, _) => "Close",
    };
    let valve = words::valve(step.valve);
    let Some(work) = &step.read.work else {
        return format!("{turn} the {valve} valve; it then makes no water, so go on at once.");
    };
    let (own, other) = match step.valve {
        Valve::Reject => (work.reject_lps, ("recycle", work.recycle_lps)),
        Valve::Recycle => (work.recycle_lps, ("reject", work.reject_lps)),
    };
    let reads = |point: &Point| {
        point.work.as_ref().map(|work| match step.valve {
            Valve::Reject => flow(units, work.reject_lps),
            Valve::Recycle => flow(units, work.recycle_lps),
        })
    };
    let until = if shuts(step) {
        String::new()
    } else if reads(before) == reads(&step.read) {
        format!(" by a hair: its flow still reads {}", flow(units, own))
    } else {
        format!(" until its flow reads {}", flow(units, own))
    };
    let beyond = beyond(step.breaks);
    let concentrate = pressure(units, work.concentrate_kpa);
    if tuned.tuning.question.unit.pump.is_none() {
        return format!("{turn} the {valve} valve{until}. The concentrate then reads {concentrate}.{beyond}");
    }
    let other_flow = flow(units, other.1);
    format!(
        "{turn} the {valve} valve{until}. The {} then reads {other_flow}, the concentrate {concentrate}.{beyond}",
        other.0
    )
}

fn shuts(step: &Step) -> bool {
    let kv = match step.valve {
        Valve::Reject => step.to.reject_kv,
        Valve::Recycle => step.to.recycle_kv,
    };
    kv <= 0.0
}

fn beyond(breaks: Limits) -> String {
    if breaks.is_empty() {
        return String::new();
    }
    format!(" That is beyond a limit ({}): go on without a rest.", words::listed(breaks, words::beyond))
}

/// What a turn is worth, from the present setting.
fn push_facts(text: &mut String, tuned: &Tuned<'_>) {
    let Some(found) = &tuned.tuning.sensitivity else { return };
    let volume = words::one_volume(tuned.units);
    let waste = |change: &Change| {
        let of = |point: &Point| point.work.as_ref().map_or_else(|| "-".to_owned(), words::waste);
        let (from, to) = (of(&found.present), of(&change.to));
        format!("waste {from} to {to} {volume} for each ({})", words::change(change.waste_share))
    };
    let mut facts = Vec::new();
    if let Some(doubled) = &found.recycle_doubled {
        facts.push(format!(
            "Recycle alone saves no water. Doubled at the same reject it means: {}, power of the pump {}, salt in the product {}.",
            waste(doubled),
            words::change(doubled.pump_power_share),
            words::change(doubled.product_salt_share),
        ));
    }
    if let Some(moved) = &found.reject_to_recycle {
        facts.push(format!(
            "Moving flow from reject to recycle does. A tenth of the reject moved means: {}, salt at the tail {}, product {}.",
            waste(moved),
            words::change(moved.reject_salt_share),
            words::change(moved.product_share),
        ));
    }
    if !facts.is_empty() {
        text.push_str("\nFrom the present setting:\n");
        text.extend(facts.iter().map(|fact| wrapped(fact)));
    }
}
