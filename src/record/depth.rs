//! How deep a file's tables and lists lie inside each other, found before the file is parsed.
//!
//! A parser that builds nested tables can run out of stack over a file that is made for it. Brackets and the dots of
//! keys are counted here in one pass, outside of texts and comments.

use crate::place::Source;
use crate::problem::{Problem, Rule};

/// The deepest that a record may go.
pub const DEEPEST: usize = 64;

/// The place where `source` goes too deep, if it does.
pub(super) fn too_deep(source: &Source) -> Option<Problem> {
    let text = source.text.as_bytes();
    let (mut at, mut brackets, mut dots) = (0, 0usize, 0usize);
    while at < text.len() {
        match text[at] {
            b'#' => at = text[at..].iter().position(|b| *b == b'\n').map_or(text.len(), |end| at + end),
            quote @ (b'"' | b'\'') => at = end_of_text(text, at, quote),
            b'[' | b'{' => brackets += 1,
            b']' | b'}' => brackets = brackets.saturating_sub(1),
            b'.' => dots += 1,
            b'=' | b',' => dots = 0,
            b'\n' if brackets == 0 => dots = 0,
            _ => {}
        }
        if brackets > DEEPEST || dots > DEEPEST {
            return Some(source.problem(
                Rule::TooDeep,
                &(at..at + 1),
                format!("tables or lists lie more than {DEEPEST} levels deep"),
                "this is no record; move the file out of the records",
            ));
        }
        at += 1;
    }
    None
}

/// The last byte of the text that begins at `at`; the end of the file if it is never closed.
fn end_of_text(text: &[u8], at: usize, quote: u8) -> usize {
    let long = text[at..].starts_with(&[quote; 3]);
    let mut at = at + if long { 3 } else { 1 };
    while at < text.len() {
        match text[at] {
            b'\\' if quote == b'"' => at += 1,
            b'\n' if !long => return at,
            byte if byte == quote && !long => return at,
            byte if byte == quote && text[at..].starts_with(&[quote; 3]) => return at + 2,
            _ => {}
        }
        at += 1;
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: String, is_too_deep: bool) {
        let source = Source { file: "a.toml".into(), text };
        assert_eq!(too_deep(&source).is_some(), is_too_deep, "{:.80}", source.text);
    }

    #[test]
    fn counts_brackets_and_dots_outside_of_texts() {
        check(format!("a = {}{}", "[".repeat(64), "]".repeat(64)), false);
        check(format!("a = {}{}", "[".repeat(65), "]".repeat(65)), true);
        check(format!("a = '{}'", "[".repeat(999)), false);
        check(format!("a = \"\\\"{}\"", "[".repeat(999)), false);
        check(format!("a = '''\n'{}'''", "[".repeat(999)), false);
        check(format!("# {}", "[".repeat(999)), false);
        check(format!("a{} = 1", ".a".repeat(65)), true);
        check(format!("[a{}]", ".a".repeat(65)), true);
        check("a = 1.5\n".repeat(999), false);
    }
}
