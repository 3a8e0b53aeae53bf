//! Speed and accuracy in one table: the day of `tests/data/10_events_24h.csv` at tolerances from 1e-3 to 1e-7 L a step.
//!
//! `cargo run --release -p springhouse-benches --example accuracy`

#![expect(clippy::expect_used, reason = "a case of this repository that does not run is for those who change it")]
#![expect(clippy::print_stdout, reason = "the table is what it is for")]
#![expect(clippy::cast_precision_loss, reason = "nanoseconds of a run are far below 2^53")]

use std::time::Instant;

use springhouse_benches::{Case, cycling_day};
use springhouse_core::engine::{Options, Work};
use springhouse_core::observe::{Event, EventKind, Observer, Silent};
use springhouse_core::time::{Span, Time};

/// The fastest of so many runs counts: whatever else the machine does can only make one slower.
const RUNS: u32 = 50;

fn main() {
    let case = cycling_day();
    let table_s = table_s();
    println!("worst error of {} starts and stops of a day, against tests/data/10_events_24h.csv", table_s.len());
    println!("{:>12}{:>12}{:>8}{:>10}{:>9}", "tolerance L", "error ms", "steps", "rejected", "ns/min");
    for tolerance_l in [1e-3, 1e-4, 1e-5, 1e-6, 1e-7] {
        let options = Options { tolerance_l, ..Options::default() };
        let mut times = Times::default();
        run(&case, &options, &mut times);
        let error_s = worst_error_s(&times.0, &table_s);
        let (mut best_ns, mut work) = (f64::INFINITY, Work::default());
        for _ in 0..RUNS {
            let start = Instant::now();
            work = run(&case, &options, &mut Silent);
            best_ns = best_ns.min(start.elapsed().as_nanos() as f64);
        }
        println!(
            "{tolerance_l:>12.0e}{:>12.6}{:>8}{:>10}{:>9.1}",
            1e3 * error_s,
            work.steps,
            work.rejected,
            best_ns / 1_440.0
        );
    }
}

fn run(case: &Case, options: &Options, observer: &mut impl Observer) -> Work {
    let mut engine = case.start(options.clone(), observer).expect("starts");
    engine.run_until(Time::ZERO + Span::DAY, observer).expect("runs");
    engine.report().tally.work
}

/// Times of starts and stops.
#[derive(Default)]
struct Times(Vec<f64>);

impl Observer for Times {
    fn event(&mut self, event: &Event) {
        if matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops) {
            self.0.push(event.time.s());
        }
    }
}

fn table_s() -> Vec<f64> {
    include_str!("../../tests/data/10_events_24h.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').next().and_then(|time| time.parse().ok()).expect("a time in s"))
        .collect()
}

fn worst_error_s(ours_s: &[f64], table_s: &[f64]) -> f64 {
    assert_eq!(ours_s.len(), table_s.len(), "as many starts and stops as the table");
    ours_s.iter().zip(table_s).map(|(ours, table)| (ours - table).abs()).fold(0.0, f64::max)
}
