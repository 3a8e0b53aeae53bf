//! What people draw, as text, JSON, CSV and pictures.

use std::fmt::Write;
use std::path::Path;
use std::sync::OnceLock;

use jiff::civil::{DateTime, date};
use serde_json::Value;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::{Span, Time};
use springhouse_draws::household::{Fill, Filling, Home, Outdoor, Person, PersonKind, Stay};
use springhouse_draws::{DailyDraw, EVERY_MONTH};
use springhouse_report::calendar::iso_millis;
use springhouse_report::draws::{Drawn, Gathering, csv, draws_anything, gather, json, text};
use springhouse_report::{plots, write};
use springhouse_scenario::{Scenario, Units, load};
use springhouse_sim::{RunOptions, draws as draws_of_a_run};

use crate::layout::assert_laid_out;

/// A scenario, who draws, and what that amounts to.
pub(crate) struct Case {
    name: &'static str,
    scenario: Scenario,
    options: RunOptions,
    gathering: Gathering,
}

impl Case {
    fn of(name: &'static str, ready: &str, runs: u32, change: impl Fn(&mut RunOptions)) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../scenarios").join(ready).with_extension("toml");
        let scenario = load(&path).unwrap_or_else(|faults| panic!("{}", faults.render(false))).scenario;
        let mut options = RunOptions::from_scenario(&scenario);
        options.homes.clear();
        change(&mut options);
        let gathering = gather(&scenario, &options, runs, &mut |_| ()).unwrap();
        Self { name, scenario, options, gathering }
    }

    pub(crate) fn told(&self, units: Units) -> Drawn<'_> {
        Drawn { scenario: &self.scenario, options: &self.options, gathering: &self.gathering, units }
    }

    fn document(&self) -> Value {
        serde_json::from_str(&json::document(&self.told(Units::Metric)).unwrap()).unwrap()
    }

    fn draws(&self) -> String {
        let mut bytes = Vec::new();
        csv::draws(&self.told(Units::Metric), &mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    fn wishes(&self) -> String {
        let mut bytes = Vec::new();
        csv::wishes(&self.told(Units::Metric), &mut bytes).unwrap();
        String::from_utf8(bytes).unwrap()
    }
}

fn family() -> Home {
    let people = [("Ida", PersonKind::Adult), ("Noor", PersonKind::Adult), ("Till", PersonKind::Child)];
    Home::typical("house", 0, people.map(|(name, kind)| Person::typical(name, kind)).to_vec())
}

/// Five, one shower, a leak, and cans of water for the garden.
fn crowd() -> Home {
    let mut home = family();
    home.people.extend(["Bo", "Uma"].map(|name| Person::typical(name, PersonKind::Adult)));
    home.fixtures.showers.count = 1;
    home.fixtures.leak_lps = 0.002;
    home.fixtures.outdoor = Some(Outdoor { uses_per_day: 3.0, water: Filling { litres: 20.0, flow_lps: 0.2 } });
    home.togetherness = 1.0;
    home
}

/// From a minute of every day on, for so many minutes.
fn daily(outlet: usize, start_min: i64, length_min: i64, flow_lps: f64) -> DailyDraw {
    let [start, length] = [start_min, length_min].map(|minutes| Span::from_ns(minutes * Span::MINUTE.ns()));
    DailyDraw {
        skips: Vec::new(),
        months: EVERY_MONTH,
        outlet,
        start,
        length,
        flow: Flow::from_lps(flow_lps),
        kind: DrawKind::Timed,
        warmth: Warmth::COLD,
        weekdays: [true; 7],
        every: 1,
        offset: 0,
    }
}

/// Cases that make texts and pictures unlike each other, worked out once for all tests.
pub(crate) fn cases() -> &'static [Case] {
    static CASES: OnceLock<Vec<Case>> = OnceLock::new();
    CASES.get_or_init(|| {
        vec![
            Case::of("family", "slow-well", 40, |options| {
                options.schedule.clear();
                options.homes.push(family());
                options.days = 14;
            }),
            Case::of("crowd and all", "direct", 1, |options| {
                options.homes.push(crowd());
                // With the leak, and with a draw of the schedule, at the midnight on which the second day begins.
                options.schedule.push(daily(0, 0, 1, 0.05));
                options.log.push(Draw {
                    start: Time::from_day(1),
                    end: Time::from_day(1) + Span::MINUTE,
                    outlet: 0,
                    flow: Flow::from_lps(0.1),
                    kind: DrawKind::Volume,
                    warmth: Warmth::COLD,
                });
            }),
            Case::of("schedule", "slow-well", 9, |_| ()),
            Case::of("nothing", "slow-well", 9, |options| options.schedule.clear()),
        ]
    })
}

#[test]
fn pictures_have_their_words_in_place() {
    for case in cases() {
        for units in [Units::Us, Units::Metric] {
            for plot in plots::draws(&case.told(units)) {
                assert_laid_out(case.name, &plot);
                if let Some(folder) = std::env::var_os("SPRINGHOUSE_PLOTS") {
                    let file = format!("{}-{}-{units:?}.png", plot.name, case.name);
                    std::fs::write(Path::new(&folder).join(file), plot.png().unwrap()).unwrap();
                }
            }
        }
    }
}

#[test]
fn texts_fit_a_screen() {
    for case in cases() {
        for units in [Units::Us, Units::Metric] {
            let drawn = case.told(units);
            let body = text::body(&drawn);
            assert!(body.lines().all(|line| line.chars().count() <= 100), "{}: {body}", case.name);
            assert!(!body.contains("NaN") && !body.contains("inf"), "{}: {body}", case.name);
            if std::env::var_os("SPRINGHOUSE_PLOTS").is_some() {
                println!("{}\n{}\n\n{body}", text::subject(&drawn), text::headline(&drawn));
            }
        }
    }
}

#[test]
fn exact_json_and_text_say_the_same() {
    let case = &cases()[0];
    let told = case.document();
    let answer = text::headline(&case.told(Units::Metric));
    assert_eq!(told["answer"], answer);
    assert_eq!((&told["schema"], &told["runs"]), (&"springhouse-draws/2".into(), &40.into()));
    let people = &told["people"];
    let number = |value: &Value| value.as_f64().unwrap();
    let daily = number(&told["buildings_l_day"]["household"]);
    let each = number(&people["litres_per_person_day"]);
    // Three people, always in; litres are summed in two orders.
    assert_eq!(people["person_days"], 40 * 14 * 3);
    assert!((daily - 3.0 * each).abs() < 1e-9 * daily, "{daily} {each}");
    let uses = people["uses"].as_array().unwrap();
    let sum: f64 = uses.iter().map(|of| number(&of["litres_per_person_day"])).sum();
    assert!((sum - each).abs() < 1e-9 * each, "{sum} {each}");
    let shares: f64 = told["hour_shares"].as_array().unwrap().iter().map(number).sum();
    assert!((shares - 1.0).abs() < 1e-12, "{shares}");
    let five = &told["peaks"][1];
    assert_eq!(five["window_min"], 5);
    let p95_l_min = 60.0 * number(&five["flow_lps"]["p95"]);
    assert!(answer.contains(&format!("more than {p95_l_min:.1} L/min")), "{answer} {p95_l_min}");
    for peak in told["peaks"].as_array().unwrap() {
        let flows = ["p5", "p50", "p95", "p99", "highest"].map(|key| number(&peak["flow_lps"][key]));
        assert!(flows.is_sorted() && flows[0] < flows[4], "{flows:?}");
    }
    // Fewer days have more showers at once, and every day that has two has one.
    let at_once = told["showers_at_once"].as_array().unwrap();
    let shares: Vec<f64> = at_once.iter().map(|of| number(&of["share_of_days"])).collect();
    assert!(shares.len() == 2 && shares[0] > shares[1], "{shares:?}");
}

/// The published mean of each use is that of the study, gallon by gallon.
#[test]
fn external_published_litres_are_those_of_the_study() {
    // Water Research Foundation 4309 (2016), gallons a person and day: docs/physics.md.
    let gallons = [11.1, 1.5, 14.2, 11.1, 9.6, 0.7, 7.9, 2.5];
    let told = cases()[0].document();
    let uses = told["people"]["uses"].as_array().unwrap();
    let published = uses.iter().filter_map(|of| of.get("published_litres_per_person_day")?.as_f64());
    for (litres, gallons) in published.zip(gallons) {
        assert!((litres / 3.785_411_784 - gallons).abs() < 1e-12, "{litres} {gallons}");
    }
    let key = |of: &Value| (of["end_use"].clone(), of.get("published_litres_per_person_day").is_some());
    assert_eq!(key(&uses[6]), ("outdoor".into(), false));
}

#[test]
fn exact_schedule_and_raw_loads_are_told_apart() {
    // `direct` has a house and irrigation ahead of it. Five minutes of two draws at once, and a raw load that outdoes them.
    let case = Case::of("apart", "direct", 7, |options| {
        options.days = 2;
        options.schedule = vec![daily(0, 400, 10, 0.1), daily(0, 405, 10, 0.2), daily(1, 402, 60, 2.0)];
    });
    let told = case.document();
    assert_eq!(told["runs"], 1, "nothing is left to chance");
    assert!(told.get("people").is_none());
    let lps = |index: usize| told["peaks"][index]["flow_lps"]["highest"].as_f64().unwrap();
    // 5 min at 0.1, 5 min at 0.3, 5 min at 0.2 L/s.
    for (index, expected) in [0.3, 0.3, 0.2, 0.05].into_iter().enumerate() {
        assert!((lps(index) - expected).abs() < 1e-12, "{index}: {}", lps(index));
    }
    let litres = |value: &Value| value.as_f64().unwrap();
    assert_eq!(litres(&told["buildings_l_day"]["schedule"]), 180.0);
    assert_eq!(litres(&told["fullest_morning"]["litres"]), 180.0);
    assert_eq!(told["fullest_hour"]["start"], format!("{}T06:00:00", case.options.first_day));
    assert_eq!(told["outlets"][1]["role"], "raw_load");
    assert_eq!(litres(&told["outlets"][1]["litres_per_day"]), 7_200.0);
    assert!(case.draws().contains(&case.scenario.plant.outlets[1].name));
}

#[test]
fn exact_what_crosses_the_ends_of_a_run_is_cut() {
    let case = Case::of("across", "slow-well", 1, |options| {
        options.days = 1;
        options.schedule = vec![daily(0, 23 * 60 + 30, 60, 0.1)];
    });
    let told = case.document();
    // Half an hour of the evening before, half an hour of this one.
    assert_eq!(told["buildings_l_day"]["schedule"], 360.0);
    assert_eq!(told["outlets"][0]["litres_per_day"], 360.0);
    assert_eq!(told["fullest_day"]["litres"], 360.0);
    assert_eq!((&told["hour_shares"][0], &told["hour_shares"][23]), (&0.5.into(), &0.5.into()));
}

#[test]
fn exact_draws_add_up_to_what_is_told() {
    let case = &cases()[1];
    let table = case.draws();
    let mut reader = ::csv::Reader::from_reader(table.as_bytes());
    let end = case.options.first_day.checked_add(jiff::Span::new().days(case.options.days)).unwrap().at(0, 0, 0, 0);
    let (mut sums, mut last) = ([0.0; 3], String::new());
    for record in reader.records() {
        let record = record.unwrap();
        let [start, source, building, person, use_] = [0, 2, 3, 4, 5].map(|cell| &record[cell]);
        assert!(last.as_str() <= start, "{last} {start}");
        last = start.to_owned();
        let whose = ["schedule", "household", "log"].iter().position(|name| *name == source).unwrap();
        assert_eq!(use_.is_empty(), source != "household", "{record:?}");
        assert_eq!(person.is_empty(), source != "household" || ["leak", "outdoor"].contains(&use_), "{record:?}");
        if building == "house" {
            let [from, to] = [0, 1].map(|cell| record[cell].parse::<DateTime>().unwrap());
            let long = |to: DateTime| to.duration_since(from).as_secs_f64();
            sums[whose] += record[8].parse::<f64>().unwrap() * long(to.min(end)) / long(to);
        }
    }
    let told = case.document();
    let daily = &told["buildings_l_day"];
    for (name, sum) in ["schedule", "household", "log"].iter().zip(sums) {
        let told = f64::from(case.options.days) * daily[*name].as_f64().unwrap();
        // Half a millilitre a line, of some thousand lines.
        assert!(sum > 0.0 && (sum - told).abs() < 0.5, "{name}: {sum} {told}");
    }
}

#[test]
fn exact_draws_are_those_that_a_run_takes() {
    let case = &cases()[1];
    let lines: Vec<String> = case.draws().lines().skip(1).map(str::to_owned).collect();
    let taken: Vec<Draw> = draws_of_a_run(&case.scenario, &case.options).unwrap().take(lines.len()).collect();
    for (line, draw) in lines.iter().zip(&taken) {
        let [start, end] = [draw.start, draw.end].map(|time| iso_millis(case.options.first_day, time));
        assert!(line.starts_with(&format!("{start},{end},")), "{line} is {draw:?}");
        let outlet = &case.scenario.plant.outlets[draw.outlet].name;
        assert!(line.contains(&format!(",{outlet},")) && line.contains(&format!(",{:.5},", draw.flow.lps())), "{line}");
    }
    // The next is of the day after the last.
    let next = draws_of_a_run(&case.scenario, &case.options).unwrap().nth(lines.len()).unwrap();
    assert_eq!(next.start.day(), i64::from(case.options.days));
    assert!(taken.last().unwrap().start.day() < i64::from(case.options.days));
}

#[test]
fn a_guest_adds_the_guests_wishes_and_no_others() {
    let start = date(2027, 6, 7);
    let of = |guest: bool| {
        Case::of("guest", "slow-well", 1, |options| {
            options.first_day = start;
            options.homes.push(family());
            if guest {
                let mut guest = Person::typical("Zoe", PersonKind::Adult);
                guest.stay = Stay::Between { from: date(2027, 6, 9), to: date(2027, 6, 11) };
                options.homes[0].people.push(guest);
            }
        })
        .wishes()
    };
    let (without, with) = (of(false), of(true));
    let (added, others): (Vec<&str>, Vec<&str>) = with.lines().partition(|line| line.contains(",Zoe,"));
    // Line by line, in the same order.
    assert_eq!(others, without.lines().collect::<Vec<_>>());
    assert!(added.len() > 30, "{added:?}");
    let days = ["2027-06-09", "2027-06-10", "2027-06-11"];
    for line in &added {
        assert!(days.iter().any(|day| line.starts_with(&format!("{day},house,Zoe,"))), "{line}");
    }
    let of_a_day: Vec<&str> = with.lines().filter(|line| line.starts_with(days[0])).collect();
    let people: Vec<&str> = of_a_day.iter().map(|line| line.split(',').nth(2).unwrap()).collect();
    assert!(people.chunk_by(|a, b| a == b).map(|lines| lines[0]).eq(["Ida", "Noor", "Till", "Zoe"]), "{people:?}");
}

#[test]
fn loads_are_one_wish_and_a_draw_for_each_fill() {
    let case = Case::of("loads", "slow-well", 1, |options| {
        options.schedule.clear();
        let mut home = family();
        if let Some(appliance) = &mut home.fixtures.clothes_washer {
            let water = Filling { litres: 30.0, flow_lps: 0.2 };
            appliance.fills = vec![
                Fill { after: Span::ZERO, water, temp_c: Some(40.0) },
                Fill { after: Span::from_ns(10 * Span::MINUTE.ns()), water, temp_c: None },
            ];
        }
        options.homes.push(home);
        options.days = 20;
    });
    let lines = |table: &str, with: &str| table.lines().filter(|line| line.contains(with)).count();
    let (wishes, draws) = (case.wishes(), case.draws());
    let loads = lines(&wishes, ",clothes_washer,");
    // A load ends within an hour: none crosses the first midnight, as nobody washes at night.
    assert!(loads > 5, "{wishes}");
    for part in [0, 1] {
        let fills = lines(&draws, &format!(",clothes_washer,{part},0.20000,30.000,volume,"));
        assert!(fills.abs_diff(loads) <= 1, "part {part}: {fills} of {loads}");
    }
    let load = wishes.lines().find(|line| line.contains(",clothes_washer,")).unwrap();
    assert!(load.contains(",2700.0,,,volume,"), "{load}");
}

#[test]
fn few_runs_are_told_by_the_highest() {
    let of = |runs: u32| {
        let case = Case::of("few", "slow-well", runs, |options| {
            options.schedule.clear();
            options.homes.push(family());
        });
        let most = case.document()["peaks"][1]["flow_lps"]["highest"].as_f64().unwrap();
        (text::headline(&case.told(Units::Metric)), Units::Metric.flow(most))
    };
    let (one, most) = of(1);
    assert!(one.ends_with(&format!("by each person; no 5 minutes bring more than {most}.")), "{one}");
    let (few, most) = of(5);
    assert!(few.ends_with(&format!("; in 5 runs no 5 minutes bring more than {most}.")), "{few}");
    assert!(of(20).0.contains("in 19 of 20 runs no 5 minutes"));
}

#[test]
fn same_seed_same_bytes_and_another_seed_others() {
    let of = |seed: u64| {
        let case = Case::of("seed", "slow-well", 3, |options| {
            options.homes.push(crowd());
            options.seed = seed;
        });
        case.draws() + &case.wishes() + &json::document(&case.told(Units::Us)).unwrap()
    };
    assert!(of(4) == of(4));
    assert!(of(4) != of(5));
}

#[test]
fn who_waits_for_the_only_shower_is_named() {
    let case = &cases()[1];
    let wait = &case.document()["longest_shower_wait"];
    let names: Vec<&str> = case.options.homes[0].people.iter().map(|person| person.name.as_str()).collect();
    assert!(names.contains(&wait["person"].as_str().unwrap()), "{wait}");
    let seconds = wait["queued_s"].as_f64().unwrap();
    let line = format!("{},", wait["start"].as_str().unwrap());
    let of = |line: &&str| line.split(',').nth(5) == Some("shower");
    let waits = case.draws();
    let waits: Vec<f64> =
        waits.lines().filter(of).map(|line| line.rsplit(',').next().unwrap().parse().unwrap()).collect();
    let longest = waits.iter().fold(0.0, |a: f64, b| a.max(*b));
    assert!((longest - seconds).abs() < 0.051 && seconds > 60.0, "{line} {longest} {seconds}");
}

#[test]
fn nothing_to_draw_is_found_before_anything_is_gathered() {
    let [family, crowd, schedule, nothing] = cases() else { panic!("four cases") };
    for (case, any) in [(family, true), (crowd, true), (schedule, true), (nothing, false)] {
        assert_eq!(draws_anything(&case.scenario, &case.options), any, "{}", case.name);
    }
    assert_eq!(text::headline(&nothing.told(Units::Us)), "Nothing is drawn in buildings.");
}

#[test]
fn files_are_written_together() {
    let folder = tempfile::tempdir().unwrap();
    let files = write::draws(&cases()[0].told(Units::Us), folder.path()).unwrap();
    let mut names = String::new();
    for file in &files {
        write!(names, "{} ", file.file_name().unwrap().to_str().unwrap()).unwrap();
    }
    assert_eq!(names, "draws.csv wishes.csv day.svg day.png peak.svg peak.png draws.json ");
}
