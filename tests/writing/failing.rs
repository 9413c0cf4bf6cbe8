//! Writing that cannot be done: the disk is full, nobody may write, the network folder cannot do what a disk can. The records are
//! as they were, and one sentence says what to do.

use super::*;

const AT: &str = "2025-11-20T10:00";

/// Runs a record whose `n`th system call of that name fails so.
fn with_failing(call: &str, error: &str, n: usize, root: &Path) -> (Option<i32>, String, String) {
    let (trace, inject) = (format!("trace={call}"), format!("inject={call}:error={error}:when={n}"));
    let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", &trace, "-e", &inject];
    said(&behind(&before, root, &shower(AT, "n")).output().unwrap())
}

#[test]
fn a_full_disk_leaves_the_records_as_they_were_whichever_step_meets_it() {
    // The folder of the year is made, flushed by name, filled, and flushed; then the file is seen.
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
        assert!(error.contains("cannot write") && error.contains(YEAR), "{step}");
        assert!(error.contains("make room on the disk, then run it again; nothing was written"), "{step}");
        assert_eq!(tree(kept.path()), before, "{step}");
        let (status, ..) = said(&exitsite(kept.path(), &shower(AT, "n")).output().unwrap());
        assert_eq!(status, Some(0), "{step}");
    }
}

#[test]
fn a_quota_or_a_failing_disk_is_said_in_its_words() {
    for (error, words) in [("EDQUOT", "make room"), ("EIO", "look at the disk"), ("EROFS", "how it is mounted")] {
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
    let (status, report, error) = said(&behind(&limit, kept.path(), &shower(AT, "n")).output().unwrap());
    assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
    assert!(error.contains("cannot write") && error.contains(YEAR) && error.contains("nothing was written"), "{error}");
    assert_eq!(tree(kept.path()), before);
}

/// What makes root an ordinary user, to whom the permissions of files apply; nothing where the tests run as one.
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
        let (status, report, error) = said(&behind(&user, kept.path(), &shower(AT, "n")).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
        assert!(error.contains(&format!("cannot write {}", kept.path().join(YEAR).display())), "{error}");
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
        // A link does instead, which fails where the name is taken.
        let kept = records(true);
        fs::write(kept.path().join(&file), "somebody else's").unwrap();
        let (trace, inject) = ("trace=renameat2", format!("inject=renameat2:error={error}"));
        let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", trace, "-e", &inject];
        let (status, report, said) = said(&behind(&before, kept.path(), &shower(AT, "n")).output().unwrap());
        assert_eq!(status, Some(0), "{said}");
        assert!(report.contains("-shower-2.toml"), "{report}");
        assert_eq!(fs::read_to_string(kept.path().join(&file)).unwrap(), "somebody else's");
        assert_eq!(names(&kept.path().join(YEAR), true), Vec::<String>::new());
        assert_eq!(names(&kept.path().join(YEAR), false).len(), 2);
    }
}

#[test]
fn a_network_folder_that_locks_no_folders_loses_no_correction() {
    // The first lock that each of the many asks for fails, as it does for a folder on NFS.
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
        let (status, report, error) = said(&behind(&strace, kept.path(), &shower(AT, "n")).output().unwrap());
        assert_eq!((status, report.as_str(), error.lines().count()), (Some(2), "", 1), "{error}");
        assert!(error.contains(YEAR) && error.contains("nothing was written"), "{error}");
        assert_eq!(tree(kept.path()), before);
    }
}
