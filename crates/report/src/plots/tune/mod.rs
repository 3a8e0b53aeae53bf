//! The map of both valves: where settings are within limits, how to get there, and what it gives.

mod frame;
mod labels;

use springhouse_scenario::Units;
use springhouse_scenario::quantity::unit::FLOW;
use springhouse_study::tune::{self as study, Limit, Limits, Line, Mark, Picture};

use self::frame::{Frame, Ring, hatch, is_within};
use self::labels::Labels;
use crate::chart::ink::{CARE, DELIVERY, GRID, HELD, LEVEL, PAPER, QUIET, STRIP, TEXT, TROUBLE, WATER};
use crate::chart::{Align, Area, BODY, Ink, MARGIN, Page, Point, WIDTH};
use crate::numbers::number;
use crate::tune::{Tuned, product_unit_l, text, words};

const HEIGHT: f64 = 350.0;
/// Where nothing is recycled.
const FLAT_HEIGHT: f64 = 130.0;
/// Half of the root of two: lines that rise or fall by 45 degrees.
const DIAGONAL: f64 = core::f64::consts::FRAC_1_SQRT_2;

/// How areas are hatched, one after the other: told apart by direction as well as by colour.
const HATCHES: [(Ink, Point); 6] = [
    (TROUBLE, (DIAGONAL, -DIAGONAL)),
    (DELIVERY.ink, (DIAGONAL, DIAGONAL)),
    (LEVEL, (0.0, 1.0)),
    (CARE, (1.0, 0.0)),
    (TROUBLE, (0.0, 1.0)),
    (LEVEL, (1.0, 0.0)),
];

/// An area that is drawn, and how.
struct Forbidden<'a> {
    limit: Limit,
    outlines: &'a [Vec<[f64; 2]>],
    rings: Vec<Ring>,
    ink: Ink,
    along: Point,
}

pub(super) fn page(tuned: &Tuned<'_>) -> Page {
    let picture = &tuned.tuning.picture;
    let mut page = Page::new(&text::headline(tuned), &text::subject(tuned));
    page.y += 12.0 + BODY;
    let frame = framed(tuned, page.y);
    axis_names(&mut page, tuned, &frame);
    page.fill(frame.area, STRIP);
    let allowed = frame.rings(&picture.allowed);
    let areas = areas(picture, &frame);
    areas.everywhere.iter().flat_map(|area| &area.rings).for_each(|ring| page.polygon(ring.clone(), PAPER));
    for area in &areas.drawn {
        area.rings.iter().for_each(|ring| page.polygon(ring.clone(), area.ink.thin(0.10)));
        hatch(&mut page, &area.rings, area.along, area.ink.thin(0.55));
        borders(&mut page, &frame, area.outlines, (area.ink, 1.0));
    }
    for ring in &allowed {
        page.polygon(ring.clone(), PAPER);
        page.polygon(ring.clone(), HELD.thin(0.22));
    }
    borders(&mut page, &frame, &picture.allowed, (HELD, 2.5));
    let mut labels = Labels::within(frame.area);
    keep_free(&mut labels, tuned, &frame);
    lines(&mut page, tuned, &frame);
    marks(&mut page, tuned, &frame, &mut labels);
    names(&mut page, tuned, &frame, (&areas.drawn, &allowed), &mut labels);
    line_labels(&mut page, tuned, &frame, &mut labels);
    edge(&mut page, &frame);
    page.y = frame.area.bottom + 2.9 * BODY;
    key(&mut page, tuned, &areas, !allowed.is_empty());
    page
}

/// Outlines without the sides of the field, where they go on.
fn borders(page: &mut Page, frame: &Frame, outlines: &[Vec<[f64; 2]>], (ink, width): (Ink, f64)) {
    outlines.iter().flat_map(|outline| frame.paths(outline)).for_each(|path| page.path(path, ink, width));
}

fn flow_unit(units: Units) -> (&'static str, f64) {
    let name = if units == Units::Us { "gpm" } else { "L/min" };
    (name, FLOW.named(name).map_or(1.0, |unit| unit.factor))
}

/// The field: as far as the marks, and some way on.
fn framed(tuned: &Tuned<'_>, top: f64) -> Frame {
    /// How far beyond the marks, and how much of the map at least.
    const BEYOND: f64 = 1.7;
    const LEAST: f64 = 0.25;
    let picture = &tuned.tuning.picture;
    let (_, unit_lps) = flow_unit(tuned.units);
    let marks = || picture.path.iter().chain(&picture.advised).map(|mark| [mark.reject_lps, mark.recycle_lps]);
    let span = |axis: usize, map_lps: f64| {
        let marked = marks().map(|spot| spot[axis]).fold(0.0, f64::max);
        let wanted = (BEYOND * marked).max(LEAST * map_lps).min(1.12 * map_lps);
        if wanted > 0.0 { wanted / unit_lps } else { 1.0 }
    };
    let most = (span(0, picture.most_reject_lps), span(1, picture.most_recycle_lps));
    let flat = tuned.tuning.question.unit.pump.is_none();
    let height = if flat { FLAT_HEIGHT } else { HEIGHT };
    let most = if flat { (most.0, 0.99 / unit_lps) } else { most };
    Frame { area: Area::new(MARGIN + 30.0, top, WIDTH - MARGIN - 6.0, top + height), most, unit_lps, flat }
}

/// Round values along an axis.
fn ticks(most: f64) -> Vec<f64> {
    let ten = libm::pow(10.0, libm::floor(libm::log10(most / 4.0)));
    let step = [5.0, 2.0, 1.0].into_iter().map(|round| round * ten).find(|step| 4.0 * step <= most).unwrap_or(ten);
    (0..=20_u8).map(|i| f64::from(i) * step).take_while(|value| *value <= most * 1.000_1).collect()
}

fn axis_names(page: &mut Page, tuned: &Tuned<'_>, frame: &Frame) {
    let (unit, _) = flow_unit(tuned.units);
    let Area { left, right, bottom, top } = frame.area;
    if !frame.flat {
        page.strong((MARGIN, top - 0.9 * BODY), &format!("Recycle flow, {unit}"), TEXT, Align::Left);
    }
    page.strong((right, bottom + 2.2 * BODY), &format!("Reject flow, {unit}"), TEXT, Align::Right);
    let temp = tuned.units.temperature(tuned.tuning.question.temp_c.typical);
    page.label((left, bottom + 2.2 * BODY), &format!("as read in water of {temp}"), QUIET, Align::Left);
}

/// Values at the rim, and the rim itself over all that was drawn.
fn edge(page: &mut Page, frame: &Frame) {
    let Area { left, right, top, bottom } = frame.area;
    for value in ticks(frame.most.0) {
        let (x, _) = frame.point([value * frame.unit_lps, 0.0]);
        page.line((x, bottom), (x, bottom + 4.0), LEVEL, 1.0);
        page.label((x, bottom + 0.9 * BODY), &number(value), QUIET, Align::Middle);
    }
    for value in ticks(frame.most.1).into_iter().filter(|value| *value > 0.0 && !frame.flat) {
        let (_, y) = frame.point([0.0, value * frame.unit_lps]);
        page.line((left - 4.0, y), (left, y), LEVEL, 1.0);
        page.label((left - 7.0, y), &number(value), QUIET, Align::Right);
    }
    page.path(vec![(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], GRID, 1.0);
    page.path(vec![(left, top), (left, bottom), (right, bottom)], LEVEL, 1.25);
}

/// What is drawn of the forbidden areas, and what is only said.
struct Areas<'a> {
    /// Those that forbid what no other does, the largest first.
    drawn: Vec<Forbidden<'a>>,
    /// Limits whose areas lie within these.
    within: Limits,
    /// Those that nothing in the field keeps: hatched, they would hide all else.
    everywhere: Vec<Forbidden<'a>>,
    /// Whether some of the field is out of reach.
    beyond_reach: bool,
}

fn areas<'a>(picture: &'a Picture, frame: &Frame) -> Areas<'a> {
    /// Places across and up at which areas are compared, and how many of them are worth an area of its own.
    const ACROSS: u8 = 60;
    const LEAST: usize = 25;
    let cut = |area: &'a study::Area| Forbidden {
        limit: area.limit,
        outlines: &area.outlines,
        rings: frame.rings(&area.outlines),
        ink: LEVEL,
        along: (1.0, 0.0),
    };
    let all: Vec<Forbidden<'_>> = picture.forbidden.iter().map(cut).filter(|area| !area.rings.is_empty()).collect();
    let share = |i: u8| (f64::from(i) + 0.5) / f64::from(ACROSS);
    let Area { left, top, .. } = frame.area;
    let mut open: Vec<Point> = (0..ACROSS)
        .flat_map(|i| (0..ACROSS).map(move |j| (share(i), share(j))))
        .map(|(x, y)| (left + x * frame.area.width(), top + y * frame.area.height()))
        .collect();
    let allowed = frame.rings(&picture.allowed);
    let count = |open: &[Point], rings: &[Ring]| open.iter().filter(|point| is_within(rings, **point)).count();
    open.retain(|point| is_within(&allowed, *point) || all.iter().any(|area| is_within(&area.rings, *point)));
    let beyond_reach = open.len() + LEAST < usize::from(ACROSS) * usize::from(ACROSS);
    let is_everywhere = |area: &Forbidden<'_>| allowed.is_empty() && count(&open, &area.rings) + LEAST > open.len();
    let (everywhere, mut left_over): (Vec<_>, Vec<_>) = all.into_iter().partition(is_everywhere);
    let mut drawn = Vec::new();
    for (ink, along) in HATCHES {
        let gains = left_over.iter().enumerate().map(|(i, area)| (count(&open, &area.rings), i));
        let Some((_, index)) = gains.max_by_key(|(gain, i)| (*gain, usize::MAX - i)).filter(|(gain, _)| *gain >= LEAST)
        else {
            break;
        };
        let area = left_over.remove(index);
        open.retain(|point| !is_within(&area.rings, *point));
        drawn.push(Forbidden { ink, along, ..area });
    }
    Areas { drawn, within: left_over.into_iter().map(|area| area.limit).collect(), everywhere, beyond_reach }
}

fn lines(page: &mut Page, tuned: &Tuned<'_>, frame: &Frame) {
    let picture = &tuned.tuning.picture;
    for line in &picture.product {
        line.parts.iter().flat_map(|part| frame.paths(part)).for_each(|part| dashed(page, &part, WATER));
    }
    for line in &picture.waste {
        line.parts.iter().flat_map(|part| frame.paths(part)).for_each(|part| page.path(part, TEXT, 1.0));
    }
}

/// A broken line along a path.
fn dashed(page: &mut Page, path: &[Point], ink: Ink) {
    const DASH: f64 = 6.0;
    const GAP: f64 = 4.0;
    let mut gone = 0.0;
    for pair in path.windows(2) {
        let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
        let length = (dx * dx + dy * dy).sqrt();
        let at = |along: f64| (pair[0].0 + dx * along / length, pair[0].1 + dy * along / length);
        let mut along = 0.0;
        while along < length {
            let within = gone % (DASH + GAP);
            let left = if within < DASH { DASH - within } else { DASH + GAP - within };
            let to = (along + left.max(1e-3)).min(length);
            if within < DASH {
                page.line(at(along), at(to), ink, 1.25);
            }
            gone += to - along;
            along = to;
        }
    }
}

fn place(frame: &Frame, mark: &Mark) -> Point {
    let (x, y) = frame.point([mark.reject_lps, mark.recycle_lps]);
    (x, if frame.flat { 0.5 * (frame.area.top + frame.area.bottom) } else { y })
}

const DOT: f64 = 8.0;

fn about((x, y): Point, reach: f64) -> Area {
    Area::new(x - reach, y - reach, x + reach, y + reach)
}

/// No label over a mark or the numbers of the way.
fn keep_free(labels: &mut Labels, tuned: &Tuned<'_>, frame: &Frame) {
    let picture = &tuned.tuning.picture;
    picture.present.iter().chain(&picture.advised).for_each(|mark| labels.take(about(place(frame, mark), DOT + 3.0)));
    for pair in picture.path.windows(2) {
        let (from, to) = (place(frame, &pair[0]), place(frame, &pair[1]));
        let along =
            |i: u8| (from.0 + f64::from(i) / 20.0 * (to.0 - from.0), from.1 + f64::from(i) / 20.0 * (to.1 - from.1));
        (0..=20).for_each(|i| labels.take(about(along(i), 2.0)));
        labels.take(about(to, DOT + 2.0));
    }
}

fn disc(page: &mut Page, at: Point, radius: f64, ink: Ink) {
    const CORNERS: u8 = 36;
    let corner = |i: u8| {
        let angle = core::f64::consts::TAU * f64::from(i) / f64::from(CORNERS);
        (at.0 + radius * libm::cos(angle), at.1 + radius * libm::sin(angle))
    };
    page.polygon((0..CORNERS).map(corner).collect(), ink);
}

/// The way from the present to the advised setting, both marked.
fn marks(page: &mut Page, tuned: &Tuned<'_>, frame: &Frame, labels: &mut Labels) {
    let picture = &tuned.tuning.picture;
    let places: Vec<Point> = picture.path.iter().map(|mark| place(frame, mark)).collect();
    page.path(places.clone(), PAPER, 5.0);
    page.path(places.clone(), TEXT, 2.5);
    // Where it makes no water now the first turn leads from nowhere on the map.
    let unseen = (tuned.tuning.steps.len() + 1).saturating_sub(places.len());
    // Each turn's number stands where it leads; the last one's in the mark of the advised setting.
    let corners = places.get(1..places.len().saturating_sub(1)).unwrap_or_default();
    for (index, at) in corners.iter().enumerate() {
        disc(page, *at, DOT, TEXT);
        disc(page, *at, DOT - 1.5, PAPER);
        page.strong(*at, &(index + 1 + unseen).to_string(), TEXT, Align::Middle);
    }
    if let Some(present) = &picture.present {
        let at = place(frame, present);
        disc(page, at, DOT, TEXT);
        disc(page, at, DOT - 2.5, PAPER);
        if picture.path.len() > 1 {
            labels.put(page, beside(at, "now"), "now", (TEXT, true));
        }
    }
    if let Some(advised) = &picture.advised {
        let at = place(frame, advised);
        disc(page, at, DOT + 3.0, PAPER);
        let (ink, name) = if tuned.tuning.told().within_limits { (HELD, "set here") } else { (TROUBLE, "least bad") };
        disc(page, at, DOT + 1.5, ink);
        match tuned.tuning.steps.len() {
            0 => disc(page, at, 3.0, PAPER),
            last => page.strong(at, &last.to_string(), PAPER, Align::Middle),
        }
        labels.put(page, beside(at, name), name, (TEXT, true));
    }
}

/// Places beside a mark, the most usual first.
fn beside((x, y): Point, text: &str) -> Vec<Point> {
    let far = 0.5 * Labels::room((0.0, 0.0), text).width() + DOT + 4.0;
    let up = DOT + 4.0 + 0.7 * BODY;
    let near = [(far, 0.0), (-far, 0.0), (0.0, -up), (0.0, up), (far, -up), (far, up), (-far, -up), (-far, up)];
    let further = [(0.0, -2.0 * up), (far, -2.0 * up), (far, 2.0 * up), (0.0, 2.0 * up)];
    near.into_iter().chain(further).map(|(dx, dy)| (x + dx, y + dy)).collect()
}

/// The name of each area, as near to the advised setting as it has room where no other is, or else anywhere in it.
fn names(
    page: &mut Page,
    tuned: &Tuned<'_>,
    frame: &Frame,
    (areas, allowed): (&[Forbidden<'_>], &[Ring]),
    labels: &mut Labels,
) {
    const STEPS: u8 = 40;
    let Area { left, top, right, bottom } = frame.area;
    let near = tuned.tuning.picture.advised.as_ref().map_or((left, bottom), |mark| place(frame, mark));
    let mut places: Vec<Point> = (0..=STEPS)
        .flat_map(|i| (0..=STEPS).map(move |j| (i, j)))
        .map(|(i, j)| {
            let share = |i: u8| f64::from(i) / f64::from(STEPS);
            (left + share(i) * (right - left), top + share(j) * (bottom - top))
        })
        .collect();
    let far = |point: &Point| libm::hypot(point.0 - near.0, point.1 - near.1);
    places.sort_by(|a, b| far(a).total_cmp(&far(b)));
    if let Some(widest) = widest(allowed, &places) {
        labels.put(page, widest, "all limits kept", (TEXT, true));
    }
    for area in areas {
        let name = words::beyond(area.limit);
        let lies =
            |rings: &[Ring], point: Point| corners(Labels::room(point, name)).all(|corner| is_within(rings, corner));
        let alone = |point: &&Point| {
            lies(&area.rings, **point)
                && !areas.iter().any(|other| {
                    let hides = |corner| is_within(&other.rings, corner);
                    other.limit != area.limit && corners(Labels::room(**point, name)).any(hides)
                })
        };
        let only: Vec<Point> = places.iter().filter(alone).copied().collect();
        let shared = places.iter().filter(|point| lies(&area.rings, **point)).copied();
        let over = places.iter().filter(|point| is_within(&area.rings, **point)).copied();
        labels.put(page, only.into_iter().chain(shared).chain(over), name, (TEXT, true));
    }
}

/// Places within where limits are kept that have room for a label.
fn widest(allowed: &[Ring], places: &[Point]) -> Option<Vec<Point>> {
    let has_room =
        |point: &&Point| corners(Labels::room(**point, "all limits kept")).all(|corner| is_within(allowed, corner));
    let found: Vec<Point> = places.iter().filter(has_room).copied().collect();
    (!found.is_empty()).then_some(found)
}

fn corners(room: Area) -> impl Iterator<Item = Point> {
    let Area { left, top, right, bottom } = room;
    [(left, top), (right, top), (left, bottom), (right, bottom)].into_iter()
}

/// What each line is of, somewhere along it.
fn line_labels(page: &mut Page, tuned: &Tuned<'_>, frame: &Frame, labels: &mut Labels) {
    let (picture, units) = (&tuned.tuning.picture, tuned.units);
    let unit_l = product_unit_l(units);
    for line in &picture.waste {
        labels.put(page, along(frame, line, 0.15), &number(line.value), (TEXT, false));
    }
    for line in &picture.product {
        labels.put(page, along(frame, line, 0.75), &number(line.value / unit_l), (WATER, false));
    }
}

/// Places along the longest part of a line, from a share of its length on and then from there back.
fn along(frame: &Frame, line: &Line, from: f64) -> Vec<Point> {
    const PLACES: u8 = 60;
    let length =
        |part: &[Point]| part.windows(2).map(|pair| libm::hypot(pair[1].0 - pair[0].0, pair[1].1 - pair[0].1)).sum();
    let parts = line.parts.iter().flat_map(|part| frame.paths(part));
    let (whole, longest) = parts
        .map(|part| (length(&part), part))
        .max_by(|a: &(f64, Vec<Point>), b| a.0.total_cmp(&b.0))
        .unwrap_or_default();
    let at = |share: f64| {
        let mut left = share * whole;
        let found = longest.windows(2).find_map(|pair| {
            let own: f64 = length(pair);
            let here = (left <= own && own > 0.0).then(|| {
                let part = left / own;
                (pair[0].0 + part * (pair[1].0 - pair[0].0), pair[0].1 + part * (pair[1].1 - pair[0].1))
            });
            left -= own;
            here
        });
        found.or(longest.last().copied())
    };
    let shares = (0..PLACES).map(|i| f64::from(i) / f64::from(PLACES));
    let (after, before): (Vec<f64>, Vec<f64>) = shares.partition(|share| *share >= from);
    after.into_iter().chain(before.into_iter().rev()).filter_map(at).collect()
}

fn key(page: &mut Page, tuned: &Tuned<'_>, areas: &Areas<'_>, kept: bool) {
    let volume = words::one_volume(tuned.units);
    if kept {
        page.key("all limits are kept, from the coldest to the warmest water", |page, area| {
            page.fill(area, HELD.thin(0.22));
            page.path(outline(area), HELD, 2.0);
        });
    }
    for forbidden in &areas.drawn {
        page.key(&format!("forbidden: {}", words::beyond(forbidden.limit)), |page, area| {
            page.fill(area, forbidden.ink.thin(0.10));
            hatch(page, &[outline(area)], forbidden.along, forbidden.ink.thin(0.55));
        });
    }
    page.key(&format!("the same waste, {volume} for each {volume} of product"), |page, area| {
        let y = 0.5 * (area.top + area.bottom);
        page.line((area.left, y), (area.right, y), TEXT, 1.0);
    });
    page.key(&format!("the same product, {volume} a day if it ran all day"), |page, area| {
        let y = 0.5 * (area.top + area.bottom);
        dashed(page, &[(area.left, y), (area.right, y)], WATER);
    });
    if tuned.tuning.picture.path.len() > 1 {
        page.key("the way from now to there, turn by turn as numbered in the text", |page, area| {
            let y = 0.5 * (area.top + area.bottom);
            page.line((area.left, y), (area.right, y), TEXT, 2.5);
        });
    }
    let mut said = Vec::new();
    if !areas.everywhere.is_empty() {
        let limits = areas.everywhere.iter().map(|area| area.limit).collect();
        said.push(format!("Everywhere: {}.", words::listed(limits, words::beyond)));
    }
    if !areas.within.is_empty() {
        said.push(format!("Within the hatched areas also: {}.", words::listed(areas.within, words::beyond)));
    }
    if areas.beyond_reach {
        said.push("Plain grey: no setting of the valves gives such flows.".to_owned());
    }
    page.y += 3.0;
    page.paragraph(&said.join(" "));
}

fn outline(area: Area) -> Ring {
    let Area { left, top, right, bottom } = area;
    vec![(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
}
