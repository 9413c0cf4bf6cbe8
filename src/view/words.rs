//! The words of the glossary: one table for each notion that the records keep under a key.

use crate::event::{About, Outcome, Water};

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
        Immersed => "bath or pool",
        HomeUntaught => "home, not enough caregivers signed off",
        OrderViolated => "order not followed",
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

/// How a contact ended, as a nurse says it.
pub fn outcome(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::WillChange => "will change the dressing",
        Outcome::ComingIn => "coming in",
        Outcome::Advised => "advised",
        Outcome::Escalated => "handed on to a clinician",
        Outcome::SupportEnded => "reported that support has ended",
        Outcome::NoAnswer => "no answer",
        Outcome::Other => "other",
    }
}

/// The water of a shower record: a swim is no shower.
pub fn water(water: Option<Water>) -> &'static str {
    match water {
        Some(Water::Bath) => "bath",
        Some(Water::Pool) => "swim",
        Some(Water::Other) => "water",
        Some(Water::Shower) | None => "shower",
    }
}
