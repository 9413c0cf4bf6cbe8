//! Records as of a commit.

use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};

use exitsite::ask;
use exitsite::day::{AsOf, Calendar};
use exitsite::folder::Folder;
use exitsite::program::Program;
use serde_json::Value;

use crate::{AS_OF, CHANGE, Records, Said, VOID, change, command, every_report, state, word};

#[test]
fn a_file_that_the_repository_lacks_is_found_and_its_patient_cannot_be_judged() {
    let records = Records::committed();
    let blob = records.git(&["rev-parse", "HEAD:patients/P-001/patient.toml"]);
    fs::remove_file(records.repository().join(".git/objects").join(&blob[..2]).join(&blob[2..])).unwrap();
    let report = records.json(&["check", "--at-commit", "HEAD"]);
    let found: Vec<(&str, &str)> =
        report["findings"].as_array().unwrap().iter().map(|f| (word(f, "rule"), word(f, "file"))).collect();
    assert!(found.contains(&("cannot-be-read", "patients/P-001/patient.toml")), "{found:?}");
    assert_eq!(report["unusable"][0]["file"], "patients/P-001/patient.toml");
    let due = records.json(&["due", "--at-commit", "HEAD"]);
    assert_eq!((word(&due["rows"][0], "patient"), word(&due["rows"][0], "state")), ("P-001", "unusable"));
}

#[test]
fn a_commit_gives_what_the_folder_gave_then_and_leaves_it_alone() {
    let records = Records::committed();
    let then = every_report(&records, &[]);
    let at = records.head();
    records.append(CHANGE, VOID);
    records.write("patients/P-002/2026/2026-11-23T0800-change.toml", &change("2026-11-23T08:00"));
    records.write("patients/P-003/patient.toml", "broken");
    records.commit("more");
    records.edit("policy.toml", "schema = 1", "schema = 2");
    let before = state(records.kept.path());
    assert_eq!(every_report(&records, &["--at-commit", &at]), then);
    assert_eq!(every_report(&records, &["--at-commit", "HEAD~1"]), then);
    for arguments in [&["check", "--since", "HEAD~1", "--at-commit", "HEAD"][..], &["history", "--at-commit", "HEAD"]] {
        assert_ne!(records.exitsite(arguments).status, 2, "{arguments:?}");
    }
    assert_eq!(state(records.kept.path()), before);
    // `history` needs a commit, not a tree.
    let tree = records.git(&["rev-parse", "HEAD~1^{tree}"]);
    let of_tree = every_report(&records, &["--at-commit", &tree]);
    assert_eq!(of_tree[..14], then[..14]);
    for named in ["HEAD~1^{tree}", &tree[..12]] {
        let said = records.exitsite(&["due", "--at-commit", named]);
        assert!(said.status == 2 && said.stderr.contains("is not a commit"), "{named}: {said:?}");
    }
    assert_ne!(every_report(&records, &["--at-commit", "HEAD"]), then);
}

#[test]
fn as_of_stays_now_whatever_the_commit() {
    let records = Records::committed();
    let said = records.exitsite(&["due", "--at-commit", "HEAD", "--json"]);
    let report: Value = serde_json::from_str(&said.stdout).unwrap();
    let now = chrono::Utc::now().timestamp();
    let as_of = chrono::DateTime::parse_from_rfc3339(word(&report, "as_of")).unwrap().timestamp();
    assert!((now - as_of).abs() < 60, "{as_of} is not now");
}

#[test]
fn links_large_files_and_odd_names_are_in_a_commit_what_they_are_on_the_disk() {
    let records = Records::new();
    fs::write(records.kept.path().join("outside.toml"), change("2026-11-21T18:55")).unwrap();
    let year = records.root.join("patients/P-001/2026");
    symlink(records.kept.path().join("outside.toml"), year.join("2026-11-21T1855-change.toml")).unwrap();
    symlink("../../P-002", year.join("2026")).unwrap();
    fs::create_dir_all(records.root.join("patients/P-004")).unwrap();
    symlink("../P-001/patient.toml", records.root.join("patients/P-004/patient.toml")).unwrap();
    symlink("P-001", records.root.join("patients/P-005")).unwrap();
    records.write("patients/P-002/2026/2026-11-20T1855-change.toml", &"#".repeat(256 * 1024 + 1));
    records
        .write("patients/P-002/2026/2026-11-19T1855-change.toml", &(change("2026-11-19T18:55") + &"#".repeat(250_000)));
    fs::write(records.root.join("patients/P-002/2026/2026-11-18-change.toml"), b"kind = \"change\xff\"").unwrap();
    for name in
        [&b"\xff.toml"[..], "\u{420}-001.toml".as_bytes(), b"two\nlines.toml", b" .toml", b"2026-11-18-change.toml~"]
    {
        fs::write(year.join(OsStr::from_bytes(name)), "").unwrap();
        fs::write(records.root.join("patients").join(OsStr::from_bytes(name)), "").unwrap();
        fs::write(records.root.join(OsStr::from_bytes(name)), "").unwrap();
    }
    fs::set_permissions(records.root.join(CHANGE), fs::Permissions::from_mode(0o755)).unwrap();
    records.write("patients/P-002/2026/2026/inside.toml", "");
    let on_disk = every_report(&records, &[]);
    records.commit("odd");
    let in_commit = every_report(&records, &["--at-commit", "HEAD"]);
    assert_eq!(in_commit[..14], on_disk[..14]);
    let found = &in_commit[11].stdout;
    for rule in ["not-a-regular-file", "too-large", "not-utf8", "stray-name", "stray-folder"] {
        assert!(found.contains(rule), "no {rule} in {found}");
    }
    assert!(found.contains("\\\\xFF.toml"), "{found}");
    // A submodule in place of a folder or of a file counts as neither.
    let id = records.git(&["rev-parse", "HEAD"]);
    for path in ["patients/P-009", "patients/P-002/2026/2026-11-17-change.toml"] {
        records.git(&["update-index", "--add", "--cacheinfo", &format!("160000,{id},{path}")]);
    }
    let tree = records.git(&["write-tree"]);
    let report = records.json(&["check", "--at-commit", &tree]);
    let of = |file: &str| {
        let findings = report["findings"].as_array().unwrap().iter();
        findings.filter(|found| found["file"] == file).map(|found| word(found, "rule").to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(of("patients/P-009"), ["stray-folder"]);
    assert_eq!(of("patients/P-002/2026/2026-11-17-change.toml"), ["not-a-regular-file"]);
}

#[test]
fn a_commit_is_read_as_lazily_as_the_disk() {
    let records = Records::new();
    // Twenty of the days that signals look back over, and twenty much earlier ones.
    for (year, day) in [2016, 2026].into_iter().flat_map(|year| (1..=20).map(move |day| (year, day))) {
        let time = format!("{year}-11-{day:02}T18:00");
        let name = time.replace(':', "");
        records.write(&format!("patients/P-002/{year}/{name}-change.toml"), &change(&time));
    }
    records.commit("records");
    let tally = |folder: Folder| {
        let program = Program::open(folder).unwrap();
        let calendar = Calendar::new("03:00:00".parse().unwrap(), chrono_tz::America::Chicago);
        let as_of = AsOf::read(AS_OF[1], &calendar).unwrap();
        let codes = program.codes(&[]).unwrap();
        let (report, _) = ask::due(&program, &codes, as_of, true);
        assert_eq!(report.rows.len(), 2);
        program.folder.tally()
    };
    let root = Some(records.root.as_path());
    let on_disk = tally(Folder::find(root, &records.root).unwrap());
    assert_eq!(tally(Folder::at_commit(root, &records.root, "HEAD").unwrap()), on_disk);
    assert!(on_disk.1 < 35, "{on_disk:?}");
}

#[test]
fn a_folder_of_a_repository_a_worktree_and_a_bare_repository_answer_alike() {
    let records = Records::below("care/records");
    records.write("../notes.txt", "none of the records");
    let expected = records.exitsite(&["due", "--json", AS_OF[0], AS_OF[1]]);
    records.commit("records");
    let at_head = ["due", "--json", "--at-commit", "HEAD", AS_OF[0], AS_OF[1]];
    assert_eq!(records.exitsite(&at_head), expected);
    // In a hook, the environment names the repository, relative or not, with its own index.
    let git_dir = records.repository().join(".git");
    for told in [git_dir.as_os_str(), OsStr::new(".git"), OsStr::new("nowhere")] {
        let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
        run.args(at_head).env("GIT_DIR", told).env("GIT_INDEX_FILE", "none").env("GIT_PREFIX", "x/");
        assert_eq!(Said::from(run.output().unwrap()), expected, "{told:?}");
    }
    let away = records.kept.path().join("worktree");
    records.git(&["worktree", "add", "--quiet", away.to_str().unwrap()]);
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    assert_eq!(Said::from(run.args(at_head).current_dir(away.join("care/records")).output().unwrap()), expected);
    // A tree of the records alone, in a repository without a folder.
    let bare = records.kept.path().join("bare.git");
    records.git(&["clone", "--quiet", "--bare", records.repository().to_str().unwrap(), bare.to_str().unwrap()]);
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    run.args(["due", "--json", "--records", ".", "--at-commit", "main:care/records", AS_OF[0], AS_OF[1]]);
    assert_eq!(Said::from(run.current_dir(&bare).output().unwrap()), expected);
    // The environment alone names the repository.
    let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
    fs::rename(&git_dir, records.kept.path().join("elsewhere.git")).unwrap();
    run.args(at_head)
        .env("GIT_DIR", records.kept.path().join("elsewhere.git"))
        .env("GIT_WORK_TREE", records.repository())
        .env("GIT_CEILING_DIRECTORIES", records.kept.path());
    assert_eq!(Said::from(run.output().unwrap()), expected);
}

#[test]
fn what_names_no_commit_is_one_sentence() {
    let records = Records::committed();
    for named in ["nope", "-x", "--all", "", "HEAD..HEAD", "^HEAD", "HEAD:policy.toml", "HEAD~9", "a\u{1b}[2J"] {
        for flag in ["--at-commit", "--since"] {
            let said = records.exitsite(&["check", &format!("{flag}={named}")]);
            assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{named}: {}", said.stderr);
            assert!(said.stderr.starts_with(&format!("exitsite: {flag} ")), "{named}: {}", said.stderr);
            assert!(said.stderr.contains("is not a commit") && said.stderr.lines().count() == 1, "{}", said.stderr);
        }
    }
    let said = records.exitsite(&["due", "--at-commit", "HEAD:patients"]);
    assert_eq!(said.status, 2);
    assert!(said.stderr.contains("was not a records folder at HEAD:patients"), "{}", said.stderr);
    let said = records.exitsite(&["check", "--since", "HEAD^{tree}"]);
    assert!(said.status == 2 && said.stderr.contains("is not a commit"), "{}", said.stderr);
}

#[test]
fn without_git_or_a_repository_one_sentence_says_so() {
    let records = Records::committed();
    let without = |arguments: &[&str]| -> Said {
        let nothing = records.kept.path().join("nothing");
        let mut run = command(env!("CARGO_BIN_EXE_exitsite"), &records.root, records.kept.path(), nothing.as_os_str());
        run.args(arguments).output().unwrap().into()
    };
    for arguments in [&["due", "--at-commit", "HEAD"][..], &["check", "--since", "HEAD"]] {
        let said = without(arguments);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{}", said.stderr);
        assert!(said.stderr.contains("install git"), "{}", said.stderr);
    }
    assert_eq!(without(&["check", AS_OF[0], AS_OF[1]]).status, 0);
    let said = without(&["history", "P-001", AS_OF[0], AS_OF[1]]);
    assert_eq!(said.status, 0, "{}", said.stderr);
    assert!(said.stdout.contains("Not in git: the history shows only what the records state."), "{}", said.stdout);
    assert_eq!(said.stdout.matches("rn-07  recorded").count(), 2, "{}", said.stdout);
    fs::remove_dir_all(records.root.join(".git")).unwrap();
    for arguments in [&["due", "--at-commit", "HEAD"][..], &["check", "--since", "HEAD"]] {
        let mut run = records.command(env!("CARGO_BIN_EXE_exitsite"));
        // The folder of this test may be inside a repository.
        run.args(arguments).env("GIT_CEILING_DIRECTORIES", records.kept.path());
        let said = Said::from(run.output().unwrap());
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{}", said.stderr);
        assert!(said.stderr.contains("is not in a git repository"), "{}", said.stderr);
    }
}
