//! What a run can tell while it goes: events and rows.

use serde::{Deserialize, Serialize};

use crate::hot_water::follow::{HotState, Spell};
use crate::plant::MOST_OUTLETS;
use crate::pond::PondState;
use crate::power::SiteFlows;
use crate::quality::Carried;
use crate::supply::MOST_SUPPLIES;
use crate::time::Time;

/// Where something happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// The site: its electricity.
    Site,
    /// A well, cistern, pond or town line, by the index of its supply.
    Source(usize),
    /// The pump of a supply, by index; for a town line, the line.
    Pump(usize),
    /// The pressure tank on the raw header.
    PressureTank,
    /// A stage of treatment, by index.
    Stage(usize),
    /// The membrane unit.
    Membrane,
    /// The storage tank.
    Storage,
    /// The delivery pump and its small tank.
    Delivery,
    /// A building or raw load, by its index in the plant.
    Outlet(usize),
    /// A water heater, by its index in the plant.
    Heater(usize),
}

/// What is out of order, in an event: an [`IncidentKind`](crate::incident::IncidentKind) without its figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Trouble {
    /// No electricity.
    PowerOut,
    /// A supply or pump gives nothing.
    Out,
    /// A pump is worn; the speed at which a new one would do as much, as a share.
    Worn,
    /// A check valve leaks back; that flow, L/s.
    LeakBack,
    /// The pressure tank has lost gas; the share left.
    AirLost,
    /// The float is stuck open.
    StuckOpen,
    /// The float is stuck shut.
    StuckShut,
    /// A stage is bypassed.
    Bypassed,
    /// A stage is valved off.
    ValvedOff,
    /// The membrane unit is being cleaned.
    Cleaning,
    /// What a stage holds is being changed.
    Changing,
    /// The standby supply is put in by hand.
    StandbyByHand,
}

/// What happened. The comment says what [`Event::value`] is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EventKind {
    /// A pump starts; pressure at the tank gauge, kPa.
    PumpStarts,
    /// A pump stops; pressure at the tank gauge, kPa.
    PumpStops,
    /// Starts come too close together to be listed one by one; length of the last cycle, s.
    ShortCyclingBegins,
    /// Starts are listed again; number of starts in the spell.
    ShortCyclingEnds,
    /// The low-level cut-off stops a pump; depth of the water in a well, m, or water in a basin, L.
    LowLevelStop,
    /// The source has recovered and the pump may run; as with [`Self::LowLevelStop`].
    LowLevelClears,
    /// The water is down to the pump's intake: it gives only what flows in; that flow, L/s.
    SuctionLost,
    /// The pump is covered again; flow, L/s.
    SuctionRegained,
    /// The tank has no water left to give; pressure, kPa.
    TankEmpties,
    /// The membrane unit starts; pressure at its suction, kPa.
    MembraneStarts,
    /// The membrane unit no longer makes water; product since it started, L.
    MembraneStops,
    /// Too little pressure at its suction stops the membrane unit; that pressure, kPa.
    MembraneTrips,
    /// The membrane unit has tried often enough and is locked out; trips in a row.
    MembraneLocksOut,
    /// The membrane has lost what may be lost between two cleanings; its permeability to water as a share of that when last
    /// cleaned, which is the flow it has left at the same pressure, salt and temperature.
    CleaningDue,
    /// The fill valve of storage opens; water in it, L.
    FillOpens,
    /// The fill valve of storage shuts; water in it, L.
    FillShuts,
    /// The valve that tops up a basin opens; water in it, L.
    TopUpOpens,
    /// The valve that tops up a basin shuts; water in it, L.
    TopUpShuts,
    /// A tank or basin is full and spills; the flow over its brim, L/s.
    SpillBegins,
    /// It spills no more; length of the spell, s.
    SpillEnds,
    /// The standby supply takes over, the others are isolated; no value (0).
    ChangesOver,
    /// The first supply is back, the standby is isolated; length of the spell, s.
    ChangesBack,
    /// Low storage stops the delivery pump; water in storage, L.
    ProtectStop,
    /// Storage has recovered and the delivery pump may run; water in storage, L.
    ProtectClears,
    /// An outlet wants water and gets less than half; the flow it gets, L/s.
    RunOutBegins,
    /// Water is back at that outlet; length of the spell, s.
    RunOutEnds,
    /// Water begins to run away at a leak; the flow it is open for, L/s.
    LeakBegins,
    /// The leak is stopped; no value (0).
    LeakEnds,
    /// Pressure to the buildings falls under what the controls hold; that limit, kPa.
    PressureLow,
    /// Pressure to the buildings is back; length of the spell, s.
    PressureBack,
    /// A stage has caught what it can hold, or a lamp is at its age; the loss at rated flow, kPa, or hours.
    ServiceDue,
    /// Backwash or regeneration of a stage is over; the share of the wash water that came.
    Washed,
    /// Water passes an ultraviolet unit with less than the least dose; that dose, mJ/cm2.
    UnderdoseBegins,
    /// The dose is back; length of the spell, s.
    UnderdoseEnds,
    /// People get water less warm than they want; its temperature at the tap, °C.
    LukewarmBegins,
    /// It has been as warm as wanted for [`SPELL_GAP`](crate::hot_water::follow::SPELL_GAP); length of the lukewarm water, s.
    LukewarmEnds,
    /// For the first time in a run a compressor waits for air that suits it; temperature of the air, °C.
    AirUnsuitable,
    /// For the first time in a run water hotter than [`SCALDS_FROM_C`](crate::hot_water::tap::SCALDS_FROM_C) comes to a tap; its
    /// temperature, °C.
    ScaldingWater,
    /// For the first time in a run [`lets_grow`](crate::hot_water::follow::HeaterTotals::lets_grow) holds of a heater; how much
    /// water has been as warm as Legionella likes it, litre-hours.
    GrowthWarm,
    /// The grid is out and the battery feeds; energy in it, kWh.
    BatteryFeeds,
    /// The grid is out and the generator feeds; fuel in its tank, L, 0 where there is always more.
    GeneratorFeeds,
    /// Battery and generator give no more, and nobody feeds the site; no value (0).
    NobodyFeeds,
    /// More is asked of battery or generator than they give, and the part is put off: heaters, the membrane unit, or the site for a
    /// while; their mean power in the last minute, W.
    Overload,
    /// Something goes out of order; its figure where it has one, else 0.
    IncidentBegins(Trouble),
    /// It is put right. After a cleaning, permeability to water as a share of that of a new membrane; else no value (0).
    IncidentEnds(Trouble),
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
    /// By supply, in the order of the plant; unused places stay zero.
    pub supplies: [SupplyTotals; MOST_SUPPLIES],
    /// Water taken from the end of the raw line to fill storage, L.
    pub taken_l: f64,
    /// The membrane unit.
    pub membrane: MembraneTotals,
    /// Water let into storage, L.
    pub filled_l: f64,
    /// Water that storage spilled, L.
    pub spilled_l: f64,
    /// Water taken from storage by the delivery pump, L.
    pub drawn_l: f64,
    /// Water drained from the pressure tank as it was put right, L.
    pub drained_l: f64,
    /// Time integral of the pressure on the raw header, kPa s.
    pub raw_kpa_s: f64,
    /// Time integral of the pressure behind the delivery pump, kPa s.
    pub delivery_kpa_s: f64,
    /// Electric energy of the delivery pump and its drive, J.
    pub delivery_j: f64,
    /// Electric energy of ultraviolet lamps, J.
    pub lamps_j: f64,
    /// Electric energy of water heaters and the pumps of their loops, J; in a row, up to the last tick.
    pub heaters_j: f64,
    /// By outlet, in the order of the plant; unused places stay zero.
    pub outlets: [OutletTotals; MOST_OUTLETS],
    /// Electricity on the site, up to the last tick; zero where it is not followed beyond what parts take.
    pub site: SiteFlows,
}

impl Totals {
    /// Electric energy of all parts, J.
    #[must_use]
    pub fn energy_j(&self) -> f64 {
        self.supplies.iter().map(|supply| supply.pump_j).sum::<f64>()
            + self.delivery_j
            + self.lamps_j
            + self.membrane.pump_j
            + self.heaters_j
    }

    /// What has flowed since an earlier instant, of which these are the totals `before`.
    #[must_use]
    pub fn since(&self, before: &Self) -> Self {
        Self {
            supplies: core::array::from_fn(|i| self.supplies[i].since(&before.supplies[i])),
            taken_l: self.taken_l - before.taken_l,
            membrane: self.membrane.since(&before.membrane),
            filled_l: self.filled_l - before.filled_l,
            spilled_l: self.spilled_l - before.spilled_l,
            drawn_l: self.drawn_l - before.drawn_l,
            drained_l: self.drained_l - before.drained_l,
            raw_kpa_s: self.raw_kpa_s - before.raw_kpa_s,
            delivery_kpa_s: self.delivery_kpa_s - before.delivery_kpa_s,
            delivery_j: self.delivery_j - before.delivery_j,
            lamps_j: self.lamps_j - before.lamps_j,
            heaters_j: self.heaters_j - before.heaters_j,
            outlets: core::array::from_fn(|i| OutletTotals {
                delivered_l: self.outlets[i].delivered_l - before.outlets[i].delivered_l,
                lost_l: self.outlets[i].lost_l - before.outlets[i].lost_l,
            }),
            site: self.site.since(&before.site),
        }
    }

    /// Fresh feed of the membrane unit, L: what was taken to fill storage, but for what went past it.
    #[must_use]
    pub fn membrane_feed_l(&self) -> f64 {
        self.taken_l - self.membrane.blended_l
    }

    /// Its product that came into storage, L.
    #[must_use]
    pub fn membrane_stored_l(&self) -> f64 {
        self.filled_l - self.membrane.blended_l
    }
}

/// Running totals of the membrane unit. Its feed is what was taken to fill storage, but for what was blended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct MembraneTotals {
    /// Product, that of the first minutes included, L.
    pub product_l: f64,
    /// Concentrate that went back to the suction, L.
    pub recycled_l: f64,
    /// Salt in the product as it left the membrane, g.
    pub product_salt_g: f64,
    /// Water of the raw line that went past it into storage, L.
    pub blended_l: f64,
    /// Water that flushes took, L.
    pub flushed_l: f64,
    /// Product that went to waste, L.
    pub diverted_l: f64,
    /// Time it made water, s.
    pub run_s: f64,
    /// Electric energy of its pump, J.
    pub pump_j: f64,
}

impl MembraneTotals {
    fn since(&self, before: &Self) -> Self {
        Self {
            product_l: self.product_l - before.product_l,
            recycled_l: self.recycled_l - before.recycled_l,
            product_salt_g: self.product_salt_g - before.product_salt_g,
            blended_l: self.blended_l - before.blended_l,
            flushed_l: self.flushed_l - before.flushed_l,
            diverted_l: self.diverted_l - before.diverted_l,
            run_s: self.run_s - before.run_s,
            pump_j: self.pump_j - before.pump_j,
        }
    }
}

impl SupplyTotals {
    fn since(&self, before: &Self) -> Self {
        Self {
            pumped_l: self.pumped_l - before.pumped_l,
            inflow_l: self.inflow_l - before.inflow_l,
            rain_l: self.rain_l - before.rain_l,
            runoff_l: self.runoff_l - before.runoff_l,
            evaporated_l: self.evaporated_l - before.evaporated_l,
            seeped_l: self.seeped_l - before.seeped_l,
            topped_up_l: self.topped_up_l - before.topped_up_l,
            returned_l: self.returned_l - before.returned_l,
            leaked_back_l: self.leaked_back_l - before.leaked_back_l,
            spilled_l: self.spilled_l - before.spilled_l,
            pump_j: self.pump_j - before.pump_j,
            run_s: self.run_s - before.run_s,
        }
    }
}

/// Running totals of one supply.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SupplyTotals {
    /// Water given to the raw header, L.
    pub pumped_l: f64,
    /// Water from outside into the source, L: from the aquifer into the casing, off a roof into a cistern, rain and runoff into
    /// a pond, from the main.
    pub inflow_l: f64,
    /// Of it, rain on the surface and the banks of open water, L;
    pub rain_l: f64,
    /// and runoff of its catchment, L.
    pub runoff_l: f64,
    /// Water that evaporated, L.
    pub evaporated_l: f64,
    /// Water that seeped away, L.
    pub seeped_l: f64,
    /// Water let in from the raw header to top up a basin, L.
    pub topped_up_l: f64,
    /// Water that the membrane unit rejected into a basin, L.
    pub returned_l: f64,
    /// Water that leaked back through the check valve, L.
    pub leaked_back_l: f64,
    /// Water that a basin spilled, L.
    pub spilled_l: f64,
    /// Electric energy of the pump and its drive, J.
    pub pump_j: f64,
    /// Time the pump ran, or the main was connected, s.
    pub run_s: f64,
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
    /// By supply: drawdown in a well, m, or water in a basin, L; zero of a town line.
    pub sources: [f64; MOST_SUPPLIES],
    /// By supply: whether its pump runs, or its main is connected.
    pub pump_on: [bool; MOST_SUPPLIES],
    /// By supply: starts of its pump since the start of the run.
    pub starts: [u64; MOST_SUPPLIES],
    /// Water in storage, L; zero where there is none.
    pub storage_l: f64,
    /// Pressure behind the delivery pump, kPa; zero where there is none.
    pub delivery_kpa: f64,
    /// Lowest pressure on the header that feeds the buildings since the row before, kPa.
    pub lowest_house_kpa: f64,
    /// Wanted flow of all outlets, L/s.
    pub wanted_lps: f64,
    /// What the water carries that last came to the buildings, behind treatment, in the order of
    /// [`Constituent`](crate::quality::Constituent).
    pub carried: Carried,
    /// What basins carry by supply; of a well or main, that of its water.
    pub sources_carry: [Carried; MOST_SUPPLIES],
    /// What last came to the end of the raw line.
    pub raw_carries: Carried,
    /// By supply: ice and snow of open water.
    pub ponds: [PondState; MOST_SUPPLIES],
    /// The membrane unit.
    pub membrane: MembraneNow,
    /// Heaters and rooms at the last tick.
    pub hot_water: &'a HotState,
    /// Energy in the battery at the last tick, J; zero without one.
    pub stored_j: f64,
    /// What has flowed since the start of the run.
    pub totals: &'a Totals,
}

/// The membrane unit at one instant; all zero in a plant that has none.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MembraneNow {
    /// Whether it makes water, for storage or in its first minutes to waste.
    pub on: bool,
    /// Salt in its loop, mg/L.
    pub loop_salt_mg_l: f64,
    /// Salt on its product side, mg/L.
    pub product_salt_mg_l: f64,
}

/// Receives what a run tells. Every method does nothing unless overridden, and costs nothing then.
pub trait Observer {
    /// Something happened.
    fn event(&mut self, _event: &Event) {}

    /// Some time of lukewarm water is over; the heater whose it was, by its index.
    fn lukewarm(&mut self, _heater: usize, _spell: &Spell) {}

    /// The plant at a multiple of the grid the engine was asked for.
    fn row(&mut self, _sample: &Sample<'_>) {}
}

/// An observer that listens to nothing.
#[derive(Clone, Copy, Debug, Default)]
pub struct Silent;

impl Observer for Silent {}
