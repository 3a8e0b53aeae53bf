//! Shared helpers of the benches.
