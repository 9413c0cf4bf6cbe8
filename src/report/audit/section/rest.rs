//! Signals, what came before infections, pulls, households, the quality of the data, and where the figures come from.

use super::{Section, known, limits};
use crate::report::audit::{AuditReport, Before, SignalCount, SignalCounts};
use crate::text::{count, thousands, visible};

pub(super) fn signals(signals: &SignalCounts) -> Section {
    let hours = |median: Option<f64>| known(median, 0);
    let row = |one: &SignalCount| {
        vec![
            one.signal.to_string(),
            one.urgency.to_string(),
            one.episodes.to_string(),
            hours(one.median_hours_to_answer),
            one.unanswered.to_string(),
            one.learnt_late.to_string(),
        ]
    };
    let unanswered = signals.unanswered.unwrap_or_default();
    let meaning = match (signals.episodes, signals.median_hours_to_answer) {
        (None, _) => "Not known, since policy.toml or people.toml cannot be used.".to_owned(),
        (Some(0), _) => "No signal rose in the period.".to_owned(),
        (Some(n), Some(median)) => format!(
            "{} rose; half were answered within {median:.0} hours of when they could be known; {unanswered} have no answer.",
            count(n as i64, "signal"),
        ),
        (Some(n), None) => format!(
            "{} rose; half of them or more have no answer ({unanswered}), so there is no median.",
            count(n as i64, "signal"),
        ),
    };
    let mut section = Section::new("Signals").say(meaning).say(
        "An episode is one rise to its end, counted by the day it rose. Hours to an answer run from when it could be known; one without an answer counts as longer than any. Learnt late: written down more than a week after it rose.",
    );
    for (name, why) in &signals.off {
        section = section.say(format!("{name} is turned off: {}.", visible(why)));
    }
    if !signals.not_known.is_empty() {
        section = section.say(format!("Not known of {}.", signals.not_known.join(", ")));
    }
    section.show(
        &["signal", "urgency", "episodes", "median hours", "no answer", "learnt late"],
        signals.by_name.iter().flatten().map(row).collect(),
    )
}

pub(super) fn before_infection(all: &[Before]) -> Option<Section> {
    let section = Section::new("Before each infection").say(
        "What is on file of the 30 days before each onset; beside it the same per 30 days of that patient's own earlier time, the year before those days, and of the whole program in the period, both over the days of which somebody has told. Not a cause.",
    );
    let add = |section: Section, before: &Before| {
        let own = before.own_per_30_days.map(|counts| counts.named());
        let program = before.program_per_30_days.map(|counts| counts.named());
        let who = format!("{} {}", before.patient, before.onset);
        let Some(window) = before.window else {
            return section.say(match before.window_days_covered {
                0 => format!("{who}: nobody has told of any of the days before."),
                _ => format!("{who}: not known, since a file that could say so cannot be used."),
            });
        };
        let row = |(n, (name, count)): (usize, (&str, u64))| {
            vec![
                name.to_owned(),
                count.to_string(),
                known(own.map(|own| own[n].1), 2),
                known(program.map(|program| program[n].1), 2),
            ]
        };
        let rows = window.named().into_iter().enumerate().map(row).collect();
        let section = match before.window_days_covered {
            30 => section,
            0 => section.say(format!("{who}: this is all that was told of the 30 days before.")),
            days => {
                section.say(format!("{who}: of the 30 days before, {days} are on file; of the others nobody has told."))
            }
        };
        section.show(&[who.as_str(), "30 days before", "own, per 30", "program, per 30"], rows)
    };
    (!all.is_empty()).then(|| all.iter().fold(section, add))
}

pub(super) fn pulls_and_organisms(report: &AuditReport) -> Section {
    let rate = &report.trauma.per_1000_device_days;
    let organisms = report.organisms.iter().map(|one| vec![visible(&one.name), one.infections.to_string()]).collect();
    Section::new("Pulls and organisms")
        .say(format!(
            "{} on the line: {} per 1,000 device-days, 95 % {}.",
            count(report.trauma.events as i64, "pull"),
            known(rate.rate, 2),
            limits(rate.low, rate.high, 2)
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
            "At home: {}; with an item to be ordered by then: {}; of {} that is not known.",
            count(supplies.households as i64, "household"),
            supplies.short,
            supplies.unknown
        ))
}

pub(super) fn data_quality(report: &AuditReport) -> Section {
    let quality = &report.data_quality;
    let of = |n: u64| match quality.events {
        0 => "-".to_owned(),
        all => format!("{:.1} %", n as f64 * 100.0 / all as f64),
    };
    let row = |name: &str, n: u64, share: String| vec![name.to_owned(), thousands(n as i64), share];
    Section::new("Quality of the data")
        .say(format!("{} of the period count.", count(quality.events as i64, "record")))
        .show(
            &["what", "how many", "of the records"],
            vec![
                row("entered more than 72 hours after", quality.late_entries, of(quality.late_entries)),
                row("amended", quality.amended, of(quality.amended)),
                row("voided, not among them", quality.voided, String::new()),
                row("only the day known", quality.times_unknown, of(quality.times_unknown)),
                row("scores with an item not looked at", quality.incomplete_scores, of(quality.incomplete_scores)),
                row("patient-days nobody has told of", quality.days_not_covered, String::new()),
                row("gaps between logs", quality.log_gaps, String::new()),
            ],
        )
}

pub(super) fn sources(report: &AuditReport) -> Section {
    let short = |commit: &str| commit.get(..12).unwrap_or(commit).to_owned();
    let records = match (&report.records_commit, report.uncommitted_changes) {
        (None, _) => "The records are in no git commit, so this report cannot be made again from one.".to_owned(),
        (Some(commit), Some(true)) => format!(
            "The records are at commit {}, and the folder has changes that are in no commit: this report cannot be made again from that commit alone.",
            short(commit)
        ),
        (Some(commit), _) => format!("The records are at commit {}.", short(commit)),
    };
    let policy = match (&report.policy_commit, report.policy_changed_on) {
        (Some(commit), Some(day)) => format!(" The policy last changed at {} on {day}.", short(commit)),
        _ => String::new(),
    };
    Section::new("Where the figures come from")
        .say(format!("{records}{policy} The records are pseudonymous: codes stand for people who can be found again."))
        .say("Rates: exact Poisson limits (Garwood 1936) and mid-P limits. Ratio: exact and mid-P, conditional on the total. Shares: Wilson score; design effect after Rao and Scott 1992. Incidence: Aalen–Johansen; freedom: Kaplan–Meier, Greenwood, log–log limits. Charts: probability limits of 0.00135 on each side; three standard errors for shares.")
}
