//! Case pages, `cases/<rule>.md`: each TOML block is a project that is derived, studied and judged.
//! A comment `# finds: <rule>` stands on the line of each cause; a block without one must be silent on the page's rule.

use model::{Project, SourceText, library};
use rules::{check, rule};

/// The TOML blocks of a page, with the line each begins at.
fn blocks(page: &str) -> Vec<(usize, String)> {
    let mut blocks = Vec::new();
    let mut open: Option<(usize, String)> = None;
    for (number, line) in page.lines().enumerate() {
        match (&mut open, line.trim_end()) {
            (None, "```toml") => open = Some((number + 1, String::new())),
            (Some(_), "```") => blocks.extend(open.take()),
            (Some((_, text)), line) => {
                text.push_str(line);
                text.push('\n');
            }
            (None, _) => {}
        }
    }
    blocks
}

/// Lines (from 1) at which the block says that the rule finds something.
fn marked(text: &str, id: &str) -> Vec<usize> {
    let mark = format!("# finds: {id}");
    text.lines()
        .enumerate()
        .filter(|(_, line)| line.trim_end().ends_with(&mark))
        .map(|(at, _)| at + 1)
        .collect()
}

/// Lines at which it does.
fn found(file: &str, text: &str, id: &str) -> Vec<usize> {
    let source = SourceText { name: file.to_owned(), text: text.to_owned() };
    let project = Project::read(source, library::builtin().clone())
        .unwrap_or_else(|problems| panic!("{file}: {problems:#?}"));
    let system = derive::derive(&project);
    let findings = check(&system, &network::study(&system), energy::study(&system, None).as_ref());
    let mut lines: Vec<usize> = findings
        .iter()
        .filter(|finding| finding.rule == id)
        .map(|finding| {
            let span = project
                .spans
                .nearest(&finding.intent)
                .unwrap_or_else(|| panic!("{file}: no span of {}", finding.intent));
            project.source.line_column(span.start).0
        })
        .collect();
    lines.sort_unstable();
    lines.dedup();
    lines
}

#[test]
fn every_case_page_finds_what_it_says_and_no_more() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/cases");
    let mut pages: Vec<_> =
        std::fs::read_dir(folder).expect("the folder").map(|entry| entry.expect("an entry").path()).collect();
    pages.sort();
    let mut wrong = Vec::new();
    for path in &pages {
        let id = path.file_stem().expect("a name").to_string_lossy().into_owned();
        assert!(rule(&id).is_some(), "{id} is no rule");
        let page = std::fs::read_to_string(path).expect("a page");
        let blocks = blocks(&page);
        let fires = blocks.iter().filter(|(_, text)| !marked(text, &id).is_empty()).count();
        assert!(
            fires > 0 && fires < blocks.len(),
            "{id}: a page has a block that is found and one that is silent"
        );
        for (line, text) in blocks {
            let (says, finds) = (marked(&text, &id), found(&format!("{id}.md"), &text, &id));
            if says != finds {
                wrong
                    .push(format!("{id}.md:{line}: says lines {says:?}, finds lines {finds:?} of the block"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
