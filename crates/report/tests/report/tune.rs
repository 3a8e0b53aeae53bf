//! How to set the valves of a membrane unit, as text, JSON, CSV and picture.

use std::path::Path;
use std::sync::OnceLock;

use serde_json::Value;
use springhouse_report::tune::{Tuned, csv, json, product_unit_l, text};
use springhouse_report::{plots, write};
use springhouse_scenario::{Scenario, Units, load};
use springhouse_study::tune::{Aim, Asked, Question, Tuning};

use crate::layout::assert_laid_out;

fn scenario() -> Scenario {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios/membrane.toml");
    load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario
}

/// The unit of the ready scenario, changed.
fn tuned(aim: Aim, units: Units, change: impl Fn(&mut Question)) -> (Scenario, Tuning) {
    let scenario = scenario();
    let mut question = Question::of(&scenario, &Asked::default()).unwrap();
    change(&mut question);
    let tuning = Tuning::of(question, aim, product_unit_l(units)).unwrap();
    (scenario, tuning)
}

/// A name, the reader's units, and what was tuned.
type Case = (&'static str, Units, (Scenario, Tuning));

/// Units and waters that make pictures unlike each other, worked out once for all tests.
fn cases() -> &'static [Case] {
    static CASES: OnceLock<Vec<Case>> = OnceLock::new();
    CASES.get_or_init(made)
}

fn made() -> Vec<Case> {
    let mut cases = Vec::new();
    let mut add = |name, aim, units, change: fn(&mut Question)| cases.push((name, units, tuned(aim, units, change)));
    add("enough", Aim::Enough, Units::Us, |_| ());
    add("gentlest", Aim::Gentlest, Units::Metric, |_| ());
    add("least waste", Aim::LeastWaste, Units::Metric, |question| question.analysis = None);
    add("scaling", Aim::Enough, Units::Us, |question| question.antiscalant = false);
    add("too little", Aim::Enough, Units::Us, |question| {
        if let Some(want) = &mut question.want {
            want.product_l_day *= 12.0;
        }
    });
    add("no pump", Aim::Enough, Units::Metric, |question| question.unit.pump = None);
    add("shut", Aim::Enough, Units::Us, |question| question.unit.valves.recycle_kv = 0.0);
    cases
}

#[test]
fn pictures_have_their_words_in_place() {
    for (name, units, (scenario, tuning)) in cases() {
        let tuned = Tuned { scenario, tuning, units: *units };
        let plot = plots::tune(&tuned);
        assert_eq!(plot.title(), text::headline(&tuned), "{name}");
        assert_laid_out(name, &plot);
        let svg = plot.svg().unwrap();
        if tuning.told().within_limits {
            assert!(svg.contains("set here") && svg.contains("all limits are kept"), "{name}");
        } else {
            assert!(svg.contains("least bad") && !svg.contains("all limits are kept"), "{name}");
        }
        if let Some(folder) = std::env::var_os("SPRINGHOUSE_PLOTS") {
            std::fs::write(Path::new(&folder).join(format!("tune-{name}.png")), plot.png().unwrap()).unwrap();
        }
    }
}

#[test]
fn texts_fit_a_screen_and_say_what_is_asked() {
    for (name, units, (scenario, tuning)) in cases() {
        let tuned = Tuned { scenario, tuning, units: *units };
        let body = text::body(&tuned);
        assert!(body.lines().all(|line| line.chars().count() <= 100), "{name}: {body}");
        assert!(!body.contains("NaN") && !body.contains("inf"), "{name}: {body}");
        let conflicted = body.contains("Warning: no setting keeps");
        assert_eq!(conflicted, !tuning.advice.within_limits, "{name}: {body}");
        assert_eq!(body.contains("Recycle alone saves no water"), !matches!(*name, "no pump" | "shut"), "{name}");
    }
}

#[test]
fn exact_json_and_text_say_the_same() {
    let (scenario, tuning) = tuned(Aim::Enough, Units::Metric, |_| ());
    let tuned = Tuned { scenario: &scenario, tuning: &tuning, units: Units::Metric };
    let told: Value = serde_json::from_str(&json::advice(&tuned).unwrap()).unwrap();
    assert_eq!(told["schema"], "springhouse-tune/2");
    let answer = &told["answer"];
    assert_eq!(answer["text"], text::headline(&tuned));
    let number = |key: &str| answer[key].as_f64().unwrap();
    let said = format!(
        "Set reject to {:.1} L/min and recycle to {:.1} L/min:",
        60.0 * number("reject_lps"),
        60.0 * number("recycle_lps")
    );
    assert!(text::headline(&tuned).starts_with(&said), "{said}");
    assert_eq!(told["advised"]["typical"]["reject_lps"], answer["reject_lps"]);
    assert_eq!(told["steps"].as_array().unwrap().len(), tuning.steps.len());
    let binds = told["limits"].as_array().unwrap().iter().filter(|limit| limit["binds"] == true).count();
    assert_eq!(binds, tuning.advice.limits.iter().filter(|state| state.binds).count());
}

#[test]
fn water_that_scales_is_not_cured_by_valves() {
    let (scenario, tuning) = tuned(Aim::Enough, Units::Us, |question| question.antiscalant = false);
    let tuned = Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us };
    let cure = tuning.cure.as_ref().unwrap();
    let dosed = cure.with_antiscalant.as_ref().unwrap();
    assert_eq!(tuning.steps.last().map(|step| step.to), Some(dosed.valves));
    let said = text::headline(&tuned);
    assert!(
        said.starts_with("No setting of the valves keeps calcite scale off: dose an antiscalant, then set"),
        "{said}"
    );
    let body = text::body(&tuned);
    assert!(body.contains("Leave the valves as they are until an antiscalant is dosed."), "{body}");
    let told: Value = serde_json::from_str(&json::advice(&tuned).unwrap()).unwrap();
    assert_eq!(told["within_limits"], false);
    assert_eq!(told["cure"]["with_antiscalant"]["reject_lps"], told["answer"]["reject_lps"]);
    // What is left of the reject at 18.4 times the product, where the feed itself is just within its limit.
    assert!(told["cure"]["without_l_per_l"].as_f64().unwrap() > 10.0);
}

#[test]
fn softener_is_advised_only_against_what_it_takes_out() {
    let said = |change: fn(&mut Question)| {
        let (scenario, tuning) = tuned(Aim::Enough, Units::Us, change);
        assert!(tuning.steps.is_empty(), "{:?}", tuning.cure);
        let tuned = Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us };
        (text::headline(&tuned), text::body(&tuned).split_whitespace().collect::<Vec<_>>().join(" "))
    };
    // More than an antiscalant bears, as it comes from the well.
    let (headline, body) = said(|question| question.analysis.as_mut().unwrap().silica_mg_l = 400.0);
    assert!(
        headline.contains("silica scale off, not even with the antiscalant: it takes another source."),
        "{headline}"
    );
    assert!(body.contains("a softener does not take silica out") && !headline.contains("soften"), "{body}");
    let (headline, _) = said(|question| {
        question.antiscalant = false;
        question.analysis.as_mut().unwrap().silica_mg_l = 400.0;
    });
    assert!(headline.contains("none keeps all limits either: it takes another source."), "{headline}");
    let (headline, body) = said(|question| {
        question.analysis.as_mut().unwrap().ph = 9.8;
    });
    assert!(
        headline.contains("calcite") && headline.ends_with("not even with the antiscalant: soften the feed."),
        "{headline}"
    );
    assert!(body.contains("a softener ahead of the unit"), "{body}");
}

#[test]
fn valves_that_are_as_advised_are_left() {
    let (_, first) = tuned(Aim::Enough, Units::Us, |_| ());
    let (scenario, again) = tuned(Aim::Enough, Units::Us, |question| question.unit.valves = first.advice.valves);
    let tuned = Tuned { scenario: &scenario, tuning: &again, units: Units::Us };
    assert!(again.steps.is_empty());
    assert!(text::headline(&tuned).starts_with("Leave the valves as they are set, reject at 0.57 gpm"));
    assert!(text::body(&tuned).contains("leave them as set"));
    assert_laid_out("left", &plots::tune(&tuned));
}

#[test]
fn what_feeds_the_unit_is_compared_with_what_it_takes() {
    const GPM_LPS: f64 = 3.785_411_784 / 60.0;
    let body = |pump_gpm: f64, yield_gpm: f64| {
        let (scenario, tuning) = tuned(Aim::Enough, Units::Us, |question| {
            let gives = question.gives.as_mut().unwrap();
            (gives.pump_lps, gives.yield_lps) = (Some(pump_gpm * GPM_LPS), Some(yield_gpm * GPM_LPS));
        });
        text::body(&Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us }).replace("\n  ", " ")
    };
    assert!(!body(5.0, 4.0).contains("Warning"));
    let weak = body(2.0, 4.0);
    assert!(weak.contains("the unit takes 2.8 gpm, and the well pump gives 2.0 gpm"), "{weak}");
    let slow = body(5.0, 1.0);
    assert!(slow.contains("the unit takes 2.8 gpm, and the well gives 1.0 gpm for good: its level falls"), "{slow}");
    // Some 513 gal a day and what they waste, 0.48 gpm by the mean.
    let dry = body(5.0, 0.4);
    assert!(dry.contains("the well gives 0.40 gpm for good: it cannot feed it"), "{dry}");
}

#[test]
fn a_pump_beyond_its_curve_is_said() {
    let (scenario, tuning) = tuned(Aim::Enough, Units::Us, |question| question.pump_end_lps = Some(0.4));
    let body = text::body(&Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us }).replace("\n  ", " ");
    assert!(body.contains("as it is set now the pump of the unit passes 6.9 gpm, more than the last point"), "{body}");
}

#[test]
fn exact_map_has_a_line_for_each_setting_and_season() {
    let (scenario, tuning) = tuned(Aim::Enough, Units::Us, |_| ());
    let tuned = Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us };
    let mut bytes = Vec::new();
    csv::map(&tuned, &mut bytes).unwrap();
    let table = String::from_utf8(bytes).unwrap();
    let lines: Vec<Vec<&str>> = table.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(lines.len(), 1 + 3 * 32 * 20);
    assert!(lines.iter().all(|cells| cells.len() == lines[0].len()));
    assert_eq!((lines[0][0], lines[0][lines[0].len() - 1]), ("season", "breaks"));
    let column = |key: &str| lines[0].iter().position(|name| *name == key).unwrap();
    let first: Vec<f64> =
        ["reject_lps", "product_lps", "waste_l_per_l"].map(|key| lines[1][column(key)].parse().unwrap()).to_vec();
    // Five and four decimals.
    // All that is wasted, so more than the reject by what flushes take.
    let cycle = tuning.question.cycle.unwrap();
    assert!((cycle.waste_l_per_l(first[1], first[0], 0.0) - first[2]).abs() < 2e-4, "{first:?}");
    assert!(first[2] > first[0] / first[1] + 0.01);
}

#[test]
fn files_are_written_together() {
    let folder = tempfile::tempdir().unwrap();
    let (scenario, tuning) = tuned(Aim::Enough, Units::Us, |_| ());
    let tuned = Tuned { scenario: &scenario, tuning: &tuning, units: Units::Us };
    let files = write::tune(&tuned, folder.path()).unwrap();
    let names: Vec<_> = files.iter().map(|file| file.file_name().unwrap().to_str().unwrap()).collect();
    assert_eq!(names, ["tune.csv", "tune.svg", "tune.png", "tune.json"]);
}
