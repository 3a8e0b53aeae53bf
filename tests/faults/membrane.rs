//! The membrane unit: what it makes, what its valves do, and what stops it.

use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::incident::{IncidentKind, Outside};
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::fouling::FoulingState;
use springhouse_core::membrane::place::{Blend, CalciteBed};
use springhouse_core::membrane::valve::Valves;
use springhouse_core::observe::{EventKind, Silent, Trouble};
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::Parts;
use springhouse_core::quality::Constituent;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{build, draw, on_a_membrane, water};

use crate::{HOUR_S, incident, run};

const SALT: usize = Constituent::Salt as usize;

/// The unit called from the first instant, with its valves turned.
fn called(turn: impl FnOnce(Valves) -> Valves) -> Parts {
    let mut parts = on_a_membrane();
    if let (Some(store), Some(membrane)) = (&mut parts.store, &mut parts.membrane) {
        store.storage.start_l = 1_000.0;
        membrane.unit.valves = turn(membrane.unit.valves);
    }
    parts
}

/// Salt of the loop, and of the product side.
fn looped(report: &Report) -> f64 {
    report.membrane.expect("has a unit").now.loop_salt_mg_l
}

fn product_side(report: &Report) -> f64 {
    report.membrane.expect("has a unit").now.product_salt_mg_l
}

fn grams_close(report: &Report) {
    for (k, residual_g) in report.ledger.carried.residuals_g().into_iter().enumerate() {
        assert!(residual_g.abs() <= 1e-9 * report.ledger.carried.scale_g(k).max(1.0), "{k}: {residual_g} g");
    }
}

/// It flushes, lets the first product go, and fills storage up to the stop float with what the settled unit makes.
#[test]
fn makes_what_the_settled_unit_makes() {
    let (recorder, report) = run(called(|valves| valves), &Outside::default(), Vec::new(), 12.0);
    let made = &report.totals.membrane;
    assert_eq!(recorder.times_s(EventKind::MembraneStarts), [0.0]);
    assert!((made.flushed_l - 0.3 * 180.0).abs() < 1e-6, "{} L for flushes", made.flushed_l);
    assert!((made.diverted_l - (made.product_l - report.totals.filled_l)).abs() < 1e-9);
    assert!((report.totals.filled_l - 3_500.0).abs() < 1e-6, "{} L", report.totals.filled_l);
    // Between cut-in and cut-out, where the tank's pressure swings.
    let parts = on_a_membrane();
    let unit = &parts.membrane.as_ref().expect("is there").unit;
    let at = unit.at(12.0, Fouling::CLEAN, &water());
    let [low, high] = [280.0, 410.0].map(|kpa| at.steady(kpa, 600.0).expect("runs").flows.product_lps);
    let mean_lps = made.product_l / made.run_s;
    assert!(low < mean_lps && mean_lps < high, "{mean_lps} between {low} and {high} L/s");
    // Storage began with the water of the settled unit, and holds it.
    assert!((report.storage_carries[SALT] / 7.9 - 1.0).abs() < 0.05, "{} mg/L", report.storage_carries[SALT]);
    grams_close(&report);
}

/// What is blended comes into storage with the product: as much as its valve passes, as salty as the raw line.
#[test]
fn blend_goes_past_the_membrane() {
    let blended = |kv: f64| {
        let mut parts = called(|valves| valves);
        if let Some(membrane) = &mut parts.membrane {
            membrane.blend = Some(Blend { kv });
        }
        run(parts, &Outside::default(), Vec::new(), 6.0).1
    };
    let (none, some) = (blended(0.0), blended(0.002));
    let made = &some.totals.membrane;
    // The unit itself works as before: the same feed for the same product, flushes and the swing of pressure aside.
    let waste = |report: &Report| {
        let made = &report.totals.membrane;
        (report.totals.taken_l - made.flushed_l - made.blended_l) / made.product_l
    };
    assert!((waste(&some) / waste(&none) - 1.0).abs() < 0.01, "{} and {}", waste(&some), waste(&none));
    assert_eq!(none.totals.membrane.blended_l, 0.0);
    // sqrt(260) to sqrt(390) times its opening: the product pipe has 20 kPa.
    let blended_lps = made.blended_l / (made.run_s - 120.0);
    assert!((0.032..0.0395).contains(&blended_lps), "{blended_lps} L/s");
    let product_l = made.product_l - made.diverted_l;
    assert!((some.totals.filled_l - product_l - made.blended_l).abs() < 1e-9);
    // Storage had begun with the same mixture.
    let carried = some.membrane.expect("has a unit").carried;
    let mixed = (1e3 * carried.stored_salt_g + 600.0 * made.blended_l) / some.totals.filled_l;
    assert!((some.storage_carries[SALT] / mixed - 1.0).abs() < 0.05, "{} for {mixed}", some.storage_carries[SALT]);
    grams_close(&some);
}

/// What leaves a bed of calcite is in the water that went through it, and a bed next to spent gives next to nothing.
#[test]
fn calcite_goes_into_storage() {
    let behind = |start_kg: f64| {
        let mut parts = called(|valves| valves);
        if let Some(membrane) = &mut parts.membrane {
            membrane.calcite = Some(CalciteBed { start_kg, contact_s: 300.0, calcite_mg_l: 40.0 });
        }
        run(parts, &Outside::default(), Vec::new(), 6.0).1
    };
    let [bare, full, spent] = [1e-6, 100.0, 0.05].map(behind);
    let dissolved_g = |report: &Report| report.membrane.expect("has a unit").carried.calcite_g;
    let hardness = |report: &Report| report.storage_carries[Constituent::Hardness as usize];
    // 100 kg are 69 L: at 0.2 L/s or less that is the contact time and more.
    let mg_l = 1e3 * dissolved_g(&full) / full.totals.filled_l;
    assert!((38.0..40.0).contains(&mg_l), "{mg_l} mg/L");
    assert!((hardness(&full) - hardness(&bare) - mg_l).abs() < 0.5, "{} mg/L", hardness(&full));
    assert!(dissolved_g(&spent) < 1.0, "{} g in the twinkling of an eye", dissolved_g(&spent));
    for report in [&bare, &full, &spent] {
        grams_close(report);
    }
}

/// A unit for drinking taps only: the rest of the house takes its water ahead of it.
#[test]
fn unit_for_drinking_taps_leaves_the_rest_raw() {
    let mut parts = called(|valves| valves);
    let house = parts.outlets.iter().position(|outlet| outlet.role == Role::Building).expect("has a building");
    parts.outlets.push(Outlet::plain("showers", Role::Building, Header::Raw, 100.0));
    let showers = parts.outlets.len() - 1;
    let draws = [house, showers].map(|outlet| Draw { outlet, ..draw(600.0, 1_200.0, 0.1) }).to_vec();
    let (_, report) = run(parts, &Outside::default(), draws, 2.0);
    let salt = |outlet: usize| 1e3 * report.salt_g[outlet] / report.totals.outlets[outlet].delivered_l;
    assert!((salt(showers) - 600.0).abs() < 1e-6, "{} mg/L at the showers", salt(showers));
    assert!(salt(house) < 15.0, "{} mg/L at the house", salt(house));
}

/// With the reject shut by mistake nothing carries the salt away: it all stays in the loop but for what the product takes.
#[test]
fn reject_shut_makes_the_loop_salty() {
    let shut = called(|valves| Valves { reject_kv: 0.0, ..valves });
    let (_, report) = run(shut, &Outside::default(), Vec::new(), 0.5);
    let made = &report.totals.membrane;
    let into_g = 0.6 * (report.totals.taken_l - made.flushed_l);
    let gained_g = 1e-3 * 15.0 * (looped(&report) - 600.0);
    assert!((into_g - gained_g - made.product_salt_g).abs() < 1e-6 * into_g, "{into_g} g in, {gained_g} g stayed");
    assert!(looped(&report) > 5_000.0, "{} mg/L", looped(&report));
    let (_, sound) = run(called(|valves| valves), &Outside::default(), Vec::new(), 0.5);
    assert!(made.product_l < 0.95 * sound.totals.membrane.product_l);
    grams_close(&report);
}

/// Recycle alone saves no water and costs power; flow moved from reject to recycle saves water and makes the loop saltier.
#[test]
fn valves_do_what_the_trade_says() {
    let told = |turn: fn(Valves) -> Valves| {
        let (_, report) = run(called(turn), &Outside::default(), Vec::new(), 6.0);
        let made = report.totals.membrane;
        let waste = (report.totals.taken_l - made.flushed_l - made.product_l) / made.product_l;
        (waste, made.pump_j / made.product_l, looped(&report))
    };
    let base = told(|valves| valves);
    let recycled = told(|valves| Valves { recycle_kv: 2.0 * valves.recycle_kv, ..valves });
    let moved = told(|valves| Valves { reject_kv: 0.7 * valves.reject_kv, recycle_kv: 1.15 * valves.recycle_kv });
    assert!((recycled.0 / base.0 - 1.0).abs() < 0.12 && recycled.1 > 1.1 * base.1, "{base:?} {recycled:?}");
    assert!(moved.0 < 0.75 * base.0 && moved.2 > 1.15 * base.2, "{base:?} {moved:?}");
}

/// A valved-off pump starves it: after each trip it waits, then it is locked out until it has been put back into service.
#[test]
fn starved_unit_trips_and_is_locked_out() {
    let mut outside = incident(IncidentKind::SupplyOut { supply: 0 }, (0.0, 3.0));
    outside.incidents.extend(incident(IncidentKind::MembraneOut, (4.0, 4.5)).incidents);
    let (recorder, report) = run(called(|valves| valves), &outside, Vec::new(), 6.0);
    let trips = recorder.times_s(EventKind::MembraneTrips);
    assert_eq!(trips.len(), 4, "{trips:?}");
    for pair in trips[1..].windows(2) {
        // It waits, and has its delay anew.
        assert!((pair[1] - pair[0] - 610.0).abs() < 1e-6, "{trips:?}");
    }
    assert_eq!(recorder.times_s(EventKind::MembraneLocksOut), [trips[3]]);
    let starts = recorder.times_s(EventKind::MembraneStarts);
    assert_eq!(starts.last(), Some(&(4.5 * HOUR_S)));
    assert!((report.tally.membrane.locked_out.total.s() - (4.0 * HOUR_S - trips[3])).abs() < 1e-6);
}

/// It stands back while the garden is watered, and flushes as it stops.
#[test]
fn yields_to_irrigation() {
    let mut parts = called(|valves| valves);
    parts.outlets.push(Outlet::plain("garden", Role::RawLoad, Header::Raw, 100.0));
    let draws = vec![Draw { outlet: 1, ..draw(HOUR_S, 1_800.0, 0.3) }];
    let (recorder, report) = run(parts, &Outside::default(), draws, 3.0);
    assert_eq!(recorder.times_s(EventKind::MembraneStops), [HOUR_S]);
    assert_eq!(recorder.times_s(EventKind::MembraneStarts), [0.0, 1.5 * HOUR_S]);
    assert!(report.totals.outlets[1].lost_l < 1e-6);
    // Two flushes before and one after.
    assert!((report.totals.membrane.flushed_l - 0.3 * 240.0).abs() < 1e-6);
}

/// Salt creeps through at rest: both sides end at what the two hold together, by `exp(-B S t (1 / V + 1 / V_p))`.
#[test]
fn exact_salt_creeps_at_rest() {
    let mut parts = on_a_membrane();
    let membrane = parts.membrane.as_mut().expect("is there");
    let area_m2 = membrane.unit.area_m2();
    let element = membrane.unit.element;
    let factor = springhouse_core::membrane::element::temperature_factor(element.salt_temp_k, 12.0);
    let rate = factor * element.salt_permeability_l_m2_h * area_m2 * (1.0 / 15.0 + 1.0 / 3.0);
    let (_, start) = run(parts.clone(), &Outside::default(), Vec::new(), 1e-3);
    let (_, report) = run(parts, &Outside::default(), Vec::new(), 5.0);
    let (from_mg_l, product_mg_l) = (looped(&start), product_side(&start));
    let evened = 1.0 - (-rate * (5.0 - 1e-3)).exp();
    let expected = product_mg_l + evened * (from_mg_l - product_mg_l) * 15.0 / 18.0;
    let found = product_side(&report);
    assert!((found / expected - 1.0).abs() < 1e-9, "{found} for {expected} mg/L");
    grams_close(&report);
}

/// Starved all through its flush it trips when its delay is up, before its pump has turned; a garden that wants water meanwhile
/// does not shorten the wait.
#[test]
fn starved_in_its_flush_never_starts_its_pump() {
    let mut parts = called(|valves| valves);
    parts.outlets.push(Outlet::plain("garden", Role::RawLoad, Header::Raw, 100.0));
    let membrane = parts.membrane.as_mut().expect("is there");
    membrane.flush.before = Span::from_s(10.0);
    membrane.divert = Span::from_s(5.0);
    parts.pressure_tank.as_mut().expect("is there").start_kpa = 0.0;
    let out = incident(IncidentKind::SupplyOut { supply: 0 }, (0.0, 1.0));
    let draws = vec![Draw { outlet: 1, ..draw(20.0, 10.0, 0.01) }];
    let (recorder, report) = run(parts, &out, draws, 0.16);
    assert_eq!(recorder.times_s(EventKind::MembraneTrips), [10.0]);
    assert_eq!(recorder.times_s(EventKind::MembraneStarts), [0.0]);
    assert_eq!(report.totals.membrane.pump_j.to_bits(), 0.0_f64.to_bits());
}

/// Trips count in a row: one a day, with hours of work in between, never locks it out.
#[test]
fn single_trips_do_not_add_up() {
    let mut parts = called(|valves| valves);
    if let (Some(store), Some(membrane)) = (&mut parts.store, &mut parts.membrane) {
        membrane.inlet.retries = 1;
        store.storage.capacity_l = 60_000.0;
        store.storage.fill = springhouse_core::storage::Fill::Membrane { start_l: 50_000.0, stop_l: 55_000.0 };
    }
    let mut outside = Outside::default();
    for hour in [3.0, 9.0, 15.0] {
        outside.incidents.extend(incident(IncidentKind::SupplyOut { supply: 0 }, (hour, hour + 0.2)).incidents);
    }
    let (recorder, report) = run(parts, &outside, Vec::new(), 20.0);
    let trips = recorder.times_s(EventKind::MembraneTrips);
    assert_eq!(trips.len(), 3, "{trips:?} {:?}", recorder.times_s(EventKind::MembraneStarts));
    assert_eq!(report.tally.membrane.locked_out.count, 0);
}

/// Between two loop salts a quarter apart the engine blends curves in proportion: within a thousandth of the exact flow.
#[test]
fn blend_of_loop_salts_is_close() {
    let parts = on_a_membrane();
    let unit = parts.membrane.as_ref().expect("is there").unit.at(12.0, Fouling::CLEAN, &water());
    let mut worst = 0.0_f64;
    for lower_mg_l in [600.0, 1_200.0, 2_400.0, 4_800.0] {
        let at = |salt_mg_l: f64| unit.at_loop(300.0, 600.0, salt_mg_l).flows;
        let (lower, middle, upper) = (at(lower_mg_l), at(1.125 * lower_mg_l), at(1.25 * lower_mg_l));
        let blended_lps = 0.5 * (lower.product_lps + upper.product_lps);
        worst = worst.max((blended_lps / middle.product_lps - 1.0).abs());
        let blended_mg_s = 0.5 * (lower.product_salt_mg_s + upper.product_salt_mg_s);
        worst = worst.max((blended_mg_s / middle.product_salt_mg_s - 1.0).abs());
    }
    assert!(worst < 1e-3, "{worst}");
}

/// The unit at work for days on end, in water that fouls it within hours.
fn fouling_fast(interval_h: f64) -> Parts {
    let mut parts = called(|valves| valves);
    if let (Some(store), Some(membrane)) = (&mut parts.store, &mut parts.membrane) {
        membrane.fouling.interval_h = interval_h;
        store.storage.capacity_l = 90_000.0;
        store.storage.fill = springhouse_core::storage::Fill::Membrane { start_l: 50_000.0, stop_l: 85_000.0 };
    }
    parts
}

fn fouled(report: &Report) -> FoulingState {
    report.membrane.expect("has a unit").fouling
}

/// A cleaning takes the unit out of service from its start to its end, and there brings back what the law says: 92 % of what was
/// lost. It goes on from there.
#[test]
fn exact_cleaning_brings_back_its_share() {
    let cleaned = incident(IncidentKind::MembraneCleaned, (3.0, 5.0));
    let until = |hours: f64| run(fouling_fast(20.0), &cleaned, Vec::new(), hours);
    let ((_, before), (_, during), (recorder, after)) = (until(3.0), until(5.0), until(5.02));
    let worn = fouled(&before);
    assert!(worn.water_factor < 0.99 && worn.loss_factor > 1.01, "{worn:?}");
    // At rest nothing settles; what happens at the last instant is left for the next.
    assert_eq!(fouled(&during), worn);
    assert_eq!(during.totals.membrane.run_s.to_bits(), before.totals.membrane.run_s.to_bits());
    let clean = fouled(&after);
    let back = |worn: f64| worn + 0.92 * (1.0 - worn);
    assert!((clean.cleaned_water_factor - back(worn.water_factor)).abs() < 1e-15, "{clean:?}");
    assert!((clean.cleaned_loss_factor - back(worn.loss_factor)).abs() < 1e-15, "{clean:?}");
    // It is flushed for a minute first: 12 s of work.
    assert!((clean.water_factor / clean.cleaned_water_factor - 1.0).abs() < 1e-4, "{clean:?}");
    assert_eq!(recorder.times_s(EventKind::IncidentBegins(Trouble::Cleaning)), [3.0 * HOUR_S]);
    assert_eq!(recorder.times_s(EventKind::IncidentEnds(Trouble::Cleaning)), [5.0 * HOUR_S]);
    let told = recorder.events.iter().find(|event| event.kind == EventKind::IncidentEnds(Trouble::Cleaning));
    assert_eq!(told.map(|event| event.value), Some(clean.cleaned_water_factor));
    assert_eq!(recorder.times_s(EventKind::MembraneStarts), [0.0, 5.0 * HOUR_S]);
    assert_eq!(
        (after.tally.membrane.cleanings, after.tally.membrane.last_cleaned),
        (1, Some(Time::from_s(5.0 * HOUR_S)))
    );
    grams_close(&after);
}

/// Cleaning is due at the nanosecond at which a tenth of the flow is lost; it is told once, and again after each cleaning.
#[test]
fn exact_cleaning_is_due_when_a_tenth_is_lost() {
    let mut outside = incident(IncidentKind::MembraneCleaned, (10.0, 11.0));
    outside.incidents.extend(incident(IncidentKind::MembraneCleaned, (10.5, 12.0)).incidents);
    let (recorder, report) = run(fouling_fast(4.0), &outside, Vec::new(), 24.0);
    let due = recorder.events.iter().filter(|event| event.kind == EventKind::CleaningDue).collect::<Vec<_>>();
    // Two cleanings that overlap are one.
    assert_eq!((due.len(), report.tally.membrane.cleanings), (2, 1), "{due:?}");
    assert!(due[0].time < Time::from_s(10.0 * HOUR_S) && due[1].time > Time::from_s(12.0 * HOUR_S), "{due:?}");
    for due in &due {
        assert!((due.value - 0.9).abs() < 1e-9, "{due:?}");
    }
    let plant = build(fouling_fast(4.0));
    let share_at = |ns: i64| {
        let options = Options::default();
        let mut engine = Engine::start(&plant, &outside, std::iter::empty(), options, &mut Silent).expect("starts");
        engine.run_until(Time::from_ns(ns), &mut Silent).expect("runs");
        fouled(&engine.report()).share_of_interval()
    };
    for due in &due {
        let [before, at] = [-1, 0].map(|ns| share_at(due.time.ns() + ns));
        assert!(before < 1.0 && at >= 1.0, "{before} and {at} at {due:?}");
    }
    let spells = report.tally.membrane.cleaning_due;
    assert_eq!((spells.count, spells.first, spells.since), (2, Some(due[0].time), Some(due[1].time)));
    // What it had lost by the cleaning counts with what it has lost since.
    let all = report.tally.membrane.lost_before + fouled(&report).share_of_interval();
    assert!(report.tally.membrane.lost_before > 1.0 && all > 2.0, "{all}");
}

/// Whoever cleans it resets its counter: a unit that is locked out works again.
#[test]
fn cleaning_resets_a_lock_out() {
    let mut outside = incident(IncidentKind::SupplyOut { supply: 0 }, (0.0, 3.0));
    outside.incidents.extend(incident(IncidentKind::MembraneCleaned, (4.0, 4.5)).incidents);
    let (recorder, report) = run(called(|valves| valves), &outside, Vec::new(), 6.0);
    assert_eq!(recorder.times_s(EventKind::MembraneLocksOut).len(), 1);
    assert_eq!(recorder.times_s(EventKind::MembraneStarts).last(), Some(&(4.5 * HOUR_S)));
    let tally = &report.tally.membrane;
    assert_eq!((tally.trips, tally.trips_by_day.most), (4, 4));
    assert_eq!(tally.first_trip.map(Time::s), recorder.times_s(EventKind::MembraneTrips).first().copied());
}

/// Salt that came in left with product, reject and flushes, or is still in the unit: also where it flushes, diverts and rests.
#[test]
fn exact_salt_of_the_unit_goes_somewhere() {
    let mut outside = incident(IncidentKind::MembraneCleaned, (2.0, 4.0));
    outside.incidents.extend(incident(IncidentKind::PowerOut, (5.0, 5.3)).incidents);
    let (_, report) = run(called(|valves| valves), &outside, Vec::new(), 7.0);
    let membrane = report.membrane.expect("has a unit");
    let carried = &membrane.carried;
    let in_g = carried.feed_salt_g + carried.flush_feed_salt_g;
    let out_g = carried.stored_salt_g + carried.diverted_salt_g + carried.reject_salt_g + carried.flushed_salt_g;
    // Thousands of sums, each rounded to 1e-16 of the whole.
    assert!((in_g - out_g - membrane.held_salt_g + carried.start_salt_g).abs() < 1e-11 * in_g, "{carried:?}");
    // The water is that of the well throughout, 600 mg/L.
    assert!((in_g - 0.6 * report.totals.taken_l).abs() < 1e-9 * in_g, "{in_g} g");
    assert!(carried.diverted_salt_g > 0.0 && carried.flushed_salt_g > carried.flush_feed_salt_g, "{carried:?}");
}
