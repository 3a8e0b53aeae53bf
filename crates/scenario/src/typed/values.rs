//! The types of single values, and lists of them.

use jiff::civil::{Date, DateTime, Time};

use super::{At, Field, Reader, Shape, Typed, meant};
use crate::diagnostic::Diagnostic;
use crate::display::{Units, brief};
use crate::quantity::parse::{self, QuantityError};
use crate::quantity::unit::{self, Dimension};
use crate::quantity::{self, Quantity, clock};
use crate::source::Format;
use crate::tree::{Node, Value};

macro_rules! typed_quantities {
    ($($name:ident)+) => {$(
        impl Typed for quantity::$name {
            fn shape() -> Shape {
                Shape::Quantity(Self::DIMENSION)
            }

            fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
                reader.quantity(node, field, &[Self::DIMENSION]).map(|(_, base)| Self::from_base(base))
            }
        }
    )+};
}

typed_quantities! {
    Length Volume Flow Pressure Temperature Power Duration SpecificCapacity Share VolumePerLength Density Viscosity Area
    Mass Concentration Hardness Dose Price Flux Permeability FlowCoefficient TemperatureConstant
    TemperatureDifference Speed DepthRate Sun HeatLoss HeatCapacity Energy EnergyPrice Emission
}

/// Water in a tank: a volume, or a share of what the tank holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Level {
    VolumeL(f64),
    Share(f64),
}

impl Level {
    pub(crate) fn volume_l(self, capacity_l: f64) -> f64 {
        match self {
            Self::VolumeL(volume_l) => volume_l,
            Self::Share(share) => share * capacity_l,
        }
    }
}

impl Typed for Level {
    fn shape() -> Shape {
        Shape::Level
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let (index, base) = reader.quantity(node, field, &[&unit::VOLUME, &unit::SHARE])?;
        Some(if index == 0 { Self::VolumeL(base) } else { Self::Share(base) })
    }
}

impl Reader<'_> {
    /// Reads a quantity of one of the dimensions: which one it was, and its value in base units.
    fn quantity(&mut self, node: &Node, field: &Field, dimensions: &[&'static Dimension]) -> Option<(usize, f64)> {
        let Value::Text(text) = &node.value else {
            let fault = self.not_a_text(node, field, dimensions);
            self.tell(fault.note(units_of(dimensions)));
            return None;
        };
        let mut first = None;
        for (index, dimension) in dimensions.iter().enumerate() {
            let read = if std::ptr::eq(*dimension, &raw const unit::DURATION) {
                clock::duration_s(text)
            } else {
                parse::parse(text, dimension)
            };
            match read {
                Ok(base) => return Some((index, base)),
                Err(error) => {
                    first.get_or_insert((dimension, error));
                }
            }
        }
        let (dimension, error) = first?;
        let fault = self.not_a_quantity(node, text, field, (dimension, &error));
        let about_unit =
            !matches!(error, QuantityError::TooSmall | QuantityError::TooLarge | QuantityError::Comma { .. });
        self.tell(if about_unit { fault.note(units_of(dimensions)) } else { fault });
        None
    }

    fn not_a_text(&self, node: &Node, field: &Field, dimensions: &[&'static Dimension]) -> Diagnostic {
        let (name, what) = (field.name, either(dimensions));
        match &node.value {
            Value::Number(number, _) if number.is_finite() => Diagnostic::error(format!("`{name}` has no unit"))
                .at(node.place, format!("a bare number, but {what} is wanted"))
                .help(self.with_units(self.source.at(node.place), field, dimensions)),
            Value::Number(..) => Diagnostic::error(format!("`{name}` is not a number that can be used"))
                .at(node.place, format!("{what} is wanted"))
                .help(format!("write it like: {}", field.example_line(self))),
            other => Diagnostic::error(format!("`{name}` must be {what}, not {}", other.what()))
                .at(node.as_table().map_or(node.place, |table| table.header), format!("this is {}", other.what()))
                .help(format!("write it like: {}", field.example_line(self))),
        }
    }

    /// `write "75 gal" or "75 L"`: the unit of the key's example and its counterpart, the scenario's own habit first.
    fn with_units(&self, number: &str, field: &Field, dimensions: &[&'static Dimension]) -> String {
        let unit_of_example = |dimension: &&'static Dimension| {
            let (_, at) = parse::number(field.example())?;
            dimension.find(field.example().get(at..)?)
        };
        let found = dimensions.iter().find_map(|dimension| Some((*dimension, unit_of_example(dimension)?)));
        let fallback = dimensions.iter().find_map(|dimension| Some((*dimension, dimension.units.first()?)));
        let Some((dimension, own)) = found.or(fallback) else { return String::new() };
        if own.name == "%"
            && let Some(share) = number.trim().parse::<f64>().ok().filter(|share| (0.0..=1.0).contains(share))
        {
            // 0.9 of the whole was meant, not 0.9 of a hundredth; rounded, since 100 x 0.07 is 7.000000000000001.
            return format!("write \"{} %\"", (1e6 * share).round() / 1e4);
        }
        let mut names = vec![own.name];
        if own.other != own.name {
            names.push(own.other);
        }
        if self.units == Some(Units::Metric) {
            names.reverse();
        }
        if dimensions.len() > 1 && !std::ptr::eq(dimension, &raw const unit::SHARE) {
            names.push("%");
        }
        let texts: Vec<_> = names.iter().map(|name| format!("\"{} {name}\"", number.trim())).collect();
        format!("write {}", texts.join(" or "))
    }

    fn not_a_quantity(
        &self,
        node: &Node,
        text: &str,
        field: &Field,
        (dimension, error): (&'static Dimension, &QuantityError),
    ) -> Diagnostic {
        let (name, what) = (field.name, dimension.what);
        let swapped = |part: &std::ops::Range<usize>, unit: &str| {
            let (before, after) =
                (text.get(..part.start).unwrap_or_default(), text.get(part.end..).unwrap_or_default());
            let gap = if before.ends_with(char::is_whitespace) { "" } else { " " };
            format!("write \"{before}{gap}{unit}{after}\"")
        };
        let meant = meant::text(text, field.name, dimension);
        let meant = meant.map(|(meant, why)| {
            let fault = match error {
                QuantityError::NoNumber => Diagnostic::error(format!("`{name}` does not start with a number")),
                _ => Diagnostic::error(format!("`{name}` is {what}, and cannot be \"{text}\"")),
            };
            fault.at(node.place, why).help(format!("write \"{meant}\""))
        });
        if let Some(fault) = meant {
            return fault;
        }
        match error {
            QuantityError::NoNumber => Diagnostic::error(format!("`{name}` does not start with a number"))
                .at(node.place, format!("{what} is wanted"))
                .help(format!("write it like: {}", field.example_line(self))),
            QuantityError::Comma { corrected } => Diagnostic::error(format!("`{name}` has a comma in its number"))
                .at(node.place, "a point is the decimal mark, and thousands are not set off")
                .help(format!("write \"{corrected}\"")),
            QuantityError::NoUnit => {
                let fault =
                    Diagnostic::error(format!("`{name}` has no unit")).at(node.place, format!("{what} is wanted"));
                // Of several parts only the last lacks its unit.
                if text.contains(char::is_alphabetic) {
                    fault.help("write it like \"1 h 30 min\": every number with its unit")
                } else {
                    fault.help(self.with_units(text, field, &[dimension]))
                }
            }
            QuantityError::UnknownUnit { part, nearest } => {
                let unit = text.get(part.clone()).unwrap_or_default();
                let fault = Diagnostic::error(format!("`{name}` has a unit that is not known: \"{unit}\""));
                let place = node.part(self.source, part.clone());
                match nearest {
                    Some(nearest) => fault.at(place, format!("did you mean `{nearest}`?")).help(swapped(part, nearest)),
                    None => fault.at(place, format!("no unit of {what}")),
                }
            }
            QuantityError::OtherDimension { part, what: found, nearest } => {
                let fault = Diagnostic::error(format!("`{name}` is {what}, but \"{text}\" is {found}"))
                    .at(node.part(self.source, part.clone()), format!("a unit of {}", without_article(found)));
                match nearest {
                    Some(nearest) => fault.help(swapped(part, nearest)),
                    None => fault.help(format!("write it like: {}", field.example_line(self))),
                }
            }
            QuantityError::TooSmall => match dimension.least {
                Some(least) if least < 0.0 => Diagnostic::error(format!("`{name}` is below absolute zero")),
                _ => Diagnostic::error(format!("`{name}` must not be negative")),
            }
            .at(node.place, "too small")
            .help(format!("write it like: {}", field.example_line(self))),
            QuantityError::TooLarge => {
                Diagnostic::error(format!("`{name}` is too large to be computed with")).at(node.place, "too large")
            }
            QuantityError::NotFalling => {
                Diagnostic::error(format!("`{name}` mixes its units: the larger ones come first, each once"))
                    .at(node.place, format!("{what} is wanted"))
                    .help("write it like \"1 h 30 min\"")
            }
        }
    }

    fn text<'n>(&mut self, node: &'n Node, field: &Field, wanted: &str) -> Option<&'n str> {
        if let Value::Text(text) = &node.value {
            return Some(text);
        }
        self.wrong_type(node, field, wanted);
        None
    }

    /// A text, or what TOML has without quotes for dates and times.
    fn moment<'n, T>(
        &mut self,
        node: &'n Node,
        field: &Field,
        (wanted, form): (&str, &str),
        read: impl Fn(&'n str) -> Option<T>,
    ) -> Option<T> {
        let (Value::Text(text) | Value::Moment(text)) = &node.value else {
            self.wrong_type(node, field, wanted);
            return None;
        };
        let found = read(text);
        if found.is_none() {
            let label = if clock::is_no_day(text) {
                "the calendar has no such day".to_owned()
            } else {
                format!("{wanted} is written {form}, in local standard time")
            };
            let help = match clock::meant_time(text).filter(|_| matches!((field.shape)(), Shape::TimeOfDay)) {
                Some(meant) => format!("write {}", self.source.format.assignment(field.name, &format!("\"{meant}\""))),
                None => format!("write it like: {}", field.example_line(self)),
            };
            self.tell(Diagnostic::error(format!("`{}` is not {wanted}", field.name)).at(node.place, label).help(help));
        }
        found
    }
}

fn either(dimensions: &[&'static Dimension]) -> String {
    dimensions.iter().map(|dimension| dimension.what).collect::<Vec<_>>().join(" or ")
}

fn units_of(dimensions: &[&'static Dimension]) -> String {
    let what: Vec<_> = dimensions.iter().map(|dimension| without_article(dimension.what)).collect();
    let names: Vec<_> = dimensions.iter().flat_map(|dimension| dimension.names()).collect();
    format!("units of {}: {}", what.join(" or "), names.join(", "))
}

fn without_article(what: &str) -> &str {
    what.strip_prefix("a ").or_else(|| what.strip_prefix("an ")).unwrap_or(what)
}

/// A text that is not empty and has no spaces around it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Text(pub(crate) String);

impl Typed for Text {
    fn shape() -> Shape {
        Shape::Text
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let text = reader.text(node, field, "a text")?;
        let plain = text.trim() == text && !text.is_empty() && !text.contains(char::is_control);
        if !plain {
            let title = format!("`{}` must be one line of text without spaces around it", field.name);
            reader.tell(Diagnostic::error(title).at(node.place, if text.is_empty() { "empty" } else { "not plain" }));
        }
        plain.then(|| Self(text.to_owned()))
    }
}

/// The name of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct File(pub(crate) String);

impl Typed for File {
    fn shape() -> Shape {
        Shape::File
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        Text::read(node, field, reader).map(|text| Self(text.0))
    }
}

impl Typed for Date {
    fn shape() -> Shape {
        Shape::Date
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        reader.moment(node, field, ("a date", "year-month-day"), clock::date)
    }
}

/// A date and a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Moment(pub(crate) DateTime);

impl Typed for Moment {
    fn shape() -> Shape {
        Shape::Moment
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let wanted = ("a date and time", "year-month-day hours:minutes");
        reader.moment(node, field, wanted, clock::date_time).map(Self)
    }
}

/// A time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TimeOfDay(pub(crate) Time);

impl Typed for TimeOfDay {
    fn shape() -> Shape {
        Shape::TimeOfDay
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let wanted = ("a time of day", "hours:minutes, from 00:00 to 23:59");
        reader.moment(node, field, wanted, clock::time_of_day).map(Self)
    }
}

/// A whole number in a range.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Whole<const LEAST: u32, const MOST: u32>(pub(crate) u32);

impl<const LEAST: u32, const MOST: u32> Typed for Whole<LEAST, MOST> {
    fn shape() -> Shape {
        Shape::Whole { least: LEAST.into(), most: MOST.into() }
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let name = field.name;
        let Value::Number(_, Some(whole)) = node.value else {
            let wanted = format!("a whole number from {LEAST} to {MOST}");
            if matches!(node.value, Value::Number(..)) {
                reader
                    .tell(Diagnostic::error(format!("`{name}` must be {wanted}")).at(node.place, "not a whole number"));
            } else {
                reader.wrong_type(node, field, &wanted);
            }
            return None;
        };
        let found = u32::try_from(whole).ok().filter(|whole| (LEAST..=MOST).contains(whole));
        if found.is_none() {
            let label = if whole < i64::from(LEAST) { "too small" } else { "too large" };
            let title = format!("`{name}` is {whole}, but must be from {LEAST} to {MOST}");
            let help = format!("write it like: {}", field.example_line(reader));
            reader.tell(Diagnostic::error(title).at(node.place, label).help(help));
        }
        found.map(Self)
    }
}

/// A number in a range, with a fraction or without.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Number<const LEAST: i32, const MOST: i32>(pub(crate) f64);

impl<const LEAST: i32, const MOST: i32> Typed for Number<LEAST, MOST> {
    fn shape() -> Shape {
        Shape::Number { least: LEAST.into(), most: MOST.into() }
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        // A number in quotes, with a unit or without, is given back without them.
        let in_quotes = |text: &str| parse::number(text).map(|(number, _)| number);
        reader.number(node, field, (LEAST, MOST), in_quotes, |_| None).map(Self)
    }
}

/// Degrees from north over east.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bearing(pub(crate) f64);

impl Typed for Bearing {
    fn shape() -> Shape {
        Shape::Number { least: 0, most: 360 }
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let in_text = |text: &str| meant::bearing(text).or_else(|| Some(parse::number(text)?.0));
        // Degrees to the west of north.
        let beyond = |number: f64| (-360.0..0.0).contains(&number).then_some(number + 360.0);
        reader.number(node, field, (0, 360), in_text, beyond).map(Self)
    }
}

impl Reader<'_> {
    /// A number in a range. What was probably meant by a text or by a number beyond it is told, where that is in the range.
    fn number(
        &mut self,
        node: &Node,
        field: &Field,
        (least, most): (i32, i32),
        in_text: impl Fn(&str) -> Option<f64>,
        beyond: impl Fn(f64) -> Option<f64>,
    ) -> Option<f64> {
        let name = field.name;
        let within = |number: &f64| (f64::from(least)..=f64::from(most)).contains(number);
        let meant = match &node.value {
            Value::Number(number, _) if within(number) => return Some(*number),
            Value::Number(number, _) => beyond(*number),
            Value::Text(text) => in_text(text),
            _ => None,
        };
        let help = match meant.filter(within) {
            Some(meant) => format!("write {}", self.source.format.assignment(name, &brief(meant))),
            None => format!("write it like: {}", field.example_line(self)),
        };
        let fault = if let Value::Number(number, _) = node.value {
            let label = if number < f64::from(least) { "too small" } else { "too large" };
            let title = format!("`{name}` is {}, but must be from {least} to {most}", brief(number));
            Diagnostic::error(title).at(node.place, label)
        } else {
            let what = node.value.what();
            let place = node.as_table().map_or(node.place, |table| table.header);
            Diagnostic::error(format!("`{name}` must be a number from {least} to {most}, not {what}"))
                .at(place, format!("this is {what}"))
        };
        self.tell(fault.help(help));
        None
    }
}

impl Typed for bool {
    fn shape() -> Shape {
        Shape::YesNo
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        if let Value::YesNo(yes) = node.value {
            return Some(yes);
        }
        reader.wrong_type(node, field, "true or false");
        None
    }
}

impl<T: Typed> Typed for Vec<T> {
    fn shape() -> Shape {
        Shape::List(Box::new(T::shape()))
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let Value::List(items) = &node.value else {
            let name = field.name;
            let place = node.as_table().map_or(node.place, |table| table.header);
            let fault = Diagnostic::error(format!("`{name}` is a list, not {}", node.value.what()))
                .at(place, format!("this is {}", node.value.what()));
            reader.tell(match (node.as_table(), T::shape().section(), reader.source.format) {
                (Some(table), Some(_), Format::Toml) if reader.source.at(table.header).starts_with('[') => {
                    fault.help(format!("write the header with double brackets: [{}]", reader.source.at(table.header)))
                }
                (Some(_), Some(_), _) => fault.help("put it between brackets: [{ … }]"),
                _ if field.example().is_empty() => fault.help("write it like: [{ … }]"),
                _ => fault.help(format!("write it like: {}", field.example_line(reader))),
            });
            return None;
        };
        let read: Vec<Option<T>> = items.iter().map(|item| T::read(item, field, reader)).collect();
        read.into_iter().collect()
    }
}

/// Of a section in a list its header is kept: what a missing key points at.
impl<T: Typed> Typed for At<T> {
    fn shape() -> Shape {
        T::shape()
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        let place = node.as_table().map_or(node.place, |table| table.header);
        T::read(node, field, reader).map(|value| Self { value, place, given: true })
    }
}

/// A value that may have failed to be read: the section around it is checked all the same.
#[derive(Clone, Debug)]
pub(crate) struct Tried<T>(pub(crate) Option<T>);

impl<T: Typed> Typed for Tried<T> {
    fn shape() -> Shape {
        T::shape()
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        Some(Self(T::read(node, field, reader)))
    }
}
