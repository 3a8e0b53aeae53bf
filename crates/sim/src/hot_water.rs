//! Heaters and rooms at an instant, as rows keep them.

use springhouse_core::heater::Source;
use springhouse_core::hot_water::HeaterPlace;
use springhouse_core::hot_water::follow::{HeaterRun, HotState};
use springhouse_core::plant::Plant;

/// Heaters and rooms at the last minute of the slow clock.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HotWaterNow {
    /// By heater.
    pub heaters: Vec<HeaterNow>,
    /// By room: its temperature, °C, and relative humidity, 0 to 1.
    pub rooms: Vec<(f64, f64)>,
}

/// A heater at the last minute of the slow clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeaterNow {
    /// Temperature of the water that leaves next, °C.
    pub outlet_c: f64,
    /// Mean temperature of its water, °C.
    pub mean_c: f64,
    /// Whether its compressor runs.
    pub compressor_on: bool,
    /// Whether an element heats.
    pub element_on: bool,
    /// Whether its burner burns.
    pub burner_on: bool,
    /// Its electric power, W, that of a loop's pump with it.
    pub power_w: f64,
    /// What it took since the run began.
    pub taken: HeaterEnergy,
}

/// Energy that a heater takes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct HeaterEnergy {
    /// Electricity, that of a loop's pump with it, J.
    pub electric_j: f64,
    /// Fuel of burner and pilot, by the upper heating value, J.
    pub fuel_j: f64,
}

impl HeaterEnergy {
    /// Since a run began.
    pub(crate) fn so_far(run: &HeaterRun) -> Self {
        Self { electric_j: run.totals.electric_j(), fuel_j: run.totals.fuel_j }
    }

    /// What was taken since there was less of it.
    #[must_use]
    pub fn since(self, before: Self) -> Self {
        Self { electric_j: self.electric_j - before.electric_j, fuel_j: self.fuel_j - before.fuel_j }
    }
}

impl HotWaterNow {
    pub(crate) fn of(plant: &Plant, state: &HotState) -> Self {
        let hot_water = &plant.hot_water;
        let rooms = hot_water.rooms.iter().zip(&state.rooms).map(|(place, run)| {
            let air = run.state.air(place.around.pressure_kpa);
            (air.temp_c, air.relative_humidity())
        });
        let heaters = hot_water.heaters.iter().zip(&state.heaters).map(|(place, run)| HeaterNow::of(place, run));
        Self { heaters: heaters.collect(), rooms: rooms.collect() }
    }
}

impl HeaterNow {
    fn of(place: &HeaterPlace, run: &HeaterRun) -> Self {
        let (layers, on) = (&run.place.heater.layers, run.place.heater.switches);
        let burns = matches!(place.heater.source, Source::Fuel(_));
        Self {
            outlet_c: run.place.heater.outlet_c(),
            mean_c: place.heater.tank.mean_c(layers, 0.0, 1.0),
            compressor_on: on.compressor,
            element_on: !burns && (on.upper || on.lower),
            burner_on: burns && on.lower,
            power_w: run.power_w,
            taken: HeaterEnergy::so_far(run),
        }
    }
}
