//! What the parser says about a file that is no TOML, for somebody who cannot program.

/// The parser's words, what they mean, and what to do.
const PLAIN: &[(&str, &str, &str)] = &[
    ("basic string", NOT_CLOSED, CLOSE_IT),
    ("literal string", NOT_CLOSED, CLOSE_IT),
    (
        "must be quoted",
        "this is neither a text in quotes nor a date, a number, true or false",
        "put words and codes in straight quotes, as in \"rn-07\"; numbers and dates stand alone, without a unit",
    ),
    ("key with no value", "the equals sign or the value is missing here", "write key = value on one line"),
    (
        "unexpected key or value",
        "something stands behind the value",
        "one value to a line: a point in a number, not a comma; a note begins with #",
    ),
    ("unclosed", "a bracket is not closed", "add the missing ] or }"),
    ("duplicate key", "this stands twice in the file", "keep the one that is true"),
    ("invalid date", "there is no such day", "look at the calendar and write the day it was, as 2026-11-23"),
    ("invalid time", "this is no time", "write hours and minutes with a colon, as 2026-11-23T18:40:00-06:00"),
    ("cannot be empty", "the name of the key is missing before the equals sign", "write key = value"),
    ("invalid boolean", "this is neither true nor false", "write true or false, without quotes"),
    (
        "escape",
        "a backslash inside a text stands for something else",
        "leave the backslash out, or put the text in single quotes",
    ),
];

const NOT_CLOSED: &str = "a text is not closed: its quote at the end is missing";
const CLOSE_IT: &str = "add the same quote that opens it, on the same line";

/// What is wrong and what to do, in plain words.
///
/// ```text
/// invalid basic string, expected `"`   ->   a text is not closed: its quote at the end is missing
/// ```
pub(super) fn plain(message: &str) -> (String, String) {
    // What the parser had hoped for is no help to a reader, and would be taken for the fault.
    let fault = message.split(", expected").next().unwrap_or(message);
    match PLAIN.iter().find(|(words, ..)| fault.contains(words)) {
        Some((_, fault, help)) => ((*fault).to_owned(), (*help).to_owned()),
        None => (
            format!("this cannot be read: {message}"),
            "mend the marked place: key = value, texts in quotes, dates and numbers without".to_owned(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::plain;

    fn check(message: &str, begins: &str) {
        assert!(plain(message).0.starts_with(begins), "{}", plain(message).0);
    }

    #[test]
    fn says_what_is_meant() {
        check("invalid basic string, expected `\"`", "a text is not closed");
        check("string values must be quoted, expected literal string", "this is neither");
        check("invalid date, expected day between 01 and 28", "there is no such day");
        check("missing escaped value, expected `b`", "a backslash");
        check("something new", "this cannot be read: something new");
    }
}
