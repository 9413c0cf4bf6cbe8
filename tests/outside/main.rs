//! The figures against the outside: published values, standards, independent libraries. The source is next to each
//! check.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod calendar;
mod chart;
mod counts;
mod rate;
mod ratio;
mod share;
mod kaplan_meier;
mod hazard;
mod incidence;
mod log_rank;
mod lower;
mod matched;
mod mean_count;
mod pool;
mod questions;
mod follow_ups;
mod trial;
