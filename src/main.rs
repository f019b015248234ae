//! The `withy` command.

use std::path::PathBuf;

use withy::library::{Disk, check, load, plain};
use withy::report::{summary, terminal};

fn main() {
    let paths: Vec<PathBuf> = std::env::args().skip(1).map(PathBuf::from).collect();
    let root = std::env::current_dir().unwrap_or_default();
    let paths: Vec<PathBuf> = paths.iter().map(|path| plain(&root.join(path))).collect();
    let (loaded, unreadable) = load(&Disk, root.parent().unwrap_or(&root), &paths, None);
    for file in unreadable {
        println!("{}: {}", file.path, file.why);
    }
    let checked = check(&loaded);
    print!("{}", terminal::render(&checked.findings, &loaded.files, terminal::Colour::Off));
    println!("{}", summary(&checked.findings, loaded.asked.len()));
}
