//! Examples of the repository with all that a booklet is made of, and readers of PDF from outside (poppler).
//! Never: looks into a PDF itself.
//! Start at [`Made::example`] and [`Pdf::of`].
// Each test file uses its own part; these helpers run in tests only, where a panic is the failure.
#![allow(dead_code, clippy::unwrap_used)]

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};

use model::{Library, Project, SourceText, System};
use network::Results;
use pack::{BuildOrder, Inputs, OutFile, Pack, Summary, Table};

pub const EXAMPLES: [&str; 5] = ["faulty", "heron", "marten", "teal", "wren"];

/// An example, derived, studied and judged.
pub struct Made {
    pub system: System,
    pub library: Library,
    pub results: Results,
    pub study: Option<energy::Study>,
    pub findings: Vec<rules::Finding>,
    pub alternatives: Vec<model::Alternative>,
    pub diagram: String,
    pub layout: Option<board::Layout>,
    pub vehicle: Option<board::Vehicle>,
}

impl Made {
    pub fn example(name: &str) -> Self {
        Self::text(Self::written(name))
    }

    /// The text of an example's intent.toml.
    pub fn written(name: &str) -> String {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name).join("intent.toml");
        std::fs::read_to_string(&path).unwrap()
    }

    pub fn text(text: String) -> Self {
        let source = SourceText { name: "intent.toml".to_owned(), text };
        let project = Project::read(source, model::library::builtin().clone())
            .unwrap_or_else(|problems| panic!("{problems:#?}"));
        let derived = board::derived(&project);
        let layout = derived.proposed(&project);
        let vehicle = board::Vehicle::of(&project, &derived.system);
        let system = derived.system;
        let results = network::study(&system);
        let study = energy::study(&system, None);
        let findings = rules::check(&system, &results, study.as_ref());
        Self {
            alternatives: derive::alternatives(&project, &system),
            diagram: drawing::one_line(&system),
            library: project.library,
            system,
            results,
            study,
            findings,
            layout,
            vehicle,
        }
    }

    pub fn inputs(&self) -> Inputs<'_> {
        Inputs {
            system: &self.system,
            library: &self.library,
            results: &self.results,
            study: self.study.as_ref(),
            findings: &self.findings,
            questions: &[],
            alternatives: &self.alternatives,
            one_line: &self.diagram,
            layout: self.layout.as_ref(),
            vehicle: self.vehicle.as_ref(),
            labelling: None,
        }
    }

    pub fn files(&self) -> Vec<OutFile> {
        Pack::of(&self.inputs()).unwrap().files
    }

    /// Summary, tables and build order, as the booklet takes them.
    pub fn content(&self) -> (Summary, Vec<Table>, BuildOrder) {
        let summary = Summary::of(&self.inputs());
        let order = pack::build_order(&self.system, &self.results, self.layout.as_ref());
        let tables = summary.schedules.as_ref().map(|rows| pack::tables(rows, &order)).unwrap_or_default();
        (summary, tables, order)
    }

    pub fn expected(&self) -> Vec<prove::Expected> {
        prove::expected(&self.system, &self.results, self.study.as_ref())
    }

    pub fn booklet(&self, name: &str) -> Vec<u8> {
        booklet::paper(name, &self.inputs(), &self.files(), None).unwrap().unwrap()
    }
}

/// A PDF on disk, for readers from outside.
pub struct Pdf {
    folder: PathBuf,
}

impl Drop for Pdf {
    fn drop(&mut self) {
        // What is left behind in the folder for passing things does no harm.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// A word and its box on a page [mm].
#[derive(Clone, Debug)]
pub struct Word {
    pub page: usize,
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
    pub text: String,
}

/// A page as grey pixels.
pub struct Grey {
    pub width: usize,
    pub height: usize,
    pub pixels: Vec<u8>,
}

impl Grey {
    pub fn is_dark(&self, x: usize, y: usize) -> bool {
        self.pixels[y * self.width + x] < 128
    }
}

impl Pdf {
    pub fn of(bytes: &[u8]) -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let folder = std::env::temp_dir().join(format!("booklet-{}-{count}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("a.pdf"), bytes).unwrap();
        Self { folder }
    }

    fn run(&self, program: &str, options: &[&str], last: &[&str]) -> Vec<u8> {
        let output = Command::new(program)
            .current_dir(&self.folder)
            .args(options)
            .arg("a.pdf")
            .args(last)
            .output()
            .unwrap_or_else(|error| panic!("{program} (of poppler-utils) cannot be run: {error}"));
        // The reader takes exception to a key of tagged files that the standard has (ISO 32000-1, table 321).
        let said = String::from_utf8_lossy(&output.stderr)
            .replace("Syntax Error: Suspects object is wrong type (boolean)\n", "");
        assert!(output.status.success() && said.is_empty(), "{program}: {said}");
        output.stdout
    }

    /// All text in the order of its setting.
    pub fn raw(&self) -> String {
        String::from_utf8(self.run("pdftotext", &["-raw"], &["-"])).unwrap()
    }

    pub fn info(&self) -> String {
        String::from_utf8(self.run("pdfinfo", &["-f", "1", "-l", "9999"], &[])).unwrap()
    }

    pub fn pages(&self) -> usize {
        let info = self.info();
        let line = info.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap();
        line.trim().parse().unwrap()
    }

    /// Width and height of each page [mm].
    pub fn sizes(&self) -> Vec<(f64, f64)> {
        let info = self.info();
        let lines = info.lines().filter(|line| line.starts_with("Page ") && line.contains(" size:"));
        let size = |line: &str| {
            let numbers: Vec<f64> = line
                .split("size:")
                .nth(1)
                .unwrap()
                .split_whitespace()
                .filter_map(|word| word.parse().ok())
                .collect();
            (numbers[0] * 25.4 / 72.0, numbers[1] * 25.4 / 72.0)
        };
        lines.map(size).collect()
    }

    /// Bookmarks, in order.
    pub fn bookmarks(&self) -> Vec<String> {
        let xml = String::from_utf8(self.run("pdftohtml", &["-xml", "-i", "-stdout"], &[])).unwrap();
        xml.split("<item page=")
            .skip(1)
            .map(|item| item.split('>').nth(1).unwrap().split('<').next().unwrap().to_owned())
            .collect()
    }

    pub fn words(&self) -> Vec<Word> {
        // The reader cuts a title off within a letter.
        let html = String::from_utf8_lossy(&self.run("pdftotext", &["-bbox"], &["-"])).into_owned();
        let mut page = 0;
        let mut words = Vec::new();
        for line in html.lines().map(str::trim) {
            if line.starts_with("<page") {
                page += 1;
            }
            let Some(rest) = line.strip_prefix("<word ") else { continue };
            let number = |name: &str| -> f64 {
                let after = rest.split(&format!("{name}=\"")).nth(1).unwrap();
                after.split('"').next().unwrap().parse::<f64>().unwrap() * 25.4 / 72.0
            };
            let text = rest.split('>').nth(1).unwrap_or_default().split('<').next().unwrap().to_owned();
            words.push(Word {
                page,
                left: number("xMin"),
                top: number("yMin"),
                right: number("xMax"),
                bottom: number("yMax"),
                text,
            });
        }
        words
    }

    /// Each page as pixels, at so many to the inch.
    pub fn grey(&self, dpi: u32, first: usize, last: usize) -> Vec<Grey> {
        let (dpi, first, last) = (dpi.to_string(), first.to_string(), last.to_string());
        self.run("pdftoppm", &["-gray", "-r", &dpi, "-f", &first, "-l", &last], &["p"]);
        let mut names: Vec<_> = std::fs::read_dir(&self.folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "pgm"))
            .collect();
        names.sort();
        let read = |path: std::path::PathBuf| {
            let bytes = std::fs::read(&path).unwrap();
            std::fs::remove_file(&path).unwrap();
            // P5, width, height, 255, then the pixels behind one white letter.
            let mut fields = Vec::new();
            let mut at = 0;
            while fields.len() < 4 {
                let end = at + bytes[at..].iter().position(u8::is_ascii_whitespace).unwrap();
                fields.push(String::from_utf8(bytes[at..end].to_vec()).unwrap());
                at = end + 1;
            }
            assert_eq!(fields[0], "P5");
            let (width, height) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
            Grey { width, height, pixels: bytes[at..].to_vec() }
        };
        names.into_iter().map(read).collect()
    }
}

/// A text without white space and without places to break, for comparing what was set over several lines.
pub fn bare(text: &str) -> String {
    text.chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '\u{200B}' && *letter != '\u{AD}')
        .collect()
}
