//! One patient's days under support that are on file: the exposure of rates.

use chrono::NaiveDate;

use crate::day::{Period, after, before};
use crate::patient::{EndReason, InfectionsBefore, Patient};
use crate::policy::CarePlace;
use crate::surveillance::follow_up::{FollowUp, FollowUpEnd};

/// A patient-day is a date from the later of implant and start of the records to the day before the end of support.
///
/// All patient-days are device-days, including those elsewhere. The months add up to the year.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// Implant date.
    pub implanted: NaiveDate,
    /// First patient-day.
    pub from: NaiveDate,
    /// The day on which support ended, which is not a patient-day, and the reason.
    pub ended: Option<(NaiveDate, EndReason)>,
    /// True if there was no infection before the records began.
    pub is_free_before: bool,
    /// The days elsewhere, in periods that do not overlap.
    elsewhere: Vec<Period>,
}

impl Stay {
    /// The days of a patient.
    pub fn of(patient: &Patient) -> Stay {
        let rows = patient.care.iter().enumerate();
        let elsewhere = rows.filter(|(_, row)| row.place == CarePlace::Elsewhere).map(|(n, row)| Period {
            from: if n == 0 { NaiveDate::MIN } else { row.from },
            to: patient.care.get(n + 1).map_or(NaiveDate::MAX, |next| before(next.from)),
        });
        Stay {
            implanted: patient.implanted,
            from: patient.implanted.max(patient.records_from),
            ended: patient.ended.as_ref().map(|ended| (ended.on, ended.why)),
            is_free_before: match patient.infections_before {
                InfectionsBefore::NotGiven => true,
                InfectionsBefore::Unknown => false,
                InfectionsBefore::Count(count) => count == 0,
            },
            elsewhere: elsewhere.collect(),
        }
    }

    /// Returns true if a day is a patient-day.
    pub(crate) fn is_patient_day(&self, day: NaiveDate) -> bool {
        self.from <= day && self.ended.is_none_or(|(ended, _)| day < ended)
    }

    /// Returns true if events of a day can be counted: a patient-day, or the day on which support ended.
    pub fn holds(&self, day: NaiveDate) -> bool {
        self.from <= day && self.ended.is_none_or(|(ended, _)| day <= ended)
    }

    /// The patient-days of a period.
    pub fn days(&self, period: Period) -> i64 {
        self.inside(period).map_or(0, length)
    }

    /// The patient-days of a period that were elsewhere.
    pub fn days_elsewhere(&self, period: Period) -> i64 {
        self.days_within(period, &self.elsewhere)
    }

    /// The patient-days of a period that lie within other periods, which must not overlap.
    pub(crate) fn days_within(&self, period: Period, others: &[Period]) -> i64 {
        let Some(inside) = self.inside(period) else { return 0 };
        let common = |row: &Period| Period { from: row.from.max(inside.from), to: row.to.min(inside.to) };
        others.iter().map(common).map(length).sum()
    }

    /// Returns true if the patient was elsewhere on a day.
    pub fn is_elsewhere(&self, day: NaiveDate) -> bool {
        self.elsewhere.iter().any(|row| row.contains(day))
    }

    fn inside(&self, period: Period) -> Option<Period> {
        let last = self.ended.map_or(period.to, |(ended, _)| before(ended).min(period.to));
        let inside = Period { from: self.from.max(period.from), to: last };
        (inside.from <= inside.to).then_some(inside)
    }

    /// The follow-up to a first infection up to a day; `None` if it is not observed from its start, or starts later.
    ///
    /// An infection comes before the end of support on the same day. A transfer, or another end, only ends observation.
    pub fn follow_up(&self, first_onset: Option<NaiveDate>, last: NaiveDate) -> Option<FollowUp> {
        let whole = self.observed(last).filter(|_| self.is_free_before)?;
        match first_onset.filter(|onset| *onset <= last) {
            Some(onset) => Some(FollowUp { to: self.since_implant(onset), end: FollowUpEnd::Infection, ..whole }),
            None => Some(whole),
        }
    }

    /// The follow-up up to a day, regardless of infections; `None` if it starts later.
    pub fn observed(&self, last: NaiveDate) -> Option<FollowUp> {
        let left = self.ended.filter(|(ended, _)| *ended <= last);
        let (to, end) = left.map_or((last, FollowUpEnd::Censored), |(ended, why)| (ended, end_of(why)));
        let (from, to) = (self.since_implant(self.from), self.since_implant(to));
        (self.from <= last).then_some(FollowUp { from, to, end })
    }

    /// Days from the implant to a day.
    pub(crate) fn since_implant(&self, day: NaiveDate) -> i64 {
        (day - self.implanted).num_days()
    }
}

fn end_of(why: EndReason) -> FollowUpEnd {
    match why {
        EndReason::Death => FollowUpEnd::Death,
        EndReason::Transplant => FollowUpEnd::Transplant,
        EndReason::Recovery => FollowUpEnd::Recovery,
        EndReason::Transferred | EndReason::Other => FollowUpEnd::Censored,
    }
}

fn length(period: Period) -> i64 {
    (after(period.to) - period.from).num_days().max(0)
}
