//! Weather that a plant feels: rain, from a record of it in CSV; the sun, what evaporates, and how cold water in the ground is.

pub mod evaporation;
pub mod ground;
mod place;
mod rain;
pub mod sky;
pub mod sun;

pub use place::Place;
pub use rain::{MOST_INTERVAL_DAYS, MOST_RAIN_MM_PER_H, Problem, RainErrors, rain_before_mm, read_rain};
