//! The facts of a record, regardless of its writer and time of entry; comparing them shows what is already on file.

use crate::event::Event;
use crate::record::Values;

/// Keys that may be filled in later without an amendment.
const FILLED_IN_LATER: [&str; 4] = ["result.on", "result.growth", "result.organisms", "resolved"];

/// The facts of a record apart from time, exit site, writer and corrections.
pub(super) fn facts(values: &Values) -> Values {
    let mut facts = values.clone();
    let without = ["kind", "at", "on", "exit", "entered", "amended", "void"];
    without.iter().for_each(|key| _ = facts.remove(key));
    if facts.text("source") == Some("seen") {
        facts.remove("source");
    }
    facts
}

/// The facts that a duplicate adds to the other record: all but the source.
pub(super) fn facts_to_join(values: &Values) -> Values {
    let mut facts = facts(values);
    facts.remove("source");
    facts
}

/// Returns true if a record was amended or filled in later.
pub(super) fn is_altered(event: &Event, there: &Values) -> bool {
    !event.amended.is_empty() || FILLED_IN_LATER.iter().any(|key| there.get(key).is_some())
}

/// Returns true if a record had these facts before it was amended or filled in.
pub(super) fn was_the_same(said: &Values, there: &Values, event: &Event) -> bool {
    let (mut said, mut there) = (said.clone(), there.clone());
    for key in FILLED_IN_LATER.iter().filter(|key| said.get(key).is_none()) {
        there.remove(key);
    }
    let words = touched(event);
    let names = |key: &str| words.iter().any(|word| word == key || key.rsplit('.').next() == Some(word));
    for values in [&mut said, &mut there] {
        let keys: Vec<String> = values.keys().into_iter().map(|(key, _)| key).filter(|key| names(key)).collect();
        keys.iter().for_each(|key| _ = values.remove(key));
    }
    said == there
}

/// The words of the former values in the amendments of a record, including the keys.
pub(super) fn touched(event: &Event) -> Vec<String> {
    let is_of_a_key = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '.');
    let was = event.amended.iter().filter_map(|amended| amended.what.as_deref());
    was.flat_map(|was| was.split(move |c| !is_of_a_key(c))).map(|word| word.trim_matches('.').to_owned()).collect()
}
