//! Random plants, draws and incidents for property tests: anything a person could write down and that can be built.

mod hot_water;
mod membrane;
mod outside;
mod plant;
mod power;
mod pump;
mod supply;
mod treatment;

use proptest::prelude::*;
use springhouse_core::draw::Draw;
use springhouse_core::incident::Outside;
use springhouse_core::plant::Plant;
use springhouse_core::time::Span;

pub use hot_water::hot_water;
pub use plant::plant;

/// A plant and what happens to it.
#[derive(Clone, Debug)]
pub struct Case {
    /// The plant.
    pub plant: Plant,
    /// What is drawn from it, in order of start.
    pub draws: Vec<Draw>,
    /// What goes out of order, and what runs into basins.
    pub outside: Outside,
}

/// Length of the runs the cases are made for.
pub const CASE_LENGTH: Span = Span::DAY;

/// A plant, a day of draws, incidents and inflows.
pub fn case() -> impl Strategy<Value = Case> {
    plant().prop_flat_map(|plant| {
        let (draws, outside) = (outside::draws(plant.outlets.len()), outside::outside(&plant));
        (Just(plant), draws, outside).prop_map(|(plant, draws, outside)| Case { plant, draws, outside })
    })
}
