//! What draws amount to, against the same worked out at once from all of them.

#![expect(clippy::unwrap_used, reason = "helpers of tests are tests")]
#![expect(clippy::cast_precision_loss, reason = "numbers of days and uses, far fewer than 2^53")]

use jiff::civil::date;
use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::{Home, Household, HouseholdDraw, HouseholdStream, Person, PersonKind, Planner, Use};
use springhouse_draws::tally::{Gathered, Tallied, Tally, WINDOWS};

fn household(run: u64, people: &[&str]) -> Household {
    let people = people.iter().map(|name| Person::typical(name, PersonKind::Adult)).collect();
    Household { seed: 5, run, first_day: date(2027, 3, 1), homes: vec![Home::typical("house", 0, people)] }
}

fn draw(use_: Use, start_s: i64, length_s: i64, flow_lps: f64) -> HouseholdDraw {
    let time = |s: i64| Time::from_ns(s * 1_000_000_000);
    let (start, end) = (time(start_s), time(start_s + length_s));
    let draw =
        Draw { start, end, outlet: 0, flow: Flow::from_lps(flow_lps), kind: DrawKind::Timed, warmth: Warmth::COLD };
    HouseholdDraw { draw, home: 0, who: 0, use_, part: 0, waited: Span::ZERO, queued: Span::ZERO }
}

fn tallied(draws: &[HouseholdDraw], days: u32) -> Tallied {
    let mut tally = Tally::new(&Planner::new(&household(0, &[])).unwrap(), 0, days);
    for draw in draws {
        tally.add(draw);
    }
    tally.finish()
}

#[test]
fn exact_sums_of_two_showers() {
    // Ten minutes from 06:55 and ten from 07:00, then one that crosses midnight.
    let at = |h: i64, m: i64| h * 3_600 + m * 60;
    let draws = [
        draw(Use::Shower, at(6, 55), 600, 0.1),
        draw(Use::Shower, at(7, 0), 600, 0.2),
        draw(Use::Shower, at(23, 59), 120, 0.5),
    ];
    let Tallied { totals, peaks_lps } = tallied(&draws, 2);
    assert_eq!((totals.days(), totals.homes()[0].events(Use::Shower), totals.homes()[0].person_days()), (2, 3, 0));
    assert_eq!(totals.homes()[0].litres(Use::Shower), 60.0 + 120.0 + 60.0);
    assert_eq!(totals.homes()[0].all_litres(), 240.0);
    let shares = totals.hour_shares();
    assert_eq!((shares[6], shares[7], shares[23], shares[0]), (30.0 / 240.0, 150.0 / 240.0, 0.125, 0.125));
    // Two at once for five minutes; one for ten and two more.
    assert_eq!(totals.showers_at_once_s(2) * 2.0, 300.0);
    assert_eq!(totals.showers_at_once_s(1) * 2.0, 300.0 + 600.0 + 120.0);
    assert_eq!((totals.showers_at_once_days(2), totals.showers_at_once_days(1)), (0.5, 1.0));
    // Windows of 1, 5, 15 and 60 minutes: 0.5 at midnight; 5 minutes of both; all 15 minutes of both; the same in an hour.
    assert_eq!(peaks_lps, [0.5, 0.3, 0.2, 0.05]);
    // The second day has the end of the third shower: a full minute of it, two of five minutes and so on.
    let daily: Vec<f64> = totals.daily_peaks().iter().map(|ladder| 2.0 * ladder.mean_lps()).collect();
    let second = [0.5, 60.0 / 300.0, 60.0 / 900.0, 60.0 / 3_600.0];
    for ((sum, first), second) in daily.iter().zip([0.5, 0.3, 0.2, 0.05]).zip(second) {
        assert!((sum - first - second).abs() < 1e-12, "{daily:?}");
    }
}

#[test]
fn exact_peak_at_midnight_is_of_both_days() {
    let totals = tallied(&[draw(Use::Bath, 82_800, 3_600, 0.1)], 2).totals;
    for ladder in totals.daily_peaks() {
        assert!((ladder.mean_lps() - 0.1).abs() < 1e-12, "{}", ladder.mean_lps());
    }
}

#[test]
fn what_is_outside_is_left_out() {
    let draws = [draw(Use::Bath, -100, 200, 0.1), draw(Use::Bath, 86_300, 200, 0.1), draw(Use::Bath, 90_000, 100, 0.1)];
    let totals = tallied(&draws, 1).totals;
    assert_eq!((totals.homes()[0].all_litres(), totals.homes()[0].events(Use::Bath)), (20.0, 2));
    let nothing = tallied(&[], 3);
    assert_eq!((nothing.peaks_lps, nothing.totals.litres_per_person_day()), ([0.0; 4], 0.0));
    assert_eq!((nothing.totals.days(), nothing.totals.hour_shares()), (3, [0.0; 24]));
}

/// All that has flown up to a time, in 1e-9 nL.
fn flown(draws: &[HouseholdDraw], until: Time) -> i128 {
    let of = |d: &HouseholdDraw| {
        let length = d.draw.end.min(until) - d.draw.start.min(until);
        i128::from(d.draw.flow.nl_per_s()) * i128::from(length.ns())
    };
    draws.iter().map(of).sum()
}

fn any_draws() -> impl Strategy<Value = Vec<HouseholdDraw>> {
    let shower = any::<bool>().prop_map(|shower| if shower { Use::Shower } else { Use::Kitchen });
    // Whole minutes often, so that draws and windows meet.
    let length = prop_oneof![1..8_000_i64, (1..90_i64).prop_map(|m| m * 60)];
    let start = prop_oneof![0..172_000_i64, (0..2_880_i64).prop_map(|m| m * 60)];
    vec((shower, start, length, 1..500_i64).prop_map(|(u, s, l, f)| draw(u, s, l, f as f64 / 1e3)), 0..40).prop_map(
        |mut draws| {
            draws.sort_by_key(|d| d.draw.start);
            draws
        },
    )
}

proptest! {
    /// The highest mean over a window is at one of the times at which it begins or ends with a draw.
    #[test]
    fn windows_are_those_of_all_draws_at_once(draws in any_draws()) {
        let days = 3;
        let found = tallied(&draws, days);
        let end = Time::from_day(i64::from(days));
        let changes: Vec<Time> = draws.iter().flat_map(|d| [d.draw.start, d.draw.end]).collect();
        for (length, peak) in WINDOWS.into_iter().zip(found.peaks_lps) {
            let ends = changes.iter().flat_map(|&time| [time, time + length]).filter(|&time| time <= end);
            let most = ends.map(|time| flown(&draws, time) - flown(&draws, time - length)).max().unwrap_or(0);
            prop_assert_eq!(peak, most as f64 / length.ns() as f64 / 1e9);
        }
        let all: f64 = flown(&draws, end) as f64 / 1e18;
        prop_assert_eq!(found.totals.homes()[0].all_litres(), all);
        let shares: f64 = found.totals.hour_shares().iter().sum();
        prop_assert!(draws.is_empty() || (shares - 1.0).abs() < 1e-12);
        // A wider window has no higher mean, and no more in it than so many narrow ones.
        prop_assert!(found.peaks_lps.windows(2).all(|pair| pair[1] <= pair[0] * (1.0 + 1e-12)));
    }

    #[test]
    fn a_day_has_no_higher_peak_than_the_run(draws in any_draws()) {
        let found = tallied(&draws, 3);
        for (ladder, peak) in found.totals.daily_peaks().iter().zip(found.peaks_lps) {
            // The highest day is the run's; rungs are a per cent wide.
            let highest = ladder.quantile_lps(1.0);
            prop_assert!(peak < 0.001 || (highest / peak - 1.0).abs() < 0.006, "{} for {}", highest, peak);
        }
    }

    #[test]
    fn time_with_showers_is_that_of_all_draws_at_once(draws in any_draws()) {
        let totals = tallied(&draws, 3).totals;
        let showers: Vec<&HouseholdDraw> = draws.iter().filter(|d| d.use_ == Use::Shower).collect();
        // With at least one and more: each shower's time is counted once.
        let counted: f64 = (1..=40).map(|least| totals.showers_at_once_s(least)).sum::<f64>() * 3.0;
        let each: f64 = showers.iter().map(|d| (d.draw.end.min(Time::from_day(3)) - d.draw.start).s()).sum();
        prop_assume!(showers.len() <= 32);
        prop_assert!((counted - each).abs() < 1e-6, "{} for {}", counted, each);
    }
}

#[test]
fn runs_add_up() {
    let days = 14;
    let run = |run| {
        let stream = HouseholdStream::new(&household(run, &["Ann", "Ben"]), 0).unwrap();
        let mut tally = Tally::new(stream.planner(), 0, days);
        stream.take_while(|draw| draw.draw.start.day() < i64::from(days)).for_each(|draw| tally.add(&draw));
        tally.finish()
    };
    let runs: Vec<Tallied> = (0..5).map(run).collect();
    let mut all = Gathered::default();
    for run in &runs {
        all.add(run);
    }
    let totals = all.totals().unwrap();
    assert_eq!((totals.days(), totals.homes()[0].person_days()), (70, 140));
    let events: u64 = runs.iter().map(|run| run.totals.homes()[0].events(Use::Toilet)).sum();
    assert_eq!(totals.homes()[0].events(Use::Toilet), events);
    assert_eq!(all.peaks_lps()[1], runs.iter().map(|run| run.peaks_lps[1]).collect::<Vec<_>>());
    let mean = all.litres_per_person_day().iter().sum::<f64>() / 5.0;
    assert!((mean - totals.litres_per_person_day()).abs() < 1e-9);
    // All loads have as many fills, of which one counts.
    let washes = totals.homes()[0].events(Use::ClothesWasher);
    assert!((totals.homes()[0].litres(Use::ClothesWasher) / washes as f64 - 117.3).abs() < 15.0);
}
