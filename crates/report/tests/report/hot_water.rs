//! Hot water told: two heaters and what they did in invented weeks, and a real day of three.

use springhouse_core::hot_water::follow::Spell;
use springhouse_core::observe::{EventKind, Part, Trouble};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::time::{Span, Time};
use springhouse_report::{csv, plots, text, write};
use springhouse_scenario::{Format, Scenario, Units, parse};
use springhouse_sim::{
    EnergyPart, Finding, FindingKind, HeaterEnergy, HeaterNow, HotWaterNow, HotWaterSummary, Lukewarm, LukewarmSummary,
    RoomSummary, RunOptions, run,
};

use crate::invented::{Case, HOUSES, event, finding, sound};

/// A house and a cottage with a heater each, in a room each; the cottage's has no tempering valve.
const HEATED: &str = r#"
units = "metric"
title = "Two houses on one well"
start = 2026-08-03
days = 1
seed = 3
[well]
static_level = "20 m"
pump_depth = "50 m"
casing_diameter = "6 in"
specific_capacity = "0.5 L/s/m"
[well_pump]
curve = [ { flow = "0 L/s", head = "90 m" }, { flow = "1.6 L/s", head = "40 m" } ]
cut_in = "280 kPa"
cut_out = "420 kPa"
[pressure_tank]
volume = "300 L"
precharge = "260 kPa"
[[building]]
name = "Main house"
[[building.people]]
name = "family"
count = 5
[[building]]
name = "Cottage"
[[building.people]]
name = "guest"
count = 2
[[heater]]
name = "cellar heater"
kind = "heat pump"
volume = "50 gal"
mode = "heat pump only"
start = "20 °C"
tempering = "48 °C"
[heater.pipe]
length = "12 m"
bore = "0.75 in"
[[heater]]
name = "gas heater"
kind = "gas"
volume = "38 gal"
building = "Cottage"
room = "closet"
set_point = "60 °C"
[[room]]
name = "cellar"
around = "9 °C"
loss = "20 W/K"
[[room]]
name = "closet"
volume = "8 m3"
"#;

pub(crate) fn heated(more: &str) -> Scenario {
    let loaded = parse(&format!("{HEATED}{more}"), Format::Toml, "plant.toml");
    loaded.unwrap_or_else(|faults| panic!("{faults}")).scenario
}

/// A real day of three heaters: the first starts cold, an electric one shares the cottage.
pub(crate) fn real_day() -> Case {
    real_days(1)
}

/// The same for so many days.
pub(crate) fn real_days(days: u32) -> Case {
    const ELECTRIC: &str = "[[heater]]\nname = \"spare tank\"\nkind = \"electric\"\nvolume = \"30 gal\"\nbuilding = \"Cottage\"\nroom = \"closet\"\n";
    let scenario = heated(ELECTRIC);
    let options = RunOptions { days, grid: Some(Span::MINUTE), daily: true, ..RunOptions::from_scenario(&scenario) };
    let outcome = run(&scenario, &options, &mut |_| ()).expect("the invented plant runs");
    Case { scenario, outcome }
}

const NAMES: [&str; 3] = ["anna", "ben", "carl"];

/// Days in which the first heater falls behind every morning, a little more each day up to the eighth.
pub(crate) fn warmed(days: u32) -> Case {
    let mut case = sound(days, &HOUSES, true, if days > 30 { 60 } else { 1 });
    let heated = heated("");
    let parts = Parts { hot_water: heated.plant.hot_water.clone(), ..Parts::clone(&case.scenario.plant) };
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    case.scenario.heater_plates = heated.heater_plates;
    let (mut before, mut heaters_j, mut fuel_j) = (Time::ZERO, 0.0, 0.0);
    for row in &mut case.outcome.rows {
        row.hot_water = hot_water(row.time);
        heaters_j += row.hot_water.heaters.iter().map(|it| it.power_w).sum::<f64>() * (row.time - before).s();
        row.totals.heaters_j = heaters_j;
        if row.hot_water.heaters[1].burner_on {
            fuel_j += 12_000.0 * (row.time - before).s();
        }
        row.hot_water.heaters[0].taken.electric_j = heaters_j;
        row.hot_water.heaters[1].taken.fuel_j = fuel_j;
        before = row.time;
    }
    let days = i64::from(days.min(8));
    case.outcome.lukewarm = (0..days).map(lukewarm).collect();
    let summary = &mut case.outcome.summary;
    summary.energy.heaters_kwh = Some(heaters_j / 3.6e6);
    summary.energy.total_kwh += heaters_j / 3.6e6;
    summary.energy.parts.push(EnergyPart {
        part: "cellar heater".to_owned(),
        kwh: heaters_j / 3.6e6,
        ..EnergyPart::default()
    });
    summary.energy.parts.push(EnergyPart { part: "gas heater".to_owned(), kwh: 0.0, ..EnergyPart::default() });
    summary.balance.heat_residual_kwh = Some(1e-12);
    let spells = case.outcome.lukewarm.iter().map(|it| LukewarmSummary {
        from: String::new(),
        until: String::new(),
        minutes: it.spell.seconds / 60.0,
        coolest_c: it.spell.coolest_c,
        who: it.who.clone(),
    });
    let spells: Vec<LukewarmSummary> = spells.collect();
    let minutes = spells.iter().map(|spell| spell.minutes);
    let cellar = HotWaterSummary {
        lukewarm_minutes: minutes.clone().sum(),
        lukewarm_spells: u64::try_from(days).unwrap(),
        first_lukewarm_at: Some("2026-08-03T07:20:00".to_owned()),
        longest_lukewarm_min: minutes.fold(0.0, f64::max),
        longest_lukewarm_at: Some("2026-08-09T07:20:00".to_owned()),
        lowest_outlet_c: 27.04,
        recovery_h: 4.25,
        compressor_kwh: Some(19.25),
        element_kwh: Some(6.5),
        cop: Some(3.456),
        frozen_hours: Some(0.5),
        air_wait_hours: Some(1.5),
        pipe_loss_kwh: Some(5.43),
        waited_l: Some(123.4),
        other_kwh: 0.25,
        ..quiet("cellar heater", "Main house")
    };
    let gas = HotWaterSummary { fuel_kwh: Some(61.0), scalding_l: 311.0, ..quiet("gas heater", "Cottage") };
    summary.hot_water = vec![HotWaterSummary { spells, ..cellar }, gas];
    summary.rooms = vec![
        RoomSummary { sensible_kwh: 24.0, latent_kwh: 6.0, condensate_l: 8.6, lowest_c: 6.8, ..room("cellar") },
        room("closet"),
    ];
    case
}

/// A heater that nobody has to complain of.
fn quiet(heater: &str, building: &str) -> HotWaterSummary {
    HotWaterSummary {
        heater: heater.to_owned(),
        building: building.to_owned(),
        delivered_l: 1_234.5,
        at_taps_kwh: 51.25,
        gained_kwh: 0.0,
        lukewarm_minutes: 0.0,
        lukewarm_spells: 0,
        first_lukewarm_at: None,
        longest_lukewarm_min: 0.0,
        longest_lukewarm_at: None,
        spells: Vec::new(),
        lowest_outlet_c: 54.3,
        recovery_h: 0.75,
        compressor_kwh: None,
        element_kwh: None,
        other_kwh: 0.0,
        fuel_kwh: None,
        cop: None,
        season_cop: None,
        kwh_per_l: None,
        frozen_hours: None,
        air_wait_hours: None,
        standby_kwh: 7.89,
        pipe_loss_kwh: None,
        waited_l: None,
        scalding_l: 0.0,
        growth_l_h: 0.0,
        compressor_starts: None,
        element_starts: 21,
        cool_outlet_hours: 0.0,
        longest_cool_outlet_h: 0.0,
    }
}

fn room(name: &str) -> RoomSummary {
    RoomSummary {
        room: name.to_owned(),
        lowest_c: 17.0,
        highest_c: 24.5,
        sensible_kwh: 0.0,
        latent_kwh: 0.0,
        condensate_l: 0.0,
    }
}

/// In the morning the tank runs cold and is heated again till noon.
fn hot_water(time: Time) -> HotWaterNow {
    let of_day = (time - Time::from_day(time.day())).s() / 3_600.0;
    let heats = (7.0..12.0).contains(&of_day);
    let short_c = if heats { 25.0 * (1.0 - (of_day - 8.0).abs() / 4.0).max(0.0) } else { 0.0 };
    let cellar = HeaterNow {
        outlet_c: 52.0 - short_c,
        mean_c: 50.0 - 1.2 * short_c,
        compressor_on: heats,
        element_on: (8.0..8.5).contains(&of_day),
        burner_on: false,
        power_w: if heats { 500.0 } else { 0.0 },
        taken: HeaterEnergy::default(),
    };
    let gas = HeaterNow {
        outlet_c: 60.0 - 0.2 * of_day,
        mean_c: 59.0 - 0.2 * of_day,
        compressor_on: false,
        element_on: false,
        burner_on: of_day < 0.5,
        power_w: 0.0,
        taken: HeaterEnergy::default(),
    };
    HotWaterNow { heaters: vec![cellar, gas], rooms: vec![(18.0 - 0.4 * short_c, 0.55), (22.0, 0.4)] }
}

/// The spell of a morning, and one name more or fewer each day.
fn lukewarm(day: i64) -> Lukewarm {
    let seconds = 60.0 * f64::from(i32::try_from(day).unwrap() + 3);
    let start = Time::from_day(day) + Span::from_s(26_400.0);
    let spell = Spell { start, end: start + Span::from_s(2.0 * seconds), seconds, coolest_c: 31.26 };
    let who = NAMES.iter().take(usize::try_from(day % 4).unwrap()).map(|name| (*name).to_owned());
    Lukewarm { heater: 0, spell, who: who.collect() }
}

/// What a run of it finds.
fn found() -> Vec<Finding> {
    let at = |iso: &str| Some(iso.to_owned());
    vec![
        Finding {
            at: at("2026-08-03T07:20:00"),
            count: Some(7),
            minutes: Some(42.0),
            longest_minutes: Some(9.0),
            longest_at: at("2026-08-09T07:20:00"),
            limit: Some(2.0),
            ..finding(FindingKind::Lukewarm, true, "Main house")
        },
        Finding { minutes: Some(90.0), ..finding(FindingKind::AirUnsuitable, false, "cellar heater") },
        Finding { litres: Some(311.0), limit: Some(49.0), ..finding(FindingKind::ScaldingWater, false, "Cottage") },
        Finding { minutes: Some(600.0), limit: Some(60.0), ..finding(FindingKind::GrowthWarm, false, "cellar heater") },
    ]
}

fn read(case: &Case, units: Units) -> String {
    let run = case.run(units);
    let caution = text::caution(&run).unwrap_or_default();
    format!("{}\n{}\n{caution}", text::wrapped(&text::headline(&run)), text::body(&run))
}

/// Words of a text, whatever lines they stand on.
pub(crate) fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn regress_text_of_a_week_with_two_heaters() {
    let mut case = warmed(7);
    case.outcome.summary.hot_water[0].growth_l_h = 412.3;
    case.outcome.summary.verdict.findings = found();
    case.outcome.summary.verdict.holds = false;
    case.outcome.summary.hot_water[0].cool_outlet_hours = 167.5;
    insta::assert_snapshot!("hot_water_metric", read(&case, Units::Metric));
    insta::assert_snapshot!("hot_water_us", read(&case, Units::Us));
}

#[test]
fn lines_of_hot_water_fit_a_terminal() {
    let mut case = warmed(8);
    let heaters = &mut case.outcome.summary.hot_water;
    let names = ["heater under the stairs", "tank in the old barn", "third tank"];
    heaters.extend(names.map(|name| HotWaterSummary { element_kwh: Some(3.0), ..quiet(name, "Main house") }));
    let text = read(&case, Units::Us);
    // Five do not stand side by side; none is left out, and none told twice.
    assert_eq!(text.lines().filter(|line| line.starts_with("Hot water ")).count(), 2, "{text}");
    for name in names.into_iter().chain(["gas heater"]) {
        assert_eq!(
            text.lines().filter(|line| line.starts_with("Hot water ") && line.contains(name)).count(),
            1,
            "{text}"
        );
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn the_longest_spells_are_told_in_order_of_time() {
    let case = warmed(8);
    let text = read(&case, Units::Metric);
    let told: Vec<&str> = text.lines().filter(|line| line.starts_with("Lukewarm on")).collect();
    assert_eq!(told.len(), 6, "{text}");
    // The first two mornings were the shortest.
    assert!(told[0].starts_with("Lukewarm on Wed 5 Aug 2026, 07:20 from the cellar heater: 5 min"), "{text}");
    assert!(text.contains("\nand 2 more, none longer\n"), "{text}");
    let text = flowing(&text);
    assert!(text.contains("6 min, coolest 31.3 °C; met by anna, ben and carl. Lukewarm on Fri 7 Aug"), "{text}");
    assert!(text.contains("7 min, coolest 31.3 °C. Lukewarm on Sat 8 Aug"), "nobody is known of: {text}");
    assert!(text.contains("8 min, coolest 31.3 °C; met by anna. Lukewarm on Sun 9 Aug"), "{text}");
}

#[test]
fn only_a_plant_with_heaters_is_told_to_keep_warm() {
    let holds = |case: &Case| text::headline(&case.run(Units::Us));
    assert_eq!(holds(&sound(7, &HOUSES, true, 60)), "Holds: nobody ran out of water and nothing was overworked.");
    let mut case = warmed(1);
    assert_eq!(holds(&case), "Holds: nobody ran out of water and nothing was overworked.");
    case.outcome.summary.hot_water.remove(0);
    let warm = "Holds: nobody ran out of water, no tap was lukewarm, and nothing was overworked.";
    assert_eq!(holds(&case), warm);
}

#[test]
fn findings_of_hot_water_are_sentences() {
    let mut case = warmed(7);
    case.outcome.summary.hot_water[0].growth_l_h = 412.3;
    let said = [
        "Main house had lukewarm water 7 times, 42 min in all, first on Mon 3 Aug 2026, 07:20, at worst for 9 min from Sun 9 \
         Aug 2026, 07:20.",
        "the compressor of the cellar heater waited for 1 h 30 min in all for air that suits it.",
        "82.2 gal of water over 120 °F, which can scald, came to the taps of Cottage.",
        "the outlet of the cellar heater was under 140 °F for 10 h on end, with 109 gallon-hours of water above its inlet as \
         warm as Legionella likes it.",
    ];
    for (finding, said) in found().into_iter().zip(said) {
        case.outcome.summary.verdict.findings = vec![Finding { falls_short: false, ..finding }];
        let text = flowing(&text::body(&case.run(Units::Us)));
        assert!(text.starts_with(&format!("Note: {said} ")), "{text}");
    }
}

#[test]
fn dangers_of_hot_water_raise_their_caution() {
    let mut case = warmed(1);
    assert_eq!(text::caution(&case.run(Units::Us)), None);
    for (kind, said, other) in [
        (FindingKind::ScaldingWater, "tempering valve at the heater and anti-scald valves", "Legionella"),
        (FindingKind::GrowthWarm, "Legionella grows in water that is warm and stands", "anti-scald"),
    ] {
        case.outcome.summary.verdict.findings = vec![finding(kind, false, "cellar heater")];
        let text = flowing(&text::caution(&case.run(Units::Us)).unwrap());
        assert!(text.contains(said) && text.contains("local code") && !text.contains(other), "{text}");
    }
}

pub(crate) fn minutes(case: &Case) -> Vec<Vec<String>> {
    let mut bytes = Vec::new();
    csv::minutes(&case.run(Units::Us), &mut bytes).unwrap();
    let mut table = ::csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
    table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn exact_columns_of_heaters_and_rooms() {
    let table = minutes(&warmed(1));
    let first = table[0].iter().position(|key| key == "outlet_c:cellar heater").unwrap();
    let keys = [
        ("outlet_c:cellar heater", "27.000"),
        ("tank_c:cellar heater", "20.000"),
        ("compressor_on:cellar heater", "1"),
        ("element_on:cellar heater", "1"),
        ("power_w:cellar heater", "500.00"),
        ("heater_kwh:cellar heater", "0.008333333"),
        // What heats this one is a burner, and nothing else.
        ("outlet_c:gas heater", "58.400"),
        ("tank_c:gas heater", "57.400"),
        ("burner_on:gas heater", "0"),
        ("power_w:gas heater", "0.00"),
        ("heater_kwh:gas heater", "0.000000000"),
        ("fuel_kwh:gas heater", "0.000000000"),
        ("room_c:cellar", "8.000"),
        ("humidity:cellar", "0.5500"),
        ("room_c:closet", "22.000"),
        ("humidity:closet", "0.4000"),
    ];
    assert_eq!(table[0][first..], keys.map(|(key, _)| key));
    // At eight, the 481st line.
    assert_eq!(table[481][0], "2026-08-03T08:00:00");
    assert_eq!(table[481][first..], keys.map(|(_, value)| value));
    let energy = table[0].iter().position(|key| key == "heaters_kwh").unwrap();
    assert_eq!(table[0][energy - 1], "delivery_kwh");
    let sum: f64 = table[1..].iter().map(|row| row[energy].parse::<f64>().unwrap()).sum();
    // Of 500 W from seven to twelve.
    assert!((sum - 2.5).abs() < 1e-6, "{sum}");
    // Of 12 kW for half an hour, the last minute of it before the midnight that ends the day.
    let fuel = table[0].iter().position(|key| key == "fuel_kwh:gas heater").unwrap();
    let sum: f64 = table[1..].iter().map(|row| row[fuel].parse::<f64>().unwrap()).sum();
    assert!((sum - 6.0).abs() < 1e-6, "{sum}");
}

#[test]
fn without_heaters_there_is_no_column_and_no_picture() {
    let case = sound(1, &HOUSES, true, 60);
    let warm = [
        "outlet_c",
        "tank_c",
        "compressor_on",
        "element_on",
        "burner_on",
        "power_w",
        "heater_kwh",
        "fuel_kwh",
        "room_c",
        "humidity",
    ];
    for key in &minutes(&case)[0] {
        assert!(!warm.contains(&key.split(':').next().unwrap()) && key != "heaters_kwh", "{key}");
    }
    assert!(plots::all(&case.run(Units::Us)).iter().all(|plot| plot.name != "hot-water"));
    assert!(!read(&case, Units::Us).contains("ot water"));
}

#[test]
fn picture_of_a_run_with_heaters_does_not_outlive_it() {
    let place = tempfile::tempdir().unwrap();
    let there = || ["hot-water.svg", "hot-water.png"].map(|name| place.path().join(name).is_file());
    write::all(&warmed(1).run(Units::Us), place.path()).unwrap();
    assert_eq!(there(), [true; 2]);
    write::all(&sound(1, &HOUSES, true, 60).run(Units::Us), place.path()).unwrap();
    assert_eq!(there(), [false; 2]);
}

pub(crate) fn plot(case: &Case, name: &str) -> plots::Plot {
    plots::all(&case.run(Units::Metric)).into_iter().find(|plot| plot.name == name).unwrap()
}

#[test]
fn exact_title_tells_the_worst_heater() {
    let title = |case: &Case| plot(case, "hot-water").title().to_owned();
    let mut case = warmed(7);
    let cellar =
        "The cellar heater gave lukewarm water 7 times, 42 min in all, 9 min at worst on Sun 9 Aug 2026, 07:20";
    assert_eq!(title(&case), cellar);
    let gas = &mut case.outcome.summary.hot_water[1];
    (gas.lukewarm_spells, gas.lukewarm_minutes) = (1, 4.0);
    assert_eq!(title(&case), format!("{cellar}; so did another heater"));
    case.outcome.summary.hot_water.remove(0);
    assert_eq!(title(&case), "The gas heater gave lukewarm water once, for 4 min");
    case.outcome.summary.hot_water[0].lukewarm_spells = 0;
    assert_eq!(title(&case), "No tap was lukewarm; the outlet was never under 54.3 °C");
}

#[test]
fn pictures_tell_what_heats_and_when_it_was_lukewarm() {
    let svg = |case: &Case| plot(case, "hot-water").svg().unwrap();
    let has = |svg: &str, words: [&str; 7]| words.map(|word| svg.contains(word));
    let words = [
        "compressor",
        "burner",
        "set point",
        "was lukewarm at a tap",
        "Cellar heater for Main house",
        "closet",
        "no power",
    ];
    let mut case = warmed(7);
    assert_eq!(has(&svg(&case), words), [true, true, true, true, true, true, false]);
    case.outcome.lukewarm.clear();
    case.outcome.events.push(event(2, 13.0, Part::Site, EventKind::IncidentBegins(Trouble::PowerOut), 0.0));
    case.outcome.events.push(event(2, 17.0, Part::Site, EventKind::IncidentEnds(Trouble::PowerOut), 0.0));
    case.outcome.events.sort_by_key(|event| event.time);
    assert_eq!(has(&svg(&case), words), [true, true, true, false, true, true, true]);
    // In a long run what was on would be one mark.
    assert_eq!(has(&svg(&warmed(60)), words), [false, false, true, true, true, true, false]);
}

#[test]
fn exact_each_morning_of_lukewarm_water_is_marked() {
    let marks = |mornings: usize| {
        let mut case = warmed(7);
        case.outcome.lukewarm.truncate(mornings);
        plot(&case, "hot-water").svg().unwrap().matches("#D55E00").count()
    };
    // Minutes are as narrow as marks get, and filled. What one needs for the key the others need no more.
    assert_eq!([marks(0), marks(3) - marks(1), marks(7) - marks(1)], [0, 2, 6]);
    // Those of another heater are in its own panel.
    let mut case = warmed(7);
    case.outcome.lukewarm[0].heater = 1;
    assert_eq!(plot(&case, "hot-water").svg().unwrap().matches("#D55E00").count(), marks(7));
}

#[test]
fn energy_has_its_heaters() {
    let svg = plot(&warmed(7), "energy").svg().unwrap();
    assert!(svg.contains("water heaters: 17.5 kWh"), "of 2.5 kWh a day");
}

#[test]
fn real_day_is_told_with_who_met_it() {
    let case = real_day();
    let text = flowing(&read(&case, Units::Metric));
    assert!(text.contains("Lukewarm on Mon 3 Aug 2026, ") && text.contains("; met by family "), "{text}");
    assert!(text.contains("heat for power (COP)") && text.contains("MJ"), "{text}");
    // The parts of the summary are those of the text, and add up.
    let energy = &case.outcome.summary.energy;
    let sum: f64 = energy.parts.iter().map(|part| part.kwh).sum();
    assert!((sum - energy.total_kwh).abs() < 1e-9, "{energy:?}");
}
