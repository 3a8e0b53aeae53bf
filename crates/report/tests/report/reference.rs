//! `docs/outputs.md` against what is written: every key, column, event and finding has its place there.

use std::collections::BTreeSet;
use std::{fs, path};

use serde_json::Value;
use springhouse_core::observe::{Event, EventKind, Part, Trouble};
use springhouse_core::time::Time;
use springhouse_report::draws as draws_report;
use springhouse_report::{Run, csv, json};
use springhouse_scenario::Units;
use springhouse_sim::FindingKind;

use crate::draws;
use crate::hot_water::real_day;
use crate::invented::{Case, HOUSES, sound, troubled};
use crate::membrane::{into_a_pond, starved};
use crate::site::{battery, whole};
use crate::supplied::supplied;
use crate::year::{real_month, season};

fn reference() -> String {
    fs::read_to_string(path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/outputs.md")).unwrap()
}

/// Fails for words that no table of the reference has as the first cell of a row.
fn assert_told<'a>(words: impl IntoIterator<Item = &'a str>) {
    let reference = reference();
    let missing: Vec<_> = words.into_iter().filter(|word| !reference.contains(&format!("\n| `{word}` |"))).collect();
    assert!(missing.is_empty(), "docs/outputs.md has no row for {missing:?}");
}

fn keys_of(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                keys.insert(key.clone());
                keys_of(inner, keys);
            }
        }
        Value::Array(list) => list.iter().for_each(|inner| keys_of(inner, keys)),
        _ => {}
    }
}

/// The kind after one in their order. Exhaustive, so that a new kind cannot be left out of the test.
fn next_event(kind: EventKind) -> Option<EventKind> {
    use EventKind as K;
    Some(match kind {
        K::PumpStarts => K::PumpStops,
        K::PumpStops => K::ShortCyclingBegins,
        K::ShortCyclingBegins => K::ShortCyclingEnds,
        K::ShortCyclingEnds => K::LowLevelStop,
        K::LowLevelStop => K::LowLevelClears,
        K::LowLevelClears => K::SuctionLost,
        K::SuctionLost => K::SuctionRegained,
        K::SuctionRegained => K::TankEmpties,
        K::TankEmpties => K::MembraneStarts,
        K::MembraneStarts => K::MembraneStops,
        K::MembraneStops => K::MembraneTrips,
        K::MembraneTrips => K::MembraneLocksOut,
        K::MembraneLocksOut => K::CleaningDue,
        K::CleaningDue => K::FillOpens,
        K::FillOpens => K::FillShuts,
        K::FillShuts => K::ProtectStop,
        K::ProtectStop => K::ProtectClears,
        K::ProtectClears => K::RunOutBegins,
        K::RunOutBegins => K::RunOutEnds,
        K::RunOutEnds => K::LeakBegins,
        K::LeakBegins => K::LeakEnds,
        K::LeakEnds => K::PressureLow,
        K::PressureLow => K::PressureBack,
        K::PressureBack => K::TopUpOpens,
        K::TopUpOpens => K::TopUpShuts,
        K::TopUpShuts => K::SpillBegins,
        K::SpillBegins => K::SpillEnds,
        K::SpillEnds => K::ChangesOver,
        K::ChangesOver => K::ChangesBack,
        K::ChangesBack => K::ServiceDue,
        K::ServiceDue => K::Washed,
        K::Washed => K::UnderdoseBegins,
        K::UnderdoseBegins => K::UnderdoseEnds,
        K::UnderdoseEnds => K::LukewarmBegins,
        K::LukewarmBegins => K::LukewarmEnds,
        K::LukewarmEnds => K::AirUnsuitable,
        K::AirUnsuitable => K::ScaldingWater,
        K::ScaldingWater => K::GrowthWarm,
        K::GrowthWarm => K::BatteryFeeds,
        K::BatteryFeeds => K::GeneratorFeeds,
        K::GeneratorFeeds => K::NobodyFeeds,
        K::NobodyFeeds => K::Overload,
        K::Overload => K::IncidentBegins(Trouble::PowerOut),
        K::IncidentBegins(trouble) => K::IncidentEnds(trouble),
        K::IncidentEnds(trouble) => K::IncidentBegins(next_trouble(trouble)?),
    })
}

fn next_trouble(trouble: Trouble) -> Option<Trouble> {
    use Trouble as T;
    Some(match trouble {
        T::PowerOut => T::Out,
        T::Out => T::Worn,
        T::Worn => T::LeakBack,
        T::LeakBack => T::AirLost,
        T::AirLost => T::StuckOpen,
        T::StuckOpen => T::StuckShut,
        T::StuckShut => T::Bypassed,
        T::Bypassed => T::ValvedOff,
        T::ValvedOff => T::Cleaning,
        T::Cleaning => T::Changing,
        T::Changing => T::StandbyByHand,
        T::StandbyByHand => return None,
    })
}

fn next_finding(kind: FindingKind) -> Option<FindingKind> {
    use FindingKind as K;
    Some(match kind {
        K::RunOut => K::Weak,
        K::Weak => K::LowPressure,
        K::LowPressure => K::LowLevelTrip,
        K::LowLevelTrip => K::SuctionLost,
        K::SuctionLost => K::ManyStarts,
        K::ManyStarts => K::ShortRuns,
        K::ShortRuns => K::ProtectStop,
        K::ProtectStop => K::Incident,
        K::Incident => K::Spilled,
        K::Spilled => K::Leaked,
        K::Leaked => K::StandbyUsed,
        K::StandbyUsed => K::Underdosed,
        K::Underdosed => K::Untreated,
        K::Untreated => K::Spent,
        K::Spent => K::LongRun,
        K::LongRun => K::ServiceDue,
        K::ServiceDue => K::MembraneLockedOut,
        K::MembraneLockedOut => K::MembraneTrips,
        K::MembraneTrips => K::MembraneFouls,
        K::MembraneFouls => K::CleaningDue,
        K::CleaningDue => K::CalciteLow,
        K::CalciteLow => K::MembraneChlorinated,
        K::MembraneChlorinated => K::RejectReturned,
        K::RejectReturned => K::PondSaltier,
        K::PondSaltier => K::PondDry,
        K::PondDry => K::PondFroze,
        K::PondFroze => K::Lukewarm,
        K::Lukewarm => K::HeaterFroze,
        K::HeaterFroze => K::ScaldingWater,
        K::ScaldingWater => K::GrowthWarm,
        K::GrowthWarm => K::AirUnsuitable,
        K::AirUnsuitable => K::BackupOverloaded,
        K::BackupOverloaded => K::BackupEnded,
        K::BackupEnded => K::SaltyStorage,
        K::SaltyStorage => return None,
    })
}

fn table(write: impl FnOnce(&mut Vec<u8>)) -> Vec<Vec<String>> {
    let mut bytes = Vec::new();
    write(&mut bytes);
    let mut table = ::csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
    table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn every_key_of_the_summary_is_told() {
    let mut keys = BTreeSet::new();
    let cases: [&dyn Fn() -> Case; 7] =
        [&troubled, &|| into_a_pond(1), &|| starved(1), &real_month, &real_day, &|| whole(4, 60), &|| battery(1)];
    for make in cases {
        let case = make();
        let summary = serde_json::from_str(&json::summary(&case.outcome.summary).unwrap()).unwrap();
        keys_of(&summary, &mut keys);
    }
    // The invented week has every part that a scenario may lack.
    assert!(keys.contains("lowest_storage_at") && keys.contains("raw_short_l") && keys.contains("limit"));
    assert!(keys.contains("returned_l") && keys.contains("locked_out_at") && keys.contains("loop_salt_mg_l"));
    assert!(keys.contains("wet_days") && keys.contains("thickest_ice_m"));
    let warm = ["who", "cop", "air_wait_hours", "fuel_kwh", "waited_l", "longest_lukewarm_at", "condensate_l"];
    assert!(warm.iter().all(|key| keys.contains(*key)) && keys.contains("heat_residual_kwh"));
    let site = ["own_supply_by_hour", "generator_fuel_l", "first_dark_at", "fuel_left_l", "battery_lowest_at"];
    assert!(site.iter().all(|key| keys.contains(*key)), "{keys:?}");
    assert_told(keys.iter().map(String::as_str));
}

#[test]
fn every_column_is_told() {
    let told = |run: &Run<'_>| {
        let minutes = table(|out| csv::minutes(run, out).unwrap());
        let events = table(|out| csv::events(run, out).unwrap());
        let days = table(|out| csv::days(run, out).unwrap());
        let columns = minutes[0].iter().chain(&events[0]).chain(&days[0]);
        let of_a_part = |key: &str| key.split_once(':').map(|(key, _)| format!("{key}:NAME"));
        let columns: Vec<String> = columns.map(|key| of_a_part(key).unwrap_or_else(|| key.clone())).collect();
        assert_told(columns.iter().map(String::as_str));
    };
    told(&sound(1, &HOUSES, true, 60).run(Units::Us));
    told(&sound(1, &HOUSES, false, 60).run(Units::Us));
    told(&supplied(1).run(Units::Us));
    told(&into_a_pond(1).run(Units::Us));
    told(&season(28).run(Units::Us));
    told(&real_day().run(Units::Us));
    told(&whole(1, 60).run(Units::Us));
}

#[test]
fn every_key_and_column_of_draws_is_told() {
    let (mut keys, mut columns) = (BTreeSet::new(), BTreeSet::new());
    for case in draws::cases() {
        let drawn = case.told(Units::Us);
        keys_of(&serde_json::from_str(&draws_report::json::document(&drawn).unwrap()).unwrap(), &mut keys);
        columns.extend(table(|out| draws_report::csv::draws(&drawn, out).unwrap())[0].clone());
        columns.extend(table(|out| draws_report::csv::wishes(&drawn, out).unwrap())[0].clone());
    }
    assert!(keys.contains("people") && keys.contains("longest_shower_wait") && columns.contains("queued_s"));
    let reference = reference();
    let (_, told) = reference.split_once("\n# What `draws` writes\n").unwrap();
    let cell = |word: &str| told.contains(&format!("\n| `{word}` |"));
    let missing: Vec<_> = keys.iter().chain(&columns).filter(|word| !cell(word)).collect();
    assert!(missing.is_empty(), "docs/outputs.md has no row for {missing:?} of draws");
}

#[test]
fn every_event_is_told_with_its_unit() {
    let kinds = std::iter::successors(Some(EventKind::PumpStarts), |kind| next_event(*kind));
    let mut case = troubled();
    case.outcome.events = kinds.map(|kind| Event { time: Time::ZERO, part: Part::Site, kind, value: 1.0 }).collect();
    let rows = table(|out| csv::events(&case.run(Units::Us), out).unwrap());
    let reference = reference();
    for row in &rows[1..] {
        let [_, _, event, _, unit, _] = row.as_slice() else { panic!("{row:?}") };
        let told = if unit.is_empty() { format!("\n| `{event}` | |") } else { format!("\n| `{event}` | {unit} |") };
        assert!(reference.contains(&told), "docs/outputs.md has no row {told:?}");
    }
}

#[test]
fn every_kind_of_finding_is_told() {
    let kinds = std::iter::successors(Some(FindingKind::RunOut), |kind| next_finding(*kind));
    let names: Vec<String> =
        kinds.map(|kind| serde_json::to_value(kind).unwrap().as_str().unwrap().to_owned()).collect();
    assert_told(names.iter().map(String::as_str));
}
