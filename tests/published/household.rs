//! What a household draws against studies of real ones.
//!
//! Version 2 is Residential end uses of water, version 2 (W. B. `DeOreo` et al., Water Research Foundation 4309, 2016), read
//! in secondary digests where no other remark is made; version 1 is Residential end uses of water (P. W. Mayer et al.,
//! 1999), values from memory throughout.

#![expect(clippy::cast_precision_loss, reason = "numbers of days, homes and uses, far fewer than 2^53")]

mod day;
mod means;
mod peaks;
mod spread;

use std::sync::LazyLock;

use jiff::civil::{Date, date};
use springhouse_core::time::Time;
use springhouse_draws::household::{Home, Household, HouseholdDraw, HouseholdStream, Person, PersonKind, Planner, Use};
use springhouse_draws::tally::{Tallied, Tally};

use crate::units::GAL_L;

/// A Monday.
const FIRST_DAY: Date = date(2027, 3, 1);

const YEAR_DAYS: u32 = 365;

/// How often such a home is among twenty, its adults and its children: 2.65 people on average as in version 2, a quarter of
/// them children (common practice, no source).
const TWENTY: [(u32, usize, usize); 8] =
    [(4, 1, 0), (7, 2, 0), (1, 3, 0), (2, 2, 1), (1, 4, 0), (3, 2, 2), (1, 3, 2), (1, 2, 3)];

/// Years of the twenty homes: 2,000 of a household. Of adults there are 1,460,000 days; the rarest use, a bath, comes 100,000
/// times, which strays by a third of a per cent.
const RUNS: u64 = 100;

fn home(name: &str, adults: usize, children: usize) -> Home {
    let adults = (0..adults).map(|i| Person::typical(&format!("adult {i}"), PersonKind::Adult));
    let children = (0..children).map(|i| Person::typical(&format!("child {i}"), PersonKind::Child));
    Home::typical(name, 0, adults.chain(children).collect())
}

fn alone(home: Home) -> Household {
    Household { seed: 1, run: 0, first_day: FIRST_DAY, homes: vec![home] }
}

/// Typical homes of the sizes of [`TWENTY`].
fn twenty(run: u64) -> Household {
    let sizes = TWENTY.iter().flat_map(|&(count, adults, children)| (0..count).map(move |_| (adults, children)));
    let homes = sizes.enumerate().map(|(i, (adults, children))| home(&format!("house {i}"), adults, children));
    Household { seed: 1, run, first_day: FIRST_DAY, homes: homes.collect() }
}

/// The draws of the first days.
fn draws(household: &Household, days: u32) -> impl Iterator<Item = HouseholdDraw> {
    let stream = HouseholdStream::new(household, 0).expect("a sound household");
    stream.take_while(move |draw| draw.draw.start < Time::from_day(days.into()))
}

/// What the first days amount to.
fn tallied(household: &Household, days: u32) -> Tallied {
    let planner = Planner::new(household).expect("a sound household");
    let mut tally = Tally::new(&planner, 0, days);
    for draw in draws(household, days) {
        tally.add(&draw);
    }
    tally.finish()
}

/// Sums of one use.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    events: f64,
    seconds: f64,
    gallons: f64,
    most_lps: f64,
}

impl Sum {
    fn plus(self, other: Self) -> Self {
        Self {
            events: self.events + other.events,
            seconds: self.seconds + other.seconds,
            gallons: self.gallons + other.gallons,
            most_lps: self.most_lps.max(other.most_lps),
        }
    }
}

/// What was drawn in the years of the twenty homes.
struct Years {
    /// Days of adults, and of all people.
    adult_days: f64,
    all_days: f64,
    /// By use.
    adults: [Sum; Use::ALL.len()],
    all: [Sum; Use::ALL.len()],
}

impl Years {
    /// What adults draw for some uses, whose events count together.
    fn adults(&self, uses: &[Use]) -> Sum {
        uses.iter().fold(Sum::default(), |sum, use_| sum.plus(self.adults[use_.index()]))
    }

    /// What all people draw for some uses.
    fn all(&self, uses: &[Use]) -> Sum {
        uses.iter().fold(Sum::default(), |sum, use_| sum.plus(self.all[use_.index()]))
    }
}

static YEARS: LazyLock<Years> = LazyLock::new(|| {
    let mut years = Years {
        adult_days: 0.0,
        all_days: 0.0,
        adults: [Sum::default(); Use::ALL.len()],
        all: [Sum::default(); Use::ALL.len()],
    };
    for run in 0..RUNS {
        let of = twenty(run);
        for person in of.homes.iter().flat_map(|home| &home.people) {
            years.all_days += f64::from(YEAR_DAYS);
            years.adult_days += if person.kind == PersonKind::Adult { f64::from(YEAR_DAYS) } else { 0.0 };
        }
        for draw in draws(&of, YEAR_DAYS) {
            let (seconds, flow_lps) = ((draw.draw.end - draw.draw.start).s(), draw.draw.flow.lps());
            let events = if draw.part == 0 { 1.0 } else { 0.0 };
            let this = Sum { events, seconds, gallons: seconds * flow_lps / GAL_L, most_lps: flow_lps };
            let all = &mut years.all[draw.use_.index()];
            *all = all.plus(this);
            if of.homes[usize::from(draw.home)].people[usize::from(draw.who)].kind == PersonKind::Adult {
                let adults = &mut years.adults[draw.use_.index()];
                *adults = adults.plus(this);
            }
        }
    }
    years
});
