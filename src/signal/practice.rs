//! Signals of care practice: a shower before the first allowed day, a shower over an unchecked dressing, a change by a
//! person who is not signed off.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use super::rule::{Answered, EndedBy, EpisodeSearch, RaisedBy, RestsOn, SHOWER, SignalRule, Urgency};
use super::{Episode, Fold, NAME_LAG_DAYS, Observation, SignalInputs, WatchedSite, Whole, answer};
use crate::day::{Instant, plus};
use crate::event::{Dressing, Event, Fact, Kind, Shower, Signal};
use crate::policy::Threshold;

/// A shower before the first day on which the policy allows one.
pub(super) const SHOWER_TOO_EARLY: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Action,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Shower]),
    read: SHOWER,
    episodes: EpisodeSearch::Exit(shower_too_early),
};

fn shower_too_early(site: &WatchedSite) -> Vec<Episode> {
    showers(site, Signal::ShowerTooEarly, |event, _| {
        let (pod, first_pod) = (site.pod(event), site.watch.plan.windows.first_shower_pod);
        (pod < first_pod).then_some(Observation::ShowerOnPod { pod, first: first_pod })
    })
}

/// A shower over a dressing that was not intact or was not checked.
pub(super) const SHOWER_UNCHECKED: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Action,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Shower]),
    read: SHOWER,
    episodes: EpisodeSearch::Exit(shower_unchecked),
};

fn shower_unchecked(site: &WatchedSite) -> Vec<Episode> {
    showers(site, Signal::ShowerUnchecked, |_, shower| match shower.dressing_before {
        Some(Dressing::Intact) => None,
        before => Some(Observation::ShowerOver(before)),
    })
}

/// Showers that meet a condition; the signal ends when it is acted on.
fn showers(site: &WatchedSite, signal: Signal, says: impl Fn(&Event, &Shower) -> Option<Observation>) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, signal);
    for event in site.events() {
        let Fact::Shower(shower) = &event.fact else { continue };
        end_by_answer(&mut fold, |at| at <= event.when.instant);
        if let Some(what) = says(event, shower) {
            fold.shown(event, what);
        }
    }
    end_by_answer(&mut fold, |_| true);
    fold.finish()
}

fn end_by_answer(fold: &mut Fold, is_by_then: impl Fn(Instant) -> bool) {
    let answer = fold.up.as_ref().and_then(|episode| answer::first(fold.watch, episode));
    if let Some(answer) = answer.filter(|answer| is_by_then(answer.when.instant)) {
        fold.put_right(answer.when.instant, answer);
    }
}

/// A change by a caregiver or the patient who was neither signed off nor taught that day; it ends with a sign-off on a later
/// day. Each person has a separate episode.
pub(super) const UNTAUGHT: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::SignOff,
    answered: Answered::Contact,
    rests_on: RestsOn::SignOffs,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Change]),
    read: &[Kind::Change],
    episodes: EpisodeSearch::Patient(untaught),
};

fn untaught(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let Some(school) = watch.school else { return Vec::new() };
    let events = watch.timeline.events();
    let first = watch.first_day;
    let household: BTreeSet<&str> = watch.patient().household().collect();
    let teaches =
        |event: &Event, learner: &str| matches!(&event.fact, Fact::Teaching(teaching) if teaching.learner == learner);
    let ends_after_days = watch.days(Threshold::UntaughtEndsAfterDays);
    let mut all = Vec::new();
    for person in household {
        let mut fold = Fold::of_patient(watch, Signal::Untaught);
        let signed = school.signed_days(person, events);
        let is_end = |(n, event): &(usize, &Event)| {
            teaches(event, person) && school.is_signed_off(person, &events[..=*n], event.when.care_day)
        };
        if let Some(days) = watch.unread_days() {
            let mut ends = events.iter().enumerate().rev().filter(is_end).map(|(_, event)| event.when.care_day);
            let last = ends.find(|day| days.contains(*day)).unwrap_or(days.from);
            if last.iter_days().take_while(|day| *day <= days.to).all(|day| signed.hold(day)) {
                fold.know();
            }
        }
        let over = |last: NaiveDate| watch.calendar().end(plus(last, ends_after_days));
        let mut last = watch.unread_days().map(|days| days.to);
        let mut signed_on: Option<NaiveDate> = None;
        for (n, event) in events.iter().enumerate().filter(|(_, event)| event.when.care_day >= first) {
            let day = event.when.care_day;
            if let Some(at) = last.map(over).filter(|at| *at <= event.when.instant) {
                fold.end(at);
            }
            if is_end(&(n, event)) {
                signed_on = signed_on.max(Some(day));
                fold.end(event.when.instant);
            }
            if !matches!(event.fact, Fact::Change(_)) || event.by != person {
                continue;
            }
            let is_taught_that_day = || events.iter().any(|other| other.when.care_day == day && teaches(other, person));
            // A sign-off of a later day ends the signal, even if another time zone makes it the earlier instant.
            let is_over = signed_on.is_some_and(|on| day < on);
            if !signed.hold(day) && !is_over && !is_taught_that_day() {
                last = Some(day);
                fold.shown(event, Observation::ChangeBy(person.to_owned()));
            }
        }
        if let Some(at) = last.map(over).filter(|at| *at <= watch.timeline.as_of) {
            fold.end(at);
        }
        all.extend(fold.finish());
    }
    all
}

impl SignalInputs<'_> {
    /// The day back to which changes have to be read at once, if they were read from `read_from` on and it is unknown who
    /// made the older ones: back to the days of which the policy has ended the signal by now; if it does not end it within
    /// the look-back period, to the first day of that, as long as a member of the household was never taught in it.
    pub(super) fn untaught_from(&self, read_from: NaiveDate) -> Option<NaiveDate> {
        let ended = plus(self.timeline.today, -self.days(Threshold::UntaughtEndsAfterDays) - NAME_LAG_DAYS);
        if ended > self.rare_from {
            return Some(ended).filter(|day| *day < read_from);
        }
        let days = self.rare_from..read_from;
        let teaches = |event: &Event, person: &str| {
            matches!(&event.fact, Fact::Teaching(teaching) if teaching.learner == person)
                && days.contains(&event.when.care_day)
        };
        let is_taught = |person: &str| self.timeline.events().iter().any(|event| teaches(event, person));
        (!self.patient().household().all(is_taught)).then_some(self.rare_from)
    }
}
