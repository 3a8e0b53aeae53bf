//! A tank without air, taps barely open on a trickle: implicit steps against explicit ones.

use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::Outside;
use springhouse_core::observe::EventKind;
use springhouse_core::outlet::Header;
use springhouse_core::plant::Parts;
use springhouse_core::supply::Source;
use springhouse_core::time::Time;
use springhouse_core::well::Response;
use springhouse_tests::plants::{build, cycling, draw};
use springhouse_tests::recorder::Recorder;

/// The cycling plant, its tank all but waterlogged, on a well that gives a trickle once its casing is empty.
fn trickling() -> Parts {
    let mut parts = cycling(350.0);
    if let Some(tank) = &mut parts.pressure_tank {
        (tank.volume_l, tank.precharge_kpa, tank.air_share) = (45.0, 42.0, 0.042);
    }
    // Fixtures below the gauge draw air as the line has next to no pressure.
    parts.outlets[0].rise_m = -6.0;
    if let Source::Well { well, .. } = &mut parts.supplies[0].source {
        well.pump_depth_m = 40.0;
        well.response =
            Response::Drawdown { casing_l_per_m: 2.0, specific_capacity_lps_per_m: 0.001, entry_depth_m: 38.0 };
    }
    parts
}

fn run(parts: Parts, draws: &[Draw], implicit_steps: bool) -> (Recorder, Report) {
    let plant = build(parts);
    let mut recorder = Recorder::default();
    let options = Options { implicit_steps, ..Options::default() };
    let outside = Outside::default();
    let mut engine = Engine::start(&plant, &outside, draws.iter().copied(), options, &mut recorder).expect("starts");
    engine.run_until(Time::from_s(2.0 * 3_600.0), &mut recorder).expect("runs");
    let report = engine.report();
    (recorder, report)
}

/// Taps that want more than the well gives for an hour, then none, then a little: the same starts and stops to a millisecond or
/// two, the same litres, the same drawdown; in a tenth of the steps.
#[test]
fn external_implicit_steps_change_no_event() {
    assert!(build(trickling()).outlets[0].header == Header::Raw);
    let draws =
        [draw(30.0, 3_600.0, 0.6), draw(900.0, 600.0, 0.3), draw(4_500.0, 40.0, 0.02), draw(5_000.0, 1_500.0, 0.2)];
    let [(implicit, fast), (explicit, exact)] = [true, false].map(|implicit| run(trickling(), &draws, implicit));
    for kind in [EventKind::PumpStarts, EventKind::PumpStops, EventKind::RunOutBegins, EventKind::RunOutEnds] {
        let (ours, theirs) = (implicit.times_s(kind), explicit.times_s(kind));
        assert_eq!(ours.len(), theirs.len(), "{kind:?}: {ours:?} and {theirs:?}");
        for (ours, theirs) in ours.iter().zip(&theirs) {
            assert!((ours - theirs).abs() < 0.01, "{kind:?} at {ours} s, by explicit steps at {theirs} s");
        }
    }
    let delivered = |report: &Report| report.totals.outlets[0].delivered_l;
    assert!((delivered(&fast) - delivered(&exact)).abs() < 0.005, "{} {}", delivered(&fast), delivered(&exact));
    let deepest = |report: &Report| report.tally.supplies[0].deepest_drawdown_m;
    assert!((deepest(&fast) - deepest(&exact)).abs() < 1e-3);
    let (fast, exact) = (fast.tally.work, exact.tally.work);
    assert!(10 * fast.steps < exact.steps, "{fast:?} {exact:?}");
}
