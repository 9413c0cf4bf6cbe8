//! Findings that only the note of a call mentions. A note raises no signal, so they are named wherever the patient could look
//! clear.

use crate::word::words;

words! {
    /// The record that holds a finding of a note.
    pub enum NotedFinding {
        /// A temperature.
        Temperature = "temperature",
        /// A finding of the exit site.
        Site = "site",
        /// The state of the dressing.
        Dressing = "dressing",
        /// A pull at the line.
        Pull = "pull",
        /// An alarm of the pump: no record holds it, and a clinician is called.
        Alarm = "alarm",
    }
}

/// Words of a note that name a finding, with the record that holds it. Common practice, no source.
const FINDINGS: [(&str, NotedFinding); 49] = [
    ("fever", NotedFinding::Temperature),
    ("febrile", NotedFinding::Temperature),
    ("chills", NotedFinding::Temperature),
    ("feverish", NotedFinding::Temperature),
    ("shivering", NotedFinding::Temperature),
    ("shivers", NotedFinding::Temperature),
    ("calentura", NotedFinding::Temperature),
    ("fiebre", NotedFinding::Temperature),
    ("pus", NotedFinding::Site),
    ("purulent", NotedFinding::Site),
    ("drainage", NotedFinding::Site),
    ("draining", NotedFinding::Site),
    ("bleeding", NotedFinding::Site),
    ("blood", NotedFinding::Site),
    ("bloody", NotedFinding::Site),
    ("red", NotedFinding::Site),
    ("redness", NotedFinding::Site),
    ("swelling", NotedFinding::Site),
    ("swollen", NotedFinding::Site),
    ("odor", NotedFinding::Site),
    ("smell", NotedFinding::Site),
    ("smells", NotedFinding::Site),
    ("smelly", NotedFinding::Site),
    ("discharge", NotedFinding::Site),
    ("drng", NotedFinding::Site),
    ("yellow", NotedFinding::Site),
    ("green", NotedFinding::Site),
    ("bled", NotedFinding::Site),
    ("oozing", NotedFinding::Site),
    ("oozes", NotedFinding::Site),
    ("oozed", NotedFinding::Site),
    ("hurts", NotedFinding::Site),
    ("pain", NotedFinding::Site),
    ("painful", NotedFinding::Site),
    ("sore", NotedFinding::Site),
    ("tender", NotedFinding::Site),
    ("warm", NotedFinding::Site),
    ("wet", NotedFinding::Dressing),
    ("soiled", NotedFinding::Dressing),
    ("pulled", NotedFinding::Pull),
    ("yanked", NotedFinding::Pull),
    ("snagged", NotedFinding::Pull),
    ("tugged", NotedFinding::Pull),
    ("pulling", NotedFinding::Pull),
    ("fell", NotedFinding::Pull),
    ("dropped", NotedFinding::Pull),
    ("alarm", NotedFinding::Alarm),
    ("alarms", NotedFinding::Alarm),
    ("alarming", NotedFinding::Alarm),
];

/// Words before a finding that deny it.
const DENIALS: [&str; 6] = ["no", "not", "without", "denies", "denied", "never"];

/// Words of a note near a number that is a temperature.
const TEMPERATURES: [&str; 4] = ["t", "temp", "tmax", "temperature"];

/// The number of words between such a word and its number: `temp was up to 102`.
const WORDS_BETWEEN: usize = 3;

/// The findings that a note mentions without denying them, in its order; of each record that holds them, the first.
pub(crate) fn noted(note: &str) -> Vec<(&'static str, NotedFinding)> {
    let is_between = |c: char| !(c.is_alphanumeric() || c == '.');
    let words: Vec<String> = note.split(is_between).map(|word| word.trim_matches('.').to_lowercase()).collect();
    let words: Vec<&String> = words.iter().filter(|word| !word.is_empty()).collect();
    let is_denied = |at: usize| words[at.saturating_sub(2)..at].iter().any(|word| DENIALS.contains(&word.as_str()));
    let is_degrees = |word: &&&String| {
        let number = word.trim_end_matches(['f', 'c']).parse::<f64>();
        number.is_ok_and(|n| (99.0..107.0).contains(&n) || (38.0..42.0).contains(&n))
    };
    let noted = words.iter().enumerate().filter_map(|(at, word)| {
        let known = FINDINGS.iter().find(|(known, _)| known == word).copied();
        let degrees = || {
            let near = &words[at..words.len().min(at + 2 + WORDS_BETWEEN)];
            let number = near.iter().find(is_degrees)?;
            let named = TEMPERATURES.iter().find(|known| *known == word);
            // A number with a decimal or a unit is a temperature without such a word.
            let is_measured = word.ends_with(['f', 'c']) || word.contains('.');
            let alone = (number.as_str() == word.as_str() && is_measured).then_some(&"a temperature");
            named.or(alone).map(|word| (*word, NotedFinding::Temperature))
        };
        let is_asleep = *word == "fell" && words.get(at + 1).is_some_and(|next| *next == "asleep");
        known.or_else(degrees).filter(|_| !is_denied(at) && !is_asleep)
    });
    let mut firsts: Vec<(&'static str, NotedFinding)> = Vec::new();
    for (word, finding) in noted {
        if firsts.iter().all(|(_, known)| *known != finding) {
            firsts.push((word, finding));
        }
    }
    firsts
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
            ("", None),
        ] {
            assert_eq!(noted(note).first().map(|(word, _)| *word), word, "{note}");
        }
        let kinds: Vec<&str> = noted("no chills, but pus now, temp 39, red").iter().map(|(word, _)| *word).collect();
        assert_eq!(kinds, ["pus", "temp"]);
    }
}
