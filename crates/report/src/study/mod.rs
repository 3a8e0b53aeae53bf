//! A study of many runs: text, tables and Parquet.

pub mod parquet;
pub mod rank;
pub mod size;
pub mod text;
pub mod variants;

mod figure;
#[cfg(test)]
mod fixtures;
mod levels;
mod names;

use springhouse_scenario::Units;
use springhouse_study::many::{Design, FigureTold, Holds, Plan, Target, VariantTold, holds};

pub(crate) use self::figure::Figure;
pub(crate) use self::levels::Levels;
pub(crate) use self::names::Names;

/// A study that is over, and what came of each variant.
#[derive(Clone, Copy, Debug)]
pub struct Told<'a> {
    /// What was asked.
    pub plan: &'a Plan,
    /// In the order of the plan's variants.
    pub variants: &'a [VariantTold],
}

/// How a variant stands to what is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stands {
    /// All of the interval is within.
    Meets,
    /// What was found is within, but not all of the interval.
    MayMeet,
    /// What was found is not within.
    Misses,
}

impl Told<'_> {
    pub(crate) fn units(&self) -> Units {
        if self.plan.metric { Units::Metric } else { Units::Us }
    }

    pub(crate) fn is_sweep(&self) -> bool {
        self.plan.design == Design::Sweep
    }

    /// The figure at a place of the plan.
    pub(crate) fn figure(&self, place: usize) -> Figure {
        self.plan.figures.get(place).map_or_else(Figure::default, |path| Figure::of(path))
    }

    /// What was found of a figure with a variant.
    pub(crate) fn found(&self, variant: usize, place: usize) -> Option<&FigureTold> {
        self.variants.get(variant)?.figures.get(place)?.as_ref()
    }

    /// The place of a figure by its path.
    pub(crate) fn place(&self, path: &str) -> Option<usize> {
        self.plan.figures.iter().position(|figure| figure == path)
    }

    /// Figures that are not the same in all runs, in order.
    pub(crate) fn varying_figures(&self) -> Vec<usize> {
        let varies = |place: &usize| {
            let found = || (0..self.variants.len()).filter_map(|variant| self.found(variant, *place));
            let ends = || found().flat_map(|figure| figure.ladder.first().into_iter().chain(figure.ladder.last()));
            let low = ends().copied().fold(f64::INFINITY, f64::min);
            let high = ends().copied().fold(f64::NEG_INFINITY, f64::max);
            high > low
        };
        (0..self.plan.figures.len()).filter(varies).collect()
    }

    /// How a variant stands to what is wanted; `None` where nothing is, or nothing is known of it.
    pub(crate) fn stands(&self, variant: usize) -> Option<Stands> {
        let target = self.plan.target.as_ref()?;
        let told = self.variants.get(variant)?;
        // Nothing is known of it.
        match target {
            Target::Chance(_) => drop(told.short?),
            Target::Mean { figure, .. } => drop(self.found(variant, self.place(figure)?)?.mean?),
        }
        Some(match holds(target, self.plan, told) {
            Holds::Surely => Stands::Meets,
            Holds::Yes => Stands::MayMeet,
            Holds::No | Holds::SurelyNot => Stands::Misses,
        })
    }
}
