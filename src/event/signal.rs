//! The signals of the program, one line each: the name in the records, the name on the screen, the rule in
//! [`crate::signal`], and the thresholds that the policy sets.
//!
//! ```text
//! /// Wide redness.
//! RednessWide = "redness-wide" "wide redness" by site::REDNESS_WIDE, WideMm "mm" from 0.0 to 300.0;
//! ```
//!
//! The order is by danger: of several signals at one site the first is printed first. Those through
//! [`Signal::CultureGrowth`] are clinical findings.

use crate::word::words;

/// Passes the signals to a macro that generates code for each.
macro_rules! each_signal {
    ($make:ident) => {
        $make! {
            /// Purulent drainage.
            Pus = "pus" "pus" by site::PUS;
            /// A score in the review band.
            ScoreReview = "score-review" "score in the review band" by site::SCORE_REVIEW;
            /// A score with a culture that grew.
            ScoreWithGrowth = "score-with-growth" "findings and culture growth" by site::SCORE_WITH_GROWTH,
                GrowthPoints "points" from 0.0 to 99.0, GrowthWithinDays "within_days" from 0.0 to 366.0;
            /// Wide redness.
            RednessWide = "redness-wide" "wide redness" by site::REDNESS_WIDE, WideMm "mm" from 0.0 to 300.0;
            /// Swelling along the tunnel.
            SwellingTunnel = "swelling-tunnel" "swelling along the tunnel" by site::SWELLING_TUNNEL;
            /// Bleeding.
            BleedingAtSite = "bleeding-at-site" "bleeding at the site" by site::BLEEDING_AT_SITE,
                BleedingAfterPod "after_pod" from 0.0 to 3650.0;
            /// Fever.
            Fever = "fever" "fever" by clinical::FEVER,
                FeverCelsius "celsius" from 34.0 to 42.5, FeverEndsAfterHours "ends_after_hours" from 0.0 to 720.0,
                FeverEndsAfterDays "ends_after_days" from 0.0 to 366.0;
            /// A culture that grew.
            CultureGrowth = "culture-growth" "culture growth" by clinical::CULTURE_GROWTH;
            /// Immersion of the site in a bath or pool.
            Immersed = "immersed" "bath or pool" by conduct::IMMERSED;
            /// A patient at home with too few caregivers signed off.
            HomeUntaught = "home-untaught" "not enough caregivers signed off at home" by untaught::HOME_UNTAUGHT;
            /// A violation of an order.
            OrderViolated = "order-violated" "order not followed" by conduct::ORDER_VIOLATED;
            /// A pull on the line.
            LinePulled = "line-pulled" "line pulled" by line::LINE_PULLED, PullWatchDays "watch_days" from 0.0 to 366.0;
            /// An unsecured anchor.
            AnchorOff = "anchor-off" "anchor not secured" by line::ANCHOR_OFF;
            /// Water at the site.
            WaterAtSite = "water-at-site" "dressing wet or off" by line::WATER_AT_SITE;
            /// A rising score.
            ScoreRising = "score-rising" "rising score" by trend::SCORE_RISING,
                RisingPoints "points" from 1.0 to 99.0, RisingWithinDays "within_days" from 1.0 to 366.0;
            /// Spreading redness.
            RednessSpreading = "redness-spreading" "spreading redness" by trend::REDNESS_SPREADING,
                SpreadingMm "mm" from 0.0 to 300.0, SpreadingWithinDays "within_days" from 1.0 to 366.0;
            /// Increased drainage.
            DrainageMore = "drainage-more" "more drainage" by trend::DRAINAGE_MORE, MoreAfterPod "after_pod" from 0.0 to 3650.0;
            /// Persistent drainage.
            DrainageLasting = "drainage-lasting" "persistent drainage" by trend::DRAINAGE_LASTING,
                LastingDays "days" from 1.0 to 366.0, LastingRecords "records" from 1.0 to 366.0,
                LastingAfterPod "after_pod" from 0.0 to 3650.0;
            /// Overgranulation: granulation tissue over the edge.
            Overgranulation = "overgranulation" "overgranulation" by site::OVERGRANULATION;
            /// Warmth or odor.
            WarmthOrOdor = "warmth-or-odor" "warmth or odor" by site::WARMTH_OR_ODOR;
            /// Consecutive missed changes.
            ChangesMissed = "changes-missed" "due changes not recorded" by due::CHANGES_MISSED, MissedInARow "in_a_row" from 1.0 to 366.0;
            /// An overdue log.
            LogLate = "log-late" "log overdue" by due::LOG_LATE;
            /// No look at the site by staff.
            NotLookedAt = "not-looked-at" "no staff look" by due::NOT_LOOKED_AT;
            /// A culture result that is pending.
            CultureUnresulted = "culture-unresulted" "culture result pending" by clinical::CULTURE_UNRESULTED,
                UnresultedDays "days" from 0.0 to 366.0;
            /// An anchor that is often loose or absent.
            AnchorOftenOff = "anchor-often-off" "anchor often not secured" by line::ANCHOR_OFTEN_OFF,
                AnchorTimes "times" from 1.0 to 366.0, AnchorOfChanges "of_changes" from 1.0 to 366.0;
            /// A dressing that is often found open.
            DressingOftenOpen = "dressing-often-open" "dressing often found open" by line::DRESSING_OFTEN_OPEN,
                OpenTimes "times" from 1.0 to 366.0, OpenOfChanges "of_changes" from 1.0 to 366.0;
            /// A shower before the first allowed day.
            ShowerTooEarly = "shower-too-early" "shower too early" by practice::SHOWER_TOO_EARLY;
            /// A shower after which the dressing was not checked.
            ShowerUnchecked = "shower-unchecked" "dressing not checked before shower" by practice::SHOWER_UNCHECKED;
            /// A change by a caregiver or the patient without a sign-off.
            Untaught = "untaught" "caregiver not signed off" by practice::UNTAUGHT, UntaughtEndsAfterDays "ends_after_days" from 1.0 to 3650.0;
            /// A long absence.
            AwayLong = "away-long" "long absence" by due::AWAY_LONG, AwayDays "days" from 0.0 to 3650.0;
        }
    };
}
pub(crate) use each_signal;

macro_rules! names {
    ($($(#[$about:meta])* $signal:ident = $name:literal $words:literal by $file:ident :: $rule:ident
        $(, $threshold:ident $key:literal from $least:literal to $most:literal)*;)+) => {
        words! {
            /// A signal: a state in the records that needs review.
            #[derive(PartialOrd, Ord)]
            pub enum Signal { $($(#[$about])* $signal = $name,)+ }
        }
    };
}
each_signal!(names);

impl Signal {
    /// Returns true for a finding at the site, fever or culture growth: a possible sign of infection.
    pub(crate) fn is_clinical_finding_of_today(self) -> bool {
        self <= Signal::CultureGrowth
    }
}
