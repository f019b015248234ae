use std::io::Read;

use crate::cli::arguments::ListingArguments;
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::library::{image_of, program_listing};

/// `withy listing`
pub fn run(arguments: &ListingArguments) -> Exit {
    let mut bytes = Vec::new();
    let read = if arguments.file.as_os_str() == "-" {
        std::io::stdin().read_to_end(&mut bytes).map(drop)
    } else {
        std::fs::read(&arguments.file).map(|read| bytes = read)
    };
    if let Err(error) = read {
        eprintln!("withy: `{}` cannot be read: {error}", arguments.file.display());
        return Exit::Unreadable;
    }
    let image = match image_of(&bytes) {
        Ok(image) => image,
        Err(why) => {
            eprintln!("withy: `{}` is no timing program: {why}", arguments.file.display());
            return Exit::Findings;
        }
    };
    let (text, safe) = program_listing(&image);
    let exit = if safe { Exit::Clean } else { Exit::Findings };
    exit.max(print(&text))
}
