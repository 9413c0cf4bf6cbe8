//! How long and how much memory the reading commands take over a large simulated program, beside what a plain recursive
//! text search takes to read the same files on the same machine in the same run.
//!
//! ```text
//! cargo bench --bench reading                 200 patients x 5 years, about half a million files
//! EXITSITE_BENCH=DIR cargo bench …            a program that is there already
//! ```
//!
//! Figures are printed, never asserted: a time is a fact about a machine.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and fails by panicking"
)]

#[path = "measure.rs"]
mod measure;

use std::path::{Path, PathBuf};
use std::process::Command;

const AS_OF: &str = "2026-11-24T07:15";

/// What is measured, and whether it is printed beside the text search, which comes first.
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
    let records = records(exitsite);
    measure::head();
    let files = Command::new("find").arg(&records).args(["-name", "*.toml"]).output().unwrap().stdout;
    println!("{} files in {}", files.iter().filter(|b| **b == b'\n').count(), records.display());
    let mut search = Command::new("grep");
    search.args(["-r", "a text that is nowhere"]).arg(&records);
    let asked = QUESTIONS.iter().map(|(_, arguments, _)| {
        let mut command = Command::new(exitsite);
        command.args(*arguments).args(["--as-of", AS_OF, "--records"]).arg(&records);
        command
    });
    let mut commands: Vec<Command> = [search].into_iter().chain(asked).collect();
    let figures = measure::in_turn(&mut commands);
    measure::print("recursive text search", &figures[0], None);
    for ((what, _, is_beside), figure) in QUESTIONS.iter().zip(&figures[1..]) {
        measure::print(what, figure, is_beside.then_some(&figures[0]));
    }
}

fn records(exitsite: &Path) -> PathBuf {
    if let Some(records) = std::env::var_os("EXITSITE_BENCH") {
        return records.into();
    }
    let records = std::env::temp_dir().join("exitsite-bench-200x5");
    if !records.join("policy.toml").exists() {
        let simulate = exitsite.with_file_name("examples").join("simulate");
        let made = Command::new(simulate)
            .args(["--patients", "200", "--years", "5", "--seed", "7", "--until", &AS_OF[..10], "--out"])
            .arg(&records)
            .status();
        assert!(
            made.is_ok_and(|status| status.success()),
            "build the simulator first: cargo build --release --examples"
        );
    }
    records
}
