//! A rubric: the points for each finding at the exit site, and the bands of the total.
//!
//! The built-in rubric is data in the same format (`exit-site.toml`).

use crate::event::SiteField;
use crate::place::RecordText;
use crate::problem::{Rule, makes_unusable};
use crate::record::{self, Table, fields};
use crate::text;
use crate::word::Word;

/// The name of the built-in rubric.
pub(super) const BUILT_IN: &str = "exit-site";

/// A rubric.
#[derive(Debug, Clone, PartialEq)]
pub struct Rubric {
    /// Its name.
    pub name: String,
    /// Items.
    pub items: Vec<Item>,
    /// The bands, mildest first.
    pub cutoffs: Vec<Cutoff>,
    /// Findings that force a band regardless of the total.
    pub always: Vec<Always>,
}

/// One item of the rubric.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The field of `[site]`.
    pub field: SiteField,
    /// The points for its values.
    pub scale: PointScale,
}

/// The points for the values of a field.
#[derive(Debug, Clone, PartialEq)]
pub enum PointScale {
    /// Points for each word; for a flag, `true` and `false`.
    Levels(Vec<(String, i64)>),
    /// Points for ranges of a measure in ascending order; the last one is open.
    Bands(Vec<PointBand>),
}

/// Points for measures up to a limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointBand {
    /// The limit.
    pub limit: Band,
    /// The points.
    pub points: i64,
}

/// The upper limit of a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Band {
    /// Up to and including this value.
    UpTo(f64),
    /// Below this value.
    Below(f64),
    /// No limit.
    Open,
}

fields! {
    /// The lowest total of a band.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Cutoff {
        /// The band's name.
        pub band: String,
        /// Its lowest total.
        pub from: i64 = needed whole((0, 999)),
    }
}

/// A finding that forces a band regardless of the total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Always {
    /// The field.
    pub field: SiteField,
    /// Its word.
    pub is: String,
    /// The index of the band in `cutoffs`.
    pub band: usize,
}

impl Rubric {
    /// The built-in rubric.
    pub fn built_in() -> Option<Rubric> {
        let source = RecordText { file: "exit-site.toml".into(), text: include_str!("exit-site.toml").into() };
        let mut problems = Vec::new();
        let rubric = record::read(&source, &mut problems, |table| Rubric::read_all(table).pop());
        rubric.filter(|_| !makes_unusable(&problems))
    }

    pub(super) fn read_all(table: &mut Table) -> Vec<Rubric> {
        let mut names: Vec<String> = Vec::new();
        let rubrics = table.rows("rubric", "a program's own rubric", |table| {
            let rubric = Rubric::read(table)?;
            if names.contains(&rubric.name) {
                table.add(
                    Rule::TwiceInPolicy,
                    "name",
                    format!("two rubrics are named \"{}\"", text::visible(&rubric.name)),
                    "give each a different name",
                );
            }
            names.push(rubric.name.clone());
            Some(rubric)
        });
        rubrics.unwrap_or_default()
    }

    fn read(table: &mut Table) -> Option<Rubric> {
        let name = table.needed().text("name", "its name");
        let items = table.needed().rows("item", "items that are scored", Item::read);
        let cutoffs = table.needed().rows("cutoff", "the bands, mildest first", Cutoff::read);
        let (items, cutoffs) = (items?, cutoffs?);
        if !table.is_description() {
            check_cutoffs(table, &cutoffs);
            let mut fields: Vec<SiteField> = items.iter().map(|item| item.field).collect();
            fields.sort();
            fields.dedup();
            if items.is_empty() || fields.len() < items.len() {
                table.add(
                    Rule::Rubric,
                    "item",
                    "the rubric has no items, or has a field twice",
                    "give each field exactly one item",
                );
            }
        }
        let always = table.rows("always", "findings that force a band regardless of the total", |table| {
            Always::read(table, &items, &cutoffs)
        });
        Some(Rubric { name: name?, items, cutoffs, always: always.unwrap_or_default() })
    }
}

impl Item {
    fn read(table: &mut Table) -> Option<Item> {
        let field = table.needed().word::<SiteField>("field", "the field of [site]");
        let levels = table.numbers("levels", "points for each word");
        let bands =
            table.rows("bands", "points for ranges of a measure in ascending order, the last one open", |table| {
                let up_to = table.measure("up_to", MEASURE, "up to and including this value");
                let below = table.measure("below", MEASURE, "below this value");
                let points = table.needed().whole("points", (0, 99), "the points");
                let limit = match (up_to, below) {
                    (Some(up_to), None) => Band::UpTo(up_to),
                    (None, Some(below)) => Band::Below(below),
                    (None, None) => Band::Open,
                    (Some(_), Some(_)) => {
                        table.add(Rule::Rubric, "below", "both `up_to` and `below` are given", "keep one of them");
                        return None;
                    }
                };
                Some(PointBand { limit, points: points? })
            });
        let field = field?;
        let fault = match (&levels, &bands) {
            (Some(levels), None) => fault_of_levels(field, levels),
            (None, Some(bands)) => fault_of_bands(field, bands),
            _ => Some("an item has either `levels` or `bands`".to_owned()),
        };
        if let Some(fault) = fault.filter(|_| !table.is_description()) {
            table.add(Rule::Rubric, "field", fault, "see the built-in rubric in the template's policy.toml");
        }
        match (levels, bands) {
            (Some(levels), _) => Some(Item { field, scale: PointScale::Levels(levels) }),
            (None, bands) => Some(Item { field, scale: PointScale::Bands(bands?) }),
        }
    }

    /// The maximum points of the item.
    pub fn most(&self) -> i64 {
        match &self.scale {
            PointScale::Levels(levels) => levels.iter().map(|(_, points)| *points).max().unwrap_or(0),
            PointScale::Bands(steps) => steps.iter().map(|step| step.points).max().unwrap_or(0),
        }
    }
}

impl Always {
    fn read(table: &mut Table, items: &[Item], cutoffs: &[Cutoff]) -> Option<Always> {
        let field = table.needed().word::<SiteField>("field", "the field of [site]");
        let is = table.needed().text("is", "its word");
        let band = table.needed().text("band", "the band that it forces");
        let (field, is, band) = (field?, is?, band?);
        let known = items.iter().find(|item| item.field == field).and_then(|item| match &item.scale {
            PointScale::Levels(levels) => levels.iter().find(|(word, _)| *word == is),
            PointScale::Bands(_) => None,
        });
        let place = cutoffs.iter().position(|cutoff| cutoff.band == band);
        if known.is_none() || place.is_none() {
            table.add(
                Rule::Rubric,
                "field",
                "`always` must name a word of an item and a band of this rubric",
                "check `item` and `cutoff` of this rubric",
            );
        }
        Some(Always { field, is, band: place? })
    }
}

const MEASURE: crate::record::Limits = crate::record::Limits { possible: (0.0, 300.0), likely: (0.0, 300.0), unit: "" };

fn check_cutoffs(table: &mut Table, cutoffs: &[Cutoff]) {
    let rises = cutoffs.windows(2).all(|pair| pair[0].from < pair[1].from);
    let distinct = cutoffs.iter().all(|cutoff| cutoffs.iter().filter(|other| other.band == cutoff.band).count() == 1);
    if cutoffs.first().is_none_or(|first| first.from != 0) || !rises || !distinct {
        table.add(
            Rule::Rubric,
            "cutoff",
            "cutoffs must start at 0 and ascend, each with a different name",
            "sort them by `from`; the first has from = 0",
        );
    } else if cutoffs.iter().any(|cutoff| cutoff.band == UNDETERMINED) {
        table.add(
            Rule::Rubric,
            "cutoff",
            "\"undetermined\" is reserved: it means that too few items were assessed",
            "choose another name",
        );
    }
}

/// The band name if too few items were assessed.
pub const UNDETERMINED: &str = "undetermined";

fn fault_of_levels(field: SiteField, levels: &[(String, i64)]) -> Option<String> {
    let words: &[&str] = match field.words() {
        Some(words) => words,
        None if field.is_flag() => &["true", "false"],
        None => return Some(format!("`{}` is a measure, so it needs `bands`", field.word())),
    };
    let unknown = levels.iter().find(|(word, _)| !words.contains(&word.as_str()));
    let missing = words.iter().find(|word| levels.iter().all(|(level, _)| level != *word));
    let is_without_zero = levels.iter().map(|(_, points)| *points).min() != Some(0);
    match (unknown, missing) {
        (Some((word, _)), _) => Some(format!("\"{1}\" is not a value of `{0}`", field.word(), text::visible(word))),
        (_, Some(word)) => Some(format!("`{}` has no points for \"{word}\"", field.word())),
        _ if is_without_zero => Some(format!("the lowest points of `{}` must be 0", field.word())),
        _ if levels.iter().any(|(_, points)| *points < 0) => Some("points cannot be negative".to_owned()),
        _ => None,
    }
}

fn fault_of_bands(field: SiteField, steps: &[PointBand]) -> Option<String> {
    if field.words().is_some() || field.is_flag() {
        return Some(format!("`{}` takes words, so it needs `levels`", field.word()));
    }
    // `up_to = 5` includes 5 and `below = 5` does not.
    let reach = |step: &PointBand| match step.limit {
        Band::Below(limit) => (limit, false),
        Band::UpTo(limit) => (limit, true),
        Band::Open => (f64::INFINITY, true),
    };
    let rises = steps.windows(2).all(|pair| reach(&pair[0]) < reach(&pair[1]) && pair[0].points <= pair[1].points);
    if steps.last().is_none_or(|last| last.limit != Band::Open) || !rises {
        return Some(format!("the bands of `{}` must ascend, and the last one must be open", field.word()));
    }
    (steps.first().map(|first| first.points) != Some(0))
        .then(|| format!("the lowest points of `{}` must be 0", field.word()))
}
