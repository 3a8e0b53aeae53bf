//! Supplies, treatment and what goes out of order: what the sections of a scenario become.

use std::path::PathBuf;

use springhouse_core::basin::BasinKind;
use springhouse_core::draw::DrawKind;
use springhouse_core::incident::IncidentKind;
use springhouse_core::outlet::{Header, Role};
use springhouse_core::quality::Constituent;
use springhouse_core::supply::{Control, Source};
use springhouse_core::time::Span;
use springhouse_core::treatment::StageKind;
use springhouse_scenario::{Format, Scenario, parse, starter};

mod common;
use common::{CISTERN, DELIVERY, POND, STAGES, TOWN_LINE, with};

const GALLON_L: f64 = 3.785_411_784;
const PSI_KPA: f64 = 6.894_757_293_168_361;

#[track_caller]
fn scenario(text: &str) -> Scenario {
    parse(text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}")).scenario
}

/// Equal but for the rounding of a few products.
#[track_caller]
fn same(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-12 * wanted.abs(), "{found} is not {wanted}");
}

#[test]
fn the_starter_is_one_well_with_middling_water() {
    let scenario = scenario(starter());
    let [supply] = scenario.plant.supplies.as_slice() else { panic!("one supply") };
    assert_eq!((supply.name.as_str(), supply.standby), ("well", false));
    same(supply.quality.salt_mg_l, 350.0);
    same(supply.quality.transmittance, 0.9);
    assert_eq!(scenario.prices_per_m3, [None]);
    assert!(scenario.rain.is_empty() && scenario.dated_draws.is_empty());
}

#[test]
fn water_of_a_well_is_read_in_any_unit() {
    let text = with(
        "[well.water]\nsalt = \"500 ppm\"\niron = \"1.5 g/m3\"\nhardness = \"10 gpg\"\ntransmittance = \"80 %\"\n",
    );
    let quality = scenario(&text).plant.supplies[0].quality;
    same(quality.salt_mg_l, 500.0);
    same(quality.iron_mg_l, 1.5);
    // 1 gpg is 17.118 mg/L.
    assert!((quality.hardness_mg_l - 171.18).abs() < 0.005, "{}", quality.hardness_mg_l);
    same(quality.transmittance, 0.8);
    same(quality.solids_mg_l, 5.0);
}

#[test]
fn a_drive_takes_the_place_of_the_switch() {
    let text = starter().replace("cut_in = \"40 psi\"           # the pressure switch starts the pump here\n", "");
    let text = text.replace(
        "cut_out = \"60 psi\"          # and stops it here\n",
        "drive = { set_pressure = \"55 psi\", sleep_delay = \"20 s\" }\n",
    );
    let scenario = scenario(&text);
    let Some(Control::Drive(drive)) = scenario.plant.supplies[0].source.pump().map(|pump| &pump.control) else {
        panic!("a drive")
    };
    same(drive.set_kpa, 55.0 * PSI_KPA);
    same(drive.wake_kpa, 45.0 * PSI_KPA);
    assert_eq!(drive.sleep_delay, Span::from_s(20.0));
    same(scenario.plant.pressure_tank.as_ref().map_or(0.0, |tank| tank.start_kpa), 55.0 * PSI_KPA);
}

#[test]
fn supplies_stand_in_their_order_whatever_the_files() {
    let text = with(&format!("{TOWN_LINE}price = \"9 /kgal\"\n[change_over]\nafter = \"10 min\"\n{CISTERN}"));
    let scenario = scenario(&text);
    let names: Vec<_> = scenario.plant.supplies.iter().map(|supply| (supply.name.as_str(), supply.standby)).collect();
    assert_eq!(names, [("well", false), ("cistern", false), ("town line", true)]);
    let Source::TownLine(line) = &scenario.plant.supplies[2].source else { panic!("a town line") };
    same(line.static_kpa(), 65.0 * PSI_KPA);
    same(line.flow_lps(45.0 * PSI_KPA), 12.0 * GALLON_L / 60.0);
    same(scenario.plant.supplies[2].quality.chlorine_mg_l, 0.8);
    let prices = &scenario.prices_per_m3;
    assert_eq!((prices.len(), prices[0], prices[1]), (3, None, None));
    // Nine for a thousand gallons of 3.785 L.
    same(prices[2].unwrap_or_default(), 9.0 / GALLON_L);
    let change_over = scenario.plant.change_over.as_ref().unwrap();
    assert_eq!(change_over.after, Some(Span::from_s(600.0)));
    assert_eq!(change_over.back_after, Span::from_s(1_800.0));
}

#[test]
fn a_second_well_is_read_like_the_first() {
    let starter = starter();
    let well = &starter[starter.find("[well]").unwrap()..starter.find("[pressure_tank]").unwrap()];
    let second =
        well.replace("[well", "[second_well").replace("\"60 ft\"", "\"70 ft\"").replace("\"170 ft\"", "\"171 ft\"");
    let scenario = scenario(&with(&second));
    assert_eq!(scenario.plant.supplies.len(), 2);
    let well = scenario.plant.supplies[1].source.well().unwrap();
    same(well.static_depth_m, 70.0 * 0.304_8);
    assert_eq!(scenario.plant.supplies[1].name, "second well");
    // What is asked of "the well" is asked of the first.
    same(scenario.lowest_depth_m().unwrap(), 170.0 * 0.304_8);
}

#[test]
fn a_cistern_with_its_roof_and_top_up() {
    let text = with(&format!(
        "{CISTERN}\n[cistern.roof]\narea = \"180 m2\"\nrain = \"rain.csv\"\n\
         [cistern.top_up]\nstart = \"15 %\"\nstop = \"1000 gal\"\nflow = \"4 gpm\"\n"
    ));
    let scenario = scenario(&text);
    let basin = scenario.plant.supplies[1].source.basin().unwrap();
    let capacity_l = 5_000.0 * GALLON_L;
    assert_eq!((basin.kind, basin.shape), (BasinKind::Cistern, 1.0));
    same(basin.capacity_l, capacity_l);
    same(basin.start_l, capacity_l);
    same(basin.intake_l, 0.02 * capacity_l);
    same(basin.cutoff.as_ref().unwrap().restart_l, 0.2 * capacity_l);
    let top_up = basin.top_up.as_ref().unwrap();
    same(top_up.start_l, 0.15 * capacity_l);
    same(top_up.stop_l, 1_000.0 * GALLON_L);
    same(top_up.full_flow_kpa, 15.0 * PSI_KPA);
    let [rain] = scenario.rain.as_slice() else { panic!("one file of rain") };
    assert_eq!((rain.supply, &rain.file), (1, &Some(PathBuf::from("rain.csv"))));
    same(rain.roof.area_m2, 180.0);
    same(rain.roof.runoff_share, 0.85);
    same(rain.roof.first_flush_mm, 0.5);
    assert_eq!(rain.roof.dry_gap, Span::from_s(43_200.0));
}

#[test]
fn a_pond_has_a_shape_and_no_roof() {
    let scenario = scenario(&with(POND));
    let basin = scenario.plant.supplies[1].source.basin().unwrap();
    assert_eq!((basin.kind, basin.shape), (BasinKind::Pond, 2.5));
    same(scenario.plant.supplies[1].quality.transmittance, 0.7);
    let faults =
        parse(&with(&format!("{POND}[pond.roof]\narea = \"10 m2\"\n")), Format::Toml, "plant.toml").unwrap_err();
    assert!(faults.to_string().contains("`pond` has no section `roof`"), "{faults}");
}

#[test]
fn a_town_line_alone_needs_no_pressure_tank() {
    let starter = starter();
    let from = starter.find("# Depths are measured").unwrap();
    let to = starter.find("# A storage tank with").unwrap();
    let text = format!("{}{}{}", &starter[..from], TOWN_LINE.replace("standby = true\n", ""), &starter[to..]);
    let scenario = scenario(&text);
    assert!(scenario.plant.pressure_tank.is_none());
    assert_eq!((scenario.lowest_depth_m(), scenario.sustained_lps(), scenario.share_of_well()), (None, None, None));
}

#[test]
fn stages_stand_in_the_order_of_the_water() {
    let scenario = scenario(&with(&format!("{DELIVERY}{STAGES}")));
    let stages = &scenario.plant.stages;
    let names: Vec<_> = stages.iter().map(|stage| (stage.name.as_str(), stage.header)).collect();
    let (raw, delivery) = (Header::Raw, Header::Delivery);
    assert_eq!(names, [("screen", raw), ("iron filter", raw), ("soft", raw), ("lamp", delivery), ("carbon", delivery)]);
    let constituents: Vec<_> = stages.iter().map(|stage| stage.catch.map(|catch| catch.constituent)).collect();
    let (solids, iron) = (Some(Constituent::Solids), Some(Constituent::Iron));
    assert_eq!(constituents, [solids, iron, Some(Constituent::Hardness), None, Some(Constituent::Chlorine)]);
    let caught: Vec<_> = stages.iter().filter_map(|stage| stage.catch).collect();
    same(caught[0].share, 0.9);
    same(caught[1].share, 0.8);
    same(caught[2].share, 0.98);
    same(caught[3].share, 0.99);
    // 32 000 grains, of which a quarter is used.
    same(caught[2].capacity_g, 32.0 * 453.592_37 / 7.0);
    same(caught[2].start_g, 8.0 * 453.592_37 / 7.0);
    same(stages[0].clean_kpa, 2.0 * PSI_KPA);
    same(stages[0].limit_kpa, 15.0 * PSI_KPA);
    let StageKind::Carbon(carbon) = stages[4].kind else { panic!("carbon") };
    same(carbon.bed_l, 2.0 * 28.316_846_592);
    same(carbon.contact_s, 30.0);
    let light = stages[3].ultraviolet().unwrap();
    same(light.rated_mj_cm2, 40.0);
    same(light.path_cm, 3.0);
    same(light.start_h, 2_000.0);
    same(light.life_h, 9_000.0);
    same(light.rated_transmittance, 0.75);
    same(light.end_share, 0.7);
    same(light.power_w, 40.0);
}

#[test]
fn a_backwash_is_an_outlet_and_a_draw() {
    let scenario = scenario(&with(&format!("{DELIVERY}{STAGES}")));
    let (plant, stage) = (&scenario.plant, &scenario.plant.stages[1]);
    let outlet = stage.backwash.unwrap().outlet;
    let wash = &plant.outlets[outlet];
    assert_eq!(
        (wash.name.as_str(), wash.role, wash.header, wash.treated),
        ("iron filter backwash", Role::Backwash, Header::Raw, false)
    );
    same(wash.full_flow_kpa, 20.0 * PSI_KPA);
    let draws: Vec<_> = scenario.schedule.iter().filter(|draw| draw.outlet == outlet).collect();
    let [draw] = draws.as_slice() else { panic!("one draw: {draws:?}") };
    assert_eq!((draw.start, draw.length), (Span::from_s(7_200.0), Span::from_s(600.0)));
    assert_eq!((draw.every, draw.offset, draw.kind, draw.weekdays), (3, 1, DrawKind::Timed, [true; 7]));
}

#[test]
fn raw_loads_have_valves_pipes_and_heights() {
    let text = with(
        "[[raw_load]]\nname = \"garden\"\nrise = \"10 ft\"\nbackflow_loss = \"8 psi\"\n\
         service = { length = \"100 ft\", bore = \"1 in\" }\n\
         [[raw_load.valve]]\nstart = \"05:00\"\nlength = \"20 min\"\nflow = \"5 gpm\"\nweekdays = [\"tue\"]\n\
         [[raw_load.valve]]\nstart = \"06:00\"\nlength = \"10 min\"\nflow = \"2 gpm\"\nkind = \"volume\"\n\
         [pressure_reducer]\nset_pressure = \"45 psi\"\n",
    );
    let scenario = scenario(&text);
    let garden = &scenario.plant.outlets[1];
    assert_eq!((garden.role, garden.header, garden.treated), (Role::RawLoad, Header::Raw, false));
    same(garden.rise_m, 3.048);
    same(garden.device_kpa, 8.0 * PSI_KPA);
    same(garden.service.as_ref().unwrap().bore_mm, 25.4);
    same(scenario.plant.reducer_kpa.unwrap(), 45.0 * PSI_KPA);
    let draws: Vec<_> = scenario.schedule.iter().filter(|draw| draw.outlet == 1).collect();
    assert_eq!(draws.len(), 2);
    assert_eq!((draws[0].kind, draws[0].weekdays[1], draws[0].weekdays[0]), (DrawKind::Timed, true, false));
    assert_eq!((draws[1].kind, draws[1].every), (DrawKind::Volume, 1));
}

#[test]
fn every_kind_of_incident_is_read() {
    let incident = |keys: &str| format!("[[incident]]\nstart = \"2027-06-08 12:00\"\nlength = \"1 h\"\n{keys}\n");
    let incidents: String = [
        "kind = \"power out\"",
        "kind = \"well pump out\"",
        "kind = \"supply out\"\nsupply = \"town line\"",
        "kind = \"delivery pump out\"",
        "kind = \"worn pump\"\nsupply = \"well\"\nspeed = \"85 %\"",
        "kind = \"check valve leaks\"\nsupply = \"cistern\"\nflow = \"0.6 L/min\"",
        "kind = \"low precharge\"\nprecharge = \"0 psi\"",
        "kind = \"air lost\"\nair_left = \"40 %\"",
        "kind = \"float stuck open\"",
        "kind = \"float stuck shut\"",
        "kind = \"stage bypassed\"\nstage = \"lamp\"",
        "kind = \"stage shut\"\nstage = \"screen\"",
        "kind = \"burst\"\nat = \"house\"\nflow = \"6 gpm\"",
        "kind = \"burst\"\nat = \"garden\"\nflow = \"3 gpm\"",
        "kind = \"burst\"\nat = \"house\"\nflow = \"1 gpm\"",
        "kind = \"standby by hand\"",
    ]
    .map(incident)
    .concat();
    let parts =
        format!("{CISTERN}{TOWN_LINE}[change_over]\n{DELIVERY}{STAGES}[[raw_load]]\nname = \"garden\"\n{incidents}");
    let scenario = scenario(&with(&parts));
    let kinds: Vec<_> = scenario.incidents.iter().map(|incident| incident.kind).collect();
    // 38 psi of gauge pressure at the sea, let down to none.
    let share = 101.325 / (38.0 * PSI_KPA + 101.325);
    let IncidentKind::AirLost { share: low } = kinds[6] else { panic!("{:?}", kinds[6]) };
    same(low, share);
    let flow_lps = match kinds[5] {
        IncidentKind::LeakBack { supply: 1, flow_lps } => flow_lps,
        other => panic!("{other:?}"),
    };
    same(flow_lps, 0.01);
    let wanted = [
        IncidentKind::PowerOut,
        IncidentKind::SupplyOut { supply: 0 },
        IncidentKind::SupplyOut { supply: 2 },
        IncidentKind::DeliveryPumpOut,
        IncidentKind::PumpWorn { supply: 0, speed: 0.85 },
        IncidentKind::LeakBack { supply: 1, flow_lps },
        IncidentKind::AirLost { share: low },
        IncidentKind::AirLost { share: 0.4 },
        IncidentKind::FloatStuck { open: true },
        IncidentKind::FloatStuck { open: false },
        IncidentKind::StageBypassed { stage: 3 },
        IncidentKind::StageShut { stage: 0 },
        IncidentKind::StandbyByHand,
    ];
    assert_eq!(kinds, wanted);
    let outlets = &scenario.plant.outlets;
    let bursts: Vec<_> = scenario.dated_draws.iter().map(|draw| outlets[draw.outlet].name.as_str()).collect();
    assert_eq!(bursts, ["burst at house", "burst at garden", "burst at house"]);
    let [house, garden] = ["burst at house", "burst at garden"].map(|name| {
        let outlet = outlets.iter().find(|outlet| outlet.name == name).unwrap();
        (outlet.role, outlet.header, outlet.treated, (outlet.full_flow_kpa / PSI_KPA).round())
    });
    // Held at 50 psi behind the delivery pump; the main's 65 psi are above the switch's 60.
    assert_eq!(house, (Role::Leak, Header::Delivery, true, 50.0));
    assert_eq!(garden, (Role::Leak, Header::Raw, false, 65.0));
}
