//! What is checked before a plant counts as one that can be built.

use super::check_hot_water::check_hot_water;
use super::fault::{Fault, Of, Place};
use super::{MOST_OUTLETS, Parts};
use crate::basin::Basin;
use crate::delivery::Delivery;
use crate::membrane::check::OutOfRange;
use crate::outlet::Header;
use crate::pond::OpenWater;
use crate::power::SitePower;
use crate::pressure_tank::{LEAST_AIR_SHARE, PressureTank};
use crate::pump::{PumpCurve, SupplyPump};
use crate::storage::{Fill, Storage};
use crate::supply::{Control, Drive, MOST_SUPPLIES, Source, Supply};
use crate::town_line::TownLine;
use crate::treatment::{MOST_STAGES, Stage, StageKind};
use crate::ultraviolet::Ultraviolet;
use crate::water::{COLDEST_C, HOTTEST_C, Water};
use crate::well::{Response, Well};

/// Every fault of the parts, in their order along the water's way.
pub(super) fn faults(parts: &Parts) -> Vec<Fault> {
    let mut checks = Checks { faults: Vec::new() };
    checks.of(Of::Plant).range("site.density", parts.water.density_kg_m3, 900.0, 1_100.0);
    checks.of(Of::Plant).range("site.viscosity", parts.water.viscosity_pa_s, 1e-4, 1e-2);
    check_supplies(&mut checks, parts);
    check_pressure_tank(&mut checks, parts);
    check_stages(&mut checks, parts);
    if let Some(reducer_kpa) = parts.reducer_kpa {
        checks.of(Of::Plant).range("pressure_reducer.set_pressure", reducer_kpa, 1.0, 3_000.0);
    }
    check_membrane(&mut checks, parts);
    if let Some(store) = &parts.store {
        check_storage(checks.of(Of::Plant), &store.storage);
        check_delivery(checks.of(Of::Plant), &store.delivery, &parts.water);
    }
    check_outlets(&mut checks, parts);
    check_hot_water(&mut checks, parts);
    check_power(checks.of(Of::Plant), &parts.power);
    checks.faults
}

pub(super) struct Checks {
    pub(super) faults: Vec<Fault>,
}

/// Checks of one part.
pub(super) struct PartChecks<'a> {
    of: Of,
    faults: &'a mut Vec<Fault>,
}

impl Checks {
    pub(super) fn of(&mut self, of: Of) -> PartChecks<'_> {
        PartChecks { of, faults: &mut self.faults }
    }
}

impl PartChecks<'_> {
    pub(super) fn range(&mut self, key: &'static str, value: f64, least: f64, most: f64) {
        if !(least..=most).contains(&value) {
            self.faults.push(Fault::OutOfRange { place: Place { of: self.of, key }, value, least, most });
        }
    }

    /// An index must be one of so many.
    pub(super) fn index(&mut self, key: &'static str, index: usize, count: usize) {
        if index >= count {
            let number = |n: usize| u32::try_from(n).map_or(f64::INFINITY, f64::from);
            let (value, most) = (number(index), number(count) - 1.0);
            self.faults.push(Fault::OutOfRange { place: Place { of: self.of, key }, value, least: 0.0, most });
        }
    }

    /// `pairs` must rise strictly from one to the next.
    fn rising(&mut self, pairs: &[(&'static str, f64)]) {
        let of = self.of;
        self.rising_across(&pairs.iter().map(|(key, value)| (Place { of, key }, *value)).collect::<Vec<_>>());
    }

    fn rising_across(&mut self, pairs: &[(Place, f64)]) {
        for pair in pairs.windows(2) {
            let ((lower, lower_value), (upper, upper_value)) = (pair[0], pair[1]);
            // Written so that NaN is out of order too.
            if !matches!(lower_value.partial_cmp(&upper_value), Some(core::cmp::Ordering::Less)) {
                self.faults.push(Fault::OutOfOrder { lower, lower_value, upper, upper_value });
            }
        }
    }

    fn tank(&mut self, keys: [&'static str; 3], tank: &PressureTank) {
        self.range(keys[0], tank.volume_l, 0.1, 1e6);
        self.range(keys[1], tank.precharge_kpa, 0.0, 3_000.0);
        self.range(keys[2], tank.air_share, LEAST_AIR_SHARE, 1.0);
    }

    /// A drive; `keys` of its set and wake pressure, sleep flow and delay, stand-by power.
    fn drive(&mut self, [set, wake, flow, delay, standby]: [&'static str; 5], drive: &Drive) {
        self.range(set, drive.set_kpa, 1.0, 3_000.0);
        self.range(wake, drive.wake_kpa, 1.0, 3_000.0);
        self.rising(&[(wake, drive.wake_kpa), (set, drive.set_kpa)]);
        self.range(flow, drive.sleep_flow_lps, 0.0, 1e4);
        self.range(delay, drive.sleep_delay.s(), 0.0, 1e6);
        self.range(standby, drive.standby_w, 0.0, 1e6);
    }
}

fn check_supplies(checks: &mut Checks, parts: &Parts) {
    let supplies = &parts.supplies;
    if supplies.len() > MOST_SUPPLIES {
        checks.faults.push(Fault::TooManySupplies { found: supplies.len() });
    }
    if supplies.iter().all(|supply| supply.standby) {
        checks.faults.push(Fault::NoFirstSupply);
    }
    for (i, supply) in supplies.iter().enumerate() {
        check_quality(checks.of(Of::Source(i)), supply);
        match &supply.source {
            Source::Well { well, pump } => {
                check_well(checks, i, well);
                check_pump(checks.of(Of::Pump(i)), pump, well.static_depth_m, &parts.water);
            }
            Source::Basin { basin, pump } => {
                check_basin(checks.of(Of::Source(i)), basin);
                if let Some(open) = &basin.open {
                    check_open_water(checks.of(Of::Source(i)), open);
                }
                check_pump(checks.of(Of::Pump(i)), pump, basin.water_depth_m(basin.capacity_l), &parts.water);
            }
            Source::TownLine(line) => check_town_line(checks.of(Of::Source(i)), line),
        }
        if supply.standby && parts.change_over.is_none() {
            checks.faults.push(Fault::NoChangeOver { supply: i });
        }
        // A pressure switch lives with others on its header; a drive or a main would be at odds with them.
        let alone = |supply: &Supply| supply.source.pump().is_none_or(|pump| matches!(pump.control, Control::Drive(_)));
        let with = |other: &Supply| other.standby == supply.standby && (alone(other) || alone(supply));
        if let Some(first) = supplies[..i].iter().position(with) {
            checks.faults.push(Fault::FeedTogether { first, second: i });
        }
    }
    if let Some(change_over) = &parts.change_over {
        let mut plant = checks.of(Of::Plant);
        plant.range("change_over.after", change_over.after.map_or(0.0, crate::time::Span::s), 0.0, 1e7);
        plant.range("change_over.back_after", change_over.back_after.s(), 0.0, 1e7);
    }
}

fn check_quality(mut checks: PartChecks<'_>, supply: &Supply) {
    let quality = &supply.quality;
    checks.range("salt", quality.salt_mg_l, 0.0, 1e5);
    checks.range("solids", quality.solids_mg_l, 0.0, 1e5);
    checks.range("iron", quality.iron_mg_l, 0.0, 1e4);
    checks.range("hardness", quality.hardness_mg_l, 0.0, 1e4);
    checks.range("chlorine", quality.chlorine_mg_l, 0.0, 1e3);
    checks.range("transmittance", quality.transmittance, 0.01, 1.0);
    checks.range("temperature", supply.temp_c, COLDEST_C, HOTTEST_C);
}

fn check_well(checks: &mut Checks, i: usize, well: &Well) {
    let mut part = checks.of(Of::Source(i));
    part.range("static_level", well.static_depth_m, -100.0, 2_000.0);
    part.range("pump_depth", well.pump_depth_m, 0.0, 2_000.0);
    if well.pump_depth_m <= well.static_depth_m {
        let (pump_depth_m, static_depth_m) = (well.pump_depth_m, well.static_depth_m);
        checks.faults.push(Fault::PumpAboveWater { supply: i, pump_depth_m, static_depth_m });
        return;
    }
    if let Response::Drawdown { casing_l_per_m, specific_capacity_lps_per_m, entry_depth_m } = well.response {
        part.range("casing_diameter", casing_l_per_m, 0.0, 1e5);
        part.range("specific_capacity", specific_capacity_lps_per_m, 1e-6, 1e4);
        part.rising(&[("static_level", well.static_depth_m), ("water_entry", entry_depth_m)]);
    }
    if let Some(cutoff) = &well.cutoff {
        part.rising(&[
            ("static_level", well.static_depth_m),
            ("cutoff.restart_level", cutoff.restart_depth_m),
            ("cutoff.stop_level", cutoff.stop_depth_m),
            ("pump_depth", well.pump_depth_m),
        ]);
        part.range("cutoff.restart_delay", cutoff.restart_delay.s(), 0.0, 1e7);
    }
    let most_m = if well.response == Response::Ideal { 0.0 } else { well.intake_drawdown_m() };
    part.range("start_drawdown", well.start_drawdown_m, 0.0, most_m);
}

fn check_pump(mut checks: PartChecks<'_>, pump: &SupplyPump, lift_m: f64, water: &Water) {
    checks.range("gauge_height", pump.gauge_height_m, -200.0, 200.0);
    match &pump.control {
        Control::Switch { cut_in_kpa, cut_out_kpa } => {
            checks.range("cut_in", *cut_in_kpa, 1.0, 3_000.0);
            checks.range("cut_out", *cut_out_kpa, 1.0, 3_000.0);
            checks.rising(&[("cut_in", *cut_in_kpa), ("cut_out", *cut_out_kpa)]);
        }
        Control::Drive(drive) => {
            checks.drive(["set_pressure", "wake_pressure", "sleep_flow", "sleep_delay", "standby_power"], drive);
        }
    }
    let needed_m = pump.static_head_m(lift_m, pump.control.high_kpa(), water);
    let shutoff_m = pump.curve().shutoff_m();
    if shutoff_m <= needed_m {
        let place = Place { of: checks.of, key: "curve" };
        checks.faults.push(Fault::TooLittleHead { place, shutoff_m, needed_m });
    }
    if let PumpCurve::Constant { flow_lps } = pump.curve() {
        checks.range("constant_flow", *flow_lps, 1e-6, 1e4);
    }
}

fn check_basin(mut checks: PartChecks<'_>, basin: &Basin) {
    checks.range("volume", basin.capacity_l, 1.0, 1e10);
    checks.range("start", basin.start_l, 0.0, basin.capacity_l);
    checks.range("intake", basin.intake_l, 0.0, basin.capacity_l);
    checks.range("depth", basin.full_depth_m, 1e-3, 1e3);
    checks.range("brim_height", basin.brim_height_m, -200.0, 200.0);
    checks.range("shape", basin.shape, 1.0, 10.0);
    if let Some(cutoff) = &basin.cutoff {
        checks.rising(&[("cutoff.stop", cutoff.stop_l), ("cutoff.restart", cutoff.restart_l)]);
        checks.range("cutoff.stop", cutoff.stop_l, basin.intake_l, basin.capacity_l);
        checks.range("cutoff.restart", cutoff.restart_l, 0.0, basin.capacity_l);
        checks.range("cutoff.restart_delay", cutoff.restart_delay.s(), 0.0, 1e7);
    }
    if let Some(top_up) = &basin.top_up {
        checks.rising(&[("top_up.start", top_up.start_l), ("top_up.stop", top_up.stop_l)]);
        checks.range("top_up.start", top_up.start_l, 0.0, basin.capacity_l);
        checks.range("top_up.stop", top_up.stop_l, 0.0, basin.capacity_l);
        checks.range("top_up.flow", top_up.flow_lps, 1e-6, 1e4);
        checks.range("top_up.full_flow_pressure", top_up.full_flow_kpa, 1.0, 3_000.0);
    }
}

fn check_open_water(mut checks: PartChecks<'_>, open: &OpenWater) {
    checks.range("evaporation", open.evaporation_factor, 0.0, 3.0);
    checks.range("seepage", open.seepage_mm_day, 0.0, 1_000.0);
    checks.range("settling", open.settling_m_day, 0.0, 1_000.0);
    checks.range("clearest", open.clearest_mg_l, 0.0, 1e5);
    if let Some(catchment) = &open.catchment {
        checks.range("catchment.area", catchment.area_m2, 0.0, 1e7);
        checks.range("catchment.curve_number", catchment.curve_number, 1.0, 100.0);
        let quality = &catchment.quality;
        for (key, value) in [
            ("catchment.salt", quality.salt_mg_l),
            ("catchment.solids", quality.solids_mg_l),
            ("catchment.iron", quality.iron_mg_l),
            ("catchment.hardness", quality.hardness_mg_l),
            ("catchment.chlorine", quality.chlorine_mg_l),
        ] {
            checks.range(key, value, 0.0, 1e5);
        }
        checks.range("catchment.transmittance", quality.transmittance, 0.01, 1.0);
    }
}

fn check_town_line(mut checks: PartChecks<'_>, line: &TownLine) {
    checks.range("static_pressure", line.static_kpa(), 1.0, 3_000.0);
    checks.range("flow", line.flow_lps(0.0), 1e-6, 1e4);
}

fn check_pressure_tank(checks: &mut Checks, parts: &Parts) {
    let pumps: Vec<_> = parts.supplies.iter().filter_map(|supply| supply.source.pump()).collect();
    let Some(tank) = &parts.pressure_tank else {
        if !pumps.is_empty() {
            checks.faults.push(Fault::NoPressureTank);
        }
        return;
    };
    checks.of(Of::Plant).tank(["pressure_tank.volume", "pressure_tank.precharge", "pressure_tank.air_left"], tank);
    for (i, supply) in parts.supplies.iter().enumerate() {
        let Some(pump) = supply.source.pump() else { continue };
        let precharge = Place { of: Of::Plant, key: "pressure_tank.precharge" };
        let key = if matches!(pump.control, Control::Switch { .. }) { "cut_out" } else { "set_pressure" };
        let stop = Place { of: Of::Pump(i), key };
        // A tank with so much air takes no water: the pump would start and stop several times a minute at every draw.
        let pairs = [(precharge, tank.precharge_kpa), (stop, pump.control.high_kpa())];
        checks.of(Of::Plant).rising_across(&pairs);
    }
    let most_kpa = pumps.iter().map(|pump| pump.control.high_kpa()).fold(0.0, f64::max);
    checks.of(Of::Plant).range("pressure_tank.start_pressure", tank.start_kpa, 0.0, most_kpa);
}

fn check_stages(checks: &mut Checks, parts: &Parts) {
    if parts.stages.len() > MOST_STAGES {
        checks.faults.push(Fault::TooManyStages { found: parts.stages.len() });
    }
    for (i, stage) in parts.stages.iter().enumerate() {
        check_stage(checks.of(Of::Stage(i)), stage);
        if let Some(wash) = stage.backwash {
            checks.of(Of::Stage(i)).index("backwash", wash.outlet, parts.outlets.len());
        }
        if stage.header == Header::Delivery && parts.store.is_none() {
            checks.faults.push(Fault::StageOnNothing { index: i });
        }
    }
}

fn check_stage(mut checks: PartChecks<'_>, stage: &Stage) {
    checks.range("rated_flow", stage.rated_lps, 1e-6, 1e4);
    checks.range("clean_loss", stage.clean_kpa, 0.0, 1_000.0);
    checks.range("change_at_loss", stage.limit_kpa, stage.clean_kpa, 3_000.0);
    if let Some(catch) = &stage.catch {
        checks.range("catches", catch.share, 0.0, 1.0);
        checks.range("capacity", catch.capacity_g, 1e-6, 1e9);
        checks.range("used", catch.start_g, 0.0, 1e9);
    }
    match &stage.kind {
        StageKind::Carbon(carbon) => {
            checks.range("bed_volume", carbon.bed_l, 1e-3, 1e6);
            checks.range("contact_time", carbon.contact_s, 1e-3, 1e5);
        }
        StageKind::Ultraviolet(ultraviolet) => check_ultraviolet(checks, ultraviolet),
        StageKind::Sediment | StageKind::IronFilter | StageKind::Softener => {}
    }
}

fn check_ultraviolet(mut checks: PartChecks<'_>, unit: &Ultraviolet) {
    checks.range("rated_dose", unit.rated_mj_cm2, 0.1, 1e4);
    checks.range("rated_transmittance", unit.rated_transmittance, 0.01, 1.0);
    checks.range("path", unit.path_cm, 0.01, 100.0);
    checks.range("least_dose", unit.limit_mj_cm2, 0.0, 1e4);
    checks.range("lamp_hours", unit.start_h, 0.0, 1e6);
    checks.range("lamp_life", unit.life_h, 1.0, 1e6);
    checks.range("lamp_end_output", unit.end_share, 0.01, 1.0);
    checks.range("power", unit.power_w, 0.0, 1e6);
}

fn check_power(mut checks: PartChecks<'_>, power: &SitePower) {
    if let Some(battery) = &power.battery {
        checks.range("battery.capacity", battery.capacity_j, 1.0, 1e13);
        checks.range("battery.power", battery.power_w, 1.0, 1e8);
        checks.range("battery.round_trip", battery.one_way * battery.one_way, 0.1, 1.0);
        checks.range("battery.reserve", battery.reserve_share, 0.0, 1.0);
        checks.range("battery.start", battery.start_share, 0.0, 1.0);
    }
    if let Some(generator) = &power.generator {
        checks.range("generator.power", generator.power_w, 1.0, 1e8);
        checks.range("generator.start_after", generator.start_after.s(), 0.0, 1e7);
        checks.range("generator.fuel", generator.fuel_l.unwrap_or(0.0), 0.0, 1e7);
        checks.range("generator.full_load_fuel", generator.full_l_h, 0.0, 1e5);
        checks.range("generator.no_load_fuel", generator.idle_l_h, 0.0, generator.full_l_h);
        checks.range("generator.fuel_price", generator.price_per_l, 0.0, 1e6);
        checks.range("generator.fuel_carbon", generator.kg_per_l, 0.0, 100.0);
    }
    checks.range("backup.house", power.backup.other_share, 0.0, 1.0);
}

fn check_membrane(checks: &mut Checks, parts: &Parts) {
    let called = parts.store.as_ref().is_some_and(|store| matches!(store.storage.fill, Fill::Membrane { .. }));
    if called != parts.membrane.is_some() {
        checks.faults.push(Fault::MembraneAndFill);
    }
    let Some(membrane) = &parts.membrane else { return };
    if let (Some(hours), Some(store)) = (&membrane.hours, &parts.store) {
        checks
            .of(Of::Plant)
            .rising(&[("membrane.hours.urgent", hours.urgent_l), ("membrane.hours.relaxed", hours.relaxed_l)]);
        checks.of(Of::Plant).range("membrane.hours.urgent", hours.urgent_l, 0.0, store.storage.capacity_l);
        checks.of(Of::Plant).range("membrane.hours.surplus", hours.surplus_w.unwrap_or(1.0), 1e-3, 1e9);
    }
    if let Some(supply) = membrane.reject_to {
        let basin = parts.supplies.get(supply).is_some_and(|it| it.standby && it.source.basin().is_some());
        if !basin {
            checks.faults.push(Fault::RejectToNoBasin { supply });
        }
    }
    if let Some(pump) = &membrane.unit.pump
        && matches!(pump.curve, PumpCurve::Constant { .. })
    {
        checks.faults.push(Fault::MembranePumpWithoutHead);
    }
    let mut plant = checks.of(Of::Plant);
    for OutOfRange { key, value, least, most } in membrane.unit.out_of_range() {
        plant.range(key, value, least, most);
    }
    plant.range("membrane.temperature", membrane.feed_temp_c, 0.0, 50.0);
    plant.range("membrane.rise", membrane.rise_m, -200.0, 200.0);
    plant.range("membrane.product_volume", membrane.product_volume_l, 0.0, 1e4);
    plant.range("membrane.fouling.water_share", membrane.start_fouling.water_share, 0.05, 1.5);
    plant.range("membrane.fouling.channel_times", membrane.start_fouling.channel_times, 0.5, 20.0);
    plant.range("membrane.flush.before", membrane.flush.before.s(), 0.0, 1e5);
    plant.range("membrane.flush.after", membrane.flush.after.s(), 0.0, 1e5);
    plant.range("membrane.flush.flow", membrane.flush.flow_lps, 0.0, 1e4);
    plant.range("membrane.flush.full_flow_pressure", membrane.flush.full_flow_kpa, 1.0, 3_000.0);
    if let Some(blend) = &membrane.blend {
        plant.range("membrane.blend.flow", blend.kv, 0.0, 10.0);
    }
    if let Some(bed) = &membrane.calcite {
        plant.range("membrane.calcite.mass", bed.start_kg, 0.0, 1e5);
        plant.range("membrane.calcite.contact_time", bed.contact_s, 1.0, 1e5);
        plant.range("membrane.calcite.dissolves", bed.calcite_mg_l, 0.0, 1_000.0);
    }
    plant.range("membrane.divert", membrane.divert.s(), 0.0, 1e5);
    plant.range("membrane.inlet.trip_pressure", membrane.inlet.kpa, 0.0, 3_000.0);
    plant.range("membrane.inlet.delay", membrane.inlet.delay.s(), 1.0, 1e5);
    plant.range("membrane.inlet.retry_after", membrane.inlet.retry_after.s(), 1.0, 1e6);
    plant.range("membrane.inlet.retries", f64::from(membrane.inlet.retries), 0.0, 1e6);
}

fn check_storage(mut checks: PartChecks<'_>, storage: &Storage) {
    checks.range("storage.volume", storage.capacity_l, 1.0, 1e8);
    checks.range("storage.start", storage.start_l, 0.0, storage.capacity_l);
    checks.range("storage.protect", storage.protect_l, 0.0, storage.capacity_l);
    let (low, high) = match storage.fill {
        Fill::FloatSwitch { start_l, stop_l, .. } => {
            (("storage.float_switch.start", start_l), ("storage.float_switch.stop", stop_l))
        }
        Fill::FloatValve { open_l, shut_l, .. } => {
            (("storage.float_valve.open", open_l), ("storage.float_valve.shut", shut_l))
        }
        Fill::Membrane { start_l, stop_l } => (("membrane.floats.start", start_l), ("membrane.floats.stop", stop_l)),
    };
    checks.range(low.0, low.1, 0.0, storage.capacity_l);
    checks.range(high.0, high.1, 0.0, storage.capacity_l);
    // The pump must be able to restart before the filling stops, and the filling to start before the pump stops: a tank with
    // either the other way round would stay where it is for ever.
    checks.rising(&[("storage.protect", storage.protect_l), ("storage.restart", storage.restart_l), high]);
    if storage.fill.floats_l().is_some() {
        checks.rising(&[("storage.protect", storage.protect_l), low]);
    }
    checks.rising(&[low, high]);
    if let Some((flow_lps, full_flow_kpa)) = storage.fill.valve() {
        checks.range("storage.fill_flow", flow_lps, 1e-6, 1e4);
        checks.range("storage.fill_full_flow_pressure", full_flow_kpa, 1.0, 3_000.0);
    }
}

fn check_delivery(mut checks: PartChecks<'_>, delivery: &Delivery, water: &Water) {
    let drive = &delivery.drive;
    let keys = [
        "delivery.set_pressure",
        "delivery.wake_pressure",
        "delivery.sleep_flow",
        "delivery.sleep_delay",
        "delivery.standby_power",
    ];
    checks.drive(keys, drive);
    checks.range("delivery.lift", delivery.lift_m, -200.0, 200.0);
    let (shutoff_m, needed_m) = (delivery.curve.shutoff_m(), delivery.lift_m + water.head_m(drive.set_kpa));
    if shutoff_m <= needed_m {
        let place = Place { of: checks.of, key: "delivery.curve" };
        checks.faults.push(Fault::TooLittleHead { place, shutoff_m, needed_m });
    }
    let tank = &delivery.tank;
    checks.tank(["delivery.tank_volume", "delivery.tank_precharge", "delivery.tank_air_left"], tank);
    checks.rising(&[("delivery.tank_precharge", tank.precharge_kpa), ("delivery.set_pressure", drive.set_kpa)]);
    checks.range("delivery.start_pressure", tank.start_kpa, 0.0, drive.set_kpa);
}

fn check_outlets(checks: &mut Checks, parts: &Parts) {
    let outlets = &parts.outlets;
    if outlets.is_empty() {
        checks.faults.push(Fault::NoOutlet);
    }
    if outlets.len() > MOST_OUTLETS {
        checks.faults.push(Fault::TooManyOutlets { found: outlets.len() });
    }
    for (index, outlet) in outlets.iter().enumerate() {
        let mut part = checks.of(Of::Outlet(index));
        part.range("full_flow_pressure", outlet.full_flow_kpa, 1.0, 3_000.0);
        part.range("rise", outlet.rise_m, -200.0, 200.0);
        part.range("backflow_loss", outlet.device_kpa, 0.0, 1_000.0);
        if outlet.header == Header::Delivery && parts.store.is_none() {
            checks.faults.push(Fault::FedByNothing { index });
        }
        if let Some(first) = outlets[..index].iter().position(|other| other.name == outlet.name) {
            checks.faults.push(Fault::SameName { first, second: index });
        }
    }
}
