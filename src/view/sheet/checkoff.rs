//! The checkoff of a curriculum: each step with its number and three boxes to mark.

use maud::{Markup, html};

use super::language::Language;
use crate::policy::CurriculumRole;
use crate::report::sheet::{BlankCheckoff, StepRow};
use crate::text::visible;
use crate::view::{TextStyle, hanging, table};

/// The outcomes of a step, as keys of a language.
const MARKS: [&str; 3] = ["checkoff.unaided", "checkoff.prompted", "checkoff.missed"];

/// The fields to fill in, as keys of a language.
const FIELDS: [&str; 4] = ["checkoff.learner", "checkoff.observer", "checkoff.when", "checkoff.mode"];

pub(super) fn title(checkoff: &BlankCheckoff, language: &Language) -> String {
    let version = checkoff.version.to_string();
    let title = language.fill("checkoff.title", &[("curriculum", &checkoff.curriculum), ("version", &version)]);
    let role = language.say(match checkoff.role {
        CurriculumRole::Nurse => "checkoff.nurse",
        CurriculumRole::Caregiver => "checkoff.caregiver",
    });
    format!("{title}, {role}")
}

/// Names the household and the program.
fn site(checkoff: &BlankCheckoff, language: &Language) -> String {
    let household = checkoff.patient.as_deref().map(|code| language.fill("checkoff.household", &[("patient", code)]));
    household.into_iter().chain([checkoff.program.clone()]).collect::<Vec<_>>().join(" · ")
}

/// Returns the value of a field that is known in advance.
fn known<'a>(checkoff: &'a BlankCheckoff, key: &str) -> &'a str {
    if key == "checkoff.learner" { checkoff.learner.as_deref().unwrap_or_default() } else { "" }
}

fn notes(checkoff: &BlankCheckoff, language: &Language) -> Vec<String> {
    let signed_off = checkoff.sign_off_after.zip(checkoff.valid_days).map(|(times, days)| {
        let (times, days) = (times.to_string(), days.to_string());
        language.fill("checkoff.signed_off", &[("times", &times), ("days", &days)])
    });
    let modes = format!("{}: {}", language.say("checkoff.mode"), language.list("checkoff.modes").join(", "));
    [Some(language.say("checkoff.mark").to_owned()), Some(modes), signed_off].into_iter().flatten().collect()
}

/// Renders a checkoff as text.
pub(super) fn text(checkoff: &BlankCheckoff, language: &Language, look: TextStyle) -> String {
    let mut out = hanging(look, &visible(&title(checkoff, language)), "  ");
    out.push_str(&hanging(look, &visible(&site(checkoff, language)), "  "));
    notes(checkoff, language).iter().for_each(|note| out.push_str(&hanging(look, &visible(note), "  ")));
    out.push('\n');
    for key in FIELDS {
        let known = known(checkoff, key);
        let room = if known.is_empty() { "________________________" } else { known };
        out.push_str(&format!("{:24} {}\n", language.say(key), visible(room)));
    }
    out.push('\n');
    let row = |(n, step): (usize, &StepRow)| {
        let said = format!("{}. {}{}", n + 1, if step.critical { "! " } else { "" }, visible(&step.text));
        MARKS.map(|_| "[ ]".to_owned()).into_iter().chain([said]).collect()
    };
    let heads: Vec<&str> = MARKS.iter().chain(["checkoff.step"].iter()).map(|key| language.say(key)).collect();
    out.push_str(&table(look, &heads, checkoff.steps.iter().enumerate().map(row).collect()));
    out.push('\n');
    out
}

/// Returns the command that records the completed checkoff.
pub(super) fn typed(checkoff: &BlankCheckoff) -> String {
    let learner = checkoff.learner.as_deref().unwrap_or("CODE");
    // Staff checkoffs are filed under the staff member.
    let owner = if checkoff.role == CurriculumRole::Nurse { learner } else { "PATIENT" };
    let owner = checkoff.patient.as_deref().unwrap_or(owner);
    format!(
        "To record it: `exitsite record teaching {owner} --learner {learner} --observer CODE --curriculum {} --version {}`.",
        quoted(&checkoff.curriculum),
        checkoff.version,
    )
}

/// Quotes a name as one shell word.
fn quoted(name: &str) -> String {
    let is_plain = name.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.'));
    if is_plain { name.to_owned() } else { format!("'{}'", name.replace('\'', "'\\''")) }
}

/// Renders a checkoff as a page to print.
pub(super) fn page(checkoff: &BlankCheckoff, language: &Language) -> Markup {
    html! {
        section class="sheet steps" {
            h1 { (title(checkoff, language)) } "\n"
            p class="site" { (site(checkoff, language)) } "\n"
            div class="fields" { @for key in FIELDS { span { (language.say(key)) ": " b { (known(checkoff, key)) } } } } "\n"
            ul class="how" { @for note in notes(checkoff, language) { li { (note) } "\n" } } "\n"
            table {
                thead { tr {
                    th scope="col" class="step" { (language.say("checkoff.step")) }
                    @for key in MARKS { th scope="col" class="mark" { (language.say(key)) } }
                } } "\n"
                tbody { @for (n, step) in checkoff.steps.iter().enumerate() {
                    tr {
                        th scope="row" { (n + 1) ". " @if step.critical { "! " } (step.text) }
                        @for _ in MARKS { td class="mark" { span class="box" {} } }
                    } "\n"
                } } "\n"
            } "\n"
            p class="caution" { (language.say("page.caution")) } "\n"
        }
    }
}
