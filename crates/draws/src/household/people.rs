//! Who lives in a building, and what they are used to.

use jiff::civil::Date;
use springhouse_core::time::Span;

/// Whose habits are typical of whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PersonKind {
    /// Goes to work, as a rule.
    Adult,
    /// Goes to school, is bathed more often, and is in bed early.
    Child,
}

/// From when to when somebody lives in a building.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stay {
    /// All the time.
    Always,
    /// A guest, to whom all days are free.
    Between {
        /// First day.
        from: Date,
        /// Last day.
        to: Date,
    },
}

/// One person.
#[derive(Clone, Debug, PartialEq)]
pub struct Person {
    /// Name, the only one in the building. With the building's name it decides by chance what happens when.
    pub name: String,
    /// Adult or child.
    pub kind: PersonKind,
    /// When the person lives there.
    pub stay: Stay,
    /// First and last days of absences, on which the person draws nothing.
    pub away: Vec<(Date, Date)>,
    /// Days of the week on which the person follows [`Habits::workday`], Monday first.
    pub workdays: [bool; 7],
    /// What the person is used to.
    pub habits: Habits,
}

impl Person {
    /// Somebody typical who lives there all the time and works from Monday to Friday.
    #[must_use]
    pub fn typical(name: &str, kind: PersonKind) -> Self {
        Self {
            name: name.to_owned(),
            kind,
            stay: Stay::Always,
            away: Vec::new(),
            workdays: [true, true, true, true, true, false, false],
            habits: Habits::typical(kind),
        }
    }
}

/// A time of day, and how far it strays.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Around {
    /// Since midnight; at most a day and a half, since one may go to bed after midnight.
    pub at: Span,
    /// Standard deviation from day to day.
    pub spread: Span,
}

/// Out of the house.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Outing {
    /// Leaves.
    pub leave: Around,
    /// Is home again.
    pub home: Around,
}

/// The times of a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Routine {
    /// Gets up.
    pub wake: Around,
    /// Is out, if at all.
    pub out: Option<Outing>,
    /// Goes to bed.
    pub bed: Around,
}

/// How long something lasts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lasting {
    /// Mean.
    pub mean: Span,
    /// Standard deviation over mean, of a lognormal distribution.
    pub cv: f64,
}

/// What a person is used to. Numbers a day are means over the person's week, of what is drawn in this building.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habits {
    /// Times of a workday.
    pub workday: Routine,
    /// Times of a free day.
    pub free: Routine,
    /// Showers.
    pub showers_per_day: f64,
    /// A shower.
    pub shower: Lasting,
    /// Share of the showers that are taken after getting up; the others are taken in the evening.
    pub morning_share: f64,
    /// Baths, taken before bed.
    pub baths_per_day: f64,
    /// Flushes of a toilet.
    pub flushes_per_day: f64,
    /// Times a bathroom tap is opened.
    pub basin_uses_per_day: f64,
    /// One opening of a bathroom tap.
    pub basin: Lasting,
    /// Times the kitchen tap is opened.
    pub kitchen_uses_per_day: f64,
    /// One opening of the kitchen tap.
    pub kitchen: Lasting,
    /// The person's share of the loads of the clothes washer.
    pub laundry_loads_per_day: f64,
    /// The person's share of the loads of the dishwasher.
    pub dish_loads_per_day: f64,
    /// Other draws.
    pub other_uses_per_day: f64,
}

impl Habits {
    /// Typical habits: means of published studies of households for an adult, our own choice for a child. See
    /// `docs/physics.md`.
    #[must_use]
    pub fn typical(kind: PersonKind) -> Self {
        let adult = Self {
            workday: routine(390, Some((480, 1_050, 25)), 1_350, 25),
            free: routine(480, Some((780, 960, 120)), 1_395, 45),
            showers_per_day: 0.69,
            shower: Lasting { mean: Span::from_s(7.8 * 60.0), cv: 0.45 },
            morning_share: 0.80,
            baths_per_day: 0.07,
            flushes_per_day: 5.0,
            basin_uses_per_day: 11.0,
            basin: Lasting { mean: Span::from_s(30.0), cv: 0.9 },
            kitchen_uses_per_day: 9.0,
            kitchen: Lasting { mean: Span::from_s(30.0), cv: 0.9 },
            laundry_loads_per_day: 0.30,
            dish_loads_per_day: 0.10,
            other_uses_per_day: 1.0,
        };
        match kind {
            PersonKind::Adult => adult,
            PersonKind::Child => Self {
                workday: routine(405, Some((470, 930, 15)), 1_230, 15),
                free: routine(450, Some((810, 960, 120)), 1_260, 30),
                showers_per_day: 0.40,
                morning_share: 0.20,
                baths_per_day: 0.25,
                kitchen_uses_per_day: 5.0,
                ..adult
            },
        }
    }
}

/// A routine in minutes since midnight; the last numbers are how far the times of an outing stray, and the others.
fn routine(wake: i64, out: Option<(i64, i64, i64)>, bed: i64, spread: i64) -> Routine {
    let minutes = |minutes: i64| Span::from_ns(minutes * Span::MINUTE.ns());
    let around = |at: i64, spread: i64| Around { at: minutes(at), spread: minutes(spread) };
    let out = out.map(|(leave, home, spread)| Outing { leave: around(leave, spread), home: around(home, spread) });
    Routine { wake: around(wake, spread), out, bed: around(bed, spread) }
}
