//! The figures of a run, up to where it got.

use super::Core;
use super::PowerBooks;
use super::carry::{MembraneCarried, StageTotals, Waters};
use super::piece::Piece;
use super::state::{Levels, SMALL, SOURCE, STORAGE, TANK};
use super::tally::{Seen, Tally};
use crate::draw::DrawKind;
use crate::hot_water::follow::HotState;
use crate::ledger::Ledger;
use crate::membrane::fouling::FoulingState;
use crate::observe::{MembraneNow, Silent, Totals};
use crate::outlet::Header;
use crate::plant::MOST_OUTLETS;
use crate::pond::PondState;
use crate::quality::{Carried, Constituent};
use crate::supply::{MOST_SUPPLIES, Source};
use crate::time::{Span, Time};
use crate::treatment::MOST_STAGES;

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
    /// By supply: drawdown of a well, m, or water in a basin, L.
    pub sources: [f64; MOST_SUPPLIES],
    /// By stage of treatment.
    pub stages: [StageTotals; MOST_STAGES],
    /// By outlet: salt that came with the water, g.
    pub salt_g: [f64; MOST_OUTLETS],
    /// What storage, and what the basins carry by supply, mg/L; of a well or main, that of its water.
    pub storage_carries: Carried,
    /// See [`Self::storage_carries`].
    pub sources_carry: [Carried; MOST_SUPPLIES],
    /// By supply: ice and snow of open water.
    pub ponds: [PondState; MOST_SUPPLIES],
    /// What last came to the end of the raw line, mg/L.
    pub raw_carries: Carried,
    /// The membrane unit, where there is one.
    pub membrane: Option<MembraneReport>,
    /// Heaters and rooms.
    pub hot_water: HotState,
    /// Electricity on the site, up to the last tick; `None` where it is not followed beyond what parts take.
    pub power: Option<PowerBooks>,
    /// The books.
    pub ledger: Ledger,
}

/// What is told of the membrane unit beside totals and tally.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MembraneReport {
    /// Salt and what it does at the instant.
    pub now: MembraneNow,
    /// How far it has fouled.
    pub fouling: FoulingState,
    /// What has gone through it.
    pub carried: MembraneCarried,
    /// Salt in its loop and on its product side, g.
    pub held_salt_g: f64,
}

impl Core<'_> {
    pub(super) fn report(&self, piece: &Piece) -> Report {
        let state = &self.state;
        let time = state.reached.max(state.time);
        let mut tally = state.tally.clone();
        let levels = piece.levels_at(time);
        tally.note(&self.lows(piece, time, &levels));
        for (i, supply) in tally.supplies.iter_mut().enumerate().take(self.hydraulics.plant.supplies.len()) {
            if self.hydraulics.runs(i, &state.mode) {
                supply.run += time - piece.start;
                supply.longest_run = supply.longest_run.max(supply.last_start.map(|start| time - start));
            }
        }
        tally.close_at(time);
        let mut heat = state.heat.clone();
        self.follow_heat(&mut heat, piece, time, &mut Silent);
        let totals = Totals { heaters_j: heat.hot.electric_j(), ..self.totals_at(piece, time) };
        let waters = self.waters_at(piece, time);
        let mut ledger = self.ledger(&totals, &levels);
        ledger.carried = waters.ledger(self.hydraulics.plant, &levels);
        let membrane = self.hydraulics.membrane.as_ref().map(|_| MembraneReport {
            now: self.membrane_now(&waters),
            fouling: self.fouled(&piece.ports_at(&self.hydraulics, &state.mode, time), time - piece.start),
            carried: waters.membrane,
            held_salt_g: waters.in_membrane_g(self.hydraulics.plant)[Constituent::Salt as usize],
        });
        for (i, supply) in self.hydraulics.plant.supplies.iter().enumerate() {
            let open = &mut tally.supplies[i].open;
            if let Some(basin) = supply.source.basin().filter(|_| open.hours > 0) {
                let [salt_mg_l, temp_c] =
                    [Constituent::Salt, Constituent::Temperature].map(|k| waters.held[SOURCE + i][k as usize]);
                let share = levels[SOURCE + i] / basin.capacity_l;
                open.note(time, Seen { share, salt_mg_l, temp_c, ice_m: state.ponds[i].ice_m });
            }
        }
        let Waters { held, stages, salt_g, ends, .. } = waters;
        Report {
            time,
            totals,
            waiting_l: self.waiting_l(piece, time),
            sources: core::array::from_fn(|i| levels[SOURCE + i]),
            stages,
            salt_g,
            storage_carries: held[STORAGE],
            sources_carry: core::array::from_fn(|i| held[SOURCE + i]),
            ponds: state.ponds,
            raw_carries: ends[Header::Raw as usize],
            membrane,
            hot_water: heat.hot,
            power: self.follows_power().then(|| state.power.clone()),
            ledger,
            tally,
        }
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
        let start = &self.state.start_levels;
        let out_l = |header: Header| {
            let outlets = plant.outlets.iter().zip(&totals.outlets);
            outlets.filter(|(outlet, _)| outlet.header == header).map(|(_, t)| t.delivered_l).sum()
        };
        let (mut source_gain_l, mut stock_l) = ([0.0; MOST_SUPPLIES], levels[TANK] + levels[STORAGE] + levels[SMALL]);
        for (i, supply) in plant.supplies.iter().enumerate() {
            let (level, rise) = (levels[SOURCE + i], levels[SOURCE + i] - start[SOURCE + i]);
            match &supply.source {
                Source::Well { well, .. } => {
                    let casing_l_per_m = well.storage_l_per_m();
                    source_gain_l[i] = -casing_l_per_m * rise;
                    stock_l += casing_l_per_m * (well.intake_drawdown_m() - level);
                }
                Source::Basin { .. } => {
                    source_gain_l[i] = rise;
                    stock_l += level;
                }
                Source::TownLine(_) => {}
            }
        }
        Ledger {
            supplies: totals.supplies,
            source_gain_l,
            taken_l: totals.taken_l,
            filled_l: totals.filled_l,
            spilled_l: totals.spilled_l,
            drawn_l: totals.drawn_l,
            drained_l: totals.drained_l,
            raw_out_l: out_l(Header::Raw),
            delivery_out_l: out_l(Header::Delivery),
            tank_gain_l: levels[TANK] - start[TANK],
            storage_gain_l: levels[STORAGE] - start[STORAGE],
            small_gain_l: levels[SMALL] - start[SMALL],
            stock_l,
            ..Ledger::default()
        }
    }
}
