//! Detection of names, numbers and addresses of people in free text.
//!
//! A finding gives the kind, never the text itself, since findings appear in logs.

use std::sync::LazyLock;

use regex::Regex;

use crate::day::is_date_of_care;

/// The kinds of private data: name, a cheap precondition, and pattern. Common practice, no source.
type Detector = (&'static str, fn(&Signs) -> bool, LazyLock<Option<Regex>>);

static LOOKS: [Detector; 4] = [
    ("an email address", |has| has.at, LazyLock::new(|| pattern(r"[\w.+-]+@[\w-]+\.\w+"))),
    (
        "a record number",
        |has| has.digits >= 3,
        LazyLock::new(|| {
            pattern(
                r"(?i)\b(mrn|record (no|nr|number)|chart (no|number)|case (no|number)|patient (id|number)|ssn)\W{0,4}\w*\d{3,}",
            )
        }),
    ),
    (
        "a name with a record number",
        |has| has.digits >= 6,
        LazyLock::new(|| pattern(r"\b\p{Lu}\p{Ll}+,? \p{Lu}\p{Ll}+\W{1,3}(\w+\W{1,2}){0,2}\d{6,}\b")),
    ),
    ("a name", |has| has.title, LazyLock::new(|| pattern(r"\b(Mr|Mrs|Ms|Miss|Dr|Prof)\.? \p{Lu}\p{Ll}+"))),
];

fn pattern(text: &str) -> Option<Regex> {
    Regex::new(text).ok()
}

/// Character classes present in a text. Most notes and codes have none of them, so no pattern is compiled.
struct Signs {
    digits: usize,
    at: bool,
    title: bool,
}

impl Signs {
    fn of(text: &str) -> Signs {
        let titles = ["Mr", "Ms", "Miss", "Dr", "Prof"];
        Signs {
            digits: text.bytes().filter(u8::is_ascii_digit).count(),
            at: text.contains('@'),
            title: text.bytes().any(|byte| b"MDP".contains(&byte)) && titles.iter().any(|title| text.contains(title)),
        }
    }
}

/// Returns the kind of private data that a text appears to contain, if any.
///
/// ```
/// # use exitsite::privacy::find;
/// assert_eq!(find("ring 312-555-0142 tomorrow"), Some("a telephone number"));
/// assert_eq!(find("wrote from someone@example.org"), Some("an email address"));
/// assert_eq!(find("MRN: 0044123"), Some("a record number"));
/// assert_eq!(find("seen with Mrs. Example"), Some("a name"));
/// assert_eq!(find("tel.+1 (312) 555-0142x12, after 5"), Some("a telephone number"));
/// // digests, serial numbers and accession codes contain letters; dates, times, measures and file names are not numbers
/// // of people either
/// assert_eq!(find("controller HX-2604-1187762, swab S26-0012345, 9f8640551234567a"), None);
/// assert_eq!(find("was at = 2026-11-23T18:40:00-06:00, 12 mm, see 2026-11-24T0910-assessment-2.toml"), None);
/// ```
pub fn find(text: &str) -> Option<&'static str> {
    let has = Signs::of(text);
    let looks =
        |(_, may, pattern): &&Detector| may(&has) && pattern.as_ref().is_some_and(|pattern| pattern.is_match(text));
    let telephone = || (has.digits >= 7 && has_telephone(text)).then_some("a telephone number");
    LOOKS.iter().find(looks).map(|(what, ..)| *what).or_else(telephone)
}

/// Minimum and maximum digits of a telephone number. Source: ITU-T E.164 for the maximum; common practice for the
/// minimum.
const DIGITS: std::ops::RangeInclusive<usize> = 7..=15;

/// The maximum number of words in a written telephone number: `+33 1 23 45 67 89`.
const MOST_WORDS: usize = 6;

/// Returns true if adjacent words are a telephone number. A word with letters in it is a code, not a number.
fn has_telephone(text: &str) -> bool {
    let mut run: Vec<String> = Vec::new();
    for piece in text.split(|c: char| ",;:=\"'<>[]{}|".contains(c) || (c.is_control() && !c.is_whitespace())) {
        for word in piece.split_whitespace() {
            // After a country code, eight digits are not a date.
            let is_abroad = run.first().is_some_and(|first| first.starts_with('+') || first.starts_with("00"));
            let (begins, number, ends) = number_of(word, is_abroad);
            if begins {
                run.clear();
            }
            match number {
                Some(number) => {
                    run.push(number);
                    let longest = run.len().min(MOST_WORDS);
                    if (1..=longest).any(|words| is_telephone(&run[run.len() - words..].join(" "))) {
                        return true;
                    }
                }
                None => run.clear(),
            }
            if ends {
                run.clear();
            }
        }
        run.clear();
    }
    false
}

/// The number in a word, with its separators but without a leading abbreviation and a trailing extension; and whether
/// these separate it from the previous and the next word.
fn number_of(word: &str, is_abroad: bool) -> (bool, Option<String>, bool) {
    let dash = |c: char| if matches!(c, '\u{2010}'..='\u{2015}' | '\u{2212}') { '-' } else { c };
    let word: String = word.chars().map(dash).collect();
    // "tel.312-555-0142"
    let number = word.trim_start_matches(char::is_alphabetic);
    let begins = number.len() < word.len() && number.starts_with('.');
    let number = if begins { &number[1..] } else { word.as_str() };
    // "312-555-0142x12", "312-555-0142(home)"
    let (number, behind) = match number.find(char::is_alphabetic) {
        Some(at) => number.split_at(at),
        None => (number, ""),
    };
    let is_extension = behind.trim_start_matches(char::is_alphabetic).bytes().all(|byte| byte.is_ascii_digit())
        && ["x", "ext"].contains(&behind.trim_end_matches(|c: char| c.is_ascii_digit()).to_lowercase().as_str());
    let is_remark = number.ends_with('(') && behind.ends_with(')');
    if !behind.is_empty() && !is_extension && !is_remark {
        return (begins, None, true);
    }
    let number = number.trim_end_matches(['.', '!', '?', '(', '-', '/']);
    let is_one = number.contains(|c: char| c.is_ascii_digit())
        && number.bytes().all(|byte| byte.is_ascii_digit() || b"+()./-".contains(&byte))
        && (is_abroad || !is_date(number));
    (begins, is_one.then(|| number.to_owned()), !behind.is_empty())
}

/// Returns true if the number of digits is that of a telephone number.
fn is_telephone(number: &str) -> bool {
    let digits = number.bytes().filter(u8::is_ascii_digit).count();
    let begins = number.starts_with(|c: char| c.is_ascii_digit() || c == '+' || c == '(');
    DIGITS.contains(&digits) && begins && !is_date(number)
}

/// `2026-11-23`, `23.11.2026`, `11/23/2026` or `20261123`.
fn is_date(text: &str) -> bool {
    ["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d/%m/%Y", "%Y%m%d"]
        .iter()
        .filter_map(|form| chrono::NaiveDate::parse_from_str(text.trim(), form).ok())
        .any(is_date_of_care)
}

#[cfg(test)]
mod tests {
    use super::find;

    fn check(text: &str, expected: Option<&str>) {
        assert_eq!(find(text), expected, "{text}");
    }

    #[test]
    fn telephone_numbers_in_their_usual_spellings_are_found() {
        let spellings = [
            "312-555-0142",
            "(312) 555-0142",
            "(312)555-0142",
            "312.555.0142",
            "312 555 0142",
            "3125550142",
            "555-0142",
            "1-312-555-0142",
            "1 (312) 555-0142",
            "+1 312 555 0142",
            "+1 (312) 555-0142",
            "+13125550142",
            "001 312 555 0142",
            "+44 20 7946 0958",
            "+44 (0)20 7946 0958",
            "020 7946 0958",
            "+33 1 23 45 67 89",
            "01 23 45 67 89",
            "+49 30 1234567",
            "030/1234567",
            "+52 55 1234 5678",
            "+81-3-1234-5678",
            "+353 1 234 5678",
            "312\u{2013}555\u{2013}0142",
            "312\u{a0}555\u{a0}0142",
        ];
        for number in spellings {
            for text in [
                number.to_owned(),
                format!("ring {number} tomorrow"),
                format!("call:{number}."),
                format!("tel. {number}, spouse"),
                format!("B12 {number}"),
                format!("on 2026-11-23 {number}"),
                format!("\"{number}\""),
                format!("{number} ext. 4"),
                format!("{number}x12"),
                format!("{number}(home)"),
                format!("tel.{number}"),
            ] {
                check(&text, Some("a telephone number"));
            }
        }
    }

    #[test]
    fn codes_with_letters_dates_and_measures_are_not() {
        for text in [
            "S26-0012345",
            "HX-2604-1187762",
            "2604-1187762-A",
            "SN20260012345",
            "00123456789B",
            "lot 22A1234567890",
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
            "at = 2026-11-23T18:40:00-06:00, 12 mm, see 2026-11-24T0910-assessment-2.toml",
            "23.11.2026",
            "11/23/2026 and 11/24/2026",
            "2026-11-23 2026-11-24",
            "12 mm, 38.4 at 18:40",
        ] {
            check(text, None);
        }
    }
}
