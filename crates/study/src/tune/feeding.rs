//! Whether what the unit is fed from can feed it.

use serde::{Deserialize, Serialize};
use springhouse_core::plant::Plant;
use springhouse_core::pump::SupplyPump;
use springhouse_core::supply::Source;
use springhouse_core::water::Water;
use springhouse_core::well::{Response, Well};

use super::advise::{Advice, Aim};
use super::question::Question;
use super::season::Season;

/// What a supply can give for good.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Gives {
    /// Which supply of the plant.
    pub supply: usize,
    /// What its pump gives at the pressure that settings are judged at, its water drawn down as far as that takes it, L/s; `None`
    /// of a main, whose pressure is judged as it falls with the feed.
    pub pump_lps: Option<f64>,
    /// What its well gives for good: specific capacity times the drawdown to the pump, the water's entry or the low-level
    /// cutoff, L/s; `None` where nothing is known of it.
    pub yield_lps: Option<f64>,
}

/// What the unit takes at the advised setting, beside what there is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Feeding {
    /// What there is.
    pub gives: Gives,
    /// Feed while it runs, and what is blended, in the season that takes most, L/s.
    pub feed_lps: f64,
    /// The same over a day in which it makes what is wanted, all that it wastes included, L/s; as much as the feed where nothing
    /// is wanted of it.
    pub mean_lps: f64,
}

impl Feeding {
    pub(super) fn of(question: &Question, advice: &Advice) -> Option<Self> {
        let gives = question.gives?;
        let works = Season::ALL.into_iter().filter_map(|season| advice.advised.get(season).work.as_ref());
        let hardest = works.max_by(|a, b| a.taken_lps().total_cmp(&b.taken_lps()))?;
        let wanted_lps = question.want.filter(|_| advice.aim != Aim::LeastWaste).map(|want| want.product_l_day / DAY_S);
        let feed_lps = hardest.taken_lps();
        let taken_l_per_l = 1.0 + hardest.waste_l_per_l + hardest.blended_lps / hardest.product_lps;
        let mean_lps = wanted_lps.map_or(feed_lps, |wanted| wanted * taken_l_per_l);
        Some(Self { gives, feed_lps, mean_lps: mean_lps.min(feed_lps) })
    }

    /// The pump of the supply, where it gives less than the unit takes: its pressure then falls below what was judged.
    #[must_use]
    pub fn weak_pump_lps(&self) -> Option<f64> {
        self.gives.pump_lps.filter(|pump| *pump < self.feed_lps)
    }

    /// The well, where it gives less than the unit takes while it runs.
    #[must_use]
    pub fn slow_well_lps(&self) -> Option<f64> {
        self.gives.yield_lps.filter(|most| *most < self.feed_lps)
    }
}

const DAY_S: f64 = 86_400.0;

impl Gives {
    /// What a supply of a plant gives at a pressure of its header.
    pub(super) fn of(plant: &Plant, supply: usize, header_kpa: f64) -> Self {
        let (pump_lps, yield_lps) = match plant.supplies.get(supply).map(|supply| &supply.source) {
            Some(Source::Well { well, pump }) => {
                (Some(pumped_lps(pump, header_kpa, &plant.water, |lps| depth_m(well, lps))), yield_lps(well))
            }
            Some(Source::Basin { basin, pump }) => {
                (Some(pumped_lps(pump, header_kpa, &plant.water, |_| basin.water_depth_m(basin.start_l))), None)
            }
            Some(Source::TownLine(_)) | None => (None, None),
        };
        Self { supply, pump_lps, yield_lps }
    }
}

/// The deepest drawdown at which a well may be pumped for good.
fn most_drawdown_m(well: &Well) -> f64 {
    let stop_m = well.cutoff.as_ref().map_or(f64::INFINITY, |cutoff| cutoff.stop_depth_m - well.static_depth_m);
    well.entry_drawdown_m().min(well.intake_drawdown_m()).min(stop_m).max(0.0)
}

fn yield_lps(well: &Well) -> Option<f64> {
    match well.response {
        Response::Ideal => None,
        Response::Drawdown { .. } => Some(well.inflow_lps(most_drawdown_m(well))),
    }
}

/// Depth of the water once as much flows in as is pumped; no deeper than it may be.
fn depth_m(well: &Well, pumped_lps: f64) -> f64 {
    let drawdown_m = match well.response {
        Response::Ideal => 0.0,
        Response::Drawdown { specific_capacity_lps_per_m, .. } => {
            (pumped_lps / specific_capacity_lps_per_m).min(most_drawdown_m(well))
        }
    };
    well.water_depth_m(drawdown_m)
}

/// What a pump gives from a depth that follows what it gives.
fn pumped_lps(pump: &SupplyPump, header_kpa: f64, water: &Water, depth_m: impl Fn(f64) -> f64) -> f64 {
    const HALVINGS: u32 = 50;
    let given_lps = |pumped_lps: f64| pump.flow_lps(1.0, depth_m(pumped_lps), header_kpa, water);
    let (mut low, mut high) = (0.0, given_lps(0.0));
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if given_lps(middle) >= middle { low = middle } else { high = middle }
    }
    low
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use springhouse_core::membrane::place::Blend;
    use springhouse_scenario::{Scenario, load};

    use super::super::{advise, fixtures};
    use super::*;

    fn ready(name: &str) -> Scenario {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(name).with_extension("toml");
        load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario
    }

    #[test]
    fn exact_blend_is_fed_too() {
        let gives = Some(Gives { supply: 0, pump_lps: None, yield_lps: None });
        let question = Question { gives, blend: Some(Blend { kv: 0.004 }), ..fixtures::home() };
        let advice = advise(&question, Aim::Enough).unwrap();
        let feeding = Feeding::of(&question, &advice).unwrap();
        // 300 kPa at the suction, 20 at the product; the warmest water lets most through.
        let (blended_lps, work) = (0.004 * 280.0_f64.sqrt(), advice.advised.warmest.work.unwrap());
        assert!((feeding.feed_lps - work.feed_lps - blended_lps).abs() < 1e-12, "{feeding:?}");
        // 4000 L a day, with their reject and with the same time of blending.
        let reject_and_blend = (work.reject_lps + blended_lps) / work.product_lps;
        let mean_lps = 4_000.0 / DAY_S * (1.0 + reject_and_blend);
        assert!((feeding.mean_lps - mean_lps).abs() < 1e-12 && feeding.mean_lps < feeding.feed_lps, "{feeding:?}");
    }

    #[test]
    fn exact_well_gives_capacity_times_drawdown() {
        const GPM_LPS: f64 = 3.785_411_784 / 60.0;
        let scenario = ready("membrane");
        let gives = Gives::of(&scenario.plant, 0, 379.0);
        // 0.12 gpm/ft over the 100 ft from the standing water to where water enters, above the cutoff.
        assert!((gives.yield_lps.unwrap() / (12.0 * GPM_LPS) - 1.0).abs() < 1e-9, "{gives:?}");
        let Source::Well { well, pump } = &scenario.plant.supplies[0].source else { panic!() };
        let pumped_lps = gives.pump_lps.unwrap();
        let Response::Drawdown { specific_capacity_lps_per_m, .. } = well.response else { panic!() };
        let depth_m = well.static_depth_m + pumped_lps / specific_capacity_lps_per_m;
        let again_lps = pump.flow_lps(1.0, depth_m, 379.0, &scenario.plant.water);
        assert!((again_lps / pumped_lps - 1.0).abs() < 1e-9 && pumped_lps < gives.yield_lps.unwrap());
    }
}
