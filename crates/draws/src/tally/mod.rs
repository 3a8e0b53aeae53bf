//! What the draws of a household amount to, as they are wanted.
//!
//! A [`Tally`] hears the draws of one run in order; its memory does not grow with the days. A [`Gathered`] takes many
//! [`Tallied`] runs, in the order of their numbers, and tells what they have in common and how far they differ.

mod gather;
mod ladder;
mod totals;
mod window;

use core::cmp::Reverse;
use std::collections::BinaryHeap;

use springhouse_core::draw::Flow;
use springhouse_core::time::{Span, Time};

pub use gather::{Gathered, quantile};
pub use ladder::Ladder;
pub use totals::{HomeTotals, MOST_SHOWERS, Totals};
pub use window::WINDOWS;

use crate::household::{HouseholdDraw, Planner, Use};
use window::Windows;

/// Counts the draws of one run of whole days.
#[derive(Clone, Debug)]
pub struct Tally {
    until: Time,
    /// Up to where all is counted.
    now: Time,
    /// What flows now.
    flow: Flow,
    showers: usize,
    /// Most showers at once so far today.
    showers_today: usize,
    /// Ends of draws that are open, whether they are showers, and their flows.
    open: BinaryHeap<Reverse<(Time, bool, Flow)>>,
    windows: Windows,
    totals: Totals,
}

/// What a run amounts to.
#[derive(Clone, Debug, PartialEq)]
pub struct Tallied {
    /// Sums over the run.
    pub totals: Totals,
    /// The highest mean flow over each of [`WINDOWS`] in L/s.
    pub peaks_lps: [f64; WINDOWS.len()],
}

impl Tally {
    /// Counts so many days from a day onwards (0 is the household's first); what is drawn before or after is left out.
    #[must_use]
    pub fn new(planner: &Planner, from_day: i64, days: u32) -> Self {
        let (from, until_day) = (Time::from_day(from_day), from_day.saturating_add(i64::from(days)));
        let person_days = |home| (from_day..until_day).map(|day| planner.present(home, day) as u64).sum();
        Self {
            until: Time::from_day(until_day),
            now: from,
            flow: Flow::ZERO,
            showers: 0,
            showers_today: 0,
            open: BinaryHeap::new(),
            windows: Windows::new(from),
            totals: Totals::new((0..planner.homes().len()).map(person_days).collect()),
        }
    }

    /// Counts a draw, which starts no earlier than the one before.
    pub fn add(&mut self, of: &HouseholdDraw) {
        let (start, end) = (of.draw.start.max(self.now), of.draw.end.min(self.until));
        if end <= start {
            return;
        }
        self.advance(start);
        let amount = i128::from(of.draw.flow.nl_per_s()) * i128::from((end - start).ns());
        self.totals.add(usize::from(of.home), of.use_, amount, of.part == 0);
        let shower = of.use_ == Use::Shower;
        self.open.push(Reverse((end, shower, of.draw.flow)));
        self.flow += of.draw.flow;
        self.showers += usize::from(shower);
        self.showers_today = self.showers_today.max(self.showers);
    }

    /// Ends the run.
    #[must_use]
    pub fn finish(mut self) -> Tallied {
        self.advance(self.until);
        Tallied { peaks_lps: self.windows.most_lps(), totals: self.totals }
    }

    /// Lets time pass, piece by piece of constant flow; whole hours cut pieces too.
    fn advance(&mut self, until: Time) {
        while self.now < until {
            let hour = self.now.ns().div_euclid(Span::HOUR.ns());
            let mut to = until.min(Time::from_ns((hour + 1).saturating_mul(Span::HOUR.ns())));
            if let Some(Reverse((end, ..))) = self.open.peek() {
                to = to.min(*end);
            }
            let length = to - self.now;
            let amount = i128::from(self.flow.nl_per_s()) * i128::from(length.ns());
            self.totals.pass(hour.rem_euclid(24), length, amount, self.showers);
            self.windows.pass(to, self.flow);
            self.now = to;
            self.close_ended();
            if to.ns().rem_euclid(Span::DAY.ns()) == 0 {
                self.totals.close_day(self.windows.close_day(to), self.showers_today);
                self.showers_today = self.showers;
            }
        }
    }

    fn close_ended(&mut self) {
        while let Some(Reverse((end, shower, flow))) = self.open.peek().copied() {
            if end > self.now {
                break;
            }
            self.open.pop();
            self.flow -= flow;
            self.showers -= usize::from(shower);
        }
    }
}
