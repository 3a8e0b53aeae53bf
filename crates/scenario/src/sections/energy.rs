//! Electricity on the site: panels, battery, generator, prices, and the rest of the house.

use super::{MonthWord, Weekday};
use crate::quantity::{Duration, Emission, Energy, EnergyPrice, Flow, Power, Price, Share, Volume};
use crate::typed::{At, Bearing, Number, TimeOfDay, Tried, choice, section};

choice! {
    /// Where the diffuse light of the sky comes to panels from.
    SkyWord {
        /// From around the sun, the more the clearer it is.
        HayDavies = "hay and davies",
        /// From all of the sky alike.
        Isotropic = "isotropic",
    }
}

choice! {
    /// What a generator burns.
    FuelWord {
        /// Gasoline.
        Gasoline = "gasoline",
        /// Diesel fuel.
        Diesel = "diesel",
        /// Propane, by its volume as a liquid.
        Propane = "propane",
    }
}

section! {
    /// Panels that make electricity of sunlight, all of one tilt and direction. What they give follows from `weather`, hour by
    /// hour.
    Panels {
        /// Their direct power, all together, as rated: in light of 1000 W/m2 with cells of 25 °C (77 °F).
        required power: Power = "4 kW";
        /// Degrees from level: 0 lies flat, 90 stands upright.
        default tilt: Number<0, 90> = "30";
        /// Where they face, in degrees from north over east: 90 is east, 180 south, 270 west. South of the equator give 0.
        default azimuth: Bearing = "180";
        /// Part that dirt, wiring, mismatch and age take, at most 90 %. Common practice, no source.
        default losses: Share = "14 %";
        /// Part of the rated power that each kelvin of the cells over 25 °C takes, at most 1 %. The data sheet gives it.
        default loss_per_kelvin: Share = "0.4 %";
        /// Part of the light that the ground in front sends back: grass 20 %, fresh snow up to 80 %.
        default ground: Share = "20 %";
    }
}

section! {
    /// The inverter behind all panels.
    Inverter {
        /// Most alternating power that it gives.
        optional power: Power = "3.8 kW", "the rated power of all panels";
        /// Part of the direct power that it gives on at its limit, at least 50 %.
        default efficiency: Share = "96 %";
        /// Where the diffuse light of the sky comes from: `hay and davies` has more of it around the sun, the clearer it is.
        default sky: SkyWord = "hay and davies";
    }
}

section! {
    /// A battery with its inverter. It takes what the sun leaves, and gives that when the sun gives too little; while the grid is
    /// out it feeds the site. From the grid it is charged up to its `reserve` only.
    Battery {
        /// Energy that it stores between empty and full. What comes out of a full one is less by the root of `round_trip`: of
        /// 10 kWh at 90 % 9.5 kWh.
        required capacity: Energy = "10 kWh";
        /// Most power in and out.
        required power: Power = "5 kW";
        /// Part of the energy put in that comes out again.
        default round_trip: Share = "90 %";
        /// Part of the capacity that is kept for outages.
        default reserve: Share = "20 %";
        /// Part of the capacity that is stored when the run starts.
        optional start: Share = "50 %", "as full as can be";
    }
}

section! {
    /// A generator, which runs while the grid is out and no battery feeds.
    Generator {
        /// Most power.
        required power: Power = "5 kW";
        /// What it burns: says how much carbon dioxide comes of it.
        default fuel: FuelWord = "gasoline";
        /// Fuel in its tank when the run starts. Nobody fills it up.
        optional tank: Volume = "5 gal", "there is always more";
        /// Fuel that it takes at its most power.
        required full_load_fuel: Flow = "0.75 gph";
        /// Fuel that it takes without load; in between it goes in a straight line.
        optional no_load_fuel: Flow = "0.25 gph", "30 % of `full_load_fuel`: common practice, no source";
        /// How long after the grid has gone it can feed, whatever a battery does meanwhile: `"30 s"` where it starts by itself,
        /// `"20 min"` where somebody must. At most a day.
        default start_after: Duration = "30 s";
        /// What its fuel costs, in your money.
        optional fuel_price: Price = "3.50 /gal", "nothing";
        /// Whether a big motor waits while another runs: the pump of a supply, the membrane unit, a water heater. The delivery pump
        /// never waits.
        default one_motor_at_a_time: bool = "true";
    }
}

section! {
    /// What battery and generator feed while the grid is out, beside pumps, lamps and valves.
    Backup {
        /// The membrane unit.
        default membrane: bool = "true";
        /// Water heaters.
        default heaters: bool = "false";
        /// Part of the rest of the house.
        default house: Share = "30 %";
    }
}

section! {
    /// What energy costs, in your money. Gas and propane are what water heaters burn; their carbon dioxide is known.
    Tariff {
        /// Price of energy from the grid, outside of all `hours`.
        required import: EnergyPrice = "0.18 /kWh";
        /// What the grid pays for energy of your panels, outside of all `hours`.
        default export: EnergyPrice = "0 /kWh";
        /// What a day costs, whatever is taken.
        default fixed_per_day: Number<0, 1_000_000> = "0";
        /// Carbon dioxide of energy from the grid. The default is the mean of the US in 2022, with what lines lose (EPA,
        /// eGRID, from memory).
        default carbon: Emission = "0.39 kg/kWh";
        /// Price of natural gas, by the upper heating value.
        optional gas: EnergyPrice = "1.20 /therm", "what burns it is counted at no price";
        /// Price of propane, as a liquid.
        optional propane: Price = "2.80 /gal", "what burns it is counted at no price";
        /// Hours with other prices. Of two that meet the first counts.
        list hours: Tried<At<TariffHours>>;
    }
}

section! {
    /// Hours of the day with other prices. They begin and end on the hour, and may go on past midnight: they then belong to the day
    /// on which they begin. From `00:00` to `00:00` is a whole day.
    TariffHours {
        /// When they begin.
        required start: TimeOfDay = "16:00";
        /// When they end.
        required end: TimeOfDay = "21:00";
        /// The days of the week on which they begin.
        optional weekdays: Vec<Weekday> = "[\"mon\", \"tue\", \"wed\", \"thu\", \"fri\"]", "every day";
        /// The months in which they begin.
        optional months: Vec<MonthWord> = "[\"jun\", \"jul\", \"aug\"]", "all year";
        /// Price of energy from the grid in them.
        optional import: EnergyPrice = "0.31 /kWh", "that of the tariff";
        /// What the grid pays in them.
        optional export: EnergyPrice = "0.09 /kWh", "that of the tariff";
    }
}

section! {
    /// Electricity of all that is no part of the plant and no water heater: lights, kitchen, machines, heating.
    RestOfHouse {
        /// Energy of a day, in the mean of the year.
        required per_day: Energy = "16 kWh";
        /// How much each of the 24 hours takes beside the others, the one from midnight first, on any scale.
        optional by_hour: Vec<Number<0, 1_000_000>> = "[2, 2, 2, 2, 2, 2, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 5, 6, 7, 7, 6, 5, 4, 3]", "little by night, most in the evening: a curve of our own choice";
        /// How much each of the twelve months takes beside the others, January first, on any scale.
        optional by_month: Vec<Number<0, 1_000_000>> = "[12, 11, 10, 9, 9, 10, 11, 11, 9, 9, 10, 12]", "all alike";
    }
}
