//! Ponds under the sky: what a year of weather leaves in the books, salt that comes back, drought, ice, and how warm water is on its way.

use springhouse_core::basin::{Basin, BasinKind};
use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options, Report, State};
use springhouse_core::incident::{Incident, IncidentKind, Outside, TempStep};
use springhouse_core::membrane::element::Fouling;
use springhouse_core::observe::{Observer, Sample, Silent};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::pond::{Catchment, OpenWater, runoff_mm};
use springhouse_core::pump::PumpPower;
use springhouse_core::quality::{Constituent, Quality};
use springhouse_core::supply::{ChangeOver, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::town_line::TownLine;
use springhouse_core::weather::WeatherHour;
use springhouse_tests::plants::{
    build, curve, direct, draw, float_switch, on_a_membrane, pump, slow_well, tank, water,
};
use springhouse_tests::recorder::Recorder;

use crate::HOUR_S;

const SALT: usize = Constituent::Salt as usize;
const SOLIDS: usize = Constituent::Solids as usize;
const TEMP: usize = Constituent::Temperature as usize;

/// Open water that neither loses nor gains but by rain on it.
const STILL: OpenWater = OpenWater {
    catchment: None,
    evaporation_factor: 0.0,
    seepage_mm_day: 0.0,
    settling_m_day: 0.0,
    clearest_mg_l: 0.0,
};

/// A mild hour in which nothing falls and nothing evaporates.
const MILD: WeatherHour = WeatherHour {
    air_c: 12.0,
    dew_point_c: 8.0,
    wind_m_s: 2.0,
    sun_w_m2: 0.0,
    cloud: 0.5,
    rain_mm: 0.0,
    evaporation_mm: 0.0,
};

/// A trench of 60 m³, 2 m deep, with 60 m² at the brim, and 600 mg/L at 12 °C in it.
fn basin(start_l: f64, open: OpenWater) -> Basin {
    Basin {
        kind: BasinKind::Pond,
        capacity_l: 60e3,
        start_l,
        intake_l: 0.0,
        full_depth_m: 2.0,
        brim_height_m: 0.0,
        shape: 2.0,
        cutoff: None,
        top_up: None,
        open: Some(open),
    }
}

fn pond(basin: Basin) -> Supply {
    let power = PumpPower::Efficiency { best_flow_lps: 0.8, best_efficiency: 0.4 };
    let pump = pump(curve(60.0, (1.0, 38.0)), power, (280.0, 410.0));
    let quality = Quality { salt_mg_l: 600.0, solids_mg_l: 40.0, ..Quality::PURE };
    Supply { name: "pond".into(), source: Source::Basin { basin, pump }, quality, temp_c: 12.0, standby: false }
}

fn alone(basin: Basin) -> Parts {
    direct(pond(basin), tank(100.0, 260.0, 350.0))
}

fn main(temp_c: f64) -> Supply {
    let source = Source::TownLine(TownLine::new(500.0, (2.0, 400.0)));
    let quality = Quality { salt_mg_l: 600.0, ..Quality::PURE };
    Supply { name: "main".into(), source, quality, temp_c, standby: false }
}

fn under(weather: Vec<WeatherHour>) -> Outside {
    Outside { weather, ..Outside::default() }
}

/// The figures at some hours; what is due at the very hour is done.
fn at_hours<O: Observer>(
    plant: &Plant,
    outside: &Outside,
    draws: Vec<Draw>,
    hours: &[f64],
    observer: &mut O,
) -> Vec<Report> {
    let options = Options { grid: Some(Span::from_s(600.0)), ..Options::default() };
    let mut engine = Engine::start(plant, outside, draws.into_iter(), options, observer).expect("starts");
    let report = |hour: &f64| {
        engine.run_until(Time::from_s(HOUR_S * hour) + Span::from_ns(1), observer).expect("runs");
        let report = engine.report();
        books_close(&report);
        report
    };
    hours.iter().map(report).collect()
}

fn at_hour(parts: Parts, weather: Vec<WeatherHour>, draws: Vec<Draw>, hours: f64) -> Report {
    at_hours(&build(parts), &under(weather), draws, &[hours], &mut Silent).remove(0)
}

fn books_close(report: &Report) {
    let books = &report.ledger;
    assert!(books.residual_l().abs() <= 1e-9 * books.scale_l(), "{:?} L", books.residuals_l());
    for (k, residual_g) in books.carried.residuals_g().into_iter().enumerate() {
        assert!(
            residual_g.abs() <= 1e-9 * books.carried.scale_g(k),
            "constituent {k}: {residual_g} g of {}",
            books.carried.scale_g(k)
        );
    }
}

/// Weather that is nobody's: winter at -8 °C, summer at 24, rain or snow in one hour of twenty.
fn random_weather(hours: u32) -> Vec<WeatherHour> {
    let mut state = 1_u64;
    let mut random = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(state >> 33).expect("31 bits")) / 2_147_483_648.0
    };
    let hour = |hour: u32| {
        let [of_year, of_day] = [f64::from(hour) / 8_760.0, f64::from(hour % 24) / 24.0];
        let [summer, noon] = [of_year, of_day].map(|share| 1.0 - (2.0 * share - 1.0).abs());
        let air_c = -14.0 + 32.0 * summer + 6.0 * noon + 8.0 * (random() - 0.5);
        let sun_w_m2 = (noon - 0.4).max(0.0) * (400.0 + 700.0 * summer) * random();
        WeatherHour {
            air_c,
            dew_point_c: air_c - 8.0 * random(),
            wind_m_s: 5.0 * random(),
            sun_w_m2,
            cloud: random(),
            rain_mm: (random() - 0.95).max(0.0) * 160.0,
            evaporation_mm: 0.000_8 * sun_w_m2,
        }
    };
    (0..hours).map(hour).collect()
}

/// A year with a catchment, seepage and a house. Books of water, salt, solids and warmth close; what has fallen on the pond is
/// the rain on its brim's area, and snow, ice and mud have come and gone.
#[test]
fn exact_year_of_weather_in_the_books() {
    let land = Quality { salt_mg_l: 80.0, solids_mg_l: 120.0, ..Quality::PURE };
    let open = OpenWater {
        catchment: Some(Catchment { area_m2: 400.0, curve_number: 85.0, quality: land }),
        evaporation_factor: 1.05,
        seepage_mm_day: 2.0,
        settling_m_day: 0.5,
        clearest_mg_l: 3.0,
    };
    let weather = random_weather(8_760);
    let rain_mm: f64 = weather.iter().map(|hour| hour.rain_mm).sum();
    let days = (0..365).map(|day| draw(HOUR_S * 24.0 * f64::from(day) + 25_000.0, 900.0, 0.3)).collect();
    let report = at_hour(alone(basin(40e3, open)), weather, days, 8_760.0);
    let supply = &report.totals.supplies[0];
    assert!((supply.rain_l / (60.0 * rain_mm) - 1.0).abs() < 1e-9, "{} L for {rain_mm} mm", supply.rain_l);
    assert!((supply.inflow_l - supply.rain_l - supply.runoff_l).abs() < 1e-9 * supply.inflow_l);
    for (what, litres) in [("runoff", supply.runoff_l), ("air", supply.evaporated_l), ("ground", supply.seeped_l)] {
        assert!(litres > 10e3, "{litres} L: {what}");
    }
    assert!(supply.runoff_l < 400.0 * rain_mm && supply.spilled_l > 0.0, "{supply:?}");
    let seen = &report.tally.supplies[0].open;
    assert_eq!(seen.hours, 8_760);
    assert!(seen.ice_hours > 500 && seen.thickest_ice_m > 0.05 && seen.warmest_c > 20.0, "{seen:?}");
    assert!(report.ledger.carried.removed_g[SOLIDS] > 1_000.0, "{:?}", report.ledger.carried);
}

/// With nothing but evaporation all salt stays, so it goes up as the water goes down; from upright walls, in a straight line.
#[test]
fn exact_evaporation_leaves_the_salt() {
    for (shape, area_m2) in [(1.0, 30.0), (2.0, 60.0), (3.0, 90.0)] {
        let open = OpenWater { evaporation_factor: 1.05, ..STILL };
        let dry = WeatherHour { sun_w_m2: 200.0, evaporation_mm: 0.3, ..MILD };
        let parts = alone(Basin { shape, ..basin(50e3, open) });
        let report = at_hour(parts, vec![dry; 2_000], Vec::new(), 1_000.0);
        let (left_l, gone_l) = (report.sources[0], report.totals.supplies[0].evaporated_l);
        assert!((left_l + gone_l - 50e3).abs() < 1e-6 && gone_l > 8e3, "{left_l} and {gone_l} L");
        if shape == 1.0 {
            assert!((gone_l - 1_000.0 * 1.05 * 0.3 * area_m2).abs() < 1e-6, "{gone_l} L");
        }
        let salt_mg_l = report.sources_carry[0][SALT];
        // A thousand sums.
        assert!((salt_mg_l * left_l / (600.0 * 50e3) - 1.0).abs() < 1e-12, "{salt_mg_l} mg/L in {left_l} L");
    }
}

/// A cloudburst: what the land sheds brings its salt, what falls on the pond brings none.
#[test]
fn exact_runoff_brings_its_salt() {
    let land = Catchment { area_m2: 800.0, curve_number: 80.0, quality: Quality { salt_mg_l: 100.0, ..Quality::PURE } };
    let open = OpenWater { catchment: Some(land), ..STILL };
    let mut weather = vec![MILD; 10];
    weather[2].rain_mm = 30.0;
    weather[3].rain_mm = 20.0;
    let report = at_hour(alone(basin(30e3, open)), weather, Vec::new(), 9.0);
    // S = 63.5 mm: 37.3² / 100.8 of 50 mm.
    let (rain_l, runoff_l) = (60.0 * 50.0, 800.0 * 37.3 * 37.3 / 100.8);
    assert!((runoff_mm(50.0, 80.0) * 800.0 - runoff_l).abs() < 1e-9);
    assert!((report.sources[0] - 30e3 - rain_l - runoff_l).abs() < 1e-6, "{} L", report.sources[0]);
    let expected = (600.0 * 30e3 + 100.0 * runoff_l) / report.sources[0];
    assert!((report.sources_carry[0][SALT] / expected - 1.0).abs() < 1e-12, "{:?}", report.sources_carry[0]);
}

/// Solids sink as `exp(-w t / d)` to what never does: a metre on average, 0.5 m a day.
#[test]
fn exact_solids_sink() {
    let open = OpenWater { settling_m_day: 0.5, clearest_mg_l: 4.0, ..STILL };
    let report = at_hour(alone(Basin { shape: 2.0, ..basin(60e3, open) }), vec![MILD; 73], Vec::new(), 72.0);
    let expected = 4.0 + 36.0 * libm::exp(-0.5 * 3.0);
    assert!((report.sources_carry[0][SOLIDS] - expected).abs() < 1e-9, "{:?}", report.sources_carry[0]);
    let settled_g = 1e-3 * 60e3 * (40.0 - expected);
    assert!((report.ledger.carried.removed_g[SOLIDS] - settled_g).abs() < 1e-6);
}

/// A pond in reserve that takes the unit's reject, put in by hand, and a house behind storage for three days.
fn circling(reject_circles: bool) -> Report {
    let mut parts = on_a_membrane();
    let big = Basin { capacity_l: 200e3, start_l: 100e3, open: None, ..basin(0.0, STILL) };
    parts.supplies.push(Supply { standby: true, ..pond(big) });
    parts.change_over = Some(ChangeOver { after: None, back_after: Span::ZERO });
    if let Some(membrane) = &mut parts.membrane {
        (membrane.reject_to, membrane.reject_circles) = (Some(1), reject_circles);
    }
    let (start, end) = (Time::ZERO, Time::from_s(1e7));
    let by_hand = Incident { kind: IncidentKind::StandbyByHand, start, end };
    let outside = Outside { incidents: vec![by_hand], ..Outside::default() };
    let draws = vec![draw(0.0, 72.0 * HOUR_S, 0.15)];
    at_hours(&build(parts), &outside, draws, &[72.0], &mut Silent).remove(0)
}

/// Reject that goes back into the pond it came from leaves all but the product's salt there. With a share `s` of the salt in the
/// product, `c = c_0 (V / V_0)^(s - 1)`; to a drain, it stays as it was.
#[test]
fn exact_salt_ratchets_where_the_reject_circles() {
    let report = circling(false);
    assert_eq!(report.totals.supplies[1].returned_l, 0.0);
    assert!((report.sources_carry[1][SALT] - 600.0).abs() < 1e-9, "{:?}", report.sources_carry[1]);

    let report = circling(true);
    let (supply, salt_mg_l) = (&report.totals.supplies[1], report.sources_carry[1][SALT]);
    let left = report.sources[1] / 100e3;
    assert!(supply.returned_l > 20e3 && left < 0.75, "{supply:?}");
    let parts = on_a_membrane();
    let unit = parts.membrane.as_ref().expect("is there").unit.at(12.0, Fouling::CLEAN, &water());
    // The share that passes, between that of the first and the last water, at cut-out and cut-in.
    let share =
        |kpa: f64, feed_mg_l: f64| unit.steady(kpa, feed_mg_l).expect("runs").flows.product_salt_mg_l() / feed_mg_l;
    let expected = |share: f64| 600.0 * libm::pow(left, share - 1.0);
    let [most, least] = [share(410.0, 600.0), share(280.0, salt_mg_l)].map(expected);
    // The loop of 15 L is some times as salty as the pond, and the tank holds what the pond was before: litres of 60 m³.
    assert!((0.999 * least..1.001 * most).contains(&salt_mg_l), "{salt_mg_l} between {least} and {most} mg/L");
}

/// How low the water of the first source has been.
struct Lowest {
    water_l: f64,
}

impl Observer for Lowest {
    fn row(&mut self, sample: &Sample<'_>) {
        self.water_l = self.water_l.min(sample.sources[0]);
    }
}

/// A pond with upright walls that is drawn and dried out never holds less than nothing; rain brings both pond and pump back.
fn drought(intake_l: f64) {
    let open = OpenWater { evaporation_factor: 1.05, seepage_mm_day: 40.0, ..STILL };
    let dry = WeatherHour { sun_w_m2: 300.0, evaporation_mm: 0.6, ..MILD };
    let mut weather = vec![dry; 240];
    weather[200..210].fill(WeatherHour { rain_mm: 20.0, ..MILD });
    let plant = build(alone(Basin { intake_l, shape: 1.0, ..basin(4_000.0, open) }));
    let draws = vec![draw(0.0, 240.0 * HOUR_S, 0.05)];
    let mut lowest = Lowest { water_l: f64::INFINITY };
    let [wet, dry, after] =
        at_hours(&plant, &under(weather), draws, &[5.0, 199.0, 212.0], &mut lowest).try_into().expect("three");
    // The drought leaves a puddle of a litre, or nothing where the pump has taken that too.
    assert!((-1e-6..=1.01).contains(&lowest.water_l), "{} L", lowest.water_l);
    assert!(dry.sources[0] <= 1.01 && wet.sources[0] > 1_000.0, "{} L", dry.sources[0]);
    let salt = |report: &Report| report.sources_carry[0].iter().all(|c| c.is_finite() && *c >= 0.0);
    assert!([&wet, &dry, &after].into_iter().all(salt), "{:?}", after.sources_carry);
    let given_l = |report: &Report| report.totals.supplies[0].pumped_l;
    // Twelve hours of 0.05 L/s, out of 6 m³ of rain.
    assert!(given_l(&after) - given_l(&dry) > 1_500.0, "{} L", given_l(&after) - given_l(&dry));
    assert!(after.sources[0] > 3_000.0, "{} L", after.sources[0]);
}

#[test]
fn drought_down_to_the_intake_ends_with_rain() {
    drought(500.0);
}

#[test]
fn drought_to_the_last_drop_ends_with_rain() {
    drought(0.0);
}

/// The pump takes all but some litres early in an hour and stops, or it is all but dry from the start: air and ground get no more than
/// there is.
#[test]
fn losses_go_on_to_the_last_drop_and_no_further() {
    let open = OpenWater { evaporation_factor: 1.05, seepage_mm_day: 40.0, ..STILL };
    // 69 L an hour from 30 m².
    let dry = WeatherHour { sun_w_m2: 300.0, evaporation_mm: 0.6, ..MILD };
    for (draws, hours) in [(vec![draw(0.0, 600.0, 0.58)], 1.0), (Vec::new(), 20.0)] {
        let mut lowest = Lowest { water_l: f64::INFINITY };
        let plant = build(alone(Basin { shape: 1.0, ..basin(400.0, open.clone()) }));
        let report = at_hours(&plant, &under(vec![dry]), draws, &[hours], &mut lowest).remove(0);
        assert!(lowest.water_l.min(report.sources[0]) >= -1e-6, "{} L", report.sources[0]);
    }
}

/// Evaporation has taken the water below the intake. A drizzle must first fill the pond up to it: until then the pump draws air.
#[test]
fn exact_rain_fills_up_to_the_intake_first() {
    let open = OpenWater { evaporation_factor: 1.05, ..STILL };
    let mut weather = vec![WeatherHour { sun_w_m2: 300.0, evaporation_mm: 0.6, ..MILD }; 120];
    // 300 L an hour.
    weather.resize(150, WeatherHour { rain_mm: 5.0, ..MILD });
    let plant = build(alone(Basin { intake_l: 3_000.0, ..basin(3_000.0, open) }));
    let draws = vec![draw(0.0, 150.0 * HOUR_S, 0.2)];
    let [dry, drizzle] =
        at_hours(&plant, &under(weather), draws, &[120.0, 122.0], &mut Silent).try_into().expect("two");
    assert!(dry.sources[0] < 2_500.0, "{} L", dry.sources[0]);
    assert!((drizzle.sources[0] - dry.sources[0] - 600.0).abs() < 1e-6, "{} L", drizzle.sources[0] - dry.sources[0]);
    assert_eq!(drizzle.totals.supplies[0].pumped_l, dry.totals.supplies[0].pumped_l);
}

/// The last hour of weather warms the water as it would with more to come.
#[test]
fn last_hour_of_weather_counts() {
    let sunny = WeatherHour { sun_w_m2: 600.0, ..MILD };
    let [short, long] = [24, 25].map(|hours| at_hour(alone(basin(30e3, STILL)), vec![sunny; hours], Vec::new(), 24.0));
    assert_eq!(short.sources_carry[0], long.sources_carry[0]);
}

/// Ice keeps the air off: nothing evaporates from the hour after it has come until it is gone.
#[test]
fn exact_ice_stops_evaporation() {
    let open = OpenWater { evaporation_factor: 1.0, ..STILL };
    let frost = WeatherHour { air_c: -12.0, dew_point_c: -14.0, evaporation_mm: 0.1, ..MILD };
    let thaw = WeatherHour { air_c: 9.0, sun_w_m2: 250.0, evaporation_mm: 0.1, ..MILD };
    let weather = [vec![frost; 400], vec![thaw; 400]].concat();
    let parts = alone(Basin { shape: 1.0, ..basin(40e3, open) });
    let hours: Vec<f64> = (0..800).map(f64::from).collect();
    let reports = at_hours(&build(parts), &under(weather), Vec::new(), &hours, &mut Silent);
    let evaporated_l = |report: &Report| report.totals.supplies[0].evaporated_l;
    let mut iced = 0;
    for pair in reports.windows(2) {
        // 0.1 mm from 30 m².
        let expected_l = if pair[0].ponds[0].ice_m > 0.0 { 0.0 } else { 3.0 };
        iced += u32::from(pair[0].ponds[0].ice_m > 0.0);
        let found_l = evaporated_l(&pair[1]) - evaporated_l(&pair[0]);
        assert!((found_l - expected_l).abs() < 1e-8, "{found_l} for {expected_l} L");
    }
    let last = reports.last().expect("the last");
    assert!((100..780).contains(&iced) && last.ponds[0].ice_m == 0.0, "{iced} hours");
    assert_eq!(u64::from(iced), last.tally.supplies[0].open.ice_hours);
}

/// Makes water at the pressure of a main; the flows of the hours from the fourth to the sixth.
fn membrane_on_a_main(feed_temp_c: f64, temps: Vec<TempStep>) -> [f64; 2] {
    let mut parts = on_a_membrane();
    (parts.supplies, parts.pressure_tank) = (vec![main(feed_temp_c)], None);
    if let (Some(store), Some(membrane)) = (&mut parts.store, &mut parts.membrane) {
        store.storage.start_l = 1_000.0;
        membrane.feed_temp_c = feed_temp_c;
    }
    let outside = Outside { temps, ..Outside::default() };
    let draws = vec![draw(0.0, 6.0 * HOUR_S, 0.15)];
    let [from, to] = at_hours(&build(parts), &outside, draws, &[4.0, 6.0], &mut Silent).try_into().expect("two");
    let made = to.totals.membrane;
    let before = from.totals.membrane;
    assert!((made.run_s - before.run_s - 2.0 * HOUR_S).abs() < 1e-9, "{made:?}");
    [made.product_l - before.product_l, made.product_salt_g - before.product_salt_g]
}

/// Feed that cools from 20 to 8 °C brings the unit to what one makes that was built at 8 °C.
#[test]
fn membrane_follows_the_temperature_of_its_feed() {
    let step = TempStep { time: Time::from_s(HOUR_S), supply: 0, temp_c: 8.0 };
    let [warm, cold, cooled] = [(20.0, Vec::new()), (8.0, Vec::new()), (20.0, vec![step])]
        .map(|(at_c, temps)| membrane_on_a_main(at_c, temps));
    assert!(cold[0] < 0.8 * warm[0] && cold[1] < 0.6 * warm[1], "{cold:?} for {warm:?}");
    for (cooled, cold) in cooled.into_iter().zip(cold) {
        // Operating curves are good to a thousandth or two.
        assert!((cooled / cold - 1.0).abs() < 2e-3, "{cooled} for {cold}");
    }
}

/// Storage is as warm as what came into it: 1000 L at 12 °C and 3500 L at 20 °C.
#[test]
fn exact_storage_is_as_warm_as_what_came() {
    let mut parts = slow_well(float_switch());
    (parts.supplies, parts.pressure_tank) = (vec![main(12.0)], None);
    if let Some(store) = &mut parts.store {
        store.storage.start_l = 1_000.0;
    }
    let temps = vec![TempStep { time: Time::ZERO, supply: 0, temp_c: 20.0 }];
    let outside = Outside { temps, ..Outside::default() };
    let report = at_hours(&build(parts), &outside, Vec::new(), &[6.0], &mut Silent).remove(0);
    assert!((report.totals.filled_l - 3_500.0).abs() < 1e-6, "{} L", report.totals.filled_l);
    let expected_c = (1_000.0 * 12.0 + 3_500.0 * 20.0) / 4_500.0;
    assert!((report.storage_carries[TEMP] - expected_c).abs() < 1e-9, "{:?}", report.storage_carries);
}

/// Rows, and a save in the middle of an hour, change no bit of a pond in the weather.
#[test]
fn rows_and_saves_change_no_bit() {
    let open = OpenWater { evaporation_factor: 1.05, seepage_mm_day: 3.0, settling_m_day: 0.5, ..STILL };
    let (plant, outside) = (build(alone(basin(30e3, open))), under(random_weather(200)));
    let draws = || (0..190).map(|hour| draw(HOUR_S * f64::from(hour) + 700.0, 1_500.0, 0.2));
    let end = Time::from_s(180.3 * HOUR_S);
    let whole = |grid_s: Option<f64>| {
        let options = Options { grid: grid_s.map(Span::from_s), ..Options::default() };
        let mut engine = Engine::start(&plant, &outside, draws(), options, &mut Silent).expect("starts");
        engine.run_until(end, &mut Silent).expect("runs");
        engine.report()
    };
    let expected = whole(None);
    assert_eq!(whole(Some(61.0)), expected);
    assert_eq!(whole(Some(3_600.0)), expected);

    let options = Options::default();
    let mut recorder = Recorder::default();
    let mut engine = Engine::start(&plant, &outside, draws(), options.clone(), &mut recorder).expect("starts");
    for cut_h in [0.5, 30.41, 77.0, 120.999] {
        engine.run_until(Time::from_s(cut_h * HOUR_S), &mut recorder).expect("runs");
        let saved = serde_json::to_string(&engine.save()).expect("saves");
        let state: State = serde_json::from_str(&saved).expect("restores");
        engine = Engine::resume(&plant, &outside, draws(), options.clone(), state).expect("resumes");
    }
    engine.run_until(end, &mut recorder).expect("runs");
    assert_eq!(engine.report(), expected);
}

/// A pond that is ice but for some litres has no water for its pump, whatever stands in it.
#[test]
fn ice_is_no_water_for_the_pump() {
    let frost = WeatherHour { air_c: -25.0, dew_point_c: -28.0, ..MILD };
    let thaw = WeatherHour { air_c: 15.0, sun_w_m2: 400.0, ..MILD };
    let weather = [vec![frost; 900], vec![thaw; 300]].concat();
    // 0.3 m of water.
    let parts = alone(Basin { shape: 1.0, full_depth_m: 1.0, capacity_l: 60e3, ..basin(18e3, STILL) });
    let draws = vec![draw(800.0 * HOUR_S, 300.0 * HOUR_S, 0.02)];
    let [frozen, thawed] =
        at_hours(&build(parts), &under(weather), draws, &[890.0, 1_190.0], &mut Silent).try_into().expect("two");
    let ice_l = 917.0 * frozen.ponds[0].ice_m * 60.0;
    assert!(ice_l > 12e3 && frozen.sources[0] >= ice_l - 100.0, "{ice_l} of {} L are ice", frozen.sources[0]);
    let given_l = |report: &Report| report.totals.supplies[0].pumped_l;
    assert!(given_l(&frozen) < 0.02 * 90.0 * HOUR_S - 500.0, "{} L", given_l(&frozen));
    assert!(frozen.tally.supplies[0].suction_losses.count > 0);
    let gave_l = given_l(&thawed) - given_l(&frozen);
    assert!(
        gave_l > 5e3 && thawed.ponds[0].ice_m == 0.0,
        "{gave_l} L, ice {} m, {} L",
        thawed.ponds[0].ice_m,
        thawed.sources[0]
    );
}
