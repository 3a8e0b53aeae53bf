//! Checks against values that others have published, or have worked out in another way.
//!
//! Each value has its source beside it. "Value from memory" means that it was recalled, not read in an opened source: it
//! supports a check but does not carry one alone. Tables and what made them are in `tests/data`; `docs/checks.md` lists
//! every check with its tolerance and the reason for it.

#![expect(clippy::expect_used, reason = "helpers of tests are tests")]

mod calcite;
mod cycling;
mod evaporation;
mod fixtures;
mod ground;
mod hazen_williams;
mod heat_pump_points;
mod heater_practice;
mod heater_rating;
mod heater_tank;
mod heater_whole;
mod household;
mod membrane;
mod membrane_laws;
mod mixing;
mod moist_air;
mod pipe;
mod pond;
mod power;
mod pressure_tank;
mod pump;
mod room;
mod runs;
mod scaling;
mod solar;
mod solar_hours;
mod starts;
mod sun;
mod supply_pump;
mod table;
mod town_line;
mod ultraviolet;
mod units;
mod water;
mod well;
mod yields;
