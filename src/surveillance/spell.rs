//! One patient's time under observation since the implant, and what ended it.

/// What ended a patient's time under observation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    /// A first infection.
    Infection,
    /// Death.
    Death,
    /// A transplant.
    Transplant,
    /// Recovery.
    Recovery,
    /// Nothing yet, or something that ends observation only.
    Censored,
}

/// Whole days since the implant, under observation from the beginning of day `from` to what happened on day `to`.
///
/// A patient is at risk on day t if `from` ≤ t ≤ `to`: who enters on a day can have an infection on it, and of ties the
/// infection comes before leaving. `from` is 0 for who was observed from the implant on; later is delayed entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spell {
    /// The first day under observation.
    pub from: i64,
    /// The last, on which it ended.
    pub to: i64,
    /// What ended it.
    pub end: End,
}
