//! Which names this service answers to, and which pages may speak to it.
//! Never: trusts a name that resolves here; one that is not ours is a stranger's page with our address behind it.
//! Start at [`Names`].

use std::net::{IpAddr, Ipv4Addr};

use axum::http::{HeaderMap, Method, Uri, header};

/// The names and the port that are ours.
#[derive(Clone, Debug)]
pub struct Names {
    /// Our port.
    pub port: u16,
    /// Our address on the network, where it is shared.
    pub shared: Option<IpAddr>,
}

impl Names {
    /// Whether `host` (a name with its port) is ours for a client at `peer`.
    pub fn has(&self, host: &str, peer: IpAddr) -> bool {
        let Some((name, port)) = split(host) else { return false };
        if port.unwrap_or(80) != self.port {
            return false;
        }
        let is_local = name.eq_ignore_ascii_case("localhost") || name == "127.0.0.1" || name == "[::1]";
        if is_local {
            return is_loopback(peer);
        }
        match self.shared {
            Some(IpAddr::V4(address)) => name.parse() == Ok(address),
            Some(IpAddr::V6(address)) => name
                .strip_prefix('[')
                .and_then(|name| name.strip_suffix(']'))
                .is_some_and(|name| name.parse() == Ok(address)),
            None => false,
        }
    }

    /// The one host that a request names, where it is ours.
    pub fn host<'r>(&self, headers: &'r HeaderMap, uri: &Uri, peer: IpAddr) -> Option<&'r str> {
        let mut hosts = headers.get_all(header::HOST).iter();
        let (Some(host), None) = (hosts.next(), hosts.next()) else { return None };
        let host = host.to_str().ok()?;
        // A request line may name a host too; then both are the same.
        let is_one = uri.authority().is_none_or(|named| named.as_str() == host);
        (is_one && self.has(host, peer)).then_some(host)
    }
}

/// Whether a client is on this machine.
pub fn is_loopback(peer: IpAddr) -> bool {
    match peer {
        IpAddr::V4(peer) => peer.is_loopback(),
        IpAddr::V6(peer) => {
            peer.is_loopback() || peer.to_ipv4_mapped().is_some_and(|peer: Ipv4Addr| peer.is_loopback())
        }
    }
}

fn split(host: &str) -> Option<(&str, Option<u16>)> {
    let (name, port) = match host.rfind(']') {
        Some(end) => (host.get(..=end)?, host.get(end + 1..)?.strip_prefix(':')),
        None => match host.split_once(':') {
            Some((name, port)) => (name, Some(port)),
            None => (host, None),
        },
    };
    let is_number = |port: &str| !port.is_empty() && port.bytes().all(|c| c.is_ascii_digit());
    match port {
        None => Some((name, None)),
        Some(port) if is_number(port) => Some((name, Some(port.parse().ok()?))),
        Some(_) => None,
    }
}

/// Why a request may come from a stranger's page; `None` where it cannot.
///
/// Browsers say where a request comes from in `Sec-Fetch-Site` and, on all but plain reading, in `Origin`; neither can be set by a
/// page. A program without a browser sends neither.
pub fn stranger(method: &Method, headers: &HeaderMap, host: &str, is_api: bool) -> Option<&'static str> {
    let is_reading = method == Method::GET || method == Method::HEAD;
    let site = headers.get("sec-fetch-site").map(|site| site.as_bytes());
    let is_own_site = site.is_none_or(|site| site == b"same-origin" || site == b"none");
    if (!is_reading || is_api) && !is_own_site {
        return Some("the request comes from another site");
    }
    if !is_reading {
        let mut origins = headers.get_all(header::ORIGIN).iter();
        let origin = origins.next();
        let is_own = origin.is_none_or(|origin| origin.as_bytes() == format!("http://{host}").as_bytes());
        if !is_own || origins.next().is_some() {
            return Some("the request comes from a page of another origin");
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: IpAddr = IpAddr::V4(Ipv4Addr::LOCALHOST);
    const PHONE: IpAddr = IpAddr::V4(Ipv4Addr::new(192, 0, 2, 7));

    #[test]
    fn only_our_names_with_our_port_are_ours() {
        let alone = Names { port: 8470, shared: None };
        for host in ["localhost:8470", "LocalHost:8470", "127.0.0.1:8470", "[::1]:8470"] {
            assert!(alone.has(host, HERE), "{host}");
            assert!(!alone.has(host, PHONE), "{host} from outside");
        }
        for host in [
            "",
            "localhost",
            "localhost:",
            "localhost:80",
            "localhost:8470.",
            "localhost.:8470",
            "localhost:08470x",
            "evil.example:8470",
            "127.0.0.1.evil.example:8470",
            "localhost.evil.example:8470",
            "127.1:8470",
            "0.0.0.0:8470",
            "[::1]8470",
            "[::ffff:127.0.0.1]:8470",
            "192.0.2.1:8470",
            "user@localhost:8470",
            "localhost:8470:8470",
            "localhost:+8470",
            "localhost:84700000",
        ] {
            assert!(!alone.has(host, HERE), "{host}");
        }
        let shared = Names { port: 8470, shared: Some(IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1))) };
        assert!(shared.has("192.0.2.1:8470", PHONE) && shared.has("192.0.2.1:8470", HERE));
        assert!(!shared.has("192.0.2.9:8470", PHONE) && !shared.has("localhost:8470", PHONE));
        let on_eighty = Names { port: 80, shared: None };
        assert!(on_eighty.has("localhost", HERE) && on_eighty.has("[::1]", HERE));
    }

    #[test]
    fn a_stranger_is_told_by_what_only_a_browser_says() {
        let headers = |pairs: &[(&'static str, &'static str)]| {
            let mut headers = HeaderMap::new();
            for (name, value) in pairs {
                headers.append(*name, value.parse().unwrap());
            }
            headers
        };
        let is = |method: Method, pairs: &[(&'static str, &'static str)], is_api: bool| {
            stranger(&method, &headers(pairs), "localhost:8470", is_api).is_some()
        };
        for method in [Method::POST, Method::PUT, Method::DELETE, Method::PATCH, Method::OPTIONS] {
            assert!(!is(method.clone(), &[], true));
            assert!(!is(method.clone(), &[("origin", "http://localhost:8470")], true));
            for origin in [
                "null",
                "http://localhost",
                "http://localhost:8471",
                "https://localhost:8470",
                "http://evil.example",
                "",
            ] {
                assert!(is(method.clone(), &[("origin", origin)], true), "{method} {origin}");
            }
            let twice = [("origin", "http://localhost:8470"), ("origin", "http://evil.example")];
            assert!(is(method.clone(), &twice, true));
            for site in ["cross-site", "same-site", ""] {
                assert!(is(method.clone(), &[("sec-fetch-site", site)], true), "{method} {site}");
            }
        }
        assert!(is(Method::GET, &[("sec-fetch-site", "cross-site")], true));
        assert!(
            !is(Method::GET, &[("sec-fetch-site", "cross-site")], false),
            "a link to the page may be followed"
        );
    }
}
