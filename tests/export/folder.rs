//! The export folder: new or empty, outside the records, complete or absent.

use std::os::unix::fs::PermissionsExt;
use std::process::Command;

use super::*;

/// The paths below a folder, each with its contents if it is a file.
fn holdings(folder: &Path) -> Vec<(PathBuf, Option<Vec<u8>>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(holdings(&path));
            found.push((path, None));
        } else {
            // A dangling link has no contents.
            let bytes = fs::read(&path).unwrap_or_default();
            found.push((path, Some(bytes)));
        }
    }
    found.sort();
    found
}

/// Asserts that an export is refused and changes nothing. Returns the message.
pub(super) fn refused(records: &Path, here: &Path, arguments: &[&str]) -> String {
    let before = [holdings(records), holdings(here)];
    let Outcome { stdout, stderr, status, .. } = said(records, here, arguments);
    assert_eq!((status, stdout.as_str()), (2, ""), "{arguments:?}: {stderr}");
    assert_eq!([holdings(records), holdings(here)], before, "{arguments:?}");
    stderr
}

#[test]
fn a_folder_that_holds_anything_is_left_alone() {
    let (desk, here) = (desk::Desk::new(), folder());
    let sentence = |arguments: &[&str]| {
        let stderr = refused(desk.root(), here.path(), arguments);
        assert_eq!(stderr.lines().count(), 1, "{stderr}");
        stderr
    };
    fs::create_dir_all(here.path().join("full")).unwrap();
    fs::write(here.path().join("full/.hidden"), "mine").unwrap();
    fs::write(here.path().join("file"), "mine").unwrap();
    std::os::unix::fs::symlink("nowhere", here.path().join("link")).unwrap();
    assert!(sentence(&["csv", "full"]).contains("is not empty"));
    assert!(sentence(&["csv", "file"]).contains("is not a folder"));
    assert!(sentence(&["csv", "link"]).contains("is not a folder"));
    assert!(sentence(&["csv", "."]).contains("is not empty"));
    assert!(sentence(&["csv", "missing/out"]).contains("create it first"));
    assert!(sentence(&["csv", "missing/.."]).contains("is not the name of a folder"));
    // clap explains usage errors, in more than a sentence.
    assert!(refused(desk.root(), here.path(), &["cvs", "out"]).contains("possible values: csv, json"));
    assert!(refused(desk.root(), here.path(), &["csv"]).contains("<DIR>"));
    assert!(sentence(&["csv", "out", "--patient", "P-01"]).contains("Did you mean P-001?"));
    assert!(sentence(&["csv", "out", "--from", "yesterday"]).contains("Write 2026-11-24"));
    assert!(sentence(&["csv", "out", "--from", "2026-11-02", "--to", "2026-11-01"]).contains("swap the two days"));
    desk.put("policy.toml", "schema = 1\nprogram = 'Invented'\n");
    assert!(sentence(&["csv", "out"]).contains("policy.toml cannot be used"));
}

#[test]
fn the_records_are_no_place_for_an_export() {
    let (desk, here) = (desk::Desk::new(), folder());
    let records = desk.root().to_str().unwrap();
    fs::create_dir(desk.root().join("patients/P-002")).unwrap();
    std::os::unix::fs::symlink(desk.root(), here.path().join("way-in")).unwrap();
    for dir in ["out", "patients/out", "patients/P-002", "patients/../out"] {
        assert!(
            refused(desk.root(), here.path(), &["csv", &format!("{records}/{dir}")]).contains("inside the records"),
            "{dir}"
        );
    }
    assert!(refused(desk.root(), here.path(), &["csv", "way-in/out"]).contains("inside the records"));
    assert!(refused(desk.root(), here.path(), &["csv", records]).contains("is not empty"));
}

#[test]
fn an_empty_folder_is_filled_and_stays_the_same_folder() {
    let (desk, here) = (desk::Desk::new(), folder());
    let dir = here.path().join("out");
    fs::create_dir(&dir).unwrap();
    fs::set_permissions(&dir, fs::Permissions::from_mode(0o750)).unwrap();
    assert_eq!(said(desk.root(), here.path(), &["csv", "out/"]).status, 0);
    assert_eq!(fs::metadata(&dir).unwrap().permissions().mode() & 0o777, 0o750);
    let names: Vec<_> = holdings(&dir).into_iter().map(|(path, _)| path.file_name().unwrap().to_owned()).collect();
    assert!(names.len() == 20 && names.iter().all(|name| name.to_str().unwrap().ends_with(".csv")), "{names:?}");
    assert_eq!(refused(desk.root(), here.path(), &["json", "out"]).lines().count(), 1);
}

/// Runs the binary as the last part of another command line, as from a shell.
pub(super) fn behind(words: &[&str], records: &Path, here: &Path, more: &[&str]) -> (Option<i32>, String, String) {
    let program = env!("CARGO_BIN_EXE_exitsite");
    let words: Vec<&str> = [words, &[program, "export", "csv", "out"], more].concat();
    let output = Command::new(words[0])
        .args(&words[1..])
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap())
        .env("EXITSITE_RECORDS", records)
        .current_dir(here)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

#[test]
fn without_space_or_permission_nothing_is_left_behind() {
    let (desk, here) = (desk::Desk::new(), folder());
    let limit = ["sh", "-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""];
    let (status, stdout, stderr) = behind(&limit, desk.root(), here.path(), &[]);
    assert_eq!((status, stdout.as_str(), stderr.lines().count()), (Some(2), "", 1), "{stderr}");
    assert!(stderr.contains("cannot write") && stderr.contains("out"), "{stderr}");
    assert_eq!(holdings(here.path()), []);

    let is_root = Command::new("id").arg("-u").output().unwrap().stdout == b"0\n";
    let user: &[&str] = if is_root { &["setpriv", "--bounding-set=-all", "--inh-caps=-all"] } else { &[] };
    fs::set_permissions(here.path(), fs::Permissions::from_mode(0o555)).unwrap();
    let (status, stdout, stderr) = behind(user, desk.root(), here.path(), &[]);
    fs::set_permissions(here.path(), fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!((status, stdout.as_str(), stderr.lines().count()), (Some(2), "", 1), "{stderr}");
    assert!(stderr.contains("ask for permission"), "{stderr}");
    assert_eq!(holdings(here.path()), []);
    let (status, ..) = behind(&[], desk.root(), here.path(), &[]);
    assert_eq!(status, Some(0));
}
