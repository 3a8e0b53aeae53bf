//! Treatment, service pipes, reducing valve and backflow device: what each costs on the way to the tap.

use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::{EventKind, Trouble};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::pipe::Pipe;
use springhouse_core::plant::Parts;
use springhouse_core::quality::Constituent;
use springhouse_core::treatment::{Backwash, Catch, Stage, StageKind};
use springhouse_core::ultraviolet::Ultraviolet;
use springhouse_tests::plants::{cycling, draw, driven, house, water};

use crate::{HOUR_S, incident, run};

fn stage(kind: StageKind, catch: Option<Catch>) -> Stage {
    Stage {
        name: "stage".into(),
        kind,
        header: Header::Raw,
        rated_lps: 0.5,
        clean_kpa: 20.0,
        limit_kpa: 80.0,
        catch,
        backwash: None,
    }
}

fn iron_filter() -> Stage {
    let catch = Catch { constituent: Constituent::Iron, share: 0.9, capacity_g: 5.0, start_g: 0.0 };
    stage(StageKind::IronFilter, Some(catch))
}

fn with(stages: Vec<Stage>) -> Parts {
    Parts { stages, ..driven() }
}

fn end_iron(recorder: &springhouse_tests::recorder::Recorder) -> f64 {
    recorder.rows.last().expect("rows").carried[Constituent::Iron as usize]
}

/// At a held 350 kPa the tap of a house 5 m up, 40 m of pipe away, behind a stage: less each loss at 0.3 L/s.
#[test]
fn exact_pressure_on_the_way_to_the_tap() {
    let pipe = Pipe { length_m: 40.0, bore_mm: 21.0, roughness_mm: 0.0015 };
    let mut parts = with(vec![stage(StageKind::Softener, None)]);
    parts.outlets[0] = Outlet { rise_m: 5.0, service: Some(pipe.clone()), ..house(Header::Raw) };
    let (_, report) = run(parts, &Outside::default(), vec![draw(HOUR_S, HOUR_S, 0.3)], 1.9);
    let column_kpa = |m: f64| 998.2 * 9.806_65e-3 * m;
    let lost_kpa = 20.0 * 0.36 + column_kpa(5.0) + column_kpa(pipe.loss_m(0.3, &water()));
    // Lowest just as the drive wakes, at 300 kPa.
    let expected_kpa = 300.0 - lost_kpa;
    let found_kpa = report.tally.lowest_tap_kpa[0];
    assert!((found_kpa - expected_kpa).abs() < 1e-3, "{found_kpa} for {expected_kpa} kPa");
}

/// A reducing valve under what a house asks for leaves it short; above, it changes nothing.
#[test]
fn reducing_valve() {
    for (reducer_kpa, share) in [(200.0, 1.0), (35.0, 0.5)] {
        let mut parts = driven();
        parts.reducer_kpa = Some(reducer_kpa);
        let (_, report) = run(parts, &Outside::default(), vec![draw(HOUR_S, HOUR_S, 0.3)], 3.0);
        let expected_l = share * 0.3 * HOUR_S;
        let delivered_l = report.totals.outlets[0].delivered_l;
        assert!((delivered_l - expected_l).abs() < 1e-6, "{delivered_l} of {expected_l} L at {reducer_kpa} kPa");
    }
}

/// A backflow device takes its pressure off the top: a sprinkler that needs 140 kPa behind one of 250 kPa starves at 350.
#[test]
fn backflow_device_takes_pressure() {
    let mut parts = driven();
    parts.outlets.push(Outlet { device_kpa: 250.0, ..Outlet::plain("garden", Role::RawLoad, Header::Raw, 140.0) });
    let draws = vec![springhouse_core::draw::Draw { outlet: 1, ..draw(HOUR_S, HOUR_S, 0.3) }];
    let (recorder, _) = run(parts, &Outside::default(), draws, 3.0);
    // 100 kPa are left of 350 while the drive holds it: all that is pumped goes there.
    let pumped_l = |minute: usize| recorder.rows[minute].pumped_l;
    let (share, expected) = ((pumped_l(115) - pumped_l(65)) / (0.3 * 3_000.0), (100.0_f64 / 140.0).sqrt());
    assert!((share - expected).abs() < 1e-9, "{share} for {expected}");
}

/// What a stage catches is in the books, its loss grows with it, and it comes due when it is full.
#[test]
fn exact_catch_of_an_iron_filter() {
    // 0.5 mg/L of iron, nine tenths caught: 5 g are in 11 111 L.
    let draws = vec![draw(0.0, 14.0 * HOUR_S, 0.25)];
    let (recorder, report) = run(with(vec![iron_filter()]), &Outside::default(), draws, 14.0);
    let due_s = recorder.times_s(EventKind::ServiceDue);
    let expected_s = 5.0 / (0.25 * 0.5e-3 * 0.9);
    assert!(due_s[0] >= expected_s && due_s[0] <= expected_s + HOUR_S, "{due_s:?} for {expected_s} s");
    let caught_g = report.stages[0].caught_g;
    assert!((caught_g - report.ledger.carried.removed_g[Constituent::Iron as usize]).abs() < 1e-9);
    // An exhausted bed lets all through.
    assert!((end_iron(&recorder) - 0.5).abs() < 1e-12);
}

/// Past an open bypass the water comes as it is; valved off, none comes.
#[test]
fn bypassed_and_valved_off() {
    let draws = || vec![draw(0.0, 6.0 * HOUR_S, 0.25)];
    let bypassed = incident(IncidentKind::StageBypassed { stage: 0 }, (2.0, 5.0));
    let (recorder, report) = run(with(vec![iron_filter()]), &bypassed, draws(), 4.0);
    assert!((end_iron(&recorder) - 0.5).abs() < 1e-12);
    assert!((report.stages[0].bypassed_l - 2.0 * HOUR_S * 0.25).abs() < 1e-6);
    let shut = incident(IncidentKind::StageShut { stage: 0 }, (2.0, 3.0));
    let (recorder, report) = run(with(vec![iron_filter()]), &shut, draws(), 6.0);
    assert_eq!(recorder.times_s(EventKind::RunOutBegins), [2.0 * HOUR_S]);
    assert!((report.totals.outlets[0].lost_l - 0.25 * HOUR_S).abs() < 1e-6);
}

/// A full bed is changed: nothing passes meanwhile, and it catches as a new one.
#[test]
fn exact_a_change_makes_a_stage_new() {
    let draws = vec![draw(0.0, 16.0 * HOUR_S, 0.25)];
    let changed = incident(IncidentKind::StageChanged { stage: 0 }, (14.0, 14.25));
    let (recorder, report) = run(with(vec![iron_filter()]), &changed, draws, 16.0);
    assert_eq!(recorder.times_s(EventKind::IncidentEnds(Trouble::Changing)), [14.25 * HOUR_S]);
    assert!((report.totals.outlets[0].lost_l - 0.25 * 900.0).abs() < 1e-6);
    let expected_g = 0.25 * 0.45e-3 * 1.75 * HOUR_S;
    assert!((report.stages[0].caught_g - expected_g).abs() < 1e-9, "{} for {expected_g} g", report.stages[0].caught_g);
    assert!((end_iron(&recorder) - 0.05).abs() < 1e-12);
    assert_eq!(report.tally.service_due[0], None);
}

/// A wash takes raw water at night, lets the house have untreated water meanwhile, and leaves the bed clean.
#[test]
fn backwash_cleans_the_bed() {
    let mut parts = with(vec![Stage { backwash: Some(Backwash { outlet: 1 }), ..iron_filter() }]);
    parts.outlets.push(Outlet::plain("filter backwash", Role::Backwash, Header::Raw, 100.0));
    let mut draws = vec![draw(0.0, 6.0 * HOUR_S, 0.1)];
    draws.push(springhouse_core::draw::Draw { outlet: 1, ..draw(4.0 * HOUR_S, 600.0, 0.4) });
    let (recorder, report) = run(parts, &Outside::default(), draws, 6.0);
    assert_eq!(recorder.times_s(EventKind::Washed), [4.0 * HOUR_S + 600.0]);
    assert!((report.stages[0].washing_l - 60.0).abs() < 1e-6 && report.stages[0].bypassed_l == 0.0);
    // All wash water came, so only what was caught since is left: 0.1 L/s of 0.45 mg/L.
    let expected_g = 0.1 * 0.45e-3 * (2.0 * HOUR_S - 600.0);
    assert!((report.stages[0].caught_g - expected_g).abs() < 1e-9, "{} for {expected_g} g", report.stages[0].caught_g);
}

/// More flow than the dose allows: those litres are counted and told.
#[test]
fn ultraviolet_is_outrun() {
    let unit = Ultraviolet {
        rated_mj_cm2: 40.0,
        rated_transmittance: 0.85,
        path_cm: 2.0,
        limit_mj_cm2: 40.0,
        start_h: 0.0,
        life_h: 9_000.0,
        end_share: 1.0,
        power_w: 40.0,
    };
    // The water lets through what the plate is rated at, so the dose is 40 at just 0.5 L/s.
    let parts = || with(vec![stage(StageKind::Ultraviolet(unit), None)]);
    let draws = vec![draw(HOUR_S, 600.0, 0.49), draw(2.0 * HOUR_S, 600.0, 0.55)];
    let (recorder, report) = run(parts(), &Outside::default(), draws, 4.0);
    assert_eq!(recorder.times_s(EventKind::UnderdoseBegins).len(), 1);
    let under_l = report.stages[0].under_l;
    assert!((under_l - 330.0).abs() < 1e-6, "{under_l} L");
    // 40 W for four hours.
    assert!((report.totals.lamps_j - 40.0 * 4.0 * HOUR_S).abs() < 1e-6);
    assert!((report.stages[0].lamp_h - 4.0).abs() < 1e-9);
    let dark = incident(IncidentKind::PowerOut, (0.5, 3.0));
    let (_, report) = run(Parts { ..cycling_behind(parts()) }, &dark, vec![draw(HOUR_S, 60.0, 0.2)], 4.0);
    assert!((report.stages[0].under_l - 12.0).abs() < 1e-6, "{} L", report.stages[0].under_l);
}

/// The same on a pump with a switch, whose tank gives water without power.
fn cycling_behind(parts: Parts) -> Parts {
    Parts { stages: parts.stages, ..cycling(400.0) }
}
