//! Signals of a trend: a rising score, spreading redness, increased drainage, persistent drainage.

use super::rule::{Answered, EndedBy, EpisodeSearch, FullLook, RaisedBy, RestsOn, SITE, SignalRule, Urgency};
use super::{Episode, Fold, Observation, SiteLook, WatchedSite, is_full_staff_look};
use crate::day::plus;
use crate::event::{Amount, Drainage, Event, Signal};
use crate::policy::Threshold;
use crate::score::{Graded, Score};

/// The sum over the items assessed in both is a set number of points above the lowest full site record of the last days;
/// it ends when a full look by staff is back within one point of that record.
pub(super) const SCORE_RISING: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::ScoreBack),
    answered: Answered::Contact,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(score_rising),
};

fn score_rising(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::ScoreRising;
    let (points, days) = (site.watch.threshold(Threshold::RisingPoints), site.watch.days(Threshold::RisingWithinDays));
    let mut fold = Fold::of_exit(site, signal);
    let mut lowest_at_rise: Option<&Graded> = None;
    let mut before: Vec<&Graded> = Vec::new();
    for graded in site.records() {
        let first = plus(graded.event.when.care_day, -days);
        let full = before.iter().filter(|other| other.event.when.care_day >= first && other.score.is_complete());
        let lowest = lowest_at_rise.or_else(|| full.min_by_key(|other| other.score.total_min).copied());
        // An unread record may have had a score of 0.
        let is_unknown = lowest_at_rise.is_none() && (fold.is_unknown() || site.is_unread(first));
        let sums = match lowest {
            _ if is_unknown => Some((graded.score.total_min, 0)),
            lowest => lowest.and_then(|lowest| sums_of_both(&graded.score, &lowest.score)),
        };
        if let Some((now, then)) = sums {
            let above = (now - then) as f64;
            let on = lowest.map_or(first, |lowest| lowest.event.when.care_day);
            let what = Observation::ScoreUp { now, most: now.max(graded.score.total_max), then, on };
            if above >= points && is_unknown {
                fold.perhaps(graded.event.when.instant, graded.event, what);
            } else if above >= points {
                lowest_at_rise = lowest;
                fold.shown(graded.event, what);
            } else if fold.is_up() && above <= 1.0 {
                match is_full_staff_look(graded) {
                    true => fold.end_by(graded.event),
                    false => fold.better(),
                }
                lowest_at_rise = lowest_at_rise.filter(|_| fold.is_up());
            }
        }
        before.push(graded);
    }
    fold.finish()
}

/// The sums of both records over the items assessed in both; `None` if there are none.
fn sums_of_both(one: &Score, other: &Score) -> Option<(i64, i64)> {
    let both: Vec<(i64, i64)> =
        one.items.iter().zip(&other.items).filter_map(|(one, other)| Some((one.points?, other.points?))).collect();
    let sum = |of: fn(&(i64, i64)) -> i64| both.iter().map(of).sum();
    (!both.is_empty()).then(|| (sum(|(one, _)| *one), sum(|(_, other)| *other)))
}

/// Redness is a set number of mm larger than the smallest of the last days.
pub(super) const REDNESS_SPREADING: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::RednessBack),
    answered: Answered::Contact,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(redness_spreading),
};

fn redness_spreading(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::RednessSpreading;
    let (mm, days) = (site.watch.threshold(Threshold::SpreadingMm), site.watch.days(Threshold::SpreadingWithinDays));
    let mut fold = Fold::of_exit(site, signal);
    let mut least_at_rise: Option<f64> = None;
    let mut before: Vec<(SiteLook, f64)> = Vec::new();
    for look in site.looks() {
        let Some(now) = look.event.site().and_then(|seen| seen.redness_mm) else { continue };
        let first = plus(look.event.when.care_day, -days);
        let recent = before.iter().filter(|(other, _)| other.event.when.care_day >= first).map(|(_, mm)| *mm);
        let is_unknown = least_at_rise.is_none() && (fold.is_unknown() || site.is_unread(first));
        let least = if is_unknown { Some(0.0) } else { least_at_rise.or(recent.reduce(f64::min)) };
        if let Some(least) = least {
            let spreads = now - least >= mm;
            let what = Observation::RednessUp { now, then: least };
            if spreads && !is_unknown {
                least_at_rise = Some(least);
            }
            let was_up = fold.is_up();
            match spreads && is_unknown {
                true => fold.perhaps(look.event.when.instant, look.event, what),
                false => fold.judge(look, Some(spreads), || what),
            }
            if was_up && !fold.is_up() {
                least_at_rise = None;
            }
        }
        before.push((look, now));
    }
    fold.finish()
}

/// Drainage after none, or of a worse kind or a larger amount than in the previous record, after the first weeks.
pub(super) const DRAINAGE_MORE: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::WithoutDrainage),
    answered: Answered::Contact,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(drainage_more),
};

fn drainage_more(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::DrainageMore;
    let after_pod = site.watch.threshold(Threshold::MoreAfterPod);
    let mut fold = Fold::of_exit(site, signal);
    let mut before: Option<(&Event, Drainage, Option<Amount>)> = None;
    for look in site.looks() {
        let Some(seen) = look.event.site() else { continue };
        let Some(drainage) = seen.drainage else { continue };
        let is_more = before.is_some_and(|(_, kind, amount)| {
            drainage as u8 > kind as u8
                || drainage != Drainage::None
                    && matches!((seen.amount, amount), (Some(now), Some(then)) if now as u8 > then as u8)
        });
        let is_late = site.pod(look.event) as f64 > after_pod;
        let what = Observation::DrainageMore { drainage, amount: seen.amount };
        // An unread record may have had no drainage.
        if site.can_follow_unread(before.map(|(event, ..)| event)) && drainage != Drainage::None && is_late {
            fold.perhaps(look.event.when.instant, look.event, what);
        } else if is_more && is_late {
            fold.shown(look.event, what);
        } else if fold.is_up() {
            // As long as there is any drainage, it has not ended; unchanged drainage adds no evidence.
            let is_gone = drainage == Drainage::None;
            fold.judge(look, is_gone.then_some(false), || Observation::Pus { amount: None });
        }
        before = Some((look.event, drainage, seen.amount));
    }
    fold.finish()
}

/// Drainage in every site record of the last days, with a minimum number of records, the first one old enough. It can
/// start with the passing of a day, without a new record.
pub(super) const DRAINAGE_LASTING: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::WithoutDrainage),
    answered: Answered::Contact,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(drainage_lasting),
};

fn drainage_lasting(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::DrainageLasting;
    let watch = site.watch;
    let (days, records) = (watch.days(Threshold::LastingDays), watch.days(Threshold::LastingRecords));
    let after_pod = watch.threshold(Threshold::LastingAfterPod);
    let mut fold = Fold::of_exit(site, signal);
    let mut run: Vec<SiteLook> = Vec::new();
    let drained: Vec<(SiteLook, bool)> =
        site.looks().filter_map(|look| Some((look, look.event.site()?.drainage? != Drainage::None))).collect();
    let lasts = |run: &[SiteLook], day| {
        let first = run.first().map(|look| look.event.when.care_day);
        let recent = run.iter().filter(|look| look.event.when.care_day >= plus(day, -days)).count() as i64;
        first.is_some_and(|first| first <= plus(day, -days))
            && recent >= records
            && (day - site.exit.from).num_days() as f64 > after_pod
    };
    for (n, (look, is_wet)) in drained.iter().enumerate() {
        if !is_wet {
            run.clear();
            fold.judge(*look, Some(false), || Observation::Pus { amount: None });
            continue;
        }
        run.push(*look);
        let what = || Observation::DrainageSince(run[0].event.when.care_day);
        if fold.is_up() || lasts(&run, look.event.when.care_day) {
            fold.shown(look.event, what());
            continue;
        }
        // The day on which the first record becomes old enough, if before the next record.
        let past_first_weeks = plus(site.exit.from, after_pod.clamp(-1.0, 1e6) as i64 + 1);
        let day = plus(run[0].event.when.care_day, days).max(past_first_weeks);
        let at = watch.calendar().start(day);
        let next = drained.get(n + 1).map_or(watch.timeline.as_of, |(next, _)| next.event.when.instant);
        if at > look.event.when.instant && at <= next && lasts(&run, day) {
            fold.shown_at(at, at, look.event, what());
        }
    }
    fold.finish()
}
