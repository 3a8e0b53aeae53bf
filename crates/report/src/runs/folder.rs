//! The folder of a study. While it is under way its runs are appended to `runs.unfinished.csv`, and `study.unfinished.json`
//! says what they are of; when all is told they get their names, over those of an earlier study.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use springhouse_study::many::{Plan, Row};
use thiserror::Error;

use super::line::{Lines, first_line, lines};
use crate::write::{self, WriteError};

const RUNS: &str = "runs.csv";
const STUDY: &str = "study.json";
const UNFINISHED_RUNS: &str = "runs.unfinished.csv";
const UNFINISHED_STUDY: &str = "study.unfinished.json";

/// What the runs of a folder are of: `study.json`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Identity {
    /// Version of the program.
    pub version: String,
    /// BLAKE3 of the scenario and of the files it names.
    pub inputs: String,
    /// Which part of the study it is; `None` for all of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<Part>,
    /// What is asked.
    pub plan: Plan,
}

/// A part of a study: its runs are those of one piece of as many of equal length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Which one, counted from one.
    pub part: u64,
    /// Of how many.
    pub of: u64,
}

impl Part {
    /// Numbers of its runs, of so many.
    #[must_use]
    pub fn jobs(self, all: u64) -> core::ops::Range<u64> {
        let at = |part: u64| {
            let (all, part, of) = (u128::from(all), u128::from(part), u128::from(self.of.max(1)));
            u64::try_from(all * part / of).unwrap_or(u64::MAX)
        };
        at(self.part.saturating_sub(1))..at(self.part)
    }
}

/// What is wrong with a folder of runs.
#[derive(Debug, Error)]
pub enum RunsError {
    /// It cannot be written to.
    #[error(transparent)]
    Write(#[from] WriteError),
    /// No more runs can be written.
    #[error(
        "cannot write {}: {source}; the runs so far are kept: put that right, then go on with --resume",
        path.display()
    )]
    Stopped {
        /// The file.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file cannot be read, or is not what it should be.
    #[error("{}: {told}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        told: String,
    },
    /// An unfinished study is there, and nobody said what to do with it.
    #[error("{} holds {runs} runs of a study that was not finished", folder.display())]
    Unfinished {
        /// The folder.
        folder: PathBuf,
        /// How many runs.
        runs: u64,
    },
    /// Somebody else works in it.
    #[error("{} is being worked in by another process; wait for it, or name another folder by --out", folder.display())]
    Busy {
        /// The folder.
        folder: PathBuf,
    },
    /// What is there is of another study.
    #[error("{} holds runs of another study, or of this one before it was changed: {what}", folder.display())]
    Another {
        /// The folder.
        folder: PathBuf,
        /// What differs.
        what: String,
    },
}

/// What is done with an unfinished study that is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Begun {
    /// It is left alone: an error.
    Refuse,
    /// It goes on.
    Resume,
    /// It is thrown away.
    Discard,
}

/// The folder of a study under way.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    identity: Identity,
    file: File,
}

/// A study whose runs are all made: what is left is to tell of them.
#[derive(Debug)]
pub struct Ready {
    folder: PathBuf,
    identity: Identity,
    /// Keeps others out until all is told.
    _file: File,
}

impl Folder {
    /// Begins a study, or goes on with it: then `hear` is told of each run that is there, in order.
    ///
    /// # Errors
    /// [`RunsError`].
    pub fn open(
        folder: &Path,
        identity: Identity,
        begun: Begun,
        mut hear: impl FnMut(&Row),
    ) -> Result<Self, RunsError> {
        fs::create_dir_all(folder).map_err(|error| WriteError::new(folder, error))?;
        publish_the_rest(folder)?;
        let (path, study) = (folder.join(UNFINISHED_RUNS), folder.join(UNFINISHED_STUDY));
        let there = study.is_file() && path.is_file();
        // Held until its runs are replaced: two that write at once would spoil each other's.
        let before = path.is_file().then(|| alone(folder, &path)).transpose()?;
        if there && begun == Begun::Refuse {
            return Err(RunsError::Unfinished { folder: folder.to_owned(), runs: count(&path)? });
        }
        if there && begun == Begun::Resume {
            same(folder, &read_identity(&study)?, &identity)?;
            drop(before);
            let file = resume(folder, &path, &identity.plan, &mut hear)?;
            return Ok(Self { place: folder.to_owned(), identity, file });
        }
        let done = folder.join(STUDY);
        if begun != Begun::Discard && done.is_file() {
            // The runs of another study took their time, too.
            same(folder, &read_identity(&done)?, &identity)?;
            let runs = folder.join(RUNS);
            write::streamed(&path, |out| {
                let copied = File::open(&runs).and_then(|mut runs| io::copy(&mut runs, out));
                copied.map_err(|error| WriteError::new(&path, error))
            })?;
            write_identity(&study, &identity)?;
            let file = resume(folder, &path, &identity.plan, &mut hear)?;
            return Ok(Self { place: folder.to_owned(), identity, file });
        }
        // The runs first: they are nothing without what they are of.
        let first = first_line(&identity.plan).map_err(|error| told(&path, &error.to_string()))?;
        write::file(&path, &first)?;
        write_identity(&study, &identity)?;
        sync(folder);
        let file = alone(folder, &path)?;
        Ok(Self { place: folder.to_owned(), identity, file })
    }

    /// Appends rows. When it returns, they are on the disk.
    ///
    /// # Errors
    /// When they cannot be written, as on a full disk; those before are kept.
    pub fn add(&mut self, rows: &[Row]) -> Result<(), RunsError> {
        let path = self.place.join(UNFINISHED_RUNS);
        let bytes = lines(&self.identity.plan, rows).map_err(|error| told(&path, &error.to_string()))?;
        let written = self.file.write_all(&bytes).and_then(|()| self.file.sync_data());
        written.map_err(|source| RunsError::Stopped { path, source })
    }

    /// All runs are made.
    #[must_use]
    pub fn ready(self) -> Ready {
        Ready { folder: self.place, identity: self.identity, _file: self.file }
    }
}

impl Ready {
    /// The runs of a folder that is finished, as a part of a study to be gathered is.
    ///
    /// # Errors
    /// Where it is not.
    pub fn finished(folder: &Path) -> Result<(Identity, PathBuf), RunsError> {
        let (study, unfinished) = (folder.join(STUDY), folder.join(UNFINISHED_STUDY));
        publish_the_rest(folder)?;
        if !study.is_file() || unfinished.is_file() {
            let why = if unfinished.is_file() {
                "the study in this folder is not finished: go on with it first, by --resume"
            } else {
                "no study has written to this folder"
            };
            return Err(told(&study, why));
        }
        Ok((read_identity(&study)?, folder.join(RUNS)))
    }

    /// What was asked.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.identity.plan
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Reads the runs from the first on.
    ///
    /// # Errors
    /// When the file cannot be opened; what it yields, where a line is no run.
    pub fn rows(&self) -> Result<impl Iterator<Item = Result<Row, RunsError>> + use<'_>, RunsError> {
        rows_of(&self.folder.join(UNFINISHED_RUNS), &self.identity.plan)
    }

    /// Gives the runs their name: the study is finished.
    ///
    /// # Errors
    /// When that cannot be done.
    pub fn publish(self) -> Result<(), RunsError> {
        // Where it ends between the two, the second is made up for: see `publish_the_rest`.
        rename(&self.folder, UNFINISHED_RUNS, RUNS)?;
        rename(&self.folder, UNFINISHED_STUDY, STUDY)
    }
}

/// Reads the runs of a file.
///
/// # Errors
/// When it cannot be opened; what it yields, where a line is no run.
pub fn rows_of<'p>(
    path: &Path,
    plan: &'p Plan,
) -> Result<impl Iterator<Item = Result<Row, RunsError>> + use<'p>, RunsError> {
    let file = File::open(path).map_err(|error| told(path, &error.to_string()))?;
    let path = path.to_owned();
    Ok(Lines::new(plan, BufReader::new(file)).map(move |row| row.map_err(|error| told(&path, &error))))
}

/// Gives `study.json` its name where a study ended between the renames: the runs have theirs already.
fn publish_the_rest(folder: &Path) -> Result<(), RunsError> {
    let is = |name: &str| folder.join(name).is_file();
    if is(UNFINISHED_STUDY) && !is(UNFINISHED_RUNS) && is(RUNS) {
        rename(folder, UNFINISHED_STUDY, STUDY)?;
    }
    Ok(())
}

fn rename(folder: &Path, from: &str, to: &str) -> Result<(), RunsError> {
    let to = folder.join(to);
    fs::rename(folder.join(from), &to).map_err(|error| WriteError::new(&to, error))?;
    sync(folder);
    Ok(())
}

/// Has the names in a folder written to the disk, where the system can.
fn sync(folder: &Path) {
    if let Ok(folder) = File::open(folder) {
        // Not all systems know how; the files themselves are written.
        let _ = folder.sync_all();
    }
}

fn told(path: &Path, told: &str) -> RunsError {
    RunsError::Read { path: path.to_owned(), told: told.to_owned() }
}

fn count(path: &Path) -> Result<u64, RunsError> {
    let file = File::open(path).map_err(|error| told(path, &error.to_string()))?;
    let mut lines = 0_u64;
    for byte in BufReader::new(file).bytes() {
        lines += u64::from(byte.map_err(|error| told(path, &error.to_string()))? == b'\n');
    }
    Ok(lines.saturating_sub(1))
}

fn read_identity(path: &Path) -> Result<Identity, RunsError> {
    let text = fs::read_to_string(path).map_err(|error| told(path, &error.to_string()))?;
    serde_json::from_str(&text).map_err(|error| told(path, &format!("it is not what a study writes: {error}")))
}

fn write_identity(path: &Path, identity: &Identity) -> Result<(), RunsError> {
    let text = serde_json::to_string_pretty(identity).map_err(|error| told(path, &error.to_string()))?;
    Ok(write::file(path, format!("{text}\n").as_bytes())?)
}

/// That two folders are of the same study; what differs, in words.
fn same(folder: &Path, there: &Identity, here: &Identity) -> Result<(), RunsError> {
    let what = if there.version != here.version {
        format!("they were made by version {}, this is {}", there.version, here.version)
    } else if there.inputs != here.inputs {
        "the scenario, a file that it names, or what is uncertain has changed".to_owned()
    } else if there.part != here.part {
        let name =
            |part: Option<Part>| part.map_or("the whole".to_owned(), |it| format!("part {} of {}", it.part, it.of));
        format!("they are of {}, not of {}", name(there.part), name(here.part))
    } else if there.plan != here.plan {
        "the study has changed".to_owned()
    } else {
        return Ok(());
    };
    Err(RunsError::Another { folder: folder.to_owned(), what })
}

/// Opens the runs of a folder for more, with a lock that goes when the file is closed, also where the process is killed.
fn alone(folder: &Path, path: &Path) -> Result<File, RunsError> {
    let opened = OpenOptions::new().read(true).append(true).open(path);
    let file = opened.map_err(|error| WriteError::new(path, error))?;
    match file.try_lock() {
        Err(TryLockError::WouldBlock) => Err(RunsError::Busy { folder: folder.to_owned() }),
        // Some file systems have no locks.
        Ok(()) | Err(TryLockError::Error(_)) => Ok(file),
    }
}

/// Cuts off a line that was not written in full, hears of the others, and opens the file for more.
fn resume(folder: &Path, path: &Path, plan: &Plan, hear: &mut impl FnMut(&Row)) -> Result<File, RunsError> {
    let failed = |error: io::Error| RunsError::Write(WriteError::new(path, error));
    let mut file = alone(folder, path)?;
    let end = last_line_end(&mut file).map_err(failed)?;
    file.set_len(end).map_err(failed)?;
    let mut last = None;
    for row in rows_of(path, plan)? {
        let row = row?;
        if last.is_some_and(|last| row.job <= last) {
            return Err(told(path, "its runs are not in their order; begin anew by --afresh"));
        }
        last = Some(row.job);
        hear(&row);
    }
    Ok(file)
}

/// Where the last line that was written in full ends.
fn last_line_end(file: &mut File) -> io::Result<u64> {
    let mut end = file.seek(SeekFrom::End(0))?;
    let mut block = [0; 4096];
    while end > 0 {
        let from = end.saturating_sub(block.len() as u64);
        #[expect(clippy::cast_possible_truncation, reason = "at most a block")]
        let part = &mut block[..(end - from) as usize];
        file.seek(SeekFrom::Start(from))?;
        file.read_exact(part)?;
        if let Some(at) = part.iter().rposition(|byte| *byte == b'\n') {
            return Ok(from + at as u64 + 1);
        }
        end = from;
    }
    Ok(0)
}

#[cfg(test)]
pub(super) mod tests {
    use springhouse_study::many::{Axis, Cell, Column, ColumnKind, Design, Job, Limit, Short, Variant};

    use super::*;

    pub(in crate::runs) fn plan() -> Plan {
        let column = |key: &str, kind| Column { key: key.to_owned(), kind };
        let variant =
            |litres: f64| Variant { settings: vec![format!("{litres} L")], amounts: vec![Some(litres)], price: None };
        Plan {
            name: "made-up".to_owned(),
            title: "Made up".to_owned(),
            scenario: "A plant".to_owned(),
            metric: true,
            first_day: "2027-06-07".to_owned(),
            days: 2,
            seed: 1,
            design: Design::Sweep,
            runs: 3,
            keys: vec![column("storage.volume", ColumnKind::Quantity("l".to_owned()))],
            axes: vec![Axis { name: "storage".to_owned(), first_key: 0, keys: 1 }],
            variants: vec![variant(1000.0), variant(2000.0)],
            reference: 0,
            uncertain: vec![
                column("well.specific_capacity", ColumnKind::Quantity("lps_per_m".to_owned())),
                column("heater.mode", ColumnKind::Text),
            ],
            figures: ["water.run_outs", "water.short_l", "energy.cost"].map(str::to_owned).to_vec(),
            short: Short { figure: "water.run_outs".to_owned(), limit: Limit::AtMost(0.0) },
            confidence: 0.95,
            stop: None,
            target: None,
        }
    }

    fn row(run: u64) -> Row {
        Row {
            job: Job { variant: 0, run },
            uncertain: vec![Cell::Number(0.5), Cell::Text("hybrid".to_owned())],
            fault: None,
            figures: vec![Some(1.0), None, Some(2.5)],
        }
    }

    fn identity() -> Identity {
        Identity { version: "1".to_owned(), inputs: "x".to_owned(), part: None, plan: plan() }
    }

    #[test]
    fn exact_parts_have_every_run_once() {
        for (all, of) in [(6000, 8), (7, 3), (2, 5), (0, 2)] {
            let mut next = 0;
            for part in 1..=of {
                let jobs = Part { part, of }.jobs(all);
                assert_eq!(jobs.start, next);
                next = jobs.end;
            }
            assert_eq!(next, all);
        }
    }

    #[test]
    fn a_line_cut_short_is_made_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut open = Folder::open(folder.path(), identity(), Begun::Refuse, |_| ()).unwrap();
        open.add(&[row(0), row(1)]).unwrap();
        drop(open);
        let path = folder.path().join(UNFINISHED_RUNS);
        let whole = fs::read(&path).unwrap();
        fs::write(&path, &whole[..whole.len() - 3]).unwrap();
        let refused = Folder::open(folder.path(), identity(), Begun::Refuse, |_| ()).unwrap_err();
        assert!(refused.to_string().contains("1 runs of a study that was not finished"), "{refused}");
        let mut heard = Vec::new();
        let mut open = Folder::open(folder.path(), identity(), Begun::Resume, |row| heard.push(row.clone())).unwrap();
        assert_eq!(heard, [row(0)]);
        open.add(&[row(1)]).unwrap();
        assert_eq!(fs::read(&path).unwrap(), whole);
        let ready = open.ready();
        let rows: Vec<_> = ready.rows().unwrap().collect::<Result<_, _>>().unwrap();
        assert_eq!(rows, [row(0), row(1)]);
        ready.publish().unwrap();
        assert!(!path.exists());
    }

    #[test]
    fn nobody_else_works_in_the_folder() {
        let folder = tempfile::tempdir().unwrap();
        let open = Folder::open(folder.path(), identity(), Begun::Refuse, |_| ()).unwrap();
        for begun in [Begun::Refuse, Begun::Resume, Begun::Discard] {
            let told = Folder::open(folder.path(), identity(), begun, |_| ()).unwrap_err().to_string();
            assert!(told.contains("another process"), "{told}");
        }
        drop(open);
        drop(Folder::open(folder.path(), identity(), Begun::Resume, |_| ()).unwrap());
    }

    #[test]
    fn an_end_between_the_renames_loses_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let mut open = Folder::open(folder.path(), identity(), Begun::Refuse, |_| ()).unwrap();
        open.add(&[row(0), row(1)]).unwrap();
        drop(open);
        fs::rename(folder.path().join(UNFINISHED_RUNS), folder.path().join(RUNS)).unwrap();
        let (there, runs) = Ready::finished(folder.path()).unwrap();
        assert_eq!(there, identity());
        assert_eq!(rows_of(&runs, &there.plan).unwrap().count(), 2);
        let mut heard = 0;
        drop(Folder::open(folder.path(), identity(), Begun::Resume, |_| heard += 1).unwrap());
        assert_eq!(heard, 2);
    }

    #[test]
    fn another_study_is_not_gone_on_with() {
        let folder = tempfile::tempdir().unwrap();
        drop(Folder::open(folder.path(), identity(), Begun::Refuse, |_| ()).unwrap());
        for (other, what) in [
            (Identity { version: "2".to_owned(), ..identity() }, "version 1, this is 2"),
            (Identity { inputs: "y".to_owned(), ..identity() }, "the scenario, a file"),
            (Identity { part: Some(Part { part: 1, of: 2 }), ..identity() }, "the whole, not of part 1 of 2"),
            (Identity { plan: Plan { seed: 9, ..plan() }, ..identity() }, "the study has changed"),
        ] {
            let told = Folder::open(folder.path(), other, Begun::Resume, |_| ()).unwrap_err().to_string();
            assert!(told.contains(what), "{told}");
        }
    }
}
