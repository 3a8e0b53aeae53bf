//! What matters, in text and as a table.

use std::io::{self, Write};

use springhouse_study::many::{Plan, Ranked, Ranking, Screened};
use springhouse_study::sure::SureShare;

use super::Figure;
use crate::numbers::{counted, number};
use crate::phrase::capitalised;
use crate::text::wrapped;
use crate::tune::text::{Cells, push_table};

/// A ranking.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// The plan of its runs.
    pub plan: &'a Plan,
    /// By figure, what single steps did.
    pub screened: &'a [Ranking<Screened>],
    /// By figure, the shares of the variance; empty where only steps were made.
    pub ranked: &'a [Ranking<Ranked>],
    /// The figure that is told of.
    pub figure: &'a str,
}

impl Told<'_> {
    fn words(&self) -> String {
        if self.plan.figures.iter().any(|figure| figure == self.figure) {
            Figure::of(self.figure).words
        } else {
            self.figure.to_owned()
        }
    }

    fn screened(&self) -> Option<&Ranking<Screened>> {
        self.screened.iter().find(|it| it.figure == self.figure)
    }

    fn ranked(&self) -> Option<&Ranking<Ranked>> {
        self.ranked.iter().find(|it| it.figure == self.figure)
    }
}

/// The answer in a sentence or two.
#[must_use]
pub fn headline(told: &Told<'_>) -> String {
    let figure = told.words();
    if let Some(ranking) = told.ranked() {
        return match &ranking.inputs {
            Err(error) => format!("Nothing can be said of {figure}: {error}."),
            Ok(inputs) => {
                let first: Vec<String> = inputs
                    .iter()
                    .take(3)
                    .map(|it| {
                        let SureShare { share, total, .. } = it.share;
                        let [low, high] = [total.low, total.high].map(percent);
                        format!("{} ({}, {low} to {high})", it.input, percent(share.total))
                    })
                    .collect();
                format!(
                    "{figure} varies with {}: part of its variance, with all they act together with.",
                    first.join(", ")
                )
            }
        };
    }
    match told.screened().map(|it| &it.inputs) {
        None => format!("There is no figure {figure}."),
        Some(Err(error)) => format!("Nothing can be said of {figure}: {error}."),
        Some(Ok(inputs)) => {
            let first: Vec<_> = inputs.iter().take(3).map(|it| it.input.clone()).collect();
            format!("{} changes most with {}.", capitalised(&figure), first.join(", then "))
        }
    }
}

/// Both tables. Ends with a newline.
#[must_use]
pub fn body(told: &Told<'_>) -> String {
    let mut text = String::new();
    if let Some(ranking) = told.ranked()
        && let Ok(inputs) = &ranking.inputs
    {
        let rows = counted(ranking.rows, "row");
        text.push_str(&wrapped(&format!(
            "Shares of the variance of {}, by {rows} of {}{}. Alone: what would go if the input were known; with others: what \
             would stay if all others were.",
            told.words(),
            counted(told.plan.variants.len() as u64, "run"),
            left_out(ranking.left_out)
        )));
        text.push('\n');
        let head = ["input", "alone", "interval", "with others", "interval"].map(str::to_owned);
        let mut lines: Vec<Cells> = vec![head.to_vec()];
        for it in inputs {
            let share = &it.share;
            let between = |interval: springhouse_study::sure::Interval| {
                format!("{} to {}", percent(interval.low), percent(interval.high))
            };
            lines.push(vec![
                it.input.clone(),
                percent(share.share.alone),
                between(share.alone),
                percent(share.share.total),
                between(share.total),
            ]);
        }
        push_table(&mut text, &lines);
        text.push('\n');
    }
    if let Some(ranking) = told.screened()
        && let Ok(inputs) = &ranking.inputs
    {
        let paths = counted(ranking.rows, "path");
        text.push_str(&wrapped(&format!(
            "Steps through half of what each input may be, along {paths}{}: by how much {} changes, for the whole of its range.",
            left_out(ranking.left_out),
            told.words()
        )));
        text.push('\n');
        let head = ["input", "mean size", "mean", "deviation"].map(str::to_owned);
        let mut lines: Vec<Cells> = vec![head.to_vec()];
        for it in inputs {
            let effect = it.effect;
            lines.push(vec![it.input.clone(), number(effect.size), number(effect.mean), number(effect.deviation)]);
        }
        push_table(&mut text, &lines);
    }
    text
}

fn left_out(rows: u64) -> String {
    if rows == 0 { String::new() } else { format!(" ({rows} left out, since a run lacks the figure)") }
}

/// A share by chance a little below 0 is told as it is.
fn percent(share: f64) -> String {
    format!("{} %", crate::numbers::fixed(100.0 * share, 0))
}

/// Writes `rank.csv`: a line for each figure and input.
///
/// # Errors
/// When `out` cannot be written to.
pub fn csv(told: &Told<'_>, out: impl Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record([
        "figure",
        "input",
        "alone",
        "alone_low",
        "alone_high",
        "with_others",
        "with_others_low",
        "with_others_high",
        "step_size",
        "step_mean",
        "step_deviation",
        "fault",
    ])?;
    for screened in told.screened {
        let ranked = told.ranked.iter().find(|it| it.figure == screened.figure);
        let shares = ranked.and_then(|it| it.inputs.as_ref().ok()).map(Vec::as_slice).unwrap_or_default();
        let steps = screened.inputs.as_ref().map(Vec::as_slice).unwrap_or_default();
        let fault = ranked.and_then(|it| it.inputs.as_ref().err()).or(screened.inputs.as_ref().err());
        let fault = fault.map(ToString::to_string).unwrap_or_default();
        let own = |input: &str| steps.iter().find(|it| it.input == input);
        let mut lines: Vec<(&str, Option<&Ranked>)> = shares.iter().map(|it| (it.input.as_str(), Some(it))).collect();
        lines.extend(
            steps.iter().filter(|it| shares.iter().all(|at| at.input != it.input)).map(|it| (it.input.as_str(), None)),
        );
        if lines.is_empty() {
            lines.push(("", None));
        }
        for (input, share) in lines {
            let of = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
            let (share, effect) = (share.map(|it| it.share), own(input).map(|it| it.effect));
            table.write_record([
                screened.figure.clone(),
                input.to_owned(),
                of(share.map(|it| it.share.alone)),
                of(share.map(|it| it.alone.low)),
                of(share.map(|it| it.alone.high)),
                of(share.map(|it| it.share.total)),
                of(share.map(|it| it.total.low)),
                of(share.map(|it| it.total.high)),
                of(effect.map(|it| it.size)),
                of(effect.map(|it| it.mean)),
                of(effect.map(|it| it.deviation)),
                fault.clone(),
            ])?;
        }
    }
    table.flush()
}
