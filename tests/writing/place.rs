//! Permissions of a new record, leftovers of earlier writes, and links or files in place of folders.

use std::os::unix::fs::symlink;
use std::time::{Duration, SystemTime};

use super::*;

const FILE: &str = "patients/P-001/2025/2025-11-20T1000-shower.toml";

/// Writes a record under a strict umask, as in a hospital where all files are private by default.
fn record_under_umask_077(root: &Path) {
    let before = ["sh", "-c", "umask 077; exec \"$0\" \"$@\""];
    let (status, _, error) = said(&behind(&before, root, &shower("2025-11-20T10:00", "noted")).output().unwrap());
    assert_eq!((status, error.as_str()), (Some(0), ""));
}

#[test]
fn a_record_has_the_permissions_of_its_folder_whatever_the_umask() {
    for (of_folder, of_file) in [(0o755, 0o644), (0o775, 0o664), (0o770, 0o660), (0o700, 0o600), (0o2775, 0o664)] {
        let kept = records(true);
        set_mode(&kept.path().join(YEAR), of_folder);
        record_under_umask_077(kept.path());
        assert_eq!(mode(&kept.path().join(FILE)), of_file, "{of_folder:o}");
    }
}

#[test]
fn a_new_folder_of_a_year_has_the_permissions_of_the_patients_folder() {
    for of_folder in [0o755, 0o775, 0o770, 0o2775] {
        let kept = records(false);
        let patient = kept.path().join("patients/P-001");
        set_mode(&patient, of_folder);
        record_under_umask_077(kept.path());
        assert_eq!(mode(&kept.path().join(YEAR)), of_folder, "{of_folder:o}");
        assert_eq!(mode(&kept.path().join(FILE)), of_folder & 0o666);
        assert_eq!(names(&patient, true), Vec::<String>::new());
    }
}

#[test]
fn a_record_belongs_to_the_group_of_its_folder() {
    // A user may give a file to any of their own groups; with only one group, it is that one.
    let kept = records(false);
    let patient = kept.path().join("patients/P-001");
    let groups = said(&program("id").arg("-G").output().unwrap()).1;
    let is_root = said(&program("id").arg("-u").output().unwrap()).1.trim() == "0";
    let other = if is_root { 4242 } else { groups.split_whitespace().last().unwrap().parse().unwrap() };
    std::os::unix::fs::chown(&patient, None, Some(other)).unwrap();
    set_mode(&patient, 0o770);
    record_under_umask_077(kept.path());
    let group = |path: &str| kept.path().join(path).symlink_metadata().unwrap().gid();
    assert_eq!((group(YEAR), group(FILE)), (other, other));
}

#[test]
fn leftovers_go_after_an_hour_and_stay_before() {
    let kept = records(true);
    let year = kept.path().join(YEAR);
    let minutes_ago = |minutes: u64| SystemTime::now() - Duration::from_secs(60 * minutes);
    for (name, minutes) in [
        (".2025-11-19T1000-shower.toml.aBcDeF.tmp", 61),
        (".2025-11-19T1000-shower.toml.gHiJkL.tmp", 59),
        (".2025-11-18T1000-shower.toml.mNoPqR.tmp", 60 * 24 * 30),
        (".keep", 60 * 24 * 30),
        ("notes.tmp", 60 * 24 * 30),
        ("2025-11-17T1000-shower.toml", 60 * 24 * 30),
    ] {
        let text =
            if name.ends_with(".toml") { shower_text("2025-11-17T10:00:00-06:00", "noted") } else { "half".to_owned() };
        let text = text.replace("[entered]\n", "[entered]\nat = 2025-11-17T11:00:00-06:00\n");
        fs::write(year.join(name), text).unwrap();
        let file = fs::File::options().write(true).open(year.join(name)).unwrap();
        file.set_modified(minutes_ago(minutes)).unwrap();
    }
    record_under_umask_077(kept.path());
    assert_eq!(names(&year, true), [".2025-11-19T1000-shower.toml.gHiJkL.tmp", ".keep"]);
    assert_eq!(names(&year, false), ["2025-11-17T1000-shower.toml", "2025-11-20T1000-shower.toml", "notes.tmp"]);
    assert_eq!(rules_found(kept.path()), ["leftover-of-a-write"]);
}

/// Asserts that nothing is written through `link` to `outside`, and that the sentence names it.
fn is_refused_at(kept: &TempDir, outside: &Path, names: &str) {
    let before = (tree(kept.path()), tree(outside));
    let (status, report, error) = said(&exitsite(kept.path(), &shower("2025-11-20T10:00", "noted")).output().unwrap());
    assert_eq!((status, report.as_str()), (Some(2), ""), "{error}");
    assert!(error.contains(names), "{error}");
    assert_eq!((tree(kept.path()), tree(outside)), before);
}

#[test]
fn nothing_is_written_through_a_link_that_leads_out_of_the_records() {
    for folder in [YEAR, "patients/P-001", "patients"] {
        let kept = records(true);
        let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let moved = outside.path().join("moved");
        fs::rename(kept.path().join(folder), &moved).unwrap();
        symlink(&moved, kept.path().join(folder)).unwrap();
        // With a link in place of their folder, no patients are on file.
        let names = match folder {
            "patients/P-001" => "No patient P-001",
            "patients" => "patients: this is a link or a file, not a folder",
            _ => "is a link, not a folder",
        };
        is_refused_at(&kept, outside.path(), names);
    }
    // A dangling link is not completed, either.
    let kept = records(false);
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    symlink(outside.path().join("nowhere"), kept.path().join(YEAR)).unwrap();
    is_refused_at(&kept, outside.path(), "is a link, not a folder");
}

#[test]
fn a_file_in_the_place_of_a_folder_stays() {
    let kept = records(false);
    fs::write(kept.path().join(YEAR), "somebody's notes").unwrap();
    is_refused_at(&kept, kept.path(), "is a file, not a folder");
}

#[test]
fn a_name_that_a_link_or_somebodys_file_takes_is_left_alone() {
    let kept = records(true);
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let target = outside.path().join("target");
    fs::write(&target, "somebody else's").unwrap();
    symlink(&target, kept.path().join(FILE)).unwrap();
    fs::write(kept.path().join(FILE.replace(".toml", "-2.toml")), "no record at all").unwrap();
    let (status, report, error) = said(&exitsite(kept.path(), &shower("2025-11-20T10:00", "noted")).output().unwrap());
    assert_eq!(status, Some(0), "{error}");
    assert!(report.contains("Recorded patients/P-001/2025/2025-11-20T1000-shower-3.toml"), "{report}");
    assert_eq!(fs::read_to_string(&target).unwrap(), "somebody else's");
    assert_eq!(fs::read_to_string(kept.path().join(FILE.replace(".toml", "-2.toml"))).unwrap(), "no record at all");
}
