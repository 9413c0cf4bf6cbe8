//! The reason for the state of a checklist line, as values. Its text is for scripts; `view` has the words for people.

use std::collections::BTreeMap;
use std::fmt::{Display, Formatter, Result};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::day::WallTime;
use crate::event::{Signal, rfc3339};
use crate::schedule::Because;
use crate::supply::FirstDays;
use crate::teaching::Failed;
use crate::text::count;
use crate::word::Word;

/// The reason for the state of a checklist line.
#[derive(Debug, Clone, PartialEq, Eq, JsonSchema)]
#[schemars(with = "String")]
pub enum Reason {
    /// patient.toml or policy.toml is invalid.
    Unreadable,
    /// Sign-offs are not known.
    SignOffsNotKnown,
    /// Persons signed off on the day of the move home.
    SignedOff {
        /// The day of the move home.
        home: NaiveDate,
        /// The codes of the persons signed off.
        signed: Vec<String>,
        /// The number of caregivers needed.
        needed: i64,
        /// Persons whose sign-off is suspended, with the failed demonstration.
        suspended: Vec<(String, Failed)>,
    },
    /// Supplies are not known.
    SuppliesNotKnown,
    /// The items.
    Supplies(Vec<Needed>),
    /// The signals of today.
    Signals {
        /// Open signals.
        open: Vec<Signal>,
        /// True if all signals are known.
        is_known: bool,
        /// Signals turned off by the policy, with the reason.
        off: BTreeMap<String, String>,
    },
    /// The next change is not known.
    ScheduleNotKnown,
    /// Changes overdue, or required after a shower or damage; empty if there are none.
    Changes(Vec<OpenChange>),
}

/// A change that is overdue, or required after a shower or damage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenChange {
    /// The exit site.
    pub exit: String,
    /// The cause.
    pub because: Because,
    /// The deadline.
    pub deadline: WallTime,
    /// Completed hours since the deadline, if it has passed.
    pub hours_overdue: Option<i64>,
}

impl Display for OpenChange {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self.hours_overdue {
            Some(hours) => write!(out, "exit {} overdue for {}", self.exit, count(hours, "hour")),
            None => write!(out, "exit {} due by {}", self.exit, rfc3339(&self.deadline.0)),
        }
    }
}

/// An item, with the amount needed for the first days at home.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Needed {
    /// The item.
    pub item: String,
    /// The stock; `None` if it was never counted.
    pub on_hand: Option<i64>,
    /// The first days at home.
    pub first: FirstDays,
}

impl Display for Needed {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        let FirstDays { from, to, needed } = self.first;
        match self.on_hand {
            Some(left) => write!(out, "{} {left} on hand, {needed} needed from {from} to {to}", self.item),
            None => write!(out, "{} never counted, {needed} needed from {from} to {to}", self.item),
        }
    }
}

impl Display for Reason {
    fn fmt(&self, out: &mut Formatter<'_>) -> Result {
        match self {
            Reason::Unreadable => out.write_str("patient.toml or policy.toml cannot be used"),
            Reason::SignOffsNotKnown => out.write_str("sign-offs are not known"),
            Reason::SignedOff { home, signed, needed, suspended } => {
                let who = if signed.is_empty() { "nobody".to_owned() } else { signed.join(", ") };
                write!(out, "on {home} {who}, needed {} or the patient", count(*needed, "caregiver"))?;
                suspended.iter().try_for_each(|(code, failed)| {
                    let steps = failed.steps.join(", ");
                    write!(out, "; {code} is suspended: {steps} missed or prompted on {}", failed.on)
                })
            }
            Reason::ScheduleNotKnown => out.write_str("the next change is not known"),
            Reason::Changes(open) if open.is_empty() => out.write_str("no change is overdue"),
            Reason::Changes(open) => {
                let each: Vec<String> = open.iter().map(OpenChange::to_string).collect();
                out.write_str(&each.join("; "))
            }
            Reason::SuppliesNotKnown => out.write_str("supplies are not known"),
            Reason::Supplies(needed) if needed.is_empty() => out.write_str("the policy lists no supplies"),
            Reason::Supplies(needed) => {
                let each: Vec<String> = needed.iter().map(Needed::to_string).collect();
                out.write_str(&each.join("; "))
            }
            Reason::Signals { open, is_known, off } => {
                let names: Vec<&str> = open.iter().map(|signal| signal.word()).collect();
                match (names.is_empty(), is_known) {
                    (false, _) => write!(out, "open: {}", names.join(", "))?,
                    (true, true) => out.write_str("no signal of today is open")?,
                    (true, false) => out.write_str("not all signals are known")?,
                }
                let off: Vec<String> = off.iter().map(|(name, why)| format!("{name} ({why})")).collect();
                if off.is_empty() { Ok(()) } else { write!(out, "; turned off by the policy: {}", off.join(", ")) }
            }
        }
    }
}

impl Serialize for Reason {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
