//! The screens: the same count of what needs review on all of them, and words for what is known and no more.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use serde_json::{Value, json};

mod desk;

use desk::Desk;

const NOW: &str = "2026-11-24T07:15";
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
    let desk = Desk::new();
    let off = "[signals]\nhome-untaught = { off = 'not what is tried' }\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + off));
    put(&desk, "P-001", course, events);
    desk
}

/// A screen with its lines joined.
fn said(desk: &Desk, command: &str) -> String {
    let arguments: Vec<&str> = command.split(' ').chain(["--as-of", NOW]).collect();
    desk.run(&arguments).stdout.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json_of(desk: &Desk, command: &str) -> Value {
    let arguments: Vec<&str> = command.split(' ').chain(["--json", "--as-of", NOW]).collect();
    serde_json::from_str(&desk.run(&arguments).stdout).unwrap()
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
    let count = "3 signals need review today (1 acted on, 2 not)";
    for command in ["due", "signals", "alert"] {
        assert!(said(&desk, command).contains(count), "{command}: {}", said(&desk, command));
    }
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
    assert!(said(&desk, "due").contains("1 patient on file: "), "{}", said(&desk, "due"));
    assert!(
        said(&desk, "due").contains("· 1 signal needs review today, most urgent P-001: fever"),
        "{}",
        said(&desk, "due")
    );
}

#[test]
fn a_story_heads_a_signal_that_was_acted_on_apart_from_one_that_was_not() {
    let story = said(&three_signals(), "show P-001");
    let head = "NEEDS REVIEW TODAY: fever. Acted on, still open: pus. Change: ";
    assert!(story.contains(head), "{story}");
    assert!(
        story.contains("Acted on, still open pus since Sun 08:00: pus; acted on Sun 09:00 (culture taken by rn-07)"),
        "{story}"
    );
}

#[test]
fn a_patient_whose_last_record_cannot_be_read_keeps_the_signals_that_are_known() {
    let desk = three_signals();
    desk.put("patients/P-002/2026/2026-11-24T0600-change.toml", "kind = \"change");
    let list = said(&desk, "due");
    let row = "P-002 home son change of Tue Nov 24 06:00 cannot be read, next change not known: `exitsite check`; \
               needs review today: anchor not secured";
    assert!(list.contains(row), "{list}");
    assert!(list.contains("at least 3 signals need review today (1 acted on, 2 not)"), "{list}");
    let row = &json_of(&desk, "due")["rows"][0];
    assert_eq!((&row["patient"], &row["state"], &row["score"]), (&json!("P-002"), &json!("unusable"), &Value::Null));
    assert_eq!(row["signals"][0]["name"], "anchor-off");
    // In full: the fault, its place, and how to correct it.
    let whole = said(&desk, "due P-002");
    assert!(whole.contains("patients/P-002/2026/2026-11-24T0600-change.toml:1; "), "{whole}");
}

#[test]
fn the_most_dangerous_finding_is_named_first_though_its_deadline_is_last() {
    let desk = three_signals();
    let both = format!("{WELL}\n{PUS}\ntemperature_c = 38.6");
    put(&desk, "P-003", "", &[("2026-11-24T06:00", "change", &both)]);
    let list = said(&desk, "due");
    // The rows are in the order of their deadlines.
    let place = |code: &str| list.find(&format!("{code} home son")).unwrap();
    assert!(place("P-001") < place("P-003") && place("P-002") < place("P-003"), "{list}");
    assert!(list.contains("need review today (1 acted on, 4 not), most urgent P-003: pus, fever"), "{list}");
    let screen = said(&desk, "signals");
    assert!(screen.find("P-003 a pus since").unwrap() < screen.find("P-002 a anchor not secured").unwrap(), "{screen}");
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
        assert!(screen.contains("rising score (score 3, up from 0 on Nov 10) since Fri 08:00"), "{screen}");
        assert!(screen.contains("3 of 10 points, same total as the record before"), "{screen}");
    }
    // The danger comes before the score, for signals of the whole patient as well.
    let fever = said(&three_signals(), "grade P-001");
    assert!(fever.starts_with("P-001 exit a NEEDS REVIEW TODAY: fever since Mon 21:00"), "{fever}");
}

#[test]
fn acting_on_a_signal_is_told_by_what_was_done_and_a_household_change_acts_on_none() {
    let desk = desk("", &RISEN[..2]);
    let screen = said(&desk, "signals");
    assert!(screen.contains("rising score since Fri 08:00") && screen.contains("Not acted on."), "{screen}");
    let change = "by = 'p001-son'\nsource = 'told'\n[site]\ndrainage = 'none'";
    put(&desk, "P-001", "", &[("2026-11-22T08:00", "change", change)]);
    let screen = said(&desk, "signals");
    let risen = &screen[screen.find("rising score").unwrap()..];
    assert!(risen[..risen.find(" Ends ").unwrap()].contains("Not acted on."), "{screen}");
    put(&desk, "P-001", "", &RISEN[2..]);
    let seen = "Acted on Mon 08:00: site seen by rn-07 at a dressing change, patients/P-001/2026/";
    assert!(said(&desk, "signals").contains(seen), "{}", said(&desk, "signals"));
    let acted = &json_of(&desk, "signals")["signals"][0]["acted"];
    assert_eq!(acted, &json!({"how": "look", "kind": "change", "by": "rn-07", "with": null, "outcome": null}));
}

#[test]
fn silence_is_told_as_silence_and_a_complete_log_as_a_log() {
    let changed = ("2026-11-16T08:00", "change", WELL);
    let silent = desk("", &[changed]);
    let list = said(&silent, "due");
    assert!(list.contains("changed Nov 16, 8 days ago, every 2 days, 3 not reported; overdue"), "{list}");
    let missed = said(&silent, "missed --from 2026-11-17 --to 2026-11-23");
    assert!(missed.contains("For 3 of the 3 missed, no change was reported."), "{missed}");
    assert!(missed.contains("NNN"), "{missed}");

    let by_log = "reports = \"log\"\n";
    let log = ("2026-11-23T20:00", "log", "by = 'p001-son'\nfrom = 2026-11-10\nthrough = 2026-11-23\ncomplete = true");
    let told = Desk::new();
    let course = desk::PATIENT
        .replace("from = 2026-08-27\nplace = \"home\"\n", &format!("from = 2026-08-27\nplace = \"home\"\n{by_log}"));
    put(&told, "P-001", "", &[changed, log]);
    told.put("patients/P-001/patient.toml", &course);
    let missed = said(&told, "missed --from 2026-11-17 --to 2026-11-23");
    assert!(missed.contains("MMM") && !missed.contains("no change was reported."), "{missed}");
    assert!(said(&told, "due P-001").contains("missing from the log"), "{}", said(&told, "due P-001"));
    assert!(said(&silent, "signals").contains("due changes not recorded since"), "{}", said(&silent, "signals"));
}

#[test]
fn a_shower_or_damage_is_followed_by_what_was_reported() {
    let shower = desk("", &[("2026-11-23T08:00", "change", WELL), ("2026-11-23T20:00", "shower", "by = 'p001-son'")]);
    assert!(
        said(&shower, "due").contains("showered Mon 20:00, no change reported; overdue"),
        "{}",
        said(&shower, "due")
    );
    // On one day, without a time: the order is unknown.
    let reason = format!("reason = 'scheduled'\n{WELL}");
    let unknown = desk("", &[("2026-11-23", "change", &reason), ("2026-11-23", "shower", "by = 'p001-son'")]);
    let list = said(&unknown, "due");
    assert!(list.contains("showered Mon; changed that day, unclear if before or after the shower"), "{list}");
    assert!(!list.contains("order unknown"), "{list}");
}

#[test]
fn a_household_without_news_for_long_is_shown_so() {
    let desk = Desk::new();
    let log = ("2026-10-11T20:00", "log", "by = 'rn-07'\nfrom = 2026-09-01\nthrough = 2026-10-10\ncomplete = true");
    put(&desk, "P-001", "", &[("2026-10-10T08:00", "change", WELL), log]);
    let home = "from = 2026-08-27\nplace = \"home\"\n";
    desk.put("patients/P-001/patient.toml", &desk::PATIENT.replace(home, &format!("{home}reports = \"log\"\n")));
    let list = said(&desk, "due");
    assert!(list.contains("no report for 45 days: no log since Oct 10, expected "), "{list}");
    assert!(said(&desk, "show P-001").contains("Change: log overdue."), "{}", said(&desk, "show P-001"));
    // A call without a report does not end the silence; the row names the call.
    let call = "with = 'p001-son'\nabout = ['log']\noutcome = 'advised'";
    put(&desk, "P-001", "", &[("2026-11-24T07:00", "contact", call)]);
    desk.put("patients/P-001/patient.toml", &desk::PATIENT.replace(home, &format!("{home}reports = \"log\"\n")));
    let list = said(&desk, "due");
    assert!(list.contains("; no log since Oct 10, expected Nov 14; called son today 07:00: advised"), "{list}");
    assert!(!list.contains("no report for"), "{list}");
    let row = &json_of(&desk, "due")["rows"][0];
    assert_eq!((&row["heard_from"], &row["heard_by_call"]), (&json!("2026-11-24"), &json!(true)));
    // A report of today leaves no day to count.
    put(
        &desk,
        "P-001",
        "",
        &[("2026-11-24T07:05", "inspection", "by = 'p001-son'\nsource = 'told'\ndressing = 'intact'")],
    );
    desk.put("patients/P-001/patient.toml", &desk::PATIENT.replace(home, &format!("{home}reports = \"log\"\n")));
    let list = said(&desk, "due");
    assert!(list.contains("; no log since Oct 10, expected ") && !list.contains("0 days"), "{list}");
    assert_eq!(json_of(&desk, "due")["rows"][0]["heard_by_call"], false);
}

#[test]
fn a_change_from_before_the_records_begin_is_named_with_the_key_that_uses_it() {
    let desk = desk("", &[("2026-11-20T08:00", "change", WELL)]);
    let course = |more: &str| {
        let begins = format!("records_from = 2026-11-22\ninfections_before = 0\n{more}");
        desk::PATIENT.replace("implanted = 2026-08-03", &format!("{begins}implanted = 2026-08-03"))
    };
    desk.put("patients/P-001/patient.toml", &course(""));
    let words = "changed Fri Nov 20, before the records begin (Sun Nov 22), so the schedule leaves it out: \
                 set last_change_before = 2026-11-20 in patient.toml";
    for command in ["due P-001", "show P-001", "handoff"] {
        assert!(said(&desk, command).contains(words), "{command} {}", said(&desk, command));
    }
    assert_eq!(json_of(&desk, "due")["rows"][0]["changed_before"], "2026-11-20");
    // The reply to such a write says it at once, whether or not another change counts.
    let change = ["record", "change", "P-001", "--by", "rn-07", "--source", "seen", "--yes", "--at"];
    let reply = |at: &str| {
        let text = desk.done(&[&change[..], &[at]].concat());
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let later = reply("2026-11-21T08:00");
    assert!(later.contains("changed Sat Nov 21, before the records begin (Sun Nov 22)"), "{later}");
    desk.done(&[&change[..], &["2026-11-23T08:00"]].concat());
    let earlier = reply("2026-11-19T08:00");
    let sentence = "This change is from before the records begin (Sun Nov 22), so the schedule leaves it out.";
    assert!(earlier.contains(sentence), "{earlier}");
    // The key in the message is the one that takes effect.
    let named = self::desk("", &[("2026-11-20T08:00", "change", WELL)]);
    named.put("patients/P-001/patient.toml", &course("last_change_before = 2026-11-20\n"));
    let row = &json_of(&named, "due")["rows"][0];
    assert_eq!((&row["because"], &row["changed_before"]), (&json!("interval"), &json!(null)));
}

#[test]
fn an_alert_without_findings_names_the_command_that_shows_them() {
    let alert = said(&three_signals(), "alert");
    assert!(alert.contains("P-001 needs review today, since 2026-11-23 21:00: run exitsite show P-001"), "{alert}");
    assert!(alert.contains("P-001 a needs review today (acted on), since 2026-11-22 08:00: run "), "{alert}");
    assert!(!alert.contains("pus") && !alert.contains("fever"), "{alert}");
}

#[test]
fn a_move_home_with_no_one_signed_off_is_on_the_list_and_on_the_teaching_screen() {
    let desk = Desk::new();
    let course = desk::PATIENT.replace("from = 2026-08-27\nplace = \"home\"", "from = 2026-11-30\nplace = \"home\"");
    let look = RISEN[0].2;
    put(&desk, "P-001", "", &[("2026-11-24T06:00", "change", &format!("{WELL}\n{look}"))]);
    desk.put("patients/P-001/patient.toml", &course);
    // Not due today: the list mentions it below its blocks.
    assert!(said(&desk, "due").contains("P-001 moves home Mon Nov 30, no one signed off."), "{}", said(&desk, "due"));
    let teaching = said(&desk, "teaching");
    let section = "Moving home, not enough caregivers signed off P-001: moves home Mon Nov 30, no one signed off";
    assert!(teaching.contains(section), "{teaching}");
    assert!(
        !teaching.contains("dressing-change") && teaching.contains("p001-son of P-001: dressing change, "),
        "{teaching}"
    );
    assert_eq!(json_of(&desk, "due --all")["rows"][0]["move_home"]["on"], "2026-11-30");
    assert_eq!(json_of(&desk, "teaching")["moving_home"][0]["needed"], 1);
    // Due today: after the code.
    put(&desk, "P-002", "", &[("2026-11-23T06:00", "change", &format!("{WELL}\n{look}"))]);
    let course = course.replace("P-001", "P-002").replace("p001", "p002");
    desk.put("patients/P-002/patient.toml", &course);
    let list = said(&desk, "due");
    assert!(list.contains("P-002 (home Nov 30, no one signed off)"), "{list}");
}

#[test]
fn an_old_infection_is_told_as_long_as_it_is_open() {
    let old = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2024-03-02\norganisms = ['staphylococcus aureus']";
    let drug = "what = 'long-term-suppression'";
    let desk = Desk::new();
    let course = desk::PATIENT.replace("2026-08-03", "2024-01-10").replace("2026-08-27", "2024-02-01");
    put(&desk, "P-001", "", &[("2024-03-05T08:00", "infection", old), ("2024-03-06T08:00", "treatment", drug)]);
    put(&desk, "P-001", "", &[("2026-11-20T08:00", "change", WELL)]);
    desk.put("patients/P-001/patient.toml", &course);
    let list = said(&desk, "due");
    assert!(list.contains("infection since Mar 2 2024 (staphylococcus aureus); long-term suppression"), "{list}");
}

#[test]
fn a_temperature_is_shown_on_both_scales() {
    let desk = three_signals();
    for command in ["signals", "show P-001"] {
        assert!(said(&desk, command).contains("temperature 101.1 °F (38.4 °C)"), "{}", said(&desk, command));
    }
}

#[test]
fn a_block_counts_patients_as_the_census_does() {
    let second = "[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-09-01\nwhy = \"second-pump\"\n";
    let left = |exit: &str| format!("exit = '{exit}'\n{WELL}");
    let desk = desk(second, &[("2026-11-18T08:00", "change", &left("a")), ("2026-11-18T09:00", "change", &left("b"))]);
    let list = said(&desk, "due");
    assert!(list.contains("1 patient on file: 1 overdue") && list.contains("OVERDUE (1 patient) P-001 a"), "{list}");
    assert!(list.contains(" P-001 b "), "{list}");
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
