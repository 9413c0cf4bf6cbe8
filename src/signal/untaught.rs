//! A move home with too few people signed off for the dressing change.

use chrono::NaiveDate;

use super::rule::{Answered, EndedBy, EpisodeSearch, RaisedBy, RestsOn, SignalRule, Urgency};
use super::{Episode, Evidence, Fold, Observation, Whole};
use crate::event::{Kind, Signal};
use crate::policy::CarePlace;

/// A move home with too few people signed off; it ends when enough are, or with another move.
pub(super) const HOME_UNTAUGHT: SignalRule = SignalRule {
    urgency: Urgency::Today,
    ends: EndedBy::SignOffs,
    answered: Answered::HandOver,
    rests_on: RestsOn::SignOffs,
    is_each_news: false,
    raised: RaisedBy::Rarely,
    read: &[],
    episodes: EpisodeSearch::Patient(home_untaught),
};

fn home_untaught(whole: &Whole) -> Vec<Episode> {
    let watch = whole.watch;
    let Some(school) = watch.school else { return Vec::new() };
    let (patient, calendar, as_of) = (watch.patient(), watch.calendar(), watch.timeline.as_of);
    let events = watch.timeline.events();
    // A move before the days considered is only known to be still open: what ended it was not read.
    let is_up_since = |home: NaiveDate| {
        patient.home_since(watch.timeline.today) == Some(home)
            && !patient.has_ended(watch.timeline.today)
            && !school.were_enough_since(patient, events, watch.first_day)
    };
    let mut fold = Fold::of_patient(watch, Signal::HomeUntaught);
    for (before, row) in patient.care.iter().zip(patient.care.iter().skip(1)) {
        let start = calendar.start(row.from);
        let is_past = start <= as_of;
        if row.place != CarePlace::Home && is_past {
            fold.end(start);
        }
        let is_move_home = row.place == CarePlace::Home && before.place != CarePlace::Home;
        let is_known = row.from >= watch.first_day || is_up_since(row.from);
        if !is_move_home || !is_past || row.from <= patient.records_from || !is_known {
            continue;
        }
        let signed = school.signed_off(patient, events, row.from);
        if school.are_enough(&signed) {
            continue;
        }
        let (needed, signed) = (school.settings.caregivers_required, signed.len());
        let what = Observation::SignedOff { signed, needed };
        fold.rise(start, start, vec![Evidence { file: patient.source.file.clone(), what }]);
        let moved = patient.care.iter().find(|next| next.from > row.from && next.place != CarePlace::Home);
        let until = moved.map(|next| calendar.start(next.from));
        let later = events.iter().enumerate().filter(|(_, event)| {
            let at = event.when.instant;
            event.name.kind == Kind::Teaching && at > start && until.is_none_or(|until| at < until)
        });
        for (n, event) in later {
            let signed = school.signed_off(patient, &events[..=n], event.when.care_day);
            if school.are_enough(&signed) {
                fold.put_right(event.when.instant, event);
                break;
            }
        }
    }
    fold.finish()
}
