//! The plots: valid, the same bytes each time, and a picture in every case.

use springhouse_core::outlet::Role;
use springhouse_report::plots;
use springhouse_scenario::Units;

use crate::hot_water::{real_day, warmed};
use crate::invented::{Case, HOUSES, crowded, empty, failing, sound, troubled};
use crate::membrane::{into_a_pond, making, reject_shut, starved};
use crate::supplied::{from_a_cistern, supplied};
use crate::unusual::{both_out, starting, three_wells};

pub(crate) fn cases() -> Vec<(&'static str, Case, Units)> {
    let house = [("House", Role::Building)];
    vec![
        ("sound", sound(7, &HOUSES, true, 1), Units::Us),
        ("troubled", troubled(), Units::Metric),
        ("day", sound(1, &house, false, 1), Units::Us),
        ("two_days", sound(2, &house, true, 1), Units::Metric),
        ("fortnight", sound(14, &house, true, 5), Units::Us),
        ("month", sound(31, &house, true, 10), Units::Us),
        ("quarter", crowded(92), Units::Us),
        ("year", sound(365, &house, true, 60), Units::Metric),
        ("crowded", crowded(7), Units::Metric),
        ("empty", empty(), Units::Metric),
        ("failing", failing(), Units::Us),
        ("three_wells", three_wells(7), Units::Us),
        ("three_wells_for_a_day", three_wells(1), Units::Us),
        ("three_wells_for_two_months", three_wells(60), Units::Metric),
        ("three_wells_for_a_year", three_wells(365), Units::Metric),
        ("both_out", both_out(), Units::Us),
        ("starting", starting(420), Units::Us),
        ("supplied", supplied(7), Units::Us),
        ("supplied_day", supplied(1), Units::Metric),
        ("supplied_year", supplied(365), Units::Us),
        ("membrane", into_a_pond(7), Units::Us),
        ("membrane_day", making(1), Units::Metric),
        ("membrane_starved", starved(3), Units::Us),
        ("membrane_reject_shut", reject_shut(5), Units::Us),
        ("membrane_year", making(365), Units::Metric),
        ("hot_water", warmed(7), Units::Us),
        ("hot_water_day", real_day(), Units::Metric),
        ("hot_water_month", warmed(31), Units::Metric),
        ("hot_water_year", warmed(365), Units::Us),
        ("decade", sound(3_650, &house, true, 1_440), Units::Metric),
    ]
}

#[test]
fn svg_is_well_formed() {
    for (name, case, units) in cases() {
        for plot in plots::all(&case.run(units)) {
            let svg = plot.svg().unwrap();
            resvg::usvg::roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{name} {}: {e}", plot.name));
        }
    }
}

#[test]
fn png_is_a_picture() {
    for plot in plots::all(&crowded(2).run(Units::Us)) {
        let picture = resvg::tiny_skia::Pixmap::decode_png(&plot.png().unwrap()).unwrap();
        assert_eq!(picture.width(), 1_560, "{}", plot.name);
        // More than blank paper: there are dark words.
        assert!(picture.pixels().iter().any(|p| p.red() < 60), "{} is blank", plot.name);
    }
}

#[test]
fn same_run_gives_the_same_bytes() {
    let (once, again) = (troubled(), troubled());
    for (a, b) in plots::all(&once.run(Units::Us)).iter().zip(&plots::all(&again.run(Units::Us))) {
        assert_eq!(a.svg().unwrap(), b.svg().unwrap(), "{}", a.name);
        assert_eq!(a.png().unwrap(), b.png().unwrap(), "{}", a.name);
    }
}

#[test]
fn regress_titles_say_the_answer() {
    let told = vec![
        ("sound", sound(7, &HOUSES, true, 1)),
        ("troubled", troubled()),
        ("no storage", sound(1, &HOUSES[..1], false, 1)),
        ("empty", empty()),
        ("failing", failing()),
        ("three wells", three_wells(7)),
        ("all out", crowded(2)),
        ("both out", both_out()),
        ("starting often", starting(420)),
        ("supplied", supplied(7)),
        ("from a cistern", from_a_cistern()),
    ];
    let titles = |case: &Case| -> Vec<String> {
        plots::all(&case.run(Units::Us)).iter().map(|plot| plot.title().to_owned()).collect()
    };
    let titles: Vec<_> = told.iter().map(|(name, case)| (*name, titles(case))).collect();
    insta::assert_debug_snapshot!(titles);
}

#[test]
fn only_days_over_the_limit_of_starts_are_marked() {
    let marked = |starts: u32| {
        let case = starting(starts);
        let plots = plots::all(&case.run(Units::Us));
        let svg = plots.iter().find(|plot| plot.name == "pump").unwrap().svg().unwrap();
        // The colour of trouble, which nothing else on that plot has.
        (svg.contains("#D55E00"), svg.contains("a day with more than 300 starts"))
    };
    assert_eq!(marked(300), (false, false));
    assert_eq!(marked(301), (true, true));
}

#[test]
fn every_pump_is_called_by_its_name() {
    let case = three_wells(7);
    for plot in plots::all(&case.run(Units::Us)).iter().filter(|plot| plot.name != "run-outs") {
        let svg = plot.svg().unwrap().to_lowercase();
        let has = ["well pump", "second well pump", "well behind the barn pump"].map(|name| svg.contains(name));
        // Levels name no pump.
        assert_eq!(has, [plot.name != "levels"; 3], "{}", plot.name);
    }
}
