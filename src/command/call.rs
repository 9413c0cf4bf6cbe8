//! The choices about a call, in one order wherever they are asked: by number at `record contact` and in a round.

use super::question::Choice;
use crate::day::Instant;
use crate::entry::Book;
use crate::event::ContactOutcome;
use crate::word::Word;

/// The patient and the caregivers.
pub(super) fn household(book: &Book) -> Vec<Choice> {
    let patient = book.patient.iter();
    let caregivers = patient.clone().flat_map(|patient| &patient.caregivers);
    let caregivers = caregivers.map(|one| Choice::of(one.code.clone(), one.relation.clone().unwrap_or_default()));
    patient.map(|_| Choice::of("patient", "")).chain(caregivers).collect()
}

/// The current staff.
pub(super) fn staff(book: &Book, now: Instant) -> Vec<Choice> {
    let today = book.calendar.today(now);
    let people = book.program.people.iter().flat_map(|people| &people.people);
    let staff = people.filter(|person| person.is_active(today));
    staff.map(|person| Choice::of(person.code.clone(), person.role.word())).collect()
}

/// The outcomes. The last is that nobody answered, since a round does not offer it once a person was reached.
pub(super) fn outcomes() -> Vec<&'static str> {
    let no_answer = ContactOutcome::NoAnswer.word();
    let reached = ContactOutcome::WORDS.iter().copied().filter(|word| *word != no_answer);
    reached.chain([no_answer]).collect()
}

#[cfg(test)]
mod tests {
    use super::outcomes;
    use crate::event::ContactOutcome;
    use crate::word::Word;

    #[test]
    fn each_outcome_is_a_choice_and_no_answer_is_the_last() {
        let (mut all, mut words) = (outcomes(), ContactOutcome::WORDS.to_vec());
        assert_eq!(all.last(), Some(&"no-answer"));
        all.sort_unstable();
        words.sort_unstable();
        assert_eq!(all, words);
    }
}
