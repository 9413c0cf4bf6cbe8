//! Requests that an audit refuses, and records with little on file: a clear answer, and no division by 0.

use super::desk::Desk;
use super::{audit, number};

#[test]
fn a_month_that_has_not_begun_is_refused() {
    let said = Desk::new().refused(&["audit", "--month", "2027-01"]);
    assert_eq!(
        said,
        "exitsite: 2027-01-01 to 2027-01-31 has not started: today is 2026-11-24; choose a period that has\n"
    );
}

#[test]
fn an_invalid_period_gets_a_message_with_the_right_form() {
    let desk = Desk::new();
    let check = |arguments: &[&str], says: &str| {
        let said = desk.refused(&[&["audit"], arguments].concat());
        assert!(said.contains(says), "{said}");
    };
    check(&["--month", "10/2026"], "--month \"10/2026\" is not understood. Write it as 2026-10");
    check(&["--quarter", "2026-Q9"], "Write it as 2026-Q3");
    check(&["--year", "26"], "Write it as 2026");
    check(&["--from", "2026-10-31", "--to", "2026-10-01"], "swap the two days");
    check(&["--from", "2026-10-31"], "--to <DATE>");
    check(&["--month", "2026-10", "--year", "2026"], "cannot be used with");
    check(&["--compare", "2025-10-01", "soon"], "--compare \"soon\"");
    // Neither the same days twice nor days in the future.
    check(&["--month", "2026-10", "--compare", "2026-09-01", "2026-10-01"], "does not end before the period begins");
    check(&["--month", "2026-10", "--compare", "2026-11-01", "2027-12-31"], "does not end before the period begins");
    check(&["--issued", "nothing.json"], "nothing.json does not exist");
    check(&["--by", "age"], "possible values: where, reports, caregivers, implant-year");
}

#[test]
fn a_file_that_is_no_report_is_no_issued_one() {
    let desk = Desk::new();
    let said = desk.refused(&["audit", "--month", "2026-10", "--issued", "policy.toml"]);
    assert!(said.contains("policy.toml is not JSON. Use the file that `exitsite audit … --json` wrote"), "{said}");
}

#[test]
fn an_empty_program_and_a_time_before_the_first_implant_divide_by_nothing() {
    let desk = Desk::new();
    let before = audit(&desk, &["--month", "2020-02"]);
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    let empty = audit(&desk, &["--month", "2026-10"]);
    for report in [&before, &empty] {
        assert_eq!(number(report, "/census/device_days"), 0.0);
        assert!(report.pointer("/infections/rates/per_1000_device_days/rate").unwrap().is_null());
        assert!(report.pointer("/changes/share/value").unwrap().is_null());
    }
    for arguments in [&["audit", "--month", "2026-10"][..], &["audit", "--month", "2020-02"]] {
        let text = desk.done(arguments);
        assert!(text.contains("so there are no figures"), "{text}");
        assert!(!text.contains("NaN"), "{text}");
    }
}

#[test]
fn a_broken_policy_gives_no_figures() {
    let desk = Desk::new();
    desk.put("policy.toml", "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicgo'\n");
    let said = desk.refused(&["audit", "--month", "2026-10"]);
    assert!(said.contains("policy.toml cannot be read, so an audit is not possible"), "{said}");
}

#[test]
fn a_file_that_cannot_be_used_is_named_with_what_it_may_hide() {
    let desk = Desk::new();
    desk.put("patients/P-001/2026/2026-10-05T0900-change.toml", "kind = 'change'\nat = ");
    let outcome = desk.run(&["audit", "--month", "2026-10"]);
    assert_eq!(outcome.status, 3);
    let first = outcome.stdout.lines().take(6).collect::<Vec<_>>().join("\n");
    assert!(first.contains("2026-10-05T0900-change.toml") && first.contains("P-001: left out of changes"), "{first}");
    // Its device-days still count.
    let report = audit(&desk, &["--month", "2026-10"]);
    assert_eq!(number(&report, "/census/device_days"), 31.0);
    assert_eq!(report["signals"]["not_known"][0], "P-001");
}

#[test]
fn a_patient_who_cannot_be_read_is_named_and_the_others_are_counted() {
    let desk = Desk::new();
    desk.put("patients/P-002/patient.toml", "code = 'P-002'\n");
    let report = audit(&desk, &["--month", "2026-10"]);
    assert_eq!(number(&report, "/census/patients"), 1.0);
    assert_eq!(report["hidden"][0]["patient"], "P-002");
}
