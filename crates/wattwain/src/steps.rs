//! `steps`: the build order of a project, step by step.
//! Never: makes an order of a refused system.
//! Start at [`run`].

use pack::{BuildOrder, Stage, Step};
use serde_json::json;

use crate::answer::{Answer, FOUND, Failure};
use crate::cli::StepsArgs;
use crate::show::{SAFETY, Screen};

/// Tells it.
pub fn run(args: &StepsArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let derived = ::board::derived(&project);
    let system = &derived.system;
    if !system.refusals.is_empty() {
        let answer = if json {
            Answer::json(&json!({ "safety": SAFETY, "refusals": system.refusals, "steps": [] }))?
        } else {
            Answer::text(
                "The system is refused, so there is no build order; `wattwain check` says what would do.",
            )
        };
        return Ok(answer.with_code(FOUND));
    }
    let results = network::study(system);
    let mut order = pack::build_order(system, &results, derived.layout.as_ref());
    let count = order.steps.len();
    if let Some(stage) = args.stage {
        order.steps.retain(|step| step.stage == stage);
    }
    if json {
        return Answer::json(&order);
    }
    Ok(Answer::text(told(&system.name, &order, count, screen)))
}

fn told(name: &str, order: &BuildOrder, count: usize, screen: &Screen) -> String {
    let mut parts =
        vec![format!("{}\n{SAFETY}", screen.heading(&format!("Build order of {name}: {count} steps")))];
    for stage in Stage::ALL {
        let steps: Vec<&Step> = order.steps.iter().filter(|step| step.stage == stage).collect();
        if steps.is_empty() {
            continue;
        }
        parts.push(screen.heading(stage.title()));
        parts.extend(steps.into_iter().map(|step| one(step, screen)));
    }
    if order.steps.is_empty() {
        parts.push("There is no step of this stage.".to_owned());
    }
    parts.join("\n\n")
}

fn one(step: &Step, screen: &Screen) -> String {
    let people = if step.people > 1 { format!(", {} people", step.people) } else { String::new() };
    let name = screen.quiet(&format!("({}{people})", step.id));
    let mut lines = vec![format!("[ ] {:>3}  {} {name}", step.number, step.title)];
    let indent = "         ";
    for caution in &step.cautions {
        lines.push(screen.item(&format!("CAUTION: {caution}"), indent));
    }
    if !step.dead.is_empty() {
        lines.push(screen.item(&format!("dead: {}", step.dead.join("; ")), indent));
    }
    for line in &step.lines {
        lines.push(screen.wrapped(line, indent));
    }
    for measure in &step.measures {
        lines.push(screen.item(&format!("measure: {}", pack::measure_line(measure)), indent));
    }
    if let Some(wait) = &step.wait {
        lines.push(screen.item(&format!("wait: {}, {}", wait.least, wait.what), indent));
    }
    lines.join("\n")
}
