//! How long the batches of the examples take to schedule, and how far they are from their bounds.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use withy::library::{Depth, Disk, Places, Plan, check, load};
use withy::plan::BatchPlan;
use withy::plan::schedule::{Job, Purpose, schedule};

fn main() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let places = Places { root: root.clone(), shown_from: root.clone() };
    let paths: Vec<PathBuf> =
        ["field_lab", "reading_room"].iter().map(|name| root.join(format!("recipes/{name}.withy"))).collect();
    let (loaded, unreadable) = load(&Disk, &places, &paths, None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    for made in check(&loaded, Depth::Full, None).made {
        if let Some(Plan::Batch(plan)) = &made.plan {
            measure(&made.name, plan, 1);
            measure(&made.name, plan, 25);
        }
    }
}

/// Schedules a batch with so many times as many parts.
fn measure(name: &str, plan: &BatchPlan, more: u64) {
    let jobs: Vec<Job<'_>> =
        plan.runs.iter().enumerate().map(|(number, run)| run.plan.job(number, run.times * more, run.spare)).collect();
    let made = schedule(&jobs, Purpose::Batch);
    let parts: u64 = jobs.iter().map(|job| job.times).sum();
    let gap = 100.0 * (made.total - made.bound) as f64 / made.bound.max(1) as f64;
    let time = best(3, || schedule(&jobs, Purpose::Batch).total);
    println!("{name}: {parts} parts, {} tasks, gap {gap:.3} %, {:.1} ms", made.tasks.len(), time.as_secs_f64() * 1e3);
}

fn best<T>(runs: usize, mut work: impl FnMut() -> T) -> Duration {
    let once = |_| {
        let start = Instant::now();
        std::hint::black_box(work());
        start.elapsed()
    };
    (0..runs).map(once).min().unwrap_or_default()
}
