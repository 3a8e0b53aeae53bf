//! The plots of a run. Each title says the answer.

mod energy;
mod levels;
mod pump;
mod run_outs;

pub use crate::chart::DrawError;

use crate::Run;
use crate::chart::{Page, png, svg};

/// A plot, ready to be drawn.
#[derive(Clone, Debug)]
pub struct Plot {
    /// Name of its files, without their ending.
    pub name: &'static str,
    page: Page,
}

impl Plot {
    /// What it says.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.page.title
    }

    /// As the text of an SVG.
    ///
    /// # Errors
    /// When the picture cannot be made, which no run is known to cause.
    pub fn svg(&self) -> Result<String, DrawError> {
        svg(&self.page)
    }

    /// As the bytes of a PNG, the same picture.
    ///
    /// # Errors
    /// When the picture cannot be made, which no run is known to cause.
    pub fn png(&self) -> Result<Vec<u8>, DrawError> {
        png(&self.svg()?)
    }
}

/// All plots of a run.
#[must_use]
pub fn all(run: &Run<'_>) -> [Plot; 4] {
    [
        Plot { name: "levels", page: levels::page(run) },
        Plot { name: "pump", page: pump::page(run) },
        Plot { name: "run-outs", page: run_outs::page(run) },
        Plot { name: "energy", page: energy::page(run) },
    ]
}

/// A time in all as so much a day, where that is a minute or more.
fn each_day(run: &Run<'_>, time_s: f64) -> String {
    let days = run.outcome.summary.days;
    let mean_s = time_s / f64::from(days.max(1));
    match days {
        0 | 1 => run.units.duration(time_s),
        _ if mean_s < 60.0 => format!("{} in all", run.units.duration(time_s)),
        _ => format!("{} a day", run.units.duration(mean_s)),
    }
}
