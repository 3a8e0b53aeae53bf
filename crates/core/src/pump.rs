//! A centrifugal pump: head against flow, speed by the affinity laws, and electric power.
//!
//! Two points give `H = H0 - k Q^2`; more points a monotone cubic (Fritsch & Carlson 1980) that continues as that
//! parabola on both sides. Power is `rho g Q H / eta`, with `eta` a parabola of flow about the best point, so that
//! `rho g Q H / eta` has a finite limit at shut-off. See `docs/physics.md`.

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::monotone::Falling;
use crate::pipe::Pipe;
use crate::supply::Control;
use crate::water::{GRAVITY_M_S2, Water};

/// Head against flow at full speed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum PumpCurve {
    /// An ideal pump: the same flow at any head.
    Constant {
        /// Its flow.
        flow_lps: f64,
    },
    /// `H = shutoff_m - loss_m_per_lps2 Q^2`.
    Parabola {
        /// Head at no flow.
        shutoff_m: f64,
        /// Head lost per square of flow.
        loss_m_per_lps2: f64,
    },
    /// A monotone cubic through measured points.
    Smooth(Falling),
}

/// Points that make no pump curve.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum PumpCurveError {
    /// Fewer than two points.
    #[error("a pump curve needs two points or more")]
    TooFewPoints,
    /// Flow must rise and head must fall from one point to the next.
    #[error("point {index} must have more flow and less head than the point before it")]
    NotFalling {
        /// The offending point, counted from zero.
        index: usize,
    },
}

/// Share of the shut-off head within which flow falls to zero in a parabola and not a square root.
const NEAR_SHUTOFF: f64 = 1e-4;

/// Flow against a head from the inverse of a curve, made gentle where it meets shut-off.
///
/// Against `H0 - k Q^2` flow has an infinite slope at shut-off, where a pump that fills a tank comes to rest. The last ten
/// thousandth of the head, a hundredth of the flow, is given a parabola that joins with equal value and slope.
fn flow_near_shutoff(shutoff_m: f64, head_m: f64, inverse: impl Fn(f64) -> f64) -> f64 {
    let (spare_m, join_m) = (shutoff_m - head_m, NEAR_SHUTOFF * shutoff_m);
    if spare_m >= join_m {
        inverse(head_m)
    } else if spare_m > 0.0 {
        let y = spare_m / join_m;
        inverse(shutoff_m - join_m) * y * (1.5 - 0.5 * y)
    } else {
        0.0
    }
}

impl PumpCurve {
    /// The curve through points of flow (L/s) and head (m), in order of rising flow.
    ///
    /// # Errors
    /// With fewer than two points, or where flow does not rise or head does not fall.
    pub fn through(points: &[(f64, f64)]) -> Result<Self, PumpCurveError> {
        if points.len() < 2 {
            return Err(PumpCurveError::TooFewPoints);
        }
        if let Some(i) = points.windows(2).position(|w| w[1].0 <= w[0].0 || w[1].1 >= w[0].1) {
            return Err(PumpCurveError::NotFalling { index: i + 1 });
        }
        let parabola = |(q1, h1): (f64, f64), (q2, h2): (f64, f64)| {
            let loss = (h1 - h2) / (q2 * q2 - q1 * q1);
            (h1 + loss * q1 * q1, loss)
        };
        let (first, last) = (points[0], points[points.len() - 1]);
        let (shutoff_m, loss_m_per_lps2) = parabola(first, points[1]);
        if points.len() == 2 {
            return Ok(Self::Parabola { shutoff_m, loss_m_per_lps2 });
        }
        // Continue to no flow and to no head along the parabolas of the end pairs.
        let mut knots = Vec::with_capacity(points.len() + 2);
        if first.0 > 0.0 {
            knots.push((0.0, shutoff_m));
        }
        knots.extend_from_slice(points);
        let (end_shutoff_m, end_loss) = parabola(points[points.len() - 2], last);
        if last.1 > 0.0 {
            knots.push(((end_shutoff_m / end_loss).sqrt(), 0.0));
        }
        Ok(Self::Smooth(Falling::through(&knots)))
    }

    /// Head at no flow; infinite for an ideal pump.
    #[must_use]
    pub fn shutoff_m(&self) -> f64 {
        match self {
            Self::Constant { .. } => f64::INFINITY,
            Self::Parabola { shutoff_m, .. } => *shutoff_m,
            Self::Smooth(curve) => curve.value(0.0),
        }
    }

    /// Head at a flow; for an ideal pump this is not defined by the pump and is zero.
    #[must_use]
    pub fn head_m(&self, flow_lps: f64) -> f64 {
        match self {
            Self::Constant { .. } => 0.0,
            Self::Parabola { shutoff_m, loss_m_per_lps2 } => shutoff_m - loss_m_per_lps2 * flow_lps * flow_lps,
            Self::Smooth(curve) => curve.value(flow_lps),
        }
    }

    /// Flow against a head; zero at and above shut-off.
    #[must_use]
    pub fn flow_lps(&self, head_m: f64) -> f64 {
        match self {
            Self::Constant { flow_lps } => *flow_lps,
            Self::Parabola { shutoff_m, loss_m_per_lps2 } => {
                flow_near_shutoff(*shutoff_m, head_m, |head_m| ((shutoff_m - head_m) / loss_m_per_lps2).sqrt())
            }
            Self::Smooth(curve) => flow_near_shutoff(curve.value(0.0), head_m, |head_m| curve.inverse(head_m)),
        }
    }

    /// Flow at which `Q H` is largest: the best point where the plate names none.
    ///
    /// On `H0 - k Q^2` this is `sqrt(H0 / 3k)`, at two thirds of the shut-off head.
    #[must_use]
    pub fn strongest_flow_lps(&self) -> f64 {
        match self {
            Self::Constant { flow_lps } => *flow_lps,
            Self::Parabola { shutoff_m, loss_m_per_lps2 } => (shutoff_m / (3.0 * loss_m_per_lps2)).sqrt(),
            Self::Smooth(curve) => {
                const PARTS: u32 = 1_000;
                let end = curve.end();
                (0..=PARTS)
                    .map(|i| end * f64::from(i) / f64::from(PARTS))
                    .max_by(|a, b| (a * curve.value(*a)).total_cmp(&(b * curve.value(*b))))
                    .unwrap_or(0.0)
            }
        }
    }

    /// Speed, as a share of full speed, at which the pump gives `flow_lps` against `head_m`; above 1 it cannot.
    ///
    /// Solves `n^2 H(Q / n) = H_set` (affinity laws). Zero for an ideal pump.
    #[must_use]
    pub fn speed_for(&self, flow_lps: f64, head_m: f64) -> f64 {
        match self {
            Self::Constant { .. } => 0.0,
            Self::Parabola { shutoff_m, loss_m_per_lps2 } => {
                ((head_m + loss_m_per_lps2 * flow_lps * flow_lps) / shutoff_m).max(0.0).sqrt()
            }
            Self::Smooth(curve) => {
                let excess = |n: f64| n * n * curve.value(flow_lps / n) - head_m;
                // Head at a fixed flow rises with speed; beyond twice full speed the caller only needs to know "no".
                let (mut low, mut high) = (flow_lps / curve.end(), 2.0);
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if excess(middle) < 0.0 { low = middle } else { high = middle }
                }
                high
            }
        }
    }
}

/// Electric power of a pump and its motor.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum PumpPower {
    /// The same at any flow: an ideal pump.
    Constant {
        /// Electric power while it runs.
        power_w: f64,
    },
    /// From hydraulic power and a wire-to-water efficiency that peaks at the best point.
    Efficiency {
        /// Flow of the best point at full speed.
        best_flow_lps: f64,
        /// Hydraulic power out over electric power in at the best point.
        best_efficiency: f64,
    },
}

/// Past run-out the efficiency parabola falls to zero; power is held from here on, as a share of the best flow.
const RUN_OUT_FLOW: f64 = 1.5;

/// Hydraulic power `rho g Q H`.
#[must_use]
pub fn hydraulic_power_w(flow_lps: f64, head_m: f64, density_kg_m3: f64) -> f64 {
    density_kg_m3 * GRAVITY_M_S2 * flow_lps * 1e-3 * head_m
}

impl PumpPower {
    /// Electric power at `flow_lps` against `head_m` with the pump turning at `speed` of full speed.
    ///
    /// `rho g Q H / eta` with `eta = eta_best q (2 - q)`, `q = Q / (n Q_best)`, which is
    /// `rho g H n Q_best / (eta_best (2 - q))`: finite at `Q = 0`, and held at `q = 1.5` beyond it.
    #[must_use]
    pub fn power_w(&self, flow_lps: f64, head_m: f64, speed: f64, density_kg_m3: f64) -> f64 {
        match *self {
            Self::Constant { power_w } => power_w,
            Self::Efficiency { best_flow_lps, best_efficiency } => {
                let scaled_best_lps = speed * best_flow_lps;
                if scaled_best_lps <= 0.0 {
                    return 0.0;
                }
                let q = (flow_lps / scaled_best_lps).min(RUN_OUT_FLOW);
                hydraulic_power_w(scaled_best_lps, head_m.max(0.0), density_kg_m3) / (best_efficiency * (2.0 - q))
            }
        }
    }
}

/// A supply's pump: in a well, a cistern or a pond; the pipe up to the pressure tank, and what controls it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SupplyPump {
    curve: PumpCurve,
    /// Head left at the top of the pipe against flow; `None` where the pipe costs nothing.
    net: Option<Falling>,
    /// Its electric power.
    pub power: PumpPower,
    /// Height of the tank gauge above the ground.
    pub gauge_height_m: f64,
    /// What starts and stops it.
    pub control: Control,
}

/// Knots of the table of net head. On it a cubic is within a millimetre of head of the formulas it stands for.
const NET_KNOTS: u32 = 128;

impl SupplyPump {
    /// A pump, its pipe (`None`: without loss), power and control.
    #[must_use]
    pub fn new(
        curve: PumpCurve,
        pipe: Option<&Pipe>,
        water: &Water,
        power: PumpPower,
        gauge_height_m: f64,
        control: Control,
    ) -> Self {
        let net = match (&curve, pipe) {
            (PumpCurve::Constant { .. }, _) | (_, None) => None,
            (_, Some(pipe)) => {
                let net_m = |q: f64| curve.head_m(q) - pipe.loss_m(q, water);
                let (mut low, mut high) = (0.0, curve.flow_lps(0.0));
                for _ in 0..60 {
                    let middle = 0.5 * (low + high);
                    if net_m(middle) > 0.0 { low = middle } else { high = middle }
                }
                let knots: Vec<_> = (0..=NET_KNOTS)
                    .map(|i| high * f64::from(i) / f64::from(NET_KNOTS))
                    .map(|q| (q, net_m(q)))
                    .collect();
                Some(Falling::through(&knots))
            }
        };
        Self { curve, net, power, gauge_height_m, control }
    }

    /// The pump's own curve.
    #[must_use]
    pub fn curve(&self) -> &PumpCurve {
        &self.curve
    }

    /// Head from the water to the tank gauge, its pressure included.
    #[must_use]
    pub fn static_head_m(&self, water_depth_m: f64, pressure_kpa: f64, water: &Water) -> f64 {
        water_depth_m + self.gauge_height_m + water.head_m(pressure_kpa)
    }

    /// Flow at a speed (as a share of full speed) when the water stands `water_depth_m` below ground and the tank gauge shows
    /// `pressure_kpa`.
    ///
    /// `n Q(H / n^2)` by the affinity laws. The pipe's loss is scaled with the square of the flow, from its law at full speed.
    #[must_use]
    pub fn flow_lps(&self, speed: f64, water_depth_m: f64, pressure_kpa: f64, water: &Water) -> f64 {
        let head_m = self.static_head_m(water_depth_m, pressure_kpa, water) / (speed * speed);
        speed
            * match &self.net {
                Some(net) => flow_near_shutoff(net.value(0.0), head_m, |head_m| net.inverse(head_m)),
                None => self.curve.flow_lps(head_m),
            }
    }

    /// Electric power at full speed, with the wear that [`Self::flow_lps`] takes as a speed: the shaft turns as ever.
    #[must_use]
    pub fn power_w(&self, speed: f64, flow_lps: f64, water: &Water) -> f64 {
        let flow_lps = flow_lps / speed;
        self.power.power_w(flow_lps, self.curve.head_m(flow_lps), 1.0, water.density_kg_m3)
    }

    /// Electric power of a drive that turns the pump just so fast that it gives a flow against a pressure, worn to a speed.
    ///
    /// A worn pump takes what a new one does at `Q / n` and `H / n^2`.
    #[must_use]
    pub fn hold_power_w(&self, wear: f64, flow_lps: f64, water_depth_m: f64, pressure_kpa: f64, water: &Water) -> f64 {
        let pipe_m = self.net.as_ref().map_or(0.0, |net| self.curve.head_m(flow_lps) - net.value(flow_lps));
        let head_m = self.static_head_m(water_depth_m, pressure_kpa, water) + pipe_m;
        let speed = self.curve.speed_for(flow_lps, head_m);
        self.power.power_w(flow_lps / wear, head_m / (wear * wear), speed / wear, water.density_kg_m3)
    }
}
