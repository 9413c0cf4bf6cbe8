//! What holds whatever the records say: laws over invented stories, every small domain exhausted, and any bytes in a file.
//!
//! A story lies in the spring of 2026, with the night of 8 March in it, in zones that move their clocks on different
//! days. What a patient cannot live through is left out: an event that by its instant lies before one of an earlier care
//! day, as only a journey back in time could make it.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod damage;
mod schedule;
mod score;
mod stories;
