//! Words on the plots, measured with the embedded font: on the page, none over another, none tiny.

use std::sync::Arc;

use resvg::usvg::{self, Group, Node, Rect};
use springhouse_report::plots;

use crate::plots::cases;

fn options() -> usvg::Options<'static> {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(notosans::REGULAR_TTF.to_vec());
    fonts.load_font_data(notosans::BOLD_TTF.to_vec());
    usvg::Options { fontdb: Arc::new(fonts), ..usvg::Options::default() }
}

/// Every text of a picture, where it stands, in page units, and its size.
fn words(group: &Group, found: &mut Vec<(String, Rect, f32)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => words(inner, found),
            Node::Text(text) => {
                let line: String = text.chunks().iter().map(|chunk| chunk.text().trim()).collect();
                let size = text.chunks()[0].spans()[0].font_size().get() * text.abs_transform().sx;
                found.push((line, text.abs_bounding_box(), size));
            }
            _ => {}
        }
    }
}

#[test]
fn words_are_on_the_page_and_none_over_another() {
    for (name, case, units) in cases() {
        for plot in plots::all(&case.run(units)) {
            assert_laid_out(name, &plot);
        }
    }
}

#[track_caller]
pub(crate) fn assert_laid_out(name: &str, plot: &plots::Plot) {
    let tree = usvg::Tree::from_str(&plot.svg().unwrap(), &options()).unwrap();
    let mut found = Vec::new();
    words(tree.root(), &mut found);
    assert!(found.len() > 1, "{name} {} says nothing", plot.name);
    for (index, (text, place, size)) in found.iter().enumerate() {
        let at = format!("{name} {}: {text:?}", plot.name);
        assert!(*size >= 13.0, "{at} is tiny: {size}");
        let page = tree.size().to_non_zero_rect(0.0, 0.0);
        assert!(place.left() >= 4.0 && place.right() <= page.right() - 4.0, "{at} leaves the page: {place:?}");
        assert!(place.top() >= 0.0 && place.bottom() <= page.bottom(), "{at} leaves the page: {place:?}");
        for (other, there, _) in &found[..index] {
            let across = place.right().min(there.right()) - place.left().max(there.left());
            let down = place.bottom().min(there.bottom()) - place.top().max(there.top());
            // Boxes reach from the font's ascent to its descent, a third more than any letter here.
            assert!(across <= 0.0 || down <= 0.36 * size, "{at} is over {other:?}, {across} by {down}");
        }
    }
}

#[test]
fn pictures_can_be_looked_at() {
    // Set SPRINGHOUSE_PLOTS to a folder to look at the pictures of all cases.
    let Some(folder) = std::env::var_os("SPRINGHOUSE_PLOTS") else { return };
    for (name, case, units) in cases() {
        for plot in plots::all(&case.run(units)) {
            let place = std::path::Path::new(&folder).join(format!("{name}-{}.png", plot.name));
            std::fs::write(place, plot.png().unwrap()).unwrap();
        }
    }
}
