//! The room around a heater and the pipe behind it.

use std::f64::consts::PI;

use springhouse_core::hot_water::{HotPipe, RoomPlace};
use springhouse_core::moist_air::MoistAir;
use springhouse_core::room::{Room, RoomState};

use super::super::{at_most, place, positive, refuse_several};
use super::{at_most_one, hours, is_new};
use crate::diagnostic::Diagnostic;
use crate::sections::{self, ScenarioFile};
use crate::source::Stretch;
use crate::tree::{Node, Table, Value};
use crate::typed::{At, Field, Presence, Reader, Typed};

/// Heat that takes part in hours, for floor, and what is lost for it; see the reference of keys for their sources.
const HEAT_J_K_M2: f64 = 110e3;
const LOSS_W_K_M2: f64 = 3.0;
/// Temperatures of air around a room within a house.
const AROUND_C: std::ops::RangeInclusive<f64> = -40.0..=50.0;
/// Pressure of the air where the site could not be read; nothing comes of it then.
const SEA_LEVEL_KPA: f64 = 101.325;

/// Conductivity of pipe foam, W/(m K), and what air and walls take from a surface, W/(m² K). Common practice, no source.
const FOAM_W_M_K: f64 = 0.04;
const SURFACE_W_M2_K: f64 = 10.0;

/// Less air, and less that warms with it, is no room: a minute of a compressor would take it to where no air is.
const LEAST_M3: f64 = 1.0;
const LEAST_J_K: f64 = 20e3;
/// A wider pipe is no pipe to fixtures.
const LEAST_PIPE_L: f64 = 0.01;
const MOST_BORE_M: f64 = 0.2;

/// The rooms of a scenario; one of defaults where it has heaters and no room.
pub(super) fn rooms(file: &ScenarioFile, air_kpa: Option<f64>, reader: &mut Reader<'_>) -> Option<Vec<RoomPlace>> {
    let air_kpa = air_kpa.unwrap_or(SEA_LEVEL_KPA);
    if file.room.is_empty() && !file.heater.is_empty() {
        let usual = usual(reader)?;
        return Some(vec![room(&usual, air_kpa, reader)?]);
    }
    let mut read = Some(Vec::new());
    let mut names: Vec<(&str, Stretch)> = Vec::new();
    for at in &file.room {
        let Some(At { value: section, .. }) = &at.0 else {
            read = None;
            continue;
        };
        let unique = is_new(&mut names, "rooms", &section.name.value.0, section.name.place, reader);
        match (room(section, air_kpa, reader), &mut read) {
            (Some(room), Some(read)) if unique => read.push(room),
            _ => read = None,
        }
    }
    tell_of_rooms(file, reader);
    let shares = read.iter().flatten().map(|room| room.pumps_share).sum::<f64>();
    if shares > 1.0 + 1e-9 {
        let places = file.room.iter().filter_map(|at| Some(at.0.as_ref()?.value.pumps.place));
        let fault = Diagnostic::error("the rooms' `pumps` come to more than 100 %: that heat would be there twice");
        reader.tell(places.fold(fault, |fault, place| fault.at(place, "a part of the same electricity")));
        return None;
    }
    read
}

/// What a room says and has nothing to say it of.
fn tell_of_rooms(file: &ScenarioFile, reader: &mut Reader<'_>) {
    for section in file.room.iter().filter_map(|at| Some(&at.0.as_ref()?.value)) {
        if section.ducted.value && file.weather.is_none() {
            let told = Diagnostic::warning("a duct without `weather` takes in air like that `around` the room");
            reader.tell(told.at(section.ducted.place, "where from?").help("add a section `[weather]`"));
        }
        if section.storage_loss.value.w_k() > 0.0 && file.storage.is_none() {
            let told = Diagnostic::warning("there is no storage tank to take heat from a room");
            reader.tell(told.at(section.storage_loss.place, "of no effect").help("leave `storage_loss` out"));
        }
    }
}

/// A section of nothing but its name.
fn usual(reader: &mut Reader<'_>) -> Option<sections::Room> {
    let name = sections::Room::SECTION.field("name")?.example_value()?;
    let nowhere = Stretch::default();
    let entry =
        crate::tree::Entry { key: "name".to_owned(), key_place: nowhere, node: Node { value: name, place: nowhere } };
    let table = Value::Table(Table { header: nowhere, entries: vec![entry] });
    let field = Field { name: "room", doc: "", presence: Presence::Empty, shape: sections::Room::shape };
    sections::Room::read(&Node { value: table, place: nowhere }, &field, reader)
}

fn room(section: &sections::Room, air_kpa: f64, reader: &mut Reader<'_>) -> Option<RoomPlace> {
    let given = [("floor_area", place(Some(&section.floor_area))), ("volume", place(section.volume.as_ref()))];
    if refuse_several("room", &given, reader) {
        return None;
    }
    let (height, floor) = (&section.height, &section.floor_area);
    let height_m = positive("height", height.value.m(), height.place, reader);
    let floor_m2 = match (&section.volume, height_m) {
        (Some(volume), Some(height_m)) => {
            positive("volume", volume.value.l(), volume.place, reader).map(|volume_l| 1e-3 * volume_l / height_m)
        }
        _ => positive("floor_area", floor.value.m2(), floor.place, reader),
    };
    let heat_j_k = match &section.heat_capacity {
        Some(heat) => positive("heat_capacity", heat.value.j_k(), heat.place, reader).map(Some),
        None => Some(None),
    };
    let around_c = section.around.value.c();
    let temperate = AROUND_C.contains(&around_c);
    if !temperate {
        reader.tell(
            Diagnostic::error("`around` is no temperature of air in a house")
                .at(section.around.place, "from -40 to 50 °C (-40 to 122 °F)"),
        );
    }
    let share = |key: &str, share: &At<crate::quantity::Share>, reader: &mut Reader<'_>| {
        at_most_one(key, share.value.of_one(), share.place, reader)
    };
    let humidity = share("humidity", &section.humidity, reader);
    let outdoors_share = share("outdoors", &section.outdoors, reader);
    let pumps_share = share("pumps", &section.pumps, reader);
    let (floor_m2, height_m) = (floor_m2?, height_m?);
    if floor_m2 * height_m < LEAST_M3 {
        let place = section.volume.as_ref().map_or(floor.place, |volume| volume.place);
        let fault = Diagnostic::error("a room must hold 1 m3 (35 ft3) of air or more").at(place, "too small");
        reader.tell(fault.help("a litre is no cubic metre: write \"48 m3\""));
        return None;
    }
    if let Some(heat) = section.heat_capacity.as_ref().filter(|heat| heat.value.j_k() < LEAST_J_K) {
        let fault = Diagnostic::error("`heat_capacity` must be 20 kJ/K or more").at(heat.place, "too small");
        reader.tell(fault.help("a closet and what stands in it has 100 kJ/K and more for a square metre of floor"));
        return None;
    }
    if !temperate {
        return None;
    }
    let around = MoistAir::at(around_c, humidity?, air_kpa);
    Some(RoomPlace {
        name: section.name.value.0.clone(),
        room: Room {
            heat_j_k: heat_j_k?.unwrap_or(HEAT_J_K_M2 * floor_m2),
            loss_w_k: section.loss.map_or(LOSS_W_K_M2 * floor_m2, |loss| loss.value.w_k()),
            volume_m3: floor_m2 * height_m,
            air_changes_h: section.air_changes.value.0,
        },
        start: RoomState { temp_c: around.temp_c, humidity_kg_kg: around.humidity_kg_kg },
        around,
        outdoors_share: outdoors_share?,
        pumps_share: pumps_share?,
        storage_w_k: section.storage_loss.value.w_k(),
        ducted: section.ducted.value,
    })
}

pub(super) fn hot_pipe(section: &sections::HotPipe, reader: &mut Reader<'_>) -> Option<HotPipe> {
    let given = [("insulation", place(Some(&section.insulation))), ("loss", place(section.loss.as_ref()))];
    if refuse_several("pipe", &given, reader) {
        return None;
    }
    let length_m = positive("length", section.length.value.m(), section.length.place, reader);
    let bore = &section.bore;
    let bore_m = at_most("bore", (bore.value.m(), MOST_BORE_M), "0.2 m (7.9 in)", bore.place, reader);
    let insulation_m = section.insulation.value.m();
    if insulation_m < 0.0 {
        let fault = Diagnostic::error("`insulation` must not be negative");
        reader.tell(fault.at(section.insulation.place, "too small"));
        return None;
    }
    let mut kept_hot = Some(Vec::new());
    for at in &section.kept_hot {
        let kept = at.0.as_ref().and_then(|at| hours(&at.value.start, &at.value.end, reader));
        match (kept, &mut kept_hot) {
            (Some(kept), Some(kept_hot)) => kept_hot.push(kept),
            _ => kept_hot = None,
        }
    }
    let (length_m, bore_m) = (length_m?, bore_m?);
    if 1e3 * 0.25 * PI * bore_m * bore_m * length_m < LEAST_PIPE_L {
        let fault = Diagnostic::error("the pipe holds less than 0.01 L of water").at(bore.place, "too narrow");
        reader.tell(fault.at(section.length.place, "for this length").help("leave so short a pipe out"));
        return None;
    }
    Some(HotPipe {
        volume_l: 1e3 * 0.25 * PI * bore_m * bore_m * length_m,
        loss_w_k: section.loss.map_or_else(|| loss_w_k(length_m, bore_m, insulation_m), |loss| loss.value.w_k()),
        kept_hot: kept_hot?,
        pump_w: section.pump.value.w(),
    })
}

/// Foam around a pipe of a thin wall, and air around that: `2 pi L / (ln(r_2 / r_1) / k + 1 / (h r_2))`.
fn loss_w_k(length_m: f64, bore_m: f64, insulation_m: f64) -> f64 {
    let inner_m = 0.5 * bore_m;
    let outer_m = inner_m + insulation_m;
    let foam = libm::log(outer_m / inner_m) / FOAM_W_M_K;
    2.0 * PI * length_m / (foam + 1.0 / (SURFACE_W_M2_K * outer_m))
}
