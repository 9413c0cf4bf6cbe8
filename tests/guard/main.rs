//! Whom the folder may harm: nobody. Each trap that a records folder can hold is planted here, and nothing runs, hangs, leads
//! elsewhere or is printed raw.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod bounds;
mod links;
mod outside;
mod planted;
mod raw;
mod share;
