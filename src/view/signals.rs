//! Signals for a person: most urgent first, with the evidence, and what would answer and end each.

use super::{Look, hanging, not_known_words, paragraph, unusable, words};
use crate::day::WallTime;
use crate::report::signals::SignalsReport;
use crate::report::{At, Report};
use crate::signal::{Episode, Urgency};
use crate::text::visible;

/// Behind an answer, where something was news after it.
pub(super) const SINCE_THEN: &str = ", but not what came since";

/// The signals as text.
pub(crate) fn signals(report: &Report<SignalsReport>, look: Look) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    for (urgency, heading) in
        [(Urgency::Today, "To be looked at today"), (Urgency::ThisWeek, "To be looked at this week")]
    {
        let open: Vec<&Episode> =
            body.signals.iter().filter(|signal| signal.urgency == urgency && signal.ended.is_none()).collect();
        out.push_str(&section(heading, &open, report.as_of, look));
    }
    let ended: Vec<&Episode> = body.signals.iter().filter(|signal| signal.ended.is_some()).collect();
    out.push_str(&section("Ended", &ended, report.as_of, look));
    if body.signals.is_empty() && body.not_known.is_empty() && report.unusable.is_empty() {
        out.push_str(&paragraph(look, "No signal is open in what is on file."));
        out.push('\n');
    }
    for (name, why) in &body.off {
        out.push_str(&hanging(look, &format!("Turned off by the policy: {name} ({})", visible(why)), "  "));
    }
    if !body.not_known.is_empty() {
        let codes = body.not_known.join(" ");
        out.push_str(&hanging(look, &format!("Not all signals are known of: {codes}"), "  "));
    }
    if let Some(line) = not_known_words(&body.signals_not_known) {
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&paragraph(look, "A signal is something in the records to look at, not a finding of infection."));
    out.push_str(&paragraph(look, &report.caution));
    out
}

fn section(heading: &str, signals: &[&Episode], as_of: At, look: Look) -> String {
    if signals.is_empty() {
        return String::new();
    }
    let mut out = format!("{heading}\n");
    for signal in signals {
        let exit = signal.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
        let since = minute(signal.since);
        let known = Some(minute(signal.known_since)).filter(|known| *known != since);
        let known = known.map(|known| format!(", known since {known}")).unwrap_or_default();
        let name = words::signal(signal.signal);
        let ahead = if matches!(as_of, At::Time(now) if signal.since.0 > now) { ", ahead of the clock" } else { "" };
        let head = format!("  {}{exit}  {name} since {since}{ahead}{known}", signal.patient);
        out.push_str(&hanging(look, &head, "      "));
        for said in &signal.evidence {
            out.push_str(&hanging(
                look,
                &format!("      {}: {}", visible(&said.file), visible(&said.what.to_string())),
                "        ",
            ));
        }
        let answered = match (signal.answered, &signal.answered_by) {
            (Some(at), Some(file)) => {
                let since = if signal.news_answered { "" } else { SINCE_THEN };
                format!("answered {} by {}{since}", minute(at), visible(file))
            }
            _ => format!("not answered; {}", words::answered_by(signal.signal.answered())),
        };
        if let Some(called) = &signal.called {
            let outcome = words::outcome(called.outcome);
            let line = format!("      called {}: {}, {outcome}", minute(called.at), visible(&called.with));
            out.push_str(&hanging(look, &line, "        "));
        }
        out.push_str(&hanging(look, &format!("      {answered}"), "        "));
        let end = match signal.ended {
            Some(at) => format!("ended {}", minute(at)),
            None if signal.better_not_confirmed => {
                format!("better, not confirmed; {}", words::ends_when(signal.signal))
            }
            None => words::ends_when(signal.signal).to_owned(),
        };
        out.push_str(&hanging(look, &format!("      {end}"), "        "));
    }
    out.push('\n');
    out
}

/// A moment to the minute.
pub(super) fn minute(at: WallTime) -> String {
    at.0.format("%Y-%m-%d %H:%M").to_string()
}
