//! Where the keys and tables of a file stand, so that one can be changed and the rest stays as somebody laid it out.
//!
//! ```toml
//! site = { drainage = "none" }        # a table in braces
//! found.dressing = "intact"           # a key with a point
//! [left]                              # a table under a header of its own
//! anchor = "in-place"
//! ```

use toml_edit::{ArrayOfTables, Document, InlineTable, Item, Table, Value};

use crate::place::Span;

/// A table of a file: the file itself has no name; of a list of tables each row is one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Home<'k> {
    /// Its name; empty for the file itself.
    pub(super) name: &'k str,
    /// Which row of a list of tables it is.
    pub(super) row: Option<usize>,
}

/// The file itself.
pub(super) const TOP: Home = Home { name: "", row: None };

/// How a key is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// On a line of its own, at the top or below the header of its table.
    Line,
    /// On a line of its own at the top, behind its table's name and a point.
    Pointed,
    /// Inside braces.
    Inside,
}

/// One key with its value.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    table: String,
    row: Option<usize>,
    /// The key, without its table.
    pub(super) key: String,
    /// How it is written.
    pub(super) form: Form,
    /// Where the key begins.
    pub(super) start: usize,
    /// Its value.
    pub(super) value: Span,
}

/// `[name]` or `[[name]]`.
#[derive(Debug, Clone)]
pub(super) struct Header {
    /// The table.
    pub(super) name: String,
    row: Option<usize>,
    /// Where it stands.
    pub(super) span: Span,
}

/// Every key, header and pair of braces of a file, in the order of the file.
#[derive(Debug, Default)]
pub(super) struct Layout {
    /// The keys.
    pub(super) spots: Vec<Spot>,
    /// The headers.
    pub(super) headers: Vec<Header>,
    braces: Vec<(String, Option<usize>, Span)>,
    brackets: Vec<(String, Span)>,
}

impl Layout {
    /// The layout of a text; none if it is no TOML.
    pub(super) fn of(text: &str) -> Option<Layout> {
        let document = Document::parse(text).ok()?;
        let mut layout = Layout::default();
        for (key, item) in document.as_table().iter() {
            layout.top(document.as_table(), key, item);
        }
        layout.spots.sort_by_key(|spot| spot.start);
        layout.headers.sort_by_key(|header| header.span.start);
        Some(layout)
    }

    /// The key of a table.
    pub(super) fn spot<'a>(&'a self, home: Home<'a>, key: &str) -> Option<&'a Spot> {
        self.inside(home).find(|spot| spot.key == key)
    }

    /// The keys of a table.
    pub(super) fn inside<'a>(&'a self, home: Home<'a>) -> impl Iterator<Item = &'a Spot> {
        self.spots.iter().filter(move |spot| spot.table == home.name && spot.row == home.row)
    }

    /// The header of a table.
    pub(super) fn header(&self, home: Home) -> Option<&Header> {
        self.headers.iter().find(|header| header.name == home.name && header.row == home.row)
    }

    /// The braces of a table that is written in some.
    pub(super) fn braces(&self, home: Home) -> Option<&Span> {
        let is_it = |(name, row, _): &&(String, Option<usize>, Span)| name == home.name && *row == home.row;
        self.braces.iter().find(is_it).map(|(.., span)| span)
    }

    /// The brackets of a list of tables that is written in some.
    pub(super) fn brackets(&self, name: &str) -> Option<&Span> {
        self.brackets.iter().find(|(known, _)| known == name).map(|(_, span)| span)
    }

    fn top(&mut self, root: &Table, key: &str, item: &Item) {
        match item {
            Item::Value(value) => {
                self.value(root, "", None, Form::Line, key, value);
                match value {
                    Value::InlineTable(inner) => self.in_braces(inner, key, None),
                    Value::Array(items) => {
                        let rows = items.iter().filter_map(Value::as_inline_table).enumerate();
                        rows.for_each(|(row, inner)| self.in_braces(inner, key, Some(row)));
                        if let Some(span) = items.span().filter(|_| items.iter().any(Value::is_inline_table)) {
                            self.brackets.push((key.to_owned(), span));
                        }
                    }
                    _ => {}
                }
            }
            Item::Table(inner) => {
                let form = if inner.is_dotted() { Form::Pointed } else { Form::Line };
                self.below(inner, key, None, form);
            }
            Item::ArrayOfTables(rows) => self.rows(rows, key),
            Item::None => {}
        }
    }

    fn rows(&mut self, rows: &ArrayOfTables, name: &str) {
        rows.iter().enumerate().for_each(|(row, inner)| self.below(inner, name, Some(row), Form::Line));
    }

    fn below(&mut self, table: &Table, name: &str, row: Option<usize>, form: Form) {
        if form == Form::Line
            && let Some(span) = table.span()
        {
            self.headers.push(Header { name: name.to_owned(), row, span });
        }
        for (key, item) in table.iter() {
            if let Some(value) = item.as_value() {
                self.value(table, name, row, form, key, value);
            }
        }
    }

    fn in_braces(&mut self, table: &InlineTable, name: &str, row: Option<usize>) {
        let Some(span) = table.span() else { return };
        self.braces.push((name.to_owned(), row, span));
        for (key, value) in table.iter() {
            let start = table.key(key).and_then(toml_edit::Key::span).map(|span| span.start);
            if let Some((start, value)) = start.zip(value.span()) {
                let (table, key) = (name.to_owned(), key.to_owned());
                self.spots.push(Spot { table, row, key, form: Form::Inside, start, value });
            }
        }
    }

    fn value(&mut self, table: &Table, name: &str, row: Option<usize>, form: Form, key: &str, value: &Value) {
        let start = table.key(key).and_then(toml_edit::Key::span).map(|span| span.start);
        if let Some((start, value)) = start.zip(value.span()) {
            self.spots.push(Spot { table: name.to_owned(), row, key: key.to_owned(), form, start, value });
        }
    }
}
