//! Values across the page.

use super::axis::ValueAxis;
use super::ink::{GRID, QUIET};
use super::page::{Align, Area, Page};

/// An axis of values across the page: one up it, laid on its side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Across {
    pub(crate) area: Area,
    upright: ValueAxis,
}

impl Across {
    /// From `least`, or below, to at least `most`.
    pub(crate) fn new(area: Area, least: f64, most: f64) -> Self {
        Self { area, upright: ValueAxis::between(Area::new(0.0, 0.0, 1.0, area.width()), least, most) }
    }

    pub(crate) fn x(&self, value: f64) -> f64 {
        self.area.right - self.upright.y(value)
    }

    /// Lines from the top to the bottom.
    pub(crate) fn grid(&self, page: &mut Page) {
        for value in self.upright.marks() {
            page.line((self.x(value), self.area.top), (self.x(value), self.area.bottom), GRID, 1.0);
        }
    }

    /// Their values at the page's `y`.
    pub(crate) fn labels(&self, page: &mut Page) {
        for value in self.upright.marks() {
            page.label((self.x(value), page.y), &self.upright.said(value), QUIET, Align::Middle);
        }
    }
}
