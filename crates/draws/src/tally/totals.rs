//! Sums over one run or many.

use springhouse_core::time::Span;

use super::ladder::Ladder;
use super::window::WINDOWS;
use crate::household::Use;

/// More showers at once are counted as so many.
pub const MOST_SHOWERS: usize = 32;

/// Sums of what was drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Totals {
    days: u64,
    homes: Vec<HomeTotals>,
    /// By hour of day, in 1e-9 nL.
    hours: [i128; 24],
    /// Nanoseconds with just so many showers at once, and days with that many at most.
    showers_ns: [i128; MOST_SHOWERS + 1],
    showers_days: [u64; MOST_SHOWERS + 1],
    daily: [Ladder; WINDOWS.len()],
}

/// Sums of one building.
#[derive(Clone, Debug, PartialEq)]
pub struct HomeTotals {
    person_days: u64,
    /// By use, in 1e-9 nL.
    amounts: [i128; Use::ALL.len()],
    events: [u64; Use::ALL.len()],
}

impl HomeTotals {
    /// Days of people who were in, one for each person and day.
    #[must_use]
    pub fn person_days(&self) -> u64 {
        self.person_days
    }

    /// Litres drawn for a use.
    #[must_use]
    pub fn litres(&self, use_: Use) -> f64 {
        litres(self.amounts[use_.index()])
    }

    /// Litres drawn.
    #[must_use]
    pub fn all_litres(&self) -> f64 {
        litres(self.amounts.iter().sum())
    }

    /// How often water was drawn for a use; a load of an appliance counts once.
    #[must_use]
    pub fn events(&self, use_: Use) -> u64 {
        self.events[use_.index()]
    }
}

#[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a volume, and days are fewer")]
impl Totals {
    pub(crate) fn new(person_days: Vec<u64>) -> Self {
        let home = |person_days| HomeTotals { person_days, amounts: [0; Use::ALL.len()], events: [0; Use::ALL.len()] };
        Self {
            days: 0,
            homes: person_days.into_iter().map(home).collect(),
            hours: [0; 24],
            showers_ns: [0; MOST_SHOWERS + 1],
            showers_days: [0; MOST_SHOWERS + 1],
            daily: core::array::from_fn(|_| Ladder::new()),
        }
    }

    pub(crate) fn add(&mut self, home: usize, use_: Use, amount: i128, counts: bool) {
        if let Some(home) = self.homes.get_mut(home) {
            home.amounts[use_.index()] += amount;
            home.events[use_.index()] += u64::from(counts);
        }
    }

    pub(crate) fn pass(&mut self, hour: i64, length: Span, amount: i128, showers: usize) {
        if let Some(sum) = usize::try_from(hour).ok().and_then(|hour| self.hours.get_mut(hour)) {
            *sum += amount;
        }
        self.showers_ns[showers.min(MOST_SHOWERS)] += i128::from(length.ns());
    }

    pub(crate) fn close_day(&mut self, most_lps: [f64; WINDOWS.len()], showers: usize) {
        self.days += 1;
        self.showers_days[showers.min(MOST_SHOWERS)] += 1;
        for (ladder, most) in self.daily.iter_mut().zip(most_lps) {
            ladder.add(most);
        }
    }

    /// Adds another run of the same buildings.
    pub(crate) fn merge(&mut self, other: &Self) {
        self.days += other.days;
        for (mine, others) in self.homes.iter_mut().zip(&other.homes) {
            mine.person_days += others.person_days;
            add_each(&mut mine.amounts, &others.amounts);
            add_each(&mut mine.events, &others.events);
        }
        add_each(&mut self.hours, &other.hours);
        add_each(&mut self.showers_ns, &other.showers_ns);
        add_each(&mut self.showers_days, &other.showers_days);
        for (mine, others) in self.daily.iter_mut().zip(&other.daily) {
            mine.merge(others);
        }
    }

    /// Days that were counted.
    #[must_use]
    pub fn days(&self) -> u64 {
        self.days
    }

    /// The buildings, in order.
    #[must_use]
    pub fn homes(&self) -> &[HomeTotals] {
        &self.homes
    }

    /// Litres a person and day over all buildings; zero if nobody was in. Leaks and the tap outdoors count.
    #[must_use]
    pub fn litres_per_person_day(&self) -> f64 {
        let people: u64 = self.homes.iter().map(|home| home.person_days).sum();
        if people == 0 { 0.0 } else { self.homes.iter().map(HomeTotals::all_litres).sum::<f64>() / people as f64 }
    }

    /// Shares of all litres by hour of day; zeros if nothing was drawn.
    #[must_use]
    pub fn hour_shares(&self) -> [f64; 24] {
        let all: i128 = self.hours.iter().sum();
        self.hours.map(|amount| if all == 0 { 0.0 } else { amount as f64 / all as f64 })
    }

    /// Mean time a day in seconds with at least so many showers at once.
    #[must_use]
    pub fn showers_at_once_s(&self, least: usize) -> f64 {
        let ns: i128 = self.showers_ns.iter().skip(least).sum();
        ns as f64 / 1e9 / self.days.max(1) as f64
    }

    /// Share of the days on which at least so many showers ran at once.
    #[must_use]
    pub fn showers_at_once_days(&self, least: usize) -> f64 {
        self.showers_days.iter().skip(least).sum::<u64>() as f64 / self.days.max(1) as f64
    }

    /// The highest mean flow of each day over each of [`WINDOWS`]. A window is of the day in which it ends.
    #[must_use]
    pub fn daily_peaks(&self) -> &[Ladder; WINDOWS.len()] {
        &self.daily
    }
}

/// Litres of an amount in 1e-9 nL.
#[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a volume")]
fn litres(amount: i128) -> f64 {
    amount as f64 / 1e18
}

fn add_each<T: Copy + core::ops::AddAssign>(mine: &mut [T], others: &[T]) {
    for (mine, others) in mine.iter_mut().zip(others) {
        *mine += *others;
    }
}
