//! What may leave the house: no codes, dates, notes or file names, and nothing of few patients, not even worked out.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use exitsite::command::{Outcome, Surroundings, run};
use serde_json::Value;

use super::desk::Desk;
use super::{Program, simulate};

static PROGRAM: LazyLock<Program> = LazyLock::new(|| simulate(40, 2, 5));

fn said(arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: PROGRAM.records.clone(),
        ..Surroundings::default()
    };
    run(["exitsite", "audit", "--year", "2025"].iter().chain(arguments).map(Into::into), &surroundings)
}

fn outside() -> Value {
    let outcome = said(&["--deidentify", "--json"]);
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, ""));
    let report = serde_json::from_str(&outcome.stdout).unwrap();
    jsonschema::validate(&exitsite::schema::schema("audit-outside").unwrap(), &report).unwrap();
    report
}

fn counts(report: &Value) -> BTreeMap<String, Option<i64>> {
    let all = report["counts"].as_array().unwrap().iter();
    all.map(|one| (one["name"].as_str().unwrap().to_owned(), one["value"].as_i64())).collect()
}

/// The sums that everybody knows by the names of the counts: the total and its parts.
fn sums(counts: &BTreeMap<String, Option<i64>>) -> Vec<(String, Vec<String>)> {
    let named = |is_part: &dyn Fn(&str) -> bool| -> Vec<String> {
        counts.keys().filter(|name| is_part(name)).cloned().collect()
    };
    let certainties = ["infections: proven", "infections: probable"].map(str::to_owned);
    let mut sums = vec![
        (
            "infections".to_owned(),
            named(&|name| name.starts_with("infections: ") && !certainties.contains(&name.to_owned())),
        ),
        ("infections".to_owned(), certainties.to_vec()),
        ("signals".to_owned(), named(&|name| name.starts_with("signals: "))),
        (
            "followed to a first infection".to_owned(),
            named(&|name| {
                name == "first infection" || name.ends_with(" without one") || name.ends_with("none of these yet")
            }),
        ),
        (
            "changes expected".to_owned(),
            ["changes on-time", "changes late", "changes missed"].map(str::to_owned).to_vec(),
        ),
    ];
    for outcome in ["on-time", "late", "missed", "unreported"] {
        let total = format!("changes {outcome}");
        sums.push((total.clone(), named(&|name| name.starts_with(&format!("{total}, phase ")))));
    }
    let is_days = |name: &str| name.starts_with("days in date, phase ");
    sums.push(("days in date".into(), named(&|name| is_days(name) && !name.ends_with(": covered days"))));
    sums.push(("days in date: covered days".into(), named(&|name| is_days(name) && name.ends_with(": covered days"))));
    sums
}

/// What can be said of each count that is left out: at least one, and what the sums leave.
fn attack(counts: &BTreeMap<String, Option<i64>>) -> BTreeMap<String, (i64, i64)> {
    let mut known: BTreeMap<String, (i64, i64)> = counts
        .iter()
        .map(|(name, value)| (name.clone(), value.map_or((1, i64::MAX / 1000), |value| (value, value))))
        .collect();
    for _ in 0..50 {
        for (total, parts) in sums(counts) {
            let (least, most) = parts.iter().fold((0, 0), |sum, part| (sum.0 + known[part].0, sum.1 + known[part].1));
            let of_total = known[&total];
            known.insert(total.clone(), (of_total.0.max(least), of_total.1.min(most)));
            for part in &parts {
                let (low, high) = known[part];
                let others = (least - low, most - high);
                known.insert(part.clone(), (low.max(known[&total].0 - others.1), high.min(known[&total].1 - others.0)));
            }
        }
    }
    known.retain(|name, _| counts[name].is_none());
    known
}

#[test]
fn no_count_that_is_left_out_can_be_worked_out() {
    let counts = counts(&outside());
    let left_out = attack(&counts);
    assert!(left_out.len() >= 5 && counts.len() - left_out.len() >= 20, "{counts:?}");
    for (name, (low, high)) in left_out {
        assert!(high - low >= 3, "{name} is {low} to {high}: {counts:?}");
    }
}

#[test]
fn no_count_of_one_to_four_is_told() {
    for (name, value) in counts(&outside()) {
        assert!(value.is_none_or(|value| value == 0 || value >= 5), "{name} {value:?}");
    }
}

#[test]
fn a_figure_is_left_out_with_what_it_is_made_of() {
    let report = outside();
    let counts = counts(&report);
    let figures = report["figures"].as_array().unwrap();
    let value = |name: &str| figures.iter().find(|figure| figure["name"] == name).unwrap()["value"].as_f64();
    assert_eq!(value("infections per 1,000 device-days").is_some(), counts["infections"].is_some());
    for name in counts.keys().filter(|name| counts.contains_key(&format!("{name}: covered days"))) {
        let are_told = counts[name].is_some() && counts[&format!("{name}: covered days")].is_some();
        assert!(are_told || value(name).is_none(), "{name}");
    }
}

#[test]
fn no_code_date_note_or_file_name_leaves_the_house() {
    let text = said(&["--deidentify"]).stdout;
    let json = said(&["--deidentify", "--json"]).stdout;
    let codes = std::fs::read_dir(PROGRAM.records.join("patients")).unwrap();
    let codes: Vec<String> = codes.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    assert!(codes.len() >= 40);
    let policy = std::fs::read_to_string(PROGRAM.records.join("policy.toml")).unwrap();
    let program = policy.lines().find_map(|line| line.strip_prefix("program = ")).unwrap().trim_matches('"').to_owned();
    for said in [&text, &json] {
        assert!(codes.iter().all(|code| !said.contains(code)));
        assert!(!said.contains(&program) && !said.contains(".toml"));
        let is_date = |word: &str| word.len() == 10 && word.as_bytes()[4] == b'-' && word.as_bytes()[7] == b'-';
        assert!(!said.split(|c: char| !c.is_ascii_digit() && c != '-').any(is_date), "{said}");
        assert!(!said.contains("2025") && !said.contains("2026"), "{said}");
        assert!(said.contains("pseudonymous"));
    }
    assert!(text.contains("pseudonymous, not de-identified"));
}

#[test]
fn too_short_a_period_or_too_few_patients_are_refused() {
    let desk = Desk::new();
    // Whole years only: of two periods that nearly overlap one could be taken from the other.
    for period in [
        &["--month", "2026-10"][..],
        &["--year", "2026"],
        &["--from", "2025-01-01", "--to", "2025-12-30"],
        &["--from", "2024-11-01", "--to", "2025-10-31"],
    ] {
        let said = desk.refused(&[&["audit", "--deidentify"], period].concat());
        assert!(said.contains("whole calendar years that are over"), "{said}");
    }
    let said = desk.refused(&["audit", "--year", "2025", "--deidentify"]);
    assert!(said.contains("fewer than 5 patients"), "{said}");
    let said = desk.refused(&["audit", "--year", "2026", "--deidentify", "--html", "x.html"]);
    assert!(said.contains("cannot be used with"), "{said}");
}

#[test]
fn that_a_file_is_missing_stands_in_what_leaves_the_house_without_its_name() {
    let kept = simulate(6, 2, 5);
    let patients = kept.records.join("patients");
    let code = std::fs::read_dir(&patients).unwrap().next().unwrap().unwrap().file_name();
    std::fs::write(patients.join(&code).join("patient.toml"), "code = ").unwrap();
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: kept.records.clone(),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite", "audit", "--year", "2025", "--deidentify"].map(Into::into), &surroundings);
    assert_eq!(outcome.status, 3);
    let first: Vec<&str> = outcome.stdout.lines().take(2).collect();
    assert!(first[1].starts_with("Not complete: 1 file could not be used"), "{first:?}");
    assert!(!outcome.stdout.contains(code.to_str().unwrap()) && !outcome.stderr.contains(code.to_str().unwrap()));
}
