//! Mail: one message to one address, via a mail server or the local mail program; the only module that uses `lettre` and
//! `rustls`.
//!
//! A message counts as sent only when the other side has accepted it. A password is never part of an address and is never
//! printed.

mod program;
mod server;
mod talk;
mod wire;

use std::collections::hash_map::RandomState;
use std::fmt::{Debug, Formatter};
use std::hash::BuildHasher;
use std::time::Duration;

use lettre::message::header::{ContentType, Header, HeaderName, HeaderValue};
use lettre::message::{Mailbox, Message};

pub use program::MailProgram;
pub use server::Server;

use crate::day::Instant;
use crate::problem::Failure;
use crate::text;

/// A password, which is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct Password(String);

impl Password {
    /// Wraps a password, without a trailing line ending.
    pub fn new(text: &str) -> Password {
        Password(text.trim_end_matches(['\r', '\n']).to_owned())
    }
}

impl Debug for Password {
    fn fmt(&self, out: &mut Formatter) -> std::fmt::Result {
        out.write_str("Password")
    }
}

/// A letter to one address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    /// Recipient.
    pub to: String,
    /// Subject.
    pub subject: String,
    /// Text.
    pub body: String,
}

/// The reason why a letter was not accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Undelivered {
    /// The reason, as a sentence without a period.
    why: String,
    /// True if every letter would have failed: the server does not answer, or the program cannot be run.
    is_of_the_way: bool,
}

impl Undelivered {
    fn of_the_way(why: impl Into<String>) -> Undelivered {
        Undelivered { why: why.into(), is_of_the_way: true }
    }
}

/// The transport of letters.
#[derive(Debug)]
pub enum Way {
    /// A mail server.
    Server(Server),
    /// The local mail program.
    Program(MailProgram),
}

/// A transport with the sender and the time.
#[derive(Debug)]
pub struct Sender {
    from: Mailbox,
    date: Instant,
    way: Way,
    seconds: u64,
}

/// Letters that are sent one after the other within a common deadline.
#[derive(Debug)]
pub struct Delivery<'a> {
    sender: &'a Sender,
    deadline: std::time::Instant,
    /// The failure after which no further letter is attempted.
    failed: Option<String>,
}

impl Delivery<'_> {
    /// Sends a letter. `Ok` means that it was accepted, with the answer of the other side.
    ///
    /// # Errors
    /// It was not accepted, or its acceptance is unknown; the error is a sentence without a period.
    pub fn send(&mut self, letter: &Letter) -> Result<String, String> {
        if let Some(failed) = &self.failed {
            return Err(failed.clone());
        }
        let sent = self.sender.send(letter, self.deadline);
        sent.map_err(|undelivered| {
            self.failed = undelivered.is_of_the_way.then(|| undelivered.why.clone());
            undelivered.why
        })
    }
}

/// Auto-Submitted: no reply is expected, and no automatic reply should be sent.
#[derive(Clone)]
struct AutoSubmitted;

impl Header for AutoSubmitted {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("Auto-Submitted")
    }

    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(AutoSubmitted)
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "auto-generated".to_owned())
    }
}

impl Sender {
    /// Creates a sender; each delivery must finish within `seconds`.
    ///
    /// # Errors
    /// `from` is not an address.
    pub fn new(from: &str, date: Instant, way: Way, seconds: u64) -> Result<Sender, Failure> {
        Ok(Sender { from: mailbox(from)?, date, way, seconds })
    }

    /// Starts a delivery of several letters.
    pub fn begin(&self) -> Delivery<'_> {
        let deadline = std::time::Instant::now() + Duration::from_secs(self.seconds);
        Delivery { sender: self, deadline, failed: None }
    }

    /// A unique message id in the sender's domain.
    fn message_id(&self) -> String {
        let random = RandomState::new();
        let half = |n: u8| random.hash_one((n, self.date));
        format!("<{:016x}{:016x}@{}>", half(0), half(1), self.from.email.domain())
    }

    fn send(&self, letter: &Letter, deadline: std::time::Instant) -> Result<String, Undelivered> {
        let of_this = |failure: Failure| Undelivered { why: failure.to_string(), is_of_the_way: false };
        let message = self.message(letter).map_err(of_this)?.formatted();
        let from = self.from.email.to_string();
        let to = mailbox(&letter.to).map_err(of_this)?.email.to_string();
        let within = text::count(self.seconds as i64, "second");
        match &self.way {
            Way::Server(server) => server.send(&from, &to, message, (deadline, &within)),
            Way::Program(program) => program.send(&message, (deadline, &within)),
        }
    }

    fn message(&self, letter: &Letter) -> Result<Message, Failure> {
        let message = Message::builder()
            .from(self.from.clone())
            .to(mailbox(&letter.to)?)
            .subject(one_line(&letter.subject))
            .date(self.date.into())
            .header(AutoSubmitted)
            .header(ContentType::TEXT_PLAIN)
            .message_id(Some(self.message_id()))
            .body(letter.body.clone());
        message
            .map_err(|error| Failure::new(format!("cannot compose an email to {}: {error}", text::visible(&letter.to))))
    }
}

/// Checks an email address.
///
/// # Errors
/// It is not one.
pub fn mailbox(address: &str) -> Result<Mailbox, Failure> {
    let shown = text::visible(address);
    address
        .parse()
        .map_err(|_| Failure::new(format!("\"{shown}\" is not an email address. Write it as name@example.org.")))
}

/// Removes line breaks, so that a text cannot add a header.
fn one_line(text: &str) -> String {
    text::visible(text)
}

#[cfg(test)]
mod tests {
    use super::{Letter, MailProgram, Password, Sender, Way};

    fn sender() -> Sender {
        let way = Way::Program(MailProgram { path: "/bin/false".into() });
        Sender::new("exitsite@example.org", "2026-11-24T13:15:00Z".parse().unwrap(), way, 1).unwrap()
    }

    fn letter(to: &str, subject: &str, body: &str) -> Letter {
        Letter { to: to.to_owned(), subject: subject.to_owned(), body: body.to_owned() }
    }

    #[test]
    fn a_letter_is_a_mail_with_its_headers() {
        let sent = sender().message(&letter("vad@example.org", "exitsite: 2 overdue", "P-014 a\n")).unwrap();
        let text = String::from_utf8(sent.formatted()).unwrap();
        for line in [
            "From: exitsite@example.org",
            "To: vad@example.org",
            "Subject: exitsite: 2 overdue",
            "Date: Tue, 24 Nov 2026 13:15:00 +0000",
            "Auto-Submitted: auto-generated",
        ] {
            assert!(text.lines().any(|said| said == line), "{line} is not in\n{text}");
        }
        assert!(text.ends_with("\r\n\r\nP-014 a\r\n"), "{text}");
        let ids = [
            text,
            String::from_utf8(sender().message(&letter("a@example.org", "b", "c")).unwrap().formatted()).unwrap(),
        ]
        .map(|text| text.lines().find(|line| line.starts_with("Message-ID: <")).map(str::to_owned).unwrap());
        assert!(ids.iter().all(|id| id.ends_with("@example.org>")) && ids[0] != ids[1], "{ids:?}");
    }

    #[test]
    fn no_text_makes_a_header_of_its_own() {
        let sent = sender().message(&letter("vad@example.org", "a\r\nBcc: x@example.org\n\nb", "c\r\n.\r\nd")).unwrap();
        let text = String::from_utf8(sent.formatted()).unwrap();
        let (head, _) = text.split_once("\r\n\r\n").unwrap();
        assert!(!head.lines().any(|line| line.starts_with("Bcc")), "{head}");
        assert!(sender().message(&letter("root@localhost", "a", "b")).is_ok());
        for address in ["vad@example.org\r\nBcc: x@example.org", "vad", "", "a@b, c@d"] {
            assert!(sender().message(&letter(address, "a", "b")).is_err(), "{address:?}");
        }
    }

    #[test]
    fn a_password_is_shown_nowhere() {
        assert_eq!(format!("{:?}", Password::new("secret\n")), "Password");
        assert_eq!(Password::new("secret\r\n"), Password::new("secret"));
    }
}
