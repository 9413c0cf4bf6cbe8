//! A new records folder, laid out from the template.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use include_dir::{Dir, include_dir};

use crate::problem::Failure;

static TEMPLATE: Dir = include_dir!("$CARGO_MANIFEST_DIR/records-template");

/// Lays a records folder out in `dir`, which is made if it is not there. Says whether git keeps it.
///
/// # Errors
/// The folder holds anything, or cannot be written; what was begun is taken back.
pub fn lay_out(dir: &Path) -> Result<bool, Failure> {
    let is_new = !dir.exists();
    let cannot = |error: std::io::Error| Failure::new(format!("cannot write into {}: {error}", dir.display()));
    if !is_new {
        if !dir.is_dir() {
            return Err(Failure::new(format!("{} is a file; name a folder", dir.display())));
        }
        if fs::read_dir(dir).map_err(cannot)?.next().is_some() {
            return Err(Failure::new(format!(
                "{} holds something already; name a new or an empty folder",
                dir.display()
            )));
        }
    }
    fs::create_dir_all(dir).map_err(cannot)?;
    if let Err(error) = TEMPLATE.extract(dir).and_then(|()| fs::create_dir_all(dir.join("patients"))) {
        take_back(dir, is_new);
        return Err(cannot(error));
    }
    Ok(git_init(dir))
}

/// Nothing half-written stays behind.
fn take_back(dir: &Path, is_new: bool) {
    for entry in TEMPLATE.entries() {
        let path = dir.join(entry.path());
        // What is not there need not be taken back.
        _ = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
    }
    if is_new {
        _ = fs::remove_dir(dir);
    }
}

/// Makes the folder a git repository, where git is there.
fn git_init(dir: &Path) -> bool {
    let run = Command::new("git")
        .arg("init")
        .arg("--quiet")
        .arg(dir)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    run.is_ok_and(|status| status.success())
}
