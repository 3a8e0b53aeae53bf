//! The colours of the plots.
//!
//! From the palette of Okabe & Ito, "Color Universal Design" (2008), told apart with any colour vision; nothing is said by
//! colour alone. The greys are our own.

use springhouse_core::supply::MOST_SUPPLIES;

/// A colour, and how much it covers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ink {
    pub(crate) rgb: (u8, u8, u8),
    pub(crate) cover: f64,
}

impl Ink {
    const fn solid(r: u8, g: u8, b: u8) -> Self {
        Self { rgb: (r, g, b), cover: 1.0 }
    }

    /// The same colour, covering only a part.
    pub(crate) const fn thin(self, cover: f64) -> Self {
        Self { cover, ..self }
    }
}

/// Water, and the pump that runs as it should.
pub(crate) const WATER: Ink = Ink::solid(0, 114, 178);
/// No water.
pub(crate) const TROUBLE: Ink = Ink::solid(213, 94, 0);
/// Low pressure, short-cycling: not good, not yet without water.
pub(crate) const CARE: Ink = Ink::solid(230, 159, 0);
/// Where the controls keep a value.
pub(crate) const HELD: Ink = Ink::solid(0, 158, 115);
/// Words.
pub(crate) const TEXT: Ink = Ink::solid(34, 38, 42);
/// Words that step back.
pub(crate) const QUIET: Ink = Ink::solid(92, 99, 106);
/// Lines that say a level.
pub(crate) const LEVEL: Ink = Ink::solid(70, 76, 82);
/// Lines of a grid.
pub(crate) const GRID: Ink = Ink::solid(222, 226, 230);
/// An empty strip.
pub(crate) const STRIP: Ink = Ink::solid(241, 243, 245);
/// The page.
pub(crate) const PAPER: Ink = Ink::solid(255, 255, 255);

/// How an area is covered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Look {
    pub(crate) ink: Ink,
    pub(crate) hatched: bool,
}

impl Look {
    pub(crate) const fn solid(ink: Ink) -> Self {
        Self { ink, hatched: false }
    }

    pub(crate) const fn hatched(ink: Ink) -> Self {
        Self { ink, hatched: true }
    }
}

/// Parts that stand on each other: the pumps of supplies in the order of the plant,
pub(crate) const PUMPS: [Look; MOST_SUPPLIES] =
    [Look::solid(WATER), Look::hatched(Ink::solid(86, 180, 233)), Look::solid(Ink::solid(0, 0, 0))];
/// the pump of the membrane unit,
pub(crate) const MEMBRANE: Look = Look::hatched(HELD);
/// the delivery pump,
pub(crate) const DELIVERY: Look = Look::solid(Ink::solid(204, 121, 167));
/// and ultraviolet lamps. Each solid one has a grey of its own.
pub(crate) const LAMPS: Look = Look::solid(Ink::solid(240, 228, 66));

/// Water heaters; darker than any of the palette, whose reds are as grey as the membrane's green.
pub(crate) const HEATERS: Look = Look::hatched(Ink::solid(128, 40, 0));

/// The rest of the house, at the foot: light, as it is no part of the plant.
pub(crate) const REST: Look = Look::hatched(Ink::solid(198, 203, 208));

/// Power of the sun, what of it was used, and what went to the grid;
pub(crate) const SUN: Ink = CARE;
pub(crate) const FROM_SUN: Look = Look::solid(SUN);
pub(crate) const TO_GRID: Look = Look::hatched(SUN);
/// what came from the grid,
pub(crate) const FROM_GRID: Look = Look::solid(LEVEL);
/// and from a generator.
pub(crate) const FROM_GENERATOR: Look = Look::hatched(Ink::solid(0, 0, 0));
/// Money.
pub(crate) const COST: Look = Look::solid(QUIET);
/// What is in a battery.
pub(crate) const BATTERY: Ink = HELD;

/// How warm the air was,
pub(crate) const AIR: Ink = DELIVERY.ink;
/// ice on open water,
pub(crate) const ICE: Ink = PUMPS[1].ink;
/// the warmth of what feeds a membrane unit,
pub(crate) const FEED: Ink = HELD;
/// of what leaves a water heater,
pub(crate) const OUTLET: Ink = WATER;
/// and of all the water in it.
pub(crate) const TANK: Ink = CARE;

/// What became of the water in a membrane unit: product for storage,
pub(crate) const PRODUCT: Look = Look::solid(WATER);
/// reject,
pub(crate) const REJECT: Look = DELIVERY;
/// flushes and product to waste,
pub(crate) const FLUSH: Look = LAMPS;
/// and what went round once more.
pub(crate) const RECYCLED: Look = PUMPS[1];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_told_apart_without_colour() {
        // Luma of ITU-R BT.601, what a grey copy shows.
        let grey = |ink: Ink| {
            let (r, g, b) = ink.rgb;
            0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b)
        };
        for all in [
            [PUMPS.as_slice(), &[MEMBRANE, DELIVERY, LAMPS, HEATERS, REST]].concat(),
            vec![PRODUCT, REJECT, FLUSH, RECYCLED],
            vec![FROM_SUN, FROM_GRID, FROM_GENERATOR, TO_GRID],
        ] {
            for (index, a) in all.iter().enumerate() {
                for b in &all[..index] {
                    let apart = (grey(a.ink) - grey(b.ink)).abs();
                    assert!(a.hatched != b.hatched || apart > 40.0, "{a:?} and {b:?} are {apart} apart");
                }
            }
        }
    }
}
