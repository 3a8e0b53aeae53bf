//! What goes out of order, read as a technician reads it: in starts, runs, pressures and levels.
//!
//! Invented plants; what is expected follows from the fault by hand, beside each check.

#![expect(clippy::expect_used, reason = "helpers of tests are tests")]

mod basins;
mod hot_water;
mod lines;
mod membrane;
mod pond;
mod power;
mod pumps;
mod stiff;
mod storage;
mod supplies;

use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::{Incident, IncidentKind, Outside};
use springhouse_core::plant::Parts;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::build;
use springhouse_tests::recorder::Recorder;

const HOUR_S: f64 = 3_600.0;

/// Something out of order between two hours.
fn incident(kind: IncidentKind, (from_h, to_h): (f64, f64)) -> Outside {
    let (start, end) = (Time::from_s(HOUR_S * from_h), Time::from_s(HOUR_S * to_h));
    Outside { incidents: vec![Incident { kind, start, end }], ..Outside::default() }
}

/// Runs a plant for some hours, with a row a minute.
fn run(parts: Parts, outside: &Outside, draws: Vec<Draw>, hours: f64) -> (Recorder, Report) {
    let plant = build(parts);
    let mut recorder = Recorder::default();
    let options = Options { grid: Some(Span::MINUTE), ..Options::default() };
    let mut engine = Engine::start(&plant, outside, draws.into_iter(), options, &mut recorder).expect("starts");
    engine.run_until(Time::from_s(HOUR_S * hours), &mut recorder).expect("runs");
    let report = engine.report();
    let books = &report.ledger;
    assert!(books.residual_l().abs() < 1e-9 * books.scale_l(), "{:?}", books.residuals_l());
    (recorder, report)
}
