//! The time and memory of the reading commands on a large simulated program, compared with a plain recursive text
//! search through the same files on the same machine in the same run.
//!
//! ```text
//! cargo bench --bench reading                 200 patients x 5 years, about half a million files
//! EXITSITE_BENCH=DIR cargo bench …            an existing program
//! ```
//!
//! Figures are printed, never asserted: a time is a fact about a machine.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and fails by panicking"
)]

mod measure;

use std::path::Path;
use std::process::Command;

/// The commands, with true for those compared with the text search, which comes first.
const QUESTIONS: [(&str, &[&str], bool); 6] = [
    ("check, everything", &["check"], true),
    ("audit --month 2026-10", &["audit", "--month", "2026-10"], true),
    ("audit --year 2025", &["audit", "--year", "2025"], true),
    ("due, everybody", &["due"], false),
    ("missed, 28 days", &["missed"], false),
    ("grade, latest", &["grade"], false),
];

fn main() {
    let exitsite = Path::new(env!("CARGO_BIN_EXE_exitsite"));
    let records = measure::records(exitsite);
    measure::head();
    let files = Command::new("find").arg(&records).args(["-name", "*.toml"]).output().unwrap().stdout;
    println!("{} files in {}", files.iter().filter(|b| **b == b'\n').count(), records.display());
    let mut search = Command::new("grep");
    search.args(["-r", "a text that is nowhere"]).arg(&records);
    let asked = QUESTIONS.iter().map(|(_, arguments, _)| {
        let mut command = Command::new(exitsite);
        command.args(*arguments).args(["--as-of", measure::AS_OF, "--records"]).arg(&records);
        command
    });
    let mut commands: Vec<Command> = [search].into_iter().chain(asked).collect();
    let figures = measure::in_turn(&mut commands);
    measure::print("recursive text search", &figures[0], None);
    for ((what, _, is_beside), figure) in QUESTIONS.iter().zip(&figures[1..]) {
        measure::print(what, figure, is_beside.then_some(&figures[0]));
    }
}
