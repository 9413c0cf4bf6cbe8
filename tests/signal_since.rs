//! Signals of elapsed days that have been open longer than the look-back: each keeps the day of its rise whenever it is
//! computed, from the last look, the last log, or the move.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use desk::Desk;
use serde_json::Value;

const LOOK: &str = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'\n";

/// A patient since 2022 with these rows of care.
fn desk(care: &str) -> Desk {
    let desk = Desk::new();
    desk.put(
        "patients/P-001/patient.toml",
        &format!(
            "code = 'P-001'\nimplanted = 2022-03-01\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = 2022-03-01\nwhy = 'implant'\n\
             [[caregiver]]\ncode = 'p001-son'\nrelation = 'son'\n{care}"
        ),
    );
    desk.put(
        "people.toml",
        &(desk.get("people.toml") + "[[person]]\ncode = 'ed-1'\nrole = 'educator'\nmay_sign = true\n"),
    );
    desk
}

const HOME: &str = "[[care]]\nfrom = 2022-03-01\nplace = 'home'\n";
const BY_LOG: &str = "[[care]]\nfrom = 2022-03-01\nplace = 'home'\nreports = 'log'\n";
const MOVED: &str = "[[care]]\nfrom = 2022-03-01\nplace = 'inpatient'\n[[care]]\nfrom = 2024-01-10\nplace = 'home'\n";

fn event(desk: &Desk, name: &str, by: &str, says: &str) {
    let (day, kind) = (&name[..10], &name[16..]);
    let at = format!("{day}T{}:{}:00Z", &name[11..13], &name[13..15]);
    desk.put(
        &format!("patients/P-001/{}/{name}.toml", &day[..4]),
        &format!("kind = '{kind}'\nat = {at}\nby = '{by}'\nsource = 'seen'\n{says}"),
    );
}

/// The start of a signal on each of these mornings; mornings without the signal are left out.
fn since(desk: &Desk, name: &str, arguments: &[&str], days: &[&str]) -> Vec<String> {
    let of_day = |day: &&str| {
        let run = desk.run(&[arguments, &["--json", "--as-of", &format!("{day}T07:15")]].concat());
        assert_eq!(run.status, 0, "{}{}", run.stdout, run.stderr);
        let report: Value = serde_json::from_str(&run.stdout).unwrap();
        let all = report["signals"].as_array().unwrap().iter();
        let named = all.filter(|one| one["signal"] == name).map(|one| one["since"].as_str().unwrap()[..10].to_owned());
        named.collect::<Vec<_>>()
    };
    days.iter().flat_map(of_day).collect()
}

const TWO_YEARS: [&str; 5] = ["2025-09-01", "2026-05-30", "2026-05-31", "2026-11-23", "2026-11-24"];

#[test]
fn a_site_that_staff_have_not_seen_for_600_days() {
    let desk = desk(HOME);
    event(&desk, "2025-02-03T1500-assessment", "rn-07", LOOK);
    // Looks by the household, and incomplete ones, do not count.
    event(&desk, "2025-03-03T1500-change", "p001-son", LOOK);
    event(&desk, "2025-04-03T1500-assessment", "rn-07", "[site]\ndrainage = 'none'\n");
    event(&desk, "2024-11-03T1500-assessment", "rn-07", LOOK);
    // At home staff look every 92 days.
    assert_eq!(since(&desk, "not-looked-at", &["signals"], &TWO_YEARS), ["2025-05-07"; 5]);
    assert!(desk.run(&["due", "P-001"]).stdout.contains("no full look by staff since"));
}

#[test]
fn a_site_that_staff_have_never_seen() {
    let desk = desk(HOME);
    event(&desk, "2025-03-03T1500-change", "p001-son", LOOK);
    let rises = since(&desk, "not-looked-at", &["signals"], &TWO_YEARS);
    assert_eq!(rises.len(), 5);
    assert!(rises.iter().all(|day| day.starts_with("2022-") && *day == rises[0]), "{rises:?}");
}

#[test]
fn a_look_of_those_days_ends_it_and_nothing_older_is_told() {
    let desk = desk(HOME);
    event(&desk, "2024-11-03T1500-assessment", "rn-07", LOOK);
    event(&desk, "2026-10-03T1500-assessment", "rn-07", LOOK);
    assert_eq!(
        since(&desk, "not-looked-at", &["signals", "--all"], &["2026-11-23", "2026-11-24"]),
        <[&str; 0]>::default()
    );
    assert_eq!(since(&desk, "not-looked-at", &["signals"], &["2026-10-03"]), ["2025-02-04"]);
}

#[test]
fn a_household_without_a_log_for_600_days() {
    let desk = desk(BY_LOG);
    let log = |from: &str, through: &str| format!("from = {from}\nthrough = {through}\ncomplete = true\n");
    event(&desk, "2025-02-03T1500-log", "p001-son", &log("2025-01-01", "2025-01-31"));
    event(&desk, "2025-01-03T1500-log", "p001-son", &log("2024-12-01", "2024-12-31"));
    let rises = since(&desk, "log-late", &["signals"], &TWO_YEARS);
    assert_eq!(rises, ["2025-03-08"; 5]);
    // An old log imported now does not end it or move its start.
    event(&desk, "2026-11-20T1500-log", "p001-son", &log("2024-11-01", "2024-11-30"));
    assert_eq!(since(&desk, "log-late", &["signals"], &TWO_YEARS), ["2025-03-08"; 5]);
    event(&desk, "2026-11-21T1500-log", "p001-son", &log("2026-11-01", "2026-11-20"));
    assert_eq!(since(&desk, "log-late", &["signals"], &TWO_YEARS[3..]), <[&str; 0]>::default());
}

#[test]
fn a_household_that_never_sent_a_log() {
    let rises = since(&desk(BY_LOG), "log-late", &["signals"], &TWO_YEARS);
    assert_eq!(rises, ["2022-04-06"; 5]);
}

#[test]
fn a_patient_who_has_been_elsewhere_for_years() {
    let desk = desk("[[care]]\nfrom = 2022-03-01\nplace = 'home'\n[[care]]\nfrom = 2024-01-10\nplace = 'elsewhere'\n");
    assert_eq!(since(&desk, "away-long", &["signals"], &TWO_YEARS), ["2024-01-25"; 5]);
}

#[test]
fn changes_that_were_missed_for_years() {
    let desk = desk(HOME);
    event(&desk, "2025-02-03T1500-change", "p001-son", "[left]\nanchor = 'in-place'\n");
    let rises = since(&desk, "changes-missed", &["signals"], &TWO_YEARS);
    assert_eq!(rises.len(), 5);
    assert!(rises.iter().all(|day| day.starts_with("2025-02-") && *day == rises[0]), "{rises:?}");
}

fn taught(desk: &Desk, name: &str, says: &str) {
    let says = format!(
        "learner = 'p001-son'\nobserver = 'ed-1'\ncurriculum = 'dressing-change'\nversion = 1\nmode = 'attested'\n{says}"
    );
    event(desk, name, "ed-1", &says);
}

#[test]
fn a_move_home_years_ago_without_a_sign_off_stays_open_until_there_is_one() {
    let desk = desk(MOVED);
    assert_eq!(since(&desk, "home-untaught", &["signals"], &TWO_YEARS), ["2024-01-10"; 5]);
    taught(&desk, "2026-05-30T1500-teaching", "");
    assert_eq!(since(&desk, "home-untaught", &["signals"], &TWO_YEARS), ["2024-01-10"; 2]);
}

#[test]
fn a_move_home_years_ago_after_a_sign_off_raises_no_signal_although_the_sign_off_has_lapsed() {
    let desk = desk(MOVED);
    taught(&desk, "2024-01-05T1500-teaching", "");
    let days = ["2024-02-01", "2025-09-01", "2026-11-23", "2026-11-24"];
    assert_eq!(since(&desk, "home-untaught", &["signals", "--all"], &days), <[&str; 0]>::default());
    // Also with a later sign-off that lapsed again.
    let later = desk_with_a_later_sign_off();
    assert_eq!(since(&later, "home-untaught", &["signals"], &days), ["2024-01-10"]);
}

fn desk_with_a_later_sign_off() -> Desk {
    let desk = desk(MOVED);
    taught(&desk, "2024-02-05T1500-teaching", "");
    desk
}

/// Adds the same one or two findings every month, seen by the household or by staff who looked at part of the site.
fn shown_for_two_years(desk: &Desk) {
    for month in 0..26 {
        let (year, month) = (2024 + (8 + month) / 12, (8 + month) % 12 + 1);
        let name = format!("{year}-{month:02}-15T1500-change");
        event(desk, &name, "p001-son", "[site]\ndrainage = 'purulent'\nodor = true\n");
    }
}

#[test]
fn a_finding_that_has_been_shown_for_two_years_rose_on_its_first_day() {
    let desk = desk(HOME);
    event(&desk, "2024-08-03T1500-assessment", "rn-07", LOOK);
    event(&desk, "2024-07-03T1500-change", "p001-son", "[site]\ndrainage = 'purulent'\n");
    shown_for_two_years(&desk);
    for signal in ["pus", "warmth-or-odor"] {
        assert_eq!(since(&desk, signal, &["signals"], &TWO_YEARS), ["2024-09-15"; 5], "{signal}");
    }
}

#[test]
fn a_finding_of_long_ago_that_nothing_showed_since_is_not_raised_anew() {
    let desk = desk(HOME);
    event(&desk, "2025-03-03T1500-change", "p001-son", "[site]\ndrainage = 'purulent'\n");
    assert_eq!(since(&desk, "pus", &["signals"], &TWO_YEARS[3..]), <[&str; 0]>::default());
    assert_eq!(since(&desk, "pus", &["signals"], &["2026-01-03"]), ["2025-03-03"]);
}

#[test]
fn an_answer_older_than_the_look_back_still_answers() {
    let desk = desk("[[care]]\nfrom = 2022-03-01\nplace = 'home'\n[[care]]\nfrom = 2024-01-10\nplace = 'elsewhere'\n");
    let call = "with = 'patient'\nabout = ['away-long']\noutcome = 'advised'\nexpect_by = 2024-04-01T12:00:00Z\n";
    event(&desk, "2024-02-03T1500-contact", "co-1", call);
    let look = self::desk(HOME);
    event(&look, "2025-02-03T1500-assessment", "rn-07", LOOK);
    event(
        &look,
        "2025-06-03T1500-contact",
        "co-1",
        "with = 'p001-son'\nabout = ['not-looked-at']\noutcome = 'advised'\n",
    );
    for (desk, signal, answered) in [(&desk, "away-long", "2024-02-03"), (&look, "not-looked-at", "2025-06-03")] {
        for day in ["2025-07-01", "2026-11-23"] {
            let run = desk.run(&["signals", "--json", "--as-of", day]);
            let report: Value = serde_json::from_str(&run.stdout).unwrap();
            let all = report["signals"].as_array().unwrap();
            let one = all.iter().find(|one| one["signal"] == signal).expect(signal);
            assert_eq!(one["answered"].as_str().map(|at| &at[..10]), Some(answered), "{signal} {day}");
        }
    }
}
