//! Salt in stores and headers against closed forms, through the engine.

use springhouse_core::basin::{Basin, BasinKind, TopUp};
use springhouse_core::draw::Draw;
use springhouse_core::engine::Report;
use springhouse_core::incident::{Incident, IncidentKind, Inflow, Outside};
use springhouse_core::observe::EventKind;
use springhouse_core::plant::Parts;
use springhouse_core::pump::{PumpCurve, PumpPower};
use springhouse_core::quality::{Constituent, Quality};
use springhouse_core::storage::Fill;
use springhouse_core::supply::{ChangeOver, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::town_line::TownLine;
use springhouse_tests::plants::{curve, direct, draw, float_switch, level_well, pump, slow_well, tank, well};

use crate::runs::{report, reports};

const SALT: usize = Constituent::Salt as usize;

fn salty(salt_mg_l: f64) -> Quality {
    Quality { salt_mg_l, ..Quality::PURE }
}

fn main(salt_mg_l: f64, standby: bool) -> Supply {
    let source = Source::TownLine(TownLine::new(500.0, (2.0, 400.0)));
    Supply { name: "main".into(), source, quality: salty(salt_mg_l), temp_c: 12.0, standby }
}

/// The standby feeds from the first instant to the last.
fn by_hand(inflows: Vec<Inflow>) -> Outside {
    let (start, end) = (Time::ZERO, Time::from_s(1e7));
    Outside {
        incidents: vec![Incident { kind: IncidentKind::StandbyByHand, start, end }],
        inflows,
        ..Outside::default()
    }
}

const CHANGE_OVER: Option<ChangeOver> = Some(ChangeOver { after: None, back_after: Span::ZERO });

/// Storage that begins with the salt of a well, 400 mg/L, and is filled from a main of 100 mg/L at a steady flow.
fn store(start_l: f64, fill_lps: f64) -> Parts {
    let mut parts = slow_well(float_switch());
    parts.supplies[0].quality = salty(400.0);
    parts.supplies.push(main(100.0, true));
    parts.change_over = CHANGE_OVER;
    if let Some(store) = &mut parts.store {
        let storage = &mut store.storage;
        (storage.start_l, storage.protect_l, storage.restart_l) = (start_l, 1e-6, 1_000.0);
        storage.fill =
            Fill::FloatSwitch { start_l: 4_900.0, stop_l: 4_950.0, flow_lps: fill_lps, full_flow_kpa: 100.0 };
        // Next to no water but that in storage.
        store.delivery.tank.volume_l = 0.1;
    }
    parts
}

fn grams_close(report: &Report) {
    let books = &report.ledger.carried;
    for (k, residual_g) in books.residuals_g().into_iter().enumerate() {
        // Rounding of some thousand terms.
        assert!(residual_g.abs() <= 1e-9 * books.scale_g(k), "constituent {k}: {residual_g} g");
    }
}

/// `c = c_in + (c_0 - c_in) (V_0 / V)^(Q_in / (Q_in - Q_out))`, and `exp(-Q t / V)` where in- and outflow are equal.
#[test]
fn exact_salt_in_storage_at_steady_flows() {
    // Falls, stays, rises; falls almost to the last drop, the last of a thousand litres but 0.06.
    for (start_l, fill_lps, out_lps, hours) in
        [(4_000.0, 0.2, 0.5, 3.0), (1_500.0, 0.4, 0.4, 4.0), (300.0, 0.5, 0.1, 2.0), (1_000.0, 0.2, 0.6, 0.694_4)]
    {
        let end_s = 3_600.0 * hours;
        let draws = vec![draw(0.0, end_s, out_lps)];
        // The drive has refilled its small tank after the first minute, and holds.
        let [first, last] = two(store(start_l, fill_lps), draws, [60.0, end_s]);
        let volume_l = |report: &Report| start_l + report.ledger.storage_gain_l;
        let length_s = end_s - 60.0;
        let in_l = last.totals.filled_l - first.totals.filled_l;
        let out_l = last.totals.drawn_l - first.totals.drawn_l;
        assert!((in_l - fill_lps * length_s).abs() < 1e-6 && (out_l - out_lps * length_s).abs() < 1e-6);
        let (from_l, to_l) = (volume_l(&first), volume_l(&last));
        let left = if fill_lps == out_lps {
            (-fill_lps * length_s / from_l).exp()
        } else {
            (from_l / to_l).powf(fill_lps / (fill_lps - out_lps))
        };
        let expected = 100.0 + (first.storage_carries[SALT] - 100.0) * left;
        // A draw's flow is a whole number of nanolitres a second; near the bottom that is amplified by the exponent.
        let found = last.storage_carries[SALT];
        assert!((found - expected).abs() < 1e-6, "{found} for {expected} mg/L in {to_l} L");
        grams_close(&last);
    }
}

fn two(parts: Parts, draws: Vec<Draw>, at_s: [f64; 2]) -> [Report; 2] {
    reports(parts, &by_hand(Vec::new()), draws, &at_s).1.try_into().expect("two")
}

/// Drawn down to a drop, storage carries what flows in, and goes on with that as it fills again.
#[test]
fn exact_salt_in_storage_drawn_empty() {
    let draws = vec![draw(0.0, 7_200.0, 0.7)];
    let (recorder, reports) = reports(store(1_000.0, 0.2), &by_hand(Vec::new()), draws, &[1_000.0, 7_200.0, 20_000.0]);
    let stops = recorder.times_s(EventKind::ProtectStop);
    assert!(!stops.is_empty(), "storage runs empty");
    for report in &reports {
        grams_close(report);
    }
    // Filled by 0.2 L/s and drawn by 0.7, V = V0 - 0.5 t and c = c_in + (c0 - c_in) (V / V0)^0.4.
    let expected = |volume_l: f64| 100.0 + 300.0 * (volume_l / 1_000.0).powf(0.2 / 0.5);
    let salt = reports[0].storage_carries[SALT];
    assert!((salt - expected(500.0)).abs() < 1e-6, "{salt} mg/L");
    // Once empty it holds what comes in.
    for report in &reports[1..] {
        assert!((report.storage_carries[SALT] - 100.0).abs() < 1e-9, "{} mg/L", report.storage_carries[SALT]);
    }
}

/// Two wells on one header: the house gets the mean of their waters by flow.
#[test]
fn exact_blend_of_two_wells() {
    let source = |flow_lps: f64, salt_mg_l: f64, name: &str| Supply {
        name: name.into(),
        quality: salty(salt_mg_l),
        ..well(
            level_well(),
            pump(PumpCurve::Constant { flow_lps }, PumpPower::Constant { power_w: 900.0 }, (280.0, 410.0)),
        )
    };
    let mut parts = direct(source(0.3, 900.0, "deep"), tank(300.0, 260.0, 280.0));
    parts.supplies.push(source(0.5, 100.0, "shallow"));
    // Both run from the first instant, and neither has reached its cut-out after a minute: 300 L take 76 L up to there.
    let report = report(parts, &Outside::default(), vec![draw(0.0, 60.0, 0.2)], 60.0);
    let expected_g = 1e-3 * (0.3 * 900.0 + 0.5 * 100.0) / 0.8 * 12.0;
    assert!((report.salt_g[0] - expected_g).abs() < 1e-12 * expected_g, "{} for {expected_g} g", report.salt_g[0]);
    assert_eq!(report.tally.supplies[0].starts + report.tally.supplies[1].starts, 2);
    grams_close(&report);
}

/// A pressure tank on a tee: it keeps what it held and what is to spare, mixed, and gives just that.
#[test]
fn exact_salt_in_a_pressure_tank() {
    let source = |salt_mg_l: f64, name: &str, standby: bool| {
        let power = PumpPower::Constant { power_w: 900.0 };
        let pump = pump(PumpCurve::Constant { flow_lps: 0.5 }, power, (280.0, 410.0));
        Supply { name: name.into(), quality: salty(salt_mg_l), standby, ..well(level_well(), pump) }
    };
    let tank = tank(300.0, 260.0, 280.0);
    let (from_l, to_l) = (tank.water_l(280.0), tank.water_l(410.0));
    let mut parts = direct(source(900.0, "first", false), tank);
    parts.supplies.push(source(100.0, "second", true));
    parts.change_over = CHANGE_OVER;
    // The second well fills the tank in three minutes; then the tank alone feeds the house.
    let report = report(parts, &by_hand(Vec::new()), vec![draw(600.0, 100.0, 0.2)], 700.0);
    assert_eq!((report.tally.supplies[0].starts, report.tally.supplies[1].starts), (0, 1));
    let expected_g = 1e-3 * 20.0 * (900.0 * from_l + 100.0 * (to_l - from_l)) / to_l;
    // The pump stops up to a nanosecond past its cut-out.
    assert!((report.salt_g[0] / expected_g - 1.0).abs() < 1e-9, "{} for {expected_g} g", report.salt_g[0]);
    grams_close(&report);
}

/// A cistern of soft rain, topped up with hard water while rain falls: salt over water.
#[test]
fn exact_salt_in_a_cistern() {
    let basin = Basin {
        kind: BasinKind::Cistern,
        capacity_l: 4_000.0,
        start_l: 500.0,
        intake_l: 100.0,
        full_depth_m: 2.0,
        brim_height_m: 0.0,
        shape: 1.0,
        cutoff: None,
        top_up: Some(TopUp { start_l: 600.0, stop_l: 1_500.0, flow_lps: 0.3, full_flow_kpa: 100.0 }),
        open: None,
    };
    let power = PumpPower::Efficiency { best_flow_lps: 0.8, best_efficiency: 0.4 };
    let pump = pump(curve(55.0, (1.0, 35.0)), power, (200.0, 330.0));
    let cistern = Supply {
        name: "cistern".into(),
        source: Source::Basin { basin, pump },
        quality: salty(20.0),
        temp_c: 12.0,
        standby: false,
    };
    let mut parts = direct(cistern, tank(100.0, 190.0, 250.0));
    parts.supplies.push(main(400.0, true));
    parts.change_over = CHANGE_OVER;
    let rain = vec![Inflow { time: Time::from_s(300.0), supply: 0, flow_lps: 0.1 }];
    let report = report(parts, &by_hand(rain), Vec::new(), 7_200.0);
    let totals = &report.totals.supplies[0];
    assert!(totals.topped_up_l > 600.0 && totals.inflow_l > 600.0 && totals.spilled_l == 0.0);
    let expected = (20.0 * (500.0 + totals.inflow_l) + 400.0 * totals.topped_up_l)
        / (500.0 + totals.inflow_l + totals.topped_up_l);
    let found = report.sources_carry[0][SALT];
    assert!((found / expected - 1.0).abs() < 1e-12, "{found} for {expected} mg/L");
    grams_close(&report);
}
