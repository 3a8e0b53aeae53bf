//! Cisterns and ponds: rain, brim, top-up, low water.

use springhouse_core::basin::{Basin, BasinCutoff, BasinKind, TopUp};
use springhouse_core::incident::{Inflow, Outside};
use springhouse_core::observe::EventKind;
use springhouse_core::plant::Parts;
use springhouse_core::pump::PumpPower;
use springhouse_core::quality::{Constituent, Quality};
use springhouse_core::supply::{ChangeOver, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{curve, cycling, direct, draw, pump, tank};

use crate::{HOUR_S, run};

fn cistern(start_l: f64, standby: bool, top_up: Option<TopUp>) -> Supply {
    let basin = Basin {
        kind: BasinKind::Cistern,
        capacity_l: 4_000.0,
        start_l,
        intake_l: 100.0,
        full_depth_m: 2.0,
        brim_height_m: 0.0,
        shape: 1.0,
        cutoff: Some(BasinCutoff { stop_l: 300.0, restart_l: 600.0, restart_delay: Span::from_s(60.0) }),
        top_up,
        open: None,
    };
    let power = PumpPower::Efficiency { best_flow_lps: 0.8, best_efficiency: 0.4 };
    let pump = pump(curve(55.0, (1.0, 35.0)), power, (200.0, 330.0));
    let quality = Quality { salt_mg_l: 20.0, ..Quality::PURE };
    Supply { name: "cistern".into(), source: Source::Basin { basin, pump }, quality, temp_c: 12.0, standby }
}

fn alone(start_l: f64) -> Parts {
    direct(cistern(start_l, false, None), tank(100.0, 190.0, 250.0))
}

fn rain(steps: &[(f64, f64)]) -> Outside {
    let step =
        |(hour, flow_lps): &(f64, f64)| Inflow { time: Time::from_s(HOUR_S * hour), supply: 0, flow_lps: *flow_lps };
    Outside { incidents: Vec::new(), inflows: steps.iter().map(step).collect(), ..Outside::default() }
}

/// Rain fills it to the brim, exactly when the room is used up; the rest spills.
#[test]
fn exact_rain_fills_and_spills() {
    let (recorder, report) = run(alone(3_000.0), &rain(&[(1.0, 0.5), (2.0, 0.0)]), Vec::new(), 4.0);
    let brim_s = HOUR_S + 1_000.0 / 0.5;
    assert!((recorder.times_s(EventKind::SpillBegins)[0] - brim_s).abs() < 1e-6);
    assert_eq!(recorder.times_s(EventKind::SpillEnds), [2.0 * HOUR_S]);
    let supply = &report.totals.supplies[0];
    assert!((supply.inflow_l - 1_800.0).abs() < 1e-6 && (supply.spilled_l - 800.0).abs() < 1e-6, "{supply:?}");
    assert!((report.sources[0] - 4_000.0).abs() < 1e-6);
}

/// At low water the pump stops and the house runs dry; rain brings both back.
#[test]
fn low_cistern_stops_the_pump() {
    let draws = vec![draw(0.5 * HOUR_S, 3.0 * HOUR_S, 0.2)];
    let (recorder, report) = run(alone(1_000.0), &rain(&[(3.0, 0.8)]), draws, 6.0);
    assert_eq!(recorder.times_s(EventKind::LowLevelStop).len(), 1);
    assert_eq!(report.tally.run_outs.count, 1);
    let clears_s = recorder.times_s(EventKind::LowLevelClears)[0];
    // The pump had stopped with 300 L: 300 more at 0.8 L/s.
    assert!((clears_s - (3.0 * HOUR_S + 300.0 / 0.8)).abs() < 1e-6, "{clears_s} s");
    let intake = report.tally.supplies[0].lowest_l;
    assert!((intake - 300.0).abs() < 1e-5, "{intake} L");
}

/// A cistern in reserve is kept full from the well through its valve, and its salt goes over to the well's.
#[test]
fn exact_top_up_by_level() {
    let top_up = TopUp { start_l: 2_000.0, stop_l: 3_000.0, flow_lps: 0.2, full_flow_kpa: 100.0 };
    let mut parts = cycling(350.0);
    parts.supplies.push(cistern(2_000.0, true, Some(top_up)));
    parts.change_over = Some(ChangeOver { after: None, back_after: Span::from_s(60.0) });
    let (recorder, report) = run(parts, &Outside::default(), Vec::new(), 6.0);
    assert_eq!(recorder.times_s(EventKind::TopUpOpens), [0.0]);
    assert!((recorder.times_s(EventKind::TopUpShuts)[0] - 5_000.0).abs() < 1e-6);
    assert!((report.totals.supplies[1].topped_up_l - 1_000.0).abs() < 1e-6);
    // 2000 L at 20 mg/L and 1000 L at 400.
    let salt_mg_l = report.sources_carry[1][Constituent::Salt as usize];
    assert!((salt_mg_l - 440.0 / 3.0).abs() < 1e-6, "{salt_mg_l} mg/L");
}
