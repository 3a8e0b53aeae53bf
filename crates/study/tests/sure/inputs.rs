//! Distributions of inputs.

use proptest::prelude::*;
use springhouse_study::sure::Input;

use crate::table::Table;

fn named(name: &str) -> Input {
    const NONE: f64 = f64::INFINITY;
    match name {
        "uniform -3 5" => Input::uniform(-3.0, 5.0),
        "normal 20 4" => Input::normal(20.0, 4.0, -NONE, NONE),
        "normal 20 4 from 15 to 30" => Input::normal(20.0, 4.0, 15.0, 30.0),
        "normal 20 4 from 15" => Input::normal(20.0, 4.0, 15.0, NONE),
        "normal 0 1 from 6 to 8" => Input::normal(0.0, 1.0, 6.0, 8.0),
        "normal 0 1 from -9 to -7" => Input::normal(0.0, 1.0, -9.0, -7.0),
        "lognormal 30 0.6" => Input::log_normal(30.0, 0.6),
        "triangular 1 2 6" => Input::triangular(1.0, 2.0, 6.0),
        "triangular 1 1 6" => Input::triangular(1.0, 1.0, 6.0),
        "triangular 1 6 6" => Input::triangular(1.0, 6.0, 6.0),
        "listed 7 3 12 by 1 2 5" => Input::listed(&[(7.0, 1.0), (3.0, 2.0), (12.0, 5.0)]),
        _ => panic!("{name}"),
    }
    .unwrap()
}

#[test]
fn external_values_of_another_library() {
    let table = Table::read(include_str!("../../../../tests/data/17_inputs.csv"));
    let mut rows = 0;
    for row in table.rows() {
        let (name, unit, expected) = (row.text("distribution"), row.number("unit"), row.number("value"));
        let found = named(name).at(unit);
        // Shares of a tail lose some digits to their logarithms over there.
        assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{name} at {unit}: {found} for {expected}");
        rows += 1;
    }
    assert_eq!(rows, 121);
}

#[test]
fn exact_weights_are_kept() {
    let input = Input::listed(&[(7.0, 0.0), (3.0, 2.0), (5.0, 0.0), (4.0, 6.0)]).unwrap();
    let values: Vec<f64> = (0..8).map(|i| input.at((f64::from(i) + 0.5) / 8.0)).collect();
    assert_eq!(values, [3.0, 3.0, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0]);
    assert_eq!((input.at(0.0), input.at(0.25), input.at(1.0)), (3.0, 4.0, 4.0));
}

#[test]
fn exact_means() {
    // The middle of many slices: off by some of the width of the outermost.
    let mean = |of: Input| (0..20_000).map(|i| of.at((f64::from(i) + 0.5) / 20_000.0)).sum::<f64>() / 20_000.0;
    let near = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-3, "{found} for {expected}");
    near(mean(Input::uniform(1.0, 4.0).unwrap()), 2.5);
    near(mean(Input::triangular(1.0, 2.0, 6.0).unwrap()), 3.0);
    near(mean(Input::log_normal(30.0, 0.6).unwrap()), 30.0);
    near(mean(Input::normal(20.0, 4.0, 12.0, 28.0).unwrap()), 20.0);
}

proptest! {
    #[test]
    fn values_rise_within_their_ends(
        mean in -9.0..9.0_f64, low in -9.0..9.0_f64, width in 0.01..9.0_f64, units in (0.0..1.0_f64, 0.0..1.0_f64),
    ) {
        let high = low + width;
        let (a, b) = (units.0.min(units.1), units.0.max(units.1));
        let mode = mean.clamp(low, high);
        for input in [Input::uniform(low, high), Input::normal(mean, 1.5, low, high), Input::triangular(low, mode, high)] {
            let input = input.unwrap();
            let (at_a, at_b) = (input.at(a), input.at(b));
            // Rounding may carry a value past an end by its last digit.
            let off = 1e-13 * (low.abs() + high.abs());
            prop_assert!(low - off <= at_a && at_a <= at_b + off && at_b <= high + off, "{input:?}: {at_a} {at_b}");
        }
    }
}

#[test]
fn what_makes_no_distribution_is_refused() {
    for (input, words) in [
        (Input::uniform(2.0, 2.0), "an upper end of 2 makes no distribution: it must be above the lower end"),
        (Input::uniform(f64::NAN, 2.0), "a lower end of NaN makes no distribution: it must be a finite number"),
        (Input::normal(1.0, 0.0, 0.0, 2.0), "a standard deviation of 0 makes no distribution: it must be above zero"),
        (Input::normal(0.0, 1.0, 50.0, 60.0), "an end of 50 makes no distribution: it is too far from the mean"),
        (Input::log_normal(-1.0, 0.5), "a mean of -1 makes no distribution: it must be above zero"),
        (
            Input::triangular(1.0, 7.0, 6.0),
            "a likeliest value of 7 makes no distribution: it must lie between the ends",
        ),
        (Input::listed(&[(1.0, -1.0)]), "a weight of -1 makes no distribution: it must not be negative"),
        (Input::listed(&[(1.0, 0.0)]), "a sum of weights of 0 makes no distribution: it must be above zero"),
        (Input::listed(&[]), "a sum of weights of 0 makes no distribution: it must be above zero"),
    ] {
        assert_eq!(input.unwrap_err().to_string(), words);
    }
}
