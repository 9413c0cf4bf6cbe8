//! The due list opens few files. For records of every shape, at any time, its answer must be that of opening all of
//! them.
//!
//! The records are drawn at random, from a fixed seed: late and incomplete logs, silent changes, unanswered calls, two
//! exit sites, moves, voided records. A simulated program is too regular to reveal what a search overlooks.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use chrono::{NaiveDate, TimeDelta};
use exitsite::ask;
use exitsite::chart::{Chart, Looks, Window};
use exitsite::day::{AsOf, Instant, Period};
use exitsite::folder::Folder;
use exitsite::patient::Patient;
use exitsite::program::Program;
use exitsite::schedule::{Due, Missed, Schedule};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// The number of patients of each program, each with its own pattern of history.
const PATIENTS: u32 = 60;

/// The length of a history in days, across the end of a year.
const DAYS: i64 = 150;

struct Draw(ChaCha8Rng);

impl Draw {
    fn below(&mut self, n: u32) -> u32 {
        self.0.next_u32() % n
    }

    fn one_in(&mut self, n: u32) -> bool {
        self.below(n) == 0
    }

    fn pick<'a>(&mut self, words: &[&'a str]) -> &'a str {
        words[self.below(words.len() as u32) as usize]
    }

    /// A key with one of its words, or an empty text.
    fn maybe(&mut self, one_in: u32, key: &str, words: &[&str]) -> String {
        if self.one_in(one_in) { format!("{key} = '{}'\n", self.pick(words)) } else { String::new() }
    }
}

fn day(n: i64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 9, 20).unwrap() + TimeDelta::days(n)
}

fn write_program(records: &Path, seed: u64) {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed));
    fs::write(records.join("policy.toml"), "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n")
        .unwrap();
    for n in 1..=PATIENTS {
        let code = format!("P-{n:03}");
        let folder = records.join("patients").join(&code);
        fs::create_dir_all(&folder).unwrap();
        let has_second = draw.one_in(4);
        fs::write(folder.join("patient.toml"), course(&mut draw, &code, has_second)).unwrap();
        // From a silent household to a busy one.
        let events = 1 + draw.below(90);
        for _ in 0..events {
            write_event(&mut draw, &folder, has_second);
        }
    }
}

fn course(draw: &mut Draw, code: &str, has_second: bool) -> String {
    let mut text = format!("code = '{code}'\nimplanted = {}\n", day(0));
    let mut exit = |id: &str, from: NaiveDate| {
        text += &format!("[[exit]]\nid = '{id}'\nwhere = 'other'\nfrom = {from}\nwhy = 'implant'\n");
    };
    exit("a", day(0));
    if has_second {
        exit("b", day(i64::from(draw.below(60))));
    }
    let mut from = 0;
    while from < DAYS {
        let place = draw.pick(&["inpatient", "home", "home", "home", "elsewhere"]);
        let reports = if place == "home" && !draw.one_in(3) { "reports = 'log'\n" } else { "" };
        text += &format!("[[care]]\nfrom = {}\nplace = '{place}'\n{reports}", day(from));
        from += 5 + i64::from(draw.below(100));
    }
    text
}

fn write_event(draw: &mut Draw, folder: &Path, has_second: bool) {
    const DRESSING: &[&str] = &["intact", "intact", "wet", "lifting"];
    const ANCHOR: &[&str] = &["in-place", "loose"];
    let kind =
        draw.pick(&["change", "change", "change", "shower", "inspection", "assessment", "contact", "log", "supply"]);
    let on = day(i64::from(draw.below(DAYS as u32)));
    let time = (!draw.one_in(3)).then(|| (draw.below(24), draw.below(60))).filter(|(hour, _)| !matches!(hour, 1 | 2));
    let mut text = match time {
        Some((hour, minute)) => format!("kind = '{kind}'\nat = {on}T{hour:02}:{minute:02}:00\nby = 'rn-07'\n"),
        None => format!("kind = '{kind}'\non = {on}\nby = 'rn-07'\n"),
    };
    text += &draw.maybe(3, "source", &["told", "log"]);
    if has_second && matches!(kind, "change" | "inspection" | "assessment") {
        text += &format!("exit = '{}'\n", draw.pick(&["a", "b"]));
    }
    match kind {
        "change" => {
            text += &draw.maybe(2, "reason", &["scheduled", "after-shower", "wet"]);
            text += "[left]\n";
            text += &draw.maybe(3, "anchor", ANCHOR);
            text += &draw.maybe(5, "dressing", DRESSING);
            text += if draw.one_in(3) { "[site]\ndrainage = 'none'\n" } else { "" };
        }
        "shower" => text += &draw.maybe(4, "dressing_after", DRESSING),
        "inspection" => {
            text += &draw.maybe(2, "dressing", DRESSING);
            text += &draw.maybe(2, "anchor", ANCHOR);
        }
        "assessment" => text += "[site]\ndrainage = 'serous'\n",
        "contact" => {
            let outcome = draw.pick(&["will-change", "coming-in", "advised", "no-answer"]);
            text += &format!("with = 'patient'\nabout = ['other']\noutcome = '{outcome}'\n");
            if draw.one_in(2) {
                text += &format!("expect_by = {}T20:00:00\n", on + TimeDelta::days(i64::from(draw.below(5))));
            }
        }
        "log" => {
            let through = on - TimeDelta::days(1 + i64::from(draw.below(20)));
            let from = through - TimeDelta::days(i64::from(draw.below(40)));
            text += &format!("from = {from}\nthrough = {through}\ncomplete = {}\n", !draw.one_in(4));
        }
        _ => text += "item = 'dressing-kit'\ncounted = 4\n",
    }
    if draw.one_in(12) {
        text += &format!("[void]\nat = {}T12:00:00\nby = 'rn-07'\nwhy = 'another patient'\n", on + TimeDelta::days(1));
    }
    let year = folder.join(on.format("%Y").to_string());
    fs::create_dir_all(&year).unwrap();
    let time = time.map(|(hour, minute)| format!("T{hour:02}{minute:02}")).unwrap_or_default();
    fs::write(year.join(format!("{on}{time}-{kind}.toml")), text).unwrap();
}

/// Compares the answers of both ways of reading for each exit site with a row. Returns the number of rows.
fn compare(program: &Program, instant: Instant, is_given: bool, seen: &mut BTreeSet<String>) -> usize {
    let plan = program.plan().unwrap();
    let codes: Vec<&str> = program.patients.codes.iter().map(String::as_str).collect();
    let (few, unusable) = ask::due(program, &codes, AsOf { instant, is_given }, true);
    assert!(unusable.is_empty(), "{unusable:?}");
    for row in few.rows.iter().map(|row| row.site().unwrap()) {
        let patient = program.patient(&row.patient, &mut Vec::new()).unwrap();
        let exit = patient.exits.iter().find(|exit| exit.id == row.exit).unwrap();
        let chart = whole(program, &patient, instant);
        let timeline = chart.timeline();
        let all = Due::of(&Schedule { plan, patient: &patient, exit }, &timeline);
        let of_schedule = |due: &Due| {
            format!(
                "{:?}",
                (
                    (due.state, due.because, due.due_on, due.hours_overdue, due.order_unknown),
                    (due.heard_through, due.log_expected, due.missed_in_a_row),
                    due.last_change.as_ref().map(|change| change.file.as_str()),
                    due.promise.as_ref().map(|promise| promise.broken),
                )
            )
        };
        let by_few = format!(
            "{:?}",
            (
                of_schedule(&row.due),
                row.anchor.as_ref().map(|anchor| anchor.state),
                row.last_contact.as_ref().map(|contact| contact.outcome),
                row.score.is_some(),
            )
        );
        let by_all = format!(
            "{:?}",
            (
                of_schedule(&all),
                timeline.anchor(exit).map(|(_, anchor)| anchor),
                timeline.contacts().next_back().map(|(_, contact)| contact.outcome),
                timeline.sites(exit).next().is_some(),
            )
        );
        assert_eq!(by_few, by_all, "{} {} as of {instant}, given {is_given}", row.patient, exit.id);
        seen.insert(format!("{:?} {:?}", all.state, all.because));
    }
    few.rows.len()
}

/// A patient's chart from every file, as of an instant.
fn whole<'p>(program: &'p Program, patient: &Patient, instant: Instant) -> Chart<'p> {
    program.chart(&patient.code, &[Window::Everything], AsOf { instant, is_given: false }).unwrap()
}

#[test]
fn the_few_files_that_missed_and_grade_open_say_the_same_as_all_files() {
    let mut compared = 0;
    for seed in 10..13 {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        write_program(kept.path(), seed);
        let program = Program::open(Folder::find(Some(kept.path()), kept.path()).unwrap()).unwrap();
        let plan = program.plan().unwrap();
        let scoring = program.policy.as_ref().unwrap().scoring.as_ref().unwrap();
        let codes: Vec<&str> = program.patients.codes.iter().map(String::as_str).collect();
        for (first, last, asked) in [(123, 150, 150), (60, 70, 140), (103, 104, 104), (0, 150, 151), (20, 47, 160)] {
            let instant = day(asked).and_hms_opt(13, 15, 0).unwrap().and_utc();
            let as_of = AsOf { instant, is_given: true };
            let period = Period { from: day(first), to: day(last) };
            let (few, unusable) = ask::missed(&program, plan, &codes, as_of, period);
            assert!(unusable.is_empty());
            for row in &few.rows {
                let patient = program.patient(&row.patient, &mut Vec::new()).unwrap();
                let exit = patient.exits.iter().find(|exit| Some(&exit.id) == row.exit.as_ref()).unwrap();
                let all = Missed::of(
                    &Schedule { plan, patient: &patient, exit },
                    &whole(&program, &patient, instant).timeline(),
                    period,
                );
                let who = format!("seed {seed} {} {} {period:?} asked {asked}", row.patient, exit.id);
                let few = row.figures.answer().unwrap();
                assert_eq!(few.changes, all.expectations, "{who}");
                assert_eq!(
                    (few.days_in_date.days, few.days_in_date.in_date),
                    (all.days.len() as u64, all.days_in_date() as u64),
                    "{who}"
                );
                assert_eq!(few.longest_gap_days, all.longest_gap_days, "{who}");
                compared += 1;
            }
            for wanted in [Looks::Latest, Looks::Each(Some(period))] {
                let (few, _) = ask::grade(&program, scoring, &codes, as_of, wanted);
                for row in &few.rows {
                    let patient = program.patient(&row.patient, &mut Vec::new()).unwrap();
                    let exit = patient.exits.iter().find(|exit| Some(&exit.id) == row.exit.as_ref()).unwrap();
                    let chart = whole(&program, &patient, instant);
                    let timeline = chart.timeline();
                    let all = exitsite::score::grade(&timeline, exit, scoring, program.people.as_ref(), false);
                    let latest = all.len().saturating_sub(1);
                    let is_wanted = |n: usize, day| match wanted {
                        Looks::Latest => n == latest,
                        _ => period.contains(day),
                    };
                    let by_all: Vec<_> = all
                        .iter()
                        .enumerate()
                        .filter(|(n, one)| is_wanted(*n, one.event.when.care_day))
                        .map(|(_, one)| (one.event.file().to_owned(), one.trend))
                        .collect();
                    let by_few: Vec<_> = row.assessments.iter().map(|one| (one.file.clone(), one.trend)).collect();
                    assert_eq!(by_few, by_all, "seed {seed} {} {} {wanted:?} asked {asked}", row.patient, exit.id);
                }
            }
        }
    }
    assert!(compared > 700, "{compared}");
}

#[test]
fn the_few_files_that_the_due_list_opens_say_the_same_as_all_files() {
    let mut seen = BTreeSet::new();
    let mut compared = 0;
    for seed in 0..3 {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        write_program(kept.path(), seed);
        let program = Program::open(Folder::find(Some(kept.path()), kept.path()).unwrap()).unwrap();
        for (n, hour) in [(DAYS + 1, 13), (DAYS - 1, 3), (130, 13), (104, 20), (95, 8), (60, 13), (30, 23)] {
            let instant = day(n).and_hms_opt(hour, 15, 0).unwrap().and_utc();
            for is_given in [true, false] {
                compared += compare(&program, instant, is_given, &mut seen);
            }
        }
    }
    assert!(compared > 2500, "{compared}");
    // The draw covers the cases that it is meant for.
    for state in [
        "Overdue Some(LogLate)",
        "AwaitingLog Some(Interval)",
        "Overdue Some(AfterShower)",
        "Overdue Some(Damage)",
        "Overdue Some(Return)",
    ] {
        assert!(seen.contains(state), "{state}: {seen:?}");
    }
}
