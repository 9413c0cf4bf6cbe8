//! The blocks of the list, in its order.

use crate::report::due::{Group, Row};

/// A block of rows under one heading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Block {
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
    /// Nothing is due: the patient is away.
    Away,
    /// Nothing is due: support has ended, the exit site is closed, or the records have not begun.
    Ended,
}

impl Block {
    /// All blocks, in list order.
    pub(super) const ALL: [Block; 9] = [
        Block::CannotRead,
        Block::Now,
        Block::Overdue,
        Block::NoLog,
        Block::DueToday,
        Block::ThisWeek,
        Block::Later,
        Block::Away,
        Block::Ended,
    ];

    /// Returns the block of a row.
    pub(super) fn of(row: &Row) -> Block {
        match row.group() {
            Group::Unusable => Block::CannotRead,
            Group::SignalOfToday | Group::Reported => Block::Now,
            Group::Overdue => Block::Overdue,
            Group::Due => Block::DueToday,
            Group::ThisWeek => Block::ThisWeek,
            Group::Upcoming => Block::Later,
            Group::AwaitingLog => Block::NoLog,
            Group::Nothing if row.site().is_some_and(|site| site.ended.is_none() && site.days_elsewhere.is_some()) => {
                Block::Away
            }
            Group::Nothing => Block::Ended,
        }
    }

    /// Returns the heading.
    pub(super) fn heading(self) -> &'static str {
        match self {
            Block::CannotRead => "CANNOT READ",
            Block::Now => "LOOK OR CHANGE NOW",
            Block::Overdue => "OVERDUE",
            Block::NoLog => "NO LOG",
            Block::DueToday => "DUE TODAY",
            Block::ThisWeek => "THIS WEEK",
            Block::Later => "LATER",
            Block::Away => "AWAY",
            Block::Ended => "ENDED OR NOT BEGUN",
        }
    }
}
