//! Texts that a spreadsheet would take for formulas, guarded, and taken back as they were.

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
