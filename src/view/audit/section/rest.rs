//! Signals, pulls, households, the quality of the data, and where the figures come from.

use super::Section;
use crate::report::audit::{AuditReport, SignalCount, SignalCounts};
use crate::text::{count, thousands, visible};
use crate::view::table::Cell;
use crate::view::words;

pub(super) fn signals(signals: &SignalCounts) -> Section {
    let row = |one: &SignalCount| {
        vec![
            Cell::text(words::signal(one.signal)),
            Cell::text(one.urgency.to_string()),
            Cell::count(one.episodes),
            Cell::number(one.median_hours_to_answer, 0),
            Cell::count(one.unanswered),
            Cell::count(one.learnt_late),
        ]
    };
    let unanswered = signals.unanswered.unwrap_or_default();
    let meaning = match (signals.episodes, signals.median_hours_to_answer) {
        (None, _) => "Not known, since policy.toml or people.toml cannot be used.".to_owned(),
        (Some(0), _) => "No signal rose in the period.".to_owned(),
        (Some(n), Some(median)) => format!(
            "{} rose; half were answered within {median:.0} hours of when they could be known. No answer: {unanswered}.",
            count(n as i64, "signal"),
        ),
        (Some(n), None) => format!(
            "{} rose; fewer than half were answered, so there is no median. No answer: {unanswered}.",
            count(n as i64, "signal"),
        ),
    };
    let mut section = Section::new("Signals").say(meaning).say(
        "An episode is one rise to its end, counted by the day it rose. Hours to an answer run from when it could be known; one without an answer counts as longer than any. A signal that is put right ends by that and needs no answer: no answer counts it only while it is open. Late: reported more than a week after it rose.",
    );
    for (name, why) in &signals.off {
        section = section.say(format!("{name} is turned off: {}.", visible(why)));
    }
    if !signals.not_known.is_empty() {
        section = section.say(format!("Not known of {}.", signals.not_known.join(", ")));
    }
    section
        .show(
            &["signal", "urgency", "episodes", "median h", "no answer", "late"],
            signals.by_name.iter().flatten().map(row),
        )
        .show(
            &["put right", "episodes", "ended", "median h to the end", "open"],
            signals.by_name.iter().flatten().filter_map(remedied),
        )
}

/// A signal that ends when it is put right.
fn remedied(one: &SignalCount) -> Option<Vec<Cell>> {
    Some(vec![
        Cell::text(words::signal(one.signal)),
        Cell::count(one.episodes),
        Cell::count(one.ended?),
        Cell::number(one.median_hours_to_end, 0),
        Cell::count(one.open?),
    ])
}

pub(super) fn pulls_and_organisms(report: &AuditReport) -> Section {
    let rate = &report.trauma.per_1000_device_days;
    let organisms =
        report.organisms.iter().map(|one| vec![Cell::Text(visible(&one.name)), Cell::count(one.infections)]);
    Section::new("Pulls and organisms")
        .say(format!(
            "{} on the line: {} per 1,000 device-days, 95 % {}.",
            count(report.trauma.events as i64, "pull"),
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2)
        ))
        .say(match report.organisms.is_empty() {
            true => "No determination of the period names an organism.",
            false => "Organisms as the determinations of the period name them; an infection can have several.",
        })
        .show(&["organism", "infections"], organisms)
}

pub(super) fn households(report: &AuditReport) -> Section {
    let (teaching, supplies) = (&report.teaching, &report.supplies);
    let n = |count: Option<u64>| count.map_or("not known".to_owned(), |count| count.to_string());
    Section::new("Households on the last day")
        .say(format!(
            "Caregivers of the patients under support: {}; signed off {}, lapsed {}. Changes in the period by somebody of a household who was neither signed off nor taught that day: {}.",
            teaching.caregivers,
            n(teaching.signed_off),
            n(teaching.lapsed),
            n(teaching.changes_by_untaught)
        ))
        .say(format!(
            "At home: {}; with an item to be ordered by then: {}; for {} it is not known.",
            count(supplies.households as i64, "household"),
            supplies.short,
            supplies.unknown
        ))
}

pub(super) fn data_quality(report: &AuditReport) -> Section {
    let quality = &report.data_quality;
    let of = |n: u64, all: u64| if all == 0 { Cell::Missing } else { Cell::Share(n as f64 / all as f64, 1) };
    let row = |name: &str, n: u64, share: Cell| vec![Cell::text(name), Cell::count(n), share];
    let (by_log, late_by_log) = (quality.events_by_log, quality.late_entries_by_log);
    let (others, late_others) = (quality.events - by_log, quality.late_entries - late_by_log);
    Section::new("Quality of the data")
        .say(format!(
            "{} of the period count: {} of households that report by log, {} others. A late entry is written more than 72 hours after; its share is of the records of its row, that of the scores is of the {}.",
            count(quality.events as i64, "record"),
            thousands(by_log as i64),
            thousands(others as i64),
            count(quality.scores as i64, "score")
        ))
        .show(
            &["what", "how many", "share"],
            [
                row("late entries, households by log", late_by_log, of(late_by_log, by_log)),
                row("late entries, all others", late_others, of(late_others, others)),
                row("amended", quality.amended, of(quality.amended, quality.events)),
                row("voided, not among the records", quality.voided, Cell::Empty),
                row("only the day known", quality.times_unknown, of(quality.times_unknown, quality.events)),
                row(
                    "scores with an item not looked at",
                    quality.incomplete_scores,
                    of(quality.incomplete_scores, quality.scores),
                ),
                row("patient-days without a report", quality.days_not_covered, Cell::Empty),
                row("gaps between logs", quality.log_gaps, Cell::Empty),
            ],
        )
}

pub(super) fn sources(report: &AuditReport) -> Section {
    let short = |commit: &str| commit.get(..12).unwrap_or(commit).to_owned();
    let from = &report.provenance;
    let records = match (&from.records_commit, from.uncommitted_changes) {
        (None, _) => "The records are in no git commit, so this report cannot be made again from one.".to_owned(),
        (Some(commit), Some(true)) => format!(
            "The records are at commit {}, and the folder has changes that are in no commit: this report cannot be made again from that commit alone.",
            short(commit)
        ),
        (Some(commit), _) => format!("The records are at commit {}.", short(commit)),
    };
    let policy = match (&from.policy_commit, from.policy_changed_on) {
        (Some(commit), Some(day)) => format!(" The policy last changed at {} on {day}.", short(commit)),
        _ => String::new(),
    };
    Section::new("Where the figures come from")
        .say(format!("{records}{policy} The records are pseudonymous: codes stand for people who can be found again."))
        .say("Rates: exact Poisson limits (Garwood 1936) and mid-P limits. Ratio: exact and mid-P, conditional on the total. Shares: Wilson score; design effect after Rao and Scott 1992. Incidence: Aalen–Johansen; freedom: Kaplan–Meier, Greenwood, log–log limits. Charts: probability limits of 0.00135 on each side; three standard errors for shares.")
}
