//! What the heaters of a scenario do on the US federal test of water heaters, beside their plates: text and JSON.
//!
//! A computation on the model, no certified test. See `docs/physics.md`, "Plates".

pub mod json;
pub mod text;

use springhouse_core::heater::control::Mode;
use springhouse_core::heater::rating::{DayTest, SET_C, day_test, first_hour_l, usable_l};
use springhouse_core::heater::usage::Usage;
use springhouse_core::heater::{Heater, Source};
use springhouse_core::hot_water::HeaterPlace;
use springhouse_scenario::{HeaterPlate, Scenario, Units};

/// Usable is what comes until the outlet is 30 °F colder than at first.
const USABLE_DROP_K: f64 = 30.0 / 1.8;
/// Air of the test, 67.5 °F.
const AIR_C: f64 = 35.5 / 1.8;

/// The heaters of a scenario on the test, and how that is to be told.
#[derive(Clone, Debug)]
pub struct Rated<'a> {
    /// Whose heaters they are.
    pub scenario: &'a Scenario,
    /// One for each heater.
    pub heaters: Vec<Rating<'a>>,
    /// The reader's units.
    pub units: Units,
}

/// A heater on the test.
#[derive(Clone, Debug)]
pub struct Rating<'a> {
    /// The heater.
    pub place: &'a HeaterPlace,
    /// What its plate says.
    pub plate: &'a HeaterPlate,
    /// The draws of the 24-hour test, in all modes alike: by the plate, else by the first-hour rating in hybrid mode.
    pub usage: Usage,
    /// In hybrid mode, with the compressor alone, with elements alone; of a heater without a compressor in its one way.
    pub tests: Vec<Tested>,
}

/// What was found in one mode.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tested {
    /// How it was run.
    pub mode: Mode,
    /// First-hour rating.
    pub first_hour_l: f64,
    /// The 24-hour test.
    pub day: DayTest,
    /// Litres until the outlet is 30 °F colder, nothing heating.
    pub usable_l: f64,
}

impl<'a> Rated<'a> {
    /// Runs the tests; they take about a second for each heater.
    #[must_use]
    pub fn of(scenario: &'a Scenario, units: Units) -> Self {
        let heaters = scenario.plant.hot_water.heaters.iter().zip(&scenario.heater_plates);
        Self { scenario, heaters: heaters.map(|(place, plate)| Rating::of(place, plate)).collect(), units }
    }
}

impl<'a> Rating<'a> {
    fn of(place: &'a HeaterPlace, plate: &'a HeaterPlate) -> Self {
        let heater = &place.heater;
        let modes: &[Mode] = match &heater.source {
            Source::HeatPump(_, elements) if elements.upper.or(elements.lower).is_some() => {
                &[Mode::Hybrid, Mode::HeatPumpOnly, Mode::ElementOnly]
            }
            // Without elements both are the compressor alone.
            Source::HeatPump(..) | Source::Electric(_) | Source::Fuel(_) => &[Mode::Hybrid],
        };
        let by_rating = || Usage::of_first_hour(first_hour_l(heater, Mode::Hybrid));
        let usage = plate.usage.unwrap_or_else(by_rating);
        // A compressor that does not run in the test's air has no factor.
        let tests = modes.iter().map(|mode| Tested::of(heater, *mode, usage)).filter(|test| test.day.uef.is_finite());
        Self { place, plate, usage, tests: tests.collect() }
    }

    /// The test in the mode in which the scenario runs it; the first where it is off.
    pub(crate) fn as_set(&self) -> Option<&Tested> {
        let own = self.tests.iter().find(|test| test.mode == self.place.settings.mode);
        own.or(self.tests.first())
    }

    /// Heat lost at rest for each kelvin over the room: by the tank, and up the flue.
    pub(crate) fn losses_w_k(&self) -> (f64, f64) {
        let heater = &self.place.heater;
        let flue_w_k = match &heater.source {
            Source::Fuel(burner) => burner.flue_loss_w_k,
            Source::Electric(_) | Source::HeatPump(..) => 0.0,
        };
        (heater.tank.loss_w_k, flue_w_k)
    }

    /// What those are at the temperatures of the test.
    pub(crate) fn standby_w(&self) -> f64 {
        let (tank_w_k, flue_w_k) = self.losses_w_k();
        (tank_w_k + flue_w_k) * (SET_C - AIR_C)
    }
}

/// Energy of a year of test days, kWh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Year {
    pub(crate) electric_kwh: f64,
    /// Fuel by the upper heating value; `None` without a burner.
    pub(crate) fuel_kwh: Option<f64>,
}

impl Tested {
    /// What a year takes of electricity and of fuel.
    pub(crate) fn year(&self, heater: &Heater) -> Year {
        /// The test is without power in its last hour.
        const POWERED_H: f64 = 365.0 * 23.0;
        match &heater.source {
            // Controls and fan take theirs whatever is drawn: all that the test corrects is fuel.
            Source::Fuel(burner) => {
                let electric_kwh = 1e-3 * burner.electric_w * POWERED_H;
                Year { electric_kwh, fuel_kwh: Some((self.day.year_kwh - electric_kwh).max(0.0)) }
            }
            Source::Electric(_) | Source::HeatPump(..) => Year { electric_kwh: self.day.year_kwh, fuel_kwh: None },
        }
    }

    /// Heat of the day's draws over their nominal heat: a heater that falls far short of it runs cold, and its factor is that
    /// of little warm water.
    pub(crate) fn delivered_share(&self) -> f64 {
        const J_PER_KWH_YEAR: f64 = 3.6e6 / 365.0;
        self.day.delivered_j / (self.day.year_kwh * J_PER_KWH_YEAR * self.day.uef)
    }

    fn of(heater: &Heater, mode: Mode, usage: Usage) -> Self {
        Self {
            mode,
            first_hour_l: first_hour_l(heater, mode),
            day: day_test(heater, mode, usage),
            usable_l: usable_l(heater, mode, USABLE_DROP_K),
        }
    }
}
