//! What runs without the grid, for how long, and what gives way; and what waits for the sun.

use springhouse_core::engine::{Engine, Options, Report};
use springhouse_core::heater::{Elements, Source};
use springhouse_core::hot_water::{HotWater, SunBoost};
use springhouse_core::incident::{Incident, IncidentKind, Outside};
use springhouse_core::membrane::RunHours;
use springhouse_core::observe::{EventKind, Observer, Part, Sample};
use springhouse_core::plant::Parts;
use springhouse_core::power::{Backup, Battery, Generator, PowerHour, SitePower};
use springhouse_core::supply::ChangeOver;
use springhouse_core::time::{Span, Time};
use springhouse_tests::plants::{build, cycling, draw, float_switch, heater, on_a_membrane, room, slow_well};
use springhouse_tests::recorder::Recorder;

use crate::supplies::town;
use crate::{HOUR_S, incident, run};

const KWH_J: f64 = 3.6e6;

const BATTERY: Battery =
    Battery { capacity_j: 5.0 * KWH_J, power_w: 5_000.0, one_way: 0.95, reserve_share: 0.2, start_share: 1.0 };

const GENERATOR: Generator = Generator {
    power_w: 5_000.0,
    start_after: Span::ZERO,
    fuel_l: None,
    idle_l_h: 0.5,
    full_l_h: 2.0,
    price_per_l: 2.0,
    kg_per_l: 2.3,
    one_motor: false,
};

const ALL: Backup = Backup { membrane: true, heaters: true, other_share: 0.0 };

fn behind(parts: Parts, battery: Option<Battery>, generator: Option<Generator>) -> Parts {
    Parts { power: SitePower { battery, generator, backup: ALL }, ..parts }
}

/// A plant at rest, of which the drive alone takes its 10 W.
fn at_rest() -> Parts {
    slow_well(float_switch())
}

/// Hours at which something was told.
fn hours(recorder: &Recorder, kind: EventKind) -> Vec<f64> {
    recorder.times_s(kind).iter().map(|s| s / HOUR_S).collect()
}

fn outages(report: &Report) -> springhouse_core::engine::OutageBooks {
    report.power.as_ref().expect("a site").outages
}

/// 0.03 kWh stored give 0.03 x 0.95 kWh: 10 W for 2.85 h. It is looked at once a minute.
#[test]
fn exact_battery_lasts_as_long_as_what_it_holds() {
    let battery = Battery { capacity_j: 0.1 * KWH_J, start_share: 0.3, reserve_share: 0.3, ..BATTERY };
    let out = incident(IncidentKind::PowerOut, (1.0, 10.0));
    let (recorder, report) = run(behind(at_rest(), Some(battery), None), &out, Vec::new(), 12.0);
    assert_eq!(hours(&recorder, EventKind::BatteryFeeds), [1.0]);
    let ends_h = hours(&recorder, EventKind::NobodyFeeds)[0];
    assert!((ends_h - 3.85).abs() <= 1.0 / 60.0, "{ends_h} h");
    let books = report.power.clone().expect("a site");
    let fed_h = books.outages.battery_s / HOUR_S;
    assert!((fed_h - 2.85).abs() <= 1.0 / 60.0, "{fed_h} h");
    assert!((books.outages.dark_s / HOUR_S - (9.0 - fed_h)).abs() < 1e-9);
    // It is filled up to its reserve by the grid, to the last bit but for rounding.
    assert!((books.charge.energy_j / (0.03 * KWH_J) - 1.0).abs() < 1e-12, "{} J", books.charge.energy_j);
    assert!((report.totals.site.topped_up_j * 0.95 / (0.03 * KWH_J) - 1.0).abs() < 1e-12);
}

/// At 10 of 5000 W it burns 0.5 + 1.5 x 0.002 = 0.503 L/h: a litre lasts 1.988 h, from twenty minutes on.
#[test]
fn exact_generator_starts_late_and_burns_its_tank() {
    let generator = Generator { start_after: Span::from_s(1_200.0), fuel_l: Some(1.0), ..GENERATOR };
    let out = incident(IncidentKind::PowerOut, (2.0, 9.0));
    let (recorder, report) = run(behind(at_rest(), None, Some(generator)), &out, Vec::new(), 10.0);
    let starts_h = hours(&recorder, EventKind::GeneratorFeeds)[0];
    assert!((starts_h - 7.0 / 3.0).abs() < 1e-12, "{starts_h} h");
    let dark_h = hours(&recorder, EventKind::NobodyFeeds);
    assert_eq!(dark_h[0], 2.0);
    assert!((dark_h[1] - (7.0 / 3.0 + 1.0 / 0.503)).abs() <= 1.0 / 60.0, "{dark_h:?}");
    let site = report.totals.site;
    let ran_h = outages(&report).generator_s / HOUR_S;
    assert!((ran_h - 1.0 / 0.503).abs() <= 1.0 / 60.0, "{ran_h} h");
    // The last minute has what is left, and no more.
    assert!((site.fuel_l - 1.0).abs() < 1e-12, "{} L in {ran_h} h", site.fuel_l);
    assert!((site.fuel_cost - 2.0 * site.fuel_l).abs() < 1e-12);
    assert_eq!(report.power.expect("a site").fuel_left_l, 0.0);
}

/// A battery before a generator; the generator when it is empty.
#[test]
fn generator_takes_over_from_an_empty_battery() {
    let battery = Battery { capacity_j: 0.03 * KWH_J, ..BATTERY };
    let out = incident(IncidentKind::PowerOut, (1.0, 10.0));
    let (recorder, report) = run(behind(at_rest(), Some(battery), Some(GENERATOR)), &out, Vec::new(), 12.0);
    assert_eq!(hours(&recorder, EventKind::BatteryFeeds), [1.0]);
    assert_eq!(hours(&recorder, EventKind::GeneratorFeeds).len(), 1);
    assert_eq!(hours(&recorder, EventKind::NobodyFeeds), [0.0; 0]);
    assert_eq!(outages(&report).dark_s, 0.0);
}

/// Whether a well pump and a membrane unit ever run at once in an outage of a day, and how long the unit ran.
fn at_once(one_motor: bool) -> (bool, f64) {
    struct Both(bool);
    impl Observer for Both {
        fn row(&mut self, sample: &Sample<'_>) {
            self.0 |= sample.pump_on[0] && sample.membrane.on;
        }
    }
    let plant = build(behind(on_a_membrane(), None, Some(Generator { one_motor, ..GENERATOR })));
    let outside = incident(IncidentKind::PowerOut, (0.0, 24.0));
    let options = Options { grid: Some(Span::from_s(1.0)), ..Options::default() };
    let mut both = Both(false);
    let draws = [draw(10.0, 40_000.0, 0.1)].into_iter();
    let mut engine = Engine::start(&plant, &outside, draws, options, &mut both).expect("starts");
    engine.run_until(Time::from_s(12.0 * HOUR_S), &mut both).expect("runs");
    (both.0, engine.report().totals.membrane.run_s)
}

#[test]
fn one_big_motor_at_a_time() {
    let (both, free_s) = at_once(false);
    assert!(both && free_s > 600.0, "{free_s} s");
    let (both, waiting_s) = at_once(true);
    assert!(!both && waiting_s > 60.0, "{waiting_s} s");
}

/// A pump of 1 kW and more on 300 W: it trips, rests, and trips again.
#[test]
fn pumps_alone_can_be_too_much() {
    let generator = Generator { power_w: 300.0, ..GENERATOR };
    let out = incident(IncidentKind::PowerOut, (0.5, 24.0));
    let draws = vec![draw(HOUR_S, 40_000.0, 0.3)];
    let (recorder, report) = run(behind(at_rest(), None, Some(generator)), &out, draws, 24.0);
    let overloads: Vec<_> = recorder.events.iter().filter(|event| event.kind == EventKind::Overload).collect();
    assert!(overloads.iter().all(|event| event.part == Part::Site && event.value > 300.0));
    let trips = usize::try_from(outages(&report).trips).expect("a count");
    assert_eq!(trips, overloads.len());
    assert!(overloads.len() > 1);
    // It rests for five minutes after each.
    let dark_s = outages(&report).dark_s;
    assert!(dark_s >= 300.0 * f64::from(u32::try_from(trips - 1).expect("few")), "{dark_s} s dark in {trips} trips");
}

/// An element of 4.5 kW is put off before a pump is, and comes back after a quarter of an hour.
#[test]
fn heaters_give_way_first() {
    let mut place = heater(Source::Electric(Elements::TYPICAL));
    (place.start_c, place.settings.set_c) = (20.0, 80.0);
    let hot_water = HotWater { heaters: vec![place], rooms: vec![room("closet")] };
    let battery = Battery { capacity_j: 50.0 * KWH_J, power_w: 4_000.0, ..BATTERY };
    let parts = behind(Parts { hot_water, ..at_rest() }, Some(battery), None);
    let out = incident(IncidentKind::PowerOut, (1.0, 2.0));
    let (recorder, report) = run(parts, &out, Vec::new(), 3.0);
    let overloads: Vec<_> = recorder.events.iter().filter(|event| event.kind == EventKind::Overload).collect();
    assert!(overloads.iter().all(|event| event.part == Part::Heater(0)), "{overloads:?}");
    // A minute of heat, then fifteen without: four times in the hour.
    assert_eq!(overloads.len(), 4, "{overloads:?}");
    assert_eq!(outages(&report).trips, 0);
    let heated_j = recorder.hot_rows[120].heaters_j - recorder.hot_rows[60].heaters_j;
    assert!((heated_j - 4.0 * 60.0 * 4_500.0).abs() < 1.0, "{heated_j} J");
}

/// An element of 4.5 kW and a pump of about 0.9 kW never have a generator of 5 kW at once: nothing is too much, whenever it starts
/// and whatever is drawn within a minute.
#[test]
fn an_element_waits_for_the_pump() {
    let mut place = heater(Source::Electric(Elements::TYPICAL));
    (place.start_c, place.settings.set_c, place.heater.tank.volume_l) = (15.0, 80.0, 1_000.0);
    let hot_water = HotWater { heaters: vec![place], rooms: vec![room("closet")] };
    let start_after = Span::from_s(30.0);
    let generator = Generator { one_motor: true, start_after, ..GENERATOR };
    let parts = behind(Parts { hot_water, ..cycling(300.0) }, None, Some(generator));
    let out = incident(IncidentKind::PowerOut, (1.0, 4.0));
    let draws = (0..40).map(|i| draw(HOUR_S + 45.0 + 240.0 * f64::from(i), 47.3, 0.25)).collect();
    let (recorder, report) = run(parts, &out, draws, 5.0);
    let pumped = report.totals.supplies[0].pump_j;
    assert!(pumped > 0.1 * KWH_J, "{pumped} J");
    assert_eq!(hours(&recorder, EventKind::Overload), [0.0; 0]);
    // It waits for no longer than the pump runs.
    let heated_j = recorder.hot_rows[240].heaters_j - recorder.hot_rows[60].heaters_j;
    let most_j = 4_500.0 * 3.0 * HOUR_S;
    let waits_s = (most_j - heated_j) / 4_500.0;
    let runs_s = report.totals.supplies[0].run_s;
    assert!((30.0..=runs_s + 61.0).contains(&waits_s), "{waits_s} s for {runs_s} s");
}

/// With the first supply back a standby gives way, though its own pump has had the generator.
#[test]
fn one_motor_holds_no_change_over_back() {
    let backs = |one_motor: bool| {
        let mut parts = cycling(350.0);
        parts.supplies[0].standby = true;
        parts.supplies.push(town(false));
        let (after, back_after) = (Some(Span::from_s(600.0)), Span::from_s(1_800.0));
        parts.change_over = Some(ChangeOver { after, back_after });
        parts.power = SitePower { battery: None, generator: Some(Generator { one_motor, ..GENERATOR }), backup: ALL };
        let mut outside = incident(IncidentKind::PowerOut, (0.0, 12.0));
        let (start, end) = (Time::from_s(HOUR_S), Time::from_s(2.0 * HOUR_S));
        outside.incidents.push(Incident { kind: IncidentKind::SupplyOut { supply: 1 }, start, end });
        let (recorder, _) = run(parts, &outside, vec![draw(10.0, 40_000.0, 0.2)], 12.0);
        recorder.times_s(EventKind::ChangesBack)
    };
    assert!(!backs(false).is_empty());
    assert_eq!(backs(true), backs(false));
}

fn sunny(hours: std::ops::Range<usize>, solar_w: f64, other_w: f64) -> Vec<PowerHour> {
    let hour = |h: usize| PowerHour {
        solar_w: if hours.contains(&(h % 24)) { solar_w } else { 0.0 },
        other_w,
        ..PowerHour::default()
    };
    (0..48).map(hour).collect()
}

/// Hours of the day at which the unit of a plant starts over two days, under a draw that its storage covers for a day.
fn starts(hours: RunHours) -> Vec<f64> {
    let mut parts = on_a_membrane();
    if let Some(membrane) = &mut parts.membrane {
        membrane.hours = Some(hours);
    }
    let outside = Outside { power: sunny(10..14, 3_000.0, 800.0), ..Outside::default() };
    let (recorder, _) = run(parts, &outside, vec![draw(10.0, 170_000.0, 0.02)], 48.0);
    recorder.times_s(EventKind::MembraneStarts).iter().map(|s| s / HOUR_S % 24.0).collect()
}

#[test]
fn a_membrane_unit_keeps_to_its_hours() {
    let clock = |h: f64| Span::from_s(h * HOUR_S);
    let low = || RunHours { windows: Vec::new(), surplus_w: None, urgent_l: 500.0, relaxed_l: 1_000.0 };
    let by_clock = starts(RunHours { windows: vec![(clock(22.0), clock(2.0))], ..low() });
    assert!(!by_clock.is_empty() && by_clock.iter().all(|h| *h >= 22.0 || *h < 2.0), "{by_clock:?}");
    // 2200 W are left from ten to two.
    let by_sun = starts(RunHours { surplus_w: Some(2_200.0), ..low() });
    assert!(!by_sun.is_empty() && by_sun.iter().all(|h| (10.0..14.0).contains(h)), "{by_sun:?}");
    assert_eq!(starts(RunHours { surplus_w: Some(2_201.0), ..low() }), [0.0; 0]);
    assert_eq!(starts(low()), [0.0; 0]);
    // Floats call under 3500 L of the 4400 at the start: after 900 L at 0.02 L/s.
    let urgent = starts(RunHours { urgent_l: 3_600.0, relaxed_l: 4_600.0, ..low() });
    assert!(urgent.first().is_some_and(|h| (h - 12.5).abs() < 0.05), "{urgent:?}");
}

/// A tank that the sun may heat further does so in its hours alone, and only if enough is left.
#[test]
fn the_sun_heats_a_tank_further() {
    let after = |surplus_w: f64| {
        let mut place = heater(Source::Electric(Elements::TYPICAL));
        (place.start_c, place.settings.set_c) = (40.0, 52.0);
        place.settings.sun = Some(SunBoost { surplus_w, set_c: 70.0, mode: place.settings.mode });
        let hot_water = HotWater { heaters: vec![place], rooms: vec![room("closet")] };
        let outside = Outside { power: sunny(11..13, 5_000.0, 500.0), ..Outside::default() };
        let (recorder, _) = run(Parts { hot_water, ..at_rest() }, &outside, Vec::new(), 14.0);
        (recorder.hot_rows[11 * 60].heaters_j, recorder.hot_rows[13 * 60].outlet_c[0])
    };
    let (before_j, warm_c) = after(4_500.0);
    assert!(warm_c > 69.0 && warm_c < 72.0, "{warm_c} °C");
    let (before_too_j, cool_c) = after(4_501.0);
    assert!(cool_c < 53.0, "{cool_c} °C");
    assert!(before_j > 0.0 && before_j.to_bits() == before_too_j.to_bits(), "the same until then");
}
