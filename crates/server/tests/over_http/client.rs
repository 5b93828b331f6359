//! A service on a temporary copy of an example, and a client that can send anything, right or wrong.
//! Never: mends a request on the way. Start at [`Running::start`].

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

use folder::Shelf;
use serde_json::{Value, json};
use server::{Options, Service};

/// A service with its folder.
pub struct Running {
    pub home: tempfile::TempDir,
    pub port: u16,
    service: Option<Service>,
}

/// An answer.
pub struct Said {
    pub status: u16,
    pub head: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Said {
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|_| panic!("no JSON, {}: {}", self.status, String::from_utf8_lossy(&self.body)))
    }

    pub fn says(&self, name: &str) -> &str {
        self.head.iter().find(|(of, _)| of == name).map_or("", |(_, value)| value)
    }

    #[track_caller]
    pub fn is(self, status: u16) -> Self {
        assert_eq!(self.status, status, "{}", String::from_utf8_lossy(&self.body));
        self
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        if let Some(service) = self.service.take() {
            service.stop();
        }
    }
}

impl Running {
    /// Serves a folder with a copy of `wren` in it.
    pub fn start() -> Self {
        Self::with(Duration::from_secs(20))
    }

    /// The same, with work that is given up after so long.
    pub fn with(patience: Duration) -> Self {
        let home = tempfile::tempdir().unwrap();
        copy(&example("wren"), &home.path().join("wren"));
        let shelf = Shelf::open(home.path()).unwrap();
        let options = Options { shelf, port: Some(0), share: None, patience: Some(patience) };
        let service = Service::start(options).unwrap();
        Self { home, port: service.port(), service: Some(service) }
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.home.path().join("wren").join(name)
    }

    pub fn intent(&self) -> String {
        std::fs::read_to_string(self.file("intent.toml")).unwrap()
    }

    pub fn get(&self, path: &str) -> Said {
        self.send("GET", path, &[], b"")
    }

    pub fn post(&self, path: &str, body: &Value) -> Said {
        self.send("POST", path, &[("content-type", "application/json")], body.to_string().as_bytes())
    }

    pub fn send(&self, method: &str, path: &str, head: &[(&str, &str)], body: &[u8]) -> Said {
        let host = format!("localhost:{}", self.port);
        let mut all = vec![("host", host.as_str())];
        all.extend(head);
        self.raw(method, path, &all, body)
    }

    /// Sends exactly this head (and the length of the body).
    pub fn raw(&self, method: &str, path: &str, head: &[(&str, &str)], body: &[u8]) -> Said {
        let mut stream = self.connect();
        let mut text = format!("{method} {path} HTTP/1.1\r\nconnection: close\r\n");
        for (name, value) in head {
            text.push_str(&format!("{name}: {value}\r\n"));
        }
        if !body.is_empty() || method == "POST" {
            text.push_str(&format!("content-length: {}\r\n", body.len()));
        }
        text.push_str("\r\n");
        stream.write_all(text.as_bytes()).unwrap();
        // A server that refuses a body may close before it has read all of it.
        let _ = stream.write_all(body);
        read_answer(stream, method == "HEAD")
    }

    pub fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(120))).unwrap();
        stream.set_nodelay(true).unwrap();
        stream
    }

    /// The lines of a stream of events, each `data` as JSON.
    pub fn events(&self, path: &str) -> impl Iterator<Item = Value> + use<> {
        let mut stream = self.connect();
        let head =
            format!("GET {path} HTTP/1.1\r\nhost: localhost:{}\r\nconnection: close\r\n\r\n", self.port);
        stream.write_all(head.as_bytes()).unwrap();
        let mut reader = BufReader::new(stream);
        // The head, and the first word, so that nothing told after this is missed.
        let mut line = String::new();
        while reader.read_line(&mut line).unwrap() > 0 && line != "\r\n" {
            line.clear();
        }
        reader
            .lines()
            .map_while(Result::ok)
            .filter_map(|line| line.strip_prefix("data: ").map(|data| serde_json::from_str(data).unwrap()))
    }

    /// Changes values of the project.
    pub fn change(&self, base: u64, edits: &[(&[&str], Option<&str>)]) -> Said {
        self.change_with(base, edits, &json!({}))
    }

    pub fn change_with(&self, base: u64, edits: &[(&[&str], Option<&str>)], more: &Value) -> Said {
        let edits: Vec<Value> =
            edits.iter().map(|(path, value)| json!({ "path": path, "value": value })).collect();
        let mut body = json!({ "base": base, "label": "a change", "edits": edits });
        for (key, value) in more.as_object().unwrap() {
            body[key] = value.clone();
        }
        self.post("/api/projects/wren/changes", &body)
    }

    pub fn view(&self) -> Value {
        self.get("/api/projects/wren/view").is(200).json()
    }

    pub fn number(&self) -> u64 {
        self.view()["number"].as_u64().unwrap()
    }
}

fn read_answer(stream: TcpStream, is_head_only: bool) -> Said {
    let mut reader = BufReader::new(stream);
    let mut line = String::new();
    reader.read_line(&mut line).unwrap();
    let status = line.split(' ').nth(1).and_then(|status| status.parse().ok()).unwrap_or(0);
    let mut head = Vec::new();
    loop {
        line.clear();
        if reader.read_line(&mut line).unwrap() == 0 || line == "\r\n" {
            break;
        }
        if let Some((name, value)) = line.trim_end().split_once(": ") {
            head.push((name.to_lowercase(), value.to_owned()));
        }
    }
    let length =
        head.iter().find(|(name, _)| name == "content-length").and_then(|(_, value)| value.parse().ok());
    let mut body = Vec::new();
    match length {
        _ if is_head_only => {}
        Some(length) => {
            reader.take(length).read_to_end(&mut body).unwrap();
        }
        None => {
            let _ = reader.read_to_end(&mut body);
        }
    }
    Said { status, head, body }
}

pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

pub fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
        }
    }
}
