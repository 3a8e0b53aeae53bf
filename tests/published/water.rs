//! Properties of water against IAPWS-95 and against single standard values.

use springhouse_core::water::{Water, density_kg_m3, specific_heat_j_kg_k, vapour_pressure_kpa, viscosity_pa_s};

use crate::table::Table;

/// IAPWS-95 with the IAPWS 2008 viscosity at 101.325 kPa; made by `t01_water_properties.py`, libraries on its first line.
const TABLE: &str = include_str!("../data/01_water_properties.csv");

/// Checks one property against a column of the table; the tolerance is relative.
fn against_iapws(column: &str, scale: f64, tolerance: f64, property: impl Fn(f64) -> f64) {
    let table = Table::read(TABLE);
    let mut rows = 0;
    for row in table.rows() {
        let (temp_c, expected) = (row.number("T_C"), scale * row.number(column));
        let found = property(temp_c);
        let error = found / expected - 1.0;
        assert!(error.abs() < tolerance, "{column} at {temp_c} °C: {found}, off by {error:e}");
        rows += 1;
    }
    assert_eq!(rows, 25, "rows from 0.01 to 95 °C");
}

#[test]
fn external_density() {
    // Kell's formula is on the temperature scale of 1968, which reads 0.025 K higher at 95 °C, where density falls by
    // 0.7 kg/m³ K: 0.017 kg/m³. Its greatest density is 0.003 kg/m³ lower than that of IAPWS-95.
    against_iapws("rho_kg_m3_iapws95", 1.0, 2e-5, density_kg_m3);
    against_iapws("rho_kg_m3_iapws95", 1.0, 2e-5, |temp_c| Water::at(temp_c).density_kg_m3);
}

#[test]
fn external_viscosity() {
    // The short formula of SR6-08 is a fit to the full one, which is itself good to 1 %: the fit must not add to that.
    against_iapws("mu_Pa_s_iapws95", 1.0, 1e-4, viscosity_pa_s);
    against_iapws("mu_Pa_s_iapws95", 1.0, 1e-4, |temp_c| Water::at(temp_c).viscosity_pa_s);
}

#[test]
fn external_specific_heat() {
    // SR6-08 is a fit to IAPWS-95, which is itself good to 0.1 %.
    against_iapws("cp_J_kgK_iapws95", 1.0, 1e-4, specific_heat_j_kg_k);
}

#[test]
fn external_vapour_pressure() {
    // Wagner & Pruss state 0.025 %; IAPWS-95 solves for equal Gibbs energy instead.
    against_iapws("psat_Pa_iapws95", 1e-3, 1e-4, vapour_pressure_kpa);
}

#[test]
fn external_single_values() {
    // M. Tanaka et al., Metrologia 38 (2001) 301, recommended by the CIPM: 998.2067 kg/m³ at 20 °C. Value from memory.
    // Tolerance as for the table: Kell is on an older temperature scale and reference.
    assert!((density_kg_m3(20.0) - 998.206_7).abs() < 0.02);
    // ISO/TR 3666:1998: 1.0016 mPa s at 20 °C, known to 0.17 %. Value from memory.
    assert!((viscosity_pa_s(20.0) / 1.001_6e-3 - 1.0).abs() < 1.7e-3);
    // IAPWS SR1-86(1992), table 1: 611.657 Pa at the triple point, 0.01 °C. Value from memory; half of its last digit.
    assert!((vapour_pressure_kpa(0.01) - 0.611_657).abs() < 5e-7);
}

#[test]
fn external_water_is_densest_at_4_degrees() {
    // 3.98 °C (Tanaka 2001: 3.983 °C). Value from memory. Density is flat there: 2e-6 kg/m³ over a tenth of a degree.
    let densest = (0..=1_000).max_by(|a, b| {
        let density = |i: i32| density_kg_m3(f64::from(i) * 0.01);
        density(*a).total_cmp(&density(*b))
    });
    assert!(densest.is_some_and(|i| (394..=402).contains(&i)), "densest at {densest:?} hundredths of a degree");
}
