//! Yearly reports side by side: the rate of each program beside the pooled one, and how far programs are apart.
//!
//! A pool reads what programs have issued and nothing else, so it has no records and no moment of its own. One report whose
//! patients are in groups is pooled by its groups. Left out on purpose: an order by rate, which is mostly chance, and any
//! figure that the reports do not count in the same way.

mod given;

pub use given::{GivenReport, Source};

use schemars::JsonSchema;
use serde::Serialize;

use super::{At, Unusable};
use crate::problem::Failure;
use crate::score::CAUTION;
use crate::surveillance::funnel::{Beyond, Funnel, Heterogeneity};
use crate::surveillance::gamma_poisson::{BetweenProgramVariation, Exposed, GammaPoisson, Shrunken};
use crate::surveillance::rate::Rate;
use crate::text::{count, visible};

/// Says of a pool what it holds, first of all.
pub const POOL_RELEASE: &str = "no patient codes; exact counts, for those whom the programs' own agreement names";

/// The places along the exposure at which the funnel is drawn.
const PLACES: usize = 48;
/// The limit of chance outside of which a program lies in 1 of 20 years, for the count of those that are expected there.
const INNER_CHANCE: f64 = 0.05;
/// The fewest programs for a range that 95 of 100 of them would have. Source: common practice.
const FEWEST_FOR_RANGE: usize = 10;

/// Yearly reports side by side.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PoolReport {
    /// Says who may have it.
    pub release: String,
    /// Always `pool`.
    pub command: String,
    /// The latest moment that a report is as of; null if none says it.
    pub as_of: Option<At>,
    /// The version of exitsite.
    pub version: String,
    /// Limits of any figure.
    pub caution: String,
    /// Reports that were not complete when they were made; they are in the figures with what they hold.
    pub unusable: Vec<Unusable>,
    /// The calendar year.
    pub year: i32,
    /// The program whose groups they are; null where they are programs.
    pub groups_of: Option<String>,
    /// By what its patients are grouped; null where they are programs.
    pub by: Option<String>,
    /// All together.
    pub pooled: Pooled,
    /// How far the rates per 1,000 device-days are apart, by a gamma–Poisson fit.
    pub spread: BetweenProgramVariation,
    /// How many of them are beyond the limits of 95 %, those beyond 99.8 % among them.
    pub beyond_95: u64,
    /// How many of them chance alone puts beyond the 95 % limits, at most, where all have the pooled rate.
    pub beyond_95_by_chance: f64,
    /// The test of one shared rate.
    pub heterogeneity: Heterogeneity,
    /// Each of them, in the order of the names.
    pub members: Vec<Member>,
    /// The funnel around the pooled rate, by device-days; empty without an infection.
    pub funnel: Vec<FunnelPlace>,
}

/// All programs together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Pooled {
    /// Infections.
    pub events: u64,
    /// Device-days.
    pub device_days: i64,
    /// Per 1,000 device-days, with the limits of one rate that all would share.
    pub per_1000_device_days: Rate,
}

/// One program, or one group.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Member {
    /// Its name.
    pub name: String,
    /// The report that it is read from.
    #[serde(flatten)]
    pub source: Source,
    /// Patients; null where the report tells only that they are 1 to 4.
    pub patients: Option<u64>,
    /// Infections.
    pub events: u64,
    /// Device-days; those of an external report are rounded to three figures.
    pub device_days: i64,
    /// Its own rate.
    pub per_1000_device_days: Rate,
    /// Infections at the pooled rate.
    pub expected: f64,
    /// The limits of its rate around the pooled one; null without an infection anywhere.
    pub funnel: Funnel,
    /// The side on which it lies beyond the limits of 99.8 %; null within.
    pub beyond: Option<Beyond>,
    /// The side on which it is beyond the limits of 95 %; null within.
    pub beyond_95: Option<Beyond>,
    /// Its shrunken rate (empirical Bayes), per 1,000 device-days.
    pub shrunken: Shrunken,
}

/// The funnel at one exposure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FunnelPlace {
    /// Device-days.
    pub device_days: f64,
    /// The limits there, per 1,000 device-days.
    #[serde(flatten)]
    pub funnel: Funnel,
}

impl PoolReport {
    /// The reports side by side; of one, its groups.
    ///
    /// # Errors
    /// They are not of one year, one program is there twice, or there is nothing to compare.
    pub fn of(given: Vec<GivenReport>) -> Result<PoolReport, Failure> {
        let faults = conflicts(&given);
        if !faults.is_empty() {
            return Err(Failure::new(faults.join("\n")));
        }
        let Some(first) = given.first() else { return Err(Failure::new("name the reports to pool")) };
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

/// One whose rate is compared: what was counted, before anything is computed of it.
#[derive(Debug, Clone)]
pub(super) struct Compared {
    pub(super) name: String,
    pub(super) source: Source,
    pub(super) patients: Option<u64>,
    pub(super) events: u64,
    pub(super) device_days: i64,
}

/// The figures of all: the pooled rate, the spread, and each.
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

/// The funnel from a fraction of the smallest exposure to a little more than the largest.
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

/// Everything for which the reports cannot stand side by side, each in a sentence.
fn conflicts(given: &[GivenReport]) -> Vec<String> {
    let mut faults = Vec::new();
    for (n, one) in given.iter().enumerate() {
        let is_same = |other: &&GivenReport| other.name.to_lowercase() == one.name.to_lowercase();
        if let Some(other) = given[..n].iter().find(is_same) {
            faults.push(format!(
                "{} and {} are both of \"{}\", which counts once; leave one of them out",
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
                "{} is of {}, and {} of {}; name reports of one year",
                first.source.file, first.year, one.source.file, one.year
            )
        }));
    }
    faults
}

fn not_complete(one: &GivenReport) -> Option<Unusable> {
    let message = match one.not_read {
        Some(0) => return None,
        Some(files) => format!("{} of its records could not be read when it was made", count(files as i64, "file")),
        None => "files of its records could not be read when it was made".to_owned(),
    };
    Some(Unusable { file: one.source.file.clone(), line: None, message })
}

fn at(at: &At) -> i64 {
    match at {
        At::Time(time) => time.timestamp(),
        At::Day(_) => i64::MIN,
    }
}
