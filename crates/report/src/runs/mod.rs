//! The runs of a study in a folder: written as they are made, read again where a study goes on or its parts are gathered.

mod folder;
mod line;

pub use self::folder::{Begun, Folder, Identity, Part, Ready, RunsError, rows_of};
pub use self::line::{Lines, head};
