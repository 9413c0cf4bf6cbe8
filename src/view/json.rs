//! JSON for scripts. Control characters, bidirectional marks and line separators are escaped as `\uXXXX`, which keeps the
//! value without printing raw control characters.

use std::io::{self, Write};

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};

use crate::text::is_unprintable;

/// Serializes a value as JSON, with a final newline.
pub(crate) fn json(value: &impl Serialize) -> String {
    let mut text = written(value, PrettyFormatter::new());
    text.push('\n');
    text
}

/// Serializes a value as JSON on one line, without a newline.
pub(crate) fn line(value: &impl Serialize) -> String {
    written(value, CompactFormatter)
}

fn written(value: &impl Serialize, formatter: impl Formatter) -> String {
    let mut bytes = Vec::new();
    let mut serializer = Serializer::with_formatter(&mut bytes, Escaping(formatter));
    // Reports contain only serializable values, and writing to memory does not fail.
    let is_written = value.serialize(&mut serializer).is_ok();
    debug_assert!(is_written);
    String::from_utf8(bytes).unwrap_or_default()
}

struct Escaping<F>(F);

impl<F: Formatter> Formatter for Escaping<F> {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, writer: &mut W, fragment: &str) -> io::Result<()> {
        let mut plain = 0;
        for (at, c) in fragment.char_indices().filter(|(_, c)| is_unprintable(*c)) {
            writer.write_all(&fragment.as_bytes()[plain..at])?;
            for unit in c.encode_utf16(&mut [0; 2]) {
                write!(writer, "\\u{unit:04x}")?;
            }
            plain = at + c.len_utf8();
        }
        writer.write_all(&fragment.as_bytes()[plain..])
    }

    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }

    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }

    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }

    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }

    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

#[cfg(test)]
mod tests {
    use super::json;

    #[test]
    fn escapes_what_a_terminal_obeys_and_keeps_the_value() {
        let text = "a\u{1b}[2J\u{202e}b\u{2028}\"é\u{7f}";
        let written = json(&text);
        assert_eq!(written, "\"a\\u001b[2J\\u202eb\\u2028\\\"é\\u007f\"\n");
        assert_eq!(serde_json::from_str::<String>(&written).unwrap(), text);
    }
}
