//! Stopping: the interval holds at all looks together, and only the order of runs counts.

use proptest::prelude::*;
use springhouse_random::Stream;
use springhouse_study::sure::{Confidence, Interval, Rule, Settled, Why, chance, lasting};

use crate::by_chance;

/// The chance that some look within so many runs has `p` outside of its interval: all paths of runs, followed together.
fn ever_missed(p: f64, runs: usize, interval: impl Fn(u64, u64) -> Interval) -> f64 {
    let (mut missed, mut paths) = (0.0, vec![1.0]);
    for run in 1..=runs {
        let mut next = vec![0.0; run + 1];
        for (times, path) in paths.iter().enumerate() {
            next[times] += path * (1.0 - p);
            next[times + 1] += path * p;
        }
        for (times, path) in next.iter_mut().enumerate().filter(|(_, path)| **path > 1e-12) {
            if !interval(times as u64, run as u64).holds(p) {
                missed += *path;
                *path = 0.0;
            }
        }
        paths = next;
    }
    missed
}

#[test]
fn exact_looking_at_every_run_misses_no_more_than_said() {
    for p in [0.01, 0.05, 0.2, 0.5] {
        let missed = ever_missed(p, 300, |times, runs| lasting(times, runs, Confidence::USUAL));
        let naive = ever_missed(p, 300, |times, runs| chance(times, runs, Confidence::USUAL));
        println!("chance {p}: missed {missed}, intervals meant for one look {naive}");
        // By Ville's inequality.
        assert!(missed <= 0.05, "{p}: {missed}");
        assert!(naive > 0.08, "{p}: intervals meant for one look miss {naive}, so there would be no need of others");
    }
}

/// Runs in which it happens with chance `p`, of a study by its number.
fn study(number: u64, p: f64) -> impl Iterator<Item = bool> {
    let mut source = Stream::new(9, number, &["made-up study"], "happens").on(0);
    core::iter::repeat_with(move || source.unit() < p)
}

fn settle(rule: Rule, mut runs: impl Iterator<Item = bool>) -> Settled {
    let mut watch = rule.watch();
    runs.find_map(|happened| watch.tell(happened)).unwrap()
}

#[test]
fn exact_made_up_studies_miss_as_often_as_worked_out() {
    const STUDIES: usize = 4_000;
    for p in [0.05, 0.3] {
        let expected = ever_missed(p, 120, |times, runs| lasting(times, runs, Confidence::new(0.5).unwrap()));
        let missed = (0..STUDIES as u64).filter(|&number| {
            let mut times = 0;
            study(number, p).take(120).zip(1..).any(|(happened, runs)| {
                times += u64::from(happened);
                !lasting(times, runs, Confidence::new(0.5).unwrap()).holds(p)
            })
        });
        let found = missed.count() as f64 / STUDIES as f64;
        println!("chance {p}: missed in {found} of studies, worked out {expected}");
        assert!((found - expected).abs() < by_chance(expected, STUDIES), "{p}: {found} for {expected}");
    }
}

#[test]
fn exact_settled_studies_hold_the_chance() {
    const STUDIES: usize = 1_000;
    let rule = Rule {
        confidence: Confidence::USUAL,
        half_width: Some(0.04),
        target: Some(0.10),
        least_runs: 50,
        look_every: 10,
        most_runs: 3_000,
    };
    for (p, why) in [(0.02, Why::Below), (0.10, Why::Narrow), (0.25, Why::Above)] {
        let settled: Vec<Settled> = (0..STUDIES as u64).map(|number| settle(rule, study(number, p))).collect();
        let share =
            |of: &dyn Fn(&Settled) -> bool| settled.iter().filter(|study| of(study)).count() as f64 / STUDIES as f64;
        let held = share(&|study| study.bounds.holds(p));
        let mostly = share(&|study| study.why == why);
        let wrong = share(&|study| match study.why {
            Why::Below => p >= 0.10,
            Why::Above => p <= 0.10,
            Why::Narrow | Why::AllRuns => false,
        });
        let runs = settled.iter().map(|study| study.runs as f64).sum::<f64>() / STUDIES as f64;
        println!("chance {p}: held in {held}, {why:?} in {mostly}, wrong side in {wrong}, {runs} runs");
        assert!(held > 0.95 - by_chance(0.95, STUDIES), "{p}: {held}");
        assert!(wrong < 0.05 + by_chance(0.05, STUDIES), "{p}: {wrong}");
        assert!(mostly > 0.9, "{p}: {mostly}");
        assert!(settled.iter().all(|study| study.runs >= 50 && study.runs.is_multiple_of(10)));
    }
}

/// By how many times what the runs gave is likelier under chances mixed about `p`, as its logarithm, run by run: of `runs` so
/// far, the next is foretold by them and 20 more of which a share `p` did.
fn ln_likelier(times: u64, runs: u64, p: f64) -> f64 {
    let did: f64 = (0..times).map(|so_far| libm::log((20.0 * p + so_far as f64) / p)).sum();
    let did_not: f64 = (0..runs - times).map(|so_far| libm::log(20.0 + so_far as f64 / (1.0 - p))).sum();
    did + did_not - (0..runs).map(|so_far| libm::log(20.0 + so_far as f64)).sum::<f64>()
}

#[test]
fn exact_bounds_solve_their_equation() {
    for (times, runs) in [(0_u64, 200_u64), (1, 3), (2, 40), (39, 40), (150, 1_000), (1_000, 1_000), (5, 50_000)] {
        let bounds = lasting(times, runs, Confidence::USUAL);
        assert!(bounds.holds(times as f64 / runs as f64));
        assert_eq!((bounds.low == 0.0, bounds.high == 1.0), (times <= 1, runs - times <= 1));
        for p in [bounds.low, bounds.high].into_iter().filter(|p| *p > 0.0 && *p < 1.0) {
            // Sums of logarithms as large as 5e5 have 1e-9 of rounding.
            let ln = ln_likelier(times, runs, p);
            assert!((ln - libm::log(20.0)).abs() < 1e-8, "{times} of {runs} at {p}: {ln}");
        }
    }
    // Of one run any chance foretells as much as those about it: it tells nothing.
    let told = [(0, 0), (0, 1), (1, 1)].map(|(times, runs)| lasting(times, runs, Confidence::USUAL).half_width());
    assert!(told.iter().all(|half| *half == 0.5), "{told:?}");
}

proptest! {
    #[test]
    fn any_split_stops_at_the_same_run(
        seed in 0_u64..1_000, p in 0.0..1.0_f64, target in 0.0..1.0_f64, parts in 1_usize..9, every in 0_u64..20,
    ) {
        let rule = Rule {
            confidence: Confidence::USUAL,
            half_width: Some(0.05),
            target: Some(target),
            least_runs: 1,
            look_every: every,
            most_runs: 600,
        };
        let whole = settle(rule, study(seed, p));
        // Run by several at once, who bring every so-many-th run each, the last one first; the runs are told in their order.
        let mut brought: Vec<(usize, bool)> = (0..parts)
            .rev()
            .flat_map(|part| study(seed, p).take(600).enumerate().skip(part).step_by(parts))
            .collect();
        brought.sort_by_key(|&(run, _)| run);
        prop_assert_eq!(settle(rule, brought.into_iter().map(|(_, happened)| happened)), whole);
        // And what comes after changes nothing.
        let mut watch = rule.watch();
        for happened in study(seed, p).take(700) {
            watch.tell(happened);
        }
        prop_assert_eq!(watch.tell(true), Some(whole));
    }

    #[test]
    fn lasting_holds_just_what_is_likely_enough(
        runs in 1_u64..600, share in 0.0..=1.0_f64, power in 0.2..5.0_f64, unit in 0.001..0.999_f64,
    ) {
        // The chances that are likely enough lie together.
        let p = libm::pow(unit, power);
        let times = (runs as f64 * share) as u64;
        prop_assert_eq!(lasting(times, runs, Confidence::USUAL).holds(p), ln_likelier(times, runs, p) < libm::log(20.0));
    }
}
