//! Questions asked of a private water plant: many settings weighed against each other.
//!
//! No files, no printing: plain data in, plain data out. [`compare`] runs a
//! plant in several ways; [`tune`] sets the two valves of a membrane unit;
//! [`many`] makes many runs of a study; [`sure`] tells how sure an answer out of
//! them is.

pub mod compare;
pub mod many;
pub mod sure;
pub mod tune;
