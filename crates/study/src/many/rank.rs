//! Which inputs matter, out of the runs of a ranking.

use thiserror::Error;

use super::ask::{MORNINGS, Prepared};
use super::{Job, Plan, Row};
use crate::sure::{Effect, MOST_AXES, SureError, SureShare, effects, sure_shares};

/// What is ranked beside the figures: whether a run falls short, as 1 or 0.
pub const FALLS_SHORT: &str = "falls short";

/// The most inputs of a ranking by shares: mornings and weather are one more, and a row takes two points.
pub const MOST_INPUTS: usize = MOST_AXES / 2 - 1;

/// How often rows are drawn anew for the intervals of shares.
const REDRAWS: usize = 1_000;

/// What single steps of an input do to a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Screened {
    /// The input.
    pub input: String,
    /// The effects.
    pub effect: Effect,
}

/// An input's shares of the variance of a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// The input.
    pub input: String,
    /// Its shares with their intervals.
    pub share: SureShare,
}

/// What matters to a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranking<T> {
    /// The figure by its path, or `falls short`.
    pub figure: String,
    /// The inputs, what matters most first; why there is no answer otherwise.
    pub inputs: Result<Vec<T>, RankError>,
    /// Rows, or paths, that count.
    pub rows: u64,
    /// Those left out, since a run of theirs has no result.
    pub left_out: u64,
}

/// Why nothing can be said of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RankError {
    /// What the runs gave does not do.
    #[error(transparent)]
    Sure(#[from] SureError),
}

/// What matters by shares of the variance: of every figure, and of falling short.
///
/// # Errors
/// What reading a row gives.
pub fn rank<E>(prepared: &Prepared, rows: impl Iterator<Item = Result<Row, E>>) -> Result<Vec<Ranking<Ranked>>, E> {
    let plan = &prepared.plan;
    let names: Vec<String> = prepared.inputs().map(str::to_owned).chain([MORNINGS.to_owned()]).collect();
    let of = |(figure, (results, left_out)): (String, (Vec<f64>, u64))| {
        let found = sure_shares(names.len(), &results, plan.confidence(), REDRAWS, plan.seed);
        let inputs = found.map(|shares| {
            let inputs = names.iter().cloned().zip(shares);
            let mut inputs: Vec<_> = inputs.map(|(input, share)| Ranked { input, share }).collect();
            inputs.sort_by(|one, other| other.share.share.total.total_cmp(&one.share.share.total));
            inputs
        });
        let rows = (results.len() / plan.variants.len().max(1)) as u64;
        Ranking { figure, inputs: inputs.map_err(RankError::from), rows, left_out }
    };
    Ok(by_figure(plan, rows)?.map(of).collect())
}

/// What matters at all, by single steps: of every figure, and of falling short.
///
/// # Errors
/// What reading a row gives.
pub fn screen<E>(prepared: &Prepared, rows: impl Iterator<Item = Result<Row, E>>) -> Result<Vec<Ranking<Screened>>, E> {
    let plan = &prepared.plan;
    let names: Vec<String> = prepared.inputs().map(str::to_owned).collect();
    let each = plan.variants.len().max(1);
    let mut told = Vec::new();
    for (figure, of_all) in all_results(plan, rows)? {
        // Whole paths only, and their points.
        let (mut results, mut points, mut left_out) = (Vec::new(), Vec::new(), 0);
        for (path, of_path) in of_all.chunks(each).enumerate() {
            if of_path.iter().any(|value| value.is_nan()) {
                left_out += 1;
                continue;
            }
            results.extend_from_slice(of_path);
            let from = path * each * names.len();
            points.extend_from_slice(prepared.steps().get(from..from + each * names.len()).unwrap_or_default());
        }
        let inputs = effects(names.len(), &points, &results).map(|effects| {
            let inputs = names.iter().cloned().zip(effects);
            let mut inputs: Vec<_> = inputs.map(|(input, effect)| Screened { input, effect }).collect();
            inputs.sort_by(|one, other| other.effect.size.total_cmp(&one.effect.size));
            inputs
        });
        let rows = (results.len() / each) as u64;
        told.push(Ranking { figure, inputs: inputs.map_err(RankError::from), rows, left_out });
    }
    Ok(told)
}

type Results = (Vec<f64>, u64);

/// By figure, the results of whole rows one after the other, and how many rows were left out.
fn by_figure<E>(
    plan: &Plan,
    rows: impl Iterator<Item = Result<Row, E>>,
) -> Result<impl Iterator<Item = (String, Results)>, E> {
    let each = plan.variants.len().max(1);
    Ok(all_results(plan, rows)?.into_iter().map(move |(figure, all)| {
        let whole: Vec<&[f64]> = all.chunks(each).filter(|row| row.iter().all(|value| !value.is_nan())).collect();
        let left_out = (all.len() / each - whole.len()) as u64;
        (figure, (whole.concat(), left_out))
    }))
}

/// By figure, the result of every point of every row; no number where there is none.
fn all_results<E>(plan: &Plan, rows: impl Iterator<Item = Result<Row, E>>) -> Result<Vec<(String, Vec<f64>)>, E> {
    let each = plan.variants.len().max(1);
    let all = usize::try_from(plan.jobs()).unwrap_or(0);
    let figures = plan.figures.iter().cloned().chain([FALLS_SHORT.to_owned()]);
    let mut told: Vec<(String, Vec<f64>)> = figures.map(|figure| (figure, vec![f64::NAN; all])).collect();
    for row in rows {
        let row = row?;
        let Job { variant, run } = row.job;
        let Ok(place) = usize::try_from(run * each as u64 + variant) else { continue };
        let short = plan.is_short(&row).map(|short| f64::from(u8::from(short)));
        for ((_, results), value) in told.iter_mut().zip(row.figures.iter().copied().chain([short])) {
            if let Some(slot) = results.get_mut(place) {
                *slot = value.unwrap_or(f64::NAN);
            }
        }
    }
    Ok(told)
}
