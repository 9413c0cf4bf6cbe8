//! The current state of a patient: a summary sentence, signals, changes due, supplies, teaching.

use chrono::NaiveDate;

use crate::report::due::Row;
use crate::report::show::ShowReport;
use crate::signal::{Episode, Observation, Urgency, Worsening};
use crate::text::visible;
use crate::view::day::{short_day, since, wall};
use crate::view::due::{asides, reason, state};
use crate::view::infection::under_treatment;
use crate::view::supplies::item_words;
use crate::view::teaching::{failed_words, standing_words};
use crate::view::{TextStyle, hanging, not_known_words, off_words, words};

/// A block of lines under a heading.
pub(super) struct Block {
    pub(super) heading: &'static str,
    pub(super) lines: Vec<String>,
}

/// Renders the current state as text.
pub(super) fn text(body: &ShowReport, today: NaiveDate, look: TextStyle) -> String {
    let mut out = String::new();
    for block in blocks(body, today) {
        out.push_str(&format!("{}\n", block.heading));
        block.lines.iter().for_each(|line| out.push_str(&hanging(look, &format!("  {line}"), "      ")));
        out.push('\n');
    }
    out
}

/// Summarizes the state in a sentence or two: the signals of today, then the change of each exit site.
pub(super) fn answer(body: &ShowReport, today: NaiveDate) -> String {
    let names = |is_acted_on| {
        let names = of_today(body, is_acted_on).map(|signal| {
            let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), today);
            let act = || words::act(signal.latest_action.as_ref(), signal.signal, |_| String::new());
            let acted = if is_acted_on { format!(" ({}{ended})", act()) } else { String::new() };
            format!("{}{}{acted}", words::signal(signal.signal), at_exit(signal, body))
        });
        names.collect::<Vec<String>>()
    };
    let mut sentences = Vec::new();
    for (heading, names) in [("NEEDS REVIEW TODAY", names(false)), ("Acted on, still open", names(true))] {
        if !names.is_empty() {
            sentences.push(format!("{heading}: {}.", names.join(", ")));
        }
    }
    if body.signals.is_none() {
        sentences.push("Signals not known.".to_owned());
    }
    match &body.due {
        None => sentences.push("Next change not known.".to_owned()),
        Some(rows) => sentences.extend(rows.iter().filter(|row| row.site().is_some()).map(|row| {
            let exit = row.exit().filter(|_| rows.len() > 1).map(|exit| format!(" at exit {}", visible(exit)));
            format!("Change{}: {}.", exit.unwrap_or_default(), state(row))
        })),
    }
    sentences.join(" ")
}

/// Returns the open signals of today that were, or were not, acted on.
fn of_today(body: &ShowReport, is_acted_on: bool) -> impl Iterator<Item = &Episode> {
    let signals = body.signals.iter().flatten();
    signals.filter(move |signal| signal.urgency == Urgency::Today && signal.news_answered == is_acted_on)
}

/// Names the exit site of a signal, if the patient has several.
fn at_exit(signal: &Episode, body: &ShowReport) -> String {
    let exit = signal.exit.as_ref().filter(|_| body.exits.len() > 1);
    exit.map(|exit| format!(" at exit {}", visible(exit))).unwrap_or_default()
}

/// Returns the blocks of the current state, dangers first.
pub(super) fn blocks(body: &ShowReport, today: NaiveDate) -> Vec<Block> {
    let said = |signal: &Episode| signal_words(signal, body, today);
    let not_known = body.signals.is_none().then(|| "signals not known".to_owned());
    let to_review = of_today(body, false).map(said).chain(not_known).chain(not_known_words(&body.signals_not_known));
    let this_week = body.signals.iter().flatten().filter(|signal| signal.urgency == Urgency::ThisWeek);
    let blocks = [
        Block { heading: "Needs review today", lines: to_review.chain(off_words(&body.off)).collect() },
        Block { heading: "Acted on, still open", lines: of_today(body, true).map(said).collect() },
        Block { heading: "Dressing change", lines: due_lines(body) },
        Block {
            heading: "Infection",
            lines: body.under_treatment.iter().flat_map(|one| under_treatment(one, today)).collect(),
        },
        Block { heading: "Needs review this week", lines: this_week.map(said).collect() },
        Block { heading: "Supplies and teaching", lines: supplies_and_teaching(body) },
    ];
    blocks.into_iter().filter(|block| !block.lines.is_empty()).collect()
}

/// Describes each exit site: its signals of today, its schedule, then the facts needed before a call.
fn due_lines(body: &ShowReport) -> Vec<String> {
    let Some(rows) = &body.due else { return vec!["next change not known".to_owned()] };
    let line = |row: &Row| {
        let exit = row.exit().map(|exit| format!("exit {}: ", visible(exit))).unwrap_or_default();
        let schedule = if row.site().is_some() { format!("; {}", state(row)) } else { String::new() };
        // The other signals have their own lines.
        let others = asides(row);
        let line = format!("{exit}{}{schedule}", reason(row));
        [line].into_iter().chain(others).collect::<Vec<_>>().join(" · ")
    };
    rows.iter().map(line).collect()
}

fn supplies_and_teaching(body: &ShowReport) -> Vec<String> {
    let mut lines: Vec<String> = match &body.supplies {
        None => vec!["supplies not known".to_owned()],
        Some(items) => items.iter().map(|item| format!("supplies {}", item_words(item))).collect(),
    };
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

fn signal_words(signal: &Episode, body: &ShowReport, today: NaiveDate) -> String {
    let at = |at: crate::day::WallTime| wall(at, today);
    // The action that the due list names: the one on the latest news.
    let latest = signal.latest_action.as_ref().filter(|_| signal.news_answered);
    let acted = latest.map(|latest| &latest.acted).or(signal.acted.as_ref());
    let how = acted.map(|acted| format!(" ({})", words::acted(acted))).unwrap_or_default();
    let acted = match signal.answered.map(|first| latest.map_or(first, |latest| latest.at)) {
        Some(when) if signal.news_answered => {
            let told = words::and_told(signal.latest_action.as_ref(), signal.signal, at);
            let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), today);
            format!("acted on {}{how}{told}{ended}", at(when))
        }
        Some(when) => {
            let worse: Vec<Worsening> = signal.worse_since_action().cloned().collect();
            let worse = words::worse_since(&worse, at, today);
            let newer = worse.map_or("newer evidence".to_owned(), |worse| format!("{worse},"));
            format!("acted on {}{how}, {newer} not acted on", at(when))
        }
        None => {
            let told = signal.told.as_ref().and_then(|told| told.clinician.as_ref().map(|who| (who, told.at)));
            let told = told.map(|(who, when)| format!("; told {} {}", visible(who), at(when))).unwrap_or_default();
            format!("not acted on{told}")
        }
    };
    let is_better = signal.better_not_confirmed && signal.later_score.is_none();
    let better = if is_better { format!("; {}", words::improved(signal.signal.ends())) } else { String::new() };
    let (name, exit) = (words::signal(signal.signal), at_exit(signal, body));
    format!("{name}{exit} since {}{}; {acted}{better}", since(signal, today), evidence(signal, today))
}

/// Lists the changing evidence of a signal, latest last; long lists are cut to the first and the last three. Scores above one
/// low name it once: `score up from 1 on Nov 3 to 3, then 5 to 9`.
fn evidence(signal: &Episode, today: NaiveDate) -> String {
    let mut said: Vec<String> = Vec::new();
    let mut low: Option<(NaiveDate, String)> = None;
    for evidence in &signal.evidence {
        let mut words = words::observation(&evidence.what, today);
        if let Observation::ScoreUp { now, most, then, on } = evidence.what {
            let points = words::points_between(now, most);
            match low.replace((on, points.clone())) {
                Some((same, last)) if same == on && last == points => continue,
                Some((same, _)) if same == on => words = points,
                _ if now == most => words = format!("score up from {then} on {} to {points}", short_day(on, today)),
                _ => {}
            }
        }
        if said.last() != Some(&words) {
            said.push(words);
        }
    }
    said.extend(
        signal.later_score.as_ref().map(|score| format!("{} with pus", words::observation(&score.what, today))),
    );
    if said.len() > 4 {
        said.splice(1..said.len() - 3, ["…".to_owned()]);
    }
    if said.is_empty() { String::new() } else { format!(": {}", said.join(", then ")) }
}
