//! Scaling of a concentrate: what a water analysis says, what is left of the water once most of it has passed a membrane, and
//! how near that is to leaving scale.
//!
//! [`Analysis`] is a laboratory's sheet; [`Analysis::concentrated`] the reject water made of it; [`Analysis::saturation`] how
//! far it is saturated with calcite, gypsum and silica; [`Limits`] what is allowed, and how far a water may be concentrated
//! within it; [`Analysis::product`] and [`Analysis::hardened`] what the membrane lets pass, and what calcite gives back to it. All
//! indicative: an index says whether scale can form, not how fast. See `docs/physics.md`.

mod analysis;
mod carbonic;
mod limits;
mod saturation;

pub use analysis::{Analysis, Balance, TypicalWater};
pub use carbonic::{DISSOLVED_OF_CALCITE, Hardening};
pub use limits::{LargestFactors, Limits, MOST_VOLUME_FACTOR, recovery};
pub use saturation::{Saturation, silica_solubility_mg_l};
