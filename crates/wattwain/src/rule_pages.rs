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
    let checks = ::board::check_pages();
    let Some(name) = &args.name else {
        if json {
            return Answer::json(&json!({
                "rules": rules::rules().iter().map(as_json).collect::<Vec<_>>(),
                "checks": checks,
            }));
        }
        let rows = rules::rules()
            .iter()
            .map(|rule| vec![rule.id.to_owned(), rule.severity.word().to_owned(), rule.title.to_owned()]);
        let of_checks = checks
            .iter()
            .map(|check| vec![check.id.to_owned(), check.severity.word().to_owned(), check.title.clone()]);
        let table = screen.table(&["!rule", "!severity", "fault"], rows.chain(of_checks));
        let (count, more) = (rules::rules().len(), checks.len());
        return Ok(Answer::text(format!(
            "{table}\n\n{count} rules and {more} checks of the board and of the plan. `wattwain rules NAME` shows the page of one."
        )));
    };
    if let Some(check) = ::board::check_page(name) {
        return if json {
            Answer::json(&serde_json::to_value(check).unwrap_or_default())
        } else {
            Ok(Answer::text(check_text(check, screen)))
        };
    }
    let Some(rule) = rules::rule(name) else {
        let known = rules::rules().iter().map(|rule| rule.id).chain(checks.iter().map(|check| check.id));
        let mend = match read::nearest(name, known) {
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
    page.extend(rule.sources.iter().map(|key| source_line(key)));
    Ok(Answer::text(page))
}

/// The page of a check of board or plan.
fn check_text(check: &::board::CheckPage, screen: &Screen) -> String {
    let mut page = format!(
        "{}\n{}: {}\n\n{}",
        screen.heading(check.id),
        check.severity.word(),
        check.title,
        check.page.trim_end()
    );
    if check.sources.is_empty() {
        return page;
    }
    page.push('\n');
    page.extend(check.sources.iter().map(|key| source_line(key)));
    page
}

fn source_line(key: &str) -> String {
    let source = reference::Reference::standard().sources().get(key);
    let title = source.map_or_else(String::new, |source| format!(": {}, {}", source.body, source.title));
    format!("\nSource {key}{title}")
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
