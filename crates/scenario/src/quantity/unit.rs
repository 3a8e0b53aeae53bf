//! The tables of units. Factors are exact where the unit is defined exactly, and tested against an independent library.

/// A kind of quantity and the units it may be written in.
#[derive(Debug)]
pub struct Dimension {
    /// What a value of it is called, with its article.
    pub what: &'static str,
    /// The least value that makes sense, in base units.
    pub least: Option<f64>,
    /// The base unit first, as values are kept.
    pub units: &'static [Unit],
}

/// A unit: a value in it is `(value + offset) factor` base units.
#[derive(Debug)]
pub struct Unit {
    /// How it is printed.
    pub name: &'static str,
    /// Other ways to write it.
    pub also: &'static [&'static str],
    /// Base units in one.
    pub factor: f64,
    /// Added before the factor: its zero, for temperatures.
    pub offset: f64,
    /// The unit a person of the other habit (US, metric) would use for the same thing.
    pub other: &'static str,
    /// Upper and lower case make a difference, as in mm and Mm.
    pub exact_case: bool,
}

const fn unit(name: &'static str, also: &'static [&'static str], factor: f64, other: &'static str) -> Unit {
    Unit { name, also, factor, offset: 0.0, other, exact_case: false }
}

const fn exact(mut unit: Unit) -> Unit {
    unit.exact_case = true;
    unit
}

const fn offset(mut unit: Unit, offset: f64) -> Unit {
    unit.offset = offset;
    unit
}

/// Litres in a US gallon: 231 cubic inches.
const US_GALLON_L: f64 = 3.785_411_784;
/// Litres in an imperial gallon (Weights and Measures Act 1985, United Kingdom).
const IMPERIAL_GALLON_L: f64 = 4.546_09;
/// Metres in a foot (international yard and pound agreement, 1959).
const FOOT_M: f64 = 0.304_8;
/// Kilopascals in a pound-force per square inch: 0.453 592 37 kg x 9.806 65 m/s2 over a square inch.
const PSI_KPA: f64 = 6.894_757_293_168_361;
/// Watts in a mechanical horsepower: 550 foot-pounds-force a second.
const HORSEPOWER_W: f64 = 745.699_871_582_270_2;
/// Joules in an international table British thermal unit: a pound, 5/9 K and 4186.8 J/(kg K).
const BTU_J: f64 = 1_055.055_852_62;
/// Joules in a kilowatt-hour.
const KWH_J: f64 = 3.6e6;
/// Litres in a cubic foot.
const CUBIC_FOOT_L: f64 = 28.316_846_592;
/// Grams in a pound (international yard and pound agreement, 1959).
const POUND_G: f64 = 453.592_37;
/// Grams in a grain, of which a pound has 7000.
const GRAIN_G: f64 = POUND_G / 7_000.0;
/// Litres an hour through a square metre in a gallon a day through a square foot.
const GFD_L_M2_H: f64 = US_GALLON_L / (24.0 * FOOT_M * FOOT_M);
const PPM: Unit = unit("ppm", &["parts/million"], 1.0, "mg/L");
const GRAMS_PER_CUBIC_METRE: Unit = unit("g/m3", &["grams/cubic metre", "grams/cubic meter"], 1.0, "ppm");
const MINUTE_S: f64 = 60.0;
const HOUR_S: f64 = 3_600.0;
const DAY_S: f64 = 86_400.0;

/// Lengths, depths, heads; base metre.
pub static LENGTH: Dimension = Dimension {
    what: "a length",
    least: None,
    units: &[
        unit("m", &["metre", "metres", "meter", "meters"], 1.0, "ft"),
        exact(unit("cm", &["CM", "centimetre", "centimetres", "centimeter", "centimeters"], 0.01, "in")),
        exact(unit("mm", &["MM", "millimetre", "millimetres", "millimeter", "millimeters"], 0.001, "in")),
        unit("ft", &["foot", "feet"], FOOT_M, "m"),
        unit("in", &["inch", "inches"], FOOT_M / 12.0, "mm"),
    ],
};

/// Volumes; base litre.
pub static VOLUME: Dimension = Dimension {
    what: "a volume",
    least: Some(0.0),
    units: &[
        unit("L", &["litre", "litres", "liter", "liters"], 1.0, "gal"),
        unit("m3", &["cubic metre", "cubic metres", "cubic meter", "cubic meters"], 1_000.0, "gal"),
        unit("gal", &["gals", "gallon", "gallons", "US gal", "US gallon", "US gallons"], US_GALLON_L, "L"),
        unit("imp gal", &["imp gallon", "imp gallons", "imperial gallon", "imperial gallons"], IMPERIAL_GALLON_L, "L"),
        unit("ft3", &["cu ft", "cubic foot", "cubic feet"], CUBIC_FOOT_L, "L"),
    ],
};

/// Flows; base litre a second.
pub static FLOW: Dimension = Dimension {
    what: "a flow",
    least: Some(0.0),
    units: &[
        unit("L/s", &["lps"], 1.0, "gpm"),
        unit("L/min", &["lpm", "litres/min", "liters/min"], 1.0 / MINUTE_S, "gpm"),
        unit("L/h", &["L/hr", "lph", "litres/h", "liters/hour"], 1.0 / HOUR_S, "gph"),
        unit("m3/h", &["m3/hr", "cubic metres/h", "cubic meters/hour"], 1_000.0 / HOUR_S, "gpm"),
        unit("m3/day", &["m3/d"], 1_000.0 / DAY_S, "gal/day"),
        unit(
            "gpm",
            &["gal/min", "US gpm", "US gal/min", "gallons/min", "gallons/minute"],
            US_GALLON_L / MINUTE_S,
            "L/min",
        ),
        unit("gph", &["gal/h", "gal/hr", "US gph", "US gal/h", "gallons/hour"], US_GALLON_L / HOUR_S, "L/h"),
        unit("gal/day", &["gpd", "gal/d", "US gal/day", "gallons/day"], US_GALLON_L / DAY_S, "m3/day"),
        unit(
            "imp gpm",
            &["imp gal/min", "imperial gpm", "imperial gallons/minute"],
            IMPERIAL_GALLON_L / MINUTE_S,
            "L/min",
        ),
        unit("ft3/min", &["cfm", "cu ft/min", "cubic feet/min", "cubic feet/minute"], CUBIC_FOOT_L / MINUTE_S, "L/s"),
    ],
};

/// Pressures; base kilopascal.
pub static PRESSURE: Dimension = Dimension {
    what: "a pressure",
    least: Some(0.0),
    units: &[
        unit("kPa", &["kilopascal", "kilopascals"], 1.0, "psi"),
        unit("bar", &["bars"], 100.0, "psi"),
        exact(unit("mbar", &["hPa"], 0.1, "psi")),
        unit("psi", &["psig", "lb/in2", "pounds/square inch"], PSI_KPA, "kPa"),
    ],
};

/// Temperatures; base degree Celsius.
pub static TEMPERATURE: Dimension = Dimension {
    what: "a temperature",
    least: Some(-273.15),
    units: &[
        unit("°C", &["C", "degC", "deg C", "degrees C", "Celsius", "degrees Celsius"], 1.0, "°F"),
        offset(
            unit("°F", &["F", "degF", "deg F", "degrees F", "Fahrenheit", "degrees Fahrenheit"], 5.0 / 9.0, "°C"),
            -32.0,
        ),
        exact(offset(unit("K", &["kelvin", "kelvins"], 1.0, "°F"), -273.15)),
    ],
};

/// Differences of temperatures; base kelvin.
pub static TEMPERATURE_DIFFERENCE: Dimension = Dimension {
    what: "a difference of temperatures",
    least: None,
    units: &[
        exact(unit("K", &["kelvin", "kelvins"], 1.0, "°F")),
        unit("°C", &["C", "degC", "deg C", "C°", "Δ°C", "Celsius degrees"], 1.0, "°F"),
        unit("°F", &["F", "degF", "deg F", "F°", "Δ°F", "Fahrenheit degrees"], 5.0 / 9.0, "K"),
    ],
};

/// Powers; base watt.
pub static POWER: Dimension = Dimension {
    what: "a power",
    least: Some(0.0),
    units: &[
        unit("W", &["watt", "watts"], 1.0, "hp"),
        unit("kW", &["kilowatt", "kilowatts"], 1_000.0, "hp"),
        unit("hp", &["horsepower"], HORSEPOWER_W, "kW"),
        unit("Btu/h", &["BTU/hr", "BTUH", "Btu/hour"], BTU_J / HOUR_S, "kW"),
    ],
};

/// Heat that goes for each kelvin of difference; base watt for a kelvin.
pub static HEAT_LOSS: Dimension = Dimension {
    what: "a heat loss per kelvin",
    least: Some(0.0),
    units: &[
        unit("W/K", &["W/°C", "watts/kelvin"], 1.0, "Btu/h/°F"),
        unit(
            "Btu/h/°F",
            &["Btu/hr/°F", "Btu/(h °F)", "Btu/(h·°F)", "Btu/h·°F", "Btu/h/F"],
            BTU_J / HOUR_S * 1.8,
            "W/K",
        ),
    ],
};

/// Heat that warms something by a kelvin; base joule for a kelvin.
pub static HEAT_CAPACITY: Dimension = Dimension {
    what: "a heat capacity",
    least: Some(0.0),
    units: &[
        exact(unit("J/K", &["J/°C"], 1.0, "Btu/°F")),
        exact(unit("kJ/K", &["kJ/°C"], 1_000.0, "Btu/°F")),
        exact(unit("MJ/K", &["MJ/°C"], 1e6, "Btu/°F")),
        unit("Wh/K", &["Wh/°C"], HOUR_S, "Btu/°F"),
        unit("Btu/°F", &["Btu/F"], BTU_J * 1.8, "kJ/K"),
    ],
};

/// Lengths of time; base second.
pub static DURATION: Dimension = Dimension {
    what: "a length of time",
    least: Some(0.0),
    units: &[
        unit("s", &["sec", "secs", "second", "seconds"], 1.0, "s"),
        unit("min", &["mins", "minute", "minutes"], MINUTE_S, "min"),
        unit("h", &["hr", "hrs", "hour", "hours"], HOUR_S, "h"),
        unit("days", &["d", "day"], DAY_S, "days"),
    ],
};

/// Specific capacities; base litre a second for a metre of drawdown.
pub static SPECIFIC_CAPACITY: Dimension = Dimension {
    what: "a specific capacity",
    least: Some(0.0),
    units: &[
        unit("L/s/m", &["lps/m"], 1.0, "gpm/ft"),
        unit("L/min/m", &["lpm/m"], 1.0 / MINUTE_S, "gpm/ft"),
        unit("m3/h/m", &["m3/hr/m"], 1_000.0 / HOUR_S, "gpm/ft"),
        unit("gpm/ft", &["gal/min/ft", "US gpm/ft"], US_GALLON_L / MINUTE_S / FOOT_M, "L/min/m"),
    ],
};

/// Parts of a whole; base one.
pub static SHARE: Dimension =
    Dimension { what: "a share", least: Some(0.0), units: &[unit("%", &["percent", "per cent"], 0.01, "%")] };

/// Volumes held by a length; base litre a metre.
pub static VOLUME_PER_LENGTH: Dimension = Dimension {
    what: "a volume per length",
    least: Some(0.0),
    units: &[
        unit("L/m", &["litres/metre", "liters/meter"], 1.0, "gal/ft"),
        unit("gal/ft", &["US gal/ft", "gallons/foot"], US_GALLON_L / FOOT_M, "L/m"),
    ],
};

/// Densities; base kilogram a cubic metre.
pub static DENSITY: Dimension = Dimension {
    what: "a density",
    least: Some(0.0),
    units: &[
        unit("kg/m3", &["kilograms/cubic metre"], 1.0, "kg/m3"),
        unit("kg/L", &["g/mL", "g/cm3"], 1_000.0, "kg/m3"),
    ],
};

/// Dynamic viscosities; base pascal second.
pub static VISCOSITY: Dimension = Dimension {
    what: "a viscosity",
    least: Some(0.0),
    units: &[
        exact(unit("Pa·s", &["Pa s", "Pa*s"], 1.0, "cP")),
        exact(unit("mPa·s", &["mPa s", "mPa*s"], 0.001, "cP")),
        unit("cP", &["centipoise"], 0.001, "mPa·s"),
    ],
};

/// Areas; base square metre.
pub static AREA: Dimension = Dimension {
    what: "an area",
    least: Some(0.0),
    units: &[
        unit("m2", &["sq m", "square metre", "square metres", "square meter", "square meters"], 1.0, "ft2"),
        unit("ft2", &["sq ft", "square foot", "square feet"], FOOT_M * FOOT_M, "m2"),
        unit("acre", &["acres", "ac"], 43_560.0 * FOOT_M * FOOT_M, "ha"),
        unit("ha", &["hectare", "hectares"], 10_000.0, "acre"),
    ],
};

/// Speeds; base metre a second.
pub static SPEED: Dimension = Dimension {
    what: "a speed",
    least: Some(0.0),
    units: &[
        unit("m/s", &["metres/second", "meters/second"], 1.0, "mph"),
        unit("km/h", &["kph", "km/hr"], 1.0 / 3.6, "mph"),
        unit("mph", &["mi/h", "miles/hour"], 5_280.0 * FOOT_M / HOUR_S, "km/h"),
        unit("kn", &["kt", "kts", "knot", "knots"], 1_852.0 / HOUR_S, "km/h"),
    ],
};

/// Depths of water that go or sink in a time; base millimetre a day.
pub static DEPTH_RATE: Dimension = Dimension {
    what: "a depth in a time",
    least: Some(0.0),
    units: &[
        exact(unit("mm/day", &["mm/d"], 1.0, "in/day")),
        exact(unit("cm/day", &["cm/d"], 10.0, "in/day")),
        exact(unit("m/day", &["m/d"], 1_000.0, "ft/day")),
        exact(unit("cm/month", &["cm/mo"], 10.0 / 30.4375, "in/month")),
        unit("in/day", &["inch/day", "inches/day"], 1_000.0 * FOOT_M / 12.0, "mm/day"),
        unit("in/month", &["inch/month", "inches/month"], 1_000.0 * FOOT_M / 12.0 / 30.4375, "cm/month"),
        unit("ft/day", &["feet/day"], 1_000.0 * FOOT_M, "m/day"),
    ],
};

/// Sun on a level surface in a day; base megajoule a square metre.
pub static SUN: Dimension = Dimension {
    what: "the sun of a day on a surface",
    least: Some(0.0),
    units: &[
        exact(unit("MJ/m2", &["MJ/m2/day", "megajoules/square metre"], 1.0, "kWh/m2")),
        unit("kWh/m2", &["kWh/m2/day", "kilowatt hours/square metre"], 3.6, "MJ/m2"),
    ],
};

/// Masses; base gram.
pub static MASS: Dimension = Dimension {
    what: "a mass",
    least: Some(0.0),
    units: &[
        unit("g", &["gram", "grams"], 1.0, "oz"),
        unit("kg", &["kilogram", "kilograms"], 1_000.0, "lb"),
        unit("lb", &["lbs", "pound", "pounds"], POUND_G, "kg"),
        unit("oz", &["ounce", "ounces"], POUND_G / 16.0, "g"),
        unit("gr", &["grain", "grains"], GRAIN_G, "g"),
        unit("kgr", &["kilograin", "kilograins"], 1_000.0 * GRAIN_G, "kg"),
    ],
};

/// Concentrations; base milligram a litre. Parts per million are by mass, in water of a kilogram a litre.
pub static CONCENTRATION: Dimension = Dimension {
    what: "a concentration",
    least: Some(0.0),
    units: &[unit("mg/L", &["milligrams/litre", "milligrams/liter"], 1.0, "ppm"), PPM, GRAMS_PER_CUBIC_METRE],
};

/// Hardness, as calcium carbonate; base milligram a litre.
pub static HARDNESS: Dimension = Dimension {
    what: "a hardness",
    least: Some(0.0),
    units: &[
        unit("mg/L", &["milligrams/litre", "milligrams/liter"], 1.0, "gpg"),
        PPM,
        GRAMS_PER_CUBIC_METRE,
        unit("gpg", &["gr/gal", "grains/gallon"], 1_000.0 * GRAIN_G / US_GALLON_L, "mg/L"),
    ],
};

/// Doses of ultraviolet light; base millijoule a square centimetre.
pub static DOSE: Dimension = Dimension {
    what: "a dose of light",
    least: Some(0.0),
    units: &[
        exact(unit("mJ/cm2", &["mWs/cm2", "mW·s/cm2", "mW s/cm2"], 1.0, "mJ/cm2")),
        unit("J/m2", &["joules/square metre"], 0.1, "mJ/cm2"),
    ],
};

/// Money for a volume, in whatever money the owner counts; base a cubic metre.
pub static PRICE: Dimension = Dimension {
    what: "a price for a volume",
    least: Some(0.0),
    units: &[
        unit("/m3", &["per m3", "per cubic metre", "per cubic meter"], 1.0, "/kgal"),
        unit("/kgal", &["per kgal", "per thousand gallons"], 1.0 / US_GALLON_L, "/m3"),
        unit("/gal", &["per gal", "per gallon"], 1_000.0 / US_GALLON_L, "/L"),
        unit("/L", &["per L", "per litre", "per liter"], 1_000.0, "/gal"),
    ],
};

/// Energies; base kilowatt-hour.
pub static ENERGY: Dimension = Dimension {
    what: "an energy",
    least: Some(0.0),
    units: &[
        unit("kWh", &["kilowatt hour", "kilowatt hours", "kilowatt-hour", "kilowatt-hours"], 1.0, "kWh"),
        unit("Wh", &["watt hour", "watt hours", "watt-hour", "watt-hours"], 1e-3, "Wh"),
        exact(unit("MJ", &["megajoule", "megajoules"], 1e6 / KWH_J, "kWh")),
    ],
};

/// Money for energy, in whatever money the owner counts; base a kilowatt-hour.
pub static ENERGY_PRICE: Dimension = Dimension {
    what: "a price for energy",
    least: Some(0.0),
    units: &[
        unit("/kWh", &["per kWh", "per kilowatt hour", "per kilowatt-hour"], 1.0, "/kWh"),
        exact(unit("/MWh", &["per MWh", "per megawatt hour"], 1e-3, "/kWh")),
        unit("/therm", &["per therm"], KWH_J / (1e5 * BTU_J), "/kWh"),
    ],
};

/// Carbon dioxide that comes of energy; base kilogram a kilowatt-hour.
pub static EMISSION: Dimension = Dimension {
    what: "carbon dioxide for energy",
    least: Some(0.0),
    units: &[
        unit("kg/kWh", &["kilograms/kilowatt hour"], 1.0, "lb/kWh"),
        unit("g/kWh", &["grams/kilowatt hour"], 1e-3, "lb/MWh"),
        unit("lb/kWh", &["lbs/kWh", "pounds/kilowatt hour"], 1e-3 * POUND_G, "kg/kWh"),
        exact(unit("lb/MWh", &["lbs/MWh", "pounds/megawatt hour"], 1e-6 * POUND_G, "g/kWh")),
    ],
};

/// Flows through an area of membrane; base litre an hour through a square metre.
pub static FLUX: Dimension = Dimension {
    what: "a flux",
    least: Some(0.0),
    units: &[
        unit("L/m2/h", &["LMH", "L/(m2 h)", "L/(m2·h)", "L/m2·h"], 1.0, "gfd"),
        unit("gfd", &["gal/ft2/day"], GFD_L_M2_H, "L/m2/h"),
    ],
};

/// Permeabilities of membranes to water; base litre an hour through a square metre at 1 bar.
pub static PERMEABILITY: Dimension = Dimension {
    what: "a permeability",
    least: Some(0.0),
    units: &[
        unit("L/m2/h/bar", &["LMH/bar", "L/(m2 h bar)", "L/(m2·h·bar)"], 1.0, "gfd/psi"),
        unit("gfd/psi", &["gal/ft2/day/psi"], GFD_L_M2_H * 100.0 / PSI_KPA, "L/m2/h/bar"),
    ],
};

/// Flow coefficients of valves; base cubic metre an hour at 1 bar.
pub static FLOW_COEFFICIENT: Dimension = Dimension {
    what: "a flow coefficient",
    least: Some(0.0),
    units: &[
        unit("Kv", &["m3/h at 1 bar"], 1.0, "Cv"),
        // (m3/h in a gpm) / sqrt(bar in a psi).
        unit("Cv", &["gpm at 1 psi"], 0.864_977_655_442_301_8, "Kv"),
    ],
};

/// Courses of permeabilities over temperature; base kelvin.
pub static TEMPERATURE_CONSTANT: Dimension = Dimension {
    what: "a temperature constant",
    least: Some(0.0),
    units: &[exact(unit("K", &["kelvin", "kelvins"], 1.0, "K"))],
};

/// Every table, to say of which dimension a misplaced unit is.
///
/// Differences of temperatures come after temperatures, whose units they share.
pub static ALL: [&Dimension; 31] = [
    &LENGTH,
    &VOLUME,
    &FLOW,
    &PRESSURE,
    &TEMPERATURE,
    &POWER,
    &HEAT_LOSS,
    &HEAT_CAPACITY,
    &DURATION,
    &SPECIFIC_CAPACITY,
    &SHARE,
    &VOLUME_PER_LENGTH,
    &DENSITY,
    &VISCOSITY,
    &AREA,
    &SPEED,
    &DEPTH_RATE,
    &SUN,
    &MASS,
    &CONCENTRATION,
    &HARDNESS,
    &DOSE,
    &PRICE,
    &ENERGY,
    &ENERGY_PRICE,
    &EMISSION,
    &FLUX,
    &PERMEABILITY,
    &FLOW_COEFFICIENT,
    &TEMPERATURE_CONSTANT,
    &TEMPERATURE_DIFFERENCE,
];

impl Dimension {
    /// The unit written so, in any of its spellings; in another case only where that leaves one unit.
    #[must_use]
    pub fn find(&self, text: &str) -> Option<&'static Unit> {
        let wanted = normal(text);
        let spelled = |unit: &Unit, same: &dyn Fn(&str) -> bool| same(unit.name) || unit.also.iter().any(|s| same(s));
        if let Some(unit) = self.units.iter().find(|unit| spelled(unit, &|s| s == wanted)) {
            return Some(unit);
        }
        let lower = wanted.to_lowercase();
        let mut found = self.units.iter().filter(|u| !u.exact_case && spelled(u, &|s| s.to_lowercase() == lower));
        match (found.next(), found.next()) {
            (Some(unit), None) => Some(unit),
            _ => None,
        }
    }

    /// How the name of a number in its base unit ends: `l`, `lps`, `kpa`; of a share, `share`.
    #[must_use]
    pub fn ending(&self) -> String {
        // A share is read in percent, but its base is the whole.
        let base = self.units.first().map_or("", |unit| if unit.name == "%" { "share" } else { unit.name });
        let plain =
            base.replace("L/s", "lps").replace("mg/L", "mg_l").replace("°C", "c").replace('·', "_").to_lowercase();
        let plain = plain.strip_prefix('/').map_or(plain.clone(), |unit| format!("per_{unit}"));
        plain.replace('/', "_per_")
    }

    /// The unit printed so.
    #[must_use]
    pub fn named(&self, name: &str) -> Option<&'static Unit> {
        self.units.iter().find(|unit| unit.name == name)
    }

    /// The names of its units, in the order of the table.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.units.iter().map(|unit| unit.name)
    }
}

/// One spelling for what differs only in characters or spaces.
fn normal(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.trim().chars() {
        match letter {
            '²' => plain.push('2'),
            '³' => plain.push('3'),
            '⋅' | '∙' | '•' => plain.push('·'),
            'º' | '˚' => plain.push('°'),
            '℃' => plain.push_str("°C"),
            '℉' => plain.push_str("°F"),
            '∆' => plain.push('Δ'),
            '^' => {}
            letter if letter.is_whitespace() => {
                if !plain.ends_with(' ') {
                    plain.push(' ');
                }
            }
            letter => plain.push(letter),
        }
    }
    plain.replace(" per ", "/").replace(" / ", "/").replace("° ", "°").replace(" · ", "·")
}
