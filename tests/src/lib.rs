//! Shared helpers of the whole-system checks.
