//! Pumps, check valves and pressure tanks.

use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::{EventKind, Trouble};
use springhouse_core::supply::Source;
use springhouse_core::well::Response;
use springhouse_tests::plants::{constant_flow, cycling, draw, driven, tank};

use crate::{HOUR_S, incident, run};

/// Nobody draws, yet the pump starts: the tank empties back down the well from cut-out to cut-in.
#[test]
fn leaking_check_valve_starts_the_pump_at_night() {
    let sound = run(cycling(410.0), &Outside::default(), Vec::new(), 24.0).1;
    assert_eq!(sound.tally.supplies[0].starts, 0);
    let leak = incident(IncidentKind::LeakBack { supply: 0, flow_lps: 0.01 }, (0.0, 24.0));
    let (recorder, report) = run(cycling(410.0), &leak, Vec::new(), 24.0);
    let starts = recorder.times_s(EventKind::PumpStarts);
    // The leak goes with the root of the pressure: between its flow at cut-in and at cut-out.
    let drawdown_l = tank(300.0, 260.0, 350.0).drawdown_l(410.0, 280.0);
    let slowest_s = drawdown_l / (0.01 * (280.0_f64 / 410.0).sqrt());
    let off_s = starts[1] - recorder.times_s(EventKind::PumpStops)[0];
    assert!(
        (drawdown_l / 0.01..slowest_s).contains(&off_s),
        "{off_s} s between {} and {slowest_s} s",
        drawdown_l / 0.01
    );
    let supply = &report.totals.supplies[0];
    // All that was pumped ran back, but for what the tank has.
    assert!((supply.pumped_l - supply.leaked_back_l - report.ledger.tank_gain_l).abs() < 1e-6);
    assert!(supply.leaked_back_l > 500.0);
}

/// A worn pump makes less head: here `0.85^2 80 m` at no flow, less than lift and cut-out ask for, so it never stops.
#[test]
fn worn_pump_does_not_reach_cut_out() {
    let worn = incident(IncidentKind::PumpWorn { supply: 0, speed: 0.85 }, (0.0, 24.0));
    let draws = || vec![draw(HOUR_S, 600.0, 0.3)];
    let (_, sound) = run(cycling(350.0), &Outside::default(), draws(), 6.0);
    let (recorder, report) = run(cycling(350.0), &worn, draws(), 6.0);
    assert!(recorder.times_s(EventKind::PumpStops).is_empty() && report.tally.supplies[0].starts == 1);
    assert!(report.tally.supplies[0].run.s() > 4.5 * HOUR_S);
    // It rests at its shut-off head: (57.8 - 25) m of water.
    let shutoff_kpa = (0.7225 * 80.0 - 25.0) * 998.2 * 9.806_65e-3;
    let end_kpa = recorder.rows.last().expect("rows").raw_kpa;
    assert!((end_kpa - shutoff_kpa).abs() < 1e-3, "{end_kpa} of {shutoff_kpa} kPa");
    let per_litre = |r: &springhouse_core::engine::Report| r.totals.supplies[0].pump_j / r.totals.supplies[0].pumped_l;
    assert!(per_litre(&report) > 2.0 * per_litre(&sound));
}

/// With a tenth of its air left the tank gives a tenth of the water between starts.
#[test]
fn lost_air_makes_the_pump_short_cycle() {
    let draws = || vec![draw(HOUR_S, 2.0 * HOUR_S, 0.3)];
    let (_, sound) = run(constant_flow(0.6, 410.0), &Outside::default(), draws(), 4.0);
    let lost = incident(IncidentKind::AirLost { share: 0.1 }, (0.5, 24.0));
    let (recorder, report) = run(constant_flow(0.6, 410.0), &lost, draws(), 4.0);
    let (many, few) = (report.tally.supplies[0].starts, sound.tally.supplies[0].starts);
    assert!(many > 8 * few && many < 11 * few, "{many} starts for {few}");
    assert_eq!(recorder.times_s(EventKind::IncidentBegins(Trouble::AirLost)), [0.5 * HOUR_S]);
}

/// As the tank is put right it is drained to the pressure it had; the drained water is in the books.
#[test]
fn recharged_tank_was_drained() {
    let lost = incident(IncidentKind::AirLost { share: 0.3 }, (1.0, 5.0));
    let draws = vec![draw(1.5 * HOUR_S, HOUR_S, 0.3)];
    let (recorder, report) = run(cycling(350.0), &lost, draws, 6.0);
    assert!(report.totals.drained_l > 50.0, "{} L", report.totals.drained_l);
    let row = |minute: usize| recorder.rows[minute].raw_kpa;
    assert!((row(299) - row(301)).abs() < 1e-6, "{} and {} kPa", row(299), row(301));
}

/// Awake, a drive holds its pressure through every draw it can serve; the switch would have swung between its limits.
#[test]
fn drive_holds_the_pressure() {
    let draws = vec![draw(HOUR_S, HOUR_S, 0.3), draw(1.2 * HOUR_S, 0.5 * HOUR_S, 0.2)];
    let (recorder, report) = run(driven(), &Outside::default(), draws, 4.0);
    let held = recorder.rows[62..119].iter().all(|row| (row.raw_kpa - 350.0).abs() < 1e-9);
    assert!(held, "{:?}", &recorder.rows[62..65]);
    // It sleeps again half a minute after the last draw.
    assert_eq!(report.tally.supplies[0].starts, 1);
    let stops = recorder.times_s(EventKind::PumpStops);
    assert!((stops[0] - (2.0 * HOUR_S + 30.0)).abs() < 1e-6, "{stops:?}");
    let most_l = report.totals.outlets[0].lost_l;
    assert!(most_l == 0.0, "{most_l} L short");
}

/// Less is asked of a motor that turns slower: holding half the flow takes less power than running at full speed.
#[test]
fn drive_saves_power_at_part_flow() {
    let draws = || vec![draw(HOUR_S, HOUR_S, 0.25)];
    let (_, driven) = run(driven(), &Outside::default(), draws(), 2.5);
    let (_, switched) = run(cycling(350.0), &Outside::default(), draws(), 2.5);
    let run_w = |report: &springhouse_core::engine::Report, standby_w: f64| {
        let supply = &report.totals.supplies[0];
        (supply.pump_j - standby_w * 2.5 * HOUR_S) / supply.run_s
    };
    assert!(run_w(&driven, 8.0) < 0.9 * run_w(&switched, 0.0));
}

/// A well drawn down to the intake recovers while its drive holds the pressure for a small draw: the next large one is served.
#[test]
fn driven_pump_is_covered_again_as_the_well_recovers() {
    let mut parts = driven();
    if let Source::Well { well, .. } = &mut parts.supplies[0].source {
        well.pump_depth_m = well.static_depth_m + 10.0;
        well.response = Response::Drawdown {
            casing_l_per_m: 18.0,
            specific_capacity_lps_per_m: 0.01,
            entry_depth_m: well.static_depth_m + 9.0,
        };
    }
    let draws = vec![draw(0.0, 2_400.0, 0.3), draw(2_400.0, 3.0 * HOUR_S, 0.03), draw(3.5 * HOUR_S, 300.0, 0.3)];
    let (recorder, report) = run(parts, &Outside::default(), draws, 5.0);
    assert_eq!(recorder.times_s(EventKind::SuctionLost).len(), 1);
    let regained = recorder.times_s(EventKind::SuctionRegained);
    assert!(regained.len() == 1 && (regained[0] - 2_400.0) < 300.0, "{regained:?}");
    let pumped_l = recorder.rows[216].pumped_l - recorder.rows[209].pumped_l;
    let wanted_l = 0.3 * 300.0 + 0.03 * 420.0;
    // The drive holds the pressure all along.
    assert!((pumped_l - wanted_l).abs() < 1e-6, "{pumped_l} of {wanted_l} L");
    assert!(report.sources[0] < 9.0, "{} m", report.sources[0]);
}

/// Air lost while a drive holds the pressure: the tank stands lower at once, and the pump fills it.
#[test]
fn air_lost_while_a_drive_holds() {
    let lost = incident(IncidentKind::AirLost { share: 0.5 }, (1.0, 4.0));
    let (recorder, report) = run(driven(), &lost, vec![draw(0.5 * HOUR_S, 2.0 * HOUR_S, 0.3)], 4.0);
    let at = |minute: usize| recorder.rows[minute].raw_kpa;
    assert!((at(59) - 350.0).abs() < 1e-9 && recorder.rows[61].lowest_house_kpa < 200.0, "{} kPa", at(61));
    assert!((at(70) - 350.0).abs() < 1e-9, "{} kPa", at(70));
    assert!(report.tally.lowest_house_kpa >= 0.0);
    assert!((report.totals.outlets[0].lost_l).abs() < 0.3 * 30.0, "{} L", report.totals.outlets[0].lost_l);
}
