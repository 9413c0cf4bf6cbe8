//! Words from a closed list, as written in the records, on the command line and in reports.
//!
//! Each list is defined once, by `words!`: the word, its meaning, its order.

/// A word from a closed list.
pub trait Word: Sized + Copy + 'static {
    /// Every word of the list, in order.
    const WORDS: &'static [&'static str];

    /// The word as written.
    fn word(self) -> &'static str;

    /// Parses a word; `None` if it is not in the list. Words are exact and lower case.
    fn from_word(word: &str) -> Option<Self>;
}

/// Defines an enumeration whose values are written as words.
macro_rules! words {
    ($(#[$meta:meta])* $vis:vis enum $name:ident { $($(#[$about:meta])* $value:ident = $word:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
        $vis enum $name { $($(#[$about])* #[serde(rename = $word)] $value,)+ }

        #[allow(dead_code, reason = "not every list is iterated")]
        impl $name {
            /// Every value, in the order of the list.
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
