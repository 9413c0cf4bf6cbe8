//! The order of the system calls: write, flush, make visible, flush the folder, and only then answer.

use super::*;

const CALLS: &str = "trace=openat,mkdir,mkdirat,write,pwrite64,writev,fsync,fdatasync,close,link,linkat,rename,renameat,renameat2,unlink,unlinkat,flock";

/// The system calls of a successful command, in the order in which they ended, with the paths of open files.
fn calls(mut command: Command, trace: &Path) -> Vec<String> {
    let (status, report, error) = said(&command.output().unwrap());
    assert_eq!(status, Some(0), "{report}{error}");
    let text = fs::read_to_string(trace).unwrap();
    fs::remove_file(trace).unwrap();
    let mut begun: BTreeMap<&str, &str> = BTreeMap::new();
    let mut calls = Vec::new();
    for line in text.lines() {
        let (process, call) = line.split_once(' ').unwrap();
        let call = call.trim();
        if let Some(call) = call.strip_suffix(" <unfinished ...>") {
            begun.insert(process, call);
        } else if let Some((_, rest)) = call.strip_prefix("<... ").and_then(|call| call.split_once(" resumed>")) {
            calls.push(format!("{}{rest}", begun.remove(process).unwrap()));
        } else {
            calls.push(call.to_owned());
        }
    }
    calls.retain(|call| !call.contains(" = -1 "));
    calls
}

/// A step in words, with a test that is true of its call.
type Step<'a> = (&'a str, &'a dyn Fn(&str) -> bool);

/// Asserts that each step is among the calls, after the one before.
fn in_order(calls: &[String], steps: &[Step]) {
    let mut from = 0;
    for (step, is_it) in steps {
        let found = calls[from..].iter().position(|call| is_it(call));
        let found = found.unwrap_or_else(|| panic!("not in its order: {step}\n{}", calls[from..].join("\n")));
        from += found + 1;
    }
}

fn strace(trace: &Path) -> Vec<String> {
    ["strace", "-f", "-y", "-s", "400", "-o", trace.to_str().unwrap(), "-e", CALLS].map(str::to_owned).to_vec()
}

/// True if a call has one of these names.
fn is(call: &str, names: &[&str]) -> bool {
    names.iter().any(|name| call.strip_prefix(name).is_some_and(|rest| rest.starts_with('(')))
}

#[test]
fn a_record_is_written_flushed_made_visible_and_flushed_by_name_before_the_answer() {
    for has_year in [true, false] {
        let kept = records(has_year);
        let trace = kept.path().with_extension("trace");
        let before = strace(&trace);
        let before: Vec<&str> = before.iter().map(String::as_str).collect();
        let calls = calls(behind(&before, kept.path(), &shower("2025-11-20T10:00", "noted")), &trace);
        let temporary = format!("{YEAR}/.2025-11-20T1000-shower.toml.");
        let file = format!("{YEAR}/2025-11-20T1000-shower.toml\"");
        let folder = format!("{YEAR}>)");
        let above = "patients/P-001>)";
        let mut steps: Vec<Step> = Vec::new();
        let made =
            |call: &str| is(call, &["rename"]) && call.contains("/.2025.") && call.contains(&format!("{YEAR}\""));
        let made_flushed = |call: &str| is(call, &["fsync", "fdatasync"]) && call.contains(above);
        if !has_year {
            steps.extend([("the folder is made", &made as &dyn Fn(&str) -> bool), ("and flushed", &made_flushed)]);
        }
        let opened = |call: &str| is(call, &["openat"]) && call.contains(&temporary) && call.contains("O_CREAT|O_EXCL");
        let written =
            |call: &str| is(call, &["write"]) && call.contains(&temporary) && call.contains("kind = \\\"shower\\\"");
        let flushed = |call: &str| is(call, &["fsync", "fdatasync"]) && call.contains(&temporary);
        let closed = |call: &str| is(call, &["close"]) && call.contains(&temporary);
        let visible = |call: &str| {
            let is_exclusive =
                is(call, &["link", "linkat"]) || is(call, &["renameat2"]) && call.contains("RENAME_NOREPLACE");
            is_exclusive && call.contains(&temporary) && call.contains(&file)
        };
        let folder_flushed = |call: &str| is(call, &["fsync", "fdatasync"]) && call.contains(&folder);
        let answered = |call: &str| is(call, &["write"]) && call.starts_with("write(1<");
        steps.extend([
            ("a new temporary file is opened in the same folder", &opened as &dyn Fn(&str) -> bool),
            ("the record is written into it", &written),
            ("it is flushed", &flushed),
            ("and closed", &closed),
            ("it is made visible where the name is free", &visible),
            ("the folder is flushed", &folder_flushed),
            ("the answer is given", &answered),
        ]);
        in_order(&calls, &steps);
        // Nothing else is written, nothing is opened for writing under a visible name, and there is one answer.
        assert_eq!(calls.iter().filter(|call| answered(call)).count(), 1);
        let in_the_records = |call: &&String| call.contains(kept.path().to_str().unwrap());
        let strange = calls.iter().filter(in_the_records).find(|call| {
            let writes = is(call, &["write", "pwrite64", "writev"])
                && !call.contains(&temporary)
                && !call.starts_with("write(1<");
            let opens =
                is(call, &["openat"]) && ["O_WRONLY", "O_RDWR", "O_CREAT"].iter().any(|flag| call.contains(flag));
            writes || opens && !call.contains("/.2025")
        });
        assert_eq!(strange, None);
    }
}

#[test]
fn a_file_is_replaced_in_the_same_order_behind_a_lock() {
    // Only the calls of a test that replaces files.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let trace = folder.path().join("trace");
    let before = strace(&trace);
    let mut command = program(&before[0]);
    command.args(&before[1..]).arg(std::env::current_exe().unwrap());
    command.args(["--exact", "replace::a_replaced_file_keeps_its_permissions"]);
    let calls = calls(command, &trace);
    let temporary = |call: &str| call.contains("patients/P-001/.patient.toml.");
    in_order(
        &calls,
        &[
            ("the folder is locked", &|call| {
                is(call, &["flock"]) && call.contains("P-001>") && call.contains("LOCK_EX")
            }),
            ("a new temporary file is opened", &|call| {
                temporary(call) && is(call, &["openat"]) && call.contains("O_EXCL")
            }),
            ("it is written", &|call| temporary(call) && is(call, &["write"]) && call.contains("# corrected")),
            ("and flushed", &|call| temporary(call) && is(call, &["fsync"])),
            ("what is there is read once more", &|call| {
                is(call, &["openat"]) && call.contains("/patient.toml\", O_RDONLY")
            }),
            ("it takes the place", &|call| {
                temporary(call) && is(call, &["rename", "renameat"]) && call.contains("/patient.toml\"")
            }),
            ("the folder is flushed", &|call| is(call, &["fsync"]) && call.contains("patients/P-001>)")),
        ],
    );
}

#[test]
fn an_amendment_is_written_flushed_put_in_its_place_and_flushed_by_name_before_the_answer() {
    let kept = records(true);
    let file = format!("{YEAR}/2025-11-20T1000-shower.toml");
    assert!(exitsite(kept.path(), &shower("2025-11-20T10:00", "noted")).output().unwrap().status.success());
    let trace = kept.path().with_extension("trace");
    let before = strace(&trace);
    let before: Vec<&str> = before.iter().map(String::as_str).collect();
    let amend = ["amend", &file, "--set", "note=m", "--by", "rn-07", "--why", "misread", "--yes"];
    let calls = calls(behind(&before, kept.path(), &amend), &trace);
    let temporary = |call: &str| call.contains(&format!("{YEAR}/.2025-11-20T1000-shower.toml."));
    let in_place = format!("{file}\"");
    let folder = format!("{YEAR}>)");
    in_order(
        &calls,
        &[
            ("the folder is locked", &|call| is(call, &["flock"]) && call.contains("LOCK_EX")),
            ("a new temporary file is opened", &|call| {
                temporary(call) && is(call, &["openat"]) && call.contains("O_CREAT|O_EXCL")
            }),
            ("it is written", &|call| temporary(call) && is(call, &["write"]) && call.contains("[[amended]]")),
            ("it is flushed", &|call| temporary(call) && is(call, &["fsync", "fdatasync"])),
            ("what is there is read once more", &|call| {
                is(call, &["openat"]) && call.contains(&in_place) && call.contains("O_RDONLY")
            }),
            ("it takes the place", &|call| {
                temporary(call) && is(call, &["rename", "renameat"]) && call.contains(&in_place)
            }),
            ("the folder is flushed", &|call| is(call, &["fsync", "fdatasync"]) && call.contains(&folder)),
            ("the answer is given", &|call| call.starts_with("write(1<")),
        ],
    );
    assert_eq!(calls.iter().filter(|call| call.starts_with("write(1<")).count(), 1);
}

#[test]
fn an_import_answers_after_all_of_its_records_are_flushed_and_in_their_places() {
    let kept = records(false);
    let log = kept.path().join("log.csv");
    fs::write(&log, "patient,on,kind,by\nP-001,2025-11-01,change,patient\nP-001,2025-11-03,change,patient\nP-001,2024-11-05,change,patient\n").unwrap();
    let trace = kept.path().with_extension("trace");
    let before = strace(&trace);
    let before: Vec<&str> = before.iter().map(String::as_str).collect();
    let import = ["import", log.to_str().unwrap(), "--by-entered", "rn-07"];
    let calls = calls(behind(&before, kept.path(), &import), &trace);
    for (year, day) in [("2025", "2025-11-01"), ("2025", "2025-11-03"), ("2024", "2024-11-05")] {
        let temporary = |call: &str| call.contains(&format!("P-001/{year}/.{day}-change.toml."));
        let folder = format!("patients/P-001/{year}>)");
        in_order(
            &calls,
            &[
                ("it is written", &|call| temporary(call) && is(call, &["write"])),
                ("it is flushed", &|call| temporary(call) && is(call, &["fsync", "fdatasync"])),
                ("it is made visible", &|call| temporary(call) && is(call, &["link", "linkat", "renameat2"])),
                ("the folder is flushed", &|call| is(call, &["fsync", "fdatasync"]) && call.contains(&folder)),
                ("the answer is given", &|call| call.starts_with("write(1<")),
            ],
        );
    }
    // No record is visible before all three are complete on the disk.
    let is_visible = |call: &String| is(call, &["link", "linkat", "renameat2"]);
    let flushed = |call: &&String| is(call, &["fsync", "fdatasync"]) && call.contains("-change.toml.");
    let first = calls.iter().position(is_visible).unwrap();
    assert_eq!(calls[..first].iter().filter(flushed).count(), 3);
}
