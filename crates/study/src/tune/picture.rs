//! What an installer must see of a map: axes as read on the two flow meters.

use serde::Serialize;

use super::advise::Advice;
use super::axes::Axes;
use super::contour::{Sheet, Spot};
use super::judge::Judge;
use super::limit::Limit;
use super::map::{Grid, Size};
use super::point::{Point, Work};
use super::question::{Question, TuneError};
use super::season::{Season, Seasons};
use super::steps::Step;

/// A map to be drawn. Every place is a reject and a recycle flow in typical water at the typical inlet pressure, L/s.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Picture {
    /// Largest reject flow of the map, L/s.
    pub most_reject_lps: f64,
    /// Largest recycle flow of the map, L/s. Where nothing can be recycled the map is a band from 0 to 1, the same all the way up.
    pub most_recycle_lps: f64,
    /// Closed outlines of where all limits are kept in all seasons, as those of an [`Area`]; none where no setting keeps them.
    pub allowed: Vec<Vec<[f64; 2]>>,
    /// Where settings are forbidden, one for each limit that forbids any.
    pub forbidden: Vec<Area>,
    /// Lines of equal waste, L/L.
    pub waste: Vec<Line>,
    /// Lines of equal product, L/day if it ran all day.
    pub product: Vec<Line>,
    /// The present setting; `None` where the unit makes no product.
    pub present: Option<Mark>,
    /// The advised setting; `None` where the unit makes no product.
    pub advised: Option<Mark>,
    /// The present setting and where each step leads, in turn.
    pub path: Vec<Mark>,
}

/// An area that a limit forbids.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Area {
    /// Which limit, in the season that strains it most.
    pub limit: Limit,
    /// Closed outlines of reject and recycle flows, to be filled by the even-odd rule: one within another is a hole.
    pub outlines: Vec<Vec<[f64; 2]>>,
}

/// A line along which something is the same.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// How much of it.
    pub value: f64,
    /// Its parts, each through reject and recycle flows.
    pub parts: Vec<Vec<[f64; 2]>>,
}

/// A setting on the picture.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// Reject flow, L/s.
    pub reject_lps: f64,
    /// Recycle flow, L/s.
    pub recycle_lps: f64,
}

/// Finer than a map to search on, for the eye.
const SIZE: Size = Size { reject: 48, recycle: 32 };
/// Lines of waste worth a label, L/L.
const WASTES: [f64; 9] = [0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0];
/// Fewest lines of product.
const LINES: f64 = 4.0;
/// Waste where nothing works: beyond any line.
const ALL_WASTED: f64 = 1e9;

/// What is to be drawn of a question, its advice and the steps to it; lines of product are at round multiples of
/// `product_unit_l_day`, for a reader who counts in another unit.
///
/// # Errors
/// When the question cannot be answered.
pub fn picture(
    question: &Question,
    advice: &Advice,
    steps: &[Step],
    product_unit_l_day: f64,
) -> Result<Picture, TuneError> {
    question.check()?;
    let judge = Judge::of(question);
    let axes = Axes::of(&judge)?;
    let grid = Grid::of(&axes, SIZE);
    let mut points: Vec<Seasons<Point>> = grid.places().map(|place| judge.points(axes.valves(place))).collect();
    let (columns, mut rows) = (grid.rejects().count(), grid.recycles().count());
    let mut spots = spots(&points, columns);
    if rows == 1 {
        spots.extend_from_within(..);
        points.extend_from_within(..);
        spots.iter_mut().enumerate().for_each(|(i, spot)| spot[1] = if i < columns { 0.0 } else { 1.0 });
        rows = 2;
    }
    let sheet = Sheet { columns, rows, spots };
    let typical = |of: fn(&Work) -> f64, otherwise: f64| -> Vec<f64> {
        points.iter().map(|point| point.typical.work.as_ref().map_or(otherwise, of)).collect()
    };
    let area = |limit: Limit| {
        let over: Vec<f64> = points.iter().map(|points| judge.worst(points, limit).0).collect();
        let outlines = sheet.outlines(&over);
        (!outlines.is_empty()).then_some(Area { limit, outlines })
    };
    let line = |values: &[f64], value: f64| {
        let parts = sheet.lines(values, value);
        (!parts.is_empty()).then_some(Line { value, parts })
    };
    let waste = typical(|work| work.waste_l_per_l, ALL_WASTED);
    let product = typical(|work| work.product_l_day, 0.0);
    let required = advice.aim.requires();
    let kept: Vec<f64> = points
        .iter()
        .map(|points| -required.iter().map(|limit| judge.worst(points, limit).0).fold(f64::NEG_INFINITY, f64::max))
        .collect();
    let most = |axis: usize| sheet.spots.iter().fold(0.0_f64, |most, spot| most.max(spot[axis]));
    let present = advice.present.get(Season::Typical);
    Ok(Picture {
        most_reject_lps: most(0),
        most_recycle_lps: most(1),
        allowed: sheet.outlines(&kept),
        forbidden: required.iter().filter_map(area).collect(),
        waste: WASTES.into_iter().filter_map(|value| line(&waste, value)).collect(),
        product: rounds(&product, product_unit_l_day).into_iter().filter_map(|value| line(&product, value)).collect(),
        present: mark(present),
        advised: mark(advice.advised.get(Season::Typical)),
        path: core::iter::once(present).chain(steps.iter().map(|step| &step.read)).filter_map(mark).collect(),
    })
}

fn mark(point: &Point) -> Option<Mark> {
    point.work.as_ref().map(|work| Mark { reject_lps: work.reject_lps, recycle_lps: work.recycle_lps })
}

/// Where settings lie. One that does not work is put beside the last of its row that does.
fn spots(points: &[Seasons<Point>], columns: usize) -> Vec<Spot> {
    let mut spots: Vec<Spot> = Vec::with_capacity(points.len());
    for (i, point) in points.iter().enumerate() {
        let before = if i % columns == 0 { None } else { spots.last().copied() };
        let own = mark(&point.typical).map(|mark| [mark.reject_lps, mark.recycle_lps]);
        spots.push(own.or(before).unwrap_or([0.0, 0.0]));
    }
    spots
}

/// Round values between none and the most: multiples of 1, 2 or 5 times a power of ten of a unit.
fn rounds(values: &[f64], unit: f64) -> Vec<f64> {
    let most = values.iter().copied().fold(0.0_f64, f64::max) / unit;
    if most <= 0.0 {
        return Vec::new();
    }
    let ten = libm::pow(10.0, libm::floor(libm::log10(most / LINES)));
    let step = [5.0, 2.0, 1.0].into_iter().map(|round| round * ten).find(|step| LINES * step <= most).unwrap_or(ten);
    (1..=20_u8).map(|i| f64::from(i) * step).take_while(|value| *value < most).map(|value| value * unit).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Aim, Limits, advise, fixtures, steps};
    use super::*;

    #[test]
    fn exact_rounds() {
        assert_eq!(rounds(&[3.0, 97.0], 1.0), [20.0, 40.0, 60.0, 80.0]);
        assert_eq!(rounds(&[16_000.0], 1.0), [2_000.0, 4_000.0, 6_000.0, 8_000.0, 10_000.0, 12_000.0, 14_000.0]);
        assert_eq!(rounds(&[388.0], 4.0), [80.0, 160.0, 240.0, 320.0]);
        assert!(rounds(&[0.0], 1.0).is_empty());
    }

    /// Whether a place is within an area, by the even-odd rule.
    fn within(area: &Area, [x, y]: Spot) -> bool {
        let crosses = |pair: &[Spot]| {
            let [[x0, y0], [x1, y1]] = [pair[0], pair[1]];
            (y0 > y) != (y1 > y) && x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
        };
        area.outlines.iter().flat_map(|ring| ring.windows(2)).filter(|pair| crosses(pair)).count() % 2 == 1
    }

    #[test]
    fn exact_without_recycle_the_map_is_a_band() {
        let question = fixtures::without_pump();
        let advice = advise(&question, Aim::Enough).unwrap();
        let picture = picture(&question, &advice, &[], 1.0).unwrap();
        assert_eq!(picture.most_recycle_lps, 1.0);
        let low = picture.forbidden.iter().find(|area| area.limit == Limit::Concentrate).unwrap();
        let reject_lps = picture.advised.unwrap().reject_lps;
        // Its crossflow is its reject, and that is what binds.
        assert!(within(low, [0.9 * reject_lps, 0.5]) && !within(low, [1.1 * reject_lps, 0.5]));
    }

    #[test]
    fn exact_forbidden_areas_hold_the_settings_that_break_the_limit() {
        let question = fixtures::home();
        let advice = advise(&question, Aim::Enough).unwrap();
        let steps = steps(&question, advice.valves).unwrap();
        let picture = picture(&question, &advice, &steps, 1.0).unwrap();
        let judge = Judge::of(&question);
        let axes = Axes::of(&judge).unwrap();
        let (mut inside, mut wrong) = (0, 0);
        for place in Grid::of(&axes, Size { reject: 23, recycle: 17 }).places() {
            let points = judge.points(axes.valves(place));
            let Some(mark) = mark(&points.typical) else { continue };
            for limit in Limit::ALL {
                let (over, _) = judge.worst(&points, limit);
                let drawn = picture.forbidden.iter().find(|area| area.limit == limit);
                let drawn = drawn.is_some_and(|area| within(area, [mark.reject_lps, mark.recycle_lps]));
                inside += u32::from(drawn);
                // Outlines are straight within a cell of the picture, and the rim is drawn a little inside of itself.
                let on_rim = [place.reject, place.recycle].into_iter().any(|at| at == 0.0 || at == 1.0);
                wrong += u32::from(drawn != (over > 0.0) && over.abs() > 0.02 && !on_rim);
            }
        }
        assert!(inside > 100, "{inside}");
        assert_eq!(wrong, 0);
        let named: Limits = picture.forbidden.iter().map(|area| area.limit).collect();
        assert!(named.contains(Limit::Calcite) && named.contains(Limit::Concentrate), "{named:?}");
        assert_eq!((picture.path.len(), picture.path.last().copied()), (steps.len() + 1, picture.advised));
        assert!(picture.waste.len() > 3 && picture.product.len() > 2);
    }
}
