//! The parts compiled into the program: the files of `parts/`, read once and laid together.
//! Never: reads a file at run time, lets one part hide another of the same kind and id.
//! Start at [`builtin`]; a project lays its own parts over it with [`Library::merge`].

use std::collections::BTreeSet;
use std::sync::LazyLock;

use crate::read::read_text;
use crate::{Library, Name, Problem, Reading, SourceText, ranges};

macro_rules! files {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../../parts/", $name)))),*]
    };
}

const FILES: &[(&str, &str)] = files![
    "ac.toml",
    "batteries.toml",
    "cable.toml",
    "chargers.toml",
    "converters.toml",
    "distribution.toml",
    "engine.toml",
    "inverters.toml",
    "loads.toml",
    "protection.toml",
    "solar.toml",
    "terminals.toml",
];

static SOURCES: LazyLock<Vec<SourceText>> = LazyLock::new(|| {
    let source =
        |(name, text): &(&str, &str)| SourceText { name: format!("parts/{name}"), text: (*text).to_owned() };
    FILES.iter().map(source).collect()
});

static BUILTIN: LazyLock<Library> = LazyLock::new(|| match Library::read_all(&SOURCES) {
    Ok(library) => library,
    // The files are compiled in and a test reads them all, so this cannot be reached in a build whose tests pass.
    Err(problems) => {
        let first = problems.first().map_or(String::new(), |problem| {
            format!("{}:{}: {}", problem.file, problem.line, problem.message)
        });
        panic!("the compiled-in parts are broken: {first}")
    }
});

/// Every part compiled into the program.
pub fn builtin() -> &'static Library {
    &BUILTIN
}

/// The files that [`builtin`] is read from, by name.
pub fn builtin_sources() -> &'static [SourceText] {
    &SOURCES
}

impl Library {
    /// Reads one parts file.
    pub fn read(source: &SourceText) -> Reading<Library> {
        read_text(source)
    }

    /// Reads several parts files as one library.
    ///
    /// # Errors
    /// Everything wrong in any of them; a part of the same kind and id in two files is wrong too, at the later one.
    pub fn read_all(sources: &[SourceText]) -> Result<Library, Vec<Problem>> {
        let mut library = Library::empty();
        let mut problems = Vec::new();
        let mut seen: BTreeSet<(&'static str, Name)> = BTreeSet::new();
        for source in sources {
            let reading = Library::read(source);
            problems.extend(reading.problems);
            let Some(read) = reading.value else { continue };
            problems.extend(ranges::check(&read, ranges::PARTS, &reading.spans, source));
            for (kind, id, _) in read.facts() {
                if seen.insert((kind, id.clone())) {
                    continue;
                }
                let field = format!("{kind}.{id}");
                let span = reading.spans.nearest(&field).unwrap_or(0..0);
                let (line, column) = source.line_column(span.start);
                problems.push(Problem {
                    message: format!(
                        "the {} `{id}` stands in another parts file too",
                        kind.replace('_', " ")
                    ),
                    file: source.name.clone(),
                    field,
                    span,
                    line,
                    column,
                    mend: "Give one of the two another name, or drop one".to_owned(),
                });
            }
            library.merge(read);
        }
        if problems.is_empty() { Ok(library) } else { Err(problems) }
    }
}
