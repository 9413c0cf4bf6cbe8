//! Questions for what was not typed: the permitted answers shown, a default where there is an honest one, Enter skips what
//! was not looked at.

use super::flags::{flag, short_name, with_words};
use crate::command::Terminal;
use crate::entry::{Book, Clock, Draft};
use crate::problem::Failure;
use crate::record::Shape;
use crate::view::{Look, entry as view, sentences};
use crate::word::Word;

/// Somebody who answers, and what is asked about.
pub(super) struct Interview<'a> {
    pub(super) terminal: &'a dyn Terminal,
    pub(super) book: &'a Book<'a>,
    pub(super) clock: Clock<'a>,
    /// Who writes.
    pub(super) writer: Option<&'a str>,
    pub(super) look: Look,
}

impl Interview<'_> {
    /// Asks for every key that is not there yet.
    pub(super) fn fill(&self, draft: &mut Draft, has_when: bool) -> Result<(), Failure> {
        if !has_when {
            self.ask_when(draft)?;
        }
        let keys = Draft::keys(draft.kind);
        for (key, shape, about) in keys.iter().filter(|(key, ..)| !key.starts_with("site.")) {
            if draft.values.get(key).is_none() && !self.is_clear(key) {
                self.ask_key(draft, key, shape, about)?;
            }
        }
        let site: Vec<_> = keys.iter().filter(|(key, ..)| key.starts_with("site.")).collect();
        if !site.is_empty() && draft.values.get("site").is_none() {
            self.ask_site(draft, &site)?;
        }
        Ok(())
    }

    fn line(&self, question: &str) -> Result<String, Failure> {
        let line = self.terminal.ask(&view::question(question, self.look)).map(|line| line.trim().to_owned());
        line.ok_or_else(|| Failure::new("stopped; nothing was written"))
    }

    /// Says why an answer does not fit.
    fn say(&self, sentence: &str) {
        self.terminal.say(&sentences(&format!("  {sentence}"), self.look));
    }

    fn ask_when(&self, draft: &mut Draft) -> Result<(), Failure> {
        loop {
            let line =
                self.line("When: 18:40, \"yesterday 18:40\", a date alone if only the day is known [Enter: now]")?;
            match draft.set_when(if line.is_empty() { "now" } else { &line }, self.clock) {
                Ok(()) => return Ok(()),
                Err(sentence) => self.say(&sentence),
            }
        }
    }

    /// Whether nobody needs to be asked: the patient has one exit site.
    fn is_clear(&self, key: &str) -> bool {
        key == "exit" && self.book.patient.as_ref().is_none_or(|patient| patient.exits.len() < 2)
    }

    fn ask_key(&self, draft: &mut Draft, key: &str, shape: &Shape, about: &str) -> Result<(), Failure> {
        let is_needed = draft.missing().iter().any(|(missing, _)| missing == key);
        let default = self.default(draft, key);
        let enter = match (&default, is_needed) {
            (Some(default), _) => format!(" [Enter: {default}]"),
            (None, true) => String::new(),
            (None, false) => " [Enter: not said]".to_owned(),
        };
        let name = short_name(key, &Draft::keys(draft.kind)).unwrap_or_else(|| flag(key)).replace('-', " ");
        let question = format!("{name}: {}{}{enter}", with_words(about, shape), self.people(key));
        loop {
            let line = self.line(&question)?;
            let text = if line.is_empty() { default.as_deref().unwrap_or_default() } else { &line };
            if text.is_empty() && !is_needed {
                return Ok(());
            }
            if key == "by" && !text.is_empty() && !super::is_known(self.book, text) {
                self.say(&super::nobody(self.book, text));
                continue;
            }
            match draft.set(key, &whole_word(shape, text), self.clock) {
                Ok(()) => return Ok(()),
                Err(_) if text.is_empty() => {
                    self.terminal.say("  This has to be said; Ctrl-C stops, and nothing is written.")
                }
                Err(sentence) => self.say(&sentence),
            }
        }
    }

    /// The answer that is most likely true and that nobody is harmed by.
    fn default(&self, draft: &Draft, key: &str) -> Option<String> {
        match key {
            "by" => self.writer.map(str::to_owned),
            "source" => {
                let by = draft.values.text("by").unwrap_or_default();
                Some(super::telling(self.book, by, self.writer).word().to_owned())
            }
            "with" => super::only_caregiver(self.book),
            _ => None,
        }
    }

    fn caregivers(&self) -> Vec<&str> {
        let caregivers = self.book.patient.iter().flat_map(|patient| &patient.caregivers);
        caregivers.map(|caregiver| caregiver.code.as_str()).collect()
    }

    /// The codes that a key may name, where they are few.
    fn people(&self, key: &str) -> String {
        match key {
            "by" | "with" if !self.caregivers().is_empty() => {
                format!(" (caregivers: {})", self.caregivers().join(", "))
            }
            _ => String::new(),
        }
    }

    fn ask_site(&self, draft: &mut Draft, keys: &[&(String, Shape, &'static str)]) -> Result<(), Failure> {
        let is_needed = draft.missing().iter().any(|(key, _)| key == "site");
        let enter = if is_needed { "" } else { " [Enter: not looked at]" };
        loop {
            let question = format!(
                "Exit site: n, looked at all nine (drainage, redness, swelling, crust, pain on pressure, odor, warmth, overgranulation, bleeding) and there was nothing; i, item by item{enter}"
            );
            match self.line(&question)?.to_lowercase().as_str() {
                "n" => {
                    draft.none_noted();
                    return Ok(());
                }
                "i" => break,
                "" if !is_needed => return Ok(()),
                _ => self.terminal.say("  Type n or i."),
            }
        }
        for (key, shape, about) in keys {
            let is_dry = draft.values.text("site.drainage").is_none_or(|drainage| drainage == "none");
            if !(key == "site.amount" && is_dry) {
                self.ask_key(draft, key, shape, about)?;
            }
        }
        Ok(())
    }
}

/// The one word that begins so.
fn whole_word(shape: &Shape, typed: &str) -> String {
    if let Shape::Words(words) = shape {
        let lower = typed.to_lowercase();
        let mut found = words.iter().filter(|word| word.starts_with(&lower));
        if let (Some(word), None) = (found.next(), found.next())
            && !lower.is_empty()
        {
            return (*word).to_owned();
        }
    }
    typed.to_owned()
}
