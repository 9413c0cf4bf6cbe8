//! A mail server whose reply never ends: the delivery stops at its deadline, and the lock is released with it.

use std::io::{Read, Write};
use std::net::TcpListener;
use std::thread::{sleep, spawn};
use std::time::{Duration, Instant};

use crate::server::{Fault, Server};
use crate::{ADDRESSES, Office, POLICY};

/// Starts a server that sends a greeting and then the same bytes over and over, with a pause before each.
fn sends(greeting: &'static [u8], then: &'static [u8], pause: Duration) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = listener.local_addr().unwrap().port();
    spawn(move || {
        for stream in listener.incoming() {
            spawn(move || {
                let mut stream = stream.unwrap();
                stream.write_all(greeting).unwrap();
                // Until the client disconnects.
                while stream.write_all(then).is_ok() {
                    sleep(pause);
                }
            });
        }
    });
    format!("smtp://127.0.0.1:{port}")
}

fn sent(office: &Office, url: &str) -> (String, Duration) {
    let began = Instant::now();
    let arguments = ["--state", "state.json", "--from", "a@example.org", "--timeout", "2", "--smtp", url];
    let run = office.run(&arguments);
    assert_eq!((run.status, run.stderr.lines().count()), (Some(2), 1), "{run:?}");
    (run.stderr, began.elapsed())
}

#[test]
fn a_server_that_sends_without_end_holds_nothing_up() {
    let (now, slow) = (Duration::ZERO, Duration::from_millis(200));
    for (greeting, then, pause, expected) in [
        (&b""[..], &b"2"[..], slow, "did not answer within 2 seconds"),
        (b"220 invented\r\n", b"250-a\r\n", slow, "did not answer within 2 seconds"),
        (b"", b"2222222222222222", now, "a line of more than 8 KiB"),
        (b"220 ", b"aaaaaaaaaaaaaaaa", now, "a line of more than 8 KiB"),
        (b"220 invented\r\n", b"250-a\r\n", now, "a reply of more than 100 lines"),
        (b"", b"Hello.\r\n", now, "its reply was not SMTP"),
        (b"", b"\xff\xfe\r\n", now, "its reply was not SMTP"),
    ] {
        let office = Office::new();
        let (said, took) = sent(&office, &sends(greeting, then, pause));
        assert!(said.contains(expected), "{said}");
        assert!(took < Duration::from_secs(10), "{took:?}: {said}");
        // The lock ended with the run, and the next one sends the alerts.
        let good = Server::new(Fault::None);
        let run = office.run(&["--state", "state.json", "--from", "a@example.org", "--smtp", &good.url()]);
        assert_eq!((run.status, good.whom().len()), (Some(0), 1), "{run:?}");
    }
}

#[test]
fn after_a_server_that_did_not_answer_no_further_address_is_tried() {
    let office = Office::new();
    let many: Vec<String> = (1..=5).map(|n| format!("'co-{n}@example.org'")).collect();
    let addresses = ADDRESSES.replace("'co@example.org'", &many.join(", "));
    office.put("policy.toml", &format!("{POLICY}{addresses}"));
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let url = format!("smtp://127.0.0.1:{}", listener.local_addr().unwrap().port());
    let tried = spawn(move || {
        let (mut first, _) = listener.accept().unwrap();
        // The first connection gets no reply until it closes; then there must be no second one.
        while first.read(&mut [0]).is_ok_and(|read| read > 0) {}
        listener.set_nonblocking(true).unwrap();
        sleep(Duration::from_millis(300));
        listener.accept().is_ok()
    });
    let (said, took) = sent(&office, &url);
    assert!(said.contains("5 of 5 messages") && said.contains("did not answer within 2 seconds"), "{said}");
    assert!(took < Duration::from_secs(6), "{took:?}");
    assert!(!tried.join().unwrap());
}
