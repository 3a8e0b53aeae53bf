//! The answer to how small a key can be: in text and as a table.

use core::fmt::Write as _;
use std::io::{self, Write};

use springhouse_study::many::{Holds, Limit, Line, Plan, Target, Tried, VariantTold};

use crate::numbers::{counted, number, percent};
use crate::text::wrapped;
use crate::tune::text::{Cells, push_table};

/// A search, and the plan with all that was tried.
#[derive(Clone, Copy, Debug)]
pub struct Sized<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The searches: one, or one for each value of the first key.
    pub lines: &'a [Line],
}

/// The answer in a sentence or two for each search.
#[must_use]
pub fn headline(sized: &Sized<'_>) -> String {
    if let [line] = sized.lines {
        return of_line(sized.plan, line);
    }
    let plan = sized.plan;
    let found = sized.lines.iter().filter_map(|line| line.tried.get(line.found.smallest?));
    let priced = found.filter_map(|tried| Some((plan.variants.get(tried.variant)?.price?, tried)));
    let cheapest = priced.min_by(|(one, _), (other, _)| one.total_cmp(other));
    if let Some((price, tried)) = cheapest {
        let settings = settings(plan, tried.variant).join(" with ");
        return format!("{settings} is the cheapest that holds {}: {price}. {}.", wanted(plan), said(plan, tried));
    }
    let lines: Vec<String> = sized.lines.iter().map(|line| of_line(plan, line)).collect();
    lines.join("\n")
}

fn of_line(plan: &Plan, line: &Line) -> String {
    let axis = usize::from(line.beside.is_some());
    let name = plan.axes.get(axis).map_or("the key", |axis| &axis.name);
    let first = line.tried.first();
    let beside = line.beside.and_then(|_| Some(format!("With {}: ", settings(plan, first?.variant).first()?)));
    let beside = beside.unwrap_or_default();
    let at = |place: Option<usize>| line.tried.get(place?);
    let size = |tried: &Tried| own(plan, tried.variant, axis);
    let best = if first.is_some_and(|tried| price(plan, tried).is_some()) { "cheapest" } else { "smallest" };
    let Some(smallest) = at(line.found.smallest) else {
        let last = line.tried.last();
        let told = last.map_or_else(String::new, |last| format!(" The last, {}: {}.", size(last), said(plan, last)));
        return format!("{beside}no {name} that was tried holds {}.{told}", wanted(plan));
    };
    let mut text = format!(
        "{beside}{name} of {} is the {best} tried that holds {}: {}.",
        size(smallest),
        wanted(plan),
        said(plan, smallest)
    );
    let bounds = match (at(line.found.may), at(line.found.surely)) {
        _ if line.found.smallest == Some(0) => " Less may hold as well: nothing smaller was tried.".to_owned(),
        (Some(may), Some(surely)) if may.variant == surely.variant => {
            " That is sure, and so is that less does not.".to_owned()
        }
        (Some(may), Some(surely)) => {
            format!(" It may be {} already; sure is {} and all beyond.", size(may), size(surely))
        }
        (Some(may), None) => format!(" It may be {} already; none is sure, which takes more runs.", size(may)),
        (None, _) => String::new(),
    };
    text.push_str(&bounds);
    match at(line.trade) {
        Some(trade) if trade.variant != smallest.variant => {
            // Writing to a string cannot fail.
            let _ = write!(text, " The next size that can be bought is {}: {}.", size(trade), said(plan, trade));
        }
        Some(_) => text.push_str(" It can be bought in that size."),
        None => {}
    }
    text
}

/// How the search went, and the table of all that was tried.
#[must_use]
pub fn body(sized: &Sized<'_>) -> String {
    let plan = sized.plan;
    let mut text = String::new();
    for line in sized.lines {
        let axis = usize::from(line.beside.is_some());
        let ordered = |tried: &Tried| own(plan, tried.variant, axis);
        let note = match line.against.and_then(|(less, more)| Some((line.tried.get(less)?, line.tried.get(more)?))) {
            None => "More was always better in what was tried, so values between were passed over.".to_owned(),
            Some((less, more)) => format!(
                "More was not always better: {} did worse than {} {}. So every value was tried; look at the float levels, \
                 which may not have moved with the size.",
                ordered(more),
                ordered(less),
                match plan.target {
                    Some(Target::Mean { .. }) => "on the same mornings",
                    _ => "in a run, or in all",
                }
            ),
        };
        text.push_str(&wrapped(&note));
        text.push('\n');
        push_table(&mut text, &table(plan, line));
        text.push('\n');
    }
    text
}

fn table(plan: &Plan, line: &Line) -> Vec<Cells> {
    let keys: Vec<String> = plan.keys.iter().map(|column| column.key.clone()).collect();
    let priced = line.tried.iter().any(|tried| price(plan, tried).is_some());
    let mut head = vec![keys.join(", ")];
    if priced {
        head.push("price".to_owned());
    }
    head.extend(["runs", "fall short", "chance", "interval"].map(str::to_owned));
    if let Some(Target::Mean { figure, .. }) = &plan.target {
        head.extend([format!("mean {figure}"), "interval".to_owned()]);
    }
    head.push("holds".to_owned());
    let mut lines = vec![head];
    for tried in &line.tried {
        let mut cells = vec![settings(plan, tried.variant).join(", ")];
        if priced {
            cells.push(price(plan, tried).map_or_else(|| "-".to_owned(), number));
        }
        match &tried.told.short {
            None => cells.extend(["0", "-", "-", "-"].map(str::to_owned)),
            Some(short) => cells.extend([
                short.runs.to_string(),
                short.times.to_string(),
                percent(short.chance),
                format!("{} to {}", percent(short.bounds.low), percent(short.bounds.high)),
            ]),
        }
        if let Some(Target::Mean { figure, .. }) = &plan.target {
            match mean(plan, &tried.told, figure) {
                None => cells.extend(["-", "-"].map(str::to_owned)),
                Some((mean, low, high)) => {
                    cells.extend([number(mean), format!("{} to {}", number(low), number(high))]);
                }
            }
        }
        cells.push(word(tried.holds).to_owned());
        lines.push(cells);
    }
    lines
}

fn word(holds: Holds) -> &'static str {
    match holds {
        Holds::SurelyNot => "surely not",
        Holds::No => "no",
        Holds::Yes => "yes",
        Holds::Surely => "surely",
    }
}

/// What is wanted, in words.
fn wanted(plan: &Plan) -> String {
    match &plan.target {
        None => "anything".to_owned(),
        Some(Target::Chance(most)) => format!("a chance of falling short of {} at most", percent(*most)),
        Some(Target::Mean { figure, limit: Limit::AtMost(most) }) => {
            format!("a mean {figure} of {} at most", number(*most))
        }
        Some(Target::Mean { figure, limit: Limit::AtLeast(least) }) => {
            format!("a mean {figure} of {} at least", number(*least))
        }
    }
}

/// What came of a variant.
fn said(plan: &Plan, tried: &Tried) -> String {
    if let Some(fault) = &tried.told.fault {
        return fault.clone();
    }
    if let Some(Target::Mean { figure, .. }) = &plan.target
        && let Some((mean, low, high)) = mean(plan, &tried.told, figure)
    {
        return format!("mean {figure} {} ({} to {})", number(mean), number(low), number(high));
    }
    let Some(short) = &tried.told.short else { return "no run has a result".to_owned() };
    format!(
        "{} of {} short, {} ({} to {})",
        short.times,
        counted(short.runs, "run"),
        percent(short.chance),
        percent(short.bounds.low),
        percent(short.bounds.high)
    )
}

fn mean(plan: &Plan, told: &VariantTold, figure: &str) -> Option<(f64, f64, f64)> {
    let place = plan.figures.iter().position(|it| it == figure)?;
    let mean = told.figures.get(place)?.as_ref()?.mean?;
    Some((mean.mean, mean.bounds.low, mean.bounds.high))
}

fn price(plan: &Plan, tried: &Tried) -> Option<f64> {
    plan.variants.get(tried.variant)?.price
}

/// The settings of a variant as people write them.
fn settings(plan: &Plan, variant: usize) -> Vec<String> {
    plan.variants.get(variant).map(|variant| variant.settings.clone()).unwrap_or_default()
}

/// The setting of one axis.
fn own(plan: &Plan, variant: usize, axis: usize) -> String {
    let Some(axis) = plan.axes.get(axis) else { return String::new() };
    let settings = settings(plan, variant);
    settings.get(axis.first_key..axis.first_key + axis.keys).unwrap_or_default().join(", ")
}

/// Writes `size.csv`: a line for each variant that was tried, with whether it holds.
///
/// # Errors
/// When `out` cannot be written to.
pub fn csv(sized: &Sized<'_>, out: impl Write) -> io::Result<()> {
    let plan = sized.plan;
    let mut table = csv::Writer::from_writer(out);
    let keys = plan.keys.iter().map(|column| column.key.clone());
    let rest =
        ["price", "runs", "short_runs", "short_chance", "short_low", "short_high", "mean", "mean_low", "mean_high"];
    let rest = rest.iter().chain(["holds", "fault"].iter()).map(|text| (*text).to_owned());
    table.write_record(keys.chain(rest))?;
    let exact = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    for tried in sized.lines.iter().flat_map(|line| &line.tried) {
        let short = tried.told.short.as_ref();
        let mean = match &plan.target {
            Some(Target::Mean { figure, .. }) => mean(plan, &tried.told, figure),
            _ => None,
        };
        let cells = [
            exact(price(plan, tried)),
            tried.told.runs.to_string(),
            short.map(|it| it.times.to_string()).unwrap_or_default(),
            exact(short.map(|it| it.chance)),
            exact(short.map(|it| it.bounds.low)),
            exact(short.map(|it| it.bounds.high)),
            exact(mean.map(|it| it.0)),
            exact(mean.map(|it| it.1)),
            exact(mean.map(|it| it.2)),
            word(tried.holds).to_owned(),
            tried.told.fault.clone().unwrap_or_default(),
        ];
        table.write_record(settings(plan, tried.variant).into_iter().chain(cells))?;
    }
    table.flush()
}
