//! The question that a scenario asks.

use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::limits::{FeedKind, MOST_TEMP_C};
use springhouse_core::membrane::place::Flush;
use springhouse_core::outlet::Header;
use springhouse_core::plant::Plant;
use springhouse_core::supply::{Control, Source, Supply};
use springhouse_core::treatment::Stage;
use springhouse_scenario::Scenario;
use thiserror::Error;

use super::cycle::Cycle;
use super::feeding::Gives;
use super::question::{DAY_H, Question, Swing, Want};
use super::season::Seasons;
use super::suction::Suction;

/// More product than the schedule's mean day: a tenth that membranes may lose before they are due for cleaning, and a tenth for
/// days above the mean. Our own choice.
const MARGIN: f64 = 1.2;

/// How far the water of a well, and that of a pond, cistern or town line, is colder and warmer than typical, K. Common practice,
/// no source: a well keeps the mean of the year, what lies open or shallow does not.
const WELL_SWING_K: f64 = 2.0;
const SURFACE_SWING_K: f64 = 8.0;

/// The coldest that water is taken to get, above freezing, °C.
const COLDEST_C: f64 = 1.0;

const DAY_S: f64 = 86_400.0;

/// What a person says beside the scenario; `None` takes what follows from it.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Asked {
    /// Coldest water, °C; `None` is 2 K under typical for a well, 8 K for other water.
    pub coldest_c: Option<f64>,
    /// Warmest water, °C; `None` is as much above typical.
    pub warmest_c: Option<f64>,
    /// Wanted product, L/day; `None` is what the schedule draws behind storage on a mean day, and a fifth more.
    pub product_l_day: Option<f64>,
    /// Hours of a day in which the unit may run; `None` is 24.
    pub hours_per_day: Option<f64>,
}

/// Why a scenario asks no question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum NoQuestion {
    /// It has no membrane unit.
    #[error("the scenario has no membrane unit to tune")]
    NoMembrane,
    /// Nothing feeds the unit before a change-over.
    #[error("no supply of the scenario feeds the membrane unit from the start")]
    NoSupply,
}

impl Question {
    /// What a scenario asks: its unit on the water of the first supply that is no standby.
    ///
    /// The typical inlet pressure is midway between cut-in and cut-out, or what a drive holds, or that of a town line; less the
    /// height of the suction and, at the feed of each setting, the loss of the main and of clean stages on the raw line. The
    /// lowest is that at cut-in or wake pressure with stages that are due, the highest that at cut-out. Other draws at the same
    /// time are left out.
    /// A softener on the raw line takes its share of calcium and magnesium out of the analysis, for sodium.
    ///
    /// # Errors
    /// Without a membrane unit or a supply that feeds it.
    pub fn of(scenario: &Scenario, asked: &Asked) -> Result<Self, NoQuestion> {
        let plant = &scenario.plant;
        let (Some(membrane), Some(design)) = (&plant.membrane, &scenario.membrane_design) else {
            return Err(NoQuestion::NoMembrane);
        };
        let fed_by = plant.supplies.iter().enumerate().find(|(_, supply)| !supply.standby);
        let (index, supply) = fed_by.ok_or(NoQuestion::NoSupply)?;
        let analysis = design.analyses.get(index).copied().flatten();
        let swing_k = if design.feed == FeedKind::Well { WELL_SWING_K } else { SURFACE_SWING_K };
        let typical = membrane.feed_temp_c;
        let of_storage = 1.0 - scenario.blended_share();
        let drawn_l_day = asked.product_l_day.map_or(scenario.delivered_l_per_day(), |product| product / of_storage);
        let product_l_day = asked.product_l_day.unwrap_or(MARGIN * drawn_l_day * of_storage);
        let header = AtHeader::of(supply);
        let suction = suction(plant, membrane, &header);
        Ok(Self {
            unit: membrane.unit.clone(),
            fouling: membrane.start_fouling,
            cycle: cycle(plant, membrane, &suction.typical, drawn_l_day),
            suction,
            blend: membrane.blend,
            gives: Some(Gives::of(plant, index, header.typical_kpa)),
            feed_salt_mg_l: supply.quality.salt_mg_l,
            analysis: analysis.map(|analysis| analysis.softened(raw_stages(&plant.stages))),
            antiscalant: design.antiscalant,
            feed: design.feed,
            diameter_in: design.diameter_in,
            rated_kpa: design.rated_kpa,
            pump_end_lps: design.pump_end_lps,
            want: (product_l_day > 0.0)
                .then_some(Want { product_l_day, hours_per_day: asked.hours_per_day.unwrap_or(DAY_H) }),
            temp_c: Seasons {
                coldest: asked.coldest_c.unwrap_or((typical - swing_k).max(COLDEST_C.min(typical))),
                typical,
                warmest: asked.warmest_c.unwrap_or((typical + swing_k).min(MOST_TEMP_C.max(typical))),
            },
            most_recovery: None,
            most_product_salt_mg_l: None,
        })
    }
}

fn raw_stages(stages: &[Stage]) -> impl Iterator<Item = &Stage> {
    stages.iter().filter(|stage| stage.header == Header::Raw)
}

/// What reaches the suction from a header: at cut-in or wake pressure behind stages that are due, in between and at cut-out
/// behind clean ones.
fn suction(plant: &Plant, membrane: &Membrane, header: &AtHeader) -> Swing<Suction> {
    let rise_kpa = plant.water.pressure_kpa(membrane.rise_m);
    let behind = |rest_kpa: f64, due: bool| {
        let mut suction = Suction {
            rest_kpa: rest_kpa - rise_kpa,
            cake_kpa_per_lps: 0.0,
            square_kpa_per_lps2: header.square_kpa_per_lps2,
        };
        for stage in raw_stages(&plant.stages) {
            let caught_g = stage.catch.filter(|_| due).map_or(0.0, |catch| catch.capacity_g);
            suction.cake_kpa_per_lps += stage.cake_kpa(caught_g) / stage.rated_lps;
            suction.square_kpa_per_lps2 += stage.clean_kpa / (stage.rated_lps * stage.rated_lps);
        }
        suction
    };
    Swing {
        lowest: behind(header.low_kpa, true),
        typical: behind(header.typical_kpa, false),
        highest: behind(header.high_kpa, false),
    }
}

/// Pressures of the header that a supply feeds, at rest.
struct AtHeader {
    low_kpa: f64,
    typical_kpa: f64,
    high_kpa: f64,
    /// What a main loses with the square of its flow.
    square_kpa_per_lps2: f64,
}

impl AtHeader {
    fn of(supply: &Supply) -> Self {
        match &supply.source {
            Source::TownLine(line) => {
                let rest_kpa = line.static_kpa();
                Self {
                    low_kpa: rest_kpa,
                    typical_kpa: rest_kpa,
                    high_kpa: rest_kpa,
                    square_kpa_per_lps2: rest_kpa - line.residual_kpa(1.0),
                }
            }
            Source::Well { pump, .. } | Source::Basin { pump, .. } => {
                let (low_kpa, high_kpa) = (pump.control.low_kpa(), pump.control.high_kpa());
                let typical_kpa = match pump.control {
                    Control::Switch { .. } => 0.5 * (low_kpa + high_kpa),
                    Control::Drive(_) => high_kpa,
                };
                Self { low_kpa, typical_kpa, high_kpa, square_kpa_per_lps2: 0.0 }
            }
        }
    }
}

/// What the unit wastes at each call of the floats beside its reject; `None` where it has none.
fn cycle(plant: &Plant, membrane: &Membrane, suction: &Suction, drawn_l_day: f64) -> Option<Cycle> {
    let (start_l, stop_l) = plant.store.as_ref()?.storage.fill.floats_l()?;
    let Flush { before, after, flow_lps, .. } = membrane.flush;
    // At the pressure that the line leaves a flush of all its flow.
    let flush_lps = membrane.flush.flow_lps(suction.kpa(flow_lps));
    Some(Cycle {
        band_l: stop_l - start_l,
        drawn_lps: drawn_l_day / DAY_S,
        flush_l: (before.s() + after.s()) * flush_lps,
        divert_s: membrane.divert.s(),
    })
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use springhouse_core::plant::Parts;
    use springhouse_core::scaling::TypicalWater;
    use springhouse_core::treatment::{Catch, StageKind};
    use springhouse_scenario::load;

    use super::super::{Aim, Season, advise};
    use super::*;

    fn ready(name: &str) -> Scenario {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(name).with_extension("toml");
        load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario
    }

    const PSI_KPA: f64 = 6.894_757_293_168;

    #[test]
    fn exact_inlet_is_what_filters_and_height_leave() {
        let mut scenario = ready("membrane");
        let mut parts = Parts::clone(&scenario.plant);
        parts.membrane.as_mut().unwrap().rise_m = 5.0;
        scenario.plant = Plant::try_new(parts).unwrap();
        let plant = &scenario.plant;
        let question = Question::of(&scenario, &Asked::default()).unwrap();
        let Swing { lowest, typical, highest } = question.suction;
        let rise_kpa = plant.water.pressure_kpa(5.0);
        for (suction, header_psi, due) in [(lowest, 45.0, true), (typical, 55.0, false), (highest, 65.0, false)] {
            for feed_lps in [0.0, 0.2, 0.35] {
                let held_g = |stage: &Stage| stage.catch.filter(|_| due).map_or(0.0, |catch| catch.capacity_g);
                let losses_kpa: f64 =
                    raw_stages(&plant.stages).map(|stage| stage.loss_kpa(feed_lps, held_g(stage))).sum();
                let left_kpa = PSI_KPA * header_psi - losses_kpa - rise_kpa;
                assert!((suction.kpa(feed_lps) - left_kpa).abs() < 1e-9, "{suction:?} at {feed_lps} L/s");
                assert!(feed_lps == 0.0 || losses_kpa > 1.0);
            }
        }
    }

    #[test]
    fn exact_advised_setting_is_judged_at_the_pressure_of_its_own_feed() {
        let question = Question::of(&ready("membrane-pond"), &Asked::default()).unwrap();
        let advice = advise(&question, Aim::Enough).unwrap();
        for point in Season::ALL.map(|season| *advice.advised.get(season)) {
            let left_kpa = question.suction.typical.kpa(point.work.unwrap().feed_lps);
            assert!((point.inlet_kpa - left_kpa).abs() < 0.021, "{point:?}");
        }
        let low = &advice.at_lowest_inlet;
        assert!((low.inlet_kpa - question.suction.lowest.kpa(low.work.unwrap().feed_lps)).abs() < 0.021);
    }

    #[test]
    fn exact_cycle_is_that_of_floats_and_flush() {
        const GALLON_L: f64 = 3.785_411_784;
        let cycle = Question::of(&ready("membrane"), &Asked::default()).unwrap().cycle.unwrap();
        // A tenth of 1500 gal; two minutes at 5 gpm; a minute of product.
        assert!((cycle.band_l / (150.0 * GALLON_L) - 1.0).abs() < 1e-9, "{cycle:?}");
        assert!((cycle.flush_l / (10.0 * GALLON_L) - 1.0).abs() < 1e-9 && cycle.divert_s == 60.0, "{cycle:?}");
    }

    #[test]
    fn exact_wanted_product_is_the_schedule_and_a_fifth() {
        let scenario = ready("membrane");
        let question = Question::of(&scenario, &Asked::default()).unwrap();
        let outlets = &scenario.plant.outlets;
        let drawn_l = scenario.scheduled_l_per_day(|outlet| outlets[outlet].header == Header::Delivery);
        let want = question.want.unwrap();
        assert!((want.product_l_day / drawn_l - 1.2).abs() < 1e-12 && want.hours_per_day == 24.0);
        let asked = Asked { product_l_day: Some(900.0), hours_per_day: Some(8.0), ..Asked::default() };
        let want = Question::of(&scenario, &asked).unwrap().want.unwrap();
        assert_eq!((want.product_l_day, want.all_day_l_day()), (900.0, 2_700.0));
    }

    #[test]
    fn exact_seasons_by_kind_of_water() {
        let temps = |name: &str| Question::of(&ready(name), &Asked::default()).unwrap().temp_c;
        let well = temps("membrane");
        assert!((well.typical - well.coldest - 2.0).abs() < 1e-12 && (well.warmest - well.typical - 2.0).abs() < 1e-12);
        let mut pond = ready("membrane");
        if let Some(design) = &mut pond.membrane_design {
            design.feed = FeedKind::Surface;
        }
        let pond = Question::of(&pond, &Asked::default()).unwrap().temp_c;
        assert!((pond.warmest - pond.coldest - 16.0).abs() < 1e-12);
        let asked = Asked { coldest_c: Some(4.0), ..Asked::default() };
        assert_eq!(Question::of(&ready("membrane"), &asked).unwrap().temp_c.coldest, 4.0);
    }

    #[test]
    fn exact_softener_exchanges_equivalents() {
        let mut stages = ready("two-wells").plant.stages.clone();
        stages.retain(|stage| matches!(stage.kind, StageKind::Softener));
        stages.truncate(1);
        stages[0].header = Header::Raw;
        stages[0].catch = Some(Catch { share: 0.75, ..stages[0].catch.unwrap() });
        let hard = TypicalWater::HardWell.analysis();
        let soft = hard.softened(raw_stages(&stages));
        assert!((soft.calcium_mg_l / hard.calcium_mg_l - 0.25).abs() < 1e-12);
        assert!((soft.cations_meq_l() - hard.cations_meq_l()).abs() < 1e-12);
    }

    #[test]
    fn exact_town_line_leaves_what_the_feed_leaves() {
        let line = springhouse_core::town_line::TownLine::new(400.0, (0.6, 250.0));
        let mut scenario = ready("membrane");
        let mut parts = Parts::clone(&scenario.plant);
        parts.supplies[0].source = Source::TownLine(line);
        parts.stages.clear();
        parts.pressure_tank = None;
        parts.change_over = None;
        parts.supplies.truncate(1);
        let membrane = parts.membrane.as_mut().unwrap();
        membrane.reject_to = None;
        if let Ok(plant) = Plant::try_new(parts.clone()) {
            scenario.plant = plant;
        } else {
            panic!("{:?}", Plant::try_new(parts).err());
        }
        let question = Question::of(&scenario, &Asked::default()).unwrap();
        for suction in [question.suction.lowest, question.suction.typical, question.suction.highest] {
            assert!((suction.kpa(0.3) - (400.0 - 150.0 / 4.0)).abs() < 1e-9, "{suction:?}");
        }
    }

    #[test]
    fn refuses_a_scenario_without_a_unit() {
        assert_eq!(Question::of(&ready("slow-well"), &Asked::default()).err(), Some(NoQuestion::NoMembrane));
    }
}
