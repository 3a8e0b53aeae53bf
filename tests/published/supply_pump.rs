//! A supply's pump at another speed, against the published example of the affinity laws.

use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::supply::Control;
use springhouse_core::water::Water;

use crate::units::{FT_M, GPM_LPS};

/// DOE-HDBK-1012/3-92, HT-03, page 50: from 1800 to 3600 rpm, 400 gpm becomes 800 gpm (read there), 48 ft becomes 192 ft and
/// 45 kW becomes 360 kW (worked out from its laws). Head is all lift here, so that the tank gauge shows nothing.
#[test]
fn external_affinity_example() {
    let water = Water::at(15.6);
    let point = |gpm: f64, ft: f64| (gpm * GPM_LPS, ft * FT_M);
    let curves = [
        vec![point(0.0, 250.0), point(800.0, 192.0)],
        vec![point(0.0, 250.0), point(500.0, 235.0), point(800.0, 192.0), point(1_000.0, 140.0)],
    ];
    for points in curves {
        let curve = PumpCurve::through(&points).expect("a curve");
        let (full_lps, full_m) = point(800.0, 192.0);
        // Scaled so that full speed takes 360 kW: only the scaling is judged.
        let unscaled = PumpPower::Efficiency { best_flow_lps: 0.8 * full_lps, best_efficiency: 1.0 };
        let best_efficiency = unscaled.power_w(full_lps, full_m, 1.0, water.density_kg_m3) / 360e3;
        let power = PumpPower::Efficiency { best_flow_lps: 0.8 * full_lps, best_efficiency };
        let control = Control::Switch { cut_in_kpa: 200.0, cut_out_kpa: 300.0 };
        let pump = SupplyPump::new(curve, None, &water, power, 0.0, control);
        let close = |found: f64, expected: f64| {
            // Roundings, and those of a smooth curve's search.
            assert!((found / expected - 1.0).abs() < 1e-11, "{found} for {expected}");
        };
        close(pump.flow_lps(1.0, 192.0 * FT_M, 0.0, &water), 800.0 * GPM_LPS);
        close(pump.flow_lps(0.5, 48.0 * FT_M, 0.0, &water), 400.0 * GPM_LPS);
        close(pump.power_w(1.0, 800.0 * GPM_LPS, &water), 360e3);
        // A drive turns a sound pump at half speed for it: an eighth of the power.
        close(pump.hold_power_w(1.0, 400.0 * GPM_LPS, 48.0 * FT_M, 0.0, &water), 45e3);
        // A pump worn to that turns at full speed for it, and takes all the power.
        close(pump.power_w(0.5, 400.0 * GPM_LPS, &water), 360e3);
        close(pump.hold_power_w(0.5, 400.0 * GPM_LPS, 48.0 * FT_M, 0.0, &water), 360e3);
    }
}
