//! Ultraviolet dose against published factors and rules.

use springhouse_core::incident::Outside;
use springhouse_core::outlet::Header;
use springhouse_core::quality::{Quality, absorbance_per_cm};
use springhouse_core::supply::{Source, Supply};
use springhouse_core::town_line::TownLine;
use springhouse_core::treatment::{Stage, StageKind};
use springhouse_core::ultraviolet::{Ultraviolet, depth_average};
use springhouse_tests::plants::{direct, draw, tank};

use crate::runs::report;
use crate::units::GPM_LPS;

/// A unit of 12 gpm at the dose of class A of NSF/ANSI 55, 40 mJ/cm² (Water Conditioning & Purification, June 2002), whose
/// lamp has the 70 % of its light left that a lamp has after a year (a private-water-supply authority's page).
fn unit() -> (f64, Ultraviolet) {
    let unit = Ultraviolet {
        rated_mj_cm2: 40.0,
        rated_transmittance: 0.75,
        path_cm: 2.0,
        limit_mj_cm2: 40.0,
        start_h: 8_760.0,
        life_h: 8_760.0,
        end_share: 0.7,
        power_w: 40.0,
    };
    (12.0 * GPM_LPS, unit)
}

#[test]
fn external_depth_average() {
    // Mean light over 2 cm of water as a share of that at its surface, (1 - 10^-aL) / (2.303 aL): the water factor of
    // J. R. Bolton & K. G. Linden, J. Environ. Eng. 129 (2003) 209. Values from memory, worked out again from the formula;
    // half of the last digit.
    for (transmittance, expected) in [(0.95, 0.950), (0.85, 0.854), (0.75, 0.760)] {
        let found = depth_average(absorbance_per_cm(transmittance), 2.0);
        assert!((found - expected).abs() < 5e-4, "{found} at {transmittance}");
    }
}

#[test]
fn external_half_the_flow_is_twice_the_dose() {
    // Dose is intensity times contact time, so a unit of 12 gpm gives twice its dose at 6 gpm (common to makers' sheets).
    let (rated_lps, unit) = unit();
    let absorbance = absorbance_per_cm(0.75);
    let dose = |gpm: f64| unit.dose_mj_cm2(gpm * GPM_LPS, rated_lps, absorbance, unit.life_h);
    // A few roundings.
    assert!((dose(12.0) / 40.0 - 1.0).abs() < 1e-14 && (dose(6.0) / 80.0 - 1.0).abs() < 1e-14, "{}", dose(6.0));
    // A new lamp gives 1 / 0.7 of what one of a year does.
    let new = unit.dose_mj_cm2(rated_lps, rated_lps, absorbance, 0.0);
    assert!((new * 0.7 / 40.0 - 1.0).abs() < 1e-14, "{new}");
}

/// The engine counts water with less than the least dose: none a thousandth below the rated flow, all a thousandth above.
#[test]
fn exact_water_under_the_least_dose() {
    let (rated_lps, mut unit) = unit();
    // The lamp keeps its light, so that the dose at the rated flow stays 40 through the run.
    unit.end_share = 1.0;
    let stage = Stage {
        name: "lamp".into(),
        kind: StageKind::Ultraviolet(unit),
        header: Header::Raw,
        rated_lps,
        clean_kpa: 10.0,
        limit_kpa: 10.0,
        catch: None,
        backwash: None,
    };
    let source = Source::TownLine(TownLine::new(400.0, (1.0, 350.0)));
    let quality = Quality { transmittance: 0.75, ..Quality::PURE };
    let mut parts =
        direct(Supply { name: "main".into(), source, quality, temp_c: 12.0, standby: false }, tank(1.0, 1.0, 1.0));
    parts.pressure_tank = None;
    parts.stages = vec![stage];
    for (share, under) in [(0.999, 0.0), (1.001, 1.0)] {
        let flow_lps = share * rated_lps;
        let found = report(parts.clone(), &Outside::default(), vec![draw(0.0, 600.0, flow_lps)], 700.0).stages[0];
        // Flows are whole nanolitres a second.
        assert!((found.treated_l - 600.0 * flow_lps).abs() < 1e-6, "{} L", found.treated_l);
        assert!((found.under_l - under * found.treated_l).abs() < 1e-9, "{} L at {share}", found.under_l);
    }
}
