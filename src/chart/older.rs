//! Records from before the look-back period of signals: the last look by staff, the logs, and the checkoffs before a move
//! home. They are read only if nothing in the period shows that the signal is not open, so that the start of a signal
//! that has been open for years does not depend on when it is computed.

use chrono::NaiveDate;

use super::history::History;
use crate::day::{AsOf, plus};
use crate::event::{ActedBy, Event, Fact, Kind};
use crate::patient::{ExitSite, Patient, Reports};
use crate::policy::{CarePlace, Policy};
use crate::program::Program;
use crate::score;
use crate::teaching::SignOffRules;
use crate::timeline::Timeline;

/// The context of one patient.
struct Older<'a> {
    program: &'a Program,
    policy: &'a Policy,
    patient: &'a Patient,
    as_of: AsOf,
    today: NaiveDate,
    /// The first day of the look-back period.
    first_day: NaiveDate,
}

/// Opens the files.
pub(super) fn open(program: &Program, history: &mut History, patient: &Patient, as_of: AsOf) {
    let Some((policy, signals)) = program.policy.as_ref().and_then(|policy| Some((policy, policy.signals.as_ref()?)))
    else {
        return;
    };
    let today = patient.calendar.today(as_of.instant);
    if patient.has_ended(today) {
        return;
    }
    let first_day = plus(today, -signals.look_back_days);
    let older = Older { program, policy, patient, as_of, today, first_day };
    let has_older = [
        older.open_looks(history, signals.image_counts),
        older.opens(older.lacks_log(history), Kind::Log, history),
        older.opens(older.lacks_sign_off(history), Kind::Teaching, history),
        patient.place(first_day) == CarePlace::Elsewhere,
    ];
    // A signal open since before the period can have been acted on before it, too.
    if has_older.contains(&true) {
        let opened = history.opened().map(|event| event.when.care_day).min();
        let away = patient.care.iter().rfind(|row| row.from <= first_day).map(|row| row.from);
        let oldest = opened.into_iter().chain(away.filter(|_| has_older[3])).min();
        history.open_where(oldest.or(Some(first_day)), |name| acts_without_a_look(name.kind));
    }
}

/// Returns true if a record of the kind acts on a signal without a look at the site.
fn acts_without_a_look(kind: Kind) -> bool {
    matches!(kind.traits().acts, Some(ActedBy::Clinical | ActedBy::Contact))
}

impl Older<'_> {
    fn counts(&self, event: &Event) -> bool {
        event.void.is_none() && event.exists(&self.patient.calendar, self.as_of.instant)
    }

    /// Opens each file of a kind if needed.
    fn opens(&self, is_needed: bool, kind: Kind, history: &mut History) -> bool {
        if is_needed {
            history.open_where(None, |name| name.kind == kind);
        }
        is_needed
    }

    /// Opens the looks back to the last full one by staff without a finding, at each exit site without one in the period:
    /// it ended every earlier signal. Returns true if there was such an exit site.
    fn open_looks(&self, history: &mut History, image_counts: bool) -> bool {
        let people = self.program.people.as_ref().filter(|people| !people.people.is_empty());
        let Some((scoring, people)) = self.policy.scoring.as_ref().zip(people) else { return false };
        let is_clean = |event: &Event| {
            self.counts(event)
                && score::is_staff_look(event, Some(people), image_counts)
                && event.site().is_some_and(|site| score::is_clean(&score::Score::of(&scoring.rubric, site), site))
        };
        let is_older = |exit: &&ExitSite| {
            exit.until.is_none_or(|until| until >= self.today) && self.patient.start(exit) < self.first_day
        };
        let mut unseen: Vec<&ExitSite> = self.patient.exits.iter().filter(is_older).collect();
        unseen.retain(|exit| !history.opened().any(|event| is_clean(event) && self.patient.concerns(event, exit)));
        let is_needed = !unseen.is_empty();
        if is_needed {
            history.open_sites(|event| {
                unseen.retain(|exit| !(is_clean(event) && self.patient.concerns(event, exit)));
                unseen.is_empty()
            });
        }
        is_needed
    }

    /// Returns true if no log of the period covers enough for the next one not to be overdue.
    fn lacks_log(&self, history: &History) -> bool {
        let row = self.patient.care_row(self.today);
        let is_by_log = row.is_some_and(|row| row.place == CarePlace::Home && row.reports == Reports::Log);
        let through = history.opened().filter(|event| self.counts(event)).filter_map(|event| match &event.fact {
            Fact::Log(log) if log.complete => Some(log.through),
            _ => None,
        });
        let log_days = self.policy.plan.as_ref().map_or(0, |plan| plan.log_days);
        is_by_log && through.max().is_none_or(|through| plus(through, log_days) < self.today)
    }

    /// Returns true if the patient moved home before the period and too few people were signed off throughout it.
    fn lacks_sign_off(&self, history: &History) -> bool {
        let home = self.patient.home_since(self.today).filter(|home| *home < self.first_day);
        let school = SignOffRules::of(self.program.rules());
        let (Some(_), Some(school)) = (home, school) else { return false };
        let checkoffs = history.opened().filter(|event| event.name.kind == Kind::Teaching).cloned().collect();
        let timeline = Timeline::of(self.patient, checkoffs, self.as_of.instant);
        !school.were_enough_since(self.patient, timeline.events(), self.first_day)
    }
}
