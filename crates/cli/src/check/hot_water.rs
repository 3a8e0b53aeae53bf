//! Heaters and the rooms that they stand in, and what is plainly amiss with them.

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::{Burner, Source};
use springhouse_core::hot_water::follow::OUTLET_LEAST_C;
use springhouse_core::hot_water::tap::SCALDS_FROM_C;
use springhouse_core::hot_water::{HeaterPlace, HotPipe, HotWater, RoomPlace, Settings, SunBoost, Window};
use springhouse_core::time::Span;
use springhouse_report::rate::text as rate;
use springhouse_scenario::{HeaterKind, HeaterPlate, Scenario, Units};

use super::{Said, row};

/// A cubic foot.
const FOOT3_M3: f64 = 0.028_316_846_592;
/// Air that a compressor wants around it unless it is ducted: 700 ft3. Common practice, no source.
const LEAST_AIR_M3: f64 = 700.0 * FOOT3_M3;
/// A room so little warmer than the coldest air of a compressor is soon too cold for it. Our own choice.
const COLD_ROOM_K: f64 = 5.0;
/// A tempering valve that lets out no more leaves showers cool: about 110 °F. Common practice, no source.
const SHOWERS_WANT_C: f64 = 43.3;
/// What is cooler by no more than this is as hot as asked: set points come in whole degrees of either scale.
const ROUNDING_K: f64 = 0.3;

/// Each heater: what it is and how it is run; below, its plate, its pipe and what is amiss.
pub(super) fn heaters(scenario: &Scenario, units: Units) -> Vec<Said> {
    let hot_water = &scenario.plant.hot_water;
    let each = hot_water.heaters.iter().zip(&scenario.heater_plates);
    let told = each.flat_map(|(place, plate)| {
        let mut rows = vec![row("Heater", heater(scenario, place, plate.kind, units))];
        rows.extend(place.settings.windows.iter().map(|it| row("", window(place, it, units))));
        rows.extend(place.settings.sun.iter().map(|it| row("", sun(place, it, units))));
        rows.push(row("", constants(place, plate, units)));
        rows.extend(place.pipe.as_ref().map(|it| row("", pipe(it, units))));
        rows.extend(amiss(hot_water, place, units).into_iter().map(|it| row("", format!("({it})"))));
        rows
    });
    told.collect()
}

/// Whether something is amiss with one of them.
pub(super) fn are_advised_on(scenario: &Scenario) -> bool {
    let hot_water = &scenario.plant.hot_water;
    hot_water.heaters.iter().any(|place| !amiss(hot_water, place, scenario.units).is_empty())
}

/// The rooms.
pub(super) fn rooms(scenario: &Scenario, units: Units) -> Vec<Said> {
    scenario.plant.hot_water.rooms.iter().map(|place| row("Room", room(scenario, place, units))).collect()
}

fn heater(scenario: &Scenario, place: &HeaterPlace, plate: HeaterKind, units: Units) -> String {
    let plant = &scenario.plant;
    let building = plant.outlets.get(place.outlet).map_or("", |outlet| outlet.name.as_str());
    let room = plant.hot_water.rooms.get(place.room).map_or("", |room| room.name.as_str());
    let (kind, holds) = (rate::kind(plate), units.volume(place.heater.tank.volume_l));
    let run = run(place, (place.settings.set_c, place.settings.mode), units);
    let tempered = match place.tempering_c {
        Some(temp_c) => format!("tempered to {} behind it", units.temperature(temp_c)),
        None => "no tempering valve".to_owned(),
    };
    format!("{}: {kind}, {holds}, serves {building} and stands in {room}; {run}; {tempered}", place.name)
}

fn window(place: &HeaterPlace, window: &Window, units: Units) -> String {
    format!("{} {}", hours(window), run(place, (window.set_c, window.mode), units))
}

fn sun(place: &HeaterPlace, sun: &SunBoost, units: Units) -> String {
    format!("{}: {}", sunny(sun, units), run(place, (sun.set_c, sun.mode), units))
}

fn sunny(sun: &SunBoost, units: Units) -> String {
    format!("while the sun leaves {}", units.power(sun.surplus_w))
}

/// How it is run at a set point and in a mode.
fn run(place: &HeaterPlace, (set_c, mode): (f64, Mode), units: Units) -> String {
    let set = units.temperature(set_c);
    match (place.heater.source, mode) {
        (_, Mode::Off) => "off".to_owned(),
        (Source::HeatPump(..), mode) => format!("{}, kept at {set}", rate::mode(mode)),
        _ => format!("kept at {set}"),
    }
}

fn hours(window: &Window) -> String {
    format!("from {} to {}", clock(window.start), clock(window.end))
}

pub(super) fn clock(of_day: Span) -> String {
    let minutes = of_day.ns() / Span::MINUTE.ns();
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// What its plate says, and what the model makes of that.
fn constants(place: &HeaterPlace, plate: &HeaterPlate, units: Units) -> String {
    let said = [
        plate.energy_factor.map(|factor| format!("energy factor {factor:.2}")),
        plate.first_hour_l.map(|litres| format!("first hour {}", units.volume(litres))),
        plate.energy_factor.and(plate.usage).map(|it| format!("{} usage", rate::usage(it))),
    ];
    let said: Vec<String> = said.into_iter().flatten().collect();
    let plate = if said.is_empty() { "no plate".to_owned() } else { format!("plate of {}", said.join(", ")) };
    let loss = format!("its tank loses {}", rate::heat_loss(units, place.heater.tank.loss_w_k, 1));
    let source = match place.heater.source {
        Source::HeatPump(HeatPump { carnot_share, rated_heat_w, .. }, elements) => {
            let power_w = elements.upper.or(elements.lower).map(|element| element.power_w);
            let elements =
                power_w.map_or_else(|| "no elements".to_owned(), |w| format!("elements of {}", units.power(w)));
            let heats = units.power(rated_heat_w);
            format!("its compressor gives {heats} at {:.0} % of Carnot's, {elements}", 100.0 * carnot_share)
        }
        Source::Electric(elements) => {
            let power_w = elements.upper.or(elements.lower).map_or(0.0, |element| element.power_w);
            format!("elements of {}", units.power(power_w))
        }
        Source::Fuel(burner) => fuel(&place.settings, &burner, units),
    };
    format!("{plate}: {source}; {loss}")
}

/// What a burner takes, and what goes on in mode off.
fn fuel(settings: &Settings, burner: &Burner, units: Units) -> String {
    let takes = [
        (burner.pilot_w > 0.0).then(|| format!("its pilot {}", rate::burning(units, burner.pilot_w))),
        (burner.electric_w > 0.0).then(|| format!("its controls {}", units.power(burner.electric_w))),
    ];
    let takes: Vec<String> = takes.into_iter().flatten().collect();
    let is_off = settings.mode == Mode::Off
        || settings.windows.iter().any(|window| window.mode == Mode::Off)
        || settings.sun.is_some_and(|sun| sun.mode == Mode::Off);
    let off = if is_off { " (in mode off too)" } else { "" };
    let always = if takes.is_empty() { String::new() } else { format!("; always on{off}: {}", takes.join(", ")) };
    format!(
        "its burner takes {}, of which {:.0} % reach the water, and its flue at rest takes {}{always}",
        rate::burning(units, burner.input_w),
        100.0 * burner.efficiency,
        rate::heat_loss(units, burner.flue_loss_w_k, 1)
    )
}

fn pipe(pipe: &HotPipe, units: Units) -> String {
    let hours = pipe.kept_hot.iter().map(|(start, end)| format!("from {} to {}", clock(*start), clock(*end)));
    let hours: Vec<String> = hours.collect();
    let kept = if hours.is_empty() {
        ", which run off before hot water comes".to_owned()
    } else {
        format!("; a pump of {} keeps it hot {}", units.power(pipe.pump_w), hours.join(" and "))
    };
    let loss = rate::heat_loss(units, pipe.loss_w_k, 1);
    format!("{} in its pipe to the fixtures{kept}; it loses {loss}", units.volume(pipe.volume_l))
}

/// What a person who knows heaters would say at once.
fn amiss(hot_water: &HotWater, place: &HeaterPlace, units: Units) -> Vec<String> {
    let mut told: Vec<String> =
        [scalds(place, units), runs_cool(place, units), kept_cool(place, units)].into_iter().flatten().collect();
    let room = hot_water.rooms.get(place.room).filter(|room| !room.ducted);
    if let (Source::HeatPump(pump, _), Some(room)) = (&place.heater.source, room) {
        if room.room.volume_m3 < LEAST_AIR_M3 {
            let (least, has) = (air(units, LEAST_AIR_M3), air(units, room.room.volume_m3));
            told.push(format!("its room has {has} of air and no duct; common practice asks for about {least}"));
        }
        if room.around.temp_c < pump.coldest_air_c + COLD_ROOM_K {
            let coldest = units.temperature(pump.coldest_air_c);
            told.push(format!("its room is cold: its compressor waits while the air is under {coldest}"));
        }
    }
    told
}

/// The hottest that it is kept; `None` where it is always off.
fn hottest_c(place: &HeaterPlace) -> Option<f64> {
    let settings = &place.settings;
    let base = (settings.set_c, settings.mode);
    let windows = settings.windows.iter().map(|window| (window.set_c, window.mode));
    let all = windows.chain(settings.sun.iter().map(|sun| (sun.set_c, sun.mode))).chain([base]);
    all.filter(|(_, mode)| *mode != Mode::Off).map(|(set_c, _)| set_c).reduce(f64::max)
}

/// Water that can scald: it is what reaches the taps that does, behind a tempering valve where there is one.
fn scalds(place: &HeaterPlace, units: Units) -> Option<String> {
    let hottest_c = hottest_c(place)?;
    let at_taps_c = place.tempering_c.map_or(hottest_c, |most_c| most_c.min(hottest_c));
    let (limit, at_taps) = (units.temperature(SCALDS_FROM_C), units.temperature(at_taps_c));
    let can = at_taps_c > SCALDS_FROM_C + ROUNDING_K;
    can.then(|| match place.tempering_c {
        None => format!("kept over {limit} with no tempering valve: water that can scald comes to the taps"),
        Some(_) => {
            format!("its tempering valve lets water of {at_taps} through to the taps: over {limit} it can scald")
        }
    })
}

/// A tempering valve that leaves nothing of a warm shower.
fn runs_cool(place: &HeaterPlace, units: Units) -> Option<String> {
    let most_c =
        place.tempering_c.filter(|most_c| *most_c < SHOWERS_WANT_C - ROUNDING_K && hottest_c(place).is_some())?;
    let [most, wanted] = [most_c, SHOWERS_WANT_C].map(|temp_c| units.temperature(temp_c));
    Some(format!(
        "its tempering valve lets out {most} at most: showers want up to {wanted}, and pipes cool it on the way"
    ))
}

/// Water in which Legionella may live, with the hours where it is not so all day.
fn kept_cool(place: &HeaterPlace, units: Units) -> Option<String> {
    let settings = &place.settings;
    let is_cool = |set_c: f64| set_c < OUTLET_LEAST_C - ROUNDING_K;
    let hours = |cool: bool| {
        let of = settings.windows.iter().filter(|it| it.mode != Mode::Off && is_cool(it.set_c) == cool);
        let sun = settings.sun.iter().filter(|it| it.mode != Mode::Off && is_cool(it.set_c) == cool);
        let hours: Vec<String> = of.map(hours).chain(sun.map(|it| sunny(it, units))).collect();
        (!hours.is_empty()).then(|| hours.join(" and "))
    };
    let when = if settings.mode != Mode::Off && is_cool(settings.set_c) {
        hours(false).map_or_else(String::new, |warm| format!(" but {warm}"))
    } else {
        format!(" {}", hours(true)?)
    };
    let least = units.temperature(OUTLET_LEAST_C);
    Some(format!(
        "kept under {least}{when}, where Legionella may live; common advice is {least} and a tempering valve, as local code asks"
    ))
}

/// A volume of air: rounded, in cubic feet or cubic metres.
fn air(units: Units, volume_m3: f64) -> String {
    match units {
        Units::Us => format!("{:.0} ft3", volume_m3 / FOOT3_M3),
        Units::Metric => format!("{volume_m3:.0} m3"),
    }
}

fn room(scenario: &Scenario, place: &RoomPlace, units: Units) -> String {
    let around = units.temperature(place.around.temp_c);
    let humidity = 100.0 * place.around.relative_humidity();
    let mut said = vec![format!(
        "{}: {} of air, {around} and {humidity:.0} % humidity around it; it loses {}",
        place.name,
        air(units, place.room.volume_m3),
        rate::heat_loss(units, place.room.loss_w_k, 0)
    )];
    if scenario.weather.is_some() && place.outdoors_share > 0.0 {
        said.push(format!("{:.0} % of that outdoors", 100.0 * place.outdoors_share));
    }
    if place.pumps_share > 0.0 {
        said.push(format!("{:.0} % of what pumps take warms it", 100.0 * place.pumps_share));
    }
    if place.storage_w_k > 0.0 {
        said.push(format!("the storage tank takes {} of it", rate::heat_loss(units, place.storage_w_k, 1)));
    }
    if place.ducted {
        // What is not known of the weather cannot be breathed.
        let place = if scenario.weather.is_some() { "outdoors" } else { "around it, as no weather is known" };
        said.push(format!("compressors take their air from {place}"));
    }
    said.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_scenario::{Format, parse, starter};

    const PUMP: &str = "[[heater]]\nname = \"tank\"\nkind = \"heat pump\"\nvolume = \"50 gal\"\n";

    fn told(sections: &str, units: Units) -> Vec<String> {
        // Weather by chance asks for it.
        let starter = starter().replace("[site]\n", "[site]\nlatitude = 44\n");
        let loaded = parse(&format!("{starter}\n{sections}"), Format::Toml, "plant.toml");
        let scenario = loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario;
        let rows = heaters(&scenario, units).into_iter().chain(rooms(&scenario, units));
        rows.map(|(part, said)| format!("{part}|{said}")).collect()
    }

    #[test]
    fn exact_words_on_a_heater_its_pipe_and_its_room() {
        let sections = format!(
            "{PUMP}energy_factor = 3.3\nusage = \"medium\"\nset_point = \"60 °C\"\ntempering = \"48 °C\"\n\
             [[heater.window]]\nstart = \"22:00\"\nend = \"05:00\"\nmode = \"off\"\n\
             [heater.pipe]\nlength = \"10 m\"\nbore = \"20 mm\"\nloss = \"3 W/K\"\n\
             [[heater.pipe.kept_hot]]\nstart = \"06:00\"\nend = \"08:00\"\n"
        );
        let told = told(&sections, Units::Metric);
        let share = told[2].split(" at ").nth(1).and_then(|said| said.split(' ').next());
        let share: f64 = share.and_then(|share| share.parse().ok()).unwrap_or(0.0);
        assert!((45.0..65.0).contains(&share), "{told:?}");
        let expected = [
            "Heater|tank: heat pump, 189 L, serves house and stands in basement; hybrid, kept at 60 °C; tempered to 48 °C behind it"
                .to_owned(),
            "|from 22:00 to 05:00 off".to_owned(),
            format!(
                "|plate of energy factor 3.30, medium usage: its compressor gives 1600 W at {share:.0} % of Carnot's, elements \
                 of 4500 W; its tank loses 2.0 W/K"
            ),
            "|3.1 L in its pipe to the fixtures; a pump of 25 W keeps it hot from 06:00 to 08:00; it loses 3.0 W/K".to_owned(),
            "Room|basement: 48 m3 of air, 18.3 °C and 50 % humidity around it; it loses 60 W/K".to_owned(),
        ];
        assert_eq!(told, expected);
    }

    #[test]
    fn exact_words_on_elements_and_a_burner() {
        let heater =
            |kind: &str| format!("[[heater]]\nname = \"{kind} tank\"\nkind = \"{kind}\"\nvolume = \"40 gal\"\n");
        let told = told(&(heater("electric") + &heater("propane") + "mode = \"off\"\n"), Units::Us);
        assert!(told.contains(&"|no plate: elements of 4500 W; its tank loses 3.8 Btu/h/°F".to_owned()), "{told:?}");
        let burner = "|no plate: its burner takes 40000 Btu/h, of which 78 % reach the water, and its flue at rest takes 5.7 \
                      Btu/h/°F; always on (in mode off too): its pilot 409 Btu/h; its tank loses 3.8 Btu/h/°F";
        assert!(told.contains(&burner.to_owned()), "{told:?}");
        let off = "Heater|propane tank: propane, 40 gal, serves house and stands in basement; off; no tempering valve";
        // What is off is told and not advised on.
        let place = told.iter().position(|row| row == off);
        assert!(place.is_some_and(|place| told[place + 2].starts_with("Room|")), "{told:?}");
    }

    #[test]
    fn exact_what_a_burner_takes_all_the_time() {
        let gas = |keys: &str| {
            let sections = format!("[[heater]]\nname = \"tank\"\nkind = \"gas\"\nvolume = \"40 gal\"\n{keys}");
            told(&sections, Units::Metric).into_iter().find(|row| row.contains("its burner")).unwrap_or_default()
        };
        let has = |keys: &str, words: &str| assert!(gas(keys).contains(words), "{words}: {}", gas(keys));
        has("", "3.0 W/K; always on: its pilot 120 W; its tank");
        let night = "[[heater.window]]\nstart = \"22:00\"\nend = \"05:00\"\nmode = \"off\"\n";
        has(night, "; always on (in mode off too): its pilot 120 W; its tank");
        has("pilot = \"0 W\"\ncontrols_power = \"5 W\"\n", "3.0 W/K; always on: its controls 5 W; its tank");
        has("controls_power = \"5 W\"\n", "; always on: its pilot 120 W, its controls 5 W; its tank");
        has("pilot = \"0 W\"\n", "flue at rest takes 3.0 W/K; its tank");
    }

    #[test]
    fn exact_a_duct_ends_where_air_is_known() {
        let room = |more: &str| {
            let sections = format!("{PUMP}[[room]]\nname = \"closet\"\nducted = true\n{more}");
            told(&sections, Units::Us).into_iter().find(|row| row.starts_with("Room|")).unwrap_or_default()
        };
        assert!(
            room("").ends_with("compressors take their air from around it, as no weather is known"),
            "{}",
            room("")
        );
        let month = "{ high = \"60 °F\", low = \"40 °F\", rain = \"3 in\", wet_days = 9, dew_point = \"40 °F\", \
                     wind = \"5 mph\", sun = \"9 MJ/m2\" }";
        let weather = format!("[weather]\nmonths = [{}]\n", [month; 12].join(", "));
        assert!(room(&weather).ends_with("compressors take their air from outdoors"), "{}", room(&weather));
    }

    #[test]
    fn exact_advice_on_scald_goes_by_what_reaches_the_taps() {
        let advice = |keys: &str| -> Vec<String> {
            let rows = told(&format!("{PUMP}{keys}"), Units::Us).into_iter();
            rows.filter(|row| row.starts_with("|(") && !row.contains("of air and no duct")).collect()
        };
        let tempered =
            |set: &str, most: &str| advice(&format!("set_point = \"{set} °F\"\ntempering = \"{most} °F\"\n"));
        assert!(tempered("140", "120").is_empty());
        let scalds =
            "|(its tempering valve lets water of 130 °F through to the taps: over 120 °F it can scald)".to_owned();
        assert_eq!(tempered("140", "130"), [scalds]);
        // What the tank does not hold no valve lets through.
        assert_eq!(tempered("120", "130").len(), 1, "of Legionella alone");
        assert!(tempered("140", "110").is_empty());
        let cool =
            "|(its tempering valve lets out 109 °F at most: showers want up to 110 °F, and pipes cool it on the way)";
        assert_eq!(tempered("140", "109"), [cool.to_owned()]);
    }

    #[test]
    fn exact_hours_of_a_set_back_are_told() {
        let kept = |set: &str, window: &str| {
            let keys = format!(
                "set_point = \"{set} °F\"\ntempering = \"120 °F\"\n\
                 [[heater.window]]\nstart = \"22:00\"\nend = \"05:00\"\n{window}\n"
            );
            let rows = told(&format!("{PUMP}{keys}"), Units::Us);
            let rows: Vec<String> = rows.into_iter().filter(|row| row.contains("Legionella")).collect();
            rows.first().and_then(|row| row.split(", where").next()).unwrap_or_default().to_owned()
        };
        assert_eq!(kept("140", "set_point = \"110 °F\""), "|(kept under 140 °F from 22:00 to 05:00");
        assert_eq!(kept("120", "set_point = \"140 °F\""), "|(kept under 140 °F but from 22:00 to 05:00");
        assert_eq!(kept("120", "set_point = \"110 °F\""), "|(kept under 140 °F");
        assert_eq!(kept("140", "mode = \"off\"\nset_point = \"110 °F\""), "");
    }

    #[test]
    fn exact_words_and_advice_on_a_heater_that_goes_by_the_sun() {
        let month = "{ high = \"60 °F\", low = \"40 °F\", rain = \"3 in\", wet_days = 9 }";
        let roof = format!("[[panels]]\npower = \"4 kW\"\n[weather]\nmonths = [{}]\n", [month; 12].join(", "));
        let rows = |keys: &str, sun: &str| {
            let sun = format!("[heater.sun]\nsurplus = \"900 W\"\n{sun}");
            told(&format!("{PUMP}{keys}{sun}{roof}"), Units::Us)
        };
        let tempered = "set_point = \"140 °F\"\ntempering = \"120 °F\"\n";
        let hot = rows(tempered, "set_point = \"150 °F\"\nmode = \"heat pump only\"\n");
        assert_eq!(hot[1], "|while the sun leaves 900 W: heat pump only, kept at 150 °F");
        let advice = |rows: &[String], words: &str| rows.iter().any(|row| row.starts_with("|(") && row.contains(words));
        assert!(!advice(&hot, "scald") && !advice(&hot, "Legionella"), "{hot:?}");
        // What it is heated to by the sun can scald, and what it is left at without can be too cool.
        let bare = rows("set_point = \"120 °F\"\n", "set_point = \"150 °F\"\n");
        assert!(advice(&bare, "can scald"), "{bare:?}");
        assert!(advice(&bare, "kept under 140 °F but while the sun leaves 900 W"), "{bare:?}");
    }

    #[test]
    fn advice_is_no_nothing() {
        let advised = |keys: &str| {
            let loaded = parse(&format!("{}\n{PUMP}{keys}", starter()), Format::Toml, "plant.toml");
            are_advised_on(&loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario)
        };
        assert!(advised(""));
        assert!(!advised("set_point = \"140 °F\"\ntempering = \"120 °F\"\n"));
    }

    /// How many rows of advice say each of four things.
    fn advised(sections: &str) -> [usize; 4] {
        let told = told(sections, Units::Us);
        let rows = |words: &str| told.iter().filter(|row| row.starts_with("|(") && row.contains(words)).count();
        ["no tempering valve: water that can scald", "Legionella", "of air and no duct", "room is cold"].map(rows)
    }

    #[test]
    fn exact_advice_is_on_what_is_amiss() {
        let with = |more: &str| advised(&format!("{PUMP}{more}"));
        assert_eq!(with(""), [1, 1, 0, 0]);
        assert_eq!(with("set_point = \"120 °F\"\n"), [0, 1, 0, 0]);
        assert_eq!(with("set_point = \"140 °F\"\n"), [1, 0, 0, 0]);
        assert_eq!(with("set_point = \"140 °F\"\ntempering = \"120 °F\"\n"), [0, 0, 0, 0]);
        assert_eq!(with("mode = \"off\"\n"), [0, 0, 0, 0]);
        let window = "set_point = \"140 °F\"\ntempering = \"120 °F\"\n\
                      [[heater.window]]\nstart = \"22:00\"\nend = \"05:00\"\nset_point = \"110 °F\"\n";
        assert_eq!(with(window), [0, 1, 0, 0]);
        let room =
            |keys: &str| with(&format!("set_point = \"120 °F\"\n[[room]]\nname = \"closet\"\n{keys}"))[2..].to_owned();
        assert_eq!(room("volume = \"19.8 m3\"\n"), [1, 0]);
        assert_eq!(room("volume = \"19.9 m3\"\n"), [0, 0]);
        assert_eq!(room("around = \"42 °F\"\n"), [0, 1]);
        assert_eq!(room("volume = \"5 m3\"\naround = \"42 °F\"\nducted = true\n"), [0, 0]);
        // A burner asks for air too, but not for its warmth.
        let gas = "[[heater]]\nname = \"tank\"\nkind = \"gas\"\nvolume = \"40 gal\"\nset_point = \"120 °F\"\n\
                   [[room]]\nname = \"closet\"\nvolume = \"5 m3\"\n";
        assert_eq!(advised(gas), [0, 1, 0, 0]);
    }
}
