//! The server on loopback addresses: what it refuses, whom it does not wait for, how it stops.

use crate::common::saltwright;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::process::Output;
use std::time::{Duration, Instant};

mod journal;
mod load;
mod served;

use served::{Served, status};

#[test]
fn it_answers_and_says_what_may_be_loaded() {
    let served = Served::start(&[]);
    for path in [
        "/",
        "/formulate",
        "/predict?mix=urea+0.5",
        "/how",
        "/sheet.css",
        "/api",
    ] {
        let (status, back) = served.get(path);
        assert_eq!(status, 200, "{path}");
        for header in [
            "content-security-policy: default-src 'none'; style-src 'self'; script-src 'self'",
            "x-content-type-options: nosniff",
            "referrer-policy: same-origin",
        ] {
            assert!(back.contains(header), "{path}: {header}");
        }
    }
    let head = served.raw(b"HEAD / HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n");
    assert!(status(&head) == 200 && head.ends_with("\r\n\r\n"), "{head}");
    let json = ["Host: localhost", "Content-Type: application/json"];
    let (status, back) = served.ask("POST /api/predict", &json, "{\"mix\": []}");
    assert!(
        status == 200 && back.contains("\"job\":\"predict\""),
        "{back}"
    );
    let form = [
        "Host: localhost",
        "Content-Type: application/x-www-form-urlencoded",
    ];
    let (status, back) = served.ask("POST /formulate", &form, "recipe=hoagland-2&tank=");
    assert!(
        status == 303 && back.contains("location: /formulate?recipe=hoagland-2"),
        "{back}"
    );
}

#[test]
fn it_refuses_what_is_not_meant_for_it() {
    let served = Served::start(&[]);
    let json = "Content-Type: application/json";
    let port = format!("Host: localhost:{}", served.address.port());
    for (start, headers, wanted) in [
        ("GET /", vec!["Host: evil.example"], 421),
        ("GET /", vec!["Host: localhost.evil.example"], 421),
        ("GET http://evil.example/", vec!["Host: localhost"], 421),
        ("GET /", vec!["Host: localhost", "Host: evil.example"], 400),
        ("GET /", vec![], 400),
        (
            "GET /",
            vec!["Host: localhost", "Origin: http://evil.example"],
            403,
        ),
        (
            "POST /api/predict",
            vec!["Host: localhost", json, "Origin: http://evil.example"],
            403,
        ),
        (
            "POST /api/predict",
            vec!["Host: localhost", json, "Origin: null"],
            403,
        ),
        (
            "POST /api/predict",
            vec!["Host: localhost", json, "Sec-Fetch-Site: cross-site"],
            403,
        ),
        (
            "POST /api/predict",
            vec!["Host: localhost", "Content-Type: text/plain"],
            415,
        ),
        ("POST /api/predict", vec!["Host: localhost"], 415),
        (
            "POST /formulate",
            vec!["Host: localhost", "Content-Type: text/plain"],
            415,
        ),
        ("GET /../../etc/passwd", vec!["Host: localhost"], 404),
        (
            "GET /%2e%2e/%2e%2e/etc/passwd",
            vec!["Host: localhost"],
            404,
        ),
        ("GET //etc/passwd", vec!["Host: localhost"], 404),
        ("GET /api/predict", vec!["Host: localhost"], 405),
        ("DELETE /formulate", vec!["Host: localhost"], 405),
        ("OPTIONS *", vec!["Host: localhost"], 405),
        ("TRACE /", vec!["Host: localhost"], 405),
        ("CONNECT evil.example:443", vec!["Host: localhost"], 421),
    ] {
        let (status, back) = served.ask(start, &headers, "");
        assert_eq!(status, wanted, "{start} {headers:?}: {back}");
        assert!(!back.contains("root:"), "{start}");
        assert!(
            back.contains("content-security-policy"),
            "{start} {headers:?}: {back}"
        );
    }
    let own = ["Origin: http://localhost:7", json];
    let (status, _) = served.ask(
        "POST /api/predict",
        &[&[port.as_str()], &own[..]].concat(),
        "{}",
    );
    assert_eq!(status, 403, "another port is another site");
    let origin = format!("Origin: http://localhost:{}", served.address.port());
    let (status, _) = served.ask(
        "POST /api/predict",
        &[&port, &origin, json],
        "{\"mix\": []}",
    );
    assert_eq!(status, 200);
}

#[test]
fn it_refuses_what_is_too_large() {
    let served = Served::start(&[]);
    let address = format!("/formulate?own-recipe={}", "x".repeat(9000));
    assert_eq!(served.get(&address).0, 414);
    let many = "X-Flood: y\r\n".repeat(500);
    let flood = format!("GET / HTTP/1.1\r\nHost: localhost\r\n{many}\r\n");
    assert_eq!(status(&served.raw(flood.as_bytes())), 431);
    let wide = format!(
        "GET / HTTP/1.1\r\nHost: localhost\r\nX: {}\r\n\r\n",
        "y".repeat(1 << 20)
    );
    assert!(matches!(status(&served.raw(wide.as_bytes())), 431 | 0));
    let head =
        "POST /api/predict HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n";
    // A body of 100 MB: said beforehand, and in pieces without saying.
    let said = format!("{head}Content-Length: 100000000\r\n\r\n");
    assert_eq!(status(&served.raw(said.as_bytes())), 413);
    let mut stream = served.connect();
    write!(stream, "{head}Transfer-Encoding: chunked\r\n\r\n").expect("sent");
    let piece = format!("10000\r\n{}\r\n", " ".repeat(0x10000));
    let sent = (0..1600)
        .take_while(|_| stream.write_all(piece.as_bytes()).is_ok())
        .count();
    assert!(sent < 1600, "it read on for 100 MB");
    assert_eq!(served.get("/how").0, 200);
    if let Some(memory) = served.most_memory() {
        assert!(memory < 100 * 1024, "{memory} KiB");
    }
}

/// Line ends in what is asked make no headers of an answer.
#[test]
fn nothing_that_is_asked_becomes_a_header() {
    let served = Served::start(&[]);
    let form = [
        "Host: localhost",
        "Content-Type: application/x-www-form-urlencoded",
    ];
    let evil = "recipe=x%0d%0aSet-Cookie:%20a=b%0d%0a%0d%0a<b>";
    let (_, posted) = served.ask("POST /formulate", &form, evil);
    for path in [
        "/formulate.csv?batch=x%0d%0aSet-Cookie:%20a=b&recipe=hoagland-2",
        "/x%0d%0aSet-Cookie:%20a=b",
        "/api%0d%0aSet-Cookie:%20a=b",
    ] {
        let (status, back) = served.get(path);
        assert!(status < 500, "{path}: {back}");
        for back in [&back, &posted] {
            let head = back.split("\r\n\r\n").next().unwrap_or_default();
            assert!(
                !head.to_lowercase().contains("set-cookie:"),
                "{path}: {head}"
            );
        }
    }
}

#[test]
fn what_is_no_http_does_no_harm() {
    let served = Served::start(&[]);
    for bytes in [
        &b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03"[..],
        b"GET\r\n\r\n",
        b"GET / HTTP/9.9\r\nHost: localhost\r\n\r\n",
        b"\r\n\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
        b"POST /api/predict HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
    ] {
        let code = status(&served.raw(bytes));
        assert!(code == 0 || (400..500).contains(&code), "{bytes:?}: {code}");
    }
    // One that goes away in the middle of its body.
    let mut stream = served.connect();
    let half = b"POST /api/predict HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 50\r\n\r\n{";
    stream.write_all(half).expect("sent");
    drop(stream);
    assert_eq!(served.get("/how").0, 200);
}

/// Clients that send a letter now and then, stop in the middle of a body, or never read.
#[test]
fn slow_clients_hold_nobody_up_and_are_let_go() {
    let served = Served::start(&[]);
    let head = b"POST /api/predict HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 50000\r\n\r\n{";
    let mut slow: Vec<TcpStream> = Vec::new();
    for at in 0..150 {
        let mut stream = served.connect();
        let begun: &[u8] = match at % 3 {
            0 => b"GET / HTTP/1.1\r\nHo",
            1 => head,
            _ => b"",
        };
        stream.write_all(begun).expect("sent");
        slow.push(stream);
    }
    let started = Instant::now();
    for _ in 0..20 {
        assert_eq!(served.get("/formulate").0, 200);
    }
    let took = started.elapsed();
    assert!(took < Duration::from_secs(4), "{took:?}");
    for mut stream in slow {
        let mut back = Vec::new();
        let read = stream.read_to_end(&mut back);
        let text = String::from_utf8_lossy(&back);
        let code = status(&text);
        assert!(read.is_ok() && matches!(code, 0 | 408), "{read:?} {text}");
    }
    let took = started.elapsed();
    assert!(took < Duration::from_secs(25), "{took:?}");
}

#[test]
fn it_stops_when_asked_and_lets_answers_end() {
    let served = Served::start(&[]);
    let mut idle = served.connect();
    idle.write_all(b"GET /how HTTP/1.1\r\nHost: localhost\r\n\r\n")
        .expect("sent");
    let mut first = [0; 12];
    idle.read_exact(&mut first).expect("an answer");
    assert_eq!(&first, b"HTTP/1.1 200");
    let address = served.address;
    let started = Instant::now();
    let (code, rest) = served.stop();
    assert_eq!(code, Some(0));
    assert!(rest.contains("Stopped."), "{rest}");
    assert!(started.elapsed() < Duration::from_secs(6));
    assert!(TcpStream::connect(address).is_err());
    let mut last = Vec::new();
    idle.read_to_end(&mut last).expect("closed in order");
}

#[test]
fn a_shared_page_opens_with_its_link_only() {
    let served = Served::start(&["--share", "--on", "127.0.0.2"]);
    assert_eq!(served.address.ip().to_string(), "127.0.0.2");
    let token = served.base.trim_matches('/');
    assert_eq!(token.len(), 26, "{token}");
    assert!(served.said.contains("not encrypted"), "{}", served.said);
    let host = format!("Host: {}", served.address);
    let ask = |path: &str, host: &str| served.ask(&format!("GET {path}"), &[host], "").0;
    assert_eq!(ask(&served.base, &host), 200);
    assert_eq!(ask(&format!("{}how", served.base), &host), 200);
    assert_eq!(ask(&format!("/{token}"), &host), 303);
    for path in [
        "/",
        "/how",
        "/api",
        "/sheet.css",
        "/aaaaaaaaaaaaaaaaaaaaaaaaaa/",
    ] {
        assert_eq!(ask(path, &host), 403, "{path}");
    }
    for host in ["Host: localhost", "Host: evil.example", "Host: 127.0.0.1"] {
        assert_eq!(ask(&served.base, host), 421, "{host}");
    }
    // Another start makes another link.
    let again = Served::start(&["--share", "--on", "127.0.0.2"]);
    assert_ne!(again.base, served.base);
}

/// The picture in the terminal reads as the link: half blocks, light squares being dark.
#[test]
fn the_picture_reads_as_the_link() {
    let served = Served::start(&["--share", "--on", "127.0.0.2"]);
    let picture: Vec<&str> = served
        .said
        .lines()
        .take_while(|line| !line.starts_with("Whoever"))
        .collect();
    let picture: Vec<Vec<char>> = picture.iter().map(|line| line.chars().collect()).collect();
    assert!(picture.iter().all(|line| line.len() <= 80));
    let is_light = |x: usize, y: usize| {
        let cell = picture
            .get(y / 2)
            .and_then(|line| line.get(x))
            .copied()
            .unwrap_or(' ');
        matches!((cell, y % 2), ('█', _) | ('▀', 0) | ('▄', 1))
    };
    let (scale, width, height) = (4, picture[0].len(), 2 * picture.len());
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(scale * width, scale * height, |x, y| {
            if is_light(x / scale, y / scale) {
                255
            } else {
                0
            }
        });
    let read = image
        .detect_grids()
        .first()
        .and_then(|grid| grid.decode().ok());
    let link = format!("http://{}{}", served.address, served.base);
    assert_eq!(read.map(|(_, text)| text), Some(link));
}

#[test]
fn a_port_in_use_is_said() {
    let served = Served::start(&[]);
    let port = served.address.port().to_string();
    let second: Output = saltwright()
        .args(["serve", "--port", &port])
        .output()
        .expect("it starts");
    assert_eq!(second.status.code(), Some(1));
    let said = String::from_utf8_lossy(&second.stderr);
    assert!(
        said.contains(&format!("port {port} is in use on 127.0.0.1")),
        "{said}"
    );
    assert!(said.contains("--port"), "{said}");
}
