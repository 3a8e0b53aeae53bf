//! A well-mixed store: how its concentration moves while water flows in and out.
//!
//! `V dc/dt = Q_in (c_in - c)` with `dV/dt = Q_in - Q_out` has, at steady flows, the solution
//! `c = c_in + (c_0 - c_in) (V_0 / V)^(Q_in / (Q_in - Q_out))`. It holds as the volume goes to zero. See `docs/physics.md`.

/// Part of the first concentration's distance from that of the inflow which is left, when `in_l` has come in and the volume
/// has gone from `from_l` to `to_l` at steady flows. Between 0 and 1.
#[must_use]
pub fn remaining(from_l: f64, to_l: f64, in_l: f64) -> f64 {
    if in_l <= 0.0 {
        return 1.0;
    }
    if from_l <= 0.0 || to_l <= 0.0 {
        return 0.0;
    }
    // The exponent is in_l ln(to / from) / (to - from): an inflow over the logarithmic mean of the volume.
    let growth = (to_l - from_l) / from_l;
    let log_over_growth = if growth.abs() < 1e-8 { 1.0 - 0.5 * growth } else { libm::log1p(growth) / growth };
    libm::exp(-in_l / from_l * log_over_growth)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits() {
        // Nothing comes in: nothing changes. Nothing was there, or nothing is left: all is as what comes in.
        assert_eq!(remaining(100.0, 40.0, 0.0), 1.0);
        assert_eq!(remaining(100.0, 100.0, 0.0), 1.0);
        assert_eq!(remaining(0.0, 50.0, 50.0), 0.0);
        assert_eq!(remaining(50.0, 0.0, 10.0), 0.0);
        assert_eq!(remaining(0.0, 0.0, 10.0), 0.0);
        assert!(remaining(50.0, 1e-12, 10.0) < 1e-2 && remaining(1e-12, 50.0, 60.0) < 1e-12);
    }

    #[test]
    fn exact_filling_dilutes_by_the_volumes() {
        // Nothing leaves: what was there is diluted to V0 / V.
        for (from_l, to_l) in [(1.0, 1.0 + 1e-9), (1.0, 2.0), (1e-6, 1e4), (300.0, 300.000_1)] {
            let (found, expected) = (remaining(from_l, to_l, to_l - from_l), from_l / to_l);
            // The difference of the volumes is itself rounded.
            assert!((found / expected - 1.0).abs() < 1e-14, "{found} for {expected}");
        }
    }

    #[test]
    fn exact_power_law_of_the_volumes() {
        // (V0 / V)^(Q_in / (Q_in - Q_out)) for a store that rises, falls, or nearly stays.
        for (from_l, to_l, in_l) in
            [(100.0, 150.0, 80.0), (150.0, 100.0, 30.0), (100.0, 1e-3, 25.0), (100.0, 101.0, 40.0)]
        {
            let (found, expected) = (remaining(from_l, to_l, in_l), libm::pow(from_l / to_l, in_l / (to_l - from_l)));
            // The rounding of the change of volume grows by V0 / V in the logarithm: that of a store next to empty.
            let rounding = 1e-14 + 2e-16 * from_l / to_l;
            assert!((found / expected - 1.0).abs() < rounding, "{found} for {expected}");
        }
        // At a steady volume it is an exponential.
        let found = remaining(100.0, 100.0, 70.0);
        assert!((found - libm::exp(-0.7)).abs() < 1e-15, "{found}");
    }

    #[test]
    fn exact_parts_of_a_piece_make_the_whole() {
        // 100 L that gain a third of a litre with each litre that comes in, in one piece and in eight.
        for gain in [-0.9, -0.3, 0.0, 1e-12, 0.4, 1.0] {
            let volume_l = |in_l: f64| 100.0 + gain * in_l;
            let mut product = 1.0;
            for i in 0..8 {
                let (from, to) = (10.0 * f64::from(i), 10.0 * f64::from(i + 1));
                product *= remaining(volume_l(from), volume_l(to), 10.0);
            }
            let whole = remaining(volume_l(0.0), volume_l(80.0), 80.0);
            assert!((product / whole - 1.0).abs() < 1e-13, "{product} for {whole} at {gain}");
        }
    }

    #[test]
    fn series_joins_the_logarithm() {
        let at = |growth: f64| remaining(1.0, 1.0 + growth, 0.5);
        assert!((at(0.99e-8) - at(1.01e-8)).abs() < 1e-9);
        assert!((at(-0.99e-8) - at(-1.01e-8)).abs() < 1e-9);
    }
}
