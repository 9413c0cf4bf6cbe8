//! The reason for the state of a line of the checklist, as values. Its text is for scripts; `view` has the words for people.

use std::collections::BTreeMap;
use std::fmt::{Display, Formatter, Result};

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::{Serialize, Serializer};

use crate::event::Signal;
use crate::supply::FirstDays;
use crate::teaching::Failed;
use crate::text::count;
use crate::word::Word;

/// The reason for the state of a line.
#[derive(Debug, Clone, PartialEq, Eq, JsonSchema)]
#[schemars(with = "String")]
pub enum Reason {
    /// patient.toml or policy.toml cannot be used.
    Unreadable,
    /// Sign-offs are not known.
    SignOffsNotKnown,
    /// The persons signed off on the day home.
    SignedOff {
        /// The day home.
        home: NaiveDate,
        /// Their codes.
        signed: Vec<String>,
        /// The number of caregivers needed.
        needed: i64,
        /// The persons whose sign-off is suspended, with the demonstration that failed.
        suspended: Vec<(String, Failed)>,
    },
    /// Supplies are not known.
    SuppliesNotKnown,
    /// Each item.
    Supplies(Vec<Needed>),
    /// The signals of today.
    Signals {
        /// Open ones.
        open: Vec<Signal>,
        /// True if all are known.
        is_known: bool,
        /// Those that the policy has turned off, with the reason.
        off: BTreeMap<String, String>,
    },
}

/// An item, and what the first days at home need of it.
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
            Reason::SignOffsNotKnown => out.write_str("who is signed off is not known"),
            Reason::SignedOff { home, signed, needed, suspended } => {
                let who = if signed.is_empty() { "nobody".to_owned() } else { signed.join(", ") };
                write!(out, "on {home} {who}, needed {} or the patient", count(*needed, "caregiver"))?;
                suspended.iter().try_for_each(|(code, failed)| {
                    let steps = failed.steps.join(", ");
                    write!(out, "; {code} is suspended: {steps} missed or prompted on {}", failed.on)
                })
            }
            Reason::SuppliesNotKnown => out.write_str("what is on hand is not known"),
            Reason::Supplies(needed) if needed.is_empty() => out.write_str("the policy names none"),
            Reason::Supplies(needed) => {
                let each: Vec<String> = needed.iter().map(Needed::to_string).collect();
                out.write_str(&each.join("; "))
            }
            Reason::Signals { open, is_known, off } => {
                let names: Vec<&str> = open.iter().map(|signal| signal.word()).collect();
                match (names.is_empty(), is_known) {
                    (false, _) => write!(out, "open: {}", names.join(", "))?,
                    (true, true) => out.write_str("none is open")?,
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
