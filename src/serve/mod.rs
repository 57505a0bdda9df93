//! Carries the pages of `crate::web` over HTTP, and knows nothing of what stands on them.
//!
//! In: connections on an address of this machine.  Out: documents. What is let in stands in
//! [`door`], how long and how many in [`limits`], how a connection lives in [`connection`].

pub mod connection;
pub mod door;
pub mod limits;
pub mod share;

mod carrier;

use crate::web::Site;
use carrier::Carrier;
use door::Door;
use saltwright_fertilizers::{Fault, Problem};
use std::future::Future;
use std::io::{Error, ErrorKind};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use tokio::net::{TcpListener, TcpSocket};

/// The port where none is named; free of registered services (IANA lists none for it).
pub const PORT: u16 = 7381;

/// What is to be served, and to whom.
#[derive(Clone, Debug)]
pub struct Ask {
    /// The port; 0 for any free one.
    pub port: u16,
    /// The address that is shared on the local network; none for this machine alone.
    pub share: Option<IpAddr>,
}

/// A server that listens.
pub struct Server {
    listener: TcpListener,
    carrier: Arc<Carrier>,
    link: String,
}

impl Server {
    /// Listens; pages are served once [`Server::run`] is called. Both need a runtime around them.
    pub fn bind(ask: &Ask, site: Site) -> Result<Self, Fault> {
        let ip = ask.share.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let address = SocketAddr::new(ip, ask.port);
        let listener = listen(address).map_err(|error| deaf(address, &error))?;
        let bound = listener.local_addr();
        let bound = bound.map_err(|error| deaf(address, &error))?;
        let token = ask.share.map(|_| share::token()).transpose()?;
        let door = Door::new(ask.share, token);
        let link = format!("http://{bound}{}", door.base());
        Ok(Self {
            listener,
            carrier: Arc::new(Carrier::new(site, door)),
            link,
        })
    }

    /// The address to open, token included.
    pub fn link(&self) -> &str {
        &self.link
    }

    /// Serves until `stop` comes true, then lets what is running end.
    pub async fn run(self, stop: impl Future<Output = ()>) {
        connection::serve(self.listener, self.carrier, stop).await;
    }
}

fn listen(address: SocketAddr) -> Result<TcpListener, Error> {
    let socket = if address.is_ipv4() {
        TcpSocket::new_v4()
    } else {
        TcpSocket::new_v6()
    }?;
    #[cfg(unix)]
    socket.set_reuseaddr(true)?;
    socket.bind(address)?;
    socket.listen(limits::BACKLOG)
}

/// Why an address cannot be listened on.
fn deaf(address: SocketAddr, error: &Error) -> Fault {
    let (reason, mend) = match error.kind() {
        ErrorKind::AddrInUse => (
            format!("port {} is in use on {}", address.port(), address.ip()),
            "Name another port with --port, or 0 for any free one.",
        ),
        ErrorKind::PermissionDenied => (
            format!(
                "port {} may not be used without more rights",
                address.port()
            ),
            "Name one from 1024 up with --port, or 0 for any free one.",
        ),
        ErrorKind::AddrNotAvailable => (
            format!("{} is no address of this machine", address.ip()),
            "Name one that it has on the local network.",
        ),
        kind => (
            format!("{address} cannot be listened on ({kind})"),
            "Name another port with --port.",
        ),
    };
    Fault {
        file: None,
        line: None,
        field: "serve".into(),
        problem: Problem::Unreadable { reason, mend },
    }
}
