//! Writing files whole: to a temporary file beside the place, onto the disk, then renamed.

use std::fs::{self, File};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use crate::Error;

/// What to do where a file is there already.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Existing {
    /// Leave it and fail.
    Keep,
    /// Put the new one in its place.
    Replace,
}

/// Writes files into a folder, made where it is missing: all of them or, where one is there already and is to be kept, none.
///
/// Each goes to a temporary file beside its place first, onto the disk, and is then renamed; when this returns, the names
/// are on the disk too.
/// Errors: a file that is there and is to be kept; a folder that cannot be made or written in.
pub fn write(folder: &Path, files: &[(String, Vec<u8>)], existing: Existing) -> Result<Vec<PathBuf>, Error> {
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    // `symlink_metadata` sees a dangling link too.
    let taken = paths.iter().find(|path| path.symlink_metadata().is_ok());
    if let Some(path) = taken
        && existing == Existing::Keep
    {
        return Err(there_already(path));
    }
    let mut folders: Vec<&Path> = Vec::new();
    for (path, (_, bytes)) in paths.iter().zip(files) {
        let parent = path.parent().unwrap_or(folder);
        fs::create_dir_all(parent).map_err(|error| Error::cannot("make", parent, &error))?;
        let mut temporary = tempfile::Builder::new()
            .prefix(".wattwain-")
            .tempfile_in(parent)
            .map_err(|error| Error::cannot("write in", parent, &error))?;
        temporary.write_all(bytes).map_err(|error| Error::cannot("write", path, &error))?;
        let_others_read(temporary.as_file());
        temporary.as_file().sync_all().map_err(|error| Error::cannot("write", path, &error))?;
        match existing {
            Existing::Replace => temporary.persist(path).map(drop),
            Existing::Keep => temporary.persist_noclobber(path).map(drop),
        }
        .map_err(|error| match error.error.kind() {
            ErrorKind::AlreadyExists => there_already(path),
            _ => Error::cannot("write", path, &error.error),
        })?;
        if !folders.contains(&parent) {
            folders.push(parent);
        }
    }
    for parent in folders {
        sync_folder(parent).map_err(|error| Error::cannot("write in", parent, &error))?;
    }
    Ok(paths)
}

/// Brings the names in a folder onto the disk, where the system can do that.
pub(crate) fn sync_folder(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

/// A temporary file is made for its owner alone; a finished one is for whoever may read the folder.
fn let_others_read(file: &File) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // A file system without permissions is no reason to fail.
        let _ = file.set_permissions(fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}

fn there_already(path: &Path) -> Error {
    Error::at(
        "the file is there already and is left as it is",
        path,
        "Give `--replace` to write over it where the command has that, name another folder, or move the file away",
    )
}
