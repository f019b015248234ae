//! The figures behind a bend, its curve, and the catalogue: by hand, against the schemas, and as they are printed.

// The lint's own exception for tests does not reach helpers of an integration test.
#![allow(clippy::unwrap_used, clippy::panic)]

mod by_hand;
mod examples;
mod printed;
mod schema;
