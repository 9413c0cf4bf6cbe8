//! The shape of a record file: every field that a reader asks for.

/// One key of a record: its name, what it takes, whether it is needed, and what it means.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The key.
    pub name: &'static str,
    /// The shape of its value.
    pub shape: Shape,
    /// True if a record without it cannot be used.
    pub is_needed: bool,
    /// Its meaning, as one phrase.
    pub about: &'static str,
}

/// The shape of a key's value.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Any text.
    Text,
    /// A text without spaces that stands for something, such as a step of a curriculum.
    Id,
    /// One of these words.
    Words(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A whole number, from and to.
    Whole(i64, i64),
    /// A number, from and to.
    Measure(f64, f64),
    /// A number or a word, such as a count or "unknown".
    WholeOr(&'static str),
    /// A date.
    Date,
    /// A time of day.
    TimeOfDay,
    /// A date with a time, with or without an offset.
    Moment,
    /// A list.
    List(Box<Shape>),
    /// A table with keys of its own.
    Table(Vec<Field>),
    /// A list of tables.
    Rows(Vec<Field>),
    /// A table whose keys the program chooses, all of one shape.
    Map(Box<Shape>),
}

/// Every key that holds one value, those inside a table under its name: `reason`, `found.dressing`. Lists of tables are
/// left out.
pub fn leaves(fields: &[Field]) -> Vec<(String, &Field)> {
    let mut leaves = Vec::new();
    for field in fields {
        match &field.shape {
            Shape::Table(inner) => {
                let named = |(key, inner)| (format!("{}.{key}", field.name), inner);
                leaves.extend(self::leaves(inner).into_iter().map(named));
            }
            Shape::Rows(_) | Shape::Map(_) => {}
            _ => leaves.push((field.name.to_owned(), field)),
        }
    }
    leaves
}
