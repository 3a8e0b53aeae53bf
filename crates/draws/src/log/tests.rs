//! Checks of reading: what comes out, and what is said when something is wrong.

use jiff::civil::date;
use springhouse_core::draw::{Draw, DrawKind, Flow, Warmth};
use springhouse_core::time::{Span, Time};
use springhouse_table::{Error, MOST_ERRORS, Problem as Table};

use super::*;

fn outlets(names: &[&str]) -> Vec<String> {
    names.iter().map(|name| (*name).to_owned()).collect()
}

fn read(text: &str, names: &[&str]) -> Result<Vec<Draw>, LogErrors> {
    read_log(text.as_bytes(), "june.csv", date(2027, 6, 4), &outlets(names))
}

/// All messages of a text that is refused.
fn said(text: &str, names: &[&str]) -> String {
    read(text, names).expect_err("the text is refused").to_string()
}

/// Line, column and problem of each error.
fn problems(text: &str, names: &[&str]) -> Vec<(Option<u64>, Option<&'static str>, Problem)> {
    read(text, names).unwrap_err().errors.into_iter().map(|e| (e.line, e.column, e.problem)).collect()
}

/// The same, where all of them may befall any table.
fn table(text: &str) -> Vec<(Option<u64>, Option<&'static str>, Table)> {
    let own = |problem| match problem {
        Problem::Table(problem) => problem,
        other => panic!("{other:?}"),
    };
    problems(text, &["house"]).into_iter().map(|(line, column, problem)| (line, column, own(problem))).collect()
}

fn at(hours: f64) -> Time {
    Time::from_s(hours * 3_600.0)
}

/// Nanolitres that a draw wants, times 1e9.
fn wanted(draw: &Draw) -> i128 {
    i128::from(draw.flow.nl_per_s()) * i128::from((draw.end - draw.start).ns())
}

#[test]
fn draws_are_read_and_sorted() {
    let text = "\u{feff}# kitchen logger\r\n\r\nstart,building,flow_lps,duration_s,kind\r\n\
                2027-06-04 06:31:20.25,barn,0.2,90,volume\r\n\
                2027-06-03T23:59:00,\"house, main\",0.1,120,\r\n\
                2027-06-04T01:00:00,barn,0,60,timed";
    let draws = read(text, &["house, main", "barn"]).unwrap();
    let early = Time::from_s(-60.0);
    let start = Time::from_s(6.0 * 3_600.0 + 31.0 * 60.0 + 20.25);
    let (flow, kind) = (Flow::from_lps(0.1), DrawKind::Timed);
    let night = Draw { start: early, end: early + Span::from_s(120.0), outlet: 0, flow, kind, warmth: Warmth::COLD };
    let (flow, kind) = (Flow::from_lps(0.2), DrawKind::Volume);
    let morning = Draw { start, end: start + Span::from_s(90.0), outlet: 1, flow, kind, warmth: Warmth::COLD };
    // The row that wants nothing gives no draw.
    assert_eq!(draws, [night, morning]);
}

#[test]
fn exact_warmth_in_either_unit_and_cold_where_nothing_is_said() {
    let row = "2027-06-04T01:00:00,barn,0.5,60,";
    let warmths = |header: &str, fields: [&str; 2]| {
        let rows = fields.map(|field| format!("{row}{field}\n")).concat();
        let draws = read(&format!("start,building,flow_lps,duration_s,{header}\n{rows}"), &["barn"]).unwrap();
        draws.iter().map(|draw| draw.warmth).collect::<Vec<_>>()
    };
    let expected = [Warmth::from_c(40.0), Warmth::COLD];
    assert_eq!(warmths("wanted_c", ["40", ""]), expected);
    assert_eq!(warmths("wanted_f", ["104", ""]), expected);
    let said = said(&format!("start,building,flow_lps,duration_s,wanted_f\n{row}300\n"), &["barn"]);
    assert!(said.contains("`300`") && said.contains("at most 212"), "{said}");
}

#[test]
fn columns_may_come_in_any_order() {
    let plain = read("start,building,flow_lps,duration_s\n2027-06-04T01:00:00,barn,0.5,60", &["barn"]);
    let turned = read("Duration_s,flow_lps,start,building\n60,0.5,2027-06-04T01:00:00,", &["barn"]);
    assert_eq!(plain, turned);
}

#[test]
fn register_gives_volume_draws() {
    let text = "time,litres\n2027-06-04,1000\n2027-06-04T01:00:00,1036\n2027-06-04T02:00:00,1036\n\
                2027-06-04T02:30:00,1045";
    let draws = read(text, &["house"]).unwrap();
    let kind = DrawKind::Volume;
    let first =
        Draw { start: at(0.0), end: at(1.0), outlet: 0, flow: Flow::from_lps(0.01), kind, warmth: Warmth::COLD };
    let last =
        Draw { start: at(2.0), end: at(2.5), outlet: 0, flow: Flow::from_lps(0.005), kind, warmth: Warmth::COLD };
    assert_eq!(draws, [first, last]);
}

#[test]
fn use_since_the_row_before_is_the_same_as_a_register() {
    let register = read("time,litres\n2027-06-04,70\n2027-06-04T05:00:00,71.5\n2027-06-05,96", &["house"]);
    let used = read("time,litres_used\n2027-06-04,33\n2027-06-04T05:00:00,1.5\n2027-06-05,24.5", &["house"]);
    assert_eq!(register, used);
    assert_eq!(register.unwrap().len(), 2);
}

#[test]
fn exact_gallons_are_litres() {
    // 3.785411784 L is a US gallon; 1 gpm is 0.0630901964 L/s.
    let gallons = read("start,building,flow_gpm,duration_s\n2027-06-04,house,1.5,60", &["house"]).unwrap();
    let litres = read("start,building,flow_lps,duration_s\n2027-06-04,house,0.0946352946,60", &["house"]).unwrap();
    assert_eq!(gallons, litres);
    let gallons = read("time,gallons\n2027-06-04,1000\n2027-06-04T01:00:00,1009", &["house"]).unwrap();
    let used = read("time,gallons_used\n2027-06-04,7\n2027-06-04T01:00:00,9", &["house"]).unwrap();
    let litres = read("time,litres\n2027-06-04,0\n2027-06-04T01:00:00,34.068706056", &["house"]).unwrap();
    assert_eq!(gallons, litres);
    assert_eq!(used, litres);
}

#[test]
fn another_name_is_not_taken_for_another_unit() {
    let text = said("start,building,flow_lpm,duration_s\n", &["house"]);
    assert!(text.contains("write `flow_lps`? Its numbers must then be in litres a second"), "{text}");
}

#[test]
fn each_building_has_its_meter() {
    let text = "time,building,litres\n2027-06-04,house,100\n2027-06-04T00:10:00,barn,7\n\
                2027-06-04T01:00:00,house,136\n2027-06-04T01:10:00,barn,43";
    let draws = read(text, &["house", "barn"]).unwrap();
    let found: Vec<_> = draws.iter().map(|d| (d.outlet, d.start.s(), d.flow.lps())).collect();
    assert_eq!(found, [(0, 0.0, 0.01), (1, 600.0, 0.01)]);
}

#[test]
fn exact_no_litre_is_lost_to_rounding() {
    // 7 s and 1 L share no factor: each interval leaves a remainder, which the next takes up.
    let rows: Vec<_> = (0..50).map(|i| format!("2027-06-04T00:{:02}:{:02},{i}", i * 7 / 60, i * 7 % 60)).collect();
    let draws = read(&format!("time,litres\n{}", rows.join("\n")), &["house"]).unwrap();
    let total: i128 = draws.iter().map(wanted).sum();
    let lost = 49 * 1_000_000_000_i128 * 1_000_000_000 - total;
    // At most a nanolitre a second over the last interval.
    assert!((0..7_000_000_000).contains(&lost), "{lost} of 1e-9 nL lost");
    assert_eq!(draws.len(), 49);
}

#[test]
fn all_errors_of_all_rows_are_told() {
    let text = "start,building,flow_lps,duration_s,kind\n\
                2027-06-04T06:31,huose,-0.1,0,shower\n\
                2027-06-31,house,inf,nan,timed\n\
                2027-06-04T06:31:20Z,,0;2,1e-12,\n\
                2027-06-04T06:31:20,house,0,2,5\n\
                1066-10-14T09:00:00,barn,0.2,60\n\
                1066-10-14T09:00:00,barn,1e5,3e9,volume";
    let found: Vec<_> =
        problems(text, &["house", "barn"]).into_iter().map(|(line, column, _)| (line, column)).collect();
    let expected = [
        (2, Some("building")),
        (2, Some("flow_lps")),
        (2, Some("duration_s")),
        (2, Some("kind")),
        (3, Some("start")),
        (3, Some("flow_lps")),
        (3, Some("duration_s")),
        (4, Some("start")),
        (4, Some("building")),
        (4, Some("flow_lps")),
        (4, Some("duration_s")),
        (5, Some("kind")),
        (6, None),
        (7, Some("start")),
        (7, Some("flow_lps")),
        (7, Some("duration_s")),
    ];
    assert_eq!(found, expected.map(|(line, column)| (Some(line), column)));
}

#[test]
fn message_says_what_was_found_accepted_and_to_do() {
    let header = "start,building,flow_lps,duration_s\n";
    assert_eq!(
        said(&format!("{header}2027-06-04T06:31:20,Huose,0.2,60"), &["house", "barn"]),
        "error: june.csv:2, column `building`: `Huose` is no building of the plant; accepted are `house`, `barn`; write `house`?"
    );
    assert_eq!(
        said(&format!("{header}2027-06-04T06:31:20,shed,0.2,-60"), &["house", "barn"]),
        "error: june.csv:2, column `building`: `shed` is no building of the plant; accepted are `house`, `barn`; write one of \
         them\nerror: june.csv:2, column `duration_s`: `-60` is out of range; accepted is a duration in seconds, above 0, at most \
         366 days; correct it"
    );
    assert_eq!(
        said(&format!("{header}04/06/2027 6:31,house,0.2,60"), &["house"]),
        "error: june.csv:2, column `start`: `04/06/2027 6:31` is no date and time; accepted is local standard time as \
         `2027-06-04 06:31` or `2027-06-04T06:31:20`, or `2027-06-04` for its midnight, without offset; rewrite it so"
    );
}

#[test]
fn many_errors_are_counted() {
    let rows = "2027-06-04T06:31:20,house,x,60\n".repeat(MOST_ERRORS + 5);
    let errors = read(&format!("start,building,flow_lps,duration_s\n{rows}"), &["house"]).unwrap_err();
    assert_eq!((errors.errors.len(), errors.more), (MOST_ERRORS, 5));
    assert!(errors.to_string().ends_with("\nerror: june.csv: and 5 more"));
}

#[test]
fn meter_that_runs_backwards_is_told_once() {
    let text = "time,litres\n2027-06-04,50\n2027-06-05,40\n2027-06-06,45\n2027-06-06,46\n2027-06-05,47\n2027-06-07,48";
    let expected = [
        (Some(3), Some("litres"), Problem::RegisterFalls { found: "40".to_owned(), before_line: 2 }),
        (Some(5), Some("time"), Problem::OutOfOrder { found: "2027-06-06".to_owned(), before_line: 4 }),
        (Some(6), Some("time"), Problem::OutOfOrder { found: "2027-06-05".to_owned(), before_line: 4 }),
    ];
    assert_eq!(problems(text, &["house"]), expected);
}

#[test]
fn meter_faster_than_any_plant_is_refused() {
    let text = "time,litres_used\n2027-06-04,0\n2027-06-04T00:00:01,20000";
    let problem = Problem::TooMuch { found: "20000".to_owned(), flow_lps: 20_000.0, before_line: 2 };
    assert_eq!(problems(text, &["house"]), [(Some(3), Some("litres_used"), problem)]);
}

#[test]
fn meter_without_a_building_needs_a_single_one() {
    let text = "time,litres\n2027-06-04,50";
    let problem = Problem::BuildingNeeded { names: "`house`, `barn`".to_owned() };
    assert_eq!(problems(text, &["house", "barn"]), [(Some(1), None, problem)]);
    assert_eq!(read(text, &["house"]), Ok(vec![]));
}

#[test]
fn broken_headers_are_told() {
    let headers = HEADERS;
    for empty in ["", "\u{feff}\r\n", "# only a comment"] {
        assert_eq!(table(empty), [(None, None, Table::Empty { headers })]);
    }
    let data = "2027-06-04T06:31:20,house,0.2,60";
    assert_eq!(table(data), [(Some(1), None, Table::NoHeader { found: data.to_owned(), headers })]);
    let semicolons = said("# x\nstart;building;flow_lps;duration_s", &["house"]);
    assert!(semicolons.starts_with("error: june.csv:2: `start;building;") && semicolons.ends_with("with commas"));
    let (what, accepted) =
        ("this log", "`start`, `building`, `flow_lps` or `flow_gpm`, `duration_s`, `kind`, `wanted_c` or `wanted_f`");
    let unknown = |found: &str, nearest, unit| {
        (Some(1), None, Table::UnknownColumn { found: found.to_owned(), what, accepted, nearest, unit })
    };
    // A misspelt column is not told as missing as well.
    assert_eq!(
        table("start,building,pace,start,duration"),
        [
            unknown("pace", None, ""),
            (Some(1), Some("start"), Table::ColumnTwice),
            unknown("duration", Some("duration_s"), "seconds"),
            (Some(1), Some("flow_lps"), Table::ColumnMissing { headers }),
        ]
    );
    let same = |first, second| [(Some(1), None, Table::SameTwice { first, second })];
    assert_eq!(table("time,litres,litres_used"), same("litres", "litres_used"));
    assert_eq!(table("start,building,flow_gpm,flow_lps,duration_s"), same("flow_lps", "flow_gpm"));
    assert_eq!(table("time"), [(Some(1), Some("litres"), Table::ColumnMissing { headers })]);
}

#[test]
fn other_encodings_are_told() {
    let errors = read_log(&b"time,litres\n# caf\xe9\n"[..], "june.csv", date(2027, 6, 4), &outlets(&["house"]));
    assert_eq!(
        errors.unwrap_err().errors,
        [Error { line: Some(2), column: None, problem: Problem::Table(Table::NotUtf8) }]
    );
}

#[test]
fn quote_left_open_spoils_one_row() {
    let row = "2027-06-04T06:31:20,house,0.2,60,";
    let text = format!("start,building,flow_lps,duration_s,kind\n{row}timed\n{row}\"timed\n{row}timed");
    assert_eq!(table(&text), [(Some(3), None, Table::Quotes)]);
}
