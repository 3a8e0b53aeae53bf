//! Pressure-switch cycling against tables computed independently, and against closed forms.

use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::Outside;
use springhouse_core::observe::{EventKind, Totals};
use springhouse_core::plant::Plant;
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{build, constant_flow, cycling, draw, steps};
use springhouse_tests::recorder::Recorder;

use crate::table::Table;

/// The pressure tank, which these plants have.
fn tank(plant: &Plant) -> &PressureTank {
    plant.pressure_tank.as_ref().expect("a pressure tank")
}

fn run(plant: &Plant, draws: Vec<springhouse_core::draw::Draw>, s: f64, options: Options) -> (Recorder, Report) {
    let mut recorder = Recorder::default();
    let mut engine =
        Engine::start(plant, &Outside::default(), draws.into_iter(), options, &mut recorder).expect("starts");
    engine.run_until(Time::from_s(s), &mut recorder).expect("runs");
    (recorder, engine.report())
}

fn day() -> Vec<(f64, f64)> {
    let table = Table::read(include_str!("../data/10_schedule_24h.csv"));
    table.rows().map(|row| (row.number("t_start_s"), row.number("draw_L_s"))).collect()
}

/// Starts and stops of the 24-hour table, s: `tests/data/10_events_24h.csv`, computed with three methods that agree to
/// 1e-7 s.
const EVENTS: &str = include_str!("../data/10_events_24h.csv");

fn table_events() -> Vec<(f64, EventKind)> {
    let kind = |text| if text == "start" { EventKind::PumpStarts } else { EventKind::PumpStops };
    Table::read(EVENTS).rows().map(|row| (row.number("t_s"), kind(row.text("event")))).collect()
}

fn errors_s(recorder: &Recorder) -> Vec<f64> {
    let table = table_events();
    let ours: Vec<_> = recorder
        .events
        .iter()
        .filter(|event| matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops))
        .map(|event| (event.time.s(), event.kind))
        .collect();
    assert_eq!(ours.iter().map(|e| e.1).collect::<Vec<_>>(), table.iter().map(|e| e.1).collect::<Vec<_>>());
    ours.iter().zip(&table).map(|(a, b)| (a.0 - b.0).abs()).collect()
}

/// 24 hours: every start and stop within 1 ms, totals to 1e-6.
#[test]
fn external_day_of_starts_and_stops() {
    let (plant, table) = (build(cycling(350.0)), Table::read(EVENTS));
    let (recorder, report) = run(&plant, steps(&day(), 86_400.0), 86_400.0, Options::default());
    let worst_s = errors_s(&recorder).into_iter().fold(0.0, f64::max);
    assert!(worst_s < 1e-3, "worst start or stop is off by {worst_s} s");
    assert_eq!(report.tally.supplies[0].starts, 43);
    let close = |ours: f64, table: f64, what: &str| {
        assert!((ours / table - 1.0).abs() < 1e-6, "{what}: {ours} for {table}");
    };
    close(report.totals.supplies[0].run_s, table.given("run_s"), "run time");
    close(report.totals.supplies[0].pumped_l, table.given("pumped_L"), "pumped");
    close(report.totals.outlets[0].delivered_l, table.given("drawn_L"), "drawn");
    close(report.totals.raw_kpa_s / 86_400.0, 100.0 * table.given("mean_p_bar"), "mean pressure");
    let end_l = tank(&plant).water_l(350.0) + report.ledger.tank_gain_l;
    close(end_l, table.given("V_end_L"), "water left in the tank");
}

/// Event times converge at the order of the pair: the error of a step and its estimate are both of order h^5, so a hundredth of
/// the tolerance gives about a hundredth of the error. Asked for is a thirtieth: single steps scatter by a factor of three.
#[test]
fn external_starts_converge_with_tolerance() {
    let plant = build(cycling(350.0));
    let worst_s = |tolerance_l| {
        let options = Options { tolerance_l, ..Options::default() };
        let (recorder, _) = run(&plant, steps(&day(), 86_400.0), 86_400.0, options);
        errors_s(&recorder).into_iter().fold(0.0, f64::max)
    };
    let [coarse, middle, fine] = [1e-3, 1e-5, 1e-7].map(worst_s);
    assert!(30.0 * middle < coarse, "{coarse} s at 1e-3 L, {middle} s at 1e-5 L");
    assert!(30.0 * fine < middle, "{middle} s at 1e-5 L, {fine} s at 1e-7 L");
    assert!(fine < 1e-5, "{fine} s at 1e-7 L");
}

/// With fixed steps the order shows directly: half the step, at least 2^4 less error.
#[test]
fn external_starts_converge_with_step() {
    let plant = build(cycling(350.0));
    let worst_s = |seconds| {
        let options = Options { tolerance_l: 1e3, longest_step: Span::from_s(seconds), ..Options::default() };
        let (recorder, _) = run(&plant, steps(&day(), 86_400.0), 86_400.0, options);
        errors_s(&recorder).into_iter().fold(0.0, f64::max)
    };
    let [long, half] = [40.0, 20.0].map(worst_s);
    let order = (long / half).log2();
    assert!(order > 4.0, "order {order}: {long} s at 40 s steps, {half} s at 20 s");
}

/// Constant draws: period, run and off times, mean pressure and pump flow of `tests/data/10_constant_draw.csv`.
#[test]
fn external_constant_draws() {
    for row in Table::read(include_str!("../data/10_constant_draw.csv")).rows() {
        let draw_lps = row.number("Qd_L_s");
        let plant = build(cycling(280.0));
        let options = Options { tolerance_l: 1e-7, ..Options::default() };
        let (recorder, report) = run(&plant, vec![draw(0.0, 40_000.0, draw_lps)], 40_000.0, options);
        let (starts, stops) = (recorder.times_s(EventKind::PumpStarts), recorder.times_s(EventKind::PumpStops));
        if row.text("regime") == "continuous" {
            assert!(stops.is_empty(), "at {draw_lps} L/s the pump never stops");
            // The approach to equilibrium takes minutes of the eleven hours: compare the end.
            let kpa = tank(&plant).pressure_kpa(tank(&plant).water_l(280.0) + report.ledger.tank_gain_l);
            assert!(
                (kpa / (100.0 * row.number("mean_pressure_bar")) - 1.0).abs() < 1e-6,
                "{kpa} kPa at {draw_lps} L/s"
            );
            continue;
        }
        let (period, run_s) = (starts[2] - starts[1], stops[1] - starts[1]);
        assert!(
            (period - row.number("period_s")).abs() < 1e-4,
            "period {period} for {} at {draw_lps} L/s",
            row.number("period_s")
        );
        assert!(
            (run_s - row.number("run_s")).abs() < 1e-4,
            "run {run_s} for {} at {draw_lps} L/s",
            row.number("run_s")
        );
        assert!((period - run_s - row.number("off_s")).abs() < 1e-4, "off time at {draw_lps} L/s");
        // Mean pressure and pumped litres over one cycle, from the totals at its ends.
        let mut engine = Engine::start(
            &plant,
            &Outside::default(),
            vec![draw(0.0, 40_000.0, draw_lps)].into_iter(),
            Options { tolerance_l: 1e-7, ..Options::default() },
            &mut Recorder::default(),
        )
        .expect("starts");
        let mut totals_at = |s: f64| {
            engine.run_until(Time::from_s(s), &mut Recorder::default()).expect("runs");
            engine.report().totals
        };
        let (from, to) = (totals_at(starts[1]), totals_at(starts[2]));
        let mean_kpa = (to.raw_kpa_s - from.raw_kpa_s) / period;
        let pumped_l = |totals: &Totals| totals.supplies[0].pumped_l;
        let pump_lps = (pumped_l(&to) - pumped_l(&from)) / run_s;
        assert!((mean_kpa / (100.0 * row.number("mean_pressure_bar")) - 1.0).abs() < 1e-6, "{mean_kpa} kPa");
        assert!((pump_lps / row.number("mean_pump_flow_while_on_L_s") - 1.0).abs() < 1e-6, "{pump_lps} L/s");
    }
}

/// `t_c = V_d / Q_d + V_d / (Q_p - Q_d)` for a pump of constant flow; shortest, `4 V_d / Q_p`, at half the pump's flow.
/// Closed form; "Shortest cycle", an analytic property.
#[test]
fn exact_cycle_of_a_constant_flow_pump() {
    let pump_lps = 0.6;
    let plant = build(constant_flow(pump_lps, 280.0));
    let drawdown_l = tank(&plant).drawdown_l(410.0, 280.0);
    let period = |draw_lps: f64| {
        let (recorder, report) = run(&plant, vec![draw(0.0, 20_000.0, draw_lps)], 20_000.0, Options::default());
        assert_eq!(report.tally.work.steps, 0, "constant rates have a closed form");
        let (starts, stops) = (recorder.times_s(EventKind::PumpStarts), recorder.times_s(EventKind::PumpStops));
        // One nanosecond of rounding at each crossing.
        assert!((stops[1] - starts[1] - drawdown_l / (pump_lps - draw_lps)).abs() < 5e-9);
        let period = starts[2] - starts[1];
        assert!((period - drawdown_l / draw_lps - drawdown_l / (pump_lps - draw_lps)).abs() < 5e-9);
        period
    };
    let shortest = period(0.5 * pump_lps);
    assert!((shortest - 4.0 * drawdown_l / pump_lps).abs() < 5e-9);
    for draw_lps in [0.05, 0.1, 0.2, 0.29, 0.31, 0.4, 0.5, 0.55] {
        assert!(period(draw_lps) > shortest);
    }
}

/// A real pump starts most often near half of its mean flow: the table's worst case lies between 0.3 and 0.4 L/s for a
/// pump of 0.55 to 0.78 L/s.
#[test]
fn external_most_starts_at_half_flow() {
    let plant = build(cycling(280.0));
    let starts = |draw_lps: f64| {
        let (_, report) = run(&plant, vec![draw(0.0, 400_000.0, draw_lps)], 400_000.0, Options::default());
        report.tally.supplies[0].starts
    };
    let most = starts(0.335);
    for draw_lps in [0.1, 0.2, 0.28, 0.4, 0.5] {
        assert!(starts(draw_lps) < most, "at {draw_lps} L/s");
    }
}
