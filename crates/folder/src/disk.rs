//! A document's file: putting a text in its place so that what stood there is kept, and what a stopped write left.
//! Never: shows half a file, takes away a text that nobody has read.
//! Start at [`Place`].

use std::fs::{self, File, OpenOptions};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::Error;
use crate::bounds::Bounds;
use crate::history::Document;
use crate::write::sync_folder;

/// The folder of this program in a project's folder.
pub const OWN: &str = ".wattwain";

/// Where the documents of one project stand.
#[derive(Clone, Debug)]
pub struct Place {
    /// The project's folder, as it was named.
    pub folder: PathBuf,
    /// What nothing may leave.
    pub bounds: Bounds,
}

/// What a file holds.
pub enum Found {
    /// A text.
    Text(String),
    /// There is no file.
    Missing,
    /// Something that cannot be read as a text.
    Unreadable(Error),
}

impl Place {
    /// The file of a document.
    pub fn file(&self, document: Document) -> PathBuf {
        self.folder.join(document.file())
    }

    /// The folder of this program.
    pub fn own(&self) -> PathBuf {
        self.folder.join(OWN)
    }

    /// The folder of the history.
    pub fn history(&self) -> PathBuf {
        self.own().join("history")
    }

    /// Refuses links in place of the folders of this program: they would mix projects or lead outside.
    pub fn check_own(&self) -> Result<(), Error> {
        for path in [self.own(), self.history(), self.own().join("lock")] {
            if path.symlink_metadata().is_ok_and(|about| about.is_symlink()) {
                let to = fs::read_link(&path).unwrap_or_default();
                return Err(Error::whole_file(
                    format!(
                        "this is a link, to {}; the history must stand in the project's folder",
                        to.display()
                    ),
                    &path,
                    "Take the link away; a folder is made in its place",
                ));
            }
        }
        Ok(())
    }

    /// Makes the folders of this program.
    pub fn make_own(&self) -> Result<(), Error> {
        self.check_own()?;
        let history = self.history();
        if history.is_dir() {
            return Ok(());
        }
        let own = self.own();
        fs::create_dir_all(&history).map_err(|error| Error::cannot("make", &history, &error))?;
        let ignore = own.join(".gitignore");
        if !ignore.exists() {
            fs::write(&ignore, "*\n").map_err(|error| Error::cannot("write", &ignore, &error))?;
        }
        for folder in [&own, &self.folder] {
            sync_folder(folder).map_err(|error| Error::cannot("write in", folder, &error))?;
        }
        Ok(())
    }

    /// Reads a document.
    pub fn read(&self, document: Document) -> Found {
        let path = self.file(document);
        if let Err(error) = path.symlink_metadata()
            && error.kind() == ErrorKind::NotFound
        {
            return Found::Missing;
        }
        match crate::read::text_within(&path, &self.bounds) {
            Ok(source) => Found::Text(source.text),
            Err(error) => Found::Unreadable(error),
        }
    }

    fn beside(&self, kind: &str, document: Document) -> PathBuf {
        self.own().join(format!("{kind}-{}", document.file()))
    }

    /// The new text while it is written.
    pub fn part(&self, document: Document) -> PathBuf {
        self.beside("new", document)
    }

    /// The new text when it is whole; after the exchange what it replaced.
    pub fn swap(&self, document: Document) -> PathBuf {
        self.beside("swap", document)
    }

    /// Begins a new text: the file is there from here on.
    pub fn begin(&self, document: Document) -> Result<File, Error> {
        let part = self.part(document);
        let file = OpenOptions::new()
            .create(true)
            .truncate(true)
            .write(true)
            .open(&part)
            .map_err(|error| Error::cannot("write", &part, &error))?;
        // The new file is for those for whom the old one was; a file system without permissions is no reason to fail.
        if let Ok(about) = fs::metadata(self.file(document)) {
            let _ = file.set_permissions(about.permissions());
        }
        Ok(file)
    }

    /// Puts the new text in the document's place. What stood there is then in [`Place::swap`]; false where nothing did.
    pub fn exchange(&self, document: Document) -> Result<bool, Error> {
        let path = self.file(document);
        // A link inside the folder stays a link.
        let real = self.bounds.real(&path)?;
        if real.is_dir() {
            return Err(Error::at("a folder stands where a file is wanted", &path, "Move it away"));
        }
        let (part, swap) = (self.part(document), self.swap(document));
        fs::rename(&part, &swap).map_err(|error| Error::cannot("write", &path, &error))?;
        put(&swap, &real).map_err(|error| Error::cannot("write", &path, &error))
    }

    /// Keeps what was replaced until the next write: an editor that had it open may still write into it.
    pub fn keep_replaced(&self, document: Document) {
        for (old, _) in self.replaced(document) {
            let _ = fs::remove_file(old);
        }
        self.rename_replaced(document, &self.swap(document));
    }

    /// Gives a replaced file the name that says what stands in it.
    pub fn rename_replaced(&self, document: Document, path: &Path) {
        let Ok(bytes) = fs::read(path) else { return };
        let name = format!("replaced-{:08x}-{}", crc32fast::hash(&bytes), document.file());
        let _ = fs::rename(path, self.own().join(name));
    }

    /// The replaced files of a document with the checksums of what stood in them when they were replaced.
    pub fn replaced(&self, document: Document) -> Vec<(PathBuf, u32)> {
        let Ok(entries) = fs::read_dir(self.own()) else { return Vec::new() };
        let mut found: Vec<(PathBuf, u32)> = entries
            .filter_map(|entry| {
                let entry = entry.ok()?;
                let name = entry.file_name().into_string().ok()?;
                let sum = name.strip_prefix("replaced-")?.strip_suffix(document.file())?.strip_suffix('-')?;
                Some((entry.path(), u32::from_str_radix(sum, 16).ok()?))
            })
            .collect();
        found.sort();
        found
    }

    /// Puts bytes that are no text out of the way, and says where.
    pub fn set_aside(&self, document: Document, path: &Path) -> Result<PathBuf, Error> {
        let named = self.own().join(document.file());
        if named.symlink_metadata().is_err() {
            fs::rename(path, &named).map_err(|error| Error::cannot("rename", path, &error))?;
            return crate::journal::set_aside(&named);
        }
        crate::journal::set_aside(path)
    }
}

/// Puts `new` at `place`; where a file stood there, it is then at `new`.
fn put(new: &Path, place: &Path) -> std::io::Result<bool> {
    if place.symlink_metadata().is_err() {
        // A file that appears in between is not written over.
        return match fs::hard_link(new, place) {
            Ok(()) => fs::remove_file(new).map(|()| false),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => swap(new, place).map(|()| true),
            // A file system without links.
            Err(_) => fs::rename(new, place).map(|()| false),
        };
    }
    match swap(new, place) {
        Ok(()) => Ok(true),
        // It went away in between.
        Err(error) if error.kind() == ErrorKind::NotFound => fs::rename(new, place).map(|()| false),
        Err(error) => Err(error),
    }
}

/// Exchanges two files in one step, where the system can.
fn swap(new: &Path, place: &Path) -> std::io::Result<()> {
    #[cfg(any(target_os = "linux", target_vendor = "apple"))]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        use rustix::io::Errno;
        match renameat_with(CWD, new, CWD, place, RenameFlags::EXCHANGE) {
            Ok(()) => return Ok(()),
            Err(Errno::INVAL | Errno::NOSYS | Errno::NOTSUP) => {}
            Err(error) => return Err(error.into()),
        }
    }
    swap_by_link(new, place)
}

/// The same in steps: what stands at `place` gets a second name before it is written over.
fn swap_by_link(new: &Path, place: &Path) -> std::io::Result<()> {
    let aside = new.with_extension("aside");
    let _ = fs::remove_file(&aside);
    if fs::hard_link(place, &aside).is_err() {
        fs::copy(place, &aside)?;
    }
    fs::rename(new, place)?;
    fs::rename(&aside, new)
}

/// Writes a whole text into a new file and brings it onto the disk.
pub fn fill(mut file: &File, text: &str) -> std::io::Result<()> {
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

#[cfg(test)]
mod tests {
    #[test]
    fn both_ways_of_exchanging_keep_both_texts() {
        let folder = tempfile::tempdir().unwrap();
        let (new, place) = (folder.path().join("new.toml"), folder.path().join("place.toml"));
        for exchange in [super::swap, super::swap_by_link] {
            std::fs::write(&new, "new").unwrap();
            std::fs::write(&place, "old").unwrap();
            exchange(&new, &place).unwrap();
            assert_eq!(std::fs::read_to_string(&place).unwrap(), "new");
            assert_eq!(std::fs::read_to_string(&new).unwrap(), "old");
        }
        std::fs::remove_file(&place).unwrap();
        assert!(!super::put(&new, &place).unwrap(), "nothing was replaced");
        assert!(!new.exists());
    }
}
