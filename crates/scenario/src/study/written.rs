//! A value for some key of a scenario: what it must be, only that key says.

use crate::source::Stretch;
use crate::tree::{self, Node};
use crate::typed::{Field, Reader, Shape, Typed};
use crate::vary::Value;

/// A value, and where it stands in the study.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    pub(crate) value: Value,
    pub(crate) place: Stretch,
    /// Of a list, its items.
    pub(crate) items: Vec<Written>,
}

impl Written {
    fn of(node: &Node, reader: &Reader<'_>) -> Self {
        let items = match &node.value {
            tree::Value::List(items) => items.iter().map(|item| Self::of(item, reader)).collect(),
            _ => Vec::new(),
        };
        Self { value: Value::written(reader.source.at(node.place), node), place: node.place, items }
    }
}

impl Typed for Written {
    fn shape() -> Shape {
        Shape::Any
    }

    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self> {
        if node.as_table().is_some() {
            reader.wrong_type(node, field, "a value as in the scenario");
            return None;
        }
        Some(Self::of(node, reader))
    }
}
