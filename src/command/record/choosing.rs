//! The choices of each key of a record: the household, the staff, open signals, curricula, steps, supplies.

use super::asking::{Asking, curriculum};
use super::clinician::{reserved, staff};
use crate::check::may_determine;
use crate::command::call::{household, outcomes};
use crate::command::question::Choice;
use crate::entry::Draft;
use crate::event::{Kind, Subject};
use crate::people::Person;
use crate::policy::{Curriculum, CurriculumStep};
use crate::record::Shape;
use crate::report::due::Row;
use crate::view::words;
use crate::word::Word;

impl Asking<'_> {
    /// The choices of a key; empty for free text.
    pub(super) fn choices(&self, draft: &Draft, key: &str, shape: &Shape) -> Vec<Choice> {
        match key {
            "by" if reserved(draft.kind).is_some() => self.clinicians(),
            "by" if draft.kind == Kind::Contact => self.callers(),
            "by" => self.people(true),
            // In the order of a round, so that a number means the same in both.
            "with" => {
                let other = Choice::of("other", "another person");
                household(self.book).into_iter().chain([other]).chain(self.clinicians()).collect()
            }
            "outcome" => Choice::words(&outcomes()),
            "item" => {
                let items = self.book.program.policy.as_ref().and_then(|policy| policy.supplies.as_ref());
                items.iter().flat_map(|items| items.iter()).map(|item| Choice::of(&item.item, "")).collect()
            }
            "kept_at" => {
                let photos = self.book.program.policy.as_ref().and_then(|policy| policy.photos.as_ref());
                photos.iter().flat_map(|photos| &photos.kept_at).map(|place| Choice::of(place, "")).collect()
            }
            "learner" => self.people(false),
            "observer" => self.signers(),
            "about" => self.subjects(),
            "curriculum" => {
                let curricula = self.curricula();
                let mut names: Vec<&str> = curricula.iter().map(|curriculum| curriculum.name.as_str()).collect();
                names.sort_unstable();
                names.dedup();
                Choice::codes(&names)
            }
            "missed" | "prompted" | "unaided" if draft.kind == Kind::Teaching => self.steps(draft),
            "steps_missed" => self.all_steps(),
            "exit" => {
                let exits = self.book.patient.iter().flat_map(|patient| &patient.exits);
                exits.map(|exit| Choice::of(&exit.id, exit.at.word())).collect()
            }
            _ => match shape {
                Shape::Words(words) => Choice::words(words),
                Shape::List(item) => match &**item {
                    Shape::Words(words) => Choice::words(words),
                    _ => Vec::new(),
                },
                Shape::Flag => Choice::words(&["yes", "no"]),
                _ => Vec::new(),
            },
        }
    }

    /// The household, preceded by the writer.
    fn people(&self, has_writer: bool) -> Vec<Choice> {
        let writer = self.writer.filter(|_| has_writer).map(|code| Choice::of(code, "you"));
        let patient = self.book.patient.iter().map(|_| Choice::of("patient", ""));
        let caregivers = self.book.patient.iter().flat_map(|patient| &patient.caregivers);
        let caregivers =
            caregivers.map(|caregiver| Choice::of(&caregiver.code, caregiver.relation.clone().unwrap_or_default()));
        let mut people: Vec<Choice> = Vec::new();
        for person in writer.into_iter().chain(caregivers).chain(patient) {
            if people.iter().all(|known| known.word != person.word) {
                people.push(person);
            }
        }
        people
    }

    /// The staff, preceded by the writer: calls are made by staff.
    fn callers(&self) -> Vec<Choice> {
        let writer = self.writer.map(|code| Choice::of(code, "you"));
        let staff = self.staff(|person| Some(person.code.as_str()) != self.writer);
        writer.into_iter().chain(staff).collect()
    }

    fn staff(&self, is_meant: impl Fn(&Person) -> bool) -> Vec<Choice> {
        let staff = staff(self.book, self.clock.now).filter(|person| is_meant(person));
        staff.map(|person| Choice::of(&person.code, person.role.word())).collect()
    }

    /// The staff whose role may determine an infection.
    fn clinicians(&self) -> Vec<Choice> {
        self.staff(|person| may_determine(self.book.program, person.role))
    }

    fn signers(&self) -> Vec<Choice> {
        self.staff(|person| person.may_sign)
    }

    /// The subjects of a call: this patient's open signals first.
    fn subjects(&self) -> Vec<Choice> {
        let open = self.rows.iter().flat_map(Row::signals).map(|signal| Subject::Signal(signal.name));
        let mut subjects: Vec<Subject> = Vec::new();
        for about in open.chain([Subject::Overdue, Subject::Log, Subject::Supply, Subject::Other]) {
            if !subjects.contains(&about) {
                subjects.push(about);
            }
        }
        let choice = |about: Subject| Choice { key: about.word().to_owned(), ..Choice::of(words::subject(about), "") };
        subjects.into_iter().map(choice).collect()
    }

    fn curricula(&self) -> &[Curriculum] {
        self.book.program.policy.as_ref().and_then(|policy| policy.curricula.as_deref()).unwrap_or_default()
    }

    /// The curriculum of a checkoff, in the version given, else the newest.
    pub(super) fn curriculum(&self, draft: &Draft) -> Option<&Curriculum> {
        curriculum(self.curricula(), draft)
    }

    /// The steps of all curricula, without duplicates.
    fn all_steps(&self) -> Vec<Choice> {
        let mut all: Vec<Choice> = Vec::new();
        for step in self.curricula().iter().flat_map(|curriculum| &curriculum.steps) {
            if all.iter().all(|known| known.word != step.id) {
                all.push(Choice::of(&step.id, step.text.clone()));
            }
        }
        all
    }

    fn steps(&self, draft: &Draft) -> Vec<Choice> {
        let steps = self.curriculum(draft).map(|curriculum| curriculum.steps.as_slice()).unwrap_or_default();
        let words = |step: &CurriculumStep| Choice::of(&step.id, step.text.clone());
        steps.iter().map(words).collect()
    }
}
