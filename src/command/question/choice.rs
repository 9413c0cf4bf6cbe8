//! The choices of a question: numbered on the screen, picked by number, word, key or unique beginning.

use crate::text::{cut, either, visible};
use crate::view::words;
use crate::view::words::question::QuestionText;

/// A choice: the words on the screen, the key in the records, which may be typed as well, and the explanation, which may be
/// empty.
#[derive(Debug, Clone)]
pub(in crate::command) struct Choice {
    pub(in crate::command) word: String,
    pub(in crate::command) key: String,
    pub(in crate::command) about: String,
    /// True if it claims findings, so that only its number or the whole word selects it.
    pub(in crate::command) is_whole: bool,
}

impl Choice {
    /// A choice whose key is its word, such as a code.
    pub(in crate::command) fn of(word: impl Into<String>, about: impl Into<String>) -> Choice {
        let word = word.into();
        Choice { key: word.clone(), word, about: about.into(), is_whole: false }
    }

    /// A choice that claims findings, so that no beginning of its word selects it.
    pub(in crate::command) fn claim(word: &str, about: &str) -> Choice {
        Choice { is_whole: true, ..Choice::of(word, about) }
    }

    /// Codes without explanations.
    pub(in crate::command) fn codes(codes: &[&str]) -> Vec<Choice> {
        codes.iter().map(|code| Choice::of(*code, "")).collect()
    }

    /// Keys shown in words, without explanations.
    pub(in crate::command) fn words(keys: &[&str]) -> Vec<Choice> {
        let choice = |key: &&str| Choice {
            word: words::choice(key),
            key: (*key).to_owned(),
            about: String::new(),
            is_whole: false,
        };
        keys.iter().map(choice).collect()
    }

    /// The texts that select it: the word, the key, and the key with spaces.
    fn names(&self) -> [String; 3] {
        [&self.word, &self.key, &self.key.replace('-', " ")].map(|name| name.to_lowercase())
    }
}

/// A question with its choices: `source, how it is known: 1 seen, 2 told`.
pub(in crate::command) fn numbered(question: impl Into<QuestionText>, choices: &[Choice]) -> QuestionText {
    let question = question.into();
    let each: Vec<String> = choices
        .iter()
        .enumerate()
        .map(|(n, choice)| {
            let about = if choice.about.is_empty() { String::new() } else { format!(" ({})", visible(&choice.about)) };
            format!("{} {}{about}", n + 1, visible(&choice.word))
        })
        .collect();
    let colon = if question.text.ends_with('?') { "" } else { ":" };
    question.and(&format!("{colon} {}", each.join(", "))).numbered(choices.len())
}

/// Returns true if the choices with their explanations would fill a screen as one paragraph.
pub(super) fn is_long(choices: &[Choice]) -> bool {
    choices.len() > 6 && choices.iter().all(|choice| !choice.about.is_empty())
}

/// The choices with their explanations, one line each.
pub(super) fn lines(choices: &[Choice], width: usize) -> Vec<String> {
    let digits = choices.len().to_string().len();
    let line = |(n, choice): (usize, &Choice)| {
        let line = format!("  {:>digits$}  {}: {}", n + 1, visible(&choice.word), visible(&choice.about));
        cut(&line, width)
    };
    choices.iter().enumerate().map(line).collect()
}

/// The reason that no choice was found.
enum Miss {
    /// None begins so.
    None,
    /// Several begin so.
    Several(Vec<usize>),
}

fn find(choices: &[Choice], typed: &str) -> Result<usize, Miss> {
    let lower = typed.trim().to_lowercase();
    if let Some(at) = choices.iter().position(|choice| choice.names().contains(&lower)) {
        return Ok(at);
    }
    if let Some(at) = lower.parse::<usize>().ok().filter(|n| (1..=choices.len()).contains(n)) {
        return Ok(at - 1);
    }
    // `none` claims that everything was assessed: no prefix selects it, nor does `no`.
    let is_no = matches!(lower.as_str(), "n" | "no");
    let is_short = |word: &str| word != "none" && (!is_no || word == "no");
    let begins = |name: &String| !lower.is_empty() && name.starts_with(&lower) && is_short(name);
    let is_begun = |at: &usize| !choices[*at].is_whole && choices[*at].names().iter().any(begins);
    let found: Vec<usize> = (0..choices.len()).filter(is_begun).collect();
    match found.as_slice() {
        [one] => Ok(*one),
        [] => Err(Miss::None),
        _ => Err(Miss::Several(found)),
    }
}

/// Finds the choice that was typed: its number, its word, or a unique prefix. `n` is never more than no.
pub(in crate::command) fn pick(choices: &[Choice], typed: &str) -> Result<usize, String> {
    find(choices, typed).map_err(|miss| match miss {
        Miss::None => format!("{} is not a choice. Use {}.", cut(&visible(typed.trim()), 60), listed(choices)),
        Miss::Several(found) => several_fit(choices, &found, typed),
    })
}

/// Finds a choice like [`pick`], if another answer than a choice is possible; `None` if no choice was meant.
///
/// # Errors
/// Several choices begin so.
pub(in crate::command) fn pick_or_other(choices: &[Choice], typed: &str) -> Result<Option<usize>, String> {
    match find(choices, typed) {
        Ok(at) => Ok(Some(at)),
        Err(Miss::None) => Ok(None),
        Err(Miss::Several(found)) => Err(several_fit(choices, &found, typed)),
    }
}

fn several_fit(choices: &[Choice], found: &[usize], typed: &str) -> String {
    let words: Vec<&str> = found.iter().map(|at| choices[*at].word.as_str()).collect();
    format!("{} could be {}. Type more of it, or the number.", cut(&visible(typed.trim()), 60), either(&words))
}

/// Finds the choices that were typed, separated by commas, or by spaces if no choice contains one.
pub(in crate::command) fn several(choices: &[Choice], typed: &str) -> Result<Vec<usize>, String> {
    let by_spaces = |part: &str| part.split_whitespace().map(|word| pick(choices, word)).collect::<Result<Vec<_>, _>>();
    let parts = typed.split([',', ';']).map(str::trim).filter(|part| !part.is_empty());
    let picked = parts.map(|part| pick(choices, part).map(|one| vec![one]).or_else(|_| by_spaces(part)));
    Ok(picked.collect::<Result<Vec<_>, _>>()?.concat())
}

/// Finds the choices that were typed, each once and in order; `all` selects every one.
pub(super) fn all_or_several(choices: &[Choice], typed: &str) -> Result<Vec<usize>, String> {
    if typed.eq_ignore_ascii_case("all") {
        return Ok((0..choices.len()).collect());
    }
    let mut picked = several(choices, typed)?;
    picked.sort_unstable();
    picked.dedup();
    Ok(picked)
}

/// An answer in the words of its choices: `2 4` is `serous, purulent`.
pub(in crate::command) fn in_words(choices: &[Choice], typed: &str) -> String {
    match several(choices, typed) {
        Ok(picked) => picked.iter().map(|at| choices[*at].word.as_str()).collect::<Vec<_>>().join(", "),
        Err(_) => typed.to_owned(),
    }
}

fn listed(choices: &[Choice]) -> String {
    let words: Vec<&str> = choices.iter().map(|choice| choice.word.as_str()).collect();
    let numbers = if choices.len() == 1 { "1".to_owned() } else { format!("1 to {}", choices.len()) };
    format!("{numbers}, or {}", visible(&either(&words)))
}

#[cfg(test)]
mod tests {
    use super::{Choice, pick};

    #[test]
    fn a_choice_is_its_number_its_word_or_a_beginning_of_its_own() {
        let choices = Choice::words(&["none", "serous", "sanguineous", "purulent"]);
        for (typed, at) in
            [("1", 0), ("none", 0), ("NONE", 0), ("pus", 3), ("PU", 3), ("PUR", 3), ("4", 3), ("se", 1), (" 2 ", 1)]
        {
            assert_eq!(pick(&choices, typed), Ok(at), "{typed}");
        }
        let outcomes = Choice::words(&["will-change", "coming-in", "other"]);
        for (typed, at) in
            [("will-change", 0), ("will change", 0), ("Will change the dressing", 0), ("w", 0), ("coming in", 1)]
        {
            assert_eq!(pick(&outcomes, typed), Ok(at), "{typed}");
        }
        for typed in ["0", "5", "s", "n", "no", "non", "", "pu s", "-1", "1.0", "²"] {
            assert!(pick(&choices, typed).is_err(), "{typed}");
        }
        let flags = Choice::words(&["yes", "no"]);
        assert_eq!((pick(&flags, "n"), pick(&flags, "y")), (Ok(1), Ok(0)));
        assert!(pick(&choices, "s").unwrap_err().contains("serous or sanguineous"));
        assert_eq!(
            pick(&choices, "no").unwrap_err(),
            "no is not a choice. Use 1 to 4, or none, serous, sanguineous or pus."
        );
        assert_eq!(pick(&Choice::codes(&["a"]), "b").unwrap_err(), "b is not a choice. Use 1, or a.");
    }
}
