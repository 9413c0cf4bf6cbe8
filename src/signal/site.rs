//! Signals of a single site record: pus, a score in the review band, a score with culture growth, wide redness, swelling
//! along the tunnel, bleeding, overgranulation, warmth or odor. They end when a full look by staff does not show them.

use super::rule::{Answered, EndedBy, EpisodeSearch, FullLook, RaisedBy, RestsOn, SITE, SignalRule, Urgency};
use super::{Episode, Fold, Observation, SiteLook, WatchedSite};
use crate::day::{Instant, plus};
use crate::event::{Culture, CultureResult, Drainage, Event, Fact, Kind, Signal, Site, Specimen, Swelling};
use crate::policy::Threshold;
use crate::score::Graded;

/// Purulent drainage.
pub(super) const PUS: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(pus),
};

fn pus(site: &WatchedSite) -> Vec<Episode> {
    fold(site, Signal::Pus, |_, seen| {
        (seen.drainage.map(|drainage| drainage == Drainage::Purulent), Observation::Pus { amount: seen.amount })
    })
}

/// The worst band, without pus.
pub(super) const SCORE_REVIEW: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(score_review),
};

fn score_review(site: &WatchedSite) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, Signal::ScoreReview);
    for look in site.looks() {
        let Some((graded, seen)) = look.graded.zip(look.event.site()) else { continue };
        let (shows, what) = for_review(site, graded, seen);
        match seen.drainage == Some(Drainage::Purulent) && is_worst(site, graded) {
            true => fold.show_later_score(look.event, what),
            false => fold.judge(look, shows, || what),
        }
    }
    fold.finish()
}

/// Redness of at least the threshold.
pub(super) const REDNESS_WIDE: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(redness_wide),
};

fn redness_wide(site: &WatchedSite) -> Vec<Episode> {
    let wide = site.watch.threshold(Threshold::WideMm);
    fold(site, Signal::RednessWide, |_, seen| {
        (seen.redness_mm.map(|mm| mm >= wide), Observation::Redness { mm: seen.redness_mm.unwrap_or_default() })
    })
}

/// Swelling along the tunnel.
pub(super) const SWELLING_TUNNEL: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(swelling_tunnel),
};

fn swelling_tunnel(site: &WatchedSite) -> Vec<Episode> {
    fold(site, Signal::SwellingTunnel, |_, seen| {
        (seen.swelling.map(|swelling| swelling == Swelling::Tunnel), Observation::SwellingTunnel)
    })
}

/// Overgranulation.
pub(super) const OVERGRANULATION: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(overgranulation),
};

fn overgranulation(site: &WatchedSite) -> Vec<Episode> {
    fold(site, Signal::Overgranulation, |_, seen| (seen.overgranulation, Observation::Overgranulation))
}

/// Warmth or odor.
pub(super) const WARMTH_OR_ODOR: SignalRule = SignalRule {
    urgency: Urgency::ThisWeek,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Contact,
    rests_on: RestsOn::Records,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(warmth_or_odor),
};

fn warmth_or_odor(site: &WatchedSite) -> Vec<Episode> {
    fold(site, Signal::WarmthOrOdor, |_, seen| {
        let (warmth, odor) = (seen.warmth == Some(true), seen.odor == Some(true));
        (either(seen.warmth, seen.odor), Observation::WarmthOrOdor { warmth, odor })
    })
}

/// Returns true if either is true, false if both are known to be false.
fn either(one: Option<bool>, other: Option<bool>) -> Option<bool> {
    match (one, other) {
        (Some(true), _) | (_, Some(true)) => Some(true),
        (Some(false), Some(false)) => Some(false),
        _ => None,
    }
}

/// Returns the episodes of a signal that each site record shows, does not show, or leaves open.
pub(super) fn fold(
    site: &WatchedSite,
    signal: Signal,
    shows: impl Fn(SiteLook, &Site) -> (Option<bool>, Observation),
) -> Vec<Episode> {
    let mut fold = Fold::of_exit(site, signal);
    for look in site.looks() {
        if let Some(seen) = look.event.site() {
            let (shows, what) = shows(look, seen);
            fold.judge(look, shows, || what);
        }
    }
    fold.finish()
}

/// The worst band, without pus. Pus is a separate signal and does not count as improvement; an undetermined band decides
/// nothing.
fn for_review(site: &WatchedSite, graded: &Graded, seen: &Site) -> (Option<bool>, Observation) {
    let score = &graded.score;
    let shows = match score.band.as_str() {
        _ if seen.drainage == Some(Drainage::Purulent) => None,
        crate::policy::UNDETERMINED => None,
        _ => Some(is_worst(site, graded)),
    };
    let (least, most) = (score.total_min, score.total_max);
    (shows, Observation::Score { least, most, band: score.band.clone() })
}

/// Returns true if a score lies in the worst band of the rubric.
fn is_worst(site: &WatchedSite, graded: &Graded) -> bool {
    let worst = site.watch.scoring.and_then(|scoring| scoring.rubric.cutoffs.last());
    worst.is_some_and(|worst| worst.band == graded.score.band)
}

/// Bleeding after the first weeks, or after a pull; a pull with bleeding counts too.
pub(super) const BLEEDING_AT_SITE: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Records,
    is_each_news: true,
    raised: RaisedBy::By(&[Kind::Change, Kind::Assessment, Kind::Trauma]),
    read: SITE,
    episodes: EpisodeSearch::Exit(bleeding),
};

fn bleeding(site: &WatchedSite) -> Vec<Episode> {
    let watch = site.watch;
    let after_pod = watch.threshold(Threshold::BleedingAfterPod);
    let watch_days = watch.days(Threshold::PullWatchDays);
    let mut fold = Fold::of_exit(site, Signal::BleedingAtSite);
    let mut last_pull: Option<&Event> = site.pulls_before().next_back();
    for event in site.events() {
        if let Fact::Trauma(trauma) = &event.fact {
            last_pull = Some(event);
            if trauma.site_bleeding == Some(true) {
                fold.shown(event, Observation::BledAtPull);
            }
            continue;
        }
        let bleeding = event.site().and_then(|seen| seen.bleeding);
        let is_late = site.pod(event) as f64 > after_pod;
        let is_after_pull =
            last_pull.is_some_and(|pull| (event.when.care_day - pull.when.care_day).num_days() <= watch_days);
        // Bleeding of the fresh wound neither starts nor ends it.
        let shows = bleeding.filter(|bleeds| !bleeds || is_late || is_after_pull);
        fold.judge(site.look(event), shows, || Observation::Bleeding);
    }
    fold.finish()
}

/// A score at or above the threshold within some days of a site culture with growth. It starts when both are known.
pub(super) const SCORE_WITH_GROWTH: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::FullLook(FullLook::WithoutIt),
    answered: Answered::Act,
    rests_on: RestsOn::Scores,
    is_each_news: false,
    raised: RaisedBy::BY_SITE,
    read: SITE,
    episodes: EpisodeSearch::Exit(with_growth),
};

fn with_growth(site: &WatchedSite) -> Vec<Episode> {
    let signal = Signal::ScoreWithGrowth;
    let watch = site.watch;
    let (points, days) = (watch.threshold(Threshold::GrowthPoints), watch.days(Threshold::GrowthWithinDays));
    let grown: Vec<(&Event, Instant)> = growths(site).collect();
    let is_near =
        |culture: &Event, record: &Event| (culture.when.care_day - record.when.care_day).num_days().abs() <= days;
    // When each is known: a look at its own time, growth on the day of its result.
    enum GrowthStep<'g> {
        Look(&'g Graded<'g>),
        Growth(&'g Event),
    }
    let looks = site.records().map(|graded| (graded.event.when.instant, GrowthStep::Look(graded)));
    let results = grown.iter().map(|(culture, at)| (*at, GrowthStep::Growth(culture)));
    let mut steps: Vec<(Instant, GrowthStep)> = looks.chain(results).collect();
    steps.sort_by_key(|(at, _)| *at);
    let mut fold = Fold::of_exit(site, signal);
    for (now, step) in steps {
        match step {
            GrowthStep::Look(graded) => {
                let known = grown.iter().filter(|(_, at)| *at <= now);
                let beside = known.clone().any(|(culture, _)| is_near(culture, graded.event));
                let (least, most) = (graded.score.total_min as f64, graded.score.total_max as f64);
                let shows = match () {
                    _ if least >= points && beside => Some(true),
                    _ if most < points => Some(false),
                    _ => None,
                };
                let look = SiteLook { event: graded.event, graded: Some(graded) };
                fold.judge(look, shows, || beside_growth(graded));
            }
            GrowthStep::Growth(culture) => {
                if site.is_unread(plus(culture.when.care_day, -days)) {
                    fold.perhaps(now, culture, Observation::Growth);
                    continue;
                }
                let looks = site.records().filter(|graded| graded.event.when.instant <= now);
                let beside: Vec<&Graded> = looks.filter(|graded| is_near(culture, graded.event)).collect();
                let last = beside.iter().rev().find(|graded| graded.score.total_min as f64 >= points);
                if let Some(graded) = last {
                    let known = watch.known(graded.event);
                    fold.shown_at(now, known, graded.event, beside_growth(graded));
                    fold.shown_at(now, now, culture, Observation::Growth);
                }
            }
        }
    }
    fold.finish()
}

/// A score near a culture that grew.
fn beside_growth(graded: &Graded) -> Observation {
    Observation::ScoreBesideGrowth { points: graded.score.total_min, most: graded.score.total_max }
}

/// The site cultures with growth, each with the instant from which the result is known.
fn growths<'a>(site: &WatchedSite<'a>) -> impl Iterator<Item = (&'a Event, Instant)> {
    let calendar = site.watch.calendar();
    let as_of = site.watch.timeline.as_of;
    let first = site.watch.rare_from;
    let events = site.watch.timeline.events().iter().filter(move |event| event.when.care_day >= first);
    events.filter_map(move |event| match &event.fact {
        Fact::Culture(Culture {
            specimen: Specimen::ExitSite,
            result: Some(CultureResult { on, growth: true, .. }),
        }) => Some((event, calendar.start(*on).max(event.when.instant))).filter(|(_, at)| *at <= as_of),
        _ => None,
    })
}
