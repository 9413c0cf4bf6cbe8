//! Replacing a file: only if it is still as it was read, and without any loss if it is not.

use std::os::unix::fs::symlink;

use exitsite::folder::Folder;

use super::*;

const FILE: &str = "patients/P-001/patient.toml";

fn folder(root: &Path) -> Folder {
    Folder::find(Some(root), root).unwrap()
}

fn text(root: &Path, file: &str) -> String {
    fs::read_to_string(root.join(file)).unwrap()
}

#[test]
fn a_replaced_file_keeps_its_permissions() {
    for of_file in [0o640, 0o664, 0o600, 0o444] {
        let kept = records(false);
        set_mode(&kept.path().join(FILE), of_file);
        folder(kept.path()).replace(FILE, PATIENT, "# corrected\n").unwrap();
        assert_eq!((text(kept.path(), FILE).as_str(), mode(&kept.path().join(FILE))), ("# corrected\n", of_file));
        assert_eq!(names(&kept.path().join("patients/P-001"), true), Vec::<String>::new());
    }
}

#[test]
fn a_file_that_changed_underneath_stays_and_what_was_refused_is_kept() {
    let kept = records(false);
    let root = kept.path();
    fs::write(root.join(FILE), "# somebody was here\n").unwrap();
    let refused = folder(root).replace(FILE, PATIENT, "# mine\n").unwrap_err().to_string();
    assert!(refused.contains(FILE) && refused.contains("patient.toml.rej"), "{refused}");
    assert_eq!(
        (text(root, FILE).as_str(), text(root, &format!("{FILE}.rej")).as_str()),
        ("# somebody was here\n", "# mine\n")
    );
    // A second refusal does not lose the first one's text.
    let refused = folder(root).replace(FILE, PATIENT, "# mine, again\n").unwrap_err().to_string();
    assert!(refused.contains("patient.toml.2.rej"), "{refused}");
    assert_eq!(
        (text(root, &format!("{FILE}.rej")), text(root, &format!("{FILE}.2.rej"))),
        ("# mine\n".into(), "# mine, again\n".into())
    );
    assert_eq!(names(&root.join("patients/P-001"), true), Vec::<String>::new());
}

#[test]
fn a_file_that_somebody_removed_does_not_come_back_and_what_was_refused_is_kept() {
    let kept = records(false);
    fs::remove_file(kept.path().join(FILE)).unwrap();
    let refused = folder(kept.path()).replace(FILE, PATIENT, "# mine\n").unwrap_err().to_string();
    assert!(refused.contains("patient.toml.rej"), "{refused}");
    assert!(!kept.path().join(FILE).exists());
    assert_eq!(text(kept.path(), &format!("{FILE}.rej")), "# mine\n");
}

#[test]
fn a_link_is_never_replaced_nor_written_through() {
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let target = outside.path().join("target");
    for was in ["", "# elsewhere\n"] {
        let kept = records(false);
        fs::write(&target, was).unwrap();
        fs::remove_file(kept.path().join(FILE)).unwrap();
        symlink(&target, kept.path().join(FILE)).unwrap();
        folder(kept.path()).replace(FILE, was, "# mine\n").unwrap_err();
        assert_eq!(fs::read_to_string(&target).unwrap(), was);
        assert!(kept.path().join(FILE).symlink_metadata().unwrap().is_symlink());
    }
    let kept = records(false);
    let moved = outside.path().join("P-001");
    fs::rename(kept.path().join("patients/P-001"), &moved).unwrap();
    symlink(&moved, kept.path().join("patients/P-001")).unwrap();
    let refused = folder(kept.path()).replace(FILE, PATIENT, "# mine\n").unwrap_err().to_string();
    assert!(refused.contains("is a link"), "{refused}");
    assert_eq!(names(&moved, false), ["patient.toml"]);
}

#[test]
fn of_many_corrections_at_once_one_is_made_and_every_other_is_kept_beside_it() {
    let kept = records(false);
    let root = kept.path();
    let mine: Vec<String> = (0..16).map(|n| format!("# correction {n}\n")).collect();
    let made: Vec<bool> = std::thread::scope(|scope| {
        let threads: Vec<_> =
            mine.iter().map(|mine| scope.spawn(move || folder(root).replace(FILE, PATIENT, mine).is_ok())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert_eq!(made.iter().filter(|made| **made).count(), 1);
    let names = names(&root.join("patients/P-001"), false);
    let mut texts: Vec<String> = names.iter().map(|name| text(root, &format!("patients/P-001/{name}"))).collect();
    let mut expected = mine.clone();
    texts.sort();
    expected.sort();
    assert_eq!(texts, expected);
    let won = made.iter().position(|made| *made).unwrap();
    assert_eq!(text(root, FILE), mine[won]);
}

#[test]
fn a_new_file_never_takes_the_place_of_another() {
    let kept = records(false);
    let before = tree(kept.path());
    let refused = folder(kept.path()).write_file("patients/P-001", "patient.toml", "# mine\n").unwrap_err().to_string();
    assert!(refused.contains("already exists"), "{refused}");
    assert_eq!(tree(kept.path()), before);
    folder(kept.path()).write_file("patients/P-002", "patient.toml", "# new\n").unwrap();
    assert_eq!(text(kept.path(), "patients/P-002/patient.toml"), "# new\n");
}
