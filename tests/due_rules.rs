//! Rows of the due list and of `missed` that once hid a danger, each computed by hand.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use serde_json::{Value, json};

mod desk;

use desk::Desk;

const SECOND: &str = "[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-09-01\nwhy = \"second-pump\"\n";
const LAST: &str = "2026-11-22T08:00";
const IN_PLACE: &str = "[left]\nanchor = 'in-place'\ndressing = 'intact'";

/// A household with its own course, and its records.
fn desk(course: &str, events: &[(&str, &str, &str)]) -> Desk {
    let desk = Desk::new();
    // These households test the schedule, not the teaching.
    let off = "[signals]\nhome-untaught = { off = 'not what is tried' }\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + off));
    put(&desk, "P-001", course, events);
    desk
}

fn put(desk: &Desk, code: &str, course: &str, events: &[(&str, &str, &str)]) {
    let text = format!("{}{course}", desk::PATIENT.replace("P-001", code));
    desk.put(&format!("patients/{code}/patient.toml"), &text);
    for (when, kind, says) in events {
        let key = if when.contains('T') { format!("at = {when}:00") } else { format!("on = {when}") };
        let by = if says.contains("by = ") && !says.contains("expect_by = ") { "" } else { "by = 'rn-07'\n" };
        let file = format!("patients/{code}/{}/{}-{kind}.toml", &when[..4], when.replace(':', ""));
        desk.put(&file, &format!("kind = '{kind}'\n{key}\n{by}{says}\n"));
    }
}

fn rows(desk: &Desk, at: &str) -> Vec<Value> {
    let list: Value = serde_json::from_str(&desk.done(&["due", "--all", "--json", "--as-of", at])).unwrap();
    list["rows"].as_array().unwrap().clone()
}

fn row(desk: &Desk, at: &str) -> Value {
    rows(desk, at)[0].clone()
}

fn shown(desk: &Desk, at: &str) -> String {
    desk.done(&["due", "--as-of", at])
}

fn line<'a>(text: &'a str, begins: &str) -> &'a str {
    text.lines().find(|line| line.starts_with(begins)).unwrap_or_else(|| panic!("no line {begins}: {text}"))
}

#[test]
fn a_row_with_a_signal_of_today_begins_with_it() {
    let desk = desk(
        "",
        &[
            (LAST, "change", IN_PLACE),
            ("2026-11-23T08:00", "change", "[left]\nanchor = 'absent'\n[site]\ndrainage = 'purulent'"),
        ],
    );
    let text = shown(&desk, "2026-11-24T07:15");
    let line = line(&text, "P-001");
    assert!(line.starts_with("P-001  home  son  pus: rn-07, Mon 08:00; "), "{text}");
    assert!(line.contains("anchor absent: rn-07, Mon 08:00"), "{text}");
    assert!(text.find("LOOK OR CHANGE NOW (1 patient)").unwrap() < text.find(line).unwrap(), "{text}");
    assert!(
        text.contains("1 patient on file: 1 later · 2 signals need review today, most urgent P-001: pus"),
        "{text}"
    );
}

#[test]
fn an_overdue_patient_who_then_showers_shows_both_and_ranks_by_the_shower() {
    let desk = desk("", &[(LAST, "change", IN_PLACE), ("2026-11-26T06:30", "shower", "")]);
    put(&desk, "P-002", "", &[("2026-11-18T08:00", "change", IN_PLACE)]);
    let rows = rows(&desk, "2026-11-26T07:15");
    assert_eq!(rows.iter().map(|row| row["patient"].as_str().unwrap()).collect::<Vec<_>>(), ["P-001", "P-002"]);
    assert_eq!((&rows[0]["because"], &rows[0]["hours_overdue"]), (&json!("interval"), &json!(28)));
    let shower = json!([{
        "because": "after-shower", "due_on": "2026-11-26", "deadline": "2026-11-26T08:30:00-06:00", "order_unknown": false,
        "hours_overdue": null, "end_of_day": false,
        "report": {"at": "2026-11-26T06:30:00-06:00", "kind": "shower", "trouble": "shower", "water": null,
            "known_at": "2026-11-26T06:30:00-06:00"}
    }]);
    assert_eq!((&rows[0]["also"], &rows[1]["also"]), (&shower, &json!([])));
    let text = shown(&desk, "2026-11-26T07:15");
    assert!(
        line(&text, "P-001").contains("  showered today 06:30, no change reported, change due by today 08:30; "),
        "{text}"
    );
    assert!(
        shown(&desk, "2026-11-26T09:00")
            .contains("showered today 06:30, no change reported, change was due by today 08:30")
    );
}

#[test]
fn a_regular_change_that_comes_sooner_than_a_long_window_does_not_hide_the_shower() {
    let desk = desk("", &[(LAST, "change", IN_PLACE), ("2026-11-23T06:30", "shower", "")]);
    desk.put("policy.toml", &(desk.get("policy.toml") + "[windows]\nafter_shower_hours = 72\n"));
    // Due on Tuesday by the interval; the change after the shower may wait until Thursday 06:30, but it is still open.
    let row = row(&desk, "2026-11-23T07:15");
    assert_eq!((&row["state"], &row["because"]), (&json!("upcoming"), &json!("interval")));
    assert_eq!(row["also"][0]["because"], "after-shower");
    let text = shown(&desk, "2026-11-23T07:15");
    assert!(
        line(&text, "P-001")
            .contains("  showered today 06:30, no change reported, change due by Thu 06:30; next change Tue Nov 24"),
        "{text}"
    );
}

#[test]
fn a_last_change_long_before_the_records_begin_is_due_on_their_first_day() {
    let course = |last: &str| {
        let text = desk::PATIENT.replace(
            "implanted = 2026-08-03",
            "implanted = 2026-08-03\nrecords_from = 2026-11-24\ninfections_before = 0",
        );
        format!("last_change_before = {last}\n{text}")
    };
    for (last, state, due_on) in [
        ("2026-11-16", "due", "2026-11-24"),
        ("2026-11-22", "due", "2026-11-24"),
        ("2026-11-23", "upcoming", "2026-11-25"),
    ] {
        let desk = Desk::new();
        desk.put("patients/P-001/patient.toml", &course(last));
        let row = row(&desk, "2026-11-24T07:15");
        assert_eq!(
            (&row["state"], &row["due_on"], &row["because"]),
            (&json!(state), &json!(due_on), &json!("interval")),
            "{last}"
        );
    }
}

#[test]
fn a_signal_at_a_closed_exit_says_which_exit_it_is_of() {
    let closed = SECOND.replace("why", "until = 2026-11-24\nwhy");
    let pus = |exit: &str| format!("exit = '{exit}'\n[site]\ndrainage = 'purulent'");
    let (of_b, of_a) = (pus("b"), pus("a"));
    let desk = desk(&closed, &[("2026-11-22T08:00", "change", &of_a), ("2026-11-23T08:00", "change", &of_b)]);
    let text = shown(&desk, "2026-11-26T07:15");
    let row = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(row.contains("pus at exit b (closed): rn-07, Mon 08:00"), "{text}");
    // The exit site of the row itself needs no name.
    assert!(row.contains("pus: rn-07, Sun 08:00"), "{text}");
}

#[test]
fn the_census_counts_each_patient_by_the_worst_state() {
    // Exit b is closed with an open signal, so its row comes before that of exit a, which is due on Wednesday.
    let closed = SECOND.replace("why", "until = 2026-11-24\nwhy");
    let desk = desk(
        &closed,
        &[
            ("2026-11-23T08:00", "change", &format!("exit = 'a'\n{IN_PLACE}")),
            ("2026-11-23T09:00", "assessment", "exit = 'b'\n[site]\ndrainage = 'purulent'"),
        ],
    );
    let list: Value = serde_json::from_str(&desk.done(&["due", "--json", "--as-of", "2026-11-24T07:15"])).unwrap();
    let exits: Vec<&str> = list["rows"].as_array().unwrap().iter().map(|row| row["exit"].as_str().unwrap()).collect();
    assert_eq!(exits, ["b", "a"]);
    assert_eq!((&list["census"]["by_state"]["upcoming"], &list["census"]["by_state"]["none"]), (&json!(1), &json!(0)));
    let text = shown(&desk, "2026-11-24T07:15");
    assert!(
        text.contains("1 patient on file: 1 later · 1 signal needs review today") && !text.contains("nothing due"),
        "{text}"
    );
}

#[test]
fn the_last_anchor_score_contact_and_promise_are_the_last_on_file_however_old() {
    let site = "drainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    let call = "with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\nexpect_by = 2026-08-20T18:00:00";
    let desk = desk(
        "",
        &[
            ("2026-08-10T08:00", "change", &format!("[left]\nanchor = 'loose'\n[site]\n{site}")),
            ("2026-08-20T08:00", "contact", call),
        ],
    );
    // 532 days later.
    let row = row(&desk, "2028-02-02T07:15");
    assert_eq!((&row["anchor"]["state"], &row["score"]["total"]), (&json!("loose"), &json!(0)));
    assert_eq!((&row["last_contact"]["outcome"], &row["promise"]["broken"]), (&json!("will-change"), &json!(true)));
    let text = desk.done(&["due", "P-001", "--as-of", "2028-02-02T07:15"]);
    assert!(text.contains("anchor loose Aug 10 2026"), "{text}");
}

#[test]
fn a_call_covers_no_day() {
    let household = "[[care]]\nfrom = 2026-09-01\nplace = \"home\"\nreports = \"log\"\n";
    let desk = desk(
        household,
        &[
            ("2026-10-31T08:00", "change", IN_PLACE),
            ("2026-11-01T10:00", "log", "from = 2026-09-01\nthrough = 2026-10-31\ncomplete = true"),
            ("2026-11-23T10:00", "contact", "with = 'p001-son'\nabout = ['log']\noutcome = 'advised'"),
        ],
    );
    let row = row(&desk, "2026-11-24T07:15");
    assert_eq!((&row["heard_through"], &row["heard_from"]), (&json!("2026-10-31"), &json!("2026-11-23")));
    let text = desk.done(&["due", "--all", "--as-of", "2026-11-24T07:15"]);
    assert!(text.contains("log complete through Oct 31, next expected Dec 5, last call Mon Nov 23"), "{text}");
    assert!(text.contains("log not late yet: complete through Oct 31, next expected Dec 5: P-001"), "{text}");
}

#[test]
fn missed_says_how_many_days_nobody_has_told_of() {
    let household = "[[care]]\nfrom = 2026-09-01\nplace = \"home\"\nreports = \"log\"\n";
    let told = ("2026-10-11T10:00", "log", "from = 2026-09-01\nthrough = 2026-10-10\ncomplete = true");
    let desk = desk(household, &[("2026-10-10T08:00", "change", IN_PLACE), told]);
    let asked = ["missed", "--from", "2026-10-11", "--to", "2026-11-24", "--as-of", "2026-11-24T07:15"];
    let report: Value = serde_json::from_str(&desk.done(&[&asked[..], &["--json"]].concat())).unwrap();
    // 10-11 to 11-23.
    assert_eq!(
        (&report["rows"][0]["days_not_covered"], &report["rows"][0]["longest_gap_days"]),
        (&json!(44), &json!(1))
    );
    let text = desk.done(&asked);
    let words: Vec<&str> = line(&text, "P-001 a").split_whitespace().collect();
    assert_eq!(words[words.len() - 3..words.len() - 1], ["1", "44"], "{text}");
}

#[test]
fn a_period_that_has_not_begun_or_is_longer_than_fifty_years_is_refused() {
    let desk = desk("", &[(LAST, "change", IN_PLACE)]);
    let refused =
        |from: &str, to: &str| desk.refused(&["missed", "--from", from, "--to", to, "--as-of", "2026-11-24T07:15"]);
    assert!(refused("2026-11-25", "2026-12-01").contains("has not started: today is 2026-11-24"));
    assert!(refused("1990-01-01", "2040-06-01").contains("more than 50 years"));
    // In a period that reaches beyond today, the rest is still open.
    desk.done(&["missed", "--from", "2026-11-20", "--to", "2026-12-01", "--as-of", "2026-11-24T07:15"]);
}

#[test]
fn numbers_of_the_policy_outside_their_limits_are_refused_and_make_nobody_vanish() {
    for says in [
        "[reporting]\nlog_days = 0",
        "[reporting]\nlog_days = 367",
        "[returns]\nafter_days = -1",
        "[returns]\njudged_days = 3651",
        "[returns]\nafter = 2",
    ] {
        let desk = desk("", &[(LAST, "change", IN_PLACE)]);
        desk.put("policy.toml", &format!("{}{says}\n", desk.get("policy.toml")));
        let found = desk.run(&["due", "--json", "--as-of", "2026-11-24T07:15"]);
        let list: Value = serde_json::from_str(&found.stdout).unwrap();
        assert_eq!((found.status, &list["rows"][0]["state"]), (3, &json!("unusable")), "{says}");
    }
    // The limit of an order is not part of the state.
    let desk = desk("", &[(LAST, "change", IN_PLACE)]);
    desk.put("policy.toml", &format!("{}[orders]\nlongest_days = 367\n", desk.get("policy.toml")));
    let found = desk.run(&["due", "--json", "--as-of", "2026-11-24T07:15"]);
    let list: Value = serde_json::from_str(&found.stdout).unwrap();
    assert_eq!(list["rows"][0]["state"], "due");
}

#[test]
fn an_order_with_a_digit_too_many_is_asked_about() {
    let order = |days| ["patient", "order", "P-001", "--every-days", days, "--by", "md-3", "--why", "skin"];
    let desk = Desk::new();
    let refused = desk.refused(&order("30"));
    assert!(refused.contains("every 30 days, more than 14"), "{refused}");
    let asked = desk.refused(&order("14"));
    assert!(!asked.contains("more than 14"), "{asked}");
    desk.done(&[&order("30")[..], &["--yes", "--longer-than-usual"]].concat());
    assert!(desk.run(&["check"]).stdout.contains("interval-long"));
}

#[test]
fn an_event_of_the_future_is_named_in_the_row_unless_a_moment_is_asked_about() {
    let desk = desk("", &[(LAST, "change", IN_PLACE), ("2026-12-24T08:00", "shower", "")]);
    let list: Value = serde_json::from_str(&desk.done(&["due", "--all", "--json"])).unwrap();
    assert_eq!(list["rows"][0]["ahead"], json!(["patients/P-001/2026/2026-12-24T0800-shower.toml"]));
    assert_eq!(row(&desk, "2026-11-24T07:15")["ahead"], Value::Null);
}

#[test]
fn a_day_of_another_year_is_shown_with_its_year() {
    let desk = desk("[[order]]\nfrom = 2026-11-01\nevery_days = 60\nby = \"md-3\"\n", &[(LAST, "change", IN_PLACE)]);
    let text = desk.done(&["due", "--all", "--as-of", "2026-11-24T07:15"]);
    assert!(line(&text, "P-001").contains("next change Jan 21 2027"), "{text}");
}

#[test]
fn a_voided_log_covers_no_day() {
    let household = "[[care]]\nfrom = 2026-09-01\nplace = \"home\"\nreports = \"log\"\n";
    let void = "from = 2026-09-01\nthrough = 2026-11-22\ncomplete = true\n[void]\nat = 2026-11-23T12:00:00\nby = 'rn-07'\nwhy = 'of another household'";
    let desk = desk(household, &[("2026-10-31T08:00", "change", IN_PLACE), ("2026-11-23T10:00", "log", void)]);
    let row = row(&desk, "2026-11-24T07:15");
    assert_eq!((&row["heard_through"], &row["because"]), (&json!("2026-08-31"), &json!("log-late")));
}
