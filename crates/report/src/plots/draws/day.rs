//! The fullest day: who drew how much in each quarter hour.

use super::{HEIGHT, LEFT, RIGHT};
use crate::calendar;
use crate::chart::axis::{TimeAxis, ValueAxis};
use crate::chart::ink::{DELIVERY, HELD, LAMPS, PUMPS, QUIET, WATER};
use crate::chart::{Area, Ink, Page};
use crate::draws::{DaySums, Drawn, QUARTERS, Taker, litres, text};
use crate::numbers::{Scale, percent};

/// How a taker is drawn. Bars of a quarter hour are too narrow to be hatched, so some are striped.
#[derive(Clone, Copy)]
struct Coat {
    ink: Ink,
    striped: bool,
}

fn coat(taker: Taker) -> Coat {
    let solid = |ink| Coat { ink, striped: false };
    let striped = |ink| Coat { ink, striped: true };
    match taker {
        Taker::Bathing => solid(WATER),
        Taker::Toilets => striped(PUMPS[1].ink),
        Taker::Taps => solid(LAMPS.ink),
        Taker::Machines => solid(DELIVERY.ink),
        Taker::Other => striped(HELD),
        Taker::Told => solid(PUMPS[2].ink),
    }
}

fn name(taker: Taker) -> &'static str {
    match taker {
        Taker::Bathing => "Showers and baths",
        Taker::Toilets => "Toilets",
        Taker::Taps => "Bathroom and kitchen taps",
        Taker::Machines => "Clothes washer and dishwasher",
        Taker::Other => "Outdoors, leaks and other",
        Taker::Told => "Schedule and logs",
    }
}

/// A page where nothing is drawn says so and no more.
pub(in crate::plots) fn page(drawn: &Drawn<'_>) -> Page {
    let Some((most, sums)) = &drawn.gathering.busiest().day else {
        return Page::new("Nothing is drawn in buildings", &text::subject(drawn));
    };
    let first_day = calendar::date(drawn.options.first_day, most.start.day());
    let all_l = litres(most.amount);
    let run = if drawn.gathering.runs() > 1 { format!(" in run {}", most.run) } else { String::new() };
    let title = format!("The fullest day: {} on {}{run}", drawn.units.volume(all_l), calendar::spoken_date(first_day));
    let mut page = Page::new(&title, &text::subject(drawn));
    let scale = Scale::volume(drawn.units);
    page.y += 12.0;
    page.heading(&format!("Wanted in each quarter hour, {}", scale.unit));
    page.y += 4.0;
    let area = Area::new(LEFT, page.y, RIGHT, page.y + HEIGHT);
    let axis = TimeAxis { left: LEFT, right: RIGHT, first_day, days: 1 };
    let values = ValueAxis::up(area, scale.value(tallest(sums)));
    axis.grid(&mut page, area.top, area.bottom);
    values.grid(&mut page);
    for quarter in 0..QUARTERS {
        bar(&mut page, &values, scale, sums, quarter);
    }
    page.line((LEFT, area.bottom), (RIGHT, area.bottom), QUIET, 1.0);
    page.y = area.bottom;
    axis.labels(&mut page);
    page.y += 4.0;
    key(&mut page, drawn, sums, all_l);
    page
}

/// Litres of the fullest quarter hour.
fn tallest(sums: &DaySums) -> f64 {
    (0..QUARTERS).map(|quarter| sums.iter().map(|sums| litres(sums[quarter])).sum::<f64>()).fold(0.0, f64::max)
}

#[expect(clippy::cast_precision_loss, reason = "a quarter hour of a day")]
fn bar(page: &mut Page, values: &ValueAxis, scale: Scale, sums: &DaySums, quarter: usize) {
    const GAP: f64 = 0.6;
    let width = (RIGHT - LEFT) / QUARTERS as f64;
    let left = LEFT + width * quarter as f64;
    let mut foot = 0.0;
    for taker in Taker::ALL {
        let amount = scale.value(litres(sums[taker as usize][quarter]));
        if amount > 0.0 {
            let area = Area::new(left + 0.5 * GAP, values.y(foot + amount), left + width - 0.5 * GAP, values.y(foot));
            cover(page, area, coat(taker));
            foot += amount;
        }
    }
}

/// Filled, or tinted with lines across that go on from bar to bar.
fn cover(page: &mut Page, area: Area, coat: Coat) {
    const STEP: f64 = 3.0;
    if !coat.striped {
        page.fill(area, coat.ink);
        return;
    }
    page.fill(area, coat.ink.thin(0.25));
    let mut y = (area.top / STEP).ceil() * STEP;
    while y < area.bottom {
        page.line((area.left, y), (area.right, y), coat.ink, 1.2);
        y += STEP;
    }
}

/// Who drew, in the order in which they stand on each other.
fn key(page: &mut Page, drawn: &Drawn<'_>, sums: &DaySums, all_l: f64) {
    for taker in Taker::ALL.into_iter().rev() {
        let drew = litres(sums[taker as usize].iter().sum());
        if drew > 0.0 {
            let said = format!("{}: {}, {}", name(taker), drawn.units.volume(drew), percent(drew / all_l));
            page.key(&said, |page, area| cover(page, area, coat(taker)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takers_are_told_apart_without_colour() {
        // Luma of ITU-R BT.601, what a grey copy shows.
        let grey = |ink: Ink| {
            let (r, g, b) = ink.rgb;
            0.299 * f64::from(r) + 0.587 * f64::from(g) + 0.114 * f64::from(b)
        };
        for (index, taker) in Taker::ALL.into_iter().enumerate() {
            for other in &Taker::ALL[..index] {
                let (a, b) = (coat(taker), coat(*other));
                let apart = (grey(a.ink) - grey(b.ink)).abs();
                assert!(a.striped != b.striped || apart > 40.0, "{taker:?} and {other:?} are {apart} apart");
            }
        }
    }
}
