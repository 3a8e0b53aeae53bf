//! What everybody wishes on a day.

use jiff::civil::{Date, date};
use springhouse_core::draw::Flow;
use springhouse_core::time::{Span, Time};

use super::fault::Fault;
use super::home::{Filling, Home, Household, MOST_DEVIATIONS};
use super::people::Person;
use super::person::Resident;
use super::wish::{Use, Wish};
use springhouse_random::Stream;

/// The wishes of a household, day by day.
///
/// A wish follows from the seed, the run, the names of building and person, and the date: never from who else lives there,
/// what else is installed, or which days were asked before. Bathroom taps alone depend on toilets as well: hands are washed
/// after flushes, and the other uses are what is left of the mean.
#[derive(Clone, Debug)]
pub struct Planner {
    first_day: i64,
    homes: Vec<Building>,
}

/// A building and its streams, which do not depend on who lives there.
#[derive(Clone, Debug)]
struct Building {
    home: Home,
    residents: Vec<Resident>,
    wake: Stream,
    dinner: Stream,
    outdoor: Stream,
}

/// What all in a building share on a day.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shared {
    /// How early or late a day it is, in standard deviations.
    pub(crate) wake: f64,
    /// When dinner is, in seconds since midnight.
    pub(crate) dinner_s: f64,
}

/// How far dinner strays: our choice.
const DINNER_SPREAD_S: f64 = 1_200.0;
/// When the tap outdoors is used: our choice.
const DAYLIGHT_S: (f64, f64) = (7.0 * 3_600.0, 20.0 * 3_600.0);

impl Planner {
    /// Takes a household.
    ///
    /// # Errors
    /// All its faults.
    pub fn new(household: &Household) -> Result<Self, Vec<Fault>> {
        let faults = household.faults();
        if !faults.is_empty() {
            return Err(faults);
        }
        let building = |home: &Home| {
            let stream = |purpose| Stream::new(household.seed, household.run, &[&home.name], purpose);
            let resident = |person: &Person| Resident::new(household, home, person);
            Building {
                residents: home.people.iter().map(resident).collect(),
                home: home.clone(),
                wake: stream("wake"),
                dinner: stream("dinner"),
                outdoor: stream("outdoor"),
            }
        };
        let homes = household.homes.iter().map(building).collect();
        Ok(Self { first_day: day_number(household.first_day), homes })
    }

    /// The buildings.
    #[must_use]
    pub fn homes(&self) -> impl ExactSizeIterator<Item = &Home> {
        self.homes.iter().map(|building| &building.home)
    }

    /// A building, by its index.
    #[must_use]
    pub fn home(&self, home: usize) -> Option<&Home> {
        self.homes.get(home).map(|building| &building.home)
    }

    /// How many people are in a building on a day (0 is the household's first).
    #[must_use]
    pub fn present(&self, home: usize, day: i64) -> usize {
        let date = self.first_day.saturating_add(day);
        self.homes.get(home).map_or(0, |building| building.residents.iter().filter(|r| r.is_present(date)).count())
    }

    /// All that is wished for on a day (0 is the household's first), by start, building and person. What `into` held
    /// before is gone.
    pub fn wishes_of_day(&self, day: i64, into: &mut Vec<Wish>) {
        into.clear();
        for (building, home) in self.homes.iter().zip(0..) {
            building.wishes_of_day(day, self.first_day.saturating_add(day), home, into);
        }
        into.sort_unstable_by_key(Wish::key);
    }
}

impl Building {
    fn wishes_of_day(&self, day: i64, date: i64, home: u16, into: &mut Vec<Wish>) {
        let Home { fixtures, togetherness, .. } = &self.home;
        let mut list = List { into, day, home, who: Wish::BUILDING, orders: [0; Use::ALL.len()] };
        if fixtures.leak_lps > 0.0 {
            list.tap(Use::Leak, 0.0, Span::DAY.s(), fixtures.leak_lps, None);
        }
        if let Some(outdoor) = fixtures.outdoor {
            let mut source = self.outdoor.on(date);
            for _ in 0..source.poisson(outdoor.uses_per_day) {
                let (from, to) = DAYLIGHT_S;
                list.fill(Use::Outdoor, from + (to - from) * source.unit(), outdoor.water, None);
            }
        }
        if !self.residents.iter().any(|resident| resident.is_present(date)) {
            return;
        }
        let strays = self.dinner.on(date).normal().clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS);
        let shared =
            Shared { wake: self.wake.on(date).normal(), dinner_s: self.home.dinner.s() + DINNER_SPREAD_S * strays };
        for (resident, who) in self.residents.iter().zip(0..) {
            (list.who, list.orders) = (who, [0; Use::ALL.len()]);
            if resident.is_present(date) {
                resident.wishes_of_day(date, shared, *togetherness, fixtures, &mut list);
            }
        }
    }
}

/// The list on which the wishes of a person go.
pub(crate) struct List<'a> {
    pub(crate) into: &'a mut Vec<Wish>,
    pub(crate) day: i64,
    home: u16,
    who: u16,
    /// How many wishes there are of each use.
    orders: [u32; Use::ALL.len()],
}

/// No draw is shorter, however short one's hands are under the tap.
const SHORTEST: Span = Span::from_ns(1_000_000);

impl List<'_> {
    fn push(&mut self, use_: Use, start_s: f64, length: Span, flow: Flow, temp_c: Option<f64>) {
        let &mut Self { day, home, who, orders, .. } = self;
        let order = orders[use_.index()];
        // Not before the day begins, so that wishes of a later day never come before this one's midnight.
        let start = Time::from_day(day) + Span::from_s(start_s.max(0.0));
        let (length, kind) = (length.max(SHORTEST), use_.kind());
        self.into.push(Wish { day, start, length, home, who, order, use_, flow, kind, temp_c });
        self.orders[use_.index()] += 1;
    }

    /// A tap that runs for so many seconds.
    pub(crate) fn tap(&mut self, use_: Use, start_s: f64, length_s: f64, flow_lps: f64, temp_c: Option<f64>) {
        self.push(use_, start_s, Span::from_s(length_s), Flow::from_lps(flow_lps), temp_c);
    }

    /// Something that is filled.
    pub(crate) fn fill(&mut self, use_: Use, start_s: f64, water: Filling, temp_c: Option<f64>) {
        self.push(use_, start_s, water.length(), Flow::from_lps(water.flow_lps), temp_c);
    }

    /// A load of an appliance.
    pub(crate) fn load(&mut self, use_: Use, start_s: f64, length: Span) {
        self.push(use_, start_s, length, Flow::ZERO, None);
    }
}

impl Filling {
    /// How long it takes if all flow comes.
    pub(crate) fn length(&self) -> Span {
        Span::from_s(self.litres / self.flow_lps)
    }
}

/// Days from 1970-01-01.
pub(crate) fn day_number(of: Date) -> i64 {
    let midnight = |date: Date| date.to_datetime(jiff::civil::Time::midnight());
    midnight(of).duration_since(midnight(date(1970, 1, 1))).as_hours() / 24
}

/// Day of the week of a day counted from 1970-01-01, a Thursday; Monday is 0.
pub(crate) fn weekday(date: i64) -> usize {
    usize::try_from((date + 3).rem_euclid(7)).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_days_and_weekdays() {
        assert_eq!(day_number(date(1970, 1, 1)), 0);
        assert_eq!(day_number(date(1969, 12, 31)), -1);
        assert_eq!(day_number(date(2000, 3, 1)), 11_017);
        for of in [Date::MIN, date(1969, 12, 28), date(2027, 3, 1), Date::MAX] {
            assert_eq!(weekday(day_number(of)), usize::try_from(of.weekday().to_monday_zero_offset()).unwrap());
        }
    }
}
