//! Lines of equal value, and outlines of where a value is above zero, on a bent grid.
//!
//! Every cell is cut in two triangles; a line crosses a triangle straight or not at all, so no crossing is ambiguous.

use std::collections::BTreeMap;

/// A place in data units.
pub(super) type Spot = [f64; 2];

/// Where the nodes of a grid lie: all of the first row, then all of the next.
pub(super) struct Sheet {
    pub(super) columns: usize,
    pub(super) rows: usize,
    pub(super) spots: Vec<Spot>,
}

/// The edge of a triangle, by its nodes, the lower first.
type Edge = (usize, usize);

impl Sheet {
    /// Lines along which a value is at a level; closed ones end where they begin.
    pub(super) fn lines(&self, values: &[f64], level: f64) -> Vec<Vec<Spot>> {
        let segments = self.segments(values, level);
        let mut meet: BTreeMap<Edge, Vec<usize>> = BTreeMap::new();
        for (i, segment) in segments.iter().enumerate() {
            for edge in segment {
                meet.entry(*edge).or_default().push(i);
            }
        }
        // Open lines first, from an end; what is left is closed.
        let ends = meet.iter().filter(|(_, segments)| segments.len() == 1).map(|(edge, _)| *edge);
        let starts: Vec<Edge> = ends.chain(meet.keys().copied()).collect();
        let mut used = vec![false; segments.len()];
        let mut lines = Vec::new();
        for start in starts {
            let mut edge = start;
            let mut line = vec![self.crossing(values, level, edge)];
            while let Some(i) = meet.get(&edge).and_then(|all| all.iter().copied().find(|i| !used[*i])) {
                used[i] = true;
                edge = if segments[i][0] == edge { segments[i][1] } else { segments[i][0] };
                line.push(self.crossing(values, level, edge));
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }

    /// Closed outlines of where a value is above zero; an outline within another is a hole. Along the rim of the sheet they
    /// follow the rim.
    pub(super) fn outlines(&self, values: &[f64]) -> Vec<Vec<Spot>> {
        // One more node all round, in the place of its neighbour, where the value is below.
        let (columns, rows) = (self.columns + 2, self.rows + 2);
        let mut spots = Vec::with_capacity(columns * rows);
        let mut padded = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let inner = |i: usize, count: usize| i.clamp(1, count) - 1;
                let node = inner(row, self.rows) * self.columns + inner(column, self.columns);
                let rim = row == 0 || column == 0 || row + 1 == rows || column + 1 == columns;
                spots.push(self.spots[node]);
                padded.push(if rim { -1.0 } else { values[node] });
            }
        }
        Self { columns, rows, spots }.lines(&padded, 0.0)
    }

    fn segments(&self, values: &[f64], level: f64) -> Vec<[Edge; 2]> {
        let mut segments = Vec::new();
        for row in 1..self.rows {
            for column in 1..self.columns {
                let last = row * self.columns + column;
                let [a, b, c, d] = [last - self.columns - 1, last - self.columns, last - 1, last];
                for [i, j, k] in [[a, b, d], [a, c, d]] {
                    let crossed = |(i, j): Edge| (values[i] > level) != (values[j] > level);
                    let mut edges = [(i, j), (j, k), (i, k)].into_iter().filter(|edge| crossed(*edge));
                    if let (Some(from), Some(to)) = (edges.next(), edges.next()) {
                        segments.push([from, to]);
                    }
                }
            }
        }
        segments
    }

    fn crossing(&self, values: &[f64], level: f64, (i, j): Edge) -> Spot {
        let share = ((level - values[i]) / (values[j] - values[i])).clamp(0.0, 1.0);
        let along = |axis: usize| self.spots[i][axis] + share * (self.spots[j][axis] - self.spots[i][axis]);
        [along(0), along(1)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five by four nodes, a unit apart.
    fn sheet(value: impl Fn(f64, f64) -> f64) -> (Sheet, Vec<f64>) {
        let spots: Vec<Spot> = (0..20_u8).map(|i| [f64::from(i % 5), f64::from(i / 5)]).collect();
        let values = spots.iter().map(|[x, y]| value(*x, *y)).collect();
        (Sheet { columns: 5, rows: 4, spots }, values)
    }

    fn area(ring: &[Spot]) -> f64 {
        0.5 * ring.windows(2).map(|pair| pair[0][0] * pair[1][1] - pair[1][0] * pair[0][1]).sum::<f64>()
    }

    #[test]
    fn exact_straight_line_goes_from_rim_to_rim() {
        let (sheet, values) = sheet(|x, y| x + y);
        let lines = sheet.lines(&values, 2.5);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].iter().all(|[x, y]| (x + y - 2.5).abs() < 1e-12));
        let mut ends = [lines[0][0], lines[0][lines[0].len() - 1]];
        ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(ends, [[0.0, 2.5], [2.5, 0.0]]);
        assert!(sheet.lines(&values, 99.0).is_empty());
    }

    #[test]
    fn exact_outlines_enclose_what_is_above() {
        let (sheet, values) = sheet(|x, _| x - 1.5);
        let rings = sheet.outlines(&values);
        assert_eq!(rings.len(), 1);
        assert_eq!(rings[0][0], rings[0][rings[0].len() - 1]);
        // From 1.5 to 4, 3 high.
        assert!((area(&rings[0]).abs() - 7.5).abs() < 1e-12, "{rings:?}");
    }

    #[test]
    fn exact_hole_is_an_outline_of_its_own() {
        let (sheet, values) = sheet(|x, y| if (x, y) == (2.0, 1.0) { -1.0 } else { 1.0 });
        let mut areas: Vec<f64> = sheet.outlines(&values).iter().map(|ring| area(ring).abs()).collect();
        areas.sort_by(f64::total_cmp);
        // Half way to each of six neighbours: six triangles of an eighth each.
        assert_eq!(areas, [0.75, 12.0]);
    }
}
