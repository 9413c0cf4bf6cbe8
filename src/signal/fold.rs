//! How events and days become episodes: what raises one, joins it, makes it better, ends it.

use super::{Episode, Evidence, Look, Observation, Site, Watch, is_full_staff_look};
use crate::day::Instant;
use crate::event::{Event, Signal};

/// Episodes of one signal while they are put together.
pub(super) struct Fold<'a> {
    pub(super) watch: &'a Watch<'a>,
    signal: Signal,
    exit: Option<String>,
    pub(super) done: Vec<Episode>,
    pub(super) up: Option<Episode>,
    /// The latest moment at which an event can have shown what is up.
    shown_by: Option<Instant>,
}

impl<'a> Fold<'a> {
    pub(super) fn of_exit(site: &Site<'a>, signal: Signal) -> Fold<'a> {
        Fold { watch: site.watch, signal, exit: Some(site.exit.id.clone()), done: Vec::new(), up: None, shown_by: None }
    }

    pub(super) fn of_patient(watch: &'a Watch<'a>, signal: Signal) -> Fold<'a> {
        Fold { watch, signal, exit: None, done: Vec::new(), up: None, shown_by: None }
    }

    pub(super) fn is_up(&self) -> bool {
        self.up.is_some()
    }

    /// An event shows it: it rises, or the event joins it.
    pub(super) fn shown(&mut self, event: &Event, what: Observation) {
        self.shown_at(event.when.instant, self.watch.known(event), event, what);
    }

    /// An event shows it from a moment on that is not its own, such as a result.
    pub(super) fn shown_at(&mut self, since: Instant, known_since: Instant, event: &Event, what: Observation) {
        let evidence = Evidence { file: event.file().to_owned(), what };
        self.shown_by = self.shown_by.filter(|_| self.is_up()).max(Some(event.when.instant));
        match &mut self.up {
            Some(episode) if !episode.evidence.contains(&evidence) => {
                // What was better and is shown again has come back.
                let is_news = episode.signal.rule().is_each_news || episode.better_not_confirmed;
                if is_news { &mut episode.news } else { &mut episode.again }.push(since);
                episode.better_not_confirmed = false;
                episode.evidence.push(evidence);
            }
            Some(episode) => episode.better_not_confirmed = false,
            None => self.rise(since, known_since.max(since), vec![evidence]),
        }
    }

    /// It rises, by an event or by a day that passed.
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
            news_answered: false,
            hours_to_answer: None,
            ended: None,
            news: vec![since],
            again: Vec::new(),
        });
    }

    /// A record does not show it, and cannot end it.
    pub(super) fn better(&mut self) {
        if let Some(episode) = &mut self.up {
            episode.better_not_confirmed = true;
        }
    }

    /// It has ended.
    pub(super) fn end(&mut self, at: Instant) {
        if let Some(mut episode) = self.up.take() {
            episode.better_not_confirmed = false;
            episode.ended = Some(self.watch.calendar().wall(at));
            self.done.push(episode);
        }
    }

    /// An event ends it if it came later than what shows it. Where the order is not known, as on one care day where either
    /// has no time, it is better, not confirmed.
    pub(super) fn end_by(&mut self, event: &Event) {
        match self.came_after(event) {
            true => self.end(event.when.instant),
            false => self.better(),
        }
    }

    /// The remedy itself ends it, and is its answer: nothing else answers such a signal.
    pub(super) fn put_right(&mut self, at: Instant, remedy: &Event) {
        if let Some(episode) = &mut self.up {
            episode.answer(self.watch.calendar().wall(at), remedy);
        }
        self.end(at);
    }

    /// The remedy as an event, where it came later than what shows the signal.
    pub(super) fn put_right_by(&mut self, event: &Event) {
        match self.came_after(event) {
            true => self.put_right(event.when.instant, event),
            false => self.better(),
        }
    }

    /// Returns true if an event came later than all that shows what is up, also where only a day is known.
    fn came_after(&self, event: &Event) -> bool {
        self.shown_by.is_none_or(|shown| event.earliest(self.watch.calendar()) > shown)
    }

    /// A site record that does, or does not, show it; one that says nothing of it leaves it as it is.
    pub(super) fn judge(&mut self, look: Look, shows: Option<bool>, what: impl FnOnce() -> Observation) {
        match shows {
            Some(true) => self.shown(look.event, what()),
            Some(false) if look.graded.is_some_and(is_full_staff_look) => self.end_by(look.event),
            Some(false) => self.better(),
            None => {}
        }
    }

    pub(super) fn finish(mut self) -> Vec<Episode> {
        self.done.extend(self.up);
        self.done
    }
}
