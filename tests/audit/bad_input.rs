//! Sparse, odd or misplaced input, in every output format: a sentence in text and page, a number or null in JSON, a
//! coordinate in each picture, and a finite value or an empty cell in each column of the tables.

use std::fs::{File, read_dir, read_to_string};

use parquet::file::reader::{FileReader, SerializedFileReader};
use parquet::record::Field;
use scraper::{Html, Selector};
use serde_json::Value;

use super::desk::Desk;
use super::{audit, infection, nobody, patient, text};

const CHANGES: &str = "[audit]\nbaseline = { from = '2026-09', through = '2026-09' }\n[[audit.intervention]]\non = 1990-01-01\nwhat = 'before the records'\nwhy = 'a slip'\n[[audit.intervention]]\non = 2031-01-01\nwhat = 'in the future'\nwhy = 'a slip'\n";

/// A patient: code, implant, and the day and reason of the end.
type Stay<'a> = (&'a str, &'a str, Option<(&'a str, &'a str)>);

/// The cases, each with its records.
fn cases() -> Vec<(&'static str, Desk)> {
    let with = |patients: &[Stay], infections: &[(&str, &str)]| {
        let desk = nobody();
        for (code, implanted, ended) in patients {
            patient(&desk, code, implanted, *ended);
        }
        for (code, onset) in infections {
            infection(&desk, code, onset);
        }
        desk
    };
    let all_in_one_day = || {
        let desk = nobody();
        for n in 1..=12 {
            let code = format!("P-{n:03}");
            patient(&desk, &code, "2026-10-05", Some(("2026-10-06", "death")));
            infection(&desk, &code, "2026-10-05");
        }
        desk
    };
    let with_changes = |desk: Desk| {
        desk.put("policy.toml", &format!("{}{CHANGES}", desk.get("policy.toml")));
        desk
    };
    vec![
        ("nobody", nobody()),
        ("one patient", with(&[("P-001", "2026-10-01", None)], &[])),
        ("no infection", with(&[("P-001", "2024-01-01", None), ("P-002", "2025-05-05", None)], &[])),
        (
            "one infection",
            with(&[("P-001", "2024-01-01", None), ("P-002", "2025-05-05", None)], &[("P-001", "2026-10-10")]),
        ),
        (
            "implant, infection and end on one day",
            with(&[("P-001", "2026-10-31", Some(("2026-10-31", "death")))], &[("P-001", "2026-10-31")]),
        ),
        ("all in one day", all_in_one_day()),
        (
            "no denominator, and an infection",
            with(&[("P-001", "2024-01-01", Some(("2024-02-01", "transplant")))], &[("P-001", "2024-02-01")]),
        ),
        (
            "changes before the records and in the future",
            with_changes(with(&[("P-001", "2024-01-01", None)], &[("P-001", "2026-10-10")])),
        ),
        ("changes, and nobody", with_changes(nobody())),
    ]
}

/// Collects the paths of texts that stand for an invalid number.
fn odd_words(value: &Value, path: &str, found: &mut Vec<String>) {
    match value {
        Value::Array(all) => all.iter().enumerate().for_each(|(n, one)| odd_words(one, &format!("{path}/{n}"), found)),
        Value::Object(all) => all.iter().for_each(|(key, one)| odd_words(one, &format!("{path}/{key}"), found)),
        Value::String(word) if is_odd(word) => found.push(path.to_owned()),
        // a larger number comes from a division by nearly 0
        Value::Number(number) if number.as_f64().is_none_or(|number| number.abs() > 1e12) => {
            found.push(path.to_owned())
        }
        _ => {}
    }
}

fn is_odd(word: &str) -> bool {
    let apart = |c: char| !c.is_alphanumeric() && c != '-';
    word.split(apart).any(|word| ["nan", "-nan", "inf", "-inf", "infinity"].contains(&word.to_lowercase().as_str()))
}

/// Checks the text of a page, and that each coordinate of its pictures is a finite number.
fn check_page(about: &str, page: &str) {
    let page = Html::parse_document(page);
    let words: String = page.root_element().text().collect();
    assert!(!is_odd(&words), "{about}: {words}");
    let all = Selector::parse("svg, svg *").unwrap();
    for part in page.select(&all) {
        for name in ["x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "width", "height", "points", "viewBox"] {
            let coordinates = part.value().attr(name).unwrap_or_default();
            for one in coordinates.split([' ', ',']).filter(|one| !one.is_empty()) {
                assert!(
                    one.trim_end_matches(['%', 'm']).parse::<f64>().is_ok_and(f64::is_finite),
                    "{about}: {name} {coordinates}"
                );
            }
        }
    }
}

fn check_tables(about: &str, desk: &Desk) {
    let out = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let folder = out.path().join("tables");
    let ran = desk.run(&["export", "parquet", folder.to_str().unwrap()]);
    assert_ne!(ran.status, 2, "{about}: {}", ran.stderr);
    let files: Vec<_> = read_dir(&folder).unwrap().map(|file| file.unwrap().path()).collect();
    let tables: Vec<_> = files.iter().filter(|file| file.extension().is_some_and(|kind| kind == "parquet")).collect();
    assert!(!tables.is_empty(), "{about}: {files:?}");
    for table in tables {
        let reader = SerializedFileReader::new(File::open(table).unwrap()).unwrap();
        for row in reader.get_row_iter(None).unwrap() {
            for (name, field) in row.unwrap().get_column_iter() {
                let is_fine = match field {
                    Field::Double(number) => number.is_finite(),
                    Field::Float(number) => number.is_finite(),
                    _ => true,
                };
                assert!(is_fine, "{about}: {name} of {table:?}");
            }
        }
    }
}

#[test]
fn every_figure_of_every_format_is_a_number() {
    for (about, desk) in cases() {
        for arguments in [&["--month", "2026-10"][..], &["--year", "2025"], &["--month", "2026-10", "--by", "where"]] {
            let report = audit(&desk, arguments);
            let mut found = Vec::new();
            odd_words(&report, "", &mut found);
            assert_eq!(found, Vec::<String>::new(), "{about} {arguments:?}");
            let text = text(&desk, arguments);
            assert!(!is_odd(&text) && !text.contains("null"), "{about} {arguments:?}: {text}");
            let page = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
            let file = page.path().join("audit.html");
            let written = desk.run(&[&["audit", "--html", file.to_str().unwrap()], arguments].concat());
            assert!(written.stdout.starts_with("Wrote"), "{about}: {}", written.stderr);
            check_page(about, &read_to_string(&file).unwrap());
        }
        check_tables(about, &desk);
    }
}

/// Each case with the sentence that it must print first.
#[test]
fn each_has_a_clear_sentence() {
    let said: Vec<(&str, String)> =
        cases().into_iter().map(|(about, desk)| (about, text(&desk, &["--month", "2026-10"]))).collect();
    let expected = [
        ("nobody", "No patient on file was on support in this period, so there are no figures."),
        ("one patient", "0 infections in 31 device-days: 0.00 per 1,000 (95 % limits 0.00 to 119.00)."),
        ("no infection", "2024-11-01 to 2025-10-31: 0.00 per 1,000 (0 infections); no infection in either."),
        ("one infection", "1 infection in 62 device-days"),
        (
            "implant, infection and end on one day",
            "1 infection but no device-days, so there is no rate: P-001 of 2026-10-31.",
        ),
        ("all in one day", "12 infections in 12 device-days: 1000.00 per 1,000"),
        ("no denominator, and an infection", "No device-days, so there is no rate."),
        (
            "changes before the records and in the future",
            "1990-01-01 (before the records): no device-days on file before it",
        ),
        ("changes before the records and in the future", "2031-01-01 (in the future): begins after 2026-10-31"),
        ("changes, and nobody", "1990-01-01 (before the records): no device-days on file before it"),
    ];
    for (about, sentence) in expected {
        let text = &said.iter().find(|(name, _)| *name == about).unwrap().1;
        assert!(text.contains(sentence), "{about}: {sentence} is not in {text}");
    }
}
