//! `tune.csv`: the map of both valves, one line for each setting and season, metric.

use std::io::Write;

use ::csv::Writer;
use springhouse_study::tune::Season;

use super::figures::FIGURES;
use super::{Tuned, words};
use crate::numbers::fixed;

/// Writes the map: first the coldest water, then typical, then the warmest. `breaks` lists the limits that a setting does not
/// keep, separated by spaces; where it makes no water only what is known of it stands.
///
/// # Errors
/// When `out` cannot be written to.
pub fn map(tuned: &Tuned<'_>, out: impl Write) -> ::csv::Result<()> {
    let mut table = Writer::from_writer(out);
    let keys = FIGURES.iter().map(|figure| figure.key);
    table.write_record(["season"].into_iter().chain(keys).chain(["breaks"]))?;
    for season in Season::ALL {
        for point in &tuned.tuning.maps.get(season).points {
            let cells = FIGURES
                .iter()
                .map(|figure| figure.of(point).map_or_else(String::new, |value| fixed(value, figure.decimals)));
            let breaks = point.breaks.iter().map(words::limit_key).collect::<Vec<_>>().join(" ");
            table.write_record([words::season(season).to_owned()].into_iter().chain(cells).chain([breaks]))?;
        }
    }
    table.flush()?;
    Ok(())
}
