//! Buildings and what is in them.

use jiff::civil::Date;
use springhouse_core::time::Span;

use super::people::{Habits, Lasting, Person};
use super::today::OPENED_MEAN;
use springhouse_random::Stream;

/// All buildings of a plant in which people live.
#[derive(Clone, Debug, PartialEq)]
pub struct Household {
    /// What is left to chance follows from the seed and the number of the run.
    pub seed: u64,
    /// Number of the run: another run is another set of mornings.
    pub run: u64,
    /// Day 0.
    pub first_day: Date,
    /// The buildings.
    pub homes: Vec<Home>,
}

impl Household {
    /// The same buildings, each with a [`Home::level`] of its own: lognormal with a mean of 1, so that over many
    /// buildings use is as typical, and a geometric standard deviation of [`LEVEL_GSD`], as between real ones.
    #[must_use]
    pub fn with_drawn_levels(mut self) -> Self {
        let sigma = libm::log(LEVEL_GSD);
        for home in &mut self.homes {
            let z = Stream::new(self.seed, self.run, &[&home.name], "level").on(0).normal();
            home.level = libm::exp(sigma * z.clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS) - 0.5 * sigma * sigma);
        }
        self
    }
}

/// Geometric standard deviation between homes of the water that a person uses indoors in a day: National Academy of
/// Sciences, Risk assessment of radon in drinking water (1998) 56.
pub const LEVEL_GSD: f64 = 1.8;

/// Chance strays no further than this many standard deviations from a habit: nobody gets up ten hours early.
pub(crate) const MOST_DEVIATIONS: f64 = 3.0;

/// A building.
#[derive(Clone, Debug, PartialEq)]
pub struct Home {
    /// Name of the building, the only one.
    pub name: String,
    /// Index of its outlet in the plant.
    pub outlet: usize,
    /// Who lives there.
    pub people: Vec<Person>,
    /// What water is drawn with.
    pub fixtures: Fixtures,
    /// From 0, where people get up each by themselves, to 1, where all are early or late together: the correlation of
    /// their times of getting up.
    pub togetherness: f64,
    /// Time of day of dinner, which people share who are in.
    pub dinner: Span,
    /// All numbers of uses of people are multiplied by it; 1 is typical.
    pub level: f64,
}

impl Home {
    /// A typical building with one outlet: fixtures as in [`Fixtures::typical`], half together, dinner at half past six.
    #[must_use]
    pub fn typical(name: &str, outlet: usize, people: Vec<Person>) -> Self {
        Self {
            name: name.to_owned(),
            outlet,
            people,
            fixtures: Fixtures::typical(),
            togetherness: 0.5,
            dinner: Span::from_s(18.5 * 3_600.0),
            level: 1.0,
        }
    }
}

impl Home {
    /// Litres a day that are wished on average while those are there whom `present` takes. Who queues still draws.
    #[must_use]
    pub fn expected_l_per_day(&self, present: impl Fn(&Person) -> bool) -> f64 {
        let fixtures = &self.fixtures;
        let people: f64 =
            self.people.iter().filter(|person| present(person)).map(|it| it.habits.litres(fixtures)).sum();
        let outdoor_l = fixtures.outdoor.map_or(0.0, |outdoor| outdoor.uses_per_day * outdoor.water.litres);
        self.level * people + outdoor_l + fixtures.leak_lps * Span::DAY.s()
    }
}

impl Habits {
    /// Litres a day of one person with these fixtures.
    fn litres(&self, fixtures: &Fixtures) -> f64 {
        let Fixtures { showers, baths, toilets, basins, kitchen, clothes_washer, dishwasher, other, .. } = fixtures;
        let with = |count: u32, litres: f64| if count > 0 { litres } else { 0.0 };
        let load = |appliance: &Option<Appliance>| {
            appliance.as_ref().map_or(0.0, |it| it.fills.iter().map(|fill| fill.water.litres).sum())
        };
        let tap =
            |taps: &Taps, lasting: &Lasting| with(taps.count, OPENED_MEAN * taps.most_flow_lps * lasting.mean.s());
        self.showers_per_day * with(showers.count, showers.flow_lps * self.shower.mean.s())
            + self.baths_per_day * with(baths.count, baths.water.litres)
            + self.flushes_per_day * with(toilets.count, toilets.water.litres)
            + self.basin_uses_per_day * tap(basins, &self.basin)
            + self.kitchen_uses_per_day * tap(kitchen, &self.kitchen)
            + self.laundry_loads_per_day * load(clothes_washer)
            + self.dish_loads_per_day * load(dishwasher)
            + self.other_uses_per_day * other.map_or(0.0, |water| water.litres)
    }
}

/// Fixtures and appliances of a building. With none of a kind, what would be drawn there is not drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Fixtures {
    /// Showers.
    pub showers: Showers,
    /// Baths.
    pub baths: Baths,
    /// Toilets.
    pub toilets: Toilets,
    /// Bathroom taps.
    pub basins: Taps,
    /// Kitchen taps.
    pub kitchen: Taps,
    /// Clothes washer.
    pub clothes_washer: Option<Appliance>,
    /// Dishwasher.
    pub dishwasher: Option<Appliance>,
    /// What other draws take.
    pub other: Option<Filling>,
    /// Tap outdoors, which is used whoever is in.
    pub outdoor: Option<Outdoor>,
    /// Constant leak in L/s.
    pub leak_lps: f64,
}

impl Fixtures {
    /// Two bathrooms with the fixtures that published studies met on average, nothing outdoors, no leak. See
    /// `docs/physics.md`.
    #[must_use]
    pub fn typical() -> Self {
        let fill = |minutes: f64, litres, flow_lps, temp_c| Fill {
            after: Span::from_s(minutes * 60.0),
            water: Filling { litres, flow_lps },
            temp_c,
        };
        let tap = |count, warm_temp_c| Taps { count, most_flow_lps: 0.1388, warm_share: 0.6, warm_temp_c };
        Self {
            showers: Showers { count: 2, flow_lps: 0.1325, temp_c: 40.5 },
            baths: Baths { count: 1, water: Filling { litres: 76.5, flow_lps: 0.347 }, temp_c: 40.0 },
            toilets: Toilets { count: 2, water: Filling { litres: 9.84, flow_lps: 0.189 } },
            basins: tap(2, 38.0),
            kitchen: tap(1, 45.0),
            clothes_washer: Some(Appliance {
                fills: vec![
                    fill(0.0, 45.0, 0.2208, Some(40.0)),
                    fill(18.0, 45.0, 0.2208, None),
                    fill(30.0, 27.3, 0.2208, None),
                ],
                length: Span::from_s(45.0 * 60.0),
            }),
            dishwasher: Some(Appliance {
                fills: [0.0, 20.0, 60.0, 70.0].map(|minutes| fill(minutes, 5.77, 0.082, Some(55.0))).to_vec(),
                length: Span::from_s(90.0 * 60.0),
            }),
            other: Some(Filling { litres: 9.5, flow_lps: 0.1 }),
            outdoor: None,
            leak_lps: 0.0,
        }
    }
}

/// So many litres at a flow. Drawn until they are in, however long that takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// Litres.
    pub litres: f64,
    /// Flow in L/s.
    pub flow_lps: f64,
}

/// Showers, each for one person at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Showers {
    /// How many.
    pub count: u32,
    /// Flow in L/s.
    pub flow_lps: f64,
    /// Wanted temperature in °C.
    pub temp_c: f64,
}

/// Baths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Baths {
    /// How many.
    pub count: u32,
    /// Water of one bath.
    pub water: Filling,
    /// Wanted temperature in °C.
    pub temp_c: f64,
}

/// Toilets with a tank, which a fill valve fills again.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toilets {
    /// How many.
    pub count: u32,
    /// Water of one flush, and the flow through the fill valve.
    pub water: Filling,
}

/// Taps, opened as far as is wanted: from a quarter to three quarters of what they can give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taps {
    /// How many.
    pub count: u32,
    /// Flow of a tap that is wide open in L/s.
    pub most_flow_lps: f64,
    /// Share of the uses in which warm water is wanted.
    pub warm_share: f64,
    /// Temperature in °C that is then wanted.
    pub warm_temp_c: f64,
}

/// A machine that takes one load after the other, each in several fills.
#[derive(Clone, Debug, PartialEq)]
pub struct Appliance {
    /// What a load draws.
    pub fills: Vec<Fill>,
    /// How long a load keeps the machine.
    pub length: Span,
}

/// One fill of an appliance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fill {
    /// How long after the load is started.
    pub after: Span,
    /// Its water.
    pub water: Filling,
    /// Wanted temperature in °C; `None` is cold.
    pub temp_c: Option<f64>,
}

/// A tap outdoors: cans and buckets.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outdoor {
    /// Mean number a day, by daylight.
    pub uses_per_day: f64,
    /// Water of one.
    pub water: Filling,
}
