//! A record on file with further keys and one more `[[amended]]` row: what somebody wrote, and how, stays as it is.
//!
//! ```toml
//! kind = "change"
//! on = 2026-11-12          # a comment stays
//! by = "co-1"
//! note = "dry"             # added
//!
//! [[amended]]
//! at = 2026-11-24T07:15:00-06:00
//! by = "co-1"
//! why = "also in the log november.csv"
//! was = "note not given"
//! ```
//!
//! Left out on purpose: changing or removing what is there.

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, TableLike};

use super::field::Field;
use super::form::{Value, Values};

/// The text with `keys` added and `amended` as a new row; keys of `fields` stand in their order where a table is new.
///
/// None if the text is no TOML, or holds something under a name that is needed for a table.
pub fn with_added(text: &str, keys: &[(String, Value)], amended: &[(&str, Value)], fields: &[Field]) -> Option<String> {
    let mut document: DocumentMut = text.parse().ok()?;
    let mut expected = Values::of(text)?;
    for (key, value) in keys {
        expected.set(key, value.clone());
        match key.split_once('.') {
            None => _ = document.insert(key, item(value)?),
            Some((table, key)) => _ = table_of(&mut document, table, fields)?.insert(key, item(value)?),
        }
    }
    let mut row = Table::new();
    for (key, value) in amended {
        row.insert(key, item(value)?);
    }
    row.set_position(last_position(&document));
    let rows = document.entry("amended").or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    match rows {
        Item::ArrayOfTables(rows) => rows.push(row),
        Item::Value(toml_edit::Value::Array(rows)) => rows.push(row.into_inline_table()),
        _ => return None,
    }
    let added = document.to_string();
    let mut found = Values::of(&added)?;
    found.remove("amended");
    expected.remove("amended");
    (found == expected).then_some(added)
}

/// Where the last amendment stands, or else the last table.
fn last_position(document: &DocumentMut) -> Option<isize> {
    let last =
        document.get("amended").and_then(Item::as_array_of_tables).and_then(|rows| rows.iter().last()?.position());
    last.or_else(|| document.iter().filter_map(|(_, item)| item.as_table()?.position()).max())
}

/// A table of the record, made where it is missing, behind those that stand before it in `fields`.
fn table_of<'d>(document: &'d mut DocumentMut, name: &str, fields: &[Field]) -> Option<&'d mut dyn TableLike> {
    if !document.contains_key(name) {
        let before = fields.iter().take_while(|field| field.name != name);
        let before = before.filter_map(|field| document.get(field.name)?.as_table()?.position()).max();
        let mut table = Table::new();
        table.set_position(Some(before.unwrap_or(0)));
        document.insert(name, Item::Table(table));
    }
    document.get_mut(name)?.as_table_like_mut()
}

fn item(value: &Value) -> Option<Item> {
    value.to_string().parse::<toml_edit::Value>().ok().map(Item::Value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::Kind;

    fn check(text: &str, keys: &[(&str, &str)], expected: &str) {
        let keys: Vec<(String, Value)> =
            keys.iter().map(|(key, text)| ((*key).to_owned(), Value::Text((*text).to_owned()))).collect();
        let amended = [("by", Value::Text("co-1".into())), ("was", Value::Text("it".into()))];
        assert_eq!(with_added(text, &keys, &amended, &Kind::Change.fields()).as_deref(), Some(expected));
    }

    #[test]
    fn what_is_there_stays_as_it_is() {
        check(
            "kind='change'  # odd\non = 2026-11-12\nby = 'co-1'\n\n[left]\nanchor = 'in-place'\n\n[entered]\nby = 'co-1'\n",
            &[("note", "dry"), ("left.dressing", "intact"), ("site.drainage", "none"), ("found.dressing", "wet")],
            "kind='change'  # odd\non = 2026-11-12\nby = 'co-1'\nnote = \"dry\"\n\n[found]\ndressing = \"wet\"\n\n[left]\nanchor = 'in-place'\ndressing = \"intact\"\n\n[site]\ndrainage = \"none\"\n\n[entered]\nby = 'co-1'\n\n[[amended]]\nby = \"co-1\"\nwas = \"it\"\n",
        );
    }

    #[test]
    fn a_second_amendment_stands_behind_the_first() {
        check(
            "kind = 'change'\n\n[[amended]]\nby = 'md-3'\n",
            &[],
            "kind = 'change'\n\n[[amended]]\nby = 'md-3'\n\n[[amended]]\nby = \"co-1\"\nwas = \"it\"\n",
        );
    }
}
