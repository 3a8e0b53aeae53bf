//! Invented units for tests.

use springhouse_core::membrane::element::Fouling;
use springhouse_core::membrane::limits::FeedKind;
use springhouse_core::membrane::osmosis::OsmoticModel;
use springhouse_core::membrane::plate::{ElementPlate, NominalSize};
use springhouse_core::membrane::unit::{MembraneUnit, UnitPump};
use springhouse_core::membrane::valve::Valves;
use springhouse_core::pump::{PumpCurve, PumpPower};
use springhouse_core::scaling::TypicalWater;

use super::question::{Question, Swing, Want};
use super::season::Seasons;
use super::suction::Suction;

/// Three 4 by 40 elements in a row behind a pump, on hard well water with antiscalant.
pub(super) fn home() -> Question {
    let size = NominalSize::In4By40;
    let plate = ElementPlate {
        product_l_day: 9_000.0,
        rejection: 0.99,
        test_kpa: 1_000.0,
        test_salt_mg_l: 1_500.0,
        test_recovery: 0.15,
    };
    let element = plate.element(&size.element(), OsmoticModel::default()).unwrap();
    let pump = UnitPump {
        curve: PumpCurve::through(&[(0.3, 75.0), (0.9, 40.0)]).unwrap(),
        power: PumpPower::Efficiency { best_flow_lps: 0.6, best_efficiency: 0.45 },
    };
    let analysis = TypicalWater::HardWell.analysis();
    Question {
        unit: MembraneUnit {
            element,
            elements_in_series: 3,
            vessels: 1,
            pump: Some(pump),
            valves: Valves { reject_kv: 0.008, recycle_kv: 0.002 },
            product_kpa: 20.0,
            drain_kpa: 0.0,
            loop_volume_l: 30.0,
            osmotic: OsmoticModel::default(),
        },
        fouling: Fouling::CLEAN,
        suction: Swing { lowest: 200.0, typical: 300.0, highest: 400.0 }.map(Suction::steady),
        blend: None,
        feed_salt_mg_l: analysis.tds_mg_l(),
        analysis: Some(analysis),
        antiscalant: true,
        feed: FeedKind::Well,
        diameter_in: size.diameter_in(),
        rated_kpa: 4_100.0,
        pump_end_lps: None,
        cycle: None,
        gives: None,
        want: Some(Want { product_l_day: 4_000.0, hours_per_day: 12.0 }),
        temp_c: Seasons { coldest: 8.0, typical: 11.0, warmest: 14.0 },
        most_recovery: None,
        most_product_salt_mg_l: None,
    }
}

/// One small element that runs on the pressure of a town main.
pub(super) fn without_pump() -> Question {
    let home = home();
    let size = NominalSize::In2By40;
    let plate = ElementPlate {
        product_l_day: 2_000.0,
        rejection: 0.98,
        test_kpa: 700.0,
        test_salt_mg_l: 500.0,
        test_recovery: 0.15,
    };
    let element = plate.element(&size.element(), OsmoticModel::default()).unwrap();
    Question {
        unit: MembraneUnit {
            element,
            elements_in_series: 1,
            pump: None,
            valves: Valves { reject_kv: 0.002, recycle_kv: 0.001 },
            ..home.unit
        },
        suction: Swing { lowest: 350.0, typical: 420.0, highest: 500.0 }.map(Suction::steady),
        diameter_in: size.diameter_in(),
        want: None,
        ..home
    }
}
