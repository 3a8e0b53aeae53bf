//! What the membrane unit made of its feed, and how salty its waters were.

use springhouse_core::observe::Totals;
use springhouse_scenario::Units;
use springhouse_sim::{MembraneSummary, Row};

use super::levels::{BAND_FROM, EDGE, GAP, LEFT, Panel, RIGHT, draw_panel, membrane_runs, name_spells, strip};
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::bars::Bars;
use crate::chart::ink::{FLUSH, PRODUCT, RECYCLED, REJECT, TEXT};
use crate::chart::{Area, Look, MARGIN, Page, WIDTH, label_width};
use crate::numbers::{Scale, fixed, percent, salt_figure, times};
use crate::spells::{self, Spell};
use crate::{Run, days, text, words};

const WATER_HEIGHT: f64 = 190.0;
const SMALL_HEIGHT: f64 = 58.0;
/// Over the highest bar there is room for its value, a little below the heading.
const ROOM: f64 = 1.4;
const SALT_HEIGHT: f64 = 100.0;
/// The axes of salt reach so far at least: less would be marked with fractions of next to nothing.
const LEAST_MG_L: f64 = 2.0;
/// The axis of water reaches so far at least, in the reader's unit.
const LEAST_WATER: f64 = 1.0;

/// A share of the water that went through the unit.
struct Flow {
    name: &'static str,
    look: Look,
    total: fn(&Totals) -> f64,
}

/// From the foot up: first what becomes of the fresh feed, on top what goes round once more.
const FLOWS: [Flow; 4] = [
    Flow { name: "product, into storage", look: PRODUCT, total: |totals| totals.membrane_stored_l() },
    Flow { name: "reject", look: REJECT, total: days::rejected_l },
    Flow {
        name: "flushes and first product, to waste",
        look: FLUSH,
        total: |totals| totals.membrane.flushed_l + totals.membrane.diverted_l,
    },
    Flow { name: "recycled to the suction", look: RECYCLED, total: |totals| totals.membrane.recycled_l },
];

/// `None` for a plant without one.
pub(super) fn page(run: &Run<'_>) -> Option<Page> {
    let summary = run.outcome.summary.membrane.as_ref()?;
    let mut page = Page::new(&title(run, summary), &text::subject(run));
    if summary.feed_l <= 0.0 {
        return Some(page);
    }
    let (strips, locked_out) = (strips(run), spells::membrane_lock_outs(run));
    let widest = strips.iter().map(|(name, _)| label_width(name)).fold(0.0, f64::max);
    let right = (WIDTH - EDGE - GAP - widest).floor().clamp(RIGHT.0, WIDTH - MARGIN - 8.0);
    let axis = TimeAxis { left: LEFT, right, first_day: run.first_day, days: run.outcome.summary.days };
    page.y += 4.0;
    name_spells(&mut page, &axis, locked_out.iter().map(|spell| (*spell, words::LOCKED_OUT)), TEXT);
    for (name, spells) in &strips {
        strip(&mut page, &axis, name, spells);
    }
    bars(&mut page, run, &axis);
    let panel = loop_salt(run);
    heading(&mut page, &panel.heading);
    let area = Area::new(LEFT, page.y, right, page.y + panel.height);
    draw_panel(&mut page, run, &panel, &axis, area, (&[], &locked_out));
    page.y = area.bottom;
    axis.labels(&mut page);
    page.y += 4.0;
    key(&mut page, run);
    if axis.day_width() < BAND_FROM {
        page.paragraph("The band of salt reaches from the lowest to the highest of each day.");
    }
    Some(page)
}

fn heading(page: &mut Page, text: &str) {
    page.y += 12.0;
    page.heading(text);
    page.y += 4.0;
}

/// When it ran, tripped and was cleaned; none where it never did.
fn strips(run: &Run<'_>) -> Vec<(&'static str, Vec<Spell>)> {
    let mut strips = vec![
        ("runs", membrane_runs(run)),
        ("trips", spells::membrane_trips(run)),
        ("cleaned", spells::membrane_cleanings(run)),
    ];
    strips.retain(|(_, spells)| !spells.is_empty());
    strips
}

/// What became of the water in each hour, day, week or month; below, how much of the fresh feed came into storage and how salty
/// it was.
fn bars(page: &mut Page, run: &Run<'_>, axis: &TimeAxis) {
    let bars = Bars::from_hours(axis);
    let sums = |total: &dyn Fn(&Totals) -> f64| bars.sums(&days::gained_in(run, bars.step, total));
    let litres: Vec<Vec<f64>> = FLOWS.iter().map(|flow| sums(&flow.total)).collect();
    let height = |bar: usize| litres.iter().filter_map(|of| of.get(bar)).sum::<f64>();
    let most_l = (0..litres.first().map_or(0, Vec::len)).map(height).fold(0.0, f64::max);
    let scale = Scale::volume_up_to(run.units, most_l);
    let told = |of: &[f64]| of.iter().map(|litres| scale.value(*litres)).collect();
    let stacked: Vec<(Look, Vec<f64>)> = FLOWS.iter().zip(&litres).map(|(flow, of)| (flow.look, told(of))).collect();

    heading(page, &format!("Water through the membrane unit, {} {}", scale.unit, bars.each.per()));
    let area = Area::new(axis.left, page.y, axis.right, page.y + WATER_HEIGHT);
    let values = ValueAxis::up(area, scale.value(most_l).max(LEAST_WATER));
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    bars.stack(page, &values, &stacked);
    page.y = area.bottom;

    let of_each = |part: &dyn Fn(&Totals) -> f64, whole: &dyn Fn(&Totals) -> f64| -> Vec<f64> {
        let over = |(part, whole): (f64, f64)| if whole > 0.0 { part / whole } else { 0.0 };
        sums(part).into_iter().zip(sums(whole)).map(over).collect()
    };
    let recovery = of_each(&|totals| 100.0 * totals.membrane_stored_l(), &Totals::membrane_feed_l);
    let most = recovery.iter().copied().fold(100.0 / ROOM, f64::max);
    small(page, &bars, axis, "Recovery: product into storage, % of the fresh feed", (most * ROOM, &recovery));
    let made = |totals: &Totals| totals.membrane.product_l;
    let salt = of_each(&|totals| 1e3 * totals.membrane.product_salt_g, &made);
    let most = salt.iter().copied().fold(LEAST_MG_L, f64::max);
    small(page, &bars, axis, "Salt in the product as it leaves the membrane, mg/L", (most * ROOM, &salt));
}

/// A panel of bars with their values over them.
fn small(page: &mut Page, bars: &Bars, axis: &TimeAxis, name: &str, (most, shown): (f64, &[f64])) {
    heading(page, name);
    let area = Area::new(axis.left, page.y, axis.right, page.y + SMALL_HEIGHT);
    let values = ValueAxis::up(area, most);
    values.grid(page);
    axis.grid(page, area.top, area.bottom);
    bars.draw(page, &values, shown, |_| PRODUCT);
    if bars.have_room(shown, salt_figure) {
        bars.numbers(page, &values, shown, salt_figure);
    }
    page.y = area.bottom;
}

fn loop_salt<'a>(run: &Run<'a>) -> Panel<'a> {
    let salt = |row: &Row| row.membrane.loop_salt_mg_l;
    let most = run.outcome.rows.iter().map(salt).fold(LEAST_MG_L, f64::max);
    Panel { height: SALT_HEIGHT, most, ..Panel::of("Salt in the loop and in the reject, mg/L".to_owned(), salt) }
}

/// What became of the feed, and how much went round.
fn key(page: &mut Page, run: &Run<'_>) {
    let of_run = |total: fn(&Totals) -> f64| days::gained(run, total).iter().sum::<f64>();
    let feed_l = of_run(Totals::membrane_feed_l);
    for (place, flow) in FLOWS.iter().enumerate().rev() {
        let litres = of_run(flow.total);
        let said = match litres {
            none if none <= 0.0 => "none".to_owned(),
            // What goes round is part of no feed.
            some if place + 1 == FLOWS.len() => run.units.volume(some),
            some => format!("{}, {} of the feed", run.units.volume(some), percent(some / feed_l)),
        };
        page.key(&format!("{}: {said}", flow.name), |page, area| page.cover(area, flow.look));
    }
}

/// What it made and what that cost in water; then what stopped it.
fn title(run: &Run<'_>, summary: &MembraneSummary) -> String {
    let mut said = if summary.product_l > 0.0 {
        let days = f64::from(run.outcome.summary.days.max(1));
        let (made, each) = match run.outcome.summary.days {
            0 | 1 => (summary.product_l, ""),
            _ => (summary.product_l / days, " a day"),
        };
        let wasted = (summary.feed_l - summary.product_l) / summary.product_l;
        let unit = if run.units == Units::Us { "gal" } else { "L" };
        format!(
            "The membrane unit made {}{each} and wasted {} {unit} for each",
            run.units.volume(made),
            fixed(wasted, if wasted < 1.0 { 2 } else { 1 })
        )
    } else {
        "The membrane unit made no water for storage".to_owned()
    };
    if summary.lock_outs > 0 {
        said.push_str("; it was locked out for ");
        said.push_str(&run.units.duration(3_600.0 * summary.locked_out_hours));
    } else if summary.trips > 0 {
        said.push_str("; it tripped ");
        said.push_str(&times(summary.trips));
    }
    said
}
