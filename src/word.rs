//! Words from a closed list, as they stand in the records, on the command line and in the reports.
//!
//! Each list is written once, by `words!`: the word, its meaning, its order.

/// A word from a closed list.
pub trait Word: Sized + Copy + 'static {
    /// Every word of the list, in its order.
    const WORDS: &'static [&'static str];

    /// The word as it is written.
    fn word(self) -> &'static str;

    /// The value of a word; none if it is not in the list. Words are exact, lower case.
    fn from_word(word: &str) -> Option<Self>;
}

/// Defines an enumeration whose values are written as words.
macro_rules! words {
    ($(#[$meta:meta])* $vis:vis enum $name:ident { $($(#[$about:meta])* $value:ident = $word:literal,)+ }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
        $vis enum $name { $($(#[$about])* #[serde(rename = $word)] $value,)+ }

        #[allow(dead_code, reason = "not every list is walked")]
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
