//! What a key is set to.

use std::fmt;

use super::what::What;
use crate::diagnostic::Diagnostic;
use crate::quantity::unit::{self, Dimension, Unit};
use crate::quantity::{clock, parse};
use crate::source::{Format, Source, Stretch};
use crate::tree::{self, Node};

/// A value as it is written in a TOML file: `"900 gal"`, `3`, `true`, `"hybrid"`, `2027-07-01`.
#[derive(Clone, Debug)]
pub struct Value {
    text: String,
    /// Its places are in the text.
    node: Node,
}

/// A quantity as a number.
#[derive(Clone, Copy, Debug)]
pub struct Amount {
    /// How many base units it is: the first one of the dimension, and of a share the whole.
    pub base: f64,
    /// What kind of quantity.
    pub dimension: &'static Dimension,
    /// The unit that it is written in, by its printed name.
    pub unit: &'static str,
}

impl Amount {
    /// How many of its own unit it is.
    #[must_use]
    pub fn in_its_unit(&self) -> f64 {
        self.dimension.named(self.unit).map_or(self.base, |unit| self.base / unit.factor - unit.offset)
    }

    /// So many of the same unit.
    #[must_use]
    pub fn with(self, value: f64) -> Self {
        let base = self.dimension.named(self.unit).map_or(value, |unit| (value + unit.offset) * unit.factor);
        Self { base, ..self }
    }
}

/// What stands before a value so that it can be read by itself.
const BEFORE: &str = "value = ";

impl Value {
    /// Reads one value.
    ///
    /// # Errors
    /// What is not one value in TOML; the place is one in `text`, see
    /// [`Diagnostics::in_text`](crate::Diagnostics::in_text). Whether the value fits its key only
    /// [`Base::with`](super::Base::with) tells.
    ///
    /// ```
    /// use springhouse_scenario::vary::Value;
    ///
    /// assert_eq!(Value::parse(" 2027-07-01 ").unwrap().to_string(), "2027-07-01");
    /// assert_eq!(Value::parse("3 # three").unwrap_err().title(), "something stands behind the value");
    /// ```
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let given = text.trim();
        if given.is_empty() {
            let fault = Diagnostic::error("there is no value").at(Stretch { start: 0, end: 1 }, "empty");
            return Err(fault.help("write it as in a scenario, like \"900 gal\", 3 or true"));
        }
        let start = text.len() - text.trim_start().len();
        let by = isize::try_from(start).unwrap_or_default() - BEFORE.len().cast_signed();
        let source = Source::new("", &format!("{BEFORE}{given}"), Format::Toml);
        let node = match tree::parse(&source) {
            Ok(root) => root.as_table().and_then(|table| Some(table.get("value")?.node.clone())),
            Err(list) => {
                let fault = list.into_iter().next().map(|fault| fault.moved_by(by));
                return Err(fault.unwrap_or_else(|| Diagnostic::error("this is not written in TOML")));
            }
        };
        match node {
            Some(mut node) if node.place.end == source.text.len() => {
                node.shift(-BEFORE.len().cast_signed());
                Ok(Self { text: given.to_owned(), node })
            }
            node => {
                let end = node.map_or(0, |node| node.place.end);
                let rest = Stretch { start: end, end: source.text.len() }.moved(by);
                let fault = Diagnostic::error("something stands behind the value").at(rest, "left over");
                Err(fault.help("give one value alone; a list stands in brackets, like [\"mon\", \"wed\"]"))
            }
        }
    }

    /// A text, and so a word of a choice or a quantity: `Value::text("900 gal")` is `"900 gal"`.
    #[must_use]
    pub fn text(text: &str) -> Self {
        Self::of(serde_json::Value::from(text).to_string(), tree::Value::Text(text.to_owned()))
    }

    /// A number without a unit.
    #[must_use]
    #[expect(clippy::cast_possible_truncation, reason = "whole, and of fewer digits than 64 bits have")]
    pub fn number(number: f64) -> Self {
        const MOST: f64 = 1e15;
        if number.fract() == 0.0 && number.abs() < MOST {
            return Self::whole(number as i64);
        }
        Self::of(format!("{number:?}"), tree::Value::Number(number, None))
    }

    /// A whole number.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "only numbers beyond any that a scenario accepts lose digits")]
    pub fn whole(number: i64) -> Self {
        Self::of(number.to_string(), tree::Value::Number(number as f64, Some(number)))
    }

    /// True or false.
    #[must_use]
    pub fn yes_no(yes: bool) -> Self {
        Self::of(yes.to_string(), tree::Value::YesNo(yes))
    }

    /// A quantity, as between the ends of a range, in its unit. It reads back within 1e-15 of itself, which is the rounding of
    /// a change of units: as few digits as a person types where they come so near, else all that it takes for the very
    /// number, in the base unit where its own cannot tell that.
    ///
    /// ```
    /// use springhouse_scenario::quantity::unit::VOLUME;
    /// use springhouse_scenario::vary::{Amount, Value, What};
    ///
    /// let ends = ["900 gal", "3000 gal"].map(|text| Value::text(text).amount(&What::Quantity(&VOLUME)).unwrap());
    /// let middle = Amount { base: 0.5 * (ends[0].base + ends[1].base), ..ends[0] };
    /// assert_eq!(Value::quantity(middle).to_string(), "\"1950 gal\"");
    /// ```
    #[must_use]
    pub fn quantity(amount: Amount) -> Self {
        let Amount { base, dimension, unit } = amount;
        let exact = dimension.named(unit).and_then(|unit| written(base, dimension, unit));
        let text = exact.or_else(|| dimension.units.first().map(|unit| nearest(base, unit)));
        Self::text(&text.unwrap_or_default())
    }

    /// How much it is, where the key takes a quantity and this is one; of a level, a volume or a share.
    #[must_use]
    pub fn amount(&self, what: &What) -> Option<Amount> {
        let tree::Value::Text(text) = &self.node.value else { return None };
        let dimensions: &[&'static Dimension] = match what {
            What::Quantity(dimension) => &[dimension],
            What::Level => &[&unit::VOLUME, &unit::SHARE],
            _ => return None,
        };
        dimensions.iter().find_map(|dimension| {
            let base = read(text, dimension)?;
            // A length of time may have several units.
            let own = parse::number(text).and_then(|(_, at)| dimension.find(text.get(at..)?));
            Some(Amount { base, dimension, unit: own.or(dimension.units.first())?.name })
        })
    }

    /// The number without a unit that it is.
    #[must_use]
    pub fn as_number(&self) -> Option<f64> {
        match self.node.value {
            tree::Value::Number(number, _) => Some(number),
            _ => None,
        }
    }

    /// The text that it is.
    #[must_use]
    pub fn as_text(&self) -> Option<&str> {
        match &self.node.value {
            tree::Value::Text(text) => Some(text),
            _ => None,
        }
    }

    pub(crate) fn as_whole(&self) -> Option<i64> {
        match self.node.value {
            tree::Value::Number(_, whole) => whole,
            _ => None,
        }
    }

    pub(crate) fn as_yes_no(&self) -> Option<bool> {
        match self.node.value {
            tree::Value::YesNo(yes) => Some(yes),
            _ => None,
        }
    }

    pub(crate) fn is_moment(&self) -> bool {
        matches!(self.node.value, tree::Value::Moment(_))
    }

    /// One that stands in a file, with its text there.
    pub(crate) fn written(text: &str, node: &Node) -> Self {
        let mut node = node.clone();
        node.shift(-node.place.start.cast_signed());
        Self { text: text.to_owned(), node }
    }

    pub(super) fn node(&self) -> &Node {
        &self.node
    }

    fn of(text: String, value: tree::Value) -> Self {
        let place = Stretch { start: 0, end: text.len() };
        Self { text, node: Node { value, place } }
    }
}

/// As written in a file.
impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// Equal where they are written alike.
impl PartialEq for Value {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

/// Rounding of a change of units, as a part of the number.
const NEAR: f64 = 1e-15;

fn read(text: &str, dimension: &'static Dimension) -> Option<f64> {
    if std::ptr::eq(dimension, &raw const unit::DURATION) {
        clock::duration_s(text).ok()
    } else {
        parse::parse(text, dimension).ok()
    }
}

/// In a unit, where a text in it reads as the same number: a short one that is as good as that, if there is one.
fn written(base: f64, dimension: &'static Dimension, unit: &Unit) -> Option<String> {
    let value = base / unit.factor - unit.offset;
    let reads = |text: &String, within: f64| read(text, dimension).is_some_and(|read| (read - base).abs() <= within);
    // Twelve digits: more, nobody types.
    let short = format!("{value:.11e}").parse().map(|value| spelt(value, unit.name)).ok();
    let short = short.filter(|text| reads(text, NEAR * base.abs()));
    let long = || [value, value.next_up(), value.next_down()].map(|value| spelt(value, unit.name));
    short.or_else(|| long().into_iter().find(|text| reads(text, 0.0)))
}

fn nearest(base: f64, unit: &Unit) -> String {
    spelt(base / unit.factor - unit.offset, unit.name)
}

/// All digits of a number, and a unit; with an exponent only where there are many.
fn spelt(value: f64, unit: &str) -> String {
    let text = format!("{value:?}");
    format!("{} {unit}", text.strip_suffix(".0").unwrap_or(&text))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// Of a change of units and back, three roundings of 1.1e-16 are left.
        #[test]
        fn exact_quantities_come_back(base in prop_oneof![0.0..1e4, 1e-12..1e12, Just(0.0)], pick in 0..1_000_usize) {
            for dimension in unit::ALL {
                let own = &dimension.units[pick % dimension.units.len()];
                let back = |unit: &'static str| {
                    let value = Value::quantity(Amount { base, dimension, unit });
                    value.amount(&What::Quantity(dimension)).map_or(f64::NAN, |amount| amount.base)
                };
                prop_assert!((back(own.name) - base).abs() <= NEAR * base, "{base} in {}", own.name);
            }
        }
    }

    /// A number of many digits comes back to the last bit, also where a unit has no text for it.
    #[test]
    fn exact_numbers_of_many_digits_come_back() {
        for dimension in unit::ALL.iter().filter(|dimension| !std::ptr::eq(**dimension, &raw const unit::SHARE)) {
            for unit in dimension.names() {
                for base in [std::f64::consts::PI, 1e-9 * std::f64::consts::E, 1e9 * std::f64::consts::LN_2] {
                    let value = Value::quantity(Amount { base, dimension, unit });
                    let read = value.amount(&What::Quantity(dimension)).map(|amount| amount.base);
                    assert_eq!(read, Some(base), "{value}");
                }
            }
        }
    }

    #[test]
    fn exact_units_of_a_person_stay() {
        for (text, dimension) in [
            ("900 gal", &unit::VOLUME),
            ("7.5 gpm", &unit::FLOW),
            ("52 °F", &unit::TEMPERATURE),
            ("38 psi", &unit::PRESSURE),
            ("80 %", &unit::SHARE),
            ("90 min", &unit::DURATION),
            ("0.75 hp", &unit::POWER),
        ] {
            let amount = Value::text(text).amount(&What::Quantity(dimension)).unwrap();
            assert_eq!(Value::quantity(amount), Value::text(text));
        }
        let level = Value::text("80 %").amount(&What::Level).unwrap();
        assert_eq!((level.base, level.unit), (0.8, "%"));
        let parts = Value::text("1 h 30 min").amount(&What::Quantity(&unit::DURATION)).unwrap();
        assert_eq!(Value::quantity(parts), Value::text("5400 s"));
    }

    #[test]
    fn exact_texts_of_values_read_as_they_are() {
        let values = [
            Value::number(3.0),
            Value::number(0.1),
            Value::number(-2.5e300),
            Value::number(-0.0),
            Value::whole(i64::MAX),
            Value::yes_no(true),
            Value::text("hybrid"),
            Value::text("a \"b\"\\ é \t"),
        ];
        for value in values {
            let read = Value::parse(&value.text).unwrap_or_else(|fault| panic!("{value}: {fault:?}"));
            assert_eq!(format!("{:?}", read.node), format!("{:?}", value.node), "{value}");
        }
    }
}
