//! A household's supplies: kits left, the day they run out, and the day to order by, computed by hand.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use exitsite::ask;
use exitsite::command::{Outcome, Surroundings, run};
use exitsite::folder::Folder;
use exitsite::program::Program;
use serde_json::{Value, json};
use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

/// A patient home since 2026-08-27: a change every other day.
const PATIENT: &str = "code = 'P-001'\nimplanted = 2026-08-03\n[[exit]]\nid = 'a'\nwhere = 'right-upper'\nfrom = 2026-08-03\nwhy = 'implant'\n[[care]]\nfrom = 2026-08-03\nplace = 'inpatient'\n[[care]]\nfrom = 2026-08-27\nplace = 'home'\n";

fn said(records: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        ..Surroundings::default()
    };
    run(["exitsite", "supplies"].iter().chain(arguments).map(OsString::from), &surroundings)
}

fn demo(arguments: &[&str]) -> Outcome {
    let records = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    said(&records, &[arguments, &["--as-of", "2026-11-24T07:15"]].concat())
}

fn write(records: &TempDir, file: &str, text: &str) {
    let path = records.path().join(file);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

/// A household, with additions to its course, changes on some days at 08:00, and reports of kits: day, time, keys.
fn household(course: &str, changes: &[&str], kits: &[(&str, &str, &str)]) -> TempDir {
    let records = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    write(&records, "policy.toml", POLICY);
    write(&records, "patients/P-001/patient.toml", &format!("{PATIENT}{course}"));
    for day in changes {
        let text = format!(
            "kind = 'change'\nat = {day}T08:00:00\nby = 'patient'\n[left]\nanchor = 'in-place'\n[site]\ndrainage = 'none'\n"
        );
        write(&records, &format!("patients/P-001/{}/{day}T0800-change.toml", &day[..4]), &text);
    }
    for (day, time, words) in kits {
        let item = if words.contains("item") { "" } else { "item = 'dressing-kit'\n" };
        let text = format!("kind = 'supply'\nat = {day}T{time}:00\nby = 'patient'\n{item}{words}\n");
        let name = format!("{day}T{}-supply.toml", time.replace(':', ""));
        write(&records, &format!("patients/P-001/{}/{name}", &day[..4]), &text);
    }
    records
}

fn report(outcome: &Outcome) -> Value {
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap_or_else(|_| panic!("{}", outcome.stderr));
    jsonschema::validate(&exitsite::schema::schema("supplies").unwrap(), &report).unwrap();
    report
}

fn item(records: &TempDir) -> Value {
    report(&said(records.path(), &["--as-of", "2026-11-24T07:15", "--json"]))["rows"][0]["items"][0].clone()
}

/// Kits on hand, the day they run out, the day to order by, and true if it has come.
fn left(records: &TempDir) -> String {
    let item = item(records);
    let day = |key: &str| item[key].as_str().unwrap_or("-").to_owned();
    format!("{} {} {} {}", item["on_hand"], day("runs_out_on"), day("order_by"), item["short"])
}

/// The last change, on 2026-11-22; the next are due on the 24th, the 26th and so on.
const LAST: [&str; 1] = ["2026-11-22"];

#[test]
fn what_was_never_counted_is_not_known_and_never_zero() {
    let records = household("", &LAST, &[("2026-11-20", "09:00", "received = 20")]);
    let item = item(&records);
    for key in ["counted", "counted_on", "received", "lost", "used", "on_hand", "runs_out_on", "order_by", "short"] {
        assert_eq!(item[key], json!(null), "{key}");
    }
    let text = said(records.path(), &[]).stdout;
    assert!(text.contains("Never counted, at home: P-001"), "{text}");
}

#[test]
fn counted_and_received_less_lost_and_used() {
    let count = ("2026-11-21", "09:00", "counted = 10");
    // one is used on the 22nd: 9 left, for 11-24 to 12-10; the 10th, on 12-12, cannot be supplied
    assert_eq!(left(&household("", &LAST, &[count])), r#"9 2026-12-12 2026-12-05 false"#);
    let more = [count, ("2026-11-22", "09:00", "received = 5"), ("2026-11-23", "09:00", "lost = 12")];
    // 2 left: the 28th cannot be supplied, order by the 21st
    assert_eq!(left(&household("", &LAST, &more)), "2 2026-11-28 2026-11-21 true");
    // the change before the count is included in the count
    let later = [("2026-11-22", "09:00", "counted = 10")];
    assert_eq!(left(&household("", &LAST, &later)), "10 2026-12-14 2026-12-07 false");
}

#[test]
fn short_begins_on_the_day_to_order_by() {
    // 3 left on the 22nd after the change: 24, 26, 28; runs out on the 30th, order by the 23rd
    let records = household("", &LAST, &[("2026-11-22", "09:00", "counted = 3")]);
    let short = |as_of: &str| {
        report(&said(records.path(), &["--as-of", as_of, "--json"]))["rows"][0]["items"][0]["short"].clone()
    };
    assert_eq!((short("2026-11-22"), short("2026-11-23")), (json!(false), json!(true)));
}

#[test]
fn a_later_count_is_the_truth() {
    let kits = [
        ("2026-11-01", "09:00", "counted = 50"),
        ("2026-11-02", "09:00", "received = 50"),
        ("2026-11-23", "09:00", "counted = 4"),
    ];
    let records = household("", &["2026-11-10", "2026-11-22"], &kits);
    // 24, 26, 28, 30; the fifth on 12-02
    assert_eq!(left(&records), "4 2026-12-02 2026-11-25 false");
    // a voided count does not count
    let void = "kind = 'supply'\nat = 2026-11-23T10:00:00\nby = 'patient'\nitem = 'dressing-kit'\ncounted = 99\n[void]\nat = 2026-11-23T12:00:00\nby = 'patient'\nwhy = 'wrong shelf'\n";
    write(&records, "patients/P-001/2026/2026-11-23T1000-supply.toml", void);
    assert_eq!(left(&records), "4 2026-12-02 2026-11-25 false");
}

#[test]
fn a_count_of_years_ago_still_counts() {
    let changes = ["2023-05-01", "2024-05-01", "2025-05-01", "2026-11-22"];
    let course = PATIENT.replace("2026-08-03", "2022-08-03").replace("2026-08-27", "2022-08-27");
    let records = household("", &changes, &[("2023-04-01", "09:00", "counted = 10")]);
    write(&records, "patients/P-001/patient.toml", &course);
    assert_eq!(left(&records), "6 2026-12-06 2026-11-29 false");
}

#[test]
fn only_changes_at_home_use_the_households_kits() {
    // on the ward until 2026-11-21
    let course = PATIENT.replace("2026-08-27", "2026-11-21");
    let records = household("", &["2026-11-20", "2026-11-22"], &[("2026-11-19", "09:00", "counted = 10")]);
    write(&records, "patients/P-001/patient.toml", &course);
    assert_eq!(item(&records)["used"], 1);
}

#[test]
fn a_household_that_uses_more_than_the_schedule_runs_out_sooner() {
    // 28 changes in the 28 days to the 24th, one a day: the n-th is on the 24th + n, and the schedule's are 11-26, 28, ...
    let days: Vec<String> =
        (28..=31).map(|d| format!("2026-10-{d}")).chain((1..=24).map(|d| format!("2026-11-{d:02}"))).collect();
    let days: Vec<&str> = days.iter().map(String::as_str).collect();
    let records = household("", &days, &[("2026-11-24", "09:00", "counted = 9")]);
    let found = report(&said(records.path(), &["--as-of", "2026-11-24T20:00", "--json"]));
    assert_eq!(found["rows"][0]["items"][0]["runs_out_on"], "2026-12-04");
    assert_eq!(found["rows"][0]["items"][0]["order_by"], "2026-11-27");
}

#[test]
fn a_negative_count_is_shown_with_the_advice_to_recount() {
    let records = household("", &LAST, &[("2026-11-20", "09:00", "counted = 1"), ("2026-11-21", "09:00", "lost = 2")]);
    assert_eq!(left(&records), "-2 2026-11-24 2026-11-17 true");
    let text = said(records.path(), &["--as-of", "2026-11-24T07:15"]).stdout;
    assert!(text.contains("P-001 dressing-kit: -2 on hand according to the records: recount"), "{text}");
}

#[test]
fn what_a_household_with_a_log_has_not_told_yet_is_counted_in() {
    let course = PATIENT.replace("place = 'home'", "place = 'home'\nreports = 'log'");
    let records = household("", &["2026-10-31"], &[("2026-11-01", "09:00", "counted = 12")]);
    write(&records, "patients/P-001/patient.toml", &course);
    // planned 11-02, 11-04, ... 11-22 before today: 11 unreported; the 12th is 11-24, the 13th 11-26
    assert_eq!(left(&records), "12 2026-11-26 2026-11-19 true");
    assert_eq!(item(&records)["changes_not_told"], 11);
}

#[test]
fn a_log_that_was_read_in_later_makes_no_day_known_before_it() {
    let course = PATIENT.replace("place = 'home'", "place = 'home'\nreports = 'log'");
    let records = household("", &["2026-10-31"], &[("2026-11-01", "09:00", "counted = 12")]);
    write(&records, "patients/P-001/patient.toml", &course);
    let log = "kind = 'log'\nat = 2026-11-20T12:00:00\nby = 'patient'\nfrom = 2026-11-01\nthrough = 2026-11-20\ncomplete = true\n";
    write(&records, "patients/P-001/2026/2026-11-20T1200-log.toml", log);
    // planned 11-02 to 11-08 before that day: 4 not yet covered by a log
    let then = report(&said(records.path(), &["--as-of", "2026-11-10T07:15", "--json"]));
    assert_eq!(then["rows"][0]["items"][0]["changes_not_told"], 4);
}

#[test]
fn nothing_runs_out_elsewhere_or_after_the_end() {
    let count = [("2026-11-22", "09:00", "counted = 1")];
    let away = household("[[care]]\nfrom = 2026-11-23\nplace = 'elsewhere'\n", &LAST, &count);
    assert_eq!(left(&away), "1 - - false");
    let ended = household("[ended]\non = 2026-11-23\nwhy = 'transplant'\n", &LAST, &count);
    let found = report(&said(ended.path(), &["--json"]));
    assert_eq!((&found["rows"], &found["ended"]), (&json!([]), &json!(["P-001"])));
    assert_eq!(report(&said(ended.path(), &["P-001", "--json"]))["rows"][0]["items"][0]["on_hand"], 1);
}

#[test]
fn what_cannot_be_used_makes_it_unknown() {
    let broken =
        household("", &LAST, &[("2026-11-20", "09:00", "counted = 5"), ("2026-11-21", "09:00", "lost = 'two'")]);
    let outcome = said(broken.path(), &["--json"]);
    assert_eq!((outcome.status, &report(&outcome)["rows"][0]["items"]), (3, &json!(null)));
    let policy = household("", &LAST, &[("2026-11-20", "09:00", "counted = 5")]);
    write(&policy, "policy.toml", &format!("{POLICY}[[supply]]\nitem = 'dressing-kit'\nlead_days = 'a week'\n"));
    let outcome = said(policy.path(), &["--json"]);
    assert_eq!((outcome.status, &report(&outcome)["rows"][0]["items"]), (3, &json!(null)));
    // another kind of record does not affect it, but is named
    let other = household("", &LAST, &[("2026-11-20", "09:00", "counted = 5")]);
    write(&other, "patients/P-001/2026/2026-11-01-culture.toml", "kind = 'culture");
    assert_eq!(left(&other), "4 2026-12-02 2026-11-25 false");
}

#[test]
fn an_item_that_the_policy_does_not_name_is_said() {
    let records = household("", &LAST, &[("2026-11-20", "09:00", "item = 'tape'\ncounted = 5")]);
    assert!(said(records.path(), &[]).stdout.contains("P-001: not in the policy: tape"));
}

#[test]
fn a_patient_who_is_not_on_file_gets_the_nearest_code() {
    let Outcome { stdout, stderr, status, .. } = demo(&["p-014"]);
    assert_eq!((stdout.as_str(), status), ("", 2));
    assert!(stderr.contains("Did you mean P-014?"), "{stderr}");
}

/// The numbers of folders listed and files opened for the supplies, and for the teaching, with `years` of records.
fn cost(years: i32) -> [(usize, usize); 2] {
    let first: chrono::NaiveDate = format!("{}-08-27", 2026 - years).parse().unwrap();
    let last: chrono::NaiveDate = "2026-11-22".parse().unwrap();
    let days = (0..).step_by(2).map(|ago| last - chrono::TimeDelta::days(ago)).take_while(|day| *day >= first);
    let days: Vec<String> = days.map(|day| day.to_string()).collect();
    let days: Vec<&str> = days.iter().map(String::as_str).collect();
    let records = household("", &days, &[("2026-11-01", "09:00", "counted = 30")]);
    let course = PATIENT.replace("2026-08", &format!("{}-08", 2026 - years));
    write(&records, "patients/P-001/patient.toml", &course);
    let program = Program::open(Folder::find(Some(records.path()), records.path()).unwrap()).unwrap();
    let as_of = program.as_of(Some("2026-11-24T07:15"), "2026-11-24T13:15:00Z".parse().unwrap()).unwrap();
    let tally = |ask: &dyn Fn()| {
        let before = program.folder.tally();
        ask();
        let after = program.folder.tally();
        (after.0 - before.0, after.1 - before.1)
    };
    let supplies = tally(&|| {
        let (report, _) = ask::supplies(&program, &["P-001"], as_of, true);
        assert_eq!(report.rows[0].items.as_ref().unwrap()[0].used, Some(11));
    });
    let teaching = tally(&|| assert_eq!(ask::teaching(&program, &[], as_of).unwrap().0.people.len(), 1));
    [supplies, teaching]
}

#[test]
fn what_is_left_costs_the_same_after_ten_years_and_teaching_opens_no_other_record() {
    let [one, ten] = [cost(1), cost(10)];
    assert_eq!(one[0], ten[0]);
    assert!(one[0].1 < 40, "{one:?}");
    assert_eq!((one[1].1, ten[1].1), (1, 1)); // patient.toml alone
}

#[test]
fn the_invented_program_shows_who_is_short_first() {
    let found = report(&demo(&["--json"]));
    let rows = found["rows"].as_array().unwrap();
    let codes: Vec<&str> = rows.iter().map(|row| row["patient"].as_str().unwrap()).collect();
    assert_eq!(codes[..4], ["P-003", "P-023", "P-028", "P-044"]); // unusable; short; short; by the day to order by
    assert_eq!(found["ended"], json!(["P-038"]));
}

#[test]
fn a_narrow_terminal_breaks_no_word() {
    let records = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    let shown = |width| {
        let surroundings = Surroundings {
            now: "2026-11-24T13:15:00Z".parse().unwrap(),
            records: Some(records.clone()),
            here: records.clone(),
            width: Some(width),
            ..Surroundings::default()
        };
        run(["exitsite", "supplies", "P-023", "P-014"].map(OsString::from), &surroundings).stdout
    };
    let narrow = shown(60);
    assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
    for line in [
        "patient  on hand  runs out    order by        item",
        "P-023          4  Sat Nov 28  Sat Nov 21 now  dressing-kit",
        "P-023 dressing-kit: counted Thu Nov 19, used since: 4",
    ] {
        assert!(narrow.lines().any(|there| there == line), "{line}\n{narrow}");
    }
    assert!(
        shown(80).starts_with("Order now: P-023 dressing-kit\n\npatient  on hand  used  counted     runs out "),
        "{}",
        shown(80)
    );
}
