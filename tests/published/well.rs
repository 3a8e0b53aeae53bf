//! Wells against published storage examples, and the pump test against its closed form.

use springhouse_core::well::{Response, Well, casing_l_per_m, specific_capacity_from_test};

use crate::units::{FT_M, GAL_L, IN_MM};

#[test]
fn external_casing_storage() {
    // A pump data sheet and several handbooks: d^2 / 24.5 gal per foot, d in inches. Half of the last digit.
    for (diameter_in, expected, half_digit) in [(4.0, 0.65, 0.005), (6.0, 1.47, 0.005), (8.0, 2.6, 0.05)] {
        let found = casing_l_per_m(diameter_in * IN_MM) * FT_M / GAL_L;
        assert!((found - expected).abs() < half_digit, "{found} gal/ft in {diameter_in} in");
    }
    // The Groundwater Project, Domestic Wells, box 1: 18.15 L per metre in 152 mm.
    assert!((casing_l_per_m(152.0) - 18.15).abs() < 0.005);
}

/// The bored well of the examples: 152 mm, water 5 m down, the intake 5 m off the bottom, and a yield in L/min that comes
/// when the water is down to the intake.
fn bored(depth_m: f64, yield_l_min: f64) -> Well {
    let (static_depth_m, pump_depth_m) = (5.0, depth_m - 5.0);
    let response = Response::Drawdown {
        casing_l_per_m: casing_l_per_m(152.0),
        specific_capacity_lps_per_m: yield_l_min / 60.0 / (pump_depth_m - static_depth_m),
        entry_depth_m: pump_depth_m,
    };
    Well { static_depth_m, pump_depth_m, response, cutoff: None, start_drawdown_m: 0.0 }
}

#[test]
fn external_worked_storage_examples() {
    // The Groundwater Project, Domestic Wells, box 1 (first two) and exercise 1: water in the casing above the intake,
    // and that with two hours of the well's yield. Printed to a litre.
    for (depth_m, yield_l_min, stored_l, with_yield_l) in
        [(20.0, 9.0, 181.0, 1_261.0), (40.0, 6.0, 544.0, 1_264.0), (50.0, 2.0, 726.0, 966.0)]
    {
        let well = bored(depth_m, yield_l_min);
        let stored = well.storage_l_per_m() * well.intake_drawdown_m();
        assert!((stored - stored_l).abs() < 0.5, "{stored} L in {depth_m} m");
        let with_yield = stored + well.most_inflow_lps() * 7_200.0;
        assert!((with_yield - with_yield_l).abs() < 0.5, "{with_yield} L in two hours from {depth_m} m");
    }
    // Exercise 1: 2 L/min is 2,880 L a day.
    assert!((bored(50.0, 2.0).most_inflow_lps() * 86_400.0 - 2_880.0).abs() < 0.5);
}

/// Drawdown after a time of pumping from rest: `s = (Q / k) (1 - exp(-k t / A))`.
fn drawdown_m(flow_lps: f64, time_s: f64, k: f64, casing_l_per_m: f64) -> f64 {
    flow_lps / k * -(-k * time_s / casing_l_per_m).exp_m1()
}

#[test]
fn exact_pump_test_inversion() {
    let (mut slowest, mut fastest) = (f64::INFINITY, 0.0_f64);
    for k in [1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1.0, 10.0] {
        for casing in [4.0, 18.15, 130.0] {
            for time_s in [60.0, 1_800.0, 14_400.0, 86_400.0] {
                for flow_lps in [0.01, 0.3, 5.0] {
                    let drawdown = drawdown_m(flow_lps, time_s, k, casing);
                    let found = specific_capacity_from_test(flow_lps, time_s, drawdown, casing).unwrap();
                    // Drawdown is good to a few roundings, 4e-16; in a well hardly moved that grows by 2 A / k t, at most
                    // 4e5 here.
                    assert!((found / k - 1.0).abs() < 1e-9, "k {k}, A {casing}, t {time_s}, Q {flow_lps}: {found}");
                    (slowest, fastest) = (slowest.min(k * time_s / casing), fastest.max(k * time_s / casing));
                }
            }
        }
    }
    // From all water out of the casing to a level long settled.
    assert!(slowest < 1e-5 && fastest > 1e5);
}

#[test]
fn exact_flow_over_drawdown_overstates_a_slow_well_by_half() {
    // Where k t / A = ln 3, the casing gave a third of the water and Q / s is 1.5 k.
    let (casing, time_s, flow_lps) = (18.15, 3_600.0, 0.2);
    let k = casing * 3_f64.ln() / time_s;
    let drawdown = drawdown_m(flow_lps, time_s, k, casing);
    let found = specific_capacity_from_test(flow_lps, time_s, drawdown, casing).unwrap();
    // A few roundings.
    assert!((flow_lps / drawdown / found - 1.5).abs() < 1e-12);
}
