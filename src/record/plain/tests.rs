//! A text in the plain form has the keys, values and places that the TOML parser gives it, and a fault is never read as
//! plain.

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};

use super::Plain;
use crate::record::Values;
use crate::record::given::TableKeys;
use crate::record::syntax;

/// Returns true if a text is read as plain; then the parser must say the same, to the byte of every place.
fn is_plain(text: &str) -> bool {
    let mut plain = Plain::default();
    let is_plain = plain.read(text);
    if is_plain {
        let parsed = syntax::parse(text).map_err(|errors| format!("{errors:?}"));
        let read = Values::from(TableKeys::of(&plain, text));
        assert_eq!(format!("{:?}", Ok::<_, String>(read)), format!("{parsed:?}"), "{text:?}");
    }
    is_plain
}

#[test]
fn records_as_they_are_written_are_plain() {
    for text in [
        "",
        "\n# nothing\n \n",
        "kind = \"change\"\nat = 2026-11-23T18:55:00-06:00\nby = 'rn-07' # told\n\n[site]\nredness_mm = 2.5\nodor = false\n",
        "on = 2026-11-23\nabout = [\"log\", 'supplies',]\nsteps = []\n[[amended]]\nat = 2026-11-23T18:55:00Z\n[void]\n[[amended]]",
        "\tcare_day_starts\t=\t03:00:00\t# morning\nn = -12\nm = 0\nnote = \"\"\nwhy = 'd\u{e9}j\u{e0} \\ vu'",
    ] {
        assert!(is_plain(text), "{text:?}");
    }
}

#[test]
fn other_forms_and_faults_are_not() {
    let values = [
        "\"a\\n\"",
        "\"\"\"a\"\"\"",
        "'''a'''",
        "\"\"\"\"\"\"",
        "\"a",
        "\"a\u{7f}\"",
        "'a\r'",
        "01",
        "+1",
        "1_0",
        "-0",
        "1.",
        ".5",
        "1e3",
        "0x1",
        "inf",
        "nan",
        "1234567890123456",
        "2026-02-30",
        "2026-11-23 18:40:00",
        "2026-11-23T18:40",
        "18:40",
        "2026-11-23T18:40:60",
        "2026-11-23T18:40:00.5",
        "2026-11-23t18:40:00",
        "2026-11-23T18:40:00z",
        "2026-11-23T18:40:00+24:00",
        "2026-11-23T18:40:00+0600",
        "[[1]]",
        "[1 2]",
        "[,]",
        "[\n1]",
        "{ a = 1 }",
        "yes",
        "True",
        "1 2",
        "",
        "\"a\" b",
        "[1",
    ];
    for value in values {
        assert!(!is_plain(&format!("a = {value}\n")), "{value}");
    }
    let texts = [
        "a",
        "a = 1\r\n",
        "a.b = 1",
        "\"a\" = 1",
        "\u{e9} = 1",
        "a = 1\na = 2",
        "[a]\n[a]",
        "[a]\n[[a]]",
        "[[a]]\n[a]",
        "a = 1\n[a]",
        "a = [1]\n[[a]]",
        "[a.b]",
        "[ a ]",
        "[[a]",
        "[[a] ]",
        "[]",
        "[a] b",
        "<<<<<<< ours\n",
        "=======\n",
        "# \u{1}",
        "\u{feff}a = 1",
        "= 1",
    ];
    for text in texts {
        assert!(!is_plain(text), "{text:?}");
    }
    assert!(!is_plain(&(0..300).map(|n| format!("k{n} = 1\n")).collect::<String>()));
}

/// Pieces of texts, in the plain form and in others.
#[rustfmt::skip]
const PIECES: [&str; 64] = [
    "a", "b", "kind", "redness_mm", "0", "1", "12", "-", "+", "3.5", "0.0", "-0.0", "00", "_", "e5", "true", "false", "inf", "\"", "'",
    "\"x\"", "'y'", "\"\"", "''", "\"\"\"", "'''", "\\", "\\n", " ", "  ", "\t", "\n", "\n", "\n\n", "\r\n", "\r", "=", " = ", " = ", "[", "]",
    "[[", "]]", "[a]\n", "[[a]]\n", "[b]\n", "[[b]]\n", "a = ", "b = ", ".", ",", "#", "# c\n", "2026-11-23", "2026-02-29", "T18:40:00",
    "-06:00", "Z", "18:40:00", ":", "\u{e9}", "\u{7f}", "{ a = 1 }", "0001-01-01",
];

/// Records whose bytes are changed.
const RECORDS: [&str; 3] = [
    "kind = \"change\"\nat = 2024-01-01T09:42:00-06:00\nby = \"p001-friend\"\nsource = \"log\"\n\n[found]\ndressing = \"intact\"\n\n\
     [site]\nredness_mm = 0.5\npain = \"none\"\n\n[entered]\nat = 2024-02-01T09:35:00Z\nby = \"co-1\"\n",
    "code = \"P-001\"\nimplanted = 2021-11-26\nlogs = [\"a\", \"b\"]\n\n[[exit]]\nid = \"a\"\nfrom = 2021-11-26\n\n\
     [[care]]\nfrom = 2021-11-26 # moved\n\n[[care]]\nfrom = 2021-12-22\n",
    "schema = 1\ncare_day_starts = 03:00:00\n[check]\nfuture = \"warning\"\n[weights]\nnone = 0\nserous = -1\nflag = true\n",
];

/// The ends of a line behind a value.
const TAILS: [&str; 5] = ["", "\n", " # c\n", "]", "\nb = 1\n"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 10_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn pieces_mean_what_the_parser_says(pieces in vec(select(&PIECES[..]), 0..12)) {
        is_plain(&pieces.concat());
    }

    #[test]
    fn values_mean_what_the_parser_says(pieces in vec(select(&PIECES[..]), 1..4), tail in select(&TAILS[..])) {
        is_plain(&format!("a = {}{tail}", pieces.concat()));
        is_plain(&format!("a = [{}{tail}", pieces.join(", ")));
    }

    #[test]
    fn changed_records_mean_what_the_parser_says(
        record in select(&RECORDS[..]),
        changes in vec((any::<Index>(), 0_usize..3, select(&PIECES[..])), 1..4),
    ) {
        let mut text = record.to_owned();
        for (place, taken, put) in changes {
            let at = place.index(text.len() + 1);
            let end = (at + taken).min(text.len());
            if text.is_char_boundary(at) && text.is_char_boundary(end) {
                text.replace_range(at..end, put);
            }
        }
        is_plain(&text);
    }
}
