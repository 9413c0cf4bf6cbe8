//! Recurrent infections by hand: the mean count with a death, the variance between patients, and the text for few
//! patients.

use serde_json::{Value, json};

use super::desk::Desk;
use super::{audit, infection, is_near, nobody, number, patient, text};

const OCTOBER: [&str; 2] = ["--month", "2026-10"];

fn shown_from(desk: &Desk, least: u32) {
    let policy = desk.get("policy.toml");
    desk.put("policy.toml", &format!("{policy}[audit]\ncurve_at_risk = {least}\n"));
}

/// Four patients from 2026-07-23 on, 100 days before the end of October: one infected on day 10 and day 40, one on day
/// 40, one who dies on day 20.
fn four() -> Desk {
    let desk = nobody();
    for (code, ended) in [("P-001", None), ("P-002", None), ("P-003", Some(("2026-08-12", "death"))), ("P-004", None)] {
        patient(&desk, code, "2026-07-23", ended);
    }
    for (code, onset) in [("P-001", "2026-08-02"), ("P-001", "2026-09-01"), ("P-004", "2026-09-01")] {
        infection(&desk, code, onset);
    }
    desk
}

#[test]
fn each_infection_is_counted_and_a_death_ends_the_count() {
    let desk = four();
    shown_from(&desk, 3);
    let report = audit(&desk, &OCTOBER);
    let recurrent = &report["recurrent"];
    assert_eq!((&recurrent["patients"], &recurrent["events"]), (&json!(4), &json!(3)));
    let of = |infections: u64, patients: u64| json!({ "infections": infections, "patients": patients });
    assert_eq!(recurrent["by_infections"], json!([of(0, 2), of(1, 1), of(2, 1)]));
    let steps = recurrent["mean_count"].as_array().unwrap();
    let counts: Vec<(i64, u64, u64)> = steps
        .iter()
        .map(|step| {
            (step["day"].as_i64().unwrap(), step["at_risk"].as_u64().unwrap(), step["events"].as_u64().unwrap())
        })
        .collect();
    assert_eq!(counts, [(10, 4, 1), (40, 3, 2)]);
    // a quarter on day 10; then two among three, with a survival of three quarters
    is_near(number(&steps[0], "/value"), 0.25, 1e-12);
    is_near(number(&steps[1], "/value"), 0.75, 1e-12);
    // R, `reference/recurrent.R`: four patients
    is_near(number(&steps[0], "/std_error"), 0.21650635094610965, 1e-12);
    is_near(number(&steps[1], "/std_error"), 0.414578098794425, 1e-10);
    // three are at risk to the end
    let shown = &recurrent["shown"];
    assert_eq!(
        (&shown["from"], &shown["to"], &shown["mean_count"]),
        (&json!(0), &json!(100), &recurrent["mean_count"])
    );
    let text = text(&desk, &OCTOBER);
    for said in ["3 infections on file in 2 of 4 patients; 1 has more than one (1 with 2).", "90 3 75.0 25.4 to 221.6"]
    {
        assert!(text.contains(said), "{said} is not in {text}");
    }
}

#[test]
fn the_variance_between_patients_is_next_to_the_poisson_one() {
    let report = audit(&four(), &["--from", "2026-07-01", "--to", "2026-10-31"]);
    // 101 days of three, and 20 of one
    let each = [(2.0, 101.0), (0.0, 101.0), (0.0, 20.0), (1.0, 101.0)];
    let rate = 3.0 / 323.0;
    let squares: f64 = each.iter().map(|(events, days)| f64::powi(events - rate * days, 2)).sum();
    let variance = 4.0 / 3.0 * squares / 9.0;
    for path in ["of_period", "on_file"] {
        let one = &report["recurrent"][path];
        assert_eq!((&one["events"], &one["device_days"], &one["patients"]), (&json!(3), &json!(323), &json!(4)));
        is_near(number(one, "/rate/rate"), 1000.0 * rate, 1e-9);
        is_near(number(one, "/poisson_variance"), 1.0 / 3.0, 1e-12);
        is_near(number(one, "/robust_variance"), variance, 1e-12);
        is_near(number(one, "/variance_ratio"), 3.0 * variance, 1e-12);
        is_near(number(one, "/robust_high"), 1000.0 * rate * (1.959963984540054 * variance.sqrt()).exp(), 1e-8);
    }
    let october = audit(&four(), &OCTOBER);
    assert_eq!(october["recurrent"]["of_period"]["variance_ratio"], Value::Null);
    assert!(text(&four(), &OCTOBER).contains("With fewer than 10 infections the ratio is too imprecise for limits."));
}

/// Twelve patients with one infection each vary less than by chance. Limits from that would be too narrow, so none are
/// given; the JSON keeps them.
#[test]
fn a_variance_below_the_poisson_one_narrows_no_limits() {
    let desk = nobody();
    for n in 1..=12 {
        patient(&desk, &format!("P-{n:03}"), "2026-01-01", None);
        infection(&desk, &format!("P-{n:03}"), &format!("2026-10-{:02}", 2 * n));
    }
    let year = ["--year", "2026"];
    let spread = audit(&desk, &year)["recurrent"]["on_file"].clone();
    assert!(number(&spread, "/variance_ratio") < 1e-9 && number(&spread, "/robust_low") > number(&spread, "/rate/low"));
    let text = text(&desk, &year);
    assert!(
        text.contains("A ratio under 1 is mostly chance, and its limits would be too narrow: use the Poisson limits."),
        "{text}"
    );
    assert!(text.contains(&format!("on file 12 {:.2}", number(&spread, "/rate/rate"))), "{text}");
    assert!(!text.contains("95 % limits of the rate with it"), "{text}");
}

/// An infection before the records, a recurrence and a possible one are not counted; a patient with an earlier one is.
#[test]
fn who_is_counted_are_all_on_file() {
    let desk = four();
    desk.put(
        "patients/P-005/patient.toml",
        "code = 'P-005'\nimplanted = 2026-07-03\nrecords_from = 2026-08-12\ninfections_before = 2\n[[exit]]\nid = 'a'\nwhere = 'midline'\nfrom = 2026-07-03\nwhy = 'implant'\n[[care]]\nfrom = 2026-08-12\nplace = 'home'\n",
    );
    let possible =
        "kind = 'infection'\non = 2026-09-20\nby = 'md-3'\npart = 'pump'\ncertainty = 'possible'\nonset = 2026-09-20\n";
    desk.put("patients/P-005/2026/2026-09-20-infection.toml", possible);
    let recurrent = audit(&desk, &OCTOBER)["recurrent"].clone();
    assert_eq!((&recurrent["patients"], &recurrent["events"]), (&json!(5), &json!(3)));
    // from day 40 of the fifth on there are four at risk
    assert_eq!(recurrent["mean_count"][1]["at_risk"], 4);
}

#[test]
fn bad_input_is_a_sentence() {
    let check = |about: &str, desk: &Desk, said: &str| {
        let _ = audit(desk, &OCTOBER);
        let text = text(desk, &OCTOBER);
        assert!(text.contains(said), "{about}: {said} is not in {text}");
    };
    let desk = nobody();
    let _ = audit(&desk, &OCTOBER);
    assert!(!text(&desk, &OCTOBER).contains("RECURRENT INFECTIONS"));
    patient(&desk, "P-001", "2026-07-23", None);
    check("none", &desk, "No infection on file in 1 patient, so there is no mean count.");
    infection(&desk, "P-001", "2026-10-02");
    check("one", &desk, "1 infection on file in 1 of 1 patient; none has more than one.");
    check("one patient", &desk, "Between-patient variation needs at least two patients.");
    check("few", &desk, "Too few patients at risk for a mean count: it needs 10 on one day; the maximum was 1.");
    shown_from(&desk, 1);
    check("alike", &desk, "90 1 100.0 -");
    // twelve patients, implanted and infected on one day
    let one_day = nobody();
    for n in 1..=12 {
        let code = format!("P-{n:03}");
        patient(&one_day, &code, "2026-10-31", None);
        infection(&one_day, &code, "2026-10-31");
    }
    check("one day", &one_day, "12 infections on file in 12 of 12 patients; none has more than one.");
    // a day of support that ended on the day of its infection
    let gone = nobody();
    patient(&gone, "P-001", "2026-10-05", Some(("2026-10-05", "death")));
    infection(&gone, "P-001", "2026-10-05");
    check("gone", &gone, "1 infection on file in 1 of 1 patient");
}
