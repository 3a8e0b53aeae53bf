//! A reverse-osmosis unit: elements in series, in parallel vessels, with a pump, a reject and a recycle valve.
//!
//! Solution-diffusion: water passes in proportion to the net driving pressure, salt in proportion to the difference of its
//! concentration across the membrane (Lonsdale, Merten & Riley, J. Appl. Polym. Sci. 9 (1965) 1341). [`osmosis`] is the
//! pressure that salt sets against the water, [`element`] one element, [`vessel`] several, [`mod@unit`] the whole with its
//! hydraulics, [`curve`] its table over inlet pressure; [`plate`] finds the constants from what is printed on the plate;
//! [`limits`] is what design guides allow. See `docs/physics.md`.
//!
//! ```text
//! fresh feed --+-> pump -> elements -+-> product
//!              |                     |
//!              +---- recycle <-------+-> reject
//! ```

pub mod check;
pub mod curve;
pub mod element;
pub mod fouling;
pub mod limits;
pub mod osmosis;
pub mod place;
pub mod plate;
mod search;
mod solve;
pub mod unit;
pub mod valve;
pub mod vessel;

pub use self::place::{Membrane, RunHours};
