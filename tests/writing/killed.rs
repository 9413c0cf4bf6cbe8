//! Processes killed while they write, at random times and at each system call that writes.
//!
//! [`Work`] is a command line with its result if it is not stopped; another command is one more value of it.

use std::process::Child;
use std::thread::sleep;
use std::time::{Duration, Instant};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::import::{Import, Told, leaves_only_leftovers, two_patients};
use super::*;

/// The number of kills at random times in one records folder, and the number of folders.
const TIMES: usize = 16;
const FOLDERS: usize = 4;

/// A command line that writes records.
struct Work {
    arguments: Vec<String>,
    /// The files that it writes, by path in the records folder, each with its text without the time of entry.
    files: Vec<(String, String)>,
}

impl Work {
    /// A shower on a day of 2025.
    fn shower(day: &str) -> Work {
        let at = format!("{day}T10:00-06:00");
        let text = shower_text(&format!("{day}T10:00:00-06:00"), "seen by many");
        Work {
            arguments: shower(&at, "seen by many").into_iter().map(str::to_owned).collect(),
            files: vec![(format!("{YEAR}/{day}T1000-shower.toml"), text)],
        }
    }

    fn command(&self, before: &[&str], root: &Path) -> Command {
        let arguments: Vec<&str> = self.arguments.iter().map(String::as_str).collect();
        let mut command = behind(before, root, &arguments);
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
        command
    }

    /// Asserts that each of its files on disk is complete. Returns their number.
    fn there(&self, root: &Path) -> usize {
        let text = |(file, whole): &&(String, String)| {
            let Ok(text) = fs::read_to_string(root.join(file)) else { return false };
            assert_eq!(&without_entry(&text), whole);
            true
        };
        self.files.iter().filter(text).count()
    }

    /// Runs it again after a kill: it completes the write or reports that the record is on file.
    fn run_again(&self, root: &Path) {
        let was_there = self.there(root);
        let arguments: Vec<&str> = self.arguments.iter().map(String::as_str).collect();
        let (status, _, error) = said(&exitsite(root, &arguments).output().unwrap());
        if was_there == self.files.len() {
            assert!(status == Some(0) || error.contains("lready on file as"), "{error}");
        } else {
            assert_eq!(status, Some(0), "{error}");
        }
        assert_eq!(self.there(root), self.files.len());
    }
}

#[test]
fn killed_at_a_random_moment_it_leaves_a_whole_record_or_none() {
    let mut rng = ChaCha8Rng::seed_from_u64(20_261_120);
    let mut killed = 0;
    for _ in 0..FOLDERS {
        let kept = records(false);
        let begun = Instant::now();
        assert!(Work::shower("2025-12-31").command(&[], kept.path()).status().unwrap().success());
        let whole_run = begun.elapsed();
        for n in 0..TIMES {
            let work = Work::shower(&format!("2025-12-{:02}", n + 1));
            let mut child = work.command(&[], kept.path()).spawn().unwrap();
            if n % 2 == 0 {
                sleep(whole_run.mul_f64(rng.random_range(0.0..1.0)));
            } else {
                // Every other kill comes close to the write, which is a small part of the run.
                wait_for_a_new_name(&kept.path().join(YEAR), &mut child);
                sleep(Duration::from_micros(rng.random_range(0..1500)));
            }
            // SIGKILL; the process may have ended already.
            _ = child.kill();
            killed += usize::from(!child.wait().unwrap().success());
            work.there(kept.path());
            work.run_again(kept.path());
        }
        leaves_only_leftovers(kept.path());
        assert_eq!(names(&kept.path().join(YEAR), false).len(), TIMES + 1);
    }
    assert!(killed > TIMES * FOLDERS / 4, "only {killed} were killed in time");
}

/// Waits until a new name appears in a folder, or the process has ended.
fn wait_for_a_new_name(folder: &Path, child: &mut Child) {
    let count = || names(folder, false).len() + names(folder, true).len();
    let before = count();
    while count() == before && child.try_wait().unwrap().is_none() {
        sleep(Duration::from_micros(50));
    }
}

/// Kills a command at its first call of each kind that writes, then at its second, until it completes.
#[cfg(target_os = "linux")]
fn killed_at_each_step(work: &Work, records: impl Fn() -> TempDir) {
    let mut kills = 0;
    let mut leftovers = 0;
    for call in ["mkdir", "rename", "renameat2", "chown", "chmod", "fchmod", "write", "fsync"] {
        for n in 1.. {
            let kept = records();
            let root = kept.path();
            let inject = format!("inject={call}:signal=KILL:when={n}");
            let trace = format!("trace={call}");
            let status = work
                .command(&["strace", "-f", "-qq", "-o", "/dev/null", "-e", &trace, "-e", &inject], root)
                .status()
                .unwrap();
            if status.success() {
                assert_eq!(work.there(root), work.files.len());
                break;
            }
            kills += 1;
            work.there(root);
            leftovers += leaves_only_leftovers(root);
            work.run_again(root);
            assert!(n < 100, "{call} goes on and on");
        }
    }
    assert!(kills >= 7 && leftovers >= 3, "{kills} kills, {leftovers} leftovers");
}

#[cfg(target_os = "linux")]
#[test]
fn killed_at_each_system_call_that_writes_it_leaves_a_whole_record_or_none() {
    for has_year in [true, false] {
        killed_at_each_step(&Work::shower("2025-11-20"), || records(has_year));
    }
}

#[test]
fn an_import_killed_at_random_moments_is_whole_as_far_as_it_came_and_the_next_run_completes_it() {
    let import = Import::large();
    let mut rng = ChaCha8Rng::seed_from_u64(20_261_125);
    let begun = Instant::now();
    assert!(quiet(import.command(&[], two_patients().path())).status().unwrap().success());
    let whole_run = begun.elapsed();
    let (mut killed, mut in_the_middle) = (0, 0);
    for folder in 0.. {
        let kept = two_patients();
        // Some are killed several times before they may complete.
        for n in 0..5 {
            let mut child = quiet(import.command(&[], kept.path())).spawn().unwrap();
            if n % 2 == 0 {
                wait_for_a_new_name(&kept.path().join("patients/P-001"), &mut child);
            }
            sleep(whole_run.mul_f64(rng.random_range(0.0..0.6)));
            // SIGKILL; the process may have ended already.
            _ = child.kill();
            killed += usize::from(!child.wait().unwrap().success());
            let there = import.is_whole_so_far(kept.path());
            in_the_middle += usize::from(there > 0 && there < import.whole.len());
        }
        leaves_only_leftovers(kept.path());
        import.is_completed_by_another_run(kept.path());
        if killed >= 25 && in_the_middle >= 1 {
            break;
        }
        assert!(
            folder < 40,
            "only {killed} were killed in time, {in_the_middle} between the first record and the last"
        );
    }
}

fn quiet(mut command: Command) -> Command {
    command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
    command
}

#[cfg(target_os = "linux")]
#[test]
fn an_import_killed_at_a_record_in_its_middle_is_completed_by_the_next_run() {
    let import = Import::large();
    for (call, n) in [
        ("renameat2", 1),
        ("renameat2", 500),
        ("renameat2", 501),
        ("renameat2", 800),
        ("renameat2", import.whole.len()),
        ("rename", 2),
        ("write", 20),
        ("fsync", 1),
        ("fsync", 20),
    ] {
        let kept = two_patients();
        let root = kept.path();
        let (trace, inject) = (format!("trace={call}"), format!("inject={call}:signal=KILL:when={n}"));
        let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", &trace, "-e", &inject];
        assert!(!quiet(import.command(&before, root)).status().unwrap().success(), "{call} {n}");
        let there = import.is_whole_so_far(root);
        // The system call at which it is killed may still take effect.
        let is_expected = if call == "renameat2" { (n - 1..=n).contains(&there) } else { there < import.whole.len() };
        assert!(is_expected, "{call} {n}: {there}");
        leaves_only_leftovers(root);
        import.is_completed_by_another_run(root);
    }
}

#[cfg(target_os = "linux")]
#[test]
fn an_import_killed_among_its_amendments_adds_each_of_them_once() {
    let told = Told::new();
    for (call, n) in
        [("renameat", 1), ("renameat", 2), ("fsync", 3), ("renameat", 4), ("renameat2", 1), ("renameat2", 5)]
    {
        let kept = told.records();
        let root = kept.path();
        let (trace, inject) = (format!("trace={call}"), format!("inject={call}:signal=KILL:when={n}"));
        let before = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", &trace, "-e", &inject];
        assert!(!quiet(told.command(&before, root)).status().unwrap().success(), "{call} {n}");
        told.is_whole_so_far(root);
        leaves_only_leftovers(root);
        let (status, _, error) = said(&told.command(&[], root).output().unwrap());
        assert_eq!(status, Some(0), "{call} {n}: {error}");
        told.is_whole(root);
        let rules = rules_found(root);
        assert!(rules.is_empty() || rules == ["leftover-of-a-write"], "{call} {n}: {rules:?}");
    }
}
