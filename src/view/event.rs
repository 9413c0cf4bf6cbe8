//! An event in words.

use crate::event::{Covering, Disc, Event, Fact, Materials, Site, SiteField, Subject, Tally};
use crate::problem::Problem;
use crate::report::show::EventText;
use crate::word::Word;

/// The text of an event on the list of what happened, with the problem for which it counts for nothing.
pub(crate) fn text(event: &Event, problem: Option<&Problem>) -> EventText {
    let counts = problem.map(|problem| format!(" ({}: counts for nothing)", problem.message)).unwrap_or_default();
    let voided = event.void.as_ref().map(|void| {
        let replaced = void.what.as_ref().map(|file| format!("; replaced by {file}")).unwrap_or_default();
        format!("voided {} by {}: {}{replaced}", void.at.wall.date(), void.by, void.why)
    });
    EventText { words: format!("{}{counts}", words(event)), voided }
}

/// The facts of an event in words.
pub(crate) fn words(event: &Event) -> String {
    let parts: Vec<String> = match &event.fact {
        Fact::Change(change) => [
            change.reason.map(|reason| reason.to_string()),
            covering("found", &change.found),
            covering("left", &change.left),
            materials(&change.materials),
            (!change.steps_missed.is_empty()).then(|| format!("steps missed: {}", change.steps_missed.join(", "))),
            site(&change.site),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Shower(shower) => [
            shower.water.map(|water| water.to_string()),
            shower.dressing_before.map(|dressing| format!("dressing before {dressing}")),
            shower.dressing_after.map(|dressing| format!("after {dressing}")),
            shower.anchor.map(|anchor| format!("anchor {anchor}")),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Assessment(assessment) => site(&assessment.site).into_iter().collect(),
        Fact::Inspection(inspection) => covering("", &inspection.covering).into_iter().collect(),
        Fact::Trauma(trauma) => [
            trauma.mechanism.map(|mechanism| mechanism.to_string()),
            covering("", &trauma.covering),
            trauma.site_bleeding.map(|bled| if bled { "the site bled".to_owned() } else { "no bleeding".to_owned() }),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Culture(culture) => {
            let result = culture.result.as_ref().map_or("no result yet".to_owned(), |result| {
                let growth = if result.growth { "growth" } else { "no growth" };
                format!("{}: {growth} {}", result.on, result.organisms.join(", ")).trim_end().to_owned()
            });
            vec![culture.specimen.to_string(), result]
        }
        Fact::Infection(infection) => [
            Some(format!("{} {}, onset {}", infection.certainty, infection.part, infection.onset)),
            infection.resolved.map(|day| format!("resolved {day}")),
            infection.readmission.map(|is| if is { "readmission".to_owned() } else { "no readmission".to_owned() }),
            (!infection.organisms.is_empty()).then(|| infection.organisms.join(", ")),
            infection.recurrence_of.as_ref().map(|file| format!("recurrence of {file}")),
        ]
        .into_iter()
        .flatten()
        .collect(),
        Fact::Treatment(treatment) => {
            [Some(treatment.what.to_string()), treatment.until.map(|day| format!("until {day}"))]
                .into_iter()
                .flatten()
                .collect()
        }
        Fact::Teaching(teaching) => {
            let steps =
                [("missed", &teaching.missed), ("prompted", &teaching.prompted), ("unaided", &teaching.unaided)];
            let said = steps.into_iter().filter(|(_, steps)| !steps.is_empty());
            [
                format!("{} {} of {} v{}", teaching.learner, teaching.mode, teaching.curriculum, teaching.version),
                format!("observed by {}", teaching.observer),
            ]
            .into_iter()
            .chain(said.map(|(how, steps)| format!("{how} {}", steps.join(", "))))
            .collect()
        }
        Fact::Contact(contact) => {
            let about: Vec<&str> = contact.about.iter().map(|about: &Subject| about.word()).collect();
            let expected = contact.expect_by.map(|by| format!("by {}", by.wall.format("%Y-%m-%d %H:%M")));
            [
                Some(format!("with {} about {}", contact.with, about.join(", "))),
                Some(contact.outcome.to_string()),
                expected,
                contact.temperature_c.map(|celsius| format!("temperature °C {celsius}")),
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
        Fact::Voided => Vec::new(),
    };
    parts.join("; ")
}

/// What was used, and what was said not to be.
fn materials(used: &Materials) -> Option<String> {
    let said = |is: Option<bool>, what: &str, what_not: &str| {
        is.map(|is| if is { what.to_owned() } else { what_not.to_owned() })
    };
    let disc = |disc: Disc| if disc == Disc::None { "no disc".to_owned() } else { format!("disc {disc}") };
    let parts = [
        used.cleanser.map(|cleanser| cleanser.to_string()),
        said(used.driveline_cleansed, "driveline cleansed", "driveline not cleansed"),
        used.disc.map(disc),
        said(used.skin_protectant, "skin protectant", "no skin protectant"),
        said(used.gauze, "gauze", "no gauze"),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

fn covering(when: &str, covering: &Covering) -> Option<String> {
    let dressing = covering.dressing.map(|dressing| format!("dressing {dressing}"));
    let anchor = covering.anchor.map(|anchor| format!("anchor {anchor}"));
    let both: Vec<String> = dressing.into_iter().chain(anchor).collect();
    (!both.is_empty()).then(|| format!("{when} {}", both.join(", ")).trim_start().to_owned())
}

/// What was seen of a site, what was looked at and not there together at the end.
fn site(site: &Site) -> Option<String> {
    let fields = SiteField::WORDS.iter().filter_map(|name| SiteField::from_word(name));
    let (mut seen, mut not_there) = (Vec::new(), Vec::new());
    for field in fields {
        let Some(finding) = site.finding(field) else { continue };
        let name = field.word().replace("_mm", " mm").replace("temperature_c", "temperature °C");
        match finding.to_string().as_str() {
            "none" | "0" | "no" => not_there.push(name.trim_end_matches(" mm").to_owned()),
            value => seen.push(format!("{name} {value}")),
        }
    }
    if !not_there.is_empty() {
        seen.push(format!("no {}", not_there.join(", ")));
    }
    (!seen.is_empty()).then(|| format!("site: {}", seen.join(", ")))
}
