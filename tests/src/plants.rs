//! Small plants, some with closed-form answers. Invented, but for the one that the cycling table was made with.

use springhouse_core::delivery::Delivery;
use springhouse_core::draw::{Draw, DrawKind, Flow};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::{Fault, Parts, Plant, Store};
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpPower, WellPump};
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::time::{Span, Time};
use springhouse_core::water::Water;
use springhouse_core::well::{LowLevelCutoff, Response, Well};

/// Sea level, kPa.
pub const ATMOSPHERE_KPA: f64 = 101.325;

/// A building on a header with full flow from 140 kPa.
#[must_use]
pub fn house(header: Header) -> Outlet {
    Outlet { name: "house".into(), role: Role::Building, header, full_flow_kpa: 140.0 }
}

/// A sound pressure tank.
#[must_use]
pub fn tank(volume_l: f64, precharge_kpa: f64, start_kpa: f64) -> PressureTank {
    PressureTank { volume_l, precharge_kpa, air_share: 1.0, start_kpa, atmospheric_kpa: ATMOSPHERE_KPA }
}

/// `H0 - k Q^2` through a head at no flow and one more point, `(L/s, m)`.
fn curve(shutoff_m: f64, (flow_lps, head_m): (f64, f64)) -> PumpCurve {
    PumpCurve::Parabola { shutoff_m, loss_m_per_lps2: (shutoff_m - head_m) / (flow_lps * flow_lps) }
}

/// Water as in the cycling table: 998.2 kg/m3.
#[must_use]
pub fn water() -> Water {
    Water { density_kg_m3: 998.2, viscosity_pa_s: 1.0016e-3 }
}

/// The plant of the cycling table (`tests/data/hydro.py`): a level well at 25 m, `H = 80 - 43.2 Q^2`, 300 L at 260 kPa,
/// switch 280 to 410 kPa.
#[must_use]
pub fn cycling(start_kpa: f64) -> Parts {
    let curve = curve(80.0, (0.9, 45.0));
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    Parts {
        water: water(),
        well: Well {
            static_depth_m: 25.0,
            pump_depth_m: 60.0,
            response: Response::Ideal,
            cutoff: None,
            start_drawdown_m: 0.0,
        },
        well_pump: WellPump::new(curve, None, &water(), power, 0.0, (280.0, 410.0)),
        pressure_tank: tank(300.0, 260.0, start_kpa),
        store: None,
        outlets: vec![house(Header::Raw)],
    }
}

/// The same with a pump of constant flow and power: everything has a closed form.
#[must_use]
pub fn constant_flow(flow_lps: f64, start_kpa: f64) -> Parts {
    let curve = PumpCurve::Constant { flow_lps };
    let power = PumpPower::Constant { power_w: 900.0 };
    Parts { well_pump: WellPump::new(curve, None, &water(), power, 0.0, (280.0, 410.0)), ..cycling(start_kpa) }
}

/// A slow well with a cut-off that fills storage; the house behind a delivery pump.
#[must_use]
pub fn slow_well(fill: Fill) -> Parts {
    let small = PressureTank { volume_l: 20.0, precharge_kpa: 270.0, ..tank(20.0, 270.0, 380.0) };
    Parts {
        well: Well {
            static_depth_m: 20.0,
            pump_depth_m: 70.0,
            response: Response::Drawdown {
                casing_l_per_m: 18.0,
                specific_capacity_lps_per_m: 0.002,
                entry_depth_m: 62.0,
            },
            cutoff: Some(LowLevelCutoff {
                stop_depth_m: 66.0,
                restart_depth_m: 45.0,
                restart_delay: Span::from_s(1_800.0),
            }),
            start_drawdown_m: 0.0,
        },
        well_pump: WellPump::new(
            curve(140.0, (0.4, 100.0)),
            None,
            &water(),
            PumpPower::Efficiency { best_flow_lps: 0.35, best_efficiency: 0.45 },
            0.0,
            (210.0, 350.0),
        ),
        pressure_tank: tank(200.0, 196.0, 300.0),
        store: Some(Store {
            storage: Storage { capacity_l: 5_000.0, start_l: 4_400.0, fill, protect_l: 250.0, restart_l: 500.0 },
            delivery: Delivery {
                curve: curve(60.0, (1.2, 30.0)),
                power: PumpPower::Efficiency { best_flow_lps: 0.9, best_efficiency: 0.5 },
                set_kpa: 380.0,
                wake_kpa: 310.0,
                sleep_flow_lps: 0.02,
                sleep_delay: Span::from_s(30.0),
                standby_w: 10.0,
                lift_m: 1.0,
                tank: small,
            },
        }),
        outlets: vec![house(Header::Delivery)],
        ..cycling(300.0)
    }
}

/// The float switch of [`slow_well`].
#[must_use]
pub fn float_switch() -> Fill {
    Fill::FloatSwitch { start_l: 3_500.0, stop_l: 4_500.0, flow_lps: 0.3, full_flow_kpa: 100.0 }
}

/// The float valve of [`slow_well`].
#[must_use]
pub fn float_valve() -> Fill {
    Fill::FloatValve { open_l: 4_200.0, shut_l: 4_500.0, flow_lps: 0.3, full_flow_kpa: 100.0 }
}

/// Builds a plant that is known to be sound.
///
/// # Panics
/// Where it is not.
#[must_use]
pub fn build(parts: Parts) -> Plant {
    Plant::try_new(parts).unwrap_or_else(|faults: Vec<Fault>| panic!("the plant is not sound: {faults:?}"))
}

/// A timed draw at the first outlet.
#[must_use]
pub fn draw(start_s: f64, length_s: f64, flow_lps: f64) -> Draw {
    let start = Time::from_s(start_s);
    Draw {
        start,
        end: start + Span::from_s(length_s),
        outlet: 0,
        flow: Flow::from_lps(flow_lps),
        kind: DrawKind::Timed,
    }
}

/// Timed draws that add up to a piecewise constant flow: `(start in s, L/s)`, the last until `end_s`.
#[must_use]
pub fn steps(schedule: &[(f64, f64)], end_s: f64) -> Vec<Draw> {
    let ends = schedule.iter().skip(1).map(|(start, _)| *start).chain([end_s]);
    schedule
        .iter()
        .zip(ends)
        .filter(|((_, flow_lps), _)| *flow_lps > 0.0)
        .map(|((start, flow_lps), end)| draw(*start, end - start, *flow_lps))
        .collect()
}
