//! The round: it claims nothing for anyone, shows every record before writing it, can take it back, and does not offer
//! a row again that another person called in the meantime.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;

use desk::{Desk, Person};

/// The patient at home with a change on Saturday, so overdue; the caregiver is the son.
fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    // The son is not signed off, which is not the subject here.
    desk.put(
        "policy.toml",
        &format!("{}[signals]\nhome-untaught = {{ off = \"taught elsewhere\" }}\n", desk.get("policy.toml")),
    );
    change(&desk, "2026-11-21T0900", FULL_LOOK);
    desk
}

const FULL_LOOK: &str =
    "[site]\ndrainage = \"none\"\nredness_mm = 0\nswelling = \"none\"\ncrust_mm = 0\npain = \"none\"\n";

fn change(desk: &Desk, at: &str, more: &str) {
    event(desk, at, "change", &format!("by = \"rn-07\"\nsource = \"seen\"\n{more}"));
}

/// Adds a record of P-001 at a time such as `2026-11-24T0600`.
fn event(desk: &Desk, at: &str, kind: &str, more: &str) {
    let (day, time) = at.split_once('T').unwrap();
    let file = format!("patients/P-001/2026/{at}-{kind}.toml");
    desk.put(&file, &format!("kind = \"{kind}\"\nat = {day}T{}:{}:00\n{more}", &time[..2], &time[2..]));
}

/// Runs a round by the coordinator with these answers.
fn round(desk: &Desk, typed: &[&str]) -> (exitsite::command::Outcome, String) {
    let person = Person::typing(typed);
    let outcome = desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert!([0, 3].contains(&outcome.status), "{outcome:?} {}", person.saw());
    (outcome, person.saw())
}

/// The records of these kinds written since `before`, without their times.
fn written(desk: &Desk, before: &[(String, String)]) -> Vec<String> {
    let new = desk.everything().into_iter().filter(|file| !before.contains(file));
    new.map(|(_, text)| {
        let lines = text.lines().filter(|line| !line.starts_with("at = ") && !line.is_empty());
        lines.collect::<Vec<_>>().join("\n")
    })
    .collect()
}

const PUS: &str = "[site]\ndrainage = \"purulent\"\n";

#[test]
fn a_call_asks_who_was_reached_what_came_of_it_and_about_what_and_shows_it_first() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    let before = desk.everything();
    round(&desk, &["c", "2", "advised", "1", "mother comes back at noon", "yes", "q"]);
    assert_eq!(
        written(&desk, &before),
        [
            "kind = \"contact\"\nby = \"co-1\"\nsource = \"told\"\nwith = \"p001-son\"\nabout = [\"pus\"]\noutcome = \"advised\"\nnote = \"mother comes back at noon\"\n[entered]\nby = \"co-1\""
        ]
    );
    // The call does not act on it: the signal is open and not acted on.
    let open = desk.json(&["signals", "P-001"]);
    let pus = open["signals"].as_array().unwrap().iter().find(|signal| signal["signal"] == "pus").unwrap().clone();
    assert_eq!(pus["answered"], serde_json::Value::Null, "{pus}");
    let person = Person::typing(&["q"]);
    desk.run_as(Some("co-1"), &["round", "--again"], Some(&person));
    desk.keep_screens("round_a_call_asks_who_was_reached_what_came_of_it_and_about_what_and_shows_it_first");
}

#[test]
fn the_end_of_a_round_names_who_still_needs_somebody_in_the_order_of_the_list() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    let put = |code: &str, records: &[(&str, &str, &str)]| {
        desk.put(
            &format!("patients/{code}/patient.toml"),
            &desk::PATIENT.replace("P-001", code).replace("p001", &code.replace("P-", "p")),
        );
        for (at, kind, more) in records {
            let (day, time) = at.split_once('T').unwrap();
            let text = format!(
                "kind = '{kind}'\nat = {day}T{}:{}:00\nby = 'rn-07'\nsource = 'seen'\n{more}",
                &time[..2],
                &time[2..]
            );
            desk.put(&format!("patients/{code}/2026/{at}-{kind}.toml"), &text);
        }
    };
    put("P-002", &[("2026-11-24T0500", "change", ""), ("2026-11-24T0630", "shower", "dressing_before = 'intact'\n")]);
    put("P-003", &[("2026-11-24T0200", "change", ""), ("2026-11-24T0300", "shower", "dressing_before = 'intact'\n")]);
    put("P-004", &[("2026-11-24T0500", "change", "reason = \n")]);
    round(&desk, &["q"]);
    desk.keep_screens("round_the_end_of_a_round_names_who_still_needs_somebody_in_the_order_of_the_list");
}

#[test]
fn the_end_of_a_round_names_who_was_not_in_it_and_why() {
    let desk = desk();
    let put = |code: &str, row: &str| {
        let text = desk::PATIENT.replace("P-001", code).replace("p001", &code.replace("P-", "p"));
        desk.put(&format!("patients/{code}/patient.toml"), &text.replace("\n[[caregiver]]", row));
    };
    put("P-005", "\n[[care]]\nfrom = 2026-11-10\nplace = \"elsewhere\"\n\n[[caregiver]]");
    put("P-006", "\n[[care]]\nfrom = 2026-11-20\nplace = \"home\"\nreports = \"log\"\n\n[[caregiver]]");
    let change = format!("kind = 'change'\nat = 2026-11-20T08:00:00\nby = 'rn-07'\nsource = 'seen'\n{FULL_LOOK}");
    desk.put("patients/P-006/2026/2026-11-20T0800-change.toml", &change);
    round(&desk, &["q"]);
    desk.keep_screens("round_the_end_of_a_round_names_who_was_not_in_it_and_why");
}

#[test]
fn a_date_that_can_be_read_two_ways_is_asked_about_in_a_round() {
    let desk = desk();
    let typed = ["w", "2", "12/3/2026 18:00", "n", "12/3/2026 18:00", "y", "", "y", "yes", "q"];
    round(&desk, &typed);
    desk.keep_screens("round_a_date_that_can_be_read_two_ways_is_asked_about_in_a_round");
}

#[test]
fn a_reported_end_of_support_is_to_be_written_and_the_list_says_so() {
    let desk = desk();
    round(&desk, &["c", "2", "support-ended", "", "y", "yes", "q"]);
    desk.done(&["due"]);
    let contact = ["record", "contact", "P-001", "--by", "co-1", "--with", "p001-son", "--about", "other"];
    desk.done(&[&contact[..], &["--outcome", "support-ended", "--at", "06:00", "--yes"]].concat());
    let end = ["patient", "end", "P-001", "--on", "today", "--why", "death", "--by", "co-1", "--yes", "--ends-signals"];
    desk.done(&end);
    let ended = desk.done(&["due", "P-001"]);
    assert!(!ended.contains("reported ended"), "{ended}");
    desk.keep_screens("round_a_reported_end_of_support_is_to_be_written_and_the_list_says_so");
}

#[test]
fn nobody_is_preselected_and_no_signal_either() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    let before = desk.everything();
    round(&desk, &["c", "", "son", "1", "advised", "", "", "yes", "q"]);
    assert_eq!(
        written(&desk, &before),
        [
            "kind = \"contact\"\nby = \"co-1\"\nsource = \"told\"\nwith = \"patient\"\nabout = [\"other\"]\noutcome = \"advised\"\n[entered]\nby = \"co-1\""
        ]
    );
    desk.keep_screens("round_nobody_is_preselected_and_no_signal_either");
}

#[test]
fn no_answer_names_no_one_as_reached() {
    for typed in [&["n", "yes", "q"][..], &["c", "nobody", "", "yes", "q"]] {
        let desk = desk();
        let before = desk.everything();
        round(&desk, typed);
        assert_eq!(
            written(&desk, &before),
            [
                "kind = \"contact\"\nby = \"co-1\"\nsource = \"told\"\nwith = \"other\"\nabout = [\"overdue\"]\noutcome = \"no-answer\"\n[entered]\nby = \"co-1\""
            ],
            "{typed:?}"
        );
    }
}

#[test]
fn a_clinician_is_one_of_the_staff_list() {
    let desk = desk();
    let before = desk.everything();
    let (_, saw) = round(&desk, &["c", "clinician", "md", "advised", "", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("with = \"md-3\""), "{saw}");
    desk.keep_screens("round_a_clinician_is_one_of_the_staff_list");
}

#[test]
fn enter_at_the_time_of_a_promise_writes_no_time_and_the_question_says_until_when_it_counts() {
    // Wet since last night: two hours from the call at 07:15.
    let desk = desk();
    event(&desk, "2026-11-23T2130", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"wet\"\n");
    let before = desk.everything();
    let (_, saw) = round(&desk, &["w", "2", "", "", "", "yes", "q"]);
    assert!(!written(&desk, &before)[0].contains("expect_by"), "{saw}");
    desk.keep_screens("round_enter_at_the_time_of_a_promise_writes_no_time_after_the_clock_ran_out");

    // No clock is running: the end of the care day.
    let desk = self::desk();
    let before = desk.everything();
    let (_, saw) = round(&desk, &["i", "2", "06:00", "today 07:00", "", "", "yes", "q"]);
    assert!(!written(&desk, &before)[0].contains("expect_by"), "{saw}");
    desk.keep_screens("round_enter_at_the_time_of_a_promise_writes_no_time_without_a_clock");

    // A clock is running: until it runs out; a typed time is written.
    let desk = self::desk();
    event(&desk, "2026-11-24T0630", "shower", "by = \"p001-son\"\nsource = \"told\"\nwater = \"shower\"\n");
    let before = desk.everything();
    let (_, saw) = round(&desk, &["w", "2", "08:15", "", "", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("expect_by = 2026-11-24T08:15:00-06:00"), "{saw}");
    // The same question in `record`.
    let before = desk.everything();
    let person = Person::typing(&["07:00", "1", "2", "will change", "", "overdue", "", "", "y", "y", "y"]);
    desk.run_as(Some("co-1"), &["record", "contact", "P-001"], Some(&person));
    assert!(!written(&desk, &before)[0].contains("expect_by"), "{}", person.saw());
    desk.keep_screens("round_enter_at_the_time_of_a_promise_writes_no_time_while_a_clock_runs");
}

#[test]
fn back_goes_back_and_a_no_or_the_end_of_input_writes_nothing() {
    let desk = desk();
    let before = desk.everything();
    for typed in [
        &["c", "2", "advised", "", "no", "discard", "q"][..],
        &["n", "no", "q"],
        &["n", ""],
        &["c", "2", "advised", "", "q"],
        &["c", "2"],
        &["w", "2", ""],
        &["d", "2", "p001-son", "today"],
        &[],
    ] {
        round(&desk, typed);
        assert_eq!(desk.everything(), before, "{typed:?}");
    }
    let (_, saw) = round(&desk, &["c", "2", "<", "1", "advised", "typed in the wrong line", "<", "-", "yes", "q"]);
    let new = written(&desk, &before);
    assert!(new[0].contains("with = \"patient\"") && !new[0].contains("note"), "{new:?} {saw}");
    desk.keep_screens("round_back_goes_back_and_a_no_or_the_end_of_input_writes_nothing");
}

#[test]
fn what_cannot_be_written_is_said_and_asked_again() {
    let desk = desk();
    let before = desk.everything();
    let (_, saw) = round(&desk, &["c", "2", "advised", "call 555-123-4567", "call the clinic", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("note = \"call the clinic\""), "{saw}");
    desk.keep_screens("round_what_cannot_be_written_is_said_and_asked_again");
}

#[test]
fn undo_voids_the_last_record_after_a_yes() {
    for (answer, is_void) in [("y", true), ("n", false)] {
        let desk = desk();
        let before = desk.everything();
        let (_, saw) = round(&desk, &["n", "yes", "u", answer, "q", "q"]);
        let new = written(&desk, &before);
        assert_eq!(new.len(), 1, "{saw}");
        assert_eq!(new[0].contains("[void]"), is_void, "{new:?} {saw}");
        assert_eq!(new[0].contains("why = \"taken back in the same round\""), is_void);
        desk.keep_screens(if is_void {
            "round_undo_voids_the_last_record_after_a_yes"
        } else {
            "round_a_no_to_undo_voids_nothing"
        });
    }
    let desk = desk();
    round(&desk, &["u", "?", "q"]);
    desk.keep_screens("round_there_is_nothing_to_undo_and_the_keys_are_explained");
}

#[test]
fn a_call_and_its_change_are_taken_back_together() {
    let desk = desk();
    let before = desk.everything();
    let (_, saw) = round(&desk, &["d", "2", "p001-son", "yesterday", "", "", "", "yes", "u", "y", "y", "q", "q"]);
    let new = written(&desk, &before);
    assert_eq!(new.len(), 2, "{saw}");
    assert!(new.iter().all(|text| text.contains("[void]")), "{new:?}");
    desk.keep_screens("round_a_call_and_its_change_are_taken_back_together");
}

#[test]
fn an_undo_that_ends_halfway_says_exactly_what_was_voided() {
    let desk = desk();
    let before = desk.everything();
    let call_and_change = ["d", "2", "p001-son", "yesterday", "", "", "", "yes"];
    let (_, saw) = round(&desk, &[&call_and_change[..], &["u", "y", "n", "u", "y", "q", "q"]].concat());
    assert!(!saw.contains("Nothing was written"), "{saw}");
    let new = written(&desk, &before);
    assert!(new.len() == 2 && new.iter().all(|text| text.contains("[void]")), "{new:?}");
    desk.keep_screens("round_an_undo_that_ends_halfway_says_exactly_what_was_voided");

    // A no to the first of them voids nothing, and both stay.
    let desk = self::desk();
    let before = desk.everything();
    round(&desk, &[&call_and_change[..], &["u", "n", "q", "q"]].concat());
    assert!(written(&desk, &before).iter().all(|text| !text.contains("[void]")));
    desk.keep_screens("round_an_undo_that_ends_halfway_a_no_to_the_first");
}

#[test]
fn a_promise_for_later_than_the_clock_is_asked_about_and_enter_is_no() {
    let wet = "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"wet\"\n";
    let shower = "by = \"p001-son\"\nsource = \"told\"\nwater = \"shower\"\n";
    for (at, kind, says, key, until, clock) in [
        ("2026-11-24T0700", "inspection", wet, "w", "tomorrow 23:00", "is_running"),
        ("2026-11-19T0800", "shower", shower, "i", "2026-11-25 10:00", "ran_out_days_ago"),
        ("2026-11-23T2130", "inspection", wet, "i", "today 09:16", "ran_out_yesterday"),
    ] {
        let desk = Desk::new().at_80_columns();
        event(&desk, at, kind, says);
        let before = desk.everything();
        let (_, saw) = round(&desk, &[key, "2", until, "", "<", "<", "s", "q"]);
        assert_eq!(saw.matches("By when").count(), 2, "{saw}");
        assert_eq!(desk.everything(), before);
        let (_, saw) = round(&desk, &[key, "2", until, "y", "", "", "yes", "q"]);
        assert!(written(&desk, &before)[0].contains("expect_by"), "{saw}");
        desk.keep_screens(&format!("round_a_promise_for_later_than_the_clock_that_{clock}"));
    }
    // A promise within the clock raises no question, nor does one without a clock.
    let desk = Desk::new();
    event(&desk, "2026-11-24T0700", "inspection", wet);
    let (_, saw) = round(&desk, &["w", "2", "09:00", "", "", "yes", "q"]);
    assert!(!saw.contains("Keep this time"), "{saw}");
    let (_, saw) = round(&self::desk(), &["w", "2", "tomorrow 12:00", "", "yes", "q"]);
    assert!(!saw.contains("Keep this time"), "{saw}");
}

#[test]
fn the_last_report_is_the_last_record_by_anyone_and_says_how_it_is_known() {
    let desk = desk();
    event(&desk, "2026-11-21T1000", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"intact\"\n");
    round(&desk, &["q"]);
    event(&desk, "2026-11-23T1000", "assessment", "by = \"rn-07\"\nsource = \"seen\"\n[site]\ndrainage = \"serous\"\n");
    round(&desk, &["q"]);
    desk.keep_screens("round_the_last_report_is_the_last_record_by_anyone_and_says_how_it_is_known");
}

#[test]
fn a_signal_at_a_closed_exit_names_it() {
    let desk = desk();
    let second = "\n[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-11-22\nwhy = \"second-pump\"\n";
    let closed = desk::PATIENT.replace("why = \"implant\"", "until = 2026-11-22\nwhy = \"implant\"");
    desk.put("patients/P-001/patient.toml", &format!("{closed}{second}"));
    change(&desk, "2026-11-21T1100", &format!("exit = \"a\"\n{PUS}"));
    round(&desk, &["s", "q"]);
    desk.keep_screens("round_a_signal_at_a_closed_exit_names_it");
}

/// The change written, the patient's row after it, and the text shown.
fn changed(desk: &Desk, typed: &[&str]) -> (String, serde_json::Value, String) {
    let before = desk.everything();
    let (_, saw) = round(desk, typed);
    let new = written(desk, &before);
    let change = new.iter().find(|text| text.contains("\"change\"")).unwrap_or_else(|| panic!("{new:?} {saw}"));
    let due = desk.json(&["due", "P-001"]);
    (change.clone(), due["rows"][0].clone(), saw)
}

#[test]
fn a_change_at_an_unknown_time_never_closes_a_lifting_dressing_in_silence() {
    let lifting = "by = \"p001-son\"\nsource = \"told\"\ndressing = \"lifting\"\n";
    for (when, answer, reason, because) in [
        ("today", "no", "other", "damage"),
        ("today", "not known", "other", "damage"),
        ("2", "yes", "lifting-or-none", "interval"),
        ("this morning", "no", "other", "damage"),
    ] {
        let desk = desk();
        event(&desk, "2026-11-24T0600", "inspection", lifting);
        let (change, row, _) = changed(&desk, &["d", "2", "p001-son", when, "", answer, "", "", "yes", "q"]);
        assert_eq!(change.contains("reason = \"other\""), reason == "other", "{change}");
        let all = format!("{} {}", row["because"], row["also"]);
        assert_eq!(all.contains("damage"), because == "damage", "{when} {answer}: {row}");
        assert!(change.contains("source = \"told\"") && change.contains("by = \"p001-son\""), "{change}");
        assert_eq!(change.contains("note = \"this morning"), when == "this morning");
        let answers = format!("{when}_{answer}").replace(' ', "_");
        desk.keep_screens(&format!("round_a_change_at_an_unknown_time_after_damage_{answers}"));
    }
    // Enter does not answer the question of the time.
    let desk = desk();
    event(&desk, "2026-11-24T0600", "inspection", lifting);
    let before = desk.everything();
    round(&desk, &["d", "2", "", "p001-son", "", "", "q"]);
    assert_eq!(desk.everything(), before);
    // A time needs no such question.
    let (change, row, saw) = changed(&desk, &["d", "2", "p001-son", "06:30", "", "", "", "yes", "q"]);
    assert!(!saw.contains("Was the change after that"), "{saw}");
    assert!(!change.contains("reason"), "{change}");
    assert_ne!(row["because"], "damage");
    desk.keep_screens("round_enter_does_not_answer_when_it_was_changed");
}

#[test]
fn a_stopped_round_goes_on_behind_those_reached_today_and_says_what_is_open() {
    let desk = desk();
    round(&desk, &["w", "2", "", "", "yes", "q"]);
    let before = desk.everything();
    round(&desk, &["q"]);
    assert_eq!(desk.everything(), before);
    let person = Person::typing(&["q"]);
    desk.run_as(Some("co-1"), &["round", "--again"], Some(&person));
    assert!(!person.saw().contains("was called"), "{}", person.saw());
    desk.keep_screens("round_a_stopped_round_goes_on_behind_those_reached_today_and_says_what_is_open");
}

#[test]
fn a_call_hides_nothing_that_has_to_be_done_today() {
    let call = |about: &str, outcome: &str| {
        format!(
            "by = \"co-1\"\nsource = \"told\"\nwith = \"p001-son\"\nabout = [\"{about}\"]\noutcome = \"{outcome}\"\n"
        )
    };
    let promise = "expect_by = 2026-11-25T12:00:00\n";
    let seen = "by = \"rn-07\"\nsource = \"seen\"\n";
    let shown = |calls: &[(&str, String)], records: &[(&str, &str, &str)]| {
        let desk = self::desk();
        for (at, kind, more) in records {
            event(&desk, at, kind, &format!("{seen}{more}"));
        }
        for (at, call) in calls {
            event(&desk, at, "contact", call);
        }
        let (_, saw) = round(&desk, &["q"]);
        saw.contains("1 of 1")
    };
    // With a promise and nothing else open, the row is skipped; without a promise an overdue change is offered again.
    let promised = ("2026-11-24T0610", call("overdue", "will-change") + promise);
    assert!(!shown(std::slice::from_ref(&promised), &[]));
    assert!(shown(&[("2026-11-24T0610", call("overdue", "advised"))], &[]));
    // An unanswered call is offered again, also after another person was reached.
    assert!(shown(&[("2026-11-24T0610", call("overdue", "no-answer"))], &[]));
    assert!(shown(&[promised.clone(), ("2026-11-24T0620", call("overdue", "no-answer"))], &[]));
    // A signal of today that the call was not about, or that a call to the household does not act on.
    for records in [
        ("2026-11-24T0500", "assessment", PUS),
        ("2026-11-24T0500", "inspection", "anchor = \"absent\"\n"),
        ("2026-11-21T1000", "inspection", "dressing = \"wet\"\n"),
        // The clock of a shower, running or expired.
        ("2026-11-24T0500", "shower", "water = \"shower\"\ndressing_before = \"intact\"\n"),
        ("2026-11-22T0500", "shower", "water = \"shower\"\ndressing_before = \"intact\"\n"),
    ] {
        assert!(shown(std::slice::from_ref(&promised), &[records]), "{records:?}");
        let about = call("pus", "will-change") + promise;
        assert!(shown(&[("2026-11-24T0610", about)], &[records]), "{records:?}");
    }
}

#[test]
fn a_skip_says_what_stays_open_and_asks_nothing() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    let before = desk.everything();
    round(&desk, &["s", "q"]);
    assert_eq!(desk.everything(), before);
    desk.keep_screens("round_a_skip_says_what_stays_open_and_asks_nothing");
}

#[test]
fn a_skip_says_the_clock_of_a_shower_and_not_the_day() {
    let desk = desk();
    event(&desk, "2026-11-24T0630", "shower", "by = \"p001-son\"\nsource = \"told\"\nwater = \"shower\"\n");
    round(&desk, &["s", "q"]);
    desk.keep_screens("round_a_skip_says_the_clock_of_a_shower_and_not_the_day");

    let desk = self::desk();
    change(&desk, "2026-11-23T0800", "");
    event(&desk, "2026-11-23T2130", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"wet\"\n");
    round(&desk, &["s", "q"]);
    desk.keep_screens("round_a_skip_says_the_clock_of_damage_that_ran_out");
}

#[test]
fn an_escalation_names_the_clinician_on_file() {
    let desk = desk();
    let call = "by = \"co-1\"\nsource = \"told\"\nwith = \"patient\"\nabout = [\"other\"]\noutcome = \"escalated\"\n";
    event(&desk, "2026-11-24T0610", "contact", &format!("{call}escalated_to = \"md-3\"\n"));
    desk.done(&["due", "P-001"]);
    event(&desk, "2026-11-24T0620", "contact", call);
    desk.done(&["due", "P-001"]);
    desk.keep_screens("round_an_escalation_names_the_clinician_on_file");
}

#[test]
fn at_the_first_question_back_returns_to_the_keys() {
    let desk = desk();
    let before = desk.everything();
    for key in ["c", "d", "w", "i", "n"] {
        round(&desk, &[key, "<", "s", "q"]);
        assert_eq!(desk.everything(), before, "{key}");
    }
    desk.keep_screens("round_at_the_first_question_back_returns_to_the_keys");
    let desk = self::desk();
    let before = desk.everything();
    round(&desk, &["c", "2", "<", "<", "n", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("no-answer"));
}

#[test]
fn a_no_keeps_the_answers_and_only_discard_drops_them() {
    // Enter and `<` go back to the note; the note and all earlier answers are kept.
    for back in ["", "<", "whatever"] {
        let desk = desk();
        let before = desk.everything();
        let typed: &[&str] = match back {
            "whatever" => &["c", "2", "advised", "typed", "no", "drop it", "", "", "yes", "q"],
            back => &["c", "2", "advised", "typed", "no", back, "", "yes", "q"],
        };
        let (_, saw) = round(&desk, typed);
        let new = written(&desk, &before);
        assert!(new[0].contains("p001-son") && new[0].contains("note = \"typed\""), "{new:?} {saw}");
        let typed = if back == "<" { "back" } else { back };
        desk.keep_screens(&format!(
            "round_a_no_keeps_the_answers_after_{}",
            if typed.is_empty() { "enter" } else { typed }
        ));
    }
    let desk = desk();
    let before = desk.everything();
    round(&desk, &["c", "2", "advised", "typed", "no", "", "-", "yes", "q"]);
    assert!(!written(&desk, &before)[0].contains("note"));
    // Also after a no to a question about a signal that the call would act on.
    let desk = self::desk();
    change(&desk, "2026-11-24T0600", PUS);
    let before = desk.everything();
    let acts = ["c", "clinician", "1", "advised", "1", "typed"];
    let (_, saw) = round(&desk, &[&acts[..], &["n", "", "", "y", "yes", "q"]].concat());
    let new = written(&desk, &before);
    assert!(new[0].contains("md-3") && new[0].contains("pus") && new[0].contains("typed"), "{new:?} {saw}");
    let before = desk.everything();
    round(&desk, &[&acts[..], &["n", "discard", "q"]].concat());
    assert_eq!(desk.everything(), before);
    desk.keep_screens("round_a_no_keeps_the_answers_of_a_call_that_acts_on_a_signal");
}

#[test]
fn a_patient_called_today_is_shown_again_when_something_is_new() {
    let call = "by = \"co-1\"\nsource = \"told\"\nwith = \"p001-son\"\nabout = [\"overdue\"]\n";
    let new: [(&str, &str, &str, &str); 4] = [
        // A later record.
        (
            "outcome = \"advised\"\n",
            "2026-11-24T0700",
            "inspection",
            "by = \"p001-son\"\nsource = \"told\"\ndressing = \"off\"\n",
        ),
        // An earlier event, entered later.
        (
            "outcome = \"advised\"\n",
            "2026-11-24T0400",
            "trauma",
            "by = \"p001-son\"\nsource = \"told\"\nmechanism = \"snag\"\n[entered]\nat = 2026-11-24T06:30:00\nby = \"rn-07\"\n",
        ),
        // A broken promise.
        (
            "outcome = \"will-change\"\nexpect_by = 2026-11-24T07:00:00\n",
            "2026-11-20T0700",
            "inspection",
            "by = \"rn-07\"\ndressing = \"intact\"\n",
        ),
        // A clock that has expired since.
        ("outcome = \"advised\"\n", "2026-11-24T0430", "shower", "by = \"p001-son\"\nsource = \"told\"\n"),
    ];
    for (outcome, at, kind, more) in new {
        let desk = desk();
        event(&desk, "2026-11-24T0610", "contact", &format!("{call}{outcome}"));
        event(&desk, at, kind, more);
        let (_, saw) = round(&desk, &["q"]);
        assert!(saw.contains("1 of 1"), "{kind} {saw}");
    }
}

#[test]
fn a_row_that_someone_else_called_meanwhile_is_passed_and_said() {
    let desk = desk();
    desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
    desk.put("patients/P-003/patient.toml", &desk::PATIENT.replace("P-001", "P-003").replace("p001", "p003"));
    let file = desk.root().join("patients/P-003/2026/2026-11-24T0714-contact.toml");
    let call = "kind = \"contact\"\nat = 2026-11-24T07:14:00\nby = \"rn-07\"\nsource = \"told\"\nwith = \"p003-son\"\nabout = [\"overdue\"]\noutcome = \"will-change\"\nexpect_by = 2026-11-24T18:00:00\n";
    let changed = desk.root().join("patients/P-001/2026/2026-11-24T0714-change.toml");
    let change = "kind = \"change\"\nat = 2026-11-24T07:14:00\nby = \"rn-07\"\nsource = \"seen\"\n";
    let person = Person::typing(&["s", "q"]).meanwhile(move || {
        fs::create_dir_all(file.parent().unwrap()).unwrap();
        fs::write(&file, call).unwrap();
        fs::write(&changed, change).unwrap();
    });
    let outcome = desk.run_as(Some("co-1"), &["round"], Some(&person));
    // The census is that of the end: P-001 has its change.
    let census = |text: &str| {
        let text = &text[text.find("on file:").unwrap()..];
        text.split(['.', '\n']).next().unwrap().to_owned()
    };
    assert_eq!(census(&outcome.stdout), census(&desk.done(&["due"])), "{}", outcome.stdout);
    desk.keep_screens("round_a_row_that_someone_else_called_meanwhile_is_passed_and_said");
}

#[test]
fn enter_alone_writes_nothing() {
    for signal in [PUS, "[found]\nanchor = \"absent\"\n", "[left]\ndressing = \"wet\"\nanchor = \"loose\"\n"] {
        let desk = desk();
        change(&desk, "2026-11-24T0600", signal);
        let before = desk.everything();
        for key in ["c", "d", "w", "i", "u", "?", "s", "<", ""] {
            round(&desk, &[&[key], &[""; 30][..]].concat());
            assert_eq!(desk.everything(), before, "{key}");
        }
    }
}

#[test]
fn a_note_is_kept_and_offered_when_one_goes_back_over_it() {
    let desk = desk();
    let before = desk.everything();
    let typed = ["c", "2", "advised", "asked to send a picture", "<", "<", "coming-in", "today 18:00", "", "yes", "q"];
    round(&desk, &typed);
    let new = written(&desk, &before);
    assert!(
        new[0].contains("outcome = \"coming-in\"") && new[0].contains("note = \"asked to send a picture\""),
        "{new:?}"
    );
    desk.keep_screens("round_a_note_is_kept_and_offered_when_one_goes_back_over_it");
}

#[test]
fn an_unanswered_call_is_about_everything_that_is_open() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    let before = desk.everything();
    let (_, saw) = round(&desk, &["n", "yes", "q"]);
    let new = written(&desk, &before);
    assert!(new[0].contains("about = [\"pus\", "), "{new:?} {saw}");
    assert!(!new[0].contains("overdue"), "{new:?}");
    // It acts on nothing.
    desk.done(&["due"]);
    desk.keep_screens("round_an_unanswered_call_is_about_everything_that_is_open");
}

#[test]
fn a_skip_says_what_was_passed_and_can_be_taken_back() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    for back in ["u", "<"] {
        let before = desk.everything();
        round(&desk, &["s", back, "n", "yes", "q"]);
        for (file, _) in desk.everything().iter().filter(|file| !before.contains(file)) {
            fs::remove_file(file).unwrap();
        }
    }
    desk.keep_screens("round_a_skip_says_what_was_passed_and_can_be_taken_back");
}

#[test]
fn ctrl_c_says_what_is_on_file_and_how_to_go_on() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    // No answer, which is written; then a call that is left before the last question.
    let person = Person::typing(&["n", "yes", "<", "c", "2", "advised"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    desk.keep_screens("round_ctrl_c_in_the_second_call");
    let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let said: Vec<String> = person.interrupted().into_iter().map(flat).collect();
    let (first, later): (Vec<&String>, Vec<&String>) =
        said.iter().partition(|text| text.contains("Nothing was written"));
    assert_eq!(first[0], "exitsite: stopped. Nothing was written. Run `exitsite round` to start again.");
    let on_file =
        "exitsite: stopped. Written in this round and on file: patients/P-001/2026/2026-11-24T0715-contact.toml.";
    let on = "Run `exitsite round` to continue with the patients not called today.";
    assert_eq!(*later[0], format!("{on_file} {on}"), "{said:?}");
    let dropped = |call: &str| later.contains(&&format!("{on_file} {call} was not written. {on}"));
    assert!(dropped("The call for P-001") && dropped("The call with p001-son about P-001"), "{said:?}");
}

#[test]
fn people_and_outcomes_have_the_same_numbers_in_a_round_and_at_record_contact() {
    let desk = desk();
    change(&desk, "2026-11-24T0600", PUS);
    round(&desk, &["c", "2", "advised"]);
    let person = Person::typing(&["", "co-1", "2", "other", "6"]);
    desk.run_as(Some("co-1"), &["record", "contact", "P-001"], Some(&person));
    desk.keep_screens("round_people_and_outcomes_have_the_same_numbers_in_a_round_and_at_record_contact");
}

/// Adds a call by rn-07 at another computer, written during the n-th question to the coordinator.
fn called_at_another_computer(desk: &Desk, at: usize, person: Person) -> Person {
    let file = desk.root().join("patients/P-001/2026/2026-11-24T0714-contact.toml");
    let call = "kind = \"contact\"\nat = 2026-11-24T07:14:00\nby = \"rn-07\"\nsource = \"told\"\nwith = \"p001-son\"\nabout = [\"overdue\"]\noutcome = \"advised\"\n";
    let asked = std::sync::atomic::AtomicUsize::new(0);
    person.meanwhile(move || {
        if asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1 == at {
            fs::write(&file, call).unwrap();
        }
    })
}

#[test]
fn a_row_that_another_computer_called_while_it_was_on_the_screen_is_skipped_and_said() {
    let desk = desk();
    let before = desk.everything().len();
    let person = called_at_another_computer(&desk, 1, Person::typing(&["c", "q"]));
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(desk.everything().len(), before + 1);
    desk.keep_screens("round_a_row_that_another_computer_called_while_it_was_on_the_screen_is_skipped_and_said");
}

#[test]
fn a_call_that_came_while_the_answers_were_typed_is_asked_about_before_another_is_written() {
    let desk = desk();
    let before = desk.everything().len();
    let typed = ["c", "2", "advised", "", "no", "discard", "q"];
    let person = called_at_another_computer(&desk, 3, Person::typing(&typed));
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let saw = person.saw();
    assert_eq!(desk.everything().len(), before + 1, "{saw}");
    desk.keep_screens("round_a_call_that_came_while_the_answers_were_typed_is_asked_about_before_another_is_written");

    // After a yes, both are on file.
    let desk = self::desk();
    let person = called_at_another_computer(&desk, 3, Person::typing(&["c", "2", "advised", "", "yes", "yes", "q"]));
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(desk.everything().len(), before + 2, "{}", person.saw());
}

#[test]
fn enter_behind_u_voids_nothing() {
    let desk = desk();
    round(&desk, &["n", "yes", "u", "", "n", "u", "y", "q"]);
    // Enter after the last key does not end the round, either.
    round(&desk, &["s", "\n", "u", "q"]);
    desk.keep_screens("round_enter_behind_u_voids_nothing");
}

/// The answers at `d` for the change: who, when, why; then site, dressing and anchor.
const TOLD: [&str; 5] = ["d", "2", "p001-son", "06:30", "scheduled"];

#[test]
fn a_change_told_in_a_call_asks_when_by_whom_why_and_what_was_found() {
    let desk = desk();
    event(&desk, "2026-11-23T1000", "inspection", "by = \"rn-07\"\nsource = \"seen\"\nanchor = \"loose\"\n");
    let before = desk.everything();
    let person = Person::typing(&[&TOLD[..], &["none", "1", "", "y", "yes", "q"]].concat());
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    let (saw, asked) = (person.saw(), person.asked());
    // The key, eight questions, the end of the unsecured anchor, and the next key.
    assert_eq!((person.left(), asked.len()), (0, 1 + 8 + 1 + 1), "{saw}");
    let new = written(&desk, &before);
    let change = new.iter().find(|text| text.contains("kind = \"change\"")).unwrap();
    for line in
        ["by = \"p001-son\"", "source = \"told\"", "reason = \"scheduled\"", "pain = \"none\"", "anchor = \"in-place\""]
    {
        assert!(change.contains(line), "{line}\n{change}");
    }
    desk.keep_screens("round_a_change_told_in_a_call_asks_when_by_whom_why_and_what_was_found");

    // Enter claims nothing and ends nothing.
    let desk = self::desk();
    event(&desk, "2026-11-23T1000", "inspection", "by = \"rn-07\"\nsource = \"seen\"\nanchor = \"loose\"\n");
    let before = desk.everything();
    let (_, saw) = round(&desk, &["d", "2", "2", "06:30", "", "", "", "", "yes", "q"]);
    let new = written(&desk, &before);
    let change = new.iter().find(|text| text.contains("kind = \"change\"")).unwrap();
    assert!(
        !change.contains('[') || !["[site]", "[found]", "[left]", "reason"].iter().any(|part| change.contains(part)),
        "{change}"
    );
    assert!(!saw.contains("This ends"), "{saw}");
    desk.done(&["signals", "P-001"]);
    desk.keep_screens("round_a_change_told_in_a_call_asks_when_by_whom_why_and_that_enter_claims_nothing");

    // A reported full look does not count as one by staff: the pus stays open.
    let desk = self::desk();
    change_with_pus(&desk);
    let (_, saw) = round(&desk, &[&TOLD[..], &["none", "1", "", "y", "yes", "q"]].concat());
    assert!(!saw.contains("This ends: pus"), "{saw}");
    desk.done(&["signals", "P-001"]);
    desk.keep_screens("round_a_change_told_in_a_call_asks_when_by_whom_why_and_that_a_report_leaves_pus_open");
}

fn change_with_pus(desk: &Desk) {
    change(desk, "2026-11-24T0600", PUS);
}

#[test]
fn a_note_is_added_to_a_told_change_and_back_keeps_what_was_found() {
    let desk = desk();
    let before = desk.everything();
    let typed = ["f", "serous", "scant", "", "", "", "", "none", "", "<", "", "1", "m", "fell asleep", "yes", "q"];
    let (_, saw) = round(&desk, &[&TOLD[..], &typed].concat());
    let new = written(&desk, &before);
    let of = |kind: &str| new.iter().find(|text| text.contains(kind)).unwrap_or_else(|| panic!("{new:?} {saw}"));
    assert!(of("\"change\"").contains("drainage = \"serous\"\namount = \"scant\"\nodor = false"), "{new:?}");
    assert!(of("\"contact\"").contains("note = \"fell asleep\""), "{new:?}");
    desk.keep_screens("round_a_note_is_added_to_a_told_change_and_back_keeps_what_was_found");
}

#[test]
fn a_reason_as_told_ends_no_report_that_it_was_not_made_for() {
    for (at, when, why, reason, is_open) in [
        ("2026-11-24T0600", "today", "lifting", "lifting", false),
        ("2026-11-24T0600", "today", "scheduled", "scheduled", true),
        ("2026-11-24T0600", "this morning", "lifting", "lifting", false),
    ] {
        let desk = desk();
        event(&desk, at, "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"lifting\"\n");
        let (change, row, saw) = changed(&desk, &["d", "2", "2", when, why, "", "", "yes", "q"]);
        assert!(change.contains(&format!("reason = \"{reason}\"")), "{change} {saw}");
        assert!(!saw.contains("Was the change after that?"), "{saw}");
        let all = format!("{} {}", row["because"], row["also"]);
        assert_eq!(all.contains("damage"), is_open, "{why}: {row}");
    }
}

#[test]
fn a_call_stopped_twice_shows_the_lines_that_write_it() {
    let desk = desk();
    let before = desk.everything();
    let person = Person::typing(&["c", "2", "advised", "hands red", desk::CTRL_C, "n", "<", "", desk::CTRL_C]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(desk.everything(), before);
    // "Keep this time?" loses nothing, either.
    event(&desk, "2026-11-24T0700", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"wet\"\n");
    let before = desk.everything();
    let (_, saw) = round(&desk, &["w", "2", "tomorrow 23:00", desk::CTRL_C, "", "y", "", "", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("expect_by = 2026-11-25T23:00:00"), "{saw}");
    // A reported change has a line of its own.
    let before = desk.everything();
    let person = Person::typing(&[&TOLD[..], &["none", "1"]].concat());
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(desk.everything(), before);
    desk.keep_screens("round_a_call_stopped_twice_shows_the_lines_that_write_it");
}

#[test]
fn a_call_is_about_what_was_chosen_and_nothing_else() {
    let desk = desk();
    let before = desk.everything();
    let (_, saw) = round(&desk, &["c", "2", "advised", "", "yes", "q"]);
    assert!(written(&desk, &before)[0].contains("about = [\"other\"]"), "{saw}");
    assert!(!saw.contains("about overdue"), "{saw}");
    let person = Person::typing(&["q"]);
    desk.run_as(Some("co-1"), &["round", "--again"], Some(&person));
    desk.keep_screens("round_a_call_is_about_what_was_chosen_and_nothing_else");
}

#[test]
fn what_is_written_while_a_call_is_asked_for_is_asked_about() {
    let desk = desk();
    let file = desk.root().join("patients/P-001/2026/2026-11-24T0714-contact.toml");
    let call = "kind = \"contact\"\nat = 2026-11-24T07:14:00\nby = \"rn-07\"\nsource = \"told\"\nwith = \"other\"\nabout = [\"overdue\"]\noutcome = \"no-answer\"\n";
    let before = desk.everything();
    let asked = std::sync::atomic::AtomicUsize::new(0);
    let person = Person::typing(&["n", "yes", "y", "yes", "q"]).meanwhile(move || {
        // While the last question waits.
        if asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed) == 1 {
            fs::write(&file, call).unwrap();
        }
    });
    let outcome = desk.run_as(Some("co-1"), &["round"], Some(&person));
    let saw = person.saw();
    assert_eq!((written(&desk, &before).len(), person.left()), (2, 0), "{outcome:?} {saw}");
    desk.keep_screens("round_what_is_written_while_a_call_is_asked_for_is_asked_about");
}

#[test]
fn a_row_of_the_round_says_each_fact_once() {
    let desk = desk();
    let plain = |saw: &str| {
        let row = &saw[saw.find("1 of 1").unwrap()..saw.find("c called").unwrap()];
        row.split([';', '\n']).map(|fact| fact.trim().to_owned()).filter(|fact| !fact.is_empty()).collect::<Vec<_>>()
    };
    for more in ["", PUS, "[left]\ndressing = \"wet\"\nanchor = \"loose\"\n"] {
        if !more.is_empty() {
            change(&desk, "2026-11-24T0600", more);
        }
        let facts = plain(&round(&desk, &["q"]).1);
        let mut once = facts.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), facts.len(), "{facts:?}");
    }
}

#[test]
fn at_two_exit_sites_the_last_report_names_its_own_and_in_the_hospital_the_unit_is_called() {
    let desk = desk();
    let second = "[[exit]]\nid = 'b'\nwhere = 'left-upper'\nfrom = 2026-10-01\nwhy = 'second-pump'\n\n[[care]]";
    let moved = "\n[[care]]\nfrom = 2026-11-20\nplace = 'inpatient'\n\n[[caregiver]]";
    let patient = desk::PATIENT.replacen("[[care]]", second, 1).replacen("\n[[caregiver]]", moved, 1);
    desk.put("patients/P-001/patient.toml", &patient);
    change(&desk, "2026-11-21T0900", "exit = 'a'\n");
    change(&desk, "2026-11-22T0800", "exit = 'b'\n");
    round(&desk, &["q"]);
    desk.keep_screens("round_at_two_exit_sites_the_last_report_names_its_own_and_in_the_hospital_the_unit_is_called");
}
