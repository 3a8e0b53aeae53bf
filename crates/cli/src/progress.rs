//! A bar on a terminal, for runs that take long enough to wonder.

use std::io::{IsTerminal, stderr};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// A run that takes less shows no bar.
const PATIENCE: Duration = Duration::from_millis(700);
const STEPS: u64 = 1_000;

/// Shows the share done, once there is reason to.
pub(crate) struct Progress {
    wanted: bool,
    began: Instant,
    bar: Option<ProgressBar>,
}

impl Progress {
    /// Progress of a run that begins now; `wanted` where the user has not asked for quiet.
    pub(crate) fn new(wanted: bool) -> Self {
        Self { wanted: wanted && stderr().is_terminal(), began: Instant::now(), bar: None }
    }

    /// Hears the share done, from 0 to 1.
    pub(crate) fn hear(&mut self, share: f64) {
        if !self.wanted || self.began.elapsed() < PATIENCE {
            return;
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to 0 to 1000 before")]
        let step = (share.clamp(0.0, 1.0) * 1_000.0) as u64;
        self.bar.get_or_insert_with(bar).set_position(step);
    }

    /// Wipes the bar away.
    pub(crate) fn end(self) {
        if let Some(bar) = self.bar {
            bar.finish_and_clear();
        }
    }
}

fn bar() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(Some(STEPS), ProgressDrawTarget::stderr());
    let style = ProgressStyle::with_template("simulating [{bar:40}] {percent:>3} %, {eta} left");
    bar.with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
}
