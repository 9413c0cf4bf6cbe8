//! Bounds on periods, dates and lists, for any request and any records.

use std::time::{Duration, Instant};

use serde_json::Value;

use crate::desk::{Desk, PATIENT};

#[test]
fn a_period_has_begun_and_is_no_longer_than_fifty_years() {
    let desk = Desk::new();
    let away = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let out = away.path().join("out").display().to_string();
    for asked in [
        &["missed", "--from", "2026-11-25", "--to", "2026-11-26"][..],
        &["show", "P-001", "--from", "2026-11-25", "--to", "2026-11-26"],
        &["history", "--from", "2026-11-25", "--to", "2026-11-26"],
        &["audit", "--from", "2026-11-25", "--to", "2026-11-26"],
        &["export", "csv", &out, "--from", "2026-11-25", "--to", "2026-11-26"],
        &["audit", "--month", "2026-12"],
    ] {
        assert!(desk.refused(asked).contains("has not started: today is 2026-11-24"), "{asked:?}");
    }
    for asked in [
        &["missed", "--from", "1990-01-01", "--to", "2040-01-01"][..],
        &["show", "P-001", "--from", "1990-01-01", "--to", "2199-12-31"],
        &["history", "--from", "1990-01-01", "--to", "2040-01-01"],
        &["audit", "--from", "1990-01-01", "--to", "2040-01-01"],
        &["export", "csv", &out, "--from", "1990-01-01", "--to", "2040-01-01"],
    ] {
        assert!(desk.refused(asked).contains("is more than 50 years"), "{asked:?}");
    }
    assert_eq!(desk.run(&["missed", "--from", "1990-01-01", "--to", "2026-11-24"]).status, 0);
}

#[test]
fn a_question_of_a_far_day_takes_no_longer_than_what_is_on_file() {
    let desk = Desk::new();
    for day in 1..=30 {
        let file = format!("patients/P-001/2026/2026-09-{day:02}T0900-change.toml");
        desk.put(
            &file,
            &format!(
                "kind = \"change\"\nat = 2026-09-{day:02}T09:00:00-05:00\nby = \"p001-son\"\nreason = \"scheduled\"\n"
            ),
        );
    }
    let far = ["--as-of", "2199-12-31"];
    for asked in [
        &["due", "--all"][..],
        &["missed"],
        &["missed", "--from", "2150-01-01", "--to", "2199-12-01"],
        &["signals"],
        &["handoff"],
        &["show", "P-001", "--all"],
        &["grade"],
        &["supplies"],
        &["teaching"],
        &["sheet", "P-001"],
        &["check"],
        &["alert"],
        &["audit", "--month", "2026-10"],
        &["audit", "--month", "2199-10"],
        &["history"],
    ] {
        let begun = Instant::now();
        let said = desk.run(&[asked, &far].concat());
        assert!(said.status == 0 || said.status == 1, "{asked:?}: {}", said.stderr);
        assert!(begun.elapsed() < Duration::from_secs(10), "{asked:?} took {:?}", begun.elapsed());
    }
}

#[test]
fn a_date_that_is_a_slip_makes_a_patient_unusable_and_not_due_today() {
    for (from, to) in [
        ("# went home well", "[[order]]\nfrom = 2206-11-10\nby = \"md-3\"\nevery_days = 1\n"),
        ("from = 2026-08-27", "from = 0026-08-27"),
        ("implanted = 2026-08-03", "implanted = 1026-08-03"),
        ("# end of the file", "[ended]\non = 2999-08-02\nwhy = \"transplant\"\n"),
    ] {
        let desk = Desk::new();
        desk.put("patients/P-001/patient.toml", &PATIENT.replace(from, to));
        let said = desk.run(&["due", "--json"]);
        assert_eq!(said.status, 3, "{to}: {}", said.stderr);
        let report: Value = serde_json::from_str(&said.stdout).unwrap();
        assert_eq!(report["rows"][0]["state"], "unusable", "{to}");
        assert_eq!(desk.run(&["signals", "P-001"]).status, 3, "{to}");
        assert!(desk.findings().contains(&"not-a-date-of-care".to_owned()), "{to}");
    }
}

#[test]
fn a_phase_of_a_year_that_is_a_slip_makes_everybody_unusable() {
    let desk = Desk::new();
    let phases =
        "[[phase]]\nname = 'first'\nfrom = 0026-01-01\nevery_days = 300\n[[phase]]\nname = 'later'\nevery_days = 2\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + phases));
    let said = desk.run(&["due", "--json"]);
    assert_eq!(said.status, 3, "{}", said.stderr);
    let report: Value = serde_json::from_str(&said.stdout).unwrap();
    assert_eq!(report["rows"][0]["state"], "unusable");
    assert!(said.stderr.contains("is outside the range of dates"), "{}", said.stderr);
}

#[test]
fn an_event_of_a_year_that_is_a_slip_leaves_the_state() {
    let desk = Desk::new();
    let at = |year: u16| {
        format!(
            "kind = \"shower\"\non = 2026-11-23\nby = \"patient\"\n[entered]\nat = {year}-11-23T19:00:00Z\nby = \"rn-07\"\n"
        )
    };
    desk.put("patients/P-001/2026/2026-11-23-shower.toml", &at(2206));
    let report: Value = serde_json::from_str(&desk.run(&["due", "--json"]).stdout).unwrap();
    assert_ne!(report["rows"][0]["state"], "unusable");
}

#[test]
fn two_hundred_findings_are_printed_and_the_rest_is_counted() {
    let desk = Desk::new();
    for n in 2..=252 {
        desk.put(&format!("patients/P-001/2026/2026-11-23-shower-{n}.toml"), "kind = \"showr\"\n");
    }
    let report: Value = serde_json::from_str(&desk.run(&["check", "--json"]).stdout).unwrap();
    let all = report["findings"].as_array().unwrap().len();
    assert!(all > 251, "{all}");
    let text = desk.run(&["check"]).stdout;
    assert!(text.contains(&format!("{} more findings not shown", all - 200)), "{}", &text[text.len() - 600..]);
    let shown = text.matches("patients/P-001/2026/").count();
    assert!(shown < all, "{shown} of {all}");
}

#[test]
fn the_records_of_a_patient_are_read_up_to_a_limit_for_all_of_them_together() {
    let desk = Desk::new();
    let comment = format!("# {}\n", "x".repeat(76)).repeat(3200);
    for n in 2..=140 {
        let text = format!("kind = \"shower\"\nat = 2026-09-01T09:00:00-05:00\nby = \"p001-son\"\n{comment}");
        desk.put(&format!("patients/P-001/2026/2026-09-01T0900-shower-{n}.toml"), &text);
    }
    let said = desk.run(&["check", "--json"]);
    let report: Value = serde_json::from_str(&said.stdout).unwrap();
    let is_too_large = |finding: &&Value| finding["rule"] == "too-large";
    let found: Vec<&Value> = report["findings"].as_array().unwrap().iter().filter(is_too_large).collect();
    assert!((1..20).contains(&found.len()), "{found:?}");
    assert!(found[0]["message"].as_str().unwrap().contains("exceed 32 MiB in total"), "{found:?}");
}
