//! Records that another branch has and this folder lacks: `check --against`.

use std::path::PathBuf;

use crate::{CHANGE, CULTURE, ELSEWHERE, NOTHING, ROW, Records, VOID, change, word};

/// Records with a remote that has everything committed so far.
fn with_remote() -> (Records, PathBuf) {
    let records = Records::committed();
    let bare = records.kept.path().join("remote.git");
    records.git(&["init", "--quiet", "--bare", "--initial-branch=main", bare.to_str().unwrap()]);
    records.git(&["remote", "add", "origin", bare.to_str().unwrap()]);
    records.git(&["push", "--quiet", "origin", "main"]);
    (records, bare)
}

fn found(records: &Records, more: &[&str]) -> Vec<String> {
    let report = records.json(&[&["check", "--against", "origin/main"], more].concat());
    let rules = ["missing-here", "earlier-here", "differs-there"];
    let findings = report["findings"].as_array().unwrap().iter().filter(|one| rules.contains(&word(one, "rule")));
    findings.map(|one| format!("{} {}", word(one, "rule"), word(one, "file"))).collect()
}

/// Commits and pushes a day, then restores the folder to the state before it.
fn lost(records: &Records, day: fn(&Records)) {
    let before = records.git(&["rev-parse", "HEAD"]);
    day(records);
    records.commit("a day");
    records.git(&["push", "--quiet", "origin", "main"]);
    records.git(&["reset", "--quiet", "--hard", &before]);
    records.git(&["fetch", "--quiet"]);
}

#[test]
fn a_day_that_only_the_remote_has_is_named_record_by_record() {
    let (records, _) = with_remote();
    assert_eq!(found(&records, &[]), NOTHING);
    lost(&records, |r| {
        r.write(ELSEWHERE, &change("2026-11-23T08:00"));
        r.write("patients/P-003/patient.toml", &r.read("patients/P-002/patient.toml").replace("P-002", "P-003"));
        r.write(CHANGE, &(r.read(CHANGE).replace("= 2\n", "= 3\n") + ROW));
        r.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n");
    });
    assert_eq!(
        found(&records, &[]),
        [
            format!("earlier-here {CULTURE}"),
            format!("earlier-here {CHANGE}"),
            format!("missing-here {ELSEWHERE}"),
            "missing-here patients/P-003/patient.toml".to_owned(),
        ]
    );
    let said = records.exitsite(&["check", "--since", "HEAD", "--against", "origin/main"]);
    assert_eq!(said.status, 1, "{}", said.stderr);
    for words in [
        "Compared with origin/main as of the last `git fetch`: 2 records missing here, 2 records newer there, 0",
        "it was amended there",
        "it was completed there",
    ] {
        assert!(said.stdout.replace('\n', " ").contains(words), "{words}\n{}", said.stdout);
    }
    // The command named by the help brings it back.
    records.git(&["checkout", "origin/main", "--", "."]);
    assert_eq!(found(&records, &[]), NOTHING);
}

#[test]
fn what_this_folder_has_beyond_the_remote_is_not_missing() {
    let (records, _) = with_remote();
    records.write(ELSEWHERE, &change("2026-11-23T08:00"));
    records.write(CHANGE, &(records.read(CHANGE).replace("= 2\n", "= 3\n") + ROW));
    records.append(CULTURE, "[result]\non = 2026-11-23\ngrowth = false\n");
    assert_eq!(found(&records, &[]), NOTHING);
    records.append(CHANGE, VOID);
    assert_eq!(found(&records, &[]), NOTHING);
    let said = records.exitsite(&["check", "--against", "origin/main"]);
    assert!(said.stdout.contains("0 records missing here") && said.stdout.contains("never pushed"), "{}", said.stdout);
}

#[test]
fn two_forms_of_one_file_are_shown_without_choosing() {
    let (records, _) = with_remote();
    lost(&records, |r| r.edit(CHANGE, "= 2\n", "= 3\n"));
    records.edit(CHANGE, "= 2\n", "= 4\n");
    records.append("people.toml", "[[person]]\ncode = \"rn-08\"\nrole = \"nurse\"\n");
    assert_eq!(found(&records, &[]), [format!("differs-there {CHANGE}"), "differs-there people.toml".to_owned()]);
    // As warnings alone they do not make `check` fail.
    assert_eq!(records.exitsite(&["check", "--against", "origin/main"]).status, 0);
}

#[test]
fn a_branch_that_is_not_there_is_refused_in_a_sentence() {
    let records = Records::committed();
    let said = records.exitsite(&["check", "--against", "origin/main"]);
    assert_eq!((said.status, said.stdout.as_str()), (2, ""));
    let expected =
        "exitsite: --against origin/main is not a commit of this repository; `git log --oneline` lists them\n";
    assert_eq!(said.stderr, expected);
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    std::fs::write(folder.path().join("policy.toml"), "").unwrap();
    let root = folder.path().to_str().unwrap();
    let outside = records.exitsite(&["check", "--records", root, "--against", "origin/main"]);
    assert_eq!(outside.status, 2, "{}", outside.stdout);
}
