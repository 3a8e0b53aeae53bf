//! `compare-*.csv`: a line for each way, metric.

use std::io::Write;

use ::csv::Writer;

use super::Compared;

/// Writes the figures of every way; a way that lacks one leaves its cell empty.
///
/// # Errors
/// When `out` cannot be written to.
pub fn ways(compared: &Compared<'_>, out: impl Write) -> ::csv::Result<()> {
    let mut table = Writer::from_writer(out);
    for figures in compared.figures() {
        table.serialize(figures)?;
    }
    table.flush()?;
    Ok(())
}
