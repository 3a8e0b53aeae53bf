//! The runs by which speed and memory are judged: small plants under steady use, the ready scenarios, and the draws of people.

#![expect(clippy::expect_used, reason = "a case of this repository that does not run is for those who change it")]

mod cases;
mod household;

pub use cases::{Case, cases, cycling_day};
pub use household::{HOUSEHOLD_YEAR, draws_of_six_people, six_people};
