//! The glossary in code: one table of words per type of key in the records.

mod act;
mod call;
mod ends;
pub(crate) mod question;
mod worse;

use chrono::NaiveDate;

use super::day::short_day;
use crate::event::{
    ActedBy, Anchor, ContactOutcome, Drainage, Event, Finding, Kind, Pain, Remedy, Signal, Site, SiteField, Source,
    Subject, Swelling, Water, each_signal,
};
use crate::policy::UNDETERMINED;
use crate::report::due::FindingInNote;
use crate::schedule::State;
use crate::signal::{Acted, Answered, Observation, RecurringFinding, Review, Urgency};
pub(crate) use crate::text::temperature;
use crate::text::{count, visible};
use crate::word::Word;
pub(crate) use act::{act, and_told, untold};
pub(crate) use call::{and_treatment_ended, call, contacts, until};
pub(crate) use ends::{ends_when, improved};
pub(crate) use worse::{worse, worse_since};

/// Names the subject of a contact.
pub(crate) fn subject(subject: Subject) -> &'static str {
    match subject {
        Subject::Overdue => "overdue change",
        Subject::Log => "log",
        Subject::Supply => "supplies",
        Subject::Other => "something else",
        Subject::Signals => "all open signals",
        Subject::Signal(named) => signal(named),
    }
}

macro_rules! names {
    ($($(#[$about:meta])* $signal:ident = $name:literal $words:literal by $file:ident :: $rule:ident
        $(, $threshold:ident $key:literal from $least:literal to $most:literal)*;)+) => {
        /// Names a signal in a nurse's words.
        pub(crate) fn signal(signal: Signal) -> &'static str {
            match signal { $(Signal::$signal => $words,)+ }
        }
    };
}
each_signal!(names);

/// Formats the number of open signals of one urgency: `4 signals need review today (2 acted on, 2 not)`.
pub(crate) fn review(review: Review, urgency: Urgency) -> String {
    let need = if review.open == 1 { "needs" } else { "need" };
    let when = if urgency == Urgency::Today { "today" } else { "this week" };
    let acted_on = match review.acted_on {
        0 => String::new(),
        all if all == review.open => " (acted on)".to_owned(),
        some => format!(" ({some} acted on, {} not)", review.open - some),
    };
    format!("{} {need} review {when}{acted_on}", count(review.open as i64, "signal"))
}

/// Describes the records that count as acting on a signal.
pub(crate) fn acted_on_by(answered: Answered) -> &'static str {
    match answered {
        Answered::HearAgain => "a contact about it with a time for the next report",
        Answered::Remedy => "only the record that ends the signal",
        Answered::HandOver => "a sign-off, a contact with a clinician about it, or a visit or escalation agreed",
        Answered::Clinician => "the result, or a contact with a clinician about it",
        Answered::Act => {
            "a look by staff, a culture, an infection or treatment record, a contact with a clinician about it, or a visit or escalation agreed"
        }
        Answered::Contact => "a contact about it, a look by staff, a culture, an infection or treatment record",
    }
}

/// Names the outcome of a contact, with the person to whom it was escalated: `escalated to md-3`.
pub(crate) fn outcome_to(outcome: ContactOutcome, to: Option<&str>) -> String {
    to.map_or_else(|| self::outcome(outcome).to_owned(), |to| format!("escalated to {}", visible(to)))
}

/// Describes the record that acted on a signal. A dressing change by staff counts as a look at the site, or as the end of the
/// signal.
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

/// Names the outcome of a contact.
pub(crate) fn outcome(outcome: ContactOutcome) -> &'static str {
    match outcome {
        ContactOutcome::WillChange => "will change the dressing",
        ContactOutcome::ComingIn => "coming in",
        ContactOutcome::Advised => "advised",
        ContactOutcome::Escalated => "escalated to a clinician",
        ContactOutcome::SupportEnded => "reported that support has ended",
        ContactOutcome::NoAnswer => "no answer",
        ContactOutcome::Other => "other",
    }
}

/// Names the kind of water of a shower record: a swim is not a shower.
pub(crate) fn water(water: Option<Water>) -> &'static str {
    match water {
        Some(Water::Bath) => "bath",
        Some(Water::Pool) => "swim",
        Some(Water::Other) => "water",
        Some(Water::Shower) | None => "shower",
    }
}

/// Names a key of a closed list as a choice in a question; the key may be typed as well.
pub(crate) fn choice(key: &str) -> String {
    match key {
        "purulent" => "pus",
        "seen" => "seen by staff",
        "told" => "reported",
        "log" => "from a log",
        "image" => "from a picture",
        "exit" => "at the exit",
        "tunnel" => "along the tunnel",
        "every-days" => "every so many days",
        "after-shower" => "after a shower",
        key => {
            return ContactOutcome::from_word(key).map_or_else(|| key.replace('-', " "), |key| outcome(key).to_owned());
        }
    }
    .to_owned()
}

/// Names a band of a rubric; a program's own band keeps its name. A total of 0 is not called a site without findings if there
/// are some that the rubric does not score.
pub(crate) fn band(band: &str, unscored: &[SiteField]) -> String {
    match band {
        "none-noted" if !unscored.is_empty() => {
            let found: Vec<&str> = unscored.iter().copied().map(field).collect();
            format!("{} not scored", found.join(", "))
        }
        "none-noted" => "no findings recorded".to_owned(),
        UNDETERMINED => "incomplete".to_owned(),
        band => visible(band),
    }
}

/// Names a field of the site.
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

/// Says that signals of these patients may be open that are not shown, since a file of theirs or the policy cannot be read.
pub(crate) fn not_all_known(patients: &[String]) -> String {
    format!("Not all signals are known for {}: run `exitsite check`", patients.join(", "))
}

/// Formats a finding of a field, with its unit: "12 mm", "101.1 °F (38.4 °C)", "along the tunnel", "pus".
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

/// Names the source of a record; `None` if the named person saw it.
pub(crate) fn source(source: Source) -> Option<&'static str> {
    match source {
        Source::Seen => None,
        Source::Told => Some("reported"),
        Source::Log => Some("from the household's log"),
        Source::Image => Some("from a picture"),
    }
}

/// Names the source of an event after its author; nothing for a contact, which was neither seen nor reported.
pub(crate) fn how_known(event: &Event) -> &'static str {
    match (event.name.kind, event.source) {
        (Kind::Contact, _) => "",
        (_, Source::Seen) => ", seen",
        (_, Source::Told) => ", reported",
        (_, Source::Log) => ", from a log",
        (_, Source::Image) => ", from a picture",
    }
}

/// Names a finding of a note: `smell`, `a temperature`, `alarm, no clinician told`.
pub(crate) fn noted(noted: &FindingInNote) -> String {
    let left = if noted.finding.is_for_a_clinician() { ", no clinician told" } else { "" };
    format!("{}{left}", noted_word(&noted.word))
}

/// Names a finding of a note by its word: `smell`, `a temperature`.
pub(crate) fn noted_word(word: &str) -> String {
    match word {
        "t" | "temp" | "tmax" => "a temperature".to_owned(),
        word => visible(word),
    }
}

/// Names the state of a patient in the census.
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

/// Names the last reported state of an anchor.
pub(crate) fn anchor(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::InPlace => "anchor in place",
        Anchor::Loose => "anchor loose",
        Anchor::Absent => "anchor absent",
    }
}

/// Names a treatment.
pub(crate) fn remedy(remedy: Remedy) -> &'static str {
    match remedy {
        Remedy::OralAntibiotic => "oral antibiotic",
        Remedy::IntravenousAntibiotic => "intravenous antibiotic",
        Remedy::LongTermSuppression => "long-term suppression",
        Remedy::Debridement => "debridement",
        Remedy::Relocation => "exit-site relocation",
        Remedy::Other => "other treatment",
    }
}

/// Lists the abnormal findings of a site record: `redness 12 mm, serous drainage, pain slight`.
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

/// Returns the points of a score: `5`, or `3 to 9` if an item was not assessed.
pub(super) fn points_between(least: i64, most: i64) -> String {
    if least == most { least.to_string() } else { format!("{least} to {most}") }
}

/// Describes an observation that shows a signal.
pub(super) fn observation(observation: &Observation, today: NaiveDate) -> String {
    use Observation::*;
    let day = |day: &NaiveDate| short_day(*day, today);
    match observation {
        Pus { amount: Some(amount) } => format!("{amount} pus"),
        Pus { amount: None } => "pus".to_owned(),
        Score { least, most, .. } => format!("score {}", points_between(*least, *most)),
        ScoreBesideGrowth { points, most } => format!("score {} and culture growth", points_between(*points, *most)),
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
        ShowerAgainstOrder => "shower although an order says no showers".to_owned(),
        Pulled { mechanism: Some(how) } => format!("line pulled: {}", how.to_string().replace('-', " ")),
        Pulled { mechanism: None } => "line pulled".to_owned(),
        Anchor(state) => anchor(*state).to_owned(),
        Dressing(dressing) => format!("dressing {dressing}"),
        Grew { specimen, organisms, result_on, taken_on } => {
            let organisms = visible(&organisms.join(", "));
            let of = if organisms.is_empty() { String::new() } else { format!(" of {organisms}") };
            let specimen = specimen.to_string().replace('-', " ");
            format!("{specimen} culture: growth{of}, result of {} (culture of {})", day(result_on), day(taken_on))
        }
        ScoreUp { now, most, then, on } if now == most => format!("score {now}, up from {then} on {}", day(on)),
        ScoreUp { now, most, then, on } => {
            format!("score {now} to {most}, same items up from {then} on {} to {now}", day(on))
        }
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
        NoResult(taken) => format!("culture of {} pending", day(taken)),
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
        RecurringFinding::DressingOpen => "dressing not intact",
    }
}
