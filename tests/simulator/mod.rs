//! Simulated programs, each in its own folder.

#![allow(dead_code, reason = "each test uses its part")]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Once;

use serde_json::Value;

/// A simulated program and its truth.
pub(crate) struct Simulated {
    _kept: tempfile::TempDir,
    pub(crate) records: PathBuf,
    pub(crate) truth: Value,
}

/// Builds the simulator, which `cargo test --test simulated` alone does not, and returns its path.
fn simulator() -> PathBuf {
    static BUILT: Once = Once::new();
    BUILT.call_once(|| {
        let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
        let built = Command::new(env!("CARGO"))
            .args(["build", "--quiet", "--locked", "--example", "simulate", "--profile", profile])
            .status();
        assert!(built.unwrap().success());
    });
    Path::new(env!("CARGO_BIN_EXE_exitsite")).with_file_name("examples").join("simulate")
}

pub(crate) fn simulate(kind: &str, patients: u32, years: u32, seed: u32, until: &str) -> Simulated {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let records = kept.path().join("records");
    let ran = Command::new(simulator())
        .args(["--kind", kind, "--until", until, "--patients", &patients.to_string()])
        .args(["--years", &years.to_string(), "--seed", &seed.to_string(), "--out"])
        .arg(&records)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let truth = std::fs::read_to_string(kept.path().join("records.truth.json")).unwrap();
    Simulated { _kept: kept, records, truth: serde_json::from_str(&truth).unwrap() }
}
