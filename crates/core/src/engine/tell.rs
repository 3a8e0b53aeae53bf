//! What a piece of the trajectory tells and leaves behind: rows, ticks, totals, extremes.

use super::carry::{Passage, Waters};
use super::mode::Phase;
use super::piece::{Extremes, Piece};
use super::state::{
    BLENDED, DELIVERY_J, DELIVERY_KPA_S, DRAWN, FILLED, Levels, MEMBRANE_J, PRODUCT, PRODUCT_SALT, Ports, RAW_KPA_S,
    RECYCLED, SERVED, SMALL, SOURCE, SPILLED, STORAGE, SupplyPort, TAKEN, TANK, of_supply,
};
use super::tally::Tally;
use super::{Core, EngineError};
use crate::membrane::fouling::FoulingState;
use crate::observe::{Event, EventKind, MembraneNow, Observer, Part, Sample, Totals};
use crate::outlet::{Header, Role};
use crate::plant::MOST_OUTLETS;
use crate::quality::Constituent;
use crate::supply::MOST_SUPPLIES;
use crate::time::{Span, Time};

/// The weights of a step add up to one only to rounding: less missed service than this share of the time is none.
const ROUNDING: f64 = 1e-12;

impl Core<'_> {
    /// Tells rows and closes ticks of the open piece, up to and including an instant within it.
    pub(super) fn tell_up_to<O: Observer>(&mut self, piece: &Piece, until: Time, observer: &mut O) {
        if let Some(grid) = self.options.grid {
            let mut row = next_multiple(self.state.reached, grid);
            let mut from = piece.start.max(row - grid);
            while row <= until {
                self.close_ticks(piece, row, observer);
                self.note_row_low(piece, from, row);
                let totals = self.totals_at(piece, row);
                self.with_sample(piece, row, &totals, |sample| observer.row(sample));
                self.state.row_low_kpa = f64::MAX;
                from = row;
                row += grid;
            }
            // A cut before the end of the piece leaves this for when the piece is told to its end.
            if until == piece.end {
                self.note_row_low(piece, from, until);
            }
        }
        self.close_ticks(piece, until, observer);
    }

    /// Closes every tick that ends after what has been reached, up to an instant: follows the heaters over it, and closes its
    /// energy account.
    fn close_ticks<O: Observer>(&mut self, piece: &Piece, until: Time, observer: &mut O) {
        let tick = self.options.tick;
        let mut end = next_multiple(self.state.reached, tick);
        let totals = &self.state.totals;
        let (before_j, lamps_w) = (totals.energy_j() - totals.heaters_j, self.hydraulics.lamps_w(&self.state.mode));
        let pumps = self.hydraulics.plant.supplies.len();
        while end <= until {
            self.heat_up_to(piece, end, observer);
            let lamps_j = lamps_w * (end - piece.start).s();
            let energy = |i| piece.port_at(of_supply(i, SupplyPort::Energy), end);
            let total_j = before_j
                + piece.port_at(DELIVERY_J, end)
                + piece.port_at(MEMBRANE_J, end)
                + (0..pumps).map(energy).sum::<f64>()
                + lamps_j
                + self.state.heat.hot.electric_j();
            let tally = &mut self.state.tally;
            tally.highest_tick_w = tally.highest_tick_w.max((total_j - tally.tick_j) / tick.s());
            tally.tick_j = total_j;
            if self.follows_power() {
                self.close_power_in(piece, end);
            }
            end += tick;
        }
        self.state.reached = self.state.reached.max(until);
    }

    /// Keeps the lowest pressure to the buildings since the last row.
    fn note_row_low(&mut self, piece: &Piece, from: Time, to: Time) {
        let (at_from, at_to) = (piece.levels_at(from), piece.levels_at(to));
        let low_kpa = self.lowest_house_kpa(piece, (from, &at_from), (to, &at_to));
        self.state.row_low_kpa = self.state.row_low_kpa.min(low_kpa);
    }

    fn with_sample(&self, piece: &Piece, time: Time, totals: &Totals, tell: impl FnOnce(&Sample<'_>)) {
        let (mode, levels) = (&self.state.mode, piece.levels_at(time));
        let (hydraulics, supplies) = (&self.hydraulics, self.hydraulics.plant.supplies.len());
        let waters = self.waters_at(piece, time);
        tell(&Sample {
            time,
            raw_kpa: hydraulics.raw_kpa(mode, &self.demand, &levels),
            sources: core::array::from_fn(|i| levels[SOURCE + i]),
            pump_on: core::array::from_fn(|i| i < supplies && hydraulics.runs(i, mode)),
            starts: self.state.tally.supplies.map(|supply| supply.starts),
            storage_l: levels[STORAGE],
            delivery_kpa: hydraulics.delivery_kpa(mode, &self.demand, &levels),
            lowest_house_kpa: self.state.row_low_kpa,
            wanted_lps: self.demand.lps.iter().sum(),
            carried: waters.ends[hydraulics.plant.house_header() as usize],
            sources_carry: core::array::from_fn(|i| waters.held[SOURCE + i]),
            raw_carries: waters.ends[Header::Raw as usize],
            ponds: self.state.ponds,
            membrane: self.membrane_now(&waters),
            hot_water: &self.state.heat.hot,
            stored_j: self.state.power.charge.energy_j,
            totals,
        });
    }

    /// The membrane unit with these waters.
    pub(super) fn membrane_now(&self, waters: &Waters) -> MembraneNow {
        let [loop_salt_mg_l, product_salt_mg_l] =
            [&waters.looped, &waters.product].map(|water| water[Constituent::Salt as usize]);
        MembraneNow { on: self.state.mode.membrane.phase.makes(), loop_salt_mg_l, product_salt_mg_l }
    }

    /// What the water carries at an instant within the open piece.
    pub(super) fn waters_at(&self, piece: &Piece, time: Time) -> Waters {
        let mut waters = self.state.waters.clone();
        if time > piece.start {
            let ports = piece.ports_at(&self.hydraulics, &self.state.mode, time);
            let (hydraulics, mode, demand) = (&self.hydraulics, &self.state.mode, &self.demand);
            let (to, length) = (&piece.levels_at(time), time - piece.start);
            waters.advance(&Passage { hydraulics, mode, demand, ports: &ports, from: &piece.levels, to, length });
        }
        waters
    }

    /// How far the membrane has fouled after a part of the open piece.
    pub(super) fn fouled(&self, ports: &Ports, length: Span) -> FoulingState {
        self.context().fouled(ports, length)
    }

    /// The totals at an instant within the open piece.
    pub(super) fn totals_at(&self, piece: &Piece, time: Time) -> Totals {
        let mut totals = self.state.totals;
        let ports = piece.ports_at(&self.hydraulics, &self.state.mode, time);
        self.add(&mut totals, &ports, time - piece.start);
        totals
    }

    fn add(&self, totals: &mut Totals, ports: &Ports, length: Span) {
        totals.filled_l += ports[FILLED];
        totals.taken_l += ports[TAKEN];
        self.add_membrane(totals, ports, length);
        totals.spilled_l += ports[SPILLED];
        totals.drawn_l += ports[DRAWN];
        totals.raw_kpa_s += ports[RAW_KPA_S];
        totals.delivery_kpa_s += ports[DELIVERY_KPA_S];
        totals.delivery_j += ports[DELIVERY_J];
        totals.lamps_j += self.hydraulics.lamps_w(&self.state.mode) * length.s();
        totals.heaters_j = self.state.heat.hot.electric_j();
        for i in 0..self.hydraulics.plant.supplies.len() {
            let supply = &mut totals.supplies[i];
            supply.pumped_l += ports[of_supply(i, SupplyPort::Pumped)];
            supply.inflow_l += ports[of_supply(i, SupplyPort::Inflow)];
            supply.topped_up_l += ports[of_supply(i, SupplyPort::ToppedUp)];
            supply.leaked_back_l += ports[of_supply(i, SupplyPort::LeakedBack)];
            supply.spilled_l += ports[of_supply(i, SupplyPort::Overflowed)];
            let hour = &self.state.mode.supplies[i].hour;
            supply.rain_l += hour.rain_lps * length.s();
            supply.runoff_l += hour.runoff_lps * length.s();
            supply.evaporated_l += hour.evaporates_lps * length.s();
            supply.seeped_l += hour.seeps_lps * length.s();
            supply.pump_j += ports[of_supply(i, SupplyPort::Energy)];
            if self.hydraulics.runs(i, &self.state.mode) {
                supply.run_s = (self.state.tally.supplies[i].run + length).s();
            }
        }
        for i in 0..self.hydraulics.plant.outlets.len() {
            let served_s = ports[SERVED + i];
            let outlet = &mut totals.outlets[i];
            outlet.delivered_l += self.demand.lps[i] * served_s;
            let missed_s = length.s() - served_s;
            if missed_s > ROUNDING * length.s() {
                outlet.lost_l += self.state.wanted[i].timed.lps() * missed_s;
            }
        }
    }

    fn add_membrane(&self, totals: &mut Totals, ports: &Ports, length: Span) {
        let (phase, made) = (self.state.mode.membrane.phase, &mut totals.membrane);
        made.product_l += ports[PRODUCT];
        made.recycled_l += ports[RECYCLED];
        made.product_salt_g += ports[PRODUCT_SALT];
        made.pump_j += ports[MEMBRANE_J];
        made.blended_l += ports[BLENDED];
        if phase.makes() {
            made.run_s += length.s();
        } else if self.hydraulics.membrane.is_some() {
            made.flushed_l += ports[TAKEN];
        }
        if phase == Phase::Diverts {
            made.diverted_l += ports[PRODUCT];
        }
        if let Some(supply) = self.hydraulics.reject_basin(&self.state.mode) {
            totals.supplies[supply].returned_l += ports[TAKEN] - ports[FILLED];
        }
    }

    /// Makes the end of the piece the present.
    pub(super) fn commit(&mut self, piece: &Piece) -> Result<(), EngineError> {
        let (end, length) = (piece.end, piece.end - piece.start);
        let levels = piece.levels_at(end);
        for (value, part) in levels.into_iter().zip([
            Part::PressureTank,
            Part::Storage,
            Part::Delivery,
            Part::Source(0),
            Part::Source(1),
            Part::Source(2),
        ]) {
            if !value.is_finite() {
                return Err(EngineError::NotFinite { time: end, part, value });
            }
        }
        let ports = piece.ports_at(&self.hydraulics, &self.state.mode, end);
        let mut totals = self.state.totals;
        self.add(&mut totals, &ports, length);
        self.state.totals = totals;
        let lows = self.lows(piece, end, &levels);
        let supplies = self.hydraulics.plant.supplies.len();
        let runs: [bool; MOST_SUPPLIES] =
            core::array::from_fn(|i| i < supplies && self.hydraulics.runs(i, &self.state.mode));
        let (hydraulics, mode, demand) = (&self.hydraulics, &self.state.mode, &self.demand);
        let passage = Passage { hydraulics, mode, demand, ports: &ports, from: &piece.levels, to: &levels, length };
        self.state.waters.advance(&passage);
        self.state.fouling = self.fouled(&ports, length);
        let tally = &mut self.state.tally;
        tally.note(&lows);
        for (supply, _) in tally.supplies.iter_mut().zip(runs).filter(|(_, runs)| *runs) {
            supply.run += length;
        }
        tally.work.steps += self.steps;
        tally.work.rejected += self.rejected;
        self.delay_volume_draws(&ports, length);
        self.state.levels = levels;
        self.state.step_s = self.next_step_s;
        self.state.settling_s = self.next_settling_s;
        self.state.beside_s = self.next_beside_s;
        self.state.time = end;
        Ok(())
    }

    /// Lowest and highest levels and pressures of a piece up to an instant, where the levels are `to`.
    pub(super) fn lows(&self, piece: &Piece, until: Time, to: &Levels) -> Lows {
        let storage = piece.extremes(STORAGE, until, to[STORAGE]);
        let sources = core::array::from_fn(|i| {
            if i < self.hydraulics.plant.supplies.len() {
                piece.extremes(SOURCE + i, until, to[SOURCE + i])
            } else {
                Extremes { least: 0.0, least_at: until, most: 0.0 }
            }
        });
        let lowest = |header| self.lowest_kpa(header, piece, (piece.start, &piece.levels), (until, to));
        let house = self.hydraulics.plant.house_header();
        let house_kpa = lowest(house);
        let mut tap_kpa = [f64::MAX; MOST_OUTLETS];
        for (i, outlet) in self.hydraulics.plant.outlets.iter().enumerate() {
            if outlet.role == Role::Building && self.demand.lps[i] > 0.0 {
                let kpa = if outlet.header == house { house_kpa } else { lowest(outlet.header) };
                let end_kpa =
                    self.hydraulics.end_kpa(outlet.header, kpa, &self.state.mode, &self.demand, &piece.levels);
                tap_kpa[i] = self.hydraulics.tap_kpa(i, kpa, end_kpa, &self.demand);
            }
        }
        Lows { sources, storage, house_kpa, tap_kpa }
    }

    fn lowest_house_kpa(&self, piece: &Piece, from: (Time, &Levels), to: (Time, &Levels)) -> f64 {
        self.lowest_kpa(self.hydraulics.plant.house_header(), piece, from, to)
    }

    /// Lowest pressure on a header between two instants of a piece, with the levels there.
    fn lowest_kpa(
        &self,
        header: Header,
        piece: &Piece,
        (from, at_from): (Time, &Levels),
        (to, at_to): (Time, &Levels),
    ) -> f64 {
        let (hydraulics, mode) = (&self.hydraulics, &self.state.mode);
        let (level, solved) = match header {
            Header::Delivery => (SMALL, mode.small_empty),
            Header::Raw => (TANK, hydraulics.giving_tank(mode).is_none()),
        };
        let kpa = |levels: &Levels| hydraulics.header_kpa(header, mode, &self.demand, levels);
        if solved {
            return kpa(at_from).min(kpa(at_to));
        }
        let mut levels = *at_from;
        levels[level] = piece.least_between(level, (from, to), (at_from[level], at_to[level]));
        kpa(&levels)
    }

    pub(super) fn tell<O: Observer>(&self, observer: &mut O, part: Part, kind: EventKind, value: f64) {
        observer.event(&Event { time: self.state.time, part, kind, value });
    }

    /// What an outlet gets just now.
    pub(super) fn flow_to_lps(&self, outlet: usize) -> f64 {
        let flows = self.hydraulics.flows_now(&self.state.mode, &self.demand, &self.state.levels);
        self.demand.lps[outlet] * flows.ports[SERVED + outlet]
    }
}

/// What a piece brings to the extremes of a run.
pub(super) struct Lows {
    sources: [Extremes; MOST_SUPPLIES],
    storage: Extremes,
    house_kpa: f64,
    tap_kpa: [f64; MOST_OUTLETS],
}

impl Tally {
    pub(super) fn note(&mut self, lows: &Lows) {
        for (supply, source) in self.supplies.iter_mut().zip(&lows.sources) {
            supply.deepest_drawdown_m = supply.deepest_drawdown_m.max(source.most);
            if source.least < supply.lowest_l {
                supply.lowest_l = source.least;
                supply.lowest_at = source.least_at;
            }
        }
        self.lowest_house_kpa = self.lowest_house_kpa.min(lows.house_kpa);
        for (lowest, tap) in self.lowest_tap_kpa.iter_mut().zip(lows.tap_kpa) {
            *lowest = lowest.min(tap);
        }
        if lows.storage.least < self.lowest_storage_l {
            self.lowest_storage_l = lows.storage.least;
            self.lowest_storage_at = lows.storage.least_at;
        }
    }
}

/// The first multiple of a positive `grid` after an instant.
fn next_multiple(after: Time, grid: Span) -> Time {
    Time::from_ns((after.ns().div_euclid(grid.ns()) + 1).saturating_mul(grid.ns()))
}
