//! Rows as lines: patient, place, person to call, then the facts.

use unicode_width::UnicodeWidthStr;

use super::fact::{acted_on_beside, first, first_in_full, of_other_blocks, rest, second};
use crate::entry::Contacts;
use crate::policy::CarePlace;
use crate::report::due::{Relative, Row};
use crate::schedule::State;
use crate::text::visible;
use crate::view::{TextStyle, bold, contact, hanging};

/// Renders the rows, one or two lines each; with `in_full`, all known facts of each.
pub(super) fn lines(rows: &[&Row], in_full: bool, contacts: &Contacts, look: TextStyle) -> String {
    lines_of(rows, contacts, look, |row| match in_full {
        true => {
            let first = first_in_full(row);
            let rest = rest(row).into_iter().filter(|fact| !first.contains(fact)).collect();
            vec![first, second(row), rest]
        }
        false => vec![first(row).into_iter().chain(acted_on_beside(row)).chain(second(row)).collect()],
    })
}

/// Renders the rows for a call: each fact once, without the signals acted on, which are listed below them.
pub(super) fn lines_of_call(rows: &[&Row], look: TextStyle) -> String {
    lines_of(rows, &Contacts::default(), look, |row| {
        let said = [first(row), second(row)].concat();
        let named = row.site().map(of_other_blocks).unwrap_or_default();
        let rest = rest(row).into_iter().filter(|fact| !said.contains(fact) && !named.contains(fact)).collect();
        vec![first(row), second(row), rest]
    })
}

fn lines_of(rows: &[&Row], contacts: &Contacts, look: TextStyle, facts: impl Fn(&Row) -> Vec<Vec<String>>) -> String {
    let heads: Vec<[String; 3]> = rows.iter().map(|row| head(row)).collect();
    let width = |n: usize| heads.iter().map(|head| head[n].width()).max().unwrap_or(0);
    let widths = [width(0), width(1), width(2)];
    let text = |row: &Row| -> Vec<String> {
        let groups = facts(row).into_iter().filter(|group| !group.is_empty());
        let mut text: Vec<String> = groups.map(|group| group.join("; ")).collect();
        // The person to call comes right after the reason.
        let below = text.len().min(1);
        text.splice(below..below, contact::of_row(contacts, row));
        text
    };
    rows.iter().zip(&heads).map(|(row, head)| of_row(row, head, &text(row), widths, look)).collect()
}

fn of_row(row: &Row, head: &[String; 3], text: &[String], widths: [usize; 3], look: TextStyle) -> String {
    let cells = head.iter().zip(widths).filter(|(_, width)| *width > 0);
    let start: String = cells.map(|(cell, width)| format!("{cell}{}  ", " ".repeat(width - cell.width()))).collect();
    // If the columns leave too little room, the facts go on the next line.
    let is_narrow = start.width() * 2 > look.width || text.len() > 1 && row.site().is_none();
    let indent = if is_narrow { 4 } else { start.width() };
    let indented = " ".repeat(indent);
    let mut text = text.iter();
    let mut out = match (is_narrow, text.next()) {
        (true, Some(text)) => {
            format!("{}\n{}", start.trim_end(), hanging(look, &format!("{indented}{text}"), &indented))
        }
        (false, Some(text)) => hanging(look, &format!("{start}{text}"), &indented),
        (_, None) => format!("{}\n", start.trim_end()),
    };
    out.extend(text.map(|text| hanging(look, &format!("{indented}{text}"), &indented)));
    match row.state() {
        State::Overdue => out.replacen(head[0].as_str(), &bold(&head[0], look), 1),
        _ => out,
    }
}

/// Returns the patient, the place and the person to call.
pub(super) fn head(row: &Row) -> [String; 3] {
    let (place, caregivers) = match row {
        Row::Site(site) => (Some(site.place), &site.caregivers),
        Row::Unusable(row) => (row.place, &row.caregivers),
    };
    let call = if place == Some(CarePlace::Home) { household(caregivers) } else { String::new() };
    [code(row), place.map(place_word).unwrap_or_default().to_owned(), call]
}

fn place_word(place: CarePlace) -> &'static str {
    match place {
        CarePlace::Home => "home",
        CarePlace::Inpatient => "ward",
        CarePlace::Elsewhere => "away",
    }
}

/// Returns the patient's code, and the exit site if there are several.
pub(super) fn code(row: &Row) -> String {
    match row {
        Row::Site(site) if site.exits > 1 => format!("{} {}", visible(&site.patient), visible(&site.exit)),
        _ => visible(row.patient()),
    }
}

/// Names the household by the recorded relations to the patient.
fn household(caregivers: &[Relative]) -> String {
    let name = |caregiver: &Relative| visible(caregiver.relation.as_ref().unwrap_or(&caregiver.code));
    let names: Vec<String> = caregivers.iter().map(name).collect();
    if names.is_empty() { "patient".to_owned() } else { names.join("/") }
}
