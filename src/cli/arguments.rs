use std::path::PathBuf;

use clap::{Args, ColorChoice, Parser, Subcommand, ValueEnum};

use crate::library::{FAULTS, Fault, trouble};
use crate::report::Class;
use crate::types::Date;

/// Check and compile bend recipes for line benders you build yourself.
#[derive(Debug, Parser)]
#[command(name = "withy", version, after_help = EXIT_CODES, max_term_width = 100, color = ColorChoice::Never)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
}

const EXIT_CODES: &str = "Exit codes: 0 clean, 1 findings, 2 wrong use, 3 could not read or write, 70 a fault of withy.\n\
The figures are estimates until confirmed by trial strips on the actual bench. They never replace local codes, \
the sheet maker's data or licensed practice.";

#[derive(Debug, Subcommand)]
pub enum Command {
    Catalogue(CatalogueArguments),
    Compare(CompareArguments),
    Compile(CompileArguments),
    Completions(CompletionsArguments),
    Figures(FiguresArguments),
    Format(FormatArguments),
    LanguageServer(LanguageServerArguments),
    Lint(LintArguments),
    Listing(ListingArguments),
    /// Print the man page
    Manual,
    /// Print the language reference
    Reference,
    Rehearse(RehearseArguments),
    Rules(RulesArguments),
    Send(SendArguments),
    Start(StartArguments),
}

/// Compute step tables and write them out
///
/// Checks the files and what they use, prints the step table of each recipe and batch they declare, and writes
/// `steps.csv`, `steps.json`, the timing program, `figures.json` and a curve for each bend to a folder for each. Nothing is written for a recipe with an error or a danger.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  withy compile recipes/dust_cover.withy\n  withy compile --out build recipes/")]
pub struct CompileArguments {
    /// Files or folders; `-` reads from standard input [default: the targets in `withy.toml`]
    pub paths: Vec<PathBuf>,
    /// Folder to write to
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,
    /// Compute every bend anew, and keep nothing for the next run
    #[arg(long)]
    pub no_cache: bool,
    #[command(flatten)]
    pub report: ReportArguments,
}

/// Run the timing program of a recipe or batch on a simulated bench
///
/// The very bytes that `compile` writes are run, tick by tick, with simulated wires, shields, sheet and supply, and a person
/// who does what the calls ask as the schedule has it. Faults can be chosen. Tells when the sheet was outside its window, a
/// heater beyond its limit or a supply overloaded, and then ends with 1. It never starts anything real.
#[derive(Debug, Args)]
#[command(after_help = rehearse_help())]
pub struct RehearseArguments {
    /// The file that declares the recipe or batch; `-` reads from standard input
    pub file: PathBuf,
    /// A recipe or batch; needed where the file declares several
    pub name: Option<String>,
    /// What goes wrong: a name of the list below, with an arm (`:ARM`) and the time after the start (`@TIME`) if wanted. Can
    /// be given several times
    #[arg(long = "fault", value_name = "NAME[:ARM][@TIME]", value_parser = trouble)]
    pub faults: Vec<Fault>,
    /// How many parts of a recipe are made; a batch is made whole
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u64).range(1..=1000))]
    pub parts: u64,
    /// Write the chart to this file, as SVG
    #[arg(long, value_name = "FILE")]
    pub chart: Option<PathBuf>,
    /// Compute every bend anew, and keep nothing for the next run
    #[arg(long)]
    pub no_cache: bool,
    /// How the rehearsal is reported
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub report: Form,
}

/// Examples, and every fault with what it means.
fn rehearse_help() -> String {
    let examples = "Examples:\n  withy rehearse recipes/dust_cover.withy\n  withy rehearse recipes/field_lab.withy --fault stop@20min --chart stop.svg\n  withy rehearse recipes/dust_cover.withy --fault late-hands --fault cold-room\n\nFaults; without a time they come in the middle of the first heat of a part:\n";
    let faults = FAULTS.iter().map(|(name, meaning, _)| format!("  {name:<14} {meaning}\n"));
    examples.to_owned() + faults.collect::<String>().trim_end()
}

/// Show what changes at the bench between two versions of a file
///
/// Compares recipes of the same name: times, settings and figures, not lines of text. Ends with 1 if anything changes.
#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  git show HEAD:recipes/dust_cover.withy > recipes/old.withy && withy compare recipes/old.withy recipes/dust_cover.withy"
)]
pub struct CompareArguments {
    /// The old version
    pub old: PathBuf,
    /// The new version
    pub new: PathBuf,
    /// Compute every bend anew, and keep nothing for the next run
    #[arg(long)]
    pub no_cache: bool,
    /// How the changes are shown
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub report: Form,
}

/// Show every number behind the bends of a recipe
///
/// Each figure with its bounds, the formula or model it comes from, and every input with its value, its bounds and
/// where it comes from: published, common practice, from memory, or without a published source.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  withy figures recipes/dust_cover.withy dust_cover_run front\n  withy figures --rows recipes/dust_cover.withy dust_cover_run\n  withy figures --report json recipes/field_lab.withy field_lab"
)]
pub struct FiguresArguments {
    /// The file that declares the recipe or batch; `-` reads from standard input
    pub file: PathBuf,
    /// A recipe or batch
    pub recipe: String,
    /// One bend, by its name or number; all without it
    pub bend: Option<String>,
    /// Add heat times by measured thickness, in rows of 0.1 mm, and by room temperature
    #[arg(long)]
    pub rows: bool,
    /// Compute every bend anew, and keep nothing for the next run
    #[arg(long)]
    pub no_cache: bool,
    /// How the figures are reported
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub report: Form,
}

/// List the materials, alloys and metals that ship with the compiler
///
/// With a name, every figure of it with its bounds, its source and the kind of that source.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  withy catalogue\n  withy catalogue cast_acrylic\n  withy catalogue --report json")]
pub struct CatalogueArguments {
    /// A material, alloy or metal; all without it
    pub name: Option<String>,
    /// How it is reported
    #[arg(long, value_enum, default_value_t = Form::Text)]
    pub report: Form,
}

/// A report that holds no findings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// For people
    Text,
    /// For programs; described by a published JSON Schema
    Json,
}

/// Check files without computing anything to be written
///
/// Reports faults of the text and findings of the rules, in the files given and in what they use.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  withy lint recipes/\n  withy lint --report json recipes/dust_cover.withy\n  withy lint --diff\n  withy lint --apply --apply=wrong-kind recipes/\n  withy lint --since origin/main\n  withy lint --baseline known.json --record .\n  cat new.withy | withy lint -"
)]
pub struct LintArguments {
    /// Files or folders; `-` reads from standard input [default: the sources in `withy.toml`]
    pub paths: Vec<PathBuf>,
    /// Make the edits that findings offer: without a name those that leave times, powers, temperatures and currents
    /// alone; with the name of a rule or error all of its edits. Can be given several times
    #[arg(long, value_name = "RULE", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub apply: Vec<String>,
    /// Write nothing, and show what the edits would change
    #[arg(long)]
    pub diff: bool,
    /// Look only at files that differ from this revision of git, and at those that use them
    #[arg(long, value_name = "REVISION")]
    pub since: Option<String>,
    /// A file of findings that are known and do not fail; never errors or dangers
    #[arg(long, value_name = "FILE")]
    pub baseline: Option<PathBuf>,
    /// Write the baseline if there is none, and strike from it what is gone; it never grows
    #[arg(long, requires = "baseline")]
    pub record: bool,
    /// Compute every bend anew, and keep nothing for the next run
    #[arg(long)]
    pub no_cache: bool,
    /// The date that acceptances are held against, instead of the system's
    #[arg(long, value_name = "YEAR-MONTH-DAY", value_parser = date)]
    pub today: Option<Date>,
    #[command(flatten)]
    pub report: ReportArguments,
}

/// Serve an editor: errors, figures and mends as you type
///
/// Speaks the Language Server Protocol over standard input and output; an editor starts it, not a person. It reads the
/// same `withy.toml` and finds the same as `withy lint`. Ends with 1 if the editor goes away without saying so.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  withy language-server")]
pub struct LanguageServerArguments {
    /// Standard input and output, which is all there is: some editors ask for it
    #[arg(long)]
    pub stdio: bool,
}

/// Check a timing program and list what it does
///
/// Proves that no heater can be on for too long, without a press or unattended, and prints each instruction with its
/// offset and times. Reads images (`program.wtp`) and Intel HEX (`program.hex`). Ends with 1 if a proof fails.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  withy listing out/dust_cover/dust_cover_run/program.wtp\n  withy listing - < program.hex"
)]
pub struct ListingArguments {
    /// The image; `-` reads from standard input
    pub file: PathBuf,
}

/// List the rules, or show the page of one
///
/// A page tells what the rule finds, what can happen, a wrong and a right example, and where the limit comes from.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  withy rules\n  withy rules thin-margin")]
pub struct RulesArguments {
    /// A rule; all without it
    pub name: Option<String>,
}

/// Load a timing program into a controller over a serial line
///
/// Checks the program and that it is for this controller, loads it, reads it back and compares. It cannot start heat:
/// only a press at the bench does. Without a file it tells what the controller holds.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  withy send --port /dev/ttyUSB0 out/dust_cover/dust_cover_run/program.wtp\n  withy send --port COM3 --log"
)]
pub struct SendArguments {
    /// The image, or the same as Intel HEX
    pub file: Option<PathBuf>,
    /// The serial port
    #[arg(long)]
    pub port: String,
    /// Bits per second
    #[arg(long, default_value_t = 38_400)]
    pub speed: u32,
    /// Fetch the log
    #[arg(long)]
    pub log: bool,
}

/// Print the script that completes arguments in a shell
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  withy completions bash > ~/.local/share/bash-completion/completions/withy")]
pub struct CompletionsArguments {
    /// The shell
    pub shell: clap_complete::Shell,
}

/// Bring files into the one style
///
/// Keeps every comment and every token, formats around broken parts, and writes nothing if anything would be lost.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  withy format recipes/\n  withy format --check .\n  withy format - < new.withy")]
pub struct FormatArguments {
    /// Files or folders; `-` formats standard input to standard output [default: the sources in `withy.toml`]
    pub paths: Vec<PathBuf>,
    /// Write nothing, and end with 1 if a file is not formatted
    #[arg(long)]
    pub check: bool,
    /// Write nothing, and show what would change
    #[arg(long)]
    pub diff: bool,
}

/// Set up a new library with a bench, a part and a recipe
///
/// Writes a small library that compiles as it is, for you to change into your own. Files that are already there
/// are never touched.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  withy start workshop && cd workshop && withy compile recipes/")]
pub struct StartArguments {
    /// Folder to set up; it is made if it is not there
    #[arg(default_value = ".")]
    pub folder: PathBuf,
}

#[derive(Debug, Args)]
pub struct ReportArguments {
    /// How findings are reported
    #[arg(long, value_enum, default_value_t = Report::Text)]
    pub report: Report,
    /// The class from which the command fails [default: `fail_on` in `withy.toml`, else warning]
    #[arg(long, value_name = "CLASS", value_parser = class)]
    pub fail_on: Option<Class>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Report {
    /// For people, with the places shown
    Text,
    /// One line for each finding
    Short,
    /// For programs; described by a published JSON Schema
    Json,
    /// SARIF 2.1.0, for forges and code hosts
    Sarif,
    /// `JUnit` XML, for build servers
    Junit,
}

fn date(text: &str) -> Result<Date, String> {
    Date::parse(text).ok_or_else(|| format!("`{text}` is no day; dates are written like 2027-06-30"))
}

fn class(text: &str) -> Result<Class, String> {
    let words: Vec<&str> = Class::ALL.iter().map(|class| class.word()).collect();
    let found = Class::ALL.into_iter().find(|class| class.word() == text);
    found.ok_or_else(|| format!("`{text}` is no class; there are {}", words.join(", ")))
}
