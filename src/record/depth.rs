//! Measures the nesting depth of a file's tables and lists before parsing.
//!
//! A crafted file can overflow the stack of a parser that builds nested tables. One pass counts brackets and the dots
//! of keys, outside texts and comments.

use crate::place::Span;

/// The maximum nesting depth of a record.
pub const DEEPEST: usize = 64;

/// The place where a text exceeds the maximum depth, if it does.
pub(super) fn too_deep(text: &str) -> Option<Span> {
    let text = text.as_bytes();
    // Each level needs one of these; a record has few.
    if text.iter().filter(|byte| (**byte == b'[') | (**byte == b'{') | (**byte == b'.')).count() < DEEPEST {
        return None;
    }
    let mut levels = Levels::default();
    let mut at = 0;
    while at < text.len() {
        match text[at] {
            b'#' => at = text[at..].iter().position(|b| *b == b'\n').map_or(text.len(), |end| at + end - 1),
            quote @ (b'"' | b'\'') => {
                at = end_of_text(text, at, quote);
                levels.is_line_begun = true;
            }
            byte => levels.take(byte),
        }
        if levels.depth() > DEEPEST {
            return Some(at..at + 1);
        }
        at += 1;
    }
    None
}

/// The depth at the current position.
#[derive(Default)]
struct Levels {
    /// The levels of the last `[header]`.
    header: usize,
    /// The levels added by each open bracket and the key before it.
    brackets: Vec<usize>,
    inside: usize,
    /// The dots of the current key.
    dots: usize,
    is_line_begun: bool,
    is_header: bool,
}

impl Levels {
    fn take(&mut self, byte: u8) {
        match byte {
            b'[' | b'{' => {
                if self.brackets.is_empty() && (!self.is_line_begun || self.is_header) {
                    // A header states all levels from the top.
                    (self.is_header, self.header) = (true, 0);
                }
                self.brackets.push(self.dots + 1);
                self.inside += self.dots + 1;
                self.dots = 0;
            }
            b']' | b'}' => {
                if self.is_header {
                    self.header = self.header.max(self.depth());
                }
                self.inside -= self.brackets.pop().unwrap_or(0);
                self.dots = 0;
            }
            b'.' => self.dots += 1,
            b',' => self.dots = 0,
            b'\n' => {
                if self.brackets.is_empty() || self.is_header {
                    (self.dots, self.inside, self.is_header) = (0, 0, false);
                    self.brackets.clear();
                }
                self.is_line_begun = false;
                return;
            }
            _ => {}
        }
        self.is_line_begun |= !byte.is_ascii_whitespace();
    }

    fn depth(&self) -> usize {
        if self.is_header { self.inside + self.dots } else { self.header + self.inside + self.dots }
    }
}

/// The last byte of the string that begins at `at`; the end of the file if it is never closed.
fn end_of_text(text: &[u8], at: usize, quote: u8) -> usize {
    let long = text[at..].starts_with(&[quote; 3]);
    let mut at = at + if long { 3 } else { 1 };
    while at < text.len() {
        match text[at] {
            b'\\' if quote == b'"' => at += 1,
            b'\n' if !long => return at - 1,
            byte if byte == quote && !long => return at,
            byte if byte == quote && text[at..].starts_with(&[quote; 3]) => {
                // A multi-line string may end in up to two quotes before the three that close it.
                let more = text[at + 3..].iter().take(2).take_while(|byte| **byte == quote).count();
                return at + 2 + more;
            }
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
        assert_eq!(too_deep(&text).is_some(), is_too_deep, "{text:.80}");
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
        check("[[a]]\nb = [1.5, 2.5]\n".repeat(999), false);
        check(format!("[a{}]\nb{} = 1", ".a".repeat(40), ".b".repeat(40)), true);
        check(format!("[a{}]\n[b]\nb{} = 1", ".a".repeat(40), ".b".repeat(40)), false);
        check(format!("a = {}", format!("{{ a{} = ", ".a".repeat(20)).repeat(4)), true);
        check(format!("a = ['''x'''', {{ a{} = 1 }}]", ".a".repeat(99)), true);
        check(format!("# '\na = {}", "[".repeat(65)), true);
    }
}
