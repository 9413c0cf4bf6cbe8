//! One patient's story: course, orders, timeline, score trend, and the next change with its reason.

mod criteria;

pub use criteria::{CRITERIA_DAYS, Criteria, Feature, FeatureRecord};

use std::collections::BTreeMap;

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::infection::{UnderTreatment, under_treatment};
use super::supplies;
use super::teaching::{Learner, learners};
use super::{At, due, grade};
use crate::chart::Chart;
use crate::day::{Calendar, Period};
use crate::event::{Certainty, Event, Fact, InfectedPart, Kind, Remedy, Signal, Source};
use crate::patient::{Ended, ExitReason, Reports, Where};
use crate::policy::CarePlace;
use crate::problem::Problem;
use crate::rules::Rules;
use crate::score::ScoredSite;
use crate::signal::{Episode, SignalInputs, not_known, off_today};
use crate::supply::Stock;
use crate::timeline::Timeline;

/// One patient's story.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct ShowReport {
    /// The patient's code.
    pub patient: String,
    /// The date of implant; like the next fields, null if patient.toml is invalid.
    pub implanted: Option<NaiveDate>,
    /// The first day of the records.
    pub records_from: Option<NaiveDate>,
    /// Materials that the patient does not tolerate.
    pub intolerances: Option<Vec<String>>,
    /// The exit sites.
    pub exits: Vec<ExitSummary>,
    /// The patient's places over time.
    pub care: Vec<Care>,
    /// The orders.
    pub orders: Vec<Order>,
    /// The caregivers' codes.
    pub caregivers: Vec<String>,
    /// The end of support.
    pub ended: Option<Ended>,
    /// The due change; null if the policy is invalid.
    pub due: Option<Vec<due::Row>>,
    /// Open signals; null if unknown.
    pub signals: Option<Vec<Episode>>,
    /// Signals of today that the program's policy has turned off, with the reason.
    pub off: BTreeMap<String, String>,
    /// Signals that cannot be computed for any patient because people.toml or a part of policy.toml is invalid.
    pub signals_not_known: Vec<Signal>,
    /// Open infections and ongoing treatments; null if there are none.
    pub under_treatment: Option<UnderTreatment>,
    /// The household's supplies; null if not known.
    pub supplies: Option<Vec<Stock>>,
    /// Sign-offs of the household.
    pub teaching: Vec<Learner>,
    /// Features of the published definitions around each infection on file, without any conclusion.
    pub infection_criteria: Vec<Criteria>,
    /// The period of the timeline and the scores; null for all.
    pub period: Option<Period>,
    /// The scores of each exit site, in order.
    pub scores: Vec<Scores>,
    /// The events, newest first.
    pub timeline: Vec<Happened>,
}

/// An exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExitSummary {
    /// The exit site's id.
    pub id: String,
    /// The location on the abdomen.
    #[serde(rename = "where")]
    pub at: Where,
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub until: Option<NaiveDate>,
    /// The reason for the exit site.
    pub why: ExitReason,
    /// The postoperative day today.
    pub pod: i64,
}

/// The patient's place from a day on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Care {
    /// The first day.
    pub from: NaiveDate,
    /// The place.
    pub place: CarePlace,
    /// The household's way of reporting.
    pub reports: Reports,
    /// The time zone, if it differs from the policy's.
    pub time_zone: Option<String>,
}

/// A clinician's order.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Order {
    /// The first day.
    pub from: NaiveDate,
    /// The last day.
    pub until: Option<NaiveDate>,
    /// The order in words.
    pub says: String,
    /// The exit site; null for all.
    pub exit: Option<String>,
    /// The code of the prescriber.
    pub by: String,
    /// The reason.
    pub why: Option<String>,
    /// True if the order is in force today.
    pub runs_today: bool,
}

/// The scores of one exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Scores {
    /// The exit site's id.
    pub exit: String,
    /// The maximum score of the rubric.
    pub most: i64,
    /// The scored site records.
    pub points: Vec<ScoredSite>,
}

/// One event.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Happened {
    /// The time.
    pub at: At,
    /// The file.
    pub file: String,
    /// The kind.
    pub kind: Kind,
    /// The exit site, if the record names one.
    pub exit: Option<String>,
    /// The person who did or saw it.
    pub by: String,
    /// The way the facts reached the records.
    pub source: Source,
    /// The last day of a treatment, or the day an infection resolved; null if neither had come by then.
    pub until: Option<NaiveDate>,
    /// The treatment; null for any other kind.
    pub treatment: Option<Remedy>,
    /// The infected part; null for any other kind.
    pub part: Option<InfectedPart>,
    /// The certainty of the infection; null for any other kind.
    pub certainty: Option<Certainty>,
    /// The onset of the infection; null for any other kind.
    pub onset: Option<NaiveDate>,
    /// True if the culture grew; null for any other kind, or if there was no result by then.
    pub growth: Option<bool>,
    /// The facts in words.
    pub words: String,
    /// The note.
    pub note: Option<String>,
    /// The reason for voiding it, if it was voided.
    pub voided: Option<String>,
    /// The number of amendments.
    pub amended: usize,
}

/// The text of an event, written by `view`.
#[derive(Debug, Clone)]
pub struct EventText {
    /// The facts.
    pub words: String,
    /// The reason for voiding it.
    pub voided: Option<String>,
}

/// Builds one patient's story, for a period or for all time. `text_of` puts an event and the reason for voiding it into
/// words. Requires the windows `Everything`, `Signals` and `Recent`.
pub fn story(
    chart: &Chart,
    period: Option<Period>,
    text_of: impl Fn(&Event, Option<&Problem>) -> EventText,
) -> ShowReport {
    let (rules, patient, timeline) = (chart.rules, &chart.patient, chart.timeline());
    let is_stock_known = !chart.unread.blocks(&[Kind::Supply, Kind::Change]);
    let is_teaching_known = !chart.unread.blocks(&[Kind::Teaching]);
    let (as_of, today) = (chart.as_of(), timeline.today);
    let in_period = |event: &&Event| period.is_none_or(|period| period.contains(event.when.care_day));
    let exists = |event: &&Event| event.exists(&patient.calendar, as_of.instant);
    let mut shown: Vec<&Event> = chart.all_events().filter(exists).filter(in_period).collect();
    shown.sort_by_cached_key(|event| std::cmp::Reverse(event.order()));
    let happened = |event: &&Event| {
        let problem = patient.exit_problem(event).filter(|_| event.void.is_none());
        Happened::of(event, &patient.calendar, today, text_of(event, problem.as_ref()))
    };
    let scores = scores(rules, &timeline, period);
    ShowReport {
        patient: patient.code.clone(),
        implanted: Some(patient.implanted),
        records_from: Some(patient.records_from),
        intolerances: Some(patient.intolerances.clone()),
        exits: patient
            .exits
            .iter()
            .map(|exit| ExitSummary {
                id: exit.id.clone(),
                at: exit.at,
                from: exit.from,
                until: exit.until,
                why: exit.why,
                pod: (today - exit.from).num_days(),
            })
            .collect(),
        care: patient
            .care
            .iter()
            .map(|row| Care {
                from: row.from,
                place: row.place,
                reports: row.reports,
                time_zone: row.time_zone.map(|zone| zone.to_string()),
            })
            .collect(),
        orders: patient.orders.iter().map(|order| Order::of(order, today)).collect(),
        caregivers: patient.caregivers.iter().map(|caregiver| caregiver.code.clone()).collect(),
        ended: patient.ended.as_ref().map(Ended::from),
        due: rules.plan().map(|_| due::rows(chart)),
        signals: signals(rules, &timeline, chart.unread.is_empty()),
        off: off_today(rules),
        signals_not_known: not_known(rules),
        under_treatment: under_treatment(chart),
        supplies: rules.policy.filter(|_| is_stock_known).and_then(|policy| supplies::of_timeline(policy, &timeline)),
        teaching: learners(rules, patient, timeline.events(), today, is_teaching_known),
        infection_criteria: criteria::of(rules.policy, &timeline),
        period,
        scores,
        timeline: shown.iter().map(happened).collect(),
    }
}

/// Returns the open signals. If a file is invalid, only the known ones; `None`, never an empty list, if none is known.
fn signals(rules: Rules, timeline: &Timeline, is_complete: bool) -> Option<Vec<Episode>> {
    let watch = SignalInputs::of(rules, timeline)?;
    let mut signals = watch.episodes();
    signals.retain(Episode::is_open);
    signals.sort_by_key(|signal| (signal.urgency, signal.news_answered, signal.signal, signal.since));
    let is_complete = is_complete && not_known(rules).is_empty();
    (is_complete || !signals.is_empty()).then_some(signals)
}

fn scores(rules: Rules, timeline: &Timeline, period: Option<Period>) -> Vec<Scores> {
    let Some(scoring) = rules.scoring() else { return Vec::new() };
    let most = scoring.rubric.items.iter().map(|item| item.most()).sum();
    let of_exit = |exit: &crate::patient::ExitSite| {
        let graded = grade::graded(rules, scoring, timeline, exit);
        let in_period =
            graded.iter().filter(|graded| period.is_none_or(|period| period.contains(graded.event.when.care_day)));
        let points = in_period.map(|graded| graded.assessment(scoring, &timeline.patient.calendar)).collect();
        Scores { exit: exit.id.clone(), most, points }
    };
    timeline.patient.exits.iter().map(of_exit).collect()
}

impl Order {
    fn of(order: &crate::patient::CareOrder, today: NaiveDate) -> Order {
        let says = order.interval.as_ref().map_or("no showers".to_owned(), ToString::to_string);
        let runs_today = order.from <= today && order.until.is_none_or(|until| today <= until);
        Order {
            from: order.from,
            until: order.until,
            says,
            exit: order.exit.clone(),
            by: order.by.clone(),
            why: order.why.clone(),
            runs_today,
        }
    }
}

impl Happened {
    fn of(event: &Event, calendar: &Calendar, today: NaiveDate, text: EventText) -> Happened {
        let (treatment, infection) = match &event.fact {
            Fact::Treatment(treatment) => (Some(treatment), None),
            Fact::Infection(infection) => (None, Some(infection)),
            _ => (None, None),
        };
        let until =
            treatment.and_then(|treatment| treatment.until).or(infection.and_then(|infection| infection.resolved));
        let growth = match &event.fact {
            Fact::Culture(culture) => culture.result_by(today).map(|result| result.growth),
            _ => None,
        };
        Happened {
            at: At::of(&event.when, calendar),
            file: event.file().to_owned(),
            kind: event.name.kind,
            exit: event.exit.clone(),
            by: event.by.clone(),
            source: event.source,
            until: until.filter(|day| *day <= today),
            treatment: treatment.map(|treatment| treatment.what),
            part: infection.map(|infection| infection.part),
            certainty: infection.map(|infection| infection.certainty),
            onset: infection.map(|infection| infection.onset),
            growth,
            words: text.words,
            note: event.note.clone(),
            voided: text.voided,
            amended: event.amended.len(),
        }
    }
}
