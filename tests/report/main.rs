//! The renderers of findings: the same sample in each, and what holds for any finding.

// The lint's own exception for tests does not reach helpers of an integration test.
#![allow(clippy::unwrap_used)]

mod properties;
mod sample;
mod sarif;
mod schema;
mod snapshots;
