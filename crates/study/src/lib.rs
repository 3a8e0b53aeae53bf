//! Questions asked of a private water plant: many settings weighed against each other.
//!
//! No files, no printing: plain data in, plain data out. [`compare`] runs a
//! plant in several ways; [`tune`] sets the two valves of a membrane unit.

pub mod compare;
pub mod tune;
