//! Traps that a records folder can hold: whichever is planted, no program runs, no command hangs, no link is followed
//! and no control character is printed.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod bounds;
mod links;
mod outside;
mod planted;
mod raw;
mod share;
