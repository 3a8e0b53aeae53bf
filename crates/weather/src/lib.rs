//! Weather that a plant feels: rain, from a record of it in CSV.

mod rain;

pub use rain::{MOST_INTERVAL_DAYS, MOST_RAIN_MM_PER_H, Problem, RainErrors, rain_before_mm, read_rain};
