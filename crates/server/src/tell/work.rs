//! Work that takes longer than an edit: many years, the search for sizes. It tells how far it is and can be stopped.
//! Never: asks a clock; whoever waits reads [`Progress`].
//! Start at [`years`] and [`sizes`].

use energy::sizes::{Design, Search, Sizes, Why};
use energy::{Plant, Progress, SEED, Sky};
use model::{Project, System};
use rules::Severity;

use super::{energy as tell_energy, rounded, view};
use crate::{Stand, wire};

/// Many years of drawn weather; `None` without a bank, or where it was stopped.
pub fn years(stand: &Stand, count: u32, progress: &Progress) -> Option<wire::YearsOutcome> {
    let plant = Plant::of(&stand.system)?;
    let sky = Sky::of(&stand.system, &plant, stand.series.as_deref());
    let years = energy::years(&plant, &sky, count, SEED, progress)?;
    Some(tell_energy::years(&years, stand.system.usage.running_out))
}

/// The search for sizes; `None` where it was stopped. `begun` is told how many steps there are, before the first.
///
/// # Errors
/// Why there is nothing to search.
pub fn sizes(
    stand: &Stand,
    years: u32,
    progress: &Progress,
    begun: &dyn Fn(u64),
) -> Result<Option<wire::SizesOutcome>, Why> {
    let search = Search::new(&stand.project, stand.series.as_deref(), years, SEED)?;
    begun(search.trials(None) as u64);
    let Some(found) = search.run(None, progress) else { return Ok(None) };
    let known = dangers(search.system());
    let judge = |_: &Project, system: &System| new_danger(&known, system);
    let sizes = search.tell(&found, &judge);
    Ok(Some(outcome(&search, &sizes)))
}

type Danger = (&'static str, String, String);

/// Rule, place and message of every danger. Whether it lasts is what the search is about, so the energy study has no say here.
fn dangers(system: &System) -> Vec<Danger> {
    let results = network::study(system);
    rules::check(system, &results, None)
        .into_iter()
        .filter(|finding| finding.severity == Severity::Danger)
        .map(|finding| (finding.rule, finding.place, finding.message))
        .collect()
}

/// A danger that the project as it stands has not.
fn new_danger(known: &[Danger], system: &System) -> Option<String> {
    let (rule, place, message) = dangers(system)
        .into_iter()
        .find(|(rule, place, _)| !known.iter().any(|(other, at, _)| other == rule && at == place))?;
    Some(format!("{rule} at {place}: {message}"))
}

fn outcome(search: &Search<'_>, sizes: &Sizes) -> wire::SizesOutcome {
    let mut words = vec![
        format!(
            "{} combinations go together, each tried in {} drawn years; {} are beaten by no other in price, mass and chance together.",
            sizes.tried,
            sizes.years,
            sizes.front.len()
        ),
        format!("{}.", sizes.because.sentence),
    ];
    words.extend(sizes.steps.iter().map(|step| {
        let size = if step.is_larger { "larger" } else { "smaller" };
        let more = format!(
            "{:+.0} in price, {:+.1} kg, runs out in {} of years",
            step.cost_more.get(),
            step.mass_more.get(),
            step.chance.share
        );
        let hindered =
            step.hindered.as_ref().map_or_else(String::new, |why| format!("; it cannot be had: {why}"));
        format!("A {size} {}, {}: {more}{hindered}.", step.what.word(), step.title)
    }));
    words.extend(sizes.notes.iter().map(|note| note.message.clone()));
    let current = sizes.current.number;
    let mut designs: Vec<wire::Design> = sizes
        .front
        .iter()
        .enumerate()
        .map(|(at, found)| design(search, found, found.number == current, sizes.chosen == Some(at)))
        .collect();
    if !designs.iter().any(|design| design.is_current) {
        designs.push(design(search, &sizes.current, true, false));
    }
    designs.sort_by(|a, b| a.price.total_cmp(&b.price));
    wire::SizesOutcome { words, currency: "money".to_owned(), designs }
}

/// As a whole where it was derived so, else as the search counts it.
fn design(search: &Search<'_>, design: &Design, is_current: bool, is_chosen: bool) -> wire::Design {
    let (cost, mass, chance) = match &design.whole {
        Some(whole) => (whole.cost, whole.mass, &whole.chance),
        None => (design.cost, design.mass, &design.chance),
    };
    let what = [&design.bank, &design.array, &design.engine, &design.inverter];
    wire::Design {
        what: what.into_iter().filter(|words| !words.is_empty()).cloned().collect(),
        price: rounded(cost.get(), 2),
        mass_kg: rounded(mass.get(), 3),
        runs_out: tell_energy::chance(chance),
        is_current,
        is_chosen,
        edits: if is_current {
            Vec::new()
        } else {
            search.edits(design.number).iter().map(view::edit).collect()
        },
    }
}
