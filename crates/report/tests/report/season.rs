//! A season: the days as a table, the text of a long run, and its pictures.

use springhouse_report::{Run, csv, plots, text, write};
use springhouse_scenario::Units;

use crate::invented::Case;
use crate::layout::assert_laid_out;
use crate::year::{POND, cases, end_of, plain, real_month, season, two_ponds};

type Table = (Vec<String>, Vec<Vec<String>>);

fn read(write: impl FnOnce(&mut Vec<u8>)) -> Table {
    let mut bytes = Vec::new();
    write(&mut bytes);
    let mut table = ::csv::Reader::from_reader(bytes.as_slice());
    let head = table.headers().unwrap().iter().map(str::to_owned).collect();
    (head, table.records().map(|record| record.unwrap().iter().map(str::to_owned).collect()).collect())
}

fn days(run: &Run<'_>) -> Table {
    read(|out| csv::days(run, out).unwrap())
}

/// A column as numbers; empty cells are `None`.
fn column((head, rows): &Table, key: &str) -> Vec<Option<f64>> {
    let place = head.iter().position(|name| name == key).unwrap_or_else(|| panic!("no column {key} in {head:?}"));
    rows.iter()
        .map(|row| Some(row[place].as_str()).filter(|cell| !cell.is_empty()).map(|cell| cell.parse().unwrap()))
        .collect()
}

fn sum(table: &Table, key: &str) -> f64 {
    column(table, key).into_iter().flatten().sum()
}

fn told(run: &Run<'_>) -> String {
    let caution = text::caution(run).unwrap_or_default();
    [text::wrapped(&text::headline(run)), text::body(run), caution].join("\n")
}

#[test]
fn regress_columns_of_days() {
    let keys = |case: &Case| days(&case.run(Units::Us)).0.join("\n");
    insta::assert_snapshot!([keys(&season(30)), keys(&plain(30))].join("\n\n"));
}

#[test]
fn exact_days_tell_what_was_kept() {
    let case = season(120);
    let table = days(&case.run(Units::Us));
    assert_eq!(table.1.len(), 120);
    assert_eq!([&table.1[0][0], &table.1[119][0]], ["2026-08-03", "2026-11-30"]);
    for (number, day) in case.outcome.days.iter().enumerate() {
        let weather = day.weather.unwrap();
        let (pond, made) = (day.totals.supplies[POND], day.totals.membrane);
        let told = [
            ("air_low_c", weather.low_c),
            ("air_mean_c", weather.air_c),
            ("air_high_c", weather.high_c),
            ("rain_mm", weather.rain_mm),
            ("reference_evaporation_mm", weather.evaporation_mm),
            ("sun_mj_m2", weather.sun_mj_m2),
            ("pumped_l:pond", pond.pumped_l),
            ("rain_l:pond", pond.rain_l),
            ("runoff_l:pond", pond.runoff_l),
            ("evaporated_l:pond", pond.evaporated_l),
            ("seeped_l:pond", pond.seeped_l),
            ("returned_l:pond", pond.returned_l),
            ("spilled_l:pond", pond.spilled_l),
            ("pump_kwh:pond", pond.pump_j / 3.6e6),
            ("starts:well", 11.0),
            ("starts:pond", 4.0),
            ("water_l:pond", day.sources[POND]),
            ("salt_mg_l:pond", day.salt_mg_l[POND]),
            ("solids_mg_l:pond", day.solids_mg_l[POND]),
            ("temp_c:pond", day.temp_c[POND]),
            ("ice_m:pond", day.ice_m[POND]),
            ("drawdown_m:well", 1.25),
            ("run_out_minutes", day.run_out_s / 60.0),
            ("storage_l", day.storage_l),
            ("delivered_l", day.totals.outlets[0].delivered_l + 210.0),
            ("lost_l", day.totals.outlets[0].lost_l),
            ("raw_loads_l", 120.0),
            ("energy_kwh", day.totals.energy_j() / 3.6e6),
            ("product_l:membrane unit", day.totals.filled_l),
            ("feed_l:membrane unit", day.totals.taken_l),
            ("run_s:membrane unit", made.run_s),
            ("product_salt_mg_l:membrane unit", day.product_salt_mg_l),
            ("feed_temp_c:membrane unit", day.feed_temp_c),
        ];
        for (key, value) in told {
            // Rounded to two decimals at the coarsest, the air's.
            let found = column(&table, key)[number].unwrap_or_else(|| panic!("{key} of day {number} is empty"));
            assert!((found - value).abs() <= 0.5e-2 + 1e-9, "{key} of day {number}: {found} for {value}");
        }
        let rate = column(&table, "product_l_h:membrane unit")[number];
        match rate {
            Some(rate) => assert!((rate * made.run_s - 3_600.0 * made.product_l).abs() < 30.0, "day {number}: {rate}"),
            None => assert!((100..104).contains(&number), "day {number} has no rate"),
        }
    }
    let empty = column(&table, "product_l_h:membrane unit").iter().filter(|rate| rate.is_none()).count();
    assert_eq!(empty, 4);
}

#[test]
fn exact_days_of_a_run_add_up_to_its_summary_and_its_minutes() {
    let case = real_month();
    let run = case.run(Units::Us);
    let (days, minutes) = (days(&run), read(|out| csv::minutes(&run, out).unwrap()));
    let (summary, pond) = (&case.outcome.summary, &case.outcome.summary.supplies[POND]);
    let (open, unit) = (pond.open_water.as_ref().unwrap(), summary.membrane.as_ref().unwrap());
    let sums = [
        ("delivered_l", summary.water.delivered_l),
        ("energy_kwh", summary.energy.total_kwh),
        ("pumped_l:well", summary.supplies[0].given_l),
        ("rain_l:pond", open.rain_l),
        ("runoff_l:pond", open.runoff_l),
        ("evaporated_l:pond", open.evaporated_l),
        ("seeped_l:pond", open.seeped_l),
        ("returned_l:pond", pond.returned_l.unwrap()),
        ("product_l:membrane unit", unit.product_l),
        ("feed_l:membrane unit", unit.feed_l),
        ("run_s:membrane unit", 3_600.0 * unit.run_hours),
        ("rain_mm", summary.weather.as_ref().unwrap().rain_mm),
    ];
    for (key, total) in sums {
        let (found, lines) = (sum(&days, key), 28.0);
        // Each line is rounded to three decimals or more.
        assert!(total > 1.0 && (found - total).abs() <= lines * 0.5e-3, "{key}: {found} for {total}");
        if key != "rain_mm" {
            let found = sum(&minutes, key);
            assert!((found - total).abs() <= 673.0 * 0.5e-3, "{key} of minutes: {found} for {total}");
        }
    }
    assert!(
        (sum(&days, "starts:well") - f64::from(u32::try_from(summary.well.as_ref().unwrap().starts).unwrap())).abs()
            < 0.5
    );
    // How things stood at the end of a day is what the row of that midnight says.
    let time = |day: usize| springhouse_report::calendar::iso_seconds(run.first_day, end_of(day));
    for key in ["water_l:pond", "salt_mg_l:pond", "temp_c:pond", "ice_m:pond", "storage_l"] {
        let (of_days, of_minutes) = (column(&days, key), column(&minutes, key));
        for (day, value) in of_days.iter().enumerate() {
            let row = minutes.1.iter().position(|row| row[0] == time(day)).unwrap();
            assert_eq!(*value, of_minutes[row], "{key} at the end of day {day}");
        }
    }
    let end_l = column(&days, "water_l:pond")[27].unwrap();
    assert!((end_l - pond.end_l.unwrap()).abs() < 1e-3);
}

#[test]
fn plant_without_open_water_has_no_columns_of_it() {
    let run_of = plain(30);
    let (head, _) = days(&run_of.run(Units::Us));
    let (minutes, _) = read(|out| csv::minutes(&run_of.run(Units::Us), out).unwrap());
    for key in head.iter().chain(&minutes) {
        let open = ["rain", "runoff", "evapor", "seep", "ice_m", "temp_c", "air_", "sun_", "solids"];
        assert!(!open.iter().any(|word| key.contains(word)) && !key.contains("membrane"), "{key}");
    }
}

#[test]
fn regress_text_of_a_year() {
    insta::assert_snapshot!("year_us", told(&season(365).run(Units::Us)));
    insta::assert_snapshot!("year_metric", told(&season(365).run(Units::Metric)));
}

#[test]
fn months_are_told_of_long_runs_and_fit_the_screen() {
    let january = |days: u32| text::body(&season(days).run(Units::Us)).lines().any(|line| line.starts_with("Sep 2026"));
    assert_eq!([59, 60].map(january), [false, true]);
    for (case, units) in [(two_ponds(420), Units::Us), (season(365), Units::Metric), (plain(90), Units::Us)] {
        let text = told(&case.run(units));
        for line in text.lines() {
            assert!(line.chars().count() <= 100, "too long: {line}");
        }
        // No month is left out, and none told twice in a block.
        let blocks = text.matches("Aug 2026  ").count();
        assert_eq!(blocks, text.matches("Oct 2026  ").count(), "{text}");
        assert!(blocks >= 1, "{text}");
    }
    let plain = text::body(&plain(90).run(Units::Us));
    assert!(!plain.contains("rain") && !plain.contains("full") && !plain.contains("product"), "{plain}");
}

#[test]
fn exact_months_add_up_to_their_days() {
    let case = season(365);
    let text = text::body(&case.run(Units::Metric));
    let cells = |line: &str| -> Vec<f64> {
        line.split_whitespace()
            .skip(2)
            .map(|cell| cell.parse().unwrap_or_else(|_| panic!("{cell} in {line}")))
            .collect()
    };
    let is_month = |line: &&str| [" 2026  ", " 2027  "].iter().any(|year| line.get(3..10) == Some(year));
    let months: Vec<Vec<f64>> = text.lines().filter(is_month).map(cells).collect();
    assert_eq!(months.len(), 13, "{text}");
    let days = || case.outcome.days.iter();
    let totals = [
        (0, days().map(|day| day.weather.unwrap().rain_mm).sum::<f64>()),
        (2, days().map(|day| day.totals.supplies[0].pumped_l).sum()),
        (3, days().map(|day| day.totals.supplies[POND].pumped_l).sum()),
        (8, days().map(|day| day.totals.outlets[0].lost_l).sum()),
        (9, days().map(|day| day.totals.energy_j() / 3.6e6).sum()),
    ];
    for (place, total) in totals {
        let sum: f64 = months.iter().map(|cells| cells[place]).sum();
        // Thirteen whole numbers.
        assert!((sum - total).abs() <= 6.5, "column {place}: {sum} for {total}");
    }
    // 31 August is the 29th day of the run.
    let (august, day) = (&months[0], case.outcome.days[28].clone());
    assert!((august[4] - day.sources[POND] / 2_000.0).abs() <= 0.5 && (august[5] - day.salt_mg_l[POND]).abs() <= 0.5);
}

#[test]
fn exact_days_are_those_of_the_supply_that_gave_most() {
    let case = season(365);
    let ran = |day: &&springhouse_sim::Day| day.totals.membrane.run_s > 0.0;
    let (mut well, mut pond) = (0, 0);
    for day in case.outcome.days.iter().filter(ran) {
        let [given_l, pond_l, _] = day.totals.supplies.map(|supply| supply.pumped_l);
        *(if pond_l > given_l { &mut pond } else { &mut well }) += 1;
    }
    let svg = of_season(&case, Units::Us).last().unwrap().svg().unwrap();
    for told in [format!("well: {well} days on which"), format!("pond: {pond} days on which")] {
        assert!(svg.contains(&told), "{told}");
    }
    // A diamond for each, and one in the key.
    let diamonds = svg.matches("<polygon").count();
    assert_eq!((well + pond, diamonds), (361, pond + 1));
}

#[test]
fn ice_is_cautioned_against() {
    let caution = |case: &Case| text::caution(&case.run(Units::Us)).unwrap_or_default();
    let mut case = season(30);
    assert!(caution(&case).contains("keep people and animals off"));
    case.outcome.summary.verdict.findings.clear();
    assert!(!caution(&case).contains("animals"));
}

/// The plots of a season among those of a run.
fn of_season(case: &Case, units: Units) -> Vec<plots::Plot> {
    let mut plots = plots::all(&case.run(units));
    plots.retain(|plot| ["season", "product-by-temperature"].contains(&plot.name));
    plots
}

#[test]
fn regress_titles_of_seasons_with_all_words_in_their_places() {
    let mut titles = Vec::new();
    for (name, case, units) in cases() {
        for plot in of_season(&case, units) {
            assert_laid_out(name, &plot);
            titles.push(format!("{name}, {}: {}", plot.name, plot.title()));
        }
    }
    insta::assert_snapshot!("titles", titles.join("\n"));
}

#[test]
fn season_is_shown_of_runs_that_are_long_enough_and_of_parts_that_are_there() {
    let names = |case: &Case| -> Vec<&str> {
        plots::all(&case.run(Units::Us))
            .iter()
            .map(|plot| plot.name)
            .filter(|name| !["levels", "pump"].contains(name))
            .collect()
    };
    assert_eq!(names(&season(27)), ["run-outs", "energy"]);
    assert_eq!(names(&season(28)), ["run-outs", "energy", "season", "product-by-temperature"]);
    assert_eq!(names(&plain(28)), ["run-outs", "energy", "season"]);
    let words = |case: &Case| {
        let plots = plots::all(&case.run(Units::Us));
        plots.iter().find(|plot| plot.name == "season").unwrap().svg().unwrap()
    };
    let (all, few) = (words(&season(365)), words(&plain(365)));
    for part in
        ["Air", "Rain", "Water in the pond", "Salt in the pond", "ice", "Product of the membrane", "Temperature"]
    {
        assert!(all.contains(part) && !few.contains(part), "{part}");
    }
    assert!(all.contains("Water given") && few.contains("Water given"));
    assert!(all.contains("well pump out") && !few.contains("well pump out"));
}

#[test]
fn days_are_written_where_they_were_kept() {
    let place = tempfile::tempdir().unwrap();
    let mut case = season(28);
    let names = |folder: &std::path::Path| -> Vec<String> {
        let mut names: Vec<_> =
            std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    write::all(&case.run(Units::Us), &place.path().join("kept")).unwrap();
    let kept = names(&place.path().join("kept"));
    for name in ["days.csv", "season.png", "season.svg", "product-by-temperature.png", "product-by-temperature.svg"] {
        assert!(kept.iter().any(|file| file == name), "{name} is not among {kept:?}");
    }
    case.outcome.days.clear();
    write::all(&case.run(Units::Us), &place.path().join("none")).unwrap();
    assert_eq!(names(&place.path().join("none")).len(), kept.len() - 5);
}

#[test]
fn seasons_can_be_looked_at() {
    // Set SPRINGHOUSE_PLOTS to a folder to look at the pictures of all cases.
    let Some(folder) = std::env::var_os("SPRINGHOUSE_PLOTS") else { return };
    for (name, case, units) in cases() {
        for plot in
            plots::all(&case.run(units)).iter().filter(|plot| ["season", "product-by-temperature"].contains(&plot.name))
        {
            let place = std::path::Path::new(&folder).join(format!("{name}-{}.png", plot.name));
            std::fs::write(place, plot.png().unwrap()).unwrap();
        }
    }
}
