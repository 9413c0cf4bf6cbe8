//! The last questions about a record: each doubt, each end, and the write.

use super::asking::Asking;
use super::entering::{Entering, Ready};
use super::interview::{Last, Talk, left};
use crate::command::closing::{self, Close, Spoken};
use crate::command::consent::{self, TypedAnswer};
use crate::command::question::Leave;
use crate::command::twin::{Twin, TwinAnswer};
use crate::problem::Failure;

impl Entering<'_> {
    /// Asks about doubts, ends, and finally the write; the default of all but the last is No.
    pub(super) fn last(&self, asking: &Asking, ready: &Ready, talk: &Talk) -> Result<Last, Leave> {
        let questions = &asking.questions;
        self.context.say(&ready.said(self.book, self.context));
        for doubt in ready.firm.iter().chain(&ready.doubts) {
            if let Some(twin) = ready.twins.iter().find(|twin| twin.doubt == *doubt) {
                match self.of_twin(asking, twin, talk)? {
                    Some(last) => return Ok(last),
                    None => continue,
                }
            }
            if !asking.is_agreed(doubt, "Save anyway?")
                && let Some(last) = left(questions, talk, "save anyway")?
            {
                return Ok(last);
            }
        }
        let call = self.program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
        let acted_on = ready.consequence.as_ref();
        let acted_on = acted_on.and_then(|consequence| crate::view::consequence::counts_as_acted_on(consequence, call));
        acted_on.iter().for_each(|sentence| questions.say(sentence));
        // An end is confirmed only by an explicit yes.
        loop {
            match self.close(ready).map_err(Leave::Fails)? {
                Close::Meant => break,
                Close::NotSeen => return Ok(Last::NotSeen),
                Close::NotMeant => {
                    if let Some(last) = left(questions, talk, "answer it again")? {
                        return Ok(last);
                    }
                }
            }
        }
        let more = if talk.has_more() { "; m: materials, steps missed, note" } else { "" };
        let back = if talk.is_asked { format!(" (< goes back{more})") } else { String::new() };
        let bare = match (talk.draft.is_change_without_site(), talk.draft.has_dressing_or_anchor()) {
            (true, false) => "Site, dressing and anchor not recorded. ",
            (true, true) => "Site not recorded. ",
            (false, _) => "",
        };
        let question = format!("{bare}Write it? [y/N]{back}");
        loop {
            let answer = consent::typed(
                || questions.terminal.ask(&question),
                |sentence| questions.say(sentence),
                consent::WRITES,
            );
            match answer {
                TypedAnswer::Yes => return Ok(Last::Write),
                TypedAnswer::No if talk.is_asked => {
                    return Ok(left(questions, talk, "write it")?.unwrap_or(Last::Write));
                }
                TypedAnswer::No | TypedAnswer::Ended => return Ok(Last::Nothing),
                TypedAnswer::Other(word) if word == "<" && talk.is_asked => return Err(Leave::Back),
                TypedAnswer::Other(word) if ["m", "more"].contains(&word.as_str()) && talk.has_more() => {
                    return Ok(Last::More);
                }
                TypedAnswer::Other(_) => questions.say(consent::Y_OR_N),
            }
        }
    }

    /// Asks whether a record on file is the same as the new one; `None` if the new one may be saved.
    fn of_twin(&self, asking: &Asking, twin: &Twin, talk: &Talk) -> Result<Option<Last>, Leave> {
        if asking.agreed.borrow().contains(&twin.doubt) {
            return Ok(None);
        }
        loop {
            match twin.ask(&asking.questions)? {
                answer @ (TwinAnswer::Replaces | TwinAnswer::Another) => {
                    asking.agreed.borrow_mut().push(twin.doubt.clone());
                    if answer == TwinAnswer::Replaces {
                        asking.replaced.borrow_mut().push(twin.clone());
                    }
                    return Ok(None);
                }
                TwinAnswer::OnFile => {
                    asking.questions.say(&twin.doubt);
                    return Ok(Some(Last::Nothing));
                }
                TwinAnswer::Stop => {
                    if let Some(last) = left(&asking.questions, talk, "answer it again")? {
                        return Ok(Some(last));
                    }
                }
            }
        }
    }

    pub(super) fn close(&self, ready: &Ready) -> Result<Close, Failure> {
        let Some(consequence) = &ready.consequence else { return Ok(Close::Meant) };
        let is_typed = self.typed.given.iter().any(|(key, _)| key == "source");
        closing::ask(self.context, consequence, Spoken { flag: Some("--source"), is_typed, is_yes: self.typed.yes })
    }
}
