//! A person at a real terminal: the questions of `record`, the keys of `round`, and leaving at any point.
//!
//! The invented program's zone is one in which it is about noon, so that "yesterday" means the same at every hour.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use std::thread::sleep;
use std::time::{Duration, Instant};

use chrono::{DateTime, Days, FixedOffset, NaiveDate, Timelike, Utc};
use rexpect::session::{PtySession, spawn_command};
use tempfile::TempDir;

/// The time limit for one answer on a slow machine, in milliseconds.
const PATIENCE: u64 = 60_000;

/// The hours from the current time to noon, fixed for the whole run.
fn hours_to_noon() -> i32 {
    static HOURS: LazyLock<i32> = LazyLock::new(|| 12 - i32::try_from(Utc::now().hour()).unwrap());
    *HOURS
}

fn offset() -> FixedOffset {
    FixedOffset::east_opt(3600 * hours_to_noon()).unwrap()
}

fn now() -> DateTime<FixedOffset> {
    Utc::now().with_timezone(&offset())
}

fn days_ago(days: u64) -> NaiveDate {
    now().date_naive() - Days::new(days)
}

/// A program with these patients: code, days since the last change at 08:00, and further text for patient.toml.
fn records(patients: &[(&str, u64, &str)]) -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let root = kept.path();
    // These zone names have the opposite sign.
    let zone = format!("Etc/GMT{:+}", -hours_to_noon());
    fs::write(root.join("policy.toml"), format!("schema = 1\nprogram = \"Invented\"\ntime_zone = \"{zone}\"\n"))
        .unwrap();
    let since = days_ago(100);
    let people = format!("[[person]]\ncode = \"rn-07\"\nrole = \"nurse\"\nmay_sign = true\nfrom = {since}\n");
    fs::write(root.join("people.toml"), people).unwrap();
    for (code, days, more) in patients {
        let folder = root.join("patients").join(code);
        let changed = days_ago(*days);
        let year = folder.join(changed.format("%Y").to_string());
        fs::create_dir_all(&year).unwrap();
        let patient = format!(
            "code = \"{code}\"\nimplanted = {since}\nrecords_from = {since}\n\n[[exit]]\nid = \"a\"\nwhere = \"right-upper\"\nfrom = {since}\nwhy = \"implant\"\n\n[[care]]\nfrom = {since}\nplace = \"home\"\n{more}"
        );
        fs::write(folder.join("patient.toml"), patient).unwrap();
        let exits: &[&str] = if more.contains("[[exit]]") { &["exit = \"a\"\n", "exit = \"b\"\n"] } else { &[""] };
        for (minute, exit) in exits.iter().enumerate() {
            let change = format!(
                "kind = \"change\"\nat = {changed}T08:0{minute}:00{}\nby = \"patient\"\nsource = \"seen\"\n{exit}",
                offset()
            );
            fs::write(year.join(format!("{changed}T080{minute}-change.toml")), change).unwrap();
        }
    }
    kept
}

const SPOUSE: &str = "\n[[caregiver]]\ncode = \"p014-spouse\"\nrelation = \"spouse\"\n";

const SON: &str = "\n[[caregiver]]\ncode = \"p014-son\"\nrelation = \"son\"\n";

fn one_patient() -> TempDir {
    records(&[("P-014", 4, SPOUSE)])
}

/// Starts `exitsite` with these arguments at a terminal with `columns`. The last line at its end says whether the
/// terminal is back in its state before.
fn seat_of(kept: &TempDir, columns: u16, environment: &[(&str, &str)], arguments: &[&str]) -> PtySession {
    seat_at((kept, kept.path()), columns, environment, arguments)
}

/// Starts it in the parent of the records folder, with a relative path to the records.
fn seat_above(kept: &TempDir, arguments: &[&str]) -> PtySession {
    let name = kept.path().file_name().unwrap().to_owned();
    seat_at((kept, Path::new(&name)), 80, &[], arguments)
}

fn seat_at(
    (kept, named): (&TempDir, &Path),
    columns: u16,
    environment: &[(&str, &str)],
    arguments: &[&str],
) -> PtySession {
    let here = if named.is_absolute() { kept.path() } else { kept.path().parent().unwrap() };
    let script = format!(
        "stty cols {columns} rows 40; trap : INT; before=$(stty -g); \"$@\"; status=$?; if [ \"$before\" = \"$(stty -g)\" ]; then echo \"the terminal is sane, status $status\"; fi"
    );
    // Tests run in the background may have inherited an ignored Ctrl-C.
    let mut command = Command::new("env");
    command.args(["--default-signal=INT", "sh"]);
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default()).env("TERM", "xterm");
    command.env("EXITSITE_BY", "rn-07").envs(environment.iter().copied()).current_dir(here);
    command.arg("-c").arg(script).arg("sh").arg(env!("CARGO_BIN_EXE_exitsite")).arg("--records").arg(named);
    command.args(arguments);
    spawn_command(command, Some(PATIENCE)).unwrap()
}

fn seat(kept: &TempDir, arguments: &[&str]) -> PtySession {
    seat_of(kept, 80, &[], arguments)
}

/// Waits for each text and types the answer that goes with it.
fn talk(session: &mut PtySession, lines: &[(&str, &str)]) {
    for (question, answer) in lines {
        session.exp_string(question).unwrap();
        session.send(answer).unwrap();
        session.flush().unwrap();
    }
}

/// Confirms that the answers typed at these questions are dropped; without answers there is no question.
fn stops(session: &mut PtySession, answered: &[(&str, &str)]) {
    if answered.iter().any(|(question, answer)| !answer.trim().is_empty() && !question.contains("[y/N]")) {
        talk(session, &[("Stop and drop th", "y\n")]);
    }
}

/// Waits for the end and returns the output until then.
fn ends(session: &mut PtySession, status: i32) -> String {
    let shown = session.exp_string(&format!("the terminal is sane, status {status}\r\n")).unwrap();
    session.exp_eof().unwrap();
    text(&shown)
}

/// Decodes output in which each byte was read as a character.
fn text(shown: &str) -> String {
    let bytes: Vec<u8> = shown.chars().map(|byte| byte as u8).collect();
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Every file of the records with its text.
fn files(kept: &TempDir) -> BTreeMap<PathBuf, String> {
    fn gather(folder: &Path, root: &Path, found: &mut BTreeMap<PathBuf, String>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, root, found);
            } else {
                found.insert(path.strip_prefix(root).unwrap().to_owned(), fs::read_to_string(&path).unwrap());
            }
        }
    }
    let mut found = BTreeMap::new();
    gather(kept.path(), kept.path(), &mut found);
    found
}

/// The records written since: kind, and text without the time of entry.
fn written(kept: &TempDir, before: &BTreeMap<PathBuf, String>) -> Vec<(String, String)> {
    let now = files(kept);
    assert!(before.iter().all(|(file, text)| now.get(file) == Some(text)), "something else was changed");
    let new = now.iter().filter(|(file, _)| !before.contains_key(*file));
    let kind = |file: &Path| file.file_stem().unwrap().to_str().unwrap().split('-').nth(3).unwrap().to_owned();
    new.map(|(file, text)| {
        let (event, entered) = text.split_once("\n[entered]\nat = ").unwrap();
        let (moment, by) = entered.split_once('\n').unwrap();
        assert!(DateTime::parse_from_rfc3339(moment).is_ok(), "{text}");
        assert_eq!(by, "by = \"rn-07\"\n");
        (kind(file), event.to_owned())
    })
    .collect()
}

/// A text without its `at` line, whose value comes from the clock.
fn without_at(text: &str) -> String {
    let lines: Vec<&str> = text.lines().filter(|line| !line.starts_with("at = ")).collect();
    lines.join("\n")
}

/// The questions of a change, in order, with the answers of one interview.
const INTERVIEW: [(&str, &str); 17] = [
    ("When was it", "yesterday 18:40\n"),
    ("Who did or saw it?", "p014-spouse\n"),
    ("How do you know?", "told\n"),
    ("Why was the dressing changed?", "after\n"),
    ("Exit site: ", "none\n"),
    ("Dressing and anchor", "each\n"),
    ("How were the dressing and the anchor found?", "wet, in-\n"),
    ("How were the dressing and the anchor left?", "intact\n"),
    ("How was the anchor left?", "in-place\n"),
    ("Write it? [y/N]", "m\n"),
    ("Which steps were missed?", "\n"),
    ("Which skin cleanser", "CHLOR\n"),
    ("Was the driveline", "\n"),
    ("Which antimicrobial disc", "m\n"),
    ("Was skin protectant", "yes\n"),
    ("Was gauze", "\n"),
    ("Any note?", "\n"),
];

fn change_of_the_interview() -> String {
    format!(
        r#"kind = "change"
at = {}T18:40:00{}
by = "p014-spouse"
source = "told"
reason = "after-shower"

[found]
dressing = "wet"
anchor = "in-place"

[materials]
cleanser = "chlorhexidine"
disc = "moistened"
skin_protectant = true

[left]
dressing = "intact"
anchor = "in-place"

[site]
drainage = "none"
redness_mm = 0
swelling = "none"
crust_mm = 0
pain = "none"
odor = false
warmth = false
overgranulation = false
bleeding = false
"#,
        days_ago(1),
        offset()
    )
}

#[test]
fn what_was_not_typed_is_asked_for_and_written_after_a_yes() {
    let kept = one_patient();
    let before = files(&kept);
    let mut session = seat(&kept, &["record", "change", "P-014"]);
    let shown = session.exp_string("When was it").unwrap();
    assert!(text(&shown).starts_with("P-014 · POD 100 · right-upper · last change "), "{shown}");
    session.send("yesterday 18:40\n").unwrap();
    session.flush().unwrap();
    talk(&mut session, &INTERVIEW[1..]);
    session.exp_string("all nine findings asked about, none reported").unwrap();
    assert_eq!(written(&kept, &before), []);
    talk(&mut session, &[("Write it? [y/N]", "y\n")]);
    let shown = ends(&mut session, 0);
    assert!(shown.contains("Recorded patients/P-014/") && shown.contains("next change due"), "{shown}");
    assert!(shown.contains("To take it back:\r\n  exitsite void patients/P-014/"), "{shown}");
    assert_eq!(written(&kept, &before), [("change".to_owned(), change_of_the_interview())]);
}

#[test]
fn an_answer_that_does_not_fit_is_asked_for_again_with_a_sentence() {
    let kept = one_patient();
    let before = files(&kept);
    let mut session = seat(&kept, &["record", "change", "P-014"]);
    talk(
        &mut session,
        &[
            ("When was it", "half past six\n"),
            ("is not a time. Write 18:40", ""),
            ("When was it", "tomorrow 10:00\n"),
            ("\"tomorrow 10:00\" is in the future", ""),
            ("When was it", "yesterday 18:40\n"),
            ("Who did or saw it?", "p014-spose\n"),
            ("Unknown code p014-spose. Codes on file: ", ""),
            ("Who did or saw it?", "\n"),
            ("Required.", ""),
            ("Who did or saw it?", "patient\n"),
            ("How do you know?", "\n"),
            ("Required.", ""),
            ("How do you know?", "heard\n"),
            ("heard is not a choice.", ""),
            ("How do you know?", "<\n"),
            ("Who did or saw it?", "1\n"),
            ("Why was the dressing changed?", "s\n"),
            ("could be scheduled, soiled or", ""),
            ("Why was the dressing changed?", "sched\n"),
            ("Exit site: ", "n\n"),
            ("n is not a choice", ""),
            ("Exit site: ", "f\n"),
            ("What kind of drainage", "serous\n"),
            ("How much drainage?", "scant\n"),
            ("How far does redness", "a bit\n"),
            ("is not a number", ""),
            ("How far does redness", "3.5\n"),
            ("Is there swelling?", "\n"),
            ("How far does crust", "\n"),
            ("Is there pain", "\n"),
            ("Which are present?", "\n"),
            ("What is the body temperature?", "\n"),
            ("Dressing and anchor", "\n"),
            ("Write it? [y/N]", "perhaps\n"),
            ("Type y for yes, or n for no.", ""),
            ("Write it? [y/N]", "y\n"),
        ],
    );
    ends(&mut session, 0);
    let new = written(&kept, &before);
    let text = &new[0].1;
    for line in [
        "by = \"rn-07\"",
        "source = \"seen\"",
        "reason = \"scheduled\"",
        "drainage = \"serous\"",
        "amount = \"scant\"",
        "redness_mm = 3.5",
    ] {
        assert!(text.lines().any(|there| there == line), "{line}\n{text}");
    }
    assert!(!text.contains("[found]") && !text.contains("odor"), "{text}");
}

/// The number of questions shown: lines with the prompt, and the last question.
fn asked(shown: &str) -> usize {
    shown.lines().filter(|line| line.starts_with("> ")).count() + shown.matches("Write it? [y/N]").count()
}

#[test]
fn the_questions_of_a_change_are_few() {
    let kept = one_patient();
    let scheduled: &[(&str, &str)] = &[
        ("When was it", "\n"),
        ("Who did or saw it?", "1\n"),
        ("Why was the dressing changed?", "1\n"),
        ("Exit site: ", "none\n"),
        ("Dressing and anchor", "1\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    let findings: &[(&str, &str)] = &[
        ("When was it", "yesterday 20:00\n"),
        ("Who did or saw it?", "p014-spouse\n"),
        ("How do you know?", "told\n"),
        ("Why was the dressing changed?", "1\n"),
        ("Exit site: ", "f\n"),
        ("What kind of drainage", "serous, scant\n"),
        ("How far does redness", "3\n"),
        ("Is there swelling?", "exit\n"),
        ("How far does crust", "2\n"),
        ("Is there pain", "slight\n"),
        ("Which are present?", "odor, warmth\n"),
        ("What is the body temperature?", "98.6\n"),
        ("Dressing and anchor", "1\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    // Pus under a soiled dressing and a loose anchor, as told, and asked about one by one.
    let pus: &[(&str, &str)] = &[
        ("When was it", "yesterday 16:00\n"),
        ("Who did or saw it?", "p014-spouse\n"),
        ("How do you know?", "told\n"),
        ("Why was the dressing changed?", "soiled\n"),
        ("Exit site: ", "pus, moderate\n"),
        ("How far does redness", "12\n"),
        ("Is there swelling?", "exit\n"),
        ("How far does crust", "2\n"),
        ("Is there pain", "severe\n"),
        ("Which are present?", "odor, warmth\n"),
        ("What is the body temperature?", "101.5\n"),
        ("Dressing and anchor", "each\n"),
        ("How were the dressing and the anchor found?", "soiled, loose\n"),
        ("How were the dressing and the anchor left?", "intact, in place\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    for (lines, most) in [(scheduled, 6), (findings, 15), (pus, 15)] {
        let before = files(&kept);
        let mut session = seat(&kept, &["record", "change", "P-014"]);
        let mut shown = String::new();
        for (question, answer) in lines {
            shown.push_str(&text(&session.exp_string(question).unwrap()));
            shown.push_str(question);
            session.send(answer).unwrap();
            session.flush().unwrap();
        }
        shown.push_str(&ends(&mut session, 0));
        assert!((1..=most).contains(&asked(&shown)), "{} questions\n{shown}", asked(&shown));
        assert_eq!(lines.len(), asked(&shown), "{shown}");
        assert_eq!(written(&kept, &before).len(), 1);
    }
}

#[test]
fn what_was_typed_is_not_asked_for_again() {
    let kept = one_patient();
    let before = files(&kept);
    let typed = ["record", "shower", "P-014", "--source", "seen", "--at", "yesterday 18:40"];
    let mut session = seat(&kept, &typed);
    talk(&mut session, &[("Who did or saw it?", "p014-spouse\n"), ("What kind of water?", "shower\n")]);
    talk(
        &mut session,
        &[
            ("How was the dressing before", "\n"),
            ("How was the dressing after", "\n"),
            ("How is the anchor?", "\n"),
            ("Any note?", "\n"),
        ],
    );
    session.exp_string("by p014-spouse, seen").unwrap();
    talk(&mut session, &[("Write it? [y/N]", "y\n")]);
    assert!(!ends(&mut session, 0).contains("How do you know?"));
    assert!(written(&kept, &before)[0].1.contains("source = \"seen\"\n"));
}

#[test]
fn a_no_at_the_end_and_the_end_of_input_write_nothing() {
    let kept = one_patient();
    let before = files(&kept);
    for (answer, status) in [("n\n", 0), ("\u{4}", 0)] {
        let mut session = seat(&kept, &["record", "change", "P-014"]);
        talk(&mut session, &INTERVIEW);
        talk(&mut session, &[("Write it? [y/N]", answer)]);
        match answer {
            "n\n" => talk(&mut session, &[("Not saved yet: 1 go back and correct", "discard\n")]),
            _ => stops(&mut session, &INTERVIEW),
        }
        assert!(ends(&mut session, status).contains("Nothing was written."));
        assert_eq!(files(&kept), before);
    }
    for questions in [0, 1, 8, 16] {
        let mut session = seat(&kept, &["record", "change", "P-014"]);
        talk(&mut session, &INTERVIEW[..questions]);
        talk(&mut session, &[(INTERVIEW[questions].0, ""), ("> ", "\u{4}")]);
        stops(&mut session, &INTERVIEW[..questions]);
        assert!(ends(&mut session, 2).contains("Stopped. Nothing was written"));
        assert_eq!(files(&kept), before);
    }
}

#[test]
fn ctrl_c_at_any_question_leaves_the_records_and_the_terminal_as_they_were() {
    let kept = one_patient();
    let before = files(&kept);
    for questions in 0..=INTERVIEW.len() {
        let mut session = seat(&kept, &["record", "change", "P-014"]);
        talk(&mut session, &INTERVIEW[..questions]);
        let next = INTERVIEW.get(questions).map_or("Write it? [y/N]", |(question, _)| question);
        talk(&mut session, &[(next, "\u{3}")]);
        stops(&mut session, &INTERVIEW[..questions]);
        assert!(ends(&mut session, 130).contains("stopped. Nothing was written."), "{next}");
        assert_eq!(files(&kept), before, "{next}");
    }
    // A no asks the question again; a second Ctrl-C shows the line that writes the answers.
    let mut session = seat(&kept, &["record", "change", "P-014"]);
    talk(&mut session, &INTERVIEW[..3]);
    talk(
        &mut session,
        &[
            ("Why was the dressing changed?", "\u{3}"),
            ("Stop and drop these 3 answers? [y/N]", "n\n"),
            ("Why was the dressing changed?", "\u{3}"),
        ],
    );
    talk(&mut session, &[("Stop and drop these 3 answers? [y/N]", "\u{3}")]);
    let shown = ends(&mut session, 130);
    assert!(shown.contains("To write what you answered so far:\r\n  exitsite --records "), "{shown}");
    // The command is continued after a backslash, so that the terminal breaks no word of it.
    let shown = shown.replace(" \\\r\n      ", " ");
    let line = shown.lines().find(|line| line.starts_with("  exitsite ")).unwrap();
    assert!(line.ends_with(" --by p014-spouse --source told"), "{line}");
    assert_eq!(files(&kept), before);
}

#[test]
fn ctrl_c_at_any_question_of_a_course_and_of_the_staff_list_writes_nothing() {
    let kept = one_patient();
    let before = files(&kept);
    let added: &[(&str, &str)] = &[
        ("What day was the implant?", "12/15/2024\n"),
        ("Where does the driveline leave the skin?", "midline\n"),
        ("Where does the patient live now?", "home\n"),
        ("What day do your records", "today\n"),
        ("How many driveline infections", "0\n"),
        ("What day was the last dressing change", "yesterday\n"),
        ("Who changes the dressing at home?", "\n"),
        ("How does the household report?", "each\n"),
        ("Any known intolerances?", "\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    let ended: &[(&str, &str)] = &[
        ("What day did support end?", "yesterday\n"),
        ("Why did support end?", "recovery\n"),
        ("Is that right? [y/N]", "y\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    let staff: &[(&str, &str)] = &[
        ("What is this person's role?", "nurse\n"),
        ("May this person sign", "no\n"),
        ("What day did this person start?", "\n"),
        ("Write it? [y/N]", "y\n"),
    ];
    for (command, lines) in
        [(["patient", "add", "P-050"], added), (["patient", "end", "P-014"], ended), (["staff", "add", "rn-12"], staff)]
    {
        for (questions, (question, _)) in lines.iter().enumerate() {
            let mut session = seat_of(&kept, 60, &[], &command);
            talk(&mut session, &lines[..questions]);
            talk(&mut session, &[(question, "\u{3}")]);
            stops(&mut session, &lines[..questions]);
            assert!(ends(&mut session, 130).contains("stopped. Nothing was written."), "{question}");
            assert_eq!(files(&kept), before, "{question}");
        }
        // At a narrow terminal a US date is accepted and repeated back, and no word is broken.
        let mut session = seat_of(&kept, 60, &[], &command);
        let mut shown = String::new();
        for (question, answer) in lines {
            shown.push_str(&text(&session.exp_string(question).unwrap()));
            shown.push_str(question);
            session.send(answer).unwrap();
            session.flush().unwrap();
        }
        shown.push_str(&ends(&mut session, 0));
        assert!(
            command[1] != "add" || command[0] != "patient" || shown.contains("That is Sunday, December 15, 2024."),
            "{shown}"
        );
        assert!(
            shown
                .lines()
                .all(|line| line.trim_start_matches("> ").trim_end().chars().count() <= 60 || line.contains('/')),
            "{shown}"
        );
        let now = files(&kept);
        let new: Vec<&PathBuf> =
            now.iter().filter(|(file, text)| before.get(*file) != Some(*text)).map(|(file, _)| file).collect();
        assert_eq!(new.len(), 1, "{new:?} {shown}");
        let path = kept.path().join(new[0]);
        match before.get(new[0]) {
            Some(was) => fs::write(&path, was).unwrap(),
            None => fs::remove_dir_all(path.parent().unwrap()).unwrap(),
        }
    }
}

#[test]
fn a_record_is_picked_from_the_list_of_a_records_folder_named_from_above_it() {
    let kept = one_patient();
    let file = format!("patients/P-014/{0}/{1}T0800-change.toml", days_ago(4).format("%Y"), days_ago(4));
    let mut session = seat_above(&kept, &["void", "P-014"]);
    talk(
        &mut session,
        &[("1  ", ""), ("Which record? Type its number", "1\n"), ("Reason for voiding:", "wrong patient\n")],
    );
    talk(&mut session, &[("Void it? [y/N]", "y\n")]);
    assert!(ends(&mut session, 0).contains(&format!("Voided {file}")));
    assert!(files(&kept)[Path::new(&file)].contains("why = \"wrong patient\""));
}

#[test]
fn what_is_perhaps_on_file_already_is_asked_about() {
    let kept = one_patient();
    let flags = ["record", "shower", "P-014", "--by", "patient", "--dressing-after", "intact"];
    let at = |minute: u32| format!("{}T09:{minute:02}", days_ago(1));
    let mut session = seat(&kept, &[&flags[..], &["--at", &at(10), "--yes"]].concat());
    ends(&mut session, 0);
    let before = files(&kept);
    for (minute, answers, new) in [
        (20, vec!["n\n", "discard\n"], 0),
        (20, vec!["y\n", "n\n"], 0),
        (20, vec!["discard\n", "1\n", "Save anyway\n", "y\n"], 1),
    ] {
        let mut session = seat(&kept, &[&flags[..], &["--at", &at(minute)]].concat());
        session.exp_string("Possible duplicate of").unwrap();
        let left = "Not saved yet: type save anyway, or type discard";
        let questions = match answers.as_slice() {
            ["y\n", ..] => vec!["Save anyway? [y/N]", "Write it? [y/N]"],
            _ => vec!["Save anyway? [y/N]", left, left, "Write it? [y/N]"],
        };
        for (question, answer) in questions.iter().zip(&answers) {
            talk(&mut session, &[(question, answer)]);
        }
        ends(&mut session, 0);
        assert_eq!(written(&kept, &before).len(), new, "{answers:?}");
    }
}

#[test]
fn a_swapped_code_is_asked_about() {
    let kept = records(&[("P-014", 0, SPOUSE), ("P-041", 9, "")]);
    let before = files(&kept);
    let flags = ["record", "shower", "P-014", "--by", "patient", "--dressing-after", "intact"];
    let mut session = seat(&kept, &[&flags[..], &["--at", "yesterday 09:00"]].concat());
    session.exp_string("P-014 has nothing due today. Is this the right patient?").unwrap();
    talk(&mut session, &[("Save anyway? [y/N]", "\n"), ("type discard", "discard\n")]);
    let shown = ends(&mut session, 0);
    assert!(shown.contains("Nothing was written.") && !shown.contains("P-041"), "{shown}");
    assert_eq!(files(&kept), before);
}

#[test]
fn the_editor_is_opened_until_the_record_can_be_used() {
    let kept = one_patient();
    let at = days_ago(1);
    let good = format!("kind = \"change\"\nat = {at}T18:40:00{}\nby = \"patient\"\nsource = \"told\"\n", offset());
    // At each start the editor saves the next of these.
    let desk = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let editor = desk.path().join("editor.sh");
    let drafts = [
        String::new(),
        "kind = \"change".to_owned(),
        good.replace("change", "shower"),
        good.replace("told", "hard"),
        good.clone(),
    ];
    for (n, text) in drafts.iter().enumerate() {
        fs::write(desk.path().join(format!("{n}")), text).unwrap();
    }
    fs::write(
        &editor,
        "cd \"$(dirname \"$0\")\"; n=$(cat n 2>/dev/null || echo 0); cat $n > \"$1\"; echo $((n + 1)) > n\n",
    )
    .unwrap();
    let with_editor = [("EDITOR", format!("sh {}", editor.display()))];
    let with_editor: Vec<(&str, &str)> = with_editor.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let before = files(&kept);
    let arguments = ["record", "change", "P-014", "--at", "yesterday 18:40", "--edit"];
    let mut session = seat_of(&kept, 80, &with_editor, &arguments);
    for sentence in ["`kind` must stay", "Cannot read this as TOML", "`kind` must stay", "\"hard\""] {
        talk(&mut session, &[(sentence, ""), ("Discard your text?", "\n")]);
    }
    talk(&mut session, &[("Site, dressing and anchor not recorded. Write it?", "y\n")]);
    ends(&mut session, 0);
    let new = files(&kept);
    let new: Vec<&String> = new.iter().filter(|(file, _)| !before.contains_key(*file)).map(|(_, text)| text).collect();
    assert_eq!(new.len(), 1);
    assert!(new[0].starts_with(&good) && new[0][good.len()..].starts_with("\n[entered]\nat = "), "{}", new[0]);
    // If the person gives up, the typed text is returned.
    fs::remove_file(desk.path().join("n")).unwrap();
    let before = files(&kept);
    fs::write(desk.path().join("0"), "kind = \"change\nnote = \"typed for long\"\n").unwrap();
    let mut session = seat_of(&kept, 80, &with_editor, &arguments);
    talk(&mut session, &[("Discard your text?", "y\n"), ("typed for long", "")]);
    assert!(ends(&mut session, 2).contains("Nothing was written"));
    assert_eq!(files(&kept), before);
}

#[test]
fn without_a_terminal_every_missing_flag_is_named_at_once() {
    let kept = one_patient();
    let before = files(&kept);
    let run = |arguments: &[&str]| {
        let mut command = assert_cmd::Command::cargo_bin("exitsite").unwrap();
        command.env_clear().arg("--records").arg(kept.path()).args(arguments).assert().code(2).stdout("")
    };
    let lines: [&[&str]; 6] = [
        &["record", "contact", "P-014"],
        &["record", "change", "P-014", "--by", "rn-07"],
        &["record", "change", "P-014", "--by", "RN-07"],
        &["record", "change", "P-014", "--by", "rn-07", "--redness-mm", "3,5"],
        &["record", "change", "P-014", "--by", "rn-07", "--edit"],
        &["round", "--by", "rn-07"],
    ];
    let screen = |arguments: &&[&str]| {
        let said = run(arguments).get_output().stderr.clone();
        format!("$ exitsite {}\n{}\n", arguments.join(" "), String::from_utf8(said).unwrap())
    };
    desk::keep(
        "terminal_without_a_terminal_every_missing_flag_is_named_at_once",
        &lines.iter().map(screen).collect::<String>(),
    );
    assert_eq!(files(&kept), before);
}

/// The text of a call in the round, without its time.
fn call(with: &str, outcome: &str, more: &str) -> String {
    format!(
        "kind = \"contact\"\nby = \"rn-07\"\nsource = \"told\"\nwith = \"{with}\"\nabout = [\"other\"]\noutcome = \"{outcome}\"{more}"
    )
}

/// The last word of the line of keys.
const KEYS: &str = "quit";

/// The questions of a change reported by the spouse, with all but author and time skipped.
const CHANGED: [(&str, &str); 5] = [
    ("Who changed it", "p014-spouse\n"),
    ("When was it changed", "yesterday 20:00\n"),
    ("Why was it changed", "\n"),
    ("Exit site: ", "\n"),
    ("Dressing and anchor", "\n"),
];

/// The last questions of a call with a change.
const REST_OF_CHANGE: [(&str, &str); 5] = [CHANGED[2], CHANGED[3], CHANGED[4], REST[0], REST[2]];

/// The answer that the spouse was reached.
const REACHED: (&str, &str) = ("Who was reached", "p014-spouse\n");

/// The answers for no signal, no note, and a yes.
const REST: [(&str, &str); 3] = [("Which open signals", "\n"), ("Note, one line", "\n"), ("Write it? [y/N]", "yes\n")];

/// The end of the list, where the last record can still be taken back.
const AT_THE_END: (&str, &str) = ("End of the list", "q");

#[test]
fn each_key_of_the_round_asks_shows_and_writes() {
    let tomorrow = now().date_naive() + Days::new(1);
    let until = |time: &str| format!("\nexpect_by = {tomorrow}T{time}:00{}", offset());
    for (key, answers, with, outcome, more, is_changed) in [
        ("c", vec![REACHED, ("Outcome", "advised\n")], "p014-spouse", "advised", String::new(), false),
        ("N", vec![("Write it? [y/N]", "yes\n")], "other", "no-answer", String::new(), false),
        // Within 24 h of the call, at whichever hour the test runs.
        ("w", vec![REACHED, ("By when", "tomorrow 00:00\n")], "p014-spouse", "will-change", until("00:00"), false),
        ("i", vec![REACHED, ("By when", "\n")], "p014-spouse", "coming-in", String::new(), false),
        ("d", [&[REACHED][..], &CHANGED].concat(), "p014-spouse", "other", String::new(), true),
    ] {
        let kept = one_patient();
        let before = files(&kept);
        let mut session = seat(&kept, &["round"]);
        talk(&mut session, &[("1 of 1", ""), ("P-014", ""), ("Call: p014-spouse (spouse)", ""), (KEYS, key)]);
        talk(&mut session, &answers);
        // An unanswered call is written with its first answer.
        if key != "N" {
            assert_eq!(files(&kept), before, "{key}");
            talk(&mut session, if is_changed { &REST_OF_CHANGE[3..] } else { &REST });
        }
        session.exp_string("Recorded patients/P-014/").unwrap();
        let new = written(&kept, &before);
        talk(&mut session, &[AT_THE_END]);
        assert!(ends(&mut session, 0).contains("1 patient on the list, 1 recorded, 0 skipped."));
        let contact = new.iter().find(|(kind, _)| kind == "contact").unwrap();
        let about = if key == "N" { "[\"not-looked-at\", \"untaught\", \"overdue\"]" } else { "[\"other\"]" };
        assert_eq!(without_at(&contact.1), call(with, outcome, &more).replace("[\"other\"]", about), "{key}");
        let change = format!(
            "kind = \"change\"\nat = {}T20:00:00{}\nby = \"p014-spouse\"\nsource = \"told\"\n",
            days_ago(1),
            offset()
        );
        let changes: Vec<&String> = new.iter().filter(|(kind, _)| kind == "change").map(|(_, text)| text).collect();
        assert_eq!(changes, if is_changed { vec![&change] } else { vec![] }, "{key}");
        assert_eq!(written(&kept, &before), new);
    }
}

#[test]
fn another_key_is_asked_for_again_and_quitting_keeps_what_was_written() {
    for (leave, status) in [("q", 0), ("\u{3}", 130)] {
        let kept = records(&[("P-011", 9, ""), ("P-012", 8, ""), ("P-013", 7, ""), ("P-015", 6, "")]);
        let before = files(&kept);
        let mut session = seat(&kept, &["round"]);
        talk(
            &mut session,
            &[("1 of 4", ""), ("P-011", ""), (KEYS, "x"), ("Type one of c, d, w, i, n, s, u, <, ?, q.", "")],
        );
        talk(
            &mut session,
            &[
                (KEYS, "n"),
                ("Write it? [y/N]", "y\n"),
                ("Recorded patients/P-011/", ""),
                ("2 of 4", ""),
                ("P-012", ""),
                (KEYS, "s"),
            ],
        );
        talk(&mut session, &[("3 of 4", ""), ("P-013", ""), (KEYS, leave)]);
        let shown = ends(&mut session, status);
        if leave == "q" {
            assert!(shown.contains("4 patients on the list, 1 recorded, 1 skipped, 2 not yet shown."), "{shown}");
        }
        let new = written(&kept, &before);
        assert_eq!(new.len(), 1);
        // An unanswered call is about the open signals.
        let about = "[\"changes-missed\", \"not-looked-at\", \"untaught\", \"overdue\"]";
        assert_eq!(without_at(&new[0].1), call("other", "no-answer", "").replace("[\"other\"]", about));
    }
}

#[test]
fn ctrl_c_or_the_end_of_input_at_a_question_of_the_round_writes_nothing() {
    let to_until = [REACHED, ("By when", "\n"), REST[0], REST[1]];
    let to_change = [REACHED, CHANGED[0], CHANGED[1], CHANGED[2], CHANGED[3], CHANGED[4], REST[0]];
    for (key, questions) in [("w", &to_until[..]), ("d", &to_change)] {
        let kept = one_patient();
        let before = files(&kept);
        for n in 0..=questions.len() {
            let next = questions.get(n).map_or("Write it? [y/N]", |(question, _)| question);
            let mut session = seat(&kept, &["round"]);
            talk(&mut session, &[(KEYS, key)]);
            talk(&mut session, &questions[..n]);
            talk(&mut session, &[(next, "\u{3}")]);
            stops(&mut session, &questions[..n]);
            ends(&mut session, 130);
            let mut session = seat(&kept, &["round"]);
            talk(&mut session, &[(KEYS, key)]);
            talk(&mut session, &questions[..n]);
            talk(&mut session, &[(next, "\u{4}")]);
            stops(&mut session, &questions[..n]);
            talk(&mut session, &[("Nothing was written.", ""), (KEYS, "q")]);
            ends(&mut session, 0);
            assert_eq!(files(&kept), before);
        }
    }
}

#[test]
fn where_the_terminal_goes_away_nothing_is_asked_again_for_ever() {
    let kept = one_patient();
    let before = files(&kept);
    let log = kept.path().with_extension("ended");
    // If a hangup does not end the program, as under nohup.
    let script = format!(
        "trap '' HUP; '{}' --records '{}' round; echo $? > '{}'",
        env!("CARGO_BIN_EXE_exitsite"),
        kept.path().display(),
        log.display()
    );
    let mut holder = Command::new("script")
        .args(["-qec", &script, "/dev/null"])
        .env("EXITSITE_BY", "rn-07")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut shown = Vec::new();
    let mut byte = [0];
    while !String::from_utf8_lossy(&shown).contains(KEYS) {
        holder.stdout.as_mut().unwrap().read_exact(&mut byte).unwrap();
        shown.push(byte[0]);
    }
    holder.kill().unwrap();
    holder.wait().unwrap();
    let begun = Instant::now();
    while !fs::read_to_string(&log).is_ok_and(|said| said.ends_with('\n')) {
        assert!(begun.elapsed() < Duration::from_millis(PATIENCE), "it goes on and on");
        sleep(Duration::from_millis(20));
    }
    fs::remove_file(&log).unwrap();
    assert_eq!(files(&kept), before);
}

#[test]
fn a_patient_who_cannot_be_judged_is_shown_first_and_gone_past() {
    let kept = records(&[("P-011", 9, ""), ("P-012", 8, "")]);
    fs::write(kept.path().join("patients/P-012/patient.toml"), "code = ").unwrap();
    let before = files(&kept);
    let mut session = seat(&kept, &["round"]);
    talk(&mut session, &[("1 of 2", ""), ("P-012", ""), ("cannot be read", ""), ("any other key continues", "x")]);
    talk(
        &mut session,
        &[
            ("2 of 2", ""),
            ("P-011", ""),
            (KEYS, "n"),
            ("Write it? [y/N]", "y\n"),
            ("Recorded patients/P-011/", ""),
            AT_THE_END,
        ],
    );
    ends(&mut session, 3);
    assert_eq!(written(&kept, &before).len(), 1);
}

#[test]
fn which_exit_site_and_with_whom_is_asked_where_there_are_several() {
    let since = days_ago(50);
    let second =
        format!("\n[[exit]]\nid = \"b\"\nwhere = \"left-upper\"\nfrom = {since}\nwhy = \"second-pump\"\n{SPOUSE}{SON}");
    let kept = records(&[("P-014", 4, &second)]);
    let before = files(&kept);
    let mut session = seat(&kept, &["round"]);
    talk(
        &mut session,
        &[
            ("P-014", ""),
            ("P-014 b", ""),
            ("p014-spouse (spouse), p014-son (son)", ""),
            (KEYS, "d"),
            ("Who was reached", "p014-s\n"),
            ("p014-s could be p014-spouse or p014-son.", ""),
            ("Who was reached", "p014-so\n"),
            ("Who changed it", "p014-son\n"),
            ("Which exit site, or all: 1 a (right-upper), 2 b (left-upper)", "c\n"),
            ("c is not a choice.", ""),
            ("Which exit site", "b\n"),
            ("When was it changed", "tomorrow 10:00\n"),
            ("When was it changed", "yesterday 20:00\n"),
        ],
    );
    talk(&mut session, &REST_OF_CHANGE);
    session.exp_string("Recorded patients/P-014/").unwrap();
    talk(&mut session, &[AT_THE_END]);
    ends(&mut session, 0);
    let new = written(&kept, &before);
    let change = &new.iter().find(|(kind, _)| kind == "change").unwrap().1;
    assert!(change.contains("by = \"p014-son\"\n") && change.contains("exit = \"b\"\n"), "{change}");
    assert_eq!(new.len(), 2);
}

#[test]
fn a_change_of_the_future_is_asked_for_again() {
    let kept = one_patient();
    let before = files(&kept);
    let mut session = seat(&kept, &["round"]);
    talk(
        &mut session,
        &[(KEYS, "d"), REACHED, CHANGED[0], ("When was it changed", "23:30\n"), ("write \"yesterday 23:30\"", "")],
    );
    talk(&mut session, &[("When was it changed", "yesterday 23:30\n")]);
    talk(&mut session, &REST_OF_CHANGE);
    talk(&mut session, &[AT_THE_END]);
    ends(&mut session, 0);
    assert_eq!(written(&kept, &before).len(), 2);
}

#[test]
fn what_does_not_fit_is_said_in_lines_that_break_no_word() {
    let kept = one_patient();
    let mut session = seat_of(&kept, 60, &[], &["record", "change", "P-014"]);
    talk(&mut session, &[("When was it", "half past six\n")]);
    let shown = text(&session.exp_string("When was it").unwrap());
    assert!(
        shown.contains(
            "is not a time. Write 18:40, 9pm,\r\n    \"yesterday 18:40\", 2026-11-23T18:40, or 2026-11-23\r\n    alone"
        ),
        "{shown}"
    );
    talk(&mut session, &[("> ", "\u{4}")]);
    ends(&mut session, 2);
    // A failure, too; in a log it stays on one line.
    let mut session = seat_of(&kept, 60, &[], &["record", "change", "P-014", "--at", "half past six"]);
    let shown = ends(&mut session, 2);
    assert!(shown.lines().count() > 1 && shown.lines().all(|line| line.chars().count() <= 60), "{shown}");
}

#[test]
fn every_line_fits_a_narrow_terminal_and_color_is_left_out_where_it_is_not_wanted() {
    for columns in [60, 80] {
        for (environment, is_plain) in [(&[][..], false), (&[("NO_COLOR", "1")][..], true)] {
            let kept = one_patient();
            let mut session = seat_of(&kept, columns, environment, &["round"]);
            let mut shown = String::new();
            for (until, key) in [(KEYS, "d"), ("Who was reached", "\u{4}"), (KEYS, "q")] {
                shown.push_str(&text(&session.exp_string(until).unwrap()));
                shown.push_str(until);
                session.send(key).unwrap();
                session.flush().unwrap();
            }
            shown.push_str(&ends(&mut session, 0));
            let plain = console::strip_ansi_codes(&shown);
            let too_wide = plain.lines().find(|line| line.trim_end().chars().count() > usize::from(columns));
            assert_eq!(too_wide, None, "{columns}");
            assert!(!is_plain || !shown.contains('\u{1b}'), "{shown:?}");
        }
    }
}

#[test]
fn keys_typed_ahead_skip_no_one() {
    let kept = records(&[("P-011", 5, ""), ("P-012", 5, "")]);
    let before = files(&kept);
    let mut session = seat(&kept, &["round"]);
    talk(&mut session, &[("1 of 2", ""), (KEYS, "oops"), ("Type one of", ""), (KEYS, "s")]);
    talk(&mut session, &[("Skipped P-011; open: ", ""), ("2 of 2", ""), (KEYS, "q")]);
    let shown = ends(&mut session, 0);
    assert!(shown.contains("0 recorded, 1 skipped, 1 not yet shown"), "{shown}");
    assert_eq!(files(&kept), before);
}
