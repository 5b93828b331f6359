//! `sizes`: the best trade-offs of bank, array, engine charger and inverter; a search in one go, or in shares on many machines.
//! Never: computes a value itself. Shares merged give the same answer as one run.
//! Start at [`run`].

use std::path::Path;

use drawing::chart::Mark;
use energy::sizes::{Design, Found, Search, Share, Sizes};
use model::{Project, System};
use quantity::{Kilograms, Money};
use rules::Severity;
use serde_json::json;

use crate::answer::{Answer, Failure};
use crate::cli::SizesArgs;
use crate::progress;
use crate::show::{SAFETY, Screen, plural};
use crate::year::{head, listed, write};
use folder::Existing;

/// Designs that table and picture name.
const SHOWN: usize = 16;

/// Runs it.
pub fn run(args: &SizesArgs, json: bool, screen: &Screen) -> Result<Answer, Failure> {
    let project = folder::project(&args.project)?;
    let series = folder::weather(&project, &args.project, args.weather.as_deref())?;
    let search = Search::new(&project, series.as_ref(), args.years, args.seed)
        .map_err(|why| Failure::plain(why.to_string(), args.project.display().to_string(), why.mend()))?;
    let found = match (&args.merge, args.shard) {
        (files, _) if !files.is_empty() => merged(&search, files)?,
        (_, share) => {
            let found = searched(&search, share)?;
            if let Some(share) = share {
                return shared(args, &search, share, &found);
            }
            found
        }
    };
    let known = dangers(search.system());
    let judge = |_: &Project, system: &System| new_danger(&known, system);
    let sizes = search.tell(&found, &judge);
    let picture = picture(&sizes);
    let written = write(args.out.as_deref(), args.replace, &[("sizes.svg", picture)])?;
    if json {
        return Answer::json(
            &json!({ "safety": SAFETY, "project": project.source.name, "sizes": sizes, "written": written }),
        );
    }
    let what = format!("{} combinations, {} years, seed {}", sizes.combinations, sizes.years, sizes.seed);
    let mut blocks = vec![head(screen, &search.system().name, &what, &sizes.weather)];
    blocks.push(table(screen, &sizes));
    blocks.push(chosen(screen, &sizes));
    if !sizes.steps.is_empty() {
        blocks.push(steps(screen, &sizes));
    }
    blocks.push(remarks(screen, &sizes));
    blocks.push(listed(
        &written,
        "--out FOLDER writes the picture: cost against mass against the chance of running out",
    ));
    Ok(Answer::text(blocks.join("\n\n")))
}

fn searched(search: &Search<'_>, share: Option<Share>) -> Result<Found, Failure> {
    let total = search.trials(share) as u64;
    progress::shared("Combinations", total, |progress| search.run(share, progress))
        .ok_or_else(|| Failure::plain("the search was stopped before its end", "", "Run it again"))
}

fn merged(search: &Search<'_>, paths: &[std::path::PathBuf]) -> Result<Found, Failure> {
    let sources = paths.iter().map(|path| folder::text(path)).collect::<Result<Vec<_>, _>>()?;
    search.merge(&sources).map_err(|problems| Failure::Located { problems, sources })
}

/// Writes the file of a share.
fn shared(args: &SizesArgs, search: &Search<'_>, share: Share, found: &Found) -> Result<Answer, Failure> {
    let text = search.share_text(share, found);
    let Some(path) = &args.out else { return Ok(Answer::text(text)) };
    let name = path.file_name().and_then(|name| name.to_str()).ok_or_else(|| {
        Failure::plain(
            "this is no name of a file",
            path.display().to_string(),
            "Name a file, such as share-1.toml",
        )
    })?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let existing = if args.replace { Existing::Replace } else { Existing::Keep };
    folder::write(folder, &[(name.to_owned(), text.into_bytes())], existing)?;
    let count = found.front.len();
    Ok(Answer::text(format!(
        "{}: share {} of {}, {count} {} of its front",
        path.display(),
        share.which,
        share.of,
        plural(count, "design", "designs")
    )))
}

/// Rule and place of every danger.
fn dangers(system: &System) -> Vec<(&'static str, String, String)> {
    let results = network::study(system);
    // Whether it lasts is what the search is about, so the energy study has no say here.
    rules::check(system, &results, None)
        .into_iter()
        .filter(|finding| finding.severity == Severity::Danger)
        .map(|finding| (finding.rule, finding.place, finding.message))
        .collect()
}

/// A danger that the project as it stands has not.
fn new_danger(known: &[(&'static str, String, String)], system: &System) -> Option<String> {
    let (rule, place, message) = dangers(system)
        .into_iter()
        .find(|(rule, place, _)| !known.iter().any(|(other, at, _)| other == rule && at == place))?;
    Some(format!("{rule} at {place}: {message}"))
}

fn money(value: Money) -> String {
    format!("{:.0}", value.get())
}

fn signed(value: f64, digits: usize) -> String {
    if value.abs() < 0.5 * 10_f64.powi(-(digits as i32)) {
        "–".to_owned()
    } else {
        format!("{value:+.digits$}")
    }
}

fn kilograms(value: Kilograms) -> String {
    format!("{:.1} kg", value.get())
}

/// Cost, mass and chance of the design as a whole, else as the search counts them.
fn figures(design: &Design) -> [String; 3] {
    match &design.whole {
        Some(whole) => [money(whole.cost), kilograms(whole.mass), whole.chance.share.to_string()],
        None => [money(design.cost), kilograms(design.mass), design.chance.share.to_string()],
    }
}

/// What a column of the table says of a design.
type Words = fn(&Design) -> &str;

fn table(screen: &Screen, sizes: &Sizes) -> String {
    let list = sizes.shortlist(SHOWN);
    let shown: Vec<(&str, &Design)> = std::iter::once(("now", &sizes.current))
        .chain(list.iter().filter_map(|at| {
            let mark = if sizes.chosen == Some(*at) { "chosen" } else { "" };
            Some((mark, sizes.front.get(*at)?))
        }))
        .collect();
    let kinds: [(&str, Words); 4] = [
        ("bank", |design| &design.bank),
        ("array", |design| &design.array),
        ("engine charger", |design| &design.engine),
        ("inverter", |design| &design.inverter),
    ];
    // A column that says the same in every row says nothing.
    let varied: Vec<_> = kinds
        .into_iter()
        .filter(|(_, of)| shown.iter().any(|(_, design)| of(design) != of(&sizes.current)))
        .collect();
    let mut heads = vec!["", ">!cost", ">!mass", ">!runs out"];
    heads.extend(varied.iter().map(|(name, _)| *name));
    let rows = shown.iter().map(|(mark, design)| {
        let mut row = vec![(*mark).to_owned()];
        row.extend(figures(design));
        row.extend(varied.iter().map(|(_, of)| of(design).to_owned()));
        row
    });
    let count = sizes.front.len();
    let left =
        if list.len() < count { format!(", of which {} are shown", list.len()) } else { String::new() };
    let title = format!(
        "{count} {} that no other beats in cost, mass and chance together{left}",
        plural(count, "design", "designs")
    );
    format!("{}\n{}", screen.heading(&title), screen.table(&heads, rows))
}

fn chosen(screen: &Screen, sizes: &Sizes) -> String {
    let mut lines =
        vec![screen.heading("Chosen"), screen.wrapped(&format!("{}.", sizes.because.sentence), "")];
    if let Some(design) = sizes.chosen.and_then(|at| sizes.front.get(at)) {
        let counted = format!(
            "Counted choice by choice the search has {} in money and {}, and {} of {} years; derived as a whole it is what stands above.",
            money(design.cost),
            kilograms(design.mass),
            design.chance.happened,
            design.chance.of
        );
        lines.push(screen.wrapped(&counted, ""));
        if design.edits.is_empty() {
            lines.push("It is what stands in intent.toml.".to_owned());
        } else {
            lines.push("In intent.toml:".to_owned());
            lines.extend(design.edits.iter().map(|edit| format!("    {edit}")));
        }
    }
    for (at, why) in sizes.because.passed_over.iter().take(3) {
        if let Some(design) = sizes.front.get(*at) {
            let [cost, mass, _] = figures(design);
            lines.push(screen.item(&format!("Passed over: {cost} in money, {mass}: {why}"), ""));
        }
    }
    lines.join("\n")
}

fn steps(screen: &Screen, sizes: &Sizes) -> String {
    let rows = sizes.steps.iter().map(|step| {
        vec![
            format!("{} {}", if step.is_larger { "larger" } else { "smaller" }, step.what.word()),
            signed(step.cost_more.get(), 0),
            signed(step.mass_more.get(), 1),
            step.chance.share.to_string(),
            step.hindered.as_ref().map_or_else(|| step.title.clone(), |why| format!("{}: {why}", step.title)),
        ]
    });
    format!(
        "{}\n{}",
        screen.heading("One step from the chosen design"),
        screen.table(&["", ">!cost", ">!kg", ">!runs out", ""], rows)
    )
}

fn remarks(screen: &Screen, sizes: &Sizes) -> String {
    let counts: Vec<String> =
        sizes.choices.iter().map(|(what, count)| format!("{count} of {}", what.word())).collect();
    let mut lines = vec![
        screen.heading("What was searched"),
        screen.wrapped(
            &format!(
                "Choices: {}. {} combinations go together{}. Money is the middle of each price band; lugs and small parts are left out.",
                counts.join(", "),
                sizes.tried,
                if sizes.too_heavy > 0 { format!("; {} more are too heavy", sizes.too_heavy) } else { String::new() }
            ),
            "",
        ),
    ];
    lines.extend(sizes.notes.iter().map(|note| screen.item(&note.message, "")));
    for (design, why) in sizes.refused.iter().take(3) {
        lines.push(screen.item(&format!("cannot be built: {}, {}: {why}", design.bank, design.array), ""));
    }
    lines.join("\n")
}

fn picture(sizes: &Sizes) -> String {
    let mark = |design: &Design, at: Option<usize>| {
        let (cost, mass, chance) = match &design.whole {
            Some(whole) => (whole.cost, whole.mass, whole.chance.share),
            None => (design.cost, design.mass, design.chance.share),
        };
        Mark {
            cost: cost.get(),
            mass_kg: mass.get(),
            chance: chance.get(),
            label: design.brief.clone(),
            is_front: at.is_some(),
            is_current: at.is_none(),
            is_chosen: at.is_some() && sizes.chosen == at,
        }
    };
    // Those that the table names; all of a large front would hide one another.
    let named = sizes.shortlist(SHOWN);
    let mut marks: Vec<Mark> =
        named.iter().filter_map(|at| Some(mark(sizes.front.get(*at)?, Some(*at)))).collect();
    marks.push(mark(&sizes.current, None));
    drawing::chart::trade_off(&marks, "money")
}
