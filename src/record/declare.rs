//! Declares structs whose fields are the keys of a table: the doc comment of a field is the meaning of its key, and its
//! type and method determine how the key is read.
//!
//! ```text
//! fields! {
//!     /// A shower or other water.
//!     #[derive(Debug, Clone, PartialEq)]
//!     pub struct Shower {
//!         /// Kind of water.                                  optional: any type that implements `Read`
//!         pub water: Option<Water>,
//!         /// Extent of redness.                              optional, by a method of the table
//!         pub redness_mm: Option<f64> = maybe measure(Limits::MILLIMETERS),
//!         /// Reason.                                         required; `as` if its key has another name
//!         pub reason as "why": Reason,
//!         /// Hours from a shower to the change after it.     default from the template
//!         pub after_shower_hours: i64 = preset whole((0, 168)),
//!         /// Organisms grown.                                empty if missing
//!         pub organisms: Vec<String> = default texts(),
//!         /// Dressing and anchor.                            without a key: read from the same table
//!         pub covering: DressingAndAnchor = with(DressingAndAnchor::read),
//!     }
//!     then check
//! }
//! ```

use chrono::{NaiveDate, NaiveTime};

use super::{Moment, Table};
use crate::word::Word;

/// A type that can be read from the value of a key.
pub trait Read: Sized {
    /// Reads the key `name`.
    fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<Self>;
}

/// The type of a field: plain for a required key, `Option` for an optional one.
pub trait FieldType: Sized {
    /// Reads the key `name`.
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<Self>;
}

impl<T: Read> FieldType for T {
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<T> {
        T::read(table.needed(), name, about)
    }
}

impl<T: Read> FieldType for Option<T> {
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<Option<T>> {
        Some(T::read(table, name, about))
    }
}

impl<W: Word> Read for W {
    fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<W> {
        table.word(name, about)
    }
}

/// A struct declared by `fields!`.
pub trait Record: Sized {
    /// Reads the keys of a table.
    fn read_keys(table: &mut Table) -> Option<Self>;
}

impl<T: Record> Read for Vec<T> {
    fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<Vec<T>> {
        table.rows(name, about, T::read_keys)
    }
}

macro_rules! read_by {
    ($($method:ident: $type:ty),+) => {$(
        impl Read for $type {
            fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<$type> {
                table.$method(name, about)
            }
        }
    )+};
}
read_by! { text: String, flag: bool, date: NaiveDate, time_of_day: NaiveTime, moment: Moment, texts: Vec<String> }

/// Declares a struct and its reader.
macro_rules! fields {
    (
        $(#[$meta:meta])*
        $outer:vis struct $name:ident {
            $(
                #[doc = $about:literal]
                $(#[$attribute:meta])*
                $vis:vis $field:ident $(as $key:literal)? : $type:ty
                    $(= $how:ident $(($with:expr))? $($method:ident ($($arg:expr),*))?)?,
            )+
        }
        $(then $check:ident)?
    ) => {
        $(#[$meta])*
        $outer struct $name {
            $(#[doc = $about] $(#[$attribute])* $vis $field: $type,)+
        }

        impl $name {
            /// Reads the keys of a table; `None` if a required key is missing.
            pub(crate) fn read(table: &mut $crate::record::Table) -> Option<$name> {
                $(let $field = $crate::record::declare::asked!(
                    table,
                    $crate::record::declare::key!($field $($key)?),
                    $crate::record::declare::phrase!($about),
                    $type,
                    $($how $(($with))? $($method ($($arg),*))?)?
                );)+
                let read = $name { $($field: $crate::record::declare::settled!($field $($how)?),)+ };
                $(read.$check(table);)?
                Some(read)
            }
        }

        impl $crate::record::Record for $name {
            fn read_keys(table: &mut $crate::record::Table) -> Option<$name> {
                $name::read(table)
            }
        }

        impl $crate::record::Read for $name {
            fn read(
                table: &mut $crate::record::Table,
                name: &'static str,
                about: &'static str,
            ) -> Option<$name> {
                table.table(name, about, $name::read).flatten()
            }
        }
    };
}

macro_rules! key {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident $key:literal) => {
        $key
    };
}

/// Asks for a key.
macro_rules! asked {
    ($table:ident, $key:expr, $about:expr, $type:ty,) => {
        <$type as $crate::record::FieldType>::ask($table, $key, $about)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, with ($read:expr)) => {
        $read($table)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, from ($read:expr)) => {
        $read($table)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, each ($read:expr)) => {
        $table.rows($key, $about, $read).unwrap_or_default()
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, inside ($read:expr)) => {
        $table.table($key, $about, $read).flatten()
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, place ($of:expr)) => {
        $table.span($of)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, needed $method:ident ($($arg:expr),*)) => {
        $table.needed().$method($key, $($arg,)* $about)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, or ($value:expr)) => {
        <$type as $crate::record::Read>::read($table, $key, $about).unwrap_or($value)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, or ($value:expr) $method:ident ($($arg:expr),*)) => {
        $table.$method($key, $($arg,)* $about).unwrap_or($value)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, $how:ident) => {
        <$type as $crate::record::Read>::read($table, $key, $about)
    };
    ($table:ident, $key:expr, $about:expr, $type:ty, $how:ident $method:ident ($($arg:expr),*)) => {
        $table.$method($key, $($arg,)* $about)
    };
}

/// Makes a field from the value read.
macro_rules! settled {
    ($field:ident) => {
        $field?
    };
    ($field:ident needed) => {
        $field?
    };
    ($field:ident preset) => {
        $field?
    };
    ($field:ident with) => {
        $field?
    };
    ($field:ident default) => {
        $field.unwrap_or_default()
    };
    ($field:ident $as_it_is:ident) => {
        $field
    };
}

/// Converts a doc comment to a phrase: in lower case, without its period.
macro_rules! phrase {
    ($doc:literal) => {{
        const DOC: &str = $doc;
        const LOWERED: [u8; DOC.len()] = $crate::record::declare::lowered(DOC.as_bytes());
        const PHRASE: &str = $crate::record::declare::inner(&LOWERED);
        PHRASE
    }};
}

/// The bytes of a doc comment, with the first letter in lower case unless it begins an abbreviation.
pub(crate) const fn lowered<const N: usize>(doc: &[u8]) -> [u8; N] {
    let mut lowered = [0; N];
    let mut at = 0;
    while at < N {
        lowered[at] = doc[at];
        at += 1;
    }
    if N > 2 && !doc[2].is_ascii_uppercase() {
        lowered[1] = doc[1].to_ascii_lowercase();
    }
    lowered
}

/// A doc comment without its leading space and its period.
pub(crate) const fn inner(doc: &'static [u8]) -> &'static str {
    let text = match doc {
        [b' ', text @ .., b'.'] | [b' ', text @ ..] | text => text,
    };
    match std::str::from_utf8(text) {
        Ok(text) => text,
        Err(_) => "",
    }
}

pub(crate) use {asked, fields, key, phrase, settled};
