//! What comes out.
