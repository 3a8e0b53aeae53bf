//! In which turns of the valves to get from the present setting to another.

use serde::{Deserialize, Serialize};
use springhouse_core::membrane::valve::Valves;

use super::axes::Axes;
use super::judge::Judge;
use super::limit::{Limit, Limits};
use super::map::{Grid, Size};
use super::path::{Node, Toll, Tolls};
use super::point::Point;
use super::question::{Question, TuneError};

/// One of the two valves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Valve {
    /// From the concentrate to the drain.
    Reject,
    /// From the concentrate to the suction of the pump.
    Recycle,
}

/// Which way a valve is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Turn {
    /// More flow.
    Open,
    /// Less flow.
    Close,
}

/// A turn of one valve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Step {
    /// Which valve.
    pub valve: Valve,
    /// Which way.
    pub turn: Turn,
    /// How both stand afterwards, L/s at 1 kPa.
    pub to: Valves,
    /// What is read then, in typical water at the typical inlet pressure.
    pub read: Point,
    /// Limits that are exceeded on the turn in any season by more than a per cent. Flux, the wanted product and the salt in the
    /// product do not count: they matter over months and days, not for as long as valves are being set.
    pub breaks: Limits,
}

/// Openings of either valve that a way may use, beside the first and the last.
const NOTCHES: Size = Size { reject: 16, recycle: 14 };

/// Openings near the first and the last, as a part of them: where an advised setting is the corner between two limits, the way
/// there is narrow.
const NEAR: [f64; 6] = [-0.1, -0.03, -0.01, 0.01, 0.03, 0.1];

/// Limits exceeded by no more than this are taken to be kept on the way, powers of ten: one per cent, closer than gauges read.
const SLACK: f64 = 0.004_3;

/// How far beyond limits is told apart, in powers of ten: an eighth more. Finer, and a way that starts beyond them would turn
/// valves to and fro for nothing.
const TOLD_APART: f64 = 0.05;
/// How near limits is told apart, and how far from them it stops to matter, in powers of ten.
const STRAIN: f64 = 1e-3;
const EASE: f64 = 1.0;

/// What must be kept while valves are turned.
fn required() -> Limits {
    Limits::all().without([Limit::Flux, Limit::Product, Limit::ProductSalt].into_iter().collect())
}

/// The turns that lead from the present setting to another, one valve at a time and at most eight; none where both are the same.
///
/// No setting on the way is further beyond limits, in any season, than it must be; of such ways this is the one with the fewest
/// settings beyond them, and then with the fewest turns. Settings are judged with settled loops, at openings a few per cent apart
/// near both ends and up to half as wide again between; between two that are kept one is taken to be kept too. What exceeds a
/// limit by a per cent, less than gauges tell, counts as kept.
///
/// # Errors
/// When the question cannot be answered, or the setting cannot be.
pub fn steps(question: &Question, to: Valves) -> Result<Vec<Step>, TuneError> {
    question.check()?;
    for (key, value) in
        [("advised opening of the reject valve", to.reject_kv), ("advised opening of the recycle valve", to.recycle_kv)]
    {
        if !(0.0..=1e3).contains(&value) {
            return Err(TuneError::OutOfRange { key, value, least: 0.0, most: 1e3 });
        }
    }
    let from = question.unit.valves;
    let judge = Judge::of(question);
    let axes = Axes::of(&judge)?;
    let grid = Grid::of(&axes, NOTCHES);
    let rejects = notches(grid.reject_kv(&axes), from.reject_kv, to.reject_kv);
    let recycles = notches(grid.recycle_kv(&axes), from.recycle_kv, to.recycle_kv);
    let node = |valves: Valves| Node {
        reject: rejects.partition_point(|kv| *kv < valves.reject_kv),
        recycle: recycles.partition_point(|kv| *kv < valves.recycle_kv),
    };
    let valves = |node: Node| Valves { reject_kv: rejects[node.reject], recycle_kv: recycles[node.recycle] };
    let weigh = |valves: Valves| judge.weigh_by(&judge.points(valves), required(), 0.0);
    let toll = |valves: Valves| {
        let weighed = weigh(valves);
        Toll {
            beyond: whole(((weighed.excess - SLACK).max(0.0) / TOLD_APART).ceil()),
            strain: whole((weighed.tightest + EASE).clamp(0.0, EASE) / STRAIN),
        }
    };
    let at = recycles
        .iter()
        .flat_map(|recycle_kv| {
            rejects.iter().map(|reject_kv| Valves { reject_kv: *reject_kv, recycle_kv: *recycle_kv })
        })
        .map(toll)
        .collect();
    let tolls = Tolls { rejects: rejects.len(), recycles: recycles.len(), at };
    let way: Vec<Valves> = tolls.way(node(from), node(to)).into_iter().map(valves).collect();
    let mut steps: Vec<Step> = Vec::new();
    for pair in way.windows(2) {
        let (valve, turn) = turned(pair[0], pair[1]);
        // Turns of one valve are one; what any of them passes is told of the whole.
        let passed = steps.pop_if(|last| (last.valve, last.turn) == (valve, turn)).map(|last| last.breaks);
        let read = judge.point(pair[1], super::Season::Typical);
        let breaks = broken(&judge, pair[1]).or(passed.unwrap_or(Limits::NONE));
        steps.push(Step { valve, turn, to: pair[1], read, breaks });
    }
    Ok(steps)
}

/// Openings in order, the first and the last of the way and some near them among them.
fn notches(openings: impl Iterator<Item = f64>, from: f64, to: f64) -> Vec<f64> {
    let near = NEAR.into_iter().flat_map(|part| [from * (1.0 + part), to * (1.0 + part)]);
    let mut all: Vec<f64> = openings.chain([from, to]).chain(near).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all
}

/// Limits that are broken at a setting in any season.
fn broken(judge: &Judge<'_>, valves: Valves) -> Limits {
    let points = judge.points(valves);
    required().iter().filter(|limit| judge.worst(&points, *limit).0 > SLACK).collect()
}

fn turned(from: Valves, to: Valves) -> (Valve, Turn) {
    let (valve, change) = if from.reject_kv == to.reject_kv {
        (Valve::Recycle, to.recycle_kv - from.recycle_kv)
    } else {
        (Valve::Reject, to.reject_kv - from.reject_kv)
    };
    (valve, if change > 0.0 { Turn::Open } else { Turn::Close })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "neither negative nor beyond some thousands"
)]
fn whole(value: f64) -> u32 {
    value as u32
}

#[cfg(test)]
mod tests {
    use super::super::fixtures;
    use super::super::{Aim, advise};
    use super::*;

    #[test]
    fn exact_no_steps_to_where_it_is() {
        let question = fixtures::home();
        assert!(steps(&question, question.unit.valves).unwrap().is_empty());
    }

    #[test]
    fn exact_recycle_is_opened_before_the_reject_is_closed() {
        // Within limits, but wasteful: with its reject nearly closed first, crossflow would be too low.
        let mut question = fixtures::home();
        question.unit.valves = Valves { reject_kv: 0.013, recycle_kv: 0.012 };
        let advice = advise(&question, Aim::Enough).unwrap();
        assert!(advice.present.get(super::super::Season::Warmest).breaks.is_empty(), "{:?}", advice.present);
        let steps = steps(&question, advice.valves).unwrap();
        let turns: Vec<_> = steps.iter().map(|step| (step.valve, step.turn)).collect();
        assert_eq!(turns, [(Valve::Recycle, Turn::Open), (Valve::Reject, Turn::Close)]);
        assert!(steps.iter().all(|step| step.breaks.is_empty()), "{steps:#?}");
        assert_eq!(steps[1].to, advice.valves);
    }

    #[test]
    fn refuses_a_setting_that_is_none() {
        let to = Valves { reject_kv: f64::NAN, recycle_kv: 0.0 };
        assert!(matches!(steps(&fixtures::home(), to), Err(TuneError::OutOfRange { .. })));
    }
}
