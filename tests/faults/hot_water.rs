//! Heaters without power, without water, and two at one building.

use springhouse_core::engine::{Engine, EngineError, Options, Report};
use springhouse_core::heater::control::Mode;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::{Burner, Elements, Source, WATER_J_L_K};
use springhouse_core::hot_water::follow::HeaterTotals;
use springhouse_core::hot_water::{HeaterPlace, HotPipe, HotWater};
use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::{EventKind, Part, Silent};
use springhouse_core::plant::Parts;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{
    BURNER, build, cycling, draw, float_switch, heater, room, slow_well, two_heaters, warm_draw,
};
use springhouse_tests::recorder::Recorder;

use crate::{HOUR_S, incident, run};

/// Water of the plants here.
const COLD_C: f64 = 12.0;

/// A change to heaters.
type Turn = fn(&mut HotWater);

const ELECTRIC: Source = Source::Electric(Elements::TYPICAL);

/// A plant of a large pressure tank, in which the taps run for a while without power.
fn with(heaters: Vec<HeaterPlace>) -> Parts {
    Parts { hot_water: HotWater { heaters, rooms: vec![room("closet")] }, ..slow_well(float_switch()) }
}

fn totals(report: &Report, heater: usize) -> &HeaterTotals {
    &report.hot_water.heaters[heater].totals
}

/// Electricity of all heaters between two minutes.
fn between_j(recorder: &Recorder, from: usize, to: usize) -> f64 {
    recorder.hot_rows[to].heaters_j - recorder.hot_rows[from].heaters_j
}

/// Without power an electric tank cools by what its wall loses, and heats again from the instant the power is back.
#[test]
fn exact_electric_tank_only_cools_without_power() {
    let mut place = heater(ELECTRIC);
    // One temperature throughout, and a set point far over it: it would heat all the time.
    (place.start_c, place.settings.set_c) = (50.0, 70.0);
    let mut parts = with(vec![place]);
    parts.hot_water.rooms[0].room.heat_j_k = 1e12;
    let out = incident(IncidentKind::PowerOut, (0.0, 5.0));
    let (recorder, report) = run(parts, &out, Vec::new(), 6.0);
    assert_eq!(between_j(&recorder, 0, 300), 0.0);
    // 2 W/K over 200 L into a room that stays at 18 °C.
    let cooled_c = 18.0 + 32.0 * libm::exp(-2.0 * 5.0 * HOUR_S / (200.0 * WATER_J_L_K));
    let outlet_c = recorder.hot_rows[300].outlet_c[0];
    assert!((outlet_c - cooled_c).abs() < 1e-6, "{outlet_c} for {cooled_c} °C");
    assert!((between_j(&recorder, 300, 310) / (4_500.0 * 600.0) - 1.0).abs() < 1e-9);
    assert!((totals(&report, 0).heat_j - report.totals.heaters_j).abs() < 1e-3);
}

/// The minute in which the power goes is cut at its instant: elements heat up to it and from it on.
#[test]
fn exact_power_cut_within_a_minute() {
    let mut place = heater(ELECTRIC);
    place.settings.set_c = 95.0;
    let out = incident(IncidentKind::PowerOut, (100.25 / HOUR_S, 175.5 / HOUR_S));
    let (_, report) = run(with(vec![place]), &out, Vec::new(), 300.0 / HOUR_S);
    let expected_j = 4_500.0 * (300.0 - 75.25);
    assert!((report.totals.heaters_j / expected_j - 1.0).abs() < 1e-9, "{} J", report.totals.heaters_j);
}

/// Showers in an outage run on what the pressure tank holds, and get lukewarm when the heater's water is used up; a burner
/// with a standing pilot goes on, one that needs a spark does not.
#[test]
fn outage_leaves_electric_heaters_cold_and_a_pilot_burning() {
    let out = incident(IncidentKind::PowerOut, (0.5, 20.0));
    let spark = Burner { pilot_w: 0.0, ..BURNER };
    let pump = Source::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL);
    // A house on the raw line of a tank that holds six showers of 40 L.
    let showers: Vec<_> = (0..6).map(|i| warm_draw(HOUR_S * (1.0 + 2.0 * f64::from(i)), 400.0, 0.1, 40.0)).collect();
    let ends = |source: Source| {
        let mut place = heater(source);
        place.heater.tank.volume_l = 100.0;
        let mut parts = Parts { hot_water: with(vec![place]).hot_water, ..cycling(400.0) };
        if let Some(tank) = &mut parts.pressure_tank {
            tank.volume_l = 2_000.0;
        }
        let (recorder, report) = run(parts, &out, showers.clone(), 20.0);
        let drawn_l: f64 = report.totals.outlets[0].delivered_l;
        assert!((drawn_l - 240.0).abs() < 1e-6, "{drawn_l} L");
        (recorder, report)
    };
    for source in [ELECTRIC, pump, Source::Fuel(spark)] {
        let (recorder, report) = ends(source);
        assert_eq!(between_j(&recorder, 30, 1_200), 0.0, "{source:?}");
        let began_s = recorder.times_s(EventKind::LukewarmBegins);
        // 100 L of 55 °C are 151 L of 40 °C at most, those that stir with what comes in less: the third shower or the fourth.
        assert!((5.0 * HOUR_S..7.2 * HOUR_S).contains(&began_s[0]), "{source:?}: {began_s:?}");
        let heater = totals(&report, 0);
        assert!(heater.fuel_j < 11_000.0 * 0.5 * HOUR_S && report.hot_water.heaters[0].place.heater.outlet_c() < 30.0);
        assert_eq!(recorder.lukewarm.len() as u64, heater.spells);
        let spell_s: f64 = recorder.lukewarm.iter().map(|(_, spell)| spell.seconds).sum();
        assert!((spell_s - heater.lukewarm_s).abs() < 1e-6, "{spell_s} s of {heater:?}");
    }
    let (recorder, report) = ends(Source::Fuel(BURNER));
    assert_eq!(between_j(&recorder, 30, 1_200), 0.0, "no electricity of its controls");
    assert!(recorder.times_s(EventKind::LukewarmBegins).is_empty());
    assert!(totals(&report, 0).lowest_outlet_c > 45.0 && totals(&report, 0).fuel_j > 120.0 * 20.0 * HOUR_S);
}

/// A loop stands still in an outage.
#[test]
fn exact_loop_takes_no_power_in_an_outage() {
    let mut hot_water = two_heaters();
    hot_water.heaters.remove(0);
    let kept_hot = vec![(Span::ZERO, Span::DAY)];
    hot_water.heaters[0].pipe = Some(HotPipe { volume_l: 4.0, loss_w_k: 3.0, kept_hot, pump_w: 20.0 });
    let out = incident(IncidentKind::PowerOut, (1.0, 3.0));
    let parts = Parts { hot_water, ..slow_well(float_switch()) };
    let (_, report) = run(parts, &out, Vec::new(), 4.0);
    // Two hours with power, of the pump and of the controls.
    assert!((report.totals.heaters_j / (23.0 * 2.0 * HOUR_S) - 1.0).abs() < 1e-9, "{} J", report.totals.heaters_j);
}

/// While storage has nothing to give, no tap takes hot water, however long it stays open.
#[test]
fn dry_storage_takes_no_hot_water() {
    let mut parts = with(vec![heater(ELECTRIC)]);
    if let Some(store) = &mut parts.store {
        store.storage.start_l = 400.0;
    }
    let stuck = incident(IncidentKind::FloatStuck { open: false }, (0.0, 24.0));
    let (recorder, report) = run(parts, &stuck, vec![warm_draw(HOUR_S, 10.0 * HOUR_S, 0.1, 40.0)], 12.0);
    assert_eq!(report.tally.run_outs.count, 1);
    // Storage down to where it is kept, and the small tank as far as it gives without its pump.
    let dry_s = recorder.times_s(EventKind::RunOutBegins)[0];
    let dry = recorder.rows.iter().position(|row| row.time.s() > dry_s + HOUR_S).expect("is within the run");
    let taken_l = |row: usize| recorder.hot_rows[row].taken_l[0];
    assert!(dry < 600 && taken_l(dry) > 20.0, "{dry}, {} L", taken_l(dry));
    assert_eq!(taken_l(dry).to_bits(), taken_l(720).to_bits());
    let delivered_l = report.totals.outlets[0].delivered_l;
    assert!(taken_l(720) < delivered_l && delivered_l < 400.0, "{} of {delivered_l} L", taken_l(720));
}

/// Where less comes than a tap is open for, less hot water is taken: the share of the moment.
#[test]
fn exact_hot_water_of_a_weak_flow() {
    let mut place = heater(ELECTRIC);
    place.settings.mode = Mode::Off;
    place.heater.tank.loss_w_k = 0.0;
    let worn = incident(IncidentKind::SupplyOut { supply: 0 }, (0.0, 12.0));
    let parts = Parts { hot_water: with(vec![place]).hot_water, ..cycling(400.0) };
    let (_, report) = run(parts, &worn, vec![warm_draw(600.0, 3_000.0, 0.05, 40.0)], 2.0);
    let (delivered_l, lost_l) = (report.totals.outlets[0].delivered_l, report.totals.outlets[0].lost_l);
    assert!(lost_l > 10.0 && delivered_l > 50.0, "{delivered_l} and {lost_l} L");
    // 40 °C out of 55 and 12.
    let expected_l = delivered_l * (40.0 - COLD_C) / (55.0 - COLD_C);
    let taken_l = totals(&report, 0).taken_l;
    // Layers less than half a kelvin apart may be mixed.
    assert!((taken_l / expected_l - 1.0).abs() < 1e-4, "{taken_l} of {expected_l} L");
}

/// Two equal heaters of one building give each half: each does what one heater does for one of two equal taps.
#[test]
fn exact_heaters_of_one_building_share_its_draws() {
    let draws = |other_c| [41.0, other_c].map(|temp_c| warm_draw(600.0, 1_200.0, 0.08, temp_c)).to_vec();
    let rooms = |heaters: Vec<HeaterPlace>| {
        let mut parts = with(heaters);
        parts.hot_water.rooms.push(room("cellar"));
        parts
    };
    let twin = || HeaterPlace { room: 1, ..heater(ELECTRIC) };
    let (_, shared) = run(rooms(vec![heater(ELECTRIC), twin()]), &Outside::default(), draws(41.0), 2.0);
    let (_, alone) = run(rooms(vec![heater(ELECTRIC)]), &Outside::default(), draws(0.0), 2.0);
    assert_eq!(totals(&shared, 0), totals(&alone, 0));
    assert_eq!(totals(&shared, 1), totals(&alone, 0));
    let expected_l = 0.08 * 1_200.0 * (41.0 - COLD_C) / (55.0 - COLD_C);
    let taken_l = totals(&alone, 0).taken_l;
    assert!((taken_l / expected_l - 1.0).abs() < 0.01, "{taken_l} of {expected_l} L");
}

/// People of a building without a heater, and cold draws, take no hot water.
#[test]
fn cold_draws_take_no_hot_water() {
    let (recorder, report) =
        run(with(vec![heater(ELECTRIC)]), &Outside::default(), vec![draw(600.0, 3_000.0, 0.2)], 2.0);
    assert!(report.totals.outlets[0].delivered_l > 500.0);
    assert_eq!((totals(&report, 0).taken_l, totals(&report, 0).at_taps_j), (0.0, 0.0));
    assert!(recorder.events.iter().all(|event| !matches!(event.part, Part::Heater(_))));
}

/// A saved state goes on with the very heaters it was saved with, and with no others.
#[test]
fn state_of_other_heaters_is_refused() {
    let parts = || Parts { hot_water: two_heaters(), ..slow_well(float_switch()) };
    let outside = Outside::default();
    let draws = || (0..4).map(|i| warm_draw(900.0 * f64::from(i), 300.0, 0.1, 40.0));
    let plant = build(parts());
    let mut engine = Engine::start(&plant, &outside, draws(), Options::default(), &mut Silent).expect("starts");
    engine.run_until(Time::from_s(2_000.0), &mut Silent).expect("runs");
    let state = engine.save();
    let resumes = |turn: Turn| {
        let mut parts = parts();
        turn(&mut parts.hot_water);
        let plant = build(parts);
        Engine::resume(&plant, &outside, draws(), Options::default(), state.clone()).map(|_| ())
    };
    assert_eq!(resumes(|_| ()), Ok(()));
    // Another set point or another name is a change of settings, as it may be made while a plant runs.
    assert_eq!(resumes(|hot| hot.heaters[0].settings.set_c = 49.0), Ok(()));
    let others: [(&str, Turn); 7] = [
        ("none", |hot| *hot = HotWater::default()),
        ("one", |hot| drop(hot.heaters.pop())),
        ("three", |hot| hot.heaters.push(heater(ELECTRIC))),
        ("a larger tank", |hot| hot.heaters[1].heater.tank.volume_l = 210.0),
        ("no pipe", |hot| hot.heaters[0].pipe = None),
        ("a longer pipe", |hot| hot.heaters[0].pipe.iter_mut().for_each(|pipe| pipe.volume_l += 1.0)),
        ("another room", |hot| hot.rooms.push(room("attic"))),
    ];
    for (name, turn) in others {
        assert_eq!(resumes(turn), Err(EngineError::BadState), "{name}");
    }
}
