//! What a key takes.

use std::fmt;

use crate::quantity::unit::Dimension;
use crate::typed::Shape;

/// What a key of a scenario takes.
#[derive(Clone, Debug)]
pub enum What {
    /// A number and a unit.
    Quantity(&'static Dimension),
    /// Water in a tank: a volume, or a share of what the tank holds.
    Level,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// One line of text.
    Text,
    /// The name of a file.
    File,
    /// A date.
    Date,
    /// A date and a time of day.
    Moment,
    /// A time of day.
    TimeOfDay,
    /// A whole number.
    Whole {
        /// The least that is taken,
        least: i64,
        /// and the most.
        most: i64,
    },
    /// A number without a unit.
    Number {
        /// The least that is taken,
        least: i64,
        /// and the most.
        most: i64,
    },
    /// True or false.
    YesNo,
    /// Any number of these.
    List(Box<What>),
    /// A section with keys of its own.
    Section,
    /// A value of some other key.
    Any,
}

impl What {
    pub(crate) fn of(shape: &Shape) -> Self {
        match *shape {
            Shape::Quantity(dimension) => Self::Quantity(dimension),
            Shape::Level => Self::Level,
            Shape::Choice(words) => Self::Choice(words),
            Shape::Text => Self::Text,
            Shape::File => Self::File,
            Shape::Date => Self::Date,
            Shape::Moment => Self::Moment,
            Shape::TimeOfDay => Self::TimeOfDay,
            Shape::Whole { least, most } => Self::Whole { least, most },
            Shape::Number { least, most } => Self::Number { least, most },
            Shape::YesNo => Self::YesNo,
            Shape::List(ref item) => Self::List(Box::new(Self::of(item))),
            Shape::Section(_) => Self::Section,
            Shape::Any => Self::Any,
        }
    }
}

/// In plain words, as the reference of keys has it.
impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Quantity(dimension) => f.write_str(dimension.what),
            Self::Level => f.write_str("a volume or a share"),
            Self::Choice(words) => {
                let words: Vec<_> = words.iter().map(|word| format!("`{word}`")).collect();
                write!(f, "one of {}", words.join(", "))
            }
            Self::Text => f.write_str("text"),
            Self::File => f.write_str("a file's name"),
            Self::Date => f.write_str("a date"),
            Self::Moment => f.write_str("a date and time"),
            Self::TimeOfDay => f.write_str("a time of day"),
            Self::Whole { least, most } => write!(f, "a whole number from {least} to {most}"),
            Self::Number { least, most } => write!(f, "a number from {least} to {most}"),
            Self::YesNo => f.write_str("true or false"),
            Self::List(item) => write!(f, "a list of: {item}"),
            Self::Section => f.write_str("a section"),
            Self::Any => f.write_str("a value as in the scenario"),
        }
    }
}
