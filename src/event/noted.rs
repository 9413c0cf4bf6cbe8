//! Findings that only the note of a record mentions. A note raises no signal, so they are named wherever the patient could
//! look clear.

use super::{Event, NotedSign};

/// Words of a note that name a finding. Common practice, no source.
const FINDINGS: [(&str, NotedSign); 62] = [
    ("fever", NotedSign::Fever),
    ("febrile", NotedSign::Fever),
    ("chills", NotedSign::Fever),
    ("feverish", NotedSign::Fever),
    ("shivering", NotedSign::Fever),
    ("shivers", NotedSign::Fever),
    ("calentura", NotedSign::Fever),
    ("fiebre", NotedSign::Fever),
    ("pus", NotedSign::Pus),
    ("purulent", NotedSign::Pus),
    ("drainage", NotedSign::Drainage),
    ("draining", NotedSign::Drainage),
    ("bleeding", NotedSign::Blood),
    ("blood", NotedSign::Blood),
    ("bloody", NotedSign::Blood),
    ("red", NotedSign::Redness),
    ("redness", NotedSign::Redness),
    ("swelling", NotedSign::Swelling),
    ("swollen", NotedSign::Swelling),
    ("odor", NotedSign::Odor),
    ("smell", NotedSign::Odor),
    ("smells", NotedSign::Odor),
    ("smelly", NotedSign::Odor),
    ("discharge", NotedSign::Drainage),
    ("drng", NotedSign::Drainage),
    ("yellow", NotedSign::Drainage),
    ("green", NotedSign::Drainage),
    ("bled", NotedSign::Blood),
    ("oozing", NotedSign::Drainage),
    ("oozes", NotedSign::Drainage),
    ("oozed", NotedSign::Drainage),
    ("hurts", NotedSign::Pain),
    ("pain", NotedSign::Pain),
    ("painful", NotedSign::Pain),
    ("sore", NotedSign::Pain),
    ("tender", NotedSign::Pain),
    ("warm", NotedSign::Warmth),
    ("wet", NotedSign::Dressing),
    ("soiled", NotedSign::Dressing),
    ("pulled", NotedSign::Pull),
    ("yanked", NotedSign::Pull),
    ("snagged", NotedSign::Pull),
    ("tugged", NotedSign::Pull),
    ("pulling", NotedSign::Pull),
    ("fell", NotedSign::Pull),
    ("dropped", NotedSign::Pull),
    ("alarm", NotedSign::Alarm),
    ("alarms", NotedSign::Alarm),
    ("alarming", NotedSign::Alarm),
    ("stinks", NotedSign::Odor),
    ("stink", NotedSign::Odor),
    ("stinky", NotedSign::Odor),
    ("stunk", NotedSign::Odor),
    ("hot", NotedSign::Warmth),
    ("infected", NotedSign::Infected),
    ("soaked", NotedSign::Dressing),
    ("saturated", NotedSign::Dressing),
    ("dizzy", NotedSign::Unwell),
    ("dizziness", NotedSign::Unwell),
    ("confused", NotedSign::Unwell),
    ("confusion", NotedSign::Unwell),
    ("fainted", NotedSign::Unwell),
];

/// Words before a finding that deny it.
const DENIALS: [&str; 6] = ["no", "not", "without", "denies", "denied", "never"];

/// Pairs of words that name no finding, although one of them does alone.
const EXCEPT: [(&str, &str); 19] = [
    ("fell", "asleep"),
    ("blood", "culture"),
    ("blood", "cultures"),
    ("blood", "pressure"),
    ("blood", "sugar"),
    ("blood", "thinner"),
    ("blood", "thinners"),
    ("warm", "shower"),
    ("warm", "water"),
    ("warm", "bath"),
    ("hot", "shower"),
    ("hot", "water"),
    ("hot", "bath"),
    ("hot", "tub"),
    ("hot", "day"),
    ("before", "discharge"),
    ("after", "discharge"),
    ("since", "discharge"),
    ("hospital", "discharge"),
];

/// Words that say that an anchor does not hold, and the finding.
const NOT_SECURE: [(&str, &str); 4] =
    [("off", "anchor off"), ("loose", "anchor loose"), ("gone", "anchor gone"), ("missing", "anchor missing")];

/// Words between `anchor` and such a word.
const AFTER_ANCHOR: [&str; 10] = ["came", "come", "coming", "fell", "falling", "has", "is", "was", "keeps", "again"];

/// Words of a note near a number that is a temperature.
const TEMPERATURES: [&str; 4] = ["t", "temp", "tmax", "temperature"];

/// The number of words between such a word and its number: `temp was up to 102`.
const WORDS_BETWEEN: usize = 3;

/// A word of a note.
struct NoteWord {
    text: String,
    /// The punctuation before it, if any: a comma, or `.` for any other.
    mark: Option<char>,
}

/// The words of a note.
fn words_of(note: &str) -> Vec<NoteWord> {
    let mut words: Vec<NoteWord> = Vec::new();
    let mut mark = None;
    for piece in note.split_inclusive(|c: char| !(c.is_alphanumeric() || c == '.')) {
        let text = piece.trim_end_matches(|c: char| !(c.is_alphanumeric() || c == '.'));
        let word = text.trim_matches('.').to_lowercase();
        let end = piece[text.len()..].chars().find(|c| !matches!(c, ' ' | '\'' | '’' | '"'));
        if !word.is_empty() {
            words.push(NoteWord { text: word, mark: mark.take() });
        }
        let stop = text.ends_with('.').then_some('.').or(end.map(|c| if c == ',' { ',' } else { '.' }));
        mark = if mark == Some('.') { mark } else { stop.or(mark) };
    }
    words
}

fn known(word: &str) -> Option<(&'static str, NotedSign)> {
    FINDINGS.iter().find(|(known, _)| *known == word).copied()
}

/// Returns true if a word is denied: by the word before it, by the one before that (`no new drainage`), or as part of a list
/// (`no redness or swelling`, `no redness, swelling or pus`). In `no fever, pus at the site` only the fever is.
fn is_denied(words: &[NoteWord], at: usize) -> bool {
    let is_denial = |at: usize| DENIALS.contains(&words[at].text.as_str());
    let is_or = |at: usize| matches!(words[at].text.as_str(), "or" | "nor");
    let is_finding = |at: usize| known(&words[at].text).is_some();
    if at == 0 || words[at].mark == Some('.') {
        return false;
    }
    if words[at].mark == Some(',') {
        return is_finding(at - 1) && is_closed_list(words, at) && is_denied(words, at - 1);
    }
    if is_denial(at - 1) {
        return true;
    }
    if at < 2 || words[at - 1].mark == Some('.') {
        return false;
    }
    if is_or(at - 1) {
        let is_in_list = words[at - 1].mark.is_none() || is_closed_list(words, at);
        return is_finding(at - 2) && is_in_list && is_denied(words, at - 2);
    }
    words[at - 1].mark.is_none() && !is_finding(at - 1) && is_denial(at - 2)
}

/// Returns true if a list of findings, from one of them on, has an `or` before its last one and nothing after that.
fn is_closed_list(words: &[NoteWord], from: usize) -> bool {
    let is_finding = |at: usize| words.get(at).is_some_and(|word| known(&word.text).is_some());
    let mut at = from;
    while is_finding(at + 1) && words[at + 1].mark == Some(',') {
        at += 1;
    }
    let is_or = words.get(at + 1).is_some_and(|word| matches!(word.text.as_str(), "or" | "nor"));
    let last = match is_or {
        true if is_finding(at + 2) => at + 2,
        false if at > 0 && matches!(words[at - 1].text.as_str(), "or" | "nor") => at,
        _ => return false,
    };
    words.get(last + 1).is_none_or(|next| next.mark.is_some())
}

/// The findings that a note mentions without denying them, in its order; of those that one fact answers, the first.
pub(crate) fn noted(note: &str) -> Vec<(&'static str, NotedSign)> {
    let words = words_of(note);
    let is_degrees = |word: &&NoteWord| {
        let number = word.text.trim_end_matches(['f', 'c']).parse::<f64>();
        number.is_ok_and(|n| (99.0..107.0).contains(&n) || (38.0..42.0).contains(&n))
    };
    let next = |at: usize| words.get(at + 1).map(|word| word.text.as_str());
    let is_except = |at: usize, word: &str| {
        let before = at.checked_sub(1).map(|at| words[at].text.as_str());
        EXCEPT.iter().any(|(first, second)| {
            *first == word && next(at) == Some(second) || *second == word && before == Some(first)
        })
    };
    let anchor = |at: usize| {
        let after = words[at + 1..].iter().take_while(|word| word.mark.is_none());
        let end = after.map(|word| word.text.as_str()).find(|word| !AFTER_ANCHOR.contains(word))?;
        let (_, name) = NOT_SECURE.iter().find(|(known, _)| *known == end)?;
        Some((*name, NotedSign::Anchor))
    };
    let noted = words.iter().enumerate().filter_map(|(at, NoteWord { text: word, .. })| {
        let degrees = || {
            let near = &words[at..words.len().min(at + 2 + WORDS_BETWEEN)];
            let number = near.iter().find(is_degrees)?;
            let named = TEMPERATURES.iter().find(|known| *known == word);
            // A number with a decimal or a unit is a temperature without such a word.
            let is_measured = word.ends_with(['f', 'c']) || word.contains('.');
            let alone = (number.text == *word && is_measured).then_some(&"a temperature");
            named.or(alone).map(|word| (*word, NotedSign::Fever))
        };
        let found = if word == "anchor" { anchor(at) } else { known(word).or_else(degrees) };
        found.filter(|_| !is_denied(&words, at) && !is_except(at, word))
    });
    let mut firsts: Vec<(&'static str, NotedSign)> = Vec::new();
    for (word, said) in noted {
        if firsts.iter().all(|(_, known)| *known != said) {
            firsts.push((word, said));
        }
    }
    firsts
}

/// The findings that the note of a record mentions, and that its own facts do not say.
pub(crate) fn only_in_note(event: &Event) -> Vec<(&'static str, NotedSign)> {
    let noted = event.note.as_deref().map(noted).unwrap_or_default().into_iter();
    noted.filter(|(_, said)| !said.is_answered_by(event)).collect()
}

#[cfg(test)]
mod tests {
    use super::noted;

    #[test]
    fn a_note_names_a_finding_unless_it_denies_it() {
        for (note, word) in [
            ("She has fever 102 and chills, pus at site", Some("fever")),
            ("Pus at the site.", Some("pus")),
            ("dressing is WET", Some("wet")),
            ("no fever, no new drainage", None),
            ("denies any redness", None),
            ("no fever but the line was pulled", Some("pulled")),
            ("T 101.5 this morning", Some("t")),
            ("temp 101", Some("temp")),
            ("temp 98.6", None),
            ("temp was 38.6", Some("temp")),
            ("temp is up to 102", Some("temp")),
            ("101.5 last night", Some("a temperature")),
            ("102F at noon", Some("a temperature")),
            ("room 101, call at 10.30", None),
            ("feels feverish", Some("feverish")),
            ("oozing", Some("oozing")),
            ("hurts to touch", Some("hurts")),
            ("line was tugged hard", Some("tugged")),
            ("calentura 39", Some("calentura")),
            ("yellow discharge", Some("yellow")),
            ("green drng", Some("green")),
            ("smells bad", Some("smells")),
            ("bled through gauze", Some("bled")),
            ("controller fell", Some("fell")),
            ("no smell", None),
            ("fell asleep", None),
            ("mother is back at noon", None),
            ("wetness, redder than", None),
            ("low flow alarm twice last night", Some("alarm")),
            ("no alarms", None),
            ("new battery", None),
            ("it stinks", Some("stinks")),
            ("stunk since noon", Some("stunk")),
            ("the anchor came off", Some("anchor off")),
            ("anchor off", Some("anchor off")),
            ("anchor is loose", Some("anchor loose")),
            ("anchor in place, coat off", None),
            ("the bag slid off a chair; the anchor took it", None),
            ("no anchor off", None),
            ("dressing soaked", Some("soaked")),
            ("looks infected", Some("infected")),
            ("line got yanked", Some("yanked")),
            ("dizzy, confused", Some("dizzy")),
            ("feels hot", Some("hot")),
            ("after a hot shower, warm water", None),
            ("blood culture drawn", None),
            ("teaching before discharge", None),
            ("no fever, pus at the site", Some("pus")),
            ("no fever; pus or blood", Some("pus")),
            ("no fever. pus", Some("pus")),
            ("no fever, pus or blood on the gauze", Some("pus")),
            ("not seen yet. Smelly", Some("smelly")),
            ("no redness or swelling", None),
            ("no redness, swelling or pus", None),
            ("no redness, swelling, or pus.", None),
            ("no redness, swelling or pus; dizzy", Some("dizzy")),
            ("", None),
        ] {
            assert_eq!(noted(note).first().map(|(word, _)| *word), word, "{note}");
        }
        let kinds: Vec<&str> = noted("no chills, but pus now, temp 39, red").iter().map(|(word, _)| *word).collect();
        assert_eq!(kinds, ["pus", "temp", "red"]);
        let kinds: Vec<&str> = noted("smelly, pus, purulent, stinks").iter().map(|(word, _)| *word).collect();
        assert_eq!(kinds, ["smelly", "pus"]);
    }
}
