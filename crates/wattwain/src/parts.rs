//! `parts`: the parts library, and a project's own parts with it.
//! Never: ranks parts; `derive` chooses.
//! Start at [`run`].

use model::{library, read};
use quantity::{Kilograms, Metres, Money, Written};
use serde_json::{Value, json};

use crate::answer::{Answer, Failure};
use crate::cli::PartsArgs;
use crate::show::{Screen, plural};

/// Lists them.
pub fn run(args: &PartsArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let own = args.project.as_ref().map(|path| folder::project(path)).transpose()?;
    let library = own.as_ref().map_or_else(|| library::builtin(), |project| &project.library);
    let facts = library.facts();
    if let Some(kind) = &args.kind
        && !model::Library::KEYS.contains(&kind.as_str())
    {
        let mend = match read::nearest(kind, model::Library::KEYS.iter().copied()) {
            Some(near) => format!("Did you mean `{near}`?"),
            None => format!("Known: {}", model::Library::KEYS.join(", ")),
        };
        return Err(Failure::plain(format!("there is no kind of part `{kind}`"), "--kind", mend));
    }
    let word = args.word.as_deref().unwrap_or_default().to_lowercase();
    let found: Vec<_> = facts
        .into_iter()
        .filter(|(kind, id, part)| {
            args.kind.as_ref().is_none_or(|wanted| wanted == kind)
                && (id.as_str().contains(&word) || part.title().to_lowercase().contains(&word))
        })
        .collect();
    if json {
        let parts: Vec<Value> = found
            .iter()
            .map(|(kind, id, part)| {
                json!({ "kind": kind, "id": id, "title": part.title(), "price": part.price(), "mass": part.mass(), "size": part.size() })
            })
            .collect();
        return Answer::json(&json!({ "parts": parts }));
    }
    let count = found.len();
    let rows = found.iter().map(|(kind, id, part)| {
        vec![
            (*kind).to_owned(),
            id.to_string(),
            part.title().to_owned(),
            price(part.price()),
            if part.mass() > Kilograms::zero() { part.mass().to_string() } else { String::new() },
            part.size()
                .iter()
                .map(|side: &Metres| format!("{:.0}", side.get() * 1000.0))
                .collect::<Vec<_>>()
                .join(" x "),
        ]
    });
    let table = screen.table(&["!kind", "!id", "title", ">price", ">mass", ">mm"], rows);
    Ok(Answer::text(format!("{table}\n\n{count} {}.", plural(count, "part", "parts"))))
}

fn price((low, high): (Money, Money)) -> String {
    if low == high { low.show() } else { format!("{} to {}", low.show(), high.show()) }
}
