//! The hook of a server, which protects the records already there.

use std::ffi::OsStr;
use std::fs;
use std::path::PathBuf;

use crate::hooks::laid_out;
use crate::{CHANGE, CULTURE, ELSEWHERE, ROW, Records, Said, VOID, change, command, path, path_without_exitsite};

/// A server with the hook, to which everyone pushes.
struct Server {
    records: Records,
    bare: PathBuf,
}

impl Server {
    fn new() -> Server {
        let records = laid_out();
        let bare = records.kept.path().join("server.git");
        records.git(&["init", "--quiet", "--bare", "--initial-branch=main", bare.to_str().unwrap()]);
        fs::create_dir_all(bare.join("hooks")).unwrap();
        fs::copy(records.root.join("hooks/pre-receive"), bare.join("hooks/pre-receive")).unwrap();
        records.git(&["config", "core.hooksPath", "none"]);
        records.git(&["remote", "add", "origin", bare.to_str().unwrap()]);
        Server { records, bare }
    }

    fn push(&self, path: &OsStr, arguments: &[&str]) -> Said {
        let mut run = command("git", &self.records.root, self.records.kept.path(), path);
        run.args(["push", "--quiet", "origin"]).args(arguments).output().unwrap().into()
    }

    fn is_taken(&self, arguments: &[&str]) {
        let said = self.push(&path(), arguments);
        assert_eq!(said.status, 0, "{arguments:?}: {}", said.stderr);
    }

    /// Asserts that a push is refused with these words and changes nothing.
    fn is_refused(&self, arguments: &[&str], words: &str) {
        let refs = self.records.git_at(&self.bare, &["for-each-ref"]);
        let said = self.push(&path(), arguments);
        assert!(said.status != 0 && said.stderr.contains(words), "{arguments:?}, without {words}: {}", said.stderr);
        assert_eq!(self.records.git_at(&self.bare, &["for-each-ref"]), refs);
        self.records.git(&["reset", "--quiet", "--hard", "origin/main"]);
    }
}

#[test]
fn the_server_keeps_what_is_on_file() {
    let server = Server::new();
    let records = &server.records;
    server.is_taken(&["main"]);
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.commit("recorded");
    records.append(CHANGE, ROW);
    records.commit("amended");
    server.is_taken(&["main"]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    records.edit(CULTURE, "exit-site", "blood");
    records.commit("edited, too");
    server.is_refused(&["main"], "edited-after-commit");
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    records.edit(CHANGE, "= 3\n", "= 2\n");
    records.commit("put back");
    server.is_taken(&["main"]);
    records.remove(CHANGE);
    records.commit("deleted");
    server.is_refused(&["main"], "records were deleted instead of voided");
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    server.is_refused(&["--force", "main"], "the history of main was rewritten");
    server.is_refused(&["--delete", "main"], "the branch main would be deleted");
    // A new branch continues the main one.
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("edited");
    server.is_refused(&["main:refs/heads/new"], "edited-after-commit");
    records.append(CHANGE, VOID);
    records.commit("voided");
    server.is_taken(&["main:refs/heads/new"]);
    server.is_taken(&["HEAD:refs/tags/v1"]);
    // A file broken before the push blocks no push.
    records.write("patients/P-002/2026/2026-11-21T0800-change.toml", "broken");
    records.commit("broken");
    server.is_taken(&["main"]);
    server.is_taken(&["--delete", "refs/tags/v1"]);
}

#[test]
fn the_server_keeps_what_is_on_file_without_exitsite_too() {
    let server = Server::new();
    let records = &server.records;
    let push = |arguments: &[&str]| server.push(&path_without_exitsite(), arguments);
    assert_eq!(push(&["main"]).status, 0);
    for folder in ["patients/P-001/2026", "patients/P-001"] {
        fs::remove_dir_all(records.root.join(folder)).unwrap();
        records.commit("deleted");
        let said = push(&["main"]);
        assert!(said.status != 0 && said.stderr.contains(CHANGE), "{}", said.stderr);
        records.git(&["reset", "--quiet", "--hard", "origin/main"]);
    }
    records.rename(CHANGE, &CHANGE.replace("change.toml", "change-2.toml"));
    records.commit("renamed");
    assert_eq!(push(&["main"]).status, 0);
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    let said = push(&["--force", "main"]);
    assert!(said.status != 0 && said.stderr.contains("history of main was rewritten"), "{}", said.stderr);
}
