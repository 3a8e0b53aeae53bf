//! Small plants, some with closed-form answers. Invented, but for the one that the cycling table was made with.

use springhouse_core::delivery::Delivery;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::heater::control::{Controls, Mode};
use springhouse_core::heater::heat_pump::HeatPump;
use springhouse_core::heater::tank::Tank;
use springhouse_core::heater::{Burner, Elements, Heater, Source as HeatSource};
use springhouse_core::hot_water::{HeaterPlace, HotPipe, HotWater, RoomPlace, Settings};
use springhouse_core::membrane::Membrane;
use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::fouling::FoulingLaw;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::place::{Flush, InletTrip};
use springhouse_core::membrane::plate::{ElementPlate, NominalSize};
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::ValveReading;
use springhouse_core::moist_air::MoistAir;
use springhouse_core::outlet::{Header, Outlet, Role};
use springhouse_core::plant::{Fault, Parts, Plant, Store};
use springhouse_core::power::SitePower;
use springhouse_core::pressure_tank::PressureTank;
use springhouse_core::pump::{PumpCurve, PumpPower, SupplyPump};
use springhouse_core::quality::Quality;
use springhouse_core::room::{Room, RoomState};
use springhouse_core::storage::{Fill, Storage};
use springhouse_core::supply::{Control, Drive, Source, Supply};
use springhouse_core::time::{Span, Time};
use springhouse_core::water::Water;
use springhouse_core::well::{LowLevelCutoff, Response, Well};

/// Sea level, kPa.
pub const ATMOSPHERE_KPA: f64 = 101.325;

/// A building on a header with full flow from 140 kPa.
#[must_use]
pub fn house(header: Header) -> Outlet {
    Outlet::plain("house", Role::Building, header, 140.0)
}

/// A sound pressure tank.
#[must_use]
pub fn tank(volume_l: f64, precharge_kpa: f64, start_kpa: f64) -> PressureTank {
    PressureTank { volume_l, precharge_kpa, air_share: 1.0, start_kpa, atmospheric_kpa: ATMOSPHERE_KPA }
}

/// `H0 - k Q^2` through a head at no flow and one more point, `(L/s, m)`.
#[must_use]
pub fn curve(shutoff_m: f64, (flow_lps, head_m): (f64, f64)) -> PumpCurve {
    PumpCurve::Parabola { shutoff_m, loss_m_per_lps2: (shutoff_m - head_m) / (flow_lps * flow_lps) }
}

/// Water as in the cycling table: 998.2 kg/m3.
#[must_use]
pub fn water() -> Water {
    Water { density_kg_m3: 998.2, viscosity_pa_s: 1.0016e-3 }
}

/// Water of a supply in these plants: hard, with some iron and solids.
pub const QUALITY: Quality = Quality {
    salt_mg_l: 400.0,
    solids_mg_l: 5.0,
    iron_mg_l: 0.5,
    hardness_mg_l: 200.0,
    chlorine_mg_l: 0.0,
    transmittance: 0.85,
};

/// A well that feeds from the start.
#[must_use]
pub fn well(well: Well, pump: SupplyPump) -> Supply {
    Supply { name: "well".into(), source: Source::Well { well, pump }, quality: QUALITY, temp_c: 12.0, standby: false }
}

/// A well whose level never moves, at 25 m.
#[must_use]
pub fn level_well() -> Well {
    Well { static_depth_m: 25.0, pump_depth_m: 60.0, response: Response::Ideal, cutoff: None, start_drawdown_m: 0.0 }
}

/// A pump without a pipe, at the ground, with a switch.
#[must_use]
pub fn pump(curve: PumpCurve, power: PumpPower, (cut_in_kpa, cut_out_kpa): (f64, f64)) -> SupplyPump {
    SupplyPump::new(curve, None, &water(), power, 0.0, Control::Switch { cut_in_kpa, cut_out_kpa })
}

/// A plant of one supply and a pressure tank on which the house hangs.
#[must_use]
pub fn direct(supply: Supply, pressure_tank: PressureTank) -> Parts {
    Parts {
        water: water(),
        supplies: vec![supply],
        change_over: None,
        pressure_tank: Some(pressure_tank),
        stages: Vec::new(),
        reducer_kpa: None,
        membrane: None,
        store: None,
        outlets: vec![house(Header::Raw)],
        hot_water: HotWater::default(),
        power: SitePower::default(),
    }
}

/// The plant of the cycling table (`tests/data/hydro.py`): a level well at 25 m, `H = 80 - 43.2 Q^2`, 300 L at 260 kPa,
/// switch 280 to 410 kPa.
#[must_use]
pub fn cycling(start_kpa: f64) -> Parts {
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let pump = pump(curve(80.0, (0.9, 45.0)), power, (280.0, 410.0));
    direct(well(level_well(), pump), tank(300.0, 260.0, start_kpa))
}

/// The same with a pump of constant flow and power: everything has a closed form.
#[must_use]
pub fn constant_flow(flow_lps: f64, start_kpa: f64) -> Parts {
    let pump = pump(PumpCurve::Constant { flow_lps }, PumpPower::Constant { power_w: 900.0 }, (280.0, 410.0));
    direct(well(level_well(), pump), tank(300.0, 260.0, start_kpa))
}

/// The cycling plant with a drive on its pump that holds 350 kPa and wakes at 300.
#[must_use]
pub fn driven() -> Parts {
    let power = PumpPower::Efficiency { best_flow_lps: 0.7, best_efficiency: 0.45 };
    let drive = Drive {
        set_kpa: 350.0,
        wake_kpa: 300.0,
        sleep_flow_lps: 0.02,
        sleep_delay: Span::from_s(30.0),
        standby_w: 8.0,
    };
    let pump = SupplyPump::new(curve(80.0, (0.9, 45.0)), None, &water(), power, 0.0, Control::Drive(drive));
    direct(well(level_well(), pump), tank(20.0, 210.0, 340.0))
}

/// A slow well with a cut-off that fills storage; the house behind a delivery pump.
#[must_use]
pub fn slow_well(fill: Fill) -> Parts {
    let power = PumpPower::Efficiency { best_flow_lps: 0.35, best_efficiency: 0.45 };
    let pump = pump(curve(140.0, (0.4, 100.0)), power, (210.0, 350.0));
    let slow = Well {
        static_depth_m: 20.0,
        pump_depth_m: 70.0,
        response: Response::Drawdown { casing_l_per_m: 18.0, specific_capacity_lps_per_m: 0.002, entry_depth_m: 62.0 },
        cutoff: Some(LowLevelCutoff {
            stop_depth_m: 66.0,
            restart_depth_m: 45.0,
            restart_delay: Span::from_s(1_800.0),
        }),
        start_drawdown_m: 0.0,
    };
    Parts {
        store: Some(Store {
            storage: Storage { capacity_l: 5_000.0, start_l: 4_400.0, fill, protect_l: 250.0, restart_l: 500.0 },
            delivery: Delivery {
                curve: curve(60.0, (1.2, 30.0)),
                power: PumpPower::Efficiency { best_flow_lps: 0.9, best_efficiency: 0.5 },
                drive: Drive {
                    set_kpa: 380.0,
                    wake_kpa: 310.0,
                    sleep_flow_lps: 0.02,
                    sleep_delay: Span::from_s(30.0),
                    standby_w: 10.0,
                },
                lift_m: 1.0,
                tank: tank(20.0, 270.0, 380.0),
            },
        }),
        outlets: vec![house(Header::Delivery)],
        ..direct(well(slow, pump), tank(200.0, 196.0, 300.0))
    }
}

/// The float switch of [`slow_well`].
#[must_use]
pub fn float_switch() -> Fill {
    Fill::FloatSwitch { start_l: 3_500.0, stop_l: 4_500.0, flow_lps: 0.3, full_flow_kpa: 100.0 }
}

/// The float valve of [`slow_well`].
#[must_use]
pub fn float_valve() -> Fill {
    Fill::FloatValve { open_l: 4_200.0, shut_l: 4_500.0, flow_lps: 0.3, full_flow_kpa: 100.0 }
}

/// Builds a plant that is known to be sound.
///
/// # Panics
/// Where it is not.
#[must_use]
pub fn build(parts: Parts) -> Plant {
    Plant::try_new(parts).unwrap_or_else(|faults: Vec<Fault>| panic!("the plant is not sound: {faults:?}"))
}

/// A timed draw at the first outlet.
#[must_use]
pub fn draw(start_s: f64, length_s: f64, flow_lps: f64) -> Draw {
    let start = Time::from_s(start_s);
    Draw {
        start,
        end: start + Span::from_s(length_s),
        outlet: 0,
        flow: Flow::from_lps(flow_lps),
        kind: DrawKind::Timed,
        warmth: Warmth::COLD,
    }
}

/// A timed draw at the first outlet, wanted so warm.
#[must_use]
pub fn warm_draw(start_s: f64, length_s: f64, flow_lps: f64, temp_c: f64) -> Draw {
    Draw { warmth: Warmth::from_c(temp_c), ..draw(start_s, length_s, flow_lps) }
}

/// A heater of 200 L at the first outlet, kept at 55 °C in the first room; without a pipe or a tempering valve.
#[must_use]
pub fn heater(source: HeatSource) -> HeaterPlace {
    let tank = Tank {
        volume_l: 200.0,
        height_m: 1.2,
        loss_w_k: 2.0,
        inlet_mixing: Tank::INLET_MIXING,
        diffusivity_m2_s: Tank::WATER_M2_S,
    };
    HeaterPlace {
        name: "heater".into(),
        outlet: 0,
        heater: Heater { tank, source, controls: Controls::TYPICAL },
        settings: Settings { set_c: 55.0, mode: Mode::Hybrid, windows: Vec::new(), sun: None },
        tempering_c: None,
        pipe: None,
        room: 0,
        start_c: 55.0,
    }
}

/// A burner with a standing pilot.
pub const BURNER: Burner =
    Burner { input_w: 11_000.0, efficiency: 0.78, pilot_w: 120.0, flue_loss_w_k: 2.0, electric_w: 3.0 };

/// A utility room at 18 °C.
#[must_use]
pub fn room(name: &str) -> RoomPlace {
    let around = MoistAir::at(15.0, 0.6, ATMOSPHERE_KPA);
    RoomPlace {
        name: name.into(),
        room: Room { heat_j_k: 1e6, loss_w_k: 40.0, volume_m3: 20.0, air_changes_h: 0.5 },
        start: RoomState { temp_c: 18.0, humidity_kg_kg: around.humidity_kg_kg },
        around,
        outdoors_share: 0.0,
        pumps_share: 0.5,
        storage_w_k: 0.0,
        ducted: false,
    }
}

/// A heat pump with elements and a loop that is kept hot by day, and a gas heater in another room.
#[must_use]
pub fn two_heaters() -> HotWater {
    let kept_hot = vec![(Span::from_s(6.0 * 3_600.0), Span::from_s(22.0 * 3_600.0))];
    let pipe = HotPipe { volume_l: 4.0, loss_w_k: 3.0, kept_hot, pump_w: 20.0 };
    let pump = heater(HeatSource::HeatPump(HeatPump::TYPICAL, Elements::TYPICAL));
    let gas = heater(HeatSource::Fuel(BURNER));
    let still = HotPipe { volume_l: 2.0, loss_w_k: 2.0, kept_hot: Vec::new(), pump_w: 0.0 };
    HotWater {
        heaters: vec![
            HeaterPlace { name: "heat pump".into(), pipe: Some(pipe), tempering_c: Some(50.0), ..pump },
            HeaterPlace { name: "gas".into(), pipe: Some(still), room: 1, ..gas },
        ],
        rooms: vec![room("closet"), room("cellar")],
    }
}

/// Timed draws that add up to a piecewise constant flow: `(start in s, L/s)`, the last until `end_s`.
#[must_use]
pub fn steps(schedule: &[(f64, f64)], end_s: f64) -> Vec<Draw> {
    let ends = schedule.iter().skip(1).map(|(start, _)| *start).chain([end_s]);
    schedule
        .iter()
        .zip(ends)
        .filter(|((_, flow_lps), _)| *flow_lps > 0.0)
        .map(|((start, flow_lps), end)| draw(*start, end - start, *flow_lps))
        .collect()
}

/// An ample well of 600 mg/L, two membrane elements with a pump of their own, storage, and the house behind a delivery pump.
///
/// # Panics
/// Never: the plate is sound.
#[must_use]
#[expect(clippy::expect_used, reason = "a plant of the tests that cannot be built is for those who change it")]
pub fn on_a_membrane() -> Parts {
    let osmotic = OsmoticModel::Chloride { share: 0.87 };
    let plate = ElementPlate {
        product_l_day: 9_000.0,
        rejection: 0.99,
        test_kpa: 1_550.0,
        test_salt_mg_l: 2_000.0,
        test_recovery: 0.15,
    };
    let element = plate.element(&NominalSize::In4By40.element(), osmotic).expect("the plate is sound");
    let reading =
        ValveReading { reject_lps: 0.1, recycle_lps: 0.2, concentrate_kpa: 900.0, suction_kpa: 250.0, drain_kpa: 0.0 };
    let unit = MembraneUnit {
        element,
        elements_in_series: 2,
        vessels: 1,
        pump: Some(UnitPump {
            curve: curve(120.0, (0.6, 80.0)),
            power: PumpPower::Efficiency { best_flow_lps: 0.5, best_efficiency: 0.4 },
        }),
        valves: reading.valves().expect("the gauges show a difference"),
        product_kpa: 20.0,
        drain_kpa: 0.0,
        loop_volume_l: 15.0,
        osmotic,
    };
    let flush = Flush { before: Span::from_s(60.0), after: Span::from_s(120.0), flow_lps: 0.3, full_flow_kpa: 150.0 };
    let inlet = InletTrip { kpa: 70.0, delay: Span::from_s(10.0), retry_after: Span::from_s(600.0), retries: 3 };
    let membrane = Membrane {
        unit,
        feed_temp_c: 12.0,
        rise_m: 0.0,
        start_fouling: Fouling::CLEAN,
        fouling: FoulingLaw::of(FeedKind::Well),
        scale: None,
        flush,
        divert: Span::from_s(120.0),
        inlet,
        yields: true,
        product_volume_l: 3.0,
        blend: None,
        calcite: None,
        reject_to: None,
        reject_circles: false,
        hours: None,
    };
    let mut well = cycling(350.0);
    well.supplies[0].quality = Quality { salt_mg_l: 600.0, ..Quality::PURE };
    Parts {
        supplies: well.supplies,
        pressure_tank: well.pressure_tank,
        membrane: Some(membrane),
        ..slow_well(Fill::Membrane { start_l: 3_500.0, stop_l: 4_500.0 })
    }
}
