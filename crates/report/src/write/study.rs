//! The files of a study that are made when its runs are over; those of the runs themselves are written as they come.

use std::fs;

use super::{Path, PathBuf, Staged, WriteError, make_folder, publish, stage_plot};
use crate::plots;
use crate::study::{Told, variants};

/// Pictures that not every study has.
const PICTURES: [&str; 4] = ["trade-off", "heat-map", "tornado", "distribution"];

/// Writes `variants.csv` and the pictures that say something of the study into a folder, which is made where there is none. Returns
/// them in order. Pictures of an older study, that this one has none of, are removed.
///
/// # Errors
/// When one cannot be written. Before the renames nothing has changed; a rename that fails names its file.
pub fn study(told: &Told<'_>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    make_folder(folder)?;
    let mut staged = vec![Staged::new(folder.join("variants.csv"), |mut out| variants::csv(told, &mut out))?];
    for plot in plots::study(told) {
        stage_plot(&mut staged, &plot, folder)?;
    }
    let written = publish(staged, folder)?;
    for name in PICTURES.iter().flat_map(|name| ["svg", "png"].map(|ending| format!("{name}.{ending}"))) {
        let place = folder.join(name);
        if !written.contains(&place) && place.is_file() {
            fs::remove_file(&place).map_err(|source| WriteError::new(&place, source))?;
        }
    }
    Ok(written)
}
