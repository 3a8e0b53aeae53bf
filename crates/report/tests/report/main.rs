//! What a person and their tools get to read, from invented outcomes.

#![expect(clippy::expect_used, clippy::unwrap_used, reason = "helpers of tests are tests")]

mod draws;
mod files;
mod heaters;
mod hot_water;
mod invented;
mod layout;
mod membrane;
mod plots;
mod reference;
mod season;
mod site;
mod study;
mod supplied;
mod tables;
mod text;
mod tune;
mod unusual;
mod year;
