//! Physics and engine of a private water plant.
//!
//! Pure: no files, no clock, no environment, no threads, no randomness; the same input gives the same bits on every
//! machine. Parts (one module for each thing a plumber can point at) hold parameters and pure functions; [`plant`] wires
//! them and refuses what cannot be built; [`engine`] is the only place where time moves; [`observe`] is what a run tells.
//! Equations, their sources and ranges are in `docs/physics.md`.
//!
//! Units inside: litres, litres a second, metres, kilopascals gauge, degrees Celsius, watts, joules, seconds; every name
//! that carries a unit ends in it.

pub mod basin;
mod decay;
pub mod delivery;
pub mod draw;
pub mod engine;
pub mod heater;
pub mod hot_water;
pub mod incident;
pub mod ledger;
pub mod membrane;
pub mod mixing;
pub mod moist_air;
pub mod monotone;
pub mod observe;
pub mod outlet;
pub mod pipe;
pub mod plant;
pub mod pond;
pub mod power;
pub mod pressure_tank;
pub mod pump;
pub mod quality;
pub mod roof;
pub mod room;
mod root;
pub mod scaling;
pub mod solar;
pub mod storage;
pub mod supply;
pub mod time;
pub mod town_line;
pub mod treatment;
pub mod ultraviolet;
pub mod water;
pub mod weather;
pub mod well;
