//! Draws of water: a daily schedule repeated for ever, and logged draws or meter readings from a file.
//!
//! [`DrawStream`] merges both into one stream in order of time, which the engine takes; [`read_log`] reads a file and
//! tells all that is wrong with it at once. Nothing here is random, and no clock is asked.

mod log;
mod schedule;
mod stream;

pub use log::{LogErrors, MOST_FLOW_LPS, Problem, read_log};
pub use schedule::DailyDraw;
pub use stream::DrawStream;
