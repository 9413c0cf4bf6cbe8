//! The fields to amend at a terminal: each is picked from the fields of the record and given a new value.

use super::{Wish, fixed};
use crate::command::correction::OpenCorrection;
use crate::command::pick;
use crate::command::question::{Choice, Enter, Leave, Questions, numbered, pick as pick_one, stopped};
use crate::command::terminal::Terminal;
use crate::entry::{Draft, Key, Stamp, in_words, plain};
use crate::event::Subject;
use crate::problem::Failure;
use crate::record::{Shape, Value};
use crate::text::visible;
use crate::view::words;
use crate::view::words::question::correction;
use crate::word::Word;

/// The answer that removes a field.
const OUT: &str = "-";

/// The person at a terminal who amends a record.
struct Amending<'a> {
    questions: Questions<'a>,
    correction: &'a OpenCorrection<'a>,
}

/// Asks for fields and their new values, in addition to those known, until there are no more and the record can be written.
///
/// # Errors
/// The end of input.
pub(super) fn asked(
    correction: &OpenCorrection,
    terminal: &dyn Terminal,
    mut wishes: Vec<Wish>,
) -> Result<Vec<Wish>, Failure> {
    let questions = Questions { terminal, look: correction.context.look, kept: None };
    let amending = Amending { questions, correction };
    loop {
        let flag = |(key, value): &Wish| match value {
            Some(value) => ("--set".to_owned(), Some(format!("{key}={}", plain(value)))),
            None => ("--clear".to_owned(), Some(key.clone())),
        };
        terminal.so_far("fields", wishes.iter().map(flag).collect());
        let wish = match amending.field(&wishes) {
            Ok(Some(key)) => amending.value(key),
            Ok(None) => match amending.refused(&wishes) {
                Some(failure) => {
                    questions.say(&failure.to_string());
                    continue;
                }
                None => return Ok(wishes),
            },
            Err(Leave::Back) => {
                if wishes.pop().is_none() {
                    if terminal.has_picked() {
                        return Err(pick::back());
                    }
                    questions.say("This is the first question.");
                }
                continue;
            }
            Err(leave) => Err(leave),
        };
        match wish {
            Ok(Some(wish)) => {
                wishes.retain(|(key, _)| *key != wish.0);
                wishes.push(wish);
            }
            Ok(None) | Err(Leave::Back | Leave::Kept) => {}
            Err(Leave::Stops) => return Err(stopped()),
            Err(Leave::Fails(failure)) => return Err(failure),
        }
    }
}

impl Amending<'_> {
    /// Asks which field, by number or name; `None` if there are no more.
    fn field(&self, wishes: &[Wish]) -> Result<Option<Key>, Leave> {
        let standing = &self.correction.standing;
        let keys = Draft::keys(standing.kind);
        let is_shown = |key: &str| standing.values.get(key).is_some() || wishes.iter().any(|(wished, _)| wished == key);
        let shown: Vec<Key> =
            keys.iter().filter(|(key, ..)| is_shown(key)).filter_map(|(key, ..)| self.key(key).ok()).collect();
        for (n, key) in shown.iter().enumerate() {
            let wished = wishes.iter().find(|(wished, _)| *wished == key.name);
            let is =
                wished.map(|(_, value)| format!(", now {}", as_shown(&key.name, value.as_ref()))).unwrap_or_default();
            let was = as_shown(&key.name, standing.values.get(&key.name));
            self.questions.say(&format!("{}  {}: {was}{is}", n + 1, visible(&key.short())));
        }
        let enter = if wishes.is_empty() { Enter::Asks } else { Enter::Leaves("no more") };
        self.questions.ask(correction::FIELD, enter, |typed| match typed.parse::<usize>() {
            Ok(n) => n
                .checked_sub(1)
                .and_then(|at| shown.get(at).cloned())
                .ok_or_else(|| format!("{} is not a choice. Use 1 to {}.", visible(typed), shown.len())),
            Err(_) => self.key(typed),
        })
    }

    fn key(&self, typed: &str) -> Result<Key, String> {
        fixed(typed, self.correction)?;
        Key::meant(self.correction.standing.kind, typed)
    }

    /// Asks for the new value of the field.
    fn value(&self, key: Key) -> Result<Option<Wish>, Leave> {
        let was = self.correction.standing.values.get(&key.name);
        let choices = match &key.shape {
            Shape::Words(words) => Choice::words(words),
            Shape::Flag => Choice::words(&["yes", "no"]),
            _ => Vec::new(),
        };
        let question = correction::NEW_VALUE.with(&[&visible(&key.short()), &as_shown(&key.name, was)]);
        let question = if choices.is_empty() { question } else { numbered(question, &choices) };
        let read = |typed: &str| {
            let value = match typed {
                OUT => None,
                typed if choices.is_empty() => Some(key.typed(typed, self.correction.clock())?),
                typed => Some(key.typed(&choices[pick_one(&choices, typed)?].key, self.correction.clock())?),
            };
            match value.as_ref() == was {
                true => Err("It already has that value. Type another value, or < for another field.".to_owned()),
                false => Ok((key.name.clone(), value)),
            }
        };
        self.questions.ask(question, Enter::Asks, read)
    }

    /// The reason that the record cannot be written.
    fn refused(&self, wishes: &[Wish]) -> Option<Failure> {
        // The writer is asked for later: until then the first active staff code is used, since the record may be by the patient.
        let (program, today) = (self.correction.book.program, self.correction.today());
        let staff = program.people.iter().flat_map(|people| &people.people);
        let by = staff.filter(|person| person.is_active(today)).map(|person| person.code.clone()).next();
        let by = by.unwrap_or_else(|| "not-asked-yet".to_owned());
        let stamp = Stamp { at: self.correction.clock().moment(), by, why: "not yet asked for".to_owned() };
        let amended = self.correction.standing.amended(wishes, &stamp);
        amended.and_then(|corrected| self.correction.verdict(&corrected)).err()
    }
}

/// A value as it is shown: the subjects of a call in words.
fn as_shown(key: &str, value: Option<&Value>) -> String {
    let subject = |item: &Value| match item {
        Value::Text(word) => {
            Subject::from_word(word).map_or_else(|| visible(word), |about| words::subject(about).to_owned())
        }
        other => visible(&plain(other)),
    };
    match value {
        Some(Value::List(items)) if key == "about" => items.iter().map(subject).collect::<Vec<_>>().join(", "),
        value => in_words(key, value),
    }
}
