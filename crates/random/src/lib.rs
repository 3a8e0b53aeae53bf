//! Numbers by chance that depend on nothing but a name, a purpose and a date.
//!
//! Each purpose of each person, or of the weather, has its own [`Stream`], and each day its own place in it. So a guest, an
//! appliance or another first day leaves all other numbers as they were, to the bit, on every machine.

mod normal;
mod sampling;

pub use normal::normal_quantile;
pub use sampling::LogNormal;

use chacha20::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};

/// The numbers of one purpose of one entity in one run.
#[derive(Clone, Debug)]
pub struct Stream {
    key: [u8; 32],
}

impl Stream {
    /// Keyed by all that names it; the name of an entity is a path, as home and person.
    #[must_use]
    pub fn new(seed: u64, run: u64, entity: &[&str], purpose: &str) -> Self {
        let mut hasher = blake3::Hasher::new();
        // Of draws or not: another text here would be another morning everywhere.
        hasher.update(b"springhouse draws 1");
        hasher.update(&seed.to_le_bytes());
        hasher.update(&run.to_le_bytes());
        // Lengths keep a slash within a name apart from one between names.
        for part in entity.iter().chain([&purpose]) {
            hasher.update(&u64::try_from(part.len()).unwrap_or(u64::MAX).to_le_bytes());
            hasher.update(part.as_bytes());
        }
        Self { key: *hasher.finalize().as_bytes() }
    }

    /// The numbers of a day, from their first. The day is counted from a fixed date, whatever day a run begins with.
    #[must_use]
    pub fn on(&self, day: i64) -> Source {
        let mut chacha = ChaCha8Rng::from_seed(self.key);
        chacha.set_stream(day.cast_unsigned());
        Source(chacha)
    }
}

/// Numbers by chance, one after the other.
pub struct Source(ChaCha8Rng);

impl Source {
    /// Uniform in `[0, 1)`, in steps of 2⁻⁵³.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * STEP_53
    }

    /// Uniform in `(0, 1)`: the middles of steps of 2⁻⁵², so that neither end is met and both sides are alike.
    #[expect(clippy::cast_precision_loss, reason = "52 bits and a half fit")]
    pub fn inner(&mut self) -> f64 {
        ((self.0.next_u64() >> 12) as f64 + 0.5) * STEP_52
    }
}

/// 2⁻⁵² and 2⁻⁵³.
const STEP_52: f64 = f64::EPSILON;
const STEP_53: f64 = 0.5 * f64::EPSILON;

#[cfg(test)]
mod tests;
