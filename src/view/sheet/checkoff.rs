//! The checkoff of a curriculum: each step with three boxes to mark, and how it is typed in afterwards.

use crate::event::Mode;
use crate::policy::CurriculumRole;
use crate::report::Report;
use crate::report::sheet::{Checkoff, SheetReport, StepRow};
use crate::text::{count, either, visible};
use crate::view::html::Markup;
use crate::view::{Look, hanging, table};
use crate::word::Word;

/// What a step can be: the heading, and the key under which `record teaching` takes the ids of such steps.
const MARKS: [(&str, &str); 3] = [("Unaided", "unaided"), ("Prompted", "prompted"), ("Missed", "missed")];

/// What is written by hand: the heading and the key.
const FIELDS: [(&str, &str); 4] =
    [("Learner's code", "learner"), ("Observer's code", "observer"), ("Day and time", "date, time"), ("How", "mode")];

fn title(checkoff: &Checkoff) -> String {
    format!("Checkoff: {}, version {}, for a {}", checkoff.curriculum, checkoff.version, checkoff.role)
}

/// What is known before anybody begins.
fn known<'a>(checkoff: &'a Checkoff, key: &str) -> &'a str {
    if key == "learner" { checkoff.learner.as_deref().unwrap_or_default() } else { "" }
}

fn notes(checkoff: &Checkoff) -> Vec<String> {
    let signed_off = checkoff.sign_off_after.zip(checkoff.valid_days).map(|(times, days)| {
        format!(
            "Signed off after {} on different days, for {}: done in front of an observer who may sign and is not the learner, every critical step (marked !) unaided, no step missed.",
            count(times, "such checkoff"),
            count(days, "day")
        )
    });
    let modes = format!("How: {}.", either(Mode::WORDS));
    let codes = "Mark one box of each step. Write codes, never names.".to_owned();
    [Some(codes), Some(modes), signed_off].into_iter().flatten().collect()
}

/// The line with which it becomes a record.
fn typed(checkoff: &Checkoff) -> String {
    let learner = checkoff.learner.as_deref().unwrap_or("CODE");
    // What staff learn stands among their own records.
    let owner = if checkoff.role == CurriculumRole::Nurse { learner } else { "PATIENT" };
    let owner = checkoff.patient.as_deref().unwrap_or(owner);
    format!(
        "Afterwards, the ids of the steps: exitsite record teaching {owner} --learner {learner} --observer CODE --curriculum {} --version {} --mode {} --unaided \"{} …\" --prompted \"…\" --missed \"…\"",
        quoted(&checkoff.curriculum),
        checkoff.version,
        Mode::ReturnDemonstration,
        checkoff.steps.first().map(|step| step.id.as_str()).unwrap_or_default()
    )
}

/// A name as a shell takes it for one word.
fn quoted(name: &str) -> String {
    let is_plain = name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
    if is_plain { name.to_owned() } else { format!("'{}'", name.replace('\'', "'\\''")) }
}

/// A checkoff as text.
pub(super) fn text(checkoff: &Checkoff, look: Look) -> String {
    let mut out = hanging(look, &visible(&title(checkoff)), "  ");
    let patient = checkoff.patient.as_deref().map(|code| format!("household of {code} · ")).unwrap_or_default();
    out.push_str(&hanging(look, &visible(&format!("{patient}{}", checkoff.program)), "  "));
    notes(checkoff).iter().for_each(|note| out.push_str(&hanging(look, &visible(note), "  ")));
    out.push('\n');
    for (heading, key) in FIELDS {
        let known = known(checkoff, key);
        let room = if known.is_empty() { "________________________" } else { known };
        out.push_str(&format!("{:30} {}\n", format!("{heading} ({key})"), visible(room)));
    }
    out.push('\n');
    let row = |step: &StepRow| {
        let mark = if step.critical { "!" } else { "" };
        let boxes = MARKS.map(|_| "[ ]".to_owned());
        let said = format!("{} ({})", visible(&step.text), visible(&step.id));
        boxes.into_iter().chain([mark.to_owned(), said]).collect()
    };
    let heads = [MARKS[0].1, MARKS[1].1, MARKS[2].1, "", "step (its id)"];
    out.push_str(&table(look, &heads, checkoff.steps.iter().map(row).collect()));
    out.push('\n');
    out.push_str(&hanging(look, &visible(&typed(checkoff)), "  "));
    out.push('\n');
    out
}

/// A checkoff as a sheet of paper.
pub(super) fn page(report: &Report<SheetReport>, checkoff: &Checkoff) -> Markup {
    let patient = checkoff.patient.as_deref().map(|code| format!("household of {code} · ")).unwrap_or_default();
    let field = |(heading, key): (&str, &str)| {
        let about = [Markup::text(heading), Markup::text(" "), Markup::of("small", "", key), Markup::text(": ")];
        Markup::element("span", &[], about.into_iter().chain([Markup::of("b", "", known(checkoff, key))]))
    };
    let head = |heading: &str, key: &str, class: &str| {
        let inner = [Markup::text(heading), Markup::of("small", "", key)];
        Markup::element("th", &[("scope", "col"), ("class", class)], inner)
    };
    let heads = [head("!", "", "step"), head("Step", "", ""), head("Its id", "", "id")];
    let heads = heads.into_iter().chain(MARKS.iter().map(|(heading, key)| head(heading, key, "mark")));
    let row = |step: &StepRow| {
        let box_to_mark = || {
            let square = Markup::element("span", &[("class", "box")], []);
            Markup::element("td", &[("class", "mark")], [square])
        };
        let cells = [
            Markup::of("td", "step", if step.critical { "!" } else { "" }),
            Markup::element("th", &[("scope", "row")], [Markup::text(&step.text)]),
            Markup::of("td", "id", &step.id),
        ];
        Markup::element("tr", &[], cells.into_iter().chain(MARKS.iter().map(|_| box_to_mark()))).on_a_line()
    };
    let table = [
        Markup::element("thead", &[], [Markup::element("tr", &[], heads)]).on_a_line(),
        Markup::element("tbody", &[], checkoff.steps.iter().map(row)).on_a_line(),
    ];
    let notes = notes(checkoff);
    let inner = [
        Markup::element("h1", &[], [Markup::text(title(checkoff))]).on_a_line(),
        Markup::of("p", "site", format!("{patient}{}", checkoff.program)).on_a_line(),
        Markup::element("div", &[("class", "fields")], FIELDS.map(field)).on_a_line(),
        Markup::element("ul", &[("class", "roomy")], notes.iter().map(|note| Markup::of("li", "", note).on_a_line()))
            .on_a_line(),
        Markup::element("table", &[], table).on_a_line(),
        Markup::of("p", "roomy", typed(checkoff)).on_a_line(),
        Markup::of("p", "caution", &report.caution).on_a_line(),
    ];
    Markup::element("section", &[("class", "sheet steps")], inner).on_a_line()
}
