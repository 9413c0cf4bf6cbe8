//! Changes of the records since a commit: `check --since`.

use std::fs;
use std::os::unix::fs::symlink;

use crate::history::told;
use crate::{AS_OF, CHANGE, CULTURE, ELSEWHERE, NOTHING, ROW, Records, VOID, branches, change, state};

/// An edit of the records with its name and the findings of `check --since`.
type Done = (&'static str, fn(&Records), &'static [&'static str]);

const DONE: [Done; 21] = [
    ("nothing", |_| {}, NOTHING),
    ("layout and comments", |r| r.edit(CHANGE, "[left]\n", "# told\n\n[left]\n"), NOTHING),
    (
        "a new record",
        |r| r.write("patients/P-002/2026/2026-11-23T0800-change.toml", &change("2026-11-23T08:00")),
        NOTHING,
    ),
    ("an amendment", |r| r.write(CHANGE, &(r.read(CHANGE).replace("= 2\n", "= 3\n") + ROW)), NOTHING),
    ("a void", |r| r.append(CHANGE, VOID), NOTHING),
    ("a result", |r| r.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n"), NOTHING),
    (
        "an edit",
        |r| r.edit(CHANGE, "= 2\n", "= 3\n"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `site.redness_mm` was changed without an amendment, ",
        ],
    ),
    (
        "several",
        |r| r.write(CHANGE, &(r.read(CHANGE).replace("= 2\n", "= 3\n").replace("rn-07", "co-1") + "crust_mm = 1\n")),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `by` and 2 more were changed without an amendment, ",
        ],
    ),
    (
        "an edit of when",
        |r| r.write(CHANGE, &(r.read(CHANGE).replace("18:55", "18:50") + ROW)),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: `at` was changed without an amendment, ",
        ],
    ),
    (
        "what cannot be read any more",
        |r| r.edit(CHANGE, "\"rn-07\"", "\"rn-07"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-22T1855-change.toml: the record can no longer be read without an amendment, ",
        ],
    ),
    (
        "a deletion",
        |r| r.remove(CHANGE),
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "a whole patient deleted",
        |r| fs::remove_dir_all(r.root.join("patients/P-001")).unwrap(),
        &[
            "deleted-record patients/P-001/2026/2026-11-20T0900-culture.toml: the record was deleted instead of voided, ",
            "deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, ",
        ],
    ),
    (
        "a link in place of a record",
        |r| {
            r.remove(CHANGE);
            symlink("elsewhere", r.root.join(CHANGE)).unwrap();
        },
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    ("another number", |r| r.rename(CHANGE, &CHANGE.replace("change.toml", "change-2.toml")), NOTHING),
    (
        "another patient",
        |r| r.rename(CHANGE, &CHANGE.replace("P-001", "P-002")),
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "another name and another content",
        |r| {
            r.rename(CHANGE, &CHANGE.replace("1855", "1850"));
            r.edit(&CHANGE.replace("1855", "1850"), "18:55", "18:50");
        },
        &["deleted-record patients/P-001/2026/2026-11-22T1855-change.toml: the record was deleted instead of voided, "],
    ),
    (
        "patient.toml is no event",
        |r| r.append("patients/P-001/patient.toml", "[[caregiver]]\ncode = \"p001-son\"\nrelation = \"son\"\n"),
        NOTHING,
    ),
    (
        "a result is edited",
        |r| r.edit(CULTURE, "exit-site", "blood"),
        &[
            "edited-after-commit patients/P-001/2026/2026-11-20T0900-culture.toml: `specimen` was changed without an amendment, ",
        ],
    ),
    (
        "staff",
        |r| r.remove("staff/rn-07/2026/2026-01-12T1000-teaching.toml"),
        &["deleted-record staff/rn-07/2026/2026-01-12T1000-teaching.toml: the record was deleted instead of voided, "],
    ),
    (
        "a broken record is mended",
        |r| r.write("patients/P-002/2026/2026-11-21T1855-change.toml", &change("2026-11-21T18:55")),
        NOTHING,
    ),
    (
        "one with an unknown key is mended",
        |r| r.edit("patients/P-002/2026/2026-11-20T1855-change.toml", "rednes_mm = 4", "redness_mm = 5"),
        NOTHING,
    ),
];

#[test]
fn what_was_done_since_a_commit_is_named_with_the_commit() {
    let records = Records::new();
    let teaching = "kind = \"teaching\"\nat = 2026-01-12T10:00:00-06:00\nby = \"co-1\"\nlearner = \"rn-07\"\nobserver = \"co-1\"\ncurriculum = \"dressing-change\"\nversion = 1\nmode = \"shown\"\n";
    records.write("staff/rn-07/2026/2026-01-12T1000-teaching.toml", teaching);
    records.write(
        "patients/P-002/2026/2026-11-21T1855-change.toml",
        &change("2026-11-21T18:55").replace("rn-07\"", "rn-07"),
    );
    records.write(
        "patients/P-002/2026/2026-11-20T1855-change.toml",
        &change("2026-11-20T18:55").replace("redness_mm = 2", "rednes_mm = 4"),
    );
    let start = records.commit("records");
    for (name, done, expected) in DONE {
        records.git(&["reset", "--quiet", "--hard", &start]);
        done(&records);
        let found = |when: &str| expected.iter().map(|found| format!("{found}{when}")).collect::<Vec<_>>();
        let pending = found("since the last commit, not committed yet");
        assert_eq!(records.since("HEAD", &[]), pending, "{name}, in the folder");
        records.git(&["add", "--all"]);
        assert_eq!(records.since("HEAD", &[]), pending, "{name}, staged");
        let tree = records.git(&["write-tree"]);
        assert_eq!(records.since("HEAD", &["--at-commit", &tree]), pending, "{name}, in the index");
        let at = records.commit(name);
        let committed = found(&format!("in commit {at} of 2026-11-22"));
        assert_eq!(records.since(&start, &[]), committed, "{name}, committed");
        assert_eq!(records.since(&start, &["--at-commit", "HEAD"]), committed, "{name}, at the commit");
        records.commit("nothing more");
        assert_eq!(records.since(&start, &[]), committed, "{name}, later");
        assert_eq!(records.since("HEAD", &[]), NOTHING, "{name}, since then");
        assert_eq!(records.since(&start, &["--at-commit", &start]), NOTHING, "{name}, before");
    }
}

#[test]
fn the_command_that_puts_a_record_back_stands_on_one_line() {
    let records = Records::committed();
    records.append(CULTURE, "note = \"edited\"\n");
    records.remove(CHANGE);
    let said = records.exitsite(&[&["check", "--since", "HEAD"], &AS_OF[..]].concat());
    // A prefix of the path would restore much more.
    for file in [CHANGE, CULTURE] {
        let whole = format!("`git checkout {} -- {file}`", records.head());
        assert!(said.stdout.lines().any(|line| line.contains(&whole)), "{whole}\n{}", said.stdout);
    }
    assert!(said.stdout.lines().all(|line| !line.ends_with('/')), "{}", said.stdout);
}

#[test]
fn what_was_corrected_stays_and_what_was_put_back_is_forgiven() {
    let records = Records::committed();
    let start = records.head();
    records.append(CHANGE, ROW);
    let amended = records.commit("amended");
    assert_eq!(records.since(&start, &[]), NOTHING);
    records.edit(CHANGE, "misread", "because");
    let said = records.since(&amended, &[]);
    assert!(said.len() == 1 && said[0].contains("`amended` was changed without an amendment"), "{said:?}");
    let edited = records.commit("edited");
    records.edit(CHANGE, "because", "misread");
    assert_eq!(records.since(&amended, &[]), NOTHING, "put back in the folder");
    assert_eq!(records.since(&edited, &[]).len(), 1, "what is put back is an edit of what was there");
    records.commit("put back");
    assert_eq!(records.since(&amended, &[]), NOTHING, "put back in a commit");
    records.remove(CHANGE);
    records.commit("deleted");
    assert_eq!(records.since(&start, &[]).len(), 1);
    records.git(&["checkout", "--quiet", "HEAD~1", "--", CHANGE]);
    assert_eq!(records.since(&start, &[]), NOTHING, "restored");
    records.edit(CHANGE, "= 2\n", "= 7\n");
    assert_eq!(records.since(&start, &[]).len(), 1, "restored as something else");
}

#[test]
fn what_is_put_into_the_history_later_is_seen_although_the_end_looks_right() {
    let records = Records::committed();
    let start = records.head();
    records.edit(CHANGE, "= 2\n", "= 3\n");
    records.commit("an edit");
    records.edit(CHANGE, "\"in-place\"", "\"loose\"");
    records.append(CHANGE, ROW);
    records.commit("an amendment of something else");
    assert_eq!(records.since(&start, &[]).len(), 1);
    // Making a record unreadable first and mending it afterward is found, too.
    for broken in ["crust = 1\n", "= broken\n"] {
        let records = Records::committed();
        let start = records.head();
        let text = records.read(CHANGE);
        records.append(CHANGE, broken);
        records.commit("broken");
        records.write(CHANGE, &text.replace("= 2\n", "= 3\n"));
        records.commit("mended to something else");
        assert_eq!(records.since(&start, &[]).len(), 1, "{broken}");
        records.write(CHANGE, &text);
        assert_eq!(records.since(&start, &[]), NOTHING, "{broken}, and put back");
    }
}

#[test]
fn a_merge_is_judged_by_what_it_does_itself() {
    // Merged changes were checked on their own branch.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")), |r| r.edit(CHANGE, "= 2\n", "= 3\n"));
    let (ours, theirs) = (records.head(), records.git(&["rev-parse", "--short=7", "other"]));
    records.git(&["merge", "--quiet", "--no-ff", "--no-commit", "other"]);
    let found = format!(
        "edited-after-commit {CHANGE}: `site.redness_mm` was changed without an amendment, in commit {theirs} of 2026-11-22"
    );
    assert_eq!(records.since(&ours, &[]), NOTHING, "while it is being merged");
    records.commit("merged");
    assert_eq!(records.since(&start, &[]), std::slice::from_ref(&found));
    assert_eq!(records.since(&ours, &[]), [found]);
    assert_eq!(records.since(&theirs, &[]), NOTHING);

    // A merge with a change made on neither side.
    let records = Records::committed();
    let start = records.head();
    branches(
        &records,
        |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")),
        |r| r.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n"),
    );
    records.git(&["merge", "--quiet", "--no-ff", "--no-commit", "other"]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    assert_eq!(records.since("HEAD", &[]).len(), 1, "it differs from both sides");
    let at = records.commit("merged");
    let found = format!(
        "edited-after-commit {CHANGE}: `site.redness_mm` was changed without an amendment, in commit {at} of 2026-11-22"
    );
    assert_eq!(records.since(&start, &[]), [found]);

    // A merge that takes one side and drops the records of the other.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.append(CULTURE, VOID), |r| r.write(ELSEWHERE, &change("2026-11-23T08:00")));
    records.git(&["merge", "--quiet", "-s", "ours", "-m", "ours", "other"]);
    let said = records.since(&start, &[]);
    assert!(said.len() == 1 && said[0].starts_with(&format!("deleted-record {ELSEWHERE}")), "{said:?}");

    // Both sides corrected one record, and one correction was lost.
    let records = Records::committed();
    let start = records.head();
    branches(&records, |r| r.append(CHANGE, VOID), |r| r.append(CHANGE, ROW));
    assert_ne!(records.try_git(&["merge", "--quiet", "other"]).status, 0);
    records.git(&["checkout", "--quiet", "--ours", "--", CHANGE]);
    let lost = records.commit("merged");
    let said = records.since(&start, &[]);
    let expected = format!(
        "edited-after-commit {CHANGE}: `amended` was changed without an amendment, in commit {lost} of 2026-11-22"
    );
    assert_eq!(said, [expected]);
    records.edit(CHANGE, "[void]", &format!("{ROW}\n[void]"));
    let both = records.since(&start, &[]);
    assert_eq!(both, NOTHING, "with both corrections again");
}

#[test]
fn rewritten_history_stops_the_comparison() {
    let records = Records::committed();
    records.append(CHANGE, ROW);
    let before = records.commit("amended");
    records.git(&["commit", "--quiet", "--amend", "-m", "rewritten"]);
    let said = records.exitsite(&["check", "--since", &before]);
    assert_eq!((said.status, said.stdout.as_str()), (2, ""));
    assert!(said.stderr.contains(&format!("{before} is not in the history of these records")), "{}", said.stderr);
    assert!(said.stderr.lines().count() == 1, "{}", said.stderr);
}

#[test]
fn fail_on_takes_levels_and_rules() {
    let records = Records::committed();
    records.append(CHANGE, "crust_mm = 1\n");
    records.write(
        "patients/P-002/2026/2026-11-23T0800-shower.toml",
        "kind = \"shower\"\nat = 2026-11-23T08:00:00-06:00\nby = \"rn-07\"\nnote = \"ring 312-555-0142\"\n",
    );
    let status = |more: &[&str]| records.exitsite(&[&["check"], more, &AS_OF].concat()).status;
    assert_eq!(status(&[]), 0);
    assert_eq!(status(&["--fail-on", "warning"]), 1);
    assert_eq!(status(&["--fail-on", "error", "--fail-on", "private-data"]), 1);
    assert_eq!(status(&["--fail-on", "error", "--fail-on", "edited-after-commit"]), 0);
    assert_eq!(status(&["--since", "HEAD"]), 1);
    assert_eq!(status(&["--since", "HEAD", "--fail-on", "deleted-record"]), 0);
    assert_eq!(status(&["--since", "HEAD", "--fail-on", "deleted-record", "--fail-on", "edited-after-commit"]), 1);
    let said = records.exitsite(&["check", "--fail-on", "privat-data"]);
    assert!(said.status == 2 && said.stderr.contains("private-data"), "{}", said.stderr);
    // Only the requested scope, for deleted records as well.
    records.remove(CULTURE);
    assert_eq!(records.since("HEAD", &["patients/P-002"]), NOTHING);
    assert_eq!(records.since("HEAD", &[CULTURE]).len(), 1);
    assert_eq!(records.since("HEAD", &["patients/P-001"]).len(), 2);
    let said = records.exitsite(&["check", "--since", "HEAD", "patients/P-009"]);
    assert!(said.status == 2 && said.stderr.contains("there is no patients/P-009"), "{}", said.stderr);
}

#[test]
fn the_working_folder_is_compared_without_touching_the_index() {
    let records = Records::committed();
    records.append(CHANGE, ROW);
    let before = state(records.kept.path());
    assert_eq!(records.since("HEAD", &[]), NOTHING);
    assert_eq!(told(&records.json(&["history", "P-001"])).len(), 3);
    assert_eq!(state(records.kept.path()), before);
}

#[test]
fn a_sparse_checkout_deletes_nothing_and_a_lost_text_is_said() {
    let records = Records::new();
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.commit("records");
    records.git(&["sparse-checkout", "set", "--no-cone", "/*", "!/patients/P-002/"]);
    assert!(!records.root.join(ELSEWHERE).exists());
    assert_eq!(records.since("HEAD", &[]), NOTHING);
    assert_eq!(records.exitsite(&["due", "P-002", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]]).status, 0);
    records.git(&["sparse-checkout", "disable"]);
    let id = records.git(&["rev-parse", &format!("HEAD:{CHANGE}")]);
    records.edit(CHANGE, "= 2\n", "= 3\n");
    let object = records.root.join(".git/objects").join(&id[..2]).join(&id[2..]);
    fs::remove_file(object).unwrap();
    for arguments in [&["check", "--since", "HEAD"][..], &["history", "P-001"]] {
        let said = records.exitsite(arguments);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{arguments:?}");
        assert!(said.stderr.contains(&format!("git is missing an earlier version of {CHANGE}")), "{}", said.stderr);
    }
    let said = records.exitsite(&["due", "P-001", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]]);
    assert!(said.status == 3 && said.stderr.contains("the repository does not have it"), "{said:?}");
}
