//! What a run can tell while it goes: events and rows.

use serde::{Deserialize, Serialize};

use crate::plant::MOST_OUTLETS;
use crate::time::Time;

/// Where something happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// The site: its electricity.
    Site,
    /// The well.
    Well,
    /// The well pump and its pressure switch.
    WellPump,
    /// The pressure tank on the raw header.
    PressureTank,
    /// The storage tank.
    Storage,
    /// The delivery pump and its small tank.
    Delivery,
    /// A building or raw load, by its index in the plant.
    Outlet(usize),
}

/// What happened. The comment says what [`Event::value`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EventKind {
    /// The well pump starts; pressure at the tank gauge, kPa.
    PumpStarts,
    /// The well pump stops; pressure at the tank gauge, kPa.
    PumpStops,
    /// Starts come too close together to be listed one by one; length of the last cycle, s.
    ShortCyclingBegins,
    /// Starts are listed again; number of starts in the spell.
    ShortCyclingEnds,
    /// The low-level cut-off stops the well pump; depth of the water, m.
    LowLevelStop,
    /// The well has recovered and the pump may run; depth of the water, m.
    LowLevelClears,
    /// The water is down to the pump's intake: it gives only what flows in; that flow, L/s.
    SuctionLost,
    /// The pump is covered again; flow, L/s.
    SuctionRegained,
    /// The tank has no water left to give; pressure, kPa.
    TankEmpties,
    /// The fill valve opens; water in storage, L.
    FillOpens,
    /// The fill valve shuts; water in storage, L.
    FillShuts,
    /// Low storage stops the delivery pump; water in storage, L.
    ProtectStop,
    /// Storage has recovered and the delivery pump may run; water in storage, L.
    ProtectClears,
    /// An outlet wants water and gets less than half; the flow it gets, L/s.
    RunOutBegins,
    /// Water is back at that outlet; length of the spell, s.
    RunOutEnds,
    /// Pressure to the buildings falls under what the controls hold; that limit, kPa.
    PressureLow,
    /// Pressure to the buildings is back; length of the spell, s.
    PressureBack,
    /// Electricity fails; no value (0).
    PowerFails,
    /// Electricity is back; no value (0).
    PowerReturns,
    /// The pump named by the part goes out of order; no value (0).
    PumpFails,
    /// The pump named by the part is mended; no value (0).
    PumpMended,
}

/// Something that happened at an instant.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// When.
    pub time: Time,
    /// Where.
    pub part: Part,
    /// What.
    pub kind: EventKind,
    /// How much; its meaning and unit are given with [`EventKind`].
    pub value: f64,
}

/// Running totals since the start of the run. All rise, none is reset.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Totals {
    /// Water lifted by the well pump, L.
    pub pumped_l: f64,
    /// Water from the aquifer into the casing, L.
    pub inflow_l: f64,
    /// Water let into storage, L.
    pub filled_l: f64,
    /// Water taken from storage by the delivery pump, L.
    pub drawn_l: f64,
    /// Time integral of the pressure on the raw header, kPa s.
    pub raw_kpa_s: f64,
    /// Time integral of the pressure behind the delivery pump, kPa s.
    pub delivery_kpa_s: f64,
    /// Electric energy of the well pump, J.
    pub well_pump_j: f64,
    /// Electric energy of the delivery pump and its drive, J.
    pub delivery_j: f64,
    /// Time the well pump ran, s.
    pub run_s: f64,
    /// By outlet, in the order of the plant; unused places stay zero.
    pub outlets: [OutletTotals; MOST_OUTLETS],
}

/// Running totals of one outlet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OutletTotals {
    /// Water that came, L.
    pub delivered_l: f64,
    /// Water that timed draws wanted and did not get, L.
    pub lost_l: f64,
}

/// The plant at one instant.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample<'a> {
    /// When.
    pub time: Time,
    /// Pressure on the raw header, kPa.
    pub raw_kpa: f64,
    /// Drawdown in the well, m.
    pub drawdown_m: f64,
    /// Whether the well pump runs.
    pub pump_on: bool,
    /// Water in storage, L; zero where there is none.
    pub storage_l: f64,
    /// Pressure behind the delivery pump, kPa; zero where there is none.
    pub delivery_kpa: f64,
    /// Lowest pressure on the header that feeds the buildings since the row before, kPa.
    pub lowest_house_kpa: f64,
    /// Wanted flow of all outlets, L/s.
    pub wanted_lps: f64,
    /// What has flowed since the start of the run.
    pub totals: &'a Totals,
}

/// Receives what a run tells. Every method does nothing unless overridden, and costs nothing then.
pub trait Observer {
    /// Something happened.
    fn event(&mut self, _event: &Event) {}

    /// The plant at a multiple of the grid the engine was asked for.
    fn row(&mut self, _sample: &Sample<'_>) {}
}

/// An observer that listens to nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silent;

impl Observer for Silent {}
