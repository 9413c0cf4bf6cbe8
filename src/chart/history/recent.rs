//! The files for one patient on the due list: the last change of each exit site, all files named later, and the latest
//! record of a few facts shown with it, however old.

use chrono::NaiveDate;

use super::History;
use crate::day::{AsOf, after, before, plus};
use crate::event::{ContactOutcome, Event, EventName, Fact, Kind, Site};
use crate::patient::{CareRow, ExitSite, Patient, Reports};
use crate::policy::CarePlace;
use crate::problem::Problem;

/// The maximum lag in days between an event's name and its place in the order of events: time zone offsets are up to 26
/// hours apart, and an event without a time is placed at the end of its care day.
const NAME_LAG_DAYS: i64 = 3;

/// The number of days for which a kept promise can still be within its time.
const KEPT_PROMISE_DAYS: i64 = 402;

/// The number of days for which a promise can last if its deadline was one in hours; a window is at most 168 hours.
const CLOCK_DAYS: i64 = 9;

/// The events of one patient for the due list.
#[derive(Debug)]
pub(in crate::chart) struct Recent {
    /// The readable events.
    pub(in crate::chart) events: Vec<Event>,
    /// Unreadable files without which the patient's state cannot be determined.
    pub(in crate::chart) unusable: Vec<Problem>,
    /// Unreadable files that do not affect the state.
    pub(in crate::chart) others: Vec<Problem>,
    /// Files of future events.
    pub(in crate::chart) ahead: Vec<String>,
}

/// The search over the exit sites.
struct RecentSearch<'a> {
    patient: &'a Patient,
    as_of: AsOf,
    exits: Vec<Sought<'a>>,
    /// Decides which site records score, if facts for display are wanted.
    scores: Option<&'a dyn Fn(&Site) -> bool>,
    /// True if every exit site in patient.toml has begun.
    all_begun: bool,
    /// The last readable change, by name.
    last_change: Option<EventName>,
    /// The first day for which a kept promise is wanted.
    oldest_promise: NaiveDate,
    /// The first day on which a household that reports by log today ever did so, `NaiveDate::MIN` if it always did; its
    /// logs and reports are wanted from then on.
    first_log_day: Option<NaiveDate>,
    /// The last day covered by the logs found so far.
    last_day_by_log: Option<NaiveDate>,
    contact: Newest,
    promise: Newest,
    told: Newest,
    /// The care day of a promise with a deadline that was running at the call.
    call: Option<NaiveDate>,
}

struct Sought<'a> {
    exit: &'a ExitSite,
    /// The wall-clock dates with a change, newest first; two are enough.
    change_dates: Vec<NaiveDate>,
    /// The earliest care day among the newest changes of those dates.
    last_care_day: Option<NaiveDate>,
    /// The care day of the last change before the call.
    before_the_call: Option<NaiveDate>,
    site: Newest,
    anchor: Newest,
}

/// The date of the newest file with a value.
#[derive(Debug, Clone, Copy, Default)]
struct Newest(Option<NaiveDate>);

impl Newest {
    fn note(&mut self, name: EventName, is_so: bool) {
        if is_so {
            self.0 = self.0.or(Some(name.date));
        }
    }

    /// Returns true if a file of a date may hold a later value: none is known yet, or the names alone do not show which
    /// is later.
    fn is_open(self, date: NaiveDate) -> bool {
        self.0.is_none_or(|newest| date >= plus(newest, -NAME_LAG_DAYS))
    }
}

impl Recent {
    /// Reads the files for the due list, newest first, and stops as soon as nothing is wanted any more. `scores` decides
    /// which site records score.
    pub(in crate::chart) fn of(
        history: History,
        patient: &Patient,
        as_of: AsOf,
        scores: &dyn Fn(&Site) -> bool,
    ) -> Recent {
        Recent::read(history, patient, as_of, Some(scores))
    }

    /// Reads without the facts for display: the last score, anchor, contact and promise.
    pub(in crate::chart) fn without_facts(history: History, patient: &Patient, as_of: AsOf) -> Recent {
        Recent::read(history, patient, as_of, None)
    }

    fn read(mut history: History, patient: &Patient, as_of: AsOf, scores: Option<&dyn Fn(&Site) -> bool>) -> Recent {
        let today = patient.calendar.today(as_of.instant);
        let mut search = RecentSearch { scores, ..RecentSearch::of(patient, as_of, today) };
        let mut needed: Vec<EventName> = Vec::new();
        'years: for year in history.years() {
            if last_day_of(&year).is_some_and(|last| search.is_finished(last)) {
                break;
            }
            for name in history.year(&year).into_iter().rev() {
                if as_of.is_given && name.date > plus(as_of.instant.date_naive(), 1) && name.kind != Kind::Log {
                    continue;
                }
                if search.is_finished(name.date) {
                    break 'years;
                }
                if search.is_needed_for_state(&name) {
                    needed.push(name);
                } else if !search.is_wanted(name.kind, name.date) {
                    continue;
                }
                if let Some(event) = history.open(name) {
                    search.note(event);
                }
            }
        }
        if scores.is_some() {
            history.open_lasting();
        }
        sort_out(history, needed, &search)
    }
}

impl<'a> RecentSearch<'a> {
    fn of(patient: &'a Patient, as_of: AsOf, today: NaiveDate) -> Self {
        let sought = |exit| Sought {
            exit,
            change_dates: Vec::new(),
            last_care_day: None,
            before_the_call: None,
            site: Newest::default(),
            anchor: Newest::default(),
        };
        let (begun, to_come): (Vec<&ExitSite>, Vec<&ExitSite>) =
            patient.exits_followed(today).into_iter().partition(|exit| exit.from <= today);
        // The first care row reaches back: a log can cover days before it.
        let first_log_day = |row: &CareRow| if patient.care.first() == Some(row) { NaiveDate::MIN } else { row.from };
        let first_log_row = patient.care_row(today).filter(is_by_log).and(patient.care.iter().find(is_by_log));
        RecentSearch {
            patient,
            as_of,
            exits: begun.into_iter().map(sought).collect(),
            scores: None,
            all_begun: to_come.is_empty(),
            last_change: None,
            oldest_promise: plus(today, -KEPT_PROMISE_DAYS),
            first_log_day: first_log_row.map(first_log_day),
            last_day_by_log: None,
            contact: Newest::default(),
            promise: Newest::default(),
            told: Newest::default(),
            call: None,
        }
    }

    /// Returns true if the last change of every exit site is known, or cannot be older.
    fn is_done(&self) -> bool {
        self.exits.iter().all(|sought| sought.last_care_day.is_some())
    }

    /// Returns true if no file of that date or earlier can matter: the search ends when nothing is wanted.
    fn is_finished(&self, date: NaiveDate) -> bool {
        self.is_done() && !self.may_be_needed(date) && !Kind::ALL.iter().any(|kind| self.is_wanted(*kind, date))
    }

    /// Returns true if the state needs the file: it is named later than the last change, or is on its care day, where an
    /// unknown order can matter.
    fn is_needed_for_state(&self, name: &EventName) -> bool {
        self.exits.iter().any(|sought| match sought.last_care_day {
            None => after(name.date) >= self.patient.start(sought.exit),
            Some(day) => name.date >= day,
        }) || self.exits.is_empty() && name.date >= self.as_of.instant.date_naive()
    }

    /// Returns true if a file of that date may still be needed for the state.
    fn may_be_needed(&self, date: NaiveDate) -> bool {
        self.exits.iter().any(|sought| sought.last_care_day.is_some_and(|day| date >= before(day)))
    }

    /// Returns true if a file of that kind and date may hold an unknown value. A value not wanted on one date is not
    /// wanted on any earlier date.
    fn is_wanted(&self, kind: Kind, date: NaiveDate) -> bool {
        let lacks = |what: fn(&Sought) -> Newest| {
            self.scores.is_some() && self.exits.iter().any(|sought| sought.can_hold(date) && what(sought).is_open(date))
        };
        let (lacks_site, lacks_anchor) = (lacks(|sought| sought.site), lacks(|sought| sought.anchor));
        let is_second_date = |sought: &Sought| {
            sought.change_dates.len() < 2 && sought.can_hold(date) || sought.change_dates.contains(&date)
        };
        let is_untold = self.scores.is_some() && self.first_log_day.is_some() && self.told.is_open(date);
        let is_of_the_call = self.is_of_the_call(date);
        match kind {
            Kind::Change => {
                lacks_site || lacks_anchor || is_untold || is_of_the_call || self.exits.iter().any(is_second_date)
            }
            Kind::Assessment => lacks_site || is_untold,
            Kind::Contact => {
                is_untold || self.scores.is_some() && (self.contact.is_open(date) || self.may_be_promised(date))
            }
            Kind::Log => self.may_be_uncovered(date) || is_untold,
            Kind::Inspection | Kind::Shower | Kind::Trauma => lacks_anchor || is_untold || is_of_the_call,
            Kind::Culture | Kind::Infection | Kind::Photo | Kind::Supply | Kind::Teaching | Kind::Treatment => {
                is_untold
            }
        }
    }

    /// Returns true if a promise of that date may still be pending or broken. One from before the last change of every
    /// exit site was kept, and lasts until its time.
    fn may_be_promised(&self, date: NaiveDate) -> bool {
        let is_kept = |sought: &Sought| sought.last_care_day.is_some_and(|day| plus(date, NAME_LAG_DAYS) < day);
        let may_be_broken = !self.all_begun || !self.exits.iter().all(is_kept);
        self.promise.is_open(date) && (may_be_broken || date >= self.oldest_promise)
    }

    /// Returns true if a file of that date may determine the deadline that was running at the call: from the last change
    /// before it.
    fn is_of_the_call(&self, date: NaiveDate) -> bool {
        let reaches = |sought: &Sought| match sought.before_the_call {
            Some(day) => date >= before(day),
            None => sought.can_hold(date),
        };
        self.call.is_some() && self.exits.iter().any(reaches)
    }

    /// Returns true if a log read in on that date may cover a later day than the logs found so far.
    fn may_be_uncovered(&self, date: NaiveDate) -> bool {
        self.first_log_day.is_some_and(|first| after(date) >= first)
            && self.last_day_by_log.is_none_or(|through| date > through)
    }

    fn note(&mut self, event: &Event) {
        if event.void.is_some() || !event.exists(&self.patient.calendar, self.as_of.instant) {
            return;
        }
        // A log that is read in later covers its days, but until then coverage comes from an older one; and its days
        // elsewhere or inpatient are not the household's.
        if let Fact::Log(log) = event.fact
            && log.complete
        {
            let days = log.from.iter_days().take_while(|day| *day <= log.through);
            let covered = days.filter(|day| self.patient.care_row(*day).is_some_and(|row| is_by_log(&row))).last();
            self.last_day_by_log = self.last_day_by_log.max(covered);
        }
        if let Fact::Contact(contact) = &event.fact {
            let is_promise = matches!(contact.outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn);
            self.contact.note(event.name, true);
            self.promise.note(event.name, is_promise);
            let today = self.patient.calendar.today(self.as_of.instant);
            if is_promise && contact.expect_by.is_none() && event.when.care_day >= plus(today, -CLOCK_DAYS) {
                self.call = self.call.min(Some(event.when.care_day)).or(Some(event.when.care_day));
            }
        }
        self.told.note(event.name, self.patient.is_heard(event));
        let is_scored = event.site().is_some_and(|site| self.scores.is_some_and(|scores| scores(site)));
        for sought in self.exits.iter_mut().filter(|sought| self.patient.concerns(event, sought.exit)) {
            sought.anchor.note(event.name, event.anchor().is_some());
            sought.site.note(event.name, is_scored);
            if event.name.kind == Kind::Change && self.patient.counts(sought.exit, event.when.care_day) {
                // Newest first, so the first one found is the latest.
                self.last_change = self.last_change.or(Some(event.name));
                if !sought.change_dates.contains(&event.name.date) && sought.change_dates.len() < 2 {
                    sought.change_dates.push(event.name.date);
                }
                sought.last_care_day = sought.last_care_day.max(Some(event.when.care_day));
                if self.call.is_some_and(|call| event.when.care_day < call) {
                    sought.before_the_call = sought.before_the_call.max(Some(event.when.care_day));
                }
            }
        }
    }
}

impl Sought<'_> {
    /// Returns true if a file of that date can concern the exit site.
    fn can_hold(&self, date: NaiveDate) -> bool {
        after(date) >= self.exit.from
    }
}

/// Returns true if the household reports by log.
fn is_by_log(row: &&CareRow) -> bool {
    row.place == CarePlace::Home && row.reports == Reports::Log
}

/// The last day whose files are in a year folder.
fn last_day_of(year: &str) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year.parse().ok()?, 12, 31)
}

fn sort_out(history: History, needed: Vec<EventName>, search: &RecentSearch) -> Recent {
    let mut recent = Recent { events: Vec::new(), unusable: Vec::new(), others: Vec::new(), ahead: Vec::new() };
    let last = search.last_change;
    for (name, problem) in &history.file_problems {
        if !problem.makes_unusable() || !history.is_unusable(*name) {
            continue;
        }
        // On the care day of the last change an unreadable file matters if either has no time, or if it is named later.
        let is_later = last.is_none_or(|last| {
            history.latest_wall(name) >= history.latest_wall(&last) || last.time.is_none() || name.time.is_none()
        });
        let is_for_state = needed.contains(name) && (is_later || search.exits.len() > 1);
        if is_for_state { recent.unusable.push(problem.clone()) } else { recent.others.push(problem.clone()) }
    }
    recent.unusable.extend(history.name_problems.iter().filter(|problem| problem.makes_unusable()).cloned());
    for event in history.opened.into_values().flatten() {
        if event.void.is_none() && !event.exists(&search.patient.calendar, search.as_of.instant) {
            recent.ahead.push(event.file().to_owned());
        }
        recent.events.push(event);
    }
    recent
}
