//! Every mark of every picture, read back from the page: its position against its value.

use std::ffi::OsString;
use std::fs;
use std::path::Path;

use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use exitsite::command::{Surroundings, run};
use scraper::{ElementRef, Html, Selector};
use serde_json::Value;

use crate::desk::{self, Desk};
use crate::{INTERVENTION, said, simulated, with_bursts};

/// Tolerance of two positions rounded to a tenth: that of a mark, and that of its reference.
const ROUNDED: f64 = 0.11;

/// A picture of a page with the left and right end of its axis and the height of its foot.
struct Picture<'a> {
    svg: ElementRef<'a>,
    left: f64,
    right: f64,
    foot: f64,
}

fn number(one: ElementRef, name: &str) -> f64 {
    one.value().attr(name).unwrap().parse().unwrap()
}

fn places(one: ElementRef) -> Vec<(f64, f64)> {
    let place = |place: &str| {
        let (x, y) = place.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    one.value().attr("points").unwrap().split(' ').map(place).collect()
}

fn select<'a>(within: ElementRef<'a>, selector: &str) -> Vec<ElementRef<'a>> {
    within.select(&Selector::parse(selector).unwrap()).collect()
}

impl<'a> Picture<'a> {
    fn of(page: &'a Html, selector: &str) -> Picture<'a> {
        let svg = page.select(&Selector::parse(&format!("{selector} svg")).unwrap()).next().unwrap();
        let is_level = |line: &ElementRef| line.value().attr("y1") == line.value().attr("y2");
        let axis = select(svg, "line.axis").into_iter().rfind(is_level).unwrap();
        Picture { svg, left: number(axis, "x1"), right: number(axis, "x2"), foot: number(axis, "y1") }
    }

    /// The position at a fraction of the axis.
    fn along(&self, part: f64) -> f64 {
        self.left + part * (self.right - self.left)
    }

    /// The ticks of the vertical axis: value and position.
    fn heights(&self) -> Vec<(f64, f64)> {
        let is_tick = |text: &ElementRef| (number(*text, "x") - (self.left - 4.0)).abs() < 0.01;
        let value = |text: ElementRef| {
            let said: String = text.text().collect();
            (said.trim_end_matches(" %").replace(',', "").parse().unwrap(), number(text, "y") - 3.0)
        };
        select(self.svg, "text.end").into_iter().filter(is_tick).map(value).collect()
    }

    /// The position of a value on a linear scale, from its outermost ticks.
    fn height(&self, value: f64) -> f64 {
        let ticks = self.heights();
        let ((low, from), (high, to)) = (ticks[0], ticks[ticks.len() - 1]);
        assert!(high > low, "{ticks:?}");
        from + (value - low) / (high - low) * (to - from)
    }

    /// The marks: title, and center of the shape.
    fn marks(&self) -> Vec<(String, (f64, f64))> {
        let mark = |group: ElementRef| {
            let title: String = select(group, "title")[0].text().collect();
            let shape = group.child_elements().find(|one| one.value().name() != "title").unwrap();
            (title, middle(shape))
        };
        select(self.svg, "g").into_iter().map(mark).collect()
    }

    fn check(&self, found: (f64, f64), expected: (f64, f64), about: &str) {
        let is_near = |a: f64, b: f64| (a - b).abs() <= ROUNDED;
        assert!(is_near(found.0, expected.0) && is_near(found.1, expected.1), "{about}: {found:?}, not {expected:?}");
    }
}

fn middle(shape: ElementRef) -> (f64, f64) {
    match shape.value().name() {
        "circle" => (number(shape, "cx"), number(shape, "cy")),
        "polygon" => {
            let places = places(shape);
            let middle = |all: Vec<f64>| {
                let ends = all.iter().fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(*at), high.max(*at)));
                (ends.0 + ends.1) / 2.0
            };
            (middle(places.iter().map(|place| place.0).collect()), middle(places.iter().map(|place| place.1).collect()))
        }
        "rect" => {
            (number(shape, "x") + number(shape, "width") / 2.0, number(shape, "y") + number(shape, "height") / 2.0)
        }
        _ => (number(shape, "x1"), (number(shape, "y1") + number(shape, "y2")) / 2.0),
    }
}

fn audit(desk: &Desk, arguments: &[&str]) -> (Value, Html) {
    audit_of(desk.root(), arguments)
}

fn audit_of(records: &Path, arguments: &[&str]) -> (Value, Html) {
    let kept = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let written = said(records, kept.path(), &[arguments, &["--html", "audit.html"]].concat());
    assert!(written.stdout.starts_with("Wrote"), "{}", written.stderr);
    let page = Html::parse_document(&fs::read_to_string(kept.path().join("audit.html")).unwrap());
    (serde_json::from_str(&said(records, kept.path(), &[arguments, &["--json"]].concat()).stdout).unwrap(), page)
}

/// Checks months in equal steps and values on a linear scale. Each mark is found by the month at the start of its
/// title; the last `shaded` months are those of the report.
fn check_months(picture: &Picture, points: &Value, (key, scale): (&str, f64), shaded: usize) {
    let all = points.as_array().unwrap();
    let shown = &all[all.len().saturating_sub(60)..];
    let (marks, top) = (picture.marks(), 20.0);
    let mut checked = 0;
    for (n, point) in shown.iter().enumerate() {
        let Some(value) = point[key].as_f64() else { continue };
        let month = point["month"].as_str().unwrap();
        let (title, found) = marks.iter().find(|(title, _)| title.starts_with(&format!("{month}:"))).unwrap();
        let height = picture.height(value * scale);
        // a triangle at the upper end is a value above the picture
        let is_above = height < top;
        let place = (picture.along((n as f64 + 0.5) / shown.len() as f64), if is_above { found.1 } else { height });
        picture.check(*found, place, title);
        checked += 1;
    }
    assert_eq!(checked, marks.iter().filter(|(title, _)| !title.contains(": second anchor")).count());
    assert!(checked > 5, "{key}");
    let period = places(select(picture.svg, "polygon.period")[0]);
    picture.check(period[0], (picture.along(1.0 - shaded as f64 / shown.len() as f64), top), "shaded");
    picture.check(period[1], (picture.right, top), "shaded");
}

#[test]
fn marks_of_months_are_over_their_month_at_their_value() {
    let (report, page) = audit(&with_bursts(), &["--month", "2026-10"]);
    let points = |chart: &str| &report["charts"][chart]["points"];
    check_months(&Picture::of(&page, "#infections-a-month"), points("infections"), ("rate", 1.0), 1);
    check_months(&Picture::of(&page, "#alarm"), points("alarm"), ("value", 1.0), 1);
}

/// The corners of the lines of a class, line by line.
fn corners(picture: &Picture, lines: &str) -> Vec<(f64, f64)> {
    select(picture.svg, lines).into_iter().flat_map(places).collect()
}

/// The days with dressing current: each month's proportion, the line that joins them, the steps of both limits, and the
/// center.
#[test]
fn marks_of_days_in_date_are_their_shares() {
    let (report, page) = audit_of(&simulated(), &["--from", "2026-07-01", "--to", "2026-10-31"]);
    let (chart, picture) = (&report["charts"]["on_time"], Picture::of(&page, "#days-in-date"));
    check_months(&picture, &chart["points"], ("share", 100.0), 4);
    let points = chart["points"].as_array().unwrap();
    let at = |along: f64, share: f64| (picture.along(along / points.len() as f64), picture.height(share * 100.0));
    let check = |lines: &str, expected: Vec<(f64, f64)>| {
        let found = corners(&picture, lines);
        assert_eq!(found.len(), expected.len(), "{lines}");
        assert!(found.len() >= 12, "{lines}: {found:?}");
        for (found, expected) in found.into_iter().zip(expected) {
            picture.check(found, expected, lines);
        }
    };
    let values = |key: &'static str| {
        points.iter().enumerate().filter_map(move |(n, point)| Some((n as f64, point[key].as_f64()?)))
    };
    check("polyline.join", values("share").map(|(n, share)| at(n + 0.5, share)).collect::<Vec<_>>());
    let steps =
        |key| values(key).filter(|(_, share)| *share > 0.0).flat_map(|(n, share)| [at(n, share), at(n + 1.0, share)]);
    check("polyline.limit", steps("high").chain(steps("low")).collect());
    let center = select(picture.svg, "line.center")[0];
    let height = picture.height(chart["center"].as_f64().unwrap() * 100.0);
    picture.check((number(center, "x1"), number(center, "y1")), (picture.left, height), "center");
    picture.check((number(center, "x2"), number(center, "y2")), (picture.right, height), "center");
    // a proportion outside the limits is a diamond
    assert_eq!(select(picture.svg, "polygon.beyond").len(), chart["beyond"].as_array().unwrap().len());
}

/// A change of the program is a vertical line on its day, in each chart of months; its sums are over their months.
#[test]
fn a_change_of_the_program_is_a_line_on_its_day() {
    let desk = with_bursts();
    desk.put("policy.toml", &format!("{}{}", desk.get("policy.toml"), INTERVENTION));
    let (report, page) = audit(&desk, &["--month", "2026-10"]);
    for (picture, points) in [
        ("#infections-a-month", &report["charts"]["infections"]["points"]),
        ("#lower-alarm", &report["interventions"][0]["lower_alarm"]["points"]),
    ] {
        let picture = Picture::of(&page, picture);
        let points = points.as_array().unwrap();
        let month = points.iter().position(|point| point["month"] == "2024-07").unwrap();
        let upright = select(picture.svg, "line.upright")[0];
        // the 16th of 31 days
        let expected = picture.along((month as f64 + 15.0 / 31.0) / points.len() as f64);
        assert!((number(upright, "x1") - expected).abs() <= ROUNDED, "{}, not {expected}", number(upright, "x1"));
    }
    let picture = Picture::of(&page, "#lower-alarm");
    let alarm = &report["interventions"][0]["lower_alarm"];
    check_months(&picture, &alarm["points"], ("value", 1.0), 1);
    let threshold = select(picture.svg, "line.limit")[0];
    let expected = picture.height(alarm["high"].as_f64().unwrap());
    assert!((number(threshold, "y1") - expected).abs() <= ROUNDED, "threshold");
    assert!(select(picture.svg, "polygon.beyond").len() == alarm["beyond"].as_array().unwrap().len());
}

/// The heights are raised to the power of 1/3.6, as the axis says.
#[test]
fn gaps_have_the_height_of_their_device_days() {
    let (report, page) = audit(&with_bursts(), &["--month", "2026-10"]);
    let chart = &report["charts"]["days_between"];
    let all = chart["points"].as_array().unwrap();
    let picture = Picture::of(&page, "#days-between");
    let constant = |value: f64, y: f64| (picture.foot - y).powf(3.6) / value;
    let ticks: Vec<(f64, f64)> = picture.heights().into_iter().filter(|(value, _)| *value > 0.0).collect();
    let (value, y) = *ticks.last().unwrap();
    let height = |days: f64| picture.foot - (days * constant(value, y)).powf(1.0 / 3.6);
    for (value, y) in &ticks {
        assert!((height(*value) - y).abs() <= 2.0 * ROUNDED, "{value}");
    }
    let gaps: Vec<&Value> = all.iter().collect();
    let mut marks = picture.marks().into_iter();
    let (open, ring) = marks.next().unwrap();
    assert!(open.ends_with("since the last infection"), "{open}");
    // a mark is in the middle of its day; the axis has a little room at both ends
    let day = |day: &Value| day.as_str().unwrap().parse::<NaiveDate>().unwrap();
    let (first, last) = (day(&gaps[0]["onset"]), day(&report["counted_through"]));
    let room = (last - first).num_days() / 60 + 1;
    let whole = ((last - first).num_days() + 2 * room + 1) as f64;
    let along = |on: NaiveDate| picture.along(((on - first).num_days() as f64 + room as f64 + 0.5) / whole);
    let since = chart["since_last"].as_f64().unwrap();
    assert!((ring.0 - along(last)).abs() <= ROUNDED && (ring.1 - height(since)).abs() <= 3.0 * ROUNDED);
    for (gap, (title, found)) in gaps.iter().zip(marks) {
        assert!(title.starts_with(gap["onset"].as_str().unwrap()), "{title}");
        let days = gap["device_days"].as_f64().unwrap();
        assert!((found.0 - along(day(&gap["onset"]))).abs() <= ROUNDED, "{title}");
        // near 0 a tenth is many days of height
        assert!((found.1 - height(days)).abs() <= 3.0 * ROUNDED, "{title}: {found:?}, not {}", height(days));
    }
}

/// The corners of a curve are its steps, those of its band are its limits.
#[test]
fn corners_of_curves_are_their_steps() {
    let (report, page) = audit(&with_bursts(), &["--month", "2026-10"]);
    let shown = &report["first_infection"]["shown"];
    let check = |picture: &str, line: &str, shown: &Value, steps: &Value, key: &str, first: f64| {
        let (from, to) = (shown["from"].as_f64().unwrap(), shown["to"].as_f64().unwrap());
        let picture = Picture::of(&page, picture);
        let corners = places(select(picture.svg, line)[0]);
        let at = |day: f64, share: f64| (picture.along((day - from) / (to - from)), picture.height(share * 100.0));
        let (mut share, mut expected) = (first, vec![at(from, first)]);
        for step in steps.as_array().unwrap() {
            let Some(now) = step[key].as_f64() else { continue };
            if (now - share).abs() > 1e-11 {
                expected.extend([at(step["day"].as_f64().unwrap(), share), at(step["day"].as_f64().unwrap(), now)]);
                share = now;
            }
        }
        expected.push(at(to, share));
        assert_eq!(corners.len(), expected.len(), "{line}");
        for (n, (found, expected)) in corners.iter().zip(&expected).enumerate() {
            picture.check(*found, *expected, &format!("{line}, corner {n}"));
        }
        // the axis of days has the same scale
        let ticks = select(picture.svg, "text.mid").into_iter().filter(|text| number(*text, "y") < picture.foot + 15.0);
        for tick in ticks {
            let day: f64 = tick.text().collect::<String>().parse().unwrap();
            assert!((number(tick, "x") - at(day, 0.0).0).abs() <= ROUNDED);
        }
    };
    check("#freedom", "polyline.one", shown, &shown["freedom"], "survival", 1.0);
    let ends = &shown["cumulative_incidence"];
    for (class, end) in [("one", "infection"), ("two", "death"), ("three", "transplant"), ("four", "recovery")] {
        check("#incidence", &format!("polyline.{class}"), shown, &ends[end], "value", 0.0);
    }
    // infections per 100 patients, not percent
    let counted = &report["recurrent"]["shown"];
    check("#mean-count", "polyline.one", counted, &counted["mean_count"], "value", 0.0);
    for picture in ["#freedom", "#incidence", "#mean-count"] {
        assert_eq!(select(Picture::of(&page, picture).svg, "polygon.band").len(), 1, "{picture}");
    }
}

/// A year with a shower a day, pulls close together, cultures and treatments: each mark is at the position of its time.
#[test]
fn marks_of_a_story_have_the_place_of_their_time() {
    let desk = Desk::new();
    let (first, days) = (NaiveDate::from_ymd_opt(2025, 11, 20).unwrap(), 365);
    let course = desk::PATIENT.replace("2026-08-03", "2025-11-20").replace("2026-08-27", "2025-12-01");
    desk.put("patients/P-001/patient.toml", &course);
    let put = |day: NaiveDate, time: &str, kind: &str, says: &str| {
        desk.put(
            &format!("patients/P-001/{}/{day}T{}-{kind}.toml", day.format("%Y"), time.replace(':', "")),
            &format!("kind = '{kind}'\nat = {day}T{time}:00-06:00\nby = 'rn-07'\n{says}"),
        );
    };
    for n in 0..days {
        let day = first + TimeDelta::days(n);
        put(day, "08:30", "shower", "");
        if n % 60 < 3 {
            put(day, "17:45", "trauma", "mechanism = 'snag'\n");
            put(day, "18:05", "culture", "specimen = 'blood'\n");
        }
        if n % 90 == 20 {
            put(
                day,
                "12:00",
                "treatment",
                &format!("what = 'oral-antibiotic'\nuntil = {}\n", day + TimeDelta::days(9)),
            );
        }
    }
    let surroundings = Surroundings {
        now: desk::NOW.parse().unwrap(),
        here: desk.root().parent().unwrap().to_owned(),
        records: Some(desk.root().to_owned()),
        ..Surroundings::default()
    };
    let file = format!("{}.html", desk.root().file_name().unwrap().to_string_lossy());
    let ran = run(["exitsite", "show", "P-001", "--all", "--html", &file].map(OsString::from), &surroundings);
    assert!(ran.stdout.starts_with("Wrote"), "{}", ran.stderr);
    let page = Html::parse_document(&read_and_remove(&surroundings.here.join(file)));
    let picture = Picture::of(&page, "figure");
    let headings = select(page.root_element(), "h2").into_iter().map(|h2| h2.text().collect::<String>());
    let heading = headings.into_iter().find(|said| said.starts_with("Timeline from ")).unwrap();
    let ends: Vec<NaiveDate> = heading.split(' ').filter_map(|word| word.parse().ok()).collect();
    let length = (ends[1] - ends[0]).num_days() as f64 + 1.0;
    let along = |at: NaiveDateTime| {
        let minutes = (at - ends[0].and_hms_opt(0, 0, 0).unwrap()).num_minutes() as f64;
        picture.along(minutes / 1440.0 / length)
    };
    let mut counted = 0;
    for (title, found) in picture.marks() {
        let at = NaiveDateTime::parse_from_str(title.get(..16).unwrap(), "%Y-%m-%d %H:%M").unwrap();
        let expected = match title.contains("treatment") {
            // from the order to the end of its last day
            true => (along(at) + along((at.date() + TimeDelta::days(10)).and_hms_opt(0, 0, 0).unwrap())) / 2.0,
            false => along(at),
        };
        assert!((found.0 - expected).abs() <= ROUNDED, "{title}: {}, not {expected}", found.0);
        assert!((picture.left..=picture.right).contains(&found.0), "{title}");
        counted += 1;
    }
    assert!(counted > 400, "{counted} marks");
}

fn read_and_remove(file: &Path) -> String {
    let text = fs::read_to_string(file).unwrap();
    fs::remove_file(file).unwrap();
    text
}
