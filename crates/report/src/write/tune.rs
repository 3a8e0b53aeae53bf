//! The files of an advice on valves.

use super::{Path, PathBuf, Staged, Write, WriteError, io, make_folder, publish, stage_plot};
use crate::plots;
use crate::tune::{Tuned, csv, json};

/// Writes `tune.csv`, `tune.svg`, `tune.png` and `tune.json` into a folder, which is made where there is none. Returns them in
/// order.
///
/// # Errors
/// When one cannot be written. Before the renames nothing has changed; a rename that fails names its file.
pub fn tune(tuned: &Tuned<'_>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    make_folder(folder)?;
    let mut staged = Vec::new();
    staged.push(Staged::new(folder.join("tune.csv"), |out| csv::map(tuned, out).map_err(io::Error::from))?);
    stage_plot(&mut staged, &plots::tune(tuned), folder)?;
    let advice = |out: &mut (dyn Write + Send)| out.write_all(json::advice(tuned)?.as_bytes());
    staged.push(Staged::new(folder.join("tune.json"), advice)?);
    publish(staged, folder)
}
