//! Weather that a plant feels: rain from a record of it in CSV; weather by the hour from a record, from a typical year, or by
//! chance from monthly normals; the sun, what evaporates, and how cold water in the ground is.

mod course;
pub mod evaporation;
mod generate;
pub mod ground;
mod hour;
mod normals;
mod open_air;
mod place;
mod rain;
mod reading;
mod record;
pub mod sky;
pub mod sun;
mod typical;

pub use generate::{Spread, generate};
pub use hour::{Day, Hour, Lacking, Weather};
pub use normals::{Fault, Month, Normals};
pub use place::Place;
pub use rain::{MOST_INTERVAL_DAYS, MOST_RAIN_MM_PER_H, Problem, RainErrors, rain_before_mm, read_rain};
pub use reading::{Reading, Repeat, Station, Wanted, WeatherErrors, WeatherProblem, read_weather};
pub use record::MOST_INTERVAL_H;
