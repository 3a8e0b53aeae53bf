//! Coldest, typical and warmest water.

use serde::{Deserialize, Serialize};

/// A season, by the temperature of the water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Season {
    /// Coldest water: least product.
    Coldest,
    /// Water as it is most of the year.
    Typical,
    /// Warmest water: most product, so most recovery.
    Warmest,
}

impl Season {
    /// All, from cold to warm.
    pub const ALL: [Self; 3] = [Self::Coldest, Self::Typical, Self::Warmest];
}

/// Something of each season.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Seasons<T> {
    /// In the coldest water.
    pub coldest: T,
    /// In water as it is most of the year.
    pub typical: T,
    /// In the warmest water.
    pub warmest: T,
}

impl<T> Seasons<T> {
    /// Made season by season.
    pub fn of(mut make: impl FnMut(Season) -> T) -> Self {
        Self { coldest: make(Season::Coldest), typical: make(Season::Typical), warmest: make(Season::Warmest) }
    }

    /// That of a season.
    pub fn get(&self, season: Season) -> &T {
        match season {
            Season::Coldest => &self.coldest,
            Season::Typical => &self.typical,
            Season::Warmest => &self.warmest,
        }
    }
}
