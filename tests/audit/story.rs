//! One month of two patients, each figure computed by hand.
//!
//! P-001 has had the line since 2026-08-03 and is at home since 08-27: changes daily on the ward, then every other day,
//! the odd days of October. The change of the 11th was missed; that of the 19th was made on the 20th. P-002 has the
//! line from 10-11 until the transplant on 10-21, and was elsewhere from the 15th to the 17th.

use chrono::{NaiveDate, TimeDelta};
use serde_json::{Value, json};

use super::desk::Desk;
use super::{audit, is_near, number};

const OTHER: &str = "code = 'P-002'\nimplanted = 2026-10-11\n[[exit]]\nid = 'a'\nwhere = 'left-upper'\nfrom = 2026-10-11\nwhy = 'implant'\n[[care]]\nfrom = 2026-10-11\nplace = 'inpatient'\n[[care]]\nfrom = 2026-10-15\nplace = 'elsewhere'\n[[care]]\nfrom = 2026-10-18\nplace = 'inpatient'\n[ended]\non = 2026-10-21\nwhy = 'transplant'\nby = 'co-1'\n";

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub(crate) fn put(desk: &Desk, patient: &str, day: &str, time: &str, kind: &str, says: &str) {
    let (at, name) = match time {
        "" => (format!("on = {day}"), format!("{day}-{kind}")),
        time => (format!("at = {day}T{time}:00"), format!("{day}T{}-{kind}", time.replace(':', ""))),
    };
    let by = if kind == "infection" { "md-3" } else { "p001-son" };
    let file = format!("patients/{patient}/{}/{name}.toml", &day[..4]);
    desk.put(&file, &format!("kind = '{kind}'\n{at}\nby = '{by}'\n{says}\n"));
}

fn change(desk: &Desk, patient: &str, on: NaiveDate) {
    let says = "[found]\ndressing = 'intact'\nanchor = 'in-place'\n[left]\nanchor = 'in-place'";
    put(desk, patient, &on.to_string(), "09:00", "change", says);
}

/// The two patients.
pub(crate) fn october() -> Desk {
    let desk = Desk::new();
    desk.put("patients/P-002/patient.toml", OTHER);
    for n in 1..=23 {
        change(&desk, "P-001", day("2026-08-03") + TimeDelta::days(n));
    }
    let mut at_home = day("2026-08-28");
    while at_home <= day("2026-11-23") {
        match at_home.to_string().as_str() {
            "2026-10-11" => {}
            "2026-10-19" => {
                at_home += TimeDelta::days(1);
                change(&desk, "P-001", at_home);
            }
            _ => change(&desk, "P-001", at_home),
        }
        at_home += TimeDelta::days(2);
    }
    put(&desk, "P-001", "2026-10-05", "08:00", "shower", "dressing_before = 'intact'");
    put(&desk, "P-001", "2026-10-07", "06:00", "shower", "dressing_before = 'intact'");
    put(&desk, "P-001", "2026-10-09", "", "shower", "dressing_before = 'intact'");
    put(&desk, "P-001", "2026-10-18", "12:00", "trauma", "mechanism = 'snag'\nanchor = 'loose'");
    let infection = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-20\norganisms = ['Pseudomonas aeruginosa']";
    put(&desk, "P-001", "2026-11-12", "10:00", "infection", infection);
    desk
}

pub(crate) fn report(desk: &Desk) -> Value {
    audit(desk, &["--month", "2026-10"])
}

#[test]
fn device_days_are_half_open_and_days_elsewhere_are_told_apart() {
    let census = &report(&october())["census"];
    // October of P-001: 31. P-002 from the 11th to the 20th: 10, three of them elsewhere.
    assert_eq!(
        (&census["patients"], &census["device_days"], &census["days_elsewhere"]),
        (&2.into(), &41.into(), &3.into())
    );
    is_near(number(census, "/patient_months"), 41.0 / 30.4375, 1e-12);
    is_near(number(census, "/patient_years"), 41.0 / 365.25, 1e-12);
}

#[test]
fn an_infection_counts_by_its_onset_whenever_it_was_determined() {
    let report = report(&october());
    let found = &report["infections"];
    assert_eq!((&found["events"], &found["patients"], &found["possible"]), (&1.into(), &1.into(), &0.into()));
    is_near(number(found, "/rates/per_1000_device_days/rate"), 1000.0 / 41.0, 1e-9);
    // Garwood 1936: one event, 0.0253178 to 5.571643; mid-P is narrower.
    is_near(number(found, "/rates/per_1000_device_days/low"), 0.025317807984 * 1000.0 / 41.0, 1e-8);
    is_near(number(found, "/rates/per_1000_device_days/high"), 5.571643390 * 1000.0 / 41.0, 1e-7);
    assert!(number(found, "/rates/per_1000_device_days/mid_p_low") > number(found, "/rates/per_1000_device_days/low"));
    assert_eq!(report["organisms"], json!([{ "name": "Pseudomonas aeruginosa", "infections": 1 }]));
    // As of November 5 it was not determined yet.
    let earlier = audit(&october(), &["--month", "2026-10", "--as-of", "2026-11-05"]);
    assert_eq!(earlier["infections"]["events"], 0);
}

#[test]
fn changes_and_days_in_date_are_those_of_the_calendar() {
    let report = report(&october());
    let changes = &report["changes"];
    // P-001, due on 1, 3, … 17, 19, 22, … 30: the 11th missed, the 19th late. P-002, due on 12, 13, 14, then on the
    // first day back, 18, and 19, 20: never changed; the 14th is unreported, since the patient left before the next.
    assert_eq!((&changes["on_time"], &changes["late"]), (&13.into(), &1.into()));
    assert_eq!((&changes["missed"], &changes["expected"]), (&6.into(), &20.into()));
    assert_eq!(changes["unreported"], 1);
    // P-001: not current on the 11th, the 12th and the 19th. P-002: on none of six days.
    assert_eq!((&changes["days_in_date"]["days"], &changes["days_in_date"]["in_date"]), (&37.into(), &28.into()));
    assert_eq!(changes["patients_under_90"], 1);
    is_near(number(changes, "/share/value"), 13.0 / 20.0, 1e-12);
    let phases: Vec<&str> =
        changes["by_phase"].as_array().unwrap().iter().map(|one| one["phase"].as_str().unwrap()).collect();
    assert_eq!(phases, ["early", "home"]);
}

#[test]
fn the_audit_counts_what_missed_counts() {
    let desk = october();
    let missed = desk.done(&["missed", "--from", "2026-10-01", "--to", "2026-10-31", "--json"]);
    let missed: Value = serde_json::from_str(&missed).unwrap();
    let changes = &report(&desk)["changes"];
    for key in ["expected", "on_time", "late", "missed", "unreported"] {
        let sum: i64 = missed["rows"].as_array().unwrap().iter().map(|row| row[key].as_i64().unwrap()).sum();
        assert_eq!(changes[key], sum, "{key}");
    }
}

#[test]
fn a_shower_is_followed_in_time_or_late_or_it_is_unknown() {
    // 08:00 and a change at 09:00; 06:00 and a change at 09:00, an hour late; a day without a time.
    let showers = &report(&october())["after_shower"];
    assert_eq!((&showers["showers"], &showers["in_time"]), (&3.into(), &1.into()));
    assert_eq!((&showers["late"], &showers["time_unknown"]), (&1.into(), &1.into()));
    is_near(number(showers, "/share/value"), 0.5, 1e-12);
    // of all three, whether or not the third was followed
    is_near(number(showers, "/if_none_followed"), 1.0 / 3.0, 1e-12);
    is_near(number(showers, "/if_all_followed"), 2.0 / 3.0, 1e-12);
    let text = october().done(&["audit", "--month", "2026-10"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let bounds = "for 1 it is not known. Followed in time: 33.3 % if none of the unknown were, 66.7 % if all were.";
    assert!(text.contains(bounds), "{text}");
}

#[test]
fn what_came_before_an_infection_stands_beside_what_is_usual() {
    let report = report(&october());
    let before = &report["before_infection"][0];
    assert_eq!((&before["patient"], &before["onset"]), (&"P-001".into(), &"2026-10-20".into()));
    let window = &before["window"];
    assert_eq!((&window["trauma"], &window["anchor_off"]), (&1.into(), &1.into()));
    assert_eq!((&window["missed_changes"], &window["showers_not_followed"]), (&1.into(), &1.into()));
    assert_eq!(window["showers_too_early"], 0);
    // The program in October: six missed changes in 41 days, of which three, elsewhere, are not covered.
    is_near(number(before, "/program_per_30_days/missed_changes"), 6.0 * 30.0 / 38.0, 1e-12);
    // The patient's own time from 08-03 to 09-19, 48 days: nothing missed.
    assert_eq!(before["own_per_30_days"]["missed_changes"], 0.0);
}

#[test]
fn anchors_and_dressings_are_those_that_changes_found() {
    let report = report(&october());
    // Fourteen changes in October, dressing and anchor in order at each.
    let expected = json!([14, 14, 0]);
    let counts = |key: &str| json!([report[key]["known"], report[key]["yes"], report[key]["unknown"]]);
    assert_eq!((counts("anchor_in_place"), counts("dressing_intact")), (expected.clone(), expected));
    assert_eq!(report["trauma"]["events"], 1);
}

#[test]
fn signals_are_counted_by_the_day_they_rose() {
    let signals = &report(&october())["signals"];
    let by_name: Vec<(&str, i64)> = signals["by_name"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (one["signal"].as_str().unwrap(), one["episodes"].as_i64().unwrap()))
        .collect();
    assert!(by_name.contains(&("line-pulled", 1)), "{by_name:?}");
    assert!(by_name.contains(&("anchor-off", 1)), "{by_name:?}");
    let sum: i64 = by_name.iter().map(|(_, episodes)| episodes).sum();
    assert_eq!(signals["episodes"], sum);
}

#[test]
fn an_infection_that_was_determined_after_the_report_is_told() {
    let desk = october();
    let issued = desk.done(&["audit", "--month", "2026-10", "--as-of", "2026-11-05", "--json"]);
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("october.json");
    std::fs::write(&file, issued).unwrap();
    let report = audit(&desk, &["--month", "2026-10", "--issued", file.to_str().unwrap()]);
    assert_eq!(
        report["restatement"]["months"],
        json!([{ "month": "2026-10", "issued": 0, "now": 1, "why": "determined 2026-11-12" }])
    );
    assert_eq!(report["restatement"]["case_definition_changed"], false);
    let text = desk.done(&["audit", "--month", "2026-10", "--issued", file.to_str().unwrap()]);
    assert!(text.contains("0 → 1") && text.contains("determined 2026-11-12"), "{text}");
}

#[test]
fn an_onset_outside_of_the_time_on_file_is_named_and_not_counted() {
    let desk = october();
    let infection = "part = 'pump'\ncertainty = 'proven'\nonset = 2026-10-25";
    put(&desk, "P-002", "2026-10-26", "10:00", "infection", infection);
    let report = report(&desk);
    assert_eq!(report["infections"]["events"], 1);
    assert_eq!(report["infections"]["outside"][0]["file"], "patients/P-002/2026/2026-10-26T1000-infection.toml");
}

#[test]
fn possible_ones_and_recurrences_are_told_apart() {
    let desk = october();
    let says = |onset: &str, more: &str| format!("part = 'pocket'\nonset = {onset}\n{more}");
    put(&desk, "P-001", "2026-10-28", "10:00", "infection", &says("2026-10-27", "certainty = 'possible'"));
    let back = "certainty = 'probable'\nrecurrence_of = '2026-11-12T1000-infection.toml'";
    put(&desk, "P-001", "2026-10-29", "10:00", "infection", &says("2026-10-28", back));
    let report = report(&desk);
    let found = &report["infections"];
    assert_eq!((&found["events"], &found["possible"], &found["recurrences"]), (&1.into(), &1.into(), &1.into()));
}

#[test]
fn two_determinations_of_one_onset_are_counted_once_and_the_report_says_so() {
    let desk = october();
    // Same onset as the proven determination of 11-12: an earlier, possible one, not by a physician.
    let again =
        "part = 'driveline-superficial'\ncertainty = 'possible'\nonset = 2026-10-20\norganisms = ['Candida albicans']";
    put(&desk, "P-001", "2026-10-21", "10:00", "infection", again);
    let report = report(&desk);
    let found = &report["infections"];
    assert_eq!(
        (&found["events"], &found["possible"], &found["by_certainty"]["proven"]),
        (&1.into(), &0.into(), &1.into())
    );
    assert_eq!(found["twice"][0]["file"], "patients/P-001/2026/2026-10-21T1000-infection.toml");
    assert_eq!(report["organisms"].as_array().unwrap().len(), 2, "what grew is that of both");
    let said = desk.run(&["audit", "--month", "2026-10", "--as-of", "2026-11-24T07:15"]).stdout;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("count as one infection; not counted: patients/P-001/2026/2026-10-21T1000-infection.toml"),
        "{said}"
    );
}

#[test]
fn the_data_are_judged_too() {
    let desk = october();
    let quality = &report(&desk)["data_quality"];
    // 14 changes, 3 showers, 1 pull; the determination is of November.
    assert_eq!((&quality["events"], &quality["times_unknown"]), (&18.into(), &1.into()));
    assert_eq!(
        (&quality["late_entries"], &quality["voided"], &quality["days_not_covered"]),
        (&0.into(), &0.into(), &0.into())
    );
    put(
        &desk,
        "P-001",
        "2026-10-30",
        "18:00",
        "inspection",
        "anchor = 'in-place'\n[entered]\nat = 2026-11-02T19:00:00\nby = 'rn-07'",
    );
    assert_eq!(report(&desk)["data_quality"]["late_entries"], 1);
}

#[test]
fn a_paper_log_of_days_alone_says_whether_a_change_followed_in_time() {
    let showers = |change: &str, time: &str| {
        let desk = Desk::new();
        put(&desk, "P-001", "2026-10-18", "", "shower", "dressing_before = 'intact'");
        put(&desk, "P-001", change, time, "change", "");
        let showers = report(&desk)["after_shower"].clone();
        ["in_time", "late", "time_unknown"].map(|key| showers[key].as_i64().unwrap())
    };
    assert_eq!(showers("2026-10-19", ""), [0, 1, 0]);
    assert_eq!(showers("2026-10-20", ""), [0, 1, 0]);
    // The care day ended at 03:00.
    assert_eq!(showers("2026-10-19", "03:00"), [0, 1, 0]);
    assert_eq!(showers("2026-10-19", "02:59"), [0, 0, 1]);
    assert_eq!(showers("2026-10-18", ""), [0, 0, 1]);
}

#[test]
fn a_pull_outside_of_the_time_on_file_is_in_no_rate() {
    let desk = october();
    put(&desk, "P-002", "2026-10-25", "10:00", "trauma", "mechanism = 'fall'");
    assert_eq!(report(&desk)["trauma"]["events"], 1);
}

#[test]
fn nobody_is_at_risk_where_nobody_is_observed() {
    let desk = Desk::new();
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    let put = |code: &str, implanted: &str, more: &str, end: &str| {
        let course = format!(
            "code = '{code}'\nimplanted = {implanted}\n{more}[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = {implanted}\nwhy = 'implant'\n[[care]]\nfrom = {implanted}\nplace = 'home'\n{end}"
        );
        desk.put(&format!("patients/{code}/patient.toml"), &course);
    };
    put("P-001", "2025-06-01", "records_from = 2026-10-11\ninfections_before = 0\n", "");
    put("P-002", "2026-06-01", "", "[ended]\non = 2026-07-15\nwhy = 'transplant'\nby = 'co-1'\n");
    put("P-003", "2026-06-01", "", "[ended]\non = 2026-08-18\nwhy = 'death'\nby = 'co-1'\n");
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[audit]\ncurve_at_risk = 1\n"));
    let text = desk.done(&["audit", "--month", "2026-10"]);
    let at_risk = |day: &str| {
        let row =
            text.lines().find(|line| line.split_whitespace().next() == Some(day)).unwrap_or_else(|| panic!("{text}"));
        row.split_whitespace().nth(1).unwrap().to_owned()
    };
    assert_eq!(["30", "90", "180", "365"].map(at_risk), ["2", "0", "0", "0"]);
}

#[test]
fn a_patient_infected_before_the_records_began_is_not_followed_as_free() {
    let desk = Desk::new();
    let from = "implanted = 2026-08-03\nrecords_from = 2026-10-11\ninfections_before = 0";
    desk.put(
        "patients/P-001/patient.toml",
        &super::desk::PATIENT.replace("implanted = 2026-08-03   # the implant", from),
    );
    let infection = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-09-20";
    put(&desk, "P-001", "2026-10-13", "10:00", "infection", infection);
    let report = report(&desk);
    assert_eq!((&report["first_infection"]["n"], &report["first_infection"]["left_out"]), (&0.into(), &1.into()));
    assert_eq!(report["infections"]["outside"][0]["onset"], "2026-09-20");
}

#[test]
fn two_infections_on_one_day_are_within_the_limits_in_a_large_program() {
    let with = |patients: usize| {
        let desk = Desk::new();
        for n in 1..=patients {
            let code = format!("P-{n:03}");
            desk.put(&format!("patients/{code}/patient.toml"), &super::desk::PATIENT.replace("P-001", &code));
        }
        let onset = |n: usize, on: &str| {
            let says = format!("part = 'driveline-deep'\ncertainty = 'proven'\nonset = {on}");
            put(&desk, &format!("P-{:03}", 1 + n % patients), on, ["10:00", "11:00", "12:00"][n], "infection", &says);
        };
        onset(0, "2026-09-01");
        onset(1, "2026-10-20");
        onset(2, "2026-10-20");
        report(&desk).pointer("/charts/days_between/points/1/beyond").unwrap().as_bool().unwrap()
    };
    assert!(!with(60));
}

#[test]
fn an_infection_in_place_of_another_is_told_although_the_number_is_the_same() {
    let desk = october();
    let issued = desk.done(&["audit", "--month", "2026-10", "--json"]);
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("issued.json");
    std::fs::write(&file, issued).unwrap();
    let months =
        || audit(&desk, &["--month", "2026-10", "--issued", file.to_str().unwrap()])["restatement"]["months"].take();
    assert_eq!(months(), json!([]));
    let void = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-20\n[void]\nat = 2026-11-13T09:00:00\nby = 'md-3'\nwhy = 'another patient'";
    put(&desk, "P-001", "2026-11-12", "10:00", "infection", void);
    let other = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-19";
    put(&desk, "P-002", "2026-11-13", "09:10", "infection", other);
    let why = "P-001 of 2026-10-20 is no longer counted, P-002 of 2026-10-19 is new";
    assert_eq!(months(), json!([{ "month": "2026-10", "issued": 1, "now": 1, "why": why }]));
    let text = desk.done(&["audit", "--month", "2026-10", "--issued", file.to_str().unwrap()]);
    assert!(
        text.contains("1 → 1") && text.replace("\n", " ").contains("the infections of 1 month have changed"),
        "{text}"
    );
}

#[test]
fn months_are_compared_through_the_day_that_the_issued_report_counted() {
    let desk = october();
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("issued.json");
    let issue = |period: &[&str]| {
        let issued = desk.done(&[&["audit", "--json"], period].concat());
        std::fs::write(&file, issued).unwrap();
    };
    let restated = |period: &[&str]| {
        let report = audit(&desk, &[period, &["--issued", file.to_str().unwrap()]].concat());
        let of = |key: &str| report["restatement"][key].clone();
        (of("months"), of("device_days"), of("not_compared"))
    };
    let nothing = || json!([]);
    // The infection of 10-20 is in one report and not in the other; nothing has changed on file.
    issue(&["--month", "2026-10"]);
    assert_eq!(restated(&["--from", "2026-10-01", "--to", "2026-10-15"]), (nothing(), nothing(), json!(["2026-10"])));
    issue(&["--from", "2026-10-01", "--to", "2026-10-15"]);
    assert_eq!(restated(&["--month", "2026-10"]), (nothing(), nothing(), nothing()));
    // A report as of an earlier time than the issued one does not mention later changes.
    let said =
        desk.refused(&["audit", "--month", "2026-10", "--as-of", "2026-11-01", "--issued", file.to_str().unwrap()]);
    assert!(said.contains("later than this one"), "{said}");
}

#[test]
fn an_infection_that_is_gone_is_told_with_what_has_become_of_it() {
    let desk = october();
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("issued.json");
    let other = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-19";
    put(&desk, "P-002", "2026-11-13", "09:10", "infection", other);
    std::fs::write(&file, desk.done(&["audit", "--month", "2026-10", "--json"])).unwrap();
    let restated = || audit(&desk, &["--month", "2026-10", "--issued", file.to_str().unwrap()])["restatement"].take();
    let why = || restated()["months"][0]["why"].as_str().unwrap().to_owned();
    // An unreadable file of another patient hides nothing of this one.
    desk.put("patients/P-001/2026/2026-10-30T0900-change.toml", "no TOML");
    put(&desk, "P-002", "2026-11-13", "09:10", "infection", &other.replace("10-19", "09-19"));
    assert_eq!(why(), "P-002 of 2026-10-19 is no longer counted");
    desk.put("patients/P-002/2026/2026-11-13T0910-infection.toml", "no TOML");
    assert_eq!(why(), "P-002 of 2026-10-19 is no longer counted, or in a file that cannot be read");
    std::fs::remove_dir_all(desk.root().join("patients/P-002")).unwrap();
    assert_eq!(why(), "P-002 of 2026-10-19 is gone with the patient's folder");
    let days = restated()["device_days"].take();
    assert_eq!(days, json!([{ "month": "2026-10", "issued": 41, "now": 31 }]));
}

#[test]
fn own_earlier_time_is_counted_over_the_days_that_were_told() {
    let desk = Desk::new();
    let by_log = super::desk::PATIENT.replace("place = \"home\"", "place = \"home\"\nreports = \"log\"");
    desk.put("patients/P-001/patient.toml", &by_log.replace("2026-08-03", "2026-06-01"));
    let infection = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-30";
    put(&desk, "P-001", "2026-10-30", "10:00", "infection", infection);
    put(&desk, "P-001", "2026-10-30", "09:00", "log", "from = 2026-09-20\nthrough = 2026-10-29\ncomplete = true");
    put(&desk, "P-001", "2026-09-25", "10:00", "inspection", "dressing = 'wet'");
    // Own time: inpatient from 06-01 to 08-26, 87 days; at home, reported, from 09-20 to 09-29, 10 days.
    let own = report(&desk)["before_infection"][0]["own_per_30_days"]["wet_dressing"].as_f64().unwrap();
    is_near(own, 30.0 / 97.0, 1e-12);
    // Time that was never reported counts as unknown.
    desk.put(
        "patients/P-001/patient.toml",
        &by_log.replace("2026-08-03", "2026-08-26").replace("2026-08-27", "2026-08-26"),
    );
    put(&desk, "P-001", "2026-10-30", "09:00", "log", "from = 2026-10-01\nthrough = 2026-10-29\ncomplete = true");
    assert_eq!(report(&desk)["before_infection"][0]["own_per_30_days"], Value::Null);
}

#[test]
fn days_of_which_nobody_has_told_are_not_days_without_a_pull() {
    let desk = Desk::new();
    let by_log = super::desk::PATIENT.replace("place = \"home\"", "place = \"home\"\nreports = \"log\"");
    assert_ne!(by_log, super::desk::PATIENT);
    desk.put("patients/P-001/patient.toml", &by_log);
    let infection = "part = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2026-10-20";
    put(&desk, "P-001", "2026-10-21", "10:00", "infection", infection);
    let before = |report: &Value| report["before_infection"][0].clone();
    let told = before(&report(&desk));
    assert_eq!((told["window_days_covered"].as_i64(), &told["window"]), (Some(0), &Value::Null));
    let text = desk.done(&["audit", "--month", "2026-10"]);
    assert!(text.contains("P-001 2026-10-20: no report covers any of the 30 days before."), "{text}");
    // A report by telephone counts even if the day is not covered.
    put(&desk, "P-001", "2026-10-18", "12:00", "trauma", "mechanism = 'snag'");
    assert_eq!(before(&report(&desk))["window"]["trauma"], 1);
}

#[test]
fn what_was_written_of_a_day_after_the_end_raises_no_signal_of_the_audit() {
    let desk = october();
    let episodes = || report(&desk)["signals"]["episodes"].as_i64().unwrap();
    let at_first = episodes();
    // P-002 was transplanted on 10-21.
    put(&desk, "P-002", "2026-10-25", "12:00", "assessment", "[site]\ndrainage = 'purulent'");
    assert_eq!(episodes(), at_first);
    put(&desk, "P-002", "2026-10-19", "12:00", "assessment", "[site]\ndrainage = 'purulent'");
    assert!(episodes() > at_first);
}

#[test]
fn what_an_explanted_pump_grew_is_recorded_and_counted_by_its_onset() {
    let desk = october();
    // P-002 was transplanted on 10-21.
    let record = |onset: &str| {
        let infection = ["record", "infection", "P-002", "--at", "2026-10-27T10:00", "--by", "md-3", "--part", "pump"];
        desk.run_as(
            Some("co-1"),
            &[&infection[..], &["--certainty", "proven", "--onset", onset, "--yes"]].concat(),
            None,
        )
    };
    let late = record("2026-10-24");
    assert!(late.status == 2 && late.stderr.contains("Support ended on 2026-10-21"), "{}", late.stderr);
    let outcome = record("2026-10-20");
    assert_eq!(outcome.status, 0, "{}", outcome.stderr);
    let report = report(&desk);
    assert_eq!((&report["infections"]["events"], &report["infections"]["outside"]), (&2.into(), &json!([])));
    assert!(!desk.findings().contains(&"after-end".to_owned()));
}

#[test]
fn an_infection_without_device_days_names_the_patient() {
    let desk = Desk::new();
    // Implanted and ended on one day: no patient-day, and an onset on the last day counts.
    let ended = format!(
        "{}[ended]\non = 2026-10-11\nwhy = 'death'\nby = 'co-1'\n",
        OTHER.split("[[care]]\nfrom = 2026-10-15").next().unwrap()
    );
    desk.put("patients/P-002/patient.toml", &ended);
    std::fs::remove_dir_all(desk.root().join("patients/P-001")).unwrap();
    put(&desk, "P-002", "2026-10-11", "15:00", "infection", "part = 'pump'\ncertainty = 'proven'\nonset = 2026-10-11");
    let text = desk.done(&["audit", "--month", "2026-10"]);
    assert!(text.contains("1 infection but no device-days, so there is no rate: P-002 of 2026-10-11."), "{text}");
}

#[test]
fn months_outside_a_report_are_not_called_unchanged() {
    let desk = october();
    let issued = desk.done(&["audit", "--month", "2026-10", "--as-of", "2026-11-05", "--json"]);
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("issued.json");
    std::fs::write(&file, &issued).unwrap();
    let report = audit(&desk, &["--month", "2026-09", "--issued", file.to_str().unwrap()]);
    assert_eq!(report["restatement"]["not_compared"], json!(["2026-10"]));
    // The report of another program does not count, either.
    std::fs::write(&file, issued.replace("\"Invented\"", "\"Another (invented)\"")).unwrap();
    let said = desk.refused(&["audit", "--month", "2026-09", "--issued", file.to_str().unwrap()]);
    assert!(said.contains("is from \"Another (invented)\""), "{said}");
}
