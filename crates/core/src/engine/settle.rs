//! What happens at an instant: incidents, draws that end and start, controls; in that order, until all is at rest.

use super::flows::{Flows, Hydraulics};
use super::guard::{Guards, Quantity};
use super::state::{Active, Levels, Mode, Ports, SERVED, Spells, State, Tally, Wanted, Work};
use super::{Core, EngineError, FIRST_STEP_S};
use crate::draw::{Draw, DrawKind, Flow};
use crate::incident::{Incident, IncidentKind};
use crate::observe::{EventKind, Observer, Part, Totals};
use crate::time::{Span, Time};

/// A cycle shorter than this is short; common practice asks for a run of a minute alone.
const SHORT_CYCLE: Span = Span::from_ns(30_000_000_000);
/// After this many short cycles in a row starts and stops are told as one spell.
const SPELL_AFTER: u64 = 5;
/// Changes at one instant before the controls count as not settling.
const MOST_CHANGES: u32 = 200;

/// One end of an incident.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    time: Time,
    kind: usize,
    begins: bool,
}

pub(super) fn edges(incidents: &[Incident]) -> Vec<Edge> {
    let mut edges: Vec<Edge> = incidents
        .iter()
        .filter(|incident| incident.end > incident.start)
        .flat_map(|incident| {
            let kind = match incident.kind {
                IncidentKind::PowerOut => 0,
                IncidentKind::WellPumpOut => 1,
                IncidentKind::DeliveryPumpOut => 2,
            };
            [(incident.start, true), (incident.end, false)].map(|(time, begins)| Edge { time, kind, begins })
        })
        .collect();
    // One that ends as another of its kind begins leaves no gap between them.
    edges.sort_by_key(|edge| (edge.time, edge.kind, !edge.begins));
    edges
}

impl Core<'_> {
    /// Brings everything due at the present instant about.
    pub(super) fn settle<O: Observer, D: Iterator<Item = Draw>>(
        &mut self,
        draws: &mut D,
        observer: &mut O,
    ) -> Result<(), EngineError> {
        let was_on = self.state.mode.pump_on() && self.state.reached >= Time::ZERO;
        let kpa = self.hydraulics.raw_kpa(&self.state.mode, &self.demand, &self.state.levels);
        let mut changed = self.pass_edges(observer) | self.end_draws() | self.start_draws(draws)?;
        let mut changes = 0;
        while self.act(observer) {
            changed = true;
            changes += 1;
            if changes > MOST_CHANGES {
                return Err(EngineError::Unsettled { time: self.state.time });
            }
        }
        self.count_start_or_stop(was_on, kpa, observer);
        self.state.tally.work.segments += u64::from(changed);
        Ok(())
    }

    fn pass_edges<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (before, now) = (self.state.mode.out, self.state.time);
        let first = self.state.edges;
        while let Some(edge) = self.edges.get(self.state.edges)
            && edge.time <= now
        {
            let out = &mut self.state.mode.out[edge.kind];
            *out = if edge.begins { out.saturating_add(1) } else { out.saturating_sub(1) };
            self.state.edges += 1;
        }
        for (kind, part) in [Part::Site, Part::WellPump, Part::Delivery].into_iter().enumerate() {
            let (was_out, is_out) = (before[kind] > 0, self.state.mode.out[kind] > 0);
            if was_out != is_out {
                let event = match (kind, is_out) {
                    (0, true) => EventKind::PowerFails,
                    (0, false) => EventKind::PowerReturns,
                    (_, true) => EventKind::PumpFails,
                    (_, false) => EventKind::PumpMended,
                };
                self.tell(observer, part, event, 0.0);
            }
        }
        self.state.edges != first
    }

    fn end_draws(&mut self) -> bool {
        let (now, state) = (self.state.time, &mut self.state);
        let before = state.active.len();
        let mut i = 0;
        while i < state.active.len() {
            if state.active[i].end <= now {
                // The order of draws under way means nothing: their flows are whole numbers.
                let draw = state.active.swap_remove(i).draw;
                *state.wanted[draw.outlet].of(draw.kind) -= draw.flow;
            } else {
                i += 1;
            }
        }
        let changed = state.active.len() != before;
        if changed {
            self.demand = self.hydraulics.demand(&self.state.wanted);
        }
        changed
    }

    fn start_draws<D: Iterator<Item = Draw>>(&mut self, draws: &mut D) -> Result<bool, EngineError> {
        let (now, outlets) = (self.state.time, self.hydraulics.plant.outlets.len());
        let mut changed = false;
        while let Some(draw) = self.state.next
            && draw.start <= now
        {
            if draw.outlet >= outlets || draw.flow < Flow::ZERO || draw.end <= draw.start {
                return Err(EngineError::BadDraw { number: self.state.taken, draw });
            }
            // A draw that was over before it could start: it began before time zero.
            if draw.end > now {
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
        if changed {
            self.demand = self.hydraulics.demand(&self.state.wanted);
        }
        Ok(changed)
    }

    /// Arms what ends draws; returns when the next one starts or ends, or an incident does.
    pub(super) fn arm_draws(&self, guards: &mut Guards, flows: &Flows) -> Time {
        let state = &self.state;
        let mut timer = state.next.map_or(Time::NEVER, |draw| draw.start);
        if let Some(edge) = self.edges.get(state.edges) {
            timer = timer.min(edge.time);
        }
        for active in &state.active {
            let share = flows.ports[SERVED + active.draw.outlet];
            if active.draw.kind == DrawKind::Timed || share >= 1.0 {
                // A volume draw whose service falters on the way gets a later end when the piece is committed.
                timer = timer.min(active.end);
            }
        }
        for (outlet, wanted) in state.wanted.iter().enumerate().take(self.hydraulics.plant.outlets.len()) {
            if wanted.volume > Flow::ZERO && flows.ports[SERVED + outlet] < 1.0 {
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
    pub(super) fn act_short_cycling<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, tally) = (self.state.time, &mut self.state.tally);
        let over = tally.spell_end().is_some_and(|end| now >= end);
        if over {
            tally.short_cycles = 0;
            tally.short_cycling.end(now);
            let starts = u32::try_from(tally.spell_starts).map_or(f64::INFINITY, f64::from);
            self.tell(observer, Part::WellPump, EventKind::ShortCyclingEnds, starts);
        }
        over
    }

    pub(super) fn arm_short_cycling(&self, timer: &mut Time) {
        *timer = self.state.tally.spell_end().map_or(*timer, |end| end.min(*timer));
    }

    fn count_start_or_stop<O: Observer>(&mut self, was_on: bool, kpa: f64, observer: &mut O) {
        let (now, is_on) = (self.state.time, self.state.mode.pump_on());
        if was_on == is_on {
            return;
        }
        let tally = &mut self.state.tally;
        if is_on {
            if let Some(cycle) = tally.start(now) {
                tally.short_cycles = if cycle < SHORT_CYCLE { tally.short_cycles + 1 } else { 0 };
                tally.spell_starts += 1;
                if tally.short_cycles == SPELL_AFTER {
                    tally.short_cycling.begin(now);
                    tally.spell_starts = 1;
                    self.tell(observer, Part::WellPump, EventKind::ShortCyclingBegins, cycle.s());
                }
            }
        } else {
            tally.stop(now);
        }
        if self.state.tally.short_cycles < SPELL_AFTER {
            let kind = if is_on { EventKind::PumpStarts } else { EventKind::PumpStops };
            self.tell(observer, Part::WellPump, kind, kpa);
        }
    }
}

impl Tally {
    pub(super) fn new() -> Self {
        Self {
            starts: 0,
            starts_today: 0,
            today: 0,
            most_starts_in_a_day: 0,
            run: Span::ZERO,
            shortest_run: None,
            short_runs: 0,
            shortest_cycle: None,
            last_start: None,
            low_level_trips: Spells::default(),
            suction_losses: Spells::default(),
            protect_stops: Spells::default(),
            deepest_drawdown_m: 0.0,
            // The largest number there is, not infinity: a saved state may be written as JSON.
            lowest_storage_l: f64::MAX,
            lowest_storage_at: Time::ZERO,
            lowest_house_kpa: f64::MAX,
            low_pressure: Spells::default(),
            run_outs: Spells::default(),
            outlets: [Spells::default(); _],
            highest_tick_w: 0.0,
            tick_j: 0.0,
            short_cycling: Spells::default(),
            short_cycles: 0,
            spell_starts: 0,
            work: Work::default(),
        }
    }

    /// When the spell of short-cycling under way is over unless another start comes.
    fn spell_end(&self) -> Option<Time> {
        let last = self.last_start.filter(|_| self.short_cycles >= SPELL_AFTER);
        last.map(|last| last + SHORT_CYCLE)
    }

    /// Counts a start; returns the time since the last one.
    fn start(&mut self, now: Time) -> Option<Span> {
        let day = now.day();
        if day != self.today {
            self.today = day;
            self.starts_today = 0;
        }
        self.starts += 1;
        self.starts_today += 1;
        self.most_starts_in_a_day = self.most_starts_in_a_day.max(self.starts_today);
        let cycle = self.last_start.map(|last| now - last);
        self.last_start = Some(now);
        if let Some(cycle) = cycle {
            self.shortest_cycle = Some(self.shortest_cycle.map_or(cycle, |shortest| shortest.min(cycle)));
        }
        cycle
    }

    fn stop(&mut self, now: Time) {
        let Some(start) = self.last_start else { return };
        let run = now - start;
        self.shortest_run = Some(self.shortest_run.map_or(run, |shortest| shortest.min(run)));
        self.short_runs += u64::from(run < Span::MINUTE);
    }
}

impl State {
    /// Whether the state can be one of a plant with so many outlets and edges of incidents.
    pub(super) fn fits(&self, outlets: usize, edges: usize) -> bool {
        let active = self.active.iter().all(|a| a.draw.outlet < outlets && a.end > self.time);
        active && self.edges <= edges && self.levels.iter().all(|level| level.is_finite()) && self.step_s > 0.0
    }

    /// The stated start of a plant.
    pub(super) fn at_start(hydraulics: &Hydraulics<'_>, active: Vec<Active>) -> Self {
        let plant = hydraulics.plant;
        let tank = &plant.pressure_tank;
        let mut levels: Levels = [tank.water_l(tank.start_kpa), plant.well.start_drawdown_m, 0.0, 0.0];
        levels[0] = levels[0].max(hydraulics.tank_least_l);
        let mut tally = Tally::new();
        tally.deepest_drawdown_m = levels[1];
        if let Some(store) = &plant.store {
            let small = &store.delivery.tank;
            levels[2] = store.storage.start_l;
            levels[3] = small.water_l(small.start_kpa).max(hydraulics.small_least_l);
        }
        Self {
            time: Time::ZERO,
            // Before the first instant, so that the row of the start is told.
            reached: Time::from_ns(-1),
            levels,
            start_levels: levels,
            mode: Mode::at_rest(tank.start_kpa <= plant.well_pump.cut_in_kpa),
            wanted: [Wanted::default(); _],
            active,
            taken: 0,
            next: None,
            edges: 0,
            totals: Totals::default(),
            tally,
            row_low_kpa: f64::MAX,
            step_s: FIRST_STEP_S,
        }
    }
}
