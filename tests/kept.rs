//! Solved bends that are kept between runs: they change nothing but the time a run takes.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use crate::binary::{files_below, started};

/// What becomes of a file.
type Damage = fn(&[u8]) -> Vec<u8>;

fn lint(library: &Path, cache: &str, threads: &str, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_withy"));
    command.args(["lint", "--report", "json"]).args(arguments).current_dir(library);
    command.envs([("WITHY_CACHE", cache), ("RAYON_NUM_THREADS", threads)]).stdin(Stdio::null());
    command
}

fn told(mut command: Command) -> String {
    let output = command.output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn kept(cache: &Path) -> Vec<PathBuf> {
    files_below(cache).into_iter().map(|name| cache.join(name)).collect()
}

#[test]
fn neither_threads_nor_kept_bends_change_a_byte() {
    let library = started();
    let cache = tempfile::tempdir().unwrap();
    let path = cache.path().to_str().unwrap();
    let plain = told(lint(library.path(), "off", "1", &[]));
    assert!(plain.contains("unproved-window"), "{plain}");
    assert_eq!(told(lint(library.path(), "off", "4", &[])), plain);
    assert_eq!(told(lint(library.path(), path, "4", &[])), plain, "while they are written");
    assert!(!kept(cache.path()).is_empty());
    assert_eq!(told(lint(library.path(), path, "1", &[])), plain, "from what is kept");
    assert_eq!(told(lint(library.path(), path, "2", &["--no-cache"])), plain);
}

#[test]
fn what_is_kept_is_read_and_not_computed_again() {
    let library = started();
    let cache = tempfile::tempdir().unwrap();
    let path = cache.path().to_str().unwrap();
    let plain = told(lint(library.path(), path, "2", &[]));
    let files = kept(cache.path());
    let dates = || files.iter().map(|file| fs::metadata(file).unwrap().modified().unwrap()).collect::<Vec<_>>();
    let before = dates();
    assert_eq!(told(lint(library.path(), path, "2", &[])), plain);
    assert_eq!(dates(), before, "nothing was written anew");
    // With another thickness it is another bend.
    let stock = library.path().join("stock/acrylic.withy");
    let text = fs::read_to_string(&stock).unwrap();
    fs::write(&stock, text.replace("thickness 3 mm", "thickness 3.1 mm ± 0.1 mm")).unwrap();
    assert_ne!(told(lint(library.path(), path, "2", &[])), plain);
    assert!(kept(cache.path()).len() > files.len());
}

#[test]
fn damaged_and_foreign_files_are_ignored() {
    let library = started();
    let cache = tempfile::tempdir().unwrap();
    let path = cache.path().to_str().unwrap();
    let plain = told(lint(library.path(), path, "2", &[]));
    let files = kept(cache.path());
    let whole: Vec<Vec<u8>> = files.iter().map(|file| fs::read(file).unwrap()).collect();
    let damages: [Damage; 4] = [
        |bytes| bytes[..bytes.len() / 2].to_vec(),
        |bytes| bytes.iter().map(|byte| !byte).collect(),
        |_| Vec::new(),
        |_| vec![7; 5_000_000],
    ];
    for damage in damages {
        for (file, bytes) in files.iter().zip(&whole) {
            fs::write(file, damage(bytes)).unwrap();
        }
        assert_eq!(told(lint(library.path(), path, "2", &[])), plain);
        for (file, bytes) in files.iter().zip(&whole) {
            assert_eq!(&fs::read(file).unwrap(), bytes, "it is mended by the way");
        }
    }
    // A folder in place of a file, and a cache that is itself a file.
    fs::remove_file(&files[0]).unwrap();
    fs::create_dir(&files[0]).unwrap();
    assert_eq!(told(lint(library.path(), path, "2", &[])), plain);
    let file = library.path().join("withy.toml");
    assert_eq!(told(lint(library.path(), file.to_str().unwrap(), "2", &[])), plain);
}

#[test]
fn runs_at_once_share_what_they_keep() {
    let library = started();
    let cache = tempfile::tempdir().unwrap();
    let path = cache.path().to_str().unwrap();
    let plain = told(lint(library.path(), "off", "1", &[]));
    let start = |_| lint(library.path(), path, "2", &[]).stdout(Stdio::piped()).spawn().unwrap();
    let runs: Vec<Child> = (0..6).map(start).collect();
    for run in runs {
        let output = run.wait_with_output().unwrap();
        assert_eq!(String::from_utf8(output.stdout).unwrap(), plain);
    }
    assert!(files_below(cache.path()).iter().all(|name| !name.contains("tmp")));
    assert_eq!(told(lint(library.path(), path, "1", &[])), plain);
}
