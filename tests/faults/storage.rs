//! Storage: stuck floats, a full tank, power.

use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::{EventKind, Trouble};
use springhouse_tests::plants::{draw, float_switch, float_valve, slow_well, tank};

use crate::{HOUR_S, incident, run};

/// A float stuck open: the well pumps all it has into a tank that spills.
#[test]
fn stuck_open_float_spills() {
    for fill in [float_switch(), float_valve()] {
        let stuck = incident(IncidentKind::FloatStuck { open: true }, (1.0, 40.0));
        let (recorder, report) = run(slow_well(fill), &stuck, Vec::new(), 48.0);
        assert!(report.totals.spilled_l > 100.0, "{} L", report.totals.spilled_l);
        // It stands at its brim while it spills.
        assert_eq!(recorder.times_s(EventKind::SpillBegins).len() as u64, report.tally.storage_spills.count);
        let fullest_l = recorder.rows.iter().map(|row| row.storage_l).fold(0.0, f64::max);
        assert!((fullest_l - 5_000.0).abs() < 1e-6, "{fullest_l} L");
        let came_l = report.totals.filled_l - (5_000.0 - 4_400.0);
        assert!((report.totals.spilled_l - came_l).abs() < 1e-6, "{} of {came_l} L", report.totals.spilled_l);
    }
}

/// A float stuck shut: storage is drawn down and the delivery pump is stopped to protect it.
#[test]
fn stuck_shut_float_empties_storage() {
    let stuck = incident(IncidentKind::FloatStuck { open: false }, (0.0, 47.0));
    let (recorder, report) = run(slow_well(float_switch()), &stuck, vec![draw(HOUR_S, 20.0 * HOUR_S, 0.1)], 48.0);
    assert_eq!(recorder.times_s(EventKind::FillOpens).len(), 1, "opens only once it is free again");
    let protected_s = recorder.times_s(EventKind::ProtectStop);
    // 4400 - 250 L at 0.1 L/s: the small tank, which gave first, has been filled again.
    let expected_s = HOUR_S + 4_150.0 / 0.1;
    assert!((protected_s[0] - expected_s).abs() < 1e-6, "{protected_s:?} for {expected_s}");
    assert!(report.tally.run_outs.count == 1);
}

/// Without power a solenoid valve is shut, whatever its float says; a mechanical one is not.
#[test]
fn power_out_shuts_a_solenoid() {
    let out = incident(IncidentKind::PowerOut, (0.0, 2.0));
    for (fill, fills) in [(float_switch(), false), (float_valve(), true)] {
        let mut parts = slow_well(fill);
        if let Some(store) = &mut parts.store {
            store.storage.start_l = 3_000.0;
        }
        let (recorder, _) = run(parts, &out, Vec::new(), 4.0);
        // What the pressure tank has to give without its pump: all of it, or nothing.
        let gain_l = recorder.rows[119].storage_l - recorder.rows[0].storage_l;
        let given_l = if fills { tank(200.0, 196.0, 300.0).water_l(300.0) } else { 0.0 };
        assert!((gain_l - given_l).abs() < 1e-6, "{gain_l} of {given_l} L");
        assert_eq!(recorder.times_s(EventKind::IncidentEnds(Trouble::PowerOut)), [2.0 * HOUR_S]);
    }
    let (quiet, _) = run(slow_well(float_switch()), &Outside::default(), Vec::new(), 4.0);
    assert!(quiet.times_s(EventKind::IncidentBegins(Trouble::PowerOut)).is_empty());
}
