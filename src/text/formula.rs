//! Escapes texts that a spreadsheet would take for formulas, and unescapes them.

/// Escapes a text that a spreadsheet would take for a formula: puts an apostrophe before one that begins with `=`, `+`,
/// `-` or `@`, also after spaces or apostrophes. [`unguarded`] removes it.
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

/// The original text before [`guarded`].
pub fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').filter(|_| could_be_a_formula(text)).unwrap_or(text)
}

fn could_be_a_formula(text: &str) -> bool {
    // Some programs treat full-width forms the same.
    let marks = ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
    text.trim_start_matches(|c: char| c == '\'' || c.is_whitespace() || c.is_control()).starts_with(marks)
}
