//! Figures next to the rate, each computed by hand: the rate counted in other ways, power in both directions, curves
//! while enough patients are at risk, signals resolved, lapses before infection.

use chrono::{NaiveDate, TimeDelta};
use serde_json::{Value, json};

use super::desk::Desk;
use super::story::{october, report};
use super::{is_near, number};

fn said(desk: &Desk) -> String {
    let text = desk.done(&["audit", "--month", "2026-10"]);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn put(desk: &Desk, name: &str, says: &str) {
    let on = &name[..10];
    let file = format!("patients/P-001/2026/{name}.toml");
    desk.put(&file, &format!("kind = '{}'\non = {on}\nby = 'md-3'\n{says}\n", &name[11..]));
}

#[test]
fn the_rate_is_also_counted_in_other_ways() {
    let desk = october();
    put(&desk, "2026-10-25-treatment", "what = 'oral-antibiotic'\nuntil = 2026-11-03");
    put(&desk, "2026-10-30-treatment", "what = 'intravenous-antibiotic'\nuntil = 2026-11-01");
    put(&desk, "2026-10-26-treatment", "what = 'debridement'");
    put(&desk, "2026-10-13-infection", "part = 'pump'\ncertainty = 'possible'\nonset = 2026-10-12");
    let report = report(&desk);
    let variant = |name: &str| {
        let one = &report["infections"]["sensitivity"][name];
        (one["events"].as_u64().unwrap(), one["device_days"].as_i64().unwrap())
    };
    // 41 device-days: three elsewhere, seven of October under an antibiotic, each once
    assert_eq!(variant("without_days_elsewhere"), (1, 38));
    assert_eq!(variant("without_days_treated"), (1, 34));
    assert_eq!(variant("proven_only"), (1, 41));
    assert_eq!(variant("with_possible"), (2, 41));
    let rate = "/infections/sensitivity/without_days_treated/per_1000_device_days/rate";
    is_near(number(&report, rate), 1000.0 / 34.0, 1e-9);
    // the antibiotic excludes its days, and an onset on one of them
    put(&desk, "2026-10-19-treatment", "what = 'oral-antibiotic'\nuntil = 2026-10-20");
    assert_eq!(super::story::report(&desk)["infections"]["sensitivity"]["without_days_treated"]["events"], 0);
}

#[test]
fn a_p_is_a_frequency_and_never_a_word() {
    let desk = october();
    let early = "code = 'P-003'\nimplanted = 2024-12-01\n[[exit]]\nid = 'a'\nwhere = 'left-upper'\nfrom = 2024-12-01\nwhy = 'implant'\n[[care]]\nfrom = 2024-12-01\nplace = 'home'\n";
    desk.put("patients/P-003/patient.toml", early);
    desk.put(
        "patients/P-003/2025/2025-06-02-infection.toml",
        "kind = 'infection'\non = 2025-06-02\nby = 'md-3'\npart = 'pump'\ncertainty = 'proven'\nonset = 2025-06-01\n",
    );
    let text = said(&desk);
    let p = number(&report(&desk), "/comparison/p");
    assert!(
        text.contains(&format!("would occur in about {:.0} of 100 such comparisons (p {p:.3})", p * 100.0)),
        "{text}"
    );
    assert!(text.contains("no fall was detectable"), "{text}");
    // October has no baseline, so there is no alarm to use
    let repeated = "The comparison only describes, and no alarm is computed for surveillance. Repeated in monthly reports, it has p under 0.05 at least once in 12 reports with a probability of 16 to 20 %";
    assert!(text.contains(repeated), "{text}");
    for word in ["seldom chance", "easily chance", "significant"] {
        assert!(!text.contains(word), "{word}");
    }
}

#[test]
fn a_signal_that_is_put_right_needs_no_answer() {
    let report = report(&october());
    let signals = report["signals"]["by_name"].as_array().unwrap();
    let named = |name: &str| signals.iter().find(|one| one["signal"] == name).unwrap();
    // loose at the pull on the 18th at 12:00, in place at the change on the 20th at 09:00
    let anchor = named("anchor-off");
    assert_eq!((&anchor["ended"], &anchor["open"], &anchor["unanswered"]), (&json!(1), &json!(0), &json!(0)));
    assert_eq!(anchor["median_hours_to_end"], 45.0);
    // a pull is ended by a look or an answer, not by the passing of time
    assert_eq!(named("line-pulled")["ended"], Value::Null);
}

#[test]
fn late_entries_of_households_by_log_are_told_apart() {
    let desk = october();
    let quality = |desk: &Desk| report(desk)["data_quality"].clone();
    let each = quality(&desk);
    assert_eq!((&each["events_by_log"], &each["late_entries_by_log"]), (&json!(0), &json!(0)));
    let course = super::desk::PATIENT.replace("place = \"home\"", "place = \"home\"\nreports = \"log\"");
    desk.put("patients/P-001/patient.toml", &course);
    let by_log = quality(&desk);
    assert_eq!((&by_log["events_by_log"], &by_log["events"]), (&each["events"], &each["events"]));
    assert_eq!(by_log["late_entries_by_log"], by_log["late_entries"]);
    let text = said(&desk);
    assert!(text.contains("late entries, households by log") && text.contains("late entries, all others"), "{text}");
}

/// Four patients from the implant on, eight from day 100 on; an infection on day 50 in one of the four, and one on day
/// 150.
#[test]
fn a_curve_is_given_where_enough_are_at_risk_of_those_free_by_then() {
    let desk = Desk::new();
    std::fs::remove_dir_all(desk.root().join("patients")).unwrap();
    let implanted: NaiveDate = "2026-01-05".parse().unwrap();
    for n in 1..=12 {
        let late = format!("records_from = {}\ninfections_before = 0\n", implanted + TimeDelta::days(100));
        let late = if n > 4 { late } else { String::new() };
        desk.put(
            &format!("patients/P-{n:03}/patient.toml"),
            &format!("code = 'P-{n:03}'\nimplanted = {implanted}\n{late}[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = {implanted}\nwhy = 'implant'\n[[care]]\nfrom = {implanted}\nplace = 'home'\n"),
        );
    }
    for (code, day) in [("P-001", 50), ("P-006", 150)] {
        let onset = implanted + TimeDelta::days(day);
        desk.put(
            &format!("patients/{code}/2026/{onset}-infection.toml"),
            &format!("kind = 'infection'\non = {onset}\nby = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = {onset}\n"),
        );
    }
    let report = report(&desk);
    let first = &report["first_infection"];
    let step = |steps: &Value, day: i64| steps.as_array().unwrap().iter().find(|step| step["day"] == day).cloned();
    // every step is given: one of four on day 50, one of eleven on day 150
    is_near(number(&step(&first["freedom"], 150).unwrap(), "/survival"), 0.75 * 10.0 / 11.0, 1e-12);
    let shown = &first["shown"];
    assert_eq!((&shown["from"], &shown["to"]), (&json!(100), &json!(299)));
    assert_eq!(step(&shown["freedom"], 50), None);
    is_near(number(&step(&shown["freedom"], 150).unwrap(), "/survival"), 10.0 / 11.0, 1e-12);
    is_near(number(&step(&shown["cumulative_incidence"]["infection"], 150).unwrap(), "/value"), 1.0 / 11.0, 1e-12);
    let text = said(&desk);
    assert!(text.contains("on support and free of infection on day 100"), "{text}");
    // two patients are too few
    let text = said(&october());
    assert!(text.contains("Too few patients at risk for a curve: it needs 10 on one day"), "{text}");
    assert_eq!(super::story::report(&october())["first_infection"]["shown"], Value::Null);
}

#[test]
fn a_month_of_few_patients_has_no_limits() {
    let points = report(&october())["charts"]["on_time"]["points"].clone();
    let last = points.as_array().unwrap().last().unwrap().clone();
    assert_eq!((&last["patients"], &last["low"], &last["high"]), (&json!(2), &Value::Null, &Value::Null));
    assert_eq!(last["beyond"], false);
}

#[test]
fn lapses_before_an_infection_are_compared_with_the_same_patient() {
    let report = report(&october());
    let lapses = &report["lapses"];
    assert_eq!((&lapses["infections"], &lapses["left_out"]), (&json!(1), &json!(0)));
    let named =
        |name: &str| lapses["by_lapse"].as_array().unwrap().iter().find(|one| one["lapse"] == name).cloned().unwrap();
    // the pull of the 18th: one in the 30 days from 09-20 on, none in the 48 from the implant to 09-19
    let pull = named("pull");
    assert_eq!((&pull["before"], &pull["before_exposure"]), (&json!(1), &json!(30)));
    assert_eq!((&pull["others"], &pull["others_exposure"]), (&json!(0), &json!(48)));
    assert_eq!((&pull["rate_ratio"]["ratio"], &pull["rate_ratio"]["high"]), (&Value::Null, &Value::Null));
    // one of one in the window: probability 0.025 at odds of 1 ÷ 39
    is_near(number(&pull, "/rate_ratio/low"), 48.0 / 30.0 / 39.0, 1e-9);
    is_near(number(&pull, "/rate_ratio/p"), 2.0 * 30.0 / 78.0, 1e-12);
    // the anchor per look
    let anchor = named("anchor-off");
    assert_eq!(anchor["before"], 1);
    assert!(anchor["before_exposure"].as_u64().unwrap() < 30);
    // windows of 30 days: that of the infection, and the one before it
    assert_eq!((&pull["windows"], &pull["exposed"]), (&json!(1), &json!(1)));
    assert_eq!((&pull["others_windows"], &pull["others_exposed"]), (&json!(2), &json!(0)));
    assert!(said(&october()).contains("An association, not a cause; five lapses are tested"));
}
