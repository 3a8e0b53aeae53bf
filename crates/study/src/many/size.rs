//! The smallest value of a key that holds what is wanted, or the cheapest; of two keys, the second for each value of the first.

use springhouse_scenario::vary::Value;

use super::ask::{Meet, Prepared};
use super::make::Maker;
use super::plan::{Limit, Stop, Target};
use super::told::{Gathering, VariantTold, difference};
use super::{Job, Plan};

/// So many values, spread over all, are looked at before any is passed over.
const LOOKS: usize = 5;

/// How often the step between two values of a range is halved to come closer.
const HALVINGS: u32 = 4;

/// Runs that are made before it is looked whether they are enough.
const AT_ONCE: u64 = 64;

/// What was found out about a value.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The variant, by its place in the plan.
    pub variant: usize,
    /// What came of it.
    pub told: VariantTold,
    /// Whether it holds what is wanted.
    pub holds: Holds,
    /// What the value costs, where the study tells prices.
    pub price: Option<f64>,
    /// By run, the figure of the target; no number where it has none, or the target is a chance.
    values: Vec<f64>,
    /// By run, whether it fell short; `None` where that is not known.
    short: Vec<Option<bool>>,
}

/// Whether a variant holds what is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holds {
    /// Its runs do not show it, and all of the interval is beyond the target.
    SurelyNot,
    /// Its runs do not show it.
    No,
    /// Its runs show it.
    Yes,
    /// Its runs show it, and all of the interval is within the target.
    Surely,
}

impl Holds {
    /// Whether the runs show it.
    #[must_use]
    pub fn holds(self) -> bool {
        self >= Self::Yes
    }
}

/// A search along one key.
#[derive(Clone, Debug)]
pub struct Line {
    /// Place of the value of the first key, where there are two.
    pub beside: Option<usize>,
    /// What was tried, from the smallest value, or the cheapest, on.
    pub tried: Vec<Tried>,
    /// What was found.
    pub found: Found,
    /// Variants of which the larger, or dearer, did worse, where there are such: `None` where more was always better, in every run.
    pub against: Option<(usize, usize)>,
    /// Whether every value of the study was tried.
    pub all: bool,
    /// Whether the study tells of sizes that can be bought.
    pub sold: bool,
    /// The next size that can be bought, by its place in `tried`, and whether it holds; `None` where none is told of or large
    /// enough.
    pub trade: Option<usize>,
}

/// What a search found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Found {
    /// The smallest that holds, by its place in `tried`.
    pub smallest: Option<usize>,
    /// The smallest that may hold: those below it surely do not.
    pub may: Option<usize>,
    /// The smallest that surely holds, and with it all beyond that were tried.
    pub surely: Option<usize>,
}

/// Why there is nothing to search for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SizeError {
    /// No target.
    #[error("nothing says what is wanted")]
    NoTarget,
    /// No key, or more than two.
    #[error("one key is sized, or two; the study varies {0}")]
    Axes(usize),
    /// Values that have no order, and no prices.
    #[error("the values have no order: they are neither numbers nor priced")]
    NoOrder,
    /// A sample in place of values one by one.
    #[error("a study with `filling` has no values in a row to search along")]
    Filling,
}

/// Searches for the smallest, or cheapest, that holds the target of a study. Values tried beyond the plan's are added to it.
///
/// `hear` is told of each variant that was tried, and in how many runs.
///
/// # Errors
/// [`SizeError`].
pub fn size(
    prepared: &mut Prepared,
    meet: &Meet<'_>,
    hear: &mut dyn FnMut(&Plan, &Tried),
) -> Result<Vec<Line>, SizeError> {
    let Some(target) = prepared.plan.target.clone() else { return Err(SizeError::NoTarget) };
    if prepared.study().filling.is_some() {
        return Err(SizeError::Filling);
    }
    // What is surely beyond the target or within it needs no more runs. The rule is for chances only.
    prepared.plan.stop = match target {
        Target::Chance(chance) => {
            let (least_runs, look_every) =
                prepared.plan.stop.map_or((50, 10), |stop| (stop.least_runs, stop.look_every));
            Some(Stop { half_width: None, chance: Some(chance), least_runs, look_every })
        }
        Target::Mean { .. } => None,
    };
    let axes = prepared.study().axes.len();
    let counts: Vec<usize> = prepared.study().axes.iter().map(springhouse_scenario::study::Axis::count).collect();
    let mut search = Search { prepared, meet, target, hear };
    match counts.as_slice() {
        [count] => Ok(vec![search.line(None, (0..*count).collect(), 0)?]),
        [first, second] => {
            let line = |beside: usize| (beside * second..(beside + 1) * second).collect();
            (0..*first).map(|beside| search.line(Some(beside), line(beside), 1)).collect()
        }
        _ => Err(SizeError::Axes(axes)),
    }
}

struct Search<'s, 'm> {
    prepared: &'s mut Prepared,
    meet: &'s Meet<'m>,
    target: Target,
    hear: &'s mut dyn FnMut(&Plan, &Tried),
}

impl Search<'_, '_> {
    /// Along the variants of one line; `axis` is the one that is sized.
    fn line(&mut self, beside: Option<usize>, variants: Vec<usize>, axis: usize) -> Result<Line, SizeError> {
        let order = self.in_order(variants, axis).ok_or(SizeError::NoOrder)?;
        let mut tried: Vec<(usize, Tried)> = Vec::new();
        let last = order.len() - 1;
        let looks = LOOKS.min(order.len());
        for look in 0..looks {
            let place = if looks == 1 { 0 } else { look * last / (looks - 1) };
            self.try_at(place, (&order, axis), &mut tried);
        }
        // Between the largest that does not hold and the next that does, as long as more was always better.
        while is_orderly(&self.target, &self.prepared.plan, &tried).is_ok() {
            let Some((low, high)) = gap(&tried).filter(|(low, high)| high - low > 1) else { break };
            self.try_at(low.midpoint(high), (&order, axis), &mut tried);
        }
        let mut against = is_orderly(&self.target, &self.prepared.plan, &tried).err();
        if against.is_some() {
            for place in 0..order.len() {
                self.try_at(place, (&order, axis), &mut tried);
            }
        }
        let all = tried.len() == order.len();
        let mut tried: Vec<Tried> = tried.into_iter().map(|(_, tried)| tried).collect();
        if against.is_none() && tried.iter().all(|it| it.price.is_none()) {
            self.come_closer(&mut tried, axis);
        }
        let trade = self.trade(&mut tried, axis);
        against = orderly(&self.target, &self.prepared.plan, &tried).err().or(against);
        let found = found(&tried);
        let trade = trade.and_then(|variant| tried.iter().position(|it| it.variant == variant));
        let sold = self.prepared.study().axes.get(axis).is_some_and(|axis| !axis.trade.is_empty());
        Ok(Line { beside, tried, found, against, all, sold, trade })
    }

    /// Variants by the rising price of an axis, or by its rising value; `None` where neither says.
    fn in_order(&self, mut variants: Vec<usize>, axis: usize) -> Option<Vec<usize>> {
        let size = |variant: usize| {
            let price = self.prepared.price_of(variant, axis);
            price.or_else(|| self.prepared.size_of(self.prepared.plan.variants.get(variant)?, axis))
        };
        let sizes: Option<Vec<f64>> = variants.iter().map(|variant| size(*variant)).collect();
        sizes?;
        variants.sort_by(|one, other| size(*one).unwrap_or(0.0).total_cmp(&size(*other).unwrap_or(0.0)));
        Some(variants)
    }

    fn try_at(&mut self, place: usize, (order, axis): (&[usize], usize), tried: &mut Vec<(usize, Tried)>) {
        match tried.binary_search_by_key(&place, |(place, _)| *place) {
            Ok(_) => {}
            Err(at) => {
                let it = self.run(order[place], axis);
                tried.insert(at, (place, it));
            }
        }
    }

    /// Makes the runs of a variant.
    fn run(&mut self, variant: usize, axis: usize) -> Tried {
        let prepared = &*self.prepared;
        let plan = &prepared.plan;
        let job = |variant: usize| plan.number(Job { variant: variant as u64, run: 0 });
        let mut maker = Maker::new(prepared, self.meet, job(variant)..job(variant + 1));
        let mut gathering = Gathering::new(plan);
        let figure = match &self.target {
            Target::Mean { figure, .. } => plan.figures.iter().position(|it| it == figure),
            Target::Chance(_) => None,
        };
        let (mut short, mut values) = (Vec::new(), Vec::new());
        loop {
            let rows = maker.next_rows(AT_ONCE);
            if rows.is_empty() && maker.left().is_empty() {
                break;
            }
            for row in &rows {
                gathering.take(row);
                short.push(plan.is_short(row));
                values.extend(figure.map(|place| row.figures.get(place).copied().flatten().unwrap_or(f64::NAN)));
            }
        }
        let told = gathering.told(None).0;
        let holds = holds(&self.target, plan, &told);
        let price = plan.variants.get(variant).and_then(|it| it.price).or_else(|| prepared.price_of(variant, axis));
        let tried = Tried { variant, told, holds, price, values, short };
        (self.hear)(plan, &tried);
        tried
    }

    /// Between two neighbours of a range.
    fn come_closer(&mut self, tried: &mut Vec<Tried>, axis: usize) {
        for _ in 0..HALVINGS {
            let Some(at) = tried.windows(2).position(|pair| !pair[0].holds.holds() && pair[1].holds.holds()) else {
                return;
            };
            let between = self.prepared.add_between(tried[at].variant, tried[at + 1].variant, axis);
            let Some(variant) = between else { return };
            let it = self.run(variant, axis);
            tried.insert(at + 1, it);
            if orderly(&self.target, &self.prepared.plan, tried).is_err() {
                return;
            }
        }
    }

    /// The smallest size that can be bought, is not below the answer, and holds; it is added to what was tried.
    fn trade(&mut self, tried: &mut Vec<Tried>, axis: usize) -> Option<usize> {
        let smallest = tried.get(found(tried).smallest?)?;
        let prepared = &*self.prepared;
        let least = prepared.size_of(prepared.plan.variants.get(smallest.variant)?, axis)?;
        let sizes: Vec<Value> = prepared.study().axes.get(axis)?.trade.clone();
        let beside = smallest.variant;
        for size in sizes {
            let Some(variant) = self.prepared.add_like(beside, axis, &size, least) else { continue };
            if let Some(there) = tried.iter().find(|it| it.variant == variant) {
                if there.holds.holds() {
                    return Some(variant);
                }
                continue;
            }
            let it = self.run(variant, axis);
            let holds = it.holds.holds();
            let own = self.prepared.plan.variants.get(variant).and_then(|it| self.prepared.size_of(it, axis))?;
            // Among what is ordered by price it has no place but the end.
            let priced = tried.iter().any(|it| it.price.is_some());
            let at = tried.partition_point(|it| {
                if priced {
                    return true;
                }
                let other = self.prepared.plan.variants.get(it.variant);
                other.and_then(|other| self.prepared.size_of(other, axis)).is_some_and(|size| size < own)
            });
            tried.insert(at, it);
            if holds {
                return Some(variant);
            }
        }
        None
    }
}

/// Whether a variant holds the target, and how surely. A variant that is no plant does not.
#[must_use]
pub fn holds(target: &Target, plan: &Plan, told: &VariantTold) -> Holds {
    let judged = |value: f64, low: f64, high: f64, limit: Limit| {
        let (inside, outside) = match limit {
            Limit::AtMost(_) => (high, low),
            Limit::AtLeast(_) => (low, high),
        };
        match (limit.is_passed(value), limit.is_passed(inside), limit.is_passed(outside)) {
            (false, false, _) => Holds::Surely,
            (false, true, _) => Holds::Yes,
            (true, _, true) => Holds::SurelyNot,
            (true, _, false) => Holds::No,
        }
    };
    match target {
        Target::Chance(most) => told.short.map_or(Holds::SurelyNot, |short| {
            judged(short.chance, short.bounds.low, short.bounds.high, Limit::AtMost(*most))
        }),
        Target::Mean { figure, limit } => {
            let place = plan.figures.iter().position(|it| it == figure);
            let mean = place.and_then(|place| told.figures.get(place)?.as_ref()?.mean);
            mean.map_or(Holds::SurelyNot, |mean| {
                let found = judged(mean.mean, mean.bounds.low, mean.bounds.high, *limit);
                // Where all runs gave the same, the interval has no width, which says nothing of the next run.
                if mean.deviation > 0.0 { found } else { found.clamp(Holds::No, Holds::Yes) }
            })
        }
    }
}

/// Places of neighbours of which the first does not hold and the second does.
fn gap(tried: &[(usize, Tried)]) -> Option<(usize, usize)> {
    let pair = tried.windows(2).find(|pair| !pair[0].1.holds.holds() && pair[1].1.holds.holds())?;
    Some((pair[0].0, pair[1].0))
}

fn is_orderly(target: &Target, plan: &Plan, tried: &[(usize, Tried)]) -> Result<(), (usize, usize)> {
    let tried: Vec<&Tried> = tried.iter().map(|(_, tried)| tried).collect();
    orderly_of(target, plan, &tried)
}

fn orderly(target: &Target, plan: &Plan, tried: &[Tried]) -> Result<(), (usize, usize)> {
    orderly_of(target, plan, &tried.iter().collect::<Vec<_>>())
}

/// Whether more was always better: in no run did a smaller value hold and the next larger one not; of a mean, no step made it
/// surely worse. Else two variants that say otherwise. What is no plant says nothing.
fn orderly_of(target: &Target, plan: &Plan, tried: &[&Tried]) -> Result<(), (usize, usize)> {
    let plants: Vec<&&Tried> = tried.iter().filter(|it| it.told.runs > 0).collect();
    for pair in plants.windows(2) {
        let [less, more] = pair else { continue };
        let worse = match target {
            Target::Chance(_) => {
                let mut both = less.short.iter().zip(&more.short);
                both.any(|(less, more)| *less == Some(false) && *more == Some(true))
            }
            Target::Mean { limit, .. } => {
                difference(&less.values, &more.values, plan.confidence()).is_some_and(|paired| match limit {
                    Limit::AtMost(_) => paired.difference.bounds.low > 0.0,
                    Limit::AtLeast(_) => paired.difference.bounds.high < 0.0,
                })
            }
        };
        if worse || (less.holds.holds() && !more.holds.holds()) {
            return Err((less.variant, more.variant));
        }
    }
    Ok(())
}

fn found(tried: &[Tried]) -> Found {
    let smallest = tried.iter().position(|it| it.holds.holds());
    let may = tried.iter().position(|it| it.holds > Holds::SurelyNot);
    let from = tried.iter().rposition(|it| it.holds < Holds::Surely).map_or(0, |last| last + 1);
    Found { smallest, may, surely: (from < tried.len()).then_some(from) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::many::told::tests::{plan, row};

    /// A value in whose runs `short` happened.
    fn tried(target: &Target, plan: &Plan, variant: usize, short: &[bool]) -> Tried {
        let mut gathering = Gathering::new(plan);
        for (run, short) in short.iter().enumerate() {
            gathering.take(&row(0, run as u64, Some(f64::from(u8::from(*short)))));
        }
        let told = gathering.told(None).0;
        let holds = holds(target, plan, &told);
        let short = short.iter().copied().map(Some).collect();
        Tried { variant, told, holds, price: None, values: Vec::new(), short }
    }

    #[test]
    fn exact_more_is_better_only_where_no_run_says_otherwise() {
        let (target, plan) = (Target::Chance(0.3), plan(10, None));
        let of = |variant: usize, times: &[usize]| {
            let short: Vec<bool> = (0..10).map(|run| times.contains(&run)).collect();
            tried(&target, &plan, variant, &short)
        };
        let better = [of(7, &[1, 2, 3, 4, 5]), of(8, &[2, 3]), of(9, &[2]), of(10, &[])];
        assert_eq!(orderly(&target, &plan, &better), Ok(()));
        // Fewer fall short, but another one.
        let other = [of(7, &[1, 2, 3]), of(8, &[2, 7]), of(9, &[])];
        assert_eq!(orderly(&target, &plan, &other), Err((7, 8)));
        // What held does no more.
        let worse = [of(7, &[1]), of(8, &[]), of(9, &[1, 2, 3, 4])];
        assert_eq!(orderly(&target, &plan, &worse), Err((8, 9)));
        // What is no plant, or a run without a result, says nothing.
        let mut none = of(6, &[]);
        none.told.runs = 0;
        let mut silent = of(8, &[]);
        silent.short = vec![None; 10];
        assert_eq!(orderly(&target, &plan, &[none, of(7, &[1, 2]), silent, of(9, &[])]), Ok(()));
    }

    #[test]
    fn exact_answer_is_the_first_that_holds_and_sure_where_all_beyond_are() {
        let (target, plan) = (Target::Chance(0.3), plan(40, None));
        let of = |times: usize| {
            let short: Vec<bool> = (0..40).map(|run| run < times).collect();
            tried(&target, &plan, 0, &short)
        };
        // 95 % intervals of Clopper and Pearson: 26 of 40 48 to 79 %, 14 21 to 52 %, 12 17 to 47 %, 4 3 to 24 %.
        let line = [of(26), of(14), of(12), of(4), of(0)];
        let word: Vec<Holds> = line.iter().map(|it| it.holds).collect();
        assert_eq!(word, [Holds::SurelyNot, Holds::No, Holds::Yes, Holds::Surely, Holds::Surely]);
        assert_eq!(found(&line), Found { may: Some(1), smallest: Some(2), surely: Some(3) });
        let none = [of(40), of(30)];
        assert_eq!(found(&none), Found { may: None, smallest: None, surely: None });
    }

    #[test]
    fn exact_means_hold_by_their_interval() {
        let plan = plan(3, None);
        let mut gathering = Gathering::new(&plan);
        for (run, value) in [4.0, 5.0, 6.0].into_iter().enumerate() {
            gathering.take(&row(0, run as u64, Some(value)));
        }
        // Student at 95 % with 2 degrees of freedom: 4.303 / sqrt 3 = 2.484 about 5.
        let told = gathering.told(None).0;
        let at = |limit| holds(&Target::Mean { figure: plan.figures[0].clone(), limit }, &plan, &told);
        assert_eq!(at(Limit::AtMost(7.6)), Holds::Surely);
        assert_eq!(at(Limit::AtMost(7.4)), Holds::Yes);
        assert_eq!(at(Limit::AtMost(4.9)), Holds::No);
        assert_eq!(at(Limit::AtMost(2.4)), Holds::SurelyNot);
        assert_eq!(at(Limit::AtLeast(2.4)), Holds::Surely);
        assert_eq!(at(Limit::AtLeast(7.6)), Holds::SurelyNot);
    }
}
