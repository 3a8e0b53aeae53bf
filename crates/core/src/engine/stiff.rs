//! Steps where the pressure tank has next to no give: little air in it, taps barely open on a trickle.
//!
//! Its pressure then settles within milliseconds, and an explicit step may be no longer than that. One step of the implicit
//! Euler method may: it takes the rates at its end for all of it, and the end is where they lead. Only the tank is solved for; what
//! the other levels do meanwhile is in the error. No threshold is crossed in such a step: its straight line knows the end, not the
//! way there. See `docs/physics.md`, "The trajectory".

use super::Core;
use super::flows::Flows;
use super::guard::Guards;
use super::piece::Piece;
use super::state::{LEVELS, Levels, SERVED, TANK};
use crate::root::root;
use crate::time::{Span, Time};

/// Explicit steps shorter than this call for an implicit one.
const STIFF_S: f64 = 0.2;
/// An implicit step counts for so many explicit ones at least.
const LEAST_GAIN: f64 = 16.0;
/// Length of the first implicit step tried, and of the longest.
pub(super) const FIRST_S: f64 = 1.0;
const LONGEST_S: f64 = 60.0;

impl Core<'_> {
    /// Makes the piece one implicit step not beyond the horizon, where that gains much and nothing happens on the way; leaves it
    /// as it was else.
    pub(super) fn settle_tank(&mut self, piece: &mut Piece, horizon: Time, watched: [&Guards; 2]) -> bool {
        let (mode, step_s) = (&self.state.mode, self.state.step_s);
        let Some(tank) = self.hydraulics.giving_tank(mode).filter(|_| step_s < STIFF_S) else { return false };
        let (most_l, tolerance_l) = (tank.volume_l, self.options.tolerance_l);
        let longest_s = (horizon - piece.start).s().min(self.options.longest_step.s());
        let from = *piece.flows();
        // After whatever ends the wait for a threshold, begin anew.
        self.next_settling_s = FIRST_S;
        let mut length_s = self.state.settling_s.min(longest_s);
        while length_s >= LEAST_GAIN * step_s {
            let length = Span::from_s(length_s).max(Span::from_ns(1)).min(horizon - piece.start);
            let Some((flows, error_l)) = self.settled(piece, &from, length.s(), most_l) else { break };
            if error_l <= tolerance_l {
                piece.take_constant(length, &flows);
                let context = self.context();
                if watched.into_iter().all(|guards| guards.first_met(piece, &context).is_none()) {
                    let grown_s = length_s * (0.9 * (tolerance_l / error_l).sqrt()).clamp(0.2, 5.0);
                    if length_s < longest_s {
                        self.next_settling_s = grown_s.min(LONGEST_S);
                    }
                    // Whether explicit steps are still this short is asked again now and then.
                    self.next_step_s = 2.0 * step_s;
                    self.steps = 1;
                    return true;
                }
                length_s *= 0.25;
            } else {
                length_s *= (0.9 * (tolerance_l / error_l).sqrt()).clamp(0.05, 0.5);
            }
            self.rejected += 1;
        }
        piece.begin(piece.start, &self.state.levels, |flows| *flows = from);
        false
    }

    /// The rates at the end of an implicit step, and its error in litres; `None` where the tank would run empty or over.
    fn settled(&self, piece: &Piece, from: &Flows, length_s: f64, most_l: f64) -> Option<(Flows, f64)> {
        let (state, hydraulics) = (&self.state, &self.hydraulics);
        let mut flows = Flows::NONE;
        let rates_at = |water_l: f64, flows: &mut Flows| {
            let mut at: Levels = piece.levels;
            at[TANK] = water_l;
            hydraulics.flows(&state.mode, &self.demand, &at, flows);
            flows.levels[TANK]
        };
        let (start_l, start_lps) = (piece.levels[TANK], from.levels[TANK]);
        // More water makes more pressure, and more pressure less of a gain: the end lies on the way of the first rates.
        let far_l = (start_l + length_s * start_lps).clamp(hydraulics.tank_least_l, most_l);
        let beyond_l = |water_l: f64, lps: f64| water_l - start_l - length_s * lps;
        let far_off_l = beyond_l(far_l, rates_at(far_l, &mut flows));
        if (far_off_l > 0.0) == (start_lps < 0.0) && start_lps != 0.0 && far_off_l != 0.0 {
            return None;
        }
        let end_l = root(|water_l| beyond_l(water_l, rates_at(water_l, &mut flows)), start_l, far_l);
        rates_at(end_l, &mut flows);
        let error_l = Self::tank_error_l(from, &flows, length_s, end_l - start_l)
            .max(self.others_error_l(piece, from, &flows, length_s));
        error_l.is_finite().then_some((flows, error_l))
    }

    /// Error in the tank. What decays within the step is gone from both: the estimate of a stiff component is divided by
    /// `1 + h |J|` as often as it takes (Shampine's filter; Hairer & Wanner, Solving Ordinary Differential Equations II, IV.8).
    /// Once more, since the linear test equation's true error has that square.
    fn tank_error_l(from: &Flows, to: &Flows, length_s: f64, moved_l: f64) -> f64 {
        let plain_l = 0.5 * length_s * (to.levels[TANK] - from.levels[TANK]).abs();
        if plain_l == 0.0 {
            return 0.0;
        }
        let filter = moved_l.abs() / (moved_l.abs() + 2.0 * plain_l);
        plain_l * filter * filter
    }

    /// Error in all other levels, and in what comes to the outlets, by how far the rates move once every level has moved on.
    fn others_error_l(&self, piece: &Piece, from: &Flows, taken: &Flows, length_s: f64) -> f64 {
        let (state, hydraulics) = (&self.state, &self.hydraulics);
        let mut end: Levels = piece.levels;
        for (level, rate) in end.iter_mut().zip(&taken.levels) {
            *level += length_s * rate;
        }
        let moved = hydraulics.flows_now(&state.mode, &self.demand, &end);
        let mut error_l = 0.0_f64;
        for i in (0..LEVELS).filter(|i| *i != TANK) {
            let change = (moved.levels[i] - from.levels[i]).abs().max((moved.levels[i] - taken.levels[i]).abs());
            error_l = error_l.max(0.5 * length_s * change * hydraulics.litres_per_level[i]);
        }
        for (i, lps) in self.demand.lps[..hydraulics.plant.outlets.len()].iter().enumerate() {
            let change = (moved.ports[SERVED + i] - taken.ports[SERVED + i]).abs();
            error_l = error_l.max(0.5 * length_s * change * lps);
        }
        error_l
    }
}
