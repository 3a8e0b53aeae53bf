//! What one person wishes on a day.

use super::day::{Day, Straying};
use super::home::{Fixtures, Home, Household};
use super::people::{Habits, Lasting, Person, Stay};
use super::planner::{List, Shared, day_number, weekday};
use super::rates::{FREE, Rates, WORKDAY};
use super::today::{Delays, Today};
use springhouse_random::{LogNormal, Stream};

/// A person, all that follows from habits worked out, with a stream for each purpose: so another number of showers leaves
/// what else the person does as it was. Only times of the day move all, and flushes what is done at a bathroom tap.
#[derive(Clone, Debug)]
pub(crate) struct Resident {
    pub(crate) habits: Habits,
    pub(crate) rates: Rates,
    pub(crate) lasting: Lastings,
    pub(crate) delays: Delays,
    /// First and last day, counted from 1970-01-01; `None` always lives there.
    stay: Option<(i64, i64)>,
    away: Vec<(i64, i64)>,
    workdays: [bool; 7],
    pub(crate) streams: Streams,
}

/// How long showers last, and taps run, in seconds.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lastings {
    pub(crate) shower: LogNormal,
    pub(crate) basin: LogNormal,
    pub(crate) kitchen: LogNormal,
}

/// A stream for each purpose.
#[derive(Clone, Debug)]
pub(crate) struct Streams {
    times: Stream,
    pub(crate) shower: Stream,
    pub(crate) bath: Stream,
    pub(crate) toilet: Stream,
    pub(crate) basin: Stream,
    pub(crate) kitchen: Stream,
    pub(crate) laundry: Stream,
    pub(crate) dishes: Stream,
    pub(crate) other: Stream,
}

impl Resident {
    pub(crate) fn new(household: &Household, home: &Home, person: &Person) -> Self {
        let stream = |purpose| Stream::new(household.seed, household.run, &[&home.name, &person.name], purpose);
        let habits = person.habits;
        let lasting = |of: Lasting| LogNormal::new(of.mean.s(), of.cv);
        Self {
            rates: Rates::new(person, home),
            lasting: Lastings {
                shower: lasting(habits.shower),
                basin: lasting(habits.basin),
                kitchen: lasting(habits.kitchen),
            },
            delays: Delays::new(),
            habits,
            stay: match person.stay {
                Stay::Always => None,
                Stay::Between { from, to } => Some((day_number(from), day_number(to))),
            },
            away: person.away.iter().map(|&(from, to)| (day_number(from), day_number(to))).collect(),
            workdays: person.workdays,
            streams: Streams {
                times: stream("times"),
                shower: stream("shower"),
                bath: stream("bath"),
                toilet: stream("toilet"),
                basin: stream("basin"),
                kitchen: stream("kitchen"),
                laundry: stream("laundry"),
                dishes: stream("dishes"),
                other: stream("other"),
            },
        }
    }

    /// Whether the person is there on a day.
    pub(crate) fn is_present(&self, date: i64) -> bool {
        let within = |&(from, to): &(i64, i64)| from <= date && date <= to;
        self.stay.as_ref().is_none_or(within) && !self.away.iter().any(within)
    }

    pub(crate) fn wishes_of_day(
        &self,
        date: i64,
        shared: Shared,
        togetherness: f64,
        fixtures: &Fixtures,
        list: &mut List<'_>,
    ) {
        let kind = if self.stay.is_none() && self.workdays[weekday(date)] { WORKDAY } else { FREE };
        let routine = if kind == WORKDAY { &self.habits.workday } else { &self.habits.free };
        let mut times = self.streams.times.on(date);
        let own = times.normal();
        let straying = Straying {
            wake: togetherness.sqrt() * shared.wake + (1.0 - togetherness).sqrt() * own,
            leave: times.normal(),
            home: times.normal(),
            bed: times.normal(),
        };
        let day = Day::new(routine, straying);
        let today = Today { person: self, date, kind, day };
        today.wishes(fixtures, shared.dinner_s, list);
    }
}
