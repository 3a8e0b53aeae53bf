//! The binomial, beta and Student distributions, from which exact intervals are made.
//!
//! Binomial probabilities by their deviance (C. Loader, Fast and accurate computation of binomial probabilities, 2000), so that a
//! million runs cost no digits; the incomplete beta function by its continued fraction (Abramowitz & Stegun, Handbook of
//! mathematical functions, 1964, 26.5.8), by Lentz's method.

use core::f64::consts::PI;

/// `ln (z! / (sqrt (2 pi z) (z / e)^z))`: what Stirling's formula leaves out, for `z` above zero.
fn stirling_error(z: f64) -> f64 {
    if z > 15.0 {
        // Abramowitz & Stegun 6.1.41; the next term is below 2e-16 here.
        let w = 1.0 / (z * z);
        return (1.0 / 12.0 - w * (1.0 / 360.0 - w * (1.0 / 1260.0 - w * (1.0 / 1680.0 - w * (1.0 / 1188.0))))) / z;
    }
    libm::lgamma(z + 1.0) - 0.5 * libm::log(2.0 * PI * z) - z * libm::log(z) + z
}

/// `x ln (x / m) + m - x`, without loss where `x` is near `m`.
fn deviance(x: f64, m: f64) -> f64 {
    if (x - m).abs() < 0.1 * (x + m) {
        let v = (x - m) / (x + m);
        let mut sum = (x - m) * v;
        let mut power = 2.0 * x * v;
        for odd in 1..1000 {
            power *= v * v;
            let next = sum + power / f64::from(2 * odd + 1);
            if next == sum {
                break;
            }
            sum = next;
        }
        return sum;
    }
    x * libm::log(x / m) + m - x
}

/// `ln` of the chance that of `x + rest` so many do and do not, by the chance of each; also for parts of a time.
fn ln_binomial(x: f64, rest: f64, p: f64, q: f64) -> f64 {
    let n = x + rest;
    if x == 0.0 {
        return if p < 0.5 { n * libm::log1p(-p) } else { n * libm::log(q) };
    }
    if rest == 0.0 {
        return if q < 0.5 { n * libm::log1p(-q) } else { n * libm::log(p) };
    }
    if p == 0.0 || q == 0.0 {
        return f64::NEG_INFINITY;
    }
    stirling_error(n) - stirling_error(x) - stirling_error(rest) - deviance(x, n * p) - deviance(rest, n * q)
        + 0.5 * libm::log(n / (2.0 * PI * x * rest))
}

/// Shares of the beta distribution of `a` and `b`, both above zero, below and above `x`.
pub(super) fn tails(a: f64, b: f64, x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if x >= 1.0 {
        return (1.0, 0.0);
    }
    let y = 1.0 - x;
    // x^a y^b / B(a, b)
    let front = libm::exp(ln_binomial(a, b, x, y)) * (a / (a + b)) * b;
    if x < (a + 1.0) / (a + b + 2.0) {
        let below = front * fraction(a, b, x) / a;
        (below, 1.0 - below)
    } else {
        let above = front * fraction(b, a, y) / b;
        (1.0 - above, above)
    }
}

/// The continued fraction.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    /// It takes the order of the root of `a` or `b`.
    const MOST_TERMS: u32 = 200_000;
    let off_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let (mut c, mut d) = (1.0, 1.0 / off_zero(1.0 - (a + b) * x / (a + 1.0)));
    let mut product = d;
    for term in 1..MOST_TERMS {
        let m = f64::from(term);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / off_zero(1.0 + even * d);
        c = off_zero(1.0 + even / c);
        product *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / off_zero(1.0 + odd * d);
        c = off_zero(1.0 + odd / c);
        let step = d * c;
        product *= step;
        if (step - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    product
}

/// Which share of a distribution is meant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tail {
    Below,
    Above,
}

/// The `x` with that share of the beta distribution of `a` and `b` below or above it.
pub(super) fn quantile(a: f64, b: f64, tail: Tail, share: f64) -> f64 {
    let beyond = |x: f64| match (tail, tails(a, b, x)) {
        (Tail::Below, (below, _)) => below - share,
        (Tail::Above, (_, above)) => share - above,
    };
    let slope = |x: f64| libm::exp(ln_binomial(a, b, x, 1.0 - x)) * (a / (a + b)) * b / (x * (1.0 - x));
    root(0.0, 1.0, a / (a + b), beyond, slope)
}

/// Where a rising function is zero, by Newton's steps that are kept between bounds known to enclose it.
pub(super) fn root(low: f64, high: f64, start: f64, value: impl Fn(f64) -> f64, slope: impl Fn(f64) -> f64) -> f64 {
    /// Halving alone would take as many as there are numbers to halve; Newton takes far fewer.
    const MOST_STEPS: u32 = 2000;
    let (mut low, mut high, mut x) = (low, high, start);
    for _ in 0..MOST_STEPS {
        let here = value(x);
        if here == 0.0 {
            return x;
        }
        if here < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - here / slope(x);
        // Outside, or no number: halve.
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= f64::EPSILON * x.abs() || next == low || next == high {
            return next;
        }
        x = next;
    }
    x
}

/// Within how many standard errors a Student variable with `free` degrees of freedom stays but for a share of `misses`.
pub(super) fn student(free: f64, misses: f64) -> f64 {
    // P(|T| > t) is the beta distribution of free / 2 and 1 / 2 below x = free / (free + t²). The smaller of x and 1 - x is
    // sought.
    let x = quantile(0.5 * free, 0.5, Tail::Below, misses);
    let ratio = if x <= 0.5 {
        (1.0 - x) / x
    } else {
        let y = quantile(0.5, 0.5 * free, Tail::Above, misses);
        y / (1.0 - y)
    };
    (free * ratio).sqrt()
}
