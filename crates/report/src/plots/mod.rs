//! The plots of a run. Each title says the answer.

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
pub fn all(run: &Run<'_>) -> [Plot; 3] {
    [
        Plot { name: "levels", page: levels::page(run) },
        Plot { name: "pump", page: pump::page(run) },
        Plot { name: "run-outs", page: run_outs::page(run) },
    ]
}
