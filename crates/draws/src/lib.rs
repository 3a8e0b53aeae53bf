//! Draws of water: a daily schedule repeated for ever, people with habits, and logged draws or meter readings from a file.
//!
//! [`DrawStream`] merges them into one stream in order of time, which the engine takes; [`read_log`] reads a file and
//! tells all that is wrong with it at once. [`household`] makes draws of people's habits, and [`tally`] tells what they
//! amount to. What is left to chance follows from a seed, and no clock is asked.

pub mod household;
mod log;
mod schedule;
mod stream;
pub mod tally;

pub use log::{LogErrors, MOST_FLOW_LPS, Problem, read_log};
pub use schedule::{DailyDraw, EVERY_MONTH};
pub use stream::DrawStream;
