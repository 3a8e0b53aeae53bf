//! The setting that serves an aim within all limits.

use serde::{Deserialize, Serialize};
use springhouse_core::membrane::valve::Valves;

use super::axes::{Axes, Place};
use super::judge::{Judge, Weighed};
use super::limit::{Limit, Limits};
use super::map::{Grid, Size};
use super::point::Point;
use super::question::{Question, TuneError};
use super::refine::{Kept, Search};
use super::season::{Season, Seasons};

/// What the valves are set for. Each is judged in typical water, within limits from the coldest to the warmest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Aim {
    /// The wanted product with the least waste; least waste where no product is wanted.
    Enough,
    /// Least waste for each litre of product, however much that is.
    LeastWaste,
    /// The longest time between cleanings with the wanted product. Where none is wanted that is the setting of least flux.
    Gentlest,
}

/// Waste that is taken on to save a kWh for a cubic metre, L/L: of settings that waste the same, the one whose pump works least
/// is wanted.
const WASTE_FOR_ENERGY: f64 = 0.05;

/// The part of the time between cleanings that is given up for a litre of waste less for each litre of product.
const TIME_FOR_WASTE: f64 = 0.02;

/// A limit that is kept by less than this binds, powers of ten: one per cent.
const BINDS: f64 = 0.004_3;

impl Aim {
    /// The limits that must be kept.
    #[must_use]
    pub fn requires(self) -> Limits {
        match self {
            Self::Enough | Self::Gentlest => Limits::all(),
            Self::LeastWaste => Limits::all().without(Limits::NONE.with(Limit::Product)),
        }
    }

    /// What the best setting has least of; infinite where nothing works.
    ///
    /// Waste in L/L with a twentieth of the energy in kWh/m³; for the gentlest, the negative logarithm of the hours between
    /// cleanings with a fiftieth of the waste.
    #[must_use]
    pub fn score(self, point: &Point) -> f64 {
        let Some(work) = &point.work else { return f64::INFINITY };
        match self {
            Self::Enough | Self::LeastWaste => work.waste_l_per_l + WASTE_FOR_ENERGY * work.kwh_per_m3,
            Self::Gentlest => TIME_FOR_WASTE * work.waste_l_per_l - libm::log(work.hours_between_cleanings),
        }
    }
}

/// How the valves should be set.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Advice {
    /// What for.
    pub aim: Aim,
    /// Whether all limits that the aim requires are kept in all seasons. If not, this is the least bad setting: the one where
    /// they are exceeded by the least sum of powers of ten, each with its [weight](Limit::weight).
    pub within_limits: bool,
    /// That sum; zero within limits.
    pub excess: f64,
    /// Limits that no setting of the map keeps together, each group as small as it can be: leave out any one of a group and the
    /// rest can be kept. A group of one cannot be kept at all; the smallest groups come first. None where all can be.
    pub conflicts: Vec<Limits>,
    /// The setting, L/s at 1 kPa.
    pub valves: Valves,
    /// What is to be read at that setting, season by season, at the typical inlet pressure.
    pub advised: Seasons<Point>,
    /// The same in typical water at the lowest inlet pressure.
    pub at_lowest_inlet: Point,
    /// The same in typical water at the highest inlet pressure.
    pub at_highest_inlet: Point,
    /// What is read at the present setting.
    pub present: Seasons<Point>,
    /// Every limit that is set, in the season in which it is strained most.
    pub limits: Vec<LimitState>,
}

/// How a limit is kept.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LimitState {
    /// Which.
    pub limit: Limit,
    /// When it is strained most.
    pub season: Season,
    /// What there is then, in the unit of the limit.
    pub found: f64,
    /// What is allowed, in the same unit.
    pub allowed: f64,
    /// How far beyond it is, in powers of ten; below zero within.
    pub over: f64,
    /// Whether it is what keeps the setting from being better: exceeded, or kept by less than one per cent.
    pub binds: bool,
}

/// Advises how to set the valves.
///
/// # Errors
/// When the question cannot be answered. That limits cannot be kept is an answer.
pub fn advise(question: &Question, aim: Aim) -> Result<Advice, TuneError> {
    advise_on(question, aim, Size::default())
}

/// As [`advise`], on a map of a size: a finer one finds a narrower place between limits. Otherwise sizes agree within 0.005 of
/// the [score](Aim::score): half a per cent of a litre per litre, or of the time between cleanings.
///
/// # Errors
/// When the question cannot be answered.
pub fn advise_on(question: &Question, aim: Aim, size: Size) -> Result<Advice, TuneError> {
    question.check()?;
    let judge = Judge::of(question);
    let axes = Axes::of(&judge)?;
    let grid = Grid::of(&axes, size);
    let search = Search { judge: &judge, axes: &axes, aim };
    let cells: Vec<(Place, Weighed)> = grid.places().map(|place| (place, search.weigh(place))).collect();
    let kept = |&(place, weighed): &(Place, Weighed)| {
        (weighed.tightest <= 0.0).then_some(Kept { place, score: weighed.score })
    };
    let mut starts: Vec<Kept> = cells.iter().filter_map(kept).collect();
    let mut valves = question.unit.valves;
    let mut least = judge.weigh(&judge.points(valves), aim);
    if starts.is_empty() {
        let first = cells.iter().copied().reduce(|a, b| if b.1.is_less_bad(&a.1) { b } else { a });
        if let Some((first, _)) = first {
            let place = search.least_excess(first, grid.cell());
            let weighed = search.weigh(place);
            starts.extend(kept(&(place, weighed)));
            if weighed.is_less_bad(&least) {
                (valves, least) = (axes.valves(place), weighed);
            }
        }
    }
    if let Some(best) = search.best(&starts, grid) {
        // The present setting may lie outside the map.
        if least.tightest > 0.0 || best.score <= least.score {
            valves = axes.valves(best.place);
            least = judge.weigh(&judge.points(valves), aim);
        }
    }
    let within_limits = least.tightest <= 0.0;
    let advised = judge.points(valves);
    Ok(Advice {
        aim,
        within_limits,
        excess: least.excess,
        conflicts: if within_limits { Vec::new() } else { conflicts(&cells, aim.requires()) },
        valves,
        at_lowest_inlet: judge.typical_at(valves, question.inlet_kpa.lowest),
        at_highest_inlet: judge.typical_at(valves, question.inlet_kpa.highest),
        present: judge.points(question.unit.valves),
        limits: Limit::ALL.into_iter().filter_map(|limit| state(&judge, &advised, limit)).collect(),
        advised,
    })
}

fn state(judge: &Judge<'_>, points: &Seasons<Point>, limit: Limit) -> Option<LimitState> {
    let (over, season) = judge.worst(points, limit);
    let (found, allowed) = judge.figures(points.get(season), limit)?;
    Some(LimitState { limit, season, found, allowed, over, binds: over > -BINDS })
}

/// Groups of limits that no cell keeps together: each is what is left when every limit is left out without which the rest can
/// still not be kept.
fn conflicts(cells: &[(Place, Weighed)], required: Limits) -> Vec<Limits> {
    // Where nothing works nothing is exceeded, but that keeps no limit.
    let works = Limits::NONE.with(Limit::Works);
    let breaks: Vec<Limits> =
        cells.iter().map(|(_, weighed)| weighed.breaks).filter(|breaks| !breaks.contains(Limit::Works)).collect();
    if breaks.is_empty() {
        return vec![works];
    }
    let can_be_kept = |limits: Limits| breaks.iter().any(|breaks| breaks.and(limits).is_empty());
    let mut groups = Vec::new();
    let mut left = required.without(works);
    while !can_be_kept(left) {
        let mut group = left;
        for limit in left.iter() {
            let fewer = group.without(Limits::NONE.with(limit));
            if !can_be_kept(fewer) {
                group = fewer;
            }
        }
        groups.push(group);
        left = left.without(group);
    }
    groups.sort_by_key(|group| group.len());
    groups
}

#[cfg(test)]
mod tests {
    use springhouse_core::scaling::TypicalWater;

    use super::super::fixtures;
    use super::super::question::Want;
    use super::*;

    fn bound(advice: &Advice) -> Vec<(Limit, Season)> {
        advice.limits.iter().filter(|state| state.binds).map(|state| (state.limit, state.season)).collect()
    }

    #[test]
    fn regress_home_unit() {
        let question = fixtures::home();
        let advice = |aim| advise(&question, aim).unwrap();
        let enough = advice(Aim::Enough);
        assert!(enough.within_limits && enough.conflicts.is_empty() && enough.excess == 0.0, "{enough:#?}");
        // In the warmest water most passes the membranes, most is recovered, and calcite dissolves least.
        assert_eq!(bound(&enough), [(Limit::Flux, Season::Warmest), (Limit::Calcite, Season::Warmest)]);
        let work = enough.advised.typical.work.unwrap();
        assert!((work.waste_l_per_l - 0.401).abs() < 0.002, "{work:#?}");
        let gentlest = advice(Aim::Gentlest).advised.typical.work.unwrap();
        assert!(gentlest.hours_between_cleanings > 1.5 * work.hours_between_cleanings, "{gentlest:#?}");
        assert!(gentlest.product_l_day > 8_000.0);
    }

    #[test]
    fn exact_advice_that_was_followed_is_given_again() {
        let rain = TypicalWater::Rain.analysis();
        let mut question = Question { analysis: Some(rain), want: None, ..fixtures::home() };
        question.unit.valves = advise(&question, Aim::LeastWaste).unwrap().valves;
        let again = advise(&question, Aim::LeastWaste).unwrap();
        assert!((again.valves.reject_kv / question.unit.valves.reject_kv - 1.0).abs() < 1e-4);
        assert!((again.valves.recycle_kv / question.unit.valves.recycle_kv - 1.0).abs() < 1e-4);
    }

    #[test]
    fn exact_feed_that_scales_as_it_is_conflicts_alone() {
        let question = Question { antiscalant: false, ..fixtures::home() };
        let advice = advise(&question, Aim::Enough).unwrap();
        assert!(!advice.within_limits && advice.excess > 0.0);
        assert_eq!(advice.conflicts, [Limits::NONE.with(Limit::Calcite)]);
    }

    #[test]
    fn exact_conflicts_are_as_small_as_they_can_be() {
        let cell = |broken: &[Limit]| {
            let breaks = broken.iter().copied().collect();
            (Place { reject: 0.0, recycle: 0.0 }, Weighed { excess: 1.0, tightest: 1.0, score: 0.0, breaks })
        };
        let set = |limits: &[Limit]| limits.iter().copied().collect::<Limits>();
        // Calcite is broken everywhere; of flux and product one always is; what does not work proves nothing.
        let cells = [
            cell(&[Limit::Calcite, Limit::Flux, Limit::Gypsum]),
            cell(&[Limit::Calcite, Limit::Product]),
            cell(&[Limit::Works]),
        ];
        let found = conflicts(&cells, Limits::all());
        assert_eq!(found, [set(&[Limit::Calcite]), set(&[Limit::Gypsum, Limit::Product])]);
        // Were the second group left out too, flux and product would still not be kept together.
        assert_eq!(conflicts(&cells[..2], set(&[Limit::Flux, Limit::Product])), [set(&[Limit::Flux, Limit::Product])]);
        assert_eq!(conflicts(&cells[2..], Limits::all()), [set(&[Limit::Works])]);
    }

    #[test]
    fn regress_small_unit_without_a_pump() {
        let question = fixtures::without_pump();
        let advice = advise(&question, Aim::LeastWaste).unwrap();
        // Nothing comes back, so crossflow takes many litres of reject for one of product; most in warm water, which leaves less
        // of it and loses more pressure on the way to the valve.
        assert!(advice.within_limits, "{:?}", advice.limits);
        assert_eq!(bound(&advice), [(Limit::Concentrate, Season::Warmest)]);
        assert_eq!(advice.valves.recycle_kv, question.unit.valves.recycle_kv);
        let work = advice.advised.typical.work.unwrap();
        assert!((5.0..12.0).contains(&work.waste_l_per_l), "{work:#?}");
    }

    #[test]
    fn exact_too_much_wanted_conflicts_with_what_it_strains() {
        let want = Some(Want { product_l_day: 30_000.0, hours_per_day: 24.0 });
        let advice = advise(&Question { want, ..fixtures::home() }, Aim::Enough).unwrap();
        assert!(!advice.within_limits);
        // The membranes are spared all the same.
        let exceeded = |state: &&LimitState| state.over > 1e-5;
        assert_eq!(
            advice.limits.iter().filter(exceeded).map(|state| state.limit).collect::<Vec<_>>(),
            [Limit::Product]
        );
        assert!(advice.conflicts.iter().any(|group| group.contains(Limit::Product)), "{:?}", advice.conflicts);
        // The same limits can be kept where no product is asked for.
        assert!(advise(&Question { want, ..fixtures::home() }, Aim::LeastWaste).unwrap().within_limits);
    }

    #[test]
    fn soft_water_is_bound_by_something_else_than_scale() {
        let analysis = TypicalWater::Rain.analysis();
        let question = Question { analysis: Some(analysis), feed_salt_mg_l: analysis.tds_mg_l(), ..fixtures::home() };
        let advice = advise(&question, Aim::LeastWaste).unwrap();
        let binds: Limits = bound(&advice).into_iter().map(|(limit, _)| limit).collect();
        let scale: Limits = [Limit::Calcite, Limit::Gypsum, Limit::Silica].into_iter().collect();
        assert!(advice.within_limits && !binds.is_empty() && binds.and(scale).is_empty(), "{binds:?}");
    }
}
