//! Variants of a scenario: the same file with some keys changed, thousands of times.
//!
//! A [`Base`] is read once; [`Base::with`] gives the scenario of a variant, checked like any other. Which keys are changed is
//! told by [`KeyPath`]s, and what to by [`Value`]s, as they are written in a file. What is wrong points at the lines of the
//! study as well as at those of the file:
//!
//! ```
//! use springhouse_scenario::vary::{Base, KeyPath, Value};
//! use springhouse_scenario::{Format, starter};
//!
//! let base = Base::parse(starter(), Format::Toml, "plant.toml").unwrap();
//! let precharge = KeyPath::parse("pressure_tank.precharge").unwrap();
//! let flow = KeyPath::parse("draw[1].flow").unwrap();
//! let low = Value::parse("\"30 psi\"").unwrap();
//! let loaded = base.with(&[(precharge.clone(), low), (flow, Value::text("2.5 gpm"))]).unwrap();
//! assert_eq!(loaded.scenario.schedule.len(), 6);
//!
//! let faults = base.with(&[(precharge, Value::text("30 gal"))]).unwrap_err();
//! assert_eq!(
//!     faults.to_string(),
//!     "error: `precharge` is a pressure, but \"30 gal\" is a volume
//!   --> set by the study:1:31
//!    |
//!  1 | pressure_tank.precharge = \"30 gal\"
//!    |                               ^^^ a unit of volume
//!    |
//!   ::: plant.toml:61:13
//!    |
//! 61 | precharge = \"38 psi\"        # 2 psi under cut-in
//!    |             -------- in place of this
//!    |
//!    = note: units of pressure: kPa, bar, mbar, psi
//!    = help: write it like: precharge = \"38 psi\""
//! );
//! ```

mod find;
mod path;
mod value;
mod what;

use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};

pub use self::path::{KeyPath, Which};
pub use self::value::{Amount, Value};
pub use self::what::What;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::load::{self, Loaded};
use crate::plates::Plates;
use crate::source::{Format, Source, Stretch};
use crate::tree::Node;

/// A scenario file that variants are made of: its text and its tree. Clones share both, also between threads.
///
/// The file itself need not be sound: what it lacks a study may set. `with(&[])` tells.
#[derive(Clone, Debug)]
pub struct Base(Arc<Shared>);

#[derive(Debug)]
struct Shared {
    source: Source,
    root: Node,
    /// Where files are looked for; a text has none.
    folder: Option<PathBuf>,
    plates: Plates,
    /// What is told of the file as it is.
    own: OnceLock<Vec<Diagnostic>>,
}

impl Base {
    /// Reads a scenario file, like [`load`](crate::load()).
    ///
    /// # Errors
    /// A file that cannot be read, or is not written in its language.
    pub fn load(path: &Path) -> Result<Self, Diagnostics> {
        let (source, root) = load::open(path)?;
        Ok(Self::new(source, root, Some(load::folder_of(path).to_owned())))
    }

    /// Reads the text of a scenario, like [`parse`](crate::parse()): files that it names are not looked for.
    ///
    /// # Errors
    /// A text that is not written in its language.
    pub fn parse(text: &str, format: Format, file_name: &str) -> Result<Self, Diagnostics> {
        let (source, root) = load::understand(text, format, file_name)?;
        Ok(Self::new(source, root, None))
    }

    fn new(source: Source, root: Node, folder: Option<PathBuf>) -> Self {
        Self(Arc::new(Shared { source, root, folder, plates: Plates::default(), own: OnceLock::new() }))
    }

    /// What a value at a path must be. The sections on the way need not stand in the file, but the items of lists must.
    ///
    /// # Errors
    /// Where the path leads nowhere. The place is one in the text of the path: see [`Diagnostics::in_text`].
    ///
    /// ```
    /// use springhouse_scenario::vary::{Base, KeyPath, What};
    /// use springhouse_scenario::{Format, starter};
    ///
    /// let base = Base::parse(starter(), Format::Toml, "plant.toml").unwrap();
    /// let what = |path| base.knows(&KeyPath::parse(path).unwrap());
    /// assert_eq!(what("storage.volume").unwrap().to_string(), "a volume");
    /// assert!(matches!(what("draw[2].kind").unwrap(), What::Choice(&["timed", "volume"])));
    /// assert_eq!(what("storage.volum").unwrap_err().title(), "`storage` has no key `volum`");
    /// ```
    pub fn knows(&self, path: &KeyPath) -> Result<What, Diagnostic> {
        find::find(path, &self.0.root, &self.0.source).map(|found| found.what)
    }

    /// The scenario with these keys set, in place of what the file says of them or beside it. Sections on the way to a key are
    /// added where the file has none; items of lists are not.
    ///
    /// # Errors
    /// Paths that lead nowhere or are set twice, and everything that is then wrong with the scenario:
    /// [`Diagnostics::setting`] says which of the keys it points at.
    pub fn with(&self, settings: &[(KeyPath, Value)]) -> Result<Loaded, Diagnostics> {
        let base = &*self.0;
        let (mut source, mut root) = (base.source.clone(), base.root.clone());
        let mut faults = Vec::new();
        let mut replaced = Vec::with_capacity(settings.len());
        for (path, value) in settings {
            let before = format!("{path} = ");
            let start = source.set(&format!("{before}{value}"));
            let at = |by: usize| isize::try_from(start + by).unwrap_or(isize::MAX);
            let mut node = value.node().clone();
            node.shift(at(before.len()));
            let set = find::find(path, &root, &source).map_err(|fault| fault.moved_by(at(0))).and_then(|found| {
                let stood = find::set(&mut root, &found.hops, at(0), node);
                match stood.as_ref().and_then(|stood| find::set_before(stood, &source)) {
                    Some(first) => Err(set_twice(path, at(0), first)),
                    None => Ok(stood.as_ref().map(find::place)),
                }
            });
            match set {
                Ok(place) => replaced.push(place),
                Err(fault) => {
                    replaced.push(None);
                    faults.push(fault);
                }
            }
        }
        if !faults.is_empty() {
            return Err(Diagnostics::new(source, faults));
        }
        let mut read = load::read(source, &root, &base.plates);
        if let Some(folder) = &base.folder {
            read.look_for_files(folder);
        }
        if !settings.is_empty() {
            let list = std::mem::take(&mut read.list);
            read.list = list.into_iter().map(|told| self.marked(told, &read.source, &replaced)).collect();
        }
        read.conclude()
    }

    /// The text of the file.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0.source.text
    }

    /// How many figures of heaters' plates were solved for so far. Variants that leave a heater as it is add none.
    #[must_use]
    pub fn plates_solved(&self) -> usize {
        self.0.plates.solved()
    }

    /// Says what a key was set in place of; of what points at no key that was set, which keys were, unless the file alone
    /// gives cause for it.
    fn marked(&self, told: Diagnostic, source: &Source, replaced: &[Option<Stretch>]) -> Diagnostic {
        let mut pointed: Vec<usize> = told.places().filter_map(|place| source.set_at(place)).collect();
        pointed.dedup();
        if pointed.is_empty() {
            if self.own().contains(&told) {
                return told;
            }
            let settings: Vec<_> = source.settings().collect();
            return told.note(format!("set by the study: {}", settings.join("; ")));
        }
        let stood = pointed.into_iter().filter_map(|index| replaced.get(index).copied().flatten());
        stood.fold(told, |told, place| told.at(place, "in place of this"))
    }

    fn own(&self) -> &[Diagnostic] {
        let base = &*self.0;
        base.own.get_or_init(|| {
            let mut read = load::read(base.source.clone(), &base.root, &base.plates);
            if let Some(folder) = &base.folder {
                read.look_for_files(folder);
            }
            read.list
        })
    }
}

fn set_twice(path: &KeyPath, start: isize, first: Stretch) -> Diagnostic {
    Diagnostic::error(format!("`{path}` is set twice"))
        .at(path.place().moved(start), "second time")
        .at(first, "first time")
        .help("keep one of them")
}
