//! Signals of the line and the dressing: a pull, an unsecured anchor, water at the site, an anchor or a dressing that is
//! often off.

use chrono::Duration;

use super::observation::RecurringFinding;
use super::rule::{Answered, COVERING, EndedBy, EpisodeSearch, FullLook, RaisedBy, RestsOn, SITE, SignalRule, Urgency};
use super::{Episode, Fold, Observation, WatchedSite, is_full_staff_look};
use crate::event::{Anchor, Dressing, DressingAndAnchor, Event, Fact, Kind, Signal};
use crate::policy::Threshold;
use crate::schedule::{TriggerEvent, Trouble};

/// A pull. It ends with a full look by staff a set number of days later whose total is not above that of the last full
/// look before the pull, or is in the best band. If only a day is known, the look was at its start and the pull at its
/// end.
pub(super) const LINE_PULLED: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::NoWorse),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::InTime,
    read: SITE,
    episodes: EpisodeSearch::Exit(line_pulled),
};

fn line_pulled(site: &WatchedSite) -> Vec<Episode> {
    let watch_days = site.watch.days(Threshold::PullWatchDays);
    let mut fold = Fold::of_exit(site, Signal::LinePulled);
    let best = site.watch.scoring.and_then(|scoring| scoring.rubric.cutoffs.first()).map(|cutoff| cutoff.band.as_str());
    let mut last_pull: Option<&Event> = site.pulls_before().next_back().filter(|_| fold.is_up());
    // Every pull of the period is read.
    if last_pull.is_none() {
        fold.know();
    }
    let mut before_pull: Option<i64> = None;
    let mut full: Vec<(&Event, i64)> = Vec::new();
    let calendar = site.watch.calendar();
    for event in site.events() {
        if let Fact::Trauma(trauma) = &event.fact {
            last_pull = Some(event);
            let what = Observation::Pulled { mechanism: trauma.mechanism };
            let is_before = |(look, _): &&(&Event, i64)| look.when.instant < event.earliest(calendar);
            let before = full.iter().rev().find(is_before).filter(|_| !fold.is_up());
            if !fold.is_up() {
                before_pull = before.map(|(_, total)| *total);
            }
            // An unread look may have been the last one before the pull.
            if !fold.is_up() && site.can_follow_unread(before.map(|(look, _)| *look)) {
                before_pull = None;
                fold.perhaps(event.when.instant, event, what);
            } else {
                fold.shown(event, what);
            }
            continue;
        }
        let Some(graded) = site.look(event).graded else { continue };
        if let (Some(pull), true) = (last_pull, fold.is_up()) {
            let is_no_worse = graded.score.total().is_some_and(|total| before_pull.is_some_and(|then| total <= then))
                || Some(graded.score.band.as_str()) == best;
            let is_late_enough = event.earliest(calendar) - pull.when.instant >= Duration::days(watch_days);
            match is_no_worse {
                true if is_late_enough && is_full_staff_look(graded) => fold.end_by(event),
                true => fold.better(),
                false => {}
            }
        }
        if is_full_staff_look(graded) {
            full.extend(graded.score.total().map(|total| (event, total)));
        }
    }
    fold.finish()
}

/// The latest record of the anchor is loose or absent; in one change `left` takes precedence over `found`.
pub(super) const ANCHOR_OFF: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::Anchor,
    answered: Answered::Remedy,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Change, Kind::Inspection, Kind::Shower, Kind::Trauma]),
    read: COVERING,
    episodes: EpisodeSearch::Exit(anchor_off),
};

fn anchor_off(site: &WatchedSite) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, Signal::AnchorOff);
    for event in site.events() {
        match event.anchor() {
            Some(Anchor::InPlace) => fold.put_right_by(event),
            Some(anchor) => fold.shown(event, Observation::Anchor(anchor)),
            None => {}
        }
    }
    fold.finish()
}

/// The dressing was wet or off after a shower or at an inspection; the next change ends it. The rules of the due list
/// decide which change is the next one, so that both agree if the order is unknown.
pub(super) const WATER_AT_SITE: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::Change,
    answered: Answered::Remedy,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::By(&[Kind::Inspection, Kind::Shower]),
    read: COVERING,
    episodes: EpisodeSearch::Exit(water_at_site),
};

fn water_at_site(site: &WatchedSite) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, Signal::WaterAtSite);
    let mut changes: Vec<&Event> = Vec::new();
    let mut open: Vec<TriggerEvent> = Vec::new();
    for event in site.events() {
        let dressing = match &event.fact {
            Fact::Shower(shower) => shower.dressing_after,
            Fact::Inspection(inspection) => inspection.covering.dressing,
            _ => None,
        };
        if matches!(event.fact, Fact::Change(_)) {
            changes.push(event);
        } else if let Some(dressing @ (Dressing::Wet | Dressing::Off)) = dressing {
            fold.shown(event, Observation::Dressing(dressing));
            open.push(TriggerEvent { event, trouble: Trouble::Damage(dressing) });
        } else {
            continue;
        }
        open.retain(|report| !changes.iter().any(|change| report.is_answered_by(change)));
        match (open.is_empty(), &event.fact) {
            (true, _) => fold.put_right(event.when.instant, changes.last().copied().unwrap_or(event)),
            (false, Fact::Change(_)) => fold.better(),
            (false, _) => {}
        }
    }
    fold.finish()
}

/// An anchor found loose or absent at several of the most recent changes.
pub(super) const ANCHOR_OFTEN_OFF: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FewerChanges,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Change]),
    read: &[Kind::Change],
    episodes: EpisodeSearch::Exit(anchor_often_off),
};

fn anchor_often_off(site: &WatchedSite) -> Vec<Episode> {
    let is_off = |found: &DressingAndAnchor| matches!(found.anchor, Some(Anchor::Loose | Anchor::Absent));
    often(site, (Threshold::AnchorTimes, Threshold::AnchorOfChanges), RecurringFinding::AnchorOff, is_off)
}

/// A dressing found not intact at several of the most recent changes.
pub(super) const DRESSING_OFTEN_OPEN: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FewerChanges,
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::By(&[Kind::Change]),
    read: &[Kind::Change],
    episodes: EpisodeSearch::Exit(dressing_often_open),
};

fn dressing_often_open(site: &WatchedSite) -> Vec<Episode> {
    let is_open = |found: &DressingAndAnchor| found.dressing.is_some_and(Dressing::is_damaged);
    often(site, (Threshold::OpenTimes, Threshold::OpenOfChanges), RecurringFinding::DressingOpen, is_open)
}

/// A finding at several of the most recent changes; it ends when there are fewer.
fn often(
    site: &WatchedSite,
    (times, of): (Threshold, Threshold),
    what: RecurringFinding,
    is_found: impl Fn(&DressingAndAnchor) -> bool,
) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, times.signal());
    let (times, of) = (site.watch.days(times), site.watch.days(of));
    let mut found: Vec<(&Event, bool)> = Vec::new();
    for event in site.events() {
        let Fact::Change(change) = &event.fact else { continue };
        if fold.is_unknown_at(event.when.instant) {
            continue;
        }
        found.push((event, is_found(&change.found)));
        // Changes before those that were read are unknown.
        let is_known = !fold.is_unknown() || found.len() as i64 >= of;
        let last = &found[found.len().saturating_sub(of as usize)..];
        let count = last.iter().filter(|(_, is_found)| *is_found).count() as i64;
        match count >= times {
            true if !fold.is_up() => {
                let evidence = last.iter().filter(|(_, is_found)| *is_found);
                let often = Observation::OftenFound { count, of: last.len(), found: what };
                evidence.for_each(|(found, _)| {
                    fold.shown_at(event.when.instant, site.watch.known(event), found, often.clone());
                });
            }
            true if is_found(&change.found) => fold.shown(event, Observation::FoundAgain(what)),
            true => {}
            false if is_known => fold.end(event.when.instant),
            false => {}
        }
    }
    fold.finish()
}
