//! Danger to open signals: no write stops alerts, ends a signal of today or leaves one open without a word in the
//! question or in the answer.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// The patient at home from the first day, so that no move home asks for a sign-off, with a change yesterday.
fn desk() -> Desk {
    let desk = Desk::new();
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
    let stops = "This stops all alerts about P-001. Open now: fever, pus.";
    holds(
        &desk.refused(&[&ended[..], &["--yes"]].concat()),
        &[stops, "--yes does not confirm this, so nothing was written. Type --source"],
    );
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
    holds(&person.saw(), &[stops, "Is that right? [y/N]"]);
    holds(&desk.done(&[&typed[..], &["--yes"]].concat()), &["Still needs review today: fever, pus at exit a."]);
    // A second report stops nothing further, so there is no question.
    desk.done(&[&ended[..], &["--at", "07:10", "--yes"]].concat());
}

#[test]
fn the_round_asks_before_it_stops_the_alerts() {
    let desk = with_pus_and_fever();
    let before = desk.everything();
    let person = Person::typing(&["c", "2", "support-ended", "", "", "", "q"]);
    desk.run_as(Some("co-1"), &["round"], Some(&person));
    holds(&person.saw(), &["This stops all alerts about P-001. Open now: fever, pus.", "Nothing was written."]);
    assert_eq!(desk.everything(), before);
}

#[test]
fn an_amended_outcome_and_a_voided_record_ask_before_they_stop_the_alerts() {
    let desk = with_pus_and_fever();
    desk.done(&call(&["--outcome", "other", "--at", "07:00", "--yes"]));
    let file = "patients/P-001/2026/2026-11-24T0700-contact.toml";
    let who = ["--by", "co-1", "--why", "misheard"];
    let amend = [&["amend", file, "--set", "outcome=support-ended", "--yes"][..], &who].concat();
    holds(&desk.refused(&amend), &["This stops all alerts about P-001."]);
    desk.done(&[&amend[..], &["--source", "told"]].concat());
    // An inspection by staff starts them again, and voiding it stops them.
    desk.done(&["record", "inspection", "P-001", "--by", "rn-07", "--dressing", "intact", "--at", "07:05", "--yes"]);
    let void = [&["void", "patients/P-001/2026/2026-11-24T0705-inspection.toml", "--yes"][..], &who].concat();
    holds(&desk.refused(&void), &["This stops all alerts about P-001."]);
}

#[test]
fn a_record_a_few_minutes_ahead_of_the_clock_is_answered_as_one_of_now() {
    let look =
        ["record", "assessment", "P-001", "--by", "rn-07", "--drainage", "purulent", "--yes", "--source", "seen"];
    for at in ["07:16", "07:25"] {
        let said = desk().done(&[&look[..], &["--at", at]].concat());
        holds(
            &said,
            &["NEEDS REVIEW TODAY: pus at exit a.", "next change due Wed 2026-11-25: changed Mon 08:00, every 2 days"],
        );
    }
    let desk = desk();
    let order = "\n[[order]]\nfrom = 2026-11-20\nno_showers = true\nby = 'md-3'\n";
    desk.put("patients/P-001/patient.toml", &format!("{}{order}", desk.get("patients/P-001/patient.toml")));
    let shower = ["record", "shower", "P-001", "--by", "rn-07", "--at", "07:20", "--yes", "--source", "seen"];
    holds(&desk.done(&shower), &["NEEDS REVIEW TODAY: order not followed", "Shower although md-3 ordered no showers."]);
    let round = Person::typing(&["n", "yes", "q"]);
    desk.run_as(Some("co-1"), &["round", "--within", "48"], Some(&round));
    holds(&round.saw(), &["Still needs review today: "]);
}

#[test]
fn every_answer_names_what_still_needs_review_today() {
    let desk = with_pus_and_fever();
    let still = "Still needs review today: fever, pus at exit a.";
    let whom = "\n  needs review today: pus, fever\n";
    let said = desk.done(&call(&["--outcome", "other", "--yes"]));
    holds(&said, &[still, whom]);
    assert!(said.find(still).unwrap() < said.find("Recorded ").unwrap(), "{said}");
    let pull =
        desk.done(&["record", "trauma", "P-001", "--by", "rn-07", "--mechanism", "snag", "--at", "07:00", "--yes"]);
    let new = pull.find("NEEDS REVIEW TODAY: line pulled").unwrap();
    assert!(new < pull.find(still).unwrap(), "{pull}");
    let all = "Still needs review today: fever, line pulled at exit a, pus at exit a.";
    let who = ["--by", "co-1", "--why", "slip", "--yes"];
    let contact = "patients/P-001/2026/2026-11-24T0715-contact.toml";
    holds(&desk.done(&[&["amend", contact, "--set", "about=log"][..], &who].concat()), &[all, "needs review today: "]);
    holds(&desk.done(&[&["void", contact][..], &who].concat()), &[all, "needs review today: "]);
    let order = ["patient", "order", "P-001", "--every-days", "2", "--by", "md-3", "--why", "wet", "--yes"];
    holds(&desk.done(&order), &[all, "needs review today: "]);
    record(&desk, "2026-11-20T0800", "culture", "specimen = 'exit-site'\n");
    let culture = "patients/P-001/2026/2026-11-20T0800-culture.toml";
    holds(&desk.done(&["result", culture, "--on", "2026-11-23", "--growth", "no", "--yes"]), &[all]);
    desk.put("log.csv", "patient,at,kind,by,dressing\nP-001,2026-11-24T06:30,inspection,rn-07,intact\n");
    let log = desk.root().join("log.csv");
    holds(&desk.done(&["import", log.to_str().unwrap(), "--by-entered", "co-1", "--yes"]), &[all]);
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
    let said = desk.done(&[&told[..], &["--at", "06:30", "--source", "told", "--yes"]].concat());
    holds(&said, &["Ended: anchor not secured at exit a (rn-07, today 06:00), reported by son."]);
    let said = desk.done(&call(&["--outcome", "other", "--changed", "06:45", "--yes"]));
    holds(&said, &["Ended: dressing wet or off at exit a (rn-07, today 06:00), reported by son."]);
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
        let by = saw.lines().find(|line| line.starts_with("Who did or saw it?")).unwrap_or_else(|| panic!("{saw}"));
        assert!(!by.contains("p001-son") && !by.contains("rn-02"), "{by}");
        assert_eq!(desk.everything(), before);
    }
    let person = Person::typing(&["", "1", "told", "p001-son", "5", "advised", "", "told", "", "", "y"]);
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
    let report = desk.run(&["signals", "--json"]).stdout;
    let report: serde_json::Value = serde_json::from_str(&report).unwrap();
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
        let report: serde_json::Value = serde_json::from_str(&desk.run(&["signals", "--json"]).stdout).unwrap();
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
    let said = desk.refused(&[&change[..], &told, &["--yes"]].concat());
    holds(
        &said,
        &["Dressing wet, today 06:00: a change that day without a time counts as after it", "--reason scheduled"],
    );
    let person = Person::typing(&["n", "discard"]);
    desk.run_as(Some("co-1"), &[&change[..], &told, &["--anchor-left", "in-place"]].concat(), Some(&person));
    holds(&person.saw(), &["counts as after it and ends it.", "Save anyway? [y/N]"]);
    assert_eq!(desk.everything(), before);
    // With a time, or with a reason other than the damage, the order is known or the damage stays open.
    desk.done(&[&change[..], &told, &["--reason", "scheduled", "--yes"]].concat());
    holds(&desk.done(&["signals"]), &["dressing wet or off"]);
    // In the other order: the damage is recorded, and the answer names the change that hides it.
    let desk = self::desk();
    desk.done(&[&change[..], &told, &["--yes"]].concat());
    let inspection = ["record", "inspection", "P-001", "--at", "06:00", "--by", "p001-son", "--by-entered", "co-1"];
    let outcome = desk.run(&[&inspection[..], &told, &["--dressing", "wet", "--yes"]].concat());
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    holds(&format!("{}{}", outcome.stdout, outcome.stderr), &["the change of that day on file has no time"]);
}

#[test]
fn the_reply_names_the_damage_for_which_the_clock_runs() {
    let desk = desk();
    let wet = ["record", "inspection", "P-001", "--by", "rn-07", "--dressing", "wet", "--source", "seen", "--yes"];
    let said = desk.done(&[&wet[..], &["--at", "07:00"]].concat());
    holds(&said, &["Change due by today 09:00 at exit a, dressing wet."]);
    let said = desk.done(&[&wet[..], &["--at", "04:00"]].concat());
    holds(&said, &["OVERDUE by 1 h: change at exit a, dressing wet, due by today 06:00."]);
}

#[test]
fn a_script_that_ends_signals_is_told_the_last_record_of_each() {
    let desk = with_pus_and_fever();
    let look = ["record", "assessment", "P-001", "--by", "rn-07", "--site", "none-noted", "--yes", "--source", "seen"];
    let said = desk.done(&look);
    holds(&said, &["Ended: pus at exit a (rn-07, today 06:00), seen by rn-07."]);
    assert!(!said.contains("Ended: fever"), "{said}");
    // For growth the answer gives the day of its result, not that of the culture.
    let desk = self::desk();
    let grown = "specimen = 'exit-site'\n[result]\non = 2026-11-20\ngrowth = true\norganisms = ['S. aureus']\n";
    record(&desk, "2026-11-17T1040", "culture", grown);
    let result = "result of Fri Nov 20 (culture of Nov 17)";
    for command in [&["due"][..], &["signals"], &["show", "P-001"], &["handoff"]] {
        let text = desk.run(command).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains(result) && !text.contains("Nov 17 10:40)"), "{command:?} {text}");
    }
    holds(&desk.run(&["signals"]).stdout, &["culture growth since Fri\n"]);
    let physician = ["record", "contact", "P-001", "--by", "rn-07", "--with", "md-3", "--about", "culture-growth"];
    let said = desk.done(&[&physician[..], &["--outcome", "other", "--yes", "--source", "seen"]].concat());
    holds(&said, &["Ended: culture growth (result of Fri Nov 20, culture of Nov 17, rn-07), seen by rn-07."]);
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
        let text = desk.run(&["alert", "--state", file.to_str().unwrap()]).stdout;
        text.lines().filter(|line| line.contains("needs review today")).collect::<Vec<_>>().join("\n")
    };
    assert!(alert(&desk).contains("(acted on), since"));
    record(&desk, "2026-11-20T1600", "assessment", "[site]\nredness_mm = 22\n");
    holds(&desk.run(&["due"]).stdout, &["1 signal needs review today (acted on)"]);
    record(&desk, "2026-11-23T1840", "assessment", "[site]\nredness_mm = 32\n");
    let due = desk.run(&["due"]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    let row = "redness 32 mm: rn-07, Mon 18:40, worse than when acted on Fri 16:00 (redness 22 mm)";
    holds(&due, &["1 signal needs review today", row]);
    assert!(!due.contains("acted on)"), "{due}");
    holds(&desk.run(&["signals"]).stdout, &["(worse since Mon 18:40: redness 32 mm; not acted on)"]);
    holds(&desk.run(&["show", "P-001"]).stdout, &["worse since Mon 18:40: redness 32 mm, not acted on"]);
    let handoff = desk.run(&["handoff"]).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    holds(&handoff, &["NEEDS REVIEW TODAY (1)", "redness 32 mm; worse than when acted on Fri 16:00 (redness 22 mm)"]);
    let sent = alert(&desk);
    assert!(sent.contains("worse than when sent") && !sent.contains("(acted on)"), "{sent}");
    record(&desk, "2026-11-24T0600", "contact", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'\n");
    holds(&desk.run(&["due"]).stdout, &["1 signal needs review today (acted on)"]);
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
