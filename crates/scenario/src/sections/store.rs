//! Storage and the delivery pump.

use super::CurvePoint;
use crate::quantity::{Duration, Flow, Length, Power, Pressure, Share, Volume};
use crate::typed::{Level, section};

section! {
    /// A storage tank, filled through an air gap. Levels are volumes or shares of its volume.
    ///
    /// How it is filled: from the raw line by `[storage.float_switch]` or `[storage.float_valve]`, or by a `[membrane]` unit,
    /// which has floats of its own.
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
        optional fill_flow: Flow = "3 gpm", "needed with `float_switch` or `float_valve`";
        /// Pressure from which the open valve passes all of that flow.
        default fill_full_flow_pressure: Pressure = "15 psi";
        /// A float switch with a solenoid valve: open or shut.
        optional float_switch: FloatSwitch = "", "`float_valve` or `membrane`";
        /// A mechanical float valve: throttles as the tank becomes full.
        optional float_valve: FloatValve = "", "`float_switch` or `membrane`";
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
