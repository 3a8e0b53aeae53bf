//! A page becomes an SVG, and the SVG a PNG.
//!
//! The drawing library rounds to whole pixels, so a page is drawn at four times its size and scaled by the view box. The
//! PNG is made of the very same SVG, with an embedded font.

use std::sync::{Arc, OnceLock};

use plotters::backend::{DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, RGBAColor, ShapeStyle, TextStyle};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg;
use thiserror::Error;

use super::ink::{Ink, PAPER};
use super::page::{Align, Area, Label, Page, Point, Shape, Stroke, WIDTH};

/// Drawing units to a page unit.
const FINE: f64 = 4.0;
/// PNG pixels to a page unit: 240 to the inch when printed as wide as a letter page's text.
const DOTS: f32 = 3.0;
/// Fonts in order of preference; the first is the embedded one.
const FONTS: &str = "Noto Sans, Helvetica, Arial, sans-serif";
/// The drawing library divides the size it is given by this.
const SIZE_FACTOR: f64 = 1.24;

/// A page could not be drawn.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum DrawError {
    /// As SVG.
    #[error("the plot could not be drawn: {0}")]
    Svg(String),
    /// As PNG.
    #[error("the plot could not be made into a PNG: {0}")]
    Png(String),
}

#[expect(clippy::cast_possible_truncation, reason = "`as` saturates; pages are thousands of units at most")]
fn fine(value: f64) -> i32 {
    (value * FINE).round() as i32
}

fn fine_point(point: Point) -> (i32, i32) {
    (fine(point.0), fine(point.1))
}

fn fine_size(value: f64) -> u32 {
    fine(value).max(1).unsigned_abs()
}

fn colour(ink: Ink) -> RGBAColor {
    let (r, g, b) = ink.rgb;
    RGBAColor(r, g, b, ink.cover)
}

fn pen(stroke: Stroke) -> ShapeStyle {
    ShapeStyle { color: colour(stroke.ink), filled: false, stroke_width: fine_size(stroke.width) }
}

/// A page as the text of an SVG.
pub(crate) fn svg(page: &Page) -> Result<String, DrawError> {
    let size = (fine_size(WIDTH), fine_size(page.height()));
    let mut text = String::new();
    let mut backend = SVGBackend::with_string(&mut text, size);
    let paper = Shape::Fill(Area::new(0.0, 0.0, WIDTH, page.height()), PAPER);
    for shape in core::iter::once(&paper).chain(&page.shapes) {
        put(&mut backend, shape).map_err(DrawError::Svg)?;
    }
    backend.present().map_err(|error| DrawError::Svg(error.to_string()))?;
    drop(backend);
    Ok(with_head(page, size, &text))
}

/// Replaces the head, which has the fine size, by one of the page's size that also says what the picture shows.
fn with_head(page: &Page, (fine_width, fine_height): (u32, u32), svg: &str) -> String {
    let body = svg.split_once('\n').map_or("", |(_, body)| body);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{WIDTH}\" height=\"{}\" \
         viewBox=\"0 0 {fine_width} {fine_height}\">\n<title>{}</title>\n<desc>{}</desc>\n{body}",
        page.height(),
        escaped(&page.title),
        escaped(&page.subject),
    )
}

fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '&' => safe.push_str("&amp;"),
            c if super::page::is_writable(c) => safe.push(c),
            _ => safe.push(' '),
        }
    }
    safe
}

fn put(backend: &mut SVGBackend<'_>, shape: &Shape) -> Result<(), String> {
    let done = match shape {
        Shape::Fill(area, ink) => {
            let (from, to) = (fine_point((area.left, area.top)), fine_point((area.right, area.bottom)));
            // What is there must be seen: never less than one fine unit.
            let to = (to.0.max(from.0 + 1), to.1.max(from.1 + 1));
            backend.draw_rect(from, to, &colour(*ink), true)
        }
        Shape::Line(from, to, stroke) => backend.draw_line(fine_point(*from), fine_point(*to), &pen(*stroke)),
        Shape::Path(points, stroke) => backend.draw_path(points.iter().copied().map(fine_point), &pen(*stroke)),
        Shape::Polygon(points, ink) => backend.fill_polygon(points.iter().copied().map(fine_point), &colour(*ink)),
        Shape::Text(label) => backend.draw_text(&label.text, &typed(label), fine_point(label.at)),
    };
    done.map_err(|error| error.to_string())
}

fn typed(label: &Label) -> TextStyle<'static> {
    let style = if label.bold { FontStyle::Bold } else { FontStyle::Normal };
    let side = match label.align {
        Align::Left => HPos::Left,
        Align::Middle => HPos::Center,
        Align::Right => HPos::Right,
    };
    let font = FontDesc::new(FontFamily::Name(FONTS), label.size * FINE * SIZE_FACTOR, style);
    TextStyle { font, color: colour(label.ink).to_backend_color(), pos: Pos::new(side, VPos::Center) }
}

/// The bytes of a PNG that shows an SVG made by [`svg`].
pub(crate) fn png(svg: &str) -> Result<Vec<u8>, DrawError> {
    let failed = |error: &dyn core::fmt::Display| DrawError::Png(error.to_string());
    let options = usvg::Options { fontdb: fonts(), ..usvg::Options::default() };
    let tree = usvg::Tree::from_str(svg, &options).map_err(|error| failed(&error))?;
    let size = tree.size().to_int_size().scale_by(DOTS).ok_or_else(|| failed(&"it has no size"))?;
    let mut pixels = Pixmap::new(size.width(), size.height()).ok_or_else(|| failed(&"it is too large"))?;
    resvg::render(&tree, Transform::from_scale(DOTS, DOTS), &mut pixels.as_mut());
    pixels.encode_png().map_err(|error| failed(&error))
}

/// The embedded fonts, and no others: the same picture on every machine.
fn fonts() -> Arc<usvg::fontdb::Database> {
    static FONTS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    let load = || {
        let mut fonts = usvg::fontdb::Database::new();
        fonts.load_font_data(notosans::REGULAR_TTF.to_vec());
        fonts.load_font_data(notosans::BOLD_TTF.to_vec());
        Arc::new(fonts)
    };
    Arc::clone(FONTS.get_or_init(load))
}
