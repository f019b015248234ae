use crate::cli::arguments::RulesArguments;
use crate::cli::exit::Exit;
use crate::cli::output::print;
use crate::library::{rule_list, rule_page};

/// `withy rules`
pub fn run(arguments: &RulesArguments) -> Exit {
    let Some(name) = &arguments.name else { return print(&rule_list()) };
    match rule_page(name) {
        Ok(page) => print(&page),
        Err(why) => {
            eprintln!("withy: {why}");
            Exit::WrongUse
        }
    }
}
