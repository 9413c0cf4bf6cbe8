//! Signals: findings that need review, computed by a fold over a patient's timeline, one file per family.
//!
//! An *episode* is one occurrence of a signal, from its start to its end. It starts with an event or with the passing of
//! a day; more of the same while it is open joins it. A later event never changes when an earlier episode started. A
//! signal is not a diagnosis of infection.
//!
//! Left out on purpose: numbers. The policy has every threshold.

mod action;
mod ahead;
mod answer;
mod clinical;
mod conduct;
mod due;
mod episode;
mod fold;
mod known;
mod line;
mod observation;
mod practice;
mod rule;
mod site;
mod trend;
mod unread;
mod untaught;
mod worse;

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use crate::day::{Calendar, Instant, plus};
use crate::event::{Event, EventName, Kind, Signal};
use crate::patient::{ExitSite, Patient};
use crate::people::People;
use crate::policy::{CarePlan, Scoring, Signals, Threshold};
use crate::rules::Rules;
use crate::schedule::Schedule;
use crate::score::{self, Graded, grade};
use crate::teaching::SignOffRules;
use crate::timeline::Timeline;
use crate::word::Word;
use episode::rank;
pub(crate) use episode::{
    Acted, Called, EndedTreatment, Episode, Evidence, LaterScore, LatestAction, ToldClinician, Worsening,
    learnt_after_days,
};
use fold::Fold;
pub(crate) use known::not_known;
pub(crate) use observation::{Observation, RecurringFinding};
pub(crate) use rule::{Answered, EndedBy, FullLook, Urgency};
use rule::{EpisodeSearch, SearchOfSite};
use unread::UnreadPast;
pub(crate) use unread::{NAME_LAG_DAYS, RARE, ReadWindow, StillWanted};

/// The inputs of signals: a patient's timeline and the policy.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SignalInputs<'a> {
    /// The events, as of an instant.
    pub timeline: &'a Timeline<'a>,
    /// Phases and windows.
    pub plan: &'a CarePlan,
    /// The rubric; `None` if invalid: signals that depend on it are then unknown.
    pub scoring: Option<&'a Scoring>,
    /// The thresholds.
    pub signals: &'a Signals,
    /// The staff; `None` if people.toml is unreadable.
    pub people: Option<&'a People>,
    /// The sign-off rules; `None` if invalid.
    pub school: Option<SignOffRules<'a>>,
    /// The first day considered.
    pub first_day: NaiveDate,
    /// The first day considered for cultures, infections, pulls and checkoffs.
    rare_from: NaiveDate,
    /// The instant before which every unread record lies, while determining which signals unread records can have raised.
    unread: Option<UnreadPast>,
}

/// Open signals of one urgency; the same count on every screen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Review {
    /// Open signals, acted on or not.
    pub open: usize,
    /// Open signals whose latest news was acted on.
    pub acted_on: usize,
}

impl Review {
    /// Counts open signals; each item is true if the latest news was acted on.
    pub(crate) fn of(acted_on: impl IntoIterator<Item = bool>) -> Review {
        acted_on.into_iter().fold(Review::default(), |review, acted_on| Review {
            open: review.open + 1,
            acted_on: review.acted_on + usize::from(acted_on),
        })
    }
}

impl<'a> SignalInputs<'a> {
    /// The policy's settings of signals; `None` if a part that all signals need is invalid.
    pub(crate) fn of(rules: Rules<'a>, timeline: &'a Timeline<'a>) -> Option<SignalInputs<'a>> {
        let (policy, people) = (rules.policy?, rules.people);
        let first_day = plus(timeline.today, -policy.signals.as_ref()?.look_back_days);
        Some(SignalInputs {
            timeline,
            plan: policy.plan.as_ref()?,
            scoring: policy.scoring.as_ref(),
            signals: policy.signals.as_ref()?,
            people,
            school: SignOffRules::of(rules),
            first_day,
            rare_from: first_day,
            unread: None,
        })
    }

    /// The inputs for an audit of a past period: looks back `look_back_days` from `day`.
    pub(crate) fn looking_back_from(self, day: NaiveDate) -> SignalInputs<'a> {
        let first_day = plus(day, -self.signals.look_back_days);
        SignalInputs { first_day, rare_from: first_day, ..self }
    }

    /// Returns every episode of the last `look_back_days` of the known signals, in the order of their start, including
    /// those raised by records dated slightly ahead of the clock.
    pub(crate) fn episodes(&self) -> Vec<Episode> {
        let mut episodes = self.risen();
        if let Some(timeline) = self.timeline.ahead() {
            ahead::join(&mut episodes, self, &SignalInputs { timeline: &timeline, ..*self });
            episodes.sort_by_key(rank);
        }
        episodes
    }

    fn risen(&self) -> Vec<Episode> {
        let is_asked = |signal: &Signal| !self.signals.is_off(*signal) && self.is_known(*signal);
        let asked: Vec<Signal> = Signal::ALL.iter().copied().filter(is_asked).collect();
        let mut episodes = self.search(&asked, |site, search| site.episodes(search));
        for episode in &mut episodes {
            answer::find(self, episode);
            worse::find_acted_on(self, episode);
            action::find(self, episode);
            self.end_with_support(episode);
        }
        episodes.sort_by_key(rank);
        episodes
    }

    /// Returns the episodes of some signals, before answers and the end of support are applied; `of_site` runs the search
    /// at each exit site.
    fn search(&self, signals: &[Signal], of_site: fn(&WatchedSite, SearchOfSite) -> Vec<Episode>) -> Vec<Episode> {
        let exits = &self.patient().exits;
        let graded: Vec<Vec<Graded>> = exits.iter().map(|exit| self.graded(exit)).collect();
        let sites: Vec<WatchedSite> =
            exits.iter().zip(&graded).map(|(exit, graded)| WatchedSite::of(self, exit, graded)).collect();
        let full_looks = graded.iter().flatten().filter(|graded| is_full_staff_look(graded));
        let whole = Whole { watch: self, full_looks: full_looks.map(|graded| graded.event.name).collect() };
        let mut episodes = Vec::new();
        for signal in signals {
            match signal.rule().episodes {
                EpisodeSearch::Exit(search) => episodes.extend(sites.iter().flat_map(|site| of_site(site, search))),
                EpisodeSearch::Patient(search) => episodes.extend(search(&whole)),
            }
        }
        episodes
    }

    fn graded(&self, exit: &'a ExitSite) -> Vec<Graded<'a>> {
        let grade = |scoring| grade(self.timeline, exit, scoring, self.people, self.signals.image_counts);
        self.scoring.map(grade).unwrap_or_default()
    }

    fn patient(&self) -> &'a Patient {
        self.timeline.patient
    }

    fn calendar(&self) -> &'a Calendar {
        &self.timeline.patient.calendar
    }

    fn threshold(&self, threshold: Threshold) -> f64 {
        self.signals.threshold(threshold)
    }

    fn days(&self, threshold: Threshold) -> i64 {
        self.threshold(threshold) as i64
    }

    /// The time from which a record could be known: when it was written, if later than the event.
    fn known(&self, event: &Event) -> Instant {
        event.known_at(self.calendar())
    }

    /// Ends every signal with support, and drops those that would start later.
    fn end_with_support(&self, episode: &mut Episode) {
        if let Some(ended) = &self.patient().ended {
            let end = self.calendar().start(ended.on);
            if end <= self.timeline.as_of {
                let end = self.calendar().wall(end);
                episode.ended = Some(episode.ended.map_or(end, |known| known.min(end)).max(episode.since));
            }
        }
    }
}

/// One exit site, with its scored site records.
struct WatchedSite<'a> {
    watch: &'a SignalInputs<'a>,
    exit: &'a ExitSite,
    graded: &'a [Graded<'a>],
    by_name: BTreeMap<EventName, &'a Graded<'a>>,
    /// The first day considered.
    first_day: NaiveDate,
}

/// The inputs for signals of the patient rather than of an exit site.
struct Whole<'a> {
    watch: &'a SignalInputs<'a>,
    /// The full looks by staff at any exit site.
    full_looks: BTreeSet<EventName>,
}

impl<'a> WatchedSite<'a> {
    fn of(watch: &'a SignalInputs<'a>, exit: &'a ExitSite, graded: &'a [Graded<'a>]) -> WatchedSite<'a> {
        let by_name = graded.iter().map(|graded| (graded.event.name, graded)).collect();
        WatchedSite { watch, exit, graded, by_name, first_day: watch.first_day }
    }

    /// Returns the episodes of a signal. For an episode that no look closes within the days considered, older records
    /// determine its start, so that the start does not depend on when it is computed.
    /// before them say, so that it rose on the same day whenever it is asked about.
    fn episodes(&self, search: fn(&WatchedSite) -> Vec<Episode>) -> Vec<Episode> {
        let mut episodes = search(self);
        let clean = self.graded.iter().rfind(|graded| graded.is_staff_look && is_clean(graded));
        let first_day = clean.map_or(NaiveDate::MIN, |graded| graded.event.when.care_day);
        let mut open = Vec::new();
        if first_day < self.first_day && episodes.iter().any(Episode::is_open) {
            open = search(&WatchedSite { first_day, by_name: self.by_name.clone(), ..*self });
            open.retain(Episode::is_open);
        }
        if !open.is_empty() {
            episodes.retain(|episode| !episode.is_open());
        }
        episodes.extend(open);
        episodes
    }

    fn schedule(&self) -> Schedule<'a> {
        Schedule { plan: self.watch.plan, patient: self.watch.patient(), exit: self.exit }
    }

    fn pod(&self, event: &Event) -> i64 {
        (event.when.care_day - self.exit.from).num_days()
    }

    /// The site records of the days considered.
    fn records(&self) -> impl Iterator<Item = &'a Graded<'a>> {
        let first = self.first_day;
        self.graded.iter().filter(move |graded| graded.event.when.care_day >= first)
    }

    /// Every look at the exit site on the days considered, including looks without a scored item.
    fn looks(&self) -> impl Iterator<Item = SiteLook<'a>> {
        let looks = self.events().filter(|event| event.site().is_some_and(|site| !site.is_empty()));
        looks.map(|event| self.look(event))
    }

    fn look(&self, event: &'a Event) -> SiteLook<'a> {
        SiteLook { event, graded: self.by_name.get(&event.name).copied() }
    }

    /// Returns true if some record of the exit site on a day may be unread.
    fn is_unread(&self, day: NaiveDate) -> bool {
        let can_be = self.watch.unread.is_some() && self.exit.from < self.watch.first_day;
        can_be && day < self.watch.first_day
    }

    /// Returns true if an unread record of the exit site may lie between an event and the next one read.
    fn can_follow_unread(&self, event: Option<&Event>) -> bool {
        let until = self.watch.unread.map(|unread| unread.until).filter(|_| self.exit.from < self.watch.first_day);
        until.is_some_and(|until| event.is_none_or(|event| event.when.instant <= until))
    }

    /// The pulls at the exit site before the days considered, as far back as pulls are read.
    fn pulls_before(&self) -> impl DoubleEndedIterator<Item = &'a Event> {
        let (from, first) = (self.watch.rare_from, self.first_day);
        let events = self.watch.timeline.of_exit(self.exit);
        events.filter(move |event| {
            event.name.kind == Kind::Trauma && from <= event.when.care_day && event.when.care_day < first
        })
    }

    /// The events of the exit site on the days considered.
    fn events(&self) -> impl Iterator<Item = &'a Event> {
        let first = self.first_day;
        self.watch.timeline.of_exit(self.exit).filter(move |event| event.when.care_day >= first)
    }
}

/// A look at a site, with its score if any item was assessed.
#[derive(Clone, Copy)]
struct SiteLook<'a> {
    event: &'a Event,
    graded: Option<&'a Graded<'a>>,
}

fn is_clean(graded: &Graded) -> bool {
    graded.event.site().is_some_and(|site| score::is_clean(&graded.score, site))
}

/// A look by staff in which every item was assessed: the only kind that can confirm that a finding has resolved.
fn is_full_staff_look(graded: &Graded) -> bool {
    graded.is_staff_look && graded.score.is_complete()
}

/// The signals of today that the policy turned off, each with the reason.
pub(crate) fn off_today(rules: Rules) -> BTreeMap<String, String> {
    let off = rules.policy.and_then(|policy| policy.signals.as_ref()).into_iter().flat_map(|signals| signals.off());
    let is_of_today = |name: &str| Signal::from_word(name).is_some_and(|signal| signal.urgency() == Urgency::Today);
    off.filter(|(name, _)| is_of_today(name)).map(|(name, why)| (name.clone(), why.clone())).collect()
}
