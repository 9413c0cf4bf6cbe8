//! The kinds of questions and the slips at each, and the shape of a case.

/// The kind of a question, which decides what is a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Asks {
    /// One of several choices, or a code; required.
    Choice,
    /// One of several choices; Enter leaves it open.
    Open,
    /// A length in mm.
    Millimeters,
    /// A body temperature.
    Degrees,
    /// A time; Enter means now.
    Time,
    /// A time or a part of a day; required.
    ToldTime,
    /// A day; required.
    Day,
    /// A day that is not in the future; required.
    PastDay,
    /// A day; Enter leaves it open.
    OpenDay,
    /// A day that is not in the future; Enter leaves it open.
    OpenPastDay,
    /// A day before the records begin; Enter leaves it open.
    DayBefore,
    /// A number of days; required.
    Days,
    /// A number; Enter takes one.
    Count,
    /// The last day of a treatment, not before its first; Enter leaves it open.
    LastDay,
    /// A code that no one has yet; required.
    NewCode,
    /// An id that no exit site of the patient has; required.
    NewExit,
    /// Codes with relations; Enter leaves it open.
    Caregivers,
    /// A reason of a few words; required.
    Reason,
    /// Any text; required.
    Words,
    /// Any text but a bare no.
    Note,
    /// Any text.
    Text,
    /// Yes or no; Enter is no.
    YesNo,
    /// One key, without Enter.
    Key,
}

impl Asks {
    /// The slips at a question of this kind. A no after the ambiguous date is its second line.
    pub(crate) fn slips(self) -> &'static [&'static str] {
        match self {
            Asks::Choice => &["", "zzz", "99", "12/15/2099"],
            Asks::Open => &["zzz", "99", "12/15/2099"],
            Asks::Millimeters => &["zzz", "999", "12/15/2099"],
            Asks::Degrees => &["zzz", "60", "12/15/2099"],
            Asks::Time => &["zzz", "99:99", "13/45/2026", "12/15/2099", "9", "last night", "3/4/2026 18:00\nn"],
            Asks::ToldTime => &["", "zzz", "99:99", "13/45/2026", "12/15/2099", "9", "3/4/2026 18:00\nn"],
            Asks::Day => &["", "zzz", "99", "13/45/2026", "3/4/2026\nn"],
            Asks::PastDay => &["", "zzz", "99", "13/45/2026", "12/15/2099", "3/4/2026\nn"],
            Asks::OpenDay => &["zzz", "99", "13/45/2026", "3/4/2026\nn"],
            Asks::OpenPastDay => &["zzz", "99", "13/45/2026", "12/15/2099", "3/4/2026\nn"],
            Asks::DayBefore => &["zzz", "99", "13/45/2026", "12/15/2099", "yesterday"],
            Asks::Days => &["", "zzz", "0", "999", "1.5", "12/15/2099"],
            Asks::Count => &["zzz", "-1", "99999", "1.5", "12/15/2099"],
            Asks::LastDay => &["zzz", "99", "13/45/2026", "3/4/2020"],
            Asks::NewCode => &["", "two words", "rn-07", "p014-spouse", "12/15/2099"],
            Asks::NewExit => &["", "a", "two words", "12/15/2099"],
            Asks::Caregivers => &["rn-07:son", "p014-spouse", "two words:son", "p022-son:", "12/15/2099"],
            Asks::Reason => &["", "a", "99", "12/15/2099"],
            Asks::Words => &[""],
            Asks::Note => &["n"],
            Asks::Text => &[],
            Asks::YesNo => &["zzz", "99", "12/15/2026"],
            Asks::Key => &["z", "9", "\n"],
        }
    }

    /// Returns true if the answer counts as one of those that a stop would drop.
    pub(crate) fn is_counted(self) -> bool {
        !matches!(self, Asks::YesNo | Asks::Key)
    }
}

/// The beginning of a question, or all of one that is answered on its own line, its kind, and the right answer.
pub(crate) type Step = (&'static str, Asks, &'static str);

/// The end of the prompt of a step.
pub(crate) fn prompt((question, asks, _): Step) -> &'static str {
    match asks {
        Asks::YesNo => "[y/N]",
        _ if question.ends_with([':', ']']) || question.ends_with("no growth") => " ",
        _ => "> ",
    }
}

/// The state after the last answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// The questions go on; the test stops here.
    GoesOn,
    /// The command has written, and ends with status 0.
    Ends,
    /// The command has written, and asks about the next patient.
    Next,
}

/// A command with its questions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    pub(crate) arguments: &'static [&'static str],
    pub(crate) steps: &'static [Step],
    /// True if the environment names the writer.
    pub(crate) has_writer: bool,
    pub(crate) end: End,
}

impl Case {
    /// A command of a known writer, to its end.
    pub(crate) const fn of(arguments: &'static [&'static str], steps: &'static [Step]) -> Case {
        Case { arguments, steps, has_writer: true, end: End::Ends }
    }

    /// Takes the writer out of the environment.
    pub(crate) const fn without_writer(self) -> Case {
        Case { has_writer: false, ..self }
    }

    /// Sets another end.
    pub(crate) const fn then(self, end: End) -> Case {
        Case { end, ..self }
    }
}
