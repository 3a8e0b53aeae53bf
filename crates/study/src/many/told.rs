//! What is told of the runs of a variant: how often it falls short, and how its figures lie.

use super::{Plan, Row};
use crate::sure::{Confidence, Interval, Mean, Paired, Quantile, Watch, Why, chance, mean, paired, quantile};

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
    /// Runs that fell short.
    pub times: u64,
    /// Runs that have the figure by which one falls short.
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
        }
        let Some(short) = self.plan.is_short(row) else { return false };
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

/// The difference of the values of two variants, by run. Only runs that both have are pairs; where one stopped before the other,
/// those up to there.
pub(super) fn difference(first: &[f64], second: &[f64], confidence: Confidence) -> Option<Paired> {
    let both = first.iter().zip(second).filter(|(first, second)| !first.is_nan() && !second.is_nan());
    let (first, second): (Vec<f64>, Vec<f64>) = both.map(|(first, second)| (*first, *second)).unzip();
    paired(&first, &second, confidence)
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
    let against = reference.and_then(|reference| difference(reference, values, confidence));
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

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::many::{Column, ColumnKind, Design, Follow, Job, Limit, Short, Stop, Variant};

    /// Of two variants and one figure, of which more than none falls short.
    pub(in crate::many) fn plan(runs: u64, stop: Option<Stop>) -> Plan {
        let variant = |text: &str| Variant { settings: vec![text.to_owned()], amounts: vec![None], price: None };
        Plan {
            name: "made-up".to_owned(),
            title: String::new(),
            scenario: String::new(),
            metric: true,
            first_day: "2027-06-07".to_owned(),
            days: 1,
            seed: 1,
            design: Design::Sweep,
            runs,
            keys: vec![Column { key: "way".to_owned(), kind: ColumnKind::Text }],
            axes: Vec::new(),
            variants: vec![variant("one"), variant("two")],
            reference: 0,
            uncertain: Vec::new(),
            figures: vec!["figure".to_owned()],
            short: Short { figure: "figure".to_owned(), limit: Limit::AtMost(0.0) },
            confidence: 0.95,
            stop,
            target: None,
        }
    }

    pub(in crate::many) fn row(variant: u64, run: u64, value: Option<f64>) -> Row {
        let fault = value.is_none().then(|| "the run: broken".to_owned());
        Row { job: Job { variant, run }, uncertain: Vec::new(), fault, figures: vec![value] }
    }

    fn told_of(plan: &Plan, rows: &[Row]) -> Vec<VariantTold> {
        tell(plan, || Ok::<_, ()>(rows.iter().cloned().map(Ok)), |_| Ok(())).unwrap()
    }

    #[test]
    fn exact_differences_are_run_by_run_whatever_the_reference() {
        let mut plan = plan(4, None);
        let one = [Some(1.0), Some(5.0), Some(9.0), None];
        let two = [Some(2.0), Some(7.0), Some(12.0), Some(50.0)];
        let mut rows: Vec<Row> = (0..).zip(one).map(|(run, value)| row(0, run, value)).collect();
        rows.extend((0..).zip(two).map(|(run, value)| row(1, run, value)));
        for (reference, sign) in [(0, 1.0), (1, -1.0)] {
            plan.reference = reference;
            let told = told_of(&plan, &rows);
            let against = told[1 - reference].figures[0].as_ref().unwrap().against.unwrap();
            // 1, 2 and 3: the pair without a result is no pair.
            assert_eq!(against.difference.mean, sign * 2.0);
            assert!(told[reference].figures[0].as_ref().unwrap().against.is_none());
            assert_eq!((told[0].runs, told[0].faults, told[0].short.unwrap().runs), (4, 1, 3));
        }
    }

    #[test]
    fn exact_a_variant_without_rows_is_told_of_as_such() {
        let plan = plan(2, None);
        let told = told_of(&plan, &[row(1, 0, Some(0.0)), row(1, 1, Some(1.0))]);
        assert_eq!((told.len(), told[0].runs, told[0].short), (2, 0, None));
        assert_eq!(told[1].short.map(|short| short.times), Some(1));
    }

    /// Whoever follows the rows, all of them or from the middle of a variant, what counts in the end is the same.
    #[test]
    fn exact_rows_that_count_are_those_up_to_where_it_is_settled() {
        let stop = Stop { half_width: Some(0.2), chance: None, least_runs: 5, look_every: 3 };
        let plan = plan(200, Some(stop));
        let rows: Vec<Row> = (0..200).map(|run| row(0, run, Some(f64::from(u8::from(run % 4 == 0))))).collect();
        let mut whole = Follow::new(&plan);
        let counted: Vec<&Row> = rows.iter().filter(|row| whole.counts(row)).collect();
        assert!(counted.len() > 5 && counted.len() < 200, "{}", counted.len());
        assert!(!whole.wants(Job { variant: 0, run: 199 }) && whole.wants(Job { variant: 1, run: 0 }));
        // The first part stops where the whole does; the second makes all of its runs, and none of them counts.
        let (first, second) = rows.split_at(150);
        let mut of_first = Follow::new(&plan);
        assert_eq!(first.iter().filter(|row| of_first.counts(row)).count(), counted.len());
        let mut of_second = Follow::new(&plan);
        assert!(second.iter().all(|row| of_second.counts(row)));
        let told = &told_of(&plan, &rows)[0];
        assert_eq!(told.runs, counted.len() as u64);
        assert_eq!(told.short.unwrap().why, Some(Why::Narrow));
    }
}
