//! The weather, and what lies open under it.

use super::water::RunoffWater;
use crate::quantity::{Area, Length, Share, Speed, Sun, Temperature, TemperatureDifference};
use crate::typed::{At, File, Number, section};

section! {
    /// The weather over the plant: what open water gains and loses, how warm the water is, what falls on a roof. From a file, or by
    /// chance (`seed`) around the normals that a weather service gives for a place.
    Weather {
        /// A CSV of the weather by the hour, or a typical year (TMY3), seen from the scenario's folder;
        /// [docs/weather.md](weather.md) tells of its columns.
        optional file: File = "weather.csv", "from `months`";
        /// Whether the file stands for the same days of every year; a typical year always does.
        default repeat: bool = "false";
        /// A CSV of rain in place of the file's own, which typical years hardly have; [docs/rain.md](rain.md) tells of its columns.
        optional rain: File = "rain.csv", "the rain of `file`";
        /// Height above the ground at which wind was measured; in a typical year always 10 m.
        default wind_height: Length = "10 m";
        /// The normals of the twelve months, January first, in place of `file`.
        optional months: Vec<At<WeatherMonth>> = "[{ high = \"34 °F\", low = \"17 °F\", rain = \"2.1 in\", wet_days = 9 }, ...]", "from `file`";
        /// How days and years stray from the normals.
        section spread: WeatherSpread;
    }
}

section! {
    /// The normals of a month: means over many years.
    WeatherMonth {
        /// Mean of the days' highs.
        required high: Temperature = "34 °F";
        /// Mean of the days' lows.
        required low: Temperature = "17 °F";
        /// Rain of the month, and the water of its snow.
        required rain: Length = "2.1 in";
        /// Days of the month on which it rains.
        required wet_days: Number<0, 31> = "9";
        /// Mean dew point. All months have it, or none.
        optional dew_point: Temperature = "18 °F", "evaporation goes by highs and lows alone";
        /// Mean wind. All months have it, or none.
        optional wind: Speed = "8 mph", "evaporation goes by highs and lows alone";
        /// Mean sun of a day on a level surface. All months have it, or none.
        optional sun: Sun = "7.5 MJ/m2", "from highs and lows";
    }
}

section! {
    /// How the weather of days and years strays from the normals.
    WeatherSpread {
        /// How much a wet or dry day makes the next like it: a correlation, 0 to 0.9.
        default wet_persistence: Number<0, 1> = "0.25";
        /// Standard deviation of a day's temperature from the course of the year.
        default air_deviation: TemperatureDifference = "3.5 K";
        /// Correlation of that with the day before, 0 to 0.9.
        default air_persistence: Number<0, 1> = "0.65";
        /// Correlation of cloud with the day before, 0 to 0.9.
        default sky_persistence: Number<0, 1> = "0.25";
        /// Standard deviation of a year's wetness, beyond what its days make by chance.
        default year_spread: Share = "10 %";
    }
}

section! {
    /// The land that drains into a pond.
    Catchment {
        /// Its area seen from above, without the pond.
        required area: Area = "2 acre";
        /// Runoff curve number of its soil and cover, over 0 up to 100: woods on open soil 30 to 55, meadow 30 to 78, lawn 39 to
        /// 80, gravel 76 to 91, a roof 98.
        default curve_number: Number<1, 100> = "74";
        /// What its runoff carries.
        section water: RunoffWater;
    }
}
