//! Open water under the sky against published values, and against its differential equations solved elsewhere.

use springhouse_core::basin::{Basin, BasinKind};
use springhouse_core::draw::Draw;
use springhouse_core::engine::{Engine, Options};
use springhouse_core::incident::Outside;
use springhouse_core::observe::Silent;
use springhouse_core::plant::Parts;
use springhouse_core::pond::{Catchment, Exchange, OpenWater, PondState, runoff_mm, temp_after_hour_c};
use springhouse_core::pump::{PumpPower, SupplyPump};
use springhouse_core::quality::{Constituent, Quality};
use springhouse_core::supply::{Control, Drive, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::water::vapour_pressure_kpa;
use springhouse_core::weather::WeatherHour;
use springhouse_tests::plants::{build, curve, direct, draw, tank, water};

use crate::table::Table;
use crate::units::IN_MM;

/// Sixty days of two ponds; made by `t16_pond.py`.
const TABLE: &str = include_str!("../data/16_pond.csv");

const KPA_MMHG: f64 = 101.325 / 760.0;
const DAY_S: f64 = 86_400.0;

fn weather(air_c: f64, dew_point_c: f64, wind_m_s: f64, sun_w_m2: f64) -> WeatherHour {
    WeatherHour { air_c, dew_point_c, wind_m_s, sun_w_m2, cloud: 0.0, rain_mm: 0.0, evaporation_mm: 0.0 }
}

fn basin(shape: f64) -> Basin {
    Basin {
        kind: BasinKind::Pond,
        capacity_l: 600e3,
        start_l: 450e3,
        intake_l: 20e3,
        full_depth_m: 2.5,
        brim_height_m: 0.0,
        shape,
        cutoff: None,
        top_up: None,
        open: None,
    }
}

/// NRCS, National engineering handbook, part 630, chapter 10 (and Technical Release 55, table 2-1): inches of runoff by inches of
/// rain and curve number. Values from memory; each was worked out again by hand, as for 4 in on 80: S = 2.5 in, 3.5² / 6 = 2.04.
#[test]
fn external_runoff_of_the_curve_number() {
    let table = [
        (1.0, [(80.0, 0.08), (90.0, 0.32), (98.0, 0.79)]),
        (2.0, [(70.0, 0.24), (80.0, 0.56), (90.0, 1.09)]),
        (4.0, [(60.0, 0.76), (80.0, 2.04), (90.0, 2.92)]),
        (5.0, [(70.0, 2.04), (80.0, 2.89), (90.0, 3.88)]),
        (6.0, [(60.0, 1.92), (75.0, 3.28), (95.0, 5.41)]),
    ];
    for (rain_in, row) in table {
        for (curve_number, expected_in) in row {
            let found_in = runoff_mm(IN_MM * rain_in, curve_number) / IN_MM;
            assert!((found_in - expected_in).abs() <= 0.005, "{found_in} in of {rain_in} on {curve_number}");
        }
    }
    // Nothing until a fifth of the retention is filled; all of it from a paved yard.
    assert_eq!((runoff_mm(12.7, 80.0), runoff_mm(33.0, 100.0)), (0.0, 33.0));
}

/// The same handbook, chapter 11: 0.06 in of melt for a degree Fahrenheit and day (from memory; it has 0.035 to 0.13). A day at 5 °C,
/// nine degrees above freezing, melts 0.54 in.
#[test]
fn external_melt_of_a_degree_day() {
    let land = Catchment { area_m2: 1_000.0, curve_number: 100.0, quality: Quality::PURE };
    let open = OpenWater {
        catchment: Some(land),
        evaporation_factor: 0.0,
        seepage_mm_day: 0.0,
        settling_m_day: 0.0,
        clearest_mg_l: 0.0,
    };
    let mut state = PondState { snow_mm: 100.0, ..PondState::default() };
    let mut melted_l = 0.0;
    for _ in 0..24 {
        let flows = open.hour(&basin(1.0), 450e3, &mut state, &weather(5.0, 0.0, 2.0, 0.0));
        melted_l += 3_600.0 * flows.runoff_lps;
    }
    assert!((melted_l / 1_000.0 / IN_MM - 0.54).abs() < 1e-12, "{melted_l} L");
}

/// Wind at 7 m for one at 2 m: ln(67.8 x 7 - 5.42) / 4.87, FAO-56, equation 47.
const AT_7_M: f64 = 1.263_0;

/// Slope of the vapour pressure, mmHg/K: the exchange at two winds differs by `(slope + 0.47) 0.46 u²`.
fn slope_mmhg_k(temp_c: f64) -> f64 {
    let [calm, windy] =
        [0.0, 10.0].map(|wind_m_s| Exchange::of(temp_c, &weather(temp_c, temp_c, wind_m_s / AT_7_M, 0.0)).w_m2_k);
    (windy - calm) / 46.0 - 0.47
}

/// The slope of the vapour pressure in the exchange is that of Wagner and Pruss within a hundredth.
#[test]
fn external_slope_of_the_vapour_pressure() {
    for temp_c in (1..=35).map(f64::from) {
        let rise_kpa = vapour_pressure_kpa(temp_c + 0.5) - vapour_pressure_kpa(temp_c - 0.5);
        let (found, expected) = (slope_mmhg_k(temp_c), rise_kpa / KPA_MMHG);
        assert!((found / expected - 1.0).abs() < 0.01, "{found} for {expected} mmHg/K at {temp_c} °C");
    }
}

/// Worked out by hand for water and air of 20 °C, a dew point of 12 °C, 2 m/s, 200 W/m² of sun and no cloud: `e_s` 2.3383 and `e` 1.4026
/// kPa, a sky of 0.8032, long waves -79.94, `f` 12.135, evaporation 85.17, in all 22.89 W/m²; K = 5.543 + 18.878 = 24.421, even at
/// 20.9374 °C; in an hour a metre of water goes 2.0764 % of the way.
#[test]
fn external_exchange_by_hand() {
    let hour = weather(20.0, 12.0, 2.0, 200.0);
    let found = Exchange::of(20.0, &hour);
    assert!((found.w_m2_k - 24.421).abs() < 1e-3 && (found.even_c - 20.937_4).abs() < 2e-4, "{found:?}");
    let after_c = temp_after_hour_c(1.0, 20.0, &mut PondState::default(), &hour);
    assert!((after_c - 20.019_46).abs() < 1e-5, "{after_c} °C");
}

/// J. E. Edinger, D. K. Brady and J. C. Geyer, Heat exchange and transport in the environment (1974): 15 to 50 W/(m² K) in their charts
/// (from memory), for water of 10 to 30 °C in winds of 2 to 5 m/s.
#[test]
fn external_exchange_is_as_charted() {
    for temp_c in [10.0, 15.0, 20.0, 25.0, 28.0] {
        for wind_m_s in [2.0, 3.0, 4.0, 5.0] {
            let found = Exchange::of(temp_c, &weather(temp_c, temp_c - 4.0, wind_m_s / AT_7_M, 0.0)).w_m2_k;
            assert!((15.0..=50.0).contains(&found), "{found} W/(m² K) at {temp_c} °C and {wind_m_s} m/s");
        }
    }
}

/// Where pond water ends up in steady weather.
fn settled_c(hour: &WeatherHour) -> f64 {
    let mut temp_c = 15.0;
    for _ in 0..5_000 {
        temp_c = temp_after_hour_c(1.0, temp_c, &mut PondState::default(), hour);
    }
    temp_c
}

/// The shortcut of D. K. Brady, W. L. Graves and J. C. Geyer (Edison Electric Institute RP-49, 1969; from memory), made for cooling lakes in
/// humid country: `T = T_dew + 0.94 sun / K`, `K = 4.5 + 0.05 T + (beta + 0.47) f`. It knows neither the sky nor the air's own warmth.
fn shortcut_c(hour: &WeatherHour) -> f64 {
    let mut temp_c = hour.air_c;
    for _ in 0..50 {
        let mean_c = 0.5 * (temp_c + hour.dew_point_c);
        let beta = 0.35 + 0.015 * mean_c + 0.0012 * mean_c * mean_c;
        let wind_m_s = AT_7_M * hour.wind_m_s;
        let exchange = 4.5 + 0.05 * temp_c + (beta + 0.47) * (9.2 + 0.46 * wind_m_s * wind_m_s);
        temp_c = hour.dew_point_c + 0.94 * hour.sun_w_m2 / exchange;
    }
    temp_c
}

/// Where the air is as humid as it was made for, the shortcut is met: a dew point 4 to 8 K under the air, a clear sky. With 12 K it is
/// 2.6 K too cold at 4 m/s already, since it does not know how warm the air is.
#[test]
fn external_equilibrium_of_cooling_lakes() {
    for dew_point_c in [12.0, 16.0] {
        for (wind_m_s, sun_w_m2) in [(1.0, 250.0), (2.0, 250.0), (4.0, 250.0), (2.0, 120.0)] {
            let hour = weather(20.0, dew_point_c, wind_m_s, sun_w_m2);
            let (found_c, expected_c) = (settled_c(&hour), shortcut_c(&hour));
            assert!((found_c - expected_c).abs() < 2.0, "{found_c} for {expected_c} °C: {hour:?}");
        }
    }
}

/// Still water in air as warm and as humid, under a sky of cloud alone and without sun, loses next to nothing: it stays.
#[test]
fn exact_water_like_its_air_stays() {
    for temp_c in [2.0, 12.0, 30.0] {
        let hour = WeatherHour { cloud: 1.0, ..weather(temp_c, temp_c, 3.0, 0.0) };
        let exchange = Exchange::of(temp_c, &hour);
        // Cloud closes 0.84 of the gap between a clear sky and a black one: 16 % of some 80 W/m² are left.
        assert!((0.0..1.2).contains(&(temp_c - exchange.even_c)), "{exchange:?}");
    }
}

/// Centimetres of ice over the root of the degree days of frost, for a pond at freezing in steady frost of 10 °C.
fn ice_cm(days: u32) -> f64 {
    let (mut state, mut temp_c) = (PondState::default(), 0.0);
    for _ in 0..24 * days {
        temp_c = temp_after_hour_c(3.0, temp_c, &mut state, &weather(-10.0, -12.0, 2.0, 0.0));
    }
    100.0 * state.ice_m
}

/// G. D. Ashton (1989): `(h + k / H)² = (k / H)² + 2 k S / (rho L)`. Hourly steps run ahead by about half of the
/// first, which grows 2.4 mm.
#[test]
fn exact_ice_grows_as_the_root_of_the_degree_days() {
    let (resistance_m, latent_j_m3) = (2.22 / 20.0, 917.0 * 334e3);
    for days in [5, 15, 50] {
        let degree_s = 10.0 * DAY_S * f64::from(days);
        let expected_m = (resistance_m * resistance_m + 2.0 * 2.22 * degree_s / latent_j_m3).sqrt() - resistance_m;
        let found_m = 0.01 * ice_cm(days);
        assert!((found_m - expected_m).abs() < 1.2e-3, "{found_m} for {expected_m} m in {days} days");
    }
}

/// US Army Corps of Engineers, Ice engineering: `h = alpha sqrt(S)`, cm and °C days, alpha 3.5 at most by Stefan's law, 2.7 for a windy
/// lake without snow, 1.7 to 2.4 for an average lake with snow (from memory). Ours has no snow on it: at 50 and 100 degree
/// days it is under that of the windy lake, later over it.
#[test]
fn external_ice_without_snow() {
    let alpha = |days: u32| ice_cm(days) / (10.0 * f64::from(days)).sqrt();
    for days in [5, 10] {
        assert!((1.7..=2.7).contains(&alpha(days)), "{} in {days} days", alpha(days));
    }
    for days in [30, 100] {
        assert!((2.7..3.5).contains(&alpha(days)), "{} in {days} days", alpha(days));
    }
}

/// The hours of the table, as its script has them.
fn table_hour(hour: u32) -> WeatherHour {
    let (day, of_day) = (hour / 24, hour % 24);
    let [d, k] = [day, of_day].map(f64::from);
    let of = |number: u32| f64::from(number);
    let noon = (k - 11.5) / 7.0;
    let sun_w_m2 = (1.0 - noon * noon).max(0.0) * (350.0 + 90.0 * of(day * 7 % 6));
    let rains = day % 7 == 3 && (8..14).contains(&of_day);
    WeatherHour {
        air_c: 8.0 + 0.15 * d + 6.0 * (1.0 - (k - 15.0).abs() / 9.0) + (of(day * 5 % 7) - 3.0),
        dew_point_c: 4.0 + 0.15 * d + 0.5 * of(day * 3 % 5),
        wind_m_s: 1.0 + 0.25 * of(of_day % 12),
        sun_w_m2,
        cloud: of(day * 3 % 8) / 10.0,
        rain_mm: if rains { [2.0, 9.0][(day % 14 / 7) as usize] } else { 0.0 },
        evaporation_mm: 0.03 + 0.000_7 * sun_w_m2,
    }
}

/// The pond of the table, with a pump that gives just what is drawn, and a pressure tank that holds next to nothing.
fn table_pond(table: &Table, shape: f64) -> Parts {
    let land = Quality { salt_mg_l: table.given("LAND_SALT"), ..Quality::PURE };
    let open = OpenWater {
        catchment: Some(Catchment { area_m2: table.given("LAND"), curve_number: table.given("CN"), quality: land }),
        evaporation_factor: table.given("FACTOR"),
        seepage_mm_day: table.given("SEEPAGE"),
        settling_m_day: 0.5,
        clearest_mg_l: 0.0,
    };
    let basin = Basin {
        capacity_l: table.given("CAPACITY"),
        full_depth_m: table.given("DEPTH"),
        start_l: table.given("START"),
        open: Some(open),
        ..basin(shape)
    };
    let drive = Drive {
        set_kpa: 350.0,
        wake_kpa: 300.0,
        sleep_flow_lps: 0.02,
        sleep_delay: Span::from_s(30.0),
        standby_w: 8.0,
    };
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let pump = SupplyPump::new(curve(60.0, (0.9, 40.0)), None, &water(), power, 0.0, Control::Drive(drive));
    let quality = Quality { salt_mg_l: table.given("SALT"), ..Quality::PURE };
    let source = Source::Basin { basin, pump };
    let pond = Supply { name: "pond".into(), source, quality, temp_c: table.given("TEMP"), standby: false };
    direct(pond, tank(0.1, 210.0, 340.0))
}

/// Volume, salt and temperature of two ponds at the end of each of sixty days, against their differential equations with a surface that
/// moves all the time. Ours goes by the hour, and may be off by what the table's script found that hours do, half of it being left with
/// half hours. Beyond that there are the tank of 0.1 L and the digits of what was found.
#[test]
fn external_sixty_days_of_a_pond() {
    let table = Table::read(TABLE);
    for shape in [1.0, 2.5] {
        let plant = build(table_pond(&table, shape));
        let outside = Outside { weather: (0..=1_440).map(table_hour).collect(), ..Outside::default() };
        let days = (0..60).filter(|day| day % 5 == 2);
        let draws: Vec<Draw> = days.map(|day| draw(DAY_S * f64::from(day) + 21_600.0, 43_200.0, 0.3)).collect();
        let mut engine =
            Engine::start(&plant, &outside, draws.into_iter(), Options::default(), &mut Silent).expect("starts");
        let held = |what: &str, part: &str| table.given(&format!("{part}_{what}_{shape:.1}"));
        let mut worst = [0.0_f64; 3];
        for row in table.rows().filter(|row| row.number("shape") == shape) {
            // The hour gone by has its effect at the full hour itself.
            engine.run_until(Time::from_s(DAY_S * row.number("day")) + Span::from_ns(1), &mut Silent).expect("runs");
            let report = engine.report();
            let carried = report.sources_carry[0];
            let found =
                [report.sources[0], carried[Constituent::Salt as usize], carried[Constituent::Temperature as usize]];
            for ((worst, found), column) in worst.iter_mut().zip(found).zip(["volume_l", "salt_mg_l", "temp_c"]) {
                *worst = worst.max((found - row.number(column)).abs());
            }
        }
        for ((worst, what), slack) in worst.into_iter().zip(["l", "mg_l", "c"]).zip([0.01, 1e-4, 1e-4]) {
            let most = held(what, "hour") + slack;
            assert!(worst < most, "{worst} over {most} {what}, shape {shape}");
        }
    }
}
