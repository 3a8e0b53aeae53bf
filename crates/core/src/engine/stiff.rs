//! Steps where the pressure tank has next to no give: little air in it, taps barely open on a trickle.
//!
//! Its pressure then settles within milliseconds, and an explicit step may be no longer than that. One step of the implicit
//! Euler method may: it takes the rates at its end for all of it, and the end is where they lead. Only the tank is solved for; wells
//! and storage are slow beside it. See `docs/physics.md`, "The trajectory".

use super::Core;
use super::flows::Flows;
use super::piece::Piece;
use super::state::{LEVELS, Levels, TANK};
use crate::root::root;
use crate::time::{Span, Time};

/// Explicit steps shorter than this call for an implicit one.
const STIFF_S: f64 = 0.2;
/// An implicit step counts for so many explicit ones at least.
const LEAST_GAIN: f64 = 16.0;

impl Core<'_> {
    /// Makes the piece one implicit step not beyond the horizon, where that gains much; leaves it as it was else.
    pub(super) fn settle_tank(&mut self, piece: &mut Piece, horizon: Time) -> bool {
        let (mode, step_s) = (&self.state.mode, self.state.step_s);
        let Some(tank) = self.hydraulics.giving_tank(mode).filter(|_| step_s < STIFF_S) else { return false };
        let most_l = tank.volume_l;
        let tolerance_l = self.options.tolerance_l;
        let longest_s = (horizon - piece.start).s().min(self.options.longest_step.s());
        let mut length_s = self.state.settling_s.min(longest_s);
        while length_s >= LEAST_GAIN * step_s {
            let length = Span::from_s(length_s).max(Span::from_ns(1)).min(horizon - piece.start);
            let Some((flows, error_l)) = self.settled(piece, length.s(), most_l) else { return false };
            if error_l <= tolerance_l {
                piece.take_constant(length, &flows);
                let grown_s = length_s * (0.9 * (tolerance_l / error_l).sqrt()).clamp(0.2, 5.0);
                // A step cut short by the horizon says little about the next one.
                let cut = length_s >= longest_s;
                self.next_settling_s = if cut { grown_s.max(self.state.settling_s) } else { grown_s }.min(LONGEST_S);
                // Whether explicit steps are still this short is asked again now and then.
                self.next_step_s = 2.0 * step_s;
                return true;
            }
            self.rejected += 1;
            length_s *= (0.9 * (tolerance_l / error_l).sqrt()).clamp(0.05, 0.5);
            self.next_settling_s = length_s;
        }
        self.next_settling_s = self.next_settling_s.max(FIRST_S);
        false
    }

    /// The rates at the end of an implicit step, and its error in litres; `None` where the tank would run empty or over.
    fn settled(&self, piece: &Piece, length_s: f64, most_l: f64) -> Option<(Flows, f64)> {
        let (state, hydraulics) = (&self.state, &self.hydraulics);
        let from = piece.flows();
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
        let error_l = (0..LEVELS).fold(0.0_f64, |error_l, i| {
            let change = (flows.levels[i] - from.levels[i]).abs();
            let plain_l = 0.5 * length_s * change * hydraulics.litres_per_level[i];
            if i != TANK || plain_l == 0.0 {
                return error_l.max(plain_l);
            }
            // What decays within the step is gone from both: the estimate of a stiff component is divided by 1 + h |J| as often
            // as it takes (Shampine's filter; Hairer & Wanner, Solving Ordinary Differential Equations II, IV.8). Once more, since
            // the linear test equation's true error has that square.
            let moved_l = (end_l - start_l).abs();
            let filter = moved_l / (moved_l + 2.0 * plain_l);
            error_l.max(plain_l * filter * filter)
        });
        error_l.is_finite().then_some((flows, error_l))
    }
}

/// Length of the first implicit step tried, and of the longest.
pub(super) const FIRST_S: f64 = 1.0;
const LONGEST_S: f64 = 600.0;
