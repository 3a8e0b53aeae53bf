//! A tap behind storage is nothing to the raw side: its steps go on.

use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::Outside;
use springhouse_core::observe::{Event, EventKind};
use springhouse_core::plant::Parts;
use springhouse_core::time::Time;
use springhouse_tests::plants::{build, draw, on_a_membrane};
use springhouse_tests::recorder::Recorder;

fn filling(draws: &[Draw]) -> (Vec<Event>, Report) {
    let Parts { mut store, .. } = on_a_membrane();
    if let Some(store) = &mut store {
        store.storage.start_l = 3_000.0;
    }
    let plant = build(Parts { store, ..on_a_membrane() });
    let mut recorder = Recorder::default();
    let draws = draws.iter().copied();
    let mut engine =
        Engine::start(&plant, &Outside::default(), draws, Options::default(), &mut recorder).expect("starts");
    engine.run_until(Time::from_s(3_600.0), &mut recorder).expect("runs");
    let of_pump = |event: &Event| matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops);
    (recorder.events.into_iter().filter(of_pump).collect(), engine.report())
}

/// A unit fills storage for an hour while the delivery pump holds its pressure. A hundred taps cut the trajectory two hundred
/// times, but hardly any step of the raw side, and leave its pump's starts where they are.
#[test]
fn taps_behind_storage_cut_no_steps_of_the_raw_side() {
    let held = draw(0.0, 3_600.0, 0.1);
    let taps = (0..100_u32).map(|i| draw(600.0 + 29.0 * f64::from(i), 7.0, 0.03));
    let (quiet_events, quiet) = filling(&[held]);
    let (busy_events, busy) = filling(&[held].into_iter().chain(taps).collect::<Vec<_>>());
    assert!(busy.tally.work.segments >= quiet.tally.work.segments + 200, "{:?}", busy.tally.work);
    assert!(busy.tally.work.steps <= quiet.tally.work.steps + 10, "{:?} and {:?}", busy.tally.work, quiet.tally.work);
    assert!(quiet_events.len() >= 4 && quiet_events.len() == busy_events.len());
    for (a, b) in quiet_events.iter().zip(&busy_events) {
        // What the unit's loop carries is followed piece by piece, and there are more pieces.
        assert!(a.kind == b.kind && (a.time - b.time).s().abs() < 1e-2, "{a:?} and {b:?}");
    }
}
