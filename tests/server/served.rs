//! A server in a process of its own, and how it is asked.

use crate::common::saltwright;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A server in a process of its own; ended when dropped.
pub struct Served {
    pub child: Child,
    /// What it said before it served.
    pub said: String,
    pub address: SocketAddr,
    /// The path of its link.
    pub base: String,
}

impl Served {
    pub fn start(arguments: &[&str]) -> Self {
        let mut child = saltwright()
            .args(["serve", "--port", "0"])
            .args(arguments)
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut lines = BufReader::new(child.stdout.as_mut().expect("piped"));
        let mut said = String::new();
        while !said.contains("Ctrl+C") {
            assert!(lines.read_line(&mut said).expect("readable") > 0, "{said}");
        }
        let (_, link) = said.split_once("Open http://").expect("a link");
        let (address, base) = link
            .lines()
            .next()
            .and_then(|l| l.split_once('/'))
            .expect("a path");
        let (address, base) = (address.parse().expect("an address"), format!("/{base}"));
        Self {
            child,
            said,
            address,
            base,
        }
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(self.address).expect("it listens");
        let long = Some(Duration::from_secs(20));
        stream.set_read_timeout(long).expect("set");
        stream.set_write_timeout(long).expect("set");
        stream
    }

    /// Sends bytes and reads all that comes back until the server closes.
    pub fn raw(&self, bytes: &[u8]) -> String {
        let mut stream = self.connect();
        // A server that refuses need not read on.
        let _ = stream.write_all(bytes);
        let mut back = Vec::new();
        let _ = stream.read_to_end(&mut back);
        String::from_utf8_lossy(&back).into_owned()
    }

    /// Asks with these headers and body; the status and all that came.
    pub fn ask(&self, start: &str, headers: &[&str], body: &str) -> (u16, String) {
        let length = format!("Content-Length: {}", body.len());
        let close = ["Connection: close", length.as_str()];
        let lines: Vec<&str> = headers.iter().copied().chain(close).collect();
        let back = self
            .raw(format!("{start} HTTP/1.1\r\n{}\r\n\r\n{body}", lines.join("\r\n")).as_bytes());
        (status(&back), back)
    }

    pub fn get(&self, path: &str) -> (u16, String) {
        self.ask(&format!("GET {path}"), &["Host: localhost"], "")
    }

    /// Asks it to stop, as a system does.
    pub fn stop(mut self) -> (Option<i32>, String) {
        signal(&self.child);
        let mut rest = String::new();
        let mut out = self.child.stdout.take().expect("piped");
        out.read_to_string(&mut rest).expect("readable");
        (self.child.wait().expect("it ends").code(), rest)
    }

    /// The most memory that it ever held, KiB.
    pub fn most_memory(&self) -> Option<u64> {
        let path = format!("/proc/{}/status", self.child.id());
        let text = std::fs::read_to_string(path).ok()?;
        let line = text.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
        line.trim().trim_end_matches(" kB").parse().ok()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn signal(child: &Child) {
    let pid = child.id().to_string();
    let sent = Command::new("kill")
        .args(["-TERM", &pid])
        .status()
        .expect("kill");
    assert!(sent.success());
}

pub fn status(back: &str) -> u16 {
    let code = back
        .strip_prefix("HTTP/1.1 ")
        .and_then(|rest| rest.get(..3));
    code.and_then(|code| code.parse().ok()).unwrap_or(0)
}
