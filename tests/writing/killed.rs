//! Processes killed while they write, at random moments and at each system call that writes.
//!
//! [`Work`] is a command line and what it leaves when nobody stops it, so that another command is one more value of it.

use std::process::Child;
use std::thread::sleep;
use std::time::{Duration, Instant};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;

/// So many kills at random moments into one records folder, and so many folders.
const TIMES: usize = 16;
const FOLDERS: usize = 4;

/// A command line that writes records.
struct Work {
    arguments: Vec<String>,
    /// The files that it leaves, from the records folder, each with its text but for the moment of its entry.
    files: Vec<(String, String)>,
}

impl Work {
    /// One shower of a day of 2025.
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

    /// How many of its files are there, each of which has to be whole.
    fn there(&self, root: &Path) -> usize {
        let text = |(file, whole): &&(String, String)| {
            let Ok(text) = fs::read_to_string(root.join(file)) else { return false };
            assert_eq!(&without_entry(&text), whole);
            true
        };
        self.files.iter().filter(text).count()
    }

    /// Runs it again after it was killed: it completes what was begun, or says that it is on file.
    fn run_again(&self, root: &Path) {
        let was_there = self.there(root);
        let arguments: Vec<&str> = self.arguments.iter().map(String::as_str).collect();
        let (status, _, error) = said(&exitsite(root, &arguments).output().unwrap());
        if was_there == self.files.len() {
            assert!(status == Some(0) || error.contains("already on file as"), "{error}");
        } else {
            assert_eq!(status, Some(0), "{error}");
        }
        assert_eq!(self.there(root), self.files.len());
    }
}

/// What an interrupted write leaves is hidden, called as it should be, and noted by `check`, which finds nothing else.
fn leaves_only_leftovers(root: &Path) -> usize {
    let hidden = [names(&root.join(YEAR), true), names(&root.join("patients/P-001"), true)].concat();
    for name in &hidden {
        let parts: Vec<&str> = name.split('.').collect();
        assert!(matches!(parts.as_slice(), ["", _, .., _, "tmp"]), "{name}");
    }
    let expected = if hidden.is_empty() { Vec::new() } else { vec!["leftover-of-a-write"] };
    assert_eq!(rules_found(root), expected, "{hidden:?}");
    hidden.len()
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
                // Every other kill comes close to the writing, which is a small part of the run.
                wait_for_a_new_name(&kept.path().join(YEAR), &mut child);
                sleep(Duration::from_micros(rng.random_range(0..1500)));
            }
            // SIGKILL; it may have ended already.
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

/// Waits until something appears in a folder, or the process has ended.
fn wait_for_a_new_name(folder: &Path, child: &mut Child) {
    let count = || names(folder, false).len() + names(folder, true).len();
    let before = count();
    while count() == before && child.try_wait().unwrap().is_none() {
        sleep(Duration::from_micros(50));
    }
}

/// Kills a command at its first call of each kind that writes, then at its second, until it is through.
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
