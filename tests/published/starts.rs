//! Starts a day of a pump on a pressure tank, against limits of the trade.

use springhouse_core::incident::Outside;
use springhouse_core::time::Span;
use springhouse_tests::plants::{constant_flow, draw};

use crate::runs::report;

const DAY_S: f64 = 86_400.0;

/// Most starts in a day, shortest run and shortest cycle, with a tank whose drawdown is `run_s` of the pump's flow, at half of
/// that flow all day: the draw that makes most starts.
fn at_half_flow(run_s: f64) -> (u64, f64, f64) {
    let pump_lps = 0.6;
    let mut parts = constant_flow(pump_lps, 280.0);
    if let Some(tank) = &mut parts.pressure_tank {
        tank.volume_l *= run_s * pump_lps / tank.drawdown_l(410.0, 280.0);
    }
    let draws = vec![draw(0.0, DAY_S, 0.5 * pump_lps)];
    let tally = report(parts, &Outside::default(), draws, DAY_S).tally.supplies[0];
    let s = |span: Option<Span>| span.map_or(f64::NAN, Span::s);
    (tally.starts_by_day.most, s(tally.shortest_run), s(tally.shortest_cycle))
}

#[test]
fn external_one_minute_run_is_fifteen_starts_an_hour() {
    // Two rules of the trade, from different sources. Tank size: the drawdown is a minute of the pump's flow, "one-minute
    // run" (The Driller, February 2006); two minutes for larger motors (value from memory). Starts: at most 15 an hour up
    // to 3/4 hp and 7.5 above (text of a standard for pressurised tanks, in reproduction). The shortest cycle is 4 V_d / Q_p,
    // at half of the pump's flow: 240 s and 480 s. The rules say the same.
    for (run_s, in_a_day) in [(60.0, 15 * 24), (120.0, 15 * 12)] {
        let (starts, shortest_run_s, shortest_cycle_s) = at_half_flow(run_s);
        // A nanosecond at each crossing.
        assert!((shortest_run_s - 2.0 * run_s).abs() < 5e-9, "runs {shortest_run_s} s");
        assert!((shortest_cycle_s - 4.0 * run_s).abs() < 5e-9, "cycles in {shortest_cycle_s} s");
        assert_eq!(starts, in_a_day);
    }
}

#[test]
fn external_three_hundred_starts_a_day() {
    // At most 300 starts a day below 1 hp (Water Well Journal, "Tank Selection by the Numbers"). A tank for a minute's run
    // does not keep that under any draw: at half flow all day it makes 360. One for 72 s does. Both rules together mean that
    // no house draws half of its pump's flow for more than 20 hours.
    assert_eq!(at_half_flow(60.0).0, 360);
    assert_eq!(at_half_flow(72.0).0, 300);
}
