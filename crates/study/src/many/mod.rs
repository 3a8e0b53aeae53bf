//! Many runs of a scenario: which there are, how they are made on all cores, and what is told of them.
//!
//! A [`Plan`] is plain data. [`Gathering`] takes the rows of a variant in their order and decides when they have settled the
//! matter, so that threads, parts and an interrupted study that went on come to the same end.

mod plan;
mod row;
mod told;

pub use self::plan::{Axis, Column, ColumnKind, Design, Job, Limit, Plan, Short, Stop, Target, Variant};
pub use self::row::{Cell, Row};
pub use self::told::{FigureTold, Gathering, LADDER, ShortTold, Values, VariantTold};
