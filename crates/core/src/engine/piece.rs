//! A piece of the trajectory: one closed form where all rates are constant, or one step, Runge-Kutta or implicit.
//!
//! Either gives the levels and ports at any instant of the piece, so rows, ticks, saves and the end of a run read it
//! without cutting it. Ports come from the same weights as levels, hence the ledger closes at any instant.

use std::array;

use super::flows::{Flows, Hydraulics};
use super::lines::Demand;
use super::mode::Mode;
use super::quartic::Quartic;
use super::rk;
use super::state::{
    DELIVERY_KPA_S, LEVELS, Levels, Ports, RAW_KPA_S, SERVED, SMALL, SOURCE, SupplyPort, TANK, of_supply,
};
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
    pub levels: Levels,
    pub form: Form,
    /// Rates at the start, then at the further stages of a step; these mean nothing in a closed form.
    stages: [Flows; rk::STAGES],
    /// How each level rises over a step.
    rises: [Quartic; LEVELS],
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Form {
    /// Constant rates, but for what wells do and the pressures in tanks that fill or empty steadily.
    Closed { wells: [WellForm; MOST_SUPPLIES] },
    /// A Runge-Kutta step of this length, of which the piece may be a first part.
    Step { step: Span },
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
            levels: [0.0; _],
            form: Form::Step { step: Span::ZERO },
            stages: [Flows::NONE; _],
            rises: [Quartic([0.0; _]); _],
        }
    }

    /// Rates at the start.
    pub(super) fn flows(&self) -> &Flows {
        &self.stages[0]
    }

    /// Begins a piece at the present levels.
    pub(super) fn begin(&mut self, start: Time, levels: &Levels, rates: impl FnOnce(&mut Flows)) {
        self.start = start;
        self.levels = *levels;
        rates(&mut self.stages[0]);
    }

    /// Makes it one trial step of the embedded pair. Returns the error, in litres.
    pub(super) fn try_step(&mut self, hydraulics: &Hydraulics<'_>, mode: &Mode, demand: &Demand, step: Span) -> f64 {
        let h = step.s();
        for (i, row) in rk::A.iter().enumerate() {
            let mut at = self.levels;
            let (known, next) = self.stages.split_at_mut(i + 1);
            for (a, stage) in row.iter().zip(known) {
                for (level, rate) in at.iter_mut().zip(&stage.levels) {
                    *level += h * a * rate;
                }
            }
            hydraulics.flows(mode, demand, &at, &mut next[0]);
        }
        let mut error_l = 0.0_f64;
        for (i, litres) in hydraulics.litres_per_level.iter().enumerate() {
            let sum: f64 = rk::E.iter().zip(&self.stages).map(|(e, stage)| e * stage.levels[i]).sum();
            error_l = error_l.max((h * sum * litres).abs());
        }
        // What comes to an outlet may change while no level moves.
        for (i, lps) in demand.lps[..hydraulics.plant.outlets.len()].iter().enumerate() {
            if *lps > 0.0 && self.stages[0].ports[SERVED + i] < 1.0 {
                let sum: f64 = rk::E.iter().zip(&self.stages).map(|(e, stage)| e * stage.ports[SERVED + i]).sum();
                error_l = error_l.max((h * sum * lps).abs());
            }
        }
        error_l
    }

    /// Takes the step last tried.
    pub(super) fn take_step(&mut self, step: Span) {
        self.form = Form::Step { step };
        self.end = self.start + step;
        self.rises = array::from_fn(|level| self.rise(step, |flows| flows.levels[level]));
    }

    /// Takes a step over which all rates are the same.
    pub(super) fn take_constant(&mut self, step: Span, flows: &Flows) {
        self.stages.fill(*flows);
        self.take_step(step);
    }

    /// How the time integral of a rate rises over a step.
    fn rise(&self, step: Span, rate: impl Fn(&Flows) -> f64) -> Quartic {
        rk::polynomial(&array::from_fn(|stage| step.s() * rate(&self.stages[stage])))
    }

    /// How a level rises over a step.
    pub(super) fn level_rise(&self, level: usize) -> &Quartic {
        &self.rises[level]
    }

    /// How the time integral of a port rises over a step.
    pub(super) fn port_rise(&self, step: Span, port: usize) -> Quartic {
        self.rise(step, |flows| flows.ports[port])
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
            Form::Step { step } => {
                let (h, weights) = (step.s(), rk::weights(s / step.s()));
                for (weight, stage) in weights.iter().zip(&self.stages) {
                    for (level, rate) in levels.iter_mut().zip(&stage.levels) {
                        *level += h * weight * rate;
                    }
                }
            }
        }
        levels
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
                if let Some(delivery) = hydraulics.delivery()
                    && small_lps != 0.0
                {
                    ports[DELIVERY_KPA_S] = pressure_integral_kpa_s(&delivery.tank, self.levels[SMALL], small_lps, s);
                }
                ports
            }
            Form::Step { step } => {
                let (h, weights) = (step.s(), rk::weights(s / step.s()));
                let mut ports: Ports = [0.0; _];
                let used = SERVED + hydraulics.plant.outlets.len();
                for (weight, stage) in weights.iter().zip(&self.stages) {
                    for (port, rate) in ports.iter_mut().zip(&stage.ports[..used]) {
                        *port += h * weight * rate;
                    }
                }
                ports
            }
        }
    }

    /// What has gone through one port; much cheaper than all of them. Not for pressures of a closed form.
    pub(super) fn port_at(&self, port: usize, time: Time) -> f64 {
        let s = (time - self.start).s();
        match &self.form {
            Form::Closed { .. } => self.flows().ports[port] * s,
            Form::Step { step } => {
                let weights = rk::weights(s / step.s());
                step.s() * weights.iter().zip(&self.stages).map(|(w, stage)| w * stage.ports[port]).sum::<f64>()
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
