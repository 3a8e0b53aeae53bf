//! Heaters and rooms over a step, by hand.

use super::*;
use crate::heater::control::Controls;
use crate::heater::heat_pump::HeatPump;
use crate::heater::tank::Tank;
use crate::heater::{Elements, Heater};
use crate::hot_water::{HotPipe, Settings};
use crate::observe::Silent;

const COLD_C: f64 = 10.0;

/// A heat pump in a room, at rest at 50 °C.
fn plant(mode: Mode, loss_w_k: f64) -> HotWater {
    let tank = Tank { volume_l: 200.0, height_m: 1.2, loss_w_k: 2.0, inlet_mixing: 0.2, ..TANK };
    let source = Source::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL);
    let pipe = HotPipe { volume_l: 3.0, loss_w_k: 2.0, kept_hot: Vec::new(), pump_w: 0.0 };
    let heater = HeaterPlace {
        name: "heater".to_owned(),
        outlet: 0,
        heater: Heater { tank, source, controls: Controls::TYPICAL },
        settings: Settings { set_c: 50.0, mode, windows: Vec::new(), sun: None },
        tempering_c: None,
        pipe: Some(pipe),
        room: 0,
        start_c: 50.0,
    };
    let around = MoistAir::at(15.0, 0.5, 101.325);
    let room = RoomPlace {
        name: "closet".to_owned(),
        room: Room { heat_j_k: 3e5, loss_w_k, volume_m3: 8.0, air_changes_h: 0.3 },
        start: RoomState { temp_c: 15.0, humidity_kg_kg: around.humidity_kg_kg },
        around,
        outdoors_share: 0.0,
        pumps_share: 0.0,
        storage_w_k: 0.0,
        ducted: false,
    };
    HotWater { heaters: vec![heater], rooms: vec![room] }
}

const TANK: Tank =
    Tank { volume_l: 200.0, height_m: 1.2, loss_w_k: 0.0, inlet_mixing: 0.0, diffusivity_m2_s: Tank::WATER_M2_S };

/// Lets minutes pass in which showers are taken at a flow.
fn run(of: &HotWater, minutes: i64, flow_lps: impl Fn(i64) -> f64) -> HotState {
    let mut state = HotState::at_start(of);
    for minute in 0..minutes {
        let time = Time::ZERO + Span::from_ns(minute * Span::MINUTE.ns());
        let at = Surroundings {
            time,
            seconds: 60.0,
            power: true,
            electric_heat: true,
            one_motor: false,
            surplus_w: 0.0,
            outdoors: None,
            pumps_w: 0.0,
            storage_c: None,
        };
        let draw = WarmDraw { flow_lps: flow_lps(minute), wanted_c: 40.0, felt: true };
        of.step(&mut state, &at, |_| ([draw].into_iter(), COLD_C), &mut Silent);
    }
    state
}

/// Ten minutes of every hour.
fn showers(minute: i64) -> f64 {
    if minute % 60 < 10 { 0.13 } else { 0.0 }
}

#[test]
fn exact_books_of_heat_close() {
    for mode in [Mode::HeatPumpOnly, Mode::Hybrid, Mode::ElementOnly, Mode::Off] {
        let state = run(&plant(mode, 60.0), 1_440, showers);
        let heater = &state.heaters[0];
        let throughput_j = heater.totals.heat_j.max(heater.stored_j());
        assert!(heater.residual_j().abs() < 1e-9 * throughput_j, "{mode:?}: {} J", heater.residual_j());
    }
}

#[test]
fn tight_closet_stops_the_compressor_where_its_air_is_too_cold() {
    let (tight, open) =
        (run(&plant(Mode::HeatPumpOnly, 5.0), 1_440, showers), run(&plant(Mode::HeatPumpOnly, 500.0), 1_440, showers));
    let coldest_c = HeatPump::TYPICAL.coldest_air_c;
    let lowest_c = tight.rooms[0].totals.lowest_c;
    assert!((coldest_c - 1.0..coldest_c).contains(&lowest_c), "{lowest_c}");
    assert!(open.rooms[0].totals.lowest_c > 11.0, "{:?}", open.rooms[0]);
    let [tight, open] = [tight, open].map(|state| state.heaters[0].totals);
    assert!(tight.compressor_j < 0.7 * open.compressor_j && tight.cop() < open.cop());
    assert!(tight.lukewarm_s > open.lukewarm_s && tight.lowest_outlet_c < open.lowest_outlet_c);
}

#[test]
fn ducted_compressor_leaves_the_room_alone() {
    let mut of = plant(Mode::HeatPumpOnly, 5.0);
    of.rooms[0].ducted = true;
    let state = run(&of, 600, showers);
    assert!(state.heaters[0].totals.compressor_j > 0.0);
    assert!(state.rooms[0].totals.lowest_c >= 15.0 && state.rooms[0].totals.sensible_j == 0.0);
}

#[test]
fn exact_spells_are_counted_and_the_longest_kept() {
    // A tank that is off and too cool from the start: 5 and 12 minutes.
    let mut of = plant(Mode::Off, 60.0);
    of.heaters[0].start_c = 35.0;
    let totals =
        run(&of, 60, |minute| if minute < 5 || (20..32).contains(&minute) { 0.1 } else { 0.0 }).heaters[0].totals;
    assert_eq!((totals.spells, totals.lukewarm_s, totals.longest.seconds), (2, 1_020.0, 720.0));
    assert_eq!(totals.longest.start, Time::from_s(1_200.0));
    assert!(totals.longest.coolest_c < 35.0);
}

#[test]
fn exact_litre_hours_of_growth_and_a_cool_outlet() {
    let mut of = plant(Mode::Off, 1e6);
    of.heaters[0].start_c = 35.0;
    of.heaters[0].heater.tank.loss_w_k = 0.0;
    let totals = run(&of, 60, |_| 0.0).heaters[0].totals;
    // All of it for an hour: the fifth that the inlet stirs is as warm.
    assert!((totals.growth_l_s / 3_600.0 - 200.0).abs() < 1e-9);
    assert_eq!((totals.cool_outlet_s, totals.longest_cool_s), (3_600.0, 3_600.0));
}

/// A room of 3 MJ/K and 50 W/K around a heater that is off and as warm as it: nothing but what the test puts in.
fn bare_room() -> HotWater {
    let mut of = plant(Mode::Off, 50.0);
    of.heaters[0].heater.tank.loss_w_k = 0.0;
    of.heaters[0].pipe = None;
    of.rooms[0].room = Room { heat_j_k: 3e6, loss_w_k: 50.0, volume_m3: 40.0, air_changes_h: 0.0 };
    of
}

/// Lets hours pass at rest, in some air outdoors and beside storage; the room at the end.
fn rest(of: &HotWater, hours: i64, outdoors: Option<MoistAir>, storage_c: Option<f64>) -> RoomState {
    let mut state = HotState::at_start(of);
    for minute in 0..60 * hours {
        let time = Time::ZERO + Span::from_ns(minute * Span::MINUTE.ns());
        let at = Surroundings {
            time,
            seconds: 60.0,
            power: true,
            electric_heat: true,
            one_motor: false,
            surplus_w: 0.0,
            outdoors,
            pumps_w: 0.0,
            storage_c,
        };
        of.step(&mut state, &at, |_| (core::iter::empty(), COLD_C), &mut Silent);
    }
    state.rooms[0].state
}

#[test]
fn exact_cool_storage_is_a_second_way_out() {
    let mut of = bare_room();
    of.rooms[0].storage_w_k = 25.0;
    // 50 W/K to 15 °C and 25 W/K to 6 °C: toward 12 °C, with a time constant of 40,000 s.
    let expected_c = 12.0 + 3.0 * libm::exp(-36_000.0 / 40_000.0);
    assert!((rest(&of, 10, None, Some(6.0)).temp_c - expected_c).abs() < 1e-9);
    assert!((rest(&of, 10, None, None).temp_c - 15.0).abs() < 1e-9);
}

#[test]
fn exact_part_of_the_loss_goes_outdoors() {
    let mut of = bare_room();
    of.rooms[0].outdoors_share = 0.3;
    // 0.3 of the way to -5 °C: toward 9 °C in 60,000 s.
    let outdoors = MoistAir::at(-5.0, 0.8, 101.325);
    let expected_c = 9.0 + 6.0 * libm::exp(-36_000.0 / 60_000.0);
    assert!((rest(&of, 10, Some(outdoors), None).temp_c - expected_c).abs() < 1e-9);
}

#[test]
fn duct_breathes_the_air_outdoors_and_a_coil_dries_its_room() {
    let cop = |ducted, outdoors_c| {
        let mut of = plant(Mode::HeatPumpOnly, 200.0);
        of.rooms[0].ducted = ducted;
        of.heaters[0].start_c = 30.0;
        let mut state = HotState::at_start(&of);
        let outdoors = Some(MoistAir::at(outdoors_c, 0.5, 101.325));
        for minute in 0..60 {
            let time = Time::ZERO + Span::from_ns(minute * Span::MINUTE.ns());
            let at = Surroundings {
                time,
                seconds: 60.0,
                power: true,
                electric_heat: true,
                one_motor: false,
                surplus_w: 0.0,
                outdoors,
                pumps_w: 0.0,
                storage_c: None,
            };
            of.step(&mut state, &at, |_| (core::iter::empty(), COLD_C), &mut Silent);
        }
        (state.heaters[0].totals.cop().unwrap(), state.rooms[0])
    };
    let ((warm, _), (cool, _)) = (cop(true, 35.0), cop(true, 12.0));
    assert!(warm > 1.3 * cool, "{warm} and {cool}");
    // Without a duct the weather outdoors is nothing to it here.
    assert_eq!(cop(false, 35.0).0, cop(false, 12.0).0);
    // What ran off the coil is missing in the sealed room's air.
    let mut of = plant(Mode::HeatPumpOnly, 200.0);
    of.heaters[0].start_c = 30.0;
    of.rooms[0].room.air_changes_h = 0.0;
    of.rooms[0].start.humidity_kg_kg = 0.010;
    let state = run(&of, 10, |_| 0.0);
    let (room, place) = (&state.rooms[0], &of.rooms[0]);
    assert!(room.totals.condensate_kg > 0.01, "{room:?}");
    assert!(
        room.state.humidity_kg_kg < 0.010 - 0.9 * room.totals.condensate_kg / (1.25 * place.room.volume_m3),
        "{room:?}"
    );
}
