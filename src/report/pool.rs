//! Pooled yearly reports: each program's rate against the pooled rate, and the variation between programs.
//! A pool reads issued reports only, so it has no records and no `as_of` of its own. A single report with patient groups is
//! pooled by group. Left out on purpose: a ranking by rate, which is mostly chance, and any figure that the reports do not
//! define alike.

mod given;

pub use given::{GivenReport, ReportSource};

use schemars::JsonSchema;
use serde::Serialize;

use super::{At, Unusable};
use crate::problem::Failure;
use crate::score::CAUTION;
use crate::surveillance::funnel::{Beyond, Funnel, Heterogeneity};
use crate::surveillance::gamma_poisson::{BetweenProgramVariation, Exposed, GammaPoisson, Shrunken};
use crate::surveillance::rate::Rate;
use crate::text::{count, visible};

/// The marker at the beginning of every pool.
pub(crate) const POOL_RELEASE: &str =
    "no patient codes; exact counts, only for recipients named in the programs' agreement";

/// The number of exposures at which the funnel is drawn.
const PLACES: usize = 48;
/// The probability of lying outside the inner limits by chance, for the expected number outside.
const INNER_CHANCE: f64 = 0.05;
/// The fewest programs for a range that 95 of 100 of them would have. Source: common practice.
const FEWEST_FOR_RANGE: usize = 10;

/// The pooled yearly reports.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PoolReport {
    /// The marker that states who may receive it.
    pub release: String,
    /// Always `pool`.
    pub command: String,
    /// The latest `as_of` of the reports; null if none has one.
    pub as_of: Option<At>,
    /// The version of exitsite.
    pub version: String,
    /// The limitations of the figures.
    pub caution: String,
    /// Reports that were incomplete when issued; the figures include their data.
    pub unusable: Vec<Unusable>,
    /// The calendar year.
    pub year: i32,
    /// The program whose groups are compared; null if programs are compared.
    pub groups_of: Option<String>,
    /// The grouping of its patients; null if programs are compared.
    pub by: Option<String>,
    /// The pooled figures.
    pub pooled: Pooled,
    /// The between-member variation of the rates per 1,000 device-days, by a gamma–Poisson fit.
    pub spread: BetweenProgramVariation,
    /// The number of members beyond the 95 % limits, including those beyond the 99.8 % limits.
    pub beyond_95: u64,
    /// The maximum expected number of members beyond the 95 % limits by chance, if all have the pooled rate.
    pub beyond_95_by_chance: f64,
    /// The test of one shared rate.
    pub heterogeneity: Heterogeneity,
    /// The programs or groups, by name.
    pub members: Vec<Member>,
    /// The funnel around the pooled rate, by device-days; empty without an infection.
    pub funnel: Vec<FunnelPlace>,
}

/// All members pooled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Pooled {
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// The rate per 1,000 device-days, with limits that assume one common rate.
    pub per_1000_device_days: Rate,
}

/// One program, or one group.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Member {
    /// The name.
    pub name: String,
    /// The report it comes from.
    #[serde(flatten)]
    pub source: ReportSource,
    /// Patients; null if the report gives only "1 to 4".
    pub patients: Option<u64>,
    /// Infections.
    pub events: u64,
    /// Device-days; rounded to three significant figures if from an external report.
    pub device_days: i64,
    /// The observed rate.
    pub per_1000_device_days: Rate,
    /// Infections expected at the pooled rate.
    pub expected: f64,
    /// The limits around the pooled rate; null if no member has an infection.
    pub funnel: Funnel,
    /// The side on which the rate is beyond the 99.8 % limits; null if within.
    pub beyond: Option<Beyond>,
    /// The side on which it is beyond the 95 % limits; null within.
    pub beyond_95: Option<Beyond>,
    /// The shrunken (empirical Bayes) rate per 1,000 device-days.
    pub shrunken: Shrunken,
}

/// The funnel at one exposure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FunnelPlace {
    /// Device-days.
    pub device_days: f64,
    /// The limits at that exposure, per 1,000 device-days.
    #[serde(flatten)]
    pub funnel: Funnel,
}

impl PoolReport {
    /// Pools the reports; a single one by its groups.
    ///
    /// # Errors
    /// The reports are of different years, a program occurs twice, or there is nothing to compare.
    pub fn of(given: Vec<GivenReport>) -> Result<PoolReport, Failure> {
        let faults = conflicts(&given);
        if !faults.is_empty() {
            return Err(Failure::new(faults.join("\n")));
        }
        let Some(first) = given.first() else { return Err(Failure::new("no reports given. Name the reports to pool")) };
        let (year, as_of) = (first.year, given.iter().filter_map(|one| one.source.as_of).max_by_key(at));
        let (groups_of, by, counted) = match &given[..] {
            [one] => (Some(one.name.clone()), one.by.clone(), one.groups()?),
            all => (None, None, all.iter().map(GivenReport::whole).collect()),
        };
        let unusable = given.iter().filter_map(not_complete).collect();
        let (pooled, spread, members) = side_by_side(counted);
        Ok(PoolReport {
            release: POOL_RELEASE.into(),
            command: "pool".into(),
            as_of,
            version: env!("CARGO_PKG_VERSION").into(),
            caution: CAUTION.into(),
            unusable,
            year,
            groups_of,
            by,
            spread,
            beyond_95: members.iter().filter(|one| one.beyond_95.is_some()).count() as u64,
            beyond_95_by_chance: members.len() as f64 * INNER_CHANCE,
            heterogeneity: Heterogeneity::of(&members.iter().map(|one| (one.events, one.expected)).collect::<Vec<_>>()),
            funnel: funnel(&pooled, &members),
            pooled,
            members,
        })
    }
}

/// A program or group to compare, with its raw counts.
#[derive(Debug, Clone)]
pub(super) struct Compared {
    pub(super) name: String,
    pub(super) source: ReportSource,
    pub(super) patients: Option<u64>,
    pub(super) events: u64,
    pub(super) device_days: i64,
}

/// Computes the pooled rate, the variation, and each member's figures.
fn side_by_side(mut counted: Vec<Compared>) -> (Pooled, BetweenProgramVariation, Vec<Member>) {
    counted.sort_by(|a, b| a.name.cmp(&b.name));
    let (events, device_days) = counted.iter().fold((0, 0), |sum, one| (sum.0 + one.events, sum.1 + one.device_days));
    let thousands = |days: i64| days as f64 / 1000.0;
    let pooled = Pooled { events, device_days, per_1000_device_days: Rate::of(events, thousands(device_days)) };
    let rate = pooled.per_1000_device_days.rate.unwrap_or(0.0);
    let exposed = |one: &Compared| Exposed { events: one.events, exposure: thousands(one.device_days) };
    let fit = GammaPoisson::of(&counted.iter().map(exposed).collect::<Vec<_>>());
    let member = |(one, shrunken): (Compared, Shrunken)| {
        let exposure = thousands(one.device_days);
        Member {
            per_1000_device_days: Rate::of(one.events, exposure),
            expected: rate * exposure,
            funnel: Funnel::of(rate, exposure),
            beyond: Beyond::of(one.events, rate * exposure),
            beyond_95: Beyond::of_inner(one.events, rate * exposure),
            shrunken,
            name: one.name,
            source: one.source,
            patients: one.patients,
            events: one.events,
            device_days: one.device_days,
        }
    };
    let mut spread = fit.spread;
    if counted.len() < FEWEST_FOR_RANGE {
        (spread.programs_low, spread.programs_high) = (None, None);
    }
    (pooled, spread, counted.into_iter().zip(fit.shrunken).map(member).collect())
}

/// Computes the funnel from below the smallest exposure to just above the largest.
fn funnel(pooled: &Pooled, members: &[Member]) -> Vec<FunnelPlace> {
    let days = members.iter().map(|one| one.device_days as f64);
    let (least, most) = (days.clone().fold(f64::MAX, f64::min), days.fold(0.0, f64::max));
    let Some(rate) = pooled.per_1000_device_days.rate.filter(|rate| *rate > 0.0) else { return Vec::new() };
    let (from, to) = (0.6 * least.min(most / 8.0), 1.05 * most);
    let place = |n: usize| {
        let device_days = from * (to / from).powf(n as f64 / (PLACES - 1) as f64);
        FunnelPlace { device_days, funnel: Funnel::of(rate, device_days / 1000.0) }
    };
    (0..PLACES).map(place).collect()
}

/// Returns the reasons why the reports cannot be pooled, one sentence each.
fn conflicts(given: &[GivenReport]) -> Vec<String> {
    let mut faults = Vec::new();
    for (n, one) in given.iter().enumerate() {
        let is_same = |other: &&GivenReport| other.name.to_lowercase() == one.name.to_lowercase();
        if let Some(other) = given[..n].iter().find(is_same) {
            faults.push(format!(
                "{} and {} are both from \"{}\". Use only one of them",
                other.source.file,
                one.source.file,
                visible(&one.name)
            ));
        }
    }
    if let Some(first) = given.first() {
        let others = given.iter().filter(|one| one.year != first.year);
        faults.extend(others.map(|one| {
            format!(
                "{} is for {}, but {} is for {}. Use reports for the same year",
                first.source.file, first.year, one.source.file, one.year
            )
        }));
    }
    faults
}

fn not_complete(one: &GivenReport) -> Option<Unusable> {
    let message = match one.not_read {
        Some(0) => return None,
        Some(files) => format!("{} of its records could not be read when it was issued", count(files as i64, "file")),
        None => "files of its records could not be read when it was issued".to_owned(),
    };
    Some(Unusable { file: one.source.file.clone(), line: None, message })
}

fn at(at: &At) -> i64 {
    match at {
        At::Time(time) => time.timestamp(),
        At::Day(_) => i64::MIN,
    }
}
