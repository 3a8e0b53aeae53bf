//! The text that a person reads.

use jiff::civil::date;
use springhouse_core::incident::IncidentKind;
use springhouse_core::outlet::Role;
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::time::Span;
use springhouse_report::text;
use springhouse_scenario::{DatedIncident, Units};
use springhouse_sim::{Finding, FindingKind, Pressure};

use crate::invented::{Case, HOUSES, crowded, empty, failing, finding, sound, troubled};

fn read(case: &Case, units: Units) -> String {
    let run = case.run(units);
    let caution = text::caution(&run).unwrap_or_default();
    format!("{}\n{}\n{}\n{caution}", text::subject(&run), text::wrapped(&text::headline(&run)), text::body(&run))
}

#[test]
fn regress_text_of_a_sound_week() {
    insta::assert_snapshot!(read(&sound(7, &HOUSES, true, 60), Units::Us));
}

#[test]
fn regress_text_of_a_troubled_week() {
    insta::assert_snapshot!("troubled_metric", read(&troubled(), Units::Metric));
    insta::assert_snapshot!("troubled_us", read(&troubled(), Units::Us));
}

#[test]
fn regress_text_of_one_house_without_storage() {
    insta::assert_snapshot!(read(&sound(1, &HOUSES[..1], false, 60), Units::Metric));
}

#[test]
fn regress_text_of_a_year_on_a_failing_well() {
    insta::assert_snapshot!(read(&failing(), Units::Us));
}

#[test]
fn exact_energy_is_the_nearest_of_each() {
    let mut case = sound(7, &HOUSES, true, 60);
    for part in &mut case.outcome.summary.energy.parts {
        part.kwh = 1.004;
    }
    case.outcome.summary.energy.total_kwh = 2.008;
    let text = read(&case, Units::Us);
    assert!(text.contains("2.01 kWh (well pump 1.00, delivery 1.00)"), "{text}");
    // A plant that takes none has no line of it.
    case.outcome.summary.energy.parts.clear();
    assert!(!read(&case, Units::Us).contains("Energy"));
}

/// Words of a text, whatever lines they stand on.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn long_low_pressure_is_told_with_the_verdict() {
    for (minutes, expected) in [(59.0, "nothing was overworked."), (60.0, "but pressure was low for 1 h.")] {
        let mut case = sound(7, &HOUSES, false, 60);
        case.outcome.summary.verdict.findings =
            vec![Finding { minutes: Some(minutes), ..finding(FindingKind::LowPressure, false, "pressure") }];
        let headline = text::headline(&case.run(Units::Us));
        assert!(headline.starts_with("Holds: nobody ran out of water") && headline.ends_with(expected), "{headline}");
    }
    // In a day 1 % is 14.4 min.
    let mut case = sound(1, &HOUSES, false, 60);
    for (minutes, said) in [(14.0, false), (15.0, true)] {
        case.outcome.summary.verdict.findings =
            vec![Finding { minutes: Some(minutes), ..finding(FindingKind::LowPressure, false, "pressure") }];
        assert_eq!(text::headline(&case.run(Units::Us)).contains("pressure was low"), said, "{minutes} min");
    }
}

#[test]
fn leak_is_told_by_its_litres_and_not_as_short() {
    let mut case = sound(7, &[("house", Role::Building), ("burst at house", Role::Leak)], false, 60);
    let summary = &mut case.outcome.summary;
    summary.outlets[1].role = "leak".to_owned();
    summary.outlets[1].short_l = 435.0;
    summary.water.leaked_l = Some(3_000.0);
    summary.verdict.findings = vec![Finding {
        at: Some("2026-08-07T14:00:00".to_owned()),
        count: Some(1),
        minutes: Some(360.0),
        litres: Some(3_000.0),
        ..finding(FindingKind::Leaked, false, "burst at house")
    }];
    let text = read(&case, Units::Metric);
    let note = "Note: burst at house let 3000 L run away, 6 h in all, on Fri 7 Aug 2026, 14:00.";
    assert!(flowing(&text).contains(note), "{text}");
    assert!(text.contains("Leaked") && !text.contains("435 L") && !text.contains("run-outs"), "{text}");
}

#[test]
fn pressure_is_told_at_the_taps_and_where_it_was_read() {
    let mut case = sound(7, &HOUSES, false, 60);
    for (outlet, kpa) in case.outcome.summary.outlets.iter_mut().zip([210.0, -3.0]) {
        outlet.lowest_tap_kpa = Some(kpa);
    }
    let text = read(&case, Units::Metric);
    assert!(
        text.contains(
            "Lowest pressure   268 kPa
"
        ),
        "{text}"
    );
    assert!(
        text.contains(
            "Lowest at a tap   Main house 210 kPa, Cottage 0 kPa
"
        ),
        "{text}"
    );
    let parts = Parts { reducer_kpa: Some(300.0), ..(*case.scenario.plant).clone() };
    case.scenario.plant = Plant::try_new(parts).unwrap();
    let text = read(&case, Units::Metric);
    assert!(
        text.contains(
            "268 kPa ahead of the reducer
"
        ),
        "{text}"
    );
}

#[test]
fn supplies_tell_what_leaked_back_and_what_they_cost() {
    let mut case = sound(7, &HOUSES, false, 60);
    assert!(!read(&case, Units::Metric).contains("Supply"));
    let supply = &mut case.outcome.summary.supplies[0];
    (supply.leaked_back_l, supply.cost) = (Some(812.0), Some(3.456));
    let text = read(&case, Units::Metric);
    assert!(
        text.contains(
            "well: gave 5400 L, 63 starts, 812 L leaked back, cost 3.46
"
        ),
        "{text}"
    );
}

#[test]
fn incidents_are_told_as_what_they_are() {
    let mut case = sound(7, &HOUSES, false, 60);
    let incident =
        |kind, day: i8| DatedIncident { kind, start: date(2026, 8, day).at(6, 0, 0, 0), length: Span::from_s(3_600.0) };
    let kinds = [
        (IncidentKind::PumpWorn { supply: 0, speed: 0.8 }, "well pump", "the well pump was worn"),
        (IncidentKind::AirLost { share: 0.5 }, "pressure tank", "the pressure tank was short of air"),
        (IncidentKind::StandbyByHand, "standby supply", "the standby supply was put in by hand"),
        (IncidentKind::PowerOut, "power", "the power was out"),
    ];
    // The last is over before the run.
    case.scenario.incidents = kinds.iter().map(|(kind, ..)| incident(*kind, 4)).collect();
    case.scenario.incidents.push(incident(IncidentKind::SupplyOut { supply: 0 }, 2));
    for (_, part, said) in kinds {
        case.outcome.summary.verdict.findings =
            vec![Finding { count: Some(1), ..finding(FindingKind::Incident, false, part) }];
        let text = flowing(&read(&case, Units::Us));
        assert!(text.contains(&format!("Note: by the scenario {said} once.")), "{text}");
    }
}

#[test]
fn low_pressure_without_run_outs_says_whether_anybody_drew() {
    let mut case = sound(7, &HOUSES, false, 60);
    case.outcome.summary.pressure = Pressure { lowest_kpa: 0.0, minutes_below_set: 30.0 };
    let said = |case: &Case| flowing(&read(case, Units::Metric));
    assert!(
        said(&case).contains("far too low: 0 kPa in place of 280 kPa; nobody was drawing Well pump"),
        "{}",
        said(&case)
    );
    case.outcome.summary.outlets[1].lowest_tap_kpa = Some(240.0);
    assert!(said(&case).contains("; a tap in use never had less than 240 kPa Well pump"), "{}", said(&case));
}

#[test]
fn lines_fit_a_terminal() {
    let mut crowded = crowded(7);
    for outlet in &mut crowded.outcome.summary.outlets {
        // Names as long as they like have no room in the table below.
        (outlet.name, outlet.lowest_tap_kpa) = ("guest house".to_owned(), Some(100.0));
    }
    let cases = [(troubled(), Units::Us), (empty(), Units::Metric), (failing(), Units::Us), (crowded, Units::Us)];
    for (case, units) in cases {
        for line in read(&case, units).lines() {
            assert!(line.chars().count() <= 80, "too long: {line}");
        }
    }
}
