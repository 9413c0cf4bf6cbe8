//! Events before each infection.

use maud::{Markup, html};

use super::Section;
use crate::report::audit::{Before, EventCounts};
use crate::view::table::{Cell, CellTable};

/// The names of the events counted, in the order of [`EventCounts`].
const NAMES: [&str; 6] =
    ["line pulled", "anchor not secured", "dressing wet", "change missed", "shower too early", "shower not followed"];
/// The columns after the infection.
const COLUMNS: [&str; 3] = ["30 days before", "patient, per 30", "program, per 30"];
/// The caption of the tables on the page.
const CAPTION: &str = "before each infection";
/// The maximum number of infections in one table on the page; more are split into two.
const MANY: usize = 10;
/// The maximum number of infections on the page; the text lists all.
const MOST: usize = 30;

pub(super) fn infections(all: &[Before]) -> Option<Section> {
    let section = Section::new("Before each infection").say(
        "Events in the 30 days before each onset, compared per 30 days with the same patient's preceding year and with the whole program in the period, both over covered days only. They do not establish a cause.",
    );
    let mut section = all.iter().fold(section, add);
    let known: Vec<&Before> = all.iter().filter(|before| before.window.is_some()).collect();
    section.page = (known.len() > 1).then(|| on_page(&known));
    (!all.is_empty()).then_some(section)
}

fn name(before: &Before) -> String {
    format!("{} {}", before.patient, before.onset)
}

fn add(section: Section, before: &Before) -> Section {
    let who = name(before);
    let Some(window) = before.window else {
        return section.say(match before.window_days_covered {
            0 => format!("{who}: no report covers any of the 30 days before."),
            _ => format!("{who}: not known, because a relevant file cannot be read."),
        });
    };
    let days = match before.window_days_covered {
        30 => None,
        0 => Some(format!("{who}: reports cover all 30 days before.")),
        days => Some(format!("{who}: reports cover {days} of the 30 days before.")),
    };
    let (counts, own, program) = (counts(window), per_30(before.own_per_30_days), per_30(before.program_per_30_days));
    let rows = (0..NAMES.len())
        .map(|n| vec![Cell::text(NAMES[n]), counts[n].clone(), own[n].clone(), program[n].clone()])
        .collect::<Vec<_>>();
    section.say_all(days).show(&[who.as_str(), COLUMNS[0], COLUMNS[1], COLUMNS[2]], rows)
}

fn counts(window: EventCounts<u64>) -> [Cell; 6] {
    window.all().map(Cell::count)
}

fn per_30(counts: Option<EventCounts<f64>>) -> [Cell; 6] {
    counts.map_or([(); 6].map(|()| Cell::Missing), |counts| counts.all().map(|count| Cell::Number(count, 2)))
}

/// Renders the last infections as a table with one row each; many are split into two tables.
fn on_page(known: &[&Before]) -> Markup {
    let left_out = known.len().saturating_sub(MOST);
    let shown = &known[left_out..];
    let halves = if shown.len() <= MANY { vec![shown] } else { shown.chunks(shown.len().div_ceil(2)).collect() };
    html! {
        @if left_out > 0 { p { "The last " (MOST) " of " (known.len()) "; the text version of this report lists all." } }
        @match &halves[..] {
            [one] => (rows_of(one).scrolling(CAPTION)),
            halves => div class="columns many" { @for half in halves { (rows_of(half).scrolling(CAPTION)) } },
        }
    }
}

/// Builds one row per infection; figures common to all go into the last rows.
fn rows_of(known: &[&Before]) -> CellTable {
    let own = |before: &Before| per_30(before.own_per_30_days);
    let is_same = known.iter().all(|before| own(before) == own(known[0]));
    let row = |before: &&Before| {
        let counted = before.window.map(counts).into_iter().flatten();
        let cells = counted
            .zip(own(before))
            .map(|(count, own)| Cell::Figure(if is_same { count.to_string() } else { format!("{count} · {own}") }));
        [Cell::text(name(before))].into_iter().chain(cells).collect()
    };
    let mut rows: Vec<Vec<Cell>> = known.iter().map(row).collect();
    let once = |name: &str, cells: [Cell; 6]| [Cell::text(name)].into_iter().chain(cells).collect();
    rows.extend(is_same.then(|| once(COLUMNS[1], own(known[0]))));
    rows.push(once(COLUMNS[2], per_30(known[0].program_per_30_days)));
    let corner = if is_same { COLUMNS[0].to_owned() } else { format!("{} · {}", COLUMNS[0], COLUMNS[1]) };
    let headings: Vec<&str> = [corner.as_str()].into_iter().chain(NAMES).collect();
    CellTable::of(&headings, rows)
}
