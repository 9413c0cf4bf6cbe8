//! The time from implant to first infection: cumulative incidence, and freedom from infection.

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::Contribution;
use crate::surveillance::follow_up::{AtRisk, FollowUp, FollowUpEnd, RiskSet};
use crate::surveillance::hazard::{HazardRatio, hazard_ratios};
use crate::surveillance::incidence::{IncidenceStep, cumulative_incidence};
use crate::surveillance::kaplan_meier::{KaplanMeierStep, Median, kaplan_meier};
use crate::surveillance::log_rank::{LogRank, log_rank};
use crate::word::words;

words! {
    /// The grouping for the time to first infection.
    pub enum GroupBy {
        /// The location of the first exit site.
        Where = "where",
        /// The household's way of reporting.
        Reports = "reports",
        /// The number of caregivers on file.
        Caregivers = "caregivers",
        /// The year of the implant.
        ImplantYear = "implant-year",
    }
}

/// The time to first infection.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FirstInfection {
    /// Patients followed.
    pub n: u64,
    /// Patients excluded because they had, or may have had, an infection before the records began.
    pub left_out: u64,
    /// Patients with a first infection.
    pub events: u64,
    /// The cumulative incidence of each competing event.
    pub cumulative_incidence: Incidences,
    /// Kaplan–Meier freedom from infection, with all other ends of support censored.
    pub freedom: Vec<KaplanMeierStep>,
    /// The median time to infection.
    pub median_days: Median,
    /// The grouping; null if none was requested.
    pub by: Option<GroupBy>,
    /// The groups.
    pub groups: Vec<PatientGroup>,
    /// The group to which the hazard ratios refer: the one with the most infections; null if there is none.
    pub hazard_reference: Option<String>,
    /// The log-rank test between groups; all null if no grouping was requested.
    pub log_rank: LogRank,
    /// The number at risk by days since implant.
    pub at_risk: Vec<AtRisk>,
    /// The minimum number at risk for a curve to be shown.
    pub curve_at_risk: u64,
    /// The displayed part of the curves; null if too few patients were at risk on every day.
    pub shown: Option<Shown>,
}

/// The part of a curve with enough patients at risk, conditional on being under support and free of infection at its start.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Shown {
    /// The first day since implant with enough patients at risk.
    pub from: i64,
    /// The last day since implant with enough patients at risk.
    pub to: i64,
    /// The cumulative incidence of each competing event.
    pub cumulative_incidence: Incidences,
    /// Kaplan–Meier freedom from infection, with all other ends of support censored.
    pub freedom: Vec<KaplanMeierStep>,
    /// The median time to infection, if it is not after the last day.
    pub median_days: Median,
}

/// The cumulative incidence of each competing event.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Incidences {
    /// First infection.
    pub infection: Vec<IncidenceStep>,
    /// Death without infection.
    pub death: Vec<IncidenceStep>,
    /// Transplant without infection.
    pub transplant: Vec<IncidenceStep>,
    /// Recovery without infection.
    pub recovery: Vec<IncidenceStep>,
}

/// The curves of a set of patients.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Curves {
    /// The cumulative incidence of first infection.
    pub infection: Vec<IncidenceStep>,
    /// Kaplan–Meier freedom from infection.
    pub freedom: Vec<KaplanMeierStep>,
    /// The median time to infection.
    pub median_days: Median,
    /// The number at risk by days since implant.
    pub at_risk: Vec<AtRisk>,
    /// The displayed part of the curves; null if too few patients were at risk on every day.
    pub shown: Option<Shown>,
}

/// A group of patients with a common trait.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PatientGroup {
    /// The trait's value.
    pub value: String,
    /// Patients followed.
    pub n: u64,
    /// Patients with a first infection.
    pub events: u64,
    /// Infections expected in this group under the null hypothesis of the log-rank test; null if there is nothing to compare.
    pub expected: Option<f64>,
    /// The hazard ratio to the group of `hazard_reference`, with Wald limits; null for that group itself.
    pub hazard_ratio: HazardRatio,
    /// The curves.
    #[serde(flatten)]
    pub curves: Curves,
}

impl FirstInfection {
    pub(super) fn of(all: &[Contribution], last: NaiveDate, by: Option<GroupBy>, least: u64) -> FirstInfection {
        let follow_up = |one: &Contribution| one.follow_up(last);
        let follow_ups: Vec<FollowUp> = all.iter().filter_map(follow_up).collect();
        let whole = kaplan_meier(&follow_ups);
        let is_left_out = |one: &&Contribution| one.stay.from <= last && follow_up(one).is_none();
        let mut groups: Vec<(String, Vec<FollowUp>)> = Vec::new();
        if let Some(by) = by {
            let valued = all.iter().filter_map(|one| Some((by.value(one), follow_up(one)?)));
            for (value, follow_up) in valued {
                match groups.iter_mut().find(|(known, _)| *known == value) {
                    Some((_, follow_ups)) => follow_ups.push(follow_up),
                    None => groups.push((value, vec![follow_up])),
                }
            }
            groups.sort_by(|a, b| a.0.cmp(&b.0));
        }
        let compared: Vec<Vec<FollowUp>> = groups.iter().map(|(_, follow_ups)| follow_ups.clone()).collect();
        let (log_rank, expected) = by.map_or_else(Default::default, |_| log_rank(&compared));
        let reference = reference(&compared);
        let hazard_ratios = reference.map(|reference| hazard_ratios(&compared, reference)).unwrap_or_default();
        let group = |(n, (value, follow_ups)): (usize, &(String, Vec<FollowUp>))| PatientGroup {
            value: value.clone(),
            n: follow_ups.len() as u64,
            events: infected(follow_ups),
            expected: expected.get(n).copied(),
            hazard_ratio: hazard_ratios.get(n).copied().unwrap_or_default(),
            curves: Curves::of(follow_ups, least),
        };
        FirstInfection {
            n: follow_ups.len() as u64,
            left_out: all.iter().filter(is_left_out).count() as u64,
            events: infected(&follow_ups),
            cumulative_incidence: Incidences::of(&follow_ups),
            curve_at_risk: least,
            shown: Shown::of(&follow_ups, least),
            freedom: whole.steps,
            median_days: whole.median,
            by,
            groups: groups.iter().enumerate().map(group).collect(),
            hazard_reference: reference.and_then(|reference| groups.get(reference)).map(|(value, _)| value.clone()),
            log_rank,
            at_risk: RiskSet::of(&follow_ups).steps(),
        }
    }
}

impl Incidences {
    fn of(follow_ups: &[FollowUp]) -> Incidences {
        Incidences {
            infection: cumulative_incidence(follow_ups, FollowUpEnd::Infection),
            death: cumulative_incidence(follow_ups, FollowUpEnd::Death),
            transplant: cumulative_incidence(follow_ups, FollowUpEnd::Transplant),
            recovery: cumulative_incidence(follow_ups, FollowUpEnd::Recovery),
        }
    }
}

impl Shown {
    /// Computes the curves from the first to the last day with at least `least` at risk.
    fn of(follow_ups: &[FollowUp], least: u64) -> Option<Shown> {
        let steps = RiskSet::of(follow_ups).steps();
        let from = steps.iter().find(|step| step.patients >= least)?.day;
        let last = steps.iter().rposition(|step| step.patients >= least)?;
        let to = steps.get(last + 1).map_or(from, |next| next.day - 1);
        // Patients who left earlier are not in the risk set at the start; later days are cut off.
        let inside =
            follow_ups.iter().filter(|follow_up| follow_up.from <= to && follow_up.to >= from).map(|follow_up| {
                FollowUp {
                    from: follow_up.from.max(from),
                    to: follow_up.to.min(to),
                    end: if follow_up.to > to { FollowUpEnd::Censored } else { follow_up.end },
                }
            });
        let inside: Vec<FollowUp> = inside.collect();
        let freedom = kaplan_meier(&inside);
        Some(Shown {
            from,
            to,
            cumulative_incidence: Incidences::of(&inside),
            freedom: freedom.steps,
            median_days: freedom.median,
        })
    }
}

impl Curves {
    fn of(follow_ups: &[FollowUp], least: u64) -> Curves {
        let freedom = kaplan_meier(follow_ups);
        Curves {
            infection: cumulative_incidence(follow_ups, FollowUpEnd::Infection),
            freedom: freedom.steps,
            median_days: freedom.median,
            at_risk: RiskSet::of(follow_ups).steps(),
            shown: Shown::of(follow_ups, least),
        }
    }
}

impl GroupBy {
    /// Returns a patient's follow-up.
    pub(super) fn value(self, one: &Contribution) -> String {
        let traits = &one.traits;
        match self {
            GroupBy::Where => traits.at.to_string(),
            GroupBy::Reports => traits.reports.map_or("never at home".to_owned(), |reports| reports.to_string()),
            GroupBy::Caregivers => match traits.caregivers {
                0 => "none".to_owned(),
                1 => "one".to_owned(),
                _ => "two or more".to_owned(),
            },
            GroupBy::ImplantYear => traits.implanted.year().to_string(),
        }
    }
}

/// The group with the most infections, so that a ratio to it can be estimated; of several the larger, then the first.
fn reference(groups: &[Vec<FollowUp>]) -> Option<usize> {
    let size = |group: usize| (infected(&groups[group]), groups[group].len());
    let largest = (0..groups.len()).rev().max_by_key(|group| size(*group));
    largest.filter(|group| groups.len() > 1 && infected(&groups[*group]) > 0)
}

fn infected(follow_ups: &[FollowUp]) -> u64 {
    follow_ups.iter().filter(|follow_up| follow_up.end == FollowUpEnd::Infection).count() as u64
}
