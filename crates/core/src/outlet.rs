//! What takes water: a building's fixtures, or a load on the raw header.
//!
//! An outlet set to a flow passes all of it while the pressure at it is at least `full_flow_kpa`, and
//! `Q_set sqrt(p / p_full)` below: a fixed opening under falling pressure (the orifice law, see `docs/physics.md`).

use serde::{Deserialize, Serialize};

/// Which header an outlet hangs on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Header {
    /// The well pump's side, with its pressure tank.
    Raw,
    /// Behind the delivery pump.
    Delivery,
}

/// What an outlet is to the reader of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Role {
    /// A building with its fixtures.
    Building,
    /// Water taken ahead of everything else: irrigation, stock trough.
    RawLoad,
}

/// A building, or a load on the raw header.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outlet {
    /// The name draws call it by.
    pub name: String,
    /// What it is.
    pub role: Role,
    /// Where it takes its water.
    pub header: Header,
    /// Pressure from which its fixtures pass the flow they are set to.
    pub full_flow_kpa: f64,
}

/// Below this share of `p_full` the square root is replaced by a parabola that meets it with equal value and slope at
/// the join and is zero at zero: a square root has an infinite slope at zero, and real outlets pass nothing there.
const SMALL: f64 = 0.002_5;

/// Share of its set flow that an outlet passes at a gauge pressure: `min(1, sqrt(p / p_full))`, zero below zero.
#[must_use]
pub fn open_share(pressure_kpa: f64, full_flow_kpa: f64) -> f64 {
    let x = pressure_kpa / full_flow_kpa;
    if x >= 1.0 {
        1.0
    } else if x > SMALL {
        x.sqrt()
    } else if x > 0.0 {
        let y = x / SMALL;
        SMALL.sqrt() * y * (1.5 - 0.5 * y)
    } else {
        0.0
    }
}

/// Below this share of its wanted flow an outlet counts as run out: a shower that drips is no shower.
pub const RUN_OUT_SHARE: f64 = 0.5;

impl Outlet {
    /// Pressure at which the outlet passes [`RUN_OUT_SHARE`] of what is wanted.
    #[must_use]
    pub fn run_out_kpa(&self) -> f64 {
        RUN_OUT_SHARE * RUN_OUT_SHARE * self.full_flow_kpa
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn share_is_continuous_and_rises() {
        let mut last = 0.0;
        for i in 0..=20_000 {
            let share = open_share(f64::from(i) * 0.01, 150.0);
            assert!(share >= last && share - last < 0.01, "step at {i}");
            last = share;
        }
        assert_eq!(last, 1.0);
        assert_eq!(open_share(-5.0, 150.0), 0.0);
        assert!((open_share(37.5, 150.0) - 0.5).abs() < 1e-15);
    }
}
