//! `wattwain open` as a process: what it says, and that an acknowledged edit outlives it, however it ends.
//! Never: asserts a time. Start at `a_service_that_is_killed_has_lost_no_acknowledged_edit`.

#![allow(clippy::unwrap_used)] // tests may panic

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use rand::{RngExt, SeedableRng};

const KILLS: usize = 40;

fn project() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/wren/intent.toml");
    std::fs::copy(from, folder.path().join("intent.toml")).unwrap();
    folder
}

fn open(folder: &Path, more: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wattwain"));
    command
        .arg("open")
        .arg(folder)
        .arg("--no-browser")
        .args(more)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

/// The process and its port, when it listens.
fn opened(folder: &Path) -> (Child, u16) {
    let mut child = open(folder, &["--port", "0"]).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    let port = line.trim().trim_end_matches('/').rsplit(':').next().unwrap().parse().unwrap();
    (child, port)
}

/// Sends one request on an open connection; the status and the body, or nothing where the connection broke.
fn ask(
    stream: &mut BufReader<TcpStream>,
    port: u16,
    method: &str,
    path: &str,
    body: &str,
) -> Option<(u16, String)> {
    let head = format!(
        "{method} {path} HTTP/1.1\r\nhost: localhost:{port}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
        body.len()
    );
    stream.get_mut().write_all(head.as_bytes()).ok()?;
    let mut line = String::new();
    stream.read_line(&mut line).ok().filter(|read| *read > 0)?;
    let status = line.split(' ').nth(1)?.parse().ok()?;
    let mut length = 0;
    loop {
        line.clear();
        stream.read_line(&mut line).ok().filter(|read| *read > 0)?;
        if line == "\r\n" {
            break;
        }
        if let Some(value) = line.strip_prefix("content-length: ") {
            length = value.trim().parse().ok()?;
        }
    }
    let mut body = vec![0; length];
    stream.read_exact(&mut body).ok()?;
    Some((status, String::from_utf8(body).ok()?))
}

fn connect(port: u16) -> BufReader<TcpStream> {
    BufReader::new(TcpStream::connect(("127.0.0.1", port)).unwrap())
}

#[test]
fn a_service_that_is_killed_has_lost_no_acknowledged_edit() {
    let folder = project();
    let file = folder.path().join("intent.toml");
    let key = {
        let (mut child, port) = opened(folder.path());
        let (_, body) = ask(&mut connect(port), port, "GET", "/api/folder", "").unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        let folder: serde_json::Value = serde_json::from_str(&body).unwrap();
        folder["projects"][0]["key"].as_str().unwrap().to_owned()
    };
    let changes = format!("/api/projects/{key}/changes");
    let mut random = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(41);
    let (mut acknowledged, mut stood) = (0, None::<String>);
    for run in 0..KILLS {
        let (mut child, port) = opened(folder.path());
        let mut stream = connect(port);
        let mut sent = Vec::new();
        let mut last = stood.clone();
        let mut killer = None;
        for count in 0.. {
            let note = format!("run {run} edit {count}");
            sent.push(note.clone());
            let edits = serde_json::json!([{ "path": ["brief", "note"], "value": note }]);
            let body =
                serde_json::json!({ "base": 1, "label": note, "edits": edits, "over": true }).to_string();
            let Some((status, answer)) = ask(&mut stream, port, "POST", &changes, &body) else { break };
            assert_eq!(status, 200, "{answer}");
            last = Some(note);
            acknowledged += 1;
            // The first answer takes long, since the project is opened with it; the moment is one of the edits after it.
            if killer.is_none() {
                let wait = Duration::from_micros(random.random_range(0..150_000));
                let id = child.id();
                killer = Some(std::thread::spawn(move || {
                    std::thread::sleep(wait);
                    let killed = Command::new("kill").args(["-KILL", &id.to_string()]).status();
                    assert!(killed.unwrap().success());
                }));
            }
        }
        if let Some(killer) = killer {
            killer.join().unwrap();
        }
        let status = child.wait().unwrap();
        assert!(!status.success(), "run {run} ended by itself: {status}");

        let store = folder::Store::open(folder.path()).unwrap();
        assert_eq!(store.notes(), [""; 0], "run {run}");
        let text = std::fs::read_to_string(&file).unwrap();
        assert_eq!(
            text,
            store.text(folder::Document::Intent).text,
            "run {run}: file and history say the same"
        );
        let note = store.project().unwrap().intent.brief.note;
        // What was acknowledged last, or what was on its way.
        assert!(note == last || note.as_ref() == sent.last(), "run {run}: {note:?} after {last:?}");
        stood = note;
    }
    assert!(acknowledged > KILLS, "the kills came into the middle of edits: {acknowledged}");
}

#[test]
fn a_port_that_is_taken_is_said_so_and_the_next_is_found_where_none_was_named() {
    let folder = project();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let said = open(folder.path(), &["--port", &port]).output().unwrap();
    assert_eq!(said.status.code(), Some(2));
    let text = String::from_utf8(said.stderr).unwrap();
    assert!(text.contains(&format!("port {port} is taken")) && text.contains("mend:"), "{text}");
}

#[test]
fn a_folder_that_is_not_there_is_said_so() {
    let said = open(Path::new("no/such/folder"), &[]).output().unwrap();
    assert_eq!(said.status.code(), Some(2));
    assert!(String::from_utf8(said.stderr).unwrap().contains("no/such/folder"));
}
