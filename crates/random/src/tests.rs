//! Distributions against closed forms, published values and another library.

#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of values, far fewer than 2^32"
)]

use rand_distr::Distribution;

use super::normal_quantile as quantile;
use super::*;

/// Enough that an error of a per cent or two shows.
const MANY: usize = 40_000;

fn source(purpose: &str) -> Source {
    Stream::new(1, 2, &["house", "somebody"], purpose).on(3)
}

fn sample<T>(purpose: &str, mut draw: impl FnMut(&mut Source) -> T) -> Vec<T> {
    let mut source = source(purpose);
    (0..MANY).map(|_| draw(&mut source)).collect()
}

/// As many values of another library, out of another stream.
fn others<T>(of: &impl Distribution<T>) -> Vec<T> {
    let mut source = source("others");
    (0..MANY).map(|_| of.sample(&mut source.0)).collect()
}

fn mean_and_deviation(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0)).sqrt())
}

/// The largest distance between two samples' distribution functions, over what one in a hundred pairs of samples of the
/// same distribution exceeds: `1.628 sqrt (2 / n)`, Smirnov's limit.
fn kolmogorov_smirnov(mut a: Vec<f64>, mut b: Vec<f64>) -> f64 {
    a.sort_by(f64::total_cmp);
    b.sort_by(f64::total_cmp);
    let (mut i, mut j, mut most) = (0, 0, 0.0_f64);
    while i < a.len() && j < b.len() {
        if a[i] <= b[j] {
            i += 1;
        } else {
            j += 1;
        }
        most = most.max((i as f64 / a.len() as f64 - j as f64 / b.len() as f64).abs());
    }
    most / (1.628 * (2.0 / MANY as f64).sqrt())
}

#[test]
fn external_chacha_of_eight_rounds() {
    // J. Strombergson, Test vectors for the stream cipher ChaCha (IETF draft, 2013), TC1 for 256 bits and 8 rounds, from
    // memory: the first block of the zero key begins 3e00ef2f 895f40d6.
    let mut source = Stream { key: [0; 32] }.on(0);
    assert_eq!(source.0.next_u32().to_le_bytes(), [0x3e, 0x00, 0xef, 0x2f]);
    assert_eq!(source.0.next_u32().to_le_bytes(), [0x89, 0x5f, 0x40, 0xd6]);
}

#[test]
fn external_normal_quantiles() {
    // Wichura (1988), values for checking PPND16, from memory.
    for (p, z) in [(0.25, -0.674_489_750_196_081_7), (0.001, -3.090_232_306_167_813_5), (1e-20, -9.262_340_089_798_408)]
    {
        assert!((quantile(p) / z - 1.0).abs() < 4e-16, "{p}: {}", quantile(p));
    }
}

#[test]
fn exact_normal_quantile_undoes_the_distribution() {
    // Twenty units in the last place: erfc of libm is good to one, and far out multiplies the rounding of z by z².
    for i in 1..4_000_i32 {
        for p in [f64::from(i) / 4_000.0, libm::exp(-f64::from(i) / 100.0)] {
            let back = 0.5 * libm::erfc(-quantile(p) * core::f64::consts::FRAC_1_SQRT_2);
            let z = quantile(p);
            assert!((back / p - 1.0).abs() < 20.0 * f64::EPSILON * (1.0 + z * z), "{p}: {back}");
        }
    }
    assert_eq!(quantile(0.5), 0.0);
    assert_eq!(quantile(0.25), -quantile(0.75));
}

#[test]
fn exact_moments() {
    // Five standard errors of a mean.
    let near = |values: &[f64], mean: f64, deviation: f64| {
        let (found, spread) = mean_and_deviation(values);
        let error = deviation / (MANY as f64).sqrt();
        assert!((found - mean).abs() < 5.0 * error, "mean {found} for {mean}");
        assert!((spread / deviation - 1.0).abs() < 0.03, "deviation {spread} for {deviation}");
    };
    near(&sample("unit", Source::unit), 0.5, (1.0_f64 / 12.0).sqrt());
    near(&sample("normal", Source::normal), 0.0, 1.0);
    near(&sample("exponential", |s| s.exponential(240.0)), 240.0, 240.0);
    near(&sample("log normal", |s| s.log_normal(LogNormal::new(468.0, 0.45))), 468.0, 0.45 * 468.0);
    // Of shape 1/2, Gamma(3) = 2 and Gamma(5) = 24: the mean is twice the scale, and mean squares 24 of its square.
    near(&sample("weibull", |s| s.weibull(2.0, 0.5)), 2.0, 20.0_f64.sqrt());
    for mean in [0.0, 0.02, 0.7, 5.0, 31.0, 100.0] {
        let counts: Vec<f64> = sample("poisson", |s| f64::from(s.poisson(mean)));
        if mean == 0.0 {
            assert!(counts.iter().all(|&count| count == 0.0));
        } else {
            near(&counts, mean, mean.sqrt());
        }
    }
    let counts: Vec<f64> = sample("count", |s| f64::from(s.count(2.3)));
    assert!(counts.iter().all(|&count| count == 2.0 || count == 3.0));
    near(&counts, 2.3, (0.3_f64 * 0.7).sqrt());
}

#[test]
fn external_distributions_of_another_library() {
    let pairs = [
        (sample("normal", Source::normal), others(&rand_distr::StandardNormal)),
        (sample("exponential", |s| s.exponential(0.5)), others(&rand_distr::Exp::new(2.0).unwrap())),
        (
            sample("log normal", |s| s.log_normal(LogNormal::new(30.0, 0.9))),
            others(&rand_distr::LogNormal::from_mean_cv(30.0, 0.9).unwrap()),
        ),
        (
            // Gamma(7/3) = 1.190 639.
            sample("weibull", |s| s.weibull(8.0, 0.75)),
            others(&rand_distr::Weibull::new(8.0 / 1.190_639_348_759, 0.75).unwrap()),
        ),
    ];
    for (i, (ours, others)) in pairs.into_iter().enumerate() {
        let beyond = kolmogorov_smirnov(ours, others);
        assert!(beyond < 1.0, "distribution {i} is {beyond} of the limit");
    }
}

#[test]
fn external_poisson_of_another_library() {
    // Two samples of one size: chi² = sum (a - b)² / (a + b), with as many degrees of freedom as cells but one. Its mean is
    // that number and its deviation the root of twice it; four deviations are allowed.
    for mean in [0.3, 3.7, 20.0, 40.0] {
        let mut cells = vec![(0.0, 0.0); 200];
        for count in sample("poisson", |s| s.poisson(mean)) {
            cells[count as usize].0 += 1.0;
        }
        for count in others::<f64>(&rand_distr::Poisson::new(mean).unwrap()) {
            cells[count as usize].1 += 1.0;
        }
        cells.retain(|(a, b)| a + b >= 20.0);
        let chi: f64 = cells.iter().map(|(a, b)| (a - b) * (a - b) / (a + b)).sum();
        let free = cells.len() as f64 - 1.0;
        assert!(chi < free + 4.0 * (2.0 * free).sqrt(), "mean {mean}: chi² {chi} with {free} free");
    }
}

#[test]
fn poisson_rises_with_its_mean() {
    for day in 0..200 {
        let count = |mean| Stream::new(1, 1, &["house"], "rise").on(day).poisson(mean);
        let counts = [0.1, 0.5, 2.0, 7.0, 31.0].map(count);
        assert!(counts.is_sorted(), "day {day}: {counts:?}");
    }
}

#[test]
fn streams_differ_by_all_that_names_them() {
    let first = |stream: Stream, day| stream.on(day).unit().to_bits();
    let all = [
        first(Stream::new(1, 1, &["a", "b"], "c"), 0),
        first(Stream::new(2, 1, &["a", "b"], "c"), 0),
        first(Stream::new(1, 2, &["a", "b"], "c"), 0),
        first(Stream::new(1, 1, &["a/b"], "c"), 0),
        first(Stream::new(1, 1, &["a"], "bc"), 0),
        first(Stream::new(1, 1, &["ab"], "c"), 0),
        first(Stream::new(1, 1, &["a", "b"], "d"), 0),
        first(Stream::new(1, 1, &["a", "b"], "c"), 1),
        first(Stream::new(1, 1, &["a", "b"], "c"), -1),
    ];
    for (i, one) in all.iter().enumerate() {
        assert!(!all[..i].contains(one), "stream {i} is one of those before");
    }
}

/// The first values of each distribution out of one stream: other bits would be other mornings.
#[test]
fn regress_first_values() {
    let bits = |draw: fn(&mut Source) -> f64| {
        let mut source = source("vectors");
        [draw(&mut source), draw(&mut source), draw(&mut source)].map(f64::to_bits)
    };
    assert_eq!(bits(Source::unit), [0x3fe0_14fc_50ac_ee37, 0x3fdd_68a5_cb2a_70c0, 0x3fe2_1a2e_6839_f8e6]);
    assert_eq!(bits(Source::inner), [0x3fe0_14fc_50ac_ee37, 0x3fdd_68a5_cb2a_70c2, 0x3fe2_1a2e_6839_f8e7]);
    assert_eq!(bits(Source::normal), [0x3f7a_4d3e_aa44_a2c9, 0xbfba_0691_f01b_5e76, 0x3fc5_2cb4_4e40_eeb7]);
    assert_eq!(bits(|s| s.exponential(4.0)), [0x4006_5857_3ed1_cb92, 0x4003_b066_5cca_48c2, 0x400a_b036_a406_13e6]);
    let log_normal = bits(|s| s.log_normal(LogNormal::new(30.0, 0.9)));
    assert_eq!(log_normal, [0x4036_68cd_ea19_9064, 0x4034_9e87_a83d_bc52, 0x4039_5447_560b_3b2e]);
    let mut source = source("vectors");
    let counts = [source.poisson(0.5), source.poisson(5.0), source.poisson(45.0), source.count(2.5), source.count(0.5)];
    assert_eq!(counts, [0, 5, 51, 3, 0]);
}
