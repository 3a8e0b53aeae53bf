//! Questions asked of a private water plant: many settings weighed against each other.
//!
//! No files, no printing: plain data in, plain data out. [`compare`] runs a
//! plant in several ways; [`tune`] sets the two valves of a membrane unit;
//! [`sure`] tells how sure an answer out of many runs is.

pub mod compare;
pub mod sure;
pub mod tune;
