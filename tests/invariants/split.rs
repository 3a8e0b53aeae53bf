//! Rows, saves and the end of a run change nothing: same events, same figures, to the bit.

use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::engine::{Engine, Options, Report, State};
use springhouse_core::observe::Silent;
use springhouse_core::time::{Span, Time};
use springhouse_tests::random::{CASE_LENGTH, Case, case};
use springhouse_tests::recorder::Recorder;

fn options(grid_s: Option<f64>) -> Options {
    Options { grid: grid_s.map(Span::from_s), ..Options::default() }
}

fn whole(case: &Case, length: Span, grid_s: Option<f64>) -> (Recorder, Report) {
    let mut recorder = Recorder::default();
    let draws = case.draws.iter().copied();
    let mut engine =
        Engine::start(&case.plant, &case.incidents, draws, options(grid_s), &mut recorder).expect("starts");
    engine.run_until(Time::ZERO + length, &mut recorder).expect("runs");
    (recorder, engine.report())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 50, ..ProptestConfig::default() })]

    #[test]
    fn grid_changes_nothing(case in case(), grid_s in 1.0..900.0) {
        let (plain, report) = whole(&case, CASE_LENGTH, None);
        let (sampled, sampled_report) = whole(&case, CASE_LENGTH, Some(grid_s));
        prop_assert_eq!(plain.events, sampled.events);
        prop_assert_eq!(report, sampled_report);
    }

    /// Stopped, written out, read back and resumed at ten instants, a run is the whole run: events, rows and figures.
    #[test]
    fn split_run_is_the_whole_run(case in case(), mut cuts in vec(0..CASE_LENGTH.ns(), 10)) {
        let (whole, report) = whole(&case, CASE_LENGTH, Some(60.0));
        cuts.sort_unstable();
        cuts.push(CASE_LENGTH.ns());
        let mut recorder = Recorder::default();
        let draws = || case.draws.iter().copied();
        let mut engine =
            Engine::start(&case.plant, &case.incidents, draws(), options(Some(60.0)), &mut recorder).expect("starts");
        for cut in cuts {
            engine.run_until(Time::from_ns(cut), &mut recorder).expect("runs");
            let saved = serde_json::to_string(&engine.save()).expect("saves");
            let state: State = serde_json::from_str(&saved).expect("restores");
            engine = Engine::resume(&case.plant, &case.incidents, draws(), options(Some(60.0)), state).expect("resumes");
        }
        engine.run_until(Time::ZERO + CASE_LENGTH, &mut recorder).expect("runs");
        prop_assert_eq!(recorder, whole);
        prop_assert_eq!(engine.report(), report);
    }

    /// A short run is the first part of a long one.
    #[test]
    fn end_of_the_run_changes_nothing(case in case(), end_ns in 1..CASE_LENGTH.ns()) {
        let (short, short_report) = whole(&case, Span::from_ns(end_ns), None);
        let mut long = Recorder::default();
        let draws = case.draws.iter().copied();
        let mut engine = Engine::start(&case.plant, &case.incidents, draws, options(None), &mut long).expect("starts");
        engine.run_until(Time::from_ns(end_ns), &mut long).expect("runs");
        let report = engine.report();
        engine.run_until(Time::ZERO + CASE_LENGTH, &mut Silent).expect("runs");
        prop_assert_eq!(short.events, long.events);
        prop_assert_eq!(short_report, report);
    }
}
