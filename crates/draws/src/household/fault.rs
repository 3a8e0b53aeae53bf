//! What is wrong with a household.

use core::fmt;

use jiff::civil::Date;
use springhouse_core::draw::MOST_FLOW_LPS;
use springhouse_core::time::Span;
use thiserror::Error;

use super::home::{Appliance, Filling, Fixtures, Home, Household};
use super::people::{Habits, Person, Routine, Stay};

/// Most buildings, and most people in one: as many as a wish can number.
pub const MOST_HOMES: usize = 1_000;

/// Most uses of a kind that a person makes in a day, and that are made of a tap outdoors.
pub const MOST_USES_PER_DAY: f64 = 100.0;

/// Where a fault is. It is told by names, which need not be the only ones, so the indexes are there as well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// Index of the building; `None` is the whole household.
    pub home: Option<usize>,
    /// Index of the person in it; `None` is the building.
    pub person: Option<usize>,
    name: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)
    }
}

/// Why no draws can be made for a household.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Fault {
    /// A number is not finite, or not in the range that makes sense for it.
    #[error("{at}: {key} is {found}, which is outside {least} to {most}: write a number between them")]
    OutOfRange {
        /// Building, and person if it is theirs.
        at: Place,
        /// Which number; times in hours, lengths in seconds.
        key: String,
        /// What was found.
        found: f64,
        /// The least that is accepted.
        least: f64,
        /// The most that is accepted.
        most: f64,
    },
    /// A name is empty, or two have it.
    #[error("{at}: the name `{name}` is empty or taken: give each building, and each person in it, a name of its own")]
    Name {
        /// Where.
        at: Place,
        /// The name.
        name: String,
    },
    /// A stay or an absence ends before it begins.
    #[error("{at}: {from} to {to} ends before it begins: write the earlier day first")]
    Dates {
        /// Building and person.
        at: Place,
        /// First day.
        from: Date,
        /// Last day.
        to: Date,
    },
}

impl Fault {
    /// Building, and person if it is theirs.
    #[must_use]
    pub fn at(&self) -> &Place {
        match self {
            Self::OutOfRange { at, .. } | Self::Name { at, .. } | Self::Dates { at, .. } => at,
        }
    }
}

impl Household {
    /// All that is wrong, in order of declaration; nothing if draws can be made.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let at = Place { home: None, person: None, name: "household".to_owned() };
        let mut check = Check { at, faults: Vec::new() };
        check.count("homes", self.homes.len());
        check.names(self.homes.iter().map(|home| home.name.as_str()));
        for (i, home) in self.homes.iter().enumerate() {
            check.home(i, home);
        }
        check.faults
    }
}

/// Collects faults.
struct Check {
    at: Place,
    faults: Vec<Fault>,
}

impl Check {
    fn number(&mut self, key: &str, found: f64, least: f64, most: f64) {
        if !(least..=most).contains(&found) {
            self.faults.push(Fault::OutOfRange { at: self.at.clone(), key: key.to_owned(), found, least, most });
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "only told")]
    fn count(&mut self, key: &str, found: usize) {
        self.number(key, found as f64, 0.0, MOST_HOMES as f64);
    }

    fn names<'n>(&mut self, names: impl Iterator<Item = &'n str>) {
        let mut sorted: Vec<&str> = names.collect();
        sorted.sort_unstable();
        for (i, name) in sorted.iter().enumerate() {
            if name.is_empty() || i > 0 && sorted[i - 1] == *name {
                self.faults.push(Fault::Name { at: self.at.clone(), name: (*name).to_owned() });
            }
        }
    }

    fn dates(&mut self, from: Date, to: Date) {
        if to < from {
            self.faults.push(Fault::Dates { at: self.at.clone(), from, to });
        }
    }

    fn home(&mut self, index: usize, home: &Home) {
        self.at = Place { home: Some(index), person: None, name: home.name.clone() };
        self.number("togetherness", home.togetherness, 0.0, 1.0);
        self.number("dinner", hours(home.dinner), 0.0, 24.0);
        self.number("level", home.level, 0.0, 10.0);
        self.count("people", home.people.len());
        self.names(home.people.iter().map(|person| person.name.as_str()));
        self.fixtures(&home.fixtures);
        for (i, person) in home.people.iter().enumerate() {
            self.at.person = Some(i);
            self.at.name = format!("{}, {}", home.name, person.name);
            self.person(person);
        }
    }

    fn fixtures(&mut self, fixtures: &Fixtures) {
        let Fixtures { showers, baths, toilets, basins, kitchen, clothes_washer, dishwasher, other, outdoor, leak_lps } =
            fixtures;
        for (key, count) in [
            ("showers.count", showers.count),
            ("baths.count", baths.count),
            ("toilets.count", toilets.count),
            ("basins.count", basins.count),
            ("kitchen.count", kitchen.count),
        ] {
            self.number(key, f64::from(count), 0.0, 1_000.0);
        }
        self.flow("showers.flow_lps", showers.flow_lps);
        self.temp("showers.temp_c", showers.temp_c);
        self.filling("baths", baths.water);
        self.temp("baths.temp_c", baths.temp_c);
        self.filling("toilets", toilets.water);
        for (key, taps) in [("basins", basins), ("kitchen", kitchen)] {
            self.flow(&format!("{key}.most_flow_lps"), taps.most_flow_lps);
            self.number(&format!("{key}.warm_share"), taps.warm_share, 0.0, 1.0);
            self.temp(&format!("{key}.warm_temp_c"), taps.warm_temp_c);
        }
        for (key, appliance) in [("clothes_washer", clothes_washer), ("dishwasher", dishwasher)] {
            if let Some(appliance) = appliance {
                self.appliance(key, appliance);
            }
        }
        if let Some(water) = other {
            self.filling("other", *water);
        }
        if let Some(outdoor) = outdoor {
            self.number("outdoor.uses_per_day", outdoor.uses_per_day, 0.0, MOST_USES_PER_DAY);
            self.filling("outdoor", outdoor.water);
        }
        self.number("leak_lps", *leak_lps, 0.0, MOST_FLOW_LPS);
    }

    fn appliance(&mut self, key: &str, appliance: &Appliance) {
        self.number(&format!("{key}.length"), appliance.length.s(), 1.0, Span::DAY.s());
        self.count(&format!("{key}.fills"), appliance.fills.len());
        for (i, fill) in appliance.fills.iter().enumerate() {
            let key = format!("{key}.fills[{i}]");
            self.number(&format!("{key}.after"), fill.after.s(), 0.0, Span::DAY.s());
            self.filling(&key, fill.water);
            if let Some(temp_c) = fill.temp_c {
                self.temp(&format!("{key}.temp_c"), temp_c);
            }
        }
    }

    fn filling(&mut self, key: &str, water: Filling) {
        self.flow(&format!("{key}.flow_lps"), water.flow_lps);
        self.number(&format!("{key}.litres"), water.litres, 0.01, 100_000.0);
        if water.flow_lps > 0.0 {
            self.number(&format!("{key}.litres / flow_lps"), water.litres / water.flow_lps, 0.001, Span::DAY.s());
        }
    }

    fn flow(&mut self, key: &str, flow_lps: f64) {
        self.number(key, flow_lps, 0.001, MOST_FLOW_LPS);
    }

    fn temp(&mut self, key: &str, temp_c: f64) {
        self.number(key, temp_c, 0.0, 100.0);
    }

    fn person(&mut self, person: &Person) {
        if let Stay::Between { from, to } = person.stay {
            self.dates(from, to);
        }
        for &(from, to) in &person.away {
            self.dates(from, to);
        }
        let Habits {
            workday,
            free,
            showers_per_day,
            shower,
            morning_share,
            baths_per_day,
            flushes_per_day,
            basin_uses_per_day,
            basin,
            kitchen_uses_per_day,
            kitchen,
            laundry_loads_per_day,
            dish_loads_per_day,
            other_uses_per_day,
        } = person.habits;
        for (key, per_day) in [
            ("showers_per_day", showers_per_day),
            ("baths_per_day", baths_per_day),
            ("flushes_per_day", flushes_per_day),
            ("basin_uses_per_day", basin_uses_per_day),
            ("kitchen_uses_per_day", kitchen_uses_per_day),
            ("laundry_loads_per_day", laundry_loads_per_day),
            ("dish_loads_per_day", dish_loads_per_day),
            ("other_uses_per_day", other_uses_per_day),
        ] {
            self.number(key, per_day, 0.0, MOST_USES_PER_DAY);
        }
        for (key, lasting) in [("shower", shower), ("basin", basin), ("kitchen", kitchen)] {
            self.number(&format!("{key}.mean"), lasting.mean.s(), 1.0, 7_200.0);
            self.number(&format!("{key}.cv"), lasting.cv, 0.0, 2.0);
        }
        self.number("morning_share", morning_share, 0.0, 1.0);
        self.routine("workday", &workday);
        self.routine("free", &free);
    }

    fn routine(&mut self, day: &str, routine: &Routine) {
        let out = routine.out.map(|out| [("leave", out.leave), ("home", out.home)]);
        let times = [("wake", routine.wake), ("bed", routine.bed)];
        for (key, around) in times.into_iter().chain(out.into_iter().flatten()) {
            self.number(&format!("{day}.{key}"), hours(around.at), 0.0, 36.0);
            self.number(&format!("{day}.{key}.spread"), hours(around.spread), 0.0, 12.0);
        }
    }
}

fn hours(span: Span) -> f64 {
    span.s() / Span::HOUR.s()
}
