//! The rest of a call: findings that only its note mentions, answers that Enter does not give, the people who told it.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// P-001, changed on Monday and due on Wednesday.
fn desk() -> Desk {
    let desk = Desk::new();
    let policy = format!(
        "{}[signals]\nhome-untaught = {{ off = 'x' }}\nnot-looked-at = {{ off = 'x' }}\n",
        desk.get("policy.toml")
    );
    desk.put("policy.toml", &policy);
    change(&desk, "2026-11-23T0600");
    desk
}

/// P-001, overdue since Monday.
fn overdue() -> Desk {
    let desk = desk();
    std::fs::remove_file(desk.root().join("patients/P-001/2026/2026-11-23T0600-change.toml")).unwrap();
    change(&desk, "2026-11-20T0600");
    desk
}

fn change(desk: &Desk, at: &str) {
    record(desk, at, "change", "rn-07", "[left]\ndressing = 'intact'\nanchor = 'in-place'");
}

fn record(desk: &Desk, at: &str, kind: &str, by: &str, says: &str) {
    let (day, time) = at.split_once('T').unwrap();
    let (hour, minute) = time.split_at(2);
    let source = if kind == "contact" { "told" } else { "seen" };
    let text = format!("kind = '{kind}'\nat = {day}T{hour}:{minute}:00\nby = '{by}'\nsource = '{source}'\n{says}\n");
    desk.put(&format!("patients/P-001/2026/{at}-{kind}.toml"), &text);
}

fn note(desk: &Desk, at: &str, note: &str) {
    let says = format!("with = 'p001-son'\nabout = ['other']\noutcome = 'advised'\nnote = '{note}'");
    record(desk, at, "contact", "co-1", &says);
}

/// Runs a command with a person who types these lines; returns the screen and the new files.
fn typed(desk: &Desk, arguments: &[&str], lines: &[&str]) -> (String, String) {
    let before = desk.everything();
    let person = Person::typing(lines);
    let outcome = desk.run_as(Some("co-1"), arguments, Some(&person));
    let saw = format!("{}{}{}", person.saw(), outcome.stdout, outcome.stderr);
    assert_eq!(person.left(), 0, "{saw}");
    (saw, desk.everything().into_iter().filter(|file| !before.contains(file)).map(|(_, text)| text).collect())
}

const NO_ROW: &str = "Findings in notes since yesterday, not recorded as findings: P-001 (smell).";

#[test]
fn a_finding_that_only_a_note_mentions_is_on_the_list_until_it_is_recorded() {
    let desk = desk();
    note(&desk, "2026-11-24T0630", "a smell at the site");
    assert!(desk.done(&["due"]).contains(NO_ROW), "{}", desk.done(&["due"]));
    let found = &desk.json(&["due"])["rows"][0]["findings_in_notes"];
    assert_eq!((&found[0]["word"], &found[0]["finding"]), (&"smell".into(), &"site".into()), "{found}");
    let in_full = desk.done(&["due", "P-001"]);
    assert!(in_full.contains("note of today 06:30 mentions smell, not recorded as a finding"), "{in_full}");
    // A look from before the call, written before it, does not hold it; one recorded after it does.
    record(&desk, "2026-11-24T0600", "assessment", "rn-07", "[site]\ndrainage = 'none'");
    assert!(desk.done(&["due"]).contains(NO_ROW));
    record(&desk, "2026-11-24T0640", "inspection", "rn-07", "dressing = 'intact'");
    assert!(desk.done(&["due"]).contains(NO_ROW));
    record(&desk, "2026-11-24T0650", "assessment", "rn-07", "[site]\nodor = true");
    let due = desk.done(&["due"]);
    assert!(!due.contains("in notes") && !due.contains("smell"), "{due}");
    assert_eq!(desk.json(&["due"])["rows"][0]["findings_in_notes"], serde_json::json!([]));
}

#[test]
fn a_row_names_the_finding_of_a_note_and_an_old_note_is_left_out() {
    let desk = overdue();
    note(&desk, "2026-11-23T0310", "Pus, and he fell");
    note(&desk, "2026-11-23T0250", "red and warm");
    let due = desk.done(&["due"]);
    let row = due.lines().find(|line| line.starts_with("P-001")).unwrap();
    assert!(row.contains("note of Mon 03:10 mentions pus, fell, not recorded as a finding"), "{row}");
    assert!(!row.contains("red"), "{row}");
    assert!(!due.contains("Findings in notes"), "{due}");
}

#[test]
fn an_alarm_in_a_note_is_a_call_to_the_clinician() {
    let desk = desk();
    note(&desk, "2026-11-24T0630", "low flow alarm twice");
    let due = desk.done(&["due"]);
    assert!(due.contains("P-001 (alarm, no clinician told)"), "{due}");
    // A look at the site answers no alarm.
    record(&desk, "2026-11-24T0640", "assessment", "rn-07", "[site]\ndrainage = 'none'");
    assert!(desk.done(&["due"]).contains("P-001 (alarm, no clinician told)"));
    record(&desk, "2026-11-24T0650", "contact", "co-1", "with = 'md-3'\nabout = ['other']\noutcome = 'advised'");
    assert!(!desk.done(&["due"]).contains("alarm"));
    let (saw, _) = typed(&overdue(), &["round"], &["c", "2", "advised", "low flow alarm", "y", "y", "q"]);
    assert!(saw.contains("Call the clinician about a pump alarm"), "{saw}");
}

#[test]
fn enter_at_the_last_question_asks_again_and_drops_nothing() {
    let (saw, new) = typed(&overdue(), &["round"], &["n", "", "", "y", "q"]);
    assert!(new.contains("outcome = \"no-answer\""), "{saw}");
    assert!(saw.contains("Required: y writes it, n does not."), "{saw}");
    let (saw, new) = typed(&overdue(), &["round"], &["c", "2", "advised", "back at noon", "", "", "y", "q"]);
    assert!(new.contains("note = \"back at noon\""), "{saw}");
    // A doubt, too.
    let (saw, new) = typed(&overdue(), &["round"], &["c", "2", "advised", "a smell", "", "y", "y", "q"]);
    assert!(new.contains("note = \"a smell\"") && !saw.contains("discard"), "{saw}");
    // Flags alone: there is no question to go back to.
    let flags = ["record", "shower", "P-001", "--by", "p001-son", "--water", "shower", "--source", "told"];
    let (saw, new) =
        typed(&desk(), &[&flags[..], &["--at", "07:00", "--dressing-before", "intact"]].concat(), &["", "y"]);
    assert!(new.contains("kind = \"shower\""), "{saw}");
    let (saw, new) = typed(&overdue(), &["round"], &["n", "n", "q"]);
    assert!(new.is_empty() && saw.contains("Nothing was written."), "{saw}");
}

#[test]
fn a_call_is_asked_about_in_the_order_of_a_round() {
    let lines = ["", "1", "2", "advised", "", "4", "all is well", "", "y"];
    let (saw, new) = typed(&desk(), &["record", "contact", "P-001"], &lines);
    let questions =
        ["Who made the call?", "Who was reached?", "Outcome of the call?", "What was the call about?", "Any note?"];
    let places: Vec<Option<usize>> = questions.iter().map(|question| saw.find(question)).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}\n{saw}");
    assert!(!saw.contains("Who did or saw it?") && new.contains("outcome = \"advised\""), "{saw}");
}

#[test]
fn enter_does_not_choose_the_subject_of_an_escalation_or_of_a_fever() {
    let with = |signal: &str| {
        let desk = overdue();
        record(&desk, "2026-11-24T0600", "assessment", "rn-07", &format!("[site]\n{signal}"));
        desk
    };
    let (saw, new) =
        typed(&with("drainage = 'purulent'"), &["round"], &["c", "2", "escalated", "1", "", "1", "", "y", "y", "q"]);
    assert!(new.contains("about = [\"pus\"]"), "{new}\n{saw}");
    let (saw, new) =
        typed(&with("drainage = 'purulent'"), &["round"], &["c", "2", "escalated", "1", "", "none", "", "y", "q"]);
    assert!(new.contains("about = [\"other\"]") && saw.contains("all, or none"), "{new}\n{saw}");
    let (saw, new) = typed(&with("temperature_c = 38.6"), &["round"], &["c", "2", "advised", "", "1", "", "y", "q"]);
    assert!(new.contains("about = [\"fever\"]"), "{new}\n{saw}");
}

#[test]
fn staff_who_changed_the_dressing_are_a_choice() {
    let (saw, new) = typed(&overdue(), &["round"], &["d", "2", "rn-07", "06:30", "", "", "", "y", "q"]);
    assert!(saw.contains("rn-07 (nurse)") && !saw.contains("rn-02"), "{saw}");
    assert!(new.contains("kind = \"change\"") && new.contains("by = \"rn-07\""), "{new}\n{saw}");
}

#[test]
fn a_fever_told_in_a_call_is_acted_on_by_that_call_only_if_it_was_passed_on() {
    let escalated = ["c", "2", "escalated", "1", "temp 38.6", "38.6C"];
    let fever = |desk: &Desk| desk.json(&["signals"])["signals"][0].clone();
    let desk = overdue();
    let (saw, _) = typed(&desk, &["round"], &[&escalated[..], &["", "no", "y", "q"]].concat());
    assert!(saw.contains("Was this fever passed on in the call?"), "{saw}");
    assert!(saw.contains("This call does not count as acting on the fever told in it"), "{saw}");
    assert_eq!((&fever(&desk)["signal"], &fever(&desk)["news_answered"]), (&"fever".into(), &false.into()));
    let desk = overdue();
    let (saw, new) = typed(&desk, &["round"], &[&escalated[..], &["yes", "y", "q"]].concat());
    assert!(new.contains("about = [\"fever\"]"), "{new}\n{saw}");
    assert!(fever(&desk)["news_answered"] == true && !saw.contains("does not count"), "{saw}");
    assert!(desk.done(&["due"]).contains("fever (told md-3)"), "{}", desk.done(&["due"]));
}

#[test]
fn a_call_in_the_minute_of_a_signal_that_it_names_acts_on_it() {
    let desk = desk();
    record(&desk, "2026-11-24T0600", "assessment", "rn-07", "[site]\ntemperature_c = 38.6");
    record(&desk, "2026-11-24T0600", "contact", "co-1", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'");
    assert_eq!(desk.json(&["signals"])["signals"][0]["news_answered"], false);
    record(&desk, "2026-11-24T0600", "contact", "co-1", "with = 'md-3'\nabout = ['fever']\noutcome = 'advised'");
    assert_eq!(desk.json(&["signals"])["signals"][0]["news_answered"], true);
}

#[test]
fn a_promise_of_more_than_a_day_after_the_deadline_is_asked_about() {
    let flags = ["record", "contact", "P-001", "--by", "co-1", "--with", "p001-son", "--about", "overdue"];
    let call = |until: &'static str| [&flags[..], &["--outcome", "will-change", "--expect-by", until]].concat();
    let said = "The change was due by yesterday 03:00; the promise is 57 h later.";
    let desk = overdue();
    let refused = desk.refused(&call("2026-11-25T12:00"));
    assert!(refused.contains(said), "{refused}");
    let refused = desk.refused(&call("2026-11-25T07:00"));
    assert!(!refused.contains("h later"), "{refused}");
    desk.done(&[&call("2026-11-25T12:00")[..], &["--yes"]].concat());
    // In a round no answer is preset.
    let (saw, new) = typed(&overdue(), &["round"], &["w", "2", "tomorrow 12:00", "", "", "y", "y", "q"]);
    assert!(saw.contains(said) && new.contains("expect_by = 2026-11-25T12:00:00"), "{new}\n{saw}");
}

#[test]
fn a_call_or_log_of_the_household_alone_was_not_seen_by_staff() {
    let desk = desk();
    let contact = ["record", "contact", "P-001", "--by", "patient", "--with", "other", "--about", "other"];
    let contact = [&contact[..], &["--outcome", "advised", "--by-entered", "co-1", "--yes"]].concat();
    let log = ["record", "log", "P-001", "--by", "p001-son", "--from", "2026-11-20", "--through", "2026-11-22"];
    let log = [&log[..], &["--complete", "no", "--by-entered", "co-1", "--yes"]].concat();
    for arguments in [contact, log] {
        let said = desk.refused(&[&arguments[..], &["--source", "seen"]].concat());
        assert!(said.contains("is not on the staff. Who saw it?"), "{said}");
        desk.done(&[&arguments[..], &["--source", "told"]].concat());
    }
}

#[test]
fn a_temperature_told_in_a_call_names_who_told_it() {
    let desk = desk();
    let says = "with = 'p001-son'\nabout = ['other']\noutcome = 'advised'\ntemperature_c = 38.6";
    record(&desk, "2026-11-24T0600", "contact", "co-1", says);
    let due = desk.done(&["due"]);
    assert!(due.contains("(38.6 °C): told by son, co-1, today 06:00"), "{due}");
}

#[test]
fn each_action_is_said_once_about_a_named_patient() {
    let desk = desk();
    record(&desk, "2026-11-24T0600", "assessment", "rn-07", "[site]\ndrainage = 'purulent'");
    record(&desk, "2026-11-24T0610", "contact", "co-1", "with = 'md-3'\nabout = ['signals']\noutcome = 'advised'");
    let due = desk.done(&["due", "P-001"]);
    assert_eq!(due.matches("pus").count(), 1, "{due}");
    assert!(due.contains("pus since today 06:00 (told md-3 today)"), "{due}");
}

#[test]
fn a_call_about_nothing_in_particular_names_no_subject_and_a_signal_is_named_in_words() {
    let desk = desk();
    let call = ["record", "contact", "P-001", "--by", "co-1", "--with", "other", "--about", "other"];
    let said = desk.done(&[&call[..], &["--outcome", "no-answer", "--source", "told", "--yes"]].concat());
    assert!(said.contains("no answer") && !said.contains("something else"), "{said}");
    let desk = self::desk();
    record(&desk, "2026-11-17T1000", "culture", "rn-07", "specimen = 'exit-site'");
    let says = "with = 'md-3'\nabout = ['culture-unresulted']\noutcome = 'advised'";
    record(&desk, "2026-11-24T0600", "contact", "co-1", says);
    let (saw, _) = typed(&desk, &["amend", "patients/P-001/2026/2026-11-24T0600-contact.toml"], &["about"]);
    assert!(saw.contains("about: culture result pending") && !saw.contains("unresulted"), "{saw}");
}

#[test]
fn a_signal_of_passing_days_opens_on_a_day() {
    let desk = desk();
    record(&desk, "2026-11-17T1000", "culture", "rn-07", "specimen = 'exit-site'");
    for screen in [&["signals"][..], &["show", "P-001"], &["due", "P-001"], &["grade"]] {
        let said = desk.done(screen);
        assert!(said.contains("culture") || screen == ["grade"], "{said}");
        assert!(!said.contains("03:00"), "{said}");
    }
}

#[test]
fn a_narrow_terminal_breaks_no_word_of_a_command() {
    let desk = desk();
    let flags = ["record", "assessment", "P-001", "--by", "rn-07", "--source", "seen", "--site", "none-noted", "--yes"];
    let said = desk.run_at((desk::NOW, 60), None, &flags, None).stdout;
    assert!(said.lines().all(|line| line.chars().count() <= 60 || line.contains(".toml")), "{said}");
    assert!(said.contains("-assessment.toml \\\n      --why \"…\""), "{said}");
}

#[test]
fn every_command_that_writes_names_the_patient_first() {
    let desk = desk();
    let change = "patients/P-001/2026/2026-11-23T0600-change.toml";
    let who = ["--by", "co-1", "--why", "wrong line", "--dry-run"];
    for command in [
        &["void", change][..],
        &["amend", change, "--set", "note=dry"],
        &["patient", "order", "P-001", "--every-days", "1", "--from", "today"],
    ] {
        let who = if command[0] == "patient" { ["--by", "md-3", "--why", "red", "--dry-run"] } else { who };
        let said = desk.done(&[command, &who].concat());
        assert!(said.contains("P-001 · POD 113 · right-upper · last change yesterday 06:00 by rn-07\n"), "{said}");
    }
}
