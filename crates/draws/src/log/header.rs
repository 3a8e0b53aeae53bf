//! The header of a log: which of the three kinds it is, and where its columns are.

use springhouse_table::{Form, Header, Row};

use super::error::{LogErrors, Problem};
use super::{draws, meter, names};

/// How a log is laid out.
#[derive(Clone, Copy)]
pub(crate) enum Layout {
    /// One draw a row.
    Draws(draws::Columns),
    /// One meter reading a row.
    Meter(meter::Columns),
}

/// The unit of a column that may come in one or the other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Unit {
    /// Litres, litres a second, degrees Celsius.
    Metric,
    /// US gallons, US gallons a minute, degrees Fahrenheit.
    Us,
}

/// What a meter reading says.
#[derive(Clone, Copy)]
pub(crate) enum Reading {
    /// The register of the meter.
    Register,
    /// What was used since the row before.
    Used,
}

/// The headers of the three kinds of log, as text.
pub(crate) const HEADERS: &str = "`start,building,flow_lps,duration_s` (draws), `time,litres` (a meter's register) or \
     `time,litres_used`, with `flow_gpm`, `gallons` or `gallons_used` where US gallons are meant";

const DRAWS: Form = Form {
    what: "this log",
    headers: HEADERS,
    accepted: "`start`, `building`, `flow_lps` or `flow_gpm`, `duration_s`, `kind`, `wanted_c` or `wanted_f`",
    columns: &[
        ("start", ""),
        ("building", ""),
        ("flow_lps", "litres a second (1 gpm is 0.0631 L/s)"),
        ("flow_gpm", "US gallons a minute"),
        ("duration_s", "seconds"),
        ("kind", ""),
        ("wanted_c", "degrees Celsius"),
        ("wanted_f", "degrees Fahrenheit"),
    ],
};
const METER: Form = Form {
    what: "this log",
    headers: HEADERS,
    accepted: "`time`, one of `litres`, `litres_used`, `gallons` and `gallons_used`, `building`",
    columns: &[
        ("time", ""),
        ("litres", "litres"),
        ("litres_used", "litres"),
        ("gallons", "US gallons"),
        ("gallons_used", "US gallons"),
        ("building", ""),
    ],
};

/// The columns that say how much, of which a log has one.
const FLOWS: [(&str, Unit); 2] = [("flow_lps", Unit::Metric), ("flow_gpm", Unit::Us)];
const WARMTHS: [(&str, Unit); 2] = [("wanted_c", Unit::Metric), ("wanted_f", Unit::Us)];
const READINGS: [(&str, (Reading, Unit)); 4] = [
    ("litres", (Reading::Register, Unit::Metric)),
    ("litres_used", (Reading::Used, Unit::Metric)),
    ("gallons", (Reading::Register, Unit::Us)),
    ("gallons_used", (Reading::Used, Unit::Us)),
];

/// Reads a header; `None` when something is wrong with it, which is then told.
pub(crate) fn read(first: &Row<'_>, outlets: &[String], errors: &mut LogErrors) -> Option<Layout> {
    let has = |name: &str| first.has(name);
    let is_meter = has("time") || READINGS.iter().any(|(name, _)| has(name));
    let is_draws = has("start") || FLOWS.iter().any(|(name, _)| has(name)) || has("duration_s");
    if !is_meter && !is_draws {
        errors.push(Some(first.line), None, first.no_header(HEADERS));
        return None;
    }
    let layout = if is_meter {
        let header = Header::read(first, &METER, errors);
        let time = header.need("time", errors);
        let amount = header.one_of(&READINGS, errors);
        let building = header.find("building");
        if building.is_none() && outlets.len() != 1 {
            errors.push(Some(first.line), None, Problem::BuildingNeeded { names: names(outlets) });
        }
        let (amount, (reading, unit)) = amount?;
        Layout::Meter(meter::Columns { time: time?, amount, reading, unit, building })
    } else {
        let header = Header::read(first, &DRAWS, errors);
        let start = header.need("start", errors);
        let building = header.need("building", errors);
        let flow = header.one_of(&FLOWS, errors);
        let duration = header.need("duration_s", errors);
        let kind = header.find("kind");
        let is_warm = WARMTHS.iter().any(|(name, _)| has(name));
        let warmth = if is_warm { header.one_of(&WARMTHS, errors) } else { None };
        let (flow, unit) = flow?;
        let (start, building, duration) = (start?, building?, duration?);
        Layout::Draws(draws::Columns { start, building, flow, unit, duration, kind, warmth })
    };
    errors.is_empty().then_some(layout)
}

impl Unit {
    /// Litres in a US gallon: 231 cubic inches.
    const US_GALLON_L: f64 = 3.785_411_784;

    /// Litres of a volume in this unit.
    pub(crate) fn litres(self, volume: f64) -> f64 {
        match self {
            Self::Metric => volume,
            Self::Us => Self::US_GALLON_L * volume,
        }
    }

    /// Degrees Celsius of a temperature in this unit.
    pub(crate) fn celsius(self, temperature: f64) -> f64 {
        match self {
            Self::Metric => temperature,
            Self::Us => (temperature - 32.0) / 1.8,
        }
    }

    /// Litres a second of a flow in this unit.
    pub(crate) fn lps(self, flow: f64) -> f64 {
        match self {
            Self::Metric => flow,
            Self::Us => Self::US_GALLON_L * flow / 60.0,
        }
    }
}
