//! A small writer of HTML: text and attributes are escaped by the type that holds markup, so that none is forgotten.
//!
//! A page is one file: its style inside, no script, nothing fetched from anywhere. It is read on paper, in black and
//! white, as well as on a screen.

use crate::text::visible;

/// A piece of a page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Markup(String);

/// A text as it stands in a page, between tags or in an attribute: what a terminal obeys is made visible as elsewhere.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in visible(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // What no page may hold, and a browser would show as nothing.
            '\u{fdd0}'..='\u{fdef}' => out.push('\u{fffd}'),
            c if u32::from(c) & 0xfffe == 0xfffe => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

impl Markup {
    /// A text.
    pub(super) fn text(text: impl AsRef<str>) -> Markup {
        Markup(escaped(text.as_ref()))
    }

    /// An element with what stands in it.
    pub(super) fn element(name: &str, attributes: &[(&str, &str)], inner: impl IntoIterator<Item = Markup>) -> Markup {
        let inner: String = inner.into_iter().map(|markup| markup.0).collect();
        Markup(format!("<{name}{}>{inner}</{name}>", written(attributes)))
    }

    /// An element that holds nothing and has no end tag.
    pub(super) fn empty(name: &str, class: &str) -> Markup {
        Markup(format!("<{name}{}>", written(&[("class", class)])))
    }

    /// An element with a text in it.
    pub(super) fn of(name: &str, class: &str, text: impl AsRef<str>) -> Markup {
        let class = [("class", class)];
        Markup::element(name, if class[0].1.is_empty() { &[] } else { &class }, [Markup::text(text)])
    }

    /// On a line of its own in the file.
    pub(super) fn on_a_line(self) -> Markup {
        Markup(format!("{}\n", self.0))
    }
}

fn written(attributes: &[(&str, &str)]) -> String {
    attributes.iter().map(|(name, value)| format!(" {name}=\"{}\"", escaped(value))).collect()
}

/// The mark at the beginning of a page of ours of one kind, by which it is known again.
pub(super) fn mark(kind: &str) -> String {
    format!("<meta name=\"generator\" content=\"exitsite {}\">", escaped(kind))
}

/// A whole page in English; `style` is CSS of our own.
pub(super) fn page(kind: &str, title: &str, style: &str, body: impl IntoIterator<Item = Markup>) -> String {
    page_in("en", kind, title, style, body)
}

/// A whole page in a language, by its code.
pub(super) fn page_in(
    language: &str,
    kind: &str,
    title: &str,
    style: &str,
    body: impl IntoIterator<Item = Markup>,
) -> String {
    let body: String = body.into_iter().map(|markup| markup.0).collect();
    format!(
        "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n{}\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>{}</title>\n<style>\n{style}</style>\n</head>\n<body>\n{body}</body>\n</html>\n",
        escaped(language),
        mark(kind),
        escaped(title)
    )
}

#[cfg(test)]
mod tests {
    use super::Markup;

    #[test]
    fn escapes_texts_and_attributes() {
        let odd = Markup::element("p", &[("title", "\"><script>")], [Markup::text("<b> & 'c'\u{1b}\u{202e}\u{fffe}")]);
        assert_eq!(
            odd.0,
            "<p title=\"&quot;&gt;&lt;script&gt;\">&lt;b&gt; &amp; &#39;c&#39;\\u{1b}\\u{202e}\u{fffd}</p>"
        );
    }
}
