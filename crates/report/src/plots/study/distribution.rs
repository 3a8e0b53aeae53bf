//! How a figure lies over the runs of each variant.

use springhouse_study::many::{FigureTold, LADDER};

use super::{Bound, Lines, axis_name, bar, bounds, middle};
use crate::chart::across::Across;
use crate::chart::ink::{PAPER, WATER};
use crate::chart::{BODY, Page};
use crate::phrase::capitalised;
use crate::study::{Names, Told, text};

/// Variants that have room on a page.
const MOST: usize = 16;
/// Told before any other, where it is among the figures.
const FIRST: &str = "water.lowest_storage_l";

/// Half of a line's height that strips take: of nearly all runs, of nine in ten, and of half.
const HEIGHTS: [f64; 3] = [2.0, 6.0, 13.0];
const SHARES: [(f64, f64); 3] = [(0.01, 0.99), (0.05, 0.95), (0.25, 0.75)];

/// `None` where no figure varies.
pub(in crate::plots) fn page(told: &Told<'_>) -> Option<Page> {
    if !told.is_sweep() {
        return None;
    }
    let varying = told.varying_figures();
    let place = told.place(FIRST).filter(|place| varying.contains(place)).or(varying.first().copied())?;
    let names = Names::of(told);
    let has = |variant: usize| Some((variant, told.found(variant, place)?));
    let all: Vec<(usize, &FigureTold)> = (0..told.variants.len()).filter_map(has).collect();
    let shown = spread(all.len()).into_iter().filter_map(|at| all.get(at).copied());
    let shown: Vec<(usize, &FigureTold)> = shown.collect();
    let (figure, units) = (told.figure(place), told.units());
    let scale = figure.scale(units);
    let ends = shown.iter().flat_map(|(_, found)| [at(found, 0.01), at(found, 0.99)]).flatten();
    let bounds = bounds(told, place);
    let ends: Vec<f64> = ends.chain(bounds.iter().map(|bound| bound.at)).map(|value| scale.value(value)).collect();
    let least = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let median = |found: &FigureTold| found.median.value;
    let by_median = |a: &&(usize, &FigureTold), b: &&(usize, &FigureTold)| median(a.1).total_cmp(&median(b.1));
    let (low, high) = (shown.iter().min_by(by_median)?, shown.iter().max_by(by_median)?);
    let said = |(variant, found): &(usize, &FigureTold)| {
        format!("{} with {}", figure.said(units, median(found)), names.full_name(*variant))
    };
    let of = capitalised(&figure.words);
    let title = if low.0 == high.0 || median(low.1) >= median(high.1) {
        format!("{of} of the middle run: {}", figure.said(units, median(low.1)))
    } else {
        format!("{of} of the middle run: from {} to {}", said(low), said(high))
    };
    let mut page = Page::new(&title, &text::subject(told));
    page.y += 12.0;
    page.heading(&capitalised(&figure.with_unit(units)));
    page.y += 4.0;
    let names: Vec<String> = shown.iter().map(|(variant, _)| names.name(*variant)).collect();
    let lines = Lines::new(page.y, &names);
    let area = lines.area();
    let across =
        Across::new(area, if least >= 0.0 && least < 0.6 * most { 0.0 } else { least }, most.max(least + 1e-9));
    across.grid(&mut page);
    for (line, ((_, found), name)) in shown.iter().zip(&names).enumerate() {
        lines.name(&mut page, line, name);
        strip(&mut page, lines.y(line), |share| Some(across.x(scale.value(at(found, share)?))));
    }
    for bound in &bounds {
        bound.draw(&mut page, across.x(scale.value(bound.at)), &area);
    }
    page.y = area.bottom + 0.9 * BODY;
    across.labels(&mut page);
    axis_name(&mut page, &area, &figure.with_unit(units));
    key(&mut page, &bounds);
    if all.len() > shown.len() {
        page.paragraph(&format!("{} of {} variants; all are in variants.csv.", shown.len(), all.len()));
    }
    Some(page)
}

/// Places of so many variants that a page has room for, evenly from the first to the last.
fn spread(count: usize) -> Vec<usize> {
    if count <= MOST { (0..count).collect() } else { (0..MOST).map(|at| at * (count - 1) / (MOST - 1)).collect() }
}

/// The value at a share of the ladder.
fn at(found: &FigureTold, share: f64) -> Option<f64> {
    found.ladder.get(LADDER.iter().position(|known| *known == share)?).copied()
}

/// Strips from share to share, and the median.
fn strip(page: &mut Page, y: f64, x: impl Fn(f64) -> Option<f64>) {
    for ((from, to), height) in SHARES.into_iter().zip(HEIGHTS) {
        if let (Some(from), Some(to)) = (x(from), x(to)) {
            page.fill(bar(from, to, y, height), WATER);
        }
    }
    if let Some(x) = x(0.5) {
        page.fill(bar(x - 1.75, x + 1.75, y, HEIGHTS[2] + 3.0), WATER);
        page.fill(bar(x - 0.9, x + 0.9, y, HEIGHTS[2]), PAPER);
    }
}

fn key(page: &mut Page, bounds: &[Bound]) {
    page.key(
        "half of the runs, nine in ten, and all but one in fifty; the white line is the middle run",
        |page, area| {
            let x = |share: f64| Some(area.left + area.width() * share);
            strip(page, middle(&area), x);
        },
    );
    for bound in bounds {
        page.key(&bound.said, |page, area| {
            let x = 0.5 * (area.left + area.right);
            bound.draw(page, x, &area);
        });
    }
}
