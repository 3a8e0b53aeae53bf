//! People with habits: their wishes and draws stay the same whatever else changes, have the means that were asked for, and
//! keep to what the building has.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]
#![expect(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of days and uses, far fewer than 2^32"
)]

mod means;
mod odd;

use jiff::ToSpan;
use jiff::civil::{Date, date};
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::{
    Around, Fault, Fixtures, Habits, Home, Household, HouseholdDraw, HouseholdStream, Outdoor, Outing, Person,
    PersonKind, Planner, Routine, Stay, Use, Wish,
};
use springhouse_draws::{DailyDraw, DrawStream, EVERY_MONTH};

/// A Monday.
const FIRST_DAY: Date = date(2027, 3, 1);

fn household(people: Vec<Person>) -> Household {
    Household { seed: 7, run: 1, first_day: FIRST_DAY, homes: vec![Home::typical("house", 0, people)] }
}

fn adult(name: &str) -> Person {
    Person::typical(name, PersonKind::Adult)
}

/// Four adults and two children.
fn six() -> Household {
    let child = |name| Person::typical(name, PersonKind::Child);
    household(vec![adult("Ann"), adult("Ben"), child("Cy"), child("Di"), adult("Eve"), adult("Flo")])
}

fn wishes(household: &Household, day: i64) -> Vec<Wish> {
    let mut wishes = Vec::new();
    Planner::new(household).unwrap().wishes_of_day(day, &mut wishes);
    wishes
}

fn draws(household: &Household, days: i64) -> Vec<HouseholdDraw> {
    let stream = HouseholdStream::new(household, 0).unwrap();
    stream.take_while(|draw| draw.draw.start < Time::from_day(days)).collect()
}

/// Other bits would be another morning. Changes only where the model was meant to change.
#[test]
fn regress_year_of_six_people() {
    let mut hasher = blake3::Hasher::new();
    for HouseholdDraw { draw, home, who, use_, part, waited, .. } in draws(&six(), 365) {
        let whole = [draw.start.ns(), draw.end.ns(), draw.flow.nl_per_s(), waited.ns()];
        for number in whole {
            hasher.update(&number.to_le_bytes());
        }
        hasher.update(&[u8::from(draw.kind == DrawKind::Volume), use_.index() as u8]);
        for number in [home, who, part] {
            hasher.update(&number.to_le_bytes());
        }
        hasher.update(&draw.warmth.temp_c().unwrap_or(-1.0).to_le_bytes());
    }
    let digest = hasher.finalize();
    assert_eq!(digest.to_hex().as_str(), "820ed7d14f7a9386f66a1d8f164d0ff8fb77902ab8d9c4c544c13668bad3f83d");
}

#[test]
fn a_guest_only_adds_lines() {
    let without = six();
    let mut with = six();
    let stay = Stay::Between { from: date(2027, 3, 3), to: date(2027, 3, 20) };
    // First in the list: no place in a list matters.
    with.homes[0].people.insert(0, Person { stay, ..adult("Guest") });
    let mut guests = 0;
    for day in 0..30 {
        let (alone, mut all) = (wishes(&without, day), wishes(&with, day));
        let before = all.len();
        all.retain(|wish| wish.who != 0);
        guests += before - all.len();
        for wish in &mut all {
            wish.who -= 1;
        }
        assert_eq!(alone, all, "day {day}");
        assert_eq!(before > all.len(), (2..20).contains(&day), "day {day}");
    }
    assert!(guests > 18 * 20);
}

#[test]
fn what_is_installed_only_adds_or_takes_lines() {
    let with = six();
    let changed = |change: fn(&mut Fixtures)| {
        let mut without = six();
        change(&mut without.homes[0].fixtures);
        without
    };
    let kept = |household: &Household, gone: &[Use]| -> Vec<Wish> {
        (0..20).flat_map(|day| wishes(household, day)).filter(|wish| !gone.contains(&wish.use_)).collect()
    };
    for (without, gone) in [
        (changed(|f| f.clothes_washer = None), Use::ClothesWasher),
        (changed(|f| f.dishwasher = None), Use::Dishwasher),
        (changed(|f| f.baths.count = 0), Use::Bath),
        (changed(|f| f.showers.count = 0), Use::Shower),
        (changed(|f| f.other = None), Use::Other),
        (changed(|f| f.leak_lps = 0.01), Use::Leak),
        (changed(|f| f.outdoor = f.other.map(|water| Outdoor { uses_per_day: 3.0, water })), Use::Outdoor),
    ] {
        assert_eq!(kept(&with, &[gone]), kept(&without, &[gone]), "{gone:?}");
        assert_ne!(kept(&with, &[]), kept(&without, &[]), "{gone:?}");
    }
    // Bathroom taps alone depend on something else: hands are washed after flushes.
    let without = changed(|f| f.toilets.count = 0);
    let gone = [Use::Toilet, Use::Basin];
    assert_eq!(kept(&with, &gone), kept(&without, &gone));
    assert_ne!(kept(&with, &[Use::Toilet]), kept(&without, &[Use::Toilet]));
    // Another shower head, or another number of showers, changes no time.
    let other = changed(|f| (f.showers.count, f.showers.flow_lps) = (1, 0.1));
    let times = |household| -> Vec<_> { kept(household, &[]).iter().map(|wish| (wish.start, wish.length)).collect() };
    assert_eq!(times(&with), times(&other));
}

/// How often a person does one thing changes nothing else, but for hands after flushes.
#[test]
fn a_habit_changes_its_own_lines() {
    type Change = fn(&mut Habits);
    let kept = |household: &Household, gone: &[Use]| -> Vec<Wish> {
        (0..20).flat_map(|day| wishes(household, day)).filter(|wish| !gone.contains(&wish.use_)).collect()
    };
    let changes: [(Change, &[Use]); 8] = [
        (|h| h.showers_per_day = 2.0, &[Use::Shower]),
        (|h| h.baths_per_day = 1.0, &[Use::Bath]),
        (|h| h.flushes_per_day = 9.0, &[Use::Toilet, Use::Basin]),
        (|h| h.basin_uses_per_day = 20.0, &[Use::Basin]),
        (|h| h.kitchen_uses_per_day = 20.0, &[Use::Kitchen]),
        (|h| h.laundry_loads_per_day = 1.0, &[Use::ClothesWasher]),
        (|h| h.dish_loads_per_day = 1.0, &[Use::Dishwasher]),
        (|h| h.other_uses_per_day = 3.0, &[Use::Other]),
    ];
    for (change, gone) in changes {
        let mut changed = six();
        change(&mut changed.homes[0].people[0].habits);
        assert_eq!(kept(&six(), gone), kept(&changed, gone), "{gone:?}");
        for use_ in gone {
            let others: Vec<Use> = Use::ALL.into_iter().filter(|it| it != use_).collect();
            assert_ne!(kept(&six(), &others), kept(&changed, &others), "{use_:?}");
        }
    }
}

#[test]
fn a_day_alone_is_that_day_of_the_whole() {
    let planner = Planner::new(&six()).unwrap();
    let mut buffer = Vec::new();
    for day in 0..12 {
        planner.wishes_of_day(day, &mut buffer);
        assert_eq!(buffer, wishes(&six(), day));
    }
    // The date counts, not the day with which a run begins.
    let later = Household { first_day: date(2027, 3, 6), ..six() };
    planner.wishes_of_day(9, &mut buffer);
    let shift =
        |wish: &Wish| Wish { day: wish.day - 5, start: wish.start - Span::from_ns(5 * Span::DAY.ns()), ..*wish };
    assert_eq!(wishes(&later, 4), buffer.iter().map(shift).collect::<Vec<_>>());

    // And so with draws, but for those that are clipped at the begin.
    let from = |day| {
        let stream = HouseholdStream::new(&six(), day).unwrap();
        stream.skip_while(|draw| draw.draw.start <= Time::from_day(5)).take(2_000)
    };
    assert!(from(0).eq(from(5)));
}

#[test]
fn draws_end_with_time() {
    let ended = |day| HouseholdStream::new(&six(), day).unwrap().map(|draw| draw.draw).last();
    let last = ended(106_740).unwrap();
    assert!(last.end > last.start && last.start >= Time::from_day(106_750), "{last:?}");
    assert!(ended(i64::MAX).is_none_or(|draw| draw.start >= Time::from_day(106_751)));
    // As early as may be, there still are days.
    assert!(HouseholdStream::new(&six(), i64::MIN).unwrap().next().is_some());
    assert_eq!(HouseholdStream::new(&household(Vec::new()), 106_000).unwrap().next(), None);
}

#[test]
fn seeds_and_runs_differ() {
    let starts = |household: Household| -> Vec<_> { wishes(&household, 0).iter().map(|wish| wish.start).collect() };
    assert_ne!(starts(six()), starts(Household { seed: 8, ..six() }));
    assert_ne!(starts(six()), starts(Household { run: 2, ..six() }));
}

#[test]
fn nobody_draws_who_is_not_there() {
    let mut of = household(vec![adult("Ann"), adult("Guest")]);
    let (first, last) = (FIRST_DAY + 3.days(), FIRST_DAY + 5.days());
    of.homes[0].people[0].away = vec![(first, last)];
    of.homes[0].people[1].stay = Stay::Between { from: first, to: last };
    let planner = Planner::new(&of).unwrap();
    for day in 0..9 {
        let there = (3..=5).contains(&day);
        let who: Vec<u16> = wishes(&of, day).iter().map(|wish| wish.who).collect();
        assert!(who.iter().all(|&who| who == u16::from(there)) && !who.is_empty(), "day {day}: {who:?}");
        assert_eq!(planner.present(0, day), 1);
        let mut more = of.clone();
        more.homes[0].people.push(Person { stay: Stay::Between { from: first, to: last }, ..adult("Cy") });
        assert_eq!(Planner::new(&more).unwrap().present(0, day), if there { 2 } else { 1 });
    }
}

/// Without straying, wishes fall between getting up and leaving, and between coming home and bed; but for flushes by night,
/// and for washing hands after one that came at the last moment.
#[test]
fn wishes_come_when_one_is_at_home() {
    let hour = |hours: f64| Span::from_s(hours * 3_600.0);
    let at = |hours: f64| Around { at: hour(hours), spread: Span::ZERO };
    let routine = Routine { wake: at(7.5), out: Some(Outing { leave: at(8.0), home: at(17.0) }), bed: at(22.0) };
    let mut ann = adult("Ann");
    (ann.habits.workday, ann.habits.free) = (routine, routine);
    ann.habits.showers_per_day = 2.0;
    ann.habits.baths_per_day = 0.5;
    let (mut nights, mut mornings) = (0, 0);
    for day in 0..400 {
        for wish in wishes(&household(vec![ann.clone()]), day) {
            let start = wish.start - Time::from_day(day);
            let within = |from: f64, to: f64| hour(from) <= start && start <= hour(to) + Span::MINUTE;
            if within(22.05, 28.0) && matches!(wish.use_, Use::Toilet | Use::Basin) {
                nights += i32::from(wish.use_ == Use::Toilet);
            } else {
                assert!(within(7.5, 8.0) || within(17.0, 22.0), "{wish:?}");
            }
            if wish.use_ == Use::Shower && start < hour(12.0) {
                mornings += 1;
                // Eight minutes are left to dress, unless the shower takes all morning.
                let latest = hour(8.0) - Span::from_ns(8 * Span::MINUTE.ns());
                assert!(start + wish.length <= latest + Span::from_ns(2) || start == hour(7.5), "{wish:?}");
            }
        }
    }
    // 0.15 of 400 nights, and 0.80 of 800 showers, give or take four standard deviations.
    assert!((32..=88).contains(&nights) && (595..=685).contains(&mornings), "{nights} {mornings}");
}

#[test]
fn exact_fills_of_a_load_that_waits() {
    // Two people, each with a load a day, and a machine that takes all day for one: every load waits for the one before.
    let mut of = household(vec![adult("Ann"), adult("Ben")]);
    for person in &mut of.homes[0].people {
        person.habits.laundry_loads_per_day = 1.0;
        person.workdays = [false; 7];
    }
    of.homes[0].fixtures.clothes_washer.as_mut().unwrap().length = Span::from_s(11.0 * 3_600.0);
    let fills: Vec<HouseholdDraw> = draws(&of, 40)
        .into_iter()
        .filter(|draw| draw.use_ == Use::ClothesWasher && draw.draw.start.day() >= 2)
        .collect();
    let begins = |part: u16| -> Vec<&HouseholdDraw> { fills.iter().filter(|fill| fill.part == part).collect() };
    let (first, second) = (begins(0), begins(1));
    assert!(first.len() > 60 && first.iter().any(|fill| fill.waited > Span::HOUR));
    for pair in first.windows(2) {
        assert!(pair[1].draw.start - pair[0].draw.start >= Span::from_s(11.0 * 3_600.0));
    }
    for (a, b) in first.iter().zip(second.iter().skip_while(|fill| fill.draw.start < first[0].draw.start)) {
        assert_eq!(b.draw.start - a.draw.start, Span::from_s(18.0 * 60.0));
        let [a_c, b_c] = [a, b].map(|of| of.draw.warmth.temp_c());
        assert_eq!((a.who, a.waited, a_c, b_c), (b.who, b.waited, Some(40.0), None));
    }
}

/// Fills of a load that start together come in their order.
#[test]
fn exact_order_of_fills_that_start_together() {
    let mut of = household(vec![adult("Ann")]);
    of.homes[0].people[0].habits.laundry_loads_per_day = 1.0;
    let washer = of.homes[0].fixtures.clothes_washer.as_mut().unwrap();
    washer.fills = vec![washer.fills[0]; 7];
    let parts = draws(&of, 40).into_iter().filter(|draw| draw.use_ == Use::ClothesWasher).map(|draw| draw.part);
    let parts: Vec<u16> = parts.skip_while(|part| *part != 0).collect();
    assert!(parts.len() > 200);
    for (i, part) in parts.iter().enumerate() {
        assert_eq!(usize::from(*part), i % 7, "{i}");
    }
}

/// Who has a fixture alone never queues for it, though what one was at before may take its time.
#[test]
fn exact_nobody_queues_alone() {
    let mut of = household(vec![adult("Ann")]);
    (of.homes[0].people[0].habits.showers_per_day, of.homes[0].people[0].habits.baths_per_day) = (3.0, 2.0);
    let alone: Vec<_> = draws(&of, 60).into_iter().filter(|draw| draw.use_ == Use::Shower).collect();
    assert!(alone.iter().all(|draw| draw.queued == Span::ZERO));
    assert!(alone.iter().any(|draw| draw.waited > Span::MINUTE));
    // Two with one shower do.
    of.homes[0].fixtures.showers.count = 1;
    let ben = Person { name: "Ben".to_owned(), ..of.homes[0].people[0].clone() };
    of.homes[0].people.push(ben);
    let both = draws(&of, 60);
    let mut showers = both.iter().filter(|draw| draw.use_ == Use::Shower);
    assert!(showers.any(|draw| draw.queued > Span::MINUTE && draw.queued < draw.waited));
    // A queue moves up when the one before is done.
    for queued in both.iter().filter(|draw| draw.use_ == Use::Shower && draw.queued > Span::ZERO) {
        let before = both.iter().any(|draw| draw.use_ == Use::Shower && draw.draw.end == queued.draw.start);
        assert!(before, "{queued:?}");
    }
}

#[test]
fn household_merges_between_schedule_and_log() {
    // A leak starts at each midnight, and so do the others.
    let mut of = household(Vec::new());
    of.homes[0].outlet = 1;
    of.homes[0].fixtures.leak_lps = 0.001;
    let entry = DailyDraw {
        skips: Vec::new(),
        months: EVERY_MONTH,
        outlet: 0,
        start: Span::ZERO,
        length: Span::MINUTE,
        flow: Flow::from_lps(0.123),
        kind: DrawKind::Timed,
        warmth: Warmth::COLD,
        weekdays: [true; 7],
        every: 1,
        offset: 0,
    };
    let logged = Draw {
        start: Time::from_day(1),
        end: Time::from_day(2),
        outlet: 2,
        flow: Flow::from_lps(0.1),
        kind: DrawKind::Timed,
        warmth: Warmth::COLD,
    };
    let stream = DrawStream::new(&[entry.clone(), entry.clone()], date(2027, 6, 7), vec![logged]);
    let merged = stream.clone().with_household(HouseholdStream::new(&of, 0).unwrap());
    let found: Vec<(i64, usize)> = merged.take(7).map(|draw| (draw.start.day(), draw.outlet)).collect();
    assert_eq!(found, [(0, 0), (0, 0), (0, 1), (1, 0), (1, 0), (1, 1), (1, 2)]);

    // All come, in order of time, and each source in its own order.
    let busy = six();
    let merged: Vec<Draw> = stream.with_household(HouseholdStream::new(&busy, 0).unwrap()).take(2_000).collect();
    assert!(merged.is_sorted_by_key(|draw| draw.start));
    let end = merged.last().unwrap().start;
    let alone = HouseholdStream::new(&busy, 0).unwrap().map(|draw| draw.draw);
    let alone = alone.take_while(|draw| draw.start < end).count();
    let scheduled =
        merged.iter().filter(|draw| draw.start < end && draw.flow == entry.flow && draw.outlet == 0).count();
    let logged = merged.iter().filter(|draw| draw.outlet == 2).count();
    assert_eq!(merged.iter().filter(|draw| draw.start < end).count(), alone + scheduled + logged);
}

#[test]
fn faults_name_the_place() {
    let mut of = household(vec![adult("Ann"), adult("Ann"), adult("")]);
    of.homes[0].togetherness = 1.5;
    of.homes[0].fixtures.showers.flow_lps = f64::NAN;
    of.homes[0].fixtures.clothes_washer.as_mut().unwrap().fills[1].water.litres = -1.0;
    of.homes[0].people[0].habits.flushes_per_day = f64::INFINITY;
    of.homes[0].people[1].stay = Stay::Between { from: date(2027, 3, 5), to: date(2027, 3, 4) };
    let texts: Vec<String> = of.faults().iter().map(Fault::to_string).collect();
    for expected in [
        "house: togetherness is 1.5, which is outside 0 to 1: write a number between them",
        "house: showers.flow_lps is NaN, which is outside 0.001 to 10000: write a number between them",
        "house: clothes_washer.fills[1].litres is -1, which is outside 0.01 to 100000: write a number between them",
        "house, Ann: flushes_per_day is inf, which is outside 0 to 100: write a number between them",
        "house, Ann: 2027-03-05 to 2027-03-04 ends before it begins: write the earlier day first",
        "house: the name `Ann` is empty or taken: give each building, and each person in it, a name of its own",
        "house: the name `` is empty or taken: give each building, and each person in it, a name of its own",
    ] {
        assert!(texts.iter().any(|text| text == expected), "{expected}\nis not in {texts:#?}");
    }
    // Names may begin alike, or be the same: the index tells the place.
    of.homes.push(Home::typical("house 2", 1, vec![adult("Ann")]));
    of.homes[1].people[0].habits.shower.mean = Span::ZERO;
    let places: Vec<_> = of.faults().iter().map(|fault| (fault.at().home, fault.at().person)).collect();
    for expected in [(Some(0), None), (Some(0), Some(0)), (Some(0), Some(1)), (Some(1), Some(0))] {
        assert!(places.contains(&expected), "{places:?}");
    }
    assert!(Planner::new(&of).is_err() && HouseholdStream::new(&of, 0).is_err());
}
