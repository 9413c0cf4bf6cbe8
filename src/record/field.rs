//! The shape of a record file: the fields that its reader asks for.

/// One key of a record: name, shape, requirement and meaning.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The key.
    pub name: &'static str,
    /// The shape of its value.
    pub shape: Shape,
    /// True if the key is required.
    pub is_needed: bool,
    /// Its meaning, as one phrase.
    pub about: &'static str,
}

/// The shape of a key's value.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Any text.
    Text,
    /// An identifier without spaces, such as the id of a curriculum step.
    Id,
    /// One of these words.
    Words(&'static [&'static str]),
    /// `true` or `false`.
    Flag,
    /// A whole number within limits, inclusive.
    Whole(i64, i64),
    /// A number within limits, inclusive.
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
    /// A table with its own keys.
    Table(Vec<Field>),
    /// A list of tables.
    Rows(Vec<Field>),
    /// A table whose keys the program chooses, all of one shape.
    Map(Box<Shape>),
}

/// Every key with a single value, dotted inside a table: `reason`, `found.dressing`. Excludes lists of tables.
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
