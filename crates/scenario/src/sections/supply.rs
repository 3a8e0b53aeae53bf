//! Supplies beside the wells, how they change over, and the pressure tank.

use super::water::{CisternWater, PondWater, TownWater};
use super::{Analysis, Catchment, WellPump};
use crate::quantity::{Area, Concentration, DepthRate, Duration, Flow, Length, Pressure, Price, Share, Volume};
use crate::typed::{File, Level, Number, Tried, Whole, choice, section};

choice! {
    /// A supply.
    SupplyWord {
        /// The well.
        Well = "well",
        /// The second well.
        SecondWell = "second well",
        /// The cistern.
        Cistern = "cistern",
        /// The pond.
        Pond = "pond",
        /// The municipal line.
        TownLine = "town line",
    }
}

section! {
    /// A cistern: a tank that keeps rain or carried water, and its pump. Levels are volumes or shares of its volume.
    Cistern {
        /// Water it holds to the brim.
        required volume: Volume = "5000 gal";
        /// Water in it when the run starts.
        default start: Level = "100 %";
        /// Depth of the water when it is full.
        required depth: Length = "8 ft";
        /// Height of the brim above the ground at the pressure tank; negative where it lies lower.
        default brim_height: Length = "0 ft";
        /// Water at which the pump's intake is uncovered.
        default intake: Level = "2 %";
        /// The device that stops the pump at low water.
        optional cutoff: BasinCutoff = "", "nothing stops the pump at low water";
        /// It feeds the plant only after a change-over (`change_over`).
        default standby: bool = "false";
        /// What its water carries.
        section water: CisternWater;
        /// What a laboratory found in it.
        optional analysis: Analysis = "", "not known";
        /// The pump that takes from it; its keys are those of `well_pump`.
        required pump: Tried<WellPump> = "curve motor cut_in cut_out";
        /// The roof that fills it.
        optional roof: Roof = "", "no rain runs into it";
        /// A valve that tops it up from the raw header, through an air gap, while another supply feeds that.
        optional top_up: TopUp = "", "nothing tops it up";
    }
}

section! {
    /// A pond: open water in the ground, and its pump. Levels are volumes or shares of its volume.
    Pond {
        /// Water it holds to the brim.
        required volume: Volume = "200000 gal";
        /// Water in it when the run starts.
        default start: Level = "100 %";
        /// Depth of the water when it is full.
        required depth: Length = "10 ft";
        /// Height of the brim above the ground at the pressure tank; negative where it lies lower.
        default brim_height: Length = "0 ft";
        /// Water at which the pump's intake is uncovered.
        default intake: Level = "2 %";
        /// `m` in the volume below a depth of `h`, which grows as `h^m`: 1 for a vertical wall, 2 for a trench, 3 for a cone.
        default shape: Number<1, 10> = "2";
        /// Area of its surface when full, in place of `shape`.
        optional area: Area = "0.4 acre", "from `shape`";
        /// The land that drains into it. With this and the next four goes `weather`.
        optional catchment: Catchment = "area", "nothing but rain on its surface and banks";
        /// Evaporation as a multiple of that of the grass of FAO-56: 1.05 where it is less than 2 m deep or the air is humid.
        optional evaporation: Number<0, 3> = "1.05", "1.05";
        /// What seeps away, as a depth: 0.25 to 10 mm a day through clay, 8 to 20 through loam, more through sand; 1 through a
        /// blanket of compacted clay.
        optional seepage: DepthRate = "2 mm/day", "2 mm/day";
        /// How fast suspended solids sink to its ground.
        optional settling: DepthRate = "0.3 m/day", "0.3 m/day";
        /// Suspended solids that never sink: fine clay, algae.
        optional clearest: Concentration = "5 mg/L", "5 mg/L, or `solids` of `water` where that is less";
        /// The device that stops the pump at low water.
        optional cutoff: BasinCutoff = "", "nothing stops the pump at low water";
        /// It feeds the plant only after a change-over (`change_over`).
        default standby: bool = "false";
        /// What its water carries.
        section water: PondWater;
        /// What a laboratory found in it.
        optional analysis: Analysis = "", "not known";
        /// The pump that takes from it; its keys are those of `well_pump`.
        required pump: Tried<WellPump> = "curve motor cut_in cut_out";
        /// A valve that tops it up from the raw header, through an air gap, while another supply feeds that.
        optional top_up: TopUp = "", "nothing tops it up";
    }
}

section! {
    /// The device that stops the pump of a cistern or pond at low water.
    BasinCutoff {
        /// Water at which the pump stops.
        required stop: Level = "8 %";
        /// Water at which it may run again.
        required restart: Level = "20 %";
        /// Time that must have passed since the stop before the pump may run again.
        default restart_delay: Duration = "30 min";
    }
}

section! {
    /// A float switch and a valve from the raw header, through an air gap.
    TopUp {
        /// Water at which the valve opens.
        required start: Level = "15 %";
        /// Water at which it closes.
        required stop: Level = "30 %";
        /// Flow of the open valve.
        required flow: Flow = "4 gpm";
        /// Pressure from which the open valve passes all of that flow.
        default full_flow_pressure: Pressure = "15 psi";
    }
}

section! {
    /// The roof that fills a cistern, and a file of the rain on it.
    Roof {
        /// Its area seen from above.
        required area: Area = "1900 ft2";
        /// Part of the rain that runs off; the rest wets the roof, splashes or evaporates.
        default runoff: Share = "85 %";
        /// Depth of rain led aside at the beginning of each rain, with the dirt it washes off.
        default first_flush: Length = "0.5 mm";
        /// After so long without rain the next rain is a new one, and is flushed again.
        default dry_gap: Duration = "12 h";
        /// A CSV of rain, seen from the scenario's folder; [docs/rain.md](rain.md) tells of its columns.
        optional rain: File = "rain.csv", "the rain of `weather`";
    }
}

section! {
    /// A municipal line, known from a flow test at the meter: its pressure falls with the square of the flow.
    TownLine {
        /// Pressure with nothing drawn.
        required static_pressure: Pressure = "65 psi";
        /// Flow of the test.
        required flow: Flow = "12 gpm";
        /// Pressure left at that flow.
        required residual_pressure: Pressure = "45 psi";
        /// It feeds the plant only after a change-over (`change_over`).
        default standby: bool = "false";
        /// What its water carries.
        section water: TownWater;
        /// What a laboratory found in it.
        optional analysis: Analysis = "", "not known";
        /// What its water costs, in your money.
        optional price: Price = "9 /kgal", "nothing";
    }
}

section! {
    /// When a standby supply takes over, and when it gives back.
    ChangeOver {
        /// By itself, once no other supply could give water (low water, out of order) for so long.
        optional after: Duration = "10 min", "only by hand (an `incident`)";
        /// By itself again, once another supply could give water for so long.
        default back_after: Duration = "30 min";
    }
}

section! {
    /// One or several equal pressure tanks on the raw header, behind the pumps.
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
        optional start_pressure: Pressure = "50 psi", "midway between `cut_in` and `cut_out`, or `set_pressure` of a drive";
    }
}

section! {
    /// A pressure-reducing valve behind the raw line's treatment: buildings fed by the raw line have at most its pressure.
    PressureReducer {
        /// Pressure that it lets through at most.
        required set_pressure: Pressure = "50 psi";
    }
}
