//! Files become events, events become timelines, timelines are asked questions, answers become reports, reports become
//! text: each arrow is one function, each noun one module.
//!
//! The modules are in reading order; each imports only modules listed above it.

#![cfg_attr(test, allow(clippy::unwrap_used, reason = "a test fails by panicking"))]

pub mod text;
pub mod word;
pub mod place;
pub mod problem;
pub mod day;
pub mod privacy;
pub mod record;
pub mod event;
pub(crate) mod ledger;
pub mod policy;
pub mod people;
pub(crate) mod rules;
pub mod patient;
pub(crate) mod git;
pub mod folder;
pub mod program;
pub mod timeline;
pub mod score;
pub(crate) mod teaching;
pub mod schedule;
pub(crate) mod supply;
pub(crate) mod signal;
pub mod chart;
pub mod surveillance;
pub mod audit;
pub mod check;
pub mod entry;
pub(crate) mod alert;
pub(crate) mod export;
pub mod report;
pub mod ask;
pub(crate) mod view;
pub mod post;
pub mod schema;
pub mod command;
#[doc(hidden)]
pub mod story;
