//! The order of bends and the schedule.
