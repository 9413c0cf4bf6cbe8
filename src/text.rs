//! Makes texts from records safe and short enough to print.
//!
//! A record may contain control characters that a terminal executes, so every text from a file passes through here
//! before it is shown. JSON has its own escapes (`view::json`).

mod formula;
mod near;

pub use formula::{guarded, unguarded};
pub use near::{nearest, nearest_or_only, same_code, same_number};

/// Returns true for characters that control a terminal or reorder text: control characters, bidirectional marks, line
/// and paragraph separators, and a byte order mark inside a text.
pub fn is_unprintable(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// Makes every unprintable character visible as `\u{…}`, and a line ending as `⏎`.
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

/// Makes unprintable characters visible, and keeps line endings and tabs.
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

/// A path for display: makes unprintable characters and invalid UTF-8 visible.
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

/// A file name for display: ASCII unchanged, other characters as `\u{…}`, invalid UTF-8 as `\xFF`.
///
/// This distinguishes names that look alike, such as one with a Cyrillic `Р-001`.
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

/// Capitalizes the first letter of a text.
pub(crate) fn capitalized(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// Truncates a text to `columns` characters, the last of them `…` if anything was cut.
pub fn cut(text: &str, columns: usize) -> String {
    if text.chars().count() <= columns {
        return text.to_owned();
    }
    text.chars().take(columns.saturating_sub(1)).chain(['…']).collect()
}

/// "1 day", "3 days", "1,200 days".
pub fn count(n: i64, one: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{} {one}s", thousands(n)) }
}

/// A body temperature on both scales, since the records store °C whichever was typed.
///
/// ```
/// # use exitsite::text::temperature;
/// assert_eq!(temperature(38.0), "100.4 °F (38.0 °C)");
/// // a value under 38 °C is never rounded up to 38
/// assert_eq!(temperature(37.95), "100.3 °F (37.95 °C)");
/// ```
pub fn temperature(celsius: f64) -> String {
    format!("{:.1} °F ({celsius:?} °C)", celsius * 1.8 + 32.0)
}

/// A number with thousands separators.
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

/// Joins words with commas and "or": "a", "a or b", "a, b or c".
pub fn either(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [rest @ .., last] => format!("{} or {last}", rest.join(", ")),
    }
}

/// A word with its indefinite article.
///
/// ```
/// # use exitsite::text::a;
/// assert_eq!((a("change").as_str(), a("assessment").as_str()), ("a change", "an assessment"));
/// ```
pub fn a(word: &str) -> String {
    let is_vowel = |first: char| "aeiou".contains(first.to_ascii_lowercase());
    format!("{} {word}", if word.starts_with(is_vowel) { "an" } else { "a" })
}

/// Joins parts of a message as sentences, each with a capital letter and a final punctuation mark.
///
/// ```
/// # use exitsite::text::in_sentences;
/// assert_eq!(in_sentences(&["`at` is missing", "write it"]), "`at` is missing. Write it.");
/// assert_eq!(in_sentences(&["did you mean co-1?", ""]), "Did you mean co-1?");
/// assert_eq!(in_sentences(&["rn-02 was not active"]), "rn-02 was not active.");
/// ```
pub fn in_sentences(parts: &[&str]) -> String {
    let sentence = |part: &&str| {
        let part = part.trim();
        // A code or a path keeps its case.
        let word = part.split_whitespace().next().unwrap_or_default().trim_end_matches([',', ':', ';', '.', '?']);
        let is_word = word.chars().all(|c| c.is_alphabetic() || c == '\'');
        let mut letters = part.chars();
        let first = letters.next().into_iter();
        let first: String = if is_word { first.flat_map(char::to_uppercase).collect() } else { first.collect() };
        let end = if part.ends_with(['.', '?', '!', ':']) { "" } else { "." };
        format!("{first}{}{end}", letters.as_str())
    };
    parts.iter().filter(|part| !part.trim().is_empty()).map(sentence).collect::<Vec<_>>().join(" ")
}

/// A text as one word of a command line, quoted if necessary.
///
/// ```
/// # use exitsite::text::quoted;
/// assert_eq!(quoted("patients/P-014/patient.toml"), "patients/P-014/patient.toml");
/// assert_eq!(quoted("S. aureus"), "\"S. aureus\"");
/// assert_eq!(quoted("$5 \\"), "\"\\$5 \\\\\"");
/// // an interactive shell expands ! within double quotes
/// assert_eq!(quoted("it's wet!"), "'it'\\''s wet!'");
/// // a line ending cannot be typed
/// assert_eq!(quoted("two\nlines 50%"), "\"$(printf '%b' 'two\\nlines 50%')\"");
/// ```
pub fn quoted(text: &str) -> String {
    let is_plain = |c: char| c.is_ascii_alphanumeric() || "-_./:,+=".contains(c);
    if !text.is_empty() && text.chars().all(is_plain) {
        return text.to_owned();
    }
    let single = |text: &str| format!("'{}'", text.replace('\'', "'\\''"));
    if text.contains(['\n', '\t']) {
        let escaped = text.replace('\\', "\\\\").replace("\r\n", "\n").replace('\n', "\\n").replace('\t', "\\t");
        return format!("\"$(printf '%b' {})\"", single(&visible(&escaped)));
    }
    if text.contains('!') {
        return single(&visible(text));
    }
    let escaped = text.chars().flat_map(|c| if "\"\\$`".contains(c) { vec!['\\', c] } else { vec![c] });
    format!("\"{}\"", visible(&escaped.collect::<String>()))
}
