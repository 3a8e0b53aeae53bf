//! What must hold for any membrane unit that can be built.

use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::membrane::element::{Element, Fouling};
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::Valves;
use springhouse_core::pump::{PumpCurve, PumpPower};
use springhouse_core::scaling::TypicalWater;
use springhouse_study::tune::{
    AS_GOOD, Advice, Aim, Change, Cycle, Limit, Limits, Question, Season, Seasons, Size, Suction, Swing, TuneError,
    Want, advise, advise_on, map_of, picture, sensitivity, steps,
};

/// How much better than the advised a setting may be, beside [`AS_GOOD`] where a valve is left as it is: in L/L with energy at its weight, or as a share of the time between
/// cleanings. What the last steps of the refinement leave, and a little for the corners they end in.
const REFINED: f64 = 5e-3;

const SMALL: Size = Size { reject: 20, recycle: 12 };

fn sized(elements: usize, recovers: f64, power: f64) -> (MembraneUnit, f64) {
    // A pump that at its best flow feeds elements of 7.2 m², each of which is to recover some 15 %.
    let best_lps = 0.05 / recovers;
    let lift_m = 45.0 + 60.0 * power;
    let unit = MembraneUnit {
        element: Element {
            area_m2: 7.2,
            water_permeability_l_m2_h_bar: 5.0,
            salt_permeability_l_m2_h: 0.3,
            water_temp_k: 2_640.0,
            salt_temp_k: 5_180.0,
            channel_loss_kpa: 27.4,
            channel_exponent: 1.7,
            polarisation: 0.7,
        },
        elements_in_series: elements,
        vessels: 1,
        pump: Some(UnitPump {
            curve: PumpCurve::Parabola {
                shutoff_m: 1.5 * lift_m,
                loss_m_per_lps2: 0.5 * lift_m / (best_lps * best_lps),
            },
            power: PumpPower::Efficiency { best_flow_lps: best_lps, best_efficiency: 0.45 },
        }),
        valves: Valves { reject_kv: 0.01, recycle_kv: 0.0 },
        product_kpa: 20.0,
        drain_kpa: 5.0,
        loop_volume_l: 30.0,
        osmotic: OsmoticModel::Chloride { share: 0.86 },
    };
    (unit, best_lps)
}

fn question() -> impl Strategy<Value = Question> {
    let water = prop::sample::select(vec![
        TypicalWater::HardWell,
        TypicalWater::SoftWell,
        TypicalWater::Pond,
        TypicalWater::Rain,
        TypicalWater::Town,
    ]);
    let feed = prop::sample::select(vec![FeedKind::Well, FeedKind::Surface]);
    let unit = (1..=4_usize, 0.06..0.16, 0.0..1.0, 0.3..3.0, 0.0..2.0, any::<bool>());
    let asked = (of((0.1..0.8, 8.0..24.0)), any::<bool>(), any::<bool>());
    let fouled = prop_oneof![Just(0.0), 0.0..1.0];
    let about = (fouled, prop_oneof![Just(0.0), 0.0..3.0], any::<bool>(), any::<bool>());
    (unit, (water, feed), (2.0..12.0, 0.0..8.0, 0.0..8.0), asked, about).prop_map(
        |((elements, recovers, power, reject, recycle, piped), (water, feed), (cold, more, yet_more), asked, about)| {
            let (fouled, loss, ends, called) = about;
            let (mut unit, best_lps) = sized(elements, recovers, power);
            if !piped {
                unit.pump = None;
            }
            // The present flows are some part of the pump's best flow at some 800 kPa.
            let kv = best_lps / 28.0;
            unit.valves = Valves { reject_kv: 0.3 * reject * kv, recycle_kv: 0.3 * recycle * kv };
            let analysis = water.analysis();
            let (wanted, antiscalant, analysed) = asked;
            let product_l_day = f64::from(u32::try_from(elements).unwrap_or(1)) * 7.2 * 24.0 * 25.0;
            Question {
                unit,
                fouling: Fouling { water_share: 1.0 - 0.2 * fouled, channel_times: 1.0 + 0.4 * fouled },
                suction: Swing { lowest: 200.0, typical: 300.0, highest: 400.0 }.map(|rest_kpa| Suction {
                    rest_kpa,
                    cake_kpa_per_lps: 30.0 * loss,
                    square_kpa_per_lps2: 100.0 * loss,
                }),
                blend: None,
                feed_salt_mg_l: analysis.tds_mg_l(),
                analysis: analysed.then_some(analysis),
                antiscalant,
                feed,
                diameter_in: 4.0,
                rated_kpa: 4_100.0,
                pump_end_lps: ends.then_some(1.2 * best_lps),
                cycle: called.then_some(Cycle { band_l: 600.0, drawn_lps: 0.01, flush_l: 40.0, divert_s: 60.0 }),
                gives: None,
                want: wanted.map(|(share, hours_per_day)| Want {
                    product_l_day: share * product_l_day * hours_per_day / 24.0,
                    hours_per_day,
                }),
                temp_c: Seasons { coldest: cold, typical: cold + more, warmest: cold + more + yet_more },
                most_recovery: None,
                most_product_salt_mg_l: None,
            }
        },
    )
}

/// Units that nobody would build, but somebody may describe.
fn odd() -> impl Strategy<Value = Question> {
    let valve = || prop_oneof![1 => Just(0.0), 1 => 1e-9..1e-5, 3 => 1e-4..0.5];
    let unit = (0.2..40.0, 0.1..20.0, 0.0..30.0, 0.0..80.0, 1..=6_usize, 1..=4_u32);
    let rest = (valve(), valve(), 0.0..600.0, 0.0..100.0, 0.0..40_000.0, 0.5..9.0);
    (question(), unit, rest).prop_map(|(mut question, (area_m2, water, salt, loss_kpa, elements, vessels), rest)| {
        let (reject_kv, recycle_kv, product_kpa, drain_kpa, feed_salt_mg_l, diameter_in) = rest;
        let element = &mut question.unit.element;
        element.area_m2 = area_m2;
        element.water_permeability_l_m2_h_bar = water;
        element.salt_permeability_l_m2_h = salt;
        element.channel_loss_kpa = loss_kpa;
        question.unit.elements_in_series = elements;
        question.unit.vessels = vessels;
        question.unit.valves = Valves { reject_kv, recycle_kv };
        question.unit.product_kpa = product_kpa;
        question.unit.drain_kpa = drain_kpa;
        question.most_product_salt_mg_l = (feed_salt_mg_l > 1_000.0).then_some(500.0);
        Question { feed_salt_mg_l, diameter_in, ..question }
    })
}

fn aim() -> impl Strategy<Value = Aim> {
    prop::sample::select(vec![Aim::Enough, Aim::LeastWaste, Aim::Gentlest])
}

fn breaks(advice: &Advice) -> Limits {
    Season::ALL.into_iter().fold(Limits::NONE, |all, season| all.or(advice.advised.get(season).breaks))
}

/// The least score of the settings of a map that keep what the aim requires in every season.
fn best_of_map(question: &Question, aim: Aim, size: Size) -> Option<f64> {
    let map = |season: Season| map_of(question, *question.temp_c.get(season), size).ok();
    let maps =
        Seasons { coldest: map(Season::Coldest)?, typical: map(Season::Typical)?, warmest: map(Season::Warmest)? };
    let keeps = |i: usize| {
        Season::ALL.into_iter().all(|season| maps.get(season).points[i].breaks.and(aim.requires()).is_empty())
    };
    let points = &maps.typical.points;
    (0..points.len()).filter(|i| keeps(*i)).map(|i| aim.score(&points[i])).reduce(f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Where a setting of the map keeps all limits so does the advised one, and it is as good as the best of them.
    #[test]
    fn advice_keeps_limits_and_is_the_best(question in question(), aim in aim()) {
        let advice = advise_on(&question, aim, SMALL).unwrap();
        let best = best_of_map(&question, aim, SMALL);
        prop_assert_eq!(advice.within_limits, breaks(&advice).and(aim.requires()).is_empty());
        prop_assert_eq!(advice.within_limits, advice.excess == 0.0 && advice.conflicts.is_empty());
        if let Some(best) = best {
            prop_assert!(advice.within_limits, "{:#?}", advice);
            let score = aim.score(&advice.advised.typical);
            prop_assert!(score <= best + AS_GOOD + 1e-9, "advised {score}, on the map {best}: {:#?}", advice.advised);
        }
        // Another map finds settings between those of this one; none is better by more than the refinement leaves.
        if advice.within_limits {
            let finer = best_of_map(&question, aim, Size { reject: 53, recycle: 31 });
            let score = aim.score(&advice.advised.typical);
            prop_assert!(finer.is_none_or(|finer| score <= finer + AS_GOOD + REFINED), "{finer:?} {score} {:#?}", advice.advised);
        }
    }

    /// The size of the map changes nothing beyond what the refinement leaves.
    #[test]
    fn size_of_the_map_does_not_matter(question in question(), aim in aim()) {
        let coarse = advise_on(&question, aim, SMALL).unwrap();
        let fine = advise_on(&question, aim, Size { reject: 47, recycle: 29 }).unwrap();
        // A place between limits that is narrower than the cells of the coarse map may be found on the fine one only.
        if coarse.within_limits && fine.within_limits {
            let scores = [&coarse, &fine].map(|advice| aim.score(&advice.advised.typical));
            prop_assert!((scores[0] - scores[1]).abs() < AS_GOOD + REFINED, "{scores:?} {:?} {:?}", coarse.valves, fine.valves);
        }
    }

    /// Steps lead from the present setting to the other, one valve at a time, and stay within limits where both ends are and
    /// there is a way.
    #[test]
    fn steps_lead_there(question in question(), aim in aim()) {
        let advice = advise(&question, aim).unwrap();
        let steps = steps(&question, advice.valves).unwrap();
        let mut at = question.unit.valves;
        for step in &steps {
            let changed = (step.to.reject_kv != at.reject_kv, step.to.recycle_kv != at.recycle_kv);
            prop_assert!(changed.0 != changed.1, "{steps:#?}");
            prop_assert_eq!(step.read.valves, step.to);
            at = step.to;
        }
        prop_assert_eq!(at, advice.valves);
        prop_assert!(steps.len() <= 8);
        prop_assert!(steps.windows(2).all(|pair| (pair[0].valve, pair[0].turn) != (pair[1].valve, pair[1].turn)));
        let slow: Limits = [Limit::Flux, Limit::Product, Limit::ProductSalt].into_iter().collect();
        let present = Season::ALL.into_iter().fold(Limits::NONE, |all, season| all.or(advice.present.get(season).breaks));
        let ends = present.or(breaks(&advice)).without(slow);
        if ends.is_empty() {
            prop_assert!(steps.iter().all(|step| step.breaks.is_empty()), "{steps:#?}");
        }
    }

    /// Recycle alone saves no water and costs energy and salt; what is moved from the reject to it does save.
    #[test]
    fn facts_of_the_trade(question in question()) {
        let Ok(found) = sensitivity(&question) else { return Ok(()) };
        let Some(present) = found.present.work else { return Ok(()) };
        // Beyond limits, where membranes are all but dead ends, the rules of the trade end too.
        if present.element_recovery > 0.3 || present.recovery > 0.9 {
            return Ok(());
        }
        let on_curve = |change: &Change| !change.to.breaks.contains(Limit::Pump);
        if let Some(doubled) = found.recycle_doubled.filter(on_curve) {
            prop_assert!(doubled.waste_share > -1e-6, "{doubled:#?}");
            prop_assert!(doubled.energy_share > 0.0 && doubled.product_salt_share > 0.0, "{doubled:#?}");
        }
        if let Some(moved) = found.reject_to_recycle {
            // Flushes and first litres stay as they are: of a waste that is mostly theirs less is saved.
            let least = if question.cycle.is_some() { -1e-6 } else { -0.07 };
            prop_assert!(moved.waste_share < least && moved.reject_salt_share > 0.0, "{moved:#?}");
            // What is not rejected is not lost pressure on in filters either: behind such more is made, and less salty.
            let typical = &question.suction.typical;
            if typical.cake_kpa_per_lps == 0.0 && typical.square_kpa_per_lps2 == 0.0 {
                prop_assert!(moved.waste_share > -0.11 && moved.product_salt_share > 0.0, "{moved:#?}");
            }
        }
    }
}

proptest! {
    // Each is slow: such units need many steps of the solver.
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// Every question has an answer or a reason why not, and the answer can be written down and read.
    #[test]
    fn odd_units_are_answered(question in odd(), aim in aim()) {
        let advice = match advise_on(&question, aim, SMALL) {
            Ok(advice) => advice,
            Err(error) => return { prop_assert_eq!(error, TuneError::NoProduct); Ok(()) },
        };
        prop_assert!(advice.excess.is_finite());
        prop_assert!(advice.within_limits == breaks(&advice).and(aim.requires()).is_empty());
        let steps = steps(&question, advice.valves).unwrap();
        prop_assert!(steps.len() <= 8 && steps.last().is_none_or(|step| step.to == advice.valves));
        let picture = picture(&question, &advice, &steps, 1.0).unwrap();
        let forbidden = picture.forbidden.iter().flat_map(|area| area.outlines.iter().flatten());
        let lines = picture.waste.iter().chain(&picture.product).flat_map(|line| line.parts.iter().flatten());
        prop_assert!(forbidden.chain(lines).flatten().all(|at| at.is_finite() && *at >= 0.0));
        prop_assert!(picture.forbidden.iter().flat_map(|area| &area.outlines).all(|ring| ring.first() == ring.last()));
        prop_assert!(serde_json::to_string(&(&question, &advice, &steps, &picture)).is_ok());
    }
}
