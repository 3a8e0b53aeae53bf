//! From a file, or its text, to a study.

use std::path::Path;

use super::sections::{self, StudyFile};
use super::written::Written;
use super::{Figure, Limit, Scale, Stop, Study, Target};
use crate::assemble::{given_name, plain_name};
use crate::diagnostic::{Diagnostic, Diagnostics, Severity};
use crate::load::{self as scenario, text_of};
use crate::plates::Plates;
use crate::source::{Format, Stretch};
use crate::tree::Node;
use crate::typed::{At, Field, Number, Presence, Reader, Text, Tried, Typed};
use crate::vary::{Base, KeyPath, Value, What};

/// The file as a whole, as if it were a section of something.
const WHOLE: Field = Field { name: "", doc: "", presence: Presence::Empty, shape: StudyFile::shape };

/// Keys of a scenario that a study has for all of its runs.
const OF_THE_RUN: [&str; 6] = ["start", "days", "seed", "units", "name", "title"];

/// Reads a study file, and the scenario that it names.
///
/// # Errors
/// Everything that is wrong with it. What is wrong with a single variant is not: it is told with that variant.
pub fn load(path: &Path) -> Result<Study, Diagnostics> {
    let (format, text) = text_of(path, "study", &[("toml", Format::Toml)])?;
    let stem = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
    read(&text, format, &path.display().to_string(), super::folder_of(path), stem)
}

/// Reads the text of a study; `file_name` is what diagnostics call it, `stem` names it where it has no name, and its files are
/// looked for from `folder`.
///
/// # Errors
/// As [`load`].
pub fn parse(text: &str, file_name: &str, folder: &Path, stem: &str) -> Result<Study, Diagnostics> {
    read(text, Format::Toml, file_name, folder, stem)
}

fn read(text: &str, format: Format, name: &str, folder: &Path, stem: &str) -> Result<Study, Diagnostics> {
    let (source, root) = scenario::understand(text, format, name)?;
    let plates = Plates::default();
    let mut reader = Reader::new(&source, StudyFile::SECTION, None, &plates);
    let study = StudyFile::read(&root, &WHOLE, &mut reader)
        .and_then(|file| Assembly { reader: &mut reader, folder }.study(&file, &root, stem));
    let faults = reader.diagnostics;
    match study.transpose()? {
        Some(study) if faults.is_empty() => Ok(Study { source, ..study }),
        _ => Err(Diagnostics::new(source, faults)),
    }
}

/// Puts a study together out of its sections.
pub(super) struct Assembly<'r, 'a> {
    pub(super) reader: &'r mut Reader<'a>,
    folder: &'r Path,
}

impl Assembly<'_, '_> {
    /// `None` where something was told to the reader; an error where the scenario cannot be read.
    fn study(&mut self, file: &StudyFile, root: &Node, stem: &str) -> Option<Result<Study, Diagnostics>> {
        let name = match &file.name {
            None => Some(plain_name(stem, "study")),
            Some(given) => given.value.0.as_ref().and_then(|text| {
                let text: &At<Text> = text;
                given_name(&text.value.0, text.place, "study", self.reader)
            }),
        };
        let scenario = self.folder.join(&file.scenario.value.0.as_ref()?.0);
        let base = match Base::load(&scenario) {
            Ok(base) => base,
            Err(faults) => return Some(Err(faults)),
        };
        let axes = file.vary.iter().map(|vary| vary.0.as_ref().and_then(|vary| self.axis(vary, &base)));
        let axes: Vec<_> = axes.collect();
        let uncertain = file.uncertain.iter().map(|at| at.0.as_ref().and_then(|at| self.uncertain(at, &base)));
        let uncertain: Vec<_> = uncertain.collect();
        self.refuse_keys_set_twice(file);
        let header = root.as_table()?.header;
        if file.vary.is_empty() && file.uncertain.is_empty() {
            let fault = Diagnostic::error("the study varies nothing").at(header, "no `vary` and no `uncertain` here");
            self.reader.tell(
                fault.help(
                    "add a section like:\n[[vary]]\nkey = \"storage.volume\"\nvalues = [\"300 gal\", \"500 gal\"]",
                ),
            );
        }
        let figures = match file.figures.as_ref().map(|at| &at.value.0) {
            None => Some(Vec::new()),
            Some(figures) => figures.as_ref().and_then(|figures| figures.iter().map(|at| self.figure(at)).collect()),
        };
        let short = file.falls_short.0.as_ref().and_then(|short| {
            let figure = self.figure(short.figure.value.0.as_ref()?);
            let limit = self.limit(short.at_most.as_ref(), short.at_least.as_ref())?;
            Some((figure?, limit.unwrap_or(Limit::AtMost(0.0))))
        });
        let target = match &file.target {
            None => Some(None),
            Some(at) => at.value.0.as_ref().and_then(|target| self.target(target).map(Some)),
        };
        let stop = match &file.stop {
            None => Some(None),
            Some(at) => {
                let wanted = match target.as_ref().and_then(Option::as_ref) {
                    Some(Target::Chance(chance)) => Some(*chance),
                    _ => None,
                };
                at.value.0.as_ref().and_then(|stop| self.stop(stop, wanted).map(Some))
            }
        };
        let confidence = self.confidence(file);
        let whole = |at: Option<&At<Tried<crate::typed::Whole<1, 3660>>>>| match at {
            None => Some(None),
            Some(at) => at.value.0.map(|whole| Some(whole.0)),
        };
        let reference = file.reference.value.0.as_ref()?;
        let study = Study {
            source: self.reader.source.clone(),
            title: match &file.title {
                None => name.clone()?,
                Some(title) => title.value.0.as_ref()?.0.clone(),
            },
            name: name?,
            scenario,
            base,
            from: match &file.from {
                None => None,
                Some(from) => Some(from.value.0?),
            },
            days: whole(file.days.as_ref())?,
            seed: match &file.seed {
                None => None,
                Some(seed) => Some(u64::from(seed.value.0?.0)),
            },
            runs: u64::from(file.runs.value.0?.0),
            filling: match &file.filling {
                None => None,
                Some(filling) => Some(filling.value.0?.0),
            },
            axes: axes.into_iter().collect::<Option<_>>()?,
            uncertain: uncertain.into_iter().collect::<Option<_>>()?,
            figures: figures?,
            reference: (reference.value.0 as usize).saturating_sub(1),
            reference_place: reference.place,
            confidence: confidence?,
            short: short.as_ref()?.0.clone(),
            short_limit: short?.1,
            stop: stop?,
            target: target?,
        };
        Some(Ok(study))
    }

    fn confidence(&mut self, file: &StudyFile) -> Option<f64> {
        let at = file.confidence.value.0.as_ref()?;
        let share = at.value.of_one();
        if (0.5..=0.9999).contains(&share) {
            return Some(share);
        }
        let fault =
            Diagnostic::error("`confidence` must be from 50 to 99.99 %").at(at.place, "how often is it to hold?");
        self.reader.tell(fault.help("write confidence = \"95 %\""));
        None
    }

    /// A path of a key that the scenario knows, and what it takes.
    pub(super) fn key(&mut self, at: &At<Text>, base: &Base) -> Option<(KeyPath, What)> {
        if let Some(own) = OF_THE_RUN.iter().find(|key| **key == at.value.0) {
            let fault = Diagnostic::error(format!("`{own}` is the same in all runs of a study"))
                .at(at.place, "cannot be varied");
            self.reader.tell(fault.help(match *own {
                "start" => "write `from = 2027-07-02` at the top of the study",
                "days" => "write `days = 3` at the top of the study",
                "seed" => "write `seed = 1` at the top of the study; its `runs` differ by chance",
                _ => "vary something of the plant or its people",
            }));
            return None;
        }
        // Behind the opening quote.
        let start = at.place.start + 1;
        let found = KeyPath::parse(&at.value.0).and_then(|path| base.knows(&path).map(|what| (path, what)));
        match found {
            Ok((_, What::Section | What::List(_))) => {
                let fault = Diagnostic::error(format!("`{}` is not a single value", at.value.0))
                    .at(at.place, "a key with one value is wanted");
                self.reader.tell(fault.help("go on to one of its keys, with a point between"));
                None
            }
            Ok(found) => Some(found),
            Err(fault) => {
                self.reader.tell(fault.moved(start));
                None
            }
        }
    }

    fn figure(&mut self, at: &At<Text>) -> Option<Figure> {
        match KeyPath::parse(&at.value.0) {
            Ok(path) => Some(Figure { path, place: at.place }),
            Err(fault) => {
                self.reader.tell(fault.moved(at.place.start + 1));
                None
            }
        }
    }

    /// Whether a value can be one of a key; if not, why is told.
    pub(super) fn fits(&mut self, (path, what): (&KeyPath, &What), written: &Written, base: &Base) -> bool {
        if is_one_of(&written.value, what) {
            return true;
        }
        // What the key itself says of it, here.
        let setting = [(path.clone(), written.value.clone())];
        let told = base.with(&setting).err().and_then(|faults| {
            faults.iter().find(|fault| faults.setting(fault) == Some(0) && fault.severity() == Severity::Error).cloned()
        });
        let other = || Diagnostic::error(format!("`{path}` is {what}")).at(written.place, "this is something else");
        let fault = told.map_or_else(other, |fault| fault.placed(written.place));
        self.reader.tell(fault);
        false
    }

    /// A key that is set in two places would mean one of them only.
    fn refuse_keys_set_twice(&mut self, file: &StudyFile) {
        let of_vary = file.vary.iter().filter_map(|vary| vary.0.as_ref()).flat_map(|vary| {
            let key = vary.value.key.as_ref().and_then(|key| key.value.0.as_ref());
            let keys = vary.value.keys.as_ref().and_then(|keys| keys.value.0.as_ref());
            key.into_iter().chain(keys.into_iter().flat_map(|keys| &keys.value))
        });
        let uncertain = file.uncertain.iter().filter_map(|at| at.0.as_ref()?.value.key.value.0.as_ref());
        let mut seen: Vec<&At<Text>> = Vec::new();
        for key in of_vary.chain(uncertain) {
            if let Some(first) = seen.iter().find(|first| first.value == key.value) {
                let fault =
                    Diagnostic::error(format!("`{}` is varied twice", key.value.0)).at(key.place, "second time");
                self.reader.tell(fault.at(first.place, "first time").help("keep one of them"));
            }
            seen.push(key);
        }
    }

    #[expect(clippy::option_option, reason = "a fault, no limit, and a limit are three cases")]
    fn limit(&mut self, at_most: Option<&LimitAt>, at_least: Option<&LimitAt>) -> Option<Option<Limit>> {
        match (at_most, at_least) {
            (None, None) => Some(None),
            (Some(most), None) => Some(Some(Limit::AtMost(most.value.0.as_ref()?.value.0))),
            (None, Some(least)) => Some(Some(Limit::AtLeast(least.value.0.as_ref()?.value.0))),
            (Some(_), Some(least)) => {
                self.tell("either `at_most` or `at_least`", least.place, "beside `at_most`", "keep one of them");
                None
            }
        }
    }

    fn stop(&mut self, at: &At<sections::Stop>, wanted: Option<f64>) -> Option<Stop> {
        let stop = &at.value;
        let share = |at: &Option<At<Tried<crate::quantity::Share>>>| match at {
            None => Some(None),
            Some(at) => at.value.0.map(|share| Some(share.of_one())),
        };
        let (half_width, chance) = (share(&stop.half_width)?, share(&stop.chance)?.or(wanted));
        if half_width.is_none() && chance.is_none() {
            let help = "add a line like: half_width = \"2 %\"";
            self.tell("nothing says when the runs are enough", at.place, "no `half_width` and no `chance` here", help);
            return None;
        }
        let least_runs = u64::from(stop.least_runs.value.0?.0);
        Some(Stop { half_width, chance, least_runs, look_every: u64::from(stop.look_every.value.0?.0) })
    }

    fn target(&mut self, target: &At<sections::Target>) -> Option<Target> {
        let place = target.place;
        let target = &target.value;
        let limit = self.limit(target.at_most.as_ref(), target.at_least.as_ref())?;
        match (&target.chance, &target.figure, limit) {
            (Some(chance), None, None) => {
                let share = chance.value.0?.of_one();
                if share < 1.0 {
                    return Some(Target::Chance(share));
                }
                self.tell(
                    "a chance of all runs asks for nothing",
                    chance.place,
                    "too much",
                    "write it like: chance = \"1 %\"",
                );
                None
            }
            (None, Some(figure), Some(limit)) => Some(Target::Mean(self.figure(figure.value.0.as_ref()?)?, limit)),
            (None, Some(figure), None) => {
                self.tell("the figure has no limit", figure.place, "how much of it?", "add a line like: at_most = 5");
                None
            }
            _ => {
                let help = "write chance = \"1 %\", or figure = \"…\" with at_most or at_least";
                self.tell("either `chance`, or a figure with its limit", place, "in this section", help);
                None
            }
        }
    }

    pub(super) fn tell(&mut self, title: &str, place: Stretch, label: &str, help: &str) {
        self.reader.tell(Diagnostic::error(title).at(place, label).help(help));
    }
}

type LimitAt = At<Tried<At<Number<-1_000_000_000, 1_000_000_000>>>>;

/// Whether a value is of the kind that a key takes.
fn is_one_of(value: &Value, what: &What) -> bool {
    match what {
        What::Quantity(_) | What::Level => value.amount(what).is_some(),
        What::Choice(words) => value.as_text().is_some_and(|text| words.contains(&text)),
        What::Text | What::File => value.as_text().is_some(),
        What::Date | What::Moment | What::TimeOfDay => value.as_text().is_some() || value.is_moment(),
        What::Whole { least, most } => value.as_whole().is_some_and(|whole| (*least..=*most).contains(&whole)),
        #[expect(clippy::cast_precision_loss, reason = "limits of few digits")]
        What::Number { least, most } => {
            value.as_number().is_some_and(|number| (*least as f64..=*most as f64).contains(&number))
        }
        What::YesNo => value.as_yes_no().is_some(),
        What::List(_) | What::Section | What::Any => false,
    }
}

/// A value as a number of something.
pub(super) fn scaled(value: &Value, what: &What) -> Option<(Scale, f64)> {
    match what {
        What::Quantity(_) | What::Level => {
            let amount = value.amount(what)?;
            Some((Scale::Quantity(amount), amount.base))
        }
        What::Whole { .. } => Some((Scale::Number { whole: true }, value.as_number()?)),
        What::Number { .. } => Some((Scale::Number { whole: false }, value.as_number()?)),
        _ => None,
    }
}
