//! What is refused before anything is done: strange hosts, other sites' pages, tricks with paths, too much of anything.
//! Never: asserts a time. Start at any test.

use std::io::{Read, Write};

use crate::client::Running;
use serde_json::json;

const CHANGE: &str = "/api/projects/wren/changes";

fn body(running: &Running) -> Vec<u8> {
    let edits = json!([{ "path": ["loads", "fan", "hours"], "value": "7 h/day" }]);
    json!({ "base": running.number(), "label": "x", "edits": edits }).to_string().into_bytes()
}

#[test]
fn a_host_that_is_not_ours_gets_nothing() {
    let running = Running::start();
    let port = running.port;
    let before = running.intent();
    let own = format!("localhost:{port}");
    for host in [own.clone(), format!("127.0.0.1:{port}"), format!("[::1]:{port}")] {
        running.raw("GET", "/api/folder", &[("host", &host)], b"").is(200);
    }
    // A name that was made to resolve here, with and without our port, and spellings that look like ours.
    for host in [
        format!("rebound.example:{port}"),
        "rebound.example".to_owned(),
        format!("localhost.rebound.example:{port}"),
        format!("127.0.0.1.rebound.example:{port}"),
        "localhost".to_owned(),
        format!("localhost:{}", port.wrapping_add(1)),
        format!("0.0.0.0:{port}"),
        format!("user@localhost:{port}"),
        String::new(),
    ] {
        for (method, path) in [("GET", "/"), ("GET", "/api/folder"), ("POST", CHANGE)] {
            let said =
                running.raw(method, path, &[("host", &host), ("content-type", "application/json")], b"{}");
            assert!([400, 421].contains(&said.status), "{host} {method} {path}: {}", said.status);
        }
    }
    running.raw("GET", "/api/folder", &[], b"").is(421);
    let twice = running.raw("GET", "/api/folder", &[("host", &own), ("host", "rebound.example")], b"");
    assert!([400, 421].contains(&twice.status));
    running.raw("GET", "http://rebound.example/api/folder", &[("host", &own)], b"").is(421);
    assert_eq!(running.intent(), before);
}

#[test]
fn a_page_of_another_site_changes_nothing() {
    let running = Running::start();
    let before = running.intent();
    let body = body(&running);
    let json = ("content-type", "application/json");
    let own = format!("http://localhost:{}", running.port);
    for head in [
        vec![json, ("origin", "http://other.example")],
        vec![json, ("origin", "null")],
        vec![json, ("origin", "http://localhost:1")],
        vec![json, ("sec-fetch-site", "cross-site")],
        vec![json, ("sec-fetch-site", "same-site"), ("origin", own.as_str())],
    ] {
        running.send("POST", CHANGE, &head, &body).is(403);
    }
    // What a form can send without asking.
    for kind in ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"] {
        running.send("POST", CHANGE, &[("content-type", kind)], &body).is(415);
    }
    running.send("POST", CHANGE, &[], &body).is(415);
    running.send("POST", CHANGE, &[("content-type", "application/octet-stream")], &body).is(415);
    running.send("GET", "/api/folder", &[("sec-fetch-site", "cross-site")], b"").is(403);
    let asked = running.send("OPTIONS", CHANGE, &[("origin", "http://other.example")], b"").is(403);
    assert_eq!(asked.says("access-control-allow-origin"), "");
    assert_eq!(running.intent(), before);
    let head = [json, ("origin", own.as_str()), ("sec-fetch-site", "same-origin")];
    running.send("POST", CHANGE, &head, &body).is(200);
    assert_ne!(running.intent(), before);
}

#[test]
fn every_answer_tells_the_browser_to_be_strict() {
    let running = Running::start();
    for path in ["/", "/api/folder", "/api/none", "/none.js"] {
        let said = running.get(path);
        let policy = said.says("content-security-policy");
        for word in [
            "default-src 'none'",
            "script-src 'self'",
            "frame-ancestors 'none'",
            "form-action 'none'",
            "base-uri 'none'",
        ] {
            assert!(policy.contains(word), "{path}: {policy}");
        }
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(said.says("x-content-type-options"), "nosniff");
        assert_eq!(said.says("referrer-policy"), "no-referrer");
        assert_eq!(said.says("cross-origin-resource-policy"), "same-origin");
        assert_eq!(said.says("access-control-allow-origin"), "");
    }
    assert_eq!(running.get("/api/folder").says("cache-control"), "no-store");
}

#[test]
fn no_path_leaves_the_folder() {
    let running = Running::start();
    let outside = tempfile::tempdir().unwrap();
    crate::client::copy(&crate::client::example("wren"), outside.path());
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outside.path(), running.home.path().join("linked")).unwrap();
        std::fs::create_dir(running.home.path().join("half")).unwrap();
        std::os::unix::fs::symlink(
            outside.path().join("intent.toml"),
            running.home.path().join("half/intent.toml"),
        )
        .unwrap();
    }
    let secret = outside.path().file_name().unwrap().to_string_lossy().into_owned();
    for key in [
        "..",
        ".",
        "%2e%2e",
        "..%2f..%2fetc",
        "%2fetc",
        "wren%2f..%2fwren",
        "wren%2f",
        "linked",
        "half",
        "%00",
        "wren%00",
        "%ff",
        "~",
        "wren~..",
        "..%5c..",
        &format!("..%2f{secret}"),
    ] {
        let said = running.get(&format!("/api/projects/{key}/view"));
        assert!([404, 422, 400].contains(&said.status), "{key}: {}", said.status);
        let text = String::from_utf8_lossy(&said.body).into_owned();
        assert!(!text.contains("Wren") && !text.contains("/tmp"), "{key}: {text}");
    }
    for path in [
        "/../intent.toml",
        "/..%2fintent.toml",
        "/wren/intent.toml",
        "/%2e%2e/Cargo.toml",
        "//etc/passwd",
        "/.hidden",
    ] {
        let said = running.get(path);
        assert!([404, 400, 200].contains(&said.status), "{path}");
        assert!(!String::from_utf8_lossy(&said.body).contains("[brief]"), "{path}");
    }
    // A weather file outside cannot be named.
    let number = running.number();
    for file in ["../other.epw", "/etc/passwd"] {
        running.change(number, &[(&["weather", "file"], Some(file))]).is(422);
    }
    assert!(!running.intent().contains("passwd"));
}

#[test]
fn too_much_is_refused_and_the_service_goes_on() {
    let running = Running::start();
    let json = ("content-type", "application/json");
    running.send("POST", CHANGE, &[json], &vec![b' '; (1 << 20) + 1]).is(413);
    let long = "x".repeat(5000);
    running.get(&format!("/api/projects/wren/place?id={long}")).is(414);
    let huge = "x".repeat(60_000);
    let said = running.send("GET", "/api/folder", &[("x-more", &huge)], b"");
    assert!([400, 431].contains(&said.status), "{}", said.status);
    let many: Vec<(String, &str)> = (0..200).map(|number| (format!("x-{number}"), "1")).collect();
    let many: Vec<(&str, &str)> = many.iter().map(|(name, value)| (name.as_str(), *value)).collect();
    let said = running.send("GET", "/api/folder", &many, b"");
    assert!([400, 431].contains(&said.status), "{}", said.status);
    let edits: Vec<_> = (0..201).map(|_| json!({ "path": ["brief", "note"], "value": "x" })).collect();
    running.post(CHANGE, &json!({ "base": 1, "label": "", "edits": edits })).is(400);
    let deep = format!("{}{}", "[".repeat(5000), "]".repeat(5000));
    running.send("POST", CHANGE, &[json], deep.as_bytes()).is(400);
    running.send("POST", CHANGE, &[json], b"\xff\xfe").is(400);
    // No HTTP at all, and a request that breaks off.
    let mut stream = running.connect();
    stream.write_all(b"\x16\x03\x01 nothing\r\n\r\n").unwrap();
    let _ = stream.read(&mut [0; 64]);
    running.connect().write_all(b"POST /api/projects HTTP/1.1\r\nhost: loc").unwrap();
    running.get("/api/folder").is(200);
}

#[test]
fn a_client_that_asks_without_end_is_held_back() {
    let running = Running::start();
    let mut stream = running.connect();
    let request = format!("GET /none.js HTTP/1.1\r\nhost: localhost:{}\r\n\r\n", running.port);
    let mut reader = stream.try_clone().unwrap();
    let count = 3000;
    let writer = std::thread::spawn(move || {
        for _ in 0..count {
            if stream.write_all(request.as_bytes()).is_err() {
                return;
            }
        }
        let _ = stream.shutdown(std::net::Shutdown::Write);
    });
    let mut text = String::new();
    let _ = reader.read_to_string(&mut text);
    writer.join().unwrap();
    let held = text.matches("HTTP/1.1 429").count();
    assert!(held > 0 && text.contains("retry-after: 1"), "{held} of {count} held back");
    assert!(text.matches("HTTP/1.1 404").count() >= 240, "a burst is let through");
}
