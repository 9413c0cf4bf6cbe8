//! Creates a new records folder from the template.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::process::Command;

use include_dir::{Dir, include_dir};

use crate::git::OF_ANOTHER;
use crate::git::run::output;
use crate::problem::Failure;
use crate::text;

static TEMPLATE: Dir = include_dir!("$CARGO_MANIFEST_DIR/records-template");

/// The history of a new folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NewHistory {
    /// A git repository with a first commit.
    Committed,
    /// A git repository without a commit.
    NotCommitted,
    /// No repository: git is not installed.
    NotAtAll,
}

/// Creates a records folder in `dir` with this policy; `dir` is created if missing.
///
/// The first commit contains no record. If git has no user configured, its author is `exitsite`.
///
/// # Errors
/// The folder is not empty, or cannot be written; files written so far are removed.
pub fn lay_out(dir: &Path, policy: &str) -> Result<NewHistory, Failure> {
    let is_new = !dir.exists();
    let cannot = |error: std::io::Error| Failure::new(format!("cannot write into {}: {error}", text::path(dir)));
    if !is_new {
        if !dir.is_dir() {
            return Err(Failure::new(format!("{} is a file; name a folder", text::path(dir))));
        }
        if fs::read_dir(dir).map_err(cannot)?.next().is_some() {
            return Err(Failure::new(format!("{} is not empty; name a new or an empty folder", text::path(dir))));
        }
    }
    fs::create_dir_all(dir).map_err(cannot)?;
    if let Err(error) = extract(dir).and_then(|()| fs::write(dir.join(crate::policy::FILE), policy)) {
        take_back(dir, is_new);
        return Err(cannot(error));
    }
    if !git(dir, &["init", "--quiet"]) {
        return Ok(NewHistory::NotAtAll);
    }
    let is_committed = git(dir, &["add", "--all"]) && commit(dir);
    // Once there is a commit graph of changed paths, git keeps it whenever it tidies up. A git too old for it does without.
    git(dir, &["commit-graph", "write", "--reachable", "--changed-paths", "--no-progress"]);
    // The hooks are in the records folder, so that each clone has them.
    let has_hooks = git(dir, &["config", "core.hooksPath", "hooks"]);
    Ok(if is_committed && has_hooks { NewHistory::Committed } else { NewHistory::NotCommitted })
}

fn commit(dir: &Path) -> bool {
    const COMMIT: [&str; 4] = ["commit", "--quiet", "--message", "Lay out the records"];
    let nameless = ["-c", "user.name=exitsite", "-c", "user.email=exitsite@localhost"];
    git(dir, &COMMIT) || git(dir, &[&nameless[..], &COMMIT[..]].concat())
}

/// Writes the template; hooks must be executable, a permission that the embedded template does not carry.
fn extract(dir: &Path) -> std::io::Result<()> {
    TEMPLATE.extract(dir)?;
    for hook in TEMPLATE.get_dir("hooks").into_iter().flat_map(|hooks| hooks.files()) {
        fs::set_permissions(dir.join(hook.path()), Permissions::from_mode(0o755))?;
    }
    fs::create_dir_all(dir.join("patients"))
}

/// Removes a partially written folder.
fn take_back(dir: &Path, is_new: bool) {
    for entry in TEMPLATE.entries() {
        let path = dir.join(entry.path());
        // A missing file need not be removed.
        _ = if path.is_dir() { fs::remove_dir_all(path) } else { fs::remove_file(path) };
    }
    if is_new {
        _ = fs::remove_dir(dir);
    }
}

/// Runs git in the folder, if installed; returns true if it succeeded.
fn git(dir: &Path, arguments: &[&str]) -> bool {
    let mut run = Command::new("git");
    OF_ANOTHER.iter().for_each(|name| _ = run.env_remove(name));
    run.arg("-C").arg(dir).args(arguments);
    output(&mut run, None).is_ok_and(|run| run.status.success())
}
