//! The morning list as a person reads it: short, in blocks, worst first, nothing lost on a narrow terminal, and on paper.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::fs;
use std::path::{Path, PathBuf};

use exitsite::command::{Outcome, Surroundings, run};
use scraper::{Html, Selector};
use serde_json::Value;

mod desk;

use desk::Desk;

const AS_OF: &str = "2026-11-24T07:15";

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")
}

/// Runs a command on the demo at a terminal of this width.
fn on(width: usize, is_terminal: bool, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: env!("CARGO_MANIFEST_DIR").into(),
        records: Some(demo()),
        width: Some(width),
        error_width: Some(width),
        color: is_terminal,
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).chain(&["--as-of", AS_OF]).map(Into::into), &surroundings)
}

fn words(text: &str) -> Vec<&str> {
    text.split_whitespace().collect()
}

#[test]
fn the_demo_has_at_most_40_lines_at_80_columns() {
    let text = on(80, false, &["due"]).stdout;
    assert!(text.lines().count() <= 40, "{}\n{text}", text.lines().count());
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
}

#[test]
fn nothing_is_lost_at_60_columns() {
    for arguments in [&["due"][..], &["due", "--all"], &["due", "P-009", "P-029", "P-003"]] {
        let (narrow, wide) = (on(60, false, arguments).stdout, on(400, false, arguments).stdout);
        assert_eq!(words(&narrow), words(&wide), "{arguments:?}\n{narrow}");
        assert!(narrow.lines().all(|line| line.chars().count() <= 60), "{narrow}");
    }
}

#[test]
fn the_blocks_stand_in_the_order_of_the_list() {
    let text = on(80, false, &["due", "--all"]).stdout;
    let headings: Vec<&str> =
        text.lines().filter(|line| line.contains(" (") && line.starts_with(char::is_uppercase)).collect();
    let is_heading = |name: &&str| name.chars().all(|c| c.is_uppercase() || c == ' ');
    let headings = headings.iter().filter_map(|line| line.split_once(" (")).map(|(name, _)| name);
    let headings: Vec<&str> = headings.filter(is_heading).collect();
    let expected =
        ["CANNOT READ", "LOOK OR CHANGE NOW", "OVERDUE", "NO LOG", "DUE TODAY", "LATER", "AWAY", "ENDED OR NOT BEGUN"];
    assert_eq!(headings, expected, "{text}");
    // Within the first three blocks the rows keep the order of the JSON.
    let list: Value = serde_json::from_str(&on(80, false, &["due", "--json"]).stdout).unwrap();
    let first = list["rows"].as_array().unwrap().iter().take(11).map(|row| row["patient"].as_str().unwrap());
    let shown = text.lines().filter(|line| line.starts_with("P-")).map(|line| line.split(' ').next().unwrap());
    assert_eq!(shown.collect::<Vec<_>>(), first.collect::<Vec<_>>(), "{text}");
}

#[test]
fn the_counts_add_up_to_the_patients_on_file() {
    let text = on(400, false, &["due"]).stdout;
    let counts = text.lines().next().unwrap().split(" · ").nth(1).unwrap();
    let (on_file, states) = counts.split_once(" on file: ").unwrap();
    let number = |part: &str| part.split(' ').next().unwrap().parse::<usize>().unwrap();
    let sum: usize = states.split(", ").map(number).sum();
    assert_eq!((sum, on_file), (25, "25 patients"), "{text}");
}

#[test]
fn bold_marks_headings_and_what_is_overdue_on_a_terminal_alone() {
    let text = on(80, true, &["due"]).stdout;
    for bold in [
        "\u{1b}[1mOVERDUE (5 of 9 patients)\u{1b}[0m",
        "\u{1b}[1mP-014\u{1b}[0m  home",
        "\u{1b}[1mP-029 a\u{1b}[0m  ward",
    ] {
        assert!(text.contains(bold), "{text}");
    }
    assert!(text.contains("\nP-028  home"), "{text}");
    let plain = text.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
    assert_eq!(plain, on(80, false, &["due"]).stdout);
}

#[test]
fn a_named_patient_is_told_in_full_in_the_words_of_the_list() {
    let (list, named) = (on(1_000, false, &["due"]).stdout, on(1_000, false, &["due", "P-018"]).stdout);
    let row = |text: &str| {
        text.lines().find(|line| line.starts_with("P-018")).unwrap().split_once("  home").unwrap().1.trim().to_owned()
    };
    assert_eq!(words(&row(&list)), words(&row(&named)));
    for more in ["POD ", "anchor in place Nov 17", "score 0 no findings recorded Nov 17", "signed off: sister"] {
        assert!(named.contains(more) && !row(&list).contains(more), "{more}: {named}");
    }
}

#[test]
fn the_caution_fits_one_line_of_160_characters() {
    let text = on(400, false, &["due"]).stdout;
    assert!(text.lines().last().unwrap().chars().count() < 160, "{text}");
}

#[test]
fn the_printed_list_has_a_box_for_each_call() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("list.html");
    let path = file.to_str().unwrap();
    let outcome = on(80, false, &["due", "--html", path]);
    assert!(outcome.stdout.starts_with("Wrote "), "{outcome:?}");
    let page = fs::read_to_string(&file).unwrap();
    let html = Html::parse_document(&page);
    assert_eq!(html.errors, Vec::<String>::new(), "{page}");
    let count = |selector: &str| html.select(&Selector::parse(selector).unwrap()).count();
    // 18 rows on the list, and one waiting for its log.
    assert_eq!((count("tbody tr"), count("tbody td.box"), count("h1")), (18, 18, 1), "{page}");
    let text: String = html.root_element().text().collect();
    for said in [
        "dressing wet since Mon 21:30, no change reported",
        "25 patients on file",
        "Outcome",
        "finds or excludes no infection",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    for outside in ["<script", "http://", "https://", "@import", "url("] {
        assert!(!page.contains(outside), "{outside}");
    }
    // Only a page of this command is replaced.
    on(80, false, &["due", "--html", path]);
    fs::write(&file, "something else").unwrap();
    let refused = on(80, false, &["due", "--html", path]);
    assert_eq!((refused.status, fs::read_to_string(&file).unwrap().as_str()), (2, "something else"), "{refused:?}");
}

#[test]
fn an_infection_under_treatment_and_a_pending_culture_stand_in_the_row() {
    let desk = Desk::new();
    let event = |at: &str, kind: &str, more: &str| {
        let (day, time) = at.split_once('T').unwrap();
        let text = format!("kind = '{kind}'\nat = {day}T{}:{}:00\nby = 'md-3'\n{more}\n", &time[..2], &time[2..]);
        desk.put(&format!("patients/P-001/2026/{at}-{kind}.toml"), &text);
    };
    event("2026-11-20T0900", "change", "");
    event("2026-11-21T1000", "culture", "specimen = 'exit-site'");
    event(
        "2026-11-21T1100",
        "infection",
        "part = 'driveline-superficial'\ncertainty = 'probable'\nonset = 2026-11-20\norganisms = ['S. aureus']",
    );
    event("2026-11-21T1200", "treatment", "what = 'oral-antibiotic'\nuntil = 2026-12-04");
    let text = desk.done(&["due"]);
    for said in
        ["culture pending since Sat Nov 21", "infection since Fri Nov 20 (S. aureus)", "oral antibiotic through Dec 4"]
    {
        assert!(text.contains(said), "{said}: {text}");
    }
}

#[test]
fn no_row_is_no_all_clear() {
    let desk = Desk::new();
    let full = "[site]\ndrainage = 'none'\nredness_mm = 0\nswelling = 'none'\ncrust_mm = 0\npain = 'none'";
    let off = "[signals]\nhome-untaught = { off = 'not what is tried' }\n";
    desk.put("policy.toml", &(desk.get("policy.toml") + off));
    let change = format!(
        "kind = 'change'\nat = 2026-11-23T09:00:00\nby = 'rn-07'\nsource = 'seen'\n[left]\nanchor = 'in-place'\n{full}\n"
    );
    desk.put("patients/P-001/2026/2026-11-23T0900-change.toml", &change);
    let text = desk.done(&["due"]);
    assert!(text.contains("1 patient on file: 1 later"), "{text}");
    assert!(text.contains("None of them is overdue or due today, or has a known open signal."), "{text}");
}
