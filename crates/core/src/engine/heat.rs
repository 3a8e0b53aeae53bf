//! Hot water along a run. It follows the water over every tick, and within one over every piece in which warm water is drawn.
//!
//! Nothing here is read by the water side but the electricity; so a plant with heaters pumps what it pumps without, but for where a
//! battery or a generator feeds both.

use serde::{Deserialize, Serialize};

use super::Core;
use super::piece::Piece;
use super::state::{Active, DELIVERY_J, MEMBRANE_J, SERVED, STORAGE, SupplyPort, of_supply};
use crate::hot_water::HeaterPlace;
use crate::hot_water::follow::{HotState, Surroundings};
use crate::hot_water::tap::{WarmDraw, is_felt};
use crate::moist_air::MoistAir;
use crate::observe::Observer;
use crate::plant::Plant;
use crate::quality::Constituent;
use crate::supply::Source;
use crate::time::{Span, Time};

/// No step of the heaters is longer.
const LONGEST_STEP: Span = Span::MINUTE;

/// What changes in the hot water of a run.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Heat {
    /// Followed up to here.
    pub time: Time,
    /// Heaters and rooms.
    pub hot: HotState,
    /// Electricity of the pumps that stand in a room, up to `time`.
    pumps_j: f64,
}

impl Heat {
    pub(super) fn at_start(plant: &Plant) -> Self {
        Self { hot: HotState::at_start(&plant.hot_water), ..Self::default() }
    }

    /// Whether it can be one of a plant.
    pub(super) fn fits(&self, plant: &Plant) -> bool {
        let hot_water = &plant.hot_water;
        self.hot.heaters.len() == hot_water.heaters.len()
            && self.hot.rooms.len() == hot_water.rooms.len()
            && self.hot.electric_j().is_finite()
            && self.hot.heaters.iter().zip(&hot_water.heaters).all(|(run, of)| run.fits(of))
            && self.hot.rooms.iter().all(|room| room.state.temp_c.is_finite() && room.state.humidity_kg_kg.is_finite())
    }
}

impl Core<'_> {
    /// Follows heaters and rooms up to an instant of the open piece.
    pub(super) fn heat_up_to<O: Observer>(&mut self, piece: &Piece, to: Time, observer: &mut O) {
        if !self.hydraulics.plant.hot_water.is_empty() {
            let mut heat = core::mem::take(&mut self.state.heat);
            self.follow_heat(&mut heat, piece, to, observer);
            self.state.heat = heat;
        }
    }

    /// The same at the end of the piece, if a later step could not make up for it: if warm water was drawn or the power goes.
    pub(super) fn heat_to_end<O: Observer>(&mut self, piece: &Piece, observer: &mut O) {
        let edge = self.edges.get(self.state.edges).is_some_and(|edge| edge.time <= piece.end);
        let heaters = &self.hydraulics.plant.hot_water.heaters;
        let warm = |active: &Active| {
            active.draw.warmth.temp_c().is_some() && heaters.iter().any(|it| it.outlet == active.draw.outlet)
        };
        let out = self.state.mode.faults.power_out && self.hydraulics.plant.power.has_backup();
        if edge || out || !heaters.is_empty() && self.state.active.iter().any(warm) {
            self.heat_up_to(piece, piece.end, observer);
        }
    }

    /// Lets the heat of a run pass up to an instant of the open piece.
    pub(super) fn follow_heat<O: Observer>(&self, heat: &mut Heat, piece: &Piece, to: Time, observer: &mut O) {
        if self.hydraulics.plant.hot_water.is_empty() {
            return;
        }
        // What was left of pieces before this one: no warm water was drawn in them.
        while heat.time < piece.start.min(to) {
            let until = piece.start.min(to).min(heat.time + LONGEST_STEP);
            self.step_heat(heat, (piece, piece.start), until, observer);
        }
        while heat.time < to {
            let until = to.min(heat.time + LONGEST_STEP);
            self.step_heat(heat, (piece, until), until, observer);
        }
    }

    /// One step, over which pumps take what they take up to `pumped` in the mean.
    fn step_heat<O: Observer>(&self, heat: &mut Heat, (piece, pumped): (&Piece, Time), to: Time, observer: &mut O) {
        let (state, plant) = (&self.state, self.hydraulics.plant);
        let (from, span) = (heat.time, to - heat.time);
        let seconds = span.s();
        let pumps_j = self.room_pumps_j(piece, pumped);
        let pumps_w = (pumps_j - heat.pumps_j) / (pumped - from).s();
        let temp_c = |carried: &[f64]| carried[Constituent::Temperature as usize];
        let at = Surroundings {
            time: from,
            seconds,
            power: state.mode.has_power(),
            electric_heat: self.electric_heat(),
            one_motor: state.mode.power.one_motor,
            surplus_w: self.surplus_w(from),
            outdoors: self.outdoors(from),
            pumps_w,
            storage_c: plant.store.as_ref().map(|_| temp_c(&state.waters.held[STORAGE])),
        };
        let is_now = from >= piece.start;
        let draws = |heater: &HeaterPlace| {
            let outlet = heater.outlet;
            let active: &[Active] = if is_now { &state.active } else { &[] };
            let wanted = active.iter().filter(move |active| active.draw.outlet == outlet);
            let share = if wanted.clone().next().is_some() {
                let served_l = piece.port_at(SERVED + outlet, to) - piece.port_at(SERVED + outlet, from);
                // Heaters of one building share what it draws.
                let heaters = plant.hot_water.heaters.iter().filter(|other| other.outlet == outlet).count();
                served_l / seconds / f64::from(u32::try_from(heaters).unwrap_or(u32::MAX))
            } else {
                0.0
            };
            let wanted = wanted.filter(move |_| share > 0.0).filter_map(move |Active { draw, .. }| {
                Some(WarmDraw {
                    flow_lps: draw.flow.lps() * share,
                    wanted_c: draw.warmth.temp_c()?,
                    felt: is_felt(draw),
                })
            });
            (wanted, temp_c(&state.waters.ends[plant.outlets[outlet].header as usize]))
        };
        plant.hot_water.step(&mut heat.hot, &at, draws, observer);
        heat.pumps_j += pumps_w * seconds;
        heat.time = to;
    }

    /// Whether compressors and elements have power, and no motor that comes before them has it.
    fn electric_heat(&self) -> bool {
        let mode = &self.state.mode;
        let waits = mode.power.one_motor && (self.hydraulics.big_pump_runs(mode) || mode.membrane.phase.makes());
        mode.power.heaters && !waits
    }

    /// Electricity of all pumps up to an instant of the open piece, but of those down a well: they warm its water.
    fn room_pumps_j(&self, piece: &Piece, time: Time) -> f64 {
        let (plant, totals) = (self.hydraulics.plant, &self.state.totals);
        if plant.hot_water.rooms.iter().all(|room| room.pumps_share <= 0.0) {
            return 0.0;
        }
        let in_rooms = plant.supplies.iter().enumerate().filter(|(_, it)| matches!(it.source, Source::Basin { .. }));
        let supplies_j = in_rooms
            .map(|(i, _)| totals.supplies[i].pump_j + piece.port_at(of_supply(i, SupplyPort::Energy), time))
            .sum::<f64>();
        supplies_j
            + totals.delivery_j
            + totals.membrane.pump_j
            + piece.port_at(DELIVERY_J, time)
            + piece.port_at(MEMBRANE_J, time)
    }

    /// The air outdoors, where the weather is known.
    fn outdoors(&self, time: Time) -> Option<MoistAir> {
        let hour = usize::try_from(time.ns().div_euclid(Span::HOUR.ns())).ok()?;
        let weather = self.outside.weather.get(hour)?;
        let room = self.hydraulics.plant.hot_water.rooms.first()?;
        Some(MoistAir::with_dew_point(weather.air_c, weather.dew_point_c, room.around.pressure_kpa))
    }
}
