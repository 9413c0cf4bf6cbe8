//! Finds the word or code that a mistyped one most likely means.

/// The known word nearest to a mistyped one, if one is close enough.
///
/// ```
/// # use exitsite::text::nearest;
/// assert_eq!(nearest("serus", ["none", "serous"]), Some("serous"));
/// assert_eq!(nearest("blue", ["none", "serous"]), None);
/// ```
pub fn nearest<'a>(slip: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    known
        .into_iter()
        .map(|word| (strsim::damerau_levenshtein(&slip.to_lowercase(), &word.to_lowercase()), word))
        .filter(|(distance, word)| *distance <= 1 + word.chars().count() / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

/// The nearest known word, or the only one that begins with the same letter and is two letters off. For words of the
/// program, never for codes.
///
/// ```
/// # use exitsite::text::nearest_or_only;
/// assert_eq!(nearest_or_only("dew", &["due", "void"]), Some("due"));
/// assert_eq!(nearest_or_only("dew", &["due", "den"]), Some("den"));
/// assert_eq!(nearest_or_only("dxy", &["due", "dot"]), None);
/// assert_eq!(nearest_or_only("xew", &["due", "void"]), None);
/// ```
pub fn nearest_or_only<'a>(slip: &str, known: &[&'a str]) -> Option<&'a str> {
    let is_same_letter = |word: &str| word.chars().next() == slip.to_lowercase().chars().next();
    let is_near = |word: &&&str| is_same_letter(word) && strsim::damerau_levenshtein(&slip.to_lowercase(), word) <= 2;
    nearest(slip, known.iter().copied()).or_else(|| {
        let mut near = known.iter().filter(is_near);
        near.next().filter(|_| near.next().is_none()).copied()
    })
}

/// The known code that differs only in case, leading zeros or hyphens; `None` if there are two. A code that is merely
/// similar may be another patient's and is never suggested.
///
/// ```
/// # use exitsite::text::same_code;
/// let known = ["P-014", "P-041", "P-1-4", "Q-7"];
/// for typed in ["p-14", "P014", "P-0014", "p14", " p-014"] {
///     assert_eq!(same_code(typed, known), Some("P-014"), "{typed}");
/// }
/// for typed in ["P-015", "P-140", "P-01", "Q-70", "14", ""] {
///     assert_eq!(same_code(typed, known), None, "{typed}");
/// }
/// assert_eq!(same_code("P14", ["P-014", "P-14"]), None);
/// ```
pub fn same_code<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let meant = parts(typed);
    let mut same = known.into_iter().filter(|code| parts(code) == meant);
    same.next().filter(|_| same.next().is_none())
}

/// The only known code with the number that was typed alone, without its letters; `None` if there are two.
///
/// ```
/// # use exitsite::text::same_number;
/// let known = ["P-014", "P-016", "Q-16", "P-1-7"];
/// assert_eq!((same_number("014", known), same_number("14", known)), (Some("P-014"), Some("P-014")));
/// for typed in ["016", "17", "1", "4", "P", "0-14", ""] {
///     assert_eq!(same_number(typed, known), None, "{typed}");
/// }
/// ```
pub fn same_number<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let number = typed.trim();
    let is_number = !number.is_empty() && number.chars().all(|c| c.is_ascii_digit());
    let meant = parts(number);
    let mut same = known
        .into_iter()
        .filter(|code| is_number && matches!(parts(code).as_slice(), [_, rest] if [rest.clone()] == *meant));
    same.next().filter(|_| same.next().is_none())
}

/// Splits a code into letters in one case and numbers without leading zeros.
fn parts(code: &str) -> Vec<String> {
    let is_number = |part: &String| part.ends_with(|c: char| c.is_ascii_digit());
    let mut parts: Vec<String> = Vec::new();
    let mut is_new = true;
    for c in code.trim().chars().filter(|c| !c.is_whitespace()) {
        let begins = is_new || parts.last().is_none_or(|last| is_number(last) != c.is_ascii_digit());
        is_new = c == '-';
        match parts.last_mut().filter(|_| !begins) {
            _ if is_new => {}
            Some(last) => last.push(c.to_ascii_uppercase()),
            None => parts.push(c.to_ascii_uppercase().to_string()),
        }
    }
    let plain = |part: String| match is_number(&part) {
        true => part.trim_start_matches('0').to_owned() + "#",
        false => part,
    };
    parts.into_iter().map(plain).collect()
}
