//! How far a study is, how fast it goes, and how long it still takes.

use std::io::{IsTerminal, stderr};
use std::time::{Duration, Instant};

use indicatif::{HumanDuration, ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::out::Out;

/// Where nobody sees a bar, a line is told this often.
const LINE_EVERY: Duration = Duration::from_secs(60);

pub(super) struct Pace {
    bar: ProgressBar,
    wanted: bool,
    seen: bool,
    began: Instant,
    told: Instant,
    made: u64,
}

impl Pace {
    /// Of so many runs, of which some are made already.
    pub(super) fn new(all: u64, before: u64, wanted: bool) -> Self {
        let seen = wanted && stderr().is_terminal();
        let target = if seen { ProgressDrawTarget::stderr() } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(Some(all), target);
        let style = "[{bar:40}] {pos} of {len} runs, {per_sec}, {eta} left";
        let style = ProgressStyle::with_template(style).unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style);
        bar.set_position(before);
        bar.reset_eta();
        let now = Instant::now();
        Self { bar, wanted, seen, began: now, told: now, made: 0 }
    }

    /// So many more runs are made, and the study is at this one.
    pub(super) fn hear(&mut self, made: u64, at: u64, out: &mut Out) {
        self.made += made;
        self.bar.set_position(at);
        if self.wanted && !self.seen && self.told.elapsed() >= LINE_EVERY {
            self.told = Instant::now();
            let all = self.bar.length().unwrap_or(at);
            let left = self.began.elapsed().mul_f64(ratio(all.saturating_sub(at), self.made.max(1)));
            out.note(&format!("{at} of {all} runs, {}, {} left", self.rate(), HumanDuration(left)));
        }
    }

    fn rate(&self) -> String {
        let seconds = self.began.elapsed().as_secs_f64().max(1e-9);
        let a_second = ratio(self.made, 1) / seconds;
        format!("{} a second", if a_second < 10.0 { format!("{a_second:.1}") } else { format!("{a_second:.0}") })
    }

    /// Tells how fast it went.
    pub(super) fn end(self, out: &mut Out) {
        self.bar.finish_and_clear();
        if self.wanted && self.made > 0 {
            let threads = rayon_threads();
            let took = self.began.elapsed().as_secs_f64();
            out.note(&format!("{} runs in {took:.1} s, {} on {threads}", self.made, self.rate()));
        }
    }
}

fn rayon_threads() -> String {
    match rayon::current_num_threads() {
        1 => "one thread".to_owned(),
        many => format!("{many} threads"),
    }
}

#[expect(clippy::cast_precision_loss, reason = "counts of runs")]
fn ratio(one: u64, other: u64) -> f64 {
    one as f64 / other as f64
}
