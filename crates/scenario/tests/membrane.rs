//! Membrane units and water analyses: what their sections become.

use springhouse_core::incident::IncidentKind;
use springhouse_core::membrane::limits::{FeedKind, MOST_BRACKISH_KPA};
use springhouse_core::membrane::osmosis::{Osmosis, OsmoticModel};
use springhouse_core::membrane::plate::NominalSize;
use springhouse_core::membrane::valve::valve_lps;
use springhouse_core::plant::Plant;
use springhouse_core::scaling::TypicalWater;
use springhouse_core::storage::Fill;
use springhouse_core::time::Span;
use springhouse_scenario::{Format, MembraneDesign, Scenario, parse, starter};

const GALLON_L: f64 = 3.785_411_784;
const GPM_LPS: f64 = GALLON_L / 60.0;
const PSI_KPA: f64 = 6.894_757_293_168_361;

/// The starter with storage and a membrane unit, each `from` replaced.
fn scenario(changes: &[(&str, &str)]) -> Scenario {
    let (before, after) = starter().split_once("[[building]]").unwrap_or_default();
    let mut text = format!("{before}{}\n[[building]]{after}", include_str!("common/membrane.toml"));
    for (from, to) in changes {
        assert!(text.contains(from), "no {from}");
        text = text.replacen(from, to, 1);
    }
    parse(&text, Format::Toml, "plant.toml").unwrap_or_else(|faults| panic!("{faults}")).scenario
}

fn unit(plant: &Plant) -> &springhouse_core::membrane::Membrane {
    let Some(membrane) = &plant.membrane else { panic!("no unit") };
    membrane
}

fn design(scenario: &Scenario) -> &MembraneDesign {
    let Some(design) = &scenario.membrane_design else { panic!("no unit") };
    design
}

/// Equal but for the rounding of a few products.
#[track_caller]
fn same(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-12 * wanted.abs(), "{found} is not {wanted}");
}

#[test]
fn a_scenario_without_a_unit_has_none() {
    let loaded = parse(starter(), Format::Toml, "plant.toml").unwrap();
    assert!(loaded.scenario.membrane_design.is_none() && loaded.scenario.plant.membrane.is_none());
}

#[test]
fn a_unit_is_read_with_its_defaults() {
    let scenario = scenario(&[]);
    let membrane = unit(&scenario.plant);
    let unit = &membrane.unit;
    assert_eq!((unit.elements_in_series, unit.vessels), (3, 1));
    assert!(unit.pump.is_some() && unit.osmotic == OsmoticModel::Chloride { share: 0.86 });
    same(unit.product_kpa, 3.0 * PSI_KPA);
    assert_eq!(unit.drain_kpa, 0.0);
    // The site's water is left out too.
    same(membrane.feed_temp_c, 20.0 / 1.8);
    assert_eq!((membrane.rise_m, membrane.reject_to, membrane.yields), (0.0, None, true));
    assert_eq!((membrane.divert, membrane.flush.before, membrane.flush.after), (Span::ZERO, Span::ZERO, Span::ZERO));
    assert_eq!((membrane.start_fouling.water_share, membrane.start_fouling.channel_times), (1.0, 1.0));
    same(membrane.inlet.kpa, 10.0 * PSI_KPA);
    assert_eq!((membrane.inlet.delay, membrane.inlet.retries), (Span::from_s(10.0), 3));
    assert_eq!(membrane.inlet.retry_after, Span::from_s(300.0));
    let design = design(&scenario);
    assert_eq!((design.feed, design.antiscalant, design.diameter_in), (FeedKind::Well, false, 4.0));
    assert_eq!((design.analyses.as_slice(), design.plate), ([None].as_slice(), None));
}

#[test]
fn exact_rated_pressure_and_end_of_the_curve() {
    let usual = scenario(&[]);
    // Tested at more than 100 psi, so built for 600.
    assert_eq!(design(&usual).rated_kpa, MOST_BRACKISH_KPA);
    let said = scenario(&[("[membrane]\n", "[membrane]\nrated_pressure = \"300 psi\"\n")]);
    same(design(&said).rated_kpa, 300.0 * PSI_KPA);
    same(design(&usual).pump_end_lps.unwrap(), 10.0 * GPM_LPS);
}

#[test]
fn exact_floats_call_it_and_storage_starts_full() {
    let scenario = scenario(&[("start = \"75 %\"\nstop = \"95 %\"", "start = \"75 %\"\nstop = \"1400 gal\"")]);
    let storage = &scenario.plant.store.as_ref().unwrap().storage;
    let Fill::Membrane { start_l, stop_l } = storage.fill else { panic!("{:?}", storage.fill) };
    same(start_l, 0.75 * 1_500.0 * GALLON_L);
    same(stop_l, 1_400.0 * GALLON_L);
    same(storage.start_l, stop_l);
}

#[test]
fn exact_half_the_room_of_the_elements_is_water_and_an_eighth_is_product() {
    let both = |changes: &[(&str, &str)]| {
        let scenario = scenario(changes);
        let membrane = unit(&scenario.plant);
        (membrane.unit.loop_volume_l, membrane.product_volume_l)
    };
    // Three cylinders of 4 by 40 inches hold 502.65 cubic inches each, of 16.387064 mL.
    let room_l = 3.0 * core::f64::consts::PI * 4.0 * 40.0 * 0.016_387_064;
    let (loop_l, product_l) = both(&[]);
    same(loop_l, 0.5 * room_l);
    same(product_l, 0.125 * room_l);
    let (loop_l, product_l) = both(&[("4 x 40", "2.5 x 21"), ("elements = 3", "elements = 2\nvessels = 3")]);
    let room_l = 6.0 * core::f64::consts::PI * 1.562_5 * 21.0 * 0.016_387_064;
    same(loop_l, 0.5 * room_l);
    same(product_l, 0.125 * room_l);
    let given = both(&[("elements = 3", "elements = 3\nloop_volume = \"15 L\"\nproduct_volume = \"0 L\"")]);
    assert_eq!(given, (15.0, 0.0));
}

#[test]
fn exact_readings_come_back_from_the_valves() {
    let changes = [("elements = 3", "elements = 3\ndrain_pressure = \"2 psi\"")];
    let valves = unit(&scenario(&changes).plant).unit.valves;
    same(valve_lps(valves.reject_kv, 138.0 * PSI_KPA), 2.1 * GPM_LPS);
    same(valve_lps(valves.recycle_kv, 90.0 * PSI_KPA), 2.4 * GPM_LPS);
}

#[test]
fn exact_flow_coefficients_pass_their_flow() {
    let readings = "[membrane.readings]\nreject = \"2.1 gpm\"\nrecycle = \"2.4 gpm\"\nconcentrate_pressure = \"140 psi\"\nsuction_pressure = \"50 psi\"";
    let valves = unit(&scenario(&[(readings, "[membrane.valves]\nreject = \"0.2 Cv\"\nrecycle = \"0.3 Kv\"")]).plant)
        .unit
        .valves;
    // By definition: gallons a minute at 1 psi, cubic metres an hour at 1 bar.
    same(valve_lps(valves.reject_kv, PSI_KPA), 0.2 * GPM_LPS);
    same(valve_lps(valves.recycle_kv, 100.0), 0.3 / 3.6);
    // Left out it is shut.
    let valves = unit(&scenario(&[(readings, "[membrane.valves]\nreject = \"0.2 Cv\"")]).plant).unit.valves;
    assert_eq!(valves.recycle_kv, 0.0);
}

/// Product and rejection of an element, tested as its plate says: 225 psi, 2000 mg/L of sodium chloride, 15 %, 25 °C.
fn tested(scenario: &Scenario, share: f64) -> (f64, f64) {
    use springhouse_core::membrane::element::{Fouling, Stream};
    let element = &unit(&scenario.plant).unit.element;
    let osmosis = Osmosis::at(OsmoticModel::Chloride { share }, 25.0);
    let product_lps = 2_200.0 * GALLON_L / 86_400.0;
    let feed = Stream { flow_lps: product_lps / 0.15, salt_mg_l: 2_000.0, pressure_kpa: 225.0 * PSI_KPA };
    let found = element.at(25.0, Fouling::CLEAN, 0.0, osmosis).pass(&feed, 0.1);
    (found.product_lps / product_lps, 1.0 - found.product_salt_mg_l / 2_000.0)
}

#[test]
fn exact_an_element_gives_its_plate_back_whatever_the_water_of_the_plant() {
    // A search to 1e-10 and some roundings.
    for osmotic in ["", "[membrane.osmotic]\nshare = \"70 %\"\n"] {
        let (product, rejection) = tested(&scenario(&[("[membrane.pump]", &format!("{osmotic}[membrane.pump]"))]), 1.0);
        assert!((product - 1.0).abs() < 1e-9 && (rejection - 0.985).abs() < 1e-9, "{product}, {rejection}");
    }
    // A test read with the water's own share would be off by its smaller osmotic pressure.
    let (product, _) = tested(&scenario(&[]), 0.86);
    assert!(product > 1.01, "{product}");
}

#[test]
fn constants_stand_in_for_a_plate() {
    let plate =
        "product = \"2200 gal/day\"\nrejection = \"98.5 %\"\ntest_pressure = \"225 psi\"\ntest_salt = \"2000 mg/L\"";
    let constants = "area = \"80 ft2\"\nwater_permeability = \"0.15 gfd/psi\"\nsalt_permeability = \"0.4 LMH\"\n\
                     water_temperature_constant = \"2500 K\"\nchannel_loss = \"5 psi\"\nchannel_exponent = 1.6\npolarisation = 0.8";
    let scenario = scenario(&[(plate, constants)]);
    let element = unit(&scenario.plant).unit.element;
    same(element.area_m2, 80.0 * 0.304_8 * 0.304_8);
    same(element.water_permeability_l_m2_h_bar, 0.15 * GALLON_L / 24.0 / (0.304_8 * 0.304_8) / (PSI_KPA / 100.0));
    same(element.salt_permeability_l_m2_h, 0.4);
    same(element.channel_loss_kpa, 5.0 * PSI_KPA);
    assert_eq!((element.water_temp_k, element.channel_exponent, element.polarisation), (2_500.0, 1.6, 0.8));
    // What is left out is as usual.
    assert_eq!(element.salt_temp_k, NominalSize::In4By40.element().salt_temp_k);
}

#[test]
fn what_can_be_said_beside_is_read() {
    let scenario = scenario(&[
        (
            "elements = 3",
            "elements = 3\ntemperature = \"10 °C\"\nrise = \"-2 ft\"\nyields = false\ndivert = \"90 s\"\nfeed = \"surface\"\n\
             antiscalant = true\nreject_to = \"pond\"",
        ),
        (
            "[membrane.pump]",
            "[membrane.osmotic]\ncoefficient = 0.93\n[membrane.flush]\nbefore = \"20 s\"\nflow = \"4 gpm\"\n\
             [membrane.inlet]\ntrip_pressure = \"1 bar\"\ndelay = \"3 s\"\nretry_after = \"10 min\"\nretries = 0\n\
             [membrane.fouling]\nwater_share = \"85 %\"\nchannel_times = 1.25\n\
             [membrane.plate]\nproduct = \"3800 gal/day\"\ninlet_pressure = \"45 psi\"\nsalt = \"1000 mg/L\"\n[membrane.pump]",
        ),
        (
            "[[building]]",
            "[pond]\nstandby = true\nvolume = \"80000 gal\"\ndepth = \"9 ft\"\n[pond.pump]\nconstant_flow = \"6 gpm\"\n\
             cut_in = \"40 psi\"\ncut_out = \"60 psi\"\n[change_over]\n\
             [[incident]]\nkind = \"membrane out\"\nstart = \"2027-06-08 12:00\"\nlength = \"3 h\"\n[[building]]",
        ),
    ]);
    let membrane = unit(&scenario.plant);
    assert_eq!((membrane.feed_temp_c, membrane.yields, membrane.reject_to), (10.0, false, Some(1)));
    same(membrane.rise_m, -0.609_6);
    assert_eq!(membrane.unit.osmotic, OsmoticModel::Ideal { coefficient: 0.93 });
    assert_eq!((membrane.divert, membrane.flush.before), (Span::from_s(90.0), Span::from_s(20.0)));
    assert_eq!(membrane.flush.after, Span::from_s(120.0));
    same(membrane.flush.flow_lps, 4.0 * GPM_LPS);
    assert_eq!((membrane.inlet.kpa, membrane.inlet.retries), (100.0, 0));
    assert_eq!((membrane.inlet.delay, membrane.inlet.retry_after), (Span::from_s(3.0), Span::from_s(600.0)));
    assert_eq!((membrane.start_fouling.water_share, membrane.start_fouling.channel_times), (0.85, 1.25));
    let design = design(&scenario);
    assert_eq!((design.feed, design.antiscalant, design.analyses.len()), (FeedKind::Surface, true, 2));
    let plate = design.plate.unwrap();
    same(plate.product_l_day, 3_800.0 * GALLON_L);
    same(plate.temp_c, 25.0);
    assert_eq!(scenario.incidents[0].kind, IncidentKind::MembraneOut);
}

/// A working day where nothing is said; a power cut needs its length as ever (`membrane_messages`).
#[test]
fn a_cleaning_has_a_usual_length() {
    let cleaned = |length: &str| {
        let incident =
            format!("[[incident]]\nkind = \"membrane cleaned\"\nstart = \"2027-06-08 08:00\"\n{length}\n[[building]]");
        let incident = scenario(&[("[[building]]", &incident)]).incidents[0].clone();
        (incident.kind, incident.length.s())
    };
    assert_eq!(cleaned(""), (IncidentKind::MembraneCleaned, 8.0 * 3_600.0));
    assert_eq!(cleaned("length = \"90 min\""), (IncidentKind::MembraneCleaned, 5_400.0));
}

#[test]
fn an_analysis_gives_salt_and_hardness_where_they_are_left_out() {
    let sheet = "[well.analysis]\nph = 7.5\ncalcium = \"60 mg/L\"\nmagnesium = \"24 ppm\"\nsodium = \"150 mg/L\"\n\
                 alkalinity = \"180 mg/L\"\nchloride = \"200 mg/L\"\nsulfate = \"100 mg/L\"\n";
    let with = |more: &str| scenario(&[("[[building]]", &format!("{sheet}{more}[[building]]"))]);
    let plain = with("");
    let analysis = design(&plain).analyses[0].unwrap();
    assert_eq!((analysis.ph, analysis.magnesium_mg_l, analysis.silica_mg_l), (7.5, 24.0, 0.0));
    same(analysis.temp_c, 20.0 / 1.8);
    let quality = plain.plant.supplies[0].quality;
    same(quality.salt_mg_l, analysis.tds_mg_l());
    // "Standard Methods", 2340 B: 2.497 times calcium and 4.118 times magnesium.
    same(quality.hardness_mg_l, 2.497 * 60.0 + 4.118 * 24.0);
    let given = with("[well.water]\nsalt = \"700 mg/L\"\nhardness = \"15 gpg\"\n").plant.supplies[0].quality;
    assert_eq!(given.salt_mg_l, 700.0);
    assert!((given.hardness_mg_l - 256.8).abs() < 0.1, "{}", given.hardness_mg_l);
    let measured = with("temperature = \"12 °C\"\ndissolved_solids = \"640 mg/L\"\n");
    let analysis = design(&measured).analyses[0].unwrap();
    assert_eq!((analysis.temp_c, analysis.measured_tds_mg_l), (12.0, Some(640.0)));
    assert_eq!(measured.plant.supplies[0].quality.salt_mg_l, 640.0);
    let typical = scenario(&[("[[building]]", "[well.analysis]\ntypical = \"soft well\"\n[[building]]")]);
    assert_eq!(design(&typical).analyses, [Some(TypicalWater::SoftWell.analysis())]);
}

#[test]
fn exact_the_supplies_give_the_reject_too() {
    let garden = "[[raw_load]]\nname = \"garden\"\n[[raw_load.valve]]\nstart = \"05:00\"\nlength = \"20 min\"\nflow = \"5 gpm\"\n";
    let scenario = scenario(&[("[[building]]", &format!("{garden}[[building]]"))]);
    let found = scenario.membrane_at_work().unwrap();
    assert_eq!(found.inlet_kpa, 40.0 * PSI_KPA);
    let recovery = found.flows.recovery();
    assert!((0.3..0.7).contains(&recovery), "{recovery}");
    let all_l = scenario.scheduled_l_per_day(|_| true);
    let garden_l = 100.0 * GALLON_L;
    same(scenario.needed_l_per_day(), garden_l + (all_l - garden_l) / recovery);
    let loaded = parse(starter(), Format::Toml, "plant.toml").unwrap().scenario;
    same(loaded.needed_l_per_day(), loaded.scheduled_l_per_day(|_| true));
}

#[test]
fn the_feed_is_that_of_the_supply_that_feeds_first() {
    let cistern = "[cistern]\nvolume = \"5000 gal\"\ndepth = \"8 ft\"\n[cistern.pump]\nconstant_flow = \"8 gpm\"\n\
                   cut_in = \"40 psi\"\ncut_out = \"60 psi\"\n[change_over]\n[[building]]";
    let scenario = scenario(&[("[well]\n", "[well]\nstandby = true\n"), ("[[building]]", cistern)]);
    assert_eq!(design(&scenario).feed, FeedKind::Surface);
}
