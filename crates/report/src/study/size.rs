//! The answer to how small a key can be: in text and as a table.

use core::fmt::Write as _;
use std::io::{self, Write};

use springhouse_study::many::{Holds, Line, Plan, Target, Tried, VariantTold};
use springhouse_study::sure::Mean;

use super::{Figure, Told, text};
use crate::numbers::{chance, number};
use crate::phrase::capitalised;
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

impl<'a> Sized<'a> {
    fn told(&self) -> Told<'a> {
        Told { plan: self.plan, variants: &[] }
    }

    fn wanted(&self) -> String {
        text::wanted(&self.told()).unwrap_or_default()
    }

    /// What came of a variant.
    fn said(&self, tried: &Tried) -> String {
        if let Some(fault) = &tried.told.fault {
            return fault.clone();
        }
        if let Some((figure, mean)) = self.mean(&tried.told) {
            let [mean, low, high] =
                [mean.mean, mean.bounds.low, mean.bounds.high].map(|value| figure.said(self.told().units(), value));
            return format!("mean of {} {mean} ({low} to {high})", figure.words);
        }
        tried.told.short.as_ref().map_or_else(|| "no run has a result".to_owned(), text::short_said)
    }

    /// The mean that the target is of.
    fn mean(&self, told: &VariantTold) -> Option<(Figure, Mean)> {
        let Some(Target::Mean { figure, .. }) = &self.plan.target else { return None };
        let place = self.plan.figures.iter().position(|it| it == figure)?;
        Some((Figure::of(figure), told.figures.get(place)?.as_ref()?.mean?))
    }
}

/// The answer in a sentence or two for each search.
#[must_use]
pub fn headline(sized: &Sized<'_>) -> String {
    if let [line] = sized.lines {
        return capitalised(&of_line(sized, line));
    }
    let plan = sized.plan;
    let found = sized.lines.iter().filter_map(|line| line.tried.get(line.found.smallest?));
    let priced = found.filter_map(|tried| Some((tried.price?, tried)));
    let cheapest = priced.min_by(|(one, _), (other, _)| one.total_cmp(other));
    let mut lines: Vec<String> = sized.lines.iter().map(|line| of_line(sized, line)).collect();
    if let Some((price, tried)) = cheapest {
        let settings = settings(plan, tried.variant).join(" with ");
        let price = number(price);
        lines.insert(0, format!("Cheapest is {settings}, at {price}: {}.", sized.said(tried)));
    }
    lines.join("\n")
}

fn of_line(sized: &Sized<'_>, line: &Line) -> String {
    let plan = sized.plan;
    let axis = usize::from(line.beside.is_some());
    let name = plan.axes.get(axis).map_or("the key", |axis| &axis.name);
    let first = line.tried.first();
    let beside =
        line.beside.and_then(|_| Some(format!("With {} {}: ", plan.axes.first()?.name, own(plan, first?.variant, 0))));
    let beside = beside.unwrap_or_default();
    let at = |place: Option<usize>| line.tried.get(place?);
    let size = |tried: &Tried| own(plan, tried.variant, axis);
    let best = if first.is_some_and(|tried| tried.price.is_some()) { "cheapest" } else { "smallest" };
    let wanted = sized.wanted();
    let Some(smallest) = at(line.found.smallest) else {
        let last = line.tried.last();
        let told = last.map_or_else(String::new, |last| format!(" The last, {}: {}.", size(last), sized.said(last)));
        return format!("{beside}no {name} that was tried has {wanted}.{told}");
    };
    let said = sized.said(smallest);
    let mut text = format!("{beside}of those tried, {} is the {best} {name} with {wanted}: {said}.", size(smallest));
    // Writing to a string cannot fail.
    let _ = match (line.found.smallest, at(line.found.may.and_then(|may| may.checked_sub(1)))) {
        (Some(0), _) if best == "cheapest" => write!(text, " Nothing cheaper was tried."),
        (Some(0), _) => write!(text, " Nothing less was tried."),
        (_, Some(not)) => write!(text, " It lies above {}, which surely has not.", size(not)),
        (_, None) => write!(text, " It may be the least tried already."),
    };
    let _ = match at(line.found.surely) {
        Some(surely) => write!(text, " From {} on all that were tried surely have.", size(surely)),
        None => write!(text, " None surely has; more runs would tell."),
    };
    match at(line.trade) {
        Some(trade) if trade.variant != smallest.variant => {
            let _ = write!(text, " The next size that can be bought is {}: {}.", size(trade), sized.said(trade));
        }
        Some(_) => text.push_str(" It can be bought in that size."),
        None if line.sold => text.push_str(" None of the sizes that can be bought is large enough."),
        None => {}
    }
    text
}

/// What must be minded. Ends with a newline.
#[must_use]
pub fn caution(sized: &Sized<'_>) -> String {
    let looks = if sized.plan.stop.is_some() {
        " Those of chances are wide enough to be looked at after any number of runs."
    } else {
        ""
    };
    let tried: usize = sized.lines.iter().map(|line| line.tried.len()).sum();
    wrapped(&format!(
        "Each interval holds the truth in {} % of such studies, and {tried} were looked at before this answer was chosen: where it \
         matters, build what surely holds, and run it again with another seed.{looks} What the model leaves out is in no interval.",
        number(100.0 * sized.plan.confidence)
    ))
}

/// How the search went, and the table of all that was tried.
#[must_use]
pub fn body(sized: &Sized<'_>) -> String {
    let plan = sized.plan;
    let mut text = String::new();
    for line in sized.lines {
        let axis = usize::from(line.beside.is_some());
        let size = |variant: usize| own(plan, variant, axis);
        let all = if line.all { " All of its values were tried." } else { "" };
        let note = match line.against {
            None if line.all => "Every value was tried.".to_owned(),
            None => "More was always better in what was tried, so values between were passed over.".to_owned(),
            Some((less, more)) => {
                let how = match plan.target {
                    Some(Target::Mean { .. }) => "on the same mornings",
                    _ => "in a run, or in all",
                };
                let floats = plan.keys.iter().any(|column| column.key == "storage.volume");
                let floats = if floats { " Floats that are set as volumes do not move with the tank." } else { "" };
                format!("More was not always better: {} did worse than {} {how}.{all}{floats}", size(more), size(less))
            }
        };
        text.push_str(&wrapped(&note));
        text.push('\n');
        push_table(&mut text, &table(sized, line));
        for tried in &line.tried {
            if let Some(fault) = &tried.told.fault {
                text.push_str(&wrapped(&format!("{}: {fault}", size(tried.variant))));
            }
        }
        text.push('\n');
    }
    text
}

fn table(sized: &Sized<'_>, line: &Line) -> Vec<Cells> {
    let plan = sized.plan;
    let units = sized.told().units();
    let priced = line.tried.iter().any(|tried| tried.price.is_some());
    let mut head = vec![plan.keys.iter().map(|column| column.key.clone()).collect::<Vec<_>>().join(", ")];
    if priced {
        head.push("price".to_owned());
    }
    head.extend(["runs", "fall short", "chance", "interval"].map(str::to_owned));
    if let Some(Target::Mean { figure, .. }) = &plan.target {
        head.extend([format!("mean of {}", Figure::of(figure).words), "interval".to_owned()]);
    }
    head.push("holds".to_owned());
    let mut lines = vec![head];
    for tried in &line.tried {
        let mut cells = vec![settings(plan, tried.variant).join(", ")];
        if priced {
            cells.push(tried.price.map_or_else(|| "-".to_owned(), number));
        }
        match &tried.told.short {
            None => cells.extend(["0", "-", "-", "-"].map(str::to_owned)),
            Some(short) => cells.extend([
                short.runs.to_string(),
                short.times.to_string(),
                format!("{} %", chance(short.chance)),
                format!("{} to {} %", chance(short.bounds.low), chance(short.bounds.high)),
            ]),
        }
        if matches!(plan.target, Some(Target::Mean { .. })) {
            match sized.mean(&tried.told) {
                None => cells.extend(["-", "-"].map(str::to_owned)),
                Some((figure, mean)) => {
                    let said = |value: f64| figure.said(units, value);
                    cells.extend([said(mean.mean), format!("{} to {}", said(mean.bounds.low), said(mean.bounds.high))]);
                }
            }
        }
        cells.push(if tried.told.runs == 0 { "no plant" } else { word(tried.holds) }.to_owned());
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
        let mean = sized.mean(&tried.told).map(|(_, mean)| mean);
        let cells = [
            exact(tried.price),
            tried.told.runs.to_string(),
            short.map(|it| it.times.to_string()).unwrap_or_default(),
            exact(short.map(|it| it.chance)),
            exact(short.map(|it| it.bounds.low)),
            exact(short.map(|it| it.bounds.high)),
            exact(mean.map(|it| it.mean)),
            exact(mean.map(|it| it.bounds.low)),
            exact(mean.map(|it| it.bounds.high)),
            word(tried.holds).to_owned(),
            tried.told.fault.clone().unwrap_or_default(),
        ];
        table.write_record(settings(plan, tried.variant).into_iter().chain(cells))?;
    }
    table.flush()
}
