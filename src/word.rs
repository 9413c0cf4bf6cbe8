//! Words from closed lists, as used in records, on the command line and in reports.
//!
//! `words!` declares each list once: words, meanings, order.

/// A word from a closed list.
pub trait Word: Sized + Copy + 'static {
    /// All words of the list, in order.
    const WORDS: &'static [&'static str];

    /// The word as written.
    fn word(self) -> &'static str;

    /// The value of a word; `None` if it is not in the list. Words are matched exactly, in lower case.
    fn from_word(word: &str) -> Option<Self>;
}

/// Defines an enum whose values are written as words.
macro_rules! words {
    ($(#[$meta:meta])* $vis:vis enum $name:ident { $($(#[$about:meta])* $value:ident = $word:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
        $vis enum $name { $($(#[$about])* #[serde(rename = $word)] $value,)+ }

        #[allow(dead_code, reason = "not every list is iterated")]
        impl $name {
            /// All values, in list order.
            $vis const ALL: &'static [$name] = &[$($name::$value),+];
        }

        impl $crate::word::Word for $name {
            const WORDS: &'static [&'static str] = &[$($word),+];

            fn word(self) -> &'static str {
                match self { $($name::$value => $word,)+ }
            }

            fn from_word(word: &str) -> Option<Self> {
                match word { $($word => Some($name::$value),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                out.pad($crate::word::Word::word(*self))
            }
        }
    };
}
pub(crate) use words;
