//! Alerts on hold, and for how long: after a promise, or a report that support has ended.

use crate::{ADDRESSES, LOOK, Office, POLICY, about};

#[test]
fn a_promise_that_holds_keeps_it_back_for_a_day_at_most() {
    let office = Office::new();
    let promise = "with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\nexpect_by = 2026-11-28T12:00:00\n";
    // No alert before the 24th at 03:00; the call holds for a day from its time.
    office.event("P-001", "2026-11-23T1000-contact", promise);
    assert_eq!(office.overdue_at("2026-11-24T03:01"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-24T10:00"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-24T10:01"), ["P-001 overdue"]);
    assert_eq!(office.overdue_at("2026-11-25T03:01"), ["P-001 overdue +"]);
    // A broken promise holds nothing.
    office.event("P-001", "2026-11-23T1000-contact", &promise.replace("28T12", "24T05"));
    assert_eq!(office.overdue_at("2026-11-24T05:00"), [] as [&str; 0]);
    assert_eq!(office.overdue_at("2026-11-24T05:01"), ["P-001 overdue"]);
}

#[test]
fn an_overdue_change_of_which_nobody_is_told_yet_is_named_with_the_reason() {
    let office = Office::new();
    let sentence = "1 is overdue for less than 24 h: P-001; no alert yet.";
    let said = |now: &str| {
        let report = office.json(now);
        (
            office.run_at(now, &["--heartbeat"]).stdout,
            report["not_yet_alerted"].clone(),
            report["held_by_promise"].clone(),
        )
    };
    // Due on the 22nd: overdue from the 23rd at 03:00, alerted a day later.
    for (now, is_named) in [("2026-11-23T02:59", false), ("2026-11-23T04:00", true), ("2026-11-24T03:01", false)] {
        let (text, not_yet, _) = said(now);
        assert_eq!(text.contains(sentence), is_named, "{now} {text}");
        assert_eq!(not_yet, if is_named { serde_json::json!(["P-001"]) } else { serde_json::json!([]) }, "{now}");
    }
    let promise = "with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\nexpect_by = 2026-11-28T12:00:00\n";
    office.event("P-001", "2026-11-23T1000-contact", promise);
    let (text, not_yet, held) = said("2026-11-24T04:00");
    assert!(!text.contains("less than 24 h"), "{text}");
    office.keep("of_a_promise_that_still_holds", &office.run_at("2026-11-24T04:00", &["--heartbeat"]));
    assert_eq!((not_yet, held), (serde_json::json!([]), serde_json::json!(["P-001"])));
    // With an overdue alert for another patient, the sentence counts the rest as more.
    office.event("P-002", "2026-11-24T0030-shower", "dressing_before = 'intact'\n");
    office.keep("of_a_promise_and_another_patient", &office.run_at("2026-11-24T04:00", &["--heartbeat"]));
}

#[test]
fn a_promise_keeps_a_shower_or_damage_back_for_the_hours_of_its_own_from_the_call() {
    let office = Office::new();
    let promise = |by: &str| format!("with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\n{by}");
    office.event("P-002", "2026-11-24T0710-shower", "dressing_before = 'intact'\n");
    office.event("P-002", "2026-11-24T0900-contact", &promise("expect_by = 2026-11-25T12:00:00\n"));
    let told = |now: &str| office.overdue_at(now).iter().any(|said| said.starts_with("P-002"));
    assert!(!told("2026-11-24T09:11") && !told("2026-11-24T11:00"), "two hours from the call");
    assert!(told("2026-11-24T11:01"), "and no longer, though the promise holds until tomorrow");
    // The promised time is earlier than that.
    office.event("P-002", "2026-11-24T0900-contact", &promise("expect_by = 2026-11-24T09:30:00\n"));
    assert!(!told("2026-11-24T09:30") && told("2026-11-24T09:31"));
}

#[test]
fn a_call_of_which_only_the_day_is_known_holds_nothing_back_but_by_the_time_agreed() {
    let office = Office::new();
    let promise = |by: &str| format!("with = 'patient'\nabout = ['overdue']\noutcome = 'will-change'\n{by}");
    office.event("P-002", "2026-11-24T0710-shower", "dressing_before = 'intact'\n");
    let told = |now: &str, code: &str| office.overdue_at(now).iter().any(|said| said.starts_with(code));
    for code in ["P-001", "P-002"] {
        office.event(code, "2026-11-24-contact", &promise(""));
        assert!(told("2026-11-24T09:11", code), "{code}");
    }
    // A promised time, for the hours that a call holds, whenever in its day the call was.
    office.event("P-001", "2026-11-24-contact", &promise("expect_by = 2026-11-24T12:00:00\n"));
    office.event("P-002", "2026-11-24-contact", &promise("expect_by = 2026-11-25T12:00:00\n"));
    assert!(!told("2026-11-24T12:00", "P-001") && told("2026-11-24T12:01", "P-001"));
    assert!(told("2026-11-24T09:11", "P-002"));
}

#[test]
fn a_shower_that_left_the_dressing_wet_is_one_alert_with_its_reason() {
    let office = Office::new();
    office.event("P-002", "2026-11-24T0710-shower", "dressing_after = 'wet'\n");
    let text = office.run_at("2026-11-24T09:11", &[]).stdout;
    let of = |text: &str| about(text).iter().filter(|line| line.starts_with("P-002 a  overdue")).count();
    assert_eq!(of(&text), 1, "{text}");
    let because = |now: &str| {
        let report = office.json(now);
        let overdue = report["alerts"].as_array().unwrap().iter().filter(|row| row["what"] == "overdue");
        overdue.map(|row| format!("{} {}", row["patient"], row["because"]).replace('"', "")).collect::<Vec<_>>()
    };
    assert_eq!(because("2026-11-24T09:11"), ["P-002 after-shower", "P-001 interval"]);
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}findings_in_messages = true\n"));
    let run = office.run_at("2026-11-24T09:11", &[]);
    assert_eq!(of(&run.stdout), 1, "{run:?}");
    office.keep("of_a_shower_that_left_the_dressing_wet", &run);
}

#[test]
fn an_overdue_patient_who_then_showers_is_told_at_once() {
    let office = Office::new();
    office.event("P-001", "2026-11-24T0800-shower", "dressing_before = 'intact'\n");
    let lines = |now: &str| about(&office.run_at(now, &[]).stdout).len();
    assert_eq!((lines("2026-11-24T10:00"), lines("2026-11-24T10:01")), (1, 2));
    let report = office.json("2026-11-24T10:01");
    let since: Vec<&str> =
        report["alerts"].as_array().unwrap().iter().filter_map(|row| row["since"].as_str()).collect();
    assert_eq!(since, ["2026-11-24T10:00:00-06:00", "2026-11-23T03:00:00-06:00"]);
    // A call about it holds for its two hours, and for the older one until the end of its day at most.
    let promise = "with = 'patient'\nabout = ['overdue']\noutcome = 'coming-in'\nexpect_by = 2026-11-27T12:00:00\n";
    office.event("P-001", "2026-11-24T1100-contact", promise);
    assert_eq!((lines("2026-11-24T13:00"), lines("2026-11-24T13:01"), lines("2026-11-25T11:01")), (0, 1, 2));
}

#[test]
fn a_patient_whose_end_was_reported_is_told_of_no_more_until_it_is_written_or_staff_record_otherwise() {
    let office = Office::new();
    let of = |now: &str| office.standing_at(now).iter().filter(|said| said.starts_with("P-001")).count();
    office.event("P-001", "2026-11-24T0701-assessment", &LOOK.replace("redness_mm = 0", "redness_mm = 25"));
    let before = of("2026-11-24T07:04");
    assert!(before >= 2, "overdue, and the redness");
    let call = "with = 'other'\nabout = ['other']\noutcome = 'support-ended'\n";
    office.event("P-001", "2026-11-24T0705-contact", call);
    assert_eq!(of("2026-11-24T07:15"), 0);
    let run = office.run_at("2026-11-24T07:15", &["--heartbeat"]);
    office.keep("of_a_reported_end_of_support", &run);
    assert_eq!(office.json("2026-11-24T07:15")["reported_ended"], serde_json::json!(["P-001"]));
    // A report by the household does not count as one by staff.
    let text = "kind = 'inspection'\nat = 2026-11-24T08:00:00\nby = 'patient'\nsource = 'told'\n";
    office.put("patients/P-001/2026/2026-11-24T0800-inspection.toml", text);
    assert_eq!(of("2026-11-24T08:15"), 0);
    office.event("P-001", "2026-11-24T0900-inspection", "source = 'seen'\n");
    assert_eq!(of("2026-11-24T09:15"), before);
    let ended = "[ended]\non = 2026-11-24\nwhy = 'transplant'\n";
    let path = office.records().join("patients/P-001/patient.toml");
    let patient = std::fs::read_to_string(&path).unwrap();
    office.put("patients/P-001/patient.toml", &format!("{patient}{ended}"));
    assert_eq!(about(&office.run_at("2026-11-24T09:15", &[]).stdout), ["P-001  support ended on 2026-11-24"]);
}

#[test]
fn a_late_log_is_told_to_the_coordinator_alone_and_then_weekly() {
    let office = Office::new();
    office.put("policy.toml", &format!("{POLICY}{ADDRESSES}"));
    let path = office.records().join("patients/P-001/patient.toml");
    let patient =
        std::fs::read_to_string(&path).unwrap().replace("place = 'home'\n", "place = 'home'\nreports = 'log'\n");
    office.put("patients/P-001/patient.toml", &patient);
    let mut told = Vec::new();
    for day in 1..=60 {
        let (month, day) = if day <= 31 { (12, day) } else { (1, day - 31) };
        let now = format!("{}-{month:02}-{day:02}T08:00", if month == 12 { 2026 } else { 2027 });
        let run = office.run_at(&now, &["--state", "state.json"]);
        let lines = about(&run.stdout).iter().filter(|line| line.starts_with("P-001 a  overdue")).count();
        if lines > 0 {
            told.push(now[..10].to_owned());
        }
        assert!(!office.standing_at(&now).contains(&"P-001 overdue +".to_owned()), "{now}");
    }
    let days: Vec<chrono::NaiveDate> = told.iter().map(|day| day.parse().unwrap()).collect();
    assert!(days.len() >= 3 && days.windows(2).all(|two| (two[1] - two[0]).num_days() == 7), "{told:?}");
}

#[test]
fn a_site_that_nobody_has_seen_for_long_is_told_once() {
    let office = Office::new();
    let mut told = Vec::new();
    for month in ["2027-11", "2027-12", "2028-01"] {
        for day in 1..=28 {
            let now = format!("{month}-{day:02}T08:00");
            let text = office.printed_at(&now);
            told.extend(about(&text).into_iter().filter(|line| line.contains("review this week")).map(str::to_owned));
        }
    }
    // One per patient and kind: a look-back that moves on is not news.
    let mut once = told.clone();
    once.sort();
    once.dedup_by(|a, b| a.split(", since").next() == b.split(", since").next());
    assert!(!told.is_empty() && told.len() <= 4, "{told:?}");
}
