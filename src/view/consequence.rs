//! The reply to a write: signals that need review first, then running deadlines; and the questions before a signal ends.

use chrono::NaiveDate;

use super::day::short_day;
use super::words;
use super::{TextStyle, due::lasting, entry::day_and_time, hanging};
use crate::event::{Kind, Source};
use crate::report::consequence::{Consequence, Reporter, Running, Sign, Violated};
use crate::schedule::Because;
use crate::signal::Urgency;
use crate::text::visible;

/// Describes the dangers that a write leaves, for display before the schedule; empty if there are none.
///
/// ```text
/// NEEDS REVIEW TODAY: pus at exit a. Tell the coordinator or the physician on call now.
/// Still needs review today: fever.
/// Still needs review this week: more drainage.
/// OVERDUE by 28 h: scheduled change at exit a, due by Mon 03:00.
/// Needs review this week: caregiver not signed off.
/// Shower although md-3 ordered no showers.
/// Change due by today 09:17 at exit a, after the shower.
/// Ended: anchor not secured at exit a (rn-03, today 07:00), reported by spouse.
/// ```
/// With `whose`, each line begins with the patient's code, for a write about several patients.
pub(crate) fn danger(consequence: &Consequence, whose: Option<&str>, call: Option<&str>, look: TextStyle) -> String {
    let raised = |urgency| consequence.raised.iter().filter(move |sign| sign.urgency == urgency);
    let mut lines = Vec::new();
    for sign in raised(Urgency::Today) {
        let call = call.map(|call| format!(" {}", visible(call.trim()))).unwrap_or_default();
        lines.push(format!("NEEDS REVIEW TODAY: {}.{call}", named(sign)));
    }
    if consequence.fever_not_named {
        lines.push(
            "This call does not count as acting on the fever told in it: the call does not name the fever. If it was passed on, record that call, about the fever."
                .to_owned(),
        );
    }
    if !consequence.still.is_empty() {
        lines.push(format!("Still needs review today: {}.", list(&consequence.still, named)));
    }
    let this_week: Vec<String> = raised(Urgency::ThisWeek).map(named).collect();
    if !this_week.is_empty() {
        lines.push(format!("Needs review this week: {}.", this_week.join(", ")));
    }
    if !consequence.still_this_week.is_empty() {
        lines.push(format!("Still needs review this week: {}.", list(&consequence.still_this_week, named)));
    }
    lines.extend(consequence.violated.iter().map(violated));
    lines.extend(consequence.running.iter().map(|clock| running(clock, consequence)));
    let acted_on: Vec<&Sign> = consequence.answers_today().chain(&consequence.still_acted_on).collect();
    if !acted_on.is_empty() {
        let named = |sign: &Sign| {
            let ended = words::and_treatment_ended(sign.treatment_ended.as_ref(), consequence.date);
            let act = words::act(sign.action.as_ref(), sign.signal, |_| String::new());
            format!("{} ({act}{ended})", named(sign))
        };
        lines.push(format!("Acted on, still open: {}.", list(acted_on, named)));
    }
    lines.extend(uncalled(consequence, call));
    let ended_today = consequence.ended.iter().filter(|sign| sign.urgency == Urgency::Today);
    lines.extend(ended_today.map(|sign| {
        let untold = if sign.is_untold { "; no clinician told" } else { "" };
        format!("Ended: {} ({}){}{untold}.", named(sign), last_record(sign, consequence.date), ended_by(sign))
    }));
    if !consequence.is_known {
        lines.push(
            "Signals cannot be computed: part of policy.toml cannot be read. `exitsite check` shows where.".to_owned(),
        );
    }
    let whose = whose.map(|code| format!("{code}: ")).unwrap_or_default();
    lines.iter().map(|line| hanging(look, &format!("{whose}{line}"), "  ")).collect()
}

/// Returns the questions before signals of today end, are acted on or stop raising alerts, each with No as the default; empty
/// if none is closed.
pub(crate) fn questions(consequence: &Consequence) -> Vec<Closing> {
    let (looked, otherwise): (Vec<&Sign>, Vec<&Sign>) = consequence.ends_today().partition(|sign| sign.needs_look);
    let answered: Vec<&Sign> = consequence.answers_today().collect();
    let list_of = |signs: &[&Sign]| list(signs.iter().copied(), |sign| evidence(sign, consequence.date));
    let mut closings = Vec::new();
    if !looked.is_empty() {
        closings.push(Closing {
            text: format!("This ends: {}. It needs a full look by staff.", list_of(&looked)),
            question: "Did you see the site yourself?",
            is_by_look: true,
        });
    }
    if !otherwise.is_empty() {
        closings.push(Closing {
            text: format!("This ends: {}.", list_of(&otherwise)),
            question: "Is that right?",
            is_by_look: false,
        });
    }
    if !answered.is_empty() && !consequence.acts_by_kind {
        closings.push(Closing {
            text: format!("This counts as acted on: {}.", list_of(&answered)),
            question: "Is that right?",
            is_by_look: false,
        });
    }
    if let Some(silenced) = &consequence.silences {
        let open = match silenced.is_empty() {
            true => String::new(),
            false => format!(" Open now: {}.", list(silenced, |sign| words::signal(sign.signal).to_owned())),
        };
        closings.push(Closing {
            text: format!("This stops all alerts about {}.{open}", visible(&consequence.patient)),
            question: "Is that right?",
            is_by_look: false,
        });
    }
    closings
}

/// Describes the shower and damage requirements that a write settles.
pub(crate) fn settled(consequence: &Consequence) -> String {
    let each: Vec<String> = consequence.settled.iter().map(|clock| running(clock, consequence)).collect();
    format!("This settles: {}", each.join(" "))
}

/// Describes the signals of today that a culture, an infection or a treatment acts on, which no one has to confirm; `None` if
/// there are none.
pub(crate) fn counts_as_acted_on(consequence: &Consequence, call: Option<&str>) -> Option<String> {
    let signs: Vec<&Sign> = consequence.answers_today().filter(|_| consequence.acts_by_kind).collect();
    if signs.is_empty() {
        return None;
    }
    let list = list(signs, |sign| evidence(sign, consequence.date));
    let uncalled = uncalled(consequence, call).map(|sentence| format!(" {sentence}")).unwrap_or_default();
    Some(format!("Counts as acted on: {list}.{uncalled}"))
}

/// Names the signals of today acted on by a culture, an infection or a treatment while no clinician was called.
fn uncalled(consequence: &Consequence, call: Option<&str>) -> Option<String> {
    if consequence.uncalled.is_empty() || !consequence.acts_by_kind {
        return None;
    }
    let call = call.map(|call| format!(" {}", visible(call.trim()))).unwrap_or_default();
    let names = list(&consequence.uncalled, |sign| words::signal(sign.signal).to_owned());
    Some(format!("No contact with a clinician about {names} is on file.{call}"))
}

/// A question before signals end or are acted on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Closing {
    /// The signals, each with its last record.
    pub text: String,
    /// The question.
    pub question: &'static str,
    /// True if it asks for a look by staff.
    pub is_by_look: bool,
}

/// Joins signals in a list, each once.
fn list<'s>(signs: impl IntoIterator<Item = &'s Sign>, say: impl Fn(&Sign) -> String) -> String {
    let mut said: Vec<String> = Vec::new();
    for sign in signs {
        let words = say(sign);
        if !said.contains(&words) {
            said.push(words);
        }
    }
    said.join(", ")
}

/// Names the source of the record that ended a signal: `, reported by spouse`.
fn ended_by(sign: &Sign) -> String {
    let Some(Reporter { by, told_by, source, kind }) = &sign.ended_by else { return String::new() };
    // The writer of a call reported nothing.
    match told_by.as_deref() {
        Some("other") => return ", reported by another person".to_owned(),
        Some(told) => return format!(", reported by {}", visible(told)),
        None => {}
    }
    let how = match (source, kind) {
        (_, Kind::Contact) => "after a contact by",
        (Source::Seen, Kind::Infection) => "determined by",
        (Source::Seen, _) => "seen by",
        (Source::Told, _) => "reported by",
        (Source::Log, _) => "in a log, by",
        (Source::Image, _) => "from a picture, by",
    };
    format!(", {how} {}", visible(by))
}

/// Names a signal with its exit site: `pus at exit a`.
pub(crate) fn named(sign: &Sign) -> String {
    let exit = sign.exit.as_ref().map(|exit| format!(" at exit {}", visible(exit))).unwrap_or_default();
    format!("{}{exit}", words::signal(sign.signal))
}

/// Names a signal with its last record: `pus (rn-03, today 07:00)`.
pub(crate) fn evidence(sign: &Sign, today: NaiveDate) -> String {
    format!("{} ({})", words::signal(sign.signal), last_record(sign, today))
}

/// Formats the person and the time of a signal's last record, or the day of its result: `rn-03, today 07:00`, `result of Nov
/// 20, culture of Nov 17, rn-03`.
fn last_record(sign: &Sign, today: NaiveDate) -> String {
    let by = sign.by.as_ref().map(|by| visible(by));
    match sign.result_on {
        Some(day) => {
            let by = by.map(|by| format!(", {by}")).unwrap_or_default();
            format!("result of {}, culture of {}{by}", short_day(day, today), short_day(sign.at.date(), today))
        }
        None => {
            let by = by.map(|by| format!("{by}, ")).unwrap_or_default();
            let told = sign.told_by.as_ref().map(|told| match told.as_str() {
                "other" => "told by another person, ".to_owned(),
                told => format!("told by {}, ", visible(told)),
            });
            format!("{}{by}{}", told.unwrap_or_default(), day_and_time(&sign.at, today))
        }
    }
}

fn violated(violated: &Violated) -> String {
    let what = crate::text::capitalized(words::water(violated.water));
    format!("{what} although {} ordered no showers.", visible(&violated.ordered_by))
}

fn running(clock: &Running, consequence: &Consequence) -> String {
    let exit = visible(&clock.exit);
    let zone = consequence.utc_offset.as_ref().map(|offset| format!(" {offset}")).unwrap_or_default();
    let by = format!("{}{zone}", day_and_time(&clock.deadline, consequence.date));
    let why = match clock.because {
        Because::AfterShower => format!("after the {}", words::water(clock.water)),
        Because::Damage => clock.dressing.map_or("dressing damaged".to_owned(), |state| format!("dressing {state}")),
        because => {
            let late = lasting(clock.hours_overdue.unwrap_or(0));
            let what =
                if because == Because::LogLate { "log".to_owned() } else { format!("scheduled change at exit {exit}") };
            return format!("OVERDUE by {late}: {what}, due by {by}.");
        }
    };
    match clock.hours_overdue {
        Some(hours) => format!("OVERDUE by {}: change at exit {exit}, {why}, due by {by}.", lasting(hours)),
        None => format!("Change due by {by} at exit {exit}, {why}."),
    }
}
