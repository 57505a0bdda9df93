//! Sharing on the local network: which addresses are local, the token, the picture of the link.

use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use saltwright_fertilizers::{Fault, Problem};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// Letters of a token: 32 that are not mistaken for each other, so that five bits choose one.
const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";
/// Letters in a token: 130 random bits.
const LENGTH: usize = 26;

/// True for addresses that are reached on this machine or its local network only.
///
/// Sources: Rekhter et al. (1996), RFC 1918, section 3 (private IPv4); Cheshire, Aboba & Guttman
/// (2005), RFC 3927 (link-local IPv4); Hinden & Haberman (2005), RFC 4193 (unique local IPv6);
/// Hinden & Deering (2006), RFC 4291, section 2.5.6 (link-local IPv6).
pub fn is_local(ip: IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => ip.is_loopback() || ip.is_private() || ip.is_link_local(),
        IpAddr::V6(ip) => match ip.to_ipv4_mapped() {
            Some(ip) => is_local(IpAddr::V4(ip)),
            None => ip.is_loopback() || ip.is_unique_local() || ip.is_unicast_link_local(),
        },
    }
}

/// This machine's address on the local network.
///
/// A datagram socket is pointed at an address reserved for documentation (RFC 5737): the system
/// then names the address it would send from, and nothing is sent.
pub fn local_address() -> Result<IpAddr, Fault> {
    const NOWHERE: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)), 9);
    let routed = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).and_then(|socket| {
        socket.connect(NOWHERE)?;
        socket.local_addr()
    });
    match routed {
        Ok(address) if is_local(address.ip()) && !address.ip().is_loopback() => Ok(address.ip()),
        _ => Err(fault(
            "--share",
            "this machine has no address on a local network",
            "Join the Wi-Fi first, or name the address with --on.",
        )),
    }
}

/// An address to share on, as typed.
pub fn named_address(typed: &str) -> Result<IpAddr, Fault> {
    let Ok(ip) = typed.trim().parse::<IpAddr>() else {
        let reason = format!("\"{typed}\" is not an IP address");
        return Err(fault(ON, &reason, "Write it like --on 192.168.1.20."));
    };
    if is_local(ip) {
        Ok(ip)
    } else {
        let reason = format!("{ip} is not an address of a local network");
        Err(fault(
            ON,
            &reason,
            "Pages are shared on the local network only.",
        ))
    }
}

/// The option that names an address.
const ON: &str = "--on";

fn fault(option: &str, reason: &str, mend: &'static str) -> Fault {
    let reason = reason.to_owned();
    Fault {
        file: None,
        line: None,
        field: option.to_owned(),
        problem: Problem::Unreadable { reason, mend },
    }
}

/// A token that nobody guesses.
pub fn token() -> Result<String, Fault> {
    let mut bytes = [0_u8; LENGTH];
    getrandom::fill(&mut bytes).map_err(|_| {
        fault(
            "--share",
            "the system gives no random numbers",
            "Serve without --share.",
        )
    })?;
    let letters = bytes.iter().map(|byte| LETTERS[usize::from(byte % 32)]);
    Ok(letters.map(char::from).collect())
}

/// True where two tokens are the same; takes as long for any two of one length.
pub fn is_same(a: &str, b: &str) -> bool {
    let differs = |(a, b): (u8, u8)| a ^ b;
    a.len() == b.len()
        && a.bytes()
            .zip(b.bytes())
            .map(differs)
            .fold(0, |all, d| all | d)
            == 0
}

/// The link as a picture for a phone, drawn with half blocks; light on dark, as most terminals are.
pub fn picture(link: &str) -> Option<String> {
    let code = QrCode::new(link.as_bytes()).ok()?;
    let drawn = code
        .render::<Dense1x2>()
        .dark_color(Dense1x2::Light)
        .light_color(Dense1x2::Dark)
        .build();
    Some(drawn)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_is_local() {
        for ip in [
            "127.0.0.1",
            "10.1.2.3",
            "172.16.0.1",
            "192.168.1.2",
            "169.254.1.1",
            "::1",
            "fd00::1",
            "fe80::1",
            "::ffff:10.0.0.1",
        ] {
            assert!(is_local(ip.parse().expect(ip)), "{ip}");
        }
        for ip in [
            "8.8.8.8",
            "172.32.0.1",
            "0.0.0.0",
            "::",
            "2001:db8::1",
            "::ffff:8.8.8.8",
        ] {
            assert!(!is_local(ip.parse().expect(ip)), "{ip}");
        }
    }

    #[test]
    fn tokens_differ_and_are_compared_whole() {
        let (a, b) = (token().expect("random"), token().expect("random"));
        assert_eq!(a.len(), LENGTH);
        assert_ne!(a, b);
        assert!(is_same(&a, &a.clone()) && !is_same(&a, &b) && !is_same(&a, &a[1..]));
    }

    #[test]
    fn the_picture_fits_a_terminal() {
        let link = format!("http://192.168.100.200:65535/{}/", "m".repeat(LENGTH));
        let drawn = picture(&link).expect("short enough");
        assert!(
            drawn.lines().all(|line| line.chars().count() <= 60),
            "{drawn}"
        );
        assert!(!drawn.contains('\u{1b}'));
    }
}
