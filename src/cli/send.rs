use std::fmt::Write as _;
use std::io::{IsTerminal, Read, Write};
use std::time::Duration;

use serialport::SerialPort;

use crate::cli::arguments::SendArguments;
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::library::{Client, Line, NotSent, event_line, hexadecimal, image_of};

/// How long reading waits for the next bytes.
const MOMENT: Duration = Duration::from_millis(100);

/// `withy send`
pub fn run(arguments: &SendArguments) -> Exit {
    let image = match &arguments.file {
        None => None,
        Some(file) => match std::fs::read(file) {
            Err(error) => {
                eprintln!("withy: `{}` cannot be read: {error}", file.display());
                return Exit::Unreadable;
            }
            Ok(bytes) => match image_of(&bytes) {
                Ok(image) => Some(image),
                Err(why) => {
                    eprintln!("withy: `{}` is no timing program: {why}", file.display());
                    return Exit::Findings;
                }
            },
        },
    };
    let port = serialport::new(arguments.port.as_str(), arguments.speed).timeout(MOMENT).open();
    let mut port = match port {
        Ok(port) => Port(port),
        Err(error) => {
            eprintln!("withy: the port `{}` cannot be opened: {error}", arguments.port);
            eprintln!("{}", what_to_do(&error));
            return Exit::Unreadable;
        }
    };
    match talk(&mut port, image.as_deref(), arguments.log) {
        Ok(text) => print(&text),
        Err(error) => {
            eprintln!("withy: {error}");
            // What is wrong with the program is a finding; what is wrong with the line is not.
            if matches!(error, NotSent::Line(_) | NotSent::BrokenOff(..)) { Exit::Unreadable } else { Exit::Findings }
        }
    }
}

/// What helps somebody whose port cannot be opened.
fn what_to_do(error: &serialport::Error) -> String {
    if matches!(error.kind(), serialport::ErrorKind::Io(std::io::ErrorKind::PermissionDenied)) {
        return "You may not use it: ask whoever looks after this computer (on many systems, for the group `dialout`)."
            .to_owned();
    }
    let ports = serialport::available_ports().unwrap_or_default();
    if ports.is_empty() {
        return "This computer has no serial port: is the controller's adapter plugged in?".to_owned();
    }
    let names: Vec<String> = ports.into_iter().map(|port| format!("`{}`", port.port_name)).collect();
    format!(
        "Ports of this computer: {}. Is the controller's adapter plugged in, and nothing else using it?",
        names.join(", ")
    )
}

/// What a controller is doing, by its number.
fn doing(state: u8) -> &'static str {
    match state {
        0 => "tries its switches",
        1 => "waits for a press on start",
        2 => "runs its program",
        3 => "reports a fault until somebody acknowledges it at the bench",
        4 => "checks its heaters",
        _ => "does something unknown",
    }
}

fn talk(line: &mut dyn Line, image: Option<&[u8]>, log: bool) -> Result<String, NotSent> {
    let mut client = Client::new(line);
    let mut text = String::new();
    if let Some(image) = image {
        let shows = std::io::stderr().is_terminal();
        client.send(image, |sent| {
            if shows {
                eprint!("\rsent {sent} of {} bytes", image.len());
            }
        })?;
        if shows {
            eprintln!();
        }
        text.push_str("loaded, and read back the same\n");
    }
    let hello = client.hello()?;
    let _ = writeln!(text, "bench {:08x}, wiring {:08x}, room for {} bytes", hello.bench, hello.wiring, hello.space);
    let _ = writeln!(text, "it {}", doing(hello.state));
    match &hello.loaded {
        Some((digest, name)) => {
            let _ = writeln!(text, "holds `{name}`, digest {}", hexadecimal(digest));
        }
        None => text.push_str("holds no program\n"),
    }
    if log {
        for event in client.log()? {
            let _ = writeln!(text, "{}", event_line(event));
        }
    }
    if image.is_some() {
        text.push_str("It starts when somebody presses start at the bench, and not before.\n");
    }
    Ok(text)
}

struct Port(Box<dyn SerialPort>);

impl Line for Port {
    fn send(&mut self, bytes: &[u8]) -> Result<(), String> {
        self.0.write_all(bytes).and_then(|()| self.0.flush()).map_err(|error| error.to_string())
    }

    fn receive(&mut self) -> Result<Vec<u8>, String> {
        let mut bytes = [0; 256];
        match self.0.read(&mut bytes) {
            Ok(count) => Ok(bytes.get(..count).unwrap_or_default().to_vec()),
            Err(error) if error.kind() == std::io::ErrorKind::TimedOut => Ok(Vec::new()),
            Err(error) => Err(error.to_string()),
        }
    }
}
