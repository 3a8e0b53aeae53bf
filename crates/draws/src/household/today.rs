//! How the uses of one person fall on a day.

use core::ops::Range;

use springhouse_core::time::Time;

use super::day::Day;
use super::home::{Fixtures, Taps};
use super::person::Resident;
use super::planner::List;
use super::rates::{HANDS, LUNCH_S, NIGHT};
use super::wish::{Use, Wish};
use springhouse_random::{LogNormal, Source};

// Seconds from one thing to the next in a day: our choice, after common practice.
const MINUTE: f64 = 60.0;
/// Mean from getting up to the first flush, and from the last flush, or from teeth, to bed.
const FLUSH_AFTER_WAKE: f64 = 4.0 * MINUTE;
const FLUSH_BEFORE_BED: f64 = 5.0 * MINUTE;
const TEETH_BEFORE_BED: f64 = 8.0 * MINUTE;
/// Mean from getting up to teeth, which comes after breakfast for some.
const TEETH_AFTER_WAKE: f64 = 20.0 * MINUTE;
/// A flush in the night comes evenly over so long.
const NIGHT_LASTS: f64 = 360.0 * MINUTE;
/// From a flush to washing hands, from and over.
const HANDS_AFTER_FLUSH: (f64, f64) = (10.0, 20.0);
/// One is dressed and out of the house so long after a shower, if there is time.
const DRESSED_AFTER_SHOWER: f64 = 8.0 * MINUTE;
/// A shower that is not taken in the morning is taken in the last hours before bed, evenly: the published evening peak is
/// broad.
const EVENING: f64 = 300.0 * MINUTE;
/// The kitchen tap runs for breakfast from so long after getting up, over so long.
const BREAKFAST: (f64, f64) = (10.0 * MINUTE, 35.0 * MINUTE);
/// For lunch and dinner from so long before, over so long.
const LUNCH: (f64, f64) = (-30.0 * MINUTE, 75.0 * MINUTE);
const DINNER: (f64, f64) = (-45.0 * MINUTE, 105.0 * MINUTE);

/// A tap is opened from this share of its flow to so much more, half on average.
const OPENED: (f64, f64) = (0.25, 0.5);
/// How far that is on average.
pub(super) const OPENED_MEAN: f64 = OPENED.0 + 0.5 * OPENED.1;

/// Delays that have a usual length.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Delays {
    shower_after_wake: LogNormal,
    bath_before_bed: LogNormal,
    dishes_after_dinner: LogNormal,
}

impl Delays {
    pub(crate) fn new() -> Self {
        Self {
            shower_after_wake: LogNormal::new(15.0 * MINUTE, 0.8),
            bath_before_bed: LogNormal::new(75.0 * MINUTE, 0.4),
            dishes_after_dinner: LogNormal::new(60.0 * MINUTE, 0.5),
        }
    }
}

/// A person on a day of a kind.
pub(crate) struct Today<'p> {
    pub(crate) person: &'p Resident,
    pub(crate) date: i64,
    pub(crate) kind: usize,
    pub(crate) day: Day,
}

impl Today<'_> {
    /// All the person wishes. No number drawn here depends on what the fixtures are like.
    pub(crate) fn wishes(&self, fixtures: &Fixtures, dinner_s: f64, list: &mut List<'_>) {
        self.showers(fixtures, list);
        self.baths(fixtures, list);
        let first = list.into.len();
        self.toilets(fixtures, list);
        self.basins(&fixtures.basins, first..list.into.len(), list);
        self.kitchen(&fixtures.kitchen, dinner_s, list);
        self.laundry(fixtures, list);
        self.dishes(fixtures, dinner_s, list);
        self.others(fixtures, list);
    }

    fn showers(&self, fixtures: &Fixtures, list: &mut List<'_>) {
        let Self { person, day, .. } = self;
        if person.rates.showers == 0.0 {
            return;
        }
        let mut source = person.streams.shower.on(self.date);
        for _ in 0..source.count(person.rates.showers) {
            let morning = source.happens(person.habits.morning_share);
            let length = source.log_normal(person.lasting.shower);
            let start = if morning {
                let latest = day.morning_end() - length - DRESSED_AFTER_SHOWER;
                day.in_morning((day.wake + source.log_normal(person.delays.shower_after_wake)).min(latest))
            } else {
                day.in_evening(day.bed - length - EVENING * source.unit())
            };
            let showers = fixtures.showers;
            list.tap(Use::Shower, start, length, showers.flow_lps, Some(showers.temp_c));
        }
    }

    fn baths(&self, fixtures: &Fixtures, list: &mut List<'_>) {
        let Self { person, day, .. } = self;
        if person.rates.baths == 0.0 {
            return;
        }
        let mut source = person.streams.bath.on(self.date);
        for _ in 0..source.count(person.rates.baths) {
            let start = day.in_evening(day.bed - source.log_normal(person.delays.bath_before_bed));
            list.fill(Use::Bath, start, fixtures.baths.water, Some(fixtures.baths.temp_c));
        }
    }

    fn toilets(&self, fixtures: &Fixtures, list: &mut List<'_>) {
        let Self { person, day, .. } = self;
        let (anchored, rest) = (person.rates.flush_anchored, person.rates.flush[self.kind]);
        if anchored == 0.0 {
            return;
        }
        let mut source = person.streams.toilet.on(self.date);
        let mut flush = |start| list.fill(Use::Toilet, start, fixtures.toilets.water, None);
        if source.happens(anchored) {
            flush(day.in_morning(day.wake + source.exponential(FLUSH_AFTER_WAKE)));
        }
        if source.happens(anchored) {
            flush(day.in_evening(day.bed - source.exponential(FLUSH_BEFORE_BED)));
        }
        if source.happens(NIGHT * anchored) {
            flush(day.bed + NIGHT_LASTS * source.unit());
        }
        for _ in 0..source.poisson(rest) {
            flush(day.at_share(source.unit()));
        }
    }

    /// Hands are washed after flushes, which stand in a range of the list.
    fn basins(&self, taps: &Taps, flushes: Range<usize>, list: &mut List<'_>) {
        let Self { person, day, .. } = self;
        let (anchored, rest) = (person.rates.basin_anchored, person.rates.basin[self.kind]);
        if anchored == 0.0 {
            return;
        }
        let mut source = person.streams.basin.on(self.date);
        let open = |source: &mut Source, list: &mut List<'_>, start| {
            opened(Use::Basin, taps, person.lasting.basin, start, source, list);
        };
        if source.happens(anchored) {
            let start = day.in_morning(day.wake + source.exponential(TEETH_AFTER_WAKE));
            open(&mut source, list, start);
        }
        if source.happens(anchored) {
            let start = day.in_evening(day.bed - source.exponential(TEETH_BEFORE_BED));
            open(&mut source, list, start);
        }
        for _ in 0..source.poisson(rest) {
            let start = day.at_share(source.unit());
            open(&mut source, list, start);
        }
        let midnight = Time::from_day(list.day);
        for flush in flushes {
            let since_midnight = list.into.get(flush).map(|flush: &Wish| flush.start - midnight);
            let (washes, (from, over)) = (source.happens(HANDS * anchored), HANDS_AFTER_FLUSH);
            if let (Some(start), true) = (since_midnight, washes) {
                let start = start.s() + from + over * source.unit();
                open(&mut source, list, start);
            }
        }
    }

    fn kitchen(&self, taps: &Taps, dinner_s: f64, list: &mut List<'_>) {
        let Self { person, day, kind, .. } = self;
        let rates = &person.rates;
        if rates.breakfast == 0.0 {
            return;
        }
        let mut source = person.streams.kitchen.on(self.date);
        let meals = [
            (rates.breakfast, day.wake, BREAKFAST),
            (rates.lunch[*kind], LUNCH_S, LUNCH),
            (rates.dinner[*kind], dinner_s, DINNER),
        ];
        for (mean, time, (from, over)) in meals {
            for _ in 0..source.poisson(mean) {
                let start = day.nearest(time + from + over * source.unit());
                opened(Use::Kitchen, taps, person.lasting.kitchen, start, &mut source, list);
            }
        }
        for _ in 0..source.poisson(rates.kitchen[*kind]) {
            let start = day.at_share(source.unit());
            opened(Use::Kitchen, taps, person.lasting.kitchen, start, &mut source, list);
        }
    }

    fn laundry(&self, fixtures: &Fixtures, list: &mut List<'_>) {
        let mean = self.person.rates.laundry[self.kind];
        let (Some(washer), true) = (&fixtures.clothes_washer, mean > 0.0) else { return };
        let mut source = self.person.streams.laundry.on(self.date);
        for _ in 0..source.count(mean) {
            list.load(Use::ClothesWasher, self.day.at_share(source.unit()), washer.length);
        }
    }

    fn dishes(&self, fixtures: &Fixtures, dinner_s: f64, list: &mut List<'_>) {
        let mean = self.person.rates.dishes;
        let (Some(dishwasher), true) = (&fixtures.dishwasher, mean > 0.0) else { return };
        let mut source = self.person.streams.dishes.on(self.date);
        for _ in 0..source.count(mean) {
            let start = dinner_s + source.log_normal(self.person.delays.dishes_after_dinner);
            list.load(Use::Dishwasher, self.day.nearest(start), dishwasher.length);
        }
    }

    fn others(&self, fixtures: &Fixtures, list: &mut List<'_>) {
        let mean = self.person.rates.other[self.kind];
        let (Some(water), true) = (fixtures.other, mean > 0.0) else { return };
        let mut source = self.person.streams.other.on(self.date);
        for _ in 0..source.poisson(mean) {
            list.fill(Use::Other, self.day.at_share(source.unit()), water, None);
        }
    }
}

/// A tap is opened, for a while, by a share of its flow, and warm or cold.
fn opened(use_: Use, taps: &Taps, lasting: LogNormal, start: f64, source: &mut Source, list: &mut List<'_>) {
    let length = source.log_normal(lasting);
    let (least, more) = OPENED;
    let flow_lps = taps.most_flow_lps * (least + more * source.unit());
    let warm = source.happens(taps.warm_share);
    list.tap(use_, start, length, flow_lps, warm.then_some(taps.warm_temp_c));
}
