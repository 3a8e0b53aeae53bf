//! The way over a grid of settings that turns one valve at a time.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::steps::Valve;

/// Most turns of a way.
pub(super) const MOST_TURNS: usize = 8;

/// A setting of the grid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Node {
    pub(super) reject: usize,
    pub(super) recycle: usize,
}

/// What it costs to stand at a setting.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Toll {
    /// How far it is beyond limits, in whole steps; zero within.
    pub(super) beyond: u32,
    /// How near it is to them.
    pub(super) strain: u32,
}

/// Tolls of a grid: all of the first recycle opening, then all of the next.
pub(super) struct Tolls {
    pub(super) rejects: usize,
    pub(super) recycles: usize,
    pub(super) at: Vec<Toll>,
}

/// Where a search stands: a setting, the valve that was turned last, and how often the valve has changed.
#[derive(Clone, Copy)]
struct Stand {
    node: Node,
    last: Option<Valve>,
    turns: usize,
}

/// What a way costs, the most important first.
type Cost = (u32, u32, u32);

impl Tolls {
    /// The way from one setting to another with the fewest settings beyond limits, without passing a worse one than any way
    /// must; of these the one with the fewest turns, and of these the one furthest from limits. Every setting of it in turn.
    pub(super) fn way(&self, from: Node, to: Node) -> Vec<Node> {
        let worst = |cost: Cost, toll: Toll, _: bool| (cost.0.max(toll.beyond), 0, 0);
        let Some((least, way)) = self.search(from, to, u32::MAX, worst) else { return vec![from, to] };
        let sum = |cost: Cost, toll: Toll, turns: bool| {
            (cost.0.saturating_add(toll.beyond), cost.1 + u32::from(turns), cost.2.saturating_add(toll.strain))
        };
        self.search(from, to, least.0, sum).map_or(way, |(_, way)| way)
    }

    fn toll(&self, node: Node) -> Toll {
        self.at[node.recycle * self.rejects + node.reject]
    }

    /// Dijkstra's search among settings that are not further beyond limits than `most_beyond`.
    fn search(
        &self,
        from: Node,
        to: Node,
        most_beyond: u32,
        pay: impl Fn(Cost, Toll, bool) -> Cost,
    ) -> Option<(Cost, Vec<Node>)> {
        let count = self.place_count();
        let mut best: Vec<Option<Cost>> = vec![None; count];
        let mut before: Vec<usize> = vec![usize::MAX; count];
        let start = Stand { node: from, last: None, turns: 0 };
        let first = pay((0, 0, 0), self.toll(from), false);
        best[self.place(start)] = Some(first);
        let mut open = BinaryHeap::from([Reverse((first, self.place(start)))]);
        while let Some(Reverse((cost, place))) = open.pop() {
            if best[place].is_some_and(|known| known < cost) {
                continue;
            }
            let stand = self.stand(place);
            if stand.node == to {
                let mut way: Vec<Node> =
                    core::iter::successors(Some(place), |place| Some(before[*place]).filter(|before| *before < count))
                        .map(|place| self.stand(place).node)
                        .collect();
                way.reverse();
                return Some((cost, way));
            }
            for (node, valve) in self.neighbours(stand.node) {
                let turned = stand.last != Some(valve);
                let next = Stand { node, last: Some(valve), turns: stand.turns + usize::from(turned) };
                let toll = self.toll(node);
                if next.turns > MOST_TURNS || toll.beyond > most_beyond {
                    continue;
                }
                let (next_cost, next_place) = (pay(cost, toll, turned), self.place(next));
                if best[next_place].is_none_or(|known| next_cost < known) {
                    best[next_place] = Some(next_cost);
                    before[next_place] = place;
                    open.push(Reverse((next_cost, next_place)));
                }
            }
        }
        None
    }

    /// Settings one notch away, and the valve that is turned to get there.
    fn neighbours(&self, node: Node) -> impl Iterator<Item = (Node, Valve)> {
        let Node { reject, recycle } = node;
        let at = |reject: Option<usize>, recycle: Option<usize>, valve: Valve| {
            let (reject, recycle) = (reject?, recycle?);
            let inside = reject < self.rejects && recycle < self.recycles;
            inside.then_some((Node { reject, recycle }, valve))
        };
        [
            at(Some(reject + 1), Some(recycle), Valve::Reject),
            at(reject.checked_sub(1), Some(recycle), Valve::Reject),
            at(Some(reject), Some(recycle + 1), Valve::Recycle),
            at(Some(reject), recycle.checked_sub(1), Valve::Recycle),
        ]
        .into_iter()
        .flatten()
    }

    fn place_count(&self) -> usize {
        (MOST_TURNS + 1) * LASTS.len() * self.at.len()
    }

    fn place(&self, stand: Stand) -> usize {
        let last = stand.last.map_or(0, |valve| if valve == Valve::Reject { 1 } else { 2 });
        ((stand.turns * LASTS.len() + last) * self.recycles + stand.node.recycle) * self.rejects + stand.node.reject
    }

    fn stand(&self, place: usize) -> Stand {
        let (above, within) = (place / self.at.len(), place % self.at.len());
        Stand {
            node: Node { reject: within % self.rejects, recycle: within / self.rejects },
            last: LASTS[above % LASTS.len()],
            turns: above / LASTS.len(),
        }
    }
}

/// Valves that may have been turned last.
const LASTS: [Option<Valve>; 3] = [None, Some(Valve::Reject), Some(Valve::Recycle)];

#[cfg(test)]
mod tests {
    use super::*;

    /// A grid from rows of digits, each a setting's toll; the first row is recycle shut.
    fn tolls(rows: &[&str]) -> Tolls {
        let toll = |digit: u8| Toll { beyond: u32::from(digit - b'0'), strain: 0 };
        Tolls {
            rejects: rows[0].len(),
            recycles: rows.len(),
            at: rows.iter().flat_map(|row| row.bytes().map(toll)).collect(),
        }
    }

    fn turns(way: &[Node]) -> usize {
        let reject = |pair: &[Node]| pair[0].reject != pair[1].reject;
        let moves: Vec<bool> = way.windows(2).map(reject).collect();
        1 + moves.windows(2).filter(|pair| pair[0] != pair[1]).count()
    }

    fn node(reject: usize, recycle: usize) -> Node {
        Node { reject, recycle }
    }

    #[test]
    fn exact_way_goes_round_what_is_forbidden() {
        let grid = tolls(&["0000", "9990", "0000", "0999", "0000"]);
        let way = grid.way(node(0, 0), node(3, 4));
        assert_eq!((way[0], way[way.len() - 1]), (node(0, 0), node(3, 4)));
        assert!(way.iter().all(|node| grid.toll(*node).beyond == 0));
        assert_eq!((way.len(), turns(&way)), (14, 5));
    }

    #[test]
    fn exact_least_bad_gap_is_taken_where_there_is_no_other() {
        let grid = tolls(&["0000", "9299", "0000", "9992"]);
        let way = grid.way(node(3, 0), node(3, 2));
        assert!(way.contains(&node(1, 1)), "{way:?}");
        // Worst of all is the end, so no setting between is passed over for being as bad; the sum decides.
        let down = grid.way(node(3, 0), node(3, 3));
        assert_eq!(down.iter().map(|node| grid.toll(*node).beyond).sum::<u32>(), 4);
    }

    #[test]
    fn exact_fewest_turns_then_furthest_from_limits() {
        let mut grid = tolls(&["000", "000", "000"]);
        // The corner where recycle is opened first is near a limit.
        grid.at[2 * 3].strain = 5;
        let way = grid.way(node(0, 0), node(2, 2));
        assert_eq!(turns(&way), 2);
        assert!(way.contains(&node(2, 0)));
        assert_eq!(grid.way(node(1, 1), node(1, 1)), [node(1, 1)]);
    }
}
