//! What is told once all runs of a study are made.

use springhouse_report::runs::{Part, Ready, RunsError};
use springhouse_report::study::{Told, parquet, text};
use springhouse_report::text::wrapped;
use springhouse_report::write;
use springhouse_study::many::tell;

use super::of_runs;
use crate::fault::Fault;
use crate::out::Out;

/// Tells of a sweep: text, tables and pictures. Of a part there is nothing to tell yet.
pub(super) fn sweep(ready: Ready, part: Option<Part>, quiet: bool, out: &mut Out) -> Result<(), Fault> {
    let folder = ready.folder().to_owned();
    if let Some(part) = part {
        ready.publish().map_err(of_runs)?;
        return out.result(&format!("Part {} of {} is made: {}", part.part, part.of, folder.join("").display()));
    }
    let plan = ready.plan().clone();
    let path = folder.join("runs.parquet");
    // One pass over the runs: for the Parquet file, and for what is told of variants.
    let variants = write::streamed(&path, |file| {
        let unwritten = |error| RunsError::Write(write::WriteError { path: path.clone(), source: error });
        let mut rows = parquet::Rows::new(&plan, file).map_err(unwritten)?;
        let variants = tell(&plan, || ready.rows(), |row| rows.row(row).map_err(unwritten))?;
        rows.finish().map_err(unwritten)?;
        Ok::<_, RunsError>(variants)
    });
    let variants = variants.map_err(of_runs)?;
    let told = Told { plan: &plan, variants: &variants };
    write::study(&told, &folder).map_err(|error| Fault::Failed(format!("error: {error}")))?;
    ready.publish().map_err(of_runs)?;
    if !quiet {
        out.result(&wrapped(&text::subject(&told)))?;
    }
    out.result(&wrapped(&text::headline(&told)))?;
    if quiet {
        return Ok(());
    }
    out.result("")?;
    out.result(&text::body(&told))?;
    out.result(&format!("\nFiles: {}", folder.join("").display()))?;
    out.result(&format!("\n{}", wrapped(&text::cautions(&told))))
}
