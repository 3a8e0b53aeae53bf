//! Explicit steps: of the whole plant, or of the two sides of storage apart.
//!
//! Apart, a step of the raw side is as long as its error allows, whatever happens behind storage meanwhile: pieces end for that,
//! and the next goes on with the same step as long as nothing has changed that the raw side depends on. See
//! `docs/decisions/0015-a-step-outlives-its-piece.md`.

use super::Core;
use super::flows::{Flows, Side};
use super::guard::Guards;
use super::membrane::Key;
use super::mode::Mode;
use super::piece::Piece;
use super::state::{SMALL, TANK};
use crate::outlet::Header;
use crate::plant::MOST_OUTLETS;
use crate::time::{Span, Time};
use crate::treatment::MOST_STAGES;

/// No step is rejected below this: at a kink the error of so short a step is past counting.
const SHORTEST_STEP_S: f64 = 1e-6;

/// What the rates of the raw side depend on but its levels.
#[derive(PartialEq)]
pub(super) struct RawConditions {
    mode: Mode,
    /// Of its outlets.
    lps: [f64; MOST_OUTLETS],
    washing: [bool; MOST_STAGES],
    /// Of what happens outside, how much has gone by.
    passed: [usize; 4],
    /// The membrane unit's feed and fouling: other water comes from the tank when another supply feeds. How far its loop moves in
    /// a step is bounded when it is begun.
    unit: Option<Key>,
}

impl Core<'_> {
    /// Steps from the present, not beyond the horizon; a step of the raw side alone may be as long as what a piece takes as
    /// constant may be taken so.
    pub(super) fn take_steps(&mut self, piece: &mut Piece, (horizon, longest): (Time, Time), kinks: &Guards) {
        if !self.hydraulics.sides_are_apart(&self.state.mode) {
            self.step_to_kink(piece, (Side::Both, horizon), kinks);
            return;
        }
        let (state, hydraulics) = (&self.state, &self.hydraulics);
        piece.set_apart(hydraulics.plant, |flows: &mut Flows| {
            hydraulics.rates(Side::Delivery, &state.mode, &self.demand, &state.levels, flows);
        });
        // Whatever ends the piece sooner, the step is good up to its own end.
        self.step_to_kink(piece, (Side::Raw, longest), kinks);
        self.step_beside(piece, horizon, kinks);
    }

    /// What the delivery side does beside the step of the raw side: nothing but go on where its rates are constant.
    pub(super) fn step_beside(&mut self, piece: &mut Piece, horizon: Time, kinks: &Guards) {
        let end = horizon.min(piece.step_end());
        if self.options.closed_forms && self.delivery_side_is_steady() {
            piece.take_steady(end);
        } else {
            self.step_to_kink(piece, (Side::Delivery, end), kinks);
        }
    }

    /// A step of a side within the tolerance, not beyond the horizon or the first kink.
    fn step_to_kink(&mut self, piece: &mut Piece, (side, horizon): (Side, Time), kinks: &Guards) {
        let level = if side == Side::Delivery { SMALL } else { TANK };
        self.step(piece, side, horizon);
        if let Some(kink) = kinks.first_met_on(side, piece, &self.context()) {
            // Stages past the kink obeyed another law: take the step again, up to the kink at most.
            let passed = piece.level_at(level, kink) != piece.levels[level];
            self.step(piece, side, kink);
            if passed && piece.level_at(level, piece.end) == piece.levels[level] {
                // So near that the shorter step rounds the way to it off: the longer one passes it.
                self.step(piece, side, horizon);
            }
        }
        self.steps += 1;
    }

    /// What the rates of the raw side depend on but its levels, while a step of it may go on; `None` else.
    pub(super) fn raw_conditions(&self, piece: &Piece) -> Option<RawConditions> {
        let (state, demand) = (&self.state, &self.demand);
        if !piece.may_go_on() || !self.hydraulics.sides_are_apart(&state.mode) {
            return None;
        }
        let mut lps = [0.0; MOST_OUTLETS];
        for (i, outlet) in self.hydraulics.plant.outlets.iter().enumerate() {
            if outlet.header == Header::Raw && demand.lps[i] > 0.0 {
                if !piece.serves_all_along(i) {
                    return None;
                }
                lps[i] = demand.lps[i];
            }
        }
        let passed = [state.edges, state.inflows, state.temps, state.hours];
        let unit = self.hydraulics.membrane.as_ref().and_then(|running| running.key);
        Some(RawConditions { mode: state.mode.of_raw_side(), lps, washing: demand.washing, passed, unit })
    }

    /// Makes the piece one step of a side within the tolerance, not beyond the horizon.
    fn step(&mut self, piece: &mut Piece, side: Side, horizon: Time) {
        let first_s = if side == Side::Delivery { self.state.beside_s } else { self.state.step_s };
        let mut step_s = first_s.min(self.options.longest_step.s());
        loop {
            let step = Span::from_s(step_s).max(Span::from_ns(1)).min(horizon - piece.start);
            let error_l = piece.try_step(&self.hydraulics, &self.state.mode, &self.demand, (side, step));
            // Elementary controller of a pair of order 5(4) with the usual safety factor and bounds.
            let ratio = error_l / self.options.tolerance_l;
            let factor = if ratio > 0.0 { (0.9 / libm::pow(ratio, 0.2)).clamp(0.2, 5.0) } else { 5.0 };
            if ratio <= 1.0 || step.s() <= SHORTEST_STEP_S || !ratio.is_finite() {
                // A step cut short by the horizon says little about the next one.
                let grown_s = factor * step.s();
                let cut = step < Span::from_s(step_s);
                let next_s = if cut { grown_s.max(first_s) } else { grown_s }.min(Span::DAY.s());
                if side == Side::Delivery {
                    self.next_beside_s = next_s;
                    piece.take_step_beside(step);
                } else {
                    self.next_step_s = next_s;
                    piece.take_step(step);
                }
                return;
            }
            self.rejected += 1;
            step_s = (factor * step.s()).max(SHORTEST_STEP_S);
        }
    }
}
