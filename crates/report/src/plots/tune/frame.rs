//! The field of the map: flows to places on the page, what lies outside cut off, and areas hatched.

use crate::chart::{Area, Ink, Page, Point};

/// A closed outline on the page; the last point is the first.
pub(super) type Ring = Vec<Point>;

/// Reject flow to the right, recycle flow up, both from zero, in the reader's unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) area: Area,
    pub(super) most: (f64, f64),
    /// L/s in one of the reader's unit.
    pub(super) unit_lps: f64,
    /// Nothing is recycled: up the field nothing changes.
    pub(super) flat: bool,
}

impl Frame {
    /// The place of a reject and a recycle flow in L/s; not cut off.
    pub(super) fn point(&self, [reject_lps, recycle_lps]: [f64; 2]) -> Point {
        let Self { area, most, unit_lps, .. } = self;
        (
            area.left + area.width() * reject_lps / unit_lps / most.0,
            area.bottom - area.height() * recycle_lps / unit_lps / most.1,
        )
    }

    /// Outlines within the field.
    pub(super) fn rings(&self, outlines: &[Vec<[f64; 2]>]) -> Vec<Ring> {
        let placed = outlines.iter().map(|outline| outline.iter().map(|spot| self.point(*spot)).collect());
        placed.map(|ring| self.cut(ring)).filter(|ring| ring.len() > 3).collect()
    }

    /// A line within the field, in as many parts as are left of it.
    pub(super) fn paths(&self, line: &[[f64; 2]]) -> Vec<Vec<Point>> {
        let mut parts: Vec<Vec<Point>> = Vec::new();
        for pair in line.windows(2) {
            let Some((from, to)) = self.within(self.point(pair[0]), self.point(pair[1])) else { continue };
            match parts.last_mut() {
                Some(part) if part.last() == Some(&from) => part.push(to),
                _ => parts.push(vec![from, to]),
            }
        }
        parts
    }

    /// Cut along each side of the field in turn (Sutherland and Hodgman 1974, "Reentrant polygon clipping").
    fn cut(&self, ring: Ring) -> Ring {
        let Area { left, right, top, bottom } = self.area;
        // How far inside a point is.
        let sides: [&dyn Fn(Point) -> f64; 4] =
            [&|(x, _)| x - left, &|(x, _)| right - x, &|(_, y)| y - top, &|(_, y)| bottom - y];
        sides.into_iter().fold(ring, |ring, side| {
            let mut kept: Ring = Vec::new();
            for pair in ring.windows(2) {
                let (from, to) = (side(pair[0]), side(pair[1]));
                if from >= 0.0 {
                    kept.push(pair[0]);
                }
                if (from >= 0.0) != (to >= 0.0) {
                    kept.push(between(pair[0], pair[1], from / (from - to)));
                }
            }
            kept.extend(kept.first().copied());
            kept
        })
    }

    /// The part of a straight line within the field.
    fn within(&self, from: Point, to: Point) -> Option<(Point, Point)> {
        let Area { left, right, top, bottom } = self.area;
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let (mut start, mut end) = (0.0_f64, 1.0_f64);
        for (slope, room) in [(-dx, from.0 - left), (dx, right - from.0), (-dy, from.1 - top), (dy, bottom - from.1)] {
            if slope == 0.0 {
                if room < 0.0 {
                    return None;
                }
            } else if slope < 0.0 {
                start = start.max(room / slope);
            } else {
                end = end.min(room / slope);
            }
        }
        (start < end).then(|| {
            let at =
                |share: f64, whole: Point| if share == 0.0 || share == 1.0 { whole } else { between(from, to, share) };
            (at(start, from), at(end, to))
        })
    }
}

fn between(from: Point, to: Point, share: f64) -> Point {
    (from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1))
}

/// Whether a place is within outlines, by the even-odd rule.
pub(super) fn is_within(rings: &[Ring], (x, y): Point) -> bool {
    let crosses = |pair: &&[Point]| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        (y0 > y) != (y1 > y) && x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    };
    rings.iter().flat_map(|ring| ring.windows(2)).filter(crosses).count() % 2 == 1
}

/// Hatches what is within outlines with lines along a direction of unit length.
pub(super) fn hatch(page: &mut Page, rings: &[Ring], along: Point, ink: Ink) {
    const STEP: f64 = 7.0;
    // In a frame turned so that the lines lie flat: `t` along them, `n` across.
    let turned = |(x, y): Point| (x * along.0 + y * along.1, y * along.0 - x * along.1);
    let back = |(t, n): Point| (t * along.0 - n * along.1, t * along.1 + n * along.0);
    let rings: Vec<Ring> = rings.iter().map(|ring| ring.iter().map(|point| turned(*point)).collect()).collect();
    let all = || rings.iter().flatten().map(|(_, n)| *n);
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let mut n = (low / STEP).ceil() * STEP;
    while n < high {
        let mut crossings: Vec<f64> = rings
            .iter()
            .flat_map(|ring| ring.windows(2))
            .filter(|pair| (pair[0].1 > n) != (pair[1].1 > n))
            .map(|pair| between(pair[0], pair[1], (n - pair[0].1) / (pair[1].1 - pair[0].1)).0)
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2).filter(|pair| pair[1] - pair[0] > 0.5) {
            page.line(back((pair[0], n)), back((pair[1], n)), ink, 1.0);
        }
        n += STEP;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Frame {
        Frame { area: Area::new(0.0, 0.0, 100.0, 100.0), most: (10.0, 10.0), unit_lps: 1.0, flat: false }
    }

    fn area(ring: &Ring) -> f64 {
        0.5 * ring.windows(2).map(|pair| pair[0].0 * pair[1].1 - pair[1].0 * pair[0].1).sum::<f64>().abs()
    }

    #[test]
    fn exact_outlines_are_cut_at_the_field() {
        let square = vec![[5.0, 5.0], [15.0, 5.0], [15.0, 15.0], [5.0, 15.0], [5.0, 5.0]];
        let rings = frame().rings(&[square]);
        assert!((area(&rings[0]) - 2_500.0).abs() < 1e-9, "{rings:?}");
        assert!(is_within(&rings, (75.0, 25.0)) && !is_within(&rings, (25.0, 75.0)));
        assert!(frame().rings(&[vec![[11.0, 1.0], [12.0, 1.0], [12.0, 2.0], [11.0, 1.0]]]).is_empty());
    }

    #[test]
    fn exact_lines_are_cut_into_what_is_left() {
        let line = [[-5.0, 5.0], [5.0, 5.0], [5.0, 15.0], [8.0, 15.0], [8.0, 5.0]];
        let parts = frame().paths(&line);
        assert_eq!(parts, [vec![(0.0, 50.0), (50.0, 50.0), (50.0, 0.0)], vec![(80.0, 0.0), (80.0, 50.0)]]);
    }

    #[test]
    fn exact_hatching_leaves_holes_blank() {
        let square = |low: f64, high: f64| vec![[low, low], [high, low], [high, high], [low, high], [low, low]];
        let rings = frame().rings(&[square(1.0, 9.0), square(4.0, 6.0)]);
        let mut page = Page::new("", "");
        let before = page.shapes.len();
        hatch(&mut page, &rings, (1.0, 0.0), crate::chart::ink::TROUBLE);
        // Multiples of 7 from 14 to 84; three of them, 42, 49 and 56, cross the hole.
        assert_eq!(page.shapes.len() - before, 11 + 3);
    }
}
