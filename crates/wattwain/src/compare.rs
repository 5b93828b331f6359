//! `compare`: two projects side by side: figures, parts, findings, energy by month, what was written differently.
//! Never: computes anything itself (see `pack::compare`), says which is better.
//! Start at [`run`].

use std::path::Path;

use model::{Difference, Project, System};
use network::Results;
use pack::{Comparison, FindingLine, Inputs};
use rules::Finding;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::CompareArgs;
use crate::show::{SAFETY, Screen};

/// Compares.
pub fn run(args: &CompareArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let (left, right) = (Side::of(&args.left)?, Side::of(&args.right)?);
    let comparison = pack::compare(&left.inputs(), &right.inputs());
    let written = model::differences(&left.project.source.text, &right.project.source.text);
    if json {
        return Answer::json(&json!({
            "safety": SAFETY,
            "left": left.project.source.name,
            "right": right.project.source.name,
            "comparison": comparison,
            "written": written,
        }));
    }
    Ok(Answer::text(told(screen, args.all, &comparison, &written)))
}

/// A project with all that is compared.
struct Side {
    project: Project,
    system: System,
    results: Results,
    study: Option<energy::Study>,
    findings: Vec<Finding>,
}

impl Side {
    fn of(path: &Path) -> Result<Self, Failure> {
        let project = folder::project(path)?;
        let series = folder::weather(&project, path, None)?;
        let system = ::board::derived(&project).system;
        let results = network::study(&system);
        let study = energy::study(&system, series.as_ref());
        let findings = rules::check(&system, &results, study.as_ref());
        Ok(Self { project, system, results, study, findings })
    }
    fn inputs(&self) -> Inputs<'_> {
        Inputs {
            system: &self.system,
            library: &self.project.library,
            results: &self.results,
            study: self.study.as_ref(),
            findings: &self.findings,
            questions: &[],
            alternatives: &[],
            one_line: "",
            layout: None,
            vehicle: None,
            labelling: None,
        }
    }
}

fn told(screen: &Screen, all: bool, comparison: &Comparison, written: &[Difference]) -> String {
    let Comparison { left, right, .. } = comparison;
    let or_none = |text: &Option<String>| text.clone().unwrap_or_else(|| "-".to_owned());
    let mut blocks = vec![format!(
        "{}\n{}",
        screen.heading(&format!("{left} and {right}, side by side")),
        screen.wrapped(SAFETY, "")
    )];
    let heads = ["", left.as_str(), right.as_str(), "difference"];
    let rows = comparison.figures.iter().filter(|figure| figure.left.is_some() || figure.right.is_some());
    let rows = rows.map(|figure| {
        let difference = match &figure.difference {
            _ if figure.same => String::new(),
            Some(difference) => difference.clone(),
            None => "differs".to_owned(),
        };
        vec![figure.title.clone(), or_none(&figure.left), or_none(&figure.right), difference]
    });
    blocks.push(screen.table(&heads, rows));
    if !written.is_empty() {
        let rows = written.iter().map(|at| vec![at.path.clone(), or_none(&at.left), or_none(&at.right)]);
        blocks.push(screen.table(&["!written in intent.toml", left, right], rows));
    }
    let rows: Vec<Vec<String>> = comparison
        .parts
        .iter()
        .filter(|part| all || part.left != part.right)
        .map(|part| {
            let count = |count: f64| format!("{count} {}", part.counted);
            vec![part.title.clone(), count(part.left), count(part.right)]
        })
        .collect();
    if !rows.is_empty() {
        blocks.push(screen.table(&["part", &format!(">{left}"), &format!(">{right}")], rows));
    }
    let findings = |head: String, lines: &[FindingLine]| {
        let items: Vec<String> = lines
            .iter()
            .map(|line| {
                screen.item(
                    &format!("{} {} at {}: {}", line.severity.word(), line.rule, line.place, line.message),
                    "",
                )
            })
            .collect();
        (!items.is_empty()).then(|| format!("{}\n{}", screen.heading(&head), items.join("\n")))
    };
    blocks.extend(findings(format!("Found only in {left}"), &comparison.findings_left));
    blocks.extend(findings(format!("Found only in {right}"), &comparison.findings_right));
    if all {
        blocks.extend(findings("Found in both".to_owned(), &comparison.findings_both));
    } else if !comparison.findings_both.is_empty() {
        blocks.push(format!("Found in both: {}.", comparison.findings_both.len()));
    }
    let rows: Vec<Vec<String>> = comparison
        .months
        .iter()
        .map(|month| {
            let (left, right) = (&month.left, &month.right);
            vec![
                month.month.clone(),
                left.asked.to_string(),
                right.asked.to_string(),
                left.sun.to_string(),
                right.sun.to_string(),
                left.short.to_string(),
                right.short.to_string(),
            ]
        })
        .collect();
    if !rows.is_empty() {
        let heads = ["month", ">asked, left", ">right", ">sun, left", ">right", ">short, left", ">right"];
        blocks.push(screen.table(&heads, rows));
    }
    blocks.join("\n\n")
}
