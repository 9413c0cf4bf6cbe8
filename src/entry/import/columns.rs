//! The field of each column of a file: by the field name in the header, or by a map.

use std::collections::BTreeMap;

use super::cells::Cells;
use super::form::Forms;
use super::map::Map;
use super::target::{KEYS, Target};
use crate::entry::paper;
use crate::event::Kind;
use crate::text::{cut, in_sentences, nearest, visible};

/// The columns that `export` adds to those of the records. `import` skips them, and skips voided rows.
const OF_AN_EXPORT: [&str; 10] = [
    "file",
    "care_day",
    "voided",
    "amended",
    "entered.at",
    "entered.by",
    "void.at",
    "void.by",
    "void.why",
    "void.replaced_by",
];

/// The field of each column, by its index.
#[derive(Debug)]
pub(super) struct ColumnLayout {
    pub(super) forms: Forms,
    pub(super) header: Vec<String>,
    /// The records' word for each word of a column, in lower case: from a map, or from the numbers of the household's
    /// sheet.
    words: BTreeMap<(usize, String), String>,
    pub(super) blocks: Vec<ColumnBlock>,
    /// The column in which an export marks a voided record.
    voided: Option<usize>,
    /// True if the words are from a map rather than from the household's sheet.
    is_mapped: bool,
}

/// One record of a line: the columns of its values.
#[derive(Debug, Default)]
pub(super) struct ColumnBlock {
    pub(super) kind: Option<Kind>,
    pub(super) when_column: Option<usize>,
    pub(super) columns: Vec<(usize, Target)>,
    pub(super) constants: Vec<(Target, String)>,
}

impl ColumnBlock {
    /// The columns whose text it uses.
    pub(super) fn taken(&self) -> impl Iterator<Item = usize> {
        let has = |target: &Target| match (self.kind, target) {
            (Some(kind), Target::Field(key)) => KEYS.shape(kind, key).is_some(),
            _ => true,
        };
        self.columns.iter().filter(move |(_, target)| has(target)).map(|(n, _)| *n).chain(self.when_column)
    }

    /// The fault of two columns for the same field, of which one would be ignored silently.
    fn twice(&self, header: &[String]) -> Option<String> {
        let is_twice = |(at, (_, target)): (usize, &(usize, Target))| {
            let before = self.columns[..at].iter().find(|(_, known)| known == target)?;
            Some((before.0, self.columns[at].0))
        };
        let (one, other) = self.columns.iter().enumerate().find_map(is_twice)?;
        let [one, other] = [one.min(other), one.max(other)].map(|n| cut(&visible(&header[n]), 40));
        Some(format!("The columns \"{one}\" and \"{other}\" are the same field. Keep one of them."))
    }
}

impl ColumnLayout {
    /// The layout of a file.
    ///
    /// # Errors
    /// One sentence per unknown column, and per column that the map names but the file lacks.
    pub(super) fn of(cells: &Cells, map: Option<&Map>) -> Result<ColumnLayout, Vec<String>> {
        let layout = match map {
            None => ColumnLayout::of_own_names(&cells.header)?,
            Some(map) => ColumnLayout::of_map(&cells.header, map)?,
        };
        let mut twice: Vec<String> = layout.blocks.iter().filter_map(|block| block.twice(&layout.header)).collect();
        twice.dedup();
        if twice.is_empty() { Ok(layout) } else { Err(twice) }
    }

    fn of_own_names(header: &[String]) -> Result<ColumnLayout, Vec<String>> {
        let (mut columns, mut faults) = (Vec::new(), Vec::new());
        let is_of_a_record = |name: &str| !name.is_empty() && !OF_AN_EXPORT.contains(&name);
        for (n, name) in header.iter().enumerate().filter(|(_, name)| is_of_a_record(name)) {
            match Target::read(&name.to_lowercase(), None) {
                Ok(target) => columns.push((n, target)),
                Err((message, help)) => faults.push(in_sentences(&[&message, &help])),
            }
        }
        if !faults.is_empty() {
            faults.push("Import a spreadsheet's own columns with --map FILE.toml.".to_owned());
            return Err(faults);
        }
        let words = columns
            .iter()
            .flat_map(|(n, target)| paper::answers(target.key()).map(|(number, word)| ((*n, number), word.to_owned())));
        let words = words.collect();
        let blocks = vec![ColumnBlock { columns, ..ColumnBlock::default() }];
        let voided = header.iter().position(|name| name == "voided");
        Ok(ColumnLayout { forms: Forms::default(), header: header.to_vec(), words, blocks, voided, is_mapped: false })
    }

    fn of_map(header: &[String], map: &Map) -> Result<ColumnLayout, Vec<String>> {
        let mut faults = Vec::new();
        let mut place = |name: &str| {
            let found = header.iter().position(|column| column == name.trim());
            if found.is_none() {
                let near = nearest(name, header.iter().map(String::as_str));
                let near = near.map(|near| format!(" Did you mean \"{}\"?", visible(near))).unwrap_or_default();
                faults.push(format!("The map names a column \"{}\" that the file does not have.{near}", visible(name)));
            }
            found
        };
        let mut words = BTreeMap::new();
        for (column, word, meant) in &map.words {
            words.extend(place(column).map(|n| ((n, word.clone()), meant.clone())));
        }
        let common: Vec<(usize, Target)> =
            map.columns.iter().filter_map(|(name, target)| Some((place(name)?, target.clone()))).collect();
        let mut blocks = Vec::new();
        for block in &map.blocks {
            let when_column = block.when_column.as_ref().and_then(|name| place(name));
            let own = block.columns.iter().filter_map(|(name, target)| Some((place(name)?, target.clone())));
            let mut columns: Vec<(usize, Target)> = own.collect();
            let is_new = |(_, target): &&(usize, Target)| !block.columns.iter().any(|(_, own)| own == target);
            columns.extend(common.iter().filter(is_new).cloned());
            let constants = block.constants.iter().chain(&map.constants).cloned().collect();
            blocks.push(ColumnBlock { kind: Some(block.kind), when_column, columns, constants });
        }
        if blocks.is_empty() {
            blocks.push(ColumnBlock { columns: common, constants: map.constants.clone(), ..ColumnBlock::default() });
        }
        // Any spreadsheet may have a column of decisions.
        if let Some(same) = header.iter().position(|column| column == "same") {
            let is_new = |block: &&mut ColumnBlock| !block.columns.iter().any(|(n, _)| *n == same);
            blocks.iter_mut().filter(is_new).for_each(|block| block.columns.push((same, Target::Same)));
        }
        faults.extend(not_named(header, map, &blocks));
        faults.dedup();
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(ColumnLayout {
            forms: map.forms.clone(),
            header: header.to_vec(),
            words,
            blocks,
            voided: None,
            is_mapped: true,
        })
    }

    /// Returns true if a row is a voided record of an export.
    pub(super) fn is_voided(&self, cells: &[String]) -> bool {
        self.voided.and_then(|n| cells.get(n)).is_some_and(|cell| cell.eq_ignore_ascii_case("true"))
    }

    /// The cell's text in the records' words.
    pub(super) fn text<'c>(&'c self, n: usize, cell: &'c str) -> &'c str {
        if self.words.is_empty() {
            return cell;
        }
        self.words.get(&(n, cell.to_lowercase())).map_or(cell, String::as_str)
    }

    /// The spreadsheet's own words in a column.
    pub(super) fn own_words(&self, n: usize) -> Vec<&str> {
        self.words.keys().filter(|(column, _)| self.is_mapped && *column == n).map(|(_, word)| word.as_str()).collect()
    }

    /// Returns true if each record of a line has a column or a constant for a wanted field.
    pub(super) fn gives(&self, is_wanted: impl Fn(&Target) -> bool) -> bool {
        self.blocks.iter().all(|block| {
            let targets = block.columns.iter().map(|(_, target)| target);
            targets.chain(block.constants.iter().map(|(target, _)| target)).any(&is_wanted)
        })
    }
}

/// The faults of columns that the map neither names nor ignores.
fn not_named(header: &[String], map: &Map, blocks: &[ColumnBlock]) -> Vec<String> {
    let is_named = |n: usize| {
        blocks.iter().any(|block| block.when_column == Some(n) || block.columns.iter().any(|(column, _)| *column == n))
    };
    let is_ignored = |name: &String| map.ignored.iter().any(|ignored| ignored.trim() == name);
    let left = header.iter().enumerate().filter(|(n, name)| !name.is_empty() && !is_named(*n) && !is_ignored(name));
    let unused: Vec<&str> =
        map.ignored.iter().map(String::as_str).filter(|name| !header.iter().any(|column| column == name)).collect();
    let fault = |(_, name): (usize, &String)| {
        let near = nearest(name, unused.iter().copied()).map(|near| format!(" Is it \"{}\" in ignore?", visible(near)));
        let shown = cut(&visible(name), 40);
        format!(
            "The map has no entry for the column \"{shown}\".{} Add \"{shown}\" = \"…\" under [columns], or name it in ignore.",
            near.unwrap_or_default()
        )
    };
    left.map(fault).collect()
}
