//! Study files: a scenario, what is varied of it, what is uncertain, and how sure the answer is to be.
//!
//! A study is written in TOML and read like a scenario: everything that is wrong is told at once and points at its line. What
//! its keys mean is in the reference that [`reference_markdown`] makes.

mod axis;
mod read;
mod sections;
mod spread;
mod written;

use std::path::{Path, PathBuf};

use jiff::civil::Date;

pub use self::read::{load, parse};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::source::{Source, Stretch};
use crate::vary::{Amount, Base, KeyPath, Value, What};

/// A study as it was read.
#[derive(Clone, Debug)]
pub struct Study {
    source: Source,
    /// Short name: results are kept under it.
    pub name: String,
    /// One line that says what is asked.
    pub title: String,
    /// The scenario's file.
    pub scenario: PathBuf,
    /// The scenario.
    pub base: Base,
    /// First day of every run; `None` for the scenario's own.
    pub from: Option<Date>,
    /// Days of every run; `None` for the scenario's own.
    pub days: Option<u32>,
    /// Seed; `None` for the scenario's own.
    pub seed: Option<u64>,
    /// Most runs of each variant.
    pub runs: u64,
    /// How many variants fill the ranges; `None` makes every combination.
    pub filling: Option<u32>,
    /// What is varied.
    pub axes: Vec<Axis>,
    /// What is uncertain.
    pub uncertain: Vec<Uncertain>,
    /// Figures to keep; empty for the usual ones.
    pub figures: Vec<Figure>,
    /// The variant that others are compared with, counted from zero.
    pub reference: usize,
    reference_place: Stretch,
    /// How often an interval is to hold the truth.
    pub confidence: f64,
    /// The figure that tells whether a run falls short.
    pub short: Figure,
    /// Its limit.
    pub short_limit: Limit,
    /// When a variant needs no more runs.
    pub stop: Option<Stop>,
    /// What is wanted of a variant.
    pub target: Option<Target>,
}

/// A figure of a run's summary.
#[derive(Clone, Debug)]
pub struct Figure {
    /// Its path.
    pub path: KeyPath,
    place: Stretch,
}

/// What is varied: keys that change together.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What it is called.
    pub name: String,
    /// The keys, and what each takes.
    pub keys: Vec<(KeyPath, What)>,
    /// The values.
    pub values: Values,
    /// What each of the values costs; empty where that is not told.
    pub prices: Vec<f64>,
    /// Sizes that can be bought, in rising order; of an axis with a single key.
    pub trade: Vec<Value>,
}

/// Values of an axis.
#[derive(Clone, Debug)]
pub enum Values {
    /// Each with a value for every key.
    Listed(Vec<Vec<Value>>),
    /// From one end to the other; of an axis with a single key.
    Range {
        /// The ends.
        range: Range,
        /// How many where they are taken one by one.
        count: u32,
    },
}

/// A range of numbers or quantities.
#[derive(Clone, Copy, Debug)]
pub struct Range {
    scale: Scale,
    first: f64,
    last: f64,
    ratio: bool,
}

/// How a number becomes a value of a key.
#[derive(Clone, Copy, Debug)]
pub enum Scale {
    /// A quantity: of the dimension of this one and in its unit.
    Quantity(Amount),
    /// A number, with a fraction or without.
    Number {
        /// Whether it is whole.
        whole: bool,
    },
}

/// What nobody knows for sure.
#[derive(Clone, Debug)]
pub struct Uncertain {
    /// The key,
    pub key: KeyPath,
    /// and what it takes.
    pub what: What,
    /// How likely its values are.
    pub spread: Spread,
    place: Stretch,
}

/// How likely values are. Numbers are in the base unit.
#[derive(Clone, Debug)]
pub enum Spread {
    /// All between two ends are as likely.
    Uniform {
        /// How a number becomes a value.
        scale: Scale,
        /// The lower end,
        low: f64,
        /// and the upper.
        high: f64,
    },
    /// A normal distribution between two ends, which may be infinite.
    Normal {
        /// How a number becomes a value.
        scale: Scale,
        /// Mean and standard deviation before the ends are cut off.
        mean: f64,
        /// Standard deviation.
        deviation: f64,
        /// The lower end,
        low: f64,
        /// and the upper.
        high: f64,
    },
    /// A lognormal distribution.
    LogNormal {
        /// How a number becomes a value.
        scale: Scale,
        /// Mean.
        mean: f64,
        /// Standard deviation as a part of the mean.
        variation: f64,
    },
    /// A triangular distribution.
    Triangular {
        /// How a number becomes a value.
        scale: Scale,
        /// The lower end,
        low: f64,
        /// the likeliest value,
        likely: f64,
        /// and the upper end.
        high: f64,
    },
    /// Some values, each with its weight.
    Listed(Vec<(Value, f64)>),
}

/// A limit of a figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// More is too much.
    AtMost(f64),
    /// Less is too little.
    AtLeast(f64),
}

/// When a variant needs no more runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// Half the width of the interval of the chance that is narrow enough.
    pub half_width: Option<f64>,
    /// A chance that it is enough to be above or below of.
    pub chance: Option<f64>,
    /// Runs before the first look.
    pub least_runs: u64,
    /// Runs between looks.
    pub look_every: u64,
}

/// What is wanted of a variant.
#[derive(Clone, Debug)]
pub enum Target {
    /// A chance of falling short of no more than this.
    Chance(f64),
    /// A mean of a figure within a limit.
    Mean(Figure, Limit),
}

impl Study {
    /// The text of the study.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.source.text
    }

    /// Files that it names as values of keys.
    pub fn files_varied(&self) -> impl Iterator<Item = &str> {
        let listed = self.axes.iter().flat_map(|axis| match &axis.values {
            Values::Listed(rows) => rows.iter().map(|row| (axis, row)).collect::<Vec<_>>(),
            Values::Range { .. } => Vec::new(),
        });
        let values = listed.flat_map(|(axis, row)| axis.keys.iter().zip(row));
        let files = values.filter(|((_, what), _)| matches!(what, What::File)).map(|(_, value)| value);
        let uncertain = self.uncertain.iter().filter(|at| matches!(at.what, What::File));
        let uncertain = uncertain.flat_map(|at| match &at.spread {
            Spread::Listed(values) => values.iter().map(|(value, _)| value).collect::<Vec<_>>(),
            _ => Vec::new(),
        });
        files.chain(uncertain).filter_map(Value::as_text)
    }

    /// A fault of something in the study, in words.
    #[must_use]
    pub fn fault_of(&self, figure: &Figure, title: &str, label: &str, help: &str) -> Diagnostics {
        let fault = Diagnostic::error(title);
        // One that was typed beside the study has no place in it.
        let fault = if figure.place.end > 0 { fault.at(figure.place, label) } else { fault.note(label) };
        let fault = fault.help(help);
        Diagnostics::new(self.source.clone(), vec![fault])
    }

    /// A fault of an uncertain key.
    #[must_use]
    pub fn fault_of_uncertain(&self, uncertain: &Uncertain, title: &str, label: &str) -> Diagnostics {
        let fault = Diagnostic::error(title).at(uncertain.place, label);
        Diagnostics::new(self.source.clone(), vec![fault])
    }

    /// A fault of the reference: there are only so many variants.
    #[must_use]
    pub fn fault_of_reference(&self, variants: usize) -> Diagnostics {
        let fault = Diagnostic::error(format!("there is no variant {}", self.reference + 1))
            .at(self.reference_place, format!("the study has {variants}"))
            .help("take one of them, counted from one, in the order of `variants.csv`");
        Diagnostics::new(self.source.clone(), vec![fault])
    }
}

impl Figure {
    /// One that stands in no study.
    #[must_use]
    pub fn usual(path: KeyPath) -> Self {
        Self { path, place: Stretch::default() }
    }
}

impl Axis {
    /// How many values it has where they are taken one by one.
    #[must_use]
    pub fn count(&self) -> usize {
        match &self.values {
            Values::Listed(values) => values.len(),
            Values::Range { count, .. } => *count as usize,
        }
    }

    /// A value by its place, for each key.
    #[must_use]
    pub fn value(&self, place: usize) -> Vec<Value> {
        match &self.values {
            Values::Listed(values) => values.get(place).cloned().unwrap_or_default(),
            Values::Range { range, count } => {
                let last = count.saturating_sub(1).max(1);
                #[expect(clippy::cast_precision_loss, reason = "at most 100 000 values")]
                let share = place as f64 / f64::from(last);
                vec![range.at(share)]
            }
        }
    }

    /// The value at a part of the way from the first to the last, up to but without 1; of a list, the one that lies there.
    #[must_use]
    pub fn value_at(&self, share: f64) -> Vec<Value> {
        match &self.values {
            Values::Listed(values) => {
                #[expect(
                    clippy::cast_precision_loss,
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a place in a list"
                )]
                let place = (share * values.len() as f64) as usize;
                values.get(place.min(values.len().saturating_sub(1))).cloned().unwrap_or_default()
            }
            Values::Range { range, .. } => vec![range.within(share)],
        }
    }
}

impl Range {
    /// The value at a part of the way, with no more digits than a thousandth of the range tells; the ends as they are.
    #[must_use]
    pub fn at(&self, share: f64) -> Value {
        if share <= 0.0 {
            return self.scale.value(self.first);
        }
        if share >= 1.0 {
            return self.scale.value(self.last);
        }
        self.rounded(if self.ratio {
            self.first * libm::pow(self.last / self.first, share)
        } else {
            self.first * (1.0 - share) + self.last * share
        })
    }

    /// How many whole numbers it has, where only such are meant.
    fn whole_numbers(&self) -> Option<u32> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates")]
        self.scale.is_whole().then(|| ((self.last - self.first).abs() + 1.0) as u32)
    }

    /// The value at a part of the way, of which every whole number, where only such are meant, has as much.
    fn within(&self, share: f64) -> Value {
        match self.scale {
            Scale::Number { whole: true } if !self.ratio => {
                let (low, high) = (self.first.min(self.last), self.first.max(self.last));
                self.scale.value((low - 0.5 + share * (high - low + 1.0)).clamp(low, high))
            }
            _ => self.at(share),
        }
    }

    /// The value half way between two of its numbers; `None` where they are as near to each other as its values get.
    #[must_use]
    pub fn between(&self, low: f64, high: f64) -> Option<Value> {
        let value = self.rounded(if self.ratio { (low * high).sqrt() } else { low.midpoint(high) });
        let size = match self.scale {
            Scale::Quantity(amount) => value.amount(&What::Quantity(amount.dimension))?.base,
            Scale::Number { .. } => value.as_number()?,
        };
        (size > low.min(high) && size < low.max(high)).then_some(value)
    }

    fn rounded(&self, base: f64) -> Value {
        match self.scale {
            Scale::Quantity(amount) => {
                let of = |base: f64| Amount { base, ..amount }.in_its_unit();
                // Of a ratio the smaller end says how fine.
                let spread = if self.ratio { of(self.first.min(self.last)) } else { of(self.last) - of(self.first) };
                let rounded = to_a_thousandth(of(base), spread);
                self.scale.value(Amount { base, ..amount }.with(rounded).base)
            }
            Scale::Number { .. } => {
                let spread = if self.ratio { self.first.min(self.last) } else { self.last - self.first };
                self.scale.value(to_a_thousandth(base, spread))
            }
        }
    }
}

/// A number with the decimals that tell a thousandth of another.
fn to_a_thousandth(value: f64, of: f64) -> f64 {
    let digits = -libm::floor(libm::log10(of.abs() / 1e3));
    let scale = libm::pow(10.0, digits.abs());
    // Powers of ten are exact one way only.
    let rounded = if digits >= 0.0 { libm::round(value * scale) / scale } else { libm::round(value / scale) * scale };
    if rounded.is_finite() { rounded } else { value }
}

impl Scale {
    /// Whether only whole numbers are meant.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        matches!(self, Self::Number { whole: true })
    }

    /// A number, of a quantity in its base unit, as a value of the key.
    #[must_use]
    pub fn value(&self, number: f64) -> Value {
        match *self {
            Self::Quantity(amount) => Value::quantity(Amount { base: number, ..amount }),
            Self::Number { whole: false } => Value::number(number),
            Self::Number { whole: true } => Value::number(number.round()),
        }
    }
}

/// The folder that the files of a study are named from.
fn folder_of(file: &Path) -> &Path {
    file.parent().unwrap_or_else(|| Path::new(""))
}

/// The reference of the keys of study files, in Markdown.
#[must_use]
pub fn reference_markdown() -> String {
    crate::reference::study_markdown(sections::StudyFile::SECTION)
}
