//! Records from before the days that signals look back over: the last look by staff, the logs, and the checkoffs
//! before a move home. Only where nothing in those days says that the signal is not up, so that one that has been up for
//! years rose on the same day whenever it is asked about.

use chrono::NaiveDate;

use super::history::History;
use crate::day::{AsOf, plus};
use crate::event::{Event, Fact, Kind};
use crate::patient::{Exit, Patient, Reports};
use crate::policy::{CarePlace, Policy};
use crate::program::Program;
use crate::score;
use crate::teaching::School;
use crate::timeline::Timeline;

/// The context of one patient.
struct Older<'a> {
    program: &'a Program,
    policy: &'a Policy,
    patient: &'a Patient,
    as_of: AsOf,
    today: NaiveDate,
    /// The first day that signals look back to.
    first_day: NaiveDate,
}

/// Opens them.
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
    older.open_looks(history, signals.image_counts);
    if older.lacks_log(history) {
        history.open_where(None, |name| name.kind == Kind::Log);
    }
    if older.lacks_sign_off(history) {
        history.open_where(None, |name| name.kind == Kind::Teaching);
    }
}

impl Older<'_> {
    fn counts(&self, event: &Event) -> bool {
        event.void.is_none() && event.exists(&self.patient.calendar, self.as_of.instant)
    }

    /// Back to the last full look by staff at each exit site that had none in those days.
    fn open_looks(&self, history: &mut History, image_counts: bool) {
        let people = self.program.people.as_ref().filter(|people| !people.people.is_empty());
        let Some((scoring, people)) = self.policy.scoring.as_ref().zip(people) else { return };
        let is_look = |event: &Event| {
            self.counts(event)
                && score::is_staff_look(event, Some(people), image_counts)
                && event.site().is_some_and(|site| score::Score::of(&scoring.rubric, site).is_complete())
        };
        let is_older = |exit: &&Exit| {
            exit.until.is_none_or(|until| until >= self.today) && self.patient.start(exit) < self.first_day
        };
        let mut unseen: Vec<&Exit> = self.patient.exits.iter().filter(is_older).collect();
        unseen.retain(|exit| !history.opened().any(|event| is_look(event) && self.patient.concerns(event, exit)));
        if !unseen.is_empty() {
            history.open_sites(|event| {
                unseen.retain(|exit| !(is_look(event) && self.patient.concerns(event, exit)));
                unseen.is_empty()
            });
        }
    }

    /// Returns true if no log of those days covers enough for the next one not to be late.
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

    /// Returns true if the patient moved home before those days, and in none of them enough were signed off.
    fn lacks_sign_off(&self, history: &History) -> bool {
        let home = self.patient.home_since(self.today).filter(|home| *home < self.first_day);
        let school = School::of(self.program.rules());
        let (Some(_), Some(school)) = (home, school) else { return false };
        let checkoffs = history.opened().filter(|event| event.name.kind == Kind::Teaching).cloned().collect();
        let timeline = Timeline::of(self.patient, checkoffs, self.as_of.instant);
        !school.were_enough_since(self.patient, timeline.events(), self.first_day)
    }
}
