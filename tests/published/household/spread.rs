//! How homes differ.

use springhouse_draws::household::{Household, LEVEL_GSD};

use super::{FIRST_DAY, home, tallied};

const HOMES: usize = 595;

/// Greatest distance of the values' distribution from the normal one with their mean and standard deviation, times
/// `sqrt n - 0.01 + 0.85 / sqrt n`. It exceeds 1.035 in one of a hundred samples of normal numbers: M. A. Stephens, EDF
/// statistics for goodness of fit, J. Am. Stat. Assoc. 69 (1974) 730, table 1, case 3, from memory.
fn distance_from_normal(values: &[f64]) -> f64 {
    let (mean, sigma) = moments(values);
    let n = values.len() as f64;
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let distance = sorted.iter().enumerate().fold(0.0, |most: f64, (below, value)| {
        let share = 0.5 * libm::erfc((mean - value) / (sigma * core::f64::consts::SQRT_2));
        most.max(share - below as f64 / n).max((below as f64 + 1.0) / n - share)
    });
    distance * (n.sqrt() - 0.01 + 0.85 / n.sqrt())
}

fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (n - 1.0)).sqrt())
}

/// National Academy of Sciences, Risk assessment of radon in drinking water (1998) 56: indoor use of a person and day over
/// 595 houses is lognormal with a geometric standard deviation of 1.8, geometric mean 0.23 m³, mean 0.28 m³. As many homes,
/// each with a level of its own, over sixty days.
#[test]
fn external_homes_differ_as_real_ones() {
    const WORST: f64 = 1.035;
    let sizes = [(1, 0), (2, 0), (2, 0), (2, 1), (2, 2), (3, 1)];
    let homes = sizes.iter().cycle().zip(0..HOMES);
    let homes = homes.map(|(&(adults, children), i)| home(&format!("house {i}"), adults, children));
    let of = Household { seed: 1, run: 0, first_day: FIRST_DAY, homes: homes.collect() }.with_drawn_levels();
    let totals = tallied(&of, 60).totals;
    let litres: Vec<f64> = totals.homes().iter().map(|home| home.all_litres() / home.person_days() as f64).collect();
    let logs: Vec<f64> = litres.iter().map(|litres| libm::log(*litres)).collect();
    let ((log_mean, sigma), (mean, _)) = (moments(&logs), moments(&litres));

    // Three standard errors of a sample of as many, 0.09 of the 1.8.
    let error = 1.0 / (2.0 * HOMES as f64).sqrt();
    let wanted = libm::log(LEVEL_GSD);
    assert!((sigma / wanted - 1.0).abs() < 3.0 * error, "{} for {LEVEL_GSD}", libm::exp(sigma));
    // Mean over geometric mean, told to two digits of each: 0.275 / 0.235 to 0.285 / 0.225.
    let ratio = mean / libm::exp(log_mean);
    assert!((0.275 / 0.235..0.285 / 0.225).contains(&ratio), "{ratio}");
    // Lognormal, and not normal: the same test tells them apart.
    let (log_distance, distance) = (distance_from_normal(&logs), distance_from_normal(&litres));
    assert!(log_distance < WORST && distance > WORST, "{log_distance} {distance}");
}
