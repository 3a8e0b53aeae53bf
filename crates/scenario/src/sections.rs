//! The sections of a scenario file and their keys.

use jiff::civil::Date;

use crate::quantity::{
    Density, Duration, Flow, Length, Power, Pressure, Share, SpecificCapacity, Temperature, Viscosity, Volume,
    VolumePerLength,
};
use crate::typed::{File, Level, Moment, Text, TimeOfDay, Tried, Whole, choice, section};

choice! {
    /// Units of tables, plots and messages.
    UnitsWord {
        /// Gallons, feet, psi.
        Us = "us",
        /// Litres, metres, kilopascals.
        Metric = "metric",
    }
}

choice! {
    /// The header a building hangs on.
    FedBy {
        /// The delivery pump behind the storage tank.
        Delivery = "delivery",
        /// The well pump and its pressure tank.
        Well = "well",
    }
}

choice! {
    /// What a draw does when less comes than it wants.
    DrawWord {
        /// It ends when it was to end.
        Timed = "timed",
        /// It goes on until it has its volume.
        Volume = "volume",
    }
}

choice! {
    /// A day of the week.
    Weekday {
        /// Monday.
        Monday = "mon",
        /// Tuesday.
        Tuesday = "tue",
        /// Wednesday.
        Wednesday = "wed",
        /// Thursday.
        Thursday = "thu",
        /// Friday.
        Friday = "fri",
        /// Saturday.
        Saturday = "sat",
        /// Sunday.
        Sunday = "sun",
    }
}

choice! {
    /// What is out of order.
    IncidentWord {
        /// No electricity on the site.
        Power = "power out",
        /// The well pump does not run.
        WellPump = "well pump out",
        /// The delivery pump does not run.
        DeliveryPump = "delivery pump out",
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
        /// The well.
        required well: Tried<Well> = "static_level pump_depth casing_diameter specific_capacity";
        /// The pump in the well.
        required well_pump: Tried<WellPump> = "curve motor cut_in cut_out";
        /// The pressure tank behind the well pump.
        required pressure_tank: Tried<PressureTank> = "volume precharge";
        /// A storage tank, filled from the pressure tank through an air gap.
        optional storage: Tried<Storage> = "", "no storage: the house hangs on the pressure tank";
        /// The pump behind the storage tank; goes together with `storage`.
        optional delivery: Tried<Delivery> = "", "no delivery pump";
        /// A building, once for each: a set of fixtures at one place.
        list building: Tried<Building>;
        /// Water taken from the well pump's header ahead of everything else: irrigation, a stock trough. Once for each.
        list raw_load: Tried<RawLoad>;
        /// A draw of water that comes every day, or on some days of the week. Once for each.
        list draw: Tried<Draw>;
        /// A file of logged draws, once for each. Logged draws come on top of those of `draw`.
        list log: Tried<Log>;
        /// Something that is out of order for a while, once for each.
        list incident: Tried<Incident>;
    }
}

section! {
    /// Where the plant stands, and its water.
    Site {
        /// Height above the sea, from which the pressure of the air follows.
        default altitude: Length = "0 ft";
        /// Pressure of the air (absolute), in place of `altitude`.
        optional atmospheric_pressure: Pressure = "95 kPa", "from `altitude`";
        /// Temperature of the water, from 0 to 95 °C (32 to 203 °F): gives its density and viscosity.
        default water_temperature: Temperature = "52 °F";
        /// Density of the water, in place of `water_temperature`; together with `viscosity`.
        optional density: Density = "999.6 kg/m3", "from `water_temperature`";
        /// Dynamic viscosity of the water, in place of `water_temperature`; together with `density`.
        optional viscosity: Viscosity = "1.27 mPa·s", "from `water_temperature`";
    }
}

section! {
    /// The well. Depths are measured down from the ground.
    ///
    /// How it answers to pumping: either `specific_capacity`, or a pump test in `[well.test]`, or `constant_level = true`.
    Well {
        /// Depth of the water when nothing is pumped; negative where it stands above the ground.
        required static_level: Length = "60 ft";
        /// Depth of the pump's intake.
        required pump_depth: Length = "200 ft";
        /// Inside diameter of the casing.
        optional casing_diameter: Length = "6 in", "give this or `casing_storage`, unless the level is constant";
        /// Water held by a length of the casing, in place of `casing_diameter`.
        optional casing_storage: VolumePerLength = "18 L/m", "from `casing_diameter`";
        /// Depth where the water enters the well; drawing the level below it brings no more water.
        optional water_entry: Length = "180 ft", "as deep as the pump";
        /// Flow into the well for each length of drawdown.
        optional specific_capacity: SpecificCapacity = "0.02 gpm/ft", "from `[well.test]`";
        /// A pump test, in place of `specific_capacity`.
        optional test: WellTest = "", "`specific_capacity` or `constant_level`";
        /// The level never moves: an ideal well, to see what the rest of the plant does.
        default constant_level: bool = "false";
        /// Drawdown when the run starts.
        default start_drawdown: Length = "0 ft";
        /// The device that stops the pump at low water.
        optional cutoff: Cutoff = "", "nothing stops the pump at low water";
    }
}

section! {
    /// A pump test from rest: so much, for so long, drew the level down by so much.
    WellTest {
        /// Flow pumped, the same all the time.
        required flow: Flow = "6 gpm";
        /// How long it was pumped.
        required time: Duration = "4 h";
        /// How far the level had fallen at the end.
        required drawdown: Length = "40 ft";
    }
}

section! {
    /// The device that stops the well pump at low water.
    Cutoff {
        /// Depth of the water at which the pump stops.
        required stop_level: Length = "190 ft";
        /// Depth to which the water must have come back up before the pump may run again.
        required restart_level: Length = "120 ft";
        /// Time that must have passed since the stop before the pump may run again.
        default restart_delay: Duration = "30 min";
    }
}

section! {
    /// The pump in the well and its pressure switch.
    ///
    /// Its electric power: either `power`, or an `efficiency`, or the `motor` on the nameplate.
    WellPump {
        /// Head against flow at two points or more, in order of rising flow.
        optional curve: Vec<CurvePoint> = "[{ flow = \"0 gpm\", head = \"320 ft\" }, { flow = \"7 gpm\", head = \"200 ft\" }]", "give this or `constant_flow`";
        /// An ideal pump: this flow at any head. In place of `curve`.
        optional constant_flow: Flow = "5 gpm", "from `curve`";
        /// Electric power while it runs, the same at any flow.
        optional power: Power = "900 W", "from `efficiency` or `motor`; nothing with `constant_flow`";
        /// Hydraulic power out over electric power in at the best point.
        optional efficiency: Share = "45 %", "45 %, unless `motor` or `power` is given";
        /// Flow of the best point.
        optional best_flow: Flow = "6 gpm", "where flow times head is largest";
        /// Shaft power on the motor's nameplate, in place of `efficiency`. The pump's efficiency at its best point is then
        /// its hydraulic power over this, held between 20 and 75 %: common practice, without a source.
        optional motor: Power = "3/4 hp", "`efficiency` counts";
        /// Efficiency of that motor; goes with `motor`.
        optional motor_efficiency: Share = "70 %", "70 % where `motor` is given";
        /// Pressure at which the switch starts the pump.
        required cut_in: Pressure = "40 psi";
        /// Pressure at which the switch stops the pump.
        required cut_out: Pressure = "60 psi";
        /// Height of the pressure tank's gauge above the ground.
        default gauge_height: Length = "0 ft";
        /// The pipe from the pump up to the pressure tank.
        optional pipe: Pipe = "", "no loss";
    }
}

section! {
    /// A point of a pump's curve.
    CurvePoint {
        /// Flow.
        required flow: Flow = "6 gpm";
        /// Head at that flow, as a height of water.
        required head: Length = "220 ft";
    }
}

section! {
    /// The pipe from the well pump up to the pressure tank.
    Pipe {
        /// Its length.
        required length: Length = "230 ft";
        /// Its inside diameter.
        required bore: Length = "1.05 in";
        /// Equivalent sand roughness of the wall; the default is drawn plastic tube.
        default roughness: Length = "0.0015 mm";
    }
}

section! {
    /// One or several equal pressure tanks behind the well pump.
    PressureTank {
        /// Volume of one, water and air together.
        required volume: Volume = "44 gal";
        /// How many there are.
        default count: Whole<1, 100> = "1";
        /// Pressure of the air in it with no water; the practice is 2 psi (14 kPa) under `cut_in`.
        required precharge: Pressure = "38 psi";
        /// Part of that air still in it: less than 100 % is a tank that has lost air.
        default air_left: Share = "100 %";
        /// Pressure when the run starts.
        optional start_pressure: Pressure = "50 psi", "midway between `cut_in` and `cut_out`";
    }
}

section! {
    /// A storage tank, filled from the pressure tank through an air gap. Levels are volumes or shares of its volume.
    ///
    /// How it is filled: either `[storage.float_switch]` or `[storage.float_valve]`.
    Storage {
        /// Water it holds to the overflow.
        required volume: Volume = "1500 gal";
        /// Water in it when the run starts.
        optional start: Level = "80 %", "as full as the float lets it become";
        /// Water at which the delivery pump is stopped, to protect it.
        default protect: Level = "5 %";
        /// Water at which a stopped delivery pump may run again.
        default restart: Level = "10 %";
        /// Flow of the open fill valve.
        required fill_flow: Flow = "3 gpm";
        /// Pressure from which the open valve passes all of that flow.
        default fill_full_flow_pressure: Pressure = "15 psi";
        /// A float switch with a solenoid valve: open or shut.
        optional float_switch: FloatSwitch = "", "`float_valve`";
        /// A mechanical float valve: throttles as the tank becomes full.
        optional float_valve: FloatValve = "", "`float_switch`";
    }
}

section! {
    /// A float switch with a solenoid valve.
    FloatSwitch {
        /// Water at which the valve opens.
        required start: Level = "80 %";
        /// Water at which the valve closes.
        required stop: Level = "95 %";
    }
}

section! {
    /// A mechanical float valve.
    FloatValve {
        /// Water below which the valve is fully open.
        required open: Level = "90 %";
        /// Water at which the valve is shut.
        required shut: Level = "97 %";
    }
}

section! {
    /// The variable-speed pump behind the storage tank, its drive and its small tank.
    ///
    /// Its electric power is given as that of the well pump.
    Delivery {
        /// Head against flow at full speed, at two points or more, in order of rising flow.
        optional curve: Vec<CurvePoint> = "[{ flow = \"0 gpm\", head = \"190 ft\" }, { flow = \"12 gpm\", head = \"130 ft\" }]", "give this or `constant_flow`";
        /// An ideal pump: up to this flow at any head. In place of `curve`.
        optional constant_flow: Flow = "12 gpm", "from `curve`";
        /// Electric power while it runs, the same at any flow.
        optional power: Power = "700 W", "from `efficiency` or `motor`; nothing with `constant_flow`";
        /// Hydraulic power out over electric power in at the best point.
        optional efficiency: Share = "45 %", "45 %, unless `motor` or `power` is given";
        /// Flow of the best point at full speed.
        optional best_flow: Flow = "10 gpm", "where flow times head is largest";
        /// Shaft power on the motor's nameplate, in place of `efficiency`: as with the well pump.
        optional motor: Power = "1 hp", "`efficiency` counts";
        /// Efficiency of that motor; goes with `motor`.
        optional motor_efficiency: Share = "70 %", "70 % where `motor` is given";
        /// Pressure it holds while awake.
        required set_pressure: Pressure = "50 psi";
        /// Pressure at which it wakes.
        optional wake_pressure: Pressure = "40 psi", "10 psi (69 kPa) under `set_pressure`";
        /// Below this flow it counts as idle.
        default sleep_flow: Flow = "0.3 gpm";
        /// How long it idles before it sleeps.
        default sleep_delay: Duration = "30 s";
        /// Power of the drive while the pump stands still.
        default standby_power: Power = "10 W";
        /// Height of its gauge above the water in the storage tank.
        default lift: Length = "0 ft";
        /// Volume of the small tank behind it, water and air together.
        default tank_volume: Volume = "5 gal";
        /// Pressure of the air in the small tank with no water.
        optional tank_precharge: Pressure = "35 psi", "70 % of `set_pressure`";
        /// Part of that air still in it.
        default tank_air_left: Share = "100 %";
        /// Pressure when the run starts.
        optional start_pressure: Pressure = "50 psi", "`set_pressure`";
    }
}

section! {
    /// A building: a set of fixtures at one place.
    Building {
        /// What draws and logs call it.
        required name: Text = "house";
        /// Where it takes its water.
        optional fed_by: FedBy = "delivery", "\"delivery\" where there is a delivery pump, else \"well\"";
        /// Pressure from which its fixtures pass the flow they are set to.
        default full_flow_pressure: Pressure = "20 psi";
    }
}

section! {
    /// Water taken from the well pump's header: irrigation, a stock trough.
    RawLoad {
        /// What draws and logs call it.
        required name: Text = "garden";
        /// Pressure from which it passes the flow it is set to.
        default full_flow_pressure: Pressure = "20 psi";
    }
}

section! {
    /// A draw of water that comes every day, or on some days of the week.
    Draw {
        /// Name of a building or of a raw load.
        required building: Text = "house";
        /// Time of day at which it starts.
        required start: TimeOfDay = "06:30";
        /// How long it lasts; it may go on past midnight.
        required length: Duration = "8 min";
        /// Flow it wants.
        required flow: Flow = "2 gpm";
        /// `timed`: it ends when it was to end, and what did not come is lost (a shower). `volume`: it goes on until it has
        /// its volume (a toilet, a washer).
        default kind: DrawWord = "timed";
        /// The days of the week on which it comes.
        optional weekdays: Vec<Weekday> = "[\"mon\", \"wed\", \"fri\"]", "every day";
    }
}

section! {
    /// A file of logged draws or meter readings: a CSV with the columns `start,building,flow_lps,duration_s` or
    /// `time,litres`; gallons are fine too. [docs/logs.md](logs.md) tells of its columns, with examples.
    Log {
        /// The file, seen from the scenario's folder.
        required file: File = "logged-week.csv";
    }
}

section! {
    /// Something that is out of order for a while.
    Incident {
        /// What it is.
        required kind: IncidentWord = "power out";
        /// When it begins, local standard time.
        required start: Moment = "2027-06-06 02:30";
        /// How long it lasts.
        required length: Duration = "9 h";
    }
}
