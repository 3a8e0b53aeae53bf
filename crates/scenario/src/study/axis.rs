//! What a study varies: `[[vary]]`.

use super::read::{Assembly, scaled};
use super::sections::{self, StepsWord};
use super::written::Written;
use super::{Axis, Range, Values};
use crate::source::Stretch;
use crate::typed::At;
use crate::vary::{Base, KeyPath, Value, What};

impl Assembly<'_, '_> {
    pub(super) fn axis(&mut self, at: &At<sections::Vary>, base: &Base) -> Option<Axis> {
        let vary = &at.value;
        let paths = match (&vary.key, &vary.keys) {
            (Some(key), None) => vec![key.value.0.as_ref()?],
            (None, Some(keys)) => keys.value.0.as_ref()?.value.iter().collect(),
            (Some(_), Some(keys)) => {
                self.tell("either `key` or `keys`", keys.place, "beside `key`", "keep one of them");
                return None;
            }
            (None, None) => {
                self.tell("`key` is missing", at.place, "no `key` here", "add a line like: key = \"storage.volume\"");
                return None;
            }
        };
        let keys: Vec<_> = paths.into_iter().map(|path| self.key(path, base)).collect();
        let keys: Vec<(KeyPath, What)> = keys.into_iter().collect::<Option<_>>()?;
        if keys.is_empty() {
            self.tell("`keys` has no key", at.place, "which keys?", "name the keys that change together");
            return None;
        }
        let values = self.values(vary, at.place, &keys, base)?;
        let name = match &vary.name {
            Some(name) => name.value.0.as_ref()?.0.clone(),
            None => keys.iter().map(|(path, _)| path.to_string()).collect::<Vec<_>>().join(" and "),
        };
        let mut axis = Axis { name, keys, values, prices: Vec::new(), trade: Vec::new() };
        if let Some(prices) = &vary.prices {
            let prices = prices.value.0.as_ref()?;
            axis.prices = prices.value.iter().map(|price| price.value.0).collect();
            if axis.prices.len() != axis.count() {
                let title = format!("{} values have {} prices", axis.count(), axis.prices.len());
                self.tell(&title, prices.place, "one for each value is wanted", "give as many as there are values");
                return None;
            }
        }
        if let Some(trade) = &vary.trade {
            let trade = trade.value.0.as_ref()?;
            axis.trade = self.trade(trade, &axis.keys, base)?;
        }
        Some(axis)
    }

    fn trade(&mut self, trade: &At<Vec<Written>>, keys: &[(KeyPath, What)], base: &Base) -> Option<Vec<Value>> {
        let [(path, what)] = keys else {
            self.tell("`trade` is for a single key", trade.place, "beside `keys`", "leave it out");
            return None;
        };
        let fit: Vec<bool> = trade.value.iter().map(|written| self.fits((path, what), written, base)).collect();
        if fit.contains(&false) {
            return None;
        }
        let mut sizes: Vec<(f64, Value)> = Vec::new();
        for written in &trade.value {
            let Some(size) = size_of(&written.value, what) else {
                self.tell("sizes are numbers", written.place, "no size", "give quantities or numbers");
                return None;
            };
            sizes.push((size, written.value.clone()));
        }
        sizes.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        Some(sizes.into_iter().map(|(_, value)| value).collect())
    }

    fn values(
        &mut self,
        vary: &sections::Vary,
        header: Stretch,
        keys: &[(KeyPath, What)],
        base: &Base,
    ) -> Option<Values> {
        match (&vary.values, &vary.first, &vary.last) {
            (Some(values), None, None) => self.listed(values.value.0.as_ref()?, keys, base).map(Values::Listed),
            (None, Some(first), Some(last)) => {
                let (first, last) = (first.value.0.as_ref()?, last.value.0.as_ref()?);
                let [(path, what)] = keys else {
                    self.tell("a range is for a single key", first.place, "beside `keys`", "give `values`");
                    return None;
                };
                let fit = [first, last].map(|end| self.fits((path, what), end, base));
                if fit.contains(&false) {
                    return None;
                }
                let ratio = vary.steps.value.0? == StepsWord::Ratio;
                let range = self.range((first, last), what, ratio)?;
                let count = vary.count.value.0?.0;
                Some(Values::Range { range, count: range.whole_numbers().map_or(count, |most| count.min(most)) })
            }
            (Some(values), ..) => {
                self.tell("either `values` or a range", values.place, "beside `first` or `last`", "keep one of them");
                None
            }
            _ => {
                let help = "add a line like: values = [\"300 gal\", \"500 gal\"]\nor a range: first = \"300 gal\", last = \"1400 gal\"";
                self.tell("there are no values", header, "`values`, or `first` and `last`, are wanted", help);
                None
            }
        }
    }

    fn range(&mut self, (first, last): (&Written, &Written), what: &What, ratio: bool) -> Option<Range> {
        let ends = (scaled(&first.value, what), scaled(&last.value, what));
        let (Some((scale, from)), Some((_, to))) = ends else {
            self.tell(
                &format!("a range is of quantities or numbers, but this is {what}"),
                first.place,
                "no range goes from here",
                "list the `values`",
            );
            return None;
        };
        if from == to {
            self.tell("a range ends where it begins", last.place, "the same as `first`", "take another end");
            return None;
        }
        if ratio && !(from > 0.0 && to > 0.0) {
            self.tell("steps by ratio need ends above zero", first.place, "an end", "take `steps = \"equal\"`");
            return None;
        }
        Some(Range { scale, first: from, last: to, ratio })
    }

    pub(super) fn listed(
        &mut self,
        values: &At<Vec<Written>>,
        keys: &[(KeyPath, What)],
        base: &Base,
    ) -> Option<Vec<Vec<Value>>> {
        if values.value.is_empty() {
            self.tell("`values` is empty", values.place, "no value", "give one or more");
            return None;
        }
        let mut sound = true;
        let mut rows = Vec::new();
        for written in &values.value {
            let row: Vec<&Written> = if let [_] = keys { vec![written] } else { written.items.iter().collect() };
            if row.len() != keys.len() {
                let title = format!("{} keys, but {} values", keys.len(), row.len());
                let help = "give a list with a value for each key: values = [[\"0.5 gpm\", \"2 gpm\"], [\"0.6 gpm\", \"2.5 gpm\"]]";
                self.tell(&title, written.place, "one for each key is wanted", help);
                return None;
            }
            for ((path, what), value) in keys.iter().zip(&row) {
                sound &= self.fits((path, what), value, base);
            }
            rows.push(row.into_iter().map(|written| written.value.clone()).collect::<Vec<_>>());
        }
        sound.then_some(rows)
    }
}

/// How large a value is, to put values in order.
fn size_of(value: &Value, what: &What) -> Option<f64> {
    scaled(value, what).map(|(_, size)| size)
}
