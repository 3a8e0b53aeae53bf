//! Where the weather is felt.

use jiff::civil::{Date, Time, date};

/// A place on earth and its clock. Latitude is from -90 to 90, the rest finite; nothing here checks it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Latitude, north positive.
    pub latitude_deg: f64,
    /// Longitude, east positive.
    pub longitude_deg: f64,
    /// Ground above the sea.
    pub elevation_m: f64,
    /// Local standard time less universal time, hours; clocks here know no summer time.
    pub utc_offset_h: f64,
}

impl Place {
    /// Days from noon of 1 January 2000, universal time (Julian date 2451545.0), to the local midnight that opens a date.
    ///
    /// Instants of the day follow by adding `hours / 24`.
    #[must_use]
    pub fn midnight_j2000(&self, day: Date) -> f64 {
        const DAY_S: f64 = 86_400.0;
        let epoch = date(2000, 1, 1).at(12, 0, 0, 0);
        day.to_datetime(Time::midnight()).duration_since(epoch).as_secs_f64() / DAY_S - self.utc_offset_h / 24.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn midnight_comes_later_in_the_west() {
        let place = Place { latitude_deg: 40.0, longitude_deg: -105.0, elevation_m: 1_600.0, utc_offset_h: -7.0 };
        let greenwich = Place { utc_offset_h: 0.0, ..place };
        assert_eq!(greenwich.midnight_j2000(date(2000, 1, 1)), -0.5);
        assert_eq!(place.midnight_j2000(date(2000, 1, 1)), -0.5 + 7.0 / 24.0);
        assert_eq!(greenwich.midnight_j2000(date(2004, 3, 1)), 4.0 * 365.0 + 1.0 + 31.0 + 29.0 - 0.5);
    }
}
