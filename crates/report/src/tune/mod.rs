//! How to set the valves of a membrane unit: text, JSON and the map as CSV. The picture is among the [plots](crate::plots).
//!
//! Made from a [`Tuned`] and nothing else. Text is in the reader's units; JSON and CSV are metric, with the unit in the key.

pub mod csv;
pub mod json;
pub mod text;

mod figures;
mod help;
pub(crate) mod words;

use springhouse_scenario::quantity::unit::VOLUME;
use springhouse_scenario::{Scenario, Units};
use springhouse_study::tune::{Limits, Point, Season, Seasons, Tuning};

/// A unit whose valves have been advised on, and how that is to be told.
#[derive(Clone, Copy, Debug)]
pub struct Tuned<'a> {
    /// Whose unit it is.
    pub scenario: &'a Scenario,
    /// What was found.
    pub tuning: &'a Tuning,
    /// The reader's units.
    pub units: Units,
}

/// What a setting is beyond, in plain words.
#[must_use]
pub fn beyond(breaks: Limits) -> String {
    words::listed(breaks, words::beyond)
}

/// Litres in the unit in which a reader counts product.
#[must_use]
pub fn product_unit_l(units: Units) -> f64 {
    VOLUME.named(if units == Units::Us { "gal" } else { "L" }).map_or(1.0, |unit| unit.factor)
}

/// Limits that a setting breaks in any season.
fn broken(points: &Seasons<Point>) -> Limits {
    Season::ALL.into_iter().fold(Limits::NONE, |all, season| all.or(points.get(season).breaks))
}
