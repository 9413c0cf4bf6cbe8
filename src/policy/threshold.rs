//! The thresholds of signals, each with the name that it has in the policy, and the least and the most that it can be.
//!
//! A threshold is asked for by its variant, never by a text: a misspelled one does not compile.

use crate::event::About;

macro_rules! thresholds {
    ($($variant:ident of $signal:ident: $name:literal, $least:literal to $most:literal;)+) => {
        /// A threshold of a signal.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Threshold {
            $(#[doc = concat!("`", $name, "` of the signal `", stringify!($signal), "`.")] $variant,)+
        }

        impl Threshold {
            /// All, in the order of the policy's template.
            pub const ALL: &'static [Threshold] = &[$(Threshold::$variant),+];

            /// The signal that it belongs to.
            pub fn signal(self) -> About {
                match self { $(Threshold::$variant => About::$signal,)+ }
            }

            /// The name of its key.
            pub(super) fn name(self) -> &'static str {
                match self { $(Threshold::$variant => $name,)+ }
            }

            /// The least and the most that it can be.
            pub(super) fn possible(self) -> (f64, f64) {
                match self { $(Threshold::$variant => ($least, $most),)+ }
            }
        }
    };
}

thresholds! {
    GrowthPoints of ScoreWithGrowth: "points", 0.0 to 99.0;
    GrowthWithinDays of ScoreWithGrowth: "within_days", 0.0 to 366.0;
    WideMm of RednessWide: "mm", 0.0 to 300.0;
    BleedingAfterPod of BleedingAtSite: "after_pod", 0.0 to 3650.0;
    FeverCelsius of Fever: "celsius", 34.0 to 42.5;
    FeverEndsAfterHours of Fever: "ends_after_hours", 0.0 to 720.0;
    FeverEndsAfterDays of Fever: "ends_after_days", 0.0 to 366.0;
    PullWatchDays of LinePulled: "watch_days", 0.0 to 366.0;
    RisingPoints of ScoreRising: "points", 1.0 to 99.0;
    RisingWithinDays of ScoreRising: "within_days", 1.0 to 366.0;
    SpreadingMm of RednessSpreading: "mm", 0.0 to 300.0;
    SpreadingWithinDays of RednessSpreading: "within_days", 1.0 to 366.0;
    MoreAfterPod of DrainageMore: "after_pod", 0.0 to 3650.0;
    LastingDays of DrainageLasting: "days", 1.0 to 366.0;
    LastingRecords of DrainageLasting: "records", 1.0 to 366.0;
    LastingAfterPod of DrainageLasting: "after_pod", 0.0 to 3650.0;
    MissedInARow of ChangesMissed: "in_a_row", 1.0 to 366.0;
    UnresultedDays of CultureUnresulted: "days", 0.0 to 366.0;
    AnchorTimes of AnchorOftenOff: "times", 1.0 to 366.0;
    AnchorOfChanges of AnchorOftenOff: "of_changes", 1.0 to 366.0;
    OpenTimes of DressingOftenOpen: "times", 1.0 to 366.0;
    OpenOfChanges of DressingOftenOpen: "of_changes", 1.0 to 366.0;
    AwayDays of AwayLong: "days", 0.0 to 3650.0;
}
