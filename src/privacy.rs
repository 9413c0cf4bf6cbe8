//! What in a free text looks like somebody's name, number or address.
//!
//! The finding says of what kind it is, never the text itself, since findings go into logs.

use std::sync::LazyLock;

use regex::Regex;

/// What a text may look like, what it must have for that, and the pattern. Common practice, no source.
type Look = (&'static str, fn(&Signs) -> bool, LazyLock<Option<Regex>>);

static LOOKS: [Look; 4] = [
    ("an e-mail address", |has| has.at, LazyLock::new(|| pattern(r"[\w.+-]+@[\w-]+\.\w+"))),
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

/// What is seen of a text at a glance. Most notes and codes have nothing of it, and no pattern is made for them.
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

/// A run of digits with the separators that telephone numbers have.
static NUMBERS: LazyLock<Option<Regex>> = LazyLock::new(|| Regex::new(r"\+?\(?\d[\d ()./-]{5,}\d").ok());

/// What the text looks like, if it holds private data.
///
/// ```
/// # use exitsite::privacy::find;
/// assert_eq!(find("ring 312-555-0142 tomorrow"), Some("a telephone number"));
/// assert_eq!(find("wrote from someone@example.org"), Some("an e-mail address"));
/// assert_eq!(find("MRN: 0044123"), Some("a record number"));
/// assert_eq!(find("seen with Mrs. Example"), Some("a name"));
/// // dates, times, measures and file names are no numbers of people
/// assert_eq!(find("was at = 2026-11-23T18:40:00-06:00, 12 mm, see 2026-11-24T0910-assessment-2.toml"), None);
/// ```
pub fn find(text: &str) -> Option<&'static str> {
    let has = Signs::of(text);
    let looks = |(_, may, pattern): &&Look| may(&has) && pattern.as_ref().is_some_and(|pattern| pattern.is_match(text));
    let telephone = || (has.digits >= 7 && has_telephone(text)).then_some("a telephone number");
    LOOKS.iter().find(looks).map(|(what, ..)| *what).or_else(telephone)
}

fn has_telephone(text: &str) -> bool {
    let Some(numbers) = NUMBERS.as_ref() else { return false };
    numbers.find_iter(text).any(|found| {
        let digits = found.as_str().bytes().filter(u8::is_ascii_digit).count();
        (7..=15).contains(&digits) && !begins_with_date(found.as_str()) && !is_spelled_date(found.as_str())
    })
}

/// `2026-11-23 …`, as a date or a file name begins.
fn begins_with_date(text: &str) -> bool {
    text.get(..10).is_some_and(|date| date.parse::<chrono::NaiveDate>().is_ok())
}

/// `23.11.2026` or `11/23/2026`.
fn is_spelled_date(text: &str) -> bool {
    ["%d.%m.%Y", "%m/%d/%Y", "%d/%m/%Y", "%Y%m%d"]
        .iter()
        .any(|form| chrono::NaiveDate::parse_from_str(text.trim(), form).is_ok())
}
