//! A home folder with nothing in it but what the steps of `editors/README.md` put there, and a library to work in.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

use crate::at;

/// A person's home, with `withy` on the path.
pub struct Home {
    folder: TempDir,
    /// Where the copied examples lie.
    pub library: PathBuf,
}

impl Home {
    /// A home in which the steps for these editors have been followed.
    pub fn with(editors: &[&str]) -> Self {
        let folder = TempDir::new().unwrap();
        let library = folder.path().join("library");
        for part in ["bench", "parts", "recipes", "stock"] {
            copy(&at("examples").join(part), &library.join(part));
        }
        std::fs::copy(at("examples/withy.toml"), library.join("withy.toml")).unwrap();
        std::fs::create_dir_all(folder.path().join("bin")).unwrap();
        std::os::unix::fs::symlink(env!("CARGO_BIN_EXE_withy"), folder.path().join("bin/withy")).unwrap();
        let home = Self { folder, library };
        for editor in editors {
            let output = home.command("sh").args(["-e", "-c", &steps(editor)]).current_dir(at("")).output().unwrap();
            assert!(output.status.success(), "the steps for {editor}: {}", shown(&output));
        }
        home
    }

    /// A program, as the person of this home starts it in the library.
    pub fn command(&self, program: &str) -> Command {
        let path = std::env::var("PATH").unwrap_or_default();
        let mut command = Command::new(program);
        command
            .current_dir(&self.library)
            .env("HOME", self.folder.path())
            .env("PATH", format!("{}:{path}", self.folder.path().join("bin").display()))
            .env("LANG", "C.UTF-8")
            .env("TERM", "dumb");
        for variable in ["XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"] {
            command.env_remove(variable);
        }
        command
    }

    /// The text of a file of the library.
    pub fn text(&self, path: &str) -> String {
        std::fs::read_to_string(self.library.join(path)).unwrap()
    }
}

/// The commands that `editors/README.md` gives for an editor.
pub fn steps(editor: &str) -> String {
    let page = std::fs::read_to_string(at("editors/README.md")).unwrap();
    let fence = format!("```sh {editor}\n");
    let from =
        page.find(&fence).unwrap_or_else(|| panic!("editors/README.md gives no steps for {editor}")) + fence.len();
    let length = page[from..].find("```").unwrap();
    page[from..from + length].to_owned()
}

/// What a program said, for the message of a test.
pub fn shown(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    format!("{}\n{}{}", output.status, text(&output.stdout), text(&output.stderr))
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
}
