//! Days by formula: a year on a well and a pond under the sky, with a membrane unit; parts of it, and a real month.

use jiff::civil::date;
use springhouse_core::observe::{EventKind, Part, Totals, Trouble};
use springhouse_core::plant::{Parts, Plant};
use springhouse_core::pond::{Catchment, OpenWater};
use springhouse_core::quality::Quality;
use springhouse_core::supply::{Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::weather::WeatherHour;
use springhouse_scenario::Units;
use springhouse_sim::{
    Day, DayWeather, Finding, FindingKind, OpenWaterSummary, RunOptions, SupplySummary, WeatherSummary, run,
};

use crate::invented::{Case, HOUSES, event, finding, sound};
use crate::membrane::{into_a_pond, membrane, parts, with_pond};

/// The pond's place among the supplies.
pub(crate) const POND: usize = 1;
const CAPACITY_L: f64 = 200_000.0;

pub(crate) fn open_water() -> OpenWater {
    OpenWater {
        catchment: Some(Catchment { area_m2: 4_000.0, curve_number: 75.0, quality: Quality::PURE }),
        evaporation_factor: 1.05,
        seepage_mm_day: 1.0,
        settling_m_day: 0.1,
        clearest_mg_l: 5.0,
    }
}

/// Opens every basin of a plant to the sky.
fn opened(mut parts: Parts) -> Parts {
    for supply in &mut parts.supplies {
        if let Source::Basin { basin, .. } = &mut supply.source {
            basin.open = Some(open_water());
        }
    }
    parts
}

/// 1 in the height of a northern summer, -1 half a year away; the run starts on 3 August.
fn summer(day: u32) -> f64 {
    let turn = f64::from(day) / 365.0 * core::f64::consts::TAU;
    turn.cos()
}

/// A number between 0 and 1 that looks like chance.
fn chance(day: u32, salt: u32) -> f64 {
    f64::from((day.wrapping_mul(7_919) ^ salt.wrapping_mul(104_729)) % 997) / 997.0
}

fn weather(day: u32) -> DayWeather {
    let air_c = 10.0 + 13.0 * summer(day) + 8.0 * (chance(day, 1) - 0.5);
    let rain_mm = if chance(day, 2) < 0.3 { 28.0 * chance(day, 3).powi(2) } else { 0.0 };
    DayWeather {
        air_c,
        low_c: air_c - 5.0 - 2.0 * chance(day, 4),
        high_c: air_c + 5.0 + 2.0 * chance(day, 5),
        rain_mm,
        evaporation_mm: (2.6 + 2.3 * summer(day)).max(0.2),
        sun_mj_m2: 13.0 + 9.0 * summer(day),
    }
}

/// The days on which the well pump is out, and the pond feeds alone.
fn well_is_out(day: u32) -> bool {
    (40..58).contains(&day) || (250..253).contains(&day)
}

fn day(number: u32, pond: &mut f64, salt_g: &mut f64) -> Day {
    let weather = weather(number);
    let temp_c = (11.0 + 12.0 * summer(number.saturating_sub(12))).max(0.3);
    let fed_by_pond = well_is_out(number) || number % 9 == 4;
    let (well_l, pond_l) = if well_is_out(number) { (0.0, 1_900.0) } else { (1_400.0, 500.0) };
    let (well_l, pond_l) = if number % 9 == 4 { (300.0, 1_600.0) } else { (well_l, pond_l) };
    let mut totals = Totals::default();
    totals.supplies[0].pumped_l = well_l;
    totals.supplies[0].inflow_l = well_l;
    totals.supplies[0].pump_j = 3.6e6 * well_l / 1_000.0;
    totals.supplies[0].run_s = well_l * 2.0;
    let of_pond = &mut totals.supplies[POND];
    of_pond.pumped_l = pond_l;
    of_pond.pump_j = 2.9e6 * pond_l / 1_000.0;
    of_pond.run_s = pond_l * 2.0;
    of_pond.rain_l = 120.0 * weather.rain_mm;
    of_pond.runoff_l = 400.0 * (weather.rain_mm - 9.0).max(0.0);
    of_pond.inflow_l = of_pond.rain_l + of_pond.runoff_l;
    of_pond.evaporated_l = 105.0 * weather.evaporation_mm;
    of_pond.seeped_l = 90.0;
    of_pond.returned_l = 420.0;
    let gain_l = of_pond.inflow_l + of_pond.returned_l - pond_l - of_pond.evaporated_l - of_pond.seeped_l;
    of_pond.spilled_l = (*pond + gain_l - CAPACITY_L).max(0.0);
    *salt_g += 0.42 * 900.0 - 1e-3 * (*salt_g * 1e3 / *pond) * (pond_l + 90.0 + of_pond.spilled_l);
    *pond = (*pond + gain_l).clamp(2_000.0, CAPACITY_L);
    let feed_c = if fed_by_pond { temp_c } else { 11.0 + 0.12 * (temp_c - 11.0) };
    let stands = (100..104).contains(&number);
    if !stands {
        totals.membrane.run_s = 39_600.0 + 3_600.0 * chance(number, 6);
        totals.membrane.product_l = totals.membrane.run_s / 3_600.0 * 88.0 * (1.0 + 0.03 * (feed_c - 12.0))
            - totals.membrane.run_s * 1e-3 * chance(number, 7);
        totals.membrane.diverted_l = 12.0;
        totals.membrane.flushed_l = 40.0;
        totals.membrane.pump_j = 500.0 * totals.membrane.run_s;
        totals.filled_l = totals.membrane.product_l - 12.0;
        totals.taken_l = totals.filled_l + 460.0;
    }
    totals.delivery_j = 1.2e6;
    let short = well_is_out(number) && number % 4 == 1;
    totals.outlets[0].delivered_l = 560.0 + 60.0 * chance(number, 8);
    totals.outlets[1].delivered_l = 210.0;
    totals.outlets[2].delivered_l = 120.0;
    totals.outlets[0].lost_l = if short { 75.0 } else { 0.0 };
    Day {
        totals,
        starts: [11, 4, 0],
        run_out_s: if short { 1_800.0 } else { 0.0 },
        sources: [1.25, *pond, 0.0],
        salt_mg_l: [600.0, 1e3 * *salt_g / *pond, 0.0],
        solids_mg_l: [0.0, 12.0 + 20.0 * chance(number, 9), 0.0],
        temp_c: [11.0, temp_c, 0.0],
        ice_m: [0.0, if temp_c < 1.0 { 0.12 - 0.05 * temp_c } else { 0.0 }, 0.0],
        feed_temp_c: feed_c,
        product_salt_mg_l: 9.0 + 4.0 * chance(number, 10),
        storage_l: 1_700.0 - 200.0 * chance(number, 11),
        stored_j: 0.0,
        heaters: Vec::new(),
        weather: Some(weather),
    }
}

/// A year, or so many days of it, in which the well pump is out for weeks.
pub(crate) fn season(days: u32) -> Case {
    let mut case = sound(days, &HOUSES, true, 1_440);
    let parts = opened(with_pond(parts(membrane())));
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    case.scenario.prices_per_m3 = vec![None; 2];
    let (mut pond_l, mut salt_g) = (120_000.0, 120.0 * 250.0);
    case.outcome.days = (0..days).map(|number| day(number, &mut pond_l, &mut salt_g)).collect();
    for (from, to) in [(40, 58), (250, 253)].into_iter().filter(|(from, _)| *from < i64::from(days)) {
        case.outcome.events.push(event(from, 0.0, Part::Pump(0), EventKind::IncidentBegins(Trouble::Out), 0.0));
        case.outcome.events.push(event(to, 0.0, Part::Pump(0), EventKind::IncidentEnds(Trouble::Out), 0.0));
    }
    case.outcome.events.sort_by_key(|event| event.time);
    summarise(&mut case);
    case
}

fn iso(case: &Case, day: usize) -> String {
    let first = case.scenario.start.to_datetime(jiff::civil::Time::midnight());
    let at = first.checked_add(jiff::Span::new().days(i64::try_from(day + 1).unwrap())).unwrap();
    at.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// Figures that go with the days.
fn summarise(case: &mut Case) {
    let days = case.outcome.days.clone();
    let pond_days = || days.iter().enumerate().map(|(number, day)| (number, day.sources[POND]));
    let (lowest_on, lowest_l) = pond_days().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let salts = || days.iter().enumerate().map(|(number, day)| (number, day.salt_mg_l[POND]));
    let (saltiest_on, saltiest) = salts().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let temps = || days.iter().enumerate().map(|(number, day)| (number, day.temp_c[POND]));
    let (warmest_on, warmest_c) = temps().max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let sum = |of: &dyn Fn(&Day) -> f64| days.iter().map(of).sum::<f64>();
    let of_pond = |of: fn(&springhouse_core::observe::SupplyTotals) -> f64| sum(&|day| of(&day.totals.supplies[POND]));
    let icy_days = u64::try_from(days.iter().filter(|day| day.ice_m[POND] > 0.0).count()).unwrap();
    let open = OpenWaterSummary {
        rain_l: of_pond(|pond| pond.rain_l),
        runoff_l: of_pond(|pond| pond.runoff_l),
        evaporated_l: of_pond(|pond| pond.evaporated_l),
        seeped_l: of_pond(|pond| pond.seeped_l),
        start_salt_mg_l: 250.0,
        most_salt_mg_l: saltiest,
        most_salt_at: iso(case, saltiest_on),
        coldest_c: temps().map(|(_, temp_c)| temp_c).fold(f64::INFINITY, f64::min),
        warmest_c,
        warmest_at: iso(case, warmest_on),
        ice_hours: 24 * icy_days,
        thickest_ice_m: days.iter().map(|day| day.ice_m[POND]).fold(0.0, f64::max),
    };
    let known = || days.iter().filter_map(|day| day.weather);
    let count = f64::from(u32::try_from(days.len()).unwrap());
    let weather = WeatherSummary {
        rain_mm: known().map(|day| day.rain_mm).sum(),
        wet_days: u64::try_from(known().filter(|day| day.rain_mm >= 1.0).count()).unwrap(),
        reference_evaporation_mm: known().map(|day| day.evaporation_mm).sum(),
        mean_air_c: known().map(|day| day.air_c).sum::<f64>() / count,
        coldest_c: known().map(|day| day.low_c).fold(f64::INFINITY, f64::min),
        warmest_c: known().map(|day| day.high_c).fold(f64::NEG_INFINITY, f64::max),
    };
    let pond = SupplySummary {
        name: "pond".to_owned(),
        kind: "pond".to_owned(),
        standby: true,
        given_l: of_pond(|pond| pond.pumped_l),
        inflow_l: of_pond(|pond| pond.inflow_l),
        returned_l: Some(of_pond(|pond| pond.returned_l)),
        spilled_l: Some(of_pond(|pond| pond.spilled_l)),
        deepest_drawdown_m: None,
        lowest_l: Some(lowest_l),
        lowest_at: Some(iso(case, lowest_on)),
        end_l: days.last().map(|day| day.sources[POND]),
        salt_mg_l: days.last().map_or(0.0, |day| day.salt_mg_l[POND]),
        open_water: Some(open),
        ..case.outcome.summary.supplies[0].clone()
    };
    let summary = &mut case.outcome.summary;
    summary.weather = Some(weather);
    summary.supplies.truncate(1);
    summary.supplies.push(pond);
    let at = |iso: &str| Some(iso.to_owned());
    let short = || days.iter().filter(|day| day.run_out_s > 0.0);
    summary.water.short_l = short().map(|day| day.totals.outlets[0].lost_l).sum();
    summary.water.run_outs = u64::try_from(short().count()).unwrap();
    summary.water.run_out_minutes = short().map(|day| day.run_out_s / 60.0).sum();
    summary.verdict.holds = summary.water.run_outs == 0;
    let run_out = Finding {
        count: Some(summary.water.run_outs),
        minutes: Some(summary.water.run_out_minutes),
        litres: Some(summary.water.short_l),
        ..finding(FindingKind::RunOut, true, "Main house")
    };
    summary.verdict.findings = (!summary.verdict.holds).then_some(run_out).into_iter().collect();
    summary.verdict.findings.extend([
        Finding { at: at("2026-10-01T00:00:00"), ..finding(FindingKind::PondSaltier, false, "pond") },
        Finding {
            at: at("2026-10-02T00:00:00"),
            litres: Some(2_000.0),
            ..finding(FindingKind::PondDry, false, "pond")
        },
        Finding {
            minutes: Some(1_440.0 * f64::from(u32::try_from(icy_days).unwrap())),
            ..finding(FindingKind::PondFroze, false, "pond")
        },
    ]);
}

/// The same days of a plant that has no pond, no membrane unit and no weather.
pub(crate) fn plain(days: u32) -> Case {
    let mut case = sound(days, &HOUSES, true, 1_440);
    case.outcome.days = season(days).outcome.days;
    for day in &mut case.outcome.days {
        day.weather = None;
        day.totals.supplies[POND] = springhouse_core::observe::SupplyTotals::default();
    }
    case
}

/// A second pond, which has no ice and is not told of in the summary.
pub(crate) fn two_ponds(days: u32) -> Case {
    let mut case = season(days);
    let mut parts = Parts::clone(&case.scenario.plant);
    let second = Supply { name: "lower pond".to_owned(), ..parts.supplies[POND].clone() };
    parts.supplies.push(second);
    case.scenario.plant = Plant::try_new(parts).expect("the invented plant can be built");
    case.scenario.prices_per_m3.push(None);
    for (number, day) in (0_u32..).zip(&mut case.outcome.days) {
        day.sources[2] = 150_000.0 - 600.0 * f64::from(number % 200);
        day.temp_c[2] = day.temp_c[POND] + 3.0;
        day.salt_mg_l[2] = 300.0;
        day.totals.supplies[2].pumped_l = 240.0;
    }
    case.outcome.summary.supplies.push(SupplySummary {
        name: "lower pond".to_owned(),
        open_water: None,
        ..case.outcome.summary.supplies[POND].clone()
    });
    case
}

/// A month of a real run under an invented sky, with all kept.
pub(crate) fn real_month() -> Case {
    const DAYS: u32 = 28;
    let mut scenario = into_a_pond(1).scenario;
    scenario.days = DAYS;
    scenario.plant = Plant::try_new(opened(Parts::clone(&scenario.plant))).expect("the invented plant can be built");
    for day in 0..DAYS {
        let start = date(2026, 8, 3).at(8, 0, 0, 0).checked_add(jiff::Span::new().days(day)).unwrap();
        let flow = springhouse_core::draw::Flow::from_lps(0.12);
        scenario.dated_draws.push(springhouse_scenario::DatedDraw {
            outlet: 0,
            start,
            length: Span::from_s(5_400.0),
            flow,
        });
    }
    let hour = |hour: u32| {
        let (day, of_day) = (hour / 24, f64::from(hour % 24));
        let sun = (core::f64::consts::PI * (of_day - 6.0) / 12.0).sin().max(0.0);
        WeatherHour {
            air_c: 14.0 + 6.0 * sun,
            dew_point_c: 9.0,
            wind_m_s: 2.0,
            sun_w_m2: 700.0 * sun,
            cloud: 0.3,
            rain_mm: if day % 6 == 2 && hour % 24 < 6 { 5.0 } else { 0.0 },
            evaporation_mm: 0.5 * sun,
        }
    };
    let weather = (0..24 * DAYS).map(hour).collect();
    let options = RunOptions { grid: Some(Span::HOUR), weather, daily: true, ..RunOptions::from_scenario(&scenario) };
    let outcome = run(&scenario, &options, &mut |_| ()).expect("the invented plant runs");
    scenario.dated_draws.clear();
    Case { scenario, outcome }
}

/// Every case with days, for the pictures.
pub(crate) fn cases() -> Vec<(&'static str, Case, Units)> {
    vec![
        ("season_year", season(365), Units::Us),
        ("season_year_metric", season(365), Units::Metric),
        ("season_month", season(28), Units::Metric),
        ("season_quarter", season(100), Units::Us),
        ("season_two_ponds", two_ponds(420), Units::Metric),
        ("season_plain", plain(90), Units::Us),
        ("season_real", real_month(), Units::Us),
        ("season_years", season(1_500), Units::Us),
    ]
}

/// The instant at which a day ends.
pub(crate) fn end_of(day: usize) -> Time {
    Time::from_day(i64::try_from(day + 1).unwrap())
}
