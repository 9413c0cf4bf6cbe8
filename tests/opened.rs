//! How many files the morning's commands open, of simulated programs: few for each patient, and as few after ten years of
//! records as after one.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::path::{Path, PathBuf};
use std::process::Command;

use exitsite::ask;
use exitsite::chart::Window;
use exitsite::day::AsOf;
use exitsite::folder::Folder;
use exitsite::program::Program;

/// The files that 200 patients may cost, and the median one.
const MOST_OF_200: usize = 25_000;
const MOST_OF_THE_MEDIAN: usize = 90;

const UNTIL: &str = "2026-11-24";

/// The simulator, which `cargo test --test opened` alone does not build.
fn simulator() -> PathBuf {
    let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
    let build = ["build", "--quiet", "--locked", "--example", "simulate", "--profile", profile];
    assert!(Command::new(env!("CARGO")).args(build).status().unwrap().success());
    Path::new(env!("CARGO_BIN_EXE_exitsite")).with_file_name("examples").join("simulate")
}

/// The files opened of a simulated program.
#[derive(Debug)]
struct Opened {
    /// For the due list of each patient, the fewest first.
    each: Vec<usize>,
    /// For the due list, and for the alerts, of all patients.
    due: usize,
    alert: usize,
    /// For all the days over which signals look back.
    look_back: usize,
}

/// Counts the files opened of a program, under a policy that says more.
fn opened(records: &Path, says: &str) -> Opened {
    let policy = records.join("policy.toml");
    let before = std::fs::read_to_string(&policy).unwrap();
    std::fs::write(&policy, format!("{before}{says}")).unwrap();
    let program = Program::open(Folder::find(Some(records), records).unwrap()).unwrap();
    std::fs::write(&policy, before).unwrap();
    assert!(program.problems.is_empty(), "{:?}", program.problems);
    let as_of = AsOf { instant: "2026-11-24T13:15:00Z".parse().unwrap(), is_given: true };
    let codes: Vec<&str> = program.patients.codes.iter().map(String::as_str).collect();
    let count = |ask: &dyn Fn()| {
        let before = program.folder.tally().1;
        ask();
        program.folder.tally().1 - before
    };
    let due = |codes: &[&str]| count(&|| drop(ask::due(&program, codes, as_of, false)));
    let charts = |windows: &[Window]| {
        count(&|| codes.iter().for_each(|code| drop(program.chart(code, windows, as_of).unwrap())))
    };
    let mut each: Vec<usize> = codes.iter().map(|code| due(&[code])).collect();
    each.sort();
    let stock = Window::Supplies { own_use_days: 28 };
    let alert = charts(&[Window::Signals, Window::Recent, Window::Checkoffs, stock]);
    Opened { each, due: due(&codes), alert, look_back: charts(&[Window::LookBack, Window::Recent]) }
}

fn simulate(kind: &str, patients: usize, years: usize, records: &Path) {
    let ran = Command::new(simulator())
        .args(["--kind", kind, "--until", UNTIL, "--seed", "7", "--patients", &patients.to_string()])
        .args(["--years", &years.to_string(), "--out"])
        .arg(records)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
}

#[test]
fn the_morning_opens_few_files_of_each_patient_and_no_more_after_years() {
    // `EXITSITE_OPENED=200` counts for as many as are promised, over ten years.
    let wanted = std::env::var("EXITSITE_OPENED").ok().and_then(|count| count.parse().ok());
    let (patients, years) = wanted.map_or((12, [1, 2, 3]), |patients: usize| (patients, [1, 5, 10]));
    for kind in ["stable", "mixed"] {
        let mut totals = Vec::new();
        for years in years {
            let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
            let records = kept.path().join("records");
            simulate(kind, patients, years, &records);
            // Only a sign-off ends `untaught`: every change says by whom it was made.
            let all = opened(&records, "");
            assert!(all.due < all.look_back, "{kind}, {years} years: {all:?}");
            let few = opened(&records, "[signals]\nuntaught = { ends_after_days = 31 }\n");
            let median = few.each[few.each.len() / 2];
            assert!(median <= MOST_OF_THE_MEDIAN, "{kind}, {years} years: the median patient costs {median}: {few:?}");
            for files in [few.due, few.alert] {
                assert!(files * 200 <= MOST_OF_200 * patients, "{kind}, {years} years: {few:?}");
            }
            totals.push(few.due);
        }
        let (least, most) = (totals.iter().min().unwrap(), totals.iter().max().unwrap());
        assert!(most * 10 <= least * 14, "{kind}: {totals:?}");
    }
}
