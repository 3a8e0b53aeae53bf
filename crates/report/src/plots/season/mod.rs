//! A season day by day: the weather, what it made of open water, what was given, and what a membrane unit made of it.

mod lines;
mod panels;
mod title;

use springhouse_core::time::Span;

use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::TEXT;
use crate::chart::{Area, Page, WIDTH, label_width};
use crate::plots::SEASON_DAYS;
use crate::plots::levels::{EDGE, GAP, LEFT, RIGHT, incident_key, name_spells, shade_disorder};
use crate::spells::{self, Spell};
use crate::{Run, text};

/// `None` for a run that is short, or whose days were not kept.
pub(super) fn page(run: &Run<'_>) -> Option<Page> {
    if run.outcome.days.len() < SEASON_DAYS {
        return None;
    }
    let mut incidents = spells::incidents(run);
    // Over a season what is over in hours is a hair's breadth, and its name would crowd out those that tell.
    incidents.retain(|(spell, _)| spell.end - spell.start >= Span::DAY);
    let widest = panels::SIDE_NAMES.into_iter().map(label_width).fold(0.0, f64::max);
    let right = (WIDTH - EDGE - GAP - widest).floor().clamp(RIGHT.0, RIGHT.1);
    let mut sheet = Sheet {
        page: Page::new(&title::title(run), &text::subject(run)),
        axis: TimeAxis { left: LEFT, right, first_day: run.first_day, days: run.outcome.summary.days },
        disorder: incidents.iter().map(|(spell, _)| *spell).collect(),
    };
    sheet.page.y += 4.0;
    name_spells(&mut sheet.page, &sheet.axis, incidents.iter().map(|(spell, name)| (*spell, name.as_str())), TEXT);
    panels::draw(run, &mut sheet);
    let Sheet { mut page, axis, .. } = sheet;
    axis.day_labels(&mut page);
    page.y += 4.0;
    panels::keys(run, &mut page, &axis);
    incident_key(&mut page, &incidents);
    Some(page)
}

/// A page of panels that share the days across.
struct Sheet {
    page: Page,
    axis: TimeAxis,
    disorder: Vec<Spell>,
}

impl Sheet {
    fn heading(&mut self, heading: &str) {
        self.page.y += 10.0;
        self.page.heading(heading);
        self.page.y += 4.0;
    }

    /// A panel of values from `least`, or from zero where there is none, to `most`.
    fn panel(
        &mut self,
        height: f64,
        (least, most): (Option<f64>, f64),
        draw: impl FnOnce(&mut Page, &TimeAxis, &ValueAxis),
    ) {
        let Self { page, axis, disorder } = self;
        let area = Area::new(axis.left, page.y, axis.right, page.y + height);
        let values = match least {
            Some(least) => ValueAxis::between(area, least, most),
            None => ValueAxis::up(area, most),
        };
        values.grid(page);
        axis.grid(page, area.top, area.bottom);
        shade_disorder(page, axis, area, disorder);
        draw(page, axis, &values);
        page.y = area.bottom;
    }
}
