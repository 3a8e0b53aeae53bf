//! Checks of reading: what comes out, and what is said when something is wrong.

use jiff::civil::date;

use super::*;
use springhouse_table::{Error, MOST_ERRORS, Problem as Table};

fn read(text: &str) -> Result<Vec<RainStep>, RainErrors> {
    read_rain(text.as_bytes(), "june.csv", date(2027, 6, 4))
}

/// Start and end in hours, and depth, of each step.
fn steps(text: &str) -> Vec<(f64, f64, f64)> {
    read(text).unwrap().iter().map(|s| (s.start.s() / 3_600.0, s.end.s() / 3_600.0, s.depth_mm)).collect()
}

/// All messages of a text that is refused.
fn said(text: &str) -> String {
    read(text).expect_err("the text is refused").to_string()
}

/// Line, column and problem of each error.
fn problems(text: &str) -> Vec<(Option<u64>, Option<&'static str>, Problem)> {
    read(text).unwrap_err().errors.into_iter().map(|e| (e.line, e.column, e.problem)).collect()
}

/// The same, where all of them may befall any table.
fn table(text: &str) -> Vec<(Option<u64>, Option<&'static str>, Table)> {
    let own = |problem| match problem {
        Problem::Table(problem) => problem,
        other => panic!("{other:?}"),
    };
    problems(text).into_iter().map(|(line, column, problem)| (line, column, own(problem))).collect()
}

/// Line and column of each error.
fn places(text: &str) -> Vec<(u64, &'static str)> {
    problems(text).into_iter().map(|(line, column, _)| (line.unwrap_or(0), column.unwrap_or("-"))).collect()
}

#[test]
fn rain_falls_until_the_next_row() {
    let text = "time,rain_mm\n2027-06-03 22:00,1\n2027-06-04 06:00,0\n2027-06-04T06:15:30,2.5\n2027-06-04 07:15:30,4";
    let quarter = 6.0 + 930.0 / 3_600.0;
    // The last interval is as long as the one before.
    assert_eq!(
        steps(text),
        [(-2.0, 6.0, 1.0), (6.0, quarter, 0.0), (quarter, quarter + 1.0, 2.5), (quarter + 1.0, quarter + 2.0, 4.0)]
    );
}

#[test]
fn bare_dates_are_daily_rain() {
    let text = "time,rain_mm\n2027-06-04,3\n2027-06-05,7.5";
    assert_eq!(steps(text), [(0.0, 24.0, 3.0), (24.0, 48.0, 7.5)]);
}

#[test]
fn exact_an_inch_is_25_4_mm() {
    let text = "rain_in,time\n0.5,2027-06-04\n2,2027-06-05";
    assert_eq!(steps(text), [(0.0, 24.0, 12.7), (24.0, 48.0, 50.8)]);
}

#[test]
fn dressing_changes_nothing() {
    let plain = steps("time,rain_mm\n2027-06-04,3\n2027-06-05,7.5\n");
    for end in ["\n", "\r\n"] {
        for mark in ["", "\u{feff}"] {
            let rows =
                ["# gauge", "", " Time , \"RAIN_MM\"", "   ", "\"2027-06-04\",\"3\"", "  # dry", "2027-06-05 , 7.5 "];
            assert_eq!(steps(&format!("{mark}{}", rows.join(end))), plain);
        }
    }
}

#[test]
fn lines_are_counted_through_comments_and_blanks() {
    let text = "# one\r\n\r\ntime,rain_mm\r\n# four\r\n2027-06-04,x\r\n\r\n2027-06-05,1,2\r\n2027-06-06,-1";
    assert_eq!(places(text), [(5, "rain_mm"), (7, "-"), (8, "rain_mm")]);
}

#[test]
fn all_errors_are_told_in_order_of_line() {
    let text = "time,rain_mm\n\
                2027-06-04 06:00,2000\n\
                2027-06-04 07:00Z,NaN\n\
                2027-06-04 08:00,1e400\n\
                2027-06-04 09:00,T\n\
                2027-06-04 09:00,\n\
                2027-06-04 08:30,-0.2\n\
                1066-10-14 09:00,0;5\n\
                2027-06-04 10:00,1\n\
                2027-08-04 10:00,1001\n\
                2027-08-04 11:00,1001";
    let expected = [
        // The first is not too much: it is not known when it ended.
        (3, "time"),
        (3, "rain_mm"),
        (4, "rain_mm"),
        (5, "rain_mm"),
        (6, "time"),
        (6, "rain_mm"),
        (7, "rain_mm"),
        (8, "time"),
        (8, "rain_mm"),
        (9, "time"),
        (10, "rain_mm"),
        (11, "rain_mm"),
    ];
    assert_eq!(places(text), expected);
}

#[test]
fn times_that_do_not_rise_are_told_once() {
    let text = "time,rain_mm\n2027-06-04 01:00,0\n2027-06-04 01:00,0\n2027-06-04 03:00,0\n2027-06-04 02:00,0\n2027-06-04 02:30,0";
    let told = |line, found: &str, before_line| {
        (Some(line), Some("time"), Problem::OutOfOrder { found: found.to_owned(), before_line })
    };
    assert_eq!(problems(text), [told(3, "2027-06-04 01:00", 2), told(5, "2027-06-04 02:00", 4)]);
}

#[test]
fn a_month_is_the_longest_interval() {
    assert_eq!(steps("time,rain_mm\n2027-07-01,80\n2027-08-01,40").len(), 2);
    let problem = Problem::IntervalTooLong { days: 32.0, next_line: 4 };
    let text = "time,rain_mm\n# july\n2027-07-01,80\n2027-08-02,40";
    assert_eq!(problems(text), [(Some(3), Some("time"), problem)]);
}

#[test]
fn more_rain_than_falls_is_refused() {
    assert_eq!(steps("time,rain_mm\n2027-06-04 00:00,1000\n2027-06-04 01:00,0").len(), 2);
    assert_eq!(places("time,rain_mm\n2027-06-04 00:00,1000.1\n2027-06-04 01:00,0"), [(2, "rain_mm")]);
    assert_eq!(places("time,rain_in\n2027-06-04 00:00,0\n2027-06-04 00:15,10"), [(3, "rain_in")]);
    // A second counts as a minute.
    assert_eq!(steps("time,rain_mm\n2027-06-04 00:00:00,16\n2027-06-04 00:00:01,0").len(), 2);
    assert_eq!(places("time,rain_mm\n2027-06-04 00:00:00,17\n2027-06-04 00:00:01,0"), [(2, "rain_mm")]);
}

#[test]
fn one_row_has_no_length() {
    let one = problems("time,rain_mm\n2027-06-04,1");
    assert_eq!(one, [(None, None, Problem::TooFewRows { found: "one row" })]);
    assert_eq!(problems("time,rain_mm\n"), [(None, None, Problem::TooFewRows { found: "no row" })]);
    // A row that is wrong is told as such, and nothing else.
    assert_eq!(places("time,rain_mm\n2027-06-04,x"), [(2, "rain_mm")]);
}

#[test]
fn broken_headers_are_told() {
    let headers = FORM.headers;
    for empty in ["", "\u{feff}\r\n", "# only a comment"] {
        assert_eq!(table(empty), [(None, None, Table::Empty { headers })]);
    }
    let data = "2027-06-04,0.2";
    assert_eq!(table(data), [(Some(1), None, Table::NoHeader { found: data.to_owned(), headers })]);
    let semicolons = said("# x\ntime;rain_mm");
    assert!(
        semicolons.starts_with("error: june.csv:2: `time;rain_mm`") && semicolons.ends_with("with commas"),
        "{semicolons}"
    );
    let unknown = |found: &str, nearest, unit| {
        let (found, what, accepted) = (found.to_owned(), FORM.what, FORM.accepted);
        (Some(1), None, Table::UnknownColumn { found, what, accepted, nearest, unit })
    };
    let missing = |name| (Some(1), Some(name), Table::ColumnMissing { headers });
    // A misspelt column is not told as missing as well.
    assert_eq!(table("time,rain-inn"), [unknown("rain-inn", Some("rain_in"), "inches")]);
    assert_eq!(table("time,rain"), [unknown("rain", Some("rain_mm"), "millimetres")]);
    assert_eq!(table("time,rain_mm,wind"), [unknown("wind", None, "")]);
    assert_eq!(table("date,rain_mm"), [unknown("date", None, ""), missing("time")]);
    assert_eq!(table("time,depth"), [unknown("depth", None, ""), missing("rain_mm")]);
    assert_eq!(table("time,time,rain_in"), [(Some(1), Some("time"), Table::ColumnTwice)]);
    let (first, second) = ("rain_mm", "rain_in");
    assert_eq!(table("time,rain_in,rain_mm"), [(Some(1), None, Table::SameTwice { first, second })]);
}

#[test]
fn message_says_what_was_found_accepted_and_to_do() {
    assert_eq!(
        said("time,rain_mm\n2027-06-04,T\n2027-06-05,-1\n06/06/2027,1"),
        "error: june.csv:2, column `rain_mm`: `T` is no number; accepted is rain in millimetres, 0 or more, 0 for a trace; \
         write digits with a decimal point and no unit\n\
         error: june.csv:3, column `rain_mm`: `-1` is out of range; accepted is rain in millimetres, 0 or more, 0 for a \
         trace; correct it\n\
         error: june.csv:4, column `time`: `06/06/2027` is no date and time; accepted is local standard time as \
         `2027-06-04 06:31` or `2027-06-04T06:31:20`, or `2027-06-04` for its midnight, without offset; rewrite it so"
    );
    assert_eq!(
        said("time,rain_in\n2027-06-04 00:00,0\n2027-06-04 00:15,12"),
        "error: june.csv:3, column `rain_in`: `12` makes 1219 mm of rain in an hour; accepted are at most 1000; check the \
         unit and the times, and that each row has only its own rain, not the sum of all before"
    );
    assert_eq!(
        said("time,rainfall_mm"),
        "error: june.csv:1: `rainfall_mm` is no column of a record of rain; accepted are `time` and one of `rain_mm` and \
         `rain_in`; write `rain_mm`? Its numbers must then be in millimetres"
    );
}

#[test]
fn many_errors_are_counted() {
    let rows = "2027-06-04,x,\n".repeat(MOST_ERRORS + 5);
    let errors = read(&format!("time,rain_mm\n{rows}")).unwrap_err();
    assert_eq!((errors.errors.len(), errors.more), (MOST_ERRORS, 5));
    assert!(errors.to_string().ends_with("\nerror: june.csv: and 5 more"));
}

#[test]
fn other_encodings_are_told() {
    let errors = read_rain(&b"time,rain_mm\n# caf\xe9\n"[..], "june.csv", date(2027, 6, 4)).unwrap_err();
    assert_eq!(errors.errors, [Error { line: Some(2), column: None, problem: Problem::Table(Table::NotUtf8) }]);
}

#[test]
fn more_rain_than_falls_is_told_without_its_three_hundred_digits() {
    let said = said("time,rain_mm\n2027-06-04 00:00,1e300\n2027-06-04 01:00,0\n");
    assert!(said.contains("makes 1.000e300 mm of rain in an hour") && said.len() < 400, "{said}");
}

#[test]
fn exact_rain_before_an_instant() {
    let hour = |h: f64| Time::from_s(3_600.0 * h);
    let steps = [(0.0, 1.0, 2.0), (1.0, 2.0, 6.0), (2.0, 5.0, 9.0)].map(|(start, end, depth_mm)| RainStep {
        start: hour(start),
        end: hour(end),
        depth_mm,
    });
    let before = |until: f64, hours: f64| rain_before_mm(&steps, hour(until), Span::from_s(3_600.0 * hours));
    assert!((before(2.0, 1.0) - 6.0).abs() < 1e-12);
    assert!((before(1.5, 1.0) - 4.0).abs() < 1e-12);
    assert!((before(9.0, 24.0) - 17.0).abs() < 1e-12);
    assert_eq!(before(0.0, 24.0), 0.0);
}
