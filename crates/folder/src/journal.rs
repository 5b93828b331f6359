//! The history on disk: an append-only file of lines, each with its checksum.
//! Never: trusts a line whose checksum does not fit; a torn last line is dropped, a damaged file set aside.
//! Start at [`Journal`].

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use crate::Error;
use crate::history::{History, Record};
use crate::stamp::Stamp;
use crate::write::sync_folder;

/// Its name in the folder of the history.
const NAME: &str = "journal";

/// Lines and bytes from which the file is written anew with the kept states only.
const MOST_LINES: usize = 400;
const MOST_BYTES: u64 = 64_000_000;

/// A file larger than this is none of ours [bytes].
const LARGEST: u64 = 1_000_000_000;

/// What was read.
pub struct Loaded {
    /// The history; empty where nothing could be read.
    pub history: History,
    /// What could not be read, in words.
    pub damage: Option<String>,
}

/// The journal of one project.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    /// Held open, so that a file of another process cannot look like this one.
    file: Option<File>,
    /// Bytes of good lines.
    len: u64,
    /// Bytes of the file when last read or written, a torn line with them.
    seen: u64,
    lines: usize,
}

impl Journal {
    /// The journal in a folder, not yet read.
    pub fn new(folder: &Path) -> Self {
        Self { path: folder.join(NAME), file: None, len: 0, seen: 0, lines: 0 }
    }

    /// Whether someone else wrote it since it was last read or written here.
    pub fn has_changed(&self) -> bool {
        let there = Stamp::of(&self.path);
        match (&self.file, there) {
            (None, None) => false,
            (Some(file), Some(there)) => {
                there.len != self.seen || Stamp::of_file(file).is_none_or(|ours| !ours.is_same_file(&there))
            }
            _ => true,
        }
    }

    /// Reads it from the start.
    pub fn load(&mut self) -> std::io::Result<Loaded> {
        (self.file, self.len, self.seen, self.lines) = (None, 0, 0, 0);
        let mut loaded = Loaded { history: History::empty(), damage: None };
        let file = match OpenOptions::new().read(true).append(true).open(&self.path) {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(loaded),
            // A folder that may only be read is still read.
            Err(error) if error.kind() != ErrorKind::IsADirectory => File::open(&self.path)?,
            other => other?,
        };
        let about = file.metadata()?;
        if !about.is_file() || about.len() > LARGEST {
            return Err(std::io::Error::new(ErrorKind::InvalidData, "it is no journal"));
        }
        let mut bytes = Vec::new();
        (&file).take(LARGEST).read_to_end(&mut bytes)?;
        let mut bad = Vec::new();
        let mut at = 0;
        let mut good = 0;
        let mut number = 0;
        while let Some(length) = bytes[at..].iter().position(|byte| *byte == b'\n') {
            let line = &bytes[at..at + length];
            at += length + 1;
            number += 1;
            match decode(line) {
                Some(record) => {
                    if !loaded.history.take(record) {
                        bad.push(number);
                    }
                    good = at;
                }
                None => bad.push(number),
            }
        }
        // What comes after the last good line was being written when something stopped it.
        let good_lines = bytes[..good].iter().filter(|byte| **byte == b'\n').count();
        bad.retain(|line| *line <= good_lines);
        if let Some(first) = bad.first() {
            loaded.damage =
                Some(format!("{} of {number} lines do not fit, the first is line {first}", bad.len()));
        }
        if good == 0 && bytes.contains(&b'\n') {
            loaded.damage = Some("no line of it can be read".to_owned());
        }
        self.len = good as u64;
        self.seen = bytes.len() as u64;
        self.lines = number;
        self.file = Some(file);
        Ok(loaded)
    }

    /// Adds lines and brings them onto the disk. Where that fails, the file is as before.
    pub fn append(&mut self, lines: &str) -> std::io::Result<()> {
        if self.file.is_none() {
            let file = OpenOptions::new().create(true).read(true).append(true).open(&self.path)?;
            file.sync_all()?;
            if let Some(folder) = self.path.parent() {
                sync_folder(folder)?;
            }
            self.file = Some(file);
        }
        let Some(file) = &mut self.file else { return Ok(()) };
        if file.metadata()?.len() != self.len {
            // A torn line of a writer that was stopped.
            file.set_len(self.len)?;
        }
        if let Err(error) = file.write_all(lines.as_bytes()).and_then(|()| file.sync_data()) {
            let _ = file.set_len(self.len);
            return Err(error);
        }
        self.len += lines.len() as u64;
        self.seen = self.len;
        self.lines += lines.matches('\n').count();
        Ok(())
    }

    /// Bytes of it, for [`Journal::cut`].
    pub fn len(&self) -> u64 {
        self.len
    }

    /// Takes away what was added since it had `len` bytes.
    pub fn cut(&mut self, len: u64) {
        if let Some(file) = &self.file
            && file.set_len(len).and_then(|()| file.sync_data()).is_ok()
        {
            (self.len, self.seen) = (len, len);
        }
    }

    /// Writes it anew where it has grown long.
    pub fn shorten(&mut self, history: &History) -> std::io::Result<()> {
        let is_long = self.lines > MOST_LINES || (self.len > MOST_BYTES && self.lines > 150);
        if is_long { self.rewrite(history) } else { Ok(()) }
    }

    /// Writes it anew, whole: beside, onto the disk, then renamed.
    pub fn rewrite(&mut self, history: &History) -> std::io::Result<()> {
        let lines: String = history.records().iter().map(encode).collect();
        let beside = self.path.with_extension("new");
        let mut file = OpenOptions::new().create(true).truncate(true).read(true).write(true).open(&beside)?;
        file.write_all(lines.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, &self.path)?;
        if let Some(folder) = self.path.parent() {
            sync_folder(folder)?;
        }
        drop(file);
        self.file = Some(OpenOptions::new().read(true).append(true).open(&self.path)?);
        self.len = lines.len() as u64;
        self.seen = self.len;
        self.lines = lines.matches('\n').count();
        Ok(())
    }

    /// Puts a damaged file out of the way, and says where.
    pub fn set_aside(&mut self) -> Result<PathBuf, Error> {
        (self.file, self.len, self.seen, self.lines) = (None, 0, 0, 0);
        set_aside(&self.path)
    }
}

/// Gives a file or folder a free name beside its own.
pub fn set_aside(path: &Path) -> Result<PathBuf, Error> {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let free = (1..10_000)
        .map(|count| path.with_file_name(format!("{name}.damaged-{count}")))
        .find(|aside| aside.symlink_metadata().is_err())
        .ok_or_else(|| Error::at("there is no free name to set this aside", path, "Clear the folder"))?;
    fs::rename(path, &free).map_err(|error| Error::cannot("rename", path, &error))?;
    Ok(free)
}

/// One line: checksum, space, JSON.
pub fn encode(record: &Record) -> String {
    // Numbers and texts always have a JSON form.
    let json = serde_json::to_string(record).unwrap_or_default();
    format!("{:08x} {json}\n", crc32fast::hash(json.as_bytes()))
}

fn decode(line: &[u8]) -> Option<Record> {
    let (sum, json) = (line.get(..8)?, line.get(9..)?);
    let sum = u32::from_str_radix(std::str::from_utf8(sum).ok()?, 16).ok()?;
    if line.get(8) != Some(&b' ') || crc32fast::hash(json) != sum {
        return None;
    }
    serde_json::from_slice(json).ok()
}
