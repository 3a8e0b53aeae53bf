//! A page of shapes, and how it becomes an SVG and a PNG.
//!
//! Plots fill a [`Page`], which is plain data and so can be checked (no label over another, none off the page); drawing it
//! is the business of [`svg`] and [`png`]. Lengths are in page units of one CSS pixel. A page is narrow with large type, so that it
//! reads at the width of a phone.

pub(crate) mod across;
pub(crate) mod axis;
pub(crate) mod bars;
pub(crate) mod ink;
mod page;
mod render;
mod type_width;

pub(crate) use ink::{Ink, Look};
#[cfg(test)]
pub(crate) use page::Shape;
pub(crate) use page::{
    Align, Area, BODY, MARGIN, Page, Point, WIDTH, fitted, fitted_strong, label_width, merged, strong_width,
};
pub use render::DrawError;
pub(crate) use render::{png, svg};
