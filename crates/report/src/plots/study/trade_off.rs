//! What is gained along an axis: how often runs fall short, and the means of figures, each with its interval.

use springhouse_study::many::{ShortTold, Target};
use springhouse_study::sure::Interval;

use super::{LEFT, LINE, RIGHT, axis_name, bounds, from_to, middle};
use crate::chart::axis::ValueAxis;
use crate::chart::ink::{CARE, DELIVERY, HELD, LEVEL, PAPER, QUIET, TEXT, TROUBLE, WATER};
use crate::chart::{Align, Area, BODY, Ink, Page, Point, WIDTH, label_width};
use crate::numbers::Scale;
use crate::study::{Levels, Told, text};

/// Lines that can still be told apart.
const MOST_LINES: usize = 6;
/// Figures that have a panel each.
const MOST_FIGURES: usize = 2;
const HEIGHT: f64 = 170.0;
/// Room beside the first and the last point.
const INSET: f64 = 26.0;
/// From mark to mark.
const LEAST_APART: f64 = 11.0;
/// Each line has an ink and a form of its own.
const INKS: [Ink; MOST_LINES] = [WATER, TROUBLE, HELD, TEXT, DELIVERY.ink, CARE];

/// A point of a line: where on the axis, and the variant.
type Spot = (usize, usize);

/// The lines of the picture over the first axis.
struct Lines {
    levels: Levels,
    /// For each level of the second axis, if there is one.
    each: Vec<(String, Vec<Spot>)>,
}

impl Lines {
    fn of(told: &Told<'_>) -> Option<Self> {
        if !told.is_sweep() || told.plan.axes.len() > 2 {
            return None;
        }
        let levels = Levels::of(told, 0)?;
        let second = Levels::of(told, 1);
        let count = second.as_ref().map_or(1, Levels::count);
        if levels.count() < 2 || count > MOST_LINES {
            return None;
        }
        let line = |which: usize| -> (String, Vec<Spot>) {
            let is_of = |variant: &usize| second.as_ref().is_none_or(|it| it.of_variant.get(*variant) == Some(&which));
            let mut spots: Vec<Spot> =
                levels.of_variant.iter().enumerate().map(|(variant, at)| (*at, variant)).collect();
            spots.retain(|(_, variant)| is_of(variant));
            spots.sort_unstable();
            (second.as_ref().and_then(|it| it.names.get(which).cloned()).unwrap_or_default(), spots)
        };
        let each: Vec<_> = (0..count).map(line).collect();
        each.iter().any(|(_, spots)| spots.len() > 1).then_some(Self { levels, each })
    }

    /// Levels from one whisker to the next: more than one where they would stand too close to be told apart.
    fn stride(&self) -> usize {
        let room = (RIGHT - LEFT - 2.0 * INSET) / float(self.levels.count() - 1);
        let is_apart = |stride: &usize| float(*stride) * room >= LEAST_APART;
        if self.levels.amounts.is_none() || room >= LEAST_APART * float(self.each.len()) {
            return 1;
        }
        (1..self.levels.count()).find(is_apart).unwrap_or(1) * self.each.len()
    }

    /// Whether intervals are drawn as bands: several would hide each other.
    fn has_bands(&self) -> bool {
        self.levels.amounts.is_some() && self.each.len() == 1
    }

    /// Where a level stands: to scale, or at equal distances.
    fn x(&self, level: usize) -> f64 {
        let (left, right) = (LEFT + INSET, RIGHT - INSET);
        let share = match &self.levels.amounts {
            Some(amounts) => {
                let (first, last) = (amounts.first(), amounts.last());
                let (first, last) = (first.copied().unwrap_or(0.0), last.copied().unwrap_or(1.0));
                (amounts.get(level).copied().unwrap_or(first) - first) / (last - first)
            }
            None => float(level) / float(self.levels.count() - 1),
        };
        left + (right - left) * share
    }
}

/// A value, its interval, and the values between which nine of ten runs are.
#[derive(Clone, Copy)]
struct Found {
    value: f64,
    bounds: Interval,
    range: Option<Interval>,
}

/// `None` but for one axis, or two with few levels of the second.
pub(in crate::plots) fn page(told: &Told<'_>) -> Option<Page> {
    let lines = Lines::of(told)?;
    let mut page = Page::new(&title(told, &lines)?, &text::subject(told));
    chances(&mut page, told, &lines);
    let short = told.place(&told.plan.short.figure);
    let varying = told.varying_figures();
    let others = varying.iter().copied().filter(|place| Some(*place) != short);
    let places: Vec<usize> = short.filter(|it| varying.contains(it)).into_iter().chain(others).collect();
    for place in places.into_iter().take(MOST_FIGURES) {
        means(&mut page, told, &lines, place);
    }
    key(&mut page, told, &lines);
    Some(page)
}

fn title(told: &Told<'_>, lines: &Lines) -> Option<String> {
    let known = |spot: &Spot| Some((spot.1, told.variants.get(spot.1)?.short?));
    let found: Vec<(usize, ShortTold)> = lines.each.iter().flat_map(|(_, spots)| spots).filter_map(known).collect();
    let by_chance = |a: &&(usize, ShortTold), b: &&(usize, ShortTold)| a.1.chance.total_cmp(&b.1.chance);
    let (low, high) = (found.iter().min_by(by_chance)?, found.iter().max_by(by_chance)?);
    Some(from_to(told, *high, *low))
}

fn chances(page: &mut Page, told: &Told<'_>, lines: &Lines) {
    let found = |variant: usize| {
        let short = told.variants.get(variant)?.short?;
        Some(Found { value: short.chance, bounds: short.bounds, range: None })
    };
    let wanted = match told.plan.target {
        Some(Target::Chance(most)) => Some(most),
        _ => None,
    };
    let all = lines.each.iter().flat_map(|(_, spots)| spots).filter_map(|(_, variant)| found(*variant));
    let most = all.map(|it| it.bounds.high).chain(wanted.map(|it| 1.2 * it)).fold(0.0, f64::max);
    let area = opened(page, "Chance that a run falls short, %");
    let values = ValueAxis::up(area, (100.0 * most).min(100.0));
    draw(page, lines, &values, Scale::percent(), &found);
    if let Some(wanted) = wanted {
        page.dashes((area.left, values.y(100.0 * wanted)), area.right, LEVEL);
    }
    closed(page, told, lines, &area);
}

fn means(page: &mut Page, told: &Told<'_>, lines: &Lines, place: usize) {
    let figure = told.figure(place);
    let scale = figure.scale(told.units());
    let is_alone = lines.each.len() == 1;
    let found = |variant: usize| {
        let found = told.found(variant, place)?;
        let mean = found.mean?;
        let range = is_alone.then_some(Interval { low: found.low.value, high: found.high.value });
        Some(Found { value: mean.mean, bounds: mean.bounds, range })
    };
    let wanted: Vec<f64> = match &told.plan.target {
        Some(Target::Mean { figure, .. }) if told.plan.figures.get(place) == Some(figure) => {
            bounds(told, place).iter().filter(|bound| bound.is_wanted).map(|bound| bound.at).collect()
        }
        _ => Vec::new(),
    };
    let all = lines.each.iter().flat_map(|(_, spots)| spots).filter_map(|(_, variant)| found(*variant));
    let ends = all.flat_map(|it| [Some(it.bounds), it.range]).flatten().flat_map(|it| [it.low, it.high]);
    let ends: Vec<f64> = ends.chain(wanted.iter().copied()).map(|value| scale.value(value)).collect();
    let least = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ends.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let area = opened(page, &format!("Mean of {}", figure.with_unit(told.units())));
    // From zero on where that is not far off.
    let from_zero = least >= 0.0 && least < 0.6 * most;
    let values = if from_zero { ValueAxis::up(area, most) } else { ValueAxis::between(area, least, most) };
    draw(page, lines, &values, scale, &found);
    for wanted in wanted {
        page.dashes((area.left, values.y(scale.value(wanted))), area.right, LEVEL);
    }
    closed(page, told, lines, &area);
}

fn opened(page: &mut Page, heading: &str) -> Area {
    page.y += 12.0;
    page.heading(heading);
    page.y += 4.0;
    Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT)
}

/// Bands where there is one line to scale, else points and whiskers; points are joined only where there is something between them.
fn draw(page: &mut Page, lines: &Lines, values: &ValueAxis, scale: Scale, found: &dyn Fn(usize) -> Option<Found>) {
    values.close_grid(page);
    for level in 0..lines.levels.count() {
        page.line((lines.x(level), values.area.bottom), (lines.x(level), values.area.bottom + 4.0), QUIET, 1.0);
    }
    page.line((values.area.left, values.area.bottom), (values.area.right, values.area.bottom), QUIET, 1.0);
    let is_to_scale = lines.levels.amounts.is_some();
    let y = |value: f64| values.y(scale.value(value));
    for (which, (_, spots)) in lines.each.iter().enumerate() {
        let ink = INKS.get(which).copied().unwrap_or(TEXT);
        // Where there are too many, each line has its whiskers at levels of its own.
        let stride = lines.stride();
        let shift = if stride > 1 { 0.0 } else { shift(which, lines.each.len()) };
        let has_whisker = |level: usize| level % stride == which * stride / lines.each.len();
        let at = |(level, variant): &Spot| Some((lines.x(*level) + shift, found(*variant)?, has_whisker(*level)));
        let points: Vec<(f64, Found, bool)> = spots.iter().filter_map(at).collect();
        let is_band = lines.has_bands() && points.len() > 1;
        let band = |page: &mut Page, of: &dyn Fn(&Found) -> Option<Interval>, ink: Ink| {
            let upper = points.iter().filter_map(|(x, it, _)| Some((*x, y(of(it)?.high))));
            let lower = points.iter().rev().filter_map(|(x, it, _)| Some((*x, y(of(it)?.low))));
            let outline: Vec<Point> = upper.chain(lower).collect();
            if !outline.is_empty() {
                page.polygon(outline, ink);
            }
        };
        if is_band {
            band(page, &|it| it.range, RANGE);
            band(page, &|it| Some(it.bounds), BAND);
        } else {
            for (x, it, _) in points.iter().filter(|(.., has_whisker)| *has_whisker) {
                if let Some(range) = it.range {
                    page.fill(Area::new(x - 5.0, y(range.high), x + 5.0, y(range.low)), RANGE);
                }
                stem(page, *x, (y(it.bounds.low), y(it.bounds.high)), ink);
            }
        }
        if is_to_scale {
            page.path(points.iter().map(|(x, it, _)| (*x, y(it.value))).collect(), ink, 2.0);
        }
        let mut free = f64::NEG_INFINITY;
        for (x, it, has_whisker) in &points {
            if *x >= free || (stride > 1 && *has_whisker) {
                mark(page, (*x, y(it.value)), which);
                free = x + LEAST_APART;
            }
        }
    }
}

const RANGE: Ink = QUIET.thin(0.16);
const BAND: Ink = WATER.thin(0.30);

/// Points of one level stand beside each other.
fn shift(which: usize, of: usize) -> f64 {
    const BESIDE: f64 = 5.0;
    BESIDE * (float(which) - 0.5 * (float(of) - 1.0))
}

/// A whisker up the page.
fn stem(page: &mut Page, x: f64, (low, high): (f64, f64), ink: Ink) {
    const END: f64 = 3.0;
    page.line((x, low), (x, high), ink, 1.25);
    for y in [low, high] {
        page.line((x - END, y), (x + END, y), ink, 1.25);
    }
}

/// A mark of the form and ink of its line: square, diamond, triangle, and the same hollow.
fn mark(page: &mut Page, (x, y): Point, which: usize) {
    const REACH: f64 = 4.0;
    let ink = INKS.get(which).copied().unwrap_or(TEXT);
    let form = |reach: f64| match which % 3 {
        0 => vec![
            (x - 0.85 * reach, y - 0.85 * reach),
            (x + 0.85 * reach, y - 0.85 * reach),
            (x + 0.85 * reach, y + 0.85 * reach),
            (x - 0.85 * reach, y + 0.85 * reach),
        ],
        1 => vec![(x, y - 1.2 * reach), (x + 1.2 * reach, y), (x, y + 1.2 * reach), (x - 1.2 * reach, y)],
        _ => vec![(x, y - 1.1 * reach), (x + 1.1 * reach, y + 0.85 * reach), (x - 1.1 * reach, y + 0.85 * reach)],
    };
    page.polygon(form(REACH), ink);
    if which >= 3 {
        page.polygon(form(0.5 * REACH), PAPER);
    }
}

/// Least room for a word.
const LEAST_SLOT: f64 = 56.0;

#[expect(clippy::cast_precision_loss, reason = "a few levels")]
fn float(count: usize) -> f64 {
    count as f64
}

/// The levels below a panel, as many as have room, and what they are of.
fn closed(page: &mut Page, told: &Told<'_>, lines: &Lines, area: &Area) {
    page.y = area.bottom + 0.5 * LINE + 4.0;
    let names = lines.levels.names.iter().enumerate();
    if lines.levels.amounts.is_some() {
        let mut free = 0.0;
        for (level, name) in names {
            let (x, half) = (lines.x(level), 0.5 * label_width(name));
            if x - half >= free && x + half <= WIDTH - 6.0 {
                page.label((x, page.y), name, TEXT, Align::Middle);
                free = x + half + 8.0;
            }
        }
    } else {
        // Words are broken, and left out where there are too many of them.
        let apart = lines.x(1) - lines.x(0);
        let every = (1..=lines.levels.count()).find(|every| apart * float(*every) >= LEAST_SLOT).unwrap_or(1);
        let mut most = 1;
        for (level, name) in names.step_by(every) {
            let x = lines.x(level);
            let room = (apart * float(every) - 8.0).min(2.0 * (WIDTH - 6.0 - x));
            most = most.max(page.broken_label((x, page.y), name, room));
        }
        page.y += 1.3 * BODY * (float(most) - 1.0);
    }
    axis_name(page, area, &axis(told));
}

/// What the first axis is called.
fn axis(told: &Told<'_>) -> String {
    told.plan.axes.first().map_or_else(String::new, |axis| axis.name.clone())
}

fn key(page: &mut Page, told: &Told<'_>, lines: &Lines) {
    let confidence = text::confidence(told);
    let is_alone = lines.each.len() == 1;
    if !is_alone {
        for (which, (name, _)) in lines.each.iter().enumerate() {
            let axis = told.plan.axes.get(1).map_or("", |axis| axis.name.as_str());
            page.key(&format!("{axis}: {name}"), |page, area| {
                let (y, ink) = (middle(&area), INKS.get(which).copied().unwrap_or(TEXT));
                if lines.levels.amounts.is_some() {
                    page.line((area.left, y), (area.right, y), ink, 2.0);
                }
                mark(page, (0.5 * (area.left + area.right), y), which);
            });
        }
    }
    let some = if lines.stride() > 1 && !is_alone { ", of some points of each line" } else { "" };
    page.key(&format!("{confidence} % interval of a chance or mean{some}"), |page, area| {
        if lines.has_bands() {
            page.fill(area, BAND);
        } else {
            let ink = if is_alone { INKS[0] } else { TEXT };
            stem(page, 0.5 * (area.left + area.right), (area.bottom, area.top), ink);
        }
    });
    if is_alone {
        page.key("nine of ten runs, from 5 % to 95 %", |page, area| page.fill(area, RANGE));
    }
    if let Some(wanted) = text::wanted(told) {
        page.key(&format!("wanted: {wanted}"), |page, area| {
            page.dashes((area.left, middle(&area)), area.right, LEVEL);
        });
    }
}
