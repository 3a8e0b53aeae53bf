//! Runs of the engine whose figures are compared with what others have published.

use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::Outside;
use springhouse_core::plant::Parts;
use springhouse_core::time::Time;
use springhouse_tests::plants::build;
use springhouse_tests::recorder::Recorder;

/// The figures at each of some instants, in order, and all that was told on the way.
pub(crate) fn reports(parts: Parts, outside: &Outside, draws: Vec<Draw>, at_s: &[f64]) -> (Recorder, Vec<Report>) {
    let plant = build(parts);
    let mut recorder = Recorder::default();
    let mut engine =
        Engine::start(&plant, outside, draws.into_iter(), Options::default(), &mut recorder).expect("starts");
    let mut reports = Vec::with_capacity(at_s.len());
    for s in at_s {
        engine.run_until(Time::from_s(*s), &mut recorder).expect("runs");
        let report = engine.report();
        let books = &report.ledger;
        assert!(books.residual_l().abs() <= 1e-9 * books.scale_l(), "{:?} L", books.residuals_l());
        reports.push(report);
    }
    (recorder, reports)
}

/// The figures after some seconds.
pub(crate) fn report(parts: Parts, outside: &Outside, draws: Vec<Draw>, length_s: f64) -> Report {
    reports(parts, outside, draws, &[length_s]).1.remove(0)
}
