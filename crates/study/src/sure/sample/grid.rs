//! Every combination.

use crate::sure::SureError;

/// All combinations of the levels of some axes, the last axis changing fastest.
#[derive(Clone, Debug)]
pub struct Grid {
    levels: Vec<usize>,
    places: usize,
}

impl Grid {
    /// By the number of levels of each axis.
    ///
    /// # Errors
    /// Where an axis has none, or there are more combinations than can be counted.
    pub fn new(levels: &[usize]) -> Result<Self, SureError> {
        let places = levels.iter().try_fold(1_usize, |places, &levels| places.checked_mul(levels));
        match places {
            Some(places) if places > 0 => Ok(Self { levels: levels.to_vec(), places }),
            _ => Err(SureError::Grid),
        }
    }

    /// How many combinations there are.
    #[must_use]
    pub fn places(&self) -> usize {
        self.places
    }

    /// The level, from 0, of each axis at a place.
    pub fn levels(&self, place: usize, into: &mut [usize]) {
        let mut rest = place % self.places;
        for (&levels, level) in self.levels.iter().zip(into).rev() {
            *level = rest % levels;
            rest /= levels;
        }
    }

    /// The point at a place: the middles of slices of equal width.
    #[expect(clippy::cast_precision_loss, reason = "levels are few")]
    pub fn point(&self, place: usize, into: &mut [f64]) {
        let mut rest = place % self.places;
        for (&levels, at) in self.levels.iter().zip(into).rev() {
            *at = ((rest % levels) as f64 + 0.5) / levels as f64;
            rest /= levels;
        }
    }
}
