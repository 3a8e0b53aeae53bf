//! `springhouse new`: a scenario to start from.

use std::path::Path;

use springhouse_report::write;
use springhouse_scenario::starter;

use crate::args::NewArgs;
use crate::fault::Fault;
use crate::out::Out;

pub(crate) fn new(args: &NewArgs, out: &mut Out) -> Result<(), Fault> {
    let file = &args.file;
    if file == Path::new("-") {
        return out.result(starter());
    }
    let failed = |error: write::WriteError| Fault::Failed(format!("error: {error}"));
    if args.force {
        write::file(file, starter().as_bytes()).map_err(failed)?;
    } else if !write::new_file(file, starter().as_bytes()).map_err(failed)? {
        let name = file.display();
        return Err(Fault::Bad(format!(
            "error: {name} is there already; take another name, or --force to write over it"
        )));
    }
    out.result(&format!("{} written; now run: springhouse run {}", file.display(), file.display()))
}
