//! The times of one person's day.

use super::home::MOST_DEVIATIONS;
use super::people::{Around, Routine};

/// How far the four times of a routine stray on a day, in standard deviations.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Straying {
    pub(crate) wake: f64,
    pub(crate) leave: f64,
    pub(crate) home: f64,
    pub(crate) bed: f64,
}

/// When somebody is at home and awake: from `wake` to `bed`, but for `out`. In seconds since midnight.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Day {
    pub(crate) wake: f64,
    pub(crate) bed: f64,
    /// Leaves, and is back.
    out: Option<(f64, f64)>,
}

const MINUTE: f64 = 60.0;
const HOUR: f64 = 3_600.0;
/// Nobody gets up later, or goes to bed later: what is wished for on a day then begins before the next is over, and a
/// stream has to look back one day only.
const LATEST_WAKE: f64 = 22.0 * HOUR;
const LATEST_BED: f64 = 30.0 * HOUR;
/// However odd the habits, a day has so much time at home after getting up, and as much before bed.
const LEAST_AT_HOME: f64 = 10.0 * MINUTE;

impl Day {
    /// The day that a routine makes, its times put in order one after the other.
    pub(crate) fn new(routine: &Routine, straying: Straying) -> Self {
        let at =
            |around: Around, z: f64| around.at.s() + around.spread.s() * z.clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS);
        let wake = at(routine.wake, straying.wake).clamp(0.0, LATEST_WAKE);
        let bed = at(routine.bed, straying.bed).clamp(wake + HOUR, LATEST_BED);
        let out = routine.out.map(|out| {
            let leave = at(out.leave, straying.leave).clamp(wake + LEAST_AT_HOME, bed - 2.0 * LEAST_AT_HOME);
            (leave, at(out.home, straying.home).clamp(leave, bed - LEAST_AT_HOME))
        });
        Self { wake, bed, out }
    }

    /// Time at home and awake.
    pub(crate) fn at_home(&self) -> f64 {
        self.bed - self.wake - self.out.map_or(0.0, |(leave, home)| home - leave)
    }

    /// Whether somebody is in at a time.
    pub(crate) fn is_home(&self, time: f64) -> bool {
        self.nearest(time) == time
    }

    /// End of the time at home after getting up.
    pub(crate) fn morning_end(&self) -> f64 {
        self.out.map_or(self.bed, |(leave, _)| leave)
    }

    /// Begin of the time at home before bed.
    pub(crate) fn evening_begin(&self) -> f64 {
        self.out.map_or(self.wake, |(_, home)| home)
    }

    /// A share, in `[0, 1)`, of the time at home.
    pub(crate) fn at_share(&self, share: f64) -> f64 {
        let time = self.wake + share * self.at_home();
        match self.out {
            Some((leave, home)) if time >= leave => home + (time - leave),
            _ => time,
        }
    }

    /// A time at home, the nearest to the one given.
    pub(crate) fn nearest(&self, time: f64) -> f64 {
        let time = time.clamp(self.wake, self.bed);
        match self.out {
            Some((leave, home)) if time > leave && time < home => {
                if time - leave < home - time {
                    leave
                } else {
                    home
                }
            }
            _ => time,
        }
    }

    /// A time after getting up, before one leaves.
    pub(crate) fn in_morning(&self, time: f64) -> f64 {
        time.min(self.morning_end()).max(self.wake)
    }

    /// A time before bed, after one came home.
    pub(crate) fn in_evening(&self, time: f64) -> f64 {
        time.min(self.bed).max(self.evening_begin())
    }
}

#[cfg(test)]
mod tests {
    use springhouse_core::time::Span;

    use super::super::people::Outing;
    use super::*;

    fn around(hours: f64) -> Around {
        Around { at: Span::from_s(hours * HOUR), spread: Span::HOUR }
    }

    fn worker() -> Routine {
        let out = Outing { leave: around(8.0), home: around(17.0) };
        Routine { wake: around(6.0), out: Some(out), bed: around(22.0) }
    }

    #[test]
    fn exact_times_of_a_day() {
        let day = Day::new(&worker(), Straying { wake: 0.5, ..Straying::default() });
        assert_eq!(
            (day.wake, day.morning_end(), day.evening_begin(), day.bed),
            (23_400.0, 28_800.0, 61_200.0, 79_200.0)
        );
        assert_eq!(day.at_home(), 6.5 * HOUR);
        // 1.5 h of 6.5 are before one leaves.
        assert_eq!(day.at_share(1.0 / 6.5), day.wake + HOUR);
        assert_eq!(day.at_share(3.0 / 6.5), 18.5 * HOUR);
        assert!(!day.is_home(12.0 * HOUR) && day.is_home(7.0 * HOUR) && !day.is_home(5.0 * HOUR));
        assert_eq!(day.nearest(12.0 * HOUR), 8.0 * HOUR);
        assert_eq!(day.nearest(13.0 * HOUR), 17.0 * HOUR);
    }

    #[test]
    fn odd_habits_make_a_day_all_the_same() {
        // In bed before getting up, home before leaving.
        let out = Outing { leave: around(30.0), home: around(1.0) };
        let routine = Routine { wake: around(23.0), out: Some(out), bed: around(3.0) };
        for z in [-9.0, 0.0, 9.0] {
            let day = Day::new(&routine, Straying { wake: z, leave: -z, home: z, bed: -z });
            assert!(day.wake >= 0.0 && day.bed >= day.wake + HOUR && day.bed <= LATEST_BED, "{day:?}");
            assert!(day.at_home() >= 2.0 * LEAST_AT_HOME - 1e-6, "{day:?}");
        }
    }
}
