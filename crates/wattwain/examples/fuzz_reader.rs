//! Throws mutated projects, parts and itineraries at the readers, derivation, energy study and rules: bytes, lines and words of the
//! examples, changed by a seeded generator.
//! Never: depends on a clock for what it tries; the same seed tries the same inputs in the same order.
//! Start at `main`: `cargo run --release -p wattwain --example fuzz_reader -- --seconds 60 [--seed N] [--folder examples]`.
//!
//! A panic ends it with exit code 1, prints the input and the seed with which it comes back. What is read must also hold together:
//! a project that is given has no problem, and every problem names a line of the file.

#![allow(clippy::print_stdout, clippy::print_stderr, clippy::unwrap_used)] // a tool for developers

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use model::{Library, Project, SourceText, library};

/// Largest input made; the reader's own limit is tried by a test.
const LARGEST: usize = 60_000;

fn main() {
    let options = Options::read();
    let corpus = corpus(&options.folder);
    println!("{} texts to start from, seed {}", corpus.len(), options.seed);
    let mut random = Random(options.seed);
    let end = Instant::now() + Duration::from_secs(options.seconds);
    let (mut tried, mut read) = (0_u64, 0_u64);
    // The panic is told once, with its input, below.
    std::panic::set_hook(Box::new(|_| {}));
    while Instant::now() < end {
        // Each input has a seed of its own, so that it can be made again alone.
        let seed = random.next();
        let text = input(&corpus, seed);
        tried += 1;
        match catch_unwind(AssertUnwindSafe(|| holds(&text, seed))) {
            Ok(Ok(is_read)) => read += u64::from(is_read),
            Ok(Err(what)) => fail(&what, seed, &text),
            Err(panic) => fail(&said(panic.as_ref()), seed, &text),
        }
    }
    println!("{tried} inputs tried, {read} of them readable, no panic");
    // Mutations that all fail at the first line would try nothing.
    if tried > 1000 && read == 0 {
        eprintln!("nothing was readable: the mutations are too wild to try what comes after reading");
        std::process::exit(1);
    }
}

/// One readable project in so many has its energy studied, which takes ten times as long as all the rest.
const STUDIED: u64 = 10;

/// Reads the text as a project, as parts, as an itinerary and as weather; whether it was a project.
fn holds(text: &[u8], seed: u64) -> Result<bool, String> {
    if let Err(problems) = energy::trip::read("trip", text) {
        located(&problems, None)?;
    }
    if let Err(problems) = energy::weather::read("weather", text) {
        located(&problems, None)?;
    }
    let source = match model::read::text_from_bytes("intent.toml", text.to_vec()) {
        Ok(source) => source,
        Err(problem) => return located(&[*problem], None).map(|()| false),
    };
    let parts = Library::read_all(std::slice::from_ref(&source));
    if let Err(problems) = parts {
        located(&problems, Some(&source))?;
    }
    match Project::read(source.clone(), library::builtin().clone()) {
        Ok(project) => {
            // A change of the text must keep it readable or say why not.
            if let Err(problems) = project.with_edits(&[model::Edit::set("brief.name", "Changed \"name\"")]) {
                return Err(format!("a new name makes it unreadable: {problems:?}"));
            }
            let system = derive::derive(&project);
            if seed.is_multiple_of(STUDIED)
                && let Some(study) = energy::study(&system, None)
            {
                let gap = study.year.total.gap().max(study.years.books_gap);
                if gap.is_nan() || gap > 1e-9 {
                    return Err(format!("the books of its energy are open by {gap:e}"));
                }
            }
            rules::check(&system, &network::study(&system), None);
            let diagram = drawing::one_line(&system);
            // A title may well say NaN; a coordinate may not.
            let is_odd = |word: &&str| diagram.contains(*word) && !source.text.contains(*word);
            if let Some(word) = ["NaN", "inf"].into_iter().find(is_odd) {
                return Err(format!("the diagram says {word}"));
            }
            Ok(true)
        }
        Err(problems) => located(&problems, Some(&source)).map(|()| false),
    }
}

fn located(problems: &[model::Problem], source: Option<&SourceText>) -> Result<(), String> {
    if problems.is_empty() {
        return Err("it is refused without a problem".to_owned());
    }
    for problem in problems {
        let lines = source.map_or(usize::MAX, |source| source.text.matches('\n').count() + 1);
        if problem.line == 0 || problem.line > lines || problem.column == 0 {
            return Err(format!("a problem stands at no place: {problem:?}"));
        }
        if problem.message.is_empty() || problem.mend.is_empty() {
            return Err(format!("a problem without message or mend: {problem:?}"));
        }
    }
    Ok(())
}

fn fail(what: &str, seed: u64, text: &[u8]) -> ! {
    eprintln!(
        "input {seed}: {what}\n--- input, {} bytes\n{}\n---",
        text.len(),
        String::from_utf8_lossy(text)
    );
    std::process::exit(1);
}

fn said(panic: &(dyn std::any::Any + Send)) -> String {
    let text = panic.downcast_ref::<String>().map(String::as_str);
    format!("panic: {}", text.or(panic.downcast_ref::<&str>().copied()).unwrap_or("without words"))
}

/// One mutated text.
fn input(corpus: &[Vec<u8>], seed: u64) -> Vec<u8> {
    let mut random = Random(seed);
    let mut text = random.pick(corpus).cloned().unwrap_or_default();
    for _ in 0..=random.below(5) {
        mutate(&mut text, corpus, &mut random);
    }
    text.truncate(LARGEST);
    text
}

/// Words that trouble readers.
const WORDS: &[&str] = &[
    "\"NaN V\"",
    "\"1e308 V\"",
    "\"-3 m\"",
    "\"0 Ah\"",
    "\"inf A\"",
    "nan",
    "-inf",
    "1e999",
    "1000000000",
    "-1",
    "0x7fffffff",
    "\"\"",
    "[]",
    "{}",
    "[[]]",
    "{ a = { a = { a = 1 } } }",
    "\"\\u0000\"",
    "\"\u{202e}12 V\"",
    "'''",
    "\"\"\"",
    "1979-05-27",
    "true",
    "\"5 ft 300 in\"",
    "\"2/0 AWG\"",
    "\"99/0 AWG\"",
    "\"35 mm²\"",
    "\"1/4 in\"",
    "\"100 %\"",
    "\"999999999999999999999999 W\"",
    "\"1e-320 Ω\"",
    "\"٣ V\"",
    "\"self\"",
];

fn mutate(text: &mut Vec<u8>, corpus: &[Vec<u8>], random: &mut Random) {
    let length = text.len();
    let at = random.below(length as u64 + 1) as usize;
    match random.below(20) {
        // A byte.
        0 if length > 0 => text[at.min(length - 1)] = random.next() as u8,
        1 => text.insert(at, *b"\"[]{}=.,#\n\\'-e0\xc2\xff".get(random.below(17) as usize).unwrap_or(&b'0')),
        // Cut off, or a piece out.
        2 if random.below(4) == 0 => text.truncate(at),
        3 => drop(text.drain(at..(at + random.below(40) as usize).min(length))),
        // Lines: out, twice, or from elsewhere.
        4 => {
            lines(text, |lines, random| drop(lines.remove(random.below(lines.len() as u64) as usize)), random)
        }
        5 => lines(
            text,
            |lines, random| {
                let line = lines[random.below(lines.len() as u64) as usize].clone();
                lines.insert(random.below(lines.len() as u64) as usize, line);
            },
            random,
        ),
        6 => {
            let other = random.pick(corpus).cloned().unwrap_or_default();
            let other: Vec<&[u8]> = other.split(|byte| *byte == b'\n').collect();
            let line = random.pick(&other).map(|line| line.to_vec()).unwrap_or_default();
            lines(
                text,
                |lines, random| lines.insert(random.below(lines.len() as u64) as usize, line),
                random,
            );
        }
        // A digit: what is still a number, and often still a project, but another one.
        10..=15 => {
            let digits: Vec<usize> = (0..length).filter(|ix| text[*ix].is_ascii_digit()).collect();
            if let Some(ix) = random.pick(&digits) {
                text[*ix] = b'0' + random.below(10) as u8;
            }
        }
        // The same key's value from elsewhere: mostly still a project, with other parts and kinds.
        16..=18 => {
            let other = random.pick(corpus).cloned().unwrap_or_default();
            let key = |line: &[u8]| line.split(|byte| *byte == b'=').next().unwrap_or_default().to_vec();
            let other: Vec<&[u8]> =
                other.split(|byte| *byte == b'\n').filter(|line| line.contains(&b'=')).collect();
            let line = random.pick(&other).map(|line| line.to_vec()).unwrap_or_default();
            let change = |lines: &mut Vec<Vec<u8>>, random: &mut Random| {
                let same: Vec<usize> = (0..lines.len())
                    .filter(|ix| lines[*ix].contains(&b'=') && key(&lines[*ix]) == key(&line))
                    .collect();
                if let Some(ix) = random.pick(&same) {
                    lines[*ix] = line.clone();
                }
            };
            lines(text, change, random);
        }
        // The value of a line.
        _ => lines(
            text,
            |lines, random| {
                let with_value: Vec<usize> =
                    (0..lines.len()).filter(|ix| lines[*ix].contains(&b'=')).collect();
                let Some(ix) = random.pick(&with_value) else { return };
                let key = lines[*ix].split(|byte| *byte == b'=').next().unwrap_or_default().to_vec();
                let value = random.pick(WORDS).map_or("", |word| word);
                lines[*ix] = [&key, b"= ".as_slice(), value.as_bytes()].concat();
            },
            random,
        ),
    }
}

fn lines(text: &mut Vec<u8>, change: impl FnOnce(&mut Vec<Vec<u8>>, &mut Random), random: &mut Random) {
    let mut lines: Vec<Vec<u8>> = text.split(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    change(&mut lines, random);
    *text = lines.join(&b'\n');
}

/// SplitMix64: small, seeded, the same on every computer.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }
    /// From 0 to below `end`; 0 for an end of 0.
    fn below(&mut self, end: u64) -> u64 {
        self.next() % end.max(1)
    }
    fn pick<'p, T>(&mut self, from: &'p [T]) -> Option<&'p T> {
        from.get(self.below(from.len() as u64) as usize)
    }
}

/// Every TOML file of the folder and below, and the built-in parts.
fn corpus(folder: &Path) -> Vec<Vec<u8>> {
    let mut files: Vec<PathBuf> = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "toml" || extension == "gpx") {
                files.push(path);
            }
        }
    }
    files.sort();
    let mut corpus: Vec<Vec<u8>> = files.iter().filter_map(|file| std::fs::read(file).ok()).collect();
    assert!(!corpus.is_empty(), "no TOML file below {}", folder.display());
    corpus.push(
        library::builtin_sources().first().map(|source| source.text.clone().into_bytes()).unwrap_or_default(),
    );
    corpus
}

struct Options {
    seconds: u64,
    seed: u64,
    folder: PathBuf,
}

impl Options {
    fn read() -> Self {
        let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
        let mut options = Self { seconds: 60, seed: 1, folder: examples };
        let mut words = std::env::args().skip(1);
        while let Some(word) = words.next() {
            let value = words.next().unwrap_or_default();
            match word.as_str() {
                "--seconds" => options.seconds = value.parse().unwrap(),
                "--seed" => options.seed = value.parse().unwrap(),
                "--folder" => options.folder = PathBuf::from(value),
                other => panic!("`{other}` is not an option; known: --seconds, --seed, --folder"),
            }
        }
        options
    }
}
