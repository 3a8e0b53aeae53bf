//! The pictures of draws: the fullest day by the clock, and the peaks of runs.

pub(super) mod day;
pub(super) mod peak;

use crate::chart::{MARGIN, WIDTH};

const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 18.0;
const HEIGHT: f64 = 230.0;
