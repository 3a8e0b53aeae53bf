//! A roof that gathers rain for a cistern: one millimetre on one square metre is one litre, less what stays on the roof and
//! less the first of each rain, which is led aside.

use serde::{Deserialize, Serialize};

use crate::incident::Inflow;
use crate::time::{Span, Time};

/// A roof, its gutters and what leads the first rain aside.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Roof {
    /// Area of the roof seen from above.
    pub area_m2: f64,
    /// Part of the rain that runs off, 0 to 1; the rest wets the roof, splashes or evaporates.
    pub runoff_share: f64,
    /// Depth of rain led aside at the beginning of each rain, with the dirt it washes off.
    pub first_flush_mm: f64,
    /// After so long without rain the next rain is a new one, and is flushed again.
    pub dry_gap: Span,
}

/// Rain that fell evenly from one instant to another.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RainStep {
    /// When it begins.
    pub start: Time,
    /// When it ends; after `start`.
    pub end: Time,
    /// How much fell from `start` to `end`, 0 or more.
    pub depth_mm: f64,
}

impl Roof {
    /// What runs off the roof into the basin of a supply, in order of time.
    ///
    /// The steps of rain come in order of time and do not overlap; between them it is dry. A step of no length, or without
    /// rain, is passed over; the first rain of all is flushed. Every change of flow is told once: the last one is to zero,
    /// and where nothing runs off there is none.
    #[must_use]
    pub fn inflows(&self, supply: usize, rain: &[RainStep]) -> Vec<Inflow> {
        let mut inflows: Vec<Inflow> = Vec::new();
        let mut now = Inflow { time: Time::ZERO, supply, flow_lps: 0.0 };
        // A flow ends when its step does, unless the next one begins there.
        let mut end = None;
        let mut change = |time, flow_lps| {
            if flow_lps != now.flow_lps {
                now = Inflow { time, supply, flow_lps };
                inflows.push(now);
            }
        };
        for step in self.gathered(rain) {
            if let Some(end) = end.filter(|end| *end < step.start) {
                change(end, 0.0);
            }
            change(step.start, self.area_m2 * self.runoff_share * step.depth_mm / (step.end - step.start).s());
            end = Some(step.end);
        }
        if let Some(end) = end {
            change(end, 0.0);
        }
        inflows
    }

    /// The rain without the first flush of each event; a step in which a flush ends begins there.
    fn gathered(&self, rain: &[RainStep]) -> impl Iterator<Item = RainStep> {
        let mut flush_left_mm = self.first_flush_mm;
        let mut rained_until: Option<Time> = None;
        rain.iter().filter(|step| step.end > step.start && step.depth_mm > 0.0).filter_map(move |step| {
            let dry = rained_until.replace(step.end).map_or(Span::ZERO, |end| step.start - end);
            if dry > Span::ZERO && dry >= self.dry_gap {
                flush_left_mm = self.first_flush_mm;
            }
            let flushed_mm = step.depth_mm.min(flush_left_mm);
            flush_left_mm -= flushed_mm;
            let depth_mm = step.depth_mm - flushed_mm;
            let flush = Span::from_s((step.end - step.start).s() * (flushed_mm / step.depth_mm));
            // Rain that is left needs time to run off, if only a nanosecond.
            let start = (step.start + flush).min(step.end - Span::from_ns(1));
            (depth_mm > 0.0).then_some(RainStep { start, end: step.end, depth_mm })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Time {
        Time::from_ns(minutes * Span::MINUTE.ns())
    }

    /// A step of rain from one minute to another.
    fn rain(start: i64, end: i64, depth_mm: f64) -> RainStep {
        RainStep { start: at(start), end: at(end), depth_mm }
    }

    fn roof(first_flush_mm: f64) -> Roof {
        Roof { area_m2: 120.0, runoff_share: 0.5, first_flush_mm, dry_gap: Span::HOUR }
    }

    /// Minutes and flow of each change.
    fn changes(roof: &Roof, rain: &[RainStep]) -> Vec<(f64, f64)> {
        roof.inflows(0, rain).iter().map(|inflow| (inflow.time.s() / 60.0, inflow.flow_lps)).collect()
    }

    #[test]
    fn exact_a_millimetre_on_a_square_metre_is_a_litre() {
        let roof = Roof { area_m2: 1.0, runoff_share: 1.0, first_flush_mm: 0.0, dry_gap: Span::HOUR };
        let second = RainStep { start: Time::ZERO, end: Time::from_s(1.0), depth_mm: 1.0 };
        let expected = [(Time::ZERO, 1.0), (Time::from_s(1.0), 0.0)];
        assert_eq!(roof.inflows(3, &[second]), expected.map(|(time, flow_lps)| Inflow { time, supply: 3, flow_lps }));
    }

    #[test]
    fn flow_changes_once_at_an_instant_and_ends() {
        // 60 m2 gather 1 L/s of a millimetre a minute.
        let steps = [rain(-5, 5, 10.0), rain(5, 10, 10.0), rain(10, 15, 10.0), rain(15, 20, 0.0), rain(25, 30, 2.5)];
        assert_eq!(changes(&roof(0.0), &steps), [(-5.0, 1.0), (5.0, 2.0), (15.0, 0.0), (25.0, 0.5), (30.0, 0.0)]);
    }

    #[test]
    fn flush_splits_the_step_in_which_it_ends() {
        assert_eq!(
            changes(&roof(4.0), &[rain(0, 10, 1.0), rain(10, 20, 12.0)]),
            [(12.5, 1.2), (20.0, 0.0)],
            "3 of 12 mm are flushed, a quarter of the time"
        );
        assert_eq!(changes(&roof(13.0), &[rain(0, 10, 1.0), rain(10, 20, 12.0)]), []);
        assert_eq!(changes(&roof(1.0), &[rain(0, 10, 1.0), rain(10, 20, 10.0)]), [(10.0, 1.0), (20.0, 0.0)]);
    }

    #[test]
    fn rain_after_the_dry_gap_is_flushed_again() {
        let flushed = [(2.0, 1.0), (10.0, 0.0)];
        let again = |dry: i64| {
            changes(&roof(2.0), &[rain(0, 10, 10.0), rain(10, 10 + dry, 0.0), rain(10 + dry, 20 + dry, 10.0)])
        };
        assert_eq!(again(59), [flushed[0], flushed[1], (69.0, 1.0), (79.0, 0.0)]);
        assert_eq!(again(60), [flushed[0], flushed[1], (72.0, 1.0), (80.0, 0.0)]);
    }

    #[test]
    fn rain_without_a_break_is_one_rain_whatever_the_dry_gap() {
        let roof = Roof { dry_gap: Span::ZERO, ..roof(2.0) };
        assert_eq!(changes(&roof, &[rain(0, 10, 10.0), rain(10, 20, 10.0)]), [(2.0, 1.0), (20.0, 0.0)]);
    }

    #[test]
    fn no_rain_is_no_inflow() {
        let steps = [rain(0, 5, 0.0), rain(7, 7, 10.0)];
        assert_eq!(changes(&roof(0.0), &steps), []);
        assert_eq!(changes(&Roof { area_m2: 0.0, ..roof(0.0) }, &[rain(0, 5, 10.0)]), []);
    }

    #[test]
    fn exact_water_left_for_the_last_nanosecond_runs_off() {
        let roof = roof(10.0);
        // The flush ends within half a nanosecond of the step.
        let step = RainStep { start: Time::ZERO, end: Time::from_ns(2), depth_mm: 11.0 };
        let inflows = roof.inflows(0, &[step]);
        assert_eq!(inflows.len(), 2);
        assert_eq!((inflows[0].time, inflows[1].time), (Time::from_ns(1), Time::from_ns(2)));
        // 1 mm off 60 m2; dividing by a nanosecond and multiplying by it rounds once each.
        assert!((inflows[0].flow_lps * 1e-9 - 60.0).abs() <= 60.0 * f64::EPSILON);
    }
}
