//! The runs by which speed and memory are judged: small plants under steady use, and the ready scenarios.

#![expect(clippy::expect_used, reason = "a case of this repository that does not run is for those who change it")]

mod cases;

pub use cases::{Case, cases, cycling_day};
