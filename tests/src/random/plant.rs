//! Plants of any layout that can be built.

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use springhouse_core::delivery::Delivery;
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::{Parts, Plant, Store};
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::treatment::Stage;

use super::hot_water::hot_water;
use super::membrane::membrane;
use super::power::site_power;
use super::pump::{curve, drive, pipe, power, tank};
use super::supply::supplies;
use super::treatment::stage;
use crate::plants::water;

fn store() -> impl Strategy<Value = Store> {
    let levels = vec(0.0..1.0, 4).prop_map(|mut levels| {
        levels.sort_by(f64::total_cmp);
        levels
    });
    let fill = (any::<bool>(), 0.02..2.0, 1.0..250.0);
    let delivery = (curve(), power(), drive(), tank(5.0..100.0)).prop_map(|(curve, power, drive, tank)| Delivery {
        curve,
        power,
        drive,
        lift_m: 1.0,
        tank,
    });
    (levels, fill, 100.0..10_000.0, 0.0..1.0, delivery).prop_map(
        |(levels, (switch, flow_lps, full_flow_kpa), capacity_l, start, delivery)| {
            let at = |i: usize| capacity_l * levels[i];
            let fill = if switch {
                Fill::FloatSwitch { start_l: at(2), stop_l: at(3), flow_lps, full_flow_kpa }
            } else {
                Fill::FloatValve { open_l: at(2), shut_l: at(3), flow_lps, full_flow_kpa }
            };
            let storage = Storage { capacity_l, start_l: start * at(3), fill, protect_l: at(0), restart_l: at(1) };
            Store { storage, delivery }
        },
    )
}

/// An outlet with or without a height, a device and a pipe of its own.
fn outlet(name: &'static str, role: Role, header: Header) -> impl Strategy<Value = Outlet> {
    let plain = prop_oneof![Just((0.0, 0.0)), (-10.0..10.0, 0.0..80.0)];
    (10.0..300.0, plain, pipe(), any::<bool>()).prop_map(move |(full_flow_kpa, (rise_m, device_kpa), service, side)| {
        let treated = role == Role::Building || role == Role::Leak && side;
        Outlet { treated, rise_m, device_kpa, service, ..Outlet::plain(name, role, header, full_flow_kpa) }
    })
}

/// Two buildings, and by chance a raw load, the backwash of the first stage and a leak.
fn outlets(header: Header) -> impl Strategy<Value = Vec<Outlet>> {
    let some = (
        of(outlet("field", Role::RawLoad, Header::Raw)),
        of(outlet("wash", Role::Backwash, Header::Raw)),
        of(outlet("burst", Role::Leak, header)),
    );
    let mixed = prop_oneof![3 => Just(header), 1 => Just(Header::Raw)];
    let buildings = mixed
        .prop_flat_map(move |second| (outlet("house", Role::Building, header), outlet("barn", Role::Building, second)));
    (buildings, some).prop_map(|((house, barn), (field, wash, burst))| {
        [Some(house), Some(barn), field, wash, burst].into_iter().flatten().collect()
    })
}

fn stages(outlets: &[Outlet], delivery: bool) -> BoxedStrategy<Vec<Stage>> {
    let wash = outlets.iter().position(|outlet| outlet.role == Role::Backwash);
    let stage = move |i: usize| stage(i, delivery, wash.filter(|_| i == 0));
    let several = (0..3_usize).prop_flat_map(move |count| (0..=count).map(stage).collect::<Vec<_>>());
    prop_oneof![Just(Vec::new()), several].boxed()
}

/// The floats of a membrane unit where a valve's were.
fn called(storage: &Storage) -> Fill {
    let (start_l, stop_l) = match storage.fill {
        Fill::FloatValve { open_l, shut_l, .. } => (open_l, shut_l),
        Fill::FloatSwitch { start_l, stop_l, .. } | Fill::Membrane { start_l, stop_l } => (start_l, stop_l),
    };
    Fill::Membrane { start_l, stop_l }
}

/// A plant of any layout that can be built.
pub fn plant() -> impl Strategy<Value = Plant> {
    (supplies(), tank(20.0..500.0), of(store()), of(100.0..400.0))
        .prop_flat_map(|((supplies, change_over), tank, store, reducer_kpa)| {
            let basins = supplies.iter().enumerate().filter(|(_, it)| it.standby && it.source.basin().is_some());
            let unit = of(membrane(
                basins.map(|(i, _)| i).collect(),
                store.as_ref().map_or(1.0, |store| store.storage.capacity_l),
            ));
            let parts = (Just(supplies), Just(change_over), Just(tank), Just(store), Just(reducer_kpa));
            (parts, unit).boxed()
        })
        .prop_flat_map(|((supplies, change_over, tank, mut store, reducer_kpa), membrane)| {
            let membrane = membrane.filter(|_| store.is_some());
            if let (Some(store), Some(_)) = (&mut store, &membrane) {
                store.storage.fill = called(&store.storage);
            }
            let header = if store.is_some() { Header::Delivery } else { Header::Raw };
            let delivery = store.is_some();
            let parts = outlets(header).prop_flat_map(move |outlets| {
                let buildings = outlets.iter().enumerate().filter(|(_, outlet)| outlet.role == Role::Building);
                let hot_water = hot_water(buildings.map(|(i, _)| i).collect());
                (stages(&outlets, delivery), hot_water, of(site_power()), Just(outlets)).boxed()
            });
            parts.prop_map(move |(stages, hot_water, power, outlets)| {
                let pumped = supplies.iter().any(|supply| supply.source.pump().is_some());
                Plant::try_new(Parts {
                    water: water(),
                    supplies: supplies.clone(),
                    change_over: change_over.clone(),
                    pressure_tank: pumped.then(|| tank.clone()),
                    stages,
                    reducer_kpa,
                    membrane: membrane.clone(),
                    store: store.clone(),
                    outlets,
                    hot_water,
                    power: power.unwrap_or_default(),
                })
            })
        })
        .prop_filter_map("cannot be built", Result::ok)
}
