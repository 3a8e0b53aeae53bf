//! The program as people and scripts meet it: what it says about wrong files, what it writes, and that the same question
//! always gets the same bytes.
//!
//! These tests run the real binary, found or built by [`program`]. What only the commands' own crate can see is tested in
//! `crates/cli/tests`.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "helpers of tests are tests: what they cannot do is a failure"
)]

mod bytes;
mod cleaning;
mod compare;
mod digests;
mod draws;
mod energy;
mod files;
mod first_steps;
mod hot_water;
mod logs;
mod people;
mod program;
mod rate;
mod ready;
mod studies;
mod sums;
mod tune;
mod weather;
mod windows;
mod wrong;
