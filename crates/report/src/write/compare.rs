//! The files of a comparison.

use super::{Path, PathBuf, Staged, Write, WriteError, io, make_folder, publish};
use crate::compare::{Compared, csv, json};

/// Writes `compare-heaters.csv` and `.json`, or those of another comparison, into a folder, which is made where there is none.
/// Returns them in order.
///
/// # Errors
/// When one cannot be written. Before the renames nothing has changed; a rename that fails names its file.
pub fn compared(compared: &Compared<'_>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    make_folder(folder)?;
    let name = json::name(compared.comparison.question);
    let table = folder.join(format!("compare-{name}.csv"));
    let document = |out: &mut (dyn Write + Send)| out.write_all(json::document(compared)?.as_bytes());
    let staged = vec![
        Staged::new(table, |out| csv::ways(compared, out).map_err(io::Error::from))?,
        Staged::new(folder.join(format!("compare-{name}.json")), document)?,
    ];
    publish(staged, folder)
}
