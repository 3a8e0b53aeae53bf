//! What happens at an instant: incidents, inflows, draws that end and start, controls; in that order, until all is at rest.

use super::carry::falls_short;
use super::faults::{Faults, told, under_way};
use super::flows::{Flows, Side};
use super::guard::{Guards, Quantity};
use super::piece::Piece;
use super::state::{Active, Ports, SERVED, TANK};
use super::tally::{SHORT_CYCLE, SPELL_AFTER};
use super::{Core, EngineError};
use crate::draw::{Draw, DrawKind, Flow, MOST_FLOW_LPS};
use crate::incident::IncidentKind;
use crate::observe::{EventKind, Observer, Part, Trouble};
use crate::outlet::{Header, Role};
use crate::quality::Constituent;
use crate::supply::MOST_SUPPLIES;
use crate::time::{Span, Time};

/// Changes at one instant before the controls count as not settling.
const MOST_CHANGES: u32 = 200;

impl Core<'_> {
    /// Brings everything due at the present instant about.
    pub(super) fn settle<O: Observer, D: Iterator<Item = Draw>>(
        &mut self,
        draws: &mut D,
        observer: &mut O,
    ) -> Result<(), EngineError> {
        self.refresh_membrane();
        let ran = self.running();
        let solved_kpa = self.hydraulics.raw_kpa(&self.state.mode, &self.demand, &self.state.levels);
        let mut changed =
            self.pass_edges(observer) | self.pass_power(observer) | self.pass_inflows() | self.pass_weather();
        // The tank's gauge, where it stands on its own: a main may have fed the header, or the tank just lost its air.
        let kpa = match (&self.hydraulics.tank, self.state.mode.tank_empty) {
            (Some(tank), false) => tank.pressure_kpa(self.state.levels[TANK]),
            _ => solved_kpa,
        };
        changed |= self.end_draws(observer) | self.start_draws(draws, observer)?;
        self.refresh_demand(changed);
        let mut changes = 0;
        while self.act(observer) {
            changed = true;
            changes += 1;
            if changes > MOST_CHANGES {
                return Err(EngineError::Unsettled { time: self.state.time });
            }
        }
        for (i, was_on) in ran.into_iter().enumerate().take(self.hydraulics.plant.supplies.len()) {
            self.count_start_or_stop(i, was_on && self.state.reached >= Time::ZERO, kpa, observer);
        }
        self.tell_service(observer);
        self.state.tally.work.segments += u64::from(changed);
        Ok(())
    }

    fn running(&self) -> [bool; MOST_SUPPLIES] {
        let supplies = self.hydraulics.plant.supplies.len();
        core::array::from_fn(|i| i < supplies && self.hydraulics.runs(i, &self.state.mode))
    }

    /// What follows from wanted flows, faults and what treatment has caught.
    fn refresh_demand(&mut self, changed: bool) {
        let (state, hydraulics) = (&self.state, &self.hydraulics);
        let caught_g = || self.state.waters.stages.map(|stage| stage.caught_g);
        if changed {
            self.demand = hydraulics.demand(&state.wanted, &state.mode, &state.levels, &caught_g());
        } else if !self.hydraulics.plant.stages.is_empty() {
            hydraulics.refresh_lines(&mut self.demand, &state.mode, &state.levels, &caught_g());
        }
    }

    /// Ends and begins incidents.
    fn pass_edges<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, first) = (self.state.time, self.state.edges);
        let due = self.edges[first..].iter().take_while(|edge| edge.time <= now).count();
        if due == 0 {
            return false;
        }
        self.state.edges += due;
        let before = self.state.mode.faults;
        self.state.mode.faults = Faults::at(&self.outside.incidents, now);
        self.refill_gas(before.air_share);
        self.end_cleaning(before.cleaning);
        self.end_changes(before.changing);
        for index in first..first + due {
            let kind = self.outside.incidents[self.edges[index].incident].kind;
            let same = |other: IncidentKind| told(other).0 == told(kind).0 && told(other).1 == told(kind).1;
            let edges = &self.edges[first..index];
            if edges.iter().any(|edge| same(self.outside.incidents[edge.incident].kind)) {
                continue;
            }
            let mut incidents = self.outside.incidents.iter().filter(|incident| same(incident.kind));
            // Nothing has been told before the first instant.
            let was = first > 0 && incidents.clone().any(|it| it.start < now && now <= it.end);
            let is = incidents.any(|incident| under_way(incident, now));
            let (part, trouble, figure) = told(kind);
            if is && !was {
                self.tell(observer, part, EventKind::IncidentBegins(trouble), figure);
            } else if was && !is {
                let left = if trouble == Trouble::Cleaning { self.state.fouling.water_factor } else { 0.0 };
                self.tell(observer, part, EventKind::IncidentEnds(trouble), left);
            }
        }
        true
    }

    /// Puts the gas in the pressure tank that the faults leave there. Where that is more than before, the tank is drained to
    /// the pressure it had, as when it is recharged.
    fn refill_gas(&mut self, share_before: f64) {
        let share = self.state.mode.faults.air_share;
        #[expect(clippy::float_cmp, reason = "the share is set, not computed")]
        if share == share_before {
            return;
        }
        let water_l = self.state.levels[TANK];
        // The tank's own pressure: it may be isolated from the header.
        let kpa = self.hydraulics.tank.as_ref().map_or(0.0, |tank| tank.pressure_kpa(water_l));
        self.hydraulics.set_air(share);
        if let Some(tank) = self.hydraulics.tank.as_ref().filter(|_| share > share_before) {
            let left_l = tank.water_l(kpa).max(self.hydraulics.tank_least_l).min(water_l);
            self.state.waters.drain_tank(water_l - left_l);
            self.state.totals.drained_l += water_l - left_l;
            self.state.levels[TANK] = left_l;
        }
    }

    fn pass_inflows(&mut self) -> bool {
        let first = self.state.inflows;
        while let Some(inflow) = self.outside.inflows.get(self.state.inflows)
            && inflow.time <= self.state.time
        {
            self.state.mode.supplies[inflow.supply].roof_lps = inflow.flow_lps;
            self.state.inflows += 1;
        }
        self.state.inflows != first
    }

    /// Tells what has come due since it was last looked at: at most an hour late, the length of a piece.
    fn tell_service<O: Observer>(&mut self, observer: &mut O) {
        for (i, stage) in self.hydraulics.plant.stages.iter().enumerate() {
            let totals = &self.state.waters.stages[i];
            let full = stage.catch.is_some_and(|catch| totals.caught_g >= catch.capacity_g);
            let old = stage.ultraviolet().is_some_and(|unit| totals.lamp_h >= unit.life_h);
            let due = &mut self.state.tally.service_due[i];
            if due.is_none() && (full || old) {
                *due = Some(self.state.time);
                let figure = if old { totals.lamp_h } else { stage.clean_kpa + stage.cake_kpa(totals.caught_g) };
                self.tell(observer, Part::Stage(i), EventKind::ServiceDue, figure);
            }
        }
    }

    /// Whether an ultraviolet unit gives water less than its least dose just now, and that dose.
    pub(super) fn underdose(&self, i: usize) -> Option<f64> {
        let (hydraulics, state) = (&self.hydraulics, &self.state);
        let stage = &hydraulics.plant.stages[i];
        let unit = stage.ultraviolet()?;
        let side = if stage.header == Header::Raw { Side::Raw } else { Side::Delivery };
        let mut flows = Flows::NONE;
        hydraulics.rates(side, &state.mode, &self.demand, &state.levels, &mut flows);
        let flow_lps = hydraulics.passing_lps(stage.header, &self.demand, &flows);
        if flow_lps <= 0.0 {
            return None;
        }
        let lamp_h = state.waters.stages[i].lamp_h;
        let absorbance = state.waters.leaving(stage.header, Constituent::Absorbance, &flows);
        let short = falls_short(stage, flow_lps, absorbance, lamp_h, &state.mode);
        let dose = unit.dose_mj_cm2(flow_lps, stage.rated_lps, absorbance, lamp_h);
        short.then_some(if state.mode.has_power() { dose } else { 0.0 })
    }

    fn end_wash<O: Observer>(&mut self, outlet: usize, observer: &mut O) {
        let stages = self.hydraulics.plant.stages.iter().enumerate();
        for (i, _) in stages.filter(|(_, stage)| stage.backwash.is_some_and(|wash| wash.outlet == outlet)) {
            let (faults, waters) = (&self.state.mode.faults, &mut self.state.waters);
            // Wash water passes a stage that is bypassed or valved off by.
            let share = waters.end_wash(i, !faults.bypassed[i] && !faults.shut[i]);
            // Where the wash did clean the bed, what it can hold counts from here on.
            let caught_g = self.state.waters.stages[i].caught_g;
            if self.hydraulics.plant.stages[i].catch.is_none_or(|catch| caught_g < catch.capacity_g) {
                self.state.tally.service_due[i] = None;
            }
            self.tell(observer, Part::Stage(i), EventKind::Washed, share);
        }
    }

    fn end_draws<O: Observer>(&mut self, observer: &mut O) -> bool {
        let now = self.state.time;
        let before = self.state.active.len();
        let mut i = 0;
        while i < self.state.active.len() {
            if self.state.active[i].end <= now {
                // The order of draws under way means nothing: their flows are whole numbers.
                let draw = self.state.active.swap_remove(i).draw;
                *self.state.wanted[draw.outlet].of(draw.kind) -= draw.flow;
                if self.state.wanted[draw.outlet].total() == Flow::ZERO {
                    self.end_wash(draw.outlet, observer);
                }
                if self.hydraulics.plant.outlets[draw.outlet].role == Role::Leak {
                    self.tell(observer, Part::Outlet(draw.outlet), EventKind::LeakEnds, 0.0);
                }
            } else {
                i += 1;
            }
        }
        self.state.active.len() != before
    }

    fn start_draws<O: Observer, D: Iterator<Item = Draw>>(
        &mut self,
        draws: &mut D,
        observer: &mut O,
    ) -> Result<bool, EngineError> {
        let (now, outlets) = (self.state.time, self.hydraulics.plant.outlets.len());
        let mut changed = false;
        while let Some(draw) = self.state.next
            && draw.start <= now
        {
            if draw.outlet >= outlets || !(0.0..=MOST_FLOW_LPS).contains(&draw.flow.lps()) || draw.end <= draw.start {
                return Err(EngineError::BadDraw { number: self.state.taken, draw });
            }
            // A draw that was over before it could start: it began before time zero.
            if draw.end > now {
                if self.hydraulics.plant.outlets[draw.outlet].role == Role::Leak {
                    self.tell(observer, Part::Outlet(draw.outlet), EventKind::LeakBegins, draw.flow.lps());
                }
                *self.state.wanted[draw.outlet].of(draw.kind) += draw.flow;
                self.state.active.push(Active { draw, end: draw.end });
            }
            self.state.next = draws.next();
            self.state.taken += 1;
            if let Some(next) = self.state.next
                && next.start < draw.start
            {
                return Err(EngineError::BadDraw { number: self.state.taken, draw: next });
            }
            changed = true;
        }
        Ok(changed)
    }

    /// Arms what ends draws; returns when the next one starts or ends, or an incident does.
    pub(super) fn arm_draws(&self, guards: &mut Guards, piece: &Piece) -> Time {
        let state = &self.state;
        let mut timer = state.next.map_or(Time::NEVER, |draw| draw.start);
        if let Some(edge) = self.edges.get(state.edges) {
            timer = timer.min(edge.time);
        }
        if let Some(inflow) = self.outside.inflows.get(state.inflows) {
            timer = timer.min(inflow.time);
        }
        timer = timer.min(self.next_weather());
        for active in &state.active {
            let share = piece.share(active.draw.outlet);
            if active.draw.kind == DrawKind::Timed || share >= 1.0 {
                // A volume draw whose service falters on the way gets a later end when the piece is committed.
                timer = timer.min(active.end);
            }
        }
        for (outlet, wanted) in state.wanted.iter().enumerate().take(self.hydraulics.plant.outlets.len()) {
            if wanted.volume > Flow::ZERO && piece.share(outlet) < 1.0 {
                let ends = state.active.iter().filter(|a| a.draw.outlet == outlet && a.draw.kind == DrawKind::Volume);
                if let Some(end) = ends.map(|a| a.end).min() {
                    guards.arm(Quantity::Served(outlet), (end - state.time).s(), true);
                }
            }
        }
        timer
    }

    /// Moves the ends of volume draws by the service they missed.
    pub(super) fn delay_volume_draws(&mut self, ports: &Ports, length: Span) {
        for active in &mut self.state.active {
            if active.draw.kind == DrawKind::Volume {
                let missed = length - Span::from_s(ports[SERVED + active.draw.outlet]);
                active.end += missed.max(Span::ZERO);
            }
        }
    }

    /// A spell of short-cycling is over when no start has come for as long as a short cycle takes.
    pub(super) fn act_short_cycling<O: Observer>(&mut self, i: usize, observer: &mut O) -> bool {
        let (now, tally) = (self.state.time, &mut self.state.tally.supplies[i]);
        let over = tally.spell_end().is_some_and(|end| now >= end);
        if over {
            tally.short_cycles = 0;
            tally.short_cycling.end(now);
            let starts = u32::try_from(tally.spell_starts).map_or(f64::INFINITY, f64::from);
            self.tell(observer, Part::Pump(i), EventKind::ShortCyclingEnds, starts);
        }
        over
    }

    pub(super) fn arm_short_cycling(&self, i: usize, timer: &mut Time) {
        *timer = self.state.tally.supplies[i].spell_end().map_or(*timer, |end| end.min(*timer));
    }

    fn count_start_or_stop<O: Observer>(&mut self, i: usize, was_on: bool, kpa: f64, observer: &mut O) {
        let (now, is_on) = (self.state.time, self.hydraulics.runs(i, &self.state.mode));
        if was_on == is_on || self.hydraulics.plant.supplies[i].source.pump().is_none() {
            return;
        }
        let tally = &mut self.state.tally.supplies[i];
        if is_on {
            if let Some(cycle) = tally.start(now) {
                tally.short_cycles = if cycle < SHORT_CYCLE { tally.short_cycles + 1 } else { 0 };
                tally.spell_starts += 1;
                if tally.short_cycles == SPELL_AFTER {
                    tally.short_cycling.begin(now);
                    tally.spell_starts = 1;
                    self.tell(observer, Part::Pump(i), EventKind::ShortCyclingBegins, cycle.s());
                }
            }
        } else {
            tally.stop(now);
        }
        if self.state.tally.supplies[i].short_cycles < SPELL_AFTER {
            let kind = if is_on { EventKind::PumpStarts } else { EventKind::PumpStops };
            self.tell(observer, Part::Pump(i), kind, kpa);
        }
    }
}
