//! Where the sun stands, and what it sends.

use springhouse_core::solar::SOLAR_CONSTANT_W_M2;

use crate::place::Place;

/// The true height at which the upper rim of the sun appears or is gone: 34' of refraction and 16' of half its width
/// (common practice of almanacs).
const RISING_DEG: f64 = -50.0 / 60.0;

/// Where the centre of the sun stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sun {
    /// Angle from straight up, 0 to 180; below the horizon beyond 90. True, that is, without refraction.
    pub zenith_deg: f64,
    /// Direction from north over east, 0 to 360; 0 where it has none, straight up or down.
    pub azimuth_deg: f64,
}

impl Sun {
    /// The sun at an instant in days from J2000.0, universal time (see [`Place::midnight_j2000`]).
    ///
    /// Low-precision formulas of the Astronomical Almanac, section C (constants from memory): within 0.01° from 1950 to
    /// 2050, seen from the centre of the earth; 0.0024° of parallax are left out.
    #[must_use]
    pub fn at(place: &Place, days_j2000: f64) -> Self {
        let mean_longitude_deg = 280.460 + 0.985_647_4 * days_j2000;
        let (sin_anomaly, cos_anomaly) = sin_cos_deg(anomaly_deg(days_j2000));
        // The second term of the equation of the centre goes with the sine of twice the anomaly.
        let centre_deg = 1.915 * sin_anomaly + 0.020 * (2.0 * sin_anomaly * cos_anomaly);
        let (sin_longitude, cos_longitude) = sin_cos_deg(mean_longitude_deg + centre_deg);
        let (sin_obliquity, cos_obliquity) = sin_cos_deg(23.439 - 4e-7 * days_j2000);
        let greenwich_h = 18.697_374_558 + 24.065_709_824_419_08 * days_j2000;
        let (sin_sidereal, cos_sidereal) = sin_cos_deg(15.0 * (greenwich_h % 24.0) + place.longitude_deg);
        // The direction of the sun from the equinox is turned by the sidereal time instead of taking angles apart.
        let (x, y, z) = (cos_longitude, cos_obliquity * sin_longitude, sin_obliquity * sin_longitude);
        let (south, west) = (x * cos_sidereal + y * sin_sidereal, x * sin_sidereal - y * cos_sidereal);
        Self::seen(place.latitude_deg, [south, west, z])
    }

    /// The sun seen from a latitude at a declination and an hour angle, which is 0 at noon and positive after it.
    #[must_use]
    pub fn at_angles(latitude_deg: f64, declination_deg: f64, hour_angle_deg: f64) -> Self {
        let (sin_declination, cos_declination) = sin_cos_deg(declination_deg);
        let (sin_hour, cos_hour) = sin_cos_deg(hour_angle_deg);
        Self::seen(latitude_deg, [cos_declination * cos_hour, cos_declination * sin_hour, sin_declination])
    }

    /// A direction whose first axis points to where equator and meridian cross, the second west, the third along the
    /// earth's axis to the north.
    fn seen(latitude_deg: f64, [south, west, axis]: [f64; 3]) -> Self {
        let (sin_latitude, cos_latitude) = sin_cos_deg(latitude_deg);
        let up = sin_latitude * axis + cos_latitude * south;
        let north = cos_latitude * axis - sin_latitude * south;
        // Both from two legs of a triangle: an arc cosine would lose half the digits near the zenith.
        let zenith_deg = libm::atan2((north * north + west * west).sqrt(), up).to_degrees();
        let azimuth_deg = libm::atan2(-west, north).to_degrees();
        Self { zenith_deg, azimuth_deg: if azimuth_deg < 0.0 { azimuth_deg + 360.0 } else { azimuth_deg } }
    }

    /// The zenith angle as seen through the air, lifted by refraction.
    ///
    /// Sæmundsson, Sky & Telescope 72 (1986) 70, the inverse of Bennett's formula (J. Navigation 35 (1982) 255), with
    /// the usual factor for pressure and temperature: within 0.1' of each other for ordinary air above the horizon
    /// (constants and figure from memory). Once the sun has set the true angle is given back.
    #[must_use]
    pub fn apparent_zenith_deg(&self, pressure_kpa: f64, air_c: f64) -> f64 {
        let height_deg = 90.0 - self.zenith_deg;
        if height_deg < RISING_DEG {
            return self.zenith_deg;
        }
        let minutes = 1.02 / libm::tan((height_deg + 10.3 / (height_deg + 5.11)).to_radians());
        self.zenith_deg - minutes / 60.0 * (pressure_kpa / 101.0) * (283.0 / (273.0 + air_c))
    }
}

/// Radiation on a plane square to the sun above the air, at an instant as for [`Sun::at`].
///
/// [`SOLAR_CONSTANT_W_M2`] over the square of the distance, which is `1.00014 - 0.01671 cos g - 0.00014 cos 2g`
/// astronomical units at the anomaly `g` (Astronomical Almanac, section C; from memory): within 0.02 % from 1950 to
/// 2050.
#[must_use]
pub fn extra_radiation_w_m2(days_j2000: f64) -> f64 {
    let (_, cos) = sin_cos_deg(anomaly_deg(days_j2000));
    let distance = 1.000_14 - 0.016_71 * cos - 0.000_14 * (2.0 * cos * cos - 1.0);
    SOLAR_CONSTANT_W_M2 / (distance * distance)
}

/// Mean anomaly of the sun.
fn anomaly_deg(days_j2000: f64) -> f64 {
    357.528 + 0.985_600_3 * days_j2000
}

fn sin_cos_deg(angle_deg: f64) -> (f64, f64) {
    libm::sincos(angle_deg.to_radians())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn place() -> impl Strategy<Value = Place> {
        (-90.0..=90.0, -180.0..=180.0, -400.0..5_000.0).prop_map(|(latitude_deg, longitude_deg, elevation_m)| Place {
            latitude_deg,
            longitude_deg,
            elevation_m,
            utc_offset_h: 0.0,
        })
    }

    #[test]
    fn exact_noon_and_sunset() {
        for (latitude_deg, declination_deg, azimuth_deg) in [(43.0, -14.0, 180.0), (10.0, 23.0, 0.0), (-35.0, 0.0, 0.0)]
        {
            let sun = Sun::at_angles(latitude_deg, declination_deg, 0.0);
            assert!((sun.zenith_deg - f64::abs(latitude_deg - declination_deg)).abs() < 1e-12, "{sun:?}");
            assert!((sun.azimuth_deg - azimuth_deg).abs() < 1e-12, "{sun:?}");
        }
        // On the equator every day is 12 h long; at the equinox the sun sets due west everywhere.
        assert!((Sun::at_angles(0.0, 23.0, 90.0).zenith_deg - 90.0).abs() < 1e-12);
        assert!((Sun::at_angles(50.0, 0.0, 90.0).azimuth_deg - 270.0).abs() < 1e-12);
    }

    #[test]
    fn refraction_ends_with_the_sun() {
        let seen = |zenith_deg| Sun { zenith_deg, azimuth_deg: 0.0 }.apparent_zenith_deg(101.325, 10.0);
        assert_eq!(seen(91.0), 91.0);
        assert!(seen(90.8) < 90.3);
        assert!((seen(0.0)).abs() < 1e-4);
    }

    proptest! {
        #[test]
        fn sun_stands_somewhere(place in place(), days in -30_000.0..30_000.0) {
            let sun = Sun::at(&place, days);
            prop_assert!((0.0..=180.0).contains(&sun.zenith_deg) && (0.0..=360.0).contains(&sun.azimuth_deg), "{sun:?}");
            let seen_deg = sun.apparent_zenith_deg(101.325, 10.0);
            prop_assert!((sun.zenith_deg - 0.8..sun.zenith_deg + 1e-3).contains(&seen_deg), "{seen_deg}");
        }

        /// A turn around the world changes nothing; the other side of the earth sees the other side of the sun.
        #[test]
        fn exact_other_side_of_the_world(place in place(), days in -18_000.0..18_000.0) {
            let sun = Sun::at(&place, days);
            let around = Sun::at(&Place { longitude_deg: place.longitude_deg + 360.0, ..place }, days);
            prop_assert!((sun.zenith_deg - around.zenith_deg).abs() < 1e-9);
            let below = Place { latitude_deg: -place.latitude_deg, longitude_deg: place.longitude_deg + 180.0, ..place };
            prop_assert!((sun.zenith_deg + Sun::at(&below, days).zenith_deg - 180.0).abs() < 1e-9);
        }
    }
}
