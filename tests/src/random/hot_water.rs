//! Heaters and rooms of any kind that can be built.

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::heater::control::{Controls, Mode};
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::tank::Tank;
use springhouse_core::heater::{Burner, Element, Elements, Heater, Source};
use springhouse_core::hot_water::{HeaterPlace, HotPipe, HotWater, RoomPlace, Settings, SunBoost, Window};
use springhouse_core::moist_air::MoistAir;
use springhouse_core::room::{Room, RoomState};
use springhouse_core::time::Span;

/// A part that is nothing, all or something between.
fn share() -> impl Strategy<Value = f64> {
    prop_oneof![2 => Just(0.0), 1 => Just(1.0), 1 => 0.0..1.0]
}

/// Something that is not there, or as much as that.
fn none_or(range: core::ops::Range<f64>) -> impl Strategy<Value = f64> {
    prop_oneof![1 => Just(0.0), 2 => range]
}

/// Elements, each under the sensor that switches it.
fn elements() -> impl Strategy<Value = Elements> {
    let element = |heights| (500.0..5_000.0, heights).prop_map(|(power_w, height)| Element { power_w, height });
    (of(element(0.5..0.72)), of(element(0.0..0.2))).prop_map(|(upper, lower)| Elements { upper, lower })
}

fn source() -> impl Strategy<Value = Source> {
    let compressor = (800.0..3_000.0, 0.2..0.8, 0.2..1.0, 0.0..10.0, 0.0..60.0).prop_map(
        |(rated_heat_w, carnot_share, condenser_top, coldest_air_c, fan_w)| HeatPump {
            rated_heat_w,
            carnot_share,
            condenser_top,
            coldest_air_c,
            fan_w,
            ..HeatPump::TYPICAL
        },
    );
    let burner = (8_000.0..20_000.0, 0.6..0.95, none_or(50.0..200.0), none_or(0.5..5.0), none_or(2.0..60.0)).prop_map(
        |(input_w, efficiency, pilot_w, flue_loss_w_k, electric_w)| Burner {
            input_w,
            efficiency,
            pilot_w,
            flue_loss_w_k,
            electric_w,
        },
    );
    prop_oneof![
        elements().prop_map(Source::Electric),
        (compressor, elements()).prop_map(|(pump, elements)| Source::HeatPump(pump, elements)),
        burner.prop_map(Source::Fuel),
    ]
}

fn heater() -> impl Strategy<Value = Heater> {
    let tank = (40.0..500.0, 0.6..2.0, none_or(0.5..5.0), none_or(0.01..0.5), 1.0..6.0).prop_map(
        |(volume_l, height_m, loss_w_k, inlet_mixing, times)| Tank {
            volume_l,
            height_m,
            loss_w_k,
            inlet_mixing,
            diffusivity_m2_s: times * Tank::WATER_M2_S,
        },
    );
    let controls = (2.0..10.0, 2.0..10.0, 0.0..900.0, any::<bool>()).prop_map(
        |(band_k, compressor_band_k, least_off_s, one_at_a_time)| Controls {
            band_k,
            compressor_band_k,
            least_off_s,
            one_at_a_time,
            ..Controls::TYPICAL
        },
    );
    (tank, source(), controls).prop_map(|(tank, source, controls)| Heater { tank, source, controls })
}

fn settings() -> impl Strategy<Value = Settings> {
    let mode = || prop::sample::select(vec![Mode::Off, Mode::HeatPumpOnly, Mode::Hybrid, Mode::ElementOnly]);
    let set = (35.0..75.0, mode());
    let window = (hours(), set.clone()).prop_map(|((start, end), (set_c, mode))| Window { start, end, set_c, mode });
    let sun = (1.0..6e3, set.clone()).prop_map(|(surplus_w, (set_c, mode))| SunBoost { surplus_w, set_c, mode });
    (set, vec(window, 0..3), of(sun)).prop_map(|((set_c, mode), windows, sun)| Settings { set_c, mode, windows, sun })
}

/// Two times of day, the second before the first where it goes on past midnight.
fn hours() -> impl Strategy<Value = (Span, Span)> {
    let time = || (0.0..86_400.0_f64).prop_map(Span::from_s);
    (time(), time())
}

fn pipe() -> impl Strategy<Value = HotPipe> {
    (none_or(0.2..15.0), none_or(0.5..10.0), vec(hours(), 0..3), none_or(5.0..60.0))
        .prop_map(|(volume_l, loss_w_k, kept_hot, pump_w)| HotPipe { volume_l, loss_w_k, kept_hot, pump_w })
}

fn air(temps_c: core::ops::Range<f64>) -> impl Strategy<Value = MoistAir> {
    (temps_c, 0.05..1.0).prop_map(|(temp_c, humidity)| MoistAir::at(temp_c, humidity, 95.0))
}

/// A room as tight as a closet, or as wide as a barn.
fn room() -> impl Strategy<Value = RoomPlace> {
    let room = (1e5..3e6, none_or(2.0..500.0), 4.0..300.0, none_or(0.1..10.0)).prop_map(
        |(heat_j_k, loss_w_k, volume_m3, air_changes_h)| Room { heat_j_k, loss_w_k, volume_m3, air_changes_h },
    );
    (room, air(2.0..35.0), air(-15.0..35.0), (share(), share()), none_or(0.5..20.0), any::<bool>()).prop_map(
        |(room, start, around, (outdoors_share, pumps_share), storage_w_k, ducted)| RoomPlace {
            name: "room".into(),
            room,
            start: RoomState { temp_c: start.temp_c, humidity_kg_kg: start.humidity_kg_kg },
            around,
            outdoors_share,
            pumps_share,
            storage_w_k,
            ducted,
        },
    )
}

/// None to three heaters in one or two rooms, each at one of these buildings; several may be at the same.
pub fn hot_water(buildings: Vec<usize>) -> impl Strategy<Value = HotWater> {
    let place = (
        (heater(), settings(), prop::sample::select(buildings), any::<bool>()),
        (of(40.0..60.0), of(pipe()), 5.0..80.0),
    );
    (vec(place, 0..=3), vec(room(), 2)).prop_map(|(places, mut rooms)| {
        rooms.truncate(places.len());
        let last = rooms.len().saturating_sub(1);
        let heaters =
            places.into_iter().map(|((heater, settings, outlet, other_room), (tempering_c, pipe, start_c))| {
                HeaterPlace {
                    name: "heater".into(),
                    outlet,
                    heater,
                    settings,
                    tempering_c,
                    pipe,
                    room: usize::from(other_room).min(last),
                    start_c,
                }
            });
        HotWater { heaters: heaters.collect(), rooms }
    })
}
