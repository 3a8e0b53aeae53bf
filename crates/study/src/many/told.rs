//! What is told of the runs of a variant: how often it falls short, and how its figures lie.

use super::{Plan, Row};
use crate::sure::{Interval, Mean, Paired, Quantile, Watch, Why, chance, mean, paired, quantile};

/// Shares of the runs at which the values of a figure are told, in order.
pub const LADDER: [f64; 23] = [
    0.0, 0.01, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60, 0.65, 0.70, 0.75, 0.80, 0.85,
    0.90, 0.95, 0.99, 1.0,
];

/// What came of a variant.
#[derive(Clone, Debug, PartialEq)]
pub struct VariantTold {
    /// Runs that count, those with a fault among them.
    pub runs: u64,
    /// Runs without a result.
    pub faults: u64,
    /// What was wrong with the first of them; or with the variant, which then has no runs.
    pub fault: Option<String>,
    /// How often it falls short; `None` where no run has a result.
    pub short: Option<ShortTold>,
    /// In the order of the plan's figures; `None` where no run has one.
    pub figures: Vec<Option<FigureTold>>,
}

/// How often a variant falls short.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShortTold {
    /// Runs with a result that fell short.
    pub times: u64,
    /// Runs with a result.
    pub runs: u64,
    /// Their share.
    pub chance: f64,
    /// The interval of the chance; where a rule could stop the runs, one that holds at all looks.
    pub bounds: Interval,
    /// Why no more runs were made; `None` without such a rule.
    pub why: Option<Why>,
}

/// How a figure lies over the runs of a variant.
#[derive(Clone, Debug, PartialEq)]
pub struct FigureTold {
    /// Runs that have it.
    pub runs: u64,
    /// Its mean and the interval of that; `None` with a single run.
    pub mean: Option<Mean>,
    /// The middle value.
    pub median: Quantile,
    /// The value that one run in twenty stays below.
    pub low: Quantile,
    /// The value that one run in twenty is above.
    pub high: Quantile,
    /// Its values at the shares of [`LADDER`].
    pub ladder: Vec<f64>,
    /// How it differs from the reference on the same mornings; `None` of the reference itself.
    pub against: Option<Paired>,
}

/// What came of every variant of a sweep, out of its rows in order; `each` is shown every row.
///
/// `rows` is called a second time where the reference is not the first variant: its figures must be known before those of others.
///
/// # Errors
/// What reading or showing a row gives.
pub fn tell<E, I: Iterator<Item = Result<Row, E>>>(
    plan: &Plan,
    rows: impl Fn() -> Result<I, E>,
    mut each: impl FnMut(&Row) -> Result<(), E>,
) -> Result<Vec<VariantTold>, E> {
    let is_of_reference = |row: &Row| row.job.variant == plan.reference as u64;
    let mut reference = None;
    if plan.reference > 0 {
        let mut gathering = Gathering::new(plan);
        for row in rows()? {
            let row = row?;
            if is_of_reference(&row) {
                gathering.take(&row);
            } else if row.job.variant > plan.reference as u64 {
                break;
            }
        }
        reference = Some(gathering.told(None).1);
    }
    let mut told = Vec::with_capacity(plan.variants.len());
    let mut gathering = Gathering::new(plan);
    let mut close = |gathering: Gathering<'_>, told: &mut Vec<VariantTold>| {
        let own = told.len() == plan.reference;
        let (variant, values) = gathering.told(reference.as_ref().filter(|_| !own));
        if own && reference.is_none() {
            reference = Some(values);
        }
        told.push(variant);
    };
    for row in rows()? {
        let row = row?;
        while (told.len() as u64) < row.job.variant {
            close(std::mem::replace(&mut gathering, Gathering::new(plan)), &mut told);
        }
        gathering.take(&row);
        each(&row)?;
    }
    while told.len() < plan.variants.len() {
        close(std::mem::replace(&mut gathering, Gathering::new(plan)), &mut told);
    }
    Ok(told)
}

/// Gathers the rows of one variant, in their order.
#[derive(Debug)]
pub struct Gathering<'p> {
    plan: &'p Plan,
    watch: Option<Watch>,
    why: Option<Why>,
    runs: u64,
    with_result: u64,
    times: u64,
    faults: u64,
    fault: Option<String>,
    /// By figure, by run; no number where a run has none.
    values: Vec<Vec<f64>>,
}

/// The figures of a variant's runs: by figure, by run; no number where a run has none.
pub type Values = Vec<Vec<f64>>;

impl<'p> Gathering<'p> {
    /// Before the first row of a variant.
    #[must_use]
    pub fn new(plan: &'p Plan) -> Self {
        Self {
            plan,
            watch: plan.rule().map(|rule| rule.watch()),
            why: None,
            runs: 0,
            with_result: 0,
            times: 0,
            faults: 0,
            fault: None,
            values: vec![Vec::new(); plan.figures.len()],
        }
    }

    /// Takes the next row, unless the runs before it have settled the matter; whether they, or it, have. Rows after that one do
    /// not count.
    ///
    /// A run without a result tells nothing of the chance and is passed over.
    pub fn take(&mut self, row: &Row) -> bool {
        if self.why.is_some() {
            return true;
        }
        if row.is_of_variant() {
            self.fault.get_or_insert_with(|| row.fault.clone().unwrap_or_default());
            return true;
        }
        self.runs += 1;
        for (values, figure) in self.values.iter_mut().zip(&row.figures) {
            values.push(figure.unwrap_or(f64::NAN));
        }
        if let Some(fault) = &row.fault {
            self.faults += 1;
            self.fault.get_or_insert_with(|| fault.clone());
            return false;
        }
        let short = self.plan.is_short(row);
        self.with_result += 1;
        self.times += u64::from(short);
        self.why = self.watch.as_mut().and_then(|watch| watch.tell(short)).map(|settled| settled.why);
        self.why.is_some()
    }

    /// Whether the runs have settled the matter.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.why.is_some()
    }

    /// What came of the variant; `reference` has the values of the one it is compared with.
    #[must_use]
    pub fn told(self, reference: Option<&Values>) -> (VariantTold, Values) {
        let confidence = self.plan.confidence();
        let short = (self.with_result > 0).then(|| {
            #[expect(clippy::cast_precision_loss, reason = "nobody makes 2^53 runs")]
            let share = self.times as f64 / self.with_result as f64;
            let bounds = match self.watch {
                Some(_) => crate::sure::lasting(self.times, self.with_result, confidence),
                None => chance(self.times, self.with_result, confidence),
            };
            let why = self.watch.and(self.why.or(Some(Why::AllRuns)));
            ShortTold { times: self.times, runs: self.with_result, chance: share, bounds, why }
        });
        let figures = self.values.iter().enumerate().map(|(place, values)| {
            let reference = reference.and_then(|reference| reference.get(place));
            figure(values, reference.map(Vec::as_slice), self.plan)
        });
        let figures = figures.collect();
        let told = VariantTold { runs: self.runs, faults: self.faults, fault: self.fault, short, figures };
        (told, self.values)
    }
}

fn figure(values: &[f64], reference: Option<&[f64]>, plan: &Plan) -> Option<FigureTold> {
    let confidence = plan.confidence();
    let in_order: Vec<f64> = values.iter().copied().filter(|value| !value.is_nan()).collect();
    let mut rising = in_order.clone();
    rising.sort_by(f64::total_cmp);
    let at = |share: f64| quantile(&rising, share, confidence);
    let ladder = LADDER.iter().filter_map(|share| {
        if *share <= 0.0 {
            rising.first().copied()
        } else if *share >= 1.0 {
            rising.last().copied()
        } else {
            at(*share).map(|quantile| quantile.value)
        }
    });
    // Only runs that both have are pairs; where one stopped before the other, those up to there.
    let against = reference.and_then(|reference| {
        let both = reference.iter().zip(values).filter(|(first, second)| !first.is_nan() && !second.is_nan());
        let (first, second): (Vec<f64>, Vec<f64>) = both.map(|(first, second)| (*first, *second)).unzip();
        paired(&first, &second, confidence)
    });
    Some(FigureTold {
        runs: in_order.len() as u64,
        mean: mean(&in_order, confidence),
        median: at(0.5)?,
        low: at(0.05)?,
        high: at(0.95)?,
        ladder: ladder.collect(),
        against,
    })
}
