//! The place of a value: a file of the records, and a range of characters in it.
//!
//! A place keeps the line that it points to, safe to print, so that a finding can be displayed after the file is
//! released.

use std::fmt;
use std::ops::Range;

use crate::text;

/// The maximum number of columns that an excerpt shows around the value.
const EXCERPT_COLUMNS: usize = 120;

/// A range of bytes in a file's text.
pub type Span = Range<usize>;

/// One file's text, with its path in the records folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordText {
    /// The path relative to the records folder, with `/`.
    pub file: String,
    /// The complete text, without a byte order mark.
    pub text: String,
}

/// A place in the records: a file and, if known, a line, a column and the line's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The path relative to the records folder, with `/`.
    pub file: String,
    /// The line, from 1; `None` for the file as a whole.
    pub line: Option<usize>,
    /// The column in the line, from 1, in characters.
    pub column: Option<usize>,
    /// The line itself.
    pub excerpt: Option<Excerpt>,
}

impl fmt::Display for Place {
    /// `patients/P-014/patient.toml:12`, or the file alone.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(out, "{}:{line}", self.file),
            None => out.write_str(&self.file),
        }
    }
}

/// An excerpt of one line around a value, safe to print.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Excerpt {
    /// At most 120 columns of the line.
    pub text: String,
    /// The bytes of `text` that are marked.
    pub marked: Span,
}

impl RecordText {
    /// The place of `span` in this file.
    pub fn place(&self, span: &Span) -> Place {
        let start = floor_boundary(&self.text, span.start);
        let line_start = self.text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line_end = self.text[start..].find('\n').map_or(self.text.len(), |at| start + at);
        let end = floor_boundary(&self.text, span.end.clamp(start, line_end));
        Place {
            file: self.file.clone(),
            line: Some(self.text[..start].matches('\n').count() + 1),
            column: Some(self.text[line_start..start].chars().count() + 1),
            excerpt: Some(excerpt(&self.text[line_start..start], &self.text[start..end], &self.text[end..line_end])),
        }
    }
}

impl Place {
    /// A file as a whole.
    pub fn file(file: impl Into<String>) -> Place {
        Place { file: file.into(), line: None, column: None, excerpt: None }
    }
}

/// Cuts a line to the part around the value, mainly around its start.
fn excerpt(before: &str, value: &str, after: &str) -> Excerpt {
    let value = text::cut(&text::visible(value), EXCERPT_COLUMNS / 2);
    let room = EXCERPT_COLUMNS - value.chars().count();
    let before = text::visible(before);
    let hidden = before.chars().count().saturating_sub(room / 2);
    let before: String =
        if hidden == 0 { before } else { ['…'].into_iter().chain(before.chars().skip(hidden + 1)).collect() };
    let after = text::cut(text::visible(after.trim_end_matches('\r')).trim_end(), room - before.chars().count());
    let marked = before.len()..before.len() + value.len();
    Excerpt { text: format!("{before}{value}{after}"), marked }
}

/// The last character boundary at or before `at`, which may be past the end.
fn floor_boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, span: Span, line: usize, column: usize, marked: &str) {
        let source = RecordText { file: "a.toml".into(), text: text.into() };
        let place = source.place(&span);
        let excerpt = place.excerpt.unwrap();
        assert_eq!((place.line, place.column), (Some(line), Some(column)));
        assert_eq!(&excerpt.text[excerpt.marked], marked);
        assert!(excerpt.text.chars().count() <= EXCERPT_COLUMNS);
    }

    #[test]
    fn points_at_line_and_characters() {
        check("a = 1\nb = 22\n", 10..12, 2, 5, "22");
        check("a = 'é'\r\n", 4..8, 1, 5, "'é'");
        check("", 0..0, 1, 1, "");
        check("a = 1", 99..120, 1, 6, "");
    }

    #[test]
    fn cuts_a_long_line_around_the_value() {
        let long = format!("{}VALUE{}", "x".repeat(5000), "y".repeat(5000));
        check(&long, 5000..5005, 1, 5001, "VALUE");
        check(&long, 0..10_005, 1, 1, &format!("{}…", "x".repeat(59)));
    }
}
