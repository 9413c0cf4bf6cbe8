//! The words of the glossary: one table for each notion that the records keep under a key.

use chrono::NaiveDate;

use super::day::short_day;
use crate::event::{
    Anchor, ContactOutcome, Drainage, Finding, Kind, Pain, Remedy, Signal, Site, SiteField, Source, Subject, Swelling,
    Water,
};
use crate::policy::UNDETERMINED;
use crate::schedule::State;
use crate::signal::{Acted, ActedBy, Answered, Observation, RecurringFinding, Review, Urgency};
pub(crate) use crate::text::temperature;
use crate::text::{count, visible};

/// The subject of a contact, as a nurse says it.
pub(crate) fn subject(subject: Subject) -> &'static str {
    match subject {
        Subject::Overdue => "overdue change",
        Subject::Log => "log",
        Subject::Supply => "supplies",
        Subject::Other => "other",
        Subject::Signals => "all open signals",
        Subject::Signal(named) => signal(named),
    }
}

/// A signal, as a nurse says it.
pub(crate) fn signal(signal: Signal) -> &'static str {
    use Signal::*;
    match signal {
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
        ChangesMissed => "due changes not on file",
        LogLate => "log overdue",
        NotLookedAt => "no staff look",
        CultureUnresulted => "culture result pending",
        AnchorOftenOff => "anchor often not secured",
        DressingOftenOpen => "dressing often found open",
        ShowerTooEarly => "shower too early",
        ShowerUnchecked => "dressing not checked before shower",
        Untaught => "caregiver not signed off",
        AwayLong => "away more than 14 days",
    }
}

/// The count of open signals of one urgency: `4 signals need review today (2 acted on)`.
pub(crate) fn review(review: Review, urgency: Urgency) -> String {
    let need = if review.open == 1 { "needs" } else { "need" };
    let when = if urgency == Urgency::Today { "today" } else { "this week" };
    let acted_on = if review.acted_on == 0 { String::new() } else { format!(" ({} acted on)", review.acted_on) };
    format!("{} {need} review {when}{acted_on}", count(review.open as i64, "signal"))
}

/// The end of a signal.
pub(crate) fn ends_when(signal: Signal) -> &'static str {
    use Signal::*;
    match signal {
        Pus | ScoreReview | ScoreWithGrowth | RednessWide | SwellingTunnel | BleedingAtSite | Overgranulation
        | WarmthOrOdor => "Ends with a full look by staff that does not show it.",
        Fever => "Ends with a normal temperature hours later, or a full look by staff days later.",
        Immersed => "Ends with a full look by staff on a later day.",
        HomeUntaught => "Ends when enough caregivers, or the patient, are signed off, or with a move.",
        OrderViolated => "Ends with a contact with a clinician about it, or a look by staff.",
        LinePulled => "Ends with a full look by staff, days after the pull, no worse than the one before it.",
        AnchorOff => "Ends when the anchor is recorded in place.",
        WaterAtSite | ChangesMissed => "Ends with the next change.",
        CultureGrowth => "Ends with a clinician's determination, or a contact with a physician about it.",
        ScoreRising => "Ends with a full look by staff within a point of the lowest before.",
        RednessSpreading => "Ends with a full look by staff with the redness back.",
        DrainageMore | DrainageLasting => "Ends with a full look by staff without drainage.",
        LogLate => "Ends with the log.",
        NotLookedAt => "Ends with a full look by staff.",
        CultureUnresulted => "Ends with the result.",
        AnchorOftenOff | DressingOftenOpen => "Ends when the last changes find it less often.",
        ShowerTooEarly | ShowerUnchecked => "Ends when it is acted on.",
        Untaught => "Ends with a sign-off.",
        AwayLong => "Ends with a move.",
    }
}

/// The records that count as acting on a signal.
pub(crate) fn acted_on_by(answered: Answered) -> &'static str {
    match answered {
        Answered::HearAgain => "a contact about it with the time until which to hear again",
        Answered::Remedy => "only what ends it",
        Answered::HandOver => "a sign-off, a contact with a clinician about it, a visit or a hand-over agreed",
        Answered::Clinician => "the result, or a contact with a clinician about it",
        Answered::Act => {
            "a look by staff, a culture, an infection or treatment record, a contact with a clinician about it, a visit or a hand-over agreed"
        }
        Answered::Contact => "a contact about it, a look by staff, a culture, an infection or treatment record",
    }
}

/// How a contact ended, with the person to whom it was handed on: `handed on to md-3`.
pub(crate) fn outcome_to(outcome: ContactOutcome, to: Option<&str>) -> String {
    to.map_or_else(|| self::outcome(outcome).to_owned(), |to| format!("handed on to {}", visible(to)))
}

/// The record that acted on a signal: a dressing change by staff does so as a look at the site, or where it ends the signal.
pub(crate) fn acted(acted: &Acted) -> String {
    let by = visible(&acted.by);
    match (acted.how, acted.kind) {
        (ActedBy::Contact, _) => {
            let with = acted.with.as_deref().map(visible).unwrap_or_default();
            let outcome = acted.outcome.map(|how| format!(": {}", outcome(how))).unwrap_or_default();
            format!("contact with {with} by {by}{outcome}")
        }
        (ActedBy::Look, Kind::Change) => format!("site seen by {by} at a dressing change"),
        (ActedBy::Look, _) => format!("site seen by {by}"),
        (ActedBy::Clinical, Kind::Culture) => format!("culture taken by {by}"),
        (ActedBy::Remedy, Kind::Change) => format!("dressing changed by {by}"),
        (_, kind) => format!("{kind} recorded by {by}"),
    }
}

/// How a contact ended, as a nurse says it.
pub(crate) fn outcome(outcome: ContactOutcome) -> &'static str {
    match outcome {
        ContactOutcome::WillChange => "will change the dressing",
        ContactOutcome::ComingIn => "coming in",
        ContactOutcome::Advised => "advised",
        ContactOutcome::Escalated => "handed on to a clinician",
        ContactOutcome::SupportEnded => "reported that support has ended",
        ContactOutcome::NoAnswer => "no answer",
        ContactOutcome::Other => "other",
    }
}

/// The water of a shower record: a swim is no shower.
pub(crate) fn water(water: Option<Water>) -> &'static str {
    match water {
        Some(Water::Bath) => "bath",
        Some(Water::Pool) => "swim",
        Some(Water::Other) => "water",
        Some(Water::Shower) | None => "shower",
    }
}

/// A band of a rubric, as a nurse says it; a program's own band keeps its name.
pub(crate) fn band(band: &str) -> String {
    match band {
        "none-noted" => "no findings recorded".to_owned(),
        UNDETERMINED => "incomplete".to_owned(),
        band => visible(band),
    }
}

/// A field of the site, as a nurse says it.
pub(crate) fn field(field: SiteField) -> &'static str {
    match field {
        SiteField::Drainage => "drainage",
        SiteField::Amount => "amount",
        SiteField::RednessMm => "redness",
        SiteField::Swelling => "swelling",
        SiteField::CrustMm => "crust",
        SiteField::Pain => "pain on pressure",
        SiteField::Odor => "odor",
        SiteField::Warmth => "warmth",
        SiteField::Overgranulation => "overgranulation",
        SiteField::Bleeding => "bleeding",
        SiteField::TemperatureC => "temperature",
    }
}

/// A finding of a field, with its unit: "12 mm", "101.1 °F (38.4 °C)", "along the tunnel", "pus".
pub(crate) fn finding(field: SiteField, finding: Finding) -> String {
    match (field, finding) {
        (SiteField::TemperatureC, Finding::Measure(celsius)) => temperature(celsius),
        (_, Finding::Measure(0.0)) => "none".to_owned(),
        (_, Finding::Measure(number)) => format!("{number} mm"),
        (_, Finding::Flag(flag)) => if flag { "yes" } else { "none" }.to_owned(),
        (SiteField::Swelling, Finding::Word("exit")) => "at the exit".to_owned(),
        (SiteField::Swelling, Finding::Word("tunnel")) => "along the tunnel".to_owned(),
        (_, Finding::Word("purulent")) => "pus".to_owned(),
        (_, Finding::Word(word)) => word.replace('-', " "),
    }
}

/// The way by which facts reached the records, where they were not seen by the writer or by whoever is named.
pub(crate) fn source(source: Source) -> Option<&'static str> {
    match source {
        Source::Seen => None,
        Source::Told => Some("reported"),
        Source::Log => Some("from the household's log"),
        Source::Image => Some("from a picture"),
    }
}

/// The state of a patient in the census.
pub(crate) fn state(state: State) -> &'static str {
    match state {
        State::Unusable => "unreadable",
        State::Overdue => "overdue",
        State::Due => "due today",
        State::Upcoming => "later",
        State::AwaitingLog => "waiting for log",
        State::None => "nothing due",
    }
}

/// An anchor, as it was last reported.
pub(crate) fn anchor(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::InPlace => "anchor in place",
        Anchor::Loose => "anchor loose",
        Anchor::Absent => "anchor absent",
    }
}

/// A treatment.
pub(crate) fn remedy(remedy: Remedy) -> &'static str {
    match remedy {
        Remedy::OralAntibiotic => "oral antibiotic",
        Remedy::IntravenousAntibiotic => "intravenous antibiotic",
        Remedy::LongTermSuppression => "long-term suppression",
        Remedy::Debridement => "debridement",
        Remedy::Relocation => "relocation of the exit",
        Remedy::Other => "other treatment",
    }
}

/// The findings of a site record that are not normal: `redness 12 mm, serous drainage, pain slight`.
pub(super) fn findings(site: &Site) -> Vec<String> {
    let drainage = site.drainage.filter(|drainage| *drainage != Drainage::None).map(|drainage| {
        let amount = site.amount.map(|amount| format!("{amount} ")).unwrap_or_default();
        if drainage == Drainage::Purulent { format!("{amount}pus") } else { format!("{amount}{drainage} drainage") }
    });
    let mm = |mm: Option<f64>, what: &str| mm.filter(|mm| *mm > 0.0).map(|mm| format!("{what} {mm} mm"));
    let swelling = match site.swelling {
        Some(Swelling::Exit) => Some("swelling at the exit".to_owned()),
        Some(Swelling::Tunnel) => Some("swelling along the tunnel".to_owned()),
        Some(Swelling::None) | None => None,
    };
    let flag = |is: Option<bool>, what: &str| (is == Some(true)).then(|| what.to_owned());
    let all = [
        drainage,
        mm(site.redness_mm, "redness"),
        swelling,
        site.pain.filter(|pain| *pain != Pain::None).map(|pain| format!("pain {pain}")),
        flag(site.odor, "odor"),
        flag(site.warmth, "warmth"),
        flag(site.overgranulation, "overgranulation"),
        flag(site.bleeding, "bleeding"),
        mm(site.crust_mm, "crust"),
    ];
    all.into_iter().flatten().collect()
}

/// An observation that shows a signal.
pub(super) fn observation(observation: &Observation, today: NaiveDate) -> String {
    use Observation::*;
    let day = |day: &NaiveDate| short_day(*day, today);
    match observation {
        Pus => "pus".to_owned(),
        Score { least, most, .. } if least == most => format!("score {least}"),
        Score { least, most, .. } => format!("score {least} to {most}"),
        ScoreBesideGrowth { points } => format!("score {points} with culture growth"),
        Growth => "culture growth".to_owned(),
        Redness { mm } => format!("redness {mm} mm"),
        SwellingTunnel => "swelling along the tunnel".to_owned(),
        Overgranulation => "overgranulation".to_owned(),
        WarmthOrOdor { warmth: true, odor: true } => "warmth and odor".to_owned(),
        WarmthOrOdor { warmth: true, .. } => "warmth".to_owned(),
        WarmthOrOdor { .. } => "odor".to_owned(),
        BledAtPull => "bleeding at a pull".to_owned(),
        Bleeding => "bleeding".to_owned(),
        Temperature { celsius } => format!("temperature {}", temperature(*celsius)),
        InWater { water: kind } => water(Some(*kind)).to_owned(),
        SignedOff { signed, needed } => format!("home, {signed} of {needed} caregivers signed off"),
        ShowerAgainstOrder => "shower against the order".to_owned(),
        Pulled { mechanism: Some(how) } => format!("line pulled: {}", how.to_string().replace('-', " ")),
        Pulled { mechanism: None } => "line pulled".to_owned(),
        Anchor(state) => anchor(*state).to_owned(),
        Dressing(dressing) => format!("dressing {dressing}"),
        Grew { specimen, organisms } => {
            let organisms = visible(&organisms.join(", "));
            let of = if organisms.is_empty() { String::new() } else { format!(" of {organisms}") };
            format!("{} culture: growth{of}", specimen.to_string().replace('-', " "))
        }
        ScoreUp { now, then, on } => format!("score {now}, up from {then} on {}", day(on)),
        RednessUp { now, then } => format!("redness {now} mm, up from {then} mm"),
        DrainageMore { drainage, amount } => {
            let amount = amount.map(|amount| format!("{amount} ")).unwrap_or_default();
            let what = if *drainage == Drainage::Purulent { "pus".to_owned() } else { format!("{drainage} drainage") };
            format!("{amount}{what}, more than before")
        }
        DrainageSince(since) => format!("drainage in every record since {}", day(since)),
        Missed(days) => {
            let days: Vec<String> = days.iter().map(day).collect();
            format!("no change on file for {}", days.join(", "))
        }
        LogExpected(expected) => format!("log expected {}", day(expected)),
        NoLookSince { day: since, .. } => format!("no full look by staff since {}", day(since)),
        NoResult(taken) => format!("culture of {} without a result", day(taken)),
        OftenFound { count: found, of, found: what } => {
            format!("{} in {} of the last {}", often(*what), found, count(*of as i64, "change"))
        }
        FoundAgain(what) => format!("{} again", often(*what)),
        ShowerOnPod { pod, first } => format!("shower on POD {pod}, before POD {first}"),
        ShowerOver(Some(dressing)) => format!("shower with the dressing {dressing}"),
        ShowerOver(None) => "shower, dressing not checked before it".to_owned(),
        ChangeBy(person) => format!("change by {}, not signed off", visible(person)),
        ElsewhereSince(since) => format!("away since {}", day(since)),
    }
}

fn often(found: RecurringFinding) -> &'static str {
    match found {
        RecurringFinding::AnchorOff => "anchor not secured",
        RecurringFinding::DressingOpen => "dressing found open",
    }
}
