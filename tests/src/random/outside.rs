//! A day of draws, incidents and inflows.

use proptest::collection::vec;
use proptest::prelude::*;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::incident::{Incident, IncidentKind, Inflow, LEAST_SPEED, Outside, TempStep};
use springhouse_core::plant::Plant;
use springhouse_core::pressure_tank::LEAST_AIR_SHARE;
use springhouse_core::time::Time;
use springhouse_core::weather::WeatherHour;

use super::power::power_hour;

fn at_s(seconds: i64) -> Time {
    Time::from_ns(seconds * 1_000_000_000)
}

pub(super) fn draws(outlets: usize) -> impl Strategy<Value = Vec<Draw>> {
    let warmth = prop_oneof![Just(Warmth::COLD), (38.0..60.0).prop_map(Warmth::from_c)];
    let draw = (-4_000..86_400_i64, 1..5_000_i64, 0..outlets, 0..900_i64, any::<bool>(), warmth).prop_map(
        |(start_s, length_s, outlet, flow_mlps, volume, warmth)| Draw {
            start: at_s(start_s),
            end: at_s(start_s + length_s),
            outlet,
            flow: Flow::from_nl_per_s(flow_mlps * 1_000_000),
            kind: if volume { DrawKind::Volume } else { DrawKind::Timed },
            warmth,
        },
    );
    vec(draw, 0..60).prop_map(|mut draws| {
        draws.sort_by_key(|draw| draw.start);
        draws
    })
}

/// What can go out of order in a plant.
fn incident_kind(plant: &Plant) -> BoxedStrategy<IncidentKind> {
    let mut kinds = vec![Just(IncidentKind::PowerOut).boxed()];
    for (supply, each) in plant.supplies.iter().enumerate() {
        kinds.push(Just(IncidentKind::SupplyOut { supply }).boxed());
        if each.source.pump().is_some() {
            kinds.push((LEAST_SPEED..1.0).prop_map(move |speed| IncidentKind::PumpWorn { supply, speed }).boxed());
            kinds.push((0.0..0.5).prop_map(move |flow_lps| IncidentKind::LeakBack { supply, flow_lps }).boxed());
        }
        if each.standby {
            kinds.push(Just(IncidentKind::StandbyByHand).boxed());
        }
    }
    if plant.membrane.is_some() {
        kinds.push(Just(IncidentKind::MembraneOut).boxed());
        kinds.push(Just(IncidentKind::MembraneCleaned).boxed());
    }
    if let Some(tank) = &plant.pressure_tank {
        // Mostly a tank that is worth the name: nearly waterlogged ones cycle at every drop, and take as long to simulate.
        let least = LEAST_AIR_SHARE / tank.air_share;
        let left = prop_oneof![9 => least.max(0.1)..=1.0, 1 => least..=1.0];
        kinds.push(left.prop_map(|share| IncidentKind::AirLost { share }).boxed());
    }
    if plant.store.is_some() {
        kinds.push(Just(IncidentKind::DeliveryPumpOut).boxed());
        kinds.push(any::<bool>().prop_map(|open| IncidentKind::FloatStuck { open }).boxed());
    }
    for stage in 0..plant.stages.len() {
        kinds.push(Just(IncidentKind::StageBypassed { stage }).boxed());
        kinds.push(Just(IncidentKind::StageShut { stage }).boxed());
        kinds.push(Just(IncidentKind::StageChanged { stage }).boxed());
    }
    proptest::strategy::Union::new(kinds).boxed()
}

/// An hour of weather, with a cloudburst now and then.
fn hour() -> impl Strategy<Value = WeatherHour> {
    let rain = prop_oneof![3 => Just(0.0), 2 => 0.0..5.0, 1 => 0.0..200.0];
    (-30.0..45.0, -30.0..25.0, 0.0..20.0, (0.0..1_100.0, 0.0..=1.0), rain, 0.0..1.5).prop_map(
        |(air_c, dew_point_c, wind_m_s, (sun_w_m2, cloud), rain_mm, evaporation_mm)| WeatherHour {
            air_c,
            dew_point_c,
            wind_m_s,
            sun_w_m2,
            cloud,
            rain_mm,
            evaporation_mm,
        },
    )
}

/// Incidents, some begun before the run, rain into every basin, and weather.
pub(super) fn outside(plant: &Plant) -> impl Strategy<Value = Outside> + use<> {
    let incident = (incident_kind(plant), -4_000..86_400_i64, 1..40_000_i64)
        .prop_map(|(kind, start_s, length_s)| Incident { kind, start: at_s(start_s), end: at_s(start_s + length_s) });
    let basins: Vec<usize> =
        (0..plant.supplies.len()).filter(|i| plant.supplies[*i].source.basin().is_some()).collect();
    let most = if basins.is_empty() { 0 } else { 8 };
    let rain = vec((0..86_400_i64, 0..3_usize, prop_oneof![Just(0.0), 0.0..1.0]), 0..=most);
    let others: Vec<usize> =
        (0..plant.supplies.len()).filter(|i| plant.supplies[*i].source.basin().is_none()).collect();
    let most = if others.is_empty() { 0 } else { 4 };
    let temps = vec((0..86_400_i64, 0..3_usize, 0.0..35.0), 0..=most);
    let hours = (vec(hour(), 0..30), vec(power_hour(), 0..30));
    (vec(incident, 0..4), rain, temps, hours).prop_map(move |(incidents, mut rain, mut temps, (weather, power))| {
        rain.sort_by_key(|(start_s, ..)| *start_s);
        temps.sort_by_key(|(start_s, ..)| *start_s);
        let temp = |(start_s, of, temp_c): (i64, usize, f64)| TempStep {
            time: at_s(start_s),
            supply: others[of % others.len()],
            temp_c,
        };
        let step = |(start_s, of, flow_lps): (i64, usize, f64)| Inflow {
            time: at_s(start_s),
            supply: basins[of % basins.len()],
            flow_lps,
        };
        Outside {
            incidents,
            inflows: rain.into_iter().map(step).collect(),
            temps: temps.into_iter().map(temp).collect(),
            weather,
            power,
        }
    })
}
