//! The draws of a household in order of time.

use core::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use springhouse_core::draw::{Draw, Flow, Warmth};
use springhouse_core::time::{Span, Time};

use super::fault::Fault;
use super::home::Household;
use super::planner::Planner;
use super::queue::{Queue, Turn};
use super::wish::{Use, Wish};
use crate::stream::LAST_DAY;

/// A draw of a household, and whose it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HouseholdDraw {
    /// The draw.
    pub draw: Draw,
    /// Index of the building.
    pub home: u16,
    /// Index of the person, or [`Wish::BUILDING`].
    pub who: u16,
    /// What for.
    pub use_: Use,
    /// Which fill of a load it is, from 0; 0 for all other draws.
    pub part: u16,
    /// How long somebody waited for it, or with it, until what they were at was done and a fixture was free.
    pub waited: Span,
    /// The last part of [`Self::waited`]: how long they had nothing to do but wait until a fixture was free.
    pub queued: Span,
}

/// The draws of a household by start, then building and person, day after day until [`Time`] ends.
///
/// The day before the first is worked out as well: what is still drawn at midnight then is clipped there. Memory does
/// not grow with the days, and nothing is allocated once the busiest days have come.
#[derive(Debug)]
pub struct HouseholdStream {
    planner: Planner,
    queues: Vec<Queue>,
    from: Time,
    next_day: i64,
    /// Of the day that was asked last, and the place of the first that was not heard yet.
    wishes: Vec<Wish>,
    next_wish: usize,
    /// Who is busy when a wish comes up, and what is left of a day after its midnight.
    waiting: BinaryHeap<Reverse<InTime<Wish>>>,
    /// Draws that are settled but start later.
    settled: BinaryHeap<Reverse<InTime<HouseholdDraw>>>,
}

/// A place in time: the start, the rank of the wish among those that start together, and which fill of a load it is.
type Key = (Time, u64, u16);

/// Behind all there is.
const NOTHING: Key = (Time::NEVER, u64::MAX, u16::MAX);

/// Room for what waits and what is settled, so that next to no house needs more: half a day of a hundred people.
const ROOM: usize = 4_096;

/// Something with its place in time.
#[derive(Clone, Copy, Debug)]
struct InTime<T> {
    key: Key,
    what: T,
}

/// A copy has the same room to spare, so that it allocates no more than the first.
impl Clone for HouseholdStream {
    fn clone(&self) -> Self {
        let Self { planner, queues, from, next_day, wishes, next_wish, waiting, settled } = self;
        let mut copy = Self {
            planner: planner.clone(),
            queues: queues.clone(),
            from: *from,
            next_day: *next_day,
            wishes: Vec::with_capacity(ROOM),
            next_wish: *next_wish,
            waiting: BinaryHeap::with_capacity(ROOM),
            settled: BinaryHeap::with_capacity(ROOM),
        };
        copy.wishes.extend_from_slice(wishes);
        copy.waiting.extend(waiting);
        copy.settled.extend(settled);
        copy
    }
}

impl HouseholdStream {
    /// The draws from a day onwards (0 is the household's first); times count from the household's first day.
    ///
    /// # Errors
    /// All faults of the household.
    pub fn new(household: &Household, from_day: i64) -> Result<Self, Vec<Fault>> {
        let planner = Planner::new(household)?;
        let from_day = from_day.clamp(-LAST_DAY, LAST_DAY + 1);
        Ok(Self {
            queues: planner.homes().map(Queue::new).collect(),
            planner,
            from: Time::from_day(from_day),
            next_day: from_day - 1,
            wishes: Vec::with_capacity(ROOM),
            next_wish: 0,
            waiting: BinaryHeap::with_capacity(ROOM),
            settled: BinaryHeap::with_capacity(ROOM),
        })
    }

    /// Who lives where and wishes what.
    #[must_use]
    pub fn planner(&self) -> &Planner {
        &self.planner
    }

    /// Makes the wishes of the next day those to be heard.
    fn open_day(&mut self) {
        let left = self.wishes.drain(self.next_wish..);
        self.waiting.extend(left.map(|wish| Reverse(InTime { key: key(&wish, wish.start), what: wish })));
        self.planner.wishes_of_day(self.next_day, &mut self.wishes);
        self.next_wish = 0;
        self.next_day += 1;
    }

    /// The next wish, and when the one who wishes is ready.
    fn next_ready(&mut self, at: Key) -> Option<(Time, Wish)> {
        if let Some(wish) = self.wishes.get(self.next_wish).filter(|wish| key(wish, wish.start) == at) {
            self.next_wish += 1;
            return Some((wish.start, *wish));
        }
        self.waiting.pop().map(|Reverse(next)| (next.key.0, next.what))
    }

    /// Hears the next wish: gives the draw if it starts at once, and keeps it for later if not.
    fn hear(&mut self, at: Key) -> Option<HouseholdDraw> {
        let (ready, wish) = self.next_ready(at)?;
        match self.queues.get_mut(usize::from(wish.home))?.ask(&wish, ready) {
            Turn::Starts(start) => self.settle(&wish, start, ready),
            Turn::Busy(until) => {
                self.waiting.push(Reverse(InTime { key: key(&wish, until), what: wish }));
                None
            }
        }
    }

    /// Makes the draws of a wish that is granted, of a load those of its fills. Gives the draw if it starts now, as soon as
    /// the one who wishes is ready, when nothing else can come before it.
    fn settle(&mut self, wish: &Wish, start: Time, now: Time) -> Option<HouseholdDraw> {
        let home = self.planner.home(usize::from(wish.home))?;
        let (waited, queued) = (start - wish.start, start - now);
        let draw = |part: u16, start: Time, length: Span, flow: Flow, temp_c: Option<f64>| {
            let &Wish { home: home_index, who, use_, kind, .. } = wish;
            let (start, end) = (start.max(self.from), start + length);
            let warmth = temp_c.map_or(Warmth::COLD, Warmth::from_c);
            let draw = Draw { start, end, outlet: home.outlet, flow, kind, warmth };
            (end > start).then_some(HouseholdDraw { draw, home: home_index, who, use_, part, waited, queued })
        };
        let appliance = match wish.use_ {
            Use::ClothesWasher => &home.fixtures.clothes_washer,
            Use::Dishwasher => &home.fixtures.dishwasher,
            _ => {
                let what = draw(0, start, wish.length, wish.flow, wish.temp_c)?;
                if start == now && start >= self.from {
                    return Some(what);
                }
                self.settled.push(Reverse(in_time(what, wish)));
                return None;
            }
        };
        for (fill, part) in appliance.iter().flat_map(|appliance| &appliance.fills).zip(0..) {
            let flow = Flow::from_lps(fill.water.flow_lps);
            let mut what = draw(part, start + fill.after, fill.water.length(), flow, fill.temp_c);
            if let Some(what) = &mut what {
                what.draw.warmth = what.draw.warmth.by_appliance();
            }
            self.settled.extend(what.map(|what| Reverse(in_time(what, wish))));
        }
        None
    }
}

fn in_time(what: HouseholdDraw, wish: &Wish) -> InTime<HouseholdDraw> {
    InTime { key: (what.draw.start, wish.rank(), what.part), what }
}

/// The place of a wish, when it is heard at a time.
fn key(wish: &Wish, at: Time) -> Key {
    (at, wish.rank(), 0)
}

impl Iterator for HouseholdStream {
    type Item = HouseholdDraw;

    fn next(&mut self) -> Option<HouseholdDraw> {
        loop {
            let wish = self.wishes.get(self.next_wish).map_or(NOTHING, |wish| key(wish, wish.start));
            let heard = wish.min(first(&self.waiting));
            let settled = first(&self.settled);
            // What a day brings starts on it or later, and what is heard starts when it is heard or later.
            if heard.min(settled).0 >= Time::from_day(self.next_day) && self.next_day <= LAST_DAY {
                self.open_day();
            } else if heard > settled || heard == NOTHING {
                return self.settled.pop().map(|Reverse(next)| next.what);
            } else if let Some(draw) = self.hear(heard) {
                return Some(draw);
            }
        }
    }
}

/// The place of the first of a heap.
fn first<T>(heap: &BinaryHeap<Reverse<InTime<T>>>) -> Key {
    heap.peek().map_or(NOTHING, |Reverse(next)| next.key)
}

impl<T> PartialEq for InTime<T> {
    fn eq(&self, other: &Self) -> bool {
        self.key == other.key
    }
}

impl<T> Eq for InTime<T> {}

impl<T> PartialOrd for InTime<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for InTime<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key.cmp(&other.key)
    }
}
