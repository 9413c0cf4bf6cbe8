//! The daily list costs the same after ten years of records: it opens as many files as after one year, and lists each older
//! year's folder once.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::fs;
use std::path::Path;

use chrono::{NaiveDate, TimeDelta};
use exitsite::ask;
use exitsite::audit::{AuditSpan, Cohort};
use exitsite::day::{AsOf, Calendar, Period};
use exitsite::folder::Folder;
use exitsite::program::Program;
use exitsite::report::audit::{self, AuditOptions, Provenance};

/// The `as_of` of the list.
const AS_OF: &str = "2026-11-24T07:15";

/// Writes a patient's records from a day on: a change with a look at the site every other day, a shower and a contact a
/// week.
fn write_patient(records: &Path, code: &str, implanted: NaiveDate, care: &str, last: NaiveDate) {
    let folder = records.join("patients").join(code);
    fs::create_dir_all(&folder).unwrap();
    let course = format!(
        "code = '{code}'\nimplanted = {implanted}\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = {implanted}\nwhy = 'implant'\n\
         [[care]]\nfrom = {implanted}\nplace = 'home'\n{care}"
    );
    fs::write(folder.join("patient.toml"), course).unwrap();
    let write = |day: NaiveDate, time: &str, kind: &str, says: &str| {
        let year = folder.join(day.format("%Y").to_string());
        fs::create_dir_all(&year).unwrap();
        let text = format!("kind = '{kind}'\nat = {day}T{time}:00Z\nby = 'patient'\n{says}\n");
        fs::write(year.join(format!("{day}T{}-{kind}.toml", time.replace(':', ""))), text).unwrap();
    };
    // Counted back from the last day, so that the newest records do not depend on the length of the history.
    for ago in 0..(last - implanted).num_days() {
        let day = last - TimeDelta::days(ago);
        if ago % 2 == 0 {
            write(day, "18:00", "change", "[left]\nanchor = 'in-place'\n[site]\ndrainage = 'none'");
        }
        if ago % 7 == 1 {
            write(day, "12:00", "shower", "");
            write(day, "15:00", "contact", "with = 'patient'\nabout = ['other']\noutcome = 'advised'");
        }
        if ago % 30 == 29 {
            let from = day - TimeDelta::days(30);
            write(
                day,
                "10:00",
                "log",
                &format!("from = {from}\nthrough = {}\ncomplete = true", day - TimeDelta::days(1)),
            );
        }
    }
}

/// The numbers of folders listed and files opened for one patient with records of some years.
fn cost(years: i32, care: &str, last: &str) -> (usize, usize) {
    cost_of(years, care, last, |program, as_of| {
        let (report, unusable) = ask::due(program, &["P-001"], as_of, true);
        assert_eq!((report.rows.len(), unusable.len()), (1, 0));
    })
}

fn cost_of(years: i32, care: &str, last: &str, asks: impl Fn(&Program, AsOf)) -> (usize, usize) {
    cost_with(years, care, last, |_| {}, asks)
}

/// The numbers of folders listed and files opened, with further records added by `adds`.
fn cost_with(
    years: i32,
    care: &str,
    last: &str,
    adds: impl Fn(&Path),
    asks: impl Fn(&Program, AsOf),
) -> (usize, usize) {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let records = kept.path();
    fs::write(records.join("policy.toml"), "schema = 1\nprogram = 'Invented'\ntime_zone = 'UTC'\n").unwrap();
    let implanted = NaiveDate::from_ymd_opt(2026 - years, 6, 1).unwrap();
    write_patient(records, "P-001", implanted, care, last.parse().unwrap());
    adds(records);
    let program = Program::open(Folder::find(Some(records), records).unwrap()).unwrap();
    let as_of = AsOf::read(AS_OF, &Calendar::new("03:00:00".parse().unwrap(), chrono_tz::Tz::UTC)).unwrap();
    let before = program.folder.tally();
    asks(&program, as_of);
    let after = program.folder.tally();
    (after.0 - before.0, after.1 - before.1)
}

fn check(care: &str, last: &str) {
    // Signals look back 400 days, and a sign-off lasts for a year from the second of two checkoffs.
    let costs = [4, 5, 10].map(|years| cost(years, care, last));
    let [(listed, opened), (_, at_five), (listed_at_ten, at_ten)] = costs;
    assert_eq!((at_five, at_ten), (opened, opened), "4, 5 and 10 years, care {care:?}");
    assert!(listed <= 7, "{listed} folders listed");
    // Each older year is listed once for an infection or a treatment that may be open.
    assert!(listed_at_ten <= listed + 6, "{listed_at_ten} folders listed");
    assert!(opened <= 400, "{opened} files opened");
}

#[test]
fn the_due_list_costs_the_same_after_ten_years_of_a_household_that_reports_each_change() {
    check("", "2026-11-23");
}

#[test]
fn the_due_list_costs_the_same_after_ten_years_of_a_household_that_reports_by_log() {
    check("reports = 'log'\n", "2026-11-23");
}

#[test]
fn the_due_list_costs_the_same_after_ten_years_of_a_patient_who_is_weeks_overdue() {
    check("", "2026-10-30");
}

#[test]
fn the_due_list_costs_the_same_after_ten_years_of_a_patient_who_is_elsewhere() {
    check("[[care]]\nfrom = 2026-11-10\nplace = 'elsewhere'\n", "2026-11-09");
}

/// Adds sign-offs and looks by staff every 60 days through all the years, up to a day.
fn seen_by_staff(records: &Path, last: NaiveDate) {
    let full = "drainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    fs::write(records.join("people.toml"), "[[person]]\ncode = 'rn-07'\nrole = 'nurse'\nmay_sign = true\n").unwrap();
    let first = NaiveDate::from_ymd_opt(2016, 1, 1).unwrap();
    for day in first.iter_days().step_by(60).take_while(|day| *day <= last) {
        let year = records.join("patients/P-001").join(day.format("%Y").to_string());
        if year.exists() {
            let text = format!("kind = 'assessment'\nat = {day}T09:00:00Z\nby = 'rn-07'\n[site]\n{full}\n");
            fs::write(year.join(format!("{day}T0900-assessment.toml")), text).unwrap();
        }
    }
}

#[test]
fn the_due_list_costs_the_same_after_ten_years_where_staff_have_looked_and_where_they_have_not_for_long() {
    for last_look in ["2026-11-01", "2025-09-01"] {
        let costs = [4, 5, 10].map(|years| {
            let adds = |records: &Path| seen_by_staff(records, last_look.parse().unwrap());
            cost_with(years, "", "2026-11-23", adds, |program, as_of| {
                let (report, unusable) = ask::due(program, &["P-001"], as_of, true);
                assert_eq!((report.rows.len(), unusable.len()), (1, 0));
            })
        });
        let opened = costs.map(|(_, opened)| opened);
        assert_eq!(opened, [opened[0]; 3], "{last_look}");
        // Each older year is listed once for an infection or a treatment that may be open.
        assert!(costs[2].0 <= costs[0].0 + 6, "{last_look}: {costs:?}");
        assert!(costs[0].1 <= 420, "{last_look}: {} files opened", costs[0].1);
    }
}

#[test]
fn the_audit_of_a_month_opens_no_more_files_after_ten_years() {
    let october = Period { from: "2026-10-01".parse().unwrap(), to: "2026-10-31".parse().unwrap() };
    let costs = [4, 5, 10].map(|years| {
        cost_of(years, "", "2026-11-23", |program, as_of| {
            let today = "2026-11-24".parse().unwrap();
            let span = AuditSpan::of(october, today, 400).unwrap();
            let cohort = Cohort::read(program, as_of, &span);
            let rules = program.rules();
            let report = audit::report(&cohort, rules, Provenance::default(), &span, &AuditOptions::default());
            assert_eq!((report.census.device_days, cohort.problems().count()), (31, 0));
        })
    });
    let opened = costs.map(|(_, opened)| opened);
    assert_eq!((opened[0], opened[1]), (opened[2], opened[2]));
    // From 2025-08-25 to 2026-11-23, 456 days: a change every other day, a shower and a contact a week, a log a month.
    assert!((350..=400).contains(&opened[0]), "{} files opened", opened[0]);
}
