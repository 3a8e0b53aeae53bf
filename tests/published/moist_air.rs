//! Moist air and a cold coil, against two libraries.

use springhouse_core::moist_air::MoistAir;

use crate::table::Table;

/// 64 airs at 101.325 kPa; made by `t07_psychrometrics.py`.
const AIRS: &str = include_str!("../data/07_psychrometrics.csv");
/// Seven coils; made by the same.
const COILS: &str = include_str!("../data/07_coil_split.csv");

const PRESSURE_KPA: f64 = 101.325;

#[test]
fn external_airs_by_the_same_equations() {
    // Nine digits in the table; its wet bulb is halved down to 0.001 K and its dew point stepped to the same.
    let mut rows = 0;
    for row in Table::read(AIRS).rows() {
        let (temp_c, humidity) = (row.number("T_db_C"), 0.01 * row.number("RH_pct"));
        let air = MoistAir::at(temp_c, humidity, PRESSURE_KPA);
        let near = |what: &str, found: f64, least: f64, share: f64| {
            let expected = row.number(what);
            let allowed = least + share * expected.abs();
            assert!((found - expected).abs() <= allowed, "{temp_c} °C, {humidity}, {what}: {found} for {expected}");
        };
        near("W_kg_kg", air.humidity_kg_kg, 0.0, 6e-9);
        near("h_kJ_kgda", 1e-3 * air.enthalpy_j_kg(), 0.0, 6e-9);
        near("v_m3_kgda", air.volume_m3_kg(), 0.0, 6e-9);
        near("pv_Pa", 1e3 * air.vapour_kpa(), 0.0, 6e-9);
        near("T_wb_C", air.wet_bulb_c(), 1e-3, 0.0);
        near("T_dp_C", air.dew_point_c(), 1e-3, 0.0);
        assert!((air.relative_humidity() - humidity).abs() < 1e-14);
        rows += 1;
    }
    assert_eq!(rows, 64);
}

#[test]
fn external_airs_as_real_gases() {
    // The other library has a real gas (ASHRAE RP-1485), whose vapour is 0.4 to 0.5 % denser at saturation (enhancement
    // factor; value from memory). That is at most 0.02 K of the wet bulb. The factor changes by 0.1 % between 40 °C and its
    // dew points, and vapour by 6.6 % a kelvin: 0.015 K of the dew point.
    for row in Table::read(AIRS).rows() {
        let air = MoistAir::at(row.number("T_db_C"), 0.01 * row.number("RH_pct"), PRESSURE_KPA);
        let over = row.number("W_coolprop") / air.humidity_kg_kg - 1.0;
        assert!((0.003..0.006).contains(&over), "{air:?}: {over}");
        assert!((row.number("T_wb_coolprop_C") - air.wet_bulb_c()).abs() < 0.021, "{air:?}");
        assert!((row.number("T_dp_coolprop_C") - air.dew_point_c()).abs() < 0.015, "{air:?}");
    }
}

#[test]
fn external_coils() {
    // The table has nine digits, and heats are differences of enthalpies ten times as large.
    let mut rows = 0;
    for row in Table::read(COILS).rows() {
        let air = MoistAir::at(row.number("T1_C"), 0.01 * row.number("RH1_pct"), PRESSURE_KPA);
        let cooled = air.cooled(row.number("Q_total_W"), row.number("V_m3_s") / air.volume_m3_kg());
        let near = |what: &str, found: f64, allowed: f64| {
            assert!((found - row.number(what)).abs() < allowed, "{rows}, {what}: {found} for {}", row.number(what));
        };
        near("T2_C", cooled.leaving.temp_c, 1e-7);
        near("W2", cooled.leaving.humidity_kg_kg, 1e-10);
        near("Q_sensible_W", cooled.sensible_w, 3e-5);
        near("Q_latent_W", cooled.latent_w, 3e-5);
        near("condensate_kg_h", 3_600.0 * cooled.condensate_kg_s, 1e-7);
        rows += 1;
    }
    assert_eq!(rows, 7);
}
