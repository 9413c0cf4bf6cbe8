//! The words for what shows a signal.

use chrono::NaiveDate;

use super::day::short_day;
use super::words;
use crate::signal::{Found, Observation};
use crate::word::Word;

/// The fact that shows a signal, as a nurse says it beside `today`.
pub(super) fn observed(what: &Observation, today: NaiveDate) -> String {
    use Observation::*;
    let day = |day: &NaiveDate| short_day(*day, today);
    match what {
        Pus => "purulent drainage".to_owned(),
        Score { least, most, band } if least == most => format!("score {least}, {}", words::band(band)),
        Score { least, most, band } => format!("score {least} to {most}, {}", words::band(band)),
        ScoreBesideGrowth { points } => format!("score {points} near a culture that grew"),
        Growth => "culture growth".to_owned(),
        Redness { mm } => format!("redness {mm} mm"),
        SwellingTunnel => "swelling along the tunnel".to_owned(),
        Overgranulation => "overgranulation".to_owned(),
        WarmthOrOdor { warmth: true, odor: true } => "warmth and odor".to_owned(),
        WarmthOrOdor { warmth: true, .. } => "warmth".to_owned(),
        WarmthOrOdor { .. } => "odor".to_owned(),
        BledAtPull => "site bled at a pull".to_owned(),
        Bleeding => "bleeding".to_owned(),
        Temperature { celsius } => format!("temperature {celsius} °C"),
        InWater { water } => format!("in the water: {}", words::water(Some(*water))),
        SignedOff { signed, needed } => format!("home with {signed} of {needed} caregivers signed off"),
        ShowerAgainstOrder => "shower against an order of no showers".to_owned(),
        Pulled { mechanism: Some(how) } => format!("line pulled: {}", plain(how.word())),
        Pulled { mechanism: None } => "line pulled".to_owned(),
        Anchor(anchor) => format!("anchor {}", plain(anchor.word())),
        Dressing(dressing) => format!("dressing {}", dressing.word()),
        Grew { specimen, organisms } if organisms.is_empty() => format!("{} culture grew", plain(specimen.word())),
        Grew { specimen, organisms } => format!("{} culture grew {}", plain(specimen.word()), organisms.join(", ")),
        ScoreUp { now, then, on } => format!("score {now}, up from {then} on {}", day(on)),
        RednessUp { now, then } => format!("redness {now} mm, up from {then} mm"),
        DrainageMore { drainage, amount: Some(amount) } => {
            format!("{} {} drainage, more than before", amount.word(), drainage.word())
        }
        DrainageMore { drainage, amount: None } => format!("{} drainage, more than before", drainage.word()),
        DrainageSince(first) => format!("drainage in every record since {}", day(first)),
        Missed(days) => format!("changes missed: {}", days.iter().map(day).collect::<Vec<_>>().join(", ")),
        LogExpected(on) => format!("log expected {}", day(on)),
        NoLookSince { day: last, is_look: true } => format!("last full look by staff {}", day(last)),
        NoLookSince { day: first, is_look: false } => format!("no full look by staff on file since {}", day(first)),
        NoResult(on) => format!("culture of {} without a result", day(on)),
        OftenFound { count, of, found: what } => format!("{} in {count} of the last {of} changes", found(*what)),
        FoundAgain(what) => format!("{} again", found(*what)),
        ShowerOnPod { pod, first } => format!("shower on POD {pod}, before POD {first}"),
        ShowerOver(Some(dressing)) => format!("shower with the dressing {}", dressing.word()),
        ShowerOver(None) => "shower, dressing before it not recorded".to_owned(),
        ChangeBy(person) => format!("change by {person}, not signed off that day"),
        ElsewhereSince(first) => format!("away since {}", day(first)),
    }
}

fn found(found: Found) -> &'static str {
    match found {
        Found::AnchorOff => "anchor not secured",
        Found::DressingOpen => "dressing found open",
    }
}

fn plain(word: &str) -> String {
    word.replace('-', " ")
}
