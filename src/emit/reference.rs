//! The language reference, written out from the tables that the compiler itself reads.

use std::fmt::Write;

use crate::lint::{RULES, Rule};
use crate::names::DeclKind;
use crate::types::figures::{FIGURES, Subject};
use crate::types::schema::{BlockSchema, EntrySchema, Many, Part, Presence, Quantities, declaration};
use crate::types::{FUNCTIONS, usage};
use crate::units::{Kind, UNITS, Unit, show_rounded};

/// `grammar/reference.md`.
pub fn reference() -> String {
    let mut page = String::from(
        "# The Withy language: reference\n\n\
         This page is written from the compiler's own tables; a test keeps it in step. What the entries mean together is \
         told in the README and shown in `examples/`.\n\n## Declarations\n\n",
    );
    page.push_str(HEADERS);
    let mut seen: Vec<&str> = Vec::new();
    for kind in DeclKind::ALL {
        let Some(block) = declaration(kind) else { continue };
        let _ = write!(page, "\n## `{}`\n\n", kind.word());
        entries(&mut page, block, 3, &mut seen);
    }
    page.push_str(PICTURES);
    figures(&mut page);
    functions(&mut page);
    units(&mut page);
    rules(&mut page);
    page
}

const HEADERS: &str = "```text\n\
language 1\n\
use \"PATH\" [as NAME]\n\
let NAME = VALUE\n\
KIND NAME [from OTHER] { … }\n\
part NAME(PARAMETER: KIND = VALUE, …) [from OTHER] { … }\n\
recipe NAME for PART(PARAMETER = VALUE, …) [with sheet SHEET] on BENCH { … }\n\
batch NAME { … }\n\
```\n\n\
A copy (`from`) takes every entry of the other declaration; its own entries replace them, blocks entry by entry; `none` \
removes one.\n";

const PICTURES: &str = "\n## Pictures\n\n\
- Legs of a Z measured outside: ![legs of a Z](pictures/legs.svg)\n\
- Gap and channel of a heater: ![gap and channel](pictures/gap.svg)\n\
- Place, fence and swing: ![place, fence and swing](pictures/swing.svg)\n";

fn entries(page: &mut String, block: &'static BlockSchema, level: usize, seen: &mut Vec<&'static str>) {
    let _ = write!(page, "{}\n\n| entry | must it be there | range | meaning |\n|---|---|---|---|\n", block.meaning);
    for entry in block.entries {
        let meaning = entry.meaning;
        let _ = writeln!(page, "| `{}` | {} | {} | {meaning} |", cell(&usage(entry)), presence(entry), ranges(entry));
    }
    for entry in block.entries {
        let Some(inner) = entry.block else { continue };
        // A stretch can hold stretches, and several entries share one block: each is written once.
        if seen.contains(&inner.name) {
            continue;
        }
        seen.push(inner.name);
        let _ = write!(page, "\n{} `{}` block\n\n", "#".repeat(level), inner.name);
        entries(page, inner, level + 1, seen);
    }
}

/// Text within a table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

fn presence(entry: &EntrySchema) -> String {
    let often = match entry.many {
        Many::Once => "",
        Many::Keyed => ", once for each first word",
        Many::Any => ", as often as wanted",
    };
    let others: Vec<String> = entry.instead_of.iter().map(|other| format!("`{other}`")).collect();
    match entry.presence {
        Presence::Required if !others.is_empty() => format!("yes, or {}", others.join(" or ")),
        Presence::Required => format!("yes{often}"),
        Presence::Optional(otherwise) => format!("no; otherwise: {}{often}", cell(otherwise)),
    }
}

fn ranges(entry: &EntrySchema) -> String {
    let mut found = Vec::new();
    collect(entry.pattern, &mut found);
    found.join("; ")
}

fn collect(parts: &[Part], found: &mut Vec<String>) {
    for part in parts {
        match part {
            Part::Quantity(_, wanted) | Part::List(_, wanted, ..) => found.extend(range(wanted)),
            Part::Count(_, low, high) => found.push(format!("{low} to {high}")),
            Part::Maybe(_, rest) => collect(rest, found),
            Part::OneOf(ways) => ways.iter().for_each(|way| collect(way, found)),
            _ => {}
        }
    }
}

fn range(wanted: &Quantities) -> Option<String> {
    let unit = Unit::parse(wanted.unit).ok()?;
    let shown = |value: f64| {
        let si = crate::units::Literal::parse(&value.to_string()).ok()?.to_si(&unit).ok()?;
        Some(show_rounded(si, &unit, 6))
    };
    let exact = if wanted.known { "" } else { ", exact" };
    Some(format!("{} to {}{exact}", shown(wanted.low)?, shown(wanted.high)?))
}

fn figures(page: &mut String) {
    page.push_str("\n## Figures that `expect` reads\n\n| figure | kind | meaning |\n|---|---|---|\n");
    for figure in FIGURES {
        let name = match figure.subject {
            Subject::Whole => figure.name.to_owned(),
            Subject::Bend => format!("bend NAME.{}", figure.name),
            Subject::Leg => format!("leg NUMBER.{}", figure.name),
            Subject::Arm => format!("arm NAME.{}", figure.name),
        };
        let _ = writeln!(page, "| `{name}` | {} | {} |", figure.kind.plain(), figure.meaning);
    }
}

fn functions(page: &mut String) {
    page.push_str("\n## Functions\n\n| function | what it gives |\n|---|---|\n");
    for (_, usage, meaning) in FUNCTIONS {
        let _ = writeln!(page, "| `{usage}` | {meaning} |");
    }
    page.push_str("\nBesides: `+ - * /`, `^` with a whole number, `< <= > >= == !=`, `if C then A else B`.\n");
}

fn units(page: &mut String) {
    page.push_str("\n## Kinds and units\n\n| kind | written as | usual units |\n|---|---|---|\n");
    for kind in Kind::ALL {
        let examples: Vec<String> = kind.examples().iter().map(|unit| format!("`{unit}`")).collect();
        let _ = writeln!(page, "| {} | `{}` | {} |", kind.plain(), kind.word(), examples.join(", "));
    }
    page.push_str("\n| unit | meaning | also written |\n|---|---|---|\n");
    for unit in &UNITS {
        let aliases: Vec<String> = unit.aliases.iter().map(|alias| format!("`{alias}`")).collect();
        let _ = writeln!(page, "| `{}` | {} | {} |", unit.word, unit.meaning, aliases.join(", "));
    }
    page.push_str(
        "\nUnits are joined without blanks: `W/in`, `ohm*m`, `W/(m K)`. Wire sizes are written `20 AWG`. Fractions of an \
         inch are written `1/8 in`, `1 1/2 in`.\n",
    );
}

fn rules(page: &mut String) {
    page.push_str("\n## Rules\n\n| rule | class | group | what it finds |\n|---|---|---|---|\n");
    for rule in RULES {
        let _ = writeln!(page, "| `{}` | {} | {} | {} |", rule.name, rule.class.word(), rule.group, rule.summary);
    }
    for rule in RULES {
        rule_page(page, rule);
    }
}

/// The page of a rule, its headings three levels down.
fn rule_page(page: &mut String, rule: &Rule) {
    let _ = write!(page, "\n### `{}`\n\nClass {}. {}\n\n", rule.name, rule.class.word(), rule.summary);
    let mut code = false;
    for line in rule.page.lines() {
        code ^= line.starts_with("```");
        // Two hashes begin a doc comment in code.
        let deeper = if line.starts_with("## ") && !code { "##" } else { "" };
        let _ = writeln!(page, "{deeper}{line}");
    }
}
