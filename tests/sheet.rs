//! Household sheets: due days against days computed by hand, pages against an HTML parser, rows against the keys of
//! records; and no existing file is lost.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod desk;

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use desk::{keep, screen};
use exitsite::command::{Outcome, Surroundings, run};
use exitsite::entry::Draft;
use exitsite::event::Kind;
use scraper::{Html, Selector};
use serde_json::Value;
use tempfile::TempDir;

const POLICY: &str = "schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n";

/// A patient implanted 2026-08-03, home since 2026-08-27: a change every other day.
const COURSE: &str = "code = 'P-001'\nimplanted = 2026-08-03\n[[exit]]\nid = 'a'\nwhere = 'right-upper'\nfrom = 2026-08-03\nwhy = 'implant'\n[[care]]\nfrom = 2026-08-03\nplace = 'inpatient'\n[[care]]\nfrom = 2026-08-27\nplace = 'home'\n[[caregiver]]\ncode = 'p001-spouse'\n";

/// Runs a command on Tuesday morning, 2026-11-24.
fn said(records: &Path, arguments: &[&str]) -> Outcome {
    said_on(None, records, arguments)
}

/// Runs the command on a terminal of a given width.
fn said_on(width: Option<usize>, records: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        width,
        ..Surroundings::default()
    };
    run(["exitsite", "sheet"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// Runs commands, and keeps their screens.
fn kept(name: &str, records: &Path, commands: &[&[&str]]) {
    let run = |arguments: &&[&str]| screen(&[&["sheet"], *arguments].concat(), None, &said(records, arguments));
    keep(name, &commands.iter().map(run).collect::<String>());
}

/// The records of the demo.
fn demo_records() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")
}

fn demo(arguments: &[&str]) -> Outcome {
    said(&demo_records(), arguments)
}

/// Records of one patient: the course, additions at its top and at its end, and changes on these days.
fn records(top: &str, rows: &str, changes: &[&str]) -> TempDir {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let patient = kept.path().join("patients/P-001");
    fs::create_dir_all(&patient).unwrap();
    fs::write(kept.path().join("policy.toml"), POLICY).unwrap();
    let course = COURSE.replace("[[exit]]\nid = 'a'", &format!("{top}[[exit]]\nid = 'a'"));
    fs::write(patient.join("patient.toml"), format!("{course}{rows}")).unwrap();
    for day in changes {
        let year = patient.join(&day[..4]);
        fs::create_dir_all(&year).unwrap();
        let text = format!("kind = 'change'\non = {day}\nby = 'p001-spouse'\nexit = 'a'\n");
        fs::write(year.join(format!("{day}-change.toml")), text).unwrap();
    }
    kept
}

/// The days of the month with this plan, from the JSON report.
fn planned(report: &Outcome, plan: &str, exit: usize) -> Vec<u32> {
    let report: Value = serde_json::from_str(&report.stdout).unwrap_or_else(|_| panic!("{}", report.stderr));
    let schema = exitsite::schema::schema("sheet").unwrap();
    jsonschema::validate(&schema, &report).unwrap();
    let days = report["log"]["exits"][exit]["days"].as_array().unwrap().iter();
    let planned = days.filter(|day| day["plan"] == plan);
    planned.map(|day| day["day"].as_str().unwrap()[8..].parse().unwrap()).collect()
}

fn due(records: &TempDir, month: &str) -> Vec<u32> {
    planned(&said(records.path(), &["P-001", "--month", month, "--json"]), "change-due", 0)
}

fn every_other(first: u32, last: u32) -> Vec<u32> {
    (first..=last).step_by(2).collect()
}

#[test]
fn due_days_of_the_demo_are_those_worked_out_by_hand() {
    let due = |code: &str, month: &str| planned(&demo(&[code, "--month", month, "--json"]), "change-due", 0);
    // Changed on the 23rd, shower that evening: today the 24th, and every other day from there.
    assert_eq!(due("P-014", "2026-11"), [24, 26, 28, 30]);
    assert_eq!(due("P-014", "2026-12"), every_other(2, 30));
    // Mondays, Wednesdays and Fridays by order; the last change was on Monday the 23rd.
    assert_eq!(due("P-012", "2026-12"), [2, 4, 7, 9, 11, 14, 16, 18, 21, 23, 25, 28, 30]);
    // A household that reports by log: on file through October 31, then every other day, although nothing is reported
    // yet.
    assert_eq!(due("P-007", "2026-11"), every_other(2, 30));
    // Overdue since the 19th: changes were due on the 19th, 21st and 23rd, and one is due today.
    assert_eq!(due("P-018", "2026-11"), [19, 21, 23, 24, 26, 28, 30]);
    // POD 21 is December 1: daily through that day, though at home since November 30, then every other day.
    assert_eq!(due("P-005", "2026-11"), [24, 25, 26, 27, 28, 29, 30]);
    assert_eq!(due("P-005", "2026-12"), every_other(1, 31));
    // Elsewhere, with no date of return.
    assert_eq!(due("P-031", "2026-12"), Vec::<u32>::new());
    assert_eq!(planned(&demo(&["P-031", "--month", "2026-12", "--json"]), "elsewhere", 0).len(), 31);
}

/// The next due day of a sheet is that of the due list or, if that is past, today.
#[test]
fn the_sheets_of_the_demo_agree_with_the_due_list() {
    let records = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    let surroundings = Surroundings {
        now: "2026-11-24T13:15:00Z".parse().unwrap(),
        here: records.clone(),
        records: Some(records),
        ..Surroundings::default()
    };
    let list = run(["exitsite", "due", "--all", "--json"].map(OsString::from), &surroundings);
    let list: Value = serde_json::from_str(&list.stdout).unwrap();
    let mut compared = 0;
    for row in list["rows"].as_array().unwrap() {
        let (code, state) = (row["patient"].as_str().unwrap(), row["state"].as_str().unwrap());
        let is_by_log = row["because"] == "log-late" || state == "awaiting-log";
        if is_by_log || ["unusable", "none"].contains(&state) {
            continue;
        }
        let sheet: Value = serde_json::from_str(&demo(&[code, "--json"]).stdout).unwrap();
        let exits = sheet["log"]["exits"].as_array().unwrap();
        let exit = exits.iter().find(|exit| exit["exit"] == row["exit"]).unwrap();
        let is_to_come = |day: &&Value| day["plan"] == "change-due" && day["day"].as_str().unwrap() >= "2026-11-24";
        let next = &exit["days"].as_array().unwrap().iter().find(is_to_come).unwrap()["day"];
        let expected = if state == "upcoming" { row["due_on"].as_str().unwrap() } else { "2026-11-24" };
        assert_eq!(next, expected, "{code}");
        compared += 1;
    }
    assert_eq!(compared, 21);
}

#[test]
fn days_on_file_are_distinguished_from_future_days() {
    let report = demo(&["P-014", "--json"]);
    assert_eq!(planned(&report, "on-file", 0), every_other(1, 23));
    assert_eq!(report.status, 0);
}

#[test]
fn an_order_changes_the_interval_while_it_runs() {
    let order = "[[order]]\nfrom = 2026-12-07\nuntil = 2026-12-10\nevery_days = 1\nby = 'md-3'\n";
    let records = records("", order, &["2026-11-23"]);
    let expected = [1, 3, 5, 7, 8, 9, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30];
    assert_eq!(due(&records, "2026-12"), expected);
    kept("sheet_an_order_changes_the_interval_while_it_runs", records.path(), &[&["P-001", "--month", "2026-12"]]);
}

#[test]
fn weekdays_are_kept_through_a_leap_month() {
    let order = "[[order]]\nfrom = 2026-11-01\non_weekdays = ['tue', 'sat']\nmin_days = 2\nby = 'md-3'\n";
    let kept = records("", order, &["2026-11-21"]);
    // February 2028 begins on a Tuesday and has 29 days.
    assert_eq!(due(&kept, "2028-02"), [1, 5, 8, 12, 15, 19, 22, 26, 29]);
    let plain = records("", "", &["2026-11-23"]);
    // February 2 is 436 days after the last change; the month has a 29th, so March begins on a due day.
    assert_eq!(due(&plain, "2028-02"), every_other(2, 28));
    assert_eq!(due(&plain, "2028-03")[..2], [1, 3]);
}

#[test]
fn a_move_elsewhere_and_back_moves_the_due_days() {
    let moves = "[[care]]\nfrom = 2026-12-09\nplace = 'elsewhere'\n[[care]]\nfrom = 2026-12-16\nplace = 'home'\n";
    let kept = records("", moves, &["2026-11-23"]);
    assert_eq!(due(&kept, "2026-12"), [1, 3, 5, 7, 16, 18, 20, 22, 24, 26, 28, 30]);
    let away = planned(&said(kept.path(), &["P-001", "--month", "2026-12", "--json"]), "elsewhere", 0);
    assert_eq!(away, (9..=15).collect::<Vec<_>>());
}

#[test]
fn support_that_ends_in_the_month_ends_the_due_days() {
    let ended = "[ended]\non = 2026-12-09\nwhy = 'transplant'\n";
    let kept = records("", ended, &["2026-11-23"]);
    assert_eq!(due(&kept, "2026-12"), [1, 3, 5, 7]);
    let over = planned(&said(kept.path(), &["P-001", "--month", "2026-12", "--json"]), "ended", 0);
    assert_eq!(over, (9..=31).collect::<Vec<_>>());
    self::kept("sheet_a_month_after_the_end_of_support", kept.path(), &[&["P-001", "--month", "2027-01"]]);
}

#[test]
fn an_exit_site_that_opens_in_the_month_has_a_sheet_of_its_own() {
    let second = "[[exit]]\nid = 'b'\nwhere = 'left-lower'\nfrom = 2026-12-10\nwhy = 'second-pump'\n";
    let kept = records("", second, &["2026-11-23"]);
    let report = said(kept.path(), &["P-001", "--month", "2026-12", "--json"]);
    assert_eq!(planned(&report, "change-due", 0), every_other(1, 31));
    // Daily through POD 21, which is the 31st; the dressing from the operating room counts as a change on the 10th.
    assert_eq!(planned(&report, "change-due", 1), (11..=31).collect::<Vec<_>>());
    assert_eq!(planned(&report, "not-begun", 1), (1..=9).collect::<Vec<_>>());
    self::kept("sheet_an_exit_site_that_opens_in_the_month", kept.path(), &[&["P-001", "--month", "2026-12"]]);
}

#[test]
fn no_showers_and_the_first_day_of_showers_are_said() {
    let order = "[[order]]\nfrom = 2026-12-07\nuntil = 2026-12-10\nno_showers = true\nby = 'md-3'\n";
    let ordered = records("", order, &["2026-11-23"]);
    kept("sheet_no_showers_are_said", ordered.path(), &[&["P-001", "--month", "2026-12"]]);
    let early = records("", "", &[]);
    let august = ["P-001", "--month", "2026-08", "--as-of", "2026-08-10"];
    let spanish = [&august[..], &["--language", "es"]].concat();
    kept("sheet_the_first_day_of_showers_is_said", early.path(), &[&august, &spanish]);
}

#[test]
fn the_text_fits_eighty_columns_and_ends_with_the_caution_line() {
    for code in ["P-014", "P-029", "P-044", "P-009", "P-031"] {
        let Outcome { stdout, .. } = demo(&[code, "--month", "2026-12"]);
        let longest = stdout.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(longest <= 80, "{code}: {longest}\n{stdout}");
        let words = stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(words.ends_with("Your program's instructions come first."), "{stdout}");
    }
    kept("sheet_with_an_intolerance", &demo_records(), &[&["P-044", "--month", "2026-12"]]);
}

#[test]
fn a_narrow_terminal_leaves_out_columns_but_no_finding_and_says_so_in_the_language() {
    let kept = records("", "", &["2026-11-23"]);
    let on = |width, language| {
        let text = said_on(Some(width), kept.path(), &["P-001", "--month", "2026-12", "--language", language]).stdout;
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let english = [
        "Drainage: 0 none",
        "Redness, mm",
        "Swelling: 0 none",
        "Odor: 0 no",
        "Warm skin: 0 no",
        "Pain if pressed: 0 none",
        "Temperature",
    ];
    let spanish = [
        "Líquido: 0 nada",
        "Rojez, mm",
        "Hinchazón: 0 no",
        "Mal olor: 0 no",
        "Calor: 0 no",
        "Dolor al presionar: 0 no",
        "Temperatura",
    ];
    for width in [20, 40, 60, 80, 120] {
        for (language, findings) in [("en", english), ("es", spanish)] {
            let text = on(width, language);
            for finding in findings {
                let is_column = ('A'..='P').any(|letter| text.contains(&format!(" {letter} {finding}")));
                assert!(is_column, "{width} {finding}: {text}");
            }
            assert!(language == "en" || !text.contains("No column") && !text.contains("Grades what"), "{text}");
        }
    }
    for language in ["en", "es"] {
        let arguments = ["P-001", "--month", "2026-12", "--language", language];
        let narrow = said_on(Some(60), kept.path(), &arguments);
        keep(
            &format!("sheet_a_narrow_terminal_leaves_out_columns_{language}"),
            &screen(&[&["sheet"], &arguments[..]].concat(), None, &narrow),
        );
    }
    assert!(on(80, "en").contains("P Note") && !on(80, "en").contains("No column for"), "{}", on(80, "en"));
    assert!(!on(120, "en").contains("No column for"), "{}", on(120, "en"));
    for width in [60, 100] {
        let text = said_on(Some(width), kept.path(), &["P-001", "--month", "2026-12"]).stdout;
        let longest = text.lines().map(|line| line.chars().count()).max().unwrap();
        assert!(longest <= width, "{longest}\n{text}");
    }
}

#[test]
fn distant_months_and_invalid_months() {
    let kept = records("", "", &["2026-11-23"]);
    // The 2nd is 63,196 days after the last change.
    assert_eq!(due(&kept, "2199-12"), every_other(2, 30));
    self::kept(
        "sheet_invalid_months",
        kept.path(),
        &[&["P-001", "--month", "1990-01"], &["P-001", "--month", "november"]],
    );
    for month in ["2026-13", "2026-1", "11-2026", "november", "2026-11-01", "1989-12", "2200-01", "2026+11", ""] {
        let said = said(kept.path(), &["P-001", "--month", month]);
        assert_eq!((said.status, said.stdout.as_str()), (2, ""), "{month}");
        assert!(said.stderr.contains("is not a month. Write 2026-11"), "{}", said.stderr);
    }
}

#[test]
fn a_past_month_is_planned_from_what_was_on_file_before_it() {
    let kept = records("", "", &["2026-09-30", "2026-10-02", "2026-10-05", "2026-10-07", "2026-11-23"]);
    let report = said(kept.path(), &["P-001", "--month", "2026-10", "--json"]);
    assert_eq!(planned(&report, "on-file", 0), [2, 5, 7]);
    // The change of the 4th came a day late; none was reported after the 7th.
    assert_eq!(planned(&report, "change-due", 0), [&[4][..], &every_other(9, 31)].concat());
}

#[test]
fn what_cannot_be_judged_stops_and_what_cannot_be_used_is_said() {
    let kept = records("", "colour = 'red'\n", &["2026-11-23"]);
    self::kept("sheet_an_unreadable_patient", kept.path(), &[&["P-001"]]);
    // The last change is unreadable: the sheet is printed, and marks no day.
    let broken = demo(&["P-003", "--month", "2026-12", "--json"]);
    assert_eq!(broken.status, 3);
    assert!(planned(&broken, "change-due", 0).is_empty() && planned(&broken, "free", 0).is_empty());
    let commands: [&[&str]; 2] = [&["P-003", "--month", "2026-12"], &["P-15"]];
    self::kept("sheet_an_unreadable_change_marks_no_day", &demo_records(), &commands);
    fs::write(kept.path().join("policy.toml"), format!("{POLICY}[windows]\nafter_shower_hours = 'two'\n")).unwrap();
    self::kept("sheet_an_unusable_policy", kept.path(), &[&["P-001"]]);
}

#[test]
fn the_rows_are_in_the_columns_that_records_have() {
    let rows = demo(&["P-029", "--month", "2026-12", "--csv", "-"]).stdout;
    let mut reader = csv::Reader::from_reader(rows.as_bytes());
    let mut known: Vec<String> = ["patient", "date", "time", "kind"].map(str::to_owned).to_vec();
    known.extend([Kind::Change, Kind::Shower].into_iter().flat_map(Draft::keys).map(|(key, ..)| key));
    let header = reader.headers().unwrap().clone();
    for name in &header {
        assert!(known.iter().any(|key| key == name), "import takes no {name}");
    }
    for needed in ["patient", "date", "time", "kind", "by", "exit"] {
        assert!(header.iter().any(|name| name == needed), "no {needed}");
    }
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let days = |exit: &str| rows.iter().filter(|row| &row[2] == exit && !row[1].is_empty()).count();
    assert_eq!((days("a"), days("b")), (31, 31));
    // With one exit site only patient and day are filled in, so that an unused row means nothing.
    let rows = demo(&["P-026", "--month", "2026-11", "--csv", "-"]).stdout;
    let mut reader = csv::Reader::from_reader(rows.as_bytes());
    assert!(!reader.headers().unwrap().iter().any(|name| name == "exit"));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert!(rows.iter().all(|row| &row[0] == "P-026" && row.iter().skip(2).all(str::is_empty)));
    // Ten of the thirty days are elsewhere.
    assert_eq!(rows.iter().filter(|row| !row[1].is_empty()).count(), 20);
}

fn page(records: &Path, arguments: &[&str]) -> String {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = kept.path().join("sheet.html");
    let outcome = said(records, &[arguments, &["--html", file.to_str().unwrap()]].concat());
    assert!(outcome.stdout.starts_with("Wrote "), "{}", outcome.stderr);
    fs::read_to_string(file).unwrap()
}

fn all<'a>(page: &'a Html, selector: &'a Selector) -> Vec<scraper::ElementRef<'a>> {
    page.select(selector).collect()
}

/// Checks that a page is valid HTML in one file, with a title and headers.
fn check(text: &str, sheets: usize) {
    let page = Html::parse_document(text);
    assert!(page.errors.is_empty(), "{:?}\n{text}", page.errors);
    for outside in ["http:", "https:", "src=", "href=", "url(", "@import", "<script", "<link", "<iframe", "onload"] {
        assert!(!text.contains(outside), "{outside}");
    }
    let selector = |text: &str| Selector::parse(text).unwrap();
    assert_eq!(all(&page, &selector("html[lang=en]")).len(), 1);
    assert!(!all(&page, &selector("head > title"))[0].text().collect::<String>().is_empty());
    assert_eq!(all(&page, &selector("section.sheet > h1")).len(), sheets);
    assert_eq!(all(&page, &selector("section.sheet > table")).len(), sheets);
    assert!(all(&page, &selector("th")).iter().all(|th| th.value().attr("scope").is_some()));
    assert!(text.contains("break-after: page") && text.contains("@page"));
    let cells = selector("th, td");
    let rows = selector("tr");
    let rows = all(&page, &rows);
    let span = |cell: scraper::ElementRef| cell.value().attr("colspan").map_or(1, |n| n.parse::<usize>().unwrap());
    let widths: Vec<usize> = rows.iter().map(|row| row.select(&cells).map(span).sum()).collect();
    assert!(widths.iter().all(|width| *width == widths[0]), "{widths:?}");
}

#[test]
fn a_page_is_well_formed_self_contained_and_one_for_each_exit_site() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    for (code, sheets) in [("P-014", 1), ("P-029", 2), ("P-044", 1), ("P-003", 1), ("P-026", 1), ("P-007", 1)] {
        let text = page(&demo, &[code, "--month", "2026-12"]);
        check(&text, sheets);
        let paper: String = Html::parse_document(&text)
            .select(&Selector::parse("body").unwrap())
            .flat_map(|body| body.text())
            .collect();
        let is_key = |word: &str| word.contains('_') && !word.starts_with("__") || word.contains("site.");
        assert!(!paper.split_whitespace().any(is_key), "{paper}");
    }
    check(&page(&demo, &["--checkoff", "dressing-change"]), 2);
    check(&page(&demo, &["P-014", "--checkoff", "dressing-change"]), 1);
}

#[test]
fn what_is_odd_in_a_record_is_shown_and_never_obeyed() {
    let odd = "intolerances = [\"<script>alert('x')</script>\", \"a & b \\\" \\u001b[2J \\u202e\"]\n";
    let kept = records(odd, "", &["2026-11-23"]);
    fs::write(kept.path().join("policy.toml"), POLICY.replace("Invented", "A <b>bold</b> & \"odd\" program")).unwrap();
    let text = page(kept.path(), &["P-001"]);
    check(&text, 1);
    let parsed = Html::parse_document(&text);
    let shown: String = parsed.root_element().text().collect();
    assert!(shown.contains("<script>alert('x')</script>, a & b \" \\u{1b}[2J \\u{202e}"), "{shown}");
    assert!(shown.contains("A <b>bold</b> & \"odd\" program"), "{shown}");
    let text = said(kept.path(), &["P-001"]).stdout;
    assert!(text.contains("\\u{1b}[2J") && !text.contains('\u{1b}') && !text.contains('\u{202e}'), "{text}");
}

#[test]
fn no_existing_file_is_lost() {
    let kept = records("", "", &["2026-11-23"]);
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let path = |file: &str| outside.path().join(file);
    let write = |flag: &str, file: &str| said(kept.path(), &["P-001", flag, &path(file).display().to_string()]);
    fs::create_dir(path("folder")).unwrap();
    // A page of this command is replaced; any other file is not.
    assert_eq!(write("--html", "sheet.html").status, 0);
    let first = fs::read_to_string(path("sheet.html")).unwrap();
    assert_eq!(write("--html", "sheet.html").status, 0);
    assert_eq!(fs::read_to_string(path("sheet.html")).unwrap(), first);
    fs::write(path("mine.html"), "<p>mine</p>").unwrap();
    // Someone may already have typed into the rows, so they are never replaced.
    assert_eq!(write("--csv", "sheet.csv").status, 0);
    let rows = fs::read_to_string(path("sheet.csv")).unwrap();
    std::os::unix::fs::symlink(path("sheet.html"), path("link.html")).unwrap();
    let refused = [
        ("--html", "mine.html"),
        ("--csv", "sheet.csv"),
        ("--html", "link.html"),
        ("--html", "folder"),
        ("--html", "nowhere/sheet.html"),
    ];
    for (flag, file) in refused {
        let outcome = write(flag, file);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""), "{file}");
        assert!(outcome.stderr.contains("name another"), "{file}: {}", outcome.stderr);
    }
    assert_eq!(fs::read_to_string(path("mine.html")).unwrap(), "<p>mine</p>");
    assert_eq!(fs::read_to_string(path("sheet.csv")).unwrap(), rows);
    assert!(path("link.html").is_symlink());
    let left = fs::read_dir(outside.path())
        .unwrap()
        .filter(|entry| entry.as_ref().unwrap().file_name().to_string_lossy().ends_with(".tmp"));
    assert_eq!(left.count(), 0);
}

#[test]
fn a_checkoff_shows_the_steps_of_the_learners_role() {
    // Without names: one for each role.
    let commands: [&[&str]; 3] = [
        &["--checkoff", "dressing-change"],
        &["P-014", "--checkoff", "dressing-change", "--for", "p014-spouse"],
        &["--checkoff", "dressing-change", "--for", "rn-07"],
    ];
    kept("sheet_a_checkoff_shows_the_steps_of_the_learners_role", &demo_records(), &commands);
    let refused: [&[&str]; 6] = [
        &["--checkoff", "dresing-change"],
        &["--checkoff", "dressing-change", "--version", "7"],
        &["--checkoff", "dressing-change", "--for", "Jane Doe"],
        &["--month", "2026-11"],
        &["P-014", "--for", "p014-spouse"],
        &["P-014", "--checkoff", "dressing-change", "--csv", "x.csv"],
    ];
    kept("sheet_a_checkoff_is_refused", &demo_records(), &refused);
}

#[test]
fn the_newest_version_of_a_curriculum_is_taken_unless_another_is_named() {
    let kept = records("", "", &[]);
    let curriculum = |version: i64, text: &str| {
        format!(
            "[[curriculum]]\nname = 'anchor'\nrole = 'caregiver'\nversion = {version}\nstep = [{{ id = 'look', text = '{text}' }}]\n"
        )
    };
    let policy = format!("{POLICY}{}{}{}", curriculum(1, "old"), curriculum(3, "new"), curriculum(2, "middle"));
    fs::write(kept.path().join("policy.toml"), policy).unwrap();
    let commands: [&[&str]; 3] = [
        &["--checkoff", "anchor"],
        &["--checkoff", "anchor", "--version", "2"],
        // rn-07 is not of the staff of this program.
        &["--checkoff", "anchor", "--for", "rn-07"],
    ];
    self::kept("sheet_the_newest_version_of_a_curriculum_is_taken", kept.path(), &commands);
}

/// A copy of the invented program.
fn copy_of_the_demo() -> TempDir {
    fn copy(from: &Path, to: &Path) {
        fs::create_dir_all(to).unwrap();
        for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
            let to = to.join(entry.file_name());
            if entry.path().is_dir() { copy(&entry.path(), &to) } else { _ = fs::copy(entry.path(), to).unwrap() }
        }
    }
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo"), kept.path());
    kept
}

/// Runs a command in January, when the sheets of December have come in.
fn in_january(records: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: "2027-01-02T15:00:00Z".parse().unwrap(),
        here: records.to_owned(),
        records: Some(records.to_owned()),
        writer: Some("co-1".to_owned()),
        width: Some(1_000),
        error_width: Some(1_000),
        ..Surroundings::default()
    };
    run(["exitsite"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// A filled-in row: day, exit site if there are several, and the cells. The second row of a day uses a spare one with
/// the day typed in.
type Typed<'a> = (&'a str, &'a str, &'a [(&'a str, &'a str)]);

/// Fills in rows of a sheet. Returns it with the number of unused rows.
fn filled_in(sheet: &str, typed: &[Typed]) -> (String, usize) {
    let mut reader = csv::Reader::from_reader(sheet.as_bytes());
    let header: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let column = |name: &str| header.iter().position(|known| known == name).unwrap();
    let mut rows: Vec<Vec<String>> =
        reader.records().map(|row| row.unwrap().iter().map(str::to_owned).collect()).collect();
    let mut taken = vec![false; rows.len()];
    for (day, exit, cells) in typed {
        let is_of_the_exit = |row: &[String]| exit.is_empty() || row[column("exit")] == *exit;
        let free = |wanted: &str| {
            let mut places = 0..rows.len();
            places.find(|n| !taken[*n] && rows[*n][column("date")] == wanted && is_of_the_exit(&rows[*n]))
        };
        let n = free(day).or_else(|| free("")).unwrap();
        taken[n] = true;
        rows[n][column("date")] = (*day).to_owned();
        cells.iter().for_each(|(name, cell)| rows[n][column(name)] = (*cell).to_owned());
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).unwrap();
    rows.iter().for_each(|row| writer.write_record(row).unwrap());
    let blank = taken.iter().filter(|taken| !**taken).count();
    (String::from_utf8(writer.into_inner().unwrap()).unwrap(), blank)
}

/// Prints the sheet of December, fills it in, imports it, and compares the records of December with `expected`: each
/// file's name, and its text without kind, source and entry.
fn comes_back(code: &str, typed: &[Typed], expected: &[(&str, &[&str])]) {
    let kept = copy_of_the_demo();
    let findings = || {
        let report: Value = serde_json::from_str(&in_january(kept.path(), &["check", "--json"]).stdout).unwrap();
        let findings = report["findings"].as_array().unwrap().iter();
        let of_the_patient = findings.filter(|finding| finding["file"].as_str().unwrap().contains(code));
        of_the_patient.map(Value::to_string).collect::<Vec<_>>()
    };
    let before = findings();
    let file = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = file.path().join("december.csv");
    let file = file.to_str().unwrap();
    assert_eq!(said(kept.path(), &[code, "--month", "2026-12", "--csv", file]).status, 0);
    let (rows, blank) = filled_in(&fs::read_to_string(file).unwrap(), typed);
    fs::write(file, rows).unwrap();
    // A few rows for a whole month: the import asks for confirmation that the rest was missed.
    let import = ["import", file, "--log", "2026-12-01", "2026-12-31", "--yes"];
    let Outcome { stdout, stderr, status, .. } = in_january(kept.path(), &import);
    assert!(status == 0 && stderr.contains("were missed"), "{stdout}{stderr}");
    let words = stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("not filled in: {blank}; log of 2026-12-01 to 2026-12-31 recorded")), "{stdout}");
    let year = kept.path().join("patients").join(code).join("2026");
    let december = || {
        let names = fs::read_dir(&year).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.filter(|name| name.starts_with("2026-12")).collect();
        names.sort();
        names
    };
    assert_eq!(december(), expected.iter().map(|(name, _)| *name).collect::<Vec<_>>());
    for (name, lines) in expected {
        let text = fs::read_to_string(year.join(name)).unwrap();
        let (event, _) = text.split_once("\n[entered]").unwrap();
        let event: Vec<&str> = event.lines().filter(|line| !line.is_empty() && !line.starts_with("kind = ")).collect();
        assert!(event.contains(&"source = \"log\""), "{text}");
        let event: Vec<&str> = event.into_iter().filter(|line| *line != "source = \"log\"").collect();
        assert_eq!(event, *lines, "{name}");
    }
    assert_eq!(findings(), before);
    let due: Value = serde_json::from_str(&in_january(kept.path(), &["due", code, "--all", "--json"]).stdout).unwrap();
    let last = expected.iter().rev().find(|(name, _)| name.ends_with("change.toml")).unwrap().0;
    let rows = due["rows"].as_array().unwrap().iter();
    let last_changes: Vec<&str> = rows.map(|row| row["last_change"]["file"].as_str().unwrap()).collect();
    assert!(last_changes.iter().any(|file| file.ends_with(last)), "{last_changes:?}");
    assert!(last_changes.iter().all(|file| file.contains("/2026-12-")), "{last_changes:?}");
    // A second import adds nothing.
    let again = in_january(kept.path(), &import);
    assert!(again.stdout.contains(&format!("already on file: {}", typed.len())), "{}{}", again.stdout, again.stderr);
    assert_eq!(december().len(), expected.len());
}

#[test]
fn what_a_household_types_into_its_sheet_is_on_file_after_an_import() {
    comes_back(
        "P-014",
        &[
            (
                "2026-12-02",
                "",
                &[
                    ("kind", "change"),
                    ("time", "18:40"),
                    ("by", "p014-spouse"),
                    ("reason", "scheduled"),
                    ("found.dressing", "intact"),
                    ("found.anchor", "in-place"),
                    ("site.drainage", "none"),
                    ("site.redness_mm", "0"),
                ],
            ),
            // By the numbers printed on the sheet.
            ("2026-12-04", "", &[("kind", "change"), ("by", "2")]),
            ("2026-12-06", "", &[("kind", "shower"), ("time", "07:10"), ("by", "1"), ("dressing_before", "intact")]),
            (
                "2026-12-06",
                "",
                &[("kind", "change"), ("time", "07:50"), ("by", "p014-spouse"), ("reason", "after-shower")],
            ),
            (
                "2026-12-08",
                "",
                &[
                    ("kind", "change"),
                    ("time", "6:05 pm"),
                    ("by", "p014-spouse"),
                    ("site.drainage", "serous"),
                    ("site.redness_mm", "2.5"),
                    ("note", "a little, dry by noon"),
                ],
            ),
        ],
        &[
            (
                "2026-12-02T1840-change.toml",
                &[
                    "at = 2026-12-02T18:40:00-06:00",
                    "by = \"p014-spouse\"",
                    "reason = \"scheduled\"",
                    "[found]",
                    "dressing = \"intact\"",
                    "anchor = \"in-place\"",
                    "[site]",
                    "drainage = \"none\"",
                    "redness_mm = 0",
                ],
            ),
            ("2026-12-04-change.toml", &["on = 2026-12-04", "by = \"p014-spouse\""]),
            (
                "2026-12-06T0710-shower.toml",
                &["at = 2026-12-06T07:10:00-06:00", "by = \"patient\"", "dressing_before = \"intact\""],
            ),
            (
                "2026-12-06T0750-change.toml",
                &["at = 2026-12-06T07:50:00-06:00", "by = \"p014-spouse\"", "reason = \"after-shower\""],
            ),
            (
                "2026-12-08T1805-change.toml",
                &[
                    "at = 2026-12-08T18:05:00-06:00",
                    "by = \"p014-spouse\"",
                    "note = \"a little, dry by noon\"",
                    "[site]",
                    "drainage = \"serous\"",
                    "redness_mm = 2.5",
                ],
            ),
        ],
    );
}

/// A change on another day moves the next one only where the interval is in days.
#[test]
fn a_change_on_another_day_is_followed_by_the_day_that_the_schedule_gives() {
    let of = |rows: &str, language: &str| {
        let kept = records("", rows, &["2026-11-23"]);
        let text = said(kept.path(), &["P-001", "--month", "2026-12", "--language", language]).stdout;
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let order =
        |more: &str| format!("[[order]]\nfrom = 2026-11-01\nby = 'md-3'\non_weekdays = ['mon', 'wed', 'fri']\n{more}");
    let moved = "If you change it earlier or later,";
    for (rows, next) in [
        (String::new(), "count from that day."),
        (order(""), "the next change is still the next marked day."),
        (order("min_days = 2\n"), "ask your program for the day of the next change."),
        (order("until = 2026-12-10\n"), "ask your program for the day of the next change."),
    ] {
        assert!(of(&rows, "en").contains(&format!("{moved} {next}")), "{rows}: {}", of(&rows, "en"));
    }
    assert!(of(&order(""), "es").contains("el próximo cambio sigue siendo el siguiente día marcado."));
    // Changed on Tuesday, the order is met on Wednesday.
    let kept = records("", &order(""), &["2026-12-01"]);
    assert_eq!(due(&kept, "2026-12")[..2], [2, 4]);
}

#[test]
fn the_reasons_to_call_are_the_same_in_each_language() {
    let of = |language| ["P-014", "--month", "2026-12", "--language", language];
    kept("sheet_the_reasons_to_call_in_each_language", &demo_records(), &[&of("en"), &of("es")]);
}

#[test]
fn the_marks_of_a_sheet_are_explained() {
    kept("sheet_the_marks_are_explained", &demo_records(), &[&["P-005", "--month", "2026-11"]]);
    let other = demo(&["P-014", "--month", "2026-12"]).stdout;
    assert!(!other.contains('—') && !other.contains('✓'), "{other}");
}

#[test]
fn the_numbers_of_a_sheet_are_those_that_an_import_reads() {
    let course = format!("{COURSE}[[caregiver]]\ncode = 'p001-son'\n");
    let kept = records("", "", &["2026-11-23"]);
    fs::write(kept.path().join("patients/P-001/patient.toml"), course).unwrap();
    fs::write(kept.path().join("people.toml"), "[[person]]\ncode = 'co-1'\nrole = 'coordinator'\n").unwrap();
    let sheet = ["P-001", "--month", "2026-11"];
    let mut screens = screen(&[&["sheet"], &sheet[..]].concat(), None, &said(kept.path(), &sheet));
    assert!(page(kept.path(), &["P-001", "--month", "2026-11"]).contains("3 p001-son"));
    let import = |by: &str| {
        fs::write(kept.path().join("log.csv"), format!("patient,on,kind,by\nP-001,2026-11-21,change,{by}\n")).unwrap();
        let surroundings = Surroundings {
            now: "2026-11-24T13:15:00Z".parse().unwrap(),
            here: kept.path().to_owned(),
            records: Some(kept.path().to_owned()),
            writer: Some("co-1".to_owned()),
            ..Surroundings::default()
        };
        run(["exitsite", "import", "log.csv", "--dry-run"].map(OsString::from), &surroundings)
    };
    for number in ["3", "4"] {
        screens.push_str(&screen(&["import", "log.csv", "--dry-run"], None, &import(number)));
    }
    keep("sheet_the_numbers_of_a_sheet_are_those_that_an_import_reads", &screens);
}

#[test]
fn a_sheet_of_two_exit_sites_keeps_them_apart_and_a_shower_belongs_to_both() {
    let change = |time| [("kind", "change"), ("time", time), ("by", "p029-partner")];
    comes_back(
        "P-029",
        &[
            ("2026-12-02", "a", &change("18:40")),
            ("2026-12-02", "b", &change("18:55")),
            ("2026-12-16", "a", &[("kind", "shower"), ("time", "07:10"), ("by", "patient")]),
            ("2026-12-16", "a", &change("07:50")),
            ("2026-12-16", "b", &change("08:05")),
        ],
        &[
            (
                "2026-12-02T1840-change.toml",
                &["at = 2026-12-02T18:40:00-06:00", "by = \"p029-partner\"", "exit = \"a\""],
            ),
            (
                "2026-12-02T1855-change.toml",
                &["at = 2026-12-02T18:55:00-06:00", "by = \"p029-partner\"", "exit = \"b\""],
            ),
            ("2026-12-16T0710-shower.toml", &["at = 2026-12-16T07:10:00-06:00", "by = \"patient\""]),
            (
                "2026-12-16T0750-change.toml",
                &["at = 2026-12-16T07:50:00-06:00", "by = \"p029-partner\"", "exit = \"a\""],
            ),
            (
                "2026-12-16T0805-change.toml",
                &["at = 2026-12-16T08:05:00-06:00", "by = \"p029-partner\"", "exit = \"b\""],
            ),
        ],
    );
}

/// The number in front of an answer on a sheet in this language.
fn number_of(page: &str, language: &str, question: &str, answer: usize) -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("records-template/sheet/{language}.toml"));
    let words: toml::Table = fs::read_to_string(file).unwrap().parse().unwrap();
    let word = words["answer"][question][answer].as_str().unwrap();
    let page = Html::parse_document(page);
    let places = Selector::parse(".answers th, .legend").unwrap();
    let texts: Vec<String> = page.select(&places).map(|place| place.text().collect()).collect();
    let numbers =
        texts.iter().flat_map(|text| text.split(['.', ',', ':'])).filter_map(|part| part.trim().split_once(' '));
    let mut numbers: Vec<&str> = numbers.filter(|(_, said)| *said == word).map(|(number, _)| number).collect();
    numbers.dedup();
    assert!(
        !numbers.is_empty() && numbers.iter().all(|number| *number == numbers[0]),
        "{language} {word}: {numbers:?}"
    );
    numbers[0].to_owned()
}

#[test]
fn a_sheet_filled_in_by_its_numbers_is_the_same_record_in_each_language() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo");
    for language in ["en", "es"] {
        let page = page(&demo, &["P-014", "--month", "2026-12", "--language", language]);
        assert!(page.contains(&format!("<html lang=\"{language}\">")));
        let of = |question, answer| number_of(&page, language, question, answer);
        let cells = [
            ("kind", "1".to_owned()),
            ("time", "18:40".to_owned()),
            ("by", "2".to_owned()),
            ("found.dressing", of("dressing", 2)),
            ("found.anchor", of("anchor", 1)),
            ("left.anchor", of("anchor", 0)),
            ("site.drainage", of("drainage", 3)),
            ("site.redness_mm", "4".to_owned()),
            ("site.swelling", of("swelling", 0)),
            ("site.odor", of("yes_no", 1)),
            ("site.warmth", of("yes_no", 0)),
            ("site.pain", of("pain", 2)),
            ("site.temperature_c", "100.4".to_owned()),
        ];
        let cells: Vec<(&str, &str)> = cells.iter().map(|(key, cell)| (*key, cell.as_str())).collect();
        comes_back(
            "P-014",
            &[("2026-12-02", "", &cells)],
            &[(
                "2026-12-02T1840-change.toml",
                &[
                    "at = 2026-12-02T18:40:00-06:00",
                    "by = \"p014-spouse\"",
                    "[found]",
                    "dressing = \"wet\"",
                    "anchor = \"loose\"",
                    "[left]",
                    "anchor = \"in-place\"",
                    "[site]",
                    "drainage = \"purulent\"",
                    "redness_mm = 4",
                    "swelling = \"none\"",
                    "pain = \"severe\"",
                    "odor = true",
                    "warmth = false",
                    "temperature_c = 38",
                ],
            )],
        );
    }
}

#[test]
fn a_language_of_the_records_goes_before_the_one_built_in_and_says_what_it_lacks() {
    let kept = records("", "", &["2026-11-23"]);
    let built_in =
        screen(&["sheet", "P-001", "--language", "es"], None, &said(kept.path(), &["P-001", "--language", "es"]));
    let template = Path::new(env!("CARGO_MANIFEST_DIR")).join("records-template/sheet");
    let spanish = fs::read_to_string(template.join("es.toml")).unwrap();
    fs::create_dir(kept.path().join("sheet")).unwrap();
    fs::write(kept.path().join("sheet/es.toml"), spanish.replace("Registro del cuidado", "Hoja del cuidado")).unwrap();
    fs::write(kept.path().join("policy.toml"), format!("{POLICY}[sheet]\nlanguage = 'es'\nnumbers = ['555-0100']\n"))
        .unwrap();
    let own = screen(&["sheet", "P-001"], None, &said(kept.path(), &["P-001"]));
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let wrote = said(kept.path(), &["P-001", "--csv", outside.path().join("out.csv").to_str().unwrap()]).stdout;
    assert!(
        wrote.contains("sheet/es.toml: translation to be checked by the program's interpreter service."),
        "{wrote}"
    );
    fs::write(kept.path().join("sheet/es.toml"), spanish.replace("[calendar]", "[calender]")).unwrap();
    let refused = screen(&["sheet", "P-001"], None, &said(kept.path(), &["P-001"]));
    let unknown = ["P-001", "--language", "../policy"];
    let unknown = screen(&[&["sheet"], &unknown[..]].concat(), None, &said(kept.path(), &unknown));
    let screens = [built_in, own, refused, unknown].concat();
    keep("sheet_a_language_of_the_records_goes_before_the_one_built_in", &screens);
}

#[test]
fn the_box_of_calls_is_the_programs_own_where_the_policy_has_one() {
    let kept = records("", "", &["2026-11-23"]);
    let page_of = || page(kept.path(), &["P-001"]);
    assert!(
        page_of().contains("Call us now if")
            && page_of().contains("you see pus")
            && page_of().contains("Our number: ____")
    );
    let own = "[sheet]\ncall_now = ['a fever of 100 °F']\nnumbers = ['555-0100', '555-0101 at night']\n";
    fs::write(kept.path().join("policy.toml"), format!("{POLICY}{own}")).unwrap();
    let text = page_of();
    assert!(text.contains("a fever of 100 °F") && !text.contains("you see pus"), "{text}");
    assert!(text.contains("Call 555-0100 · 555-0101 at night"), "{text}");
}

#[test]
fn a_calendar_has_the_due_days_and_nothing_of_the_patient() {
    let outside = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let file = outside.path().join("due.ics");
    let write = |code: &str, more: &[&str]| demo(&[&[code, "--ics", file.to_str().unwrap()], more].concat());
    for (code, month, days) in [("P-014", "2026-12", every_other(2, 30)), ("P-018", "2026-11", vec![24, 26, 28, 30])] {
        let outcome = write(code, &["--month", month]);
        assert_eq!(outcome.status, 0, "{}", outcome.stderr);
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.lines().count() > 5 && text.split_inclusive('\n').all(|line| line.ends_with("\r\n")), "{text}");
        for word in [code, &code.to_lowercase(), &code.replace('-', ""), "spouse", "exit", "overdue"] {
            let text = text.replace("exitsite", "");
            assert!(!text.contains(word), "{word}: {text}");
        }
        let calendars: Vec<_> = ical::IcalParser::new(text.as_bytes()).map(Result::unwrap).collect();
        assert_eq!(calendars.len(), 1);
        let of = |event: &ical::parser::ical::component::IcalEvent, name: &str| {
            let property = event.properties.iter().find(|property| property.name == name).unwrap();
            property.value.clone().unwrap()
        };
        let events = &calendars[0].events;
        let begins: Vec<String> = events.iter().map(|event| of(event, "DTSTART")).collect();
        let expected = days.iter().map(|day| format!("{}{day:02}", month.replace('-', "")));
        assert_eq!(begins, expected.collect::<Vec<_>>());
        assert!(events.iter().all(|event| of(event, "SUMMARY") == "Change the driveline dressing"));
        let mut names: Vec<String> = events.iter().map(|event| of(event, "UID")).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), days.len());
    }
    // A calendar of this command is replaced; any other is not.
    fs::write(&file, "BEGIN:VCALENDAR\r\nPRODID:-//somebody//1//EN\r\nEND:VCALENDAR\r\n").unwrap();
    assert_eq!(write("P-014", &[]).status, 2);
}
