//! The text that a person reads.

use springhouse_report::text;
use springhouse_scenario::Units;

use crate::invented::{Case, HOUSES, empty, failing, sound, troubled};

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
fn exact_energy_adds_up_as_printed() {
    let mut case = sound(7, &HOUSES, true, 60);
    for part in &mut case.outcome.summary.energy.parts {
        part.kwh = 1.004;
    }
    case.outcome.summary.energy.total_kwh = 2.008;
    let text = read(&case, Units::Us);
    assert!(text.contains("2.01 kWh (well pump 1.01, delivery 1.00)"), "{text}");
}

#[test]
fn lines_fit_a_terminal() {
    for (case, units) in [(troubled(), Units::Us), (empty(), Units::Metric), (failing(), Units::Us)] {
        for line in read(&case, units).lines() {
            assert!(line.chars().count() <= 80, "too long: {line}");
        }
    }
}
