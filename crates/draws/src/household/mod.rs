//! People with habits, and the draws they make.
//!
//! A [`Planner`] says what everybody wishes on a day; a [`HouseholdStream`] lets those wait who find a shower, a basin or a
//! machine taken, and gives the draws in order of time. The model and its sources are in `docs/physics.md`.

mod day;
mod fault;
mod home;
mod people;
mod person;
mod planner;
mod queue;
mod rates;
mod stream;
mod today;
mod wish;

pub use fault::{Fault, MOST_HOMES, MOST_USES_PER_DAY, Place};
pub use home::{
    Appliance, Baths, Fill, Filling, Fixtures, Home, Household, LEVEL_GSD, Outdoor, Showers, Taps, Toilets,
};
pub use people::{Around, Habits, Lasting, Outing, Person, PersonKind, Routine, Stay};
pub use planner::Planner;
pub use stream::{HouseholdDraw, HouseholdStream};
pub use wish::{Use, Wish};
