//! `begin`: writes a commented intent.toml for one of the starting points.
//! Never: writes over a file, asks back.
//! Start at [`run`]; the starting points stand in `starts/`.

use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::{BeginArgs, CraftWord, RulesWord};
use crate::files::{self, Existing, INTENT};

/// The schema that the first line of each starting point names, so that editors complete and check.
const SCHEMA: &str = "intent.schema.json";

/// Writes the file, and the schema beside it.
pub fn run(args: &BeginArgs, json: bool) -> Result<Answer, Failure> {
    let name = args
        .folder
        .file_name()
        .map_or_else(|| "project".to_owned(), |name| name.to_string_lossy().into_owned());
    let text = filled(args.craft, args.voltage, args.rules, &title(&name));
    let written = files::write(
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

/// The starting point with its choices filled in.
///
/// In the files of `starts/`, `@voltage@` and the like stand for a choice, and a line between `#? WORD` and `#.` stays only
/// where the word is true of the choices.
pub fn filled(craft: CraftWord, voltage: u32, rules: RulesWord, name: &str) -> String {
    let start = match craft {
        CraftWord::Van => include_str!("../starts/van.toml"),
        CraftWord::Boat => include_str!("../starts/boat.toml"),
        CraftWord::Trailer => include_str!("../starts/trailer.toml"),
        CraftWord::Hut => include_str!("../starts/hut.toml"),
        CraftWord::Workshop => include_str!("../starts/workshop.toml"),
    };
    let (word, inlet, insulation) = match rules {
        RulesWord::Na => ("na", "30 A", "105 °C"),
        RulesWord::Iec => ("iec", "16 A", "90 °C"),
    };
    let mut text = String::new();
    let mut is_kept = true;
    for line in start.lines() {
        match line.strip_prefix("#? ") {
            Some("12") => is_kept = voltage == 12,
            Some("24") => is_kept = voltage == 24,
            Some("48") => is_kept = voltage == 48,
            Some("not 48") => is_kept = voltage != 48,
            Some(_) => is_kept = true,
            None if line == "#." => is_kept = true,
            None if is_kept => {
                let line = line
                    .replace("@name@", name)
                    .replace("@voltage@", &voltage.to_string())
                    .replace("@rules@", word)
                    .replace("@inlet@", inlet)
                    .replace("@insulation@", insulation);
                text.push_str(&line);
                text.push('\n');
            }
            None => {}
        }
    }
    text
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
    use super::*;
    use clap::ValueEnum;

    /// Every starting point reads and derives: no problem, gap or refusal, nothing unused, no safety question open, nothing found
    /// beyond `KNOWN`.
    #[test]
    fn every_start_derives() {
        let mut wrong = Vec::new();
        for craft in CraftWord::value_variants() {
            for voltage in [12, 24, 48] {
                for rules in RulesWord::value_variants() {
                    let case = format!("{craft:?} {voltage} V {rules:?}");
                    let text = filled(*craft, voltage, *rules, "Test");
                    assert!(!text.contains('@') && !text.contains("#?"), "{case}: a mark is left in\n{text}");
                    let source = model::SourceText { name: case.clone(), text };
                    match model::Project::read(source, model::library::builtin().clone()) {
                        Err(problems) => wrong.push(format!("{case}: {problems:?}")),
                        Ok(project) => {
                            let system = derive::derive(&project);
                            if !(system.gaps.is_empty()
                                && system.refusals.is_empty()
                                && system.unused.is_empty())
                            {
                                wrong.push(format!(
                                    "{case}: {:?} {:?} {:?}",
                                    system.gaps, system.refusals, system.unused
                                ));
                            }
                            let judged = rules::check(
                                &system,
                                &network::study(&system),
                                energy::study(&system, None).as_ref(),
                            );
                            for finding in judged.iter().filter(|f| f.severity != rules::Severity::Advice) {
                                wrong.push(format!(
                                    "{case}: {} {}: {}",
                                    finding.rule, finding.place, finding.message
                                ));
                            }
                            let asked: Vec<&str> = system
                                .assumptions
                                .iter()
                                .filter(|a| a.must_answer)
                                .map(|a| a.path.as_str())
                                .collect();
                            if !asked.is_empty() {
                                wrong.push(format!("{case}: must be answered: {asked:?}"));
                            }
                        }
                    }
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_folder_gives_a_title() {
        assert_eq!(title("my-van"), "My van");
        assert_eq!(title("a\"b\\c\n"), "Abc");
        assert_eq!(title("--"), "Project");
    }
}
