//! Copies of the demo corrupted from a seed, with every command run on them: no command panics, hangs, prints control
//! characters, omits a patient, runs a program or makes an unrequested write.
//!
//! `EXITSITE_FUZZ_SEED`, `EXITSITE_FUZZ_COUNT` and `EXITSITE_FUZZ_FROM` set the seed, the number of cases and the first
//! case. A case depends only on the seed and its number, so these three reproduce a failure.

#![allow(clippy::print_stderr, reason = "the watchdog names the case that hangs")]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "fuzz/commands.rs"]
mod commands;
#[path = "fuzz/judge.rs"]
mod judge;
#[path = "fuzz/mutate.rs"]
mod mutate;

use std::collections::{BTreeMap, BTreeSet};
use std::env;
use std::fs;
use std::io::Write;
use std::panic::{self, AssertUnwindSafe};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use exitsite::command::Outcome;
use rand::seq::IndexedRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use commands::{Run, world};
use mutate::Files;

/// The time limit of one command, generous because the machine may be busy.
const HANG: Duration = Duration::from_secs(90);

/// The number of cases run in parallel; most of the time is spent waiting for the disk.
const WORKERS: usize = 8;

/// The largest number of failures printed.
const MOST: usize = 20;

/// The interval of cases whose records are in a git repository with programs in its settings.
const WITH_GIT: u64 = 16;

/// The message of the last panic, for the report.
static PANIC: Mutex<String> = Mutex::new(String::new());

/// The current command of each worker, and its start.
type Doing = Mutex<BTreeMap<usize, (Instant, String)>>;

fn given(name: &str, default: u64) -> u64 {
    env::var(name).ok().map_or(default, |text| text.parse().unwrap())
}

#[test]
fn whatever_the_records_hold_every_command_ends_well() {
    let (seed, count) = (given("EXITSITE_FUZZ_SEED", 20_261_124), given("EXITSITE_FUZZ_COUNT", 2_000));
    let from = given("EXITSITE_FUZZ_FROM", 0);
    let demo = demo();
    let next = AtomicU64::new(from);
    let doing = Doing::default();
    let failures: Mutex<BTreeMap<String, String>> = Mutex::default();
    panic::set_hook(Box::new(|info| *PANIC.lock().unwrap_or_else(PoisonError::into_inner) = info.to_string()));
    let seen: Mutex<BTreeSet<u8>> = Mutex::default();
    thread::scope(|scope| {
        let workers: Vec<_> = (0..WORKERS)
            .map(|worker| {
                let (next, doing, failures, demo, seen) = (&next, &doing, &failures, &demo, &seen);
                scope.spawn(move || {
                    loop {
                        let case = next.fetch_add(1, Ordering::Relaxed);
                        if case >= from + count || failures.lock().unwrap().len() >= MOST {
                            break;
                        }
                        for (sort, told) in one(seed, case, demo, seen, |what| {
                            doing.lock().unwrap().insert(worker, (Instant::now(), format!("case {case}: {what}")));
                        }) {
                            let told = format!("EXITSITE_FUZZ_SEED={seed} EXITSITE_FUZZ_FROM={case}: {told}");
                            failures.lock().unwrap().entry(sort).or_insert(told);
                        }
                    }
                    doing.lock().unwrap().remove(&worker);
                })
            })
            .collect();
        while workers.iter().any(|worker| !worker.is_finished()) {
            thread::sleep(Duration::from_millis(100));
            for (since, what) in doing.lock().unwrap().values() {
                if since.elapsed() > HANG {
                    // A hung thread cannot be stopped, so the whole process is.
                    eprintln!("EXITSITE_FUZZ_SEED={seed}: {what}: it has not ended after {} seconds", HANG.as_secs());
                    std::process::exit(1);
                }
            }
        }
    });
    _ = panic::take_hook();
    let failures = failures.into_inner().unwrap();
    // If all cases ended alike, the test would show nothing.
    let seen = seen.into_inner().unwrap();
    assert!(count < 500 || seen == BTreeSet::from([0, 1, 2, 3]), "{seen:?}");
    assert!(failures.is_empty(), "{}", failures.into_values().collect::<Vec<_>>().join("\n\n"));
}

/// Plants each fault that the fuzzer looks for into a sound run; its judge finds it.
#[test]
fn a_planted_fault_is_found() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path().join("records");
    let demo = demo();
    let files: Files = demo
        .common
        .iter()
        .chain(demo.patients.iter().flat_map(|(_, own)| own))
        .map(|(k, v)| (k.clone(), v.clone()))
        .collect();
    mutate::lay_out(&root, &files);
    let run = Run::due();
    let sound = run.run(&world(&root, &run));
    assert_eq!(judge::outcome(&run, &sound, &root), [] as [&str; 0]);
    let with = |plant: &dyn Fn(&mut Outcome)| {
        let mut planted = sound.clone();
        plant(&mut planted);
        judge::outcome(&run, &planted, &root)
    };
    let raw = with(&|planted| planted.stderr.push_str("P-014 \u{1b}[2J"));
    assert!(raw.len() == 1 && raw[0].starts_with("raw on standard error"), "{raw:?}");
    assert_eq!(with(&|planted| planted.status = 101), ["exit status 101"]);
    let silent = with(&|planted| {
        planted.status = 2;
        planted.stderr.clear();
    });
    assert_eq!(silent, ["it failed and does not say why"]);
    let text = sound.stdout.replace("\"P-014\"", "\"P-999\"");
    assert_eq!(with(&|planted| planted.stdout.clone_from(&text)), ["P-014 is in no row"]);
    fs::create_dir(root.join("patients/P-900")).unwrap();
    let absent = judge::outcome(&run, &sound, &root);
    assert!(absent.len() == 2 && absent[0] == "P-900 is in no row", "{absent:?}");

    let before = judge::State::of(&root);
    assert_eq!(judge::written(&run, &before, &judge::State::of(&root)), [] as [&str; 0]);
    let policy = root.join("policy.toml");
    fs::write(&policy, "schema = 1\n").unwrap();
    assert_eq!(judge::written(&run, &before, &judge::State::of(&root)), [format!("it wrote {}", policy.display())]);
    fs::remove_file(&policy).unwrap();
    assert_eq!(judge::written(&run, &before, &judge::State::of(&root)), [format!("it removed {}", policy.display())]);
}

/// The demo: the common files, and the files of each patient.
struct Demo {
    common: Files,
    patients: Vec<(String, Files)>,
    template: Vec<u8>,
}

fn demo() -> Demo {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let root = here.join("examples/demo");
    let mut demo = Demo {
        common: Files::new(),
        patients: Vec::new(),
        template: fs::read(here.join("records-template/policy.toml")).unwrap(),
    };
    for path in judge::everything(&root) {
        let bytes = fs::read(&path).unwrap();
        let path = path.strip_prefix(&root).unwrap().to_str().unwrap().to_owned();
        match path.split('/').collect::<Vec<_>>()[..] {
            ["patients", code, ..] => {
                let code = code.to_owned();
                match demo.patients.iter_mut().find(|(known, _)| *known == code) {
                    Some((_, files)) => _ = files.insert(path, bytes),
                    None => demo.patients.push((code, Files::from([(path, bytes)]))),
                }
            }
            _ => _ = demo.common.insert(path, bytes),
        }
    }
    assert!(demo.patients.len() > 20 && demo.common.contains_key("policy.toml"));
    demo
}

impl Demo {
    /// Returns a few patients with some of their records.
    fn some(&self, rng: &mut ChaCha8Rng) -> Files {
        let mut files = self.common.clone();
        if rng.random_ratio(1, 3) {
            files.insert("policy.toml".to_owned(), self.template.clone());
        }
        let patients = rng.random_range(1..=2);
        for (_, own) in self.patients.sample(rng, patients) {
            let least = own.len().saturating_sub(rng.random_range(2..14));
            // The newest records matter most.
            files.extend(
                own.iter()
                    .enumerate()
                    .filter(|(n, (path, _))| *n >= least || path.ends_with("/patient.toml"))
                    .map(|(_, file)| (file.0.clone(), file.1.clone())),
            );
        }
        files
    }
}

/// Runs one case and returns its failures, each with its kind.
fn one(seed: u64, case: u64, demo: &Demo, seen: &Mutex<BTreeSet<u8>>, doing: impl Fn(&str)) -> Vec<(String, String)> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed.wrapping_mul(1_000_003).wrapping_add(case));
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path().join("records");
    let mut files = demo.some(&mut rng);
    let has_git = case % WITH_GIT == WITH_GIT - 1;
    let ran = kept.path().join("ran");
    if has_git {
        mutate::lay_out(&root, &files);
        under_git(&root, &ran);
    }
    for _ in 0..rng.random_range(1..4) {
        mutate::files(&mut rng, &mut files);
    }
    if has_git {
        // Files renamed or removed in the case are deleted from the disk, too.
        let gone: Vec<PathBuf> =
            judge::everything(&root).into_iter().filter(|path| !path.starts_with(root.join(".git"))).collect();
        gone.iter().for_each(|path| fs::remove_file(path).unwrap());
    }
    mutate::lay_out(&root, &files);
    if rng.random_ratio(1, 12) {
        mutate::replace(&mut rng, &root, &files);
    }
    let mut failures = Vec::new();
    let mut before = judge::State::of(&root);
    let mut runs = vec![Run::due()];
    runs.extend((0..3).map(|_| commands::any(&mut rng, kept.path(), &files, has_git)));
    for run in runs {
        doing(&run.shown());
        let result = panic::catch_unwind(AssertUnwindSafe(|| run.run(&world(&root, &run))));
        let mut told: Vec<String> = Vec::new();
        match &result {
            Err(_) => told.push(format!("panic: {}", PANIC.lock().unwrap_or_else(PoisonError::into_inner))),
            Ok(outcome) => {
                seen.lock().unwrap().insert(outcome.status);
                told.extend(judge::outcome(&run, outcome, &root));
            }
        }
        let after = judge::State::of(&root);
        told.extend(judge::written(&run, &before, &after));
        before = after;
        if ran.exists() {
            told.push("a program was run that the folder names".to_owned());
            fs::remove_file(&ran).unwrap();
        }
        let named = |told: String| {
            let sort = told.chars().filter(|c| !c.is_ascii_digit()).take(160).collect::<String>();
            (format!("{} {sort}", run.arguments[0].display()), format!("{}: {told}", run.shown()))
        };
        failures.extend(told.into_iter().map(named));
    }
    failures
}

/// Turns the folder into a git repository whose settings and attributes name a program that leaves a trace.
fn under_git(root: &Path, ran: &Path) {
    let git = |arguments: &[&str]| {
        let mut command = Command::new("git");
        for name in ["GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM"] {
            command.env(name, "/dev/null");
        }
        let who = ["-c", "user.name=Invented", "-c", "user.email=invented@example.org", "-c", "core.fsync=none"];
        let done = command.current_dir(root).args(who).args(arguments).output().unwrap();
        assert!(done.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&done.stderr));
    };
    git(&["init", "--quiet", "--initial-branch=main"]);
    git(&["add", "--all", "."]);
    git(&["commit", "--quiet", "--message", "records"]);
    let program = format!("touch {}", ran.display());
    let settings = format!(
        "[core]\nfsmonitor = {program}\npager = {program}\nsshCommand = {program}\n\
         [filter \"trap\"]\nclean = {program}\nsmudge = {program}\nprocess = {program}\n\
         [diff]\nexternal = {program}\n[diff \"trap\"]\ntextconv = {program}\n[gpg]\nprogram = {program}\n"
    );
    let mut config = fs::File::options().append(true).open(root.join(".git/config")).unwrap();
    config.write_all(settings.as_bytes()).unwrap();
    fs::create_dir_all(root.join(".git/info")).unwrap();
    fs::write(root.join(".git/info/attributes"), "* filter=trap diff=trap\n").unwrap();
}
