//! Where labels have room.

use crate::chart::{Align, Area, BODY, Ink, Page, Point, ink, label_width};

/// Labels of the field, none over another.
pub(super) struct Labels {
    field: Area,
    taken: Vec<Area>,
}

impl Labels {
    pub(super) fn within(field: Area) -> Self {
        Self { field, taken: Vec::new() }
    }

    /// Keeps a place free.
    pub(super) fn take(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// The room of a text about a place.
    pub(super) fn room((x, y): Point, text: &str) -> Area {
        // Bold letters are a little wider.
        let half = 0.54 * label_width(text) + 2.0;
        Area::new(x - half, y - 0.6 * BODY, x + half, y + 0.6 * BODY)
    }

    fn is_free(&self, room: &Area) -> bool {
        let Self { field, .. } = self;
        let inside = room.left >= field.left + 1.0
            && room.right <= field.right - 1.0
            && room.top >= field.top + 1.0
            && room.bottom <= field.bottom - 1.0;
        let apart = |other: &Area| {
            room.right <= other.left || other.right <= room.left || room.bottom <= other.top || other.bottom <= room.top
        };
        inside && self.taken.iter().all(apart)
    }

    /// Writes a text at the first place that has room for it, on paper so that lines do not cross it; `false` where none has.
    pub(super) fn put(
        &mut self,
        page: &mut Page,
        places: impl IntoIterator<Item = Point>,
        text: &str,
        (ink, bold): (Ink, bool),
    ) -> bool {
        let Some((place, room)) =
            places.into_iter().map(|place| (place, Self::room(place, text))).find(|(_, room)| self.is_free(room))
        else {
            return false;
        };
        page.fill(room, ink::PAPER.thin(0.85));
        if bold {
            page.strong(place, text, ink, Align::Middle);
        } else {
            page.label(place, text, ink, Align::Middle);
        }
        self.take(room);
        true
    }
}
