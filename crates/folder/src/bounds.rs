//! Where a path may lead, links followed.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use crate::Error;

/// The folder that nothing leaves; or none, where a person named the path on the command line.
#[derive(Clone, Debug)]
pub enum Bounds {
    /// Any path is as good as another.
    Anywhere,
    /// Only what stands below this folder, which is without links itself.
    Inside(PathBuf),
}

impl Bounds {
    /// The bounds of a folder that is there.
    pub fn of(folder: &Path) -> Result<Self, Error> {
        let real = folder.canonicalize().map_err(|error| Error::cannot("read", folder, &error))?;
        if real.is_dir() {
            Ok(Self::Inside(real))
        } else {
            Err(Error::at("this is not a folder", folder, "Name the folder that holds `intent.toml`"))
        }
    }

    /// Where `path` really stands, or the error that it leads outside. What is not there stands nowhere, so its
    /// nearest folder that is there is asked instead.
    pub fn real(&self, path: &Path) -> Result<PathBuf, Error> {
        let Self::Inside(root) = self else { return Ok(path.to_path_buf()) };
        let outside = |to: &Path| {
            Error::whole_file(
                format!("this leads outside the folder, to {}", to.display()),
                path,
                "Put a copy inside the folder in place of the link or path",
            )
        };
        match path.canonicalize() {
            Ok(real) if real.starts_with(root) => Ok(real),
            Ok(real) => Err(outside(&real)),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                // A link to nothing would be followed when written.
                if path.symlink_metadata().is_ok() {
                    return Err(Error::whole_file(
                        "this is a link to nothing",
                        path,
                        "Take the link away, or put the file where it points",
                    ));
                }
                let (Some(parent), Some(name)) = (path.parent(), path.file_name()) else {
                    return Err(outside(path));
                };
                Ok(self.real(parent)?.join(name))
            }
            Err(error) => Err(Error::cannot("read", path, &error)),
        }
    }
}
