//! From a study as it was read to its plan, and to the scenario of each run.

use jiff::civil::Date;
use springhouse_random::Stream;
use springhouse_scenario::study::{self, Study, Uncertain};
use springhouse_scenario::vary::{KeyPath, Value, What};
use springhouse_scenario::{Diagnostics, Loaded, Scenario, Units};
use springhouse_sim::{RunOptions, run};
use thiserror::Error;

use super::figure::{figure, paths, usual};
use super::plan::{Axis, Column, ColumnKind, Design, Job, Limit, Plan, Short, Stop, Target, Variant};
use super::{Cell, input::Drawn};
use crate::sure::{Crossed, Grid, SureError, paths as steps};

/// Gives a run its first day, days, seed, weather and logs: what is wrong otherwise. Called from several threads.
pub type Meet<'m> = dyn Fn(&Scenario, RunOf) -> Result<RunOptions, String> + Sync + 'm;

/// Which run of a scenario it is.
#[derive(Clone, Copy, Debug)]
pub struct RunOf {
    /// First day.
    pub first_day: Date,
    /// Days.
    pub days: u32,
    /// Seed.
    pub seed: u64,
    /// Number of the run: of its mornings and weather.
    pub run: u64,
}

/// What a study is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Its variants, side by side.
    Sweep,
    /// What matters: so many rows of runs that tell shares of the variance apart.
    Shares(u32),
    /// What matters at all: so many paths of single steps.
    Steps(u32),
}

/// Why a study cannot be made.
#[derive(Debug, Error)]
pub enum AskError {
    /// What is wrong with the study, or with its first variant.
    #[error("{0}")]
    Bad(Diagnostics),
    /// More variants than anybody can want.
    #[error("the study makes {0} variants, but at most {MOST_VARIANTS} are made; give fewer values, or `filling`")]
    TooMany(u64),
    /// Its distributions or samples cannot be.
    #[error(transparent)]
    Sure(#[from] SureError),
    /// A first run could not be made.
    #[error("{0}")]
    Failed(String),
    /// Nothing to rank.
    #[error("a ranking needs two inputs or more that vary, by `[[vary]]` or `[[uncertain]]`")]
    NothingToRank,
}

/// The most variants of a study.
pub const MOST_VARIANTS: u64 = 1_000_000;

/// So many variants are looked at for one that is sound.
const MOST_LOOKS: usize = 1_000;

/// Levels of paths of single steps.
const LEVELS: usize = 8;

/// The input of a ranking that stands for people and weather.
pub const MORNINGS: &str = "mornings and weather";

/// A study ready to be run.
#[derive(Debug)]
pub struct Prepared {
    /// What it asks.
    pub plan: Plan,
    study: Study,
    /// The scenario of the first variant that is sound.
    first: Option<Scenario>,
    first_day: Date,
    figures: Vec<KeyPath>,
    /// Of a sweep the uncertain keys; of a ranking all inputs.
    drawn: Vec<Drawn>,
    /// Points of paths, one after the other; empty of other designs.
    steps: Vec<f64>,
    crossed: Option<Crossed>,
}

/// What a run is made of.
#[derive(Debug)]
pub(super) struct Made {
    pub(super) settings: Vec<(KeyPath, Value)>,
    pub(super) uncertain: Vec<Cell>,
    pub(super) mornings: u64,
}

impl Prepared {
    /// Makes ready what a study asks for. One run is made, to see which figures there are.
    ///
    /// # Errors
    /// [`AskError`].
    pub fn new(study: Study, asked: Asked, meet: &Meet<'_>) -> Result<Self, AskError> {
        let mut drawn = study.uncertain.iter().map(|at| drawn(&study, at)).collect::<Result<Vec<_>, _>>()?;
        if asked != Asked::Sweep {
            let mut inputs: Vec<Drawn> = study.axes.iter().map(Drawn::of_axis).collect();
            inputs.append(&mut drawn);
            drawn = inputs;
            if drawn.len() < 2 {
                return Err(AskError::NothingToRank);
            }
        }
        let names: Vec<&str> = drawn.iter().map(Drawn::name).chain([MORNINGS]).collect();
        let variants = match asked {
            Asked::Sweep => {
                let own = || study.base.with(&[]).map_or(0, |loaded| loaded.scenario.seed);
                variants(&study, study.seed.unwrap_or_else(own))?
            }
            Asked::Shares(_) => {
                let ends = core::iter::once("a".to_owned()).chain(names.iter().map(|name| format!("a, {name} of b")));
                points(ends.chain(["b".to_owned()]))
            }
            Asked::Steps(_) => points((0..=drawn.len()).map(|step| format!("step {step}"))),
        };
        let sweep = asked == Asked::Sweep;
        let keys: Vec<Column> = if sweep {
            study.axes.iter().flat_map(|axis| &axis.keys).map(|(key, what)| column(key, what)).collect()
        } else {
            Vec::new()
        };
        let mut first_key = 0;
        let axes = study.axes.iter().filter(|_| sweep).map(|axis| {
            let first = first_key;
            first_key += axis.keys.len();
            Axis { name: axis.name.clone(), first_key: first, keys: axis.keys.len() }
        });
        let mut prepared = Self {
            first: None,
            first_day: Date::ZERO,
            figures: Vec::new(),
            crossed: None,
            steps: Vec::new(),
            plan: Plan {
                name: study.name.clone(),
                title: study.title.clone(),
                scenario: String::new(),
                metric: false,
                first_day: String::new(),
                days: 0,
                seed: 0,
                design: match asked {
                    Asked::Sweep => Design::Sweep,
                    Asked::Shares(_) => Design::Shares,
                    Asked::Steps(_) => Design::Steps,
                },
                runs: match asked {
                    Asked::Sweep => study.runs,
                    Asked::Shares(rows) => u64::from(rows),
                    Asked::Steps(paths) => u64::from(paths),
                },
                axes: axes.collect(),
                keys,
                variants,
                reference: if sweep { study.reference } else { 0 },
                uncertain: drawn.iter().flat_map(Drawn::columns).collect(),
                figures: Vec::new(),
                short: Short { figure: study.short.path.to_string(), limit: limit(study.short_limit) },
                confidence: study.confidence,
                stop: study.stop.filter(|_| sweep).map(|stop| Stop {
                    half_width: stop.half_width,
                    chance: stop.chance,
                    least_runs: stop.least_runs,
                    look_every: stop.look_every,
                }),
                target: study.target.as_ref().map(|target| match target {
                    study::Target::Chance(chance) => Target::Chance(*chance),
                    study::Target::Mean(figure, of) => {
                        Target::Mean { figure: figure.path.to_string(), limit: limit(*of) }
                    }
                }),
            },
            drawn,
            study,
        };
        if prepared.plan.reference >= prepared.plan.variants.len() {
            return Err(AskError::Bad(prepared.study.fault_of_reference(prepared.plan.variants.len())));
        }
        let first = prepared.first_sound()?.scenario;
        prepared.plan.seed = prepared.study.seed.unwrap_or(first.seed);
        prepared.sample(asked)?;
        prepared.complete(first, meet)?;
        Ok(prepared)
    }

    /// Draws what a design needs to know before its first run.
    fn sample(&mut self, asked: Asked) -> Result<(), SureError> {
        let names: Vec<&str> = self.drawn.iter().map(Drawn::name).chain([MORNINGS]).collect();
        match asked {
            Asked::Sweep => {}
            Asked::Shares(_) => self.crossed = Some(Crossed::new(self.plan.seed, &names)?),
            Asked::Steps(paths) => {
                self.steps = steps(self.plan.seed, self.drawn.len(), LEVELS, paths as usize)?;
            }
        }
        Ok(())
    }

    /// The scenario of the first variant that is sound: of the study's own settings where it is a ranking.
    fn first_sound(&self) -> Result<Loaded, AskError> {
        let mut first = None;
        let looks = if self.plan.design == Design::Sweep { MOST_LOOKS.min(self.plan.variants.len()) } else { 1 };
        for variant in 0..looks as u64 {
            // The middle of what is uncertain stands for it.
            let mut settings = self.settings(variant);
            settings.extend(self.drawn.iter().flat_map(|drawn| drawn.at(0.5)));
            match self.study.base.with(&settings) {
                Ok(loaded) => return Ok(loaded),
                Err(faults) => {
                    first.get_or_insert(faults);
                }
            }
        }
        Err(first.map_or_else(|| AskError::Failed("the study has no variant".to_owned()), AskError::Bad))
    }

    /// Makes a run to see which figures there are, and completes the plan by what the scenario says.
    fn complete(&mut self, first: Scenario, meet: &Meet<'_>) -> Result<(), AskError> {
        self.plan.scenario = if first.title.is_empty() { first.name.clone() } else { first.title.clone() };
        self.plan.metric = first.units == Units::Metric;
        self.first_day = self.study.from.unwrap_or(first.start);
        self.plan.first_day = self.first_day.to_string();
        self.plan.days = self.study.days.unwrap_or(first.days);
        let options = meet(&first, self.run_of(0)).map_err(AskError::Failed)?;
        let outcome = run(&first, &options, &mut |_| ()).map_err(|error| AskError::Failed(error.to_string()))?;
        self.first = Some(first);
        let summary = serde_json::to_value(&outcome.summary).map_err(|error| AskError::Failed(error.to_string()))?;
        let all = paths(&summary);
        let study = &self.study;
        let asked: Vec<study::Figure> = if study.figures.is_empty() {
            usual(&all).iter().filter_map(|path| KeyPath::parse(path).ok()).map(study::Figure::usual).collect()
        } else {
            study.figures.clone()
        };
        let of_target = study.target.iter().filter_map(|target| match target {
            study::Target::Mean(figure, _) => Some(figure.clone()),
            study::Target::Chance(_) => None,
        });
        let mut figures: Vec<KeyPath> = Vec::new();
        for asked in core::iter::once(study.short.clone()).chain(of_target).chain(asked) {
            if figures.contains(&asked.path) {
                continue;
            }
            if figure(&summary, &asked.path).is_none() {
                return Err(AskError::Bad(unknown(study, &asked, &all)));
            }
            figures.push(asked.path);
        }
        self.plan.figures = figures.iter().map(KeyPath::to_string).collect();
        self.figures = figures;
        Ok(())
    }

    /// The keys that a variant sets.
    pub(super) fn settings(&self, variant: u64) -> Vec<(KeyPath, Value)> {
        if self.plan.design != Design::Sweep {
            return Vec::new();
        }
        let place = usize::try_from(variant).unwrap_or(usize::MAX);
        let Some(variant) = self.plan.variants.get(place) else { return Vec::new() };
        let keys = self.study.axes.iter().flat_map(|axis| &axis.keys);
        keys.zip(&variant.settings).map(|((path, what), text)| (path.clone(), value_of(text, what))).collect()
    }

    /// What a run is made of.
    pub(super) fn made(&self, job: Job) -> Made {
        let mut settings = self.settings(job.variant);
        let (units, mornings) = self.units(job);
        let mut uncertain = Vec::with_capacity(self.plan.uncertain.len());
        for (drawn, unit) in self.drawn.iter().zip(units) {
            let values = drawn.at(unit);
            uncertain.extend(drawn.cells(&values));
            settings.extend(values);
        }
        Made { settings, uncertain, mornings }
    }

    /// Where each input of a run lies between 0 and 1, and which mornings it meets.
    fn units(&self, job: Job) -> (Vec<f64>, u64) {
        match self.plan.design {
            Design::Sweep => {
                let unit =
                    |drawn: &Drawn| Stream::new(self.plan.seed, job.run, &["study", drawn.name()], "uncertain").on(0);
                (self.drawn.iter().map(|drawn| unit(drawn).inner()).collect(), job.run)
            }
            Design::Shares => {
                let Some(mut crossed) = self.crossed.clone() else { return (Vec::new(), 0) };
                let each = crossed.each() as u64;
                let mut point = vec![0.0; self.drawn.len() + 1];
                crossed.point(job.run * each + job.variant, &mut point);
                // Mornings are the last input: those of `b` in the run before the last, and in `b` itself.
                let of_b = job.variant + 2 >= each;
                point.pop();
                (point, 2 * job.run + u64::from(of_b))
            }
            Design::Steps => {
                let inputs = self.drawn.len();
                let point =
                    usize::try_from(job.run).unwrap_or(0) * (inputs + 1) + usize::try_from(job.variant).unwrap_or(0);
                let from = point * inputs;
                (self.steps.get(from..from + inputs).unwrap_or_default().to_vec(), job.run)
            }
        }
    }

    /// What the value of an axis costs in a variant; `None` where the study does not tell.
    pub(super) fn price_of(&self, variant: usize, axis: usize) -> Option<f64> {
        let (at, axis) = (self.plan.axes.get(axis)?, self.study.axes.get(axis)?);
        let own = self.plan.variants.get(variant)?.settings.get(at.first_key..at.first_key + at.keys)?;
        let is_own = |value: &Vec<Value>| value.iter().map(text_of).eq(own.iter().cloned());
        axis.prices.get((0..axis.count()).position(|place| is_own(&axis.value(place)))?).copied()
    }

    /// How large the value of the first key of an axis is in a variant; `None` where it is no number.
    pub(super) fn size_of(&self, variant: &Variant, axis: usize) -> Option<f64> {
        let (at, axis) = (self.plan.axes.get(axis)?, self.study.axes.get(axis)?);
        let (_, what) = axis.keys.first()?;
        let value = value_of(variant.settings.get(at.first_key)?, what);
        value.amount(what).map(|amount| amount.base).or_else(|| value.as_number())
    }

    /// Adds a variant whose value of an axis lies between those of two others; `None` where the axis is a list, or there is
    /// none between.
    pub(super) fn add_between(&mut self, low: usize, high: usize, axis: usize) -> Option<usize> {
        let study::Values::Range { range, .. } = &self.study.axes.get(axis)?.values else { return None };
        let size = |variant: usize| self.size_of(self.plan.variants.get(variant)?, axis);
        let (low_size, high_size) = (size(low)?, size(high)?);
        let value = range.between(low_size, high_size)?;
        self.add(high, axis, &value)
    }

    /// Adds a variant like another but for the value of an axis, or finds it; `None` where that is below the least wanted.
    pub(super) fn add_like(&mut self, like: usize, axis: usize, value: &Value, least: f64) -> Option<usize> {
        let what = &self.study.axes.get(axis)?.keys.first()?.1;
        let size = value.amount(what).map(|amount| amount.base).or_else(|| value.as_number())?;
        // As large but for the rounding of a change of units.
        if size < least * (1.0 - 1e-12) {
            return None;
        }
        self.add(like, axis, value)
    }

    fn add(&mut self, like: usize, axis: usize, value: &Value) -> Option<usize> {
        let what = &self.study.axes.get(axis)?.keys.first()?.1;
        let mut variant = self.plan.variants.get(like)?.clone();
        let key = self.plan.axes.get(axis)?.first_key;
        *variant.settings.get_mut(key)? = text_of(value);
        *variant.amounts.get_mut(key)? = amount(value, what);
        variant.price = None;
        let there = self.plan.variants.iter().position(|it| it.settings == variant.settings);
        Some(there.unwrap_or_else(|| {
            self.plan.variants.push(variant);
            self.plan.variants.len() - 1
        }))
    }

    /// What the inputs of a ranking are called, but for mornings and weather.
    pub fn inputs(&self) -> impl Iterator<Item = &str> {
        self.drawn.iter().map(Drawn::name)
    }

    /// Points of the paths of single steps.
    #[must_use]
    pub fn steps(&self) -> &[f64] {
        &self.steps
    }

    /// Whether every run of a variant has the same scenario.
    pub(super) fn is_fixed(&self) -> bool {
        self.drawn.is_empty()
    }

    pub(super) fn load(&self, settings: &[(KeyPath, Value)]) -> Result<Loaded, Diagnostics> {
        self.study.base.with(settings)
    }

    pub(super) fn run_of(&self, mornings: u64) -> RunOf {
        RunOf { first_day: self.first_day, days: self.plan.days, seed: self.plan.seed, run: mornings }
    }

    pub(super) fn figures(&self) -> &[KeyPath] {
        &self.figures
    }

    /// What each input may be and how likely, to the last bit: what makes it another study.
    #[must_use]
    pub fn inputs_in_full(&self) -> String {
        format!("{:?}", self.drawn)
    }

    /// The scenario of the first variant that is sound.
    #[must_use]
    pub fn first(&self) -> Option<&Scenario> {
        self.first.as_ref()
    }

    /// The study that was asked.
    #[must_use]
    pub fn study(&self) -> &Study {
        &self.study
    }
}

fn limit(limit: study::Limit) -> Limit {
    match limit {
        study::Limit::AtMost(most) => Limit::AtMost(most),
        study::Limit::AtLeast(least) => Limit::AtLeast(least),
    }
}

fn drawn(study: &Study, at: &Uncertain) -> Result<Drawn, AskError> {
    Drawn::of_uncertain(at).map_err(|error| {
        AskError::Bad(study.fault_of_uncertain(at, &format!("`{}`: {error}", at.key), "how likely are its values?"))
    })
}

fn points(names: impl Iterator<Item = String>) -> Vec<Variant> {
    names.map(|name| Variant { settings: vec![name], amounts: Vec::new(), price: None }).collect()
}

/// The column of a key.
pub(super) fn column(key: &KeyPath, what: &What) -> Column {
    let kind = match what {
        What::Quantity(dimension) => ColumnKind::Quantity(dimension.ending()),
        // A level may be a volume or a share, from value to value: no number tells both.
        What::Whole { .. } | What::Number { .. } => ColumnKind::Number,
        _ => ColumnKind::Text,
    };
    Column { key: key.to_string(), kind }
}

/// A value as a number of its column.
pub(super) fn amount(value: &Value, what: &What) -> Option<f64> {
    match what {
        What::Quantity(_) => value.amount(what).map(|amount| amount.base),
        What::Whole { .. } | What::Number { .. } => value.as_number(),
        _ => None,
    }
}

/// A value as a person reads it: a text without its quotes.
pub(super) fn text_of(value: &Value) -> String {
    value.as_text().map_or_else(|| value.to_string(), str::to_owned)
}

/// The value that such a text stands for.
fn value_of(text: &str, what: &What) -> Value {
    match what {
        What::Whole { .. } | What::Number { .. } | What::YesNo => {
            Value::parse(text).unwrap_or_else(|_| Value::text(text))
        }
        _ => Value::text(text),
    }
}

/// All variants of a sweep: every combination, or a sample that fills the ranges.
fn variants(study: &Study, seed: u64) -> Result<Vec<Variant>, AskError> {
    if study.axes.is_empty() {
        // Nothing but what is uncertain.
        return Ok(vec![Variant { settings: Vec::new(), amounts: Vec::new(), price: None }]);
    }
    let mut made = Vec::new();
    if let Some(points) = study.filling {
        let names: Vec<&str> = study.axes.iter().map(|axis| axis.name.as_str()).collect();
        let sample = crate::sure::Latin::new(seed, &names, points as usize);
        let mut point = vec![0.0; names.len()];
        for place in 0..points as usize {
            sample.point(place, &mut point);
            let values = study.axes.iter().zip(&point).map(|(axis, unit)| (axis, axis.value_at(*unit)));
            made.push(variant(values, None));
        }
        return Ok(made);
    }
    let counts: Vec<usize> = study.axes.iter().map(study::Axis::count).collect();
    let all = counts.iter().try_fold(1_u64, |all, count| all.checked_mul(*count as u64)).unwrap_or(u64::MAX);
    if all > MOST_VARIANTS {
        return Err(AskError::TooMany(all));
    }
    let grid = Grid::new(&counts)?;
    let mut levels = vec![0; counts.len()];
    let priced = study.axes.iter().all(|axis| !axis.prices.is_empty());
    for place in 0..grid.places() {
        grid.levels(place, &mut levels);
        let values = study.axes.iter().zip(&levels).map(|(axis, level)| (axis, axis.value(*level)));
        let price = || study.axes.iter().zip(&levels).map(|(axis, level)| axis.prices.get(*level).copied()).sum();
        made.push(variant(values, if priced { price() } else { None }));
    }
    Ok(made)
}

pub(super) fn variant<'s>(values: impl Iterator<Item = (&'s study::Axis, Vec<Value>)>, price: Option<f64>) -> Variant {
    let mut variant = Variant { settings: Vec::new(), amounts: Vec::new(), price };
    for (axis, values) in values {
        for ((_, what), value) in axis.keys.iter().zip(values) {
            variant.amounts.push(amount(&value, what));
            variant.settings.push(text_of(&value));
        }
    }
    variant
}

/// What is told of a figure that no run has.
fn unknown(study: &Study, asked: &study::Figure, all: &[String]) -> Diagnostics {
    let path = asked.path.to_string();
    let near = springhouse_table::nearest(&path, all.iter().map(String::as_str));
    let last = path.rsplit(['.', ']']).next().unwrap_or_default();
    let alike: Vec<_> =
        all.iter().filter(|known| known.ends_with(last)).take(5).map(|known| format!("`{known}`")).collect();
    let label = near.map_or_else(|| "not a figure of the summary".to_owned(), |near| format!("did you mean `{near}`?"));
    let help = if alike.is_empty() {
        "take a number of `summary.json` by its path, as `water.run_outs`; `springhouse run FILE --json` prints it"
            .to_owned()
    } else {
        format!("figures that end so: {}", alike.join(", "))
    };
    study.fault_of(asked, &format!("the run of the scenario has no figure `{path}`"), &label, &help)
}
