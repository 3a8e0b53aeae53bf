//! Hot water follows the water and never leads it, and its heat is neither made nor lost.

use proptest::prelude::*;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::heater::layers::Layers;
use springhouse_core::heater::{Elements, Source, WATER_J_L_K};
use springhouse_core::hot_water::follow::{HotState, RoomRun};
use springhouse_core::hot_water::{HeaterPlace, HotWater};
use springhouse_core::incident::Outside;
use springhouse_core::observe::{Event, Observer, Part, Sample, Silent};
use springhouse_core::outlet::Role;
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::power::{SiteFlows, SitePower};
use springhouse_core::quality::Constituent;
use springhouse_core::room::Room;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{build, float_switch, slow_well, two_heaters, warm_draw};
use springhouse_tests::random::{CASE_LENGTH, Case, case, hot_water};
use springhouse_tests::recorder::Recorder;

/// A case, and other heaters for its buildings.
fn case_and_others() -> impl Strategy<Value = (Case, HotWater)> {
    case().prop_flat_map(|case| {
        let buildings = case.plant.outlets.iter().enumerate();
        let buildings = buildings.filter(|(_, outlet)| outlet.role == Role::Building);
        let others = hot_water(buildings.map(|(i, _)| i).collect());
        (Just(case), others)
    })
}

fn run<O: Observer>(case: &Case, plant: &Plant, observer: &mut O) -> Report {
    let options = Options { grid: Some(Span::from_s(59.0)), ..Options::default() };
    let mut engine =
        Engine::start(plant, &case.outside, case.draws.iter().copied(), options, observer).expect("starts");
    engine.run_until(Time::ZERO + CASE_LENGTH, observer).expect("runs");
    engine.report()
}

/// All of a run that is water, with these heaters.
fn water_side(case: &Case, hot_water: HotWater) -> (Recorder, Report) {
    // Behind a battery or a generator all share what there is.
    let plant = build(Parts { hot_water, power: SitePower::default(), ..Parts::clone(&case.plant) });
    let mut recorder = Recorder::default();
    let mut report = run(case, &plant, &mut recorder);
    recorder.events.retain(|Event { part, .. }| !matches!(part, Part::Heater(_)));
    (recorder.hot_rows, recorder.lukewarm) = (Vec::new(), Vec::new());
    report.hot_water = HotState::default();
    report.totals.heaters_j = 0.0;
    report.totals.site = SiteFlows::default();
    report.power = None;
    (report.tally.highest_tick_w, report.tally.tick_j) = (0.0, 0.0);
    (recorder, report)
}

/// The coldest and the warmest that any water of a run may be.
struct Bounds {
    coldest_c: f64,
    warmest_c: f64,
}

impl Bounds {
    fn note(&mut self, sample: &Sample<'_>) {
        let temp_c = |carried: &[f64]| carried[Constituent::Temperature as usize];
        let came_c = [temp_c(&sample.carried), temp_c(&sample.raw_carries)];
        let rooms_c = sample.hot_water.rooms.iter().map(|room| room.state.temp_c);
        for temp_c in came_c.into_iter().chain(rooms_c) {
            self.coldest_c = self.coldest_c.min(temp_c);
            self.warmest_c = self.warmest_c.max(temp_c);
        }
    }
}

impl Observer for Bounds {
    fn row(&mut self, sample: &Sample<'_>) {
        self.note(sample);
        // What came or cooled it between two rows is within a kelvin or two of what was seen.
        let within = self.coldest_c.min(0.0) - 2.0..=self.warmest_c.max(100.0);
        for heater in &sample.hot_water.heaters {
            let pipe = heater.place.pipe.iter().flat_map(Layers::as_slice);
            let tank = heater.place.heater.layers.as_slice();
            for pair in tank.windows(2) {
                assert!(pair[0].temp_c <= pair[1].temp_c + 1e-9, "colder over warmer water: {tank:?}");
            }
            for layer in tank.iter().chain(pipe) {
                assert!(layer.volume_l > 0.0 && within.contains(&layer.temp_c), "{layer:?} not in {within:?}");
            }
        }
        for RoomRun { state, totals } in &sample.hot_water.rooms {
            assert!((totals.lowest_c..=totals.highest_c).contains(&state.temp_c), "{totals:?} of {state:?}");
            assert!((0.0..1.0).contains(&state.humidity_kg_kg), "{state:?}");
        }
    }
}

/// What rooms gave to compressors by the books of the heaters, to the fans' electricity, against the rooms' own.
fn rooms_add_up(plant: &Plant, hot: &HotState) {
    for (number, (place, room)) in plant.hot_water.rooms.iter().zip(&hot.rooms).enumerate() {
        let totals = &room.totals;
        let heaters = plant.hot_water.heaters.iter().zip(&hot.heaters).filter(|(heater, _)| heater.room == number);
        let (mut least_j, mut most_j) = (0.0, 0.0);
        for (heater, run) in heaters {
            if let Source::HeatPump(pump, _) = &heater.heater.source {
                let coil_j = run.totals.pumped_j - run.totals.compressor_j;
                least_j += coil_j;
                most_j += coil_j + pump.fan_w * CASE_LENGTH.s();
            }
        }
        let taken_j = totals.sensible_j + totals.latent_j;
        let slack_j = 1e-9 * (1.0 + most_j.abs());
        if place.ducted {
            assert_eq!((totals.sensible_j, totals.latent_j), (0.0, 0.0));
        } else {
            assert!((least_j - slack_j..=most_j + slack_j).contains(&taken_j), "{taken_j} of {least_j}..{most_j} J");
            // Condensing gives 2.4 to 2.6 MJ/kg over water, frost up to 2.9.
            let [least_j, most_j] = [2.3e6, 3.0e6].map(|heat_j_kg| heat_j_kg * totals.condensate_kg);
            assert!((least_j - slack_j..=most_j + slack_j).contains(&totals.latent_j), "{totals:?}");
        }
        assert!(totals.condensate_kg >= 0.0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    /// With its heaters, with others or with none a plant pumps, fills and delivers the same, to the bit.
    #[test]
    fn heaters_change_no_water((case, others) in case_and_others()) {
        let own = water_side(&case, case.plant.hot_water.clone());
        let other = water_side(&case, others);
        let none = water_side(&case, HotWater::default());
        prop_assert!(own == none, "its own heaters: {:?} and {:?}", own.1, none.1);
        prop_assert!(other == none, "other heaters: {:?} and {:?}", other.1, none.1);
    }

    #[test]
    fn heat_closes(case in case()) {
        let started = HotState::at_start(&case.plant.hot_water);
        // Set points go to 75 °C; a pilot under a tank that loses nothing goes on from there.
        let warmest = |place: &HeaterPlace| {
            let Source::Fuel(burner) = &place.heater.source else { return place.start_c };
            let pilot_j = burner.pilot_w * burner.efficiency * CASE_LENGTH.s();
            place.start_c.max(80.0) + pilot_j / (WATER_J_L_K * place.heater.tank.volume_l)
        };
        let warmest_c = case.plant.hot_water.heaters.iter().map(warmest).fold(0.0, f64::max);
        let report = run(&case, &case.plant, &mut Bounds { coldest_c: 0.0, warmest_c });
        let hot = &report.hot_water;
        for (heater, start) in hot.heaters.iter().zip(&started.heaters) {
            let totals = &heater.totals;
            let most_j = 1e-9 * totals.heat_j.max(heater.stored_j()).max(start.stored_j());
            prop_assert!(heater.residual_j().abs() <= most_j, "{} J of {totals:?}", heater.residual_j());
            for value in [totals.taken_l, totals.heat_j, totals.compressor_j, totals.element_j, totals.other_j] {
                prop_assert!(value >= 0.0 && value.is_finite(), "{totals:?}");
            }
            prop_assert!(totals.longest.seconds <= totals.lukewarm_s && totals.lukewarm_s <= CASE_LENGTH.s());
        }
        rooms_add_up(&case.plant, hot);
        // The site's electricity of heaters is that of each, and no tick can have less power than the mean of them.
        let electric_j: f64 = hot.heaters.iter().map(|heater| heater.totals.electric_j()).sum();
        let told_j = report.totals.heaters_j;
        prop_assert!((told_j - electric_j).abs() <= 1e-9 * electric_j, "{told_j} of {electric_j} J");
        let mean_w = told_j / CASE_LENGTH.s();
        prop_assert!(report.tally.highest_tick_w >= (1.0 - 1e-9) * mean_w, "{:?} under {mean_w} W", report.tally);
    }
}

/// A room that loses nothing keeps what tanks, pipes and pumps lose into it.
#[test]
fn exact_sealed_room_keeps_what_heaters_and_pumps_lose() {
    let mut parts = Parts { hot_water: two_heaters(), ..slow_well(float_switch()) };
    for heater in &mut parts.hot_water.heaters {
        heater.room = 0;
        heater.heater.source = Source::Electric(Elements::TYPICAL);
    }
    parts.hot_water.rooms.truncate(1);
    let room = &mut parts.hot_water.rooms[0];
    (room.pumps_share, room.ducted) = (0.5, false);
    room.room = Room { heat_j_k: 2e6, loss_w_k: 0.0, volume_m3: 30.0, air_changes_h: 0.0 };
    let start_c = room.start.temp_c;
    let plant = build(parts);
    let draws = (0..12).map(|i| warm_draw(1_800.0 * f64::from(i) + 17.3, 400.0, 0.1, 40.0));
    let outside = Outside::default();
    let mut engine = Engine::start(&plant, &outside, draws, Options::default(), &mut Silent).expect("starts");
    // In the middle of a minute, and of a piece.
    let end = Time::from_s(24_321.7);
    engine.run_until(end, &mut Silent).expect("runs");
    let report = engine.report();
    let heaters = report.hot_water.heaters.iter().map(|run| &run.totals);
    // Controls of a plain electric tank take nothing: the rest is the loop's pump.
    let lost_j: f64 = heaters.map(|totals| totals.standby_j + totals.pipe_loss_j + totals.other_j).sum();
    let pumps_j = 0.5 * report.totals.delivery_j;
    assert!(pumps_j > 1e5 && lost_j > 1e6, "{pumps_j}, {lost_j}");
    let gained_j = 2e6 * (report.hot_water.rooms[0].state.temp_c - start_c);
    assert!((gained_j / (lost_j + pumps_j) - 1.0).abs() < 1e-11, "{gained_j} of {lost_j} and {pumps_j} J");
}
