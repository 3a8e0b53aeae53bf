//! What a scenario file means once it has been checked.

use std::path::PathBuf;

use jiff::civil::{Date, DateTime};
use springhouse_core::draw::Flow;
use springhouse_core::heater::usage::Usage;
use springhouse_core::incident::IncidentKind;
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::plate::UnitPlate;
use springhouse_core::membrane::unit::{Operation, UnitAt};
use springhouse_core::outlet::Header;
use springhouse_core::plant::Plant;
use springhouse_core::pump::SupplyPump;
use springhouse_core::roof::Roof;
use springhouse_core::scaling::Analysis;
use springhouse_core::supply::Source;
use springhouse_core::time::Span;
use springhouse_core::well::{Response, Well};
use springhouse_draws::DailyDraw;
use springhouse_draws::household::{Home, Stay};
use springhouse_weather::{Normals, Place, Spread, Station};

use crate::display::Units;
use crate::energy::SiteEnergy;

/// A scenario that has been read and checked: nothing past here checks it again.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Short name, used for the output folder: letters, digits, `-` and `_`.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// First day of the run.
    pub start: Date,
    /// Days to run.
    pub days: u32,
    /// Seed of everything random.
    pub seed: u64,
    /// Units for people.
    pub units: Units,
    /// The plant.
    pub plant: Plant,
    /// Draws of every day.
    pub schedule: Vec<DailyDraw>,
    /// Buildings whose draws follow from who lives there.
    pub homes: Vec<Home>,
    /// Files of logged draws, relative to the scenario's folder.
    pub logs: Vec<PathBuf>,
    /// What goes out of order and when.
    pub incidents: Vec<DatedIncident>,
    /// Draws at a date: pipes that burst.
    pub dated_draws: Vec<DatedDraw>,
    /// The weather over the plant, where it is known.
    pub weather: Option<SiteWeather>,
    /// Roofs that gather rain, and where that is from.
    pub rain: Vec<RainFile>,
    /// Valves that stay shut after rain.
    pub rain_skips: Vec<RainSkip>,
    /// What a cubic metre costs, in the owner's money, by supply; `None` where it costs nothing.
    pub prices_per_m3: Vec<Option<f64>>,
    /// What judging the membrane unit needs beside the plant; `None` without one.
    pub membrane_design: Option<MembraneDesign>,
    /// What the plates of the heaters say, one for each.
    pub heater_plates: Vec<HeaterPlate>,
    /// Sun, prices and the rest of the house; `None` where nothing of them is given.
    pub energy: Option<SiteEnergy>,
}

const DAY_S: f64 = 86_400.0;

impl Scenario {
    /// The first well and its pump.
    #[must_use]
    pub fn well(&self) -> Option<(&Well, &SupplyPump)> {
        self.plant.supplies.iter().find_map(|supply| match &supply.source {
            Source::Well { well, pump } => Some((well, pump)),
            _ => None,
        })
    }

    /// Depth of the water when the well is pumped as hard as it can be for good.
    #[must_use]
    pub fn lowest_depth_m(&self) -> Option<f64> {
        let (well, _) = self.well()?;
        Some(well.cutoff.as_ref().map_or(well.pump_depth_m, |cutoff| cutoff.stop_depth_m))
    }

    /// What the well gives for good, with the water as low as it may go; `None` without a well or in an ideal one.
    #[must_use]
    pub fn sustained_lps(&self) -> Option<f64> {
        let (well, _) = self.well()?;
        match well.response {
            Response::Ideal => None,
            Response::Drawdown { .. } => Some(well.inflow_lps(self.lowest_depth_m()? - well.static_depth_m)),
        }
    }

    /// Mean of the schedule, and of what people wish who live there, in litres a day over many weeks, of the outlets that `of`
    /// takes by their index. Guests are not counted.
    #[must_use]
    pub fn scheduled_l_per_day(&self, of: impl Fn(usize) -> bool) -> f64 {
        let by_clock = self.schedule.iter().filter(|draw| of(draw.outlet)).map(l_per_day);
        let homes = self.homes.iter().filter(|home| of(home.outlet));
        let by_people = homes.map(|home| home.expected_l_per_day(|person| person.stay == Stay::Always));
        by_clock.chain(by_people).fold(0.0, |sum, l| sum + l)
    }

    /// Part of what storage gets that has not met the membrane, the unit at work; zero where nothing is blended.
    #[must_use]
    pub fn blended_share(&self) -> f64 {
        let blend = self.plant.membrane.as_ref().and_then(|membrane| Some((membrane, membrane.blend?)));
        let Some(((membrane, blend), found)) = blend.zip(self.membrane_at_work()) else { return 0.0 };
        let blended_lps = blend.flow_lps(found.inlet_kpa, membrane.unit.product_kpa);
        blended_lps / (found.flows.product_lps + blended_lps)
    }

    /// What the supplies must give for the schedule, in litres a day: with a membrane unit also what that rejects.
    #[must_use]
    pub fn needed_l_per_day(&self) -> f64 {
        let blended = self.blended_share();
        let taken = |found: Operation| blended + (1.0 - blended) / found.flows.recovery();
        let taken = self.membrane_at_work().map_or(1.0, taken);
        let delivered_l = self.delivered_l_per_day();
        self.scheduled_l_per_day(|_| true) - delivered_l + delivered_l * taken
    }

    /// What the schedule takes behind the delivery pump, in litres a day.
    #[must_use]
    pub fn delivered_l_per_day(&self) -> f64 {
        let header = |index: usize| self.plant.outlets.get(index).map(|outlet| outlet.header);
        self.scheduled_l_per_day(|index| header(index) == Some(Header::Delivery))
    }

    /// Share of what the well gives for good that the schedule takes; `None` in an ideal well.
    #[must_use]
    pub fn share_of_well(&self) -> Option<f64> {
        let sustained_lps = self.sustained_lps().filter(|lps| *lps > 0.0)?;
        Some(self.needed_l_per_day() / (DAY_S * sustained_lps))
    }

    /// The clean membrane unit at work on the water of the first supply, at the lowest pressure that its controls hold and with
    /// its loop settled; losses on the way are not counted. `None` where it makes no water or its loop never settles, or without
    /// one.
    #[must_use]
    pub fn membrane_at_work(&self) -> Option<Operation> {
        self.membrane_fed(|unit, inlet_kpa, salt_mg_l| unit.steady(inlet_kpa, salt_mg_l).ok())
    }

    /// The same while its loop is still as fresh as its feed: with the reject shut it settles nowhere.
    #[must_use]
    pub fn membrane_at_first(&self) -> Option<Operation> {
        self.membrane_fed(|unit, inlet_kpa, salt_mg_l| Some(unit.at_loop(inlet_kpa, salt_mg_l, salt_mg_l)))
    }

    /// What becomes of the clean unit at the pressure at its suction and the salt of its feed; `None` where that is no water.
    fn membrane_fed(&self, run: impl FnOnce(&UnitAt<'_>, f64, f64) -> Option<Operation>) -> Option<Operation> {
        let membrane = self.plant.membrane.as_ref()?;
        let supply = self.plant.supplies.iter().find(|supply| !supply.standby)?;
        let held_kpa = match &supply.source {
            Source::TownLine(line) => line.static_kpa(),
            Source::Well { pump, .. } | Source::Basin { pump, .. } => pump.control.low_kpa(),
        };
        let inlet_kpa = held_kpa - self.plant.water.pressure_kpa(membrane.rise_m);
        let unit = membrane.unit.at(membrane.feed_temp_c, Fouling::CLEAN, &self.plant.water);
        run(&unit, inlet_kpa.max(0.0), supply.quality.salt_mg_l).filter(|found| found.flows.product_lps > 0.0)
    }
}

/// Mean of one entry of a schedule over many weeks, in litres a day.
pub(crate) fn l_per_day(draw: &DailyDraw) -> f64 {
    let days = u8::try_from(draw.weekdays.iter().filter(|on| **on).count()).unwrap_or(7);
    draw.flow.lps() * draw.length.s() * f64::from(days) / 7.0 / f64::from(draw.every.max(1))
}

/// A pump test of the well: what is beyond it is computed, not known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpTest {
    /// Flow pumped.
    pub flow_lps: f64,
    /// Drawdown at its end.
    pub drawdown_m: f64,
}

impl PumpTest {
    /// Whether a flow or a drawdown lies beyond what was tested.
    #[must_use]
    pub fn is_exceeded(&self, flow_lps: f64, drawdown_m: f64) -> bool {
        // A hundredth is within the reading of any gauge.
        flow_lps > 1.01 * self.flow_lps || drawdown_m > 1.01 * self.drawdown_m
    }
}

/// What judging and tuning a membrane unit needs beside the plant.
#[derive(Clone, Debug, PartialEq)]
pub struct MembraneDesign {
    /// What a laboratory found in the water of each supply; `None` where that is not known.
    pub analyses: Vec<Option<Analysis>>,
    /// Whether an antiscalant is dosed ahead of the unit.
    pub antiscalant: bool,
    /// Where the feed comes from, for what design guides allow.
    pub feed: FeedKind,
    /// Outside diameter of the elements, in inches.
    pub diameter_in: f64,
    /// Most pressure that its vessels and elements are built for, in kPa.
    pub rated_kpa: f64,
    /// Flow at the last point of its pump's curve, in L/s; beyond it nothing is known. `None` without a pump.
    pub pump_end_lps: Option<f64>,
    /// What the plate of the whole unit says, to be compared with what its parts give.
    pub plate: Option<UnitPlate>,
}

/// What heats a tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeaterKind {
    /// A compressor, and elements to help it.
    HeatPump,
    /// Elements alone.
    Electric,
    /// A burner of natural gas.
    Gas,
    /// A burner of propane.
    Propane,
}

/// What the plate of a heater says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeaterPlate {
    /// What heats it.
    pub kind: HeaterKind,
    /// Uniform energy factor.
    pub energy_factor: Option<f64>,
    /// First-hour rating.
    pub first_hour_l: Option<f64>,
    /// The usage that the factor belongs to, as given or as the rating says.
    pub usage: Option<Usage>,
}

/// An incident at a date and time.
#[derive(Clone, Debug, PartialEq)]
pub struct DatedIncident {
    /// What is out of order.
    pub kind: IncidentKind,
    /// When it begins, local standard time.
    pub start: DateTime,
    /// How long it lasts.
    pub length: Span,
}

/// A timed draw at a date and time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DatedDraw {
    /// Index of the outlet in the plant.
    pub outlet: usize,
    /// When it begins, local standard time.
    pub start: DateTime,
    /// How long it lasts.
    pub length: Span,
    /// Wanted flow.
    pub flow: Flow,
}

/// The weather over a plant, and where that stands.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteWeather {
    /// Degrees north of the equator, where the scenario says.
    pub latitude_deg: Option<f64>,
    /// Degrees east of Greenwich, where it says.
    pub longitude_deg: Option<f64>,
    /// Local standard time less universal time, where it says.
    pub utc_offset_h: Option<f64>,
    /// Height above the sea.
    pub elevation_m: f64,
    /// Where the weather is from.
    pub source: WeatherSource,
    /// By supply: whether its water is as warm as ground and air make it, and not as the scenario says.
    pub follows: Vec<bool>,
}

/// Where the weather is from.
#[derive(Clone, Debug, PartialEq)]
pub enum WeatherSource {
    /// A file of it.
    File {
        /// The file, relative to the scenario's folder.
        file: PathBuf,
        /// Whether its days stand for those of every year.
        repeat: bool,
        /// Height above the ground of its wind.
        wind_height_m: f64,
        /// A file of rain in place of its own, relative to the scenario's folder.
        rain: Option<PathBuf>,
    },
    /// Chance around the normals of the months.
    Normals {
        /// The normals.
        normals: Box<Normals>,
        /// How days and years stray from them.
        spread: Spread,
    },
}

impl SiteWeather {
    /// Where the plant stands; `station` is where a file was measured. `None` where nobody says how far north.
    #[must_use]
    pub fn place(&self, station: Option<&Station>) -> Option<Place> {
        let latitude_deg = self.latitude_deg.or(station.map(|station| station.latitude_deg))?;
        let utc_offset_h = self.utc_offset_h.or(station.map(|station| station.utc_offset_h));
        let longitude_deg = self.longitude_deg.or(station.map(|station| station.longitude_deg));
        // Half hours are for those who give them.
        let utc_offset_h = utc_offset_h.or(longitude_deg.map(|deg| (deg / DEG_H).round())).unwrap_or(0.0);
        let longitude_deg = longitude_deg.unwrap_or(DEG_H * utc_offset_h);
        Some(Place { latitude_deg, longitude_deg, elevation_m: self.elevation_m, utc_offset_h })
    }
}

/// Degrees that the sun moves in an hour.
const DEG_H: f64 = 15.0;

/// Valves that do not open after rain.
#[derive(Clone, Debug, PartialEq)]
pub struct RainSkip {
    /// Index of the raw load in the plant.
    pub outlet: usize,
    /// The file of rain, relative to the scenario's folder; `None` for the rain of the weather.
    pub file: Option<PathBuf>,
    /// So much keeps them shut.
    pub amount_mm: f64,
    /// In so long before they would open.
    pub within: Span,
}

/// Rain and the roof that gathers it.
#[derive(Clone, Debug, PartialEq)]
pub struct RainFile {
    /// Index of the supply whose basin the rain fills.
    pub supply: usize,
    /// The file, relative to the scenario's folder; `None` for the rain of the weather.
    pub file: Option<PathBuf>,
    /// The roof.
    pub roof: Roof,
}
