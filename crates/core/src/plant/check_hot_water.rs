//! What is checked of heaters and rooms.

use super::Parts;
use super::check::{Checks, PartChecks};
use super::fault::{Fault, Of};
use crate::heater::heat_pump::HeatPump;
use crate::heater::{Element, Heater, Source};
use crate::hot_water::{HotPipe, RoomPlace, Settings};
use crate::outlet::Role;

/// Temperatures at which a tank may be kept or begin.
const COLDEST_C: f64 = 0.0;
const HOTTEST_C: f64 = 99.0;

pub(super) fn check_hot_water(checks: &mut Checks, parts: &Parts) {
    let hot_water = &parts.hot_water;
    for (i, place) in hot_water.heaters.iter().enumerate() {
        if parts.outlets.get(place.outlet).is_none_or(|outlet| outlet.role != Role::Building) {
            checks.faults.push(Fault::HeaterServesNobody { heater: i, outlet: place.outlet });
        }
        let mut part = checks.of(Of::Heater(i));
        part.index("room", place.room, hot_water.rooms.len());
        part.range("start", place.start_c, COLDEST_C, HOTTEST_C);
        if let Some(tempering_c) = place.tempering_c {
            part.range("tempering", tempering_c, COLDEST_C, HOTTEST_C);
        }
        check_settings(&mut part, &place.settings);
        check_heater(&mut part, &place.heater);
        if let Some(pipe) = &place.pipe {
            check_pipe(&mut part, pipe);
        }
    }
    for (i, room) in hot_water.rooms.iter().enumerate() {
        let heaters = hot_water.heaters.iter().filter(|heater| heater.room == i);
        let losses = heaters.map(|it| it.heater.tank.loss_w_k + it.pipe.as_ref().map_or(0.0, |pipe| pipe.loss_w_k));
        // What tanks and pipes give is held over a minute: it must not overtake the room.
        let least_j_k = (120.0 * losses.sum::<f64>()).max(1e3);
        check_room(&mut checks.of(Of::Room(i)), room, least_j_k);
    }
}

fn check_settings(part: &mut PartChecks<'_>, settings: &Settings) {
    part.range("set_point", settings.set_c, COLDEST_C, HOTTEST_C);
    for window in &settings.windows {
        part.range("set_point", window.set_c, COLDEST_C, HOTTEST_C);
    }
    if let Some(sun) = &settings.sun {
        part.range("set_point", sun.set_c, COLDEST_C, HOTTEST_C);
        part.range("surplus", sun.surplus_w, 1e-3, 1e9);
    }
}

fn check_heater(part: &mut PartChecks<'_>, heater: &Heater) {
    let tank = &heater.tank;
    part.range("volume", tank.volume_l, 1.0, 1e6);
    part.range("height", tank.height_m, 0.01, 100.0);
    part.range("loss", tank.loss_w_k, 0.0, 1e5);
    part.range("inlet_mixing", tank.inlet_mixing, 0.0, 1.0);
    part.range("diffusivity", tank.diffusivity_m2_s, 0.0, 1.0);
    let controls = &heater.controls;
    part.range("upper_sensor", controls.upper_sensor, 0.0, 1.0);
    part.range("lower_sensor", controls.lower_sensor, 0.0, 1.0);
    part.range("band", controls.band_k, 0.0, 100.0);
    part.range("compressor_band", controls.compressor_band_k, 0.0, 100.0);
    part.range("help_band", controls.help_band_k, 0.0, 100.0);
    part.range("least_off", controls.least_off_s, 0.0, 1e6);
    if let Source::Electric(elements) | Source::HeatPump(_, elements) = &heater.source {
        [elements.upper, elements.lower].iter().flatten().for_each(|it| element(part, it));
    }
    match &heater.source {
        Source::Electric(_) => (),
        Source::HeatPump(pump, _) => check_heat_pump(part, pump),
        Source::Fuel(burner) => {
            part.range("input", burner.input_w, 0.0, 1e7);
            part.range("efficiency", burner.efficiency, 0.0, 1.1);
            part.range("pilot", burner.pilot_w, 0.0, 1e6);
            part.range("flue_loss", burner.flue_loss_w_k, 0.0, 1e5);
            part.range("electric", burner.electric_w, 0.0, 1e6);
        }
    }
}

fn element(part: &mut PartChecks<'_>, element: &Element) {
    part.range("element", element.power_w, 0.0, 1e7);
    part.range("element", element.height, 0.0, 1.0);
}

fn check_heat_pump(part: &mut PartChecks<'_>, pump: &HeatPump) {
    part.range("heat", pump.rated_heat_w, 0.0, 1e7);
    part.range("carnot_share", pump.carnot_share, 0.0, 1.0);
    part.range("fan", pump.fan_w, 0.0, 1e5);
    part.range("air_flow", pump.air_kg_s, 1e-6, 1e4);
    part.range("most_cop", pump.most_cop, 1.0, 100.0);
    part.range("condenser_approach", pump.condenser_approach_k, 0.01, 100.0);
    part.range("evaporator_approach", pump.evaporator_approach_k, 0.01, 100.0);
    part.range("condenser_top", pump.condenser_top, 0.01, 1.0);
    part.range("coldest_air", pump.coldest_air_c, -100.0, 100.0);
    part.range("hottest_air", pump.hottest_air_c, -100.0, 100.0);
}

fn check_pipe(part: &mut PartChecks<'_>, pipe: &HotPipe) {
    // Water moves through a pipe by its volume at most, so a drop of it would take a run for ever.
    if pipe.volume_l > 0.0 {
        part.range("pipe", pipe.volume_l, 0.01, 1e5);
    }
    part.range("pipe", pipe.loss_w_k, 0.0, 1e5);
    part.range("pipe", pipe.pump_w, 0.0, 1e5);
}

fn check_room(part: &mut PartChecks<'_>, place: &RoomPlace, least_j_k: f64) {
    part.range("heat_capacity", place.room.heat_j_k, least_j_k, 1e12);
    part.range("loss", place.room.loss_w_k, 0.0, 1e6);
    part.range("volume", place.room.volume_m3, 1e-3, 1e6);
    part.range("air_changes", place.room.air_changes_h, 0.0, 1e3);
    part.range("start", place.start.temp_c, -60.0, 80.0);
    part.range("humidity", place.start.humidity_kg_kg, 0.0, 1.0);
    part.range("around", place.around.temp_c, -60.0, 80.0);
    part.range("pressure", place.around.pressure_kpa, 20.0, 200.0);
    part.range("outdoors", place.outdoors_share, 0.0, 1.0);
    part.range("pumps", place.pumps_share, 0.0, 1.0);
    part.range("storage_loss", place.storage_w_k, 0.0, 1e5);
}
