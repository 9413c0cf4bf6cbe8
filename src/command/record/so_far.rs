//! The flags that stand for the answers of an interview, so that a stopped one can be written by one command line.

use super::asking::Asking;
use super::flags::flag;
use super::interview::Talk;
use crate::entry::{Draft, listed, plain};
use crate::record::{Shape, Value};

/// A flag and its value; `None` for a switch.
type Flag = (String, Option<String>);

impl Asking<'_> {
    /// The flags that were answered and not typed.
    pub(super) fn so_far(&self, talk: &Talk) -> Vec<Flag> {
        let is_open = |key: &str| !self.typed.iter().any(|typed| typed == key);
        let flags = flags(&talk.draft, is_open);
        let writer = talk.writer.iter().map(|code| ("--by-entered".to_owned(), Some(code.clone())));
        flags.into_iter().chain(writer).collect()
    }
}

/// The flags of a record, for the keys that `is_open` accepts.
pub(in crate::command) fn flags(draft: &Draft, is_open: impl Fn(&str) -> bool) -> Vec<Flag> {
    let when = ["at", "on"].into_iter().filter(|_| is_open("at")).filter_map(|key| Some((key, draft.values.get(key)?)));
    let mut flags: Vec<Flag> = when.map(|(key, value)| (format!("--{key}"), Some(plain(value)))).collect();
    let is_none_noted = is_none_noted(draft);
    for (key, shape, _) in Draft::keys(draft.kind).iter().filter(|(key, ..)| is_open(key)) {
        if key.starts_with("site.") && (is_none_noted && key != "site.temperature_c" || !is_open("site")) {
            continue;
        }
        let value = match (draft.values.get(key), shape) {
            (Some(Value::List(items)), Shape::List(item)) => {
                let items: Vec<String> = items.iter().map(plain).collect();
                listed(&items.iter().map(String::as_str).collect::<Vec<_>>(), item)
            }
            (Some(value), _) => plain(value),
            (None, _) => continue,
        };
        flags.push((format!("--{}", flag(key)), Some(value)));
    }
    if is_none_noted && is_open("site") {
        flags.push(("--site".to_owned(), Some("none-noted".to_owned())));
    }
    flags
}

/// Returns true if all nine findings were assessed and none was present.
fn is_none_noted(draft: &Draft) -> bool {
    let mut none = draft.clone();
    for (key, ..) in Draft::keys(draft.kind).iter().filter(|(key, ..)| key.starts_with("site.")) {
        if key != "site.temperature_c" {
            none.values.remove(key);
        }
    }
    none.none_noted();
    draft.values.get("site").is_some() && none.text() == draft.text()
}
