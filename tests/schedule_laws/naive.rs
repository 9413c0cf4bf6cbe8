//! Rules 1 to 3 to the letter, read from the record files and computed day by day without regard to speed.
//!
//! It shares no code with the program: it parses the files as TOML, walks day by day, and has the policy's defaults as
//! its own numbers. Left out on purpose, because no drawn record has them: faults, times that the clock change skips or
//! repeats, interval lists of the policy.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use chrono::{DateTime, Datelike, Days, Duration, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use toml::{Table, Value};

pub(crate) type Instant = DateTime<Utc>;

/// The keys of a drawn policy.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Policy {
    pub(crate) after_days: i64,
    pub(crate) judged_days: i64,
    pub(crate) log_days: i64,
    pub(crate) shower_hours: i64,
    pub(crate) damage_hours: i64,
    pub(crate) zone: Tz,
}

/// One record.
pub(crate) struct Record {
    pub(crate) file: String,
    pub(crate) kind: String,
    number: u32,
    pub(crate) day: NaiveDate,
    is_timed: bool,
    pub(crate) instant: Instant,
    says: Table,
}

/// A `[[care]]` row: first day, place, true if the household keeps a log, time zone.
struct Care {
    from: NaiveDate,
    place: String,
    is_by_log: bool,
    zone: Tz,
}

/// One patient.
pub(crate) struct Patient {
    policy: Policy,
    says: Table,
    care: Vec<Care>,
    orders: Vec<Table>,
    pub(crate) records: Vec<Record>,
}

/// A requirement: reason, care day, deadline, true if the deadline is in hours, true if the order in the day is
/// unknown.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Asked {
    pub(crate) because: &'static str,
    pub(crate) due_on: NaiveDate,
    pub(crate) deadline: Instant,
    in_hours: bool,
    pub(crate) order_unknown: bool,
}

/// The due state of an exit site.
#[derive(Debug, Default)]
pub(crate) struct Due {
    pub(crate) state: &'static str,
    pub(crate) chosen: Option<Asked>,
    pub(crate) also: Vec<Asked>,
    pub(crate) heard_through: Option<NaiveDate>,
    pub(crate) heard_from: Option<NaiveDate>,
    pub(crate) heard_by_call: Option<bool>,
    pub(crate) log_expected: Option<NaiveDate>,
}

/// An expected change: due day, outcome, day of the change, days late.
pub(crate) type Expected = (NaiveDate, &'static str, Option<NaiveDate>, Option<i64>);

pub(crate) fn next(day: NaiveDate) -> NaiveDate {
    day + Days::new(1)
}

fn last(day: NaiveDate) -> NaiveDate {
    day - Days::new(1)
}

fn days(from: NaiveDate, to: NaiveDate) -> impl Iterator<Item = NaiveDate> {
    from.iter_days().take_while(move |day| *day <= to)
}

fn three() -> NaiveTime {
    NaiveTime::from_hms_opt(3, 0, 0).unwrap()
}

fn date(value: Option<&Value>) -> Option<NaiveDate> {
    value.map(|value| value.as_datetime().unwrap().date.unwrap().to_string().parse().unwrap())
}

fn text<'a>(table: &'a Table, key: &str) -> Option<&'a str> {
    table.get(key).and_then(Value::as_str)
}

fn rows(table: &Table, key: &str) -> Vec<Table> {
    let rows = table.get(key).and_then(Value::as_array).cloned().unwrap_or_default();
    rows.into_iter().map(|row| row.as_table().unwrap().clone()).collect()
}

/// Returns the care day of a wall time.
fn care_day(wall: NaiveDateTime) -> NaiveDate {
    if wall.time() < three() { last(wall.date()) } else { wall.date() }
}

impl Patient {
    pub(crate) fn read(policy: Policy, folder: &Path) -> Patient {
        let says: Table = fs::read_to_string(folder.join("patient.toml")).unwrap().parse().unwrap();
        let care = rows(&says, "care").into_iter().map(|row| Care {
            from: date(row.get("from")).unwrap(),
            place: text(&row, "place").unwrap().to_owned(),
            is_by_log: text(&row, "reports") == Some("log"),
            zone: text(&row, "time_zone").map_or(policy.zone, |zone| zone.parse().unwrap()),
        });
        let (care, orders) = (care.collect(), rows(&says, "order"));
        let mut patient = Patient { policy, says, care, orders, records: Vec::new() };
        for year in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_dir()) {
            for file in fs::read_dir(year).unwrap().map(|entry| entry.unwrap().path()) {
                let says: Table = fs::read_to_string(&file).unwrap().parse().unwrap();
                if !says.contains_key("void") {
                    let record = patient.record(file.file_name().unwrap().to_str().unwrap(), says);
                    patient.records.push(record);
                }
            }
        }
        let order = |r: &Record| (r.instant, !r.is_timed, r.kind == "change", r.kind.clone(), r.number, r.file.clone());
        patient.records.sort_by_key(order);
        patient
    }

    fn record(&self, file: &str, says: Table) -> Record {
        let stem = file.strip_suffix(".toml").unwrap();
        let number = stem.rsplit('-').next().unwrap().parse().unwrap_or(1);
        let (day, is_timed, instant) = match says.get("at") {
            Some(at) => {
                let (day, instant) = self.moment(at);
                (day, true, instant)
            }
            None => {
                let day = date(says.get("on")).unwrap();
                (day, false, self.end(day) - Duration::seconds(1))
            }
        };
        let kind = text(&says, "kind").unwrap().to_owned();
        Record { file: file.to_owned(), kind, number, day, is_timed, instant, says }
    }

    /// Returns the care day and the instant of a TOML time.
    fn moment(&self, value: &Value) -> (NaiveDate, Instant) {
        let written = value.as_datetime().unwrap().to_string();
        if let Ok(time) = DateTime::parse_from_rfc3339(&written) {
            return (care_day(time.naive_local()), time.to_utc());
        }
        let wall: NaiveDateTime = written.parse().unwrap();
        let day = care_day(wall);
        (day, self.zone(day).from_local_datetime(&wall).single().unwrap().to_utc())
    }

    fn row(&self, day: NaiveDate) -> &Care {
        self.care.iter().rfind(|row| row.from <= day).unwrap_or(&self.care[0])
    }

    fn place(&self, day: NaiveDate) -> &str {
        &self.row(day).place
    }

    fn zone(&self, day: NaiveDate) -> Tz {
        self.row(day).zone
    }

    fn boundary(day: NaiveDate, zone: Tz) -> Instant {
        zone.from_local_datetime(&day.and_time(three())).single().unwrap().to_utc()
    }

    fn end(&self, day: NaiveDate) -> Instant {
        Patient::boundary(next(day), self.zone(day))
    }

    pub(crate) fn today(&self, at: Instant) -> NaiveDate {
        let zone = self.zone(at.with_timezone(&self.policy.zone).date_naive());
        let near = at.date_naive();
        days(near - Days::new(3), near + Days::new(3)).find(|day| at < Patient::boundary(next(*day), zone)).unwrap()
    }

    fn is_away(&self, day: NaiveDate) -> bool {
        self.place(day) == "elsewhere"
    }

    /// True if a day belongs to a stay elsewhere: a run of at least the minimum number of days.
    fn is_of_a_stay(&self, day: NaiveDate) -> bool {
        if !self.is_away(day) {
            return false;
        }
        let enough = self.policy.after_days;
        let back = (1..enough).take_while(|n| self.is_away(day - Duration::days(*n))).count() as i64;
        let ahead = (1..enough).take_while(|n| self.is_away(day + Duration::days(*n))).count() as i64;
        back + 1 + ahead >= enough
    }

    fn has_stay(&self, from: NaiveDate, to: NaiveDate) -> bool {
        days(from, to).any(|day| self.is_of_a_stay(day))
    }

    fn ended(&self) -> Option<NaiveDate> {
        date(self.says.get("ended").and_then(|ended| ended.get("on")))
    }

    pub(crate) fn exits(&self) -> Vec<String> {
        rows(&self.says, "exit").iter().map(|exit| text(exit, "id").unwrap().to_owned()).collect()
    }

    fn exit(&self, id: &str) -> (NaiveDate, Option<NaiveDate>) {
        let exit = rows(&self.says, "exit").into_iter().find(|exit| text(exit, "id") == Some(id)).unwrap();
        (date(exit.get("from")).unwrap(), date(exit.get("until")))
    }

    /// The exit sites with a row in the list.
    pub(crate) fn listed(&self, today: NaiveDate) -> Vec<String> {
        let open = |id: &String| self.exit(id).1.is_none_or(|until| today <= until);
        let listed: Vec<String> = self.exits().into_iter().filter(open).collect();
        if !listed.is_empty() {
            return listed;
        }
        self.exits().into_iter().max_by_key(|id| self.exit(id).1).into_iter().collect()
    }

    pub(crate) fn start(&self, exit: &str) -> NaiveDate {
        self.exit(exit).0.max(date(self.says.get("records_from")).unwrap_or(NaiveDate::MIN))
    }

    fn last_day(&self, exit: &str) -> Option<NaiveDate> {
        [self.exit(exit).1, self.ended()].into_iter().flatten().min()
    }

    fn is_inside(&self, exit: &str, day: NaiveDate) -> bool {
        self.exit(exit).1.is_none_or(|until| day < until)
            && self.ended().is_none_or(|on| day < on)
            && !self.is_away(day)
    }

    fn is_expected(&self, exit: &str, day: NaiveDate) -> bool {
        self.start(exit) < day && self.is_inside(exit, day)
    }

    /// True if the interval in force on a day has run out for a change on `c`.
    fn is_met(&self, exit: &str, c: NaiveDate, day: NaiveDate) -> bool {
        let gone = (day - c).num_days();
        let mut order: Option<&Table> = None;
        for row in &self.orders {
            let from = date(row.get("from")).unwrap();
            let runs = from <= day && date(row.get("until")).is_none_or(|until| day <= until);
            let is_mine = text(row, "exit").is_none_or(|id| id == exit);
            if runs && is_mine && order.is_none_or(|other| date(other.get("from")).unwrap() <= from) {
                order = Some(row);
            }
        }
        let Some(order) = order else {
            let is_daily = (day - self.exit(exit).0).num_days() <= 21 || self.place(day) == "inpatient";
            return gone >= if is_daily { 1 } else { 2 };
        };
        if let Some(every) = order.get("every_days") {
            return gone >= every.as_integer().unwrap();
        }
        let least = order.get("min_days").map_or(1, |least| least.as_integer().unwrap());
        let names = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
        let is_one = |day: NaiveDate| {
            let name = names[day.weekday().num_days_from_monday() as usize];
            order["on_weekdays"].as_array().unwrap().iter().any(|one| one.as_str() == Some(name))
        };
        let first = c.iter_days().skip(1).find(|d| (*d - c).num_days() >= least && is_one(*d)).unwrap();
        gone >= least && (is_one(day) || (first - c).num_days() > 7)
    }

    pub(crate) fn next_due(&self, exit: &str, c: NaiveDate, today: NaiveDate) -> Option<NaiveDate> {
        let horizon = c.max(today) + Days::new(400);
        let is_due =
            |day: &NaiveDate| self.is_expected(exit, *day) && (self.is_met(exit, c, *day) || self.has_stay(c, *day));
        days(next(c), horizon).find(is_due)
    }

    /// The days c and d before the first change, and the name of that beginning.
    fn beginning(&self, exit: &str, today: NaiveDate) -> (NaiveDate, Option<NaiveDate>, &'static str) {
        let s = self.start(exit);
        if s == self.exit(exit).0 {
            return (s, self.next_due(exit, s, today), "first-change");
        }
        let first = days(s, s.max(today) + Days::new(400)).find(|day| self.is_inside(exit, *day));
        let Some(c) = date(self.says.get("last_change_before")) else { return (last(s), first, "unknown-before") };
        let was_due = days(next(c), s)
            .any(|day| self.is_inside(exit, day) && (self.is_met(exit, c, day) || self.has_stay(c, day)));
        (c, if was_due { first } else { self.next_due(exit, c, today) }, "interval")
    }

    /// The records of an exit site up to an instant.
    fn of_exit(&self, exit: &str, at: Instant) -> Vec<&Record> {
        let is_of_it = |record: &&Record| {
            let is_open = |id: &str| {
                let (from, until) = self.exit(id);
                from <= record.day && until.is_none_or(|until| record.day <= until)
            };
            let is_one = ["change", "inspection", "assessment", "trauma"].contains(&record.kind.as_str());
            let is_named = text(&record.says, "exit").unwrap_or("a") == exit;
            (!is_one || is_named) && is_open(exit)
        };
        self.records.iter().filter(is_of_it).filter(|record| self.exists(record, at)).collect()
    }

    fn exists(&self, record: &Record, at: Instant) -> bool {
        let first = Patient::boundary(record.day, self.zone(record.day));
        if record.is_timed { record.instant <= at } else { first <= at }
    }

    fn counts(&self, exit: &str, day: NaiveDate) -> bool {
        self.start(exit) <= day && self.last_day(exit).is_none_or(|last| day <= last)
    }

    pub(crate) fn changes(&self, exit: &str, at: Instant) -> Vec<&Record> {
        let of_exit = self.of_exit(exit, at).into_iter();
        of_exit.filter(|record| record.kind == "change" && self.counts(exit, record.day)).collect()
    }

    /// True if a day is covered; only logs imported by then count if an instant is given.
    fn is_covered(&self, day: NaiveDate, today: NaiveDate, by: Option<Instant>) -> bool {
        let row = self.row(day);
        let holds = |log: &Record| {
            log.kind == "log"
                && log.says["complete"].as_bool().unwrap()
                && date(log.says.get("from")).unwrap() <= day
                && day <= date(log.says.get("through")).unwrap()
                && by.is_none_or(|by| self.exists(log, by))
        };
        day <= today
            && match row.place.as_str() {
                "inpatient" => true,
                "home" => !row.is_by_log || self.records.iter().any(holds),
                _ => false,
            }
    }

    /// Open requirements of showers and damage at an instant, showers first.
    fn unanswered(&self, exit: &str, at: Instant) -> Vec<Asked> {
        let changes = self.changes(exit, at);
        let all = self.of_exit(exit, at);
        let place_of = |record: &Record| all.iter().position(|one| one.file == record.file).unwrap();
        let damaged = |value: Option<&Value>| value.is_some_and(|word| word.as_str() != Some("intact"));
        let mut asked = Vec::new();
        for record in &all {
            let left = record.says.get("left").and_then(|left| left.get("dressing"));
            let is_left = record.kind == "change";
            let damage = match record.kind.as_str() {
                "shower" => damaged(record.says.get("dressing_before")) || damaged(record.says.get("dressing_after")),
                "inspection" | "trauma" => damaged(record.says.get("dressing")),
                "change" => damaged(left),
                _ => false,
            };
            let today = self.today(at);
            if !self.counts(exit, record.day) || self.has_stay(record.day, today) {
                continue;
            }
            for (is_shower, asks) in [(true, record.kind == "shower"), (false, damage)] {
                let is_vague = |change: &Record| change.day == record.day && !(change.is_timed && record.is_timed);
                let answers = |change: &&Record| {
                    if change.file == record.file {
                        return false;
                    }
                    let reason = text(&change.says, "reason");
                    let for_shower = [None, Some("after-shower")].contains(&reason);
                    let for_damage =
                        [None, Some("wet"), Some("soiled"), Some("lifting"), Some("site-concern")].contains(&reason);
                    let by_reason = match is_shower {
                        true => for_shower,
                        false => for_damage || record.kind == "shower" && for_shower,
                    };
                    let is_later = place_of(change) > place_of(record);
                    match (is_vague(change), is_left) {
                        (true, true) => by_reason && is_later,
                        (true, false) => by_reason,
                        (false, true) => is_later,
                        (false, false) => change.instant >= record.instant,
                    }
                };
                if !asks || changes.iter().any(answers) {
                    continue;
                }
                let hours = if is_shower { self.policy.shower_hours } else { self.policy.damage_hours };
                asked.push(Asked {
                    because: if is_shower { "after-shower" } else { "damage" },
                    due_on: record.day,
                    deadline: match record.is_timed {
                        true => record.instant + Duration::hours(hours),
                        false => self.end(record.day),
                    },
                    in_hours: record.is_timed,
                    order_unknown: changes.iter().any(|change| change.file != record.file && is_vague(change)),
                });
            }
        }
        asked
    }

    pub(crate) fn due(&self, exit: &str, at: Instant) -> Due {
        let today = self.today(at);
        let nothing = Due { state: "none", ..Due::default() };
        if today < self.start(exit) || !self.is_inside(exit, today) {
            return nothing;
        }
        let of_kind = |because: &str| {
            let mut all: Vec<Asked> = self.unanswered(exit, at);
            all.retain(|one| one.because == because);
            let first = all.iter().map(|one| one.deadline).min();
            all.into_iter().find(|one| Some(one.deadline) == first)
        };
        let reported: Vec<Asked> = [of_kind("after-shower"), of_kind("damage")].into_iter().flatten().collect();
        let regular = self.regular(exit, at);
        let covered = self.is_covered(today, today, Some(at));
        let (mut is_told, mut is_unknown) = (false, false);
        if let Some(regular) = regular.as_ref().filter(|regular| regular.due_on <= today && !covered) {
            let d = regular.due_on;
            let d2 = self.next_due(exit, d, today).unwrap_or(next(d));
            is_told = d2 <= today && days(d, last(d2)).all(|day| self.is_covered(day, today, Some(at)));
            let is_judged = regular.because == "return" && today < d + Duration::days(self.policy.judged_days);
            is_unknown = !is_told && !is_judged;
        }
        let long_ago = self.exit(exit).0 - Days::new(800);
        let before_today = || days(long_ago, last(today)).collect::<Vec<_>>().into_iter().rev();
        let through = before_today().find(|day| self.is_covered(*day, today, Some(at)));
        let stay = before_today().find(|day| self.is_of_a_stay(*day));
        let l = through.max(stay).unwrap_or(self.start(exit)) + Duration::days(self.policy.log_days);
        let mut all = reported.clone();
        if !is_unknown {
            all.extend(regular.clone());
        }
        let rank = |one: &Asked| match one.because {
            "after-shower" => 0,
            "damage" => 1,
            _ => 2,
        };
        all.sort_by_key(|one| (one.deadline, rank(one)));
        let chosen = match (&regular, reported.is_empty()) {
            (Some(regular), true) if is_unknown => {
                let end = self.end(l);
                let is_late = at >= end;
                let (due_on, because) = if is_late { (l, "log-late") } else { (regular.due_on, regular.because) };
                Some(Asked { because, due_on, deadline: end, in_hours: false, order_unknown: false })
            }
            (_, false) if is_told || is_unknown => all.iter().find(|one| rank(one) < 2).cloned(),
            _ => all.first().cloned(),
        };
        let Some(chosen) = chosen else { return nothing };
        let is_over = at > chosen.deadline || !chosen.in_hours && at == chosen.deadline;
        let state = match chosen.due_on <= today {
            _ if is_over => "overdue",
            _ if is_unknown && reported.is_empty() => "awaiting-log",
            true => "due",
            false => "upcoming",
        };
        all.retain(|one| *one != chosen);
        let is_heard = |record: &&Record| match record.kind.as_str() {
            "contact" => {
                let with = text(&record.says, "with").unwrap();
                text(&record.says, "outcome") != Some("no-answer") && ["patient", "p001-son"].contains(&with)
            }
            _ => text(&record.says, "source") == Some("told"),
        };
        let heard = self.records.iter().filter(|record| self.exists(record, at)).filter(is_heard);
        let heard: Vec<&Record> = heard.collect();
        let heard_from = heard.last().map(|record| record.day);
        // A call alone reports nothing.
        let is_call = |day| heard.iter().filter(|record| record.day == day).all(|record| record.kind == "contact");
        let heard_by_call = heard_from.map(is_call);
        Due {
            state,
            chosen: Some(chosen),
            also: all,
            heard_through: through.filter(|_| !covered),
            heard_from: heard_from.filter(|_| !covered),
            heard_by_call: heard_by_call.filter(|_| !covered),
            log_expected: Some(l).filter(|_| !covered),
        }
    }

    fn regular(&self, exit: &str, at: Instant) -> Option<Asked> {
        let today = self.today(at);
        let (mut c, mut d, name) = match self.changes(exit, at).last() {
            Some(change) => (change.day, self.next_due(exit, change.day, today), "interval"),
            None => self.beginning(exit, today),
        };
        while d.is_some_and(|d| self.has_stay(next(d), today)) {
            (c, d) = (d.unwrap(), self.next_due(exit, d.unwrap(), today));
        }
        let due_on = d?;
        let because = if self.has_stay(c, due_on) { "return" } else { name };
        Some(Asked { because, due_on, deadline: self.end(due_on), in_hours: false, order_unknown: false })
    }

    /// The last promise: its time, and true if it is broken.
    pub(crate) fn promise(&self, exit: &str, at: Instant) -> Option<(Instant, bool)> {
        let is_promise = |record: &&&Record| {
            record.kind == "contact" && ["will-change", "coming-in"].contains(&text(&record.says, "outcome").unwrap())
        };
        let there: Vec<&Record> = self.records.iter().filter(|record| self.exists(record, at)).collect();
        let call = there.iter().rfind(is_promise)?;
        let today = self.today(at);
        if self.ended().is_some_and(|on| on <= today) || self.has_stay(next(call.day), today) {
            return None;
        }
        let by = match call.says.get("expect_by") {
            Some(by) => self.moment(by).1,
            None => {
                let until = |one: &Asked| {
                    let hours =
                        if one.because == "damage" { self.policy.damage_hours } else { self.policy.shower_hours };
                    if one.deadline <= call.instant { call.instant + Duration::hours(hours) } else { one.deadline }
                };
                // A call without a time counts at the end of its day. A requirement on record at that time does not
                // exist yet.
                let running = self.unanswered(exit, call.instant.min(at)).into_iter().filter(|one| one.in_hours);
                running.map(|one| until(&one)).min().unwrap_or_else(|| self.end(self.today(call.instant)))
            }
        };
        let place = |record: &Record| there.iter().position(|one| one.file == record.file).unwrap();
        let is_kept = self.changes(exit, at).iter().any(|change| place(change) > place(call));
        (!is_kept || at <= by).then_some((by, at > by))
    }

    /// The chain of expected changes to its end.
    pub(crate) fn chain(&self, exit: &str, at: Instant) -> Vec<Expected> {
        let today = self.today(at);
        let mut done: Vec<NaiveDate> = self.changes(exit, at).iter().map(|change| change.day).collect();
        done.sort();
        let is_covered = |from: NaiveDate, to: NaiveDate| days(from, to).all(|day| self.is_covered(day, today, None));
        let next_due = |day| self.next_due(exit, day, today);
        let (mut c, mut due, _) = self.beginning(exit, today);
        let mut rows: Vec<Expected> = Vec::new();
        while let Some(d) = due {
            let d2 = next_due(d);
            let k = done.iter().copied().find(|day| *day > c);
            let has_left = self.has_stay(next(d), today);
            match (k, d2) {
                (Some(k), _) if k < d && next_due(k) == Some(d) => c = k,
                (Some(k), _) if k <= d => {
                    rows.push((d, "on-time", Some(k), Some(0)));
                    (c, due) = (k, next_due(k));
                }
                (Some(k), d2) if d2.is_none_or(|d2| k < d2) => {
                    match is_covered(d, last(k)) {
                        true => rows.push((d, "late", Some(k), Some((k - d).num_days()))),
                        false => rows.push((d, "unreported", Some(k), None)),
                    }
                    (c, due) = (k, next_due(k));
                }
                (k, Some(d2)) if k.is_some() || today >= d2 => {
                    rows.push((d, if is_covered(d, last(d2)) { "missed" } else { "unreported" }, None, None));
                    (c, due) = (d, Some(d2));
                }
                (_, None) if today > d => {
                    let is_known = is_covered(d, d) && !has_left;
                    rows.push((d, if is_known { "missed" } else { "unreported" }, None, None));
                    break;
                }
                _ => {
                    rows.push((d, if has_left { "unreported" } else { "open" }, None, None));
                    break;
                }
            }
        }
        rows
    }

    pub(crate) fn missed_in_a_row(&self, exit: &str, at: Instant) -> i64 {
        let mut rows = self.chain(exit, at);
        if rows.last().is_some_and(|row| row.1 == "open") {
            rows.pop();
        }
        rows.retain(|row| !(row.1 == "unreported" && row.2.is_none()));
        rows.iter().rev().take_while(|row| row.1 == "missed").count() as i64
    }

    /// Counts of a period: days not covered, covered days on which a change can be due, and those of them with
    /// dressing current.
    pub(crate) fn days_of(&self, exit: &str, at: Instant, from: NaiveDate, to: NaiveDate) -> [i64; 3] {
        let today = self.today(at);
        let mut counts = [0; 3];
        for day in days(from, to).filter(|day| *day < today && self.is_expected(exit, *day)) {
            if !self.is_covered(day, today, None) {
                counts[0] += 1;
                continue;
            }
            counts[1] += 1;
            let change = self.changes(exit, at).iter().map(|change| change.day).filter(|done| *done <= day).max();
            let due = match change {
                Some(change) => self.next_due(exit, change, today),
                None => self.beginning(exit, today).1,
            };
            counts[2] += i64::from(due.is_none_or(|due| due > day));
        }
        counts
    }

    /// The longest interval between two changes that touches a period, less the uncovered days strictly inside it.
    pub(crate) fn longest_gap(&self, exit: &str, at: Instant, from: NaiveDate, to: NaiveDate) -> Option<i64> {
        let today = self.today(at);
        if today < self.start(exit) || to < self.start(exit) {
            return None;
        }
        let mut done: Vec<NaiveDate> = self.changes(exit, at).iter().map(|change| change.day).collect();
        let (first, _, name) = self.beginning(exit, today);
        done.extend((name != "unknown-before").then_some(first));
        done.sort();
        let end = self.last_day(exit).filter(|end| *end <= today).unwrap_or(today.min(to));
        done.extend(Some(end).filter(|end| done.last().is_none_or(|last| last <= end)));
        let mut longest = None;
        for pair in done.windows(2).filter(|pair| pair[0] <= to && from <= pair[1]) {
            let between = days(next(pair[0]), last(pair[1])).filter(|day| !self.is_covered(*day, today, None));
            longest = longest.max(Some((pair[1] - pair[0]).num_days() - between.count() as i64));
        }
        longest
    }

    /// The census state of a patient: the first of the list that any of the rows has.
    pub(crate) fn counted_as(states: &[&'static str]) -> &'static str {
        let order = ["unusable", "overdue", "due", "upcoming", "awaiting-log", "none"];
        order.into_iter().find(|state| states.contains(state)).unwrap()
    }

    pub(crate) fn file_of_last_change(&self, exit: &str, at: Instant) -> Option<String> {
        self.changes(exit, at).last().map(|change| change.file.clone())
    }

    /// The last state of the anchor of an exit site, and the outcome of the last contact.
    pub(crate) fn said_last(&self, exit: &str, at: Instant) -> (Option<String>, Option<String>) {
        let mut anchor = None;
        for record in self.of_exit(exit, at) {
            let of = |table: &str| record.says.get(table).and_then(|table| table.get("anchor")).and_then(Value::as_str);
            let said = of("left").or(of("found")).or(text(&record.says, "anchor"));
            anchor = said.map(str::to_owned).or(anchor);
        }
        let mut contacts = self.records.iter().filter(|record| self.exists(record, at) && record.kind == "contact");
        let outcome = contacts.next_back().and_then(|record| text(&record.says, "outcome")).map(str::to_owned);
        (anchor, outcome)
    }
}

/// The number of occurrences of each word.
pub(crate) fn tally<'a>(words: impl Iterator<Item = &'a str>) -> BTreeMap<String, i64> {
    let mut counts = BTreeMap::new();
    for word in words {
        *counts.entry(word.to_owned()).or_default() += 1;
    }
    counts
}
