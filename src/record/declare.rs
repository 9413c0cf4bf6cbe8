//! Structs whose fields are the keys of a table, each declared once: the documentation of a field is the meaning of its
//! key, its
//! type and its method say how the key is read.
//!
//! ```text
//! fields! {
//!     /// A shower or other water.
//!     #[derive(Debug, Clone, PartialEq)]
//!     pub struct Shower {
//!         /// What kind of water.                             optional: any type that has a reading of its own
//!         pub water: Option<Water>,
//!         /// How far redness reaches.                        optional, by a method of the table
//!         pub redness_mm: Option<f64> = maybe measure(Limits::MILLIMETERS),
//!         /// Why.                                            needed; `key` where it is called otherwise in the file
//!         pub reason as "why": Reason,
//!         /// Hours from a shower to the change after it.     from the template where the policy leaves it out
//!         pub after_shower_hours: i64 = preset whole((0, 168)),
//!         /// What grew.                                      empty where it is left out
//!         pub organisms: Vec<String> = default texts(),
//!         /// Dressing and anchor.                            no key of its own: read from the same table
//!         pub covering: DressingAndAnchor = with(DressingAndAnchor::read),
//!     }
//!     then check
//! }
//! ```

use chrono::{NaiveDate, NaiveTime};

use super::{Moment, Table};
use crate::word::Word;

/// A type that the value of a key is read as.
pub trait Read: Sized {
    /// Reads the key `name`.
    fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<Self>;
}

/// A type of a field: as it is where the key is needed, an `Option` where it may be left out.
pub trait Key: Sized {
    /// Reads the key `name`.
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<Self>;
}

impl<T: Read> Key for T {
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<T> {
        T::read(table.needed(), name, about)
    }
}

impl<T: Read> Key for Option<T> {
    fn ask(table: &mut Table, name: &'static str, about: &'static str) -> Option<Option<T>> {
        Some(T::read(table, name, about))
    }
}

impl<W: Word> Read for W {
    fn read(table: &mut Table, name: &'static str, about: &'static str) -> Option<W> {
        table.word(name, about)
    }
}

/// A struct of `fields!`.
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
            /// Reads the keys of a table; `None` where a needed one is missing.
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

/// A key, asked for.
macro_rules! asked {
    ($table:ident, $key:expr, $about:expr, $type:ty,) => {
        <$type as $crate::record::Key>::ask($table, $key, $about)
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

/// A field, of what was read.
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

/// A doc comment as a phrase: in lower case, without its period.
macro_rules! phrase {
    ($doc:literal) => {{
        const DOC: &str = $doc;
        const LOWERED: [u8; DOC.len()] = $crate::record::declare::lowered(DOC.as_bytes());
        const PHRASE: &str = $crate::record::declare::inner(&LOWERED);
        PHRASE
    }};
}

/// The bytes of a doc comment, its first letter in lower case where it is no abbreviation.
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

/// A doc comment without the space before and the period behind.
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
