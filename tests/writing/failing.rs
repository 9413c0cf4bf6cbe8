//! Writes that fail: the disk is full, permission is missing, the network folder lacks an operation. The records stay
//! as they were, and one sentence says what to do.

use super::import::{Import, Told, two_patients};
use super::*;

const AT: &str = "2025-11-20T10:00";

/// Records an event while the `n`th call of that name fails with this error.
fn with_failing(call: &str, error: &str, n: usize, root: &Path) -> (Option<i32>, String, String) {
    let (trace, inject) = (format!("trace={call}"), format!("inject={call}:error={error}:when={n}"));
    let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", &trace, "-e", &inject];
    said(&behind(&before, root, &shower(AT, "noted")).output().unwrap())
}

#[test]
fn a_full_disk_leaves_the_records_as_they_were_whichever_step_meets_it() {
    // The year's folder is created, flushed by name, filled, and flushed; only then does the file appear.
    for (has_year, call, n) in [
        (false, "mkdir", 1),
        (false, "rename", 1),
        (false, "fsync", 1),
        (false, "fsync", 2),
        (false, "fsync", 3),
        (false, "write", 1),
        (false, "renameat2", 1),
        (true, "write", 1),
        (true, "fsync", 1),
        (true, "renameat2", 1),
        (true, "fsync", 2),
    ] {
        let kept = records(has_year);
        let before = tree(kept.path());
        let (status, report, error) = with_failing(call, "ENOSPC", n, kept.path());
        let step = format!("{call} {n}: {error}");
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{step}");
        assert!(error.contains("Cannot write") && error.contains(YEAR), "{step}");
        assert!(error.contains("free up disk space, then run the command again. Nothing was written."), "{step}");
        assert_eq!(tree(kept.path()), before, "{step}");
        let (status, ..) = said(&exitsite(kept.path(), &shower(AT, "noted")).output().unwrap());
        assert_eq!(status, Some(0), "{step}");
    }
}

#[test]
fn the_message_names_a_quota_or_a_failing_disk() {
    for (error, words) in [("EDQUOT", "free up disk space"), ("EIO", "check the disk"), ("EROFS", "how it is mounted")]
    {
        let kept = records(true);
        let before = tree(kept.path());
        let (status, report, said) = with_failing("fsync", error, 1, kept.path());
        assert_eq!((status, report.as_str()), (Some(2), ""));
        assert!(said.contains(words) && said.contains(YEAR), "{said}");
        assert_eq!(tree(kept.path()), before);
    }
}

#[test]
fn a_file_that_may_not_grow_is_not_left_half_written() {
    // The kernel itself refuses to write even one byte.
    let kept = records(true);
    let before = tree(kept.path());
    let limit = ["sh", "-c", "trap '' XFSZ; ulimit -f 0; exec \"$0\" \"$@\""];
    let (status, report, error) = said(&behind(&limit, kept.path(), &shower(AT, "noted")).output().unwrap());
    assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
    assert!(error.contains("Cannot write") && error.contains(YEAR) && error.contains("Nothing was written"), "{error}");
    assert_eq!(tree(kept.path()), before);
}

/// The words that start a command without root's privileges, so that file permissions apply; none if the tests do not
/// run as root.
fn as_an_ordinary_user() -> Vec<&'static str> {
    let is_root = said(&program("id").arg("-u").output().unwrap()).1.trim() == "0";
    if is_root { vec!["setpriv", "--bounding-set=-all", "--inh-caps=-all"] } else { Vec::new() }
}

#[test]
fn without_permission_to_write_nothing_changes_and_everything_can_be_read() {
    let user = as_an_ordinary_user();
    for (has_year, folder) in [(true, YEAR), (false, "patients/P-001")] {
        let kept = records(has_year);
        if has_year {
            exitsite(kept.path(), &shower("2025-11-19T10:00", "before")).output().unwrap();
        }
        let folder = kept.path().join(folder);
        set_mode(&folder, 0o555);
        let before = tree(kept.path());
        let (status, report, error) = said(&behind(&user, kept.path(), &shower(AT, "noted")).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
        assert!(error.contains(&format!("Cannot write {}", kept.path().join(YEAR).display())), "{error}");
        assert!(error.contains("Permission denied") && error.contains("ask for permission to write there"), "{error}");
        for reading in [&["due"][..], &["check"], &["show", "P-001"], &["missed"], &["grade"]] {
            let (status, report, error) = said(&behind(&user, kept.path(), reading).output().unwrap());
            assert_eq!((status, report.is_empty()), (Some(0), false), "{reading:?} {error}");
        }
        assert_eq!(tree(kept.path()), before);
        set_mode(&folder, 0o755);
    }
}

#[test]
fn no_file_of_the_records_is_opened_for_writing_by_a_command_that_reads() {
    let kept = records(true);
    exitsite(kept.path(), &shower("2025-11-19T10:00", "before")).output().unwrap();
    for reading in
        [&["due"][..], &["check"], &["show", "P-001"], &["record", "shower", "P-001", "--by", "rn-07", "--dry-run"]]
    {
        let trace = kept.path().with_extension("trace");
        let trace = trace.to_str().unwrap();
        let before = ["strace", "-f", "-qq", "-o", trace, "-e", "trace=%file"];
        let (status, _, error) = said(&behind(&before, kept.path(), reading).output().unwrap());
        assert_eq!(status, Some(0), "{error}");
        let calls = fs::read_to_string(trace).unwrap();
        let writes = [
            "O_WRONLY", "O_RDWR", "O_CREAT", "mkdir", "rename", " link(", "linkat", "unlink", "chmod", "chown",
            "truncate",
        ];
        let inside = |call: &&str| call.contains(kept.path().to_str().unwrap());
        let written = calls.lines().filter(inside).find(|call| writes.iter().any(|word| call.contains(word)));
        assert_eq!(written, None, "{reading:?}");
        fs::remove_file(trace).unwrap();
    }
}

#[test]
fn a_network_folder_that_cannot_rename_without_replacing_overwrites_nothing() {
    let file = format!("{YEAR}/2025-11-20T1000-shower.toml");
    for error in ["EINVAL", "ENOSYS"] {
        // A link is used instead, which fails if the name is taken.
        let kept = records(true);
        fs::write(kept.path().join(&file), "somebody else's").unwrap();
        let (trace, inject) = ("trace=renameat2", format!("inject=renameat2:error={error}"));
        let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", trace, "-e", &inject];
        let (status, report, said) = said(&behind(&before, kept.path(), &shower(AT, "noted")).output().unwrap());
        assert_eq!(status, Some(0), "{said}");
        assert!(report.contains("-shower-2.toml"), "{report}");
        assert_eq!(fs::read_to_string(kept.path().join(&file)).unwrap(), "somebody else's");
        assert_eq!(names(&kept.path().join(YEAR), true), Vec::<String>::new());
        assert_eq!(names(&kept.path().join(YEAR), false).len(), 2);
    }
}

#[test]
fn a_network_folder_that_locks_no_folders_loses_no_correction() {
    // The first lock requested by each of the many fails, as on NFS.
    let trace = records(false);
    let trace = trace.path().join("trace");
    let mut command = program("strace");
    command.args(["-f", "-qq", "-y", "-o", trace.to_str().unwrap(), "-e", "trace=flock"]);
    command.args(["-e", "inject=flock:error=EBADF:when=1"]).arg(std::env::current_exe().unwrap());
    let many = "replace::of_many_corrections_at_once_one_is_made_and_every_other_is_kept_beside_it";
    let (status, report, error) = said(&command.args(["--exact", many]).output().unwrap());
    assert_eq!(status, Some(0), "{report}{error}");
    let calls = fs::read_to_string(trace).unwrap();
    assert!(calls.contains("EBADF") && calls.contains("patient.toml"), "{calls}");
}

#[test]
fn a_network_folder_that_can_neither_rename_so_nor_link_is_not_written_into() {
    for (rename, link) in [("EINVAL", "EPERM"), ("ENOSYS", "EOPNOTSUPP"), ("EPERM", "EPERM"), ("EOPNOTSUPP", "EPERM")] {
        let kept = records(true);
        let before = tree(kept.path());
        let (first, second) = (format!("inject=renameat2:error={rename}"), format!("inject=link,linkat:error={link}"));
        let strace = [
            "strace",
            "-f",
            "-qq",
            "-o",
            "/dev/null",
            "-e",
            "trace=renameat2,link,linkat",
            "-e",
            &first,
            "-e",
            &second,
        ];
        let (status, report, error) = said(&behind(&strace, kept.path(), &shower(AT, "noted")).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
        assert!(error.contains(YEAR) && error.contains("Nothing was written"), "{error}");
        assert_eq!(tree(kept.path()), before);
    }
}

/// A strace command line that makes these calls fail.
fn failing(injections: &[&str]) -> Vec<String> {
    let calls: Vec<&str> = injections.iter().map(|inject| inject.split_once(':').unwrap().0).collect();
    let mut strace = ["strace", "-f", "-qq", "-o", "/dev/null", "-e"].map(str::to_owned).to_vec();
    strace.push(format!("trace={}", calls.join(",")));
    strace.extend(injections.iter().flat_map(|inject| ["-e".to_owned(), format!("inject={inject}")]));
    strace
}

#[test]
fn a_disk_that_is_full_in_the_middle_of_an_import_leaves_the_records_as_they_were() {
    let import = Import::large();
    for inject in ["renameat2:error=ENOSPC:when=700", "fsync:error=ENOSPC:when=20", "rename:error=EDQUOT:when=3"] {
        let kept = two_patients();
        let before = tree(kept.path());
        let strace = failing(&[inject]);
        let strace: Vec<&str> = strace.iter().map(String::as_str).collect();
        let (status, report, error) = said(&import.command(&strace, kept.path()).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{inject}: {error}");
        assert!(error.contains("Cannot write") && error.contains("free up disk space"), "{inject}: {error}");
        assert!(error.trim_end().ends_with(". Nothing was written."), "{inject}: {error}");
        assert!(tree(kept.path()) == before, "{inject}: something is left");
        import.is_completed_by_another_run(kept.path());
    }
}

#[test]
fn what_cannot_be_taken_back_is_named_and_completed_by_the_next_run() {
    let import = Import::of(40);
    let kept = two_patients();
    let strace = failing(&["renameat2:error=ENOSPC:when=31", "unlink,unlinkat:error=EIO"]);
    let strace: Vec<&str> = strace.iter().map(String::as_str).collect();
    let (status, report, error) = said(&import.command(&strace, kept.path()).output().unwrap());
    assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
    let first = names(&kept.path().join("patients/P-001/2024"), false).remove(0);
    let remains = format!("30 records already written could not be removed (first: patients/P-001/2024/{first}");
    assert!(error.contains(&remains) && error.contains("running the command again will finish the job"), "{error}");
    assert!(!error.contains("Nothing was written"), "{error}");
    assert_eq!(import.is_whole_so_far(kept.path()), 30);
    import.is_completed_by_another_run(kept.path());
}

#[test]
fn what_an_import_added_is_taken_back_with_its_new_records() {
    let told = Told::new();
    for inject in [
        "renameat:error=ENOSPC:when=3",
        "renameat:error=EIO:when=1",
        // The folder is flushed once an addition is in place.
        "fsync:error=EIO:when=2",
        "fsync:error=EIO:when=6",
        "renameat2:error=ENOSPC:when=1",
        "renameat2:error=ENOSPC:when=5",
    ] {
        let kept = told.records();
        let before = tree(kept.path());
        let strace = failing(&[inject]);
        let strace: Vec<&str> = strace.iter().map(String::as_str).collect();
        let (status, report, error) = said(&told.command(&strace, kept.path()).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{inject}: {error}");
        assert!(error.contains("Nothing was written") || error.contains("No row was imported"), "{inject}: {error}");
        assert_eq!(tree(kept.path()), before, "{inject}");
        told.command(&[], kept.path()).output().unwrap();
        told.is_whole(kept.path());
    }
    // If that fails, too, the message says which additions stay.
    let kept = told.records();
    let strace = failing(&["renameat2:error=ENOSPC:when=1", "renameat:error=EIO:when=5+"]);
    let strace: Vec<&str> = strace.iter().map(String::as_str).collect();
    let (status, _, error) = said(&told.command(&strace, kept.path()).output().unwrap());
    assert_eq!(status, Some(2), "{error}");
    assert!(error.contains(&format!("The additions to {YEAR}/2025-11-11T1840-change.toml, ")), "{error}");
    assert!(error.contains("Run the command again to complete the import"), "{error}");
    assert_eq!(told.is_whole_so_far(kept.path()), 4);
    told.command(&[], kept.path()).output().unwrap();
    told.is_whole(kept.path());
}

#[test]
fn a_failure_to_print_is_distinguished_from_a_failure_to_record() {
    let kept = records(true);
    let answered_nowhere = |arguments: &[&str]| {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        said(&exitsite(kept.path(), arguments).stdout(full).output().unwrap())
    };
    let (status, _, error) = answered_nowhere(&shower(AT, "noted"));
    assert_eq!(status, Some(1), "{error}");
    assert!(error.contains("the record is on file, but the output could not be written: "), "{error}");
    let file = format!("{YEAR}/2025-11-20T1000-shower.toml");
    assert!(kept.path().join(&file).exists());
    let amend = ["amend", &file, "--set", "note=m", "--by", "rn-07", "--why", "misread", "--yes"];
    let (status, _, error) = answered_nowhere(&amend);
    assert_eq!((status, error.contains("the record is on file, but")), (Some(1), true), "{error}");
    // A command that only reads does not claim that a record is on file.
    for reading in [&["due"][..], &[&shower("2025-11-21T10:00", "noted")[..], &["--dry-run"]].concat()] {
        let (status, _, error) = answered_nowhere(reading);
        assert_eq!((status, error.contains("the output could not be written")), (Some(2), true), "{error}");
    }
}
