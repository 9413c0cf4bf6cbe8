//! The row of one exit site, built from a chart.

use chrono::NaiveDate;

use super::noted::FindingInNote;
use super::open_signal::OpenSignal;
use super::row::{AnchorSaid, Hidden, LastContact, LastScore, Relative, SiteRow};
use crate::chart::Chart;
use crate::event::{At, Event, Fact, Kind};
use crate::patient::{Ended, ExitSite};
use crate::report::grade::graded;
use crate::report::infection::UnderTreatment;
use crate::schedule::{Because, Due, Schedule};
use crate::signal::Episode;
use crate::teaching::MoveHome;
use crate::timeline::Timeline;

/// The patient's facts that every row repeats.
#[derive(Debug)]
pub(super) struct Shared<'a> {
    pub(super) chart: &'a Chart<'a>,
    pub(super) timeline: &'a Timeline<'a>,
    pub(super) exits: &'a [&'a ExitSite],
    pub(super) open: Option<&'a [Episode]>,
    pub(super) signed_off: Option<Vec<String>>,
    pub(super) move_home: Option<MoveHome>,
    pub(super) noted: Vec<FindingInNote>,
}

impl SiteRow {
    /// Builds the row of an exit site. Fields that an invalid file may affect are not known.
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
        let clinical = UnderTreatment::of(timeline.of_exit(exit), timeline.today, chart.as_of().is_given);
        SiteRow {
            patient: patient.code.clone(),
            exit: exit.id.clone(),
            at: exit.at,
            exits: shared.exits.len(),
            due_from: due.due_on.map(|day| calendar.local(calendar.start(day), day)),
            begins: schedule.start(),
            changed_before: changed_before(schedule, timeline).filter(|_| due.because == Some(Because::UnknownBefore)),
            closed_on: exit.until.filter(|until| *until <= today),
            ended: patient.ended.as_ref().map(Ended::from).filter(|ended| ended.on <= today),
            days_elsewhere: patient.days_elsewhere(today),
            today,
            date: calendar.date(timeline.as_of),
            utc_offset: calendar.other_offset(timeline.as_of),
            place: patient.place(today),
            pod: schedule.pod(today),
            anchor: said.filter(|_| is_known(Hidden::Anchor)).map(|(event, state)| AnchorSaid { state, at: at(event) }),
            caregivers: Relative::all_of(patient),
            intolerances: patient.intolerances.clone(),
            score: graded.filter(|_| is_known(Hidden::Score)).map(|graded| LastScore {
                total: graded.score.total(),
                total_min: graded.score.total_min,
                total_max: graded.score.total_max,
                band: graded.score.band.clone(),
                unscored: graded.score.unscored.clone(),
                at: at(graded.event),
            }),
            signals: shared.open.and_then(|open| OpenSignal::of_row(chart, shared.exits, open, exit)),
            last_contact: contact.filter(|_| is_known(Hidden::LastContact)).map(|(event, contact)| LastContact {
                at: at(event),
                with: contact.with.clone(),
                outcome: contact.outcome,
                escalated_to: contact.escalated_to.clone(),
            }),
            end_reported: timeline.is_end_reported(rules.people),
            culture_pending: clinical.cultures_pending.first().copied(),
            infections: clinical.infections,
            treatments: clinical.treatments,
            signed_off: shared.signed_off.clone(),
            move_home: shared.move_home.clone(),
            findings_in_notes: shared.noted.clone(),
            ahead: (!chart.as_of().is_given).then(|| chart.ahead.clone()),
            not_known,
            due,
        }
    }
}

/// Returns the day of the last change from before the records begin.
fn changed_before(schedule: &Schedule, timeline: &Timeline) -> Option<NaiveDate> {
    let start = schedule.start();
    let is_before = |event: &&Event| matches!(event.fact, Fact::Change(_)) && event.when.care_day < start;
    timeline.of_exit(schedule.exit).rfind(is_before).map(|event| event.when.care_day)
}
