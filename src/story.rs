//! An invented patient in a few words, so that an example reads like a calendar.
//!
//! The dates specify the schedule; a reader can check them with a calendar and the policy's defaults: daily through POD 21 and
//! on the ward, every other day at home, care days from 03:00, America/Chicago. An error in a story appears in the answer.

use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime};

use crate::day::{AsOf, Calendar, Instant, Period, WallTime};
use crate::event::{Event, EventName, Kind};
use crate::patient::Patient;
use crate::people::People;
use crate::place::RecordText;
use crate::policy::{CarePlan, Policy};
use crate::problem::{Level, Problem};
use crate::rules::Rules;
use crate::schedule::promise::default_until;
use crate::schedule::{Because, DayPlan, Due, Missed, NoShower, Outlook, Promise, Schedule, State};
use crate::signal::{Episode, RARE, ReadWindow, SignalInputs};
use crate::supply::stocks;
use crate::timeline::Timeline;
use crate::word::Word;

/// An invented patient.
#[derive(Debug, Clone)]
pub struct Story {
    top: String,
    rows: String,
    events: Vec<(String, String)>,
}

impl Story {
    /// Implanted on a day, one exit site, inpatient.
    pub fn implanted(day: &str) -> Story {
        let rows = format!("[[exit]]\nid = 'a'\nwhere = 'right-upper'\nfrom = {day}\nwhy = 'implant'\n");
        Story { top: format!("code = 'P-001'\nimplanted = {day}\n"), rows, events: Vec::new() }.care(
            day,
            "inpatient",
            "",
        )
    }

    /// Home from a day on, reporting each change.
    pub fn home_from(&self, day: &str) -> Story {
        self.care(day, "home", "")
    }

    /// Home from a day on, reporting by log.
    pub fn log_household_from(&self, day: &str) -> Story {
        self.care(day, "home", "reports = 'log'\n")
    }

    /// Elsewhere from a day on.
    pub fn elsewhere_from(&self, day: &str) -> Story {
        self.care(day, "elsewhere", "")
    }

    /// An order from one day until another; with "" as the end, it stays in force.
    pub fn order(&self, from: &str, until: &str, says: &str) -> Story {
        let until = if until.is_empty() { String::new() } else { format!("until = {until}\n") };
        self.row(format!("[[order]]\nfrom = {from}\n{until}{says}\nby = 'md-3'\n"))
    }

    /// Support ended on a day.
    pub fn ended(&self, day: &str) -> Story {
        self.row(format!("[ended]\non = {day}\nwhy = 'transplant'\n"))
    }

    /// The records begin on a day after the implant.
    pub fn records_from(&self, day: &str) -> Story {
        Story { top: format!("{}records_from = {day}\ninfections_before = 0\n", self.top), ..self.clone() }
    }

    /// The last change before the records begin.
    pub fn last_change_before(&self, day: &str) -> Story {
        Story { top: format!("{}last_change_before = {day}\n", self.top), ..self.clone() }
    }

    /// An event at a time, in the zone of the patient or with an offset (`2026-10-23T09:10+13:00`), or on a day without one.
    pub fn event(&self, when: &str, kind: &str, says: &str) -> Story {
        let (when, offset) = when.split_at_checked("2026-11-24T07:15".len()).unwrap_or((when, ""));
        let key = if when.contains('T') { format!("at = {when}:00{offset}") } else { format!("on = {when}") };
        let name = format!("{}-{kind}.toml", when.replace(':', ""));
        let by = if says.starts_with("by = ") { "" } else { "by = 'rn-07'\n" };
        let event = (name, format!("kind = '{kind}'\n{key}\n{by}{says}\n"));
        Story { events: self.events.iter().cloned().chain([event]).collect(), ..self.clone() }
    }

    /// Returns true if a change can be expected on a day.
    pub fn is_expected(&self, on: &str) -> bool {
        self.ask(on, |schedule, _| schedule.is_expected(day(on)).to_string()) == "true"
    }

    /// Returns the reason why a shower on a day is too early.
    pub fn no_shower(&self, on: &str) -> String {
        self.ask(on, |schedule, _| match schedule.no_shower(day(on)) {
            Some(NoShower::Before { .. }) => "before the first shower day".to_owned(),
            Some(NoShower::Ordered) => "ordered".to_owned(),
            None => "nothing".to_owned(),
        })
    }

    /// Returns true if a day from `first` to `last` belongs to a stay elsewhere.
    pub fn is_stay_between(&self, first: &str, last: &str) -> bool {
        self.ask(first, |schedule, _| schedule.is_stay_between(day(first), day(last)).to_string()) == "true"
    }

    /// Returns the interval of a day and its phase.
    pub fn interval(&self, on: &str) -> String {
        self.ask(on, |schedule, _| {
            schedule.interval(day(on)).map_or("none".into(), |(interval, phase)| format!("{interval} ({phase})"))
        })
    }

    /// Returns the day on which the change after one on `last` is due.
    pub fn next_due(&self, last: &str) -> String {
        self.ask(last, |schedule, _| shown(schedule.next_due(day(last), day(last))))
    }

    /// The first due day of the chain.
    pub fn first_due(&self) -> String {
        self.ask("2026-11-24", |schedule, timeline| shown(schedule.first_due(timeline.today)))
    }

    /// Returns state, day, reason and hours overdue as of an instant.
    pub fn due(&self, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let due = Due::of(&schedule, timeline);
            match (due.state, due.because, due.due_on) {
                (State::None, ..) => "none".to_owned(),
                (state, because, due_on) => {
                    let unknown = if due.order_unknown { " order unknown" } else { "" };
                    let hours = due.hours_overdue.map(|hours| format!(", {hours} h")).unwrap_or_default();
                    format!("{state} {} {}{unknown}{hours}", shown(due_on), because.map_or("", Word::word))
                }
            }
        })
    }

    /// Returns the other requirements of a change as of an instant, each with its deadline.
    pub fn also(&self, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let due = Due::of(&schedule, timeline);
            let also = due.also.iter().map(|one| {
                let unknown = if one.order_unknown { " order unknown" } else { "" };
                format!("{} {} by {}{unknown}", one.because, one.due_on, minute(schedule.plan, one.deadline.instant()))
            });
            listed(also.collect())
        })
    }

    /// Returns the last covered day, the last day of contact with the household, and the day of the next log, as of an
    /// instant.
    pub fn heard(&self, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let due = Due::of(&schedule, timeline);
            let [through, from, log] = [due.heard_through, due.heard_from, due.log_expected].map(shown);
            format!("through {through}, from {from}, log {log}")
        })
    }

    /// Returns the last promise as of an instant.
    pub fn promise(&self, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            Promise::of(&schedule, timeline).map_or("none".to_owned(), |promise| {
                let broken = if promise.broken { ", broken" } else { "" };
                format!("by {}{broken}", minute(schedule.plan, promise.expect_by.instant()))
            })
        })
    }

    /// Returns the default `expect_by` of a call.
    pub fn default_until(&self, call: &str) -> String {
        self.ask(call, |schedule, timeline| minute(schedule.plan, default_until(&schedule, timeline, timeline.as_of)))
    }

    /// Returns the number of consecutive missed changes as of an instant.
    pub fn missed_in_a_row(&self, as_of: &str) -> i64 {
        self.ask(as_of, |schedule, timeline| Missed::in_a_row(&schedule, timeline).to_string()).parse().unwrap_or(-1)
    }

    /// Returns the longest gap of a period as of the end of a day, and the days in it that are not covered.
    pub fn gap(&self, from: &str, to: &str, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let missed = Missed::of(&schedule, timeline, Period { from: day(from), to: day(to) });
            let gap = missed.longest_gap_days.map_or("-".to_owned(), |days| format!("{days} d"));
            format!("{gap}, {} not covered", missed.days_not_covered)
        })
    }

    /// Returns the outcomes of the expected changes of a period, as of the end of a day.
    pub fn missed(&self, from: &str, to: &str, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let missed = Missed::of(&schedule, timeline, Period { from: day(from), to: day(to) });
            let row = |expectation: &crate::schedule::Expectation| {
                let late = expectation
                    .days_late
                    .filter(|days| *days > 0)
                    .map(|days| format!(" by {days}"))
                    .unwrap_or_default();
                format!("{} {}{late}", expectation.due_on.format("%m-%d"), expectation.outcome)
            };
            missed.expectations.iter().map(row).collect::<Vec<_>>().join(", ")
        })
    }

    /// Returns the planned days of a period as of an instant: those on which a change is due, with the reason if it is
    /// not the interval.
    pub fn outlook(&self, from: &str, to: &str, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let due = Due::of(&schedule, timeline);
            let outlook = Outlook::of(&schedule, timeline, &due, Period { from: day(from), to: day(to) });
            let mut out = String::new();
            for planned in outlook.days.iter().filter(|planned| planned.plan != DayPlan::Free) {
                let day = planned.day.format("%d");
                match planned.because {
                    Some(Because::Interval) => out.push_str(&format!(" {day}")),
                    Some(because) => out.push_str(&format!(" {day} {because}")),
                    None => out.push_str(&format!(", {day} {},", planned.plan)),
                }
            }
            out.trim_matches([',', ' ']).replace(",,", ",")
        })
    }

    /// Returns the signals of the last 400 days as of an instant, each with its start, the first action and its end.
    ///
    /// The staff are rn-07 (nurse), ed-1 (educator who may sign) and md-3 (physician); a caregiver is p001-son.
    #[track_caller]
    pub fn signals(&self, as_of: &str) -> Vec<String> {
        self.signals_by("", as_of)
    }

    /// Returns the signals under a policy that differs from the defaults.
    ///
    /// A story with an error fails its test here: an example that looks for one name, or for none, would pass by mistake.
    #[track_caller]
    pub fn signals_by(&self, policy_says: &str, as_of: &str) -> Vec<String> {
        let mut problems = Vec::new();
        let episodes = self.episodes(policy_says, as_of, &mut problems);
        problems.retain(|problem| problem.makes_unusable());
        let wrong: Vec<&str> = problems.iter().map(|problem| problem.message.as_str()).collect();
        assert!(episodes.is_some() && wrong.is_empty(), "the story has errors: {wrong:?}");
        episodes.unwrap_or_default()
    }

    /// Returns the signals that may be open as of an instant, if only the files of a day and later are read, and the rare ones.
    pub fn may_be_open(&self, as_of: &str, read_from: &str) -> Vec<String> {
        let from = day(read_from);
        let names: Vec<EventName> = self.events.iter().filter_map(|(name, _)| EventName::read(name)).collect();
        let mut read = self.clone();
        let is_read = |name: EventName| name.date >= from || RARE.contains(&name.kind);
        read.events.retain(|(name, _)| EventName::read(name).is_some_and(is_read));
        let open = |watch: &SignalInputs| watch.may_be_open(&ReadWindow::from_day(from, watch.first_day, &names));
        let open = read.watch("", as_of, &mut Vec::new(), open).unwrap_or_default();
        open.into_iter().map(|signal| signal.to_string()).collect()
    }

    /// Computes the signal inputs of the story under a policy that differs from the defaults.
    fn watch<A>(
        &self,
        policy_says: &str,
        as_of: &str,
        problems: &mut Vec<Problem>,
        ask: impl FnOnce(&SignalInputs) -> A,
    ) -> Option<A> {
        let policy = policy(policy_says, problems)?;
        let people = people(problems)?;
        let calendar = policy.plan.as_ref()?.calendar.clone();
        let patient = self.patient(&calendar, problems)?;
        let instant = AsOf::read(as_of, &calendar).ok()?.instant;
        let timeline = Timeline::of(&patient, self.events(&patient, problems), instant);
        let rules = Rules { policy: Some(&policy), people: Some(&people), problems: &[] };
        SignalInputs::of(rules, &timeline).map(|watch| ask(&watch))
    }

    fn episodes(&self, policy_says: &str, as_of: &str, problems: &mut Vec<Problem>) -> Option<Vec<String>> {
        let minute = |at: WallTime| at.0.format("%Y-%m-%dT%H:%M").to_string();
        let line = |episode: &Episode| {
            let known = Some(episode.known_since).filter(|known| *known != episode.since);
            let known = known.map(|known| format!(", known {}", minute(known))).unwrap_or_default();
            let answered = episode.answered.map(|at| format!(", answered {}", minute(at)));
            let called = episode.called.as_ref().map(|call| format!(", called {} {}", call.with, call.outcome));
            let ended = episode.ended.map(|at| format!(", ended {}", minute(at)));
            let worse = episode.worse_since_action().next().map(|worse| format!(", worse {}", minute(worse.at)));
            let better = if episode.better_not_confirmed { ", better" } else { "" };
            format!(
                "{} {}{known}{}{}{}{better}{}",
                episode.signal,
                minute(episode.since),
                called.unwrap_or_default(),
                answered.unwrap_or_default(),
                worse.unwrap_or_default(),
                ended.unwrap_or_default()
            )
        };
        self.watch(policy_says, as_of, problems, |watch| watch.episodes().iter().map(line).collect())
    }

    /// Returns the stock of the policy's first item as of an instant.
    pub fn stock(&self, as_of: &str) -> String {
        self.ask(as_of, |schedule, timeline| {
            let supplies = policy("", &mut Vec::new()).and_then(|policy| policy.supplies).unwrap_or_default();
            let Some(stock) = stocks(&supplies, schedule.plan, timeline).into_iter().next() else {
                return "no item".to_owned();
            };
            let Some(on_hand) = stock.on_hand else { return "never counted".to_owned() };
            let short = if stock.short == Some(true) { ", short" } else { "" };
            format!(
                "{on_hand} on hand, runs out {}, order by {}{short}",
                shown(stock.runs_out_on),
                shown(stock.order_by)
            )
        })
    }

    fn care(&self, day: &str, place: &str, says: &str) -> Story {
        self.row(format!("[[care]]\nfrom = {day}\nplace = '{place}'\n{says}"))
    }

    fn row(&self, row: String) -> Story {
        Story { rows: format!("{}{row}", self.rows), ..self.clone() }
    }

    /// Passes the records of the story to a question.
    pub fn ask(&self, as_of: &str, question: impl FnOnce(Schedule, &Timeline) -> String) -> String {
        let mut problems = Vec::new();
        let answer = self.try_ask(as_of, &mut problems, question);
        problems.retain(|problem| problem.rule.level() > Level::Note);
        match (answer, problems.as_slice()) {
            (Some(answer), []) => answer,
            (_, problems) => {
                problems.iter().map(|problem| format!("{}: {}\n", problem.rule.word(), problem.message)).collect()
            }
        }
    }

    fn patient(&self, calendar: &Calendar, problems: &mut Vec<Problem>) -> Option<Patient> {
        let text = format!("{}{}[[caregiver]]\ncode = 'p001-son'\n", self.top, self.rows);
        let source = Arc::new(RecordText { file: "patient.toml".into(), text });
        Patient::read(&source, "P-001", calendar, problems)
    }

    fn events(&self, patient: &Patient, problems: &mut Vec<Problem>) -> Vec<Event> {
        let read = |(name, text): &(String, String)| {
            let name =
                EventName::read(name).unwrap_or(EventName { date: NaiveDate::MIN, time: None, kind: Kind::Log, n: 1 });
            let source = Arc::new(RecordText { file: name.to_string(), text: text.clone() });
            Event::read(&source, name, &patient.calendar, problems)
        };
        self.events.iter().filter_map(read).collect()
    }

    fn try_ask(
        &self,
        as_of: &str,
        problems: &mut Vec<Problem>,
        question: impl FnOnce(Schedule, &Timeline) -> String,
    ) -> Option<String> {
        let plan = policy("", problems)?.plan?;
        let patient = self.patient(&plan.calendar, problems)?;
        let events = self.events(&patient, problems);
        let instant = AsOf::read(as_of, &plan.calendar).ok()?.instant;
        let timeline = Timeline::of(&patient, events, instant);
        let exit = patient.exits.first()?;
        Some(question(Schedule { plan: &plan, patient: &patient, exit }, &timeline))
    }
}

/// The default policy for a program in Chicago, with the given changes.
fn policy(says: &str, problems: &mut Vec<Problem>) -> Option<Policy> {
    let text = format!("schema = 1\nprogram = 'Invented'\ntime_zone = 'America/Chicago'\n{says}\n");
    Policy::read(&RecordText { file: "policy.toml".into(), text }, problems).ok().flatten()
}

fn people(problems: &mut Vec<Problem>) -> Option<People> {
    let person = |code: &str, role: &str, more: &str| format!("[[person]]\ncode = '{code}'\nrole = '{role}'\n{more}\n");
    let text =
        [person("rn-07", "nurse", ""), person("ed-1", "educator", "may_sign = true"), person("md-3", "physician", "")];
    People::read(&Arc::new(RecordText { file: "people.toml".into(), text: text.concat() }), problems)
}

fn minute(plan: &CarePlan, at: Instant) -> String {
    let calendar = &plan.calendar;
    calendar.on_the_wall(at, calendar.today(at)).format("%Y-%m-%dT%H:%M").to_string()
}

fn listed(all: Vec<String>) -> String {
    if all.is_empty() { "nothing".to_owned() } else { all.join(", ") }
}

fn day(text: &str) -> NaiveDate {
    let date = text.parse::<NaiveDate>().ok();
    date.or_else(|| text.parse::<NaiveDateTime>().ok().map(|time| time.date())).unwrap_or(NaiveDate::MIN)
}

fn shown(day: Option<NaiveDate>) -> String {
    day.map_or("nothing".to_owned(), |day| day.to_string())
}
