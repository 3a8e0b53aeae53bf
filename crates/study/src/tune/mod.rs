//! How to set the two valves of a membrane unit.
//!
//! Reject sets recovery and the salt at the tail; recycle sets crossflow, at a cost in pump power and in salt of the product;
//! recycle alone saves no water, moving flow from reject to recycle does.
//!
//! A [`Question`] tells the unit and what is wanted of it. [`map`] judges a grid of settings at one temperature, [`advise`]
//! finds the setting that serves an [`Aim`] within all limits from the coldest to the warmest water, [`steps`] tells in which
//! turns to get there, [`sensitivity`] what a turn is worth, [`picture`] what to draw. Nothing but the steady state of
//! [`springhouse_core::membrane`] is worked out, so all of it holds for a unit whose loop has settled.

mod advise;
mod axes;
mod contour;
mod cure;
mod cycle;
mod feeding;
mod judge;
mod limit;
mod map;
mod path;
mod picture;
mod point;
mod question;
mod refine;
mod scenario;
mod season;
mod sensitivity;
mod steps;
mod suction;
mod tuning;

#[cfg(test)]
mod fixtures;

pub use advise::{AS_GOOD, Advice, Aim, LimitState, advise, advise_on};
pub use cure::Cure;
pub use cycle::Cycle;
pub use feeding::{Feeding, Gives};
pub use limit::{Limit, Limits};
pub use map::{Map, Size, map, map_of};
pub use picture::{Area, Line, Mark, Picture, picture};
pub use point::{Point, Work};
pub use question::{Question, Swing, TuneError, USUAL_PRODUCT_SALT_MG_L, Want};
pub use scenario::{Asked, NoQuestion};
pub use season::{Season, Seasons};
pub use sensitivity::{Change, Sensitivity, sensitivity};
pub use steps::{Step, Turn, Valve, steps};
pub use suction::Suction;
pub use tuning::Tuning;
