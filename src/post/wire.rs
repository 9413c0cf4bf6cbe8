//! A connection to a mail server, encrypted or not, with limits: a deadline for the entire delivery, a maximum line
//! length, and a maximum answer size.
//!
//! A deadline per read would let a server that sends a byte now and then keep the connection open forever.

use std::io::{self, BufRead, BufReader, ErrorKind, Read, Write};
use std::net::{TcpStream, ToSocketAddrs};
use std::sync::Arc;
use std::time::{Duration, Instant};

use rustls::pki_types::ServerName;
use rustls::{ClientConfig, ClientConnection, StreamOwned};

/// The maximum length of an answer line, in bytes.
const LONGEST_LINE: u64 = 8 * 1024;

/// The maximum number of lines of an answer.
const MOST_LINES: usize = 100;

/// A reply of a mail server: `250-8BITMIME`, `250 AUTH PLAIN`.
#[derive(Debug)]
pub(super) struct Reply {
    /// The code of its last line.
    pub(super) code: u16,
    /// Its lines without their codes.
    pub(super) lines: Vec<String>,
}

/// A line-based connection.
pub(super) struct Wire {
    stream: BufReader<Stream>,
}

enum Stream {
    Plain(Timed),
    Encrypted(Box<StreamOwned<ClientConnection, Timed>>),
    /// While switching from one to the other.
    Closed,
}

/// A socket whose reads and writes all end by the same instant.
struct Timed {
    socket: TcpStream,
    deadline: Instant,
}

impl Wire {
    /// Connects to the first address of a host that accepts.
    pub(super) fn connect(host: &str, port: u16, deadline: Instant) -> io::Result<Wire> {
        let mut failure = io::Error::new(ErrorKind::NotFound, "the name has no address");
        for address in (host, port).to_socket_addrs()? {
            match TcpStream::connect_timeout(&address, left(deadline)?) {
                Ok(socket) => return Ok(Wire { stream: BufReader::new(Stream::Plain(Timed { socket, deadline })) }),
                Err(error) => failure = error,
            }
        }
        Err(failure)
    }

    /// Switches to TLS; plaintext received before is not treated as part of it.
    pub(super) fn encrypt(&mut self, host: &str, config: Arc<ClientConfig>) -> io::Result<()> {
        if !self.stream.buffer().is_empty() {
            return Err(io::Error::new(ErrorKind::InvalidData, "it sent plaintext after STARTTLS"));
        }
        let name = ServerName::try_from(host.to_owned()).map_err(io::Error::other)?;
        let connection = ClientConnection::new(config, name).map_err(io::Error::other)?;
        let Stream::Plain(timed) = std::mem::replace(self.stream.get_mut(), Stream::Closed) else {
            return Err(ErrorKind::NotConnected.into());
        };
        let mut encrypted = StreamOwned::new(connection, timed);
        while encrypted.conn.is_handshaking() {
            encrypted.conn.complete_io(&mut encrypted.sock)?;
        }
        *self.stream.get_mut() = Stream::Encrypted(Box::new(encrypted));
        Ok(())
    }

    pub(super) fn say(&mut self, bytes: &[u8]) -> io::Result<()> {
        let stream = self.stream.get_mut();
        stream.write_all(bytes)?;
        stream.flush()
    }

    /// Reads the next reply with all its lines.
    pub(super) fn answer(&mut self) -> io::Result<Reply> {
        let wrong = |why: &str| io::Error::new(ErrorKind::InvalidData, why.to_owned());
        let mut lines = Vec::new();
        while lines.len() < MOST_LINES {
            let line = self.line()?;
            let code = line.get(..3).and_then(|code| code.parse().ok());
            let code = code.filter(|code| (200..600).contains(code)).ok_or_else(|| wrong("its reply was not SMTP"))?;
            lines.push(line.get(4..).unwrap_or_default().to_owned());
            match line.as_bytes().get(3) {
                Some(b'-') => {}
                None | Some(b' ') => return Ok(Reply { code, lines }),
                Some(_) => return Err(wrong("its reply was not SMTP")),
            }
        }
        Err(wrong(&format!("it sent a reply of more than {MOST_LINES} lines")))
    }

    fn line(&mut self) -> io::Result<String> {
        let mut bytes = Vec::new();
        (&mut self.stream).take(LONGEST_LINE).read_until(b'\n', &mut bytes)?;
        if !bytes.ends_with(b"\n") {
            return Err(match bytes.len() as u64 {
                LONGEST_LINE => io::Error::new(ErrorKind::InvalidData, "it sent a line of more than 8 KiB"),
                _ => io::Error::new(ErrorKind::UnexpectedEof, "it closed the connection"),
            });
        }
        Ok(String::from_utf8_lossy(&bytes).trim_end().to_owned())
    }
}

/// The time left until the deadline.
fn left(deadline: Instant) -> io::Result<Duration> {
    let left = deadline.saturating_duration_since(Instant::now());
    if left.is_zero() { Err(ErrorKind::TimedOut.into()) } else { Ok(left) }
}

impl Read for Timed {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        self.socket.set_read_timeout(Some(left(self.deadline)?))?;
        self.socket.read(bytes)
    }
}

impl Write for Timed {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.socket.set_write_timeout(Some(left(self.deadline)?))?;
        self.socket.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.socket.flush()
    }
}

impl Read for Stream {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        match self {
            Stream::Plain(stream) => stream.read(bytes),
            Stream::Encrypted(stream) => stream.read(bytes),
            Stream::Closed => Ok(0),
        }
    }
}

impl Write for Stream {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Stream::Plain(stream) => stream.write(bytes),
            Stream::Encrypted(stream) => stream.write(bytes),
            Stream::Closed => Err(ErrorKind::NotConnected.into()),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self {
            Stream::Plain(stream) => stream.flush(),
            Stream::Encrypted(stream) => stream.flush(),
            Stream::Closed => Ok(()),
        }
    }
}
