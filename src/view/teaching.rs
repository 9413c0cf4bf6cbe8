//! Teaching for a person: who has lapsed, who is being taught and what is missing, who is signed off, who may sign.

use chrono::NaiveDate;

use super::{Look, hanging, paragraph, unusable};
use crate::day::plus;
use crate::report::Report;
use crate::report::teaching::{Discharge, Learner, Line, LineState, TeachingReport, Unlisted};
use crate::teaching::{Checkoff, Lack, MissingStep, Objection, Progress, Standing};
use crate::text::{count, visible};

/// The teaching as text; with `within` only who has lapsed or lapses within so many days.
pub(crate) fn teaching(report: &Report<TeachingReport>, today: NaiveDate, within: Option<i64>, look: Look) -> String {
    let body = &report.body;
    let mut out = unusable(look, &report.unusable);
    let all: Vec<(&Learner, &Standing)> = body
        .people
        .iter()
        .flat_map(|learner| learner.standings.iter().flatten().map(move |standing| (learner, standing)))
        .collect();
    let in_state = |state: Progress| all.iter().filter(move |(_, standing)| standing.state == state);
    let not_known: Vec<String> = body.people.iter().filter(|learner| learner.standings.is_none()).map(name).collect();
    if !not_known.is_empty() {
        out.push_str(&hanging(look, &format!("Not known: {}", not_known.join(", ")), "  "));
        out.push('\n');
    }
    let mut section = |heading: &str, rows: Vec<&(&Learner, &Standing)>| {
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
        Some(codes) if codes.is_empty() => "nobody".to_owned(),
        Some(codes) => codes.join(", "),
    };
    out.push_str(&hanging(look, &format!("May sign today: {may_sign}"), "  "));
    for why in Unlisted::ALL {
        let codes: Vec<&str> =
            body.not_listed.iter().filter(|one| one.why == *why).map(|one| one.code.as_str()).collect();
        if codes.is_empty() {
            continue;
        }
        out.push_str(&hanging(look, &format!("Not listed, {why}: {}", codes.join(" ")), "  "));
    }
    out.push_str(&paragraph(look, "A sign-off is what the records say of it, not a permission."));
    out
}

/// The person, and the household where that is not plain.
fn name(learner: &Learner) -> String {
    match &learner.patient {
        Some(patient) => format!("{} of {}", visible(&learner.person), visible(patient)),
        None => visible(&learner.person),
    }
}

/// What a checkoff that was just written does: whether it counts, and how far its learner is.
pub(super) fn learned(learner: &Learner, standing: &Standing, files: &[String], look: Look) -> String {
    let says = |checkoff: &Checkoff| match checkoff.why_not.as_slice() {
        [] => "  The checkoff counts toward a sign-off.".to_owned(),
        why => format!("  The checkoff does not count toward a sign-off: {}", visible(&objections(why))),
    };
    let written = standing.checkoffs.iter().filter(|checkoff| files.contains(&checkoff.file));
    let counts: String = written.map(|checkoff| hanging(look, &says(checkoff), "    ")).collect();
    counts + &row(learner, standing, files, look)
}

/// One person in one curriculum; of the checkoffs that do not count not those in `said`.
fn row(learner: &Learner, standing: &Standing, said: &[String], look: Look) -> String {
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

/// How far somebody is in a curriculum.
pub(super) fn standing_words(standing: &Standing) -> String {
    let what = format!("{} version {}", visible(&standing.curriculum), standing.version);
    let qualifying = format!("qualifying {} of {}", standing.qualifying, standing.needed);
    match (standing.state, standing.until, standing.lapsed_since) {
        (Progress::SignedOff, Some(until), _) => {
            let older = if standing.older_version { ", in an older version; the newest is not taught yet" } else { "" };
            format!("{what}, signed off until {until}{older}")
        }
        (Progress::Suspended, ..) => {
            format!("{what}, sign-off suspended until the next qualifying return demonstration")
        }
        (Progress::Lapsed, _, Some(since)) => format!("{what}, lapsed since {since}, {qualifying}"),
        (Progress::InTraining, ..) => format!("{what}, in training, {qualifying}"),
        _ => format!("{what}, not started"),
    }
}

/// The return demonstration that failed after a sign-off and is not made up for, with its steps.
pub(super) fn failed_words(standing: &Standing) -> Option<String> {
    let failed = standing.failed.as_ref()?;
    Some(format!("return demonstration of {} failed: {}", failed.on, visible(&failed.steps.join(", "))))
}

/// What is missing: checkoffs, and step by step what was not done unaided; critical ones are marked.
fn missing(standing: &Standing, said: &[String]) -> Vec<String> {
    let more = standing.needed - standing.qualifying;
    let mut lines = Vec::new();
    if more > 0 {
        let another = if standing.qualifying > 0 { "on another day" } else { "on different days" };
        let another = if more == 1 && standing.qualifying == 0 { "" } else { another };
        lines.push(format!("missing: {} {another}", count(more, "qualifying checkoff")).trim_end().to_owned());
    }
    if standing.missing.len() > 1
        && standing.missing.len() as i64 == standing.steps
        && standing.missing.iter().all(|step| step.last == Lack::NotDone)
    {
        let critical = standing.missing.iter().filter(|step| step.critical).count();
        lines.push(format!("every step: none of {} was done yet, {critical} of them critical", standing.steps));
    } else {
        lines.extend(standing.missing.iter().map(step_words));
    }
    let in_vain = standing.checkoffs.iter().rev().filter(|checkoff| !checkoff.counts);
    for checkoff in in_vain.take(2).filter(|checkoff| !said.contains(&checkoff.file)) {
        let why = visible(&objections(&checkoff.why_not));
        lines.push(format!("{} by {} does not count: {why}", checkoff.on, visible(&checkoff.observer)));
    }
    lines
}

fn objections(why: &[Objection]) -> String {
    why.iter().map(Objection::to_string).collect::<Vec<_>>().join("; ")
}

fn step_words(step: &MissingStep) -> String {
    let mark = if step.critical { "! " } else { "" };
    format!("{mark}{} {}: {}", visible(&step.step), step.last.to_string().replace('-', " "), visible(&step.text))
}

/// A line of the checklist that is not met, as a sentence.
pub(crate) fn unmet(line: &Line) -> Option<String> {
    let needs = line.needs.to_string().replace('-', " ");
    let state = line.state.to_string().replace('-', " ");
    (line.state != LineState::Met)
        .then(|| format!("Discharge checklist: {needs}: {state}; {}", visible(&line.why.to_string())))
}

/// The discharge checklist.
pub(crate) fn checklist(discharge: &Discharge, look: Look) -> String {
    let planned = match discharge.planned_on {
        Some(day) => format!("move home planned for {day}"),
        None => "no move home planned".to_owned(),
    };
    let head = format!("Discharge of {}, dressing care only: {planned}", visible(&discharge.patient));
    let mut out = hanging(look, &head, "  ");
    for line in &discharge.lines {
        let mark = match line.state {
            LineState::Met => "[x]",
            LineState::NotMet => "[ ]",
            LineState::NotKnown => "[?]",
        };
        let plain = |word: String| word.replace('-', " ");
        let (needs, state) = (plain(line.needs.to_string()), plain(line.state.to_string()));
        out.push_str(&hanging(
            look,
            &format!("  {mark} {needs}: {state}; {}", visible(&line.why.to_string())),
            "      ",
        ));
    }
    out.push_str("  A checklist, not a permission.\n\n");
    out
}
