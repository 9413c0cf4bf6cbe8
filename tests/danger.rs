//! Danger to open signals: no write stops alerts, ends a signal of today or leaves one open without a word in the
//! question or in the answer.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// The patient at home from the first day, so that no move home asks for a sign-off, with a change yesterday.
fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    let second = "# went home well\n[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n";
    let patient = desk::PATIENT.replace(second, "").replace("place = \"inpatient\"", "place = \"home\"");
    desk.put("patients/P-001/patient.toml", &patient);
    record(&desk, "2026-11-23T0800", "change", "");
    desk
}

/// Pus and fever, seen by staff this morning.
fn with_pus_and_fever() -> Desk {
    let desk = desk();
    record(&desk, "2026-11-24T0600", "assessment", "[site]\ndrainage = 'purulent'\ntemperature_c = 38.9\n");
    desk
}

fn record(desk: &Desk, at: &str, kind: &str, says: &str) {
    let (day, time) = at.split_once('T').unwrap();
    let at_key = format!("{day}T{}:{}:00-06:00", &time[..2], &time[2..]);
    let text = format!("kind = '{kind}'\nat = {at_key}\nby = 'rn-07'\nsource = 'seen'\n{says}");
    desk.put(&format!("patients/P-001/2026/{at}-{kind}.toml"), &text);
}

const CALL: [&str; 9] = ["record", "contact", "P-001", "--by", "co-1", "--with", "p001-son", "--about", "other"];

fn call(more: &[&'static str]) -> Vec<&'static str> {
    [&CALL[..], more].concat()
}

#[track_caller]
fn holds(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part}\n{text}");
    }
}

#[test]
fn a_reported_end_of_support_asks_before_it_stops_the_alerts() {
    let desk = with_pus_and_fever();
    let ended = call(&["--outcome", "support-ended"]);
    desk.refused(&[&ended[..], &["--yes"]].concat());
    let before = desk.everything();
    for answers in [&["told", "", "", ""][..], &["told", "", "n"], &[]] {
        let person = Person::typing(answers);
        desk.run_as(Some("co-1"), &ended, Some(&person));
        assert_eq!(desk.everything(), before, "{answers:?} {}", person.saw());
    }
    let typed = [&ended[..], &["--source", "told"]].concat();
    let person = Person::typing(&["", ""]);
    desk.run_as(Some("co-1"), &typed, Some(&person));
    assert_eq!(desk.everything(), before, "{}", person.saw());
    desk.done(&[&typed[..], &["--yes"]].concat());
    // A second report stops nothing further, so there is no question.
    desk.done(&[&ended[..], &["--at", "07:10", "--yes"]].concat());
    desk.keep_screens("danger_a_reported_end_of_support_asks_before_it_stops_the_alerts");
}

#[test]
fn the_round_asks_before_it_stops_the_alerts() {
    let desk = with_pus_and_fever();
    let before = desk.everything();
    let person = Person::typing(&["c", "2", "support-ended", "", "", "", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    assert_eq!(desk.everything(), before);
    desk.keep_screens("danger_the_round_asks_before_it_stops_the_alerts");
}

#[test]
fn an_amended_outcome_and_a_voided_record_ask_before_they_stop_the_alerts() {
    let desk = with_pus_and_fever();
    desk.done(&call(&["--outcome", "other", "--at", "07:00", "--yes"]));
    let file = "patients/P-001/2026/2026-11-24T0700-contact.toml";
    let who = ["--by", "co-1", "--why", "misheard"];
    let amend = [&["amend", file, "--set", "outcome=support-ended", "--yes"][..], &who].concat();
    desk.refused(&amend);
    desk.done(&[&amend[..], &["--source", "told"]].concat());
    // An inspection by staff starts them again, and voiding it stops them.
    desk.done(&["record", "inspection", "P-001", "--by", "rn-07", "--dressing", "intact", "--at", "07:05", "--yes"]);
    let void = [&["void", "patients/P-001/2026/2026-11-24T0705-inspection.toml", "--yes"][..], &who].concat();
    desk.refused(&void);
    desk.keep_screens("danger_an_amended_outcome_and_a_voided_record_ask");
}

#[test]
fn a_record_a_few_minutes_ahead_of_the_clock_is_answered_as_one_of_now() {
    let look =
        ["record", "assessment", "P-001", "--by", "rn-07", "--drainage", "purulent", "--yes", "--source", "seen"];
    let ahead = desk();
    ahead.done(&[&look[..], &["--at", "07:16"]].concat());
    ahead.keep_screens("danger_a_record_ahead_of_the_clock_is_answered_as_one_of_now");
    let desk = desk();
    let order = "\n[[order]]\nfrom = 2026-11-20\nno_showers = true\nby = 'md-3'\n";
    desk.put("patients/P-001/patient.toml", &format!("{}{order}", desk.get("patients/P-001/patient.toml")));
    let shower = ["record", "shower", "P-001", "--by", "rn-07", "--at", "07:20", "--yes", "--source", "seen"];
    desk.done(&shower);
    let round = Person::typing(&["n", "yes", "q"]);
    desk.run_as(Some("co-1"), &["round", "--within", "48"], Some(&round));
    desk.keep_screens("danger_a_shower_against_an_order_ahead_of_the_clock");
}

#[test]
fn every_answer_names_what_still_needs_review_today() {
    let desk = with_pus_and_fever();
    desk.done(&call(&["--outcome", "other", "--yes"]));
    desk.done(&["record", "trauma", "P-001", "--by", "rn-07", "--mechanism", "snag", "--at", "07:00", "--yes"]);
    let who = ["--by", "co-1", "--why", "slip", "--yes"];
    let contact = "patients/P-001/2026/2026-11-24T0715-contact.toml";
    desk.done(&[&["amend", contact, "--set", "about=log"][..], &who].concat());
    desk.done(&[&["void", contact][..], &who].concat());
    let order = ["patient", "order", "P-001", "--every-days", "2", "--by", "md-3", "--why", "wet", "--yes"];
    desk.done(&order);
    record(&desk, "2026-11-20T0800", "culture", "specimen = 'exit-site'\n");
    let culture = "patients/P-001/2026/2026-11-20T0800-culture.toml";
    desk.done(&["result", culture, "--on", "2026-11-23", "--growth", "no", "--yes"]);
    desk.put("log.csv", "patient,at,kind,by,dressing\nP-001,2026-11-24T06:30,inspection,rn-07,intact\n");
    desk.done(&["import", "log.csv", "--by-entered", "co-1", "--yes"]);
    desk.keep_screens("danger_every_answer_names_what_still_needs_review_today");
    // The round names it once.
    let round = Person::typing(&["n", "yes", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&round));
    assert_eq!(round.saw().matches("Still needs review today: ").count(), 1, "{}", round.saw());
}

#[test]
fn a_call_with_the_household_and_its_change_are_told() {
    for more in [&["--with", "patient"][..], &["--with", "p001-son"]] {
        let desk = desk();
        let before = desk.everything();
        let call = ["record", "contact", "P-001", "--by", "co-1", "--outcome", "other", "--changed", "07:00", "--yes"];
        desk.done(&[&call[..], more].concat());
        let written: Vec<_> = desk.everything().into_iter().filter(|file| !before.contains(file)).collect();
        assert_eq!(written.len(), 2);
        assert!(written.iter().all(|(_, text)| text.contains("source = \"told\"")), "{written:?}");
    }
    // With one caregiver on file there is no question for a name.
    let desk = desk();
    let said = desk.done(&["record", "contact", "P-001", "--by", "co-1", "--outcome", "other", "--changed", "--yes"]);
    assert!(!said.contains(", seen"), "{said}");
    // A change reported in it cannot be entered as seen.
    let typed = ["record", "contact", "P-001", "--by", "co-1", "--outcome", "other", "--changed", "07:00"];
    let before = desk.everything();
    desk.done(&[&typed[..], &["--source", "seen", "--at", "07:05", "--yes"]].concat());
    let change =
        desk.everything().into_iter().find(|file| !before.contains(file) && file.0.contains("-change")).unwrap();
    assert!(change.1.contains("source = \"told\""), "{change:?}");
    // In a call among colleagues the household reported nothing.
    let colleague = ["record", "contact", "P-001", "--by", "co-1", "--with", "md-3", "--about", "other"];
    desk.done(&[&colleague[..], &["--outcome", "other", "--at", "06:40", "--yes"]].concat());
    assert!(desk.get("patients/P-001/2026/2026-11-24T0640-contact.toml").contains("source = \"seen\""));
}

#[test]
fn a_report_that_ends_a_signal_says_so() {
    let desk = desk();
    record(&desk, "2026-11-24T0600", "inspection", "dressing = 'wet'\nanchor = 'absent'\n");
    let told = ["record", "inspection", "P-001", "--by", "p001-son", "--by-entered", "co-1", "--anchor", "in-place"];
    desk.done(&[&told[..], &["--at", "06:30", "--source", "told", "--yes"]].concat());
    desk.done(&call(&["--outcome", "other", "--changed", "06:45", "--yes"]));
    desk.keep_screens("danger_a_report_that_ends_a_signal_says_so");
    assert!(!desk.done(&["signals"]).contains("anchor"));
}

#[test]
fn the_caller_of_a_call_is_one_of_the_staff_and_enter_is_nobody() {
    let desk = desk();
    let before = desk.everything();
    for writer in ["co-1", "rn-07"] {
        let person = Person::typing(&["", "", ""]);
        desk.run_as(Some(writer), &["record", "contact", "P-001"], Some(&person));
        let saw = person.saw();
        holds(&saw, &[&format!("1 {writer} (you)"), "md-3 (physician)", "Required."]);
        let by = saw.lines().find(|line| line.starts_with("Who made the call?")).unwrap_or_else(|| panic!("{saw}"));
        assert!(!by.contains("p001-son") && !by.contains("rn-02"), "{by}");
        assert_eq!(desk.everything(), before);
    }
    let person = Person::typing(&["", "1", "told", "p001-son", "advised", "", "5", "", "told", "", "y"]);
    desk.run_as(Some("co-1"), &["record", "contact", "P-001"], Some(&person));
    let new = desk.everything().into_iter().find(|file| !before.contains(file));
    let (_, file) = new.unwrap_or_else(|| panic!("{}", person.saw()));
    holds(&file, &["by = \"co-1\"", "with = \"p001-son\""]);
    // An unknown code is refused at its own question.
    holds(&person.saw(), &["Unknown code told"]);
}

#[test]
fn a_danger_dated_a_little_ahead_of_the_clock_is_there_at_once() {
    // It is 07:15.
    for ahead in ["2026-11-24T0722", "2026-11-24T1130"] {
        let desk = desk();
        record(&desk, ahead, "assessment", "[site]\ndrainage = 'purulent'\n");
        let file = format!("{ahead}-assessment.toml");
        for command in [&["signals"][..], &["due"], &["show", "P-001"]] {
            holds(&desk.run(command).stdout, &["pus"]);
        }
        holds(
            &desk.run(&["alert"]).stdout,
            &["1 signal needs review today", &format!("since 2026-11-24 {}:", &ahead[11..13])],
        );
        let time = format!("{}:{}", &ahead[11..13], &ahead[13..]);
        holds(&desk.run(&["signals"]).stdout, &[&file, &format!("today {time}, ahead of the clock")]);
        // An `as_of` is different: by then it was not on file.
        let asked = desk.run(&["signals", "--as-of", "2026-11-24T07:15"]).stdout;
        assert!(!asked.contains("pus"), "{asked}");
    }
    let tomorrow = desk();
    record(&tomorrow, "2026-11-25T0722", "assessment", "[site]\ndrainage = 'purulent'\n");
    assert!(!tomorrow.run(&["signals"]).stdout.contains("pus"));
}

#[test]
fn what_is_dated_ahead_of_the_clock_ends_and_answers_nothing_yet() {
    let desk = with_pus_and_fever();
    record(&desk, "2026-11-24T0722", "assessment", CLEAN);
    let report = desk.json(&["signals"]);
    let signals = report["signals"].as_array().unwrap();
    let pus = signals.iter().find(|one| one["signal"] == "pus").unwrap();
    assert_eq!((&pus["ended"], &pus["answered"]), (&serde_json::Value::Null, &serde_json::Value::Null));
}

const CLEAN: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\nodor = false\n\
                     warmth = false\novergranulation = false\nbleeding = false\n";

#[test]
fn news_dated_ahead_of_the_clock_asks_for_another_answer() {
    let desk = with_pus_and_fever();
    let told = "with = 'md-3'\nabout = ['fever', 'pus']\noutcome = 'advised'\n";
    record(&desk, "2026-11-24T0630", "contact", told);
    let is_news_answered = |desk: &Desk| {
        let report = desk.json(&["signals"]);
        let signals = report["signals"].as_array().unwrap().clone();
        signals.iter().find(|one| one["signal"] == "fever").unwrap()["news_answered"].clone()
    };
    assert_eq!(is_news_answered(&desk), true);
    record(&desk, "2026-11-24T0722", "assessment", "[site]\ntemperature_c = 39.4\n");
    assert_eq!(is_news_answered(&desk), false);
}

#[test]
fn a_record_by_staff_after_the_report_that_support_ended_takes_it_back_everywhere() {
    let desk = desk();
    let told = "with = 'p001-son'\nabout = ['other']\noutcome = 'support-ended'\n";
    record(&desk, "2026-11-24T0600", "contact", told);
    holds(&desk.run(&["due", "--all"]).stdout, &["patient end P-001"]);
    record(&desk, "2026-11-24T0630", "inspection", "dressing = 'intact'\n");
    let due = desk.run(&["due", "--all"]).stdout;
    assert!(!due.contains("patient end P-001"), "{due}");
}

#[test]
fn a_change_without_a_time_ends_no_damage_of_its_day_unasked() {
    let wet = "dressing = 'wet'\n";
    let change = ["record", "change", "P-001", "--on", "today", "--by", "p001-son", "--by-entered", "co-1"];
    let told = ["--source", "told"];
    let desk = self::desk();
    record(&desk, "2026-11-24T0600", "inspection", wet);
    let before = desk.everything();
    desk.refused(&[&change[..], &told, &["--yes"]].concat());
    let person = Person::typing(&["n", "discard"]);
    desk.run_as(Some("co-1"), &[&change[..], &told, &["--anchor-left", "in-place"]].concat(), Some(&person));
    assert_eq!(desk.everything(), before);
    // With a time, or with a reason other than the damage, the order is known or the damage stays open.
    desk.done(&[&change[..], &told, &["--reason", "scheduled", "--yes"]].concat());
    desk.done(&["signals"]);
    desk.keep_screens("danger_a_change_without_a_time_ends_no_damage_unasked");
    // In the other order: the damage is recorded, and the answer names the change that hides it.
    let desk = self::desk();
    desk.done(&[&change[..], &told, &["--yes"]].concat());
    let inspection = ["record", "inspection", "P-001", "--at", "06:00", "--by", "p001-son", "--by-entered", "co-1"];
    desk.done(&[&inspection[..], &told, &["--dressing", "wet", "--yes"]].concat());
    desk.keep_screens("danger_the_answer_names_the_change_that_hides_the_damage");
}

#[test]
fn the_reply_names_the_damage_for_which_the_clock_runs() {
    let desk = desk();
    let wet = ["record", "inspection", "P-001", "--by", "rn-07", "--dressing", "wet", "--source", "seen", "--yes"];
    desk.done(&[&wet[..], &["--at", "07:00"]].concat());
    desk.done(&[&wet[..], &["--at", "04:00"]].concat());
    desk.keep_screens("danger_the_reply_names_the_damage_for_which_the_clock_runs");
}

#[test]
fn a_script_that_ends_signals_is_told_the_last_record_of_each() {
    let desk = with_pus_and_fever();
    let look = ["record", "assessment", "P-001", "--by", "rn-07", "--site", "none-noted", "--yes", "--source", "seen"];
    let said = desk.done(&look);
    assert!(!said.contains("Ended: fever"), "{said}");
    desk.keep_screens("danger_a_script_that_ends_a_signal_is_told_its_last_record");
    // For growth the answer gives the day of its result, not that of the culture.
    let desk = self::desk();
    let grown = "specimen = 'exit-site'\n[result]\non = 2026-11-20\ngrowth = true\norganisms = ['S. aureus']\n";
    record(&desk, "2026-11-17T1040", "culture", grown);
    for command in [&["due"][..], &["signals"], &["show", "P-001"], &["handoff"]] {
        let text = desk.run(command).stdout;
        assert!(!text.contains("Nov 17 10:40)"), "{command:?} {text}");
    }
    let physician = ["record", "contact", "P-001", "--by", "rn-07", "--with", "md-3", "--about", "culture-growth"];
    desk.done(&[&physician[..], &["--outcome", "other", "--yes", "--source", "seen"]].concat());
    desk.keep_screens("danger_growth_has_the_day_of_its_result");
}

/// Redness of 22 mm on Friday, for which the physician was called, and of 32 mm on Monday.
#[test]
fn redness_that_is_worse_than_when_the_physician_was_called_needs_review_everywhere() {
    let desk = desk();
    record(&desk, "2026-11-20T1000", "assessment", "[site]\nredness_mm = 22\n");
    let called = "with = 'md-3'\nabout = ['redness-wide', 'redness-spreading']\noutcome = 'advised'\n";
    record(&desk, "2026-11-20T1100", "contact", called);
    let beside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = beside.path().join("told.json");
    let alert = |desk: &Desk| {
        let text = desk.unkept(&["alert", "--state", file.to_str().unwrap()]).stdout;
        text.lines().filter(|line| line.contains("needs review today")).collect::<Vec<_>>().join("\n")
    };
    assert!(alert(&desk).contains("(acted on), since"));
    record(&desk, "2026-11-20T1600", "assessment", "[site]\nredness_mm = 22\n");
    desk.done(&["due"]);
    record(&desk, "2026-11-23T1840", "assessment", "[site]\nredness_mm = 32\n");
    for command in [&["due"][..], &["signals"], &["show", "P-001"], &["handoff"]] {
        desk.done(command);
    }
    let sent = alert(&desk);
    assert!(sent.contains("worse than when sent") && !sent.contains("(acted on)"), "{sent}");
    record(&desk, "2026-11-24T0600", "contact", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'\n");
    desk.done(&["due"]);
    desk.keep_screens("danger_redness_that_is_worse_than_when_the_physician_was_called");
}

/// The change of Monday evening cannot be read: it may be the one that the schedule waits for.
#[test]
fn a_write_calls_no_change_overdue_that_an_unreadable_record_may_have_met() {
    let desk = desk();
    let files = ["2026-11-23T0800", "2026-11-20T0800"].map(|at| format!("patients/P-001/2026/{at}-change.toml"));
    desk.put(&files[1], &desk.get(&files[0]).replace("2026-11-23", "2026-11-20"));
    desk.put(&files[0], "kind = 'change'\nat = 2026-11-23T08:00:00-06:00\nby = \n");
    let import = "patient,kind,at,by,dressing\nP-001,inspection,2026-11-21T06:30,rn-07,intact\n";
    desk.put("unread.csv", import);
    let csv = desk.root().join("unread.csv").display().to_string();
    let commands: [&[&str]; 5] = [
        &call(&["--outcome", "other", "--at", "07:00", "--yes"]),
        &[
            "record",
            "inspection",
            "P-001",
            "--by",
            "rn-07",
            "--source",
            "seen",
            "--dressing",
            "intact",
            "--at",
            "07:05",
            "--yes",
        ],
        &[
            "amend",
            "patients/P-001/2026/2026-11-24T0705-inspection.toml",
            "--set",
            "anchor=in-place",
            "--by",
            "co-1",
            "--why",
            "left out",
            "--yes",
        ],
        &["patient", "order", "P-001", "--every-days", "1", "--by", "md-3", "--why", "redness", "--yes"],
        &["import", &csv, "--by-entered", "co-1", "--yes"],
    ];
    for command in commands {
        let said = desk.done(command);
        holds(&said, &["cannot be read, next change not known"]);
        assert!(!said.contains("OVERDUE") && !said.contains("due by"), "{said}");
    }
    let person = Person::typing(&["c", "2", "other", "", "", "y", "y", "u", "y", "q"]);
    desk.run_as(Some("rn-07"), &["round", "--again"], Some(&person));
    holds(&person.saw(), &["Recorded", "Voided", "cannot be read, next change not known"]);
    assert!(!person.saw().contains("OVERDUE"), "{}", person.saw());
    // What was reported before it may have been met.
    record(&desk, "2026-11-22T0900", "shower", "dressing_before = 'intact'\n");
    let said = desk.done(&call(&["--outcome", "other", "--at", "07:12", "--yes"]));
    assert!(!said.contains("OVERDUE"), "{said}");
    // What is reported after it needs a change in any case.
    let wet = [
        "record",
        "inspection",
        "P-001",
        "--by",
        "p001-son",
        "--source",
        "told",
        "--dressing",
        "wet",
        "--at",
        "07:10",
        "--yes",
    ];
    holds(
        &desk.done(&[&wet[..], &["--by-entered", "co-1"]].concat()),
        &["Change due by today 09:10 at exit a, dressing wet."],
    );
}

/// The sum that raised the signal leaves out what was not assessed, so no later record reads as a lower score.
#[test]
fn a_score_with_items_not_assessed_is_a_range_wherever_a_signal_shows_it() {
    let desk = desk();
    let full = "swelling = 'none'\ncrust_mm = 0\nredness_mm = 0\npain = 'none'\ndrainage = 'none'";
    record(&desk, "2026-11-10T0800", "change", &format!("[site]\n{full}"));
    record(&desk, "2026-11-19T0800", "change", "[site]\nredness_mm = 6\npain = 'slight'");
    record(
        &desk,
        "2026-11-21T0800",
        "change",
        &format!("[site]\n{}", full.replace("redness_mm = 0\npain = 'none'", "redness_mm = 6\npain = 'severe'")),
    );
    record(&desk, "2026-11-22T0800", "change", "[site]\nredness_mm = 6\ncrust_mm = 0");
    let flat = |command: &[&str]| desk.done(command).split_whitespace().collect::<Vec<_>>().join(" ");
    let range = "score 3 to 9, same items up from 0 on Nov 10 to 3";
    let show = flat(&["show", "P-001"]);
    holds(&show, &[&format!("rising score since Thu 08:00: {range}, then 4, then 2 to 8;")]);
    let signals = flat(&["signals"]);
    holds(
        &signals,
        &[&format!("{range}:"), "score 4, up from 0 on Nov 10:", "score 2 to 8, same items up from 0 on Nov 10 to 2:"],
    );
    holds(
        &flat(&["signals", "--json"]),
        &["\"3 to 9 points, the same items up from 0 on 2026-11-10 to 3\"", "\"4 points, up from 0 on 2026-11-10\""],
    );
    record(&desk, "2026-11-22T0900", "culture", "specimen = 'exit-site'\n[result]\non = 2026-11-23\ngrowth = true\n");
    holds(&flat(&["show", "P-001"]), &["score 2 to 8 and culture growth"]);
}

/// A fever told by the son yesterday, and a normal temperature today.
fn with_fever_told(more: &[&'static str]) -> (Desk, String) {
    let desk = desk();
    let fever = "kind = 'contact'\nat = 2026-11-23T06:30:00\nby = 'co-1'\nsource = 'told'\nwith = 'p001-son'\nabout = ['overdue']\noutcome = 'advised'\ntemperature_c = 38.6\n";
    desk.put("patients/P-001/2026/2026-11-23T0630-contact.toml", fever);
    let normal = ["record", "contact", "P-001", "--by", "co-1", "--source", "told", "--temperature-c", "36.8"];
    let about = ["--about", "signals", "--outcome", "advised", "--yes"];
    let said = desk.done(&[&normal[..], &about, more].concat());
    (desk, said.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn an_ended_fever_that_no_clinician_heard_of_says_so_and_who_reported_the_end() {
    let (_, said) = with_fever_told(&["--with", "p001-son", "--at", "07:00"]);
    let ended = "Ended: fever (told by son, co-1, yesterday 06:30), reported by son";
    holds(&said, &[&format!("{ended}; no clinician told.")]);
    // Told in time.
    let told = "kind = 'contact'\nat = 2026-11-23T07:00:00\nby = 'co-1'\nsource = 'told'\nwith = 'md-3'\nabout = ['fever']\noutcome = 'advised'\n";
    let (desk, _) = with_fever_told(&["--with", "p001-son", "--at", "yesterday 08:00"]);
    desk.put("patients/P-001/2026/2026-11-23T0700-contact.toml", told);
    let normal = ["record", "contact", "P-001", "--by", "co-1", "--source", "told", "--temperature-c", "36.8"];
    let about = ["--with", "p001-son", "--at", "07:00", "--about", "signals", "--outcome", "advised", "--yes"];
    let said = desk.done(&[&normal[..], &about].concat()).split_whitespace().collect::<Vec<_>>().join(" ");
    holds(&said, &[&format!("{ended}.")]);
}

#[test]
fn the_end_of_a_fever_is_given_in_the_hours_of_the_policy() {
    let (desk, said) = with_fever_told(&["--with", "p001-son", "--at", "yesterday 12:31"]);
    holds(&said, &["Still needs review today: fever."]);
    let signals = |desk: &Desk| desk.done(&["signals"]).split_whitespace().collect::<Vec<_>>().join(" ");
    let ends = |hours: &str, days: &str| {
        format!(
            "Reported improved, not ended yet. Ends with a temperature below 100.4 °F (38.0 °C), taken by staff or at home, {hours} h or more after the last fever, or with a full look by staff {days} or more after it."
        )
    };
    holds(&signals(&desk), &[&ends("24", "7 days")]);
    holds(
        &desk.done(&["show", "P-001"]).split_whitespace().collect::<Vec<_>>().join(" "),
        &["reported improved, not ended yet"],
    );
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[signals]\nfever = {{ ends_after_hours = 48, ends_after_days = 1 }}\n"));
    holds(&signals(&desk), &[&ends("48", "1 day")]);
}
