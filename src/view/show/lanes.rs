//! The timeline as a picture with lanes: scores with their gaps, then pulls, showers, cultures, treatments, infections and
//! changes. Every mark has its own shape or letter; color is only an addition.

use chrono::{NaiveDate, Timelike};
use maud::{Markup, html};

use crate::day::Period;
use crate::event::Kind;
use crate::report::At;
use crate::report::show::{Happened, Scores, ShowReport};
use crate::score::ScoredSite;
use crate::text::visible;
use crate::view::svg::{self, PicturePoint, Scale, area, circle, line, rect, text, titled};
use crate::view::{grade, words};

/// The picture's width and the margins left and right of the lanes, in picture units.
const WIDTH: f64 = 760.0;
const LEFT: f64 = 96.0;
const RIGHT: f64 = 14.0;

/// The heights of a lane, and of the score lane of an exit site.
const LANE: f64 = 24.0;
const SCORE: f64 = 104.0;

/// The width of a mark with a letter; a mark that would touch its neighbor becomes a tick.
const ROOM: f64 = 18.0;

/// The maximum days between connected totals; a longer interval is drawn as a gap.
pub(super) const JOINED_DAYS: i64 = 7;

/// A lane of marks: its name, letter and kind.
pub(super) struct DrawnLane {
    pub(super) name: &'static str,
    pub(super) letter: &'static str,
    pub(super) kind: Kind,
}

/// Returns the lanes below the scores, from the top.
pub(super) fn lanes() -> Vec<DrawnLane> {
    let mut lanes: Vec<_> = Kind::ALL.iter().filter_map(|kind| Some((*kind, kind.traits().lane?))).collect();
    lanes.sort_by_key(|(_, lane)| lane.row);
    lanes.into_iter().map(|(kind, lane)| DrawnLane { name: lane.name, letter: lane.letter, kind }).collect()
}

/// Returns the counted events of a lane, oldest first.
pub(super) fn of_lane<'a>(body: &'a ShowReport, lane: &DrawnLane) -> Vec<&'a Happened> {
    let kind = lane.kind;
    body.timeline.iter().rev().filter(|event| event.kind == kind && event.voided.is_none()).collect()
}

/// A time axis: maps days to horizontal positions.
struct Axis {
    days: Period,
    scale: Scale,
}

impl Axis {
    fn of(days: Period) -> Axis {
        let length = (days.to - days.from).num_days() as f64 + 1.0;
        Axis { days, scale: Scale { values: (0.0, length), places: (LEFT, WIDTH - RIGHT), power: 1.0 } }
    }

    /// Returns the position of a fraction of a day, clamped to the axis.
    fn of_day(&self, day: NaiveDate, part: f64) -> f64 {
        self.scale.of((day - self.days.from).num_days() as f64 + part)
    }

    fn at(&self, at: &At) -> f64 {
        match at {
            At::Time(time) => self.of_day(time.date_naive(), f64::from(time.num_seconds_from_midnight()) / 86_400.0),
            At::Day(day) => self.of_day(*day, 0.5),
        }
    }
}

/// Draws the picture, with a title and a description for screen readers.
pub(super) fn picture(body: &ShowReport, days: Period) -> Markup {
    let scale = Axis::of(days);
    let title = format!("{} from {} to {}", visible(&body.patient), days.from, days.to);
    let said: Vec<String> = lanes().iter().map(|lane| format!("{} {}", of_lane(body, lane).len(), lane.name)).collect();
    let records: usize = body.scores.iter().map(|scores| scores.points.len()).sum();
    let about = format!(
        "Timeline in lanes: {records} scored site records, {}. The table below lists all of them.",
        said.join(", ")
    );
    let mut top = 6.0;
    let mut parts = places(body, &scale, top);
    top += LANE;
    for scores in &body.scores {
        parts.extend(score_lane(scores, &scale, top));
        top += SCORE + 10.0;
    }
    for lane in &lanes() {
        let middle = top + LANE / 2.0;
        parts.push(line("rule", (LEFT, middle), (WIDTH - RIGHT, middle)));
        parts.push(text("right", (LEFT - 8.0, middle + 4.0), lane.name));
        let events = of_lane(body, lane);
        let places: Vec<f64> = events.iter().map(|event| scale.at(&event.at)).collect();
        for (n, event) in events.iter().enumerate() {
            let touches = |other: Option<&f64>| other.is_some_and(|other| (other - places[n]).abs() < ROOM);
            let is_crowded = touches(n.checked_sub(1).and_then(|n| places.get(n))) || touches(places.get(n + 1));
            parts.push(mark(event, lane, &scale, (places[n], middle), is_crowded));
        }
        top += LANE;
    }
    parts.extend(axis(&scale, top));
    svg::picture("lanes", &title, &about, (WIDTH, top + 22.0), &parts)
}

/// Draws the patient's places.
fn places(body: &ShowReport, scale: &Axis, top: f64) -> Vec<Markup> {
    let mut parts = vec![text("right", (LEFT - 8.0, top + 14.0), "place")];
    for (n, row) in body.care.iter().enumerate() {
        let next = body.care.get(n + 1).map(|next| next.from);
        if row.from > scale.days.to || next.is_some_and(|next| next <= scale.days.from) {
            continue;
        }
        let from = scale.of_day(row.from, 0.0);
        let to = next.map_or(WIDTH - RIGHT, |next| scale.of_day(next, 0.0));
        parts.push(rect("band", (from, top + 3.0), (to - from - 1.0, 15.0)));
        parts.push(text("small", (from + 4.0, top + 14.0), &row.place.to_string()));
    }
    parts
}

/// Draws the scores of one exit site: a dot for a total, an I for a range; nearby dots are connected, gaps are not.
fn score_lane(scores: &Scores, scale: &Axis, top: f64) -> Vec<Markup> {
    let most = scores.most.max(1) as f64;
    let height = |points: i64| top + SCORE - 14.0 - points as f64 / most * (SCORE - 30.0);
    let mut parts = vec![
        text("right", (LEFT - 28.0, top + SCORE / 2.0), "score"),
        text("right", (LEFT - 28.0, top + SCORE / 2.0 + 13.0), &format!("exit {}", visible(&scores.exit))),
    ];
    for points in [0, scores.most / 2, scores.most] {
        parts.push(line("rule", (LEFT, height(points)), (WIDTH - RIGHT, height(points))));
        parts.push(text("right small", (LEFT - 8.0, height(points) + 3.0), &points.to_string()));
    }
    for (from, to) in gaps(scores, scale.days) {
        let (left, right) = (scale.of_day(from, 0.0), scale.of_day(to, 1.0));
        parts.push(rect("gap", (left, top + 6.0), (right - left, SCORE - 22.0)));
        if right - left > 60.0 {
            parts.push(text("mid small soft", ((left + right) / 2.0, top + SCORE / 2.0), "no site record"));
        }
    }
    for pair in scores.points.windows(2) {
        let is_near = (pair[1].at.date() - pair[0].at.date()).num_days() <= JOINED_DAYS;
        if is_near && let (Some(before), Some(after)) = (pair[0].total, pair[1].total) {
            let (from, to) = ((scale.at(&pair[0].at), height(before)), (scale.at(&pair[1].at), height(after)));
            parts.push(line("curve", from, to));
        }
    }
    let mut labelled = f64::MIN;
    for point in &scores.points {
        let x = scale.at(&point.at);
        let (low, high) = (height(point.score.total_min), height(point.score.total_max));
        let is_labelled = x - labelled > 24.0;
        if is_labelled {
            labelled = x;
        }
        let mark = html! {
            @if point.complete {
                (circle("dot", (x, low), 3.6))
            } @else {
                (line("range", (x, low), (x, high)))
                @for end in [low, high] { (line("range", (x - 4.0, end), (x + 4.0, end))) }
            }
            @if is_labelled { (text("mid small halo", (x, high - 6.0), &grade::total(point))) }
        };
        parts.push(titled(&format!("{} {}", point.at.minute(), total_words(point)), mark));
    }
    parts
}

/// Returns the intervals of more than [`JOINED_DAYS`] days without a site record, by first and last day.
fn gaps(scores: &Scores, days: Period) -> Vec<(NaiveDate, NaiveDate)> {
    let recorded = scores.points.iter().map(|point| point.at.date());
    let (mut gaps, mut last) = (Vec::new(), crate::day::before(days.from));
    for day in recorded.chain([crate::day::after(days.to)]) {
        if (day - last).num_days() > JOINED_DAYS {
            gaps.push((crate::day::after(last), crate::day::before(day)));
        }
        last = day;
    }
    gaps
}

/// Formats a total with its band.
pub(super) fn total_words(point: &ScoredSite) -> String {
    format!("{} {}", grade::total(point), words::band(&point.score.band, &point.score.unscored))
}

/// Draws one event in its lane.
fn mark(event: &Happened, lane: &DrawnLane, scale: &Axis, (x, middle): PicturePoint, is_crowded: bool) -> Markup {
    let letter = |class: &str| text(&format!("mid small {class}"), (x, middle + 3.2), lane.letter);
    let mark = match lane.kind {
        Kind::Trauma | Kind::Shower | Kind::Culture if is_crowded => {
            line(tick(event, lane), (x, middle - 9.0), (x, middle + 9.0))
        }
        Kind::Trauma => html! {
            (area("shape red", &[(x, middle - 11.0), (x - 10.0, middle + 8.0), (x + 10.0, middle + 8.0)]))
            (text("mid small", (x, middle + 6.0), lane.letter))
        },
        Kind::Shower => html! { (circle("shape blue", (x, middle), 8.0)) (letter("")) },
        Kind::Culture => {
            let (class, inner) = match event.growth {
                Some(true) => ("shape full", "on-full"),
                Some(false) => ("shape", ""),
                None => ("shape open", ""),
            };
            html! { (rect(class, (x - 8.0, middle - 8.0), (16.0, 16.0))) (letter(inner)) }
        }
        Kind::Treatment | Kind::Infection => {
            let from = event.onset.map_or(x, |onset| scale.of_day(onset, 0.0));
            let to = event.until.map_or(WIDTH - RIGHT, |until| scale.of_day(until, 1.0)).max(from);
            let class = if lane.kind == Kind::Treatment { "shape green" } else { "shape red" };
            let class = if event.until.is_none() { format!("{class} open") } else { class.to_owned() };
            let first = match (event.treatment, event.certainty.zip(event.part), event.onset) {
                (Some(remedy), ..) => remedy.to_string().replace('-', " "),
                (None, Some((certainty, part)), Some(onset)) => {
                    format!("{certainty} {part}, onset {onset}").replace("driveline-", "driveline ")
                }
                _ => String::new(),
            };
            let room = ((to - from - 6.0) / 5.0) as usize;
            let label = crate::text::cut(&format!("{} {}", lane.letter, visible(&first)), room);
            html! {
                (rect(&class, (from, middle - 8.0), (to - from, 16.0)))
                @if room > 0 { (text("small", (from + 4.0, middle + 3.2), &label)) }
            }
        }
        _ => line("axis", (x, middle - 7.0), (x, middle + 7.0)),
    };
    titled(&format!("{} {}: {}", event.at.minute(), event.kind, visible(&event.words)), mark)
}

/// Returns the class of an event's tick.
fn tick(event: &Happened, lane: &DrawnLane) -> &'static str {
    match (lane.kind, event.growth) {
        (Kind::Trauma, _) => "tick red",
        (Kind::Shower, _) => "tick blue",
        (_, Some(true)) => "tick full",
        (_, Some(false)) => "tick",
        (_, None) => "tick open",
    }
}

/// Draws the time axis below the lanes.
fn axis(scale: &Axis, top: f64) -> Vec<Markup> {
    let all = (scale.days.to - scale.days.from).num_days() + 1;
    let step = (all + 9) / 10;
    let mut parts = vec![line("axis", (LEFT, top), (WIDTH - RIGHT, top))];
    for n in (0..all).step_by(step.max(1) as usize) {
        let day = crate::day::plus(scale.days.from, n);
        let x = scale.of_day(day, 0.0);
        let form = if all > 300 { "%Y-%m-%d" } else { "%m-%d" };
        parts.push(line("axis", (x, top), (x, top + 5.0)));
        parts.push(text("small", (x, top + 16.0), &day.format(form).to_string()));
    }
    parts
}
