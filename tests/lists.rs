//! The screens: the same count of what needs review on all of them, and words for what is known and no more.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use serde_json::{Value, json};

mod desk;

use desk::Desk;

const WELL: &str = "[left]\nanchor = 'in-place'\ndressing = 'intact'";
const PUS: &str = "[site]\ndrainage = 'purulent'";

/// Adds the course and records of a patient to a program.
fn put(desk: &Desk, code: &str, course: &str, events: &[(&str, &str, &str)]) {
    let text = format!("{}{course}", desk::PATIENT.replace("P-001", code).replace("p001", &code.replace("P-", "p")));
    desk.put(&format!("patients/{code}/patient.toml"), &text);
    for (when, kind, says) in events {
        let key = if when.contains('T') { format!("at = {when}:00") } else { format!("on = {when}") };
        let by = if says.contains("by = ") { "" } else { "by = 'rn-07'\nsource = 'seen'\n" };
        let file = format!("patients/{code}/{}/{}-{kind}.toml", &when[..4], when.replace(':', ""));
        desk.put(&file, &format!("kind = '{kind}'\n{key}\n{by}{says}\n"));
    }
}

fn desk(course: &str, events: &[(&str, &str, &str)]) -> Desk {
    let desk = Desk::new().at_80_columns();
    let off = "[signals]\nhome-untaught = { off = 'not what is tried' }\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + off));
    put(&desk, "P-001", course, events);
    desk
}

/// A screen.
fn said(desk: &Desk, command: &str) -> String {
    desk.run(&command.split(' ').collect::<Vec<_>>()).stdout
}

fn json_of(desk: &Desk, command: &str) -> Value {
    desk.json(&command.split(' ').collect::<Vec<_>>())
}

/// A program with pus that a culture acted on, a fever that no one acted on, and a loose anchor in another household.
fn three_signals() -> Desk {
    let desk = desk(
        "",
        &[
            ("2026-11-22T08:00", "change", &format!("{WELL}\n{PUS}")),
            ("2026-11-22T09:00", "culture", "specimen = 'exit-site'"),
            (
                "2026-11-23T21:00",
                "contact",
                "with = 'p001-son'\nabout = ['other']\noutcome = 'advised'\ntemperature_c = 38.4",
            ),
        ],
    );
    put(&desk, "P-002", "", &[("2026-11-23T08:00", "change", "[left]\nanchor = 'absent'\ndressing = 'intact'")]);
    desk
}

#[test]
fn every_screen_gives_one_count_of_the_signals_to_review_today() {
    let desk = three_signals();
    for command in ["due", "signals"] {
        said(&desk, command);
    }
    desk.keep_screens("lists_every_screen_gives_one_count");
    let alert = said(&desk, "alert");
    assert!(alert.starts_with("3 signals need review today (1 acted on, 2 not)"), "{alert}");
    let census = &json_of(&desk, "due")["census"];
    assert_eq!(census["signals_today"], json!({ "open": 3, "acted_on": 1 }));
    assert_eq!(census["needs_review_today"], 2);
}

#[test]
fn a_signal_of_the_whole_patient_counts_once_at_two_exit_sites() {
    let second = "[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-09-01\nwhy = \"second-pump\"\n";
    let fever = "with = 'p001-son'\nabout = ['other']\noutcome = 'advised'\ntemperature_c = 38.4";
    let desk = desk(second, &[("2026-11-23T21:00", "contact", fever)]);
    assert_eq!(json_of(&desk, "due")["rows"].as_array().unwrap().len(), 2);
    said(&desk, "due");
    desk.keep_screens("lists_a_signal_of_the_whole_patient_counts_once");
}

#[test]
fn a_story_heads_a_signal_that_was_acted_on_apart_from_one_that_was_not() {
    let desk = three_signals();
    said(&desk, "show P-001");
    desk.keep_screens("lists_a_story_heads_a_signal_that_was_acted_on");
}

#[test]
fn a_patient_whose_last_record_cannot_be_read_keeps_the_signals_that_are_known() {
    let desk = three_signals();
    desk.put("patients/P-002/2026/2026-11-24T0600-change.toml", "kind = \"change");
    said(&desk, "due");
    // In full: the fault, its place, and how to correct it.
    said(&desk, "due P-002");
    desk.keep_screens("lists_a_patient_whose_last_record_cannot_be_read");
    let row = &json_of(&desk, "due")["rows"][0];
    assert_eq!((&row["patient"], &row["state"], &row["score"]), (&json!("P-002"), &json!("unusable"), &Value::Null));
    assert_eq!(row["signals"][0]["name"], "anchor-off");
}

#[test]
fn the_most_dangerous_finding_is_named_first_though_its_deadline_is_last() {
    let desk = three_signals();
    let both = format!("{WELL}\n{PUS}\ntemperature_c = 38.6");
    put(&desk, "P-003", "", &[("2026-11-24T06:00", "change", &both)]);
    // The first line names the danger; the rows are in the order of their deadlines.
    said(&desk, "due");
    let screen = said(&desk, "signals");
    assert!(
        screen.find("P-003 a  pus since").unwrap() < screen.find("P-002 a  anchor not secured").unwrap(),
        "{screen}"
    );
    desk.keep_screens("lists_the_most_dangerous_finding_is_named_first");
}

/// A site with a score of 0, then 3 twice: the last two records are equal.
const RISEN: [(&str, &str, &str); 3] = [
    (
        "2026-11-10T08:00",
        "change",
        "[site]\nswelling = 'none'\ncrust_mm = 0\nredness_mm = 0\npain = 'none'\ndrainage = 'none'",
    ),
    (
        "2026-11-20T08:00",
        "change",
        "[site]\nswelling = 'none'\ncrust_mm = 1\nredness_mm = 2\npain = 'slight'\ndrainage = 'none'",
    ),
    (
        "2026-11-23T08:00",
        "change",
        "[site]\nswelling = 'none'\ncrust_mm = 1\nredness_mm = 2\npain = 'slight'\ndrainage = 'none'",
    ),
];

#[test]
fn a_grade_names_the_open_signals_and_is_never_steady_while_one_is_open() {
    let desk = desk("", &RISEN);
    let open = &json_of(&desk, "grade")["rows"][0];
    assert_eq!(open["assessments"][0]["trend"], "steady");
    assert_eq!(open["signals"][0]["signal"], "score-rising");
    for command in ["grade", "grade P-001", "grade --each"] {
        let screen = said(&desk, command);
        assert!(!screen.contains("steady"), "{screen}");
    }
    desk.keep_screens("lists_a_grade_names_the_open_signals");
    // The danger comes before the score, for signals of the whole patient as well.
    let desk = three_signals();
    said(&desk, "grade P-001");
    desk.keep_screens("lists_a_grade_names_a_signal_of_the_whole_patient");
}

#[test]
fn acting_on_a_signal_is_told_by_what_was_done_and_a_household_change_acts_on_none() {
    let desk = desk("", &RISEN[..2]);
    said(&desk, "signals");
    let change = "by = 'p001-son'\nsource = 'told'\n[site]\ndrainage = 'none'";
    put(&desk, "P-001", "", &[("2026-11-22T08:00", "change", change)]);
    said(&desk, "signals");
    put(&desk, "P-001", "", &RISEN[2..]);
    said(&desk, "signals");
    desk.keep_screens("lists_acting_on_a_signal_is_told_by_what_was_done");
    let acted = &json_of(&desk, "signals")["signals"][0]["acted"];
    assert_eq!(acted, &json!({"how": "look", "kind": "change", "by": "rn-07", "with": null, "outcome": null}));
}

#[test]
fn silence_is_told_as_silence_and_a_complete_log_as_a_log() {
    let changed = ("2026-11-16T08:00", "change", WELL);
    let silent = desk("", &[changed]);
    for command in ["due", "missed --from 2026-11-17 --to 2026-11-23", "signals"] {
        said(&silent, command);
    }
    silent.keep_screens("lists_silence_is_told_as_silence");

    let by_log = "reports = \"log\"\n";
    let log = ("2026-11-23T20:00", "log", "by = 'p001-son'\nfrom = 2026-11-10\nthrough = 2026-11-23\ncomplete = true");
    let told = Desk::new().at_80_columns();
    let course = desk::PATIENT
        .replace("from = 2026-08-27\nplace = \"home\"\n", &format!("from = 2026-08-27\nplace = \"home\"\n{by_log}"));
    put(&told, "P-001", "", &[changed, log]);
    told.put("patients/P-001/patient.toml", &course);
    let missed = said(&told, "missed --from 2026-11-17 --to 2026-11-23");
    assert!(!missed.contains("no change was reported."), "{missed}");
    said(&told, "due P-001");
    told.keep_screens("lists_a_complete_log_is_told_as_a_log");
}

#[test]
fn a_shower_or_damage_is_followed_by_what_was_reported() {
    let shower = desk("", &[("2026-11-23T08:00", "change", WELL), ("2026-11-23T20:00", "shower", "by = 'p001-son'")]);
    said(&shower, "due");
    // On one day, without a time: the order is unknown.
    let reason = format!("reason = 'scheduled'\n{WELL}");
    let unknown = desk("", &[("2026-11-23", "change", &reason), ("2026-11-23", "shower", "by = 'p001-son'")]);
    said(&unknown, "due");
    shower.keep_screens("lists_a_shower_without_a_change");
    unknown.keep_screens("lists_a_shower_and_a_change_in_unknown_order");
}

#[test]
fn a_household_without_news_for_long_is_shown_so() {
    let desk = Desk::new().at_80_columns();
    let log = ("2026-10-11T20:00", "log", "by = 'rn-07'\nfrom = 2026-09-01\nthrough = 2026-10-10\ncomplete = true");
    put(&desk, "P-001", "", &[("2026-10-10T08:00", "change", WELL), log]);
    let home = "from = 2026-08-27\nplace = \"home\"\n";
    let course = desk::PATIENT.replace(home, &format!("{home}reports = \"log\"\n"));
    desk.put("patients/P-001/patient.toml", &course);
    said(&desk, "due");
    said(&desk, "show P-001");
    // A call without a report does not end the silence; the row names the call.
    let call = "with = 'p001-son'\nabout = ['log']\noutcome = 'advised'";
    put(&desk, "P-001", "", &[("2026-11-24T07:00", "contact", call)]);
    desk.put("patients/P-001/patient.toml", &course);
    let list = said(&desk, "due");
    assert!(!list.contains("no report for"), "{list}");
    let row = &json_of(&desk, "due")["rows"][0];
    assert_eq!((&row["heard_from"], &row["heard_by_call"]), (&json!("2026-11-24"), &json!(true)));
    // A report of today leaves no day to count.
    let look = "by = 'p001-son'\nsource = 'told'\ndressing = 'intact'";
    put(&desk, "P-001", "", &[("2026-11-24T07:05", "inspection", look)]);
    desk.put("patients/P-001/patient.toml", &course);
    let list = said(&desk, "due");
    assert!(!list.contains("0 days"), "{list}");
    assert_eq!(json_of(&desk, "due")["rows"][0]["heard_by_call"], false);
    desk.keep_screens("lists_a_household_without_news_for_long");
}

#[test]
fn a_change_from_before_the_records_begin_is_named_with_the_key_that_uses_it() {
    let desk = desk("", &[("2026-11-20T08:00", "change", WELL)]);
    let course = |more: &str| {
        let begins = format!("records_from = 2026-11-22\ninfections_before = 0\n{more}");
        desk::PATIENT.replace("implanted = 2026-08-03", &format!("{begins}implanted = 2026-08-03"))
    };
    desk.put("patients/P-001/patient.toml", &course(""));
    for command in ["due P-001", "show P-001", "handoff"] {
        said(&desk, command);
    }
    assert_eq!(json_of(&desk, "due")["rows"][0]["changed_before"], "2026-11-20");
    // The reply to such a write says it at once, whether or not another change counts.
    let change = ["record", "change", "P-001", "--by", "rn-07", "--source", "seen", "--yes", "--at"];
    for at in ["2026-11-21T08:00", "2026-11-23T08:00", "2026-11-19T08:00"] {
        desk.done(&[&change[..], &[at]].concat());
    }
    desk.keep_screens("lists_a_change_from_before_the_records_begin");
    // The key in the message is the one that takes effect.
    let named = self::desk("", &[("2026-11-20T08:00", "change", WELL)]);
    named.put("patients/P-001/patient.toml", &course("last_change_before = 2026-11-20\n"));
    let row = &json_of(&named, "due")["rows"][0];
    assert_eq!((&row["because"], &row["changed_before"]), (&json!("interval"), &json!(null)));
}

#[test]
fn an_alert_without_findings_names_the_command_that_shows_them() {
    let alert = said(&three_signals(), "alert");
    assert!(alert.contains("P-001  needs review today, since 2026-11-23 21:00: run exitsite show P-001\n"), "{alert}");
    assert!(
        alert.contains("P-001 a  needs review today (acted on, no clinician told), since 2026-11-22 08:00: run "),
        "{alert}"
    );
    assert!(!alert.contains("pus") && !alert.contains("fever"), "{alert}");
}

#[test]
fn a_move_home_with_no_one_signed_off_is_on_the_list_and_on_the_teaching_screen() {
    let desk = Desk::new().at_80_columns();
    let course = desk::PATIENT.replace("from = 2026-08-27\nplace = \"home\"", "from = 2026-11-30\nplace = \"home\"");
    let look = RISEN[0].2;
    put(&desk, "P-001", "", &[("2026-11-24T06:00", "change", &format!("{WELL}\n{look}"))]);
    desk.put("patients/P-001/patient.toml", &course);
    // Not due today: the list mentions it below its blocks.
    said(&desk, "due");
    let teaching = said(&desk, "teaching");
    assert!(!teaching.contains("dressing-change"), "{teaching}");
    assert_eq!(json_of(&desk, "due --all")["rows"][0]["move_home"]["on"], "2026-11-30");
    assert_eq!(json_of(&desk, "teaching")["moving_home"][0]["needed"], 1);
    // Due today: after the code.
    put(&desk, "P-002", "", &[("2026-11-23T06:00", "change", &format!("{WELL}\n{look}"))]);
    let course = course.replace("P-001", "P-002").replace("p001", "p002");
    desk.put("patients/P-002/patient.toml", &course);
    said(&desk, "due");
    desk.keep_screens("lists_a_move_home_with_no_one_signed_off");
}

#[test]
fn an_old_infection_is_told_as_long_as_it_is_open() {
    let old = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2024-03-02\norganisms = ['staphylococcus aureus']";
    let drug = "what = 'long-term-suppression'";
    let desk = Desk::new().at_80_columns();
    let course = desk::PATIENT.replace("2026-08-03", "2024-01-10").replace("2026-08-27", "2024-02-01");
    put(&desk, "P-001", "", &[("2024-03-05T08:00", "infection", old), ("2024-03-06T08:00", "treatment", drug)]);
    put(&desk, "P-001", "", &[("2026-11-20T08:00", "change", WELL)]);
    desk.put("patients/P-001/patient.toml", &course);
    said(&desk, "due");
    desk.keep_screens("lists_an_old_infection_is_told_as_long_as_it_is_open");
}

#[test]
fn a_block_counts_patients_as_the_census_does() {
    let second = "[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-09-01\nwhy = \"second-pump\"\n";
    let left = |exit: &str| format!("exit = '{exit}'\n{WELL}");
    let desk = desk(second, &[("2026-11-18T08:00", "change", &left("a")), ("2026-11-18T09:00", "change", &left("b"))]);
    said(&desk, "due");
    desk.keep_screens("lists_a_block_counts_patients_as_the_census_does");
}

#[test]
fn a_terminal_is_shown_bold_and_no_color_that_a_light_or_a_dark_one_hides() {
    let desk = three_signals();
    desk.put("patients/P-002/2026/2026-11-24T0600-change.toml", "kind = \"change");
    for command in ["due", "check"] {
        let shown = desk.run(&[command, "--color", "always"]).stdout;
        let codes: Vec<&str> =
            shown.split('\u{1b}').skip(1).map(|part| part.split_inclusive('m').next().unwrap()).collect();
        assert!(!codes.is_empty() && codes.iter().all(|code| ["[1m", "[0m"].contains(code)), "{command}: {codes:?}");
        assert!(!desk.run(&[command]).stdout.contains('\u{1b}'), "{command}");
    }
}
