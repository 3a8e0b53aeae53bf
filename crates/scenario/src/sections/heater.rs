//! Water heaters and the rooms they stand in.

use crate::quantity::{
    Area, Duration, Flow, HeatCapacity, HeatLoss, Length, Power, Share, Temperature, TemperatureDifference, Volume,
};
use crate::typed::{At, Number, Text, TimeOfDay, Tried, choice, section};

choice! {
    /// What heats a tank.
    HeaterWord {
        /// A compressor, and elements to help it.
        HeatPump = "heat pump",
        /// Elements alone.
        Electric = "electric",
        /// A burner of natural gas.
        Gas = "gas",
        /// A burner of propane.
        Propane = "propane",
    }
}

choice! {
    /// How a heater is run.
    ModeWord {
        /// The compressor alone.
        HeatPumpOnly = "heat pump only",
        /// The compressor, and elements where it falls behind.
        Hybrid = "hybrid",
        /// Elements alone.
        ElementOnly = "element only",
        /// Nothing heats.
        Off = "off",
    }
}

choice! {
    /// How much of the day the test of a plate draws.
    UsageWord {
        /// 10 gal.
        VerySmall = "very small",
        /// 38 gal.
        Low = "low",
        /// 55 gal.
        Medium = "medium",
        /// 84 gal.
        High = "high",
    }
}

section! {
    /// A water heater with a tank. What is on its plate comes first; constants that a plate does not tell are found from it by the
    /// US federal test, run on the model ([docs/physics.md](physics.md#plates)). `springhouse rate` tells what comes of it.
    Heater {
        /// Its name in results.
        required name: Text = "tank";
        /// The building whose fixtures it serves.
        optional building: Text = "house", "the first building";
        /// What heats it.
        required kind: HeaterWord = "heat pump";
        /// Water that it holds: the rated storage volume. Tanks are often sold by a tenth more.
        required volume: Volume = "45 gal";
        /// Uniform energy factor on the plate, of a heat pump that in hybrid mode.
        optional energy_factor: Number<0, 10> = "3.3", "from `carnot_share`, `loss` or `flue_loss`";
        /// First-hour rating on the plate. The model meets it within 6 %: a draw more or less fits into the hour.
        optional first_hour: Volume = "66 gal", "from `inlet_mixing`";
        /// The usage with which `energy_factor` was found.
        optional usage: UsageWord = "medium", "what the first-hour rating stands for";
        /// Heat that the compressor gives into water of 35 °C (95 °F) from air of 19.7 °C (67.5 °F).
        default compressor: Power = "1600 W";
        /// Power of each element; a heat pump may have none, `"0 W"`.
        default elements: Power = "4.5 kW";
        /// Gas or propane that the burner takes, by the upper heating value.
        default input: Power = "40000 Btu/h";
        /// Part of that which reaches the water.
        default efficiency: Share = "78 %";
        /// Fuel of a standing pilot; `"0 W"` where a spark lights the burner, which then needs power.
        default pilot: Power = "120 W";
        /// Electric power of a burner's controls and fan.
        default controls_power: Power = "0 W";
        /// Heat that the tank loses for each kelvin over the room.
        optional loss: HeatLoss = "2 W/K", "`2 W/K`; of an electric tank from `energy_factor`, if given";
        /// Heat that a flue at rest draws out of the water for each kelvin over the room.
        optional flue_loss: HeatLoss = "3 W/K", "from `energy_factor`, else `3 W/K`";
        /// Coefficient of performance of the compressor over the greatest that nature allows (Carnot's).
        optional carnot_share: Share = "45 %", "from `energy_factor`, else `45 %`";
        /// Part of the tank, from the bottom up, that the jet of the inlet mixes.
        optional inlet_mixing: Share = "20 %", "from `first_hour`, else `20 %`";
        /// How high the water stands in it.
        optional height: Length = "48 in", "2.8 times its diameter";
        /// How hot it is kept.
        default set_point: Temperature = "125 °F";
        /// How a heat pump is run; any heater may be `off`, in which a standing pilot burns on.
        optional mode: ModeWord = "hybrid", "hybrid; the one way of a heater without a compressor";
        /// What its compressor, coil and fan are like.
        optional heat_pump: HeatPumpConstants = "fan", "a usual integrated unit";
        /// Where it feels its water, and when it acts.
        optional thermostats: Thermostats = "band", "usual ones";
        /// Hours of the day in which it is run otherwise. Of two that meet the first counts.
        list window: Tried<At<HeaterWindow>>;
        /// How it is run while the sun leaves enough; that counts before every window.
        optional sun: HeaterSun = "surplus set_point", "it does not go by the sun";
        /// Temperature that a tempering valve behind it lets out at most.
        optional tempering: Temperature = "120 °F", "no such valve";
        /// The pipe from it to the fixtures.
        optional pipe: HotPipe = "length bore", "hot water is at the fixtures at once";
        /// The room whose air it breathes.
        optional room: Text = "basement", "the first room";
        /// Temperature of its water when the run starts.
        optional start: Temperature = "125 °F", "`set_point`";
    }
}

section! {
    /// Constants of a heat pump that no plate tells. `carnot_share` is found with them.
    HeatPumpConstants {
        /// How much warmer than the water it condenses, in the mean over its condenser.
        default condenser_approach: TemperatureDifference = "8 K";
        /// How much colder than the air a dry coil evaporates while it gives `compressor`.
        default evaporator_approach: TemperatureDifference = "9 K";
        /// How high up the tank its condenser reaches.
        default condenser_top: Share = "60 %";
        /// No coefficient of performance is more.
        default most_cop: Number<1, 20> = "6";
        /// Electric power of its fan.
        default fan: Power = "25 W";
        /// Air that the fan moves.
        optional air_flow: Flow = "100 L/s", "62.5 L/s (132 cfm) for each kilowatt of `compressor`";
        /// The compressor runs in air from this
        default coldest_air: Temperature = "7 °C";
        /// to this.
        default hottest_air: Temperature = "43 °C";
    }
}

section! {
    /// Thermostats of a heater. Heights are parts of the tank's. A burner goes by the lower sensor.
    Thermostats {
        /// Height of the upper sensor.
        default upper_sensor: Share = "75 %";
        /// Height of the lower sensor.
        default lower_sensor: Share = "25 %";
        /// Height of the upper element.
        default upper_element: Share = "68 %";
        /// Height of the lower element.
        default lower_element: Share = "8 %";
        /// An element or a burner starts where its sensor is so much below the set point, and stops at that.
        default band: TemperatureDifference = "6 K";
        /// The compressor starts where the lower sensor is so much below the set point.
        default compressor_band: TemperatureDifference = "5 K";
        /// In hybrid mode the upper element starts where the upper sensor is so much below the set point.
        default help_band: TemperatureDifference = "10 K";
        /// A compressor that stopped stays off so long.
        default least_off: Duration = "5 min";
        /// Whether the compressor waits while an element heats.
        default one_at_a_time: bool = "true";
    }
}

section! {
    /// Hours of every day in which a heater is run in another way: a set-back, a boost. They may go on past midnight.
    HeaterWindow {
        /// When they begin.
        required start: TimeOfDay = "22:00";
        /// When they end.
        required end: TimeOfDay = "05:00";
        /// How hot it is kept in them.
        optional set_point: Temperature = "110 °F", "that of the heater";
        /// How it is run in them.
        optional mode: ModeWord = "heat pump only", "that of the heater";
    }
}

section! {
    /// How a heater is run while `panels` give so much more than the rest of the house takes.
    HeaterSun {
        /// Power that they leave, from which on it counts.
        required surplus: Power = "800 W";
        /// How hot it is kept then.
        optional set_point: Temperature = "145 °F", "that of the heater";
        /// How it is run then.
        optional mode: ModeWord = "heat pump only", "that of the heater";
    }
}

section! {
    /// The pipe between a heater and its fixtures: what stands in it cools, and is drawn before hot water comes.
    HotPipe {
        /// Its length.
        required length: Length = "45 ft";
        /// Its inside diameter.
        required bore: Length = "0.75 in";
        /// Thickness of the foam around it.
        default insulation: Length = "0 in";
        /// Heat that the whole pipe loses for each kelvin over the room, in place of `insulation`.
        optional loss: HeatLoss = "5 W/K", "from length, bore and `insulation`";
        /// Hours of the day in which a pump keeps it hot.
        list kept_hot: Tried<At<KeptHot>>;
        /// Electric power of that pump.
        default pump: Power = "25 W";
    }
}

section! {
    /// Hours of every day in which a pump sends hot water round. They may go on past midnight.
    KeptHot {
        /// When they begin.
        required start: TimeOfDay = "06:00";
        /// When they end.
        required end: TimeOfDay = "08:00";
    }
}

section! {
    /// A room in which heaters stand: a heat pump cools and dries it. Where none is given, heaters stand in one of these defaults,
    /// which are our own choice of a utility room in a basement, 20 m2 (215 ft2) of floor.
    Room {
        /// Its name in results.
        required name: Text = "basement";
        /// Its floor.
        default floor_area: Area = "20 m2";
        /// How high it is.
        default height: Length = "2.4 m";
        /// Its air, in place of `floor_area`.
        optional volume: Volume = "48 m3", "`floor_area` times `height`";
        /// Heat that warms it by a kelvin: air, furniture, and the inner layer of its walls.
        optional heat_capacity: HeatCapacity = "2.2 MJ/K", "110 kJ/K for a square metre of floor: light construction, ISO 13790 (2008), table 12, from memory";
        /// Heat that it loses for each kelvin over what is around it, that of air changes with it.
        optional loss: HeatLoss = "60 W/K", "3 W/K for a square metre of floor, our own choice";
        /// How many times an hour its air is changed.
        default air_changes: Number<0, 100> = "0.5";
        /// Temperature around it, within the house; also how warm it is when the run starts.
        default around: Temperature = "65 °F";
        /// Relative humidity around it.
        default humidity: Share = "50 %";
        /// Part of `loss` that goes outdoors, where `weather` is known; the rest goes to what is around it.
        default outdoors: Share = "30 %";
        /// Part of the electricity of pumps and drives that warms it; a pump down a well warms its water instead.
        default pumps: Share = "0 %";
        /// Heat that the storage tank takes from it for each kelvin that its water is colder.
        default storage_loss: HeatLoss = "0 W/K";
        /// Whether compressors take their air from outdoors and blow it there; without `weather` they take that of `around`.
        default ducted: bool = "false";
    }
}
