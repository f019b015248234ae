//! Dimensions, units and quantities with bounds.
//!
//! Owns the unit table, exact conversions, values that carry what is known about them, temperatures and
//! temperature differences, and printing that parses back. It never knows syntax.
