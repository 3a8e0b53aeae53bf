//! Properties of records of rain and of what a roof gathers of them, on random ones.

use std::fmt::Write;

use jiff::civil::date;
use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::incident::Inflow;
use springhouse_core::roof::{RainStep, Roof};
use springhouse_core::time::{Span, Time};
use springhouse_weather::read_rain;

/// Lengths and depths in which flushes end, events end, and steps touch; dry ones often.
fn rain() -> impl Strategy<Value = Vec<RainStep>> {
    let depth = prop_oneof![Just(0.0), (1..40_u32).prop_map(|tips| f64::from(tips) * 0.2), 0.0..100.0];
    let gap = prop_oneof![Just(0_i64), 0..20_000_i64];
    vec((gap, prop_oneof![1..10_i64, Just(3_600_i64), 1..100_000_i64], depth), 0..40).prop_map(|steps| {
        let mut now = Time::from_day(-2);
        let mut rain = Vec::new();
        for (gap, length, depth_mm) in steps {
            let start = now + Span::from_ns(gap * 1_000_000_000);
            now = start + Span::from_ns(length * 1_000_000_001);
            rain.push(RainStep { start, end: now, depth_mm });
        }
        rain
    })
}

fn roof() -> impl Strategy<Value = Roof> {
    let flush = prop_oneof![Just(0.0), 0.0..5.0, Just(1e3)];
    (0.0..1e3, 0.0..=1.0, flush, 0..50_000_i64).prop_map(|(area_m2, runoff_share, first_flush_mm, dry_s)| Roof {
        area_m2,
        runoff_share,
        first_flush_mm,
        dry_gap: Span::from_ns(dry_s * 1_000_000_000),
    })
}

/// Litres that come in from one instant to another.
fn volume_l(inflows: &[Inflow], from: Time, to: Time) -> f64 {
    let ends = inflows.iter().skip(1).map(|next| next.time).chain([Time::NEVER]);
    let part = |(inflow, end): (&Inflow, Time)| {
        let (start, end) = (inflow.time.max(from), end.min(to));
        if end > start { inflow.flow_lps * (end - start).s() } else { 0.0 }
    };
    inflows.iter().zip(ends).map(part).sum()
}

/// Depth that is not flushed, worked out event by event.
fn kept_mm(roof: &Roof, rain: &[RainStep]) -> f64 {
    let wet: Vec<&RainStep> = rain.iter().filter(|step| step.depth_mm > 0.0).collect();
    let same = |before: &&RainStep, after: &&RainStep| {
        let dry = after.start - before.end;
        dry == Span::ZERO || dry < roof.dry_gap
    };
    let of_event = |event: &[&RainStep]| event.iter().map(|step| step.depth_mm).sum::<f64>();
    wet.chunk_by(same).map(|event| (of_event(event) - roof.first_flush_mm).max(0.0)).sum()
}

proptest! {
    /// What runs in is what fell, less what was flushed: rounding of sums is all that may differ.
    #[test]
    fn exact_water_is_conserved(roof in roof(), rain in rain()) {
        let inflows = roof.inflows(0, &rain);
        let fell_mm: f64 = rain.iter().map(|step| step.depth_mm).sum();
        let expected = roof.area_m2 * roof.runoff_share * kept_mm(&roof, &rain);
        let found = volume_l(&inflows, Time::from_day(-9_999), Time::from_day(9_999));
        let rounding = 1e-13 * roof.area_m2 * roof.runoff_share * (fell_mm + roof.first_flush_mm);
        prop_assert!((found - expected).abs() <= rounding, "{} L found, {} L expected", found, expected);
    }

    /// No step of rain brings more than fell in it.
    #[test]
    fn a_step_brings_no_more_than_fell(roof in roof(), rain in rain()) {
        let inflows = roof.inflows(0, &rain);
        for step in &rain {
            let fell_l = roof.area_m2 * roof.runoff_share * step.depth_mm;
            prop_assert!(volume_l(&inflows, step.start, step.end) <= fell_l * (1.0 + 1e-13));
        }
    }

    #[test]
    fn inflows_rise_in_time_change_and_end(roof in roof(), rain in rain(), supply in 0..4_usize) {
        let inflows = roof.inflows(supply, &rain);
        prop_assert!(inflows.windows(2).all(|pair| pair[0].time < pair[1].time && pair[0].flow_lps != pair[1].flow_lps));
        prop_assert!(inflows.iter().all(|inflow| inflow.flow_lps >= 0.0 && inflow.supply == supply));
        prop_assert!(inflows.last().is_none_or(|last| last.flow_lps == 0.0));
        prop_assert!(inflows.first().is_none_or(|first| first.flow_lps > 0.0));
    }

    /// What is written comes back, step by step.
    #[test]
    fn record_comes_back_as_it_was_written(rows in vec((1..100_000_i64, 0..400_u32), 2..60), early in 0..90_000_i64) {
        let first_day = date(2027, 3, 1);
        let midnight = first_day.to_datetime(jiff::civil::Time::midnight());
        let mut now_s = -early;
        let mut text = "time,rain_mm\n".to_owned();
        let mut expected: Vec<RainStep> = Vec::new();
        let mut length_s = 0;
        let at = |s: i64| Time::from_ns(s * 1_000_000_000);
        for (i, (wait_s, tips)) in rows.iter().enumerate() {
            // 0.01 mm a tip keeps a second's rain within bounds.
            let depth = format!("{}.{:02}", tips / 100, tips % 100);
            writeln!(text, "{},{depth}", midnight + jiff::SignedDuration::from_secs(now_s)).unwrap();
            // The last row is as long as the one before.
            length_s = if i + 1 < rows.len() { *wait_s } else { length_s };
            expected.push(RainStep { start: at(now_s), end: at(now_s + length_s), depth_mm: depth.parse().unwrap() });
            now_s += length_s;
        }
        prop_assert_eq!(read_rain(text.as_bytes(), "rain.csv", first_day), Ok(expected));
    }

    /// No bytes, however odd, do more than give steps or errors.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..300)) {
        if let Err(errors) = read_rain(&bytes[..], "any.csv", date(2027, 3, 1)) {
            prop_assert!(!errors.errors.is_empty() && errors.to_string().contains("any.csv"));
        }
    }

    /// Nor does a text that is nearly a record; what is read is in order and can be gathered.
    #[test]
    fn any_text_is_read_or_refused(
        text in "\u{feff}?(time,rain_mm\r?\n|rain_in,time\n)?([-0-9T:., \"#\r\na-z]|2027-03-[0-3][0-9]( [0-2][0-9]:00)?,[0-9]{1,3}\r?\n){0,60}",
    ) {
        match read_rain(text.as_bytes(), "any.csv", date(2027, 3, 1)) {
            Ok(steps) => {
                prop_assert!(steps.len() > 1 && steps.iter().all(|s| s.end > s.start && s.depth_mm >= 0.0));
                prop_assert!(steps.windows(2).all(|pair| pair[0].end == pair[1].start));
            }
            Err(errors) => prop_assert!(!errors.errors.is_empty() && errors.to_string().contains("any.csv")),
        }
    }
}
