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
