//! Teaching as text: lapsed sign-offs, learners in training with the steps they still need, valid sign-offs, and the staff
//! who may sign off others.

use chrono::NaiveDate;

use super::day::short_day;
use super::due::lasting;
use super::{TextStyle, hanging, off_word, paragraph, unusable, words};
use crate::day::plus;
use crate::report::Report;
use crate::report::teaching::{
    Discharge, DischargeRequirement, Learner, Line, LineState, Needed, OpenChange, Reason, TeachingReport, Unlisted,
};
use crate::schedule::Because;
use crate::supply::FirstDays;
use crate::teaching::{Checkoff, CurriculumProgress, Lack, MissingStep, MoveHome, Objection, Progress};
use crate::text::{count, visible};
use crate::word::Word;

/// Renders the teaching as text; with `within`, only sign-offs that have lapsed or lapse within that many days.
pub(crate) fn teaching(
    report: &Report<TeachingReport>,
    today: NaiveDate,
    within: Option<i64>,
    look: TextStyle,
) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let all: Vec<(&Learner, &CurriculumProgress)> = body
        .people
        .iter()
        .flat_map(|learner| learner.standings.iter().flatten().map(move |standing| (learner, standing)))
        .collect();
    let in_state = |state: Progress| all.iter().filter(move |(_, standing)| standing.state == state);
    let not_known: Vec<String> = body.people.iter().filter(|learner| learner.standings.is_none()).map(name).collect();
    let counts = Progress::ALL.iter().filter_map(|state| {
        let n = in_state(*state).count();
        (n > 0).then(|| format!("{n} {}", progress(*state)))
    });
    let counts: Vec<String> = counts.collect();
    if !counts.is_empty() {
        out.push_str(&hanging(look, &format!("Curricula by person: {}.", counts.join(", ")), "  "));
    }
    if !not_known.is_empty() {
        out.push_str(&hanging(look, &format!("Not known: {}", not_known.join(", ")), "  "));
    }
    out.push('\n');
    if !body.moving_home.is_empty() {
        out.push_str("Moving home, not enough caregivers signed off\n");
        for home in &body.moving_home {
            let line = format!("  {}: {}", visible(&home.patient), move_home(home, today));
            out.push_str(&hanging(look, &line, "      "));
        }
        out.push('\n');
    }
    let mut section = |heading: &str, rows: Vec<&(&Learner, &CurriculumProgress)>| {
        if !rows.is_empty() {
            out.push_str(&format!("{heading}\n"));
            rows.iter().for_each(|(learner, standing)| out.push_str(&row(learner, standing, &[], look)));
            out.push('\n');
        }
    };
    section("Suspended", in_state(Progress::Suspended).collect());
    section("Lapsed", in_state(Progress::Lapsed).collect());
    match within {
        Some(days) => {
            let last = plus(today, days);
            let heading = format!("Lapses within {}", count(days, "day"));
            let mut rows: Vec<_> = in_state(Progress::SignedOff).collect::<Vec<_>>();
            rows.retain(|(_, standing)| standing.until.is_some_and(|until| until < last));
            rows.sort_by_key(|(_, standing)| standing.until);
            section(&heading, rows);
        }
        None => {
            section("In training", in_state(Progress::InTraining).collect());
            section("Not started", in_state(Progress::NotStarted).collect());
            section("Signed off", in_state(Progress::SignedOff).collect());
        }
    }
    for discharge in &body.discharge {
        out.push_str(&checklist(discharge, look));
    }
    let may_sign = match &body.may_sign {
        None => "not known".to_owned(),
        Some(codes) if codes.is_empty() => "no staff on file".to_owned(),
        Some(codes) => codes.join(", "),
    };
    out.push_str(&hanging(look, &format!("May sign off today: {may_sign}"), "  "));
    for why in Unlisted::ALL {
        let codes: Vec<&str> =
            body.not_listed.iter().filter(|one| one.why == *why).map(|one| one.code.as_str()).collect();
        if codes.is_empty() {
            continue;
        }
        out.push_str(&hanging(look, &format!("Not listed, {}: {}", unlisted(*why), codes.join(" ")), "  "));
    }
    out.push_str(&paragraph(look, "A sign-off documents training; it is not a permission."));
    out
}

/// Describes a move home without enough sign-offs: `moves home Mon Nov 30, no one signed off`.
pub(super) fn move_home(home: &MoveHome, today: NaiveDate) -> String {
    format!("moves home {}, {}", short_day(home.on, today), signed_off(home))
}

/// Describes the sign-offs on the day of a move home: `no one signed off`, `1 of 2 caregivers signed off`.
pub(super) fn signed_off(home: &MoveHome) -> String {
    match home.signed_off.len() {
        0 => "no one signed off".to_owned(),
        signed => format!("{signed} of {} signed off", count(home.needed, "caregiver")),
    }
}

fn progress(state: Progress) -> &'static str {
    match state {
        Progress::NotStarted => "not started",
        Progress::InTraining => "in training",
        Progress::SignedOff => "signed off",
        Progress::Suspended => "suspended",
        Progress::Lapsed => "lapsed",
    }
}

fn unlisted(why: Unlisted) -> &'static str {
    match why {
        Unlisted::NoNurse => "not a nurse, or not active today",
        Unlisted::SupportEnded => "support ended",
    }
}

/// Names the person, and the household if the code does not show it.
fn name(learner: &Learner) -> String {
    match &learner.patient {
        Some(patient) => format!("{} of {}", visible(&learner.person), visible(patient)),
        None => visible(&learner.person),
    }
}

/// Describes the effect of a new checkoff: passed or not, and the learner's progress.
pub(super) fn learned(learner: &Learner, standing: &CurriculumProgress, files: &[String], look: TextStyle) -> String {
    let says = |checkoff: &Checkoff| match checkoff.why_not.as_slice() {
        [] => "  Checkoff passed.".to_owned(),
        why => format!("  Checkoff not passed: {}", visible(&objections(why))),
    };
    let written = standing.checkoffs.iter().filter(|checkoff| files.contains(&checkoff.file));
    let counts: String = written.map(|checkoff| hanging(look, &says(checkoff), "    ")).collect();
    counts + &row(learner, standing, files, look)
}

/// Renders one person's standing in one curriculum, omitting checkoffs not passed that are in `said`.
fn row(learner: &Learner, standing: &CurriculumProgress, said: &[String], look: TextStyle) -> String {
    let mut out = hanging(look, &format!("  {}: {}", name(learner), standing_words(standing)), "      ");
    if let Some(failed) = failed_words(standing) {
        out.push_str(&hanging(look, &format!("      {failed}"), "        "));
    }
    if matches!(standing.state, Progress::InTraining | Progress::Lapsed) {
        for line in missing(standing, said) {
            out.push_str(&hanging(look, &format!("      {line}"), "        "));
        }
    }
    out
}

/// Describes a person's progress in a curriculum.
pub(super) fn standing_words(standing: &CurriculumProgress) -> String {
    let what = visible(&plain(&standing.curriculum));
    let passed = format!("{} of {} passed", standing.qualifying, standing.needed);
    match (standing.state, standing.until, standing.lapsed_since) {
        (Progress::SignedOff, Some(until), _) => {
            let older =
                if standing.older_version { ", for an older version; newest version not taught yet" } else { "" };
            format!("{what}, signed off until {until}{older}")
        }
        (Progress::Suspended, ..) => {
            format!("{what}, sign-off suspended until a return demonstration is passed")
        }
        (Progress::Lapsed, _, Some(since)) => format!("{what}, lapsed since {since}, {passed}"),
        (Progress::InTraining, ..) => format!("{what}, in training, {passed}"),
        _ => format!("{what}, not started"),
    }
}

/// Describes a failed return demonstration that suspends a sign-off, with its steps.
pub(super) fn failed_words(standing: &CurriculumProgress) -> Option<String> {
    let failed = standing.failed.as_ref()?;
    Some(format!("return demonstration of {} failed: {}", failed.on, visible(&plain(&failed.steps.join(", ")))))
}

/// Lists missing checkoffs and steps not done unaided; critical steps are marked.
fn missing(standing: &CurriculumProgress, said: &[String]) -> Vec<String> {
    let more = standing.needed - standing.qualifying;
    let mut lines = Vec::new();
    if more > 0 {
        let another = if standing.qualifying > 0 { "on another day" } else { "on different days" };
        let another = if more == 1 && standing.qualifying == 0 { "" } else { another };
        lines.push(format!("still needed: {} passed {another}", count(more, "checkoff")).trim_end().to_owned());
    }
    if standing.missing.len() > 1
        && standing.missing.len() as i64 == standing.steps
        && standing.missing.iter().all(|step| step.last == Lack::NotDone)
    {
        let critical = standing.missing.iter().filter(|step| step.critical).count();
        lines.push(format!("none of {} steps done yet, {critical} of them critical", standing.steps));
    } else {
        lines.extend(standing.missing.iter().map(step_words));
    }
    let in_vain = standing.checkoffs.iter().rev().filter(|checkoff| !checkoff.counts);
    for checkoff in in_vain.take(2).filter(|checkoff| !said.contains(&checkoff.file)) {
        let why = visible(&objections(&checkoff.why_not));
        lines.push(format!("not passed: {} with {}: {why}", checkoff.on, visible(&checkoff.observer)));
    }
    lines
}

fn objections(why: &[Objection]) -> String {
    why.iter().map(objection).collect::<Vec<_>>().join("; ")
}

/// Describes the reason why a checkoff is not passed.
pub(crate) fn objection(why: &Objection) -> String {
    match why {
        Objection::ObserverIsLearner => "observer and learner are the same person".to_owned(),
        Objection::MayNotSign(observer) => format!("{observer} is not authorized to sign off that day"),
        Objection::TaughtToOthers { curriculum, version, role } => {
            format!("{} version {version} is for {role}s", plain(curriculum))
        }
        Objection::NotInPolicy { curriculum, version } => {
            format!("{} version {version} is not in the policy", plain(curriculum))
        }
        Objection::NoDemonstration(mode) => format!("{}, not a return demonstration", plain(mode.word())),
        Objection::Missed(step) => format!("{} missed", plain(step)),
        Objection::Critical { step, how: Lack::Prompted } => {
            format!("needed prompting for {} (critical step)", plain(step))
        }
        Objection::Critical { step, how } => format!("{} {} (critical step)", plain(step), lack(*how)),
    }
}

fn lack(how: Lack) -> &'static str {
    match how {
        Lack::Prompted => "prompted",
        Lack::Missed => "missed",
        Lack::NotDone => "not done",
    }
}

fn plain(word: &str) -> String {
    word.replace('-', " ")
}

fn step_words(step: &MissingStep) -> String {
    let mark = if step.critical { "! " } else { "" };
    format!("{mark}{}: {}", lack(step.last), visible(&step.text))
}

/// Describes an unmet line of the checklist in a sentence.
pub(crate) fn unmet(line: &Line) -> Option<String> {
    let state = match line.state {
        LineState::Met => return None,
        LineState::NotMet => "not met",
        LineState::NotKnown => "not known",
    };
    Some(format!("Discharge checklist, {state}: {}", needed(line)))
}

/// `caregiver signed off: p014-spouse on 2026-11-24, 1 caregiver or the patient needed`
fn needed(line: &Line) -> String {
    let needs = match line.needs {
        DischargeRequirement::SignedOff => "caregiver signed off",
        DischargeRequirement::Supplies => "supplies",
        DischargeRequirement::NoSignalOfToday => "signals for today",
        DischargeRequirement::DressingCurrent => "dressing change current",
    };
    format!("{needs}: {}", visible(&reason(&line.why)))
}

fn reason(why: &Reason) -> String {
    match why {
        Reason::Unreadable => "cannot read patient.toml or policy.toml".to_owned(),
        Reason::SignOffsNotKnown => "sign-offs not known".to_owned(),
        Reason::SignedOff { home, signed, needed, suspended } => {
            let who = if signed.is_empty() { "none".to_owned() } else { signed.join(", ") };
            let suspended = suspended.iter().map(|(code, failed)| {
                let steps = plain(&failed.steps.join(", "));
                format!("; {code} suspended, {steps} missed or prompted on {}", failed.on)
            });
            let needed = count(*needed, "caregiver");
            format!("{who} on {home}, {needed} or the patient needed{}", suspended.collect::<String>())
        }
        Reason::ScheduleNotKnown => "next change not known".to_owned(),
        Reason::Changes(open) if open.is_empty() => "none overdue".to_owned(),
        Reason::Changes(open) => open.iter().map(open_change).collect::<Vec<_>>().join("; "),
        Reason::SuppliesNotKnown => "stock not known".to_owned(),
        Reason::Supplies(items) if items.is_empty() => "none set in the policy".to_owned(),
        Reason::Supplies(items) => items.iter().map(item).collect::<Vec<_>>().join("; "),
        Reason::Signals { open, is_known, off } => {
            let names: Vec<&str> = open.iter().map(|signal| words::signal(*signal)).collect();
            let open = match (names.is_empty(), is_known) {
                (false, _) => format!("{} open, {}", names.len(), names.join(", ")),
                (true, true) => "none open".to_owned(),
                (true, false) => "not all signals are known".to_owned(),
            };
            let off: Vec<String> = off.iter().map(|(name, why)| off_word(name, why)).collect();
            if off.is_empty() { open } else { format!("{open}; turned off by the policy: {}", off.join(", ")) }
        }
    }
}

/// `exit a overdue 4 h`, `exit a log overdue 5 d`, `exit a by 09:17 after a shower`
fn open_change(open: &OpenChange) -> String {
    let exit = &open.exit;
    let what = if open.because == Because::LogLate { "log overdue" } else { "overdue" };
    let why = match open.because {
        Because::AfterShower => " after a shower",
        Because::Damage => ", dressing damaged",
        _ => "",
    };
    match open.hours_overdue {
        Some(hours) => format!("exit {exit} {what} {}{why}", lasting(hours)),
        None => format!("exit {exit} change by {}{why}", open.deadline.0.format("%H:%M")),
    }
}

fn item(needed: &Needed) -> String {
    let FirstDays { from, to, needed: n } = needed.first;
    let on_hand = needed.on_hand.map_or("never counted".to_owned(), |left| format!("{left} on hand"));
    format!("{} {on_hand}, {n} needed from {from} to {to}", needed.item)
}

/// Renders the discharge checklist.
pub(crate) fn checklist(discharge: &Discharge, look: TextStyle) -> String {
    let planned = match discharge.planned_on {
        Some(day) => format!("move home planned for {day}"),
        None => "no move home planned".to_owned(),
    };
    let head = format!("Discharge of {}, dressing care only: {planned}", visible(&discharge.patient));
    let mut out = hanging(look, &head, "  ");
    for line in &discharge.lines {
        let mark = match line.state {
            LineState::Met => "[x] ",
            LineState::NotMet => "[ ] ",
            LineState::NotKnown => "[?] not known, ",
        };
        out.push_str(&hanging(look, &format!("  {mark}{}", needed(line)), "      "));
    }
    out.push_str("  A checklist, not a permission.\n\n");
    out
}
