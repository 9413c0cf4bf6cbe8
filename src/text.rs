//! Texts from records made safe and short enough to print.
//!
//! A record may hold anything; a terminal obeys some of it. Whatever comes from a file passes through here before a
//! person sees it. JSON has escapes of its own (`view::json`).

/// True for characters that a terminal obeys or that reorder what is read: control characters, bidirectional marks,
/// line and paragraph separators, and the byte order mark inside a text.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// Makes every unprintable character visible as `\u{…}`, and a line end as `⏎`.
///
/// ```
/// # use exitsite::text::visible;
/// assert_eq!(visible("two\nlines"), "two⏎lines");
/// assert_eq!(visible("\u{1b}[2J"), "\\u{1b}[2J");
/// ```
pub fn visible(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            '\n' => out.push('⏎'),
            '\t' => out.push(' '),
            c if is_unprintable(c) => out.extend(c.escape_unicode()),
            c => out.push(c),
        }
    }
    out
}

/// Makes unprintable characters visible, and keeps line ends and tabs.
///
/// ```
/// # use exitsite::text::visible_lines;
/// assert_eq!(visible_lines("two\r\nlines\u{1b}[2J"), "two\nlines\\u{1b}[2J");
/// ```
pub fn visible_lines(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            c if is_unprintable(c) && !matches!(c, '\n' | '\t') => out.extend(c.escape_unicode()),
            c => out.push(c),
        }
    }
    out
}

/// A path as it is shown: what a terminal obeys in it is made visible, and so are bytes that are no letters.
///
/// ```
/// # use exitsite::text::path;
/// assert_eq!(path("logs/\u{1b}[2J.csv".as_ref()), "logs/\\u{1b}[2J.csv");
/// ```
pub fn path(path: &std::path::Path) -> String {
    let mut out = String::new();
    for chunk in path.as_os_str().as_encoded_bytes().utf8_chunks() {
        out.push_str(&visible(chunk.valid()));
        chunk.invalid().iter().for_each(|byte| out.push_str(&format!("\\x{byte:02X}")));
    }
    out
}

/// A text that no spreadsheet takes for a formula: an apostrophe stands before one that begins with `=`, `+`, `-` or `@`,
/// also behind spaces or apostrophes. [`unguarded`] takes it off.
///
/// ```
/// # use exitsite::text::{guarded, unguarded};
/// assert_eq!(guarded("=1+1"), "'=1+1");
/// assert_eq!(guarded("dry - no crust"), "dry - no crust");
/// for text in ["=1+1", "'=1+1", " '-2", "'", "'til noon", "-", "\t@a", "dry"] {
///     assert_eq!(unguarded(&guarded(text)), text);
/// }
/// ```
pub fn guarded(text: &str) -> String {
    if could_be_a_formula(text) { format!("'{text}") } else { text.to_owned() }
}

/// The text that [`guarded`] was given.
pub fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').filter(|_| could_be_a_formula(text)).unwrap_or(text)
}

fn could_be_a_formula(text: &str) -> bool {
    // Some programs take the wide forms of East Asian writing for the same.
    let marks = ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
    text.trim_start_matches(|c: char| c == '\'' || c.is_whitespace() || c.is_control()).starts_with(marks)
}

/// A file name as it is shown: ASCII as it is, other letters as `\u{…}`, bytes that are no letters as `\xFF`.
///
/// Two names that look alike to a person (a Cyrillic `Р-001`) are told apart this way.
pub fn file_name(name: &std::ffi::OsStr) -> String {
    let mut out = String::new();
    for chunk in name.as_encoded_bytes().utf8_chunks() {
        for c in chunk.valid().chars() {
            match c {
                ' '..='~' => out.push(c),
                c => out.extend(c.escape_unicode()),
            }
        }
        for byte in chunk.invalid() {
            out.push_str(&format!("\\x{byte:02X}"));
        }
    }
    out
}

/// A text with its first letter in upper case.
pub fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Cuts a text to `columns` characters, the last of them `…` where something was cut.
pub fn cut(text: &str, columns: usize) -> String {
    if text.chars().count() <= columns {
        return text.to_owned();
    }
    text.chars().take(columns.saturating_sub(1)).chain(['…']).collect()
}

/// The known word nearest to a slip, if one is near enough to be meant.
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

/// The known code that is the same one written otherwise: in another case, with a zero or a hyphen more or less. `None` where
/// two are. A code that is only near is another patient's, and never suggested.
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

/// A code as its letters in one case and its numbers without zeros before them.
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

/// "1 day", "3 days".
pub fn count(n: i64, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") }
}

/// A number with its thousands apart.
///
/// ```
/// # use exitsite::text::thousands;
/// assert_eq!([0, 999, 2140, 1234567, -1000].map(thousands), ["0", "999", "2,140", "1,234,567", "-1,000"]);
/// ```
pub fn thousands(number: i64) -> String {
    let digits = number.unsigned_abs().to_string();
    let apart: Vec<&str> =
        digits.as_bytes().rchunks(3).rev().filter_map(|three| std::str::from_utf8(three).ok()).collect();
    format!("{}{}", if number < 0 { "-" } else { "" }, apart.join(","))
}

/// Joins words as a sentence does: "a", "a or b", "a, b or c".
pub fn either(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// A text as one word of a command line, in quotes where it needs them.
///
/// ```
/// # use exitsite::text::quoted;
/// assert_eq!(quoted("patients/P-014/patient.toml"), "patients/P-014/patient.toml");
/// assert_eq!(quoted("S. aureus"), "\"S. aureus\"");
/// ```
pub fn quoted(text: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_./:,+=".contains(c);
    if !text.is_empty() && text.chars().all(is_plain) {
        return text.to_owned();
    }
    let escaped = text.chars().flat_map(|c| if "\"\\$`".contains(c) { vec!['\\', c] } else { vec![c] });
    format!("\"{}\"", visible(&escaped.collect::<String>()))
}
