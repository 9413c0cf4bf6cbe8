//! Laws for all records: invented stories, every small domain exhausted, and arbitrary bytes in a file.
//!
//! A story takes place in the spring of 2026, including the night of March 8, in zones that change their clocks on
//! different days. Impossible orders are left out: an event whose instant is before that of an event of an earlier care
//! day.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod damage;
mod schedule;
mod score;
mod stories;
