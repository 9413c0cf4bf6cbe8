//! The score of an exit site: points, band and trend. It grades recorded findings; it does not diagnose infection.
//!
//! An item that was not assessed is missing, not 0: the total is then a range, and the band is `undetermined` unless both
//! ends of the range fall in the same band. Without drainage, no band is better than `undetermined`.

use schemars::JsonSchema;
use serde::Serialize;

use crate::day::Calendar;
use crate::event::{At, Event, Finding, Site, SiteField, Source};
use crate::patient::ExitSite;
use crate::people::People;
use crate::policy::{Band, Item, PointScale, Rubric, Scoring, UNDETERMINED};
use crate::timeline::Timeline;
use crate::word::words;

/// The caution on every grade, alert and audit.
pub(crate) const CAUTION: &str = "Grades what was written down; finds or excludes no infection. Program policy, device instructions for use, local codes and licensed practice come first.";

/// The known weakness of the built-in rubric, included in every grade.
///
/// Source: Clin Nephrol 2014;81:100-104; 7 of 11 is 63.6 %, 95 % limits 35 to 85 % (Wilson).
pub const WEAKNESS: &str = "Known weakness: in 50 peritoneal dialysis patients a total of 4 or more, or pus, found 7 of 11 infected sites (64 %, 95 % limits 35 to 85 %) and none of 39 others, mostly because granulation tissue has no item (Clin Nephrol 2014;81:100-104). The rubric was made for another kind of line through the skin of the abdomen. A low score is not an all-clear.";

/// The caution next to a score.
pub(crate) const NO_ALL_CLEAR: &str = "A low score is not an all-clear.";

/// One scored item.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ScoredItem {
    /// The field of `[site]`.
    #[serde(rename = "item")]
    pub field: SiteField,
    /// Finding; null if not assessed.
    pub value: Option<Finding>,
    /// Points; null if not assessed.
    pub points: Option<i64>,
    /// Maximum points of the item.
    pub most: i64,
}

/// A site record scored by a rubric.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Score {
    /// Item by item.
    pub items: Vec<ScoredItem>,
    /// Sum of the known points.
    pub total_min: i64,
    /// The known points plus the maximum points of each missing item.
    pub total_max: i64,
    /// Band, or `undetermined`.
    pub band: String,
    /// Fields with a finding that no item of the rubric scores; body temperature is not among them.
    pub unscored: Vec<SiteField>,
}

words! {
    /// The trend of a site.
    pub enum Trend {
        /// No earlier record.
        First = "first",
        /// Worse.
        Rising = "rising",
        /// Unchanged.
        Steady = "steady",
        /// Better.
        Falling = "falling",
        /// The earlier record is too old, or has no item in common.
        Unclear = "unclear",
    }
}

impl Score {
    /// Scores the findings of a site record.
    ///
    /// ```
    /// # use exitsite::event::{Drainage, Pain, Site, SiteField, Swelling};
    /// # use exitsite::policy::Rubric;
    /// # use exitsite::score::Score;
    /// let rubric = Rubric::built_in().unwrap();
    /// let dry = Site {
    ///     drainage: Some(Drainage::None), redness_mm: Some(0.0), swelling: Some(Swelling::None), crust_mm: Some(0.0), pain: Some(Pain::None),
    ///     ..Site::default()
    /// };
    /// let total = |site: &Site| { let score = Score::of(&rubric, site); (score.total(), score.band) };
    /// assert_eq!(total(&dry), (Some(0), "none-noted".to_owned()));
    /// // redness of exactly 5 mm has two points, below it one
    /// assert_eq!(total(&Site { redness_mm: Some(4.9), ..dry.clone() }).0, Some(1));
    /// assert_eq!(total(&Site { redness_mm: Some(5.0), ..dry.clone() }), (Some(2), "watch".to_owned()));
    /// // pus is for review at any total
    /// assert_eq!(total(&Site { drainage: Some(Drainage::Purulent), ..dry.clone() }), (Some(2), "review".to_owned()));
    /// // drainage not looked at: no band is better than undetermined
    /// assert_eq!(total(&Site { drainage: None, ..dry.clone() }), (None, "undetermined".to_owned()));
    /// // but the worst band is reached already
    /// let bad = Site { drainage: None, redness_mm: Some(12.0), pain: Some(Pain::Severe), ..dry.clone() };
    /// assert_eq!(total(&bad), (None, "review".to_owned()));
    /// // odor has no item in this rubric, so a total of 0 is not a site without findings
    /// let smells = Score::of(&rubric, &Site { odor: Some(true), warmth: Some(false), ..dry });
    /// assert_eq!((smells.total(), smells.unscored), (Some(0), vec![SiteField::Odor]));
    /// ```
    pub fn of(rubric: &Rubric, site: &Site) -> Score {
        let items: Vec<ScoredItem> = rubric.items.iter().map(|item| scored(item, site)).collect();
        let total_min = items.iter().filter_map(|item| item.points).sum();
        let total_max = items.iter().map(|item| item.points.unwrap_or(item.most)).sum();
        let always = |may_be: &dyn Fn(SiteField, &str) -> bool| {
            rubric.always.iter().filter(|always| may_be(always.field, &always.is)).map(|always| always.band).max()
        };
        let is_seen = |field, is: &str| site.finding(field).is_some_and(|finding| level(finding) == is);
        let lower = band(rubric, total_min).max(always(&is_seen));
        let upper = band(rubric, total_max).max(always(&|field, is| is_seen(field, is) || is_missing(&items, field)));
        let worst = rubric.cutoffs.len().checked_sub(1);
        let settled = (lower == upper || lower == worst).then_some(lower).flatten();
        let band = settled.and_then(|n| rubric.cutoffs.get(n)).map_or(UNDETERMINED, |cutoff| &cutoff.band).to_owned();
        let unscored = unscored(rubric, site);
        Score { items, total_min, total_max, band, unscored }
    }

    /// Returns true if every item was assessed.
    pub fn is_complete(&self) -> bool {
        self.items.iter().all(|item| item.points.is_some())
    }

    /// Returns true if any item was assessed, which makes an event a site record.
    pub(crate) fn is_site_record(&self) -> bool {
        self.items.iter().any(|item| item.points.is_some())
    }

    /// The total; `None` unless every item was assessed.
    pub fn total(&self) -> Option<i64> {
        self.is_complete().then_some(self.total_min)
    }

    /// The trend since an earlier score, over the items assessed in both.
    pub(crate) fn trend_since(&self, earlier: &Score) -> Trend {
        let both: Vec<(i64, i64, i64)> = self
            .items
            .iter()
            .zip(&earlier.items)
            .filter_map(|(now, then)| Some((now.points?, then.points?, now.most)))
            .collect();
        let now: i64 = both.iter().map(|(now, ..)| now).sum();
        let then: i64 = both.iter().map(|(_, then, _)| then).sum();
        let has_new_worst = both.iter().any(|(now, then, most)| now == most && then < most);
        match now.cmp(&then) {
            _ if both.is_empty() => Trend::Unclear,
            std::cmp::Ordering::Greater => Trend::Rising,
            _ if has_new_worst => Trend::Rising,
            std::cmp::Ordering::Less => Trend::Falling,
            std::cmp::Ordering::Equal => Trend::Steady,
        }
    }
}

/// The fields with a finding that no item of the rubric scores. The amount belongs to the drainage, and a temperature is a
/// finding only by the policy's threshold for fever.
fn unscored(rubric: &Rubric, site: &Site) -> Vec<SiteField> {
    let is_scored = |field: SiteField| rubric.items.iter().any(|item| item.field == field);
    let has_finding = |field: SiteField| site.finding(field).is_some_and(Finding::is_present);
    let fields = SiteField::ALL.iter().copied();
    let fields = fields.filter(|field| !matches!(field, SiteField::Amount | SiteField::TemperatureC));
    fields.filter(|field| !is_scored(*field) && has_finding(*field)).collect()
}

/// A scored site record with its trend.
#[derive(Debug, Clone)]
pub struct Graded<'t> {
    /// The event.
    pub event: &'t Event,
    /// The score.
    pub score: Score,
    /// True if the site was seen by staff.
    pub is_staff_look: bool,
    /// The trend.
    pub trend: Trend,
}

/// A scored site record, independent of the record itself.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ScoredSite {
    /// Time of the record, or its day.
    pub at: At,
    /// The file.
    pub file: String,
    /// The rubric.
    pub rubric: String,
    /// Total; null if an item was not assessed.
    pub total: Option<i64>,
    /// True if every item was assessed.
    pub complete: bool,
    /// Items, range and band.
    #[serde(flatten)]
    pub score: Score,
    /// True if the site was seen by staff.
    pub staff_look: bool,
    /// The trend.
    pub trend: Trend,
}

impl Graded<'_> {
    /// Detaches the score from its record.
    pub fn assessment(&self, scoring: &Scoring, calendar: &Calendar) -> ScoredSite {
        ScoredSite {
            at: At::of(&self.event.when, calendar),
            file: self.event.file().to_owned(),
            rubric: scoring.rubric.name.clone(),
            total: self.score.total(),
            complete: self.score.is_complete(),
            score: self.score.clone(),
            staff_look: self.is_staff_look,
            trend: self.trend,
        }
    }
}

/// Returns true if staff of that day saw the site in person, or in a picture if pictures count.
pub(crate) fn is_staff_look(event: &Event, people: Option<&People>, image_counts: bool) -> bool {
    let is_seen = event.source == Source::Seen || image_counts && event.source == Source::Image;
    is_seen && people.is_some_and(|people| people.is_staff(&event.by, event.when.care_day))
}

/// Returns true if every item was assessed and there is no finding, including findings that are not scored.
pub(crate) fn is_clean(score: &Score, site: &Site) -> bool {
    let others = [site.odor, site.warmth, site.overgranulation, site.bleeding];
    score.is_complete() && score.total_max == 0 && !others.contains(&Some(true))
}

/// Every site record of an exit site, in order, each compared with the previous one.
pub fn grade<'t>(
    timeline: &'t Timeline,
    exit: &'t ExitSite,
    scoring: &Scoring,
    people: Option<&People>,
    image_counts: bool,
) -> Vec<Graded<'t>> {
    let mut graded: Vec<Graded> = Vec::new();
    for (event, site) in timeline.sites(exit) {
        let score = Score::of(&scoring.rubric, site);
        if !score.is_site_record() {
            continue;
        }
        let trend = match graded.last() {
            None => Trend::First,
            Some(earlier) if (event.when.care_day - earlier.event.when.care_day).num_days() > scoring.trend_days => {
                Trend::Unclear
            }
            Some(earlier) => score.trend_since(&earlier.score),
        };
        let is_staff_look = is_staff_look(event, people, image_counts);
        graded.push(Graded { event, score, is_staff_look, trend });
    }
    graded
}

fn scored(item: &Item, site: &Site) -> ScoredItem {
    // The amount of drainage is zero if there is no drainage.
    let is_dry_amount =
        item.field == SiteField::Amount && site.amount.is_none() && site.drainage == Some(crate::event::Drainage::None);
    let value = site.finding(item.field);
    let points = if is_dry_amount { Some(0) } else { value.and_then(|value| points(&item.scale, value)) };
    ScoredItem { field: item.field, value, points, most: item.most() }
}

fn points(scale: &PointScale, value: Finding) -> Option<i64> {
    match (scale, value) {
        (PointScale::Bands(steps), Finding::Measure(number)) => {
            let reaches = |limit| match limit {
                Band::UpTo(limit) => number <= limit,
                Band::Below(limit) => number < limit,
                Band::Open => true,
            };
            steps.iter().find(|step| reaches(step.limit)).map(|step| step.points)
        }
        (PointScale::Levels(levels), value) => {
            levels.iter().find(|(word, _)| *word == level(value)).map(|(_, points)| *points)
        }
        _ => None,
    }
}

/// The word for a finding among the levels of a rubric.
fn level(finding: Finding) -> &'static str {
    match finding {
        Finding::Word(word) => word,
        Finding::Flag(true) => "true",
        Finding::Flag(false) => "false",
        Finding::Measure(_) => "",
    }
}

fn is_missing(items: &[ScoredItem], field: SiteField) -> bool {
    items.iter().any(|item| item.field == field && item.points.is_none())
}

/// The index of the cutoff for a total.
fn band(rubric: &Rubric, total: i64) -> Option<usize> {
    rubric.cutoffs.iter().rposition(|cutoff| cutoff.from <= total)
}
