//! The pictures of a study of many runs.

pub(super) mod distribution;
pub(super) mod heat_map;
pub(super) mod tornado;
pub(super) mod trade_off;

use springhouse_study::many::{Limit, ShortTold, Target};

use crate::chart::ink::{LEVEL, QUIET, TEXT, TROUBLE};
use crate::chart::{Align, Area, BODY, MARGIN, Page, WIDTH, fitted, label_width};
use crate::numbers::chance;
use crate::study::{Figure, Names, Told};

/// Room for values at the left.
const LEFT: f64 = MARGIN + 48.0;
const RIGHT: f64 = WIDTH - MARGIN - 14.0;
/// Height of a line of labels.
const LINE: f64 = 1.35 * BODY;

/// Variants in lines below each other, their names at the left.
struct Lines {
    /// Where the names end.
    left: f64,
    top: f64,
    count: usize,
}

impl Lines {
    const HEIGHT: f64 = 22.0;
    /// A page is for the values, not for names.
    const MOST_NAME: f64 = 0.4 * WIDTH;

    fn new(top: f64, names: &[String]) -> Self {
        let widest = names.iter().map(|name| label_width(name)).fold(0.0, f64::max);
        Self { left: MARGIN + widest.min(Self::MOST_NAME) + 10.0, top, count: names.len() }
    }

    fn area(&self) -> Area {
        Area::new(self.left, self.top, RIGHT, self.y(self.count) - 0.5 * Self::HEIGHT)
    }

    /// The middle of a line.
    #[expect(clippy::cast_precision_loss, reason = "a few lines")]
    fn y(&self, line: usize) -> f64 {
        self.top + Self::HEIGHT * (line as f64 + 0.5)
    }

    fn name(&self, page: &mut Page, line: usize, name: &str) {
        let room = self.left - MARGIN - 8.0;
        page.fitted_label((self.left - 8.0, self.y(line)), name, room, Align::Right);
    }
}

/// A rectangle about a line.
fn bar(from: f64, to: f64, y: f64, height: f64) -> Area {
    Area::new(from.min(to), y - 0.5 * height, from.max(to), y + 0.5 * height)
}

/// A line from one value to another with its ends marked.
fn whisker(page: &mut Page, (from, to): (f64, f64), y: f64, width: f64) {
    const END: f64 = 4.0;
    page.line((from, y), (to, y), TEXT, width);
    for x in [from, to] {
        page.line((x, y - END), (x, y + END), TEXT, width);
    }
}

/// A limit of a figure, drawn across its values.
struct Bound {
    at: f64,
    said: String,
    /// Whether it is what is wanted of the mean: a broken line; else it is where a run falls short.
    is_wanted: bool,
}

impl Bound {
    /// A line up the plot.
    fn draw(&self, page: &mut Page, x: f64, area: &Area) {
        const DASH: f64 = 5.0;
        const GAP: f64 = 4.0;
        if !self.is_wanted {
            page.line((x, area.top), (x, area.bottom), TROUBLE, 1.25);
            return;
        }
        let mut y = area.top;
        while y < area.bottom {
            page.line((x, y), (x, (y + DASH).min(area.bottom)), LEVEL, 1.25);
            y += DASH + GAP;
        }
    }
}

/// What an axis across shows, below its numbers.
fn axis_name(page: &mut Page, area: &Area, name: &str) {
    page.y += 1.4 * BODY;
    let x = 0.5 * (area.left + area.right);
    let name = fitted(name, 2.0 * (x - 6.0).min(WIDTH - 6.0 - x));
    page.label((x, page.y), &name, QUIET, Align::Middle);
    page.y += 1.1 * BODY;
}

/// The limits that are drawn across a figure, and what each is: what is wanted of its mean, and where a run falls short.
fn bounds(told: &Told<'_>, place: usize) -> Vec<Bound> {
    let path = told.plan.figures.get(place);
    let value = |limit: Limit| match limit {
        Limit::AtMost(most) => (most, "most"),
        Limit::AtLeast(least) => (least, "least"),
    };
    let said = |value: f64| Figure::said(&told.figure(place), told.units(), value);
    let mut bounds = Vec::new();
    if let Some(Target::Mean { figure, limit }) = &told.plan.target
        && Some(figure) == path
    {
        let (at, bound) = value(*limit);
        bounds.push(Bound { at, said: format!("wanted: a mean of at {bound} {}", said(at)), is_wanted: true });
    }
    if path == Some(&told.plan.short.figure) {
        let (at, bound) = value(told.plan.short.limit);
        let than = if bound == "most" { "more" } else { "less" };
        bounds.push(Bound { at, said: format!("a run falls short with {than} than {}", said(at)), is_wanted: false });
    }
    bounds
}

/// How often runs fall short with one variant and with another.
fn from_to(told: &Told<'_>, (first, from): (usize, ShortTold), (last, to): (usize, ShortTold)) -> String {
    let names = Names::of(told);
    let all = |short: ShortTold| match short.times {
        0 => format!("none of {} runs falls short", short.runs),
        _ => format!("{} % of runs fall short", chance(short.chance)),
    };
    if from.chance == to.chance {
        return format!("{} with any variant", all(from));
    }
    let other = if to.times == 0 { format!("none of {}", to.runs) } else { format!("{} %", chance(to.chance)) };
    format!("{} with {}, {other} with {}", all(from), names.name(first), names.name(last))
}

fn middle(area: &Area) -> f64 {
    0.5 * (area.top + area.bottom)
}
