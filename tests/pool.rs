//! Yearly reports side by side: figures by hand, figures from records, the picture against its data, and bad input.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

#[path = "desk/mod.rs"]
mod desk;

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use desk::{Desk, keep};
use exitsite::command::{Outcome, Surroundings, run};
use exitsite::surveillance::gamma_poisson::{Exposed, GammaPoisson};
use exitsite::surveillance::rate::Rate;
use scraper::{ElementRef, Html, Selector};
use serde_json::{Value, json};
use tempfile::TempDir;

/// A folder of reports.
struct Reports(TempDir);

impl Reports {
    fn new() -> Reports {
        Reports(tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap())
    }

    fn of(reports: &[(&str, u64, i64)]) -> Reports {
        let folder = Reports::new();
        for (n, (name, events, days)) in reports.iter().enumerate() {
            folder.put(&format!("{n}.json"), &yearly(name, *events, *days).to_string());
        }
        folder
    }

    fn put(&self, file: &str, text: &str) {
        fs::write(self.0.path().join(file), text).unwrap();
    }

    fn run(&self, arguments: &[&str]) -> Outcome {
        let surroundings = Surroundings {
            now: desk::NOW.parse().unwrap(),
            here: self.0.path().to_owned(),
            width: Some(80),
            error_width: Some(80),
            ..Surroundings::default()
        };
        run(["exitsite", "pool"].iter().chain(arguments).map(OsString::from), &surroundings)
    }

    fn all(&self) -> Vec<String> {
        let names = fs::read_dir(self.0.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut names: Vec<String> = names.filter(|name| name.ends_with(".json")).collect();
        names.sort();
        names
    }

    /// The text, the JSON, checked against its schema, and the page of all reports in the folder.
    fn forms(&self) -> (String, Value, String) {
        let files = self.all();
        let files: Vec<&str> = files.iter().map(String::as_str).collect();
        let done = |more: &[&str]| {
            let outcome = self.run(&[&files, more].concat());
            assert!(matches!(outcome.status, 0 | 3), "{}", outcome.stderr);
            outcome.stdout
        };
        let (text, json) = (done(&[]), serde_json::from_str(&done(&["--json"])).unwrap());
        jsonschema::validate(&exitsite::schema::schema("pool").unwrap(), &json).unwrap();
        done(&["--html", "pool.html"]);
        let page = fs::read_to_string(self.0.path().join("pool.html")).unwrap();
        fs::remove_file(self.0.path().join("pool.html")).unwrap();
        for form in [&text, &page, &json.to_string()] {
            assert!(!form.contains("NaN") && !form.contains("inf "), "{form}");
        }
        (text, json, page)
    }

    /// Asserts a refusal, in every output format. Returns the message, one sentence for each fault.
    fn refused(&self, files: &[&str]) -> String {
        let outcome = self.run(files);
        assert_eq!((outcome.status, outcome.stdout.as_str()), (2, ""), "{files:?}: {}", outcome.stderr);
        assert!(!self.0.path().join("pool.html").exists());
        outcome.stderr
    }
}

/// The keys of an audit of 2025 that `pool` reads.
fn yearly(name: &str, events: u64, days: i64) -> Value {
    json!({
        "command": "audit", "as_of": "2026-01-12T08:00:00-06:00", "version": env!("CARGO_PKG_VERSION"), "unusable": [],
        "program": name, "period": { "from": "2025-01-01", "to": "2025-12-31" }, "counted_through": "2025-12-31",
        "case_definition": "as published", "census": { "patients": 40, "device_days": days },
        "infections": { "events": events }, "first_infection": { "by": null }, "groups": []
    })
}

fn number(value: &Value, path: &str) -> f64 {
    value.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} is {:?}", value.pointer(path)))
}

#[track_caller]
fn is_near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found} is not {expected}");
}

const FIVE: [(&str, u64, i64); 5] =
    [("North", 1, 10_000), ("east", 2, 10_000), ("South", 3, 10_000), ("West", 18, 10_000), ("Mid", 0, 2_000)];

#[test]
fn figures_are_those_of_the_reports_in_the_order_of_the_names() {
    let (text, json, page) = Reports::of(&FIVE).forms();
    assert_eq!((&json["pooled"]["events"], &json["pooled"]["device_days"]), (&json!(24), &json!(42_000)));
    let pooled = Rate::of(24, 42.0);
    is_near(number(&json, "/pooled/per_1000_device_days/rate"), pooled.rate.unwrap());
    is_near(number(&json, "/pooled/per_1000_device_days/high"), pooled.high.unwrap());
    let members = json["members"].as_array().unwrap();
    let names: Vec<&str> = members.iter().map(|one| one["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["Mid", "North", "South", "West", "east"]);
    // 18 where 5.7 are expected: a count this high in 3 of 100,000 such years
    let beyond: Vec<&Value> = members.iter().map(|one| &one["beyond"]).collect();
    assert_eq!(beyond, [&Value::Null, &Value::Null, &Value::Null, &json!("above"), &Value::Null]);
    is_near(number(&members[3], "/expected"), 24.0 / 42.0 * 10.0);
    let fit = GammaPoisson::of(
        &[(0, 2.0), (1, 10.0), (3, 10.0), (18, 10.0), (2, 10.0)].map(|(events, exposure)| Exposed { events, exposure }),
    );
    is_near(number(&json, "/spread/coefficient_of_variation"), fit.spread.coefficient_of_variation.unwrap());
    assert_eq!((&json["beyond_95"], &members[3]["beyond_95"]), (&json!(2), &json!("above")));
    // five programs are too few for a range of programs, and one of them expects too few for a p
    assert_eq!((&json["spread"]["programs_low"], &json["spread"]["programs_high"]), (&Value::Null, &Value::Null));
    assert!(!text.contains("of 100 such programs"), "{text}");
    let expected = [2.0, 10.0, 10.0, 10.0, 10.0].map(|days| days * 24.0 / 42.0);
    let chi = [0.0, 1.0, 3.0, 18.0, 2.0].iter().zip(expected).map(|(x, e)| (x - e) * (x - e) / e).sum();
    is_near(number(&json, "/heterogeneity/chi_square"), chi);
    assert_eq!((&json["heterogeneity"]["df"], &json["heterogeneity"]["p"]), (&json!(4), &Value::Null));
    for (one, expected) in members.iter().zip(&fit.shrunken) {
        is_near(number(one, "/shrunken/rate"), expected.rate.unwrap());
        is_near(number(one, "/shrunken/high"), expected.high.unwrap());
    }
    keep("pool_five_programs_of_which_one_differs", &text);
    assert!(page.contains("no patient codes; exact counts") && page.contains("Grades what was written down"));
    // neither the order of the files nor the clock changes a byte
    let folder = Reports::of(&FIVE);
    let there = folder.run(&["0.json", "1.json", "2.json"]).stdout;
    assert_eq!(there, folder.run(&["2.json", "0.json", "1.json"]).stdout);
}

#[test]
fn no_infection_anywhere_is_said_and_divides_nothing() {
    let (text, json, page) = Reports::of(&[("North", 0, 9_000), ("South", 0, 12_000)]).forms();
    keep("pool_no_infection_anywhere_is_said", &text);
    assert_eq!((&json["funnel"], &json["spread"]["mean"]), (&json!([]), &Value::Null));
    let south = &json["members"][1];
    assert_eq!((&south["shrunken"]["rate"], &south["funnel"]["inner"]["high"]), (&Value::Null, &Value::Null));
    assert!(!page.contains("<svg"));
}

fn records(infections: &[&str]) -> Desk {
    let desk = Desk::new();
    let course = desk::PATIENT.replace("2026-08-03", "2025-01-01").replace("2026-08-27", "2025-02-01");
    desk.put("patients/P-001/patient.toml", &course);
    desk.put(
        "patients/P-002/patient.toml",
        &course.replace("P-001", "P-002").replace("right-upper", "midline").replace("p001-son", "p002-son"),
    );
    for onset in infections {
        desk.put(
            &format!("patients/P-001/2025/{onset}-infection.toml"),
            &format!(
                "kind = 'infection'\non = {onset}\nby = 'md-3'\npart = 'pump'\ncertainty = 'proven'\nonset = {onset}\n"
            ),
        );
    }
    desk
}

#[test]
fn what_programs_issue_is_what_is_pooled() {
    let folder = Reports::new();
    for (name, infections) in [("North", &["2025-03-02", "2025-07-09"][..]), ("South", &[][..])] {
        let desk = records(infections);
        let policy = desk.get("policy.toml").replace("'Invented'", &format!("'{name}'"));
        desk.put("policy.toml", &policy);
        folder.put(&format!("{name}.json"), &desk.done(&["audit", "--year", "2025", "--json"]));
        folder.put(&format!("{name}.external"), &desk.done(&["audit", "--year", "2025", "--external", "--json"]));
    }
    let (_, json, _) = folder.forms();
    let of = |n: usize, key: &str| json["members"][n][key].clone();
    assert_eq!([of(0, "name"), of(0, "events"), of(0, "device_days")], [json!("North"), json!(2), json!(730)]);
    assert_eq!([of(1, "name"), of(1, "events"), of(1, "device_days")], [json!("South"), json!(0), json!(730)]);
    assert_eq!(json["members"][0]["patients"], 2);
    // two patients: an external report reveals only that they are 1 to 4
    keep("pool_an_external_report_without_a_number_is_refused", &folder.refused(&["North.json", "South.external"]));
}

#[test]
fn groups_of_one_program_stand_side_by_side() {
    let desk = records(&["2025-03-02", "2025-07-09"]);
    let folder = Reports::new();
    folder.put("by.json", &desk.done(&["audit", "--year", "2025", "--by", "where", "--json"]));
    let (text, json, _) = folder.forms();
    assert_eq!((&json["groups_of"], &json["by"]), (&json!("Invented"), &json!("where")));
    let groups: Vec<(&Value, &Value)> =
        json["members"].as_array().unwrap().iter().map(|one| (&one["name"], &one["events"])).collect();
    assert_eq!(groups, [(&json!("midline"), &json!(0)), (&json!("right-upper"), &json!(2))]);
    keep("pool_groups_of_one_program_stand_side_by_side", &text);
    let audit = desk.done(&["audit", "--year", "2025", "--by", "where"]);
    assert!(audit.contains("group        patients  infections  device-days  per 1,000"), "{audit}");
}

#[test]
fn external_reports_are_pooled_where_they_tell_a_number() {
    let external = |name: &str, count: Value| {
        json!({
            "release": "external report: may leave the program", "command": "audit", "version": env!("CARGO_PKG_VERSION"),
            "program": name, "year": 2025, "is_complete": name != "East", "patients": 30, "device_days": 9_120,
            "infections": { "count": count, "per_1000_device_days": null }
        })
        .to_string()
    };
    let folder = Reports::of(&[("North", 4, 10_000)]);
    folder.put("east.json", &external("East", json!(0)));
    folder.put("mid.json", &external("Mid", json!(7)));
    let (text, json, _) = folder.forms();
    assert_eq!(json["pooled"]["events"], 11);
    keep("pool_external_reports_are_pooled_where_they_tell_a_number", &text);
    // the incomplete report is named first, and the status shows it
    assert_eq!(json["unusable"][0]["file"], "east.json");
    assert_eq!(folder.run(&["0.json", "east.json"]).status, 3);
    folder.put("few.json", &external("West", json!("1 to 4")));
    keep("pool_an_external_report_of_few_infections_is_refused", &folder.refused(&["0.json", "few.json"]));
}

#[test]
fn what_cannot_be_pooled_is_named_with_what_to_do() {
    let folder = Reports::of(&[("North", 4, 10_000), ("South", 2, 8_000)]);
    let text = |change: &dyn Fn(&mut Value)| {
        let mut report = yearly("Other", 3, 5_000);
        change(&mut report);
        report.to_string()
    };
    let whole = yearly("Other", 3, 5_000).to_string();
    let cases: [(&str, String); 17] = [
        ("cut", whole[..whole.len() / 2].to_owned()),
        ("empty", " \n".into()),
        ("letter", "Dear all,".into()),
        ("list", "[1, 2]".into()),
        ("due", text(&|one| one["command"] = json!("due"))),
        ("pool", text(&|one| one["command"] = json!("pool"))),
        ("later", text(&|one| one["version"] = json!("7.2.0"))),
        ("without", text(&|one| _ = one.as_object_mut().unwrap().remove("version"))),
        ("month", text(&|one| one["period"]["to"] = json!("2025-01-31"))),
        ("early", text(&|one| one["counted_through"] = json!("2025-11-24"))),
        ("nobody", text(&|one| one["census"]["device_days"] = json!(0))),
        ("null", text(&|one| one["census"]["device_days"] = Value::Null)),
        ("minus", text(&|one| one["census"]["device_days"] = json!(-5))),
        ("half", text(&|one| one["infections"]["events"] = json!(1.5))),
        ("many", text(&|one| one["infections"]["events"] = json!(10_001))),
        ("unnamed", text(&|one| one["program"] = json!(" "))),
        ("twice", yearly("north", 4, 10_000).to_string()),
    ];
    let mut said = String::new();
    let mut refuse = |files: &[&str]| {
        said.push_str(&format!("$ exitsite pool {}\n{}\n", files.join(" "), folder.refused(files)));
    };
    for (name, text) in &cases {
        let file = format!("{name}.json");
        folder.put(&file, text);
        refuse(&["0.json", "1.json", &file]);
        fs::remove_file(folder.0.path().join(&file)).unwrap();
    }
    // reports of two years, a file that is no text, one alone, a folder, a missing file, an unreadable one
    let mut earlier = yearly("Other", 3, 5_000);
    earlier["period"] = json!({ "from": "2024-01-01", "to": "2024-12-31" });
    folder.put("earlier.json", &earlier.to_string());
    refuse(&["0.json", "earlier.json"]);
    fs::write(folder.0.path().join("odd.json"), b"\xff\xfe{\x00").unwrap();
    refuse(&["0.json", "odd.json"]);
    refuse(&["0.json"]);
    fs::create_dir(folder.0.path().join("inside.json")).unwrap();
    // every fault is listed in one run
    keep("pool_what_cannot_be_pooled_is_named_with_what_to_do", &said.replace(env!("CARGO_PKG_VERSION"), "VERSION"));
    // The last message has the paths of the folder.
    let said = folder.refused(&["0.json", "inside.json", "missing.json", "odd.json"]);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in ["inside.json is a folder", "missing.json does not exist", "odd.json is not UTF-8 text"] {
        assert!(said.contains(part), "{said}");
    }
}

#[test]
fn definitions_that_differ_are_said() {
    let folder = Reports::of(&[("North", 4, 10_000)]);
    let mut other = yearly("South", 3, 5_000);
    other["case_definition"] = json!("of our own\u{1b}[2J");
    folder.put("other.json", &other.to_string());
    let (text, _, page) = folder.forms();
    keep("pool_definitions_that_differ_are_said", &text);
    assert!(!text.contains('\u{1b}') && !page.contains('\u{1b}'));
}

#[test]
fn only_a_page_of_its_own_is_replaced() {
    let folder = Reports::of(&FIVE);
    folder.put("mine.html", "<p>mine</p>");
    let outcome = folder.run(&["0.json", "1.json", "--html", "mine.html"]);
    assert_eq!(outcome.status, 2, "{}", outcome.stderr);
    assert_eq!(fs::read_to_string(folder.0.path().join("mine.html")).unwrap(), "<p>mine</p>");
    assert_eq!(folder.run(&["0.json", "1.json", "--html", "own.html"]).status, 0);
    assert_eq!(folder.run(&["0.json", "2.json", "--html", "own.html"]).status, 0);
}

// The picture, read back.

fn select<'a>(within: ElementRef<'a>, selector: &str) -> Vec<ElementRef<'a>> {
    within.select(&Selector::parse(selector).unwrap()).collect()
}

fn attribute(one: ElementRef, name: &str) -> f64 {
    one.value().attr(name).unwrap().parse().unwrap()
}

fn places(one: ElementRef) -> Vec<(f64, f64)> {
    let place = |place: &str| {
        let (x, y) = place.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    one.value().attr("points").unwrap().split(' ').map(place).collect()
}

/// Returns the position of a value on a linear scale, from the values and positions of its outermost ticks.
fn scale(ticks: &[(f64, f64)]) -> impl Fn(f64) -> f64 + use<> {
    let ((low, from), (high, to)) = (ticks[0], ticks[ticks.len() - 1]);
    assert!(high > low, "{ticks:?}");
    move |value| from + (value - low) / (high - low) * (to - from)
}

#[test]
fn each_mark_of_the_funnel_has_the_place_of_its_datum() {
    let (_, json, page) = Reports::of(&FIVE).forms();
    let page = Html::parse_document(&page);
    let svg = page.select(&Selector::parse("#funnel svg").unwrap()).next().unwrap();
    let said = |one: ElementRef| one.text().collect::<String>();
    let ticks = |selector: &str, is_tick: &dyn Fn(ElementRef) -> bool, place: &str, shift: f64| -> Vec<(f64, f64)> {
        let all = select(svg, selector).into_iter().filter(|one| is_tick(*one));
        all.map(|one| (said(one).parse().unwrap(), attribute(one, place) - shift)).collect()
    };
    let foot = select(svg, "line.axis").into_iter().map(|line| attribute(line, "y1")).fold(0.0, f64::max);
    let along = scale(&ticks("text.mid:not(.halo)", &|one| (attribute(one, "y") - foot - 14.0).abs() < 0.1, "x", 0.0));
    let height = scale(&ticks("text.end", &|one| (attribute(one, "x") - 34.0).abs() < 0.1, "y", 3.0));
    let check = |found: (f64, f64), days: f64, rate: f64, about: &str| {
        let expected = (along(days / 1000.0), height(rate));
        let is_near = |a: f64, b: f64| (a - b).abs() < 0.35;
        assert!(is_near(found.0, expected.0) && is_near(found.1, expected.1), "{about}: {found:?}, not {expected:?}");
    };
    let middle = |shape: ElementRef| match shape.value().name() {
        "circle" => (attribute(shape, "cx"), attribute(shape, "cy")),
        _ => {
            let all = places(shape);
            let sum = all.iter().fold((0.0, 0.0), |sum, at| (sum.0 + at.0, sum.1 + at.1));
            (sum.0 / all.len() as f64, sum.1 / all.len() as f64)
        }
    };
    let marks: Vec<(String, ElementRef)> = select(svg, "g")
        .into_iter()
        .map(|group| {
            let shape = group.child_elements().find(|one| one.value().name() != "title").unwrap();
            (said(select(group, "title")[0]), shape)
        })
        .collect();
    let members = json["members"].as_array().unwrap();
    assert_eq!(marks.len(), 2 * members.len());
    for (n, one) in members.iter().enumerate() {
        let (days, label) = (number(one, "/device_days"), format!("{} {}: ", n + 1, one["name"].as_str().unwrap()));
        for (title, shape) in marks.iter().filter(|(title, _)| title.starts_with(&label)) {
            let is_drawn = title.contains("shrunken to");
            let rate = number(one, if is_drawn { "/shrunken/rate" } else { "/per_1000_device_days/rate" });
            check(middle(*shape), days, rate, title);
            let is_diamond = shape.value().attr("class") == Some("beyond");
            assert_eq!(is_diamond, !is_drawn && !one["beyond"].is_null(), "{title}");
        }
    }
    // the lines: every point of the funnel inside the picture, in order
    let top = 20.0;
    let lines = [("four", "/inner/high"), ("four", "/inner/low"), ("limit", "/outer/high"), ("limit", "/outer/low")];
    let mut counted = 0;
    for (class, path) in lines {
        let data: Vec<(f64, f64)> = json["funnel"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(|place| Some((number(place, "/device_days"), place.pointer(path)?.as_f64()?)))
            .filter(|(_, rate)| height(*rate) >= top - 0.2)
            .collect();
        let drawn = select(svg, &format!("polyline.{class}"))
            .into_iter()
            .map(places)
            .find(|line| line.len() == data.len() && (line[0].1 - height(data[0].1)).abs() < 0.35);
        match drawn {
            Some(line) => line.iter().zip(&data).for_each(|(at, (days, rate))| check(*at, *days, *rate, path)),
            None => assert!(data.len() < 2, "{path} is not drawn: {} places", data.len()),
        }
        counted += usize::from(data.len() > 1);
    }
    assert!(counted >= 3, "{counted} lines");
    let center = select(svg, "line.center").into_iter().max_by(|a, b| {
        (attribute(*a, "x2") - attribute(*a, "x1")).total_cmp(&(attribute(*b, "x2") - attribute(*b, "x1")))
    });
    assert!(
        (attribute(center.unwrap(), "y1") - height(number(&json, "/pooled/per_1000_device_days/rate"))).abs() < 0.2
    );
}

#[test]
fn the_invented_reports_are_pooled() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/pool");
    let folder = Reports::new();
    let schema = exitsite::schema::schema("audit-external").unwrap();
    for entry in fs::read_dir(root).unwrap() {
        let entry = entry.unwrap();
        let text = fs::read_to_string(entry.path()).unwrap();
        jsonschema::validate(&schema, &serde_json::from_str(&text).unwrap()).unwrap();
        folder.put(&entry.file_name().into_string().unwrap(), &text);
    }
    let (_, json, _) = folder.forms();
    assert_eq!((&json["pooled"]["events"], json["members"].as_array().unwrap().len()), (&json!(35), 4));
}
