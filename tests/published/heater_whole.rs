//! Whole heaters in any weather: books that close, rules that hold.

use proptest::prelude::*;
use springhouse_core::heater::control::{Controls, Mode};
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::tank::Tank;
use springhouse_core::heater::{Burner, Conditions, Element, Elements, Heater, HeaterState, Source, WATER_J_L_K};
use springhouse_core::moist_air::MoistAir;

const TANK: Tank = Tank {
    volume_l: 170.0,
    height_m: 1.2,
    loss_w_k: 2.0,
    inlet_mixing: Tank::INLET_MIXING,
    diffusivity_m2_s: Tank::WATER_M2_S,
};

fn heater(source: Source) -> Heater {
    Heater { tank: TANK, source, controls: Controls::TYPICAL }
}

/// A minute without a draw, at a set point of 50 °C in a room of 18 °C.
fn still() -> Conditions {
    let air = MoistAir::at(18.0, 0.5, 101.325);
    Conditions {
        seconds: 60.0,
        litres: 0.0,
        inlet_c: 10.0,
        set_c: 50.0,
        mode: Mode::Hybrid,
        power: true,
        air,
        intake: air,
    }
}

fn sources() -> impl Strategy<Value = Source> {
    let pilot_w = prop_oneof![Just(0.0), 50.0..200.0];
    let burner =
        (8_000.0..20_000.0, 0.6..0.95, pilot_w, 0.0..5.0).prop_map(|(input_w, efficiency, pilot_w, flue_loss_w_k)| {
            Source::Fuel(Burner { input_w, efficiency, pilot_w, flue_loss_w_k, electric_w: 5.0 })
        });
    let pump = (800.0..3_000.0, 0.2..0.9, 0.2..1.0).prop_map(|(rated_heat_w, carnot_share, condenser_top)| {
        let pump = HeatPump { rated_heat_w, carnot_share, condenser_top, ..HeatPump::TYPICAL };
        Source::HeatPump(pump, Elements::TYPICAL)
    });
    let bare = Just(Source::HeatPump(HeatPump::TYPICAL, Elements::default()));
    prop_oneof![Just(Source::Electric(Elements::TYPICAL)), pump, bare, burner]
}

fn conditions() -> impl Strategy<Value = Conditions> {
    let mode = prop_oneof![Just(Mode::Off), Just(Mode::HeatPumpOnly), Just(Mode::Hybrid), Just(Mode::ElementOnly)];
    let litres = prop_oneof![Just(0.0), 0.01..12.0];
    let air = (-10.0..45.0, 0.1..1.0).prop_map(|(temp_c, humidity)| MoistAir::at(temp_c, humidity, 95.0));
    (1.0..=60.0, litres, 4.0..25.0, 40.0..65.0, mode, prop::bool::weighted(0.9), air).prop_map(
        |(seconds, litres, inlet_c, set_c, mode, power, air)| Conditions {
            seconds,
            litres,
            inlet_c,
            set_c,
            mode,
            power,
            air,
            intake: air,
        },
    )
}

proptest! {
    #[test]
    fn any_heater_balances(source in sources(), meets in prop::collection::vec((conditions(), 1..60_usize), 1..12)) {
        let heater = heater(source);
        let mut state = HeaterState::at(&heater, 45.0);
        for (at, times) in meets {
            for _ in 0..times {
                let before_j = TANK.energy_j(&state.layers, 0.0);
                let mut drawn_l = 0.0;
                let told = heater.step(&mut state, &at, |piece| drawn_l += piece.volume_l);
                let gain_j = TANK.energy_j(&state.layers, 0.0) - before_j;
                let book_j = told.heat_j - told.delivered_j - told.loss_j - told.flue_j;
                // Forty megajoules of water against 0 °C, to rounding.
                prop_assert!((gain_j - book_j).abs() < 1e-12 * (before_j + told.delivered_j), "{told:?}: {gain_j}");
                prop_assert!((drawn_l - at.litres).abs() < 1e-11);
                // Heat comes from somewhere: elements, fuel, or compressor and coil.
                let burned = match &heater.source { Source::Fuel(burner) => burner.efficiency, _ => 0.0 };
                let from_j = told.element_j + told.compressor_j + told.sensible_j + told.latent_j + burned * told.fuel_j;
                prop_assert!((told.heat_j - from_j).abs() < 1e-8 * (1.0 + told.heat_j), "{told:?}: {from_j}");
                prop_assert!((told.room_gains_j() - (told.loss_j + told.fan_j - told.sensible_j)).abs() < 1e-9);
                prop_assert!(told.condensate_kg >= 0.0 && told.electric_j() >= 0.0);
                let on = state.switches;
                prop_assert!(!(on.upper && on.lower) && !(on.compressor && (on.upper || on.lower)), "{on:?}");
                prop_assert!(at.power || told.electric_j() == 0.0, "{told:?}");
                let suits = (7.0..=43.0).contains(&at.air.temp_c);
                prop_assert!(!on.compressor || suits && at.mode != Mode::ElementOnly, "{on:?} in {at:?}");
            }
        }
        let text = serde_json::to_string(&state).expect("plain data");
        prop_assert_eq!(serde_json::from_str::<HeaterState>(&text).expect("what was written"), state);
    }
}

#[test]
fn exact_heater_at_its_set_point_makes_up_its_loss() {
    // Ten days without a draw: electricity is loss, but for what the tank holds more or less at the end.
    let heater = heater(Source::Electric(Elements::TYPICAL));
    let mut state = HeaterState::at(&heater, 50.0);
    let start_j = TANK.energy_j(&state.layers, 0.0);
    let at = still();
    let (mut electric_j, mut loss_j) = (0.0, 0.0);
    for _ in 0..14_400 {
        let told = heater.step(&mut state, &at, |_| ());
        (electric_j, loss_j) = (electric_j + told.electric_j(), loss_j + told.loss_j);
    }
    let gain_j = TANK.energy_j(&state.layers, 0.0) - start_j;
    assert!((electric_j - loss_j - gain_j).abs() < 1e-3, "{electric_j} for {loss_j} and {gain_j}");
    // A band of 6 K: 26 to 32 K over the room, 2 W/K.
    let mean_w = loss_j / 864_000.0;
    assert!((2.0 * 26.0..2.0 * 32.0).contains(&mean_w), "{mean_w}");
}

#[test]
fn cold_room_leaves_the_heat_to_the_elements() {
    // Air under the compressor's limit: in hybrid mode the tank warms by elements, with the compressor alone it stays.
    let heater = heater(Source::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL));
    let warmed = |mode| {
        let mut state = HeaterState::at(&heater, 20.0);
        let air = MoistAir::at(5.0, 0.7, 101.325);
        let at =
            Conditions { seconds: 60.0, litres: 0.0, inlet_c: 10.0, set_c: 50.0, mode, power: true, air, intake: air };
        let electric_j: f64 = (0..600).map(|_| heater.step(&mut state, &at, |_| ()).electric_j()).sum();
        (state.outlet_c(), electric_j)
    };
    let (outlet_c, electric_j) = warmed(Mode::Hybrid);
    assert!(outlet_c > 44.0 && electric_j > 0.8 * WATER_J_L_K * 170.0 * 24.0, "{outlet_c}, {electric_j}");
    assert_eq!(warmed(Mode::HeatPumpOnly).1, 0.0);
}

#[test]
fn steps_of_any_length_heat_and_stir_alike() {
    // A minute at once, or in six hundred parts, as events of the water side cut it: the same heat to 1 %, the same starts.
    let used = |parts: u32| {
        let heater = heater(Source::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL));
        let mut state = HeaterState::at(&heater, 50.0);
        let (mut electric_j, mut starts) = (0.0, 0);
        for minute in 0..360 {
            for _ in 0..parts {
                let was = state.switches.is_on();
                let litres = if (30..40).contains(&minute) { 8.0 / f64::from(parts) } else { 0.0 };
                let at = Conditions { seconds: 60.0 / f64::from(parts), litres, ..still() };
                electric_j += heater.step(&mut state, &at, |_| ()).electric_j();
                starts += u32::from(state.switches.is_on() && !was);
            }
        }
        (electric_j, starts)
    };
    let ((whole_j, whole), (parts_j, parts)) = (used(1), used(600));
    assert!((parts_j / whole_j - 1.0).abs() < 0.01, "{parts_j} and {whole_j} J");
    assert_eq!(whole, parts);
}

#[test]
fn exact_nothing_heats_far_over_its_set_point() {
    // 10 L and 200 kW: a thermostat that acts once a minute would boil it.
    let elements = Elements { upper: None, lower: Some(Element { power_w: 200e3, height: 0.05 }) };
    let mut heater = heater(Source::Electric(elements));
    heater.tank.volume_l = 10.0;
    let mut state = HeaterState::at(&heater, 15.0);
    for _ in 0..120 {
        heater.step(&mut state, &still(), |_| ());
        assert!(state.outlet_c() <= still().set_c + 1.0 + 1e-9, "{}", state.outlet_c());
    }
    assert!(state.outlet_c() > still().set_c - 10.0);
}
