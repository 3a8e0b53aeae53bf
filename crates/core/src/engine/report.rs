//! The figures of a run, up to where it got.

use super::Core;
use super::piece::Piece;
use super::state::{DRAWDOWN, Levels, SMALL, STORAGE, TANK, Tally};
use crate::draw::DrawKind;
use crate::ledger::Ledger;
use crate::observe::Totals;
use crate::outlet::Header;
use crate::plant::MOST_OUTLETS;
use crate::time::{Span, Time};

/// The figures of a run at an instant.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The instant.
    pub time: Time,
    /// What has flowed.
    pub totals: Totals,
    /// What was counted; spells under way are counted up to the instant.
    pub tally: Tally,
    /// By outlet: what volume draws should have had by now and still wait for, L.
    pub waiting_l: [f64; MOST_OUTLETS],
    /// The books.
    pub ledger: Ledger,
}

impl Core<'_> {
    pub(super) fn report(&self, piece: &Piece) -> Report {
        let state = &self.state;
        let time = state.reached.max(state.time);
        let mut tally = state.tally.clone();
        let levels = piece.levels_at(time);
        tally.note(&self.lows(piece, time, &levels));
        if state.mode.pump_on() {
            tally.run += time - piece.start;
        }
        let totals = self.totals_at(piece, time);
        for spells in [
            &mut tally.low_level_trips,
            &mut tally.suction_losses,
            &mut tally.protect_stops,
            &mut tally.low_pressure,
            &mut tally.run_outs,
            &mut tally.short_cycling,
        ]
        .into_iter()
        .chain(&mut tally.outlets)
        {
            *spells = spells.at(time);
        }
        Report { time, totals, waiting_l: self.waiting_l(piece, time), ledger: self.ledger(&totals, &levels), tally }
    }

    fn waiting_l(&self, piece: &Piece, time: Time) -> [f64; MOST_OUTLETS] {
        let mut waiting_l = [0.0; MOST_OUTLETS];
        for active in self.state.active.iter().filter(|a| a.draw.kind == DrawKind::Volume) {
            let outlet = active.draw.outlet;
            let served_s = piece.port_at(super::state::SERVED + outlet, time);
            let missed = (time - piece.start) - Span::from_s(served_s);
            let end = active.end + missed.max(Span::ZERO);
            // Late so far, and no more than is still to come.
            let late = (end - active.draw.end).min(end - time).max(Span::ZERO);
            waiting_l[outlet] += active.draw.flow.lps() * late.s();
        }
        waiting_l
    }

    fn ledger(&self, totals: &Totals, levels: &Levels) -> Ledger {
        let plant = self.hydraulics.plant;
        let (start, casing_l_per_m) = (&self.state.start_levels, plant.well.storage_l_per_m());
        let out_l = |header: Header| {
            let outlets = plant.outlets.iter().zip(&totals.outlets);
            outlets.filter(|(outlet, _)| outlet.header == header).map(|(_, t)| t.delivered_l).sum()
        };
        let casing_l = casing_l_per_m * (plant.well.intake_drawdown_m() - levels[DRAWDOWN]);
        Ledger {
            inflow_l: totals.inflow_l,
            pumped_l: totals.pumped_l,
            filled_l: totals.filled_l,
            drawn_l: totals.drawn_l,
            raw_out_l: out_l(Header::Raw),
            delivery_out_l: out_l(Header::Delivery),
            casing_gain_l: -casing_l_per_m * (levels[DRAWDOWN] - start[DRAWDOWN]),
            tank_gain_l: levels[TANK] - start[TANK],
            storage_gain_l: levels[STORAGE] - start[STORAGE],
            small_gain_l: levels[SMALL] - start[SMALL],
            stock_l: casing_l + levels[TANK] + levels[STORAGE] + levels[SMALL],
        }
    }
}
