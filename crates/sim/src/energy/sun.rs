//! What panels make of the light of an hour.

use springhouse_core::pressure_tank::standard_atmosphere_kpa;
use springhouse_core::solar::{Light, Sun, cell_c};
use springhouse_core::weather::WeatherHour;
use springhouse_scenario::energy::SunOnRoof;
use springhouse_weather::sky::clear_sky_w_m2;
use springhouse_weather::{Place, sun};

const HOURS_A_DAY: f64 = 24.0;

/// The middle of an hour.
const MIDDLE_H: f64 = 0.5;

/// With the sun so high in the middle of an hour, it is up in all of it: it moves by 7.5° in half of one.
const SURELY_UP_DEG: f64 = 82.0;

/// Half an hour halved so often is two seconds.
const HALVINGS: u32 = 10;

/// No more light of an hour is split than that of a clear sky so many times over: a tenth for mountain air, as much for bright
/// clouds beside the sun. What is over it comes from all of the sky. Our own choice.
const MOST_OVER_CLEAR: f64 = 1.2;

/// The sun of an hour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SunOfHour {
    /// Where it stands in the middle of the time in which it is up; in the middle of the hour where it never is.
    pub sun: Sun,
    /// Part of the hour in which it is up, 0 to 1.
    pub up_share: f64,
}

impl SunOfHour {
    /// The sun of the hour that begins at an instant in days from J2000.0 (see [`Place::midnight_j2000`]).
    #[must_use]
    pub fn at(place: &Place, begin_j2000: f64, air_c: f64) -> Self {
        let pressure_kpa = standard_atmosphere_kpa(place.elevation_m);
        let after = |hours: f64| {
            let instant = begin_j2000 + hours / HOURS_A_DAY;
            let it = sun::Sun::at(place, instant);
            let zenith_deg = it.apparent_zenith_deg(pressure_kpa, air_c);
            Sun { zenith_deg, azimuth_deg: it.azimuth_deg, extra_w_m2: sun::extra_radiation_w_m2(instant) }
        };
        let middle = after(MIDDLE_H);
        if middle.zenith_deg < SURELY_UP_DEG {
            return Self { sun: middle, up_share: 1.0 };
        }
        let is_up = |hours: f64| after(hours).zenith_deg < 90.0;
        match up_between([is_up(0.0), middle.zenith_deg < 90.0, is_up(1.0)], is_up) {
            Some((from_h, to_h)) => Self { sun: after(0.5 * (from_h + to_h)), up_share: to_h - from_h },
            None => Self { sun: middle, up_share: 0.0 },
        }
    }

    /// Light while the sun is up, and while it is down, whose mean over the hour is so much global radiation.
    #[must_use]
    pub fn light(&self, global_w_m2: f64) -> [Light; 2] {
        let straight_w_m2 = global_w_m2.min(self.up_share * MOST_OVER_CLEAR * clear_sky_w_m2(self.sun.zenith_deg));
        let even_w_m2 = global_w_m2 - straight_w_m2;
        let down = Light { beam_w_m2: 0.0, diffuse_w_m2: even_w_m2, global_w_m2: even_w_m2 };
        if straight_w_m2 <= 0.0 {
            return [down, down];
        }
        let split = Light::split(straight_w_m2 / self.up_share, &self.sun);
        let up = Light {
            beam_w_m2: split.beam_w_m2,
            diffuse_w_m2: split.diffuse_w_m2 + even_w_m2,
            global_w_m2: split.global_w_m2 + even_w_m2,
        };
        [up, down]
    }
}

/// From when to when in an hour the sun is up, by whether it is at the hour's begin, middle and end; `None` where it is not.
fn up_between([begin, middle, end]: [bool; 3], is_up: impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    // Nearer and nearer to the horizon, and up.
    let horizon_h = |mut down_h: f64, mut up_h: f64| {
        for _ in 0..HALVINGS {
            let between_h = 0.5 * (down_h + up_h);
            *(if is_up(between_h) { &mut up_h } else { &mut down_h }) = between_h;
        }
        up_h
    };
    match (begin, middle, end) {
        (false, false, false) => None,
        (false, false, true) => Some((horizon_h(MIDDLE_H, 1.0), 1.0)),
        (false, true, false) => Some((horizon_h(0.0, MIDDLE_H), horizon_h(1.0, MIDDLE_H))),
        (false, true, true) => Some((horizon_h(0.0, MIDDLE_H), 1.0)),
        (true, false, false) => Some((0.0, horizon_h(MIDDLE_H, 0.0))),
        (true, true, false) => Some((0.0, horizon_h(1.0, MIDDLE_H))),
        // A sun of the far north that only dips under the horizon is as good as up.
        (true, _, true) => Some((0.0, 1.0)),
    }
}

/// Mean alternating power of panels over the hour that begins at an instant as for [`SunOfHour::at`].
///
/// Wind at the panels is that of the hour.
#[must_use]
pub fn solar_w(roof: &SunOnRoof, place: &Place, begin_j2000: f64, hour: &WeatherHour) -> f64 {
    if hour.sun_w_m2 <= 0.0 {
        return 0.0;
    }
    let over = SunOfHour::at(place, begin_j2000, hour.air_c);
    let power_w = |light: &Light| {
        let direct_w = roof.panels.iter().map(|field| {
            let plane_w_m2 = field.plane_w_m2(&over.sun, light, roof.sky);
            field.direct_w(plane_w_m2, cell_c(plane_w_m2, hour.air_c, hour.wind_m_s))
        });
        roof.inverter.alternating_w(direct_w.sum())
    };
    let [up, down] = over.light(hour.sun_w_m2);
    let down_w = if down.global_w_m2 > 0.0 { power_w(&down) } else { 0.0 };
    over.up_share * power_w(&up) + (1.0 - over.up_share) * down_w
}
