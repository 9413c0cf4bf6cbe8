//! A value of a file during reading, with its place and those of its items.

use super::form::{Entry, Value};
use crate::place::Span;

/// A value during reading, with its place and those of its items.
pub(super) struct Given<'a> {
    pub(super) value: &'a Value,
    pub(super) span: &'a Span,
    items: &'a [Span],
}

impl<'a> Given<'a> {
    pub(super) fn of(entry: &'a Entry) -> Given<'a> {
        Given { value: &entry.value, span: &entry.spots.value, items: &entry.spots.items }
    }

    /// The items of a list; `None` for any other value.
    pub(super) fn items(&self) -> Option<Vec<Given<'a>>> {
        let Value::List(items) = self.value else { return None };
        let places = self.items.iter().chain(std::iter::repeat(self.span));
        Some(items.iter().zip(places).map(|(value, span)| Given { value, span, items: &[] }).collect())
    }
}
