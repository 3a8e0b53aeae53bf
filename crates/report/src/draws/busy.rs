//! The fullest day, morning and hour of many runs.

use core::ops::Range;

use springhouse_core::draw::Draw;
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::Use;

/// Quarter hours of a day.
pub(crate) const QUARTERS: usize = 96;
const QUARTER: Span = Span::from_ns(15 * Span::MINUTE.ns());
/// The morning, from five to eleven, in quarter hours.
const MORNING: Range<usize> = 20..44;
const HOUR: usize = 4;

/// Who or what takes the water of a building, as the picture of a day tells them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Taker {
    Bathing,
    Toilets,
    Taps,
    Machines,
    Other,
    /// What the schedule or a log says, whatever for.
    Told,
}

impl Taker {
    pub(crate) const ALL: [Self; 6] =
        [Self::Bathing, Self::Toilets, Self::Taps, Self::Machines, Self::Other, Self::Told];

    pub(crate) fn of(use_: Use) -> Self {
        match use_ {
            Use::Shower | Use::Bath => Self::Bathing,
            Use::Toilet => Self::Toilets,
            Use::Basin | Use::Kitchen => Self::Taps,
            Use::ClothesWasher | Use::Dishwasher => Self::Machines,
            Use::Outdoor | Use::Leak | Use::Other => Self::Other,
        }
    }
}

/// Sums of a day by taker and quarter hour, in 1e-9 nL.
pub(crate) type DaySums = [[i128; QUARTERS]; Taker::ALL.len()];

/// The most that was drawn in a stretch of time, and when.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Most {
    pub(crate) amount: i128,
    pub(crate) run: u64,
    pub(crate) start: Time,
}

/// The fullest stretches so far; the first of those that are alike. Nothing where nothing was drawn.
#[derive(Clone, Debug, Default)]
pub(crate) struct Busiest {
    /// By the clock, from one quarter hour to the fourth after it, within a day.
    pub(crate) hour: Option<Most>,
    pub(crate) morning: Option<Most>,
    pub(crate) day: Option<(Most, Box<DaySums>)>,
}

/// Hears the draws of one run in order of start.
pub(super) struct Days<'a> {
    busiest: &'a mut Busiest,
    run: u64,
    day: i64,
    sums: Box<DaySums>,
    /// Draws that go on after midnight.
    open: Vec<(Taker, Draw)>,
}

impl<'a> Days<'a> {
    pub(super) fn new(busiest: &'a mut Busiest, run: u64) -> Self {
        Self { busiest, run, day: 0, sums: Box::new(EMPTY), open: Vec::new() }
    }

    pub(super) fn add(&mut self, taker: Taker, draw: &Draw) {
        while self.day < draw.start.day() {
            self.close_day();
        }
        self.count(taker, draw);
        if draw.end > Time::from_day(self.day + 1) {
            self.open.push((taker, *draw));
        }
    }

    /// Ends the run after so many days.
    pub(super) fn finish(mut self, days: u32) {
        while self.day < i64::from(days) {
            self.close_day();
        }
    }

    /// Counts what of a draw falls on the present day.
    fn count(&mut self, taker: Taker, draw: &Draw) {
        let midnight = Time::from_day(self.day);
        let (mut from, to) = (draw.start.max(midnight), draw.end.min(midnight + Span::DAY));
        let sums = &mut self.sums[taker as usize];
        while from < to {
            let quarter = (from - midnight).ns() / QUARTER.ns();
            let end = to.min(midnight + Span::from_ns((quarter + 1) * QUARTER.ns()));
            if let Some(sum) = usize::try_from(quarter).ok().and_then(|quarter| sums.get_mut(quarter)) {
                *sum += i128::from(draw.flow.nl_per_s()) * i128::from((end - from).ns());
            }
            from = end;
        }
    }

    fn close_day(&mut self) {
        let all: [i128; QUARTERS] = core::array::from_fn(|quarter| self.sums.iter().map(|sums| sums[quarter]).sum());
        let midnight = Time::from_day(self.day);
        let most = |quarters: Range<usize>| {
            let start = midnight + Span::from_ns(QUARTER.ns() * i64::try_from(quarters.start).unwrap_or(0));
            Most { amount: all[quarters].iter().sum(), run: self.run, start }
        };
        for start in 0..=QUARTERS - HOUR {
            keep(&mut self.busiest.hour, most(start..start + HOUR));
        }
        keep(&mut self.busiest.morning, most(MORNING));
        let day = most(0..QUARTERS);
        if day.amount > self.busiest.day.as_ref().map_or(0, |(most, _)| most.amount) {
            self.busiest.day = Some((day, self.sums.clone()));
        }
        self.day += 1;
        *self.sums = EMPTY;
        let open = core::mem::take(&mut self.open);
        for (taker, draw) in &open {
            self.count(*taker, draw);
        }
        self.open = open;
        self.open.retain(|(_, draw)| draw.end > Time::from_day(self.day + 1));
    }
}

const EMPTY: DaySums = [[0; QUARTERS]; Taker::ALL.len()];

fn keep(most: &mut Option<Most>, next: Most) {
    if next.amount > most.map_or(0, |most| most.amount) {
        *most = Some(next);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use springhouse_core::draw::{DrawKind, Flow, Warmth};

    /// From and to in minutes, at a flow in L/s.
    fn draw(from_min: i64, to_min: i64, flow_lps: f64) -> Draw {
        let [start, end] = [from_min, to_min].map(|minutes| Time::from_ns(minutes * Span::MINUTE.ns()));
        Draw { start, end, outlet: 0, flow: Flow::from_lps(flow_lps), kind: DrawKind::Timed, warmth: Warmth::COLD }
    }

    const L: i128 = 1_000_000_000_000_000_000;

    #[test]
    fn exact_fullest_stretches_of_two_runs() {
        let mut busiest = Busiest::default();
        let mut days = Days::new(&mut busiest, 0);
        // 60 L/min: ten minutes before seven, twenty after; the next day half an hour at nine in the evening, and an hour
        // across midnight.
        days.add(Taker::Bathing, &draw(410, 440, 1.0));
        days.add(Taker::Told, &draw(1_440 + 1_260, 1_440 + 1_290, 2.0));
        days.add(Taker::Taps, &draw(2 * 1_440 - 10, 2 * 1_440 + 50, 1.0));
        days.finish(3);
        // The same morning again, which is no fuller, and a day that is.
        let mut days = Days::new(&mut busiest, 1);
        days.add(Taker::Bathing, &draw(410, 440, 1.0));
        days.add(Taker::Told, &draw(1_440, 3 * 1_440, 0.1));
        days.finish(3);
        let at = |run, minutes: i64, litres: i128| Most {
            amount: litres * L,
            run,
            start: Time::from_ns(minutes * Span::MINUTE.ns()),
        };
        // The first hour of quarters that holds all of it begins at half past eight.
        assert_eq!(busiest.hour, Some(at(0, 1_440 + 1_230, 3_600)));
        assert_eq!(busiest.morning, Some(at(1, 1_440 + 300, 2_160)));
        let (day, sums) = busiest.day.unwrap();
        assert_eq!(day, at(1, 1_440, 8_640));
        assert_eq!(sums[Taker::Told as usize], [90 * L; QUARTERS]);
        assert_eq!(sums[Taker::Bathing as usize], [0; QUARTERS]);
    }

    #[test]
    fn exact_midnight_parts_a_draw() {
        let mut busiest = Busiest::default();
        let mut days = Days::new(&mut busiest, 0);
        days.add(Taker::Taps, &draw(1_430, 1_490, 1.0));
        days.finish(2);
        let (day, sums) = busiest.day.unwrap();
        assert_eq!((day.start, day.amount), (Time::from_day(1), 3_000 * L));
        assert_eq!(sums[Taker::Taps as usize][..5], [900 * L, 900 * L, 900 * L, 300 * L, 0]);
        assert!(Busiest::default().morning.is_none());
    }
}
