//! What makes a long check bearable: solved bends and orders from earlier runs, and a bar that shows how far it has come.

use std::io::IsTerminal;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use crate::library::{Aid, CacheFolder, Disk, Progress};

/// Whoever waits less than this needs no bar.
const PATIENCE: Duration = Duration::from_secs(1);

/// Both aids.
pub struct Aids {
    cache: CacheFolder,
    bar: Bar,
}

impl Aids {
    /// With the user's folder of solved bends and orders, unless there is to be none.
    pub fn new(no_cache: bool) -> Self {
        let cache = if no_cache { CacheFolder::none() } else { CacheFolder::of_user() };
        // Only ever on standard error, and only if somebody may be looking.
        let shown = std::io::stderr().is_terminal();
        Self { cache, bar: Bar { shown, since: Instant::now(), drawn: OnceLock::new() } }
    }

    /// As the library takes them.
    pub fn aid(&self) -> Aid<'_> {
        Aid { store: &self.cache, progress: &self.bar, shelf: Some(&Disk) }
    }
}

struct Bar {
    shown: bool,
    since: Instant,
    drawn: OnceLock<ProgressBar>,
}

impl Progress for Bar {
    fn done(&self, done: usize, of: usize) {
        if !self.shown || self.since.elapsed() < PATIENCE {
            return;
        }
        let bar = self.drawn.get_or_init(|| {
            let style = ProgressStyle::with_template("{bar:30} {pos} of {len} recipes computed, {eta} left");
            let bar = ProgressBar::new(0);
            style.map_or(bar.clone(), |style| bar.with_style(style))
        });
        bar.set_length(of as u64);
        bar.set_position(done as u64);
        if done == of {
            bar.finish_and_clear();
        }
    }
}
