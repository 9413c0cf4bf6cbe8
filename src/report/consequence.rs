//! The consequence of a write, known before it is written: the signals that it raises, ends and answers, the orders that it
//! violates, and the clocks that run after it.
//!
//! The records as on file and as they would be are each asked the same questions as of one moment, and the answers are
//! compared: a new record, an amendment, a voided one, a changed patient.toml, and rows of an import are one thing here. The meaning of
//! raised, ended and answered is `signal`'s alone.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate};

use super::At;
use crate::day::{GRACE_MINUTES, Instant};
use crate::event::{Event, EventName, Fact, Signal, Source, Water};
use crate::patient::Patient;
use crate::rules::Rules;
use crate::schedule::{Because, Due, Schedule};
use crate::signal::{EndedBy, Episode, SignalInputs, Urgency, not_known};
use crate::timeline::Timeline;
use crate::word::Word;

/// A patient's course and events, as on file or as they would be.
#[derive(Debug, Clone, Copy)]
pub struct Side<'a> {
    /// The course.
    pub patient: &'a Patient,
    /// Every usable event, in any order.
    pub events: &'a [Event],
}

/// The consequence of one write.
#[derive(Debug, Clone, Default)]
pub struct Consequence {
    /// The patient's code.
    pub patient: String,
    /// The moment as of which both are judged: now, or the time of a record a few minutes ahead of the clock.
    pub as_of: Instant,
    /// Today, where the patient is.
    pub today: NaiveDate,
    /// Open signals that it raises or shows again, those of today first.
    pub raised: Vec<Sign>,
    /// Signals open before and not after it, those of today first.
    pub ended: Vec<Sign>,
    /// Signals still open whose last news it answers, those of today first.
    pub answered: Vec<Sign>,
    /// Signals of today open before and after it that no one has acted on, and of which it brings nothing new.
    pub still: Vec<Sign>,
    /// The open signals of today of which no alert is sent any more; `None` where it stops no alerts.
    pub silences: Option<Vec<Sign>>,
    /// Records that it adds against an order in force.
    pub violated: Vec<Violated>,
    /// Shower and damage requirements that are open after it.
    pub running: Vec<Running>,
    /// True if the signals can be computed; not where a part of the policy cannot be used.
    pub is_known: bool,
}

/// A signal, as a person is asked about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// The signal.
    pub signal: Signal,
    /// Its urgency.
    pub urgency: Urgency,
    /// The exit site; `None` for a signal of the patient.
    pub exit: Option<String>,
    /// The time of the last record that shows it, else of its rise.
    pub at: At,
    /// The person of that record, if there is one.
    pub by: Option<String>,
    /// True if it ends only with a full look by staff.
    pub needs_look: bool,
    /// True if the record that ends it says so by being one: a change, of a wet dressing.
    pub is_plain: bool,
    /// The new record that ends it; `None` where it ends without one, or is open.
    pub ended_by: Option<Reporter>,
}

/// The source of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reporter {
    /// The person of the record: of a caregiver the relation, where it is known, else the code.
    pub by: String,
    /// How it is known.
    pub source: Source,
}

/// A record against an order in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violated {
    /// The kind of water, where it is known.
    pub water: Option<Water>,
    /// The code of whoever ordered.
    pub ordered_by: String,
}

/// A shower or damage requirement that no change has met yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The exit site.
    pub exit: String,
    /// A shower or damage.
    pub because: Because,
    /// The kind of water, where it is known.
    pub water: Option<Water>,
    /// The deadline, as the patient's clock shows it.
    pub deadline: At,
    /// Whole hours since the deadline, if it has passed.
    pub hours_overdue: Option<i64>,
}

impl Consequence {
    /// Compares the records as on file with the records as they would be, both as of the same moment.
    ///
    /// A record a few minutes ahead of the clock counts already: its danger is told in the answer to it, or never.
    pub fn of(rules: Rules, before: Side, after: Side, now: Instant) -> Consequence {
        let as_of = moment(after, now);
        let was = Timeline::of(before.patient, before.events.to_vec(), as_of);
        let is = Timeline::of(after.patient, after.events.to_vec(), as_of);
        let (known_before, known_after) = (episodes(rules, &was), episodes(rules, &is));
        let (open_before, open_after) = (open(&known_before), open(&known_after));
        let is_known = not_known(rules).is_empty();
        let (mut raised, mut answered, mut still) = (Vec::new(), Vec::new(), Vec::new());
        for (key, episode) in &open_after {
            let known = open_before.get(key);
            if known.is_none_or(|known| shows_more(known, episode)) {
                raised.push(Sign::of(episode, &is));
            } else if !episode.news_answered && episode.urgency == Urgency::Today {
                still.push(Sign::of(episode, &is));
            }
            if known.is_some_and(|known| !known.news_answered && episode.news_answered) {
                answered.push(Sign::of(episode, &is));
            }
        }
        let gone = open_before.iter().filter(|(key, _)| !open_after.contains_key(key));
        let mut ended: Vec<Sign> = gone.map(|(_, episode)| Sign::of(episode, &was)).collect();
        let is_new = |event: &&Event| was.events().iter().all(|known| known.name != event.name);
        let new: Vec<&Event> = is.events().iter().filter(is_new).collect();
        let has_change = new.iter().any(|event| matches!(event.fact, Fact::Change(_)));
        for sign in &mut ended {
            sign.is_plain = has_change && sign.signal == Signal::WaterAtSite;
            let is_end = |end: &&Episode| end.signal == sign.signal && end.exit == sign.exit;
            let end = known_after.iter().filter(is_end).filter_map(|end| end.ended).max();
            let by = new.iter().rfind(|event| end.is_some_and(|end| end.0 == event.when.instant));
            sign.ended_by = by.map(|event| Reporter::of(event, after.patient));
        }
        let stops_alerts = |timeline: &Timeline| timeline.is_end_reported(rules.people);
        let mut silences = (stops_alerts(&is) && !stops_alerts(&was)).then(|| {
            let of_today = open_after.values().filter(|episode| episode.urgency == Urgency::Today);
            of_today.map(|episode| Sign::of(episode, &is)).collect::<Vec<Sign>>()
        });
        for signs in [&mut raised, &mut ended, &mut answered, &mut still].into_iter().chain(&mut silences) {
            signs.sort_by_key(|sign| (sign.urgency, sign.signal.word(), sign.exit.clone()));
        }
        Consequence {
            patient: after.patient.code.clone(),
            as_of,
            today: is.today,
            raised,
            ended,
            answered,
            still,
            silences,
            violated: violated(&was, &is),
            running: running(rules, &is),
            is_known,
        }
    }

    /// The signals of today that it ends by more than the record says in so many words.
    pub fn ends_today(&self) -> impl Iterator<Item = &Sign> {
        self.ended.iter().filter(|sign| sign.urgency == Urgency::Today && !sign.is_plain)
    }

    /// The signals of today that it answers and leaves open.
    pub fn answers_today(&self) -> impl Iterator<Item = &Sign> {
        self.answered.iter().filter(|sign| sign.urgency == Urgency::Today)
    }

    /// Returns true if it raises a signal of today.
    pub fn needs_review_today(&self) -> bool {
        self.raised.iter().any(|sign| sign.urgency == Urgency::Today)
    }
}

impl Sign {
    /// An open episode, with the last record that shows it.
    fn of(episode: &Episode, timeline: &Timeline) -> Sign {
        let calendar = &timeline.patient.calendar;
        let last = episode.evidence.iter().filter_map(|said| event(timeline, &said.file)).next_back();
        let rise = || At::Time(episode.since.0);
        Sign {
            signal: episode.signal,
            urgency: episode.urgency,
            exit: episode.exit.clone(),
            at: last.map_or_else(rise, |event| At::of(&event.when, calendar)),
            by: last.map(|event| event.by.clone()),
            needs_look: episode.signal.ends() == EndedBy::FullLook,
            is_plain: false,
            ended_by: None,
        }
    }
}

fn event<'t>(timeline: &'t Timeline, file: &str) -> Option<&'t Event> {
    timeline.events().iter().find(|event| event.file() == file)
}

impl Reporter {
    fn of(event: &Event, patient: &Patient) -> Reporter {
        let caregiver = patient.caregivers.iter().find(|caregiver| caregiver.code == event.by);
        let relation = caregiver.and_then(|caregiver| caregiver.relation.clone());
        Reporter { by: relation.unwrap_or_else(|| event.by.clone()), source: event.source }
    }
}

/// The moment as of which a write is judged: the latest record that is ahead of the clock by the grace at most, else now.
fn moment(after: Side, now: Instant) -> Instant {
    let latest = now + Duration::minutes(GRACE_MINUTES);
    let counting = after.events.iter().filter(|event| event.void.is_none());
    let times = counting.map(|event| event.earliest(&after.patient.calendar)).filter(|at| *at <= latest);
    times.max().map_or(now, |last| last.max(now))
}

/// Every episode; none where signals cannot be computed.
fn episodes(rules: Rules, timeline: &Timeline) -> Vec<Episode> {
    let watch = SignalInputs::of(rules, timeline);
    watch.iter().flat_map(SignalInputs::episodes).collect()
}

/// The open episodes by signal and exit site, of which no two are open at once.
fn open(episodes: &[Episode]) -> BTreeMap<(&'static str, Option<&str>), &Episode> {
    let open = episodes.iter().filter(|episode| episode.is_open());
    open.map(|episode| ((episode.signal.word(), episode.exit.as_deref()), episode)).collect()
}

/// Returns true if an episode holds evidence that it did not hold before.
fn shows_more(before: &Episode, after: &Episode) -> bool {
    after.evidence.iter().any(|said| !before.evidence.contains(said))
}

/// The showers of `is` that `was` has not, on days of an order against showers.
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

/// The shower and damage requirements that no change has met, of the exit sites that are followed.
fn running(rules: Rules, timeline: &Timeline) -> Vec<Running> {
    let (Some(plan), patient) = (rules.plan(), timeline.patient) else { return Vec::new() };
    let mut running = Vec::new();
    for exit in patient.exits_followed(timeline.today) {
        let due = Due::of(&Schedule { plan, patient, exit }, timeline);
        let first = due.because.zip(due.deadline).map(|(because, deadline)| (because, deadline, due.report));
        let others = due.also.iter().map(|other| (other.because, other.deadline, other.report));
        for (because, deadline, report) in first.into_iter().chain(others) {
            if matches!(because, Because::AfterShower | Because::Damage) {
                let instant = deadline.instant();
                let late = timeline.as_of - instant;
                running.push(Running {
                    exit: exit.id.clone(),
                    because,
                    water: report.and_then(|report| report.water),
                    deadline: patient.calendar.local(instant, patient.calendar.today(instant)).into(),
                    hours_overdue: (late > chrono::Duration::zero()).then(|| late.num_hours()),
                });
            }
        }
    }
    running
}
