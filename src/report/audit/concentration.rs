//! Concentration of the days past due in few patients.

use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::Contribution;
use crate::day::Period;
use crate::surveillance::concentration::{Holders, by_chance, fewest, ranked};
use crate::surveillance::share::ClusterCount;

/// Days past due by patient: covered days of the period, per exit site, that ended with a change past due.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Concentration {
    /// Patients with at least one covered expected day.
    pub patients: u64,
    /// Patients with at least one day past due.
    pub patients_past_due: u64,
    /// Covered days.
    pub days: u64,
    /// Days past due.
    pub days_past_due: u64,
    /// The fewest patients who account for half of the days past due; null if there are none.
    pub half: Option<Holders>,
    /// The fewest patients who account for four fifths of them; null if there are none.
    pub four_fifths: Option<Holders>,
    /// Expected number of patients with half of them if each covered day were past due with the same probability,
    /// independently; null as above.
    pub half_by_chance: Option<f64>,
    /// Expected number of patients with four fifths of them; null as above.
    pub four_fifths_by_chance: Option<f64>,
    /// Each patient with a day past due, most days first.
    pub by_patient: Vec<PastDue>,
}

/// The days past due of one patient.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PastDue {
    /// The patient's code.
    pub patient: String,
    /// Days past due.
    pub days_past_due: u64,
    /// Covered days.
    pub days: u64,
    /// The cumulative proportion of all days past due, down to this patient.
    pub cumulative_share: f64,
}

impl Concentration {
    pub(super) fn of(all: &[Contribution], period: Period) -> Concentration {
        let of_one = |one: &Contribution| -> Option<ClusterCount> {
            let dated: ClusterCount = one.care.as_ref()?.days_in_date(period).into_values().sum();
            (dated.whole > 0).then(|| ClusterCount { part: dated.whole - dated.part, whole: dated.whole })
        };
        let (codes, days): (Vec<&str>, Vec<ClusterCount>) =
            all.iter().filter_map(|one| Some((one.patient.as_str(), of_one(one)?))).unzip();
        let sum: ClusterCount = days.iter().copied().sum();
        let mut held = 0;
        let by_patient = ranked(&days).into_iter().map(|n| {
            held += days[n].part;
            PastDue {
                patient: codes[n].to_owned(),
                days_past_due: days[n].part,
                days: days[n].whole,
                cumulative_share: held as f64 / sum.part as f64,
            }
        });
        let by_patient: Vec<PastDue> = by_patient.collect();
        Concentration {
            patients: days.len() as u64,
            patients_past_due: by_patient.len() as u64,
            days: sum.whole,
            days_past_due: sum.part,
            half: fewest(&days, 0.5),
            four_fifths: fewest(&days, 0.8),
            half_by_chance: by_chance(&days, 0.5),
            four_fifths_by_chance: by_chance(&days, 0.8),
            by_patient,
        }
    }
}
