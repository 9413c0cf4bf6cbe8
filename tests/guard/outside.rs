//! Pages, tables and states stay out of the records, and out of any other records folder.

use std::os::unix::fs::symlink;

use crate::desk::Desk;

#[test]
fn nothing_but_records_is_written_into_the_records() {
    let (desk, other) = (Desk::new(), Desk::new());
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    symlink(desk.root(), away.path().join("way-in")).unwrap();
    let into = |folder: &str, name: &str| format!("{folder}/{name}");
    let folders = [
        desk.root().display().to_string(),
        desk.root().join("patients/P-001").display().to_string(),
        desk.root().join("patients").display().to_string(),
        other.root().display().to_string(),
        other.root().join("patients/P-001").display().to_string(),
        away.path().join("way-in").display().to_string(),
        away.path().join("way-in/patients").display().to_string(),
    ];
    for folder in &folders {
        let page = into(folder, "page.html");
        let before = other.everything();
        let commands: [&[&str]; 5] = [
            &["show", "P-001", "--html", &page],
            &["sheet", "P-001", "--html", &page],
            &["audit", "--month", "2026-10", "--html", &page],
            &["sheet", "P-001", "--csv", &page],
            &["export", "csv", &page],
        ];
        for arguments in commands {
            let said = desk.refused(arguments);
            assert!(said.contains("inside the records folder"), "{arguments:?}: {said}");
        }
        // Alerts still go out, with the reason: a state that cannot be kept must not silence them.
        let own = desk.everything();
        let told = desk.run(&["alert", "--state", &page]);
        assert!(told.status == 2 && told.stderr.contains("inside the records folder"), "{told:?}");
        assert_eq!((desk.everything(), other.everything()), (own, before));
    }
    // Outside the records they are written.
    let page = away.path().join("page.html").display().to_string();
    assert!(desk.done(&["show", "P-001", "--html", &page]).starts_with("Wrote "));
}
