//! A change to a patient's course never ends, hides or misjudges anything by Enter or by `--yes` alone.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

const FILE: &str = "patients/P-001/patient.toml";

/// The patient at home, changed today, with pus seen by staff an hour before.
fn desk_with_pus() -> Desk {
    let desk = Desk::new();
    desk.put(
        "patients/P-001/2026/2026-11-24T0615-change.toml",
        "kind = \"change\"\nat = 2026-11-24T06:15:00\nby = \"rn-07\"\nsource = \"seen\"\n\n[site]\ndrainage = \"purulent\"\n",
    );
    desk
}

const END: [&str; 9] = ["patient", "end", "P-001", "--on", "2026-11-24", "--why", "transplant", "--by", "co-1"];

#[test]
fn the_end_of_support_asks_before_it_ends_pus_and_yes_is_no_answer() {
    let desk = desk_with_pus().at_80_columns();
    desk.refused(&[&END[..], &["--yes"]].concat());
    let before = desk.everything();
    for answers in [&["", "", ""][..], &["n"], &["y", "n"], &[]] {
        let person = Person::typing(answers);
        desk.run_as(Some("co-1"), &END, Some(&person));
    }
    assert_eq!(desk.everything(), before);
    desk.done(&[&END[..], &["--yes", "--ends-signals"]].concat());
    assert!(desk.get(FILE).contains("[ended]"));
    desk.keep_screens("course_the_end_of_support_asks_before_it_ends_pus_and_yes_is_no_answer");
}

#[test]
fn an_end_that_is_still_to_come_asks_about_what_it_will_end() {
    let desk = desk_with_pus().at_80_columns();
    let mut end = END;
    end[4] = "2026-12-01";
    desk.refused(&[&end[..], &["--yes"]].concat());
    desk.keep_screens("course_an_end_that_is_still_to_come_asks_about_what_it_will_end");
}

#[test]
fn an_exit_site_with_something_open_is_not_closed_in_silence() {
    let desk = desk_with_pus().at_80_columns();
    let close = ["patient", "exit", "P-001", "--id", "a", "--until", "today", "--by", "co-1"];
    desk.refused(&[&close[..], &["--yes"]].concat());
    let before = desk.everything();
    let person = Person::typing(&["", ""]);
    desk.run_as(Some("co-1"), &close, Some(&person));
    assert_eq!(desk.everything(), before);
    desk.done(&[&close[..], &["--yes", "--ends-signals"]].concat());
    // Its signal is still listed after the exit has closed.
    desk.done(&["signals", "P-001"]);
    desk.keep_screens("course_an_exit_site_with_something_open_is_not_closed_in_silence");
}

#[test]
fn a_wet_dressing_is_asked_about_before_its_exit_site_closes() {
    let desk = Desk::new().at_80_columns();
    desk.put(
        "patients/P-001/2026/2026-11-24T0600-inspection.toml",
        "kind = \"inspection\"\nat = 2026-11-24T06:00:00\nby = \"rn-07\"\nsource = \"seen\"\ndressing = \"lifting\"\n",
    );
    let close =
        ["patient", "exit", "P-001", "--id", "b", "--where", "midline", "--why", "relocation", "--from", "today"];
    let close = [&close[..], &["--closes", "a", "--by", "co-1", "--yes"]].concat();
    desk.refused(&close);
    desk.done(&[&close[..], &["--ends-signals"]].concat());
    desk.keep_screens("course_a_wet_dressing_is_asked_about_before_its_exit_site_closes");
}

#[test]
fn a_move_home_shows_the_discharge_checklist_and_asks_about_each_line_that_is_not_met() {
    let desk = Desk::new().at_80_columns();
    desk.put(FILE, &desk::PATIENT.replace("# went home well\n[[care]]\nfrom = 2026-08-27\nplace = \"home\"\n\n", ""));
    let home = ["patient", "move", "P-001", "--place", "home", "--by", "co-1"];
    let before = desk.everything();
    for answers in [&[""; 6][..], &["y", ""], &["y", "y", "n"]] {
        let person = Person::typing(answers);
        desk.run_as(Some("co-1"), &home, Some(&person));
        assert_eq!(desk.everything(), before);
    }
    let outcome = desk.run(&[&home[..], &["--yes"]].concat());
    assert_eq!(outcome.status, 0, "{outcome:?}");
    // A move from one home to another, as with a new zone, is no discharge.
    desk.done(&[
        "patient",
        "move",
        "P-001",
        "--place",
        "elsewhere",
        "--from",
        "tomorrow",
        "--by",
        "co-1",
        "--yes",
        "--ends-signals",
    ]);
    desk.keep_screens("course_a_move_home_shows_the_discharge_checklist_and_asks_about_each_line_that_is_not_met");
}

#[test]
fn an_interval_of_300_days_is_asked_about() {
    let desk = Desk::new().at_80_columns();
    let order = ["patient", "order", "P-001", "--every-days", "300", "--by", "md-3", "--why", "dry"];
    let before = desk.everything();
    let person = Person::typing(&["", ""]);
    desk.run_as(Some("co-1"), &order, Some(&person));
    assert_eq!(desk.everything(), before);
    // In a script the number alone is not enough, and neither is --yes.
    let script = [&order[..], &["--yes"]].concat();
    desk.refused(&script);
    let shown = desk.run(&[&order[..], &["--dry-run"]].concat());
    assert!(shown.stderr.contains("more than 14"), "{shown:?}");
    assert_eq!(desk.everything(), before);
    desk.done(&[&script[..], &["--longer-than-usual"]].concat());
    assert!(desk.get(FILE).contains("every_days = 300"));
    // A usual interval raises no question, and the flag prints nothing.
    let usual = ["patient", "order", "P-001", "--every-days", "3", "--by", "md-3", "--why", "dry", "--yes"];
    desk.done(&usual);
    desk.refused(&["patient", "order", "P-001", "--no-showers", "--by", "md-3", "--why", "dry", "--longer-than-usual"]);
    desk.keep_screens("course_an_interval_of_300_days_is_asked_about");
}

/// The answers for a patient with an implant in 2024.
const OLD: [&str; 11] =
    ["2024-09-17", "2", "2", "today", "unknown", "yesterday", "p002-son:son, p002-wife:wife", "1", "", "y", ""];

#[test]
fn a_patient_at_home_since_2024_is_asked_what_decides_the_schedule() {
    let desk = Desk::new().at_80_columns();
    let person = Person::typing(&OLD);
    let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&person));
    assert_eq!(outcome.status, 0, "{outcome:?} {}", person.saw());
    let text = desk.get("patients/P-002/patient.toml");
    for line in [
        "implanted = 2024-09-17",
        "records_from = 2026-11-24",
        "infections_before = \"unknown\"",
        "last_change_before = 2026-11-23",
        "place = \"home\"",
        "reports = \"each\"",
        "code = \"p002-wife\"",
    ] {
        assert!(text.contains(line), "{line}\n{text}");
    }
    assert!(!text.contains("inpatient"), "{text}");
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("course_a_patient_at_home_since_2024_is_asked_what_decides_the_schedule");
}

#[test]
fn records_that_begin_at_an_old_implant_hold_both_places() {
    let desk = Desk::new();
    // `check` would report records that begin so early, so the command asks about that, too.
    let answers = ["2026-09-01", "midline", "home", "implant", "2026-09-20", "1", "p002-son", "each", "none", "y", "y"];
    let person = Person::typing(&answers);
    let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?} {}", person.saw());
    let text = desk.get("patients/P-002/patient.toml");
    let care = text.split("[[care]]").skip(1).map(|row| row.lines().nth(2).unwrap()).collect::<Vec<_>>();
    assert_eq!(care, ["place = \"inpatient\"", "place = \"home\""], "{text}");
    assert!(text.contains("from = 2026-09-20"), "{text}");
}

#[test]
fn a_no_at_a_doubt_about_a_new_patient_keeps_every_answer() {
    // P-010 resembles P-001, which is on file. OLD ends with its last two questions: intolerances, and the last yes.
    let answers = &OLD[..8];
    for (then, is_written) in [
        (&["tape", "", "n", "", "", "y", "y"][..], true),
        (&["tape", "n", "<", "", "y", "y"], true),
        (&["tape", "y", "n", "", "", "y", "y"], true),
        (&["tape", "n", "discard"], false),
    ] {
        let desk = Desk::new();
        let before = desk.everything();
        let person = Person::typing(&[answers, then].concat());
        let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-010"], Some(&person));
        let saw = person.saw();
        assert!(saw.contains("P-001 is on file and looks like P-010"), "{saw}");
        assert!(saw.contains("Type discard to drop them"), "{then:?} {saw}");
        assert_eq!((outcome.status, person.left()), (0, 0), "{then:?} {outcome:?} {saw}");
        if is_written {
            let text = desk.get("patients/P-010/patient.toml");
            assert!(text.contains("p002-wife") && text.contains("intolerances = [\"tape\"]"), "{text}");
            assert!(saw.contains("[Enter: keep tape]"), "{saw}");
        } else {
            assert!(outcome.stderr.contains("Nothing was written"), "{outcome:?}");
            assert_eq!(desk.everything(), before);
        }
    }
}

#[test]
fn a_slip_asks_again_back_goes_back_and_nothing_is_lost() {
    let desk = Desk::new().at_80_columns();
    let answers = [
        "",
        "17/09/24x",
        "2024-09-17",
        "7",
        "right-upper",
        "hospital",
        "<",
        "2",
        "2",
        "2030-01-01",
        "2020-01-01",
        "today",
        "unknown",
        "today",
        "",
        "rn-07",
        "",
        "",
        "1",
        "",
        "y",
        "",
    ];
    let person = Person::typing(&answers);
    let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&person));
    let saw = person.saw();
    assert_eq!(outcome.status, 0, "{outcome:?} {saw}");
    let text = desk.get("patients/P-002/patient.toml");
    assert!(text.contains("where = \"left-upper\"") && text.contains("place = \"home\""), "{text}\n{saw}");
    desk.keep_screens("course_a_slip_asks_again_back_goes_back_and_nothing_is_lost");
}

#[test]
fn enter_alone_or_the_end_of_input_adds_nobody() {
    let desk = Desk::new();
    let before = desk.everything();
    for answers in [&[""; 40][..], &OLD[..5], &[]] {
        let outcome = desk.run_as(Some("co-1"), &["patient", "add", "P-002"], Some(&Person::typing(answers)));
        assert_eq!(outcome.status, 2, "{outcome:?}");
        assert_eq!(desk.everything(), before);
    }
}

#[test]
fn a_day_before_the_records_begin_is_read_back_as_typed() {
    let desk = Desk::new();
    let person = Person::typing(&["11/23/2026", "midline", "inpatient", "11/23/2026", "11/20/2026"]);
    desk.run_as(Some("co-1"), &["patient", "add", "P-050"], Some(&person));
    let saw = person.saw();
    assert!(saw.contains("That is Friday, November 20, 2026."), "{saw}");
    assert!(saw.contains("Written as 2026-11-23, when your records begin."), "{saw}");
}

#[test]
fn a_script_says_where_a_patient_of_an_old_implant_lives_and_since_when_records_begin() {
    let desk = Desk::new().at_80_columns();
    let add = ["patient", "add", "P-002", "--implanted", "2024-09-17", "--where", "midline", "--by", "co-1", "--yes"];
    desk.refused(&add);
    let more =
        ["--records-from", "2026-11-01", "--infections-before", "0", "--place", "home", "--place-since", "2026-11-10"];
    desk.done(&[&add[..], &more].concat());
    let text = desk.get("patients/P-002/patient.toml");
    assert!(text.contains("from = 2026-11-01\nplace = \"inpatient\""), "{text}");
    assert!(text.contains("from = 2026-11-10\nplace = \"home\""), "{text}");
    desk.keep_screens("course_a_script_says_where_a_patient_of_an_old_implant_lives_and_since_when_records_begin");
}

#[test]
fn a_slip_in_a_flag_or_an_answer_is_asked_again() {
    let desk = Desk::new().at_80_columns();
    let person = Person::typing(&["", "soon", "2026-11-23", "bored", "recovery", "y", "y", "y"]);
    let arguments = ["patient", "end", "P-001", "--on", "2026-02-30", "--ends-signals"];
    let outcome = desk.run_as(Some("co-1"), &arguments, Some(&person));
    let saw = person.saw();
    assert_eq!(outcome.status, 0, "{outcome:?} {saw}");
    assert!(desk.get(FILE).contains("on = 2026-11-23\nwhy = \"recovery\""), "{saw}");
    desk.keep_screens("course_a_slip_in_a_flag_or_an_answer_is_asked_again");
}

#[test]
fn an_order_or_a_move_that_takes_an_overdue_change_off_the_list_is_asked_about() {
    let desk = Desk::new().at_80_columns();
    desk.put(
        "patients/P-001/2026/2026-11-20T0800-change.toml",
        "kind = 'change'\nat = 2026-11-20T08:00:00-06:00\nby = 'p001-son'\nsource = 'told'\n",
    );
    let order =
        ["patient", "order", "P-001", "--every-days", "10", "--from", "2026-11-19", "--by", "md-3", "--why", "x"];
    let leave = ["patient", "move", "P-001", "--place", "elsewhere"];
    let before = desk.everything();
    for command in [&order[..], &leave[..]] {
        let person = Person::typing(&["", "", ""]);
        desk.run_as(Some("co-1"), command, Some(&person));
        assert_eq!(desk.everything(), before);
    }
    // A shorter interval from today on leaves it overdue, and raises no question.
    let shorter = ["patient", "order", "P-001", "--every-days", "2", "--by", "md-3", "--why", "x"];
    let person = Person::typing(&["y"]);
    desk.run_as(Some("co-1"), &shorter, Some(&person));
    desk.keep_screens("course_an_order_or_a_move_that_takes_an_overdue_change_off_the_list_is_asked_about");
}

#[test]
fn an_overdue_change_leaves_the_list_in_a_script_only_by_a_flag_of_its_own() {
    let order =
        ["patient", "order", "P-001", "--every-days", "10", "--from", "2026-11-19", "--by", "md-3", "--why", "x"];
    let order_ends = ["patient", "order", "P-001", "--end", "2026-11-21"];
    let leave = ["patient", "move", "P-001", "--place", "elsewhere", "--by", "co-1"];
    let end = ["patient", "end", "P-001", "--on", "2026-11-24", "--why", "recovery", "--by", "co-1"];
    let daily = "\n[[order]]\nevery_days = 1\nfrom = 2026-11-10\nby = \"md-3\"\nwhy = \"wet\"\n";
    let runs: [(&[&str], &str, &str); 4] = [
        (&order, "2026-11-20", ""),
        (&leave, "2026-11-20", ""),
        (&end, "2026-11-20", ""),
        (&order_ends, "2026-11-22", daily),
    ];
    for (command, changed_on, more) in runs {
        let desk = Desk::new();
        desk.put(FILE, &format!("{}{more}", desk::PATIENT));
        desk.put(
            &format!("patients/P-001/2026/{changed_on}T0800-change.toml"),
            &format!("kind = 'change'\nat = {changed_on}T08:00:00-06:00\nby = 'p001-son'\nsource = 'told'\n"),
        );
        assert!(desk.done(&["due", "P-001"]).contains("overdue"), "{command:?}");
        let before = desk.everything();
        for more in [&["--yes"][..], &[]] {
            let refused = desk.refused(&[command, more].concat());
            assert!(
                refused.contains("overdue by") && refused.contains("Type --ends-signals."),
                "{command:?} {refused}"
            );
            assert_eq!(desk.everything(), before);
        }
        // At a terminal --yes does not answer the question.
        let person = Person::typing(&[""]);
        desk.run_as(Some("co-1"), &[command, &["--yes"]].concat(), Some(&person));
        assert!(person.saw().contains("Is that right? [y/N]"), "{}", person.saw());
        assert_eq!(desk.everything(), before);
        let dry = desk.run(&[command, &["--dry-run"]].concat());
        assert!(dry.stderr.contains("This takes it off the list."), "{dry:?}");
        desk.done(&[command, &["--yes", "--ends-signals"]].concat());
        assert_ne!(desk.everything(), before, "{command:?}");
        assert!(!desk.done(&["due", "P-001"]).contains("overdue"), "{command:?}");
    }
}

#[test]
fn a_less_than_sign_goes_back_one_question_in_every_command_of_a_course() {
    let runs: [(&[&str], &[&str], &str); 7] = [
        (&["move"], &["1", "<", "elsewhere", "co-1", "y", "y", "y"], "place = \"elsewhere\""),
        (&["order", "--every-days", "3"], &["co-1", "<", "md-3", "dry", "y", "y", "y"], "by = \"md-3\"\nwhy = \"dry\""),
        (
            &["exit"],
            &["b", "midline", "<", "right-upper", "exchange", "today", "co-1", "y", "y", "y"],
            "id = \"b\"\nwhere = \"right-upper\"",
        ),
        (
            &["caregiver"],
            &["p001-aunt", "<", "p001-wife", "wife", "co-1", "y", "y"],
            "code = \"p001-wife\"\nrelation = \"wife\"",
        ),
        (&["order"], &["3", "md-3", "dry", "y", "y"], "no_showers = true"),
        (&["order"], &["every", "three", "3", "md-3", "dry", "y", "y"], "every_days = 3"),
        (
            &["end", "--ends-signals"],
            &["yesterday", "<", "today", "recovery", "co-1", "y", "y", "y"],
            "on = 2026-11-24\nwhy = \"recovery\"",
        ),
    ];
    for (command, answers, written) in runs {
        let desk = Desk::new();
        let person = Person::typing(answers);
        let arguments = [&["patient", command[0], "P-001"][..], &command[1..]].concat();
        let outcome = desk.run_as(None, &arguments, Some(&person));
        assert!(desk.get(FILE).contains(written), "{command:?} {outcome:?} {}", person.saw());
    }
    // There is no question before the first to go back to.
    let person = Person::typing(&["<", "2026-11-23", "recovery", "n"]);
    Desk::new().run_as(Some("co-1"), &["patient", "end", "P-001"], Some(&person));
    assert!(person.saw().contains("This is the first question."), "{}", person.saw());
}

#[test]
fn a_code_suggests_the_same_code_written_otherwise_and_never_another_person() {
    let desk = Desk::new();
    let by = |code: &str| desk.refused(&["patient", "move", "P-001", "--place", "elsewhere", "--by", code, "--yes"]);
    assert!(by("RN7").contains("Did you mean rn-07?"), "{}", by("RN7"));
    let other = by("rn-70");
    assert!(other.contains("rn-70") && !other.contains("id you mean"), "{other}");
}
