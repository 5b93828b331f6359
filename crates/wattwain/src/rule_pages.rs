//! `rules`: the list of rules, or the page of one.
//! Never: judges.
//! Start at [`run`].

use model::read;
use serde_json::{Value, json};

use crate::answer::{Answer, Failure};
use crate::cli::RulesArgs;
use crate::show::Screen;

/// Lists them, or shows one.
pub fn run(args: &RulesArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let Some(name) = &args.name else {
        if json {
            return Answer::json(&json!({ "rules": rules::rules().iter().map(as_json).collect::<Vec<_>>() }));
        }
        let rows = rules::rules()
            .iter()
            .map(|rule| vec![rule.id.to_owned(), rule.severity.word().to_owned(), rule.title.to_owned()]);
        let table = screen.table(&["!rule", "!severity", "fault"], rows);
        let count = rules::rules().len();
        return Ok(Answer::text(format!(
            "{table}\n\n{count} rules. `wattwain rules NAME` shows the page of one."
        )));
    };
    let Some(rule) = rules::rule(name) else {
        let mend = match read::nearest(name, rules::rules().iter().map(|rule| rule.id)) {
            Some(near) => format!("Did you mean `{near}`?"),
            None => "Leave the name out to list them all".to_owned(),
        };
        return Err(Failure::plain(format!("there is no rule `{name}`"), "", mend));
    };
    if json {
        return Answer::json(&as_json(rule));
    }
    let mut page = format!(
        "{}\n{}: {}\n\n{}",
        screen.heading(rule.id),
        rule.severity.word(),
        rule.title,
        rule.page().trim_end()
    );
    page.push_str(&format!(
        "\n\nReads: {}\nRule set na: {}\nRule set iec: {}",
        rule.reads, rule.na, rule.iec
    ));
    for key in rule.sources {
        let source = reference::Reference::standard().sources().get(*key);
        let title = source.map_or_else(String::new, |source| format!(": {}, {}", source.body, source.title));
        page.push_str(&format!("\nSource {key}{title}"));
    }
    Ok(Answer::text(page))
}

fn as_json(rule: &rules::Rule) -> Value {
    json!({
        "id": rule.id,
        "severity": rule.severity,
        "title": rule.title,
        "reads": rule.reads,
        "na": rule.na,
        "iec": rule.iec,
        "sources": rule.sources,
        "page": rule.page(),
    })
}
