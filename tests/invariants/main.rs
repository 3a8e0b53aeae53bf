//! What must hold for every plant, whatever happens to it.

#![expect(clippy::expect_used, reason = "helpers of tests are tests")]

mod apart;
mod balance;
mod heat;
mod power;
mod split;
