//! The part of SARIF 2.1.0 that is written; names and order of the fields are the standard's (OASIS, "Static
//! Analysis Results Interchange Format (SARIF) Version 2.1.0", section 3).

use serde::Serialize;

use crate::report::json::Figure;

#[derive(Serialize)]
pub(super) struct Log<'a> {
    #[serde(rename = "$schema")]
    pub schema: &'static str,
    pub version: &'static str,
    pub runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Run<'a> {
    pub tool: Tool<'a>,
    pub results: Vec<Finding<'a>>,
    pub column_kind: &'static str,
}

#[derive(Serialize)]
pub(super) struct Tool<'a> {
    pub driver: Driver<'a>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Driver<'a> {
    pub name: &'static str,
    pub semantic_version: &'static str,
    pub rules: Vec<Rule<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Rule<'a> {
    pub id: &'a str,
    pub short_description: Page<'a>,
    pub default_configuration: Configuration,
    pub help: Page<'a>,
    pub properties: RuleProperties,
}

/// A text that no argument is ever put into, so that braces in it stand for themselves.
#[derive(Serialize)]
pub(super) struct Page<'a> {
    pub text: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub markdown: Option<&'a str>,
}

#[derive(Serialize)]
pub(super) struct Configuration {
    pub level: &'static str,
}

#[derive(Serialize)]
pub(super) struct RuleProperties {
    pub class: &'static str,
}

/// A `result` object.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Finding<'a> {
    pub rule_id: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule_index: Option<usize>,
    pub level: &'static str,
    pub message: Message,
    pub locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub suppressions: Vec<Suppression>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fixes: Vec<Fix<'a>>,
    pub properties: Properties<'a>,
}

#[derive(Serialize)]
pub(super) struct Message {
    text: String,
}

impl Message {
    /// A message of this text; section 3.11.5 wants braces doubled, as single ones hold arguments.
    pub fn new(text: &str) -> Self {
        Self { text: text.replace('{', "{{").replace('}', "}}") }
    }
}

#[derive(Serialize)]
pub(super) struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<usize>,
    #[serde(rename = "physicalLocation")]
    pub place: FilePlace,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub message: Option<Message>,
}

/// A `physicalLocation` object.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct FilePlace {
    pub artifact_location: ArtifactLocation,
    pub region: Region,
}

#[derive(Serialize)]
pub(super) struct ArtifactLocation {
    pub uri: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Region {
    pub start_line: usize,
    pub start_column: usize,
    pub end_line: usize,
    pub end_column: usize,
}

#[derive(Serialize)]
pub(super) struct Suppression {
    pub kind: &'static str,
    pub status: &'static str,
    pub justification: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Fix<'a> {
    pub description: Message,
    pub artifact_changes: Vec<ArtifactChange<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct ArtifactChange<'a> {
    pub artifact_location: ArtifactLocation,
    pub replacements: Vec<Replacement<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Replacement<'a> {
    pub deleted_region: Region,
    pub inserted_content: Content<'a>,
}

#[derive(Serialize)]
pub(super) struct Content<'a> {
    pub text: &'a str,
}

/// What the standard has no field for.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Properties<'a> {
    pub class: &'static str,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub figures: Vec<Figure<'a>>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub control_edits: Vec<&'a str>,
}
