//! Studies of many runs: the same bytes however they are made, and nothing lost where something goes wrong.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::program::{Done, repository, springhouse, started};

/// A family of four behind a small tank, for a day.
const HOUSE: &str = "
title = \"A small tank\"
start = 2027-06-05
days = 1
seed = 2
units = \"us\"
[well]
static_level = \"60 ft\"
pump_depth = \"200 ft\"
casing_diameter = \"6 in\"
specific_capacity = \"0.02 gpm/ft\"
[well.cutoff]
stop_level = \"180 ft\"
restart_level = \"120 ft\"
[well_pump]
curve = [{ flow = \"0 gpm\", head = \"330 ft\" }, { flow = \"6 gpm\", head = \"300 ft\" }, { flow = \"12 gpm\", head = \"150 ft\" }]
motor = \"1 hp\"
cut_in = \"30 psi\"
cut_out = \"50 psi\"
[pressure_tank]
volume = \"44 gal\"
precharge = \"28 psi\"
[storage]
volume = \"80 gal\"
fill_flow = \"0.5 gpm\"
[storage.float_switch]
start = \"80 %\"
stop = \"95 %\"
[delivery]
curve = [{ flow = \"0 gpm\", head = \"200 ft\" }, { flow = \"15 gpm\", head = \"140 ft\" }]
motor = \"1 hp\"
set_pressure = \"55 psi\"
tank_volume = \"5 gal\"
[[building]]
name = \"house\"
[[building.people]]
name = \"family\"
count = 4
";

const STUDY: &str = "
title = \"How large a tank?\"
scenario = \"house.toml\"
runs = 60
figures = [\"water.run_outs\", \"water.lowest_storage_l\", \"well.starts\"]
[[vary]]
key = \"storage.volume\"
values = [\"20 gal\", \"40 gal\", \"80 gal\", \"160 gal\"]
trade = [\"50 gal\", \"100 gal\", \"200 gal\"]
[target]
chance = \"5 %\"
";

fn folder(study: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("house.toml"), HOUSE).unwrap();
    fs::write(folder.path().join("study.toml"), study).unwrap();
    folder
}

fn call(folder: &TempDir, args: &str) -> Done {
    springhouse(folder.path(), args.split(' '))
}

/// Names and contents of the files in a folder.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file());
    entries.map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(path).unwrap())).collect()
}

fn rows(folder: &TempDir, table: &str) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(folder.path().join(table)).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

/// With a rule that stops some variants early, and something uncertain, so that both are put to the test.
#[test]
fn exact_threads_parts_and_interruptions_change_no_byte() {
    let study = format!(
        "{STUDY}[stop]\nhalf_width = \"12 %\"\nleast_runs = 20\n[[uncertain]]\nkey = \"well.static_level\"\nlow = \"40 ft\"\nhigh = \"80 ft\"\n"
    );
    let folder = folder(&study);
    call(&folder, "sweep study.toml --out whole --threads 2").with_code(0);
    let whole = files(&folder.path().join("whole"));
    for name in ["runs.csv", "runs.parquet", "variants.csv", "study.json"] {
        assert!(whole.contains_key(name), "{:?}", whole.keys());
    }
    let made = rows(&folder, "whole/runs.csv");
    assert!(made.len() < 4 * 60, "the rule stops a variant early");
    assert!(made.windows(2).all(|pair| pair[0]["well.static_level_m"] != pair[1]["well.static_level_m"]));

    call(&folder, "sweep study.toml --out one --threads 1").with_code(0);
    assert!(files(&folder.path().join("one")) == whole, "one thread");

    for part in 1..=3 {
        call(&folder, &format!("sweep study.toml --out parts/{part} --part {part}/3")).with_code(0);
    }
    // In any order.
    call(&folder, "gather parts/2 parts/3 parts/1 --out joined").with_code(0);
    assert!(files(&folder.path().join("joined")) == whole, "three parts");

    let killed = folder.path().join("killed");
    let journal = killed.join("runs.unfinished.csv");
    let mut child = started(folder.path(), ["sweep", "study.toml", "--out", "killed", "--threads", "1"]);
    let lines = || fs::read_to_string(&journal).map_or(0, |text| text.lines().count());
    while lines() < 10 && child.try_wait().unwrap().is_none() {
        std::thread::sleep(std::time::Duration::from_millis(1));
    }
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(journal.is_file(), "it ended before it could be killed");
    // As a power cut may leave it.
    let text = fs::read(&journal).unwrap();
    fs::write(&journal, &text[..text.len() - 7]).unwrap();
    let refused = call(&folder, "sweep study.toml --out killed").with_code(2);
    assert!(refused.stderr.contains("not finished") && refused.stderr.contains("--resume"), "{}", refused.stderr);
    call(&folder, "sweep study.toml --out killed --resume").with_code(0);
    assert!(files(&killed) == whole, "killed and gone on with");
    // Going on with what is finished tells of it again.
    call(&folder, "sweep study.toml --out killed --resume").with_code(0);
    assert!(files(&killed) == whole, "finished and gone on with");
}

/// Run `k` of every variant meets the same mornings, whatever the others are.
#[test]
fn exact_runs_are_those_of_the_command_run() {
    let folder = folder(STUDY);
    call(&folder, "sweep study.toml --out all --runs 3").with_code(0);
    let made = rows(&folder, "all/runs.csv");
    let told = call(&folder, "run house.toml --run 2 --json --no-files").with_code(0);
    let summary: serde_json::Value = serde_json::from_str(&told.stdout).unwrap();
    // The third variant is the scenario as it stands.
    let own = made.iter().find(|row| row["variant"] == "3" && row["run"] == "2").unwrap();
    assert_eq!(
        own["water.lowest_storage_l"].parse::<f64>().unwrap(),
        summary["water"]["lowest_storage_l"].as_f64().unwrap()
    );
    assert_eq!(own["well.starts"].parse::<f64>().unwrap(), summary["well"]["starts"].as_f64().unwrap());
    call(&folder, "sweep house.toml --vary storage.volume=160gal --out alone --runs 3 --figure water.lowest_storage_l")
        .with_code(0);
    let alone = rows(&folder, "alone/runs.csv");
    let of = |rows: &[BTreeMap<String, String>], variant: &str| {
        let rows = rows.iter().filter(|row| row["variant"] == variant);
        rows.map(|row| row["water.lowest_storage_l"].clone()).collect::<Vec<_>>()
    };
    assert_eq!(of(&alone, "1"), of(&made, "4"));
}

#[test]
fn a_variant_that_is_no_plant_is_told_in_its_row() {
    let study = STUDY.replace("\"80 gal\"", "\"0 gal\"");
    let folder = folder(&study);
    let done = call(&folder, "sweep study.toml --out out --runs 5").with_code(0);
    assert!(done.stdout.contains("volume"), "{}", done.stdout);
    let variants = rows(&folder, "out/variants.csv");
    assert_eq!(variants.len(), 4);
    assert!(variants[2]["fault"].starts_with("the variant: "), "{}", variants[2]["fault"]);
    let runs: Vec<_> = variants.iter().map(|variant| variant["runs"].as_str()).collect();
    assert_eq!(runs, ["5", "5", "0", "5"]);
    assert_eq!(rows(&folder, "out/runs.csv").len(), 16);
}

/// A file system that is full is told of with what to do, and the runs before are kept. The limit on the size of files stands
/// for one.
#[cfg(unix)]
#[test]
fn no_finished_run_is_lost_where_there_is_no_room() {
    let folder = folder(STUDY);
    call(&folder, "sweep study.toml --out whole").with_code(0);
    let whole = files(&folder.path().join("whole"));
    let limited = "trap '' XFSZ; ulimit -f 4; exec \"$0\" sweep study.toml --out full --threads 1";
    let done = crate::program::shell(folder.path(), limited).with_code(1);
    assert!(done.stderr.contains("runs so far are kept") && done.stderr.contains("--resume"), "{}", done.stderr);
    let kept = fs::read_to_string(folder.path().join("full/runs.unfinished.csv")).unwrap();
    assert!(kept.lines().count() > 20, "{kept}");
    call(&folder, "sweep study.toml --out full --resume").with_code(0);
    assert!(files(&folder.path().join("full")) == whole);
}

#[test]
fn what_cannot_be_done_is_told() {
    let folder = folder(STUDY);
    call(&folder, "sweep study.toml --out done --runs 2 --part 1/2").with_code(0);
    fs::write(folder.path().join("notes"), "mine").unwrap();
    let mut told = Vec::new();
    for args in [
        "sweep nothing.toml",
        "sweep house.toml",
        "sweep house.toml --vary storage.volume",
        "sweep house.toml --vary storage.volum=40gal",
        "sweep house.toml --vary storage.volume=40",
        "sweep house.toml --vary storage.volume=40gal --figure water.run_out",
        "sweep study.toml --figure water.run_outs",
        "sweep study.toml --part 9/8",
        "sweep study.toml --out notes/x --runs 2",
        "gather done",
        "gather nowhere",
        "size house.toml --vary storage.volume=40gal,80gal --runs 2",
        "size house.toml --vary storage.volume=40gal,80gal --runs 2 --mean water.run_outs",
        "size house.toml --vary storage.volume=40gal,80gal --runs 2 --chance 100%",
        "rank study.toml",
        "rank house.toml --vary storage.volume=40gal..80gal --uncertain well.static_level=40ft",
    ] {
        let done = call(&folder, args);
        assert!(done.code == Some(1) || done.code == Some(2), "{args}: {:?}\n{}", done.code, done.stdout);
        told.push(format!("$ springhouse {args}\n{}\n[exit {}]", done.stderr.trim_end(), done.code.unwrap_or(-1)));
    }
    insta::assert_snapshot!(told.join("\n\n"));
}

/// Another distribution is another study, and a part that somebody has changed is refused.
#[test]
fn parts_of_two_studies_do_not_mix() {
    let uncertain =
        |low: &str| format!("{STUDY}[[uncertain]]\nkey = \"well.static_level\"\nlow = \"{low}\"\nhigh = \"80 ft\"\n");
    let folder = folder(&uncertain("40 ft"));
    call(&folder, "sweep study.toml --out parts/1 --part 1/2 --runs 4").with_code(0);
    call(&folder, "sweep study.toml --out own --part 2/2 --runs 4").with_code(0);
    fs::write(folder.path().join("study.toml"), uncertain("20 ft")).unwrap();
    call(&folder, "sweep study.toml --out parts/2 --part 2/2 --runs 4").with_code(0);
    let told = call(&folder, "gather parts/1 parts/2 --out all").with_code(2).stderr;
    assert!(told.contains("no part of the same study"), "{told}");
    let told = call(&folder, "sweep study.toml --out own --part 2/2 --runs 4 --resume").with_code(2).stderr;
    assert!(told.contains("what is uncertain has changed"), "{told}");
    let told = call(&folder, "gather parts/1 own --out own").with_code(2).stderr;
    assert!(told.contains("is one of the parts"), "{told}");
    let runs = folder.path().join("own/runs.csv");
    let text = fs::read_to_string(&runs).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    for spoilt in
        [[&lines[..3], &lines[4..]].concat(), [&lines[..3], &lines[2..]].concat(), lines[..lines.len() - 1].to_vec()]
    {
        fs::write(&runs, spoilt.join("\n") + "\n").unwrap();
        let told = call(&folder, "gather parts/1 own --out all").with_code(2).stderr;
        assert!(told.contains("make that part again"), "{told}");
    }
    fs::write(&runs, text).unwrap();
    call(&folder, "gather parts/1 own --out all").with_code(0);
    let told = call(&folder, "sweep study.toml --out all --runs 4").with_code(2).stderr;
    assert!(told.contains("runs of another study") && told.contains("--afresh"), "{told}");
}

#[test]
fn what_is_the_same_in_all_runs_is_not_varied() {
    for key in ["days", "seed", "start"] {
        let folder = folder(&format!("scenario = \"house.toml\"\n[[vary]]\nkey = \"{key}\"\nvalues = [1, 2]\n"));
        let told = call(&folder, "sweep study.toml").with_code(2).stderr;
        assert!(told.contains("is the same in all runs of a study"), "{told}");
    }
}

#[test]
fn size_finds_the_smallest_that_will_do() {
    let folder = folder(STUDY);
    let done = call(&folder, "size study.toml --out size --runs 100").with_code(0);
    let tried = rows(&folder, "size/size.csv");
    let holds = |row: &BTreeMap<String, String>| row["short_chance"].parse::<f64>().unwrap() <= 0.05;
    let smallest = tried.iter().find(|row| holds(row)).unwrap();
    assert!(!holds(&tried[0]), "the smallest tank of all would make a poor test");
    assert!(
        done.stdout.contains(&format!("Of those tried, {} is the smallest", smallest["storage.volume"])),
        "{}",
        done.stdout
    );
    // The sweep says the same of it.
    call(&folder, "sweep study.toml --out all --runs 100").with_code(0);
    let variants = rows(&folder, "all/variants.csv");
    let of_sweep: Vec<_> = variants.iter().filter(|row| holds(row)).collect();
    assert_eq!(of_sweep[0]["storage.volume"], smallest["storage.volume"]);
    insta::assert_snapshot!(done.stdout);
}

#[test]
fn rank_says_what_matters() {
    let study = format!(
        "{STUDY}[[uncertain]]\nkey = \"well.static_level\"\nlow = \"40 ft\"\nhigh = \"80 ft\"\n\
         [[uncertain]]\nkey = \"site.altitude\"\nlow = \"0 ft\"\nhigh = \"30 ft\"\n"
    );
    let folder = folder(&study);
    let args = "rank study.toml --out rank --of water.lowest_storage_l --paths 6 --rows 24 --threads";
    let done = call(&folder, &format!("{args} 2")).with_code(0);
    let ranked = rows(&folder, "rank/rank.csv");
    let of = |input: &str| {
        let found = ranked.iter().find(|row| row["figure"] == "water.lowest_storage_l" && row["input"] == input);
        found.map(|row| row["with_others"].parse::<f64>().unwrap())
    };
    // Storage is varied eightfold.
    assert!(of("storage.volume").unwrap() > 0.5, "{}", done.stdout);
    assert!(of("mornings and weather").unwrap() > 0.0);
    let before = files(&folder.path().join("rank"));
    call(&folder, &format!("{args} 1 --afresh")).with_code(0);
    assert!(files(&folder.path().join("rank")) == before, "one thread");
}

/// Every ready study can be read, and its first runs made.
#[test]
fn ready_studies_run() {
    let studies = fs::read_dir(repository().join("scenarios/studies")).unwrap();
    let studies: Vec<PathBuf> = studies.map(|entry| entry.unwrap().path()).collect();
    assert!(studies.len() >= 4);
    for study in studies {
        let folder = TempDir::new().unwrap();
        let args = ["sweep", study.to_str().unwrap(), "--runs", "1", "--days", "1", "--out", "out"];
        springhouse(folder.path(), args).with_code(0);
        assert!(
            rows(&folder, "out/variants.csv").iter().all(|variant| variant["fault"].is_empty()),
            "{}",
            study.display()
        );
    }
}
