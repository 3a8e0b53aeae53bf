//! `variants.csv`: a line for each variant, metric.

use std::io::{self, Write};

use ::csv::Writer;
use springhouse_study::many::{ColumnKind, FigureTold, ShortTold};
use springhouse_study::sure::Why;

use super::Told;

/// What is told of each figure, in order.
const OF_FIGURES: [&str; 15] = [
    "mean",
    "mean_low",
    "mean_high",
    "deviation",
    "median",
    "median_low",
    "median_high",
    "q05",
    "q95",
    "least",
    "most",
    "difference",
    "difference_low",
    "difference_high",
    "unpaired_runs",
];

/// What is told of the chance of falling short, in order.
const OF_SHORT: [&str; 5] = ["short_runs", "short_chance", "short_low", "short_high", "settled"];

/// Writes the variants: settings, how often they fall short, and how their figures lie. A cell is empty where there is no such value;
/// numbers have the fewest digits that read back to the bit.
///
/// # Errors
/// When `out` cannot be written to.
pub fn csv(told: &Told<'_>, out: &mut impl Write) -> io::Result<()> {
    let mut table = Writer::from_writer(out);
    table.write_record(heads(told))?;
    for variant in 0..told.variants.len().min(told.plan.variants.len()) {
        table.write_record(cells(told, variant))?;
    }
    table.flush()
}

fn has_price(told: &Told<'_>) -> bool {
    told.plan.variants.iter().any(|variant| variant.price.is_some())
}

fn heads(told: &Told<'_>) -> Vec<String> {
    let mut heads = vec!["variant".to_owned()];
    if told.is_sweep() {
        for column in &told.plan.keys {
            heads.push(column.key.clone());
            heads.extend(Some(column.head()).filter(|head| *head != column.key));
        }
    } else {
        heads.push("point".to_owned());
    }
    if has_price(told) {
        heads.push("price".to_owned());
    }
    heads.extend(["runs", "faults", "fault"].into_iter().chain(OF_SHORT).map(str::to_owned));
    let of = |figure: &String| OF_FIGURES.map(|of| format!("{figure}.{of}"));
    heads.extend(told.plan.figures.iter().flat_map(of));
    heads
}

fn cells(told: &Told<'_>, variant: usize) -> Vec<String> {
    let (plan, found) = (&told.plan.variants[variant], &told.variants[variant]);
    let mut cells = vec![(variant + 1).to_string()];
    if told.is_sweep() {
        for (place, column) in told.plan.keys.iter().enumerate() {
            cells.push(plan.settings.get(place).cloned().unwrap_or_default());
            if matches!(column.kind, ColumnKind::Quantity(_)) {
                cells.push(cell(plan.amounts.get(place).copied().flatten()));
            }
        }
    } else {
        cells.push(plan.settings.first().cloned().unwrap_or_default());
    }
    if has_price(told) {
        cells.push(cell(plan.price));
    }
    cells.extend([found.runs.to_string(), found.faults.to_string(), found.fault.clone().unwrap_or_default()]);
    cells.extend(found.short.map_or_else(|| OF_SHORT.map(|_| String::new()), of_short));
    for place in 0..told.plan.figures.len() {
        cells.extend(told.found(variant, place).map_or_else(|| OF_FIGURES.map(|_| String::new()), of_figure));
    }
    cells
}

fn of_short(short: ShortTold) -> [String; 5] {
    let numbers = [short.chance, short.bounds.low, short.bounds.high].map(|value| value.to_string());
    let [chance, low, high] = numbers;
    [short.times.to_string(), chance, low, high, short.why.map_or("", settled).to_owned()]
}

/// Why no more runs were made.
fn settled(why: Why) -> &'static str {
    match why {
        Why::Below => "below",
        Why::Above => "above",
        Why::Narrow => "narrow",
        Why::AllRuns => "all runs",
    }
}

fn of_figure(figure: &FigureTold) -> [String; 15] {
    let mean = figure.mean.as_ref();
    let against = figure.against.as_ref();
    let difference = against.map(|against| &against.difference);
    let median = &figure.median;
    [
        cell(mean.map(|it| it.mean)),
        cell(mean.map(|it| it.bounds.low)),
        cell(mean.map(|it| it.bounds.high)),
        cell(mean.map(|it| it.deviation)),
        cell(Some(median.value)),
        cell(median.low),
        cell(median.high),
        cell(Some(figure.low.value)),
        cell(Some(figure.high.value)),
        cell(figure.ladder.first().copied()),
        cell(figure.ladder.last().copied()),
        cell(difference.map(|it| it.mean)),
        cell(difference.map(|it| it.bounds.low)),
        cell(difference.map(|it| it.bounds.high)),
        against.and_then(|it| it.unpaired_runs_each).map_or_else(String::new, |runs| runs.to_string()),
    ]
}

fn cell(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}
