//! What a season says, in a sentence.

use springhouse_sim::SupplySummary;

use crate::numbers::{Scale, fixed, percent, product_decimals, salt_figure};
use crate::{Run, calendar, days};

/// How low and how salty each pond was and when; else how the plant fared; then what the membrane unit made.
pub(super) fn title(run: &Run<'_>) -> String {
    let ponds = days::open_basins(&run.scenario.plant).filter_map(|(index, name, basin)| {
        let summary = run.outcome.summary.supplies.get(index)?;
        Some(pond(name, basin.capacity_l, summary))
    });
    let ponds: Vec<String> = ponds.collect();
    let short = short(run, ponds.is_empty());
    let said: Vec<String> = ponds.into_iter().chain([short]).chain(product(run)).collect();
    said.join("; ")
}

fn pond(name: &str, capacity_l: f64, summary: &SupplySummary) -> String {
    let full = format!("{} full", percent(summary.lowest_l.unwrap_or(0.0).max(0.0) / capacity_l));
    let on = |at: &str| format!("on {}", calendar::spoken_iso_date(at));
    let lowest_on = summary.lowest_at.as_deref().map(on).unwrap_or_default();
    let Some(open) = &summary.open_water else {
        return format!("the {name} was lowest {lowest_on}, {full}");
    };
    let (salt, saltiest_on) = (format!("{} mg/L", salt_figure(open.most_salt_mg_l)), on(&open.most_salt_at));
    if lowest_on == saltiest_on {
        format!("the {name} was lowest and saltiest {lowest_on}, {full} and at {salt}")
    } else {
        format!("the {name} was lowest {lowest_on}, {full}, and saltiest {saltiest_on}, at {salt}")
    }
}

/// On how many days water ran out.
fn short(run: &Run<'_>, alone: bool) -> String {
    let all = run.outcome.days.len();
    let short = run.outcome.days.iter().filter(|day| day.run_out_s > 0.0).count();
    match short {
        0 if alone => format!("no building ran out of water on any of {all} days"),
        0 => "no building ran out of water".to_owned(),
        1 => format!("water ran out on 1 of {all} days"),
        _ => format!("water ran out on {short} of {all} days"),
    }
}

/// From the least to the most that the membrane unit made on a day while it ran.
fn product(run: &Run<'_>) -> Option<String> {
    run.scenario.plant.membrane.as_ref()?;
    let scale = Scale::product(run.units);
    let made = || run.outcome.days.iter().filter_map(days::product_l_h).map(|l_h| scale.value(l_h));
    let (least, most) = (made().reduce(f64::min)?, made().reduce(f64::max)?);
    let figure = |value: f64| fixed(value, product_decimals(most));
    let (least, most) = (figure(least), figure(most));
    let made = if least == most { most } else { format!("{least} to {most}") };
    Some(format!("the membrane unit made {made} {}", scale.unit))
}
