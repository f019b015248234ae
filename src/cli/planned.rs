use std::path::PathBuf;
use std::slice;

use crate::cli::aids::Aids;
use crate::cli::exit::Exit;
use crate::cli::paths::open;
use crate::library::{Checked, Depth, Loaded, Purpose, check_with};

/// One file, read and planned with what it uses; otherwise how the command ends.
pub fn planned(file: &PathBuf, no_cache: bool) -> Result<(Loaded, Checked), Exit> {
    let opened = open(slice::from_ref(file), Purpose::Targets)?;
    if opened.exit != Exit::Clean {
        return Err(opened.exit);
    }
    let checked = check_with(&opened.loaded, Depth::Full, None, &Aids::new(no_cache).aid());
    Ok((opened.loaded, checked))
}
