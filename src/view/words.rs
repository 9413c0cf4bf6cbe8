//! The words of the glossary: one table for each notion that the records keep under a key.

use crate::event::About;

/// A signal, or another subject of a contact, as a nurse says it.
pub fn signal(signal: About) -> &'static str {
    use About::*;
    match signal {
        Overdue => "overdue change",
        Log => "log",
        Supply => "supplies",
        Other => "other",
        Signals => "all open signals",
        Pus => "pus",
        ScoreReview => "score in the review band",
        ScoreWithGrowth => "score with culture growth",
        RednessWide => "wide redness",
        SwellingTunnel => "swelling along the tunnel",
        BleedingAtSite => "bleeding at the site",
        Fever => "fever",
        LinePulled => "line pulled",
        AnchorOff => "anchor not secured",
        WaterAtSite => "dressing wet or off",
        CultureGrowth => "culture growth",
        ScoreRising => "rising score",
        RednessSpreading => "spreading redness",
        DrainageMore => "more drainage",
        DrainageLasting => "lasting drainage",
        Overgranulation => "overgranulation",
        WarmthOrOdor => "warmth or odor",
        ChangesMissed => "changes missed",
        LogLate => "log overdue",
        NotLookedAt => "no staff look",
        CultureUnresulted => "culture result pending",
        AnchorOftenOff => "anchor often not secured",
        DressingOftenOpen => "dressing often found open",
        ShowerTooEarly => "shower too early",
        ShowerUnchecked => "dressing not checked before shower",
        Untaught => "caregiver not signed off",
        AwayLong => "away for long",
    }
}
