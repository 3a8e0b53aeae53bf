//! By how much each variant differs from the reference on the same mornings.

use springhouse_study::many::FigureTold;
use springhouse_study::sure::Interval;

use super::{Lines, axis_name, bar, middle, whisker};
use crate::chart::across::Across;
use crate::chart::ink::{LEVEL, QUIET, WATER};
use crate::chart::{BODY, Ink, Page};
use crate::phrase::capitalised;
use crate::study::{Names, Told, text};

/// Variants that have room on a page.
const MOST: usize = 20;
const HEIGHT: f64 = 13.0;
const BAR: Ink = WATER.thin(0.35);

/// A variant and its difference.
struct Bar {
    variant: usize,
    difference: f64,
    paired: Interval,
    /// The interval of the same two means, had each met mornings of its own.
    unpaired: Option<Interval>,
}

/// `None` where no figure differs, and of a design whose points are no variants.
pub(in crate::plots) fn page(told: &Told<'_>) -> Option<Page> {
    let place = text::compared(told).filter(|_| told.is_sweep())?;
    let reference = told.found(told.plan.reference, place);
    let of = |variant: usize| {
        let found = told.found(variant, place)?;
        let paired = found.against?.difference;
        let unpaired = reference.and_then(|reference| unpaired(paired.mean, reference, found));
        Some(Bar { variant, difference: paired.mean, paired: paired.bounds, unpaired })
    };
    let mut bars: Vec<Bar> =
        (0..told.variants.len()).filter(|variant| *variant != told.plan.reference).filter_map(of).collect();
    bars.sort_by(|a, b| b.difference.abs().total_cmp(&a.difference.abs()));
    let all = bars.len();
    bars.truncate(MOST);
    let (figure, units, names) = (told.figure(place), told.units(), Names::of(told));
    let reference = names.name(told.plan.reference);
    let scale = figure.scale(units);
    let largest = bars.first()?;
    let title = format!(
        "{} {} with {} against {reference}",
        capitalised(&figure.words),
        figure.difference_said(units, largest.difference),
        names.name(largest.variant)
    );
    let mut page = Page::new(&title, &text::subject(told));
    page.y += 12.0;
    page.heading(&format!("Difference in the mean of {}", figure.with_unit(units)));
    page.y += 4.0;
    let names: Vec<String> = bars.iter().map(|bar| names.name(bar.variant)).collect();
    let lines = Lines::new(page.y, &names);
    let area = lines.area();
    let (least, most) = reach(&bars);
    let across = Across::new(area, scale.difference(least), scale.difference(most));
    across.grid(&mut page);
    let x = |value: f64| across.x(scale.difference(value));
    for (line, (it, name)) in bars.iter().zip(&names).enumerate() {
        let y = lines.y(line);
        lines.name(&mut page, line, name);
        page.fill(bar(x(0.0), x(it.difference), y, HEIGHT), BAR);
        if let Some(unpaired) = it.unpaired {
            page.line((x(unpaired.low), y), (x(unpaired.high), y), QUIET, 0.75);
        }
        whisker(&mut page, (x(it.paired.low), x(it.paired.high)), y, 2.0);
    }
    page.line((x(0.0), area.top), (x(0.0), area.bottom), LEVEL, 1.25);
    page.y = area.bottom + 0.9 * BODY;
    across.labels(&mut page);
    axis_name(&mut page, &area, &format!("against {reference}"));
    let is_cut = bars.iter().filter_map(|it| it.unpaired).any(|it| it.low < least || it.high > most);
    key(&mut page, told, is_cut);
    if all > bars.len() {
        page.paragraph(&format!("The {} largest of {all} differences; all are in variants.csv.", bars.len()));
    }
    Some(page)
}

/// From where to where the picture reaches: all of the bars and of their own intervals, and as much again for the wider ones.
fn reach(bars: &[Bar]) -> (f64, f64) {
    let ends = |of: &dyn Fn(&Bar) -> Option<Interval>| {
        let found = bars.iter().filter_map(of);
        found.fold((0.0_f64, 0.0_f64), |(least, most), it| (least.min(it.low), most.max(it.high)))
    };
    let (least, most) = ends(&|it| Some(it.paired));
    let (wider_least, wider_most) = ends(&|it| it.unpaired);
    let more = most - least;
    (wider_least.max(least - more).min(least), wider_most.min(most + more).max(most))
}

/// Means of runs that met mornings of their own differ as surely as the root of the sum of the squares of their half-widths allows, each
/// of as many runs as there are pairs. It is a little wider than Welch's interval, whose degrees of freedom are those of both together.
#[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
fn unpaired(difference: f64, first: &FigureTold, second: &FigureTold) -> Option<Interval> {
    let pairs = first.runs.min(second.runs);
    let half = |figure: &FigureTold| {
        let own = figure.mean?.bounds.half_width();
        Some(own * (figure.runs as f64 / pairs as f64).sqrt())
    };
    let half = libm::hypot(half(first)?, half(second)?);
    Some(Interval { low: difference - half, high: difference + half })
}

fn key(page: &mut Page, told: &Told<'_>, is_cut: bool) {
    let confidence = text::confidence(told);
    page.key("mean of the differences, run by run on the same mornings", |page, area| page.fill(area, BAR));
    page.key(&format!("its {confidence} % interval"), |page, area| {
        whisker(page, (area.left + 2.0, area.right - 2.0), middle(&area), 2.0);
    });
    let cut = if is_cut { "; some reach beyond the picture" } else { "" };
    page.key(&format!("the interval if each had met as many mornings of its own{cut}"), |page, area| {
        page.line((area.left, middle(&area)), (area.right, middle(&area)), QUIET, 0.75);
    });
}

#[cfg(test)]
mod tests {
    use springhouse_study::sure::{Confidence, Mean, mean, paired, quantile};

    use super::*;

    /// Two figures that rise together: pairs know their difference ten times as well.
    #[test]
    fn exact_unpaired_interval_is_that_of_two_means() {
        let first: Vec<f64> = (0..40).map(f64::from).collect();
        let second: Vec<f64> = (0..40).map(|i| f64::from(i) + 3.0 + f64::from(i % 2)).collect();
        let told = |values: &[f64]| {
            let at = quantile(values, 0.5, Confidence::USUAL).unwrap();
            let of: Option<Mean> = mean(values, Confidence::USUAL);
            FigureTold { runs: 40, mean: of, median: at, low: at, high: at, ladder: Vec::new(), against: None }
        };
        let it = unpaired(3.5, &told(&first), &told(&second)).unwrap();
        // t of 39 degrees of freedom, 2.0226909 (table), times sqrt ((s1² + s2²) / 40); s1² = 40 * 41 / 12.
        let s2 = told(&second).mean.unwrap().deviation;
        let half = 2.022_690_9 * ((40.0 * 41.0 / 12.0 + s2 * s2) / 40.0).sqrt();
        assert!((it.half_width() - half).abs() < 1e-6 && (it.low - (3.5 - half)).abs() < 1e-6, "{it:?} {half}");
        // A reference with four times the runs and half the half-width says the same of as many.
        let mut many = told(&first);
        many.runs = 160;
        many.mean = many.mean.map(|it| {
            let half = 0.5 * it.bounds.half_width();
            Mean { bounds: Interval { low: it.mean - half, high: it.mean + half }, ..it }
        });
        assert!((unpaired(3.5, &many, &told(&second)).unwrap().half_width() - half).abs() < 1e-6);
        let pairs = paired(&first, &second, Confidence::USUAL).unwrap();
        assert!(it.half_width() > 10.0 * pairs.difference.bounds.half_width());
    }
}
