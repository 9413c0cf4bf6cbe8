//! The table of all screens: typed cells, rendered as text, CSV or HTML.
//! A cell holds its value, not its text, so numbers are right-aligned in every form. Left out on purpose: color, and rules
//! between cells.

use std::fmt;

use chrono::NaiveDate;
use comfy_table::presets::NOTHING;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Width};
use maud::{Markup, html};
use unicode_width::UnicodeWidthStr;

use super::html::unbroken;
use super::{TextStyle, hanging};
use crate::text::thousands;

/// The minimum width of the last column, in characters.
const NARROWEST: u16 = 8;
/// The maximum length of a text kept on one line of a page: a code or a date is never broken.
const LONG: usize = 26;

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    /// A text.
    Text(String),
    /// The name of a row that is a part of the row above.
    Part(String),
    /// A count.
    Count(i64),
    /// A number with its decimals.
    Number(f64, usize),
    /// Two limits with their decimals; an unknown limit is open.
    Limits(Option<f64>, Option<f64>, usize),
    /// A proportion, 0 to 1, with the decimals of its percentage.
    Share(f64, usize),
    /// Two limits of a proportion.
    ShareLimits(f64, f64, usize),
    /// A day.
    Day(NaiveDate),
    /// A custom figure: `2 → 3`.
    Figure(String),
    /// An unknown figure.
    Missing,
    /// An empty cell.
    Empty,
}

impl Cell {
    pub(super) fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    pub(super) fn count(count: u64) -> Cell {
        Cell::Count(i64::try_from(count).unwrap_or(i64::MAX))
    }

    pub(super) fn number(number: Option<f64>, decimals: usize) -> Cell {
        number.map_or(Cell::Missing, |number| Cell::Number(number, decimals))
    }

    pub(super) fn share(share: Option<f64>, decimals: usize) -> Cell {
        share.map_or(Cell::Missing, |share| Cell::Share(share, decimals))
    }

    pub(super) fn share_limits(low: Option<f64>, high: Option<f64>, decimals: usize) -> Cell {
        low.zip(high).map_or(Cell::Missing, |(low, high)| Cell::ShareLimits(low, high, decimals))
    }

    /// Returns true if the cell is right-aligned; `None` if it does not determine its column.
    fn is_figure(&self) -> Option<bool> {
        match self {
            Cell::Empty => None,
            Cell::Text(_) | Cell::Part(_) | Cell::Day(_) => Some(false),
            _ => Some(true),
        }
    }
}

impl fmt::Display for Cell {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Cell::Text(text) | Cell::Figure(text) => out.write_str(text),
            Cell::Part(name) => write!(out, "  {name}"),
            Cell::Count(count) => out.write_str(&thousands(*count)),
            Cell::Number(number, decimals) => write!(out, "{number:.decimals$}"),
            Cell::Limits(low, high, decimals) => match (low, high) {
                (None, None) => out.write_str("-"),
                (Some(low), None) => write!(out, "{low:.decimals$} or more"),
                (low, Some(high)) => write!(out, "{:.decimals$} to {high:.decimals$}", low.unwrap_or(0.0)),
            },
            Cell::Share(share, decimals) => write!(out, "{:.decimals$} %", share * 100.0),
            Cell::ShareLimits(low, high, decimals) => {
                write!(out, "{:.decimals$} to {:.decimals$} %", low * 100.0, high * 100.0)
            }
            Cell::Day(day) => day.fmt(out),
            Cell::Missing => out.write_str("-"),
            Cell::Empty => Ok(()),
        }
    }
}

/// A table: headings, and rows with as many cells.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CellTable {
    pub(super) headings: Vec<String>,
    pub(super) rows: Vec<Vec<Cell>>,
}

impl CellTable {
    pub(super) fn of(headings: &[&str], rows: impl IntoIterator<Item = Vec<Cell>>) -> CellTable {
        CellTable {
            headings: headings.iter().map(|heading| (*heading).to_owned()).collect(),
            rows: rows.into_iter().collect(),
        }
    }

    /// Returns true if all nonempty cells of a column are figures.
    fn is_figures(&self, n: usize) -> bool {
        let mut cells = self.rows.iter().filter_map(|row| row.get(n)?.is_figure()).peekable();
        cells.peek().is_some() && cells.all(|is_figure| is_figure)
    }

    /// Returns the width of a column's widest line, in characters.
    fn width_of(&self, n: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(n)).map(Cell::to_string);
        let widths = cells.map(|cell| cell.lines().map(UnicodeWidthStr::width).max().unwrap_or(0));
        widths.chain([self.headings[n].width()]).max().unwrap_or(0)
    }

    /// Returns true if the table fits the width without wrapping.
    pub(super) fn fits(&self, look: TextStyle) -> bool {
        (0..self.headings.len()).map(|n| self.width_of(n) + 2).sum::<usize>() <= look.width + 2
    }

    /// Renders the table as text; only the last column wraps.
    pub(super) fn text(&self, look: TextStyle) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(NOTHING).set_content_arrangement(ContentArrangement::Dynamic).set_width(look.width as u16);
        table.set_header(&self.headings);
        table.add_rows(self.rows.iter().map(|row| row.iter().map(Cell::to_string)));
        let (last, fits) = (self.headings.len().saturating_sub(1), self.fits(look));
        for (n, column) in table.column_iter_mut().enumerate() {
            column.set_padding((0, if n == last { 0 } else { 2 }));
            column.set_cell_alignment(if self.is_figures(n) { CellAlignment::Right } else { CellAlignment::Left });
            column.set_constraint(if n == last && !fits {
                ColumnConstraint::LowerBoundary(Width::Fixed(NARROWEST))
            } else {
                ColumnConstraint::ContentWidth
            });
        }
        table.lines().map(|line| format!("{}\n", line.trim_end())).collect()
    }

    /// Renders the table if it fits; otherwise one line per row, with each figure after its heading.
    pub(super) fn text_or_lines(&self, look: TextStyle) -> String {
        if self.fits(look) {
            return self.text(look);
        }
        let line = |row: &Vec<Cell>| {
            let cells = self.headings.iter().zip(row).skip(1).filter(|(_, cell)| **cell != Cell::Empty);
            let named: Vec<String> =
                cells.map(|(heading, cell)| format!("{heading} {cell}").trim().to_owned()).collect();
            let name = row.first().map(Cell::to_string).unwrap_or_default();
            hanging(look, &format!("{}: {}", name.trim(), named.join(" · ")), "    ")
        };
        self.rows.iter().map(line).collect()
    }

    /// Renders the table as HTML that scrolls horizontally, also by keyboard, if wider than the page.
    pub(super) fn scrolling(&self, caption: &str) -> Markup {
        html! { div class="scroll" tabindex="0" role="region" aria-label=(caption) { (self.html(caption)) } }
    }

    /// Renders the table as HTML; the caption is for screen readers.
    fn html(&self, caption: &str) -> Markup {
        let figures: Vec<bool> = (0..self.headings.len()).map(|n| self.is_figures(n)).collect();
        html! {
            table {
                caption { (caption) }
                thead { tr {
                    @for (heading, is_figures) in self.headings.iter().zip(&figures) {
                        @if heading.is_empty() { td {} } @else { th scope="col" class=[is_figures.then_some("n")] { (heading) } }
                    }
                } }
                tbody { @for row in &self.rows { "\n" tr {
                    @for (n, (cell, is_figures)) in row.iter().zip(&figures).enumerate() {
                        @if n == 0 { (name_of_row(cell)) } @else { td class=[class(cell, *is_figures)] { (unbroken(&cell.to_string())) } }
                    }
                } } }
            }
        }
    }
}

fn name_of_row(cell: &Cell) -> Markup {
    match cell {
        Cell::Part(name) => html! { th scope="row" class="in" { (name) } },
        cell => html! { th scope="row" class=[class(cell, false)] { (cell.to_string()) } },
    }
}

fn class(cell: &Cell, is_figures: bool) -> Option<&'static str> {
    match is_figures {
        true => Some("n"),
        false => (cell.to_string().chars().count() > LONG).then_some("long"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(width: usize) -> TextStyle {
        TextStyle { width, color: false }
    }

    #[test]
    fn figures_stand_to_the_right_whatever_letter_they_begin_with() {
        let table = CellTable::of(
            &["rate", "value", "95 %", "says"],
            [
                vec![Cell::text("all"), Cell::Number(-0.5, 2), Cell::Limits(None, None, 2), Cell::text("5 more")],
                vec![
                    Cell::Part("first".into()),
                    Cell::Count(1234),
                    Cell::Limits(Some(0.289), Some(4.1), 2),
                    Cell::Empty,
                ],
                vec![Cell::text("none"), Cell::Missing, Cell::Limits(Some(0.289), None, 2), Cell::Empty],
            ],
        );
        let expected = "rate     value          95 %  says\nall      -0.50             -  5 more\n  first  1,234  0.29 to 4.10\nnone         -  0.29 or more\n";
        assert_eq!(table.text(look(80)), expected);
        let page = table.html("rates").into_string();
        assert!(page.contains("<td class=\"n\">-0.50</td>") && page.contains("<td>5 more</td>"), "{page}");
        assert!(page.contains("<th scope=\"row\" class=\"in\">first</th>"), "{page}");
    }

    #[test]
    fn the_last_column_alone_is_wrapped() {
        let table = CellTable::of(&["who", "what"], [vec![Cell::text("P-003"), Cell::text("one two three four")]]);
        assert_eq!(table.text(look(17)), "who    what\nP-003  one two\n       three four\n");
        assert_eq!(table.text_or_lines(look(30)), table.text(look(30)));
        assert_eq!(table.text_or_lines(look(20)), "P-003: what one two\n    three four\n");
    }

    #[test]
    fn shares_and_limits_have_the_decimals_asked_for() {
        assert_eq!(Cell::share(Some(0.9146), 1).to_string(), "91.5 %");
        assert_eq!(Cell::share_limits(Some(0.25), Some(1.0), 1).to_string(), "25.0 to 100.0 %");
        assert_eq!(Cell::Limits(None, Some(4.1), 2).to_string(), "0.00 to 4.10");
        assert_eq!(Cell::share(None, 0), Cell::Missing);
    }
}
