//! Files become events, events become timelines, timelines are asked questions, answers become reports, reports become
//! text: each arrow is one function, each noun one module.
//!
//! The modules stand in reading order; each imports only what stands above it.

#![cfg_attr(test, allow(clippy::unwrap_used, reason = "a test fails by panicking"))]

pub mod text;
pub mod word;
pub mod place;
pub mod problem;
pub mod day;
pub mod privacy;
pub mod record;
pub mod event;
pub mod ledger;
pub mod policy;
pub mod people;
pub mod rules;
pub mod patient;
pub mod git;
pub mod folder;
pub mod program;
pub mod timeline;
pub mod score;
pub mod teaching;
pub mod chart;
pub mod schedule;
pub mod supply;
pub mod signal;
pub mod surveillance;
pub mod audit;
pub mod check;
pub mod entry;
pub mod alert;
pub mod export;
pub mod report;
pub mod ask;
pub mod view;
pub mod post;
pub mod schema;
pub mod command;
#[doc(hidden)]
pub mod story;
