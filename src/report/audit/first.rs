//! The time from implant to a first infection: how many had one, and who was still free of one.

use chrono::{Datelike, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use crate::audit::Contribution;
use crate::surveillance::follow_up::{AtRisk, FollowUp, FollowUpEnd, RiskSet};
use crate::surveillance::incidence::{IncidenceStep, cumulative_incidence};
use crate::surveillance::kaplan_meier::{KaplanMeierStep, Median, kaplan_meier};
use crate::surveillance::log_rank::{LogRank, log_rank};
use crate::word::words;

words! {
    /// By what the time to a first infection is compared.
    pub enum GroupBy {
        /// Where the first exit site is.
        Where = "where",
        /// How the household reports.
        Reports = "reports",
        /// How many caregivers are on file.
        Caregivers = "caregivers",
        /// The year of the implant.
        ImplantYear = "implant-year",
    }
}

/// The time to a first infection.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FirstInfection {
    /// Patients followed.
    pub n: u64,
    /// Patients left out, since they had, or may have had, an infection before the records began.
    pub left_out: u64,
    /// Patients with a first infection.
    pub events: u64,
    /// How many have met each end by a day.
    pub cumulative_incidence: Incidences,
    /// Freedom from infection, if nothing else ended support.
    pub freedom: Vec<KaplanMeierStep>,
    /// The median time to infection.
    pub median_days: Median,
    /// By what it is compared; null if it was not asked.
    pub by: Option<GroupBy>,
    /// The groups.
    pub groups: Vec<Group>,
    /// The log-rank test between groups; all null if it was not asked for.
    pub log_rank: LogRank,
    /// The number at risk over the days since the implant.
    pub at_risk: Vec<AtRisk>,
    /// The fewest patients at risk for a curve to be shown.
    pub curve_at_risk: u64,
    /// The part of the curves that is shown; null if too few were at risk on every day.
    pub shown: Option<Shown>,
}

/// The part of a curve over which enough patients are at risk, conditional on being free of an infection, and under
/// support, when it begins.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Shown {
    /// The first day since the implant with enough at risk.
    pub from: i64,
    /// The last such day.
    pub to: i64,
    /// The share that has met each end.
    pub cumulative_incidence: Incidences,
    /// The share that would still be free of an infection, if nothing else ended support.
    pub freedom: Vec<KaplanMeierStep>,
    /// The day on which half would have had one, if it is not after the last day.
    pub median_days: Median,
}

/// The cumulative incidence of each end.
#[derive(Debug, Clone, Default, Serialize, JsonSchema)]
pub struct Incidences {
    /// A first infection.
    pub infection: Vec<IncidenceStep>,
    /// Death without one.
    pub death: Vec<IncidenceStep>,
    /// A transplant without one.
    pub transplant: Vec<IncidenceStep>,
    /// Recovery without one.
    pub recovery: Vec<IncidenceStep>,
}

/// The curves of some patients.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Curves {
    /// The cumulative incidence of a first infection.
    pub infection: Vec<IncidenceStep>,
    /// Freedom from one.
    pub freedom: Vec<KaplanMeierStep>,
    /// The median time to infection.
    pub median_days: Median,
    /// The number at risk over the days since the implant.
    pub at_risk: Vec<AtRisk>,
    /// The part of the curves that is shown; null if too few were at risk on every day.
    pub shown: Option<Shown>,
}

/// Patients who have something in common.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Group {
    /// The group.
    pub value: String,
    /// Patients followed.
    pub n: u64,
    /// Patients with a first infection.
    pub events: u64,
    /// The infections that this group would have had, if all were alike; null where there is nothing to compare.
    pub expected: Option<f64>,
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
        let log_rank = match by {
            Some(_) => log_rank(&groups.iter().map(|(_, follow_ups)| follow_ups.clone()).collect::<Vec<_>>()),
            None => LogRank::default(),
        };
        let group = |(n, (value, follow_ups)): (usize, &(String, Vec<FollowUp>))| Group {
            value: value.clone(),
            n: follow_ups.len() as u64,
            events: infected(follow_ups),
            expected: log_rank.expected.get(n).copied(),
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
    /// The curves from the first day to the last with at least so many at risk.
    fn of(follow_ups: &[FollowUp], least: u64) -> Option<Shown> {
        let steps = RiskSet::of(follow_ups).steps();
        let from = steps.iter().find(|step| step.patients >= least)?.day;
        let last = steps.iter().rposition(|step| step.patients >= least)?;
        let to = steps.get(last + 1).map_or(from, |next| next.day - 1);
        // Who left before is not among those who were free when it begins; what is later is not looked at.
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
    /// A patient's follow-up.
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

fn infected(follow_ups: &[FollowUp]) -> u64 {
    follow_ups.iter().filter(|follow_up| follow_up.end == FollowUpEnd::Infection).count() as u64
}
