//! Questions asked of a private water plant: many settings weighed against each other.
//!
//! No files, no printing: plain data in, plain data out. [`tune`] sets the two valves of a membrane unit.

pub mod tune;
