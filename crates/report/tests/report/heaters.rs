//! Heaters told one by one: what each took, when it was on, and what it is called.

use springhouse_core::observe::{EventKind, Part};
use springhouse_core::plant::{Parts, Plant};
use springhouse_report::{csv, text};
use springhouse_scenario::Units;
use springhouse_sim::{Finding, FindingKind};

use crate::hot_water::{flowing, minutes, plot, real_days, warmed};
use crate::invented::{Case, event, finding};

fn days(case: &Case) -> Vec<Vec<String>> {
    let mut bytes = Vec::new();
    csv::days(&case.run(Units::Us), &mut bytes).unwrap();
    let mut table = ::csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
    table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect()
}

#[test]
fn exact_energy_by_heater_adds_up() {
    let case = real_days(2);
    let sum = |table: &[Vec<String>], key: &str| -> f64 {
        let place = table[0].iter().position(|it| it == key).unwrap_or_else(|| panic!("no {key}"));
        table[1..].iter().map(|row| row[place].parse::<f64>().unwrap()).sum()
    };
    let (minutes, days) = (minutes(&case), days(&case));
    assert!(case.outcome.summary.hot_water.len() == 3);
    for heater in &case.outcome.summary.hot_water {
        let name = &heater.heater;
        let electric_kwh = heater.compressor_kwh.unwrap_or(0.0) + heater.element_kwh.unwrap_or(0.0) + heater.other_kwh;
        let kinds = [("heater_kwh", Some(electric_kwh)), ("fuel_kwh", heater.fuel_kwh)];
        for (key, kwh) in kinds.into_iter().filter_map(|(key, kwh)| Some((format!("{key}:{name}"), kwh?))) {
            // Each of 2881 cells is rounded to nine decimals.
            assert!((sum(&minutes, &key) - kwh).abs() < 1e-6, "{key}: {} of {kwh}", sum(&minutes, &key));
            assert!((sum(&days, &key) - kwh).abs() < 1e-8, "{key}: {} of {kwh}", sum(&days, &key));
        }
        assert_eq!(minutes[0].contains(&format!("fuel_kwh:{name}")), heater.fuel_kwh.is_some(), "{name}");
    }
    let each = ["cellar heater", "gas heater", "spare tank"].map(|name| sum(&minutes, &format!("heater_kwh:{name}")));
    assert!((each.iter().sum::<f64>() - sum(&minutes, "heaters_kwh")).abs() < 1e-6, "{each:?}");
}

#[test]
fn exact_names_that_do_not_say_what_they_are_are_quoted() {
    let mut case = warmed(2);
    for (index, name) in ["big one", "Gas"].into_iter().enumerate() {
        case.outcome.summary.hot_water[index].heater = name.to_owned();
    }
    let mut parts = Parts::clone(&case.scenario.plant);
    parts.hot_water.heaters[0].name = "big one".to_owned();
    parts.hot_water.heaters[1].name = "Gas".to_owned();
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    assert!(plot(&case, "hot-water").title().starts_with("The heater \"big one\" gave lukewarm water twice"));
    let said = |case: &Case, kind: FindingKind, part: &str| {
        let mut case = Case { scenario: case.scenario.clone(), outcome: case.outcome.clone() };
        case.outcome.summary.verdict.findings = vec![Finding { litres: Some(311.0), ..finding(kind, false, part) }];
        flowing(&text::body(&case.run(Units::Metric)))
    };
    let wait = said(&case, FindingKind::AirUnsuitable, "big one");
    assert!(wait.starts_with("Note: the compressor of the heater \"big one\" waited"), "{wait}");
    assert!(wait.contains("from the heater \"big one\": 4 min"), "{wait}");
    let grows = said(&case, FindingKind::GrowthWarm, "Gas");
    assert!(grows.starts_with("Note: the outlet of the heater \"Gas\" was under"), "{grows}");
    // Of several heaters of a building each is told of.
    let lukewarm = said(&case, FindingKind::Lukewarm, "Gas");
    assert!(lukewarm.starts_with("Note: the heater \"Gas\" gave lukewarm water."), "{lukewarm}");
    let scalds = said(&case, FindingKind::ScaldingWater, "Gas");
    assert!(scalds.contains("came to the taps from the heater \"Gas\"."), "{scalds}");
    assert!(said(&case, FindingKind::Lukewarm, "Cottage").starts_with("Note: Cottage had lukewarm water."));
    // A building comes first where a heater has its name.
    case.outcome.summary.hot_water[0].heater = "Cottage".to_owned();
    assert!(said(&case, FindingKind::Lukewarm, "Cottage").starts_with("Note: Cottage had lukewarm water."));
    let ends = event(0, 8.0, Part::Heater(1), EventKind::LukewarmEnds, 90.0);
    case.outcome.events = vec![ends];
    let mut bytes = Vec::new();
    csv::events(&case.run(Units::Us), &mut bytes).unwrap();
    let told = String::from_utf8(bytes).unwrap();
    let said = "no lukewarm water from the heater \"\"Gas\"\" for 5 min; it ran lukewarm for 1 min 30 s";
    assert!(told.contains(said), "{told}");
}

#[test]
fn exact_fuel_stands_beside_electricity() {
    let energy = |case: &Case, units: Units| {
        let text = flowing(&text::body(&case.run(units)));
        let from = text.find("Energy ").unwrap();
        text[from..text.find(" delivered short").unwrap_or(text.len())].to_owned()
    };
    let mut case = warmed(7);
    let electric = "Energy 27.34 kWh (well pump 7.12, delivery 2.72, cellar heater 17.50)";
    // Of 61 kWh: 219.6 MJ, and 2.08 therms of 29.307 kWh.
    assert_eq!(energy(&case, Units::Metric), format!("{electric} and 219.6 MJ of gas"));
    assert_eq!(energy(&case, Units::Us), format!("{electric} and 2.1 therms of gas"));
    case.outcome.summary.hot_water[1].fuel_kwh = Some(0.0);
    assert_eq!(energy(&case, Units::Us), electric);
}

#[test]
fn strips_say_hours_and_how_they_are_known() {
    let svg = |case: &Case| plot(case, "hot-water").svg().unwrap();
    let case = warmed(7);
    let told = svg(&case);
    // Five hours a day, half an hour and half an hour.
    for words in ["compressor, 35 h", "element, 3.5 h", "burner, 3.5 h", "the dark part is its share"] {
        assert!(told.contains(words), "{words}");
    }
    assert!(!told.contains("Told by rows"));
    // Rows of an hour: what is on at full hours.
    let mut coarse = warmed(7);
    coarse.outcome.rows = coarse.outcome.rows.into_iter().step_by(60).collect();
    let told = svg(&coarse);
    assert!(told.contains("compressor, about 35 h") && told.contains("Told by rows of 1 h"), "{told}");
    let long = svg(&warmed(60));
    assert!(long.contains("1 h apart") && !long.contains("lowest to the highest"));
}
