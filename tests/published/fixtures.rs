//! Fixtures under falling pressure against federal limits, and how well an orifice stands for a pipe with a fixture.

use springhouse_core::incident::Outside;
use springhouse_core::outlet::open_share;
use springhouse_core::pipe::{Pipe, TURBULENT_RE};
use springhouse_core::plant::Parts;
use springhouse_core::quality::Quality;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::town_line::TownLine;
use springhouse_tests::plants::{direct, draw, tank, water};

use crate::runs::report;
use crate::units::{GPM_LPS, PSI_KPA};

/// A house on a main of constant pressure, with one fixture that has its full flow from `full_psi`.
fn on_main(static_kpa: f64, full_psi: f64) -> Parts {
    // A main that loses next to nothing: at these flows, less than a ten thousandth of its pressure.
    let source = Source::TownLine(TownLine::new(static_kpa, (1.0, static_kpa - 1e-3)));
    let main = Supply { name: "main".into(), source, quality: Quality::PURE, temp_c: 12.0, standby: false };
    let mut parts = direct(main, tank(1.0, 1.0, 1.0));
    parts.pressure_tank = None;
    parts.outlets[0].full_flow_kpa = full_psi * PSI_KPA;
    parts
}

/// Flow in gpm of a fixture that passes `most_gpm` at `full_psi`, at another pressure, through the engine.
fn passes_gpm((most_gpm, full_psi): (f64, f64), psi: f64) -> f64 {
    let draws = vec![draw(0.0, 600.0, most_gpm * GPM_LPS)];
    let report = report(on_main(psi * PSI_KPA, full_psi), &Outside::default(), draws, 600.0);
    report.totals.outlets[0].delivered_l / 600.0 / GPM_LPS
}

#[test]
fn external_federal_fixture_limits() {
    // 10 CFR 430.32: a showerhead passes at most 2.5 gpm at 80 psi, a faucet 2.2 gpm at 60 psi. A fixture right at its limit
    // passes, as an orifice, Q sqrt(p / p_full) below. Worked out by hand to four digits; half of the last.
    for (limit, psi, expected) in [
        ((2.5, 80.0), 80.0, 2.5),
        ((2.5, 80.0), 45.0, 1.875),
        ((2.5, 80.0), 20.0, 1.25),
        ((2.2, 60.0), 60.0, 2.2),
        ((2.2, 60.0), 40.0, 1.796),
        ((2.2, 60.0), 15.0, 1.1),
        // More pressure than the limit's gives no more: people and flow regulators keep it there.
        ((2.2, 60.0), 75.0, 2.2),
    ] {
        let found = passes_gpm(limit, psi);
        assert!((found - expected).abs() < 5e-4, "{found} gpm at {psi} psi from {limit:?}");
    }
}

#[test]
fn external_lavatory_faucet_at_low_pressure() {
    // WaterSense high-efficiency lavatory faucet: at most 1.5 gpm at 60 psi, at least 0.8 gpm at 20 psi (the least a value
    // from memory). Two limits at two pressures say how steep a faucet's law may be: an orifice right at the upper one passes
    // 0.87 gpm at 20 psi and keeps the lower one, where flow in proportion to pressure (0.5 gpm) would not. It does not
    // say more: a faucet with a regulator passes more at 20 psi than the law, so for those the law is on the safe side.
    let found = passes_gpm((1.5, 60.0), 20.0);
    assert!((found - 0.866).abs() < 5e-4, "{found} gpm");
    assert!(found >= 0.8);
}

/// Below full flow a service pipe and its fixtures are taken as one orifice. The pipe's loss goes with a power of the flow
/// under two, so the orifice passes too much: by `sqrt(1 - s + s q^(m - 2)) - 1` at a share `q` of full flow where the pipe
/// takes the share `s` of the pressure. By Colebrook's law in a smooth pipe `m = 2 / (1 + 0.869 sqrt f)`, at least 1.70.
#[test]
fn exact_size_of_the_service_pipe_approximation() {
    const LEAST_EXPONENT: f64 = 1.70;
    let (water, full_lps, fixtures_kpa) = (water(), 0.6, 140.0);
    let pipe = |length_m| Pipe { length_m, bore_mm: 26.6, roughness_mm: 0.001_5 };
    // Where flow stays turbulent down to half of full flow the law of the pipe has no kink.
    assert!(pipe(1.0).reynolds(0.5 * full_lps, &water) > TURBULENT_RE);
    let mut largest = 0.0_f64;
    for length_m in [10.0, 50.0, 200.0, 800.0] {
        let lost_kpa = |q: f64| water.pressure_kpa(pipe(length_m).loss_m(q * full_lps, &water));
        let (pipe_kpa, all_kpa) = (lost_kpa(1.0), fixtures_kpa + lost_kpa(1.0));
        let pipe_share = pipe_kpa / all_kpa;
        for q in [0.5, 0.6, 0.7, 0.8, 0.9, 0.99] {
            // Pressure at which pipe and fixtures together pass just this share.
            let true_kpa = fixtures_kpa * q * q + lost_kpa(q);
            let error = open_share(true_kpa, all_kpa) / q - 1.0;
            let bound = (1.0 - pipe_share + pipe_share * q.powf(LEAST_EXPONENT - 2.0)).sqrt() - 1.0;
            assert!(error > 0.0 && error < bound, "{error} of {bound} at {q} with {pipe_share} in the pipe");
            largest = largest.max(error);
            // The engine's share is that orifice's; its main loses less than a ten thousandth.
            let mut parts = on_main(true_kpa, fixtures_kpa / PSI_KPA);
            parts.outlets[0].service = Some(pipe(length_m));
            let totals = report(parts, &Outside::default(), vec![draw(0.0, 600.0, full_lps)], 600.0).totals;
            let found = totals.outlets[0].delivered_l / 600.0 / full_lps;
            assert!((found / q - 1.0 - error).abs() < 1e-4, "{found} of {q}");
        }
    }
    // Down to half flow, even with nearly all pressure lost in the pipe.
    assert!((0.05..0.11).contains(&largest), "{largest}");
}
