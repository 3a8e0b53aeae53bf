//! A grid of settings.

use serde::Serialize;

use super::axes::{Axes, Place};
use super::judge::{AtTemp, Judge};
use super::point::Point;
use super::question::{Question, TuneError};

/// How many settings a map has; each is held to 2 to 256.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Size {
    /// Openings of the reject valve.
    pub reject: u16,
    /// Openings of the recycle valve, the first of them shut; one where nothing can be recycled.
    pub recycle: u16,
}

impl Default for Size {
    fn default() -> Self {
        Self { reject: 32, recycle: 20 }
    }
}

/// Settings of both valves, judged at one temperature and the typical inlet pressure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Map {
    /// Temperature of the feed, °C.
    pub temp_c: f64,
    /// Openings of the reject valve, rising, L/s at 1 kPa.
    pub reject_kv: Vec<f64>,
    /// Openings of the recycle valve, rising from shut, L/s at 1 kPa.
    pub recycle_kv: Vec<f64>,
    /// One point for each setting: all of the first recycle opening, then all of the next.
    pub points: Vec<Point>,
}

impl Map {
    /// The point at the `reject`th and `recycle`th opening.
    #[must_use]
    pub fn at(&self, reject: usize, recycle: usize) -> Option<&Point> {
        if reject < self.reject_kv.len() { self.points.get(recycle * self.reject_kv.len() + reject) } else { None }
    }
}

/// Judges a grid of settings at one temperature: openings that rise by factors, from all but shut to where the pump runs out, or
/// hardly anything is recovered and crossflow is ample, in all seasons.
///
/// # Errors
/// When the question cannot be answered.
pub fn map(question: &Question, temp_c: f64) -> Result<Map, TuneError> {
    map_of(question, temp_c, Size::default())
}

/// As [`map`], of a size.
///
/// # Errors
/// When the question cannot be answered.
pub fn map_of(question: &Question, temp_c: f64, size: Size) -> Result<Map, TuneError> {
    question.check()?;
    if !(0.0..=95.0).contains(&temp_c) {
        return Err(TuneError::OutOfRange { key: "temperature of the map", value: temp_c, least: 0.0, most: 95.0 });
    }
    let judge = Judge::of(question);
    let axes = Axes::of(&judge)?;
    let at = AtTemp::of(question, temp_c);
    let grid = Grid::of(&axes, size);
    let point = |place: Place| judge.point_at(axes.valves(place), &at, &question.suction.typical);
    Ok(Map {
        temp_c,
        reject_kv: grid.reject_kv(&axes).collect(),
        recycle_kv: grid.recycle_kv(&axes).collect(),
        points: grid.places().map(point).collect(),
    })
}

/// The places of a map.
#[derive(Clone, Copy)]
pub(super) struct Grid {
    reject: u16,
    recycle: u16,
}

impl Grid {
    pub(super) fn of(axes: &Axes, size: Size) -> Self {
        let held = |count: u16| count.clamp(2, 256);
        Self { reject: held(size.reject), recycle: if axes.recycles() { held(size.recycle) } else { 1 } }
    }

    /// How far it is from one reject opening and one recycle opening to the next.
    pub(super) fn cell(self) -> Place {
        Place { reject: spacing(self.reject), recycle: spacing(self.recycle) }
    }

    /// Openings of the reject valve.
    pub(super) fn reject_kv(self, axes: &Axes) -> impl Iterator<Item = f64> {
        self.rejects().map(move |reject| axes.valves(Place { reject, recycle: 0.0 }).reject_kv)
    }

    /// Openings of the recycle valve.
    pub(super) fn recycle_kv(self, axes: &Axes) -> impl Iterator<Item = f64> {
        self.recycles().map(move |recycle| axes.valves(Place { reject: 0.0, recycle }).recycle_kv)
    }

    /// Places of the reject valve.
    pub(super) fn rejects(self) -> impl Iterator<Item = f64> {
        (0..self.reject).map(move |i| f64::from(i) * spacing(self.reject))
    }

    /// Places of the recycle valve.
    pub(super) fn recycles(self) -> impl Iterator<Item = f64> {
        (0..self.recycle).map(move |i| f64::from(i) * spacing(self.recycle))
    }

    pub(super) fn places(self) -> impl Iterator<Item = Place> {
        self.recycles().flat_map(move |recycle| self.rejects().map(move |reject| Place { reject, recycle }))
    }
}

fn spacing(count: u16) -> f64 {
    1.0 / f64::from((count - 1).max(1))
}
