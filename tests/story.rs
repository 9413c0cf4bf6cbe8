//! One patient's story: the open signals, the features on file around an infection, and the page to print.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use exitsite::command::{Outcome, Surroundings, run};
use scraper::{Html, Selector};
use serde_json::{Value, json};

fn said(here: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: here.to_owned(),
        records: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")),
        ..Surroundings::default()
    };
    run(["exitsite", "show"].iter().chain(arguments).map(OsString::from), &surroundings)
}

fn story(code: &str, more: &[&str]) -> Value {
    let outcome = said(Path::new("."), &[&[code, "--json"], more].concat());
    let report: Value = serde_json::from_str(&outcome.stdout).unwrap_or_else(|_| panic!("{}", outcome.stderr));
    jsonschema::validate(&exitsite::schema::schema("show").unwrap(), &report).unwrap();
    report
}

/// The page of a patient, with the folder that holds it.
fn page(code: &str, more: &[&str]) -> (tempfile::TempDir, String) {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let outcome = said(kept.path(), &[&[code, "--html", "story.html"], more].concat());
    assert!(outcome.stdout.starts_with("Wrote story.html"), "{}", outcome.stderr);
    let text = fs::read_to_string(kept.path().join("story.html")).unwrap();
    (kept, text)
}

fn count(html: &Html, selector: &str) -> usize {
    html.select(&Selector::parse(selector).unwrap()).count()
}

fn patients() -> Vec<String> {
    let patients: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo/patients");
    fs::read_dir(patients).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn says_what_is_open_now() {
    let found = story("P-009", &[]);
    let names: Vec<&str> =
        found["signals"].as_array().unwrap().iter().map(|signal| signal["signal"].as_str().unwrap()).collect();
    assert_eq!(names[..2], ["score-review", "line-pulled"]);
    assert!(names.contains(&"culture-unresulted"));
    assert_eq!(found["teaching"][0]["standings"][0]["until"], "2027-10-19");
    assert_eq!(found["supplies"][0]["on_hand"], json!(null));
}

#[test]
fn lists_what_is_on_file_around_an_infection_and_concludes_nothing() {
    let found = story("P-024", &[]);
    let criteria = &found["infection_criteria"][0];
    assert_eq!(
        (&criteria["onset"], &criteria["from"], &criteria["to"]),
        (&json!("2026-10-08"), &json!("2026-09-24"), &json!("2026-10-22"))
    );
    let shown = |name: &str| {
        let feature = criteria["features"].as_array().unwrap().iter().find(|one| one["feature"] == name).unwrap();
        (feature["shown"].as_array().unwrap().len(), feature["not_there"].as_array().unwrap().len())
    };
    assert_eq!(shown("purulence"), (0, 11));
    assert_eq!(shown("culture"), (1, 1));
    assert_eq!(shown("erythema"), (9, 2));
    assert_eq!(shown("warmth"), (0, 3));
    assert_eq!(shown("tenderness"), (1, 2));
    assert_eq!(shown("fever"), (0, 0));
    // a result not yet available is not on file
    let earlier = story("P-024", &["--as-of", "2026-10-12T20:00"]);
    let culture = &earlier["infection_criteria"][0]["features"][1];
    assert_eq!((culture["shown"].as_array().unwrap().len(), &culture["not_there"]), (1, &json!([])));
}

#[test]
fn a_page_is_whole_and_fetches_nothing() {
    for code in patients() {
        let (_kept, text) = page(&code, &["--all"]);
        let html = Html::parse_document(&text);
        assert_eq!(html.errors, Vec::<String>::new(), "{code}");
        for none in ["script", "link", "img", "iframe", "object", "[src]", "[onload]", "[href]"] {
            assert_eq!(count(&html, none), 0, "{code}: {none}");
        }
        assert!(!text.contains("url(") && !text.contains("@import"), "{code}");
        assert_eq!(count(&html, "h1"), 1, "{code}");
        assert!(text.contains("Grades what was written down"), "{code}");
        assert!(!text.contains("NaN") && !text.contains("inf\""), "{code}");
    }
}

#[test]
fn the_picture_has_words_for_who_cannot_see_it() {
    let (_kept, text) = page("P-024", &["--all"]);
    let html = Html::parse_document(&text);
    assert_eq!(count(&html, "svg[role=img][aria-labelledby] > title"), 1);
    assert_eq!(count(&html, "svg > desc"), 1);
    let heads: Vec<String> =
        html.select(&Selector::parse("table tr th[scope=row]").unwrap()).map(|head| head.text().collect()).collect();
    let lanes = ["score, exit a", "pulls", "showers", "cultures", "treatments", "infections", "changes"];
    assert_eq!(heads[..7], lanes);
    assert_eq!(heads[7..], ["purulence", "culture", "erythema", "warmth", "tenderness", "fever"]);
    // each mark has a title; two cultures that would touch are ticks at their own times
    assert_eq!(count(&html, "svg g > title"), count(&html, "svg g"));
    assert_eq!((count(&html, "svg g line.tick"), count(&html, "svg g rect[width='16.0']")), (2, 0));
}

#[test]
fn a_gap_is_drawn_as_a_gap() {
    // site records of P-009 are at most 5 days apart; in a period that begins long before them there is a gap
    let (_kept, text) = page("P-009", &[]);
    assert_eq!(count(&Html::parse_document(&text), "rect.gap"), 0);
    let (_kept, text) = page("P-009", &["--from", "2026-09-01", "--to", "2026-11-24"]);
    let html = Html::parse_document(&text);
    assert_eq!(count(&html, "rect.gap"), 1);
    assert!(text.contains("no site record"));
}

#[test]
fn only_a_page_of_this_command_is_replaced() {
    let (kept, _) = page("P-014", &[]);
    let again = said(kept.path(), &["P-009", "--html", "story.html"]);
    assert_eq!(again.status, 0, "{}", again.stderr);
    assert!(fs::read_to_string(kept.path().join("story.html")).unwrap().contains("P-009"));
    fs::write(kept.path().join("mine.html"), "<p>mine</p>").unwrap();
    let refused = said(kept.path(), &["P-009", "--html", "mine.html"]);
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    assert_eq!(fs::read_to_string(kept.path().join("mine.html")).unwrap(), "<p>mine</p>");
}

#[test]
fn a_file_that_cannot_be_used_is_said_first_on_the_page() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let outcome = said(kept.path(), &["P-003", "--html", "story.html"]);
    assert_eq!(outcome.status, 3);
    let text = fs::read_to_string(kept.path().join("story.html")).unwrap();
    assert!(text.contains("class=\"warn\""));
    assert!(text.contains("2026-11-23T1905-change.toml"));
    assert!(text.contains("supplies not known"));
}

/// The lines of a screen, joined.
fn read_aloud(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_danger_stands_before_the_schedule_and_both_before_the_course() {
    let text = read_aloud(&said(Path::new("."), &["P-009"]).stdout);
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("no {words}: {text}"));
    let order = [
        "Acted on, still open: score in the review band (told md-3), line pulled (assessed).",
        "Change: overdue",
        "Acted on, still open score in the review band since",
        "Dressing change exit a: moderate serous drainage, redness 12 mm (told md-3), line pulled (assessed)",
        "Needs review this week",
        "Timeline from 2026-10-28",
        "Course exit a",
    ];
    let places: Vec<usize> = order.iter().map(|words| place(words)).collect();
    assert!(places.windows(2).all(|pair| pair[0] < pair[1]), "{places:?} {text}");
    // The line of the exit site: the signal, then the schedule.
    let line = &text[place("Dressing change exit a:")..];
    assert!(line.find("line pulled") < line.find("; overdue"), "{line}");
    let (_kept, page) = page("P-009", &[]);
    let html = Html::parse_document(&page);
    let answer = html.select(&Selector::parse("h1 + p.answer").unwrap()).next().unwrap();
    assert!(answer.text().collect::<String>().starts_with("Acted on, still open: score in the review band"));
}

#[test]
fn an_infection_under_treatment_is_one_line() {
    let at = |code: &str, when: &str| read_aloud(&said(Path::new("."), &[code, "--as-of", when]).stdout);
    let during = at("P-024", "2026-10-20T07:15");
    let line = "Infection under treatment: driveline superficial, proven, since Oct 8, Staphylococcus aureus;";
    assert!(during.contains(line), "{during}");
    assert!(during.contains("oral antibiotic since Oct 8, no end date on file; no culture pending"), "{during}");
    let before = at("P-024", "2026-10-01T07:15");
    assert!(!before.contains("Infection under treatment") && !before.contains("antibiotic"), "{before}");
    let found = story("P-024", &["--as-of", "2026-10-20T07:15"]);
    assert_eq!(found["under_treatment"]["treatments"][0]["what"], "oral-antibiotic");
    assert_eq!(story("P-014", &[])["under_treatment"], json!(null));
}

#[test]
fn no_word_of_the_screen_is_a_key_of_the_records() {
    for code in patients() {
        let text = said(Path::new("."), &[&code, "--all"]).stdout;
        let is_key = |word: &&str| word.contains('_') && !word.contains('/');
        let keys: Vec<&str> = text.split_whitespace().filter(is_key).collect();
        assert!(keys.is_empty(), "{code}: {keys:?}");
        for key in ["culture-unresulted", "line-pulled", "score-review", "water-at-site", "after-shower"] {
            let mut words = text.split(|c: char| !c.is_alphanumeric() && c != '-');
            assert!(!words.any(|word| word == key), "{code}: {key}\n{text}");
        }
    }
}

/// Runs a reading command on the invented program.
fn asked(arguments: &[&str]) -> String {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: PathBuf::from("."),
        records: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")),
        ..Surroundings::default()
    };
    let outcome = run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings);
    assert!([0, 1, 3].contains(&outcome.status), "{}", outcome.stderr);
    outcome.stdout
}

#[test]
fn grades_begin_with_the_worst_and_each_item_has_a_line_of_its_own() {
    let text = asked(&["grade"]);
    let is_headline = |line: &&str| line.contains(" points, ") && !line.starts_with("P-003");
    let bands: Vec<&str> = text.lines().filter(is_headline).collect();
    let place = |word: &str| bands.iter().position(|line| line.contains(word)).unwrap();
    assert!(place("review:") < place("incomplete:") && place("incomplete:") < place("watch:"), "{text}");
    assert!(place("watch:") < place("no findings recorded:"), "{text}");
    let of_p009 = &text[text.find("P-009 exit a").unwrap()..];
    let of_p009 = read_aloud(&of_p009[..of_p009.find("\n\n").unwrap()]);
    let items =
        "redness 2 of 2 12 mm pain on pressure 1 of 2 slight drainage 1 of 2 serous not recorded: swelling, crust";
    assert!(
        of_p009.starts_with("P-009 exit a acted on, still open: ")
            && of_p009.contains("P-009 exit a review: 4 to 8 of 10 points")
            && of_p009.ends_with(items),
        "{of_p009}"
    );
    // The record that may be later comes before the score, which alone would look harmless.
    let of_p003 = read_aloud(&text[text.find("P-003 exit a").unwrap()..]);
    assert!(of_p003.starts_with("P-003 exit a Latest score not known:"), "{of_p003}");
}

#[test]
fn missed_changes_begin_with_the_sum_and_the_legend_and_the_worst_row() {
    let text = asked(&["missed"]);
    let aloud = read_aloud(&text);
    let place = |words: &str| aloud.find(words).unwrap_or_else(|| panic!("no {words}: {aloud}"));
    assert!(place("expected changes missed at") < place("+ on time, L late, M missing"), "{aloud}");
    assert!(
        place("+ on time, L late, M missing") < place("patient current on time missed gap not rep. changes"),
        "{aloud}"
    );
    assert_eq!(aloud.matches("M missing").count(), 1, "{aloud}");
    let report: Value = serde_json::from_str(&asked(&["missed", "--json"])).unwrap();
    let rows = report["rows"].as_array().unwrap();
    let missed: i64 = rows.iter().filter_map(|row| row["missed"].as_i64()).sum();
    let expected: i64 = rows.iter().filter_map(|row| row["expected"].as_i64()).sum();
    assert!(aloud.contains(&format!("{missed} of {expected} expected changes missed")), "{aloud}");
    let most = rows.iter().filter_map(|row| row["missed"].as_i64()).max();
    let is_worst = |row: &Value| row["missed"].as_i64() == most;
    let worst = rows.iter().find(|row| is_worst(row)).unwrap();
    let head = text.lines().position(|line| line.starts_with("patient ")).unwrap();
    let readable = text.lines().skip(head + 1).find(|line| !line.contains("cannot read")).unwrap();
    assert!(readable.starts_with(worst["patient"].as_str().unwrap()), "{text}");
}
