//! Reading a project from its folder, with the parts of its own and its weather.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

use energy::weather::Series;
use model::read::{LARGEST_FILE, text_from_bytes};
use model::{Library, Project, SourceText, library};

use crate::Error;
use crate::bounds::Bounds;

/// The name of a project's file in its folder.
pub const INTENT: &str = "intent.toml";

/// Reads a project from its folder or from its `intent.toml`, with the parts of its own beside it.
///
/// Errors: files that cannot be read, and every mistake in them with its line.
pub fn project(path: &Path) -> Result<Project, Error> {
    let (file, folder) = if path.is_dir() {
        (path.join(INTENT), path.to_path_buf())
    } else {
        (path.to_path_buf(), folder_of(path))
    };
    project_of(text(&file)?, &folder, &Bounds::Anywhere)
}

/// The weather of a project: the file `said`, else `weather.file` of intent.toml beside it; `None` where neither names one.
///
/// `at` is the project's folder or its intent.toml.
/// Errors: a file that cannot be read, and every mistake in it with its line.
pub fn weather(project: &Project, at: &Path, said: Option<&Path>) -> Result<Option<Series>, Error> {
    let folder = if at.is_dir() { at.to_path_buf() } else { folder_of(at) };
    match said {
        Some(path) => series(path, &Bounds::Anywhere).map(Some),
        None => weather_of(project, &folder, &Bounds::Anywhere),
    }
}

/// Reads one text file of a size that a project can have.
///
/// Errors: a file that cannot be read, is too large or is not UTF-8.
pub fn text(path: &Path) -> Result<SourceText, Error> {
    text_within(path, &Bounds::Anywhere)
}

/// Reads one file of at most so many bytes.
///
/// Errors: a file that cannot be read, or has more.
pub fn bytes(path: &Path, most: usize) -> Result<Vec<u8>, Error> {
    bytes_within(path, most, &Bounds::Anywhere)
}

/// The project of a text that was read, with the parts of its folder.
pub(crate) fn project_of(source: SourceText, folder: &Path, bounds: &Bounds) -> Result<Project, Error> {
    let library = parts(folder, bounds)?;
    Project::read(source.clone(), library)
        .map_err(|problems| Error::Located { problems, sources: vec![source] })
}

/// The weather file that a project names.
pub(crate) fn weather_of(project: &Project, folder: &Path, bounds: &Bounds) -> Result<Option<Series>, Error> {
    let written = project.intent.weather.as_ref().and_then(|weather| weather.file.as_ref());
    written.map(|file| series(&folder.join(file), bounds)).transpose()
}

pub(crate) fn text_within(path: &Path, bounds: &Bounds) -> Result<SourceText, Error> {
    let name = path.display().to_string();
    let bytes = bytes_within(path, LARGEST_FILE, bounds)?;
    text_from_bytes(&name, bytes)
        .map_err(|problem| Error::Located { problems: vec![*problem], sources: Vec::new() })
}

/// The files of a project's own parts: `parts.toml` and `parts/*.toml`, in order of name.
pub(crate) fn parts_files(folder: &Path, bounds: &Bounds) -> Result<Vec<PathBuf>, Error> {
    let mut files = Vec::new();
    let one = folder.join("parts.toml");
    if one.exists() {
        files.push(one);
    }
    let many = folder.join("parts");
    if many.is_dir() {
        bounds.real(&many)?;
        let entries = fs::read_dir(&many).map_err(|error| Error::cannot("read", &many, &error))?;
        let mut found = Vec::new();
        for entry in entries {
            let path = entry.map_err(|error| Error::cannot("read", &many, &error))?.path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                found.push(path);
            }
        }
        found.sort();
        files.extend(found);
    }
    Ok(files)
}

/// The built-in parts, with those of the folder laid over them.
fn parts(folder: &Path, bounds: &Bounds) -> Result<Library, Error> {
    let mut library = library::builtin().clone();
    let files = parts_files(folder, bounds)?;
    let sources: Vec<SourceText> =
        files.iter().map(|file| text_within(file, bounds)).collect::<Result<_, _>>()?;
    if !sources.is_empty() {
        let own = Library::read_all(&sources).map_err(|problems| Error::Located { problems, sources })?;
        library.merge(own);
    }
    Ok(library)
}

fn series(path: &Path, bounds: &Bounds) -> Result<Series, Error> {
    let name = path.display().to_string();
    let bytes = bytes_within(path, energy::weather::LARGEST_FILE, bounds)?;
    energy::weather::read(&name, &bytes).map_err(|problems| {
        let text = energy::weather::text(&bytes).into_owned();
        Error::Located { problems, sources: vec![SourceText { name, text }] }
    })
}

fn folder_of(file: &Path) -> PathBuf {
    file.parent().map(Path::to_path_buf).unwrap_or_default()
}

pub(crate) fn bytes_within(path: &Path, most: usize, bounds: &Bounds) -> Result<Vec<u8>, Error> {
    let real = bounds.real(path)?;
    let about = fs::metadata(&real).map_err(|error| Error::cannot("read", path, &error))?;
    if !about.is_file() {
        return Err(Error::at(
            "this is not a file",
            path,
            "Name a file; for a project its folder or its intent.toml",
        ));
    }
    let mut bytes = Vec::new();
    let file = fs::File::open(&real).map_err(|error| Error::cannot("read", path, &error))?;
    // A file can grow after it was measured, so the reading itself is held to the limit.
    file.take(most as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| Error::cannot("read", path, &error))?;
    if bytes.len() > most {
        return Err(Error::whole_file(
            format!("the file has {} bytes; the most that is read is {most}", about.len()),
            path,
            "Check that this is the right file: a project file is a few kilobytes, a weather file a few megabytes",
        ));
    }
    Ok(bytes)
}
