//! Mean numbers of uses on a day of each kind, solved so that they give a person's mean over the week.

use super::day::{Day, Straying};
use super::home::{Fixtures, Home};
use super::people::{Habits, Person, Stay};

/// The kinds of day: a workday and a free one. Indexes [`Rates`].
pub(crate) const WORKDAY: usize = 0;
pub(crate) const FREE: usize = 1;

/// Chance of a flush in the night, for one with the habit of a flush before bed: our choice.
pub(crate) const NIGHT: f64 = 0.15;
/// Chance that hands are washed after a flush: our choice.
pub(crate) const HANDS: f64 = 0.8;
/// Teeth in the morning and in the evening.
const TEETH: f64 = 2.0;

/// Shares of the uses of the kitchen tap, if somebody were in at all meals: our choice.
const BREAKFAST: f64 = 0.25;
const LUNCH: f64 = 0.15;
const DINNER: f64 = 0.35;
const BETWEEN: f64 = 0.25;
/// Lunch.
pub(crate) const LUNCH_S: f64 = 12.5 * 3_600.0;

/// How much more often a load of laundry is started in an hour of a free day than in one of a workday: our choice.
const LAUNDRY_ON_FREE_DAYS: f64 = 2.0;

/// Mean numbers of a person's uses, by kind of day where they differ.
#[derive(Clone, Debug)]
pub(crate) struct Rates {
    pub(crate) showers: f64,
    pub(crate) baths: f64,
    /// Chance of the flush after getting up, and of that before bed.
    pub(crate) flush_anchored: f64,
    pub(crate) flush: [f64; 2],
    /// Chance of teeth in the morning, and in the evening; hands are washed with [`HANDS`] of it.
    pub(crate) basin_anchored: f64,
    pub(crate) basin: [f64; 2],
    pub(crate) breakfast: f64,
    pub(crate) lunch: [f64; 2],
    pub(crate) dinner: [f64; 2],
    pub(crate) kitchen: [f64; 2],
    pub(crate) laundry: [f64; 2],
    pub(crate) dishes: f64,
    pub(crate) other: [f64; 2],
}

impl Rates {
    /// The rates of a person in a building. What there is nothing to draw with is not drawn.
    pub(crate) fn new(person: &Person, home: &Home) -> Self {
        let Habits { workday, free, .. } = person.habits;
        let days = [workday, free].map(|routine| Day::new(&routine, Straying::default()));
        let week = Week { days: days_of_week(person) };
        let (habits, fixtures, level) = (&person.habits, &home.fixtures, home.level);
        let with = |there: bool, per_day: f64| if there { per_day * level } else { 0.0 };
        let Fixtures { showers, baths, toilets, basins, kitchen, clothes_washer, dishwasher, other, .. } = fixtures;

        let at_home = days.map(|day| day.at_home());
        let flushes = with(toilets.count > 0, habits.flushes_per_day);
        let flush_anchored = (flushes / (2.0 + NIGHT)).min(1.0);
        let basin_uses = with(basins.count > 0, habits.basin_uses_per_day);
        let basin_anchored = (basin_uses / (TEETH + HANDS * flushes)).min(1.0);
        let basin_rest = basin_uses - basin_anchored * (TEETH + HANDS * flushes);

        let kitchen_uses = with(kitchen.count > 0, habits.kitchen_uses_per_day);
        let is_in = |time: f64| days.map(|day| f64::from(u8::from(day.is_home(time))));
        let (lunch, dinner, between) = (is_in(LUNCH_S), is_in(home.dinner.s()), week.spread(1.0, at_home));
        let all = [WORKDAY, FREE].map(|k| BREAKFAST + LUNCH * lunch[k] + DINNER * dinner[k] + BETWEEN * between[k]);
        let unit = kitchen_uses / week.mean(all);

        let laundry = with(clothes_washer.is_some(), habits.laundry_loads_per_day);
        Self {
            showers: with(showers.count > 0, habits.showers_per_day),
            baths: with(baths.count > 0, habits.baths_per_day),
            flush_anchored,
            flush: week.spread(flushes - flush_anchored * (2.0 + NIGHT), at_home),
            basin_anchored,
            basin: week.spread(basin_rest, at_home),
            breakfast: unit * BREAKFAST,
            lunch: lunch.map(|is_in| unit * LUNCH * is_in),
            dinner: dinner.map(|is_in| unit * DINNER * is_in),
            kitchen: between.map(|share| unit * BETWEEN * share),
            laundry: week.spread(laundry, [at_home[WORKDAY], LAUNDRY_ON_FREE_DAYS * at_home[FREE]]),
            dishes: with(dishwasher.is_some(), habits.dish_loads_per_day),
            other: week.spread(with(other.is_some(), habits.other_uses_per_day), at_home),
        }
    }
}

/// Workdays and free days in a week; all days of a guest are free.
fn days_of_week(person: &Person) -> [f64; 2] {
    let works = |day: &&bool| **day && person.stay == Stay::Always;
    let workdays = person.workdays.iter().filter(works).map(|_| 1.0).sum();
    [workdays, 7.0 - workdays]
}

/// How many days of each kind a week has.
struct Week {
    days: [f64; 2],
}

impl Week {
    /// The mean over the week of a number for each kind of day.
    fn mean(&self, of: [f64; 2]) -> f64 {
        (self.days[WORKDAY] * of[WORKDAY] + self.days[FREE] * of[FREE]) / 7.0
    }

    /// Numbers in proportion to a weight, above zero, that have a mean over the week.
    fn spread(&self, mean: f64, weights: [f64; 2]) -> [f64; 2] {
        let unit = mean.max(0.0) / self.mean(weights);
        weights.map(|weight| unit * weight)
    }
}
