//! What nobody knows for sure: `[[uncertain]]`.

use super::read::{Assembly, scaled};
use super::sections;
use super::written::Written;
use super::{Scale, Spread, Uncertain};
use crate::source::Stretch;
use crate::typed::{At, Tried};
use crate::vary::{Base, KeyPath, What};

impl Assembly<'_, '_> {
    pub(super) fn uncertain(&mut self, at: &At<sections::Uncertain>, base: &Base) -> Option<Uncertain> {
        let given = &at.value;
        let key_at = given.key.value.0.as_ref()?;
        let (key, what) = self.key(key_at, base)?;
        let spread = self.spread(given, at.place, (&key, &what), base)?;
        Some(Uncertain { key, what, spread, place: key_at.place })
    }

    fn spread(
        &mut self,
        given: &sections::Uncertain,
        header: Stretch,
        key: (&KeyPath, &What),
        base: &Base,
    ) -> Option<Spread> {
        let number = |this: &mut Self, written: Option<&At<Tried<Written>>>| -> Option<Option<(Scale, f64)>> {
            let Some(written) = written else { return Some(None) };
            let written = written.value.0.as_ref()?;
            if !this.fits(key, written, base) {
                return None;
            }
            let found = scaled(&written.value, key.1);
            if found.is_none() {
                this.tell("only numbers and quantities lie between ends", written.place, "neither", "list `values`");
            }
            found.map(Some)
        };
        let low = number(self, given.low.as_ref())?;
        let high = number(self, given.high.as_ref())?;
        let likely = number(self, given.likely.as_ref())?;
        let mean = number(self, given.mean.as_ref())?;
        let deviation = match &given.deviation {
            None => None,
            Some(written) => Some(self.deviation(written.value.0.as_ref()?, key.1)?),
        };
        let variation = match &given.variation {
            None => None,
            Some(share) => Some(share.value.0?.of_one()),
        };
        if let Some(values) = &given.values {
            let alone = low.is_none() && high.is_none() && likely.is_none() && mean.is_none();
            if !alone || deviation.is_some() || variation.is_some() {
                self.tell("`values` stand alone, or with `weights`", values.place, "beside ends or a mean", "keep one");
                return None;
            }
            return self.weighed(given, values.value.0.as_ref()?, key, base);
        }
        let between = |of: Option<(Scale, f64)>| of.map(|(_, number)| number);
        let (least, most) = (between(low), between(high));
        if let (Some(least), Some(most), Some(at)) = (least, most, &given.high)
            && most <= least
        {
            self.tell("`high` is not above `low`", at.place, "the upper end", "give the larger one as `high`");
            return None;
        }
        if let (Some(peak), Some(at)) = (between(likely), &given.likely)
            && (least.is_some_and(|least| peak < least) || most.is_some_and(|most| peak > most))
        {
            self.tell("`likely` is not between `low` and `high`", at.place, "outside", "give a value between the ends");
            return None;
        }
        let spread = match (low, high, likely, mean, deviation, variation) {
            (Some((scale, low)), Some((_, high)), None, None, None, None) => Spread::Uniform { scale, low, high },
            (Some((scale, low)), Some((_, high)), Some((_, likely)), None, None, None) => {
                Spread::Triangular { scale, low, likely, high }
            }
            (low, high, None, Some((scale, mean)), Some(deviation), None) => {
                let low = low.map_or(f64::NEG_INFINITY, |(_, low)| low);
                let high = high.map_or(f64::INFINITY, |(_, high)| high);
                Spread::Normal { scale, mean, deviation, low, high }
            }
            (None, None, None, Some((scale, mean)), None, Some(variation)) => {
                Spread::LogNormal { scale, mean, variation }
            }
            _ => {
                let help = "give `low` and `high`; or these and `likely`; or `mean` and `deviation`, with ends or without; or \
                            `mean` and `variation`; or `values`";
                self.tell("this tells of no distribution", header, "how likely are which values?", help);
                return None;
            }
        };
        Some(spread)
    }

    /// A difference of two values of the key, in the base unit.
    fn deviation(&mut self, written: &Written, what: &What) -> Option<f64> {
        let what = match what {
            What::Quantity(dimension) if std::ptr::eq(*dimension, &raw const crate::quantity::unit::TEMPERATURE) => {
                &What::Quantity(&crate::quantity::unit::TEMPERATURE_DIFFERENCE)
            }
            what => what,
        };
        let found = scaled(&written.value, what).map(|(_, number)| number);
        if found.is_none() {
            self.tell(
                &format!("`deviation` is {what}"),
                written.place,
                "this is something else",
                "write it like the mean",
            );
        }
        found
    }

    fn weighed(
        &mut self,
        given: &sections::Uncertain,
        values: &At<Vec<Written>>,
        (path, what): (&KeyPath, &What),
        base: &Base,
    ) -> Option<Spread> {
        let keys = [(path.clone(), what.clone())];
        let listed = self.listed(values, &keys, base)?.into_iter().flatten();
        let weights: Vec<f64> = match &given.weights {
            None => vec![1.0; values.value.len()],
            Some(weights) => {
                let weights = weights.value.0.as_ref()?;
                if weights.value.len() != values.value.len() {
                    let title = format!("{} values have {} weights", values.value.len(), weights.value.len());
                    self.tell(
                        &title,
                        weights.place,
                        "one for each value is wanted",
                        "give as many as there are values",
                    );
                    return None;
                }
                weights.value.iter().map(|weight| weight.value.0).collect()
            }
        };
        Some(Spread::Listed(listed.zip(weights).collect()))
    }
}
