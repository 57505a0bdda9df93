//! A thousand at once.

use super::{Served, status};
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::process::Command;
use std::time::Duration;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::{Instant, sleep, timeout};

/// How many ask at once.
const CLIENTS: usize = 1000;
/// For how long.
const SPAN: Duration = Duration::from_secs(10);
/// Longest wait for one answer.
const PATIENCE: Duration = Duration::from_secs(30);

/// What came of all questions: answers by status, and errors in words.
type Tally = BTreeMap<String, usize>;

/// One client: asks, reads, asks again; opens a new connection where the old one was closed.
async fn client(address: SocketAddr, at: usize, end: Instant) -> Tally {
    let mut tally = Tally::new();
    let mut open: Option<TcpStream> = None;
    while Instant::now() < end {
        let asked = timeout(PATIENCE, Box::pin(one(address, at, open.take()))).await;
        let result = match asked {
            Ok(Ok((code, kept))) => {
                open = kept;
                if code == 503 {
                    sleep(Duration::from_millis(20)).await;
                }
                code.to_string()
            }
            Ok(Err(error)) => error.to_string(),
            Err(_) => "no answer in time".to_owned(),
        };
        *tally.entry(result).or_default() += 1;
    }
    tally
}

/// One question; the status, and the connection where it stays open.
async fn one(
    address: SocketAddr,
    at: usize,
    open: Option<TcpStream>,
) -> std::io::Result<(u16, Option<TcpStream>)> {
    let mut stream = match open {
        Some(stream) => stream,
        None => TcpStream::connect(address).await?,
    };
    let question = format!(
        "GET /formulate?recipe=hoagland-2&tank={}+L HTTP/1.1\r\nHost: localhost\r\n\r\n",
        at + 1
    );
    stream.write_all(question.as_bytes()).await?;
    let mut back = Vec::new();
    let mut buffer = [0; 16 * 1024];
    loop {
        let text = String::from_utf8_lossy(&back);
        if let Some((head, body)) = text.split_once("\r\n\r\n") {
            let length = head
                .lines()
                .find_map(|line| line.strip_prefix("content-length: "))
                .and_then(|length| length.parse::<usize>().ok());
            if length.is_some_and(|length| body.len() >= length) {
                let (code, closes) = (status(head), head.contains("connection: close"));
                let told = code != 503 || head.contains("retry-after: 1");
                assert!(told, "{head}");
                return Ok((code, (!closes).then_some(stream)));
            }
        }
        let read = stream.read(&mut buffer).await?;
        if read == 0 {
            return Err(std::io::ErrorKind::UnexpectedEof.into());
        }
        back.extend_from_slice(&buffer[..read]);
    }
}

/// The test holds a thousand connections itself; where the system allows fewer open files than
/// that, it asks for more.
fn allow_open_files() {
    let pid = std::process::id().to_string();
    let _ = Command::new("prlimit")
        .args(["--pid", &pid, "--nofile=4096:"])
        .output();
}

#[test]
fn a_thousand_at_once_are_answered_or_told_to_come_back() {
    allow_open_files();
    let served = Served::start(&[]);
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .expect("a runtime");
    let tally = runtime.block_on(async {
        let end = Instant::now() + SPAN;
        let clients: Vec<_> = (0..CLIENTS)
            .map(|at| tokio::spawn(client(served.address, at, end)))
            .collect();
        let mut sum = Tally::new();
        for client in clients {
            for (result, count) in client.await.expect("no panic") {
                *sum.entry(result).or_default() += count;
            }
        }
        sum
    });
    let memory = served.most_memory();
    println!("{tally:?}, at most {memory:?} KiB");
    let allowed = ["200", "503"];
    assert!(
        tally
            .keys()
            .all(|result| allowed.contains(&result.as_str())),
        "{tally:?}"
    );
    assert!(
        tally.get("200").is_some_and(|count| *count >= CLIENTS),
        "{tally:?}"
    );
    assert!(tally.contains_key("503"), "{tally:?}");
    if let Some(memory) = memory {
        assert!(memory < 200 * 1024, "{memory} KiB");
    }
    assert_eq!(served.get("/how").0, 200, "it goes on afterwards");
}
