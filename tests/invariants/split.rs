//! Rows, saves and the end of a run change nothing: same events, same figures, to the bit.

use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::engine::{Engine, Options, Report, State};
use springhouse_core::incident::Outside;
use springhouse_core::observe::Silent;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{build, constant_flow, draw, float_switch, slow_well};
use springhouse_tests::random::{CASE_LENGTH, Case, case};
use springhouse_tests::recorder::Recorder;

fn options(grid_s: Option<f64>) -> Options {
    Options { grid: grid_s.map(Span::from_s), ..Options::default() }
}

fn whole(case: &Case, length: Span, grid_s: Option<f64>) -> (Recorder, Report) {
    let mut recorder = Recorder::default();
    let draws = case.draws.iter().copied();
    let mut engine = Engine::start(&case.plant, &case.outside, draws, options(grid_s), &mut recorder).expect("starts");
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
        // At the start, and at some events and next to them, too.
        let events = whole.events.iter().step_by(whole.events.len() / 3 + 1);
        cuts.extend(events.flat_map(|event| [-1, 0, 1].map(|ns| (event.time.ns() + ns).clamp(0, CASE_LENGTH.ns()))));
        cuts.push(0);
        cuts.sort_unstable();
        cuts.push(CASE_LENGTH.ns());
        let mut recorder = Recorder::default();
        let draws = || case.draws.iter().copied();
        let mut engine =
            Engine::start(&case.plant, &case.outside, draws(), options(Some(60.0)), &mut recorder).expect("starts");
        for cut in cuts {
            engine.run_until(Time::from_ns(cut), &mut recorder).expect("runs");
            let saved = serde_json::to_string(&engine.save()).expect("saves");
            let state: State = serde_json::from_str(&saved).expect("restores");
            let before = engine.report();
            engine = Engine::resume(&case.plant, &case.outside, draws(), options(Some(60.0)), state).expect("resumes");
            prop_assert_eq!(engine.report(), before);
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
        let mut engine = Engine::start(&case.plant, &case.outside, draws, options(None), &mut long).expect("starts");
        engine.run_until(Time::from_ns(end_ns), &mut long).expect("runs");
        let report = engine.report();
        engine.run_until(Time::ZERO + CASE_LENGTH, &mut Silent).expect("runs");
        prop_assert_eq!(short.events, long.events);
        prop_assert_eq!(short_report, report);
    }

    /// Where a segment has a closed form, steps give the same to what they may err by.
    #[test]
    fn exact_closed_forms_agree_with_steps(start_kpa in 285.0..405.0_f64, flow_lps in 0.0..0.5_f64, slow in any::<bool>()) {
        let plant = build(if slow { slow_well(float_switch()) } else { constant_flow(0.7, start_kpa) });
        let run = |closed_forms| {
            // Levels that are linear would let a step be as long as the segment, too long for the pressure's integral.
            let longest_step = Span::from_s(20.0);
            let options = Options { closed_forms, tolerance_l: 1e-8, longest_step, ..Options::default() };
            let draws = [draw(600.0, 3_000.0, flow_lps)].into_iter();
            let mut recorder = Recorder::default();
            let mut engine = Engine::start(&plant, &Outside::default(), draws, options, &mut recorder).expect("starts");
            engine.run_until(Time::from_s(30_000.0), &mut recorder).expect("runs");
            (recorder, engine.report())
        };
        let ((closed_events, closed), (step_events, step)) = (run(true), run(false));
        prop_assert_eq!(closed_events.events.len(), step_events.events.len());
        for (a, b) in closed_events.events.iter().zip(&step_events.events) {
            prop_assert!(a.kind == b.kind && (a.time - b.time).s().abs() < 1e-4, "{a:?} and {b:?}");
        }
        let pairs = [
            (closed.totals.supplies[0].inflow_l, step.totals.supplies[0].inflow_l),
            (closed.totals.raw_kpa_s, step.totals.raw_kpa_s),
            (closed.totals.outlets[0].delivered_l, step.totals.outlets[0].delivered_l),
            (closed.tally.lowest_house_kpa, step.tally.lowest_house_kpa),
        ];
        for (a, b) in pairs {
            prop_assert!((a - b).abs() <= 1e-6 * a.abs().max(1.0), "{a} and {b}");
        }
    }
}
