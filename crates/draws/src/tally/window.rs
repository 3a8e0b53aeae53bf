//! The highest mean flow over rolling windows, exact for flows that are constant from change to change.

use std::collections::VecDeque;

use springhouse_core::draw::Flow;
use springhouse_core::time::{Span, Time};

/// Lengths of the windows: 1, 5, 15 and 60 minutes.
pub const WINDOWS: [Span; 4] = [minutes(1), minutes(5), minutes(15), minutes(60)];

const fn minutes(minutes: i64) -> Span {
    Span::from_ns(minutes * Span::MINUTE.ns())
}

/// Where the flow changes, and from there on does not.
#[derive(Clone, Copy, Debug)]
struct Piece {
    from: Time,
    /// All that has flown up to there, in 1e-9 nL.
    amount: i128,
    flow: Flow,
}

impl Piece {
    /// All that has flown up to a time in this piece.
    fn amount_at(&self, time: Time) -> i128 {
        self.amount + i128::from(self.flow.nl_per_s()) * i128::from((time - self.from).ns())
    }
}

/// The mean over a window that ends at `t` moves along a straight line between the times at which `t`, or the begin of the
/// window, meets a change of flow. So it is highest at one of those.
#[derive(Clone, Debug)]
pub(crate) struct Windows {
    /// The pieces that the longest window still reaches, the last of which ends at the present.
    pieces: VecDeque<Piece>,
    /// How many pieces have left at the front.
    gone: usize,
    /// The present, and all that has flown up to it.
    now: Time,
    amount: i128,
    each: [Window; WINDOWS.len()],
}

#[derive(Clone, Copy, Debug, Default)]
struct Window {
    /// Number of the piece in which the window begins, counted from the first ever.
    begins_in: usize,
    /// Most within a window that ended in the run, and today.
    most: i128,
    most_today: i128,
}

impl Windows {
    /// Nothing has flown before.
    pub(crate) fn new(from: Time) -> Self {
        let pieces = VecDeque::from([Piece { from: from - Span::DAY, amount: 0, flow: Flow::ZERO }]);
        Self { pieces, gone: 0, now: from, amount: 0, each: [Window::default(); WINDOWS.len()] }
    }

    /// A flow lasts from the present to a later time.
    pub(crate) fn pass(&mut self, to: Time, flow: Flow) {
        if self.pieces.back().is_none_or(|last| last.flow != flow) {
            self.pieces.push_back(Piece { from: self.now, amount: self.amount, flow });
        }
        let Some(last) = self.pieces.back().copied() else { return };
        for (window, length) in self.each.iter_mut().zip(WINDOWS) {
            // The window's begin meets the changes of flow one by one, and at last stands `length` before `to`.
            while let Some(next) = self.pieces.get(window.begins_in + 1 - self.gone) {
                if next.from + length > to {
                    break;
                }
                window.meets(last.amount_at(next.from + length) - next.amount);
                window.begins_in += 1;
            }
            if let Some(begin) = self.pieces.get(window.begins_in - self.gone) {
                window.meets(last.amount_at(to) - begin.amount_at(to - length));
            }
        }
        (self.now, self.amount) = (to, last.amount_at(to));
        let reached = self.each.iter().map(|window| window.begins_in).min().unwrap_or(self.gone);
        self.pieces.drain(..reached - self.gone);
        self.gone = reached;
    }

    /// Ends a day at the present: the most of the day in L/s. A window that ends at midnight is of both days.
    pub(crate) fn close_day(&mut self, midnight: Time) -> [f64; WINDOWS.len()] {
        let most = lps(self.each.map(|window| window.most_today));
        for (window, length) in self.each.iter_mut().zip(WINDOWS) {
            let begin = self.pieces.get(window.begins_in - self.gone);
            window.most_today = begin.map_or(0, |begin| self.amount - begin.amount_at(midnight - length));
        }
        most
    }

    /// The most of all in L/s.
    pub(crate) fn most_lps(&self) -> [f64; WINDOWS.len()] {
        lps(self.each.map(|window| window.most))
    }
}

impl Window {
    fn meets(&mut self, amount: i128) {
        self.most = self.most.max(amount);
        self.most_today = self.most_today.max(amount);
    }
}

#[expect(clippy::cast_precision_loss, reason = "53 bits are plenty of a flow")]
fn lps(amounts: [i128; WINDOWS.len()]) -> [f64; WINDOWS.len()] {
    core::array::from_fn(|i| amounts[i] as f64 / WINDOWS[i].ns() as f64 / 1e9)
}
