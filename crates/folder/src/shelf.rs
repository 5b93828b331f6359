//! What a person opens: one project, or a folder of projects, each with its variants.
//! Never: makes a path of a key; a key is looked up among what is there. Nothing leaves the folder, links followed.
//! Start at [`Shelf::open`].

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use model::{Project, SourceText};
use serde::Serialize;

use crate::bounds::Bounds;
use crate::read::{INTENT, bytes_within, parts_files, text_within};
use crate::safe_name::{SafeName, key_of, safe_name};
use crate::write::{Existing, sync_folder, write};
use crate::{Error, Store};

/// The folder of a project's variants.
pub(crate) const VARIANTS: &str = "variants";

/// Projects that are listed at most.
const MOST_LISTED: usize = 1000;

/// A folder that is a project or holds projects.
#[derive(Clone, Debug)]
pub struct Shelf {
    folder: PathBuf,
    bounds: Bounds,
    is_project: bool,
}

/// One project of a shelf.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Listed {
    /// What it is called in an address: letters, digits and `-._~`; a variant is `PROJECT~VARIANT`. It stays the same as
    /// long as the folders keep their names.
    pub key: String,
    /// Its folder.
    #[serde(skip)]
    pub folder: PathBuf,
    /// The name of its folder.
    pub name: String,
    /// The key of the project that it is a variant of.
    pub variant_of: Option<String>,
}

/// A project that was made.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Begun {
    /// Its key.
    pub key: String,
    /// Its folder.
    pub folder: PathBuf,
    /// Why its folder has another name than was given.
    pub note: Option<String>,
}

impl Shelf {
    /// Opens a folder: a project if it has an intent.toml, else a folder whose subfolders with one are projects.
    ///
    /// Errors: no folder.
    pub fn open(path: &Path) -> Result<Self, Error> {
        let bounds = Bounds::of(path)?;
        // The name of `.` and `..` is that of the real folder.
        let folder = match &bounds {
            Bounds::Inside(real) if path.file_name().is_none() => real.clone(),
            _ => path.to_path_buf(),
        };
        let is_project = folder.join(INTENT).symlink_metadata().is_ok();
        Ok(Self { folder, bounds, is_project })
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Whether the folder is itself a project; what is begun in it is then a variant.
    pub fn is_project(&self) -> bool {
        self.is_project
    }

    /// Its projects by name, each followed by its variants. Folders that lead outside are left out.
    ///
    /// Errors: a folder that cannot be read.
    pub fn projects(&self) -> Result<Vec<Listed>, Error> {
        let folders =
            if self.is_project { vec![self.folder.clone()] } else { self.projects_in(&self.folder)? };
        let mut listed = Vec::new();
        for folder in folders {
            let key = key_of(&folder);
            let variants = folder.join(VARIANTS);
            let variants = if variants.is_dir() && self.bounds.real(&variants).is_ok() {
                self.projects_in(&variants)?
            } else {
                Vec::new()
            };
            listed.push(Listed { key: key.clone(), name: name_of(&folder), folder, variant_of: None });
            listed.extend(variants.into_iter().map(|folder| Listed {
                key: format!("{key}~{}", key_of(&folder)),
                name: name_of(&folder),
                folder,
                variant_of: Some(key.clone()),
            }));
            if listed.len() >= MOST_LISTED {
                break;
            }
        }
        Ok(listed)
    }

    /// The subfolders with an intent.toml, by name.
    fn projects_in(&self, folder: &Path) -> Result<Vec<PathBuf>, Error> {
        let entries = fs::read_dir(folder).map_err(|error| Error::cannot("read", folder, &error))?;
        let mut found = Vec::new();
        for entry in entries {
            let path = entry.map_err(|error| Error::cannot("read", folder, &error))?.path();
            let is_hidden = name_of(&path).starts_with('.');
            let has_intent = path.join(INTENT).symlink_metadata().is_ok();
            if !is_hidden && has_intent && self.bounds.real(&path).is_ok() {
                found.push(path);
            }
        }
        found.sort();
        Ok(found)
    }

    /// The project of a key.
    ///
    /// Errors: a key that none has.
    pub fn find(&self, key: &str) -> Result<Listed, Error> {
        let listed = self.projects()?;
        match listed.iter().find(|listed| listed.key == key) {
            Some(found) => Ok(found.clone()),
            None => {
                let near = model::read::nearest(key, listed.iter().map(|listed| listed.key.as_str()));
                let mend = match near {
                    Some(near) => format!("Did you mean `{near}`?"),
                    None => "Choose one of those that are listed".to_owned(),
                };
                Err(Error::plain("no project here has this key", shown(key), mend))
            }
        }
    }

    /// Opens a project for editing; nothing that it reads leaves the shelf.
    ///
    /// Errors: a key that none has, and those of [`Store::open`].
    pub fn store(&self, key: &str) -> Result<Store, Error> {
        Store::open_within(&self.find(key)?.folder, self.bounds.clone())
    }

    /// Reads a project as it stands on the disk; nothing that it reads leaves the shelf.
    ///
    /// Errors: a key that none has, every mistake in the files with its line, a path that leads outside.
    pub fn project(&self, key: &str) -> Result<Project, Error> {
        let folder = self.find(key)?.folder;
        let source = text_within(&folder.join(INTENT), &self.bounds)?;
        crate::read::project_of(source, &folder, &self.bounds)
    }

    /// Makes a project of the text of its intent.toml, in a new subfolder; where the shelf is a project, a variant of it.
    ///
    /// Errors: a name that cannot be a folder's; a folder that cannot be written in.
    pub fn begin(&self, name: &str, text: &str) -> Result<Begun, Error> {
        let name = safe_name(name)?;
        if self.is_project {
            let variants = self.folder.join(VARIANTS);
            return self.make(&variants, Some(&key_of(&self.folder)), name, &[], text);
        }
        self.make(&self.folder, None, name, &[], text)
    }

    /// Copies a project as a new variant of it: intent, own parts and weather, without history, readings and ticks.
    ///
    /// A copy of a variant is a variant of the same project.
    /// Errors: as for [`Shelf::begin`]; files of the project that cannot be read or lead outside.
    pub fn copy(&self, key: &str, name: &str) -> Result<Begun, Error> {
        let name = safe_name(name)?;
        let from = self.find(key)?;
        let (main, main_key) = match &from.variant_of {
            Some(main) => (self.find(main)?.folder, main.clone()),
            None => (from.folder.clone(), from.key.clone()),
        };
        let source = text_within(&from.folder.join(INTENT), &self.bounds)?;
        let mut files = Vec::new();
        for path in parts_files(&from.folder, &self.bounds)? {
            let inside = path.strip_prefix(&from.folder).unwrap_or(&path).display().to_string();
            files.push((inside, bytes_within(&path, model::read::LARGEST_FILE, &self.bounds)?));
        }
        let schema = from.folder.join("intent.schema.json");
        if schema.is_file() {
            let bytes = bytes_within(&schema, model::read::LARGEST_FILE, &self.bounds)?;
            files.push(("intent.schema.json".to_owned(), bytes));
        }
        let mut text = source.text.clone();
        if let Some((written, here)) = weather_file(&source) {
            let path = from.folder.join(&written);
            let bytes = bytes_within(&path, energy::weather::LARGEST_FILE, &self.bounds)?;
            files.push((here.clone(), bytes));
            if here != written {
                text = with_weather_file(&text, &here).unwrap_or(text);
            }
        }
        self.make(&main.join(VARIANTS), Some(&main_key), name, &files, &text)
    }

    /// Makes a folder; intent.toml comes last, so that a half-made folder is no project.
    fn make(
        &self,
        parent: &Path,
        main: Option<&str>,
        name: SafeName,
        files: &[(String, Vec<u8>)],
        text: &str,
    ) -> Result<Begun, Error> {
        self.bounds.real(parent)?;
        fs::create_dir_all(parent).map_err(|error| Error::cannot("make", parent, &error))?;
        let (folder, note) = free_folder(parent, name)?;
        let done = write(&folder, files, Existing::Keep)
            .and_then(|_| write(&folder, &[(INTENT.to_owned(), text.as_bytes().to_vec())], Existing::Keep))
            .and_then(|_| sync_folder(parent).map_err(|error| Error::cannot("write in", parent, &error)));
        if let Err(error) = done {
            // It was made here a moment ago, and nobody has seen it.
            let _ = fs::remove_dir_all(&folder);
            return Err(error);
        }
        let key = match main {
            Some(main) => format!("{main}~{}", key_of(&folder)),
            None => key_of(&folder),
        };
        Ok(Begun { key, folder, note })
    }
}

/// Makes a folder of this name, or of the next free one. Names that differ in case only are one name on some systems.
fn free_folder(parent: &Path, name: SafeName) -> Result<(PathBuf, Option<String>), Error> {
    let SafeName { name, mut note } = name;
    let entries = fs::read_dir(parent).map_err(|error| Error::cannot("read", parent, &error))?;
    let taken: Vec<String> =
        entries.filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().to_lowercase())).collect();
    for count in 1..10_000 {
        let tried = if count == 1 { name.clone() } else { format!("{name}-{count}") };
        if taken.contains(&tried.to_lowercase()) {
            continue;
        }
        let folder = parent.join(&tried);
        match fs::create_dir(&folder) {
            Ok(()) => {
                if count > 1 {
                    note = Some(format!("`{name}` is there already, so the folder is `{tried}`"));
                }
                return Ok((folder, note));
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(Error::cannot("make", &folder, &error)),
        }
    }
    Err(Error::plain("there are too many folders of this name", name, "Choose another name"))
}

/// The weather file that an intent names, and the name of its copy; absolute paths stay as they are.
fn weather_file(source: &SourceText) -> Option<(String, String)> {
    let document: toml_edit::DocumentMut = source.text.parse().ok()?;
    let written = document.get("weather")?.get("file")?.as_str()?.to_owned();
    let path = Path::new(&written);
    let is_plain = path.components().all(|part| matches!(part, std::path::Component::Normal(_)));
    let here = if is_plain { written.clone() } else { name_of(path) };
    // What is made by this program does not become weather.
    let is_taken = here.is_empty() || here == INTENT || here.starts_with('.');
    (!is_taken).then_some((written, here))
}

fn with_weather_file(text: &str, file: &str) -> Option<String> {
    let mut document: toml_edit::DocumentMut = text.parse().ok()?;
    let old = document.get_mut("weather")?.get_mut("file")?.as_value_mut()?;
    let decor = old.decor().clone();
    *old = toml_edit::Value::from(file);
    *old.decor_mut() = decor;
    Some(document.to_string())
}

fn name_of(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// A text from outside, short enough for a message.
fn shown(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).take(80).collect()
}
