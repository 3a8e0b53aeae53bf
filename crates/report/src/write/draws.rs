//! The files of what people draw.

use super::{Path, PathBuf, Staged, Write, WriteError, io, make_folder, publish, stage_plot};
use crate::draws::{Drawn, csv, json};
use crate::plots;

/// Writes `draws.csv`, `wishes.csv`, both pictures and `draws.json` into a folder, which is made where there is none.
/// Returns them in order.
///
/// # Errors
/// When one cannot be written. Before the renames nothing has changed; a rename that fails names its file.
pub fn draws(drawn: &Drawn<'_>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    make_folder(folder)?;
    let mut staged = Vec::new();
    staged.push(Staged::new(folder.join("draws.csv"), |out| csv::draws(drawn, out).map_err(io::Error::from))?);
    staged.push(Staged::new(folder.join("wishes.csv"), |out| csv::wishes(drawn, out).map_err(io::Error::from))?);
    for plot in plots::draws(drawn) {
        stage_plot(&mut staged, &plot, folder)?;
    }
    let document = |out: &mut (dyn Write + Send)| out.write_all(json::document(drawn)?.as_bytes());
    staged.push(Staged::new(folder.join("draws.json"), document)?);
    publish(staged, folder)
}
