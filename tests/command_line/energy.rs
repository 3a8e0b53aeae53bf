//! What a run tells of sun, grid and money.

use std::fs;
use std::path::Path;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::springhouse;
use crate::ready;

/// The program's own starter with more sections at its end, run for some days; its summary and events.
fn run(sections: &str, days: &str) -> (Value, String) {
    let folder = TempDir::new().unwrap();
    let starter = springhouse(folder.path(), ["new", "-"]).with_code(0).stdout;
    fs::write(folder.path().join("house.toml"), format!("{starter}\n{sections}")).unwrap();
    springhouse(folder.path(), ["run", "house.toml", "--days", days, "--out", "."]).with_code(0);
    let text = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    (serde_json::from_str(&text("summary.json")).unwrap(), text("events.csv"))
}

fn number(value: &Value, key: &str) -> f64 {
    value.get(key).unwrap_or_else(|| panic!("no {key} in {value}")).as_f64().unwrap()
}

#[track_caller]
fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * (1.0 + expected.abs()), "{found} for {expected}");
}

/// Everything at one price: kilowatt-hours times that, and half a coin a day.
#[test]
fn exact_flat_tariff() {
    let tariff = "[tariff]\nimport = \"0.20 /kWh\"\nfixed_per_day = 0.5\ncarbon = \"0.4 kg/kWh\"\n";
    let (summary, events) = run(tariff, "3");
    let energy = &summary["energy"];
    let total_kwh = number(energy, "total_kwh");
    assert!(total_kwh > 0.1);
    close(number(energy, "import_kwh"), total_kwh);
    close(number(energy, "cost"), 0.2 * total_kwh + 1.5);
    close(number(energy, "plant_cost"), 0.2 * total_kwh);
    close(number(energy, "co2_kg"), 0.4 * total_kwh);
    for part in energy["parts"].as_array().unwrap() {
        close(number(part, "cost"), 0.2 * number(part, "kwh"));
        assert_eq!(number(part, "own_kwh"), 0.0);
    }
    assert!(energy.get("own_use_share").is_none() && energy.get("outages").is_none());
    // Prices are no matter for water.
    let (bare, same_events) = run("", "3");
    assert_eq!(events, same_events);
    assert_eq!(bare["water"], summary["water"]);
    assert_eq!(bare["energy"]["parts"][0]["kwh"], energy["parts"][0]["kwh"]);
    assert!(bare["energy"].get("cost").is_none());
}

/// What came is what went, and the shares follow from it.
#[test]
fn exact_books_of_a_year_of_everything() {
    let energy = ready::whole()["everything"].summary()["energy"].clone();
    let of = |key| number(&energy, key);
    close(of("solar_kwh"), of("used_on_site_kwh") + of("export_kwh") + of("curtailed_kwh"));
    // 14 kWh a day in the mean of the year, less what was without power: 60 % of the house in 29 hours of outages.
    let house = of("rest_of_house_kwh");
    assert!((14.0 * 365.0 - 0.6 * 14.0 * 29.0 / 24.0 * 1.5..14.0 * 365.0).contains(&house), "{house} kWh");
    // What comes out of the battery is nine tenths of what goes in, but for what was in it at the start and is at the end.
    let (put_in, taken) = (of("battery_in_kwh"), of("battery_out_kwh"));
    assert!((0.9 * put_in - taken).abs() < 10.0, "{taken} kWh out of {put_in}");
    let load = of("total_kwh") + house;
    let own = of("own_supply_share") * load;
    close(own + of("import_kwh"), load + grid_to_battery(&energy));
    let parts = energy["parts"].as_array().unwrap();
    let sum = |key| parts.iter().map(|part| number(part, key)).sum::<f64>();
    close(sum("kwh"), of("total_kwh"));
    close(sum("own_kwh"), of("plant_own_supply_share") * of("total_kwh"));
    close(sum("cost"), of("plant_cost"));
    close(number(&energy["outages"], "hours"), 29.0);
}

/// What the grid put into the battery: what went in beside the sun.
fn grid_to_battery(energy: &Value) -> f64 {
    let of = |key| number(energy, key);
    let straight = of("own_supply_share") * (of("total_kwh") + of("rest_of_house_kwh")) - of("battery_out_kwh");
    of("battery_in_kwh") - (of("used_on_site_kwh") - straight)
}

/// With hours for the unit and a tank that goes by the sun more of the plant is its own than at any time.
#[test]
fn hours_of_the_sun_make_more_its_own() {
    let folder = TempDir::new().unwrap();
    let file = ready::path("everything");
    let args =
        ["compare", "hours", file.to_str().unwrap(), "--from", "2027-05-03", "--days", "12", "--json", "--no-files"];
    let json: Value = serde_json::from_str(&springhouse(folder.path(), args).with_code(0).stdout).unwrap();
    let way = |name: &str| json["ways"].as_array().unwrap().iter().find(|way| way["way"] == name).unwrap().clone();
    let (any, by_sun) = (way("at any time"), way("membrane while the sun leaves enough"));
    assert_eq!((&any["as_given"], &way("the scenario's own")["as_given"]), (&false.into(), &true.into()));
    let own = |way: &Value| number(way, "plant_own_supply_share");
    assert!(own(&by_sun) > own(&any) + 0.02, "{} and {}", own(&by_sun), own(&any));
    assert!(number(&by_sun, "cost") < number(&any, "cost"));
    assert!(number(&by_sun, "lowest_storage_l") < number(&any, "lowest_storage_l"));
}

/// Energy comes out of the books the same whatever the grid of the lines.
#[test]
fn grid_of_lines_changes_no_energy() {
    let folder = TempDir::new().unwrap();
    let file = ready::path("outage");
    let summary = |grid: &str| {
        let out = Path::new(folder.path()).join(grid);
        let args = ["run", file.to_str().unwrap(), "--days", "2", "--grid", grid, "--out", out.to_str().unwrap()];
        springhouse(folder.path(), args).with_code(0);
        fs::read_to_string(out.join("summary.json")).unwrap()
    };
    assert_eq!(summary("60"), summary("47"));
}
