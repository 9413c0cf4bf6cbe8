//! What is open now: what is due, signals, supplies, teaching; and the features on file around each infection.

use crate::report::show::{Criteria, Feature, OnFile, ShowReport};
use crate::signal::Episode;
use crate::text::visible;
use crate::view::due::{asides, reason};
use crate::view::signals::{SINCE_THEN, minute};
use crate::view::supplies::item_words;
use crate::view::teaching::{failed_words, standing_words};
use crate::view::{Look, hanging, not_known_words, off_words};

/// What is open now.
pub(super) fn text(body: &ShowReport, look: Look) -> String {
    let due: String = due_lines(body).iter().map(|line| hanging(look, line, "  ")).collect();
    let open: String = open_lines(body).iter().map(|line| hanging(look, line, "  ")).collect();
    if open.is_empty() { format!("{due}\n") } else { format!("{due}\n{open}\n") }
}

/// What is due, with what to know before a call.
pub(super) fn due_lines(body: &ShowReport) -> Vec<String> {
    let Some(rows) = &body.due else { return vec!["What is due is not known.".to_owned()] };
    let mut lines = Vec::new();
    for row in rows {
        let exit = row.exit().map(|exit| format!("exit {}: ", visible(exit))).unwrap_or_default();
        let due = row.site().map(|site| &site.due);
        let on = due.and_then(|due| due.due_on).map(|day| format!(" on {day}")).unwrap_or_default();
        let hours = due.and_then(|due| due.hours_overdue);
        let hours = hours.map(|hours| format!(", {hours} h ago")).unwrap_or_default();
        let deadline = due.and_then(|due| due.deadline);
        let deadline = deadline.map(|at| format!(", deadline {}{hours}", at.0.format("%Y-%m-%d %H:%M")));
        lines.push(format!("{exit}{}{on}{}: {}", row.state(), deadline.unwrap_or_default(), reason(row)));
        // Signals stand below, each with what it is about.
        let asides: Vec<String> =
            asides(row).into_iter().filter(|aside| !aside.is_signal).map(|aside| aside.words).collect();
        if !asides.is_empty() {
            lines.push(format!("  {}", asides.join(" · ")));
        }
    }
    lines
}

/// Open signals, supplies and teaching, a line each.
pub(super) fn open_lines(body: &ShowReport) -> Vec<String> {
    let mut lines: Vec<String> = match &body.signals {
        None => vec!["signals not known".to_owned()],
        Some(signals) => signals.iter().map(|signal| signal_words(signal, body.exits.len() > 1)).collect(),
    };
    lines.extend(off_words(&body.off));
    lines.extend(not_known_words(&body.signals_not_known));
    match &body.supplies {
        None => lines.push("supplies not known".to_owned()),
        Some(items) => lines.extend(items.iter().map(|item| format!("supplies {}", item_words(item)))),
    }
    for learner in &body.teaching {
        let person = visible(&learner.person);
        match &learner.standings {
            None => lines.push(format!("teaching {person}: not known")),
            Some(all) => lines.extend(all.iter().map(|standing| {
                let failed = failed_words(standing).map(|failed| format!("; {failed}")).unwrap_or_default();
                format!("teaching {person}: {}{failed}", standing_words(standing))
            })),
        }
    }
    lines
}

fn signal_words(signal: &Episode, has_several: bool) -> String {
    let exit = signal.exit.as_ref().filter(|_| has_several);
    let exit = exit.map(|exit| format!(" at exit {}", visible(exit))).unwrap_or_default();
    let answered = match signal.answered {
        Some(at) if signal.news_answered => format!("answered {}", minute(at)),
        Some(at) => format!("answered {}{SINCE_THEN}", minute(at)),
        None => "not answered".to_owned(),
    };
    let better = if signal.better_not_confirmed { ", better, not confirmed" } else { "" };
    let said: Vec<String> =
        signal.evidence.iter().take(1).map(|said| format!(": {}", visible(&said.what.to_string()))).collect();
    format!(
        "signal {}{exit} since {}{}; to be looked at {}, {answered}{better}",
        signal.signal,
        minute(signal.since),
        said.concat(),
        signal.urgency.to_string().replace('-', " ")
    )
}

/// The features on file around each infection, as text.
pub(super) fn criteria_text(body: &ShowReport, look: Look) -> String {
    let mut out = String::new();
    for criteria in &body.infection_criteria {
        out.push_str(&hanging(look, &criteria_heading(criteria), "  "));
        for (name, words) in criteria_rows(criteria) {
            out.push_str(&hanging(look, &format!("  {name}: {words}"), "      "));
        }
        out.push_str(&hanging(look, &format!("  {CONCLUDES_NOTHING}"), "  "));
        out.push('\n');
    }
    out
}

/// What such a list is not.
pub(super) const CONCLUDES_NOTHING: &str = "A list of what is on file for the working definitions of Hannan MM et al., J Heart Lung Transplant 2011;30:375-384; whether one is met is a clinician's to say.";

/// Which infection, and which days were looked at.
pub(super) fn criteria_heading(criteria: &Criteria) -> String {
    format!(
        "On file around the infection of {} ({} {}, as determined), from {} to {}",
        criteria.onset, criteria.certainty, criteria.part, criteria.from, criteria.to
    )
}

/// Each feature with what is on file of it.
pub(super) fn criteria_rows(criteria: &Criteria) -> Vec<(String, String)> {
    criteria.features.iter().map(|feature| (feature.feature.to_string(), feature_words(feature))).collect()
}

fn feature_words(feature: &Feature) -> String {
    let on_file = |all: &[OnFile]| {
        let one = |one: &OnFile| format!("{} {}", one.at.date(), visible(&one.says));
        all.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    match (feature.shown.is_empty(), feature.not_there.is_empty()) {
        (true, true) => "nothing on file".to_owned(),
        (true, false) => format!("looked at and not there: {}", on_file(&feature.not_there)),
        (false, true) => on_file(&feature.shown),
        (false, false) => format!("{}; not there: {}", on_file(&feature.shown), on_file(&feature.not_there)),
    }
}
