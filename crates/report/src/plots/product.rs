//! What the membrane unit made of water as warm as it came: a point for each day on which it ran.

use springhouse_core::membrane::element::temperature_factor;
use springhouse_core::supply::MOST_SUPPLIES;
use springhouse_sim::Day;

use super::SEASON_DAYS;
use crate::chart::across::Across;
use crate::chart::axis::ValueAxis;
use crate::chart::ink::{LEVEL, PUMPS, QUIET};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, Point, WIDTH};
use crate::numbers::{Scale, counted, fixed, len, product_decimals};
use crate::{Run, days, text};

const LEFT: f64 = MARGIN + 42.0;
const RIGHT: f64 = WIDTH - MARGIN - 8.0;
const HEIGHT: f64 = 300.0;
/// The axis across reaches over so much at least, K.
const LEAST_RANGE_K: f64 = 5.0;
const REFERENCE_WIDTH: f64 = 1.0;
/// Reach of a mark from its middle.
const REACH: f64 = 3.5;

/// A day on which it ran.
struct Made {
    temp_c: f64,
    l_h: f64,
    /// The supply that gave most of the day's water.
    supply: usize,
}

/// `None` without a membrane unit that ran, for a run that is short, or whose days were not kept.
pub(super) fn page(run: &Run<'_>) -> Option<Page> {
    run.scenario.plant.membrane.as_ref()?;
    if run.outcome.days.len() < SEASON_DAYS {
        return None;
    }
    let made: Vec<Made> = run.outcome.days.iter().filter_map(made).collect();
    let by_warmth = |a: &&Made, b: &&Made| a.temp_c.total_cmp(&b.temp_c);
    let (coldest, warmest) = (made.iter().min_by(by_warmth)?, made.iter().max_by(by_warmth)?);
    let (warmth, product) = (Scale::temperature(run.units), Scale::product(run.units));
    let mut page = Page::new(&title(run, coldest, warmest), &text::subject(run));
    page.y += 12.0;
    page.heading(&format!("Product while the membrane unit ran, {}, of each day", product.unit));
    page.y += 4.0;
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    let made_most = made.iter().map(|day| day.l_h).fold(0.0, f64::max);
    let reference = Reference::of(run, &made)?;
    let most = made_most.max(reference.l_h(warmest.temp_c));
    let values = ValueAxis::up(area, 1.05 * product.value(most));
    values.grid(&mut page);
    let high_c = warmest.temp_c.max(coldest.temp_c + LEAST_RANGE_K);
    let across = Across::new(area, warmth.value(coldest.temp_c), warmth.value(high_c));
    across.grid(&mut page);
    page.line((area.left, area.bottom), (area.right, area.bottom), QUIET, 1.0);
    let line = (0..=STEPS).map(|step| {
        let temp_c = coldest.temp_c + (warmest.temp_c - coldest.temp_c) * f64::from(step) / f64::from(STEPS);
        (across.x(warmth.value(temp_c)), values.y(product.value(reference.l_h(temp_c))))
    });
    page.path(line.collect(), LEVEL, REFERENCE_WIDTH);
    for day in &made {
        mark(&mut page, (across.x(warmth.value(day.temp_c)), values.y(product.value(day.l_h))), day.supply);
    }
    // Clear of the zero of the values.
    page.y = area.bottom + 1.1 * BODY;
    across.labels(&mut page);
    page.y += 1.5 * BODY;
    let name = format!("temperature of the feed, {}", warmth.unit);
    page.label((0.5 * (LEFT + RIGHT), page.y), &name, QUIET, Align::Middle);
    page.y += 1.2 * BODY;
    key(&mut page, run, &made);
    Some(page)
}

/// Steps of the reference line.
const STEPS: u8 = 40;

/// What it would make if nothing but the membrane's permeability changed: the course of that over temperature, through the
/// mean of all days.
struct Reference {
    l_h_of_one: f64,
    water_temp_k: f64,
}

impl Reference {
    fn of(run: &Run<'_>, made: &[Made]) -> Option<Self> {
        let water_temp_k = run.scenario.plant.membrane.as_ref()?.unit.element.water_temp_k;
        let factors: f64 = made.iter().map(|day| temperature_factor(water_temp_k, day.temp_c)).sum();
        Some(Self { l_h_of_one: made.iter().map(|day| day.l_h).sum::<f64>() / factors, water_temp_k })
    }

    fn l_h(&self, temp_c: f64) -> f64 {
        self.l_h_of_one * temperature_factor(self.water_temp_k, temp_c)
    }
}

fn made(day: &Day) -> Option<Made> {
    let given_l = |index: &usize| day.totals.supplies[*index].pumped_l;
    let supply = (0..MOST_SUPPLIES).rev().max_by(|a, b| given_l(a).total_cmp(&given_l(b)))?;
    Some(Made { temp_c: day.feed_temp_c, l_h: days::product_l_h(day)?, supply })
}

/// A mark of the form and colour of its supply: a square, a diamond, a triangle.
fn mark(page: &mut Page, (x, y): Point, supply: usize) {
    const COVER: f64 = 0.6;
    let ink: Ink = PUMPS[supply].ink.thin(COVER);
    match supply {
        0 => page.fill(Area::new(x - 0.8 * REACH, y - 0.8 * REACH, x + 0.8 * REACH, y + 0.8 * REACH), ink),
        1 => {
            let corners = vec![(x, y - REACH), (x + REACH, y), (x, y + REACH), (x - REACH, y), (x, y - REACH)];
            page.polygon(corners.clone(), ink);
            page.path(corners, LEVEL, 0.5);
        }
        _ => page.polygon(vec![(x, y - REACH), (x + REACH, y + 0.8 * REACH), (x - REACH, y + 0.8 * REACH)], ink),
    }
}

/// How many days each supply fed most, where more than one did.
fn key(page: &mut Page, run: &Run<'_>, made: &[Made]) {
    for (index, supply) in run.scenario.plant.supplies.iter().enumerate() {
        let fed: Vec<&Made> = made.iter().filter(|day| day.supply == index).collect();
        if !fed.is_empty() {
            let days = counted(len(&fed), "day");
            page.key(&format!("{}: {days} on which it gave most of the water", supply.name), |page, area| {
                mark(page, (0.5 * (area.left + area.right), 0.5 * (area.top + area.bottom)), index);
            });
        }
    }
    let said = "if only the membrane's permeability changed with temperature, through the mean of all days";
    page.key(said, |page, area| {
        let y = 0.5 * (area.top + area.bottom);
        page.line((area.left, y), (area.right, y), LEVEL, REFERENCE_WIDTH);
    });
}

/// What it made of the coldest and of the warmest water.
fn title(run: &Run<'_>, coldest: &Made, warmest: &Made) -> String {
    let scale = Scale::product(run.units);
    let [low, high] = [coldest, warmest].map(|day| scale.value(day.l_h));
    let figure = |value: f64| fixed(value, product_decimals(low.max(high)));
    let [cold, warm] = [coldest, warmest].map(|day| run.units.temperature(day.temp_c));
    if cold == warm {
        return format!("The membrane unit made {} {} of water at {cold}", figure(high), scale.unit);
    }
    format!(
        "The membrane unit made {} {unit} in its coldest feed ({cold}) and {} {unit} in its warmest ({warm})",
        figure(low),
        figure(high),
        unit = scale.unit
    )
}
