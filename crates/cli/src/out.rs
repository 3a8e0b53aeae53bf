//! Standard output for results, standard error for all else; colours only where they are wanted (`NO_COLOR`, a terminal).

use std::io::{self, Write};

use anstream::AutoStream;
use clap::builder::styling::{AnsiColor, Style};

use crate::fault::Fault;

/// Where a command prints.
pub(crate) struct Out {
    stdout: AutoStream<io::Stdout>,
    stderr: AutoStream<io::Stderr>,
}

impl Default for Out {
    fn default() -> Self {
        Self { stdout: AutoStream::auto(io::stdout()), stderr: AutoStream::auto(io::stderr()) }
    }
}

impl Out {
    /// Prints a result; a newline is added where the text ends without one.
    pub(crate) fn result(&mut self, text: &str) -> Result<(), Fault> {
        let end = if text.ends_with('\n') { "" } else { "\n" };
        write!(self.stdout, "{text}{end}").map_err(|error| Fault::from_stdout(&error))
    }

    /// Prints a verdict so that it is seen: bold, in green or red beside its words.
    pub(crate) fn verdict(&mut self, holds: bool, text: &str) -> Result<(), Fault> {
        let colour = if holds { AnsiColor::Green } else { AnsiColor::Red };
        let style = Style::new().bold().fg_color(Some(colour.into()));
        self.result(&format!("{style}{}{style:#}", text.trim_end()))
    }

    /// Tells on standard error. That nobody can hear it is no reason to stop.
    pub(crate) fn note(&mut self, text: &str) {
        let _ = writeln!(self.stderr, "{}", text.trim_end());
    }

    /// Sees that all results have gone out.
    pub(crate) fn finish(&mut self) -> Result<(), Fault> {
        self.stdout.flush().map_err(|error| Fault::from_stdout(&error))
    }
}
