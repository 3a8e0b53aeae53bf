//! Intervals of chances, quantiles, means and differences.

use springhouse_study::sure::{Confidence, Interval, chance, mean, paired, quantile};

use crate::binomial;
use crate::table::Table;

fn confidence(share: f64) -> Confidence {
    Confidence::new(share).unwrap()
}

fn near(found: f64, expected: f64, tolerance: f64, what: &str) {
    // A chance is no better than the rounding of 1 less it.
    let off = (found - expected).abs() - 2.0 * f64::EPSILON;
    assert!(off <= tolerance * expected.abs(), "{what}: {found} for {expected}");
}

#[test]
fn external_chance_of_another_library() {
    let table = Table::read(include_str!("../../../../tests/data/17_chance.csv"));
    let mut rows = 0;
    for row in table.rows() {
        let (times, runs) = (row.number("times"), row.number("runs"));
        let found = chance(times as u64, runs as u64, confidence(row.number("confidence")));
        let what = format!("{times} of {runs}");
        near(found.low, row.number("low"), 2e-14, &what);
        near(found.high, row.number("high"), 2e-14, &what);
        rows += 1;
    }
    assert_eq!(rows, 148);
}

#[test]
fn exact_chance_of_what_never_or_always_happened() {
    for runs in [1_u64, 7, 100, 20_000] {
        // (1 - high)^runs = 2.5 %.
        let high = -libm::expm1(libm::log(0.025) / runs as f64);
        let never = chance(0, runs, Confidence::USUAL);
        assert_eq!(never.low, 0.0);
        // 1 - 0.95 is a tail of 0.025 but for 4e-17, 2e-15 of it.
        near(never.high, high, 1e-14, "never");
        let always = chance(runs, runs, Confidence::USUAL);
        assert_eq!(always.high, 1.0);
        near(always.low, 1.0 - high, 1e-14, "always");
    }
    assert_eq!(chance(0, 0, Confidence::USUAL), Interval { low: 0.0, high: 1.0 });
}

/// Wilson's interval, J. Am. Stat. Assoc. 22 (1927) 209, of 95 %.
fn wilson(times: usize, runs: usize) -> Interval {
    let (n, z) = (runs as f64, 1.959_963_984_540_054);
    let p = times as f64 / n;
    let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
    let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    Interval { low: middle - half, high: middle + half }
}

#[test]
fn exact_chance_is_held_as_often_as_said() {
    // Summed over all that can happen in 100 runs: ours never less than 95 %, Wilson's down to 86 % where it hardly ever happens.
    const RUNS: usize = 100;
    let ours: Vec<Interval> = (0..=RUNS as u64).map(|times| chance(times, RUNS as u64, Confidence::USUAL)).collect();
    let wilsons: Vec<Interval> = (0..=RUNS).map(|times| wilson(times, RUNS)).collect();
    let held = |by: &[Interval], p: f64| -> f64 {
        binomial(RUNS, p).iter().zip(by).filter(|(_, interval)| interval.holds(p)).map(|(chance, _)| chance).sum()
    };
    let (mut least, mut wilsons_least) = (1.0_f64, 1.0_f64);
    for i in 1..1000 {
        let p = f64::from(i) * 0.0005;
        least = least.min(held(&ours, p));
        wilsons_least = wilsons_least.min(held(&wilsons, p));
    }
    println!("held at least {least}, Wilson's {wilsons_least}");
    assert!((0.95..0.96).contains(&least), "{least}");
    assert!(wilsons_least < 0.90, "{wilsons_least}");
}

#[test]
fn external_student_of_another_library() {
    // Two values of mean 0 and deviation 1 have one degree of freedom: the bound is t / sqrt (n).
    let table = Table::read(include_str!("../../../../tests/data/17_student.csv"));
    let mut rows = 0;
    for row in table.rows().filter(|row| [1.0, 2.0, 3.0, 5.0, 9.0, 30.0, 1e3].contains(&row.number("free"))) {
        let runs = row.number("free") as usize + 1;
        let values: Vec<f64> = (0..runs).map(|i| (i * i % 7) as f64).collect();
        let found = mean(&values, confidence(row.number("confidence"))).unwrap();
        let t = found.bounds.half_width() / found.deviation * (runs as f64).sqrt();
        near(t, row.number("t"), 1e-12, row.text("free"));
        rows += 1;
    }
    assert_eq!(rows, 35);
}

#[test]
fn external_quantile_of_another_library() {
    let table = Table::read(include_str!("../../../../tests/data/17_rank.csv"));
    let mut rows = 0;
    for row in table.rows() {
        let rising: Vec<f64> = (1..=row.number("values") as u32).map(f64::from).collect();
        let found = quantile(&rising, row.number("share"), confidence(row.number("confidence"))).unwrap();
        let bounds = (found.low.unwrap_or(0.0), found.high.unwrap_or(0.0));
        assert_eq!(bounds, (row.number("low"), row.number("high")), "{} {}", row.text("values"), row.text("share"));
        rows += 1;
    }
    assert_eq!(rows, 168);
}

#[test]
fn exact_59_values_bound_the_95th_per_cent() {
    // 0.95^59 = 0.0485, 0.95^58 = 0.0510: the greatest of 59 is a bound that is passed once in 20.
    let bound = |values: u32| {
        let rising: Vec<f64> = (1..=values).map(f64::from).collect();
        quantile(&rising, 0.95, confidence(0.90)).unwrap().high
    };
    assert_eq!((bound(58), bound(59)), (None, Some(59.0)));
}

#[test]
fn exact_quantile_is_the_least_value_that_reaches_its_share() {
    let rising: Vec<f64> = (1..=100).map(f64::from).collect();
    for (percent, value) in [(1.0, 1.0), (7.0, 7.0), (29.0, 29.0), (50.0, 50.0), (50.5, 51.0), (99.9, 100.0)] {
        assert_eq!(quantile(&rising, percent / 100.0, Confidence::USUAL).unwrap().value, value);
    }
    assert_eq!(quantile(&[], 0.5, Confidence::USUAL), None);
    assert_eq!(quantile(&rising, 1.0, Confidence::USUAL), None);
}

#[test]
fn external_paired_difference_of_another_library() {
    let table = Table::read(include_str!("../../../../tests/data/17_paired.csv"));
    let (a, b): (Vec<f64>, Vec<f64>) = table.rows().map(|row| (row.number("a"), row.number("b"))).unzip();
    let alone = mean(&a, Confidence::USUAL).unwrap().bounds;
    near(alone.low, table.given("a_low"), 1e-13, "mean");
    near(alone.high, table.given("a_high"), 1e-13, "mean");
    // The library takes the second from the first.
    let found = paired(&b, &a, Confidence::USUAL).unwrap();
    // Differences of numbers of some 200 are good to 1e-14 of them.
    near(found.difference.bounds.low, table.given("low"), 1e-11, "difference");
    near(found.difference.bounds.high, table.given("high"), 1e-11, "difference");
    assert_eq!(found.unpaired_runs_each, Some(table.given("unpaired_each") as u64));
    for few in [4, 5, 6] {
        let back: Vec<f64> = b[..few].iter().rev().copied().collect();
        let found = paired(&a[..few], &back, Confidence::USUAL).unwrap();
        assert_eq!(found.unpaired_runs_each, Some(table.given(&format!("unpaired_each_{few}")) as u64), "{few}");
    }
}

#[test]
fn too_few_runs_tell_no_mean() {
    assert_eq!(mean(&[3.0], Confidence::USUAL), None);
    assert_eq!(paired(&[1.0, 2.0], &[1.0], Confidence::USUAL), None);
    // A difference that is always the same cannot be had unpaired.
    let same = paired(&[1.0, 2.0, 4.0], &[2.0, 3.0, 5.0], Confidence::USUAL).unwrap();
    assert_eq!((same.difference.mean, same.difference.bounds.half_width(), same.unpaired_runs_each), (1.0, 0.0, None));
    assert!(Confidence::new(1.0).is_err() && Confidence::new(f64::NAN).is_err() && Confidence::new(0.0).is_err());
}
