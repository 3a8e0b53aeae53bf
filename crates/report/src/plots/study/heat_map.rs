//! Two axes: how dark a field is says how often its variant falls short, and a figure's mean.

use springhouse_study::many::ShortTold;

use super::{LINE, axis_name, from_to, middle};
use crate::chart::ink::{LEVEL, PAPER, QUIET, STRIP, TEXT, WATER};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, WIDTH, fitted, label_width};
use crate::numbers::{chance, fixed, three_figures};
use crate::study::{Levels, Stands, Told, text};

/// Fields across that can still be told apart.
const MOST_ACROSS: usize = 40;
/// Fields down.
const MOST_DOWN: usize = 30;
/// A page is for the fields, not for their names.
const MOST_NAME: f64 = 130.0;
/// How dark the lightest and the darkest fields are.
const LIGHTEST: f64 = 0.06;
const DARKEST: f64 = 1.0;
/// From here on letters are light.
const DARK: f64 = 0.82;

/// A full grid of two axes, the first across.
struct Grid {
    across: Levels,
    down: Levels,
    /// The variant of each field, line by line.
    variants: Vec<usize>,
}

impl Grid {
    fn of(told: &Told<'_>) -> Option<Self> {
        if !told.is_sweep() || told.plan.axes.len() != 2 {
            return None;
        }
        let (across, down) = (Levels::of(told, 0)?, Levels::of(told, 1)?);
        let (columns, lines) = (across.count(), down.count());
        let fits = (2..=MOST_ACROSS).contains(&columns) && (2..=MOST_DOWN).contains(&lines);
        if !fits || told.plan.variants.len() != columns * lines || told.variants.len() != columns * lines {
            return None;
        }
        let mut variants = vec![None; columns * lines];
        for (variant, (column, line)) in across.of_variant.iter().zip(&down.of_variant).enumerate() {
            *variants.get_mut(line * columns + column)? = Some(variant);
        }
        Some(Self { across, down, variants: variants.into_iter().collect::<Option<Vec<usize>>>()? })
    }
}

/// What is shown of each variant: how dark, and in words.
struct Shown {
    heading: String,
    /// By variant; `None` where there is no result.
    values: Vec<Option<f64>>,
    said: Vec<String>,
    least: f64,
    most: f64,
    ends: [String; 2],
}

/// `None` but for a full grid of two axes.
pub(in crate::plots) fn page(told: &Told<'_>) -> Option<Page> {
    let grid = Grid::of(told)?;
    let mut page = Page::new(&title(told)?, &text::subject(told));
    let chances = chances(told);
    panel(&mut page, told, &grid, &chances);
    if let Some(means) = means(told) {
        panel(&mut page, told, &grid, &means);
    }
    key(&mut page, told);
    Some(page)
}

fn title(told: &Told<'_>) -> Option<String> {
    let known = |variant: usize| Some((variant, told.variants.get(variant)?.short?));
    let known: Vec<(usize, ShortTold)> = (0..told.variants.len()).filter_map(known).collect();
    let by_chance = |a: &&(usize, ShortTold), b: &&(usize, ShortTold)| a.1.chance.total_cmp(&b.1.chance);
    let (low, high) = (known.iter().min_by(by_chance)?, known.iter().max_by(by_chance)?);
    let meets = (0..told.variants.len()).filter(|variant| told.stands(*variant) == Some(Stands::Meets)).count();
    let wanted = match text::wanted(told) {
        Some(_) if meets == 0 => ", and no variant is sure to meet what is wanted".to_owned(),
        Some(_) => format!(", and {meets} of {} variants meet what is wanted", told.variants.len()),
        None => String::new(),
    };
    Some(format!("{}{wanted}", from_to(told, *high, *low)))
}

fn chances(told: &Told<'_>) -> Shown {
    let values: Vec<Option<f64>> = told.variants.iter().map(|it| it.short.map(|short| short.chance)).collect();
    let most = values.iter().flatten().copied().fold(0.0, f64::max);
    let most = if most > 0.0 { most } else { 1.0 };
    let said = values.iter().map(|value| value.map_or_else(String::new, chance)).collect();
    let ends = ["0 %".to_owned(), format!("{} %", chance(most))];
    Shown { heading: "Chance that a run falls short, %".to_owned(), values, said, least: 0.0, most, ends }
}

/// The mean of the first figure that varies and is not what falls short, if there is one.
fn means(told: &Told<'_>) -> Option<Shown> {
    let short = told.place(&told.plan.short.figure);
    let varying = told.varying_figures();
    let place = varying.iter().copied().find(|place| Some(*place) != short).or(varying.first().copied())?;
    let scale = told.figure(place).scale(told.units());
    let value = |variant: usize| Some(scale.value(told.found(variant, place)?.mean?.mean));
    let values: Vec<Option<f64>> = (0..told.variants.len()).map(value).collect();
    let known = || values.iter().flatten().copied();
    let (least, most) = (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
    let decimals = three_figures(known());
    let said = |value: f64| fixed(value, decimals);
    let ends = [least, most].map(|end| format!("{} {}", said(end), scale.unit).trim_end().to_owned());
    let heading = format!("Mean of {}", told.figure(place).with_unit(told.units()));
    let said = values.iter().map(|value| value.map_or_else(String::new, said)).collect();
    (most > least).then_some(Shown { heading, values, said, least, most, ends })
}

/// How dark a share of the way from the least to the most is.
fn ink(share: f64) -> Ink {
    WATER.thin(LIGHTEST + (DARKEST - LIGHTEST) * share.clamp(0.0, 1.0))
}

#[expect(clippy::cast_precision_loss, reason = "a few fields")]
fn panel(page: &mut Page, told: &Told<'_>, grid: &Grid, shown: &Shown) {
    const HEIGHT: f64 = 28.0;
    let columns = grid.across.count();
    page.y += 12.0;
    page.heading(&shown.heading);
    page.y += 2.0;
    legend(page, shown);
    let down = fitted(&axis(told, 1), WIDTH - 2.0 * MARGIN);
    page.label((MARGIN, page.y + 0.6 * BODY), &down, QUIET, Align::Left);
    page.y += LINE + 2.0;
    let name = grid.down.names.iter().map(|name| label_width(name)).fold(0.0, f64::max).min(MOST_NAME);
    let (left, right, top) = (MARGIN + name + 10.0, WIDTH - MARGIN - 2.0, page.y);
    let width = (right - left) / columns as f64;
    let field = |at: usize| {
        let (column, line) = ((at % columns) as f64, (at / columns) as f64);
        Area::new(
            left + column * width,
            top + line * HEIGHT,
            left + (column + 1.0) * width,
            top + (line + 1.0) * HEIGHT,
        )
    };
    let has_room = shown.said.iter().all(|said| label_width(said) + 4.0 <= width);
    for (at, variant) in grid.variants.iter().enumerate() {
        let area = inset(field(at), 1.0);
        let Some(value) = shown.values.get(*variant).copied().flatten() else {
            page.fill(area, STRIP);
            page.hatched(area, LEVEL);
            continue;
        };
        let share = (value - shown.least) / (shown.most - shown.least);
        page.fill(area, ink(share));
        let text = if share > DARK { PAPER } else { TEXT };
        if has_room {
            let said = shown.said.get(*variant).map_or("", String::as_str);
            page.label((0.5 * (area.left + area.right), middle(&area)), said, text, Align::Middle);
        }
        if told.variants.get(*variant).is_some_and(|it| it.faults > 0) {
            corner(page, area, text);
        }
        match told.stands(*variant) {
            Some(Stands::Meets) => outline(page, inset(area, 1.0), 2.0),
            Some(Stands::MayMeet) => broken_outline(page, inset(area, 1.0)),
            _ => {}
        }
    }
    for (line, name) in grid.down.names.iter().enumerate() {
        page.fitted_label((left - 6.0, top + HEIGHT * (line as f64 + 0.5)), name, left - MARGIN - 6.0, Align::Right);
    }
    page.y = top + HEIGHT * grid.down.count() as f64 + 0.8 * BODY;
    let mut free = f64::NEG_INFINITY;
    let every = grid.across.names.iter().all(|name| label_width(name) + 6.0 <= width);
    for (column, name) in grid.across.names.iter().enumerate() {
        let (x, half) = (left + width * (column as f64 + 0.5), 0.5 * label_width(name));
        if every || (x - half >= free && x + half <= WIDTH - 6.0) {
            page.label((x, page.y), name, TEXT, Align::Middle);
            free = x + half + 6.0;
        }
    }
    axis_name(page, &Area::new(left, top, right, page.y), &axis(told, 0));
}

/// What an axis of the plan is called.
fn axis(told: &Told<'_>, axis: usize) -> String {
    told.plan.axes.get(axis).map_or_else(String::new, |axis| axis.name.clone())
}

fn inset(area: Area, by: f64) -> Area {
    Area::new(area.left + by, area.top + by, area.right - by, area.bottom - by)
}

/// How dark the ends are.
fn legend(page: &mut Page, shown: &Shown) {
    const STEPS: u8 = 24;
    const LENGTH: f64 = 120.0;
    let (y, [low, high]) = (page.y + 0.6 * BODY, &shown.ends);
    page.label((MARGIN, y), low, QUIET, Align::Left);
    let left = MARGIN + label_width(low) + 6.0;
    for step in 0..STEPS {
        let [from, to] = [step, step + 1].map(|step| left + LENGTH * f64::from(step) / f64::from(STEPS));
        let share = f64::from(step) / f64::from(STEPS - 1);
        page.fill(Area::new(from, y - 0.45 * BODY, to, y + 0.45 * BODY), ink(share));
    }
    page.label((left + LENGTH + 6.0, y), high, QUIET, Align::Left);
    page.y += LINE + 4.0;
}

/// A corner cut off: some runs had no result.
fn corner(page: &mut Page, area: Area, ink: Ink) {
    const SIDE: f64 = 7.0;
    page.polygon(vec![(area.right - SIDE, area.top), (area.right, area.top), (area.right, area.top + SIDE)], ink);
}

fn outline(page: &mut Page, area: Area, width: f64) {
    let Area { left, top, right, bottom } = area;
    page.path(vec![(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], TEXT, width);
}

fn broken_outline(page: &mut Page, area: Area) {
    const DASH: f64 = 5.0;
    const GAP: f64 = 4.0;
    for y in [area.top, area.bottom] {
        page.dashes((area.left, y), area.right, TEXT);
    }
    for x in [area.left, area.right] {
        let mut y = area.top;
        while y < area.bottom {
            page.line((x, y), (x, (y + DASH).min(area.bottom)), TEXT, 1.25);
            y += DASH + GAP;
        }
    }
}

fn key(page: &mut Page, told: &Told<'_>) {
    page.y += 4.0;
    let any = |stands: Stands| (0..told.variants.len()).any(|variant| told.stands(variant) == Some(stands));
    let wanted = text::wanted(told).unwrap_or_default();
    if any(Stands::Meets) {
        page.key(&format!("{wanted}: all of the interval is within"), |page, area| outline(page, area, 2.0));
    }
    if any(Stands::MayMeet) {
        let said = if any(Stands::Meets) {
            "found within, but the interval reaches beyond".to_owned()
        } else {
            format!("{wanted}: found within, but the interval reaches beyond")
        };
        page.key(&said, broken_outline);
    }
    if told.variants.iter().any(|it| it.short.is_none()) {
        page.key("no run has a result", |page, area| page.hatched(area, LEVEL));
    }
    if told.variants.iter().any(|it| it.short.is_some() && it.faults > 0) {
        page.key("some runs have no result and are left out", |page, area| {
            page.fill(area, ink(0.1));
            corner(page, area, TEXT);
        });
    }
}
