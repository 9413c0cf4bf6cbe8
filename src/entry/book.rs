//! The records of a patient or a staff member, opened for writing: those on file, and the trial of a new record.

use std::sync::Arc;

use super::draft::Draft;
use super::moment::Clock;
use super::owner::Owner;
use crate::check;
use crate::day::{Calendar, Instant};
use crate::event::{Event, EventName, Fact, Kind};
use crate::folder::NewRecord;
use crate::patient::Patient;
use crate::place::{Place, RecordText};
use crate::policy::CarePlace;
use crate::problem::{Failure, Level, Problem, Rule};
use crate::program::Program;
use crate::record::says_the_same;

/// The records of a patient or a staff member, opened for writing.
#[derive(Debug)]
pub struct Book<'a> {
    /// The program.
    pub program: &'a Program,
    /// The owner.
    pub owner: Owner,
    /// The patient; `None` for staff.
    pub patient: Option<Patient>,
    /// The care days and time zones in force.
    pub calendar: Calendar,
    /// All usable events on file, in order.
    pub events: Vec<Event>,
    /// Problems of unusable files; a new record is checked against the usable ones.
    pub unusable: Vec<Problem>,
}

/// The trial of a record against those on file.
#[derive(Debug)]
pub struct Trial {
    /// The record as it would be written.
    pub record: NewRecord,
    /// The event of the record; `None` if it cannot be used.
    pub event: Option<Event>,
    /// Problems that refuse it.
    pub refused: Vec<Problem>,
    /// Problems that need a yes.
    pub asked: Vec<Problem>,
    /// Problems that are only shown.
    pub noted: Vec<Problem>,
    /// The file on record with the same values.
    pub already: Option<String>,
}

impl<'a> Book<'a> {
    /// Opens the records of `code`: a patient on file, or, for a checkoff, a staff member.
    ///
    /// # Errors
    /// No such patient (the same code in another spelling is suggested), or patient.toml cannot be used.
    pub fn open(program: &'a Program, code: &str, kind: Kind) -> Result<Book<'a>, Failure> {
        let is_staff = |code: &str| program.people.as_ref().is_some_and(|people| people.get(code).is_some());
        if program.patients.codes.iter().any(|known| known == code) {
            return Book::of_patient(program, code);
        }
        if kind == Kind::Teaching && is_staff(code) {
            return Ok(Book::of_staff(program, code));
        }
        if is_staff(code) {
            return Err(Failure::new(format!("{code} is staff. Records of the kind {kind} need a patient's code.")));
        }
        Err(program.no_such_patient(code))
    }

    /// Opens the records in a folder, such as `patients/P-014`.
    ///
    /// # Errors
    /// It is not a patient or staff folder, or patient.toml cannot be used.
    pub fn of_folder(program: &'a Program, folder: &str) -> Result<Book<'a>, Failure> {
        match folder.split_once('/') {
            Some(("patients", code)) => Book::of_patient(program, code),
            Some(("staff", code)) => Ok(Book::of_staff(program, code)),
            _ => Err(Failure::new(format!("{folder} is not a patient or staff folder."))),
        }
    }

    /// Returns true if both have the same events and the same unreadable files.
    pub(crate) fn holds_the_same_as(&self, other: &Book) -> bool {
        self.events == other.events && self.unusable == other.unusable && self.patient == other.patient
    }

    /// Removes the events of these files.
    pub fn without(mut self, files: &[String]) -> Book<'a> {
        self.events.retain(|event| !files.iter().any(|file| file == event.file()));
        self
    }

    fn of_patient(program: &'a Program, code: &str) -> Result<Book<'a>, Failure> {
        let mut problems = Vec::new();
        let Some(patient) = program.patient(code, &mut problems) else {
            let problem = problems.iter().find(|problem| problem.makes_unusable());
            let why = problem.map(|problem| format!("{}: {}.", problem.place, problem.message)).unwrap_or_default();
            return Err(Failure::new(format!(
                "Cannot write to {code}. {why} Correct it first; `exitsite check` shows where."
            )));
        };
        Ok(Book::of(program, Owner::Patient(code.to_owned()), patient.calendar.clone(), Some(patient)))
    }

    fn of_staff(program: &'a Program, code: &str) -> Book<'a> {
        Book::of(program, Owner::Staff(code.to_owned()), program.calendar(), None)
    }

    fn of(program: &'a Program, owner: Owner, calendar: Calendar, patient: Option<Patient>) -> Book<'a> {
        let folder = match &owner {
            Owner::Patient(code) => program.folder.patient(code),
            Owner::Staff(_) => program.folder.years(&owner.folder()),
        };
        let mut unusable = Vec::new();
        let events = program.all_events(&folder, &calendar, &mut unusable);
        unusable.retain(|problem| problem.makes_unusable());
        Book { program, owner, patient, calendar, events, unusable }
    }

    /// The moment of typing, in the patient's time zone.
    pub fn clock(&self, now: Instant) -> Clock<'_> {
        Clock { now, calendar: &self.calendar }
    }

    /// The doubt about a record of care on a day when the patient is elsewhere, which suggests a wrong code.
    pub fn elsewhere(&self, event: &Event) -> Option<String> {
        let patient = self.patient.as_ref()?;
        let is_care = event.name.kind.traits().is_care;
        let row = patient.care_row(event.when.care_day).filter(|row| is_care && row.place == CarePlace::Elsewhere)?;
        Some(format!(
            "{} has been elsewhere since {}, where no records are expected. Check the code.",
            patient.code, row.from
        ))
    }

    /// Tries a new record against those on file, under the next free number of its minute.
    ///
    /// # Errors
    /// The record has no time.
    pub fn trial(&self, draft: &Draft, now: Instant) -> Result<Trial, Failure> {
        let name = draft.name().ok_or_else(|| Failure::new("Required: --at or --on."))?;
        let text = draft.text();
        let same_minute = |event: &&Event| EventName { n: name.n, ..event.name } == name;
        let taken = || self.events.iter().filter(same_minute);
        let already = taken().find(|event| says_the_same(&event.record.text, &text));
        let already = already.map(|event| event.file().to_owned());
        let n = self.free_number(name);
        let mut problems = Vec::new();
        let event = draft.event(&self.owner, n, &self.calendar, &mut problems);
        let record = NewRecord { owner: self.owner.folder(), name: EventName { n, ..name }, text };
        let mut trial = self.beside(record, event, problems, None, now);
        let event = trial.event.as_ref();
        trial.asked.retain(|problem| event.is_none_or(|event| !self.is_another_call(event, problem)));
        Ok(Trial { already, ..trial })
    }

    /// Returns true for a possible duplicate of a call to another person: two calls in a row.
    fn is_another_call(&self, new: &Event, problem: &Problem) -> bool {
        let with = |event: &Event| match &event.fact {
            Fact::Contact(contact) if event.is_timed() => Some(contact.with.clone()),
            _ => None,
        };
        let is_other = |place: &Place| {
            let known = self.events.iter().find(|event| event.file() == place.file);
            known.and_then(with).is_some_and(|known| with(new).is_some_and(|new| new != known))
        };
        problem.rule == Rule::PerhapsTheSame && !problem.related.is_empty() && problem.related.iter().all(is_other)
    }

    /// The first free number of a minute.
    pub(super) fn free_number(&self, name: EventName) -> u16 {
        let same_minute = |event: &&Event| EventName { n: name.n, ..event.name } == name;
        self.events.iter().filter(same_minute).map(|event| event.name.n + 1).max().unwrap_or(name.n)
    }

    /// Tries a new text of a record on file.
    pub(crate) fn trial_instead(&self, name: EventName, text: String, now: Instant) -> Trial {
        let source = Arc::new(RecordText { file: self.owner.file(name), text: text.clone() });
        let mut problems = Vec::new();
        let event = Event::read(&source, name, &self.calendar, &mut problems);
        let record = NewRecord { owner: self.owner.folder(), name, text };
        self.beside(record, event, problems, Some(name), now)
    }

    /// Checks a record by itself and against the others, except the one that it replaces.
    fn beside(
        &self,
        record: NewRecord,
        event: Option<Event>,
        mut problems: Vec<Problem>,
        instead_of: Option<EventName>,
        now: Instant,
    ) -> Trial {
        if let Some(event) = &event {
            let others = self.events.iter().filter(|other| Some(other.name) != instead_of);
            let mut events: Vec<Event> = others.cloned().chain([event.clone()]).collect();
            events.sort_by_cached_key(Event::order);
            let is_new = |file: &str| file == event.file();
            let mut beside = check::problems_beside(self.program, self.patient.as_ref(), &events, is_new, now);
            // The other record is the one on file, even if the new one is earlier and the problem is found from it.
            for problem in beside.iter_mut().filter(|problem| !is_new(&problem.place.file)) {
                if let Some(own) = problem.related.iter_mut().find(|place| is_new(&place.file)) {
                    std::mem::swap(&mut problem.place, own);
                }
            }
            problems.extend(beside);
        }
        let (refused, others): (Vec<_>, Vec<_>) = problems.into_iter().partition(|problem| is_refused(problem.rule));
        let (asked, noted) = others.into_iter().partition(|problem| problem.rule.level() == Level::Warning);
        Trial { record, event, refused, asked, noted, already: None }
    }
}

/// Returns true if a new record with this problem is never written: it cannot be used, would not count, contradicts
/// itself, or has an unknown code. An unlikely record is asked about.
pub fn is_refused(rule: Rule) -> bool {
    use Rule::*;
    rule.level() == Level::Error
        || matches!(
            rule,
            InTheFuture
                | BeforeImplant
                | AfterEnd
                | BeforeExit
                | AfterExit
                | Contradiction
                | UnknownPerson
                | AnotherHousehold
                | PrivateData
                | PhotoPlace
        )
}
