//! From records to published figures: a published trial as a program, one patient per row.
//!
//! A week becomes a day, a relapse a first infection, and a withdrawal a transfer. The expected values are those quoted
//! in books, from memory, equal to R survival 3.5-3.

use chrono::{NaiveDate, TimeDelta};
use serde_json::Value;

use super::desk::Desk;
use super::trial::{FREEDOM, PLACEBO, TREATED, weeks};
use super::{audit, infection, is_near, nobody, number, patient, text};

/// The trial as a program.
fn trial() -> Desk {
    let desk = Desk::new();
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    let rows = weeks(TREATED).map(|row| (row, "right-upper"));
    let rows = rows.chain(weeks(PLACEBO).map(|row| (row, "left-upper")));
    for (n, ((weeks, is_relapse), at)) in rows.enumerate() {
        // Each has an implant day of its own: time runs from the implant.
        let implanted = NaiveDate::from_ymd_opt(2020, 1, 10).unwrap() + TimeDelta::days(n as i64);
        let day = implanted + TimeDelta::days(weeks);
        let code = format!("P-{:03}", n + 1);
        let ended =
            if is_relapse { String::new() } else { format!("[ended]\non = {day}\nwhy = 'transferred'\nby = 'co-1'\n") };
        let course = format!(
            "code = '{code}'\nimplanted = {implanted}\n[[exit]]\nid = 'a'\nwhere = '{at}'\nfrom = {implanted}\nwhy = 'implant'\n[[care]]\nfrom = {implanted}\nplace = 'home'\n{ended}"
        );
        desk.put(&format!("patients/{code}/patient.toml"), &course);
        if is_relapse {
            let infection = format!(
                "kind = 'infection'\non = {day}\nby = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = {day}\n"
            );
            desk.put(&format!("patients/{code}/2020/{day}-infection.toml"), &infection);
        }
    }
    desk
}

fn survival_on(group: &Value, day: i64) -> &Value {
    group["freedom"].as_array().unwrap().iter().find(|step| step["day"] == day).unwrap()
}

#[test]
fn the_published_table_of_freedom_medians_and_log_rank_come_out_of_records() {
    let report = audit(&trial(), &["--year", "2020", "--by", "where"]);
    let groups = report.pointer("/first_infection/groups").unwrap().as_array().unwrap();
    let [placebo, treated] = &groups[..] else { panic!("{groups:?}") };
    assert_eq!((&placebo["value"], &treated["value"]), (&"left-upper".into(), &"right-upper".into()));
    for (day, survival, std_error) in FREEDOM {
        let step = survival_on(treated, day);
        is_near(number(step, "/survival"), survival, 5e-5);
        is_near(number(step, "/std_error"), std_error, 5e-5);
    }
    is_near(number(survival_on(treated, 10), "/low"), 0.50320, 5e-6);
    is_near(number(survival_on(treated, 10), "/high"), 0.88936, 5e-6);
    assert_eq!((number(treated, "/median_days/value"), number(placebo, "/median_days/value")), (23.0, 8.0));
    is_near(number(&report, "/first_infection/log_rank/chi_square"), 16.793, 5e-4);
    assert_eq!(number(&report, "/first_infection/log_rank/df"), 1.0);
    assert!(number(&report, "/first_infection/log_rank/p") < 1e-4);
    // Efron's ties: the coefficient 1.572 with standard error 0.412; the placebo, which has more relapses, is the reference
    assert_eq!(report.pointer("/first_infection/hazard_reference"), Some(&"left-upper".into()));
    is_near(number(treated, "/hazard_ratio/ratio").ln(), -1.572, 5e-4);
    let width = number(treated, "/hazard_ratio/high").ln() - number(treated, "/hazard_ratio/low").ln();
    is_near(width / 2.0 / 1.959_964, 0.412, 5e-4);
    assert!(placebo.pointer("/hazard_ratio/ratio").unwrap().is_null());
    let said = text(&trial(), &["--year", "2020", "--by", "where"]);
    assert!(said.contains("Hazard ratio of right-upper to left-upper: 0.21 (95 % limits 0.09 to 0.47)."), "{said}");
}

#[test]
fn without_another_end_incidence_and_freedom_add_up_to_one() {
    let report = audit(&trial(), &["--year", "2020"]);
    let first = &report["first_infection"];
    assert_eq!((&first["n"], &first["events"], &first["left_out"]), (&42.into(), &30.into(), &0.into()));
    for step in first.pointer("/cumulative_incidence/infection").unwrap().as_array().unwrap() {
        let free = first["freedom"].as_array().unwrap().iter().find(|free| free["day"] == step["day"]).unwrap();
        is_near(number(step, "/value") + number(free, "/survival"), 1.0, 1e-12);
    }
}

/// Two patients of each year; on day 50 two of each are at risk, on day 100 two of 2024 and one of 2025. So r ÷ (1 + r)
/// + r ÷ (2 + r) = 1, r is the square root of 2, and the information is r ÷ (1 + r)² + 2r ÷ (2 + r)².
#[test]
fn a_hazard_ratio_by_hand_comes_out_of_records() {
    let desk = nobody();
    for (code, implanted) in
        [("P-001", "2024-01-01"), ("P-002", "2024-01-01"), ("P-003", "2025-01-01"), ("P-004", "2025-01-01")]
    {
        patient(&desk, code, implanted, None);
    }
    infection(&desk, "P-001", "2024-04-10");
    infection(&desk, "P-003", "2025-02-20");
    let arguments = ["--month", "2026-10", "--by", "implant-year"];
    let report = audit(&desk, &arguments);
    let found = &report["first_infection"]["groups"][1]["hazard_ratio"];
    is_near(number(found, "/ratio"), 2_f64.sqrt(), 1e-9);
    is_near(number(found, "/low"), 0.084_842_842, 1e-8);
    is_near(number(found, "/high"), 23.572_996, 1e-5);
    let text = text(&desk, &arguments);
    let said = "Hazard ratio of 2025 to 2024: 1.41 (95 % limits 0.08 to 23.57). A group has fewer than 5 expected infections, so its limits are rough.";
    assert!(text.contains(said), "{text}");
}

/// Three groups get a table of ratios; a group without an infection has no ratio.
#[test]
fn groups_without_an_infection_have_no_hazard_ratio() {
    let desk = nobody();
    for (n, year) in [2023, 2023, 2024, 2024, 2025].into_iter().enumerate() {
        patient(&desk, &format!("P-{n:03}"), &format!("{year}-01-01"), None);
    }
    infection(&desk, "P-000", "2023-06-01");
    infection(&desk, "P-001", "2023-08-01");
    infection(&desk, "P-002", "2024-05-01");
    let arguments = ["--month", "2026-10", "--by", "implant-year"];
    let report = audit(&desk, &arguments);
    let ratios: Vec<bool> =
        (0..3).map(|n| !report["first_infection"]["groups"][n]["hazard_ratio"]["ratio"].is_null()).collect();
    assert_eq!(
        (ratios, &report["first_infection"]["hazard_reference"]),
        (vec![false, true, false], &Value::from("2023"))
    );
    let text = text(&desk, &arguments);
    assert!(text.contains("Hazard ratios are to 2023, the group with the most infections."), "{text}");
    assert!(text.contains("group hazard ratio 95 % 2023 reference 2024 ") && text.contains(" 2025 - - "), "{text}");
    // if only one group has infections, there is nothing to estimate
    let desk = nobody();
    patient(&desk, "P-001", "2024-01-01", None);
    patient(&desk, "P-002", "2025-01-01", None);
    infection(&desk, "P-001", "2024-03-01");
    let text = super::text(&desk, &arguments);
    assert!(text.contains("No hazard ratio can be estimated"), "{text}");
}
