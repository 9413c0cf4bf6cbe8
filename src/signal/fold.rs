//! The fold from events and days to episodes: start, join, improve, end.

use super::{
    Episode, Evidence, LaterScore, Observation, SignalInputs, SiteLook, WatchedSite, is_full_staff_look, worse,
};
use crate::day::Instant;
use crate::event::{ActedBy, Event, Signal};

/// The episodes of one signal under construction.
pub(super) struct Fold<'a> {
    pub(super) watch: &'a SignalInputs<'a>,
    signal: Signal,
    exit: Option<String>,
    pub(super) done: Vec<Episode>,
    pub(super) up: Option<Episode>,
    /// The latest instant at which an event can have shown the open episode.
    shown_by: Option<Instant>,
    /// True while the open episode is only one that unread records may have raised.
    is_unknown: bool,
}

impl<'a> Fold<'a> {
    pub(super) fn of_exit(site: &WatchedSite<'a>, signal: Signal) -> Fold<'a> {
        let (exit, watch) = (site.exit, site.watch);
        let can_be_up = exit.from < watch.first_day && exit.until.is_none_or(|until| until >= watch.rare_from);
        Fold::of(watch, signal, Some(exit.id.clone()), can_be_up)
    }

    pub(super) fn of_patient(watch: &'a SignalInputs<'a>, signal: Signal) -> Fold<'a> {
        Fold::of(watch, signal, None, true)
    }

    /// Starts a fold with no open episode; or with an open one, if unread records can have raised the signal.
    fn of(watch: &'a SignalInputs<'a>, signal: Signal, exit: Option<String>, can_be_up: bool) -> Fold<'a> {
        let mut fold = Fold { watch, signal, exit, done: Vec::new(), up: None, shown_by: None, is_unknown: false };
        if let Some(until) = watch.unread.map(|unread| unread.until).filter(|_| can_be_up) {
            fold.rise(until, until, Vec::new());
            fold.is_unknown = true;
        }
        fold
    }

    /// Returns true while the open episode is only one that unread records may have raised.
    pub(super) fn is_unknown(&self) -> bool {
        self.is_unknown
    }

    /// Returns true if an event may precede an unread record.
    pub(super) fn is_unknown_at(&self, at: Instant) -> bool {
        self.is_unknown && self.watch.unread.is_some_and(|unread| at <= unread.until)
    }

    /// Records an event that shows the signal or not, depending on unread records.
    pub(super) fn perhaps(&mut self, at: Instant, event: &Event, what: Observation) {
        self.shown_at(at, at, event, what);
        self.shown_by = self.shown_by.max(Some(at));
        self.is_unknown = true;
    }

    /// Discards the assumed episode: no unread record can have raised it.
    pub(super) fn know(&mut self) {
        if self.is_unknown {
            (self.up, self.is_unknown) = (None, false);
        }
    }

    pub(super) fn is_up(&self) -> bool {
        self.up.is_some()
    }

    /// Records an event that shows the signal: it starts an episode or joins the open one.
    pub(super) fn shown(&mut self, event: &Event, what: Observation) {
        self.shown_at(event.when.instant, self.watch.known(event), event, what);
    }

    /// Records an event that shows the signal from a later instant on, such as a result.
    pub(super) fn shown_at(&mut self, since: Instant, known_since: Instant, event: &Event, what: Observation) {
        let evidence = Evidence { file: event.file().to_owned(), what };
        self.shown_by = self.shown_by.filter(|_| self.is_up()).max(Some(event.when.instant));
        match &mut self.up {
            // An action must come after everything that may have raised the signal.
            Some(episode) if self.is_unknown => episode.since = episode.since.max(self.watch.calendar().wall(since)),
            Some(episode) if !episode.evidence.contains(&evidence) => {
                // A finding that improved and is shown again has recurred.
                let is_each_news = episode.signal.rule().is_each_news;
                if !is_each_news {
                    episode.worse.extend(worse::worsening(self.watch, episode, &evidence, since, known_since));
                }
                let is_news = is_each_news || episode.better_not_confirmed;
                if is_news { &mut episode.news } else { &mut episode.again }.push(self.watch.calendar().wall(since));
                (episode.better_not_confirmed, episode.later_score) = (false, None);
                episode.evidence.push(evidence);
            }
            Some(episode) => episode.better_not_confirmed = false,
            None => self.rise(since, known_since.max(since), vec![evidence]),
        }
    }

    /// Starts an episode, by an event or by the passing of a day.
    pub(super) fn rise(&mut self, since: Instant, known_since: Instant, evidence: Vec<Evidence>) {
        let calendar = self.watch.calendar();
        self.up = Some(Episode {
            patient: self.watch.patient().code.clone(),
            exit: self.exit.clone(),
            signal: self.signal,
            urgency: self.signal.urgency(),
            since: calendar.wall(since),
            known_since: calendar.wall(known_since),
            evidence,
            better_not_confirmed: false,
            called: None,
            answered: None,
            answered_by: None,
            acted: None,
            latest_action: None,
            news_answered: false,
            treatment_ended: None,
            told: None,
            hours_to_answer: None,
            ended: None,
            news: vec![calendar.wall(since)],
            again: Vec::new(),
            worse: Vec::new(),
            later_score: None,
        });
    }

    /// Records the score of a record with pus, which is evidence of another signal.
    pub(super) fn show_later_score(&mut self, event: &Event, what: Observation) {
        let (at, file) = (self.watch.calendar().wall(event.when.instant), event.file().to_owned());
        if let Some(episode) = self.up.as_mut().filter(|_| !self.is_unknown) {
            episode.later_score = Some(LaterScore { at, file, what });
        }
    }

    /// Records an event that does not show the signal but cannot end it.
    pub(super) fn better(&mut self) {
        if let Some(episode) = &mut self.up {
            (episode.better_not_confirmed, episode.later_score) = (true, None);
        }
    }

    /// Ends the episode.
    pub(super) fn end(&mut self, at: Instant) {
        if self.is_unknown_at(at) {
            return;
        }
        let was_unknown = std::mem::take(&mut self.is_unknown);
        if let Some(mut episode) = self.up.take() {
            if was_unknown {
                episode.evidence.clear();
            }
            episode.better_not_confirmed = false;
            episode.ended = Some(self.watch.calendar().wall(at));
            self.done.push(episode);
        }
    }

    /// Ends the episode with an event that came later than its evidence. If the order is unknown, as on one care day
    /// where either has no time, the episode is improved but not confirmed.
    pub(super) fn end_by(&mut self, event: &Event) {
        match self.came_after(event) {
            true => self.end(event.when.instant),
            false => self.better(),
        }
    }

    /// Ends the episode with the remedy itself, which is also its action: nothing else acts on such a signal.
    pub(super) fn put_right(&mut self, at: Instant, remedy: &Event) {
        if let Some(episode) = &mut self.up {
            episode.answer(self.watch.calendar().wall(at), remedy, ActedBy::Remedy);
        }
        self.end(at);
    }

    /// Ends the episode with the event of the remedy, if it came later than the evidence.
    pub(super) fn put_right_by(&mut self, event: &Event) {
        match self.came_after(event) {
            true => self.put_right(event.when.instant, event),
            false => self.better(),
        }
    }

    /// Returns true if an event came later than all evidence of the open episode, even if only a day is known.
    fn came_after(&self, event: &Event) -> bool {
        self.shown_by.is_none_or(|shown| event.earliest(self.watch.calendar()) > shown)
    }

    /// Judges a site record that shows the signal or not; a record without the relevant item changes nothing.
    pub(super) fn judge(&mut self, look: SiteLook, shows: Option<bool>, what: impl FnOnce() -> Observation) {
        match shows {
            Some(true) => self.shown(look.event, what()),
            Some(false) if look.graded.is_some_and(is_full_staff_look) => self.end_by(look.event),
            Some(false) => self.better(),
            None => {}
        }
    }

    pub(super) fn finish(mut self) -> Vec<Episode> {
        // The evidence of an assumed episode is not known.
        if let Some(unknown) = self.up.as_mut().filter(|_| self.is_unknown) {
            unknown.evidence.clear();
        }
        self.done.extend(self.up);
        self.done
    }
}
