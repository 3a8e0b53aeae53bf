//! Many runs of a scenario: which there are, how they are made on all cores, and what is told of them.
//!
//! A [`Plan`] is plain data. [`Prepared`] makes it of a study, [`Maker`] makes its runs. [`Gathering`] takes the rows of a variant in their order and decides when they have settled the
//! matter, so that threads, parts and an interrupted study that went on come to the same end.

mod ask;
mod figure;
mod follow;
mod input;
mod make;
mod plan;
mod rank;
mod row;
mod size;
mod told;

pub use self::ask::{AskError, Asked, MORNINGS, MOST_VARIANTS, Meet, Prepared, RunOf};
pub use self::follow::Follow;
pub use self::make::Maker;
pub use self::plan::{Axis, Column, ColumnKind, Design, Job, Limit, Plan, Short, Stop, Target, Variant};
pub use self::rank::{FALLS_SHORT, MOST_INPUTS, RankError, Ranked, Ranking, Screened, rank, screen};
pub use self::row::{Cell, Row};
pub use self::size::{Found, Holds, Line, SizeError, Tried, holds, size};
pub use self::told::{FigureTold, Gathering, LADDER, ShortTold, Values, VariantTold, tell};
