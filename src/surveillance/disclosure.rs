//! Which cells of published tables are left out, so that none of few patients can be read or worked out.
//!
//! A cell of 1 to 4 patients is left out. Since tables add up, further cells are left out until nobody who knows all that
//! is published, and that no empty cell is left out, could say of a cell that is left out more than a range at least as
//! wide as 1 to 4. After the complementary suppression of official statistics, as in Hundepool A et al., Statistical
//! Disclosure Control, Wiley 2012, chapter 4 (from memory); the search for further cells is this project's own.

/// Cells of so many patients, or fewer but one at least, are left out.
pub const FEW: u64 = 4;

/// One count, and of how many patients it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cell {
    /// The count.
    pub value: u64,
    /// The patients who add to it.
    pub patients: u64,
}

/// A sum that everybody knows: the total is that of the parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sum {
    /// The cell of the total.
    pub total: usize,
    /// The cells of the parts.
    pub parts: Vec<usize>,
}

/// What can be said of a cell that is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Range {
    low: u64,
    high: u64,
}

impl Range {
    /// Of a cell that is left out alone: one or more.
    const UNKNOWN: Range = Range { low: 1, high: u64::MAX };

    /// Whether it says as little as that it is one of few, or half of what it is more or less.
    fn hides(self, cell: Cell) -> bool {
        self.high - self.low >= (FEW - 1).max(cell.value / 2)
    }
}

/// Of each cell whether it is left out.
///
/// ```
/// # use exitsite::surveillance::disclosure::{Cell, Sum, left_out};
/// let cell = |value| Cell { value, patients: value };
/// let table = |parts: &[u64]| {
///     let mut cells: Vec<Cell> = parts.iter().map(|part| cell(*part)).collect();
///     cells.push(cell(parts.iter().sum()));
///     left_out(&cells, &[Sum { total: parts.len(), parts: (0..parts.len()).collect() }])
/// };
/// // nothing of few patients: everything is told
/// assert_eq!(table(&[10, 20]), [false, false, false]);
/// // 3 of few alone would be 33 − 30: the smallest other part goes with it
/// assert_eq!(table(&[3, 10, 20]), [true, true, false, false]);
/// // two of few with the sum 2 would both be 1: a third goes with them
/// assert_eq!(table(&[1, 1, 9, 20]), [true, true, true, false, false]);
/// // nothing else to take: the total goes
/// assert_eq!(table(&[3, 0]), [true, false, true]);
/// ```
pub fn left_out(cells: &[Cell], sums: &[Sum]) -> Vec<bool> {
    let mut left_out: Vec<bool> = cells.iter().map(|cell| (1..=FEW).contains(&cell.patients)).collect();
    while let Some(cell) = worked_out(cells, sums, &left_out) {
        let Some(further) = further(cell, cells, sums, &left_out) else { break };
        left_out[further] = true;
    }
    left_out
}

/// A cell that is left out and of which too much can be said.
fn worked_out(cells: &[Cell], sums: &[Sum], left_out: &[bool]) -> Option<usize> {
    let ranges = ranges(cells, sums, left_out);
    (0..cells.len()).find(|n| left_out[*n] && !ranges[*n].hides(cells[*n]))
}

/// The smallest cell that is told beside one that is not, parts before totals; an empty one is of nobody.
fn further(cell: usize, cells: &[Cell], sums: &[Sum], left_out: &[bool]) -> Option<usize> {
    // A sum of a sum, too: what a total tells is told by its own total.
    let mut near = vec![cell];
    for _ in 0..2 {
        let holds = |sum: &&Sum| near.contains(&sum.total) || sum.parts.iter().any(|part| near.contains(part));
        let beside: Vec<usize> =
            sums.iter().filter(holds).flat_map(|sum| sum.parts.iter().copied().chain([sum.total])).collect();
        let can_go = |n: &usize| !left_out[*n] && cells[*n].value > 0;
        let is_total = |n: usize| sums.iter().any(|sum| sum.total == n);
        if let Some(found) = beside.iter().copied().filter(can_go).min_by_key(|n| (is_total(*n), cells[*n].value, *n)) {
            return Some(found);
        }
        near.extend(beside);
    }
    None
}

/// What can be said of each cell, from all that is told: each sum bounds its parts by the others, again and again.
fn ranges(cells: &[Cell], sums: &[Sum], left_out: &[bool]) -> Vec<Range> {
    let told = |n: usize| Range { low: cells[n].value, high: cells[n].value };
    let mut ranges: Vec<Range> = (0..cells.len()).map(|n| if left_out[n] { Range::UNKNOWN } else { told(n) }).collect();
    loop {
        let before = ranges.clone();
        for sum in sums {
            let low = sum.parts.iter().fold(0u64, |low, part| low.saturating_add(ranges[*part].low));
            let high = sum.parts.iter().fold(0u64, |high, part| high.saturating_add(ranges[*part].high));
            narrow(&mut ranges[sum.total], low, high);
            let total = ranges[sum.total];
            for part in &sum.parts {
                let others = || sum.parts.iter().filter(|other| *other != part).map(|other| ranges[*other]);
                let most = others().fold(0u64, |high, other| high.saturating_add(other.high));
                let least = others().fold(0u64, |low, other| low.saturating_add(other.low));
                narrow(&mut ranges[*part], total.low.saturating_sub(most), total.high.saturating_sub(least));
            }
        }
        if ranges == before {
            return ranges;
        }
    }
}

fn narrow(range: &mut Range, low: u64, high: u64) {
    range.low = range.low.max(low);
    range.high = range.high.min(high).max(range.low);
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A table of two outcomes by three phases with all its totals, as rows of cells: parts, then totals.
    fn table(values: &[u64; 6]) -> (Vec<Cell>, Vec<Sum>) {
        let cell = |value: u64| Cell { value, patients: value };
        let at = |row: usize, column: usize| values[row * 3 + column];
        let mut cells: Vec<Cell> = values.iter().map(|value| cell(*value)).collect();
        let mut sums = Vec::new();
        for row in 0..2 {
            cells.push(cell((0..3).map(|column| at(row, column)).sum()));
            sums.push(Sum { total: cells.len() - 1, parts: (0..3).map(|column| row * 3 + column).collect() });
        }
        for column in 0..3 {
            cells.push(cell(at(0, column) + at(1, column)));
            sums.push(Sum { total: cells.len() - 1, parts: vec![column, 3 + column] });
        }
        cells.push(cell(values.iter().sum()));
        sums.push(Sum { total: 11, parts: vec![6, 7] });
        sums.push(Sum { total: 11, parts: vec![8, 9, 10] });
        (cells, sums)
    }

    /// Every table that agrees with what is told, found by trying all: the values that each cell can have.
    fn attack(cells: &[Cell], left_out: &[bool]) -> Vec<std::collections::BTreeSet<u64>> {
        let mut found = vec![std::collections::BTreeSet::new(); cells.len()];
        let choices = |n: usize| if left_out[n] { (1..=11).collect::<Vec<u64>>() } else { vec![cells[n].value] };
        let mut values = [0u64; 6];
        fn fill(
            n: usize,
            values: &mut [u64; 6],
            choices: &dyn Fn(usize) -> Vec<u64>,
            check: &mut dyn FnMut(&[u64; 6]),
        ) {
            if n == 6 {
                return check(values);
            }
            for value in choices(n) {
                values[n] = value;
                fill(n + 1, values, choices, check);
            }
        }
        let mut check = |values: &[u64; 6]| {
            let (candidate, _) = table(values);
            let agrees = |n: usize| match left_out[n] {
                true => candidate[n].value > 0,
                false => candidate[n].value == cells[n].value,
            };
            if (0..cells.len()).all(agrees) {
                candidate.iter().enumerate().for_each(|(n, cell)| _ = found[n].insert(cell.value));
            }
        };
        fill(0, &mut values, &choices, &mut check);
        found
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 100, max_global_rejects: 10_000, ..ProptestConfig::default() })]

        #[test]
        fn nobody_works_out_a_cell_that_is_left_out(
            values in prop::array::uniform6(prop_oneof![0u64..5, 5u64..12, 5u64..12]),
        ) {
            let (cells, sums) = table(&values);
            let left_out = left_out(&cells, &sums);
            // More than four unknown parts are too many to try.
            prop_assume!((1..=4).contains(&left_out[..6].iter().filter(|is_left_out| **is_left_out).count()));
            let found = attack(&cells, &left_out);
            for n in 0..cells.len() {
                prop_assert!(left_out[n] || cells[n].patients == 0 || cells[n].patients > FEW, "{n} is of few and told");
                prop_assert!(!left_out[n] || found[n].len() > 1, "{n} of {values:?} is worked out: {left_out:?}");
            }
        }
    }

    #[test]
    fn a_sum_that_no_cell_of_few_is_in_is_told() {
        let cells: Vec<Cell> = [9, 8, 17, 2].map(|value| Cell { value, patients: value }).to_vec();
        let sums = [Sum { total: 2, parts: vec![0, 1] }];
        assert_eq!(left_out(&cells, &sums), [false, false, false, true]);
    }
}
