//! Scenario files of a private water plant.
//!
//! A file in TOML or JSON becomes a tree of values with their places (`tree`); typed-in sections (`sections`) are read
//! from it, with units ([`quantity`]) and defaults; from them a checked [`Scenario`] is put together (`assemble`).
//! Whatever is wrong on the way becomes a [`Diagnostic`] that points at the line; all of them are told at once. The JSON
//! Schema and the reference of keys are made from the same sections. [`vary`](mod@vary) changes some keys, many times.

mod assemble;
mod diagnostic;
mod display;
pub mod energy;
mod faults;
mod load;
pub mod motors;
mod plates;
pub mod quantity;
mod reference;
mod scenario;
mod schema;
mod sections;
mod source;
pub mod study;
mod supplies;
mod tree;
mod typed;
pub mod vary;

pub use diagnostic::{Diagnostic, Diagnostics, Severity};
pub use display::Units;
pub use load::{Loaded, load, parse};
pub use reference::reference_markdown;
pub use scenario::{
    DatedDraw, DatedIncident, HeaterKind, HeaterPlate, MembraneDesign, PumpTest, RainFile, RainSkip, Scenario,
    SiteWeather, WeatherSource,
};
pub use schema::json_schema;
pub use source::Format;

/// A commented scenario to start from: it runs as it is, and its numbers are invented.
#[must_use]
pub fn starter() -> &'static str {
    include_str!("starter.toml")
}
