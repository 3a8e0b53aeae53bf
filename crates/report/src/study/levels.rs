//! The levels of an axis: what its keys are set to, one after the other.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use super::Told;

/// The levels of an axis, in order: of numbers from the least up, else as they come.
pub(crate) struct Levels {
    /// What each is called.
    pub(crate) names: Vec<String>,
    /// What each is as a number of the base unit, where each is another number.
    pub(crate) amounts: Option<Vec<f64>>,
    /// The level of each variant of the plan.
    pub(crate) of_variant: Vec<usize>,
}

/// What the keys of a level are set to, and the first of them as a number.
type Level<'a> = (&'a [String], Option<f64>);

impl Levels {
    /// Those of an axis of the plan; `None` where it has no such axis.
    pub(crate) fn of(told: &Told<'_>, axis: usize) -> Option<Self> {
        let plan = told.plan;
        let axis = plan.axes.get(axis)?;
        let keys = axis.first_key..axis.first_key.checked_add(axis.keys.max(1))?;
        let mut found: Vec<Level<'_>> = Vec::new();
        let mut places: BTreeMap<&[String], usize> = BTreeMap::new();
        let mut of_variant = Vec::new();
        for variant in &plan.variants {
            let settings = variant.settings.get(keys.clone())?;
            if let Entry::Vacant(place) = places.entry(settings) {
                place.insert(found.len());
                found.push((settings, variant.amounts.get(axis.first_key).copied().flatten()));
            }
            of_variant.push(places.get(settings).copied()?);
        }
        // Where each came stands now in its order.
        let mut order: Vec<usize> = (0..found.len()).collect();
        let amount = |place: &usize| found.get(*place).and_then(|(_, amount)| *amount);
        if found.iter().all(|(_, amount)| amount.is_some()) {
            order.sort_by(|a, b| amount(a).partial_cmp(&amount(b)).unwrap_or(core::cmp::Ordering::Equal));
        }
        let amounts: Option<Vec<f64>> = order.iter().map(amount).collect();
        let amounts = amounts.filter(|amounts| amounts.windows(2).all(|pair| pair[0] < pair[1]));
        let mut firsts: Vec<&String> = found.iter().filter_map(|(settings, _)| settings.first()).collect();
        firsts.sort_unstable();
        let is_clear = firsts.windows(2).all(|pair| pair[0] != pair[1]);
        let name = |(settings, _): &Level<'_>| match settings.first() {
            Some(first) if is_clear => first.clone(),
            _ => settings.join(", "),
        };
        let names = order.iter().filter_map(|place| found.get(*place)).map(name).collect();
        let mut ranks = vec![0; order.len()];
        for (rank, place) in order.iter().enumerate() {
            ranks[*place] = rank;
        }
        Some(Self { names, amounts, of_variant: of_variant.into_iter().map(|place| ranks[place]).collect() })
    }

    pub(crate) fn count(&self) -> usize {
        self.names.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::fixtures::plan;

    #[test]
    fn exact_numbers_rise_and_words_stay() {
        let mut plan = plan();
        let volumes = Levels::of(&Told { plan: &plan, variants: &[] }, 0).unwrap();
        assert_eq!(volumes.names, ["800 gal", "1,000 gal", "5 m3"]);
        assert_eq!(volumes.amounts, Some(vec![3_028.329_427_2, 3_785.411_784, 5_000.0]));
        assert_eq!(volumes.of_variant, [2, 2, 0, 0, 1, 1]);
        let habits = Levels::of(&Told { plan: &plan, variants: &[] }, 1).unwrap();
        assert_eq!(
            (habits.names.as_slice(), habits.amounts),
            (["one, or two", "\u{2265} 3"].map(String::from).as_slice(), None)
        );
        assert_eq!(habits.of_variant, [0, 1, 0, 1, 0, 1]);
        assert!(Levels::of(&Told { plan: &plan, variants: &[] }, 2).is_none());
        // Both keys together are one axis: the first of them is not enough to tell its levels apart.
        plan.axes[0].keys = 2;
        let both = Levels::of(&Told { plan: &plan, variants: &[] }, 0).unwrap();
        assert_eq!((both.count(), both.names[0].as_str()), (6, "800 gal, one, or two"));
        assert_eq!(both.amounts, None, "two levels have the same volume");
    }
}
