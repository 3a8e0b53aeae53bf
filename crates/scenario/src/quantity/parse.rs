//! One number and one unit.

use std::ops::Range;

use super::unit::{ALL, Dimension, FLOW, MASS};
use springhouse_table::nearest;

/// Why a text is not a quantity of the wanted dimension.
#[derive(Clone, Debug, PartialEq)]
pub enum QuantityError {
    /// It does not start with a number.
    NoNumber,
    /// A number with a comma in it.
    Comma {
        /// The text as it was probably meant.
        corrected: String,
    },
    /// The number has no unit.
    NoUnit,
    /// The unit is in no table.
    UnknownUnit {
        /// Where the unit stands in the text.
        part: Range<usize>,
        /// The unit that was probably meant.
        nearest: Option<&'static str>,
    },
    /// The unit is one of another dimension.
    OtherDimension {
        /// Where the unit stands in the text.
        part: Range<usize>,
        /// What it is, with its article.
        what: &'static str,
        /// The unit that was probably meant.
        nearest: Option<&'static str>,
    },
    /// Less than the dimension allows.
    TooSmall,
    /// Beyond what a floating-point number holds.
    TooLarge,
    /// Parts of a length of time that do not fall from the larger unit to the smaller.
    NotFalling,
}

/// The value of `text` in base units of `dimension`.
///
/// # Errors
/// See [`QuantityError`].
pub fn parse(text: &str, dimension: &Dimension) -> Result<f64, QuantityError> {
    let (number, rest) = number(text).ok_or(QuantityError::NoNumber)?;
    let part = unit_part(text, rest)?;
    let unit_text = text.get(part.clone()).unwrap_or_default();
    let Some(unit) = dimension.find(unit_text) else {
        return Err(misplaced_unit(unit_text, part, dimension));
    };
    in_range((number + unit.offset) * unit.factor, dimension)
}

/// Checks a value in base units.
pub(super) fn in_range(value: f64, dimension: &Dimension) -> Result<f64, QuantityError> {
    if !value.is_finite() {
        return Err(QuantityError::TooLarge);
    }
    if dimension.least.is_some_and(|least| value < least) {
        return Err(QuantityError::TooSmall);
    }
    Ok(value)
}

/// Where the unit stands after a number that ends at `rest`.
pub(super) fn unit_part(text: &str, rest: usize) -> Result<Range<usize>, QuantityError> {
    let tail = text.get(rest..).unwrap_or_default();
    let mut letters = tail.chars();
    if letters.next() == Some(',') && letters.next().is_some_and(|digit| digit.is_ascii_digit()) {
        return Err(QuantityError::Comma { corrected: without_comma(text) });
    }
    let start = text.len() - tail.trim_start().len();
    let end = text.trim_end().len();
    if start >= end { Err(QuantityError::NoUnit) } else { Ok(start..end) }
}

/// Takes commas as separators of thousands where three digits follow every one, else as the decimal mark.
fn without_comma(text: &str) -> String {
    let thousands = text.split(',').skip(1).all(|group| {
        let digits = group.chars().take_while(char::is_ascii_digit).count();
        digits == 3
    });
    text.replace(',', if thousands { "" } else { "." })
}

pub(super) fn misplaced_unit(unit: &str, part: Range<usize>, dimension: &Dimension) -> QuantityError {
    let spellings = dimension.units.iter().flat_map(|unit| unit.also.iter().copied().chain([unit.name]));
    let nearest = nearest(unit, spellings).and_then(|spelling| dimension.find(spelling)).map(|unit| unit.name);
    let other = ALL.iter().find_map(|other| Some((other, other.find(unit)?.name)));
    match other {
        Some((other, name)) => {
            let meant = if std::ptr::eq(dimension, &raw const FLOW) {
                flow_of(name)
            } else if std::ptr::eq(dimension, &raw const MASS) && name == "gpg" {
                // What a softener holds, in grains by the thousand.
                Some("kgr")
            } else {
                None
            };
            QuantityError::OtherDimension { part, what: other.what, nearest: meant.or(nearest) }
        }
        None => QuantityError::UnknownUnit { part, nearest },
    }
}

/// The flow that is probably meant where a volume is written.
fn flow_of(volume: &str) -> Option<&'static str> {
    match volume {
        "gal" => Some("gpm"),
        "imp gal" => Some("imp gpm"),
        "L" => Some("L/min"),
        "m3" => Some("m3/h"),
        _ => None,
    }
}

/// The number at the start of a text and the byte after it: decimal, with an exponent, a fraction, or a whole number and
/// a fraction (`1 1/2`, `1-1/2`, `1½`).
#[must_use]
pub fn number(text: &str) -> Option<(f64, usize)> {
    let mut scan = Scan { text, at: text.len() - text.trim_start().len() };
    let negative = scan.take(&['-', '−']);
    if !negative {
        scan.take(&['+']);
    }
    let start = scan.at;
    let whole_digits = scan.digits();
    let mut value = if let Some(vulgar) = scan.vulgar_fraction() {
        if whole_digits > 0 { text.get(start..start + whole_digits)?.parse::<f64>().ok()? + vulgar } else { vulgar }
    } else {
        let point = scan.take(&['.']);
        let decimals = if point { scan.digits() } else { 0 };
        if whole_digits + decimals == 0 {
            return None;
        }
        let exponent = scan.exponent();
        let value: f64 = text.get(start..scan.at)?.parse().ok()?;
        if point || exponent { value } else { scan.fraction(value)? }
    };
    if negative {
        value = -value;
    }
    Some((value, scan.at))
}

/// A place in a text that moves on over what it takes.
struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn take(&mut self, any: &[char]) -> bool {
        let taken = self.rest().chars().next().filter(|letter| any.contains(letter));
        self.at += taken.map_or(0, char::len_utf8);
        taken.is_some()
    }

    fn digits(&mut self) -> usize {
        let count = self.rest().bytes().take_while(u8::is_ascii_digit).count();
        self.at += count;
        count
    }

    /// An exponent; without digits after it the `e` belongs to the unit.
    fn exponent(&mut self) -> bool {
        let before = self.at;
        if self.take(&['e', 'E']) {
            self.take(&['+', '-']);
            if self.digits() > 0 {
                return true;
            }
        }
        self.at = before;
        false
    }

    fn vulgar_fraction(&mut self) -> Option<f64> {
        let value = match self.rest().chars().next()? {
            '¼' => 0.25,
            '½' => 0.5,
            '¾' => 0.75,
            '⅛' => 0.125,
            '⅜' => 0.375,
            '⅝' => 0.625,
            '⅞' => 0.875,
            _ => return None,
        };
        self.at += self.rest().chars().next()?.len_utf8();
        Some(value)
    }

    /// What stands after a whole number: `/ 4` makes it a numerator, `1/2` adds a half. `None` on a denominator of zero.
    fn fraction(&mut self, whole: f64) -> Option<f64> {
        let before = self.at;
        if self.take(&['/'])
            && let Some(denominator) = self.whole_number()
        {
            return (denominator > 0.0).then(|| whole / denominator);
        }
        self.at = before;
        if self.take(&[' ', '-', '\u{a0}'])
            && let Some(numerator) = self.whole_number()
            && self.take(&['/'])
            && let Some(denominator) = self.whole_number()
        {
            return (denominator > 0.0).then(|| whole + numerator / denominator);
        }
        self.at = before;
        Some(whole)
    }

    fn whole_number(&mut self) -> Option<f64> {
        let start = self.at;
        self.digits();
        self.text.get(start..self.at)?.parse().ok()
    }
}

#[cfg(test)]
mod tests {
    use super::super::unit::{
        DURATION, LENGTH, POWER, PRESSURE, TEMPERATURE, TEMPERATURE_DIFFERENCE, VISCOSITY, VOLUME,
    };
    use super::*;

    fn close(text: &str, dimension: &Dimension, wanted: f64) {
        let found = parse(text, dimension).unwrap_or_else(|error| panic!("{text}: {error:?}"));
        // A product and a sum of doubles: a few units in the last place.
        assert!((found - wanted).abs() <= 1e-14 * wanted.abs().max(1.0), "{text}: {found} is not {wanted}");
    }

    #[test]
    fn exact_numbers_as_people_write_them() {
        for text in ["1.5 in", "1 1/2 in", "1-1/2 in", "3/2 in", "1½ in", "15e-1 in", "+1.5in", " 1.50  inches "] {
            close(text, &LENGTH, 0.0381);
        }
        close("½ hp", &POWER, 372.849_935_791_135_1);
        close("-3 ft", &LENGTH, -0.9144);
        close("−3 ft", &LENGTH, -0.9144);
        close(".5 L", &VOLUME, 0.5);
        close("1e3 mm", &LENGTH, 1.0);
    }

    #[test]
    fn exact_spellings_of_one_unit() {
        for text in ["2 m3", "2 m³", "2 m^3", "2 cubic metres", "2000 L", "2000 l", "2000 liters", "2000 LITRES"] {
            close(text, &VOLUME, 2_000.0);
        }
        for text in ["1 mPa·s", "1 mPa⋅s", "1 mPa s", "1 cP", "1 CP"] {
            close(text, &VISCOSITY, 0.001);
        }
    }

    #[test]
    fn exact_temperatures_and_their_differences() {
        for text in ["50 °F", "50°F", "50 F", "50 ℉", "50 degF", "50 deg F", "10 °C", "283.15 K"] {
            // 283.15 - 273.15 leaves an error of 283 in the last place.
            let found = parse(text, &TEMPERATURE).unwrap();
            assert!((found - 10.0).abs() < 1e-13, "{text}: {found}");
        }
        for text in ["50 °F", "50 F", "50 Δ°F"] {
            close(text, &TEMPERATURE_DIFFERENCE, 250.0 / 9.0);
        }
        let error = parse("50 Δ°F", &TEMPERATURE).unwrap_err();
        assert!(
            matches!(error, QuantityError::OtherDimension { what: "a difference of temperatures", .. }),
            "{error:?}"
        );
        assert_eq!(parse("-300 °C", &TEMPERATURE), Err(QuantityError::TooSmall));
    }

    #[test]
    fn case_matters_where_it_changes_the_prefix() {
        close("5 PSI", &PRESSURE, 5.0 * 6.894_757_293_168_361);
        assert!(parse("1 MPa·s", &VISCOSITY).is_err());
        assert!(parse("1 Mm", &LENGTH).is_err());
    }

    #[test]
    fn what_is_no_quantity_says_why() {
        let error = |text| parse(text, &VOLUME).unwrap_err();
        assert_eq!(error("plenty"), QuantityError::NoNumber);
        assert_eq!(error("inf gal"), QuantityError::NoNumber);
        assert_eq!(error("NaN gal"), QuantityError::NoNumber);
        assert_eq!(error("1/0 gal"), QuantityError::NoNumber);
        assert_eq!(error("75"), QuantityError::NoUnit);
        assert_eq!(error("-75 gal"), QuantityError::TooSmall);
        assert_eq!(error("1e400 gal"), QuantityError::TooLarge);
        assert_eq!(error("1,500 gal"), QuantityError::Comma { corrected: "1500 gal".into() });
        assert_eq!(error("2,5 m3"), QuantityError::Comma { corrected: "2.5 m3".into() });
        assert_eq!(error("75 galons"), QuantityError::UnknownUnit { part: 3..9, nearest: Some("gal") });
        assert_eq!(error("75 psi"), QuantityError::OtherDimension { part: 3..6, what: "a pressure", nearest: None });
        let error = parse("24 gpg", &MASS).unwrap_err();
        assert_eq!(error, QuantityError::OtherDimension { part: 3..6, what: "a hardness", nearest: Some("kgr") });
        let error = parse("30 m", &DURATION).unwrap_err();
        assert_eq!(error, QuantityError::OtherDimension { part: 3..4, what: "a length", nearest: Some("min") });
    }

    #[test]
    fn every_spelling_finds_its_own_unit() {
        for dimension in ALL {
            for unit in dimension.units {
                for spelling in unit.also.iter().chain([&unit.name]) {
                    let found = dimension.find(spelling).map(|unit| unit.name);
                    assert_eq!(found, Some(unit.name), "{} of {}", spelling, dimension.what);
                }
                assert!(dimension.named(unit.other).is_some(), "{} has no counterpart {}", unit.name, unit.other);
            }
        }
    }
}
