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

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const AS_OF: &str = "2026-11-24T07:15";
const RUNS: usize = 5;

/// The median time and the largest memory in MiB of several runs after one to warm up.
struct Figure {
    median: Duration,
    memory_mib: Option<u64>,
}

fn main() {
    let exitsite = Path::new(env!("CARGO_BIN_EXE_exitsite"));
    let records = records(exitsite);
    let files = Command::new("find").arg(&records).args(["-name", "*.toml"]).output().unwrap().stdout;
    println!("{} files in {}", files.iter().filter(|b| **b == b'\n').count(), records.display());
    let due = measure(Command::new(exitsite).args(["due", "--as-of", AS_OF, "--records"]).arg(&records));
    print("due, everybody", &due, None);
    let search = measure(Command::new("grep").args(["-r", "a text that is nowhere"]).arg(&records));
    print("recursive text search", &search, None);
    let check = measure(Command::new(exitsite).args(["check", "--as-of", AS_OF, "--records"]).arg(&records));
    print("check, everything", &check, Some(&search));
    let missed = measure(Command::new(exitsite).args(["missed", "--as-of", AS_OF, "--records"]).arg(&records));
    print("missed, 28 days", &missed, None);
    let grade = measure(Command::new(exitsite).args(["grade", "--as-of", AS_OF, "--records"]).arg(&records));
    print("grade, latest", &grade, None);
    for (period, value) in [("--month", "2026-10"), ("--year", "2025")] {
        let audit = ["audit", period, value, "--as-of", AS_OF, "--records"];
        let audit = measure(Command::new(exitsite).args(audit).arg(&records));
        print(&format!("audit {period} {value}"), &audit, Some(&search));
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

fn measure(command: &mut Command) -> Figure {
    let mut times: Vec<Duration> = Vec::new();
    let mut memory_mib = None;
    for run in 0..=RUNS {
        let start = Instant::now();
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let peak = watch(&mut child);
        if run > 0 {
            times.push(start.elapsed());
            memory_mib = memory_mib.max(peak);
        }
    }
    times.sort();
    Figure { median: times[RUNS / 2], memory_mib }
}

/// Waits for the end, and looks meanwhile at the peak of the memory, where the system tells it.
fn watch(child: &mut std::process::Child) -> Option<u64> {
    let status = format!("/proc/{}/status", child.id());
    let mut peak = None;
    while child.try_wait().unwrap().is_none() {
        let told = std::fs::read_to_string(&status).unwrap_or_default();
        let line = told.lines().find_map(|line| line.strip_prefix("VmHWM:"));
        peak = peak
            .max(line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<u64>().ok()).map(|kib| kib / 1024));
        std::thread::sleep(Duration::from_millis(2));
    }
    peak
}

fn print(what: &str, figure: &Figure, beside: Option<&Figure>) {
    let memory = figure.memory_mib.map_or("unknown".to_owned(), |mib| format!("{mib} MiB"));
    let ratio = beside.map_or(String::new(), |other| {
        format!("  {:.2} x the text search", figure.median.as_secs_f64() / other.median.as_secs_f64())
    });
    println!("{what:<24} {:>8.3} s  {memory:>10}{ratio}", figure.median.as_secs_f64());
}
