//! The smallest value of a key that holds what is wanted, or the cheapest; of two keys, the second for each value of the first.

use springhouse_scenario::vary::Value;

use super::ask::{Meet, Prepared};
use super::make::Maker;
use super::plan::{Limit, Stop, Target};
use super::told::{Gathering, Values, VariantTold};
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
    values: Values,
    /// By run, whether it fell short.
    short: Vec<bool>,
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
    /// Whether more was always better, in every run: only then were values passed over.
    pub orderly: bool,
    /// A run in which a smaller value held and a larger did not: places of both in `tried`.
    pub against: Option<(usize, usize)>,
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
    /// The smallest that surely holds, and all tried beyond it.
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
    if let (Target::Chance(chance), None) = (&target, prepared.plan.stop) {
        // What is surely beyond the target or within it needs no more runs.
        let stop = Stop { half_width: None, chance: Some(*chance), least_runs: 50, look_every: 10 };
        prepared.plan.stop = Some(stop);
    }
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
            self.try_at(place, &order, &mut tried);
        }
        // Between the largest that does not hold and the next that does, as long as more was always better.
        while is_orderly(&self.target, &self.prepared.plan, &tried).is_ok() {
            let Some((low, high)) = gap(&tried).filter(|(low, high)| high - low > 1) else { break };
            self.try_at(low.midpoint(high), &order, &mut tried);
        }
        let mut against = is_orderly(&self.target, &self.prepared.plan, &tried).err();
        if against.is_some() {
            for place in 0..order.len() {
                self.try_at(place, &order, &mut tried);
            }
        }
        let priced = self.prepared.plan.variants.first().is_some_and(|variant| variant.price.is_some());
        let mut tried: Vec<Tried> = tried.into_iter().map(|(_, tried)| tried).collect();
        if against.is_none() && !priced {
            self.come_closer(&mut tried, axis);
        }
        let trade = self.trade(&mut tried, axis);
        if against.is_none() {
            against = orderly(&self.target, &self.prepared.plan, &tried).err();
        }
        let found = found(&tried);
        let trade = trade.and_then(|variant| tried.iter().position(|it| it.variant == variant));
        Ok(Line { beside, found, orderly: against.is_none(), against, trade, tried })
    }

    /// Variants by rising price, or by the rising value of an axis; `None` where neither says.
    fn in_order(&self, mut variants: Vec<usize>, axis: usize) -> Option<Vec<usize>> {
        let plan = &self.prepared.plan;
        let size = |variant: usize| {
            let variant = plan.variants.get(variant)?;
            variant.price.or_else(|| self.prepared.size_of(variant, axis))
        };
        let sizes: Option<Vec<f64>> = variants.iter().map(|variant| size(*variant)).collect();
        sizes?;
        variants.sort_by(|one, other| size(*one).unwrap_or(0.0).total_cmp(&size(*other).unwrap_or(0.0)));
        Some(variants)
    }

    fn try_at(&mut self, place: usize, order: &[usize], tried: &mut Vec<(usize, Tried)>) {
        match tried.binary_search_by_key(&place, |(place, _)| *place) {
            Ok(_) => {}
            Err(at) => {
                let it = self.run(order[place]);
                tried.insert(at, (place, it));
            }
        }
    }

    /// Makes the runs of a variant.
    fn run(&mut self, variant: usize) -> Tried {
        let prepared = &*self.prepared;
        let plan = &prepared.plan;
        let job = |variant: usize| plan.number(Job { variant: variant as u64, run: 0 });
        let mut maker = Maker::new(prepared, self.meet, job(variant)..job(variant + 1));
        let mut gathering = Gathering::new(plan);
        let mut short = Vec::new();
        loop {
            let rows = maker.next_rows(AT_ONCE);
            if rows.is_empty() && maker.left().is_empty() {
                break;
            }
            for row in &rows {
                gathering.take(row);
                short.push(plan.is_short(row));
            }
        }
        let (told, values) = gathering.told(None);
        let holds = holds(&self.target, plan, &told);
        let tried = Tried { variant, told, holds, values, short };
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
            let it = self.run(variant);
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
            let it = self.run(variant);
            let holds = it.holds.holds();
            let own = self.prepared.plan.variants.get(variant).and_then(|it| self.prepared.size_of(it, axis))?;
            let at = tried.partition_point(|it| {
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
            mean.map_or(Holds::SurelyNot, |mean| judged(mean.mean, mean.bounds.low, mean.bounds.high, *limit))
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
/// surely worse. Else places of two that say otherwise.
fn orderly_of(target: &Target, plan: &Plan, tried: &[&Tried]) -> Result<(), (usize, usize)> {
    for (at, pair) in tried.windows(2).enumerate() {
        let [less, more] = pair else { continue };
        if less.holds.holds() && !more.holds.holds() {
            return Err((at, at + 1));
        }
        let worse = match target {
            Target::Chance(_) => less.short.iter().zip(&more.short).any(|(less, more)| !less && *more),
            Target::Mean { figure, limit } => {
                let values = |it: &Tried| {
                    let place = plan.figures.iter().position(|it| it == figure)?;
                    it.values.get(place).cloned()
                };
                let difference = values(less).zip(values(more)).and_then(|(less, more)| {
                    let runs = less.len().min(more.len());
                    crate::sure::paired(less.get(..runs)?, more.get(..runs)?, plan.confidence())
                });
                difference.is_some_and(|paired| match limit {
                    Limit::AtMost(_) => paired.difference.bounds.low > 0.0,
                    Limit::AtLeast(_) => paired.difference.bounds.high < 0.0,
                })
            }
        };
        if worse {
            return Err((at, at + 1));
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
    fn tried(target: &Target, plan: &Plan, short: &[bool]) -> Tried {
        let mut gathering = Gathering::new(plan);
        for (run, short) in short.iter().enumerate() {
            gathering.take(&row(0, run as u64, Some(f64::from(u8::from(*short)))));
        }
        let (told, values) = gathering.told(None);
        let holds = holds(target, plan, &told);
        Tried { variant: 0, told, holds, values, short: short.to_vec() }
    }

    #[test]
    fn exact_more_is_better_only_where_no_run_says_otherwise() {
        let (target, plan) = (Target::Chance(0.3), plan(10, None));
        let of = |times: &[usize]| {
            let short: Vec<bool> = (0..10).map(|run| times.contains(&run)).collect();
            tried(&target, &plan, &short)
        };
        let better = [of(&[1, 2, 3, 4, 5]), of(&[2, 3]), of(&[2]), of(&[])];
        assert_eq!(orderly(&target, &plan, &better), Ok(()));
        // Fewer fall short, but another one.
        let other = [of(&[1, 2, 3]), of(&[2, 7]), of(&[])];
        assert_eq!(orderly(&target, &plan, &other), Err((0, 1)));
        // What held does no more.
        let worse = [of(&[1]), of(&[]), of(&[1, 2, 3, 4])];
        assert_eq!(orderly(&target, &plan, &worse), Err((1, 2)));
    }

    #[test]
    fn exact_answer_is_the_first_that_holds_and_sure_where_all_beyond_are() {
        let (target, plan) = (Target::Chance(0.3), plan(40, None));
        let of = |times: usize| {
            let short: Vec<bool> = (0..40).map(|run| run < times).collect();
            tried(&target, &plan, &short)
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
