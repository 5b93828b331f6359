//! Reading a project's folder and writing what was made.
//! Never: writes over a file unless asked, leaves half a file behind, reads more than a project can be.
//! Start at [`project`] and [`write`].

use std::fs;
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use model::read::{LARGEST_FILE, text_from_bytes};
use model::{Library, Problem, Project, SourceText, library};

use crate::answer::Failure;

/// The name of a project's file in its folder.
pub const INTENT: &str = "intent.toml";

/// Reads a project from its folder or from its `intent.toml`, with the parts of its own beside it.
pub fn project(path: &Path) -> Result<Project, Failure> {
    let (file, folder) = if path.is_dir() {
        (path.join(INTENT), path.to_path_buf())
    } else {
        (path.to_path_buf(), path.parent().map(Path::to_path_buf).unwrap_or_default())
    };
    let source = text(&file)?;
    let library = parts(&folder)?;
    Project::read(source.clone(), library)
        .map_err(|problems| Failure::Located { problems, sources: vec![source] })
}

/// The built-in parts, with those of `parts.toml` and `parts/*.toml` in the folder laid over them.
fn parts(folder: &Path) -> Result<Library, Failure> {
    let mut library = library::builtin().clone();
    let mut files = Vec::new();
    let one = folder.join("parts.toml");
    if one.exists() {
        files.push(one);
    }
    let many = folder.join("parts");
    if many.is_dir() {
        let entries = fs::read_dir(&many).map_err(|error| cannot("read", &many, &error))?;
        let mut found = Vec::new();
        for entry in entries {
            let path = entry.map_err(|error| cannot("read", &many, &error))?.path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                found.push(path);
            }
        }
        found.sort();
        files.extend(found);
    }
    let sources: Vec<SourceText> = files.iter().map(|file| text(file)).collect::<Result<_, _>>()?;
    if !sources.is_empty() {
        let own = Library::read_all(&sources).map_err(|problems| Failure::Located { problems, sources })?;
        library.merge(own);
    }
    Ok(library)
}

/// Reads one text file of a size that a project can have.
pub fn text(path: &Path) -> Result<SourceText, Failure> {
    let name = path.display().to_string();
    let bytes = bytes(path, LARGEST_FILE)?;
    text_from_bytes(&name, bytes)
        .map_err(|problem| Failure::Located { problems: vec![*problem], sources: Vec::new() })
}

/// Reads one file of at most so many bytes.
pub fn bytes(path: &Path, most: usize) -> Result<Vec<u8>, Failure> {
    let name = path.display().to_string();
    let about = fs::metadata(path).map_err(|error| cannot("read", path, &error))?;
    if !about.is_file() {
        return Err(Failure::plain(
            "this is not a file",
            name,
            "Name a file; for a project its folder or its intent.toml",
        ));
    }
    let whole = |message: String, mend: &str| {
        let problem = Problem {
            message,
            file: name.clone(),
            field: String::new(),
            span: 0..0,
            line: 1,
            column: 1,
            mend: mend.to_owned(),
        };
        Failure::Located { problems: vec![problem], sources: Vec::new() }
    };
    let mut bytes = Vec::new();
    let file = fs::File::open(path).map_err(|error| cannot("read", path, &error))?;
    // A file can grow after it was measured, so the reading itself is held to the limit.
    file.take(most as u64 + 1).read_to_end(&mut bytes).map_err(|error| cannot("read", path, &error))?;
    if bytes.len() > most {
        return Err(whole(
            format!("the file has {} bytes; the most that is read is {most}", about.len()),
            "Check that this is the right file: a project file is a few kilobytes, a weather file a few megabytes",
        ));
    }
    Ok(bytes)
}

/// What to do where a file is there already.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// Leave it and fail.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// Writes files into a folder, made where it is missing: all of them or, where one is there already and is to be kept, none.
///
/// Each goes to a temporary file beside its place first and is then renamed.
pub fn write(
    folder: &Path,
    files: &[(String, Vec<u8>)],
    existing: Existing,
) -> Result<Vec<PathBuf>, Failure> {
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    // `symlink_metadata` sees a dangling link too.
    let taken = paths.iter().find(|path| path.symlink_metadata().is_ok());
    if let Some(path) = taken
        && existing == Existing::Keep
    {
        return Err(there_already(path));
    }
    for (path, (_, bytes)) in paths.iter().zip(files) {
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent).map_err(|error| cannot("make", parent, &error))?;
        let mut temporary = tempfile::Builder::new()
            .prefix(".wattwain-")
            .tempfile_in(parent)
            .map_err(|error| cannot("write in", parent, &error))?;
        temporary.write_all(bytes).map_err(|error| cannot("write", path, &error))?;
        let_others_read(temporary.as_file());
        match existing {
            Existing::Replace => temporary.persist(path).map(drop),
            Existing::Keep => temporary.persist_noclobber(path).map(drop),
        }
        .map_err(|error| match error.error.kind() {
            ErrorKind::AlreadyExists => there_already(path),
            _ => cannot("write", path, &error.error),
        })?;
    }
    Ok(paths)
}

/// A temporary file is made for its owner alone; a finished one is for whoever may read the folder.
fn let_others_read(file: &fs::File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A file system without permissions is no reason to fail.
        let _ = file.set_permissions(fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

fn there_already(path: &Path) -> Failure {
    Failure::plain(
        "the file is there already and is left as it is",
        path.display().to_string(),
        "Give `--replace` to write over it where the command has that, name another folder, or move the file away",
    )
}

fn cannot(what: &str, path: &Path, error: &std::io::Error) -> Failure {
    let mend = match error.kind() {
        ErrorKind::NotFound => "Check the path; `wattwain begin FOLDER` makes a new project",
        ErrorKind::PermissionDenied => "Ask for the right to it, or choose another folder",
        ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
            "A file stands where a folder is wanted; name another"
        }
        _ => "Check the disk and the path",
    };
    Failure::plain(format!("cannot {what} this: {error}"), path.display().to_string(), mend)
}
