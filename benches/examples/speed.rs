//! What a simulated minute and a segment cost, case by case, with how much the engine worked.
//!
//! `cargo run --release -p springhouse-benches --example speed`

#![expect(clippy::expect_used, reason = "a case of this repository that does not run is for those who change it")]
#![expect(clippy::print_stdout, reason = "the table is what it is for")]
#![expect(clippy::cast_precision_loss, reason = "counts of work are far below 2^53")]

use std::time::Instant;

use springhouse_benches::{Case, cases};

/// The fastest of so many runs counts: whatever else the machine does can only make one slower.
const RUNS: u32 = 15;

fn main() {
    println!(
        "{:<14}{:>6}{:>10}{:>9}{:>9}{:>8}{:>8}",
        "case", "days", "segments", "steps", "rejected", "ns/min", "ns/seg"
    );
    let cases = cases();
    for case in &cases {
        print_line(case, 7);
    }
    for case in cases.iter().filter(|case| case.name == "slow-well") {
        print_line(case, 365);
    }
}

fn print_line(case: &Case, days: u32) {
    let mut best_ns = f64::INFINITY;
    let mut work = None;
    for _ in 0..RUNS {
        let start = Instant::now();
        let report = case.run(days).expect("runs");
        best_ns = best_ns.min(start.elapsed().as_nanos() as f64);
        work = Some(report.tally.work);
    }
    let work = work.expect("was run");
    println!(
        "{:<14}{days:>6}{:>10}{:>9}{:>9}{:>8.1}{:>8.0}",
        case.name,
        work.segments,
        work.steps,
        work.rejected,
        best_ns / (f64::from(days) * 1_440.0),
        best_ns / work.segments as f64,
    );
}
