//! The thresholds of signals, with their keys in the policy and their minimum and maximum.
//!
//! A threshold is identified by its variant, never by a string, so a misspelled one does not compile.

use crate::event::{Signal, each_signal};

macro_rules! thresholds {
    ($($(#[$about:meta])* $signal:ident = $name:literal $words:literal by $file:ident :: $rule:ident
        $(, $threshold:ident $key:literal from $least:literal to $most:literal)*;)+) => {
        /// A threshold of a signal.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Threshold {
            $($(#[doc = concat!("`", $key, "` of the signal `", $name, "`.")] $threshold,)*)+
        }

        impl Threshold {
            /// All thresholds, in the order of the signals.
            pub const ALL: &'static [Threshold] = &[$($(Threshold::$threshold,)*)+];

            /// The signal that it belongs to.
            pub fn signal(self) -> Signal {
                match self { $($(Threshold::$threshold => Signal::$signal,)*)+ }
            }

            /// The name of the key.
            pub(super) fn name(self) -> &'static str {
                match self { $($(Threshold::$threshold => $key,)*)+ }
            }

            /// The minimum and the maximum.
            pub(super) fn possible(self) -> (f64, f64) {
                match self { $($(Threshold::$threshold => ($least, $most),)*)+ }
            }
        }
    };
}
each_signal!(thresholds);
