//! Two keys in one question: the kind and the amount of drainage, the dressing and the anchor. A key that the answer leaves
//! out is asked for on its own, so that nothing is taken as not looked at by being forgotten.

use super::asking::{Asking, not_looked_at};
use crate::command::question::{Choice, Enter, Leave, parse_several};
use crate::entry::Draft;
use crate::event::Kind;
use crate::record::{Shape, Value};
use crate::view::words::question::record;

/// The pairs of keys, each asked about together.
const PAIRS: [[&str; 2]; 3] =
    [["site.drainage", "site.amount"], ["found.dressing", "found.anchor"], ["left.dressing", "left.anchor"]];

/// A key and its shape.
pub(super) type KeyShape = (String, Shape);

/// The pair of a kind that begins with a key; `None` if the key is asked about alone.
pub(super) fn pair_of(kind: Kind, key: &str) -> Option<[KeyShape; 2]> {
    let keys = Draft::keys(kind);
    let keyed =
        |name: &str| keys.iter().find(|(key, ..)| key == name).map(|(key, shape, _)| (key.clone(), shape.clone()));
    let [one, other] = PAIRS.into_iter().find(|[one, _]| *one == key)?;
    keyed(one).zip(keyed(other)).map(<[KeyShape; 2]>::from)
}

/// Returns true if a key is asked about with the one before it.
pub(super) fn is_second(key: &str) -> bool {
    PAIRS.iter().any(|[_, other]| *other == key)
}

/// The choices of both keys; those of the anchor name it.
fn choices(pair: &[KeyShape; 2]) -> (Vec<Choice>, usize) {
    let of = |(key, shape): &KeyShape| match shape {
        Shape::Words(words) if key.ends_with(".anchor") => {
            let named = |choice: Choice| Choice { word: format!("anchor {}", choice.word), ..choice };
            Choice::words(words).into_iter().map(named).collect()
        }
        Shape::Words(words) => Choice::words(words),
        _ => Vec::new(),
    };
    let [one, other] = pair.each_ref().map(of);
    let first = one.len();
    (one.into_iter().chain(other).collect(), first)
}

impl Asking<'_> {
    /// Asks about two keys in one question; returns false if neither is open.
    pub(super) fn pair(&self, draft: &mut Draft, pair: &[KeyShape; 2]) -> Result<bool, Leave> {
        let [(one, one_shape), (other, other_shape)] = pair;
        let is_open = |key: &str, draft: &Draft| draft.values.get(key).is_none();
        if !is_open(one, draft) || !is_open(other, draft) {
            let is_asked = self.key(draft, one, one_shape)?;
            return Ok(self.key(draft, other, other_shape)? || is_asked);
        }
        let Some(question) = record::of_pair(one) else { return Ok(false) };
        let (choices, first) = choices(pair);
        let enter = Enter::Leaves(not_looked_at(draft));
        loop {
            let before = draft.clone();
            let fits = |picked: Vec<usize>| self.with_both(draft, pair, (&choices, first), &picked);
            let Some(answered) = self.questions.choose_several_as(question, &choices, enter, fits)? else {
                return Ok(true);
            };
            *draft = answered;
            let rest = [(one, one_shape), (other, other_shape)].into_iter().filter(|(key, _)| is_open(key, draft));
            let rest: Vec<(&String, &Shape)> = rest.collect();
            match rest.into_iter().try_for_each(|(key, shape)| self.key(draft, key, shape).map(|_| ())) {
                Ok(()) => return Ok(true),
                // Back to the question about both.
                Err(Leave::Back) => *draft = before,
                Err(leave) => return Err(leave),
            }
        }
    }

    /// Reads the drainage typed at the question about the site: `pus, moderate`.
    pub(super) fn drainage(&self, draft: &Draft, pair: &[KeyShape; 2], typed: &str) -> Option<Result<Draft, String>> {
        let (choices, first) = choices(pair);
        let is_word = typed.starts_with(|c: char| c.is_alphabetic());
        let picked = parse_several(&choices, typed).ok().filter(|_| is_word)?;
        let is_none = picked.iter().any(|at| choices[*at].key == "none");
        (!is_none && !picked.is_empty()).then(|| self.with_both(draft, pair, (&choices, first), &picked))
    }

    fn with_both(
        &self,
        draft: &Draft,
        pair: &[KeyShape; 2],
        (choices, first): (&[Choice], usize),
        picked: &[usize],
    ) -> Result<Draft, String> {
        let (ones, others): (Vec<usize>, Vec<usize>) = picked.iter().partition(|at| **at < first);
        if ones.len() > 1 || others.len() > 1 {
            let [one, other] = pair.each_ref().map(|(key, _)| key.rsplit('.').next().unwrap_or(key));
            return Err(format!("Type one word for the {one} and one for the {other}."));
        }
        let mut answered = draft.clone();
        for (at, (key, _)) in [(ones.first(), &pair[0]), (others.first(), &pair[1])] {
            if let Some(at) = at {
                answered.values.set(key, Value::Text(choices[*at].key.clone()));
            }
        }
        self.fitting(draft, &pair[0].0, answered)
    }
}
