//! What the weather does to open water, at every full hour; and how warm the water of wells and mains gets.
//!
//! At a full hour the hour gone by has warmed or cooled the water and let solids settle, and the rates of the next one follow
//! from the water there is.

use super::Core;
use super::guard::Guards;
use super::mode::SupplyMode;
use super::state::SOURCE;
use super::tally::Seen;
use crate::basin::Basin;
use crate::pond::{HourFlows, OpenWater, PUDDLE_L, temp_after_hour_c};
use crate::quality::Constituent;
use crate::time::{Span, Time};
use crate::weather::WeatherHour;

impl SupplyMode {
    /// What comes into a basin from outside, and what goes into air and ground.
    pub(super) fn outside_lps(&self) -> (f64, f64) {
        (self.roof_lps + self.hour.in_lps(), self.hour.lost_lps())
    }
}

impl Core<'_> {
    fn open_water(&self, i: usize) -> Option<(&Basin, &OpenWater)> {
        let basin = self.hydraulics.plant.supplies.get(i)?.source.basin()?;
        Some((basin, basin.open.as_ref()?))
    }

    /// When the weather changes next, or how warm a source's water is.
    pub(super) fn next_weather(&self) -> Time {
        let temp = self.outside.temps.get(self.state.temps).map_or(Time::NEVER, |step| step.time);
        let is_open = self.hydraulics.plant.supplies.iter().any(|supply| supply.source.is_open());
        let hours = self.outside.weather.len();
        if is_open && hours > 0 && self.state.hours <= hours { temp.min(start_of(self.state.hours)) } else { temp }
    }

    pub(super) fn pass_weather(&mut self) -> bool {
        let (now, mut changed) = (self.state.time, false);
        while let Some(step) = self.outside.temps.get(self.state.temps).filter(|step| step.time <= now) {
            let (level, volume_l) = (SOURCE + step.supply, self.state.levels[SOURCE + step.supply].max(0.0));
            if self.hydraulics.plant.supplies[step.supply].source.basin().is_some() {
                self.state.waters.warm(level, volume_l, step.temp_c);
            } else {
                self.state.waters.held[level][Constituent::Temperature as usize] = step.temp_c;
            }
            self.state.temps += 1;
            changed = true;
        }
        while self.next_weather() <= now {
            let hour = self.outside.weather.get(self.state.hours).copied();
            let before = self.state.hours.checked_sub(1).and_then(|before| self.outside.weather.get(before)).copied();
            self.state.hours += 1;
            for i in 0..self.hydraulics.plant.supplies.len() {
                if let Some(before) = before {
                    self.age(i, &before);
                }
                self.state.mode.supplies[i].hour = hour.map_or(HourFlows::NONE, |hour| self.hour_flows(i, &hour));
                if let Some((basin, _)) = self.open_water(i).filter(|_| hour.is_some()) {
                    let share = self.state.levels[SOURCE + i] / basin.capacity_l;
                    let held = &self.state.waters.held[SOURCE + i];
                    let [salt_mg_l, temp_c] = [Constituent::Salt, Constituent::Temperature].map(|k| held[k as usize]);
                    let seen = Seen { share, salt_mg_l, temp_c, ice_m: self.state.ponds[i].ice_m };
                    let open = &mut self.state.tally.supplies[i].open;
                    open.count(seen.ice_m);
                    open.note(now, seen);
                }
            }
            changed = true;
        }
        changed
    }

    fn hour_flows(&mut self, i: usize, hour: &WeatherHour) -> HourFlows {
        let mut pond = self.state.ponds[i];
        let flows = self
            .open_water(i)
            .map_or(HourFlows::NONE, |(basin, open)| open.hour(basin, self.state.levels[SOURCE + i], &mut pond, hour));
        self.state.ponds[i] = pond;
        flows
    }

    /// What an hour of weather has made of the water in a basin.
    fn age(&mut self, i: usize, hour: &WeatherHour) {
        let (mut pond, volume_l) = (self.state.ponds[i], self.state.levels[SOURCE + i].max(0.0));
        let Some((basin, open)) = self.open_water(i) else { return };
        let (depth_m, clearest_mg_l) = (basin.mean_depth_m(volume_l), open.clearest_mg_l);
        let afloat = open.afloat(depth_m);
        let [temp_c, solids_mg_l] = [Constituent::Temperature, Constituent::Solids]
            .map(|constituent| self.state.waters.held[SOURCE + i][constituent as usize]);
        let after_c = temp_after_hour_c(depth_m, temp_c, &mut pond, hour);
        let settles_mg_l = (solids_mg_l - clearest_mg_l).max(0.0) * (1.0 - afloat);
        self.state.ponds[i] = pond;
        self.state.waters.settle_solids(SOURCE + i, volume_l, settles_mg_l);
        self.state.waters.warm(SOURCE + i, volume_l, after_c);
    }

    /// Whether a basin loses water, and is down to its last puddle.
    fn is_dry(&self, i: usize) -> bool {
        self.state.mode.supplies[i].hour.lost_lps() > 0.0 && self.state.levels[SOURCE + i] <= self.puddle_l(i)
    }

    /// What evaporation and seepage leave: a last puddle under the ice.
    fn puddle_l(&self, i: usize) -> f64 {
        PUDDLE_L + self.state.mode.supplies[i].hour.ice_l
    }

    /// Ends evaporation and seepage for the hour where a pump has taken what they were to.
    pub(super) fn act_dry(&mut self, i: usize) -> bool {
        let is_dry = self.is_dry(i);
        if is_dry {
            let hour = &mut self.state.mode.supplies[i].hour;
            (hour.evaporates_lps, hour.seeps_lps) = (0.0, 0.0);
        }
        is_dry
    }

    pub(super) fn arm_dry(&self, i: usize, guards: &mut Guards) {
        if self.state.mode.supplies[i].hour.lost_lps() > 0.0 {
            guards.falls_to(SOURCE + i, self.puddle_l(i));
        }
    }
}

/// When an hour of weather begins.
fn start_of(hour: usize) -> Time {
    i64::try_from(hour).map_or(Time::NEVER, |hour| Time::from_ns(hour.saturating_mul(Span::HOUR.ns())))
}
