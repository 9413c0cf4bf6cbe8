//! The answer to a write: first what needs review now, then what runs, and the question before something ends.

use chrono::NaiveDate;

use super::words;
use super::{Look, entry::day_and_time, hanging};
use crate::report::consequence::{Consequence, Running, Sign, Violated};
use crate::schedule::Because;
use crate::signal::Urgency;
use crate::text::visible;

/// The danger that a write leaves, before any schedule; empty where there is none.
///
/// ```text
/// NEEDS REVIEW TODAY: pus at exit a. Tell the coordinator or the physician on call now.
/// Needs review this week: caregiver not signed off.
/// Shower against md-3's order.
/// Change due by today 09:17, after the shower.
/// ```
pub fn danger(consequence: &Consequence, call: Option<&str>, look: Look) -> String {
    let raised = |urgency| consequence.raised.iter().filter(move |sign| sign.urgency == urgency);
    let mut lines = Vec::new();
    for sign in raised(Urgency::Today) {
        let call = call.map(|call| format!(" {}", visible(call.trim()))).unwrap_or_default();
        lines.push(format!("NEEDS REVIEW TODAY: {}.{call}", named(sign)));
    }
    let this_week: Vec<String> = raised(Urgency::ThisWeek).map(named).collect();
    if !this_week.is_empty() {
        lines.push(format!("Needs review this week: {}.", this_week.join(", ")));
    }
    lines.extend(consequence.violated.iter().map(violated));
    lines.extend(consequence.running.iter().map(|clock| running(clock, consequence)));
    if !consequence.is_known {
        lines.push(
            "Signals cannot be computed: part of policy.toml cannot be read. `exitsite check` shows where.".to_owned(),
        );
    }
    lines.iter().map(|line| hanging(look, line, "  ")).collect()
}

/// The questions before signals of today end or are answered, each with No preselected; empty where nothing is closed.
pub fn questions(consequence: &Consequence) -> Vec<Closing> {
    let (looked, otherwise): (Vec<&Sign>, Vec<&Sign>) = consequence.ends_today().partition(|sign| sign.needs_look);
    let answered: Vec<&Sign> = consequence.answers_today().collect();
    let list = |signs: &[&Sign]| {
        let each: Vec<String> = signs.iter().map(|sign| evidence(sign, consequence.today)).collect();
        each.join(", ")
    };
    let mut closings = Vec::new();
    if !looked.is_empty() {
        closings.push(Closing {
            text: format!("This ends: {}. It needs a full look by staff.", list(&looked)),
            question: "Did you see the site yourself?",
            is_by_look: true,
        });
    }
    if !otherwise.is_empty() {
        closings.push(Closing {
            text: format!("This ends: {}.", list(&otherwise)),
            question: "Is that right?",
            is_by_look: false,
        });
    }
    if !answered.is_empty() {
        closings.push(Closing {
            text: format!("This counts as acted on: {}.", list(&answered)),
            question: "Is that right?",
            is_by_look: false,
        });
    }
    closings
}

/// A question before signals end or are answered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// The signals, each with its last record.
    pub text: String,
    /// The question.
    pub question: &'static str,
    /// Whether it asks for a look by staff.
    pub is_by_look: bool,
}

/// A signal with its exit site: `pus at exit a`.
pub fn named(sign: &Sign) -> String {
    let exit = sign.exit.as_ref().map(|exit| format!(" at exit {}", visible(exit))).unwrap_or_default();
    format!("{}{exit}", words::signal(sign.signal))
}

/// A signal with its last record: `pus (rn-03, today 07:00)`.
pub fn evidence(sign: &Sign, today: NaiveDate) -> String {
    let by = sign.by.as_ref().map(|by| format!("{}, ", visible(by))).unwrap_or_default();
    format!("{} ({by}{})", words::signal(sign.signal), day_and_time(&sign.at, today))
}

fn violated(violated: &Violated) -> String {
    let mut letters = words::water(violated.water).chars();
    let what: String = letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default();
    format!("{what} against {}'s order.", visible(&violated.ordered_by))
}

fn running(clock: &Running, consequence: &Consequence) -> String {
    let is_shower = clock.because == Because::AfterShower;
    let why =
        if is_shower { format!("after the {}", words::water(clock.water)) } else { "after the damage".to_owned() };
    let exit = visible(&clock.exit);
    let by = day_and_time(&clock.deadline, consequence.today);
    match clock.hours_overdue {
        Some(hours) => format!("OVERDUE by {hours} h: change at exit {exit} {why}, due by {by}."),
        None => format!("Change due by {by} at exit {exit}, {why}."),
    }
}
