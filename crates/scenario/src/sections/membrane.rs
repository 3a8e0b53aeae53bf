//! The membrane unit.

use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::plate::NominalSize;

use super::{CurvePoint, SupplyWord};
use crate::quantity::{
    Area, Concentration, Duration, Flow, FlowCoefficient, Flux, Length, Mass, Permeability, Power, Pressure, Share,
    Temperature, TemperatureConstant, Volume,
};
use crate::typed::{At, Level, Number, TimeOfDay, Tried, Whole, choice, section};

choice! {
    /// Where the feed comes from, for what design guides allow.
    FeedWord {
        /// A well.
        Well = "well",
        /// A pond, stream, cistern or town line.
        Surface = "surface",
    }
}

impl FeedWord {
    pub(crate) fn kind(self) -> FeedKind {
        match self {
            Self::Well => FeedKind::Well,
            Self::Surface => FeedKind::Surface,
        }
    }
}

choice! {
    /// A trade size of elements, diameter by length.
    SizeWord {
        /// 2.5 by 21 inches.
        In2By21 = "2.5 x 21 in",
        /// 2.5 by 40 inches.
        In2By40 = "2.5 x 40 in",
        /// 4 by 21 inches.
        In4By21 = "4 x 21 in",
        /// 4 by 40 inches.
        In4By40 = "4 x 40 in",
        /// 8 by 40 inches.
        In8By40 = "8 x 40 in",
    }
}

impl SizeWord {
    pub(crate) fn size(self) -> NominalSize {
        match self {
            Self::In2By21 => NominalSize::In2By21,
            Self::In2By40 => NominalSize::In2By40,
            Self::In4By21 => NominalSize::In4By21,
            Self::In4By40 => NominalSize::In4By40,
            Self::In8By40 => NominalSize::In8By40,
        }
    }

    pub(crate) fn length_in(self) -> f64 {
        match self {
            Self::In2By21 | Self::In4By21 => 21.0,
            Self::In2By40 | Self::In4By40 | Self::In8By40 => 40.0,
        }
    }
}

section! {
    /// A membrane unit (reverse osmosis) at the end of the raw line, behind all stages there: it makes the water in storage,
    /// called by its own `floats`, and `storage` then has no valve.
    ///
    /// It is described by what is printed and shown: the plate of an element, the pump's curve, and what the gauges show. How
    /// far its valves are open: either `[membrane.readings]` or `[membrane.valves]`.
    Membrane {
        /// Elements in series in each vessel.
        required elements: Whole<1, 6> = "3";
        /// Vessels side by side.
        default vessels: Whole<1, 100> = "1";
        /// One of its equal elements.
        required element: Element = "size product rejection test_pressure test_salt";
        /// Its pump, between suction and vessels.
        optional pump: MembranePump = "", "it runs on the pressure of the raw line";
        /// What its gauges show while it makes water: says how far the valves are open.
        optional readings: Readings = "", "`valves`";
        /// How far its valves are open.
        optional valves: Valves = "", "`readings`";
        /// The floats of the storage tank that call it.
        required floats: Floats = "start stop";
        /// When it may make water: in hours of the day, or while the sun leaves enough.
        optional hours: RunHours = "", "whenever its floats call";
        /// Temperature of its feed, from 0 to 50 °C (32 to 122 °F).
        optional temperature: Temperature = "52 °F", "`water_temperature` of `site`";
        /// Height of its suction above the gauge of the pressure tank; negative where it lies lower.
        default rise: Length = "0 ft";
        /// Pressure in its product pipe.
        default product_pressure: Pressure = "3 psi";
        /// Pressure in the drain behind the reject valve.
        default drain_pressure: Pressure = "0 psi";
        /// Water in vessels and recycle pipe.
        optional loop_volume: Volume = "4 gal", "half the room that its elements take up, by diameter and length (assumed)";
        /// Water on the product side, which gets salty while the unit stands still.
        optional product_volume: Volume = "1 gal", "an eighth of that room (assumed)";
        /// A valve that lets water of the raw line past it into storage, where its product alone would be too soft.
        optional blend: Blend = "", "storage gets product alone";
        /// The bed of calcite that its product goes through on its way to storage.
        optional calcite: Calcite = "", "none";
        /// The supply that takes what it rejects: a `cistern` or `pond` that is a standby.
        optional reject_to: SupplyWord = "pond", "a drain";
        /// Whether its reject runs into that supply even while it feeds the plant: the salt then comes back with the feed, and
        /// grows. Without it the reject goes to the drain then.
        default reject_circles: bool = "false";
        /// Whether it stands back while raw loads or washes draw.
        default yields: bool = "true";
        /// How long its product goes to waste after a start.
        default divert: Duration = "0 s";
        /// Where its feed comes from, for what design guides allow.
        optional feed: FeedWord = "well", "\"well\" where that is the first supply, else \"surface\"";
        /// Whether an antiscalant is dosed ahead of it, for what the reject may carry.
        default antiscalant: bool = "false";
        /// Most pressure that its vessels and elements are built for, as on the maker's sheet.
        optional rated_pressure: Pressure = "600 psi", "41 bar (600 psi) where `test_pressure` is 100 psi or more, else 21 bar (300 psi)";
        /// What pressure the salt makes.
        section osmotic: Osmotic;
        /// Flushes with raw water, by the pressure of the raw line alone.
        optional flush: MembraneFlush = "", "it is not flushed";
        /// The switch that stops it when its suction has too little pressure.
        section inlet: Inlet;
        /// How far it has fouled when the run starts.
        section fouling: StartFouling;
        /// What the plate of the whole unit says. It changes nothing: it is compared with what the parts give.
        optional plate: Plate = "", "not compared";
    }
}

section! {
    /// An element of a membrane unit.
    ///
    /// What passes it: either its plate, the keys from `product` to `test_recovery`, or its constants, `water_permeability` and
    /// `salt_permeability`. Both are of a clean element at 25 °C (77 °F).
    Element {
        /// Its trade size, diameter by length.
        required size: SizeWord = "4 x 40 in";
        /// Membrane area.
        optional area: Area = "82 ft2", "by `size`: 1.1, 2.6, 3.3, 7.2 or 37 m2";
        /// Product of the test on its plate.
        optional product: Flow = "2400 gal/day", "`water_permeability` and `salt_permeability`";
        /// Part of the salt that was kept back.
        optional rejection: Share = "99.2 %", "as with `product`";
        /// Feed pressure of the test.
        optional test_pressure: Pressure = "225 psi", "as with `product`";
        /// Salt of the feed, sodium chloride.
        optional test_salt: Concentration = "2000 mg/L", "as with `product`";
        /// Product over feed.
        optional test_recovery: Share = "15 %", "15 %";
        /// Water that passes it, for its area and net driving pressure; in place of a plate.
        optional water_permeability: Permeability = "4.2 L/m2/h/bar", "from the plate";
        /// Feed whose salt passes it, for its area; goes with `water_permeability`.
        optional salt_permeability: Flux = "0.2 L/m2/h", "from the plate";
        /// `K` in the course of the water permeability over temperature, `exp(K (1/298.15 - 1/T))`.
        optional water_temperature_constant: TemperatureConstant = "2640 K", "2640 K";
        /// The same of the salt permeability.
        optional salt_temperature_constant: TemperatureConstant = "5180 K", "5180 K";
        /// Pressure lost along the clean feed channel at a mean flow of 1 L/s (15.9 gpm).
        optional channel_loss: Pressure = "4 psi", "by `size`: 27.4 kPa (4 psi) for 4 x 40 in";
        /// Exponent of that loss over the flow.
        optional channel_exponent: Number<1, 2> = "1.7", "1.7";
        /// `k` in the salt at the wall, `exp(k R)` times the mean on the feed side at a recovery of `R`.
        optional polarisation: Number<0, 3> = "0.7", "0.7";
    }
}

section! {
    /// The pump of a membrane unit. Its electric power is given as that of the well pump.
    MembranePump {
        /// Head against flow at two points or more, in order of rising flow.
        required curve: Vec<CurvePoint> = "[{ flow = \"0 gpm\", head = \"400 ft\" }, { flow = \"10 gpm\", head = \"260 ft\" }]";
        /// Electric power while it runs, the same at any flow.
        optional power: Power = "1400 W", "from `efficiency` or `motor`";
        /// Hydraulic power out over electric power in at the best point.
        optional efficiency: Share = "45 %", "45 %, unless `motor` or `power` is given";
        /// Flow of the best point.
        optional best_flow: Flow = "8 gpm", "where flow times head is largest";
        /// Shaft power on the motor's nameplate, in place of `efficiency`: as with the well pump.
        optional motor: Power = "1-1/2 hp", "`efficiency` counts";
        /// Efficiency of that motor; goes with `motor`.
        optional motor_efficiency: Share = "75 %", "70 % where `motor` is given";
    }
}

section! {
    /// What the gauges of a membrane unit show at one moment while it makes water.
    Readings {
        /// Flow to the drain.
        required reject: Flow = "1.5 gpm";
        /// Flow back to the suction of the pump.
        default recycle: Flow = "0 gpm";
        /// Pressure of the concentrate ahead of the valves.
        required concentrate_pressure: Pressure = "150 psi";
        /// Pressure at the suction.
        required suction_pressure: Pressure = "45 psi";
    }
}

section! {
    /// How far the valves of a membrane unit are open: the flow they pass at a difference of pressure of one.
    Valves {
        /// From the concentrate to the drain; zero is shut.
        required reject: FlowCoefficient = "0.12 Cv";
        /// From the concentrate to the suction of the pump; zero is shut.
        default recycle: FlowCoefficient = "0 Cv";
    }
}

section! {
    /// The floats of the storage tank that call a membrane unit. Levels are volumes or shares of the tank's volume.
    Floats {
        /// Water at which it is called.
        required start: Level = "75 %";
        /// Water at which it is stopped.
        required stop: Level = "95 %";
    }
}

section! {
    /// When a membrane unit that its floats call may make water: in a `window`, or while the sun leaves `surplus`. Otherwise it
    /// waits, unless storage is low: then it runs at any hour.
    RunHours {
        /// Hours of the day in which it may run.
        list window: Tried<At<RunWindow>>;
        /// Power that `panels` leave over the rest of the house, from which on it may run.
        optional surplus: Power = "1.5 kW", "it does not go by the sun";
        /// Water in storage under which it runs at any hour,
        default always_below: Level = "50 %";
        /// until there is so much again.
        optional until: Level = "60 %", "10 % of the volume above `always_below`";
    }
}

section! {
    /// Hours of every day in which a membrane unit may run. They may go on past midnight.
    RunWindow {
        /// When they begin.
        required start: TimeOfDay = "09:00";
        /// When they end.
        required end: TimeOfDay = "16:00";
    }
}

section! {
    /// A valve from the end of the raw line to the product pipe, open while product goes to storage. What it lets past has met no
    /// membrane: whether that is fit to drink depends on what the raw line's treatment does.
    Blend {
        /// Flow that it is set to.
        required flow: Flow = "0.4 gpm";
        /// Pressure at the suction of the unit when that flow was read; the flow goes with the root of the pressure.
        required suction_pressure: Pressure = "55 psi";
    }
}

section! {
    /// A bed of calcite on the way to storage. The product is sour and soft; calcite dissolves in it, and must be filled up.
    Calcite {
        /// Calcite in it when the run starts.
        required mass: Mass = "25 kg";
        /// Time in the empty bed that brings the water 95 % of the way to saturation. Common practice, without a source.
        default contact_time: Duration = "15 min";
        /// What dissolves in water that stays until it is saturated.
        optional dissolves: Concentration = "35 mg/L", "from the `analysis` of the first supply";
    }
}

section! {
    /// Osmotic pressure: by sodium chloride, or by a plain law.
    Osmotic {
        /// What it is as a share of that of as much sodium chloride. Ions of natural waters are heavier; 1 psi for 100 mg/L, the
        /// rule of the trade, is 85 to 87 %. The plate of an element is read with 100 %: it is tested with sodium chloride.
        default share: Share = "86 %";
        /// Van 't Hoff's law of sodium chloride times this coefficient, for water and plate, in place of `share`.
        optional coefficient: Number<0, 2> = "0.93", "`share` counts";
    }
}

section! {
    /// Flushes of a membrane unit: raw water runs through vessels and loop to waste.
    MembraneFlush {
        /// How long it is flushed before it makes water.
        default before: Duration = "0 s";
        /// How long it is flushed after it has stopped.
        default after: Duration = "2 min";
        /// Flow at full pressure.
        required flow: Flow = "5 gpm";
        /// Pressure at the suction from which all of it flows.
        default full_flow_pressure: Pressure = "20 psi";
    }
}

section! {
    /// The switch that stops a membrane unit when its suction has too little pressure. The defaults are common practice, without
    /// a source.
    Inlet {
        /// Pressure at or below which it is starved.
        default trip_pressure: Pressure = "10 psi";
        /// How long it is starved before it stops.
        default delay: Duration = "10 s";
        /// How long it then waits until it tries again.
        default retry_after: Duration = "5 min";
        /// How often it tries again in a row; then it is locked out, until it is reset by hand: by an `incident` of kind
        /// `membrane out` or `membrane cleaned`, as it begins.
        default retries: Whole<0, 1_000> = "3";
    }
}

section! {
    /// How far a membrane has fouled when the run starts. That counts as what its last cleaning left: another brings back what is
    /// lost from then on.
    StartFouling {
        /// Its water permeability as a share of that of a clean one.
        default water_share: Share = "100 %";
        /// Loss along its channels as a multiple of that of a clean one.
        default channel_times: Number<0, 20> = "1";
    }
}

section! {
    /// The plate of a whole membrane unit.
    Plate {
        /// Product that it promises.
        required product: Flow = "2500 gal/day";
        /// Pressure at its inlet that this needs.
        required inlet_pressure: Pressure = "45 psi";
        /// Salt of the feed at which it holds.
        required salt: Concentration = "1000 mg/L";
        /// Temperature at which it holds.
        default temperature: Temperature = "77 °F";
    }
}
