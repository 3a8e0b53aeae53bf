//! Inputs of a study that take any value between 0 and 1, made values of keys.

use springhouse_scenario::study::{Axis, Scale, Spread, Uncertain};
use springhouse_scenario::vary::{KeyPath, Value, What};

use super::Cell;
use super::ask::{amount, column, text_of};
use super::plan::Column;
use crate::sure::{Input, SureError};

/// An input.
#[derive(Clone, Debug)]
pub(super) struct Drawn {
    name: String,
    keys: Vec<(KeyPath, What)>,
    how: How,
}

#[derive(Clone, Debug)]
enum How {
    /// A distribution of a number.
    Spread(Input, Scale),
    /// A distribution of places in a list.
    Listed(Input, Vec<Value>),
    /// An axis, evenly.
    Axis(Axis),
}

impl Drawn {
    pub(super) fn of_uncertain(at: &Uncertain) -> Result<Self, SureError> {
        let how = match &at.spread {
            // Every whole number is as likely, the ends as well.
            Spread::Uniform { scale, low, high } if scale.is_whole() && low < high => {
                How::Spread(Input::uniform(*low - 0.5, *high + 0.5)?, *scale)
            }
            Spread::Uniform { scale, low, high } => How::Spread(Input::uniform(*low, *high)?, *scale),
            Spread::Normal { scale, mean, deviation, low, high } => {
                How::Spread(Input::normal(*mean, *deviation, *low, *high)?, *scale)
            }
            Spread::LogNormal { scale, mean, variation } => How::Spread(Input::log_normal(*mean, *variation)?, *scale),
            Spread::Triangular { scale, low, likely, high } => {
                How::Spread(Input::triangular(*low, *likely, *high)?, *scale)
            }
            Spread::Listed(values) => {
                #[expect(clippy::cast_precision_loss, reason = "a place in a list")]
                let places: Vec<_> = values.iter().enumerate().map(|(at, (_, weight))| (at as f64, *weight)).collect();
                How::Listed(Input::listed(&places)?, values.iter().map(|(value, _)| value.clone()).collect())
            }
        };
        Ok(Self { name: at.key.to_string(), keys: vec![(at.key.clone(), at.what.clone())], how })
    }

    pub(super) fn of_axis(axis: &Axis) -> Self {
        Self { name: axis.name.clone(), keys: axis.keys.clone(), how: How::Axis(axis.clone()) }
    }

    pub(super) fn name(&self) -> &str {
        &self.name
    }

    pub(super) fn columns(&self) -> impl Iterator<Item = Column> {
        self.keys.iter().map(|(key, what)| column(key, what))
    }

    /// The values at a number between 0 and 1.
    pub(super) fn at(&self, unit: f64) -> Vec<(KeyPath, Value)> {
        let values = match &self.how {
            How::Spread(input, scale) => vec![scale.value(input.at(unit))],
            How::Listed(input, values) => {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
                let place = input.at(unit) as usize;
                values.get(place).cloned().into_iter().collect()
            }
            How::Axis(axis) => axis.value_at(unit),
        };
        self.keys.iter().map(|(key, _)| key.clone()).zip(values).collect()
    }

    /// Values as they stand in a table.
    pub(super) fn cells(&self, values: &[(KeyPath, Value)]) -> Vec<Cell> {
        let cell = |((_, what), (_, value)): (&(KeyPath, What), &(KeyPath, Value))| match amount(value, what) {
            Some(number) => Cell::Number(number),
            None => Cell::Text(text_of(value)),
        };
        self.keys.iter().zip(values).map(cell).collect()
    }
}
