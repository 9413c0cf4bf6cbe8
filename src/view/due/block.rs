//! The blocks of the list, in its order.

use crate::report::due::{Group, Row};

/// A block of rows under one heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum RowBlock {
    /// A record cannot be read.
    CannotRead,
    /// A signal of today is open, or a shower or damage has no change yet.
    Now,
    /// Any other change is overdue.
    Overdue,
    /// A log is awaited.
    NoLog,
    /// A change is due today.
    DueToday,
    /// A later change with a signal of this week or a broken promise.
    ThisWeek,
    /// A later change.
    Later,
    /// No change is due: the patient is away.
    Away,
    /// No change is due: support has ended, the exit site is closed, or the records have not begun.
    Ended,
}

impl RowBlock {
    /// All blocks, in list order.
    pub(super) const ALL: [RowBlock; 9] = [
        RowBlock::CannotRead,
        RowBlock::Now,
        RowBlock::Overdue,
        RowBlock::NoLog,
        RowBlock::DueToday,
        RowBlock::ThisWeek,
        RowBlock::Later,
        RowBlock::Away,
        RowBlock::Ended,
    ];

    /// Returns the block of a row.
    pub(super) fn of(row: &Row) -> RowBlock {
        match row.group() {
            Group::Unusable => RowBlock::CannotRead,
            Group::SignalOfToday | Group::Reported => RowBlock::Now,
            Group::Overdue => RowBlock::Overdue,
            Group::Due => RowBlock::DueToday,
            Group::ThisWeek => RowBlock::ThisWeek,
            Group::Upcoming => RowBlock::Later,
            Group::AwaitingLog => RowBlock::NoLog,
            Group::Nothing if row.site().is_some_and(|site| site.ended.is_none() && site.days_elsewhere.is_some()) => {
                RowBlock::Away
            }
            Group::Nothing => RowBlock::Ended,
        }
    }

    /// Returns the heading.
    pub(super) fn heading(self) -> &'static str {
        match self {
            RowBlock::CannotRead => "CANNOT READ",
            RowBlock::Now => "LOOK OR CHANGE NOW",
            RowBlock::Overdue => "OVERDUE",
            RowBlock::NoLog => "NO LOG",
            RowBlock::DueToday => "DUE TODAY",
            RowBlock::ThisWeek => "THIS WEEK",
            RowBlock::Later => "LATER",
            RowBlock::Away => "AWAY",
            RowBlock::Ended => "ENDED OR NOT BEGUN",
        }
    }
}
