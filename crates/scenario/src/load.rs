//! From a file, or its text, to a scenario.

use std::path::Path;

use crate::assemble;
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::display::Units;
use crate::plates::Plates;
use crate::scenario::{PumpTest, Scenario};
use crate::sections::ScenarioFile;
use crate::source::{Format, Source};
use crate::tree::{self, Node, Value};
use crate::typed::{At, Field, File, Presence, Reader, Typed};

/// The file as a whole, as if it were a section of something.
pub(crate) const WHOLE: Field = Field { name: "", doc: "", presence: Presence::Empty, shape: ScenarioFile::shape };

/// A scenario, and what somebody should look at in it.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// The scenario.
    pub scenario: Scenario,
    /// The pump test that the well's specific capacity comes from, where it comes from one.
    pub pump_test: Option<PumpTest>,
    /// What is built badly or looks like a slip.
    pub warnings: Diagnostics,
}

/// Reads a scenario file: `.toml` or `.json`.
///
/// # Errors
/// Everything that is wrong with it, from a file that cannot be read to a plant that cannot be built.
pub fn load(path: &Path) -> Result<Loaded, Diagnostics> {
    let (source, root) = open(path)?;
    let mut read = read(source, &root, &Plates::default());
    read.look_for_files(folder_of(path));
    read.conclude()
}

/// The folder that a scenario's other files are named from.
pub(crate) fn folder_of(path: &Path) -> &Path {
    path.parent().unwrap_or_else(|| Path::new(""))
}

/// The text of a scenario file, and its tree.
pub(crate) fn open(path: &Path) -> Result<(Source, Node), Diagnostics> {
    let name = path.display().to_string();
    let (format, text) = text_of(path, "scenario", &[("toml", Format::Toml), ("json", Format::Json)])?;
    understand(&text, format, &name)
}

/// The text of a file, which ends in one of some ways.
pub(crate) fn text_of(path: &Path, what: &str, formats: &[(&str, Format)]) -> Result<(Format, String), Diagnostics> {
    let name = path.display().to_string();
    let refuse = |diagnostic| Err(Diagnostics::new(Source::new(&name, "", Format::Toml), vec![diagnostic]));
    let extension = path.extension().and_then(|extension| extension.to_str()).unwrap_or_default();
    let extension = extension.to_ascii_lowercase();
    let Some(&(_, format)) = formats.iter().find(|(ending, _)| *ending == extension) else {
        let endings: Vec<_> = formats.iter().map(|(ending, _)| format!(".{ending}")).collect();
        let fault = Diagnostic::error(format!("a {what} file ends in {}", endings.join(" or ")));
        return refuse(fault.note(format!("this one is called {name}")));
    };
    let bytes = match std::fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) => {
            let fault = Diagnostic::error(format!("the {what} file cannot be read")).note(error.to_string());
            return refuse(match error.kind() {
                std::io::ErrorKind::NotFound => {
                    fault.help("check its name and folder; `springhouse new` writes a scenario to start from")
                }
                _ => fault.help(format!("name a {what} file that you may read")),
            });
        }
    };
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let line = error.as_bytes().iter().take(error.utf8_error().valid_up_to()).filter(|b| **b == b'\n').count();
            let fault = Diagnostic::error(format!("the {what} file is not text in UTF-8"));
            let note = format!("line {} holds a byte that is no letter", line + 1);
            return refuse(fault.note(note).help("save it as UTF-8 in the editor"));
        }
    };
    Ok((format, text))
}

/// A text and its tree.
pub(crate) fn understand(text: &str, format: Format, name: &str) -> Result<(Source, Node), Diagnostics> {
    let source = Source::new(name, text, format);
    match tree::parse(&source) {
        Ok(root) => Ok((source, root)),
        Err(list) => Err(Diagnostics::new(source, list)),
    }
}

/// Reads the text of a scenario; `file_name` is what diagnostics call it, and names the scenario where it has no name.
///
/// Files of logged draws and of rain are not looked for.
///
/// # Errors
/// Everything that is wrong with it.
pub fn parse(text: &str, format: Format, file_name: &str) -> Result<Loaded, Diagnostics> {
    let (source, root) = understand(text, format, file_name)?;
    read(source, &root, &Plates::default()).conclude()
}

/// What came of reading a tree.
pub(crate) struct Read {
    pub(crate) source: Source,
    pub(crate) list: Vec<Diagnostic>,
    scenario: Option<Scenario>,
    pump_test: Option<PumpTest>,
    /// Files beside the scenario, and what they hold.
    files: Vec<(&'static str, At<File>)>,
}

impl Read {
    /// Tells of files that are not there.
    pub(crate) fn look_for_files(&mut self, folder: &Path) {
        for (what, typed) in &self.files {
            let file = folder.join(&typed.value.0);
            if !file.is_file() {
                self.list.push(
                    Diagnostic::error(format!("a file of {what} is not there"))
                        .at(typed.place, format!("no file {}", file.display()))
                        .note("it is looked for from the scenario's folder"),
                );
            }
        }
    }

    pub(crate) fn conclude(self) -> Result<Loaded, Diagnostics> {
        let sound = self.list.iter().all(|diagnostic| diagnostic.severity() == Severity::Warning);
        let list = Diagnostics::new(self.source, self.list);
        match self.scenario {
            Some(scenario) if sound => Ok(Loaded { scenario, pump_test: self.pump_test, warnings: list }),
            _ => Err(list),
        }
    }
}

/// Reads a tree; its places are in the source, whose name counts where the scenario has none.
pub(crate) fn read(source: Source, root: &Node, plates: &Plates) -> Read {
    let mut reader = Reader::new(&source, ScenarioFile::SECTION, units_asked_for(root), plates);
    let file = ScenarioFile::read(root, &WHOLE, &mut reader);
    let logs = file.iter().flat_map(|file| &file.log).filter_map(|log| log.0.as_ref()).map(|log| &log.file);
    let roof = file.as_ref().and_then(|file| file.cistern.as_ref()?.value.0.as_ref()?.roof.as_ref());
    let rain = roof.and_then(|roof| Some(("rain", roof.value.rain.clone()?)));
    let loads = file.iter().flat_map(|file| &file.raw_load).filter_map(|load| load.0.as_ref());
    let skips = loads.filter_map(|load| Some(("rain", load.rain_skip.as_ref()?.value.rain.clone()?)));
    let weather = file.as_ref().and_then(|file| file.weather.as_ref()?.value.0.as_ref());
    let weather = weather.into_iter().flat_map(|it| [("weather", it.file.clone()), ("rain", it.rain.clone())]);
    let weather = weather.filter_map(|(what, file)| Some((what, file?)));
    let files = logs.map(|log| ("logged draws", log.clone())).chain(rain).chain(skips).chain(weather).collect();
    let stem = Path::new(&source.name).file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
    let pump_test = file.as_ref().and_then(assemble::pump_test);
    assemble::supplies::refuse_missing(root, &mut reader);
    let scenario = file.and_then(|file| assemble::scenario(&file, root, stem, &mut reader));
    Read { list: reader.diagnostics, source, scenario, pump_test, files }
}

/// The units, before anything else is read: hints come in them.
fn units_asked_for(root: &Node) -> Option<Units> {
    match &root.as_table()?.get("units")?.node.value {
        Value::Text(text) if text == "us" => Some(Units::Us),
        Value::Text(text) if text == "metric" => Some(Units::Metric),
        _ => None,
    }
}
