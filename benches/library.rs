//! How fast a library is checked and formatted, on a generated one of 1,000 files with 100,000 lines, on one small file,
//! and while it is typed. Prints times of the best of several runs, and ratios to reading and to parsing the same texts;
//! of keystrokes, the median and the time that one in a hundred exceeds.

use std::fmt::Write;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use withy::format::format;
use withy::library::{Depth, Loaded, Memory, Places, Session, check, load};
use withy::syntax::parse;
use withy::text::FileId;

const FILES: usize = 1000;

fn main() {
    let io = Memory::new(library());
    let places = Places { root: PathBuf::from("/library"), shown_from: PathBuf::from("/library") };
    let paths: Vec<PathBuf> = (0..FILES).map(|file| PathBuf::from(format!("/library/recipes/r{file}.withy"))).collect();
    let before = resident();
    let (loaded, unreadable) = load(&io, &places, &paths, None);
    assert!(unreadable.is_empty(), "{unreadable:?}");
    let held = resident().zip(before).map(|(after, before)| after.saturating_sub(before));
    let texts: Vec<&str> = loaded.files.iter().map(|(_, file)| file.text()).collect();
    let bytes: usize = texts.iter().map(|text| text.len()).sum();
    let lines: usize = texts.iter().map(|text| text.lines().count()).sum();
    println!("{} files, {lines} lines, {:.1} MB", texts.len(), bytes as f64 / 1e6);
    if let Some(held) = held {
        let ratio = held as f64 / bytes as f64;
        println!("texts and trees in memory: {:.1} MB, {ratio:.1} × their source", held as f64 / 1e6);
    }

    let whole = best(10, || check(&load(&io, &places, &paths, None).0, Depth::Types, None).findings.len());
    let reading =
        best(10, || texts.iter().map(|text| text.bytes().filter(|byte| *byte == b'\n').count()).sum::<usize>());
    let parsing = best(5, || texts.iter().map(|text| parse(FileId(0), text).tree.entries.len()).sum::<usize>());
    let loading = best(5, || load(&io, &places, &paths, None).0.parsed.len());
    let checking = best(5, || check(&loaded, Depth::Types, None).findings.len());
    let formatting = best(3, || format_all(&loaded));
    show("count lines", reading, parsing);
    show("parse, one thread", parsing, parsing);
    show("load (read, parse, follow `use`)", loading, parsing);
    show("check names, units and types", checking, parsing);
    show("load and check, from end to end", whole, parsing);
    show("format check", formatting, parsing);
    let found = check(&loaded, Depth::Types, None).findings;
    assert!(found.is_empty(), "the generated library has findings: {:?}", found.first());

    let small = [PathBuf::from("/library/recipes/r0.withy")];
    let one = best(50, || check(&load(&io, &places, &small, None).0, Depth::Types, None).findings.len());
    show("load and check one file and what it uses", one, parsing);
    for lines in [1000, 5000] {
        typing(lines);
    }
}

/// How long an edit of one file takes, from its new text to what syntax, names and types have against it.
fn typing(lines: usize) {
    let path = PathBuf::from("/library/recipes/all.withy");
    let mut texts: Vec<(PathBuf, String)> = library().into_iter().take(2).collect();
    let mut text = String::from("language 1\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/first.withy\"\n");
    for file in 0.. {
        if text.lines().count() >= lines {
            break;
        }
        text.push_str(&recipes(file));
    }
    texts.push((path.clone(), text.clone()));
    let io = Memory::new(texts);
    let places = Places { root: PathBuf::from("/library"), shown_from: PathBuf::from("/library") };
    let (mut session, _) = Session::open(&io, places, vec![path.clone()]);
    session.check(&io);
    // One digit of a heat time after the other, all over the file, is typed and taken back.
    let places: Vec<usize> = text.match_indices("heat 150 s").map(|(at, _)| at + 7).collect();
    let mut times: Vec<Duration> = Vec::new();
    for step in 0..200 {
        let at = places[step / 2 * 37 % places.len()];
        if step % 2 == 0 {
            text.insert(at, '5');
        } else {
            text.remove(at);
        }
        let start = Instant::now();
        session.edit(&path, &text);
        std::hint::black_box(session.check(&io).len());
        times.push(start.elapsed());
    }
    times.sort();
    let ms = |part: usize| times[times.len() * part / 100].as_secs_f64() * 1e3;
    println!("a keystroke in {lines} lines: median {:.3} ms, p99 {:.3} ms", ms(50), ms(99));
}

/// Bytes that the program holds in memory, where the system tells.
fn resident() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"))?;
    Some(line.split_whitespace().next()?.parse::<u64>().ok()? * 1024)
}

fn format_all(loaded: &Loaded) -> usize {
    let texts = loaded.files.iter().zip(&loaded.parsed);
    texts.filter(|((id, file), parsed)| format(*id, file.text(), parsed).is_ok_and(|text| text == file.text())).count()
}

fn best<T>(runs: usize, mut work: impl FnMut() -> T) -> Duration {
    let once = |_| {
        let start = Instant::now();
        std::hint::black_box(work());
        start.elapsed()
    };
    (0..runs).map(once).min().unwrap_or_default()
}

fn show(name: &str, time: Duration, against: Duration) {
    let ratio = time.as_secs_f64() / against.as_secs_f64().max(1e-9);
    println!("{name:<42} {:>9.3} ms   {ratio:>7.3} × parsing", time.as_secs_f64() * 1e3);
}

/// A bench, a stock file, and recipe files of about 100 lines: three parts and three recipes each.
fn library() -> Vec<(PathBuf, String)> {
    let mut files = vec![
        (PathBuf::from("/library/stock/acrylic.withy"), include_str!("../src/cli/start/acrylic.withy").to_owned()),
        (PathBuf::from("/library/bench/first.withy"), include_str!("../src/cli/start/first.withy").to_owned()),
    ];
    for file in 0..FILES {
        let head = "language 1\n\nuse \"../stock/acrylic.withy\"\nuse \"../bench/first.withy\"\n";
        files.push((PathBuf::from(format!("/library/recipes/r{file}.withy")), format!("{head}{}", recipes(file))));
    }
    files
}

/// Three parts and three recipes.
fn recipes(file: usize) -> String {
    let mut text = String::new();
    for part in 0..3 {
        let (wall, floor) = (40 + file % 60, 80 + part * 15);
        let _ = write!(
            text,
            "\n## A tray for box {file}, shelf {part}.\npart tray_{file}_{part}(wall: length = {wall} mm) {{\n  \
                 sheet clear_3\n  width {width} mm\n  good outside\n  profile outside {{\n    leg wall within 1 mm\n    \
                 bend up 90 deg within 1 deg radius 6 mm as front\n    leg {floor} mm within 0.5 mm\n    \
                 bend up 90 deg radius 6 mm as back\n    leg wall - 5 mm\n    bend down 45 deg radius 6 mm as lip\n    \
                 leg 18 mm\n  }}\n}}\n\n## How it is made.\nrecipe tray_{file}_{part}_run for \
                 tray_{file}_{part}(wall = {wall} mm) on first {{\n  ambient 18..27 degC\n  every bend {{\n    heat 150 s\n    \
                 transfer 3 s\n    set 160 s\n  }}\n  bend lip {{ heat 145 s, set 2 min + 10 s }}\n  \
                 order lip then front then back\n\n  expect cycle_time <= 25 min\n  \
                 expect blank.length within 100..900 mm\n}}\n",
            width = 120 + file % 90,
        );
    }
    text
}
