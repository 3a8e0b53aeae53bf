//! What is told once all runs of a study are made.

use springhouse_report::runs::{Part, Ready};
use springhouse_study::many::tell;

use super::of_runs;
use crate::fault::Fault;
use crate::out::Out;

/// Tells of whatever study it is.
pub(super) fn any(ready: Ready, quiet: bool, out: &mut Out) -> Result<(), Fault> {
    sweep(ready, None, quiet, out)
}

/// Tells of a sweep; of a part there is nothing to tell yet.
pub(super) fn sweep(ready: Ready, part: Option<Part>, quiet: bool, out: &mut Out) -> Result<(), Fault> {
    let folder = ready.folder().to_owned();
    if let Some(part) = part {
        ready.publish().map_err(of_runs)?;
        return out.result(&format!("Part {} of {} is made: {}", part.part, part.of, folder.join("").display()));
    }
    let told = tell(ready.plan(), || ready.rows(), |_| Ok(())).map_err(of_runs)?;
    for variant in &told {
        out.result(&format!("{:?}", variant.short))?;
    }
    let _ = quiet;
    ready.publish().map_err(of_runs)
}
