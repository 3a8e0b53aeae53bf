//! Incidents: something is out of order from one instant to another.

use serde::{Deserialize, Serialize};

use crate::time::Time;

/// What is out of order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum IncidentKind {
    /// No electricity on the site.
    PowerOut,
    /// The well pump does not run.
    WellPumpOut,
    /// The delivery pump does not run.
    DeliveryPumpOut,
}

/// Something out of order from `start` up to `end`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Incident {
    /// What is out of order.
    pub kind: IncidentKind,
    /// When it begins.
    pub start: Time,
    /// When it is mended; after `start`.
    pub end: Time,
}
