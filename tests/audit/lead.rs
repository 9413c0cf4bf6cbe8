//! The first sentences of the audit, read by a committee: each case as records, with the whole expected text.
//!
//! Rates, ratios, p and power are those of SciPy 1.17.1 (`chi2.ppf`, `binomtest`, and sums of Poisson probabilities).

use super::desk::Desk;
use super::{audit, infection, nobody, patient, text};

/// A case: patients by their implant, infections by patient and onset, the arguments, and the text.
struct Case {
    about: &'static str,
    implanted: &'static [&'static str],
    onsets: &'static [(usize, &'static str)],
    policy: &'static str,
    arguments: &'static [&'static str],
    expected: &'static str,
}

const PLAIN: Case =
    Case { about: "", implanted: &[], onsets: &[], policy: "", arguments: &["--month", "2026-10"], expected: "" };
const TEN: [&str; 10] = ["2024-01-01"; 10];
const BASELINE: &str = "[audit]\nbaseline = { from = '2024-01', through = '2024-12' }\n";
const ACKNOWLEDGED: &str = "[audit]\nbaseline = { from = '2024-01', through = '2024-12' }\nacknowledged = [ { month = '2026-08', by = 'md-3', why = 'two pulls' }, { month = '2026-09', by = 'md-3', why = 'two pulls' }, { month = '2026-10', by = 'md-3', why = 'two pulls' } ]\n";

/// Twelve in 2024, then eleven in a single month, for ten patients.
const BURST: [(usize, &str); 23] = [
    (1, "2024-01-15"),
    (2, "2024-02-15"),
    (3, "2024-03-15"),
    (4, "2024-04-15"),
    (5, "2024-05-15"),
    (6, "2024-06-15"),
    (7, "2024-07-15"),
    (8, "2024-08-15"),
    (9, "2024-09-15"),
    (10, "2024-10-15"),
    (1, "2024-11-15"),
    (2, "2024-12-15"),
    (1, "2026-08-02"),
    (2, "2026-08-04"),
    (3, "2026-08-06"),
    (4, "2026-08-08"),
    (5, "2026-08-10"),
    (6, "2026-08-12"),
    (7, "2026-08-14"),
    (8, "2026-08-16"),
    (9, "2026-08-18"),
    (10, "2026-08-20"),
    (1, "2026-08-28"),
];

fn cases() -> Vec<Case> {
    vec![
        Case { about: "nobody", expected: "No device-days, so there is no rate.", ..PLAIN },
        Case {
            about: "no infection, nothing before",
            implanted: &["2026-10-01"],
            expected: "0 infections in 31 device-days: 0.00 per 1,000 (95 % limits 0.00 to 119.00). 2025-11-01 to 2026-10-31: 0.00 per 1,000 (0 infections); 2024-11-01 to 2025-10-31: no device-days (0 infections); no comparison is possible.",
            ..PLAIN
        },
        Case {
            about: "no infection in either",
            implanted: &["2024-01-01"],
            expected: "0 infections in 31 device-days: 0.00 per 1,000 (95 % limits 0.00 to 119.00). 2025-11-01 to 2026-10-31: 0.00 per 1,000 (0 infections); 2024-11-01 to 2025-10-31: 0.00 per 1,000 (0 infections); no infection in either.",
            ..PLAIN
        },
        Case {
            about: "one infection, none before",
            implanted: &["2024-01-01"],
            onsets: &[(1, "2026-10-10")],
            expected: "1 infection in 31 device-days: 32.26 per 1,000 (95 % limits 0.82 to 179.73). 2025-11-01 to 2026-10-31: 2.74 per 1,000 (1 infection); 2024-11-01 to 2025-10-31: 0.00 per 1,000 (0 infections). None before, so the 95 % limits of the ratio are 0.03 or more. If the rate had not changed, a difference at least this large would occur in about 100 of 100 such comparisons (p 1.000). Without an earlier infection, no detectable rise or fall can be given.",
            ..PLAIN
        },
        Case {
            about: "several, and no fall that could have been shown",
            implanted: &["2024-01-01"; 3],
            onsets: &[
                (1, "2024-05-05"),
                (2, "2024-08-09"),
                (1, "2025-02-02"),
                (2, "2025-04-04"),
                (3, "2025-06-06"),
                (3, "2025-12-31"),
            ],
            arguments: &["--year", "2025"],
            expected: "4 infections in 1,095 device-days: 3.65 per 1,000 (95 % limits 1.00 to 9.35). 2025-01-01 to 2025-12-31: 3.65 per 1,000 (4 infections); 2024-01-01 to 2024-12-31: 1.82 per 1,000 (2 infections). Ratio 2.01 (95 % 0.29 to 22.17). If the rate had not changed, a difference at least this large would occur in about 68 of 100 such comparisons (p 0.685). At the two-sided 5 % level, earlier rate taken as true, power was 80 % to detect a rise to 6.6 times the rate or more; no fall was detectable.",
            ..PLAIN
        },
        Case {
            about: "a comparison that was asked for, with none in the period",
            implanted: &["2024-01-01"],
            onsets: &[(1, "2025-02-02"), (1, "2025-05-05"), (1, "2025-08-08")],
            arguments: &["--from", "2026-01-01", "--to", "2026-04-02", "--compare", "2025-01-01", "2025-12-31"],
            expected: "0 infections in 92 device-days: 0.00 per 1,000 (95 % limits 0.00 to 40.10). 2026-01-01 to 2026-04-02: 0.00 per 1,000 (0 infections); 2025-01-01 to 2025-12-31: 8.22 per 1,000 (3 infections). Ratio 0.00 (95 % 0.00 to 9.60). If the rate had not changed, a difference at least this large would occur in about 100 of 100 such comparisons (p 1.000). At the two-sided 5 % level, earlier rate taken as true, power was 80 % to detect a rise to 8.7 times the rate or more; no fall was detectable.",
            ..PLAIN
        },
        Case {
            about: "a rise and a fall that could have been shown",
            implanted: &TEN,
            onsets: &BURST,
            arguments: &["--from", "2025-11-01", "--to", "2026-10-31", "--compare", "2024-01-01", "2024-12-31"],
            expected: "11 infections in 3,650 device-days: 3.01 per 1,000 (95 % limits 1.50 to 5.39). 2025-11-01 to 2026-10-31: 3.01 per 1,000 (11 infections); 2024-01-01 to 2024-12-31: 3.28 per 1,000 (12 infections). Ratio 0.92 (95 % 0.37 to 2.28). If the rate had not changed, a difference at least this large would occur in about 100 of 100 such comparisons (p 1.000). At the two-sided 5 % level, earlier rate taken as true, power was 80 % to detect a rise to 2.6 times the rate or more, or a fall to 0.13 times the rate or less.",
            ..PLAIN
        },
        Case {
            about: "an open alarm",
            implanted: &TEN,
            onsets: &BURST,
            policy: BASELINE,
            expected: "Alarm for a doubled rate since 2026-08, not acknowledged. 0 infections in 310 device-days: 0.00 per 1,000 (95 % limits 0.00 to 11.90). 2025-11-01 to 2026-10-31: 3.01 per 1,000 (11 infections); 2024-11-01 to 2025-10-31: 0.55 per 1,000 (2 infections). Ratio 5.50 (95 % 1.20 to 51.07). If the rate had not changed, a difference at least this large would occur in about 2 of 100 such comparisons (p 0.022). At the two-sided 5 % level, earlier rate taken as true, power was 80 % to detect a rise to 6.5 times the rate or more; no fall was detectable.",
            ..PLAIN
        },
        Case {
            about: "an alarm that was acknowledged",
            implanted: &TEN,
            onsets: &BURST,
            policy: ACKNOWLEDGED,
            arguments: &["--year", "2024"],
            expected: "12 infections in 3,660 device-days: 3.28 per 1,000 (95 % limits 1.69 to 5.73). 2024-01-01 to 2024-12-31: 3.28 per 1,000 (12 infections); 2023-01-01 to 2023-12-31: no device-days (0 infections); no comparison is possible.",
        },
    ]
}

fn desk(case: &Case) -> Desk {
    let desk = nobody();
    desk.put("policy.toml", &format!("{}{}", desk.get("policy.toml"), case.policy));
    for (n, implanted) in case.implanted.iter().enumerate() {
        patient(&desk, &format!("P-{:03}", n + 1), implanted, None);
    }
    for (n, onset) in case.onsets {
        infection(&desk, &format!("P-{n:03}"), onset);
    }
    desk
}

#[test]
fn the_first_sentences_are_these() {
    for case in cases() {
        let desk = desk(&case);
        audit(&desk, case.arguments);
        let text = text(&desk, case.arguments);
        let lead = text.split(" INFECTIONS ").nth(1).and_then(|rest| rest.split(" rate value 95 % exact").next());
        assert_eq!(lead, Some(case.expected), "{}", case.about);
    }
}

/// An alarm is named in the first sentence while it is open, in later reports too, and no longer once it is
/// acknowledged.
#[test]
fn only_an_open_alarm_is_in_the_first_sentence() {
    let lead = |policy, month| {
        let case = Case { implanted: &TEN, onsets: &BURST, policy, ..PLAIN };
        text(&desk(&case), &["--month", month]).contains("INFECTIONS Alarm for a doubled rate since 2026-08")
    };
    assert!(lead(BASELINE, "2026-08") && lead(BASELINE, "2026-09"));
    assert!(!lead(BASELINE, "2026-07") && !lead("", "2026-08"));
    assert!(!lead(ACKNOWLEDGED, "2026-08") && !lead(ACKNOWLEDGED, "2026-10"));
}

/// Under 20 patient-months the heading says so, before the first sentence.
#[test]
fn a_small_program_is_told_before_the_rate() {
    let said = "A single event would change these figures substantially. INFECTIONS";
    let one = Case { implanted: &["2024-01-01"], ..PLAIN };
    assert!(text(&desk(&one), &["--month", "2026-10"]).contains(said));
    assert!(!text(&desk(&Case { implanted: &["2024-01-01"; 20], ..PLAIN }), &["--year", "2025"]).contains(said));
}
