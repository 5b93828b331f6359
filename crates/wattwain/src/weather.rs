//! The weather file of a project, read for the energy commands.
//! Never: takes another place's weather in silence; what was assumed is printed with the answer.
//! Start at [`of`].

use std::path::{Path, PathBuf};

use energy::weather::Series;
use model::{Project, SourceText};

use crate::answer::Failure;
use crate::files;

/// The series of `--weather`, else of `weather.file` in intent.toml beside it; `None` where neither names one.
pub fn of(project: &Project, at: &Path, said: Option<&Path>) -> Result<Option<Series>, Failure> {
    let folder =
        if at.is_dir() { at.to_path_buf() } else { at.parent().map(Path::to_path_buf).unwrap_or_default() };
    let written = project.intent.weather.as_ref().and_then(|weather| weather.file.as_ref());
    let path: PathBuf = match (said, written) {
        (Some(path), _) => path.to_path_buf(),
        (None, Some(file)) => folder.join(file),
        (None, None) => return Ok(None),
    };
    let name = path.display().to_string();
    let bytes = files::bytes(&path, energy::weather::LARGEST_FILE)?;
    match energy::weather::read(&name, &bytes) {
        Ok(series) => Ok(Some(series)),
        Err(problems) => {
            let text = energy::weather::text(&bytes).into_owned();
            Err(Failure::Located { problems, sources: vec![SourceText { name, text }] })
        }
    }
}
