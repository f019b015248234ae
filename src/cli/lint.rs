use crate::cli::arguments::LintArguments;
use crate::cli::exit::Exit;
use crate::cli::output::{outcome, print, report, to_terminal};
use crate::cli::paths::open;
use crate::library::{Depth, Disk, check, offer_uses};
use crate::types::Date;

/// `withy lint`
pub fn run(arguments: &LintArguments) -> Exit {
    let (loaded, exit) = match open(&arguments.paths) {
        Ok(opened) => opened,
        Err(exit) => return exit,
    };
    let today = arguments.today.or_else(system_date);
    let mut checked = check(&loaded, Depth::Full, today);
    offer_uses(&Disk, &loaded, &mut checked);
    let printed = print(&report(&loaded, &checked, arguments.report.report, to_terminal()));
    outcome(&checked, &arguments.report).max(exit).max(printed)
}

/// The day by the system's clock, in UTC; only `lint` ever asks for it.
fn system_date() -> Option<Date> {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).ok()?;
    Date::from_days_since_1970(since.as_secs() / 86_400)
}
