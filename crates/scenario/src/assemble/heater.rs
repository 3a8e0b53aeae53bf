//! Water heaters: what they are, how they are run, and where they stand.

mod constants;
mod plate;
mod surroundings;

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::tank::Tank;
use springhouse_core::heater::{Burner, Elements, Heater, Source};
use springhouse_core::hot_water::{HeaterPlace, HotWater, Settings, SunBoost, Window};
use springhouse_core::time::Span;
use springhouse_table::nearest;

use super::draws::{since_midnight, unknown_outlet};
use super::kinds::{Kind, refuse_foreign};
use super::outlets::Names;
use super::{at_most, at_most_one, energy, place, positive};
use crate::diagnostic::Diagnostic;
use crate::quantity::{HeatLoss, Power};
use crate::scenario::{HeaterKind, HeaterPlate};
use crate::sections::{self, HeaterWord, ModeWord, ScenarioFile};
use crate::source::Stretch;
use crate::typed::{At, Reader, TimeOfDay, word_of};

/// Tanks and powers that the model is meant for.
const LEAST_L: f64 = 10.0;
const MOST_L: f64 = 10_000.0;
const MOST_W: f64 = 200e3;
const MOST_M: f64 = 10.0;
const MOST_W_K: f64 = 1_000.0;
/// Height of a tank over its diameter where nothing tells: a tank of 170 L is then 1.2 m high. Our own choice.
const SLENDER: f64 = 2.8;
/// What a tank and a flue lose where neither they nor the plate tell. Our own choice.
const LOSS_W_K: f64 = 2.0;
const FLUE_LOSS_W_K: f64 = 3.0;
/// Temperatures that a tank may be kept at.
const KEPT_C: std::ops::RangeInclusive<f64> = 10.0..=95.0;

/// The heaters and rooms of a scenario, and what the plates say.
pub(super) fn hot_water(
    file: &ScenarioFile,
    outlets: &Names<'_>,
    air_kpa: Option<f64>,
    reader: &mut Reader<'_>,
) -> Option<(HotWater, Vec<HeaterPlate>)> {
    let rooms = surroundings::rooms(file, air_kpa, reader);
    let mut read = Some(Vec::new());
    let mut names: Vec<(&str, Stretch)> = Vec::new();
    for at in &file.heater {
        let Some(At { value: section, place: header, .. }) = &at.0 else {
            read = None;
            continue;
        };
        let name = &section.name;
        let unique = is_new(&mut names, "heaters", &name.value.0, name.place, reader)
            && !is_an_outlet(&name.value.0, name.place, outlets, reader);
        match (heater(section, *header, (file, outlets), reader), &mut read) {
            (Some(heater), Some(read)) if unique => read.push(heater),
            _ => read = None,
        }
    }
    let (heaters, plates) = read?.into_iter().unzip();
    Some((HotWater { heaters, rooms: rooms? }, plates))
}

/// Whether no other of its kind has the name; else that is told.
fn is_new<'n>(
    names: &mut Vec<(&'n str, Stretch)>,
    what: &str,
    name: &'n str,
    place: Stretch,
    reader: &mut Reader<'_>,
) -> bool {
    let Some((_, first)) = names.iter().find(|(other, _)| *other == name) else {
        names.push((name, place));
        return true;
    };
    reader.tell(
        Diagnostic::error(format!("two {what} are called \"{name}\""))
            .at(place, "the name is taken")
            .at(*first, "by this")
            .help("give each a name of its own"),
    );
    false
}

/// Whether a building or raw load has the name: results would not tell them apart.
fn is_an_outlet(name: &str, place: Stretch, outlets: &Names<'_>, reader: &mut Reader<'_>) -> bool {
    let Some(outlet) = outlets.position(name) else { return false };
    reader.tell(
        Diagnostic::error(format!("a heater and a building or raw load are called \"{name}\""))
            .at(place, "the name is taken")
            .at(outlets.place(outlet), "by this")
            .help(format!("give each a name of its own, like \"{name} heater\"")),
    );
    true
}

fn heater(
    section: &sections::Heater,
    header: Stretch,
    (file, outlets): (&ScenarioFile, &Names<'_>),
    reader: &mut Reader<'_>,
) -> Option<(HeaterPlace, HeaterPlate)> {
    let foreign = refuse_keys_of_others(section, reader);
    let (outlet, room) = (building(section, header, (file, outlets), reader), room(section, file, reader));
    let settings = settings(section, file, reader);
    let tempering_c = match &section.tempering {
        Some(tempering) => kept_c("tempering", tempering.value.c(), tempering.place, reader).map(Some),
        None => Some(None),
    };
    let pipe = match &section.pipe {
        Some(pipe) => surroundings::hot_pipe(&pipe.value, reader).map(Some),
        None => Some(None),
    };
    let start_c = match &section.start {
        Some(start) => kept_c("start", start.value.c(), start.place, reader).map(Some),
        None => Some(None),
    };
    let tank = tank(section, reader);
    let controls = constants::controls(section, reader);
    let source = source(section, reader);
    if foreign {
        return None;
    }
    let bare = Heater { tank: tank?, source: source?, controls: controls? };
    let (heater, plate) = plate::solved(bare, section, reader)?;
    let settings = settings?;
    let place = HeaterPlace {
        name: section.name.value.0.clone(),
        outlet: outlet?,
        heater,
        start_c: start_c?.unwrap_or(settings.set_c),
        settings,
        tempering_c: tempering_c?,
        pipe: pipe?,
        room: room?,
    };
    Some((place, plate))
}

fn kind(word: HeaterWord) -> HeaterKind {
    match word {
        HeaterWord::HeatPump => HeaterKind::HeatPump,
        HeaterWord::Electric => HeaterKind::Electric,
        HeaterWord::Gas => HeaterKind::Gas,
        HeaterWord::Propane => HeaterKind::Propane,
    }
}

fn refuse_keys_of_others(section: &sections::Heater, reader: &mut Reader<'_>) -> bool {
    const PUMP: &[&str] = &["heat pump"];
    const WIRED: &[&str] = &["heat pump", "electric"];
    const FUEL: &[&str] = &["gas", "propane"];
    let word = word_of::<HeaterWord>(section.kind.value as usize);
    let kind = Kind { what: "a heater", word, place: section.kind.place };
    let keys = [
        ("compressor", place(Some(&section.compressor)), PUMP),
        ("heat_pump", place(section.heat_pump.as_ref()), PUMP),
        ("carnot_share", place(section.carnot_share.as_ref()), PUMP),
        ("elements", place(Some(&section.elements)), WIRED),
        ("input", place(Some(&section.input)), FUEL),
        ("efficiency", place(Some(&section.efficiency)), FUEL),
        ("pilot", place(Some(&section.pilot)), FUEL),
        ("controls_power", place(Some(&section.controls_power)), FUEL),
        ("flue_loss", place(section.flue_loss.as_ref()), FUEL),
    ];
    refuse_foreign(&kind, &keys, reader)
}

/// The building that it serves, as an index among outlets.
fn building(
    section: &sections::Heater,
    header: Stretch,
    (file, outlets): (&ScenarioFile, &Names<'_>),
    reader: &mut Reader<'_>,
) -> Option<usize> {
    let Some(given) = &section.building else {
        if file.building.is_empty() {
            let fault = Diagnostic::error("a heater serves a building, and there is none");
            reader.tell(fault.at(header, "serves nobody").help("add a section `[[building]]`"));
            return None;
        }
        return Some(0);
    };
    let name = given.value.0.as_str();
    match outlets.position(name) {
        Some(outlet) if outlet < file.building.len() => Some(outlet),
        Some(_) => {
            let fault = Diagnostic::error(format!("`building` of a heater cannot be \"{name}\""));
            reader.tell(fault.at(given.place, "a raw load, which has no hot water").help("name a building"));
            None
        }
        None => {
            if outlets.complete() {
                reader.tell(unknown_outlet(name, &[given.place], outlets));
            }
            None
        }
    }
}

/// The room that it stands in, by index; the one of defaults where the scenario has none.
fn room(section: &sections::Heater, file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<usize> {
    let Some(given) = &section.room else { return Some(0) };
    let name = given.value.0.as_str();
    let rooms: Vec<_> = file.room.iter().map(|room| Some(room.0.as_ref()?.value.name.value.0.as_str())).collect();
    let found = rooms.iter().position(|room| *room == Some(name));
    // An unknown name may be that of a room that could not be read.
    if found.is_none() && rooms.iter().all(Option::is_some) {
        let known = rooms.iter().flatten().copied();
        let label = match nearest(name, known.clone()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => "unknown".to_owned(),
        };
        let known: Vec<_> = known.map(|name| format!("\"{name}\"")).collect();
        let fault = Diagnostic::error(format!("there is no room \"{name}\"")).at(given.place, label);
        reader.tell(if known.is_empty() {
            fault.help("add a section `[[room]]` of that name, or leave `room` out for a usual basement")
        } else {
            fault.note(format!("known: {}", known.join(", ")))
        });
    }
    found
}

fn tank(section: &sections::Heater, reader: &mut Reader<'_>) -> Option<Tank> {
    let volume = &section.volume;
    let volume_l = at_most("volume", (volume.value.l(), MOST_L), "10000 L (2640 gal)", volume.place, reader);
    let height_m = match &section.height {
        Some(height) => at_most("height", (height.value.m(), MOST_M), "10 m (33 ft)", height.place, reader).map(Some),
        None => Some(None),
    };
    let inlet_mixing = match &section.inlet_mixing {
        Some(share) => at_most_one("inlet_mixing", share.value.of_one(), share.place, reader)?,
        None => Tank::INLET_MIXING,
    };
    let loss_w_k = loss_w_k("loss", (section.loss.as_ref(), LOSS_W_K), reader);
    let volume_l = volume_l?;
    if volume_l < LEAST_L {
        let fault = Diagnostic::error("`volume` must be at least 10 L (2.64 gal)");
        reader.tell(fault.at(volume.place, "too small").help("heaters without a tank are not modelled"));
        return None;
    }
    let usual_m = libm::cbrt(4e-3 * volume_l * SLENDER * SLENDER / std::f64::consts::PI);
    Some(Tank {
        volume_l,
        height_m: height_m?.unwrap_or(usual_m),
        loss_w_k: loss_w_k?,
        inlet_mixing,
        diffusivity_m2_s: Tank::WATER_M2_S,
    })
}

fn source(section: &sections::Heater, reader: &mut Reader<'_>) -> Option<Source> {
    let wired = &section.elements;
    let bare = section.kind.value == HeaterWord::HeatPump && wired.value.w() <= 0.0;
    let elements = |reader: &mut Reader<'_>| {
        let power_w = power_w("elements", wired, reader)?;
        constants::elements(section, power_w, reader)
    };
    match section.kind.value {
        HeaterWord::HeatPump => {
            let rated_heat_w = power_w("compressor", &section.compressor, reader);
            let share = match &section.carnot_share {
                Some(share) => positive("carnot_share", share.value.of_one(), share.place, reader)
                    .and_then(|value| at_most_one("carnot_share", value, share.place, reader)),
                None => Some(HeatPump::TYPICAL.carnot_share),
            };
            let elements = if bare { Some(Elements::default()) } else { elements(reader) };
            let usual = constants::heat_pump(section, rated_heat_w?, reader);
            let pump = HeatPump { carnot_share: share?, ..usual? };
            Some(Source::HeatPump(pump, elements?))
        }
        HeaterWord::Electric => elements(reader).map(Source::Electric),
        HeaterWord::Gas | HeaterWord::Propane => {
            let efficiency = &section.efficiency;
            let input_w = power_w("input", &section.input, reader);
            let part = positive("efficiency", efficiency.value.of_one(), efficiency.place, reader)
                .and_then(|value| at_most_one("efficiency", value, efficiency.place, reader));
            let mut or_none = |key: &str, power: &At<Power>| {
                if power.value.w() > 0.0 { power_w(key, power, reader) } else { Some(0.0) }
            };
            let pilot_w = or_none("pilot", &section.pilot);
            let electric_w = or_none("controls_power", &section.controls_power);
            let flue_loss_w_k = loss_w_k("flue_loss", (section.flue_loss.as_ref(), FLUE_LOSS_W_K), reader);
            Some(Source::Fuel(Burner {
                input_w: input_w?,
                efficiency: part?,
                pilot_w: pilot_w?,
                flue_loss_w_k: flue_loss_w_k?,
                electric_w: electric_w?,
            }))
        }
    }
}

/// A loss as given or else as usual; none is no fault.
fn loss_w_k(key: &str, (given, usual_w_k): (Option<&At<HeatLoss>>, f64), reader: &mut Reader<'_>) -> Option<f64> {
    match given {
        Some(loss) if loss.value.w_k() > 0.0 => {
            at_most(key, (loss.value.w_k(), MOST_W_K), "1000 W/K (1900 Btu/h/°F)", loss.place, reader)
        }
        Some(_) => Some(0.0),
        None => Some(usual_w_k),
    }
}

/// A power that heats.
fn power_w(key: &str, power: &At<Power>, reader: &mut Reader<'_>) -> Option<f64> {
    at_most(key, (power.value.w(), MOST_W), "200 kW (682000 Btu/h)", power.place, reader)
}

fn settings(section: &sections::Heater, file: &ScenarioFile, reader: &mut Reader<'_>) -> Option<Settings> {
    let set_point = &section.set_point;
    let set_c = kept_c("set_point", set_point.value.c(), set_point.place, reader);
    let own = mode(section.mode.as_ref(), section, Mode::Hybrid, reader);
    let (set_c, own) = (set_c?, own?);
    let mut windows = Some(Vec::new());
    for at in &section.window {
        let window = at.0.as_ref().and_then(|at| {
            let window = &at.value;
            let hours = hours(&window.start, &window.end, reader);
            if window.set_point.is_none() && window.mode.is_none() {
                let fault =
                    Diagnostic::error("a window needs `set_point`, `mode` or both").at(at.place, "changes nothing");
                reader.tell(fault.help("add a line like: set_point = \"110 °F\""));
                return None;
            }
            let set_c = match &window.set_point {
                Some(set) => kept_c("set_point", set.value.c(), set.place, reader),
                None => Some(set_c),
            };
            let mode = mode(window.mode.as_ref(), section, own, reader);
            let (start, end) = hours?;
            Some(Window { start, end, set_c: set_c?, mode: mode? })
        });
        match (window, &mut windows) {
            (Some(window), Some(windows)) => windows.push(window),
            _ => windows = None,
        }
    }
    let sun = match &section.sun {
        Some(at) => sun(at, section, (file, set_c, own), reader).map(Some),
        None => Some(None),
    };
    Some(Settings { set_c, mode: own, windows: windows?, sun: sun? })
}

/// How it is run while the sun leaves enough; set point and mode are the heater's where it has none of its own.
fn sun(
    at: &At<sections::HeaterSun>,
    section: &sections::Heater,
    (file, set_c, own): (&ScenarioFile, f64, Mode),
    reader: &mut Reader<'_>,
) -> Option<SunBoost> {
    let sun = &at.value;
    let surplus_w = energy::surplus_w(file, &sun.surplus, reader);
    if sun.set_point.is_none() && sun.mode.is_none() {
        let fault = Diagnostic::error("`sun` needs `set_point`, `mode` or both").at(at.place, "changes nothing");
        reader.tell(fault.help("add a line like: set_point = \"145 °F\""));
        return None;
    }
    let set_c = match &sun.set_point {
        Some(set) => kept_c("set_point", set.value.c(), set.place, reader),
        None => Some(set_c),
    };
    let mode = mode(sun.mode.as_ref(), section, own, reader);
    Some(SunBoost { surplus_w: surplus_w?, set_c: set_c?, mode: mode? })
}

/// Beginning and end of hours of the day; both the same would be none or all of them.
pub(super) fn hours(start: &At<TimeOfDay>, end: &At<TimeOfDay>, reader: &mut Reader<'_>) -> Option<(Span, Span)> {
    let hours = (since_midnight(start.value), since_midnight(end.value));
    if hours.0 != hours.1 {
        return Some(hours);
    }
    reader.tell(
        Diagnostic::error("`start` and `end` are the same time of day")
            .at(end.place, "ends as it begins")
            .at(start.place, "begins here")
            .help("let it end at another time; it may go on past midnight"),
    );
    None
}

fn mode(
    given: Option<&At<ModeWord>>,
    section: &sections::Heater,
    without: Mode,
    reader: &mut Reader<'_>,
) -> Option<Mode> {
    let Some(given) = given else { return Some(without) };
    let mode = match given.value {
        ModeWord::HeatPumpOnly => Mode::HeatPumpOnly,
        ModeWord::Hybrid => Mode::Hybrid,
        ModeWord::ElementOnly => Mode::ElementOnly,
        ModeWord::Off => Mode::Off,
    };
    let pump = section.kind.value == HeaterWord::HeatPump;
    if pump && mode == Mode::ElementOnly && section.elements.value.w() <= 0.0 {
        reader.tell(
            Diagnostic::error("`mode` is \"element only\", but the heater has no elements")
                .at(given.place, "nothing would heat")
                .at(section.elements.place, "none")
                .help("give `elements` their power, or write \"off\""),
        );
        return None;
    }
    if pump || mode == Mode::Off {
        return Some(mode);
    }
    let word = word_of::<HeaterWord>(section.kind.value as usize);
    reader.tell(
        Diagnostic::error(format!("`mode` of a heater of kind \"{word}\" can be \"off\" only"))
            .at(given.place, "needs a compressor")
            .at(section.kind.place, "the kind")
            .help("leave `mode` out: it heats in the one way it has"),
    );
    None
}

/// A temperature that a tank may have.
fn kept_c(key: &str, temp_c: f64, place: Stretch, reader: &mut Reader<'_>) -> Option<f64> {
    if KEPT_C.contains(&temp_c) {
        return Some(temp_c);
    }
    let fault = Diagnostic::error(format!("`{key}` is no temperature of a water heater"));
    reader.tell(fault.at(place, "from 10 to 95 °C (50 to 203 °F)"));
    None
}
