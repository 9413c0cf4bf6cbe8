//! Bad input at every question of the terminal: the question is repeated with the fault, no earlier answer is lost, and
//! the end of input writes nothing.
//!
//! A case is a command with an answer to each of its questions. Each law gives one bad answer at each question of each
//! case, then continues as before, and compares the records with those of the case alone.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use desk::{Desk, Person};

/// A command, the person at the terminal, and the answers.
struct Case {
    arguments: &'static [&'static str],
    by: &'static str,
    answers: &'static [&'static str],
}

const fn case(arguments: &'static [&'static str], by: &'static str, answers: &'static [&'static str]) -> Case {
    Case { arguments, by, answers }
}

const RECORDS: [Case; 13] = [
    case(
        &["record", "change", "P-001"],
        "rn-07",
        &[
            "",
            "1",
            "scheduled",
            "f",
            "serous, scant",
            "1",
            "none",
            "0",
            "slight",
            "none",
            "98.6",
            "each",
            "intact, in place",
            "intact, in place",
            "m",
            "hands",
            "chlorhexidine",
            "yes",
            "none",
            "yes",
            "no",
            "well",
            "y",
        ],
    ),
    case(
        &["record", "assessment", "P-001"],
        "rn-07",
        &["", "1", "f", "serous, scant", "1", "none", "0", "slight", "none", "98.6", "well", "y"],
    ),
    case(
        &["record", "shower", "P-001"],
        "rn-07",
        &["", "patient", "told", "1", "intact", "intact", "in place", "well", "y"],
    ),
    case(&["record", "inspection", "P-001"], "rn-07", &["", "1", "intact", "in place", "well", "y"]),
    case(&["record", "trauma", "P-001"], "rn-07", &["", "1", "snag", "intact", "in place", "no", "well", "y"]),
    case(&["record", "culture", "P-001"], "rn-07", &["07:00", "1", "blood", "today", "yes", "S. aureus", "well", "y"]),
    case(
        &["record", "infection", "P-001"],
        "md-3",
        &["07:00", "1", "pocket", "possible", "2026-11-20", "", "no", "S. aureus", "", "well", "y"],
    ),
    case(&["record", "treatment", "P-001"], "md-3", &["07:00", "1", "oral", "2026-12-01", "well", "y"]),
    case(
        &["record", "teaching", "P-001"],
        "rn-07",
        &["", "1", "1", "1", "dressing-change", "", "shown", "", "", "", "well", "y"],
    ),
    case(
        &["record", "contact", "P-001"],
        "rn-07",
        &["07:00", "1", "1", "will change", "", "overdue", "well", "98.6F", "y"],
    ),
    case(&["record", "log", "P-001"], "rn-07", &["", "1", "2026-11-20", "2026-11-22", "yes", "well", "y"]),
    case(&["record", "supply", "P-001"], "rn-07", &["", "1", "dressing-kit", "3", "", "", "well", "y"]),
    case(&["record", "photo", "P-001"], "rn-07", &["PICTURE", "", "1", "imaging", "well", "y"]),
];

const ROUND: [Case; 3] = [
    case(&["round"], "co-1", &["c", "2", "advised", "1", "well", "y", "q"]),
    case(
        &["round"],
        "co-1",
        &[
            "d",
            "2",
            "2",
            "06:30",
            "scheduled",
            "f",
            "serous, scant",
            "3",
            "none",
            "0",
            "none",
            "none",
            "98.6",
            "1",
            "1",
            "m",
            "well",
            "y",
            "q",
        ],
    ),
    case(&["round"], "co-1", &["w", "2", "today 09:00", "1", "well", "y", "q"]),
];

const COURSE: [Case; 3] = [
    case(
        &["patient", "add", "P-002"],
        "co-1",
        &[
            "2026-08-01",
            "right upper",
            "home",
            "2026-09-01",
            "2026-09-01",
            "0",
            "2026-08-30",
            "p002-son",
            "each",
            "",
            "y",
        ],
    ),
    case(&["staff", "add", "rn-09"], "co-1", &["nurse", "n", "2026-11-01", "y"]),
    case(&["staff", "retire", "rn-07"], "co-1", &["2026-12-31", "y", "y", "y"]),
];

const CORRECTIONS: [Case; 4] = [
    case(&["result", "P-001"], "rn-07", &["1", "2026-11-22", "yes", "S. aureus", "y"]),
    case(&["resolve", "P-001"], "md-3", &["1", "2026-11-22", "y"]),
    case(&["amend", "P-001"], "rn-07", &["1", "dressing", "lifting", "", "typed in the wrong line", "y", "y"]),
    case(&["void", "P-001"], "rn-07", &["1", "of another patient", "y", "y"]),
];

/// The beginnings of questions that accept any text, and of questions for numbers that accept any number not refused.
const FREE: [&str; 12] = [
    "Any note?",
    "Note, one line",
    "Which organisms",
    "Organisms",
    "Is it a recurrence?",
    "Reason for",
    "How many were received?",
    "How many were counted",
    "How many were lost",
    "Which supply item?",
    "Who changes the dressing",
    "Any known intolerances",
];

/// The patient at home with a wet dressing, an open culture and an infection, and a picture outside the records.
fn scene(case: &Case) -> (Desk, tempfile::TempDir) {
    let desk = Desk::new();
    let more =
        "[signals]\nhome-untaught = { off = \"taught elsewhere\" }\n[photos]\nkept_at = [\"imaging\", \"chart\"]\n";
    desk.put("policy.toml", &format!("{}{more}", desk.get("policy.toml")));
    desk.put("people.toml", &desk.get("people.toml").replace("code = 'rn-07'\n", "code = 'rn-07'\nmay_sign = true\n"));
    let record = |name: &str, by: &str, more: &str| {
        let (time, kind) = name.split_at(15);
        let at = format!("{}T{}:{}:00", &time[..10], &time[11..13], &time[13..]);
        let text = format!("kind = \"{}\"\nat = {at}\nby = \"{by}\"\nsource = \"seen\"\n{more}", &kind[1..]);
        desk.put(&format!("patients/P-001/2026/{name}.toml"), &text);
    };
    record("2026-11-22T0800-change", "rn-07", "");
    match case.arguments[0] {
        "round" => record("2026-11-23T1900-inspection", "p001-son", "dressing = \"wet\"\n"),
        "amend" | "void" => record("2026-11-23T1900-inspection", "rn-07", "dressing = \"wet\"\n"),
        "result" => record("2026-11-20T0800-culture", "rn-07", "specimen = \"exit-site\"\n"),
        "resolve" => {
            let more = "part = \"driveline-superficial\"\ncertainty = \"possible\"\nonset = 2026-11-19\n";
            record("2026-11-20T0800-infection", "md-3", more);
        }
        _ => {}
    }
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    std::fs::write(kept.path().join("site.jpg"), "a picture").unwrap();
    (desk, kept)
}

/// The outcome of a case with these answers.
struct Run {
    person: Person,
    /// Every file, by path in the records.
    files: Vec<(String, String)>,
    before: Vec<(String, String)>,
}

fn run(case: &Case, answers: &[&str]) -> Run {
    let (desk, kept) = scene(case);
    let picture = kept.path().join("site.jpg").to_str().unwrap().to_owned();
    let answers: Vec<&str> = answers.iter().map(|one| if *one == "PICTURE" { picture.as_str() } else { one }).collect();
    let files = |desk: &Desk| -> Vec<(String, String)> {
        let root = desk.root().display().to_string();
        desk.everything().into_iter().map(|(file, text)| (file.replace(&root, ""), text)).collect()
    };
    let before = files(&desk);
    let person = Person::typing(&answers);
    desk.run_as(Some(case.by), case.arguments, Some(&person));
    Run { files: files(&desk), before, person }
}

/// Runs the case with its own answers, which must all be used and write something.
fn alone(case: &Case) -> Run {
    let alone = run(case, case.answers);
    let saw = alone.person.saw();
    assert_eq!(alone.person.left(), 0, "{:?}\n{saw}", case.arguments);
    assert_eq!(alone.person.asked().len(), case.answers.len(), "{:?}\n{saw}", case.arguments);
    assert_ne!(alone.files, alone.before, "{:?}\n{saw}", case.arguments);
    alone
}

/// The question on one line.
fn plain(question: &str) -> String {
    question.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The question without prompt and default.
fn bare(question: &str) -> String {
    plain(question).trim_end_matches(" >").split(" [").next().unwrap().to_owned()
}

/// Gives one bad answer at each question. The question must be repeated with a sentence, and the records must be those
/// of the case alone.
fn asked_again(cases: &[Case], bad: &str, is_fitting: impl Fn(&str) -> bool) {
    for case in cases {
        let alone = alone(case);
        for (n, question) in alone.person.asked().iter().enumerate() {
            let question = plain(question);
            let is_free = bad != "?" && FREE.iter().any(|free| question.starts_with(free));
            if is_fitting(&question) || is_free {
                continue;
            }
            let answers: Vec<&str> =
                case.answers[..n].iter().chain(&[bad]).chain(&case.answers[n..]).copied().collect();
            let run = run(case, &answers);
            let saw = run.person.saw();
            let shown = format!("{:?}: {bad:?} at {question}\n{saw}", case.arguments);
            assert_eq!(plain(&run.person.asked()[n + 1]), question, "{shown}");
            assert_eq!(run.person.left(), 0, "{shown}");
            assert_eq!(run.files, alone.files, "{shown}");
            assert!(!saw.contains('\u{1b}') && !saw.contains('\u{7}'), "raw: {shown}");
            // The sentence between the two: the fault, or what to type.
            let asked = run.person.asked()[n].clone();
            let places: Vec<usize> = saw.match_indices(asked.as_str()).map(|(at, _)| at).collect();
            let between = &saw[places[places.len() - 2] + asked.len()..places[places.len() - 1]];
            assert!(between.trim().len() > 10, "no sentence: {shown}");
            assert!(bad != "?" || !between.contains("Type the answer, then Enter."), "not explained: {shown}");
            assert!(
                bad != "?"
                    || question.contains("[y/N]")
                    || between.contains("Example: ")
                    || between.contains("Type ")
                    || between.contains("Enter "),
                "{shown}"
            );
        }
    }
}

fn bad_answers(cases: &[Case]) {
    let is_key = |question: &str| question.starts_with("c called, ") || question.starts_with("End of the list");
    let long = "x".repeat(4_000);
    for bad in ["zzz9", "9999", "?", "\u{1b}[2J\u{7}", long.as_str()] {
        // `?` explains the keys of the round, and Escape ends it.
        asked_again(cases, bad, |question| (bad == "?" || bad.starts_with('\u{1b}')) && is_key(question));
    }
    // If Enter is not an answer, the question is repeated; if it is one, the question says so.
    asked_again(cases, "", |question| question.contains("[Enter:") || question.contains("[y/N]") || is_key(question));
}

fn back_and_end(cases: &[Case]) {
    for case in cases {
        let alone = alone(case);
        for n in 0..case.answers.len() {
            let asked = alone.person.asked();
            let question = plain(&asked[n]);
            let end = run(case, &case.answers[..n]);
            // A round that ends keeps its records.
            if case.answers[n] != "q" {
                assert_eq!(end.files, end.before, "{:?}: the end of input at {question}", case.arguments);
            }
            // There is nothing before a key of the round or a separate question.
            let is_alone = |question: &str| {
                question.starts_with("c called, ")
                    || question.starts_with("End of")
                    || question.contains("[y/N]")
                    || question.contains(" Type its number")
            };
            if n == 0 || is_alone(&question) || is_alone(&plain(&asked[n - 1])) || case.answers[n - 1] == "PICTURE" {
                continue;
            }
            let again = case.answers[n - 1];
            let answers: Vec<&str> =
                case.answers[..n].iter().chain(&["<", again]).chain(&case.answers[n..]).copied().collect();
            let run = run(case, &answers);
            let saw = run.person.saw();
            assert_eq!(bare(&run.person.asked()[n + 1]), bare(&asked[n - 1]), "{saw}");
            assert_eq!(run.files, alone.files, "{:?}: back at {question}\n{saw}", case.arguments);
        }
    }
}

#[test]
fn a_bad_answer_at_any_question_of_record_is_asked_again() {
    bad_answers(&RECORDS);
}

#[test]
fn back_and_the_end_of_input_at_any_question_of_record_lose_nothing() {
    back_and_end(&RECORDS);
}

#[test]
fn a_bad_answer_at_any_question_of_round_is_asked_again() {
    bad_answers(&ROUND);
}

#[test]
fn back_and_the_end_of_input_at_any_question_of_round_lose_nothing() {
    back_and_end(&ROUND);
}

#[test]
fn a_bad_answer_at_any_question_of_a_course_is_asked_again() {
    bad_answers(&COURSE);
}

#[test]
fn back_and_the_end_of_input_at_any_question_of_a_course_lose_nothing() {
    back_and_end(&COURSE);
}

#[test]
fn a_bad_answer_at_any_question_of_a_correction_is_asked_again() {
    bad_answers(&CORRECTIONS);
}

#[test]
fn back_and_the_end_of_input_at_any_question_of_a_correction_lose_nothing() {
    back_and_end(&CORRECTIONS);
}

#[test]
fn a_beginning_that_two_choices_share_is_asked_again_with_both() {
    for (case, n, bad, both) in [
        (&RECORDS[0], 2, "s", "s could be scheduled, soiled or site concern"),
        (&RECORDS[0], 4, "s", "s could be serous, serosanguineous, sanguineous, scant or small"),
        (&RECORDS[2], 1, "p", "p could be p001-son or patient"),
        (&RECORDS[6], 2, "drive", "drive could be driveline superficial or driveline deep"),
        (&ROUND[0], 1, "p", "p could be patient or p001-son"),
        (&ROUND[0], 2, "a", ""),
        (&COURSE[1], 0, "n", "n is not a choice"),
    ] {
        let answers: Vec<&str> = case.answers[..n].iter().chain(&[bad]).chain(&case.answers[n..]).copied().collect();
        let run = run(case, &answers);
        assert!(run.person.saw().contains(both), "{both}\n{}", run.person.saw());
    }
}
