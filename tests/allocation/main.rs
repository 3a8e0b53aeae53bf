//! The engine's loop allocates nothing: what a run costs in memory does not depend on its length.
//!
//! `allocation-counter` stands in for the global allocator of this test binary and counts what the measuring thread asks of
//! it. Observers and draws may allocate; these do not: [`Silent`] keeps nothing, and a draw stream makes draws on the way.

#![expect(clippy::expect_used, reason = "a case of this repository that does not run fails the test")]

use allocation_counter::measure;
use springhouse_benches::{Case, cases, six_people};
use springhouse_core::engine::Options;
use springhouse_core::incident::{Incident, IncidentKind, Outside};
use springhouse_core::observe::{Event, Observer, Silent};
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::HouseholdStream;

const WEEK: Time = Time::from_day(7);

/// Allocations over a week, not counting those of the start.
fn allocations(case: &Case, observer: &mut impl Observer) -> u64 {
    let mut engine = case.start(Options::default(), observer).expect("starts");
    let mut run = Ok(());
    let counted = measure(|| run = engine.run_until(WEEK, observer));
    run.expect("runs");
    assert!(engine.report().tally.work.segments > 100, "{} does next to nothing", case.name);
    counted.count_total
}

/// Incidents on their own and within another.
fn incidents(case: &Case) -> Vec<Incident> {
    let incident = |kind, start_h: f64, hours: f64| {
        let start = Time::from_s(3_600.0 * start_h);
        Incident { kind, start, end: start + Span::from_s(3_600.0 * hours) }
    };
    let mut incidents = vec![
        incident(IncidentKind::PowerOut, 30.0, 20.0),
        incident(IncidentKind::PowerOut, 40.0, 12.0),
        incident(IncidentKind::SupplyOut { supply: 0 }, 80.0, 30.0),
    ];
    if case.plant.supplies[0].source.pump().is_some() {
        incidents.push(incident(IncidentKind::PumpWorn { supply: 0, speed: 0.9 }, 120.0, 10.0));
        incidents.push(incident(IncidentKind::LeakBack { supply: 0, flow_lps: 0.01 }, 125.0, 10.0));
        incidents.push(incident(IncidentKind::AirLost { share: 0.5 }, 140.0, 10.0));
    }
    if case.plant.store.is_some() {
        incidents.push(incident(IncidentKind::DeliveryPumpOut, 100.5, 9.0));
        incidents.push(incident(IncidentKind::FloatStuck { open: true }, 150.0, 5.0));
    }
    incidents
}

#[test]
fn week_allocates_nothing() {
    for case in cases() {
        assert_eq!(allocations(&case, &mut Silent), 0, "{}", case.name);
    }
}

#[test]
fn week_with_incidents_allocates_nothing() {
    for case in cases() {
        let case = Case {
            outside: Outside { incidents: incidents(&case), inflows: Vec::new(), ..Outside::default() },
            ..case
        };
        assert_eq!(allocations(&case, &mut Silent), 0, "{}", case.name);
    }
}

/// Nor do heaters and rooms, under the warm draws of people.
#[test]
fn week_of_hot_water_allocates_nothing() {
    let case = cases().into_iter().find(|case| case.name == "two-heaters").expect("is there");
    let people = HouseholdStream::new(&six_people(), 0).expect("a sound household");
    let case = Case { draws: case.draws.with_household(people), ..case };
    let mut engine = case.start(Options::default(), &mut Silent).expect("starts");
    let mut run = Ok(());
    let counted = measure(|| run = engine.run_until(WEEK, &mut Silent));
    run.expect("runs");
    let hot = engine.report().hot_water;
    // All that could allocate was at work: draws, compressor, loop, burner.
    assert!(hot.heaters.iter().all(|heater| heater.totals.taken_l > 1_000.0), "{hot:?}");
    assert!(hot.heaters[0].totals.pumped_j > 0.0 && hot.heaters[0].totals.other_j > 0.0, "{hot:?}");
    assert!(hot.heaters[1].totals.fuel_j > 0.0 && hot.rooms.iter().all(|room| room.totals.lowest_c < 18.0), "{hot:?}");
    assert_eq!(counted.count_total, 0);
}

/// Nor do people's draws: there is room for what a hundred people wish.
#[test]
fn year_of_people_allocates_nothing() {
    let mut stream = HouseholdStream::new(&six_people(), 0).expect("a sound household");
    let mut draws_until = |day| stream.by_ref().take_while(|draw| draw.draw.start < Time::from_day(day)).count();
    let mut draws = 0;
    let allocated = measure(|| draws = draws_until(365)).count_total;
    assert!(allocated == 0 && draws > 50_000, "{allocated} allocations for {draws} draws");
}

/// An observer that allocates at every event: what is counted is what is asked for.
#[test]
fn allocations_are_counted() {
    #[derive(Default)]
    struct Singles(Vec<Vec<Event>>);

    impl Observer for Singles {
        fn event(&mut self, event: &Event) {
            self.0.push(vec![*event]);
        }
    }

    for case in cases() {
        let mut singles = Singles::default();
        let counted = allocations(&case, &mut singles);
        let events = singles.0.iter().flatten().filter(|event| event.time > Time::ZERO).count() as u64;
        // A plant on a town line tells little in a week.
        assert!(events > 3 && counted >= events, "{counted} allocations for {events} events of {}", case.name);
    }
}
