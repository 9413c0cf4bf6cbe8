//! An event in words.

use std::fmt::Display;

use crate::event::{ContactOutcome, Disc, DressingAndAnchor, Event, Fact, Materials, Site, SiteField, Subject, Tally};
use crate::problem::Problem;
use crate::report::show::EventText;
use crate::text::{temperature, thousands};
use crate::view::words;
use crate::word::Word;

/// Describes an event on the timeline, with the problem that excludes it, if any.
pub(crate) fn text(event: &Event, problem: Option<&Problem>) -> EventText {
    let counts = problem.map(|problem| format!(" ({}: not counted)", problem.message)).unwrap_or_default();
    let voided = event.void.as_ref().map(|void| {
        let replaced = void.what.as_ref().map(|file| format!("; replaced by {file}")).unwrap_or_default();
        format!("voided {} by {}: {}{replaced}", void.at.wall.date(), void.by, void.why)
    });
    EventText { words: format!("{}{counts}", facts(event)), voided }
}

/// Describes the facts of an event.
pub(crate) fn facts(event: &Event) -> String {
    let parts: Vec<String> = match &event.fact {
        Fact::Change(change) => [
            change.reason.map(plain),
            covering("found", &change.found),
            covering("left", &change.left),
            materials(&change.materials),
            (!change.steps_missed.is_empty())
                .then(|| format!("steps missed: {}", plain(change.steps_missed.join(", ")))),
            site(&change.site),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Shower(shower) => [
            Some(words::water(shower.water).to_owned()).filter(|_| shower.water.is_some()),
            shower.dressing_before.map(|dressing| format!("dressing before {dressing}")),
            shower.dressing_after.map(|dressing| format!("after {dressing}")),
            shower.anchor.map(|anchor| format!("anchor {}", plain(anchor))),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Assessment(assessment) => site(&assessment.site).into_iter().collect(),
        Fact::Inspection(inspection) => covering("", &inspection.covering).into_iter().collect(),
        Fact::Trauma(trauma) => [
            trauma.mechanism.map(plain),
            covering("", &trauma.covering),
            trauma
                .site_bleeding
                .map(|bled| if bled { "bleeding at the site".to_owned() } else { "no bleeding".to_owned() }),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Culture(culture) => {
            let result = culture.result.as_ref().map_or("no result yet".to_owned(), |result| {
                let growth = if result.growth { "growth" } else { "no growth" };
                format!("{}: {growth} {}", result.on, result.organisms.join(", ")).trim_end().to_owned()
            });
            vec![plain(culture.specimen), result]
        }
        Fact::Infection(infection) => [
            Some(format!("{} {}, onset {}", infection.certainty, plain(infection.part), infection.onset)),
            infection.resolved.map(|day| format!("resolved {day}")),
            infection.readmission.map(|is| if is { "readmission".to_owned() } else { "no readmission".to_owned() }),
            (!infection.organisms.is_empty()).then(|| infection.organisms.join(", ")),
            infection.recurrence_of.as_ref().map(|file| format!("recurrence of {file}")),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Treatment(treatment) => [Some(plain(treatment.what)), treatment.until.map(|day| format!("until {day}"))]
            .into_iter()
            .flatten()
            .collect(),
        Fact::Teaching(teaching) => {
            let steps =
                [("missed", &teaching.missed), ("prompted", &teaching.prompted), ("unaided", &teaching.unaided)];
            let said = steps.into_iter().filter(|(_, steps)| !steps.is_empty());
            [
                format!(
                    "{}, {}: {} version {}",
                    teaching.learner,
                    plain(teaching.mode),
                    plain(&teaching.curriculum),
                    teaching.version
                ),
                format!("observed by {}", teaching.observer),
            ]
            .into_iter()
            .chain(said.map(|(how, steps)| format!("{how} {}", plain(steps.join(", ")))))
            .collect()
        }
        Fact::Contact(contact) => {
            let about: Vec<&str> = contact.about.iter().map(|about| words::subject(*about)).collect();
            // A call about nothing in particular.
            let about_what = || match contact.about.as_slice() {
                [Subject::Other] => String::new(),
                _ => format!(" about {}", about.join(", ")),
            };
            let expected = contact.expect_by.map(|by| format!("by {}", by.wall.format("%Y-%m-%d %H:%M")));
            [
                Some(match (contact.with.as_str(), contact.outcome) {
                    (_, ContactOutcome::NoAnswer) => {
                        format!("no answer{}", about_what().replacen(" about", ", about", 1))
                    }
                    ("other", _) => format!("with another person{}", about_what()),
                    (with, _) => format!("with {with}{}", about_what()),
                }),
                Some(words::outcome_to(contact.outcome, contact.escalated_to.as_deref()))
                    .filter(|_| !matches!(contact.outcome, ContactOutcome::NoAnswer | ContactOutcome::Other)),
                expected,
                contact.temperature_c.map(|celsius| format!("temperature {}", temperature(celsius))),
            ]
            .into_iter()
            .flatten()
            .collect()
        }
        Fact::Log(log) => {
            vec![format!("{} through {}{}", log.from, log.through, if log.complete { "" } else { ", not complete" })]
        }
        Fact::Supply(supply) => vec![match supply.tally {
            Tally::Received(n) => format!("{} {n} received", supply.item),
            Tally::Counted(n) => format!("{} {n} counted", supply.item),
            Tally::Lost(n) => format!("{} {n} lost", supply.item),
        }],
        Fact::Photo(photo) => {
            let bytes = photo.bytes.map(|bytes| format!(", {} bytes", thousands(bytes))).unwrap_or_default();
            vec![format!("picture {}…{bytes}, kept at {}", cut_sum(&photo.sha256), photo.kept_at)]
        }
        Fact::Voided => Vec::new(),
    };
    parts.join("; ")
}

/// Describes the facts of an event for a line that may be cut: the findings present, the dressing, the rest, and last the
/// findings that are absent.
pub(crate) fn findings_first(event: &Event) -> String {
    let facts = facts(event);
    let Some(found) = event.site() else { return facts };
    let all = site(found).unwrap_or_default();
    let (present, absent) = findings(found);
    let rank = |part: &str| match part {
        part if part == all => 2,
        part if part.starts_with("found ") || part.starts_with("left ") => 0,
        _ => 1,
    };
    let mut others: Vec<&str> = facts.split("; ").filter(|part| rank(part) < 2).collect();
    others.sort_by_key(|part| rank(part));
    let absent = match (found.is_none_noted(), absent.is_empty()) {
        (true, _) => Some("all nine site findings absent".to_owned()),
        (_, true) => None,
        _ => Some(absent.join(", ")),
    };
    let present = (!present.is_empty()).then(|| present.join(", "));
    present.into_iter().chain(others.into_iter().map(str::to_owned)).chain(absent).collect::<Vec<_>>().join("; ")
}

/// Lists the facts that only one of two records of a kind has; empty if the other has all of them.
pub(crate) fn only_in(one: &Event, other: &Event) -> String {
    let known = statements(other);
    statements(one).into_iter().filter(|fact| !known.contains(fact)).collect::<Vec<_>>().join(", ")
}

/// The facts of an event, each on its own, and its note.
fn statements(event: &Event) -> Vec<String> {
    let note = event.note.as_ref().map(|note| format!("note \"{note}\""));
    let Fact::Change(change) = &event.fact else {
        return facts(event).split("; ").filter(|fact| !fact.is_empty()).map(str::to_owned).chain(note).collect();
    };
    let each = |when: &str, one: &DressingAndAnchor| {
        let dressing = DressingAndAnchor { anchor: None, ..*one };
        let anchor = DressingAndAnchor { dressing: None, ..*one };
        [covering(when, &dressing), covering(when, &anchor)]
    };
    let (present, absent) = match change.site.is_none_noted() {
        true => (Vec::new(), vec!["all nine site findings absent".to_owned()]),
        false => findings(&change.site),
    };
    let used = materials(&change.materials).unwrap_or_default();
    let used = used.split(", ").filter(|used| !used.is_empty()).map(str::to_owned);
    let missed = change.steps_missed.iter().map(|step| format!("step missed: {}", plain(step)));
    let reason = change.reason.map(|reason| format!("reason {}", words::choice(reason.word())));
    let covering = [each("found", &change.found), each("left", &change.left)].concat().into_iter().flatten();
    present.into_iter().chain(covering).chain(absent).chain(used).chain(missed).chain(reason).chain(note).collect()
}

/// Returns the first digits of a picture's checksum, enough to identify it.
pub(crate) fn cut_sum(sum: &str) -> &str {
    sum.get(..12).unwrap_or(sum)
}

/// Lists the materials used, and those recorded as not used.
fn materials(used: &Materials) -> Option<String> {
    let said = |is: Option<bool>, what: &str, what_not: &str| {
        is.map(|is| if is { what.to_owned() } else { what_not.to_owned() })
    };
    let disc = |disc: Disc| if disc == Disc::None { "no disc".to_owned() } else { format!("disc {}", plain(disc)) };
    let parts = [
        used.cleanser.map(plain),
        said(used.driveline_cleansed, "driveline cleansed", "driveline not cleansed"),
        used.disc.map(disc),
        said(used.skin_protectant, "skin protectant", "no skin protectant"),
        said(used.gauze, "gauze", "no gauze"),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

fn covering(when: &str, covering: &DressingAndAnchor) -> Option<String> {
    let dressing = covering.dressing.map(|dressing| format!("dressing {dressing}"));
    let anchor = covering.anchor.map(|anchor| format!("anchor {}", plain(anchor)));
    let both: Vec<String> = dressing.into_iter().chain(anchor).collect();
    (!both.is_empty()).then(|| format!("{when} {}", both.join(", ")).trim_start().to_owned())
}

/// Lists the findings of a site, with the absent ones at the end.
fn site(site: &Site) -> Option<String> {
    let (present, absent) = findings(site);
    let all = [present, absent].concat();
    (!all.is_empty()).then(|| format!("site: {}", all.join(", ")))
}

/// Describes the findings of a site that are present, and those that are absent.
fn findings(site: &Site) -> (Vec<String>, Vec<String>) {
    let (mut present, mut absent) = (Vec::new(), Vec::new());
    for field in SiteField::ALL {
        let Some(finding) = site.finding(*field) else { continue };
        match (words::field(*field), words::finding(*field, finding).as_str()) {
            (name, "none") => absent.push(format!("no {name}")),
            (name, "yes") => present.push(name.to_owned()),
            (name, value) => present.push(format!("{name} {value}")),
        }
    }
    (present, absent)
}

/// Replaces the hyphens of a key by spaces.
fn plain(word: impl Display) -> String {
    word.to_string().replace('-', " ")
}
