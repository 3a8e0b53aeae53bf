//! Shared helpers of the whole-system checks: small plants with known answers, and an observer that keeps everything.

pub mod plants;
pub mod random;
pub mod recorder;
