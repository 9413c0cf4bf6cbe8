//! Signals of the patient: fever, culture growth, a pending culture result.

use chrono::{Duration, NaiveDate};

use super::rule::{Answered, EndedBy, EpisodeSearch, RaisedBy, RestsOn, SignalRule, Urgency};
use super::{Episode, Fold, Observation, SignalInputs, Whole, answer};
use crate::day::{Instant, plus};
use crate::event::{ContactOutcome, Event, Fact, Kind, Signal};
use crate::people::Role;
use crate::policy::Threshold;

/// The events of the days considered.
fn events<'a>(watch: &SignalInputs<'a>) -> impl Iterator<Item = &'a Event> {
    let first = watch.first_day;
    watch.timeline.events().iter().filter(move |event| event.when.care_day >= first)
}

/// A fever in any event; it ends with a lower temperature a set number of hours after the last fever, or with a full look
/// by staff a set number of days after it.
pub(super) const FEVER: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::Temperature,
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::By(&[Kind::Change, Kind::Assessment, Kind::Contact]),
    read: &[Kind::Change, Kind::Assessment, Kind::Contact],
    episodes: EpisodeSearch::Patient(fever),
};

fn fever(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let celsius = watch.threshold(Threshold::FeverCelsius);
    let hours = watch.days(Threshold::FeverEndsAfterHours);
    let days = watch.days(Threshold::FeverEndsAfterDays);
    let mut fold = Fold::of_patient(watch, Signal::Fever);
    let mut last: Option<Instant> = fold.up.as_ref().map(|unknown| unknown.since.instant());
    for event in events(watch) {
        let told = match &event.fact {
            Fact::Contact(contact) => contact.temperature_c,
            _ => event.site().and_then(|site| site.temperature_c),
        };
        // If only the day is known, those hours must have passed at its start.
        let is_late_enough = |last| event.earliest(watch.calendar()) - last >= Duration::hours(hours);
        match told {
            Some(degrees) if degrees >= celsius => {
                last = last.max(Some(event.when.instant));
                fold.shown(event, Observation::Temperature { celsius: degrees });
            }
            Some(_) if last.is_some_and(is_late_enough) => fold.end_by(event),
            Some(_) => fold.better(),
            None => {
                let is_late_enough = |last| event.earliest(watch.calendar()) - last >= Duration::days(days);
                if whole.full_looks.contains(&event.name) && last.is_some_and(is_late_enough) {
                    fold.end_by(event);
                }
            }
        }
    }
    fold.finish()
}

/// A result with growth; it ends when a clinician determines an infection or a physician is informed.
pub(super) const CULTURE_GROWTH: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::Determination,
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::Rarely,
    read: &[Kind::Contact],
    episodes: EpisodeSearch::Patient(culture_growth),
};

fn culture_growth(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let signal = Signal::CultureGrowth;
    let as_of = watch.timeline.as_of;
    let is_physician = |code: &str| {
        watch.people.and_then(|people| people.get(code)).is_some_and(|person| person.role == Role::Physician)
    };
    let mut steps: Vec<(Instant, &Event)> = Vec::new();
    for event in events(watch) {
        match &event.fact {
            Fact::Culture(culture) => {
                let result = culture.result.as_ref().filter(|result| result.growth);
                let at = result.map(|result| watch.calendar().start(result.on).max(event.when.instant));
                steps.extend(at.filter(|at| *at <= as_of).map(|at| (at, event)));
            }
            Fact::Infection(_) => steps.push((event.when.instant, event)),
            Fact::Contact(contact)
                if answer::is_about(contact, signal)
                    && contact.outcome != ContactOutcome::NoAnswer
                    && is_physician(&contact.with) =>
            {
                steps.push((event.when.instant, event));
            }
            _ => {}
        }
    }
    steps.sort_by_key(|(at, _)| *at);
    let mut fold = Fold::of_patient(watch, signal);
    // The days of the first and last growth of this episode: of a result only the day is known.
    let mut grew_on: Option<(NaiveDate, NaiveDate)> = None;
    for (at, event) in steps {
        if let Fact::Culture(culture) = &event.fact {
            let organisms = culture.result.as_ref().map(|result| result.organisms.clone()).unwrap_or_default();
            let day = watch.calendar().today(at);
            let (result_on, taken_on) = (day, event.when.care_day);
            let what = Observation::Grew { specimen: culture.specimen, organisms, result_on, taken_on };
            grew_on = Some((grew_on.filter(|_| fold.is_up()).map_or(day, |(first, _)| first), day));
            fold.shown_at(at, at.max(watch.known(event)), event, what);
            continue;
        }
        // On the day of the result, only a record about this growth, which could be about no earlier one, came after it.
        let names_it = |day| answer::names(watch, signal, event, || day);
        match grew_on {
            Some((first, last)) if event.when.care_day <= last && !(first == last && names_it(last)) => fold.better(),
            _ => fold.end(at),
        }
    }
    fold.finish()
}

/// A culture whose result has been pending for too long; it ends with the last pending result.
pub(super) const CULTURE_UNRESULTED: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::Result,
    answered: Answered::Clinician,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::Rarely,
    read: &[],
    episodes: EpisodeSearch::Patient(culture_unresulted),
};

fn culture_unresulted(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let signal = Signal::CultureUnresulted;
    let days = watch.days(Threshold::UnresultedDays);
    let as_of = watch.timeline.as_of;
    // When each becomes overdue, and when its result arrived.
    let mut steps: Vec<(Instant, &Event, bool)> = Vec::new();
    for event in events(watch) {
        let Fact::Culture(culture) = &event.fact else { continue };
        let late = watch.calendar().start(plus(event.when.care_day, days + 1));
        let result = culture.result.as_ref().map(|result| watch.calendar().start(result.on)).filter(|at| *at <= as_of);
        if late <= as_of && result.is_none_or(|result| result > late) {
            steps.push((late, event, true));
            steps.extend(result.map(|result| (result, event, false)));
        }
    }
    steps.sort_by_key(|(at, _, is_late)| (*at, *is_late));
    let mut fold = Fold::of_patient(watch, signal);
    let mut awaited = 0;
    for (at, event, is_late) in steps {
        if is_late {
            awaited += 1;
            fold.shown_at(at, at.max(watch.known(event)), event, Observation::NoResult(event.when.care_day));
        } else {
            awaited -= 1;
            if awaited == 0 {
                fold.put_right(at, event);
            }
        }
    }
    fold.finish()
}
