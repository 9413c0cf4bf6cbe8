//! Words for the end and the answer of each signal.

use crate::event::About;

/// Words for what ends a signal, as one says it to a colleague.
pub fn ends_when(signal: About) -> &'static str {
    use About::*;
    match signal {
        Pus | ScoreReview | ScoreWithGrowth | RednessWide | SwellingTunnel | BleedingAtSite | Overgranulation
        | WarmthOrOdor => "ends with a full look by staff that does not show it",
        Fever => "ends with a temperature under the limit some hours later, or a full look by staff days later",
        Immersed => "ends with a full look by staff on a later day",
        HomeUntaught => "ends when enough caregivers, or the patient, are signed off, or with a move",
        OrderViolated => "ends with a contact with a clinician about it, or a look by staff",
        LinePulled => "ends with a full look by staff, days after the pull, that is no worse than the one before it",
        AnchorOff => "ends when somebody says that the anchor is in place",
        WaterAtSite | ChangesMissed => "ends with the next change",
        CultureGrowth => "ends with a clinician's determination, or a contact with a physician about it",
        ScoreRising => "ends with a full look by staff within a point of the lowest before",
        RednessSpreading => "ends with a full look by staff with the redness back",
        DrainageMore | DrainageLasting => "ends with a full look by staff without drainage",
        LogLate => "ends with the log",
        NotLookedAt => "ends with a full look by staff",
        CultureUnresulted => "ends with the result",
        AnchorOftenOff | DressingOftenOpen => "ends when the last changes find it so less often",
        ShowerTooEarly | ShowerUnchecked => "ends when it is answered",
        Untaught => "ends with a sign-off",
        AwayLong => "ends with a move",
        Overdue | Log | Supply | Other | Signals => "",
    }
}

/// Words for what answers a signal.
pub fn answered_by(signal: About) -> &'static str {
    use super::{Urgency, urgency};
    match signal {
        About::AwayLong => "answered by a contact about it with the time until which to hear again",
        About::WaterAtSite | About::AnchorOff => "answered only by what ends it",
        About::HomeUntaught => {
            "answered by a sign-off, a contact with a clinician about it, or a visit or a hand-over that was agreed"
        }
        About::CultureUnresulted => "answered by the result, or a contact with a clinician about it",
        _ if urgency(signal) == Urgency::Today => {
            "answered by a contact with a clinician about it, by a visit or a hand-over that was agreed, by a look by staff, a culture, an infection or a treatment record"
        }
        _ => "answered by a contact about it, a look by staff, a culture, an infection or a treatment record",
    }
}
