use super::*;
use crate::basin::BasinKind;

fn basin() -> Basin {
    Basin {
        kind: BasinKind::Pond,
        capacity_l: 900_000.0,
        start_l: 900_000.0,
        intake_l: 0.0,
        full_depth_m: 3.0,
        brim_height_m: 0.0,
        shape: 2.0,
        cutoff: None,
        top_up: None,
        open: None,
    }
}

fn open() -> OpenWater {
    OpenWater {
        catchment: None,
        evaporation_factor: 1.05,
        seepage_mm_day: 4.8,
        settling_m_day: 0.5,
        clearest_mg_l: 2.0,
    }
}

fn hour() -> WeatherHour {
    WeatherHour {
        air_c: 20.0,
        dew_point_c: 12.0,
        wind_m_s: 2.0,
        sun_w_m2: 400.0,
        cloud: 0.3,
        rain_mm: 3.0,
        evaporation_mm: 0.4,
    }
}

/// 900 m3 in a trench 3 m deep have 600 m2 of surface, a quarter of them 300 m2.
#[test]
fn exact_rates_are_depths_on_areas() {
    let mut state = PondState::default();
    let flows = open().hour(&basin(), 225_000.0, &mut state, &hour());
    let lps = |litres_in_an_hour: f64| litres_in_an_hour / 3_600.0;
    for (found, expected) in [
        (flows.rain_lps, lps(3.0 * 600.0)),
        (flows.evaporates_lps, lps(1.05 * 0.4 * 300.0)),
        (flows.seeps_lps, lps(0.2 * 300.0)),
    ] {
        assert!((found / expected - 1.0).abs() < 1e-14, "{found} for {expected}");
    }
    assert_eq!((flows.runoff_lps, flows.temp_c), (0.0, 20.0));
    state.ice_m = 0.01;
    assert_eq!(open().hour(&basin(), 225_000.0, &mut state, &hour()).evaporates_lps, 0.0);
}

#[test]
fn a_pond_dries_up_to_a_puddle_and_no_further() {
    let open = OpenWater { seepage_mm_day: 1_000.0, ..open() };
    let flat = Basin { shape: 1.0, ..basin() };
    let (mut volume_l, mut state) = (3_000.0, PondState::default());
    for _ in 0..10_000 {
        let flows = open.hour(&flat, volume_l, &mut state, &WeatherHour { rain_mm: 0.0, ..hour() });
        volume_l -= 3_600.0 * flows.lost_lps();
    }
    assert!((volume_l - PUDDLE_L).abs() < 1e-9, "{volume_l} L");
    let flows = open.hour(&flat, 0.0, &mut state, &hour());
    assert_eq!(flows.lost_lps(), 0.0);
}

#[test]
fn runoff_counts_the_rain_since_the_catchment_was_dry() {
    let catchment = Catchment { area_m2: 1_000.0, curve_number: 80.0, quality: Quality::PURE };
    let rain = |rain_mm| WeatherHour { rain_mm, ..hour() };
    let mut state = PondState::default();
    let mut sum_mm = 0.0;
    for rain_mm in [10.0, 20.0, 0.0, 15.0] {
        sum_mm += catchment.runs_off_mm(&mut state, &rain(rain_mm));
    }
    assert!((sum_mm - runoff_mm(45.0, 80.0)).abs() < 1e-12, "{sum_mm}");
    for _ in 0..11 {
        assert_eq!(catchment.runs_off_mm(&mut state, &rain(0.0)), 0.0);
    }
    // Eleven dry hours are a pause, twelve an end.
    assert!(catchment.runs_off_mm(&mut state.clone(), &rain(1.0)) > 0.0);
    assert_eq!(catchment.runs_off_mm(&mut state, &rain(0.0)), 0.0);
    assert_eq!(catchment.runs_off_mm(&mut state, &rain(12.0)), 0.0, "dry ground takes the first 12.7 mm");
}

#[test]
fn snow_waits_for_a_thaw() {
    let catchment = Catchment { area_m2: 1_000.0, curve_number: 100.0, quality: Quality::PURE };
    let mut state = PondState::default();
    let cold = WeatherHour { air_c: -5.0, rain_mm: 2.0, ..hour() };
    for _ in 0..5 {
        assert_eq!(catchment.runs_off_mm(&mut state, &cold), 0.0);
    }
    assert_eq!(state.snow_mm, 10.0);
    // 2.74 mm a day for each degree.
    let thaw = WeatherHour { air_c: 4.0, rain_mm: 0.0, ..hour() };
    let melts_mm = catchment.runs_off_mm(&mut state, &thaw);
    assert!((melts_mm - 4.0 * 0.06 * 25.4 * 1.8 / 24.0).abs() < 1e-14, "{melts_mm}");
    let all_mm: f64 = melts_mm + (0..40).map(|_| catchment.runs_off_mm(&mut state, &thaw)).sum::<f64>();
    assert!((all_mm - 10.0).abs() < 1e-12 && state.snow_mm == 0.0, "{all_mm}");
}

/// In steady weather water comes to the equilibrium, on the way the distance falls as an exponential in 1 / depth.
#[test]
fn exact_water_goes_to_the_equilibrium() {
    let (mut state, weather) = (PondState::default(), hour());
    let mut temp_c = 5.0;
    for _ in 0..20_000 {
        temp_c = temp_after_hour_c(2.0, temp_c, &mut state, &weather);
    }
    let even_c = Exchange::of(temp_c, &weather).even_c;
    assert!((temp_c - even_c).abs() < 1e-9, "{temp_c} for {even_c}");
    // The share left after an hour is an exponential in 1 / depth, but for the middle about which it is straightened.
    let left = |depth_m: f64| {
        let from_c = 10.0;
        let even_c = Exchange::of(from_c, &weather).even_c;
        let after_c = temp_after_hour_c(depth_m, from_c, &mut PondState::default(), &weather);
        libm::log((after_c - even_c) / (from_c - even_c))
    };
    assert!((left(100.0) / left(300.0) - 3.0).abs() < 1e-4);
    // A film of water is warmed at once, and never beyond boiling.
    let hot = WeatherHour { air_c: 45.0, sun_w_m2: 1_000.0, wind_m_s: 0.5, ..hour() };
    let film_c = temp_after_hour_c(0.011, 0.0, &mut PondState::default(), &hot);
    assert!((30.0..60.0).contains(&film_c), "{film_c}");
}

#[test]
fn exact_ice_has_one_balance_of_frost_and_sun() {
    let change_mm = |air_c: f64, sun_w_m2: f64| {
        let mut state = PondState { ice_m: 0.3, ..PondState::default() };
        let after_c = temp_after_hour_c(1.5, 0.0, &mut state, &WeatherHour { air_c, sun_w_m2, ..hour() });
        assert_eq!(after_c, 0.0);
        1e3 * (state.ice_m - 0.3)
    };
    // 0.4 of 600 W/m² melt 2.82 mm, and less by what frost takes: none at -12 °C.
    assert!((change_mm(0.0, 600.0) + 240.0 * HOUR_S / ICE_J_M3 * 1e3).abs() < 1e-12);
    assert!((change_mm(-0.01, 600.0) - change_mm(0.0, 600.0)).abs() < 0.01);
    assert!(change_mm(-12.0, 600.0).abs() < 1e-12);
    let conducted_w_m2 = 200.0 / (1.0 + 20.0 * 0.3 / 2.22);
    assert!((change_mm(-10.0, 0.0) - conducted_w_m2 * HOUR_S / ICE_J_M3 * 1e3).abs() < 1e-12);
}

#[test]
fn cold_nights_do_not_dry_the_ground_under_snow() {
    let catchment = Catchment { area_m2: 1_000.0, curve_number: 74.0, quality: Quality::PURE };
    let mut state = PondState { snow_mm: 100.0, ..PondState::default() };
    let mut ran_off_mm = 0.0;
    for h in 0..21 * 24 {
        let air_c = if h % 24 < 8 { 5.0 } else { -3.0 };
        ran_off_mm += catchment.runs_off_mm(&mut state, &WeatherHour { air_c, rain_mm: 0.0, ..hour() });
    }
    let melted_mm = 100.0 - state.snow_mm;
    assert!(melted_mm > 90.0 && (ran_off_mm - runoff_mm(melted_mm, 74.0)).abs() < 1e-9, "{ran_off_mm} of {melted_mm}");
}

#[test]
fn cold_water_makes_ice_and_ice_keeps_its_books() {
    let frost = WeatherHour { air_c: -10.0, dew_point_c: -12.0, sun_w_m2: 0.0, ..hour() };
    let mut state = PondState::default();
    let mut temp_c = 0.01;
    temp_c = temp_after_hour_c(1.5, temp_c, &mut state, &frost);
    assert_eq!(temp_c, 0.0);
    assert!(state.ice_m > 0.0);
    for _ in 0..30 * 24 {
        temp_c = temp_after_hour_c(1.5, temp_c, &mut state, &frost);
    }
    // Stefan's bound of 300 degree days, without resistance to the air: h = sqrt(2 k S / (rho L)).
    let bound_m = (2.0 * ICE_W_M_K * 300.0 * 86_400.0 / ICE_J_M3).sqrt();
    assert!((0.6 * bound_m..bound_m).contains(&state.ice_m), "{} m under a bound of {bound_m}", state.ice_m);
    // Warm water under ice melts it from below, by just the heat that it loses.
    let mut warm = PondState { ice_m: 0.3, ..PondState::default() };
    let even = WeatherHour { air_c: 0.0, ..frost };
    let after_c = temp_after_hour_c(1.5, 4.0, &mut warm, &even);
    assert!(after_c < 4.0 && after_c > 3.99);
    assert!(((0.3 - warm.ice_m) * ICE_J_M3 / (WATER_J_M3_K * 1.5 * (4.0 - after_c)) - 1.0).abs() < 1e-9);
    let thaw = WeatherHour { air_c: 8.0, ..frost };
    let hours = (0..2_000).find(|_| {
        temp_c = temp_after_hour_c(1.5, temp_c, &mut state, &thaw);
        state.ice_m == 0.0
    });
    assert!(hours.is_some());
}
