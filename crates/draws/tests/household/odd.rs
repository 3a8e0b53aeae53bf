//! Properties of the draws of odd households.

use jiff::ToSpan;
use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::draw::Flow;
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::{
    Around, Habits, Home, Household, HouseholdDraw, HouseholdStream, Outdoor, Outing, Person, PersonKind, Routine,
    Stay, Use,
};

use super::{FIRST_DAY, draws, wishes};

/// Any number of people with odd habits: no order of times in a day is taken for granted.
fn any_person() -> impl Strategy<Value = Person> {
    let around =
        || (0..36 * 60_i64, 0..180_i64).prop_map(|(at, spread)| Around { at: minutes(at), spread: minutes(spread) });
    let routine = move || {
        let out = proptest::option::of((around(), around()).prop_map(|(leave, home)| Outing { leave, home }));
        (around(), out, around()).prop_map(|(wake, out, bed)| Routine { wake, out, bed })
    };
    let numbers = (0.0..3.0, 0.0..=1.0, 0.0..2.0, 0.0..12.0, 0.0..30.0, 0.0..20.0, 0.0..1.5, 0.0..4.0);
    let stay = (0..9_i64, 0..9_i64).prop_map(|(from, more)| {
        let from = FIRST_DAY + from.days();
        Stay::Between { from, to: from + more.days() }
    });
    let stay = prop_oneof![3 => Just(Stay::Always), 1 => stay];
    (any::<bool>(), routine(), routine(), numbers, stay, any::<[bool; 7]>(), 1..20_i64, 0.0..1.0).prop_map(
        |(child, workday, free, numbers, stay, workdays, shower, cv)| {
            let kind = if child { PersonKind::Child } else { PersonKind::Adult };
            let mut habits = Habits { workday, free, ..Habits::typical(kind) };
            (habits.showers_per_day, habits.morning_share, habits.baths_per_day, ..) = numbers;
            (_, _, _, habits.flushes_per_day, habits.basin_uses_per_day, habits.kitchen_uses_per_day, ..) = numbers;
            (.., habits.laundry_loads_per_day, habits.other_uses_per_day) = numbers;
            habits.dish_loads_per_day = habits.laundry_loads_per_day;
            (habits.shower.mean, habits.shower.cv) = (minutes(shower), cv);
            Person { stay, workdays, habits, ..Person::typical("", kind) }
        },
    )
}

fn minutes(minutes: i64) -> Span {
    Span::from_ns(minutes * Span::MINUTE.ns())
}

fn any_household() -> impl Strategy<Value = Household> {
    let home = (vec(any_person(), 0..=6), 0..3_u32, 0..3_u32, 1..3_u32, 0.0..=1.0, 0..1_440_i64, any::<bool>());
    (any::<u64>(), vec(home, 0..3)).prop_map(|(seed, homes)| {
        let home = |(i, parts)| {
            let (people, showers, toilets, basins, togetherness, dinner, extras): (Vec<Person>, _, _, _, _, _, bool) =
                parts;
            let named = |(i, person)| Person { name: format!("person {i}"), ..person };
            let people = people.into_iter().enumerate().map(named).collect();
            let mut home = Home::typical(&format!("house {i}"), i, people);
            (home.togetherness, home.dinner) = (togetherness, minutes(dinner));
            home.fixtures.showers.count = showers;
            home.fixtures.toilets.count = toilets;
            home.fixtures.basins.count = basins;
            if extras {
                home.fixtures.leak_lps = 0.002;
                home.fixtures.outdoor = home.fixtures.other.map(|water| Outdoor { uses_per_day: 2.0, water });
            }
            home
        };
        Household { seed, run: 0, first_day: FIRST_DAY, homes: homes.into_iter().enumerate().map(home).collect() }
    })
}

/// Most that run at once of the draws of a use in a building.
fn most_at_once(draws: &[HouseholdDraw], home: u16, use_: Use) -> i64 {
    let of = draws.iter().filter(|draw| draw.home == home && draw.use_ == use_);
    // At one moment those that end come before those that start.
    let mut changes: Vec<(Time, i64)> = of.flat_map(|d| [(d.draw.start, 1), (d.draw.end, -1)]).collect();
    changes.sort_unstable();
    let mut now = 0;
    changes
        .iter()
        .map(|(_, change)| {
            now += change;
            now
        })
        .max()
        .unwrap_or(0)
}

/// A wish as far as it must be kept: when, by whom, for what, how long and how much.
type Served = (Time, u16, u16, Use, Span, i64);

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn draws_keep_to_time_and_fixtures(of in any_household()) {
        let days = 8;
        let found = draws(&of, days);
        let order = |d: &HouseholdDraw| (d.draw.start, d.home, d.who);
        prop_assert!(found.is_sorted_by_key(order));
        for HouseholdDraw { draw, home, use_, waited, queued, .. } in &found {
            let fixtures = &of.homes[usize::from(*home)].fixtures;
            prop_assert!(draw.start >= Time::ZERO && draw.end > draw.start && *queued >= Span::ZERO && *waited >= *queued);
            prop_assert_eq!(draw.kind, use_.kind());
            prop_assert_eq!(draw.outlet, usize::from(*home));
            let limit = match use_ {
                Use::Shower => fixtures.showers.flow_lps,
                Use::Basin | Use::Kitchen => fixtures.basins.most_flow_lps,
                Use::Leak => fixtures.leak_lps,
                _ => fixtures.baths.water.flow_lps,
            };
            prop_assert!(draw.flow > Flow::ZERO && draw.flow <= Flow::from_lps(limit));
        }
        for (home, i) in of.homes.iter().zip(0..) {
            let fixtures = &home.fixtures;
            let counts = [
                (Use::Shower, fixtures.showers.count),
                (Use::Bath, fixtures.baths.count),
                (Use::Toilet, fixtures.toilets.count),
                (Use::Basin, fixtures.basins.count),
                (Use::Kitchen, fixtures.kitchen.count),
                (Use::ClothesWasher, 1),
                (Use::Dishwasher, 1),
            ];
            for (use_, count) in counts {
                prop_assert!(most_at_once(&found, i, use_) <= i64::from(count), "{:?} of {}", use_, count);
            }
        }
    }

    /// Nobody starts before the wish, and each wish is served once, in its full length.
    #[test]
    fn all_are_served(of in any_household()) {
        let (from, to) = (Time::from_day(1), Time::from_day(4));
        let mut wished: Vec<Served> = Vec::new();
        for day in 0..4 {
            for wish in wishes(&of, day).iter().filter(|wish| from <= wish.start && wish.start < to) {
                if !matches!(wish.use_, Use::ClothesWasher | Use::Dishwasher) {
                    let flow = wish.flow.nl_per_s();
                    wished.push((wish.start, wish.home, wish.who, wish.use_, wish.length, flow));
                }
            }
        }
        // Whoever waits is served within a month.
        let mut served: Vec<Served> = Vec::new();
        for d in draws(&of, 35) {
            let start = d.draw.start - d.waited;
            if from <= start && start < to && !matches!(d.use_, Use::ClothesWasher | Use::Dishwasher) {
                served.push((start, d.home, d.who, d.use_, d.draw.end - d.draw.start, d.draw.flow.nl_per_s()));
            }
        }
        wished.sort_unstable();
        served.sort_unstable();
        prop_assert_eq!(wished, served);
    }

    /// Nobody is at two things at once, nor opens a tap in the shower or in the bath.
    #[test]
    fn a_person_does_one_thing_at_a_time(of in any_household()) {
        let found = draws(&of, 6);
        let by_hand = |d: &&HouseholdDraw| matches!(d.use_, Use::Shower | Use::Bath | Use::Basin | Use::Kitchen);
        // A bath takes 20 min once it is filled.
        let until = |d: &HouseholdDraw| if d.use_ == Use::Bath { d.draw.end + minutes(20) } else { d.draw.end };
        let times = |d: &HouseholdDraw| (d.home, d.who, d.draw.start, until(d));
        let mut of_person: Vec<_> = found.iter().filter(by_hand).map(times).collect();
        of_person.sort_unstable();
        for pair in of_person.windows(2) {
            let ((home, who, _, end), (next_home, next_who, start, _)) = (pair[0], pair[1]);
            prop_assert!((home, who) != (next_home, next_who) || start >= end);
        }
    }

    /// A clone goes on exactly as its original.
    #[test]
    fn clone_goes_on_as_the_original(mut of in any_household(), at in 0..300_usize) {
        // Or else nobody may ever come, and the stream looks for a draw until time ends.
        for home in &mut of.homes {
            home.fixtures.leak_lps = 0.002;
        }
        let mut stream = HouseholdStream::new(&of, 0).unwrap();
        stream.by_ref().take(at).for_each(drop);
        prop_assert!(stream.clone().take(100).eq(stream.take(100)));
    }
}
