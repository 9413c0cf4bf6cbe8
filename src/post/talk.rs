//! One delivery to a mail server, from its greeting to the acceptance of the message (RFC 5321).

use std::io::{self, ErrorKind};
use std::sync::Arc;
use std::time::Instant;

use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use rustls::ClientConfig;

use super::Password;
use super::wire::{Reply, Wire};

/// The encryption of a connection.
#[derive(Debug, Clone)]
pub(super) enum Tls {
    /// None: the traffic stays on this machine.
    None,
    /// STARTTLS, or the server is not used.
    Required(Arc<ClientConfig>),
    /// TLS from the first byte.
    FromTheStart(Arc<ClientConfig>),
}

/// The server of a delivery.
#[derive(Debug, Clone)]
pub(super) struct MailServer {
    pub(super) host: String,
    pub(super) port: u16,
    pub(super) tls: Tls,
    /// User and password.
    pub(super) credentials: Option<(String, Password)>,
}

/// The reason why a delivery failed.
#[derive(Debug)]
pub(super) enum Fault {
    /// The connection failed, or the answer was not valid SMTP.
    Io(io::Error),
    /// The server rejected a command.
    Refused(u16, String),
    /// The server lacks a required capability.
    Lacks(&'static str),
}

impl From<io::Error> for Fault {
    fn from(error: io::Error) -> Fault {
        Fault::Io(error)
    }
}

impl MailServer {
    /// Delivers a message. `Ok` means that it was accepted, with the server's answer.
    pub(super) fn deliver(&self, from: &str, to: &str, message: &[u8], deadline: Instant) -> Result<String, Fault> {
        let mut wire = Wire::connect(&self.host, self.port, deadline)?;
        if let Tls::FromTheStart(config) = &self.tls {
            wire.encrypt(&self.host, Arc::clone(config))?;
        }
        good(wire.answer()?)?;
        let mut can = hello(&mut wire)?;
        if let Tls::Required(config) = &self.tls {
            if !can.iter().any(|line| line.eq_ignore_ascii_case("STARTTLS")) {
                return Err(Fault::Lacks("it does not offer STARTTLS, and mail to another machine must be encrypted"));
            }
            ask(&mut wire, "STARTTLS")?;
            wire.encrypt(&self.host, Arc::clone(config))?;
            can = hello(&mut wire)?;
        }
        if let Some((user, password)) = &self.credentials {
            authenticate(&mut wire, &can, user, password)?;
        }
        ask(&mut wire, &format!("MAIL FROM:<{from}>"))?;
        ask(&mut wire, &format!("RCPT TO:<{to}>"))?;
        ask(&mut wire, "DATA")?;
        wire.say(&stuffed(message))?;
        let taken = good(wire.answer()?)?;
        // The message was accepted; the rest of the session does not matter.
        _ = wire.say(b"QUIT\r\n");
        Ok(format!("{} {}", taken.code, taken.lines.join(" ")).trim_end().to_owned())
    }
}

/// Sends EHLO; returns the server's capabilities.
fn hello(wire: &mut Wire) -> Result<Vec<String>, Fault> {
    // The server does not need the name of a machine without a public one (RFC 5321, 4.1.3).
    Ok(ask(wire, "EHLO [127.0.0.1]")?.lines)
}

fn authenticate(wire: &mut Wire, can: &[String], user: &str, Password(password): &Password) -> Result<(), Fault> {
    let offered = can.iter().map(|line| line.to_ascii_uppercase()).find(|line| line.starts_with("AUTH"));
    let offers = |way: &str| offered.iter().any(|line| line.split([' ', '=']).any(|word| word == way));
    if offers("PLAIN") {
        ask(wire, &format!("AUTH PLAIN {}", BASE64_STANDARD.encode(format!("\0{user}\0{password}"))))?;
    } else if offers("LOGIN") {
        ask(wire, "AUTH LOGIN")?;
        ask(wire, &BASE64_STANDARD.encode(user))?;
        ask(wire, &BASE64_STANDARD.encode(password))?;
    } else {
        return Err(Fault::Lacks("it offers neither AUTH PLAIN nor AUTH LOGIN"));
    }
    Ok(())
}

fn ask(wire: &mut Wire, command: &str) -> Result<Reply, Fault> {
    wire.say(format!("{command}\r\n").as_bytes())?;
    good(wire.answer()?)
}

fn good(answer: Reply) -> Result<Reply, Fault> {
    if answer.code < 400 { Ok(answer) } else { Err(Fault::Refused(answer.code, answer.lines.join(" "))) }
}

/// A message with its terminator; a dot at the start of a line is doubled, so that no line ends it early.
fn stuffed(message: &[u8]) -> Vec<u8> {
    let mut all = Vec::with_capacity(message.len() + 64);
    let mut is_line_start = true;
    for byte in message {
        if is_line_start && *byte == b'.' {
            all.push(b'.');
        }
        all.push(*byte);
        is_line_start = *byte == b'\n';
    }
    all.extend_from_slice(if is_line_start { b".\r\n" } else { b"\r\n.\r\n" });
    all
}

impl Fault {
    /// Returns true if the server, rather than this message, is at fault: another message would fail too.
    pub(super) fn is_of_the_server(&self) -> bool {
        !matches!(self, Fault::Refused(..))
    }

    /// Returns true if it did not answer in time.
    pub(super) fn is_timeout(&self) -> bool {
        matches!(self, Fault::Io(error) if matches!(error.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut))
    }
}

#[cfg(test)]
mod tests {
    use super::stuffed;

    #[test]
    fn no_dot_ends_a_message_early() {
        let check = |message: &str, expected: &str| assert_eq!(stuffed(message.as_bytes()), expected.as_bytes());
        check("a\r\n.\r\nb\r\n", "a\r\n..\r\nb\r\n.\r\n");
        check(".a", "..a\r\n.\r\n");
        check("a.b\r\n", "a.b\r\n.\r\n");
    }
}
