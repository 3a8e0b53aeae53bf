//! Tables of measurements in CSV: what a log of draws and a record of rain have in common.
//!
//! The first line that is no comment is the header, whose columns may come in any order. Lines that start with `#` are
//! comments; a byte-order mark and either kind of line end are fine; a field with a comma in it stands in double quotes.
//! Times are local standard time. All that is wrong with a file is told at once, by line and column.

mod errors;
mod header;
mod nearest;
mod rows;
mod values;

pub use errors::{Error, Errors, MOST_ERRORS, Problem};
pub use header::{Column, Form, Header};
pub use nearest::nearest;
pub use rows::{Row, Rows, read};
pub use values::{number, shortened, time};
