//! Points of the unit cube: which values of the inputs to run.
//!
//! All are counted from 0, and a point can be asked for by its place, so that runs may be split in any way. None lies on the
//! edge of the cube, where a distribution without an end has no value, but for [`Sobol::published`].

mod directions;
mod grid;
mod latin;
mod sobol;

pub use directions::MOST_AXES;
pub use grid::Grid;
pub use latin::Latin;
pub(super) use latin::below;
pub use sobol::Sobol;
