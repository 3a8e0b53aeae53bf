//! A plant with a membrane unit, invented and run: what is told of it, and that it adds up.

use jiff::civil::date;
use springhouse_core::basin::{Basin, BasinKind};
use springhouse_core::draw::Flow;
use springhouse_core::incident::IncidentKind;
use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::fouling::FoulingLaw;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::place::{CalciteBed, Flush, InletTrip, Scale};
use springhouse_core::membrane::plate::{ElementPlate, NominalSize};
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::ValveReading;
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::quality::Quality;
use springhouse_core::scaling::{Limits, TypicalWater};
use springhouse_core::storage::Fill;
use springhouse_core::supply::{ChangeOver, Control, Source, Supply};
use springhouse_core::time::Span;
use springhouse_report::{csv, json, plots, text};
use springhouse_scenario::{DatedDraw, DatedIncident, Scenario, Units};
use springhouse_sim::{Finding, FindingKind, MembraneSummary, RunOptions, Summary, run, usual_grid};

use crate::invented::{Case, HOUSES, plant, sound};

/// Two elements in a row behind a pump of their own, set as read off its gauges.
fn unit() -> MembraneUnit {
    let plate = ElementPlate {
        product_l_day: 9_000.0,
        rejection: 0.99,
        test_kpa: 1_550.0,
        test_salt_mg_l: 2_000.0,
        test_recovery: 0.15,
    };
    let model = OsmoticModel::Chloride { share: 0.87 };
    let element = plate.element(&NominalSize::In4By40.element(), OsmoticModel::Chloride { share: 1.0 });
    let reading =
        ValveReading { reject_lps: 0.1, recycle_lps: 0.2, concentrate_kpa: 900.0, suction_kpa: 300.0, drain_kpa: 0.0 };
    let curve = PumpCurve::through(&[(0.0, 120.0), (0.6, 80.0)]);
    MembraneUnit {
        element: element.expect("the invented element can be built"),
        elements_in_series: 2,
        vessels: 1,
        pump: Some(UnitPump {
            curve: curve.expect("the curve can be drawn"),
            power: PumpPower::Efficiency { best_flow_lps: 0.5, best_efficiency: 0.4 },
        }),
        valves: reading.valves().expect("the valves have a pressure"),
        product_kpa: 20.0,
        drain_kpa: 0.0,
        loop_volume_l: 15.0,
        osmotic: model,
    }
}

pub(crate) fn membrane() -> Membrane {
    Membrane {
        unit: unit(),
        feed_temp_c: 12.0,
        rise_m: 0.0,
        start_fouling: Fouling { water_share: 0.9, channel_times: 1.2 },
        fouling: FoulingLaw::of(FeedKind::Well),
        scale: None,
        flush: Flush { before: Span::from_s(60.0), after: Span::from_s(120.0), flow_lps: 0.3, full_flow_kpa: 150.0 },
        divert: Span::from_s(120.0),
        inlet: InletTrip { kpa: 70.0, delay: Span::from_s(10.0), retry_after: Span::from_s(600.0), retries: 3 },
        yields: false,
        product_volume_l: 3.0,
        blend: None,
        calcite: None,
        reject_to: None,
        reject_circles: false,
        hours: None,
    }
}

/// A well with some salt, the unit, and storage that it fills.
pub(crate) fn parts(membrane: Membrane) -> Parts {
    let mut parts = Parts::clone(&plant(&HOUSES, true, &["well"]));
    parts.supplies[0].quality = Quality { salt_mg_l: 600.0, ..Quality::PURE };
    if let Some(store) = &mut parts.store {
        store.storage.fill = Fill::Membrane { start_l: 1_500.0, stop_l: 1_900.0 };
    }
    Parts { membrane: Some(membrane), ..parts }
}

/// A pond that stands by and takes the reject.
pub(crate) fn with_pond(mut parts: Parts) -> Parts {
    let basin = Basin {
        kind: BasinKind::Pond,
        capacity_l: 200_000.0,
        start_l: 120_000.0,
        intake_l: 2_000.0,
        full_depth_m: 2.0,
        brim_height_m: -0.3,
        shape: 2.0,
        cutoff: None,
        top_up: None,
        open: None,
    };
    let curve = PumpCurve::Parabola { shutoff_m: 60.0, loss_m_per_lps2: 30.0 };
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let control = Control::Switch { cut_in_kpa: 250.0, cut_out_kpa: 380.0 };
    let pump = SupplyPump::new(curve, None, &parts.water, power, 1.0, control);
    let source = Source::Basin { basin, pump };
    parts.supplies.push(Supply {
        name: "pond".to_owned(),
        source,
        quality: Quality::PURE,
        temp_c: 12.0,
        standby: true,
    });
    parts.change_over = Some(ChangeOver { after: None, back_after: Span::from_s(600.0) });
    if let Some(membrane) = &mut parts.membrane {
        membrane.reject_to = Some(1);
    }
    parts
}

/// Runs a plant whose first house draws for ten minutes in most hours of the day.
fn case(parts: Parts, days: u32, more: impl FnOnce(&mut Scenario)) -> Case {
    let mut scenario = sound(days, &HOUSES, true, 1_440).scenario;
    scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    scenario.prices_per_m3 = vec![None; scenario.plant.supplies.len()];
    for day in 0..days {
        for hour in 6..20 {
            let start = date(2026, 8, 3).at(hour, 0, 0, 0).checked_add(jiff::Span::new().days(day)).unwrap();
            let (length, flow) = (Span::from_s(600.0), Flow::from_lps(0.12));
            scenario.dated_draws.push(DatedDraw { outlet: 0, start, length, flow });
        }
    }
    more(&mut scenario);
    let grid = if days > 60 { Span::HOUR } else { usual_grid(days) };
    let options = RunOptions { grid: Some(grid), ..RunOptions::from_scenario(&scenario) };
    let outcome = run(&scenario, &options, &mut |_| ()).expect("the invented plant runs");
    // A house that draws is no burst pipe: plots have no use for these.
    scenario.dated_draws.clear();
    Case { scenario, outcome }
}

/// A unit with nothing amiss.
pub(crate) fn making(days: u32) -> Case {
    case(parts(membrane()), days, |_| ())
}

/// A unit that gives its reject to a pond.
pub(crate) fn into_a_pond(days: u32) -> Case {
    case(with_pond(parts(membrane())), days, |_| ())
}

/// A unit that is starved: locked out, reset on the second day, locked out again.
pub(crate) fn starved(days: u32) -> Case {
    let mut unit = membrane();
    unit.inlet = InletTrip { kpa: 300.0, retries: 2, ..unit.inlet };
    let start = date(2026, 8, 4).at(9, 0, 0, 0);
    case(parts(unit), days, |scenario| {
        scenario.incidents =
            vec![DatedIncident { kind: IncidentKind::MembraneOut, start, length: Span::from_s(3_600.0) }];
    })
}

/// A unit with its reject shut, which keeps nearly all of its feed; cleaned on the second day.
pub(crate) fn reject_shut(days: u32) -> Case {
    let mut unit = membrane();
    unit.unit.valves.reject_kv = 0.0;
    let start = date(2026, 8, 4).at(9, 0, 0, 0);
    case(parts(unit), days, |scenario| {
        scenario.incidents =
            vec![DatedIncident { kind: IncidentKind::MembraneCleaned, start, length: Span::from_s(28_800.0) }];
    })
}

/// A unit that the trough starves a little once, on the first morning.
fn starved_once() -> Case {
    case(parts(Membrane { inlet: InletTrip { kpa: 200.0, ..membrane().inlet }, ..membrane() }), 2, |scenario| {
        let start = date(2026, 8, 3).at(10, 30, 0, 0);
        let (length, flow) = (Span::from_s(300.0), Flow::from_lps(2.0));
        scenario.dated_draws.push(DatedDraw { outlet: 2, start, length, flow });
        scenario.dated_draws.sort_by_key(|draw| draw.start);
    })
}

fn summary(case: &Case) -> (&Summary, &MembraneSummary) {
    let summary = &case.outcome.summary;
    (summary, summary.membrane.as_ref().unwrap())
}

fn found(case: &Case, kind: FindingKind) -> Option<&Finding> {
    case.outcome.summary.verdict.findings.iter().find(|finding| finding.kind == kind)
}

fn minutes(case: &Case) -> (Vec<String>, Vec<Vec<f64>>) {
    let mut bytes = Vec::new();
    csv::minutes(&case.run(Units::Us), &mut bytes).unwrap();
    let mut table = ::csv::Reader::from_reader(bytes.as_slice());
    let head = table.headers().unwrap().iter().map(str::to_owned).collect();
    let rows = table.records().map(|record| record.unwrap().iter().skip(1).map(|cell| cell.parse().unwrap()).collect());
    (head, rows.collect())
}

/// A column; the first, the time, is no number.
fn column(case: &Case, key: &str) -> Option<Vec<f64>> {
    let (head, rows) = minutes(case);
    let place = head.iter().position(|name| name == key)?;
    Some(rows.iter().map(|row| row[place - 1]).collect())
}

#[track_caller]
fn assert_near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "{found} is not {expected}");
}

#[test]
fn exact_fresh_feed_is_product_reject_and_flush() {
    for case in [making(3), into_a_pond(3), starved(3)] {
        let (whole, unit) = summary(&case);
        // Sums of thousands of differences, each rounded to 1e-16 of the total.
        let rounding = 1e-11 * unit.feed_l;
        assert_near(unit.product_l + unit.diverted_l + unit.reject_l + unit.flushed_l, unit.feed_l, rounding);
        assert_near(unit.feed_l - unit.flushed_l + unit.recycle_l, unit.vessel_feed_l, rounding);
        assert_near(unit.recovery.unwrap() * unit.feed_l, unit.product_l, rounding);
        assert_near(unit.vessel_recovery.unwrap() * unit.vessel_feed_l, unit.product_l + unit.diverted_l, rounding);
        let area_m2 = case.scenario.plant.membrane.as_ref().unwrap().unit.area_m2();
        let made_l = unit.flux_l_m2_h.unwrap() * area_m2 * unit.run_hours;
        assert_near(made_l, unit.product_l + unit.diverted_l, rounding);
        let pump_kwh = whole.energy.membrane_pump_kwh.unwrap();
        assert_near(unit.specific_kwh_per_m3.unwrap() * unit.product_l, 1e3 * pump_kwh, 1e-9 * pump_kwh);
        let parts: f64 = whole.energy.parts.iter().map(|part| part.kwh).sum();
        assert_near(parts, whole.energy.total_kwh, 1e-12 * parts);
        assert!(unit.feed_l > 50.0 && pump_kwh > 0.01 && unit.flushed_l > 0.0 && unit.diverted_l > 0.0, "{unit:?}");
        // It fouls a little as it goes.
        assert!((0.899..0.9).contains(&unit.water_share) && (1.2..1.201).contains(&unit.channel_times), "{unit:?}");
    }
}

#[test]
fn salt_of_the_loop_is_in_the_books() {
    let case = making(3);
    let (whole, unit) = summary(&case);
    let scale_g = 600e-3 * unit.feed_l;
    assert!(whole.balance.salt_residual_g.abs() < 1e-11 * scale_g, "{:?}", whole.balance);
    // What came in while it made water left with product and reject, or stayed in 15 L of loop at most.
    let (product, reject) = (unit.product_salt_mg_l.unwrap(), unit.reject_salt_mg_l.unwrap());
    let fed_g = 600e-3 * (unit.feed_l - unit.flushed_l);
    let left_g = 1e-3 * (unit.product_l * product + unit.reject_l * reject);
    let loops = f64::from(u32::try_from(unit.starts).unwrap());
    assert_near(left_g, fed_g, loops * 15.0 * 1e-3 * (reject + 600.0));
    assert!(product < 60.0 && reject > 600.0, "{unit:?}");
    // Its product is saltier than its elements would make it of the feed alone, for they are fed from the loop.
    assert!(unit.rejection.unwrap() > 0.9 && unit.rejection.unwrap() < 0.99, "{unit:?}");
    assert_eq!(unit.loop_salt_mg_l, case.outcome.rows.last().unwrap().membrane.loop_salt_mg_l);
}

#[test]
fn exact_columns_add_up_to_the_summary() {
    let case = into_a_pond(2);
    let (whole, unit) = summary(&case);
    let pond = &whole.supplies[1];
    let sums = [
        ("feed_l:membrane unit", unit.feed_l),
        ("product_l:membrane unit", unit.product_l),
        ("diverted_l:membrane unit", unit.diverted_l),
        ("reject_l:membrane unit", unit.reject_l),
        ("flushed_l:membrane unit", unit.flushed_l),
        ("recycle_l:membrane unit", unit.recycle_l),
        ("run_s:membrane unit", 3_600.0 * unit.run_hours),
        ("pump_kwh:membrane unit", whole.energy.membrane_pump_kwh.unwrap()),
        ("energy_kwh", whole.energy.total_kwh),
        ("returned_l:pond", pond.returned_l.unwrap()),
    ];
    for (key, total) in sums {
        let sum: f64 = column(&case, key).unwrap_or_else(|| panic!("no column {key}")).iter().sum();
        // 2881 lines, each rounded to three decimals or more.
        assert_near(sum, total, 2_881.0 * 0.5e-3);
        assert!((sum - total).abs() < 1e-3 * total, "{key}: {sum} for {total}");
    }
    let on = column(&case, "on:membrane unit").unwrap();
    let run_s = column(&case, "run_s:membrane unit").unwrap();
    // It is on at the end of every minute in which it ran throughout, and in no minute after which it stood.
    assert!(on.iter().zip(&run_s).all(|(on, run_s)| *run_s < 60.0 || *on == 1.0), "on where it ran");
    assert!(on.contains(&0.0) && on.contains(&1.0));
    for (line, row) in case.outcome.rows.iter().enumerate().step_by(500) {
        let salts = ["loop_salt_mg_l:membrane unit", "product_salt_mg_l:membrane unit"];
        let [looped, product] = salts.map(|key| column(&case, key).unwrap()[line]);
        assert_near(looped, row.membrane.loop_salt_mg_l, 1e-3);
        assert_near(product, row.membrane.product_salt_mg_l, 1e-3);
        assert!(!row.membrane.on || looped > product, "line {line}");
    }
    assert!(column(&making(1), "returned_l:well").is_none());
}

#[test]
fn reject_in_a_pond_is_told() {
    let case = into_a_pond(2);
    let (whole, unit) = summary(&case);
    // All that the unit took and did not store, flushes and first product too.
    let returned_l = whole.supplies[1].returned_l.unwrap();
    assert_near(returned_l, unit.feed_l - unit.product_l, 1e-9 * unit.feed_l);
    let told = found(&case, FindingKind::RejectReturned).unwrap();
    assert_eq!((told.part.as_str(), told.litres, told.falls_short), ("pond", Some(returned_l), false));
    assert_eq!(whole.supplies[0].returned_l, None);
    assert!(found(&making(1), FindingKind::RejectReturned).is_none());
}

#[test]
fn locked_out_unit_falls_short() {
    let case = starved(3);
    let (whole, unit) = summary(&case);
    let told = found(&case, FindingKind::MembraneLockedOut).unwrap();
    assert!(told.falls_short && !whole.verdict.holds);
    assert_eq!((told.count, unit.lock_outs, unit.trips), (Some(2), 2, 6));
    assert_eq!(told.at, unit.locked_out_at);
    assert_near(told.minutes.unwrap(), 60.0 * unit.locked_out_hours, 1e-9);
    assert!(found(&case, FindingKind::MembraneTrips).unwrap().falls_short);
    let text = text::caution(&case.run(Units::Us)).unwrap();
    assert!(text.contains("lock the power off") && text.contains("few minerals"), "{text}");
}

#[test]
fn single_trip_is_a_note() {
    let case = starved_once();
    let (_, unit) = summary(&case);
    let told = found(&case, FindingKind::MembraneTrips).unwrap();
    assert_eq!((unit.trips, unit.lock_outs, told.count, told.falls_short), (1, 0, Some(1), false));
    assert_eq!((&told.at, unit.most_trips_in_a_day), (&unit.first_trip_at, 1));
    // The trough draws from half past ten, and the switch waits ten seconds.
    let at = told.at.as_deref().unwrap();
    assert!(("2026-08-03T10:30:10".."2026-08-03T10:35:00").contains(&at), "{at}");
    assert!(found(&case, FindingKind::MembraneLockedOut).is_none());
    assert!(found(&making(1), FindingKind::MembraneTrips).is_none());
}

#[test]
fn chlorine_at_the_membrane_is_told() {
    let chlorinated = |chlorine_mg_l: f64| {
        let mut parts = parts(membrane());
        parts.supplies[0].quality.chlorine_mg_l = chlorine_mg_l;
        case(parts, 1, |_| ())
    };
    let (bearable, harmed) = (chlorinated(0.09), chlorinated(0.3));
    assert!(found(&bearable, FindingKind::MembraneChlorinated).is_none());
    assert_eq!(summary(&bearable).1.chlorinated_l, None);
    let (_, unit) = summary(&harmed);
    let told = found(&harmed, FindingKind::MembraneChlorinated).unwrap();
    // Every litre it took had chlorine.
    assert_near(told.litres.unwrap(), unit.feed_l, 1e-9 * unit.feed_l);
    assert_eq!((told.limit, told.falls_short, told.litres), (Some(0.1), true, unit.chlorinated_l));
}

#[test]
fn scale_makes_the_verdict_fall_short() {
    let untreated = |limits: Limits| {
        let mut unit = membrane();
        unit.scale = Some(Scale { analysis: TypicalWater::HardWell.analysis(), limits });
        case(parts(unit), 2, |_| ())
    };
    let told = untreated(Limits { lsi: -1.0, ..Limits::UNTREATED });
    let scaled = found(&told, FindingKind::MembraneFouls).unwrap();
    assert!(scaled.falls_short && summary(&told).1.next_cleaning.is_some(), "{scaled:?}");
    assert!(found(&untreated(Limits::ANTISCALANT), FindingKind::MembraneFouls).is_none());
}

/// A unit that fouls within days, cleaned on some mornings.
fn fouling(interval_h: f64, days: u32, cleaned_on: &[i8]) -> Case {
    let mut unit = membrane();
    unit.fouling.interval_h = interval_h;
    case(parts(unit), days, |scenario| {
        let cleaned = |day: &i8| DatedIncident {
            kind: IncidentKind::MembraneCleaned,
            start: date(2026, 8, *day).at(8, 0, 0, 0),
            length: Span::from_s(3_600.0),
        };
        scenario.incidents = cleaned_on.iter().map(cleaned).collect();
    })
}

#[test]
fn cleanings_are_told_and_counted() {
    let (never, twice) = (fouling(4.0, 8, &[]), fouling(4.0, 8, &[6, 10]));
    let (_, unit) = summary(&never);
    assert_eq!((unit.cleanings, &unit.last_cleaned_at), (0, &None));
    let due = unit.cleaning_due_at.as_deref().unwrap();
    assert_eq!(unit.next_cleaning.as_deref(), due.get(..10));
    let (told, fouls) = (found(&never, FindingKind::CleaningDue).unwrap(), found(&never, FindingKind::MembraneFouls));
    assert_eq!((told.at.as_deref(), told.falls_short), (Some(due), false));
    assert_eq!(fouls.unwrap().at.as_deref(), Some(due));
    let (_, cleaned) = summary(&twice);
    assert_eq!((cleaned.cleanings, cleaned.last_cleaned_at.as_deref()), (2, Some("2026-08-10T09:00:00")));
    assert!(cleaned.water_share > unit.water_share && cleaned.channel_times < unit.channel_times, "{cleaned:?}");
    // First due as without a cleaning.
    assert_eq!(found(&twice, FindingKind::MembraneFouls).unwrap().at.as_deref(), Some(due));
    assert!(found(&twice, FindingKind::CleaningDue).is_none() && cleaned.cleaning_due_at.is_none(), "{cleaned:?}");
    let text = text::body(&twice.run(Units::Us));
    assert!(text.contains("cleaned twice, last on Mon 10 Aug 2026, 09:00"), "{text}");
    let text = text::body(&never.run(Units::Us));
    assert!(text.contains("due for cleaning since") && !text.contains("cleaning due about"), "{text}");
}

#[test]
fn bed_of_calcite_is_to_be_refilled_from_half_on() {
    let behind_a_bed = |start_kg: f64| {
        let bed = CalciteBed { start_kg, contact_s: 1.0, calcite_mg_l: 40.0 };
        case(parts(Membrane { calcite: Some(bed), ..membrane() }), 8, |_| ())
    };
    // What dissolves in all, from a bed that stays whole as good as; small beds have contact enough all the same.
    let gone_kg = summary(&behind_a_bed(500.0)).1.calcite_kg.unwrap();
    let [much, little] = [3.0, 1.0].map(|times| behind_a_bed(times * gone_kg));
    let left = summary(&much).1.calcite_left_share.unwrap();
    assert!(left > 0.5 && found(&much, FindingKind::CalciteLow).is_none(), "{left}");
    let left = summary(&little).1.calcite_left_share.unwrap();
    let told = found(&little, FindingKind::CalciteLow).unwrap();
    assert!(left < 0.5 && (told.falls_short, told.limit) == (false, Some(0.5)), "{left} {told:?}");
    let text = text::body(&little.run(Units::Us));
    let said = format!("{:.0} % of the bed of calcite behind the membrane unit is left", 100.0 * left);
    assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(&said), "{said}: {text}");
}

/// With cleanings in between, the next is foretold by what the run lost in all: at a steady pace they change only where it
/// counts from.
#[test]
fn next_cleaning_is_foretold_across_cleanings() {
    let day = |case: &Case| summary(case).1.next_cleaning.clone().unwrap().parse::<jiff::civil::Date>().unwrap();
    let (never, cleaned) = (day(&fouling(60.0, 10, &[])), day(&fouling(60.0, 10, &[8])));
    // Cleaned on the sixth day of the run: five days later, and half a day for the morning without work.
    let later = cleaned.since(never).unwrap().get_days();
    assert!((4..=7).contains(&later), "{never} and {cleaned}");
}

#[test]
fn exact_salt_of_the_summary_adds_up() {
    for case in [making(3), into_a_pond(3), starved(3), fouling(4.0, 3, &[4])] {
        let (_, unit) = summary(&case);
        let out_g = unit.product_salt_g + unit.diverted_salt_g + unit.reject_salt_g + unit.flushed_salt_g;
        // Thousands of sums, each rounded to 1e-16 of the whole.
        assert_near(out_g + unit.salt_gain_g, unit.feed_salt_g, 1e-11 * unit.feed_salt_g);
        // The feed is the well's water, 600 mg/L.
        assert_near(unit.feed_salt_g, 0.6 * unit.feed_l, 1e-9 * unit.feed_salt_g);
        assert_near(unit.product_salt_g, 1e-3 * unit.product_salt_mg_l.unwrap() * unit.product_l, 1e-9 * out_g);
        assert!(unit.flushed_salt_g > 0.0 && unit.diverted_salt_g > 0.0, "{unit:?}");
    }
}

#[test]
fn salt_in_storage_is_told() {
    let salty = |salt_mg_l: f64| {
        let mut unit = membrane();
        // A torn membrane.
        unit.unit.element.salt_permeability_l_m2_h = 30.0;
        let mut parts = parts(unit);
        parts.supplies[0].quality.salt_mg_l = salt_mg_l;
        case(parts, 1, |_| ())
    };
    let told = |case: &Case| found(case, FindingKind::SaltyStorage).map(|told| (told.limit, told.falls_short));
    assert_eq!(told(&salty(3_000.0)), Some((Some(500.0), false)));
    assert_eq!(told(&salty(100.0)), None);
}

fn svg(case: &Case, plot: &str, units: Units) -> String {
    plots::all(&case.run(units)).iter().find(|found| found.name == plot).unwrap().svg().unwrap()
}

#[test]
fn levels_mark_when_the_unit_runs() {
    let levels = svg(&making(2), "levels", Units::Us);
    for words in ["membrane runs", "membrane stops", "membrane starts"] {
        assert!(levels.contains(words), "{words}");
    }
    assert!(!levels.contains("filling s") && !levels.contains("membrane locked out"));
    // Over the panels, and in the key.
    assert_eq!(svg(&starved(2), "levels", Units::Us).matches("membrane locked out").count(), 2);
    // Twice a day for a month is a strip without a gap.
    let month = making(31);
    assert!(!svg(&month, "levels", Units::Us).contains("membrane runs"));
    assert!(!svg(&month, "membrane", Units::Us).contains(">\nruns"));
}

#[test]
fn energy_has_the_pump_as_a_part() {
    let case = making(2);
    let kwh = case.outcome.summary.energy.membrane_pump_kwh.unwrap();
    assert!(svg(&case, "energy", Units::Us).contains(&format!("membrane pump: {kwh:.2} kWh")));
    // One that runs on the pressure it is fed with has none.
    let without = case_without_a_pump();
    assert_eq!(without.outcome.summary.energy.membrane_pump_kwh, None);
    assert_eq!(summary(&without).1.specific_kwh_per_m3, None);
    assert!(!svg(&without, "energy", Units::Us).contains("membrane pump"));
    assert!(column(&without, "pump_kwh:membrane unit").is_none());
}

fn case_without_a_pump() -> Case {
    let unit = MembraneUnit { pump: None, ..unit() };
    case(parts(Membrane { unit, ..membrane() }), 1, |_| ())
}

#[test]
fn figures_on_the_plot_are_those_of_the_summary() {
    for case in [making(2), starved(3)] {
        let (_, unit) = summary(&case);
        let (words, volume) = (svg(&case, "membrane", Units::Metric), |litres| Units::Metric.volume(litres));
        for (name, litres) in [
            ("product, into storage", unit.product_l),
            ("reject", unit.reject_l),
            ("flushes and first product, to waste", unit.flushed_l + unit.diverted_l),
            ("recycled to the suction", unit.recycle_l),
        ] {
            let told = format!("{name}: {}", volume(litres));
            assert!(words.contains(&told), "{told}");
        }
    }
}

#[test]
fn plant_without_one_has_no_key_and_no_plot() {
    let case = sound(1, &HOUSES, true, 60);
    let keys = json::summary(&case.outcome.summary).unwrap();
    assert!(!keys.contains("membrane"), "{keys}");
    let (head, _) = minutes(&case);
    assert!(!head.iter().any(|key| key.contains("membrane")), "{head:?}");
    assert!(plots::all(&case.run(Units::Us)).iter().all(|plot| plot.name != "membrane"));
}

#[test]
fn regress_columns_of_a_membrane_unit() {
    let (head, _) = minutes(&into_a_pond(1));
    insta::assert_snapshot!(head.join("\n"));
}

#[test]
fn regress_text_of_a_starved_unit() {
    let case = starved(3);
    let run = case.run(Units::Us);
    let told = [text::wrapped(&text::headline(&run)), text::body(&run), text::caution(&run).unwrap()].join("\n");
    assert!(told.lines().all(|line| line.chars().count() <= 80), "{told}");
    insta::assert_snapshot!(told);
}

#[test]
fn regress_titles_of_a_membrane_unit() {
    let told = |case: &Case, units| {
        let plots = plots::all(&case.run(units));
        plots.iter().find(|plot| plot.name == "membrane").unwrap().title().to_owned()
    };
    let titles = [
        told(&making(3), Units::Us),
        told(&making(1), Units::Metric),
        told(&starved(3), Units::Metric),
        told(&starved_once(), Units::Us),
    ];
    insta::assert_snapshot!(titles.join("\n"));
}

#[test]
fn regress_events_of_a_membrane_unit() {
    let mut case = starved(2);
    case.outcome.events.retain(|event| event.part == springhouse_core::observe::Part::Membrane);
    let mut bytes = Vec::new();
    csv::events(&case.run(Units::Us), &mut bytes).unwrap();
    let mut once = starved_once();
    once.outcome.events.retain(|event| event.part == springhouse_core::observe::Part::Membrane);
    once.outcome.events.truncate(4);
    csv::events(&once.run(Units::Us), &mut bytes).unwrap();
    insta::assert_snapshot!(String::from_utf8(bytes).unwrap());
}
