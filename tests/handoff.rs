//! The handoff: each record and each change of a signal in the shift in which it was entered, the danger first, one
//! screen for a quiet night and one page to sign.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::fs;
use std::path::Path;

use desk::Desk;
use exitsite::command::{Outcome, Surroundings, run};
use serde_json::{Value, json};

const FULL_LOOK: &str =
    "[site]\ndrainage = \"none\"\nredness_mm = 0\nswelling = \"none\"\ncrust_mm = 0\npain = \"none\"\n";

const PUS: &str =
    "[site]\ndrainage = \"purulent\"\nredness_mm = 0\nswelling = \"none\"\ncrust_mm = 0\npain = \"none\"\n";

/// The patient at home with a look and a change yesterday at noon; the shift is from 19:15 to 07:15.
fn desk() -> Desk {
    let desk = Desk::new().at_80_columns();
    desk.put(
        "policy.toml",
        &format!("{}[signals]\nhome-untaught = {{ off = \"taught elsewhere\" }}\n", desk.get("policy.toml")),
    );
    event(&desk, "2026-11-23T1200", "change", &format!("by = \"rn-07\"\nsource = \"seen\"\n{FULL_LOOK}"));
    desk
}

/// Adds a record of P-001, such as `2026-11-24T0600` of the kind `change`.
fn event(desk: &Desk, at: &str, kind: &str, more: &str) -> String {
    let (day, time) = at.split_once('T').unwrap();
    let file = format!("patients/P-001/2026/{at}-{kind}.toml");
    desk.put(&file, &format!("kind = \"{kind}\"\nat = {day}T{}:{}:00\n{more}", &time[..2], &time[2..]));
    file
}

fn entered(at: &str) -> String {
    format!("[entered]\nat = {at}:00-06:00\nby = \"rn-07\"\n")
}

fn handoff(desk: &Desk, more: &[&str]) -> Value {
    let report = desk.json(&[&["handoff"], more].concat());
    jsonschema::validate(&exitsite::schema::schema("handoff").unwrap(), &report).unwrap();
    report
}

/// The names of the signals in a list, or the files of its records.
fn names<'a>(report: &'a Value, list: &str) -> Vec<&'a str> {
    let name = |one: &'a Value| one["signal"].as_str().or(one["file"].as_str()).unwrap();
    report[list].as_array().unwrap().iter().map(name).collect()
}

#[test]
fn a_pending_culture_has_its_own_line_and_nothing_is_denied_beside_it() {
    let desk = desk();
    desk.done(&["handoff"]);
    event(&desk, "2026-11-17T1040", "culture", "by = \"rn-07\"\nsource = \"seen\"\nspecimen = \"exit-site\"\n");
    let text = desk.done(&["handoff"]);
    assert!(!text.contains("None ") && !text.contains("No open"), "{text}");
    event(&desk, "2026-11-18T1000", "treatment", "by = \"md-3\"\nsource = \"seen\"\nwhat = \"oral-antibiotic\"\n");
    desk.done(&["handoff"]);
    let shown = desk.done(&["show", "P-001"]);
    assert!(!shown.contains("no open infection"), "{shown}");
    desk.keep_screens("handoff_a_pending_culture_has_its_own_line");
}

/// Overdue for a day by the interval, and for an hour after a shower: the shower comes first, as on the list.
#[test]
fn the_overdue_stand_in_the_order_of_the_list() {
    let desk = desk();
    for (code, records) in [
        ("P-002", &[("2026-11-20T0800", "change", "")][..]),
        ("P-003", &[("2026-11-24T0300", "change", ""), ("2026-11-24T0410", "shower", "dressing_before = 'intact'\n")]),
    ] {
        let patient = desk::PATIENT.replace("P-001", code).replace("p001", &code.replace("P-", "p"));
        desk.put(&format!("patients/{code}/patient.toml"), &patient);
        for (at, kind, more) in records {
            let (day, time) = at.split_once('T').unwrap();
            let when = format!("at = {day}T{}:{}:00", &time[..2], &time[2..]);
            let text = format!("kind = '{kind}'\n{when}\nby = 'rn-07'\nsource = 'seen'\n{more}");
            desk.put(&format!("patients/{code}/2026/{at}-{kind}.toml"), &text);
        }
    }
    let order = |report: &Value, list: &str| -> Vec<String> {
        let rows = report[list].as_array().unwrap().iter().filter(|row| row["state"] == "overdue");
        rows.map(|row| row["patient"].as_str().unwrap().to_owned()).collect()
    };
    let list = desk.json(&["due"]);
    assert_eq!(order(&list, "rows"), ["P-003", "P-002"]);
    assert_eq!(order(&handoff(&desk, &[]), "overdue"), ["P-003", "P-002"]);
}

/// Two hours west of the program, each time of a signal, a call and a promise has its offset.
#[test]
fn the_zone_is_named_where_the_patient_lives_by_another_clock() {
    let desk = desk();
    let call = "by = 'co-1'\nsource = 'told'\nwith = 'p001-son'\nabout = ['pus']\noutcome = 'will-change'\nexpect_by = 2026-11-24T09:00:00\n";
    event(&desk, "2026-11-24T0300", "assessment", &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}"));
    event(&desk, "2026-11-24T0400", "contact", call);
    for command in ["handoff", "signals"] {
        let text = desk.done(&[command]);
        assert!(!text.contains("-08:00"), "{text}");
    }
    let moved = "[[care]]\nfrom = 2026-11-20\nplace = \"home\"\ntime_zone = \"America/Los_Angeles\"\n";
    desk.put("patients/P-001/patient.toml", &format!("{}\n{moved}", desk::PATIENT));
    for command in ["handoff", "signals"] {
        desk.done(&[command]);
    }
    desk.keep_screens("handoff_the_zone_is_named_where_the_patient_lives_by_another_clock");
}

/// A shift from 17:00 that hands off at 07:15: the default start loses the records before 19:15, and says so.
#[test]
fn records_just_before_the_default_start_are_counted_with_a_start_that_covers_them() {
    let desk = desk();
    let flat = |more: &[&str]| {
        let text = desk.done(&[&["handoff"], more].concat());
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert!(!flat(&[]).contains("not in this handoff"), "{}", flat(&[]));
    assert_eq!(handoff(&desk, &[])["just_before"], Value::Null);
    event(&desk, "2026-11-23T1806", "assessment", &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}"));
    event(&desk, "2026-11-23T1815", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"intact\"\n");
    event(&desk, "2026-11-23T1710", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"intact\"\n");
    let line =
        "2 records entered between 18:00 and 19:15 are not in this handoff: --since 2026-11-23T18:00 includes them";
    assert!(flat(&[]).contains(line), "{}", flat(&[]));
    let expected = json!({"records": 2, "since": "2026-11-23T18:00:00-06:00"});
    assert_eq!(handoff(&desk, &[])["just_before"], expected);
    let since = ["--since", "2026-11-23T18:00"];
    assert_eq!(handoff(&desk, &since)["recorded"].as_array().unwrap().len(), 2);
    assert!(flat(&since).contains("pus since Mon 18:06 (new)"), "{}", flat(&since));
    // a start that was typed is meant
    assert!(!flat(&since).contains("not in this handoff"), "{}", flat(&since));
    // a handoff leaves out the records of its first instant, so 18:00 would not cover one of 18:00
    event(&desk, "2026-11-23T1800", "inspection", "by = \"rn-07\"\nsource = \"seen\"\ndressing = \"intact\"\n");
    assert_eq!(handoff(&desk, &[])["just_before"], json!({"records": 3, "since": "2026-11-23T17:00:00-06:00"}));
}

#[test]
fn a_signal_of_today_that_opened_before_the_handoff_is_listed_open_or_ended() {
    let desk = desk();
    event(&desk, "2026-11-24T0410", "assessment", &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}"));
    let since = ["--since", "06:00"];
    let flat = || desk.done(&["handoff", "--since", "06:00"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(names(&handoff(&desk, &since), "earlier_today"), ["pus"]);
    for part in ["0 new signals, 1 earlier today", "P-001 a pus since today 04:10 (before this handoff)"] {
        assert!(flat().contains(part), "{part}: {}", flat());
    }
    let bled = "by = \"rn-07\"\nsource = \"seen\"\nmechanism = \"snag\"\nanchor = \"loose\"\n";
    event(&desk, "2026-11-24T0420", "trauma", bled);
    event(
        &desk,
        "2026-11-24T0540",
        "change",
        &format!("by = \"rn-07\"\nsource = \"seen\"\n{FULL_LOOK}[left]\nanchor = \"in-place\"\n"),
    );
    let screen = flat();
    let ended = screen.split_once("ENDED EARLIER TODAY, BEFORE THIS HANDOFF (2)").unwrap().1;
    assert!(ended.contains("P-001 a pus since today 04:10") && ended.contains("ended today 05:40"), "{screen}");
    assert!(ended.contains("anchor not secured since today 04:20"), "{screen}");
}

#[test]
fn a_quiet_night_is_one_screen() {
    let desk = desk();
    let report = handoff(&desk, &[]);
    assert_eq!((&report["since"], &report["hours_ahead"]), (&json!("2026-11-23T19:15:00-06:00"), &json!(12)));
    for list in
        ["open", "rose", "worse", "acted_on", "ended", "withdrawn", "contacts", "promises", "recorded", "corrected"]
    {
        assert_eq!(report[list], json!([]), "{list}");
    }
    let text = desk.done(&["handoff"]);
    assert!(text.lines().count() <= 12, "{text}");
    desk.keep_screens("handoff_a_quiet_night_is_one_screen");
}

#[test]
fn what_was_recorded_and_called_is_told_with_its_outcome() {
    let desk = desk();
    let inspection =
        event(&desk, "2026-11-23T2130", "inspection", "by = \"p001-son\"\nsource = \"told\"\ndressing = \"wet\"\n");
    let call = event(
        &desk,
        "2026-11-23T2140",
        "contact",
        "by = \"co-1\"\nwith = \"p001-son\"\nabout = [\"water-at-site\"]\noutcome = \"will-change\"\nexpect_by = 2026-11-24T12:00:00\n",
    );
    event(
        &desk,
        "2026-11-23T1800",
        "contact",
        "by = \"co-1\"\nwith = \"patient\"\nabout = [\"other\"]\noutcome = \"advised\"\n",
    );
    let report = handoff(&desk, &[]);
    assert_eq!(names(&report, "recorded"), [&inspection, &call]);
    assert_eq!(names(&report, "contacts"), [&call]);
    assert_eq!(names(&report, "open"), ["water-at-site"]);
    assert_eq!(names(&report, "rose"), ["water-at-site"]);
    assert_eq!(report["promises"][0]["expect_by"], "2026-11-24T12:00:00-06:00");
    desk.done(&["handoff"]);
    // The change keeps the promise and resolves the wet dressing.
    event(&desk, "2026-11-24T0600", "change", "by = \"p001-son\"\nsource = \"told\"\n");
    let report = handoff(&desk, &[]);
    assert_eq!(report["promises"], json!([]));
    assert_eq!((report["open"].clone(), names(&report, "ended")), (json!([]), vec!["water-at-site"]));
    let later = handoff(&desk, &["--since", "05:00"]);
    assert_eq!((names(&later, "rose"), names(&later, "ended")), (vec!["untaught"], vec!["water-at-site"]));
    assert_eq!(names(&later, "acted_on"), ["water-at-site"]);
    desk.done(&["handoff", "--since", "05:00"]);
    desk.keep_screens("handoff_what_was_recorded_and_called_is_told");
}

#[test]
fn a_record_entered_late_belongs_to_the_shift_in_which_it_was_written() {
    let desk = desk();
    let late = event(
        &desk,
        "2026-11-20T0900",
        "assessment",
        &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}{}", entered("2026-11-24T02:10")),
    );
    let report = handoff(&desk, &[]);
    assert_eq!(names(&report, "recorded"), [&late]);
    assert_eq!(names(&report, "entered_late"), [&late]);
    // The pus of Friday was gone on Monday, so it rose and ended before this shift; both are news of this shift.
    assert_eq!((names(&report, "rose"), names(&report, "ended")), (vec!["pus"], vec!["pus"]));
    desk.done(&["handoff"]);
    desk.keep_screens("handoff_a_record_entered_late_belongs_to_the_shift_in_which_it_was_written");
    // The shift before did not know of it, and the one after does not report it.
    let before = handoff(&desk, &["--as-of", "2026-11-23T19:15"]);
    assert!(!names(&before, "recorded").contains(&late.as_str()), "{before}");
    assert_eq!(names(&handoff(&desk, &["--since", "03:00"]), "recorded"), [] as [&str; 0]);
}

#[test]
fn a_voided_record_takes_its_signal_back_and_that_is_told() {
    let desk = desk();
    let file = event(
        &desk,
        "2026-11-23T1300",
        "assessment",
        &format!(
            "by = \"rn-07\"\nsource = \"seen\"\n{PUS}[void]\nat = 2026-11-24T01:00:00-06:00\nby = \"rn-07\"\nwhy = \"another patient\"\n"
        ),
    );
    let report = handoff(&desk, &[]);
    assert_eq!(names(&report, "withdrawn"), ["pus", "score-rising", "drainage-more"]);
    assert_eq!(report["open"], json!([]));
    assert_eq!(names(&report, "corrected"), [&file]);
    desk.done(&["handoff"]);
    desk.keep_screens("handoff_a_voided_record_takes_its_signal_back");
    // Voided before the shift, it is not news.
    assert_eq!(handoff(&desk, &["--since", "02:00"])["withdrawn"], json!([]));
}

#[test]
fn a_signal_that_was_acted_on_or_got_worse_is_told() {
    let desk = desk();
    event(&desk, "2026-11-23T1300", "assessment", &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}"));
    event(
        &desk,
        "2026-11-23T2000",
        "contact",
        "by = \"rn-07\"\nwith = \"md-3\"\nabout = [\"pus\"]\noutcome = \"advised\"\n",
    );
    let report = handoff(&desk, &[]);
    assert_eq!(names(&report, "acted_on"), ["pus"]);
    assert_eq!((report["rose"].clone(), report["open"].clone()), (json!([]), json!([])));
    assert_eq!(names(&report, "open_acted_on"), ["pus"]);
    desk.done(&["handoff"]);
    event(&desk, "2026-11-24T0200", "trauma", "by = \"p001-son\"\nsource = \"told\"\nmechanism = \"snag\"\n");
    event(&desk, "2026-11-24T0300", "trauma", "by = \"p001-son\"\nsource = \"told\"\nmechanism = \"fall\"\n");
    assert_eq!(names(&handoff(&desk, &["--since", "02:30"]), "worse"), ["line-pulled"]);
    desk.done(&["handoff", "--since", "02:30"]);
    desk.keep_screens("handoff_a_signal_that_was_acted_on_or_got_worse_is_told");
}

/// Runs the handoff of the demo on its Tuesday.
fn demo(arguments: &[&str]) -> Outcome {
    on_demo(&[&["handoff"], arguments].concat())
}

/// Runs a command on the demo, as of its Tuesday, in a script.
fn on_demo(arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: Path::new(env!("CARGO_MANIFEST_DIR")).to_owned(),
        records: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

fn of_demo(as_of: &str, since: &str) -> Value {
    let Outcome { stdout, stderr, status, .. } = demo(&["--json", "--as-of", as_of, "--since", since]);
    assert!(matches!(status, 0 | 3), "one patient of the demo cannot be read: {stderr}");
    serde_json::from_str(&stdout).unwrap()
}

#[test]
fn no_record_falls_between_two_shifts_and_none_is_in_both() {
    let times: Vec<String> = (0..15)
        .map(|n| 17 * 24 + 7 + n * 12)
        .map(|hours| format!("2026-11-{:02}T{:02}:15", hours / 24, hours % 24))
        .collect();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for shift in times.windows(2) {
        for file in names(&of_demo(&shift[1], &shift[0]), "recorded") {
            *counts.entry(file.to_owned()).or_default() += 1;
        }
    }
    let whole = of_demo(times.last().unwrap(), &times[0]);
    let all = names(&whole, "recorded");
    assert!(all.len() > 40, "{}", all.len());
    assert_eq!(counts.len(), all.len());
    assert!(all.iter().all(|file| counts.get(*file) == Some(&1)), "{counts:?}");
    // Every open signal not acted on is listed, whenever it rose; each one that rose is open, ended or acted on.
    let list: Value = serde_json::from_str(&{
        let surroundings = Surroundings {
            now: "2026-11-24T13:15:00Z".parse().unwrap(),
            records: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")),
            ..Surroundings::default()
        };
        let words = ["exitsite", "signals", "--json", "--as-of", times.last().unwrap()];
        run(words.map(OsString::from), &surroundings).stdout
    })
    .unwrap();
    let is_open = |signal: &&Value| signal["urgency"] == "today" && signal["news_answered"] == false;
    let open: Vec<&Value> = list["signals"].as_array().unwrap().iter().filter(is_open).collect();
    assert_eq!(whole["open"].as_array().unwrap().len(), open.len());
    assert!(!open.is_empty());
}

#[test]
fn a_shift_that_cannot_be_meant_is_an_error() {
    let desk = desk();
    for since in ["2026-10-01", "2026-11-24T07:16", "tomorrow 07:00", "never", "18:40"] {
        desk.refused(&["handoff", "--since", since]);
    }
    desk.keep_screens("handoff_a_shift_that_cannot_be_meant_is_an_error");
}

#[test]
fn the_page_is_signed_and_takes_the_place_of_nobody_elses_file() {
    let desk = desk();
    event(&desk, "2026-11-24T0600", "change", &format!("by = \"rn-07\"\nsource = \"seen\"\n{PUS}"));
    let kept = tempfile::tempdir().unwrap();
    let page = kept.path().join("handoff.html");
    let shown = page.to_str().unwrap();
    for _ in 0..2 {
        assert_eq!(desk.done(&["handoff", "--html", shown]), format!("Wrote {shown}: a page to sign.\n"));
    }
    let text = fs::read_to_string(&page).unwrap();
    for words in
        ["NEEDS REVIEW TODAY (1)", "pus since today 06:00", "Handed off by, time", "Received by, time", "@page"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(!text.contains("http"), "{text}");
    fs::write(&page, "<p>somebody's work</p>").unwrap();
    assert!(desk.refused(&["handoff", "--html", shown]).contains("already exists"));
    let said = desk.refused(&["handoff", "--html", "handoff.html"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("inside the records folder"), "{said}");
}

#[test]
fn what_cannot_be_read_is_said_first() {
    let desk = desk();
    desk.put("patients/P-001/2026/2026-11-24T0600-change.toml", "kind = \"change\"\nat = \n");
    desk.run(&["handoff"]);
    desk.keep_screens("handoff_what_cannot_be_read_is_said_first");
    desk.put("policy.toml", "schema = 1\n");
    let Outcome { stdout, status, .. } = desk.run(&["handoff", "--json"]);
    assert_eq!(status, 3);
    let report: Value = serde_json::from_str(&stdout).unwrap();
    assert_eq!(report["not_known"], json!(["P-001"]));
}

/// The number before ` signal`, of this week, in the first line of a report that has it.
fn this_week(text: &str) -> i64 {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let before = text.split(" signals need review this week").next().unwrap();
    before.rsplit(' ').next().unwrap().parse().unwrap()
}

#[test]
fn the_alerts_count_the_signals_of_this_week_apart_from_the_overdue_log_and_say_so() {
    let now = ["--as-of", "2026-11-24T07:15"];
    let signals = on_demo(&[&["signals"][..], &now].concat()).stdout;
    let alert = on_demo(&[&["alert", "--dry-run"][..], &now].concat()).stdout;
    assert_eq!((this_week(&signals), this_week(&alert)), (11, 10), "{alert}");
    assert!(alert.contains("(6 acted on, 4 not), not counting 1 overdue log (an overdue alert)"), "{alert}");
}

#[test]
fn the_last_record_of_a_signal_is_the_last_one() {
    let signals = on_demo(&["signals", "P-009", "--as-of", "2026-11-24T07:15"]).stdout;
    let often = "dressing not intact in 3 of the last 10 changes, 3 times, last patients/P-009/2026/2026-11-17T1035-change.toml";
    assert!(signals.split_whitespace().collect::<Vec<_>>().join(" ").contains(often), "{signals}");
}
