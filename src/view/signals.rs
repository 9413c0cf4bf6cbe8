//! Signals as text: the number that need review, then each signal, most urgent first, with its evidence, the action on it,
//! and its end.

use super::day::{self, ReaderClock};
use super::{TextStyle, hanging, not_known_words, off_word, off_words, paragraph, unusable, words};
use crate::day::Calendar;
use crate::event::At;
use crate::report::Report;
use crate::report::signals::{FeverEnds, SignalsReport, Waiting};
use crate::signal::{Answered, Episode, Review, Urgency, Worsening};
use crate::text::{count, visible};

/// The addition to an action if newer evidence followed it.
const SINCE_THEN: &str = " (newer evidence not acted on)";

/// Renders the signals as text.
pub(crate) fn signals(report: &Report<SignalsReport>, calendar: &Calendar, look: TextStyle) -> String {
    let clock = ReaderClock { today: report.as_of.date(), calendar };
    let body = &report.body;
    if let Some(waiting) = body.waiting {
        return self::waiting(report, waiting, clock, look);
    }
    let open = |urgency| move |signal: &&Episode| signal.is_open() && signal.urgency == urgency;
    let today: Vec<&Episode> = body.signals.iter().filter(open(Urgency::Today)).collect();
    let this_week: Vec<&Episode> = body.signals.iter().filter(open(Urgency::ThisWeek)).collect();
    let ended: Vec<&Episode> = body.signals.iter().filter(|signal| !signal.is_open()).collect();
    let mut out = unusable(look, &report.unusable);
    let off_words: Vec<String> = body.off.iter().map(|(name, why)| off_word(name, why)).collect();
    let mut lines = Vec::new();
    // Zero is printed only if all files were read.
    let is_complete = body.not_known.is_empty() && body.signals_not_known.is_empty() && report.unusable.is_empty();
    if is_complete || !today.is_empty() || !this_week.is_empty() {
        let at_least = if is_complete { "" } else { "At least " };
        let counted = |open: &[&Episode]| Review::of(open.iter().map(|signal| signal.news_answered));
        let counts = [(counted(&today), Urgency::Today), (counted(&this_week), Urgency::ThisWeek)];
        let counts = counts.into_iter().filter(|(review, _)| is_complete || review.open > 0);
        let counts: Vec<String> = counts.map(|(review, urgency)| words::review(review, urgency)).collect();
        lines.push(format!("{at_least}{}.", counts.join(", ")));
    }
    if !body.not_known.is_empty() {
        lines.push(words::not_all_known(&body.not_known));
    }
    lines.extend(not_known_words(&body.signals_not_known));
    if !off_words.is_empty() {
        lines.push(format!("Turned off by the policy: {}", off_words.join(", ")));
    }
    lines.iter().for_each(|line| out.push_str(&hanging(look, line, "  ")));
    out.push('\n');
    let sections = [
        ("Needs review today", &today, Some(Answered::Act)),
        ("Needs review this week", &this_week, Some(Answered::Contact)),
        ("Ended", &ended, None),
    ];
    for (heading, signals, usual) in sections {
        out.push_str(&section(heading, signals, usual, (report.as_of, body.fever_ends, clock), look));
    }
    out.push_str(&paragraph(look, "A signal marks records that need review; it is not a diagnosis of infection."));
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Renders the signals of today not acted on for some hours, each with its wait, after the number of open ones.
///
/// ```text
/// Waiting 2 h or more: 1 of 2 signals of today that are not acted on.
///
///   P-022 a  dressing wet or off: waiting 9 h, since Mon 21:30; called p022-aunt Mon 21:40: advised
/// ```
fn waiting(report: &Report<SignalsReport>, waiting: Waiting, clock: ReaderClock, look: TextStyle) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let at_least = if body.not_known.is_empty() && body.signals_not_known.is_empty() { "" } else { "at least " };
    let open = count(waiting.open as i64, "signal");
    let is = if waiting.open == 1 { "is" } else { "are" };
    let heading = format!(
        "Waiting {} h or more: {} of {at_least}{open} of today that {is} not acted on.",
        waiting.hours,
        body.signals.len()
    );
    out.push_str(&hanging(look, &heading, "  "));
    let not_known = (!body.not_known.is_empty()).then(|| words::not_all_known(&body.not_known));
    let off = off_words(&body.off);
    for line in not_known.into_iter().chain(not_known_words(&body.signals_not_known)).chain(off) {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push('\n');
    for signal in &body.signals {
        let since = signal.waiting_since().map(|since| since.with_timezone(&signal.known_since.0.timezone()));
        let waited = since.zip(moment(report.as_of)).map(|(since, now)| {
            format!(": waiting {} h, since {}", (now - since).num_hours(), clock.at(&At::Time(since)))
        });
        let called = words::contacts(signal, clock).map(|contacts| format!("; {contacts}"));
        let exit = signal.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
        let (name, waited) = (words::signal(signal.signal), waited.unwrap_or_default());
        let line = format!("  {}{exit}  {name}{waited}{}", signal.patient, called.unwrap_or_default());
        out.push_str(&hanging(look, &line, "      "));
    }
    if !body.signals.is_empty() {
        out.push('\n');
    }
    out + &paragraph(look, &report.caution)
}

/// Returns the moment of the report, if it has a time.
fn moment(at: At) -> Option<chrono::DateTime<chrono::FixedOffset>> {
    match at {
        At::Time(time) => Some(time),
        At::Day(_) => None,
    }
}

/// Renders a heading, the usual way to act on its signals, and each signal.
fn section(
    heading: &str,
    signals: &[&Episode],
    usual: Option<Answered>,
    (as_of, fever, clock): (At, Option<FeverEnds>, ReaderClock),
    look: TextStyle,
) -> String {
    if signals.is_empty() {
        return String::new();
    }
    let mut out = format!("{heading}\n");
    let is_usual = |signal: &&Episode| signal.answered.is_none() && Some(signal.signal.answered()) == usual;
    if let Some(usual) = usual.filter(|_| signals.iter().any(is_usual)) {
        out.push_str(&hanging(look, &format!("Counts as acted on: {}.", words::acted_on_by(usual)), "  "));
    }
    for signal in signals {
        out.push_str(&hanging(look, &head(signal, as_of, clock), "      "));
        for line in facts(signal, usual, fever, clock) {
            out.push_str(&hanging(look, &format!("      {line}"), "        "));
        }
    }
    out.push('\n');
    out
}

/// `P-022 a  dressing wet or off since Mon 21:30, recorded Mon 21:38`
fn head(signal: &Episode, as_of: At, clock: ReaderClock) -> String {
    let exit = signal.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    let since = clock.since(signal);
    // A record without a time is not ahead of the clock on its own day.
    let is_ahead = matches!(as_of, At::Time(now) if signal.since.0 > now) && matches!(day::start(signal), At::Time(_));
    let ahead = if is_ahead { ", ahead of the clock" } else { "" };
    let recorded = Some(clock.wall(signal.known_since))
        .filter(|known| *known != since && signal.known_since != signal.since && ahead.is_empty());
    let recorded = recorded.map(|known| format!(", recorded {known}")).unwrap_or_default();
    let name = words::signal(signal.signal);
    format!("  {}{exit}  {name} since {since}{ahead}{recorded}", signal.patient)
}

/// Lists the evidence of a signal, each fact once with its last record, then calls, action and end.
fn facts(signal: &Episode, usual: Option<Answered>, fever: Option<FeverEnds>, clock: ReaderClock) -> Vec<String> {
    let today = clock.today;
    let mut lines = Vec::new();
    let mut shown: Vec<(String, usize, &str)> = Vec::new();
    for said in &signal.evidence {
        let what = words::observation(&said.what, today);
        match shown.iter_mut().find(|(known, ..)| *known == what) {
            Some((_, times, file)) => (*times, *file) = (*times + 1, &said.file),
            None => shown.push((what, 1, &said.file)),
        }
    }
    lines.extend(shown.iter().map(|(what, times, file)| {
        let times = if *times > 1 { format!(", {times} times, last") } else { ":".to_owned() };
        format!("{}{times} {}", what, visible(file))
    }));
    lines.extend(
        signal
            .later_score
            .as_ref()
            .map(|score| format!("{} with pus: {}", words::observation(&score.what, today), visible(&score.file))),
    );
    lines.extend(words::contacts(signal, clock).map(|contacts| format!("{}.", crate::text::capitalized(&contacts))));
    lines.push(match (signal.answered, &signal.answered_by) {
        (Some(at), Some(file)) => {
            let worse: Vec<Worsening> = signal.worse_since_action().cloned().collect();
            let worse = words::worse_since(&worse, |at| clock.wall(at), today);
            // The due list names the last action before it got worse.
            let last = signal.worse_since_action().next().and_then(|worse| worse.acted_before);
            let last = last.filter(|last| *last != at).map(|last| format!("last {}; ", clock.wall(last)));
            let since = match worse {
                Some(worse) => format!(" ({}{worse}; not acted on)", last.unwrap_or_default()),
                None if signal.news_answered => String::new(),
                None => SINCE_THEN.to_owned(),
            };
            // The action that the due list names: the one on the latest news.
            let latest = signal.latest_action.as_ref().filter(|_| signal.news_answered);
            let (when, file) = latest.map_or((at, file), |latest| (latest.at, &latest.file));
            let first = if when == at { String::new() } else { format!(", first {}", clock.wall(at)) };
            let acted = latest.map(|latest| &latest.acted).or(signal.acted.as_ref());
            let how = acted.map(|acted| format!("{}, ", words::acted(acted))).unwrap_or_default();
            let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), today);
            let told = words::and_told(signal.latest_action.as_ref(), signal.signal, |at| clock.wall(at));
            format!("Acted on {}{first}{since}: {how}{}{told}{ended}", clock.wall(when), visible(file))
        }
        _ if Some(signal.signal.answered()) == usual => "Not acted on.".to_owned(),
        _ if signal.signal.answered() == Answered::Remedy => "Not acted on; a call alone is not enough.".to_owned(),
        _ => format!("Not acted on. Counts as acted on: {}.", words::acted_on_by(signal.signal.answered())),
    });
    lines.push(match signal.ended {
        Some(at) => format!("Ended {}.", clock.wall(at)),
        None if signal.better_not_confirmed && signal.later_score.is_none() => {
            let ends = signal.signal.ends();
            format!("{}. {}", crate::text::capitalized(words::improved(ends)), words::ends_when(ends, fever))
        }
        None => words::ends_when(signal.signal.ends(), fever),
    });
    lines
}
