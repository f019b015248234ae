//! Builds what is tested: programs by the compiler, firmware for their bench, and the bench around the chip.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Mutex, OnceLock};

use withy::program::{Machine, verify};

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn temporary() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("avr")
}

fn succeeds(command: &mut Command) -> String {
    let output = command.output().unwrap_or_else(|error| {
        panic!("{command:?} cannot be run: {error}. tests/run installs what these tests need.")
    });
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?} failed; tests/run installs what it needs.\n{text}{errors}");
    text
}

/// A recipe or batch of the examples, compiled.
#[derive(Clone)]
pub struct Program {
    pub image: Vec<u8>,
    /// What the image says of its machine; its own limits, and the space of the bench's controller.
    pub machine: Machine,
    /// The folder with its outputs.
    pub folder: PathBuf,
}

impl Program {
    /// Of a file in `examples/recipes`.
    pub fn of(file: &str, name: &str) -> Self {
        static COMPILED: OnceLock<PathBuf> = OnceLock::new();
        let out = COMPILED.get_or_init(|| {
            let out = temporary().join("out");
            let recipes = root().join("examples/recipes");
            succeeds(Command::new(env!("CARGO_BIN_EXE_withy")).arg("compile").arg(recipes).arg("--out").arg(&out));
            out
        });
        let folder = out.join(file).join(name);
        let image = std::fs::read(folder.join("program.wtp")).unwrap();
        let mut machine = verify(&image, None).unwrap().layout.machine;
        machine.space = 2048;
        Self { image, machine, folder }
    }

    /// Every program of the examples: file and name.
    pub fn all() -> Vec<(String, String)> {
        let mut all = Vec::new();
        let _ = Self::of("riser", "riser_run");
        for file in std::fs::read_dir(temporary().join("out")).unwrap() {
            let file = file.unwrap().path();
            for name in std::fs::read_dir(&file).unwrap() {
                let name = name.unwrap().path();
                if name.join("program.wtp").exists() {
                    let word = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
                    all.push((word(&file), word(&name)));
                }
            }
        }
        all.sort();
        all
    }

    /// The firmware for its bench, as an ELF file with the same in Intel HEX beside it.
    pub fn firmware(&self) -> PathBuf {
        firmware(&self.folder.join("machine.h"))
    }
}

/// The firmware that is built with a header. Each is built once.
pub fn firmware(header: &Path) -> PathBuf {
    static BUILT: Mutex<BTreeMap<String, PathBuf>> = Mutex::new(BTreeMap::new());
    let mut built = BUILT.lock().unwrap();
    let text = std::fs::read_to_string(header).unwrap();
    let number = built.len();
    built
        .entry(text)
        .or_insert_with(|| {
            let folder = temporary().join(format!("firmware{number}"));
            let own = folder.join("machine.h");
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::copy(header, &own).unwrap();
            let mut make = Command::new("make");
            make.arg("-C").arg(root().join("controller/avr"));
            make.arg(format!("MACHINE={}", own.display())).arg(format!("BUILD={}", folder.display()));
            succeeds(&mut make);
            folder.join("firmware.elf")
        })
        .clone()
}

/// What a tool of the chip's compiler says of a firmware.
pub fn asked(tool: &str, arguments: &[&str], elf: &Path) -> String {
    succeeds(Command::new(tool).args(arguments).arg(elf))
}

/// The first address behind everything that has a place of its own in memory: the stack may reach down to it.
pub fn stack_floor(elf: &Path) -> u32 {
    let symbols = asked("avr-nm", &[], elf);
    let end = symbols.lines().find(|line| line.ends_with(" _end")).unwrap();
    u32::from_str_radix(end.split_whitespace().next().unwrap(), 16).unwrap() & 0xFFFF
}

/// The bench around the chip.
pub fn host() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| {
        std::fs::create_dir_all(temporary()).unwrap();
        let to = temporary().join("host");
        let mut cc = Command::new("cc");
        cc.args(["-O2", "-Wall", "-Wextra"]).arg(root().join("tests/avr/host.c")).arg("-o").arg(&to);
        succeeds(cc.args(["-lsimavr", "-lelf"]));
        to
    })
}
