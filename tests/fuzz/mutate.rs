//! Random damage to records: bytes, lines, keys, values, numbers, dates, names, links.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::Command;

use rand::seq::IndexedRandom;
use rand::{Rng, RngExt};
use rand_chacha::ChaCha8Rng;

/// The files of a records folder, by path.
pub(crate) type Files = BTreeMap<String, Vec<u8>>;

/// Replacement values.
const VALUES: [&str; 44] = [
    "0",
    "-1",
    "1",
    "9223372036854775807",
    "-9223372036854775808",
    "99999999999999999999",
    "1e308",
    "nan",
    "-inf",
    "0.1",
    "3650",
    "3651",
    "366",
    "367",
    "true",
    "\"\"",
    "\"home\"",
    "\"none\"",
    "\"P-001\"",
    "\"patient\"",
    "\"all\"",
    "[]",
    "[[[]]]",
    "{}",
    "[\"monday\", \"monday\"]",
    "1990-01-01",
    "1989-12-31",
    "2199-12-31",
    "2200-01-01",
    "0000-01-01",
    "9999-12-31",
    "2028-02-29",
    "2027-02-29",
    "2026-11-24",
    "2206-11-10",
    "2026-11-01T01:30:00",
    "2026-03-08T02:30:00",
    "2026-11-24T07:15:00-06:00",
    "2026-11-24T07:15:60Z",
    "0001-01-01T00:00:00+23:59",
    "23:59:59",
    "\"\\u001b[2J\\u202e\"",
    "\"\\u0000\"",
    "\"'; DROP\"",
];

/// Replacement file names.
const NAMES: [&str; 24] = [
    "2026-11-24T0700-change.toml",
    "2026-11-24-change.toml",
    "2026-11-24T0700-change-2.toml",
    "2026-11-24T2560-change.toml",
    "1999-02-30-shower.toml",
    "0000-00-00-change.toml",
    "2026-11-23T1840-shower.TOML",
    "2026-11-23T1840-contact-999.toml",
    "2026-11-23T1840-contact-1000.toml",
    "patient.toml",
    "Patient.toml",
    ".hidden",
    "a~",
    "x.bak",
    "photo.JPG",
    "\u{1b}[2J",
    "\u{420}-001",
    "a b",
    "CON",
    "2026",
    "20266",
    "P-001",
    "\u{202e}lmot.egnahc",
    ".2026-11-24T0700-change.toml.ab.tmp",
];

/// Characters that do harm if printed or parsed.
const CHARACTERS: [&str; 16] = [
    "\u{1b}",
    "\u{202e}",
    "\u{0}",
    "\u{feff}",
    "\"",
    "'",
    "[",
    "]",
    "{",
    "}",
    "=",
    "\\",
    "\n",
    "\r",
    "\u{85}",
    "\u{1F600}",
];

/// Damages a text in one place.
pub(crate) fn text(rng: &mut ChaCha8Rng, bytes: &mut Vec<u8>) {
    match rng.random_range(0..8) {
        0 => byte(rng, bytes),
        1 => {
            let at = rng.random_range(0..=bytes.len());
            let character = CHARACTERS.choose(rng).copied().unwrap_or_default();
            _ = bytes.splice(at..at, character.bytes());
        }
        2 => bytes.truncate(rng.random_range(0..=bytes.len())),
        3..=4 => lines(rng, bytes),
        _ => values(rng, bytes),
    }
}

fn byte(rng: &mut ChaCha8Rng, bytes: &mut [u8]) {
    if !bytes.is_empty() {
        let at = rng.random_range(0..bytes.len());
        bytes[at] = rng.random_range(0..=255);
    }
}

fn lines(rng: &mut ChaCha8Rng, bytes: &mut Vec<u8>) {
    let mut lines: Vec<Vec<u8>> = bytes.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    let (one, other) = (rng.random_range(0..lines.len()), rng.random_range(0..lines.len()));
    match rng.random_range(0..4) {
        0 => _ = lines.remove(one),
        1 => lines.insert(other, lines[one].clone()),
        2 => lines.swap(one, other),
        _ => {
            let many = lines[one].repeat(1 << rng.random_range(0..10));
            lines.insert(other, many);
        }
    }
    *bytes = lines.join(&b'\n');
}

/// Replaces the value of a key, the key of a value, or the digits of a number.
fn values(rng: &mut ChaCha8Rng, bytes: &mut Vec<u8>) {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
    let pairs: Vec<usize> = (0..lines.len()).filter(|at| lines[*at].contains(" = ")).collect();
    let (Some(one), Some(other)) = (pairs.choose(rng), pairs.choose(rng)) else { return };
    let part = |at: usize, n: usize| {
        lines[at].split_once(" = ").map(|both| [both.0, both.1][n]).unwrap_or_default().to_owned()
    };
    let value = match rng.random_range(0..4) {
        0 => part(*other, 1),
        1 => part(*one, 1)
            .chars()
            .map(|c| if c.is_ascii_digit() { char::from(rng.random_range(b'0'..=b'9')) } else { c })
            .collect(),
        _ => VALUES.choose(rng).copied().unwrap_or_default().to_owned(),
    };
    let key = if rng.random_ratio(1, 8) { part(*other, 0) } else { part(*one, 0) };
    lines[*one] = format!("{key} = {value}");
    *bytes = lines.join("\n").into_bytes();
}

/// Damages one file, or its name.
pub(crate) fn files(rng: &mut ChaCha8Rng, files: &mut Files) {
    let paths: Vec<String> = files.keys().cloned().collect();
    // Files that affect everything, or a whole patient, are chosen more often.
    let important: Vec<String> = paths.iter().filter(|path| path.matches('/').count() < 3).cloned().collect();
    let among = if rng.random_ratio(1, 2) && !important.is_empty() { &important } else { &paths };
    let Some(path) = among.choose(rng).cloned() else { return };
    match rng.random_range(0..12) {
        0 => _ = files.remove(&path),
        1 => {
            let name = NAMES.choose(rng).copied().unwrap_or_default();
            let folder = path.rsplit_once('/').map_or("", |(folder, _)| folder);
            let renamed = if folder.is_empty() { name.to_owned() } else { format!("{folder}/{name}") };
            if let Some(bytes) = files.get(&path).cloned() {
                if rng.random_ratio(1, 2) {
                    files.remove(&path);
                }
                put(files, renamed, bytes);
            }
        }
        2 => {
            let top = ["", "patients/", "patients/P-001/", "staff/", "patients/P-001/2026/"].choose(rng).copied();
            let name = NAMES.choose(rng).copied().unwrap_or_default();
            let within = ["", "/2026/2026-11-24T0600-change.toml"].choose(rng).copied().unwrap_or_default();
            put(files, format!("{}{name}{within}", top.unwrap_or_default()), b"kind = \"change\"\n".to_vec());
        }
        _ => {
            if let Some(bytes) = files.get_mut(&path) {
                text(rng, bytes);
            }
        }
    }
}

/// Adds a file, unless its path conflicts with a folder or a file already there.
fn put(files: &mut Files, path: String, bytes: Vec<u8>) {
    let is_in_the_way = |other: &String| {
        other.strip_prefix(&path).is_some_and(|rest| rest.starts_with('/'))
            || path.strip_prefix(other).is_some_and(|rest| rest.starts_with('/'))
    };
    if !files.keys().any(is_in_the_way) {
        files.insert(path, bytes);
    }
}

/// Writes the files to the disk.
pub(crate) fn lay_out(root: &Path, files: &Files) {
    fs::create_dir_all(root).unwrap();
    for (path, bytes) in files {
        let path = root.join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
}

/// Replaces a file or a folder by a link, a pipe or a folder.
pub(crate) fn replace(rng: &mut ChaCha8Rng, root: &Path, files: &Files) {
    let paths: Vec<&str> = files.keys().map(String::as_str).collect();
    let Some(path) = paths.choose(rng) else { return };
    let depth = rng.random_range(1..=path.split('/').count());
    let path = root.join(path.split('/').take(depth).collect::<Vec<_>>().join("/"));
    let aside = root.with_extension("aside");
    fs::rename(&path, &aside).unwrap();
    match rng.random_range(0..5) {
        0 => symlink(&aside, &path).unwrap(),
        1 => symlink("/nowhere/at/all", &path).unwrap(),
        2 => symlink(&path, &path).unwrap(),
        3 => fs::create_dir(&path).unwrap(),
        _ => assert!(Command::new("mkfifo").arg(&path).status().unwrap().success()),
    }
}

/// Random bytes.
pub(crate) fn noise(rng: &mut ChaCha8Rng, most: usize) -> Vec<u8> {
    let mut bytes = vec![0; rng.random_range(0..=most)];
    rng.fill_bytes(&mut bytes);
    bytes
}
