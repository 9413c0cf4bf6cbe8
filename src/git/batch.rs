//! A running `git cat-file --batch`: objects by id, one at a time, each within a time limit.

use std::io::{self, BufRead, BufReader, ErrorKind, Read, Write};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use super::run::Watchdog;

/// An object of a repository.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Object {
    /// The repository lacks it.
    Missing,
    /// It is larger than the limit.
    TooLarge,
    /// Its full content.
    Whole(Vec<u8>),
}

/// A running `git cat-file --batch`.
#[derive(Debug)]
pub(crate) struct Batch {
    child: Child,
    watch: Watchdog,
    questions: Option<ChildStdin>,
    answers: BufReader<ChildStdout>,
}

impl Batch {
    pub(crate) fn begin(mut command: Command) -> io::Result<Batch> {
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn()?;
        let (questions, answers) = (child.stdin.take(), child.stdout.take());
        let answers = BufReader::new(answers.ok_or(ErrorKind::BrokenPipe)?);
        let watch = Watchdog::over(&child);
        Ok(Batch { child, watch, questions, answers })
    }

    /// ```text
    /// asked:    0cfbf08886fca9a91cb753ec8734c84fcbe52c9f
    /// answered: 0cfbf08886fca9a91cb753ec8734c84fcbe52c9f blob 118, a line end, 118 bytes, a line end
    /// ```
    pub(crate) fn object(&mut self, id: &str, most: u64) -> io::Result<Object> {
        self.watch.tick();
        let answer = self.answer(id, most);
        self.watch.tick();
        answer
    }

    fn answer(&mut self, id: &str, most: u64) -> io::Result<Object> {
        let questions = self.questions.as_mut().ok_or(ErrorKind::BrokenPipe)?;
        questions.write_all(format!("{id}\n").as_bytes())?;
        let mut head = String::new();
        self.answers.read_line(&mut head)?;
        if head.ends_with(" missing\n") {
            return Ok(Object::Missing);
        }
        let size = head.trim_end().rsplit(' ').next().and_then(|size| size.parse::<u64>().ok());
        let size = size.ok_or(ErrorKind::InvalidData)?;
        let mut answer = self.answers.by_ref().take(size + 1);
        if size > most {
            // Content over the limit is discarded while reading.
            io::copy(&mut answer, &mut io::sink())?;
            return Ok(Object::TooLarge);
        }
        let mut bytes = Vec::with_capacity(size as usize + 1);
        answer.read_to_end(&mut bytes)?;
        if bytes.len() as u64 != size + 1 {
            return Err(ErrorKind::UnexpectedEof.into());
        }
        bytes.pop();
        Ok(Object::Whole(bytes))
    }
}

impl Drop for Batch {
    fn drop(&mut self) {
        // It exits when its input ends; otherwise it is killed.
        self.questions = None;
        self.watch.tick();
        _ = self.child.wait();
    }
}
