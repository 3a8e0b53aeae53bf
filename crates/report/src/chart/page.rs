//! A page: shapes in the order they are drawn, later ones on top.

use super::ink::{Ink, Look, TEXT};
use super::type_width;
use crate::phrase::capitalised;

/// A place on the page, from its top left corner.
pub(crate) type Point = (f64, f64);

/// A rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Area {
    pub(crate) fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self { left, top, right, bottom }
    }

    pub(crate) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(crate) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    /// Widened about its middle where it is narrower than `least`, and kept within `within`.
    pub(crate) fn at_least(mut self, least: f64, within: &Self) -> Self {
        let missing = least - self.width();
        if missing > 0.0 {
            self.left = (self.left - 0.5 * missing).clamp(within.left, (within.right - least).max(within.left));
            self.right = self.left + least;
        }
        self
    }
}

/// Marks wide enough to be seen; neighbours of one height that would touch are one.
pub(crate) fn merged(areas: impl Iterator<Item = Area>, least: f64, within: &Area) -> Vec<Area> {
    let mut marks: Vec<Area> = Vec::new();
    for next in areas.map(|area| area.at_least(least, within)) {
        match marks.last_mut() {
            #[expect(clippy::float_cmp, reason = "marks of one strip share the very same top")]
            Some(last) if next.left <= last.right && next.top == last.top => last.right = last.right.max(next.right),
            _ => marks.push(next),
        }
    }
    marks
}

/// A line's looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stroke {
    pub(crate) ink: Ink,
    pub(crate) width: f64,
}

/// Where a text stands from its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Align {
    Left,
    Middle,
    Right,
}

/// Something on the page.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Shape {
    Fill(Area, Ink),
    Line(Point, Point, Stroke),
    Path(Vec<Point>, Stroke),
    Polygon(Vec<Point>, Ink),
    Text(Label),
}

/// A text on one line; `at` is at half its height.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Label {
    pub(crate) at: Point,
    pub(crate) text: String,
    pub(crate) size: f64,
    pub(crate) bold: bool,
    pub(crate) ink: Ink,
    pub(crate) align: Align,
}

/// Width of every page: with the type used, a phone of 360 pixels still shows the smallest at 9 pixels.
pub(crate) const WIDTH: f64 = 520.0;
/// Room left blank at the edges.
pub(crate) const MARGIN: f64 = 16.0;
/// The type sizes: titles, headings, all else.
pub(crate) const TITLE: f64 = 21.0;
const HEADING: f64 = 15.0;
pub(crate) const BODY: f64 = 13.0;

/// A plot being made.
#[derive(Clone, Debug)]
pub(crate) struct Page {
    /// The answer, as a title.
    pub(crate) title: String,
    /// What was simulated.
    pub(crate) subject: String,
    pub(crate) shapes: Vec<Shape>,
    /// Where the next thing goes.
    pub(crate) y: f64,
}

impl Page {
    /// A page with its title and subject at the top. The title may begin with a building's name, in small letters.
    pub(crate) fn new(title: &str, subject: &str) -> Self {
        let title = &capitalised(title);
        let mut page = Self { title: title.to_owned(), subject: subject.to_owned(), shapes: Vec::new(), y: MARGIN };
        let room = WIDTH - 2.0 * MARGIN;
        for line in type_width::lines(title, TITLE, true, room) {
            page.y += 0.65 * TITLE;
            page.text((MARGIN, page.y), &line, TITLE, true, TEXT, Align::Left);
            page.y += 0.65 * TITLE;
        }
        page.y += 2.0;
        page.paragraph(subject);
        page
    }

    /// Height, when nothing more comes.
    pub(crate) fn height(&self) -> f64 {
        (self.y + MARGIN).ceil()
    }

    pub(crate) fn fill(&mut self, area: Area, ink: Ink) {
        self.shapes.push(Shape::Fill(area, ink));
    }

    pub(crate) fn line(&mut self, from: Point, to: Point, ink: Ink, width: f64) {
        self.shapes.push(Shape::Line(from, to, Stroke { ink, width }));
    }

    /// A broken horizontal line.
    pub(crate) fn dashes(&mut self, (left, y): Point, right: f64, ink: Ink) {
        const DASH: f64 = 5.0;
        const GAP: f64 = 4.0;
        let mut x = left;
        while x < right {
            self.line((x, y), ((x + DASH).min(right), y), ink, 1.25);
            x += DASH + GAP;
        }
    }

    pub(crate) fn path(&mut self, points: Vec<Point>, ink: Ink, width: f64) {
        self.shapes.push(Shape::Path(points, Stroke { ink, width }));
    }

    pub(crate) fn polygon(&mut self, points: Vec<Point>, ink: Ink) {
        self.shapes.push(Shape::Polygon(points, ink));
    }

    /// Tinted and hatched, so that it is seen without colour too; one too narrow for hatching is filled.
    pub(crate) fn hatched(&mut self, area: Area, ink: Ink) {
        const STEP: f64 = 6.0;
        if area.width() < STEP {
            self.fill(area, ink.thin(0.85));
            return;
        }
        self.fill(area, ink.thin(0.22));
        let (width, height) = (area.width(), area.height());
        // Lines rising to the right; `offset` is where one would meet the bottom edge.
        let mut offset = STEP - height;
        while offset < width {
            let from = offset.max(0.0);
            let to = (offset + height).min(width);
            self.line(
                (area.left + from, area.bottom - (from - offset)),
                (area.left + to, area.bottom - (to - offset)),
                ink,
                1.0,
            );
            offset += STEP;
        }
    }

    /// Filled or hatched, as the look says.
    pub(crate) fn cover(&mut self, area: Area, look: Look) {
        if look.hatched { self.hatched(area, look.ink) } else { self.fill(area, look.ink) }
    }

    /// Steps side by side, covered as one shape: hatching goes on from one to the next, however narrow they are.
    pub(crate) fn cover_steps(&mut self, steps: &[Area], look: Look) {
        let covers = |step: &Area| step.height() > 0.0;
        for shape in steps.chunk_by(|a, b| covers(a) == covers(b)).filter(|shape| shape.iter().all(covers)) {
            let upper = shape.iter().flat_map(|step| [(step.left, step.top), (step.right, step.top)]);
            let lower = shape.iter().rev().flat_map(|step| [(step.right, step.bottom), (step.left, step.bottom)]);
            let tint = if look.hatched { look.ink.thin(0.22) } else { look.ink };
            self.polygon(upper.chain(lower).collect(), tint);
            if look.hatched {
                self.hatch_steps(shape, look.ink);
            }
        }
    }

    /// Lines rising to the right through steps side by side.
    fn hatch_steps(&mut self, steps: &[Area], ink: Ink) {
        const STEP: f64 = 6.0;
        const ROUNDING: f64 = 1e-6;
        // On each line the sum of both coordinates is the same.
        let first = steps.iter().map(|step| step.left + step.top).fold(f64::INFINITY, f64::min);
        let last = steps.iter().map(|step| step.right + step.bottom).fold(f64::NEG_INFINITY, f64::max);
        let mut sum = (first / STEP).ceil() * STEP;
        while sum < last {
            let inside = |step: &Area| (step.left.max(sum - step.bottom), step.right.min(sum - step.top));
            let mut pieces: Vec<(f64, f64)> = Vec::new();
            for (from, to) in steps.iter().map(inside).filter(|(from, to)| to > from) {
                match pieces.last_mut() {
                    Some(piece) if from - piece.1 < ROUNDING => piece.1 = to,
                    _ => pieces.push((from, to)),
                }
            }
            for (from, to) in pieces {
                self.line((from, sum - from), (to, sum - to), ink, 1.0);
            }
            sum += STEP;
        }
    }

    fn text(&mut self, at: Point, text: &str, size: f64, bold: bool, ink: Ink, align: Align) {
        let text: String = text.chars().map(|c| if is_writable(c) { c } else { ' ' }).collect();
        if !text.trim().is_empty() {
            self.shapes.push(Shape::Text(Label { at, text, size, bold, ink, align }));
        }
    }

    /// A label in the usual size.
    pub(crate) fn label(&mut self, at: Point, text: &str, ink: Ink, align: Align) {
        self.text(at, text, BODY, false, ink, align);
    }

    /// A label that stands out.
    pub(crate) fn strong(&mut self, at: Point, text: &str, ink: Ink, align: Align) {
        self.text(at, text, BODY, true, ink, align);
    }

    /// A heading over what follows, on a line of its own.
    pub(crate) fn heading(&mut self, text: &str) {
        self.y += 0.75 * HEADING;
        let text = type_width::fitted(text, HEADING, true, WIDTH - 2.0 * MARGIN);
        self.text((MARGIN, self.y), &text, HEADING, true, TEXT, Align::Left);
        self.y += 0.8 * HEADING;
    }

    /// Words below what is there, broken into lines.
    pub(crate) fn paragraph(&mut self, text: &str) {
        for line in type_width::lines(text, BODY, false, WIDTH - 2.0 * MARGIN) {
            self.y += 0.7 * BODY;
            self.label((MARGIN, self.y), &line, super::ink::QUIET, Align::Left);
            self.y += 0.7 * BODY;
        }
    }

    /// One line of a key: a sample, drawn by `sample`, and what it means.
    pub(crate) fn key(&mut self, text: &str, sample: impl FnOnce(&mut Self, Area)) {
        const SAMPLE: f64 = 28.0;
        let lines = type_width::lines(text, BODY, false, WIDTH - 2.0 * MARGIN - SAMPLE - 8.0);
        let top = self.y + 3.0;
        sample(self, Area::new(MARGIN, top, MARGIN + SAMPLE, top + BODY));
        for line in lines {
            self.y += 0.75 * BODY;
            self.label((MARGIN + SAMPLE + 8.0, self.y), &line, TEXT, Align::Left);
            self.y += 0.75 * BODY;
        }
    }

    /// A label about the middle of its room, broken into as many lines as it takes; their number.
    pub(crate) fn broken_label(&mut self, (x, y): Point, text: &str, room: f64) -> usize {
        let lines = type_width::lines(text, BODY, false, room);
        let mut at = y;
        for line in &lines {
            self.label((x, at), line, TEXT, Align::Middle);
            at += 1.3 * BODY;
        }
        lines.len()
    }

    /// A label that fits its room; longer ones end in an ellipsis.
    pub(crate) fn fitted_label(&mut self, at: Point, text: &str, room: f64, align: Align) {
        self.label(at, &fitted(text, room), TEXT, align);
    }
}

/// Whether XML can carry a letter; those it cannot have no look either.
pub(crate) fn is_writable(letter: char) -> bool {
    !letter.is_control() && !matches!(letter, '\u{fffe}' | '\u{ffff}')
}

/// Width that a label that stands out takes.
pub(crate) fn strong_width(text: &str) -> f64 {
    type_width::width(text, BODY, true)
}

/// A label that stands out, or as much of its beginning as its room has, with an ellipsis.
pub(crate) fn fitted_strong(text: &str, room: f64) -> String {
    type_width::fitted(text, BODY, true, room)
}

/// A label in the usual size, or as much of its beginning as its room has, with an ellipsis.
pub(crate) fn fitted(text: &str, room: f64) -> String {
    type_width::fitted(text, BODY, false, room)
}

/// Width that a label in the usual size takes.
pub(crate) fn label_width(text: &str) -> f64 {
    type_width::width(text, BODY, false)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::ink::HEATERS;

    #[test]
    fn exact_hatching_goes_on_from_step_to_step() {
        let lines = |steps: &[Area]| -> Vec<(Point, Point)> {
            let mut page = Page::new("", "");
            page.cover_steps(steps, HEATERS);
            let line = |shape| if let Shape::Line(from, to, _) = shape { Some((from, to)) } else { None };
            page.shapes.into_iter().filter_map(line).collect()
        };
        let whole = lines(&[Area::new(0.0, 0.0, 30.0, 12.0)]);
        // The sums of both coordinates are 6, 12 to 36.
        assert_eq!(whole.len(), 6);
        assert_eq!(whole.get(2), Some(&((6.0, 12.0), (18.0, 0.0))));
        let cut = [0.0, 3.0, 4.5, 20.0, 30.0];
        let steps: Vec<Area> = cut.windows(2).map(|it| Area::new(it[0], 0.0, it[1], 12.0)).collect();
        assert_eq!(lines(&steps), whole);
        // Nothing is drawn where nothing is covered, nor across it.
        let apart =
            [Area::new(0.0, 0.0, 6.0, 12.0), Area::new(6.0, 12.0, 24.0, 12.0), Area::new(24.0, 0.0, 30.0, 12.0)];
        assert!(lines(&apart).iter().all(|(from, to)| to.0 <= 6.0 || from.0 >= 24.0));
    }
}
