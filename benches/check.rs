//! How long a large library takes to check: 10,000 recipes over 1,000 files that share their benches.
//!
//! `cargo bench --bench check` sets the library up in a temporary folder and runs the program itself on it, in a process
//! of its own each time: cold, again, and again after one edit. Once with 300 distinct bends in all, once with 5,000.
//! With arguments, only for those numbers of distinct bends.

use std::fmt::Write;
use std::fs;
use std::io;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const FILES: usize = 1000;
const RECIPES: usize = 10;

fn main() -> io::Result<()> {
    let asked: Vec<usize> = std::env::args().filter_map(|argument| argument.parse().ok()).collect();
    let numbers = if asked.is_empty() { vec![300, 5000] } else { asked };
    for bends in numbers {
        let folder = tempfile::tempdir()?;
        let library = folder.path().join("library");
        write(&library, bends)?;
        let cache = folder.path().join("cache");
        println!("{} recipes in {FILES} files, {bends} distinct bends", FILES * RECIPES);
        show("first check", check(&library, &cache, "full")?);
        show("second check, nothing changed", check(&library, &cache, "full")?);
        let edited = library.join("recipes/r7.withy");
        let text = fs::read_to_string(&edited)?;
        fs::write(&edited, text.replacen("heat 150 s", "heat 151 s", 1))?;
        show("check after one edit", check(&library, &cache, "full")?);
        fs::write(&edited, text)?;
        show("the same without kept bends", check(&library, &cache, "none")?);
    }
    Ok(())
}

/// One run of the program, with its own measure of memory where the system gives it.
fn check(library: &Path, cache: &Path, kept: &str) -> io::Result<Duration> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_withy"));
    command.args(["lint", "--report", "short"]).current_dir(library).env("WITHY_CACHE", cache);
    if kept == "none" {
        command.arg("--no-cache");
    }
    let start = Instant::now();
    let output = command.stdin(Stdio::null()).output()?;
    let took = start.elapsed();
    // Notices are fine; anything else means that the library is not what it should be.
    if !output.status.success() {
        return Err(io::Error::other(String::from_utf8_lossy(&output.stdout).lines().take(3).collect::<String>()));
    }
    Ok(took)
}

fn show(what: &str, took: Duration) {
    println!("  {what:<32} {:>8.2} s", took.as_secs_f64());
}

/// A stock file, four benches, and files of ten parts and recipes each, with three bends a part. Angle, heat and
/// radius are dealt out so that there are as many distinct bends as asked for.
fn write(library: &Path, bends: usize) -> io::Result<()> {
    let first = include_str!("../src/cli/start/first.withy");
    for folder in ["stock", "bench", "recipes"] {
        fs::create_dir_all(library.join(folder))?;
    }
    fs::write(library.join("withy.toml"), "sources = [\"recipes\"]\nfail_on = \"warning\"\n")?;
    fs::write(library.join("stock/acrylic.withy"), include_str!("../src/cli/start/acrylic.withy"))?;
    for bench in 0..4 {
        fs::write(library.join(format!("bench/b{bench}.withy")), first)?;
    }
    let mut deal = 0;
    for file in 0..FILES {
        let mut text = format!("language 1\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/b{}.withy\"\n", file % 4);
        for recipe in 0..RECIPES {
            let mut angle = || {
                deal = (deal + 1) % bends;
                // Steps of 0.01 deg: distinct for the models, alike for the bench.
                60.0 + 0.01 * deal as f64
            };
            let (one, two, three) = (angle(), angle(), angle());
            let _ = write!(
                text,
                "\n## A tray for box {file}, shelf {recipe}.\npart tray_{file}_{recipe} {{\n  sheet clear_3\n  width {} mm\n  \
                 profile outside {{\n    leg {} mm\n    bend up {one:.2} deg radius 6 mm as front\n    leg {} mm\n    \
                 bend up {two:.2} deg radius 6 mm as back\n    leg 60 mm\n    bend up {three:.2} deg radius 6 mm as lip\n    \
                 leg 50 mm\n  }}\n}}\n\n## How it is made.\nrecipe tray_{file}_{recipe}_run for tray_{file}_{recipe} on first {{\n  \
                 ambient 18..26 degC\n  every bend {{\n    heat 150 s\n    set 160 s\n  }}\n  order lip then front then back\n  \
                 accept uncalibrated-heater because \"trial strips are planned\" until 2099-12-31\n}}\n",
                120 + file % 90,
                60 + file % 40,
                80 + recipe * 10,
            );
        }
        fs::write(library.join(format!("recipes/r{file}.withy")), text)?;
    }
    Ok(())
}
