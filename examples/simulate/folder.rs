//! The invented program on disk: policy, staff, patients, one file per event.
//!
//! Left out on purpose: safe writing. The folder is new, and a run that fails is run again.

use std::collections::HashMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use chrono_tz::Tz;

use crate::course::{Care, Course, Interval, Order, Ordered, Place};
use crate::record::Event;
use crate::staff::{COORDINATOR, PHYSICIAN};
use crate::truth::Filed;

/// The text of policy.toml: only the keys without a default.
pub(crate) fn policy(seed: u64, zone: Tz) -> String {
    format!("schema = 1\nprogram = \"Simulated program (invented, seed {seed})\"\ntime_zone = \"{zone}\"\n")
}

/// Gives each event its file name; the second of a kind in one minute gets the number 2.
pub(crate) fn name(events: Vec<Event>) -> Vec<Filed> {
    let mut taken: HashMap<String, usize> = HashMap::new();
    let named = events.into_iter().map(|event| {
        let n = taken.entry(event.file(1)).or_default();
        *n += 1;
        (event.file(*n), event)
    });
    named.collect()
}

/// Writes a patient's or a person's events into the year folders of `folder`.
pub(crate) fn write_events(folder: &Path, filed: &[Filed]) -> Result<(), String> {
    let mut year = "";
    for (file, event) in filed {
        let year_of_file = file.split('/').next().unwrap_or_default();
        if year_of_file != year {
            year = year_of_file;
            make(&folder.join(year))?;
        }
        write(&folder.join(file), &event.to_toml())?;
    }
    Ok(())
}

/// Creates a folder and its parents.
pub(crate) fn make(folder: &Path) -> Result<(), String> {
    fs::create_dir_all(folder).map_err(|error| format!("cannot make the folder {}: {error}", folder.display()))
}

/// Writes a whole file.
pub(crate) fn write(file: &Path, text: &str) -> Result<(), String> {
    fs::write(file, text).map_err(|error| format!("cannot write {}: {error}", file.display()))
}

/// The text of patient.toml.
pub(crate) fn patient(course: &Course) -> String {
    let mut toml = format!("code = \"{}\"\nimplanted = {}\n", course.code, course.implanted);
    if course.records_from != course.implanted {
        let _ = write!(toml, "records_from = {}\ninfections_before = 0\n", course.records_from);
    }
    if let Some(day) = course.last_change_before {
        let _ = writeln!(toml, "last_change_before = {day}");
    }
    if !course.intolerances.is_empty() {
        let _ = writeln!(toml, "intolerances = [\"{}\"]", course.intolerances.join("\", \""));
    }
    for exit in &course.exits {
        let _ = write!(toml, "\n[[exit]]\nid = \"{}\"\nwhere = \"{}\"\n", exit.id, exit.position);
        let _ = write!(toml, "from = {}\nwhy = \"{}\"\n", exit.from, exit.why);
        if let Some(until) = exit.until {
            let _ = writeln!(toml, "until = {until}");
        }
    }
    course.care.iter().for_each(|care| write_care(&mut toml, care));
    course.orders.iter().for_each(|order| write_order(&mut toml, order));
    for caregiver in &course.caregivers {
        let _ = write!(toml, "\n[[caregiver]]\ncode = \"{}\"\n", caregiver.code);
        let _ = writeln!(toml, "relation = \"{}\"", caregiver.relation);
    }
    if let Some((on, why)) = course.ended {
        let _ = write!(toml, "\n[ended]\non = {on}\nwhy = \"{why}\"\nby = \"{COORDINATOR}\"\n");
    }
    toml
}

fn write_care(toml: &mut String, care: &Care) {
    let place = match care.place {
        Place::Inpatient => "inpatient",
        Place::Home => "home",
        Place::Elsewhere => "elsewhere",
    };
    let _ = write!(toml, "\n[[care]]\nfrom = {}\nplace = \"{place}\"\n", care.from);
    if care.is_by_log {
        toml.push_str("reports = \"log\"\n");
    }
    if let Some(zone) = care.zone {
        let _ = writeln!(toml, "time_zone = \"{zone}\"");
    }
    let _ = writeln!(toml, "by = \"{COORDINATOR}\"");
}

fn write_order(toml: &mut String, order: &Order) {
    let _ = write!(toml, "\n[[order]]\nfrom = {}\n", order.from);
    if let Some(until) = order.until {
        let _ = writeln!(toml, "until = {until}");
    }
    let _ = match order.what {
        Ordered::Changes(Interval::Days(days)) => writeln!(toml, "every_days = {days}"),
        Ordered::Changes(Interval::Weekdays(weekdays)) => {
            let days: Vec<String> = weekdays.iter().map(|day| day.to_string().to_lowercase()).collect();
            writeln!(toml, "on_weekdays = [\"{}\"]", days.join("\", \""))
        }
        Ordered::NoShowers => writeln!(toml, "no_showers = true"),
    };
    let _ = write!(toml, "by = \"{PHYSICIAN}\"\nwhy = \"{}\"\n", order.why);
}
