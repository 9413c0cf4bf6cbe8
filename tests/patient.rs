//! Commands that write a patient's course: admission, moves, orders, new exit sites and caregivers, the end.
//! patient.toml keeps its comments and layout, and the answer states the effect on the schedule.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;

use desk::{Desk, PATIENT, Person};

const FILE: &str = "patients/P-001/patient.toml";

/// A desk with a change on Sunday; at home one is due every two days.
fn desk() -> Desk {
    let desk = Desk::new();
    // The son is not signed off, which is not the subject here.
    let off = "[signals]\nhome-untaught = { off = \"taught elsewhere\" }\n";
    desk.put("policy.toml", &format!("{}{off}", desk.get("policy.toml")));
    desk.put(
        "patients/P-001/2026/2026-11-22T0900-change.toml",
        "kind = \"change\"\nat = 2026-11-22T09:00:00\nby = \"p001-son\"\n",
    );
    desk
}

/// The arguments of `exitsite patient …` by the coordinator in a script.
fn patient<'a>(arguments: &[&'a str]) -> Vec<&'a str> {
    [&["patient"], arguments, &["--by", "co-1", "--yes"]].concat()
}

/// The file with text inserted before a line that occurs once.
fn with(text: &str, before: &str) -> String {
    assert_eq!(PATIENT.matches(before).count(), 1);
    PATIENT.replace(before, &format!("{text}{before}"))
}

#[test]
fn a_move_is_a_row_and_the_answer_says_what_it_did_to_the_schedule() {
    let desk = desk().at_80_columns();
    desk.done(&patient(&["move", "P-001", "--place", "inpatient", "--why", "fever"]));
    let row = "[[care]]\nfrom = 2026-11-24\nplace = \"inpatient\"\nby = \"co-1\"\nwhy = \"fever\"\n\n";
    assert_eq!(desk.get(FILE), with(row, "[[caregiver]]\n"));
    assert_eq!(desk.findings(), [""; 0]);
    desk.refused(&patient(&["move", "P-001", "--place", "home"]));
    desk.refused(&patient(&["move", "P-001", "--place", "home", "--from", "2026-11-20"]));
    desk.refused(&patient(&["move", "P-001", "--place", "inpatient", "--from", "2026-11-25"]));
    desk.done(&patient(&["move", "P-001", "--place", "elsewhere", "--from", "tomorrow"]));
    desk.keep_screens("patient_a_move_is_a_row_and_the_answer_says_what_it_did_to_the_schedule");
}

#[test]
fn what_the_last_stay_at_home_said_is_not_forgotten_in_silence() {
    let desk = desk().at_80_columns();
    let home = ["--reports", "log", "--time-zone", "America/Denver"];
    desk.done(&patient(&[&["move", "P-001", "--place", "home", "--from", "2026-11-01"], &home[..]].concat()));
    desk.done(&patient(&["move", "P-001", "--place", "inpatient", "--from", "2026-11-10"]));
    let back = ["patient", "move", "P-001", "--place", "home", "--from", "2026-11-20", "--by", "co-1"];
    desk.refused(&back);
    let person = Person::typing(&["n"]);
    assert_eq!(desk.run_as(None, &back, Some(&person)).stderr, "Nothing was written.\n");
    // The interval at home takes the overdue change of the ward off the list.
    let again = ["move", "P-001", "--place", "home", "--from", "2026-11-20", "--ends-signals"];
    desk.done(&patient(&[&again, &home[..]].concat()));
    assert!(
        desk.get(FILE).contains("place = \"home\"\nreports = \"log\"\ntime_zone = \"America/Denver\"\nby = \"co-1\"\n")
    );
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("patient_what_the_last_stay_at_home_said_is_not_forgotten_in_silence");
}

#[test]
fn an_order_runs_until_it_is_ended() {
    let desk = desk().at_80_columns();
    let order = ["patient", "order", "P-001", "--by", "md-3", "--why", "serous drainage", "--yes"];
    desk.done(&[&order[..], &["--every-days", "1", "--from", "2026-11-20"]].concat());
    let row = "\n[[order]]\nfrom = 2026-11-20\nevery_days = 1\nby = \"md-3\"\nwhy = \"serous drainage\"\n";
    assert_eq!(desk.get(FILE), with(&format!("{}\n", &row[1..]), "[[caregiver]]\n"));
    desk.done(&["patient", "order", "P-001", "--end", "yesterday", "--yes"]);
    assert!(desk.get(FILE).contains("from = 2026-11-20\nuntil = 2026-11-23\nevery_days = 1\n"));
    desk.refused(&["patient", "order", "P-001", "--end", "2026-11-23", "--yes"]);
    desk.refused(&["patient", "order", "P-001", "--end", "today", "--yes"]);
    desk.done(&[&order[..], &["--on-weekdays", "mon,wed", "--min-days", "2", "--until", "2026-12-24"]].concat());
    desk.done(&[&order[..], &["--no-showers", "--exit", "a"]].concat());
    let text = desk.get(FILE);
    assert!(text.contains("until = 2026-12-24\non_weekdays = [\"mon\", \"wed\"]\nmin_days = 2\nby"), "{text}");
    assert!(text.contains("from = 2026-11-24\nno_showers = true\nexit = \"a\"\nby"), "{text}");
    desk.refused(&["patient", "order", "P-001", "--end", "2026-11-30", "--yes"]);
    desk.done(&["patient", "order", "P-001", "--end", "2026-11-30", "--exit", "a", "--yes"]);
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("patient_an_order_runs_until_it_is_ended");
}

#[test]
fn each_order_of_one_day_is_ended_by_the_line_that_its_answer_prints() {
    let desk = desk();
    let order = ["patient", "order", "P-001", "--by", "md-3", "--why", "serous drainage", "--yes"];
    let orders = [&["--every-days", "1"][..], &["--no-showers"], &["--on-weekdays", "mon,wed"]];
    let lines: Vec<String> = orders
        .iter()
        .map(|what| {
            let said = desk.done(&[&order[..], what].concat());
            let (_, line) = said.split_once("To end it:\n  exitsite ").unwrap();
            line.lines().next().unwrap().replace("DATE", "2026-11-26")
        })
        .collect();
    for (ended, line) in lines.iter().enumerate() {
        desk.done(&line.split(' ').chain(["--yes"]).collect::<Vec<_>>());
        assert_eq!(desk.get(FILE).matches("until = 2026-11-26\n").count(), ended + 1, "{line}");
    }
    for what in
        ["until = 2026-11-26\nevery_days = 1", "until = 2026-11-26\non_weekdays", "until = 2026-11-26\nno_showers"]
    {
        assert!(desk.get(FILE).contains(what), "{what}");
    }
}

#[test]
fn an_exit_site_is_opened_and_another_closed() {
    let desk = desk().at_80_columns();
    let exit = ["exit", "P-001", "--id", "b", "--where", "left-upper", "--why", "relocation"];
    desk.done(&patient(&[&exit[..], &["--from", "2026-11-23", "--closes", "a"]].concat()));
    let row =
        "[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = 2026-11-23\nwhy = \"relocation\"\nby = \"co-1\"\n\n";
    let expected = with(row, "[[care]]\nfrom = 2026-08-03\n")
        .replace("from = 2026-08-03\nwhy = \"implant\"", "from = 2026-08-03\nuntil = 2026-11-23\nwhy = \"implant\"");
    assert_eq!(desk.get(FILE), expected);
    desk.refused(&patient(&[&exit[..], &["--from", "today"]].concat()));
    let close = |id: &'static str, until: &'static str| patient(&["exit", "P-001", "--id", id, "--until", until]);
    desk.refused(&close("a", "today"));
    desk.refused(&close("c", "today"));
    desk.refused(&close("b", "2026-11-20"));
    desk.done(&close("b", "tomorrow"));
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("patient_an_exit_site_is_opened_and_another_closed");
}

#[test]
fn events_that_a_change_leaves_out_are_asked_about() {
    let desk = desk().at_80_columns();
    let end = ["patient", "end", "P-001", "--on", "2026-11-20", "--why", "transplant", "--by", "co-1"];
    desk.refused(&end);
    let person = Person::typing(&["y", "y"]);
    let outcome = desk.run_as(None, &end, Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{}", outcome.stderr);
    let ended = "\n[ended]\non = 2026-11-20\nwhy = \"transplant\"\nby = \"co-1\"\n";
    assert_eq!(desk.get(FILE), format!("{PATIENT}{ended}"));
    desk.refused(&end);
    desk.keep_screens("patient_events_that_a_change_leaves_out_are_asked_about");
}

#[test]
fn a_caregiver_has_a_code_that_nobody_else_has() {
    let desk = desk().at_80_columns();
    desk.put("patients/P-002/patient.toml", &PATIENT.replace("P-001", "P-002").replace("p001-son", "p002-wife"));
    for code in ["rn-07", "p001-son", "p002-wife", "Jane Roe", "patient"] {
        desk.refused(&patient(&["caregiver", "P-001", "--code", code]));
    }
    desk.done(&patient(&["caregiver", "P-001", "--code", "p001-wife", "--relation", "wife"]));
    let row = "relation = \"son\"\n# end of the file\n\n[[caregiver]]\ncode = \"p001-wife\"\nrelation = \"wife\"\nby = \"co-1\"\n";
    assert!(desk.get(FILE).ends_with(row), "{}", desk.get(FILE));
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("patient_a_caregiver_has_a_code_that_nobody_else_has");
}

#[test]
fn a_new_patient_is_written_in_the_form_of_the_records() {
    let desk = desk().at_80_columns();
    desk.done(&patient(&["add", "P-014", "--implanted", "2026-11-20", "--where", "right-upper"]));
    let exit = "[[exit]]\nid = \"a\"\nwhere = \"right-upper\"\nfrom = 2026-11-20\nwhy = \"implant\"\nby = \"co-1\"\n";
    let care = "[[care]]\nfrom = 2026-11-20\nplace = \"inpatient\"\nby = \"co-1\"\n";
    let file = "patients/P-014/patient.toml";
    assert_eq!(desk.get(file), format!("code = \"P-014\"\nimplanted = 2026-11-20\n\n{exit}\n{care}"));
    let more = [
        "add",
        "P-100",
        "--implanted",
        "2024-02-29",
        "--where",
        "midline",
        "--place",
        "home",
        "--records-from",
        "today",
        "--infections-before",
        "unknown",
        "--last-change-before",
        "yesterday",
        "--intolerances",
        "chlorhexidine, tape",
        "--caregiver",
        "p100-wife:wife",
        "--caregiver",
        "p100-son",
        "--reports",
        "log",
        "--time-zone",
        "America/Denver",
    ];
    desk.done(&patient(&more));
    let top = "code = \"P-100\"\nimplanted = 2024-02-29\nrecords_from = 2026-11-24\ninfections_before = \"unknown\"\nlast_change_before = 2026-11-23\nintolerances = [\"chlorhexidine\", \"tape\"]\n";
    let text = desk.get("patients/P-100/patient.toml");
    assert!(text.starts_with(top), "{text}");
    assert!(text.contains("from = 2026-11-24\nplace = \"home\"\nreports = \"log\"\ntime_zone = \"America/Denver\"\n"));
    assert!(text.ends_with("[[caregiver]]\ncode = \"p100-wife\"\nrelation = \"wife\"\nby = \"co-1\"\n\n[[caregiver]]\ncode = \"p100-son\"\nby = \"co-1\"\n"));
    assert_eq!(desk.findings(), [""; 0]);
    desk.refused(&patient(&more));
    desk.keep_screens("patient_a_new_patient_is_written_in_the_form_of_the_records");
}

#[test]
fn a_code_that_looks_like_another_is_asked_about() {
    let desk = desk().at_80_columns();
    for code in ["P-OO1", "P001", "P-010"] {
        let add = ["patient", "add", code, "--implanted", "mon", "--where", "midline", "--by", "co-1"];
        desk.refused(&add);
    }
    let add = ["patient", "add", "P-002", "--implanted", "mon", "--where", "midline", "--by", "co-1"];
    desk.refused(&add);
    desk.keep_screens("patient_a_code_that_looks_like_another_is_asked_about");
}

#[test]
fn a_folder_with_records_and_no_patient_file_is_taken_on() {
    let desk = desk().at_80_columns();
    fs::remove_file(desk.root().join(FILE)).unwrap();
    let add = ["patient", "add", "P-001", "--implanted", "2026-08-03", "--where", "midline", "--by", "co-1"];
    let add = [&add[..], &["--records-from", "2026-08-03", "--place", "home"]].concat();
    desk.refused(&add);
    desk.done(&[&add[..], &["--caregiver", "p001-son:son", "--yes"]].concat());
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("patient_a_folder_with_records_and_no_patient_file_is_taken_on");
}

#[test]
fn bad_input_for_every_flag_is_said_and_nothing_is_written() {
    let desk = desk().at_80_columns();
    let add = ["add", "P-014", "--implanted", "2026-11-20", "--where", "midline"];
    let exit = ["exit", "P-001", "--id", "b", "--where", "midline", "--why", "exchange", "--from", "today"];
    let order = ["order", "P-001", "--why", "wrong"];
    let cases: &[(&[&str], &[&str])] = &[
        (&["move", "P-001"], &[]),
        (&["move", "P-001"], &["--place", "hom"]),
        (&["move", "P-001"], &["--place", "inpatient", "--from", "soon"]),
        (&["move", "P-001"], &["--place", "inpatient", "--from", "2026-07-01"]),
        (&["move", "P-001"], &["--place", "inpatient", "--from", "2999-07-01"]),
        (&["move", "P-001"], &["--place", "home", "--reports", "daily"]),
        (&["move", "P-001"], &["--place", "inpatient", "--time-zone", "Denver"]),
        (&["move", "P-001"], &["--place", "inpatient", "--why", " "]),
        (&["move", "P-001"], &["--place", "inpatient", "--why", "ring 312-555-0142"]),
        (&["move", "P-011"], &["--place", "home"]),
        (&order, &[]),
        (&order, &["--every-days", "often"]),
        (&order, &["--every-days", "900"]),
        (&order, &["--on-weekdays", "monday"]),
        (&order, &["--on-weekdays", "mon", "--min-days", "0"]),
        (&order, &["--no-showers", "--until", "2026-11-20"]),
        (&order, &["--no-showers", "--exit", "z"]),
        (&exit, &["--closes", "z"]),
        (&["exit", "P-001"], &[]),
        (&["exit", "P-001", "--id", "b", "--where", "left", "--why", "old", "--from", "x"], &[]),
        (&["exit", "P-001", "--id", "b", "--where", "midline", "--why", "exchange", "--from", "2026-08-01"], &[]),
        (&["end", "P-001"], &[]),
        (&["end", "P-001", "--on", "today"], &["--why", "gone"]),
        (&["end", "P-001", "--on", "2026-08-01"], &["--why", "death"]),
        (&["caregiver", "P-001"], &[]),
        (&["caregiver", "P-001", "--code", "p001-x"], &["--relation", ""]),
        (&["add", "P-014"], &[]),
        (&["add", "p-014"], &[]),
        (&["add", "Smith"], &[]),
        (&["add", "P-014", "--implanted", "tomorrow", "--where", "belly"], &[]),
        (&add, &["--records-from", "2026-11-22"]),
        (&["add", "P-014", "--implanted", "20/11/2026"], &["--where", "midline"]),
        (&add, &["--records-from", "2026-11-19"]),
        (&add, &["--records-from", "2026-11-22", "--place", "home", "--infections-before", "some"]),
        (&add, &["--last-change-before", "2026-11-21"]),
        (&add, &["--intolerances", ","]),
        (&add, &["--intolerances", "tape,1"]),
        (&add, &["--intolerances", "no"]),
        (&add, &["--intolerances", "none, tape"]),
        (&add, &["--caregiver", "rn-07:nurse"]),
        (&add, &["--caregiver", "p014-son:"]),
        (&add, &["--place", "ward"]),
        (&add, &["--reports", "never", "--time-zone", "x"]),
    ];
    for (command, flags) in cases {
        // Orders are written by clinicians.
        let by = if command[0] == "order" { "md-3" } else { "co-1" };
        desk.refused(&[&["patient"], *command, *flags, &["--by", by, "--yes"]].concat());
    }
    for by in ["rn-99", "rn-02"] {
        for command in
            [&["move", "P-001", "--place", "inpatient"][..], &add, &exit, &[&order[..], &["--no-showers"]].concat()]
        {
            desk.refused(&[&["patient"], command, &["--by", by, "--yes"]].concat());
        }
    }
    // A yes does not make a nurse's entry an order.
    desk.refused(&["patient", "order", "P-001", "--no-showers", "--why", "wrong", "--by", "rn-07", "--yes"]);
    desk.keep_screens("patient_bad_input_for_every_flag_is_said_and_nothing_is_written");
}

#[test]
fn on_a_terminal_what_is_missing_is_asked_and_the_last_question_is_whether_to_write() {
    let desk = desk().at_80_columns();
    let person = Person::typing(&["hme", "inpatient", "co-1", "y"]);
    let outcome = desk.run_as(None, &["patient", "move", "P-001"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{}", outcome.stderr);
    let before = desk.everything();
    let person = Person::typing(&["n"]);
    let outcome = desk.run_as(
        Some("co-1"),
        &["patient", "move", "P-001", "--place", "home", "--from", "tomorrow"],
        Some(&person),
    );
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, "Nothing was written.\n"));
    assert_eq!(desk.everything(), before);
    desk.keep_screens("patient_on_a_terminal_what_is_missing_is_asked_and_the_last_question_is_whether_to_write");
}

#[test]
fn a_dry_run_shows_the_file_and_writes_nothing() {
    let desk = desk();
    let before = desk.everything();
    let dry = |arguments: &[&'static str]| desk.done(&patient(&[arguments, &["--dry-run"]].concat()));
    let said = dry(&["move", "P-001", "--place", "inpatient"]);
    let row = "[[care]]\nfrom = 2026-11-24\nplace = \"inpatient\"\nby = \"co-1\"\n\n";
    assert!(said.ends_with(&with(row, "[[caregiver]]\n")), "{said}");
    dry(&["add", "P-014", "--implanted", "mon", "--where", "midline"]);
    assert_eq!(desk.everything(), before);
}

#[test]
fn a_file_that_changed_meanwhile_is_left_and_both_versions_are_kept() {
    let desk = desk().at_80_columns();
    let path = desk.root().join(FILE);
    let theirs = PATIENT.replace("went home well", "went home by car");
    let text = theirs.clone();
    let person = Person::typing(&["y"]).meanwhile(move || fs::write(&path, &text).unwrap());
    let outcome = desk.run_as(Some("co-1"), &["patient", "move", "P-001", "--place", "inpatient"], Some(&person));
    assert_eq!(outcome.status, 2);
    assert_eq!(desk.get(FILE), theirs);
    assert!(desk.get(&format!("{FILE}.rej")).contains("place = \"inpatient\"\nby = \"co-1\""));
    desk.keep_screens("patient_a_file_that_changed_meanwhile_is_left_and_both_versions_are_kept");
}

/// A time after midnight in the care day before, and the start of the next care day, in Chicago, each with its care
/// day.
const NIGHT: [(&str, &str); 2] = [("2026-11-24T06:30:00Z", "2026-11-23"), ("2026-11-24T09:00:00Z", "2026-11-24")];

#[test]
fn after_midnight_the_questions_offer_a_day_that_is_accepted() {
    for (now, today) in NIGHT {
        let is_night = today == "2026-11-23";
        let desk = desk();
        let offered = if is_night { today } else { "today" };
        let answers = ["2026-08-03", "midline", "home", offered, "unknown", "", "", "each", "", "co-1", "y"];
        let person = Person::typing(&answers);
        let outcome = desk.run_at((now, 80), None, &["patient", "add", "P-050"], Some(&person));
        let saw = person.saw().replace("\n  ", " ");
        assert_eq!((outcome.status, person.left()), (0, 0), "{outcome:?}\n{saw}");
        assert!(desk.get("patients/P-050/patient.toml").contains(&format!("records_from = {today}")), "{saw}");
        assert_eq!(saw.contains("`today`"), !is_night, "{saw}");
        // Without --from the move is on that care day.
        let move_home = ["patient", "move", "P-001", "--place", "inpatient", "--by", "co-1", "--yes"];
        let outcome = desk.run_at((now, 80), None, &move_home, None);
        assert_eq!(outcome.status, 0, "{outcome:?}");
        desk.keep_screens(&format!("patient_a_question_after_midnight_offers_{today}"));
    }
    let (now, _) = NIGHT[0];
    let person = Person::typing(&["2026-11-24", "today", "2026-11-23"]);
    let desk = desk();
    desk.run_at((now, 80), None, &["patient", "add", "P-050"], Some(&person));
    desk.keep_screens("patient_a_day_after_midnight_that_could_be_two_days");
}

#[test]
fn a_date_in_us_form_is_repeated_in_full_or_asked_about() {
    let courses: [(&[&str], &[&str]); 4] = [
        (&["patient", "end", "P-001"], &["on"]),
        (&["patient", "exit", "P-001", "--id", "b", "--where", "midline", "--why", "exchange"], &["from"]),
        (&["patient", "add", "P-050"], &["implanted"]),
        (&["staff", "retire", "rn-07"], &["until"]),
    ];
    for (command, [flag]) in courses.map(|(command, flags)| (command, [flags[0]])) {
        let desk = desk().at_80_columns();
        for date in ["11/20/2026", "11/3/2026"] {
            let person = Person::typing(&["soon", date, "n", "13/20/2026"]);
            desk.run_as(Some("co-1"), command, Some(&person));
        }
        // As a flag, too.
        let flag = format!("--{flag}");
        let person = Person::typing(&["n"]);
        desk.run_as(Some("co-1"), &[command, &[&flag, "11/3/2026"]].concat(), Some(&person));
        desk.keep_screens(&format!("patient_a_date_in_us_form_in_{}", command[..2].join("_")));
    }
    let desk = desk().at_80_columns();
    let outcome =
        desk.run(&["patient", "end", "P-001", "--on", "11/20/2026", "--why", "recovery", "--by", "co-1", "--yes"]);
    assert_eq!(outcome.status, 0, "{outcome:?}");
    assert!(desk.get("patients/P-001/patient.toml").contains("on = 2026-11-20"));
    desk.keep_screens("patient_a_date_in_us_form_is_repeated_in_full_or_asked_about");
}

#[test]
fn every_question_of_a_course_and_of_the_staff_list_is_a_sentence() {
    let commands: [&[&str]; 12] = [
        &["patient", "add", "P-050"],
        &["patient", "move", "P-001"],
        &["patient", "order", "P-001"],
        &["patient", "order", "P-001", "--every-days", "2"],
        &["patient", "exit", "P-001"],
        &["patient", "exit", "P-001", "--until", "today"],
        &["patient", "caregiver", "P-001"],
        &["patient", "end", "P-001"],
        &["staff", "add", "rn-12"],
        &["staff", "retire", "rn-07"],
        &["patient", "end", "P-001", "--on", "today"],
        &["patient", "move", "P-001", "--place", "inpatient", "--from", "soon"],
    ];
    let answers = [
        "2026-11-20",
        "midline",
        "inpatient",
        "elsewhere",
        "1",
        "2",
        "b",
        "exchange",
        "recovery",
        "yesterday",
        "md-3",
        "p001-aunt",
        "nurse",
        "yes",
        "co-1",
        "because",
        "today",
    ];
    for command in commands {
        // All answers are tried until one fits, so every question comes up.
        let lines: Vec<&str> = (0..12).flat_map(|_| answers).collect();
        let person = Person::typing(&lines);
        desk().run_as(None, command, Some(&person));
        let saw = person.saw();
        let questions: Vec<&str> = saw.lines().filter(|line| line.contains('?') && !line.contains("/N]")).collect();
        let prompts = person.asked().into_iter().filter(|asked| asked.ends_with('>')).collect::<Vec<_>>();
        assert!(!prompts.is_empty() && questions.len() >= prompts.len() / 2, "{command:?} {saw}");
        for prompt in prompts.iter().filter(|prompt| !prompt.contains("discard")) {
            assert!(prompt.contains('?') && prompt.starts_with(|c: char| c.is_uppercase()), "{command:?}: {prompt}");
        }
    }
}

#[test]
fn no_known_intolerances_are_an_empty_list_and_are_said() {
    for typed in ["none", "None known", "no known allergies."] {
        let desk = Desk::new().at_80_columns();
        let add = ["add", "P-002", "--implanted", "2026-11-20", "--where", "midline", "--intolerances", typed];
        desk.done(&patient(&add));
        assert!(desk.get("patients/P-002/patient.toml").contains("\nintolerances = []\n"), "{typed}");
        let shown = [desk.done(&["show", "P-002"]), desk.done(&["due", "P-002", "--all"])].concat();
        assert!(!shown.contains("tolerate") && !shown.contains("none known"), "{shown}");
        let typed = typed.trim_end_matches('.').replace(' ', "_").to_lowercase();
        desk.keep_screens(&format!("patient_no_known_intolerances_typed_as_{typed}"));
        assert_eq!(desk.findings(), [""; 0]);
    }
    let desk = Desk::new();
    let answers = ["mon", "midline", "1", "implant", "mon", "", "None", "co-1", "y"];
    let person = Person::typing(&answers);
    desk.run_as(None, &["patient", "add", "P-003"], Some(&person));
    desk.keep_screens("patient_no_known_intolerances_at_a_question");
    assert!(desk.get("patients/P-003/patient.toml").contains("intolerances = []\n"), "{}", person.saw());
}

#[test]
fn an_intolerance_is_matched_in_any_case_and_by_the_abbreviation() {
    for (typed, cleanser) in [
        ("CHG", "chlorhexidine"),
        ("tape,Chlorhexidine Gluconate", "chlorhexidine"),
        ("PVP-I", "povidone-iodine"),
        ("iodine", "povidone-iodine"),
    ] {
        let desk = Desk::new().at_80_columns();
        let add = ["add", "P-002", "--implanted", "2026-11-20", "--where", "midline", "--intolerances", typed];
        desk.done(&patient(&add));
        let change = ["record", "change", "P-002", "--by", "rn-07", "--source", "seen", "--cleanser"];
        let change = |cleanser| [&change[..], &[cleanser, "--at", "2026-11-24T06:30"]].concat();
        desk.refused(&change(cleanser));
        let written = desk.run(&[&change(cleanser)[..], &["--yes"]].concat());
        assert_eq!(written.status, 0, "{typed}: {written:?}");
        assert_eq!(desk.findings(), ["intolerance-ignored"], "{typed}");
        let other = if cleanser == "chlorhexidine" { "povidone-iodine" } else { "chlorhexidine" };
        let dry = desk.run(&[&change(other)[..], &["--dry-run"]].concat());
        assert!(!dry.stderr.contains("does not tolerate"), "{typed}: {dry:?}");
        let typed = typed.replace([' ', ','], "_").to_lowercase();
        desk.keep_screens(&format!("patient_an_intolerance_of_{typed}_is_matched"));
    }
}
