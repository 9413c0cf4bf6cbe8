//! The facts that show a signal, as values. `Display` gives the text of the reports, for scripts; `view` has the words
//! for people.

use std::fmt::{Display, Formatter, Result};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::event::{Amount, Anchor, Drainage, Dressing, Mechanism, Specimen, Water};

/// A fact that shows a signal, from a record or from the passing of days.
#[derive(Debug, Clone, PartialEq, JsonSchema)]
#[schemars(with = "String")]
#[allow(missing_docs, reason = "a variant's line documents its fields")]
pub enum Observation {
    /// Pus, and its amount.
    Pus { amount: Option<Amount> },
    /// A score in the worst band: minimum and maximum points, equal if the score is complete.
    Score { least: i64, most: i64, band: String },
    /// A score near a culture that grew: minimum and maximum points.
    ScoreBesideGrowth { points: i64, most: i64 },
    /// The culture near a score.
    Growth,
    /// Redness in mm.
    Redness { mm: f64 },
    /// Swelling along the tunnel.
    SwellingTunnel,
    /// Overgranulation.
    Overgranulation,
    /// Warmth, odor or both.
    WarmthOrOdor { warmth: bool, odor: bool },
    /// Bleeding after a pull.
    BledAtPull,
    /// Bleeding.
    Bleeding,
    /// A temperature in °C.
    Temperature { celsius: f64 },
    /// Immersion of the site.
    InWater { water: Water },
    /// Caregivers signed off on the day home, and the number required.
    SignedOff { signed: usize, needed: i64 },
    /// A shower against an order.
    ShowerAgainstOrder,
    /// A pull.
    Pulled { mechanism: Option<Mechanism> },
    /// The anchor.
    Anchor(Anchor),
    /// The dressing.
    Dressing(Dressing),
    /// Culture growth: the days of the result and of the culture.
    Grew { specimen: Specimen, organisms: Vec<String>, result_on: NaiveDate, taken_on: NaiveDate },
    /// Points of the items assessed in both records, and those of the earlier record with its day; `most` is the maximum of the
    /// later score, equal to `now` if that score is complete.
    ScoreUp { now: i64, most: i64, then: i64, on: NaiveDate },
    /// Redness larger than before.
    RednessUp { now: f64, then: f64 },
    /// More drainage than before.
    DrainageMore { drainage: Drainage, amount: Option<Amount> },
    /// Drainage in every record since a day.
    DrainageSince(NaiveDate),
    /// Missed changes.
    Missed(Vec<NaiveDate>),
    /// The day on which a log was expected.
    LogExpected(NaiveDate),
    /// The day of the last full look by staff, or the day since which there is none on file.
    NoLookSince { day: NaiveDate, is_look: bool },
    /// The day of a culture with a pending result.
    NoResult(NaiveDate),
    /// The number of recent changes with the finding.
    OftenFound { count: i64, of: usize, found: RecurringFinding },
    /// Another change with the finding.
    FoundAgain(RecurringFinding),
    /// A shower on a post-operative day before the first allowed one.
    ShowerOnPod { pod: i64, first: i64 },
    /// A shower over a dressing; `None` if its state was not recorded.
    ShowerOver(Option<Dressing>),
    /// A change by a person without a sign-off.
    ChangeBy(String),
    /// Elsewhere since a day.
    ElsewhereSince(NaiveDate),
}

/// A finding that recurs at changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RecurringFinding {
    /// Anchor loose or absent.
    AnchorOff,
    /// Dressing not intact.
    DressingOpen,
}

impl Display for RecurringFinding {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        out.write_str(match self {
            RecurringFinding::AnchorOff => "found the anchor off",
            RecurringFinding::DressingOpen => "found the dressing open",
        })
    }
}

impl Display for Observation {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        use Observation::*;
        match self {
            Pus { .. } => out.write_str("drainage purulent"),
            Score { least, most, band } if least == most => write!(out, "score {least}, {band}"),
            Score { least, most, band } => write!(out, "score {least} to {most}, {band}"),
            ScoreBesideGrowth { points, most } if points == most => write!(out, "score {points} beside growth"),
            ScoreBesideGrowth { points, most } => write!(out, "score {points} to {most} beside growth"),
            Growth => out.write_str("growth"),
            Redness { mm } => write!(out, "redness {mm} mm"),
            SwellingTunnel => out.write_str("swelling along the tunnel"),
            Overgranulation => out.write_str("overgranulation"),
            WarmthOrOdor { warmth: true, odor: true } => out.write_str("warmth and odor"),
            WarmthOrOdor { warmth: true, .. } => out.write_str("warmth"),
            WarmthOrOdor { .. } => out.write_str("odor"),
            BledAtPull => out.write_str("the site bled at a pull"),
            Bleeding => out.write_str("bleeding"),
            Temperature { celsius } => write!(out, "{celsius} °C"),
            InWater { water } => write!(out, "in the water: {water}"),
            SignedOff { signed, needed } => {
                write!(out, "home with {signed} of {needed} caregivers signed off, and not the patient")
            }
            ShowerAgainstOrder => out.write_str("a shower, and an order says no showers"),
            Pulled { mechanism: Some(how) } => write!(out, "pulled: {how}"),
            Pulled { mechanism: None } => out.write_str("the line was pulled"),
            Anchor(anchor) => write!(out, "anchor {anchor}"),
            Dressing(dressing) => write!(out, "dressing {dressing}"),
            Grew { specimen, organisms, .. } if organisms.is_empty() => write!(out, "{specimen} culture grew"),
            Grew { specimen, organisms, .. } => write!(out, "{specimen} culture grew {}", organisms.join(", ")),
            ScoreUp { now, most, then, on } if now == most => write!(out, "{now} points, up from {then} on {on}"),
            ScoreUp { now, most, then, on } => {
                write!(out, "{now} to {most} points, the same items up from {then} on {on} to {now}")
            }
            RednessUp { now, then } => write!(out, "redness {now} mm, up from {then} mm"),
            DrainageMore { drainage, amount: Some(amount) } => {
                write!(out, "drainage {amount} {drainage}, more than before")
            }
            DrainageMore { drainage, amount: None } => write!(out, "drainage {drainage}, more than before"),
            DrainageSince(day) => write!(out, "drainage in every record since {day}"),
            Missed(days) => {
                let days: Vec<String> = days.iter().map(NaiveDate::to_string).collect();
                write!(out, "missed {}", days.join(", "))
            }
            LogExpected(day) => write!(out, "a log was expected on {day}"),
            NoLookSince { day, is_look: true } => write!(out, "no full look by staff since {day}"),
            NoLookSince { day, is_look: false } => write!(out, "no full look by staff on file since {day}"),
            NoResult(day) => write!(out, "no result of the culture of {day}"),
            OftenFound { count, of, found } => write!(out, "{count} of the last {of} changes {found}"),
            FoundAgain(found) => write!(out, "this change {found}"),
            ShowerOnPod { pod, first } => write!(out, "shower on POD {pod}, before POD {first}"),
            ShowerOver(Some(dressing)) => write!(out, "shower with the dressing {dressing}"),
            ShowerOver(None) => out.write_str("shower, and nobody said how the dressing was before it"),
            ChangeBy(person) => write!(out, "change by {person}, who was not signed off that day"),
            ElsewhereSince(day) => write!(out, "elsewhere since {day}"),
        }
    }
}

impl Serialize for Observation {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
