//! Why a command stops, and the exit code that says so.

use std::io;
use std::process::ExitCode;

/// Why a command stops.
#[derive(Debug)]
pub(crate) enum Fault {
    /// Bad use, or a scenario or log with faults: what to tell.
    Bad(String),
    /// Something else failed: what to tell.
    Failed(String),
    /// The verdict falls short, and the user asked to hear of it.
    Short,
    /// Whoever read standard output has gone: nothing is amiss.
    ReaderGone,
}

impl Fault {
    /// From an error of standard output.
    pub(crate) fn from_stdout(error: &io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::ReaderGone
        } else {
            Self::Failed(format!("error: cannot print the result: {error}"))
        }
    }

    /// What to tell on standard error.
    pub(crate) fn message(&self) -> Option<String> {
        match self {
            Self::Bad(message) | Self::Failed(message) => Some(message.clone()),
            Self::Short | Self::ReaderGone => None,
        }
    }

    pub(crate) fn exit_code(&self) -> ExitCode {
        match self {
            Self::ReaderGone => ExitCode::SUCCESS,
            Self::Failed(_) => ExitCode::from(1),
            Self::Bad(_) => ExitCode::from(2),
            Self::Short => ExitCode::from(3),
        }
    }
}
