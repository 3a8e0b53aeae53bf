//! The best place between the cells of a map.
//!
//! At one opening of the recycle valve, opening the reject eases some limits (recovery, scaling, crossflow) and strains others
//! (product, pump). So what is allowed is a stretch whose ends are found by halving; flux, which is most somewhere between since
//! salt at the tail takes pressure, may cut it in two, of which the one near the map's best cell is followed. The best of each
//! stretch is sought over the openings of the recycle valve, all of the map's first and then ever smaller steps about the best:
//! the best setting is mostly a corner of what is allowed, where slopes lead nowhere.

use springhouse_core::membrane::valve::Valves;

use super::advise::{AS_GOOD, Aim};
use super::axes::{Axes, Place};
use super::judge::{Judge, Weighed};
use super::limit::Limits;
use super::map::Grid;
use super::season::Season;

/// How far on either side of the last stretch the next is looked for, as a share of the map.
const REACH: f64 = 0.15;
/// Halvings of a step across the end of a stretch: a thirty thousandth of the map.
const HALVINGS: u32 = 15;
/// Most rounds of steps along the recycle axis; each is a third of the one before, unless it led to its very end.
const MOST_ROUNDS: u32 = 20;
/// Steps of a golden section: to three thousandths.
const SECTIONS: u32 = 12;
/// Smallest step along an axis, and most steps of the search for the least excess.
const LEAST_STEP: f64 = 1e-4;
const MOST_STEPS: u32 = 400;

/// A search for the best setting.
pub(super) struct Search<'a, 'q> {
    pub(super) judge: &'a Judge<'q>,
    pub(super) axes: &'a Axes,
    pub(super) aim: Aim,
}

/// A setting within limits, and its score.
#[derive(Clone, Copy)]
pub(super) struct Kept {
    pub(super) place: Place,
    pub(super) score: f64,
}

impl Search<'_, '_> {
    pub(super) fn weigh(&self, place: Place) -> Weighed {
        self.judge.weigh(&self.judge.points(self.axes.valves(place)), self.aim)
    }

    fn required(&self) -> Limits {
        self.aim.requires()
    }

    fn keeps(&self, place: Place) -> bool {
        self.judge.keeps(self.axes.valves(place), self.required())
    }

    fn score(&self, place: Place) -> f64 {
        self.aim.score(&self.judge.point(self.axes.valves(place), Season::Typical))
    }

    /// The best place within limits; `starts` are places within them, and `grid` tells how far apart places are to be tried.
    pub(super) fn best(&self, starts: &[Kept], grid: Grid) -> Option<Kept> {
        let mut best = starts.iter().copied().reduce(better)?;
        let mut near = best.place.reject;
        for recycle in grid.recycles() {
            let column = starts.iter().copied().filter(|kept| kept.place.recycle == recycle).reduce(better);
            near = column.map_or(near, |kept| kept.place.reject);
            if let Some(found) = self.stretch(recycle, near) {
                near = found.place.reject;
                best = better(best, found);
            }
        }
        if !self.axes.recycles() {
            return Some(best);
        }
        let mut step = grid.cell().recycle;
        for _ in 0..MOST_ROUNDS {
            let middle = best.place;
            for thirds in [-3.0, -2.0, -1.0, 1.0, 2.0, 3.0] {
                let recycle = (middle.recycle + step * thirds / 3.0).clamp(0.0, 1.0);
                if let Some(found) = self.stretch(recycle, best.place.reject) {
                    best = better(best, found);
                }
            }
            if (best.place.recycle - middle.recycle).abs() < 0.9 * step {
                step /= 3.0;
            }
            if step < LEAST_STEP {
                break;
            }
        }
        Some(best)
    }

    /// A setting that leaves both valves as they are now, or else the recycle valve, where that is [as good](AS_GOOD) as the best:
    /// nobody turns a valve for less than meters tell.
    pub(super) fn left_as_set(&self, best: Kept) -> Option<(Valves, Weighed)> {
        let present = self.judge.question.unit.valves;
        let as_good = |valves: Valves| {
            let weighed = self.judge.weigh(&self.judge.points(valves), self.aim);
            (weighed.tightest <= 0.0 && weighed.score <= best.score + AS_GOOD).then_some((valves, weighed))
        };
        as_good(present).or_else(|| {
            let recycle = self.axes.recycle_place(present.recycle_kv)?;
            let found = self.stretch(recycle, best.place.reject)?;
            as_good(Valves { recycle_kv: present.recycle_kv, ..self.axes.valves(found.place) })
        })
    }

    /// The best place within limits at an opening of the recycle valve, on the stretch near a place of the reject valve.
    fn stretch(&self, recycle: f64, near: f64) -> Option<Kept> {
        let at = |reject: f64| Place { reject, recycle };
        let inside = if self.keeps(at(near)) {
            near
        } else {
            let (low, high) = ((near - REACH).max(0.0), (near + REACH).min(1.0));
            let strain = |reject: f64| self.weigh(at(reject)).tightest;
            let least = golden((low, high), strain, |strain| strain <= 0.0);
            if !self.keeps(at(least)) {
                return None;
            }
            least
        };
        let end = |mut outside: f64| {
            if self.keeps(at(outside)) {
                return outside;
            }
            let mut inside = inside;
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                if self.keeps(at(middle)) {
                    inside = middle;
                } else {
                    outside = middle;
                }
            }
            inside
        };
        let (low, high) = (end(0.0), end(1.0));
        let between = golden((low, high), |reject| self.score(at(reject)), |_| false);
        [low, between, high, inside]
            .into_iter()
            .filter(|reject| *reject != between || self.keeps(at(*reject)))
            .map(|reject| Kept { place: at(reject), score: self.score(at(reject)) })
            .reduce(better)
    }

    /// The place near one where required limits are exceeded by least.
    pub(super) fn least_excess(&self, start: Place, cell: Place) -> Place {
        let (mut place, mut least) = (start, self.weigh(start));
        let mut size = 1.0;
        for _ in 0..MOST_STEPS {
            let mut moved = None;
            for (reject, recycle) in AROUND {
                let next = Place {
                    reject: (place.reject + size * reject * cell.reject).clamp(0.0, 1.0),
                    recycle: (place.recycle + size * recycle * cell.recycle).clamp(0.0, 1.0),
                };
                let weighed = self.weigh(next);
                if weighed.is_less_bad(&least) {
                    least = weighed;
                    moved = Some(next);
                }
            }
            match moved {
                Some(next) => place = next,
                None => size *= 0.5,
            }
            if size < LEAST_STEP || least.excess <= 0.0 {
                break;
            }
        }
        place
    }
}

/// Steps to all sides, some of them aslant since limits cross aslant.
const AROUND: [(f64, f64); 12] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, 1.0),
    (0.0, -1.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (1.0, -1.0),
    (-1.0, 1.0),
    (0.3, 1.0),
    (-0.3, -1.0),
    (0.3, -1.0),
    (-0.3, 1.0),
];

impl Weighed {
    /// Whether limits are exceeded by less, or by as much with a better score.
    pub(super) fn is_less_bad(&self, other: &Self) -> bool {
        self.excess < other.excess || (self.excess == other.excess && self.score < other.score)
    }
}

/// The one with the lower score; the first of two equal ones.
pub(super) fn better(a: Kept, b: Kept) -> Kept {
    if b.score < a.score { b } else { a }
}

/// The least of a function that falls and then rises, by golden section; the first place that is good enough ends it.
fn golden((mut low, mut high): (f64, f64), f: impl Fn(f64) -> f64, enough: impl Fn(f64) -> bool) -> f64 {
    const SECTION: f64 = 0.618_033_988_749_895;
    let mut left = high - SECTION * (high - low);
    let mut right = low + SECTION * (high - low);
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..SECTIONS {
        if enough(at_left) || enough(at_right) {
            break;
        }
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - SECTION * (high - low);
            at_left = f(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + SECTION * (high - low);
            at_right = f(right);
        }
    }
    if at_left <= at_right { left } else { right }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_golden_section_finds_the_least() {
        let least = golden((0.0, 1.0), |x| (x - 0.3).abs(), |_| false);
        assert!((least - 0.3).abs() < 1e-3, "{least}");
        assert!(golden((0.0, 1.0), |x| x, |y| y < 0.5) < 0.5);
    }
}
