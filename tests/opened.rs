//! The morning list, the alerts and a round of a simulated program open few files, however long the records are.
//!
//! The files are counted by patient: for a year, five and ten, with and without changes by people who are not signed
//! off, followed up for a month, or open until a sign-off. In that last case each change of the days over which signals
//! look back is opened, since no file name shows its author.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "the figures are for a reader of the run")]

mod simulator;

use std::fs;

use exitsite::ask;
use exitsite::chart::Window;
use exitsite::day::AsOf;
use exitsite::folder::Folder;
use exitsite::program::Program;
use simulator::{Simulated, simulate};

/// The number of patients of each program.
const PATIENTS: u32 = 16;

/// The number of files that a program of 200 patients may open in a morning.
const MOST_OF_200: usize = 25_000;

/// The windows of `alert` for a patient without a planned move home: the due list and supplies.
const ALERTS: [Window; 3] = [Window::Signals, Window::Recent, Window::Supplies { own_use_days: 28 }];

/// The number of files opened for each patient, in ascending order.
fn opened(program: &Program, windows: &[Window], as_of: AsOf) -> Vec<usize> {
    let of_patient = |code: &String| {
        let before = program.folder.tally().1;
        program.chart(code, windows, as_of).unwrap();
        program.folder.tally().1 - before
    };
    let mut opened: Vec<usize> = program.patients.codes.iter().map(of_patient).collect();
    opened.sort();
    opened
}

/// Asserts the number of files for the median patient, and for a program of 200 at that rate.
fn check(simulated: &Simulated, what: &str, most_of_median: usize, most_of_200: usize) {
    let (records, as_of) = (&simulated.records, simulated.truth["as_of"].as_str().unwrap());
    let program = Program::open(Folder::find(Some(records), records).unwrap()).unwrap();
    let as_of = AsOf { instant: as_of.parse().unwrap(), is_given: true };
    for windows in [ask::DUE.as_slice(), &ALERTS] {
        let opened = opened(&program, windows, as_of);
        let (median, all) = (opened[opened.len() / 2], opened.iter().sum::<usize>());
        let of_200 = all * 200 / PATIENTS as usize;
        println!("{what}, {} windows: median {median}, {of_200} for 200 patients, each {opened:?}", windows.len());
        assert!(median <= most_of_median, "{what}: {median} files of the median patient: {opened:?}");
        assert!(of_200 <= most_of_200, "{what}: {of_200} files for 200 patients: {opened:?}");
    }
}

fn check_years(years: u32) {
    for kind in ["stable", "mixed"] {
        let simulated = simulate(kind, PATIENTS, years, 7, "2026-11-24");
        let what = format!("{kind}, {years} years");
        // About 200 changes in the 400 days.
        check(&simulated, &what, 300, 300 * 200);
        let policy = simulated.records.join("policy.toml");
        let month = "\n[signals]\nuntaught = { ends_after_days = 31 }\n";
        fs::write(&policy, fs::read_to_string(&policy).unwrap() + month).unwrap();
        check(&simulated, &format!("{what}, a month"), 90, MOST_OF_200);
    }
}

#[test]
fn the_morning_of_a_program_opens_few_files_after_a_year() {
    check_years(1);
}

#[test]
fn the_morning_of_a_program_opens_few_files_after_five_years() {
    check_years(5);
}

#[test]
fn the_morning_of_a_program_opens_few_files_after_ten_years() {
    check_years(10);
}
