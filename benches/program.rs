//! Timing programs: how fast the interpreter ticks, here and in the controller's C; how long each example takes from its
//! text to its image; and how large the images are.
//!
//! `cargo bench --bench program`. Needs a C compiler (`cc`).

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use withy::program::{Controller, InputRole, Machine, verify};

const TICKS: u32 = 2_000_000;

fn main() -> io::Result<()> {
    let folder = tempfile::tempdir()?;
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut examples: Vec<PathBuf> = fs::read_dir(root.join("examples/recipes"))?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<Result<_, _>>()?;
    examples.sort();
    let mut images: BTreeMap<String, Vec<u8>> = BTreeMap::new();
    println!("| example | text to image, ms | images |\n|---|---|---|");
    for path in &examples {
        let Some(name) = path.file_stem().and_then(|name| name.to_str()) else { continue };
        let took = compile(root, path, folder.path())?;
        let made = programs(&folder.path().join(name))?;
        let sizes: Vec<String> = made.iter().map(|(name, image)| format!("{name} {} bytes", image.len())).collect();
        println!("| {name} | {:.0} | {} |", took.as_secs_f64() * 1000.0, sizes.join(", "));
        images.extend(made);
    }
    if images.is_empty() {
        return Err(io::Error::other("no example has a program"));
    }
    let c = build(root, folder.path())?;
    println!("\n| image | bytes | ticks a second, Rust | C | C is faster by |\n|---|---|---|---|---|");
    for (name, image) in &images {
        let file = folder.path().join("image");
        fs::write(&file, image)?;
        let Ok(verified) = verify(image, None) else { return Err(io::Error::other("an image is refused")) };
        let machine = verified.layout.machine;
        let (contacts, changing) = contacts(&machine);
        let (took, sum) = ticks(machine, image, contacts, changing)?;
        let (took_there, sum_there) = ticks_there(&c, &file, contacts, changing)?;
        if sum != sum_there {
            return Err(io::Error::other(format!("{name}: the outputs differ")));
        }
        let rate = |took: f64| f64::from(TICKS) / took / 1e6;
        let (here, there) = (rate(took), rate(took_there));
        println!("| {name} | {} | {here:.1} million | {there:.1} million | {:.2} |", image.len(), there / here);
    }
    Ok(())
}

fn compile(root: &Path, path: &Path, out: &Path) -> io::Result<Duration> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_withy"));
    command.args(["compile", "--no-cache", "--report", "short", "--out"]).arg(out).arg(path).current_dir(root);
    let start = Instant::now();
    let output = command.stdin(Stdio::null()).output()?;
    let took = start.elapsed();
    if !output.status.success() {
        return Err(io::Error::other(format!("{}: {}", path.display(), String::from_utf8_lossy(&output.stderr))));
    }
    Ok(took)
}

/// The images in an output folder, by the names of what they make.
fn programs(out: &Path) -> io::Result<BTreeMap<String, Vec<u8>>> {
    let mut images = BTreeMap::new();
    for entry in fs::read_dir(out)? {
        let entry = entry?;
        let file = entry.path().join("program.wtp");
        if file.is_file() {
            images.insert(entry.file_name().to_string_lossy().into_owned(), fs::read(file)?);
        }
    }
    Ok(images)
}

fn build(root: &Path, folder: &Path) -> io::Result<PathBuf> {
    let to = folder.join("ticks");
    let mut cc = Command::new("cc");
    cc.args(["-std=c99", "-O2"]).arg(root.join("benches/ticks.c"));
    cc.args(["crc", "image", "verify", "run", "lanes"].map(|part| root.join(format!("controller/src/{part}.c"))));
    let output = cc.arg("-o").arg(&to).output()?;
    if !output.status.success() {
        return Err(io::Error::other(String::from_utf8_lossy(&output.stderr).into_owned()));
    }
    Ok(to)
}

/// Contacts of a bench at rest, and those that change when start is pressed.
fn contacts(machine: &Machine) -> (u16, u16) {
    let (mut contacts, mut changing) = (0, 0);
    for (index, input) in machine.inputs.iter().enumerate() {
        let active = matches!(input.role, InputRole::Home(_) | InputRole::Guard);
        contacts |= u16::from(active != input.normally_closed) << index;
        changing |= u16::from(input.role == InputRole::Start) << index;
    }
    (contacts, changing)
}

/// Seconds, and a sum over all outputs.
fn ticks(machine: Machine, image: &[u8], contacts: u16, changing: u16) -> io::Result<(f64, u32)> {
    let space = u16::MAX;
    let mut controller = Controller::new(Machine { space, ..machine });
    controller.load(image).map_err(|refusal| io::Error::other(format!("{refusal:?}")))?;
    let mut sum = 0_u32;
    let start = Instant::now();
    for tick in 0..TICKS {
        let now = if (tick / 500).is_multiple_of(2) { contacts } else { contacts ^ changing };
        sum = sum.wrapping_mul(31).wrapping_add(u32::from(controller.tick(tick, now)));
        if tick % 1000 == 0 {
            drop(controller.take_events());
        }
    }
    Ok((start.elapsed().as_secs_f64(), sum))
}

fn ticks_there(program: &Path, image: &Path, contacts: u16, changing: u16) -> io::Result<(f64, u32)> {
    let output = Command::new(program)
        .arg(image)
        .args([TICKS.to_string(), contacts.to_string(), changing.to_string()])
        .output()?;
    let text = String::from_utf8_lossy(&output.stdout);
    let mut words = text.split_whitespace();
    let took = words.next().and_then(|word| word.parse().ok());
    let sum = words.next().and_then(|word| word.parse().ok());
    took.zip(sum).ok_or_else(|| io::Error::other(String::from_utf8_lossy(&output.stderr).into_owned()))
}
