//! The controller's C, built for this machine, and talked to over a pipe.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};

use withy::program::Machine;

use crate::bench::{Action, Answer, Tick};

/// How many files of cases are kept: a reduced run has fewer.
const MOST_KEPT: usize = 120;

/// The bytes of a controller's own constants, as in `controller/src/image.h`.
pub fn machine_bytes(machine: &Machine) -> Vec<u8> {
    let count = |length: usize| u8::try_from(length).unwrap();
    let mut bytes = vec![
        machine.operators,
        count(machine.outputs.len()),
        count(machine.inputs.len()),
        count(machine.supplies.len()),
    ];
    for output in &machine.outputs {
        bytes.extend([output.pin, output.role.number(), output.switch.number(), output.supply]);
        bytes.extend(output.longest.to_le_bytes());
        bytes.extend(output.draw.to_le_bytes());
    }
    for input in &machine.inputs {
        let flags = u8::from(input.normally_closed);
        bytes.extend([input.pin, input.role.number(), input.role.subject(), flags, input.debounce]);
    }
    for supply in &machine.supplies {
        bytes.extend(supply.to_le_bytes());
    }
    bytes
}

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Compiles one of the programs of `controller/pc` as strict C99, without a warning, and without the files `but`. What
/// is run has sanitizers: a read or write astray, or undefined arithmetic, ends it.
pub fn build(name: &str, but: &[&str]) -> PathBuf {
    let to = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let mut sources: Vec<PathBuf> = std::fs::read_dir(root().join("controller/src"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "c"))
        .filter(|path| !but.iter().any(|but| path.ends_with(but)))
        .collect();
    sources.sort();
    sources.push(root().join(format!("controller/pc/{name}.c")));
    let compile = |arguments: &[&str]| {
        let mut cc = Command::new("cc");
        cc.args(["-std=c99", "-pedantic", "-DWT_RING=1024"]).args(arguments).args(&sources).arg("-o").arg(&to);
        let output = cc.output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    };
    // Strictly first; then once more with sanitizers, whose rewriting alone brings warnings of conversions.
    compile(&["-O2", "-Wall", "-Wextra", "-Wconversion", "-Werror"]);
    // The address sanitizer of some compilers falls over by itself, now and then, on kernels that place memory very much
    // at random: it is for the long run.
    let deep = std::env::var_os("WITHY_DEEP").is_some();
    let sanitizers = if deep { "-fsanitize=address,undefined" } else { "-fsanitize=undefined" };
    compile(&["-O1", "-g", sanitizers, "-fno-sanitize-recover=all"]);
    to
}

/// The program that runs cases.
pub fn replay() -> &'static Path {
    static BUILT: OnceLock<PathBuf> = OnceLock::new();
    BUILT.get_or_init(|| build("replay", &["loader.c"]))
}

/// One case for the C.
pub struct Case<'a> {
    pub machine: &'a Machine,
    pub image: &'a [u8],
    pub script: &'a [Tick],
}

impl Case<'_> {
    fn write(&self, to: &mut Vec<u8>) {
        let machine = machine_bytes(self.machine);
        to.extend(u16::try_from(machine.len()).unwrap().to_le_bytes());
        to.extend(machine);
        to.extend(self.machine.bench.to_le_bytes());
        to.extend(self.machine.space.to_le_bytes());
        to.extend(u32::try_from(self.image.len()).unwrap().to_le_bytes());
        to.extend(self.image);
        to.extend(u16::try_from(self.script.len()).unwrap().to_le_bytes());
        for tick in self.script {
            let (action, place, flip) = match tick.action {
                Action::None => (0, 0, 0),
                Action::FlipImage { place, flip } => (1, place, u16::from(flip)),
                Action::FlipLimit { place, flip } => (2, place, flip),
                Action::PowerCut => (3, 0, 0),
            };
            to.push(action);
            to.extend(place.to_le_bytes());
            to.extend(flip.to_le_bytes());
            to.extend(tick.now.to_le_bytes());
            to.extend(tick.contacts.to_le_bytes());
        }
    }
}

/// What the C answers to a case: the reason of a refusal (0: none) and its place, then each tick, as bytes.
pub fn expected(refusal: Option<(u8, u16)>, answers: &[Answer]) -> Vec<u8> {
    let (reason, offset) = refusal.unwrap_or((0, 0));
    let mut bytes = vec![reason];
    bytes.extend(offset.to_le_bytes());
    for answer in answers {
        bytes.extend([answer.outputs, answer.state, u8::try_from(answer.events.len()).unwrap()]);
        bytes.extend(answer.heat.to_le_bytes());
        for event in &answer.events {
            bytes.extend(event.time.to_le_bytes());
            bytes.push(event.lane);
            bytes.extend(event.step.to_le_bytes());
            bytes.push(event.kind.number());
            bytes.extend(event.detail.to_le_bytes());
        }
    }
    bytes
}

/// Lets the C run cases, one after the other.
pub fn run(cases: &[Case<'_>]) -> Vec<u8> {
    let mut input = Vec::new();
    for case in cases {
        case.write(&mut input);
    }
    let kept = std::env::var_os("WITHY_CASES").map(|_| input.clone()).unwrap_or_default();
    let mut child = Command::new(replay()).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    let writer = std::thread::spawn(move || to.write_all(&input));
    let output = child.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(output.status.success(), "the C stopped with {}", output.status);
    if let Some(folder) = std::env::var_os("WITHY_CASES") {
        keep(Path::new(&folder), &kept, &output.stdout);
    }
    output.stdout
}

/// Keeps some cases and their answers for the checks of the C (`controller/checks/run`). The answers are compared with
/// those of the other implementation by whoever asked.
fn keep(folder: &Path, cases: &[u8], answers: &[u8]) {
    static KEPT: AtomicUsize = AtomicUsize::new(0);
    let number = KEPT.fetch_add(1, Ordering::Relaxed);
    if number < MOST_KEPT {
        std::fs::create_dir_all(folder).unwrap();
        std::fs::write(folder.join(format!("{number:03}.cases")), cases).unwrap();
        std::fs::write(folder.join(format!("{number:03}.answers")), answers).unwrap();
    }
}
