//! What fewer than five patients have is left out, and so much more that it cannot be worked out.
//!
//! In a table, a value that fewer than five patients have is *rare*. Of the rare values of a column,
//! - if they are two or more, and of five patients or more together, each record that holds one says nothing but its
//!   patient and its day: which of the values it was, and which of the patients had it, is not told;
//! - else the column is empty in every row: left out alone, a value would be the one that is not seen, or its patients
//!   the few whose records say nothing.
//!
//! Both take further values away, so it is done again until no value is rare. A whole record says nothing where one of its
//! values does, since the others could tell it: an amount tells that there was drainage.
//!
//! Of patients the values are looked at together ([`tell_of_patients`]): three that many have can mark one patient.

use std::collections::{BTreeMap, BTreeSet};

/// The fewest patients of whom something is told.
pub(super) const FEWEST: usize = 5;

/// The values of a table's columns, each by a number; none where nothing is known.
#[derive(Debug, Default)]
pub(super) struct Values {
    /// Of each row the patient.
    pub(super) patients: Vec<u32>,
    /// Of each row its values.
    pub(super) rows: Vec<Box<[Option<u32>]>>,
    /// Whether a row says nothing but its patient and its day.
    pub(super) is_left_out: Vec<bool>,
    /// The columns that are empty.
    pub(super) empty: BTreeSet<usize>,
}

impl Values {
    /// How many patients have a row.
    pub(super) fn count_patients(&self) -> usize {
        self.patients.iter().collect::<BTreeSet<_>>().len()
    }

    /// Leaves out what is rare, until nothing is.
    pub(super) fn leave_out(&mut self, columns: usize) {
        self.is_left_out = vec![false; self.rows.len()];
        loop {
            let is_settled = (0..columns).all(|column| self.is_settled(column));
            if is_settled {
                return;
            }
        }
    }

    /// Whether nothing is rare in a column; what is, is left out.
    fn is_settled(&mut self, column: usize) -> bool {
        if self.empty.contains(&column) {
            return true;
        }
        let rare = self.rare(column);
        if rare.is_empty() {
            return true;
        }
        let together: BTreeSet<u32> = rare.values().flatten().copied().collect();
        if rare.len() < 2 || together.len() < FEWEST {
            self.empty.insert(column);
            return false;
        }
        for (row, is_left_out) in self.rows.iter().zip(&mut self.is_left_out) {
            *is_left_out |= row[column].is_some_and(|value| rare.contains_key(&value));
        }
        false
    }

    /// The rare values that are told in a column, with their patients.
    fn rare(&self, column: usize) -> BTreeMap<u32, BTreeSet<u32>> {
        let mut holders: BTreeMap<u32, BTreeSet<u32>> = BTreeMap::new();
        let told = (0..self.rows.len()).filter(|n| !self.is_left_out[*n]);
        for (value, n) in told.filter_map(|n| Some((self.rows[n][column]?, n))) {
            let patients = holders.entry(value).or_default();
            if patients.len() < FEWEST {
                patients.insert(self.patients[n]);
            }
        }
        holders.retain(|_, patients| patients.len() < FEWEST);
        holders
    }
}

/// Of each patient which of its values are told.
///
/// Value by value, patients are put together who share what is told so far. Among them a value of fewer than five is left
/// out, and of the others the rarest ones, too, until they are two values or more and of five patients or more together;
/// those of whom it is left out go on as one group.
///
/// ```text
/// transplant 6, death 2, none 40   ->  of death and transplant nothing, none 40
/// ```
pub(super) fn tell_of_patients(patients: &[Vec<String>]) -> Vec<Vec<bool>> {
    let mut told: Vec<Vec<bool>> = patients.iter().map(|values| vec![false; values.len()]).collect();
    if patients.len() >= FEWEST {
        tell(patients, &(0..patients.len()).collect::<Vec<_>>(), 0, &mut told);
    }
    told
}

fn tell(patients: &[Vec<String>], group: &[usize], column: usize, told: &mut [Vec<bool>]) {
    let mut by_value: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for n in group {
        let Some(value) = patients[*n].get(column) else { return };
        by_value.entry(value).or_default().push(*n);
    }
    let mut groups: Vec<Vec<usize>> = by_value.into_values().collect();
    groups.sort_by_key(Vec::len);
    let rare = groups.iter().filter(|group| group.len() < FEWEST).count();
    let is_enough = |first: usize| first >= 2 && groups[..first].iter().map(Vec::len).sum::<usize>() >= FEWEST;
    let left_out = if rare == 0 { 0 } else { (rare..=groups.len()).find(|n| is_enough(*n)).unwrap_or(groups.len()) };
    for group in &groups[left_out..] {
        group.iter().for_each(|n| told[*n][column] = true);
        tell(patients, group, column + 1, told);
    }
    if left_out > 0 {
        tell(patients, &groups[..left_out].concat(), column + 1, told);
    }
}

#[cfg(test)]
mod tests {
    use super::{Values, tell_of_patients};

    /// One column: of each patient one row with a value; what is told of it.
    fn told(values: &[u32]) -> Vec<Option<u32>> {
        let mut table = Values {
            patients: (0..values.len() as u32).collect(),
            rows: values.iter().map(|value| vec![Some(*value)].into_boxed_slice()).collect(),
            ..Values::default()
        };
        table.leave_out(1);
        let is_told = |n: usize| !table.is_left_out[n] && !table.empty.contains(&0);
        (0..values.len()).map(|n| is_told(n).then(|| values[n])).collect()
    }

    #[test]
    fn what_five_patients_have_is_told() {
        assert_eq!(told(&[1; 5]), [Some(1); 5]);
        assert_eq!(told(&[1, 1, 1, 1]), [None; 4]);
    }

    #[test]
    fn one_rare_value_takes_its_column_with_it() {
        assert_eq!(told(&[1, 1, 1, 1, 1, 2]), [None; 6]);
    }

    #[test]
    fn several_rare_values_of_five_patients_hide_behind_each_other() {
        let expected = [Some(1), Some(1), Some(1), Some(1), Some(1), None, None, None, None, None];
        assert_eq!(told(&[1, 1, 1, 1, 1, 2, 2, 3, 3, 4]), expected);
    }

    #[test]
    fn a_record_left_out_for_one_value_tells_none_of_the_others() {
        // The first column is rare in the last rows; the second is then held by too few.
        let first = [1, 1, 1, 1, 1, 2, 2, 3, 3, 3];
        let second = [7, 7, 7, 7, 8, 8, 8, 8, 8, 7];
        let rows = (0..10).map(|n| vec![Some(first[n]), Some(second[n])].into_boxed_slice()).collect();
        let mut table = Values { patients: (0..10).collect(), rows, ..Values::default() };
        table.leave_out(2);
        let told: Vec<usize> = (0..10).filter(|n| !table.is_left_out[*n]).collect();
        assert!(table.empty.contains(&1) || told.is_empty(), "{table:?}");
    }

    #[test]
    fn patients_are_told_apart_only_in_fives() {
        let patient = |values: [&str; 2]| values.map(str::to_owned).to_vec();
        let mut patients = vec![patient(["none", "a"]); 6];
        patients.extend(vec![patient(["none", "b"]); 3]);
        patients.extend(vec![patient(["transplant", "a"]); 5]);
        patients.extend(vec![patient(["death", "a"]); 2]);
        // Two deaths hide among the transplants; of those without an end three are b, so neither a nor b is told.
        let expected = [vec![vec![true, false]; 9], vec![vec![false, true]; 7]].concat();
        assert_eq!(tell_of_patients(&patients), expected);
    }
}
