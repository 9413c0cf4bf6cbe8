//! Two coordinators at once, each in their own clone: their days merge, and `check` finds care recorded by both.
//!
//! A record is a file of its own, so a merge has one conflict only: both wrote a record of the same kind, patient and
//! minute. Git then keeps both texts in one unreadable file, and `check` explains how to separate them.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::fs;
use std::path::Path;

use exitsite::command::{Outcome, Surroundings, run};
use serde_json::Value;

use crate::Records;

const PAIRS: u64 = 200;

/// The kinds that both may record, with flags that ask no questions.
const KINDS: [(&str, &[&str]); 5] = [
    ("contact", &["--with", "patient", "--about", "other", "--outcome", "advised"]),
    ("shower", &["--source", "told"]),
    ("inspection", &["--dressing", "intact", "--anchor", "in-place", "--source", "seen"]),
    ("change", &["--anchor-left", "in-place", "--source", "seen"]),
    ("supply", &["--item", "dressing-kit", "--counted", "9"]),
];

/// Pseudorandom numbers, the same in each run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % limit
    }
}

/// A record of the day: patient, kind, minute of the day.
type Record = (&'static str, usize, u64);

fn said(root: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-23T23:00:00Z".parse().unwrap(),
        here: root.to_owned(),
        records: Some(root.to_owned()),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

fn path((patient, kind, minute): &Record) -> String {
    format!("patients/{patient}/2026/2026-11-23T{:02}{:02}-{}.toml", minute / 60, minute % 60, KINDS[*kind].0)
}

/// Records one coordinator's day, with no two of a kind within 90 minutes, and returns the records.
fn day(root: &Path, by: &str, numbers: &mut Numbers) -> Vec<Record> {
    let mut records: Vec<Record> = Vec::new();
    for _ in 0..1 + numbers.below(4) {
        let patient = ["P-001", "P-002"][numbers.below(2) as usize];
        let record = (patient, numbers.below(KINDS.len() as u64) as usize, 7 * 60 + numbers.below(48) * 10);
        let is_near = |other: &Record| (other.0, other.1) == (record.0, record.1) && other.2.abs_diff(record.2) <= 90;
        // A change in the minute of a shower needs a reason.
        let is_same_minute = |other: &Record| other.0 == record.0 && other.2 == record.2;
        if records.iter().any(|other| is_near(other) || is_same_minute(other)) {
            continue;
        }
        let at = format!("2026-11-23T{:02}:{:02}", record.2 / 60, record.2 % 60);
        let (kind, flags) = KINDS[record.1];
        let fixed = ["record", kind, patient, "--at", &at, "--by", by, "--by-entered", by, "--yes"];
        let Outcome { stderr, status, .. } = said(root, &[&fixed[..], flags].concat());
        assert_eq!(status, 0, "{kind} {at} {by}: {stderr}");
        records.push(record);
    }
    records
}

/// The last record of each run of one kind and patient to which both contributed.
fn done_twice(records: &[Record]) -> BTreeSet<String> {
    let mut groups: BTreeMap<(&str, usize), Vec<u64>> = BTreeMap::new();
    records.iter().for_each(|(patient, kind, minute)| groups.entry((patient, *kind)).or_default().push(*minute));
    let mut found = BTreeSet::new();
    for ((patient, kind), mut minutes) in groups {
        minutes.sort_unstable();
        for (n, minute) in minutes.iter().enumerate() {
            let is_near = |other: Option<&u64>| other.is_some_and(|other| minute.abs_diff(*other) <= 90);
            if n > 0 && is_near(minutes.get(n - 1)) && !is_near(minutes.get(n + 1)) {
                let patient = ["P-001", "P-002"].into_iter().find(|code| *code == patient).unwrap();
                let is_one_minute = minutes[n - 1] == *minute;
                let name = path(&(patient, kind, *minute));
                found.insert(if is_one_minute { name.replace(".toml", "-2.toml") } else { name });
            }
        }
    }
    found
}

fn findings(root: &Path, rule: &str) -> BTreeSet<String> {
    let report: Value = serde_json::from_str(&said(root, &["check", "--json"]).stdout).unwrap();
    let of_rule = report["findings"].as_array().unwrap().iter().filter(|one| one["rule"] == rule);
    of_rule.map(|one| one["file"].as_str().unwrap().to_owned()).collect()
}

/// Merges some pairs of days and returns the number of conflicts.
fn merge(seed: u64, pairs: u64) -> usize {
    let one = Records::committed();
    let base = one.git(&["rev-parse", "HEAD"]);
    let other = one.kept.path().join("other");
    one.git(&["clone", "--quiet", ".", other.to_str().unwrap()]);
    let mut numbers = Numbers(seed);
    let mut left = 0;
    for pair in 0..pairs {
        one.git(&["reset", "--quiet", "--hard", &base]);
        one.git_at(&other, &["reset", "--quiet", "--hard", &base]);
        let (mine, theirs) = (day(&one.root, "co-1", &mut numbers), day(&other, "rn-07", &mut numbers));
        let mut texts: Vec<String> = Vec::new();
        for (root, records) in [(&one.root, &mine), (&other, &theirs)] {
            texts.extend(records.iter().map(|record| fs::read_to_string(root.join(path(record))).unwrap()));
            one.git_at(root, &["add", "--all", "."]);
            one.git_at(root, &["commit", "--quiet", "-m", "a day"]);
        }
        one.git(&["fetch", "--quiet", other.to_str().unwrap(), "main"]);
        let merged = one.try_git(&["merge", "--quiet", "--no-edit", "FETCH_HEAD"]);
        let same: BTreeSet<String> = mine.iter().filter(|record| theirs.contains(record)).map(path).collect();
        assert_eq!(merged.status == 0, same.is_empty(), "pair {pair}: {}{}", merged.stdout, merged.stderr);
        if !same.is_empty() {
            left += 1;
            assert_eq!(findings(&one.root, "conflict-markers"), same, "pair {pair}");
            for file in &same {
                // As the rule's help says: each text under its own name.
                let text = |side: &str| one.git(&["show", &format!(":{side}:{file}")]) + "\n";
                one.write(file, &text("2"));
                one.write(&file.replace(".toml", "-2.toml"), &text("3"));
            }
            one.git(&["add", "--all", "."]);
            one.git(&["commit", "--quiet", "--no-edit"]);
        }
        // No record of either is lost or altered.
        let both: Vec<Record> = mine.iter().chain(&theirs).copied().collect();
        let kept = |file: String| fs::read_to_string(one.root.join(file)).unwrap_or_default();
        for (record, text) in both.iter().zip(&texts) {
            let (first, second) = (path(record), path(record).replace(".toml", "-2.toml"));
            assert!(kept(first.clone()) == *text || kept(second) == *text, "pair {pair}: {first}");
        }
        assert_eq!(findings(&one.root, "perhaps-the-same"), done_twice(&both), "pair {pair}");
        assert_eq!(said(&one.root, &["check"]).status, 0, "pair {pair}");
    }
    left
}

#[test]
fn two_hundred_pairs_of_days_merge_and_what_both_did_is_found() {
    let halves = std::thread::scope(|scope| {
        let half = |seed| scope.spawn(move || merge(seed, PAIRS / 2));
        let halves = [half(20_261_123), half(7)];
        halves.map(|half| half.join().unwrap())
    });
    // The conflict occurs, and is rare.
    let left: usize = halves.iter().sum();
    assert!(left > 0 && left < PAIRS as usize / 4, "{left}");
}
