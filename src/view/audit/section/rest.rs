//! Signals, pulls, households, data quality, and sources and methods.

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
        (None, _) => "Not known, because policy.toml or people.toml cannot be used.".to_owned(),
        (Some(0), _) => "No signal opened in the period.".to_owned(),
        (Some(n), Some(median)) => format!(
            "{} opened; half were acted on within {median:.0} hours of the time they could be known. Not acted on: {unanswered}.",
            count(n as i64, "signal"),
        ),
        (Some(n), None) => format!(
            "{} opened; fewer than half were acted on, so there is no median. Not acted on: {unanswered}.",
            count(n as i64, "signal"),
        ),
    };
    let mut section = Section::new("Signals").say(meaning).say(
        "An episode lasts from opening to end and counts on the day it opened. Hours run from the time it could be known until it was acted on; an episode not acted on counts as longer than any other. A signal that ends once corrected needs no other action and counts as not acted on only while it is open. Late: reported more than a week after it opened.",
    );
    for (name, why) in &signals.off {
        section = section.say(format!("{name} is turned off: {}.", visible(why)));
    }
    if !signals.not_known.is_empty() {
        section = section.say(format!("Not known for {}.", signals.not_known.join(", ")));
    }
    section
        .show(
            &["signal", "urgency", "episodes", "median h", "not acted on", "late"],
            signals.by_name.iter().flatten().map(row),
        )
        .show(
            &["ends once corrected", "episodes", "ended", "median h to end", "open"],
            signals.by_name.iter().flatten().filter_map(remedied),
        )
}

/// Builds the row of a signal that ends once corrected.
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
    Section::new("Line pulls and organisms")
        .say(format!(
            "{} of the line: {} per 1,000 device-days (95 % limits {}).",
            count(report.trauma.events as i64, "pull"),
            Cell::number(rate.rate, 2),
            Cell::Limits(rate.low, rate.high, 2)
        ))
        .say(match report.organisms.is_empty() {
            true => "No determination in the period names an organism.",
            false => "Organisms named in the determinations of the period; an infection can have several.",
        })
        .show(&["organism", "infections"], organisms)
}

pub(super) fn households(report: &AuditReport) -> Section {
    let (teaching, supplies) = (&report.teaching, &report.supplies);
    let n = |count: Option<u64>| count.map_or("not known".to_owned(), |count| count.to_string());
    Section::new("Households on the last day")
        .say(format!(
            "Caregivers of patients on support: {}; signed off {}, lapsed {}. Changes in the period by a household member who was neither signed off nor taught that day: {}.",
            teaching.caregivers,
            n(teaching.signed_off),
            n(teaching.lapsed),
            n(teaching.changes_by_untaught)
        ))
        .say(format!(
            "At home: {}; with an item to order by then: {}; for {} it is not known.",
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
    Section::new("Data quality")
        .say(format!(
            "{} in the period: {} from households that report by log, {} others. A late entry is entered more than 72 hours after the event. Proportions are of the records in the same row; for scores, of the {}.",
            count(quality.events as i64, "record"),
            thousands(by_log as i64),
            thousands(others as i64),
            count(quality.scores as i64, "score")
        ))
        .show(
            &["measure", "number", "proportion"],
            [
                row("late entries, households by log", late_by_log, of(late_by_log, by_log)),
                row("late entries, all others", late_others, of(late_others, others)),
                row("amended", quality.amended, of(quality.amended, quality.events)),
                row("voided (not in the number of records)", quality.voided, Cell::Empty),
                row("time not recorded", quality.times_unknown, of(quality.times_unknown, quality.events)),
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
        (None, _) => "The records are not in a git commit, so this report cannot be reproduced from one.".to_owned(),
        (Some(commit), Some(true)) => format!(
            "The records are at commit {}, and the folder has uncommitted changes, so this report cannot be reproduced from that commit alone.",
            short(commit)
        ),
        (Some(commit), _) => format!("The records are at commit {}.", short(commit)),
    };
    let policy = match (&from.policy_commit, from.policy_changed_on) {
        (Some(commit), Some(day)) => format!(" The policy last changed in {} on {day}.", short(commit)),
        _ => String::new(),
    };
    Section::new("Sources and methods")
        .say(format!("{records}{policy} The records are pseudonymous: the codes can be linked back to persons."))
        .say("Rates: exact Poisson limits (Garwood 1936) and mid-P limits. Ratio: exact and mid-P, conditional on the total. Proportions: Wilson score; design effect after Rao and Scott 1992. Incidence: Aalen–Johansen; freedom: Kaplan–Meier, Greenwood, log–log limits. Charts: probability limits of 0.00135 in each tail; three standard errors for proportions.")
}
