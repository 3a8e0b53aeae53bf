//! The question that a scenario asks.

use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::unit::MembraneUnit;
use springhouse_core::outlet::Header;
use springhouse_core::plant::Plant;
use springhouse_core::supply::{Control, Source, Supply};
use springhouse_core::treatment::Stage;
use springhouse_core::water::Water;
use springhouse_scenario::Scenario;
use thiserror::Error;

use super::question::{DAY_H, Question, Swing, Want};
use super::season::Seasons;

/// More product than the schedule's mean day: a tenth that membranes may lose before they are due for cleaning, and a tenth for
/// days above the mean. Our own choice.
const MARGIN: f64 = 1.2;

/// How far the water of a well, and that of a pond, cistern or town line, is colder and warmer than typical, K. Common practice,
/// no source: a well keeps the mean of the year, what lies open or shallow does not.
const WELL_SWING_K: f64 = 2.0;
const SURFACE_SWING_K: f64 = 8.0;

/// The coldest that water is taken to get, above freezing, and the warmest that a unit is built for, °C.
const COLDEST_C: f64 = 1.0;
const WARMEST_C: f64 = 50.0;

/// Rounds in which feed and the pressure that is left for it are made to agree: each brings them some tenfold closer.
const ROUNDS: u32 = 40;

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
    /// The typical inlet pressure is midway between cut-in and cut-out, or what a drive holds, or that of a town line at the
    /// unit's feed; less the loss of clean stages on the raw line at that feed, and the height of the suction. The lowest is that
    /// at cut-in or wake pressure with stages that are due, the highest that at cut-out. Other draws at the same time are left out.
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
        let drawn_l_day = scenario
            .scheduled_l_per_day(|outlet| plant.outlets.get(outlet).is_some_and(|o| o.header == Header::Delivery));
        let product_l_day = asked.product_l_day.unwrap_or(MARGIN * drawn_l_day);
        Ok(Self {
            unit: membrane.unit.clone(),
            fouling: membrane.start_fouling,
            inlet_kpa: inlet_kpa(plant, membrane, supply),
            feed_salt_mg_l: supply.quality.salt_mg_l,
            analysis: analysis.map(|analysis| analysis.softened(raw_stages(&plant.stages))),
            antiscalant: design.antiscalant,
            feed: design.feed,
            diameter_in: design.diameter_in,
            want: (product_l_day > 0.0)
                .then_some(Want { product_l_day, hours_per_day: asked.hours_per_day.unwrap_or(DAY_H) }),
            temp_c: Seasons {
                coldest: asked.coldest_c.unwrap_or((typical - swing_k).max(COLDEST_C.min(typical))),
                typical,
                warmest: asked.warmest_c.unwrap_or((typical + swing_k).min(WARMEST_C.max(typical))),
            },
            most_recovery: None,
            most_product_salt_mg_l: None,
        })
    }
}

fn raw_stages(stages: &[Stage]) -> impl Iterator<Item = &Stage> {
    stages.iter().filter(|stage| stage.header == Header::Raw)
}

/// Pressures at the suction, each with the feed that the unit as it is set takes there.
fn inlet_kpa(plant: &Plant, membrane: &Membrane, supply: &Supply) -> Swing {
    let clean = |feed_lps: f64| raw_stages(&plant.stages).map(|stage| stage.loss_kpa(feed_lps, 0.0)).sum();
    let due = |feed_lps: f64| raw_stages(&plant.stages).map(|stage| due_kpa(stage, feed_lps)).sum();
    let settled = |header_kpa: &dyn Fn(f64) -> f64, loss_kpa: &dyn Fn(f64) -> f64| {
        let rise_kpa = plant.water.pressure_kpa(membrane.rise_m);
        let left_kpa = |feed_lps: f64| header_kpa(feed_lps) - loss_kpa(feed_lps) - rise_kpa;
        let mut inlet_kpa = left_kpa(0.0);
        for _ in 0..ROUNDS {
            // Halfway: where filters are small, going all the way would overshoot.
            inlet_kpa = 0.5 * (inlet_kpa + left_kpa(feed_lps(membrane, &plant.water, supply, inlet_kpa)));
        }
        inlet_kpa
    };
    let (low, typical, high): (f64, f64, f64) = match &supply.source {
        Source::TownLine(line) => {
            let residual_kpa = |feed_lps: f64| line.residual_kpa(feed_lps);
            let clean_kpa = settled(&residual_kpa, &clean);
            (settled(&residual_kpa, &due), clean_kpa, clean_kpa)
        }
        Source::Well { pump, .. } | Source::Basin { pump, .. } => {
            let (low_kpa, high_kpa) = (pump.control.low_kpa(), pump.control.high_kpa());
            let typical_kpa = match pump.control {
                Control::Switch { .. } => 0.5 * (low_kpa + high_kpa),
                Control::Drive(_) => high_kpa,
            };
            (settled(&|_| low_kpa, &due), settled(&|_| typical_kpa, &clean), settled(&|_| high_kpa, &clean))
        }
    };
    Swing { lowest: low.min(typical), typical, highest: high.max(typical) }
}

/// What a stage that is due for change or washing loses.
fn due_kpa(stage: &Stage, flow_lps: f64) -> f64 {
    stage.loss_kpa(flow_lps, stage.catch.map_or(0.0, |catch| catch.capacity_g))
}

/// Fresh feed of the unit as it is set; none where nothing flows.
fn feed_lps(membrane: &Membrane, water: &Water, supply: &Supply, inlet_kpa: f64) -> f64 {
    let unit: &MembraneUnit = &membrane.unit;
    let at = unit.at(membrane.feed_temp_c, membrane.start_fouling, water);
    at.steady(inlet_kpa.max(0.0), supply.quality.salt_mg_l).map_or(0.0, |found| found.flows.feed_lps())
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use springhouse_core::plant::Parts;
    use springhouse_core::scaling::TypicalWater;
    use springhouse_core::treatment::{Catch, StageKind};
    use springhouse_scenario::load;

    use super::*;

    fn ready(name: &str) -> Scenario {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(name).with_extension("toml");
        load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario
    }

    const PSI_KPA: f64 = 6.894_757_293_168;

    #[test]
    fn exact_inlet_is_what_filters_and_height_leave() {
        let scenario = ready("membrane");
        let plant = &scenario.plant;
        let question = Question::of(&scenario, &Asked::default()).unwrap();
        let Swing { lowest, typical, highest } = question.inlet_kpa;
        let membrane = plant.membrane.as_ref().unwrap();
        for (inlet_kpa, header_psi, due) in [(lowest, 45.0, true), (typical, 55.0, false), (highest, 65.0, false)] {
            let feed_lps = feed_lps(membrane, &plant.water, &plant.supplies[0], inlet_kpa);
            let loss = |stage: &Stage| if due { due_kpa(stage, feed_lps) } else { stage.loss_kpa(feed_lps, 0.0) };
            let losses_kpa: f64 = raw_stages(&plant.stages).map(loss).sum();
            assert!(losses_kpa > 1.0 && feed_lps > 0.2);
            // Forty halvings.
            assert!((inlet_kpa + losses_kpa - PSI_KPA * header_psi).abs() < 1e-6, "{inlet_kpa} with {losses_kpa}");
        }
    }

    #[test]
    fn exact_suction_that_lies_higher_has_less() {
        let mut scenario = ready("membrane");
        let low = Question::of(&scenario, &Asked::default()).unwrap().inlet_kpa;
        let mut parts = Parts::clone(&scenario.plant);
        parts.membrane.as_mut().unwrap().rise_m = 5.0;
        scenario.plant = Plant::try_new(parts).unwrap();
        let high = Question::of(&scenario, &Asked::default()).unwrap().inlet_kpa;
        // 49 kPa, less what the filters lose less for a feed that is a little smaller.
        assert!((45.0..49.1).contains(&(low.typical - high.typical)), "{low:?} {high:?}");
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
        let plant = &scenario.plant;
        let inlet_kpa = question.inlet_kpa.typical;
        let fed = feed_lps(plant.membrane.as_ref().unwrap(), &plant.water, &plant.supplies[0], inlet_kpa);
        assert!((400.0 - 150.0 * (fed / 0.6) * (fed / 0.6) - inlet_kpa).abs() < 1e-6, "{inlet_kpa} at {fed}");
    }

    #[test]
    fn refuses_a_scenario_without_a_unit() {
        assert_eq!(Question::of(&ready("slow-well"), &Asked::default()).err(), Some(NoQuestion::NoMembrane));
    }
}
