//! A run day by day: what flowed in each, and how things stood at its end.

use springhouse_core::engine::Report;
use springhouse_core::observe::Totals;
use springhouse_core::plant::Plant;
use springhouse_core::quality::Constituent;
use springhouse_core::supply::MOST_SUPPLIES;
use springhouse_core::weather::WeatherHour;

use crate::HeaterEnergy;

/// One day of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// What flowed in it.
    pub totals: Totals,
    /// Starts of each supply's pump in it.
    pub starts: [u64; MOST_SUPPLIES],
    /// Time in it for which a building had run out, s.
    pub run_out_s: f64,
    /// At its end, by supply: drawdown of a well, m, or water in a basin, L;
    pub sources: [f64; MOST_SUPPLIES],
    /// salt, mg/L,
    pub salt_mg_l: [f64; MOST_SUPPLIES],
    /// suspended solids, mg/L,
    pub solids_mg_l: [f64; MOST_SUPPLIES],
    /// and temperature of its water, °C;
    pub temp_c: [f64; MOST_SUPPLIES],
    /// and ice on it, m.
    pub ice_m: [f64; MOST_SUPPLIES],
    /// Mean temperature of what the membrane unit was fed while it made water, °C; where it made none, of the water that last came to
    /// the end of the raw line.
    pub feed_temp_c: f64,
    /// Salt on the product side of the membrane unit at its end, mg/L; zero without one.
    pub product_salt_mg_l: f64,
    /// Water in storage at its end, L; zero without one.
    pub storage_l: f64,
    /// Energy in the battery at its end, J; zero without one.
    pub stored_j: f64,
    /// What each heater took in it.
    pub heaters: Vec<HeaterEnergy>,
    /// Its weather, where that is known.
    pub weather: Option<DayWeather>,
}

/// The weather of a day.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DayWeather {
    /// Mean temperature of the air, °C,
    pub air_c: f64,
    /// the lowest hour
    pub low_c: f64,
    /// and the highest.
    pub high_c: f64,
    /// Rain, mm.
    pub rain_mm: f64,
    /// Evaporation of the reference crop, mm.
    pub evaporation_mm: f64,
    /// Global radiation of the sun on the horizontal, MJ/m2.
    pub sun_mj_m2: f64,
}

const HOURS: usize = 24;
/// A watt for an hour, in megajoules.
const WH_MJ: f64 = 3.6e-3;

impl DayWeather {
    /// Of a day by its number from zero; `None` where the weather does not reach so far.
    fn of(day: usize, hours: &[WeatherHour]) -> Option<Self> {
        let hours = hours.get(HOURS * day..HOURS * (day + 1))?;
        let sum = |of: fn(&WeatherHour) -> f64| hours.iter().map(of).sum::<f64>();
        let airs = || hours.iter().map(|hour| hour.air_c);
        Some(Self {
            air_c: sum(|hour| hour.air_c) / 24.0,
            low_c: airs().fold(f64::INFINITY, f64::min),
            high_c: airs().fold(f64::NEG_INFINITY, f64::max),
            rain_mm: sum(|hour| hour.rain_mm),
            evaporation_mm: sum(|hour| hour.evaporation_mm),
            sun_mj_m2: WH_MJ * sum(|hour| hour.sun_w_m2),
        })
    }
}

/// Keeps the days of a run, from reports at their ends.
pub(crate) struct Days<'a> {
    plant: &'a Plant,
    weather: &'a [WeatherHour],
    before: Totals,
    starts: [u64; MOST_SUPPLIES],
    run_out_s: f64,
    /// The membrane unit's feed so far, L, and its warmth.
    fed: (f64, f64),
    heaters: Vec<HeaterEnergy>,
    pub(crate) kept: Vec<Day>,
}

impl<'a> Days<'a> {
    pub(crate) fn new(plant: &'a Plant, weather: &'a [WeatherHour]) -> Self {
        Self {
            plant,
            weather,
            before: Totals::default(),
            starts: [0; _],
            run_out_s: 0.0,
            fed: (0.0, 0.0),
            heaters: vec![HeaterEnergy::default(); plant.hot_water.heaters.len()],
            kept: Vec::new(),
        }
    }

    /// Keeps the day that has just ended.
    pub(crate) fn keep(&mut self, report: &Report) {
        let starts = report.tally.supplies.map(|supply| supply.starts);
        let run_out_s = report.tally.run_outs.total.s();
        let carries = |constituent: Constituent| report.sources_carry.map(|water| water[constituent as usize]);
        let fed = report.membrane.map_or((0.0, 0.0), |membrane| (membrane.carried.feed_l, membrane.carried.feed_l_c));
        let (fed_l, fed_l_c) = (fed.0 - self.fed.0, fed.1 - self.fed.1);
        let feed_temp_c =
            if fed_l > 0.0 { fed_l_c / fed_l } else { report.raw_carries[Constituent::Temperature as usize] };
        let heaters: Vec<HeaterEnergy> = report.hot_water.heaters.iter().map(HeaterEnergy::so_far).collect();
        let start_l = self.plant.store.as_ref().map_or(0.0, |store| store.storage.start_l);
        self.kept.push(Day {
            totals: report.totals.since(&self.before),
            starts: core::array::from_fn(|i| starts[i] - self.starts[i]),
            run_out_s: run_out_s - self.run_out_s,
            sources: report.sources,
            salt_mg_l: carries(Constituent::Salt),
            solids_mg_l: carries(Constituent::Solids),
            temp_c: carries(Constituent::Temperature),
            ice_m: report.ponds.map(|pond| pond.ice_m),
            feed_temp_c,
            product_salt_mg_l: report.membrane.map_or(0.0, |membrane| membrane.now.product_salt_mg_l),
            storage_l: start_l + report.ledger.storage_gain_l,
            stored_j: report.power.as_ref().map_or(0.0, |books| books.charge.energy_j),
            heaters: heaters.iter().zip(&self.heaters).map(|(now, before)| now.since(*before)).collect(),
            weather: DayWeather::of(self.kept.len(), self.weather),
        });
        (self.before, self.starts, self.run_out_s, self.fed) = (report.totals, starts, run_out_s, fed);
        self.heaters = heaters;
    }
}
