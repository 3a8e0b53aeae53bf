//! Weather that a plant feels: rain, from a record of it in CSV.
//!
//! A header `time,rain_mm` or `time,rain_in`, then rows in order of time. A row says how much rain fell from its time until
//! the time of the next row; the last row's interval is as long as the one before. Columns may come in any order; lines
//! that start with `#` are comments; a byte-order mark and either kind of line end are fine. Times are local standard time;
//! a date alone is its midnight. All that is wrong with a file is told at once.

mod error;
mod fields;
mod header;
mod rain;

pub use error::{MOST_ERRORS, Problem, RainError, RainErrors};
pub use rain::{MOST_INTERVAL_DAYS, MOST_RAIN_MM_PER_H, read_rain};
