//! The sections of a scenario file and their keys.

mod analysis;
mod draw;
mod energy;
mod heater;
mod incident;
mod membrane;
mod outlet;
mod people;
mod store;
mod supply;
mod treatment;
mod water;
mod weather;
mod well;

use jiff::civil::Date;

pub(crate) use self::analysis::Analysis;
pub(crate) use self::draw::{Draw, DrawWord, Log, MonthWord, Valve, Weekday};
pub(crate) use self::energy::{
    Backup, Battery, FuelWord, Generator, Inverter, Panels, RestOfHouse, SkyWord, Tariff, TariffHours,
};
pub(crate) use self::heater::{Heater, HeaterSun, HeaterWord, HotPipe, ModeWord, Room, UsageWord};
pub(crate) use self::incident::{Incident, IncidentWord};
pub(crate) use self::membrane::{Blend, Calcite, Element, Membrane, MembranePump, Plate, Readings, RunHours, Valves};
pub(crate) use self::outlet::{Building, FedBy, RawLoad};
pub(crate) use self::people::{Fixtures, Group, Household, People, Routine, WhoWord};
pub(crate) use self::store::{Delivery, Storage};
pub(crate) use self::supply::{
    BasinCutoff, ChangeOver, Cistern, Pond, PressureReducer, PressureTank, SupplyWord, TopUp, TownLine,
};
pub(crate) use self::treatment::{Backwash, Stage, StageLine, StageWord};
pub(crate) use self::weather::{Catchment, Weather, WeatherMonth, WeatherSpread};
pub(crate) use self::well::{CurvePoint, Pipe, Well, WellPump, WellTest};
use crate::quantity::{Density, Length, Pressure, Temperature, Viscosity};
use crate::typed::{At, Number, Text, Tried, Whole, choice, section};

choice! {
    /// Units of tables, plots and messages.
    UnitsWord {
        /// Gallons, feet, psi.
        Us = "us",
        /// Litres, metres, kilopascals.
        Metric = "metric",
    }
}

section! {
    /// The run as a whole. These keys stand at the top of the file, before the first section.
    ScenarioFile {
        /// Short name of letters, digits, `-` and `_`; results are kept under it.
        optional name: Tried<Text> = "slow-well", "the file's name without its extension";
        /// One line that says what the scenario shows.
        optional title: Tried<Text> = "A slow well, and storage to live with it", "the name";
        /// First day of the run. All times are local standard time.
        required start: Tried<Date> = "2027-06-04";
        /// Days to run.
        required days: Tried<Whole<1, 3660>> = "7";
        /// Seed of everything random.
        default seed: Tried<Whole<0, 4_294_967_295>> = "1";
        /// Units of tables, plots and messages; values in the file may be in any unit.
        required units: Tried<UnitsWord> = "us";
        /// Where the plant stands, and its water.
        section site: Tried<Site>;
        /// The weather over the plant.
        optional weather: Tried<Weather> = "months", "open water has no weather, and all water one temperature";
        /// The well.
        optional well: Tried<Well> = "static_level pump_depth casing_diameter specific_capacity", "another supply";
        /// The pump in the well.
        optional well_pump: Tried<WellPump> = "curve motor cut_in cut_out", "needed with `well`";
        /// A second well.
        optional second_well: Tried<Well> = "static_level pump_depth casing_diameter specific_capacity", "no second well";
        /// The pump in the second well.
        optional second_well_pump: Tried<WellPump> = "curve motor cut_in cut_out", "needed with `second_well`";
        /// A cistern and its pump.
        optional cistern: Tried<Cistern> = "volume depth", "no cistern";
        /// A pond and its pump.
        optional pond: Tried<Pond> = "volume depth", "no pond";
        /// A municipal line.
        optional town_line: Tried<TownLine> = "static_pressure flow residual_pressure", "no town line";
        /// When a standby supply comes in.
        optional change_over: Tried<ChangeOver> = "after", "needed where a supply is a standby";
        /// The pressure tank behind the well pump.
        optional pressure_tank: Tried<PressureTank> = "volume precharge", "needed where there is a pump; a town line alone needs none";
        /// A stage of treatment, once for each, in the order in which water passes them.
        list stage: Tried<At<Stage>>;
        /// A valve behind the raw line's treatment that limits the pressure in the buildings there.
        optional pressure_reducer: Tried<PressureReducer> = "set_pressure", "no such valve";
        /// A membrane unit behind the raw line's treatment, which makes the water in storage.
        optional membrane: Tried<Membrane> = "elements", "no such unit";
        /// A storage tank, filled through an air gap.
        optional storage: Tried<Storage> = "", "no storage: the house hangs on the pressure tank";
        /// The pump behind the storage tank; goes together with `storage`.
        optional delivery: Tried<Delivery> = "", "no delivery pump";
        /// A building, once for each: a set of fixtures at one place.
        list building: Tried<Building>;
        /// A water heater, once for each.
        list heater: Tried<At<Heater>>;
        /// A room in which heaters stand, once for each.
        list room: Tried<At<Room>>;
        /// Water taken from the raw header ahead of everything else: irrigation, a stock trough. Once for each.
        list raw_load: Tried<RawLoad>;
        /// A draw of water that comes every day, or on some days of the week. Once for each.
        list draw: Tried<Draw>;
        /// A file of logged draws, once for each. Logged draws come on top of those of `draw`.
        list log: Tried<Log>;
        /// Panels on a roof or in a field, once for each tilt and direction.
        list panels: Tried<At<Panels>>;
        /// The inverter behind all panels.
        section inverter: Tried<Inverter>;
        /// A battery.
        optional battery: Tried<Battery> = "capacity power", "no battery";
        /// A generator.
        optional generator: Tried<Generator> = "power full_load_fuel", "no generator";
        /// What battery and generator feed while the grid is out.
        section backup: Tried<Backup>;
        /// What energy costs.
        optional tariff: Tried<Tariff> = "import", "energy costs nothing";
        /// Electricity of all that is no part of the plant.
        optional rest_of_house: Tried<RestOfHouse> = "per_day", "nothing but the plant takes electricity";
        /// Something that is out of order for a while, once for each.
        list incident: Tried<At<Incident>>;
    }
}

section! {
    /// Where the plant stands, and its water.
    Site {
        /// Height above the sea, from which the pressure of the air follows.
        default altitude: Length = "0 ft";
        /// Pressure of the air (absolute), in place of `altitude`.
        optional atmospheric_pressure: Pressure = "95 kPa", "from `altitude`";
        /// Temperature of the water, from 0 to 95 °C (32 to 203 °F): gives its density and viscosity. With the normals of `weather`
        /// it is, unless given, that of a well there.
        default water_temperature: Temperature = "52 °F";
        /// Degrees north of the equator, negative south of it.
        optional latitude: Number<-90, 90> = "43.5", "needed with `weather`, unless its file says";
        /// Degrees east of Greenwich, negative west of it.
        optional longitude: Number<-180, 180> = "-72", "15 times `utc_offset`: the sun is highest at noon";
        /// Hours that local standard time is ahead of universal time, negative where it is behind.
        optional utc_offset: Number<-12, 14> = "-5", "a fifteenth of `longitude`, in whole hours";
        /// Density of the water, in place of `water_temperature`; together with `viscosity`.
        optional density: Density = "999.6 kg/m3", "from `water_temperature`";
        /// Dynamic viscosity of the water, in place of `water_temperature`; together with `density`.
        optional viscosity: Viscosity = "1.27 mPa·s", "from `water_temperature`";
    }
}
