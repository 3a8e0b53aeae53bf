//! Study files: what they say, and what is told of those that cannot be.

use std::path::{Path, PathBuf};

use springhouse_scenario::study::{self, Limit, Spread, Study, Target, Values, reference_markdown};
use springhouse_scenario::vary::Value;

fn scenarios() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios")
}

fn read(text: &str) -> Result<Study, String> {
    let text = format!("scenario = \"full-house.toml\"\n{text}");
    study::parse(&text, "study.toml", &scenarios(), "study").map_err(|faults| faults.to_string())
}

fn told(text: &str) -> String {
    match read(text) {
        Ok(_) => "nothing is wrong".to_owned(),
        Err(faults) => faults.replace(&*scenarios().to_string_lossy(), "scenarios"),
    }
}

#[test]
fn exact_a_study_says_what_is_written() {
    let study = read(
        "name = \"storage\"
title = \"How small?\"
from = 2027-07-02
days = 3
runs = 500
figures = [\"water.run_outs\", \"storage.lowest_l\"]
reference = 2

[[vary]]
key = \"storage.volume\"
first = \"300 gal\"
last = \"1400 gal\"
count = 12
trade = [\"1000 gal\", \"550 gal\"]

[[vary]]
keys = [\"building[house].people[1].count\", \"building[cottage].people[1].count\"]
name = \"people\"
values = [[4, 2], [8, 4]]
prices = [1, 2.5]

[[uncertain]]
key = \"well.static_level\"
low = \"40 ft\"
high = \"60 ft\"
likely = \"45 ft\"

[stop]
half_width = \"2 %\"

[falls_short]
figure = \"storage.lowest_l\"
at_least = 200

[target]
chance = \"1 %\"
",
    )
    .unwrap();
    assert_eq!(
        (study.name.as_str(), study.title.as_str(), study.runs, study.reference),
        ("storage", "How small?", 500, 1)
    );
    assert_eq!((study.days, study.seed), (Some(3), None));
    assert!((study.confidence - 0.95).abs() < 1e-15);
    let [storage, people] = study.axes.as_slice() else { panic!("two axes") };
    assert_eq!((storage.count(), people.count(), people.name.as_str()), (12, 2, "people"));
    assert_eq!(storage.value(0), [Value::text("300 gal")]);
    assert_eq!(storage.value(11), [Value::text("1400 gal")]);
    assert_eq!(people.value(1), [Value::whole(8), Value::whole(4)]);
    assert_eq!(people.prices, [1.0, 2.5]);
    assert_eq!(storage.trade, [Value::text("550 gal"), Value::text("1000 gal")]);
    assert!(matches!(study.uncertain[0].spread, Spread::Triangular { .. }));
    assert_eq!(study.short_limit, Limit::AtLeast(200.0));
    assert!(matches!(study.target, Some(Target::Chance(chance)) if chance == 0.01));
    // A target says what the runs may stop at.
    assert_eq!(study.stop.map(|stop| (stop.half_width, stop.chance)), Some((Some(0.02), Some(0.01))));
}

#[test]
fn exact_ranges_have_no_more_digits_than_they_tell() {
    let values = |range: &str, count: usize| {
        let study = read(&format!("[[vary]]\nkey = \"storage.volume\"\n{range}\ncount = {count}\n")).unwrap();
        (0..count).map(|place| study.axes[0].value(place)[0].to_string()).collect::<Vec<_>>()
    };
    assert_eq!(
        values("first = \"60 gal\"\nlast = \"700 gal\"", 4),
        ["\"60 gal\"", "\"273.3 gal\"", "\"486.7 gal\"", "\"700 gal\""]
    );
    assert_eq!(
        values("first = \"100 L\"\nlast = \"10 m3\"\nsteps = \"ratio\"", 3),
        ["\"100 L\"", "\"1000 L\"", "\"10000 L\""]
    );
    let study = read("[[vary]]\nkey = \"storage.volume\"\nfirst = \"60 gal\"\nlast = \"700 gal\"\n").unwrap();
    let Values::Range { range, .. } = &study.axes[0].values else { panic!("a range") };
    assert_eq!(range.between(1000.0, 1010.0).map(|value| value.to_string()).as_deref(), Some("\"265.5 gal\""));
    assert!(range.between(1000.0, 1000.1).is_none());
}

#[test]
fn what_is_wrong_points_at_its_line() {
    let vary = "[[vary]]\nkey = \"storage.volume\"\n";
    let texts = [
        String::new(),
        format!("run = 5\n{vary}values = [\"300 gal\"]"),
        "[[vary]]\nkey = \"storage.volum\"\nvalues = [\"300 gal\"]".to_owned(),
        "[[vary]]\nkey = \"storage\"\nvalues = [\"300 gal\"]".to_owned(),
        format!("{vary}values = [\"300 gal\", 500, \"700 psi\"]"),
        format!("{vary}values = []"),
        vary.to_owned(),
        format!("{vary}first = \"300 gal\"\nlast = \"300 gal\""),
        format!("{vary}values = [\"300 gal\"]\nlast = \"500 gal\""),
        format!("{vary}values = [\"300 gal\", \"400 gal\"]\nprices = [1]"),
        "[[vary]]\nkeys = [\"storage.volume\", \"membrane.salt\"]\nvalues = [[\"300 gal\"]]".to_owned(),
        format!("{vary}values = [\"300 gal\"]\n{vary}values = [\"400 gal\"]"),
        "[[uncertain]]\nkey = \"well.static_level\"\nlow = \"40 ft\"".to_owned(),
        "[[uncertain]]\nkey = \"well.static_level\"\nvalues = [\"40 ft\", \"50 ft\"]\nweights = [1]".to_owned(),
        format!("{vary}values = [\"300 gal\"]\n[target]\nfigure = \"water.run_outs\""),
        format!("{vary}values = [\"300 gal\"]\n[stop]\nleast_runs = 10"),
        format!("confidence = \"30 %\"\n{vary}values = [\"300 gal\"]"),
    ];
    let told: Vec<String> = texts.iter().map(|text| format!("--- {text}\n\n{}", told(text))).collect();
    insta::assert_snapshot!(told.join("\n\n"));
}

#[test]
fn reference_of_studies_is_current() {
    let path = scenarios().join("../docs/study.md");
    let text = reference_markdown();
    if std::env::var_os("UPDATE_DOCS").is_some_and(|value| value == "1") {
        assert!(std::fs::write(&path, &text).is_ok(), "docs/study.md cannot be written");
    }
    let found = std::fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert!(found == text, "docs/study.md is not current: run this test with UPDATE_DOCS=1");
}
