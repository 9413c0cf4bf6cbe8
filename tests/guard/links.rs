//! Links in place of folders: none is followed, and no patient disappears behind one.

use std::fs;
use std::os::unix::fs::symlink;

use crate::desk::Desk;

/// Moves a folder of the records elsewhere and replaces it by a link.
fn linked(desk: &Desk, name: &str) -> tempfile::TempDir {
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let target = away.path().join("target");
    fs::rename(desk.root().join(name), &target).unwrap();
    symlink(&target, desk.root().join(name)).unwrap();
    away
}

#[test]
fn patients_as_a_link_is_an_error_of_every_command() {
    let desk = Desk::new();
    let _away = linked(&desk, "patients");
    let commands: [&[&str]; 10] = [
        &["due"],
        &["missed"],
        &["signals"],
        &["handoff"],
        &["show", "P-001"],
        &["check"],
        &["audit", "--month", "2026-10"],
        &["history"],
        &["record", "shower", "P-001", "--at", "2026-11-23T18:40", "--by", "patient", "--yes"],
        &["grade"],
    ];
    for arguments in commands {
        let said = desk.run(arguments);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{arguments:?}: {}", said.stderr);
        assert!(said.stderr.contains("patients: this is a link"), "{arguments:?}: {}", said.stderr);
    }
    let said = desk.run(&["alert"]);
    assert!(said.status == 2 && said.stderr.contains("patients: this is a link"), "{said:?}");
}

#[test]
fn staff_as_a_link_is_found_and_nobody_is_signed_off_by_it() {
    let desk = Desk::new();
    desk.put("staff/rn-07/2026/2026-01-12T1000-teaching.toml", "kind = \"teaching\"\n");
    let _away = linked(&desk, "staff");
    let findings = desk.findings();
    assert!(findings.contains(&"not-a-regular-file".to_owned()), "{findings:?}");
    let said = desk.run(&["teaching", "rn-07"]);
    assert_eq!(said.status, 3, "{said:?}");
    assert!(said.stderr.contains("staff: this is a link"), "{}", said.stderr);
}

#[test]
fn a_patient_or_a_year_as_a_link_is_unusable_and_listed() {
    for name in ["patients/P-001", "patients/P-001/2026"] {
        let desk = Desk::new();
        desk.put(
            "patients/P-001/2026/2026-11-23T1840-shower.toml",
            "kind = \"shower\"\non = 2026-11-23\nby = \"patient\"\n",
        );
        let _away = linked(&desk, name);
        let said = desk.run(&["due"]);
        assert_eq!(said.status, 3, "{name}: {said:?}");
        assert!(said.stdout.contains("P-001"), "{name}: {}", said.stdout);
    }
}

#[test]
fn patients_as_a_link_in_a_commit_is_an_error_too() {
    let desk = Desk::new();
    let _away = linked(&desk, "patients");
    for arguments in [&["init", "--quiet"][..], &["add", "--all", "."], &["commit", "--quiet", "-m", "records"]] {
        let mut git = std::process::Command::new("git");
        git.current_dir(desk.root()).env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
        git.args(["-c", "user.name=Invented", "-c", "user.email=invented@example.org"]).args(arguments);
        assert!(git.status().unwrap().success());
    }
    let said = desk.run(&["due", "--at-commit", "HEAD"]);
    assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{}", said.stderr);
    assert!(said.stderr.contains("patients: this is a link"), "{}", said.stderr);
}
