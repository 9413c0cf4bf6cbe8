//! Control characters in typed paths, revisions and times are escaped when quoted.

use exitsite::text::is_unprintable;

use crate::desk::Desk;

const TRAP: &str = "a\u{1b}]0;owned\u{7}\u{202e}b";

#[test]
fn every_argument_is_made_visible() {
    let desk = Desk::new();
    let commands: [&[&str]; 40] = [
        &["due", TRAP],
        &["due", "--as-of", TRAP],
        &["due", "--at-commit", TRAP],
        &["due", "--within", TRAP],
        &["due", "--records", TRAP],
        &["due", TRAP, "--records", "patients"],
        &["missed", "--from", TRAP],
        &["missed", "--to", TRAP],
        &["show", TRAP],
        &["show", "P-001", "--html", TRAP],
        &["show", "P-001", "--html", "none/a\u{1b}b/page.html"],
        &["sheet", "P-001", "--month", TRAP],
        &["sheet", "P-001", "--csv", TRAP],
        &["sheet", "--checkoff", TRAP],
        &["audit", "--month", TRAP],
        &["audit", "--from", TRAP, "--to", TRAP],
        &["audit", "--issued", TRAP],
        &["audit", "--by", TRAP],
        &["check", TRAP],
        &["check", "--since", TRAP],
        &["check", "--explain", TRAP],
        &["check", "--fail-on", TRAP],
        &["history", TRAP],
        &["import", TRAP],
        &["import", "policy.toml", "--map", TRAP],
        &["export", "csv", TRAP],
        &["export", TRAP, "out"],
        &["record", TRAP],
        &["record", "shower", TRAP],
        &["amend", TRAP, "--set", TRAP],
        &["void", TRAP],
        &["handoff", "--since", TRAP],
        &["handoff", "--html", "none/a\u{1b}b/page.html"],
        &["contacts", TRAP],
        &["contacts", "check", "--contacts", TRAP],
        &["signals", "--waiting", TRAP],
        &["due", "--html", "none/a\u{1b}b/page.html", "--contacts", TRAP],
        &["alert", "--smtp", TRAP, "--from", "vad@example.org"],
        &["alert", "--sendmail", TRAP, "--from", TRAP],
        &[TRAP],
    ];
    for arguments in commands {
        let said = desk.run(arguments);
        let is_raw = |c: char| is_unprintable(c) && c != '\n';
        assert!(!said.stderr.contains(is_raw) && !said.stdout.contains(is_raw), "{arguments:?}: {said:?}");
        assert_eq!(said.status, 2, "{arguments:?}: {said:?}");
    }
}

#[test]
fn a_path_that_was_written_is_shown_as_it_is() {
    let desk = Desk::new();
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let path = |name: &str| away.path().join(format!("{TRAP}{name}")).display().to_string();
    for (arguments, name) in [
        (&["show", "P-001", "--html"][..], "show.html"),
        (&["sheet", "P-001", "--html"], "sheet.html"),
        (&["sheet", "P-001", "--csv"], "sheet.csv"),
        (&["audit", "--month", "2026-10", "--html"], "audit.html"),
        (&["export", "csv"], "tables"),
        (&["init"], "records"),
    ] {
        let said = desk.run(&[arguments, &[&path(name)]].concat());
        assert_eq!(said.status, 0, "{arguments:?}: {said:?}");
        assert!(said.stdout.contains("\\u{1b}") && !said.stdout.contains(['\u{1b}', '\u{202e}']), "{said:?}");
    }
}
