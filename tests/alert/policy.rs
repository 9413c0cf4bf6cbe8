//! An error in the policy: alerts that do not depend on it are still checked and sent, and the error is an alert
//! itself.

use crate::server::{Fault, Server};
use crate::{ADDRESSES, NOW, Office, POLICY, about};

#[test]
fn a_policy_that_cannot_be_used_is_a_failure_in_one_line() {
    let office = Office::new();
    for broken in ["[windows]\nafter_shower_hours = 'two'\n", "= \n"] {
        office.put("policy.toml", &format!("{POLICY}{broken}"));
        let run = office.run_at(NOW, &["--json"]);
        assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""), "{broken}");
        assert!(
            run.stderr.contains("no records could be checked") && run.stderr.lines().count() == 1,
            "{}",
            run.stderr
        );
    }
}

#[test]
fn an_error_in_a_part_that_no_schedule_needs_leaves_the_rest_judged() {
    for broken in [
        "[score]\nrubric = 'none of ours'\n",
        "[signals]\nlook_back_days = 'long'\n",
        "[signals.feverr]\ncelsius = 38\n",
        "[alerts]\nrepeat_hours = 'x'\n",
        "[alerts]\ncoordinator = ['co at example']\n",
    ] {
        let office = Office::new();
        office.put("policy.toml", &format!("{POLICY}{broken}"));
        let run = office.run(&[]);
        assert_eq!(run.status, Some(3), "{broken}: {run:?}");
        let lines = about(&run.stdout);
        assert!(lines.iter().any(|line| line.starts_with("P-001 a  overdue for 28 h")), "{broken}: {lines:?}");
        let error = "program  policy.toml has an error, so alerts that depend on it were not computed: policy.toml:";
        assert!(lines.iter().any(|line| line.starts_with(error)), "{broken}: {lines:?}");
        assert!(office.standing_at(NOW).contains(&"program policy".to_owned()), "{broken}");
    }
}

#[test]
fn a_signal_that_was_told_is_not_new_when_the_policy_is_mended() {
    let office = Office::new();
    office.event("P-002", "2026-11-24T0701-trauma", "");
    assert_eq!(about(&office.printed_at(NOW)).len(), 2);
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}[score]\nrubric = 'none of ours'\n"));
    let run = office.run_at("2026-11-24T07:30", &["--state", "state.json"]);
    assert_eq!((run.status, about(&run.stdout).len()), (Some(3), 1), "{run:?}");
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}"));
    assert_eq!(office.printed_at("2026-11-24T07:45"), "");
}

#[test]
fn a_slip_in_the_alerts_is_told_to_every_address_that_can_be_read_with_all_the_rest() {
    let check = |alerts: &str, expected: &[&str], fault: &str| {
        let office = Office::new();
        let server = Server::new(Fault::None);
        office.put("policy.toml", &format!("{POLICY}[alerts]\n{alerts}"));
        let url = server.url();
        let from = ["--state", "state.json", "--from", "a@example.org", "--fallback", "it@example.org", "--smtp", &url];
        let run = office.run(&from);
        assert_eq!((run.status, run.stdout.as_str()), (Some(3), ""), "{alerts}: {run:?}");
        assert_eq!(server.whom(), expected, "{alerts}: {}", run.stderr);
        for taken in server.taken() {
            let text = taken.text.replace("=\r\n", "");
            assert!(text.contains("policy.toml has an error") && text.contains(fault), "{alerts}: {text}");
            let is_told_of_patients = text.contains("P-001 a  overdue");
            assert_eq!(is_told_of_patients, taken.to[0] == expected[0], "{alerts}: {text}");
        }
    };
    let co = "coordinator = ['co@example.org']\n";
    let both = ["co@example.org", "it@example.org"];
    check(&format!("{co}physician = ['md at example']\n"), &both, "is not an email address");
    check(&format!("{co}repeat_hours = -1\n"), &both, "repeat_hours");
    check(&format!("{co}rapeat_hours = 24\n"), &both, "rapeat_hours");
    check(
        "coordinator = ['co at example', 'second@example.org']\n",
        &["second@example.org", "it@example.org"],
        "is not an email address",
    );
    check("coordinator = ['co at example']\n", &["it@example.org"], "is not an email address");
}

#[test]
fn where_no_coordinator_can_be_read_physicians_are_told_in_their_place() {
    let office = Office::new();
    let server = Server::new(Fault::None);
    let alerts = "coordinator = ['co at example']\nphysician = ['md@example.org']\n";
    office.put("policy.toml", &format!("{POLICY}[alerts]\n{alerts}"));
    let run = office.run(&["--state", "state.json", "--from", "a@example.org", "--smtp", &server.url()]);
    assert_eq!((run.status, server.whom()), (Some(3), vec!["md@example.org".to_owned()]), "{run:?}");
    office.keep_mail("mail_to_physicians_where_no_coordinator_can_be_read", &server.taken()[0].text);
}

#[test]
fn where_the_patients_cannot_be_listed_the_coordinators_of_the_policy_are_told() {
    let office = Office::new();
    std::fs::rename(office.records().join("patients"), office.beside("elsewhere")).unwrap();
    std::os::unix::fs::symlink(office.beside("elsewhere"), office.records().join("patients")).unwrap();
    let server = Server::new(Fault::None);
    let url = server.url();
    let run = office.run_at(NOW, &["--state", "state.json", "--from", "a@example.org", "--smtp", &url]);
    assert_eq!((run.status, run.stdout.as_str()), (Some(2), ""), "{run:?}");
    assert!(run.stderr.contains("no records could be checked: patients: "), "{run:?}");
    assert_eq!(server.whom(), ["co@example.org"]);
    assert!(server.taken()[0].text.contains("no records could be checked"), "{}", server.taken()[0].text);
}
