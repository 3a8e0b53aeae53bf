//! Heaters found from the figures of their plates.
//!
//! Each figure takes many days on the test stand, and the variants of a scenario ask for the same ones over and over: an
//! answer is kept beside what was asked for, to the bit.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use springhouse_core::heater::Heater;
use springhouse_core::heater::control::Mode;
use springhouse_core::heater::rating::{RatingError, first_hour_l, with_energy_factor, with_first_hour};
use springhouse_core::heater::usage::Usage;

/// How plates are tested: a heat pump as it comes out of its box. Others have one way only.
const TESTED: Mode = Mode::Hybrid;

/// As many answers as are kept. The first ones stay: they are of what a study leaves as it is.
const MOST_KEPT: usize = 10_000;

/// A figure of a plate.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Figure {
    /// First-hour rating, in litres.
    FirstHour(f64),
    /// Uniform energy factor, by the draws of this usage, else of the one that follows from the first hour.
    EnergyFactor(f64, Option<Usage>),
}

/// A heater that has the figure, or why none has.
type Answer = Result<Heater, RatingError>;

/// What was found so far. Threads share it; each answer is found once.
#[derive(Debug, Default)]
pub(crate) struct Plates {
    /// By all that was asked for: numbers written out tell every bit.
    kept: Mutex<BTreeMap<String, Arc<OnceLock<Answer>>>>,
    solved: AtomicUsize,
}

impl Plates {
    /// The heater with the one constant changed that gives it the figure.
    pub(crate) fn heater(&self, bare: &Heater, figure: Figure) -> Answer {
        let asked = format!("{figure:?} {bare:?}");
        // The lock is held to look only: others may find other heaters meanwhile.
        let answer = {
            let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
            match kept.get(&asked) {
                Some(answer) => Arc::clone(answer),
                None if kept.len() < MOST_KEPT => Arc::clone(kept.entry(asked).or_default()),
                None => Arc::default(),
            }
        };
        *answer.get_or_init(|| {
            self.solved.fetch_add(1, Ordering::Relaxed);
            solve(bare, figure)
        })
    }

    /// How many figures took the test stand.
    pub(crate) fn solved(&self) -> usize {
        self.solved.load(Ordering::Relaxed)
    }
}

fn solve(bare: &Heater, figure: Figure) -> Answer {
    match figure {
        Figure::FirstHour(litres) => with_first_hour(bare, TESTED, litres),
        Figure::EnergyFactor(factor, usage) => {
            let usage = usage.unwrap_or_else(|| Usage::of_first_hour(first_hour_l(bare, TESTED)));
            with_energy_factor(bare, TESTED, usage, factor)
        }
    }
}
