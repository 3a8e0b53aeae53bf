//! The setting that serves an aim within all limits.

use serde::{Deserialize, Serialize};
use springhouse_core::membrane::valve::Valves;

use super::axes::{Axes, Place};
use super::judge::{Judge, Strain, Weighed};
use super::limit::{Limit, Limits};
use super::map::{Grid, Size};
use super::point::Point;
use super::question::{Question, TuneError, USUAL_PRODUCT_SALT_MG_L};
use super::refine::{Kept, Search};
use super::season::{Season, Seasons};

/// What the valves are set for. Each is judged in typical water, within limits from the coldest to the warmest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Aim {
    /// The wanted product at the least cost: water wasted, energy and salt weighed against each other.
    Enough,
    /// Least waste for each litre of product, however much product that is and whatever else it costs.
    LeastWaste,
    /// The wanted product with few cleanings: what halves them may cost so much more.
    Gentlest,
}

/// Waste that is taken on to save a kWh for a cubic metre, L/L. Our own choice: a kWh is worth the raw water of a tenth of a
/// cubic metre.
const WASTE_FOR_ENERGY: f64 = 0.1;

/// Waste that is taken on to save as much salt in the product as is allowed where nothing else is said, L/L. Our own choice.
const WASTE_FOR_SALT: f64 = 0.5;

/// What is left of energy and salt where least waste is asked: of settings that waste nearly the same the cheapest is wanted, and
/// nobody doubles the work of a pump for a hundredth of the water. Our own choice.
const LEFT_OF_COST: f64 = 0.2;

/// How much the logarithm of the cleanings must fall to be worth a litre of waste for each litre: half as many cleanings may
/// waste 0.14 L/L more. Our own choice.
const CLEANINGS_FOR_WASTE: f64 = 5.0;

/// The same of the square of energy and salt: the dearer they are, the less may be added. With a plain sum a slightly
/// different weight leads from no change at all to the end of the pump. Our own choice.
const CLEANINGS_FOR_SQUARE: f64 = 8.0;

/// Hours of running after which membranes need care whatever fouls them: two years. Time between cleanings counts ever less as
/// it gets near. Our own choice.
const CARE_H: f64 = 17_532.0;

/// How much worse a score may be that leaves a valve as it is: half a per cent of a litre for each litre, less than meters tell.
pub const AS_GOOD: f64 = 0.005;

/// A limit that is kept by less than this binds, powers of ten: one per cent.
const BINDS: f64 = 0.004_3;

impl Aim {
    /// All.
    pub const ALL: [Self; 3] = [Self::Enough, Self::LeastWaste, Self::Gentlest];

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
    /// Cost in L/L: waste, a tenth of the energy in kWh/m³, and half of the salt over [`USUAL_PRODUCT_SALT_MG_L`]. For the least
    /// waste a fifth of all but the waste; for the gentlest five times the waste, eight times the square of the rest, and the
    /// logarithm of the cleanings that come due in an hour of running, one in two years among them whatever fouls.
    #[must_use]
    pub fn score(self, point: &Point) -> f64 {
        let Some(work) = &point.work else { return f64::INFINITY };
        let beside =
            WASTE_FOR_ENERGY * work.kwh_per_m3 + WASTE_FOR_SALT * work.product_salt_mg_l / USUAL_PRODUCT_SALT_MG_L;
        match self {
            Self::Enough => work.waste_l_per_l + beside,
            Self::LeastWaste => work.waste_l_per_l + LEFT_OF_COST * beside,
            Self::Gentlest => {
                let cleanings_per_h = 1.0 / work.hours_between_cleanings + 1.0 / CARE_H;
                CLEANINGS_FOR_WASTE * work.waste_l_per_l
                    + CLEANINGS_FOR_SQUARE * beside * beside
                    + libm::log(cleanings_per_h)
            }
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
    /// Whether that is so with the membranes at their [cleanest](Question::cleanest), and not as they are.
    pub clean: bool,
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
        if let Some((left, weighed)) = search.left_as_set(best) {
            (valves, least) = (left, weighed);
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
        at_lowest_inlet: judge.typical_at(valves, &question.suction.lowest),
        at_highest_inlet: judge.typical_at(valves, &question.suction.highest),
        present: judge.points(question.unit.valves),
        limits: Limit::ALL.into_iter().filter_map(|limit| state(&judge, &advised, limit)).collect(),
        advised,
    })
}

fn state(judge: &Judge<'_>, points: &Seasons<Point>, limit: Limit) -> Option<LimitState> {
    let (over, season) = judge.worst(points, limit);
    let Strain { found, allowed, clean, .. } = judge.strain(points.get(season), limit)?;
    Some(LimitState { limit, season, found, allowed, over, binds: over > -BINDS, clean })
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
    use springhouse_core::membrane::element::Fouling;
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
        assert!(gentlest.hours_between_cleanings > 1.2 * work.hours_between_cleanings, "{gentlest:#?}");
        // Not at the pump's end, one and a half times its best flow.
        assert!(gentlest.vessel_feed_lps < 0.97 * 0.9 && gentlest.product_l_day > 8_000.0, "{gentlest:#?}");
    }

    #[test]
    fn exact_advice_that_was_followed_is_given_again() {
        let rain = TypicalWater::Rain.analysis();
        let mut question = Question { analysis: Some(rain), want: None, ..fixtures::home() };
        question.unit.valves = advise(&question, Aim::LeastWaste).unwrap().valves;
        let again = advise(&question, Aim::LeastWaste).unwrap();
        assert_eq!(again.valves, question.unit.valves);
        // Nor is a valve turned for less than meters tell.
        question.unit.valves.reject_kv *= 1.001;
        assert_eq!(advise(&question, Aim::LeastWaste).unwrap().valves, question.unit.valves);
    }

    #[test]
    fn exact_recycle_is_left_where_that_is_as_good() {
        let home = fixtures::home();
        let best = advise(&home, Aim::Enough).unwrap();
        let mut question = home;
        question.unit.valves.recycle_kv = 1.002 * best.valves.recycle_kv;
        let advice = advise(&question, Aim::Enough).unwrap();
        assert!(advice.within_limits);
        assert_eq!(advice.valves.recycle_kv, question.unit.valves.recycle_kv);
        let scores = [&best, &advice].map(|advice| Aim::Enough.score(&advice.advised.typical));
        assert!(scores[1] <= scores[0] + AS_GOOD + 1e-9, "{scores:?}");
    }

    #[test]
    fn exact_clean_membranes_are_judged_too() {
        // With membranes that have lost a quarter the flux is far from its limit, once they are clean it is not.
        let fouling = Fouling { water_share: 0.75, channel_times: 1.2 };
        let fouled = Question { fouling, ..fixtures::home() };
        let clean = advise(&fixtures::home(), Aim::Enough).unwrap();
        let advice = advise(&fouled, Aim::Enough).unwrap();
        let flux = |advice: &Advice| *advice.limits.iter().find(|state| state.limit == Limit::Flux).unwrap();
        assert!(flux(&advice).clean && !flux(&clean).clean);
        let judged =
            advise(&Question { fouling: Fouling::CLEAN, unit: with(&fouled, &advice), ..fouled.clone() }, Aim::Enough);
        assert!((judged.unwrap().present.warmest.work.unwrap().mean_flux_l_m2_h - flux(&advice).found).abs() < 1e-9);
        // Product is that of the membranes as they are, though the coldest clean ones would make more.
        let product = advice.limits.iter().find(|state| state.limit == Limit::Product).unwrap();
        assert!(!product.clean && product.found == advice.advised.coldest.work.unwrap().product_l_day);
    }

    fn with(question: &Question, advice: &Advice) -> springhouse_core::membrane::unit::MembraneUnit {
        springhouse_core::membrane::unit::MembraneUnit { valves: advice.valves, ..question.unit.clone() }
    }

    #[test]
    fn exact_hard_lines_are_kept() {
        let home = fixtures::home();
        // Each a little tighter than what was free: pressure is most with little recycle, flow with much.
        for (limit, aim) in [(Limit::Pressure, Aim::Enough), (Limit::Pump, Aim::Gentlest)] {
            let free = advise(&home, aim).unwrap();
            let found = free.limits.iter().find(|state| state.limit == limit).unwrap().found;
            let mut question = Question { unit: with(&home, &free), ..home.clone() };
            match limit {
                Limit::Pressure => question.rated_kpa = 0.97 * found,
                _ => question.pump_end_lps = Some(0.95 * found),
            }
            let advice = advise(&question, aim).unwrap();
            assert!(advice.present.coldest.breaks.or(advice.present.warmest.breaks).contains(limit), "{limit:?}");
            let state = advice.limits.iter().find(|state| state.limit == limit).unwrap();
            assert!(advice.within_limits && state.found <= state.allowed, "{state:?}");
        }
        // A vessel of 2.5 in takes 6 gpm: less than these elements need to stay under their flux at this pressure.
        let advice = advise(&Question { diameter_in: 2.5, ..home }, Aim::Gentlest).unwrap();
        let feed = advice.limits.iter().find(|state| state.limit == Limit::Feed).unwrap();
        assert!((feed.allowed - 0.378_541).abs() < 1e-6 && feed.found > feed.allowed, "{feed:?}");
        assert!(advice.conflicts.iter().any(|group| group.contains(Limit::Feed)), "{:?}", advice.conflicts);
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
