//! Wells and pumps.

use super::Analysis;
use super::water::WellWater;
use crate::quantity::{Duration, Flow, Length, Power, Pressure, Share, SpecificCapacity, VolumePerLength};
use crate::typed::section;

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
        /// It feeds the plant only after a change-over (`change_over`).
        default standby: bool = "false";
        /// What its water carries.
        section water: WellWater;
        /// What a laboratory found in it.
        optional analysis: Analysis = "", "not known";
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
    /// A supply's pump and what controls it: either a pressure switch with `cut_in` and `cut_out`, or a variable-speed drive.
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
        optional cut_in: Pressure = "40 psi", "a drive";
        /// Pressure at which the switch stops the pump.
        optional cut_out: Pressure = "60 psi", "a drive";
        /// A variable-speed drive that holds a pressure, in place of `cut_in` and `cut_out`.
        optional drive: Drive = "", "`cut_in` and `cut_out`";
        /// Height of the pressure tank's gauge above the ground.
        default gauge_height: Length = "0 ft";
        /// The pipe from the pump up to the pressure tank.
        optional pipe: Pipe = "", "no loss";
    }
}

section! {
    /// A variable-speed drive: asleep it lets the pressure tank feed the house down to `wake_pressure`, awake it holds
    /// `set_pressure` by giving just what is drawn.
    Drive {
        /// Pressure it holds while awake.
        required set_pressure: Pressure = "55 psi";
        /// Pressure at which it wakes.
        optional wake_pressure: Pressure = "45 psi", "10 psi (69 kPa) under `set_pressure`";
        /// Below this flow it counts as idle.
        default sleep_flow: Flow = "0.3 gpm";
        /// How long it idles before it sleeps.
        default sleep_delay: Duration = "30 s";
        /// Power of the drive while the pump stands still.
        default standby_power: Power = "10 W";
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
    /// A straight run of pipe.
    Pipe {
        /// Its length.
        required length: Length = "230 ft";
        /// Its inside diameter.
        required bore: Length = "1.05 in";
        /// Equivalent sand roughness of the wall; the default is drawn plastic tube.
        default roughness: Length = "0.0015 mm";
    }
}
