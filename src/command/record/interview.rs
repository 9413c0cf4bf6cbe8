//! The order of the questions: time and author first, the site before the note, the dressing before the steps. `<` goes
//! back from every question, including the last.

use super::asking::{Asking, is_told, not_looked_at};
use super::pair::{KeyShape, is_second, pair_of};
use crate::command::question::{Choice, Enter, Leave, Questions};
use crate::entry::Draft;
use crate::event::{ContactOutcome, Kind, Source};
use crate::problem::Failure;
use crate::record::{Shape, Value};
use crate::view::words::question::record;
use crate::word::Word;

/// Four findings that are present or absent, asked about in one question.
const SIGNS: [&str; 4] = ["odor", "warmth", "overgranulation", "bleeding"];

/// The dressing and the anchor, as found and as left, if nothing is wrong.
const IN_ORDER: [(&str, &str); 4] = [
    ("found.dressing", "intact"),
    ("found.anchor", "in-place"),
    ("left.dressing", "intact"),
    ("left.anchor", "in-place"),
];

/// The remaining fields of a change, asked for if the user types m at the end.
const MORE: [&str; 3] = ["materials.", "steps_missed", "note"];

/// The questions about a call after its time and its caller, in the order of a round.
const CALL: [&str; 8] = ["source", "with", "outcome", "escalated_to", "expect_by", "about", "note", "temperature_c"];

/// The answer to the last question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Last {
    /// Write it.
    Write,
    /// Write nothing.
    Nothing,
    /// Ask for the remaining fields first.
    More,
    /// Staff did not see the site: ask for the source.
    NotSeen,
}

/// A record during the interview.
#[derive(Debug, Clone)]
pub(in crate::command) struct Talk {
    pub(in crate::command) draft: Draft,
    /// The writer, if none was given before.
    pub(super) writer: Option<String>,
    has_when: bool,
    /// True if there were questions to go back to.
    pub(super) is_asked: bool,
    has_site: bool,
    is_by_item: bool,
    has_covering: bool,
    is_each: bool,
    is_more: bool,
    answer: Option<Last>,
}

pub(super) enum InterviewStep {
    When,
    Key(String, Shape),
    /// Two keys in one question.
    Pair([KeyShape; 2]),
    Writer,
    /// The order of a change and a shower or damage of its minute.
    Order,
    Site,
    Signs,
    DressingAndAnchor,
    Last,
}

impl Talk {
    /// Starts the interview; a complete record is asked only the last question.
    pub(super) fn of(draft: Draft, has_when: bool, is_asked: bool) -> Talk {
        let has = |table: &str| draft.values.get(table).is_some();
        Talk {
            has_when,
            is_asked,
            has_site: has("site"),
            has_covering: has("found") || has("left"),
            draft,
            writer: None,
            is_by_item: false,
            is_each: false,
            is_more: false,
            answer: None,
        }
    }

    /// Returns true if the answers so far leave a key out.
    fn is_left_out(&self, key: &str) -> bool {
        let is_of_change = self.draft.kind == Kind::Change;
        match key {
            _ if key.starts_with("site.") => !self.is_by_item,
            _ if is_of_change && (key.starts_with("found.") || key.starts_with("left.")) => {
                !self.is_each && !self.has_covering
            }
            _ if is_of_change && is_more(key) => !self.is_more,
            "escalated_to" => self.draft.values.text("outcome") != Some(ContactOutcome::Escalated.word()),
            _ => false,
        }
    }

    /// Returns true if there are fields left that were not asked for.
    pub(super) fn has_more(&self) -> bool {
        self.draft.kind == Kind::Change && self.is_asked && !self.is_more
    }
}

impl Asking<'_> {
    /// Asks every question, then `last`, which may lead back to them. Returns the record, and whether to write it.
    pub(super) fn interview(
        &self,
        mut talk: Talk,
        last: impl Fn(&mut Talk) -> Result<Last, Leave>,
    ) -> Result<(Talk, bool), Failure> {
        let steps = steps(talk.draft.kind);
        self.questions.walk(&mut talk, steps.len(), |at, talk| {
            self.questions.terminal.so_far("record", self.so_far(talk));
            self.step(&steps[at], talk, &last)
        })?;
        let is_wanted = talk.answer == Some(Last::Write);
        Ok((talk, is_wanted))
    }

    pub(super) fn step(
        &self,
        step: &InterviewStep,
        talk: &mut Talk,
        last: &impl Fn(&mut Talk) -> Result<Last, Leave>,
    ) -> Result<bool, Leave> {
        if let InterviewStep::Last = step {
            return if matches!(talk.answer, None | Some(Last::More)) { self.last(talk, last) } else { Ok(false) };
        }
        if let (InterviewStep::Writer, true) = (step, talk.answer.is_none()) {
            return self.writer(talk);
        }
        if let (InterviewStep::Order, true) = (step, talk.answer.is_none()) {
            return self.order(&mut talk.draft);
        }
        if !talk.is_asked || matches!(talk.answer, Some(Last::Write | Last::Nothing)) {
            return Ok(false);
        }
        match step {
            InterviewStep::When if talk.has_when => Ok(false),
            InterviewStep::When => self.when(&mut talk.draft),
            InterviewStep::Site if talk.has_site => Ok(false),
            InterviewStep::Site => self.site(talk),
            InterviewStep::Signs if talk.is_by_item => self.signs(talk),
            InterviewStep::DressingAndAnchor if !talk.has_covering => self.covering(talk),
            InterviewStep::Signs
            | InterviewStep::DressingAndAnchor
            | InterviewStep::Order
            | InterviewStep::Writer
            | InterviewStep::Last => Ok(false),
            InterviewStep::Pair(pair) if talk.is_left_out(&pair[0].0) => Ok(false),
            InterviewStep::Pair(pair) => self.pair(&mut talk.draft, pair),
            InterviewStep::Key(key, shape) => self.asked_key(talk, key, shape),
        }
    }

    fn asked_key(&self, talk: &mut Talk, key: &str, shape: &Shape) -> Result<bool, Leave> {
        if talk.is_left_out(key) {
            return Ok(false);
        }
        if key == "source" && talk.draft.values.get(key).is_none() && self.did_it(talk) {
            // For a call it depends on the person reached, which is asked next.
            if talk.draft.kind != Kind::Contact {
                talk.draft.values.set(key, Value::Text(Source::Seen.word().to_owned()));
            }
            return Ok(false);
        }
        self.key(&mut talk.draft, key, shape)
    }

    /// Returns true if the writer did it, so that the source is known.
    fn did_it(&self, talk: &Talk) -> bool {
        talk.draft.values.text("by").is_some_and(|by| self.writer == Some(by))
    }

    fn last(&self, talk: &mut Talk, last: &impl Fn(&mut Talk) -> Result<Last, Leave>) -> Result<bool, Leave> {
        loop {
            match last(talk)? {
                Last::NotSeen => {
                    let told = [Source::Told, Source::Log, Source::Image].map(|source| source.word());
                    let (question, choices) = (record::SOURCE_IF_NOT_SEEN, Choice::words(&told));
                    if let Some(at) = self.questions.choose(question, &choices, Enter::Asks)? {
                        talk.draft.values.set("source", Value::Text(told[at].to_owned()));
                    }
                }
                answer => {
                    talk.is_more = answer == Last::More;
                    talk.answer = Some(answer);
                    return Ok(true);
                }
            }
        }
    }

    /// Asks for the writer, if none is known and the author is not on the staff.
    fn writer(&self, talk: &mut Talk) -> Result<bool, Leave> {
        let people = self.book.program.people.as_ref();
        let is_staff = |code: &str| people.is_some_and(|people| people.get(code).is_some());
        if self.writer.is_some() || talk.writer.is_some() || talk.draft.values.text("by").is_some_and(is_staff) {
            return Ok(false);
        }
        let today = self.book.calendar.today(self.clock.now);
        let known = |code: &str| match super::unknown(self.book, code) {
            None => self.not_doubted(code, today).map(|()| code.to_owned()),
            Some(sentences) => Err(sentences),
        };
        talk.writer = self.questions.ask(record::WRITER, Enter::Asks, known)?;
        Ok(true)
    }

    /// The look at the site: `none` must be typed in full, and Enter means not looked at.
    fn site(&self, talk: &mut Talk) -> Result<bool, Leave> {
        let is_needed = talk.draft.missing().iter().any(|(key, _)| key == "site");
        let enter = if is_needed { Enter::Asks } else { Enter::Leaves(not_looked_at(&talk.draft)) };
        let question = if is_told(&talk.draft) { record::SITE_AS_REPORTED } else { record::SITE_AS_SEEN };
        let pair = pair_of(talk.draft.kind, "site.drainage");
        let read = |typed: &str| match typed.to_lowercase().as_str() {
            "none" => {
                let mut none = talk.draft.clone();
                none.none_noted();
                Ok((none, false))
            }
            "f" | "findings" => Ok((talk.draft.clone(), true)),
            typed => match pair.as_ref().and_then(|pair| self.drainage(&talk.draft, pair, typed)) {
                Some(answered) => Ok((answered?, true)),
                None => Err(format!(
                    "{} is not a choice. Use none, in full, f, or the drainage, such as pus, moderate.",
                    crate::text::visible(typed)
                )),
            },
        };
        if let Some((answered, is_by_item)) = self.questions.ask(question, enter, read)? {
            talk.draft = answered;
            talk.is_by_item |= is_by_item;
        }
        Ok(true)
    }

    /// Odor, warmth, overgranulation and bleeding in one question.
    fn signs(&self, talk: &mut Talk) -> Result<bool, Leave> {
        let is_open = |sign: &&&str| talk.draft.values.get(&format!("site.{sign}")).is_none();
        let open: Vec<&str> = SIGNS.iter().filter(is_open).copied().collect();
        let mut choices = Choice::words(&open);
        let (question, none) = match is_told(&talk.draft) {
            true => (record::SIGNS_AS_REPORTED, "all asked about, none reported"),
            false => (record::SIGNS_AS_SEEN, "all looked at, none present"),
        };
        choices.push(Choice::of("none", none));
        let fits = |picked: Vec<usize>| match picked.contains(&open.len()) && picked.len() > 1 {
            true => Err("none cannot be combined with a finding. Name those that are present, or none.".to_owned()),
            false => Ok(picked),
        };
        let enter = Enter::Leaves(not_looked_at(&talk.draft));
        let Some(picked) = self.questions.choose_several_as(question, &choices, enter, fits)? else {
            return Ok(true);
        };
        for (at, sign) in open.iter().enumerate() {
            talk.draft.values.set(&format!("site.{sign}"), Value::Flag(picked.contains(&at)));
        }
        Ok(true)
    }

    /// Asks about dressing and anchor in one question, if nothing is wrong.
    fn covering(&self, talk: &mut Talk) -> Result<bool, Leave> {
        let choices = [
            Choice::claim("intact", "dressing intact and anchor in place, as found and as left"),
            Choice::of("each", "one by one"),
        ];
        let question = record::DRESSING_AND_ANCHOR;
        match self.questions.choose(question, &choices, Enter::Leaves(not_looked_at(&talk.draft)))? {
            Some(0) => {
                let text = |word: &str| Value::Text(word.to_owned());
                IN_ORDER.iter().for_each(|(key, word)| talk.draft.values.set(key, text(word)));
            }
            Some(_) => talk.is_each = true,
            None => {}
        }
        Ok(true)
    }
}

fn is_more(key: &str) -> bool {
    MORE.iter().any(|more| key.starts_with(more))
}

/// The questions of a kind, in order.
pub(super) fn steps(kind: Kind) -> Vec<InterviewStep> {
    let keys = Draft::keys(kind);
    let step = |(key, shape, _): &(String, Shape, &'static str)| {
        pair_of(kind, key).map_or_else(|| InterviewStep::Key(key.clone(), shape.clone()), InterviewStep::Pair)
    };
    let is_sign = |key: &str| SIGNS.iter().any(|sign| key == format!("site.{sign}"));
    let of = |is_meant: &dyn Fn(&str) -> bool| -> Vec<InterviewStep> {
        keys.iter().filter(|(key, ..)| is_meant(key) && !is_second(key)).map(step).collect()
    };
    let is_site = |key: &str| key.starts_with("site.");
    let is_covering = |key: &str| key.starts_with("found.") || key.starts_with("left.");
    let is_change = kind == Kind::Change;
    let is_late = |key: &str| if is_change { is_more(key) || is_covering(key) } else { key == "note" };
    let mut steps = of(&|key| key == "exit");
    steps.push(InterviewStep::When);
    steps.extend(of(&|key| key == "by"));
    steps.push(InterviewStep::Writer);
    if kind == Kind::Contact {
        steps.extend(CALL.iter().flat_map(|call| of(&|key| key == *call)));
        steps.push(InterviewStep::Last);
        return steps;
    }
    steps.extend(of(&|key| !["by", "exit"].contains(&key) && !is_site(key) && !is_late(key)));
    steps.push(InterviewStep::Order);
    if keys.iter().any(|(key, ..)| is_site(key)) {
        steps.push(InterviewStep::Site);
        steps.extend(of(&|key| is_site(key) && !is_sign(key) && key != "site.temperature_c"));
        steps.push(InterviewStep::Signs);
        steps.extend(of(&|key| key == "site.temperature_c"));
    }
    if is_change {
        steps.push(InterviewStep::DressingAndAnchor);
        steps.extend(of(&is_covering));
        steps.push(InterviewStep::Last);
        steps.extend(of(&|key| is_more(key) && key != "note"));
    }
    steps.extend(of(&|key| key == "note"));
    steps.push(InterviewStep::Last);
    steps
}

/// Handles a No: back to the questions, on as `on` says (`None`), or leave without writing, which is typed in full.
/// Without questions to go back to there are no numbers, since 1 means to go back.
pub(super) fn left(questions: &Questions, talk: &Talk, on: &str) -> Result<Option<Last>, Leave> {
    let question = if talk.is_asked { record::NOT_SAVED } else { record::NOT_SAVED_BY_FLAGS };
    let explanation = if talk.is_asked { question.with(&[on]).numbered(2).explained() } else { question.explained() };
    let shown = crate::view::entry::question(&question.with(&[on]).text, questions.look);
    let is_on = |typed: &str| typed == on || on.split(' ').next() == Some(typed);
    loop {
        let answer = questions.terminal.ask_explained(&shown, &explanation);
        match answer.map(|answer| answer.trim().to_lowercase()).as_deref() {
            Some("1" | "back" | "go back" | "<") if talk.is_asked => return Err(Leave::Back),
            Some("2") if talk.is_asked => return Ok(None),
            Some(typed) if is_on(typed) => return Ok(None),
            Some("discard") | None => return Ok(Some(Last::Nothing)),
            Some(_) if talk.is_asked => questions.say(&format!("Type 1 to go back, 2 to {on}, or discard in full.")),
            Some(_) => questions.say(&format!("Type {on}, or discard in full.")),
        }
    }
}
