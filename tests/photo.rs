//! Pictures: the record that one was taken, never the picture itself; the properties in its file; and whether it is
//! still in its folder.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use desk::{Desk, Person};
use exitsite::command::Outcome;
use tempfile::TempDir;

/// A desk with a policy that names one place for pictures, and a folder of pictures outside the records.
fn desk() -> (Desk, TempDir) {
    let desk = Desk::new();
    desk.put("policy.toml", &format!("{}[photos]\nkept_at = ['imaging']\n", desk.get("policy.toml")));
    (desk, tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap())
}

/// A small JPEG without properties; `tail` makes different pictures.
fn plain(tail: &str) -> Vec<u8> {
    [&[0xff, 0xd8, 0xff, 0xfe, 0x00, 2 + tail.len() as u8], tail.as_bytes(), &[0xff, 0xd9]].concat()
}

/// A JPEG with a maker, a latitude and an owner in its properties, built byte by byte by TIFF 6.0 and Exif 2.3.
fn telling() -> Vec<u8> {
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [&tag.to_le_bytes()[..], &kind.to_le_bytes(), &count.to_le_bytes(), &value].concat()
    };
    let mut tiff = b"II*\0\x08\0\0\0".to_vec();
    // Two entries: a maker, and the offset of the location, at byte 8 + 2 + 3 * 12 + 4 = 50.
    tiff.extend(3u16.to_le_bytes());
    tiff.extend(entry(0x010f, 2, 4, *b"Inv\0"));
    tiff.extend(entry(0x013b, 2, 4, *b"Abc\0"));
    tiff.extend(entry(0x8825, 4, 1, 50u32.to_le_bytes()));
    tiff.extend([0; 4]);
    tiff.extend(1u16.to_le_bytes());
    tiff.extend(entry(0x0001, 2, 2, *b"N\0\0\0"));
    tiff.extend([0; 4]);
    let segment = [b"Exif\0\0", &tiff[..]].concat();
    let length = (segment.len() as u16 + 2).to_be_bytes();
    [&[0xff, 0xd8, 0xff, 0xe1], &length[..], &segment, &[0xff, 0xd9]].concat()
}

fn kept(folder: &TempDir, name: &str, bytes: &[u8]) -> String {
    let path = folder.path().join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

/// The digest by the system's own program.
fn sum(path: &str) -> String {
    let output = Command::new("sha256sum").arg(path).output().unwrap();
    String::from_utf8(output.stdout).unwrap().split(' ').next().unwrap().to_owned()
}

fn record<'a>(file: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    [&["record", "photo", "P-001", "--file", file, "--by", "rn-07", "--at", "2026-11-24T07:10"], more].concat()
}

fn written(desk: &Desk) -> String {
    desk.get("patients/P-001/2026/2026-11-24T0710-photo.toml")
}

#[test]
fn the_sum_and_the_size_are_recorded_and_no_pixel_path_or_name() {
    let (desk, folder) = desk();
    let file = kept(&folder, "Mr Smith site.jpg", &plain("one"));
    let said = desk.done(&record(&file, &["--yes"]));
    let text = written(&desk);
    assert!(text.contains(&format!("sha256 = \"{}\"\nbytes = 11\nkept_at = \"imaging\"\n", sum(&file))), "{text}");
    let all: String = desk.everything().into_iter().map(|(name, text)| name + &text).collect();
    for private in ["Smith", "site.jpg", folder.path().to_str().unwrap()] {
        assert!(!all.contains(private) && !said.contains(private), "{private}: {said}");
    }
    assert_eq!(desk.findings(), Vec::<String>::new());
    let shown = desk.done(&["show", "P-001"]);
    assert!(shown.contains(&format!("picture {}…, 11 bytes, kept at imaging", &sum(&file)[..12])), "{shown}");
    assert!(fs::read(&file).unwrap() == plain("one"));
}

#[test]
fn what_its_file_says_beside_the_picture_is_asked_about_and_never_printed() {
    let (desk, folder) = desk();
    let file = kept(&folder, "site.jpg", &telling());
    let doubt = "contains the location, the device and a person: remove that first";
    let said = desk.refused(&record(&file, &[])).to_lowercase();
    assert!(said.contains(doubt), "{said}");
    let Outcome { stderr, status, .. } = desk.run(&record(&file, &["--yes"]));
    assert!(status == 0 && stderr.to_lowercase().contains(doubt), "{stderr}");
    assert!(!stderr.contains("Inv") && !stderr.contains("Abc"), "{stderr}");
    // At a terminal, a no writes nothing.
    let (desk, _) = self::desk();
    let before = desk.everything();
    let person = Person::typing(&["n", "n", "n"]);
    desk.run_as(Some("rn-07"), &record(&file, &[]), Some(&person));
    assert!(person.saw().to_lowercase().contains(doubt), "{}", person.saw());
    assert_eq!(desk.everything(), before);
    // A packet of properties across two blocks of reading.
    let packet = [vec![b' '; 64 * 1024 - 4], b"<x:xmpmeta>".to_vec()].concat();
    let file = kept(&folder, "packet.png", &packet);
    assert!(desk.refused(&record(&file, &[])).contains("other properties"));
    let file = kept(&folder, "plain.jpg", &plain("nothing"));
    assert_eq!(desk.run(&record(&file, &["--yes"])).stderr, "");
}

#[test]
fn a_file_that_is_no_picture_of_the_program_is_refused_in_a_sentence() {
    let (desk, folder) = desk();
    let inside = desk.root().join("site.jpg");
    fs::write(&inside, "an invented picture").unwrap();
    let pipe = folder.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let empty = kept(&folder, "empty.jpg", b"");
    for (file, why) in [
        ("nowhere.jpg", "does not exist; check the file name"),
        (inside.to_str().unwrap(), "is inside the records folder; move the picture to where pictures are kept"),
        (folder.path().to_str().unwrap(), "is a folder; name the file in it"),
        (pipe.to_str().unwrap(), "is not a regular file"),
        (&empty, "is empty"),
    ] {
        let said = desk.refused(&record(file, &["--yes"]));
        assert!(said.contains(why), "{said}");
    }
    fs::remove_file(inside).unwrap();
    let file = kept(&folder, "site.jpg", &plain("one"));
    let other = "0".repeat(64);
    for (more, why) in [
        (&["--sha256", &other, "--yes"][..], "the file has a different checksum. Leave --sha256 out"),
        (&["--kept-at", "attic", "--yes"], "has no place \"attic\" for pictures. Use imaging"),
        (&["--kept-at", "/srv/site.jpg", "--yes"], "a word, not a path"),
    ] {
        let said = desk.refused(&record(&file, more));
        assert!(said.contains(why), "{said}");
    }
    // If the policy names no place, there is no choice.
    let desk = Desk::new();
    let said = desk.refused(&record(&file, &["--yes"]));
    assert!(said.contains("Required: --kept-at"), "{said}");
    let said = desk.refused(&record(&file, &["--kept-at", "imaging", "--yes"]));
    assert!(said.contains("Write [photos] kept_at in policy.toml"), "{said}");
}

#[test]
fn check_finds_pictures_again_by_their_sum_whatever_their_name_and_names_missing_and_altered_ones() {
    let (desk, folder) = desk();
    let check = |desk: &Desk, folders: &[&Path]| {
        let mut arguments = vec!["check", "--json"];
        folders.iter().for_each(|folder| arguments.extend(["--photos", folder.to_str().unwrap()]));
        let outcome = desk.run(&arguments);
        let report: serde_json::Value = serde_json::from_str(&outcome.stdout).unwrap_or_default();
        let found = report["findings"].as_array().cloned().unwrap_or_default();
        let found = found.iter().filter(|one| one["rule"].as_str().unwrap().starts_with("photo"));
        (
            outcome.status,
            found
                .map(|one| format!("{} {}", one["rule"].as_str().unwrap(), one["message"].as_str().unwrap()))
                .collect::<Vec<_>>(),
        )
    };
    let file = kept(&folder, "site.jpg", &plain("one"));
    desk.done(&record(&file, &["--yes"]));
    let moved = folder.path().join("2026/11/renamed.bin");
    fs::create_dir_all(moved.parent().unwrap()).unwrap();
    fs::rename(&file, &moved).unwrap();
    kept(&folder, "another.jpg", &plain("another picture"));
    assert_eq!(check(&desk, &[folder.path()]), (0, vec![]));
    // One different byte makes it another picture.
    fs::write(&moved, plain("two")).unwrap();
    let (status, found) = check(&desk, &[folder.path()]);
    assert!(
        status == 1 && found.len() == 1 && found[0].starts_with("photo-altered the picture of P-001 was altered"),
        "{found:?}"
    );
    assert!(found[0].contains("renamed.bin"), "{found:?}");
    // With another size it is recognized by the digest in its name.
    fs::remove_file(&moved).unwrap();
    let named = format!("P-001_{}.jpg", &sum_of(&plain("one"))[..12]);
    let named = kept(&folder, &named, &plain("cropped by somebody"));
    assert!(check(&desk, &[folder.path()]).1[0].starts_with("photo-altered"));
    fs::remove_file(named).unwrap();
    let (status, found) = check(&desk, &[folder.path()]);
    assert!(
        status == 1 && found == ["photo-missing the picture of P-001, kept at imaging, is in none of the folders"],
        "{found:?}"
    );
    // In a second folder it is found.
    let second = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    kept(&second, "x", &plain("one"));
    assert_eq!(check(&desk, &[folder.path(), second.path()]), (0, vec![]));
    // A link is not followed, and without --photos there is no message.
    let third = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    std::os::unix::fs::symlink(second.path().join("x"), third.path().join("link")).unwrap();
    assert_eq!(check(&desk, &[third.path()]).0, 1);
    assert_eq!(check(&desk, &[]), (0, vec![]));
    let said = desk.refused(&["check", "--photos", "nowhere"]);
    assert!(said.contains("there is no folder") && said.contains("after --photos"), "{said}");
    // A voided record needs no picture.
    let file = PathBuf::from("patients/P-001/2026/2026-11-24T0710-photo.toml");
    desk.done(&["void", file.to_str().unwrap(), "--by", "rn-07", "--why", "not of this patient", "--yes"]);
    assert_eq!(check(&desk, &[third.path()]), (0, vec![]));
}

fn sum_of(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    sum(&kept(&folder, "x", bytes))
}
