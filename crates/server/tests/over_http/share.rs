//! Sharing on a network, with another address of this machine in place of the network's.
//! Never: asserts a time. Start at `a_device_is_let_in_by_its_code_only`.

use std::io::{Read, Write};
use std::net::{IpAddr, Ipv4Addr, TcpStream, UdpSocket};
use std::sync::{Arc, Mutex};

use folder::Shelf;
use server::{Options, Service};

/// An address of this machine that is not loopback.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    socket.local_addr().ok().map(|address| address.ip()).filter(|address| !address.is_loopback())
}

fn ask(address: IpAddr, port: u16, method: &str, path: &str, more: &str, body: &str) -> (u16, String) {
    let mut stream = TcpStream::connect((address, port)).unwrap();
    let head = format!(
        "{method} {path} HTTP/1.1\r\nhost: {address}:{port}\r\nconnection: close\r\n{more}content-length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.write_all(head.as_bytes()).unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    (text.split(' ').nth(1).unwrap().parse().unwrap(), text)
}

#[test]
fn a_device_is_let_in_by_its_code_only() {
    let Some(address) = own_address() else {
        // A machine without a network has nobody to let in.
        return;
    };
    let home = tempfile::tempdir().unwrap();
    crate::client::copy(&crate::client::example("wren"), &home.path().join("wren"));
    let told = Arc::new(Mutex::new(Vec::new()));
    let hears = Arc::clone(&told);
    let tell: server::Tell = Box::new(move |why, code| hears.lock().unwrap().push(format!("{why} {code}")));
    let shelf = Shelf::open(home.path()).unwrap();
    let options = Options { shelf, port: Some(0), share: Some((address, tell)), patience: None };
    let service = Service::start(options).unwrap();
    let port = service.port();
    let (shared, code) = service.shared().unwrap();
    assert_eq!(shared, format!("http://{address}:{port}/"));

    // Without a session: the page that asks, and nothing else.
    let (status, page) = ask(address, port, "GET", "/", "", "");
    assert!(status == 401 && page.contains("Enter the code") && !page.contains(&code));
    assert_eq!(ask(address, port, "GET", "/enter/enter.js", "", "").0, 200);
    for path in ["/api/folder", "/api/projects/wren/view", "/api/news", "/api/openapi.json", "/page.js"] {
        let (status, text) = ask(address, port, "GET", path, "", "");
        assert!(status == 401 && !text.contains("Wren"), "{path}: {status}");
    }
    let json = "content-type: application/json\r\n";
    let forged = format!("{json}cookie: wattwain-{port}=00000000000000000000000000000000\r\n");
    assert_eq!(ask(address, port, "POST", "/api/projects", &forged, "{}").0, 401);
    assert_eq!(ask(address, port, "POST", "/api/session", json, "{\"code\":\"AAAA-AAAA-AAAA\"}").0, 403);
    let other = format!("{json}origin: http://other.example\r\n");
    let right = format!("{{\"code\":\"{code}\"}}");
    assert_eq!(ask(address, port, "POST", "/api/session", &other, &right).0, 403);
    // This machine by its own name from outside is a stranger's trick.
    let mut stream = TcpStream::connect((address, port)).unwrap();
    write!(stream, "GET /api/folder HTTP/1.1\r\nhost: localhost:{port}\r\nconnection: close\r\n\r\n")
        .unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    assert!(text.starts_with("HTTP/1.1 421"), "{text}");

    let (status, text) = ask(address, port, "POST", "/api/session", json, &right);
    assert_eq!(status, 204, "{text}");
    let cookie = text.lines().find_map(|line| line.strip_prefix("set-cookie: ")).unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
    let cookie = format!("cookie: {}\r\n", cookie.split(';').next().unwrap());
    let (status, text) = ask(address, port, "GET", "/api/folder", &cookie, "");
    assert!(status == 200 && text.contains("Wren"));
    assert_eq!(ask(address, port, "POST", "/api/session", json, &right).0, 403, "a code opens once");
    assert!(told.lock().unwrap().iter().any(|line| line.contains("was let in")));
    // Loopback needs none.
    let here = IpAddr::V4(Ipv4Addr::LOCALHOST);
    let mut stream = TcpStream::connect((here, port)).unwrap();
    write!(stream, "GET /api/folder HTTP/1.1\r\nhost: localhost:{port}\r\nconnection: close\r\n\r\n")
        .unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    assert!(text.starts_with("HTTP/1.1 200"));
    service.stop();
}
