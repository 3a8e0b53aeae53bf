//! Electricity on a site: who gives it, minute by minute, and what of it is the owner's own.
//!
//! The sun serves the site first, then the battery, then the grid. What each part of the plant took is split in the same shares
//! as all that was taken in that minute. Rules and their limits are in `docs/physics.md`.

use serde::{Deserialize, Serialize};

use crate::time::Span;

/// What holds on a site over an hour: sun on its panels, the rest of the house, prices.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PowerHour {
    /// Alternating power of the panels.
    pub solar_w: f64,
    /// Power of all that is no part of the plant.
    pub other_w: f64,
    /// Price of energy from the grid.
    pub import_per_kwh: f64,
    /// Price that the grid pays for energy.
    pub export_per_kwh: f64,
    /// Carbon dioxide of energy from the grid.
    pub import_kg_per_kwh: f64,
    /// The season that it is counted in, under [`SEASONS`].
    pub season: u8,
}

/// Quarters of a year, in which the shares are told: the first begins with December.
pub const SEASONS: usize = 4;

impl PowerHour {
    /// What the sun leaves over the rest of the house; under 0 where that takes more.
    #[must_use]
    pub fn surplus_w(&self) -> f64 {
        self.solar_w - self.other_w
    }

    /// Whether all of it is in a range that makes sense.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let money = [self.import_per_kwh, self.export_per_kwh];
        [self.solar_w, self.other_w].iter().all(|w| (0.0..=1e9).contains(w))
            && money.iter().all(|price| (-1e6..=1e6).contains(price))
            && (0.0..=100.0).contains(&self.import_kg_per_kwh)
            && usize::from(self.season) < SEASONS
    }
}

/// What stands behind the grid on a site; nothing by default.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SitePower {
    /// A battery.
    pub battery: Option<Battery>,
    /// A generator.
    pub generator: Option<Generator>,
    /// What they feed while the grid is out.
    pub backup: Backup,
}

/// A battery with its inverter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Battery {
    /// Energy that can be stored and taken out again, as stored.
    pub capacity_j: f64,
    /// Most power in and out.
    pub power_w: f64,
    /// Part of the energy that is left on the way in, and of that again on the way out: the root of the round trip.
    pub one_way: f64,
    /// Part of the capacity that is kept for outages.
    pub reserve_share: f64,
    /// Part of the capacity that is stored when the run starts.
    pub start_share: f64,
}

/// A generator that starts when the grid is out and no battery feeds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Generator {
    /// Most power.
    pub power_w: f64,
    /// How long after the grid has gone it feeds.
    pub start_after: Span,
    /// Fuel in its tank when the run starts; `None` where there is always more.
    pub fuel_l: Option<f64>,
    /// Fuel that it takes without load,
    pub idle_l_h: f64,
    /// and at its most power; in between it goes in a straight line.
    pub full_l_h: f64,
    /// Price of a litre of fuel.
    pub price_per_l: f64,
    /// Carbon dioxide of a litre of fuel.
    pub kg_per_l: f64,
    /// Whether a big motor waits while another runs: first the pumps of supplies, in their order, then the membrane unit, then
    /// water heaters. The delivery pump with its drive is small, and never waits.
    pub one_motor: bool,
}

/// What battery and generator feed while the grid is out, beside all pumps but that of the membrane unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Backup {
    /// The membrane unit.
    pub membrane: bool,
    /// Water heaters.
    pub heaters: bool,
    /// Part of the rest of the house.
    pub other_share: f64,
}

/// Who feeds the site.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Feed {
    /// The grid, with sun and battery beside it.
    #[default]
    Grid,
    /// The battery, and the sun where it shines: the grid is out.
    Battery,
    /// The generator, and the sun where there is a battery to steady it: the grid is out.
    Generator,
    /// Nobody.
    Nobody,
}

/// What a battery holds, well mixed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Charge {
    /// Energy.
    pub energy_j: f64,
    /// What of it came from the sun; the rest is the grid's, and what it held at the start.
    pub own_j: f64,
    /// What the grid's cost,
    pub cost: f64,
    /// and its carbon dioxide.
    pub co2_kg: f64,
}

impl Charge {
    /// Takes energy out of it, and its share of all else; returns that.
    fn take(&mut self, energy_j: f64) -> Self {
        let share = if self.energy_j > 0.0 { (energy_j / self.energy_j).min(1.0) } else { 0.0 };
        let taken = Self {
            energy_j: share * self.energy_j,
            own_j: share * self.own_j,
            cost: share * self.cost,
            co2_kg: share * self.co2_kg,
        };
        // In this order the last of it leaves nothing behind.
        self.energy_j = (self.energy_j - taken.energy_j).max(0.0);
        self.own_j = (self.own_j - taken.own_j).clamp(0.0, self.energy_j);
        self.cost -= taken.cost;
        self.co2_kg -= taken.co2_kg;
        taken
    }
}

/// Energy on a site, all of it 0 or more, J; with what it cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct SiteFlows {
    /// What the panels gave, or could have given.
    pub solar_j: f64,
    /// What the plant took,
    pub plant_j: f64,
    /// and the rest of the house.
    pub other_j: f64,
    /// From the sun straight to both.
    pub direct_j: f64,
    /// From the sun into the battery.
    pub charged_j: f64,
    /// Out of the battery,
    pub discharged_j: f64,
    /// and what of that the sun had put in.
    pub discharged_own_j: f64,
    /// From the grid into the battery, up to its reserve.
    pub topped_up_j: f64,
    /// From the grid to plant and house.
    pub imported_j: f64,
    /// From the sun into the grid.
    pub exported_j: f64,
    /// From the sun, and nobody could take it.
    pub curtailed_j: f64,
    /// From the generator.
    pub generated_j: f64,
    /// Taken in the last minute of a battery that had no more to give.
    pub short_j: f64,
    /// Fuel of the generator, L.
    pub fuel_l: f64,
    /// Money for energy from the grid,
    pub import_cost: f64,
    /// from the grid for energy,
    pub export_income: f64,
    /// and for fuel of the generator.
    pub fuel_cost: f64,
    /// Carbon dioxide of energy from the grid and of that fuel.
    pub co2_kg: f64,
    /// What energy out of the battery had cost when the grid put it in,
    pub discharged_cost: f64,
    /// and its carbon dioxide.
    pub discharged_co2_kg: f64,
}

impl SiteFlows {
    /// What the site took.
    #[must_use]
    pub fn load_j(&self) -> f64 {
        self.plant_j + self.other_j
    }

    /// What came from the grid.
    #[must_use]
    pub fn import_j(&self) -> f64 {
        self.imported_j + self.topped_up_j
    }

    /// What the sun gave that was used on the site, or kept there in the battery.
    #[must_use]
    pub fn used_on_site_j(&self) -> f64 {
        self.direct_j + self.charged_j
    }

    /// What of the load came from the sun, straight or through the battery.
    #[must_use]
    pub fn own_j(&self) -> f64 {
        self.direct_j + self.discharged_own_j
    }

    /// Part of the sun's energy that was used on the site; `None` without any.
    #[must_use]
    pub fn own_use_share(&self) -> Option<f64> {
        (self.solar_j > 0.0).then(|| self.used_on_site_j() / self.solar_j)
    }

    /// Part of the load that was the site's own; `None` without load.
    #[must_use]
    pub fn own_supply_share(&self) -> Option<f64> {
        (self.load_j() > 0.0).then(|| self.own_j() / self.load_j())
    }

    /// Sun, grid, battery and generator less what they went to: rounding alone.
    #[must_use]
    pub fn residual_j(&self) -> f64 {
        let given = [self.solar_j, self.imported_j, self.discharged_j, self.generated_j, self.short_j];
        let gone = [self.load_j(), self.charged_j, self.exported_j, self.curtailed_j];
        given.iter().sum::<f64>() - gone.iter().sum::<f64>()
    }

    /// Money for energy, less what the grid paid.
    #[must_use]
    pub fn cost(&self) -> f64 {
        self.import_cost - self.export_income + self.fuel_cost
    }

    /// All of it by a rule for each pair.
    #[must_use]
    fn with(&self, other: &Self, of: impl Fn(f64, f64) -> f64) -> Self {
        Self {
            solar_j: of(self.solar_j, other.solar_j),
            plant_j: of(self.plant_j, other.plant_j),
            other_j: of(self.other_j, other.other_j),
            direct_j: of(self.direct_j, other.direct_j),
            charged_j: of(self.charged_j, other.charged_j),
            discharged_j: of(self.discharged_j, other.discharged_j),
            discharged_own_j: of(self.discharged_own_j, other.discharged_own_j),
            topped_up_j: of(self.topped_up_j, other.topped_up_j),
            imported_j: of(self.imported_j, other.imported_j),
            exported_j: of(self.exported_j, other.exported_j),
            curtailed_j: of(self.curtailed_j, other.curtailed_j),
            generated_j: of(self.generated_j, other.generated_j),
            short_j: of(self.short_j, other.short_j),
            fuel_l: of(self.fuel_l, other.fuel_l),
            import_cost: of(self.import_cost, other.import_cost),
            export_income: of(self.export_income, other.export_income),
            fuel_cost: of(self.fuel_cost, other.fuel_cost),
            co2_kg: of(self.co2_kg, other.co2_kg),
            discharged_cost: of(self.discharged_cost, other.discharged_cost),
            discharged_co2_kg: of(self.discharged_co2_kg, other.discharged_co2_kg),
        }
    }

    /// This and another.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        self.with(other, |a, b| a + b)
    }

    /// What came since `before`.
    #[must_use]
    pub fn since(&self, before: &Self) -> Self {
        self.with(before, |a, b| a - b)
    }
}

/// What a step asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// How long it is.
    pub seconds: f64,
    /// What the plant takes in it,
    pub plant_j: f64,
    /// and the rest of the house.
    pub other_j: f64,
}

impl SitePower {
    /// Whether something can feed the site while the grid is out.
    #[must_use]
    pub fn has_backup(&self) -> bool {
        self.battery.is_some() || self.generator.is_some()
    }

    /// Shares a step out: who gives what, and what is stored at its end.
    ///
    /// A charge of 0 to the battery's capacity stays in that range.
    #[must_use]
    pub fn share_out(&self, feed: Feed, hour: &PowerHour, asked: &Asked, charge: &mut Charge) -> SiteFlows {
        let &Asked { seconds, plant_j, other_j } = asked;
        let load_j = plant_j + other_j;
        let mut flows = SiteFlows { solar_j: hour.solar_w * seconds, plant_j, other_j, ..SiteFlows::default() };
        let on_grid = feed == Feed::Grid;
        // Without a grid and without a battery to steady it an inverter stands still.
        let shines = on_grid || self.battery.is_some();
        flows.direct_j = if shines { flows.solar_j.min(load_j) } else { 0.0 };
        let (mut left_j, mut lacks_j) = (flows.solar_j - flows.direct_j, load_j - flows.direct_j);
        if let Some(battery) = &self.battery {
            flows.charged_j = battery.takes_j(charge.energy_j, left_j, seconds, battery.capacity_j);
            charge.own_j += battery.put_in(charge, flows.charged_j);
            left_j -= flows.charged_j;
            let kept_j = match feed {
                Feed::Grid => battery.reserve_share * battery.capacity_j,
                Feed::Battery => 0.0,
                Feed::Generator | Feed::Nobody => battery.capacity_j,
            };
            // In an outage its power is watched from minute to minute instead: see the engine.
            let most_j = if on_grid { battery.power_w * seconds } else { lacks_j };
            flows.discharged_j = ((charge.energy_j - kept_j).max(0.0) * battery.one_way).min(most_j).min(lacks_j);
            let taken = charge.take(flows.discharged_j / battery.one_way);
            flows.discharged_own_j = (taken.own_j * battery.one_way).min(flows.discharged_j);
            (flows.discharged_cost, flows.discharged_co2_kg) = (taken.cost, taken.co2_kg);
            lacks_j -= flows.discharged_j;
            if on_grid {
                let left_s = seconds - flows.charged_j / battery.power_w;
                flows.topped_up_j = battery.takes_j(charge.energy_j, f64::MAX, left_s, kept_j);
                battery.put_in(charge, flows.topped_up_j);
                charge.cost += kwh(flows.topped_up_j) * hour.import_per_kwh;
                charge.co2_kg += kwh(flows.topped_up_j) * hour.import_kg_per_kwh;
            }
        }
        match feed {
            Feed::Grid => (flows.imported_j, flows.exported_j) = (lacks_j, left_j),
            Feed::Battery | Feed::Nobody => (flows.short_j, flows.curtailed_j) = (lacks_j, left_j),
            Feed::Generator => (flows.generated_j, flows.curtailed_j) = (lacks_j, left_j),
        }
        flows.import_cost = kwh(flows.import_j()) * hour.import_per_kwh;
        flows.export_income = kwh(flows.exported_j) * hour.export_per_kwh;
        flows.co2_kg = kwh(flows.import_j()) * hour.import_kg_per_kwh;
        if let (Some(generator), Feed::Generator) = (&self.generator, feed) {
            flows.fuel_l = generator.fuel_l(flows.generated_j, seconds);
            flows.fuel_cost = flows.fuel_l * generator.price_per_l;
            flows.co2_kg += flows.fuel_l * generator.kg_per_l;
        }
        flows
    }
}

impl Battery {
    /// What it takes of so much on offer until it holds `up_to_j`.
    fn takes_j(&self, stored_j: f64, offered_j: f64, seconds: f64, up_to_j: f64) -> f64 {
        let room_j = (up_to_j - stored_j).max(0.0) / self.one_way;
        room_j.min(offered_j).min(self.power_w * seconds.max(0.0))
    }

    /// Puts in what it takes; returns what is stored of that.
    fn put_in(&self, charge: &mut Charge, taken_j: f64) -> f64 {
        let before_j = charge.energy_j;
        charge.energy_j = (before_j + self.one_way * taken_j).min(self.capacity_j);
        charge.energy_j - before_j
    }
}

impl Generator {
    /// Fuel for so much energy in a time.
    #[must_use]
    pub fn fuel_l(&self, energy_j: f64, seconds: f64) -> f64 {
        (self.idle_l_h * seconds + (self.full_l_h - self.idle_l_h) * energy_j / self.power_w) / 3_600.0
    }
}

fn kwh(energy_j: f64) -> f64 {
    energy_j / 3.6e6
}
