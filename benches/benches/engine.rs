//! Wall time of the engine: a week of every case, and a year of the slow well.
//!
//! criterion tells the time of a whole run and, as its rate, simulated minutes a second. Which run is compared with which
//! is told in `docs/performance.md`: absolute times are those of one machine at one hour.

#![expect(clippy::expect_used, reason = "a case of this repository that does not run is for those who change it")]

use std::hint::black_box;
use std::time::Duration;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use springhouse_benches::{Case, cases};

const MINUTES_A_DAY: u64 = 1_440;

fn engine(criterion: &mut Criterion) {
    let cases = cases();
    for case in &cases {
        measure(criterion, case, 7);
    }
    for case in cases.iter().filter(|case| case.name == "slow-well") {
        measure(criterion, case, 365);
    }
}

fn measure(criterion: &mut Criterion, case: &Case, days: u32) {
    let mut group = criterion.benchmark_group("engine");
    group.throughput(Throughput::Elements(u64::from(days) * MINUTES_A_DAY));
    group.bench_with_input(BenchmarkId::new(&case.name, format!("{days} days")), &days, |bencher, days| {
        bencher.iter(|| black_box(case.run(*days).expect("runs")));
    });
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).warm_up_time(Duration::from_millis(500)).measurement_time(Duration::from_secs(2));
    targets = engine
}
criterion_main!(benches);
