use std::path::Path;

use crate::cli::arguments::StartArguments;
use crate::cli::exit::Exit;
use crate::cli::files::replace;
use crate::cli::output::print;

/// The files of a new library.
const FILES: [(&str, &str); 7] = [
    ("withy.toml", include_str!("start/withy.toml")),
    ("stock/acrylic.withy", include_str!("start/acrylic.withy")),
    ("bench/first.withy", include_str!("start/first.withy")),
    ("parts/tray.withy", include_str!("start/tray.withy")),
    ("recipes/tray.withy", include_str!("start/tray_recipe.withy")),
    ("check", include_str!("start/check")),
    (".gitignore", "/out/\n"),
];

/// `withy start`
pub fn run(arguments: &StartArguments) -> Exit {
    let folder = &arguments.folder;
    if folder.as_os_str() == "-" {
        eprintln!("withy: `-` is no folder; to make one of that name, write `./-`");
        return Exit::WrongUse;
    }
    let there: Vec<&str> = FILES.iter().map(|file| file.0).filter(|name| folder.join(name).exists()).collect();
    if !there.is_empty() {
        eprintln!("withy: `{}` already holds {}; nothing was written", folder.display(), there.join(", "));
        return Exit::WrongUse;
    }
    for (name, text) in FILES {
        let path = folder.join(name);
        if let Err(why) = replace(&path, text).and_then(|()| make_runnable(&path, name)) {
            eprintln!("withy: {why}");
            return Exit::Unreadable;
        }
    }
    let names: Vec<&str> = FILES.iter().map(|file| file.0).collect();
    let go = if folder == Path::new(".") { String::new() } else { format!("cd {} && ", folder.display()) };
    print(&format!(
        "written: {}\n\nNext:\n  {go}withy compile recipes/tray.withy\n\nThen change bench/first.withy into your own \
         bench, and stock/acrylic.withy into your own sheet. Messages tell what is missing.\n",
        names.join(", ")
    ))
}

/// The check is a script that CI runs.
fn make_runnable(path: &Path, name: &str) -> Result<(), String> {
    #[cfg(unix)]
    if name == "check" {
        use std::os::unix::fs::PermissionsExt;
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o755))
            .map_err(|error| format!("`{}` cannot be made runnable: {error}", path.display()))?;
    }
    let _ = (path, name);
    Ok(())
}
