//! Attacks on the external report: no two or three reports reveal a count of 1 to 4, by sum, difference or otherwise,
//! and no change of a count from 1 to 4 changes a byte.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use exitsite::command::{Outcome, Surroundings, run};
use serde_json::Value;

use super::desk::Desk;
use super::{Simulated, simulate};

/// The completed years of programs that begin in 2023-11.
const YEARS: [i32; 3] = [2023, 2024, 2025];

/// Programs from a few patients to a dozen.
static PROGRAMS: LazyLock<Vec<Simulated>> =
    LazyLock::new(|| [(3, 1), (6, 2), (8, 6), (10, 7), (13, 8)].map(|(n, seed)| simulate(n, 3, seed)).into());

fn said(records: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: records.to_owned(),
        ..Surroundings::default()
    };
    run(["exitsite", "audit"].iter().chain(arguments).map(Into::into), &surroundings)
}

fn done(records: &Path, year: i32, arguments: &[&str]) -> String {
    let outcome = said(records, &[&["--year", &year.to_string()], arguments].concat());
    assert_eq!((outcome.status, outcome.stderr.as_str()), (0, ""));
    outcome.stdout
}

fn external(records: &Path, year: i32) -> Value {
    let report = serde_json::from_str(&done(records, year, &["--external", "--json"])).unwrap();
    jsonschema::validate(&exitsite::schema::schema("audit-external").unwrap(), &report).unwrap();
    report
}

/// Each year's report in every format, or the reason for none.
fn forms(records: &Path, is_json_alone: bool) -> Vec<String> {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let page = kept.path().join("page.html");
    let of_year = |year: i32| -> Vec<String> {
        let said = |arguments: &[&str]| {
            let outcome = said(records, &[&["--year", &year.to_string(), "--external"], arguments].concat());
            outcome.stdout + &outcome.stderr
        };
        let json = said(&["--json"]);
        if is_json_alone {
            return vec![json];
        }
        said(&["--html", page.to_str().unwrap()]);
        vec![json, said(&[]), std::fs::read_to_string(&page).unwrap_or_default()]
    };
    YEARS.into_iter().flat_map(of_year).collect()
}

/// The numbers that a reader can take from a report, by name; for a rate, also the count computed back from it.
fn figures(report: &Value) -> BTreeMap<String, i64> {
    let mut figures = BTreeMap::new();
    let days = report["device_days"].as_i64();
    let mut put = |name: &str, value: Option<i64>| _ = value.map(|value| figures.insert(name.to_owned(), value));
    put("patients", report["patients"].as_i64());
    put("device-days", days);
    for name in ["infections", "pulls"] {
        put(name, report[name]["count"].as_i64());
        let rate = report[name]["per_1000_device_days"]["rate"].as_f64();
        let worked_out = rate.zip(days).map(|(rate, days)| (rate * days as f64 / 1000.0).round() as i64);
        put(&format!("{name} by the rate"), worked_out);
    }
    for (name, share) in report["percent"].as_object().unwrap() {
        put(&format!("{name} of the days"), share.as_i64().zip(days).map(|(share, days)| share * days / 100));
    }
    figures.insert("a year of everybody".to_owned(), report["patients"].as_i64().map_or(0, |n| n * 365));
    figures.insert("nothing".to_owned(), 0);
    figures
}

/// The counts of 1 to 4 in the records behind a report, with or without a line for them there.
fn cells(truth: &Value) -> BTreeMap<&'static str, i64> {
    let number = |path: &str| truth.pointer(path).and_then(Value::as_i64).unwrap();
    let all = [
        ("patients", number("/census/patients")),
        ("infections", number("/infections/events")),
        ("patients infected", number("/infections/patients")),
        ("possible", number("/infections/possible")),
        ("recurrences", number("/infections/recurrences")),
        ("pulls", number("/trauma/events")),
        ("changes late", number("/changes/late")),
        ("changes missed", number("/changes/missed")),
        ("days past due", number("/changes/days_in_date/days") - number("/changes/days_in_date/in_date")),
        ("showers not followed", number("/after_shower/late")),
        ("anchors off", number("/anchor_in_place/known") - number("/anchor_in_place/yes")),
        ("dressings open", number("/dressing_intact/known") - number("/dressing_intact/yes")),
    ];
    all.into_iter().filter(|(_, value)| (1..=4).contains(value)).collect()
}

/// A report in a reader's hands, and the counts that it must not reveal.
#[derive(Clone)]
struct Held {
    program: usize,
    year: i32,
    report: Value,
    /// The internal audit.
    truth: Value,
    figures: BTreeMap<String, i64>,
    cells: BTreeMap<&'static str, i64>,
}

static HELD: LazyLock<Vec<Held>> = LazyLock::new(|| {
    let held = |(program, kept): (usize, &Simulated)| {
        YEARS.map(|year| {
            let report = external(&kept.records, year);
            let truth = serde_json::from_str(&done(&kept.records, year, &["--json"])).unwrap();
            Held { program, year, figures: figures(&report), cells: cells(&truth), report, truth }
        })
    };
    PROGRAMS.iter().enumerate().flat_map(held).collect()
});

/// Reports to combine with the first: of the same program `place` years later (0 is itself), or of other programs in
/// that year if `None`.
fn beside<'a>(held: &'a [Held], first: &'a Held, place: Option<i32>) -> impl Iterator<Item = &'a Held> {
    held.iter().filter(move |other| match place {
        Some(years) => other.program == first.program && other.year == first.year + years,
        None => other.program != first.program && other.year == first.year,
    })
}

/// Combines figures of up to three reports by sums and differences and compares them with each count of the first.
/// Returns the formulas that reveal a count wherever they apply; a formula that fits one year by chance fails in
/// another.
fn attack(held: &[Held]) -> Vec<String> {
    const FEWEST_TIMES: usize = 4;
    const PLACES: [Option<i32>; 6] = [Some(0), Some(-2), Some(-1), Some(1), Some(2), None];
    const SIGNS: [[i64; 3]; 7] = [[1, 1, 1], [1, 1, -1], [1, -1, 1], [1, -1, -1], [-1, 1, 1], [-1, 1, -1], [-1, -1, 1]];
    let all = |names: &dyn Fn(&Held) -> Vec<String>| -> Vec<String> {
        held.iter().flat_map(names).collect::<std::collections::BTreeSet<_>>().into_iter().collect()
    };
    let names = all(&|one| one.figures.keys().cloned().collect());
    let cells = all(&|one| one.cells.keys().map(|name| (*name).to_owned()).collect());
    let values = |one: &Held| -> Vec<Option<i64>> { names.iter().map(|name| one.figures.get(name).copied()).collect() };
    let told: Vec<(&Held, Vec<Option<i64>>)> = held.iter().map(|one| (one, values(one))).collect();
    let figures = |one: &Held| &told.iter().find(|(other, _)| std::ptr::eq(*other, one)).unwrap().1;
    let formulas = || {
        let n = names.len();
        (0..n * n * n).map(move |formula| (formula % n, formula / n % n, formula / n / n))
    };
    let mut given_away = Vec::new();
    for (n, second) in PLACES.iter().enumerate() {
        for (third, cell) in PLACES[n..].iter().flat_map(|third| cells.iter().map(move |cell| (third, cell))) {
            let mut tuples = Vec::new();
            for (first, truth) in held.iter().filter_map(|first| Some((first, *first.cells.get(cell.as_str())?))) {
                for one in beside(held, first, *second) {
                    let triples =
                        beside(held, first, *third).map(|two| (figures(first), figures(one), figures(two), truth));
                    tuples.extend(triples);
                }
            }
            for (a, b, c) in formulas() {
                for signs in SIGNS {
                    let (mut times, mut seen) = (0, std::collections::BTreeSet::new());
                    let fits = tuples.iter().all(|(first, one, two, truth)| {
                        let (Some(first), Some(one), Some(two)) = (first[a], one[b], two[c]) else { return true };
                        times += 1;
                        seen.insert(*truth);
                        signs[0] * first + signs[1] * one + signs[2] * two == *truth
                    });
                    if fits && times >= FEWEST_TIMES && seen.len() >= 2 {
                        let (a, b, c) = (&names[a], &names[b], &names[c]);
                        given_away
                            .push(format!("{cell} is {signs:?} of {a}, {b} {second:?} and {c} {third:?}: {times}"));
                    }
                }
            }
        }
    }
    given_away
}

#[test]
fn no_pair_or_triple_of_reports_gives_a_cell_of_one_to_four_away() {
    let cells: usize = HELD.iter().map(|held| held.cells.len()).sum();
    assert!(cells >= 40, "the attack has {cells} cells to look for");
    assert_eq!(attack(&HELD), Vec::<String>::new());
}

#[test]
fn the_attack_finds_what_nested_periods_and_sums_between_tables_give_away() {
    let count = |held: &Held, path: &str| held.truth.pointer(path).and_then(Value::as_i64).unwrap();
    // Counts from the beginning to the end of each year, as reports over arbitrary periods would show them.
    let mut nested = HELD.clone();
    for held in &mut nested {
        let until = HELD.iter().filter(|other| other.program == held.program && other.year <= held.year);
        held.figures.insert("pulls so far".to_owned(), until.map(|other| count(other, "/trauma/events")).sum());
    }
    let found = attack(&nested);
    assert!(found.iter().any(|way| way.starts_with("pulls is") && way.contains("pulls so far")), "{found:?}");
    // The denominator of a proportion, next to its numerator.
    let mut sums = HELD.clone();
    for held in &mut sums {
        for key in ["known", "yes"] {
            held.figures.insert(key.to_owned(), count(held, &format!("/anchor_in_place/{key}")));
        }
    }
    let found = attack(&sums);
    assert!(found.iter().any(|way| way.starts_with("anchors off is")), "{found:?}");
}

/// The codes of the patients on file.
fn codes(records: &Path) -> Vec<String> {
    let names = std::fs::read_dir(records.join("patients")).unwrap();
    let mut codes: Vec<String> = names.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    codes.sort();
    codes
}

#[test]
fn whichever_of_one_to_four_it_is_every_report_of_every_year_keeps_its_bytes() {
    let kept = simulate(6, 3, 6);
    let count = |key: &str| external(&kept.records, 2025)[key]["count"].clone();
    let code =
        codes(&kept.records).into_iter().find(|code| kept.records.join(format!("patients/{code}/2025")).is_dir());
    let code = code.unwrap();
    let folder = kept.records.join("patients").join(&code).join("2025");
    // The simulated infections of the year are removed, so that they can be added one by one.
    for code in codes(&kept.records) {
        let names = std::fs::read_dir(kept.records.join("patients").join(code).join("2025")).into_iter().flatten();
        for path in
            names.map(|entry| entry.unwrap().path()).filter(|path| path.to_str().unwrap().contains("-infection"))
        {
            std::fs::remove_file(path).unwrap();
        }
    }
    assert_eq!(count("infections"), 0);
    let (mut seen, mut whole) = (Vec::new(), Vec::new());
    for n in 1..=5 {
        let says = format!(
            "kind = 'infection'\nat = 2025-{n:02}-11T10:00:00\nby = 'md-1'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = 2025-{n:02}-10\n"
        );
        std::fs::write(folder.join(format!("2025-{n:02}-11T1000-infection.toml")), says).unwrap();
        assert_eq!(count("infections"), if n < 5 { Value::from("1 to 4") } else { 5.into() });
        seen.push(forms(&kept.records, true));
        whole.extend((n == 1 || n == 4).then(|| forms(&kept.records, false)));
    }
    assert!(seen[1..4].iter().all(|bytes| *bytes == seen[0]) && whole[0] == whole[1]);
    assert_ne!(seen[4], seen[0]);
}

#[test]
fn with_one_to_four_patients_nothing_else_is_told() {
    let kept = simulate(5, 3, 6);
    let mut seen = Vec::new();
    for code in codes(&kept.records) {
        seen.push(forms(&kept.records, true));
        std::fs::remove_dir_all(kept.records.join("patients").join(code)).unwrap();
    }
    let told = |forms: &Vec<String>| serde_json::from_str::<Value>(&forms[2]).unwrap();
    assert_eq!((&told(&seen[0])["patients"], told(&seen[0])["device_days"].is_null()), (&5.into(), false));
    // The year 2023 has no patients if all came later.
    assert!(seen[2..].iter().all(|forms| forms[1..] == seen[1][1..]));
    let report = told(&seen[1]);
    assert_eq!(report["patients"], "1 to 4");
    for path in ["/device_days", "/infections/count", "/pulls/count", "/pulls/per_1000_device_days"] {
        assert!(report.pointer(path).unwrap().is_null(), "{path}");
    }
    assert!(report["percent"].as_object().unwrap().values().all(Value::is_null), "{report}");
    // Without patients there is no report.
    let outcome = said(&kept.records, &["--year", "2025", "--external"]);
    assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""));
    assert!(outcome.stderr.contains("no patient was on support in 2025"), "{}", outcome.stderr);
}

#[test]
fn figures_are_those_of_the_audit_as_far_as_they_may_be_told() {
    for Held { report, truth, .. } in HELD.iter() {
        let number = |path: &str| truth.pointer(path).and_then(Value::as_i64).unwrap();
        let told = |count: i64| if (1..=4).contains(&count) { Value::from("1 to 4") } else { count.into() };
        assert_eq!(report["patients"], told(number("/census/patients")));
        let Some(days) = report["device_days"].as_i64() else { continue };
        let exact = number("/census/device_days");
        let step = 10_i64.pow(exact.ilog10().saturating_sub(2));
        assert!((days - exact).abs() * 2 <= step && days % step == 0, "{days} of {exact}");
        for (name, count) in [("infections", "/infections/events"), ("pulls", "/trauma/events")] {
            let (count, rate) = (number(count), &report[name]["per_1000_device_days"]);
            assert_eq!(report[name]["count"], told(count));
            assert_eq!(rate.is_null(), count < 5);
            if let Some(rate) = rate["rate"].as_f64() {
                assert!((rate - count as f64 * 1000.0 / days as f64).abs() <= 0.005 + 1e-9);
            }
        }
        let share = |part: i64, whole: i64| {
            let is_told = part >= 5 && whole - part >= 5;
            is_told.then(|| (100.0 * part as f64 / whole as f64).round().clamp(1.0, 99.0) as i64)
        };
        let on_time = share(number("/changes/on_time"), number("/changes/expected"));
        let anchors = share(number("/anchor_in_place/yes"), number("/anchor_in_place/known"));
        let (showers, unknown) = (number("/after_shower/showers"), number("/after_shower/time_unknown"));
        let in_time = number("/after_shower/in_time");
        let bound = |part| share(part, showers).filter(|_| unknown >= 5);
        for (name, expected) in [
            ("changes_on_time", on_time),
            ("anchor_in_place", anchors),
            ("showers_followed_at_least", bound(in_time)),
            ("showers_followed_at_most", bound(in_time + unknown)),
        ] {
            let value = report["percent"][name].as_i64();
            // A proportion may come from fewer than five patients.
            assert!(value == expected || value.is_none() && number("/census/patients") < 10, "{name} {report}");
        }
    }
}

#[test]
fn no_code_date_or_file_name_leaves_and_the_first_line_says_what_it_is() {
    let records = &PROGRAMS[4].records;
    let codes = codes(records);
    assert!(codes.len() >= 13);
    for said in forms(records, false) {
        assert!(codes.iter().all(|code| !said.contains(code)));
        assert!(!said.contains(".toml") && !said.contains("as of") && !said.contains("as_of"));
        let is_date = |word: &str| word.len() == 10 && word.as_bytes()[4] == b'-' && word.as_bytes()[7] == b'-';
        assert!(!said.split(|c: char| !c.is_ascii_digit() && c != '-').any(is_date), "{said}");
        assert!(!said.contains("<svg") && !said.contains("pseudonymous"), "{said}");
    }
    let first = |arguments: &[&str], n: usize| {
        done(records, 2025, arguments).lines().nth(n).unwrap().trim().trim_end_matches(',').to_owned()
    };
    assert_eq!(first(&["--external"], 0), "external report: may leave the program");
    assert_eq!(first(&["--external", "--json"], 1), "\"release\": \"external report: may leave the program\"");
    assert_eq!(first(&[], 0), "internal: patient codes");
    let page = scraper::Html::parse_document(&forms(records, false)[8]);
    let body = page.select(&scraper::Selector::parse("main").unwrap()).next().unwrap();
    assert_eq!(body.text().find(|text| !text.trim().is_empty()), Some("external report: may leave the program"));
}

#[test]
fn anything_but_one_year_that_is_over_is_refused_with_a_sentence() {
    let desk = Desk::new();
    let refused = |arguments: &[&str], says: &str| {
        let said = desk.refused(&[&["audit", "--external"], arguments].concat());
        assert!(said.contains(says), "{arguments:?}: {said}");
        assert_eq!(said.lines().count(), 1, "{said}");
    };
    refused(&[], "name it with --year");
    refused(
        &["--year", "2026"],
        "2026 is not over, and an external report covers a complete calendar year; choose 2025",
    );
    refused(&["--year", "2031"], "2031 is not over");
    refused(&["--year", "26"], "--year \"26\" is not understood");
    refused(&["--year", "2020"], "no patient was on support in 2020");
    let year = ["--year", "2025"];
    for other in [
        &["--by", "where"][..],
        &["--compare", "2024-01-01", "2024-12-31"],
        &["--issued", "policy.toml"],
        &["--as-of", "2026-02-01"],
        &["--at-commit", "HEAD"],
    ] {
        refused(&[&year, other].concat(), &format!("leave {} out and name the year with --year", other[0]));
    }
    for other in
        [&["--month", "2025-10"][..], &["--quarter", "2025-Q3"], &["--from", "2025-01-01", "--to", "2025-12-31"]]
    {
        refused(other, &format!("leave {} out and name the year with --year", other[0]));
    }
    let said = desk.refused(&["audit", "--year", "2025", "--deidentify"]);
    assert!(said.contains("--external") && said.contains("--pseudonymous --key FILE"), "{said}");
    desk.put("policy.toml", "schema = 1\nprogram = 'Invented'\n");
    refused(&year, "policy.toml cannot be read");
}

#[test]
fn a_page_that_stays_inside_is_not_replaced_by_one_that_leaves() {
    let records = &PROGRAMS[4].records;
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("audit.html");
    let file = file.to_str().unwrap();
    done(records, 2025, &["--html", file]);
    let page = std::fs::read_to_string(file).unwrap();
    assert!(page.contains("internal: patient codes"));
    let outcome = said(records, &["--year", "2025", "--external", "--html", file]);
    assert_eq!((outcome.status, std::fs::read_to_string(file).unwrap()), (2, page));
}

#[test]
fn a_missing_file_is_reported_without_its_name() {
    let kept = simulate(7, 2, 5);
    let code = codes(&kept.records).remove(0);
    std::fs::write(kept.records.join("patients").join(&code).join("patient.toml"), "code = ").unwrap();
    let outcome = said(&kept.records, &["--year", "2025", "--external"]);
    assert_eq!(outcome.status, 3);
    assert!(outcome.stdout.contains("Incomplete: a file of the records cannot be read"), "{}", outcome.stdout);
    assert!(!outcome.stdout.contains(&code) && !outcome.stderr.contains(&code));
    let outcome = said(&kept.records, &["--year", "2025", "--external", "--json"]);
    assert_eq!(serde_json::from_str::<Value>(&outcome.stdout).unwrap()["is_complete"], false);
}
