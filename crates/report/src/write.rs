//! The files of a run, in one folder.
//!
//! Every file is first written in full beside its place, and only when all are there are they renamed into it, the
//! summary last. A run that is killed leaves the old results, or the new ones.

mod compare;
mod draws;
mod study;
mod tune;

use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::NamedTempFile;
use thiserror::Error;

pub use self::compare::compared;
pub use self::draws::draws;
pub use self::study::study;
pub use self::tune::tune;

use crate::{Run, csv, json, plots};

/// A file could not be made.
#[derive(Debug, Error)]
#[error("cannot write {}: {source}{}", path.display(), advice(source))]
pub struct WriteError {
    /// The file or folder.
    pub path: PathBuf,
    /// Why.
    pub source: io::Error,
}

/// What to do about it.
fn advice(error: &io::Error) -> &'static str {
    match error.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => "; choose a folder you may write to",
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => "; make room and run again, nothing was changed",
        io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
            "; a file stands where a folder is wanted, choose another folder or move the file"
        }
        io::ErrorKind::IsADirectory => "; a folder stands where the file is to go, move it",
        _ => "",
    }
}

impl WriteError {
    pub(crate) fn new(path: &Path, source: io::Error) -> Self {
        Self { path: path.to_owned(), source }
    }
}

/// Names of files that are not in their place yet.
const PREFIX: &str = ".springhouse-";
const SUFFIX: &str = ".tmp";

/// A file that is complete but not in its place yet.
struct Staged {
    file: NamedTempFile,
    place: PathBuf,
}

impl Staged {
    /// Writes a file beside `place`.
    fn new(place: PathBuf, fill: impl FnOnce(&mut (dyn Write + Send)) -> io::Result<()>) -> Result<Self, WriteError> {
        let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX).suffix(SUFFIX);
        open_to_others(&mut builder);
        let written = builder.tempfile_in(folder).and_then(|mut file| {
            let mut out = BufWriter::new(&mut file);
            fill(&mut out)?;
            out.flush()?;
            drop(out);
            // A full disk may only be told here.
            file.as_file().sync_all()?;
            Ok(file)
        });
        match written {
            Ok(file) => Ok(Self { file, place }),
            Err(source) => Err(WriteError::new(&place, source)),
        }
    }

    /// Moves it into its place, over what was there.
    fn publish(self) -> Result<PathBuf, WriteError> {
        match self.file.persist(&self.place) {
            Ok(_) => Ok(self.place),
            Err(error) => Err(WriteError::new(&self.place, error.error)),
        }
    }
}

/// Temporary files are private unless told otherwise, and stay so when renamed; results follow the user's umask.
#[cfg(unix)]
fn open_to_others(builder: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn open_to_others(_builder: &mut tempfile::Builder<'_, '_>) {}

/// Writes one file, in full or not at all.
///
/// # Errors
/// When it cannot be written; what was at `path` is then as it was.
pub fn file(path: &Path, bytes: &[u8]) -> Result<(), WriteError> {
    Staged::new(path.to_owned(), |out| out.write_all(bytes))?.publish()?;
    Ok(())
}

/// Writes one file bit by bit, in full or not at all; what `fill` returns.
///
/// # Errors
/// When it cannot be written, or `fill` fails; what was at `path` is then as it was.
pub fn streamed<T, E: From<WriteError>>(
    path: &Path,
    fill: impl FnOnce(&mut (dyn Write + Send)) -> Result<T, E>,
) -> Result<T, E> {
    let mut filled = None;
    let staged = Staged::new(path.to_owned(), |out| {
        filled = Some(fill(out));
        Ok(())
    });
    match filled {
        Some(Ok(value)) => {
            staged?.publish()?;
            Ok(value)
        }
        Some(Err(error)) => Err(error),
        None => Err(staged.err().unwrap_or_else(|| WriteError::new(path, io::ErrorKind::Other.into())).into()),
    }
}

/// Writes one file where there is none yet: `false`, and nothing written, where there is.
///
/// # Errors
/// When it cannot be written.
pub fn new_file(path: &Path, bytes: &[u8]) -> Result<bool, WriteError> {
    let staged = Staged::new(path.to_owned(), |out| out.write_all(bytes))?;
    match staged.file.persist_noclobber(&staged.place) {
        Ok(_) => Ok(true),
        Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Ok(false),
        Err(error) => Err(WriteError::new(path, error.error)),
    }
}

/// Writes all files of a run into a folder, which is made where there is none. Returns them in order.
///
/// # Errors
/// When one cannot be written. Before the renames nothing has changed; a rename that fails names its file.
pub fn all(run: &Run<'_>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    make_folder(folder)?;
    let mut staged = Vec::new();
    staged.push(Staged::new(folder.join("minutes.csv"), |out| csv::minutes(run, out).map_err(io::Error::from))?);
    staged.push(Staged::new(folder.join("events.csv"), |out| csv::events(run, out).map_err(io::Error::from))?);
    if !run.outcome.days.is_empty() {
        staged.push(Staged::new(folder.join("days.csv"), |out| csv::days(run, out).map_err(io::Error::from))?);
    }
    for plot in plots::all(run) {
        stage_plot(&mut staged, &plot, folder)?;
    }
    let summary = |out: &mut (dyn Write + Send)| out.write_all(json::summary(&run.outcome.summary)?.as_bytes());
    staged.push(Staged::new(folder.join("summary.json"), summary)?);
    let written = publish(staged, folder)?;
    // What another run left there, and this one has none of, would pass for its own.
    for name in NOT_ALWAYS {
        let place = folder.join(name);
        if !written.contains(&place) && place.is_file() {
            fs::remove_file(&place).map_err(|source| WriteError::new(&place, source))?;
        }
    }
    Ok(written)
}

/// Files that not every run has.
const NOT_ALWAYS: [&str; 11] = [
    "days.csv",
    "hot-water.png",
    "hot-water.svg",
    "membrane.png",
    "membrane.svg",
    "product-by-temperature.png",
    "product-by-temperature.svg",
    "season.png",
    "season.svg",
    "sun.png",
    "sun.svg",
];

/// Writes both pictures of a plot beside their places.
fn stage_plot(staged: &mut Vec<Staged>, plot: &plots::Plot, folder: &Path) -> Result<(), WriteError> {
    let [svg, png] = ["svg", "png"].map(|ending| folder.join(format!("{}.{ending}", plot.name)));
    let text = plot.svg().map_err(|error| WriteError::new(&svg, io::Error::other(error)))?;
    let picture = plot.png().map_err(|error| WriteError::new(&png, io::Error::other(error)))?;
    staged.push(Staged::new(svg, |out| out.write_all(text.as_bytes()))?);
    staged.push(Staged::new(png, |out| out.write_all(&picture))?);
    Ok(())
}

/// Moves all files into their places.
fn publish(staged: Vec<Staged>, folder: &Path) -> Result<Vec<PathBuf>, WriteError> {
    for file in &staged {
        if file.place.is_dir() {
            return Err(WriteError::new(&file.place, io::ErrorKind::IsADirectory.into()));
        }
    }
    let written = staged.into_iter().map(Staged::publish).collect();
    sweep(folder);
    written
}

/// Removes what runs that were killed while writing have left. Younger files may be another run's, still at work.
fn sweep(folder: &Path) {
    const LEFT_ALONE: Duration = Duration::from_secs(3_600);
    let ours = |entry: &fs::DirEntry| {
        let name = entry.file_name();
        let named = name.to_str().is_some_and(|name| name.starts_with(PREFIX) && name.ends_with(SUFFIX));
        let age = entry.metadata().and_then(|data| data.modified()).map(|time| time.elapsed());
        named && matches!(age, Ok(Ok(age)) if age > LEFT_ALONE)
    };
    // Not being able to tidy up is no failure of the run.
    for entry in fs::read_dir(folder).into_iter().flatten().flatten().filter(ours) {
        let _ = fs::remove_file(entry.path());
    }
}

fn make_folder(folder: &Path) -> Result<(), WriteError> {
    fs::create_dir_all(folder).map_err(|source| WriteError::new(folder, source))
}
