//! The last days of each patient's records, and the states that the tool must then report on the morning in question.
//!
//! Left out on purpose: the course up to then, which is the diary's. The truth is computed from the faults planted
//! there.

use clap::ValueEnum;
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_chacha::ChaCha8Rng;

/// The kind of program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Kind {
    /// Nearly all is well: a morning list of a few rows
    Stable,
    /// As stable, but every household reports each change at once and none keeps a log
    Told,
    /// Trouble of every kind
    Mixed,
}

/// The situation in which a patient's records end, from none of note to each kind of trouble.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ending {
    ByLog,
    LogLate,
    Due,
    Upcoming,
    Ward,
    WardChangedEarly,
    FirstChange,
    Away,
    AwayLong,
    EndedThisMonth,
    EndedBefore,
    ShowerOpen,
    ShowerThisMorning,
    ShowerOrderUnknown,
    DamageOpen,
    IntervalOver,
    MissedTwice,
    BrokenPromise,
    VoidedLast,
    SiteTurning,
    TwoExits,
    Relocated,
    DailyOrder,
    WeekdayOrder,
    ReturnedToday,
    ReturnedYesterday,
    UnknownBefore,
    KnownBefore,
}

/// An ending with its share of a program and the states it allows.
pub(crate) struct Plan {
    pub(crate) ending: Ending,
    /// The name in the truth file.
    pub(crate) name: &'static str,
    /// The number of patients of 80, here in a stable program.
    stable: usize,
    mixed: usize,
    /// The number of days from the last change to the morning in question, if the ending fixes it.
    pub(crate) last_change: Option<i64>,
    /// The allowed pairs of state and reason.
    pub(crate) expected: &'static [(&'static str, &'static str)],
}

const fn plan(
    ending: Ending,
    name: &'static str,
    shares: (usize, usize),
    last_change: Option<i64>,
    expected: &'static [(&'static str, &'static str)],
) -> Plan {
    Plan { ending, name, stable: shares.0, mixed: shares.1, last_change, expected }
}

/// Every ending. The rest of a program gets the first; if each change is reported at once, the third and fourth
/// instead.
#[rustfmt::skip]
const PLANS: &[Plan] = &[
    plan(Ending::ByLog, "by-log", (0, 0), None, &[("awaiting-log", "interval"), ("upcoming", "interval")]),
    plan(Ending::LogLate, "log-late", (0, 3), None, &[("overdue", "log-late")]),
    plan(Ending::Due, "due", (3, 5), Some(2), &[("due", "interval")]),
    plan(Ending::Upcoming, "upcoming", (3, 5), Some(1), &[("upcoming", "interval")]),
    plan(Ending::Ward, "ward", (1, 3), None, &[("due", "interval")]),
    plan(Ending::WardChangedEarly, "ward-changed-early", (1, 1), None, &[("upcoming", "interval")]),
    plan(Ending::FirstChange, "first-change", (0, 1), None, &[("due", "first-change")]),
    plan(Ending::Away, "elsewhere", (1, 1), None, &[("none", "")]),
    plan(Ending::AwayLong, "elsewhere-long", (1, 2), None, &[("none", "")]),
    plan(Ending::EndedThisMonth, "ended-this-month", (1, 1), None, &[("none", "")]),
    plan(Ending::EndedBefore, "ended-before", (1, 3), None, &[("none", "")]),
    plan(Ending::ShowerOpen, "shower-without-change", (1, 2), Some(2), &[("overdue", "after-shower")]),
    plan(Ending::ShowerThisMorning, "shower-this-morning", (0, 1), Some(1), &[("due", "after-shower")]),
    plan(Ending::ShowerOrderUnknown, "shower-order-unknown", (0, 1), Some(1), &[("overdue", "after-shower")]),
    plan(Ending::DamageOpen, "wet-without-change", (0, 2), Some(1), &[("overdue", "damage")]),
    plan(Ending::IntervalOver, "interval-over", (1, 3), Some(3), &[("overdue", "interval")]),
    plan(Ending::MissedTwice, "missed-twice", (0, 2), Some(7), &[("overdue", "interval")]),
    plan(Ending::BrokenPromise, "broken-promise", (0, 2), Some(4), &[("overdue", "interval")]),
    plan(Ending::VoidedLast, "last-change-voided", (0, 1), Some(4), &[("overdue", "interval")]),
    plan(Ending::SiteTurning, "site-turning", (0, 3), Some(1), &[("upcoming", "interval")]),
    plan(Ending::TwoExits, "two-exits", (0, 2), Some(2), &[("due", "interval")]),
    plan(Ending::Relocated, "relocated", (0, 2), Some(2), &[("due", "interval")]),
    plan(Ending::DailyOrder, "daily-order", (0, 2), Some(1), &[("due", "interval")]),
    plan(Ending::WeekdayOrder, "weekday-order", (0, 2), None, &[("due", "interval"), ("upcoming", "interval")]),
    plan(Ending::ReturnedToday, "returned-today", (0, 1), None, &[("due", "return")]),
    plan(Ending::ReturnedYesterday, "returned-yesterday", (0, 1), None, &[("overdue", "return")]),
    plan(Ending::UnknownBefore, "unknown-before", (0, 1), None, &[("due", "unknown-before")]),
    plan(Ending::KnownBefore, "known-before", (0, 1), None, &[("due", "interval")]),
];

/// Returns the endings of a program, shuffled: the deck of 80 as often as it fits, then an evenly spaced part of it.
pub(crate) fn deal(kind: Kind, patients: usize, rng: &mut ChaCha8Rng) -> Vec<&'static Plan> {
    let deck = deck_of_80(kind);
    let rest = patients % deck.len();
    let mut dealt: Vec<&Plan> = deck.iter().copied().cycle().take(patients - rest).collect();
    let offset = rng.random_range(0..deck.len());
    dealt.extend((0..rest).map(|i| deck[(offset + i * deck.len() / rest) % deck.len()]));
    dealt.shuffle(rng);
    dealt
}

fn deck_of_80(kind: Kind) -> Vec<&'static Plan> {
    let mut deck: Vec<&Plan> = Vec::new();
    for plan in PLANS {
        let share = match kind {
            Kind::Stable | Kind::Told => plan.stable,
            Kind::Mixed => plan.mixed,
        };
        deck.extend(std::iter::repeat_n(plan, share));
    }
    let fill: &[&Plan] = match kind {
        Kind::Told => &[&PLANS[2], &PLANS[3]],
        Kind::Stable | Kind::Mixed => &[&PLANS[0]],
    };
    let open = 80 - deck.len();
    deck.extend(fill.iter().cycle().take(open));
    deck
}

impl Ending {
    /// True if the household reports by a monthly log.
    pub(crate) fn is_by_log(self) -> bool {
        matches!(self, Ending::ByLog | Ending::LogLate)
    }

    /// True if the patient is still in the hospital after the implant.
    pub(crate) fn is_on_ward(self) -> bool {
        matches!(self, Ending::Ward | Ending::WardChangedEarly | Ending::FirstChange)
    }

    /// True if the patient has just come from another program and has no records yet.
    pub(crate) fn is_new(self) -> bool {
        matches!(self, Ending::UnknownBefore | Ending::KnownBefore)
    }

    /// True if the household can live in another time zone. No ending that depends on the hour does.
    pub(crate) fn may_be_far(self) -> bool {
        matches!(self, Ending::ByLog | Ending::Due | Ending::Upcoming | Ending::EndedBefore)
    }
}
