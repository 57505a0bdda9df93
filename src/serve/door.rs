//! Who is let in: this machine or the holders of the link, and no other page's script.
//!
//! A browser sends what a foreign page asks of it. So the host that it names must be ours (a
//! foreign name may point at this machine), and where it says which page asked, that page must be
//! ours, too.

use super::limits;
use super::share::is_same;
use crate::web::Document;
use crate::web::api::problem;
use axum::http::header::{HOST, ORIGIN};
use axum::http::{HeaderMap, Method, Uri};
use std::net::IpAddr;

/// The rules of the door.
pub struct Door {
    shared: Option<IpAddr>,
    base: String,
}

/// What was let in.
#[derive(Debug, PartialEq)]
pub enum Way {
    /// To a path below the base, with its leading stroke.
    In(String),
    /// To another address: the base itself without its last stroke.
    Base,
}

impl Door {
    /// A door for this machine, or for holders of a token.
    pub fn new(shared: Option<IpAddr>, token: Option<String>) -> Self {
        let base = token.map_or_else(|| "/".to_owned(), |token| format!("/{token}/"));
        Self { shared, base }
    }

    /// The base address of every page.
    pub fn base(&self) -> &str {
        &self.base
    }

    /// True for whoever may connect at all.
    pub fn may_connect(peer: IpAddr) -> bool {
        super::share::is_local(peer)
    }

    /// Lets a request in, or says why not.
    pub fn admit(&self, method: &Method, uri: &Uri, headers: &HeaderMap) -> Result<Way, Document> {
        let host = self.host(uri, headers)?;
        if !is_own_origin(headers, host) || (*method != Method::GET && is_cross_site(headers)) {
            return Err(problem::document(
                403,
                "Another site asked for this. Open the page itself and ask there.",
            ));
        }
        if uri.path_and_query().map_or(0, |whole| whole.as_str().len()) > limits::ADDRESS {
            return Err(problem::document(
                414,
                "This question is too long for an address. Send it with the button for long lists.",
            ));
        }
        self.way(uri.path())
    }

    /// The host that was asked for, if it is ours.
    fn host<'a>(&self, uri: &'a Uri, headers: &'a HeaderMap) -> Result<&'a str, Document> {
        let mut named = headers.get_all(HOST).iter();
        let host = named.next().and_then(|host| host.to_str().ok());
        let (Some(host), None) = (host, named.next()) else {
            return Err(problem::document(
                400,
                "Name the host once: \"Host: localhost\".",
            ));
        };
        let target = uri.authority().map_or(host, |authority| authority.as_str());
        if self.is_own_host(host) && self.is_own_host(target) {
            Ok(host)
        } else {
            let detail =
                "This server answers to its own address only. Open the link that it shows.";
            Err(problem::document(421, detail))
        }
    }

    /// True for the names of this machine, and for the address that is shared; the port says
    /// nothing about who asks.
    fn is_own_host(&self, host: &str) -> bool {
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
            _ => host,
        };
        let bare = name.trim_start_matches('[').trim_end_matches(']');
        match (self.shared, bare.parse::<IpAddr>()) {
            (Some(shared), Ok(ip)) => ip == shared,
            (None, Ok(ip)) => ip.is_loopback(),
            (None, Err(_)) => name.eq_ignore_ascii_case("localhost"),
            (Some(_), Err(_)) => false,
        }
    }

    fn way(&self, path: &str) -> Result<Way, Document> {
        if self.base == "/" {
            return Ok(Way::In(path.to_owned()));
        }
        let token = self.base.trim_matches('/');
        let inside = path.strip_prefix('/').unwrap_or_default();
        let (typed, rest) = match inside.split_once('/') {
            Some((typed, rest)) => (typed, Some(rest)),
            None => (inside, None),
        };
        if !is_same(typed, token) {
            let detail = "This page opens with the whole link only. Scan it again.";
            return Err(problem::document(403, detail));
        }
        Ok(rest.map_or(Way::Base, |rest| Way::In(format!("/{rest}"))))
    }
}

/// True where no page, or a page of this very host, asked.
fn is_own_origin(headers: &HeaderMap, host: &str) -> bool {
    let mut origins = headers.get_all(ORIGIN).iter();
    origins.all(|origin| {
        let origin = origin.to_str().unwrap_or_default();
        let page = origin.strip_prefix("http://");
        page.is_some_and(|page| page.eq_ignore_ascii_case(host))
    })
}

/// True where the browser says that a foreign page asked.
fn is_cross_site(headers: &HeaderMap) -> bool {
    let said = headers.get("sec-fetch-site");
    said.is_some_and(|said| said != "same-origin" && said != "none")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn headers(pairs: &[(&'static str, &str)]) -> HeaderMap {
        let mut headers = HeaderMap::new();
        for (name, value) in pairs {
            headers.append(*name, value.parse().expect("a header"));
        }
        headers
    }

    fn admit(door: &Door, method: &Method, path: &str, pairs: &[(&'static str, &str)]) -> u16 {
        let uri: Uri = path.parse().expect("an address");
        match door.admit(method, &uri, &headers(pairs)) {
            Ok(_) => 200,
            Err(document) => document.status,
        }
    }

    #[test]
    fn only_our_own_names_open_it() {
        let door = Door::new(None, None);
        for host in [
            "localhost",
            "LOCALHOST:7381",
            "127.0.0.1:1",
            "[::1]:7381",
            "127.0.0.2",
        ] {
            assert_eq!(
                admit(&door, &Method::GET, "/", &[("host", host)]),
                200,
                "{host}"
            );
        }
        for host in [
            "evil.example",
            "localhost.evil.example",
            "127.0.0.1.evil",
            "0.0.0.0",
            "192.168.1.2",
            "",
        ] {
            assert_eq!(
                admit(&door, &Method::GET, "/", &[("host", host)]),
                421,
                "{host}"
            );
        }
        assert_eq!(admit(&door, &Method::GET, "/", &[]), 400);
        let twice = [("host", "localhost"), ("host", "localhost")];
        assert_eq!(admit(&door, &Method::GET, "/", &twice), 400);
        let host = [("host", "localhost")];
        assert_eq!(
            admit(&door, &Method::GET, "http://evil.example/", &host),
            421
        );
        assert_eq!(admit(&door, &Method::GET, "http://localhost/", &host), 200);
    }

    #[test]
    fn foreign_pages_are_kept_out() {
        let door = Door::new(None, None);
        let host = ("host", "localhost:7381");
        for (origin, status) in [
            ("http://localhost:7381", 200),
            ("http://evil.example", 403),
            ("https://localhost:7381", 403),
            ("http://localhost:9", 403),
            ("null", 403),
        ] {
            let pairs = [host, ("origin", origin)];
            for method in [Method::GET, Method::POST] {
                assert_eq!(admit(&door, &method, "/", &pairs), status, "{origin}");
            }
        }
        for (site, status) in [
            ("cross-site", 403),
            ("same-site", 403),
            ("same-origin", 200),
            ("none", 200),
        ] {
            let pairs = [host, ("sec-fetch-site", site)];
            assert_eq!(admit(&door, &Method::POST, "/", &pairs), status, "{site}");
            // A link from elsewhere may be followed.
            assert_eq!(admit(&door, &Method::GET, "/", &pairs), 200, "{site}");
        }
    }

    #[test]
    fn a_shared_page_opens_with_its_token_only() {
        let ip: IpAddr = "192.168.1.20".parse().expect("an address");
        let door = Door::new(Some(ip), Some("secret".into()));
        let host = [("host", "192.168.1.20:7381")];
        for (path, status) in [
            ("/secret/", 200),
            ("/secret/how", 200),
            ("/secret", 200),
            ("/", 403),
            ("/how", 403),
            ("/secre/", 403),
            ("/secrets/", 403),
        ] {
            assert_eq!(admit(&door, &Method::GET, path, &host), status, "{path}");
        }
        assert_eq!(door.way("/secret/how"), Ok(Way::In("/how".into())));
        assert_eq!(door.way("/secret"), Ok(Way::Base));
        assert_eq!(
            admit(&door, &Method::GET, "/secret/", &[("host", "localhost")]),
            421
        );
    }

    #[test]
    fn long_addresses_are_refused() {
        let door = Door::new(None, None);
        let path = format!("/?find={}", "x".repeat(limits::ADDRESS));
        assert_eq!(
            admit(&door, &Method::GET, &path, &[("host", "localhost")]),
            414
        );
    }
}
