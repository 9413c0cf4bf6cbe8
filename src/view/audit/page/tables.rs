//! The sheets of a section as tables: figures to the right, each cell under its head.

use crate::report::audit::Sheet;
use crate::view::html::Markup;

/// A table of more columns takes the page's width.
const NARROW: usize = 6;
/// More alike sheets than this make two tables.
const MANY: usize = 10;
/// So many alike sheets are on the page, the last ones; the text has all of them.
const MOST: usize = 30;
/// A cell of more letters is broken over lines; a code or a day never is.
const LONG: usize = 26;

/// Whether a sheet fits beside a picture.
pub(super) fn is_narrow(sheet: &Sheet) -> bool {
    sheet.heads.len() <= NARROW
}

/// Whether sheets ask the same of several: the same rows and heads, but for the name of the first column.
pub(super) fn are_alike(sheets: &[Sheet]) -> bool {
    let shape = |sheet: &Sheet| {
        let rows: Vec<String> = sheet.rows.iter().filter_map(|row| row.first().cloned()).collect();
        (sheet.heads.get(1..).map(<[String]>::to_vec), rows)
    };
    sheets.len() > 1 && sheets.iter().all(|sheet| shape(sheet) == shape(&sheets[0]))
}

/// The narrow tables of a section, and the wide ones.
pub(in crate::view::audit) fn tables(sheets: &[Sheet]) -> (Vec<Markup>, Vec<Markup>) {
    if are_alike(sheets) {
        return (Vec::new(), last_alike(sheets));
    }
    let (narrow, wide): (Vec<&Sheet>, Vec<&Sheet>) = sheets.iter().partition(|sheet| is_narrow(sheet));
    (narrow.into_iter().map(table).collect(), wide.into_iter().map(table).collect())
}

fn table(sheet: &Sheet) -> Markup {
    let right: Vec<bool> = (0..sheet.heads.len()).map(|n| is_figure(sheet, n)).collect();
    let head = |(n, head): (usize, &String)| match head.as_str() {
        "" => Markup::element("td", &[], []),
        head => cell("th", Some("col"), right[n], head),
    };
    let row = |row: &Vec<String>| {
        let cells = row.iter().enumerate().map(|(n, said)| match (n, said.as_str()) {
            (0, said) => {
                // the rows of a phase stand a little further in
                head_of_row(if said.starts_with("  ") { "in" } else { "" }, said.trim_start())
            }
            (n, said) => cell("td", None, right.get(n) == Some(&true), said),
        });
        Markup::element("tr", &[], cells).on_a_line()
    };
    whole(sheet.heads.iter().enumerate().map(head), sheet.rows.iter().map(row))
}

/// The last of alike sheets, and how many are left out.
fn last_alike(sheets: &[Sheet]) -> Vec<Markup> {
    let left_out = sheets.len().saturating_sub(MOST);
    let words = format!("The last {MOST} of {}; the text of this report has all of them.", sheets.len());
    let said = (left_out > 0).then(|| Markup::of("p", "", words));
    said.into_iter().chain([all_alike(&sheets[left_out..])]).collect()
}

/// Alike sheets as one table, or where there are many as two beside each other.
fn all_alike(sheets: &[Sheet]) -> Markup {
    if sheets.len() <= MANY {
        return one_of_all(sheets);
    }
    let (first, second) = sheets.split_at(sheets.len().div_ceil(2));
    Markup::element("div", &[("class", "columns many")], [one_of_all(first), one_of_all(second)])
}

/// Alike sheets as one table, a row for each of them and a column for each of their rows. A cell holds the figures of that
/// row; one that is the same for all of them stands once, in the last row.
fn one_of_all(sheets: &[Sheet]) -> Markup {
    let first = &sheets[0];
    let figures = |sheet: &Sheet, n: usize| -> Vec<String> {
        sheet.rows.iter().map(|row| row.get(n).cloned().unwrap_or_default()).collect()
    };
    let columns: Vec<usize> = (1..first.heads.len()).collect();
    let (same, own): (Vec<usize>, Vec<usize>) = columns
        .into_iter()
        .partition(|n| *n > 1 && sheets.iter().all(|sheet| figures(sheet, *n) == figures(first, *n)));
    let heads = [String::new()].into_iter().chain(figures(first, 0));
    let heads = heads.map(|head| match head.as_str() {
        "" => Markup::element(
            "td",
            &[],
            [Markup::text(own.iter().map(|n| first.heads[*n].as_str()).collect::<Vec<_>>().join(" · "))],
        ),
        head => cell("th", Some("col"), true, head),
    });
    let row = |sheet: &Sheet, name: &str, columns: &[usize]| {
        let cells = sheet.rows.iter().map(|row| {
            let said: Vec<&str> = columns.iter().filter_map(|n| row.get(*n).map(String::as_str)).collect();
            cell("td", None, true, &said.join(" · "))
        });
        Markup::element("tr", &[], [head_of_row("", name)].into_iter().chain(cells)).on_a_line()
    };
    let name = |sheet: &Sheet| sheet.heads.first().cloned().unwrap_or_default();
    let each = sheets.iter().map(|sheet| row(sheet, &name(sheet), &own));
    let once = same.iter().map(|n| row(first, &first.heads[*n], &[*n]));
    whole(heads, each.chain(once))
}

fn whole(heads: impl Iterator<Item = Markup>, rows: impl Iterator<Item = Markup>) -> Markup {
    let head = Markup::element("thead", &[], [Markup::element("tr", &[], heads)]).on_a_line();
    let table = Markup::element("table", &[], [head, Markup::element("tbody", &[], rows)]);
    Markup::element("div", &[("class", "scroll")], [table])
}

fn head_of_row(class: &str, said: &str) -> Markup {
    let class = if class.is_empty() && said.chars().count() > LONG { "long" } else { class };
    let attributes = [("scope", "row"), ("class", class)];
    Markup::element("th", if class.is_empty() { &attributes[..1] } else { &attributes }, [Markup::text(said)])
}

fn cell(name: &str, scope: Option<&str>, is_right: bool, said: &str) -> Markup {
    let mut attributes: Vec<(&str, &str)> = scope.map(|scope| ("scope", scope)).into_iter().collect();
    let class = if is_right { "n" } else { "long" };
    if is_right || said.chars().count() > LONG {
        attributes.push(("class", class));
    }
    Markup::element(name, &attributes, [Markup::text(said)])
}

/// Whether a column holds figures, as in the text.
fn is_figure(sheet: &Sheet, n: usize) -> bool {
    let mut cells = sheet.rows.iter().filter_map(|row| row.get(n)).filter(|cell| !cell.is_empty()).peekable();
    n > 0 && cells.peek().is_some() && cells.all(|cell| cell == "-" || cell.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet(heads: &[&str], rows: &[&[&str]]) -> Sheet {
        let owned = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
        Sheet { heads: owned(heads), rows: rows.iter().map(|row| owned(row)).collect() }
    }

    #[test]
    fn of_very_many_alike_sheets_the_last_are_shown_and_that_is_said() {
        let of = |n: usize| sheet(&[&format!("P-{n}"), "30 days"], &[&["pulls", "1"]]);
        let sheets: Vec<Sheet> = (1..=MOST + 2).map(of).collect();
        let (_, wide) = tables(&sheets);
        let [said, table] = &wide[..] else { panic!("{wide:?}") };
        assert_eq!(*said, Markup::of("p", "", "The last 30 of 32; the text of this report has all of them."));
        assert_eq!(*table, all_alike(&sheets[2..]));
        assert_eq!(tables(&sheets[..MOST]).1, vec![all_alike(&sheets[..MOST])]);
    }

    #[test]
    fn sheets_that_ask_the_same_of_several_are_one_table() {
        let one = sheet(&["P-1", "30 days", "own", "program"], &[&["pulls", "1", "0.50", "0.10"]]);
        let two = sheet(&["P-2", "30 days", "own", "program"], &[&["pulls", "0", "-", "0.10"]]);
        let other = sheet(&["P-2", "30 days", "own", "program"], &[&["showers", "0", "-", "0.10"]]);
        assert!(!are_alike(&[one.clone(), other]));
        let (narrow, wide) = tables(&[one, two]);
        let expected = Markup::element(
            "div",
            &[("class", "scroll")],
            [Markup::element(
                "table",
                &[],
                [
                    Markup::element(
                        "thead",
                        &[],
                        [Markup::element(
                            "tr",
                            &[],
                            [
                                Markup::element("td", &[], [Markup::text("30 days · own")]),
                                cell("th", Some("col"), true, "pulls"),
                            ],
                        )],
                    )
                    .on_a_line(),
                    Markup::element(
                        "tbody",
                        &[],
                        [("P-1", "1 · 0.50"), ("P-2", "0 · -"), ("program", "0.10")].map(|(name, said)| {
                            Markup::element("tr", &[], [head_of_row("", name), cell("td", None, true, said)])
                                .on_a_line()
                        }),
                    ),
                ],
            )],
        );
        assert_eq!((narrow, wide), (Vec::new(), vec![expected]));
    }
}
