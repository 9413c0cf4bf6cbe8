//! The pre-commit hook of `init`.

use std::fs;
use std::os::unix::fs::PermissionsExt;

use crate::{CHANGE, CULTURE, ELSEWHERE, ROW, Records, Said, VOID, branches, change, command, path_without_exitsite};

/// A program as set up by `init`, with staff and a patient, and the first commit through its hook.
pub(crate) fn laid_out() -> Records {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path().join("records");
    let records = Records { root: kept.path().to_owned(), kept };
    let said = records.exitsite(&["init", root.to_str().unwrap()]);
    assert!(said.status == 0 && said.stdout.contains("Git keeps it"), "{said:?}");
    let records = Records { root, ..records };
    for hook in ["pre-commit", "pre-receive"] {
        let about = fs::metadata(records.root.join("hooks").join(hook)).unwrap();
        assert_eq!(about.permissions().mode() & 0o777, 0o755, "{hook}");
    }
    assert_eq!(records.git(&["config", "core.hooksPath"]), "hooks");
    assert_eq!(records.git(&["status", "--porcelain", "hooks"]), "");
    let sound = Records::new();
    for file in ["people.toml", "patients/P-001/patient.toml", "patients/P-002/patient.toml", CHANGE, CULTURE] {
        records.write(file, &sound.read(file));
    }
    records.git(&["checkout", "--quiet", "-B", "main"]);
    records.commit("laid out");
    records
}

impl Records {
    /// Stages everything and tries to commit.
    fn try_commit(&self) -> Said {
        self.git(&["add", "--all", "."]);
        self.try_git(&["commit", "--quiet", "-m", "tried"])
    }

    fn is_committed(&self) {
        let said = self.try_commit();
        assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    }

    /// Asserts that the commit is stopped with these words and leaves nothing behind.
    fn is_stopped(&self, words: &str) {
        let head = self.head();
        let said = self.try_commit();
        assert_ne!(said.status, 0, "committed, without {words}");
        assert!(said.stderr.contains(words), "without {words}: {}{}", said.stdout, said.stderr);
        assert!(said.stderr.contains("Nothing was committed"), "{}", said.stderr);
        assert_eq!(self.head(), head);
        self.git(&["reset", "--quiet", "--hard"]);
    }
}

#[test]
fn the_hook_stops_what_is_wrong_in_what_is_committed_and_nothing_else() {
    let records = laid_out();
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.is_committed();
    records.write("patients/P-002/2026/2026-11-22T0800-change.toml", "kind = \"change");
    records.is_stopped("[syntax]");
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.is_stopped("edited-after-commit");
    records.remove(CHANGE);
    records.is_stopped("deleted-record");
    fs::remove_dir_all(records.root.join("patients/P-001")).unwrap();
    records.is_stopped("deleted-record");
    let private = change("2026-11-22T08:00").replace("\n\n[left]", "\nnote = \"ring 312-555-0142\"\n\n[left]");
    records.write("patients/P-002/2026/2026-11-22T0800-change.toml", &private);
    records.is_stopped("private-data");
    // A shower of another household, copied by hand.
    records.append("patients/P-001/patient.toml", "[[caregiver]]\ncode = \"p001-son\"\n");
    records.is_committed();
    let shower = "kind = \"shower\"\nat = 2026-11-22T18:40:00-06:00\nby = \"p001-son\"\n";
    records.write("patients/P-002/2026/2026-11-22T1840-shower.toml", shower);
    records.is_stopped("another-household");
    records.append(CHANGE, ROW);
    records.is_committed();
    records.append(CHANGE, VOID);
    records.is_committed();
    // Only staged changes count, in the staged version.
    records.write("patients/P-002/2026/2026-11-21T0800-change.toml", &change("2026-11-21T08:00"));
    records.git(&["add", "."]);
    records.append("patients/P-002/2026/2026-11-21T0800-change.toml", "broken");
    records.write("patients/P-001/2026/2026-11-21T0800-change.toml", "somebody else is still writing");
    let said = records.try_git(&["commit", "--quiet", "-m", "mine"]);
    assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    // A broken file already on file, from another person, blocks no commit.
    records.git(&["commit", "--quiet", "--no-verify", "-a", "-m", "past the hook"]);
    records.git(&["add", "--all"]);
    records.git(&["commit", "--quiet", "--no-verify", "-m", "past the hook"]);
    records.write("patients/P-001/2026/2026-11-20T0800-change.toml", &change("2026-11-20T08:00"));
    records.is_committed();
    // One file alone, and with -a: git gives the hook an index of its own.
    records.write("patients/P-001/2026/2026-11-19T0800-change.toml", &change("2026-11-19T08:00"));
    records.git(&["add", "."]);
    records.edit("patients/P-001/2026/2026-11-20T0800-change.toml", "= 2\n", "= 3\n");
    let said = records.try_git(&["commit", "--quiet", "-m", "one", "patients/P-001/2026/2026-11-19T0800-change.toml"]);
    assert_eq!(said.status, 0, "{}{}", said.stdout, said.stderr);
    assert_ne!(records.try_git(&["commit", "--quiet", "-a", "-m", "all"]).status, 0);
    records.git(&["reset", "--quiet", "--hard"]);
    // File names of any kind, and files that are no records.
    for name in ["two\nlines.md", " a b.md", "-x.md", "\"quoted\".md", "\u{e9}.md"] {
        records.write(name, "notes\n");
    }
    records.is_committed();
    records.remove("-x.md");
    records.remove("README.md");
    records.is_committed();
    records.is_stopped_at_nothing();
}

impl Records {
    /// Asserts that the hook does not stop an empty commit; that decision is git's.
    fn is_stopped_at_nothing(&self) {
        assert_eq!(self.try_git(&["commit", "--quiet", "--allow-empty", "-m", "nothing"]).status, 0);
    }
}

#[test]
fn the_hook_stops_nobody_where_exitsite_is_not_installed() {
    let records = laid_out();
    records.edit(CHANGE, "= 2\n", "= 3\n");
    let mut run = command("git", &records.root, records.kept.path(), &path_without_exitsite());
    let said = Said::from(run.args(["commit", "--quiet", "-a", "-m", "unchecked"]).output().unwrap());
    assert_eq!(said.status, 0, "{}", said.stderr);
    assert!(said.stderr.contains("exitsite is not installed here"), "{}", said.stderr);
}

#[test]
fn the_hook_works_in_a_clone_a_worktree_and_a_folder_of_a_repository() {
    let records = laid_out();
    let clone = Records { root: records.kept.path().join("clone"), kept: tempfile::tempdir().unwrap() };
    records.git(&["clone", "--quiet", ".", clone.root.to_str().unwrap()]);
    clone.git(&["config", "core.hooksPath", "hooks"]);
    let away = Records { root: records.kept.path().join("away"), kept: tempfile::tempdir().unwrap() };
    records.git(&["worktree", "add", "--quiet", "-b", "away", away.root.to_str().unwrap()]);
    let below = Records::below("care/records");
    for hook in ["pre-commit", "pre-receive"] {
        below.write(&format!("hooks/{hook}"), &records.read(&format!("hooks/{hook}")));
        fs::set_permissions(below.root.join("hooks").join(hook), fs::Permissions::from_mode(0o755)).unwrap();
    }
    below.git(&["config", "core.hooksPath", "care/records/hooks"]);
    below.write("../notes.txt", "none of the records");
    below.git(&["add", "../notes.txt"]);
    below.is_committed();
    let worktree =
        Records { root: below.kept.path().join("worktree/care/records"), kept: tempfile::tempdir().unwrap() };
    below.git(&["worktree", "add", "--quiet", "-b", "away", below.kept.path().join("worktree").to_str().unwrap()]);
    for (name, records) in [("clone", &clone), ("worktree", &away), ("folder", &below), ("its worktree", &worktree)] {
        records.edit(CHANGE, "= 2\n", "= 3\n");
        records.is_stopped("edited-after-commit");
        records.remove(CHANGE);
        records.is_stopped("deleted-record");
        records.append(CHANGE, ROW);
        records.is_committed();
        // From inside the folders, too.
        records.edit(CHANGE, "misread", "because");
        let dir = records.root.join("patients/P-001");
        let said: Said = records.command("git").current_dir(dir).args(["commit", "-am", "x"]).output().unwrap().into();
        assert!(said.status != 0 && said.stderr.contains("edited-after-commit"), "{name}: {}", said.stderr);
    }
}

#[test]
fn the_hook_asks_of_a_merge_only_what_it_does_itself() {
    let records = laid_out();
    branches(
        &records,
        |r| r.write("README.md", "ours\n"),
        |r| {
            r.write("README.md", "theirs\n");
            r.edit(CHANGE, "= 2\n", "= 3\n");
            r.write(ELSEWHERE, "broken");
            r.git(&["config", "core.hooksPath", "none"]);
        },
    );
    records.git(&["config", "core.hooksPath", "hooks"]);
    assert_ne!(records.try_git(&["merge", "--quiet", "other"]).status, 0);
    records.write("README.md", "both\n");
    records.is_committed();
    assert_eq!(records.git(&["rev-list", "--count", "--merges", "HEAD"]), "1");
}
