//! Pumps against published examples of power and of the affinity laws.

use springhouse_core::pump::{PumpCurve, PumpPower, hydraulic_power_w};
use springhouse_core::water::Water;

use crate::units::{FT_M, GPM_LPS, HP_W};

#[test]
fn external_hydraulic_power() {
    // Q H / 3960 hp, in gpm and feet: 10 gpm against 200 ft is 0.505 hp, 377 W. Half of the last digit; 3960 stands for
    // 8.333 lb/gal, as at 60 °F.
    let power_w = hydraulic_power_w(10.0 * GPM_LPS, 200.0 * FT_M, Water::at(15.6).density_kg_m3);
    assert!((power_w / HP_W - 0.505).abs() < 5e-4, "{power_w} W");
    assert!((power_w - 377.0).abs() < 0.5, "{power_w} W");
}

/// Curves through 800 gpm at 192 ft: from two points a parabola, from more a smooth curve.
#[expect(clippy::unwrap_used, reason = "the points below make a curve")]
fn curves() -> [PumpCurve; 2] {
    let point = |gpm: f64, ft: f64| (gpm * GPM_LPS, ft * FT_M);
    let (none, middle, full) = (point(0.0, 250.0), point(500.0, 235.0), point(800.0, 192.0));
    [
        PumpCurve::through(&[none, full]).unwrap(),
        PumpCurve::through(&[none, middle, full, point(1_000.0, 140.0)]).unwrap(),
    ]
}

#[test]
fn external_affinity_example() {
    // DOE-HDBK-1012/3-92, HT-03, page 50: from 1800 to 3600 rpm, 400 gpm becomes 800 gpm (read there), 48 ft becomes
    // 192 ft and 45 kW becomes 360 kW (worked out from its laws).
    let density_kg_m3 = 1_000.0;
    let (full_lps, full_m) = (800.0 * GPM_LPS, 192.0 * FT_M);
    for curve in curves() {
        let speed = curve.speed_for(400.0 * GPM_LPS, 48.0 * FT_M);
        // A few roundings, and those of a smooth curve's search.
        assert!((speed - 1_800.0 / 3_600.0).abs() < 1e-12, "{speed}");
        for best_flow_lps in [0.7 * full_lps, full_lps, 1.6 * full_lps] {
            // Scaled so that full speed takes 360 kW: only the scaling is judged.
            let unscaled = PumpPower::Efficiency { best_flow_lps, best_efficiency: 1.0 };
            let best_efficiency = unscaled.power_w(full_lps, full_m, 1.0, density_kg_m3) / 360e3;
            let power = PumpPower::Efficiency { best_flow_lps, best_efficiency };
            let half_w = power.power_w(400.0 * GPM_LPS, 48.0 * FT_M, speed, density_kg_m3);
            assert!((half_w / 45e3 - 1.0).abs() < 1e-11, "{half_w} W");
        }
    }
}

#[test]
fn external_ten_percent_more_speed_is_a_fifth_more_head() {
    // Common to handbooks on pumps: 10 % more speed, 21 % more head.
    for curve in curves() {
        for flow_gpm in [0.0, 400.0] {
            let head_m = curve.head_m(flow_gpm * GPM_LPS);
            let speed = curve.speed_for(1.1 * flow_gpm * GPM_LPS, 1.21 * head_m);
            assert!((speed - 1.1).abs() < 1e-12, "{speed} at {flow_gpm} gpm");
        }
    }
}
