//! The reader: two languages with one meaning, and no text that breaks it.

use proptest::prelude::*;
use springhouse_scenario::{Format, Scenario, load, parse, starter};

/// A scenario without its name, as one text.
fn meaning(scenario: &Scenario) -> String {
    let Scenario { name: _, title, start, days, seed, units, plant, schedule, homes, logs, incidents, .. } = scenario;
    let Scenario { dated_draws, rain, prices_per_m3, membrane_design, .. } = scenario;
    format!(
        "{title:?} {start} {days} {seed} {units:?} {plant:?} {schedule:?} {homes:?} {logs:?} {incidents:?} {dated_draws:?} {rain:?} \
         {prices_per_m3:?} {membrane_design:?}"
    )
}

/// The starter with storage and a membrane unit.
fn with_membrane() -> String {
    let (before, after) = starter().split_once("[[building]]").unwrap_or_default();
    format!("{before}{}\n[[building]]{after}", include_str!("common/membrane.toml"))
}

fn starter_as_json() -> String {
    as_json(starter())
}

fn as_json(text: &str) -> String {
    let table: toml::Table = toml::from_str(text).unwrap_or_default();
    // The date is the one value that JSON has no type for.
    let text = serde_json::to_string_pretty(&table).unwrap_or_default();
    text.replace("{\n    \"$__toml_private_datetime\": \"2027-06-07\"\n  }", "\"2027-06-07\"")
}

#[test]
fn toml_and_json_mean_the_same() {
    let toml = parse(starter(), Format::Toml, "one.toml").unwrap().scenario;
    let json = parse(&starter_as_json(), Format::Json, "two.json").unwrap_or_else(|faults| panic!("{faults}")).scenario;
    assert_eq!(meaning(&toml), meaning(&json));
    assert_eq!((toml.name.as_str(), json.name.as_str()), ("one", "two"));
    let toml = parse(&with_membrane(), Format::Toml, "one.toml").unwrap().scenario;
    let json = parse(&as_json(&with_membrane()), Format::Json, "two.json").unwrap().scenario;
    assert_eq!(meaning(&toml), meaning(&json));
}

#[test]
fn the_mark_before_a_file_and_line_ends_of_two_bytes_are_tolerated() {
    let plain = parse(starter(), Format::Toml, "one.toml").unwrap().scenario;
    let marked = format!("\u{feff}{}", starter().replace('\n', "\r\n"));
    let marked = parse(&marked, Format::Toml, "one.toml").unwrap().scenario;
    assert_eq!(meaning(&plain), meaning(&marked));
}

#[test]
fn headers_may_be_nested_in_any_valid_way() {
    let plain = parse(starter(), Format::Toml, "one.toml").unwrap().scenario;
    let inline = starter()
        .replace("[well.test]\nflow = \"8 gpm\"\ntime = \"4 h\"\ndrawdown = \"45 ft\"\n", "")
        .replace("[well]\n", "[well]\ntest = { flow = \"8 gpm\", time = \"4 h\", drawdown = \"45 ft\" }\n")
        .replace("[site]\naltitude = \"0 ft\"", "[site]\naltitude = \"0 m\"");
    assert_ne!(inline, starter());
    let inline = parse(&inline, Format::Toml, "one.toml").unwrap_or_else(|faults| panic!("{faults}")).scenario;
    assert_eq!(meaning(&plain), meaning(&inline));
}

#[test]
fn a_file_that_cannot_be_read_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let load_from = |name: &str, bytes: Option<&[u8]>| {
        let path = folder.path().join(name);
        if let Some(bytes) = bytes {
            std::fs::write(&path, bytes).unwrap();
        }
        load(&path).unwrap_err().to_string()
    };
    assert!(load_from("none.toml", None).contains("cannot be read"));
    assert!(load_from("plant.yaml", Some(b"")).contains("ends in .toml or .json"));
    assert!(load_from("plant", Some(b"")).contains("ends in .toml or .json"));
    let latin = load_from("latin.toml", Some(b"days = 3\ntitle = \"caf\xe9\"\n"));
    assert!(latin.contains("not text in UTF-8") && latin.contains("line 2"), "{latin}");
    let log = format!("{}\n[[log]]\nfile = \"none.csv\"\n", starter());
    let log = load_from("log.toml", Some(log.as_bytes()));
    assert!(log.contains("not there") && log.contains("none.csv"), "{log}");
}

#[test]
fn values_nested_without_end_are_refused() {
    let deep = 50_000;
    for (text, format) in [
        (format!("a = {}{}", "[".repeat(deep), "]".repeat(deep)), Format::Toml),
        (format!("a{} = 1", ".a".repeat(deep)), Format::Toml),
        (format!("[a{}]", ".a".repeat(deep)), Format::Toml),
        (format!("a = {}{}", "{ a = ".repeat(deep), "}".repeat(deep)), Format::Toml),
        (format!("{}{}", "[".repeat(deep), "]".repeat(deep)), Format::Json),
        (format!("{}1{}", "{\"a\":".repeat(deep), "}".repeat(deep)), Format::Json),
    ] {
        assert!(parse(&text, format, "deep").is_err());
    }
}

/// The starter with one stretch of it replaced.
fn broken(text: &str, from: usize, length: usize, with: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let from = from % letters.len();
    let to = (from + length).min(letters.len());
    letters.iter().take(from).copied().chain(with.chars()).chain(letters.iter().skip(to).copied()).collect()
}

fn survives(text: &str, format: Format) {
    if let Err(faults) = parse(text, format, "any") {
        assert!(!faults.is_empty() && !faults.render(true).is_empty());
    }
}

proptest! {
    #[test]
    fn no_text_breaks_the_reader(text in "\\PC{0,200}") {
        survives(&text, Format::Toml);
        survives(&text, Format::Json);
    }

    #[test]
    fn no_text_like_a_scenario_breaks_the_reader(text in "((\\[|\\[\\[)?(well|site|draw|storage|délivery|[a-z]{1,3})(\\.test|\\]|\\]\\])?( = |\\n|\\r\\n)?(\"[0-9]{1,3} (gal|psi|é)\"|[0-9]|\\{|\\}|\\[|\\]|nan|2027-06-07)?\\n?){0,12}") {
        survives(&text, Format::Toml);
        survives(&text, Format::Json);
    }

    #[test]
    fn no_slip_of_the_editor_breaks_the_reader(from: usize, length in 0_usize..40, with in "[\"\\[\\]{}=,.0-9a-z \\n½°-]{0,4}") {
        survives(&broken(starter(), from, length, &with), Format::Toml);
        survives(&broken(&starter_as_json(), from, length, &with), Format::Json);
        let text = with_membrane();
        // Within the sections that the starter does not have.
        let unit = text.chars().count() - starter().chars().count();
        let start = starter().split_once("[[building]]").map_or(0, |(before, _)| before.chars().count());
        survives(&broken(&text, start + from % unit, length, &with), Format::Toml);
    }
}
