//! A study in plain text: the answer first, a line for each variant, what pairing was worth, what went wrong.

use core::fmt::Write;
use std::collections::BTreeMap;

use springhouse_study::many::{Limit, ShortTold, Target};
use springhouse_study::sure::{Mean, Paired};

use super::figure::signed;
use super::{Figure, Names, Stands, Told};
use crate::numbers::{chance, counted, fixed, len, number, three_figures};
use crate::phrase::{capitalised, joined};
use crate::text::wrapped;
use crate::tune::text::{Cells, push_table};

/// Variants that are told one by one.
const MOST_LINES: usize = 40;
/// Figures whose mean is told in the table.
const MOST_FIGURES: usize = 3;

/// What was asked, of what.
#[must_use]
pub fn subject(told: &Told<'_>) -> String {
    let plan = told.plan;
    let title = if plan.title.is_empty() { &plan.name } else { &plan.title };
    let days = counted(u64::from(plan.days), "day");
    let runs = if plan.stop.is_some() { format!("up to {}", plan.runs) } else { plan.runs.to_string() };
    let of = if told.is_sweep() { "variant" } else { "point" };
    format!(
        "{title}: {}, {}, {runs} runs each of {days} from {}. A run falls short with {}",
        plan.scenario,
        counted(len(&plan.variants), of),
        plan.first_day,
        falls_short(told)
    )
}

/// When a run falls short.
pub(crate) fn falls_short(told: &Told<'_>) -> String {
    let figure = Figure::of(&told.plan.short.figure);
    let said = |value: f64| figure.said(told.units(), value);
    match told.plan.short.limit {
        Limit::AtMost(most) => format!("{} over {}", figure.words, said(most)),
        Limit::AtLeast(least) => format!("{} under {}", figure.words, said(least)),
    }
}

/// What is wanted of a variant; `None` where nothing is.
pub(crate) fn wanted(told: &Told<'_>) -> Option<String> {
    Some(match told.plan.target.as_ref()? {
        Target::Chance(most) => format!("a chance of falling short of at most {} %", number(100.0 * most)),
        Target::Mean { figure, limit } => {
            let figure = Figure::of(figure);
            let (bound, value) = match limit {
                Limit::AtMost(most) => ("most", *most),
                Limit::AtLeast(least) => ("least", *least),
            };
            format!("a mean of {} of at {bound} {}", figure.words, figure.said(told.units(), value))
        }
    })
}

/// `3 of 500 runs fall short, 0.6 % (0.1 to 1.7 %)`.
pub(crate) fn short_said(short: &ShortTold) -> String {
    let fall = if short.times == 1 { "falls" } else { "fall" };
    format!("{} of {} {fall} short, {}", short.times, counted(short.runs, "run"), chance_said(short))
}

/// `0.6 % (0.1 to 1.7 %)`.
fn chance_said(short: &ShortTold) -> String {
    format!("{} % ({} to {} %)", chance(short.chance), chance(short.bounds.low), chance(short.bounds.high))
}

/// The answer in a sentence or two.
#[must_use]
pub fn headline(told: &Told<'_>) -> String {
    let known: Vec<(usize, ShortTold)> =
        (0..told.variants.len()).filter_map(|variant| Some((variant, told.variants[variant].short?))).collect();
    if known.is_empty() {
        return "No run has a result: see what is wrong below.".to_owned();
    }
    if !told.is_sweep() {
        let (times, runs) = known.iter().fold((0, 0), |(t, n), (_, short)| (t + short.times, n + short.runs));
        return format!("{times} of {} fall short, over all points together.", counted(runs, "run"));
    }
    if let ([_], [(_, only)]) = (told.variants, known.as_slice()) {
        let stands = match told.stands(0) {
            Some(Stands::Meets) => ": within what is wanted",
            Some(Stands::MayMeet) => ": within what is wanted, but the interval is not",
            Some(Stands::Misses) => ": not within what is wanted",
            None => "",
        };
        return format!("{}{stands}.", short_said(only));
    }
    let said = wanted(told).map_or_else(|| least_short(told, &known), |wanted| meeting(told, &wanted));
    match told.variants.len() - known.len() {
        0 => said,
        1 => format!("{said} One more has no result."),
        more => format!("{said} {more} more have no result."),
    }
}

/// What was found of what is wanted of a variant.
fn found_said(told: &Told<'_>, variant: usize) -> String {
    if let Some(Target::Mean { figure: path, .. }) = &told.plan.target {
        let mean = told.place(path).and_then(|place| told.found(variant, place)?.mean);
        let figure = Figure::of(path);
        let said = |value: f64| figure.said(told.units(), value);
        return mean.map_or_else(String::new, |mean| {
            let Mean { bounds, .. } = mean;
            format!("mean of {} {} ({} to {})", figure.words, said(mean.mean), said(bounds.low), said(bounds.high))
        });
    }
    told.variants.get(variant).and_then(|it| it.short).map_or_else(String::new, |short| short_said(&short))
}

/// Which variants meet what is wanted.
fn meeting(told: &Told<'_>, wanted: &str) -> String {
    let names = Names::of(told);
    let all = |stands: Stands| -> Vec<usize> {
        (0..told.variants.len()).filter(|variant| told.stands(*variant) == Some(stands)).collect()
    };
    let (meets, may) = (all(Stands::Meets), all(Stands::MayMeet));
    let said = |variant: usize| format!("{}: {}", names.name(variant), found_said(told, variant));
    let also = match may.as_slice() {
        [] => String::new(),
        [one] => format!(" {} may: its interval reaches beyond.", capitalised(&names.name(*one))),
        more => format!(" {} more may: their intervals reach beyond.", more.len()),
    };
    let of = told.variants.len();
    match (meets.as_slice(), may.as_slice()) {
        ([], []) => {
            let nearest = nearest(told).map_or_else(String::new, |it| format!(" Nearest is {}.", said(it)));
            format!("None of {of} variants was found to have {wanted}.{nearest}")
        }
        ([], may) => {
            let (which, best) = picked(told, may);
            let may = match may {
                [_] => "One may, though its interval reaches beyond: ".to_owned(),
                more => format!("{} may, though their intervals reach beyond; {which} is ", more.len()),
            };
            format!("No variant is sure to have {wanted}. {may}{}.", said(best))
        }
        ([one], _) => format!("One of {of} variants has {wanted}: {}.{also}", said(*one)),
        (many, _) => {
            let (which, best) = picked(told, many);
            format!("{} of {of} variants have {wanted}; {which} is {}.{also}", many.len(), said(best))
        }
    }
}

/// The cheapest of some variants where prices are told, else the first of them in the plan's order.
fn picked(told: &Told<'_>, some: &[usize]) -> (&'static str, usize) {
    let price = |variant: &usize| told.plan.variants.get(*variant).and_then(|it| it.price);
    let priced: Option<Vec<(f64, usize)>> = some.iter().map(|it| Some((price(it)?, *it))).collect();
    let cheapest = priced.and_then(|priced| priced.into_iter().min_by(|(a, _), (b, _)| a.total_cmp(b)));
    cheapest.map_or(("the first of them", some.first().copied().unwrap_or(0)), |(_, variant)| {
        ("the cheapest of them", variant)
    })
}

/// The variant that misses what is wanted by least.
fn nearest(told: &Told<'_>) -> Option<usize> {
    let miss = |variant: usize| -> Option<f64> {
        match told.plan.target.as_ref()? {
            Target::Chance(_) => Some(told.variants.get(variant)?.short?.chance),
            Target::Mean { figure, limit } => {
                let mean = told.found(variant, told.place(figure)?)?.mean?.mean;
                Some(if matches!(limit, Limit::AtMost(_)) { mean } else { -mean })
            }
        }
    };
    let known = (0..told.variants.len()).filter_map(|variant| Some((variant, miss(variant)?)));
    known.min_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(variant, _)| variant)
}

/// Which variant falls short least often, where nothing is wanted.
fn least_short(told: &Told<'_>, known: &[(usize, ShortTold)]) -> String {
    let Some((_, least)) = known.iter().min_by(|(_, a), (_, b)| a.chance.total_cmp(&b.chance)) else {
        return String::new();
    };
    let best: Vec<usize> =
        known.iter().filter(|(_, short)| short.chance <= least.chance).map(|(variant, _)| *variant).collect();
    let (_, first) = picked(told, &best);
    let own = known.iter().find(|(variant, _)| *variant == first).map_or(*least, |(_, short)| *short);
    let said = format!("{}: {}", Names::of(told).name(first), short_said(&own));
    if best.len() == known.len() {
        return format!("All {} variants fall short as often; {said}.", best.len());
    }
    let close = known.iter().filter(|(_, short)| {
        short.chance > least.chance && short.bounds.low <= own.bounds.high && own.bounds.low <= short.bounds.high
    });
    let close = match close.count() {
        0 => String::new(),
        1 => " The interval of one other reaches into its own.".to_owned(),
        n => format!(" The intervals of {n} others reach into its own."),
    };
    match best.len() {
        1 => format!("Least often short is {said}.{close}"),
        n => format!("Least often short are {n} variants, among them {said}.{close}"),
    }
}

/// The figure in which variants are compared: the first that is not the same in all runs.
pub(crate) fn compared(told: &Told<'_>) -> Option<usize> {
    let has_difference = |place: &usize| {
        (0..told.variants.len()).any(|variant| told.found(variant, *place).is_some_and(|it| it.against.is_some()))
    };
    told.varying_figures().into_iter().find(has_difference)
}

/// The table and what was found of it. Ends with a newline.
#[must_use]
pub fn body(told: &Told<'_>) -> String {
    let mut text = String::new();
    let shown = told.variants.len().min(MOST_LINES);
    push_table(&mut text, &table(told, shown));
    let more = told.variants.len() - shown;
    if more > 0 {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "… and {more} more in variants.csv");
    }
    if told.is_sweep() && told.variants.len() > 1 {
        text.push_str("* what the others are compared with, run by run\n");
    }
    let mut push = |said: Option<String>| {
        if let Some(said) = said {
            text.push('\n');
            text.push_str(&wrapped(&said));
        }
    };
    push(pairing(told));
    for fault in faults(told) {
        push(Some(fault));
    }
    text
}

/// A column: its head, and the cell of each variant.
struct TableColumn {
    head: String,
    cells: Vec<String>,
}

fn table(told: &Told<'_>, shown: usize) -> Vec<Cells> {
    let plan = told.plan;
    let column = |head: &str, of: &dyn Fn(usize) -> Option<String>| TableColumn {
        head: head.to_owned(),
        cells: (0..shown).map(|variant| of(variant).unwrap_or_else(|| "-".to_owned())).collect(),
    };
    let mut columns = Vec::new();
    let names = Names::of(told);
    if names.varying.is_empty() {
        columns.push(column("", &|variant| Some(names.name(variant))));
    }
    for key in names.varying.iter().copied() {
        columns.push(column(&names.key_words(key), &|variant| plan.variants.get(variant)?.settings.get(key).cloned()));
    }
    let is_compared = told.is_sweep() && told.variants.len() > 1;
    if is_compared && let Some(cell) = columns.first_mut().and_then(|first| first.cells.get_mut(plan.reference)) {
        cell.push_str(" *");
    }
    if plan.variants.iter().any(|variant| variant.price.is_some()) {
        columns.push(column("price", &|variant| plan.variants.get(variant)?.price.map(|price| fixed(price, 0))));
    }
    let short = |variant: usize| told.variants.get(variant)?.short;
    columns.push(column("runs", &|variant| Some(told.variants.get(variant)?.runs.to_string())));
    if told.variants.iter().any(|variant| variant.faults > 0) {
        columns.push(column("no result", &|variant| Some(told.variants.get(variant)?.faults.to_string())));
    }
    columns.push(column("fall short", &|variant| short(variant).map(|it| it.times.to_string())));
    columns.push(column("chance", &|variant| short(variant).map(|it| chance_said(&it))));
    for place in (0..plan.figures.len()).take(MOST_FIGURES) {
        let scale = told.figure(place).scale(told.units());
        let mean = |variant: usize| Some(scale.value(told.found(variant, place)?.mean?.mean));
        let decimals = three_figures((0..shown).filter_map(mean));
        let head = format!("mean of {}", told.figure(place).with_unit(told.units()));
        columns.push(column(&head, &|variant| mean(variant).map(|value| fixed(value, decimals))));
    }
    if let (Some(place), true) = (compared(told), is_compared) {
        let scale = told.figure(place).scale(told.units());
        let difference = |variant: usize| {
            let Mean { mean, bounds, .. } = told.found(variant, place)?.against?.difference;
            Some([mean, bounds.low, bounds.high].map(|value| scale.difference(value)))
        };
        let decimals = three_figures((0..shown).filter_map(difference).flatten());
        let cell = |variant: usize| {
            let [mean, low, high] = difference(variant)?;
            Some(format!("{} ({} to {})", signed(mean, decimals), fixed(low, decimals), fixed(high, decimals)))
        };
        let head = format!("difference in {}", told.figure(place).with_unit(told.units()));
        columns.push(column(&head, &cell));
    }
    laid_out(&columns, shown)
}

/// Heads broken into lines no wider than they have to be, over the cells.
fn laid_out(columns: &[TableColumn], shown: usize) -> Vec<Cells> {
    /// A column is at least so wide that few words are broken.
    const LEAST: usize = 11;
    let heads: Vec<Vec<String>> = columns
        .iter()
        .map(|column| {
            let cells = column.cells.iter().map(|cell| cell.chars().count()).max().unwrap_or(0);
            broken(&column.head, cells.max(LEAST))
        })
        .collect();
    let height = heads.iter().map(Vec::len).max().unwrap_or(0);
    let mut lines: Vec<Cells> = (0..height)
        .map(|line| {
            let of = |head: &Vec<String>| {
                (line + head.len()).checked_sub(height).and_then(|at| head.get(at)).cloned().unwrap_or_default()
            };
            heads.iter().map(of).collect()
        })
        .collect();
    lines.extend((0..shown).map(|variant| {
        columns.iter().map(|column| column.cells.get(variant).cloned().unwrap_or_default()).collect::<Cells>()
    }));
    lines
}

/// Words in lines of so many letters, a longer word on a line of its own.
fn broken(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// What it was worth that all variants met the same mornings: for the largest difference in the figure for which that was most.
fn pairing(told: &Told<'_>) -> Option<String> {
    compared(told).filter(|_| told.is_sweep())?;
    let size = |paired: &Paired| paired.difference.mean.abs();
    let largest = |place: usize| {
        let of = |variant: usize| Some((place, variant, told.found(variant, place)?.against?));
        let others = (0..told.variants.len()).filter(|variant| *variant != told.plan.reference);
        // The first of those that differ by as much.
        others.rev().filter_map(of).max_by(|(.., a), (.., b)| size(a).total_cmp(&size(b)))
    };
    let differences = told.varying_figures().into_iter().rev().filter_map(largest);
    // A handful of pairs that differ by as much, to rounding, would tell of astronomical numbers.
    let sound = |paired: &Paired| {
        paired.difference.deviation > 1e-9 * size(paired)
            && paired.unpaired_runs_each.is_some_and(|runs| runs < MOST_RUNS)
    };
    let differences = differences.filter(|(place, variant, paired)| {
        told.found(*variant, *place).is_some_and(|it| it.runs >= LEAST_PAIRS) && sound(paired)
    });
    let (place, variant, paired) = differences.max_by_key(|(.., paired)| paired.unpaired_runs_each)?;
    let figure = told.figure(place);
    let Mean { mean, bounds, .. } = paired.difference;
    if size(&paired) <= 0.0 {
        return None;
    }
    let names = Names::of(told);
    let [low, high] = [bounds.low, bounds.high].map(|value| figure.difference_said(told.units(), value));
    let said = format!(
        "The largest difference in {}: {} with {} against {} ({low} to {high}).",
        figure.words,
        figure.difference_said(told.units(), mean),
        names.name(variant),
        names.name(told.plan.reference)
    );
    let runs = told.found(variant, place)?.runs.min(told.found(told.plan.reference, place)?.runs);
    let worth = match paired.unpaired_runs_each {
        Some(unpaired) if unpaired > runs => format!(
            " Pairs of the same mornings: to be as sure of it, mornings of their own would take {unpaired} runs each in \
             place of {runs}."
        ),
        Some(_) => " Mornings of their own would have told it as well: here pairs of the same mornings gain nothing."
            .to_owned(),
        None => {
            " It is the same in all pairs of the same mornings; no number of mornings of their own would tell it so \
                 well."
                .to_owned()
        }
    };
    Some(said + &worth)
}

/// What went wrong, each once.
fn faults(told: &Told<'_>) -> Vec<String> {
    let mut found: Vec<(&str, Vec<usize>)> = Vec::new();
    let mut places: BTreeMap<&str, usize> = BTreeMap::new();
    for (variant, of) in told.variants.iter().enumerate() {
        let Some(fault) = of.fault.as_deref() else { continue };
        let place = *places.entry(fault).or_insert(found.len());
        match found.get_mut(place) {
            Some((_, variants)) => variants.push(variant),
            None => found.push((fault, vec![variant])),
        }
    }
    let names = Names::of(told);
    let mut said: Vec<String> = Vec::new();
    for (fault, variants) in found.iter().take(MOST_FAULTS) {
        let runs: u64 = variants.iter().map(|variant| told.variants[*variant].faults).sum();
        let of = if variants.len() > MOST_NAMES {
            counted(len(variants), "variant")
        } else {
            let names: Vec<String> = variants.iter().map(|variant| names.name(*variant)).collect();
            joined(&names.iter().map(String::as_str).collect::<Vec<_>>())
        };
        said.push(if runs == 0 {
            format!("No runs of {of}: {fault}")
        } else {
            format!("No result in {} of {of}; in the first: {fault}", counted(runs, "run"))
        });
    }
    let more = found.len().saturating_sub(MOST_FAULTS);
    if more > 0 {
        said.push(format!("… and {more} more such in variants.csv"));
    }
    said
}

/// How often an interval is to hold the truth, in percent.
pub(crate) fn confidence(told: &Told<'_>) -> String {
    number(100.0 * told.plan.confidence)
}

/// Pairs from which on something is said of what pairing is worth.
const LEAST_PAIRS: u64 = 10;
/// More runs than that nobody makes.
const MOST_RUNS: u64 = 1_000_000_000;
/// What went wrong that is told one by one.
const MOST_FAULTS: usize = 8;
/// Variants that are named one by one in a sentence.
const MOST_NAMES: usize = 4;

/// What must be minded. Ends with a newline.
#[must_use]
pub fn cautions(told: &Told<'_>) -> String {
    let plan = told.plan;
    let confidence = confidence(told);
    let looks = if plan.stop.is_some() {
        " That of a chance holds although runs stopped when it had settled; those of means and differences do not allow for that."
    } else {
        ""
    };
    let several = if plan.variants.len() > 1 {
        " Each is of one variant: among many some will miss, and the best of many looks better than it is."
    } else {
        ""
    };
    let unsure = if plan.uncertain.is_empty() {
        "nothing but mornings and weather differ from run to run"
    } else {
        "only mornings, weather and the keys told as uncertain differ from run to run"
    };
    wrapped(&format!(
        "Intervals hold the truth in {confidence} % of such studies, of this model: {unsure}, and what the model leaves out is in \
         no interval.{looks}{several}"
    ))
}
