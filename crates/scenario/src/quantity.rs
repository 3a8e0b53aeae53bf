//! Quantities as people write them, a number and a unit: `"75 gal"`, `"1-1/4 in"`, `"1 h 30 min"`.
//!
//! [`unit`](mod@unit) holds the tables of units, [`parse`](mod@parse) reads by them; a quantity here is a number in the base unit of
//! its table, in a type of its own, so that a temperature is not taken for a difference of temperatures.

pub mod clock;
pub mod parse;
pub mod unit;

use self::unit::Dimension;

/// A number with a dimension.
pub trait Quantity: Copy {
    /// Its units.
    const DIMENSION: &'static Dimension;

    /// The quantity of `base` base units.
    fn from_base(base: f64) -> Self;
}

macro_rules! quantities {
    ($($(#[doc = $doc:literal])+ $name:ident, $dimension:ident, $accessor:ident;)+) => {$(
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $name(f64);

        impl $name {
            /// The number, in the unit the name says.
            #[must_use]
            pub fn $accessor(self) -> f64 {
                self.0
            }
        }

        impl Quantity for $name {
            const DIMENSION: &'static Dimension = &unit::$dimension;

            fn from_base(base: f64) -> Self {
                Self(base)
            }
        }
    )+};
}

quantities! {
    /// A length, a depth, or a head of water.
    Length, LENGTH, m;
    /// A volume of water.
    Volume, VOLUME, l;
    /// A flow.
    Flow, FLOW, lps;
    /// A pressure: gauge, unless the key says otherwise.
    Pressure, PRESSURE, kpa;
    /// A temperature.
    Temperature, TEMPERATURE, c;
    /// A difference of temperatures: `"10 °F"` here is 5.6 K, never -12 °C.
    TemperatureDifference, TEMPERATURE_DIFFERENCE, k;
    /// A power.
    Power, POWER, w;
    /// Heat that goes for each kelvin of difference.
    HeatLoss, HEAT_LOSS, w_k;
    /// Heat that warms something by a kelvin.
    HeatCapacity, HEAT_CAPACITY, j_k;
    /// A length of time.
    Duration, DURATION, s;
    /// Flow that comes for each length of drawdown.
    SpecificCapacity, SPECIFIC_CAPACITY, lps_per_m;
    /// A part of a whole.
    Share, SHARE, of_one;
    /// Water held by a length of casing.
    VolumePerLength, VOLUME_PER_LENGTH, l_per_m;
    /// A density.
    Density, DENSITY, kg_m3;
    /// A dynamic viscosity.
    Viscosity, VISCOSITY, pa_s;
    /// An area.
    Area, AREA, m2;
    /// A speed.
    Speed, SPEED, m_s;
    /// A depth of water that goes or sinks in a time.
    DepthRate, DEPTH_RATE, mm_day;
    /// Sun of a day on a level surface.
    Sun, SUN, mj_m2;
    /// A mass.
    Mass, MASS, g;
    /// What water carries of something.
    Concentration, CONCENTRATION, mg_l;
    /// Hardness of water, as calcium carbonate.
    Hardness, HARDNESS, mg_l;
    /// A dose of ultraviolet light.
    Dose, DOSE, mj_cm2;
    /// Money for a volume.
    Price, PRICE, per_m3;
    /// Energy.
    Energy, ENERGY, kwh;
    /// Money for energy.
    EnergyPrice, ENERGY_PRICE, per_kwh;
    /// Carbon dioxide that comes of energy.
    Emission, EMISSION, kg_per_kwh;
    /// Flow through an area of membrane.
    Flux, FLUX, l_m2_h;
    /// Flow through an area of membrane for a net driving pressure.
    Permeability, PERMEABILITY, l_m2_h_bar;
    /// How far a valve is open, in cubic metres an hour at 1 bar.
    FlowCoefficient, FLOW_COEFFICIENT, kv;
    /// The course of a permeability over temperature.
    TemperatureConstant, TEMPERATURE_CONSTANT, k;
}
