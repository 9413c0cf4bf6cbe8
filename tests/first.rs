//! The first day with the program, in an empty folder and without an editor.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk;

use std::ffi::OsString;
use std::path::Path;

use desk::{NOW, Person};
use exitsite::command::{Outcome, Surroundings, Terminal, run};
use tempfile::TempDir;

/// Runs a command in a folder.
fn run_in(here: &Path, arguments: &[&str], person: Option<&Person>) -> Outcome {
    let surroundings = Surroundings {
        now: NOW.parse().unwrap(),
        here: here.to_owned(),
        writer: Some("co-1".to_owned()),
        terminal: person.map(|person| person as &dyn Terminal),
        width: Some(80),
        error_width: Some(80),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

fn empty() -> TempDir {
    tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap()
}

#[test]
fn the_name_alone_prints_six_lines_and_the_commands_in_three_groups() {
    let Outcome { stdout, stderr, status, .. } = run_in(empty().path(), &[], None);
    assert_eq!((stdout.as_str(), status), ("", 2));
    let lines: Vec<&str> = stderr.lines().collect();
    let first: Vec<&str> = lines.iter().skip(1).take_while(|line| !line.is_empty()).copied().collect();
    assert_eq!(first.len(), 6, "{stderr}");
    for title in ["Each day", "Each month", "Set up"] {
        assert!(lines.contains(&title), "{stderr}");
    }
    assert!(lines.iter().all(|line| line.chars().count() <= 80), "{stderr}");
}

#[test]
fn a_mistyped_command_suggests() {
    for (typed, meant) in
        [("deu", "due"), ("recrod", "record"), ("patients", "patient"), ("chek", "check"), ("dew", "due")]
    {
        let Outcome { stderr, status, .. } = run_in(empty().path(), &[typed], None);
        assert_eq!(status, 2);
        assert!(stderr.contains(&format!("'{meant}'")), "{typed}: {stderr}");
    }
}

#[test]
fn a_mistyped_part_of_a_command_suggests_none_from_elsewhere() {
    for typed in [&["patient", "staf"][..], &["record", "doe"], &["xyw"]] {
        let Outcome { stderr, status, .. } = run_in(empty().path(), typed, None);
        assert_eq!(status, 2);
        assert!(!stderr.contains("similar"), "{typed:?}: {stderr}");
    }
}

#[test]
fn an_error_is_wrapped_to_the_width_of_its_own_stream() {
    let run_at = |width, error_width| {
        let here = empty();
        let surroundings = Surroundings {
            now: NOW.parse().unwrap(),
            here: here.path().to_owned(),
            width,
            error_width,
            ..Surroundings::default()
        };
        run(["exitsite", "due", "--records", "nowhere/at/all/in/a/folder"].map(OsString::from), &surroundings).stderr
    };
    let longest = |text: String| text.lines().map(|line| line.chars().count()).max().unwrap();
    assert!(longest(run_at(None, Some(60))) <= 60, "{}", run_at(None, Some(60)));
    assert!(longest(run_at(Some(60), None)) > 60, "{}", run_at(Some(60), None));
}

#[test]
fn a_program_of_three_patients_takes_at_most_twelve_commands_and_no_editor() {
    let kept = empty();
    let records = kept.path().join("records");
    let line = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<_>>();
    let mut commands = vec![
        ["init", "records", "--time-zone", "America/New_York", "--program", "Example VAD program"]
            .map(str::to_owned)
            .to_vec(),
    ];
    for rest in [
        "staff add co-1 --role coordinator --yes",
        "staff add rn-07 --role nurse --may-sign --yes",
        "patient add P-001 --implanted 2026-11-10 --where right-upper --yes",
        "patient add P-002 --implanted 2026-11-12 --where left-upper --caregiver p002-son:son --yes",
        "patient add P-003 --implanted 2026-11-16 --where midline --yes",
        "record change P-001 --by rn-07 --source seen --at 2026-11-23T09:00 --yes",
        "record change P-002 --by rn-07 --source seen --at 2026-11-24T07:00 --yes",
        "record change P-003 --by rn-07 --source seen --at 2026-11-24T07:10 --yes",
        "check",
        "due",
    ] {
        commands.push(line(rest));
    }
    assert!(commands.len() <= 12);
    let mut last = String::new();
    for command in &commands {
        let here = if command[0] == "init" { kept.path() } else { &records };
        let command: Vec<&str> = command.iter().map(String::as_str).collect();
        let Outcome { stdout, stderr, status, .. } = run_in(here, &command, None);
        assert_eq!(status, 0, "{command:?}: {stderr}");
        last = stdout;
    }
    assert!(last.contains("P-001") && last.contains("P-002"), "{last}");
    let policy = std::fs::read_to_string(records.join("policy.toml")).unwrap();
    assert!(policy.contains("program = \"Example VAD program\"") && policy.contains("\"America/New_York\""));
}

#[test]
fn init_ends_with_the_four_commands_that_come_next_and_makes_the_first_commit() {
    let kept = empty();
    let Outcome { stdout, status, .. } = run_in(kept.path(), &["init", "records"], None);
    assert_eq!(status, 0);
    let next: Vec<&str> = stdout.lines().rev().take_while(|line| line.starts_with("  exitsite ")).collect();
    assert_eq!(next.len(), 4, "{stdout}");
    let git = |arguments: &[&str]| {
        let records = kept.path().join("records");
        let output = std::process::Command::new("git").arg("-C").arg(records).args(arguments).output().unwrap();
        String::from_utf8(output.stdout).unwrap()
    };
    assert_eq!(git(&["log", "--format=%s"]), "Lay out the records\n");
    assert_eq!(git(&["status", "--porcelain"]), "");
    // Git's own maintenance keeps the graph of changed paths (chunk BIDX, gitformat-commit-graph(5)) that `init` began.
    git(&[
        "-c",
        "user.name=Invented",
        "-c",
        "user.email=invented@example.org",
        "commit",
        "--allow-empty",
        "--no-verify",
        "-m",
        "x",
    ]);
    git(&["gc", "--quiet"]);
    let graph = std::fs::read(kept.path().join("records/.git/objects/info/commit-graph")).unwrap();
    assert!(graph.windows(4).any(|chunk| chunk == b"BIDX"));
}

#[test]
fn the_letters_of_a_us_clock_are_no_zone_and_name_the_right_one() {
    let kept = empty();
    for (typed, meant) in [("CST", "America/Chicago"), ("EST", "America/New_York"), ("mst", "America/Denver")] {
        let arguments = ["init", "records", "--program", "Invented", "--time-zone", typed];
        let Outcome { status, stderr, .. } = run_in(kept.path(), &arguments, None);
        assert_eq!((status, kept.path().join("records").exists()), (2, false), "{stderr}");
        assert!(stderr.contains(&format!("Did you mean {meant}?")), "{stderr}");
    }
}

#[test]
fn init_asks_for_name_and_zone_at_a_terminal_and_a_slip_is_asked_again() {
    let kept = empty();
    let person = Person::typing(&["Example VAD program", "Chicago time", "America/Denver"]);
    let Outcome { status, stdout, .. } = run_in(kept.path(), &["init", "records"], Some(&person));
    assert_eq!((status, person.left()), (0, 0), "{}", person.saw());
    assert!(
        person.saw().contains("Unknown time zone \"Chicago time\". Write an IANA name such as"),
        "{}",
        person.saw()
    );
    let policy = std::fs::read_to_string(kept.path().join("records/policy.toml")).unwrap();
    assert!(policy.contains("program = \"Example VAD program\"") && policy.contains("\"America/Denver\""), "{stdout}");
    // Enter leaves the name for later, never the zone; the end of input creates nothing.
    let person = Person::typing(&["", "", "America/Chicago"]);
    let Outcome { stdout, .. } = run_in(kept.path(), &["init", "later"], Some(&person));
    let saw = person.saw();
    assert_eq!(saw.matches("such as America/New_York or America/Denver").count(), 2, "{saw}");
    assert!(saw.contains("Required.") && person.left() == 0, "{saw}");
    assert!(stdout.contains("First set `program`, and read") && !stdout.contains("Time zone:"), "{stdout}");
    for answers in [&[][..], &["Example VAD program"], &["", "", ""]] {
        let Outcome { status, .. } = run_in(kept.path(), &["init", "never"], Some(&Person::typing(answers)));
        assert_eq!((status, kept.path().join("never").exists()), (2, false), "{answers:?}");
    }
}

#[test]
fn init_in_a_script_says_that_the_time_zone_is_the_templates_until_it_is_typed() {
    let kept = empty();
    let line = "Time zone: America/Chicago, the template's. Set `time_zone` in policy.toml.\n";
    for (dir, more, is_said) in [
        ("neither", &[][..], true),
        ("name", &["--program", "Example VAD program"], true),
        ("zone", &["--time-zone", "America/Chicago"], false),
    ] {
        let Outcome { stdout, status, .. } = run_in(kept.path(), &[&["init", dir], more].concat(), None);
        assert_eq!((status, stdout.contains(line)), (0, is_said), "{stdout}");
    }
}

#[test]
fn check_of_a_new_folder_says_what_is_still_the_templates() {
    let kept = empty();
    run_in(kept.path(), &["init", "records"], None);
    let records = kept.path().join("records");
    let said = run_in(&records, &["check"], None).stdout;
    for part in ["the template's name", "No staff on file", "No patients on file"] {
        assert!(said.contains(part), "{said}");
    }
    run_in(&records, &["staff", "add", "co-1", "--role", "coordinator", "--yes"], None);
    let said = run_in(&records, &["check"], None).stdout;
    assert!(!said.contains("No staff") && said.contains("No patients on file"), "{said}");
}
