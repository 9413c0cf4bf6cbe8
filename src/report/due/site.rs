//! The facts of one exit site's row, read from a chart.

use schemars::JsonSchema;
use serde::Serialize;

use super::row::{AnchorSaid, Hidden, LastContact, LastScore, SiteRow};
use crate::chart::Chart;
use crate::day::WallTime;
use crate::event::{At, Event, Kind, Signal};
use crate::patient::Exit;
use crate::report::grade::graded;
use crate::schedule::{Due, Schedule};
use crate::signal::{Episode, Observation, Urgency};
use crate::timeline::Timeline;

/// A signal that is open.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenSignal {
    /// Its name.
    pub name: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// The exit site, where it is closed and has no row of its own.
    pub closed_exit: Option<String>,
    /// When it rose.
    pub since: WallTime,
    /// The latest observation behind it.
    pub evidence: Option<Observation>,
    /// Whether it was acted on.
    #[serde(rename = "answered")]
    pub is_answered: bool,
    /// Whether its latest news was acted on, too.
    #[serde(rename = "news_answered")]
    pub is_news_answered: bool,
}

/// The facts of a patient that every row carries.
#[derive(Debug)]
pub(super) struct Shared<'a> {
    pub(super) chart: &'a Chart<'a>,
    pub(super) timeline: &'a Timeline<'a>,
    pub(super) exits: &'a [&'a Exit],
    pub(super) signed_off: Option<Vec<String>>,
}

impl SiteRow {
    /// The row of an exit site without its signals. An answer that a file that cannot be used may hide is not known.
    pub(super) fn of(shared: &Shared, schedule: &Schedule) -> SiteRow {
        let Shared { chart, timeline, .. } = *shared;
        let (patient, exit, today) = (schedule.patient, schedule.exit, timeline.today);
        let calendar = &patient.calendar;
        let mut due = Due::of(schedule, timeline);
        let at = |event: &Event| At::of(&event.when, calendar);
        let rules = chart.rules;
        let graded = rules.scoring().and_then(|scoring| graded(rules, scoring, timeline, exit).pop());
        let said = timeline.anchor(exit);
        let contact = timeline.contacts().next_back();
        let promised = due.promise.as_ref().map(|promise| promise.file.as_str());
        let promised = timeline.contacts().find(|(event, _)| Some(event.file()) == promised);
        let hides = |kinds: &[Kind], used: Option<&Event>| !chart.unread.later_than(used, kinds).is_empty();
        let not_known: Vec<Hidden> = [
            (Hidden::Anchor, hides(&Kind::all_with(|kind| kind.has_anchor), said.map(|(event, _)| event))),
            (Hidden::Score, hides(&Kind::all_with(|kind| kind.has_site), graded.as_ref().map(|graded| graded.event))),
            (Hidden::LastContact, hides(&[Kind::Contact], contact.map(|(event, _)| event))),
            (Hidden::Promise, hides(&[Kind::Contact], promised.map(|(event, _)| event))),
        ]
        .into_iter()
        .filter_map(|(what, is_hidden)| is_hidden.then_some(what))
        .collect();
        let is_known = |what| !not_known.contains(&what);
        due.promise = due.promise.filter(|_| is_known(Hidden::Promise));
        SiteRow {
            patient: patient.code.clone(),
            exit: exit.id.clone(),
            at: exit.at,
            exits: shared.exits.len(),
            due_from: due.due_on.map(|day| calendar.local(calendar.start(day), day)),
            begins: schedule.start(),
            closed_on: exit.until.filter(|until| *until <= today),
            ended: patient.ended.clone().filter(|ended| ended.on <= today),
            days_elsewhere: patient.days_elsewhere(today),
            today,
            place: patient.place(today),
            pod: schedule.pod(today),
            anchor: said.filter(|_| is_known(Hidden::Anchor)).map(|(event, state)| AnchorSaid { state, at: at(event) }),
            intolerances: patient.intolerances.clone(),
            score: graded.filter(|_| is_known(Hidden::Score)).map(|graded| LastScore {
                total: graded.score.total(),
                total_min: graded.score.total_min,
                total_max: graded.score.total_max,
                band: graded.score.band.clone(),
                at: at(graded.event),
            }),
            signals: None,
            last_contact: contact
                .filter(|_| is_known(Hidden::LastContact))
                .map(|(event, contact)| LastContact { at: at(event), outcome: contact.outcome }),
            end_reported: timeline.is_end_reported(rules.people),
            signed_off: shared.signed_off.clone(),
            ahead: (!chart.as_of().is_given).then(|| chart.ahead.clone()),
            not_known,
            due,
        }
    }

    /// Takes the open signals of the exit site and of the patient, and those of an exit site that has no row of its own.
    ///
    /// Where a file cannot be used (`is_complete` is false) those that are known are given, and no list says that there
    /// is none.
    pub(super) fn watch(&mut self, open: &[Episode], is_complete: bool, exits: &[&Exit]) {
        let has_row = |id: &Option<String>| exits.iter().any(|exit| id.as_ref() == Some(&exit.id));
        let is_own = |id: &Option<String>| id.as_ref() == Some(&self.exit) || !has_row(id);
        let signal = |episode: &Episode| OpenSignal {
            name: episode.signal,
            urgency: episode.urgency,
            closed_exit: episode.exit.clone().filter(|_| !has_row(&episode.exit)),
            since: episode.since,
            evidence: episode.evidence.last().map(|said| said.what.clone()),
            is_answered: episode.answered.is_some(),
            is_news_answered: episode.news_answered,
        };
        let mut signals: Vec<OpenSignal> = open.iter().filter(|episode| is_own(&episode.exit)).map(signal).collect();
        signals.sort_by_key(|signal| (signal.urgency, signal.is_answered));
        self.signals = (is_complete || !signals.is_empty()).then_some(signals);
    }
}
