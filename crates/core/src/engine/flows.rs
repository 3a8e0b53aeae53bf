//! The rates: how fast every level moves and what goes through every port, for a mode, the wanted flows and the levels.

use super::lines::Demand;
use super::membrane::Running;
use super::mode::{DriveMode, Mode, Phase};
use super::pressures::RawSide;
use super::state::{
    BLENDED, DELIVERY_J, DELIVERY_KPA_S, DRAWN, FILLED, LEVELS, Levels, MEMBRANE_J, PRODUCT, PRODUCT_SALT, Ports,
    RAW_KPA_S, RECYCLED, SERVED, SMALL, SOURCE, SPILLED, STORAGE, SupplyPort, TAKEN, TANK, of_supply,
};
use crate::delivery::Delivery;
use crate::outlet::{Header, open_share};
use crate::plant::{MOST_OUTLETS, Plant, Store};
use crate::pressure_tank::PressureTank;
use crate::storage::Fill;
use crate::supply::{Control, Drive, Source};
use crate::treatment::StageKind;

/// The rates at one instant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flows {
    pub levels: Levels,
    /// Rates of the ports; the pressures are in the places of their integrals.
    pub ports: Ports,
}

impl Flows {
    pub(super) const NONE: Self = Self { levels: [0.0; _], ports: [0.0; _] };
}

/// A plant with what seldom changes in a run worked out once.
#[derive(Clone, Debug)]
pub(super) struct Hydraulics<'p> {
    pub plant: &'p Plant,
    /// The pressure tank with the gas that is in it now.
    pub tank: Option<PressureTank>,
    /// Water in the pressure tank when it has none to give, and its pressure then.
    pub tank_least_l: f64,
    pub tank_empty_kpa: f64,
    /// The same of the small tank.
    pub small_least_l: f64,
    pub small_empty_kpa: f64,
    /// Litres that answer to a unit of each level: one, and the casing for a drawdown; zero where the level stands still.
    pub litres_per_level: Levels,
    /// By outlet: pressure that stands against the flow.
    pub offset_kpa: [f64; MOST_OUTLETS],
    /// Static pressure of the main that feeds alone: as first supply, as standby.
    pub town_kpa: [Option<f64>; 2],
    lamps_w: f64,
    /// Whether any supply has a variable-speed drive.
    has_drive: bool,
    pub membrane: Option<Running<'p>>,
}

/// The side of storage that rates are of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    /// The whole plant.
    Both,
    /// Up to storage.
    Raw,
    /// Behind it; what comes into storage is left out.
    Delivery,
}

impl<'p> Hydraulics<'p> {
    pub(super) fn new(plant: &'p Plant) -> Self {
        let small = plant.store.as_ref().map(|store| &store.delivery.tank);
        let mut litres_per_level = [1.0; LEVELS];
        let mut town_kpa = [None; 2];
        for (i, supply) in plant.supplies.iter().enumerate() {
            litres_per_level[SOURCE + i] = match &supply.source {
                Source::Well { well, .. } => well.storage_l_per_m(),
                Source::Basin { .. } => 1.0,
                Source::TownLine(line) => {
                    town_kpa[usize::from(supply.standby)] = Some(line.static_kpa());
                    0.0
                }
            };
        }
        let mut offset_kpa = [0.0; MOST_OUTLETS];
        for (offset, outlet) in offset_kpa.iter_mut().zip(&plant.outlets) {
            *offset = outlet.offset_kpa(&plant.water);
        }
        let lamps = plant.stages.iter().map(|stage| match &stage.kind {
            StageKind::Ultraviolet(unit) => unit.power_w,
            _ => 0.0,
        });
        let mut hydraulics = Self {
            plant,
            tank: None,
            tank_least_l: 0.0,
            tank_empty_kpa: 0.0,
            small_least_l: small.map_or(0.0, PressureTank::least_water_l),
            small_empty_kpa: small.map_or(0.0, PressureTank::empty_kpa),
            litres_per_level,
            offset_kpa,
            town_kpa,
            lamps_w: lamps.sum(),
            has_drive: false,
            membrane: Running::new(plant),
        };
        hydraulics.has_drive = (0..plant.supplies.len()).any(|i| hydraulics.drive(i).is_some());
        hydraulics.set_air(1.0);
        hydraulics
    }

    /// Leaves a share of its gas in the pressure tank.
    pub(super) fn set_air(&mut self, share: f64) {
        self.tank = self.plant.pressure_tank.clone();
        if let Some(tank) = &mut self.tank {
            tank.air_share *= share;
            self.tank_least_l = tank.least_water_l();
            self.tank_empty_kpa = tank.empty_kpa();
        }
    }

    pub(super) fn delivery(&self) -> Option<&'p Delivery> {
        self.plant.store.as_ref().map(|store| &store.delivery)
    }

    /// Electric power of all lamps.
    pub(super) fn lamps_w(&self, mode: &Mode) -> f64 {
        if mode.has_power() { self.lamps_w } else { 0.0 }
    }

    pub(super) fn drive(&self, supply: usize) -> Option<&'p Drive> {
        match &self.plant.supplies[supply].source.pump()?.control {
            Control::Drive(drive) => Some(drive),
            Control::Switch { .. } => None,
        }
    }

    /// Whether a supply is piped to the raw header: the others are isolated from it.
    pub(super) fn connected(&self, supply: usize, mode: &Mode) -> bool {
        self.plant.supplies[supply].standby == mode.on_standby
    }

    /// Whether a supply could give water if its control asked for it, whatever is isolated.
    pub(super) fn ready(&self, supply: usize, mode: &Mode) -> bool {
        let powered = mode.has_power() || self.plant.supplies[supply].source.pump().is_none();
        powered && !mode.faults.out[supply] && !mode.supplies[supply].low_level
    }

    /// Whether a supply's pump runs, or its main is open.
    #[inline]
    pub(super) fn runs(&self, supply: usize, mode: &Mode) -> bool {
        self.is_asked(supply, mode) && !(mode.power.one_motor && self.waits(supply, mode))
    }

    /// Whether its control asks for a supply, be there power for it beside others or not.
    #[inline]
    fn is_asked(&self, supply: usize, mode: &Mode) -> bool {
        if !self.connected(supply, mode) || !self.ready(supply, mode) {
            return false;
        }
        let state = &mode.supplies[supply];
        match self.plant.supplies[supply].source.pump() {
            None => true,
            Some(pump) => match pump.control {
                Control::Switch { .. } => state.closed,
                Control::Drive(_) => !state.drive.asleep(),
            },
        }
    }

    /// Whether a supply's pump is a big motor: one behind a drive starts gently.
    fn is_big(&self, supply: usize) -> bool {
        let pump = self.plant.supplies[supply].source.pump();
        pump.is_some_and(|pump| matches!(pump.control, Control::Switch { .. }))
    }

    /// Whether a pump waits for another, where one big motor runs at a time: the first that is asked for is it.
    #[cold]
    #[inline(never)]
    fn waits(&self, supply: usize, mode: &Mode) -> bool {
        self.is_big(supply) && (0..supply).any(|before| self.is_big(before) && self.is_asked(before, mode))
    }

    /// Whether the pump of any supply runs that is a big motor.
    pub(super) fn big_pump_runs(&self, mode: &Mode) -> bool {
        (0..self.plant.supplies.len()).any(|i| self.is_big(i) && self.runs(i, mode))
    }

    pub(super) fn any_runs(&self, mode: &Mode) -> bool {
        (0..self.plant.supplies.len()).any(|i| self.runs(i, mode))
    }

    /// The supply whose drive holds the pressure on the raw header, and that pressure.
    pub(super) fn holder(&self, mode: &Mode) -> Option<(usize, f64)> {
        if !self.has_drive {
            return None;
        }
        (0..self.plant.supplies.len()).find_map(|i| {
            let holds = matches!(mode.supplies[i].drive, DriveMode::Hold { .. });
            let set_kpa = self.drive(i).filter(|_| holds)?.set_kpa;
            self.runs(i, mode).then_some((i, set_kpa))
        })
    }

    /// Whether the pressure tank is on the header: it is isolated with the pumps while a main feeds.
    pub(super) fn tank_is_in(&self, mode: &Mode) -> bool {
        self.tank.is_some() && self.town_kpa[usize::from(mode.on_standby)].is_none()
    }

    /// The pressure tank, where it is on the header and has water to give.
    pub(super) fn giving_tank(&self, mode: &Mode) -> Option<&PressureTank> {
        self.tank.as_ref().filter(|_| self.tank_is_in(mode) && !mode.tank_empty)
    }

    /// How far the fill valve of storage is open; a membrane unit has none.
    pub(super) fn fill_opening(&self, mode: &Mode, water_l: f64) -> f64 {
        let Some(Store { storage, .. }) = &self.plant.store else { return 0.0 };
        match (&storage.fill, mode.faults.stuck) {
            // A solenoid valve is shut without power.
            (Fill::FloatSwitch { .. }, stuck) => f64::from(u8::from(stuck.unwrap_or(mode.fill_on) && mode.has_power())),
            (Fill::FloatValve { .. }, Some(open)) => f64::from(u8::from(open)),
            (Fill::FloatValve { open_l, shut_l, .. }, None) => ((shut_l - water_l) / (shut_l - open_l)).clamp(0.0, 1.0),
            (Fill::Membrane { .. }, _) => 0.0,
        }
    }

    /// Flow from the end of the raw line to fill storage.
    pub(super) fn taken_lps(&self, mode: &Mode, levels: &Levels, end_kpa: f64) -> f64 {
        if let Some(running) = &self.membrane {
            return running.taken_lps(mode.membrane.phase, end_kpa);
        }
        let valve = self.plant.store.as_ref().and_then(|store| store.storage.fill.valve());
        valve.map_or(0.0, |(flow_lps, full_flow_kpa)| {
            flow_lps * self.fill_opening(mode, levels[STORAGE]) * open_share(end_kpa, full_flow_kpa)
        })
    }

    /// Flow into storage.
    fn filled_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels, end_kpa: f64) -> f64 {
        match &self.membrane {
            _ if demand.line(Header::Raw).shut => 0.0,
            Some(running) if mode.membrane.phase == Phase::Makes => {
                running.making(end_kpa).product_lps + running.blended_lps(mode.membrane.phase, end_kpa)
            }
            Some(_) => 0.0,
            None => self.taken_lps(mode, levels, end_kpa),
        }
    }

    /// The basin that takes what the membrane unit rejects just now.
    pub(super) fn reject_basin(&self, mode: &Mode) -> Option<usize> {
        let membrane = self.plant.membrane.as_ref()?;
        let supply = membrane.reject_to?;
        (membrane.reject_circles || !self.connected(supply, mode)).then_some(supply)
    }

    /// What the membrane unit rejects into a basin.
    fn returned_lps(&self, supply: usize, mode: &Mode, demand: &Demand, levels: &Levels, end_kpa: f64) -> f64 {
        if self.reject_basin(mode) != Some(supply) || demand.line(Header::Raw).shut {
            return 0.0;
        }
        self.taken_lps(mode, levels, end_kpa) - self.filled_lps(mode, demand, levels, end_kpa)
    }

    /// All that leaves the raw header ahead of its line at a pressure.
    pub(super) fn raw_taps_lps(&self, mode: &Mode, demand: &Demand, kpa: f64) -> f64 {
        let mut sum = self.taps_lps(Header::Raw, demand, kpa);
        for i in 0..self.plant.supplies.len() {
            sum += self.top_up_lps(i, mode, kpa) + self.leak_back_lps(i, mode, kpa);
        }
        sum
    }

    /// All that leaves the raw header at a pressure.
    pub(super) fn raw_out_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels, kpa: f64) -> f64 {
        let end_kpa = self.end_kpa(Header::Raw, kpa, mode, demand, levels);
        self.raw_taps_lps(mode, demand, kpa) + self.line_lps(Header::Raw, end_kpa, mode, demand, levels)
    }

    /// Flow at full speed of the delivery pump; zero while it stands still.
    pub(super) fn delivery_full_lps(&self, mode: &Mode, pressure_kpa: f64) -> f64 {
        match self.delivery() {
            Some(delivery) if mode.delivery_ready() && !mode.delivery.asleep() => {
                delivery.full_speed_flow_lps(pressure_kpa, &self.plant.water)
            }
            _ => 0.0,
        }
    }

    /// Supply less demand on the raw header at the pressure where its tank has no more to give.
    pub(super) fn raw_spare_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let kpa = self.tank_empty_kpa;
        self.supplied_lps(mode, levels, kpa) - self.raw_out_lps(mode, demand, levels, kpa)
    }

    /// The same behind the delivery pump.
    pub(super) fn small_spare_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let kpa = self.small_empty_kpa;
        self.delivery_full_lps(mode, kpa) - self.delivery_out_lps(mode, demand, levels, kpa)
    }

    /// What runs into a source less what its pump would take with its intake covered: all it can, or what its drive is to give.
    pub(super) fn source_spare_lps(&self, supply: usize, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let kpa = self.raw_kpa(mode, demand, levels);
        let taken_lps = match self.holder(mode) {
            Some((holder, _)) if holder == supply => self.raw_out_lps(mode, demand, levels, kpa),
            _ => self.covered_lps(supply, mode, levels, kpa),
        };
        self.source_in_lps(supply, mode, levels, kpa) - taken_lps
    }

    /// What a basin gains, or spills when full.
    pub(super) fn basin_net_lps(&self, supply: usize, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let RawSide { kpa, end_kpa } = self.raw(mode, demand, levels);
        let in_lps = self.source_in_lps(supply, mode, levels, kpa) + self.leak_back_lps(supply, mode, kpa);
        in_lps + self.returned_lps(supply, mode, demand, levels, end_kpa)
            - self.pumped_lps(supply, mode, demand, levels, kpa)
    }

    /// What storage gains, or spills when full.
    pub(super) fn storage_net_lps(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> f64 {
        let raw = self.raw(mode, demand, levels);
        let filled_lps = self.filled_lps(mode, demand, levels, raw.end_kpa);
        let kpa = self.delivery_kpa(mode, demand, levels);
        filled_lps - self.drawn_lps(mode, kpa, self.delivery_out_lps(mode, demand, levels, kpa))
    }

    /// At the pressure that a supply's drive is to hold: all that leaves the header, and what the pump could give beyond.
    pub(super) fn hold(&self, supply: usize, mode: &Mode, demand: &Demand, levels: &Levels) -> (f64, f64) {
        let set_kpa = self.drive(supply).map_or(0.0, |drive| drive.set_kpa);
        let out_lps = self.raw_out_lps(mode, demand, levels, set_kpa);
        (out_lps, self.given_lps(supply, mode, levels, set_kpa) - out_lps)
    }

    /// What a supply gives to the raw header, the pressure there being known.
    fn pumped_lps(&self, supply: usize, mode: &Mode, demand: &Demand, levels: &Levels, kpa: f64) -> f64 {
        match self.holder(mode) {
            Some((holder, _)) if holder == supply => self.raw_out_lps(mode, demand, levels, kpa),
            _ => self.given_lps(supply, mode, levels, kpa),
        }
    }

    /// What the delivery pump takes from storage.
    fn drawn_lps(&self, mode: &Mode, delivery_kpa: f64, out_lps: f64) -> f64 {
        match mode.delivery {
            _ if !mode.delivery_ready() => 0.0,
            DriveMode::Asleep { .. } => 0.0,
            DriveMode::Hold { .. } => out_lps,
            DriveMode::Full => self.delivery_full_lps(mode, delivery_kpa),
        }
    }

    /// Whether what goes on up to storage and what goes on behind it are stepped apart. They can be where no valve follows the
    /// level in storage, and while that does not spill; it pays where a membrane unit makes steps of the raw side dear and long.
    pub(super) fn sides_are_apart(&self, mode: &Mode) -> bool {
        self.membrane.is_some() && !mode.brim
    }

    /// The rates of a side.
    pub(super) fn rates(&self, side: Side, mode: &Mode, demand: &Demand, levels: &Levels, flows: &mut Flows) {
        *flows = Flows::NONE;
        match side {
            Side::Both => self.add_flows(mode, demand, levels, flows),
            Side::Raw => self.add_raw(mode, demand, levels, flows),
            Side::Delivery => self.add_delivery(mode, demand, levels, flows),
        }
    }

    /// All rates.
    pub(super) fn flows(&self, mode: &Mode, demand: &Demand, levels: &Levels, flows: &mut Flows) {
        self.rates(Side::Both, mode, demand, levels, flows);
    }

    fn add_flows(&self, mode: &Mode, demand: &Demand, levels: &Levels, flows: &mut Flows) {
        self.add_raw(mode, demand, levels, flows);
        self.add_delivery(mode, demand, levels, flows);
    }

    /// Service of the outlets of a header; returns what they take.
    fn serve(&self, header: Header, (kpa, end_kpa): (f64, f64), demand: &Demand, ports: &mut Ports) -> f64 {
        let mut sum_lps = 0.0;
        for (i, outlet) in self.plant.outlets.iter().enumerate() {
            if outlet.header == header {
                let share = if demand.lps[i] > 0.0 { self.share(i, kpa, end_kpa, demand) } else { 1.0 };
                ports[SERVED + i] = share;
                sum_lps += demand.lps[i] * share;
            }
        }
        sum_lps
    }

    /// Adds what flows from the sources into storage.
    fn add_raw(&self, mode: &Mode, demand: &Demand, levels: &Levels, flows: &mut Flows) {
        let plant = self.plant;
        let ports = &mut flows.ports;
        let raw = self.raw(mode, demand, levels);
        ports[RAW_KPA_S] = raw.kpa;
        let mut raw_out_lps = self.serve(Header::Raw, (raw.kpa, raw.end_kpa), demand, ports);

        let (taken_lps, filled_lps) = self.fill_ports(mode, demand, levels, raw.end_kpa, ports);
        raw_out_lps += taken_lps;
        let returned = self.reject_basin(mode).map(|supply| (supply, taken_lps - filled_lps));
        for i in 0..plant.supplies.len() {
            let topped_up_lps = self.top_up_lps(i, mode, raw.kpa);
            let leaked_lps = self.leak_back_lps(i, mode, raw.kpa);
            ports[of_supply(i, SupplyPort::ToppedUp)] = topped_up_lps;
            ports[of_supply(i, SupplyPort::LeakedBack)] = leaked_lps;
            raw_out_lps += topped_up_lps + leaked_lps;
        }
        let holder = self.holder(mode).map(|(holder, _)| holder);
        let mut supplied_lps = 0.0;
        for (i, supply) in plant.supplies.iter().enumerate() {
            let pumped_lps = if holder == Some(i) { raw_out_lps } else { self.given_lps(i, mode, levels, raw.kpa) };
            supplied_lps += pumped_lps;
            let returned_lps = returned.filter(|(to, _)| *to == i).map_or(0.0, |(_, lps)| lps);
            let (from_lps, to_lps) = (pumped_lps, returned_lps);
            flows.levels[SOURCE + i] = self.source_rates(i, supply, mode, levels, (raw.kpa, from_lps, to_lps), ports);
        }
        if self.tank_is_in(mode) {
            // To rounding zero while the tank is empty.
            flows.levels[TANK] = supplied_lps - raw_out_lps;
        }
        if plant.store.is_some() {
            flows.levels[STORAGE] = filled_lps;
        }
    }

    /// Adds what flows out of storage, and what that leaves in it of what flows in.
    fn add_delivery(&self, mode: &Mode, demand: &Demand, levels: &Levels, flows: &mut Flows) {
        let ports = &mut flows.ports;
        if let Some(delivery) = self.delivery() {
            let delivery_kpa = self.delivery_kpa(mode, demand, levels);
            let end_kpa = self.end_kpa(Header::Delivery, delivery_kpa, mode, demand, levels);
            ports[DELIVERY_KPA_S] = delivery_kpa;
            let delivery_out_lps = self.serve(Header::Delivery, (delivery_kpa, end_kpa), demand, ports);
            let drawn_lps = self.drawn_lps(mode, delivery_kpa, delivery_out_lps);
            ports[DELIVERY_J] = match mode.delivery {
                _ if !mode.has_power() => 0.0,
                _ if !mode.delivery_ready() => delivery.drive.standby_w,
                DriveMode::Asleep { .. } => delivery.drive.standby_w,
                DriveMode::Hold { .. } => demand.hold_power_w,
                DriveMode::Full => delivery.full_speed_power_w(drawn_lps, &self.plant.water),
            };
            ports[DRAWN] = drawn_lps;
            // Zero while the pump holds its pressure, and, to rounding, while the tank is empty.
            flows.levels[SMALL] = drawn_lps - delivery_out_lps;
            flows.levels[STORAGE] -= drawn_lps;
            if mode.brim {
                ports[SPILLED] = core::mem::take(&mut flows.levels[STORAGE]);
            }
        }
    }

    /// All rates at the present.
    pub(super) fn flows_now(&self, mode: &Mode, demand: &Demand, levels: &Levels) -> Flows {
        let mut flows = Flows::NONE;
        self.flows(mode, demand, levels, &mut flows);
        flows
    }

    /// Ports of what fills storage; returns what is taken from the raw line and what comes into storage.
    fn fill_ports(&self, mode: &Mode, demand: &Demand, levels: &Levels, end_kpa: f64, ports: &mut Ports) -> (f64, f64) {
        if demand.line(Header::Raw).shut {
            return (0.0, 0.0);
        }
        let (taken_lps, filled_lps) = match &self.membrane {
            Some(running) if mode.membrane.phase.makes() => {
                let made = running.making(end_kpa);
                ports[PRODUCT] = made.product_lps;
                ports[RECYCLED] = made.recycle_lps;
                ports[PRODUCT_SALT] = 1e-3 * made.product_salt_mg_s;
                ports[MEMBRANE_J] = made.power_w;
                let blended_lps = running.blended_lps(mode.membrane.phase, end_kpa);
                ports[BLENDED] = blended_lps;
                let stored_lps = if mode.membrane.phase == Phase::Makes { made.product_lps } else { 0.0 };
                (made.feed_lps() + blended_lps, stored_lps + blended_lps)
            }
            Some(running) => (running.taken_lps(mode.membrane.phase, end_kpa), 0.0),
            None => {
                let filled_lps = self.taken_lps(mode, levels, end_kpa);
                (filled_lps, filled_lps)
            }
        };
        ports[TAKEN] = taken_lps;
        ports[FILLED] = filled_lps;
        (taken_lps, filled_lps)
    }
}
