//! `sources`: every row of every table, with where it comes from and how well it is known.
//! Never: leaves a row out; what is known from memory is a list of debts.
//! Start at [`run`].

use reference::{Provenance, Reference, SourceRow};
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::SourcesArgs;
use crate::show::Screen;

/// Lists them.
pub fn run(args: &SourcesArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let reference = Reference::standard();
    let word = args.word.as_deref().unwrap_or_default().to_lowercase();
    let has_word = |row: &SourceRow| {
        [&row.table, &row.what, &row.row, &row.value, row.source]
            .iter()
            .any(|text: &&str| text.to_lowercase().contains(&word))
    };
    let rows: Vec<SourceRow> = reference
        .all_rows()
        .into_iter()
        .filter(|row| !args.memory || row.provenance == Provenance::Memory)
        .filter(has_word)
        .collect();
    let count = |provenance| rows.iter().filter(|row| row.provenance == provenance).count();
    let (published, computed, memory) =
        (count(Provenance::Published), count(Provenance::Computed), count(Provenance::Memory));
    let used =
        reference.sources().iter().filter(|(key, _)| rows.iter().any(|row| row.source == key.as_str()));
    if json {
        return Answer::json(&json!({
            "counts": { "published": published, "computed": computed, "memory": memory },
            "sources": used.collect::<std::collections::BTreeMap<_, _>>(),
            "rows": rows,
        }));
    }
    let documents = screen.table(
        &["key", "document", "edition", "in hand"],
        used.map(|(key, source)| {
            vec![
                key.clone(),
                format!("{}: {}", source.body, source.title),
                source.edition.clone(),
                source.read.clone(),
            ]
        }),
    );
    let mut text = format!("{}\n{documents}\n", screen.heading("Documents"));
    let mut table = "";
    for row in &rows {
        if row.table != table {
            table = &row.table;
            text.push_str(&format!("\n{}  {}\n", screen.heading(&row.table), row.what));
        }
        let value = if row.value == row.row { String::new() } else { format!(": {}", row.value) };
        text.push_str(&format!("  {}{value}  [{}, {}]\n", row.row, row.source, row.provenance));
        if let Some(note) = &row.note {
            text.push_str(&screen.quiet(&screen.wrapped(note, "      ")));
            text.push('\n');
        }
    }
    text.push_str(&format!(
        "\n{} rows: {published} published, {computed} computed, {memory} from memory.",
        rows.len()
    ));
    Ok(Answer::text(text))
}
