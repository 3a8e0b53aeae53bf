//! A piece of the trajectory: one closed form where all rates are constant, or one step, Runge-Kutta or implicit.
//!
//! Either gives the levels and ports at any instant of the piece, so rows, ticks, saves and the end of a run read it
//! without cutting it. Ports come from the same weights as levels, hence the ledger closes at any instant.
//!
//! Where both sides of storage are apart each has its own form: a step of the raw side goes on over pieces that end for the sake
//! of the delivery side, beside rates there that are constant or steps of their own.

use std::array;

use serde::{Deserialize, Serialize};

use super::LONGEST_PIECE;
use super::flows::{Flows, Hydraulics, Side};
use super::lines::Demand;
use super::mode::Mode;
use super::quartic::Quartic;
use super::rk;
use super::state::{
    DELIVERY_J, DELIVERY_KPA_S, DRAWN, FILLED, LEVELS, Levels, Ports, RAW_KPA_S, SERVED, SMALL, SOURCE, STORAGE,
    SupplyPort, TANK, of_supply,
};
use crate::outlet::Header;
use crate::plant::Plant;
use crate::pressure_tank::PressureTank;
use crate::supply::MOST_SUPPLIES;
use crate::time::{Span, Time};

/// The trajectory from `start` to `end`. Nothing but levels and ports changes in between.
///
/// There is one, and it is made anew in its place: it is too large to be moved for every segment.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub start: Time,
    pub end: Time,
    /// Whether a rate changes its law there.
    pub ends_at_kink: bool,
    pub levels: Levels,
    pub form: Form,
    /// When the step began that the stages are of: the piece may be a later part of it. Its length.
    origin: Time,
    step: Span,
    /// Weights of its dense output at the start of the piece.
    gone: [f64; rk::STAGES],
    /// Rates where it began, then at its further stages; these mean nothing in a closed form.
    stages: [Flows; rk::STAGES],
    /// How each level rises over it.
    whole: [Quartic; LEVELS],
    beside: Beside,
    /// The stages of the delivery side, or its constant rates in the first.
    aside: [Flows; rk::STAGES],
    /// How each level rises from the start of the piece, over the length that the form says.
    rises: [Quartic; LEVELS],
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Form {
    /// Constant rates, but for what wells do and the pressures in tanks that fill or empty steadily.
    Closed { wells: [WellForm; MOST_SUPPLIES] },
    /// A Runge-Kutta step of this length, of which the piece may be a first part; or, where both sides have their own, so much
    /// of the trajectory that its end is not beyond that of either.
    Step { step: Span },
}

/// What the delivery side does beside a step of the raw side.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Beside {
    /// The step is of both.
    Nothing,
    /// Its rates are constant.
    Steady,
    /// It takes a step of its own of this length, from the start of the piece.
    Step { step: Span },
}

/// A step of the raw side that goes on, to be saved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Going {
    origin: Time,
    step: Span,
    levels: Vec<Levels>,
    ports: Vec<Vec<f64>>,
}

impl Going {
    /// Whether it can be under way at an instant.
    pub(super) fn fits(&self, time: Time) -> bool {
        let sound = |values: &[f64]| values.iter().all(|value| value.is_finite());
        (Time::ZERO..time).contains(&self.origin)
            && time - self.origin < self.step
            && self.step <= LONGEST_PIECE
            && self.levels.len() == rk::STAGES
            && self.ports.len() == rk::STAGES
            && self.levels.iter().all(|levels| sound(levels))
            && self.ports.iter().all(|ports| ports.len() == Flows::NONE.ports.len() && sound(ports))
    }
}

/// How drawdown moves under a constant pumped flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum WellForm {
    /// In proportion to time, or not at all.
    Linear,
    /// Toward a steady drawdown, with a time constant.
    Exponential { steady_m: f64, time_constant_s: f64, capacity_lps_per_m: f64 },
}

impl WellForm {
    fn drawdown_m(self, from_m: f64, rate: f64, s: f64) -> f64 {
        match self {
            Self::Linear => from_m + rate * s,
            Self::Exponential { steady_m, time_constant_s, .. } => {
                from_m + (steady_m - from_m) * -libm::expm1(-s / time_constant_s)
            }
        }
    }

    fn inflow_l(self, from_m: f64, rate_lps: f64, s: f64) -> f64 {
        match self {
            Self::Linear => rate_lps * s,
            Self::Exponential { steady_m, time_constant_s, capacity_lps_per_m } => {
                let settled_s = time_constant_s * -libm::expm1(-s / time_constant_s);
                capacity_lps_per_m * (steady_m * s + (from_m - steady_m) * settled_s)
            }
        }
    }
}

/// Time integral of a tank's pressure while it fills at a steady rate: `(C / r) ln(V_gas0 / V_gas1) - p_atm t`.
fn pressure_integral_kpa_s(tank: &PressureTank, water_l: f64, rate_lps: f64, s: f64) -> f64 {
    let gas_l = tank.volume_l - water_l;
    let shrink = rate_lps * s / gas_l;
    // ln(1 / (1 - x)) / x -> 1 + x / 2: the closed form loses its digits when hardly anything flows.
    let mean_over_start = if shrink.abs() < 1e-8 { 1.0 + 0.5 * shrink } else { -libm::log1p(-shrink) / shrink };
    (s * (tank.gas_kpa_l() / gas_l * mean_over_start - tank.atmospheric_kpa)).max(0.0)
}

impl Piece {
    /// A piece yet to be made.
    pub(super) fn new() -> Self {
        Self {
            start: Time::ZERO,
            end: Time::ZERO,
            ends_at_kink: false,
            levels: [0.0; _],
            form: Form::Step { step: Span::ZERO },
            origin: Time::ZERO,
            step: Span::ZERO,
            gone: [0.0; _],
            stages: [Flows::NONE; _],
            whole: [Quartic([0.0; _]); _],
            beside: Beside::Nothing,
            aside: [Flows::NONE; _],
            rises: [Quartic([0.0; _]); _],
        }
    }

    /// Rates at the start of a piece that begins anew, of both sides.
    pub(super) fn flows(&self) -> &Flows {
        &self.stages[0]
    }

    /// Share of its wanted flow that an outlet gets at the start.
    pub(super) fn share(&self, outlet: usize) -> f64 {
        let share = self.stages[0].ports[SERVED + outlet];
        // Each outlet is in the rates of its own side, and in those of the other it gets nothing.
        if self.beside == Beside::Nothing { share } else { share + self.aside[0].ports[SERVED + outlet] }
    }

    /// Begins a piece at the present levels.
    pub(super) fn begin(&mut self, start: Time, levels: &Levels, rates: impl FnOnce(&mut Flows)) {
        self.start = start;
        self.origin = start;
        self.levels = *levels;
        self.gone = [0.0; _];
        self.beside = Beside::Nothing;
        rates(&mut self.stages[0]);
    }

    /// Takes the delivery side out of the rates of a piece just begun.
    pub(super) fn set_apart(&mut self, plant: &Plant, delivery: impl FnOnce(&mut Flows)) {
        delivery(&mut self.aside[0]);
        let Flows { levels, ports } = &mut self.stages[0];
        levels[STORAGE] = ports[FILLED];
        levels[SMALL] = 0.0;
        for port in [DRAWN, DELIVERY_KPA_S, DELIVERY_J] {
            ports[port] = 0.0;
        }
        for (i, _) in plant.outlets.iter().enumerate().filter(|(_, outlet)| outlet.header == Header::Delivery) {
            ports[SERVED + i] = 0.0;
        }
    }

    /// Begins a piece at the present levels, a later part of the step of the raw side.
    pub(super) fn go_on(&mut self, start: Time, levels: &Levels, delivery: impl FnOnce(&mut Flows)) {
        self.start = start;
        self.levels = *levels;
        self.gone = rk::weights((start - self.origin).s() / self.step.s());
        self.beside = Beside::Steady;
        delivery(&mut self.aside[0]);
    }

    /// Whether its step goes on after the piece, if nothing changes on the raw side.
    pub(super) fn may_go_on(&self) -> bool {
        let apart = matches!(self.form, Form::Step { .. }) && self.beside != Beside::Nothing;
        apart && self.end < self.step_end() && !self.ends_at_kink
    }

    /// Whether an outlet gets all it wants at every stage of the step.
    pub(super) fn serves_all_along(&self, outlet: usize) -> bool {
        self.stages.iter().all(|stage| stage.ports[SERVED + outlet] == 1.0)
    }

    /// End of the step of the raw side.
    pub(super) fn step_end(&self) -> Time {
        self.origin + self.step
    }

    /// What must be saved of a piece that goes on with the step of one before it.
    pub(super) fn going(&self) -> Going {
        Going {
            origin: self.origin,
            step: self.step,
            levels: self.stages.iter().map(|stage| stage.levels).collect(),
            ports: self.stages.iter().map(|stage| stage.ports.to_vec()).collect(),
        }
    }

    /// Brings back the step of the raw side, to go on with.
    pub(super) fn restore(&mut self, going: &Going) {
        for ((stage, levels), ports) in self.stages.iter_mut().zip(&going.levels).zip(&going.ports) {
            stage.levels = *levels;
            stage.ports.copy_from_slice(ports);
        }
        self.origin = going.origin;
        self.note_step(going.step);
    }

    /// Makes it one trial step of the embedded pair. Returns the error, in litres.
    pub(super) fn try_step(
        &mut self,
        hydraulics: &Hydraulics<'_>,
        mode: &Mode,
        demand: &Demand,
        (side, step): (Side, Span),
    ) -> f64 {
        let h = step.s();
        let stages = if side == Side::Delivery { &mut self.aside } else { &mut self.stages };
        for (i, row) in rk::A.iter().enumerate() {
            let mut at = self.levels;
            let (known, next) = stages.split_at_mut(i + 1);
            for (a, stage) in row.iter().zip(known) {
                for (level, rate) in at.iter_mut().zip(&stage.levels) {
                    *level += h * a * rate;
                }
            }
            hydraulics.rates(side, mode, demand, &at, &mut next[0]);
        }
        let mut error_l = 0.0_f64;
        for (i, litres) in hydraulics.litres_per_level.iter().enumerate() {
            let sum: f64 = rk::E.iter().zip(&*stages).map(|(e, stage)| e * stage.levels[i]).sum();
            error_l = error_l.max((h * sum * litres).abs());
        }
        // What comes to an outlet may change while no level moves.
        for (i, lps) in demand.lps[..hydraulics.plant.outlets.len()].iter().enumerate() {
            if *lps > 0.0 && stages[0].ports[SERVED + i] < 1.0 {
                let sum: f64 = rk::E.iter().zip(&*stages).map(|(e, stage)| e * stage.ports[SERVED + i]).sum();
                error_l = error_l.max((h * sum * lps).abs());
            }
        }
        error_l
    }

    /// Takes the step last tried, of the raw side or both.
    pub(super) fn take_step(&mut self, step: Span) {
        self.note_step(step);
        self.form = Form::Step { step };
        self.end = self.start + step;
        self.rises = self.whole;
    }

    fn note_step(&mut self, step: Span) {
        self.step = step;
        self.whole = array::from_fn(|level| self.whole_rise(|flows| flows.levels[level]));
    }

    /// Takes constant rates of the delivery side beside the step, up to `end` at most.
    pub(super) fn take_steady(&mut self, end: Time) {
        self.take_beside(Beside::Steady, self.step_end() - self.start, end);
    }

    /// Takes the step of the delivery side last tried beside that of the raw side.
    pub(super) fn take_step_beside(&mut self, step: Span) {
        self.take_beside(Beside::Step { step }, step, self.start + step);
    }

    fn take_beside(&mut self, beside: Beside, length: Span, end: Time) {
        self.beside = beside;
        self.form = Form::Step { step: length };
        self.end = end.min(self.step_end());
        self.rises = array::from_fn(|level| {
            self.part(&self.whole[level], length).plus(&self.rise_beside(length, |flows| flows.levels[level]))
        });
    }

    /// A rise over the step from the start of the piece on, over a length of it.
    fn part(&self, whole: &Quartic, length: Span) -> Quartic {
        if self.start == self.origin && length == self.step {
            return *whole;
        }
        whole.part((self.start - self.origin).s() / self.step.s(), length.s() / self.step.s())
    }

    /// Takes a step over which all rates are the same.
    pub(super) fn take_constant(&mut self, step: Span, flows: &Flows) {
        self.stages.fill(*flows);
        self.take_step(step);
    }

    /// How the time integral of a rate rises over the step.
    fn whole_rise(&self, rate: impl Fn(&Flows) -> f64) -> Quartic {
        rk::polynomial(&array::from_fn(|stage| self.step.s() * rate(&self.stages[stage])))
    }

    /// The same of the delivery side from the start of the piece, over a length that is that of its step if it has one.
    fn rise_beside(&self, length: Span, rate: impl Fn(&Flows) -> f64) -> Quartic {
        match self.beside {
            Beside::Nothing => Quartic([0.0; _]),
            Beside::Steady => Quartic([length.s() * rate(&self.aside[0]), 0.0, 0.0, 0.0]),
            Beside::Step { step } => rk::polynomial(&array::from_fn(|stage| step.s() * rate(&self.aside[stage]))),
        }
    }

    /// What the stages of the step count for up to an instant of the piece, in seconds.
    fn weights_s(&self, time: Time) -> [f64; rk::STAGES] {
        let h = self.step.s();
        let weights = rk::weights((time - self.origin).s() / h);
        array::from_fn(|stage| h * (weights[stage] - self.gone[stage]))
    }

    /// The same of the delivery side, with how many of its stages count.
    fn weights_beside_s(&self, time: Time) -> ([f64; rk::STAGES], usize) {
        let s = (time - self.start).s();
        match self.beside {
            Beside::Nothing => ([0.0; _], 0),
            Beside::Steady => ([s, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0], 1),
            Beside::Step { step } => (rk::weights(s / step.s()).map(|weight| step.s() * weight), rk::STAGES),
        }
    }

    /// All stages that count up to an instant of the piece, with what they count for, in seconds.
    fn counted(&self, time: Time) -> impl Iterator<Item = (f64, &Flows)> {
        let (beside_s, count) = self.weights_beside_s(time);
        let raw = self.weights_s(time).into_iter().zip(&self.stages);
        raw.chain(beside_s.into_iter().zip(&self.aside[..count]))
    }

    /// How a level rises over a step.
    pub(super) fn level_rise(&self, level: usize) -> &Quartic {
        &self.rises[level]
    }

    /// How the time integral of a port rises over a step.
    pub(super) fn port_rise(&self, step: Span, port: usize) -> Quartic {
        let rate = |flows: &Flows| flows.ports[port];
        self.part(&self.whole_rise(rate), step).plus(&self.rise_beside(step, rate))
    }

    /// Levels at an instant within the piece.
    pub(super) fn levels_at(&self, time: Time) -> Levels {
        let s = (time - self.start).s();
        let mut levels = self.levels;
        match &self.form {
            Form::Closed { wells } => {
                let (tanks, sources) = levels.split_at_mut(SOURCE);
                let (tank_rates, source_rates) = self.flows().levels.split_at(SOURCE);
                for (level, rate) in tanks.iter_mut().zip(tank_rates) {
                    *level += rate * s;
                }
                for ((level, rate), well) in sources.iter_mut().zip(source_rates).zip(wells) {
                    *level = well.drawdown_m(*level, *rate, s);
                }
            }
            Form::Step { .. } => {
                for (seconds, stage) in self.counted(time) {
                    for (level, rate) in levels.iter_mut().zip(&stage.levels) {
                        *level += seconds * rate;
                    }
                }
            }
        }
        levels
    }

    /// One of the levels, to the bit as [`Self::levels_at`] has it.
    pub(super) fn level_at(&self, i: usize, time: Time) -> f64 {
        match &self.form {
            Form::Closed { .. } => self.levels_at(time)[i],
            Form::Step { .. } => {
                self.counted(time).fold(self.levels[i], |level, (seconds, stage)| level + seconds * stage.levels[i])
            }
        }
    }

    /// What has gone through every port from the start of the piece to an instant within it.
    pub(super) fn ports_at(&self, hydraulics: &Hydraulics<'_>, mode: &Mode, time: Time) -> Ports {
        let s = (time - self.start).s();
        match &self.form {
            Form::Closed { wells } => {
                let mut ports = self.flows().ports.map(|rate| rate * s);
                for (i, well) in wells.iter().enumerate() {
                    let inflow = of_supply(i, SupplyPort::Inflow);
                    ports[inflow] = well.inflow_l(self.levels[SOURCE + i], self.flows().ports[inflow], s);
                }
                let (tank_lps, small_lps) = (self.flows().levels[TANK], self.flows().levels[SMALL]);
                if let Some(tank) = hydraulics.giving_tank(mode)
                    && tank_lps != 0.0
                {
                    ports[RAW_KPA_S] = pressure_integral_kpa_s(tank, self.levels[TANK], tank_lps, s);
                }
                self.add_small_kpa_s(hydraulics, small_lps, s, &mut ports);
                ports
            }
            Form::Step { .. } => {
                let mut ports: Ports = [0.0; _];
                for (seconds, stage) in self.counted(time) {
                    // Unused ones too: a loop of fixed length takes several at once.
                    for (port, rate) in ports.iter_mut().zip(&stage.ports) {
                        *port += seconds * rate;
                    }
                }
                if self.beside == Beside::Steady {
                    self.add_small_kpa_s(hydraulics, self.aside[0].levels[SMALL], s, &mut ports);
                }
                ports
            }
        }
    }

    /// The time integral of the pressure in the small tank, where it fills or empties steadily.
    fn add_small_kpa_s(&self, hydraulics: &Hydraulics<'_>, small_lps: f64, s: f64, ports: &mut Ports) {
        if let Some(delivery) = hydraulics.delivery()
            && small_lps != 0.0
        {
            ports[DELIVERY_KPA_S] = pressure_integral_kpa_s(&delivery.tank, self.levels[SMALL], small_lps, s);
        }
    }

    /// What has gone through one port; much cheaper than all of them. Not for pressures of a closed form.
    pub(super) fn port_at(&self, port: usize, time: Time) -> f64 {
        match &self.form {
            Form::Closed { .. } => self.flows().ports[port] * (time - self.start).s(),
            Form::Step { .. } => {
                let weights = rk::weights((time - self.origin).s() / self.step.s());
                let raw = weights.iter().zip(&self.gone).zip(&self.stages);
                let passed = self.step.s() * raw.map(|((w, gone), stage)| (w - gone) * stage.ports[port]).sum::<f64>();
                if self.beside == Beside::Nothing {
                    return passed;
                }
                let (beside_s, count) = self.weights_beside_s(time);
                let beside = beside_s.iter().zip(&self.aside[..count]);
                passed + beside.map(|(seconds, stage)| seconds * stage.ports[port]).sum::<f64>()
            }
        }
    }

    /// Least and most of a level between the start and `until`, where it is `to`; with when the least was.
    pub(super) fn extremes(&self, level: usize, until: Time, to: f64) -> Extremes {
        let from = self.levels[level];
        let mut found = if to < from {
            Extremes { least: to, least_at: until, most: from }
        } else {
            Extremes { least: from, least_at: self.start, most: to }
        };
        if let Form::Step { step } = &self.form {
            let rise = self.rises[level];
            let last = (until - self.start).s() / step.s();
            for theta in rise.turning_points(last) {
                let value = from + rise.value(theta);
                if value < found.least {
                    found.least = value;
                    found.least_at = self.start + Span::from_s(theta * step.s());
                }
                found.most = found.most.max(value);
            }
        }
        found
    }
}

impl Piece {
    /// Least of a level between two instants of the piece, at which it is `ends`.
    pub(super) fn least_between(&self, level: usize, (from, to): (Time, Time), ends: (f64, f64)) -> f64 {
        let mut least = ends.0.min(ends.1);
        if let Form::Step { step } = &self.form {
            // The same turning points whatever the instants, so that a cut in between changes nothing.
            for theta in self.rises[level].turning_points(1.0) {
                let time = self.start + Span::from_s(theta * step.s());
                if from < time && time < to {
                    least = least.min(self.levels[level] + self.rises[level].value(theta));
                }
            }
        }
        least
    }
}

/// Least and most of a level over a piece.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extremes {
    pub least: f64,
    pub least_at: Time,
    pub most: f64,
}
