//! One patient's story: course, orders, what happened, the score over time, what is due and why.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::{At, Unusable, due, grade};
use crate::day::{AsOf, Period};
use crate::event::{About, Covering, Event, Fact, Kind, Site, SiteField, Tally, Telling};
use crate::history::History;
use crate::patient::{EndReason, ExitReason, Patient, Reports, Where};
use crate::policy::CarePlace;
use crate::program::Program;
use crate::timeline::Timeline;
use crate::word::Word;

/// One patient's story.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShowReport {
    /// The patient's code.
    pub patient: String,
    /// The day of the implant; null where patient.toml cannot be used, as is what follows.
    pub implanted: Option<NaiveDate>,
    /// The day on which the records begin.
    pub records_from: Option<NaiveDate>,
    /// What the patient does not tolerate.
    pub intolerances: Option<Vec<String>>,
    /// The exit sites.
    pub exits: Vec<ExitSite>,
    /// Where the patient was.
    pub care: Vec<Care>,
    /// The orders.
    pub orders: Vec<Order>,
    /// The caregivers' codes.
    pub caregivers: Vec<String>,
    /// The end of support.
    pub ended: Option<Ended>,
    /// What is due; null where the policy cannot be used.
    pub due: Option<Vec<due::Row>>,
    /// The days that the timeline and the scores are of; null for all.
    pub period: Option<Days>,
    /// The scores of each exit site, in order.
    pub scores: Vec<Scores>,
    /// What happened, newest first.
    pub timeline: Vec<Happened>,
}

/// The first and the last day.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Days {
    /// The first.
    pub from: NaiveDate,
    /// The last.
    pub to: NaiveDate,
}

/// An exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ExitSite {
    /// Its id.
    pub id: String,
    /// Where on the abdomen.
    #[serde(rename = "where")]
    pub at: Where,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day.
    pub until: Option<NaiveDate>,
    /// Why there is one.
    pub why: ExitReason,
    /// The post-operative day today.
    pub pod: i64,
}

/// Where the patient was from a day on.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Care {
    /// The first day.
    pub from: NaiveDate,
    /// Where.
    pub place: CarePlace,
    /// How the household tells what happened.
    pub reports: Reports,
    /// The zone, where it is not the policy's.
    pub time_zone: Option<String>,
}

/// A clinician's order.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Order {
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day.
    pub until: Option<NaiveDate>,
    /// What it says.
    pub says: String,
    /// The exit site; null for all.
    pub exit: Option<String>,
    /// Who gave it.
    pub by: String,
    /// Why.
    pub why: Option<String>,
    /// Whether it runs today.
    pub runs_today: bool,
}

/// The end of support.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Ended {
    /// The day.
    pub on: NaiveDate,
    /// Why.
    pub why: EndReason,
}

/// The scores of one exit site.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Scores {
    /// The exit site's id.
    pub exit: String,
    /// The most points that the rubric can give.
    pub most: i64,
    /// Each site record.
    pub points: Vec<grade::Assessment>,
}

/// One event.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Happened {
    /// When.
    pub at: At,
    /// The file.
    pub file: String,
    /// The kind.
    pub kind: Kind,
    /// The exit site that it names.
    pub exit: Option<String>,
    /// Who did or saw it.
    pub by: String,
    /// How it reached the records.
    pub source: Telling,
    /// What it says.
    pub words: String,
    /// Its note.
    pub note: Option<String>,
    /// Why it counts for nothing, if it was voided.
    pub voided: Option<String>,
    /// How often it was amended.
    pub amended: usize,
}

/// The story of one patient, of a period or of all time.
pub fn report(program: &Program, code: &str, as_of: AsOf, period: Option<Period>) -> (ShowReport, Vec<Unusable>) {
    let mut problems = Vec::new();
    let Some(patient) = program.patient(code, &mut problems) else {
        return (ShowReport::empty(code), problems.iter().map(Unusable::from).collect());
    };
    let mut history = History::of(&program.folder, &patient, program.folder.patient(code));
    history.open_all();
    let (events, problems) = history.into_events();
    let mut unusable: Vec<Unusable> =
        problems.iter().filter(|problem| problem.rule.makes_unusable()).map(Unusable::from).collect();
    let (due, files) = due::report(program, &[code], as_of, false);
    unusable.extend(files);
    let today = patient.calendar.today(as_of.instant);
    let in_period = |event: &&Event| period.is_none_or(|period| period.contains(event.when.care_day));
    let exists = |event: &&Event| event.exists(&patient.calendar, as_of.instant);
    let mut shown: Vec<&Event> = events.iter().filter(exists).filter(in_period).collect();
    shown.sort_by_cached_key(|event| std::cmp::Reverse(event.order()));
    let happened = shown.iter().map(|event| Happened::of(event, &patient)).collect();
    let timeline = Timeline::of(&patient, events, as_of.instant);
    let scores = scores(program, &timeline, period);
    let report = ShowReport {
        implanted: Some(patient.implanted),
        records_from: Some(patient.records_from),
        intolerances: Some(patient.intolerances.clone()),
        exits: patient
            .exits
            .iter()
            .map(|exit| ExitSite {
                id: exit.id.clone(),
                at: exit.at,
                from: exit.from,
                until: exit.until,
                why: exit.why,
                pod: (today - exit.from).num_days(),
            })
            .collect(),
        care: patient
            .care
            .iter()
            .map(|row| Care {
                from: row.from,
                place: row.place,
                reports: row.reports,
                time_zone: row.time_zone.map(|zone| zone.to_string()),
            })
            .collect(),
        orders: patient.orders.iter().map(|order| Order::of(order, today)).collect(),
        caregivers: patient.caregivers.iter().map(|caregiver| caregiver.code.clone()).collect(),
        ended: patient.ended.as_ref().map(|ended| Ended { on: ended.on, why: ended.why }),
        due: program.plan().map(|_| due.rows),
        period: period.map(|period| Days { from: period.from, to: period.to }),
        scores,
        timeline: happened,
        ..ShowReport::empty(code)
    };
    (report, unusable)
}

fn scores(program: &Program, timeline: &Timeline, period: Option<Period>) -> Vec<Scores> {
    let Some(scoring) = program.policy.as_ref().and_then(|policy| policy.scoring.as_ref()) else { return Vec::new() };
    let most = scoring.rubric.items.iter().map(|item| item.most()).sum();
    let of_exit = |exit: &crate::patient::Exit| {
        let graded = grade::graded(program, scoring, timeline, exit);
        let in_period =
            graded.iter().filter(|graded| period.is_none_or(|period| period.contains(graded.event.when.care_day)));
        let points = in_period.map(|graded| grade::Assessment::of(graded, scoring, timeline.patient)).collect();
        Scores { exit: exit.id.clone(), most, points }
    };
    timeline.patient.exits.iter().map(of_exit).collect()
}

impl ShowReport {
    fn empty(code: &str) -> ShowReport {
        ShowReport {
            patient: code.to_owned(),
            implanted: None,
            records_from: None,
            intolerances: None,
            exits: Vec::new(),
            care: Vec::new(),
            orders: Vec::new(),
            caregivers: Vec::new(),
            ended: None,
            due: None,
            period: None,
            scores: Vec::new(),
            timeline: Vec::new(),
        }
    }
}

impl Order {
    fn of(order: &crate::patient::Order, today: NaiveDate) -> Order {
        let says = order.interval.as_ref().map_or("no showers".to_owned(), ToString::to_string);
        let runs_today = order.from <= today && order.until.is_none_or(|until| today <= until);
        Order {
            from: order.from,
            until: order.until,
            says,
            exit: order.exit.clone(),
            by: order.by.clone(),
            why: order.why.clone(),
            runs_today,
        }
    }
}

impl Happened {
    fn of(event: &Event, patient: &Patient) -> Happened {
        let voided = event.void.as_ref().map(|void| {
            let replaced = void.what.as_ref().map(|file| format!("; replaced by {file}")).unwrap_or_default();
            format!("voided {} by {}: {}{replaced}", void.at.wall.date(), void.by, void.why)
        });
        let counts = patient
            .exit_problem(event)
            .filter(|_| event.void.is_none())
            .map(|problem| format!(" ({}: counts for nothing)", problem.message));
        Happened {
            at: At::of(&event.when, &patient.calendar),
            file: event.file().to_owned(),
            kind: event.name.kind,
            exit: event.exit.clone(),
            by: event.by.clone(),
            source: event.telling,
            words: format!("{}{}", words(event), counts.unwrap_or_default()),
            note: event.note.clone(),
            voided,
            amended: event.amended.len(),
        }
    }
}

/// What an event says, in words.
pub fn words(event: &Event) -> String {
    let parts: Vec<String> = match &event.fact {
        Fact::Change(change) => [
            change.reason.map(|reason| reason.to_string()),
            covering("found", &change.found),
            covering("left", &change.left),
            change.materials.cleanser.map(|cleanser| cleanser.to_string()),
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
            (!infection.organisms.is_empty()).then(|| infection.organisms.join(", ")),
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
        Fact::Teaching(teaching) => vec![
            format!("{} {} of {} v{}", teaching.learner, teaching.mode, teaching.curriculum, teaching.version),
            format!("observed by {}", teaching.observer),
        ],
        Fact::Contact(contact) => {
            let about: Vec<&str> = contact.about.iter().map(|about: &About| about.word()).collect();
            let expected = contact.expect_by.map(|by| format!("by {}", by.wall.format("%Y-%m-%d %H:%M")));
            [
                Some(format!("with {} about {}", contact.with, about.join(", "))),
                Some(contact.outcome.to_string()),
                expected,
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
