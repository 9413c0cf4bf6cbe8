//! The audit as a page: complete, equal to the text, with a description of each picture, without external resources,
//! for any records.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "../desk/mod.rs"]
mod desk;
mod marks;

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use chrono::{NaiveDate, TimeDelta};
use desk::Desk;
use exitsite::command::{Outcome, Surroundings, run};
use scraper::{ElementRef, Html, Selector};

const PICTURES: [&str; 7] =
    ["days-between", "infections-a-month", "alarm", "incidence", "freedom", "mean-count", "days-in-date"];

/// A change of the program in the middle of a month, to append to a policy that ends with the audit.
const INTERVENTION: &str = "[[audit.intervention]]\non = 2024-07-16\nwhat = 'second anchor'\nwhy = 'pulls'\n";

fn said(records: &Path, here: &Path, arguments: &[&str]) -> Outcome {
    let surroundings = Surroundings {
        now: desk::NOW.parse().unwrap(),
        here: here.to_owned(),
        records: Some(records.to_owned()),
        width: Some(50_000),
        ..Surroundings::default()
    };
    run(["exitsite", "audit"].iter().chain(arguments).map(OsString::from), &surroundings)
}

/// A page, and the text of the same report.
struct Page {
    text: String,
    page: String,
    html: Html,
}

impl Page {
    fn of(records: &Path, arguments: &[&str]) -> Page {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let write = |file: &str| {
            let outcome = said(records, kept.path(), &[arguments, &["--html", file]].concat());
            assert!(outcome.stdout.starts_with(&format!("Wrote {file}")), "{}", outcome.stderr);
            fs::read_to_string(kept.path().join(file)).unwrap()
        };
        let page = write("audit.html");
        assert_eq!(page, write("again.html"), "the same report has the same bytes");
        let html = Html::parse_document(&page);
        Page { text: said(records, kept.path(), arguments).stdout, page, html }.checked()
    }

    /// Checks the rules for every page.
    fn checked(self) -> Page {
        assert_eq!(self.html.errors, Vec::<String>::new());
        for none in ["script", "link", "img", "iframe", "object", "image", "use", "[src]", "[href]", "[style]"] {
            assert_eq!(self.count(none), 0, "{none}");
        }
        assert_eq!((self.count("html[lang=en]"), self.count("h1"), self.count("main")), (1, 1, 1));
        let without_names = self.page.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        for none in ["http", "url(", "@import", "NaN", "inf ", "inf\"", "inf,"] {
            assert!(!without_names.contains(none), "{none}");
        }
        self.says_what_the_text_says();
        for svg in self.all("svg") {
            has_words(svg);
            lies_inside(svg);
        }
        for svg in self.page.split("<svg").skip(1) {
            let (svg, _) = svg.split_once("</svg>").unwrap();
            is_well_formed(&format!("<svg{svg}</svg>"));
        }
        let ids: Vec<&str> = self.all("[id]").map(|one| one.value().attr("id").unwrap()).collect();
        assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len(), "{ids:?}");
        self
    }

    fn all<'a>(&'a self, selector: &str) -> impl Iterator<Item = ElementRef<'a>> {
        let found: Vec<ElementRef> = self.html.select(&Selector::parse(selector).unwrap()).collect();
        found.into_iter()
    }

    fn count(&self, selector: &str) -> usize {
        self.all(selector).count()
    }

    fn texts(&self, selector: &str) -> Vec<String> {
        self.all(selector).map(|one| one.text().collect()).collect()
    }

    fn pictures(&self) -> Vec<String> {
        self.all("figure").map(|figure| figure.value().attr("id").unwrap().to_owned()).collect()
    }

    /// The description of a picture.
    fn about(&self, picture: &str) -> String {
        self.texts(&format!("#{picture}-about")).concat()
    }

    /// Checks that each section, sentence and figure of the text is on the page.
    fn says_what_the_text_says(&self) {
        let titles: Vec<String> = self.texts("h2").iter().map(|title| title.to_uppercase()).collect();
        let mut of_text = Vec::new();
        let page = self.texts("main").concat();
        for line in self.text.lines().filter(|line| !line.is_empty()) {
            let is_title =
                line.chars().any(char::is_alphabetic) && *line == line.to_uppercase() && !line.contains("  ");
            if is_title {
                of_text.push(line.to_owned());
                continue;
            }
            for cell in line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()) {
                assert!(page.contains(cell), "{cell} of {line}");
            }
        }
        assert_eq!(titles, of_text);
    }
}

/// Checks that a picture is labeled by its title and description.
fn has_words(svg: ElementRef) {
    assert_eq!(svg.value().attr("role"), Some("img"));
    let words: Vec<(&str, String)> = svg
        .child_elements()
        .filter(|one| ["title", "desc"].contains(&one.value().name()))
        .map(|one| (one.value().attr("id").unwrap(), one.text().collect()))
        .collect();
    let [(title, says), (about, shows)] = &words[..] else { panic!("{words:?}") };
    assert_eq!(svg.value().attr("aria-labelledby"), Some(format!("{title} {about}").as_str()));
    assert!(says.len() > 10 && shows.len() > 60, "{words:?}");
}

/// Checks that every coordinate of a picture is a number to one decimal, inside the picture.
fn lies_inside(svg: ElementRef) {
    let view: Vec<f64> = svg.value().attr("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    let check = |said: &str, most: f64| {
        let value: f64 = said.parse().unwrap();
        assert!((0.0..=most).contains(&value), "{said}");
        assert!(said.split_once('.').is_some_and(|(_, decimals)| decimals.len() == 1), "{said}");
    };
    for one in svg.descendent_elements() {
        for (name, value) in one.value().attrs() {
            match name {
                "x" | "x1" | "x2" | "cx" => check(value, view[2]),
                "y" | "y1" | "y2" | "cy" => check(value, view[3]),
                "points" => {
                    for place in value.split(' ').filter(|place| !place.is_empty()) {
                        let (x, y) = place.split_once(',').unwrap();
                        check(x, view[2]);
                        check(y, view[3]);
                    }
                }
                _ => {}
            }
        }
    }
}

/// Checks that every element is closed in order and every attribute quoted, as XML requires beyond HTML.
fn is_well_formed(svg: &str) {
    let mut open = Vec::new();
    for piece in svg.split('<').skip(1) {
        let (tag, between) = piece.split_once('>').unwrap();
        assert!(!between.contains('>'), "{piece}");
        for (at, _) in piece.match_indices('&') {
            let known = ["&amp;", "&lt;", "&gt;", "&quot;", "&#39;"];
            assert!(known.iter().any(|name| piece[at..].starts_with(name)), "{piece}");
        }
        match tag.strip_prefix('/') {
            Some(name) => assert_eq!(open.pop(), Some(name), "{tag}"),
            None => {
                let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
                assert_eq!(attributes.matches('"').count(), 2 * attributes.matches("=\"").count(), "{tag}");
                open.push(name);
            }
        }
    }
    assert_eq!(open, Vec::<&str>::new());
}

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/demo")
}

/// A program with two bursts of infections since its baseline, the first acknowledged.
fn with_bursts() -> Desk {
    let desk = Desk::new();
    fs::remove_dir_all(desk.root().join("patients")).unwrap();
    desk.put(
        "policy.toml",
        "schema = 1\nprogram = 'A & B <b>\"x\"</b>'\ntime_zone = 'America/Chicago'\n[audit]\ncurve_at_risk = 1\ncase_definition = 'One & <i>two</i>'\nbaseline = { from = '2022-01', through = '2023-12' }\nacknowledged = [ { month = '2024-06', by = 'md-3', why = 'pulls; anchors replaced' } ]\n",
    );
    let first = NaiveDate::from_ymd_opt(2022, 1, 3).unwrap();
    for n in 1..=24 {
        let (implanted, code) = (first + TimeDelta::days(n), format!("P-{n:03}"));
        let at = if n % 2 == 0 { "right-upper" } else { "left-upper" };
        let ended = match n {
            21 => "[ended]\non = 2024-02-03\nwhy = 'transplant'\nby = 'co-1'\n",
            22 => "[ended]\non = 2025-02-03\nwhy = 'death'\nby = 'co-1'\n",
            23 => "[ended]\non = 2023-02-03\nwhy = 'recovery'\nby = 'co-1'\n",
            _ => "",
        };
        desk.put(
            &format!("patients/{code}/patient.toml"),
            &format!("code = '{code}'\nimplanted = {implanted}\n[[exit]]\nid = 'a'\nwhere = '{at}'\nfrom = {implanted}\nwhy = 'implant'\n[[care]]\nfrom = {implanted}\nplace = 'home'\n{ended}"),
        );
    }
    let steady = (0..14).map(|n| first + TimeDelta::days(40 + n * 48));
    let bursts = [("2024-05-02", 9), ("2026-08-20", 11)];
    let bursts = bursts.iter().flat_map(|(day, many)| {
        let day: NaiveDate = day.parse().unwrap();
        (0..*many).map(move |n| day + TimeDelta::days(n * 6))
    });
    for (n, day) in steady.chain(bursts).enumerate() {
        let code = format!("P-{:03}", n % 20 + 1);
        let organism = if n % 3 == 0 { "Invented <em>coccus</em> & \"co\"" } else { "Invented bacillus" };
        desk.put(
            &format!("patients/{code}/{}/{day}-infection.toml", day.format("%Y")),
            &format!("kind = 'infection'\non = {day}\nby = 'md-3'\npart = 'driveline-superficial'\ncertainty = 'proven'\nonset = {day}\norganisms = ['{organism}']\n"),
        );
    }
    desk
}

#[test]
fn the_demo_has_a_page_that_says_what_the_text_says() {
    let page = Page::of(&demo(), &["--as-of", "2026-11-24"]);
    assert!(
        page.texts("title")[0].starts_with("Exit-site audit 2026-10-01 to 2026-10-31"),
        "{:?}",
        page.texts("title")
    );
    assert!(page.pictures().contains(&"days-in-date".to_owned()), "{:?}", page.pictures());
    assert_eq!(page.texts("main > *")[0], "internal: patient codes");
    // an unreadable file is named first
    let first = page.texts("main > *")[2].clone();
    assert!(first.contains("This report is incomplete") && first.contains("2026-11-23T1905-change.toml"), "{first}");
    assert!(page.about("days-in-date").contains("the last, 2026-10: "), "{}", page.about("days-in-date"));
    // if there is nothing to draw, the page says so
    assert!(page.page.contains("so there is no gap to draw"));
    assert!(page.count("td.n, th.n") > 40);
    assert_eq!(page.count("thead th"), page.count("thead th[scope=col]"));
    assert_eq!(page.count("tbody th"), page.count("tbody th[scope=row]"));
}

/// Simulates forty patients over three years.
fn simulated() -> PathBuf {
    static PROGRAM: LazyLock<(tempfile::TempDir, PathBuf)> = LazyLock::new(|| {
        let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let records = kept.path().join("records");
        let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
        let ran = Command::new(env!("CARGO"))
            .args(["run", "--quiet", "--locked", "--profile", profile, "--example", "simulate", "--"])
            .args(["--patients", "40", "--years", "3", "--seed", "7", "--until", "2026-11-24", "--out"])
            .arg(&records)
            .output()
            .unwrap();
        assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
        (kept, records)
    });
    PROGRAM.1.clone()
}

#[test]
fn a_simulated_program_has_its_pictures() {
    let records = simulated();
    let page = Page::of(&records, &["--as-of", "2026-11-24", "--from", "2026-07-01", "--to", "2026-10-31"]);
    assert_eq!(page.pictures(), PICTURES.into_iter().filter(|name| *name != "alarm").collect::<Vec<_>>());
    assert!(page.page.contains("Alarm not computed: no baseline is set in the policy"));
    assert!(page.about("infections-a-month").starts_with("36 months from 2023-11; the last, 2026-10: "));
}

#[test]
fn pictures_say_what_is_outside_and_what_is_open() {
    let desk = with_bursts();
    let page = Page::of(desk.root(), &["--month", "2026-10", "--by", "where"]);
    assert_eq!(page.pictures(), PICTURES);
    let about = PICTURES.map(|picture| page.about(picture));
    assert!(
        about[0].contains("Since that infection ") && about[0].contains("days have passed without another."),
        "{}",
        about[0]
    );
    assert!(about[2].contains("2024-06: sum ") && about[2].contains(", alarm, acknowledged"), "{}", about[2]);
    assert!(about[2].ends_with("The sum restarts after 2024-06."), "{}", about[2]);
    assert_eq!((page.count("#alarm polygon.answered"), page.count("#alarm line.anew")), (1, 1));
    assert!(page.count("#alarm polygon.beyond") > 0 && page.texts("#alarm text").contains(&"alarm".to_owned()));
    assert_eq!(page.count("#days-between circle.ring"), 1);
    assert_eq!(page.count("#days-between line.open"), 1);
    // four ends, each a line with its own name; a row of numbers at risk
    for class in ["one", "two", "three", "four"] {
        assert_eq!(page.count(&format!("#incidence polyline.{class}")), 1, "{class}");
    }
    assert!(page.texts("#incidence text").contains(&"at risk".to_owned()));
    // two groups, each with its row and its band
    assert_eq!(
        (page.count("#freedom polyline.one"), page.count("#freedom polyline.two"), page.count("#freedom polygon.band")),
        (1, 1, 2)
    );
    assert!(about[4].contains(" left-upper: ") && about[4].contains(" right-upper: "), "{}", about[4]);
    // without groups, the limits
    assert_eq!(Page::of(desk.root(), &["--month", "2026-10"]).count("#freedom polygon.band"), 1);
}

#[test]
fn a_change_of_the_program_has_its_picture() {
    let desk = with_bursts();
    let change = INTERVENTION.replace("second anchor", "<i>second</i> anchor");
    desk.put("policy.toml", &format!("{}{change}", desk.get("policy.toml")));
    let page = Page::of(desk.root(), &["--month", "2026-10"]);
    assert!(page.pictures().contains(&"lower-alarm".to_owned()), "{:?}", page.pictures());
    assert!(page.about("lower-alarm").starts_with("28 months from 2024-07; the last, 2026-10: sum "));
    assert!(page.texts("main").concat().contains("2024-07-16 (<i>second</i> anchor)"));
    assert_eq!(page.count("main i"), 0);
    // too few before: no picture, and the reason
    desk.put("policy.toml", &desk.get("policy.toml").replace("2024-07-16", "2022-02-01"));
    let page = Page::of(desk.root(), &["--month", "2026-10"]);
    assert!(!page.pictures().contains(&"lower-alarm".to_owned()));
    assert!(page.page.contains("fewer than 10 infections in the 12 months before the change"));
}

#[test]
fn texts_of_records_are_escaped() {
    let desk = with_bursts();
    desk.put("patients/P-001/2026/2026-10-01-<img src=x>&.toml", "kind = 'infection'\n");
    let page = Page::of(desk.root(), &["--month", "2026-10"]);
    for whole in
        ["A & B <b>\"x\"</b>", "One & <i>two</i>", "Invented <em>coccus</em> & \"co\"", "2026-10-01-<img src=x>&.toml"]
    {
        assert!(page.texts("main").concat().contains(whole), "{whole}");
    }
    for tag in ["main i", "main em", "main p b", "main td b"] {
        assert_eq!(page.count(tag), 0, "{tag}");
    }
}

#[test]
fn a_program_without_patients_has_a_page() {
    let desk = Desk::new();
    fs::remove_dir_all(desk.root().join("patients/P-001")).unwrap();
    let page = Page::of(desk.root(), &[]);
    assert_eq!(page.count("svg"), 0);
    assert!(page.page.contains("No infection is on file, so there is no gap"));
    assert!(page.page.contains("No patient can be followed"));
}

#[test]
fn another_file_is_not_replaced() {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    fs::write(kept.path().join("mine.html"), "<p>mine</p>").unwrap();
    let refused = said(&demo(), kept.path(), &["--html", "mine.html"]);
    assert_eq!((refused.status, refused.stdout.as_str()), (2, ""));
    assert_eq!(fs::read_to_string(kept.path().join("mine.html")).unwrap(), "<p>mine</p>");
    // another page of this program does not count, either
    assert!(run_show(kept.path()).stdout.starts_with("Wrote story.html"));
    assert_eq!(said(&demo(), kept.path(), &["--html", "story.html"]).status, 2);
}

fn run_show(here: &Path) -> Outcome {
    let surroundings = Surroundings {
        now: desk::NOW.parse().unwrap(),
        here: here.to_owned(),
        records: Some(demo()),
        ..Surroundings::default()
    };
    run(["exitsite", "show", "P-014", "--html", "story.html"].map(OsString::from), &surroundings)
}
