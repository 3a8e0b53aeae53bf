//! Electricity on the site along a run: who feeds it, what that costs, and what gives way to an overload.
//!
//! The books close with every tick, and where the grid goes or comes back. While it is out, battery and generator are looked at
//! once a tick.

use serde::{Deserialize, Serialize};

use super::Core;
use super::piece::Piece;
use super::state::{DELIVERY_J, MEMBRANE_J, SupplyPort, of_supply};
use crate::hot_water::follow::HeaterRun;
use crate::observe::{EventKind, Observer, Part, Totals};
use crate::plant::Plant;
use crate::power::{Asked, Charge, Feed, PowerHour, SEASONS};
use crate::supply::MOST_SUPPLIES;
use crate::time::{Span, Time};

/// A battery that has run empty feeds again once so much of it is full, and a minute at its power. Our own choice.
const FEEDS_AGAIN_SHARE: f64 = 0.1;
/// It takes over from a generator once so much of it is full. Our own choice.
const TAKES_OVER_SHARE: f64 = 0.5;
/// What an overload has put off stays off so long. Our own choice.
const SHED_FOR: Span = Span::from_ns(15 * 60 * 1_000_000_000);
/// A battery or generator that pumps alone overload rests so long. Our own choice.
const RESTS_FOR: Span = Span::from_ns(5 * 60 * 1_000_000_000);

/// Parts whose electricity is kept, heaters after them: pumps of supplies, then these.
const MEMBRANE: usize = MOST_SUPPLIES;
const DELIVERY: usize = MOST_SUPPLIES + 1;
const LAMPS: usize = MOST_SUPPLIES + 2;
const HEATERS: usize = MOST_SUPPLIES + 3;

/// Who feeds the site, and what goes without.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[expect(clippy::struct_excessive_bools, reason = "each is a circuit of its own")]
pub(super) struct PowerMode {
    pub feed: Feed,
    /// Since when,
    pub since: Time,
    /// and since when the grid is out; [`Time::NEVER`] while it is there.
    pub out_since: Time,
    /// The battery has been overloaded in this outage.
    pub battery_tripped: bool,
    /// What feeds in an outage rests until then.
    pub rests_until: Time,
    /// What an overload has put off comes back then.
    pub shed_until: Time,
    /// Whether heaters are put off, and the membrane unit.
    pub sheds_heaters: bool,
    pub sheds_membrane: bool,
    /// Whether the membrane unit has power, as far as the circuit goes; and heaters.
    pub membrane: bool,
    pub heaters: bool,
    /// Whether one big motor runs at a time.
    pub one_motor: bool,
}

impl PowerMode {
    pub(super) const ON_GRID: Self = Self {
        feed: Feed::Grid,
        since: Time::ZERO,
        out_since: Time::NEVER,
        battery_tripped: false,
        rests_until: Time::ZERO,
        shed_until: Time::ZERO,
        sheds_heaters: false,
        sheds_membrane: false,
        membrane: true,
        heaters: true,
        one_motor: false,
    };
}

/// The books of a site's electricity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PowerBooks {
    /// They are closed up to here.
    pub time: Time,
    /// What the battery holds; nothing without one.
    pub charge: Charge,
    /// The least there was, and when.
    pub lowest_stored_j: f64,
    /// When the battery held least.
    pub lowest_stored_at: Time,
    /// Fuel in the generator's tank, L; 0 without one, and of a tank without end.
    pub fuel_left_l: f64,
    /// Part by part: pumps of supplies, in their order and with unused places, the membrane unit, the delivery pump, lamps, then
    /// heaters.
    pub parts: Vec<PartBooks>,
    /// By season and hour of the day.
    pub hours: [[HourBooks; 24]; SEASONS],
    /// Outages.
    pub outages: OutageBooks,
    /// The last step, for what watches overloads.
    last: LastStep,
}

/// Electricity of a part, J, by where it came from; and its share of what that cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PartBooks {
    /// All of it.
    pub energy_j: f64,
    /// From the sun, straight or through the battery.
    pub own_j: f64,
    /// Money for what came from the grid and the generator.
    pub cost: f64,
    /// Carbon dioxide of that.
    pub co2_kg: f64,
}

/// An hour of the day over a season, J.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct HourBooks {
    /// From the sun.
    pub solar_j: f64,
    /// What of it was used on the site, or kept there in the battery.
    pub used_j: f64,
    /// What plant and house took.
    pub load_j: f64,
    /// What of it came from the sun, straight or through the battery.
    pub own_j: f64,
}

/// Time without the grid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct OutageBooks {
    /// In all, s;
    pub out_s: f64,
    /// fed by the battery,
    pub battery_s: f64,
    /// by the generator,
    pub generator_s: f64,
    /// or by nobody.
    pub dark_s: f64,
    /// When nobody fed for the first time.
    pub first_dark: Option<Time>,
    /// With heaters put off by an overload, s,
    pub shed_heaters_s: f64,
    /// and with the membrane unit put off.
    pub shed_membrane_s: f64,
    /// Times that pumps alone were too much.
    pub trips: u64,
}

/// Mean powers of the last step.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
struct LastStep {
    /// Out of the battery or the generator.
    backup_w: f64,
    membrane_w: f64,
    heaters_w: f64,
    /// What compressors and elements have taken so far, J.
    heated_j: f64,
    /// When it began,
    start: Time,
    /// and ended.
    end: Time,
}

impl PowerBooks {
    pub(super) fn at_start(plant: &Plant) -> Self {
        let (battery, generator) = (&plant.power.battery, &plant.power.generator);
        let stored_j = battery.map_or(0.0, |battery| battery.start_share * battery.capacity_j);
        Self {
            time: Time::ZERO,
            charge: Charge { energy_j: stored_j, ..Charge::default() },
            lowest_stored_j: stored_j,
            lowest_stored_at: Time::ZERO,
            fuel_left_l: generator.and_then(|generator| generator.fuel_l).unwrap_or(0.0),
            parts: vec![PartBooks::default(); HEATERS + plant.hot_water.heaters.len()],
            hours: [[HourBooks::default(); 24]; SEASONS],
            outages: OutageBooks::default(),
            last: LastStep::default(),
        }
    }

    pub(super) fn fits(&self, plant: &Plant, reached: Time) -> bool {
        let capacity_j = plant.power.battery.map_or(0.0, |battery| battery.capacity_j);
        self.parts.len() == HEATERS + plant.hot_water.heaters.len()
            && (0.0..=capacity_j).contains(&self.charge.energy_j)
            && (0.0..f64::MAX).contains(&self.fuel_left_l)
            && self.time <= reached
            && self.parts.iter().all(|part| part.energy_j.is_finite())
    }

    /// The pump of a supply.
    #[must_use]
    pub fn supply(&self, supply: usize) -> PartBooks {
        self.parts[supply]
    }

    /// The membrane unit.
    #[must_use]
    pub fn membrane(&self) -> PartBooks {
        self.parts[MEMBRANE]
    }

    /// The delivery pump.
    #[must_use]
    pub fn delivery(&self) -> PartBooks {
        self.parts[DELIVERY]
    }

    /// Ultraviolet lamps.
    #[must_use]
    pub fn lamps(&self) -> PartBooks {
        self.parts[LAMPS]
    }

    /// Water heaters, in the order of the plant.
    #[must_use]
    pub fn heaters(&self) -> &[PartBooks] {
        &self.parts[HEATERS..]
    }
}

impl Core<'_> {
    /// Whether electricity is followed beyond what parts take.
    pub(super) fn follows_power(&self) -> bool {
        !self.outside.power.is_empty() || self.hydraulics.plant.power.has_backup()
    }

    /// What holds in the hour of an instant.
    fn power_hour(&self, time: Time) -> PowerHour {
        let hours = &self.outside.power;
        let hour = usize::try_from(time.ns().div_euclid(Span::HOUR.ns())).unwrap_or(0);
        hours.get(hour).or(hours.last()).copied().unwrap_or_default()
    }

    /// What the sun leaves over the rest of the house; nothing where its inverter stands still.
    pub(super) fn surplus_w(&self, time: Time) -> f64 {
        if self.outside.power.is_empty() {
            return f64::NEG_INFINITY;
        }
        let (hour, power) = (self.power_hour(time), &self.hydraulics.plant.power);
        match self.state.mode.power.feed {
            Feed::Grid => hour.surplus_w(),
            Feed::Battery | Feed::Generator if power.battery.is_some() => {
                hour.solar_w - power.backup.other_share * hour.other_w
            }
            Feed::Battery | Feed::Generator | Feed::Nobody => f64::NEG_INFINITY,
        }
    }

    /// Closes the books at a tick of the open piece.
    pub(super) fn close_power_in(&mut self, piece: &Piece, at: Time) {
        let port = |port| piece.port_at(port, at);
        let totals = &self.state.totals;
        let mut fixed_j = fixed_parts_j(totals);
        for (i, j) in fixed_j[..self.hydraulics.plant.supplies.len()].iter_mut().enumerate() {
            *j += port(of_supply(i, SupplyPort::Energy));
        }
        fixed_j[MEMBRANE] += port(MEMBRANE_J);
        fixed_j[DELIVERY] += port(DELIVERY_J);
        fixed_j[LAMPS] += self.hydraulics.lamps_w(&self.state.mode) * (at - piece.start).s();
        self.close_power(&fixed_j, at);
    }

    /// Closes the books, with what every part has taken so far.
    fn close_power(&mut self, fixed_j: &[f64; HEATERS], at: Time) {
        let (start, power) = (self.state.power.time, &self.hydraulics.plant.power);
        // The tick that ends as the run starts has no length.
        if at <= start {
            return;
        }
        let (hour, mode) = (self.power_hour(start), self.state.mode.power);
        let books = &mut self.state.power;
        let seconds = (at - start).s();
        let heaters_j = self.state.heat.hot.heaters.iter().map(|heater| heater.totals.electric_j());
        let mut plant_j = 0.0;
        for (part, so_far_j) in books.parts.iter().zip(fixed_j.iter().copied().chain(heaters_j.clone())) {
            plant_j += so_far_j - part.energy_j;
        }
        let other_share = match mode.feed {
            Feed::Grid => 1.0,
            Feed::Battery | Feed::Generator => power.backup.other_share,
            Feed::Nobody => 0.0,
        };
        let asked = Asked { seconds, plant_j, other_j: other_share * hour.other_w * seconds };
        let mut flows = power.share_out(mode.feed, &hour, &asked, &mut books.charge);
        if let Some(generator) = power.generator.filter(|generator| generator.fuel_l.is_some()) {
            // The last minute runs on what is there.
            let over_l = (flows.fuel_l - books.fuel_left_l).max(0.0);
            flows.fuel_l -= over_l;
            flows.fuel_cost -= over_l * generator.price_per_l;
            flows.co2_kg -= over_l * generator.kg_per_l;
            books.fuel_left_l = (books.fuel_left_l - flows.fuel_l).max(0.0);
        }
        if books.charge.energy_j < books.lowest_stored_j {
            (books.lowest_stored_j, books.lowest_stored_at) = (books.charge.energy_j, at);
        }
        // Each part has its share of all that was taken.
        let load_j = flows.load_j();
        let of_load = |value: f64| if load_j > 0.0 { value / load_j } else { 0.0 };
        let imported_kwh = flows.imported_j / 3.6e6;
        let own = of_load(flows.own_j());
        let cost = of_load(imported_kwh * hour.import_per_kwh + flows.fuel_cost + flows.discharged_cost);
        let generator_kg = power.generator.map_or(0.0, |generator| generator.kg_per_l * flows.fuel_l);
        let co2_kg = of_load(imported_kwh * hour.import_kg_per_kwh + generator_kg + flows.discharged_co2_kg);
        let mut membrane_j = 0.0;
        for (i, (part, so_far_j)) in books.parts.iter_mut().zip(fixed_j.iter().copied().chain(heaters_j)).enumerate() {
            let taken_j = so_far_j - part.energy_j;
            part.energy_j = so_far_j;
            part.own_j += own * taken_j;
            part.cost += cost * taken_j;
            part.co2_kg += co2_kg * taken_j;
            if i == MEMBRANE {
                membrane_j = taken_j;
            }
        }
        let of_day = (start - Time::from_day(start.day())).ns() / Span::HOUR.ns();
        let shares = &mut books.hours[usize::from(hour.season)][usize::try_from(of_day).unwrap_or(0)];
        shares.solar_j += flows.solar_j;
        shares.used_j += flows.used_on_site_j();
        shares.load_j += load_j;
        shares.own_j += flows.own_j();
        books.outages.pass(&mode, start, seconds);
        let backup_w = (flows.discharged_j + flows.generated_j + flows.short_j) / seconds;
        // Controls and the pumps of loops are never put off.
        let heats_j = |run: &HeaterRun| run.totals.compressor_j + run.totals.element_j;
        let heated_j: f64 = self.state.heat.hot.heaters.iter().map(heats_j).sum();
        books.last = LastStep {
            backup_w,
            membrane_w: membrane_j / seconds,
            heaters_w: (heated_j - books.last.heated_j) / seconds,
            heated_j,
            start,
            end: at,
        };
        books.time = at;
        self.state.totals.site = self.state.totals.site.plus(&flows);
    }

    /// Has the site fed by whoever can, at the present; returns whether that changed.
    pub(super) fn pass_power<O: Observer>(&mut self, observer: &mut O) -> bool {
        let (now, was) = (self.state.time, self.state.mode.power);
        let out = self.state.mode.faults.power_out;
        let is_edge = out == (was.out_since == Time::NEVER);
        // Between two ticks nobody looks at battery and generator.
        if !is_edge && (!out || now.ns() % self.options.tick.ns() != 0) {
            return false;
        }
        let mut next = PowerMode { since: now, ..PowerMode::ON_GRID };
        if out {
            next = was;
            next.out_since = was.out_since.min(now);
            self.shed(&mut next, observer);
            next.feed = self.backup(&next);
            if next.feed != was.feed {
                next.since = now;
            }
            let power = &self.hydraulics.plant.power;
            next.membrane = power.backup.membrane && !next.sheds_membrane;
            next.heaters = power.backup.heaters && !next.sheds_heaters;
            next.one_motor = next.feed == Feed::Generator && power.generator.is_some_and(|it| it.one_motor);
        }
        if next == was {
            return false;
        }
        if self.follows_power() && now > self.state.power.time {
            let fixed_j = fixed_parts_j(&self.state.totals);
            self.close_power(&fixed_j, now);
        }
        if next.feed != was.feed {
            self.tell_feed(next.feed, observer);
        }
        if next.feed == Feed::Nobody && was.feed != Feed::Nobody {
            self.state.power.outages.first_dark.get_or_insert(now);
        }
        self.state.mode.power = next;
        true
    }

    fn tell_feed<O: Observer>(&mut self, feed: Feed, observer: &mut O) {
        let books = &self.state.power;
        let (kind, value) = match feed {
            Feed::Battery => (EventKind::BatteryFeeds, books.charge.energy_j / 3.6e6),
            Feed::Generator => (EventKind::GeneratorFeeds, books.fuel_left_l),
            Feed::Nobody if self.hydraulics.plant.power.has_backup() => (EventKind::NobodyFeeds, 0.0),
            Feed::Grid | Feed::Nobody => return,
        };
        self.tell(observer, Part::Site, kind, value);
    }

    fn generator_is_ready(&self, mode: &PowerMode) -> bool {
        self.hydraulics.plant.power.generator.is_some_and(|generator| {
            let has_fuel = generator.fuel_l.is_none() || self.state.power.fuel_left_l > 0.0;
            has_fuel && self.state.time >= mode.out_since + generator.start_after
        })
    }

    /// Who can feed the site while the grid is out.
    fn backup(&self, mode: &PowerMode) -> Feed {
        let (now, books, power) = (self.state.time, &self.state.power, &self.hydraulics.plant.power);
        if now < mode.rests_until {
            return Feed::Nobody;
        }
        let generator = self.generator_is_ready(mode);
        let battery = power.battery.is_some_and(|battery| {
            let minute_j = (battery.power_w * self.options.tick.s() / battery.one_way).min(0.9 * battery.capacity_j);
            let from_j = match mode.feed {
                Feed::Grid | Feed::Battery => 0.0,
                Feed::Generator if generator => TAKES_OVER_SHARE * battery.capacity_j,
                Feed::Generator | Feed::Nobody => minute_j.max(FEEDS_AGAIN_SHARE * battery.capacity_j),
            };
            books.charge.energy_j > from_j && !(generator && mode.battery_tripped)
        });
        match (battery, generator) {
            (true, _) => Feed::Battery,
            (false, true) => Feed::Generator,
            (false, false) => Feed::Nobody,
        }
    }

    /// Puts off what was too much in the last step: heaters first, then the membrane unit, then everything for a while.
    fn shed<O: Observer>(&mut self, mode: &mut PowerMode, observer: &mut O) {
        let (now, last, power) = (self.state.time, self.state.power.last, &self.hydraulics.plant.power);
        if now >= mode.shed_until {
            (mode.sheds_heaters, mode.sheds_membrane) = (false, false);
        }
        let most_w = match mode.feed {
            Feed::Battery => power.battery.map(|battery| battery.power_w),
            Feed::Generator => power.generator.map(|generator| generator.power_w),
            Feed::Grid | Feed::Nobody => None,
        };
        // Only a whole tick that was fed as now says anything, and each once.
        let is_new = last.start >= mode.since && last.end == now && now - last.start >= self.options.tick;
        if !is_new || most_w.is_none_or(|most_w| last.backup_w <= most_w) {
            return;
        }
        let part = if last.heaters_w > 0.0 && !mode.sheds_heaters {
            mode.sheds_heaters = true;
            Part::Heater(0)
        } else if last.membrane_w > 0.0 && !mode.sheds_membrane {
            mode.sheds_membrane = true;
            Part::Membrane
        } else {
            mode.battery_tripped |= mode.feed == Feed::Battery;
            // A generator that is ready takes over from a battery at once.
            if mode.feed == Feed::Generator || !self.generator_is_ready(mode) {
                mode.rests_until = now + RESTS_FOR;
            }
            self.state.power.outages.trips += 1;
            Part::Site
        };
        mode.shed_until = now + SHED_FOR;
        // Steps from here on are looked at.
        mode.since = now;
        self.tell(observer, part, EventKind::Overload, last.backup_w);
    }

    /// When backup is looked at next.
    pub(super) fn next_power(&self) -> Time {
        let is_watched = self.state.mode.power.out_since != Time::NEVER && self.hydraulics.plant.power.has_backup();
        if !is_watched {
            return Time::NEVER;
        }
        let tick = self.options.tick.ns();
        Time::from_ns((self.state.time.ns().div_euclid(tick) + 1).saturating_mul(tick))
    }
}

/// What all parts but the heaters have taken.
fn fixed_parts_j(totals: &Totals) -> [f64; HEATERS] {
    let mut fixed_j = [0.0; HEATERS];
    for (j, supply) in fixed_j.iter_mut().zip(&totals.supplies) {
        *j = supply.pump_j;
    }
    (fixed_j[MEMBRANE], fixed_j[DELIVERY], fixed_j[LAMPS]) =
        (totals.membrane.pump_j, totals.delivery_j, totals.lamps_j);
    fixed_j
}

impl OutageBooks {
    /// Counts a step.
    fn pass(&mut self, mode: &PowerMode, start: Time, seconds: f64) {
        if mode.out_since > start {
            return;
        }
        self.out_s += seconds;
        match mode.feed {
            Feed::Grid => (),
            Feed::Battery => self.battery_s += seconds,
            Feed::Generator => self.generator_s += seconds,
            Feed::Nobody => self.dark_s += seconds,
        }
        if mode.sheds_heaters {
            self.shed_heaters_s += seconds;
        }
        if mode.sheds_membrane {
            self.shed_membrane_s += seconds;
        }
    }
}
