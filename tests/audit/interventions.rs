//! Changes of the program: the rates since and before, the time without an infection, the lower-sided alarm, each by
//! hand.

use exitsite::surveillance::chart::cusum::Cusum;
use serde_json::{Value, json};

use super::desk::Desk;
use super::story::october;
use super::{audit, infection, is_near, nobody, number, patient, text};

const OCTOBER: [&str; 2] = ["--month", "2026-10"];

fn change(desk: &Desk, on: &str, what: &str) {
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[[audit.intervention]]\non = {on}\nwhat = '{what}'\nwhy = 'pulls'\n"));
}

/// Four patients from 2024 on; an infection in the middle of each month of 2025, and one on 2026-02-10.
fn since_january() -> Desk {
    let desk = nobody();
    for n in 1..=4 {
        patient(&desk, &format!("P-00{n}"), "2024-01-01", None);
    }
    for month in 1..=12 {
        infection(&desk, &format!("P-00{}", month % 4 + 1), &format!("2025-{month:02}-15"));
    }
    infection(&desk, "P-001", "2026-02-10");
    change(&desk, "2026-01-01", "second anchor");
    desk
}

#[test]
fn a_change_in_the_middle_of_a_month_is_compared_by_its_days() {
    let desk = october();
    change(&desk, "2026-12-01", "later");
    change(&desk, "2026-10-11", "second anchor");
    let report = audit(&desk, &OCTOBER);
    let [one] = &report["interventions"].as_array().unwrap()[..] else { panic!("{}", report["interventions"]) };
    assert_eq!((&one["what"], &one["on"]), (&json!("second anchor"), &json!("2026-10-11")));
    let compared = &one["comparison"];
    // 21 days of P-001 and 10 of P-002; before that, P-001 from the implant on: 69 days
    assert_eq!((&compared["events"], &compared["device_days"]), (&json!(1), &json!(31)));
    assert_eq!((&compared["events_before"], &compared["device_days_before"]), (&json!(0), &json!(69)));
    // the onset was on the 20th: 11 days from the 21st on, without P-002
    let quiet = &one["quiet"];
    assert_eq!((&quiet["from"], &quiet["days"], &quiet["device_days"]), (&json!("2026-10-21"), &json!(11), &json!(11)));
    assert_eq!(
        (&quiet["chance"], &quiet["chance_low"], &quiet["chance_high"]),
        (&Value::Null, &Value::Null, &Value::Null)
    );
    assert_eq!(one["lower_alarm"]["none_because"], "fewer than 10 infections in the 12 months before the change");
    assert_eq!(one["lower_alarm"]["points"], json!([]));
    assert_eq!(report["interventions_later"], json!([{ "on": "2026-12-01", "what": "later", "why": "pulls" }]));
    let text = text(&desk, &OCTOBER);
    for said in [
        "Since 2026-10-11 (second anchor): 32.26 per 1,000 device-days; in the 12 months before: 0.00.",
        "2026-12-01 (later): begins after 2026-10-31, the last day of this report, so there is no comparison yet.",
        "No lower-sided alarm for a halved rate: fewer than 10 infections in the 12 months before the change.",
        "is not proof",
    ] {
        assert!(text.contains(said), "{said} is not in {text}");
    }
    // an infection came after the change, so the days since the last one are no evidence
    assert!(!text.contains("No infection from"), "{text}");
}

#[test]
fn a_rate_that_fell_has_its_chance_and_its_alarm() {
    let desk = since_january();
    let report = audit(&desk, &OCTOBER);
    let one = &report["interventions"][0];
    // 2025: 12 in 4 × 365 device-days; 304 days since, one infection
    is_near(number(one, "/rate_before/rate"), 12.0 / 1.46, 1e-9);
    is_near(number(one, "/rate/rate"), 1.0 / 1.216, 1e-9);
    // Garwood 1936: 12 events, 6.2006 to 20.9616
    is_near(number(one, "/rate_before/low") * 1.46, 6.2006, 5e-5);
    is_near(number(one, "/rate_before/high") * 1.46, 20.9616, 5e-5);
    assert!(number(one, "/comparison/detectable_fall") < 1.0);
    // from 2026-02-11 to 10-31: 263 days of four
    let quiet = &one["quiet"];
    assert_eq!(
        (&quiet["from"], &quiet["days"], &quiet["device_days"]),
        (&json!("2026-02-11"), &json!(263), &json!(1052))
    );
    is_near(number(quiet, "/chance"), (-12.0_f64 / 1460.0 * 1052.0).exp(), 1e-12);
    is_near(number(quiet, "/chance_low"), (-20.9616_f64 / 1460.0 * 1052.0).exp(), 1e-9);
    is_near(number(quiet, "/chance_high"), (-6.2006_f64 / 1460.0 * 1052.0).exp(), 1e-6);
    let alarm = &one["lower_alarm"];
    let expected = 12.0 * 30.4375 / 365.0;
    let cusum = Cusum::lower(expected);
    assert_eq!((&alarm["kind"], &alarm["none_because"]), (&json!("poisson-cusum"), &Value::Null));
    is_near(number(alarm, "/expected"), expected, 1e-12);
    is_near(number(alarm, "/high"), cusum.threshold, 1e-12);
    is_near(number(alarm, "/in_control_months"), cusum.in_control_months, 1e-9);
    is_near(number(alarm, "/expected_delay_months"), cusum.expected_delay_months, 1e-9);
    // if the true old rate was lower, false alarms are more frequent
    assert!(number(alarm, "/in_control_months_at_low") < number(alarm, "/in_control_months"));
    assert!(number(alarm, "/in_control_months_at_high") > number(alarm, "/in_control_months"));
    // half of 12 × 4 × days ÷ 1,460 per month, less ln 2 for the one infection of February
    let mut sum = 0.0_f64;
    for (n, days) in [31.0, 28.0, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0].into_iter().enumerate() {
        sum = (sum + 12.0 * 4.0 * days / 1460.0 / 2.0 - if n == 1 { 2.0_f64.ln() } else { 0.0 }).max(0.0);
        let point = &alarm["points"][n];
        assert_eq!(point["month"], format!("2026-{:02}", n + 1));
        is_near(number(point, "/value"), sum, 1e-12);
        assert_eq!(point["alarm"], sum >= cusum.threshold, "{point}");
    }
    assert_eq!(alarm["points"].as_array().unwrap().len(), 10);
    assert_eq!((&alarm["alarm_since"], &alarm["first_alarm"]), (&json!("2026-07"), &json!("2026-07")));
    let text = text(&desk, &OCTOBER);
    for said in [
        "Since 2026-01-01 (second anchor): 0.82 per 1,000 device-days; in the 12 months before: 8.22. Ratio 0.10 (95 % limits",
        "2026-01-01 (second anchor), reason: pulls.",
        "At the two-sided 5 % level, earlier rate taken as true, power was 80 % to detect",
        "Lower-sided alarm for a halved rate since 2026-07: CUSUM",
    ] {
        assert!(text.contains(said), "{said} is not in {text}");
    }
    // another infection ends the alarm in September; the earlier alarm is still mentioned
    infection(&desk, "P-002", "2026-09-03");
    infection(&desk, "P-003", "2026-09-20");
    infection(&desk, "P-004", "2026-10-02");
    let ended = audit(&desk, &OCTOBER);
    let alarm = &ended["interventions"][0]["lower_alarm"];
    assert_eq!((&alarm["alarm_since"], &alarm["first_alarm"]), (&Value::Null, &json!("2026-07")));
    assert!(super::text(&desk, &OCTOBER).contains("Lower-sided alarm for a halved rate in 2026-07, since ended"));
}

/// An added month changes no earlier sum.
#[test]
fn an_added_month_changes_no_earlier_sum() {
    let desk = since_january();
    let points = |month: &str| audit(&desk, &["--month", month])["interventions"][0]["lower_alarm"]["points"].clone();
    let (before, after) = (points("2026-08"), points("2026-09"));
    let (before, after) = (before.as_array().unwrap(), after.as_array().unwrap());
    assert_eq!((before.len(), before[..] == after[..8]), (8, true));
}

#[test]
fn bad_input_is_a_sentence() {
    let check = |about: &str, desk: &Desk, said: &str| {
        let _ = audit(desk, &OCTOBER);
        let text = text(desk, &OCTOBER);
        assert!(text.contains(said), "{about}: {said} is not in {text}");
    };
    let desk = since_january();
    let policy = desk.get("policy.toml");
    let with = |on: &str, said: &str| {
        desk.put("policy.toml", &policy.replace("on = 2026-01-01", &format!("on = {on}")));
        check(on, &desk, said);
    };
    with("2027-03-01", "2027-03-01 (second anchor): begins after 2026-10-31, the last day of this report,");
    with(
        "1990-01-01",
        "1990-01-01 (second anchor): no device-days on file before it, so there is no rate to compare with.",
    );
    with(
        "2024-01-01",
        "2024-01-01 (second anchor): no device-days on file before it, so there is no rate to compare with.",
    );
    with("2026-10-31", "Since 2026-10-31 (second anchor): 0.00 per 1,000 device-days");
    // no patient under support since
    let ended = nobody();
    patient(&ended, "P-001", "2024-01-01", Some(("2026-01-05", "transplant")));
    change(&ended, "2026-02-01", "second anchor");
    check("ended", &ended, "2026-02-01 (second anchor): no device-days since, so there is no rate to compare.");
    // no patients at all
    let empty = nobody();
    change(&empty, "2026-02-01", "second anchor");
    check("empty", &empty, "2026-02-01 (second anchor): no device-days on file before it");
    // twelve infections of one patient, one per day, in the week before
    let burst = nobody();
    patient(&burst, "P-001", "2025-01-01", None);
    for day in 10..=21 {
        infection(&burst, "P-001", &format!("2026-09-{day}"));
    }
    change(&burst, "2026-09-22", "second anchor");
    check("burst", &burst, "No infection since 2026-09-22: 1.3 months, 40 device-days.");
    // without a change of the program, the report does not mention any
    desk.put("policy.toml", policy.split("[[audit").next().unwrap());
    assert!(!text(&desk, &OCTOBER).contains("CHANGES THE PROGRAM MADE"));
}
