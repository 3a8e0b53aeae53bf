//! Who waits for what in one building.

use springhouse_core::time::{Span, Time};

use super::home::Home;
use super::wish::{Use, Wish};

/// When each person and each fixture of a building is free.
///
/// Who is ready first is served first, by the fixture that is free first. Showers, baths and taps keep a person busy, also
/// while waiting for them; toilets and machines do their work by themselves.
#[derive(Clone, Debug)]
pub(crate) struct Queue {
    people: Vec<Time>,
    fixtures: [Vec<Time>; Use::ALL.len()],
}

/// What becomes of somebody who is ready.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Turn {
    /// Still busy with something else, until then.
    Busy(Time),
    /// Starts then.
    Starts(Time),
}

/// The tub and who is in it are taken for so long after it is filled: our choice.
const IN_THE_TUB: Span = Span::from_ns(20 * Span::MINUTE.ns());

impl Queue {
    pub(crate) fn new(home: &Home) -> Self {
        let fixtures = &home.fixtures;
        let free = |use_: Use| {
            let count = match use_ {
                Use::Shower => fixtures.showers.count,
                Use::Bath => fixtures.baths.count,
                Use::Toilet => fixtures.toilets.count,
                Use::Basin => fixtures.basins.count,
                Use::Kitchen => fixtures.kitchen.count,
                Use::ClothesWasher | Use::Dishwasher => 1,
                Use::Outdoor | Use::Leak | Use::Other => 0,
            };
            (0..count).map(|_| LONG_AGO).collect()
        };
        Self { people: vec![LONG_AGO; home.people.len()], fixtures: Use::ALL.map(free) }
    }

    /// Somebody is ready to draw: finds out when that starts, and keeps person and fixture until it is over.
    pub(crate) fn ask(&mut self, wish: &Wish, ready: Time) -> Turn {
        let person = self.people.get_mut(usize::from(wish.who));
        if let Some(free) = person.as_deref().filter(|free| **free > ready) {
            return Turn::Busy(*free);
        }
        let fixture = self.fixtures[wish.use_.index()].iter_mut().min_by_key(|free| **free);
        let start = fixture.as_deref().map_or(ready, |free| ready.max(*free));
        let end = start + wish.length;
        let until = if wish.use_ == Use::Bath { end + IN_THE_TUB } else { end };
        let keeps_busy = matches!(wish.use_, Use::Shower | Use::Bath | Use::Basin | Use::Kitchen);
        if let Some(free) = person.filter(|_| keeps_busy) {
            *free = until;
        }
        if let Some(free) = fixture {
            *free = until;
        }
        Turn::Starts(start)
    }
}

/// Before any run.
const LONG_AGO: Time = Time::from_ns(i64::MIN);
