//! What the due list needs of one patient: the last change of each exit site, everything named later, and the last word
//! on a few facts that are shown beside it.

use chrono::{Duration, NaiveDate, NaiveDateTime};

use super::History;
use crate::day::{AsOf, after, before, plus};
use crate::event::{Event, EventName, Fact, Kind, Outcome, Telling};
use crate::patient::{Exit, Patient, Reports};
use crate::policy::CarePlace;
use crate::problem::Problem;

/// How far back the last contact, score and anchor are looked for, in days.
pub const FACTS_LOOK_BACK_DAYS: i64 = 400;

/// How far back before the last change a promise is looked for, in days. Common practice, no source.
const PROMISE_LOOK_BACK_DAYS: i64 = 60;

/// What the due list needs of one patient.
#[derive(Debug)]
pub struct Recent {
    /// The usable events opened.
    pub events: Vec<Event>,
    /// Why the patient cannot be judged, if so.
    pub unusable: Vec<Problem>,
    /// Files that cannot be used and leave the state as it is.
    pub others: Vec<Problem>,
    /// Files of events that have not happened yet.
    pub ahead: Vec<String>,
}

/// What is still looked for, exit site by exit site.
struct Search<'a> {
    patient: &'a Patient,
    as_of: AsOf,
    exits: Vec<Sought<'a>>,
    /// The last usable change by its name.
    last_change: Option<EventName>,
    /// Since when a household has been reporting by log; what it told since then is looked for.
    log_household_since: Option<NaiveDate>,
    last_log_through: Option<NaiveDate>,
    has_contact: bool,
    has_promise: bool,
    has_told: bool,
}

struct Sought<'a> {
    exit: &'a Exit,
    /// The wall dates that have a change, newest first; two are enough.
    change_dates: Vec<NaiveDate>,
    /// The earliest care day among the changes of those dates' newest.
    last_care_day: Option<NaiveDate>,
    has_site: bool,
    has_anchor: bool,
}

impl Recent {
    /// Reads what the due list needs, newest first, and stops as soon as nothing is looked for any more.
    pub fn of(mut history: History, patient: &Patient, as_of: AsOf) -> Recent {
        let today = patient.calendar.today(as_of.instant);
        let mut search = Search::of(patient, as_of, today);
        let mut needed: Vec<EventName> = Vec::new();
        let oldest = plus(today, -FACTS_LOOK_BACK_DAYS);
        'years: for year in history.years() {
            if search.is_done() && year.as_str() < oldest.format("%Y").to_string().as_str() {
                break;
            }
            let mut names = history.year(&year);
            names.sort_by_key(|name| std::cmp::Reverse(latest_wall(name, patient)));
            for name in names {
                if as_of.is_given && name.date > plus(as_of.instant.date_naive(), 1) && name.kind != Kind::Log {
                    continue;
                }
                if search.is_done()
                    && (name.date < oldest || search.has_everything(&name))
                    && !search.may_be_needed(&name)
                {
                    break 'years;
                }
                if search.is_needed_for_state(&name) {
                    needed.push(name);
                } else if !search.is_wanted(&name) {
                    continue;
                }
                if let Some(event) = history.open(name) {
                    search.note(event);
                }
            }
        }
        sort_out(history, needed, &search)
    }
}

impl<'a> Search<'a> {
    fn of(patient: &'a Patient, as_of: AsOf, today: NaiveDate) -> Self {
        let begun = |exit: &&Exit| patient.start(exit) <= today;
        let sought =
            |exit| Sought { exit, change_dates: Vec::new(), last_care_day: None, has_site: false, has_anchor: false };
        let exits = patient.exits_followed(today).into_iter().filter(begun).map(sought).collect();
        let row = patient.care_row(today).filter(|row| row.place == CarePlace::Home && row.reports == Reports::Log);
        Search {
            patient,
            as_of,
            exits,
            last_change: None,
            log_household_since: row.map(|row| row.from),
            last_log_through: None,
            has_contact: false,
            has_promise: false,
            has_told: row.is_none(),
        }
    }

    /// Whether the last change of every exit site is known, or cannot lie further back.
    fn is_done(&self) -> bool {
        self.exits.iter().all(|sought| sought.last_care_day.is_some())
    }

    /// Whether a contact of that name may be the last promise, and still matter: what is older than the last change and
    /// than this was kept or forgotten.
    fn may_be_promise(&self, name: &EventName) -> bool {
        !self.has_promise && name.date >= plus(self.as_of.instant.date_naive(), -PROMISE_LOOK_BACK_DAYS)
    }

    fn has_everything(&self, name: &EventName) -> bool {
        self.has_contact
            && !self.may_be_promise(name)
            && self.has_told
            && self.exits.iter().all(|sought| sought.has_site && sought.has_anchor && sought.change_dates.len() >= 2)
    }

    /// Whether the state needs the file: it is named later than the last change, or on its care day, where an order that
    /// is not known can matter.
    fn is_needed_for_state(&self, name: &EventName) -> bool {
        self.exits.iter().any(|sought| match sought.last_care_day {
            None => after(name.date) >= self.patient.start(sought.exit),
            Some(day) => name.date >= day,
        }) || self.exits.is_empty() && name.date >= self.as_of.instant.date_naive()
    }

    /// Whether a name further back could still be needed for the state.
    fn may_be_needed(&self, name: &EventName) -> bool {
        self.exits.iter().any(|sought| sought.last_care_day.is_some_and(|day| name.date >= before(day)))
    }

    /// Whether the file may hold something that is shown beside the state, and is not known yet.
    fn is_wanted(&self, name: &EventName) -> bool {
        let may_be_second_date =
            |sought: &Sought| sought.change_dates.len() < 2 || sought.change_dates.contains(&name.date);
        let is_untold = !self.has_told
            && self.log_household_since.is_some_and(|since| after(name.date) >= since)
            && self.last_log_through.is_none_or(|through| after(name.date) >= through);
        match name.kind {
            Kind::Change => {
                self.exits.iter().any(|sought| may_be_second_date(sought) || !sought.has_site)
                    || !self.has_every_anchor()
            }
            Kind::Assessment => self.exits.iter().any(|sought| !sought.has_site) || is_untold,
            Kind::Contact => !self.has_contact || self.may_be_promise(name),
            Kind::Log => {
                self.patient.reports_by_log() && self.last_log_through.is_none_or(|through| name.date > through)
            }
            Kind::Inspection | Kind::Shower | Kind::Trauma => !self.has_every_anchor() || is_untold,
            _ => is_untold,
        }
    }

    /// Whether the last word on the anchor of every exit site is known.
    fn has_every_anchor(&self) -> bool {
        self.exits.iter().all(|sought| sought.has_anchor)
    }

    fn note(&mut self, event: &Event) {
        if event.void.is_some() || !event.exists(&self.patient.calendar, self.as_of.instant) {
            return;
        }
        // A log that is read in later covers its days, but until then the household is heard through an older one.
        if let Fact::Log(log) = event.fact
            && log.complete
        {
            self.last_log_through = self.last_log_through.max(Some(log.through));
        }
        if let Fact::Contact(contact) = &event.fact {
            self.has_contact = true;
            self.has_promise |= matches!(contact.outcome, Outcome::WillChange | Outcome::ComingIn);
        }
        self.has_told |= event.telling == Telling::Told
            || matches!(&event.fact, Fact::Contact(contact) if contact.outcome != Outcome::NoAnswer);
        for sought in self.exits.iter_mut().filter(|sought| self.patient.concerns(event, sought.exit)) {
            sought.has_anchor |= event.anchor().is_some();
            sought.has_site |= event.site().is_some_and(|site| !site.is_empty());
            if event.name.kind == Kind::Change && self.patient.counts(sought.exit, event.when.care_day) {
                let names = self.last_change.into_iter().chain([event.name]);
                self.last_change = names.max_by_key(|name| latest_wall(name, self.patient));
                if !sought.change_dates.contains(&event.name.date) && sought.change_dates.len() < 2 {
                    sought.change_dates.push(event.name.date);
                }
                sought.last_care_day = sought.last_care_day.max(Some(event.when.care_day));
            }
        }
    }
}

/// The latest wall time that the event of a name can stand at: one without a time stands at the end of its care day.
fn latest_wall(name: &EventName, patient: &Patient) -> NaiveDateTime {
    match name.time {
        Some(time) => name.date.and_time(time),
        None => after(name.date).and_time(patient.calendar.starts()) - Duration::seconds(1),
    }
}

fn sort_out(history: History, needed: Vec<EventName>, search: &Search) -> Recent {
    let mut recent = Recent { events: Vec::new(), unusable: Vec::new(), others: Vec::new(), ahead: Vec::new() };
    let last = search.last_change;
    for (name, problem) in &history.file_problems {
        if !problem.rule.makes_unusable() || !history.is_unusable(*name) {
            continue;
        }
        // On the care day of the last change a broken file matters if either has no time, or if it is named later.
        let is_later = last.is_none_or(|last| {
            latest_wall(name, search.patient) >= latest_wall(&last, search.patient)
                || last.time.is_none()
                || name.time.is_none()
        });
        let is_for_state = needed.contains(name) && (is_later || search.exits.len() > 1);
        if is_for_state { recent.unusable.push(problem.clone()) } else { recent.others.push(problem.clone()) }
    }
    recent.unusable.extend(history.name_problems.iter().filter(|problem| problem.rule.makes_unusable()).cloned());
    for event in history.opened.into_values().flatten() {
        if event.void.is_none() && !event.exists(&search.patient.calendar, search.as_of.instant) {
            recent.ahead.push(event.file().to_owned());
        }
        recent.events.push(event);
    }
    recent
}
