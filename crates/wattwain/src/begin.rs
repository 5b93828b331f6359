//! `begin`: writes a commented intent.toml for one of the starting points.
//! Never: writes over a file, asks back.
//! Start at [`run`]; the starting points stand in the crate `model`.

use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::BeginArgs;
use folder::{Existing, INTENT};

/// The schema that the first line of each starting point names, so that editors complete and check.
const SCHEMA: &str = "intent.schema.json";

/// Writes the file, and the schema beside it.
pub fn run(args: &BeginArgs, json: bool) -> Result<Answer, Failure> {
    let name = args
        .folder
        .file_name()
        .map_or_else(|| "project".to_owned(), |name| name.to_string_lossy().into_owned());
    let text = model::begin(args.craft.craft(), args.voltage, args.rules.rules(), &title(&name), !args.empty);
    let written = folder::write(
        &args.folder,
        &[(INTENT.to_owned(), text.into_bytes()), (SCHEMA.to_owned(), crate::schema::text().into_bytes())],
        Existing::Keep,
    )?;
    let file = written.first().map(|path| path.display().to_string()).unwrap_or_default();
    if json {
        return Answer::json(&json!({ "written": [file] }));
    }
    Ok(Answer::text(format!(
        "Wrote {file}\n\nNext: fill it in with any text editor, then run\n  wattwain check {}",
        args.folder.display()
    )))
}

/// A folder's name as a title, safe inside a TOML text.
fn title(folder: &str) -> String {
    let words = folder.replace(['-', '_'], " ");
    let clean: String =
        words.chars().filter(|c| !c.is_control() && !matches!(c, '"' | '\\')).take(60).collect();
    let mut letters = clean.trim().chars();
    letters.next().map_or_else(|| "Project".to_owned(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use model::{BankVolts, Craft};
    use reference::RuleSet;

    use super::*;

    /// Every starting point derives, with its usual loads and with none: no gap or refusal, nothing unused, no safety question
    /// open, and nothing found but advice.
    #[test]
    fn every_start_derives() {
        let mut wrong = Vec::new();
        for craft in Craft::ALL {
            for volts in BankVolts::ALL {
                for rules in [RuleSet::Na, RuleSet::Iec] {
                    for usual_loads in [true, false] {
                        let case = format!("{craft} {} V {rules}, loads: {usual_loads}", volts.number());
                        let text = model::begin(*craft, volts, rules, "Test", usual_loads);
                        wrong.extend(faults(&case, text));
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    fn faults(case: &str, text: String) -> Vec<String> {
        let source = model::SourceText { name: case.to_owned(), text };
        let project = match model::Project::read(source, model::library::builtin().clone()) {
            Ok(project) => project,
            Err(problems) => return vec![format!("{case}: {problems:?}")],
        };
        let system = derive::derive(&project);
        let mut wrong = Vec::new();
        if !(system.gaps.is_empty() && system.refusals.is_empty() && system.unused.is_empty()) {
            wrong.push(format!("{case}: {:?} {:?} {:?}", system.gaps, system.refusals, system.unused));
        }
        let study = energy::study(&system, None);
        let judged = rules::check(&system, &network::study(&system), study.as_ref());
        for finding in judged.iter().filter(|found| found.severity != rules::Severity::Advice) {
            wrong.push(format!("{case}: {} {}: {}", finding.rule, finding.place, finding.message));
        }
        let asked: Vec<&str> =
            system.assumptions.iter().filter(|a| a.must_answer).map(|a| a.path.as_str()).collect();
        if !asked.is_empty() {
            wrong.push(format!("{case}: must be answered: {asked:?}"));
        }
        wrong
    }

    #[test]
    fn a_folder_gives_a_title() {
        assert_eq!(title("my-van"), "My van");
        assert_eq!(title("a\"b\\c\n"), "Abc");
        assert_eq!(title("--"), "Project");
    }
}
