//! The frame of every page. Markup escapes text and attributes, and control characters are made visible in the complete page,
//! so that none is missed.
//! A page is self-contained: inline style, no script, no external resource. It must be readable on screen and on
//! black-and-white paper.

use maud::{DOCTYPE, PreEscaped, Render, html};

use crate::text::{visible, visible_lines};

/// Returns the mark at the beginning of a page, by which exitsite recognizes its own pages of one kind.
pub(super) fn mark(kind: &str) -> String {
    html! { meta name="generator" content={ "exitsite " (kind) }; }.into_string()
}

/// Renders a complete HTML page in English; `style` must be trusted CSS from this crate.
pub(super) fn page(kind: &str, title: &str, style: &str, body: impl Render) -> String {
    page_in("en", kind, title, style, body)
}

/// Renders a complete HTML page in a language, given by its code. Control characters and characters not allowed in HTML are
/// made visible throughout.
pub(super) fn page_in(language: &str, kind: &str, title: &str, style: &str, body: impl Render) -> String {
    let page = html! {
        (DOCTYPE) "\n"
        html lang=(language) {
            "\n" head {
                "\n" meta charset="utf-8";
                "\n" (PreEscaped(mark(kind)))
                "\n" meta name="viewport" content="width=device-width";
                "\n" title { (title) }
                "\n" style { "\n" (PreEscaped(style)) }
            }
            "\n" body { "\n" (body) }
        }
        "\n"
    };
    visible_lines(&page.into_string()).chars().map(|c| if is_no_character(c) { '\u{fffd}' } else { c }).collect()
}

/// The first line of every output that contains patient codes.
pub(super) const INTERNAL: &str = "internal: patient codes";

/// Renders a text whose dates and months are not broken across lines.
pub(super) fn unbroken(text: &str) -> maud::Markup {
    let bytes = text.as_bytes();
    // dddd-dd, optionally followed by -dd
    let is_digits = |at: usize, n: usize| bytes.get(at..at + n).is_some_and(|part| part.iter().all(u8::is_ascii_digit));
    let is_dash = |at: usize| bytes.get(at) == Some(&b'-');
    let length = |at: usize| match is_digits(at, 4) && is_dash(at + 4) && is_digits(at + 5, 2) {
        true if is_dash(at + 7) && is_digits(at + 8, 2) => 10,
        true => 7,
        false => 0,
    };
    let (mut parts, mut from, mut at) = (Vec::new(), 0, 0);
    while at < bytes.len() {
        match length(at) {
            0 => at += 1,
            days => {
                parts.push((&text[from..at], &text[at..at + days]));
                at += days;
                from = at;
            }
        }
    }
    html! { @for (words, day) in parts { (words) span class="day" { (day) } } (&text[from..]) }
}

/// Returns the CSS of a running head and page numbers for print.
pub(super) fn running_head(text: &str) -> String {
    let quoted: String =
        visible(text)
            .chars()
            .map(|c| {
                if matches!(c, '"' | '\\' | '<' | '>' | '&') { format!("\\{:x} ", u32::from(c)) } else { c.to_string() }
            })
            .collect();
    let font = "font: 7pt \"Liberation Sans\", Arial, Helvetica, sans-serif;";
    format!(
        "@page {{ @top-left {{ content: \"{quoted}\"; {font} }} @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); {font} }} }}\n"
    )
}

/// Returns true if HTML does not allow the character; a browser would show nothing.
fn is_no_character(c: char) -> bool {
    matches!(c, '\u{fdd0}'..='\u{fdef}') || u32::from(c) & 0xfffe == 0xfffe
}

#[cfg(test)]
mod tests {
    use maud::html;

    use super::{page, running_head, unbroken};

    #[test]
    fn days_are_not_broken() {
        let check = |text: &str, expected: &str| assert_eq!(unbroken(text).into_string(), expected);
        check("é 2026-10-01, 2026-10", "é <span class=\"day\">2026-10-01</span>, <span class=\"day\">2026-10</span>");
        check("12026-1 <", "12026-1 &lt;");
    }

    #[test]
    fn a_running_head_ends_neither_its_text_nor_the_style() {
        assert!(running_head("a\"</style>\\").contains("content: \"a\\22 \\3c /style\\3e \\5c \""));
    }

    #[test]
    fn a_page_shows_what_a_terminal_obeys_and_escapes_texts() {
        let odd = "<b> & \"c\"\u{1b}\u{202e}\u{fffe}";
        let page = page("odd", odd, "", html! { p title=(odd) { (odd) } });
        let shown = "&lt;b&gt; &amp; &quot;c&quot;\\u{1b}\\u{202e}\u{fffd}";
        assert!(page.contains(&format!("<p title=\"{shown}\">{shown}</p>")), "{page}");
    }
}
