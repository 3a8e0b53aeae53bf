//! Several supplies: change-over, two wells on one header, a town line.

use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::observe::EventKind;
use springhouse_core::plant::Parts;
use springhouse_core::pump::PumpPower;
use springhouse_core::quality::{Constituent, Quality};
use springhouse_core::supply::{ChangeOver, Source, Supply};
use springhouse_core::time::Span;
use springhouse_core::town_line::TownLine;
use springhouse_tests::plants::{curve, cycling, direct, draw, level_well, pump, steps, tank, well};

use crate::{HOUR_S, incident, run};

pub(crate) fn town(standby: bool) -> Supply {
    let source = Source::TownLine(TownLine::new(400.0, (0.6, 250.0)));
    Supply {
        name: "town line".into(),
        source,
        quality: Quality { salt_mg_l: 100.0, ..Quality::PURE },
        temp_c: 12.0,
        standby,
    }
}

fn with_town(after: Option<Span>) -> Parts {
    let mut parts = cycling(350.0);
    parts.supplies.push(town(true));
    parts.change_over = Some(ChangeOver { after, back_after: Span::from_s(1_800.0) });
    parts
}

/// The pump fails; after the wait the town line feeds, the pump's side being isolated; and back when it has been well for
/// as long as asked.
#[test]
fn town_line_takes_over_from_a_failed_pump() {
    let out = incident(IncidentKind::SupplyOut { supply: 0 }, (1.0, 3.0));
    let draws = vec![draw(0.5 * HOUR_S, 4.5 * HOUR_S, 0.3)];
    let (recorder, report) = run(with_town(Some(Span::from_s(600.0))), &out, draws, 6.0);
    assert_eq!(recorder.times_s(EventKind::ChangesOver), [HOUR_S + 600.0]);
    assert_eq!(recorder.times_s(EventKind::ChangesBack), [3.0 * HOUR_S + 1_800.0]);
    // 400 - 150 (0.3 / 0.6)^2 kPa at the flow that is drawn.
    assert!((recorder.rows[120].raw_kpa - 362.5).abs() < 1e-9, "{} kPa", recorder.rows[120].raw_kpa);
    let by_town_l = report.totals.supplies[1].pumped_l;
    // From the change-over to the change back.
    let expected_l = 0.3 * (2.5 * HOUR_S - 600.0);
    assert!((by_town_l - expected_l).abs() < 1e-6, "{by_town_l} of {expected_l} L");
    // The town's softer water is what the house then gets.
    let salt = |minute: usize| recorder.rows[minute].carried[Constituent::Salt as usize];
    assert!((salt(50) - 400.0).abs() < 1e-9 && (salt(120) - 100.0).abs() < 1e-9, "{} then {}", salt(50), salt(120));
}

/// Without a rule of its own a standby comes in by hand alone.
#[test]
fn standby_by_hand() {
    let out = incident(IncidentKind::SupplyOut { supply: 0 }, (1.0, 3.0));
    let (recorder, _) = run(with_town(None), &out, Vec::new(), 6.0);
    assert!(recorder.times_s(EventKind::ChangesOver).is_empty());
    let by_hand = incident(IncidentKind::StandbyByHand, (1.0, 3.0));
    let (recorder, report) = run(with_town(None), &by_hand, Vec::new(), 6.0);
    assert_eq!(recorder.times_s(EventKind::ChangesOver), [HOUR_S]);
    assert_eq!(recorder.times_s(EventKind::ChangesBack), [3.0 * HOUR_S]);
    assert_eq!(report.tally.change_overs.total.s().to_bits(), (2.0 * HOUR_S).to_bits());
}

/// Without power no valve changes over by itself.
#[test]
fn no_change_over_without_power() {
    let out = incident(IncidentKind::PowerOut, (1.0, 3.0));
    let (recorder, _) = run(with_town(Some(Span::from_s(600.0))), &out, Vec::new(), 6.0);
    assert!(recorder.times_s(EventKind::ChangesOver).is_empty());
}

/// Of two wells the one with the higher switch leads; the other joins only when the first cannot keep up.
#[test]
fn second_well_joins_at_its_lower_switch() {
    let power = || PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let lead = well(level_well(), pump(curve(80.0, (0.9, 45.0)), power(), (300.0, 410.0)));
    let lag = Supply {
        name: "second well".into(),
        ..well(level_well(), pump(curve(80.0, (0.9, 45.0)), power(), (250.0, 380.0)))
    };
    let mut parts = direct(lead, tank(300.0, 230.0, 350.0));
    parts.supplies.push(lag);
    // The lead gives 0.74 L/s at its cut-in, both together twice that.
    let (_, easy) = run(parts.clone(), &Outside::default(), steps(&[(0.0, 0.5)], 5.0 * HOUR_S), 6.0);
    assert!(easy.tally.supplies[0].starts > 0 && easy.tally.supplies[1].starts == 0);
    let (_, hard) = run(parts, &Outside::default(), steps(&[(0.0, 1.2)], 5.0 * HOUR_S), 6.0);
    assert!(hard.tally.supplies[1].starts > 0);
    assert!(hard.totals.outlets[0].lost_l == 0.0);
}

/// A town line alone, without tank or pump: what its own curve says, to rounding; and no water when it is shut.
#[test]
fn exact_town_line() {
    let mut parts = direct(town(false), tank(1.0, 1.0, 1.0));
    parts.pressure_tank = None;
    let shut = incident(IncidentKind::SupplyOut { supply: 0 }, (2.0, 3.0));
    let draws = vec![draw(HOUR_S, 3.0 * HOUR_S, 0.6)];
    let (recorder, report) = run(parts, &shut, draws, 5.0);
    let kpa = |minute: usize| recorder.rows[minute].raw_kpa;
    assert!((kpa(30) - 400.0).abs() < 1e-9 && (kpa(90) - 250.0).abs() < 1e-9, "{} and {}", kpa(30), kpa(90));
    assert_eq!(kpa(150).to_bits(), 0.0_f64.to_bits());
    assert!((report.totals.outlets[0].lost_l - 0.6 * HOUR_S).abs() < 1e-6);
    assert!(report.totals.energy_j() == 0.0);
}

/// A first supply is back and due to take over again when the standby is put in by hand: the wait is off, and begins anew.
#[test]
fn by_hand_ends_a_wait_to_change_back() {
    let mut outside = incident(IncidentKind::SupplyOut { supply: 0 }, (1.0, 2.0));
    outside.incidents.extend(incident(IncidentKind::StandbyByHand, (2.2, 4.0)).incidents);
    let (recorder, report) = run(with_town(Some(Span::from_s(600.0))), &outside, Vec::new(), 6.0);
    assert_eq!(recorder.times_s(EventKind::ChangesOver), [HOUR_S + 600.0]);
    assert_eq!(recorder.times_s(EventKind::ChangesBack), [4.0 * HOUR_S + 1_800.0]);
    assert!(report.tally.work.segments < 100, "{:?}", report.tally.work);
}
