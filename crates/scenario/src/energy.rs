//! Electricity on a site beyond what the parts of the plant take: panels, the rest of the house, prices.

use springhouse_core::solar::{Inverter, Panels, SkyModel};

/// What a scenario says of it.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteEnergy {
    /// Panels and their inverter.
    pub sun: Option<SunOnRoof>,
    /// What energy from the grid costs.
    pub tariff: Tariff,
    /// What the rest of the house takes; nothing where it is not given.
    pub house: HouseLoad,
    /// What heaters burn.
    pub fuels: Fuels,
}

/// Panels on the roof.
#[derive(Clone, Debug, PartialEq)]
pub struct SunOnRoof {
    /// The fields, each of one tilt and direction.
    pub panels: Vec<Panels>,
    /// The inverter behind them all.
    pub inverter: Inverter,
    /// How the light of the sky comes to them.
    pub sky: SkyModel,
}

/// Money is the owner's own, whatever its name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tariff {
    /// Price of energy from the grid, outside of all [`Self::hours`].
    pub import_per_kwh: f64,
    /// What the grid pays for energy, outside of all [`Self::hours`].
    pub export_per_kwh: f64,
    /// What a day costs, whatever is taken.
    pub fixed_per_day: f64,
    /// Carbon dioxide of energy from the grid.
    pub kg_per_kwh: f64,
    /// Hours with other prices; of two that meet the first counts.
    pub hours: Vec<TariffHours>,
}

/// Hours of the day with other prices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TariffHours {
    /// Full hour at which they begin, 0 to 23,
    pub start_h: u8,
    /// and at which they end, 1 to 24; not after the start where they go on past midnight, and then of the day on which they begin.
    pub end_h: u8,
    /// On which days of the week, Monday first,
    pub weekdays: [bool; 7],
    /// and in which months, January first.
    pub months: [bool; 12],
    /// Price of energy from the grid in them; `None` for the one outside.
    pub import_per_kwh: Option<f64>,
    /// What the grid pays in them.
    pub export_per_kwh: Option<f64>,
}

/// What the rest of the house takes: lights, kitchen, machines.
#[derive(Clone, Debug, PartialEq)]
pub struct HouseLoad {
    /// In the mean of the year.
    pub kwh_per_day: f64,
    /// Parts of a day's energy that fall into each of its hours; they add up to 1.
    pub by_hour: [f64; 24],
    /// The day of each month over the mean of the year, January first.
    pub by_month: [f64; 12],
}

impl Default for HouseLoad {
    fn default() -> Self {
        Self { kwh_per_day: 0.0, by_hour: [1.0 / 24.0; 24], by_month: [1.0; 12] }
    }
}

/// Prices of what heaters burn, by the upper heating value, and its carbon dioxide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuels {
    /// Natural gas.
    pub gas: Fuel,
    /// Propane.
    pub propane: Fuel,
}

/// A fuel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fuel {
    /// Price of a kilowatt-hour; `None` where it is not given.
    pub per_kwh: Option<f64>,
    /// Carbon dioxide of a kilowatt-hour.
    pub kg_per_kwh: f64,
}
