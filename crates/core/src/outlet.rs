//! What takes water: a building's fixtures, or a load on the raw header.
//!
//! An outlet set to a flow passes all of it while the pressure at it is at least `full_flow_kpa`, and
//! `Q_set sqrt(p / p_full)` below: a fixed opening under falling pressure (the orifice law, see `docs/physics.md`).

use serde::{Deserialize, Serialize};

use crate::pipe::Pipe;
use crate::water::Water;

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
    /// Wash water of a stage of treatment, taken ahead of everything else.
    Backwash,
    /// Water that nobody wants: a burst pipe, a hose left running.
    Leak,
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
    /// Whether it hangs behind the treatment of that header's line, or ahead of it as a side tap.
    pub treated: bool,
    /// Pressure at the fixtures from which they pass the flow they are set to.
    pub full_flow_kpa: f64,
    /// Height of the fixtures above the header's gauge.
    pub rise_m: f64,
    /// Pressure that a backflow device takes at any flow.
    pub device_kpa: f64,
    /// The pipe between line and fixtures; `None` costs no pressure.
    pub service: Option<Pipe>,
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

/// [`open_share`] and its slope over the pressure.
pub(crate) fn open_share_and_slope(pressure_kpa: f64, full_flow_kpa: f64) -> (f64, f64) {
    let x = pressure_kpa / full_flow_kpa;
    if x >= 1.0 {
        (1.0, 0.0)
    } else if x > SMALL {
        let share = x.sqrt();
        (share, 0.5 / (share * full_flow_kpa))
    } else if x > 0.0 {
        let y = x / SMALL;
        (SMALL.sqrt() * y * (1.5 - 0.5 * y), (1.5 - y) / (SMALL.sqrt() * full_flow_kpa))
    } else {
        (0.0, 0.0)
    }
}

/// Below this share of its wanted flow an outlet counts as run out: a shower that drips is no shower.
pub const RUN_OUT_SHARE: f64 = 0.5;

impl Outlet {
    /// An outlet at the header's height, without a device or a pipe of its own.
    #[must_use]
    pub fn plain(name: &str, role: Role, header: Header, full_flow_kpa: f64) -> Self {
        let treated = role == Role::Building;
        Self { name: name.into(), role, header, treated, full_flow_kpa, rise_m: 0.0, device_kpa: 0.0, service: None }
    }

    /// Pressure at the line that stands still against height and device.
    #[must_use]
    pub fn offset_kpa(&self, water: &Water) -> f64 {
        water.pressure_kpa(self.rise_m) + self.device_kpa
    }

    /// Pressure lost in the service pipe at a flow.
    #[must_use]
    pub fn service_loss_kpa(&self, flow_lps: f64, water: &Water) -> f64 {
        self.service.as_ref().map_or(0.0, |pipe| water.pressure_kpa(pipe.loss_m(flow_lps, water)))
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

    #[test]
    fn exact_slope_of_the_share() {
        let step_kpa = 1e-4;
        for kpa in [-1.0, 0.1, 0.3, 0.5, 40.0, 149.0, 151.0] {
            let [before, after] = [-step_kpa, step_kpa].map(|d| open_share(kpa + d, 150.0));
            let (share, slope) = open_share_and_slope(kpa, 150.0);
            assert_eq!(share, open_share(kpa, 150.0));
            assert!((slope - 0.5 * (after - before) / step_kpa).abs() < 1e-6 * slope + 1e-12, "{slope} at {kpa} kPa");
        }
    }
}
