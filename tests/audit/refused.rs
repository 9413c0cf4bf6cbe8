//! Requests that an audit refuses, and records with little on file: a clear answer, and no division by 0.

use super::desk::Desk;
use super::{audit, nobody, number};

#[test]
fn an_invalid_request_gets_a_message_with_the_right_form() {
    let desk = Desk::new().at_80_columns();
    let requests: [&[&str]; 13] = [
        &["--month", "2027-01"],
        &["--month", "10/2026"],
        &["--quarter", "2026-Q9"],
        &["--year", "26"],
        &["--from", "2026-10-31", "--to", "2026-10-01"],
        &["--from", "2026-10-31"],
        &["--month", "2026-10", "--year", "2026"],
        &["--compare", "2025-10-01", "soon"],
        // Neither the same days twice nor days in the future.
        &["--month", "2026-10", "--compare", "2026-09-01", "2026-10-01"],
        &["--month", "2026-10", "--compare", "2026-11-01", "2027-12-31"],
        &["--issued", "nothing.json"],
        &["--by", "age"],
        &["--month", "2026-10", "--issued", "policy.toml"],
    ];
    for request in requests {
        desk.refused(&[&["audit"], request].concat());
    }
    desk.keep_screens("audit_an_invalid_request_gets_a_message_with_the_right_form");
}

#[test]
fn an_empty_program_and_a_time_before_the_first_implant_divide_by_nothing() {
    let desk = Desk::new().at_80_columns();
    let before = audit(&Desk::new(), &["--month", "2020-02"]);
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    let empty = audit(&nobody(), &["--month", "2026-10"]);
    for report in [&before, &empty] {
        assert_eq!(number(report, "/census/device_days"), 0.0);
        assert!(report.pointer("/infections/rates/per_1000_device_days/rate").unwrap().is_null());
        assert!(report.pointer("/changes/share/value").unwrap().is_null());
    }
    for arguments in [&["audit", "--month", "2026-10"][..], &["audit", "--month", "2020-02"]] {
        let text = desk.done(arguments);
        assert!(!text.contains("NaN"), "{text}");
    }
    desk.keep_screens("audit_of_an_empty_program_and_of_a_time_before_the_first_implant");
}

#[test]
fn a_broken_policy_gives_no_figures() {
    let desk = Desk::new().at_80_columns();
    desk.put("policy.toml", "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicgo'\n");
    desk.refused(&["audit", "--month", "2026-10"]);
    desk.keep_screens("audit_with_a_broken_policy");
}

#[test]
fn a_file_that_cannot_be_used_is_named_with_what_it_may_hide() {
    let desk = Desk::new().at_80_columns();
    desk.put("patients/P-001/2026/2026-10-05T0900-change.toml", "kind = 'change'\nat = ");
    let outcome = desk.run(&["audit", "--month", "2026-10"]);
    assert_eq!(outcome.status, 3);
    desk.keep_screens("audit_names_a_file_that_cannot_be_used_with_what_it_may_hide");
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
