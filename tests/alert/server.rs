//! A local mail server that accepts messages, or fails where a test says.

use std::io::{self, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread::{sleep, spawn};
use std::time::Duration;

use rustls::{ServerConfig, ServerConnection, StreamOwned};

/// The step of the session at which the server fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step {
    Greeting,
    Ehlo,
    Mail,
    Rcpt,
    Data,
    Body,
    /// After the message was accepted.
    Quit,
}

/// The failure of a server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    None,
    /// Refuses recipients with this text in the address.
    Refuses(&'static str),
    /// Closes the connection instead of replying.
    Closes(Step),
    /// Never replies.
    Hangs(Step),
    /// Accepts the message of this number and kills the sender before replying.
    Kills(usize),
}

/// An accepted message.
#[derive(Debug, Clone)]
pub(crate) struct Taken {
    pub(crate) to: Vec<String>,
    pub(crate) text: String,
    pub(crate) is_encrypted: bool,
}

/// A running server.
pub(crate) struct Server {
    pub(crate) port: u16,
    taken: Arc<Mutex<Vec<Taken>>>,
    said: Arc<Mutex<Vec<String>>>,
    sender: Arc<Mutex<Option<u32>>>,
}

/// The state of a session; each connection has a copy.
#[derive(Clone)]
struct Talk {
    fault: Fault,
    tls: Option<Arc<ServerConfig>>,
    is_from_the_start: bool,
    taken: Arc<Mutex<Vec<Taken>>>,
    said: Arc<Mutex<Vec<String>>>,
    sender: Arc<Mutex<Option<u32>>>,
}

enum Line {
    Plain(TcpStream),
    Tls(Box<StreamOwned<ServerConnection, TcpStream>>),
    Gone,
}

impl Server {
    pub(crate) fn new(fault: Fault) -> Server {
        Server::with(fault, None, false)
    }

    /// Starts a server that also speaks TLS, from the first byte or after STARTTLS.
    pub(crate) fn with(fault: Fault, tls: Option<Arc<ServerConfig>>, is_from_the_start: bool) -> Server {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let (taken, said, sender) = (Arc::default(), Arc::default(), Arc::default());
        let server = Server { port, taken: Arc::clone(&taken), said: Arc::clone(&said), sender: Arc::clone(&sender) };
        let talk = Talk { fault, tls, is_from_the_start, taken, said, sender };
        spawn(move || {
            for stream in listener.incoming() {
                let talk = talk.clone();
                // The tests cut connections on purpose.
                spawn(move || _ = talk.run(Line::Plain(stream.unwrap())));
            }
        });
        server
    }

    pub(crate) fn url(&self) -> String {
        format!("smtp://127.0.0.1:{}", self.port)
    }

    /// The accepted messages, confirmed or not.
    pub(crate) fn taken(&self) -> Vec<Taken> {
        self.taken.lock().unwrap().clone()
    }

    /// The recipients of each accepted message, in order.
    pub(crate) fn whom(&self) -> Vec<String> {
        self.taken().iter().map(|taken| taken.to.join(" ")).collect()
    }

    /// The commands received.
    pub(crate) fn said(&self) -> Vec<String> {
        self.said.lock().unwrap().clone()
    }

    /// Sets the process to kill.
    pub(crate) fn knows(&self, sender: u32) {
        *self.sender.lock().unwrap() = Some(sender);
    }
}

impl Talk {
    /// True if the session ends at this step. A server that hangs waits here first.
    fn fails(&self, step: Step) -> bool {
        if self.fault == Fault::Hangs(step) {
            sleep(Duration::from_secs(60));
        }
        matches!(self.fault, Fault::Closes(at) | Fault::Hangs(at) if at == step)
    }

    fn run(&self, mut line: Line) -> io::Result<()> {
        if self.fails(Step::Greeting) {
            return Ok(());
        }
        if self.is_from_the_start {
            line = line.encrypted(self.tls.as_ref().unwrap());
        }
        line.say("220 invented\r\n")?;
        let mut to = Vec::new();
        loop {
            let command = line.hear()?;
            if command.is_empty() {
                return Ok(());
            }
            self.said.lock().unwrap().push(command.clone());
            let word = command.split(' ').next().unwrap().to_uppercase();
            let step = match word.as_str() {
                "EHLO" => Step::Ehlo,
                "MAIL" => Step::Mail,
                "RCPT" => Step::Rcpt,
                "DATA" => Step::Data,
                _ => Step::Quit,
            };
            if self.fails(step) {
                return Ok(());
            }
            match word.as_str() {
                "EHLO" if self.tls.is_some() && matches!(line, Line::Plain(_)) => {
                    line.say("250-invented\r\n250 STARTTLS\r\n")?;
                }
                "EHLO" => line.say("250-invented\r\n250-8BITMIME\r\n250 AUTH PLAIN\r\n")?,
                "STARTTLS" => {
                    line.say("220 go on\r\n")?;
                    line = line.encrypted(self.tls.as_ref().unwrap());
                }
                "AUTH" => line.say("235 welcome\r\n")?,
                "RCPT" => match self.fault {
                    Fault::Refuses(whom) if command.contains(whom) => line.say("550 no such mailbox here\r\n")?,
                    _ => {
                        to.push(command.split(['<', '>']).nth(1).unwrap().to_owned());
                        line.say("250 good\r\n")?;
                    }
                },
                "DATA" => {
                    line.say("354 go on\r\n")?;
                    let text = line.hear_message()?;
                    if self.fails(Step::Body) {
                        return Ok(());
                    }
                    let is_encrypted = matches!(line, Line::Tls(_));
                    let number = {
                        let mut taken = self.taken.lock().unwrap();
                        taken.push(Taken { to: std::mem::take(&mut to), text, is_encrypted });
                        taken.len()
                    };
                    if self.fault == Fault::Kills(number) {
                        self.kill();
                    }
                    line.say("250 taken\r\n")?;
                }
                "QUIT" => return line.say("221 bye\r\n"),
                _ => line.say("250 good\r\n")?,
            }
        }
    }

    fn kill(&self) {
        for _ in 0..500 {
            if let Some(sender) = *self.sender.lock().unwrap() {
                assert!(Command::new("kill").args(["-9", &sender.to_string()]).status().unwrap().success());
                return;
            }
            sleep(Duration::from_millis(10));
        }
    }
}

impl Line {
    fn say(&mut self, text: &str) -> io::Result<()> {
        match self {
            Line::Plain(stream) => stream.write_all(text.as_bytes()),
            Line::Tls(stream) => stream.write_all(text.as_bytes()).and_then(|()| stream.flush()),
            Line::Gone => Err(io::ErrorKind::NotConnected.into()),
        }
    }

    /// Reads a line without its end; empty at the end of the connection.
    fn hear(&mut self) -> io::Result<String> {
        let mut line = Vec::new();
        let mut byte = [0];
        loop {
            let read = match self {
                Line::Plain(stream) => stream.read(&mut byte)?,
                Line::Tls(stream) => stream.read(&mut byte)?,
                Line::Gone => 0,
            };
            match byte[0] {
                _ if read == 0 => return Ok(String::new()),
                b'\n' => return Ok(String::from_utf8(line).unwrap().trim_end_matches('\r').to_owned()),
                byte => line.push(byte),
            }
        }
    }

    fn hear_message(&mut self) -> io::Result<String> {
        let mut bytes = Vec::new();
        let mut byte = [0];
        while !bytes.ends_with(b"\r\n.\r\n") {
            let read = match self {
                Line::Plain(stream) => stream.read(&mut byte)?,
                Line::Tls(stream) => stream.read(&mut byte)?,
                Line::Gone => 0,
            };
            if read == 0 {
                return Err(io::ErrorKind::UnexpectedEof.into());
            }
            bytes.push(byte[0]);
        }
        Ok(String::from_utf8(bytes).unwrap())
    }

    fn encrypted(&mut self, config: &Arc<ServerConfig>) -> Line {
        match std::mem::replace(self, Line::Gone) {
            Line::Plain(stream) => {
                let connection = ServerConnection::new(Arc::clone(config)).unwrap();
                Line::Tls(Box::new(StreamOwned::new(connection, stream)))
            }
            other => other,
        }
    }
}
