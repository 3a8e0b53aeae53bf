//! `springhouse tune`: the answer first, files that say the same, and what it says to questions that cannot be asked.

use std::fs;

use serde_json::Value;
use tempfile::TempDir;

use crate::program::{Done, springhouse};
use crate::ready::path;

fn tune(folder: &TempDir, scenario: &str, args: &[&str]) -> Done {
    springhouse(folder.path(), ["tune", scenario].iter().chain(args))
}

/// The ready scenario with a membrane unit, some of its text replaced.
fn changed(folder: &TempDir, from: &str, to: &str) -> &'static str {
    let text = fs::read_to_string(path("membrane")).unwrap();
    assert!(text.contains(from), "{from}");
    fs::write(folder.path().join("changed.toml"), text.replace(from, to)).unwrap();
    "changed.toml"
}

/// Lines that were broken for the screen, as one.
fn unbroken(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn advice_printed_is_that_of_the_files() {
    let folder = TempDir::new().unwrap();
    let ready = path("membrane");
    let ready = ready.to_str().unwrap();
    let done = tune(&folder, ready, &["--out", "there"]).with_code(0);
    assert_eq!(done.stderr, "");
    let file = |name: &str| fs::read_to_string(folder.path().join("there").join(name)).unwrap();
    let json: Value = serde_json::from_str(&file("tune.json")).unwrap();
    assert_eq!(json["schema"], "springhouse-tune/2");
    assert_eq!(json["within_limits"], true);
    let answer = json["answer"]["text"].as_str().unwrap();
    assert!(unbroken(&done.stdout).starts_with(answer), "{}", done.stdout);
    assert!(answer.starts_with("Set reject to ") && answer.ends_with(" for each."), "{answer}");
    // Gallons a minute, as they are printed.
    let gpm = |key: &str| json["answer"][key].as_f64().unwrap() * 60.0 / 3.785_411_784;
    assert!(answer.contains(&format!("recycle to {:.1} gpm", gpm("recycle_lps"))), "{answer}");
    // A numbered line for each step.
    let steps = json["steps"].as_array().unwrap().len();
    assert!(steps > 0);
    for step in 1..=steps {
        assert!(done.stdout.contains(&format!("\n{step}. ")), "{}", done.stdout);
    }
    let last = &json["steps"][steps - 1]["read"];
    assert_eq!(last["reject_lps"], json["answer"]["reject_lps"]);
    // The picture says it too, with its words.
    let svg = file("tune.svg");
    let (_, title) = svg.split_once("<title>").unwrap();
    assert!(title.starts_with(answer), "{answer}");
    assert!(
        ["set here", "now", "all limits", "Reject flow, gpm", "Recycle flow, gpm"]
            .iter()
            .all(|said| svg.contains(said))
    );
    assert!(fs::read(folder.path().join("there/tune.png")).unwrap().starts_with(b"\x89PNG"));
    // Units stand in the keys.
    assert!(file("tune.csv").starts_with("season,temp_c,inlet_kpa,reject_kv_m3_h,"));
}

#[test]
fn same_question_gets_the_same_bytes() {
    let folder = TempDir::new().unwrap();
    let ready = path("membrane");
    let ready = ready.to_str().unwrap();
    for out in ["a", "b"] {
        tune(&folder, ready, &["--out", out, "--aim", "least-waste"]).with_code(0);
    }
    for name in ["tune.csv", "tune.json", "tune.svg", "tune.png"] {
        let bytes = |out: &str| fs::read(folder.path().join(out).join(name)).unwrap();
        assert!(bytes("a") == bytes("b"), "{name}");
    }
    let printed = tune(&folder, ready, &["--json", "--no-files", "--aim", "least-waste"]).with_code(0);
    assert_eq!(printed.stdout.as_bytes(), fs::read(folder.path().join("a/tune.json")).unwrap());
    assert!(!folder.path().join("out").exists());
}

#[test]
fn aims_differ_as_they_say() {
    let folder = TempDir::new().unwrap();
    let ready = path("membrane");
    let told = |aim: &str| -> Value {
        let args = ["--json", "--no-files", "--aim", aim];
        serde_json::from_str(&tune(&folder, ready.to_str().unwrap(), &args).with_code(0).stdout).unwrap()
    };
    let [enough, least, gentlest] = ["enough", "least-waste", "gentlest"].map(told);
    let typical = |told: &Value, key: &str| told["advised"]["typical"][key].as_f64().unwrap();
    // What is best of more settings is no worse; the last digits are those of the search.
    assert!(typical(&least, "waste_l_per_l") <= typical(&enough, "waste_l_per_l") + 5e-3);
    assert!(typical(&gentlest, "hours_between_cleanings") > typical(&enough, "hours_between_cleanings"));
    for told in [&enough, &least, &gentlest] {
        assert_eq!(told["advised"]["warmest"]["breaks"], Value::Array(Vec::new()));
    }
}

#[test]
fn what_cannot_be_kept_is_said_with_what_would_help() {
    let folder = TempDir::new().unwrap();
    let bare = changed(&folder, "antiscalant = true", "antiscalant = false");
    let done = tune(&folder, bare, &["--no-files"]).with_code(0);
    let said = unbroken(&done.stdout);
    assert!(said.starts_with("No setting of the valves keeps calcite scale off: dose an antiscalant"), "{said}");
    assert!(
        said.contains("Warning: no setting keeps calcite scale off") && said.contains("a softener ahead of the unit"),
        "{said}"
    );
    tune(&folder, bare, &["--no-files", "--strict"]).with_code(3);
    tune(&folder, path("membrane").to_str().unwrap(), &["--no-files", "--strict"]).with_code(0);
    let much =
        tune(&folder, path("membrane").to_str().unwrap(), &["--no-files", "--product", "9000 gal/day"]).with_code(0);
    let said = unbroken(&much.stdout);
    assert!(said.starts_with("No setting keeps all limits. Least bad: "), "{said}");
    assert!(said.contains("Warning: no setting keeps product within its limit"), "{said}");
}

#[test]
fn broken_questions_are_refused_with_what_to_do() {
    let folder = TempDir::new().unwrap();
    let ready = path("membrane");
    let ready = ready.to_str().unwrap();
    let slow = path("slow-well");
    let cases: [(&str, &[&str], &[&str]); 10] = [
        (slow.to_str().unwrap(), &[], &["has no membrane unit to tune", "[membrane]"]),
        ("nowhere.toml", &[], &["nowhere.toml"]),
        (ready, &["--aim", "most"], &["enough", "least-waste", "gentlest"]),
        (ready, &["--coldest", "45"], &["a temperature with its unit"]),
        (ready, &["--coldest", "80F"], &["--coldest is 80 °F, above the typical 55 °F"]),
        (ready, &["--coldest", "-5C"], &["--coldest is 23 °F: that is ice; give 32 °F to 55 °F"]),
        (ready, &["--warmest", "50C"], &["--warmest is 122 °F; elements stand at most 113 °F"]),
        (ready, &["--warmest", "40F"], &["--warmest is 40 °F, below the typical 55 °F"]),
        (ready, &["--product", "0 gal/day"], &["a flow above zero"]),
        (ready, &["--hours", "25"], &["above 0 to 24"]),
    ];
    for (scenario, args, said) in cases {
        let done = tune(&folder, scenario, args).with_code(2);
        assert_eq!(done.stdout, "", "{args:?}");
        assert!(said.iter().all(|said| done.stderr.contains(said)), "{args:?}: {}", done.stderr);
    }
    assert!(!folder.path().join("out").exists());
    // A file where the folder should be.
    fs::write(folder.path().join("taken"), "").unwrap();
    let done = tune(&folder, ready, &["--out", "taken"]).with_code(1);
    assert!(done.stderr.contains("taken"), "{}", done.stderr);
}
