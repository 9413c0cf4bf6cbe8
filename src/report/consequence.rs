//! The consequences of a write, computed before it is saved: the signals that it raises, ends or acts on, the orders that it
//! violates, and the deadlines that it starts.
//! The records before and after the write are evaluated as of one moment and compared, so a new record, an amendment, a void,
//! a changed patient.toml and the rows of an import are handled alike. `signal` alone defines raised, ended and acted on.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};

use super::At;
use crate::chart::UnreadableFiles;
use crate::day::{AsOf, GRACE_MINUTES, Instant};
use crate::event::{Dressing, Event, EventName, Fact, Kind, Signal, Source, Water};
use crate::patient::Patient;
use crate::problem::Problem;
use crate::rules::Rules;
use crate::schedule::{Because, ChangeTrigger, Due, Schedule, State, Trouble};
use crate::signal::{EndedBy, EndedTreatment, Episode, LatestAction, Observation, SignalInputs, Urgency, not_known};
use crate::timeline::Timeline;
use crate::word::Word;

/// A patient's course and events before or after the write.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The course.
    pub patient: &'a Patient,
    /// Every valid event, in any order.
    pub events: &'a [Event],
    /// The problems of the files that cannot be read.
    pub unread: &'a [Problem],
}

/// The consequences of one write.
#[derive(Debug, Clone, Default)]
pub struct Consequence {
    /// The patient's code.
    pub patient: String,
    /// The moment of the comparison: now, or the time of a record a few minutes ahead of the clock.
    pub as_of: Instant,
    /// The calendar date of that moment where the patient is.
    pub date: NaiveDate,
    /// The UTC offset where the patient is, if it differs from the program's.
    pub utc_offset: Option<String>,
    /// Open signals that the write raises or shows again, those of today first.
    pub raised: Vec<Sign>,
    /// Signals that the write ends, those of today first.
    pub ended: Vec<Sign>,
    /// Signals still open whose latest evidence the write acts on, those of today first.
    pub answered: Vec<Sign>,
    /// True if the write acts by the kind of its records, a culture, an infection or a treatment, which claims nothing.
    pub acts_by_kind: bool,
    /// The signals of today acted on without a contact with a clinician about them on file.
    pub uncalled: Vec<Sign>,
    /// True if a call that tells a clinician of other things raised a fever that it does not name, so that it does not act on it.
    pub fever_not_named: bool,
    /// Signals of today that stay open, not acted on and without new evidence.
    pub still: Vec<Sign>,
    /// Signals of this week that stay open, never acted on and without new evidence.
    pub still_this_week: Vec<Sign>,
    /// Signals of today that stay open and were acted on before the write.
    pub still_acted_on: Vec<Sign>,
    /// The open signals of today that will no longer be alerted; `None` if the write stops no alerts.
    pub silences: Option<Vec<Sign>>,
    /// Added records that violate an order in force.
    pub violated: Vec<Violated>,
    /// Shower and damage requirements that the write settles.
    pub settled: Vec<Running>,
    /// Shower and damage requirements open after the write, and what else is overdue after it.
    pub running: Vec<Running>,
    /// True if the signals can be computed; false if a part of the policy is invalid.
    pub is_known: bool,
}

/// A signal, as shown to the user.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// The signal.
    pub signal: Signal,
    /// Its urgency.
    pub urgency: Urgency,
    /// The exit site; `None` if the signal concerns the patient as such.
    pub exit: Option<String>,
    /// The time of the last record that shows it, or else the time it opened.
    pub at: At,
    /// The day of the result, if a culture result shows it; `at` is then the time of the culture.
    pub result_on: Option<NaiveDate>,
    /// The person named in that record, if any.
    pub by: Option<String>,
    /// The person who told it, if that record is a contact.
    pub told_by: Option<String>,
    /// True if it ends only with a full look by staff.
    pub needs_look: bool,
    /// True if the record that ends it does so by its kind, as a change ends a wet dressing.
    pub is_plain: bool,
    /// The new record that ends it; `None` if it ends without one, or is open.
    pub ended_by: Option<Reporter>,
    /// True if a record ends it, nobody acted on it, and no clinician was told of it.
    pub is_untold: bool,
    /// The action on its latest news, if any.
    pub action: Option<LatestAction>,
    /// The last treatment, if it has ended while the signal is open.
    pub treatment_ended: Option<EndedTreatment>,
}

/// The person, source and kind of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reporter {
    /// The person: a caregiver's relation if known, else the code.
    pub by: String,
    /// The person outside the staff who told it, if the record is a contact.
    pub told_by: Option<String>,
    /// The way the facts reached the records.
    pub source: Source,
    /// The kind of record.
    pub kind: Kind,
}

/// A record that violates an order in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violated {
    /// The kind of water, if known.
    pub water: Option<Water>,
    /// The code of the prescriber.
    pub ordered_by: String,
}

/// A shower or damage requirement that no change has met, or something else that is overdue.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The exit site.
    pub exit: String,
    /// The cause.
    pub because: Because,
    /// The kind of water, if known.
    pub water: Option<Water>,
    /// The state of the dressing that requires the change.
    pub dressing: Option<Dressing>,
    /// The deadline, in the patient's time zone.
    pub deadline: At,
    /// Completed hours since the deadline, if it has passed.
    pub hours_overdue: Option<i64>,
}

impl Consequence {
    /// Compares the records before and after the write, both as of the same moment.
    /// A record a few minutes ahead of the clock already counts: its dangers are shown in the reply to the write, or never.
    pub fn of(rules: Rules, before: Side, after: Side, now: Instant) -> Consequence {
        let as_of = moment(after, now);
        let was = Timeline::of(before.patient, before.events.to_vec(), as_of);
        let is = Timeline::of(after.patient, after.events.to_vec(), as_of);
        let (known_before, known_after) = (episodes(rules, &was), episodes(rules, &is));
        let (open_before, open_after) = (open(&known_before), open(&known_after));
        let unread = AsOf { instant: as_of, is_given: false };
        let unread = UnreadableFiles::of_all(after.unread, after.patient, unread);
        let is_known = not_known(rules).is_empty();
        let (mut raised, mut answered, mut still) = (Vec::new(), Vec::new(), Vec::new());
        let (mut still_this_week, mut still_acted_on, mut uncalled) = (Vec::new(), Vec::new(), Vec::new());
        let inputs = SignalInputs::of(rules, &is);
        let is_called = |episode: &Episode| inputs.as_ref().is_some_and(|inputs| inputs.reached_a_clinician(episode));
        for (key, episode) in &open_after {
            let known = open_before.get(key);
            if known.is_none_or(|known| shows_more(known, episode)) {
                raised.push(Sign::of(episode, &is));
            } else if !episode.news_answered && episode.urgency == Urgency::Today {
                still.push(Sign::of(episode, &is));
            } else if episode.urgency == Urgency::Today && known.is_some_and(|known| known.news_answered) {
                still_acted_on.push(Sign::of(episode, &is));
            } else if episode.urgency == Urgency::ThisWeek && !episode.is_acted_on() {
                still_this_week.push(Sign::of(episode, &is));
            }
            if known.is_some_and(|known| !known.news_answered && episode.news_answered) {
                answered.push(Sign::of(episode, &is));
                if episode.urgency == Urgency::Today && !is_called(episode) {
                    uncalled.push(Sign::of(episode, &is));
                }
            }
        }
        let told = |file: &str| {
            event(&is, file).is_some_and(|event| match &event.fact {
                Fact::Contact(contact) => inputs.as_ref().is_some_and(|inputs| inputs.tells_a_clinician(contact)),
                _ => false,
            })
        };
        let is_new_file = |file: &str| event(&was, file).is_none();
        let fever_not_named = open_after.values().any(|episode| {
            let mut said = episode.evidence.iter().map(|said| said.file.as_str());
            let is_told = said.any(|file| is_new_file(file) && told(file));
            episode.signal == Signal::Fever && !episode.news_answered && is_told
        });
        let gone = open_before.iter().filter(|(key, _)| !open_after.contains_key(key));
        let mut ended: Vec<Sign> = gone.map(|(_, episode)| Sign::of(episode, &was)).collect();
        let is_new = |event: &&Event| was.events().iter().all(|known| known.name != event.name);
        let new: Vec<&Event> = is.events().iter().filter(is_new).collect();
        let is_clinical = |event: &&Event| matches!(event.name.kind, Kind::Culture | Kind::Infection | Kind::Treatment);
        let acts_by_kind = !new.is_empty() && new.iter().all(is_clinical);
        let has_change = new.iter().any(|event| matches!(event.fact, Fact::Change(_)));
        for sign in &mut ended {
            sign.is_plain = has_change && sign.signal == Signal::WaterAtSite;
            let is_end = |end: &&Episode| end.signal == sign.signal && end.exit == sign.exit;
            let end = known_after.iter().filter(is_end).max_by_key(|end| end.ended);
            let at = end.and_then(|end| end.ended);
            let by = new.iter().rfind(|event| at.is_some_and(|at| at.0 == event.when.instant));
            sign.ended_by = by.map(|event| Reporter::of(event, after.patient, rules));
            let is_untold = |end: &Episode| end.answered.is_none() && !is_called(end);
            sign.is_untold = sign.signal.is_clinical_finding_of_today() && by.and(end).is_some_and(is_untold);
        }
        let stops_alerts = |timeline: &Timeline| timeline.is_end_reported(rules.people);
        let mut silences = (stops_alerts(&is) && !stops_alerts(&was)).then(|| {
            let of_today = open_after.values().filter(|episode| episode.urgency == Urgency::Today);
            of_today.map(|episode| Sign::of(episode, &is)).collect::<Vec<Sign>>()
        });
        let all = [
            &mut raised,
            &mut ended,
            &mut answered,
            &mut uncalled,
            &mut still,
            &mut still_this_week,
            &mut still_acted_on,
        ];
        for signs in all.into_iter().chain(&mut silences) {
            signs.sort_by_key(|sign| (sign.urgency, sign.signal.word(), sign.exit.clone()));
        }
        let (clocks_before, running) = (running(rules, &was, &unread), running(rules, &is, &unread));
        let is_clock = |one: &&Running| matches!(one.because, Because::AfterShower | Because::Damage);
        let is_left = |one: &Running| running.iter().any(|left| (left.because, &left.exit) == (one.because, &one.exit));
        let settled = clocks_before.iter().filter(is_clock).filter(|one| !is_left(one)).cloned().collect();
        Consequence {
            settled,
            patient: after.patient.code.clone(),
            as_of,
            date: after.patient.calendar.date(as_of),
            utc_offset: after.patient.calendar.other_offset(as_of),
            raised,
            ended,
            answered,
            acts_by_kind,
            uncalled,
            fever_not_named,
            still,
            still_this_week,
            still_acted_on,
            silences,
            violated: violated(&was, &is),
            running,
            is_known,
        }
    }

    /// Returns the signals of today that the write ends other than by the kind of its record.
    pub(crate) fn ends_today(&self) -> impl Iterator<Item = &Sign> {
        self.ended.iter().filter(|sign| sign.urgency == Urgency::Today && !sign.is_plain)
    }

    /// Returns the signals of today that the write acts on and leaves open.
    pub(crate) fn answers_today(&self) -> impl Iterator<Item = &Sign> {
        self.answered.iter().filter(|sign| sign.urgency == Urgency::Today)
    }

    /// Returns true if the write raises a signal of today.
    pub fn needs_review_today(&self) -> bool {
        self.raised.iter().any(|sign| sign.urgency == Urgency::Today)
    }
}

impl Sign {
    /// Converts an open episode, with the last record that shows it.
    fn of(episode: &Episode, timeline: &Timeline) -> Sign {
        let calendar = &timeline.patient.calendar;
        let last = episode.evidence.iter().filter_map(|said| event(timeline, &said.file)).next_back();
        let rise = || At::Time(episode.since.0);
        Sign {
            signal: episode.signal,
            urgency: episode.urgency,
            exit: episode.exit.clone(),
            at: last.map_or_else(rise, |event| At::of(&event.when, calendar)),
            result_on: episode.evidence.iter().rev().find_map(|said| match said.what {
                Observation::Grew { result_on, .. } => Some(result_on),
                _ => None,
            }),
            by: last.map(|event| event.by.clone()),
            told_by: last.and_then(|event| event.told_by()).map(|code| relation(code, timeline.patient)),
            needs_look: matches!(episode.signal.ends(), EndedBy::FullLook(_)),
            is_plain: false,
            ended_by: None,
            is_untold: false,
            action: episode.latest_action.clone(),
            treatment_ended: episode.treatment_ended,
        }
    }
}

fn event<'t>(timeline: &'t Timeline, file: &str) -> Option<&'t Event> {
    timeline.events().iter().find(|event| event.file() == file)
}

impl Reporter {
    fn of(event: &Event, patient: &Patient, rules: Rules) -> Reporter {
        let is_staff = |code: &&str| rules.people.is_some_and(|people| people.get(code).is_some());
        let told_by = event.told_by().filter(|code| !is_staff(code)).map(|code| relation(code, patient));
        Reporter { by: relation(&event.by, patient), told_by, source: event.source, kind: event.name.kind }
    }
}

/// A caregiver's relation if known, else the code.
fn relation(code: &str, patient: &Patient) -> String {
    let caregiver = patient.caregivers.iter().find(|caregiver| caregiver.code == code);
    caregiver.and_then(|caregiver| caregiver.relation.clone()).unwrap_or_else(|| code.to_owned())
}

/// Returns the moment of the comparison: the latest record that is ahead of the clock within the grace period, else now.
fn moment(after: Side, now: Instant) -> Instant {
    let latest = now + Duration::minutes(GRACE_MINUTES);
    let counting = after.events.iter().filter(|event| event.void.is_none());
    let times = counting.map(|event| event.earliest(&after.patient.calendar)).filter(|at| *at <= latest);
    times.max().map_or(now, |last| last.max(now))
}

/// Returns every episode; empty if signals cannot be computed.
fn episodes(rules: Rules, timeline: &Timeline) -> Vec<Episode> {
    let watch = SignalInputs::of(rules, timeline);
    watch.iter().flat_map(SignalInputs::episodes).collect()
}

/// Indexes the open episodes by signal and exit site; at most one is open for each.
fn open(episodes: &[Episode]) -> BTreeMap<(&'static str, Option<&str>), &Episode> {
    let open = episodes.iter().filter(|episode| episode.is_open());
    open.map(|episode| ((episode.signal.word(), episode.exit.as_deref()), episode)).collect()
}

/// Returns true if an episode has gained evidence.
fn shows_more(before: &Episode, after: &Episode) -> bool {
    after.evidence.iter().any(|said| !before.evidence.contains(said))
}

/// Returns the showers of `is` that are not in `was`, on days with an order against showers.
fn violated(was: &Timeline, is: &Timeline) -> Vec<Violated> {
    let known: Vec<EventName> = was.events().iter().map(|event| event.name).collect();
    let patient = is.patient;
    let mut violated = Vec::new();
    for event in is.events().iter().filter(|event| !known.contains(&event.name)) {
        let day = event.when.care_day;
        let is_against = |exit: &&crate::patient::ExitSite| patient.counts(exit, day);
        let orders = patient.orders.iter().filter(|order| {
            order.no_showers && patient.exits.iter().filter(is_against).any(|exit| order.runs_on(day, &exit.id))
        });
        if let Fact::Shower(shower) = &event.fact {
            violated.extend(orders.map(|order| Violated { water: shower.water, ordered_by: order.by.clone() }));
        }
    }
    violated
}

/// Returns the shower and damage requirements that no change has met and what else is overdue, for the exit sites followed:
/// showers and damage first. Without those that a file that cannot be read may have met: then the next change is not known.
fn running(rules: Rules, timeline: &Timeline, unread: &UnreadableFiles) -> Vec<Running> {
    let (Some(plan), patient) = (rules.plan(), timeline.patient) else { return Vec::new() };
    let mut running = Vec::new();
    for exit in patient.exits_followed(timeline.today) {
        let due = Due::of(&Schedule { plan, patient, exit }, timeline);
        let is_late = due.state == State::Overdue;
        let is_of = |event: &&Event, report: &ChangeTrigger| {
            event.name.kind == report.kind && At::of(&event.when, &patient.calendar) == report.at
        };
        let first = due.because.zip(due.deadline).map(|(because, deadline)| (because, deadline, due.report, is_late));
        let others = due.also.iter();
        let others = others.map(|other| (other.because, other.deadline, other.report, other.hours_overdue.is_some()));
        for (because, deadline, report, is_overdue) in first.into_iter().chain(others) {
            let is_reported = matches!(because, Because::AfterShower | Because::Damage);
            let used = match report {
                Some(report) if is_reported => timeline.events().iter().rfind(|event| is_of(event, &report)),
                _ => due.last_change.as_ref().and_then(|change| event(timeline, &change.file)),
            };
            if (is_reported || is_overdue) && !unread.may_follow(used) {
                let instant = deadline.instant();
                let late = timeline.as_of - instant;
                running.push(Running {
                    exit: exit.id.clone(),
                    because,
                    water: report.and_then(|report| report.water),
                    dressing: report.and_then(|report| match report.trouble {
                        Trouble::Damage(dressing) | Trouble::LeftDamaged(dressing) => Some(dressing),
                        Trouble::Shower => None,
                    }),
                    deadline: patient.calendar.local(instant, patient.calendar.today(instant)).into(),
                    hours_overdue: (late > chrono::Duration::zero()).then(|| late.num_hours()),
                });
            }
        }
    }
    running.sort_by_key(|one| !matches!(one.because, Because::AfterShower | Because::Damage));
    running
}
