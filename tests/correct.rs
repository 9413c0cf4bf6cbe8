//! Corrections of records: amendments, voids, empty fields filled. Author, time, reason and the old value are kept, and
//! nothing else in the file changes.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::fs;
use std::path::PathBuf;

use desk::{Desk, Person};
use exitsite::entry::{Stamp, Standing};
use exitsite::event::EventName;
use exitsite::place::RecordText;
use exitsite::record::{Moment, Value, Values};

const CHANGE: &str = "patients/P-001/2026/2026-11-23T1855-change.toml";

const TEXT: &str = "# told by telephone\nkind = 'change'   # a dressing change\nat = 2026-11-23T18:55:00-06:00\nby = \"rn-07\"\n\n[left]\nanchor = \"in-place\"\n\n# measured with the card\n[site]\nredness_mm = 12 # twice\n# the end\n";

/// The row of an amendment made now.
fn row(was: &str) -> String {
    format!(
        "\n[[amended]]\nat = 2026-11-24T07:15:00-06:00\nby = \"co-1\"\nwhy = \"read from the wrong line\"\nwas = \"{was}\"\n"
    )
}

const WHY: [&str; 5] = ["--by", "co-1", "--why", "read from the wrong line", "--yes"];

fn with<'a>(arguments: &[&'a str]) -> Vec<&'a str> {
    [arguments, &WHY].concat()
}

/// A desk with the teaching signal turned off, which these tests are not about.
fn quiet() -> Desk {
    let desk = Desk::new().at_80_columns();
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[signals]\nhome-untaught = {{ off = 'not of these tests' }}\n"));
    desk
}

fn desk() -> Desk {
    let desk = quiet();
    desk.put(CHANGE, TEXT);
    desk
}

#[test]
fn an_amendment_says_who_when_why_and_what_it_was_and_leaves_the_rest() {
    let desk = desk();
    desk.done(&with(&["amend", CHANGE, "--set", "redness-mm=2", "--set", "note=dry", "--clear", "left.anchor"]));
    let expected = TEXT
        .replace("by = \"rn-07\"\n", "by = \"rn-07\"\nnote = \"dry\"\n")
        .replace("\n[left]\nanchor = \"in-place\"\n", "")
        .replace("= 12 #", "= 2 #");
    let was = "left.anchor = \\\"in-place\\\"; redness_mm = 12; note not given";
    assert_eq!(desk.get(CHANGE), format!("{expected}{}", row(was)));
    assert_eq!(desk.findings(), ["anchor-not-left-in-place"; 0]);
    // And back again, with a second row.
    desk.done(&with(&["amend", CHANGE, "--set", "left.anchor=in-place", "--set", "redness_mm=12", "--clear", "note"]));
    assert_eq!(desk.get(CHANGE).matches("[[amended]]").count(), 2);
    desk.keep_screens("correct_an_amendment_says_who_when_why_and_what_it_was");
}

#[test]
fn a_record_is_named_by_its_path_or_by_its_name_alone() {
    let desk = desk();
    let name = "2026-11-23T1855-change.toml";
    let whole = desk.root().join(CHANGE);
    for (n, file) in
        [CHANGE, name, "P-001/2026-11-23T1855-change.toml", whole.to_str().unwrap()].into_iter().enumerate()
    {
        desk.done(&with(&["amend", file, "--set", &format!("redness_mm={n}")]));
    }
    desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
    desk.put("patients/P-002/2026/2026-11-23T1855-change.toml", TEXT);
    desk.refused(&with(&["amend", name, "--set", "redness_mm=9"]));
    desk.done(&with(&["amend", "patients/P-002/2026-11-23T1855-change.toml", "--set", "redness_mm=9"]));
    for file in ["2026-11-23T1856-change.toml", "nowhere.toml", "P-003/2026-11-23T1855-change.toml", "a/b/c/d"] {
        desk.refused(&with(&["amend", file, "--set", "redness_mm=9"]));
    }
    // A folder whose name is not a code holds no records, and the message escapes the name.
    let stray = "staff/\u{1b}[2J/2026/2026-11-24T0600-change.toml";
    desk.put(stray, TEXT);
    assert!(!desk.refused(&with(&["void", stray])).contains('\u{1b}'));
    for file in ["policy.toml", "patients/P-001/patient.toml", "patients", stray] {
        desk.refused(&with(&["void", file]));
    }
    desk.refused(&with(&["amend", "/etc/passwd", "--clear", "note"]));
    desk.keep_screens("correct_a_record_is_named_by_its_path_or_by_its_name_alone");
}

#[test]
fn what_is_typed_wrong_is_said_all_at_once_and_nothing_is_written() {
    let desk = desk();
    let wrong: [&[&str]; 13] = [
        &["--set", "rednes=3", "--set", "drainage=gren", "--clear", "dressing"],
        &["--set", "redness_mm"],
        &["--set", "redness_mm=wide"],
        &["--set", "redness_mm=900"],
        &["--set", "redness_mm=1", "--clear", "redness_mm"],
        &["--clear", "by"],
        &["--set", "by=rn-77"],
        &["--set", "entered.by=rn-07"],
        &["--set", "note=ring 312-555-0142"],
        &["--set", "drainage=none", "--set", "amount=small"],
        &["--set", "redness_mm=12"],
        &["--clear", "note"],
        &[],
    ];
    for arguments in wrong {
        desk.refused(&with(&[&["amend", CHANGE], arguments].concat()));
    }
    for key in ["at=18:40", "on=2026-11-22", "kind=shower"] {
        desk.refused(&with(&["amend", CHANGE, "--set", key]));
    }
    desk.keep_screens("correct_what_is_typed_wrong_is_said_all_at_once_and_nothing_is_written");
}

#[test]
fn who_and_why_are_needed_and_named_together() {
    let desk = desk();
    let set = ["amend", CHANGE, "--set", "redness_mm=2"];
    desk.refused(&set);
    desk.refused(&["amend", CHANGE]);
    for by in ["rn-99", "rn-02", "Mary Smith", "patient"] {
        desk.refused(&[&set[..], &["--by", by, "--why", "wrong", "--yes"]].concat());
    }
    desk.refused(&[&set[..], &["--by", "co-1", "--why", " ", "--yes"]].concat());
    desk.refused(&[&set[..], &["--by", "co-1", "--why", "wrong"]].concat());
    // A caregiver cannot correct a record by staff; EXITSITE_BY takes effect.
    desk.refused(&[&set[..], &["--by", "p001-son", "--why", "wrong", "--yes"]].concat());
    desk.refused(&["void", CHANGE, "--by", "p001-son", "--why", "wrong", "--yes"]);
    let outcome =
        desk.run_as(Some("rn-07"), &["amend", CHANGE, "--set", "redness_mm=3", "--why", "wrong", "--yes"], None);
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    assert!(desk.get(CHANGE).ends_with("by = \"rn-07\"\nwhy = \"wrong\"\nwas = \"redness_mm = 12\"\n"));
    for command in [&["void", CHANGE][..], &set] {
        desk.refused(&[command, &["--by", "co-1", "--why", "ring 312-555-0142", "--yes"]].concat());
    }
    // Without a staff list no code is refused.
    fs::remove_file(desk.root().join("people.toml")).unwrap();
    desk.put(CHANGE, &TEXT.replace("rn-07", "p001-son"));
    desk.done(&[&set[..], &["--by", "rn-99", "--why", "wrong", "--yes"]].concat());
    desk.keep_screens("correct_who_and_why_are_needed_and_named_together");
}

#[test]
fn a_caregiver_corrects_the_own_record() {
    let desk = desk();
    desk.put(CHANGE, &TEXT.replace("rn-07", "p001-son"));
    desk.done(&["amend", CHANGE, "--set", "redness_mm=2", "--by", "p001-son", "--why", "wrong", "--yes"]);
    assert!(desk.get(CHANGE).ends_with("by = \"p001-son\"\nwhy = \"wrong\"\nwas = \"redness_mm = 12\"\n"));
}

#[test]
fn a_fault_that_was_there_before_does_not_block_and_a_doubt_is_asked() {
    let desk = desk();
    // The author is on no list, and a key is misspelled.
    desk.put(CHANGE, &TEXT.replace("rn-07", "rn-99").replace("[left]", "[left]\nancor = \"loose\""));
    desk.done(&with(&["amend", CHANGE, "--set", "redness_mm=2"]));
    assert!(desk.findings().contains(&"unknown-key".to_owned()));
    desk.put(CHANGE, TEXT);
    let unlikely = ["amend", CHANGE, "--set", "redness_mm=70", "--by", "co-1", "--why", "wrong"];
    desk.refused(&unlikely);
    let person = Person::typing(&["no"]);
    let outcome = desk.run_as(None, &unlikely, Some(&person));
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, "Nothing was written.\n"));
    assert_eq!(desk.get(CHANGE), TEXT);
    let person = Person::typing(&["yes", "y"]);
    assert_eq!(desk.run_as(None, &unlikely, Some(&person)).status, 0);
    assert!(desk.get(CHANGE).contains("redness_mm = 70 # twice"));
    desk.keep_screens("correct_a_fault_that_was_there_before_does_not_block_and_a_doubt_is_asked");
}

#[test]
fn on_a_terminal_who_and_why_are_asked_until_they_can_be_used() {
    let desk = desk();
    let person = Person::typing(&["rn-99", "co-1", "read from the wrong line", "y"]);
    let outcome = desk.run_as(None, &["amend", CHANGE, "--set", "redness_mm=2"], Some(&person));
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    assert!(desk.get(CHANGE).ends_with(&row("redness_mm = 12")));
    // The end of input is no yes.
    for answers in [&["co-1"][..], &["co-1", "why"], &[]] {
        let before = desk.get(CHANGE);
        desk.run_as(None, &["amend", CHANGE, "--set", "redness_mm=3"], Some(&Person::typing(answers)));
        assert_eq!(desk.get(CHANGE), before);
    }
    desk.keep_screens("correct_on_a_terminal_who_and_why_are_asked_until_they_can_be_used");
}

#[test]
fn a_dry_run_shows_the_file_and_writes_nothing() {
    let desk = desk();
    let before = desk.everything();
    desk.done(&[&with(&["amend", CHANGE, "--set", "redness_mm=2"])[..], &["--dry-run"]].concat());
    desk.done(&[&with(&["void", CHANGE])[..], &["--dry-run"]].concat());
    assert_eq!(desk.everything(), before);
    desk.keep_screens("correct_a_dry_run_shows_the_file_and_writes_nothing");
}

#[test]
fn private_data_can_be_taken_out_and_is_not_kept_in_the_amendment() {
    let desk = desk();
    desk.put(CHANGE, &TEXT.replace("\n[left]", "note = \"ring 312-555-0142\"\n\n[left]"));
    assert!(desk.findings().contains(&"private-data".to_owned()));
    desk.done(&with(&["amend", CHANGE, "--clear", "note"]));
    assert!(desk.get(CHANGE).contains("was = \"note held a telephone number\"") && !desk.get(CHANGE).contains("0142"));
    assert_eq!(desk.findings(), [""; 0]);
}

#[test]
fn the_whole_file_is_changed_in_the_editor() {
    let desk = desk();
    let edit = ["amend", CHANGE, "--edit", "--by", "co-1", "--why", "read from the wrong line"];
    desk.refused(&edit);
    let edited = |text: &str| text.replace("= 12", "= 2").replace("# the end", "# read again");
    let person = Person::typing(&["y"]).editing(move |text| edited(text));
    let outcome = desk.run_as(None, &edit, Some(&person));
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    let expected = TEXT.replace("= 12", "= 2").replace("# the end", "# read again");
    assert_eq!(desk.get(CHANGE), format!("{expected}{}", row("redness_mm = 12")));
    let before = desk.get(CHANGE);
    type Change = fn(&str) -> String;
    let wrong: [Change; 7] = [
        |text| text.replace("18:55:00", "18:40:00"),
        |text| text.replace("'change'", "'shower'"),
        |text| text.replace("co-1", "rn-07"),
        |text| text.replace("[left]", "[left"),
        |text| text.replace("in-place", "in-plac"),
        |text| text.replace("\"rn-07\"", "7"),
        |text| text.to_owned(),
    ];
    for change in wrong {
        let outcome = desk.run_as(None, &edit, Some(&Person::typing(&["y"]).editing(change)));
        assert_eq!(outcome.status, 2);
        assert_eq!(desk.get(CHANGE), before);
    }
    desk.keep_screens("correct_the_whole_file_is_changed_in_the_editor");
}

#[test]
fn what_was_typed_in_the_editor_is_not_lost_to_a_slip() {
    let desk = desk();
    let edit = ["amend", CHANGE, "--edit", "--by", "co-1", "--why", "read from the wrong line"];
    let person = Person::typing(&["", "n", "y"]).editing(|text| match text {
        text if text.contains("= 12") => text.replace("= 12", "= 900"),
        text if text.contains("= 900") => text.replace("= 900", "= \"9"),
        text => text.replace("= \"9", "= 9"),
    });
    let outcome = desk.run_as(None, &edit, Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{}", outcome.stderr);
    assert_eq!(desk.get(CHANGE), format!("{}{}", TEXT.replace("= 12", "= 9"), row("redness_mm = 12")));
    desk.keep_screens("correct_what_was_typed_in_the_editor_is_not_lost_to_a_slip");
}

#[test]
fn a_real_editor_at_a_real_terminal_is_refused_what_somebody_else_changed() {
    let desk = desk();
    desk.put("theirs", &TEXT.replace("= 12", "= 5"));
    desk.put("editor", "sed -i 's/= 12/= 2/' \"$1\"\ncp theirs $RECORD\n");
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_exitsite"));
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap()).current_dir(desk.root());
    command.env("EDITOR", "sh editor").env("RECORD", CHANGE);
    command.args(["amend", CHANGE, "--edit", "--by", "co-1"]);
    let mut session = rexpect::session::spawn_command(command, Some(60_000)).unwrap();
    session.exp_string("Reason for the correction:").unwrap();
    session.send_line("read from the wrong line").unwrap();
    session.exp_string("redness_mm: 12 -> 2").unwrap();
    session.exp_string("Write it? [y/N]").unwrap();
    session.send_line("y").unwrap();
    session.exp_string("Another user changed ").unwrap();
    session.exp_eof().unwrap();
    assert_eq!(desk.get(CHANGE), desk.get("theirs"));
    let refused = desk.get(&format!("{CHANGE}.rej"));
    assert!(refused.starts_with(&TEXT.replace("= 12", "= 2")) && refused.contains("was = \"redness_mm = 12\""));
}

#[test]
fn a_commit_holds_the_correction_and_nothing_else() {
    let desk = desk();
    let git = |arguments: &[&str]| {
        let mut git = std::process::Command::new("git");
        git.current_dir(desk.root()).args(arguments);
        let output = git.output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    git(&["init", "--quiet"]);
    git(&["config", "user.name", "Invented"]);
    git(&["config", "user.email", "invented@example.org"]);
    git(&["config", "core.hooksPath", "/dev/null"]);
    git(&["add", "."]);
    git(&["commit", "--quiet", "--message", "all"]);
    desk.put("policy.toml", &format!("{}# mine\n", desk.get("policy.toml")));
    desk.done(&with(&["amend", CHANGE, "--set", "redness_mm=2", "--commit"]));
    desk.done(&["patient", "move", "P-001", "--place", "inpatient", "--by", "co-1", "--yes", "--commit"]);
    desk.done(&[
        "patient",
        "add",
        "P-014",
        "--implanted",
        "mon",
        "--where",
        "midline",
        "--by",
        "co-1",
        "--yes",
        "--commit",
    ]);
    let expected =
        "P-014: a new patient\nP-001: inpatient from 2026-11-24\nP-001: 2026-11-23T1855-change amended\nall\n";
    assert_eq!(git(&["log", "--format=%s"]), expected);
    assert_eq!(git(&["status", "--short"]), " M policy.toml\n");
}

#[test]
fn a_file_that_changed_meanwhile_is_left_and_both_versions_are_kept() {
    let desk = desk();
    let path: PathBuf = desk.root().join(CHANGE);
    let theirs = TEXT.replace("= 12", "= 5");
    let (other, text) = (path.clone(), theirs.clone());
    let person = Person::typing(&["y"]).editing(move |mine| {
        fs::write(&other, &text).unwrap();
        mine.replace("= 12", "= 2")
    });
    let edit = ["amend", CHANGE, "--edit", "--by", "co-1", "--why", "read from the wrong line"];
    let outcome = desk.run_as(None, &edit, Some(&person));
    assert_eq!(outcome.status, 2);
    assert_eq!(desk.get(CHANGE), theirs);
    let mine = format!("{}{}", TEXT.replace("= 12", "= 2"), row("redness_mm = 12"));
    assert_eq!(desk.get(&format!("{CHANGE}.rej")), mine);
    desk.keep_screens("correct_a_file_that_changed_meanwhile_is_left_and_both_versions_are_kept");
}

#[test]
fn of_many_at_once_none_is_lost() {
    let desk = desk();
    let amend = |n: i64| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_exitsite"));
        command.env_clear().current_dir(desk.root());
        command.args(with(&["amend", CHANGE, "--set", &format!("redness_mm={n}")]));
        command.stdout(std::process::Stdio::null()).stderr(std::process::Stdio::piped()).spawn().unwrap()
    };
    let running: Vec<_> = (20..28).map(amend).collect();
    let ended: Vec<_> = running.into_iter().map(|child| child.wait_with_output().unwrap()).collect();
    let done = ended.iter().filter(|output| output.status.success()).count();
    let refused = ended.iter().filter(|output| output.status.code() == Some(2));
    for output in refused.clone() {
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(said.contains("Another user changed "), "{said}");
    }
    assert_eq!((done + refused.count(), desk.get(CHANGE).matches("[[amended]]").count()), (8, done));
    assert!(done >= 1);
}

#[test]
fn a_voided_record_stays_and_counts_for_nothing() {
    let desk = desk();
    let other = "patients/P-001/2026/2026-11-23T1840-change.toml";
    desk.put(other, &TEXT.replace("18:55", "18:40"));
    desk.done(&with(&["void", CHANGE, "--replaced-by", "2026-11-23T1840-change.toml"]));
    let void = "\n[void]\nat = 2026-11-24T07:15:00-06:00\nby = \"co-1\"\nwhy = \"read from the wrong line\"\nreplaced_by = \"2026-11-23T1840-change.toml\"\n";
    assert_eq!(desk.get(CHANGE), format!("{TEXT}{void}"));
    assert_eq!(desk.findings(), [""; 0]);
    // Only once, and never amended or filled in afterward.
    desk.refused(&with(&["void", CHANGE]));
    desk.refused(&with(&["amend", CHANGE, "--set", "redness_mm=2"]));
    // Only a new record takes it back, and the answer gives the effect on the schedule.
    desk.done(&with(&["void", other]));
    desk.keep_screens("correct_a_voided_record_stays_and_counts_for_nothing");
}

#[test]
fn a_value_of_the_policy_that_cannot_be_is_not_called_a_measurement() {
    let desk = Desk::new().at_80_columns();
    desk.put("policy.toml", &format!("{}[signals]\nfever = {{ celsius = 101 }}\n", desk.get("policy.toml")));
    let said = desk.run(&["check", "policy.toml"]).stdout;
    assert!(!said.contains("leave the key out"), "{said}");
    desk.keep_screens("correct_a_value_of_the_policy_that_cannot_be_is_not_called_a_measurement");
}

#[test]
fn voiding_is_asked_about_as_voiding_and_enter_says_no() {
    let desk = desk();
    let nothing = "drainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\nodor = false\nwarmth = false\novergranulation = false\nbleeding = false\n";
    desk.put(CHANGE, &TEXT.replace("redness_mm = 12 # twice\n", nothing));
    let before = desk.everything();
    let void = ["void", CHANGE, "--by", "co-1", "--why", "of somebody else"];
    let person = Person::typing(&["", "n"]);
    assert_eq!(desk.run_as(None, &void, Some(&person)).stderr, "Nothing was written.\n");
    assert_eq!(desk.everything(), before);
    let saw = person.saw();
    assert!(!saw.contains("all nine findings assessed"), "{saw}");
    let person = Person::typing(&["y"]);
    // The only look by staff is gone, and the answer says so first.
    desk.run_as(None, &void, Some(&person));
    desk.keep_screens("correct_voiding_is_asked_about_as_voiding_and_enter_says_no");
}

#[test]
fn a_record_is_replaced_by_one_that_is_there_and_counts() {
    let desk = desk();
    desk.put(
        "patients/P-001/2026/2026-11-22T1000-shower.toml",
        "kind = 'shower'\nat = 2026-11-22T10:00:00\nby = 'rn-07'\n",
    );
    let voided =
        format!("{}\n[void]\nat = 2026-11-23T10:00:00\nby = 'co-1'\nwhy = 'x'\n", TEXT.replace("23T18:55", "22T18:55"));
    desk.put("patients/P-001/2026/2026-11-22T1855-change.toml", &voided);
    desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
    desk.put("patients/P-002/2026/2026-11-22T1855-change.toml", &TEXT.replace("23T18:55", "22T18:55"));
    for file in [
        "2026-11-20-change.toml",
        "2026-11-23T1855-change.toml",
        "2026-11-22T1000-shower.toml",
        "2026-11-22T1855-change.toml",
        "patients/P-002/2026/2026-11-22T1855-change.toml",
        "policy.toml",
    ] {
        desk.refused(&with(&["void", CHANGE, "--replaced-by", file]));
    }
    desk.keep_screens("correct_a_record_is_replaced_by_one_that_is_there_and_counts");
}

#[test]
fn a_record_with_a_fault_can_be_voided_and_one_that_is_no_toml_cannot() {
    let desk = desk();
    for text in [
        TEXT.replace("\"rn-07\"", "\"nobody\""),
        TEXT.replace("= 12", "= 900"),
        TEXT.replace("\"in-place\"", "\"somewhere\""),
        TEXT.replace("2026-11-23T18:55", "2036-11-23T18:55"),
        TEXT.replace("by = \"rn-07\"\n", ""),
    ] {
        desk.put(CHANGE, &text);
        desk.done(&with(&["void", CHANGE]));
        assert!(desk.get(CHANGE).starts_with(&text));
    }
    desk.put(CHANGE, &TEXT.replace("[left]", "[left"));
    desk.refused(&with(&["void", CHANGE]));
    // A record in the future is the most common slip to void.
    let ahead = "patients/P-001/2027/2027-11-23T1855-change.toml";
    desk.put(ahead, &TEXT.replace("2026-11-23", "2027-11-23"));
    desk.done(&with(&["void", ahead]));
    desk.keep_screens("correct_a_record_with_a_fault_can_be_voided_and_one_that_is_no_toml_cannot");
}

#[test]
fn a_result_is_filled_in_once() {
    let desk = desk();
    let culture = "patients/P-001/2026/2026-11-17T1040-culture.toml";
    let text = "kind = \"culture\" # a swab\nat = 2026-11-17T10:40:00\nby = \"rn-07\"\nspecimen = \"exit-site\"\n";
    desk.put(culture, text);
    let result = |more: &[&'static str]| [&["result", culture, "--yes"], more].concat();
    for arguments in [
        &[][..],
        &["--on", "2026-11-16", "--growth", "no"],
        &["--on", "2026-11-25", "--growth", "no"],
        &["--on", "20-11", "--growth", "maybe"],
        &["--on", "yesterday", "--growth", "no", "--organisms", "S. aureus"],
        &["--on", "yesterday", "--growth", "yes", "--organisms", ","],
    ] {
        desk.refused(&result(arguments));
    }
    desk.done(&result(&["--on", "yesterday", "--growth", "yes", "--organisms", "S. aureus, E. coli"]));
    let filled = "\n[result]\non = 2026-11-23\ngrowth = true\norganisms = [\"S. aureus\", \"E. coli\"]\n";
    assert_eq!(desk.get(culture), format!("{text}{filled}"));
    assert_eq!(desk.findings(), [""; 0]);
    desk.refused(&result(&["--on", "yesterday", "--growth", "no"]));
    // The suggested command works.
    desk.done(&with(&[
        "amend",
        culture,
        "--set",
        "result.on=2026-11-23",
        "--set",
        "result.growth=no",
        "--clear",
        "organisms",
        "--source",
        "told",
    ]));
    desk.refused(&["result", CHANGE, "--on", "today", "--growth", "no"]);
    desk.keep_screens("correct_a_result_is_filled_in_once");
}

#[test]
fn an_infection_and_a_treatment_end_once() {
    let desk = desk();
    let infection = "patients/P-001/2026/2026-11-12T1510-infection.toml";
    desk.put(infection, "kind = \"infection\"\nat = 2026-11-12T15:10:00\nby = \"md-3\"\npart = \"driveline-superficial\"\ncertainty = \"proven\"\nonset = 2026-11-10\n");
    let treatment = "patients/P-001/2026/2026-11-12T1600-treatment.toml";
    desk.put(treatment, "kind = \"treatment\"\nat = 2026-11-12T16:00:00\nby = \"md-3\"\nwhat = \"oral-antibiotic\"\n");
    for (file, key, early) in [(infection, "resolved", "2026-11-09"), (treatment, "until", "2026-11-11")] {
        let before = desk.get(file);
        desk.refused(&["resolve", file, "--yes"]);
        desk.refused(&["resolve", file, "--on", early, "--by", "md-3", "--yes"]);
        desk.refused(&["resolve", file, "--on", "tomorrow", "--by", "md-3", "--yes"]);
        if file == infection {
            desk.refused(&["resolve", file, "--on", "mon", "--by", "rn-07", "--yes"]);
        }
        desk.done(&["resolve", file, "--on", "mon", "--by", "md-3", "--yes"]);
        assert_eq!(desk.get(file), format!("{before}{key} = 2026-11-23\n"));
        desk.refused(&["resolve", file, "--on", "2026-11-20", "--by", "md-3", "--yes"]);
    }
    desk.refused(&["resolve", CHANGE, "--on", "mon", "--yes"]);
    assert_eq!(desk.findings(), [""; 0]);
    desk.keep_screens("correct_an_infection_and_a_treatment_end_once");
}

#[test]
fn line_ends_and_marks_of_other_systems_become_those_of_the_records() {
    let desk = desk();
    desk.put(CHANGE, &format!("\u{feff}{}", TEXT.replace('\n', "\r\n")));
    desk.done(&with(&["amend", CHANGE, "--set", "redness_mm=2"]));
    assert_eq!(desk.get(CHANGE), format!("{}{}", TEXT.replace("= 12", "= 2"), row("redness_mm = 12")));
}

#[test]
fn records_of_staff_are_corrected_too() {
    let desk = desk();
    let file = "staff/rn-07/2026/2026-01-12T1000-teaching.toml";
    let text = "kind = \"teaching\"\nat = 2026-01-12T10:00:00\nby = \"co-1\"\nlearner = \"rn-07\"\nobserver = \"co-1\"\ncurriculum = \"dressing-change\"\nversion = 1\nmode = \"attested\"\n";
    desk.put(file, text);
    desk.done(&with(&["amend", file, "--set", "mode=shown"]));
    assert!(desk.get(file).starts_with(&text.replace("attested", "shown")));
    desk.keep_screens("correct_records_of_staff_are_corrected_too");
}

/// Every record file below a folder.
fn records_below(folder: &std::path::Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => records_below(&path, found),
            false => found.push(path),
        }
    }
}

#[test]
fn every_record_of_the_invented_program_can_be_amended_and_voided_and_stays_in_the_form_of_the_records() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    let mut files = Vec::new();
    records_below(&root, &mut files);
    let stamp = Stamp {
        at: Moment { wall: "2026-11-24T07:15:00".parse().unwrap(), offset: None },
        by: "co-1".to_owned(),
        why: "a \"reason\"".to_owned(),
    };
    let mut count = 0;
    for path in files {
        let Some(name) = EventName::read(path.file_name().unwrap().to_str().unwrap()) else { continue };
        let text = fs::read_to_string(&path).unwrap();
        let source = RecordText { file: path.display().to_string(), text: text.clone() };
        // One file is broken on purpose.
        let Ok(standing) = Standing::of(&source, name) else { continue };
        if standing.voided().is_some() {
            continue;
        }
        count += 1;
        let fields = name.kind.fields();
        let is_in_its_form = Values::of(&text).unwrap().write(&fields) == text;
        let note = Value::Text("another".to_owned());
        let amended = standing.amended(&[("note".to_owned(), Some(note))], &stamp).unwrap();
        let voided = Standing::of(&RecordText { text: amended.text.clone(), ..source }, name).unwrap();
        let voided = voided.void(&stamp, Some("2026-11-24-change.toml")).unwrap();
        for line in text.lines().filter(|line| !line.starts_with("note = ")) {
            assert!(voided.text.lines().any(|kept| kept == line), "{}: {line}", path.display());
        }
        if is_in_its_form {
            let read_again = Values::of(&amended.text).unwrap();
            assert_eq!(amended.text, read_again.write(&fields), "{}", path.display());
            assert_eq!(voided.text, Values::of(&voided.text).unwrap().write(&fields), "{}", path.display());
        }
    }
    assert!(count > 200, "{count}");
}

const CULTURE: &str = "patients/P-001/2026/2026-11-20T1000-culture.toml";

/// A patient with two cultures, one of them with growth not yet identified, an infection and a treatment.
fn clinic() -> Desk {
    let desk = desk();
    let put = |name: &str, says: &str| {
        let day = &name[..10];
        let at = format!("at = {day}T{}:{}:00-06:00", &name[11..13], &name[13..15]);
        let kind = name[16..].trim_end_matches(".toml");
        let by = if kind == "culture" { "rn-07" } else { "md-3" };
        desk.put(&format!("patients/P-001/2026/{name}"), &format!("kind = \"{kind}\"\n{at}\nby = \"{by}\"\n{says}\n"));
    };
    put("2026-11-19T0900-culture.toml", "specimen = \"blood\"\n\n[result]\non = 2026-11-21\ngrowth = false");
    put("2026-11-20T1000-culture.toml", "specimen = \"exit-site\"");
    put("2026-11-21T1000-culture.toml", "specimen = \"pocket\"\n\n[result]\non = 2026-11-22\ngrowth = true");
    put("2026-11-22T1000-infection.toml", "part = \"pocket\"\ncertainty = \"proven\"\nonset = 2026-11-20");
    put("2026-11-22T1100-treatment.toml", "what = \"oral-antibiotic\"");
    desk
}

#[test]
fn a_patients_code_lists_the_records_and_a_script_is_told_to_name_one() {
    let desk = clinic();
    let check = |arguments: &[&str], other: &str| {
        let said = desk.refused(arguments);
        assert!(!said.contains(other), "{said}");
    };
    check(&["result", "P-001", "--on", "yesterday", "--growth", "no"], "blood");
    check(&["resolve", "P-001", "--on", "yesterday"], "culture");
    for command in ["amend", "void"] {
        check(&with(&[command, "P-001"]), "older");
    }
    desk.refused(&["result", "P-002"]);
    for n in 0..20 {
        desk.put(
            &format!("patients/P-001/2026/2026-10-{:02}-shower.toml", n + 1),
            &format!("kind = 'shower'\non = 2026-10-{:02}\nby = 'p001-son'\n", n + 1),
        );
    }
    check(&with(&["void", "P-001"]), "2026-10-11");
    desk.keep_screens("correct_a_patients_code_lists_the_records_and_a_script_is_told_to_name_one");
}

#[test]
fn no_growth_within_a_day_of_the_swab_is_asked_about_and_the_correction_is_the_other_growth() {
    for (name, when, taken) in [
        ("2026-11-24T0700-culture.toml", "at = 2026-11-24T07:00:00", Some("15 minutes ago")),
        ("2026-11-23T0730-culture.toml", "at = 2026-11-23T07:30:00", Some("23 hours ago")),
        ("2026-11-24-culture.toml", "on = 2026-11-24", Some("today")),
        ("2026-11-23T0700-culture.toml", "at = 2026-11-23T07:00:00", None),
        ("2026-11-23-culture.toml", "on = 2026-11-23", None),
    ] {
        let desk = desk();
        let culture = format!("patients/P-001/2026/{name}");
        desk.put(&culture, &format!("kind = \"culture\"\n{when}\nby = \"rn-07\"\nspecimen = \"exit-site\"\n"));
        let before = desk.everything();
        let type_lines = |growth: &str, lines: &[&str]| {
            let person = Person::typing(lines);
            let arguments = ["result", &culture, "--on", "today", "--growth", growth];
            (desk.run_as(Some("co-1"), &arguments, Some(&person)), person.saw())
        };
        let (_, shown) = type_lines("yes", &["", "n"]);
        assert!(!shown.contains("was taken"), "{shown}");
        if let Some(taken) = taken {
            let (_, shown) = type_lines("no", &["discard"]);
            assert!(shown.contains(taken), "{shown}");
            assert_eq!(desk.everything(), before);
        }
        let answers: &[&str] = if taken.is_some() { &["y", "y"] } else { &["y"] };
        let (outcome, shown) = type_lines("no", answers);
        assert_eq!((outcome.status, shown.contains("was taken")), (0, taken.is_some()), "{shown}");
        desk.done(&with(&["amend", &culture, "--set", "result.growth=yes", "--source", "told"]));
        assert!(desk.get(&culture).contains("growth = true"));
        let taken = taken.unwrap_or(name.trim_end_matches("-culture.toml")).replace(' ', "_");
        desk.keep_screens(&format!("correct_no_growth_of_a_culture_taken_{taken}"));
    }
}

#[test]
fn a_row_of_the_list_begins_with_what_was_found_and_a_temperature_has_both_units() {
    let desk = desk();
    let put = |time: &str, says: &str| {
        let at = format!("2026-11-22T{}:{}:00", &time[..2], &time[2..]);
        let found = "reason = \"scheduled\"\n[found]\ndressing = \"intact\"\nanchor = \"in-place\"";
        let text =
            format!("kind = \"change\"\nat = {at}\nby = \"rn-07\"\nsource = \"seen\"\n{found}\n[site]\n{says}\n");
        desk.put(&format!("patients/P-001/2026/2026-11-22T{time}-change.toml"), &text);
    };
    put("1000", "redness_mm = 12\nodor = false\ntemperature_c = 38.44");
    put("1100", "drainage = \"serous\"");
    put("1200", "odor = false");
    desk.refused(&with(&["void", "P-001"]));
    let file = "patients/P-001/2026/2026-11-22T1000-change.toml";
    let person = Person::typing(&["temperature_c", "98.6F", "", "wrong line", "n", ""]);
    desk.run_as(Some("co-1"), &["amend", file], Some(&person));
    desk.keep_screens("correct_a_row_of_the_list_begins_with_what_was_found_and_a_temperature_has_both_units");
}

#[test]
fn a_record_is_picked_by_its_number_and_none_is_preselected() {
    let desk = clinic();
    let type_lines = |arguments: &[&str], lines: &[&str]| {
        let person = Person::typing(lines);
        let outcome = desk.run_as(Some("co-1"), arguments, Some(&person));
        (outcome, person.saw())
    };
    let before = desk.everything();
    let (outcome, shown) = type_lines(&["result", "P-001"], &["", ""]);
    assert_eq!((outcome.status, desk.everything() == before), (2, true), "{shown}");
    let (outcome, shown) = type_lines(&["result", "P-001"], &["9", "2", "yesterday", "yes", "", "y"]);
    assert_eq!(outcome.status, 0, "{} {shown}", outcome.stderr);
    assert!(desk.get(CULTURE).ends_with("\n[result]\non = 2026-11-23\ngrowth = true\n"), "{}", desk.get(CULTURE));
    // The organism is added later, without an amendment.
    let (outcome, shown) = type_lines(&["result", "P-001"], &["2", "Candida albicans", "y"]);
    assert_eq!(outcome.status, 0, "{} {shown}", outcome.stderr);
    assert!(
        desk.get(CULTURE).ends_with("growth = true\norganisms = [\"Candida albicans\"]\n"),
        "{}",
        desk.get(CULTURE)
    );
    assert_eq!(desk.findings(), [""; 0]);
    let (outcome, _) = type_lines(&["resolve", "P-001"], &["1", "yesterday", "y"]);
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    assert!(desk.get("patients/P-001/2026/2026-11-22T1100-treatment.toml").contains("until = 2026-11-23"));
    desk.keep_screens("correct_a_record_is_picked_by_its_number_and_none_is_preselected");
}

#[test]
fn the_organism_of_a_culture_is_added_later_and_nothing_else_is_changed_by_it() {
    let desk = clinic();
    let file = "patients/P-001/2026/2026-11-21T1000-culture.toml";
    let said = desk.refused(&["result", file, "--growth", "no", "--organisms", "Candida", "--yes"]);
    assert!(!said.is_empty());
    for wrong in [&["--growth", "no"][..], &["--on", "2026-11-23", "--organisms", "Candida"]] {
        desk.refused(&[&["result", file, "--yes"], wrong].concat());
    }
    desk.refused(&["result", file, "--yes"]);
    let text = desk.get(file);
    desk.done(&["result", file, "--on", "2026-11-22", "--organisms", "Candida albicans", "--yes"]);
    assert_eq!(desk.get(file), format!("{text}organisms = [\"Candida albicans\"]\n"));
    desk.refused(&["result", file, "--organisms", "Serratia", "--on", "2026-11-22", "--growth", "yes", "--yes"]);
    desk.keep_screens("correct_the_organism_of_a_culture_is_added_later_and_nothing_else_is_changed_by_it");
}

/// The records of two patients at home, with a change under the wrong one.
fn two() -> Desk {
    let desk = desk();
    desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
    desk
}

const THERE: &str = "patients/P-002/2026/2026-11-23T1855-change.toml";

#[test]
fn a_record_of_the_wrong_patient_is_written_anew_under_the_right_one_and_voided() {
    let desk = two();
    desk.done(&with(&["void", CHANGE, "--move-to", "P-002"]));
    let there = desk.get(THERE);
    for part in ["by = \"rn-07\"", "redness_mm = 12", "[entered]\nat = 2026-11-24T07:15:00-06:00\nby = \"co-1\""] {
        assert!(there.contains(part), "{part} is not in {there}");
    }
    let voided = desk.get(CHANGE);
    assert!(voided.contains(&format!("why = \"read from the wrong line; written anew as {THERE}\"")), "{voided}");
    assert_eq!(desk.findings(), [""; 0]);
    // A second run finds it done.
    desk.refused(&with(&["void", CHANGE, "--move-to", "P-002"]));
    desk.keep_screens("correct_a_record_of_the_wrong_patient_is_written_anew_under_the_right_one_and_voided");
}

#[test]
fn a_move_that_stopped_between_its_two_writes_is_completed_by_another_run() {
    let desk = two();
    let before = desk.everything();
    desk.done(&with(&["void", CHANGE, "--move-to", "P-002"]));
    let whole = desk.everything();
    // The new record is on file, and the first is not voided yet.
    desk.put(CHANGE, &before.iter().find(|(file, _)| file.ends_with(CHANGE)).unwrap().1);
    desk.done(&with(&["void", CHANGE, "--move-to", "P-002"]));
    assert_eq!(desk.everything(), whole);
    desk.keep_screens("correct_a_move_that_stopped_between_its_two_writes_is_completed_by_another_run");

    // The first one changes while the question waits: the message says where the new one is.
    let desk = two();
    let path = desk.root().join(CHANGE);
    let person = Person::typing(&["y"]).meanwhile(move || fs::write(&path, format!("{TEXT}# look\n")).unwrap());
    let outcome =
        desk.run_as(None, &["void", CHANGE, "--move-to", "P-002", "--by", "co-1", "--why", "wrong"], Some(&person));
    assert_eq!(outcome.status, 2);
    desk.done(&with(&["void", CHANGE, "--move-to", "P-002"]));
    desk.keep_screens(
        "correct_a_move_that_stopped_between_its_two_writes_is_completed_by_another_run_where_the_first_record_changed",
    );
}

#[test]
fn a_record_moves_only_where_it_can_be_true() {
    let desk = two();
    desk.put(CHANGE, &TEXT.replace("\"rn-07\"", "\"p001-son\""));
    desk.refused(&with(&["void", CHANGE, "--move-to", "P-002"]));
    // The refusal comes before the question for a reason.
    let person = Person::typing(&[]);
    let outcome = desk.run_as(Some("co-1"), &["void", CHANGE, "--move-to", "P-002"], Some(&person));
    assert!(person.saw().is_empty(), "{}{}", outcome.stderr, person.saw());
    for code in ["P-001", "P-009", "co-1"] {
        desk.refused(&with(&["void", CHANGE, "--move-to", code]));
    }
    desk.done(&with(&["void", CHANGE, "--move-to", "P-002", "--set", "by=p002-son"]));
    assert!(desk.get(THERE).contains("by = \"p002-son\""));
    desk.keep_screens("correct_a_record_moves_only_where_it_can_be_true");

    // A possible duplicate there is asked about, and a no writes nothing.
    let desk = two();
    desk.put("patients/P-002/2026/2026-11-23T1900-change.toml", &TEXT.replace("18:55", "19:00"));
    let before = desk.everything();
    let person = Person::typing(&["", "y"]);
    let outcome =
        desk.run_as(None, &["void", CHANGE, "--move-to", "P-002", "--by", "co-1", "--why", "wrong"], Some(&person));
    assert_eq!((outcome.status, desk.everything() == before), (0, true), "{}", outcome.stderr);
    let said = desk.done(&with(&["void", CHANGE, "--move-to", "P-002", "--dry-run"]));
    assert!(desk.everything() == before, "{said}");
    desk.keep_screens("correct_a_record_moves_only_where_it_is_no_duplicate");
}

const PUS: &str = "patients/P-001/2026/2026-11-24T0700-assessment.toml";

/// A patient with pus on file since this morning, seen by a nurse.
fn with_pus() -> Desk {
    let desk = quiet();
    desk.put(PUS, "kind = \"assessment\"\nat = 2026-11-24T07:00:00-06:00\nby = \"rn-07\"\nsource = \"seen\"\n\n[site]\ndrainage = \"purulent\"\n");
    desk
}

#[test]
fn what_a_correction_ends_of_today_is_asked_and_yes_alone_does_not_decide_it() {
    let corrections: [(&str, &[&str]); 4] = [
        ("set", &["amend", PUS, "--set", "drainage=none"]),
        ("cleared", &["amend", PUS, "--clear", "drainage", "--set", "redness_mm=0"]),
        ("voided", &["void", PUS]),
        ("moved", &["void", PUS, "--move-to", "P-002"]),
    ];
    for (how, correction) in corrections {
        let desk = with_pus();
        desk.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
        desk.refused(&with(correction));
        // Enter alone, or a no, writes nothing.
        let before = desk.everything();
        let who = ["--by", "co-1", "--why", "wrong line"];
        for answers in [&["", "", "", "", ""][..], &["n"], &[]] {
            let person = Person::typing(answers);
            desk.run_as(None, &[correction, &who].concat(), Some(&person));
            assert_eq!(desk.everything(), before, "{correction:?} {answers:?}");
        }
        let typed = [correction, &WHY, &["--source", "seen"]].concat();
        desk.done(&typed);
        assert_ne!(desk.everything(), before);
        desk.keep_screens(&format!("correct_a_correction_that_ends_pus_is_asked_about_{how}"));
    }
    let desk = with_pus();
    desk.run(&with(&["void", PUS, "--dry-run"]));
    let person = Person::typing(&["y", "y"]);
    let outcome = desk.run_as(None, &["void", PUS, "--by", "co-1", "--why", "wrong line"], Some(&person));
    assert_eq!((outcome.status, desk.get(PUS).contains("[void]")), (0, true), "{}", outcome.stderr);
    desk.keep_screens("correct_a_void_that_ends_pus_after_a_dry_run");
}

#[test]
fn a_correction_that_raises_a_signal_of_today_says_so_first() {
    let pus = with_pus();
    pus.put("patients/P-002/patient.toml", &desk::PATIENT.replace("P-001", "P-002").replace("p001", "p002"));
    pus.done(&with(&["void", PUS, "--move-to", "P-002", "--source", "seen"]));
    pus.keep_screens("correct_a_record_moved_to_another_patient_raises_its_signal_there");
    let desk = desk();
    desk.done(&with(&["amend", CHANGE, "--set", "drainage=purulent"]));
    desk.done(&["result", "--on", "2026-11-24", "--growth", "yes", "--yes", {
        desk.put(CULTURE, "kind = 'culture'\nat = 2026-11-20T10:00:00-06:00\nby = 'rn-07'\nspecimen = 'exit-site'\n");
        CULTURE
    }]);
    desk.keep_screens("correct_a_correction_that_raises_a_signal_of_today_says_so_first");
}

#[test]
fn a_slip_is_asked_again_and_a_less_than_sign_goes_back_one_question() {
    let desk = clinic();
    let lines = ["2", "soon", "yesterday", "<", "2026-11-22", "perhaps", "yes", "<", "no", "y"];
    let person = Person::typing(&lines);
    let outcome = desk.run_as(Some("co-1"), &["result", "P-001"], Some(&person));
    assert_eq!((outcome.status, person.left()), (0, 0), "{} {}", outcome.stderr, person.saw());
    assert!(desk.get(CULTURE).ends_with("[result]\non = 2026-11-22\ngrowth = false\n"), "{}", desk.get(CULTURE));
    let person = Person::typing(&["<", "2", "<", "1", "co-1", "<", "rn-07", "", "of the wrong day", "y", "y"]);
    let outcome = desk.run_as(None, &["void", "P-001"], Some(&person));
    assert_eq!(outcome.status, 0, "{} {}", outcome.stderr, person.saw());
    // From the first question about a wrong pick back to the list.
    assert_eq!(person.saw().matches("This is the first question.").count(), 1, "{}", person.saw());
    assert_eq!(person.saw().matches("Which record?").count(), 3, "{}", person.saw());
    assert!(desk.get(CHANGE).contains("by = \"rn-07\"\nwhy = \"of the wrong day\""), "{}", desk.get(CHANGE));
}

#[test]
fn a_reason_is_at_least_a_word() {
    let desk = desk();
    for why in ["x", "ok", "1 2 3", "a b c d"] {
        desk.refused(&["void", CHANGE, "--by", "co-1", "--why", why, "--yes"]);
    }
    let person = Person::typing(&["x", "wrong day", "y"]);
    desk.run_as(Some("co-1"), &["amend", CHANGE, "--set", "note=dry"], Some(&person));
    assert!(desk.get(CHANGE).contains("why = \"wrong day\""), "{}", person.saw());
    let person = Person::typing(&["wrong day", "y"]);
    desk.run_as(Some("co-1"), &["void", CHANGE], Some(&person));
    desk.keep_screens("correct_a_reason_is_at_least_a_word");
}

#[test]
fn no_answer_of_a_correction_is_dropped_without_a_word() {
    let typed: [(&[&str], &[&str]); 4] = [
        (&["void", "P-001"], &["1", "of the wrong day"]),
        (&["amend", "P-001"], &["1", "note", "seen twice", "", "left out"]),
        (&["result", "P-001"], &["2", "2026-11-22", "yes", "S. aureus; C. albicans"]),
        (&["result", "P-001"], &["2", "2026-11-22", "no"]),
    ];
    for (arguments, answers) in typed {
        let run = |lines: &[&str]| {
            let desk = clinic();
            let before = desk.everything();
            let person = Person::typing(&[answers, lines].concat());
            desk.run_as(Some("co-1"), arguments, Some(&person));
            assert_eq!(person.left(), 0, "{}", person.saw());
            let after = desk.everything();
            (
                after.into_iter().filter(|file| !before.contains(file)).map(|file| file.1).collect::<Vec<_>>(),
                person.saw(),
            )
        };
        let (written, saw) = run(&["y"]);
        assert_eq!(written.len(), 1, "{saw}");
        // Enter and a no ask again; only the word drops it.
        for lines in [&["", "y"][..], &["n", "", "y"], &[desk::CTRL_C, "", "y"]] {
            assert_eq!(run(lines).0, written, "{arguments:?} {lines:?}");
        }
        assert_eq!(run(&["n", "discard"]).0, Vec::<String>::new());
        // Stopped twice, it shows the equivalent command line.
        let (nothing, saw) = run(&[desk::CTRL_C, desk::CTRL_C]);
        assert_eq!(nothing, Vec::<String>::new(), "{saw}");
        let (_, line) = saw.split_once("To write what you answered so far:\n  ").unwrap_or_else(|| panic!("{saw}"));
        // A line that ends with a backslash goes on in the next one.
        let line = line.replace(" \\\n", " ");
        let line = line.lines().next().unwrap();
        assert!(line.starts_with(&format!("exitsite {} patients/P-001/2026/", arguments[0])), "{line}");
        let script = format!("exitsite() {{ for word in \"$@\"; do printf '%s\\0' \"$word\"; done; }}\n{line} --yes");
        let words = std::process::Command::new("sh").args(["-c", &script]).output().unwrap().stdout;
        let words = String::from_utf8(words).unwrap();
        let words: Vec<&str> = words.trim_end_matches('\0').split('\0').collect();
        let desk = clinic();
        let before = desk.everything();
        let outcome = desk.run_as(Some("co-1"), &words, None);
        assert_eq!(outcome.status, 0, "{words:?} {outcome:?}");
        let after = desk.everything();
        let pasted: Vec<String> = after.into_iter().filter(|file| !before.contains(file)).map(|file| file.1).collect();
        assert_eq!(pasted, written, "{line}");
    }
}

/// The commands in a text that are meant for pasting: those in backticks, and those that end a line. A line that ends with a
/// backslash goes on in the next one.
fn to_paste(text: &str) -> Vec<String> {
    let mut commands = Vec::new();
    let text = text.replace(" \\\n      ", " ");
    for line in text.lines() {
        let mut rest = line;
        while let Some(at) = rest.find("exitsite ") {
            let (before, command) = rest.split_at(at);
            // A backtick after a backslash belongs to the command.
            let is_end = |at: &usize| command.as_bytes()[*at] == b'`' && command.as_bytes()[at - 1] != b'\\';
            let marked = before.ends_with('`').then(|| (1..command.len()).find(is_end)).flatten();
            let end = marked.unwrap_or(command.len());
            commands.push(command[..end].to_owned());
            rest = &rest[at + end..];
        }
    }
    commands
}

/// Notes that a shell would change unless quoted.
const NOTES: [&str; 5] = [
    "say \"no\", `date` $HOME \\ 2",
    "it's wet!",
    "two\nlines 50% \\n",
    "a note that is longer than any of the terminals of sixty and of eighty columns, with words",
    "x",
];

#[test]
fn a_command_to_paste_is_whole_at_every_width() {
    let culture = "patients/P-001/2026/2026-11-20T1000-culture.toml";
    let table = std::env::temp_dir().join(format!("paste-{}.csv", std::process::id()));
    fs::write(&table, "patient,kind,on,by\nP-001,shower,2026-11-20,p001-son\n").unwrap();
    let mut runs: Vec<Vec<&str>> = [
        &["record", "change", "P-001", "--by", "rn-07", "--reason", "scheduled", "--redness-mm", "2", "--yes"][..],
        &["result", culture, "--on", "2026-11-23", "--growth", "yes", "--organisms", "S. aureus; C. albicans", "--yes"],
        &["resolve", "patients/P-001/2026/2026-11-20T1100-treatment.toml", "--on", "2026-11-23", "--yes"],
        &["amend", CHANGE, "--set", "at=2026-11-23T18:00", "--by", "co-1", "--why", "wrong", "--yes"],
        &["void", CHANGE, "--by", "co-1", "--why", "wrong", "--yes"],
        &["patient", "order", "P-001", "--on-weekdays", "mon,wed", "--by", "md-3", "--why", "wrong", "--yes"],
        &["patient", "add", "P-001", "--yes"],
        &["import", table.to_str().unwrap(), "--by-entered", "co-1"],
    ]
    .iter()
    .map(|run| run.to_vec())
    .collect();
    runs.extend(
        NOTES.iter().map(|_| vec!["amend", CHANGE, "--set", "note=dry", "--by", "co-1", "--why", "wrong", "--yes"]),
    );
    for (n, run) in runs.iter().enumerate() {
        let note = n.checked_sub(runs.len() - NOTES.len()).map(|n| NOTES[n]);
        let said = |width| {
            let desk = desk();
            let text = note.map(|note| format!("note = {}\n", serde_json::to_string(note).unwrap()));
            desk.put(CHANGE, &TEXT.replace("\n[left]", &format!("{}\n[left]", text.unwrap_or_default())));
            let event = |kind: &str, at: &str, more: &str| {
                let file = format!("patients/P-001/2026/2026-11-20T{at}00-{kind}.toml");
                desk.put(&file, &format!("kind = '{kind}'\nat = 2026-11-20T{at}:00:00-06:00\nby = 'md-3'\n{more}\n"));
            };
            event("culture", "10", "specimen = 'exit-site'");
            event("treatment", "11", "what = 'oral-antibiotic'");
            let outcome = desk.run_at((desk::NOW, width), None, run, None);
            format!("{}{}", outcome.stdout, outcome.stderr)
        };
        let printed = said(10_000);
        let is_alone = |line: &&str| !line.contains(".toml") || line.starts_with("  exitsite ") || line.contains('`');
        assert!(printed.lines().filter(|line| line.contains("exitsite ")).all(|line| is_alone(&line)), "{printed}");
        let wide = to_paste(&printed);
        assert!(!wide.is_empty(), "{run:?} {}", said(10_000));
        for width in [60, 80] {
            assert_eq!(to_paste(&said(width)), wide, "{run:?} at {width}");
        }
        // The shell passes on the note unchanged.
        if let Some(note) = note {
            let script =
                format!("exitsite() {{ for word in \"$@\"; do printf '%s\\0' \"$word\"; done; }}\n{}", wide[0]);
            let words = std::process::Command::new("sh").args(["-c", &script]).output().unwrap().stdout;
            let words = String::from_utf8(words).unwrap();
            assert!(words.split('\0').any(|word| word == format!("note={note}")), "{words:?} {}", wide[0]);
            // Continued on several lines, it is the same command.
            let narrow = said(60);
            let at = narrow.find("exitsite amend ").unwrap();
            let pasted = format!("exitsite() {{ for word in \"$@\"; do printf '%s\\0' \"$word\"; done; }}\n{}", {
                let lines: Vec<&str> = narrow[at..].lines().collect();
                let end = lines.iter().position(|line| !line.ends_with(" \\")).unwrap();
                lines[..=end].join("\n")
            });
            let again = std::process::Command::new("sh").args(["-c", &pasted]).output().unwrap().stdout;
            assert_eq!(String::from_utf8(again).unwrap(), words, "{pasted}");
        }
    }
    fs::remove_file(&table).unwrap();
}
